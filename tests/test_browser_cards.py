"""Exercises that are answered by playing, as a learner does it in JupyterLab: the keys sound there, Python answers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from browser import Lab, Page

from tunelib.practice import exercise


@pytest.fixture(scope="module")
def notebook(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells(
        "cards.ipynb",
        [
            "from tunelib.practice import exercise, reading_drill",
            "exercise(25)",
            "exercise(29)",
            "exercise(22, numbers=True)",
            "drill = reading_drill('flute', 4)\ndrill.wish.value = True\ndrill",
        ],
    )
    yield page
    page.close()


def codes(step: int) -> dict[int, str]:
    """The places of a computer keyboard that play each step on the keys of an exercise."""
    places = exercise(step).answer.instrument().board["keys"]
    return {place["step"]: place["code"] for place in places if place["code"]}


def play(page: Page, keys: Any, places: dict[int, str], *steps: int) -> None:
    """Hold notes together, by letters of the computer keyboard, and let them go at once."""
    keys.locator(".tunelib-key").first.focus()
    for step in steps:
        page.page.keyboard.down(places[step])
    for step in steps:
        page.page.keyboard.up(places[step])


def test_a_chord_is_played_by_letters_and_checked_after_the_hand_has_left_them(lab: Lab, notebook: Page) -> None:
    """Even if it has left them before Python has time to hear of the first."""
    card = notebook.page.locator(".tunelib-card").first
    cells = notebook.page.locator(".jp-Cell").count()
    with lab.busy(notebook):
        play(notebook, card, codes(25), 5, 13, 23)
    card.get_by_role("button", name="Check what I play").click()
    card.get_by_text(exercise(25).check("D F A").message).wait_for()
    play(notebook, card, codes(25), 5, 16, 23)
    card.get_by_role("button", name="Check what I play").click()
    card.get_by_text("Yes: D").wait_for()
    assert notebook.page.locator(".jp-Cell").count() == cells and notebook.errors == []


def test_a_voice_is_played_note_by_note(notebook: Page) -> None:
    card = notebook.page.locator(".tunelib-card").nth(1)
    voice, higher = (20, 18, 15, 12, 10), "F is the minor seventh of G."
    for number, step in enumerate((*voice[:3], 13, *voice), start=-3):
        play(notebook, card, codes(29), step)
        so_far = "Yes: G♯, G, F♯, F½♭ and E." if number == 5 else "Right so far: G♯"
        card.get_by_text(higher if number == 0 else so_far).wait_for()
    assert notebook.errors == []


def test_a_card_has_one_volume(notebook: Page) -> None:
    """Where there is something to hear first it is in that row, otherwise beside the keys"""
    for place, beside in ((0, ".tunelib-sounding"), (2, ".tunelib-keys")):
        card = notebook.page.locator(".tunelib-card").nth(place)
        card.locator(".tunelib-key").first.wait_for()
        assert card.locator(".tunelib-volume-slider:visible").count() == 1
        assert card.locator(f"{beside} .tunelib-volume-slider").is_visible()
    assert notebook.errors == []


def test_a_note_that_is_read_is_played(notebook: Page) -> None:
    drill = notebook.page.locator(".tunelib-reading-drill")
    drill.get_by_text("Note 1 of 4").wait_for()
    drill.locator(".tunelib-key").first.click()
    drill.get_by_text("That key is").wait_for()
    assert notebook.errors == []
