"""An octave cut into twelve equal steps: the same ratio each time, so ever more hertz."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import width_of
from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray, Note, nearest_note, plain
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_C3, _C4 = Note.parse("C3").hz(), Note.parse("C4").hz()
_STEPS = 12
_RATIOS = np.exp2(np.arange(_STEPS + 1) / _STEPS)


class EqualSteps(Exhibit):
    """An octave cut into equal steps: the same ratio each time, so ever more hertz."""

    name: ClassVar[str] = "equal_steps"
    title: ClassVar[str] = "Equal steps are equal ratios"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("step", "Step", 1, _STEPS, 1, _STEPS),
        Slider("lowest", "Lowest note", _C3 / 2, _C4, 12, _C3, "Hz", logarithmic=True),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "columns": "the hertz of each key, from nothing up",
        "names": "the names of the keys",
        "first": "what the first step adds",
        "chosen": "the key that is reached",
        "slice": "what this step adds",
        "ratio": "the ratio of this step, the same for all",
        "added": "how many hertz this step adds",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("columns", "names"), ("first",), ("chosen", "slice"), ("added",), ("ratio",),
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        return _Columns(figure, look).scene()

    def sentence(self, step: int, lowest: float) -> str:
        ratio = float(np.exp2(1 / 12))
        here, before = (lowest * float(np.exp2(k / 12)) for k in (step, step - 1))
        return (
            f"Step {step} of 12 above {plain(lowest)} Hz is {plain(here)} Hz: {plain(ratio, 4)} times the step before "
            f"it, which is {plain(here - before)} Hz more, and 100 cents like every other."
        )

    def numbers(self, step: int, lowest: float) -> Mapping[str, str]:
        here, before = (lowest * float(_RATIOS[k]) for k in (step, step - 1))
        return {
            "ratio": plain(float(_RATIOS[1]), 4),
            "hertz": plain(here),
            "before": plain(before),
            "added": plain(here - before),
        }

    def score(self, step: int, lowest: float) -> Score:
        scale = (
            ScoreNote(onset=0.4 * k, duration=0.38, hertz=lowest * float(np.exp2(k / 12)), level=0.6)
            for k in range(step + 1)
        )
        return Score(tuple(scale), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]


class _Columns:
    """Thirteen columns edge to edge, or rows in a tall picture; places are in inches."""

    def __init__(self, figure: Canvas, look: Look) -> None:
        self._look, self._rows = look, look.tall
        theme, tint = look.theme, look.theme.twelve
        axes = look.bare(figure)
        self._wide, self._high = look.frame[2] * look.inches[0], look.frame[3] * look.inches[1]
        axes.set(xlim=(0, self._wide), ylim=(0, self._high))
        along, self._longest = (self._high, 2.4) if self._rows else (self._wide, 3.4)
        self._pitch = along / (_STEPS + 1)
        self._thick = self._pitch - look.fit(0.05, 0.08, 0.04)
        self._lengths = self._longest / 2 * _RATIOS
        self._middles = self._pitch * (np.arange(_STEPS + 1) + 0.5)
        self._still = []
        for place in range(_STEPS + 1):
            (column,) = axes.fill(*self._box(place, 0, self._lengths[place]), fc=tint.fill, lw=0)
            self._still.append(column)
            if place:
                (added,) = axes.fill(*self._box(place, *self._lengths[place - 1 : place + 1]), fc=tint.dim, lw=0)
                self._still.append(added)
        nothing = [0, 0, 0, 0]
        (self._now,) = axes.fill(nothing, nothing, fc=tint.full, lw=0)
        (self._chosen,) = axes.fill(nothing, nothing, fc="none", ec=tint.full, lw=2.5, joinstyle="round")
        (self._slice,) = axes.fill(nothing, nothing, fc=tint.full, ec=tint.full, lw=2.5, joinstyle="round")
        (self._arc,) = axes.plot([], [], color=theme.ink, lw=2.5, solid_capstyle="round", clip_on=False)
        beside: dict[str, Any] = {"ha": look.fit("center", "left"), "va": look.fit("baseline", "center")}
        self._hertz = [look.text(axes, *self._at(place, look.fit(0.42, 0.48)), **beside) for place in range(_STEPS + 1)]
        self._names = [look.text(axes, *self._at(place, 0.12), weight="bold", **beside) for place in range(_STEPS + 1)]
        self._ends = [
            (look.text(axes, *self._at(place, self._lengths[place] + 0.1), color=tint.text, **beside), place)
            for place in (1, _STEPS)
        ]
        self._times = look.text(axes, 0, 0, size="name", ha=look.fit("center", "left"))
        self._says = look.headline(axes, 0, 0)

    def scene(self) -> Scene:
        ends = [text for text, _ in self._ends]
        moving = (
            self._now, self._chosen, self._slice, self._arc, *self._hertz, *self._names, *ends, self._times,
            *self._says.artists,
        )  # fmt: skip
        parts = {
            "columns": (*self._still, *self._hertz),
            "names": self._names,
            "first": ends,
            "chosen": (self._chosen,),
            "slice": (self._slice,),
            "ratio": (self._arc, self._times),
            "added": self._says.artists,
        }
        return Scene(moving, self.update, self.light, parts)

    def _turned(self, along: Any, up: Any) -> tuple[Any, Any]:
        return (up, along) if self._rows else (along, up)

    def _at(self, place: int, up: float) -> tuple[float, float]:
        x, y = self._turned(self._middles[place], up)
        return float(x), float(y)

    def _box(self, place: int, low: float, high: float) -> tuple[Any, Any]:
        """The corners of a part of a column."""
        left, right = self._middles[place] - self._thick / 2, self._middles[place] + self._thick / 2
        return self._turned([left, right, right, left], [low, low, high, high])

    def update(self, step: int, lowest: float) -> None:
        hertz = lowest * _RATIOS
        self._chosen.set_xy(np.column_stack(self._box(step, 0, self._lengths[step])))
        self._slice.set_xy(np.column_stack(self._box(step, *self._lengths[step - 1 : step + 1])))
        self._now.set_visible(False)
        self._arc.set_data(*self._arch(step))
        self._times.set_text(f"× {plain(float(_RATIOS[1]), 4)}")
        self._says.say(f"+{plain(hertz[step] - hertz[step - 1])}", "Hz")
        for place, (text, name) in enumerate(zip(self._hertz, self._names, strict=True)):
            text.set_text(f"{hertz[place]:.1f}")
            name.set_text(nearest_note(float(hertz[place]))[0].name)
            for words in (text, name):
                words.set_color(self._look.theme.ink if place in (step - 1, step) else self._look.theme.grey)
        for text, place in self._ends:
            text.set_text(f"+{plain(hertz[place] - hertz[place - 1])} Hz")
            text.set_visible(abs(step - place) > 3)
        self._put(step)

    def _arch(self, step: int) -> tuple[FloatArray, FloatArray]:
        """From the end of one column to that of the next, bulging outwards."""
        way = np.linspace(0, np.pi, 41)
        (start, end), (low, high) = self._middles[step - 1 : step + 1], self._lengths[step - 1 : step + 1]
        along = (start + end) / 2 - (end - start) / 2 * np.cos(way)
        base = (low + high) / 2 - (high - low) / 2 * np.cos(way)
        bulge = self._look.fit(0.26, 0.3, 0.24)
        x, y = self._turned(along, base + 0.06 + bulge * np.sin(way))
        return np.asarray(x), np.asarray(y)

    def _put(self, step: int) -> None:
        """The ratio at the arch's top, and the hertz beside it, where the columns leave room."""
        number, words = self._says.artists
        before = width_of(number)
        after = 0.1 + width_of(words)
        x, y = self._arch(step)
        if self._rows:
            self._times.set_position((x.max() + 0.1, float(y[20]) - 0.08))
            below = step > 5
            left = x.max() + 0.1 if below else self._lengths[step + 4] + 0.25
            left = min(left, self._wide - before - after)
            self._says.move(left + before, float(y[20]) + (-0.7 if below else 0.32))
            return
        self._times.set_position((float(x[20]), float(y.max()) + 0.08))
        beside = x.min() - 0.25 - after - before
        if beside >= 0:
            self._says.move(x.min() - 0.25 - after, self._lengths[step] + 0.08)
        else:
            at = max(0.0, float(x[20]) - (before + after) / 2)
            self._says.move(at + before, float(y.max()) + 0.42)

    def light(self, playing: Playing) -> None:
        """The scale is played from the lowest key up to the one that is chosen."""
        for place in playing.notes[-1:]:
            self._now.set_xy(np.column_stack(self._box(place, 0, self._lengths[place])))
            self._now.set_visible(True)
            theme = self._look.theme
            for words in (self._hertz[place], self._names[place]):
                words.set_color(theme.ink if theme.name == "light" else theme.behind_text)
