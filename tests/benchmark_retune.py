"""Retuning a tune: time as it grows, memory, and cost beside a greedy choice and, for few chords, an exhaustive search.

Run as ``python tests/benchmark_retune.py``. Every chord has some hundreds of realisations. The greedy choice takes for
each chord the realisation that is cheapest after the one chosen before; the exhaustive search adds up every path there
is. The peers search the same realisations at the same prices.
"""

from __future__ import annotations

import importlib
import random
import time
import tracemalloc
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import Taste, best_path, retune
from tunelib.harmony.tune import LeadSheet
from tunelib.pitch.tunings import THIRTY_ONE

module = importlib.import_module("tunelib.harmony.retune")  # which the front door hides behind the function

Columns = Sequence[tuple[npt.NDArray[np.int16], npt.NDArray[np.float64]]]
COUNTS = (32, 64, 125, 250, 500, 1000)
TASTE = Taste(0.6)
PER_STEP = 1 / 8
RUNS = 3
CADENCES = ("Dm7 G7", "Cmaj7 Am7", "Em7b5 A7b9", "Fm6 Bb13", "Ebmaj7 C7alt", "F#dim7 G7sus4", "Abmaj7 Db9", "Gm9 C13")
PER_STEP = 1 / 8  # points that a step of motion costs, as `best_path` says


def song(chords: int, seed: int = 31) -> LeadSheet:
    chosen = random.Random(seed)
    bars = " | ".join(chosen.choice(CADENCES) for _ in range((chords + 1) // 2))
    sheet = parse_lead_sheet(f"| {bars} |")
    return LeadSheet("", 120, 4, sheet.key, sheet.chords[:chords])


def motion(before: npt.NDArray[np.int16], after: npt.NDArray[np.int16]) -> npt.NDArray[np.float64]:
    """What it costs to move from each realisation of one chord to each of the next; shape (before, after)."""
    moved = np.abs(before[:, np.newaxis].astype(int) - after[np.newaxis])
    return PER_STEP * moved.sum(axis=2, dtype=float)


def greedy(columns: Columns) -> tuple[list[int], float]:
    voices, costs = columns[0]
    path = [int(np.argmin(costs))]
    total = float(costs[path[0]])
    for after, prices in columns[1:]:
        reached = motion(voices[path[-1]][np.newaxis], after)[0] + prices
        path.append(int(np.argmin(reached)))
        total += float(reached[path[-1]])
        voices = after
    return path, total


def exhaustive(columns: Columns) -> tuple[int, float]:
    """How many paths there are, and the cost of the cheapest."""
    totals = columns[0][1]
    for (before, _), (after, prices) in pairwise(columns):
        totals = totals[..., np.newaxis] + motion(before, after) + prices
    return totals.size, float(totals.min())


def columns_of(sheet: LeadSheet) -> Columns:
    """The realisations of every chord, as they are handed to the search."""
    kept: list[Columns] = []

    def keeping(columns: Columns, *costs: Any) -> tuple[list[int], float]:
        kept.append(columns)
        return best_path(columns, *costs)

    module.best_path = keeping
    try:
        retune(sheet, THIRTY_ONE, TASTE)
    finally:
        module.best_path = best_path
    return kept[0]


def seconds(run: Callable[..., object], *arguments: object) -> float:
    """The least of several runs."""
    taken = []
    for _ in range(RUNS):
        before = time.perf_counter()
        run(*arguments)
        taken.append(time.perf_counter() - before)
    return min(taken)


def main() -> None:
    before = time.perf_counter()
    retune(song(32), THIRTY_ONE, TASTE)
    print(f"the first tune of 32 chords, its tables and chords unknown: {time.perf_counter() - before:.2f} s\n")
    print("chords  realisations  retune, s  ms a chord  search, s  greedy, s  cost  greedy's cost  peak, MB")
    for count in COUNTS:
        sheet = song(count)
        columns = columns_of(sheet)
        sizes = np.mean([len(costs) for _, costs in columns])
        whole, search, by_greed = (
            seconds(run, *given)
            for run, *given in (
                (retune, sheet, THIRTY_ONE, TASTE),
                (best_path, columns, PER_STEP),
                (greedy, columns),
            )
        )
        best, dearer = best_path(columns, PER_STEP)[1], greedy(columns)[1]
        del columns
        tracemalloc.start()
        retune(sheet, THIRTY_ONE, TASTE)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        print(
            f"{count:6d}  {sizes:12.0f}  {whole:9.3f}  {1000 * whole / count:10.2f}  {search:9.3f}  {by_greed:9.3f}"
            f"  {best:4.0f}  {dearer:13.0f}  {peak:8.1f}"
        )
    print("\nchords          paths  exhaustive, s  its cost  ours, s  our cost  greedy's cost")
    for symbols in ("Dm7 G7", "Dm7 G7 Cmaj7", "Am7b5 D7b9 Gm6", "Caug C7sus4 Fsus2 Caug"):
        columns = columns_of(parse_lead_sheet(" | ".join(["", *symbols.split(), ""]).strip()))
        start = time.perf_counter()
        paths, least = exhaustive(columns)
        took = time.perf_counter() - start
        ours = seconds(best_path, columns, PER_STEP)
        print(
            f"{len(columns):6d}  {paths:13,d}  {took:13.3f}  {least:8.3f}  {ours:7.3f}"
            f"  {best_path(columns, PER_STEP)[1]:8.3f}  {greedy(columns)[1]:13.3f}"
        )


if __name__ == "__main__":
    main()
