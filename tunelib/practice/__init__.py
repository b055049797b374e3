"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``."""

from tunelib.practice.steps_01_07 import exercise, question

__all__ = ["exercise", "question"]
