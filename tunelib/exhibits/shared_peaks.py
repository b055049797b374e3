"""Two waves in a simple ratio, and the peaks that fall together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.exhibits.waves import together
from tunelib.hearing import beat_rate
from tunelib.pitch import every, plain
from tunelib.score import Score
from tunelib.sound import TIMBRES

_MEETINGS = {
    "octave 2:1": Fraction(2),
    "twelfth 3:1": Fraction(3),
    "fifteenth 4:1": Fraction(4),
    "fifth 3:2": Fraction(3, 2),
    "fourth 4:3": Fraction(4, 3),
    "major sixth 5:3": Fraction(5, 3),
    "major third 5:4": Fraction(5, 4),
    "minor third 6:5": Fraction(6, 5),
}


class SharedPeaks(Exhibit):
    """Two waves in a simple ratio, and the peaks that fall together."""

    name: ClassVar[str] = "shared_peaks"
    title: ClassVar[str] = "Peaks that meet"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("interval", "Interval", tuple(_MEETINGS), "octave 2:1"),
        Slider("lower", "Lower tone", 55, 440, 12, 110, "Hz", logarithmic=True),
        Slider("off", "Upper tone off by", -3.0, 3.0, 0.1, 0.0, "Hz"),
        Slider("moment", "Moment", 0.0, 2.0, 0.01, 0.0, "s"),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"in tune": {"off": 0.0}, "1 Hz off": {"off": 1.0}}
    together: ClassVar[tuple[str, ...]] = ("interval", "off")
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "off": (-3, -2, -1, -0.5, 0, 0.5, 1, 2, 3),
        "moment": tuple(n / 10 for n in range(21)),
    }
    _meetings = 3  # how many times over the pattern is shown
    _touch = 0.04  # of the upper wave: peaks this near are one meeting

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.17, 0.16, 0.8, 0.66), (0.24, 0.2, 0.72, 0.6), (0.24, 0.14, 0.72, 0.74))
        axes.set(xlim=(-0.015, 1.015), ylim=(-4.1, 4.6))
        for y, words in ((2.75, "upper"), (-1.55, "lower")):
            look.beside(axes, y, words)
        upper_word, lower_word = (look.beside(axes, y, weight="bold") for y in (2.05, -2.25))
        span = look.text(figure, 0.97, look.fit(0.1, 0.1, 0.06), ha="right", va="center")
        across = np.linspace(0, 1, 2001)
        (top,) = axes.plot(across, across, color=ink, lw=2.2)
        (bottom,) = axes.plot(across, across, color=grey, lw=2.8)
        (links,) = axes.plot([], [], color=PURE_COLOUR, lw=4)
        (rings,) = axes.plot([], [], "o", ms=11, mfc=PURE_COLOUR, mec=ink, mew=1.5, clip_on=False)
        counts = [look.text(axes, 0, 0, ha="center", va="center") for _ in range(13)]

        def update(interval: str, lower: float, off: float, moment: float) -> None:
            ratio = _MEETINGS[interval]
            upper = lower * float(ratio) + off
            window = self._meetings * ratio.denominator / lower
            at = moment + across * window
            top.set_ydata(2.4 + np.cos(2 * np.pi * upper * at))
            bottom.set_ydata(-1.9 + np.cos(2 * np.pi * lower * at))
            met = self._met(ratio, lower, upper, moment, window)
            links.set_data(np.repeat(met, 3), np.tile([3.4, -0.9, np.nan], len(met)))
            rings.set_data(np.repeat(met, 2), np.tile([3.4, -0.9], len(met)))
            self._count(counts, ratio, lower, upper, moment, window)
            upper_word.set_text(f"{plain(upper)} Hz")
            lower_word.set_text(f"{plain(lower)} Hz")
            span.set_text(f"{plain(1000 * window)} milliseconds, from {plain(moment, 2)} s on")

        return Scene((links, top, bottom, rings, *counts, upper_word, lower_word, span), update)

    def _met(self, ratio: Fraction, lower: float, upper: float, moment: float, window: float) -> Any:
        """Where peaks of the two waves fall together, as fractions of the window."""
        peaks = np.arange(np.ceil(moment * lower - 1e-9), (moment + window) * lower + 1e-9) / lower
        turns = peaks * upper
        return (peaks[np.abs(turns - np.round(turns)) < self._touch] - moment) / window

    @staticmethod
    def _count(texts: list[Any], ratio: Fraction, lower: float, upper: float, moment: float, window: float) -> None:
        """Number the peaks of both waves from the window's first ones, over one round of the pattern."""
        for text in texts:
            text.set_visible(False)
        upper_texts, lower_texts = texts[: ratio.numerator + 1], texts[ratio.numerator + 1 :]
        for row, hertz, count, height in (
            (upper_texts, upper, ratio.numerator + 1, 4.25), (lower_texts, lower, ratio.denominator + 1, -3.5),
        ):  # fmt: skip
            first = np.ceil(moment * hertz - 1e-9)
            for number, text in zip(range(count), row, strict=False):
                where = ((first + number) / hertz - moment) / window
                text.set(position=(where, height), text=str(number), visible=bool(where <= 1 + 1e-9))

    def sentence(self, interval: str, lower: float, off: float, moment: float) -> str:
        ratio = _MEETINGS[interval]
        opening = f"The {interval}, {plain(lower * float(ratio) + off)} Hz over {plain(lower)} Hz: "
        when = f"{plain(moment, 2)} seconds in"
        if off == 0:
            upper, below = every(ratio.numerator), every(ratio.denominator)
            return f"{opening}{upper} peak of the upper wave meets {below} peak of the lower, {when} and at any time."
        rate = beat_rate(lower, lower * float(ratio) + off, ratio)
        way, often = "high" if off > 0 else "low", "once" if rate == 1 else f"{plain(rate, 2)} times"
        return (
            f"{opening}the upper tone is {plain(abs(off), 2)} Hz too {way}, so the peaks slip "
            f"apart, and meet again {often} a second; this is {when}."
        )

    def score(self, interval: str, lower: float, off: float, moment: float) -> Score:
        return together((lower, 0.5), (lower * float(_MEETINGS[interval]) + off, 0.5), seconds=3.5)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["bowed"]
