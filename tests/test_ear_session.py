"""A sitting of practice: its turns, how hard they are, what is kept, and that nothing tells what is practised."""

from __future__ import annotations

import math
from collections import Counter
from datetime import datetime, timedelta, timezone
from typing import NamedTuple

import numpy as np
import pytest

from tunelib.hearing import BayesRule
from tunelib.pitch import INSTRUMENTS, THIRTY_ONE
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Answered, EarHistory, Item
from tunelib.practice.ear_plan import Turn, next_session
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_questions import EAR_KINDS, ask, ear_items
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import SungQuestion

SETTINGS = EarSettings(THIRTY_ONE, registers=("low", "middle", "high"), microphone=True)
NOON = datetime(2026, 3, 2, 12, tzinfo=timezone.utc)


class Curve(NamedTuple):
    """What the needle hands over: seconds and hertz."""

    seconds: np.ndarray
    hertz: np.ndarray


def sung(*stretches: tuple[float, float], scatter: float = 2.0) -> Curve:
    """A voice that holds pitches in hertz, each for so many seconds, going from one to the next in 0.2 s."""
    moments = [0.0]
    for _, seconds in stretches:
        moments.append(moments[-1] + seconds)
    seconds = np.arange(0, moments[-1], 0.011)
    ends = [edge for place, after in enumerate(moments[1:]) for edge in (moments[place] + 0.1, after - 0.1)]
    pitches = np.repeat([math.log2(hertz) for hertz, _ in stretches], 2)
    noise = np.random.default_rng(1).normal(0, scatter, seconds.size) / 1200
    return Curve(seconds, 2 ** (np.interp(seconds, ends, pitches) + noise))


def session(*turns: Turn, history: EarHistory | None = None, seed: int = 1) -> EarSession:
    return EarSession(turns, history or EarHistory(), SETTINGS, np.random.default_rng(seed), now=lambda: NOON)


def history_of(kind: str, what: str, *answers: tuple[float | None, bool]) -> EarHistory:
    history = EarHistory()
    for place, (cents, right) in enumerate(answers):
        history = history.adding(Answered(Item(kind, what), NOON + timedelta(minutes=place), right, "", cents))
    return history


def test_turns_come_in_their_order_and_what_is_answered_is_kept() -> None:
    """Listening goes on by itself, a question waits, a skipped one leaves nothing, and the end is told."""
    kept: list[Answered] = []
    turns = [Turn(Item("pure", "3/2"), listen=True), Turn(Item("pure", "3/2")), Turn(Item("side", "10"))]
    sitting = EarSession(turns, EarHistory(), SETTINGS, np.random.default_rng(0), keep=kept.append, now=lambda: NOON)
    assert sitting.stage == "listening" and sitting.share == 0
    with pytest.raises(ValueError, match="waits"):
        sitting.answer(0)
    sitting.go_on()
    assert sitting.stage == "asking"
    sitting.go_on()
    assert sitting.place == 1, "a question that waits is not passed by"
    question = sitting.question
    assert isinstance(question, QuestionAsked)
    assert sitting.answer(question.right).right and sitting.stage == "told" and sitting.share == pytest.approx(2 / 3)
    with pytest.raises(ValueError, match="waits"):
        sitting.answer(0)
    sitting.go_on()
    sitting.skip()
    assert sitting.stage == "done" and sitting.question is None and sitting.share == 1
    assert kept == sitting.answered == list(sitting.history.answers)
    one = kept[0]
    assert (one.item, one.right, one.moment) == (Item("pure", "3/2"), True, NOON)
    assert one.cents == question.cents and one.register == question.register
    assert sitting.report == "1 of 1 answer right."


def test_a_wrong_answer_says_what_was_right_and_the_report_what_comes_again() -> None:
    sitting = session(Turn(Item("third", "neutral")))
    question = sitting.question
    assert isinstance(question, QuestionAsked)
    response = sitting.answer(1 - question.right)
    assert not response.right and response.message.startswith(f"No: {question.answers[question.right]}.")
    sitting.go_on()
    assert sitting.report == "0 of 1 answer right. To come again soon: naming the third."


def test_differences_shrink_for_who_hears_them_and_grow_for_who_does_not() -> None:
    """After thirty answers the difference is near what is heard four times of five, whoever answers."""
    found = {}
    for threshold in (3.0, 12.0):
        rule, history, ears = BayesRule(), EarHistory(), np.random.default_rng(5)
        for seed in range(40):
            sitting = session(Turn(Item("pure", "5/4")), history=history, seed=seed)
            question = sitting.question
            assert isinstance(question, QuestionAsked) and question.cents is not None
            hears = ears.random() < float(rule.right(question.cents, threshold))
            sitting.answer(question.right if hears else 1 - question.right)
            history = sitting.history
        last = [answer.cents or 0.0 for answer in history.answers[-10:]]
        found[threshold] = float(np.median(last)) / rule.difference(threshold, 0.8)
    assert all(1 / 1.8 < factor < 1.8 for factor in found.values()), found


def test_names_grow_with_right_answers() -> None:
    few = session(Turn(Item("third", "neutral"))).question
    many = session(
        Turn(Item("third", "neutral")), history=history_of("third", "neutral", *[(None, True)] * 16)
    ).question
    assert isinstance(few, QuestionAsked) and isinstance(many, QuestionAsked)
    assert len(few.answers) == 2 and len(many.answers) == 5


@pytest.mark.parametrize("kind", [name for name, kind in EAR_KINDS.items() if kind.mixed])
def test_nobody_knows_the_answer_from_what_is_practised(kind: str) -> None:
    """With one thing in turn after turn, the right answer is in every place alike, and played notes differ."""
    item = next(item for item in ear_items(SETTINGS) if item.kind == kind)
    places, asked = Counter[int](), Counter[str]()
    for seed in range(200):
        question = session(Turn(item), seed=seed).question
        assert question is not None
        asked[question.item.what] += 1
        if isinstance(question, QuestionAsked):
            places[question.right] += 1
    assert len(asked) == 2 and min(asked.values()) > 70
    assert kind.startswith("play") or (set(places) == {0, 1} and min(places.values()) > 70)


def test_listening_is_to_the_thing_itself() -> None:
    for seed in range(20):
        sitting = session(Turn(Item("third", "neutral"), listen=True), seed=seed)
        assert sitting.question is not None and sitting.question.item == Item("third", "neutral")


def test_more_registers_come_with_practice() -> None:
    """What is new is heard in the first of the registers alone."""
    new = {session(Turn(Item("pure", "3/2")), seed=seed).question.register for seed in range(20)}  # type: ignore[union-attr]
    assert new == {"low"}
    history, came = EarHistory(), []
    for day in range(9):
        question = session(Turn(Item("pure", "3/2")), seed=day, history=history).question
        assert question is not None
        came.append(question.register)
        answer = Answered(Item("pure", "3/2"), NOON - timedelta(days=9 - day), True, "", 8.0, question.register)
        history = history.adding(answer)
    assert came[:4] == ["low", "low", "middle", "high"]
    assert max(map(came.count, came)) == min(map(came.count, came)) == 3


def test_what_is_played_is_checked_and_kept() -> None:
    sitting = session(Turn(Item("play", "10")))
    question = sitting.question
    assert isinstance(question, PlayedQuestion)
    response = sitting.play(question.answer.steps)
    assert response.right and question.why in response.message
    assert sitting.answered[0].item == question.item and sitting.answered[0].cents is None


def test_a_plan_runs_through() -> None:
    """Every turn of a planned session is asked, whatever is in it, and every answer is kept."""
    turns = next_session(EarHistory(), NOON, ear_items(SETTINGS), 10)
    sitting = session(*turns)
    stages = Counter[str]()
    while sitting.stage != "done":
        stages[sitting.stage] += 1
        question = sitting.question
        if sitting.stage == "listening":
            sitting.go_on()
        elif isinstance(question, QuestionAsked):
            sitting.answer(question.right)
            sitting.go_on()
        elif isinstance(question, SungQuestion):
            assert sitting.sing([sung((target, 2.0)) for target in question.targets]).right
            sitting.go_on()
        else:
            sitting.skip()
    assert stages["listening"] == sum(turn.listen for turn in turns) > 0
    assert len(sitting.answered) == stages["asking"] == sum(not turn.listen for turn in turns)


def to_sing(kind: str, what: str, player: str = "") -> SungQuestion:
    settings = EarSettings(THIRTY_ONE, microphone=True, player=INSTRUMENTS.get(player))
    question = ask(Item(kind, what), np.random.default_rng(4), settings)
    assert isinstance(question, SungQuestion)
    return question


@pytest.mark.parametrize("step", ["7", "8", "9", "10", "11", "13", "18", "25", "26", "27"])
def test_what_is_to_be_sung_is_so_many_steps_above_the_drone(step: str) -> None:
    question = to_sing("sing", step)
    assert 31 * math.log2(question.targets[0] / question.drone) == pytest.approx(int(step))
    heard = question.sounds[0]
    assert sorted(heard.hertz) == pytest.approx(sorted((question.drone, *question.targets)))


@pytest.mark.parametrize(("off", "right"), [(0, True), (-12, True), (30, False), (-38.7, False)])
def test_a_held_note_is_graded_by_how_close_it_is(off: float, right: bool) -> None:
    """In any octave: a note within half a step is right, the neighbouring step is not."""
    question = to_sing("sing", "9")
    for octave in (0.5, 1.0, 2.0):
        grade = question.grade([sung((question.targets[0] * octave * 2 ** (off / 1200), 2.5))])
        assert grade.right == right and grade.cents == pytest.approx(off, abs=2)
        assert ("sharp" if off > 5 else "flat" if off < -5 else "") in grade.message


def test_a_note_that_is_too_short_is_not_right() -> None:
    question = to_sing("sing", "10")
    grade = question.grade([sung((question.targets[0], 0.7))])
    assert not grade.right and "Hold it for a second" in grade.message
    none = question.grade([Curve(np.arange(10) * 0.01, np.full(10, np.nan))])
    assert not none.right and none.cents is None and "not held long enough" in none.message


def test_a_slide_goes_from_twelve_to_thirty_one() -> None:
    """From 400 cents to 387.1: who goes there is right, and who stays in twelve, or goes away, is not."""
    question = to_sing("slide", "10")
    assert question.start is not None
    start, end = (1200 * math.log2(hertz / question.drone) for hertz in (question.start, question.targets[0]))
    assert start == pytest.approx(400) and end == pytest.approx(12000 / 31)
    there = question.grade([sung((question.start, 1.5), (question.targets[0], 1.5), scatter=1)])
    assert there.right and there.cents == pytest.approx(0, abs=2.5)
    away = question.start * 2 ** (13 / 1200)
    assert not question.grade([sung((question.start, 1.5), (away, 1.5), scatter=1)]).right


def test_only_what_twelve_misses_is_slid() -> None:
    for item in ear_items(SETTINGS):
        if item.kind == "slide":
            cents = int(item.what) * 1200 / 31
            assert abs(cents - 100 * round(cents / 100)) >= 9


@pytest.mark.parametrize("number", [3, 5, 7, 9, 11, 13])
def test_a_harmonic_is_sung_within_an_octave_of_the_drone(number: int) -> None:
    question = to_sing("overtone", str(number))
    ratio = question.targets[0] / question.drone
    assert 1 < ratio < 2 and ratio * 2 ** round(math.log2(number / ratio)) == pytest.approx(number)


def test_a_line_is_the_melody_of_its_bar() -> None:
    """Bar 5 of the tune of step 31, B♭ G B♭ over G minor: in thirty-one, an octave down for anybody."""
    question = to_sing("line", "bar 5")
    steps = [31 * math.log2(hertz / (440 / 2)) for hertz in question.targets]  # from A3
    assert [round(step) for step in steps] == [3, -5, 3]
    assert steps == pytest.approx([round(step) for step in steps], abs=1e-6)
    assert question.drone < min(question.targets) * 1.001
    grade = question.grade([sung((target, 1.6)) for target in question.targets])
    assert grade.right and grade.message.count("steady") == 3
    with pytest.raises(ValueError, match="3 notes"):
        question.grade([sung((question.targets[0], 2.0))])


@pytest.mark.parametrize("player", ["alto saxophone", "soprano voice", "double bass", "trumpet"])
def test_what_is_sung_is_within_reach_of_who_sings(player: str) -> None:
    low, high = INSTRUMENTS[player].range_hz
    for item in ear_items(SETTINGS):
        if EAR_KINDS[item.kind].by == "singing":
            question = to_sing(item.kind, item.what, player)
            assert all(low / 1.06 <= target <= high * 1.06 for target in question.targets), (item, question.targets)


def test_names_are_those_that_the_player_reads() -> None:
    """An alto saxophone reads a major sixth above what sounds."""
    plain, alto = to_sing("line", "bar 1"), to_sing("line", "bar 1", "alto saxophone")
    assert plain.names == ("D4", "B♭3", "D4") and [name[:-1] for name in alto.names] == ["B", "G", "B"]


def test_an_empty_sitting_is_refused() -> None:
    with pytest.raises(ValueError, match="one turn"):
        session()
