"""Roughness: how much the partials of a sound rasp against one another, and the dissonance curve that follows.

R. Plomp and W. J. M. Levelt ("Tonal consonance and critical bandwidth", J. Acoust. Soc. Am. 38, 1965) asked listeners
about pairs of sines. A pair is smooth at the unison, roughest near a quarter of a critical band, and smooth again from
about a whole band on. W. A. Sethares ("Local consonance and the relationship between timbre and scale", J. Acoust.
Soc. Am. 94, 1993) wrote their curve as the difference of two exponentials, and added it up over every pair of partials:

    w (5 exp(-3.51 x) - 5 exp(-5.75 x)),    x = 0.24 (g - f) / (0.0207 f + 18.96),    f <= g in hertz

The constants are those of the program that he published with the paper. The paper itself rounds some of them (3.5,
0.021 and 19) and weights a pair by the product of its amplitudes. The program's later weight, taken here, is the
smaller amplitude, which is what beats. A pair is roughest at x = ln(5.75 / 3.51) / (5.75 - 3.51) = 0.220.

The figures have no unit, and grow in proportion to the amplitudes. Compare them for sounds of one loudness. They know
of pairs of partials alone: not of loudness, masking, context or custom, so they do not measure beauty.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray, finite, positive_hertz, ratio_from_cents

_HEIGHT = 5.0
_FALL, _RISE = 3.51, 5.75
_ROUGHEST = 0.24
_WIDTH_PER_HERTZ, _WIDTH_AT_ZERO = 0.0207, 18.96
_AT_ONCE = 2**14  # partials, or pairs of them, worked on together: few enough to stay in the processor's cache


def roughness(frequencies: Any, amplitudes: Any) -> Any:
    """Roughness of partials that sound together, summed over all their pairs.

    Parameters
    ----------
    frequencies : array, shape (..., partials)
        In hertz, in any order. A sound a row, where there are rows.
    amplitudes : array that broadcasts to the same shape
        0 or more, on a linear scale.

    Returns a float, or an array of shape (...). One partial, or none, has no roughness. Raises ValueError for a
    frequency of zero or less, an amplitude below 0, or shapes that do not fit.

    >>> round(roughness([440, 460], [1, 1]), 4)
    0.873
    >>> round(roughness([440, 880], [1, 1]), 4)
    0.0
    """
    hertz, strengths = _partials(frequencies, amplitudes)
    shape = (math.prod(hertz.shape[:-1]), hertz.shape[-1])
    sounds, weights = hertz.reshape(shape), strengths.reshape(shape)
    total = np.zeros(len(sounds))
    rows = max(1, _AT_ONCE // max(1, shape[1]))
    for start in range(0, len(sounds), rows):
        block = slice(start, start + rows)
        f, a = np.ascontiguousarray(sounds[block].T), np.ascontiguousarray(weights[block].T)
        for number in range(1, len(f)):  # each partial against those before it
            total[block] += (_pair(f[:number], f[number]) * np.minimum(a[:number], a[number])).sum(axis=0)
    return total.reshape(hertz.shape[:-1]) if hertz.ndim > 1 else float(total[0])


def dissonance_curve(frequencies: Any, amplitudes: Any, cents: Any) -> FloatArray:
    """Roughness of a tone and the same tone transposed, for each of many intervals: the dissonance curve of a timbre.

    Parameters
    ----------
    frequencies, amplitudes : arrays, shape (partials,)
        The partials of the tone that stays, as `roughness` takes them.
    cents : array of any shape
        How far the other tone is above (or, with a minus sign, below).

    Returns roughness in the shape of `cents`. Raises ValueError as `roughness` does.

    >>> first_six = 261.63 * np.arange(1, 7)
    >>> fifth, tritone = dissonance_curve(first_six, 0.88 ** np.arange(6), [702, 600])
    >>> bool(fifth < tritone)
    True
    """
    hertz, strengths = _tone(frequencies, amplitudes)
    ratios = np.asarray(ratio_from_cents(np.asarray(cents)))[..., np.newaxis]
    both = np.concatenate(np.broadcast_arrays(hertz, hertz * ratios), axis=-1)
    return np.asarray(roughness(both, np.tile(strengths, 2)))


def dissonance_plane(frequencies: Any, amplitudes: Any, cents_a: Any, cents_b: Any) -> FloatArray:
    """Roughness of three tones of one timbre, for every pair of intervals above the lowest.

    Parameters
    ----------
    frequencies, amplitudes : arrays, shape (partials,)
        The partials of the tone that stays, as `roughness` takes them.
    cents_a, cents_b : arrays, shapes (m,) and (n,)
        How far the second tone and the third are above it.

    Returns an array of shape (m, n). Memory beyond it is bounded, however fine the grid. Raises ValueError as
    `roughness` does, and for cents that are not in one row.
    """
    hertz, strengths = _tone(frequencies, amplitudes)
    a, b = finite(cents_a, "cents"), finite(cents_b, "cents")
    if a.ndim != 1 or b.ndim != 1:
        raise ValueError(f"the cents of a plane come in two rows, one for each axis, not as {a.shape} and {b.shape}")
    alone = roughness(hertz, strengths)
    second, third = np.multiply.outer(ratio_from_cents(a), hertz), np.multiply.outer(ratio_from_cents(b), hertz)
    # Each tone against itself and against the lowest depends on one axis alone; what is left is second against third.
    along_a = dissonance_curve(hertz, strengths, a)
    along_b = dissonance_curve(hertz, strengths, b) - alone
    plane: FloatArray = along_a[:, np.newaxis] + along_b
    weights = np.minimum.outer(strengths, strengths)
    rows = max(1, _AT_ONCE // max(1, b.size * hertz.size))
    for start in range(0, a.size, rows):
        block = second[start : start + rows, np.newaxis, :]
        for number, weight in enumerate(weights):
            plane[start : start + rows] += _pair(block, third[:, number, np.newaxis]) @ weight
    return plane


def minima(curve: Any, depth: float = 0.0) -> npt.NDArray[np.int64]:
    """Where a curve has its dips.

    Parameters
    ----------
    curve : array, shape (points,)
    depth : float
        Only dips at least so deep: how far one must climb out of the dip, on the easier side, before a lower point
        is reached. A side without one is climbed to the highest point before the end.

    Returns the indices of the dips in rising order; the middle of a dip with a flat floor, the earlier of two middles.
    An end of the curve is not a dip. Raises ValueError for a curve that is not one row of finite numbers, or a depth
    below 0.

    >>> minima([3, 1, 2, 0, 4]).tolist()
    [1, 3]
    >>> minima([3, 1, 2, 0, 4], depth=2).tolist()
    [3]
    """
    values = finite(curve, "a curve")
    if values.ndim != 1:
        raise ValueError(f"a curve is one row of numbers, not an array of shape {values.shape}")
    if not depth >= 0:
        raise ValueError(f"a depth is 0 or more, not {depth}")
    starts = np.flatnonzero(np.diff(values, prepend=np.nan) != 0)  # of runs of equal values
    ends = np.append(starts[1:], values.size) - 1
    levels = values[starts]
    dips = np.flatnonzero((levels[1:-1] < levels[:-2]) & (levels[1:-1] < levels[2:])) + 1
    deep = [dip for dip in dips if depth == 0 or _climb(levels, int(dip)) >= depth]
    return (starts[deep] + ends[deep]) // 2 if deep else np.zeros(0, dtype=np.int64)


def _climb(levels: FloatArray, dip: int) -> float:
    """The lower of the two rims of a dip, above its floor."""
    rims = []
    for side in (levels[dip - 1 :: -1], levels[dip + 1 :]):
        lower = np.flatnonzero(side < levels[dip])
        rims.append(side[: lower[0]].max() if lower.size else side.max())
    return float(min(rims) - levels[dip])


def _pair(f: FloatArray, g: FloatArray) -> FloatArray:
    """Roughness of pairs of sines of amplitude 1."""
    x = _ROUGHEST * np.abs(g - f) / (_WIDTH_PER_HERTZ * np.minimum(f, g) + _WIDTH_AT_ZERO)
    return np.asarray(_HEIGHT * (np.exp(-_FALL * x) - np.exp(-_RISE * x)))


def _partials(frequencies: Any, amplitudes: Any) -> tuple[FloatArray, FloatArray]:
    hertz, strengths = positive_hertz(frequencies, "a partial"), finite(amplitudes, "an amplitude")
    if np.any(strengths < 0):
        raise ValueError(f"an amplitude is 0 or more, not {strengths[strengths < 0].flat[0]:g}")
    try:
        strengths = np.broadcast_to(strengths, hertz.shape)
    except ValueError:
        raise ValueError(
            f"there must be one amplitude for each partial: shapes {hertz.shape} and {strengths.shape} do not fit"
        ) from None
    if hertz.ndim < 1:
        raise ValueError("partials come in a row, such as [440, 880], even if there is only one")
    return hertz, strengths


def _tone(frequencies: Any, amplitudes: Any) -> tuple[FloatArray, FloatArray]:
    hertz, strengths = _partials(frequencies, amplitudes)
    if hertz.ndim != 1:
        raise ValueError(f"a tone's partials come in one row, not in an array of shape {hertz.shape}")
    return hertz, strengths
