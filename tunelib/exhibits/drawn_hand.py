"""A right hand seen from above, stretched over an octave of a piano: an outline in millimetres."""

from __future__ import annotations

import numpy as np
from matplotlib.path import Path

from tunelib.pitch import FloatArray

HAND_SPAN = 165.0  # millimetres from the thumb's tip to the little finger's: an octave of a piano

# Each finger from its knuckle to its tip, and how thick it is; x to the right, y away from the player.
_FINGERS = (
    ((58, -46), (0, -2), 21),
    ((60, -22), (45, 30), 18),
    ((83, -18), (82, 42), 18),
    ((105, -20), (118, 35), 17),
    ((122, -30), (HAND_SPAN, 10), 14),
)
_PALM = ((50, -50), (60, -22), (83, -16), (105, -18), (124, -28), (126, -60), (120, -130), (70, -130))


def hand() -> Path:
    """The outline of the hand, the middle of the thumb's tip at the origin; its pieces overlap."""
    pieces = [_capsule(np.array(base), np.array(tip), thick / 2) for base, tip, thick in _FINGERS]
    pieces.append(_closed(np.array(_PALM, dtype=float)))
    return Path.make_compound_path(*pieces)


def _capsule(base: FloatArray, tip: FloatArray, radius: float) -> Path:
    """A bar with round ends, counterclockwise."""
    along = np.arctan2(*(tip - base)[::-1])
    turns = np.linspace(-np.pi / 2, np.pi / 2, 12)
    round_tip = tip + radius * np.column_stack([np.cos(along + turns), np.sin(along + turns)])
    round_base = base - radius * np.column_stack([np.cos(along + turns), np.sin(along + turns)])
    return _closed(np.vstack([round_tip, round_base]))


def _closed(points: FloatArray) -> Path:
    counterclockwise = np.sum(points[:, 0] * np.roll(points[:, 1], -1) - points[:, 1] * np.roll(points[:, 0], -1)) > 0
    ordered = points if counterclockwise else points[::-1]
    return Path(np.vstack([ordered, ordered[:1]]), closed=True)
