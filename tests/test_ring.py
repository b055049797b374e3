"""The ring of thirty-one: where its notes are, what is between two letters, and what lights up."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch import Note, equal

LETTERS = [Note.parse(letter).step(equal(31)) for letter in ("C4", "D4", "E4", "F4", "G4", "A4", "B4")]


def shown(**values: Any) -> Any:
    """The ring laid out in a wide picture at some values of its knobs, with those values."""
    ring = EXHIBITS["ring_of_31"]
    scene = ring.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    values = ring.settle(values)
    scene.update(**values)
    return scene, values


def turns(line: Any) -> Any:
    """How far round the ring, clockwise from the top, each point of a line is on the picture: 0 to 1."""
    points = np.column_stack([np.asarray(data, dtype=float) for data in line.get_data()])
    x, y = line.axes.transData.inverted().transform(line.get_transform().transform(points)).T
    middle_x, middle_y = 9.15 - 0.17 - 0.32 - 1.82, 2.7
    return np.arctan2(x - middle_x, y - middle_y) / (2 * np.pi) % 1


@pytest.mark.parametrize("order", ["by pitch", "by fifths"])
def test_each_dot_is_where_its_note_is(order: str) -> None:
    """By pitch n of 31 of the way round; by fifths as many places as there are fifths of 18 steps to the note."""
    by_fifths = {k * 18 % 31: k for k in range(31)}
    for step in range(31):
        scene, _ = shown(step=step, order=order)
        [dot, _] = scene.parts["note"]
        place = step if order == "by pitch" else by_fifths[step]
        assert 31 * turns(dot)[0] == pytest.approx(place, abs=1e-6) or 31 * turns(dot)[0] == pytest.approx(31)
    [letters, *names] = scene.parts["letters"]
    at = [step if order == "by pitch" else by_fifths[step] for step in LETTERS]
    assert (31 * turns(letters) + 0.5) % 31 - 0.5 == pytest.approx(np.array(at))
    assert [text.get_text() for text in names] == list("CDEFGAB")


def test_a_dot_stays_the_same_note_and_travels_along_the_ring() -> None:
    """Each note keeps its place among the points, never leaves the ring, and goes half of it round at most."""
    by_pitch, by_fifths = (shown(order=order)[0] for order in ("by pitch", "by fifths"))
    for part in ("ring", "letters"):
        dots, *names = by_pitch.parts[part]
        later, *later_names = by_fifths.parts[part]
        assert [text.get_text() for text in names] == [text.get_text() for text in later_names]
        assert np.unique([dots.get_ydata(), later.get_ydata()]).size == 1, "one distance from the centre"
        assert np.abs(np.array(later.get_xdata()) - dots.get_xdata()).max() < 0.5


def test_the_seven_letters_are_neighbours_by_fifths() -> None:
    """F C G D A E B (common knowledge): places 30, 0, 1 to 5."""
    scene, _ = shown(order="by fifths")
    places = np.round(31 * turns(scene.parts["letters"][0])) % 31
    assert dict(zip("CDEFGAB", places.tolist(), strict=True)) == dict(
        zip("FCGDAEB", [30, 0, 1, 2, 3, 4, 5], strict=True)
    )


def test_what_sounds_lights_up() -> None:
    """First C, then the note, then both; nothing while it is silent."""
    scene, values = shown(step=10)
    [sounding] = [line for line in scene.moving if line.get_label() == "sounding"]

    def lit(*notes: int) -> list[int]:
        scene.update(**values)
        scene.light(Playing(0.1, notes) if notes else SILENT)
        found = turns(sounding)
        return [round(31 * turn) % 31 for turn in found[~np.isnan(found)]]

    assert (lit(), lit(0), lit(1), lit(2, 3), lit()) == ([], [0], [10], [0, 10], [])


def test_numbers_are_those_of_the_picture() -> None:
    """E half-flat: 9/31 of an octave, 16 fifths up; 348.387 less the E of twelve, 390.323 above this C."""
    ring = EXHIBITS["ring_of_31"]
    assert ring.numbers(**ring.settle({})) == {
        "cents": "348.4", "note": "E½♭", "fifths": "16", "key": "E", "away": "41.9", "hertz": "321.7",
    }  # fmt: skip


def test_the_squares_are_named_where_the_hand_is_not() -> None:
    """By pitch; by fifths there are no squares to name."""
    for step in range(31):
        scene, _ = shown(step=step)
        _, name = scene.parts["twelve"]
        [_, hand] = scene.parts["note"]
        apart = abs(name.get_position()[0] - hand.get_xdata()[0])
        assert name.get_visible() and min(apart, 1 - apart) > 0.1, step
    scene, _ = shown(order="by fifths")
    assert not any(artist.get_visible() for artist in scene.parts["twelve"])
