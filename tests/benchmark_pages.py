"""How soon a lesson's page shows its first picture, and how soon a moved slider shows its own; beside a plain page.

Run as ``python tests/benchmark_pages.py`` with nothing else at work; the pages are opened from files in a real browser.
The plain page has one slider, and a PNG for each of its stops.
"""

from __future__ import annotations

import base64
import json
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from browser import running_browser

from tunelib.exhibits import EXHIBITS
from tunelib.files import write_set
from tunelib.practice import lesson_pages
from tunelib.show import Stage

OPENINGS, MOVES = 5, 60
LESSON, EXHIBIT = "01_waves", "wave"

_PLAIN = """<!doctype html><meta charset="utf-8"><input type="range" max="LAST">
<div class="picture"><img></div><script>
const pictures = PICTURES, slider = document.querySelector('input'), image = document.querySelector('img');
slider.addEventListener('input', async () => {
  image.src = `data:image/png;base64,${pictures[slider.value]}`;
  await image.decode();
  slider.dataset.shown = slider.value;
});
slider.value = 0;
slider.dispatchEvent(new Event('input'));
</script>"""

# From the slider that has been set to the setting that is shown, in milliseconds.
_MOVE = """async (slider, stop) => {
  const told = slider.closest('.exhibit') ?? slider, began = performance.now();
  slider.value = stop;
  slider.dispatchEvent(new Event('input', {bubbles: true}));
  while (told.dataset.shown?.split(',')[0] !== String(stop)) { await new Promise(resolve => setTimeout(resolve)); }
  return performance.now() - began;
}"""


def plain_page() -> str:
    """The same exhibit, with as many stops of its first slider as are measured."""
    exhibit = EXHIBITS[EXHIBIT]
    knob, stage, pictures = exhibit.knobs[0], Stage(exhibit), []
    for value in np.linspace(knob.low, knob.high, MOVES):
        stage.move(exhibit.settle({knob.name: float(value)}))
        pictures.append(base64.b64encode(stage.crisp()).decode())
    return _PLAIN.replace("LAST", str(MOVES - 1)).replace("PICTURES", json.dumps(pictures))


def measured(browser: Any, path: Path, slider: str) -> str:
    """Both times of a page, and its weight, in words."""
    openings = []
    for _ in range(OPENINGS):
        page = browser.new_page()
        began = time.monotonic()
        page.goto(path.as_uri(), wait_until="commit")
        page.wait_for_function("() => document.querySelector('.picture img')?.naturalWidth")
        openings.append(time.monotonic() - began)
    moved = page.query_selector(slider)
    moved.scroll_into_view_if_needed()
    moves = [moved.evaluate(_MOVE, stop) for stop in (*range(1, MOVES), 0)]
    return (
        f"first picture {1000 * statistics.median(openings):.0f} ms (median of {OPENINGS}); a move"
        f" {statistics.median(moves):.1f} ms (median of {MOVES}), {max(moves):.0f} at most;"
        f" {path.stat().st_size / 1e6:.1f} MB"
    )


def main() -> None:
    """Print what was found of both."""
    notebook = Path(__file__).resolve().parent.parent / "lessons" / f"{LESSON}.ipynb"
    with tempfile.TemporaryDirectory() as folder, running_browser() as browser:
        site, plain = Path(folder) / "site", Path(folder) / "plain.html"
        write_set(lesson_pages([notebook]), site)
        plain.write_text(plain_page(), encoding="utf-8")
        print(f"{LESSON}, {EXHIBIT}: {measured(browser, site / f'{LESSON}.html', f'[data-exhibit={EXHIBIT}] input')}")
        print(f"plain page: {measured(browser, plain, 'input')}")


if __name__ == "__main__":
    main()
