"""Naming chords back: time for a set of notes, beside music21's name for the same notes in the same run.

python tests/benchmark_naming.py
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import music21

from tunelib.harmony.naming import readings
from tunelib.harmony.ratios import ratio_chord
from tunelib.pitch.notes import Note, spell_on_chain
from tunelib.pitch.tunings import THIRTY_ONE

SETS = 60


def milliseconds(name: Callable[[list[Note]], object], chords: list[list[Note]]) -> tuple[float, float]:
    """The median and the longest time of the processor, so that others' work does not count."""
    took = []
    for notes in chords:
        start = time.process_time()
        name(notes)
        took.append(1000 * (time.process_time() - start))
    return sorted(took)[len(took) // 2], max(took)


def by_peer(notes: list[Note]) -> object:
    typed = [note.typed.replace("b", "-").replace("x", "##") for note in notes]
    return music21.harmony.chordSymbolFigureFromChord(music21.chord.Chord(typed), True)


def main() -> None:
    """Print a line for each number of notes."""
    chance = random.Random(31)
    by_peer([Note.parse(name) for name in ("C4", "E4", "G4")])
    print("milliseconds, median and longest; the peer gives one name, we give every reading with its reason")
    print("notes  readings       ours        in steps        music21")
    for count in (3, 4, 5, 6, 7):
        steps = [sorted(chance.sample(range(62), count)) for _ in range(SETS)]
        chords = [[spell_on_chain(step, THIRTY_ONE) for step in chosen] for chosen in steps]
        ratio_chord.cache_clear()
        ours, longest = milliseconds(lambda notes: readings(notes, THIRTY_ONE), chords)
        ratio_chord.cache_clear()
        plain, plain_longest = milliseconds(
            lambda notes: readings([note.step(THIRTY_ONE) for note in notes], THIRTY_ONE), chords
        )
        peer, peer_longest = milliseconds(by_peer, chords)
        found = sum(len(readings(notes, THIRTY_ONE)) for notes in chords) / SETS
        print(
            f"{count:5}  {found:8.1f}  {ours:6.1f} {longest:6.1f}  {plain:6.1f} {plain_longest:6.1f}  "
            f"{peer:6.1f} {peer_longest:6.1f}"
        )


if __name__ == "__main__":
    main()
