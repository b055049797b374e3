"""The families of intervals: dots as far from their ratios as the numbers say, and what lights up."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from tunelib.exhibits import EXHIBITS, STANDS_FOR
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.look import THEMES, Look

FAMILIES = EXHIBITS["interval_families"]


@pytest.fixture(scope="module")
def scene() -> Any:
    return FAMILIES.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))


def off(step: int) -> float:
    """Cents by which a step is wider than its ratio, worked out anew."""
    return 1200 * step / 31 - 1200 * math.log2(Fraction(STANDS_FOR[step]))


def test_each_dot_is_as_far_off_as_it_says(scene: Any) -> None:
    """By the bar of 10 cents that is drawn, to either side of the post."""
    for step in range(32):
        scene.update(step=step)
        [bar, *_] = [part for part in scene.parts["miss"] if hasattr(part, "get_xdata")]
        cent = float(np.ptp(bar.get_xdata())) / 10
        _, post, *_ = scene.parts["pure"]
        [dot] = scene.parts["chosen"]
        assert (dot.get_xdata()[0] - post.get_xdata()[0]) / cent == pytest.approx(off(step), abs=1e-9)
        number, words = scene.parts["words"]
        assert float(number.get_text()) == pytest.approx(abs(off(step)), abs=0.005)
        assert ("wider" in words.get_text()) == (off(step) > 0.005), step
        assert FAMILIES.numbers(step=step)["miss"] == number.get_text() or number.get_text() == "0"


def test_a_gap_is_filled_from_each_post_to_its_dot(scene: Any) -> None:
    scene.update(step=9)
    gaps = [patch for patch in scene.parts["miss"] if isinstance(patch, Rectangle)]
    [dots] = scene.parts["dots"]
    assert [gap.get_x() + gap.get_width() for gap in gaps] == pytest.approx(list(dots.get_xdata()))


def test_the_dot_and_then_the_pure_one_light_up(scene: Any) -> None:
    """The second note of the pair is the interval of 31; the very last is the ratio."""
    [dot], (_, post, *_) = scene.parts["chosen"], scene.parts["pure"]
    size, width = dot.get_markersize(), post.get_linewidth()
    seen = []
    for playing in (SILENT, Playing(0.1, (0,)), Playing(1.1, (1,)), Playing(2.1, (2, 3)), Playing(4.5, (4, 5))):
        scene.update(step=9)
        scene.light(playing)
        seen.append((dot.get_markersize() > size, post.get_linewidth() > width))
    assert seen == [(False, False), (False, False), (True, False), (True, False), (False, True)]


def test_the_other_rows_have_their_gaps_filled(scene: Any) -> None:
    """Each from a ratio's post to the dot of the step that stands for it."""
    scene.update(step=9)
    gaps, _, dots = scene.parts["others"]
    corners = gaps.get_path().vertices.reshape(-1, 5, 2)
    [bar, *_] = [part for part in scene.parts["miss"] if hasattr(part, "get_xdata")]
    cent = float(np.ptp(bar.get_xdata())) / 10
    widths = (corners[:, 1, 0] - corners[:, 0, 0]) / cent
    assert corners[:, 1, 0] == pytest.approx(dots.get_xdata())
    assert sorted(widths) == pytest.approx(sorted(off(step) for step in range(2, 30)))
