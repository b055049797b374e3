"""Questions and exercises on a page without Python, as a learner works on them in a real browser, from a file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tunelib.course import all_steps
from tunelib.files import write_set
from tunelib.practice import exercise, lesson_pages, question

STEPS = (1, 3, 4, 25)
IN_NUMBERS = dict.fromkeys((1, 3), ", numbers=True")  # of these the exercise in numbers, to write in
STORED = "tunelib.progress"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A page with some questions and exercises, and the list of progress."""
    folder = tmp_path_factory.mktemp("cards")
    asked = [call for step in STEPS for call in (f"question({step})", f"exercise({step}{IN_NUMBERS.get(step, '')})")]
    cells = [{"cell_type": "code", "source": source} for source in (*asked, "progress()")]
    cells.insert(0, {"cell_type": "markdown", "source": "# Cards"})
    notebook = folder / "cards.ipynb"
    notebook.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": cells}))
    made = write_set(lesson_pages([notebook]), folder / "site")
    return next(path for path in made if path.stem == "cards").as_uri()


class Cards:
    """The page in a browser, with its cards by the names of the calls that made them."""

    def __init__(self, page: Any, address: str) -> None:
        self.page, self._address = page, address
        self.faults: list[str] = []
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda message: self.faults.append(message.text) if message.type == "error" else None)
        page.on("request", lambda request: self._ask(request.url))
        self.open()

    def _ask(self, url: str) -> None:
        if not url.startswith(("file:", "data:", "blob:")):
            self.faults.append(f"asked for {url}")

    def open(self) -> None:
        self.page.goto(self._address)

    def card(self, kind: str, step: int) -> Any:
        place = 1 + 2 * STEPS.index(step) + (kind == "exercise")
        card = self.page.locator(f"#{kind}-{place}")
        card.scroll_into_view_if_needed()
        card.locator(".tunelib-card-response").wait_for(state="attached")
        return card

    def write(self, step: int, text: str) -> str:
        card = self.card("exercise", step)
        card.get_by_role("textbox").fill(text)
        card.get_by_role("textbox").press("Enter")
        return self.said(card)

    @staticmethod
    def said(card: Any) -> str:
        return str(card.locator(".tunelib-card-response").inner_text())

    @property
    def stored(self) -> Any:
        return json.loads(self.page.evaluate(f"localStorage.getItem('{STORED}')") or "null")


@pytest.fixture
def cards(chromium: Any, address: str) -> Iterator[Cards]:
    context = chromium.new_context()
    cards = Cards(context.new_page(), address)
    yield cards
    assert cards.faults == []
    context.close()


def test_a_question_is_answered_by_pressing_a_choice(cards: Cards) -> None:
    card = cards.card("question", 3)
    for place, choice in enumerate(question(3).answer.lettered):
        card.get_by_role("button", name=choice).click()
        reply = question(3).check("ABC"[place])
        assert cards.said(card) == f"{'✓ ' if reply.right else ''}{reply.message}"
    assert card.get_by_role("button", name="Hint").count() == 0
    assert cards.stored is None, "a guess before listening is not kept"


def test_an_exercise_goes_from_try_to_hint_to_worked_answer(cards: Cards) -> None:
    card, worked = cards.card("exercise", 3), exercise(3, numbers=True).worked
    button = card.get_by_role("button", name="Worked answer")
    assert button.is_disabled()
    assert cards.write(3, "2:3") == exercise(3, numbers=True).check("2:3").message
    assert button.is_enabled()
    card.get_by_role("button", name="Hint").click()
    assert exercise(3, numbers=True).hint.split("\n")[0] in cards.said(card)
    button.click()
    assert worked.split("\n")[0] in cards.said(card)
    assert cards.write(3, "3/2") == "✓ Yes: 3/2."
    live = card.locator(".tunelib-card-response")
    assert (live.get_attribute("role"), live.get_attribute("aria-live")) == ("status", "polite")


def test_all_of_it_works_by_keyboard(cards: Cards) -> None:
    card = cards.card("exercise", 1)
    card.get_by_role("textbox").focus()
    cards.page.keyboard.type("2.27 ms")
    cards.page.keyboard.press("Tab")
    assert cards.said(card).startswith("✓")
    cards.page.keyboard.press("Tab")
    cards.page.keyboard.press("Space")
    assert cards.said(card).startswith("Hint.")


def test_progress_is_kept_as_the_notebooks_keep_it(cards: Cards) -> None:
    cards.write(3, "5/4")
    cards.write(3, "5/4")  # the same once more is no other try
    cards.card("exercise", 3).get_by_role("button", name="Hint").click()
    assert cards.stored == {"format": 1, "steps": {"3": {"tries": 1, "right": "", "hint": True, "worked": False}}}
    cards.write(3, "3/2")
    cards.write(3, "4/3")  # once it was right, nothing changes
    kept = cards.stored["steps"]["3"]
    assert (kept["tries"], kept["hint"], kept["worked"]) == (2, True, False)
    cards.open()
    assert "✓ Solved before, on " in cards.card("exercise", 3).inner_text()
    cards.page.locator(".progress").scroll_into_view_if_needed()
    listed = cards.page.locator(".tunelib-progress")
    listed.wait_for()
    assert f"1 of {len(all_steps())} exercises solved." in listed.inner_text()
    assert ", in 2 tries, with the hint" in listed.inner_text()
    listed.get_by_role("button", name="Forget my progress").click()
    listed.get_by_role("button", name="Yes, forget it all").click()
    assert cards.stored is None and f"0 of {len(all_steps())}" in listed.inner_text()


def test_what_is_not_understood_is_no_try(cards: Cards) -> None:
    assert cards.write(3, "qwertz").startswith("I cannot read")
    assert cards.stored is None
    assert cards.write(3, "3/2") == "✓ Yes: 3/2."
    assert cards.stored["steps"]["3"]["tries"] == 1


def test_what_the_page_keeps_is_what_python_reads(cards: Cards, tmp_path: Path, monkeypatch: Any) -> None:
    from tunelib.practice.progress import everything_done

    cards.write(1, "1 ms")
    cards.write(3, "3/2")
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path))
    (tmp_path / "progress.json").write_text(json.dumps(cards.stored))
    found = everything_done()
    assert (found[1].tries, found[1].right) == (1, "")
    assert (found[3].tries, bool(found[3].day)) == (1, True)


@pytest.mark.parametrize("refused", ["get() { throw new DOMException('no', 'SecurityError'); }", "value: undefined"])
def test_where_storage_is_refused_all_works_and_says_so(chromium: Any, address: str, refused: str) -> None:
    context = chromium.new_context()
    context.add_init_script(f"Object.defineProperty(window, 'localStorage', {{{refused}}});")
    cards = Cards(context.new_page(), address)
    assert cards.write(3, "3/2") == "✓ Yes: 3/2."
    assert "not being kept" in cards.card("exercise", 3).inner_text()
    cards.page.locator(".progress").scroll_into_view_if_needed()
    listed = cards.page.locator(".tunelib-progress")
    listed.wait_for()
    assert "1 of" in listed.inner_text() and "as long as this page is open" in listed.inner_text()
    assert cards.faults == []
    context.close()


@pytest.mark.parametrize("stored", ["not JSON", "[1]", '{"format": 1, "steps": {"3": {"tries": "many"}}}', "null"])
def test_progress_that_is_damaged_is_put_aside(cards: Cards, stored: str) -> None:
    cards.page.evaluate("([place, stored]) => localStorage.setItem(place, stored)", [STORED, stored])
    cards.open()
    assert cards.write(3, "3/2") == "✓ Yes: 3/2."
    assert cards.stored["steps"]["3"]["tries"] == 1
    assert cards.page.evaluate(f"localStorage.getItem('{STORED}.damaged')") == stored


def test_progress_of_a_later_version_is_left_alone(cards: Cards) -> None:
    cards.page.evaluate("place => localStorage.setItem(place, '{\"format\": 2}')", STORED)
    cards.open()
    assert cards.write(3, "3/2") == "✓ Yes: 3/2."
    assert cards.stored == {"format": 2}
    assert "not being kept" in cards.card("exercise", 3).inner_text()


def key(card: Any, step: int, sounding: int) -> Any:
    """The key of a card that sounds a step."""
    places = exercise(step).answer.instrument().board["keys"]
    number = next(n for n, place in enumerate(places) if place["step"] == sounding)
    return card.locator(f'.tunelib-key[data-n="{number}"]')


def test_a_sequence_is_checked_as_it_is_played(cards: Cards) -> None:
    card, steps = cards.card("exercise", 4), exercise(4).answer.steps
    key(card, 4, steps[1]).click()
    assert "That is harmonic 2." in cards.said(card)
    assert card.get_by_role("button", name="Worked answer").is_disabled(), "to try the keys is no try"
    for number, step in enumerate(steps[:3], start=1):
        key(card, 4, step).click()
        assert cards.said(card).startswith("Right so far: C2") and cards.said(card).count(" and ") == (number > 1)
    key(card, 4, steps[3] + 1).click()
    assert cards.said(card) == "Note 4, C♯4, is too high: above G3 it is an augmented fourth."
    for step in steps:
        key(card, 4, step).click()
    assert cards.said(card) == "✓ Yes: C2, C3, G3, C4, E4 and G4."
    assert cards.stored["steps"]["4"]["tries"] == 2


def test_begin_again_forgets_what_was_played(cards: Cards) -> None:
    card, steps = cards.card("exercise", 4), exercise(4).answer.steps
    key(card, 4, steps[0]).click()
    card.get_by_role("button", name="Begin again").click()
    for step in steps:
        key(card, 4, step).click()
    assert cards.said(card).startswith("✓")


def test_a_chord_is_checked_as_it_was_held(cards: Cards) -> None:
    """By several fingers, which have left the keys before the button is pressed."""
    card = cards.card("exercise", 25)

    def hold(*steps: int) -> None:
        for finger, step in enumerate(steps, start=2):
            down = {"pointerId": finger, "button": 0, "bubbles": True}
            key(card, 25, step).dispatch_event("pointerdown", down)
        for finger in range(2, 2 + len(steps)):
            cards.page.evaluate("id => window.dispatchEvent(new PointerEvent('pointerup', {pointerId: id}))", finger)
        card.get_by_role("button", name="Check what I play").click()

    hold(5, 16, 22)
    assert cards.said(card) == "A½♭ is a little too low: above D it is a sub fifth."
    hold(5, 13, 23)
    assert cards.said(card) == exercise(25).check("D F A").message
    hold(5, 16, 23)
    assert cards.said(card).startswith("✓ Yes: D")
    assert cards.stored["steps"]["25"]["tries"] == 3


def test_what_is_played_can_be_written_instead(cards: Cards) -> None:
    assert cards.write(25, "E Gh# B") == exercise(25).check("E Gh# B").message
    assert cards.write(25, "C Eh# G").startswith("✓")


def test_without_scripts_all_the_words_are_there(chromium: Any, address: str) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    words = page.locator("#exercise-8").inner_text()
    assert exercise(25).prompt in words and exercise(25).answer.ways in words and "Worked answer" in words
    context.close()


def test_what_a_question_is_about_is_heard_and_flipped_between(cards: Cards) -> None:
    card = cards.card("question", 1)
    row = card.locator(".tunelib-sounding")
    names = [sound.name for sound in question(1).sounds]
    assert row.locator(".tunelib-way").all_inner_texts() == names == ["First", "Second"]
    row.get_by_label("Hold").check()  # or it might be over before all is pressed
    row.get_by_role("button", name="Hear it").click()
    row.get_by_role("button", name="Stop").wait_for()
    row.get_by_role("button", name="Second").click()
    assert row.get_by_role("button", name="Second").get_attribute("aria-pressed") == "true"
    assert row.get_by_role("button", name="Stop").count() == 1, "the flip fell silent"
    row.get_by_role("button", name="Stop").click()
    row.get_by_role("button", name="Hear it").wait_for()
    assert cards.card("question", 25).locator(".tunelib-sounding").count() == bool(question(25).sounds)
