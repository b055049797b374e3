"""Step 6: posts as high as the harmonics are strong, at places that never move."""

from __future__ import annotations

import numpy as np
import pytest

from tunelib.exhibits import EXHIBITS, Playing
from tunelib.show.stage import Stage
from tunelib.sound import overtone_singer

EXHIBIT = EXHIBITS["sung_overtones"]


def posts(stage: Stage) -> tuple[np.ndarray, np.ndarray]:
    """Where the posts of the harmonics are, and how high."""
    line = stage._scene.parts["harmonics"][0]
    foot = np.asarray(line.get_ydata())[0]
    return np.asarray(line.get_xdata())[::3], np.asarray(line.get_ydata())[1::3] - foot


def test_posts_are_at_the_logarithms_of_their_hertz_and_as_high_as_their_levels() -> None:
    """Twice the hertz is as far everywhere; a third of the height is 20 dB, against the vocal tract itself"""
    stage, values = Stage(EXHIBIT), EXHIBIT.settle({"focus": 50})
    stage.move(values)
    x, high = posts(stage)
    assert x[1] - x[0] == pytest.approx(x[3] - x[1]) == pytest.approx(x[7] - x[3])
    drone = values["drone"]
    singer = overtone_singer(values["vowel"], [(0.0, 8)], drone, 0.5, values["singer"])
    numbers = np.arange(1, 9)
    levels = singer.envelope_db(numbers * drone) - 20 * np.log10(numbers)
    third = (high[0] - high[3]) / (levels[0] - levels[3]) * 20
    assert high[:8] - high[0] == pytest.approx((levels - levels[0]) / 20 * third, abs=1e-6)
    below = stage.look.frame[3] * stage.look.inches[1]
    assert below / 5 < third < below / 3


def test_posts_stay_while_the_hill_moves_and_she_walks_up() -> None:
    """Focus, vowel and the walk move heights alone; on the way the harmonic that sounds is named."""
    stage = Stage(EXHIBIT)
    places, said = set(), []
    for focus in (0, 50, 100):
        stage.move(EXHIBIT.settle({"focus": focus, "vowel": "heed"}))
        places.add(tuple(np.round(posts(stage)[0][:8], 9)))
    assert len(places) == 1
    for seconds in (0.1, 0.7, 1.3, 9.0):
        stage.move(EXHIBIT.settle({}), Playing(seconds, (0,)))
        said.append(stage._scene.parts["named"][0].get_text())
    assert said == ["4", "5", "6", "8"]


def test_a_plain_vowel_lifts_nothing() -> None:
    """At focus 0 no post is thick and none is named; where the way would go is marked empty, and the sung note alone
    lights. The sentence has the formants of Peterson and Barney 1952, table II, and no walk."""
    stage, values = Stage(EXHIBIT), EXHIBIT.settle({"focus": 0, "vowel": "heed"})
    parts = stage._scene.parts
    told = (*parts["lifted"], *parts["named"])
    stage.move(values, Playing(1.3, (0,)))
    assert not any(artist.get_visible() for artist in told)
    way, sung = parts["walk"]
    assert len(way.get_xdata()) == 5 and way.get_markerfacecolor() == stage.look.theme.ground
    assert sung.get_visible() and sung.get_xdata()[0] == pytest.approx(posts(stage)[0][0])
    assert EXHIBIT.sentence(**values).endswith(
        "near 270, 2290 and 3010 Hz, and neither harmonic 8 nor any other is lifted."
    )
    stage.move(EXHIBIT.settle({"focus": 5}))
    assert all(artist.get_visible() for artist in told)
    assert len(way.get_xdata()) == 4 and way.get_markerfacecolor() == stage.look.theme.pure.dim
