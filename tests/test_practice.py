"""Exercises that check themselves: what is understood, what is said, and that the numbers are right."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import pairwise
from typing import Any

import ipywidgets
import librosa
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from IPython.core.formatters import DisplayFormatter

from tunelib.course import all_steps
from tunelib.live import keys
from tunelib.pitch.divisions import largest_error, odd_limit_intervals, trade
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE, equal
from tunelib.practice import exercise, question
from tunelib.practice.answers import Answer, Choice, Pitch, Quantity, Ratio, Several
from tunelib.practice.card import Card
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

STEPS = [step.number for step in all_steps()]
HERTZ = Quantity(440, "Hz", tolerance=0.5)
PERIOD = Quantity(2.27, "ms", tolerance=0.05)
CENTS = Quantity(-31, "cents", tolerance=0.5)
BEATS = Quantity(10.4, "beats a second", tolerance=0.1)
FRET = Quantity(36.5, "mm", tolerance=0.1)
SHARE = Quantity(70.7, "%", tolerance=0.5)
FIFTH = Ratio(Fraction(3, 2))
B_FLAT = Pitch(Note.parse("B♭3"))
STRAYS = Several(frozenset({7, 11, 13, 14}))
CHOICE = Choice(("Up.", "Down.", "Neither."), right=1, responses=("No, down.", "Down it is.", "It does move."))
NEUTRAL = Played(
    tuple(Note.named(name) for name in ("D", "Fh#", "A")), THIRTY_ONE, slips={"D F# A": "That is D major."}
)
SCALE = Played(tuple(Note.parse(f"{name}4") for name in "CDE"), equal(12), in_order=True, exact=True)
TRIAD = Played((0, 6, 11), equal(19), anywhere=True)
SAMPLES: tuple[Answer, ...] = (
    HERTZ, PERIOD, CENTS, BEATS, FRET, SHARE, FIFTH, B_FLAT, STRAYS, CHOICE, NEUTRAL, SCALE, TRIAD,
)  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "texts"),
    [
        (
            HERTZ,
            ["440", "440 Hz", "440hz", " 440.0 hertz ", "0.44 kHz", "440,2", "+440 Hz.", "880/2", "440 times a second"],
        ),
        (Quantity(1050, "Hz", tolerance=1), ["1,050 Hz", "1050,0 Hz", "1.05 kHz", "1,05 kHz"]),
        (PERIOD, ["2.27", "2,27 ms", "0.00227 s", "1000/440 ms", "1/440 s", "2.3 milliseconds"]),
        (CENTS, ["−31 cents", "-31", "–31 c", "- 31".replace(" ", ""), "-31.2 ¢"]),
        (BEATS, ["10.4", "10,4 beats", "10.4 beats a second", "10.4 Hz", "10.4 a second", "10.4 beats/s"]),
        (FRET, ["36.5", "36.5 mm", "3.65 cm", "36,5 millimetres", "3.65 centimeters"]),
        (SHARE, ["70.7", "71 %", "70,7%", "70.7 per cent", "70.7 percent"]),
        (Quantity(12), ["12", "12.0", "+12"]),
        (FIFTH, ["3/2", "3:2", "3 : 2", "1.5", "1,5", "6/4", "3 to 2", "1.499"]),
        (B_FLAT, ["B♭3", "Bb3", "bb3", " B♭ 3 ", "A#3"]),
        (STRAYS, ["7, 11, 13, 14", "14 13 11 7", "7, 11, 13 and 14", "7;11;13;14."]),
        (CHOICE, ["B", "b", "B.", "down", "Down.", "B. Down."]),
        (
            NEUTRAL,
            ["D F½♯ A", "d, fh#, a", "A5 D3 Fh#4", "D-F½♯-A", "D and Fh# and A", "5 14 23", "D D Fh# A", "Cxh# Fh# A"],
        ),
        (SCALE, ["C4 D4 E4", "0 2 4", "C4, D4 & E4.".rstrip("."), "B#3 D4 Fb4"]),
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
        (HERTZ, "300", "too small"),
        (HERTZ, "440 cents", "You gave cents; the question asks for hertz"),
        (HERTZ, "2 ms", "You gave milliseconds; the question asks for hertz"),
        (PERIOD, "0.00227", "right in seconds"),
        (PERIOD, "440 Hz", "You gave hertz; the question asks for milliseconds"),
        (CENTS, "31 cents", "Right size, wrong sign"),
        (BEATS, "20.8", "too large"),  # no note, so no talk of octaves
        (FRET, "36.5 cm", "too large"),
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
        (NEUTRAL, "D F A", "F is 1 step too low: it is a minor third above D, and a neutral third is asked for"),
        (NEUTRAL, "D Gb A", "G♭ is 2 steps too high: it is a supermajor third"),
        (NEUTRAL, "D F# A", "That is D major."),
        (NEUTRAL, "D A", "2 of 3 notes, and none of them wrong. Missing above the root: a neutral third."),
        (NEUTRAL, "Fh# A", "The root is missing"),
        (NEUTRAL, "E Gh# B", "Right intervals, but 5 steps too high: the root is D"),
        (NEUTRAL, "C Ehb G", "5 steps too low: the root is D"),
        (NEUTRAL, "D Fh# A C", "All the notes are there, but C should not be"),
        (NEUTRAL, "", "No notes yet. Play it, or write the names"),
        (SCALE, "C4 D4", "Right so far: C4 and D4. Go on."),
        (SCALE, "C4 D4 Eb4", "Note 3, E♭4, is 1 step too low"),
        (SCALE, "C4 D5", "Note 2, D5, is an octave too high"),
        (SCALE, "D4 E4 F#4", "Right intervals, but 2 steps too high: begin on C4"),
        (SCALE, "C4 D4 E4 F4", "Right up to note 3, and that is all of them"),
        (SCALE, "C D E", "Which octave?"),
        (SCALE, "C4 Dh#4", "cannot read “Dh#4” as a note of these keys"),
        (TRIAD, "0 6", "2 of 3 notes"),
        (TRIAD, "0 5 11", "5 is 1 step too low"),
        (CHOICE, "A", "No, down."),
        (CHOICE, "", "Choose one"),
    ],
)
def test_a_wrong_answer_is_told_what_is_wrong_with_it(answer: Answer, text: str, hint: str) -> None:
    response = answer.check(text)
    assert not response.right
    assert hint in response.message


@pytest.mark.parametrize("answer", SAMPLES, ids=lambda answer: type(answer).__name__)
@pytest.mark.parametrize("text", ["banana", "?", "3/0", "--5", "12 parsecs", "½", "1.2.3,4", "nan", "inf", "1e999"])
def test_nonsense_gets_one_clear_line_with_an_example(answer: Answer, text: str) -> None:
    response = answer.check(text)
    assert not response.right
    assert answer.form in response.message
    assert "\n" not in response.message


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
    responses = [asked.check(letter) for letter in "ABC"]
    assert [response.right for response in responses].count(True) == 1
    assert len({response.message for response in responses}) == 3


def test_the_right_choices_follow_no_pattern_that_could_be_guessed() -> None:
    """Each letter is right at least once and at most half of the time, never three times running, nor in turn."""
    right = [question(step).answer.right for step in STEPS]
    counts = [right.count(place) for place in range(3)]
    assert min(counts) >= 1
    assert max(counts) <= len(right) / 2
    assert all(len(set(run)) > 1 for run in zip(right, right[1:], right[2:], strict=False))
    assert len({(after - before) % 3 for before, after in pairwise(right)}) > 1


def cents_of(ratio: float) -> float:
    return 1200 * math.log2(ratio)


# The right answers, worked out here without the library: 440 Hz is ISO 16:1975; the note frequencies are librosa's
# (12 equal steps from A4 = 440 Hz); F3 and A6 as drone and melody are from Adachi & Yamada 1999, J. Acoust. Soc. Am.
# 105, 2920; harmonics 7, 11, 13 and 14 as the ones that stray by more than 25 cents are common knowledge of brass
# players (printed deviations: -31, -49, +41, -31 cents, for example Benade 1976, from memory). Cents are Ellis 1885;
# 70.7 % is Levitt 1971, J. Acoust. Soc. Am. 49, 467; frets are at L (1 - 2^(-n/N)), the luthier's formula (common
# practice); the worst of the 7-odd limit are 7/6 in twelve and 6/5 in thirty-one (common practice).
# Chords: 4:5:6:7 and its kind are whole numbers (Helmholtz 1885); drop 2 is the second voice from the top an octave
# lower (common practice); held notes make a progression fall by 81/80 a round (Benedetti 1585). Meantone: the fifth is
# the fourth root of 5 (Zarlino 1571, Salinas 1577); in thirty-one, by counting: a fifth is 18
# steps, a tone 5, a half-sharp 1 (Huygens 1691); a trombone's slide gives half of what the tube must grow (common
# practice).
RIGHT: dict[int, str] = {
    1: f"{1000 / 440} ms",
    2: "436 Hz",
    3: f"{330 // math.gcd(330, 220)}:{220 // math.gcd(330, 220)}",
    4: " ".join(librosa.hz_to_note(n * librosa.note_to_hz("C2")) for n in range(1, 7)),
    5: f"{math.gcd(300, 400, 500, 600)} Hz",
    6: f"{round(librosa.note_to_hz('A6') / librosa.note_to_hz('F3'))}",
    7: "7, 11, 13, 14",
    8: f"{cents_of(442 / 440):.2f} cents",
    9: f"{100 * math.sqrt(0.5):.1f} %",
    10: f"{cents_of(293 / (5 * librosa.note_to_hz('A#1'))):.1f}",
    11: f"{librosa.note_to_hz('F#4'):.2f} Hz",
    12: "13.69 cents",
    13: f"{4 * librosa.note_to_hz('E4') - 5 * librosa.note_to_hz('C4'):.2f} beats a second",
    14: f"{650 * (1 - 2 ** (-1 / 240)):.2f} mm",
    15: " ".join(str(round(31 * math.log2(n / 4))) for n in (4, 5, 6, 7)),
    16: f"{((300 - cents_of(7 / 6)) - (cents_of(6 / 5) - 1200 * 8 / 31)) / 19:.2f} cents",
    17: f"{Fraction(3, 2) ** 4 / 5}",
    18: "1/3",
    19: "E♭ G♯",
    20: f"{18 * 1200 / 31 - cents_of(5**0.25):.3f} cents",
    21: " ".join(str((20 + 18 * n) % 31) for n in range(5)),
    22: f"{5 + 1 - 5}",
    23: "23 30 32 34",
    24: f"{2850 * (2 ** (1 / 31) - 1) / 2:.1f} mm",
    25: " ".join(str(5 + round(31 * math.log2(n / 14))) for n in (14, 18, 21)),
    26: f"{4 * 100 * 2 ** (26 / 31) - 7 * 100:.2f} beats a second",
    27: " ".join(str(18 + round(31 * math.log2(n / 4))) for n in (4, 5, 6, 7, 9, 11)),
    28: "G3 C4 E4 B4",
    29: "12 10",
    30: f"{5 * cents_of(81 / 80):.1f} cents",
    31: "1,000,000",
}


@pytest.mark.parametrize("step", STEPS)
def test_the_right_answer_worked_out_elsewhere_is_right_here(step: int) -> None:
    if step not in RIGHT:
        pytest.skip(f"the right answer of step {step}, worked out without the library, is not in RIGHT yet")
    assert exercise(step).check(RIGHT[step]).right


@pytest.mark.parametrize(
    ("step", "shown"),
    [
        (1, "2.27 milliseconds"),
        (2, "it was at 436 Hz"),
        (3, "3:2"),
        (4, f"{5 * librosa.note_to_hz('C2'):.0f} Hz"),
        (4, "C2, C3, G3, C4, E4 and G4"),
        (4, f"E4, at {librosa.note_to_hz('E4'):.1f} Hz"),
        (5, "3, 4, 5 and 6 times 100"),
        (6, f"{librosa.note_to_hz('A6') / librosa.note_to_hz('F3'):.2f}, so it was harmonic 10"),
        (7, "harmonic 7 is at −31, harmonic 11 is at −49, harmonic 13 is at +41 and harmonic 14 is at −31"),
        (8, f"{cents_of(442 / 440):.2f} cents"),
        (8, f"{cents_of(222 / 220):.2f} cents"),
        (9, "70.7 %"),
        (10, f"{5 * librosa.note_to_hz('A#1'):.2f} Hz"),
        (10, f"D4, −{cents_of(librosa.note_to_hz('D4') / 293):.1f}"),
        (11, f"{librosa.note_to_hz('F#4'):.0f} Hz"),
        (12, "+13.69 cents"),
        (12, "the seventh harmonic +31.17"),
        (13, f"{4 * librosa.note_to_hz('E4') - 5 * librosa.note_to_hz('C4'):.1f} beats a second"),
        (14, "36.5 mm, in thirty-one at 14.4"),
        (15, "step 25. It is at 967.74 cents: −1.08"),
        (16, "33.13 − 5.96"),
        (16, "eleventh harmonic is off by −9.4 cents, its thirteenth by +11.1"),
        (17, f"81/16 ÷ 5 = 81/80: {cents_of(81 / 80):.2f} cents"),
        (
            18,
            f"{cents_of(3 / 2) - cents_of(81 / 80) / 3:.2f} cents, and major thirds {cents_of(81 / 80) / 3:.2f} cents",
        ),
        (19, "737.64 cents: 35.7 wider"),
        (20, f"0.1958 cents: a fifth of {18 * 1200 / 31:.2f} cents instead of {cents_of(5**0.25):.2f}"),
        (20, f"{1200 * 10 / 31 - cents_of(5 / 4):.2f} cents wider than pure"),
        (20, f"{(cents_of(3 / 2) - 18 * 1200 / 31) / cents_of(81 / 80):.4f} of a comma"),
        (15, f"3/2 step 18, −{cents_of(3 / 2) - 18 * 1200 / 31:.2f}"),
        (21, "20, 7, 25, 12 and 30: G♯, D♯, A♯, E♯ and B♯"),
        (21, f"{30 * 1200 / 31:.1f} cents above a C, {1200 / 31:.1f} short"),
        (22, "step 6, less 5 is 1: C½♯"),
        (23, f"270.97 − 266.87 = +{7 * 1200 / 31 - cents_of(7 / 6):.1f} cents"),
        (23, f"+{300 - cents_of(7 / 6):.1f} cents off"),
        (24, f"{2850 * (2 ** (1 / 31) - 1):.1f} mm of tube"),
        (24, f"is at {2850 * (2 ** (1 / 12) - 1) / 2:.1f} mm"),
        (25, f"9/7, {cents_of(9 / 7):.1f} cents; 11 steps are {11 * 1200 / 31:.1f}"),
        (26, f"{4 * 100 * 2 ** (26 / 31) - 700:.1f} beats a second"),
        (26, f"there are {abs(4 * 100 * 2 ** (25 / 31) - 700):.1f}: one slow beat in two seconds"),
        (27, f"{31 * math.log2(11 / 8):.2f}, so step 14, −{cents_of(11 / 8) - 14 * 1200 / 31:.1f} cents"),
        (28, "G4 becomes G3: the voicing is G3, C4, E4, B4"),
        (29, f"= 2 steps, {2 * 1200 / 31:.0f} cents"),
        (30, f"{5 * cents_of(81 / 80):.1f} cents: more than a semitone"),
        (30, f"is {cents_of(3 / 2) - 18 * 1200 / 31:.1f} cents"),
        (31, "10 to the power of 6, or 1,000,000"),
    ],
)
def test_the_worked_answer_shows_the_right_number(step: int, shown: str) -> None:
    assert shown in exercise(step).worked


def test_the_prices_at_which_thirty_one_is_said_to_win_are_those_at_which_it_wins() -> None:
    divisions = np.arange(5, 101)
    score = largest_error(divisions, odd_limit_intervals(7))
    said = re.search(r"from ([\d.]+) to ([\d.]+) cents a note", exercise(16).worked)
    assert said
    lowest, highest = map(float, said.groups())
    assert np.all(trade(divisions, score, np.linspace(lowest + 0.005, highest - 0.005, 100)) == 31)
    assert trade(divisions, score, lowest - 0.005) > 31 > trade(divisions, score, highest + 0.005)
    price = ((300 - cents_of(7 / 6)) - (cents_of(6 / 5) - 1200 * 8 / 31)) / 19
    assert f"at exactly that price {trade(divisions, score, price)} beats them both" in exercise(16).worked


def test_as_many_harmonics_lie_near_twelve_as_the_question_says() -> None:
    """Beside librosa's distance from the nearest key."""
    keys = librosa.hz_to_midi(440 * np.arange(1, 17))
    away = 100 * np.abs(keys - keys.round())
    said = [int(words.split()[0]) for words in question(12).answer.choices]
    assert said == [np.sum(away <= 5), np.sum(away <= 25), np.sum(away < 0.001)]


@pytest.mark.parametrize("step", STEPS)
def test_known_slips_are_wrong_and_get_their_own_line(step: int) -> None:
    answer = exercise(step).answer
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
    for shown, folds in ((question(step), 1), (exercise(step), 2)):
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
        card.keys._handle_custom_msg({"id": number, "step": step, "seconds": number, "velocity": 1, "cents": 0}, [])
        card.keys.held = [step]
        card.keys._handle_custom_msg({"id": number, "seconds": number + 0.5}, [])
        card.keys.held = []


def test_a_chord_is_checked_as_it_was_held_when_the_button_is_pressed() -> None:
    card = Exercise("Play it.", NEUTRAL, hint="?", worked="!").card
    card.check_played.click()
    assert "No notes yet" in card.response.value
    for held in ([5], [5, 13], [5, 13, 23], [13, 23], [23], []):  # the fingers do not leave the keys all at once
        card.keys.held = held
    card.check_played.click()
    assert "a minor third above D, and a neutral third is asked for" in card.response.value
    assert not card.worked_button.disabled
    card.keys.held = [5, 14, 54]
    card.check_played.click()
    assert "✓" in card.response.value


def test_a_sequence_is_checked_as_it_is_played_and_begins_anew_after_a_mistake() -> None:
    card = Exercise("Play it.", SCALE, hint="?", worked="!").card
    play(card, 4)
    assert "Note 1, E4, is 4 steps too high" in card.response.value
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


def test_ten_exercises_are_answered_by_playing() -> None:
    played = [step for step in STEPS if isinstance(exercise(step).answer, Played)]
    assert played == [4, 15, 19, 21, 22, 23, 25, 27, 28, 29]


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
