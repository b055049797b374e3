"""How long it takes to hold every division up to some number against the 15-odd limit, beside a plain loop.

Run as ``python tests/benchmark_divisions.py``. The two are compared first, so that equal work is timed.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from timing import milliseconds

from tunelib.pitch.divisions import consistency, errors, largest_error, odd_limit_intervals, rms_error

TARGETS = odd_limit_intervals(15)
FIRST = 1200


def plain_loop(divisions: np.ndarray, targets: tuple[Fraction, ...]) -> list[list[float]]:
    sizes = [1200 * math.log2(target) for target in targets]
    return [[1200 * round(n * size / 1200) / n - size for size in sizes] for n in divisions.tolist()]


def main() -> None:
    every = np.arange(1, FIRST + 1)
    apart = np.abs(errors(every, TARGETS) - np.array(plain_loop(every, TARGETS))).max()
    print(f"{len(TARGETS)} targets; errors differ from the plain loop's by {apart:.1e} cent at most\n")
    print("milliseconds for divisions from 1 to    " + "".join(f"{FIRST * times:>10,}" for times in (1, 10, 100)))
    for name, run, runs in (
        ("plain loop", lambda n: plain_loop(n, TARGETS), 3),
        ("errors", lambda n: errors(n, TARGETS), 15),
        ("largest_error", lambda n: largest_error(n, TARGETS), 15),
        ("rms_error", lambda n: rms_error(n, TARGETS), 15),
        ("consistency", consistency, 5),
    ):
        taken = [
            milliseconds(lambda top=FIRST * times, run=run: run(np.arange(1, top + 1)), runs) for times in (1, 10, 100)
        ]
        print(f"  {name:38}" + "".join(f"{one:10.1f}" for one in taken))


if __name__ == "__main__":
    main()
