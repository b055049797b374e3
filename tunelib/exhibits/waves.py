"""Waves: one that can be seen, and two that drift apart."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from matplotlib.patches import Rectangle

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, wide
from tunelib.exhibits.look import Look
from tunelib.hearing import beat_rate
from tunelib.pitch import FloatArray, nearest_note, plain, times
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
    """The air that a pure tone goes through, and under it its pressure, crest under crowd."""

    name: ClassVar[str] = "wave"
    title: ClassVar[str] = "A wave you can see"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("hertz", "Frequency", 55, 1760, 12, 220, "Hz", logarithmic=True),
        Slider("level", "Strength", 5, 100, 5, _USUAL_STRENGTH, "%"),
        Slider("moment", "Moment", 0.0, 1.0, 0.02, 0.3, "of a wave"),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "air": "the specks of air, crowded and thin by turns",
        "specks": "three specks, which sway and stay where they are",
        "pressure": "the air's pressure, highest where it is crowded",
        "wave": "one wave, from crest to crest",
        "rate": "how many waves go by in a second",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("air",), ("specks",), ("pressure",), ("wave",), ("rate",))
    flows: ClassVar[bool] = True
    _watched = 0.5  # waves a second go by while it sounds: as fast as an eye can follow
    _marked = ((0.17, 0.75), (0.5, 0.45), (0.83, 0.2))  # specks: along the air and up it

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme = look.theme
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        roof, floor = field.top - 0.3, look.fit(2.64, 4.05, 2.33)
        row, middle, most = look.fit((2.44, 1.52, 0.52), (3.8, 2.2, 1.05), (2.15, 1.37, 0.32))
        inside = Rectangle((field.left - 0.02, 0), field.width + 0.04, look.inches[1], transform=axes.transData)
        reach = look.fit(3.0, 2.0)
        metre = field.width / reach

        home, up = self._spread(look.fit(5200, 6000, 3200), 1.0, reach + 2.0)
        heights = floor + 0.03 + up * (roof - floor - 0.06)
        (dots,) = axes.plot(home, heights, ".", color=theme.grey, ms=look.fit(3.1, 3.6), mew=0, zorder=1)
        own_home = np.array([along for along, _ in self._marked]) * reach
        own_heights = floor + np.array([up for _, up in self._marked]) * (roof - floor)
        (rails,) = axes.plot([], [], color=theme.ink, lw=1.2, zorder=3, solid_capstyle="round")
        (specks,) = axes.plot([], [], "o", ms=13, color=theme.ink, zorder=4, **look.ring())
        look.text(axes, field.left, field.top - 0.14, "air: each speck sways, and stays")
        slow = look.text(axes, field.right, field.top - 0.14, ha="right", color=theme.grey)

        across = np.linspace(0, reach, 721)
        axes.plot([field.left, field.right], [middle, middle], color=theme.line, lw=1.2, zorder=1)
        (curve,) = axes.plot(
            field.left + across * metre, across, color=theme.ink, lw=3, zorder=3, solid_capstyle="round"
        )
        (bracket,) = axes.plot([], [], color=theme.ink, lw=2.5, solid_capstyle="butt", zorder=3)
        length = look.text(axes, 0, row - look.fit(0.3, 0.36), size="name", ha="center")
        pressure = look.text(
            axes,
            field.right,
            field.bottom + 0.05,
            look.fit("pressure along the way", "pressure"),
            ha="right",
            color=theme.grey,
        )
        rate = look.headline(axes, field.left, field.bottom + 0.05)
        for going_out in (dots, rails, specks, bracket):
            going_out.set_clip_path(inside)
        now: dict[str, float] = {}

        def show(moment: float) -> None:
            wavelength = SPEED_OF_SOUND / now["hertz"]
            # Each speck sways by a seventh of a wavelength at most, far more than air does; where the specks are
            # closest, the pressure is highest.
            sway = 0.15 * now["height"] * wavelength
            dots.set_xdata(field.left + metre * (home - sway * np.cos(2 * np.pi * (moment - home / wavelength))))
            swayed = own_home - sway * np.cos(2 * np.pi * (moment - own_home / wavelength))
            specks.set_data(field.left + metre * swayed, own_heights)
            curve.set_ydata(middle + most * now["height"] * np.sin(2 * np.pi * (moment - across / wavelength)))
            first, last = self._followed(wavelength, moment, reach)
            ends = np.array([first, first, first, last, last, last])
            bracket.set_data(field.left + metre * ends, row + np.array([-0.1, 0.1, 0, 0, 0.1, -0.1]))
            seen = (max(first, 0.0) + min(last, reach)) / 2
            half = wide(length) / 2
            length.set_x(min(max(field.left + metre * seen, field.left + half), field.right - half))

        def update(hertz: float, level: float, moment: float) -> None:
            now.update(hertz=hertz, height=level / 100, moment=moment)
            wavelength = SPEED_OF_SOUND / hertz
            sway = 0.15 * level / 100 * wavelength
            ends = field.left + metre * np.array([own_home - sway, own_home + sway, [np.nan] * 3])
            rails.set_data(ends.T.ravel(), np.repeat(own_heights, 3))
            length.set_text(f"one wave: {plain(wavelength, 2)} m")
            note, over = nearest_note(hertz)
            named = f": {note}" if abs(over) < 0.5 else ""
            rate.say(plain(hertz, 0 if hertz >= 1000 else 1), f"waves a second{named}")
            begin(rate, field.left, field.bottom + 0.05)
            slow.set_text("")
            show(moment)

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            slow.set_text(f"{plain(now['hertz'] / self._watched, 0)} times slower")
            show(now["moment"] + playing.seconds * self._watched)

        moving = (dots, rails, specks, curve, bracket, length, *rate.artists, slow)
        parts = {
            "air": (dots,),
            "specks": (specks, rails),
            "pressure": (curve, pressure),
            "wave": (bracket, length),
            "rate": rate.artists,
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _spread(count: int, before: float, length: float) -> tuple[FloatArray, FloatArray]:
        """Specks evenly spread over a length in metres, and over the height from 0 to 1, in no pattern.

        Each is somewhere in a cell of its own along the way (stratified sampling), the heights go round by the golden
        ratio: what then looks crowded is crowded by the wave.
        """
        scattered = np.random.default_rng(31)
        along = (np.arange(count) + scattered.uniform(0, 1, count)) / count * length - before
        return along, np.asarray((np.arange(count) * (math.sqrt(5) - 1) / 2) % 1)

    @staticmethod
    def _followed(wavelength: float, moment: float, reach: float) -> tuple[float, float]:
        """From crest to crest, the wave that is followed on its way through the picture, in metres."""
        turns = max(1, math.floor(reach / wavelength + 0.25))  # then another one comes in
        first = wavelength * (moment % turns - 0.25)
        return first, first + wavelength

    def numbers(self, hertz: float, level: float, moment: float) -> Mapping[str, str]:
        return {"milliseconds": plain(1000 / hertz, 2), "metres": plain(SPEED_OF_SOUND / hertz, 2)}

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
        (loud,) = swell.plot([], [], "v", color=look.theme.ink, ms=9, mec=ink, mew=0.8, clip_on=False)
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
