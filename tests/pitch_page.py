"""What the page's pitch finder makes of a sound, in a real browser: ``with pitch_page(browser) as find``."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

import numpy as np

import tunelib
from tunelib.live import script

FINDER = Path(tunelib.__file__).parent / "live" / "pitch_finder.js"
BLOCK = 512  # samples, as the microphone gives them

_FIND = """
window.find = ({text, rate, lowest, highest, block}) => {
  const bytes = Uint8Array.from(atob(text), c => c.charCodeAt(0)), sound = new Float32Array(bytes.buffer);
  const finder = new PitchFinder(rate, lowest, highest), found = [];
  for (let end = block; end <= sound.length; end += block) {
    const began = performance.now();
    finder.add(sound.subarray(end - block, end));
    const {hertz, clarity, level, late} = finder.find();
    found.push([end / rate - late, hertz, clarity, level, performance.now() - began]);
  }
  return found.map(one => one.map(value => Number.isNaN(value) ? null : value));
};
"""


class Found(NamedTuple):
    """Estimates in their order: the middle of each stretch in seconds, pitch in hertz (NaN for none), clarity, level in
    decibels of full scale, and the milliseconds that each took."""

    seconds: np.ndarray
    hertz: np.ndarray
    clarity: np.ndarray
    level: np.ndarray
    cost: np.ndarray


@contextmanager
def pitch_page(browser: Any) -> Iterator[Callable[..., Found]]:
    """A function that gives the estimates for samples: see `find` inside."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        path.write_text(f"<!DOCTYPE html><meta charset=utf-8><title>.</title><script>{script(FINDER)}{_FIND}</script>")
        page = browser.new_page()
        page.goto(path.as_uri())

        def find(samples: np.ndarray, rate: float = 48000, lowest: float = 50, highest: float = 2000) -> Found:
            """Every block of 512 samples is followed by an estimate."""
            text = base64.b64encode(np.asarray(samples, dtype="<f4").tobytes()).decode()
            given = {"text": text, "rate": rate, "lowest": lowest, "highest": highest, "block": BLOCK}
            rows = np.array(page.evaluate("given => find(given)", given), dtype=float).reshape(-1, 5)
            return Found(*rows.T)

        yield find
        page.close()
