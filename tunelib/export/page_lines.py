"""Where the lines of a page begin: four bars to a line, and every phrase at the left.

A section, a repeat and what follows a double bar begin a new line, so that the page shows the form (common practice of
copyists). A line has a fifth bar where one would be left alone, and half of its bars where they would not fit. A pickup
is on the first line, beside its full number of bars.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise

from tunelib.export.form_signs import ending_spans
from tunelib.harmony import FormBar


def page_lines(form: Sequence[FormBar], widths: Sequence[float], room: float, bars: int = 4) -> list[list[range]]:
    """The lines of a page, those of each section together; each is the places of its bars in the form, from 0.

    Parameters
    ----------
    form : sequence of FormBar
    widths : sequence of float
        How wide each bar would like to be, in any unit.
    room : float
        How wide a line is, in the same.
    bars : int
        Of a line that is not crowded.

    >>> from fractions import Fraction
    >>> form = [FormBar(n, Fraction(4 * n), Fraction(4), section="B" if n == 5 else "") for n in range(1, 11)]
    >>> page_lines(form, [1.0] * 10, 10.0)
    [[range(0, 4)], [range(4, 8), range(8, 10)]]
    """
    after_endings = {last + 1 for last in ending_spans(form)}
    starts = [place for place in range(len(form)) if place == 0 or _begins(form, place, after_endings)]
    alone = {place for place, after in pairwise([*starts, len(form)]) if after - place == 1}
    starts = [place for place in starts if place not in alone & after_endings or _is_marked(form, place)]
    sections = []
    for start, end in zip(starts, [*starts[1:], len(form)], strict=True):
        lines: list[range] = []
        place = start
        while place < end:
            pickup = 1 if place == 0 and form[0].number == 0 else 0
            count = min(bars + pickup, end - place)
            if end - place == count + 1:
                count += 1
            half = place + pickup + -(-(count - pickup) // 2)
            if count - pickup > 1 and sum(widths[place : place + count]) > room:
                lines += [range(place, half), range(half, place + count)]
            else:
                lines.append(range(place, place + count))
            place += count
        sections.append(lines)
    return sections


def _begins(form: Sequence[FormBar], place: int, after_endings: Collection[int]) -> bool:
    """Whether a bar, which is not the first, begins a phrase that is to be at the left.

    An ending of one bar stays beside the one before it.
    """
    before, bar = form[place - 1], form[place]
    if place == 1 and before.number == 0:
        return False
    if _is_marked(form, place):
        return True
    if bar.endings:
        return before.times > 1 and place + 1 not in after_endings
    return before.times > 1 or place in after_endings


def _is_marked(form: Sequence[FormBar], place: int) -> bool:
    """Whether a bar, which is not the first, is seen to begin something."""
    bar = form[place]
    return bar.opens or bool(bar.section) or "coda" in bar.marks or form[place - 1].double
