"""Fourteen days of practice through the sittings themselves, each question answered from what it says of itself."""

from __future__ import annotations

import math
from collections import Counter
from datetime import datetime, timedelta
from functools import cache

import numpy as np
import pytest
from made_up_learners import START
from made_up_listeners import simulated_listener

from tunelib.live import Attempt
from tunelib.pitch import THIRTY_ONE
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import EarHistory
from tunelib.practice.ear_plan import next_session
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_questions import EAR_KINDS, ear_items
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sung import SungQuestion
from tunelib.practice.ear_weeks import ear_weeks

DAYS = 14
SETTINGS = EarSettings(THIRTY_ONE, registers=("middle", "low", "high"), microphone=True)
THRESHOLDS = {"middle": 7.0, "low": 15.0, "high": 10.0}  # cents; three times as much for intervals that are compared
BIAS = {"18": -7.0, "13": 4.0, "10": 15.0, "8": -12.0, "9": 11.0}  # cents, of each step; none for others
SPREAD, WANDER = 5.0, 2.0  # cents from one attempt to the next, and while a note is held
KNOWN = 0.8  # the share of names that are known, where there are more than one; the rest are guessed


def steady(target: float, off: float, dice: np.random.Generator) -> Attempt:
    """A note that is held for two seconds, so many cents too high."""
    moments = np.arange(0, 2, 0.011)
    wander = WANDER * np.sin(2 * math.pi * 0.7 * moments + dice.uniform(0, 6))
    return Attempt(moments, target * 2.0 ** ((off + wander) / 1200), target)


def take(session: EarSession, dice: np.random.Generator) -> None:
    """Answer the question whose turn it is."""
    question = session.question
    if isinstance(question, QuestionAsked):
        others = [place for place in range(len(question.answers)) if place != question.right]
        if question.cents is not None:
            wide = 3 if question.item.kind in ("wider", "narrower") else 1
            right = dice.random() < simulated_listener(wide * THRESHOLDS[question.register])(question.cents)
        else:
            right = dice.random() < KNOWN + (1 - KNOWN) / len(question.answers)
        session.answer(question.right if right else int(dice.choice(others)))
    elif isinstance(question, PlayedQuestion):
        steps = list(question.answer.steps)
        session.play(steps if dice.random() < KNOWN else [*steps[:-1], steps[-1] + 1])
    else:
        assert isinstance(question, SungQuestion)
        bias = BIAS.get(question.item.what, 0.0) if question.item.kind == "sing" else 0.0
        session.sing([steady(target, dice.normal(bias, SPREAD), dice) for target in question.targets])
    session.go_on()


@cache
def fortnight(seed: int) -> tuple[EarHistory, list[int]]:
    """Everything that was answered, and how many turns there were each day."""
    dice, history, turns = np.random.default_rng(seed), EarHistory(), []
    items = ear_items(SETTINGS)
    for day in range(DAYS):
        begin = START + timedelta(days=day)
        clock = (begin + timedelta(seconds=12 * place) for place in range(1000))
        session = EarSession(
            next_session(history, begin, items, 10), history, SETTINGS, dice, now=lambda clock=clock: next(clock)
        )
        turns.append(len(session.turns))
        while session.stage != "done":
            if session.stage == "listening":
                session.go_on()
            else:
                take(session, dice)
        history = session.history
    return history, turns


SEEDS = range(4)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_fortnight_goes_through_many_kinds_of_questions(seed: int) -> None:
    history, turns = fortnight(seed)
    kinds = Counter(one.item.kind for one in history.answers)
    assert len(kinds) >= 8 and {"pure", "third", "sing", "play", "seventh", "wider"} <= set(kinds)
    assert set(kinds) <= set(EAR_KINDS)
    assert min(turns) >= 15 and max(turns) <= 50
    days = Counter((one.moment - START).days for one in history.answers)
    assert sorted(days) == list(range(DAYS))


def test_thresholds_by_register_are_in_their_order_and_near_what_they_are() -> None:
    """Over four learners the curves' last points are within a third of the truth on average."""
    errors: dict[str, list[float]] = {}
    for seed in SEEDS:
        for curve in ear_weeks(fortnight(seed)[0], THIRTY_ONE, "pure").thresholds:
            errors.setdefault(curve.name, []).append(math.log(curve.values[-1] / THRESHOLDS[curve.name]))
    assert {"middle", "low"} <= set(errors)
    everything = [error for found in errors.values() for error in found]
    assert abs(np.mean(everything)) < math.log(1.33)
    assert math.sqrt(np.mean(np.square(everything))) < math.log(1.9)


def test_the_bias_of_each_step_sung_is_found_within_a_few_cents() -> None:
    """What is sung has no trend here; five cents of spread over six notes or more are two cents of doubt."""
    found: dict[str, list[float]] = {}
    for seed in SEEDS:
        for curve in ear_weeks(fortnight(seed)[0], THIRTY_ONE).steps:
            found.setdefault(curve.name, []).append(float(np.mean(curve.values)))
    names = {"perfect fifth": "18", "perfect fourth": "13", "major third": "10", "minor third": "8"}
    assert set(names) <= set(found)
    for name, step in names.items():
        assert np.mean(found[name]) == pytest.approx(BIAS[step], abs=2.5), name
        assert found[name] == pytest.approx([BIAS[step]] * len(found[name]), abs=6), name


def test_some_four_answers_of_five_are_right() -> None:
    shares = [np.mean([one.right for one in fortnight(seed)[0].answers]) for seed in SEEDS]
    assert all(0.72 < share < 0.88 for share in shares)
    heard = [one.right for seed in SEEDS for one in fortnight(seed)[0].answers if one.item.kind == "pure"]
    assert 0.74 < np.mean(heard) < 0.87


def test_a_moment_of_each_answer_is_its_own_and_in_order() -> None:
    moments = [one.moment for one in fortnight(0)[0].answers]
    assert moments == sorted(moments) and isinstance(moments[0], datetime)
