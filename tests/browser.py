"""A real JupyterLab in a real browser: opening a lesson, running it, and looking at what is on the page.

``with running_browser() as browser, running_lab(folder, browser) as lab`` copies a folder of notebooks to a temporary
place and serves it on this machine alone, with settings of its own, so that nobody's work or configuration is touched.
``lab.open(name)`` gives a `Page`.
"""

from __future__ import annotations

import io
import math
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
from nbformat.v4 import new_code_cell, new_notebook
from PIL import Image
from server import Server, running_server

PATIENCE_MS = 180_000  # on a machine that is busy with all else
FEWEST_PIXELS = 20  # of 500 000: a knob whose picture changes less than this has not been seen to move
_MOST_TABS = 40  # from one part of a panel to another
_CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--mute-audio",
]
_BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")

# Helpers that live in the page. A picture is compared by what it shows: the decoded pixels, never its address.
_PAGE_SCRIPT = """
window.lessonTools = {
  picture(panel) {
    return [...document.querySelectorAll('.tunelib-panel')][panel].querySelector('img.tunelib-picture');
  },
  async pixels(image) {
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = image.naturalWidth; canvas.height = image.naturalHeight;
    const brush = canvas.getContext('2d', {willReadFrequently: true});
    brush.drawImage(image, 0, 0);
    return brush.getImageData(0, 0, canvas.width, canvas.height).data;
  },
  // The pixels once the picture has come to rest, kept under a name for comparing later. A panel sends JPEG while a
  // knob moves, and PNG when it has rested.
  kept: {},
  async keepRested(panel, name, mostMs) {
    const began = performance.now();
    let address = '', kind = '';
    while (kind !== 'image/png') {
      if (performance.now() - began > mostMs) { throw new Error('the picture does not come to rest'); }
      await new Promise(resolve => setTimeout(resolve, 20));
      const now = this.picture(panel).src;
      if (now !== address) {
        address = now;
        kind = await fetch(address).then(answer => answer.blob()).then(blob => blob.type, () => '');
      }
    }
    this.kept[name] = await this.pixels(this.picture(panel));
  },
  // Whether every widget is on the page with all that it holds, shows its picture, and keeps its keys to itself.
  drawn() {
    const all = selector => [...document.querySelectorAll(selector)];
    const parts = all('.jp-OutputArea-output.lm-Panel, .jp-OutputArea-output .lm-Widget');
    const there = part => part.hasChildNodes() ? part.textContent !== 'Loading widget...' : part.matches(MAY_BE_EMPTY);
    const shown = picture => picture?.complete && picture.naturalWidth > 0;
    return parts.every(there) && all('.tunelib-panel').every(panel => shown(panel.querySelector('img.tunelib-picture')))
      && all('[class*=tunelib-] > .widget-output').every(help => help.parentElement.matches('.tunelib-guarded'));
  },
  // Who has the notebook's widgets; as it begins it asks the kernel which there are, and may miss what comes meanwhile.
  manager() {
    const {rendermime} = jupyterapp.shell.currentWidget.content;
    return rendermime.createRenderer('application/vnd.jupyter.widget-view+json')._manager.promise;
  },
  async frames(count) { for (; count > 0; count--) { await new Promise(requestAnimationFrame); } },
  // Wait until an element has had the same place and size for ten frames: JupyterLab takes some to make room.
  async still(element) {
    let last, since = 0;
    for (; since < 10; since++) {
      await this.frames(1);
      const {left, top, width, height} = element.getBoundingClientRect(), now = String([left, top, width, height]);
      if (now !== last) { [last, since] = [now, 0]; }
    }
  },
  // Wait until Python has dealt with all that the page has told it so far, and what it said to that is on the page.
  // A widget keeps back what changes while its last message is on the way, so Python is asked twice; and what it was
  // going to do at once it does before it answers.
  async answered() {
    await this.frames(2);  // what watches a size tells of it after a frame
    const {kernel} = jupyterapp.shell.currentWidget.sessionContext.session;
    const asked = {code: 'import asyncio\\nawait asyncio.sleep(0.001)', silent: true, store_history: false};
    for (let time = 0; time < 2; time++) { await kernel.requestExecute(asked).done; }
  },
  changedPixels(before, after) {
    const a = this.kept[before], b = this.kept[after];
    if (a.length !== b.length) { return -1; }
    let changed = 0;
    for (let i = 0; i < a.length; i += 4) {
      if (Math.abs(a[i] - b[i]) + Math.abs(a[i + 1] - b[i + 1]) + Math.abs(a[i + 2] - b[i + 2]) > 24) { changed++; }
    }
    return changed;
  },
  // From now on, note when keys go down and when a new picture inside the element is shown. Pictures are kept as they
  // come and compared only afterwards, by their decoded pixels, so that looking does not slow down what is looked at.
  watch(element) {
    const log = {keys: [], shown: []};
    const onKey = event => log.keys.push(event.timeStamp);
    document.addEventListener('keydown', onKey, true);
    const seen = async image => {
      const bytes = fetch(image.src).then(answer => answer.blob());
      if (!image.complete) { await new Promise(resolve => image.addEventListener('load', resolve, {once: true})); }
      await new Promise(requestAnimationFrame);
      await new Promise(resolve => setTimeout(resolve, 0));
      log.shown.push({at: performance.now(), bytes});
    };
    const observer = new MutationObserver(changes => {
      for (const change of changes) {
        if (change.type === 'attributes') { seen(change.target); }
        for (const node of change.addedNodes) {
          if (node.nodeType !== Node.ELEMENT_NODE) { continue; }
          if (node.matches('img')) { seen(node); }
          node.querySelectorAll('img').forEach(seen);
        }
      }
    });
    observer.observe(element, {childList: true, subtree: true, attributes: true, attributeFilter: ['src']});
    this.unwatch = async () => {
      observer.disconnect();
      document.removeEventListener('keydown', onKey, true);
      const pictures = [];
      let last = null;
      for (const {at, bytes} of log.shown) {
        const mark = this.mark(await createImageBitmap(await bytes));
        if (mark !== last) { pictures.push(at); last = mark; }
      }
      return {keys: log.keys, pictures};
    };
  },
  // A number that stands for the pixels of a picture.
  mark(picture) {
    const canvas = document.createElement('canvas');
    canvas.width = picture.width; canvas.height = picture.height;
    const brush = canvas.getContext('2d', {willReadFrequently: true});
    brush.drawImage(picture, 0, 0);
    let mark = 7;
    for (const word of new Uint32Array(brush.getImageData(0, 0, canvas.width, canvas.height).data.buffer)) {
      mark = (Math.imul(mark, 31) + word) | 0;
    }
    return mark;
  },
  // How far an element moves on the page, frame by frame, until a promise is kept.
  async jump(element, until) {
    const start = element.getBoundingClientRect().top;
    let farthest = 0, over = false;
    until.then(() => { over = true; });
    while (!over) {
      await this.frames(1);
      farthest = Math.max(farthest, Math.abs(element.getBoundingClientRect().top - start));
    }
    return farthest;
  },
};
""".replace("MAY_BE_EMPTY", repr(".widget-image, .widget-box, .jp-OutputPrompt"))


def wait_until(true: Callable[[], bool]) -> None:
    """Wait until something is true that no page tells of; AssertionError if it never is."""
    until = time.monotonic() + PATIENCE_MS / 1000
    while not true():
        assert time.monotonic() < until, "it never came true"
        time.sleep(0.05)


def why_not() -> str:
    """Why no browser can be driven here, in words; empty if one can."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "playwright is not installed"
    return "" if _browser_path() else f"no browser on the PATH: looked for {', '.join(_BROWSER_NAMES)}"


def _browser_path() -> str | None:
    return next((path for name in _BROWSER_NAMES if (path := shutil.which(name))), None)


@dataclass(frozen=True)
class Control:
    """A knob on the page: its panel, its kind, and its place among the panel's knobs of that kind."""

    panel: int
    kind: str
    place: int
    label: str

    def __str__(self) -> str:
        return f"panel {self.panel + 1}, {self.kind} {self.label!r}"


@dataclass(frozen=True)
class Move:
    """What came of moving a knob: how many pixels of the picture changed (-1: its size did), and how many pixels the
    picture itself moved on the page."""

    pixels: int
    jump: float


@dataclass(frozen=True)
class Stop:
    """Where Tab comes to: what assistive technology is told of it, and how well it is seen to have the keyboard.

    `frame` is the part of its outline, drawn two pixels wide, that the pixels would cover whose contrast between
    having the keyboard and not having it is at least 3 to 1 (WCAG 2.2, success criterion 2.4.13, measures so).
    """

    role: str
    name: str
    value: str
    frame: float


class Page:
    """One notebook open in JupyterLab."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.errors: list[str] = []
        self.has_run = False
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("console", self._note)

    def _note(self, line: Any) -> None:
        """Keep what the browser complains of, and where that came from: a resource is named nowhere else."""
        if line.type == "error":
            self.errors.append(f"{line.text} ({line.location['url']})")

    def tool(self, expression: str, *values: Any) -> Any:
        """Evaluate an expression on the page; `values` are its `given`."""
        return self.page.evaluate(f"async given => {{ return await ({expression}); }}", list(values))

    def wait_for_stored_pictures(self, count: int) -> None:
        """Wait until so many pictures are in outputs, loaded and visible."""
        self.page.wait_for_function(
            "count => [...document.querySelectorAll('.jp-OutputArea-output img')]"
            ".filter(i => i.complete && i.naturalWidth > 0 && i.getClientRects().length > 0).length === count",
            arg=count,
        )

    def text(self) -> str:
        """All the words in the notebook's outputs."""
        return "\n".join(self.page.locator(".jp-OutputArea-output").all_inner_texts())

    def run_all(self) -> None:
        """Run every cell and wait until the kernel is idle and all widgets are on the page.

        Raises AssertionError if JupyterLab did not run them all and no cell says why.
        """
        self.has_run = True
        ran = self.tool("window.jupyterapp.commands.execute('notebook:run-all-cells')")
        if not ran and not self.cell_errors():
            raise AssertionError("JupyterLab did not run the cells of the notebook")
        self.page.wait_for_function(
            "() => window.jupyterapp.shell.currentWidget.sessionContext.session?.kernel?.status === 'idle'"
            " && ![...document.querySelectorAll('.jp-InputPrompt')].some(p => p.textContent.includes('*'))"
            " && lessonTools.drawn()"
        )
        self.answered()

    def answered(self) -> None:
        """Wait until Python has dealt with all that the page has told it, and the page shows what came of that."""
        self.tool("lessonTools.answered()")

    def cell_errors(self) -> list[str]:
        """What failed cells say."""
        kinds = [f"[data-mime-type='application/vnd.jupyter.{kind}']" for kind in ("error", "stderr")]
        return list(self.page.locator(", ".join(kinds)).all_inner_texts())

    def panels(self) -> int:
        """How many panels are on the page."""
        return int(self.page.locator(".tunelib-panel").count())

    def controls(self) -> list[Control]:
        """Every slider, dropdown and checkbox of every panel."""
        found = []
        for panel in range(self.panels()):
            for kind, selector in _KINDS.items():
                knobs = self.page.locator(".tunelib-panel").nth(panel).locator(selector)
                for place in range(knobs.count()):
                    row = knobs.nth(place).locator("xpath=ancestor::*[contains(@class,'widget-inline-hbox')][1]")
                    label = " ".join(row.locator("label").all_text_contents()).replace("\u200b", "").strip()
                    found.append(Control(panel, kind, place, label))
        return found

    def cut_labels(self) -> list[str]:
        """The labels of knobs that are too long for their place, and so are cut off."""
        panels = ("panel", "tune-panel")
        labels = f"[...document.querySelectorAll('{', '.join(f'.tunelib-{name} .widget-label' for name in panels)}')]"
        return list(self.tool(f"{labels}.filter(l => l.scrollWidth > l.clientWidth).map(l => l.textContent)"))

    def wait_for_keyboard(self, selector: str) -> None:
        """Wait until an element that fits a selector has the keyboard."""
        self.page.wait_for_function("selector => document.activeElement.matches(selector)", arg=selector)

    def tab_to(self, words: str) -> None:
        """Press Tab until the button that says these words has the keyboard; AssertionError if it never does."""
        for _ in range(_MOST_TABS):
            self.page.keyboard.press("Tab")
            standing = self.page.evaluate("[document.activeElement.tagName, document.activeElement.textContent]")
            if standing[0] == "BUTTON" and words in standing[1]:
                return
        raise AssertionError(f"the button {words!r} is not reached by {_MOST_TABS} presses of Tab")

    def walk(self, panel: str) -> list[Stop]:
        """Tab through the panel that a selector finds, from its first stop until Tab leaves it.

        A place that takes several presses, such as a player with buttons of its own, is one stop.
        """
        begin, keys, stops = self.page.locator(panel).locator(_STOPS).first, self.page.keyboard, []
        begin.scroll_into_view_if_needed()
        begin.focus()
        while self.page.evaluate("panel => document.activeElement.closest(panel) !== null", panel):
            if len(stops) == _MOST_STOPS:
                raise AssertionError(f"more than {_MOST_STOPS} stops in {panel}")
            here = self.page.evaluate_handle("document.activeElement")
            role, name, value = self._told()
            framed = self._seen(here)
            while self.page.evaluate("here => document.activeElement === here", here):
                keys.press("Tab")
            plain = self._seen(here)
            width, height, round_ = here.evaluate(
                "e => [e.offsetWidth, e.offsetHeight, getComputedStyle(e).borderRadius === '50%']"
            )
            outline = math.pi * width if round_ else 2 * (width + height)
            stops.append(Stop(role, name, value, float(np.sum(_contrast(framed, plain) >= 3)) / (2 * outline)))
        return stops

    def _told(self) -> tuple[str, str, str]:
        """Role, name and value of what has the keyboard, from the browser's accessibility tree.

        The value in words of a slider is what its attribute says: it is given to assistive technology, but this view of
        the tree leaves it out.
        """
        tree = self.page.context.new_cdp_session(self.page)
        there = tree.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]["objectId"]
        found = tree.send("Accessibility.getPartialAXTree", {"objectId": there, "fetchRelatives": False})["nodes"][0]
        tree.detach()
        role, name, value = (str(found.get(part, {}).get("value", "")) for part in ("role", "name", "value"))
        checked = [p["value"]["value"] for p in found.get("properties", []) if p["name"] == "checked"]
        words = (
            self.page.evaluate("document.activeElement.getAttribute('aria-valuetext')") if role == "slider" else None
        )
        return role, name.strip(), " ".join([words or value, *checked]).replace("\u00a0", " ").strip()

    def _seen(self, part: Any) -> np.ndarray[Any, Any]:
        """The pixels of a part of the page and a little around it, once it holds still."""
        part.as_element().scroll_into_view_if_needed()
        self.tool("lessonTools.still(given[0])", part)
        x, y, width, height = part.evaluate(
            "e => { const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height].map(Math.round); }"
        )
        clip = {"x": x - _AROUND, "y": y - _AROUND, "width": width + 2 * _AROUND, "height": height + 2 * _AROUND}
        with Image.open(io.BytesIO(self.page.screenshot(clip=clip, caret="hide", animations="disabled"))) as picture:
            return np.asarray(picture.convert("RGB"), float) / 255

    def move(self, control: Control, far: bool = False) -> Move:
        """Move a knob by keyboard, by one step or as far as it goes; say what came of it once the picture rests.

        Raises AssertionError if no key moves the knob.
        """
        panel = self.page.locator(".tunelib-panel").nth(control.panel)
        knob = panel.locator(_KINDS[control.kind]).nth(control.place)
        knob.scroll_into_view_if_needed()
        knob.focus()
        self.keep_rested(control.panel, "before")
        standing, top = _standing(knob, control), self._top(control.panel)
        for key in _FAR_KEYS if far else _KEYS[control.kind]:
            self.page.keyboard.press(key)
            if _standing(knob, control) != standing:
                break
        else:
            raise AssertionError(f"{control} does not move by keyboard from {standing}")
        self.answered()
        self.keep_rested(control.panel, "after")
        pixels = int(self.tool("lessonTools.changedPixels('before', 'after')"))
        return Move(pixels, abs(self._top(control.panel) - top))

    def keep_rested(self, panel: int, name: str) -> None:
        """Keep a panel's pixels under a name, once its picture has come to rest."""
        self.tool("lessonTools.keepRested(given[0], given[1], given[2])", panel, name, PATIENCE_MS)

    def close(self) -> None:
        """Stop the kernel of this page and close it; other pages keep theirs."""
        self.tool("window.jupyterapp.shell.currentWidget.sessionContext.shutdown()")
        self.page.context.close()

    def _top(self, panel: int) -> float:
        """Where a panel's picture is on the screen, in pixels from the top."""
        return float(self.tool("lessonTools.picture(given[0]).getBoundingClientRect().top", panel))


_KINDS = {
    "slider": ".noUi-handle",
    "dropdown": "select",
    "checkbox": ".widget-checkbox input[type=checkbox]",
}
_STOPS = ".noUi-handle, select, input, textarea, button:enabled"  # what a panel may begin with, for the keyboard
_MOST_STOPS = 40
_AROUND = 6  # pixels around a stop that belong to its frame
_KEYS = {
    "slider": ("ArrowRight", "ArrowLeft"),
    "dropdown": ("End", "Home"),  # JupyterLab takes the arrow keys for itself
    "checkbox": ("Space",),
}
_FAR_KEYS = ("End", "Home")  # of a slider or a dropdown


def _standing(knob: Any, control: Control) -> str:
    """Where a knob is, as the page has it."""
    if control.kind == "slider":
        return str(knob.evaluate("k => k.parentElement.style.transform"))  # finer than the value as it is read out
    return str(knob.evaluate("k => k.type === 'checkbox' ? k.checked : k.value"))


def _contrast(one: np.ndarray[Any, Any], two: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """The contrast of two pictures, pixel by pixel, as WCAG 2.2 defines it for colours in sRGB."""
    light = [
        np.where(picture <= 0.04045, picture / 12.92, ((picture + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]
        for picture in (one, two)
    ]
    return (np.maximum(*light) + 0.05) / (np.minimum(*light) + 0.05)


class Lab:
    """A running JupyterLab with a browser; made by `running_lab`. The copied notebooks are in its `folder`."""

    def __init__(self, server: Server, browser: Any) -> None:
        self._server = server
        self._browser = browser
        self.folder = server.folder

    def open(self, name: str) -> Page:
        """Open a notebook and wait until its outputs as stored are on the page."""
        return self._open(f"lab/tree/{name}?reset&token={self._server.token}")

    def open_cells(self, name: str, sources: list[str]) -> Page:
        """Write a notebook of these code cells beside the others, open it and run it."""
        self._write(name, sources)
        page = self.open(name)
        page.run_all()
        return page

    def open_classic(self, name: str, sources: list[str], shown: str = ".tunelib-panel img") -> Page:
        """The same in Notebook 7, the one-document relative of JupyterLab.

        It has run when what the selector `shown` finds is on the page.
        """
        self._write(name, sources)
        page = self._open(f"notebooks/{name}?token={self._server.token}")
        page.run_all()
        page.page.locator(shown).first.wait_for()
        return page

    @contextmanager
    def busy(self, page: Page) -> Iterator[None]:
        """Keep the kernel of a page busy for as long as this lasts."""
        over = self.folder / "over"
        code = f"import pathlib, time\nwhile not pathlib.Path({str(over)!r}).exists(): time.sleep(0.05)"
        kernel = "window.jupyterapp.shell.currentWidget.sessionContext.session.kernel"
        page.tool(f"(window.working = {kernel}.requestExecute({{code: given[0]}}).done, 0)", code)
        page.page.wait_for_function(f"() => {kernel}.status === 'busy'")
        try:
            yield
        finally:
            over.touch()
            page.tool("window.working.then(() => 0)")
            over.unlink()

    def _open(self, address: str) -> Page:
        context = self._browser.new_context(viewport={"width": 1280, "height": 900})
        context.add_init_script(_PAGE_SCRIPT)
        context.set_default_timeout(PATIENCE_MS)
        page = Page(context.new_page())
        page.page.goto(f"{self._server.address}{address}")
        page.page.wait_for_selector(".jp-Notebook .jp-Cell")
        page.page.wait_for_function(
            "() => { const open = window.jupyterapp?.shell.currentWidget; return open?.context?.isReady"
            " && open.sessionContext.isReady && open.sessionContext.session?.kernel?.status === 'idle'; }"
        )
        manager = page.page.evaluate_handle("() => lessonTools.manager()")
        page.page.wait_for_function("manager => manager.restoredStatus", arg=manager)
        return page

    def _write(self, name: str, sources: list[str]) -> None:
        notebook = new_notebook(cells=[new_code_cell(source) for source in sources])
        notebook.metadata.kernelspec = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
        nbformat.write(notebook, self.folder / name)


@contextmanager
def running_browser(*flags: str) -> Iterator[Any]:
    """A browser without a window, which stops at the end; it may be started with more flags."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=_browser_path(), args=[*_CHROMIUM_FLAGS, *flags], timeout=PATIENCE_MS
        )
        yield browser
        browser.close()


@contextmanager
def running_lab(notebooks: Path, browser: Any, *options: str, as_in_readme: bool = True) -> Iterator[Lab]:
    """Serve a copy of a folder of notebooks to a browser; the server stops at the end. See `running_server`."""
    exposed = "--expose-app-in-browser", "--JupyterNotebookApp.expose_app_in_browser=True"
    with running_server(notebooks, *exposed, *options, as_in_readme=as_in_readme) as server:
        yield Lab(server, browser)
