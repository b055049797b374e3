"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``.

Beside them, the map of the course, `course_map`, and how far a learner has come, `progress`.
"""

from tunelib.practice.course_map import course_map
from tunelib.practice.progress import progress
from tunelib.practice.steps import exercise, question

__all__ = ["course_map", "exercise", "progress", "question"]
