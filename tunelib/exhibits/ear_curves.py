"""A learner's weeks of practice: the smallest differences heard, how the steps are sung, and how much is right."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Voicing
from tunelib.exhibits.look import Look
from tunelib.hearing import PUBLISHED_THRESHOLDS
from tunelib.pitch import listed, plain, ratio_from_cents, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

MOST_STEPS = 8
"""How many steps there is room for."""

_AIM = 80  # percent
_LEAST, _MOST = 1.0, 100.0  # cents on the axis of thresholds
_TICKS = (1, 3, 10, 30, 100)
_FARTHEST = 100.0  # cents on the axis of what is sung
_MARKS = ("v", "o", "^", "s", "D")
_DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)), "-")
_PUBLISHED = {"classical musicians": "musicians", "people without training": "untrained"}  # as the labels have it
_DRONE = 220.0  # hertz
_FEWEST_WEEKS = 2  # on the axis


@dataclass(frozen=True)
class EarCurve:
    """Something measured again and again.

    Parameters
    ----------
    name : str
    weeks : tuple of float
        When, in weeks since the first practice.
    values : tuple of float
        What was measured then.
    spreads : tuple of float
        How good each value is, in the same unit or, for a threshold, as a factor either way.

    Raises ValueError unless there are as many of each, and one at least.
    """

    name: str
    weeks: tuple[float, ...]
    values: tuple[float, ...]
    spreads: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.weeks or not len(self.weeks) == len(self.values) == len(self.spreads):
            raise ValueError(
                f"a curve has a value and a spread for each of its weeks, not {len(self.values)} and "
                f"{len(self.spreads)} for {len(self.weeks)}"
            )


@dataclass(frozen=True)
class EarWeeks:
    """What has come of weeks of practice.

    Parameters
    ----------
    answers : int
    right : EarCurve
        The share of right answers in percent.
    heard : str
        Whose thresholds are shown, such as ``"which is pure"``.
    thresholds : tuple of EarCurve
        The smallest difference that is heard, in cents, for each register.
    steps : tuple of EarCurve
        For each step that was sung, its mean errors in cents with their standard deviations.
    sizes : tuple of float
        How far each of these steps is above the drone, in cents.

    Raises ValueError unless there is a size for each step.
    """

    answers: int
    right: EarCurve
    heard: str = ""
    thresholds: tuple[EarCurve, ...] = ()
    steps: tuple[EarCurve, ...] = ()
    sizes: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if len(self.steps) != len(self.sizes):
            raise ValueError(f"each step has a size: {len(self.steps)} of them, not {len(self.sizes)}")


class EarCurves(Exhibit):
    """A learner's own weeks of practice.

    What is heard is the step that was last sung furthest off, over a drone: as it was sung at first, as it was sung
    last, and in tune.
    """

    name: ClassVar[str] = "ear_curves"
    title: ClassVar[str] = "Your ear and voice over the weeks"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, weeks: EarWeeks) -> None:
        self.weeks = weeks

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        self._lay_out_thresholds(figure, look)
        self._lay_out_right(figure, look)
        self._lay_out_steps(figure, look)
        return Scene((), lambda: None)

    @property
    def _last_week(self) -> float:
        curves = (self.weeks.right, *self.weeks.thresholds, *self.weeks.steps)
        return max(_FEWEST_WEEKS, *(curve.weeks[-1] for curve in curves))

    def _over_weeks(self, axes: Axes, look: Look) -> None:
        axes.set_xlim(0, self._last_week * 1.02)
        apart = next(
            each
            for each in (1, 2, 4, 8, 13, 26, 52, 104, 208, 520)
            if self._last_week / each <= look.fit(6.5, 6.5, 3.5)
        )
        axes.set_xticks(range(0, math.floor(self._last_week) + 1, apart))

    def _lay_out_thresholds(self, figure: Canvas, look: Look) -> None:
        axes = look.axes(figure, (0.07, 0.49, 0.3, 0.32), (0.13, 0.71, 0.6, 0.15), (0.13, 0.61, 0.27, 0.22))
        _above(look, figure, axes, f"{self.weeks.heard or 'heard'}, in cents", look.fit(0, 0, 0.035))  # it may be long
        axes.set(yscale="log", ylim=(_LEAST, _MOST), yticks=_TICKS, yticklabels=[str(tick) for tick in _TICKS])
        axes.minorticks_off()
        self._over_weeks(axes, look)
        labels: list[tuple[float, str, str]] = []
        for published in PUBLISHED_THRESHOLDS:
            span = published.cents(_DRONE) if published.what in _PUBLISHED else None
            if span:
                axes.axhspan(*span, color=look.theme.faint, lw=0)
                labels.append((math.sqrt(span[0] * span[1]), _PUBLISHED[published.what], "normal"))
        if not self.weeks.thresholds:
            _nothing(look, axes, "not measured yet")
        for curve, mark, dash in zip(self.weeks.thresholds, _MARKS, _DASHES, strict=False):
            values, spreads = np.array(curve.values), np.array(curve.spreads)
            axes.vlines(curve.weeks, values / spreads, values * spreads, color=look.theme.grey, lw=1.5)
            style: dict[str, Any] = {"ls": dash, "marker": mark, "ms": 6, "lw": 2, "clip_on": False}
            axes.plot(curve.weeks, np.clip(values, _LEAST, _MOST), color=look.theme.ink, **style)
            labels.append((curve.values[-1], f"{curve.name} {plain(curve.values[-1])}", "bold"))
        heights = [math.log(max(value, _LEAST) / _LEAST) / math.log(_MOST / _LEAST) for value, _, _ in labels]
        for height, (_, words, weight) in zip(_parted(heights, look), labels, strict=True):
            look.text(axes, 1.04, height, words, transform=axes.transAxes, ha="left", va="center", weight=weight)

    def _lay_out_right(self, figure: Canvas, look: Look) -> None:
        axes = look.axes(figure, (0.07, 0.12, 0.3, 0.24), (0.13, 0.5, 0.6, 0.12), (0.71, 0.61, 0.25, 0.22), x="weeks")
        _above(look, figure, axes, "right, in percent")
        axes.set(ylim=(40, 100), yticks=[40, 60, _AIM, 100])
        self._over_weeks(axes, look)
        axes.axhline(_AIM, color=look.theme.grey, lw=1.5, ls=(0, (5, 3)))
        shares = [max(share, 40.0) for share in self.weeks.right.values]
        axes.plot(self.weeks.right.weeks, shares, color=look.theme.ink, lw=2, marker="o", ms=6, clip_on=False)

    def _lay_out_steps(self, figure: Canvas, look: Look) -> None:
        ink, grey = look.theme.ink, look.theme.grey
        axes = look.axes(
            figure, (0.68, 0.12, 0.28, 0.69), (0.36, 0.07, 0.58, 0.33), (0.42, 0.12, 0.52, 0.34),
            x="cents off (open: at first)",
        )  # fmt: skip
        _above(look, figure, axes, "sung: mean and spread")
        steps = self.weeks.steps[:MOST_STEPS]
        ends = [abs(value) + spread for step in steps for value, spread in _first_and_last(step)]
        reach = 10 * math.ceil(min(max(20.0, *ends, 0.0), _FARTHEST) / 10)
        axes.set(xlim=(-reach, reach), ylim=(MOST_STEPS - 0.4, -0.6), yticks=[], xticks=[-reach, 0, reach])
        axes.set_xticklabels([signed(-reach), "0", signed(reach)])
        axes.spines["left"].set_visible(False)
        if not steps:
            _nothing(look, axes, "nothing sung yet")
            return
        axes.axvline(0, color=grey, lw=1.5)
        for row, step in enumerate(steps):
            (was, about), (now, spread) = _first_and_last(step)
            if len(step.values) > 1:
                axes.plot([was - about, was + about], [row + 0.2] * 2, color=grey, lw=2)
                axes.plot([was], [row + 0.2], "o", ms=7, mfc=look.theme.behind_text, mec=grey, mew=1.5)
            axes.plot([now - spread, now + spread], [row - 0.1] * 2, color=ink, lw=3)
            axes.plot([now], [row - 0.1], "o", ms=8, color=ink)
            look.beside(axes, row, step.name)

    def sentence(self) -> str:
        weeks = self.weeks
        count = math.floor(weeks.right.weeks[-1]) + 1
        latest = plain(weeks.right.values[-1], 0)
        said = (
            f"In {times(count, 'week')} of practice: {times(weeks.answers, 'answer')}, of the latest {latest} % right."
        )
        if weeks.thresholds:
            heard = listed(
                f"{curve.name} {plain(curve.values[-1])}"
                + (f" ({plain(curve.values[0])} at first)" if len(curve.values) > 1 else "")
                for curve in weeks.thresholds
            )
            said += f" The smallest difference heard, {weeks.heard}, in cents: {heard}."
        worst = self._worst
        if worst is not None:
            (was, about), (now, spread) = _first_and_last(worst)
            before = f", at first {signed(was, 1)} with {plain(about)}" if len(worst.values) > 1 else ""
            said += (
                f" Of what was sung the {worst.name} is furthest off: {signed(now, 1)} cents with a spread of "
                f"{plain(spread)}{before}."
            )
        return said

    @property
    def _worst(self) -> EarCurve | None:
        return max(self.weeks.steps, key=lambda step: abs(step.values[-1]), default=None)

    def score(self) -> Score:
        worst = self._worst
        if worst is None:
            return Score((ScoreNote(0.0, 2.0, _DRONE, level=0.5),), tempo=60)
        size = self.weeks.sizes[self.weeks.steps.index(worst)]
        offs = (worst.values[0], worst.values[-1], 0.0)
        notes = []
        for place, off in enumerate(offs):
            notes.append(ScoreNote(2.4 * place, 2.0, _DRONE, level=0.5, voice="drone"))
            notes.append(ScoreNote(2.4 * place, 2.0, _DRONE * ratio_from_cents(size + off), level=0.5, voice="sung"))
        return Score(tuple(notes), tempo=60)

    def timbre(self) -> Voicing:
        return TIMBRES["reed"]


def _first_and_last(curve: EarCurve) -> tuple[tuple[float, float], tuple[float, float]]:
    """The first value and the last, each with its spread."""
    return (curve.values[0], curve.spreads[0]), (curve.values[-1], curve.spreads[-1])


def _above(look: Look, figure: Canvas, axes: Axes, words: str, higher: float = 0) -> None:
    """What axes show, above their left end."""
    place = axes.get_position()
    look.text(figure, place.x0, place.y1 + look.fit(0.03, 0.017) + higher, words, ha="left", va="bottom", weight="bold")


def _nothing(look: Look, axes: Axes, words: str) -> None:
    look.text(axes, 0.5, 0.5, words, transform=axes.transAxes, ha="center", va="center")


def _parted(heights: Sequence[float], look: Look) -> list[float]:
    """Heights of labels on axes, moved apart where they would overlap, and none above the axes."""
    apart, order = look.fit(0.125, 0.16, 0.15), sorted(range(len(heights)), key=lambda place: heights[place])
    found, taken = [0.0] * len(heights), -math.inf
    for place in order:
        taken = found[place] = max(heights[place], taken + apart)
    over = 1.0
    for place in reversed(order):
        over = found[place] = min(found[place], over)
        over -= apart
    return found
