"""The overtone series against published tables and another library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.pitch import Pitch

from tunelib.pitch.harmonics import harmonic_deviations, harmonic_series
from tunelib.pitch.notes import Note, nearest_note
from tunelib.pitch.tunings import equal, just

# Cents of each harmonic from the nearest note of twelve equal steps, harmonic minus note: 1 to 20 as published in
# tables of the harmonic series, 21 to 32 by 1200 log2(n).
FROM_TWELVE = [
    +0.0000, +0.0000, +1.9550, +0.0000, -13.6863, +1.9550, -31.1741, +0.0000, +3.9100, -13.6863, -48.6821,
    +1.9550, +40.5277, -31.1741, -11.7313, +0.0000, +4.9554, +3.9100, -2.4870, -13.6863, -29.2191, -48.6821,
    +28.2743, +1.9550, -27.3726, +40.5277, +5.8650, -31.1741, +29.5772, -11.7313, +45.0356, +0.0000,
]  # fmt: skip
NAMES_IN_TWELVE = (
    "C2 C3 G3 C4 E4 G4 Bb4 C5 D5 E5 F#5 G5 Ab5 Bb5 B5 C6 C#6 D6 Eb6 E6 F6 F#6 F#6 G6 Ab6 Ab6 A6 Bb6 Bb6 B6 B6 C7"
).split()
# The same in 31 equal steps, by 1200 log2(n); and the step within the octave.
FROM_THIRTY_ONE = [
    (0, 0.0), (0, 0.0), (18, 5.1808), (0, 0.0), (10, -0.7831), (18, 5.1808), (25, 1.0840), (0, 0.0), (5, 10.3616),
    (10, -0.7831), (14, 9.3825), (18, 5.1808), (22, -11.0852), (25, 1.0840), (28, 4.3977), (0, 0.0), (3, -11.1736),
    (5, 10.3616), (8, -12.1644), (10, -0.7831), (12, 6.2648), (14, 9.3825), (16, 8.9195), (18, 5.1808), (20, -1.5661),
    (22, -11.0852), (23, 15.5424), (25, 1.0840), (27, -15.5841), (28, 4.3977), (30, -16.2548), (0, 0.0),
]  # fmt: skip


def test_harmonics_1_to_32_against_twelve() -> None:
    table = harmonic_deviations(equal(12), 32)
    assert table.number.tolist() == list(range(1, 33))
    np.testing.assert_allclose(-table.error, FROM_TWELVE, atol=5e-5)
    assert [Note.parse(name).step(equal(12)) + 24 for name in NAMES_IN_TWELVE] == table.step.tolist()


def test_harmonics_1_to_32_against_thirty_one() -> None:
    table = harmonic_deviations(equal(31), 32)
    assert (table.step % 31).tolist() == [step for step, _ in FROM_THIRTY_ONE]
    np.testing.assert_allclose(-table.error, [deviation for _, deviation in FROM_THIRTY_ONE], atol=5e-5)


@pytest.mark.parametrize("number", range(1, 33))
def test_each_harmonic_is_named_as_the_published_tables_name_it(number: int) -> None:
    fundamental = Note.parse("C2").hz()
    note, left_over = nearest_note(fundamental * number)
    assert note == Note.parse(NAMES_IN_TWELVE[number - 1])
    assert left_over == pytest.approx(FROM_TWELVE[number - 1], abs=5e-5)


@pytest.mark.parametrize("number", [2, 3, 4, 5, 6, 7, 9, 11, 13, 15])
def test_harmonics_sound_where_music21_puts_them(number: int) -> None:
    """Compared with music21's getHarmonic, which rounds its microtone to whole cents."""
    theirs = Pitch("C2").getHarmonic(number).frequency
    ours = harmonic_series(Note.parse("C2").hz(), number)[-1]
    assert 1200 * math.log2(ours / theirs) == pytest.approx(0, abs=0.51)


@given(st.integers(1, 200), st.sampled_from([equal(12), equal(31), equal(53), just(["9/8", "5/4", "3/2", "7/4"])]))
def test_the_table_holds_together(count: int, tuning) -> None:  # type: ignore[no-untyped-def]
    table = harmonic_deviations(tuning, count)
    assert len(table) == count
    np.testing.assert_allclose(table.cents, 1200 * np.log2(table.number), atol=1e-9)
    np.testing.assert_allclose(tuning.cents_of(table.step) - table.cents, table.error, atol=1e-8)


def test_a_row_is_read_by_field_name() -> None:
    row = harmonic_deviations(equal(12), 7)[-1]
    assert (row.number, row.step, round(row.error, 4)) == (7, 34, 31.1741)


def test_the_series_of_several_fundamentals_at_once() -> None:
    series = harmonic_series(np.array([[100.0], [55.0]]), 3)
    assert series.shape == (2, 1, 3)
    np.testing.assert_array_equal(series, [[[100, 200, 300]], [[55, 110, 165]]])
    assert harmonic_series(440, 2).tolist() == [440.0, 880.0]


@pytest.mark.parametrize("count", [0, -1, 2.0, "3", True, None])
def test_the_count_is_a_whole_number_from_one(count: object) -> None:
    for make in (lambda: harmonic_series(100, count), lambda: harmonic_deviations(equal(12), count)):  # type: ignore[arg-type]
        with pytest.raises(ValueError, match="harmonics") as refused:
            make()
        assert repr(count) in str(refused.value)


@pytest.mark.parametrize(
    ("f0", "named"), [(0, "0"), (-55.5, "-55.5"), (math.nan, "nan"), ("A2", "'A2'"), ([110, 0], "0")]
)
def test_the_fundamental_is_above_zero(f0: object, named: str) -> None:
    with pytest.raises(ValueError, match="fundamental") as refused:
        harmonic_series(f0, 3)
    assert named in str(refused.value)
