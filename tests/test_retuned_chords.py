"""Six retuned chords as they are drawn: notes, moves and bars beside the chords that they are read off."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.typeface import as_set
from tunelib.harmony import Chord
from tunelib.pitch import equal

SHOW = EXHIBITS["retuned_chords"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def across(*lines: Any) -> list[float]:
    """Where the marks of lines are across, from the left; marks on top of one another once."""
    return sorted({float(x) for line in lines if line.get_visible() for x in line.get_xdata()})


@SHAPES
@pytest.mark.parametrize(
    ("adventure", "colour", "chord", "symbol", "steps", "moves"),
    [
        (0.6, 0.0, 2, "Gharm7", (0, 10, 18, 25), ["down 1 step"]),  # 4:5:6:7 in thirty-one (Huygens)
        (1.0, 1.0, 3, "Csupwide7", (0, 11, 18, 29), ["up 1 step", "up 1 step"]),
        (0.0, 0.0, 1, "Dm7", (0, 8, 18, 26), []),
    ],
)
def test_the_notes_of_the_open_chord_are_where_its_steps_are(
    size: str, adventure: float, colour: float, chord: int, symbol: str, steps: tuple[int, ...], moves: list[str]
) -> None:
    """Distances are steps of thirty-one; what was moved is said in words, and nothing else is."""
    scene = in_size("retuned_chords", size)
    scene.update(adventure=adventure, colour=colour, chord=chord, heard="31")
    held, moved, ghosts = (*scene.parts["notes"][1:3], scene.parts["written"][1])
    places = across(held, moved)
    unit = (places[2] - places[0]) / 18  # a fifth
    assert (np.array(places) - places[0]) / unit == pytest.approx(steps)
    said = [text.get_text() for text in scene.parts["moves"][2:] if text.get_visible()]
    assert said == moves and len(across(moved)) == len(across(ghosts)) == len(moves)
    for one, other in zip(across(ghosts), across(moved), strict=True):
        assert abs(one - other) == pytest.approx(unit)
    assert symbol in [text.get_text() for text in scene.parts["chords"][6:13] if text.get_visible()]


@SHAPES
def test_the_bars_are_as_long_as_the_chords_are_off(size: str) -> None:
    """On one scale for thirty-one and twelve; the mark is the price as written; the number says what the bar shows."""
    scene = in_size("retuned_chords", size)
    units = []
    for heard, named in (("31", "Gharm7"), ("12", "G7")):
        scene.update(adventure=0.6, colour=0.0, chord=2, heard=heard)
        bar, ticks = scene.parts["price"][1:3]
        start, end = bar.get_xdata()[:2]
        cents = Chord.parse(named).purity(equal(int(heard)))
        units.append((end - start) / cents)
        as_written = ticks.get_xdata()[3] - start
        assert as_written / units[-1] == pytest.approx(Chord.parse("G7").purity(equal(31)))
        number = scene.parts["number"][0].get_text()
        assert float(number) == pytest.approx(cents, abs=0.51)
        assert SHOW.numbers(adventure=0.6, colour=0.0, chord=2, heard=heard)["cents"] == number
    assert units[0] == pytest.approx(units[1])


def test_the_chord_that_sounds_is_open() -> None:
    """Each of the six in its turn, whichever the knob has chosen."""
    scene = in_size("retuned_chords", "panel")
    values = {"adventure": 0.6, "colour": 0.0, "chord": 1, "heard": "31"}
    score = SHOW.score(**values)
    heard = []
    for i, note in enumerate(score.notes):
        scene.update(**values)
        scene.light(Playing(float(note.onset) * 60 / score.tempo, (i,)))
        heard.append((note.onset, scene.parts["chords"][12].get_text()))
    assert [symbol for _, symbol in sorted(dict.fromkeys(heard))] == [
        "Dm7", "Gharm7", "Cmaj7", as_set("A♭harm7"), "Gharm7", "C69",
    ]  # fmt: skip
