"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``; and `progress`."""

from tunelib.practice.course import exercise, question
from tunelib.practice.progress import progress

__all__ = ["exercise", "progress", "question"]
