"""Every number in the prose of glossary, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction

from said.table import Table
from said.worked import (
    A4,
    COMMA,
    NARROW,
    OCTAVE_OF_THIRDS,
    OVER_OCTAVES,
    QUARTER,
    SEMITONE,
    THIRD,
    THIRDS,
    TIMES,
    TWELFTH,
    WOLF,
    size,
    stands_out,
    steps,
    terms,
)
from tunelib import (
    WELL_TEMPERAMENTS,
    cents,
    mapped_steps,
    named_interval,
    odd_limit,
    ratio_from_cents,
)
from tunelib.exhibits.families import STANDS_FOR

TABLE = Table(
    claims={
        "means steps of 38.7 cents": [1200 / 31],
        "a hundredth of a semitone of twelve. An octave has 1200 of them": [1 / cents(SEMITONE), size("2")],
        "such as C to C♯: 2 steps of thirty-one": [steps("C#")],
        "such as E to F, has 3": [steps("F") - steps("E")],
        "how far four pure fifths overshoot two octaves and a pure third": [THIRD, OVER_OCTAVES],
        "It is 81/80, or 21.5 cents": [named_interval("syntonic comma").ratio, COMMA],
        "20 decibels less is a tenth of the strength": [-20 * math.log10(0.1), 10 ** (-20 / 20)],
        "How far three major thirds fall short of an octave: 128/125 where they are pure, one step in thirty-one": [
            OCTAVE_OF_THIRDS[0],
            Fraction(2) / Fraction(5, 4) ** 3,
            31 - 3 * steps("E"),
        ],
        "12, 19 or 31 of them": [stands_out(n) for n in (12, 19, 31)],
        "1.0595 times the one before": [(ratio_from_cents(100), SEMITONE)],
        "its harmonic number 1": [TIMES[0]],
        "half of what a sharp or a flat does": [steps("Ch#") / steps("C#")],
        "The interval 7/4, which is the seventh harmonic brought down": [
            Fraction(STANDS_FOR[25]),
            odd_limit(STANDS_FOR[25]),
        ],
        "it has 25 steps, and the minor seventh 26": [
            (mapped_steps("7/4", 31), round(31 * math.log2(7 / 4))),
            steps("Bb"),
        ],
        "Twice the hertz is an octave up": [ratio_from_cents(1200)],
        "With a quarter of it the major thirds are pure": [NARROW[1] / COMMA[1]],
        "The neutral third has 9 steps": [THIRDS[2]],
        "Up to 7, these are all whose ratios are made of 1, 3, 5 and 7": lambda top, *odd: [
            odd_limit("7/4"),
            *(n for n in range(1, top + 1) if odd_limit(Fraction(n)) == n),
        ],
        "factors of 2 do not count": [named_interval("octave").ratio],
        "at 440 Hz, 2.27 milliseconds": [A4, 1000 / 440],
        "in a simple ratio, such as 5/4": [named_interval("major third").ratio],
        "That of the octave is 2:1, of the fifth 3:2": [*terms("octave"), *terms("fifth")],
        "The subminor third has 7 steps, the supermajor third 11": [THIRDS[0], THIRDS[-1]],
        "An octave and a fifth together: the ratio 3:1": [TWELFTH.numerator, TWELFTH.denominator],
        "A temperament of twelve notes": [len(WELL_TEMPERAMENTS["Vallotti"].chain)],
        "a chain of twelve notes": [len(QUARTER)],
        "it has 737.6 cents": [WOLF],
    },
    counted=[
        "the two notes that say where a dominant goes",
        "fading of two tones",
        "also of two harmonics",
        "cannot separate two partials",
    ],
)
