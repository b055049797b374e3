"""How soon a lesson's page shows its first picture, and how soon a moved slider shows its own.

Run as ``python tests/benchmark_pages.py`` with nothing else at work; the page is opened from a file in a real browser.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from browser import running_browser

from tunelib.files import write_set
from tunelib.practice import lesson_pages

OPENINGS, MOVES = 5, 60
LESSON, EXHIBIT = "01_waves", "wave"

# From the slider that has been set to the setting that is shown, in milliseconds.
_MOVE = """async (slider, stop) => {
  const figure = slider.closest('.exhibit'), began = performance.now();
  slider.value = stop;
  slider.dispatchEvent(new Event('input', {bubbles: true}));
  while (figure.dataset.shown?.split(',')[0] !== String(stop)) { await new Promise(resolve => setTimeout(resolve)); }
  return performance.now() - began;
}"""


def main() -> None:
    """Print both."""
    notebook = Path(__file__).resolve().parent.parent / "lessons" / f"{LESSON}.ipynb"
    with tempfile.TemporaryDirectory() as folder, running_browser() as browser:
        write_set(lesson_pages([notebook]), Path(folder) / "site")
        openings = []
        for _ in range(OPENINGS):
            page = browser.new_page()
            began = time.monotonic()
            page.goto((Path(folder) / "site" / f"{LESSON}.html").as_uri(), wait_until="commit")
            page.wait_for_function("() => document.querySelector('.picture img')?.complete")
            openings.append(time.monotonic() - began)
        figure = page.query_selector(f"[data-exhibit={EXHIBIT}]")
        figure.scroll_into_view_if_needed()
        moves = [figure.query_selector("input").evaluate(_MOVE, stop) for stop in range(MOVES)]
    print(f"the first picture of {LESSON}: {1000 * statistics.median(openings):.0f} ms (median of {OPENINGS})")
    print(
        f"a moved slider of {EXHIBIT}: {statistics.median(moves):.1f} ms (median of {MOVES}), {max(moves):.0f} at most"
    )


if __name__ == "__main__":
    main()
