"""Learners who are made up: what they hear, sing and forget is known, so that a plan and its curves can be tested.

A learner remembers an item with the probability ``2 ** (-days / half-life)``; each day on which it is practised
makes the half-life longer. What is not remembered is guessed once, and known again after that. Differences are not
remembered but heard, with an ear of limited keenness.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from typing import Any

import numpy as np
from made_up_listeners import simulated_listener

from tunelib.practice.ear_history import Answered, EarHistory, Item
from tunelib.practice.ear_plan import difficulty, next_session

START = datetime(2026, 3, 2, 18, 0, tzinfo=timezone(timedelta(hours=2)))
HEARD, SUNG = ("pure", "wider"), "sing"
THIRDS = {"subminor": 271.0, "minor": 309.7, "neutral": 348.4, "major": 387.1, "supermajor": 425.8}
ITEMS = (
    *(Item("pure", ratio) for ratio in ("2/1", "3/2", "4/3", "5/4", "6/5", "5/3", "7/4")),
    *(Item("third", family) for family in THIRDS),
    *(Item("wider", ratio) for ratio in ("3/2", "4/3", "5/4", "6/5")),
    *(Item("sing", str(step)) for step in (18, 10, 8, 13, 9, 25)),
)


@dataclass
class MadeUpLearner:
    """One learner.

    Parameters
    ----------
    thresholds : dict
        By register, what is heard in seven answers of ten at first, in cents.
    bias : dict
        By item, how many cents the step is sung too high at first.
    spread : float
        The standard deviation of what is sung, in cents.
    half_life : float
        Of an item after its first day of practice, in days.
    growth : float
        What a half-life is multiplied by on each further day.
    better : float
        In how many days thresholds and biases come halfway to `best` of what they were.
    blur : float
        In cents, how far off a third is taken to be, one standard deviation.
    """

    thresholds: dict[str, float]
    bias: dict[str, float] = field(default_factory=dict)
    spread: float = 6.0
    half_life: float = 1.5
    growth: float = 2.0
    better: float = 7.0
    best: float = 0.5
    blur: float = 14.0
    seed: int = 0

    def __post_init__(self) -> None:
        self.dice = np.random.default_rng(self.seed)
        self.remembers: dict[Item, tuple[float, datetime]] = {}  # half-life, and the latest practice
        self.fresh: set[tuple[Item, str]] = set()

    def left(self, day: float) -> float:
        """What is left of thresholds and biases after so many days, as a share."""
        return self.best + (1 - self.best) * 2.0 ** (-day / self.better)

    def listen(self, item: Item, moment: datetime) -> None:
        """Hear an item and its name: it is known for today."""
        self._practise(item, moment)

    def _practise(self, item: Item, moment: datetime) -> bool:
        """Whether an item is remembered; it is afterwards."""
        half, last = self.remembers.get(item, (0.0, moment))
        today = (item, moment.date().isoformat())
        knows = today in self.fresh or (
            half > 0 and self.dice.random() < 2.0 ** (-(moment - last).total_seconds() / 86_400 / half)
        )
        if today not in self.fresh:
            half = self.half_life if not half else half * (self.growth if knows else 1.0)
            self.fresh.add(today)
        self.remembers[item] = half, moment
        return knows

    def answer(self, item: Item, moment: datetime, register: str, hard: Any) -> Answered:
        """Answer a question."""
        knows, left = self._practise(item, moment), self.left((moment - START).total_seconds() / 86_400)
        if item.kind in HEARD:
            hears = simulated_listener(self.thresholds[register] * left)
            right = bool(self.dice.random() < hears(hard.cents))
            return Answered(item, moment, right, "", hard.cents, register)
        if item.kind == SUNG:
            off = self.dice.normal(self.bias.get(item.what, 0.0) * left, self.spread if knows else 2 * self.spread)
            return Answered(item, moment, bool(abs(off) <= hard.within), "", float(off), register, True)
        others = [family for family in THIRDS if family != item.what]
        offered = [item.what, *self.dice.permutation(others)[: hard.names - 1]]
        heard = THIRDS[item.what] + self.dice.normal(0, self.blur)
        said = min(offered, key=lambda family: abs(THIRDS[family] - heard)) if knows else self.dice.choice(offered)
        return Answered(item, moment, said == item.what, str(said), None, register)


def practised(
    learner: MadeUpLearner,
    days: int,
    items: Sequence[Item] = ITEMS,
    minutes: float = 7,
    plan: Callable[..., Any] = next_session,
) -> EarHistory:
    """What a learner has answered after practising every day, each time by the plan."""
    history = EarHistory()
    for day in range(days):
        moment = START + timedelta(days=day)
        for turn in plan(history, moment, items, minutes):
            moment += timedelta(seconds=12)
            if turn.listen:
                learner.listen(turn.item, moment)
                continue
            hard = difficulty(history, turn.item, tuple(learner.thresholds))
            history = history.adding(learner.answer(turn.item, moment, hard.registers[0], hard))
    return history
