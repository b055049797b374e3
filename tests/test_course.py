"""The table of the course: what goes by it, and that a step needs its entry, its practice and its lesson alone."""

from __future__ import annotations

import importlib
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import nbformat
import pytest
from IPython.core.formatters import DisplayFormatter
from nbformat.v4 import new_code_cell, new_markdown_cell
from poppler import poppler, words
from test_lessons import off_the_table

from tunelib import course
from tunelib.course import LESSONS, Lesson, Step, all_steps, lesson_of, places_of
from tunelib.exhibits import EXHIBITS
from tunelib.practice import course_map, exercise, progress, question
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.handout import handout

TOP = Path(__file__).resolve().parent.parent


def test_steps_and_lessons_are_numbered_as_they_come() -> None:
    assert [lesson.number for lesson in LESSONS] == list(range(1, len(LESSONS) + 1))
    assert [step.number for step in all_steps()] == list(range(1, len(all_steps()) + 1))
    assert all(lesson.steps for lesson in LESSONS)


def test_every_lesson_has_its_notebook_and_every_notebook_with_a_number_its_lesson() -> None:
    found = {path.name for path in (TOP / "lessons").glob("[0-9]*.ipynb")}
    assert found == {"00_start_here.ipynb"} | {lesson.notebook for lesson in LESSONS}


def test_every_practice_file_is_of_a_lesson_and_has_the_questions_and_exercises_of_its_steps_alone() -> None:
    files = {path.stem for path in (TOP / "tunelib" / "practice").glob("on_*.py")}
    assert files == {lesson.practice for lesson in LESSONS}
    for lesson in LESSONS:
        module = importlib.import_module(f"tunelib.practice.{lesson.practice}")
        made = {name for name in vars(module) if re.match(r"(question|exercise)_", name)}
        always = {f"{kind}_{step.number}" for kind in ("question", "exercise") for step in lesson.steps}
        assert always <= made <= always | {f"exercise_{step.number}_in_numbers" for step in lesson.steps}


def test_every_exhibit_of_a_step_exists() -> None:
    for step in all_steps():
        assert step.exhibits and set(step.exhibits) <= set(EXHIBITS), f"step {step.number} shows {step.exhibits}"


def test_the_readme_has_every_lesson_in_its_order_with_its_minutes() -> None:
    text = (TOP / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| \[`(\d\d_\w+)`\]\(lessons/(\w+\.ipynb)\) \|.*\| (\d+) \|$", text, flags=re.MULTILINE)
    assert rows[1:] == [(lesson.name, lesson.notebook, str(lesson.minutes)) for lesson in LESSONS]


@pytest.mark.parametrize("number", [0, len(all_steps()) + 1, True, 1.0, "1", None])
def test_a_step_that_the_course_does_not_have_is_refused(number: Any) -> None:
    with pytest.raises(ValueError, match=f"no step {number!r} here: steps run from 1 to {len(all_steps())}"):
        lesson_of(number)


# --- A step that is made up: one entry in the table, one practice file, one lesson -----------------------------------

NEW = Step(len(all_steps()) + 1, "Cadences that vanish", ("going_round", "wave"), "cadences that vanish: a test")


def question_new() -> Question:
    return Question("Which cadence vanishes?", Choice(("This one.", "That one."), 0, ("It does.", "It does not.")))


def exercise_new() -> Exercise:
    return Exercise("How many cadences vanish?", Quantity(7), hint="Fewer than eight.", worked="There are 7 of them.")


@pytest.fixture
def entered(monkeypatch: pytest.MonkeyPatch) -> Lesson:
    """The last lesson, with a step more in the table of the course."""
    lesson = replace(LESSONS[-1], steps=(*LESSONS[-1].steps, NEW))
    monkeypatch.setattr(course, "LESSONS", (*LESSONS[:-1], lesson))
    return lesson


@pytest.fixture
def practised(entered: Lesson, monkeypatch: pytest.MonkeyPatch) -> Lesson:
    """The same, with the question and the exercise of the step in the practice file."""
    module = importlib.import_module(f"tunelib.practice.{entered.practice}")
    monkeypatch.setattr(module, f"question_{NEW.number}", question_new, raising=False)
    monkeypatch.setattr(module, f"exercise_{NEW.number}", exercise_new, raising=False)
    return entered


def text_of(shown: Any) -> str:
    """What a reader without a kernel sees of something shown in a notebook."""
    data, _ = DisplayFormatter().format(shown)
    return "\n".join(str(data[kind]) for kind in ("text/markdown", "text/html", "text/plain") if kind in data)


def test_the_map_has_every_step_in_the_words_of_the_table_and_links_to_every_lesson() -> None:
    data, _ = DisplayFormatter().format(course_map())
    for lesson in LESSONS:
        for said in (data["text/markdown"], data["text/plain"]):
            assert lesson.heading in said
            assert all(f"{step.number} {step.about}" in said for step in lesson.steps)
        assert f"[{lesson.heading}]({lesson.notebook})" in data["text/markdown"]
    assert f"{len(LESSONS)} lessons, {len(all_steps())} steps" in data["text/plain"]


def test_the_stored_map_is_the_one_of_the_table() -> None:
    """Which is what a reader of the repository sees, before anything is run."""
    cells = nbformat.read(TOP / "lessons" / "00_start_here.ipynb", as_version=4).cells
    stored = [output for cell in cells if "course_map()" in cell.source for output in cell.outputs]
    fresh, _ = DisplayFormatter().format(course_map())
    assert [output.data["text/markdown"] for output in stored] == [fresh["text/markdown"]]


def test_a_new_step_is_on_the_map_in_the_list_of_progress_and_in_the_index(entered: Lesson) -> None:
    assert f"· {NEW.number} cadences that vanish: a test |" in text_of(course_map())
    assert f"{len(LESSONS)} lessons, {NEW.number} steps, one idea each" in text_of(course_map())
    listed = progress().list.value
    assert f">{NEW.number}</td>" in listed and ">cadences that vanish: a test</td>" in listed
    assert f"0 of {len(entered.steps)} solved" in listed
    assert (entered, NEW) in places_of("wave")


def test_a_new_step_is_asked_checked_and_printed(practised: Lesson, tmp_path: Path) -> None:
    assert question(NEW.number).check("A").right and not question(NEW.number).check("B").right
    assert exercise(NEW.number).check("7").right and exercise(NEW.number).step == NEW.number
    cells = [f"# {practised.heading}", f"## {NEW.heading}", f">>> question({NEW.number})\nexercise({NEW.number})"]
    made = [
        {"cell_type": "code" if cell.startswith(">>> ") else "markdown", "source": cell.removeprefix(">>> ")}
        for cell in cells
    ]
    (tmp_path / practised.notebook).write_text(json.dumps({"cells": made}), encoding="utf-8")
    printed = handout(tmp_path / practised.notebook, tmp_path / "a.pdf", answers=True)
    text = words(poppler("pdftotext", printed, "-"))
    for part in (NEW.heading, "Which cadence vanishes?", "How many cadences vanish?", "There are 7 of them."):
        assert part in text


@pytest.mark.usefixtures("entered")
def test_a_step_without_its_question_is_told_where_to_write_it() -> None:
    for asked, name in ((question, "question"), (exercise, "exercise")):
        wanted = f"has no {name} yet: write {name}_{NEW.number}() in tunelib/practice/{LESSONS[-1].practice}.py"
        with pytest.raises(ValueError, match=re.escape(wanted)):
            asked(NEW.number)


def test_a_lesson_without_its_practice_file_is_told_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(course, "LESSONS", (*LESSONS, Lesson(10, "Nothing yet", 15, (NEW,))))
    with pytest.raises(ValueError, match=re.escape("in tunelib/practice/on_nothing_yet.py")):
        question(NEW.number)


def test_a_new_step_is_wanted_in_its_lesson(entered: Lesson) -> None:
    """The stored lesson, which does not have it, is found out; with its cells it is as it should be."""
    notebook = nbformat.read(TOP / "lessons" / entered.notebook, as_version=4)
    assert off_the_table(notebook, entered) == [f"has {len(entered.steps) - 1} steps instead of {len(entered.steps)}"]
    shown = [new_code_cell(f'panel("{name}")') for name in NEW.exhibits]
    at = next(n for n, cell in enumerate(notebook.cells) if cell.source.startswith("## What to remember"))
    notebook.cells[at:at] = [new_markdown_cell(f"## {NEW.heading}"), *shown]
    assert off_the_table(notebook, entered) == []
