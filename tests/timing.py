"""How long something takes, for the benchmarks."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def seconds_of(run: Callable[[], object], runs: int) -> list[float]:
    """The seconds that each of several runs takes."""
    taken = []
    for _ in range(runs):
        before = time.perf_counter()
        run()
        taken.append(time.perf_counter() - before)
    return taken


def milliseconds(run: Callable[[], object], runs: int, warm: bool = True) -> float:
    """The median of several runs, after one to warm up unless the first is what is asked for."""
    if warm:
        run()
    return 1000 * statistics.median(seconds_of(run, runs))
