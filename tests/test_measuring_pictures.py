"""Pictures of measuring: what is drawn is where the numbers say."""

from __future__ import annotations

import numpy as np
import pytest
from test_waves import SHAPES, shown

from tunelib.pitch import cents


@SHAPES
@pytest.mark.parametrize(("interval", "near"), [(400, "5/4"), (700, "3/2"), (300, "6/5"), (1000, "7/4"), (20, "1/1")])
def test_the_ruler_measures_what_it_says(size: str, interval: int, near: str) -> None:
    """The interval is as long as its cents, and the gap is what it differs by from the nearest simple ratio."""
    parts = shown("cents_ruler", size, interval=interval)
    marks = parts["ruler"][0].get_xdata()[::3]
    inch = (marks[-1] - marks[0]) / 1200
    assert np.diff(marks) == pytest.approx(20 * inch), "a mark every 20 cents"
    span, _ = parts["interval"]
    gap, pole = parts["gap"]
    assert span.get_x() == pytest.approx(marks[0]) and span.get_width() == pytest.approx(interval * inch)
    assert pole.get_xdata()[0] == pytest.approx(marks[0] + cents(near) * inch)
    assert gap.get_width() == pytest.approx(abs(interval - cents(near)) * inch)
    said = parts["miss"][0].get_text()
    assert said.startswith(f"{abs(interval - cents(near)):.1f}".removesuffix(".0"))
    assert ("wider" in said) == (interval > cents(near))


def test_flags_are_at_their_ratios() -> None:
    """In cents, as tables give them: 204, 316, 386, 498, 702, 884, 969 and 1088."""
    parts = shown("cents_ruler")
    marks = parts["ruler"][0].get_xdata()
    posts, words = parts["flags"][::2], parts["flags"][1::2]
    places = [1200 * (post.get_xdata()[0] - marks[0]) / (marks[-2] - marks[0]) for post in posts]
    assert [round(place) for place in places] == [0, 204, 316, 386, 498, 702, 884, 969, 1088, 1200]
    assert [word.get_position()[0] for word in words] == [post.get_xdata()[0] for post in posts]


@pytest.mark.parametrize(("lower", "count"), [(110, 6), (220, 12), (440, 23)])
def test_hertz_crowd_as_they_rise(lower: float, count: int) -> None:
    """A mark for each multiple of 20 Hz in the octave, at its pitch, so each nearer to the one before it."""
    marks = shown("cents_ruler", lower=lower)["hertz"][0].get_xdata()[::3]
    assert len(marks) == count and np.all(np.diff(marks, 2) < 0)
