"""Every number in the prose of practice, and what it is worked out from."""

from __future__ import annotations

from fractions import Fraction

from said.published import LISTENING_ALONE
from said.table import Table
from tunelib import (
    Note,
    equal,
)
from tunelib.hearing.held_pitch import EXCELLENT_CENTS, USUAL_CENTS
from tunelib.practice.ear_plan import AIM

TABLE = Table(
    claims={
        "About four of five answers should be right": list(Fraction(AIM).limit_denominator(10).as_integer_ratio()),
        "Ten cents is excellent, twenty is usual": [EXCELLENT_CENTS, USUAL_CENTS],
        "The way from a major third of twelve to that of thirty-one is 12.9 cents": [
            (400 - 12000 / 31, equal(12).cents_of(4) - equal(31).cents_of(Note.parse("E4").step(equal(31)))),
        ],
    },
    counted=[
        "Where two sounds differ",
        "where two notes beat",
        "which of two intervals is pure",
        "whether two are tuned",
    ],
    taken_over={"taught nothing in four days": LISTENING_ALONE},
    bibliography=[
        "Computational Linguistics, 2016",
        "Perception & Psychophysics 81, 2019",
        "Perception & Psychophysics 33, 1983",
        "Psychological Bulletin 95, 1984",
    ],
)
