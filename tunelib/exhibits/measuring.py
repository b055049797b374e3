"""Measuring pitch: the ruler of cents, and how small a difference can be heard."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.hearing import PUBLISHED_THRESHOLDS
from tunelib.pitch import cents, nearest_named, plain, ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_LANDMARKS = ("1/1", "9/8", "6/5", "5/4", "4/3", "3/2", "5/3", "7/4", "2/1")


class CentsRuler(Exhibit):
    """One interval on three rulers: ratios, cents, and the hertz of the note it is built on."""

    name: ClassVar[str] = "cents_ruler"
    title: ClassVar[str] = "A ruler for the ear"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("interval", "Interval", 0, 1200, 1, 702, "cents"),
        Slider("lower", "Lower note", 110, 440, 12, 220, "Hz", logarithmic=True),
        Switch("together", "Both together", False),
    )
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "interval": (
            *range(0, 1201, 50),
            *(112, 182, 204, 231, 267, 316, 386, 408, 435, 498, 551, 583, 617, 702, 814, 884, 933, 969, 996, 1088),
        ),
    }  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.07, 0.08, 0.87, 0.7), (0.1, 0.12, 0.8, 0.68))
        axes.set(xlim=(0, 1200), ylim=(0, 10))
        ratios, ruler, hertz = 7.6, 4.6, 1.4
        for y, words in ((9.55, "simple ratios"), (5.9, "cents"), (2.7, "hertz")):
            look.text(axes, 0, y, words, ha="left", va="center", weight="bold")
        for y in (ratios, ruler, hertz):
            axes.plot([0, 1200], [y, y], color=ink, lw=2, clip_on=False)
        for i, ratio in enumerate(_LANDMARKS):
            where = cents(ratio)
            axes.plot([where] * 2, [ratios, ratios + 0.35], color=PURE_COLOUR, lw=4, clip_on=False)
            look.text(axes, where, ratios + (0.9 if i % 2 else 0.85), ratio, ha="center", va="center")
        for mark in range(0, 1201, 100):
            axes.plot([mark] * 2, [ruler, ruler - 0.3], color=ink, lw=2, clip_on=False)
            if not look.tall or mark % 200 == 0:
                look.text(axes, mark, ruler - 0.8, str(mark), ha="center", va="center")
        quarters = range(0, 1201, 300)
        for mark in quarters:
            axes.plot([mark] * 2, [hertz, hertz - 0.3], color=ink, lw=2, clip_on=False)
        numbers = [look.text(axes, mark, hertz - 0.8, ha="center", va="center") for mark in quarters]
        (needle,) = axes.plot([], [], color=grey, lw=2.5, ls=(0, (4, 2)), clip_on=False)
        (points,) = axes.plot([], [], "o", ms=12, mfc=PURE_COLOUR, mec=ink, mew=1.5, clip_on=False)
        said = look.text(figure, 0.97, look.fit(0.875, 0.885), ha="right", va="center", weight="bold")

        def update(interval: float, lower: float, together: bool) -> None:
            needle.set_data([interval] * 5, [ratios, ruler, math.nan, ruler - 1.25, hertz])
            points.set_data([interval] * 3, [hertz, ruler, ratios])
            for mark, number in zip(quarters, numbers, strict=True):
                number.set_text(plain(lower * ratio_from_cents(float(mark))))
            joined = "with" if together else "then"
            upper = plain(lower * ratio_from_cents(interval))
            said.set_text(f"{plain(lower)} Hz {joined} {upper} Hz: {plain(interval)} cents")

        return Scene((needle, points, *numbers, said), update)

    def sentence(self, interval: float, lower: float, together: bool) -> str:
        named, error = nearest_named(interval)
        side = "below" if error > 0 else "above"
        near = "exactly" if abs(error) < 0.005 else f"{plain(abs(error), 2)} cents {side}"
        how = "sounding together" if together else "one after the other"
        return (
            f"From {plain(lower)} Hz up to {plain(lower * ratio_from_cents(interval))} Hz, {how}, is {plain(interval)} "
            f"cents, a ratio of {plain(ratio_from_cents(interval), 4)}: {near} the {named.name}, {named.ratio}."
        )

    def score(self, interval: float, lower: float, together: bool) -> Score:
        upper = lower * ratio_from_cents(interval)
        onsets = (0, 0) if together else (0, 1.2)
        return Score(
            tuple(
                ScoreNote(onset=onset, duration=2.5 if together else 1.1, hertz=hertz, voice=voice, level=0.5)
                for onset, hertz, voice in zip(onsets, (lower, upper), ("lower", "upper"), strict=True)
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


_LEAST, _MOST = 0.625, 80.0  # cents


class SmallDifference(Exhibit):
    """A small difference of pitch beside published thresholds and the learner's own."""

    name: ClassVar[str] = "small_difference"
    title: ClassVar[str] = "How small a difference?"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("difference", "Difference to hear", _LEAST, _MOST, 8, 10, "cents", logarithmic=True),
        Slider("hertz", "Lower tone", 110, 1760, 4, 440, "Hz", logarithmic=True),
        Slider("own", "Your own threshold", _LEAST, _MOST, 8, 20, "cents", logarithmic=True),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.04, 0.13, 0.92, 0.71), (0.06, 0.09, 0.88, 0.77), x="cents")
        rows = len(PUBLISHED_THRESHOLDS)
        axes.set(xscale="log", xlim=(_LEAST * 0.9, _MOST * 1.1), ylim=(-0.6, rows + 0.3), yticks=[])
        axes.set_xticks([1, 2, 5, 10, 20, 50])
        axes.set_xticklabels(["1", "2", "5", "10", "20", "50"])
        axes.minorticks_off()
        for row, published in enumerate(reversed(PUBLISHED_THRESHOLDS)):
            look.text(axes, _LEAST * 0.95, row + 0.3, published.what, ha="left", va="center")
        (bars,) = axes.plot([], [], color=grey, lw=6, marker="o", ms=8)
        (rule,) = axes.plot([], [], "D", ms=8, color=ink)
        (here,) = axes.plot([], [], color=ink, lw=2.5, ls=(0, (2, 1)))
        (mine,) = axes.plot([], [], color=PURE_COLOUR, lw=5)
        said = look.text(figure, 0.97, look.fit(0.875, 0.89), ha="right", va="center", weight="bold")

        def update(difference: float, hertz: float, own: float) -> None:
            measured: list[tuple[float, float, float]] = []
            conventions: list[tuple[float, float, float]] = []
            for row, published in enumerate(reversed(PUBLISHED_THRESHOLDS)):
                span = published.cents(hertz)
                if span is not None:
                    (measured if published.measured else conventions).append((*span, row - 0.15))
            bars.set_data(*_strokes(measured))
            rule.set_data([low for low, _, _ in conventions], [row for _, _, row in conventions])
            for line, where in ((here, difference), (mine, own)):  # broken, so that they cross no words
                line.set_data([where] * (3 * rows), np.ravel([(row - 0.4, row + 0.05, np.nan) for row in range(rows)]))
            said.set_text(f"dashed: {plain(difference)} cents; thick: yours, {plain(own)}")

        return Scene((bars, rule, here, mine, said), update)

    def sentence(self, difference: float, hertz: float, own: float) -> str:
        upper = hertz * ratio_from_cents(difference)
        spans = [span for published in PUBLISHED_THRESHOLDS if published.measured and (span := published.cents(hertz))]
        heard = sum(low <= difference for low, _ in spans)
        yours = "above" if difference >= own else "below"
        step = f"A step of {plain(difference, 2)} cents up from {plain(hertz)} Hz is {plain(upper - hertz, 2)} Hz"
        return (
            f"{step}: {yours} your own threshold of {plain(own, 2)} cents, and at or above {heard} of the {len(spans)} "
            "published ones that hold at this pitch."
        )

    def score(self, difference: float, hertz: float, own: float) -> Score:
        pair = (hertz, hertz * ratio_from_cents(difference))
        return Score(
            tuple(ScoreNote(onset=0.8 * i, duration=0.6, hertz=f, level=0.5) for i, f in enumerate(pair)), tempo=60
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]


def _strokes(spans: list[tuple[float, float, float]]) -> tuple[list[float], list[float]]:
    """Horizontal strokes as one broken line: each (from, to, height)."""
    across = [x for low, high, _ in spans for x in (low, high, math.nan)]
    return across, [y for _, _, row in spans for y in (row, row, math.nan)]
