"""Overtones: the ladder of multiples, equal in hertz and ever closer to the ear."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Slider, Voicing
from tunelib.exhibits.inches import begin, field_of, in_inches
from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray, harmonic_series, nearest_note, plain, signed
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

MOST = 16  # harmonics shown
_BETWEEN = ("octave 2:1", "fifth 3:2", "fourth 4:3", "major third 5:4", "minor third 6:5", "7:6", "8:7")


class HarmonicLadder(Exhibit):
    """The multiples of one frequency, on a ladder of hertz and on the ear's ladder."""

    name: ClassVar[str] = "harmonic_ladder"
    title: ClassVar[str] = "Multiples of one frequency"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Slider("fundamental", "Fundamental", 40, 220, 1, 110, "Hz"),
        Slider("count", "Harmonics", 1, MOST, 1, 8),
    )
    parts: ClassVar[Mapping[str, str]] = {
        "hertz": "the ladder in hertz, whose rungs are equally far apart",
        "step": "the step from each rung to the next, in hertz",
        "links": "which rung of the one ladder is which of the other",
        "ear": "the same rungs to the ear, ever closer together",
        "gaps": "the intervals from rung to rung",
        "notes": "the notes that are nearest, and how many cents off",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("hertz",), ("step",), ("links", "ear"), ("gaps",), ("notes",),
    )  # fmt: skip

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, pure = look.theme, look.theme.pure
        look.heading(figure, self.title)
        axes, field = in_inches(figure, look), field_of(look)
        foot, top = look.fit((0.5, 4.08), (1.6, 8.1), (1.3, 3.95))
        head = look.fit(4.33, 8.42, 4.23)
        left, right = look.fit(((2.75, 3.45), (5.0, 7.9)), ((1.05, 1.5), (2.4, 3.95)), ((1.05, 1.5), (2.4, 3.95)))
        apart = look.fit(0.228, 0.265)  # inches from one label to the next, at least
        in_hertz = look.text(axes, sum(left) / 2, head, "in hertz", ha="center", color=theme.grey)
        to_the_ear = look.text(axes, sum(right) / 2, head, "to the ear", ha="center", color=theme.grey)
        beside = look.fit(right[1] + 0.13, field.right)
        in_notes = look.text(axes, beside, head, "nearest note", ha=look.fit("left", "right"), color=theme.grey)

        nothing = [np.zeros((2, 2))] * MOST
        bands = PolyCollection([np.zeros((4, 2))] * (MOST - 1), facecolors=pure.fill, edgecolors="none", zorder=0)
        links = LineCollection(nothing, colors=theme.line, linewidths=1.2, zorder=1)
        equal_rungs = LineCollection(nothing, linewidths=3.5, capstyle="round", zorder=3)
        ear_rungs = LineCollection(nothing, linewidths=5, capstyle="round", zorder=3)
        for collection in (bands, links, equal_rungs, ear_rungs):
            axes.add_collection(collection, autolim=False)
        hertz_words = [look.text(axes, left[0] - 0.13, 0, ha="right", va="center") for _ in range(MOST)]
        numbers = [
            look.text(axes, right[0] - 0.13, 0, str(n), ha="right", va="center", weight="bold", color=pure.text)
            for n in range(1, MOST + 1)
        ]
        notes = [
            look.text(axes, right[1] + 0.13, 0, va="center", weight="normal" if n & (n - 1) else "bold")
            for n in range(1, MOST + 1)
        ]
        gaps = [look.text(axes, sum(right) / 2, 0, words, ha="center", va="center") for words in _BETWEEN]
        if look.tall:
            step = look.headline(axes, field.left, 0.5)
        else:
            step = look.headline(axes, field.left, (foot + top) / 2 + 0.1, below=True)
        shown = {"count": 1}

        def heights(shares: FloatArray) -> FloatArray:
            """Where rungs are, from their shares of the ladder; those that are not shown are on the last."""
            count = shown["count"]
            span = shares[count - 1] or 1.0
            return np.asarray(foot + (top - foot) * np.minimum(shares, shares[count - 1]) / span)

        def colour(lit: frozenset[int]) -> None:
            """Colour the rungs, those that sound in ink; the last of those that are one on another counts."""
            counted = [min(n, shown["count"] - 1) for n in range(MOST)]
            equal_rungs.set_colors([theme.ink if n in lit else pure.dim for n in counted])
            ear_rungs.set_colors([theme.ink if n in lit else pure.full for n in counted])

        def update(fundamental: float, count: int) -> None:
            shown["count"] = count
            series = harmonic_series(fundamental, MOST)
            equal = heights(np.arange(MOST, dtype=float))
            ear = heights(np.log2(np.arange(1, MOST + 1)))
            equal_rungs.set_segments([[(left[0], y), (left[1], y)] for y in equal])
            ear_rungs.set_segments([[(right[0], y), (right[1], y)] for y in ear])
            links.set_segments([
                [(left[1] + 0.08, y), (right[0] - 0.4, z)] for y, z in zip(equal, ear, strict=True)
            ])  # fmt: skip
            bands.set_verts([
                [(right[0], low), (right[0], high), (right[1], high), (right[1], low)]
                for low, high in itertools.pairwise(ear)
            ])  # fmt: skip
            between = np.diff(ear[:count], prepend=ear[0] - 1, append=ear[count - 1] + 1)
            room = np.minimum(between[:-1], between[1:])[np.minimum(np.arange(MOST), count - 1)]
            ear_rungs.set_linewidth(np.minimum(5.0, 0.55 * 72 * room).tolist())
            colour(frozenset())
            roomy = self._with_room(ear[:count], apart)
            every = self._every(equal[:count], apart)
            for n in range(MOST):
                note, over = nearest_note(float(series[n]))
                off = signed(over)
                for text, y, seen, words in (
                    (hertz_words[n], equal[n], n < count and (count - 1 - n) % every == 0, plain(float(series[n]))),
                    (numbers[n], ear[n], n in roomy, None),
                    (notes[n], ear[n], n in roomy, f"{note}" if off == "0" else f"{note} {off}"),
                ):
                    text.set_y(float(y))
                    text.set_visible(bool(seen))
                    if words is not None:
                        text.set_text(words)
            for n, text in enumerate(gaps):
                text.set_y(float(ear[n] + ear[n + 1]) / 2)
                text.set_visible(
                    bool(n + 1 < count and ear[n + 1] - ear[n] > apart + (0.05 if " " in _BETWEEN[n] else 0.02))
                )
            step.say(f"+{plain(fundamental)}", "Hz at every step")
            if look.tall:
                begin(step, field.left, 0.5)

        def light(playing: Playing) -> None:
            if playing.seconds is not None:
                count = shown["count"]
                together = any(note >= count for note in playing.notes)
                colour(frozenset(range(count)) if together else frozenset(playing.notes))

        moving = (bands, links, equal_rungs, ear_rungs, *hertz_words, *numbers, *notes, *gaps, *step.artists)
        parts = {
            "hertz": (equal_rungs, *hertz_words, in_hertz),
            "step": step.artists,
            "links": (links,),
            "ear": (ear_rungs, *numbers, to_the_ear),
            "gaps": (bands, *gaps),
            "notes": (*notes, in_notes),
        }
        return Scene(moving, update, light, parts)

    @staticmethod
    def _with_room(heights: FloatArray, apart: float) -> frozenset[int]:
        """Which rungs have room for words beside them: the octaves first, then the others from below."""
        order = sorted(range(len(heights)), key=lambda n: (n & (n + 1) != 0, n))
        chosen: list[int] = []
        for n in order:
            if all(abs(heights[n] - heights[m]) >= apart for m in chosen):
                chosen.append(n)
        return frozenset(chosen)

    @staticmethod
    def _every(heights: FloatArray, apart: float) -> int:
        """Every how many equal steps there is room for words."""
        if len(heights) < 2:
            return 1
        return int(np.ceil(apart / (heights[1] - heights[0]) - 1e-9))

    def numbers(self, fundamental: float, count: int) -> Mapping[str, str]:
        return {"highest": plain(count * fundamental)}

    def sentence(self, fundamental: float, count: int) -> str:
        if count == 1:
            return f"The fundamental alone: harmonic 1, {plain(fundamental)} Hz."
        shrink = f"to the ear the steps shrink, from an octave at the bottom to {count}:{count - 1} at the top"
        if count == 2:
            shrink = "to the ear that one step is an octave"
        return (
            f"Harmonics 1 to {count} of {plain(fundamental)} Hz: each is {plain(fundamental)} Hz above the one before, "
            f"up to {plain(count * fundamental)} Hz; {shrink}."
        )

    def score(self, fundamental: float, count: int) -> Score:
        series = harmonic_series(fundamental, count)
        one_by_one = [
            ScoreNote(onset=0.6 * i, duration=0.7, hertz=hertz, voice="ladder", level=0.7)
            for i, hertz in enumerate(series)
        ]
        chord = [
            ScoreNote(onset=0.6 * count + 0.4, duration=2.5, hertz=hertz, voice="ladder", level=1 / count)
            for hertz in series
        ]
        return Score((*one_by_one, *chord), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["sine"]
