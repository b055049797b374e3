"""Exercises that check themselves: what is understood, what is said, and that the numbers are right."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import pairwise
from typing import Any

import ipywidgets
import librosa
import pytest
from hypothesis import given
from hypothesis import strategies as st
from IPython.core.formatters import DisplayFormatter

from tunelib.pitch.notes import Note
from tunelib.practice import exercise, question
from tunelib.practice.answers import Answer, Choice, Pitch, Quantity, Ratio, Several
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.steps_01_07 import FIRST_STEP, LAST_STEP

STEPS = range(FIRST_STEP, LAST_STEP + 1)

HERTZ = Quantity(440, "Hz", tolerance=0.5)
PERIOD = Quantity(2.27, "ms", tolerance=0.05)
CENTS = Quantity(-31, "cents", tolerance=0.5)
FIFTH = Ratio(Fraction(3, 2))
B_FLAT = Pitch(Note.parse("B♭3"))
STRAYS = Several(frozenset({7, 11, 13, 14}))
CHOICE = Choice(("Up.", "Down.", "Neither."), right=1, responses=("No, down.", "Down it is.", "It does move."))
SAMPLES: tuple[Answer, ...] = (HERTZ, PERIOD, CENTS, FIFTH, B_FLAT, STRAYS, CHOICE)


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
        (Quantity(12), ["12", "12.0", "+12"]),
        (FIFTH, ["3/2", "3:2", "3 : 2", "1.5", "1,5", "6/4", "3 to 2", "1.499"]),
        (B_FLAT, ["B♭3", "Bb3", "bb3", " B♭ 3 ", "A#3"]),
        (STRAYS, ["7, 11, 13, 14", "14 13 11 7", "7, 11, 13 and 14", "7;11;13;14."]),
        (CHOICE, ["B", "b", "B.", "down", "Down.", "B. Down."]),
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
        (lambda: exercise(LAST_STEP + 1), f"no step {LAST_STEP + 1}"),
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


# The right answers, worked out here without the library: 440 Hz is ISO 16:1975; the note frequencies are librosa's
# (12 equal steps from A4 = 440 Hz); F3 and A6 as drone and melody are from Adachi & Yamada 1999, J. Acoust. Soc. Am.
# 105, 2920; harmonics 7, 11, 13 and 14 as the ones that stray by more than 25 cents are common knowledge of brass
# players (printed deviations: -31, -49, +41, -31 cents, for example Benade 1976, from memory).
RIGHT: dict[int, str] = {
    1: f"{1000 / 440} ms",
    2: "436 Hz",
    3: f"{330 // math.gcd(330, 220)}:{220 // math.gcd(330, 220)}",
    4: f"{5 * librosa.note_to_hz('C2'):.3f} Hz",
    5: f"{math.gcd(300, 400, 500, 600)} Hz",
    6: f"{round(librosa.note_to_hz('A6') / librosa.note_to_hz('F3'))}",
    7: "7, 11, 13, 14",
}


@pytest.mark.parametrize("step", STEPS)
def test_the_right_answer_worked_out_elsewhere_is_right_here(step: int) -> None:
    assert exercise(step).check(RIGHT[step]).right


@pytest.mark.parametrize(
    ("step", "shown"),
    [
        (1, "2.27 milliseconds"),
        (2, "it was at 436 Hz"),
        (3, "3:2"),
        (4, f"{5 * librosa.note_to_hz('C2'):.0f} Hz"),
        (4, f"E4, at {librosa.note_to_hz('E4'):.1f} Hz"),
        (5, "3, 4, 5 and 6 times 100"),
        (6, f"{librosa.note_to_hz('A6') / librosa.note_to_hz('F3'):.2f}, so it was harmonic 10"),
        (7, "harmonic 7 lies −31, harmonic 11 lies −49, harmonic 13 lies +41 and harmonic 14 lies −31"),
    ],
)
def test_the_worked_answer_shows_the_right_number(step: int, shown: str) -> None:
    assert shown in exercise(step).worked


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
    assert r"1 &lt; 2 &amp; \*why\*?" in asked._markdown()


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
