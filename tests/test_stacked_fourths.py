"""Stacked fourths: every miss from plain logarithms, the two readings of a stack, and the picture beside the sound."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from laid_out import in_size

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.stacked_fourths import STACKS, misses, simpler, sizes, worst

SHOW = EXHIBITS["stacked_fourths"]
SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])
STEPS = {
    "three fourths": (0, 13, 26, 39),
    "fourths and a third": (0, 13, 26, 39, 49),
    "four fifths": (0, 18, 36, 54, 72),
    "sus4": (0, 13, 18),
    "soft sus4": (0, 12, 18),
    "7sus4": (0, 13, 18, 26),
    "soft harm7sus4": (0, 12, 18, 25),
    "9": (0, 10, 18, 26, 36),
    "harm9": (0, 10, 18, 25, 36),
    "6/9": (0, 10, 18, 23, 36),
}
RMS = {  # worked out by hand from logarithms, to a tenth of a cent
    "three fourths": 9.5,
    "fourths and a third": 9.8,
    "four fifths": 11.6,
    "sus4": 7.3,
    "soft sus4": 4.7,
    "7sus4": 9.5,
    "soft harm7sus4": 4.3,
    "9": 7.9,
    "harm9": 6.5,
    "6/9": 8.8,
}


def off(steps: int, ratio: Fraction) -> float:
    """Cents by which steps of 31 are above a ratio."""
    return steps * 1200 / 31 - 1200 * math.log2(ratio)


@pytest.mark.parametrize("voicing", STACKS)
def test_misses_are_steps_of_31_less_whole_numbers(voicing: str) -> None:
    steps, numbers = STEPS[voicing], STACKS[voicing].numbers
    assert sizes(voicing, "31") == pytest.approx([step * 1200 / 31 for step in steps])
    expected = [off(step, Fraction(number, numbers[0])) for step, number in zip(steps, numbers, strict=True)]
    assert misses(voicing, "31") == pytest.approx(expected, abs=1e-6)
    pairs = [
        off(steps[high] - steps[low], Fraction(numbers[high], numbers[low]))
        for low, high in combinations(range(len(steps)), 2)
    ]
    assert abs(worst(voicing, "31")[2]) == pytest.approx(max(map(abs, pairs)))
    rms = math.sqrt(sum(pair**2 for pair in pairs) / len(pairs))
    assert rms == pytest.approx(RMS[voicing], abs=0.055)
    read = SHOW.numbers(**SHOW.settle({"voicing": voicing}))
    assert float(read["rms"]) == pytest.approx(rms, abs=0.051)
    assert misses(voicing, "pure") == pytest.approx([0] * len(steps))
    assert all(size % 100 == 0 for size in sizes(voicing, "12"))


def test_two_narrow_fifths_make_the_dull_ninth_and_four_the_pure_third() -> None:
    """A fifth of 31 is 5.2 cents narrow: 10.4, 15.5 and 20.7 off 9/4, 27/8 and 81/16, 6.0 off 10/3 and 0.8 off 5/1."""
    assert misses("four fifths", "31") == pytest.approx([0, -5.18, -10.36, -15.54, -20.72], abs=0.005)
    assert off(54, Fraction(10, 3)) == pytest.approx(5.96, abs=0.005)
    assert off(72, Fraction(5)) == pytest.approx(0.78, abs=0.005)
    assert [simpler(ratio) for ratio in STACKS["four fifths"].ratios] == [
        None,
        None,
        None,
        Fraction(10, 3),
        Fraction(5),
    ]


def test_three_fourths_are_on_the_way_to_a_minor_tenth() -> None:
    """5.2, 10.4 and 15.5 cents wide of 4/3, 16/9 and 64/27; from 12/5 the third one is 6.0 cents away."""
    assert misses("three fourths", "31") == pytest.approx([0, 5.18, 10.36, 15.54], abs=0.005)
    assert simpler(Fraction(64, 27)) == Fraction(12, 5)
    assert off(39, Fraction(12, 5)) == pytest.approx(-5.96, abs=0.005)


@SHAPES
@pytest.mark.parametrize("voicing", STACKS)
def test_the_tower_leans_as_far_as_it_is_heard_to(voicing: str, size: str) -> None:
    """Filled gaps are on one scale for all tunings, their ends are the notes, and the notes sound as far off."""
    scene, scales = in_size("stacked_fourths", size), []
    for tuned in ("pure", "31", "12"):
        values: dict[str, Any] = SHOW.settle({"voicing": voicing, "tuned": tuned})
        scene.update(**values)
        notes, line = SHOW.score(**values).notes, scene.parts["pure"][0].get_xdata()[0]
        x, y = scene.parts["tower"][1].get_data()
        heard = [
            1200 * math.log2(note.hertz / notes[0].hertz) - 1200 * math.log2(ratio)
            for note, ratio in zip(notes, STACKS[voicing].ratios, strict=True)
        ]
        for i, away in enumerate(heard):
            bar = np.asarray(scene.parts["misses"][i].get_xy())
            assert bar[1, 0] == pytest.approx(x[i]) and bar[0, 0] == pytest.approx(line)
            scene.light(Playing(0.0, (i,)))
            [lit] = [artist for artist in scene.moving if getattr(artist, "get_ms", lambda: 0)() == 17]
            assert np.ravel(lit.get_data()) == pytest.approx([x[i], y[i]])
            if abs(away) > 0.1:
                scales.append((x[i] - line) / away)
            else:
                assert x[i] == pytest.approx(line, abs=1e-6)
        assert all(low < high for low, high in pairwise(y))
    assert scales == pytest.approx([scales[0]] * len(scales)) and scales[0] > 0


@SHAPES
def test_the_number_is_that_of_the_ringed_pair(size: str) -> None:
    scene = in_size("stacked_fourths", size)
    for voicing in STACKS:
        scene.update(**SHOW.settle({"voicing": voicing}))
        low, high, miss = worst(voicing, "31")
        assert float(scene.parts["number"][0].get_text()) == pytest.approx(abs(miss), abs=0.051)
        rings, dots = scene.parts["worst"][0].get_xdata(), scene.parts["tower"][1].get_xdata()
        assert list(rings) == [dots[low], dots[high]]
        assert ("wide" if miss > 0 else "narrow") in scene.parts["number"][1].get_text()
