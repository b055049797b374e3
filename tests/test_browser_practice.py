"""Practice in a real browser: begun, heard, answered by number keys, compared, stopped; and nothing of it reaches the
notebook."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from browser import Lab, Page
from test_browser_live import _EAR, wait_for_silence, wait_for_sound

TALLEST = 599  # pixels that JupyterLab leaves at 1280 by 720
# What the lit buttons of the panel say, one after another.
_EYE = """
window.eye = {lit: []};
new MutationObserver(() => {
  const now = [...document.querySelectorAll('.tunelib-practice .tunelib-now')].map(button => button.textContent);
  if (now.length && String(now) !== String(eye.lit.at(-1))) { eye.lit.push(now); }
}).observe(document.querySelector('.tunelib-practice'), {subtree: true, childList: true, attributeFilter: ['class']});
"""
ONE_OF_EACH = """
import numpy as np
from tunelib.practice.ear_file import ear_history
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_plan import Turn
from tunelib.practice.ear_session import EarSession
"""
TURNS = """
panel = practice(seed=1)
panel.microphone.value = True
items = [Item.parse(item) for item in ("pure:3/2", "third:neutral", "harmonic:5", "play chord:C", "sing:9")]
panel.sitting._begin = lambda: EarSession(
    [Turn(items[1], listen=True), *map(Turn, items)], ear_history(), panel.settings(), np.random.default_rng(2),
    keep=panel._keep)
panel
"""


@pytest.fixture(scope="module")
def notebook(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells(
        "practice_cells.ipynb",
        ["from tunelib.practice import practice, practice_card", ONE_OF_EACH, TURNS, "practice_card(8, seed=1)"],
    )
    page.page.set_viewport_size({"width": 1280, "height": 720})
    page.page.locator(".tunelib-practice-card .tunelib-drill-go").wait_for()
    page.page.evaluate(_EAR)
    page.page.evaluate(_EYE)
    yield page
    assert page.errors == []
    page.close()


def panel(page: Page) -> Any:
    return page.page.locator(".tunelib-practice")


def words(page: Page, said: str) -> None:
    panel(page).locator(".tunelib-drill-words").get_by_text(said).wait_for()


def fits(page: Page) -> None:
    box = panel(page).bounding_box()
    assert box is not None and box["height"] <= TALLEST


def focus(page: Page) -> str:
    return str(page.tool("document.activeElement.textContent"))


def test_begin_is_pressed_and_nothing_sounds_before(notebook: Page) -> None:
    """Plain listening comes first: it sounds by itself after Begin, and the number keys flip between what is shown."""
    assert notebook.tool("ear.level()") == 0
    fits(notebook)
    panel(notebook).get_by_role("button", name="Begin").click()
    words(notebook, "Just listen")
    wait_for_sound(notebook)
    notebook.tool("eye.lit.length = 0")
    notebook.page.keyboard.press("2")
    [now] = notebook.tool("eye.lit.at(-1)")  # and no other
    assert "cents" in now
    wait_for_sound(notebook)
    fits(notebook)


def test_a_question_is_answered_by_number_keys_and_heard_again(notebook: Page) -> None:
    """Enter goes on, both sounds follow one another, a number answers, and numbers flip between what they were."""
    cells = notebook.page.locator(".jp-Cell").count()
    notebook.page.keyboard.press("Enter")
    words(notebook, "The same fifth twice. Which is pure?")
    assert focus(notebook).startswith("The same fifth"), "the question has the focus and is read out"
    wait_for_sound(notebook)
    both = '[["Sound 1"],["Sound 2"]]'
    notebook.page.wait_for_function("both => JSON.stringify(eye.lit.slice(-2)) === both", arg=both)
    wait_for_silence(notebook)
    notebook.page.keyboard.press("Space")
    wait_for_sound(notebook)
    fits(notebook)
    notebook.page.keyboard.press("1")
    panel(notebook).locator(".tunelib-drill-response").get_by_text("harmonic 3 of the lower note").wait_for()
    fits(notebook)
    for key in "121":
        notebook.page.keyboard.press(key)
        wait_for_sound(notebook)
    panel(notebook).get_by_role("button", name="pure, 3/2").wait_for()
    assert panel(notebook).get_by_role("progressbar").get_attribute("aria-valuetext") == "Turn 2 of 6"
    assert notebook.page.locator(".jp-Cell").count() == cells
    assert notebook.page.locator(".jp-Cell.jp-MarkdownCell").count() == 0, "no number made a heading of a cell"


def test_every_part_has_a_name_and_is_seen_to_have_the_keyboard(notebook: Page) -> None:
    stops = notebook.walk(".tunelib-practice .tunelib-drill")
    assert {stop.role for stop in stops} <= {"button", "slider", "checkbox"}
    assert all(stop.name and stop.frame >= 1 for stop in stops), [stop for stop in stops if stop.frame < 1]


def test_the_mouse_does_as_well(notebook: Page) -> None:
    panel(notebook).get_by_role("button", name="Next").click()
    words(notebook, "Which third is this?")
    panel(notebook).locator(".tunelib-drill-answer").first.click()
    panel(notebook).locator(".tunelib-drill-response").get_by_text("third has").wait_for()
    panel(notebook).get_by_role("button", name="Next").click()
    words(notebook, "One harmonic of this tone sticks out.")
    panel(notebook).locator(".tunelib-drill-sound", has_text="harmonic").first.click()
    wait_for_sound(notebook)
    fits(notebook)


def test_a_chord_is_played_on_the_keys(notebook: Page) -> None:
    """The keys take their letters for themselves; what was held is checked when the hand has left them."""
    panel(notebook).get_by_role("button", name="Skip").click()
    words(notebook, "A chord, its root the lowest note.")
    panel(notebook).locator(".tunelib-key.tunelib-lit").wait_for()
    fits(notebook)
    panel(notebook).locator(".tunelib-key.tunelib-lit").hover()
    notebook.page.mouse.down()
    wait_for_sound(notebook)
    notebook.page.mouse.up()
    panel(notebook).get_by_role("button", name="Check what I play").click()
    panel(notebook).locator(".tunelib-drill-response").get_by_text("none of them wrong").wait_for()
    panel(notebook).locator(".tunelib-keys").wait_for(state="detached")


def test_a_note_is_sung_to_the_needle(notebook: Page) -> None:
    panel(notebook).get_by_role("button", name="Next").click()
    words(notebook, "over the drone")
    panel(notebook).locator(".tunelib-needle-ladder").wait_for()
    panel(notebook).get_by_role("button", name="Listen").wait_for()
    fits(notebook)


def test_it_can_be_stopped_and_says_what_came_of_it(notebook: Page) -> None:
    panel(notebook).get_by_role("button", name="Stop for now").click()
    words(notebook, "answers right")
    panel(notebook).get_by_role("button", name="Progress").click()
    panel(notebook).get_by_text("on the machine that runs the lessons").wait_for()
    fits(notebook)
    panel(notebook).get_by_role("button", name="Settings").click()
    panel(notebook).get_by_role("checkbox", name="I sing or play into a microphone").wait_for()
    fits(notebook)


def test_a_card_is_worked_by_keys_alone(notebook: Page) -> None:
    card = notebook.page.locator(".tunelib-practice-card")
    card.get_by_role("button", name="Begin").focus()
    notebook.page.keyboard.press("Space")
    for number in (1, 2, 3):
        card.get_by_text(f"Turn {number} of 3").wait_for()
        notebook.page.keyboard.press("1")
        card.locator(".tunelib-drill-response").wait_for()
        notebook.page.keyboard.press("Enter")
    card.locator(".tunelib-drill-words").get_by_text("answers right").wait_for()
