"""A right hand seen from above, stretched over an octave of a piano, with its arm: an outline in millimetres."""

from __future__ import annotations

import numpy as np
from matplotlib.path import Path

from tunelib.pitch import FloatArray

HAND_SPAN = 165.0  # millimetres from the thumb's tip to the little finger's: an octave of a piano

# Points of the outline, from the arm by the thumb to the little finger; x to the right, y away from the player.
_POINTS = (
    (52.5, -698), (56.2, -536.3), (60, -374.7), (63.4, -226.7), (64, -198.4), (64.3, -173.1), (62.8, -146.2),
    (59.5, -130.6), (57.2, -114), (52.5, -102.8), (38.3, -81.6), (25.3, -60.8), (12.2, -38.8), (-1.3, -16.3),
    (-9, -2.2), (-8.6, 3.4), (-5, 7.8), (0.4, 9.2), (5.7, 7.3), (13.7, -3.4), (29.3, -26.4), (43, -45.1),
    (47.7, -49.4), (49.5, -47.9), (49.5, -38.9), (46.2, -23.2), (41.1, -1.5), (36.6, 26.4), (36.5, 34.6),
    (39.8, 38.2), (44.6, 38.8), (48.7, 36.1), (51.9, 25.6), (58.6, -1.9), (65.4, -19.8), (68.6, -24.8),
    (70.6, -23.7), (72, -14.7), (73.4, 13.1), (74.5, 40.9), (76.2, 47.3), (80.4, 50), (85.2, 49.4), (88.7, 45.8),
    (89.8, 34), (90.9, 5.7), (92, -20), (93.3, -24.9), (95.4, -24.2), (99.5, -14.4), (106.4, 9.5), (112.8, 35.3),
    (115.8, 40.5), (120.4, 41.9), (124.8, 40), (126.9, 35.5), (124.7, 20.2), (120.1, -7), (114.7, -31), (115, -41.3),
    (116.9, -44.2), (120, -42.9), (130.6, -29.4), (146.7, -6.7), (159.8, 12.4), (164.2, 15), (168.5, 13.9),
    (171, 10.2), (169.9, 5.1), (157.9, -15.4), (143.5, -39.8), (134.7, -55.7), (129.7, -77.2), (123.1, -104.7),
    (118.2, -131.6), (115.1, -148.4), (113.6, -175.1), (114.5, -198.8), (115.9, -227.1), (123.1, -374.9),
    (131, -536.4), (138.9, -697.9),
)  # fmt: skip
_BETWEEN = 6  # points of the drawn curve from each to the next
# The nails of the four fingers and of the thumb: the middle, and which way each finger points, from the player.
_NAILS = ((1.5, 2.5, -28), (43.0, 33.5, -11), (82.0, 44.5, 0), (119.5, 36.5, 11), (164.5, 9.5, 32))
_NAIL = 3.6, 5.2  # half as wide and half as long, in millimetres


def hand() -> Path:
    """The outline of the hand and its arm, the middle of the thumb's tip at the origin."""
    return Path(_through(np.array(_POINTS)))


def nails() -> Path:
    """The nails on the same scale, each a line round its root: what shows that the hand is seen from above."""
    turn = np.linspace(0, 2 * np.pi, 17)
    across, along = _NAIL[0] * np.cos(turn), _NAIL[1] * np.sin(turn)
    found = []
    for x, y, lean in _NAILS:
        sine, cosine = np.sin(np.radians(lean)), np.cos(np.radians(lean))
        found.append(Path(np.column_stack([x + across * cosine + along * sine, y - across * sine + along * cosine])))
    return Path.make_compound_path(*found)


def _through(points: FloatArray) -> FloatArray:
    """A smooth curve through points: cubics whose slope at each point is that from its neighbour to the other."""
    around = np.pad(points, ((1, 1), (0, 0)), mode="edge")[:, None]
    before, start, end, after = around[:-3], around[1:-2], around[2:-1], around[3:]
    t = np.linspace(0, 1, _BETWEEN, endpoint=False)[:, None]
    curve = start + t / 2 * (
        end - before + t * (2 * before - 5 * start + 4 * end - after + t * (3 * (start - end) + after - before))
    )
    return np.vstack([curve.reshape(-1, 2), points[-1:]])
