"""How a panel feels in a real browser, beside a plain `interact`: ``python tests/benchmark_panel.py [exhibits]``.

Measured on the page itself, in a JupyterLab with no graphics card: from the key press to the frame that shows new
pixels; how many pictures are shown while a key is held; how far the page below jumps while the sound reloads; how soon
a press of *Hear it* is known to have made its first samples; and how soon after a key press the new sound has been
handed to the browser's audio thread, while it sounds. The browser's own latency comes on top of both. The peer redraws
the same figure of the same exhibit in the same run, as `ipywidgets.interact` is commonly used, with a new player
each time.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import nbformat
from browser import Page, running_browser, running_lab, why_not
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from tunelib.exhibits import EXHIBITS
from tunelib.show import panel

MOVES = 24
HELD_MOVES = 60
HELD_PER_SECOND = 30
AFTER_LAST_KEY_MS = 150  # pictures later than this no longer belong to a held key
REST_SECONDS = 0.45
WATCH_MS = 2500

_PEER = """
from IPython.display import Audio, Image, display
from ipywidgets import interact
from tunelib.exhibits import find_exhibit
from tunelib.show import panel
from tunelib.show.still import picture
from tunelib.sound.audio import wav_bytes

exhibit = find_exhibit({exhibit!r})

def show(value):
    display(Image(picture(exhibit, size="panel", {knob}=value)))
    if {sound}:
        display(Audio(wav_bytes(exhibit.sound(**exhibit.settle({{{knob!r}: value}})))))

interact(show, value=panel({exhibit!r}).knobs[{knob!r}]);
"""


def longest_slider(exhibit: str) -> tuple[str, int, int]:
    """The slider with the most steps: its name, its place among the panel's sliders, and how many steps it has."""
    steps = {}
    for name, knob in panel(exhibit).knobs.items():
        if isinstance(knob, widgets.SelectionSlider):
            steps[name] = len(knob.options) - 1
        elif hasattr(knob, "step"):
            steps[name] = round((knob.max - knob.min) / knob.step)
    name = max(steps, key=steps.__getitem__)
    return name, list(steps).index(name), steps[name]


def notebook(exhibit: str, knob: str) -> Any:
    """A notebook with the panel, the peer, and the peer with sound; words stand below each."""
    cells = [f"from tunelib.show import panel\npanel({exhibit!r})"]
    cells += [_PEER.format(exhibit=exhibit, knob=knob, sound=sound).strip() for sound in (False, True)]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)"}}
    parts = [part for code in cells for part in (new_code_cell(code), new_markdown_cell("Below."))]
    return new_notebook(cells=parts, metadata=kernel)


# What is heard, and when: the events that ask for a sound, and the moments at which it is on its way.
_EARS = """
window.ears = {
  player: globalThis[Symbol.for('tunelib.player')], asked: [], came: [],
  listen() {
    const {port} = this.player.node, told = port.onmessage, follow = this.player.follow;
    let silent = true;
    port.onmessage = event => {
      if (event.data.position !== undefined && silent && this.player.owner) {
        silent = false;
        this.came.push(performance.now());
      }
      if (event.data.over || !this.player.owner) { silent = true; }
      told(event);
    };
    this.player.follow = (owner, program, inStep) => {
      if (!inStep) { this.came.push(performance.now()); }
      follow.call(this.player, owner, program, inStep);
    };
    const stop = this.player.stop;
    this.player.stop = owner => { silent = true; stop.call(this.player, owner); };
    for (const kind of ['click', 'keydown']) {
      document.addEventListener(kind, event => this.asked.push(event.timeStamp), true);
    }
    new MutationObserver(changes => changes.forEach(({addedNodes}) => addedNodes.forEach(node => {
      node.querySelectorAll?.('audio').forEach(player => player.addEventListener('canplay', () =>
        this.came.push(performance.now()), {once: true}));
    }))).observe(document.body, {childList: true, subtree: true});
  },
  begin() { this.asked.length = this.came.length = 0; },
  waits() { return this.came.map(at => at - Math.max(...this.asked.filter(asked => asked < at))); },
};
ears.player.ready.then(() => ears.listen());
"""


class Subject:
    """One thing with a slider on the page, found by a selector."""

    def __init__(self, page: Page, selector: str, number: int, place: int, steps: int) -> None:
        self._page = page
        self._here = f"document.querySelectorAll({selector!r})[{number}]"
        self._handle = page.page.locator(selector).nth(number).locator(".noUi-handle").nth(place)
        self._steps = steps
        page.page.wait_for_function(f"() => {self._here}?.querySelector('img')?.naturalWidth > 0")

    def move_times(self) -> list[float]:
        """Milliseconds from key press to new pixels, one for each of single moves with a rest between."""
        self._begin()
        self._page.tool(f"lessonTools.watch({self._here})")
        for move in range(MOVES):
            self._page.page.keyboard.press("ArrowRight" if move % 2 == 0 else "ArrowLeft")
            time.sleep(REST_SECONDS)
        log = self._page.tool("lessonTools.unwatch()")
        return [min(at for at in log["pictures"] if at > key) - key for key in log["keys"]]

    def pictures_while_held(self) -> int:
        """How many pictures are shown while a key is held for `HELD_MOVES` moves."""
        self._begin()
        self._page.tool(f"lessonTools.watch({self._here})")
        began = time.perf_counter()
        for move in range(HELD_MOVES):
            time.sleep(max(0.0, began + move / HELD_PER_SECOND - time.perf_counter()))
            self._page.page.keyboard.down("ArrowLeft" if move // self._steps % 2 else "ArrowRight")
        self._page.page.keyboard.up("ArrowRight")
        time.sleep(1)
        log = self._page.tool("lessonTools.unwatch()")
        return sum(at <= log["keys"][-1] + AFTER_LAST_KEY_MS for at in log["pictures"])

    def jump(self) -> float:
        """How far the cell below moves, in pixels, from a key press until the sound has long reloaded."""
        self._begin()
        below = f"{self._here}.closest('.jp-Cell').nextElementSibling"
        over = f"new Promise(resolve => setTimeout(resolve, {WATCH_MS}))"
        self._page.tool(f"(window.jumping = lessonTools.jump({below}, {over}), 0)")
        self._page.page.keyboard.press("ArrowRight")
        return float(self._page.tool("window.jumping"))

    def sound_times(self) -> list[float]:
        """Milliseconds from a key press to the new sound, while it sounds; or to a new player that could play."""
        self._begin()
        self._page.tool("ears.begin()")
        for _ in range(MOVES // 2):
            self._page.page.keyboard.press("ArrowRight")
            time.sleep(2 * REST_SECONDS)
        return [float(wait) for wait in self._page.tool("ears.waits()")]

    def _begin(self) -> None:
        self._handle.scroll_into_view_if_needed()
        self._handle.focus()
        self._page.page.keyboard.press("Home")
        time.sleep(2 * REST_SECONDS)


def press_times(page: Page) -> list[float]:
    """Milliseconds from a press of *Hear it* to the news that its first samples have been made."""
    hear = page.page.locator(".tunelib-hear").first
    page.tool("ears.begin()")
    for _ in range(MOVES // 2):
        hear.click()
        time.sleep(REST_SECONDS)
        hear.click()
        time.sleep(REST_SECONDS)
    return [float(wait) for wait in page.tool("ears.waits()")]


def measure(exhibit: str) -> None:
    """Measure one exhibit beside its peer and print what was found."""
    knob, place, steps = longest_slider(exhibit)
    with tempfile.TemporaryDirectory() as folder:
        nbformat.write(notebook(exhibit, knob), Path(folder) / "panel.ipynb")
        with running_browser() as browser, running_lab(Path(folder), browser) as lab:
            page = lab.open("panel.ipynb")
            page.run_all()
            ours = Subject(page, ".tunelib-panel", 0, place, steps)
            peer = Subject(page, ".widget-interact", 0, 0, steps)
            sounding = Subject(page, ".widget-interact", 1, 0, steps)
            times = {"panel": ours.move_times(), "interact": peer.move_times()}
            held = {"panel": ours.pictures_while_held(), "interact": peer.pictures_while_held()}
            page.page.evaluate(_EARS)
            presses = press_times(page)
            page.page.locator(".tunelib-hold").first.check()
            page.page.locator(".tunelib-hear").first.click()
            page.page.locator(".tunelib-sounds").first.wait_for()
            sounds = {"panel": ours.sound_times(), "interact": sounding.sound_times()}
            latency = 1000 * page.tool("ears.player.context.outputLatency")
            jumps = {"panel": ours.jump(), "interact": sounding.jump()}
            page.close()
    print(f"{exhibit}, slider {knob!r}")
    for who in times:
        print(
            f"  {who:9} move to picture: median {statistics.median(times[who]):4.0f} ms, "
            f"slowest {max(times[who]):4.0f} ms; pictures in {HELD_MOVES} held moves: {held[who]:2d}; "
            f"page jump while sound reloads: {jumps[who]:3.0f} px",
            flush=True,
        )
        print(f"  {'':9} move to the new sound: median {statistics.median(sounds[who]):4.0f} ms, of {len(sounds[who])}")
    print(
        f"  {'':9} press to sound: median {statistics.median(presses):4.0f} ms, slowest {max(presses):4.0f} ms of "
        f"{len(presses)}; the browser's output latency, {latency:.0f} ms, comes on top",
        flush=True,
    )


def main(names: list[str]) -> int:
    """The command; returns its exit code."""
    if why_not():
        print(why_not(), file=sys.stderr)
        return 1
    for name in names or list(EXHIBITS):
        measure(name)
    print(f"(load of this machine while measuring: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors)")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
