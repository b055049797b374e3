"""One panel in a real browser: it runs, its knobs move its picture, it says what it shows, and it sounds."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from browser import FEWEST_PIXELS, Lab, Page


@pytest.fixture(scope="module")
def page(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("one_panel.ipynb", ["from tunelib.show import panel", 'panel("small_difference")'])
    yield page
    page.close()


def test_each_knob_moves_the_picture_and_nothing_else(page: Page) -> None:
    assert page.cell_errors() == []
    controls = page.controls()
    assert len(controls) == 3
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
