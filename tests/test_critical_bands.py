"""Critical bands against published worked values and Zwicker's table."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tunelib.hearing.critical_bands import (
    CRITICAL_BANDS,
    bark,
    critical_bandwidth,
    erb,
    erb_number,
    hz_from_erb_number,
)


def test_erb_has_the_worked_values_of_its_authors() -> None:
    """Glasberg and Moore 1990: about 132.6 Hz wide at 1 kHz, where 15.6 ERBs are below (values from memory); 24.7 Hz
    wide and none below as the frequency falls to nothing."""
    assert erb(1000) == pytest.approx(132.6, abs=0.05)
    assert erb_number(1000) == pytest.approx(15.6, abs=0.05)
    assert erb(1e-6) == pytest.approx(24.7, abs=1e-4)
    assert erb_number(1e-9) == pytest.approx(0, abs=1e-9)


def test_erb_stays_near_the_earlier_fit_of_the_same_laboratory() -> None:
    """B. C. J. Moore and B. R. Glasberg, J. Acoust. Soc. Am. 74, 1983: 6.23 F^2 + 93.39 F + 28.52, within a tenth where
    both are given."""
    kilohertz = np.linspace(0.1, 4, 50)
    earlier = 6.23 * kilohertz**2 + 93.39 * kilohertz + 28.52
    assert np.abs(erb(1000 * kilohertz) / earlier - 1).max() < 0.1


def test_erb_numbers_count_off_erbs() -> None:
    """The number rises by one over each ERB, to the half per cent by which the published 21.4 is rounded."""
    hertz = np.geomspace(50, 15_000, 200)
    up = erb_number(hertz + 1e-3 * erb(hertz)) - erb_number(hertz - 1e-3 * erb(hertz))
    np.testing.assert_allclose(up, 2e-3, rtol=0.005)


def test_erb_number_and_its_inverse_undo_each_other() -> None:
    hertz = np.geomspace(20, 20_000, 500)
    np.testing.assert_allclose(hz_from_erb_number(erb_number(hertz)), hertz, rtol=1e-12)


def test_zwickers_bands_stand_end_to_end() -> None:
    """Zwicker 1961, table I: 24 bands from 0 to 15.5 kHz, the ninth round 1 kHz."""
    assert len(CRITICAL_BANDS) == 24
    assert [band.number for band in CRITICAL_BANDS] == list(range(1, 25))
    assert (CRITICAL_BANDS[0].low, CRITICAL_BANDS[-1].high) == (0, 15_500)
    for band, following in pairwise(CRITICAL_BANDS):
        assert band.high == following.low
    assert all(band.low < band.centre < band.high for band in CRITICAL_BANDS)
    ninth = CRITICAL_BANDS[8]
    assert (ninth.low, ninth.centre, ninth.high) == (920, 1000, 1080)


def test_zwickers_bands_are_as_wide_as_his_table_says() -> None:
    """Its column of bandwidths, which is printed beside the edges (from memory); the centres are near the middles."""
    assert [band.width for band in CRITICAL_BANDS] == [
        100, 100, 100, 100, 110, 120, 140, 150, 160, 190, 210, 240, 280, 320, 380, 450, 550, 700, 900, 1100, 1300, 1800,
        2500, 3500,
    ]  # fmt: skip
    for band in CRITICAL_BANDS:
        assert band.centre == pytest.approx((band.low + band.high) / 2, rel=0.025)


def test_bark_counts_zwickers_bands() -> None:
    """Traunmüller 1990: within 0.05 Bark of Zwicker's edges, with the corrections at both ends."""
    assert max(abs(bark(band.high) - band.number) for band in CRITICAL_BANDS) < 0.05


@pytest.mark.parametrize(
    ("hertz", "without_corrections"),
    [(250, 2.5028), (500, 4.9192), (1000, 8.5274), (2000, 13.0104), (4000, 17.4633)],
)
def test_bark_in_the_middle_is_the_plain_formula(hertz: float, without_corrections: float) -> None:
    """Traunmüller's z = 26.81 / (1 + 1960 / f) - 0.53, worked out by hand."""
    assert bark(hertz) == pytest.approx(without_corrections, abs=5e-5)


def test_bark_is_corrected_at_the_ends() -> None:
    """Traunmüller 1990: at 100 Hz 0.7715 rises by 0.15 of what it lacks to 2; at 8 kHz 21.0041 by 0.22 beyond 20.1."""
    assert bark(100) == pytest.approx(0.7715 + 0.15 * (2 - 0.7715), abs=1e-4)
    assert bark(8000) == pytest.approx(21.0041 + 0.22 * (21.0041 - 20.1), abs=1e-4)


def test_the_bandwidth_formula_fits_zwickers_table() -> None:
    """Zwicker and Terhardt 1980 give it to a tenth; 162.2 Hz at 1 kHz and 100.7 at 100 Hz by their formula."""
    for band in CRITICAL_BANDS:
        assert critical_bandwidth(band.centre) == pytest.approx(band.width, rel=0.1)
    assert critical_bandwidth(1000) == pytest.approx(162.2167, abs=5e-5)
    assert critical_bandwidth(100) == pytest.approx(100.7229, abs=5e-5)


@pytest.mark.parametrize("measure", [erb, erb_number, bark, critical_bandwidth])
def test_scalars_give_scalars_and_arrays_arrays(measure: Callable[[Any], Any]) -> None:
    assert isinstance(measure(440), float)
    assert measure(np.full((2, 3), 440.0)).shape == (2, 3)
    assert np.all(np.diff(measure(np.geomspace(20, 20_000, 300))) > 0)
    for bad in (0, -440, math.nan, math.inf, "A4"):
        with pytest.raises(ValueError, match="frequency"):
            measure(bad)


@pytest.mark.parametrize("bad", [-0.1, 51, math.nan, "many"])
def test_an_erb_number_out_of_hearing_is_refused(bad: Any) -> None:
    with pytest.raises(ValueError, match="ERB number"):
        hz_from_erb_number(bad)
