"""How the pitch of one note moves: the level and the swing of a vibrato, or a slide.

A note is taken whole, however short, and may have gaps; its level is what is wanted. `tunelib.hearing.vibrato` goes
through a long note in windows of one length, finds the rate more finely, and lets the level drift.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from tunelib.pitch import FloatArray

_RATES = np.arange(4.0, 8.6, 0.25)  # hertz
_SLIDE, _SLIDE_SHARE = 30.0, 0.7  # cents, and the share of what moves, from which an even rise is a slide
_LEAST_SECONDS, _LEAST_WIDTH = 0.25, 12.0  # of a note, and cents from crest to trough, from which it may swing
_MOST_LEFT = 0.5  # of what moves, that a swing may leave untold


class Swing(NamedTuple):
    """Level and width from crest to trough in cents, and rate in hertz; width and rate are 0 where nothing swings."""

    level: float
    width: float
    rate: float


def level_and_swing(cents: FloatArray, hop: float) -> Swing:
    """The level about which pitch swings, by least squares at the best rate; its median where it does not swing.

    `cents` is one note's pitch, of the shape (frames,), NaN in a gap; `hop` is the seconds from frame to frame.
    """
    known = np.isfinite(cents)
    level = float(np.median(cents[known]))
    if not known.all():
        places = np.arange(cents.size)
        cents = np.interp(places, places[known], cents[known])
    total = float(np.sum((cents - cents.mean()) ** 2))
    if cents.size * hop < _LEAST_SECONDS or total <= 0:
        return Swing(level, 0.0, 0.0)
    solvers, bases = _fits(cents.size, hop)
    parts = solvers @ cents  # shape (rates, 3)
    rest = np.sum((cents - np.einsum("rfk,rk->rf", bases, parts)) ** 2, axis=1)
    best = int(rest.argmin())
    width = 2 * float(np.hypot(*parts[best, 1:]))
    if width < _LEAST_WIDTH or rest[best] > _MOST_LEFT * total:
        return Swing(level, 0.0, 0.0)
    return Swing(float(parts[best, 0]), width, float(_RATES[best]))


def drift_and_swing(cents: FloatArray, hop: float) -> tuple[float, float]:
    """Where the level about which pitch swings begins and where it ends, if it drifts evenly, in cents.

    Takes what `level_and_swing` takes.
    """
    rate = level_and_swing(cents, hop).rate
    places = np.flatnonzero(np.isfinite(cents))
    turns = 2 * np.pi * rate * hop * places
    columns = [np.ones(places.size), places / cents.size] + ([np.cos(turns), np.sin(turns)] if rate else [])
    begin, rise = np.linalg.lstsq(np.stack(columns, axis=1), cents[places], rcond=None)[0][:2]
    return float(begin), float(begin + rise)


def slides(cents: FloatArray) -> bool:
    """Whether pitch, frame by frame, rises or falls all through, as a slide does and a vibrato does not."""
    places = np.flatnonzero(np.isfinite(cents))
    if places.size < 2:
        return True
    rise = float(np.polyfit(places, cents[places], 1)[0]) * cents.size
    return bool(abs(rise) > _SLIDE and rise**2 / 12 > _SLIDE_SHARE * cents[places].var())


@lru_cache(maxsize=64)
def _fits(size: int, hop: float) -> tuple[FloatArray, FloatArray]:
    """For each rate, what solves for level, cosine and sine, and these three: (rates, 3, size) and (rates, size, 3)."""
    turns = 2 * np.pi * _RATES[:, np.newaxis] * hop * np.arange(size)
    bases = np.stack((np.ones_like(turns), np.cos(turns), np.sin(turns)), axis=2)
    return np.linalg.pinv(bases), bases
