"""The chain of smallest moves as it is drawn: every line, mark and figure is where the voices are."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.smallest_moves import smallest_chain

SHOW = EXHIBITS["smallest_moves"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def pitches_of(line: Any, size: str) -> Any:
    """Where marks are across the voices, in points."""
    return np.asarray(line.get_ydata() if size == "panel" else line.get_xdata(), dtype=float)


@SHAPES
@pytest.mark.parametrize("position", [1, 2, 5, 9])
def test_the_marks_are_as_far_apart_as_the_notes(size: str, position: int) -> None:
    """Distances on the picture are steps of thirty-one, on one scale for all chords; twelve's are 31/12 of a step."""
    scene = in_size("smallest_moves", size)
    dots, sung = scene.parts["notes"][0], scene.parts["notes"][1:]
    scene.update(position=1, chain="in thirty-one")
    first = pitches_of(dots, size)
    unit = (first[3] - first[0]) / 28  # C to B is 28 steps
    chords, leading = smallest_chain()
    scene.update(position=position, chain="in thirty-one")
    assert (pitches_of(dots, size) - first[0]) / unit == pytest.approx(leading.voices[position - 1])
    assert [text.get_text() for text in sung] != [""] * 4
    scene.update(position=position, chain="in twelve")
    keys = np.round(np.array(leading.voices[position - 1]) * 12 / 31)
    # the A4 of both is 440 Hz: C4 is 9 keys below it in one, and 23 steps in the other
    assert (pitches_of(dots, size) - first[0]) / unit == pytest.approx((keys - 9) * 31 / 12 + 23)
    assert chords[position - 1].symbol


@SHAPES
def test_the_figures_are_the_moves_and_the_number_is_their_sum(size: str) -> None:
    """Large figures where a voice moves into the chosen chord, none where it holds; the number adds them up."""
    scene = in_size("smallest_moves", size)
    motion = smallest_chain()[1].motion
    for position in range(2, 10):
        scene.update(position=position, chain="in thirty-one")
        moves = motion[position - 2]
        large = scene.parts["step"][1:]
        shown = [int(text.get_text().replace("−", "-")) if text.get_visible() else 0 for text in large]
        assert shown == moves.tolist()
        number = str(np.abs(moves).sum())
        assert (
            scene.parts["number"][0].get_text()
            == number
            == SHOW.numbers(position=position, chain="in thirty-one")["steps"]
        )


@SHAPES
def test_the_picture_follows_the_sound_chord_by_chord(size: str) -> None:
    """While a chord of the chain sounds the picture is that of its chord; silent, it is that of the knob again."""
    scene = in_size("smallest_moves", size)
    dots = scene.parts["notes"][0]

    def seen() -> tuple[Any, ...]:
        return (*(np.asarray(dots.get_data()).ravel().tolist()), *(text.get_text() for text in scene.parts["number"]))

    alone = {}
    for position in range(1, 6):
        scene.update(position=position, chain="in thirty-one")
        alone[position] = seen()
    notes = SHOW.score(position=5, chain="in thirty-one").notes
    for position in range(1, 6):
        scene.update(position=5, chain="in thirty-one")
        sounding = tuple(i for i, note in enumerate(notes) if note.onset == position - 1)
        scene.light(Playing((position - 0.5) * 60 / 54, sounding))
        assert seen() == alone[position]
        scene.update(position=5, chain="in thirty-one")
        scene.light(SILENT)
        assert seen() == alone[5]
