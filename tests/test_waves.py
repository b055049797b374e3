"""Pictures of waves: what is drawn is where the numbers say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.inches import with_note
from tunelib.exhibits.waves import SPEED_OF_SOUND
from tunelib.show.stage import Stage

SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def shown(name: str, size: str = "panel", seconds: float | None = None, **values: Any) -> dict[str, Any]:
    """The artists of an exhibit's parts at some knob values, silent or so many seconds into its sound."""
    exhibit = EXHIBITS[name]
    stage = Stage(exhibit, size)
    stage._scene.update(**exhibit.settle(values))
    stage._scene.light(Playing(seconds))
    assert set(stage._scene.parts) == set(exhibit.parts)
    return dict(stage._scene.parts)


@pytest.mark.parametrize(
    ("hertz", "words"),
    [
        (220, "A3, 220 Hz"),
        (880 / 3, "293.3 Hz, 2 cents below D4"),
        (466.164, "B♭4, 466.2 Hz"),
        (444, "444 Hz, 16 cents above A4"),
    ],
)
def test_hertz_have_the_name_of_their_note(hertz: float, words: str) -> None:
    """A pure fifth, 702 cents, under A4 is 2 cents below D4; 444 Hz is 15.7 cents above A4."""
    assert with_note(hertz) == words


@SHAPES
@pytest.mark.parametrize(("hertz", "moment"), [(220, 0.3), (440, 0.0), (110, 0.7), (1760, 0.5)])
def test_air_is_crowded_where_the_pressure_is_high(size: str, hertz: float, moment: float) -> None:
    """Crests of the curve are under the crowds, and the bracket goes from one to the next: a wavelength, v / f."""
    parts = shown("wave", size, hertz=hertz, moment=moment, level=100)
    [dots], (curve, *_), (bracket, _) = parts["air"], parts["pressure"], parts["wave"]
    along, height = curve.get_data()
    left, right = along[0], along[-1]
    metre = (right - left) / {"panel": 3.0}.get(size, 2.0)
    crests = along[1:-1][(height[1:-1] > height[:-2]) & (height[1:-1] > height[2:])]
    counts, edges = np.histogram(dots.get_xdata(), np.linspace(left, right, 241))
    near = np.interp(crests, (edges[:-1] + edges[1:]) / 2, np.convolve(counts, np.ones(3) / 3, "same"))
    assert near.size and near.min() > 1.5 * counts.mean()
    first, last = bracket.get_xdata()[[0, -1]]
    assert (last - first) / metre == pytest.approx(SPEED_OF_SOUND / hertz)
    for end in (first, last):
        if crests.min() <= end <= crests.max():
            assert np.abs(crests - end).min() < 0.02


def test_marked_specks_stay_on_their_rails() -> None:
    """Through a whole wave, in its sound, each sways from one end of its rail to the other and no farther."""
    seen = []
    for seconds in np.linspace(0, 2, 41):
        specks, rails = shown("wave", seconds=float(seconds))["specks"]
        seen.append(specks.get_xdata())
    low, high = np.min(seen, axis=0), np.max(seen, axis=0)
    ends = rails.get_xdata().reshape(3, 3)[:, :2]
    assert low == pytest.approx(ends[:, 0], abs=0.02) and high == pytest.approx(ends[:, 1], abs=0.02)
    assert np.all(low >= ends[:, 0] - 1e-9) and np.all(high <= ends[:, 1] + 1e-9)
