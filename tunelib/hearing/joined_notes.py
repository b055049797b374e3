"""Pieces of pitch made into notes: slides, tails and unsettled beginnings taken away, what goes on joined."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tunelib.hearing.attacks import SURE_ATTACK
from tunelib.hearing.cheapest_row import LATE, Stretch
from tunelib.hearing.swings import drift_and_swing, level_and_swing, slides
from tunelib.pitch import CENTS_PER_OCTAVE

_SAME_PITCH = 18.0  # cents
_TAIL = 10.0  # decibels below the note that rings on
_NEAR, _BRIEF, _LONG = 0.06, 0.2, 1.0  # seconds: between pieces of one note; what may be no note; what may drift
_UNSETTLED, _LEEWAY = 85.0, 25.0  # cents
_LONGEST_UNSETTLED, _LONGEST_OVERLAP = 0.15, 0.1  # seconds
_MULTIPLES = CENTS_PER_OCTAVE * np.log2(np.arange(2, 11))


class _Piece(NamedTuple):
    first: int
    last: int
    pitch: float
    struck: bool


def joined(part: Stretch, pieces: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Notes from pieces, as first frame and the frame after the last."""
    attacks = np.flatnonzero(part.worth >= SURE_ATTACK)
    used = -1  # the last attack that has begun a note; each begins one
    notes: list[_Piece] = []
    end = 0
    for first, last in pieces:
        free = attacks[(attacks > used) & (attacks < first + 2) & (attacks >= min(end, first - LATE))]
        struck, end = free.size > 0, last
        cents = part.cents[first:last]
        next_struck = last > part.cents.size - 3 or bool(np.any((attacks >= last - 1) & (attacks < last + 3)))
        if cents.size * part.hop < _BRIEF and slides(cents) and not (struck and next_struck):
            continue
        pitch = level_and_swing(cents, part.hop).level
        if struck:
            used = int(free[-1])
            first = min(first, max(used, notes[-1].last - LATE if notes else 0))
        elif notes and (first - notes[-1].last) * part.hop <= _NEAR:
            before = notes[-1]
            off = pitch - before.pitch
            if np.median(part.level_db[first:last]) < np.median(part.level_db[before.first : before.last]) - _TAIL:
                continue  # what rings on
            if abs(off) < _SAME_PITCH or _drifts_on(part, before, first, last):
                first, struck = before.first, notes.pop().struck
                pitch = level_and_swing(part.cents[first:last], part.hop).level
            elif before.struck and _unsettled(before, last - first, off, part.hop):
                first, struck = before.first, notes.pop().struck
        if len(notes) > 1 and not struck and _both_at_once(notes[-2], notes[-1], pitch - notes[-1].pitch, part.hop):
            struck = notes.pop().struck
        notes.append(_Piece(first, last, pitch, struck))
    bounds = [*(note.first for note in notes[1:]), part.cents.size]
    return [(note.first, min(note.last, bound)) for note, bound in zip(notes, bounds, strict=False)]


def _drifts_on(part: Stretch, before: _Piece, first: int, last: int) -> bool:
    """Whether a long note goes on into another where it was, both drifting the same way."""
    if min(before.last - before.first, last - first) * part.hop < _LONG:
        return False
    begin, end = drift_and_swing(part.cents[before.first : before.last], part.hop)
    begins, ends = drift_and_swing(part.cents[first:last], part.hop)
    return abs(begins - end) < _SAME_PITCH / 2 and (end - begin) * (ends - begins) > 0


def _unsettled(before: _Piece, length: int, off: float, hop: float) -> bool:
    """Whether a struck piece is the beginning, not yet settled, of one of so many frames that is `off` cents higher."""
    size = before.last - before.first
    near = abs(off) < _UNSETTLED or abs(abs(off) - CENTS_PER_OCTAVE) < _LEEWAY
    return near and size * hop < _LONGEST_UNSETTLED and length >= 2 * size


def _both_at_once(before: _Piece, between: _Piece, off: float, hop: float) -> bool:
    """Whether a piece is no note, but what rings on and what begins, sounding together.

    The two repeat themselves at a pitch of which what begins, `off` cents higher, is a multiple.
    """
    soon = (between.first - before.last) * hop <= _NEAR and (between.last - between.first) * hop < _LONGEST_OVERLAP
    return soon and bool(np.any(np.abs(off - _MULTIPLES) < _LEEWAY))
