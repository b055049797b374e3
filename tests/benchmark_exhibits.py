"""Kernel time for one move of a slider, for every exhibit: ``python tests/benchmark_exhibits.py``.

A move is all that the kernel does between the new value and the picture's bytes: the panel's callback with its update,
its sentence and its compact encoding. The peer draws the same figure as `ipywidgets.interact` has it drawn: laid out
anew, drawn whole and encoded as PNG.
"""

from __future__ import annotations

import io
import statistics
import time
from typing import Any

import numpy as np
from test_exhibits import anywhere

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Exhibit
from tunelib.show import panel
from tunelib.show.stage import Stage

MOVES = 60
PEER_MOVES = 8


def random_moves(exhibit: Exhibit, count: int) -> list[tuple[str, Any]]:
    """One knob at a time, to random places."""
    dice = np.random.default_rng(7)
    return [
        (knob.name, anywhere(knob, dice))
        for knob in (exhibit.knobs[int(dice.integers(len(exhibit.knobs)))] for _ in range(count))
    ]


def panel_times(exhibit: Exhibit, density: int) -> list[float]:
    """Milliseconds from a new value to the picture's bytes, move by move, the first ones left out."""
    shown = panel(exhibit.name, density=density)
    shown.rest = lambda: None  # type: ignore[method-assign]  # what a knob at rest costs is not part of a move
    spent = []
    for name, value in random_moves(exhibit, MOVES + 5):
        before = time.perf_counter()
        shown.knobs[name].value = value
        spent.append(1000 * (time.perf_counter() - before))
    return spent[5:]


def peer_times(exhibit: Exhibit, size: str) -> list[float]:
    """Milliseconds to lay out, draw and encode the same figure afresh, move by move."""
    values = exhibit.settle({})
    spent = []
    for name, value in random_moves(exhibit, PEER_MOVES + 1):
        values[name] = value
        before = time.perf_counter()
        stage = Stage(exhibit, size)
        stage.whole(values).savefig(io.BytesIO(), format="png")
        spent.append(1000 * (time.perf_counter() - before))
    return spent[1:]


def main() -> None:
    """Print the table."""
    print("milliseconds a move: median and 95th percentile; the aim is 15 at normal density and 25 at double")
    print(f"{'exhibit':<18}{'density':>8}{'panel':>9}{'95 %':>8}{'plain redraw':>15}")
    for exhibit in EXHIBITS.values():
        for density, size in ((1, "panel"), (2, "panel at double density")):
            ours = panel_times(exhibit, density)
            peer = statistics.median(peer_times(exhibit, size))
            middle, slow = statistics.median(ours), np.percentile(ours, 95)
            print(f"{exhibit.name:<18}{density:>8}{middle:>9.1f}{slow:>8.1f}{peer:>15.1f}")


if __name__ == "__main__":
    main()
