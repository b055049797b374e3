"""Pieces of pitch made into notes: slides, tails and unsettled beginnings taken away, what goes on joined."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tunelib.hearing.attacks import SURE_ATTACK
from tunelib.hearing.cheapest_row import LATE, Stretch
from tunelib.hearing.swings import level_and_swing
from tunelib.pitch import FloatArray

_SAME_PITCH = 18.0  # cents
_TAIL = 10.0  # decibels below the note that rings on
_NEAR, _BRIEF = 0.06, 0.2  # seconds: between pieces that may belong together, and below which one may be no note
_UNSETTLED, _OCTAVE, _OCTAVE_LEEWAY = 85.0, 1200.0, 25.0  # cents
_SLIDE, _SLIDE_SHARE = 30.0, 0.7


class _Piece(NamedTuple):
    first: int
    last: int
    pitch: float
    struck: bool


def joined(part: Stretch, pieces: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Notes from pieces, as first frame and the frame after the last."""
    notes: list[_Piece] = []
    for first, last in pieces:
        struck = _struck(part, min(notes[-1].last, first - LATE) if notes else 0, first + 2)
        cents = part.cents[first:last]
        begins_or_ends = struck and (last > part.cents.size - 3 or _struck(part, last - 1, last + 3))
        if _slides(cents, part.hop) and not begins_or_ends:
            continue
        pitch = level_and_swing(cents, part.hop).level
        if notes and (first - notes[-1].last) * part.hop <= _NEAR and not struck:
            before = notes[-1]
            if np.median(part.level_db[first:last]) < np.median(part.level_db[before.first : before.last]) - _TAIL:
                continue  # what rings on
            off = abs(pitch - before.pitch)
            if off < _SAME_PITCH:
                first, struck = before.first, notes.pop().struck
                pitch = level_and_swing(part.cents[first:last], part.hop).level
            elif _unsettled(before, last - first, off, part.hop):
                first, struck = before.first, notes.pop().struck
        notes.append(_Piece(first, last, pitch, struck))
    return [(note.first, note.last) for note in notes]


def _struck(part: Stretch, first: int, last: int) -> bool:
    return bool(part.worth[max(first, 0) : last].max(initial=0.0) >= SURE_ATTACK)


def _slides(cents: FloatArray, hop: float) -> bool:
    """Whether a short piece rises or falls all through."""
    if cents.size * hop >= _BRIEF:
        return False
    places = np.flatnonzero(np.isfinite(cents))
    if places.size < 2:
        return True
    rise = float(np.polyfit(places, cents[places], 1)[0]) * cents.size
    return bool(abs(rise) > _SLIDE and rise**2 / 12 > _SLIDE_SHARE * cents[places].var())


def _unsettled(before: _Piece, length: int, off: float, hop: float) -> bool:
    """Whether a piece is the beginning of the note after it, from before its pitch had settled."""
    size = before.last - before.first
    near = off < _UNSETTLED or abs(off - _OCTAVE) < _OCTAVE_LEEWAY
    return before.struck and size * hop < _BRIEF and length >= 2 * size and near
