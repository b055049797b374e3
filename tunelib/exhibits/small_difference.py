"""How small a difference of pitch can be heard: published thresholds, and the learner's own."""

from __future__ import annotations

import math
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.hearing import PUBLISHED_THRESHOLDS
from tunelib.pitch import plain, ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

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
