"""What changes moves from where it was to where it will be; nothing of the way stays behind, and no words mix."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from tests.test_exhibits import EVERY, settings
from tunelib.exhibits import Exhibit
from tunelib.exhibits.exhibit import Choice, Switch
from tunelib.show.stage import Stage
from tunelib.show.tween import FADED_OUT, FADES_IN, Tween


def pairs(exhibit: Exhibit) -> list[tuple[dict, dict]]:
    """From the default to some other choices and to the other place of each switch; and between some settings."""
    default = exhibit.settle({})
    found = []
    for knob in exhibit.knobs:
        if isinstance(knob, (Choice, Switch)):
            others = [corner for corner in knob.corners if corner != knob.default]
            found += [(default, default | {knob.name: corner}) for corner in dict.fromkeys((others[0], others[-1]))]
    some = settings(exhibit, extra=4)
    found += list(zip(some[-4:-2], some[-2:], strict=True))
    return [(here, there) for here, there in found if not exhibit.clash(**there)]


@EVERY
def test_the_way_begins_here_and_ends_there_and_leaves_nothing_behind(exhibit: Exhibit) -> None:
    """At its ends it is the picture of each setting to the pixel; after it other settings look as they always do."""
    plain, moved = Stage(exhibit), Stage(exhibit)
    elsewhere = settings(exhibit)[-1]
    for here, there in pairs(exhibit):
        plain.move(here)
        moved.between(here, there, 0.0)
        assert np.array_equal(plain.pixels(), moved.pixels()), (here, there)
        moved.between(here, there, 1e-6)
        assert np.mean(plain.pixels() != moved.pixels()) < 0.03, (here, there)
        moved.between(here, there, 0.4)
        moved.between(here, there, 1.0)
        plain.move(there)
        assert np.array_equal(plain.pixels(), moved.pixels()), (here, there)
        moved.between(here, there, 0.6)
        moved.move(elsewhere)
        plain.move(elsewhere)
        assert np.array_equal(plain.pixels(), moved.pixels()), (here, there)


@EVERY
def test_no_words_are_read_that_belong_to_neither_picture(exhibit: Exhibit) -> None:
    """On the way every word that is seen is of the one picture or of the other; in the middle only what both have."""
    stage = Stage(exhibit)

    def read() -> set[str]:
        return {text.get_text() for text in stage.texts() if (1 if text.get_alpha() is None else text.get_alpha()) > 0}

    for here, there in pairs(exhibit):
        stage.move(here)
        one = read()
        stage.move(there)
        other = read()
        for way in (0.1, 0.25):
            stage.between(here, there, way)
            assert read() <= one
        stage.between(here, there, 0.5)
        assert read() <= one & other
        for way in (0.8, 0.95):
            stage.between(here, there, way)
            assert read() <= other


def test_points_are_where_they_should_be_on_the_way() -> None:
    """A point goes straight and evenly; a row of two that becomes one of three parts, and keeps its ends."""
    axes = Figure().add_subplot()
    (line,) = axes.plot([], [], "o")
    tween = Tween([line], lambda: line.set_data([0, 1], [0, 1]), lambda: line.set_data([0, 4, 9], [0, 2, 5]))
    tween.set(0.5)
    assert np.array_equal(line.get_xdata()[[0, 2]], [0, 5]) and np.array_equal(line.get_ydata()[[0, 2]], [0, 3])
    assert line.get_xdata()[1] in (2, 2.5)
    tween.leave()
    assert np.array_equal(line.get_xdata(), [0, 4, 9])


def test_strokes_keep_apart_on_the_way() -> None:
    """Twelve strokes become thirty-one without being joined up."""
    axes = Figure().add_subplot()
    (line,) = axes.plot([], [])

    def strokes(count: int) -> None:
        line.set_data(np.repeat(np.arange(count) / count, 3), np.tile([0, 1, np.nan], count))

    tween = Tween([line], lambda: strokes(12), lambda: strokes(31))
    tween.set(0.5)
    x, y = line.get_data()
    assert np.count_nonzero(np.isnan(y)) == 30
    ends = np.split(x, np.flatnonzero(np.isnan(y)))
    assert all(np.ptp(stroke[~np.isnan(stroke)]) < 1e-12 for stroke in ends)


def test_words_that_differ_fade_and_words_that_stay_glide() -> None:
    """The first are gone in the middle; the second are half the way."""
    text = Text(0, 0, "")
    stays = Text(0, 0, "E")

    def show(x: float, words: str) -> None:
        text.set(text=words, position=(x, 0))
        stays.set_position((x, 0))

    tween = Tween([text, stays], lambda: show(0, "12 cents"), lambda: show(8, "1 cent"))
    seen = {}
    for way in (0.0, FADED_OUT / 2, 0.5, (1 + FADES_IN) / 2):
        tween.set(way)
        seen[way] = (text.get_text(), text.get_alpha(), text.get_visible(), stays.get_position()[0])
    assert seen[0.0] == ("12 cents", 1.0, True, 0)
    assert seen[FADED_OUT / 2][:2] == ("12 cents", pytest.approx(0.5))
    assert not seen[0.5][2] and seen[0.5][3] == 4
    assert seen[(1 + FADES_IN) / 2][:2] == ("1 cent", pytest.approx(0.5))
