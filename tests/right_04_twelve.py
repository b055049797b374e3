"""The right answers of lesson 04_twelve, worked out without the library: by ear, from what sounds.

The note frequencies are librosa's (12 equal steps from A4 = 440 Hz).
"""

from __future__ import annotations

from itertools import pairwise

import librosa
from cents_by_hand import cents_of

from tunelib.practice import exercise


def sounding(step: int) -> list[list[float]]:
    """The notes of each sound of an exercise, in hertz, in the order in which they begin."""
    return [[note.hertz for note in sound.score.notes] for sound in exercise(step).sounds]


CLIMBS = [[cents_of(above / below) for below, above in pairwise(notes[:13])] for notes in sounding(11)]
UNEVEN = [max(climb) - min(climb) for climb in CLIMBS]
WIDE = CLIMBS[UNEVEN.index(max(UNEVEN))]

BEATS = [abs(harmonic - key) for harmonic, key, *_ in sounding(12)]
BEST_FIRST = sorted(range(3), key=lambda place: BEATS[place])
ORDINALS = ("first", "second", "third")

TREMBLING = sounding(13)[1]

RIGHT = {
    "11": "ABC"[UNEVEN.index(max(UNEVEN))],
    "11 in numbers": f"{librosa.note_to_hz('F#4'):.2f} Hz",
    "12": ", ".join(ORDINALS[place] for place in BEST_FIRST),
    "12 in numbers": "13.69 cents",
    "13": str(librosa.hz_to_note(max(TREMBLING))),
    "13 in numbers": f"{4 * librosa.note_to_hz('E4') - 5 * librosa.note_to_hz('C4'):.2f} beats a second",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("11", f"step {WIDE.index(max(WIDE)) + 1}, counted from the bottom, has {max(WIDE):.0f} cents"),
    ("11", f"each of the others {min(WIDE):.0f}"),
    ("11 in numbers", f"{librosa.note_to_hz('F#4'):.0f} Hz"),
    ("12", f"{BEATS[BEST_FIRST[0]]:.1f}, {BEATS[BEST_FIRST[1]]:.1f} and {BEATS[BEST_FIRST[2]]:.1f} times a second"),
    ("12 in numbers", "+13.69 cents"),
    ("12 in numbers", "the seventh harmonic +31.17"),
    ("13", f"{4 * librosa.note_to_hz('A3') - 5 * librosa.note_to_hz('F3'):.1f} times a second"),
    ("13 in numbers", f"{4 * librosa.note_to_hz('E4') - 5 * librosa.note_to_hz('C4'):.1f} beats a second"),
)
"""What the worked answers show."""
