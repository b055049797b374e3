"""Every number in the prose of lesson 02, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction

from said.table import Table
from said.worked import (
    SEMITONE,
    STRAY,
    TIMES,
    TWELVE,
    default,
    size,
)
from tunelib import (
    cents,
    name_of,
)
from tunelib.exhibits.series_sheet import NEAR
from tunelib.exhibits.singing import DEEPEST
from tunelib.live import harmonic_keys
from tunelib.practice import question
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD
from tunelib.sound.timbre import timbre
from tunelib.sound.voice import vowel

SQUARE = timbre("square").partials(110)[1]


TABLE = Table(
    claims={
        "Here are eight tones": [len(question(4).sounds[0].hertz)],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "It also vibrates in two halves, in three thirds, in four quarters": TIMES[1:4],
        "The halves are twice as fast, the thirds three times": TIMES[1:3],
        "at two, three, four times its frequency": TIMES[1:4],
        "each of the first sixteen harmonics is a key": [default(harmonic_keys, "count")],
        "then two kinds of third": [sum("third" in str(name_of(Fraction(n + 1, n))) for n in range(1, 6))],
        "the third a third as strong as the first, the fifth a fifth as strong": [
            SQUARE[1] / SQUARE[0],
            SQUARE[2] / SQUARE[0],
        ],
        "put that formant at 1090 Hz": [(vowel("hod").formants_hz[1], 1090)],  # Peterson and Barney 1952, table II
        "the strongest harmonic is 60 of them above the foot": [-DEEPEST],
        "20 lower is a tenth of the strength": [-20 * math.log10(0.1), 10 ** (-20 / 20)],  # IEC 60027-3: field levels
        "own notes, twelve to the octave": [TWELVE],
        "above them is how far that is, in hundredths of the way to the next key, where it is more than ten": [NEAR],
        "twelve keys to the octave, and here the way from each to the next is cut into a hundred parts": [
            TWELVE,
            size(SEMITONE),
        ],
        "the seventh harmonic is about 2.8 of them above": lambda seventh, above: [
            seventh,
            (cents(seventh) / 1200, math.log2(seventh)),
        ],
        "Harmonics 7, 11, 13 and 14 are not": STRAY,
        "touch a string lightly at a half, a third, a quarter of its length": [1 / n for n in TIMES[1:4]],
    },
    settings=[
        ("set Harmonics kept to 1", "recipe", "kept"),
        ("Focus is at 0", "sung_overtones", "focus"),
        ("which sets Focus to 100", "sung_overtones", "focus"),
    ],
    given=["The ladder on 110 Hz", "a drone on 130.8 Hz", "How far is the seventh harmonic"],
    counted=[
        "one or two traits",
        "How well will the two get on",
        "two notes from one throat",
        "the lower of the two",
        "Where the two sound calm together",
    ],
    bibliography=[
        "vowels, J. Acoust. Soc. Am. 24, 1952",
        "Xöömij, J. Acoust. Soc. Am. 105, 1999",
        "eLife 9:e50476, 2020",
        "One singer, two voices, Acoustics Today 17(1), 2021",
        "2nd English edition, 1885",
    ],
)
