"""A blues tuned in ways to be kept: the notes of each worked out anew, and picture and sound beside them."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.look import THEMES, Look
from tunelib.harmony import BARS, TUNED_BLUES, TunedBlues
from tunelib.pitch import THIRTY_ONE, Note, equal

SHOW = EXHIBITS["tuned_blues"]
ROOTS = {"C": 0, "F": 13, "G": 18}

# Steps above a root, written down from ratios: 5/4, 3/2, and 9/5 or 7/4; 4/3 for what is suspended.
STEPS = {"7": (0, 10, 18, 26), "harm7": (0, 10, 18, 25), "7sus4": (0, 13, 18, 26)}
RATIOS = {"7": ("1", "5/4", "3/2", "9/5"), "harm7": ("1", "5/4", "3/2", "7/4"), "7sus4": ("1", "4/3", "3/2", "9/5")}


def worked_out(way: TunedBlues) -> list[set[int]]:
    """The notes of each bar within the octave, from the symbols alone."""
    return [{(ROOTS[symbol[0]] + step) % 31 for step in STEPS[symbol[1:]]} for symbol in way.symbols]


@pytest.mark.parametrize("way", TUNED_BLUES.values(), ids=TUNED_BLUES)
def test_the_form_is_the_common_one(way: TunedBlues) -> None:
    """I four times, IV twice, I twice, V, IV, I twice (common practice)."""
    assert "".join(symbol[0] for symbol in way.symbols) == "CCCCFFCCGFCC"


@pytest.mark.parametrize("way", TUNED_BLUES.values(), ids=TUNED_BLUES)
def test_notes_of_the_chorus_and_of_each_bar_are_those_of_the_chords(way: TunedBlues) -> None:
    bars = worked_out(way)
    assert set(way.notes(THIRTY_ONE)) == set().union(*bars)
    for bar, voices in zip(bars, way.voices(THIRTY_ONE), strict=True):
        assert {step % 31 for step in voices} == bar and list(voices) == sorted(voices)


def test_kubiks_harmonics_are_the_eight_notes() -> None:
    """G. Kubik, Africa and the Blues, 1999: harmonics 5 to 9 over the tonic and over the fourth, tuned by rounding."""
    over = [Fraction(n, 4) * root for root in (Fraction(1), Fraction(4, 3)) for n in range(5, 10)]
    harmonics = {round(31 * math.log2(ratio)) % 31 for ratio in over}
    assert set(TUNED_BLUES["eight notes"].notes(THIRTY_ONE)) == harmonics == {0, 5, 7, 10, 13, 18, 23, 25}


def test_which_names_have_two_tunings() -> None:
    """The F of IV, 13, against 7/4 of G, 18 + 25; and the B flat that rests, 25, against the one that leads on, 26."""
    two = {name: way.in_two_tunings(THIRTY_ONE) for name, way in TUNED_BLUES.items()}
    assert two == {
        "minor sevenths": {},
        "harmonic sevenths": {"F": ((18 + 25) % 31, 13)},
        "rest and announce": {"B♭": (25, 26)},
        "eight notes": {},
    }
    assert [len(way.notes(THIRTY_ONE)) for way in TUNED_BLUES.values()] == [9, 10, 10, 8]
    assert all(not way.in_two_tunings(equal(12)) for way in TUNED_BLUES.values())


@pytest.mark.parametrize("way", TUNED_BLUES.values(), ids=TUNED_BLUES)
def test_how_far_off_the_chorus_is_by_its_pairs(way: TunedBlues) -> None:
    """The root mean square of six errors a bar, each a pair of steps against the quotient of its ratios."""
    squares = []
    for symbol in way.symbols:
        kind = symbol[1:]
        for i, j in combinations(range(4), 2):
            steps = STEPS[kind][j] - STEPS[kind][i]
            ratio = Fraction(RATIOS[kind][j]) / Fraction(RATIOS[kind][i])
            squares.append((1200 * steps / 31 - 1200 * math.log2(ratio)) ** 2)
    assert way.purity(THIRTY_ONE) == pytest.approx(math.sqrt(sum(squares) / len(squares)), abs=1e-9)


def test_what_held_notes_do_to_the_tonic() -> None:
    """Once round by hand. C to F and back and C to G hold C or G, and cancel; G to F holds F: that is all there is.

    From 9/5 of G down to F the root falls by 10/9 and not 9/8: a syntonic comma is won, and vanishes in 31. From 7/4
    it falls by 8/7, 64/63 more than 9/8, and in 31 that is a step.
    """
    plain = Fraction(3, 2) * Fraction(9, 10) * Fraction(3, 2) / 2
    harmonic = Fraction(3, 2) * Fraction(7, 8) * Fraction(3, 2) / 2
    wanted = {"minor sevenths": plain, "harmonic sevenths": harmonic, "rest and announce": plain, "eight notes": 1}
    assert {name: way.round.comma for name, way in TUNED_BLUES.items()} == wanted
    assert plain == Fraction(81, 80) and harmonic == Fraction(63, 64)
    assert [int(way.round.drift_steps(31)) for way in TUNED_BLUES.values()] == [0, -1, 0, 0]
    assert 1200 * math.log2(harmonic) == pytest.approx(-27.26, abs=0.005)


def test_moves_of_the_voices() -> None:
    """From the resolutions worked out chord by chord: C7 to F7, C harm7 to F harm7, and one step that announces."""
    assert sorted(TUNED_BLUES["minor sevenths"].moves(5, THIRTY_ONE)) == [-5, -3, -2, 0]
    assert sorted(TUNED_BLUES["harmonic sevenths"].moves(5, THIRTY_ONE)) == [-5, -3, -2, 0]
    assert TUNED_BLUES["rest and announce"].moves(4, THIRTY_ONE) == (1, 0, 0, 0)
    assert TUNED_BLUES["rest and announce"].moves(5, THIRTY_ONE) == (-3, 0, -3, -5)
    for way in TUNED_BLUES.values():
        assert not np.sum([way.moves(bar, THIRTY_ONE) for bar in range(1, BARS + 1)], axis=0).any()
    with pytest.raises(ValueError, match="a bar of the blues"):
        TUNED_BLUES["eight notes"].moves(13, THIRTY_ONE)


def test_a_blues_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="a blues has a chord for each of 12 bars, in a tuple, not"):
        TunedBlues("short", ("C7", "F7"), "C7 F7")


@pytest.mark.parametrize("division", [12, 19, 31, 41, 53, 72])
def test_every_way_can_be_worked_out_in_any_division(division: int) -> None:
    tuning = equal(division)
    for way in TUNED_BLUES.values():
        assert all(len(voices) == 4 for voices in way.voices(tuning))
        assert {step % division for voices in way.voices(tuning) for step in voices} == set(way.notes(tuning))
        assert way.purity(tuning) > 0


@pytest.fixture(scope="module")
def scene() -> Any:
    return SHOW.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))


@pytest.mark.parametrize("way", [*TUNED_BLUES, "12"])
def test_the_chord_on_the_ring_is_the_chord_that_is_heard(scene: Any, way: str) -> None:
    """In each bar the angles of the corners, from the top, are the pitches of the four voices within the octave."""
    size = 12 if way == "12" else 31
    home = Note.parse("C4").hz(THIRTY_ONE)
    score = SHOW.score(way=way, bar=1)
    scene.update(way=way, bar=1)
    octave, (_, corners) = scene.parts["octave"][0], scene.parts["chord"]
    centre = [float(np.mean(values)) for values in octave.get_data()]
    for bar in range(1, BARS + 1):
        begun = [
            (place, note)
            for place, note in enumerate(score.notes)
            if note.onset == 4 * (bar - 1) and note.voice != "bass"
        ]
        scene.update(way=way, bar=1)
        scene.light(Playing(0.1, tuple(place for place, _ in begun)))
        x, y = (np.asarray(values) - middle for values, middle in zip(corners.get_data(), centre, strict=True))
        drawn = sorted((np.degrees(np.arctan2(x, y)) % 360 / 360 * size).round().astype(int) % size)
        heard = sorted(round(size * math.log2(note.hertz / home)) % size for _, note in begun)
        assert drawn == heard, bar


def test_the_bass_has_the_root_under_every_bar() -> None:
    for way in ("harmonic sevenths", "12"):
        score = SHOW.score(way=way, bar=1)
        size = 12 if way == "12" else 31
        roots = {"C": 0, "F": round(size * math.log2(4 / 3)), "G": round(size * math.log2(3 / 2))}
        low = [note for note in score.notes if note.voice == "bass" and note.onset % 4 == 0]
        home = Note.parse("C4").hz(THIRTY_ONE)
        heard = [round(size * math.log2(note.hertz / home)) % size for note in low]
        assert heard == [roots[letter] for letter in "CCCCFFCCGFCC"]
