"""What the miss of a third sounds like: roughness as a landscape, and the beats of two harmonics that should meet."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Switch
from tunelib.exhibits.inches import width_in_inches
from tunelib.exhibits.look import Look
from tunelib.hearing import beat_rate, dissonance_curve
from tunelib.pitch import (
    FloatArray,
    Note,
    cents,
    nearest_note,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import Timbre, mixture

_C3, _A3 = Note.parse("C3").hz(), Note.parse("A3").hz()


_PURE_THIRD = cents("5/4")
_PARTIALS = 8
_NARROWEST, _WIDEST = 360.0, 420.0  # cents
_SMOOTHEST = 0.72  # of the highest roughness: what is at the foot of the land, a little under all that is shown
_TOP = 0.88  # of the land's height: its highest point
_BANDS = 22  # of one colour each, in the ground
_FADES = 0.3  # of the land's height, below which it fades into the paper
_OVER = 0.01  # inches that a band goes on under the one below it, so that no seam shows
_SPAN = 2.0  # seconds of sound in view
_WHOLE = "{lower} and {upper} together", "{lower} and {upper} together", "{lower} and {upper}"
_ONLY = "only harmonic 5 of {lower} and harmonic 4 of {upper}", "only harmonics 5 and 4", "only 5 and 4"


class BeatingThird(Exhibit):
    """A major third from narrow to wide: its roughness, and the beating of the two harmonics that should meet."""

    name: ClassVar[str] = "beating_third"
    title: ClassVar[str] = "What a miss sounds like"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("third", "Major third", _NARROWEST, _WIDEST, 0.1, 400.0, "cents"),
        Slider("lower", "Lower note", _C3, 4 * _C3, 12, _A3, "Hz", logarithmic=True),
        Switch("only", "Only the two that beat", False),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure": {"third": 386.3},
        "12": {"third": 400.0},
        "31": {"third": 387.1},
    }
    stops: ClassVar[Mapping[str, Sequence[float]]] = {"third": (*range(360, 421), 386.3)}
    flows = True
    parts: ClassVar[Mapping[str, str]] = {
        "land": "how rough each third is, from narrow to wide",
        "pure": "the pure third",
        "twelve": "the third of twelve equal steps",
        "third": "the third that is heard",
        "gap": "how far the third is from the pure one",
        "beats": "how the sound swells and fades",
        "rate": "how many beats there are in a second",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("land",),
        ("pure", "twelve"),
        ("third", "gap"),
        ("beats",),
        ("rate",),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        axes = look.bare(figure)
        wide, high = look.frame[2] * look.inches[0], look.frame[3] * look.inches[1]
        axes.set(xlim=(0, wide), ylim=(0, high))
        land, swell = _Land(axes, look), _Swell(axes, look)

        def update(third: float, lower: float, only: bool) -> None:
            land.update(third, lower)
            swell.update(
                self._rate(third, lower), only, lower, lambda seconds: self._swell(third, lower, only, seconds)
            )  # fmt: skip

        return Scene((*land.moving, *swell.moving), update, swell.light, {**land.parts, **swell.parts})

    @staticmethod
    def _rate(third: float, lower: float) -> float:
        return float(beat_rate(lower, lower * ratio_from_cents(third), "5/4"))

    def _swell(self, third: float, lower: float, only: bool, seconds: FloatArray) -> FloatArray:
        """How large the sound is at some times, from 0 to 1: the two that beat as waves, what does not as power."""
        (fifth, rest), (fourth, other) = (
            self._apart(lower * ratio_from_cents(up), of, number)
            for up, of, number in zip((0.0, third), self.timbre(third, lower, only).values(), (5, 4), strict=True)
        )
        turn = np.exp(2j * np.pi * self._rate(third, lower) * seconds)
        return np.asarray(
            np.sqrt((rest + other + np.abs(fifth + fourth * turn) ** 2) / (rest + other + (fifth + fourth) ** 2))
        )

    @staticmethod
    def _apart(hertz: float, timbre: Timbre, number: int) -> tuple[float, float]:
        """The amplitude of one harmonic of a tone, and the sum of the squares of the others'."""
        _, amplitudes, _ = timbre.partials(hertz)
        one = float(amplitudes[timbre.numbers(hertz) == number][0])
        return one, float(np.sum(amplitudes**2)) - one**2

    def sentence(self, third: float, lower: float, only: bool) -> str:
        rate, away = self._rate(third, lower), third - _PURE_THIRD
        side = f"{plain(abs(away))} cents {'wider' if away > 0 else 'narrower'} than the pure one of"
        if plain(away) == "0":
            side = "the pure one, to a tenth of a cent, of"
        beat = f"beat {plain(rate)} times a second" if plain(rate) != "0" else "do not beat"
        heard = ", heard by themselves," if only else ""
        return (
            f"A major third of {plain(third)} cents on {plain(lower)} Hz is {side} {plain(_PURE_THIRD)}: "
            f"harmonic 5 of the lower note and harmonic 4 of the upper{heard} {beat}."
        )

    def numbers(self, third: float, lower: float, only: bool) -> Mapping[str, str]:
        return {
            "beats": plain(self._rate(third, lower)),
            "off": plain(abs(third - _PURE_THIRD)),
            "upper": plain(lower * ratio_from_cents(third)),
        }

    def score(self, third: float, lower: float, only: bool) -> Score:
        # Held for minutes, a hundredth of a cent off would beat too: at its own stop the pure third is exact.
        pure = plain(third) == plain(_PURE_THIRD)
        upper = lower * (5 / 4 if pure else ratio_from_cents(third))
        pair = (
            ScoreNote(onset=0, duration=3.5, hertz=hertz, voice=voice, level=0.5)
            for hertz, voice in ((lower, "lower"), (upper, "upper"))
        )
        return Score(tuple(pair), tempo=60)

    def timbre(self, third: float, lower: float, only: bool) -> Mapping[str, Timbre]:
        if only:
            return {"lower": _harmonic(5), "upper": _harmonic(4)}
        return dict.fromkeys(("lower", "upper"), _resonant(5 * lower))


@lru_cache(maxsize=64)
def _resonant(centre: float) -> Timbre:
    """A nasal tone of eight harmonics with a sharp resonance: one of them stands 8 dB above the fundamental.

    All begin in step, so that two that meet are strong together.
    """

    def recipe(number: FloatArray, hertz: FloatArray) -> FloatArray:
        resonance = np.exp(-0.5 * (np.log2(hertz / centre) / 0.08) ** 2)
        return np.asarray((0.5 / np.sqrt(number) + resonance) * (number <= _PARTIALS))

    return Timbre("nasal", recipe, attack=0.020, release=0.020, unit_power=False)


@lru_cache
def _harmonic(number: int) -> Timbre:
    """One harmonic of a tone, by itself."""
    return mixture([0.0] * (number - 1) + [1.0], f"harmonic {number}")


class _Land:
    """Roughness as a landscape, with what is pure and what is twelve planted in it, and the third that is heard."""

    def __init__(self, axes: Axes, look: Look) -> None:
        self._look, self._wide = look, axes.get_xlim()[1]
        self._base, self._high = look.fit((1.52, 2.55), (4.2, 4.2), (1.72, 2.0))  # inches, as all below
        theme = look.theme
        self._sizes = np.linspace(_NARROWEST, _WIDEST, 301)
        self._across = self._x(self._sizes)
        edges = np.linspace(0, 1, _BANDS + 1)
        self._edges = self._base + edges * self._high
        self._bands = []
        for low in edges[:-1].tolist():
            colour = theme.roughness(0.5 * low / _TOP)
            (band,) = axes.fill(self._across, self._across * 0, fc=(*colour[:3], min(1.0, low / _FADES)), lw=0)
            self._bands.append(band)
        (self._gap,) = axes.fill([0, 0, 0], [0, 0, 0], fc=theme.ink, alpha=0.13, lw=0)
        self._posts = []
        for cents_, name, tint in ((_PURE_THIRD, "pure", theme.pure), (400.0, "twelve", theme.twelve)):
            (post,) = axes.plot([], [], color=tint.full, lw=6, solid_capstyle="round")
            foot = look.text(
                axes, self._x(cents_), self._base - 0.1, name, ha="center", va="top", weight="bold", color=tint.text,
            )  # fmt: skip
            self._posts.append((cents_, post, foot))
        (self._ridge,) = axes.plot([], [], color=theme.ink, lw=3, solid_joinstyle="round", clip_on=False)
        (self._dot,) = axes.plot([], [], "o", ms=22, color=theme.ink, clip_on=False, **look.ring(3))
        self._says = look.text(axes, 0, 0, size="name", ha="center")
        self._rough = look.text(axes, self._wide, 0, "rougher", ha="right", va="top")
        smooth = look.text(axes, self._wide, self._base + 0.1 * self._high, "smoother", ha="right", va="bottom")
        self.moving = (
            *self._bands,
            self._gap,
            *(post for _, post, _ in self._posts),
            self._ridge,
            self._dot,
            self._says,
            self._rough,
            smooth,
        )
        (_, pure, pure_name), (_, twelve, twelve_name) = self._posts
        self.parts: dict[str, tuple[Artist, ...]] = {
            "land": (*self._bands, self._ridge, self._rough, smooth),
            "pure": (pure, pure_name),
            "twelve": (twelve, twelve_name),
            "third": (self._dot,),
            "gap": (self._gap, self._says),
        }

    def _x(self, size: Any) -> Any:
        return (size - _NARROWEST) / (_WIDEST - _NARROWEST) * self._wide

    def update(self, third: float, lower: float) -> None:
        heights, highest = _roughness(round(lower, 6))
        ridge = self._base + self._high * (0.1 + (_TOP - 0.1) * (heights / highest - _SMOOTHEST) / (1 - _SMOOTHEST))
        for band, low, high in zip(self._bands, self._edges[:-1].tolist(), self._edges[1:].tolist(), strict=True):
            under = low - (_OVER if low > self._base + _FADES * self._high else 0)
            upper = np.clip(ridge, under, high)
            band.set_xy(np.column_stack([[*self._across, *self._across[::-1]], [*upper, *np.full(upper.size, under)]]))
        self._ridge.set_data(self._across, ridge)
        for size, post, _ in self._posts:
            post.set_data([self._x(size)] * 2, [self._base, np.interp(size, self._sizes, ridge)])
        x, y = self._x(third), float(np.interp(third, self._sizes, ridge))
        self._dot.set_data([x], [y])
        between = np.linspace(_PURE_THIRD, third, 61)
        top = np.interp(between, self._sizes, ridge)
        ends = self._x(np.array([_PURE_THIRD, *between, third]))
        self._gap.set_xy(np.column_stack([ends, [self._base, *top, self._base]]))
        off = third - _PURE_THIRD
        said = (
            "no gap" if plain(off) in ("0", "−0") else f"{plain(abs(off))} cents too {'wide' if off > 0 else 'narrow'}"
        )
        half = width_in_inches(self._says, said) / 2
        at = float(np.clip(x, half, self._wide - half))
        over = ridge[np.abs(self._across - at) < half + 0.1].max()
        self._says.set(x=at, y=max(over + 0.12, y + 0.24), text=said)
        self._rough.set_y(ridge[-30:].min() - 0.1)


class _Swell:
    """Two seconds of the sound, which swells and fades, and how often it does."""

    def __init__(self, axes: Axes, look: Look) -> None:
        self._look, theme, wide = look, look.theme, axes.get_xlim()[1]
        self._left = look.fit(1.95, 0.0)
        self._middle, self._half = look.fit((0.73, 0.47), (1.5, 0.98), (0.34, 0.3))
        self._wide = wide - self._left
        self._seconds = np.linspace(0, _SPAN, 1201)
        (self._shape,) = axes.fill([0, 0, 0], [0, 0, 0], fc=theme.ground, ec=theme.ink, lw=1.5, joinstyle="round")
        (self._now,) = axes.plot([], [], color=theme.ink, lw=4, solid_capstyle="round")
        below = look.fit(0.02, 0.2)
        self._what = look.text(axes, *look.fit((self._left, below), (0, below), (wide, 0.86)), color=theme.grey)
        self._what.set_horizontalalignment(look.fit("left", "left", "right"))
        length = look.text(axes, wide, below, f"{_SPAN:g} seconds", ha="right", color=theme.grey)
        length.set_visible(not look.square)
        place = look.fit((0.0, 0.66), (0.0, 2.88), (0.0, 0.86))
        self._says = look.headline(axes, *place, below=not look.tall)
        self._at = place
        self.moving = (self._shape, self._now, self._what, *self._says.artists)
        self.parts: dict[str, tuple[Artist, ...]] = {
            "beats": (self._shape, self._now, self._what, length),
            "rate": self._says.artists,
        }

    def update(self, rate: float, only: bool, lower: float, loudness: Callable[[FloatArray], FloatArray]) -> None:
        self._loudness = loudness
        self._show(0.0)
        self._now.set_visible(False)
        note, _ = nearest_note(lower)
        said = self._look.fit(*(_ONLY if only else _WHOLE))
        self._what.set_text(said.format(lower=note, upper=note.transpose("M3")))
        number = plain(rate)
        self._says.say(number, "beat a second" if number == "1" else "beats a second")
        if self._look.tall:
            self._says.move(width_in_inches(self._says.number, number), self._at[1])

    def _show(self, start: float) -> None:
        loud = self._half * self._loudness(start + self._seconds)
        there_and_back = self._left + self._wide / _SPAN * np.concatenate([self._seconds, self._seconds[::-1]])
        up_and_down = self._middle + np.concatenate([loud, -loud[::-1]])
        self._shape.set_xy(np.column_stack([there_and_back, up_and_down]))

    def light(self, playing: Playing) -> None:
        """A line travels through the sound; at its end the next two seconds are shown."""
        if playing.seconds is None:
            return
        page, seconds = divmod(playing.seconds, _SPAN)
        if page:
            self._show(page * _SPAN)
        x = self._left + self._wide * seconds / _SPAN
        self._now.set_data([x, x], [self._middle - self._half, self._middle + self._half])
        self._now.set_visible(True)


@lru_cache(maxsize=64)
def _roughness(lower: float) -> tuple[FloatArray, float]:
    """Roughness of thirds from 360 to 420 cents on a note, and the highest of it, for eight fading harmonics."""
    numbers = np.arange(1, _PARTIALS + 1)
    heights = dissonance_curve(lower * numbers, 0.88**numbers, np.linspace(360, 420, 301))
    return heights, float(heights.max())
