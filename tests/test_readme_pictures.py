"""README's pictures: three of them, small, described in words, and as the exhibits are now."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tunelib.show import still

TOP = Path(__file__).resolve().parent.parent
MATERIAL = TOP / "lessons" / "material"
SIZE = "1080p"
MOVED: dict[str, dict[str, Any]] = {  # the exhibits shown, each with a move that must not go unnoticed
    "overtones_and_steps": {"harmonic": 11},
    "ring_of_31": {"step": 10},
    "series_sheet": {"player": "tenor saxophone"},
}
MOST_BYTES = 150_000
FEWEST_WORDS = 12
PATCH = 24  # pixels: letters that lie a pixel away, as another font renderer sets them, hardly change its mean
LEEWAY = 50.0  # of 255, in the mean of a patch: one pixel away makes 18, the least of the moves above 87


def difference(one: Path, other: Path) -> float:
    """The largest difference between two pictures, patch by patch."""
    patches = [np.asarray(Image.open(path).convert("RGB").reduce(PATCH), dtype=float) for path in (one, other)]
    assert patches[0].shape == patches[1].shape
    return float(np.abs(patches[0] - patches[1]).max())


def test_readme_shows_three_pictures_and_says_what_is_on_them() -> None:
    text = (TOP / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", text)
    assert [path for _, path in shown] == [f"lessons/material/{name}.png" for name in MOVED]
    assert "<img" not in text
    assert all(len(words.split()) >= FEWEST_WORDS for words, _ in shown), "a picture is not described"


@pytest.mark.parametrize("name", MOVED)
def test_a_picture_in_readme_is_small_and_current(name: str, tmp_path: Path) -> None:
    stored = MATERIAL / f"{name}.png"
    assert stored.stat().st_size < MOST_BYTES
    assert difference(stored, still(name, tmp_path / "fresh.png", size=SIZE)) <= LEEWAY, (
        f'renew it: still("{name}", "lessons/material/{name}.png", size="{SIZE}", overwrite=True)'
    )
    assert difference(stored, still(name, tmp_path / "moved.png", size=SIZE, **MOVED[name])) > LEEWAY
