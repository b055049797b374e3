"""The question and the exercise of each step, found in the practice file of its lesson."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from typing import Any

from tunelib.course import lesson_of
from tunelib.practice.exercise import Exercise, Question


def question(step: int) -> Question:
    """The question asked before the sound or slider of a step.

    Raises ValueError unless the course has the step.

    >>> question(1).check("It grows taller.").right
    False
    """
    made: Question = _practised("question", step)
    return made


def exercise(step: int) -> Exercise:
    """The exercise of a step.

    Raises ValueError unless the course has the step.

    >>> exercise(3).check("3:2").message
    'Yes: 3/2.'
    """
    made: Exercise = _practised("exercise", step)
    return replace(made, step=int(step))


def _practised(kind: str, step: int) -> Any:
    """What ``question_3`` or ``exercise_3`` of the lesson's practice file makes."""
    name, module = f"{kind}_{step}", f"tunelib.practice.{lesson_of(step).practice}"
    try:
        make = getattr(import_module(module), name)
    except (ModuleNotFoundError, AttributeError) as missing:
        if isinstance(missing, ModuleNotFoundError) and missing.name != module:
            raise
        raise ValueError(f"step {step} has no {kind} yet: write {name}() in {module.replace('.', '/')}.py") from None
    return make()
