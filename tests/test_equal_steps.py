"""Step 11: columns as high as their hertz, and what each step adds."""

from __future__ import annotations

import numpy as np
import pytest

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.typeface import as_set
from tunelib.show.stage import Stage

EXHIBIT = EXHIBITS["equal_steps"]


@pytest.mark.parametrize(("size", "up"), [("panel", 1), ("vertical", 0)])
def test_columns_grow_from_nothing_by_one_ratio(size: str, up: int) -> None:
    """Upright in a wide picture, lying in a tall one; the slice is the difference that is said."""
    stage = Stage(EXHIBIT, size)
    lengths = []
    for step in range(1, 13):
        stage.move(EXHIBIT.settle({"step": step}))
        (chosen,), (added,) = (stage._scene.parts[name] for name in ("chosen", "slice"))
        low, high = np.sort(chosen.get_xy()[:, up])[[0, -1]]
        assert low == 0
        lengths.append(high)
        said = float(stage._scene.parts["added"][0].get_text())
        lowest = high / 2 ** (step / 12)
        assert np.ptp(added.get_xy()[:, up]) == pytest.approx(said / 130.8128 * lowest, rel=0.01)
    assert np.array(lengths[1:]) / lengths[:-1] == pytest.approx(2 ** (1 / 12))


def test_each_key_lights_up_as_it_sounds() -> None:
    """The scale goes up to the chosen key, and the column that is lit is the one that sounds."""
    stage, values = Stage(EXHIBIT), EXHIBIT.settle({"step": 5})
    stage.move(values)
    reached = []
    for place in range(len(EXHIBIT.score(**values).notes)):
        stage.move(values, Playing(0.4 * place, (place,)))
        lit = stage._scene.moving[0]
        reached.append(lit.get_xy()[:, 1].max())
    stage.move(values)
    assert reached[-1] == pytest.approx(stage._scene.parts["chosen"][0].get_xy()[:, 1].max())
    assert np.array(reached[1:]) / reached[:-1] == pytest.approx(2 ** (1 / 12))


def test_columns_bear_the_names_of_their_keys() -> None:
    """Twelve keys from the lowest note up to its octave, whatever that is."""
    stage, keys = Stage(EXHIBIT), [as_set(name) for name in "C C♯ D E♭ E F F♯ G A♭ A B♭ B".split()]
    for lowest, first in ((130.8, 0), (220.0, 9)):
        stage.move(EXHIBIT.settle({"lowest": lowest}))
        names = [text.get_text() for text in stage._scene.parts["names"]]
        assert names == [*keys[first:], *keys[:first], keys[first]]
