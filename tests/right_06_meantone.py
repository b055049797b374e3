"""The right answers of lesson 06_meantone, worked out without the library: by ear, from the pitches that sound.

The fifth is the fourth root of 5 (Zarlino 1571, Salinas 1577).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations, groupby

from cents_by_hand import cents_of

from tunelib.practice import exercise, question
from tunelib.practice.ear_sounds import EarSound

PURE = (Fraction(5, 4), Fraction(6, 5))  # thirds; a fourth and a fifth are left to beat, as they did


def chords(sound: EarSound) -> list[list[float]]:
    """What sounds together, in the order in which it sounds: from low to high, in hertz."""
    notes = sorted(sound.score.notes, key=lambda note: (note.onset, note.hertz))
    return [[note.hertz for note in group] for _, group in groupby(notes, key=lambda note: note.onset)]


def beats(low: float, high: float, ratio: Fraction) -> float:
    """Beats a second of two notes that are near a ratio."""
    return abs(ratio.denominator * high - ratio.numerator * low)


def worst_third(sound: EarSound) -> float:
    """Cents by which the worst of the thirds in a row of chords is off, whole tones and fourths left out."""
    return max(
        min(abs(cents_of(high / low / float(pure))) for pure in PURE)
        for chord in chords(sound)
        for low, high in combinations(chord, 2)
        if 240 < cents_of(high / low) < 440
    )


def letter(values: Sequence[float], wanted: float) -> str:
    """The letter of a sound, in their order."""
    return "ABC"[list(values).index(wanted)]


OVER_C = [chords(sound)[0] for sound in exercise(17).sounds]
FLUTTER = [beats(low, high, PURE[0]) for low, high in OVER_C]
MINOR = [beats(*chords(sound)[1], PURE[1]) for sound in exercise(18).sounds]  # A and C, after C and E
IN_E = [worst_third(sound) for sound in exercise(20).sounds]

ENDS = [chords(sound)[-1] for sound in question(17).sounds]
REST = [beats(chord[0], chord[1], PURE[0]) for (chord,) in map(chords, question(18).sounds)]
KEYS = [worst_third(sound) for sound in question(19).sounds]
FROM_HOME = [chords(sound)[-1] for sound in question(20).sounds]
SLOW = [high - low for low, high in FROM_HOME]

OTHER_ORGAN = "A♭ E♭ B♭ F C G D A E B F♯ C♯".split()  # eleven fifths up from A♭; the twelfth was never tuned

RIGHT = {
    "17": letter(FLUTTER, max(FLUTTER)),
    "17 in numbers": f"{Fraction(3, 2) ** 4 / 5}",
    "18": letter(MINOR, min(MINOR)),
    "18 in numbers": "1/3",
    "19": f"{OTHER_ORGAN[-1]} {OTHER_ORGAN[0]}",
    "20": letter(IN_E, min(IN_E)),
    "20 in numbers": f"{18 * 1200 / 31 - cents_of(5**0.25):.3f} cents",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

ASKED = {
    17: "A" if ENDS[0] == ENDS[1] else "BC"[ENDS[0][1] > ENDS[1][1]],
    18: letter(REST, min(REST)),
    19: letter(KEYS, max(KEYS)),
    20: letter(SLOW, min(SLOW)),
}
"""The right answers of the questions, by the step."""

SHOWN = (
    ("17", f"{FLUTTER[1]:.1f} beats a second, a comma of {cents_of(81 / 80):.1f} cents"),
    ("17", f"a piano's, {FLUTTER[2]:.1f} beats"),
    ("17 in numbers", f"81/16 ÷ 5 = 81/80: {cents_of(81 / 80):.2f} cents"),
    (
        "18 in numbers",
        f"{cents_of(3 / 2) - cents_of(81 / 80) / 3:.2f} cents, and major thirds {cents_of(81 / 80) / 3:.2f} cents",
    ),
    ("19", f"{8400 - 11 * cents_of(5**0.25) - cents_of(3 / 2):.1f} cents wider"),
    ("20", f"every third is {400 - cents_of(5 / 4):.1f} cents too wide"),
    ("20", f"thirds are {1200 * 10 / 31 - cents_of(5 / 4):.1f} cents too wide"),
    ("20 in numbers", f"0.1958 cents: a fifth of {18 * 1200 / 31:.2f} cents instead of {cents_of(5**0.25):.2f}"),
    ("20 in numbers", f"{1200 * 10 / 31 - cents_of(5 / 4):.2f} cents wider than pure"),
    ("20 in numbers", f"{(cents_of(3 / 2) - 18 * 1200 / 31) / cents_of(81 / 80):.4f} of a comma"),
)
"""What the worked answers show."""
