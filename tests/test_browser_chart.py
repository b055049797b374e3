"""The chart of a tune in a real browser: heard at a click, changed by hand, followed by the playhead, by keyboard."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest
from browser import Lab, Page
from test_browser_live import _EAR, playing, wait_for_silence, wait_for_sound

from tunelib.practice.tune_folder import FOLDER
from tunelib.practice.tune_panel import FIRST_TUNE

TUNE = """\
title: Long Grain
metre: 4/4
tempo: 240
key: C major

        |: Cmaj7 | A7    | Dm7   | 1. G7 :| 2. G7 |
melody: |: E5:4  | C#5:4 | F5:4  | D5:4   | B4:4  |
        | Cmaj7 | A7    | Dm7  G7    | Cmaj7 |
melody: | E5:4  | C#5:4 | F5:2 D5:2  | C5:4  |
"""
SIGNS = "[...document.querySelectorAll('.tunelib-chart-sign:not([hidden])')]"
# The signs that are lit, one after another; who wants to is told how many there have been.
_EYE = """
window.eye = {lit: [], onLit(count) {}};
new MutationObserver(() => {
  const now = document.querySelector('.tunelib-chart-sign.tunelib-now');
  if (now && eye.lit.at(-1) !== now) { eye.onLit(eye.lit.push(now)); }
}).observe(document.querySelector('.tunelib-chart-page'), {subtree: true, attributeFilter: ['class']});
"""


@pytest.fixture(scope="module")
def chart(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("chart.ipynb", ["from tunelib.practice import tune_panel", f"tune_panel({TUNE!r})"])
    page.page.locator(".tunelib-chart-page > svg").wait_for()
    page.page.locator(".tunelib-hear:enabled").wait_for()
    page.page.evaluate(_EAR)
    page.page.evaluate(_EYE)
    yield page
    assert page.errors == []
    page.close()


def sign(page: Page, place: int) -> Any:
    """A chord symbol on the staff."""
    return page.page.locator(".tunelib-chart-sign:not([hidden])").nth(place)


def title(page: Page, words: str) -> Any:
    """What is said of the chosen chord, once it says this."""
    return page.page.locator(".tunelib-chart-title").get_by_text(words)


def button(page: Page, name: str) -> Any:
    return page.page.locator(".tunelib-tune-panel").get_by_role("button", name=name)


def wait_for_all(page: Page) -> None:
    """Wait until all of a tune's panel is on the page, and nothing of it moves any more."""
    page.page.locator("[aria-busy=false] .tunelib-chart-alternative").first.wait_for()
    page.page.locator(".tunelib-hear:enabled").wait_for()
    page.answered()
    page.tool("lessonTools.still(given[0])", page.page.locator(".tunelib-tune-panel").element_handle())


def test_a_click_chooses_a_chord_and_it_is_heard(chart: Page) -> None:
    assert chart.tool("ear.level()") == 0, "a sound was there before anybody asked"
    sign(chart, 1).click()
    wait_for_sound(chart)
    title(chart, "Bar 2, beat 1: A7").wait_for()
    assert chart.tool(f"eye.lit.map(sign => {SIGNS}.indexOf(sign))") == [1]
    assert sign(chart, 1).get_attribute("aria-current") == "true"
    wait_for_silence(chart)
    chart.page.locator(".tunelib-now").wait_for(state="detached")
    button(chart, "Hear it as written in 12").click()
    wait_for_sound(chart)
    wait_for_silence(chart)


def test_every_symbol_is_over_its_bar_and_none_covers_another(chart: Page) -> None:
    places = chart.tool(
        f"{SIGNS}.map(sign => {{"
        " const {left, right, top, bottom} = sign.getBoundingClientRect(); return {left, right, top, bottom}; })"
    )
    bars = chart.tool(
        "[...document.querySelectorAll('.tunelib-chart-page g.measure')].map(bar => {"
        " const {left, right, top, bottom} = bar.getBoundingClientRect(); return {left, right, top, bottom}; })"
    )
    assert len(places) == 10 and len(bars) == 9
    for place, bar in zip(places, [0, 1, 2, 3, 4, 5, 6, 7, 7, 8], strict=True):
        there = bars[bar]
        assert there["left"] - 8 <= place["left"] <= there["right"], (place, there)
        assert place["top"] < there["bottom"] and there["top"] < place["bottom"] + 8
    for place, other in pairwise(places):
        assert place["right"] <= other["left"] or place["bottom"] <= other["top"], "two symbols touch"


def test_arrows_go_from_chord_to_chord_enter_plays_and_the_notebook_gets_no_key(chart: Page) -> None:
    keys, cells = chart.page.keyboard, chart.page.locator(".jp-Cell").count()
    sign(chart, 1).focus()
    keys.press("ArrowRight")
    title(chart, "Bar 3, beat 1: Dm7").wait_for()
    assert not playing(chart), "an arrow key is silent"
    keys.press("ArrowLeft")
    keys.press("Home")
    title(chart, "Bar 1, beat 1: Cmaj7").wait_for()
    keys.press("End")
    title(chart, "Bar 9, beat 1: Cmaj7").wait_for()
    keys.press("Enter")
    wait_for_sound(chart)
    for key in ("b", "d", "d", "x", "Shift+Enter", "Escape"):
        keys.press(key)
    assert chart.page.locator(".jp-Cell").count() == cells
    assert sign(chart, 9).evaluate("sign => sign === document.activeElement")
    wait_for_silence(chart)


def test_an_alternative_is_heard_taken_locked_for_all_to_see_and_undone(chart: Page) -> None:
    sign(chart, 1).click()
    title(chart, "Bar 2").wait_for()
    other = chart.page.locator("[aria-busy=false] .tunelib-chart-alternative").nth(1)
    wait_for_silence(chart)
    other.get_by_role("button", name="Hear").click()
    wait_for_sound(chart)
    take = other.locator("button").nth(1)
    name = take.locator("b").inner_text()
    take.focus()
    chart.page.keyboard.press("Enter")
    button(chart, "Lock this chord").and_(chart.page.locator("[aria-pressed=true]")).wait_for()
    chart.answered()
    assert re.search(r", locked$", sign(chart, 1).get_attribute("aria-label"))
    assert sign(chart, 1).locator(".tunelib-chart-letters").inner_text() == name
    lock = sign(chart, 1).evaluate("sign => getComputedStyle(sign, '::after').clipPath")
    assert lock != "none" and sign(chart, 2).evaluate("s => getComputedStyle(s, '::after').clipPath") == "none"
    assert chart.page.evaluate("document.activeElement.closest('.tunelib-tune-panel') !== null"), "the focus was lost"
    button(chart, "Undo").click()
    chart.page.locator(".tunelib-locked").wait_for(state="detached")
    button(chart, "Redo").click()
    chart.page.locator(".tunelib-locked").first.wait_for()
    button(chart, "Undo").click()
    chart.page.locator(".tunelib-locked").wait_for(state="detached")


def test_a_way_to_the_next_chord_is_heard_put_into_the_tune_and_taken_out_again(chart: Page) -> None:
    """Below the alternatives; the staff and the text have its chords at once, locked, and undo takes them away."""
    sign(chart, 2).click()
    title(chart, "Bar 3").wait_for()
    way = chart.page.locator("[aria-busy=false] .tunelib-chart-alternative").filter(has_text="a way to the next chord")
    wait_for_silence(chart)
    way.first.get_by_role("button", name="Hear").click()
    wait_for_sound(chart)
    wait_for_silence(chart)
    through = way.first.locator("b").inner_text().removeprefix("→ ").split(" – ")
    text, before = chart.page.locator(".tunelib-chart-text"), chart.page.locator(".tunelib-chart-text").input_value()
    way.first.locator("button").nth(1).click()
    title(chart, "Bar 3").wait_for()
    sign(chart, 9 + len(through)).wait_for()
    letters = [sign(chart, 3 + n).locator(".tunelib-chart-letters").inner_text() for n in range(len(through))]
    assert letters == through and chart.page.locator(".tunelib-locked").count() == len(through)
    assert through[0] in text.input_value().replace("b", "♭")
    chart.page.locator(".tunelib-chart-told").get_by_text("The way is in the tune now").wait_for()
    button(chart, "Undo").click()
    chart.page.locator(".tunelib-locked").first.wait_for(state="detached")
    assert text.input_value() == before
    assert chart.page.locator(".tunelib-chart-sign:not([hidden])").count() == 10


def test_a_symbol_a_voice_and_a_passage_are_locked_by_keyboard_alone(chart: Page) -> None:
    keys = chart.page.keyboard
    sign(chart, 1).focus()
    chart.page.keyboard.press("Enter")
    title(chart, "Bar 2").wait_for()
    locked = chart.page.locator(".tunelib-locked")
    for reach, count in (("Lock A7 everywhere", 2), ("Keep voice 2 from below", 1)):
        button(chart, reach).focus()
        keys.press("Space")
        chart.page.wait_for_function("n => document.querySelectorAll('.tunelib-locked').length === n", arg=count)
        keys.press("Space")
        locked.first.wait_for(state="detached")
    chart.page.get_by_role("spinbutton", name="To bar").focus()
    keys.press("Control+a")
    keys.type("4")
    button(chart, "Lock or free").focus()
    keys.press("Enter")
    chart.page.wait_for_function("() => document.querySelectorAll('.tunelib-locked').length === 3")
    keys.press("Enter")
    locked.first.wait_for(state="detached")


def test_choices_are_saved_beside_the_notebook(lab: Lab, chart: Page) -> None:
    sign(chart, 0).click()
    title(chart, "Bar 1").wait_for()
    button(chart, "Lock this chord").click()
    chart.page.locator(".tunelib-locked").first.wait_for()
    button(chart, "Save my choices").click()
    chart.page.get_by_text("long-grain-choices.toml").wait_for()
    assert "bar = 1" in (lab.folder / FOLDER / "long-grain-choices.toml").read_text("utf-8")
    button(chart, "Lock this chord").click()
    chart.page.locator(".tunelib-locked").wait_for(state="detached")
    button(chart, "Open my choices").click()
    chart.page.locator(".tunelib-locked").first.wait_for()


def test_the_playhead_goes_through_the_form_and_a_flip_does_not_begin_again(chart: Page) -> None:
    """The repeat is played twice: 13 of the page's 10 symbols, each for half a second or a second."""
    wait_for_silence(chart)
    chart.page.evaluate("""
      eye.lit.length = ear.heard.length = 0;
      eye.flips = [];
      eye.onLit = count => {  // there and then: the tune does not wait for a hand that comes late
        const way = {3: 'in 12', 6: 'in 31'}[count];
        const button = [...document.querySelectorAll('.tunelib-way')].find(one => one.textContent === way);
        button?.click();
        if (button) { eye.flips.push([way, button.ariaPressed]); }
      };
    """)
    chart.page.locator(".tunelib-hear").click()
    chart.page.wait_for_function("() => eye.lit.length >= 13")
    heard = chart.tool("ear.heard")
    assert heard == sorted(heard), "a flip began again"
    assert chart.tool("eye.flips") == [["in 12", "true"], ["in 31", "true"]]
    assert chart.tool(f"eye.lit.map(now => {SIGNS}.indexOf(now))") == [0, 1, 2, 3, 0, 1, 2, 4, 5, 6, 7, 8, 9]
    wait_for_silence(chart)
    chart.page.locator(".tunelib-chart-bar:visible").wait_for(state="detached")


def test_nothing_on_the_page_moves_while_a_chord_is_changed(chart: Page) -> None:
    panel = "document.querySelector('.tunelib-hear')"
    below = "document.querySelector('.tunelib-tune-panel').lastElementChild"
    locked, count = (
        chart.page.locator(".tunelib-locked"),
        "n => document.querySelectorAll('.tunelib-locked').length === n",
    )
    for element in (panel, below):
        sign(chart, 2).click()
        title(chart, "Bar 3").wait_for()
        chart.answered()
        before = locked.count()
        over = "new Promise(resolve => { window.land = resolve; })"
        chart.page.evaluate(f"(window.jumping = lessonTools.jump({element}, {over}), 0)")
        button(chart, "Lock this chord").click()
        chart.page.wait_for_function(count, arg=before + 1)
        chart.answered()
        chart.tool("window.land()")
        assert chart.tool("window.jumping") < 1
        button(chart, "Undo").click()
        chart.page.wait_for_function(count, arg=before)


@pytest.mark.parametrize(("width", "bars"), [(1280, 5), (420, 2)])
def test_a_narrow_page_has_fewer_bars_to_a_line_and_nothing_sticks_out(lab: Lab, width: int, bars: int) -> None:
    """The five bars of the repeat with its endings are one line, or begin with a line of two."""
    page = lab.open_cells(f"chart_{width}.ipynb", ["from tunelib.practice import tune_panel", f"tune_panel({TUNE!r})"])
    panel = "document.querySelector('.tunelib-tune-panel')"
    page.tool(f"{panel}.style.maxWidth = '{min(width, 960)}px'")
    page.page.wait_for_function(
        "n => document.querySelector('.tunelib-chart-page g.system')?.querySelectorAll('g.measure').length === n",
        arg=bars,
    )
    wait_for_all(page)
    beyond = page.tool(
        f"[...{panel}.querySelectorAll('*:not(svg *)')].filter(part => part.checkVisibility() &&"
        f" part.getBoundingClientRect().right > {panel}.getBoundingClientRect().right + 1).map(part => part.className)"
    )
    assert beyond == []
    page.close()


@pytest.mark.parametrize(("lines", "width"), [(2, 960), (3, 960), (2, 420)])
def test_a_whole_chart_is_in_sight_at_once(lab: Lab, lines: int, width: int) -> None:
    """In JupyterLab at 1280 by 720, which leaves 599: the opening tune, and twelve bars where there is width."""
    head, _, tune = FIRST_TUNE.partition("\n\n")
    four_bars = "\n".join(tune.splitlines()[:2]) + "\n"
    text = FIRST_TUNE if lines == 2 else f"{head}\n\n{lines * four_bars}"
    page = lab.open_cells(
        f"whole_{lines}_{width}.ipynb", ["from tunelib.practice import tune_panel", f"tune_panel({text!r})"]
    )
    page.page.set_viewport_size({"width": 1280, "height": 720})
    panel = "document.querySelector('.tunelib-tune-panel')"
    page.tool(f"{panel}.style.maxWidth = '{width}px'")
    systems = lines * (2 if width == 420 else 1)
    page.page.wait_for_function(
        "n => document.querySelectorAll('.tunelib-chart-page g.system').length === n", arg=systems
    )
    wait_for_all(page)
    hidden = page.tool(f"(w => w.scrollHeight - w.clientHeight)({panel}.querySelector('.tunelib-chart-window'))")
    assert hidden <= 0
    last = "lastElementChild" if width == 960 else "querySelector('.tunelib-chart-title')"
    assert page.tool(f"{panel}.{last}.getBoundingClientRect().bottom - {panel}.getBoundingClientRect().top") <= 599
    sizes = page.tool(
        "[...document.querySelectorAll('.tunelib-chart-sign')].map(sign => parseFloat(getComputedStyle(sign).fontSize))"
    )
    assert max(sizes) > 16.5
    page.close()
