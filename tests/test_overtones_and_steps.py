"""Step 12: the picture is where its numbers say."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.lines import Line2D

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.pitch import cents, equal, harmonic_deviations
from tunelib.show.stage import Stage

EXHIBIT = EXHIBITS["overtones_and_steps"]
DIVISIONS = [f"{n} steps" for n in (12, 19, 24, 31, 53)]


@pytest.mark.parametrize("division", DIVISIONS)
def test_the_gap_is_as_wide_as_the_miss(division: str) -> None:
    """From the harmonic, within its octave, to the nearest step; the bars are all the steps and nothing else."""
    stage, tuning = Stage(EXHIBIT), equal(int(division.split()[0]))
    parts = stage._scene.parts
    for harmonic in range(2, 17):
        stage.move(EXHIBIT.settle({"division": division, "harmonic": harmonic}))
        (disc, *_), (key, *_), (gap,), (bars, *_) = (parts[name] for name in ("chosen", "key", "gap", "steps"))
        assert isinstance(disc, Line2D) and isinstance(key, Line2D) and isinstance(bars, Line2D)
        (at,) = np.asarray(disc.get_xdata())
        assert at % 1200 == pytest.approx(cents(harmonic) % 1200, abs=1e-9)
        error = float(harmonic_deviations(tuning, harmonic).error[-1])
        assert np.asarray(key.get_xdata())[0] - at == pytest.approx(error, abs=1e-9)
        assert np.ptp(gap.get_xy()[:, 0]) == pytest.approx(abs(error), abs=1e-9)
        steps = np.unique(np.round(np.asarray(bars.get_xdata(), dtype=float), 6))
        assert steps == pytest.approx([*tuning.cents, 1200], abs=1e-5)
        assert parts["miss"][1].get_text() in (f"{abs(error):.0f}", f"{abs(error):.1f}")


def test_what_sounds_lights_up() -> None:
    """First the harmonic, then its key, then both; in silence the picture is as it was."""
    stage, values = Stage(EXHIBIT), EXHIBIT.settle({})
    scene = stage._scene
    (disc, *_), (key, *_) = scene.parts["chosen"], scene.parts["key"]
    assert isinstance(disc, Line2D) and isinstance(key, Line2D)
    lit = []
    for notes in ((), (0,), (1,), (2, 3)):
        scene.update(**values)
        scene.light(Playing(1.0 if notes else None, notes))
        lit.append((disc.get_markeredgecolor() == stage.look.theme.ink, key.get_color() == stage.look.theme.ink))
    assert lit == [(False, False), (True, False), (False, True), (True, True)]
