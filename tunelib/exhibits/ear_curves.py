"""A learner's weeks of practice: the smallest differences heard, how the steps are sung, and how much is right."""

from __future__ import annotations

import math
from typing import ClassVar

from tunelib.exhibits.ear_weeks_drawn import DRONE_HZ, EarCurve, EarWeeks, WeeksDrawn, first_and_last
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Voicing
from tunelib.exhibits.look import Look
from tunelib.pitch import listed, plain, ratio_from_cents, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES


class EarCurves(Exhibit):
    """A learner's own weeks of practice.

    What is heard is the step that was last sung furthest off, over a drone: as it was sung at first, as it was sung
    last, and in tune.
    """

    name: ClassVar[str] = "ear_curves"
    title: ClassVar[str] = "Your weeks of practice"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, weeks: EarWeeks) -> None:
        self.weeks = weeks

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.title)
        WeeksDrawn(figure, look, self.weeks)
        return Scene((), lambda: None)

    def sentence(self) -> str:
        weeks = self.weeks
        count = math.floor(weeks.right.weeks[-1]) + 1
        latest = plain(weeks.right.values[-1], 0)
        said = (
            f"In {times(count, 'week')} of practice: {times(weeks.answers, 'answer')}, of the latest {latest} % right."
        )
        if weeks.thresholds:
            heard = listed(
                f"{curve.name} {plain(curve.values[-1])}"
                + (f" ({plain(curve.values[0])} at first)" if len(curve.values) > 1 else "")
                for curve in weeks.thresholds
            )
            said += f" The smallest difference heard, {weeks.heard}, in cents: {heard}."
        worst = self._worst
        if worst is not None:
            (was, about), (now, spread) = first_and_last(worst)
            before = f", at first {signed(was, 1)} with {plain(about)}" if len(worst.values) > 1 else ""
            said += (
                f" Of what was sung the {worst.name} is furthest off: {signed(now, 1)} cents with a spread of "
                f"{plain(spread)}{before}."
            )
        return said

    @property
    def _worst(self) -> EarCurve | None:
        return max(self.weeks.steps, key=lambda step: abs(step.values[-1]), default=None)

    def score(self) -> Score:
        worst = self._worst
        if worst is None:
            return Score((ScoreNote(0.0, 2.0, DRONE_HZ, level=0.5),), tempo=60)
        size = self.weeks.sizes[self.weeks.steps.index(worst)]
        offs = (worst.values[0], worst.values[-1], 0.0)
        notes = []
        for place, off in enumerate(offs):
            notes.append(ScoreNote(2.4 * place, 2.0, DRONE_HZ, level=0.5, voice="drone"))
            notes.append(ScoreNote(2.4 * place, 2.0, DRONE_HZ * ratio_from_cents(size + off), level=0.5, voice="sung"))
        return Score(tuple(notes), tempo=60)

    def timbre(self) -> Voicing:
        return TIMBRES["reed"]
