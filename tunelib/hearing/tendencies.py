"""What a player does again and again in a take: notes that are always sharp, leaps that overshoot, a pitch that sinks.

A tendency is told only where it is large enough to hear, much larger than chance would make it, and shared by most of
the notes concerned. The strongest is told first, and the next is looked for in what it leaves unexplained, so that one
habit is not told twice. Limits are this project's own: with them, some one take in thirty is said to have a habit that
it has not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from tunelib.hearing.scatter import scatter
from tunelib.pitch import FloatArray, cents, ratio_from_cents

FEWEST_NOTES = 8  # a take of less has no tendencies to speak of

_LEAST = 5.0  # cents
_FEWEST = 3  # notes that are off alike
_ERRORS, _LEAST_SCATTER = 3.2, 2.0  # standard errors by which it must exceed nothing, and cents of scatter at least
_FEW = 4.0  # notes: in a take of not many more, it must exceed them all the more, since the scatter is less sure
_SHARE = 0.75  # of the notes, on the same side
_LEAP, _SAME_PHRASE = 350.0, 1.0  # cents, more than a major third; seconds between a note and the next
_LEAST_COURSE, _COURSE_ERRORS = 8.0, 4.0  # cents from the first note to the last, and standard errors
_LONG_ENOUGH = 0.3  # seconds: a note whose drift means something
_EDGE = 0.25  # of the notes are high, and as many low
_ALIKE = 3  # pitches that high or low notes must have at least, or it is those that are off


class Tendency(NamedTuple):
    """A habit: its kind, what it is of, the cents by which it is off, and how many notes have it.

    Kinds are ``"degree"`` (`of` is its name), ``"leap up"``, ``"leap down"``, ``"high"`` and ``"low"`` (`of` is the
    lowest or highest of those notes in hertz), ``"course"`` (from the first note to the last) and ``"drift"`` (within
    each note, from its start to its end).
    """

    kind: str
    of: str | float
    cents: float
    notes: int


class _Heard(Protocol):
    @property
    def onset(self) -> float: ...
    @property
    def offset(self) -> float: ...
    @property
    def hertz(self) -> float: ...
    @property
    def drift(self) -> float: ...


def tendencies(notes: Sequence[_Heard], away: npt.ArrayLike, degrees: Sequence[str]) -> tuple[Tendency, ...]:
    """The habits in a take.

    Parameters
    ----------
    notes : sequence, as they were played
        Each with onset, offset (seconds), hertz and drift (cents).
    away : array, shape (notes,)
        How far each was off, in cents.
    degrees : sequence of str
        What each note is called, whatever its octave.

    None in a take of less than eight notes.
    """
    left = np.array(away, dtype=float)
    if left.size < FEWEST_NOTES:
        return ()
    times = np.array([(note.onset, note.offset) for note in notes])
    found = []
    if course := _course(times[:, 0], left):
        found.append(course)
        left = left - course.cents * _along(times[:, 0])
    heights = np.asarray(cents(np.array([note.hertz for note in notes])))
    groups = _groups(times, heights, np.array(degrees))
    while groups:
        strongest = max(groups, key=lambda group: _strength(left, group.which))
        if _strength(left, strongest.which) < 1:
            break
        groups.remove(strongest)
        middle = float(np.median(left[strongest.which]))
        found.append(Tendency(strongest.kind, strongest.of, middle, int(strongest.which.sum())))
        left[strongest.which] -= middle
    long = times[:, 1] - times[:, 0] >= _LONG_ENOUGH
    drifts = np.array([note.drift for note in notes])
    if long.sum() >= FEWEST_NOTES and _strength(drifts, long) >= 1:
        found.append(Tendency("drift", "", float(np.median(drifts[long])), int(long.sum())))
    return tuple(found)


class _Group(NamedTuple):
    """Notes that may be off alike: which they are."""

    kind: str
    of: str | float
    which: npt.NDArray[np.bool_]


def _groups(times: FloatArray, heights: FloatArray, degrees: npt.NDArray[np.str_]) -> list[_Group]:
    groups = [_Group("degree", degree, degrees == degree) for degree in dict.fromkeys(degrees.tolist())]
    jumps = np.diff(heights, prepend=heights[0])
    follows = np.concatenate([[False], times[1:, 0] - times[:-1, 1] < _SAME_PHRASE])
    groups += [_Group("leap up", "", follows & (jumps > _LEAP)), _Group("leap down", "", follows & (jumps < -_LEAP))]
    low, high = np.quantile(heights, [_EDGE, 1 - _EDGE])
    for kind, there, edge in (("high", heights >= high, high), ("low", heights <= low, low)):
        if np.unique(degrees[there]).size >= _ALIKE:
            groups.append(_Group(kind, float(ratio_from_cents(edge)), there))
    return [group for group in groups if group.which.sum() >= _FEWEST]


def _strength(away: FloatArray, which: npt.NDArray[np.bool_]) -> float:
    """How much some notes are off together, as a multiple of the least that is told."""
    some, others = away[which], away[~which]
    middle = float(np.median(some))
    if np.mean(np.sign(some) == np.sign(middle)) < _SHARE:
        return 0.0
    apart = np.concatenate([some - middle, others - np.median(others)]) if others.size else some - middle
    spread = max(_LEAST_SCATTER, scatter(apart))
    error = 1.2533 * spread / np.sqrt(some.size)  # of a median, likewise
    return abs(middle) / max(_LEAST, float(_ERRORS * (1 + _FEW / away.size) * error))


def _along(onsets: FloatArray) -> FloatArray:
    """Where each note is in the take, from -1/2 to 1/2."""
    return np.asarray((onsets - onsets[0]) / max(onsets[-1] - onsets[0], 1e-9) - 0.5)


def _course(onsets: FloatArray, away: FloatArray) -> Tendency | None:
    """A rise or fall all through, by a straight line."""
    along = _along(onsets)
    along = along - along.mean()
    slope = float(along @ away / (along @ along))
    scatter = max(_LEAST_SCATTER, float(np.std(away - slope * along, ddof=2)))
    if abs(slope) < max(_LEAST_COURSE, _COURSE_ERRORS * scatter / np.sqrt(along @ along)):
        return None
    return Tendency("course", "", slope, away.size)
