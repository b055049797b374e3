"""The question and the exercises of each step, found in the practice file of its lesson."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from typing import Any

from tunelib.course import lesson_of
from tunelib.practice.exercise import Exercise, Question


def question(step: int) -> Question:
    """The question with which a step begins.

    Raises ValueError unless the course has the step.

    >>> question(1).check("It grows taller.").right
    False
    """
    made: Question = _practised("question", step)
    return made


def exercise(step: int, numbers: bool = False) -> Exercise:
    """The exercise of a step: by ear, by hand, by voice or on paper; or, with `numbers`, its exercise in numbers.

    Raises ValueError unless the course has the step, and the step such an exercise.

    >>> exercise(3, numbers=True).check("3:2").message
    'Yes: 3/2.'
    """
    made: Exercise = _practised("exercise", step, _IN_NUMBERS if numbers else "")
    return replace(made, step=int(step), in_numbers=bool(numbers))


def exercises(step: int) -> tuple[Exercise, ...]:
    """All exercises of a step: the one that it has always, and the one in numbers where there is one.

    Raises ValueError unless the course has the step.
    """
    in_numbers = f"exercise_{step}{_IN_NUMBERS}"
    both = hasattr(import_module(f"tunelib.practice.{lesson_of(step).practice}"), in_numbers)
    return (exercise(step), exercise(step, numbers=True)) if both else (exercise(step),)


_IN_NUMBERS = "_in_numbers"


def _practised(kind: str, step: int, which: str = "") -> Any:
    """What ``question_3``, ``exercise_3`` or ``exercise_3_in_numbers`` of the lesson's practice file makes."""
    name, module = f"{kind}_{step}{which}", f"tunelib.practice.{lesson_of(step).practice}"
    try:
        make = getattr(import_module(module), name)
    except (ModuleNotFoundError, AttributeError) as missing:
        if isinstance(missing, ModuleNotFoundError) and missing.name != module:
            raise
        raise ValueError(
            f"step {step} has no {kind}{' in numbers' if which else ''} yet: write {name}() in "
            f"{module.replace('.', '/')}.py"
        ) from None
    return make()
