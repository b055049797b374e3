"""Questions and exercises for the steps of the course, by number: ``question(1)``, ``exercise(1)``.

And the map of the course, a learner's progress, daily practice for ear and voice, drills, reports on intonation, and
handouts.
"""

from tunelib.practice.blind_choice import blind_choice
from tunelib.practice.blind_tune import blind_tune
from tunelib.practice.by_division import by_division
from tunelib.practice.course_map import course_map
from tunelib.practice.division_drill import division_drill
from tunelib.practice.division_table import division_table
from tunelib.practice.ear_test import ear_test
from tunelib.practice.exercise_file import Exercise, parse_exercise, read_exercise
from tunelib.practice.handout import handout, handout_files
from tunelib.practice.lesson_page import lesson_pages
from tunelib.practice.listening import follow_exercise, listen_to, read_intended
from tunelib.practice.practice_card import practice_card
from tunelib.practice.practice_panel import practice
from tunelib.practice.progress import progress
from tunelib.practice.progress_line import progress_line
from tunelib.practice.reading_drill import reading_drill
from tunelib.practice.report_html import report_html
from tunelib.practice.steps import exercise, exercises, question
from tunelib.practice.take_panel import take_panel
from tunelib.practice.tune_panel import tune_panel

__all__ = [
    "Exercise",
    "blind_choice",
    "blind_tune",
    "by_division",
    "course_map",
    "division_drill",
    "division_table",
    "ear_test",
    "exercise",
    "exercises",
    "follow_exercise",
    "handout",
    "handout_files",
    "lesson_pages",
    "listen_to",
    "parse_exercise",
    "practice",
    "practice_card",
    "progress",
    "progress_line",
    "question",
    "read_exercise",
    "read_intended",
    "reading_drill",
    "report_html",
    "take_panel",
    "tune_panel",
]
