"""Words beside a part: the best place that is free, found among all of them, and the line from there to the part."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.transforms import Bbox

from tunelib.film.free_room import Taken, find_room, layouts
from tunelib.film.leader import belongs, find_leader
from tunelib.film.ring import Ring

DPI = 100
WIDE, HIGH = 960, 540


def paper(dpi: float = DPI) -> np.ndarray:
    """A white picture of 9.6 by 5.4 inches."""
    return np.full((round(5.4 * dpi), round(9.6 * dpi), 4), 255, np.uint8)


def room(size: tuple[float, float], beside: Bbox, words: list[Bbox], title: tuple[Bbox, ...] = (), **how) -> Bbox:
    """Where words of a size go on white paper."""
    taken = Taken([how.pop("picture", paper())], [beside], words, title)
    found, lines = find_room([size], taken, DPI, how.pop("belongs", lambda around: True), **how)
    assert lines == 1 and (found.width, found.height) == pytest.approx(size)
    return found


def wall(gap: Bbox) -> list[Bbox]:
    """Words all over the picture but in a gap."""
    return [
        Bbox.from_extents(0, 0, gap.x0, HIGH),
        Bbox.from_extents(gap.x1, 0, WIDE, HIGH),
        Bbox.from_extents(gap.x0, 0, gap.x1, gap.y0),
        Bbox.from_extents(gap.x0, gap.y1, gap.x1, HIGH),
    ]


def on(box: Bbox, other: Bbox) -> bool:
    """Whether boxes do more than touch."""
    return box.overlaps(other.padded(-0.01))


@pytest.mark.parametrize("corner", [(50, 60), (430, 250), (700, 30), (810, 440)])
def test_the_only_gap_between_words_is_found(corner: tuple[int, int]) -> None:
    """A gap a tenth of an inch larger than the words on each side, wherever it is, and however far from the part."""
    gap = Bbox.from_bounds(*corner, 140, 60)
    words = wall(gap)
    found = room((120, 40), Bbox.from_bounds(300, 300, 40, 40), words)
    assert not any(on(found, word) for word in words)


def test_where_all_places_cover_words_as_few_as_can_be_are_covered() -> None:
    """A gap far from the part is too narrow by a tenth of an inch: there one word is covered, elsewhere two or more."""
    gap = Bbox.from_bounds(600, 100, 120, 60)
    rows = [Bbox.from_bounds(0, y, WIDE, 20) for y in range(0, HIGH, 20)]
    words = [Bbox.from_extents(0, row.y0, gap.x0 if on(gap, row) else WIDE, row.y1) for row in rows]
    words.append(Bbox.from_extents(gap.x1, gap.y0, WIDE, gap.y1))
    found = room((130, 40), Bbox.from_bounds(110, 300, 40, 40), words)
    assert [on(found, word) for word in words].index(True) == len(words) - 1


def test_words_are_near_inside_the_margin_and_off_the_titles_line() -> None:
    """On white paper, with nothing in the way; and only where there is no other room are they elsewhere."""
    beside, title = Bbox.from_bounds(500, 440, 40, 40), Bbox.from_bounds(40, 500, 200, 30)
    found = room((120, 40), beside, [], (title,))
    assert found.y1 <= title.y0 and found.x0 >= 20 and found.x1 <= WIDE - 20 and not on(found, beside)
    assert max(beside.x0 - found.x1, found.x0 - beside.x1, beside.y0 - found.y1) < 8
    found = room((120, 30), beside, [Bbox.from_extents(0, 0, WIDE, 495)], (title,))
    assert found.y0 >= 495 and found.x0 >= title.x1 + 25 and found.y1 <= HIGH


def test_a_place_is_the_same_however_fine_the_picture() -> None:
    """At two and four times the pixels to the inch, to within a step of the search; and twice the same."""
    places = []
    for finer in (1, 1, 2, 4):
        picture = paper(DPI * finer)
        picture[100 * finer : 300 * finer, 500 * finer : 800 * finer, :3] = 90
        words = [Bbox.from_bounds(*(finer * each for each in box)) for box in ((60, 60, 200, 30), (400, 100, 60, 200))]
        beside = Bbox.from_bounds(*(finer * each for each in (300, 180, 60, 60)))
        taken = Taken([picture], [beside], words, ())
        sizes = [(200.0 * finer, 40.0 * finer), (110.0 * finer, 70.0 * finer)]
        found, lines = find_room(sizes, taken, DPI * finer, lambda around: True)
        places.append((*found.extents / finer, lines))
    assert places[0] == places[1]
    assert np.abs(np.array(places) - places[0]).max() <= 4


def test_ink_is_shunned_unless_it_has_receded() -> None:
    """Beside a part in the middle of a dark field words go out of the field, and into it where that is dim."""
    picture = paper()
    picture[120:420, 250:700, :3] = 90
    beside = Bbox.from_bounds(440, 250, 40, 40)
    loud, dim = (room((120, 40), beside, [], picture=picture, quiet=quiet) for quiet in (False, True))
    field = Bbox.from_extents(255, 125, 695, 415)
    assert not loud.overlaps(field) and dim.overlaps(field)


def test_a_place_from_where_no_line_goes_is_not_chosen_if_another_has_one() -> None:
    """The nearest place that belongs to the part, though others are nearer."""
    beside = Bbox.from_bounds(440, 250, 40, 40)
    found = room((120, 40), beside, [], belongs=lambda around: around.x0 > 600)
    assert 600 < found.x0 < 620


def outline(box: Bbox) -> np.ndarray:
    """The ring round a box."""
    return Ring().outline(box, (WIDE, HIGH), DPI)


def test_a_line_is_the_shortest_where_nothing_is_in_the_way() -> None:
    """From a box on the left level with the part: straight across, from edge to ring."""
    ring, around = outline(Bbox.from_bounds(500, 200, 60, 60)), Bbox.from_bounds(200, 210, 100, 40)
    begins, ends = find_leader(ring, around, [], DPI)
    assert begins[0] == around.x1 and ends[0] == pytest.approx(ring[:, 0].min(), abs=0.5)
    assert begins[1] == pytest.approx(ends[1], abs=0.5)


def test_a_line_goes_past_words_and_never_across_its_part() -> None:
    """With words in the straight way it is aslant; none of it is on them, nor inside of the ring."""
    ring, around = outline(Bbox.from_bounds(500, 150, 60, 160)), Bbox.from_bounds(200, 210, 100, 40)
    word = Bbox.from_bounds(380, 205, 60, 50)
    line = find_leader(ring, around, [word], DPI)
    along = line[0] + np.linspace(0, 1, 500)[:, np.newaxis] * (line[1] - line[0])
    assert not ((along > word.min) & (along < word.max)).all(axis=1).any()
    assert along[:, 0].max() <= ring[:, 0].min() + 25, "it ends on the near side"
    assert belongs(ring, around, [word], DPI)


def test_there_is_no_line_where_none_is_needed_and_none_can_be() -> None:
    """Inside, beside, and behind a wall of words from end to end: only the last does not belong."""
    ring = outline(Bbox.from_bounds(500, 150, 200, 160))
    through = [Bbox.from_extents(400, 0, 420, HIGH)]
    for around, belonging in (
        (Bbox.from_bounds(540, 200, 100, 40), True),
        (Bbox.from_bounds(380, 200, 104, 40), True),
        (Bbox.from_bounds(200, 200, 100, 40), False),
    ):
        assert find_leader(ring, around, through, DPI) is None
        assert belongs(ring, around, through, DPI) == belonging


@pytest.mark.parametrize("words", ["Hear it beat", "This is what an ear listens to", "one " * 30, "unbroken" * 4])
def test_words_are_parted_into_lines_of_about_one_length(words: str) -> None:
    """Nothing is lost, there is one line more each time, and all but short words get narrower."""
    words = words.strip()
    found = layouts(words)
    assert [each.count("\n") for each in found] == list(range(len(found)))
    assert all(each.replace("\n", " ") == words for each in found)
    widths = [max(map(len, each.split("\n"))) for each in found]
    assert widths == sorted(widths, reverse=True)
