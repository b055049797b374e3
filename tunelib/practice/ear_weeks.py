"""What has come of weeks of practice: the curves of `tunelib.exhibits.EarCurves`, worked out from all answers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from tunelib.exhibits import MOST_STEPS, EarCurve, EarWeeks
from tunelib.hearing import believed
from tunelib.pitch import Tuning
from tunelib.practice.ear_history import Answered, EarHistory, mean_and_spread
from tunelib.practice.ear_pairs import name_of_step
from tunelib.practice.ear_questions import EAR_KINDS
from tunelib.practice.ear_settings import EAR_REGISTERS

_FEWEST_HEARD, _FEWEST_SUNG = 16, 6  # answers that a point of a curve is made of


class _Point(NamedTuple):
    """A point of a curve: the week, the value and its spread."""

    week: float
    value: float
    spread: float


def ear_weeks(history: EarHistory, tuning: Tuning, kind: str | None = None) -> EarWeeks:
    """What has come of a learner's practice, week by week; of what is kept in sums, month by month.

    Parameters
    ----------
    history : EarHistory
    tuning : Tuning
        Whose steps were sung.
    kind : str, optional
        The kind of question whose thresholds are shown, one with a difference in cents: the one that was answered most
        often unless given.

    Raises ValueError if nothing was answered yet, or for a kind that has no differences.
    """
    if not history.answers and not history.months:
        raise ValueError("nothing was answered yet, so there is nothing to draw: practise once, and look again")
    kinds = [name for name, each in EAR_KINDS.items() if each.differences]
    if kind is not None and kind not in kinds:
        raise ValueError(f"thresholds are measured by {', '.join(kinds)}, not by {kind!r}")
    counts = Counter(one.item.kind for one in history.answers)
    counts.update({month.kind: month.answers for month in history.thresholds})
    kind = kind or max(kinds, key=lambda name: counts[name])
    weeks = _Weeks(history)
    steps = sorted(_steps(history), key=lambda step: (-step[1], step[0]))[:MOST_STEPS]
    sung = [(step, weeks.sung(str(step))) for step, _ in sorted(steps)]
    sung = [(step, points) for step, points in sung if points]
    return EarWeeks(
        sum(month.answers for month in history.months) + len(history.answers),
        _curve("right", weeks.right()),
        EAR_KINDS[kind].title,
        tuple(_curve(name, points) for name, points in weeks.thresholds(kind).items() if points),
        tuple(_curve(name_of_step(step, tuning), points) for step, points in sung),
        tuple(float(tuning.cents_of(step)) for step, _ in sung),
    )


def _steps(history: EarHistory) -> list[tuple[int, int]]:
    """The steps that were sung over a drone, with how often."""
    counts: Counter[str] = Counter(one.item.what for one in history.answers if one.sung and one.item.kind == "sing")
    for month in history.months:
        if month.sung and month.item.kind == "sing":
            counts[month.item.what] += month.answers
    return [(int(step), count) for step, count in counts.items() if step.isdecimal()]


def _curve(name: str, points: Iterable[_Point]) -> EarCurve:
    weeks, values, spreads = zip(*sorted(points), strict=True)
    return EarCurve(name, weeks, values, spreads)


class _Weeks:
    """Answers week by week, counted from the first day of all."""

    def __init__(self, history: EarHistory) -> None:
        self._history = history
        days = [_middle(month.month).replace(day=1) for month in history.months]
        self._first = min([*days, *(one.moment.date() for one in history.answers[:1])])

    def _of_month(self, month: str) -> float:
        return (_middle(month) - self._first).days / 7

    def _by_week(self, answers: Iterable[Answered], fewest: int = 1) -> list[tuple[float, list[Answered]]]:
        """Answers of each week with the mean of their days; weeks with fewer than `fewest` together with the next."""
        groups: list[list[Answered]] = [[]]
        week = 0
        for one in answers:
            this = self._days(one) // 7
            if this != week and len(groups[-1]) >= fewest:
                groups.append([])
            week = this
            groups[-1].append(one)
        if len(groups[-1]) < fewest and len(groups) > 1:
            last = groups.pop()
            groups[-1] += last
        enough = [these for these in groups if len(these) >= fewest]
        return [(math.fsum(map(self._days, these)) / len(these) / 7, these) for these in enough]

    def _days(self, one: Answered) -> int:
        return (one.moment.date() - self._first).days

    def right(self) -> list[_Point]:
        """The share of right answers in percent."""
        months: dict[str, list[int]] = {}
        for month in self._history.months:
            count = months.setdefault(month.month, [0, 0])
            count[0] += month.right
            count[1] += month.answers
        points = [_Point(self._of_month(month), 100 * right / every, 0) for month, (right, every) in months.items()]
        return points + [
            _Point(week, 100 * sum(one.right for one in these) / len(these), 0)
            for week, these in self._by_week(self._history.answers)
        ]

    def thresholds(self, kind: str) -> dict[str, list[_Point]]:
        """By register, the smallest difference that was heard."""
        found: dict[str, list[_Point]] = {}
        for month in self._history.thresholds:
            if month.kind == kind:
                point = _Point(self._of_month(month.month), month.threshold, month.spread)
                found.setdefault(month.register, []).append(point)
        heard = [
            one for one in self._history.answers if one.item.kind == kind and not one.sung and one.cents is not None
        ]
        for register in sorted({one.register for one in heard}):
            for week, these in self._by_week((one for one in heard if one.register == register), _FEWEST_HEARD):
                told = believed([one.cents or 0.0 for one in these], [one.right for one in these])
                found.setdefault(register, []).append(_Point(week, told.threshold, told.spread))
        known = [register for register in EAR_REGISTERS if register in found]
        return {register: found[register] for register in (*known, *(other for other in found if other not in known))}

    def sung(self, step: str) -> list[_Point]:
        """The mean error of a step and its spread."""
        points = [
            _Point(self._of_month(month.month), month.bias, month.spread or 0.0)
            for month in self._history.months
            if month.item.kind == "sing" and month.item.what == step and month.bias is not None
        ]
        notes = [one for one in self._history.answers if one.sung and one.item.kind == "sing" and one.item.what == step]
        for week, these in self._by_week(notes, _FEWEST_SUNG):
            points.append(_Point(week, *mean_and_spread([one.cents or 0.0 for one in these])))
        return points


def _middle(month: str) -> date:
    return date.fromisoformat(f"{month}-15")
