"""The pictures of lesson 06: what they draw is what the chains of fifths are, worked out here from ratios."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import pytest
from laid_out import laid_out

from tunelib.exhibits import Playing, find_exhibit
from tunelib.exhibits.typeface import as_set
from tunelib.pitch import nearest_note

_Point: TypeAlias = npt.NDArray[np.float64]

COMMA = 1200 * math.log2(81 / 80)


@pytest.mark.parametrize("tall", [False, True])
def test_both_ways_up_end_on_one_key_and_the_glass_opens_at_the_fourth_fifth(tall: bool) -> None:
    """Four arcs of four white keys reach as far as two octaves and a third do; only then is there a gap, 21.5 cents."""
    drawn = laid_out("four_fifths", tall)
    fifths, octaves, word = drawn.parts["fifths"][:4], drawn.parts["octaves"][:3], drawn.parts["word"][0]
    fill = drawn.parts["gap"][0]
    for stacked in (1, 2, 3, 4):
        drawn.update(stacked=stacked, lowest="C3", pure_last=False)
        assert sum(arc.get_visible() for arc in fifths) == stacked
        assert (np.ptp(fill.get_xy()[:, 0]) > 0.5) == (stacked == 4)
    assert fifths[-1].get_xdata()[-1] == pytest.approx(octaves[-1].get_xdata()[-1])
    assert float(word.get_text()) == pytest.approx(COMMA, abs=0.05)


def test_the_keys_of_the_stack_light_up_one_after_another() -> None:
    """C, G, D, A and E are four white keys apart; the chord at the end has C, C, G and an E."""
    drawn = laid_out("four_fifths")
    drawn.update(stacked=4, lowest="C3", pure_last=False)
    lit = next(line for line in drawn.moving if line.get_label() == "sounding")
    found = []
    for playing in [(k,) for k in range(5)] + [(5, 6, 7, 8)]:
        drawn.light(Playing(1.0, playing))
        found.append(list(lit.get_xdata()))
    climb = np.ravel(found[:5])
    assert np.diff(climb) == pytest.approx(np.full(4, climb[1] - climb[0]))
    assert found[5][0] == climb[0] and found[5][3] == climb[4]
    assert (found[5][1] - climb[0]) / (climb[1] - climb[0]) == pytest.approx(7 / 4)


@pytest.mark.parametrize("lowest", ["C2", "C3", "C4"])
def test_the_letters_on_the_keys_are_those_of_the_notes_that_sound(lowest: str) -> None:
    """Whatever the lowest note, each note of the climb is the letter on its key, to within 8 cents of twelve steps."""
    exhibit = find_exhibit("four_fifths")
    heard = [nearest_note(note.hertz) for note in exhibit.score(stacked=4, lowest=lowest, pure_last=False).notes[:5]]
    assert [str(note.name) for note, _ in heard] == ["C", "G", "D", "A", "E"]
    assert str(heard[0][0]) == lowest and max(abs(over) for _, over in heard) < 8
    letters = [text.get_text() for text in laid_out("four_fifths").parts["keys"] if hasattr(text, "get_text")]
    assert letters[:5] == ["C", "G", "D", "A", "E"]
    assert f"{lowest}, {heard[0][0].hz():.1f} Hz" in exhibit.sentence(stacked=4, lowest=lowest, pure_last=False)


@pytest.mark.parametrize("tall", [False, True])
@pytest.mark.parametrize("fraction", [0.0, 0.091, 0.25, 0.333, 0.4])
def test_the_star_is_tempered_twenty_times_as_much_as_the_fifths(fraction: float, tall: bool) -> None:
    """A fifth goes a twelfth of a turn, and twenty times what it is off from 700 cents."""
    drawn = laid_out("tempering", tall)
    drawn.update(fraction=fraction)
    dots = drawn.parts["ring"][1]
    x, y = dots.get_data()
    arc = np.column_stack(drawn.parts["ring"][0].get_data())
    centre = _centre(arc[0], arc[len(arc) // 2], arc[-1])
    turns = np.unwrap(np.arctan2(x - centre[0], y - centre[1])) / (2 * math.pi)
    exact = {0.333: 1 / 3}.get(fraction, fraction)
    fifth = 1200 * math.log2(3 / 2) - exact * COMMA
    assert np.diff(turns) == pytest.approx(np.full(11, (1 + 20 * (fifth / 700 - 1)) / 12), rel=1e-6)
    wolf = 7 * 1200 - 11 * fifth - 1200 * math.log2(3 / 2)
    assert float(drawn.parts["word"][0].get_text()) == pytest.approx(abs(wolf), abs=0.051)
    assert ("wide" in drawn.parts["word"][1].get_text()) == (wolf > 0)


def _centre(one: _Point, two: _Point, three: _Point) -> _Point:
    """The centre of the circle through three points."""
    sides = np.array([two - one, three - one])
    return one + np.linalg.solve(2 * sides, np.sum(sides**2, axis=1))


@pytest.mark.parametrize("fraction", [0.1, 0.25, 0.4])
def test_the_beam_brings_the_third_down_four_times_as_far_as_the_fifth(fraction: float) -> None:
    """E meets the pure third at a quarter of the comma; G is below the pure fifth by the part itself."""
    drawn = laid_out("tempering")
    drawn.update(fraction=fraction)
    fifth, third = drawn.parts["lever"][3].get_ydata()
    level = drawn.parts["lever"][1].get_ydata()[0]
    pure = drawn.parts["third"][1].get_ydata()[0]
    assert (level - third) / (level - fifth) == pytest.approx(4)
    assert (level - third) / (level - pure) == pytest.approx(4 * fraction)


def test_only_chords_that_reach_over_the_break_flare() -> None:
    """In quarter-comma from E♭ to G♯ all is well in C; in E the chord of B has no D♯; in E♭ two have no A♭."""
    drawn = laid_out("the_gap")
    for key, howling in (("C", []), ("E", [4]), ("E♭", [2, 3])):
        drawn.update(key=key, tuned="quarter-comma")
        flares = drawn.parts["howl"][0].get_xdata()
        assert np.flatnonzero(~np.isnan(flares)).tolist() == howling
        assert drawn.parts["wolf"][0].get_visible()
    drawn.update(key="E", tuned="31 equal")
    assert np.all(np.isnan(drawn.parts["howl"][0].get_xdata())) and not drawn.parts["wolf"][0].get_visible()


@pytest.mark.parametrize("tall", [False, True])
def test_the_chord_columns_are_to_scale(tall: bool) -> None:
    """In quarter-comma, E's third is pure and its fifth 5.4 cents narrow; B's third is 41 too wide (128/125)."""
    drawn = laid_out("the_gap", tall)
    drawn.update(key="E", tuned="quarter-comma")
    heights = drawn.parts["chords"][2].get_ydata()
    per_cent = (heights[1] - heights[0]) / (1200 * math.log2(5 / 4))
    fifth = 1200 * math.log2(5) / 4
    assert (heights[2] - heights[0]) / per_cent == pytest.approx(fifth)
    assert (heights[13] - heights[12]) / per_cent == pytest.approx(1200 * math.log2(5 / 4 * 128 / 125))
    assert drawn.parts["word"][0].get_text() == "41"
    assert drawn.parts["word"][2].get_text() == as_set("in B: E♭ for D♯")


@pytest.mark.parametrize("tall", [False, True])
@pytest.mark.parametrize("fraction", [0.15, 0.25])
def test_flags_are_where_fifths_come_home(fraction: float, tall: bool) -> None:
    """At a quarter of the comma 12, 19 and 31 fifths miss whole octaves by -41.06, +34.99 and -6.07 cents."""
    drawn = laid_out("closing_the_circle", tall)
    drawn.update(fifths=31, fraction=fraction)
    [home] = set(drawn.parts["home"][1].get_xdata())
    fifth = 1200 * math.log2(3 / 2) - fraction * COMMA
    missed = [(n * fifth + 600) % 1200 - 600 for n in (12, 19, 31)]
    if fraction == 0.25:
        assert missed == pytest.approx([-41.06, 34.99, -6.07], abs=0.01)
    poles = drawn.parts["flags"][1:4]
    places = [pole.get_xdata()[0] - home for pole in poles]
    inside = [abs(miss) < 60 for miss in missed]
    assert [pole.get_visible() for pole in poles] == inside
    for place, miss in zip(places, missed, strict=True):
        assert place == pytest.approx(1.25 / 60 * min(max(miss, -60), 60))
    assert float(drawn.parts["word"][0].get_text()) == pytest.approx(abs(missed[2]), abs=0.051)


def test_flags_are_planted_in_passing() -> None:
    """With 12 fifths there is one flag, with 19 two; the last dot of the spiral is on its rim."""
    drawn = laid_out("closing_the_circle")
    for fifths, planted in ((11, 0), (12, 1), (18, 1), (19, 2), (31, 3), (55, 6)):
        drawn.update(fifths=fifths, fraction=0.25)
        marks = [mark for mark in drawn.parts["flags"] if getattr(mark, "get_text", None)]
        assert sum(mark.get_visible() for mark in marks) == planted
    x, y = drawn.parts["last"][0].get_data()
    spiral = np.column_stack(drawn.parts["spiral"][0].get_data())
    assert (float(x[0]), float(y[0])) == pytest.approx(tuple(spiral[-1]))
