"""Every number in the prose of lesson 04, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from said.table import Table
from said.worked import (
    A3,
    SEMITONE,
    THIRTY_ONE,
    TWELVE,
    from_twelve,
    more_than,
    partials_alone,
    size,
    step_about,
    terms,
)
from tunelib import (
    Note,
    nearest_note,
    ratio_from_cents,
)
from tunelib.hearing.beats import beat_rate
from tunelib.hearing.roughness import roughness
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD
from tunelib.sound import TIMBRES


def third_beats(lower: float) -> float:
    """How often a second a piano's major third beats above a note of so many hertz."""
    return float(beat_rate(lower, lower * 2 ** (4 / 12), "5/4"))


def rough(*notes: float) -> float:
    """How rough notes of a struck string are together, given in hertz."""
    partials = [TIMBRES["struck string"].partials(hertz) for hertz in notes]
    return float(roughness(*(np.concatenate([tone[part] for tone in partials]) for part in (0, 1))))


F3 = Note.parse("F3").hz()
CLIMBING = [third_beats(F3 * 2 ** (n / 12)) for n in range(12)]


TABLE = Table(
    claims={
        "how twelve equal steps are made": [TWELVE],
        "Twelve equal steps ¶ A piano has twelve keys": [TWELVE, TWELVE],
        "Twelve times over, that comes to exactly 2": [
            math.log(2) / math.log(SEMITONE),
            ratio_from_cents(100) ** 12,
        ],
        "the same number, about 1.0595": [(ratio_from_cents(100), SEMITONE)],
        "the twelfth root of 2": [TWELVE, SEMITONE**12],
        "twelve equal rungs to the octave": [TWELVE],
        "the bars are the twelve keys": [TWELVE],
        "The third harmonic is two cents off": lambda third, off: [third, from_twelve(third)],
        "The fifth is fourteen below its key": [from_twelve(5)],
        "Fourteen cents is not much": [from_twelve(5)],
        "the reason is in step 2: two harmonics that should have met": [step_about("drift"), len(partials_alone())],
        "(A pure third has 386.3 cents, a fourth 498, a fifth 702.)": [size(ratio) for ratio in ("5/4", "4/3", "3/2")],
        "In a pure major third, 5/4, the fifth harmonic of the lower": [
            Fraction(*terms("major third")),
            terms("major third")[0],
        ],
        "the A of 220 Hz": [A3],
        "At 400 cents, the piano's third": [size(SEMITONE**4)],
        "shimmers nearly nine times a second": [(third_beats(A3), 4 * 277.1826 - 5 * 220)],
        "stop at 386.3: a pure third": [size("5/4")],
        "Switch Only the two that beat on: harmonic 5 of the lower note and harmonic 4 of the upper": [
            len(partials_alone()),
            *terms("major third"),
        ],
        "flip between 12 and 31: in thirty-one, one beat takes two seconds": [
            TWELVE,
            THIRTY_ONE,
            1 / beat_rate(A3, A3 * 2 ** (10 / 31), "5/4"),
        ],
        "the same third beats half as fast": [third_beats(110) / third_beats(220)],
        "The tenth trembles half as fast as the third did": [
            beat_rate(F3 / 2, A3, "5/2") / third_beats(F3),
        ],
        "Twelve equal steps are twelve equal ratios": [TWELVE, TWELVE],
        "1.0595 times the one before": [(ratio_from_cents(100), SEMITONE)],
        "the fifth within 2 cents": [more_than(from_twelve(3)[0])],
        "it misses the major third by 14, harmonic 7 by 31 and harmonic 11 by 49": lambda a, seven, b, eleven, c: [
            from_twelve(5),
            seven,
            from_twelve(seven),
            eleven,
            from_twelve(eleven),
        ],
        "Measure it if you like (step 10)": [step_about("measure")],
        "the roughness of step 13": [step_about("sounds")],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
    },
    shown={
        "it gets a little faster with each": sorted(CLIMBING) == CLIMBING and CLIMBING[1] < 1.1 * CLIMBING[0],
        "is less rough than F2 and A2": rough(F3 / 2, A3) < 0.8 * rough(F3 / 2, A3 / 2),
        "listen for the trembling that you found": nearest_note(4 * A3)[0]
        == nearest_note(5 * F3)[0]
        == Note.parse("A5"),
    },
    settings=[
        ("move Step from 1 to 12", "equal_steps", "step"),
        ("Choose 3, then 5, then 7, then 11", "overtones_and_steps", "harmonic"),
        ("flip between 12 and 31 at each", "overtones_and_steps", "division"),
        ("find a home in 31 steps", "overtones_and_steps", "division"),
        ("At 400 cents", "beating_third", "third"),
        ("stop at 386.3", "beating_third", "third"),
    ],
    counted=["Which of the three pairs", "Two players, or one and a drone"],
    bibliography=["2nd English edition, 1885", "J. Acoust. Soc. Am. 38, 1965", "J. Acoust. Soc. Am. 94, 1993"],
)
