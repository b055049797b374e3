"""A take heard in its panel, in a real JupyterLab: nothing by itself, then as played, in tune, and note by note."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from browser import Lab, Page
from test_browser_live import _EAR, wait_for_silence, wait_for_sound
from test_take_heard import samples

from tunelib.sound import SAMPLE_RATE, USUAL_PEAK_DBFS, wav_bytes

PANEL = "from tunelib.practice import take_panel\npanel = take_panel()\npanel.against.value = '31'\npanel"
WAYS = ["as played", "in tune", "one note"]

# Note every picture that is shown from now on.
_PICTURES = """() => {
  const image = document.querySelector('.tunelib-take-panel img.tunelib-picture');
  window.pictures = new Set();
  new MutationObserver(() => pictures.add(image.src)).observe(image, {attributeFilter: ['src']});
}"""
# Flip to a way when more than a share of what sounds is over, and tell how much is over then.
_FLIP = """async ([name, share]) => {
  const panel = document.querySelector('.tunelib-take-panel');
  const place = () => new Promise(tell => panel.addEventListener(
    'tunelib-playhead', ({detail}) => tell(detail.seconds / detail.length), {once: true}));
  while (await place() <= share) { /* not yet */ }
  [...panel.querySelectorAll('.tunelib-way')].find(way => way.textContent === name).click();
  return place();
}"""


@pytest.fixture(scope="module")
def panel(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("heard.ipynb", [PANEL])
    page.page.locator(".tunelib-hear:enabled").wait_for()
    page.page.evaluate(_EAR)
    yield page
    assert page.errors == []
    page.close()


def choose(page: Page, name: str, data: bytes) -> None:
    """Choose a file as a reader would, and wait until it can be heard beside its targets."""
    with page.page.expect_file_chooser() as chooser:
        page.page.locator(".tunelib-choose").click()
    chooser.value.set_files({"name": name, "mimeType": "audio/wav", "buffer": data})
    page.page.locator(".tunelib-heading", has_text=f"Report: {name}").wait_for()
    page.page.locator(".tunelib-way").last.wait_for()
    page.page.locator(".tunelib-hear:enabled").wait_for()


def way(page: Page, name: str) -> Any:
    return page.page.locator(".tunelib-take-panel .tunelib-way").get_by_text(name, exact=True)


def sources(page: Page) -> Any:
    return page.page.locator(".tunelib-take-panel img.tunelib-picture").get_attribute("src")


def test_a_demo_take_is_told_nothing_of_before_it_is_measured(panel: Page) -> None:
    """It is heard by itself: no targets, no notes, no picture; and not before it is asked for."""
    assert panel.tool("ear.level()") == 0, "a sound was there before anybody asked"
    assert panel.page.locator(".tunelib-take-panel .tunelib-way").count() == 0
    assert not panel.page.locator(".tunelib-note").is_visible()
    panel.page.locator(".tunelib-hear").click()
    wait_for_sound(panel)
    panel.page.locator(".tunelib-hear").click()
    wait_for_silence(panel)


def test_a_take_is_heard_as_played_and_in_tune_and_a_line_goes_along(panel: Page) -> None:
    choose(panel, "mine.wav", wav_bytes(samples()))
    assert panel.page.locator(".tunelib-take-panel .tunelib-way").all_inner_texts() == WAYS
    assert panel.tool("ear.level()") < 1e-6, "it does not sound by itself"
    assert panel.page.locator(".tunelib-take-panel .tunelib-volume-slider:visible").count() == 1
    hear, volume = (
        panel.page.locator(f".tunelib-take-panel .tunelib-sounding .tunelib-{name}").bounding_box()
        for name in ("hear", "volume")
    )
    assert abs(hear["y"] + hear["height"] / 2 - volume["y"] - volume["height"] / 2) < 2, "on one line"
    for name in WAYS:
        panel.page.evaluate(_PICTURES)
        way(panel, name).click()
        wait_for_sound(panel)
        assert panel.tool("ear.level()") <= 10 ** (USUAL_PEAK_DBFS / 20) * 1.001
        panel.page.wait_for_function("pictures.size >= 3")  # the line moves
        assert way(panel, name).get_attribute("aria-pressed") == "true"
    wait_for_silence(panel)
    panel.page.wait_for_function(
        "fetch(document.querySelector('.tunelib-take-panel img.tunelib-picture').src)"
        ".then(answer => answer.blob()).then(blob => blob.type === 'image/png')"
    )


def test_a_flip_goes_on_where_it_is_and_one_note_begins_anew(panel: Page) -> None:
    """By the place of the line under the row, which says how much of what is played is over."""
    way(panel, "as played").click()
    assert panel.page.evaluate(_FLIP, ["in tune", 0.4]) > 0.4
    assert panel.page.evaluate(_FLIP, ["one note", 0.4]) < 0.4
    wait_for_silence(panel)


def test_another_note_is_chosen_by_keyboard_and_heard(panel: Page) -> None:
    """What sounded falls silent; no key reaches the notebook."""
    cells, still = panel.page.locator(".jp-Cell").count(), sources(panel)
    way(panel, "one note").click()
    wait_for_sound(panel)
    panel.page.locator(".tunelib-note select").focus()
    panel.page.keyboard.press("End")
    wait_for_silence(panel)
    panel.page.wait_for_function(
        "still => document.querySelector('.tunelib-take-panel img.tunelib-picture').src !== still", arg=still
    )
    for key in ("b", "d", "d", "x"):
        panel.page.keyboard.press(key)
    assert panel.page.locator(".jp-Cell").count() == cells
    way(panel, "one note").click()
    wait_for_sound(panel)
    wait_for_silence(panel)


def test_a_page_that_shows_the_panel_again_has_the_take_too(panel: Page) -> None:
    """What the page was sent once is sent again to whoever asks."""
    panel.tool(
        "(c => { c.content.activeCellIndex = 0; window.jupyterapp.commands.execute('notebook:insert-cell-below'); })"
        "(window.jupyterapp.shell.currentWidget)"
    )
    panel.page.keyboard.press("Enter")
    panel.page.keyboard.type("panel")
    panel.page.keyboard.press("Shift+Enter")
    second = panel.page.locator(".tunelib-take-panel").nth(1)
    second.locator(".tunelib-hear:enabled").wait_for()
    second.locator(".tunelib-hear").click()
    wait_for_sound(panel)
    second.locator(".tunelib-hear").click()
    wait_for_silence(panel)


def test_silence_is_not_offered_to_be_heard(panel: Page) -> None:
    with panel.page.expect_file_chooser() as chooser:
        panel.page.locator(".tunelib-choose").first.click()
    data = wav_bytes(samples(0.0)[:SAMPLE_RATE])
    chooser.value.set_files({"name": "nothing.wav", "mimeType": "audio/wav", "buffer": data})
    panel.page.locator(".tunelib-heading", has_text="No report: nothing.wav").first.wait_for()
    panel.page.get_by_text("the take is silent; check the microphone and its level").first.wait_for()
    assert not panel.page.locator(".tunelib-hear").first.is_visible()
