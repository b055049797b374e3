"""The chart of a tune on the page of a real JupyterLab: no words on others, and twelve bars in sight at full width."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from browser import Lab, Page

from tunelib.practice.tune_panel import FIRST_TUNE

HEAD, _, BARS = FIRST_TUNE.partition("\n\n")
TWELVE_BARS = f"{HEAD}\n\n" + 3 * ("\n".join(BARS.splitlines()[:2]) + "\n")
# What stands on the staff as words or numbers: the symbols, which are buttons, and what is engraved beside them.
WORDS = """
[...document.querySelectorAll('.tunelib-chart-sign:not([hidden]) .tunelib-chart-symbol, .tunelib-chart-page svg text,'
  + ' .tunelib-chart-page svg g.mNum, .tunelib-chart-page svg g.tempo, .tunelib-chart-tempo, .tunelib-hear')]
  .filter(part => !part.closest('g.harm') && !(part.tagName === 'text' && part.closest('g.mNum, g.tempo')))
  .filter(part => part.getBoundingClientRect().width)
  .map(part => { const b = part.getBoundingClientRect();
    return [part.textContent.trim(), b.left, b.top, b.right, b.bottom]; })
"""


def opened(lab: Lab, name: str, text: str, width: int) -> Page:
    page = lab.open_cells(name, ["from tunelib.practice import tune_panel", f"tune_panel({text!r})"])
    page.page.set_viewport_size({"width": width, "height": 720})
    page.page.locator(".tunelib-chart-page > svg").wait_for()
    page.page.locator(".tunelib-hear:enabled").wait_for()
    return page


def overlaps(words: list[Any]) -> list[tuple[str, str]]:
    """Pairs of words whose boxes share more than a pixel."""
    return [
        (one[0], other[0])
        for one, other in combinations(words, 2)
        if min(one[3], other[3]) - max(one[1], other[1]) > 1 and min(one[4], other[4]) - max(one[2], other[2]) > 1
    ]


@pytest.mark.parametrize("width", [1280, 700])
def test_no_words_on_the_chart_are_upon_others(lab: Lab, width: int) -> None:
    """The tempo is told beside the chart, once, and as it is in the text; it follows the text."""
    page = opened(lab, f"words_{width}.ipynb", TWELVE_BARS, width)
    words = page.tool(WORDS)
    assert len(words) > 14 and overlaps(words) == []
    tempo = page.page.locator(".tunelib-chart-tempo")
    assert tempo.inner_text() == "♩ = 108" and [word[0] for word in words].count("♩ = 108") == 1
    assert tempo.get_attribute("aria-label") == "Tempo: 108 quarter notes a minute"
    page.page.locator(".tunelib-chart-fold", has_text="The tune, as text").locator("summary").click()
    page.page.locator(".tunelib-chart-text").fill(TWELVE_BARS.replace("tempo: 108", "tempo: 90.5"))
    page.page.locator(".tunelib-chart-text").press("Tab")
    page.page.locator(".tunelib-chart-tempo", has_text="♩ = 90.5").wait_for()
    page.close()


def test_two_words_in_one_place_would_be_found() -> None:
    assert overlaps([["Gm7", 0, 0, 30, 20], ["♩ = 108", 10, 10, 60, 24], ["C7", 100, 0, 120, 20]]) == [
        ("Gm7", "♩ = 108")
    ]


def test_twelve_bars_are_in_sight_at_once_at_full_width(lab: Lab) -> None:
    """960 pixels, which is as wide as the panel becomes, on a screen 720 pixels high."""
    page = opened(lab, "full_width.ipynb", TWELVE_BARS, 1500)
    page.page.wait_for_function("() => document.querySelector('.tunelib-tune-panel').clientWidth === 960")
    page.page.wait_for_function("() => document.querySelectorAll('.tunelib-chart-page g.system').length === 3")
    window = page.page.locator(".tunelib-chart-window")
    assert window.evaluate("w => w.scrollHeight - w.clientHeight") <= 0
    panel = "document.querySelector('.tunelib-tune-panel')"
    last = f"{panel}.lastElementChild.getBoundingClientRect().bottom - {panel}.getBoundingClientRect().top"
    assert page.tool(last) <= 599
    page.close()
