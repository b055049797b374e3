"""Recipes: how harmonics of other strengths make one pitch sound many ways."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import ClassVar

import numpy as np
from matplotlib.collections import PolyCollection

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches, near_note
from tunelib.exhibits.look import Look
from tunelib.exhibits.overtones import MOST
from tunelib.pitch import FloatArray, plain
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, Timbre

_HEARD = 0.01  # of the strongest harmonic: what is weaker is not counted, nor shown


class Recipe(Exhibit):
    """One wave of a sound, and under it the harmonics' own waves that it is the sum of."""

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
        Slider("kept", "Harmonics kept", 1, MOST, 1, 5),
        Slider("hertz", "Pitch", 110, 440, 12, 220, "Hz", logarithmic=True),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "harmonics": "the harmonics, each a wave of its own, as high as it is strong",
        "numbers": "the numbers of the harmonics",
        "sum": "their sum: one wave of the sound",
        "count": "how many harmonics are heard in it",
        "pitch": "the pitch, which is the same whatever the recipe",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("harmonics", "numbers"), ("sum",), ("count", "pitch"))
    flows: ClassVar[bool] = True
    _watched = 0.4  # waves a second are gone through while it sounds

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, pure = look.theme, look.theme.pure
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        roof, floor = look.fit((4.4, 1.12), (8.45, 1.4), (4.3, 1.25))
        line = field.bottom + 0.05
        apart = look.fit(0.228, 0.265)  # inches from one number to the next, at least
        left = field.left + look.fit(0.55, 0.6)
        across = np.linspace(0, 1, 361)
        along = left + (field.right - left) * across

        bodies = PolyCollection([np.zeros((2, 2))] * MOST, facecolors=pure.fill, edgecolors="none", zorder=1)
        axes.add_collection(bodies, autolim=False)
        rows = [axes.plot(along, across, color=pure.dim, lw=1.8, zorder=2)[0] for _ in range(MOST)]
        numbers = [
            look.text(axes, field.left, 0, str(n), va="center", weight="bold", color=pure.text)
            for n in range(1, MOST + 1)
        ]
        (rest,) = axes.plot([], [], color=theme.line, lw=1.2, zorder=1)
        (whole,) = axes.plot(along, across, color=theme.ink, lw=3.5, zorder=3, solid_capstyle="round")
        sum_word = look.text(axes, field.left, 0, "sum", va="center", weight="bold")
        (head,) = axes.plot([], [], color=theme.ink, lw=2.5, zorder=3.5, solid_capstyle="round")
        (dots,) = axes.plot([], [], "o", color=theme.ink, ms=8, zorder=4, **look.ring(1.5))
        count = look.headline(axes, field.left, line)
        pitch = look.text(axes, field.right, line + look.fit(0, 0.36), ha="right")
        shown: dict[str, FloatArray] = {}

        def update(sound: str, kept: int, hertz: float) -> None:
            waves, strengths = self._waves(sound, kept, hertz, across)
            total = waves.sum(axis=0)
            high, low = float(total.max()), float(total.min())
            seen = strengths >= _HEARD
            between, after_sum = look.fit(0.05, 0.1, 0.05), look.fit(0.16, 0.3, 0.16)
            room = roof - floor - after_sum - between * max(int(seen.sum()) - 1, 0)
            least = apart - between if (apart - between) * seen.sum() <= 0.5 * room else 0.0
            scale = self._scale(high - low, 2 * strengths[seen], room, least)
            centre = roof - scale * high
            heights = np.full(MOST, floor)
            under = roof - scale * (high - low) - after_sum
            for n in np.flatnonzero(seen).tolist():
                tall = max(2 * scale * float(strengths[n]), least)
                heights[n] = under - tall / 2
                under -= tall + between
            drawn = heights[:, np.newaxis] + scale * waves
            for n, row in enumerate(rows):
                row.set_ydata(drawn[n])
                row.set_visible(bool(seen[n]))
            bodies.set_verts([
                np.column_stack([[*along, along[-1], along[0]], [*wave, height, height]])
                for wave, height in zip(drawn, heights, strict=True)
            ])  # fmt: skip
            whole.set_ydata(centre + scale * total)
            rest.set_data([left, field.right], [centre, centre])
            sum_word.set_y(centre)
            named = self._with_room(heights, strengths, seen, apart, highest=centre)
            for n, number in enumerate(numbers):
                number.set_y(float(heights[n]))
                number.set_visible(n in named)
            heard = int(seen.sum())
            count.say(str(heard), f"{'harmonic' if heard == 1 else 'harmonics'}, {TIMBRES[sound].name}")
            begin(count, field.left, line)
            pitch.set_text(f"one wave of {near_note(hertz)}")
            head.set_data([], [])
            dots.set_data([], [])
            shown.update(lines=np.vstack([centre + scale * total, drawn[seen]]), hertz=np.array(hertz))

        def light(playing: Playing) -> None:
            if playing.seconds is None:
                return
            way = playing.seconds * self._watched % 1
            x = left + (field.right - left) * way
            head.set_data([x, x], [floor - 0.08, roof + 0.05])
            dots.set_data([x] * len(shown["lines"]), [float(np.interp(way, across, line)) for line in shown["lines"]])
            pitch.set_text(f"{plain(float(shown['hertz']) / self._watched, 0)} times slower")

        moving = (bodies, *rows, rest, whole, head, dots, *numbers, sum_word, *count.artists, pitch)
        parts = {
            "harmonics": (bodies, *rows),
            "numbers": numbers,
            "sum": (whole, rest, sum_word),
            "count": count.artists,
            "pitch": (pitch,),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _scale(whole: float, rows: FloatArray, room: float, least: float) -> float:
        """By how much the sum and the harmonics' rows are enlarged to fill the room, no row less high than `least`.

        Rows that would be less high take `least` from the room, and the others share what remains.
        """
        small = np.zeros(rows.size, dtype=bool)
        while True:
            scale = (room - least * float(small.sum())) / (whole + float(rows[~small].sum()))
            smaller = small | (scale * rows < least)
            if np.array_equal(smaller, small):
                return scale
            small = smaller

    @staticmethod
    def _with_room(
        heights: FloatArray, strengths: FloatArray, seen: np.ndarray, apart: float, highest: float
    ) -> frozenset[int]:
        """Which rows have room for their number, the strongest first."""
        chosen: list[int] = []
        for n in sorted(np.flatnonzero(seen), key=lambda n: -strengths[n]):
            if all(abs(heights[n] - y) >= apart - 1e-9 for y in (highest, *heights[chosen])):
                chosen.append(int(n))
        return frozenset(chosen)

    @classmethod
    def _waves(cls, sound: str, kept: int, hertz: float, across: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The waves of harmonics 1 to 16 and their amplitudes, the strongest as 1; those not kept are flat."""
        timbre = cls._kept(sound, kept)
        frequencies, amplitudes, _ = timbre.partials(hertz)
        phases = timbre.phases(hertz)
        waves, strengths = np.zeros((MOST, across.size)), np.zeros(MOST)
        for frequency, amplitude, phase in zip(frequencies, amplitudes / amplitudes.max(), phases, strict=True):
            n = round(frequency / hertz) - 1
            strengths[n] = amplitude
            waves[n] = amplitude * np.sin(2 * np.pi * frequency / hertz * across + phase)
        return waves, strengths

    def numbers(self, sound: str, kept: int, hertz: float) -> Mapping[str, str]:
        return {"heard": str(int(np.sum(self._strengths(sound, hertz)[:kept] >= _HEARD)))}

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
        if kept < MOST:
            cut = f"only harmonics 1 to {kept} are kept" if kept > 1 else "only the fundamental is kept"
        else:
            cut = f"all harmonics up to {kept} are kept"
        article = "An" if sound[0] in "aeiou" else "A"
        return (
            f"{article} {TIMBRES[sound].name} tone of {plain(hertz)} Hz, of which {cut}: harmonic {strongest} is its "
            f"strongest, and the pitch stays {plain(hertz)} Hz."
        )

    def score(self, sound: str, kept: int, hertz: float) -> Score:
        return Score((ScoreNote(onset=0, duration=2.5, hertz=hertz, level=0.7),), tempo=60)

    def timbre(self, sound: str, kept: int, hertz: float) -> Voicing:
        return self._kept(sound, kept)
