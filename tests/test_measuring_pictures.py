"""Pictures of measuring: what is drawn is where the numbers say."""

from __future__ import annotations

import re

import numpy as np
import pytest
from matplotlib.colors import to_hex
from test_waves import SHAPES, shown

from tunelib.exhibits import EXHIBITS, THEMES
from tunelib.hearing import PUBLISHED_THRESHOLDS
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


def measured(hertz: float) -> dict[str, tuple[float, float]]:
    """The published thresholds that hold at a pitch, by their names, in cents."""
    return {one.what: span for one in PUBLISHED_THRESHOLDS if one.measured and (span := one.cents(hertz)) is not None}


@SHAPES
@pytest.mark.parametrize("hertz", [110, 440, 500, 1000, 1760])
def test_names_of_thresholds_are_on_the_line_of_their_bars(size: str, hertz: float) -> None:
    """Only those that hold at this pitch are there: the bar at its cents, its name beside it, the least on top."""
    parts = shown("small_difference", size, hertz=hertz)
    bars, *words = parts["published"]
    names = words[: len(PUBLISHED_THRESHOLDS)]
    places = {text.get_text(): text.get_position()[0] for text in parts["cents"] if hasattr(text, "get_text")}
    octave = (places["50"] - places["1"]) / np.log2(50)
    heights = []
    for one, name, segment in zip(PUBLISHED_THRESHOLDS, names, bars.get_segments(), strict=True):
        assert name.get_visible() == (one.cents(hertz) is not None)
        cents_here = one.cents(hertz)
        if cents_here is None:
            assert segment.size == 0 or np.isnan(segment).all()
            continue
        (left, low), (right, high) = segment
        assert low == high == name.get_position()[1]
        assert (left, right) == pytest.approx(places["1"] + octave * np.log2(cents_here), abs=0.01)
        heights.append((np.prod(cents_here), low))
    by_size, by_height = sorted(heights), sorted(heights, key=lambda pair: -pair[1])
    assert [size for size, _ in by_size] == [size for size, _ in by_height]


@pytest.mark.parametrize("difference", [0.625, 3, 10, 10 * (1 - 1e-15), 5 * (1 - 1e-12), 80])
def test_as_many_bars_are_bright_as_the_sentence_says(difference: float) -> None:
    """A slider's rounding, such as 9.999999999999998 for 10, changes neither the picture nor what is said."""
    exhibit = EXHIBITS["small_difference"]
    sentence = exhibit.sentence(**exhibit.settle({"difference": difference}))
    said = int(re.search(r"at or above (\d+) of", sentence)[1])  # type: ignore[index]
    assert said == sum(low <= round(difference, 6) for low, _ in measured(440).values())
    bars, *_ = shown("small_difference", difference=difference)["published"]
    bright = [to_hex(colour).upper() == THEMES["light"].ink for colour in bars.get_colors() if colour[3]]
    assert sum(bright) == said
    own = exhibit.sentence(**exhibit.settle({"difference": difference, "own": round(difference, 6), "tested": True}))
    assert ": at or above your own threshold" in own


def test_a_threshold_is_called_yours_only_where_it_was_tested() -> None:
    exhibit = EXHIBITS["small_difference"]
    for tested, said, drawn in ((True, "your own threshold of 20 cents", "cents: you"), (False, "set here", "as set")):
        sentence = exhibit.sentence(**exhibit.settle({"tested": tested}))
        assert said in sentence and ("your" in sentence) == tested
        words = " ".join(text.get_text() for text in shown("small_difference", tested=tested)["own"][1:])
        assert words.startswith("20") and drawn in words and ("you" in words) == tested
