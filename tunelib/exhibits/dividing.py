"""Dividing the octave: what finer steps cost to play, every division at once, and the trade between the two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import PURE_COLOUR, Look
from tunelib.pitch import (
    SCALE_LENGTH,
    Note,
    fret_gaps,
    fret_places,
    plain,
    ratio_from_cents,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

PIANO_OCTAVE = 165.0  # millimetres for the twelve keys of an octave (common practice)
RULE_OF_THUMB = 5.0  # cents, often quoted as the smallest difference that is heard; a convention
_C4 = Note.parse("C4").hz()


class FinerSteps(Exhibit):
    """An octave in ever more steps: on a ruler of cents, on a fretboard, and under a hand."""

    name: ClassVar[str] = "finer_steps"
    title: ClassVar[str] = "Finer and finer"
    knobs: ClassVar[tuple[Knob, ...]] = (Slider("division", "Steps to the octave", 5, 300, 1, 31),)
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {"12": {"division": 12}, "31": {"division": 31}}
    stops: ClassVar[Mapping[str, Sequence[float]]] = {
        "division": (*range(5, 54), 55, 60, 65, 72, 84, 96, 100, 120, 144, 171, 200, 300),
    }

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        ink, grey = look.theme.ink, look.theme.grey
        look.heading(figure, self.title)
        axes = look.bare(figure, (0.05, 0.06, 0.9, 0.78), (0.06, 0.08, 0.88, 0.76))
        axes.set(xlim=(0, 1), ylim=(0, 9))
        rows = (6.7, 3.7, 0.7)
        depth = 1.1
        for y in rows:
            axes.fill([0, 1, 1, 0], [y, y, y + depth, y + depth], color="none", ec=grey, lw=1.5)
        axes.plot([0, RULE_OF_THUMB / 1200], [rows[0] - 0.28] * 2, color=PURE_COLOUR, lw=5, solid_capstyle="butt")
        marks = [axes.plot([], [], color=ink, lw=1.0)[0] for _ in rows]
        words = [look.text(axes, 0, y + depth + 0.45, ha="left", va="center") for y in rows]

        def update(division: int) -> None:
            even = np.arange(1, division) / division
            for line, places, y in zip(
                marks, (even, 2 * fret_places(division) / SCALE_LENGTH, even), rows, strict=True
            ):
                line.set_data(np.repeat(places, 3), np.tile([y, y + depth, np.nan], places.size))
            first, last = self._gaps(division)
            words[0].set_text(
                f"{division} steps of {plain(1200 / division, 1)} cents; the short bar is {plain(RULE_OF_THUMB)}"
            )
            words[1].set_text(f"frets from {plain(first)} mm apart at the nut to {plain(last)} mm at the octave")
            words[2].set_text(f"keys as wide as a piano's: an octave of {plain(self._hand(division) / 10)} cm")

        return Scene((*marks, *words), update)

    @staticmethod
    def _gaps(division: int) -> tuple[float, float]:
        """Distance from the nut to the first fret, and between the last two frets of the octave, in millimetres."""
        first, *_, last = fret_gaps(division).tolist()
        return first, last

    @staticmethod
    def _hand(division: int) -> float:
        """Width of an octave in millimetres if every step had a key as wide as a piano's twelve have on average."""
        return PIANO_OCTAVE / 12 * division

    def sentence(self, division: int) -> str:
        first, last = self._gaps(division)
        return (
            f"An octave in {division} steps: {plain(1200 / division, 1)} cents each; on a string of "
            f"{plain(SCALE_LENGTH)} mm the frets are {plain(first)} mm apart at the nut and {plain(last)} mm at the "
            f"octave, and an octave of keys as wide as a piano's would measure {plain(self._hand(division) / 10)} cm."
        )

    def score(self, division: int) -> Score:
        pair = (_C4, _C4 * ratio_from_cents(1200 / division), _C4)
        return Score(
            tuple(ScoreNote(onset=0.8 * i, duration=0.7, hertz=hertz, level=0.6) for i, hertz in enumerate(pair)),
            tempo=60,
        )

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["reed"]
