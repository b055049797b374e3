"""The rounds of a progression as they are drawn: heights are cents, and what sounds lights up on the way."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.harmony import PROGRESSIONS

SHOW = EXHIBITS["going_round"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
DIVISIONS = {"just": None, "31": 31, "12": 12}


def gap(scene: Any) -> float:
    """How high the filled gap is, upwards, in points."""
    corners = np.asarray(scene.parts["gap"][0].get_xy())
    return float(corners[2, 1] - corners[0, 1])


@SHAPES
@pytest.mark.parametrize("progression", PROGRESSIONS)
def test_the_gap_is_as_high_as_the_drift(size: str, progression: str) -> None:
    """On one scale for all tunings and for one to four rounds; up where it is sharp; the number says it in cents."""
    scene = in_size("going_round", size)
    units = []
    for tuned, division in DIVISIONS.items():
        for rounds in (1, 2, 4):
            values = {"progression": progression, "rounds": rounds, "tuned": tuned}
            scene.update(**values)
            away = rounds * PROGRESSIONS[progression].drift(division)
            number = scene.parts["number"][0].get_text()
            assert float(number) == pytest.approx(abs(away), rel=0.01, abs=0.05)
            assert SHOW.numbers(**values)["cents"] == number
            if abs(away) < 0.05:
                assert gap(scene) == pytest.approx(0, abs=1e-6)
            else:
                units.append(gap(scene) / away)
    if PROGRESSIONS[progression].comma != 1:
        assert units == pytest.approx([units[0]] * len(units)) and units[0] > 0


@SHAPES
def test_the_way_ends_at_the_end_of_the_gap_above_or_below_home(size: str) -> None:
    """The last mark is straight below the first, as far as the gap is high, whatever was sung."""
    scene = in_size("going_round", size)
    for rounds in (1, 4, 8):
        scene.update(progression="I vi ii V", rounds=rounds, tuned="just")
        stations, end = (line.get_data() for line in scene.parts["way"][2:4])
        assert stations[0][0] == pytest.approx(end[0][0])
        assert end[1][0] - stations[1][0] == pytest.approx(gap(scene)) and gap(scene) < 0
        assert len({(round(x, 3), round(y, 3)) for x, y in zip(*stations, strict=True)}) == 4 * rounds + 1


@SHAPES
def test_each_chord_lights_up_at_its_station_as_it_sounds(size: str) -> None:
    """Two rounds of four chords go by eight stations to the ninth, and then home; of four one hears three chords."""
    scene = in_size("going_round", size)
    for rounds, heard in ((2, [*range(9), 0]), (4, [0, 16, 0])):
        values = {"progression": "I vi ii V", "rounds": rounds, "tuned": "just"}
        notes = SHOW.score(**values).notes
        onsets = sorted({note.onset for note in notes})
        assert len(onsets) == len(heard)
        for onset, place in zip(onsets, heard, strict=True):
            scene.update(**values)
            scene.light(Playing(onset * 60 / 72, tuple(i for i, note in enumerate(notes) if note.onset == onset)))
            [lit] = [line for line in scene.moving if line.get_visible() and getattr(line, "get_ms", lambda: 0)() == 17]
            stations = np.array(scene.parts["way"][2].get_data()).reshape(2, 8, 5)  # rounds, and their chords
            along, chord = min(place // 4, rounds - 1), place - 4 * min(place // 4, rounds - 1)
            assert np.ravel(lit.get_data()) == pytest.approx(stations[:, along, chord])
