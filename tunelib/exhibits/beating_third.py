"""Twelve equal steps: how they are made, where they miss the overtones, and what a miss sounds like."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Switch
from tunelib.exhibits.look import PURE_COLOUR, TWELVE_COLOUR, Look
from tunelib.hearing import beat_rate, dissonance_curve
from tunelib.pitch import (
    FloatArray,
    Note,
    cents,
    plain,
    ratio_from_cents,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import Timbre, mixture

_C3, _C4 = Note.parse("C3").hz(), Note.parse("C4").hz()


_PURE_THIRD = cents("5/4")
_PARTIALS = 8


class BeatingThird(Exhibit):
    """A major third from narrow to wide: its roughness, and the beating of the two harmonics that should meet."""

    name: ClassVar[str] = "beating_third"
    title: ClassVar[str] = "What a miss sounds like"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("third", "Major third", 360.0, 420.0, 0.1, 400.0, "cents"),
        Slider("lower", "Lower note", _C3, 2 * _C4, 12, _C4, "Hz", logarithmic=True),
        Switch("only", "Only the two that beat", False),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "pure": {"third": 386.3},
        "12": {"third": 400.0},
        "31": {"third": 387.1},
    }
    stops: ClassVar[Mapping[str, Sequence[float]]] = {"third": (*range(360, 421), 386.3)}
    _seconds = 1.0

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        rough = look.axes(figure, (0.14, 0.53, 0.83, 0.29), (0.2, 0.54, 0.76, 0.3), x="cents")
        low, high = self.knobs[0].low, self.knobs[0].high  # type: ignore[union-attr]
        rough.set(xlim=(low, high), ylim=(0.6, 1.2), yticks=[])
        look.beside(rough, 0.85, "roughness")
        for where, words, colour, dash in (
            (_PURE_THIRD, "pure", PURE_COLOUR, "-"),
            (400.0, "twelve", TWELVE_COLOUR, (0, (5, 2))),
        ):
            rough.plot([where, where], [0.6, 1.06], color=colour, lw=4, ls=dash)
            look.text(rough, where, 1.12, words, ha="center", va="center")
        swell = look.axes(figure, (0.14, 0.14, 0.83, 0.2), (0.2, 0.12, 0.76, 0.26), x="seconds")
        swell.set(xlim=(0, self._seconds), ylim=(-1.1, 1.1), yticks=[])
        heard = look.beside(swell, 0)
        sizes = np.linspace(low, high, 301)
        (curve,) = rough.plot(sizes, sizes, color=ink, lw=2.5)
        (here,) = rough.plot([], [], "o", ms=12, mfc=look.theme.behind_text, mec=ink, mew=2.5)
        seconds = np.linspace(0, self._seconds, 1201)
        (shape,) = swell.fill([0, 0, 0], [0, 0, 0], color=look.theme.faint, ec=grey, lw=1.5)
        said = look.text(figure, 0.97, look.fit(0.875, 0.9), ha="right", va="center", weight="bold")
        there_and_back = np.concatenate([seconds, seconds[::-1]])

        def update(third: float, lower: float, only: bool) -> None:
            heights, highest = _roughness(round(lower, 6))
            curve.set_ydata(heights / highest)
            here.set_data([third], [np.interp(third, sizes, heights / highest)])
            rate = self._rate(third, lower)
            loud = self._swell(third, lower, only, seconds)
            shape.set_xy(np.column_stack([there_and_back, np.concatenate([loud, -loud[::-1]])]))
            heard.set_text("the two\nharmonics" if only else "the whole\nsound")
            said.set_text(f"{times(round(rate, 1), 'beat')} a second")

        return Scene((shape, curve, here, heard, said), update)

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


@lru_cache(maxsize=64)
def _roughness(lower: float) -> tuple[FloatArray, float]:
    """Roughness of thirds from 360 to 420 cents on a note, and the highest of it, for eight fading harmonics."""
    numbers = np.arange(1, _PARTIALS + 1)
    heights = dissonance_curve(lower * numbers, 0.88**numbers, np.linspace(360, 420, 301))
    return heights, float(heights.max())
