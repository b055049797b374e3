"""Waves: one that can be seen, two that drift apart, and two whose peaks meet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.hearing import beat_rate
from tunelib.pitch import every, plain, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

SPEED_OF_SOUND = 343.0  # metres a second, dry air at 20 °C (common handbook value)

_USUAL_STRENGTH = 60  # percent: the strength of a tone that is as loud as other sounds


def together(*notes: tuple[float, float], seconds: float, voices: tuple[str, ...] = ()) -> Score:
    """A score of tones that begin and end together: each (hertz, level)."""
    names = voices or tuple(f"tone {i + 1}" for i in range(len(notes)))
    return Score(
        tuple(
            ScoreNote(onset=0, duration=seconds, hertz=hertz, voice=voice, level=level)
            for voice, (hertz, level) in zip(names, notes, strict=True)
        ),
        tempo=60,
    )


class Wave(Exhibit):
    """Air pressure at the ear over time, and the air itself, for one pure tone."""

    name: ClassVar[str] = "wave"
    title: ClassVar[str] = "A wave you can see"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("hertz", "Frequency", 55, 1760, 12, 220, "Hz", logarithmic=True),
        Slider("level", "Strength", 5, 100, 5, _USUAL_STRENGTH, "%"),
        Slider("moment", "Moment", 0.0, 1.0, 0.02, 0.0, "of a wave"),
    )
    _window = 25.0  # milliseconds
    _reach = 2.0  # metres

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        ear = look.axes(
            figure, (0.09, 0.46, 0.88, 0.31), (0.15, 0.52, 0.81, 0.28), (0.15, 0.55, 0.81, 0.25), x="milliseconds"
        )
        ear.set(xlim=(0, self._window), ylim=(-1.1, 1.5), yticks=[-1, 0, 1])
        ear.set_yticklabels(["low", "rest", "high"])
        ear.axhline(0, color=look.theme.faint, lw=1)
        air = look.axes(
            figure,
            (0.09, 0.13, 0.88, 0.15),
            (0.15, 0.12, 0.81, 0.27),
            (0.15, 0.12, 0.81, 0.25),
            x="metres from your ear, towards the right",
        )
        air.set(xlim=(0, self._reach), ylim=(0, 1), yticks=[])
        left, lower = look.fit(0.09, 0.15), look.fit(0.32, 0.425, 0.4)
        look.text(figure, left, 0.845, "Air pressure at your ear", va="center")
        look.text(figure, left, lower, "The air, at one moment", va="center")
        period = look.text(figure, 0.97, 0.845, ha="right", va="center", weight="bold")
        length = look.text(figure, 0.97, lower, ha="right", va="center", weight="bold")

        times = np.linspace(0, self._window, 1601)
        (curve,) = ear.plot(times, times, color=ink, lw=2.5)
        (bracket,) = ear.plot([], [], color=PURE_COLOUR, lw=3, marker="|", ms=12, mew=3)
        (now,) = ear.plot([], [], "o", color=ink, ms=9, mec=look.theme.behind_text, mew=1.5)
        scattered = np.random.default_rng(31)
        margin = 1.0
        home = scattered.uniform(-margin, self._reach + margin, look.fit(3600, 5200))
        (dots,) = air.plot(home, scattered.uniform(0.03, 0.97, home.size), ".", color=grey, ms=2.6, mew=0)

        def update(hertz: float, level: float, moment: float) -> None:
            height, wave = level / 100, 1000 / hertz
            curve.set_ydata(height * np.sin(2 * np.pi * times / wave))
            bracket.set_data([0.25 * wave, 1.25 * wave], [1.25, 1.25])
            now.set_data([moment * wave], [height * np.sin(2 * np.pi * moment)])
            wavelength = SPEED_OF_SOUND / hertz
            # Each speck sways by a seventh of a wavelength at most, far more than air does. The ear is at 0: the
            # pressure is high there when the specks are closest.
            sway = 0.15 * height * wavelength * np.cos(2 * np.pi * (moment - home / wavelength))
            dots.set_xdata(home - sway)
            period.set_text(f"one wave: {plain(wave, 2)} ms")
            length.set_text(f"one wave: {plain(wavelength, 2)} m")

        return Scene((curve, bracket, now, dots, period, length), update)

    def sentence(self, hertz: float, level: float, moment: float) -> str:
        return (
            f"A tone of {plain(hertz)} Hz: the pressure rises and falls {plain(hertz)} times a second, each wave lasts "
            f"{plain(1000 / hertz, 2)} milliseconds and is {plain(SPEED_OF_SOUND / hertz, 2)} metres long in the air "
            f"(strength {plain(level)} %, moment {plain(moment, 2)} of a wave)."
        )

    def score(self, hertz: float, level: float, moment: float) -> Score:
        return together((hertz, level / 100), seconds=2.5)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]

    def gain(self, hertz: float, level: float, moment: float) -> float:
        return super().gain(hertz=hertz, level=_USUAL_STRENGTH, moment=moment)


class Beats(Exhibit):
    """Two tones almost alike, drifting in and out of step."""

    name: ClassVar[str] = "beats"
    title: ClassVar[str] = "Two waves drift apart"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("lower", "Lower tone", 110, 880, 12, 440, "Hz", logarithmic=True),
        Slider("difference", "Difference", 0.0, 20.0, 0.1, 2.0, "Hz"),
        Slider("moment", "Moment", 0.0, 2.0, 0.01, 0.0, "s"),
    )
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "moment": tuple(n / 10 for n in range(21)),
        "difference": (*(round(0.1 * k, 1) for k in range(31)), 3.5, 4, 4.5, 5, 5.5, *range(6, 21)),
    }
    _half_window = 10.0  # milliseconds on either side of the moment
    _seconds = 2.0

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        close = look.axes(figure, (0.19, 0.44, 0.78, 0.43), (0.29, 0.5, 0.67, 0.4), x="milliseconds around the moment")
        close.set(xlim=(-self._half_window, self._half_window), ylim=(-6.3, 4.3), yticks=[])
        close.axvline(0, color=look.theme.faint, lw=1.5)
        swell = look.axes(figure, (0.19, 0.13, 0.78, 0.16), (0.29, 0.13, 0.67, 0.25), x="seconds")
        swell.set(xlim=(0, self._seconds), ylim=(-1.12, 1.12), yticks=[])
        times = np.linspace(-self._half_window, self._half_window, 1401)
        (low,) = close.plot(times, times, color=ink, lw=2)
        (high,) = close.plot(times, times, color=grey, lw=2, ls=(0, (4, 1.5)))
        (both,) = close.plot(times, times, color=ink, lw=3)
        rows = [look.beside(close, y, weight="bold") for y in (3.0, 0.4, -3.6)]
        rows[2].set_text("together")
        look.beside(swell, 0, "together,\nfrom afar")
        (shape,) = swell.fill([0, 0, 0], [0, 0, 0], color=look.theme.faint, ec=grey, lw=1.5)
        (loud,) = swell.plot([], [], "v", color=PURE_COLOUR, ms=9, mec=ink, mew=0.8, clip_on=False)
        (now,) = swell.plot([0, 0], [-1.12, 1.12], color=ink, lw=2.5)
        long_times = np.linspace(0, self._seconds, 801)
        there_and_back = np.concatenate([long_times, long_times[::-1]])

        def update(lower: float, difference: float, moment: float) -> None:
            at = moment + times / 1000
            one, other = np.sin(2 * np.pi * lower * at), np.sin(2 * np.pi * (lower + difference) * at)
            low.set_ydata(3.0 + one)
            high.set_ydata(0.4 + other)
            both.set_ydata(-3.6 + one + other)
            swelling = np.abs(np.cos(np.pi * difference * long_times))
            shape.set_xy(np.column_stack([there_and_back, np.concatenate([swelling, -swelling[::-1]])]))
            peaks = np.arange(int(self._seconds * difference) + 1) / difference if difference else np.array([])
            loud.set_data(peaks, np.full(len(peaks), 1.12))
            now.set_xdata([moment, moment])
            rows[0].set_text(f"{plain(lower)} Hz")
            rows[1].set_text(f"{plain(lower + difference)} Hz")

        return Scene((low, high, both, *rows[:2], shape, loud, now), update)

    def sentence(self, lower: float, difference: float, moment: float) -> str:
        pair = f"Tones of {plain(lower)} Hz and {plain(lower + difference)} Hz together"
        if difference == 0:
            return f"{pair}: the two waves stay in step, and nothing beats, {times(moment, 'second', 2)} in or ever."
        rate = beat_rate(lower, lower + difference)
        return (
            f"{pair}: {times(rate, 'beat', 2)} a second, {times(1 / rate, 'second', 2)} from one to the next; "
            f"{times(moment, 'second', 2)} in, the waves are {self._standing(difference * moment % 1)}."
        )

    @staticmethod
    def _standing(turn: float) -> str:
        if min(turn, 1 - turn) < 0.125:
            return "in step, and the sum is large"
        return "opposed, and the sum is small" if abs(turn - 0.5) < 0.125 else "on the way from one to the other"

    def score(self, lower: float, difference: float, moment: float) -> Score:
        return together((lower, 0.5), (lower + difference, 0.5), seconds=4)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]


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
