"""Bars as they are written on a page, with their signs: what is read from a file, before it is played through."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from tunelib.harmony.chords import Chord
from tunelib.pitch import Note


@dataclass(frozen=True)
class WrittenChord:
    """A chord sign in a bar, a number of beats from its beginning; without a chord, the sign that none sounds."""

    offset: Fraction
    chord: Chord | None
    symbol: str
    line: int
    column: int


@dataclass(frozen=True)
class WrittenNote:
    """A note in a bar. One that is `held` is tied to what comes before it; without a note, it holds whatever it is."""

    offset: Fraction
    duration: Fraction
    note: Note | None
    held: bool
    line: int
    column: int


@dataclass
class WrittenBar:
    """A bar as it is written, with its repeat signs.

    Parameters
    ----------
    where : str
        What an error calls it, such as ``"line 3, column 5"`` or ``"measure 12"``.
    beats : Fraction
        Its length, which for an upbeat is less than the metre's.
    chords : list of WrittenChord
    melody : list of WrittenNote
    opens : bool
        Whether a repeat begins with it.
    times : int
        How many times the repeat that ends with it is played; 1 where none ends.
    endings : tuple of int
        The passes for which an ending is played that begins with it; empty where none begins.
    section, double, marks
        As in `FormBar`.
    """

    where: str
    beats: Fraction
    chords: list[WrittenChord] = field(default_factory=list)
    melody: list[WrittenNote] = field(default_factory=list)
    opens: bool = False
    times: int = 1
    endings: tuple[int, ...] = ()
    section: str = ""
    double: bool = False
    marks: tuple[str, ...] = ()
