"""How long a dissonance curve and a plane of triads take, beside a plain double loop over the partials.

Run as ``python tests/benchmark_roughness.py``. The figures are compared first, so that equal work is timed. The loop
does a part of the plane, and its time is scaled up.
"""

# ruff: noqa: E402 - the number of threads must be set before numpy is loaded

from __future__ import annotations

import os

for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ[_variable] = "1"

import math
import tracemalloc

import numpy as np
from timing import milliseconds

from tunelib.hearing.roughness import dissonance_curve, dissonance_plane

PARTIALS = 261.63 * np.arange(1, 9)
STRENGTHS = 0.88 ** np.arange(8)
CURVE = np.arange(1301.0)
AXIS = np.arange(0, 1201, 5.0)
SOME = AXIS[::24]


def loop(*tones: np.ndarray) -> float:
    """The roughness of tones together, pair by pair."""
    partials = [(f, a) for tone in tones for f, a in zip(tone.tolist(), STRENGTHS.tolist(), strict=True)]
    total = 0.0
    for i, (f, a) in enumerate(partials):
        for g, b in partials[:i]:
            x = 0.24 * abs(g - f) / (0.0207 * min(f, g) + 18.96)
            total += min(a, b) * 5 * (math.exp(-3.51 * x) - math.exp(-5.75 * x))
    return total


def raised(cents: float) -> np.ndarray:
    return PARTIALS * 2 ** (cents / 1200)


def curve_by_loop() -> np.ndarray:
    return np.array([loop(PARTIALS, raised(c)) for c in CURVE])


def plane_by_loop() -> np.ndarray:
    return np.array([[loop(PARTIALS, raised(a), raised(b)) for b in SOME] for a in SOME])


def main() -> None:
    def curve() -> np.ndarray:
        return dissonance_curve(PARTIALS, STRENGTHS, CURVE)

    def plane() -> np.ndarray:
        return dissonance_plane(PARTIALS, STRENGTHS, AXIS, AXIS)

    print(f"curves differ by {np.abs(curve() - curve_by_loop()).max():.1e} of {curve().max():.1f}")
    print(f"planes differ by {np.abs(plane()[::24, ::24] - plane_by_loop()).max():.1e} of {plane().max():.1f}")
    share = (SOME.size / AXIS.size) ** 2
    rows = (
        ("curve, 1,301 intervals of 8 partials", milliseconds(curve, 15), milliseconds(curve_by_loop, 3)),
        ("plane, 241 by 241 triads of 8 partials", milliseconds(plane, 7), milliseconds(plane_by_loop, 3) / share),
    )
    print("\nmilliseconds, one thread                    ours      loop")
    for what, ours, by_loop in rows:
        print(f"{what:40s}{ours:8.1f}{by_loop:10.0f}")
    tracemalloc.start()
    kept = plane().nbytes
    print(f"memory of the plane at its peak: {tracemalloc.get_traced_memory()[1] / kept:.1f} times the result")


if __name__ == "__main__":
    main()
