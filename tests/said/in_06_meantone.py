"""Every number in the prose of lesson 06, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from said.published import (
    ARCHICEMBALO,
    ARCHICEMBALO_KEYS,
    FOKKER,
    FOKKER_ORGAN,
    HUYGENS,
    MEANTONE_IN_NUMBERS,
    ROSSI,
    SALINAS,
    VERHEIJEN,
)
from said.table import Table
from said.worked import (
    CLOSES,
    COMMA,
    NARROW,
    OVER_OCTAVES,
    QUARTER,
    THIRD,
    THIRTY_ONE,
    WOLF,
    a_little_less_than,
    more_than,
    near,
    onsets,
    part,
    shown,
    step_about,
    steps,
)
from tunelib import (
    MEANTONES,
    WELL_TEMPERAMENTS,
    Key,
    Note,
    cents,
    home_fraction,
    miss_after,
    named_interval,
    tempered_fifth,
)
from tunelib.exhibits.families import STANDS_FOR
from tunelib.pitch import listed
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD


def home(part: float) -> tuple[float, int]:
    """The division in which a part of the comma is at home: by the exhibit, and by their fifths in logarithms."""
    narrow = math.log2(1.5) - part * math.log2(81 / 80)
    nearest = min((12, 19, 31, 43, 50, 55), key=lambda n: abs(round(n * math.log2(1.5)) / n - narrow))
    return shown("closing_the_circle", "most at home in #", fraction=part, fifths=31), nearest


def misses(fifths: int) -> tuple[float, float]:
    """Cents by which so many quarter-comma fifths miss whole octaves, by the library and as fourths of log 5."""
    octaves = fifths / 4 * math.log2(5)
    return abs(miss_after(tempered_fifth("1/4"), fifths).miss.cents), abs(octaves - round(octaves)) * 1200


def year(name: str) -> int:
    """When that meantone was described."""
    return MEANTONES[f"{name}-comma"].year


PURE_THIRDS = (np.isclose(QUARTER.spans(4), cents("5/4")).sum(), 12 - 4)  # all but the four over the gap

HOWLING = [note.name for note, third in zip(QUARTER.notes, QUARTER.spans(4), strict=True) if third > cents("5/4") + 1]
MISSING = [note.transpose("major third").name for note in QUARTER.notes[-len(HOWLING) :]]

WIDER = 1200 * 18 / 31 - QUARTER.fifths[0].cents  # cents by which a fifth of thirty-one is wider than quarter-comma's

FOUR_FIFTHS = named_interval("major third").ratio * 2**2  # what they are to make: a third over two octaves

PURE_WELL = max(int(np.isclose(kind.chain.spans(4), cents("5/4")).sum()) for kind in WELL_TEMPERAMENTS.values())


TABLE = Table(
    claims={
        "the wolf that this leaves on twelve keys": [len(QUARTER)],
        "Four fifths and a third": [THIRD],
        "with its fifth at 3/2 and its third at 5/4": [named_interval(name).ratio for name in ("fifth", "major third")],
        "from C, four fifths up is E, and so is two octaves and a third": [THIRD, OVER_OCTAVES],
        "shoots past two octaves and a pure third": [OVER_OCTAVES],
        "flip between four fifths and pure third": [THIRD],
        "21.5 cents, and the third goes still": [COMMA],
        "the whole tone is half of one": [QUARTER.spans(2)[0] / cents("5/4")],
        "moves all twelve notes": [len(QUARTER)],
        "drawn twenty times larger than it is": [shown("tempering", "# times larger")],
        "the thirds come in four times as fast": [
            (QUARTER.spans(4)[0] - cents("81/64")) / (QUARTER.spans(1)[0] - cents("3/2"))
        ],
        "where the twelve have one: eight of them": [PURE_THIRDS],
        "at 0.25, a quarter of the comma, all eight turn green": [part("quarter"), part("quarter"), PURE_THIRDS],
        "The fifth at 0.25 is narrow by 5.4 cents": [part("quarter"), NARROW],
        # With fifths narrow by f commas, minor thirds are 3f - 1 too wide, major ones 1 - 4f, fifths -f.
        "1/3 | Salinas, 1577 | minor thirds pure": [(part("third"), Fraction(1, 3)), year("third")],
        "2/7 | Zarlino, 1558 | major and minor thirds equally far off": [
            (part("two-sevenths"), Fraction(1 + 1, 4 + 3)),
            year("two-sevenths"),
        ],
        "1/4 | Aaron, 1523": [(part("quarter"), Fraction(1, 4)), year("quarter")],
        "1/5 | Verheijen": [(part("fifth"), Fraction(1, 4 + 1))],
        "Rossi, 1666 | fifths and major thirds equally far off": [year("fifth")],
        # Sorge, Gespräch, Lobenstein 1748; that it is a sixth of this comma is Barbour 1951 (from memory)
        "1/6 | near what Sorge heard in Silbermann's organs, 1748": [part("sixth"), year("sixth")],
        "Take more than a quarter of the comma": [part("quarter")],
        "exactly a quarter of a comma for each": [NARROW[1] / COMMA[1]],
        "Twelve keys, eleven good fifths": [len(QUARTER), np.isclose(QUARTER.spans(1), 300 * math.log2(5)).sum()],
        "one fifth that is 36 cents too wide": [(WOLF[0] - cents("3/2"), 1200 * math.log2(2**8 / 5**2.75 / 3))],
        "more than a third of a piano's semitone": [a_little_less_than((WOLF[1] - cents("3/2")) / 100)],
        "the seven notes of your key": [len(Key(Note.named("C")).scale)],
        "the six chords of a short progression": [onsets("the_gap")],
        "on twelve keys by letting fifths differ": [len(WELL_TEMPERAMENTS["Vallotti"].chain)],
        "These are the twelve keys": [len(QUARTER)],
        "Four fifths are to make two octaves and a pure third, 5/1": [THIRD, OVER_OCTAVES, FOUR_FIFTHS],
        "the fourth root of 5": [THIRD, FOUR_FIFTHS],
        "G♯ and A♭ would be 41 cents apart": [misses(12)],
        "Twelve fifths should make seven octaves. Eleven are tuned": [
            len(QUARTER),
            miss_after(tempered_fifth(0), len(QUARTER)).octaves,
            np.isclose(QUARTER.spans(1), 300 * math.log2(5)).sum(),
        ],
        "with a quarter of the comma off each": [part("quarter")],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "Eight are pure; on which four keys": [PURE_THIRDS, len(QUARTER) - PURE_THIRDS[0]],
        f"The four are {listed(HOWLING)}: their thirds would be {listed(MISSING)}": [len(HOWLING)],
        "None has eight pure thirds": [more_than(PURE_WELL)],
        "at 12 they are 41 cents apart, at 19 35 cents, at 31 only 6": lambda *said: [
            way for fifths in said[::2] for way in (fifths, misses(fifths))
        ],
        "Share those out among the thirty-one fifths": [CLOSES],
        "a little of the comma in the twelve of a piano, a quarter in 31, a third in 19": [
            part("quarter"),
            home(1 / 4),
            home(1 / 3),
        ],
        "that thirty-one equal steps all but coincide": [CLOSES],
        "near 0.09 the twelve of a piano": [home_fraction(12, 7)],
        "at 1/6 (0.167) near 55": [part("sixth"), part("sixth"), home(1 / 6)],
        "at 1/5 (0.2) near 43": [part("fifth"), part("fifth"), home(1 / 5)],
        "at 1/4 near 31": [part("quarter"), home(1 / 4)],
        "near 2/7 (0.286) 50": [part("two-sevenths"), 2 / 7, home(2 / 7)],
        "a little above 1/3 19": [a_little_less_than(home_fraction(19, 11)), home(0.335)],
        "they add a hundred-and-tenth of a comma": [near(WIDER / COMMA[1], 0.01)],  # Huygens 1691
        "that 7/4 and 7/5 are close to an augmented sixth and an augmented fourth": [
            Fraction(STANDS_FOR[steps(name)]) for name in ("A#", "F#")
        ],
        "Four pure fifths overshoot two octaves and a pure third": [THIRD, OVER_OCTAVES],
        "by the syntonic comma, 81/80, 21.5 cents": [named_interval("syntonic comma").ratio, COMMA],
        "with a quarter, major thirds are pure and fifths 5.4 cents narrow": [part("quarter"), NARROW],
        "On twelve keys that leaves a wolf between G♯ and E♭, a fifth 36 cents too wide": [
            len(QUARTER),
            (WOLF[0] - cents("3/2"), 1200 * math.log2(2**8 / 5**2.75 / 3)),
        ],
        "After thirty-one such fifths the circle all but closes, 6 cents short": [CLOSES, misses(31)],
        "Make them a fifth of a cent wider, and you have thirty-one equal steps": [near(WIDER), THIRTY_ONE],
        "and measure (step 10)": [step_about("measure")],
    },
    settings=[
        ("Move Fifths stacked from 1 to 4", "four_fifths", "stacked"),
        ("At 0 the fifths are pure", "tempering", "fraction"),
        ("and at 0.25", "tempering", "fraction"),
        ("Then go on to 0.333", "tempering", "fraction"),
        ("flip to 31", "the_gap", "tuned"),
        ("With Part of the comma at 0.25", "closing_the_circle", "fraction"),
        ("move Fifths from 12 to 19, and to 31", "closing_the_circle", "fifths"),
        ("flip between 12 fifths and 31 fifths", "closing_the_circle", "fifths"),
        ("(0.167)", "closing_the_circle", "fraction"),
        ("(0.2)", "closing_the_circle", "fraction"),
        ("(0.286)", "closing_the_circle", "fraction"),
    ],
    given=["How far 12, 19 and 31 fifths miss whole octaves"],
    counted=["the two ends enlarged", "the mean of the two sizes"],
    taken_over={
        "Zarlino, 1571, and Salinas, 1577, in numbers": MEANTONE_IN_NUMBERS,
        "Verheijen, about 1600": VERHEIJEN,
        "described in 1555, and had built": ARCHICEMBALO,
        "thirty-six keys to the octave, thirty-one of them": ARCHICEMBALO_KEYS,
        "Salinas wrote of such an instrument in 1577": SALINAS,
        "Rossi gave string lengths for thirty-one equal steps in 1666": ROSSI,
        "in notes of 1661 and in a letter printed in 1691": HUYGENS,
        "took it up in the 1940s": FOKKER,
        "his organ was built in 1950": FOKKER_ORGAN,
    },
    bibliography=[
        "Venice 1523",
        "Venice 1558",
        "Venice 1571",
        "Perugia 1666",
        "Salamanca 1577",
        "Rome 1555",
        "Rotterdam 1691",
        "Quedlinburg 1691",
        "Phil. Trans. 90, 1800",
        "Tuning and Temperament, 1951",
        "New Music with 31 Notes, 1975",
    ],
)
