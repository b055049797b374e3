"""How long it takes to find the ways between two chords, asked for the first time and with what is kept warm.

Run as ``python tests/benchmark_ways.py``. Nothing that was asked before is remembered: each pair is moved to a root of
its own. The table of roughness is worked out beforehand, as a panel has it after its first chord.
"""

from __future__ import annotations

import time

import numpy as np

from tunelib.harmony import Chord, ways_between
from tunelib.pitch import Note, equal

PAIRS = ("Dm7 G7", "Cmaj7 Am7", "C F", "G7 Cmaj7", "G7 C", "Cmaj7 Ebmaj7")
ROOTS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def milliseconds(pair: str, size: int, length: int) -> float:
    """The median over some roots."""
    first, last = map(Chord.parse, pair.split())
    up = first.root.interval_to(last.root)
    taken = []
    for root in map(Note.named, ROOTS):
        before = time.perf_counter()
        ways_between(first.on(root), last.on(root.transpose(up)), equal(size), most=length, fewest=length)
        taken.append(time.perf_counter() - before)
    return 1000 * float(np.median(taken))


def main() -> None:
    """Print the table."""
    for size in (19, 31, 53):
        print(f"\nmilliseconds in {size}    through 1      2      3")
        for pair in PAIRS:
            print(f"{pair:>16}        " + "".join(f"{milliseconds(pair, size, length):7.0f}" for length in (1, 2, 3)))


if __name__ == "__main__":
    main()
