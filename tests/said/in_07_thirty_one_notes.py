"""Every number in the prose of lesson 07, and what it is worked out from."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from said.published import BLUE_SEVENTHS, BLUES_PERFORMANCES, THREE_UPRIGHTS
from said.table import Table
from said.worked import (
    FIVE,
    THIRDS,
    THIRTY_ONE,
    TONES,
    a_little_less_than,
    default,
    lesson_called,
    step_about,
    steps,
    thirds,
)
from tunelib import (
    Note,
    SpelledInterval,
    cents,
    equal,
    mapped_steps,
    named_interval,
    odd_limit,
)
from tunelib.exhibits.familiar import _place
from tunelib.exhibits.families import STANDS_FOR
from tunelib.harmony.chords import Chord
from tunelib.live.key_notes import key_notes
from tunelib.live.layouts import grid_of
from tunelib.pitch import BLUE_NOTES
from tunelib.pitch.frets import SCALE_LENGTH, fret_places
from tunelib.pitch.notes import LETTERS
from tunelib.pitch.slide import POSITIONS, division_positions
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD
from tunelib.practice.reading_drill import reading_drill

BLUES = ("third", "fifth", "seventh")
MEANS = [BLUE_NOTES[note].measured.cents for note in BLUES]
NEAREST = [(BLUE_NOTES[note].nearest(equal(31)), round(BLUE_NOTES[note].measured.cents * 31 / 1200)) for note in BLUES]
PROPOSED = {note: BLUE_NOTES[note].proposed[0] for note in BLUES}
CUTTING, KUBIK = (int(one.source[-4:]) for one in (BLUE_NOTES["third"].measured, PROPOSED["third"]))
ZONE = BLUE_NOTES["third"].steps(equal(31))


def _above_the_root(symbol: str) -> list[tuple[Note, SpelledInterval]]:
    """The notes of a chord above its root, each with its interval from there."""
    chord = Chord.parse(symbol)
    return list(zip(chord.notes, chord.intervals, strict=True))[1:]


def _shape_of(symbol: str) -> list[list[int]]:
    """Where the keys of a chord without its root are in the rows that are played on."""
    notes = [note.step(equal(31)) for note, _ in _above_the_root(symbol)]
    return grid_of(key_notes(31)).shape(notes).tolist()


def _guide_keys(symbol: str) -> list[int]:
    """The keys of a piano that a chord's third and seventh are, octaves set aside."""
    return [note.step(equal(12)) % 12 for note, interval in _above_the_root(symbol) if interval.letters in (2, 6)]


TABLE = Table(
    claims={
        "07 Thirty-one notes": [lesson_called("Thirty-one notes"), THIRTY_ONE],
        "read all thirty-one notes": [THIRTY_ONE],
        "Thirty-one steps to the octave, 38.7 cents each": [
            THIRTY_ONE,
            (cents(equal(31).hz(1) / equal(31).hz(0)), 1200 / 31),
        ],
        "A whole tone is five of them; the semitone between two letters, such as E to F, is three": [
            steps("D"),
            Note.named("E").interval_to(Note.named("F")).letters + 1,
            steps("F") - steps("E"),
        ],
        "So between C and D there are four notes": [steps("D") - 1],
        "C♯ and D♭ are two notes, one step apart, and a sharp is two steps": [
            len({steps("C#"), steps("Db")}),
            steps("Db") - steps("C#"),
            steps("C#"),
        ],
        "which of the four between C and D": [steps("D") - 1],
        "a fifth is eighteen steps": [(steps("G"), round(31 * math.log2(3 / 2)))],
        "A flat lowers a note by two steps. There is a sign for half of that": [
            steps("E") - steps("Eb"),
            (steps("E") - steps("Ehb")) / (steps("E") - steps("Eb")),
        ],
        "Seven letters": [len(LETTERS)],
        "two more signs: the half-sharp, a sharp with one upright, and the half-flat": [
            len({Note.named(name).name for name in ("Ch#", "Chb")})
        ],
        "Two more come from these: a sharp and a half": [
            len({Note.named(name).name for name in ("C#h#", "Cbhb")}),
            (steps("C#h#") - steps("C#")) / steps("C#"),
        ],
        "and a flat and a half ( , )": [(steps("Cb") - steps("Cbhb")) / steps("C#")],
        "All thirty-one notes of an octave": [THIRTY_ONE],
        "the third is A♯, and not B a flat and a half, though the two sound the same": [
            (steps("Bb") - steps("Bbhb")) / steps("C#"),
            2 * (steps("A#") == steps("Bbhb")),
        ],
        "(A half-sharp is one step up, a half-flat one step down.)": [
            steps("Ch#") - steps("C"),
            steps("D") - steps("Dhb"),
        ],
        "brought down two octaves": [math.log2(7 / Fraction(7, 4))],
        "(It is the seventh harmonic": [odd_limit("7/4")],
        "between the minor and the major: two letters, nine steps": [
            Note.named("C").interval_to(Note.named("Ehb")).letters,
            steps("Ehb"),
        ],
        "E is step 10": [(steps("E"), round(31 * math.log2(5 / 4)))],
        "Sixteen notes, from easy to hard": [default(reading_drill, "notes")],
        "In twelve there are two thirds": [len(thirds(12))],
        "In thirty-one there are five": [len(THIRDS)],
        "one step from each to the next": [max(np.diff(THIRDS))],
        "come in the same five": [len(THIRDS)],
        "The seconds of 5 steps": [(steps("D"), *(mapped_steps(tone, 31) for tone in TONES))],
        "the sevenths of 26 each stand for two ratios": [
            (steps("Bb"), *(mapped_steps(2 / tone, 31) for tone in TONES)),
            len(TONES),
        ],
        "through the thirds from 7 to 11": [THIRDS[0], THIRDS[-1]],
        "the harmonic seventh, 7/4, of 25 steps, with the minor seventh, 26": [
            (named_interval("subminor seventh").ratio, Fraction(7, 4)),
            (STANDS_FOR.index("7/4"), round(31 * math.log2(7 / 4))),
            steps("Bb"),
        ],
        "The five thirds against the ratios 7/6, 6/5, 11/9, 5/4 and 9/7": [
            len(THIRDS),
            *(Fraction(STANDS_FOR[n]) for n in THIRDS),
        ],
        "C and its five thirds are marked": [FIVE],
        "which of the five thirds is it nearest to": [FIVE],
        "the third was on average 319.1 cents above the tonic, the fifth 582.8": MEANS[:2],
        "of seventh 1037.9 (Cutting 2018)": [MEANS[2], CUTTING],
        "That is nearest to steps 8, 15 and 27": NEAREST,
        "keys are 19 cents below the third, 17 above the fifth and 38 below the seventh": [
            abs(mean - 100 * round(mean / 100)) for mean in MEANS
        ],
        "the third 7/6 and the seventh 7/4 (Kubik 1999)": [
            *(Fraction(PROPOSED[note].called) for note in ("third", "seventh")),
            KUBIK,
        ],
        "What was measured is 52 and 69 cents higher": [
            (BLUE_NOTES[note].above(PROPOSED[note]), mean - 1200 * math.log2(ratio))
            for note, mean, ratio in (("third", MEANS[0], 7 / 6), ("seventh", MEANS[2], 7 / 4))
        ],
        "Go through 31, low, 31, middle and 31, high: 7, 8 and 9, on the way up to 10": [
            *(THIRTY_ONE for _ in ZONE),
            *ZONE,
            (BLUE_NOTES["third"].goal.step(equal(31)), steps("E")),
        ],
        "lower that by one step, to the neutral one": [steps("E") - steps("Ehb")],
        "measured near steps 8, 15 and 27": NEAREST,
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "where the five thirds become chords": [FIVE],
        "play the four notes between. Then": [steps("D") - 1],
        "go down to the A♯, one step": [steps("Bb") - steps("A#")],
        "(Step 29 says why.)": [step_about("leading")],
        "whose pitch wheel bends by two semitones": [_place("piano", "E½♭").away / _place("piano", "E½♭").turn],
        "Thirty-one frets to the octave, beside the twelve of an ordinary guitar": [len(fret_places(31))],
        "The seventh harmonic is a subminor seventh": [named_interval("subminor seventh").ratio * 4],
        "Seven positions become sixteen": [POSITIONS, len(division_positions(31))],
        "and measure (step 10)": [step_about("measure")],
        "on a string of 650 mm": [SCALE_LENGTH],
        "with all thirty-one notes as you read them": [THIRTY_ONE],
        "A whole tone is five steps, the semitone between two letters three, a sharp or flat two": [
            steps("D"),
            Note.named("E").interval_to(Note.named("F")).letters + 1,
            steps("F") - steps("E"),
            steps("C#"),
        ],
        "Five families": [len(THIRDS)],
        "their thirds have 7, 8, 9, 10 and 11 steps": THIRDS,
        "Find the four notes between": [steps("D") - 1],
        "one step is a little more than a third of a semitone": lambda step, part: [
            step,
            a_little_less_than(step * equal(31).cents_of(1) / 100),
        ],
        "the five thirds over it, from 7 steps to 11": [len(THIRDS), THIRDS[0], THIRDS[-1]],
    },
    shown={
        "C9 without its root, which is the bass player's: E, G, B♭ and D, the third, fifth, seventh and ninth": (
            [f"{note.name} {interval.letters + 1}" for note, interval in _above_the_root("C9")]
            == ["E 3", "G 5", "B♭ 7", "D 9"]
        ),
        "Now play the same shape for F9, and for E♭9": _shape_of("F9") == _shape_of("Eb9") == _shape_of("C9"),
        "these two keys are the third and seventh of C7, and the seventh and third of the dominant a tritone away": (
            _guide_keys("C7") == _guide_keys("Gb7")[::-1]
        ),
    },
    settings=[
        ("Move Step slowly from 0 to 5", "ring_of_31", "step"),
        ("through the thirds from 7 to 11", "interval_families", "step"),
        ("25 steps, with the minor seventh, 26", "interval_families", "step"),
    ],
    given=["from three fifths below C to eight above", "before the octave, on a string of 650 mm"],
    counted=[
        "goes by two names",
        "where the two meet",
        "Where do the two go still",
        "a keyboard in two dimensions",
        "Which of the two wants to move",
        "On a piano these two keys",
        "between which two keys the note is",
        "listen to the two beat",
        "the last two frets",
    ],
    taken_over={
        "with three uprights": THREE_UPRIGHTS,
        "In fifteen early blues performances": BLUES_PERFORMANCES,
        "one of three kinds of seventh": BLUE_SEVENTHS,
    },
    bibliography=[
        "Empirical Musicology Review 13, 2018",
        "Africa and the Blues, 1999",
        "Rotterdam 1691",
        "Intervals and Temperament, 1876",
        "New Music with 31 Notes, 1975",
    ],
)
