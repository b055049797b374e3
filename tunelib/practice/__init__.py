"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``.

And the map of the course, a learner's progress, daily practice for ear and voice, drills, reports on intonation, and
handouts.
"""

from tunelib.practice.course_map import course_map
from tunelib.practice.ear_test import ear_test
from tunelib.practice.exercise_file import Exercise, parse_exercise, read_exercise
from tunelib.practice.handout import ANSWERS, handout, handout_pdf
from tunelib.practice.lesson_page import lesson_pages
from tunelib.practice.listening import follow_exercise, listen_to, read_intended
from tunelib.practice.practice_card import practice_card
from tunelib.practice.practice_panel import practice
from tunelib.practice.progress import progress
from tunelib.practice.reading_drill import reading_drill
from tunelib.practice.report_html import report_html
from tunelib.practice.steps import exercise, question
from tunelib.practice.take_panel import take_panel
from tunelib.practice.tune_panel import tune_panel

__all__ = [
    "ANSWERS",
    "Exercise",
    "course_map",
    "ear_test",
    "exercise",
    "follow_exercise",
    "handout",
    "handout_pdf",
    "lesson_pages",
    "listen_to",
    "parse_exercise",
    "practice",
    "practice_card",
    "progress",
    "question",
    "read_exercise",
    "read_intended",
    "reading_drill",
    "report_html",
    "take_panel",
    "tune_panel",
]
