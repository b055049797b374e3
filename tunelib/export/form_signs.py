"""The form of a tune as MusicXML has it: bar lines with their repeats and endings, section letters, and jumps."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from tunelib.export.elements import add
from tunelib.harmony import FormBar

_WORDS = {
    "to coda": ("To Coda", {"tocoda": "coda"}),
    "fine": ("Fine", {"fine": "yes"}),
    "D.C.": ("D.C.", {"dacapo": "yes"}),
    "D.S.": ("D.S.", {"dalsegno": "segno"}),
    "D.C. al fine": ("D.C. al Fine", {"dacapo": "yes"}),
    "D.S. al fine": ("D.S. al Fine", {"dalsegno": "segno"}),
    "D.C. al coda": ("D.C. al Coda", {"dacapo": "yes"}),
    "D.S. al coda": ("D.S. al Coda", {"dalsegno": "segno"}),
}  # what stands at the end of a bar, and what it does (attributes of the element sound)
_SIGNS = ("segno", "coda")


def ending_spans(form: Sequence[FormBar]) -> dict[int, tuple[FormBar, bool]]:
    """For each bar at which the bracket of an ending stops, the bar with which it begins, and whether it turns down.

    Bars are counted from 0. The last ending, which goes on into what follows, has a bracket as long as the one before
    it, but for a section, a repeat or a double bar, where it stops (common practice).
    """
    found: dict[int, tuple[FormBar, bool]] = {}
    length = 1
    for first, bar in enumerate(form):
        if not bar.endings:
            continue
        after = next((at for at in range(first + 1, len(form)) if form[at].endings or form[at].opens), len(form))
        last = next((at for at in range(first, after) if form[at].times > 1), None)
        closed = last is not None
        if last is None:
            last = min(first + length, after) - 1
            last = next((at for at in range(first, last) if form[at].double or form[at + 1].section), last)
            closed = form[last].double or last == len(form) - 1
        found[last] = bar, closed
        length = last + 1 - first
    return found


def write_opening(measure: ElementTree.Element, bar: FormBar) -> None:
    """The bar line on the left, if it is more than that of the bar before."""
    if not bar.opens and not bar.endings:
        return
    line = add(measure, "barline", location="left")
    if bar.opens:
        add(line, "bar-style", "heavy-light")
    if bar.endings:
        add(line, "ending", _numbered(bar), number=_number(bar), type="start")
    if bar.opens:
        add(line, "repeat", direction="forward")


def write_closing(measure: ElementTree.Element, bar: FormBar, ending: tuple[FormBar, bool] | None, last: bool) -> None:
    """The bar line on the right: `ending` is the bar with which the ending began that stops here, and how."""
    style = "light-heavy" if bar.times > 1 or last else "light-light" if bar.double else ""
    if not style and ending is None:
        return
    line = add(measure, "barline", location="right")
    if style:
        add(line, "bar-style", style)
    if ending:
        add(line, "ending", number=_number(ending[0]), type="stop" if ending[1] else "discontinue")
    if bar.times > 1:
        add(line, "repeat", direction="backward", **({"times": str(bar.times)} if bar.times > 2 else {}))


def _number(bar: FormBar) -> str:
    return ",".join(map(str, bar.endings))


def _numbered(bar: FormBar) -> str:
    return " ".join(f"{number}." for number in bar.endings)


def write_section(measure: ElementTree.Element, bar: FormBar) -> None:
    """What stands over the beginning of a bar: the letter of its section in a box, and signs to jump to."""
    if bar.section:
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "rehearsal", bar.section, enclosure="square")
    for sign in _SIGNS:
        if sign in bar.marks:
            direction = add(measure, "direction", placement="above")
            add(add(direction, "direction-type"), sign)
            add(direction, "sound", **{sign: sign})


def write_jumps(measure: ElementTree.Element, bar: FormBar) -> None:
    """What stands over the end of a bar, in words."""
    for mark in bar.marks:
        if mark in _WORDS:
            words, does = _WORDS[mark]
            direction = add(measure, "direction", placement="above")
            add(add(direction, "direction-type"), "words", words, justify="right")
            add(direction, "sound", **does)
