"""Exercises that check themselves: what is understood, what is said, and that the numbers are right."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from importlib import import_module
from itertools import pairwise
from typing import Any

import ipywidgets
import librosa
import numpy as np
import pytest
from cents_by_hand import cents_of
from hypothesis import given
from hypothesis import strategies as st
from IPython.core.formatters import DisplayFormatter

from tunelib.course import LESSONS, all_steps
from tunelib.live import keys
from tunelib.pitch.divisions import largest_error, odd_limit_intervals, trade
from tunelib.pitch.notes import Note
from tunelib.pitch.spelled import interval_names
from tunelib.pitch.tunings import THIRTY_ONE, equal
from tunelib.practice import exercise, exercises, question
from tunelib.practice.answers import LETTERS, Answer, Choice, Pitch, Quantity, Ratio, Several
from tunelib.practice.card import Card
from tunelib.practice.ear_sounds import heard, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played
from tunelib.practice.sums import exact, read_sum, values
from tunelib.practice.units import UNITS
from tunelib.sound import REFERENCE_LOUDNESS, expected_loudness

STEPS = [step.number for step in all_steps()]
HERTZ = Quantity(440, "Hz", tolerance=0.5)
PERIOD = Quantity(2.27, "ms", tolerance=0.05)
CENTS = Quantity(-31, "cents", tolerance=0.5)
BEATS = Quantity(10.4, "beats a second", tolerance=0.1)
FRET = Quantity(36.5, "mm", tolerance=0.1)
SHARE = Quantity(70.7, "%", tolerance=0.5)
DRIFT = Quantity(107.5, "cents", tolerance=0.3, down=True)
STEPS_UP = Quantity(11, "steps")
FIFTH = Ratio(Fraction(3, 2))
B_FLAT = Pitch(Note.parse("B♭3"))
STRAYS = Several(frozenset({7, 11, 13, 14}))
CHOICE = Choice(("Up.", "Down.", "Neither."), right=1, responses=("No, down.", "Down it is.", "It does move."))
ORDERED = Choice(("The first.", "The second."), right=1, responses=("Listen to its end.", "It beats."))
BARS = Choice(("Bar 4.", "Bar 12."), right=0, responses=("There it rises.", "That is the last."))
NEUTRAL = Played(
    tuple(Note.named(name) for name in ("D", "Fh#", "A")), THIRTY_ONE, slips={"D F# A": "That is D major."}
)
SCALE = Played(tuple(Note.parse(f"{name}4") for name in "CDE"), equal(12), in_order=True, exact=True)
LINE = Played(tuple(map(Note.named, ("A", "G#", "G"))), THIRTY_ONE, in_order=True)
VOICED = Played(tuple(map(Note.parse, "D4 F4 A4 C5".split())), equal(12), exact=True)
TRIAD = Played((0, 6, 11), equal(19), anywhere=True)
SAMPLES: tuple[Answer, ...] = (
    HERTZ, PERIOD, CENTS, BEATS, FRET, SHARE, FIFTH, B_FLAT, STRAYS, CHOICE, NEUTRAL, SCALE, LINE, VOICED, TRIAD,
)  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "texts"),
    [
        (
            HERTZ,
            ["440", "440 Hz", "440hz", " 440.0 hertz ", "0.44 kHz", "440,2", "+440 Hz.", "880/2", "440 times a second"],
        ),
        (Quantity(1050, "Hz", tolerance=1), ["1,050 Hz", "1050,0 Hz", "1.05 kHz", "1,05 kHz"]),
        (
            PERIOD,
            [
                "2.27",
                "2,27 ms",
                "0.00227 s",
                "1000/440 ms",
                "1/440 s",
                "2.3 milliseconds",
                "2¼",
                "2 1/4 ms",
                "1/440 of a second",
                "1/440th of a second",
            ],
        ),
        (CENTS, ["−31 cents", "-31", "–31 c", "- 31".replace(" ", ""), "-31.2 ¢"]),
        (
            BEATS,
            ["10.4", "10,4 beats", "10.4 beats a second", "10.4 Hz", "10.4 a second", "10.4 beats/s", "10.4 times"],
        ),
        (Quantity(10.4, "beats a second", 0.15, down=True), ["10.4", "1308.1 − 1318.5", "−10.4 times a second", "10½"]),
        (FRET, ["36.5", "36.5 mm", "3.65 cm", "36,5 millimetres", "3.65 centimeters"]),
        (SHARE, ["70.7", "71 %", "70,7%", "70.7 per cent", "70.7 percent"]),
        (
            Quantity(12),
            [
                "12",
                "12.0",
                "+12",
                "12 times",
                "the 12th",
                "3*4",
                "2^3 + 4",
                "36 ÷ 3",
                "(1 + 2) × 4",
                "twelve",
                "harmonic 12",
            ],
        ),
        (STEPS_UP, ["11", "11 steps", "5 + 6 steps", "18 − 7", "Eleven steps", "step 11"]),
        (
            Quantity(1 / 3, tolerance=0.004),
            ["a third", "one third", "a third of a comma", "1/3 comma", "1/3 of the comma"],
        ),
        (Quantity(0.5), ["half a comma", "one half", "A half of the comma", "2 quarters"]),
        (Quantity(150, "cents"), ["1.5 semitones", "three halfs of a semitone", "3/2 semitones"]),
        (
            Quantity(1_000_000),
            [
                "1.000.000",
                "1e6",
                "1,000,000",
                "10^6",
                "a million",
                "1 million",
                "one million",
                "1.0e+6",
                "1e3 thousand",
            ],
        ),
        (
            Quantity(7.85, "cents", tolerance=0.2),
            ["1200*log2(442/440)", "1200 × log₂(442/440)", "1200 log2 (442/440)", "1200 * math.log2(442 / 440)"],
        ),
        (SHARE, ["100*sqrt(0.5)", "100 × √0.5 %", "100/sqrt 2"]),
        (
            Quantity(327, "Hz", tolerance=0.5),
            ["65.4*5", "65.4 × 5", "65.4x5 Hz", "65,4·5", "5 times 65.4", "0.327 kHz"],
        ),
        (Quantity(550, "Hz"), ["5/4 of 440", "440 × 5/4 Hz", "5/4 * 440 Hz", "440*5 over 4"]),
        (Quantity(466.16, "Hz", tolerance=0.01), ["440 * 2^(1/12)", "440 × 2**(1/12) Hz", "440 × 2 ^ (100/1200)"]),
        (Quantity(12345), ["12 345", "12\u202f345", "12\u2009345", "12'345", "12,345"]),
        (
            CENTS,
            [
                "31 cents below",
                "31 cents flat",
                "flat by 31",
                "31 ct too low",
                "minus 31",
                "about −31",
                "thirty-one flat",
            ],
        ),
        (CENTS, ["−0.31 semitones", "0.31 semitones flat"]),
        (DRIFT, ["107.5", "−107.5 cents", "107.5 cents flat", "−107.5 cents flat", "flat by 107.5", "5 × 21.5"]),
        (Quantity(14, "cents", tolerance=0.5), ["14 cents sharp", "sharp by 13.7", "+14", "14 wide", "400 − 386.3"]),
        (FIFTH, ["3∶2", "6/5 * 5/4", "2 × 3/4", "(3/2)^1", "3/2.", "1½", "1 1/2"]),
        (FIFTH, ["3/2", "3:2", "3 : 2", "1.5", "1,5", "6/4", "3 to 2", "1.499"]),
        (B_FLAT, ["B♭3", "Bb3", "bb3", " B♭ 3 ", "A#3"]),
        (
            STRAYS,
            [
                "7, 11, 13, 14",
                "14 13 11 7",
                "7, 11, 13 and 14",
                "7;11;13;14.",
                "seven, eleven, 13 and 14",
                "the 7th, 11th, 13th and 14th harmonics",
            ],
        ),
        (CHOICE, ["B", "b", "B.", "down", "Down.", "B. Down."]),
        (ORDERED, ["B", "second", "the 2nd", "2", "The second one.", "in the second"]),
        (BARS, ["A", "4", "bar 4", "the 4"]),
        (
            NEUTRAL,
            [
                "D F half-sharp A",
                "D, F½♯ and A",
                "D F½♯ A",
                "d, fh#, a",
                "A5 D3 Fh#4",
                "D-F½♯-A",
                "D and Fh# and A",
                "DFh#A",
                "It is D, then F½♯, then A",
                "D + Fh# + A",
                "5 14 23",
                "D D Fh# A",
                "Cxh# Fh# A",
            ],
        ),
        (
            Played(tuple(map(Note.named, ("C", "F#h#", "Bbhb", "Fx"))), THIRTY_ONE),
            ["C, F sharp and a half, B flat and a half, F double sharp", "step 0, step 16, step 25, step 17"],
        ),
        (SCALE, ["C4 D4 E4", "C4D4E4", "0 2 4", "C4, D4 & E4.".rstrip("."), "B#3 D4 Fb4"]),
        (TRIAD, ["0 6 11", "1 7 12", "6 11 0", "19 25 11"]),
    ],
)
def test_a_right_answer_is_understood_however_it_is_written(answer: Answer, texts: list[str]) -> None:
    for text in texts:
        assert answer.check(text).right, f"{text!r}: {answer.check(text).message}"


@pytest.mark.parametrize(
    ("answer", "text", "hint"),
    [
        (HERTZ, "220 Hz", "octave too low"),
        (HERTZ, "880 Hz", "octave too high"),
        (HERTZ, "441", "a little too large"),
        (HERTZ, "300", "Not yet: 300 is too small."),
        (CENTS, "−20", "Not yet: the sign is right, but the size is too small."),
        (CENTS, "−32 cents", "Not yet: the sign is right, but the size is a little too large."),
        (CENTS, "20", "Not yet: the sign is wrong, and the size is too small."),
        (CENTS, "20 cents sharp", "Not yet: the direction is wrong, and the size is too small."),
        (CENTS, "20 cents flat", "Not yet: the direction is right, but the size is too small."),
        (CENTS, "0", "Not yet: 0 is too small."),
        (HERTZ, "", "Write an answer first, for example 440 Hz."),
        (FIFTH, " ", "Write an answer first, for example 5/4 or 5:4."),
        (B_FLAT, "", "Write an answer first"),
        (STRAYS, "", "Write an answer first"),
        (STEPS_UP, "11.24", "Right so far: 11.24. Round it to a whole number."),
        (STEPS_UP, "11.5", "too large"),
        (Quantity(12), "12.2", "Right so far: 12.2."),
        (Quantity(436, "Hz", 0.2, {4: "Those are the beats."}), "4 Hz below", "Those are the beats."),
        (Quantity(436, "Hz", 0.2, {4: "Those are the beats."}), "−4", "Those are the beats."),
        (CENTS, "31 times", "You gave times; the question asks for cents"),
        (DRIFT, "5 commas", "You gave commas; the question asks for cents."),
        (CENTS, "a third of a semitone", "Not yet: the sign is wrong, and the size is too large."),
        (HERTZ, "440 cents", "You gave cents; the question asks for hertz"),
        (HERTZ, "2 ms", "You gave milliseconds; the question asks for hertz"),
        (PERIOD, "0.00227", "right in seconds"),
        (PERIOD, "440 Hz", "You gave hertz; the question asks for milliseconds"),
        (CENTS, "31 cents", "Right size, wrong sign"),
        (PERIOD, "2.27 s", "a thousand times too long: look at the unit"),
        (PERIOD, "0.227", "ten times too short: look at the decimal point"),
        (PERIOD, "2.27 Hz", "The number is right, the unit is not. You gave hertz"),
        (HERTZ, "0.44", "right in kilohertz"),
        (HERTZ, "110", "two octaves too low"),
        (HERTZ, "4400", "ten times too high"),
        (CENTS, "31 cents sharp", "but the other way"),
        (CENTS, "−31 cents sharp", "goes both ways: leave out the sign or the word"),
        (CENTS, "1169", "an octave too large"),
        (CENTS, "−0.31", "right in semitones"),
        (CENTS, "−31 steps", "The number is right, the unit is not. You gave steps"),
        (CENTS, "−310", "ten times too large"),
        (DRIFT, "107.5 sharp", "but the other way"),
        (FRET, "3.65", "right in centimetres"),
        (SHARE, "0.707", "a hundred times too small"),
        (Quantity(0.75), "4/3", "upside down"),
        (STEPS_UP, "11 semitones", "You gave semitones; the question asks for steps"),
        (FIFTH, "702 cents", "The size is right. You gave cents"),
        (FIFTH, "1.5 Hz", "You gave hertz; the question asks for a ratio"),
        (FIFTH, "2^(7/12)", "cannot read"),
        (BEATS, "20.8", "too large"),  # no note, so no talk of octaves
        (FRET, "36.5 cm", "ten times too long: look at the unit"),
        (FRET, "36.5 cents", "You gave cents; the question asks for millimetres"),
        (SHARE, "50", "too small"),
        (SHARE, "70.7 Hz", "asks for per cent"),
        (FIFTH, "2/3", "upside down"),
        (FIFTH, "3/1", "an octave too wide"),
        (FIFTH, "0.75", "an octave too narrow"),
        (FIFTH, "5/4", "too narrow"),
        (FIFTH, "1.49", "too narrow"),
        (FIFTH, "702 cents", "You gave cents; the question asks for a ratio"),
        (B_FLAT, "B♭4", "too high: look at the octave number"),
        (B_FLAT, "B3", "one key too high"),
        (B_FLAT, "G3", "too low"),
        (B_FLAT, "Bb", "Which octave?"),
        (B_FLAT, "Bhb3", "between two keys"),
        (STRAYS, "7, 11", "2 of 4 found, and none of them wrong"),
        (STRAYS, "7, 11, 12", "12 should not be there"),
        (NEUTRAL, "D F A", "That is Dm. F is a little too low: above D it is a minor third."),
        (NEUTRAL, "D Gb A", "That is Dsup. G♭ is a little too high: above D it is a diminished fourth."),
        (NEUTRAL, "D Gh# A", "G½♯ is too high: above D it is a super fourth."),
        (NEUTRAL, "F A D", "That is Dm. F is a little too low"),
        (NEUTRAL, "F4 A4 D5", "That is Dm/F. F is a little too low"),
        (NEUTRAL, "D F# A", "That is D major."),
        (NEUTRAL, "D A", "2 of 3 notes, and none of them wrong. Look for the rest."),
        (NEUTRAL, "Fh# A", "The root is missing"),
        (NEUTRAL, "E Gh# B", "Right intervals, but all of it is too high."),
        (NEUTRAL, "C Ehb G", "Right intervals, but all of it is too low."),
        (NEUTRAL, "Dh# F# Ah#", "Right intervals, but all of it is a little too high."),
        (NEUTRAL, "D Fh# A C", "All the notes are there, but C should not be"),
        (NEUTRAL, "", "No notes yet. Play it, or write the names"),
        (SCALE, "C4 D4", "Right so far: C4 and D4. Go on."),
        (SCALE, "C4 D4 Eb4", "Note 3, E♭4, is too low: above D4 it is a minor second."),
        (SCALE, "C4 B3", "Note 2, B3, is too low: below C4 it is a minor second."),
        (SCALE, "C4 D4 F#5", "Note 3, F♯5, is too high."),
        (LINE, "A G# F", "Note 3, F, is too low: below G♯ it is an augmented second."),
        (LINE, "A A4", "Note 2, A, is too high."),
        (LINE, "A C", "Note 2, C, is too high: above A it is a minor third."),
        (SCALE, "Eb4", "Note 1, E♭4, is too high."),
        (VOICED, "F4 A4 C5 D5", "That is F6. D5 is an octave too high."),
        (VOICED, "D4 F4 G3 C5", "That is G7sus4. G3 is too low: below D4 it is a perfect fifth."),
        (SCALE, "C4 D5", "Note 2, D5, is an octave too high"),
        (SCALE, "D4 E4 F#4", "Right intervals, but all of it is too high."),
        (SCALE, "C4 D4 E4 F4", "Right up to note 3, and that is all of them"),
        (SCALE, "C D E", "Which octave?"),
        (SCALE, "C4 Dh#4", "cannot read “Dh#4” as a note of these keys"),
        (TRIAD, "0 6", "2 of 3 notes"),
        (TRIAD, "0 5 11", "5 is a little too low: above 0 it is a minor third."),
        (CHOICE, "A", "No, down."),
        (ORDERED, "first", "Listen to its end."),
        (BARS, "8", "is not one of the choices"),
        (NEUTRAL, "DFA", "That is Dm. F is a little too low"),
        (NEUTRAL, "between D and A", "2 of 3 notes"),
        (NEUTRAL, "D fis A", "cannot read “fis” as a note"),
        (NEUTRAL, "Dneu", "is a chord. Write its notes, for example C Ehb A"),
        (NEUTRAL, "D F sharp A", "That is D major."),
        (CHOICE, "", "Choose one"),
    ],
)
def test_a_wrong_answer_is_told_what_is_wrong_with_it(answer: Answer, text: str, hint: str) -> None:
    response = answer.check(text)
    assert not response.right
    assert hint in response.message


@given(
    steps=st.lists(st.integers(-31, 62), min_size=1, max_size=5), which=st.sampled_from([NEUTRAL, SCALE, LINE, VOICED])
)
def test_what_is_played_wrong_is_told_by_what_was_played_alone(steps: list[int], which: Played) -> None:
    """No name of a note that was not played is in a reply, and an interval has a name that spans what was played."""
    response, count = which.check_steps(steps), len(which.tuning)
    said = [
        Note.named(name).step(which.tuning) for name in re.findall(r"\b[A-G][½♯♭]*(?=\b|\d|[ ,.])", response.message)
    ]
    assert {step % count for step in said} <= {step % count for step in steps}
    above = re.search(r"(\S+?),? is .*: (above|below) (\S+) it is an? (.+)\.", response.message)
    if above and not response.right:
        note, other = (Note.named(above[group].rstrip("0123456789-")).step(which.tuning) for group in (1, 3))
        apart = note - other if above[2] == "above" else other - note
        assert above[4] in [interval.name for interval in interval_names(apart % count, which.tuning)]


@pytest.mark.parametrize("answer", SAMPLES, ids=lambda answer: type(answer).__name__)
@pytest.mark.parametrize("text", ["banana", "?", "3/0", "--5", "12 parsecs", "½½", "1.2.3,4", "nan", "inf", "1e999"])
def test_nonsense_gets_one_clear_line_with_an_example(answer: Answer, text: str) -> None:
    response = answer.check(text)
    assert not response.right
    assert answer.form in response.message
    assert "\n" not in response.message


@given(value=st.integers(1, 10**6), unit=st.sampled_from(sorted(UNITS)), down=st.booleans())
def test_a_wrong_answer_never_has_the_right_one_in_its_reply(value: int, unit: str, down: bool) -> None:
    answer = Quantity(value * 1.37, unit, tolerance=0.001, down=down)
    shown = answer.check(str(answer.value)).message.removeprefix("Yes: ").removesuffix(".").split()[0]
    for text in (f"{answer.value * by} {typed}" for by in (-1, 0.1, 10, 0.01, 1000, 4, 1.1) for typed in ("", unit)):
        response = answer.check(text)
        assert response.right or shown not in re.split(r"[ :;]", response.message)


@pytest.mark.parametrize("text", ["2^3^2", "-2^2", "10 - 4 - 3", "2 - -1", "64/4/2", "2 + 3*4", "-(1 + 2)*3", "2^-1"])
def test_a_sum_comes_to_what_arithmetic_says(text: str) -> None:
    right = Fraction(eval(text.replace("^", "**")))
    read = read_sum(text)
    assert read and read[1] == "" and exact(read[0]) == right and values(read[0]) == [right, right]


@given(text=st.text(max_size=20) | st.from_regex(r"[-+0-9.,/: ]{1,12}( ?(Hz|ms|cents|c))?", fullmatch=True))
def test_whatever_is_typed_is_answered_in_words_and_never_raises(text: str) -> None:
    for answer in SAMPLES:
        assert answer.check(text).message.strip()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Quantity(1, "furlong"), "'furlong' is not a unit"),
        (lambda: Quantity(1, "Hz", tolerance=-1), "not -1"),
        (lambda: Several(frozenset()), "at least one"),
        (lambda: Choice(("only",), 0, ("one",)), "between two and"),
        (lambda: Choice(("same", "same"), 0, ("a", "b")), "different"),
        (lambda: Choice(("a", "b"), 2, ("a", "b")), "not 2"),
        (lambda: Choice(("a", "b"), 0, ("a",)), "2 choices need as many responses, not 1"),
        (lambda: question(0), "no step 0"),
        (lambda: exercise(STEPS[-1] + 1), f"no step {STEPS[-1] + 1} here: steps run from 1 to {STEPS[-1]}"),
        (lambda: exercise(True), "no step True"),
        (lambda: question("one"), "no step 'one'"),  # type: ignore[arg-type]
    ],
)
def test_a_badly_made_answer_or_an_unknown_step_says_what_would_be_right(make: Any, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        make()


@pytest.mark.parametrize("step", STEPS)
def test_every_question_has_one_right_choice_and_a_response_of_its_own_to_each(step: int) -> None:
    asked = question(step)
    if isinstance(asked.answer, Played):
        assert asked.answer.check_steps(asked.answer.steps).right
        return
    responses = [asked.check(letter) for letter in LETTERS[: len(asked.answer.choices)]]
    assert [response.right for response in responses].count(True) == 1
    assert len({response.message for response in responses}) == len(responses)


@pytest.mark.parametrize("step", STEPS)
def test_the_example_in_an_empty_field_is_not_the_answer(step: int) -> None:
    for made in exercises(step):
        assert not made.check(made.answer.form).right


LONGEST_SECONDS = 30


@pytest.mark.parametrize("asked", [*map(question, STEPS), *(made for step in STEPS for made in exercises(step))])
def test_what_is_to_be_heard_has_names_of_its_own_and_one_loudness(asked: Question | Exercise) -> None:
    names = [sound.name for sound in asked.sounds]
    assert len(set(names)) == len(names)
    for sound in asked.sounds:
        assert expected_loudness(sound.score, sound.timbre) + 20 * math.log10(sound.gain) == pytest.approx(
            REFERENCE_LOUDNESS, abs=0.5
        )
        assert max(note.onset + note.duration for note in sound.score.notes) <= LONGEST_SECONDS, (
            "nobody remembers the beginning of it"
        )


def test_the_right_choices_follow_no_pattern_that_could_be_guessed() -> None:
    """Each letter is right at least once and at most half of the time, never three times running, nor in turn."""
    chosen = [asked.answer for asked in map(question, STEPS) if isinstance(asked.answer, Choice)]
    right = [answer.right for answer in chosen]
    counts = [right.count(place) for place in range(3)]
    assert min(counts) >= 1
    assert max(counts) <= len(right) / 2
    assert all(len(set(run)) > 1 for run in zip(right, right[1:], right[2:], strict=False))
    assert len({(after - before) % 3 for before, after in pairwise(right)}) > 1


TABLES = [import_module(f"right_{lesson.name}") for lesson in LESSONS]
RIGHT: dict[str, str] = {name: answer for table in TABLES for name, answer in table.RIGHT.items()}
"""The right answers, worked out in the tables of the lessons without the library; by ``"3"`` or ``"3 in numbers"``."""
ASKED: dict[int, str] = {step: letter for table in TABLES for step, letter in getattr(table, "ASKED", {}).items()}
SHOWN: list[tuple[str, str]] = [row for table in TABLES for row in table.SHOWN]
EXERCISES: dict[str, Exercise] = {
    f"{step}{' in numbers' * made.in_numbers}": made for step in STEPS for made in exercises(step)
}


def test_the_tables_of_right_answers_speak_of_exercises_that_there_are() -> None:
    assert {*RIGHT, *(name for name, _ in SHOWN)} <= set(EXERCISES)


@pytest.mark.parametrize("name", EXERCISES)
def test_the_right_answer_worked_out_elsewhere_is_right_here(name: str) -> None:
    if name not in RIGHT:
        pytest.skip(f"the right answer of exercise {name}, worked out without the library, is in no table yet")
    assert EXERCISES[name].check(RIGHT[name]).right


@pytest.mark.parametrize("step", ASKED)
def test_the_answer_of_a_question_is_what_its_sounds_make_right(step: int) -> None:
    assert question(step).check(ASKED[step]).right


@pytest.mark.parametrize(("name", "shown"), SHOWN)
def test_the_worked_answer_shows_the_right_number(name: str, shown: str) -> None:
    assert shown in EXERCISES[name].worked


def test_the_prices_at_which_thirty_one_is_said_to_win_are_those_at_which_it_wins() -> None:
    divisions = np.arange(5, 101)
    score = largest_error(divisions, odd_limit_intervals(7))
    said = re.search(r"from ([\d.]+) to ([\d.]+) cents a note", exercise(16, numbers=True).worked)
    assert said
    lowest, highest = map(float, said.groups())
    assert np.all(trade(divisions, score, np.linspace(lowest + 0.005, highest - 0.005, 100)) == 31)
    assert trade(divisions, score, lowest - 0.005) > 31 > trade(divisions, score, highest + 0.005)
    price = ((300 - cents_of(7 / 6)) - (cents_of(6 / 5) - 1200 * 8 / 31)) / 19
    assert (
        f"at exactly that price {trade(divisions, score, price)} beats them both" in exercise(16, numbers=True).worked
    )


def test_as_many_harmonics_lie_near_twelve_as_the_worked_answer_says() -> None:
    """Beside librosa's distance from the nearest key."""
    keys = librosa.hz_to_midi(440 * np.arange(1, 17))
    away = 100 * np.abs(keys - keys.round())
    near, octaves = np.sum(away <= 5), np.sum(away < 0.001)
    worked = exercise(12).worked
    assert f"{near} are within 5 cents of a key: {octaves} of them are the octaves" in worked
    assert f"the other {near - octaves} come from the fifth" in worked
    assert f"{math.floor(away[away > 5].min())} cents off or more" in worked


def test_the_tone_of_step_12_falls_between_the_keys_that_are_to_be_found() -> None:
    """By librosa's names for the keys below and above what sounds."""
    asked = question(12)
    place = librosa.hz_to_midi(asked.sounds[0].score.notes[0].hertz)
    below, above = (librosa.midi_to_note(math.floor(place) + n, octave=False, unicode=False) for n in (0, 1))
    assert 0.3 < place % 1 < 0.7
    assert asked.check(f"{below} {above}").right and asked.check(f"{above}, {below}").right
    assert "which is the higher?" in asked.check(below).message
    assert "which is the lower?" in asked.check(above).message


@pytest.mark.parametrize("name", EXERCISES)
def test_known_slips_are_wrong_and_get_their_own_line(name: str) -> None:
    answer = EXERCISES[name].answer
    for slip, message in getattr(answer, "slips", {}).items():
        response = answer.check(str(slip))
        assert not response.right, f"{slip} counts as right"
        assert response.message == message


def test_a_card_is_worked_through_from_try_to_hint_to_worked_answer() -> None:
    card = Exercise("How much?", HERTZ, hint="Think of the fork.", worked="It is 440 Hz.").card
    assert card.worked_button.disabled, "the worked answer is open before a try or a hint"
    card.entry.value = "880"
    assert "octave too high" in card.response.value
    assert not card.worked_button.disabled
    card.hint_button.click()
    assert "Think of the fork." in card.response.value
    card.worked_button.click()
    assert "It is 440 Hz." in card.response.value
    card.entry.value = "440 Hz"
    card.check.click()
    assert "✓" in card.response.value


def test_a_hint_opens_the_worked_answer_as_well() -> None:
    card = Exercise("How much?", HERTZ, hint="Think of the fork.", worked="It is 440 Hz.").card
    card.hint_button.click()
    assert not card.worked_button.disabled


def test_entering_an_answer_checks_it_without_the_button() -> None:
    card = Exercise("How much?", HERTZ, hint="?", worked="!").card
    card.entry.value = "440"
    assert "✓" in card.response.value


def test_pressing_a_choice_answers_a_question() -> None:
    card = Question("Which way?", CHOICE).card
    card.choices[0].click()
    assert "No, down." in card.response.value
    assert "✓" not in card.response.value
    card.choices[1].click()
    assert "✓" in card.response.value
    assert "Down it is." in card.response.value


def test_words_with_markup_in_them_are_shown_as_words() -> None:
    asked = Exercise("Is 1 < 2 & *why*?", HERTZ, hint="<b>", worked="a_b")
    assert "1 &lt; 2 &amp; *why*?" in asked.card.widget.children[0].value
    shown, _ = DisplayFormatter().format(asked)
    assert r"1 &lt; 2 &amp; \*why\*?" in shown["text/markdown"]


@pytest.mark.parametrize("step", STEPS)
def test_a_reader_without_a_kernel_sees_the_words_with_the_answers_folded(step: int) -> None:
    for shown, folds in ((question(step), 1), *((made, 2) for made in exercises(step))):
        data, _ = DisplayFormatter().format(shown)
        assert {"application/vnd.jupyter.widget-view+json", "text/markdown", "text/plain"} <= set(data)
        assert data["text/markdown"].count("<details>") == data["text/markdown"].count("</details>") == folds
        assert shown.prompt.split("\n")[0] in data["text/plain"]
        assert re.sub(r"\s+", " ", shown.prompt)[:20] in re.sub(r"\s+", " ", data["text/markdown"])


def test_the_same_exercise_shown_twice_is_one_card() -> None:
    asked = exercise(1)
    assert asked.card is asked.card
    assert isinstance(asked.card.widget, ipywidgets.VBox)


def play(card: Card, *steps: int) -> None:
    """Play notes one after another on the keys of a card, as the page tells of it."""
    for number, step in enumerate(steps):
        press(card, number, step)
        card.keys._handle_custom_msg({"id": number, "seconds": number + 0.5}, [])


def press(card: Card, number: int, step: int, *others: int) -> None:
    """Press a key of a card while others are held."""
    held, how = sorted((step, *others)), {"velocity": 1, "cents": 0}
    card.keys._handle_custom_msg({"id": number, "step": step, "seconds": number, "held": held, **how}, [])


def test_a_chord_is_checked_as_it_was_held_when_the_button_is_pressed() -> None:
    card = Exercise("Play it.", NEUTRAL, hint="?", worked="!").card
    card.check_played.click()
    assert "No notes yet" in card.response.value
    press(card, 1, 5)
    press(card, 2, 13, 5)
    press(card, 3, 23, 5, 13)
    card.keys.held = [5, 13]  # the fingers have left the keys one by one before Python hears of the first
    for number in (3, 1, 2):
        card.keys._handle_custom_msg({"id": number, "seconds": 4.0}, [])
    card.keys.held = []
    card.check_played.click()
    assert "That is Dm. F is a little too low: above D it is a minor third." in card.response.value
    assert not card.worked_button.disabled
    press(card, 4, 54, 5, 14)
    card.check_played.click()
    assert "✓" in card.response.value


def test_a_sequence_is_checked_as_it_is_played_and_begins_anew_after_a_mistake() -> None:
    card = Exercise("Play it.", SCALE, hint="?", worked="!").card
    play(card, 4)
    assert "Note 1, E4, is too high." in card.response.value
    assert card.worked_button.disabled, "to try the keys is no try"
    play(card, 0, 2)
    assert "Right so far: C4 and D4" in card.response.value
    play(card, 3)
    assert "Note 3" in card.response.value and not card.worked_button.disabled
    play(card, 0, 2, 4)
    assert "✓" in card.response.value
    play(card, 0)
    card.begin_again.click()
    play(card, 0, 2, 4)
    assert "✓" in card.response.value


def test_an_answer_that_is_played_can_be_written_instead() -> None:
    card = Exercise("Play it.", NEUTRAL, hint="?", worked="!").card
    card.entry.value = "D Fh# A"
    assert "✓" in card.response.value
    shown, _ = DisplayFormatter().format(Exercise("Play it.", NEUTRAL, hint="?", worked="!"))
    assert "write the names of the notes, for example C Ehb A" in shown["text/plain"]


@pytest.mark.parametrize("step", [step for step in STEPS if isinstance(exercise(step).answer, Played)])
def test_the_keys_of_an_exercise_have_every_note_of_its_answer(step: int) -> None:
    """At the octaves that count, or at any; and their names are those of the answer."""
    answer = exercise(step).answer
    board = answer.instrument()
    there = {place["step"] for place in board.board["keys"]}
    if not answer.exact:
        there = {step % len(answer.tuning) for step in there}
    assert {step if answer.exact else step % len(answer.tuning) for step in answer.steps} <= there
    assert len(board.notes.tuning) == len(answer.tuning)
    assert np.allclose(board.notes.tuning.cents, answer.tuning.cents)


def test_the_keys_of_an_exercise_do_not_say_what_chord_is_held() -> None:
    plain, asked = keys(31), exercise(25).answer.instrument()
    for board in (plain, asked):
        board.held = [0, 11, 18]
    assert "14:18:21" in plain.chord and plain.chords
    assert not asked.chord and not asked.chords


def test_these_exercises_are_answered_by_playing() -> None:
    played = [step for step in STEPS if isinstance(exercise(step).answer, Played)]
    assert played == [4, 13, 15, 19, 21, 22, 24, 25, 27, 28, 29, 30]


def test_the_wolf_is_the_widest_fifth_of_the_keys_that_have_it() -> None:
    """By the frequencies of the keys alone."""
    board = exercise(19).answer.instrument()
    sizes = {low: 1200 * math.log2(board.notes.hz(low + 7) / board.notes.hz(low)) for low in range(12)}
    wolf = max(sizes, key=lambda low: sizes[low])
    assert sorted(sizes.values())[-2] < 697 < 737 < sizes[wolf]
    assert exercise(19).answer.check_steps([wolf, wolf + 7]).right
    for low in set(sizes) - {wolf}:
        assert "one of the eleven" in exercise(19).answer.check_steps([low, low + 7]).message


def test_a_badly_made_answer_by_playing_says_what_would_be_right() -> None:
    with pytest.raises(ValueError, match="at least one note"):
        Played((), THIRTY_ONE)
    with pytest.raises(ValueError, match="the slip 'D H' is not made of notes of 31 equal steps"):
        Played((0,), THIRTY_ONE, slips={"D H": "?"})
    with pytest.raises(ValueError, match="falls between the steps"):
        Played((Note.parse("Ch#4"),), equal(12))


def test_a_card_sounds_what_it_asks_about_and_names_it_for_those_who_cannot_hear_it() -> None:
    sounds = heard("flute", {"First": together([220.0]), "Second": together([440.0])})
    asked = Question("Which is higher?", CHOICE, sounds)
    row = asked.card.row
    assert row is not None and row in asked.card.widget.children
    assert dict(row.others) == {sound.name: sound.program for sound in sounds}
    assert (row.program, row.chosen) == (sounds[0].program, "First")
    alone = Exercise("How high?", HERTZ, "?", "!", sounds=sounds[:1]).card.row
    assert alone is not None and alone.program == sounds[0].program and not alone.others
    assert Question("Which way?", CHOICE).card.row is None
    shown, _ = DisplayFormatter().format(asked)
    assert "Run this cell to hear First and Second." in shown["text/plain"]
    assert asked.told()["sounds"] == ["First", "Second"]


ON_PAPER = {7: "with the sheet that is printed there", 16: "with one's own hand on a table"}


@pytest.mark.parametrize("step", STEPS)
def test_each_step_is_asked_by_ear_or_by_hand_before_and_after(step: int) -> None:
    assert question(step).sounds or isinstance(question(step).answer, Played)
    made = exercise(step)
    assert bool(made.sounds or isinstance(made.answer, Played)) != (step in ON_PAPER)
    assert not re.search(r"\blog|log2|calculator", made.prompt + made.hint), "it is done without arithmetic"
