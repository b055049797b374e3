"""How the chart of a tune answers in a real browser: ``python tests/benchmark_chart.py``.

Measured on the page itself, in a JupyterLab with no graphics card, for a tune of 32 bars: from a click on a chord, or
from Enter on the one that is chosen, to the news that its first samples have been made (the browser's own latency comes
on top); from a choice by hand to the new symbols on the page; and how long the kernel takes to solve the tune again
around a choice. For comparison, the time of a tune that is solved from nothing, and of its two programs for the player,
for which a chord would wait if the whole tune were made first.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchmark_panel import _EARS
from browser import Page, running_browser, running_lab, why_not

from tunelib.arrange import tune_score
from tunelib.harmony import Taste, parse_lead_sheet
from tunelib.live import program
from tunelib.pitch import THIRTY_ONE
from tunelib.practice.arranging import Arranging
from tunelib.sound import reference_gain, tune_timbres

CLICKS = 12
CHORD_SECONDS = 3.2  # longer than one sounds
HEAD = "title: Thirty-two\nmetre: 4/4\ntempo: 160\nkey: F major\n\n"
EIGHT = """\
        | Gm7         | C7          | Fmaj7      | D7b9        |
melody: | D5:2 Bb4 D5 | C5 Bb4 G4 E4 | A4:3 C5   | C5 Eb5 C5 A4 |
        | Bbmaj7      | Gb7         | F6 . . D7  | Gm7 C7      |
melody: | D5:2 F5 D5  | Ab4 Bb4 Db5 Eb5 | C5:2 A4 F#4 | G4 Bb4 E4 G4 |
"""
TUNE = HEAD + 4 * EIGHT
_CHANGES = """
window.changes = {asked: 0, waits: []};
document.addEventListener('click', event => { changes.asked = event.timeStamp; }, true);
new MutationObserver(() => {
  if (changes.asked) { changes.waits.push(performance.now() - changes.asked); }
  changes.asked = 0;
}).observe(document.querySelector('.tunelib-chart-page'), {subtree: true, attributeFilter: ['aria-label']});
"""


def milliseconds(act: Callable[[], object]) -> float:
    """How long something takes."""
    began = time.perf_counter()
    act()
    return 1000 * (time.perf_counter() - began)


def told(what: str, times: list[float]) -> None:
    print(f"{what:58} median {statistics.median(times):5.0f} ms, longest {max(times):5.0f} ms ({len(times)})")


def in_the_kernel() -> None:
    """Solving, and making what is heard."""
    sheet = parse_lead_sheet(TUNE)
    told("solved from nothing", [milliseconds(lambda: Arranging(sheet, THIRTY_ONE, Taste(0.61)))])
    tune = Arranging(sheet, THIRTY_ONE, Taste(0.6))
    numbers = tune.signs[:CLICKS]
    told("what else a chord could be", [milliseconds(lambda n=n: tune.alternatives(n)) for n in numbers])  # type: ignore[misc]
    offered = {number: tune.alternatives(number)[1] for number in numbers}
    told("solved again around a chord", [milliseconds(lambda n=n: tune.take(n, offered[n])) for n in numbers])  # type: ignore[misc]
    told("solved again around a symbol", [milliseconds(lambda n=n: tune.lock_everywhere(n)) for n in numbers])  # type: ignore[misc]
    told("undone", [milliseconds(tune.undo) for _ in numbers])

    def programs() -> None:
        for division in (31, 12):
            score, timbres = tune_score(tune.tune, division), tune_timbres()
            program(score, timbres, reference_gain(score, timbres))

    told("the whole tune made ready for the player, in 31 and in 12", [milliseconds(programs) for _ in range(3)])


def on_the_page() -> None:
    """From a press to the sound, and to the new symbols."""
    with (
        tempfile.TemporaryDirectory() as folder,
        running_browser() as browser,
        running_lab(Path(folder), browser) as lab,
    ):
        page = lab.open_cells("chart.ipynb", ["from tunelib.practice import tune_panel", f"tune_panel({TUNE!r})"])
        page.page.locator(".tunelib-hear:enabled").wait_for()
        page.page.evaluate(_EARS)
        page.page.locator(".tunelib-chart-sign").first.click()
        time.sleep(CHORD_SECONDS)
        told("from a click on another chord to its first samples", clicks(page))
        told("from Enter on the chosen chord to its first samples", enters(page))
        told("from a click while the tune is made anew", clicks(page, stir=True))
        told("from a choice by hand to the new symbols", choices(page))
        page.close()


def clicks(page: Page, stir: bool = False) -> list[float]:
    """Chords clicked one after another; `stir` has the tune changed just before."""
    page.tool("ears.begin()")
    signs = page.page.locator(".tunelib-chart-sign")
    for turn in range(CLICKS):
        sign = signs.nth((3 * turn + 1 + stir) % signs.count())
        sign.scroll_into_view_if_needed()
        if stir:
            page.page.get_by_role("button", name="Undo" if turn % 2 else "Lock this chord").click()
            time.sleep(0.4)
        sign.click()
        time.sleep(CHORD_SECONDS)
    return [float(wait) for wait in page.tool("ears.waits()")]


def enters(page: Page) -> list[float]:
    """Enter pressed on one chord after another."""
    page.tool("ears.begin()")
    page.page.locator(".tunelib-chart-sign[tabindex='0']").focus()
    for _ in range(CLICKS):
        page.page.keyboard.press("ArrowLeft")
        time.sleep(0.4)
        page.page.keyboard.press("Enter")
        time.sleep(CHORD_SECONDS)
    return [float(wait) for wait in page.tool("ears.waits()")]


def choices(page: Page) -> list[float]:
    """Alternatives taken and undone, to the frame after the symbols have changed."""
    page.page.evaluate(_CHANGES)
    page.page.locator(".tunelib-chart-sign").nth(1).click()
    time.sleep(1)
    page.tool("changes.waits.length = 0")
    for turn in range(CLICKS):
        if turn % 2:
            page.page.get_by_role("button", name="Undo").click()
        else:
            page.page.locator("[aria-busy=false] .tunelib-chart-alternative").nth(1).locator("button").nth(1).click()
        time.sleep(1)
    return [float(wait) for wait in page.tool("changes.waits")]


if __name__ == "__main__":
    in_the_kernel()
    if why_not():
        print(why_not())
    else:
        on_the_page()
