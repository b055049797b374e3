"""The right answers of lesson 02_overtones, worked out without the library: by ear, from what sounds.

The note frequencies are librosa's (12 equal steps from A4 = 440 Hz); F3 and A6 as drone and melody are from Adachi &
Yamada 1999, J. Acoust. Soc. Am. 105, 2920; harmonics 7, 11, 13 and 14 as the ones that stray by more than 25 cents are
common knowledge of brass players (printed deviations: -31, -49, +41, -31 cents, for example Benade 1976, from memory).
"""

from __future__ import annotations

import math
from itertools import pairwise

import librosa
import numpy as np

from tunelib.practice import exercise


def without_even_harmonics(timbre: object, hertz: float = 220.0) -> bool:
    """Whether a tone has no partial at an even multiple, as its rendered wave says: each half is the other, turned."""
    moments = (np.arange(4096) + 0.5) / 4096 / hertz
    wave = timbre.wave(moments, hertz)  # type: ignore[attr-defined]
    return bool(np.allclose(wave[:2048], -wave[2048:], atol=1e-6))


def loudest_harmonic_above(sound: object, moment: float, fundamental: float) -> int:
    """The number of the strongest harmonic from the sixth up, in what is rendered around a moment."""
    from tunelib.sound import render

    samples = render(sound.score, sound.timbre)  # type: ignore[attr-defined]
    piece = samples[int((moment - 0.2) * 48_000) : int((moment + 0.2) * 48_000)]
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(len(piece))))
    bins = {n: round(n * fundamental * len(piece) / 48_000) for n in range(6, 14)}
    return max(bins, key=lambda n: spectrum[bins[n] - 1 : bins[n] + 2].max())


SINGER = exercise(6).sounds[0]
HELD = SINGER.score.notes[0]
MELODY = [loudest_harmonic_above(SINGER, HELD.duration * (n + 0.6) / 4, HELD.hertz) for n in range(4)]
WAYS = {(1, 1, -1): "A", (1, -1, 1): "B", (-1, -1, 1): "C"}

RIGHT = {
    "4": " ".join(librosa.hz_to_note(n * librosa.note_to_hz("C2")) for n in range(1, 7)),
    "5": "ABC"[[without_even_harmonics(sound.timbre) for sound in exercise(5).sounds].index(True)],
    "5 in numbers": f"{math.gcd(300, 400, 500, 600)} Hz",
    "6": WAYS[tuple(int(np.sign(after - before)) for before, after in pairwise(MELODY))],
    "6 in numbers": f"{round(librosa.note_to_hz('A6') / librosa.note_to_hz('F3'))}",
    "7": "7, 11, 13, 14",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("4", f"{5 * librosa.note_to_hz('C2'):.0f} Hz"),
    ("4", "C2, C3, G3, C4, E4 and G4"),
    ("4", f"E4, at {librosa.note_to_hz('E4'):.1f} Hz"),
    ("5", "1, 3, 5, 7 and so on"),
    ("5 in numbers", "3, 4, 5 and 6 times 100"),
    ("6", f"harmonics {', '.join(map(str, MELODY[:3]))} and {MELODY[3]}"),
    ("6 in numbers", f"{librosa.note_to_hz('A6') / librosa.note_to_hz('F3'):.2f}, so it was harmonic 10"),
    ("7", "harmonic 7 is at −31, harmonic 11 is at −49, harmonic 13 is at +41 and harmonic 14 is at −31"),
)
"""What the worked answers show."""
