"""Twelve equal steps: how they are made, where they miss the overtones, and what a miss sounds like."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import PURE_COLOUR, THIRTY_ONE_COLOUR, TWELVE_COLOUR, Look
from tunelib.hearing import beat_rate, dissonance_curve
from tunelib.pitch import (
    FloatArray,
    Note,
    Tuning,
    cents,
    equal,
    harmonic_deviations,
    plain,
    ratio_from_cents,
    signed,
    times,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, Timbre, mixture

_C3, _C4 = Note.parse("C3").hz(), Note.parse("C4").hz()


class EqualSteps(Exhibit):
    """An octave cut into equal steps: the same ratio each time, so ever more hertz."""

    name: ClassVar[str] = "equal_steps"
    title: ClassVar[str] = "Equal steps are equal ratios"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("step", "Step", 1, 12, 1, 7),
        Slider("lowest", "Lowest note", _C3 / 2, _C4, 12, _C3, "Hz", logarithmic=True),
    )

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.axes(figure, (0.16, 0.15, 0.8, 0.62), (0.2, 0.1, 0.75, 0.7), x="step")
        axes.set(xlim=(-0.6, 12.6), ylim=(0.85, 2.15), yticks=[], xticks=range(13))
        steps = np.arange(13)
        heights = np.exp2(steps / 12)
        smooth = np.linspace(0, 12, 200)
        axes.plot(smooth, np.exp2(smooth / 12), color=grey, lw=1.5)
        for step, height in zip(steps, heights, strict=True):
            axes.plot([step, step], [0.85, height], color=look.theme.faint, lw=6, solid_capstyle="butt")
        axes.plot(steps, heights, "s", color=TWELVE_COLOUR, ms=9)
        ends = [look.beside(axes, height) for height in (1.0, 2.0)]
        (rise,) = axes.plot([], [], color=ink, lw=3)
        (picked,) = axes.plot([], [], "s", ms=14, mfc="none", mec=ink, mew=2.5)
        said = look.text(figure, 0.97, 0.85, ha="right", va="center", weight="bold")

        def update(step: int, lowest: float) -> None:
            below, here = heights[step - 1], heights[step]
            rise.set_data([step - 1, step, step], [below, below, here])
            picked.set_data([step], [here])
            ends[0].set_text(f"{plain(lowest)} Hz")
            ends[1].set_text(f"{plain(2 * lowest)} Hz")
            said.set_text(f"{plain(lowest * below)} × {plain(heights[1], 4)} = {plain(lowest * here)} Hz")

        return Scene((*ends, rise, picked, said), update)

    def sentence(self, step: int, lowest: float) -> str:
        ratio = float(np.exp2(1 / 12))
        here, before = (lowest * float(np.exp2(k / 12)) for k in (step, step - 1))
        return (
            f"Step {step} of 12 above {plain(lowest)} Hz is {plain(here)} Hz: {plain(ratio, 4)} times the step before "
            f"it, which is {plain(here - before)} Hz more, and 100 cents like every other."
        )

    def score(self, step: int, lowest: float) -> Score:
        scale = (
            ScoreNote(onset=0.4 * k, duration=0.38, hertz=lowest * float(np.exp2(k / 12)), level=0.6)
            for k in range(step + 1)
        )
        return Score(tuple(scale), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


_DIVISIONS = {f"{n} steps": equal(n) for n in (12, 19, 24, 31, 53)}
_OCTAVES = 4


class OvertonesAndSteps(Exhibit):
    """The first sixteen harmonics, octave by octave, among the lines of a division."""

    name: ClassVar[str] = "overtones_and_steps"
    title: ClassVar[str] = "Overtones among the steps"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("division", "The octave in", tuple(_DIVISIONS), "12 steps", ordered=True),
        Slider("harmonic", "Harmonic to hear", 2, 2**_OCTAVES, 1, 7),
    )
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {
        "12": {"division": "12 steps"},
        "31": {"division": "31 steps"},
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.13, 0.07, 0.83, 0.78), (0.2, 0.07, 0.75, 0.8))
        axes.set(xlim=(-20, 1220), ylim=(-0.45, _OCTAVES - 0.25))
        for octave in range(_OCTAVES):
            low, high = 2**octave, 2 ** (octave + 1)
            axes.plot([0, 1200], [octave, octave], color=grey, lw=1)
            look.text(
                axes, -0.02, octave, f"{low} to {high}", ha="right", va="center", transform=axes.get_yaxis_transform()
            )
        (lines,) = axes.plot([], [], color=TWELVE_COLOUR, lw=2.5)
        (dots,) = axes.plot([], [], "o", ms=9, color=PURE_COLOUR, mec=ink, mew=0.8)
        (ring,) = axes.plot([], [], "o", ms=17, mfc="none", mec=ink, mew=2.5)
        places = [(n, octave) for octave in range(_OCTAVES) for n in range(2**octave, 2 ** (octave + 1) + 1)]
        across = np.array([cents(n) - 1200 * octave for n, octave in places])
        dots.set_data(across, [octave for _, octave in places])
        for (n, octave), x in zip(places, across.tolist(), strict=True):
            look.text(axes, x, octave + 0.27, str(n), ha="center", va="center", weight="bold")
        away = [
            look.text(axes, x, o - 0.27, ha="center", va="center")
            for (_, o), x in zip(places, across.tolist(), strict=True)
        ]
        said = look.text(figure, 0.97, look.fit(0.955, 0.915), ha="right", va="top", weight="bold")

        def update(division: str, harmonic: int) -> None:
            tuning = _DIVISIONS[division]
            steps = np.append(tuning.cents, 1200.0)
            marks = [(octave - 0.13, octave + 0.13, np.nan) for octave in range(_OCTAVES)]
            lines.set_data(np.tile(np.repeat(steps, 3), _OCTAVES), np.repeat(marks, steps.size, axis=0).ravel())
            lines.set_color({12: TWELVE_COLOUR, 31: THIRTY_ONE_COLOUR}.get(len(tuning), grey))
            for (n, _), text in zip(places, away, strict=True):
                text.set_text(signed(self._away(tuning, n)))
            octave = min(int(np.log2(harmonic)), _OCTAVES - 1)
            ring.set_data([cents(harmonic) - 1200 * octave], [octave])
            said.set_text(f"harmonic {harmonic}: {signed(self._away(tuning, harmonic), 1)} cents from its step")

        return Scene((lines, dots, ring, *away, said), update)

    @staticmethod
    def _away(tuning: Tuning, harmonic: int) -> float:
        """How far a harmonic is from the nearest step, in cents; negative where it is flat of it."""
        return -float(harmonic_deviations(tuning, harmonic).error[-1])

    def sentence(self, division: str, harmonic: int) -> str:
        tuning = _DIVISIONS[division]
        away = self._away(tuning, harmonic)
        where = "on" if abs(away) < 0.05 else f"{plain(abs(away))} cents {'below' if away < 0 else 'above'}"
        worst = max(range(2, 2**_OCTAVES + 1), key=lambda n: abs(self._away(tuning, n)))
        return (
            f"With the octave in {division}, harmonic {harmonic} is {where} its nearest step; of the first "
            f"{2**_OCTAVES} harmonics, number {worst} is farthest off, by "
            f"{plain(abs(self._away(tuning, worst)))} cents."
        )

    def score(self, division: str, harmonic: int) -> Score:
        tuning = _DIVISIONS[division]
        pure = _C3 * harmonic
        tempered = pure * ratio_from_cents(-self._away(tuning, harmonic))
        return Score(
            (
                ScoreNote(onset=0, duration=1.2, hertz=pure, voice="pure", level=0.4),
                ScoreNote(onset=1.3, duration=1.2, hertz=tempered, voice="step", level=0.4),
                ScoreNote(onset=2.6, duration=2.0, hertz=pure, voice="pure", level=0.4),
                ScoreNote(onset=2.6, duration=2.0, hertz=tempered, voice="step", level=0.4),
            ),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["flute"]


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
