"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``."""

from tunelib.practice.course import exercise, question

__all__ = ["exercise", "question"]
