"""Recipes: how harmonics of other strengths make one pitch sound many ways."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.exhibits.overtones import MOST
from tunelib.pitch import FloatArray, plain, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, Timbre


class Recipe(Exhibit):
    """One pitch, many recipes: the wave and the strength of its harmonics."""

    name: ClassVar[str] = "recipe"
    title: ClassVar[str] = "The same pitch, another recipe"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice(
            "sound",
            "Sound",
            (
                "flute",
                "clarinet",
                "reed",
                "brass",
                "bowed",
                "plucked",
                "organ",
                "sine",
                "triangle",
                "square",
                "sawtooth",
            ),
            "clarinet",
        ),
        Slider("kept", "Harmonics kept", 1, MOST, 1, MOST),
        Slider("hertz", "Pitch", 110, 440, 12, 220, "Hz", logarithmic=True),
    )
    _waves = 3

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        shape = look.axes(figure, (0.12, 0.56, 0.85, 0.3), (0.2, 0.58, 0.76, 0.31), (0.2, 0.57, 0.76, 0.28), x="waves")
        shape.set(xlim=(0, self._waves), ylim=(-1.15, 1.15), yticks=[], xticks=range(self._waves + 1))
        shape.axhline(0, color=look.theme.faint, lw=1)
        look.beside(shape, 0, "the wave")
        bars = look.axes(figure, (0.12, 0.13, 0.85, 0.3), (0.2, 0.1, 0.76, 0.36), x="harmonic")
        bars.set(xlim=(0.4, MOST + 0.6), ylim=(0, 1.12), yticks=[], xticks=range(1, MOST + 1))
        look.beside(bars, 0.56, "strength")
        pitch = look.text(figure, 0.97, look.fit(0.9, 0.925, 0.89), ha="right", va="center", weight="bold")
        across = np.linspace(0, self._waves, 1201)
        (curve,) = shape.plot(across, across, color=ink, lw=2.5)
        width = look.fit(15, 9)
        (kept_bars,) = bars.plot([], [], color=PURE_COLOUR, lw=width, solid_capstyle="butt")
        (lost_bars,) = bars.plot([], [], color=grey, lw=2, ls=(0, (2, 1)))
        numbers = np.arange(1, MOST + 1)

        def update(sound: str, kept: int, hertz: float) -> None:
            strengths = self._strengths(sound, hertz)
            wave = self._kept(sound, kept).wave(np.asarray(across / hertz), hertz)
            curve.set_ydata(wave / np.abs(wave).max())
            pitch.set_text(f"{plain(hertz)} waves a second")
            feet = np.column_stack([np.zeros(MOST), strengths, np.full(MOST, np.nan)])
            for line, chosen in ((kept_bars, numbers <= kept), (lost_bars, numbers > kept)):
                line.set_data(np.repeat(numbers[chosen], 3), feet[chosen].ravel())

        return Scene((curve, kept_bars, lost_bars, pitch), update)

    @staticmethod
    def _strengths(sound: str, hertz: float) -> FloatArray:
        """Amplitudes of harmonics 1 to 16, the strongest as 1."""
        frequencies, amplitudes, _ = TIMBRES[sound].partials(hertz)
        strengths = np.zeros(MOST)
        numbers = np.round(frequencies / hertz).astype(int)
        strengths[numbers[numbers <= MOST] - 1] = amplitudes[numbers <= MOST]
        return np.asarray(strengths / strengths.max())

    @staticmethod
    def _kept(sound: str, kept: int) -> Timbre:
        """The timbre with only its first harmonics, up to a number."""
        whole = TIMBRES[sound]
        return replace(
            whole, unit_power=True, recipe=lambda number, hertz: whole.recipe(number, hertz) * (number <= kept)
        )

    def sentence(self, sound: str, kept: int, hertz: float) -> str:
        strengths = self._strengths(sound, hertz)
        strongest = int(np.argmax(strengths)) + 1
        heard = int(np.sum(strengths[:kept] >= 0.01))
        if kept < MOST:
            cut = f"only harmonics 1 to {kept} are kept" if kept > 1 else "only the fundamental is kept"
        else:
            cut = "all harmonics are kept"
        article = "An" if sound[0] in "aeiou" else "A"
        reach = "reaches" if heard == 1 else "reach"
        return (
            f"{article} {TIMBRES[sound].name} tone of {plain(hertz)} Hz, of which {cut}: harmonic {strongest} is its "
            f"strongest, {times(heard, 'harmonic')} of the {kept} kept {reach} a hundredth of that, and the pitch "
            f"stays {plain(hertz)} Hz."
        )

    def score(self, sound: str, kept: int, hertz: float) -> Score:
        return Score((ScoreNote(onset=0, duration=2.5, hertz=hertz, level=0.7),), tempo=60)

    def timbre(self, sound: str, kept: int, hertz: float) -> Voicing:
        return self._kept(sound, kept)
