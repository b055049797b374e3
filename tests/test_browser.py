"""Every lesson in a real JupyterLab in a real browser: it opens, runs, and every knob changes its picture."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import nbformat
import pytest
from browser import Lab, Page, running_lab, why_not

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
NAMES = [path.name for path in sorted(LESSONS.glob("*.ipynb"))]
FEWEST_PIXELS = 20  # of 500 000: a knob whose picture changes less than this has not been seen to move


@pytest.fixture(scope="module")
def lab() -> Iterator[Lab]:
    if why_not():
        pytest.skip(why_not())
    with running_lab(LESSONS) as running:
        yield running


@pytest.fixture(scope="module", params=NAMES)
def lesson(lab: Lab, request: pytest.FixtureRequest) -> Iterator[tuple[str, Page]]:
    page = lab.open(request.param)
    yield request.param, page
    page.close()


def _stored_pictures(name: str) -> int:
    notebook = nbformat.read(LESSONS / name, as_version=4)
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    return sum("image/png" in output.get("data", {}) for output in outputs)


def test_a_lesson_in_a_browser(lesson: tuple[str, Page]) -> None:
    """Pictures stand there before anything runs; then all cells run, and each knob by keyboard changes its picture.

    Nothing may fail on the way: no cell, no script on the page. And no knob may make the page jump.
    """
    name, page = lesson
    wanted, deadline = _stored_pictures(name), time.monotonic() + 20
    while page.stored_pictures() != wanted and time.monotonic() < deadline:
        time.sleep(0.1)
    assert page.stored_pictures() == wanted, "a stored picture is not shown before the lesson is run"
    assert "model not found" not in page.text().lower()

    page.run_all()
    assert page.cell_errors() == []
    live = page.panels() + page.page.locator(".tunelib-take-panel").count()
    assert live == _stored_pictures(name), "not every stored picture became a live panel"

    for control in page.controls():
        moved = page.move(control)
        assert moved.pixels >= FEWEST_PIXELS, f"{control} was moved, and its picture stayed as it was"
        assert moved.jump < 1, f"{control} made the page jump"
    assert page.errors == []


def test_exercises_are_answered_by_keyboard_alone(lesson: tuple[str, Page]) -> None:
    """Tab, Space and Enter reach and work every part of a card, and JupyterLab keeps its hands off them."""
    _, page = lesson
    page.run_all()
    cards = page.page.locator(".tunelib-card")
    cells = page.page.locator(".jp-Cell").count()
    for number in range(cards.count()):
        card = cards.nth(number)
        field = card.locator("input[type=text]")
        if field.count():
            field.focus()
            page.page.keyboard.type("no idea")
            page.page.keyboard.press("Enter")
            card.get_by_text("I cannot read").wait_for()
            for _ in ("Check", "Hint"):
                page.page.keyboard.press("Tab")
            page.page.keyboard.press("Enter")
            card.get_by_text("Hint.", exact=True).wait_for()
            page.page.keyboard.press("Tab")
            page.page.keyboard.press("Space")
            card.get_by_text("Worked answer.", exact=True).wait_for()
        else:
            card.locator("button").first.focus()
            page.page.keyboard.press("Tab")
            page.page.keyboard.press("Space")
            card.locator("[role=status]").wait_for()
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for a card changed the notebook"
    assert page.errors == []


def test_the_ear_test_and_the_take_panel_work_by_keyboard_alone(lab: Lab) -> None:
    """The test of step 9 begins and takes an answer; step 10 listens to another take when asked."""
    page = lab.open("03_measuring_pitch.ipynb")
    page.run_all()
    ear = page.page.locator(".tunelib-ear-test")
    assert ear.locator("audio[src^=blob]").count() == 0, "a sound was there before anybody asked"
    ear.get_by_role("button", name="Begin").focus()
    page.page.keyboard.press("Enter")
    ear.get_by_text("0 trials").wait_for()
    page.page.keyboard.press("Tab")
    page.page.keyboard.press("Space")
    ear.get_by_text("1 trials").wait_for()
    take = page.page.locator(".tunelib-take-panel")
    take.scroll_into_view_if_needed()
    take.get_by_text("Furthest off: note 3 (7), −18.0 cents").wait_for()
    take.locator("select").first.focus()
    page.page.keyboard.press("End")
    page.page.keyboard.press("Tab")
    take.get_by_role("button", name="Listen").focus()
    page.page.keyboard.press("Enter")
    take.get_by_text("choose a recording first").wait_for()
    assert page.errors == []
    page.close()
