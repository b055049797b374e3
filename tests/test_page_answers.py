"""Answers checked in a page without Python: the same readings, the same words, in a real browser."""

from __future__ import annotations

import json
import random
import sys
import unicodedata
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tunelib
from tunelib.course import all_steps
from tunelib.live import script
from tunelib.pitch import THIRTY_ONE, Note, equal, just
from tunelib.practice import exercises, question
from tunelib.practice.answers import Answer, Choice, Pitch, Quantity, Ratio, Several
from tunelib.practice.playing import Played
from tunelib.practice.typed import tidy
from tunelib.practice.units import DOWN, TYPED_UNITS, UNITS, UP

PRACTICE = Path(tunelib.__file__).parent / "practice"
Replies: TypeAlias = Callable[[list[tuple[Answer, str]]], list[list[Any]]]


def notes(names: str) -> tuple[Note, ...]:
    return tuple(Note.parse(name) for name in names.split())


OTHERS: tuple[Answer, ...] = (
    Quantity(440, "Hz", tolerance=0.5, slips={466.16: "That is the B♭."}),
    Quantity(1.05, "kHz", tolerance=0.01),
    Quantity(0.002, "s"),
    Quantity(2.27, "ms", tolerance=0.05),
    Quantity(-31, "cents", tolerance=0.5),
    Quantity(107.5, "cents", tolerance=0.3, down=True),
    Quantity(11, "steps"),
    Quantity(10.4, "beats a second", tolerance=0.1),
    Quantity(36.5, "mm", tolerance=0.1),
    Quantity(3.65, "cm", tolerance=0.1),
    Quantity(70.7, "%", tolerance=0.5),
    Quantity(12345, tolerance=0.4),
    Quantity(0.00001234),
    Ratio(Fraction(3, 2), slips={Fraction(5, 3): "That is a sixth.", Fraction(7): "Too much."}),
    Ratio(Fraction(2)),
    Pitch(Note.parse("B♭3")),
    Pitch(Note.parse("C4")),
    Several(frozenset({7, 11, 13, 14})),
    Several(frozenset({2})),
    Choice(("Up − 1.", "Down", "2^3", "Neither."), 1, ("No.", "Yes: down.", "No: up.", "It moves.")),
    Played(notes("D4 Fh#4 A4"), THIRTY_ONE, slips={"D F# A": "That is the major triad.", "5 13 23": "That is minor."}),
    Played(notes("D4 Fh#4 A4"), THIRTY_ONE, anywhere=True),
    Played(notes("D4 F4 A4 C5"), equal(12), exact=True),
    Played(notes("D4 F4 A4 C5"), equal(12), exact=True, anywhere=True),
    Played(notes("C4 D4 E4 F4 G4 A4 B4 C5"), equal(19), in_order=True),
    Played(notes("C2 C3 G3 C4 E4 G4"), equal(12), in_order=True, exact=True, slips={"C2 C3 C4": "Those are octaves."}),
    Played(notes("C4 C4 G4 G4 A4 A4 G4"), equal(17), in_order=True, anywhere=True),
    Played(notes("G#3 Eb4"), just("1/1 16/15 9/8 6/5 5/4 4/3 45/32 3/2 8/5 5/3 16/9 15/8".split())),
    Played(notes("Dx4"), equal(41)),
    Played((0, 4, 7), equal(13)),
    Played((0, 4, 7), equal(9), in_order=True, exact=True),
)
ASKED: tuple[Answer, ...] = (
    *(question(step.number).answer for step in all_steps()),
    *(made.answer for step in all_steps() for made in exercises(step.number)),
    *OTHERS,
)
RUBBISH = (
    "", " ", "?", "banana", "ba'na\"na", "3/0", "0/0", "-0", "0", "--5", "12 parsecs", "½", "1.2.3,4", "nan", "inf",
    "1e999", "440.", "3.", ".5", ",5", "+.5 Hz", "9999^99", "9999^99/9999^98", "10^6", "10**6", "10 ^ 6", "1.5^2",
    "123456^2", "2^100", "1 000 000", "1,000,000", "1,000", "1,000.5", "1.000,5", "12 345 Hz", "1 0000", "٤٤٠ Hz",
    "４４０", "१२", "440\u00a0Hz", "440\u2009Hz", "440\x1cHz", "\ufeff440", "440\u200b", "440 HZ", "440 \u212aHz",
    "440 Hz.", "440 Hz. ", "A" * 61, "A" * 60, "a b " * 40, "𝄪" * 61, "<b>1</b>", "3:2", "3 : 2", "3 to 2", "2/3",
    "6/4", "1,5", "1.499", "1.5", "3", "-3/2", "3/-2", "-3/-2", "+3/2", "3/2/1", "3//2", "3/2 cents", "702 c", "5/3",
    "7", "7/1", "4:3", "3/4", "9/7", "C", "c4", "C4", "Bb3", "bb3", "B♭ 3", "A#3", "Bhb3", "E4-1", "E4−1", "E4+1",
    "E-1", "E-1-1", "Bb", "Cbb4", "B##2", "Cx4", "C#b4", "C♮4", "H4", "Fb", "C12345", "Ebbb4", "B½♭3", "C𝄪4", "D𝄫",
    "7, 11, 13, 14", "14 13 11 7", "7 and 11 & 13; 14.", "7, 7, 11", "7, 11, 12", "1 2 3", "2", "2 2", "0007", "A",
    "b", "B.", "B..", "down", "DOWN", "B. Down", "up - 1", "A. Up − 1.", "8", "2^3", "İ", "ΑΣ", "ß", "D F½♯ A",
    "D Fh# A", "d fh# a", "D-Fh#-A", "D–F½♯–A", "D F A", "D F# A", "D Gb A", "E Gh# B", "D4 F4 A4 C5", "D4 F4 A4 C4",
    "D F A C", "D3 F3 A3 C4", "E4 G4 B4 D5", "D", "A", "D D", "D A", "D Fh# A C", "Fh# A", "G", "5 14 23", "5 14",
    "0", "-3", "C D E F G A B C", "C D E F", "D E F# G A B C# D", "C D E F G A B C D", "C D Eb", "C2 C3 G3 C4 E4 G4",
    "C2 C3", "C3 C4 G4 C5 E5 G5", "C2 C3 G4", "C2 C3 C4", "C2 C3 G3 C4 E4 G4 Bb4", "C C G", "G G D D E E D", "G G",
    "G# Eb", "Ab Eb", "C G", "Dx", "E", "0 4 7", "1 5 8", "0 4", "0 4 7 8", "13 17 20", "-13 4", "0, 4; 7 & 9",
    "C and E and G", "Ch#4", "Q R", "second", "2nd", "the third one", "In the first.", "third, first and second", "the",
    "one", "1", "3rd.", "Cneu", "G#dim7", "Dm7", "E♭maj7(♯11)", "Csus", "D flat", "D-flat", "C sharp and A flat",
    "B half-flat", "G half sharp A", "flat", "D flatly", "Bb\u017fharp",
    "65.4*5", "65.4 × 5", "5/4 of 440", "(440 - 220)/2 Hz", "2^(1/12)", "440*2^(3/12)", "2^3^2", "-2^2", "(-8)^(1/3)",
    "0^0", "0^-1", "10^-3", "2**0.5", "(1+2", "1+2)", "((((1))))", "1--1", "1+-1", "3/2/1", "3/2:1", "4:5:6", "3∶2",
    "5/4 * 6/5", "2 - 1/2", "9^99", "9^99^9", "(9^99)^99", "((2^99)^99)^99", "1'000", "1’000.5", "−107.5 cents flat",
    "107.5 cents flat", "flat by 107.5", "107.5 sharp", "-31 sharp", "+31 flat", "31 cents below",
    "about 31 cents too low", "minus 31", "sharp", "flat", "flat 31 sharp", "11 steps", "11 semitones",
    "1.075 semitones", "0.0895833 octaves", "2.27 s", "702 cents", "7.02 semitones", "≈ 440 Hz", "it is 440",
    "the 7th harmonic", "440 × 2", "440÷2", "440 minus 4", "880 over 2", "2 times 220 Hz", "2 x 220", "220x2",
    "440 Hz!", "( 3 / 2 )", "1e5", "5 e", "a third", "two thirds of a comma", "Half a comma", "half a step",
    "1 half step", "a half tone", "a quarter of 440", "ten", "Thirty-one steps", "twenty  one", "ninety five",
    "thirty ten", "a million", "10 million", "A hundred thousand Hz", "harmonic 10", "harmonics 7 and 11",
    "the 7th, 11th, thirteenth", "5 commas", "seven, eleven, 13 and fourteen", "1.000.000", "1.000.000,5", "1.000.00",
    "1e6", "1E6 Hz", "1,5e3", "1e-3", "1.5e+2", "1e100", "1e99", "1e-99", "1e6/1e6", "1200*log2(442/440)",
    "1200 × log₂(442/440)", "1200 math.log2(9/8) cents", "log2(0)", "log2(-1)", "log2", "log2(", "sqrt(2)", "√2",
    "2√3", "sqrt(-1)", "sqrt(0)", "-sqrt 4", "np.sqrt(9)^2", "log2(2^99)", "log2(sqrt(16))", "between F and F♯",
    "F + F#", "CEGA#", "DF½♯A", "C4E4G4", "DFhbA", "CEb", "ADD", "Cbb4D", "It falls between the keys D and A", "fis",
    "10½", "½ step", "2 1/4", "1 1/2", "3 + 1 1/2", "2*1 1/2", "12 1/2 Hz", "1/440th of a second", "4 times",
    "100 times", "F sharp and a half", "B flat and a half A", "C double sharp", "step 3", "C Ch# C# Dhb D",
    "¾ of 440", "1 000½",
    "three to two", "ſix", "ſqrt 4", "ſtep 4", "minus one third",
)  # fmt: skip


def typed_for(answer: Answer) -> list[str]:
    """What learners might type for an answer: right, nearly right, and wrong in known ways."""
    told, texts = answer.told(), list(RUBBISH)
    if isinstance(answer, Quantity):
        values = [answer.value, *answer.slips]
        near = [answer.value + k * answer.tolerance for k in (-5, -4, -1.01, -1, -0.5, 0.5, 1, 1.01, 4, 5)]
        for value in [*values, *near, *(answer.value * factor for factor in (-1, 0.5, 2, 1000, 0.001, 1e12, 1e-9))]:
            texts += [
                str(value),
                f"{value:.2f}",
                f"{value:.12f}",
                f"{value:,.3f}",
                f"{value:.6g}".replace("-", "−").replace(".", ","),
            ]
        texts += [f"{abs(answer.value)} {unit} {way}" for unit in UNITS for way in (*DOWN, *UP)]
        texts += [f"{way} by {answer.value}" for way in (*DOWN, *UP)]
        texts += [f"{answer.value}*{by}" for by in (10, 100, 1000, 4, 12)] + [
            f"1/({answer.value})",
            f"{answer.value}-1200",
        ]
        texts += [f"{answer.value / 10} × 10", f"({answer.value} + 3) − 3", f"{answer.value}/0.1", f"{answer.value}^1"]
        texts += [f"{answer.value} {unit}" for unit in TYPED_UNITS] + [f"{answer.value * 10:.3f}/10 {answer.unit}."]
    if isinstance(answer, Choice):
        texts += [*answer.choices, *answer.lettered, *(choice.upper() for choice in answer.choices)]
    if isinstance(answer, Ratio):
        for ratio in (
            answer.value,
            *answer.slips,
            1 / answer.value,
            answer.value * 2,
            answer.value / 2,
            answer.value * 8,
        ):
            texts += [
                str(ratio),
                f"{ratio.numerator * 6}:{ratio.denominator * 6}",
                f"{float(ratio):.4f}",
                str(float(ratio)),
            ]
    if isinstance(answer, Pitch):
        texts += [str(answer.value), answer.value.typed, answer.value.name, str(answer.value.transpose("d2"))]
    if isinstance(answer, Several):
        texts += [", ".join(map(str, told["values"])), " and ".join(map(str, told["values"][1:])), "1, 2, 3, 4, 5"]
    if isinstance(answer, Played):
        names, steps, dice = told["names"], told["steps"], random.Random(1)
        texts += [" ".join(names), "-".join(names), ", ".join(reversed(names)), " ".join(names[:-1]), *answer.slips]
        for away in (-31, -5, -1, 0, 1, 12, 31):
            texts.append(" ".join(str(step + away) for step in steps))
            texts += [
                " ".join(str(step + away * (n == place)) for n, step in enumerate(steps)) for place in range(len(steps))
            ]
        texts += [" ".join(str(dice.randint(-20, 60)) for _ in range(dice.randint(1, 5))) for _ in range(60)]
    return texts


@pytest.fixture(scope="module")
def page(chromium: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A page from a file, with the script and nothing else."""
    path = tmp_path_factory.mktemp("page") / "page.html"
    path.write_text(
        f"<!DOCTYPE html><meta charset=utf-8><title>.</title><script>{script(PRACTICE / 'answers.js')}</script>"
    )
    page = chromium.new_page()
    page.goto(path.as_uri())
    yield page
    page.close()


@pytest.fixture(scope="module")
def replies(page: Any) -> Replies:
    """A function that has the page answer: whether it is right, what is said, and whether it is understood."""

    def ask(tries: list[tuple[Answer, str]]) -> list[list[Any]]:
        answers = {id(answer): json.loads(json.dumps(answer.told())) for answer, _ in tries}
        found: list[list[Any]] = page.evaluate(
            "([answers, tries]) => tries.map(([which, text]) => {"
            "  const {right, message, understood} = checkAnswer(answers[which], text);"
            "  return [right, message, understood]; })",
            [{str(key): told for key, told in answers.items()}, [[str(id(answer)), text] for answer, text in tries]],
        )
        return found

    return ask


def differences(replies: Replies, tries: list[tuple[Answer, str]]) -> list[Any]:
    """Where page and Python say something else: the answer, what was typed, and both replies."""
    here = [answer.check(text) for answer, text in tries]
    return [
        (answer, text, reply, said)
        for (answer, text), reply, said in zip(tries, here, replies(tries), strict=True)
        if [reply.right, reply.message, reply.understood] != said
    ]


def test_the_page_says_what_python_says_to_the_letter(replies: Replies, capsys: pytest.CaptureFixture[str]) -> None:
    tries = [(answer, text) for answer in ASKED for text in typed_for(answer)]
    assert differences(replies, tries) == []
    said = {answer.check(text).message for answer, text in tries}
    with capsys.disabled():
        print(f"\n{len(tries)} answers checked twice, {len(said)} different replies")
    assert len(tries) > 10_000


@pytest.mark.parametrize("answer", ASKED, ids=lambda answer: type(answer).__name__)
def test_among_what_is_tried_are_right_answers_and_wrong_ones(answer: Answer) -> None:
    assert {answer.check(text).right for text in typed_for(answer)} == {True, False}


@pytest.mark.parametrize("answer", ASKED, ids=lambda answer: type(answer).__name__)
def test_what_says_nothing_is_not_understood_and_what_is_wrong_is(answer: Answer) -> None:
    """Nothing of what is typed is right and yet not understood."""
    assert not answer.check("qwertz").understood and not answer.check("").understood
    replies = {(reply.right, reply.understood) for text in typed_for(answer) for reply in [answer.check(text)]}
    assert replies == {(True, True), (False, True), (False, False)}


@given(
    texts=st.lists(
        st.text(st.characters(exclude_categories=("Cs", "Cn")), max_size=30)
        | st.from_regex(r"\A[-+−0-9.,/:^ ]{1,12}( ?(Hz|kHz|ms|s|cents|c|mm|%|beats))?\Z")
        | st.from_regex(
            r"\A(about |flat |up )?[-+]?\(?[0-9]{1,3}([.,][0-9]{1,3})?( ?[-+*/^×÷:] ?\(?[0-9]{1,2}\)?){0,4}"
            r"( ?(Hz|ms|cents|steps|semitones|%))?( flat| sharp| below)?\Z"
        )
        | st.from_regex(r"\A([A-Ga-g](h?[#b]|x|bb|½♯)?[0-9]?[ ,-]){1,6}\Z")
        | st.lists(st.integers(-40, 80), min_size=1, max_size=6).map(lambda steps: " ".join(map(str, steps)))
        | st.floats(allow_nan=False).map(str)
        | st.floats(-1e6, 1e6).map(lambda value: f"{value:f}"),
        min_size=1,
        max_size=20,
    )
)
def test_whatever_is_typed_the_page_says_what_python_says(replies: Replies, texts: list[str]) -> None:
    assert differences(replies, [(answer, text) for answer in OTHERS for text in texts]) == []


def test_numbers_are_printed_alike_even_where_they_end_in_exact_halves(replies: Replies) -> None:
    dice = random.Random(2)
    values = [
        *(n + 0.5 for n in range(1000, 1020)),
        *(n / 16 for n in range(1, 200)),
        *(10.0**n for n in range(-12, 20)),
    ]
    values += [99995.0, 9999.5, 99.995, 0.00099995, 0.0001, 0.00009999, 123456789.0, 1e15, 999999999999999.0, 12345.5]
    values += [dice.uniform(0.9, 10) * 10.0 ** dice.randint(-20, 20) for _ in range(3000)]
    asked = [(Quantity(-1e290), f"{value:.25f}" if value < 1e20 else f"{value:.0f}") for value in values]
    assert differences(replies, asked) == []
    assert differences(replies, [(Quantity(value), f"{value:.40f}") for value in values]) == []


def test_digits_of_every_script_are_read(page: Any) -> None:
    digits = [chr(code) for code in range(sys.maxunicode + 1) if unicodedata.category(chr(code)) == "Nd"]
    assert page.evaluate("digits => digits.map(tidy)", digits) == [tidy(digit) for digit in digits]
    assert "".join(map(tidy, digits)) == "0123456789" * (len(digits) // 10)


@pytest.mark.parametrize("answer", [one for one in OTHERS if isinstance(one, Played)])
def test_what_is_played_is_heard_alike(page: Any, answer: Played) -> None:
    dice = random.Random(3)
    tries = [[dice.randint(-35, 65) for _ in range(dice.randint(0, 8))] for _ in range(200)]
    tries += [list(answer.steps[:n]) for n in range(len(answer.steps) + 1)]
    tries += [[step + away for step in answer.steps] for away in range(-40, 41)]
    said = page.evaluate(
        "([told, tries]) => tries.map(steps => [checkSteps(told, steps), begunWith(told, steps)])",
        [answer.told(), tries],
    )
    for steps, (reply, begun) in zip(tries, said, strict=True):
        here = answer.check_steps(steps)
        assert (reply, begun) == (vars(here), answer.begun(steps)), steps
