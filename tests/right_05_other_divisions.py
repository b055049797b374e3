"""The right answers of lesson 05_other_divisions, worked out without the library: by ear, from the pitches that sound.

Frets are at L (1 - 2^(-n/N)), the luthier's formula (common practice); the worst of the 7-odd limit are 7/6 in twelve
and 6/5 in thirty-one (common practice). A hand that spans an octave on a piano reaches twelve keys up.
"""

from __future__ import annotations

import math

from cents_by_hand import cents_of

from tunelib.practice import exercise, question


def steps_of(division: int, ratio: float) -> int:
    """The step of a division that is nearest to a ratio."""
    return round(division * math.log2(ratio))


def off(division: int, ratio: float) -> float:
    """Cents by which it misses."""
    return steps_of(division, ratio) * 1200 / division - cents_of(ratio)


THIRDS = [[note.hertz for note in sound.score.notes] for sound in exercise(14).sounds]
CHORD = exercise(15).sounds[0].hertz
REACHED = {"A": 3 / 2, "B": 4 / 3, "C": 5 / 4}  # the choices of exercise 16

MOVES = [max(sound.hertz) / min(sound.hertz) for sound in question(14).sounds]
PURE = (1, 5 / 4, 3 / 2, 7 / 4)  # 4:5:6:7
MISSES = [
    max(abs(cents_of(hertz / sound.hertz[0] / pure)) for hertz, pure in zip(sound.hertz, PURE, strict=True))
    for sound in question(15).sounds[1:]
]
PAIRS = [sound.score.notes[:4] for sound in question(16).sounds]  # in twelve, in thirty-one
BEATS = [
    [abs(under * high.hertz - over * low.hertz) for low, high in (notes[:2], notes[2:])]
    for notes, (over, under) in zip(PAIRS, ((7, 4), (5, 4), (3, 2)), strict=True)
]

RIGHT = {
    "14": "C" if THIRDS[0] == THIRDS[1] else "AB"[max((0, 1), key=lambda n: THIRDS[n][1])],
    "14 in numbers": f"{650 * (1 - 2 ** (-1 / 240)):.2f} mm",
    "15": " ".join(str(steps_of(31, hertz / CHORD[0])) for hertz in CHORD),
    "15 in numbers": f"{off(31, 7 / 4):.2f} cents",
    "16": max(
        (letter for letter, ratio in REACHED.items() if steps_of(31, ratio) <= 12),
        key=lambda letter: REACHED[letter],
    ),
    "16 in numbers": f"{((300 - cents_of(7 / 6)) - (cents_of(6 / 5) - 1200 * 8 / 31)) / 19:.2f} cents",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

ASKED = {
    14: "ABC"[MOVES.index(1)],
    15: "ABC"[MISSES.index(min(MISSES))],
    16: "ABC"[next(place for place, (twelve, thirty_one) in enumerate(BEATS) if twelve < thirty_one)],
}
"""The right answers of the questions, by the step."""

SHOWN = (
    ("14", f"{off(24, 5 / 4):+.0f} cents off"),
    ("14", f"come within {abs(off(31, 5 / 4)):.1f}"),
    ("14 in numbers", "36.5 mm, in thirty-one at 14.4"),
    (
        "15",
        f"{off(31, 5 / 4):.1f} and {-off(31, 7 / 4):.1f} cents off. The fifth is {-off(31, 3 / 2):.1f} cents narrow",
    ),
    ("15 in numbers", "step 25. It is at 967.74 cents: −1.08"),
    ("15 in numbers", f"3/2 −{-off(31, 3 / 2):.2f}"),
    ("16", f"In nineteen a fifth is {steps_of(19, 3 / 2)} keys up"),
    ("16 in numbers", "33.13 − 5.96"),
    ("16 in numbers", "eleventh harmonic is off by −9.4 cents, its thirteenth by +11.1"),
)
"""What the worked answers show."""
