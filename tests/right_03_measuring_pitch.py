"""The right answers of lesson 03_measuring_pitch, worked out without the library: by ear, from what sounds.

Cents are Ellis 1885; 70.7 % is Levitt 1971, J. Acoust. Soc. Am. 49, 467; note frequencies are librosa's.
"""

from __future__ import annotations

import math

import librosa
from cents_by_hand import cents_of

from tunelib.practice import exercise


def sounding(step: int) -> list[list[float]]:
    """The notes of each sound of an exercise, in hertz, in the order in which they begin."""
    return [[note.hertz for note in sound.score.notes] for sound in exercise(step).sounds]


LEAPS = [(low, top) for low, top, *_ in sounding(8)]
SIZES = [cents_of(top / low) for low, top in LEAPS]
OTHERS = [sum(abs(size - other) for other in SIZES) for size in SIZES]  # how far each is from the two others

SAME_OR_NOT = [abs(second - first) for first, second, *_ in sounding(9)]

WRITTEN, *PLAYERS = sounding(10)
OFF = [[cents_of(played / due) for played, due in zip(player, WRITTEN, strict=True)] for player in PLAYERS]
SPREAD = [max(off) - min(off) for off in OFF]

RIGHT = {
    "8": "ABC"[OTHERS.index(max(OTHERS))],
    "8 in numbers": f"{cents_of(442 / 440):.2f} cents",
    "9": "ABC"[SAME_OR_NOT.index(max(SAME_OR_NOT))],
    "9 in numbers": f"{100 * math.sqrt(0.5):.1f} %",
    "10": "AB"[SPREAD.index(min(SPREAD))],
    "10 in numbers": f"{cents_of(293 / (5 * librosa.note_to_hz('A#1'))):.1f}",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("8", f"{min(SIZES):.0f} cents. The others, from G3 and from B♭3, have {max(SIZES):.0f}"),
    ("8", ", ".join(f"{top - low:.0f} Hz" for low, top in LEAPS[:2]) + f" and {LEAPS[2][1] - LEAPS[2][0]:.0f} Hz wide"),
    ("8 in numbers", f"{cents_of(442 / 440):.2f} cents"),
    ("8 in numbers", f"{cents_of(222 / 220):.2f} cents"),
    ("9", f"{cents_of(1 + max(SAME_OR_NOT) / librosa.note_to_hz('B4')):.0f} cents, less than the rule of thumb"),
    ("9", f"beat, {max(SAME_OR_NOT):.1f} times a second"),
    ("9 in numbers", "70.7 %"),
    ("10", f"about {sum(OFF[1]) / len(OFF[1]):.0f} cents sharp"),
    ("10", f"average of that is {abs(sum(OFF[0]) / len(OFF[0])):.0f}"),
    ("10 in numbers", f"{5 * librosa.note_to_hz('A#1'):.2f} Hz"),
    ("10 in numbers", f"D4, −{cents_of(librosa.note_to_hz('D4') / 293):.1f}"),
)
"""What the worked answers show."""
