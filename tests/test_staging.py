"""What can be pointed at, what comes on stage when, and what lights up while it sounds, for every exhibit."""

from __future__ import annotations

import re

import numpy as np
import pytest

from tests.test_exhibits import EVERY, settings
from tunelib.exhibits import SILENT, Exhibit, Playing
from tunelib.show.stage import Stage

SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


def sounding(exhibit: Exhibit, values: dict, share: float) -> Playing:
    """What plays a share of the way through the exhibit's sound."""
    score = exhibit.score(**values)
    beat = 60 / score.tempo
    end = max((note.onset + note.duration) * beat for note in score.notes)
    at = share * end
    notes = tuple(
        place for place, note in enumerate(score.notes) if note.onset * beat <= at < (note.onset + note.duration) * beat
    )
    return Playing(at, notes)


@EVERY
@SHAPES
def test_every_part_that_can_be_pointed_at_is_there(exhibit: Exhibit, size: str) -> None:
    """Three parts or more, named in words, each with artists in every shape, and a box in the picture at the start."""
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle({}))
    assert len(exhibit.parts) >= 3 and set(stage._scene.parts) == set(exhibit.parts)
    width, height = stage.canvas.get_width_height()
    for part, words in exhibit.parts.items():
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", part) and words and not words[0].isupper()
        assert stage._scene.parts[part], part
        box = stage.box(part)
        assert box.x1 > box.x0 - 1 and box.y1 > box.y0 - 1, part
        assert box.x1 > 0 and box.y1 > 0 and box.x0 < width and box.y0 < height, part


@EVERY
def test_an_exhibit_comes_on_stage_in_two_to_five_groups(exhibit: Exhibit) -> None:
    """Each group brings something, none brings a part twice, and with all of them the picture is whole."""
    assert 2 <= len(exhibit.builds) <= 5
    listed = [part for group in exhibit.builds for part in group]
    assert len(set(listed)) == len(listed) and set(listed) <= set(exhibit.parts)
    stage = Stage(exhibit)
    values = exhibit.settle({})
    stage.move(values)
    whole = stage.pixels().copy()
    before = None
    for count in range(len(exhibit.builds) + 1):
        stage.on_stage(count)
        stage.move(values)
        now = stage.pixels().copy()
        if count:
            assert before is not None and np.any(now != before), f"group {count} of {exhibit.name} brings nothing"
        before = now
    assert np.array_equal(before, whole)
    stage.on_stage(1)
    stage.on_stage(None)
    stage.move(values)
    assert np.array_equal(stage.pixels(), whole)


@EVERY
def test_what_sounds_lights_up_and_goes_out(exhibit: Exhibit) -> None:
    """While it sounds the picture differs from the silent one, and afterwards it is the silent one again."""
    stage = Stage(exhibit)
    for values in settings(exhibit, extra=2)[:6]:
        stage.move(values)
        silent = stage.pixels().copy()
        lit = set()
        for share in (0.05, 0.31, 0.58, 0.83):
            stage.move(values, sounding(exhibit, values, share))
            lit.add(stage.pixels().tobytes())
        assert lit - {silent.tobytes()}, values
        if exhibit.flows and values == exhibit.settle({}):
            assert len(lit) == 4
        stage.move(values, SILENT)
        assert np.array_equal(stage.pixels(), silent), values


@EVERY
def test_numbers_for_callouts_are_numbers_as_read(exhibit: Exhibit) -> None:
    """Names that a shot list can quote, with what is read: a figure, a ratio or a name, never empty."""
    for values in settings(exhibit, extra=2):
        numbers = exhibit.numbers(**values)
        assert numbers and not set(numbers) & {"exhibit", "title"}
        for name, read in numbers.items():
            assert name.isidentifier() and isinstance(read, str) and read.strip(), name
