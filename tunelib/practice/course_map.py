"""The map of the course: its lessons, each a link to its notebook, and what their steps teach."""

from __future__ import annotations

from tunelib import course


def course_map() -> CourseMap:
    """The map of the course, for a notebook in the folder of the lessons; ``print`` shows it in plain words."""
    return CourseMap()


class CourseMap:
    """The map; a notebook shows it as a table with links. Made by `course_map`."""

    def __str__(self) -> str:
        """The map in plain words."""
        lines = [self._summary]
        for lesson in course.LESSONS:
            lines += ["", lesson.heading, *(f"  {step.number} {step.about}" for step in lesson.steps)]
        return "\n".join(lines)

    __repr__ = __str__

    def _repr_markdown_(self) -> str:
        rows = [
            f"| [{lesson.heading}]({lesson.notebook}) | "
            + " · ".join(f"{step.number} {step.about}" for step in lesson.steps)
            + " |"
            for lesson in course.LESSONS
        ]
        return "\n".join([self._summary, "", "| lesson | steps |", "|---|---|", *rows])

    @property
    def _summary(self) -> str:
        minutes = [lesson.minutes for lesson in course.LESSONS]
        return (
            f"{len(course.LESSONS)} lessons, {len(course.all_steps())} steps, one idea each. A lesson takes "
            f"{min(minutes)} to {max(minutes)} minutes."
        )
