"""The count-in: clicks up to the first note, a pickup counted within them."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from tunelib.arrange.feels import Feel, find_feel, suitable_feel
from tunelib.arrange.laying import first_full_bar, opening
from tunelib.harmony import LeadSheet


def count_in_beats(sheet: LeadSheet, feel: str | None = None) -> int:
    """How many beats of a played score there are before beat 0 of its lead sheet, where it is counted in.

    Whole bars; a pickup is counted in the last of them, so that beat 0, with which its bar begins, may be the first.

    >>> from tunelib.harmony import parse_lead_sheet
    >>> count_in_beats(parse_lead_sheet("tempo: 160\\n| Dm7 |"))
    8
    """
    return _before(sheet, suitable_feel(sheet.beats_per_bar, sheet.tempo) if feel is None else find_feel(feel))


def clicks(sheet: LeadSheet, feel: Feel) -> Iterator[tuple[int, bool]]:
    """The beats of the played score on which a click counts in, and whether a bar begins with it."""
    until = _before(sheet, feel) + (opening(sheet) if first_full_bar(sheet) else 0)
    for beat, clicked in enumerate(_counted(sheet, feel)):
        if clicked and beat < until:
            yield beat, beat % sheet.beats_per_bar == 0


def _before(sheet: LeadSheet, feel: Feel) -> int:
    return len(_counted(sheet, feel)) - sheet.beats_per_bar * first_full_bar(sheet)


def _counted(sheet: LeadSheet, feel: Feel) -> list[bool]:
    """Whether each beat is clicked, up to the first full bar; a bar more if a pickup leaves less than half a bar."""
    bar, pattern = sheet.beats_per_bar, feel.count_at(sheet.tempo)
    if bar % feel.beats and feel.beats % bar:
        beats = [clicked for one in pattern for clicked in (*one, *[True] * bar)[:bar]]
    else:
        beats = [clicked for one in pattern for clicked in one]
        beats = [True] * (-len(beats) % bar) + beats
    short = first_full_bar(sheet) and len(beats) - bar + opening(sheet) < Fraction(bar, 2)
    return [True] * bar * bool(short) + beats
