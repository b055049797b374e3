"""Closing the circle: the spiral of tempered fifths, and the divisions in which each part of the comma is at home."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.circle import circle_axes, clockwise
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.exhibits.tempering import FRACTION, FRACTION_STOPS, exact_fraction, said_fraction
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    FloatArray,
    Note,
    aligned,
    home_fraction,
    miss_after,
    plain,
    ratio_from_cents,
    tempered_fifth,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C3 = Note.parse("C3").hz()


_DIVISIONS = {12: 7, 19: 11, 31: 18, 43: 25, 50: 29, 55: 32}  # steps to the octave, and to the fifth


class ClosingTheCircle(Exhibit):
    """The spiral of tempered fifths: after how many it comes home, and for which part of the comma."""

    name: ClassVar[str] = "closing_the_circle"
    title: ClassVar[str] = "How many fifths close the circle?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("fifths", "Fifths", 2, 55, 1, 31),
        FRACTION,
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12 fifths": {"fifths": 12}, "31 fifths": {"fifths": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = FRACTION_STOPS
    _centre = 0.22  # radius at which the spiral begins

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        spiral = circle_axes(figure, look)
        spiral.plot([0, 0], [0, 1.2], color=PURE_COLOUR, lw=3)
        (path,) = spiral.plot([], [], color=grey, lw=1)
        (dots,) = spiral.plot([], [], "o", ms=5, color=ink)
        (here,) = spiral.plot([], [], "o", ms=13, mfc=look.theme.behind_text, mec=ink, mew=2.5)
        table = look.axes(
            figure, (0.63, 0.14, 0.33, 0.62), (0.24, 0.08, 0.7, 0.28), (0.24, 0.1, 0.7, 0.27), x="cents past the octave"
        )
        rows = len(_DIVISIONS)
        table.set(xlim=(-100, 100), ylim=(-0.6, rows - 0.4), yticks=[])
        table.plot([0, 0], [-0.6, rows - 0.4], color=PURE_COLOUR, lw=4)
        heights = np.arange(rows - 1, -1, -1, dtype=float)
        for division, y in zip(_DIVISIONS, heights.tolist(), strict=True):
            look.beside(table, y, f"{division} fifths")
        (bars,) = table.plot([], [], color=ink, lw=8, solid_capstyle="butt")
        (home,) = table.plot([], [], "s", ms=15, mfc="none", mec=THIRTY_ONE_COLOUR, mew=4)
        numbers = [look.text(table, 0, y, ha="center", va="center") for y in heights]
        said = look.text(figure, 0.97, look.fit(0.955, 0.91), ha="right", va="top", weight="bold")
        at_home = look.text(figure, 0.97, look.fit(0.83, 0.41, 0.4), ha="right", va="center")

        def update(fifths: int, fraction: float) -> None:
            fifth = tempered_fifth(exact_fraction(fraction)).cents
            path.set_data(*self._points(np.linspace(0, fifths, 36 * fifths + 1), fifths, fifth))
            dots.set_data(*self._points(np.arange(float(fifths)), fifths, fifth))
            here.set_data(*self._points(np.array([float(fifths)]), fifths, fifth))
            misses = [_miss(division, fifth) for division in _DIVISIONS]
            shown = np.clip(misses, -100, 100)
            bars.set_data(np.ravel([(0, miss, np.nan) for miss in shown]), np.repeat(heights, 3))
            for number, miss, height in zip(numbers, misses, heights.tolist(), strict=True):
                number.set(text=aligned(miss, 1), position=(28 if miss < 0 else -28, height))
            best, away = self._home(fraction)
            home.set_data([0], [heights[list(_DIVISIONS).index(best)]])
            home.set_markeredgecolor({12: TWELVE_COLOUR, 31: THIRTY_ONE_COLOUR}.get(best, ink))
            at_home.set_text(f"most at home in {best}: {plain(away, 3)} of a comma away")
            said.set_text(f"{fifths} fifths: {aligned(_miss(fifths, fifth), 2)} cents")

        return Scene((path, dots, here, bars, home, *numbers, at_home, said), update)

    def _points(self, along: FloatArray, fifths: int, fifth: float) -> tuple[Any, Any]:
        """Points of the spiral after a number of its fifths: once round is an octave, and the last is at the rim."""
        x, y = clockwise(along * fifth / CENTS_PER_OCTAVE)
        radius = self._centre + (1 - self._centre) * along / fifths
        return x * radius, y * radius

    @staticmethod
    def _home(fraction: float) -> tuple[int, float]:
        """The division whose own fraction of the comma is nearest, and how far away that is."""
        away = {n: abs(home_fraction(n, fifth) - float(exact_fraction(fraction))) for n, fifth in _DIVISIONS.items()}
        best = min(away, key=lambda n: away[n])
        return best, away[best]

    def sentence(self, fifths: int, fraction: float) -> str:
        closing = miss_after(tempered_fifth(exact_fraction(fraction)), fifths)
        best, _ = self._home(fraction)
        side = "above" if closing.miss.cents > 0 else "below"
        return (
            f"With fifths narrow by {said_fraction(fraction)} of a comma, {times(fifths, 'fifth')} come within "
            f"{plain(abs(closing.miss.cents), 2)} cents of {times(closing.octaves, 'octave')}, {side} them; of the "
            f"divisions shown this part of the comma is most at home in {best}, whose own is "
            f"{plain(home_fraction(best, _DIVISIONS[best]), 3)}."
        )

    def score(self, fifths: int, fraction: float) -> Score:
        away = miss_after(tempered_fifth(exact_fraction(fraction)), fifths).miss.cents
        start, end = 2 * _C3, 2 * _C3 * ratio_from_cents(away)
        return Score(
            (
                ScoreNote(onset=0, duration=1.2, hertz=start, voice="start", level=0.4),
                ScoreNote(onset=1.3, duration=1.2, hertz=end, voice="end", level=0.4),
                ScoreNote(onset=2.6, duration=2.6, hertz=start, voice="start", level=0.4),
                ScoreNote(onset=2.6, duration=2.6, hertz=end, voice="end", level=0.4),
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


def _miss(fifths: int, fifth: float) -> float:
    """Cents by which a number of fifths miss the nearest number of octaves: `miss_after`, quickly."""
    return math.remainder(fifths * fifth, CENTS_PER_OCTAVE)
