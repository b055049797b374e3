"""The live needle before a microphone that hears known sounds: what it shows, how soon, and what it says of that."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import PATIENCE_MS, Lab, Page, why_not
from needle_page import RATE, hearing_browser, listening, needle_page, wait_for_shown, watch

from tunelib.files import write_set
from tunelib.live import needle
from tunelib.practice import lesson_pages

TARGET = "E4"
NOTES = needle(31).notes
STEP = 1200 / 31
HERTZ = NOTES.hz(NOTES.step(TARGET))
AT = NOTES.tuning.cents_of(NOTES.step(TARGET))  # cents above step 0
LATEST, LATEST_AT_WORST = 0.1, 0.25  # seconds of sound


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A browser with a microphone, in place of the one that other files share."""
    if why_not():
        pytest.skip(why_not())
    with hearing_browser() as browser:
        yield browser


@pytest.fixture(scope="module")
def page(chromium: Any) -> Iterator[Any]:
    with needle_page(chromium, needle(31, target=TARGET), viewport={"width": 1000, "height": 640}) as page:
        yield page


def tone(cents: np.ndarray, hertz: float = HERTZ) -> np.ndarray:
    """A sound with partials at so many cents from a frequency, sample by sample."""
    turns = np.cumsum(hertz * 2 ** (cents / 1200)) / RATE
    return np.asarray(0.05 * sum(np.sin(2 * np.pi * n * turns + n * n) / n for n in range(1, 9)))


def steps(*cents: float, each: float = 1.0) -> np.ndarray:
    """Notes of equal length, slurred."""
    return tone(np.repeat(np.array(cents), round(each * RATE)))


def meter(page: Any) -> str:
    return str(page.get_by_role("meter").get_attribute("aria-valuetext"))


def test_notes_off_by_known_cents_are_shown_within_one_and_neighbours_are_leapt_to(page: Any) -> None:
    played = (0.0, -12.0, STEP - 5, 2 * STEP, STEP, 7.0)
    each = 1.5
    shown = listening(page, steps(*played, each=each))
    for place, cents in enumerate(played):
        still = shown.between(each * place + 0.5, each * place + 1.48)
        assert np.abs(still.cents - AT - cents).max() < 1, f"note {place + 1}"
    for place, way in enumerate(np.abs(np.diff(played)), start=1):
        moves = np.abs(np.diff(shown.between(each * place - 0.5, each * place + 0.5).cents))
        assert way < STEP / 2 or moves.max() > 0.6 * way, "from step to step it leaps most of the way in one picture"
    assert np.sum(np.abs(np.diff(shown.between(0.5, 8.9).cents)) > 0.6 * STEP) <= 4, "and nowhere else"


def test_it_follows_a_tenth_of_a_second_of_sound_later(page: Any) -> None:
    """How often it is drawn is the machine's affair: what counts is how much has been heard when it is not there yet"""
    played = np.array([0, 1, 3, 2, 0, 2, 3, 1]) * STEP
    shown = listening(page, steps(*played))
    delays = []
    for place in range(1, played.size):
        after = shown.between(place, place + 1)
        there = np.abs(after.cents - AT - played[place]) < 5
        assert there.any(), f"note {place + 1} was not shown"
        delays.append(max(after.seconds[~there] - place, default=0))
    assert np.median(delays) < LATEST and max(delays) < LATEST_AT_WORST


def test_a_glide_is_followed_within_a_tenth_of_a_second(page: Any) -> None:
    shown = listening(page, tone(100 * np.arange(3 * RATE) / RATE))
    inside = shown.between(0.7, 2.9)
    late = inside.seconds - (inside.cents - AT) / 100
    assert np.median(late) < 0.12


def test_an_octave_is_believed_only_when_it_lasts(page: Any) -> None:
    """An octave for a twelfth of a second is what a pitch finder errs by; one that lasts is sung"""
    cents = np.zeros(4 * RATE)
    cents[RATE : RATE + RATE // 12] = 1200
    cents[2 * RATE :] = 1200
    shown = listening(page, tone(cents))
    assert np.abs(shown.between(0.5, 2).cents - AT).max() < 5
    assert np.abs(shown.between(2.35, 3.9).cents - AT - 1200).max() < 1


def test_a_vibrato_stands_at_its_middle_and_shows_its_width(page: Any) -> None:
    shown = listening(page, tone(4 + 40 * np.sin(2 * np.pi * 5.5 * np.arange(3 * RATE) / RATE)))
    settled = shown.between(1, 2.9)
    assert np.abs(settled.cents - AT - 4).max() < 3
    assert np.median(settled.swing) == pytest.approx(40, abs=4)
    straight = listening(page, steps(4.0, each=2.0)).between(0.8, 1.9)
    assert not straight.swing.any()


def test_after_the_sound_it_holds_for_half_a_second_and_then_shows_nothing(page: Any) -> None:
    shown = listening(page, np.concatenate((steps(0.0), np.zeros(RATE * 3 // 2))))
    held = shown.between(1.2, 1.45)
    assert np.isfinite(held.cents).all() and not held.sounds.any()
    assert np.isnan(shown.between(1.7, 2.4).cents).all()


def test_what_is_unclear_shows_nothing_and_is_said_to_be_so(page: Any) -> None:
    """Noise, and then a tone that is hardly louder than the noise"""
    dice, said = np.random.default_rng(1), []
    for played in (np.zeros(RATE), tone(np.zeros(RATE))):
        hiss = np.std(tone(np.zeros(RATE))) * dice.standard_normal(RATE)
        shown = listening(page, hiss + played, lambda: said.append(meter(page)))
        assert np.isfinite(shown.between(0.1, 0.9).cents).mean() < 0.02
    assert said == ["no clear pitch"] * 2


def test_what_it_shows_is_told_in_words_twice_a_second_at_most(page: Any) -> None:
    page.evaluate("""() => {
      window.told = {values: [], words: []};
      const watch = (element, list, options) => {
        new MutationObserver(() => list.push(performance.now())).observe(element, options);
      };
      watch(document.querySelector("[role=meter]"), told.values, {attributeFilter: ["aria-valuetext"]});
      watch(document.querySelector(".tunelib-needle-off"), told.words, {childList: true});
    }""")
    shown = listening(page, tone(np.linspace(-12, 12, 3 * RATE)))
    said = shown.between(2.6, 3.2).said
    assert said.size and all(words.startswith("E 4, ") and words.endswith(" cents sharp") for words in said)
    told = page.evaluate("() => told")
    assert len(told["values"]) >= 4 and np.diff(told["values"]).mean() > 495
    assert len(told["words"]) >= 8 and np.diff(told["words"]).mean() > 195
    now: list[str] = []
    values = "meter => ['text', 'min', 'now', 'max'].map(each => meter.getAttribute(`aria-value${each}`))"
    listening(page, steps(-STEP, each=3.0), lambda: now.extend(page.get_by_role("meter").evaluate(values)), 1.5)
    assert now[0] == "E half-flat 4, 39 cents flat of E 4"
    assert page.get_by_role("meter").get_attribute("aria-label") == "Pitch, in cents from E 4"
    low, there, high = (float(each) for each in now[1:])
    assert low <= there <= high and there == -39


def test_an_attempt_is_kept_from_where_the_voice_settles_to_where_it_stops(page: Any) -> None:
    page.evaluate("() => { model.attempts.length = 0; }")
    rest = np.zeros(RATE // 2)
    played = np.concatenate((steps(-30.0, 3.0, each=1.0), rest, steps(5.0, each=0.2), rest, steps(5.0), rest))
    said: list[str] = []
    listening(page, played, lambda: said.append(page.get_by_role("status").inner_text()))
    first, second = page.evaluate("() => model.attempts")
    assert first["target"] == pytest.approx(HERTZ)
    assert first["seconds"][0] == 0 and first["seconds"][-1] == pytest.approx(2, abs=0.08)
    assert second["seconds"][-1] == pytest.approx(1, abs=0.08), "a fifth of a second is no attempt"
    cents = 1200 * np.log2(np.array(first["hertz"], dtype=float) / HERTZ)
    assert np.nanmedian(cents[:80]) == pytest.approx(-30, abs=0.5)
    assert np.nanmedian(cents[-80:]) == pytest.approx(3, abs=0.5)
    assert said[0].startswith("Held for 1.0 s, 1.0 s of it within 10 cents of E4.") or said[0].startswith(
        "Held for 1.0 s, 0.9"
    )
    assert said[0].endswith("Middle of what you sang: 5 cents sharp.")


INK_BEYOND_THE_BEAD = """() => {
  const canvas = document.querySelector("canvas"), from = Math.round(0.94 * canvas.width);
  const {data} = canvas.getContext("2d").getImageData(from, 0, canvas.width - from, canvas.height);
  return data.filter((_, k) => k % 4 === 3 && data[k] > 200 && data[k - 1] + data[k - 2] + data[k - 3] < 60).length;
}"""


def test_a_microphone_that_is_opened_anew_begins_with_an_empty_line(page: Any) -> None:
    """Its clock begins anew too"""
    listening(page, steps(20.0, each=2.0))
    ink: list[int] = []
    listening(page, steps(0.0, each=0.5), lambda: ink.append(page.evaluate(INK_BEYOND_THE_BEAD)))
    assert ink == [0]


def test_target_and_drone_are_moved_by_keyboard(chromium: Any) -> None:
    with needle_page(chromium, needle(31, target=TARGET)) as page:
        page.evaluate("() => { const bend = player.bend; window.bent = []; player.bend = (id, ratio) => "
                      "{ bent.push(ratio * 220); bend.call(player, id, ratio); }; }")  # fmt: skip
        page.get_by_role("button", name="Drone E4").focus()
        page.keyboard.press("Space")
        page.wait_for_function("() => bent.length === 1")
        assert "headphones" in page.get_by_role("status").inner_text()
        page.get_by_role("button", name="Target one step higher").focus()
        page.keyboard.press("Enter")
        assert page.evaluate("() => model.get('target')") == pytest.approx(HERTZ * 2 ** (1 / 31))
        assert page.evaluate("() => bent.at(-1)") == pytest.approx(HERTZ * 2 ** (1 / 31))
        page.get_by_role("button", name="Drone E½♯4", pressed=True).wait_for()
        page.get_by_role("button", name="Any note", pressed=False).press("Enter")
        assert page.evaluate("() => model.get('target')") == 0
        page.get_by_role("button", name="Any note", pressed=True).wait_for()
        page.get_by_role("button", name="Drone").press("Enter")
        assert not page.evaluate("() => player.pressed.size")


def test_names_are_those_that_the_player_reads(chromium: Any) -> None:
    with needle_page(chromium, needle(31, player="clarinet in B♭")) as page:
        shown = listening(page, steps(0.0, each=2.0))
    assert set(shown.between(1.2, 2.2).said) == {"F sharp 4, in tune to a cent"}


def test_any_octave_of_the_target_will_do(chromium: Any) -> None:
    with needle_page(chromium, needle(31, target=TARGET)) as page:
        page.get_by_label("Any octave").focus()
        page.keyboard.press("Space")
        assert page.evaluate("() => model.get('any_octave')") is True
        shown = listening(page, tone(np.full(2 * RATE, 6.0), HERTZ / 2))
        assert np.abs(shown.between(0.4, 1.95).cents - AT - 6).max() < 1
        assert page.evaluate("() => model.attempts[0].hertz[40]") == pytest.approx(HERTZ * 2 ** (6 / 1200), rel=1e-3)


def test_a_drone_that_the_microphone_hears_is_told(chromium: Any) -> None:
    """Through a loudspeaker it comes back as it begins: here the page presses the button when it hears a click, and
    half a second after that there is a tone"""
    click = 0.1 * np.random.default_rng(1).standard_normal(RATE // 100)
    with needle_page(chromium, needle(31, target=TARGET)) as page:

        def begin(heard: np.ndarray) -> str:
            watch(page, np.concatenate((np.zeros(RATE // 4), click, np.zeros(RATE // 2), heard)))
            page.get_by_role("button", name="Drone").evaluate("drone => { watched.onBegan = () => drone.click(); }")
            page.get_by_role("status").evaluate(
                "status => { window.told = ''; const add = () => { told += `${status.textContent} `; };"
                " new MutationObserver(add).observe(status, {childList: true}); }"
            )
            page.get_by_role("button", name="Listen").click()
            wait_for_shown(page, 1.7)
            page.get_by_role("button", name="Drone", pressed=True).click()
            page.get_by_role("button", name="Stop").click()
            return str(page.evaluate("told"))

        assert "The microphone hears the drone" in begin(steps(0.0, each=2))
        assert "microphone hears the drone" not in begin(steps(-25.0, each=2))


def test_where_the_microphone_is_refused_it_says_what_to_do(chromium: Any) -> None:
    with needle_page(chromium, needle(31)) as page:
        page.evaluate("() => { navigator.mediaDevices.getUserMedia = () => Promise.reject("
                      "new DOMException('no', 'NotAllowedError')); }")  # fmt: skip
        page.get_by_role("button", name="Listen").click()
        page.get_by_text("The microphone is not allowed here").wait_for()
        assert page.get_by_role("button", name="Listen").is_enabled()
        assert page.evaluate("() => model.get('listening')") is False


LAYOUT = """() => {
  const parts = [...document.querySelectorAll("#needle *")];
  const words = parts.filter(one => one.textContent.trim() && !one.children.length);
  return {
    height: document.getElementById("needle").getBoundingClientRect().height, width: document.body.scrollWidth,
    smallest: Math.min(...words.map(one => parseFloat(getComputedStyle(one).fontSize))),
    name: parseFloat(getComputedStyle(document.querySelector(".tunelib-needle-name")).fontSize),
  };
}"""


@pytest.mark.parametrize("width", [1280, 420, 360])
def test_it_fits_a_small_screen_and_a_phone(chromium: Any, width: int) -> None:
    widget = needle(31, target="E½♭4", title="A title that takes two lines on a phone, or even three of them")
    with needle_page(chromium, widget, viewport={"width": width, "height": 599}) as page:
        layout = page.evaluate(LAYOUT)
    assert layout["height"] <= 599 - 16 and layout["width"] <= width
    assert layout["smallest"] >= 13 and layout["name"] >= 40


def test_a_lesson_as_a_page_has_a_needle_that_listens(chromium: Any, tmp_path: Path) -> None:
    """From a file, with nothing asked for from elsewhere"""
    cell = {"cell_type": "code", "source": f"from tunelib.live import needle\nneedle(31, target={TARGET!r})"}
    notebook = tmp_path / "sing.ipynb"
    notebook.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [cell]}))
    made = write_set(lesson_pages([notebook]), tmp_path / "site")
    context = chromium.new_context(permissions=["microphone"])
    context.set_default_timeout(PATIENCE_MS)
    page, faults = context.new_page(), []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda line: faults.append(line.text) if line.type == "error" else None)
    page.goto(next(path for path in made if path.stem == "sing").as_uri())
    page.locator(".tunelib-needle").wait_for()
    shown = listening(page, steps(9.0, STEP + 3, each=2.0))
    assert np.abs(shown.between(0.5, 1.95).cents - AT - 9).max() < 1
    assert np.abs(shown.between(2.5, 3.95).cents - AT - STEP - 3).max() < 1
    assert page.get_by_role("status").inner_text().startswith("Press Listen")
    assert faults == []
    context.close()


CELLS = [
    "from tunelib.hearing import grade_hold\nfrom tunelib.live import needle",
    f"sung = []\nmine = needle(31, target={TARGET!r})\nmine.on_attempt(sung.append)\nmine",
]
_RUN = """(async ([code]) => {
  const {kernel} = jupyterapp.shell.currentWidget.sessionContext.session, future = kernel.requestExecute({code});
  let words = "";
  future.onIOPub = ({header, content}) => { words += header.msg_type === "stream" ? content.text : ""; };
  return future.done.then(() => words);
})(given)"""


@pytest.fixture(scope="module")
def notebook(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("needle.ipynb", CELLS)
    page.page.context.grant_permissions(["microphone"])
    yield page
    page.close()


def test_it_moves_while_python_is_busy_and_python_grades_the_attempt_afterwards(lab: Lab, notebook: Page) -> None:
    page = notebook.page
    sung = tone(np.repeat([-25.0, -7.0], 2 * RATE))
    with lab.busy(notebook):
        shown = listening(page, sung)
    assert np.abs(shown.between(0.5, 1.9).cents - AT + 25).max() < 1
    assert np.abs(shown.between(2.5, 3.9).cents - AT + 7).max() < 1
    said = notebook.tool(_RUN, "held = grade_hold(*sung[0])\nprint(len(sung), held.off, held.soon, held.seconds)")
    count, off, soon, seconds = map(float, said.split())
    assert (count, soon, seconds) == (1, pytest.approx(2, abs=0.06), pytest.approx(4, abs=0.08))
    assert off == pytest.approx(-7, abs=0.5) and notebook.errors == []


def test_python_moves_the_target_and_closes_the_microphone(notebook: Page) -> None:
    page = notebook.page
    page.get_by_role("button", name="Listen", exact=True).click()
    page.get_by_role("button", name="Stop", exact=True).wait_for()
    said = notebook.tool(_RUN, "mine.aim('Ehb4', 'C4')\nprint(mine.listening)\nmine.listening = False")
    assert said.strip() == "True"
    page.get_by_role("button", name="Listen", exact=True).wait_for()
    page.get_by_role("button", name="Drone C4").wait_for()
    notebook.answered()
    assert page.get_by_role("meter").get_attribute("aria-label") == "Pitch, in cents from E half-flat 4"
    assert notebook.errors == []
