"""Weeks of practice, drawn: what is heard ever finer, what is right, how the steps are sung. Places are in inches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas
from tunelib.exhibits.look import Look
from tunelib.hearing import PUBLISHED_THRESHOLDS
from tunelib.pitch import plain, signed

MOST_STEPS = 8
"""How many steps there is room for."""

DRONE_HZ = 220.0
"""What the steps are sung over."""

_AIM = 80  # percent
_LEAST, _MOST = 1.0, 100.0  # cents on the axis of thresholds
_TICKS = (1, 3, 10, 30, 100)
_FARTHEST = 100.0  # cents on the axis of what is sung
_MARKS = ("v", "o", "^", "s", "D")
_DASHES = ("-", (0, (5, 1.5)), (0, (1.5, 1.5)), (0, (5, 1.5, 1, 1.5)), "-")
_PUBLISHED = {"classical musicians": "musicians", "people without training": "untrained"}  # as the labels have it
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


def first_and_last(curve: EarCurve) -> tuple[tuple[float, float], tuple[float, float]]:
    """The first value and the last, each with its spread."""
    return (curve.values[0], curve.spreads[0]), (curve.values[-1], curve.spreads[-1])


@dataclass(frozen=True)
class _Box:
    """A part of the picture: its left and right end, its foot and its top."""

    left: float
    right: float
    foot: float
    top: float


class WeeksDrawn:
    """Three pictures in one: thresholds, the share that is right, and what is sung."""

    def __init__(self, figure: Canvas, look: Look, weeks: EarWeeks) -> None:
        self._look, self._weeks = look, weeks
        self._axes: Axes = look.bare(figure)
        wide, high = look.frame[2] * look.inches[0], look.frame[3] * look.inches[1]
        self._axes.set(xlim=(0, wide), ylim=(0, high))
        self._letter = look.size("label") / 72  # the height of a line of labels, less what is between two
        label, names = look.fit((1.1, 1.5), (1.24, 1.72))
        curves = (*weeks.thresholds, *weeks.steps, weeks.right)
        self._last = max(_FEWEST_WEEKS, *(curve.weeks[-1] for curve in curves))
        right = wide - label
        if look.square:
            self._draw_thresholds(_Box(0.4, right, 2.74, high - 0.33))
            self._text(wide, 2.26, self._share, ha="right", weight="bold")
            self._draw_steps(_Box(names, wide - 0.5, 0.22, 2.1), 0.0)
        elif look.tall:
            self._draw_thresholds(_Box(0.4, right, 5.35, high - 0.35))
            self._draw_share(_Box(0.4, right, 3.75, 4.6))
            self._draw_steps(_Box(names, wide - 0.5, 0.3, 2.95), 0.0)
        else:
            self._draw_thresholds(_Box(0.4, 3.05, 1.68, high - 0.35))
            self._draw_share(_Box(0.4, 3.05, 0.28, 0.9))
            self._draw_steps(_Box(4.75 + names, wide - 0.5, 0.3, high - 0.35), 4.75)

    def _text(self, x: float, y: float, words: str, **style: Any) -> None:
        self._look.text(self._axes, x, y, words, **({"va": "center"} | style))

    def _x(self, box: _Box, weeks: Any) -> Any:
        return box.left + np.asarray(weeks) / self._last * (box.right - box.left)

    def _over_weeks(self, box: _Box) -> None:
        """Numbers of weeks under a part, and what they are."""
        most = (box.right - box.left) / 0.52
        apart = next(each for each in (1, 2, 4, 8, 13, 26, 52, 104, 208, 520) if self._last / each <= most)
        style = {"ha": "center", "va": "top", "color": self._look.theme.grey}
        for week in range(0, math.floor(self._last) + 1, apart):
            self._text(float(self._x(box, week)), box.foot - 0.06, str(week), **style)
        self._text(box.right + 0.3, box.foot - 0.06, "weeks", **style | {"ha": "left"})
        self._axes.plot([box.left, box.right], [box.foot] * 2, color=self._look.theme.line, lw=1.2)

    def _draw_thresholds(self, box: _Box) -> None:
        look, theme, axes = self._look, self._look.theme, self._axes

        def up(value: Any) -> Any:
            share = np.log(np.clip(value, _LEAST, _MOST) / _LEAST) / math.log(_MOST / _LEAST)
            return box.foot + share * (box.top - box.foot)

        title = f"{self._weeks.heard or 'heard'}, in cents"
        self._text(0, box.top + 0.24, title, weight="bold")
        labels: list[tuple[float, str, str]] = []
        for published in PUBLISHED_THRESHOLDS:
            name = _PUBLISHED.get(published.what, "")
            span = published.cents(DRONE_HZ) if name else None
            if span and (name == "musicians" or not look.square):  # where there is little room
                low, high = up(np.array(span)).tolist()
                corners = [box.left, box.right, box.right, box.left], [low, low, high, high]
                axes.fill(*corners, color=theme.ground, lw=0)
                labels.append(((low + high) / 2, name, "normal"))
        ticks = _TICKS if not look.square else _TICKS[::2]
        for tick in ticks:
            self._text(box.left - 0.08, float(up(tick)), str(tick), ha="right", color=theme.grey)
        self._over_weeks(box)
        if not self._weeks.thresholds:
            self._text((box.left + box.right) / 2, (box.foot + box.top) / 2, "not measured yet", ha="center")
        for curve, mark, dash in zip(self._weeks.thresholds, _MARKS, _DASHES, strict=False):
            values, spreads, x = np.array(curve.values), np.array(curve.spreads), self._x(box, curve.weeks)
            axes.vlines(x, up(values / spreads), up(values * spreads), color=theme.line, lw=2.5)
            axes.plot(x, up(values), color=theme.ink, ls=dash, lw=2.5, marker=mark, ms=9, **look.ring(1.5))
            labels.append((float(up(curve.values[-1])), f"{curve.name} {plain(curve.values[-1])}", "bold"))
        placed = _parted(
            [at for at, _, _ in labels], self._letter * 1.22, box.foot + 0.08, box.top - look.fit(0, 0, 0.04)
        )
        for at, (_, words, weight) in zip(placed, labels, strict=True):
            colour = theme.ink if weight == "bold" else theme.grey
            self._text(box.right + 0.12, at, words, weight=weight, color=colour)

    @property
    def _share(self) -> str:
        return f"{plain(self._weeks.right.values[-1], 0)} % right"

    def _draw_share(self, box: _Box) -> None:
        theme = self._look.theme

        def up(share: Any) -> Any:
            return box.foot + np.maximum(np.asarray(share) - 40, 0) / 60 * (box.top - box.foot)

        self._axes.plot([box.left, box.right], [up(_AIM)] * 2, color=theme.line, lw=1.2, ls=(0, (4, 4)))
        self._text(box.left - 0.08, float(up(_AIM)), str(_AIM), ha="right", color=theme.grey)
        x, y = self._x(box, self._weeks.right.weeks), up(self._weeks.right.values)
        self._axes.plot(x, y, color=theme.ink, lw=2.5, marker="o", ms=9, **self._look.ring(1.5))
        self._text(
            box.right + 0.12, float(y[-1]) if y[-1] > box.foot + 0.2 else box.foot + 0.2, self._share, weight="bold"
        )
        self._over_weeks(box)

    def _draw_steps(self, box: _Box, left: float) -> None:
        theme, axes, steps = self._look.theme, self._axes, self._weeks.steps[:MOST_STEPS]
        self._text(left, box.top + self._look.fit(0.24, 0.24, 0.16), "sung, in cents", weight="bold")
        if not steps:
            self._text((box.left + box.right) / 2, (box.foot + box.top) / 2, "nothing sung yet", ha="center")
            return
        ends = [abs(value) + spread for step in steps for value, spread in first_and_last(step)]
        reach = 10 * math.ceil(min(max(20.0, *ends), _FARTHEST) / 10)
        middle, half = (box.left + box.right) / 2, (box.right - box.left) / 2

        def across(off: Any) -> Any:
            return middle + np.clip(np.asarray(off) / reach, -1, 1) * half

        worst = max(steps, key=lambda step: abs(step.values[-1]))
        pitch, start = min((box.top - box.foot) / len(steps), 0.62), box.top
        foot = start - pitch * len(steps)
        axes.plot([middle, middle], [foot, start], color=theme.grey, lw=2.5, solid_capstyle="round")
        for row, step in enumerate(steps):
            (was, _), (now, spread) = first_and_last(step)
            y = start - pitch * (row + 0.5)
            focus = "bold" if step is worst else "normal"
            axes.plot(
                across([0, now]),
                [y, y],
                color=theme.line,
                alpha=0.55,
                lw=min(9, 0.5 * pitch * 72),
                solid_capstyle="butt",
            )
            if len(step.values) > 1:
                axes.plot(across([was]), [y], "o", ms=9, mfc=theme.behind_text, mec=theme.line, mew=2)
            axes.plot(across([now - spread, now + spread]), [y, y], color=theme.ink, lw=2, solid_capstyle="round")
            axes.plot(across([now]), [y], "o", ms=12 if step is worst else 9, color=theme.ink, **self._look.ring(1.5))
            self._text(box.left - 0.1, y, step.name, ha="right", weight=focus)
            self._text(box.right + 0.5, y, signed(now), ha="right", weight=focus)
        below = {"va": "top", "color": theme.grey}
        self._text(box.left, foot - 0.06, "flat", ha="left", **below)
        self._text(box.right, foot - 0.06, "sharp", ha="right", **below)
        if any(len(step.values) > 1 for step in steps):
            self._text(left, foot - 0.06, "open: at first", ha="left", **below)


def _parted(heights: Sequence[float], apart: float, foot: float, top: float) -> list[float]:
    """Heights of labels, moved apart where they would overlap, and none below a foot or above a top."""
    order = sorted(range(len(heights)), key=lambda place: heights[place])
    found, taken = [0.0] * len(heights), foot - apart
    for place in order:
        taken = found[place] = max(heights[place], taken + apart)
    over = top
    for place in reversed(order):
        over = found[place] = min(found[place], over)
        over -= apart
    return found
