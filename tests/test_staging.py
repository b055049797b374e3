"""What can be pointed at, what comes on stage when, and what lights up while it sounds, for every exhibit."""

from __future__ import annotations

import re
from itertools import product
from typing import Any

import numpy as np
import pytest

from tests.test_exhibits import EVERY, settings
from tunelib.exhibits import SILENT, Exhibit, Playing
from tunelib.film.emphasis import Emphasis, Seen
from tunelib.film.performance import _Drawing
from tunelib.film.pointing import Pointing, Strength
from tunelib.film.ring import without
from tunelib.show import Size, Stage, find_size

SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
SAID = ("Hear it beat", "Listen for this one", "This is what an ear listens to")  # 12, 19 and 30 characters


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


@EVERY
@SHAPES
def test_what_points_at_a_part_leaves_words_free(exhibit: Exhibit, size: str) -> None:
    """No pixel of a ring, of what is said beside it or of the line between is on words; and it is round its part.

    It stops at words that are too far to go round, on less than half of its way. What is said is within the picture,
    clear of the title, and belongs to its part.
    """
    stage = Stage(exhibit, size)
    values = exhibit.settle({})
    stage.move(values)
    drawing, frame = _Drawing(stage), find_size(size)
    pixels, words, title = stage.pixels().copy(), drawing.words(), drawing.title()
    emphasis = Emphasis(exhibit, stage.look, frame)
    boxes = {part: box for part in exhibit.parts if (box := stage.box(part)).width >= 0}
    for (part, box), said in product(boxes.items(), SAID):
        seen = Seen(pixels, {part: box}, words, title)
        point = Pointing(0.0, 9.0, part, ("circle",), said)
        pointed = emphasis.over(seen, [(point, Strength(1, 1))], values, lambda point, seen=seen: [(seen, values)])
        differ = np.abs(np.subtract(pointed, pixels, dtype=np.int16)) > 24
        changed = differ[..., 0] | differ[..., 1] | differ[..., 2]
        assert changed.any(), point
        for word in words:
            left, right = round(word.x0) + 1, round(word.x1) - 1
            top, bottom = len(pixels) - round(word.y1) + 1, len(pixels) - round(word.y0) - 1
            assert not changed[max(top, 0) : bottom, max(left, 0) : right].any(), point
        ring = emphasis._rings[point].outline(box, frame.pixels, frame.dpi)
        assert np.isnan(without(ring, words, frame.dpi)[:, 0]).mean() < 0.45, point
        within = frame.dpi / 10  # of the picture, whose edge a part may reach
        assert (ring.min(axis=0) < np.maximum(box.min, within)).all(), point
        assert (ring.max(axis=0) > np.minimum(box.max, np.array(frame.pixels) - within)).all(), point
        check_said(emphasis._callout(point, Strength(1, 1), ring, said, words), said, ring, seen, frame)


def check_said(callout: list[Any], said: str, ring: np.ndarray, seen: Seen, frame: Size) -> None:
    """All that is said is a tenth of an inch within the picture, off the title, and inside of its ring, by it, or with
    a line to it."""
    *lines, ground, text = callout
    written, around = text.get_window_extent(), ground.get_extents()
    assert text.get_text().replace("\n", " ") == said
    assert (written.min > frame.dpi / 10).all() and (written.max < np.array(frame.pixels) - frame.dpi / 10).all(), said
    assert not any(written.overlaps(title.padded(frame.dpi / 4, 0)) for title in seen.title), said
    for line in lines:
        begins, ends = line.get_xydata()
        assert np.abs(begins - np.clip(begins, around.min, around.max)).max() < 1e-6, said
        assert np.hypot(*(ring - ends).T).min() < 1e-6, said
    inside = (ring.min(axis=0) < around.min).all() and (ring.max(axis=0) > around.max).all()
    apart = np.hypot(*(ring - np.clip(ring, around.min, around.max)).T).min()
    assert lines or inside or apart < frame.dpi / 4, said


@EVERY
def test_words_that_are_said_at_the_same_time_are_apart(exhibit: Exhibit) -> None:
    """Of two parts of a square picture: neither covers the other, though each would be where it is best."""
    stage, frame = Stage(exhibit, "square"), find_size("square")
    values = exhibit.settle({})
    stage.move(values)
    drawing = _Drawing(stage)
    boxes = {part: stage.box(part) for part in list(exhibit.parts)[:2]}
    seen = Seen(stage.pixels().copy(), boxes, drawing.words(), drawing.title())
    points = [Pointing(at, 9.0, part, ("circle",), SAID[0]) for at, part in enumerate(boxes)]
    emphasis = Emphasis(exhibit, stage.look, frame)
    emphasis.over(seen, [(point, Strength(1, 1)) for point in points], values, lambda point: [(seen, values)])
    one, other = (emphasis._places[point].ground for point in points)
    assert not one.overlaps(other)
    assert emphasis._said_beside(points[0], [(point, Strength(1, 1)) for point in points]) == [other]
