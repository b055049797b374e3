"""Every number in the prose of lesson 01, and what it is worked out from."""

from __future__ import annotations

import math

from said.published import BEATS_MELT
from said.table import Table
from said.worked import (
    A4,
    TWELFTH,
    default,
    lesson_of,
    near,
    step_about,
    terms,
)
from tunelib import (
    named_interval,
    parse_ratio,
    ratio_from_cents,
)
from tunelib.exhibits.waves import SPEED_OF_SOUND
from tunelib.hearing.beats import beat_rate
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD
from tunelib.sound.render import render

TABLE = Table(
    claims={
        "take forty-eight thousand moments in a second": [default(render, "sample_rate")],
        "a wave that rises and falls 440 times a second": [(A4, 440)],  # ISO 16:1975
        "After a third of a second the second tone has gained exactly one vibration": [
            1 / beat_rate(440, 443),
            443 / 3 - 440 / 3,
        ],
        "So they meet three times a second": [(beat_rate(440, 443), 443 - 440)],
        "The notes 330 Hz and 220 Hz share the factor 110": [3 * 110, 2 * 110, math.gcd(330, 220)],
        "three times 110, and twice 110": [330 / 110, math.gcd(330, 220), 220 / 110, math.gcd(330, 220)],
        "Three to two, 3:2": [*terms("fifth"), *terms("fifth")],
        "Python writes the ratio 3:2": [parse_ratio("330:220").numerator, parse_ratio("330:220").denominator],
        "In the octave the upper note vibrates twice while": [terms("octave")[0]],
        "so every second peak of the upper wave meets": [terms("octave")[0]],
        "In the twelfth, 3:1, it is every third": [TWELFTH.numerator, TWELFTH.denominator, TWELFTH],
        "the fifteenth, 4:1": list((named_interval("octave").ratio ** 2).as_integer_ratio()),
        "In the fifth, 3:2, the pattern takes two vibrations": [*terms("fifth"), terms("fifth")[1]],
        "in the minor third, 6:5, it takes five": [*terms("minor third"), terms("minor third")[1]],
        "step 2 prepared and lesson 04 takes up": [step_about("drift"), lesson_of(step_about("sounds"))],
        "Twice the hertz is an octave up": [ratio_from_cents(1200)],
        "in the octave every second, in the twelfth every third peak": [terms("octave")[0], TWELFTH],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "(A4 = 440 Hz)": [(A4, 440)],  # ISO 16:1975
        # 331.3 m/s at 0 °C, growing with the root of the absolute temperature: handbooks of physics (from memory)
        "343 metres a second": [(SPEED_OF_SOUND, 331.3 * math.sqrt(1 + 20 / 273.15))],
        "in dry air at 20 °C": [near(((SPEED_OF_SOUND / 331.3) ** 2 - 1) * 273.15)],
    },
    settings=[
        ("by an octave, from 220 to 440 Hz", "wave", "hertz"),
        ("set the difference to 1 Hz", "beats", "difference"),
        ("Then try 4, then 12, while it sounds", "beats", "difference"),
        ("at 0 there is nothing left to count", "beats", "difference"),
        ("set Upper tone off by to 0.5 Hz", "shared_peaks", "off"),
        ("flip between in tune and 1 Hz off", "shared_peaks", "off"),
    ],
    given=["one tone vibrates 440 times a second and the other 443"],
    counted=[
        "the two agree",
        "Which of the two sliders",
        "Two waves drift apart",
        "Two tones, and a guess",
        "the two of them, to move apart",
        "take two tones that are far apart",
        "hearing the two notes",
        "the two are in step",
        "the hertz between the two",
        "the two are one",
        "Two tones close together",
        "Two tones in a simple ratio",
    ],
    taken_over={"around fifteen or twenty the swells melt into a rough buzz": BEATS_MELT},
    bibliography=["2nd English edition, 1885", "Facts and Models, 3rd edition, 2007", "ISO 16:1975"],
)
