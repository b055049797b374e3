"""Twelve equal steps: how they are made, where they miss the overtones, and what a miss sounds like."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Voicing
from tunelib.exhibits.look import TWELVE_COLOUR, Look
from tunelib.pitch import (
    Note,
    plain,
)
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

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
