"""Every number in the prose of lesson 09, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations

import numpy as np

from said.table import Table
from said.worked import (
    COMMA,
    OCTAVE_OF_THIRDS,
    SEVENTH_PAIRS,
    THIRD,
    THIRTY_ONE,
    TWELVE,
    away,
    lesson_of,
    says,
    shown,
    slider,
    step_about,
    steps,
)
from tunelib import (
    Note,
    cents,
    equal,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.cadences import GUIDES, led
from tunelib.exhibits.equal_parts import turned_chord
from tunelib.exhibits.smallest_moves import smallest_chain
from tunelib.harmony import TUNED_BLUES, ways_between
from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import PROGRESSIONS
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.practice import tune_panel
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD


def pair_errors(places: tuple[int, ...], ratios: str) -> float:
    """Root mean square, in cents, of what all pairs of a chord in thirty-one are off, from the definition."""
    sizes = [
        (1200 / 31 * place, 1200 * math.log2(Fraction(ratio)))
        for place, ratio in zip(places, ratios.split(), strict=True)
    ]
    off = [(high[0] - low[0]) - (high[1] - low[1]) for low, high in combinations(sizes, 2)]
    return math.sqrt(sum(miss**2 for miss in off) / len(off))


def sung(rounds: int) -> list[frozenset[float]]:
    """The chords that a round of C, A minor, D minor and G gives to hear, one after another."""
    show = EXHIBITS["going_round"]
    notes = show.score(**show.settle({"rounds": rounds})).notes
    return [frozenset(n.hertz for n in notes if n.onset == onset) for onset in sorted({n.onset for n in notes})]


CHAIN = smallest_chain()[0]

VOICES = np.array(smallest_chain()[1].voices)  # steps of thirty-one: chords x voices

ON_KEYS = np.round(VOICES * 12 / 31)

MOVED = np.abs(smallest_chain()[1].motion).max(), np.abs(np.diff(VOICES, axis=0)).max()

TONIC = np.diff(PROGRESSIONS["12 fifths"].tonic(1))


GAPS = list(turned_chord("diminished seventh", 0, "31").gaps)

UNCLOSED = turned_chord("diminished seventh", 0, "31")

STEPS_MOVED = [
    before - after
    for before, after in zip(
        sorted(UNCLOSED.steps), sorted(turned_chord("diminished seventh", 1, "31").steps), strict=True
    )
    if before != after
]

# Major thirds of the cycle that is closed, from root to root downwards: C, A flat, E, and C again.
CLOSED_THIRDS = [31 - steps("Ab"), steps("Ab") - steps("E"), steps("E")]

FIRST_WAY = ways_between(Chord.parse("Dm7"), Chord.parse("G7"), equal(31), most=1, fewest=1, count=1)[0]

TURNAROUNDS = [str(chord) for chord in PROGRESSIONS["two turnarounds"].chords].count("G")

ANNOUNCED = 1 + list(TUNED_BLUES["rest and announce"].symbols).index("C7")

EIGHT = set(TUNED_BLUES["eight notes"].notes(equal(31)))


def over_two_roots(low: int, high: int) -> set[int]:
    """The steps of harmonics from one to another over the tonic and over the fourth."""
    return {(round(31 * math.log2(n / 4)) + root) % 31 for root in (0, steps("F")) for n in range(low, high + 1)}


def blues_notes(way: str) -> float:
    """How many notes a chorus needs, by the exhibit."""
    return shown("tuned_blues", "the chorus has # notes", way=way)


def guide_moves(progression: str, harmonic: bool) -> list[int]:
    """By how many steps the line of the dominant's seventh falls, where it moves."""
    voice = 3 if progression == "V I" else 1
    return [-move for move in led(progression, harmonic, equal(31)).moves(voice) if move]


TABLE = Table(
    claims={
        "lesson 08 has the words": [lesson_of(step_about("thirds"))],
        "an octave less three major thirds, 128/125 where they are pure, and one step in thirty-one": [
            OCTAVE_OF_THIRDS[0],
            Fraction(2) / Fraction(5, 4) ** 3,
            31 - 3 * steps("E"),
        ],
        "It is what three major thirds lack of an octave": [OCTAVE_OF_THIRDS[0]],
        "holds for two beats": [int(parse_lead_sheet("| C |\nmelody: | D4:2 -:2 |").melody[0].duration)],
        "lead voices by one or two steps": [MOVED],
        "no voice ever moves more than two steps, 77 cents": [
            MOVED,
            (cents(equal(31).hz(2) / equal(31).hz(0)), 2 * 1200 / 31),
        ],
        "flip to 12: the nearest that a piano can come": [TWELVE],
        "three: the diatonic semitone, from one letter to the next; the chromatic semitone": [
            len({steps("F") - steps("E"), steps("C#"), steps("C#") - steps("Ch#")})
        ],
        "one of them falls B♭, A, by three steps": [guide_moves("V I", False)[-1]],
        "B♭, A♯, A, first by one step and then by two": guide_moves("ii V I", True),
        "Flip between 31, minor and 31, harmonic": [THIRTY_ONE, THIRTY_ONE],
        "has the same two guide tones": [len(GUIDES)],
        "Move Which way from 1 to 5, and flip to 12": [
            slider("ways_between", "way").low,
            slider("ways_between", "way").high,
            TWELVE,
        ],
        "Move one voice by a step or two": [steps("C#")],
        "Was your way among the five": [slider("ways_between", "way").high],
        "Two turnarounds cost it 43.0 cents": [
            TURNAROUNDS,
            (-PROGRESSIONS["two turnarounds"].drift(), -1200 * math.log2(Fraction(80, 81) ** 2)),
        ],
        "Spell it on, and it ends one step sharp": [(away("major thirds, spelled on", 31), 31 - 3 * steps("E"))],
        "In the pure lines of 12 fourths and 12 fifths": [TWELVE, TWELVE],
        "one diminished chord serves four keys": [
            (shown("unclosed_chords", "leads to # keys", tuned="12"), len(Chord.parse("Bdim7").notes))
        ],
        "it rises three steps to the one key": [(31 - steps("B"), shown("unclosed_chords", "B rises # steps to C"))],
        "B, D, F, A♭ go to C by +3, −5, −3 and −3": [
            (31 + steps("C") - steps("B"), UNCLOSED.moves[0]),
            *((steps("D") - steps("C"), -UNCLOSED.moves[1]), (steps("F") - steps("E"), -UNCLOSED.moves[2])),
            (steps("Ab") - steps("G"), -UNCLOSED.moves[3]),
        ],
        "one voice goes down by one step, and the chord leads elsewhere": [sum(STEPS_MOVED)],
        "three major thirds end a step short": [OCTAVE_OF_THIRDS[0]],
        "Flip to 12, and all the gaps are the same": [TWELVE],
        "Now six chords in a row": [slider("retuned_chords", "chord").high],
        "rest, announce and eight notes": [blues_notes("eight notes")],
        "Minor sevenths need nine notes": [blues_notes("minor sevenths")],
        "F comes in two tunings: as the root of IV and, a step lower, as the seventh of V": [
            len(TUNED_BLUES["harmonic sevenths"].in_two_tunings(equal(31))["F"])
        ],
        "goes up to the minor seventh in bar 4": [ANNOUNCED],
        "Eight notes makes do with harmonics 5 to 9 over": [
            blues_notes("eight notes"),
            lambda low: over_two_roots(round(low), 9) == EIGHT,
            lambda high: over_two_roots(5, round(high)) == EIGHT,
        ],
        "with the one in bar 4 raised": [ANNOUNCED],
        "You hear the tune twice": [len(tune_panel().scores())],
        "seventh goes home by three steps, or by two if it is the harmonic one": [
            guide_moves("V I", False)[-1],
            guide_moves("V I", True)[-1],
        ],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        # Three major thirds have 3 × 10 steps and four minor ones 4 × 8, beside the 31 of the octave.
        "it ends one step flat": [(-away("three major thirds", 31), 31 - 3 * steps("E"))],
        "With four minor thirds it ends one step sharp": [
            OCTAVE_OF_THIRDS[1],
            (away("four minor thirds", 31), 4 * steps("Eb") - 31),
        ],
        "after twelve of them": [TWELVE],
        "Six chords, a line each": [(slider("retuned_chords", "chord").high, shown("retuned_chords", "of # is"))],
        "the pairs of a dominant seventh are 7.8 cents off overall": [
            (
                shown("retuned_chords", "as written #;"),
                pair_errors(Chord.parse("C7").steps(equal(31)), "1 5/4 3/2 9/5"),
            )
        ],
        "in 31 and in 12": [THIRTY_ONE, TWELVE],
        "flip between as written, in 12, and as chosen, in 31": [TWELVE, THIRTY_ONE],
        "The root of the mean square of all six": [(len(SEVENTH_PAIRS), math.comb(4, 2))],
        "A sharp or a flat is two steps, from letter to letter is three or five": [
            steps("C#"),
            steps("F") - steps("E"),
            steps("D"),
        ],
        "by 21.5 cents a round": [(-PROGRESSIONS["I vi ii V"].drift(), *COMMA)],
        "three major thirds or four minor thirds end a diesis away in thirty-one, one step": [
            *OCTAVE_OF_THIRDS,
            (abs(away("three major thirds", 31)), abs(away("four minor thirds", 31))),
        ],
    },
    shown={
        "and the single step, smaller still": 1 < steps("C#") < steps("F") - steps("E"),
        "C7 shares them with G♭harm7, and Charm7 with F♯7": all(
            says("guide_tones", f"{pair} share third and seventh", progression="true substitute", seventh=seventh)
            for pair, seventh in (("C7 and G♭harm7", "31, minor 7th"), ("Charm7 and F♯7", "31, harmonic 7th"))
        ),
        "with sevenths of one kind: one guide tone is a step off": (
            sum(abs(led("false substitute", False, equal(31)).moves(voice)[0]) for voice in GUIDES) == 1
        ),
        "only the true one can do that here, since its seventh is the E of home": (
            [Chord.parse(symbol).notes[3].step(equal(31)) % 31 == steps("E") for symbol in ("Gbharm7", "Gb7")]
            == [True, False]
        ),
        "one of its thirds is written otherwise": sorted(CLOSED_THIRDS) == [steps("E"), steps("E"), steps("E") + 1],
        "so one gap has to be smaller": sorted(GAPS) == [7, 8, 8, 8],
        "the one key that this chord can mean": shown("unclosed_chords", "leads to # key") == 1,
        "one voice goes down by one step": STEPS_MOVED == [1],
        "so one gap is wider": tuple(turned_chord("augmented triad", 0, "31").gaps) == (10, 10, 11),
        "nine notes, each in one tuning": not TUNED_BLUES["minor sevenths"].in_two_tunings(equal(31)),
        "once in twelve and once in thirty-one": sorted(tune_panel().scores()) == [12, 31],
        "on the way home it must move where a piano holds it": (
            [
                led("false substitute", False, equal(31)).moves(1)[1],
                led("false substitute", False, equal(12)).moves(1)[1],
            ]
            == [-1, 0]
        ),
        "G♭harm7 opens outward": (
            [led("true substitute", False, equal(31)).moves(voice)[1] for voice in (1, 2)]
            == [steps("F") - steps("E"), steps("F") - steps("Gb")]
        ),
        "the first way lets one note sag before it goes: Dm7, Dmharm7, and on": (
            says("ways_between", "Dm7 – Dmharm7 –")
            and FIRST_WAY.moves[0].tolist().count(0) == 3
            and FIRST_WAY.moves[0].sum() == -1
        ),
        "and so do fourths in one key": (
            PROGRESSIONS["fourths in one key"].comma == PROGRESSIONS["two turnarounds"].comma
        ),
        "and thirty-one is home": away("major thirds, closed", 31) == sum(CLOSED_THIRDS) - 31 == 0,
        "all the gaps are the same": len(set(turned_chord("augmented triad", 0, "12").gaps)) == 1,
        "Above that gap is the root of the dominant": (
            turned_chord("augmented triad", 0, "31").tonic.name == "F"
            and steps("C") == (steps("G#") + 31 - 2 * steps("E")) % 31
        ),
        "the harmony goes through distant places and comes home": (
            CHAIN[0] == CHAIN[-1] and max(abs(chord.root.fifths) for chord in CHAIN) > 6
        ),
        "One of the changes has gone": (
            (np.diff(ON_KEYS, axis=0) == 0).all(axis=1).sum()
            == 1
            == shown("smallest_moves", "at # of", chain="in twelve")
        ),
        "plays the first chord, the last, and the first again": (
            len(sung(4)) == len(sung(3)) == 3 and sung(4)[0] == sung(4)[2] != sung(4)[1]
        ),
        "it sings every chord on the way": [len(sung(rounds)) for rounds in (1, 2)] == [4 + 2, 2 * 4 + 2],
        "Twelve and thirty-one come home: in both, the comma vanishes": (
            away("I vi ii V", 12) == away("I vi ii V", 31) == 4 * 7 % 12 - 4 == 4 * 18 % 31 - 10 == 0
        ),
        "take three major thirds: C, E, G♯, B♯": (
            [Note.on_chain(n * THIRD).name for n in range(4)] == ["C", "E", "G♯", "B♯"]
        ),
        "Twelve comes home again": away("three major thirds", 12) == 3 * 4 % 12 == 0,
        "that is where it jumps": bool(TONIC[-1] < 0 and np.ptp(TONIC[:-1]) < 0.01),
        "where nothing is changed": all(
            says("retuned_chords", " as written; its pairs", adventure=0.0, chord=chord) for chord in range(1, 7)
        ),
        "Twelve and thirty-one come home; three": away("I vi ii V", 12) == away("I vi ii V", 31) == 0,
    },
    settings=[
        ("Move Chord from 1 to the end", "smallest_moves", "position"),
        ("take three major thirds", "going_round", "progression"),
        ("With four minor thirds", "going_round", "progression"),
        ("12 fourths and 12 fifths", "going_round", "progression"),
        ("with Rounds at 1 or 2", "going_round", "rounds"),
        ("flip between just, 31 and 12", "going_round", "tuned"),
        ("Move Adventure from 0", "retuned_chords", "adventure"),
        ("nothing is changed, to 1", "retuned_chords", "adventure"),
    ],
    counted=[
        "between two chords",
        "go home, and home, twice over",
        "Between two chords there is room",
        "Two choirs without instruments",
        "the two that come of thirds",
        "how the two get on",
        "Where do the two differ",
    ],
    bibliography=[
        "Turin 1585",
        "The Hague 1698",
        "The Geometry of Musical Chords, Science 313, 2006",
        "Music Theory Online 14.2, 2008",
        "Dynamic Programming, 1957",
    ],
)
