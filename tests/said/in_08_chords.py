"""Every number in the prose of lesson 08, and what it is worked out from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from said.table import Table
from said.worked import (
    ELLIS,
    FIVE,
    SEVENTH_PAIRS,
    STRAY,
    from_thirty_one,
    from_twelve,
    lesson_of,
    near,
    says,
    shown,
    slider,
    step_about,
    steps,
    thirds,
)
from tunelib import (
    Note,
    cents,
    equal,
    mapped_steps,
    prime_limit,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.families import STANDS_FOR
from tunelib.exhibits.seventh_kinds import KINDS, ROWS, kinds_written
from tunelib.exhibits.stacked_fourths import STACKS, misses
from tunelib.harmony.chord_scales import scale_over
from tunelib.harmony.chords import Chord
from tunelib.harmony.ratios import whole_numbers
from tunelib.harmony.voicings import voicings
from tunelib.hearing.roughness import roughness
from tunelib.pitch.intervals import FloatArray
from tunelib.practice import question
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD


def triads() -> list[tuple[int, int]]:
    """The numbers of the five triads, narrowest third first: by their symbols, and by hand from third and fifth."""
    by_symbol = [
        n for kind in ("sub", "m", "neu", "", "sup") for n in whole_numbers(Chord.parse(f"C{kind}").ratios(equal(31)))
    ]
    by_hand: list[int] = []
    for third in map(Fraction, ("7/6", "6/5", "11/9", "5/4", "9/7")):
        scale = math.lcm(third.denominator, 2)
        by_hand += [scale, int(scale * third), scale * 3 // 2]
    return list(zip(by_symbol, by_hand, strict=True))


def rough_chords(hertz: FloatArray) -> FloatArray:
    """How rough chords of equally strong notes are, of eight partials each; a chord a row."""
    partials = (hertz[:, :, np.newaxis] * np.arange(1, 9)).reshape(len(hertz), -1)
    return np.asarray(roughness(partials, np.tile(0.88 ** np.arange(8), hertz.shape[1])))


def laid_out(**knobs: Any) -> list[float]:
    """The notes of the spread chord in hertz, the lowest first."""
    show = EXHIBITS["spread_chord"]
    return sorted(note.hertz for note in show.score(**show.settle(knobs)).notes)


def roughness_over_c3(voicing: str, octave: int = 0) -> float:
    """How rough a voicing of Cmaj7 over C3 is, so many octaves from there."""
    return float(rough_chords(np.array([laid_out(voicing=voicing)]) * 2.0**octave)[0])


@lru_cache(maxsize=4)
def triad_curve(root: float) -> tuple[FloatArray, FloatArray]:
    """Thirds from 240 to 449 cents, and how rough each is between a root of so many hertz and its fifth."""
    sizes = np.arange(240.0, 450.0)
    return sizes, rough_chords(root * 2 ** (np.stack([0 * sizes, sizes, 0 * sizes + 18 * 1200 / 31], axis=1) / 1200))


def deepest_valleys(root: float, count: int) -> list[float]:
    """The thirds in the deepest valleys of that curve, no two of them within 20 cents."""
    sizes, rough = triad_curve(root)
    valleys = sizes[1:-1][(rough[1:-1] < rough[:-2]) & (rough[1:-1] <= rough[2:])]
    found: list[float] = []
    for valley in sorted(valleys, key=lambda size: rough[sizes == size][0]):
        found += [valley] if all(abs(valley - other) > 20 for other in found) else []
    return sorted(found[:count])


def depth(root: float) -> float:
    """How far the lowest valley is below the highest hill, as a part of the hill."""
    heights = triad_curve(root)[1]
    return float(1 - heights.min() / heights.max())


def lies_on_a_hill(third: int, root: float) -> bool:
    """Whether a third of thirty-one is within 5 cents of the top between the two deepest valleys."""
    sizes, rough = triad_curve(root)
    low, high = deepest_valleys(root, 2)
    between = (sizes > low) & (sizes < high)
    return bool(abs(sizes[between][rough[between].argmax()] - third * 1200 / 31) < 5)


def seventh_beats(root: float, step: int, division: int) -> list[float]:
    """How often a second the seventh of 4:5:6:7 beats against each of the other notes, from the definition."""
    places = step, 0, round(division * math.log2(5 / 4)), round(division * math.log2(3 / 2))
    seventh, *others = (root * 2 ** (n / division) for n in places)
    return [abs(number * seventh - 7 * other) for number, other in zip((4, 5, 6), others, strict=True)]


def off(numbers: Sequence[int], *steps: int, division: int = 31) -> float:
    """The root mean square of what all pairs of a chord miss their ratios by, in cents, from the definition."""
    pairs = combinations(zip((0, *steps), numbers, strict=True), 2)
    missed = [1200 * ((b - a) / division - math.log2(high / low)) for (a, low), (b, high) in pairs]
    return math.sqrt(sum(miss**2 for miss in missed) / len(missed))


def farthest(numbers: Sequence[int], *steps: int) -> float:
    """By how many cents the worst pair of a chord in thirty-one misses its ratio, from the definition."""
    pairs = combinations(zip((0, *steps), numbers, strict=True), 2)
    return max(abs(1200 * ((b - a) / 31 - math.log2(high / low))) for (a, low), (b, high) in pairs)


def kind(name: str, division: int = 31) -> tuple[float, float]:
    """How far a kind of seventh is off its ratios: by the exhibit, and by hand."""
    one = KINDS[name]
    steps_up = one.chord.steps(equal(division))[1:]
    return one.off(equal(division)), off(whole_numbers(one.ratios), *steps_up, division=division)


def altered_rows() -> list[str]:
    """The rows of the exhibit that are altered dominants: a major third, and no perfect fifth."""
    return [row for row in ROWS if all({10, 18} & set(one.steps) == {10} for one in kinds_written(row))]


def altered_kinds() -> list[float]:
    """How far the altered dominants are off, by the exhibit."""
    return [one.off(equal(31)) for row in altered_rows() for one in kinds_written(row)]


def dropped(kind: str) -> int:
    """Which note from the top of a close Cmaj7 is an octave lower in a voicing of a kind with the same note on top."""
    top = steps("B")
    every = voicings(Chord.parse("Cmaj7"), equal(31), kind, Note.parse("C2"), Note.parse("B4"))
    [laid] = {voicing.steps(equal(31)) for voicing in every if voicing.steps(equal(31))[-1] == top}
    close = sorted((step if step > top - 31 else step + 31 for step in laid), reverse=True)
    return close.index(laid[0] + 31) + 1


def overtone_scale() -> list[float]:
    """The harmonics of the overtone scale, its root as number 8."""
    return [float(8 * one.ratio) for one in scale_over(Chord.parse("Charm7h#11"), "overtone", equal(31)).degrees]


def sus(name: str) -> tuple[int, ...]:
    """The whole numbers of a suspended chord as its exhibit has them."""
    return STACKS[name].numbers


FLAT_FIVE, TRIAD = KINDS["7♭5"], whole_numbers(Chord.parse("C").ratios(equal(31)))
UPSIDE_DOWN = [420 // n for n in (7, 6, 5, 4)]  # 420 is the least number that all four go into

GROWN = [  # the harmonics of the chord that grows
    int(number)
    for number in EXHIBITS["growing_chord"]
    .sentence(**EXHIBITS["growing_chord"].settle({"notes": 7}))
    .split("harmonics ")[1]
    .split()[0]
    .split(":")
]

C3 = Note.parse("C3").hz(equal(31))


TABLE = Table(
    claims={
        "so 4:5:6:7 on C is": list(whole_numbers(Chord.parse("Charm7").ratios(equal(31)))),
        "the neutral seventh of 27 steps": [Chord.parse("Cmid7").steps(equal(31))[3]],
        "the supermajor one of 29": [Chord.parse("Cwide7").steps(equal(31))[3]],
        "build triads on five thirds": [FIVE],
        "Five thirds, five triads": [FIVE, len(triads()) / 3],
        "A piano offers two places for that note, minor and major. Thirty-one offer five.": [
            len(thirds(12)),
            FIVE,
        ],
        "Now all five of them": [FIVE],
        "each of the five marked thirds": [FIVE],
        "it goes 14 cents below the piano's key, for a calm minor chord 16 above it": [
            from_twelve(5),
            (cents("6/5") - 300, 1200 * math.log2(6 / 5) - 300),
        ],
        "how rough the three notes are": [len(Chord.parse("C").steps(equal(31)))],
        "the blue dots are the five of thirty-one": [FIVE],
        "Minor and major sit near the two deepest valleys": [
            sum(abs(low - n * 1200 / 31) < 5 for low, n in zip(deepest_valleys(261.63, 2), (8, 10), strict=True)),
        ],
        "take Root down an octave or two": [
            math.log2(slider("five_thirds", "root").default / slider("five_thirds", "root").low)
        ],
        "the major triad of thirty-one from 4:5:6": [*whole_numbers(Chord.parse("C").ratios(equal(31)))],
        "Sevenths, and the seventh harmonic": [prime_limit(STANDS_FOR[25])],
        "In lesson 04 the seventh harmonic fell between the keys": [lesson_of(step_about("misses")), STRAY[0]],
        "In thirty-one it has a key: 25 steps": [(mapped_steps("7/4", 31), round(31 * math.log2(7 / 4)))],
        "Two chords on C. Three of their notes are the same": [
            len(question(26).sounds),
            len(set(Chord.parse("C7").steps(equal(31))) & set(Chord.parse("Charm7").steps(equal(31)))),
        ],
        "a horn plays it 31 cents below": [from_twelve(7)],
        "In twelve C7♭5 is 18.1 cents off its ratios, 28:35:40:50": [
            kind("7♭5", 12),
            *whole_numbers(FLAT_FIVE.ratios),
        ],
        "it is 1.7 off, where a plain major triad is 4.6 off 4:5:6": [
            kind("7♭5"),
            (Chord.parse("C").purity(equal(31)), off(TRIAD, 10, 18)),
            *TRIAD,
        ],
        "In the upper four rows of the picture are such dominants": [len(altered_rows())],
        "all eight of them": [len(altered_kinds())],
        "As it is spelled, it is 7.8 cents off": [kind("m7♭5")],
        "it is 5:6:7:9, the top of a ninth chord, 7.0 off": [
            *whole_numbers(KINDS["m7♭5 as 5:6:7:9"].ratios),
            kind("m7♭5 as 5:6:7:9"),
        ],
        "as 60:70:84:105 it is 4:5:6:7 upside down, and only 3.8 off": [
            *zip(whole_numbers(KINDS["m7♭5 as 60:70:84:105"].ratios), UPSIDE_DOWN, strict=True),
            *whole_numbers(Chord.parse("Charm7").ratios(equal(31))),
            kind("m7♭5 as 60:70:84:105"),
        ],
        "from 7.8 to 3.8, if its sixth": [kind("m6"), kind("m6, wide")],
        "let it lean up by 17 cents": [
            (cents(FLAT_FIVE.ratios[2]) - 600, 1200 * math.log2(10 / 7) - 600),
        ],
        "the notes of 4:5:6:7 from pure": [*whole_numbers(Chord.parse("Charm7").ratios(equal(31)))],
        "has seven notes, as many as a scale": [len(GROWN)],
        "Its scale has F♭, 11 steps; the chord has E, 10": [
            (steps("Fb"), scale_over(Chord.parse("C7alt"), "altered", equal(31)).steps[3]),
            (steps("E"), Chord.parse("C7alt").steps(equal(31))[1]),
        ],
        "scale is harmonics 8 to 14": [overtone_scale()[0], overtone_scale()[-1]],
        "take the F♯ half a semitone down": [near(from_twelve(11)[0] / 100)],
        "nearest to the harmonics 4, 5, 6, 7, 9 and 11": GROWN[:6],
        "In drop 2 the second note from the top of the close chord has gone down an octave, in drop 3 the third": [
            dropped("drop 2"),
            dropped("drop 3"),
        ],
        "with Charm9 the same hand is 5:6:7:9": whole_numbers(Chord.parse("Charm9").ratios(equal(31))[1:]),
        "F is 5.2 cents high and G 5.2 low": [
            (misses("sus4", "31")[1], 1200 * steps("F") / 31 - 1200 * math.log2(4 / 3)),
            (-misses("sus4", "31")[2], 1200 * math.log2(3 / 2) - 1200 * steps("G") / 31),
        ],
        "F to G is 10.4 too narrow for 6:8:9": [
            farthest((6, 8, 9), steps("F"), steps("G")),
            *sus("sus4"),
        ],
        "a third of the way to E: 16:21:24, the worst pair 6.3 off": [
            (steps("F") - steps("Fhb")) / (steps("F") - steps("E")),
            *sus("soft sus4"),
            farthest((16, 21, 24), steps("Fhb"), steps("G")),
        ],
        "Each fourth is 5 cents wide": [from_thirty_one("4/3")],
        "the top is 15.5 cents wide. In twelve it is 5.9": [
            (misses("three fourths", "31")[-1], 3 * from_thirty_one("4/3")[1]),
            (misses("three fourths", "12")[-1], 3 * (500 - 1200 * math.log2(4 / 3))),
        ],
        "a pure third two octaves up": [math.log2(5 / Fraction(5, 4))],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "chosen in step 27": [step_about("ninths")],
        "Six pairs of notes": [(len(SEVENTH_PAIRS), math.comb(4, 2))],
        "each against its pure ratio in the chord 4:5:6:7": [*whole_numbers(Chord.parse("Charm7").ratios(equal(31)))],
        "and pure 4:5:6:7": [*whole_numbers(Chord.parse("Charm7").ratios(equal(31)))],
        "4:5, 4:5:6, 4:5:6:7, and on to 9, 11 and 13": [*GROWN[:2], *GROWN[:3], *GROWN],
        "Marked is 4:5:6:7:9:11": GROWN[:6],
        "The ninth is ten cents flat, since it is two fifths up": [
            tuple(-off for off in from_thirty_one("9/4")),
            math.log(9 / 4, 3 / 2),
        ],
        "the eleventh nine, the thirteenth eleven the other way": [
            tuple(-off for off in from_thirty_one("11/8")),
            from_thirty_one("13/8"),
        ],
        "the half-sharp eleventh, 14 steps and an octave": [
            (Chord.parse("C7h#11").steps(equal(31))[-1] - 31, round(31 * math.log2(11 / 8)))
        ],
        "Five thirds make five triads: 6:7:9, 10:12:15, 18:22:27, 4:5:6, 14:18:21": [
            FIVE,
            len(triads()) / 3,
            *triads(),
        ],
        "The harmonic seventh, 25 steps, makes 4:5:6:7: its worst pair is 6 cents off": [
            mapped_steps("7/4", 31),
            *whole_numbers(Chord.parse("Charm7").ratios(equal(31))),
            (
                max(map(abs, SEVENTH_PAIRS.values())),
                max(abs(from_thirty_one(f"{high}/{low}")[1]) for low, high in combinations((4, 5, 6, 7), 2)),
            ),
        ],
        "The minor seventh, 26 steps": [(steps("Bb"), Chord.parse("C7").steps(equal(31))[-1])],
        "Harmonic 11 is the half-sharp eleventh": [prime_limit(STANDS_FOR[steps("Fh#")])],
        "play the five thirds": [FIVE],
        "(Step 10.)": [step_about("measure")],
        "the roughness of steps 25 and 28": [step_about("thirds"), step_about("voicing")],
    },
    shown={
        "So all eight of them are purer here than a major triad": max(altered_kinds()) < off(TRIAD, 10, 18),
        "Altered dominants, without their perfect fifth, are purer in thirty-one than a major triad": (
            max(altered_kinds()) < off(TRIAD, 10, 18) and altered_rows() == list(ROWS[: len(altered_rows())])
        ),
        "none in the whole list loses to twelve, against the same ratios": all(
            kind(name)[1] < kind(name, 12)[1] for name in KINDS
        ),
        "with the fifth a step lower it is": KINDS["m7♭5"].steps[2] - KINDS["m7♭5 as 5:6:7:9"].steps[2] == 1,
        "if its sixth goes up a step": KINDS["m6, wide"].steps[3] - KINDS["m6"].steps[3] == 1,
        "all but one float": len(scale_over(Chord.parse("Charm7"), "mixolydian harmonic 7", equal(31)).to_mind) == 1,
        "Here it is the fourth, F, a semitone above the chord's E": says(
            "chord_scale", "To mind: F: a semitone above E"
        ),
        "you play melodic minor from its seventh note": {
            (steps("Db") + step) % 31 for step in scale_over(Chord.parse("Cmmaj7"), "melodic minor", equal(31)).steps
        }
        == set(scale_over(Chord.parse("C7alt"), "altered", equal(31)).steps),
        "its scale is harmonics 8 to 14": overtone_scale() == list(range(8, 15)),
        "flip to 12, and it is C D E F♯ G A B♭": says(
            "chord_scale", ", C D E F♯ G A B♭, as", chord="harm7h#11", tuned="12 steps"
        ),
        "In soft sus4 the fourth is a step lower": steps("F") - steps("Fhb") == 1,
        "here twelve has the better of it": off((27, 36, 48, 64), 5, 10, 15, division=12)
        < off((27, 36, 48, 64), 13, 26, 39),
        "arrives at another note, a pure third two octaves up": abs(72 * 1200 / 31 - cents(5)) < 1,
        "The neutral third sits on a hill between them": lies_on_a_hill(9, 261.63),
        "down an octave or two: everything gets rougher": bool(
            (triad_curve(65.4)[1] > triad_curve(130.8)[1]).all()
            and (triad_curve(130.8)[1] > triad_curve(261.63)[1]).all()
        ),
        "and the valleys fill up": depth(65.4) < depth(130.8) < depth(261.63),
        "one below the minor seventh": steps("Bb") - mapped_steps("7/4", 31) == 1,
        # Many is taken here as more than ten a second, slow as fewer than four.
        "The first two shimmer: their sevenths beat many times a second against everything else": (
            min(seventh_beats(C3, 10, 12) + seventh_beats(C3, 26, 31)) > 10
        ),
        "In the third only slow beats are left": (
            max(*seventh_beats(C3, 25, 31), shown("two_sevenths", "cents, # beats", chord="Charm7 in 31")) < 4
        ),
        "So do the overtones, in sizes of their own": all(
            240 < cents(b / Fraction(a)) < 450 for a, b in pairwise(GROWN)
        ),
        "Up to the seventh, thirty-one is close to pure": all(
            abs(from_thirty_one(ratio)[1]) < 6 for ratio in ("5/4", "3/2", "7/4")
        ),
        "Twelve has no harmonic eleventh worth the name": from_twelve(11)[1] > 45,
        "where a piano has to choose between F and F sharp": 500 < ELLIS[11] < 600,
        "move it down with Root: the roughness grows": roughness_over_c3("close", -1)
        > roughness_over_c3("close")
        > roughness_over_c3("close", 1),
        "turned once, and C9 is their left hand of third, fifth, seventh and ninth": [
            round(31 * math.log2(hertz / C3)) for hertz in laid_out(chord="C9", voicing="rootless", turned=1)
        ]
        == [steps("E"), steps("G"), steps("Bb"), steps("D") + 31],
        "dropped, spread or as a shell (root, third and seventh alone), the chord clears": all(
            roughness_over_c3(kind) < 0.9 * roughness_over_c3("close")
            for kind in ("drop 2", "drop 3", "spread", "shell")
        ),
        "Times turned puts another note at the bottom": len({laid_out(turned=turned)[0] for turned in range(4)}) == 4,
    },
    settings=[
        ("move Steps of the third from 7 to 11", "five_thirds", "third"),
        ("flip between C7 in 12", "two_sevenths", "chord"),
        ("C7 in 31, Charm7 in 31", "two_sevenths", "chord"),
        ("move Notes from 2 upwards", "growing_chord", "notes"),
        ("flip between pure, 31 and 12", "growing_chord", "tuned"),
        ("this is C7♭5, in twelve. Then flip to 31", "other_sevenths", "tuned"),
        ("Then choose harm7h#11", "chord_scale", "chord"),
        ("flip between 12 and 31, eyes closed", "other_sevenths", "tuned"),
        ("flip to 12", "chord_scale", "tuned"),
        ("Then choose three fourths", "stacked_fourths", "voicing"),
        ("in four fifths", "stacked_fourths", "voicing"),
        ("Drop 2, counted", "spread_chord", "voicing"),
    ],
    counted=["which of the two it wants", "The first two shimmer", "the two are one key", "with three players"],
    bibliography=[
        "2nd English edition, 1885",
        "timbre and scale, J. Acoust. Soc. Am. 94, 1993",
        "New Music with 31 Notes, 1975",
        "The Jazz Theory Book, 1995",
        "The Chord Scale Theory and Jazz Harmony, 1997",
    ],
)
