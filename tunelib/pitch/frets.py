"""Frets: where they are on a string, how close together, and which notes they give.

A fret that is to raise a string by n of N equal steps to the octave leaves ``L * 2 ** (-n / N)`` of its length L to
sound, so it is ``L * (1 - 2 ** (-n / N))`` from the nut. For N = 12 each fret takes 1/17.817 of what is left, the
divisor of the luthiers' handbooks; the older "rule of 18" took 1/18. Every string is cut in the same proportion, so
frets run straight across only where all steps are equal.

The formula is that of an ideal string. Pressing a real one stretches it, by more the higher it is above the fret;
stiffness adds a little, the more the shorter and thicker the part that sounds. Makers move the saddle back a few
millimetres to make up for it (common practice).

Conventions: lengths are in millimetres, frets are numbered from 1, and the nut is fret 0. Scale lengths may be one
number or an array; the frets are the last axis of what is returned.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch.counts import whole_number
from tunelib.pitch.divisions import FINEST_DIVISION
from tunelib.pitch.intervals import FloatArray, finite, shortened
from tunelib.pitch.lookup import look_up
from tunelib.pitch.notes import Note, known_note, spell
from tunelib.pitch.tunings import Tuning, equal

SCALE_LENGTH = 650.0  # millimetres from nut to bridge, common on classical guitars (common practice)
_COMMON = 12


def fret_places(division: int, scale_length: Any = SCALE_LENGTH, frets: int | None = None) -> FloatArray:
    """Distances of frets from the nut.

    Parameters
    ----------
    division : int
        Equal steps to the octave.
    scale_length : float or array
        From nut to bridge, in millimetres.
    frets : int, optional
        How many frets; one octave of them unless given.

    Returns
    -------
    array of shape ``(*shape of scale_length, frets)``, in millimetres

    Raises ValueError for a division or number of frets that is not a whole number from 1, or a length not above 0.

    >>> fret_places(12).round(2)[[0, 6, 11]]
    array([ 36.48, 216.18, 325.  ])
    """
    steps, count = _fretting(division, frets)
    return np.asarray(np.multiply.outer(_length(scale_length), 1 - np.exp2(-np.arange(1, count + 1) / steps)))


def fret_gaps(division: int, scale_length: Any = SCALE_LENGTH, frets: int | None = None) -> FloatArray:
    """Distance of each fret from the one before it, the first from the nut; otherwise as `fret_places`.

    It is the room for a fingertip that stops the string at that fret.

    >>> fret_gaps(31).round(2)[[0, 30]]
    array([14.37,  7.35])
    """
    return np.asarray(np.diff(fret_places(division, scale_length, frets), prepend=0.0))


def frets_too_close(
    division: int, finger: float, scale_length: Any = SCALE_LENGTH, frets: int | None = None
) -> npt.NDArray[np.bool_]:
    """Which frets leave a fingertip less room than it needs: their gap is smaller than `finger` millimetres.

    Such a fret can still be played, by a finger that also covers the fret behind; but two fingers cannot go
    side by side at neighbouring frets. Shape as for `fret_places`. Raises ValueError as it does, and for a finger not
    above 0.

    >>> int(np.argmax(frets_too_close(31, finger=12))) + 1  # the first of them
    10
    """
    needed = finite(finger, "the width of a fingertip")
    if needed.ndim or needed <= 0:
        raise ValueError(f"the width of a fingertip is one number above 0 mm, such as 12, not {shortened(finger)}")
    return np.asarray(fret_gaps(division, scale_length, frets) < needed)


def nearest_common_fret(
    division: int, scale_length: Any = SCALE_LENGTH, frets: int | None = None
) -> tuple[npt.NDArray[np.int64], FloatArray]:
    """The fret of a common guitar, in twelve equal steps, that is nearest to each fret of a division.

    Returns
    -------
    fret : array of int, shape (frets,)
        0 is the nut; of two equally near, the lower.
    away : array of shape ``(*shape of scale_length, frets)``, in millimetres
        Positive where the fret of the division is farther from the nut than the common one.

    Raises ValueError as `fret_places` does.

    >>> fret, away = nearest_common_fret(31)
    >>> int(fret[9]), round(float(away[9]), 2)  # fret 10 of 31, a major third
    (4, -3.86)
    """
    steps, count = _fretting(division, frets)
    numbers = np.arange(1, count + 1)
    sounding = np.exp2(-numbers / steps)  # as a fraction of the string
    below = _COMMON * numbers // steps
    past, short = (np.exp2(-fret / _COMMON) - sounding for fret in (below, below + 1))
    nearest = np.where(past <= -short, below, below + 1)
    return nearest, np.multiply.outer(_length(scale_length), np.where(past <= -short, past, short))


_TABLE = """
guitar                  | E2 A2 D3 G3 B3 E4
bass guitar             | E1 A1 D2 G2
five-string bass guitar | B0 E1 A1 D2 G2
mandolin                | G3 D4 A4 E5
ukulele with low G      | G3 C4 E4 A4
tenor banjo             | C3 G3 D4 A4
lute in G               | G2 C3 F3 A3 D4 G4
bass viol               | D2 G2 C3 E3 A3 D4
"""

STRING_SETS: dict[str, tuple[Note, ...]] = {
    name.strip(): tuple(map(Note.parse, notes.split()))
    for name, notes in (line.split("|") for line in _TABLE.strip().splitlines())
}
"""The open strings of fretted instruments as they sound, lowest first (common practice; courses count as one)."""


def string_set(name: str) -> tuple[Note, ...]:
    """The open strings of an instrument, lowest first. Raises ValueError with the nearest name known.

    >>> " ".join(map(str, string_set("Bass guitar")))
    'E1 A1 D2 G2'
    """
    return look_up(name, STRING_SETS, "set of strings")


def note_at(string: Note, fret: int, division: int) -> Note:
    """The note that sounds at a fret of a string, the open string being tuned in the same division.

    Its frequency is ``note.hz(equal(division))``. Raises ValueError for a fret that is not a whole number from 0, an
    open string that is not a Note, and a division whose notes have no letters or no plain spelling for this one.

    >>> str(note_at(Note.parse("E2"), 9, 31)), str(note_at(Note.parse("E2"), 31, 31))
    ('G½♯2', 'E3')
    """
    tuning = _equal(whole_number(division, "a division", 1, FINEST_DIVISION))
    open_step = known_note(string, "an open string").step(tuning)
    return spell(open_step + whole_number(fret, "a fret", 0, FINEST_DIVISION), tuning)


@lru_cache(maxsize=16)
def _equal(division: int) -> Tuning:
    return equal(division)


def _fretting(division: int, frets: int | None) -> tuple[int, int]:
    """A division and a number of frets, checked; an octave of frets for None."""
    steps = whole_number(division, "a division", 1, FINEST_DIVISION)
    return steps, steps if frets is None else whole_number(frets, "the number of frets", 1, FINEST_DIVISION)


def _length(scale_length: Any) -> FloatArray:
    values = finite(scale_length, "a scale length")
    if np.any(values <= 0):
        raise ValueError(f"a scale length is above 0 mm, such as 650, not {values.min():g}")
    return values
