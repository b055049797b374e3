"""Pointing at a part of an exhibit: which, when, how, and what is said of it, with numbers from the exhibit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import Formatter
from typing import Any

from tunelib.exhibits import Exhibit, Slider, Switch
from tunelib.film.timeline import EASES
from tunelib.pitch import is_number, listed, look_up, plain, shortened, unprintable

WAYS = ("circle", "dim", "zoom")
COMES_SECONDS, GOES_SECONDS = 0.5, 0.4  # that pointing takes to come and to go
_LONGEST_WORDS = 120


@dataclass(frozen=True)
class Point:
    """Pointing at a part of an exhibit.

    Parameters
    ----------
    at, until : float
        From when to when, in seconds of the clip; to its end, or until the exhibit leaves, unless given.
    part : str
        One of the exhibit's `parts`.
    how : sequence of str
        ``"circle"``: a ring is drawn round it. ``"dim"``: all else recedes. ``"zoom"``: the picture comes nearer.
        None of them leaves the words alone.
    words : str
        Set as near to the part as they cover no others, with a line to it if they are not next to it; where there is
        no such room, they cover as few as can be. Names in braces are filled with the exhibit's `numbers` or its
        knobs, as in ``"{cents} cents too low"``.
    """

    at: float
    part: str
    until: float | None = None
    how: Sequence[str] = ("circle",)
    words: str = ""


@dataclass(frozen=True)
class Pointing:
    """A point that has been looked at: names in full, and its end known; endless where it stays to the clip's end."""

    at: float
    until: float
    part: str
    how: tuple[str, ...]
    words: str


def checked_point(point: Point, exhibit: Exhibit, begins: float, ends: float, leaves: bool) -> Pointing:
    """What to point at, and from when to when; ValueError that says what is wrong with it.

    `begins` and `ends` are the seconds between which the exhibit is on; it then `leaves`, or the clip is over.
    """
    part = check_part(point.part, exhibit)
    how = check_ways(point.how)
    check_words(point.words, exhibit)
    until = ends if point.until is None else point.until
    for what, seconds in (("at", point.at), ("until", until)):
        if not is_number(seconds):
            raise ValueError(f"{what} is a number of seconds, not {shortened(seconds)}")
    if not begins <= point.at < ends:
        raise ValueError(f"at {point.at:g} s {exhibit.name} is not on: it is from {begins:g} to {ends:g} s")
    least = COMES_SECONDS + GOES_SECONDS
    if until < point.at + least:
        raise ValueError(f"from {point.at:g} to {until:g} s is too short to point: it takes {least:g} s to come and go")
    if not how and not point.words:
        raise ValueError(f"it points in no way and says nothing: give how, {listed(WAYS, 'or')}, or words")
    return Pointing(
        float(point.at), min(float(until), ends) if until < ends or leaves else math.inf, part, how, point.words
    )


def check_part(part: Any, exhibit: Exhibit) -> str:
    """A part of an exhibit by its full name; ValueError with the names there are."""
    if not exhibit.parts:
        raise ValueError(f"{exhibit.name} has no parts to point at")
    return _known(part, exhibit.parts, f"part of {exhibit.name}")


def check_ways(how: Any) -> tuple[str, ...]:
    """Ways to point, each once, by their full names; ValueError for one that does not exist."""
    if isinstance(how, str) or not isinstance(how, Sequence):
        how = (how,)
    found = tuple(look_up(way, {name: name for name in WAYS}, "way to point") for way in how)
    if len(set(found)) < len(found):
        raise ValueError(f"{listed(found, 'and')}: each way to point once")
    return found


def check_words(words: Any, exhibit: Exhibit) -> str:
    """Words that have room beside a part, and whose names in braces exist; ValueError with the names there are."""
    if not isinstance(words, str):
        raise ValueError(f"words are text, not {shortened(words)}")
    if len(words) > _LONGEST_WORDS:
        raise ValueError(f"the words have {len(words)} characters; beside a part there is room for {_LONGEST_WORDS}")
    if found := unprintable(words):
        raise ValueError(f"{found[1]} cannot be printed: take it away")
    return check_names(words, exhibit)


def check_names(words: str, exhibit: Exhibit) -> str:
    """Words whose names in braces exist; ValueError with the names there are."""
    known = _quoted(exhibit, exhibit.settle({}))
    for name in _names(words):
        if (right := _known(name, known, f"number of {exhibit.name}")) != name:
            raise ValueError(f"write {{{right}}}, not {{{name}}}")
    return words


def filled(words: str, exhibit: Exhibit, values: Mapping[str, Any]) -> str:
    """The words with numbers in place of the names in braces."""
    return words.format_map(_quoted(exhibit, values))


def _quoted(exhibit: Exhibit, values: Mapping[str, Any]) -> dict[str, str]:
    """What can be quoted, by name: the knobs as they are read, and the exhibit's own numbers."""
    found = {}
    for knob in exhibit.knobs:
        value = values[knob.name]
        if isinstance(knob, Slider):
            found[knob.name] = plain(value, 0 if knob.whole else 1)
        else:
            found[knob.name] = ("on" if value else "off") if isinstance(knob, Switch) else str(value)
    return found | dict(exhibit.numbers(**values))


def _names(words: str) -> list[str]:
    """The names in braces; ValueError for braces that hold anything else."""
    try:
        parts = list(Formatter().parse(words))
    except ValueError:
        raise ValueError(f"a brace in {shortened(words)} has no partner; write {{{{ for a brace itself") from None
    if any(form or conversion for _, _, form, conversion in parts):
        raise ValueError("braces hold a name alone, such as {cents}: numbers are given as the exhibit reads them")
    return [name for _, name, _, _ in parts if name is not None]


def _known(name: Any, known: Mapping[str, Any], what: str) -> str:
    """A name in full; ValueError with those there are."""
    try:
        return look_up(name, {full: full for full in known}, what)
    except ValueError as error:
        said = str(error)
        raise ValueError(f"{said} There are {listed(known)}" if said.endswith("?") else said) from None


@dataclass(frozen=True)
class Strength:
    """How much of a point there is: how far it has come, and how much of it has not gone yet, 0 to 1."""

    come: float
    left: float

    @property
    def all(self) -> float:
        """Both together."""
        return self.come * self.left


def strength(point: Pointing, seconds: float) -> Strength:
    """How much of a point there is at a moment: it comes gently, and goes so."""
    come = min(max((seconds - point.at) / COMES_SECONDS, 0.0), 1.0)
    left = min(max((point.until - seconds) / GOES_SECONDS, 0.0), 1.0)
    return Strength(EASES["in and out"](come), EASES["in and out"](left))
