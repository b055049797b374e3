"""One panel in a real browser: it runs, its knobs move its picture, it says what it shows, and it sounds."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from browser import FEWEST_PIXELS, Lab, Page

from tunelib.exhibits import find_exhibit
from tunelib.live import notes_at


@pytest.fixture(scope="module")
def page(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("one_panel.ipynb", ["from tunelib.show import panel", 'panel("small_difference")'])
    yield page
    page.close()


def test_each_knob_moves_the_picture_and_nothing_else(page: Page) -> None:
    assert page.cell_errors() == []
    controls = page.controls()
    assert len(controls) == 4
    for control in controls:
        moved = page.move(control)
        assert moved.pixels >= FEWEST_PIXELS, f"{control} was moved, and its picture stayed as it was"
        assert moved.jump < 1, f"{control} made the page jump"


def test_what_a_moved_slider_and_a_typed_value_say_of_themselves(page: Page) -> None:
    """A slider's value in words follows it with its unit, and a value can be typed."""
    panel, keys = page.page.locator(".tunelib-panel"), page.page.keyboard
    cells = page.page.locator(".jp-Cell").count()
    slider, typed = (
        panel.get_by_role("slider", name="Lower tone (Hz)"),
        panel.locator("[aria-label='Lower tone (Hz), typed']"),
    )
    slider.focus()
    keys.press("End")
    page.page.wait_for_function("s => s.getAttribute('aria-valuetext') === '1760.0 Hz'", arg=slider.element_handle())
    typed.focus()
    keys.press("Control+a")
    keys.type("220")
    keys.press("Enter")
    panel.get_by_text("up from 220 Hz").wait_for()
    page.page.wait_for_function("s => s.getAttribute('aria-valuetext') === '220.0 Hz'", arg=slider.element_handle())
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for a panel changed the notebook"
    assert page.errors == []


LAYOUTS = ("beats", "sung_overtones", "five_thirds", "series_sheet", "fretboard", "intonation")
LEFT = 599  # pixels of a window 720 high that JupyterLab leaves a notebook

_MEASURE = """panel => {
  const frame = panel.getBoundingClientRect(), picture = panel.querySelector('img.tunelib-picture');
  const parts = {picture, sentence: panel.querySelector('.tunelib-sentence p')};
  for (const name of ['knobs', 'hear', 'full']) { parts[name] = panel.querySelector(`.tunelib-${name}`); }
  const place = part => {
    const box = part.getBoundingClientRect();
    const [x, y] = [frame.left, frame.top];
    return {left: box.left - x, top: box.top - y, right: box.right - x, bottom: box.bottom - y};
  };
  const scrolls = part => /auto|scroll|hidden/.test(getComputedStyle(part).overflow) && part.clientWidth > 1
    && (part.scrollWidth > part.clientWidth + 1 || part.scrollHeight > part.clientHeight + 1);
  return {
    width: frame.width, height: frame.height, natural: [picture.naturalWidth, picture.naturalHeight],
    ...Object.fromEntries(Object.entries(parts).map(([name, part]) => [name, place(part)])),
    scrolling: [panel, ...panel.querySelectorAll('*')].filter(scrolls).map(part => part.className),
    shown: Math.min(picture.clientWidth / picture.naturalWidth, picture.clientHeight / picture.naturalHeight),
  };
}"""

_SHAPED = "([image, ratio]) => image.complete && Math.abs(image.naturalWidth / image.naturalHeight - ratio) < 0.01"


@pytest.fixture(scope="module")
def layouts(lab: Lab) -> Iterator[Page]:
    cells = [f"panel({name!r})" for name in LAYOUTS]
    page = lab.open_cells("layouts.ipynb", ["from tunelib.show import panel", *cells])
    yield page
    page.close()


def _measured(page: Page, name: str, width: int, height: int, shape: str, aside: bool = False) -> dict[str, Any]:
    """A panel's boxes in a window of a size, with JupyterLab's list of files or without, once it has its shape."""
    page.page.set_viewport_size({"width": width, "height": height})
    page.tool(f"window.jupyterapp.shell.{'expandLeft' if aside else 'collapseLeft'}()")
    panel = page.page.locator(".tunelib-panel").nth(LAYOUTS.index(name))
    panel.scroll_into_view_if_needed()
    still = "lessonTools.still(given[0])"
    page.tool(still, panel.element_handle())
    page.answered()  # which shape suits the new width
    ratio = {"wide": 16 / 9, "square": 1}[shape]
    page.page.wait_for_function(_SHAPED, arg=[panel.locator("img.tunelib-picture").element_handle(), ratio])
    page.tool(still, panel.element_handle())
    measured: dict[str, Any] = panel.evaluate(_MEASURE)
    return measured


@pytest.mark.parametrize("aside", [False, True])
@pytest.mark.parametrize("name", LAYOUTS)
def test_a_panel_fits_what_jupyterlab_leaves_of_a_small_screen(layouts: Page, name: str, aside: bool) -> None:
    """Of 1280 by 720, with the list of files open beside the notebook or not; nothing in it scrolls."""
    found = _measured(layouts, name, 1280, 720, "wide", aside)
    assert found["height"] <= LEFT and found["scrolling"] == []
    assert max(found[part]["bottom"] for part in ("picture", "sentence", "knobs", "hear", "full")) <= LEFT
    assert found["sentence"]["top"] >= found["picture"]["bottom"]
    if aside:
        assert found["knobs"]["top"] >= found["sentence"]["bottom"], "no room beside the picture"
    else:
        assert found["knobs"]["left"] >= found["picture"]["right"]
        assert found["hear"]["left"] >= found["picture"]["right"], "Hear it is beside the knobs"
    assert found["shown"] * 960 >= (800 if not aside else 600), "the picture is as large as fits"


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_narrow_panel_has_the_square_picture_over_its_knobs(layouts: Page, name: str) -> None:
    """A label of 15 points is 16 pixels high where the panel is 420 pixels wide; nothing scrolls or is cut off."""
    lab_takes = 420 - _measured(layouts, name, 420, 800, "square")["width"]
    found = _measured(layouts, name, round(420 + lab_takes), 800, "square")
    assert found["width"] == pytest.approx(420, abs=1) and found["scrolling"] == []
    assert found["natural"] == [540, 540] and found["picture"]["right"] - found["picture"]["left"] == found["width"]
    assert 15 / 72 * 100 * found["shown"] >= 16
    assert found["sentence"]["top"] >= found["picture"]["bottom"]
    assert found["knobs"]["top"] >= found["sentence"]["bottom"] and found["hear"]["top"] >= found["knobs"]["bottom"]
    assert layouts.cut_labels() == []
    assert _measured(layouts, name, 1280, 720, "wide")["natural"] == [960, 540]


_TEMPO = 20  # a third of its own, so that a busy machine has time to tell of each note while it sounds
_TELLING = f"""
import json
from dataclasses import replace
from tunelib.exhibits import find_exhibit
from tunelib.show import Stage, panel
ring = type(find_exhibit("ring_of_31"))
score, move = ring.score, Stage.move
ring.score = lambda self, **values: replace(score(self, **values), tempo={_TEMPO})
def moved(stage, values, *playing):
    if playing and playing[0].seconds is not None:
        with open("told.jsonl", "a") as told:
            print(json.dumps([playing[0].seconds, playing[0].notes]), file=told)
    move(stage, values, *playing)
Stage.move = moved
panel("ring_of_31")
"""


def test_what_sounds_is_lit_in_step_with_the_player_of_the_page(lab: Lab) -> None:
    """One picture for each note that begins or ends, while it sounds; crisp again afterwards."""
    shown = find_exhibit("ring_of_31")
    values = shown.settle({})
    score, timbre = replace(shown.score(**values), tempo=_TEMPO), shown.timbre(**values)
    ends = {score.seconds(note.onset): score.seconds(note.onset + note.duration) for note in score.notes}
    page = lab.open_cells("sounding.ipynb", [_TELLING])
    panel = page.page.locator(".tunelib-panel")
    page.keep_rested(0, "silent")
    panel.get_by_role("button", name="Hear it").click()
    panel.get_by_role("button", name="Stop").wait_for()
    panel.get_by_role("button", name="Hear it").wait_for()
    page.answered()
    page.keep_rested(0, "silent again")
    assert page.tool("lessonTools.changedPixels('silent', 'silent again')") == 0, "something stays lit"
    told = [json.loads(line) for line in (lab.folder / "told.jsonl").read_text().splitlines()]
    assert page.errors == []
    assert [tuple(notes) for _, notes in told] == [notes_at(score, timbre, seconds) for seconds, _ in told]
    for onset, end in ends.items():
        assert any(onset <= seconds < end for seconds, _ in told), f"nothing was told of {onset} s"
    assert len(told) <= 2 * len(ends) + 1
    page.close()


def test_in_a_lecture_keys_bring_on_the_next_part_and_none_reaches_the_notebook(lab: Lab) -> None:
    """On the button that has the keyboard, and on a full screen wherever it is; sliders keep their own arrow keys."""
    page = lab.open_cells("lecture.ipynb", ["from tunelib.show import panel\npanel('beats', builds=True)"])
    panel, keys, cells = page.page.locator(".tunelib-panel"), page.page.keyboard, page.page.locator(".jp-Cell").count()
    steps = len(find_exhibit("beats").builds)

    def at(step: int) -> None:
        panel.locator(".tunelib-lecture [role=status]").get_by_text(f"{step} of {steps}").wait_for()

    page.keep_rested(0, "first")
    panel.get_by_role("button", name="Next").focus()
    for key, step in (("Space", 2), ("ArrowRight", 3), ("ArrowLeft", 2), ("PageDown", 3), ("b", 3), ("PageUp", 2)):
        keys.press(key)
        at(step)
    page.answered()
    page.keep_rested(0, "second")
    assert page.tool("lessonTools.changedPixels('first', 'second')") >= FEWEST_PIXELS
    panel.get_by_role("button", name="Full screen").focus()
    keys.press("Enter")
    panel.get_by_role("button", name="Leave full screen").wait_for()
    page.page.wait_for_function("i => i.naturalWidth === 1920", arg=panel.locator("img").element_handle())
    for key, step in (("Space", 3), ("ArrowLeft", 2), ("d", 2), ("d", 2), ("PageDown", 3)):
        keys.press(key)
        at(step)
    slider = panel.get_by_role("slider", name="Lower tone (Hz)")
    slider.focus()
    keys.press("ArrowRight")
    page.page.wait_for_function("s => s.getAttribute('aria-valuetext') !== '440.0 Hz'", arg=slider.element_handle())
    at(3)
    page.page.mouse.move(400, 200)
    page.page.mouse.click(400, 200)
    for key, step in (("b", 3), (" ", 4)):
        keys.press(key)
        at(step)
    page.tool("document.exitFullscreen()")
    page.page.wait_for_function("i => i.naturalWidth === 960", arg=panel.locator("img").element_handle())
    assert page.page.locator(".jp-Cell").count() == cells, "a key meant for a lecture changed the notebook"
    assert page.errors == []
    page.close()
