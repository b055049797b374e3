"""The ways between two chords as they are drawn and heard: one search, one picture, one sound."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS, Choice
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.harmony import Chord, Way, ways_between
from tunelib.pitch import equal

SHOW = EXHIBITS["ways_between"]
T31 = equal(31)
PAIRS = next(knob.options for knob in SHOW.knobs if isinstance(knob, Choice) and knob.name == "pair")
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def settled(**values: Any) -> dict[str, Any]:
    return SHOW.settle(values)


def ways_of(pair: str, passing: int) -> tuple[Way, ...]:
    first, last = map(Chord.parse, pair.split(" to "))
    return ways_between(first, last, T31, most=passing, fewest=passing)


@pytest.mark.parametrize("pair", PAIRS)
def test_there_are_as_many_ways_as_the_knob_has(pair: str) -> None:
    """Five for each pair, through one, two and three chords; the first has the most points for it."""
    for passing in (1, 2, 3):
        ways = ways_of(pair, passing)
        for place, way in enumerate(ways, start=1):
            said = SHOW.sentence(**settled(pair=pair, passing=passing, way=place))
            assert way.reason in said and f"Way {place} of 5" in said
        assert len(ways) == 5


@pytest.mark.parametrize("pair", PAIRS)
def test_it_sounds_as_it_was_found(pair: str) -> None:
    """Every voice at its step from chord to chord; in twelve at whole semitones from the first root, which stays."""
    for passing, place in ((1, 2), (2, 1), (3, 5)):
        values = settled(pair=pair, passing=passing, way=place)
        way = ways_of(pair, passing)[place - 1]
        voices = len(way.voices[0])
        hertz = np.array([note.hertz for note in SHOW.score(**values).notes]).reshape(-1, voices + 1)
        assert 31 * np.log2(hertz[:, 1:] / T31.hz(0)) == pytest.approx(np.array(way.voices))
        bass = 31 * np.log2(hertz[:, 0] / T31.hz(0))
        assert [round(step) % 31 for step in bass] == [chord.root.step(T31) % 31 for chord in way.chords]
        in_keys = np.array([note.hertz for note in SHOW.score(**values | {"tuned": "in twelve"}).notes])
        keys = 12 * np.log2(in_keys.reshape(-1, voices + 1) / hertz[0, 0])
        assert keys == pytest.approx(np.round(keys), abs=1e-6)
        off = 1200 * np.log2(in_keys.reshape(-1, voices + 1) / hertz)
        assert np.abs(off).max() <= 50 + 1e-6 and off[0, 0] == pytest.approx(0)
        lost = ((np.diff(keys[:, 1:], axis=0).round() == 0) & (np.diff(np.array(way.voices), axis=0) != 0)).sum()
        assert SHOW.numbers(**values)["lost"] == str(lost)


@SHAPES
def test_the_picture_is_to_scale_and_its_figures_are_the_moves(size: str) -> None:
    """Marks are as far apart as the notes; every move has its figure, and none that is held has one."""
    scene = in_size("ways_between", size)
    across = 1 if size == "panel" else 0
    for values in (settled(), settled(pair="Cmaj7 to E♭maj7", passing=3, way=2), settled(pair="C to F", passing=1)):
        way = ways_of(values["pair"], values["passing"])[values["way"] - 1]
        scene.update(**values)
        lines = [line for line in scene.parts["voices"] if line.get_visible()]
        assert len(lines) == len(way.voices[0])
        drawn = np.array([np.asarray(line.get_data()[across])[::2] for line in lines]).T
        unit = (drawn[0, -1] - drawn[0, 0]) / (way.voices[0][-1] - way.voices[0][0])
        assert (drawn - drawn[0, 0]) / unit + way.voices[0][0] == pytest.approx(np.array(way.voices))
        figures = sorted(text.get_text() for text in scene.parts["moves"][1:] if text.get_visible())
        assert figures == sorted(f"{move:+d}".replace("-", "−") for move in way.moves.ravel().tolist() if move)
        strokes = np.isnan(scene.parts["new"][0].get_xdata()).sum()
        assert strokes == len(way.in_twelve.lost)
        shown = scene.parts["number"][0].get_text(), scene.parts["number"][1].get_text()
        counted = len(way.in_twelve.lost) or len(way.in_twelve.foreign)
        assert shown[0] == str(counted) and shown[1].endswith("no piano has")


def test_in_twelve_a_lost_move_is_not_drawn() -> None:
    """The voice of C, C½♭, C♭ and B moves once there, and the chord that has become another is faint."""
    scene = in_size("ways_between", "panel")
    scene.update(**settled(tuned="in twelve"))
    top = np.asarray(scene.parts["voices"][3].get_ydata())[::2]
    assert np.count_nonzero(np.diff(top).round(9)) == 1
    symbols = [text for text in scene.parts["chords"] if text.get_visible()]
    assert [text.get_text() for text in symbols] == ["Dm7", "Dmharm7", "Ddim7", "G7"]
    assert symbols[1].get_color() != symbols[2].get_color()
    assert not len(scene.parts["new"][0].get_xdata())


def test_the_chord_that_sounds_lights_up() -> None:
    scene = in_size("ways_between", "panel")
    values = settled()
    notes = SHOW.score(**values).notes
    scene.update(**values)
    lit = scene.moving[9]
    columns = sorted(set(scene.parts["notes"][0].get_xdata()))
    for chord, seconds in enumerate((0.5, 2.5, 3.5, 4.5)):
        sounding = tuple(i for i, note in enumerate(notes) if note.onset <= seconds < note.onset + note.duration)
        scene.light(Playing(seconds, sounding))
        assert lit.get_visible()
        assert np.asarray(lit.get_xdata()) == pytest.approx(columns[chord])
    scene.update(**values)
    scene.light(SILENT)
    assert not lit.get_visible()
