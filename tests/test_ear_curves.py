"""The curves over weeks: worked out from answers, and drawn for any learner."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import numpy as np
import pytest
from made_up_learners import START, MadeUpLearner, practised
from test_exhibits import assert_clear, boxes

from tunelib.exhibits.ear_curves import EarCurves
from tunelib.exhibits.ear_weeks_drawn import MOST_STEPS, EarCurve, EarWeeks
from tunelib.exhibits.look import THEMES
from tunelib.hearing import BayesRule
from tunelib.pitch import THIRTY_ONE, cents
from tunelib.practice.ear_history import Answered, EarHistory, Item, months_of
from tunelib.practice.ear_questions import EAR_KINDS
from tunelib.practice.ear_weeks import ear_weeks
from tunelib.show import picture
from tunelib.show.stage import Stage

RIGHT = EarCurve("right", (0.5, 1.5), (90.0, 78.0), (0.0, 0.0))
TITLES = [kind.title for kind in EAR_KINDS.values() if kind.differences]
NAMES = (
    "subminor third", "minor third", "neutral third", "major third", "supermajor third", "perfect fourth",
    "perfect fifth", "subminor seventh", "neutral seventh",
)  # fmt: skip


def sung(name: str, *points: tuple[float, float, float]) -> EarCurve:
    weeks, values, spreads = zip(*points, strict=True)
    return EarCurve(name, weeks, values, spreads)


def curves(*ends: float, weeks: float = 5) -> tuple[EarCurve, ...]:
    return tuple(
        EarCurve(name, (0.0, weeks), (20.0, end), (1.3, 1.3))
        for name, end in zip(("low", "middle", "high"), ends, strict=True)
    )


LEARNERS: dict[str, Callable[[], EarWeeks]] = {
    "one answer": lambda: EarWeeks(1, EarCurve("right", (0.0,), (0.0,), (0.0,)), "which is pure"),
    "all alike": lambda: EarWeeks(900, RIGHT, max(TITLES, key=len), curves(15, 15, 15)),
    "all at the edges": lambda: EarWeeks(900, RIGHT, min(TITLES, key=len), curves(0.1, 300, 1.0)),
    "all steps, ten years": lambda: EarWeeks(
        90_000,
        EarCurve("right", (0.0, 520.0), (100.0, 12.0), (0.0, 0.0)),
        "which is narrower",
        curves(100, 99, 2.5, weeks=520),
        tuple(sung(name, (0, 300, 90), (520, -40, 30)) for name in NAMES),
        tuple(range(300, 300 + 50 * len(NAMES), 50)),
    ),
    "one step, sung once": lambda: EarWeeks(6, RIGHT, "which is wider", (), (sung("octave", (0, -3, 0)),), (1200.0,)),
}


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
@pytest.mark.parametrize("name", LEARNERS)
def test_any_learners_weeks_are_drawn_without_overlaps(name: str, size: str, theme: str) -> None:
    stage = Stage(EarCurves(LEARNERS[name]()), size, theme)
    stage.move({})
    found = boxes(stage)
    assert len(found) > 10
    assert_clear(found, stage.canvas.get_width_height())


def test_what_is_heard_is_the_step_furthest_off_at_first_at_last_and_in_tune() -> None:
    third, fifth = sung("major third", (0, 20, 5), (3, 12, 4)), sung("perfect fifth", (0, 3, 5), (3, -4, 4))
    exhibit = EarCurves(EarWeeks(100, RIGHT, "which is pure", curves(9, 7, 8), (third, fifth), (387.1, 696.8)))
    offs = [cents(note.hertz / 220) - 387.1 for note in exhibit.score().notes if note.voice == "sung"]
    assert offs == pytest.approx([20, 12, 0])
    assert "the major third is furthest off: +12 cents with a spread of 4, at first +20 with 5" in exhibit.sentence()
    assert "of the latest 78 % right" in exhibit.sentence() and "middle 7 (20 at first)" in exhibit.sentence()
    assert picture(exhibit, size="panel").startswith(b"\x89PNG")


def test_two_weeks_are_said_to_be_two_and_what_was_measured_once_has_no_other_value_at_first() -> None:
    """Fourteen days: the middles of their weeks are 3 and 10 days after the first."""
    right = EarCurve("right", (3 / 7, 10 / 7), (80, 82), (1, 1))
    once = EarCurve("middle", (0.5,), (6,), (1,))
    said = EarCurves(EarWeeks(280, right, "which is pure", (once,), (), ())).sentence()
    assert said.startswith("In 2 weeks of practice: 280 answers, of the latest 82 % right.")
    assert "in cents: middle 6." in said and "at first" not in said


def test_the_curves_are_those_of_the_answers() -> None:
    """Three weeks, each with its share right, thresholds by register and a step that drifts home."""
    rule, dice, history = BayesRule(), np.random.default_rng(1), EarHistory()
    true = {"low": (30, 20, 12), "high": (12, 9, 6)}
    for week, share in enumerate((0.6, 0.7, 0.9)):
        for place in range(40):
            moment = START + timedelta(days=7 * week + place % 5, seconds=30 * place)
            history = history.adding(Answered(Item("third", "minor"), moment, place < 40 * share))
            for register, thresholds in true.items():
                difference = rule.difference(thresholds[week])
                right = bool(dice.random() < rule.right(difference, thresholds[week]))
                history = history.adding(Answered(Item("pure", "3/2"), moment, right, "", difference, register))
            off = float(dice.normal(18 - 8 * week, 5))
            history = history.adding(Answered(Item("sing", "10"), moment, abs(off) < 20, "", off, "middle", True))
    drawn = ear_weeks(history, THIRTY_ONE)
    assert drawn.answers == 480 and drawn.heard == EAR_KINDS["pure"].title
    for week in range(3):
        these = [one for one in history.answers if (one.moment - START).days // 7 == week]
        assert drawn.right.values[week] == pytest.approx(100 * np.mean([one.right for one in these]))
        assert week < drawn.right.weeks[week] < week + 1
    assert [curve.name for curve in drawn.thresholds] == ["low", "high"]
    for curve in drawn.thresholds:
        for found, spread, threshold in zip(curve.values, curve.spreads, true[curve.name], strict=True):
            assert found / spread**2 < threshold < found * spread**2
    (third,) = drawn.steps
    assert third.name == "major third" and drawn.sizes == pytest.approx((387.097,))
    assert third.values == pytest.approx((18, 10, 2), abs=2.5) and third.spreads == pytest.approx((5, 5, 5), abs=1.8)


def test_sums_of_months_come_before_weeks_and_few_answers_wait_for_more() -> None:
    learner = MadeUpLearner({"middle": 9.0}, {"10": 14.0}, seed=4)
    history = practised(learner, 40)
    old = [one for one in history.answers if one.moment < START + timedelta(days=29)]
    later = history.answers[len(old) :]
    drawn = ear_weeks(EarHistory(later, tuple(months_of(old))), THIRTY_ONE)
    assert drawn.answers == len(history.answers)
    march = [one.right for one in old]
    assert drawn.right.values[0] == pytest.approx(100 * np.mean(march))
    assert drawn.right.weeks[0] == pytest.approx(2) and list(drawn.right.weeks) == sorted(drawn.right.weeks)
    assert ear_weeks(EarHistory(history.answers[:5]), THIRTY_ONE).thresholds == ()


def test_at_most_so_many_steps_are_drawn_those_sung_most() -> None:
    history = EarHistory()
    for step in range(3, 15):
        for place in range(6 + step):
            moment = START + timedelta(seconds=place)
            history = history.adding(Answered(Item("sing", str(step)), moment, True, "", 1.0, "low", True))
    drawn = ear_weeks(history, THIRTY_ONE)
    assert len(drawn.steps) == MOST_STEPS
    assert drawn.sizes == pytest.approx([float(THIRTY_ONE.cents_of(step)) for step in range(7, 15)])


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: ear_weeks(EarHistory(), THIRTY_ONE), "nothing was answered yet"),
        (lambda: ear_weeks(practised(MadeUpLearner({"low": 9.0}), 1), THIRTY_ONE, "third"), "not by 'third'"),
        (lambda: EarCurve("low", (0.0,), (), ()), "not 0 and 0 for 1"),
        (lambda: EarWeeks(1, RIGHT, steps=(RIGHT,)), "1 of them, not 0"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()
