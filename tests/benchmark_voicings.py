"""How long it takes to find a chord's voicings and to rank them, beside the roughness of all partials, one at a time.

Run as ``python tests/benchmark_voicings.py``. The figures are compared first, so that equal work is timed. The first
ranking of all works out the table of pairs, and is timed by itself.
"""

# ruff: noqa: E402 - the number of threads must be set before numpy is loaded

from __future__ import annotations

import os

for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ[_variable] = "1"

from collections.abc import Sequence

import numpy as np
from timing import milliseconds

from tunelib.harmony.chords import Chord
from tunelib.harmony.pair_roughness import PLAIN_AMPLITUDES, PLAIN_PARTIALS
from tunelib.harmony.voicings import Voicing, ranked, voicings
from tunelib.hearing.roughness import roughness
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE

LOWEST, HIGHEST = Note.parse("C2"), Note.parse("C7")


def one_by_one(found: Sequence[Voicing]) -> list[float]:
    """The roughness of each voicing from all its partials."""
    rough = []
    for voicing in found:
        hertz = np.array([note.hz(THIRTY_ONE) for note in voicing.notes])
        partials = np.multiply.outer(hertz, PLAIN_PARTIALS).ravel()
        rough.append(float(roughness(partials, np.tile(PLAIN_AMPLITUDES, len(hertz)))))
    return rough


def main() -> None:
    """Print the table."""
    first = voicings(Chord.parse("C"), THIRTY_ONE, lowest=LOWEST, highest=HIGHEST)
    print(
        "the table of pairs, at the first ranking of all: "
        f"{milliseconds(lambda: ranked(first, THIRTY_ONE), 1, warm=False):.1f} ms"
    )
    print("\nmilliseconds, one thread      voicings    found   ranked   one by one")
    for symbol in ("Cmaj7", "Charm9", "C13", "Charm9h#11"):
        chord = Chord.parse(symbol)
        found = voicings(chord, THIRTY_ONE, lowest=LOWEST, highest=HIGHEST, hand=None)
        assert np.allclose(sorted(one_by_one(found)), [rough for _, rough in ranked(found, THIRTY_ONE)])
        finding = milliseconds(
            lambda chord=chord: voicings(chord, THIRTY_ONE, lowest=LOWEST, highest=HIGHEST, hand=None), 15
        )
        ranking = milliseconds(lambda found=found: ranked(found, THIRTY_ONE), 15)
        peer = milliseconds(lambda found=found: one_by_one(found), 3)
        print(f"{symbol:30s}{len(found):8d}{finding:9.1f}{ranking:9.1f}{peer:13.1f}")


if __name__ == "__main__":
    main()
