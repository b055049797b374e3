"""The line that says how far a learner has come, in a notebook and on a page without Python."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from IPython.core.formatters import DisplayFormatter

from tunelib.course import LESSONS, all_steps
from tunelib.files import write_set
from tunelib.practice import exercise, lesson_pages, progress_line
from tunelib.practice.progress import PROGRESS_FILE, Done, keep_try
from tunelib.practice.progress_line import progress_in_words

STEPS = [step.number for step in all_steps()]
SOLVED = Done(tries=1, right="2026-05-03T18:20:11+00:00")


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path))
    PROGRESS_FILE.__init__()  # type: ignore[misc]
    yield tmp_path / "progress.json"
    PROGRESS_FILE.__init__()  # type: ignore[misc]


def test_the_line_names_the_next_step_from_this_lesson_on_and_then_from_the_beginning() -> None:
    second = LESSONS[1]
    assert "step 4 ✓, step 5, " in progress_in_words(second, {4: SOLVED, 5: Done(tries=2)})
    assert progress_in_words(second, {4: SOLVED}).endswith("Next: step 5.")
    assert progress_in_words(second, dict.fromkeys(STEPS[1:], SOLVED)).endswith("Next: step 1.")
    assert progress_in_words(second, dict.fromkeys(STEPS, SOLVED)).endswith("All of them: well done.")
    assert f"Solved so far: 0 of {len(STEPS)}" in progress_in_words(second, {99: SOLVED}), "no step of the course"


def test_it_changes_as_soon_as_an_exercise_is_solved_and_when_all_is_forgotten(file: Path) -> None:
    line = progress_line("01_waves")
    assert "step 1, step 2" in line.value
    exercise(1, numbers=True).card.entry.value = "2.27 ms"
    assert "step 1 ✓" in line.value and "Next: step 2." in line.value
    keep_try(2, True, pytest.fail)
    assert "Next: step 3." in line.value
    PROGRESS_FILE.forget()
    assert "Solved so far: 0" in line.value


def test_a_reader_without_a_kernel_is_told_what_it_is_for_the_same_on_every_machine(file: Path) -> None:
    fresh = DisplayFormatter().format(progress_line(1))[0]
    keep_try(1, True, pytest.fail)
    later = DisplayFormatter().format(progress_line(1))[0]
    assert {kind: words for kind, words in fresh.items() if "text/" in kind}.items() <= later.items()


@pytest.mark.parametrize("lesson", ["10_more", 0, True, None])
def test_an_unknown_lesson_is_named_with_those_that_there_are(lesson: Any) -> None:
    with pytest.raises(ValueError, match="01_waves, 02_overtones"):
        progress_line(lesson)


def test_a_page_says_the_same_as_a_notebook(chromium: Any, tmp_path: Path) -> None:
    cells = [
        {"cell_type": "markdown", "source": "# Cards"},
        {"cell_type": "code", "source": 'progress_line("01_waves")'},
        {"cell_type": "code", "source": "exercise(3, numbers=True)"},
        {"cell_type": "markdown", "source": "### In numbers", "metadata": {"tags": ["folded"]}},
        {"cell_type": "markdown", "source": "Sums."},
        {"cell_type": "markdown", "source": "### Your turn"},
        {"cell_type": "markdown", "source": "Play."},
    ]
    notebook = tmp_path / "cards.ipynb"
    notebook.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": cells}))
    (address,) = [path for path in write_set(lesson_pages([notebook]), tmp_path / "site") if path.stem == "cards"]
    page = chromium.new_context().new_page()
    page.goto(address.as_uri())
    line = page.locator(".tunelib-progress-line")
    assert line.inner_text() == progress_in_words(LESSONS[0], {})
    page.get_by_role("textbox").fill("3/2")
    page.get_by_role("textbox").press("Enter")
    page.wait_for_function("() => document.querySelector('.tunelib-progress-line').textContent.includes('step 3 ✓')")
    assert line.inner_text() == progress_in_words(LESSONS[0], {3: SOLVED})
    sums, play = page.get_by_text("Sums.", exact=True), page.get_by_text("Play.", exact=True)
    assert not sums.is_visible() and play.is_visible(), "only what is under the folded heading is folded"
    page.get_by_text("In numbers", exact=True).click()
    assert sums.is_visible()
    shutil.rmtree(tmp_path / "site")
    page.context.close()
