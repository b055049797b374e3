"""One line on how far a learner has come, for the beginning and the end of a lesson.

``progress_line.js`` beside this file shows the same on a page without Python.
"""

from __future__ import annotations

import html
from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from tunelib import course
from tunelib.pitch import shortened
from tunelib.practice.progress import PROGRESS_FILE, Done, everything_done

_STORED = "Run this page, and a line here says how far you have come."


def progress_line(lesson: str | int) -> ProgressLine:
    """A line that says which exercises of a lesson are solved, how many of all, and where to go on.

    Parameters
    ----------
    lesson : str or int
        The name of its notebook, such as ``"02_overtones"``, or its number.

    Raises ValueError for a lesson that the course does not have.
    """
    return ProgressLine(lesson_named(lesson))


def lesson_named(lesson: str | int) -> course.Lesson:
    """The lesson of a name or a number; raises ValueError, with all names, for one that the course does not have."""
    for each in course.LESSONS:
        if lesson in (each.name, each.number) and not isinstance(lesson, bool):
            return each
    names = ", ".join(each.name for each in course.LESSONS)
    raise ValueError(f"there is no lesson {shortened(lesson)} here; there are {names}")


def progress_in_words(lesson: course.Lesson, all_done: Mapping[int, Done]) -> str:
    """The line, in plain words.

    >>> progress_in_words(course.LESSONS[0], {2: Done(tries=1, right="2026-05-03T18:20:11+00:00")})
    'This lesson: step 1, step 2 ✓, step 3. Solved so far: 1 of 31. Next: step 1.'
    """
    solved = {number for number, one in all_done.items() if one.right}
    steps = ", ".join(f"step {step.number}{' ✓' if step.number in solved else ''}" for step in lesson.steps)
    every = [step.number for step in course.all_steps()]
    ahead = [*(step for step in every if step >= lesson.steps[0].number), *every]
    following = next((step for step in ahead if step not in solved), None)
    onward = "All of them: well done." if following is None else f"Next: step {following}."
    return f"This lesson: {steps}. Solved so far: {len(solved.intersection(every))} of {len(every)}. {onward}"


class ProgressLine(widgets.HTML):  # type: ignore[misc]
    """The line. Made by `progress_line`; it changes as soon as an exercise of this notebook is solved."""

    def __init__(self, lesson: course.Lesson) -> None:
        super().__init__(layout={"max_width": "60em"})
        self._lesson = lesson
        self.look()
        PROGRESS_FILE.watch(self)

    def look(self) -> None:
        """Show what has been done so far."""
        words = html.escape(progress_in_words(self._lesson, everything_done()))
        self.value = f'<p role="status" style="margin:0;line-height:1.35">{words}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live line; and, for a reader without a kernel, what it is for, the same on every machine."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/markdown": _STORED, "text/plain": _STORED}
