"""The form of a tune: its bars as they stand on the page, with repeats, endings, sections and jumps."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

JUMPS = ("D.C.", "D.S.", "D.C. al fine", "D.S. al fine", "D.C. al coda", "D.S. al coda")
"""The marks that lead back, from the end of the bar that has one."""

MARKS = ("segno", "coda", "to coda", "fine", *JUMPS)
"""All marks: "segno" and "coda" stand at the beginning of a bar, the others at its end."""

LONGEST_SECTION = 40
"""Letters in the name of a section."""


@dataclass(frozen=True)
class FormBar:
    """A bar of a tune as it is printed.

    Parameters
    ----------
    number : int
        As printed: the first full bar is 1, and a pickup before it 0. A bar that completes a short one has its number.
    onset : Fraction
        The beat at which it begins when it is first played.
    beats : Fraction
        Its length, so that it ends at ``onset + beats``.
    opens : bool
        Whether a repeat begins with it.
    times : int
        How many times the repeat that ends with it is played; 1 where none ends.
    endings : tuple of int
        The passes for which an ending is played that begins with it; empty where none begins.
    section : str
        The letter or the word of the section that begins with it; empty where none begins.
    double : bool
        Whether it ends with a double bar line.
    marks : tuple of str
        Of `MARKS`.
    """

    number: int
    onset: Fraction
    beats: Fraction
    opens: bool = False
    times: int = 1
    endings: tuple[int, ...] = ()
    section: str = ""
    double: bool = False
    marks: tuple[str, ...] = ()
