"""Pictures made beforehand: the settings that a page can reach, and that each is what a panel would show."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from test_mosaic import laid_out

from tunelib.exhibits import EXHIBITS, Exhibit, Look, Scene, Slider, Switch
from tunelib.exhibits.exhibit import Canvas
from tunelib.live import exhibit_program
from tunelib.score import Score, sequence
from tunelib.show import Ahead, Stage, ahead
from tunelib.show.ahead import MOST_SETTINGS, MOST_STOPS, _count, _moved_together, _row
from tunelib.sound import TIMBRES, Timbre

COARSEST = 5  # of 255: how far a colour may be rounded


def rows_of(name: str) -> Any:
    exhibit = EXHIBITS[name]
    start = exhibit.settle({})
    return exhibit, [_row(exhibit, knob, start[knob.name]) for knob in exhibit.knobs]


@pytest.mark.parametrize("name", EXHIBITS)
def test_the_stops_of_each_exhibit_are_true_values_and_not_too_many(name: str) -> None:
    """Ends and start are among them, in order; what is compared too; all settings where they are few"""
    exhibit, rows = rows_of(name)
    start = exhibit.settle({})
    for row in rows:
        assert row.values[row.start] == start[row.knob.name]
        assert all(row.knob.check(value) == value for value in row.values)
        if isinstance(row.knob, Slider):
            assert list(row.values) == sorted(set(row.values)) and len(row.values) <= MOST_STOPS + 4
            assert row.thinned == (len(row.values) < _count(row.knob))
            ends = (row.knob.low, row.knob.high) if not row.knob.logarithmic else ()
            assert all(end in row.values for end in ends) or row.knob.name in exhibit.stops
        assert all(way[row.knob.name] in row.values for way in exhibit.comparisons.values() if row.knob.name in way)
    together = _moved_together(exhibit, tuple(rows))
    count = int(np.prod([len(row.values) for row in rows]))
    made = int(np.prod([len(rows[place].values) for place in together]))
    assert made <= MOST_SETTINGS and (count > MOST_SETTINGS or len(together) == len(rows))
    assert set(exhibit.together) <= {row.knob.name for row in rows}
    assert set(exhibit.stops) <= {row.knob.name for row in rows if isinstance(row.knob, Slider)}


@pytest.fixture(scope="module")
def ring() -> Ahead:
    """An exhibit with all its settings."""
    return ahead(EXHIBITS["interval_families"], {"step": 9})


def test_each_picture_is_that_of_a_panel(ring: Ahead) -> None:
    """Its tiles together are the picture of the stage, but for the rounding of its colours"""
    stage = Stage(ring.exhibit)
    [row] = ring.rows
    shown = laid_out(ring.pictures)
    for value, place in list(zip(row.values, ring.places, strict=True))[::4]:
        stage.move({"step": value})
        picture = ring.settings[place].picture
        assert picture is not None
        assert np.abs(shown[picture].astype(int) - stage.pixels()[..., :3]).max() <= COARSEST


def test_each_setting_has_its_sentence_and_its_sound(ring: Ahead) -> None:
    """The program that is put together again is the exhibit's, to nine figures"""
    [row] = ring.rows
    for value, place in zip(row.values, ring.places, strict=True):
        setting = ring.settings[place]
        assert setting.words == ring.exhibit.sentence(step=value)
        whole = exhibit_program(ring.exhibit, {"step": value})
        length = int.from_bytes(whole[:4], "little")
        assert setting.sound is not None and ring.sounds.heads[setting.sound] == whole[4 : 4 + length].decode()
        tones = b"".join(ring.sounds.tones[part] for part in ring.sounds.parts[setting.sound])
        numbers = np.frombuffer(whole, "<f8", offset=-(-(4 + length) // 8) * 8)
        assert np.allclose(np.frombuffer(tones, "<f8"), numbers, rtol=4e-9, atol=0)
        assert len(json.loads(ring.sounds.heads[setting.sound])["tones"]) == len(ring.sounds.parts[setting.sound])
    assert ring.start.words == ring.exhibit.sentence(step=9)


class Pair(Exhibit):
    """Two numbers, of which the first may not be the larger; with two more knobs, so that not all go together."""

    name = "pair"
    title = "Pair"
    knobs = (
        Slider("low", "Low", 0, 3, 1, 0), Slider("high", "High", 0, 3, 1, 2), Slider("size", "Size", 0, 60, 1, 5),
        Switch("on", "On", True),
    )  # fmt: skip
    together = ("low", "high")

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        words = look.text(figure, 0.5, 0.5)
        return Scene([words], lambda **values: words.set_text(str(values)))

    def sentence(self, *_: Any, **values: Any) -> str:
        return str(values)

    def score(self, *_: Any, low: int, **values: Any) -> Score:
        return sequence([(220 + low, None)])

    def timbre(self, *_: Any, **values: Any) -> Timbre:
        return TIMBRES["sine"]

    def clash(self, *_: Any, low: int, high: int, **values: Any) -> str:
        return "low is above high" if low > high else ""


def test_what_goes_together_comes_first_and_then_each_knob_by_itself() -> None:
    """Settings that make no sense say why, and have neither picture nor sound"""
    made = ahead(Pair(), {"size": 7})
    start = {"low": 0, "high": 2, "size": 7, "on": True}
    settings = [
        *(start | {"low": low, "high": high} for low in range(4) for high in range(4)),
        *(start | {"size": size} for size in range(61)),
        *(start | {"on": on} for on in (False, True)),
    ]
    assert len(made.places) == len(settings)
    for values, place in zip(settings, made.places, strict=True):
        setting = made.settings[place]
        if values["low"] > values["high"]:
            assert (setting.picture, setting.words, setting.sound) == (None, "Low is above high.", None)
        else:
            assert setting.words == str(values) and setting.picture is not None
    assert made.start.words == str(start)
    assert len(made.sounds.heads) == 4, "a program is kept once"  # one for each "low"
