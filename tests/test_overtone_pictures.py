"""Pictures of overtones: what is drawn is where the numbers say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from test_waves import SHAPES, shown

from tunelib.exhibits import EXHIBITS, THEMES
from tunelib.exhibits.exhibit import Playing
from tunelib.show.stage import Stage


@SHAPES
@pytest.mark.parametrize("count", [2, 5, 8, 16])
def test_rungs_are_even_in_hertz_and_by_octaves_to_the_ear(size: str, count: int) -> None:
    """Harmonic n is at n on the one ladder and at the logarithm of n on the other; both fill the same height."""
    parts = shown("harmonic_ladder", size, count=count)
    numbers = np.arange(1, count + 1)
    for part, places in (("hertz", numbers), ("ear", np.log2(numbers))):
        heights = np.array([segment[0][1] for segment in parts[part][0].get_segments()])
        assert heights[count:] == pytest.approx(heights[count - 1]), "what is not shown is on the last rung"
        shares = (heights[:count] - heights[0]) / np.ptp(heights)
        assert shares == pytest.approx((places - places[0]) / np.ptp(places))
    bands = parts["gaps"][0].get_paths()
    assert bands[0].get_extents().height > 0


def test_notes_and_hertz_beside_the_rungs_are_those_of_the_harmonics() -> None:
    """Harmonics of A2, 110 Hz, with the cents that every table has: 3 is 2 above, 5 is 14 below, 7 is 31 below."""
    parts = shown("harmonic_ladder", count=8)
    hertz = [text.get_text() for text in parts["hertz"][1:-1] if text.get_visible()]
    assert hertz == [str(110 * n) for n in range(1, 9)]
    names = [text.get_text() for text in parts["notes"][:-1] if text.get_visible()]
    assert names == [
        name.replace("♯", "\ue262") for name in ("A2", "A3", "E4 +2", "A4", "C♯5 −14", "E5 +2", "G5 −31", "A5")
    ]


def test_the_rung_that_sounds_lights_up_and_all_at_the_end() -> None:
    """One after the other from below, then together."""
    exhibit = EXHIBITS["harmonic_ladder"]
    stage = Stage(exhibit)
    ink = to_rgb(THEMES["light"].ink)
    lit = []
    for moment in (0.3, 1.5, 4.0):
        notes = exhibit.score(**exhibit.settle({"count": 4})).notes
        sounding = tuple(k for k, n in enumerate(notes) if n.onset <= moment < n.onset + n.duration)
        stage.move(exhibit.settle({"count": 4}), Playing(moment, sounding))
        rungs: Any = stage._scene.parts["ear"][0]
        colours = rungs.get_colors()[:4]
        lit.append([bool(np.allclose(colour[:3], ink)) for colour in colours])
    assert lit == [[True, False, False, False], [False, False, True, False], [True] * 4]


@SHAPES
@pytest.mark.parametrize(
    ("sound", "kept"), [("clarinet", 5), ("brass", 16), ("sawtooth", 9), ("plucked", 16), ("flute", 1)]
)
def test_the_sum_is_that_of_the_waves_under_it(size: str, sound: str, kept: int) -> None:
    """All are drawn to one scale: what the rows show, added up, is the bold wave, and that is the wave that sounds."""
    parts = shown("recipe", size, sound=sound, kept=kept)
    _, *rows = parts["harmonics"]
    whole, rest, _ = parts["sum"]
    seen = [row for row in rows if row.get_visible()]
    added = sum(row.get_ydata() - middle(row) for row in seen)
    bold = whole.get_ydata() - rest.get_ydata()[0]
    assert bold == pytest.approx(added, abs=0.02 * np.ptp(bold) + 0.01)
    exhibit = EXHIBITS["recipe"]
    timbre: Any = exhibit.timbre(**exhibit.settle({"sound": sound, "kept": kept}))
    wave = timbre.wave(np.linspace(0, 1, bold.size) / 220, 220)
    assert bold / np.ptp(bold) == pytest.approx(wave / np.ptp(wave), abs=1e-6)


def middle(row: Any) -> float:
    """The height that a row's wave goes about."""
    heights = row.get_ydata()
    return float((heights.max() + heights.min()) / 2)


@SHAPES
def test_rows_are_as_high_as_their_harmonics_are_strong(size: str) -> None:
    """A square wave has its third harmonic a third as strong, its fifth a fifth (Fourier), and no even ones."""
    _, *rows = shown("recipe", size, sound="square", kept=5)["harmonics"]
    assert [row.get_visible() for row in rows[:5]] == [True, False, True, False, True]
    first, third, fifth = (np.ptp(rows[n - 1].get_ydata()) for n in (1, 3, 5))
    assert third / first == pytest.approx(1 / 3, abs=0.01) and fifth / first == pytest.approx(1 / 5, abs=0.01)


@SHAPES
def test_weak_harmonics_have_a_number_as_the_strong_ones_have(size: str) -> None:
    """Of a clarinet's first five, the second and fourth are almost flat: their lines are numbered like the others."""
    parts = shown("recipe", size, sound="clarinet", kept=5)
    rows, numbers = parts["harmonics"][1:6], parts["numbers"]
    assert [text.get_text() for text in numbers if text.get_visible()] == ["1", "2", "3", "4", "5"]
    for row, number in zip(rows, numbers, strict=False):
        assert number.get_position()[1] == pytest.approx(np.mean(row.get_ydata()[:-1]), abs=0.01)
