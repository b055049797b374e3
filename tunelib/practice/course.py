"""The questions and exercises of the course, by the number of the step."""

from __future__ import annotations

from dataclasses import replace

from tunelib.pitch.counts import is_whole
from tunelib.pitch.intervals import shortened
from tunelib.practice import steps_01_07, steps_08_16, steps_17_24, steps_25_31
from tunelib.practice.exercise import Exercise, Question

_QUESTIONS = steps_01_07.QUESTIONS | steps_08_16.QUESTIONS | steps_17_24.QUESTIONS | steps_25_31.QUESTIONS
_EXERCISES = steps_01_07.EXERCISES | steps_08_16.EXERCISES | steps_17_24.EXERCISES | steps_25_31.EXERCISES
STEPS = range(min(_QUESTIONS), max(_QUESTIONS) + 1)


def question(step: int) -> Question:
    """The question asked before the sound or slider of a step.

    Raises ValueError unless `step` is one of `STEPS`.

    >>> question(1).check("It grows taller.").right
    False
    """
    return _QUESTIONS[_known(step)]()


def exercise(step: int) -> Exercise:
    """The exercise of a step.

    Raises ValueError unless `step` is one of `STEPS`.

    >>> exercise(3).check("3:2").message
    'Yes: 3/2.'
    """
    return replace(_EXERCISES[_known(step)](), step=int(step))


def _known(step: int) -> int:
    if not is_whole(step) or step not in STEPS:
        raise ValueError(f"there is no step {shortened(step)} here: steps run from {STEPS[0]} to {STEPS[-1]}")
    return int(step)
