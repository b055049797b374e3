"""Critical bands against published worked values and Zwicker's table."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tunelib.hearing.critical_bands import bark, critical_bandwidth, erb

# Zwicker 1961, table I. The lowest edge, 20 Hz there and its centre 60, is 0 with the centre 50 in E. Zwicker and
# H. Fastl, *Psychoacoustics: Facts and Models*, 2nd edition 1999, and here.
EDGES = (
    0, 100, 200, 300, 400, 510, 630, 770, 920, 1080, 1270, 1480, 1720, 2000, 2320, 2700, 3150, 3700, 4400, 5300, 6400,
    7700, 9500, 12000, 15500,
)  # fmt: skip
CENTRES = (
    50, 150, 250, 350, 450, 570, 700, 840, 1000, 1170, 1370, 1600, 1850, 2150, 2500, 2900, 3400, 4000, 4800, 5800, 7000,
    8500, 10500, 13500,
)  # fmt: skip


def test_erb_has_the_worked_values_of_its_authors() -> None:
    """Glasberg and Moore 1990: about 132.6 Hz wide at 1 kHz (from memory); 24.7 Hz as the frequency falls to nothing"""
    assert erb(1000) == pytest.approx(132.6, abs=0.05)
    assert erb(1e-6) == pytest.approx(24.7, abs=1e-4)


def test_erb_stays_near_the_earlier_fit_of_the_same_laboratory() -> None:
    """B. C. J. Moore and B. R. Glasberg, J. Acoust. Soc. Am. 74, 1983: 6.23 F^2 + 93.39 F + 28.52, within a tenth where
    both are given."""
    kilohertz = np.linspace(0.1, 4, 50)
    earlier = 6.23 * kilohertz**2 + 93.39 * kilohertz + 28.52
    assert np.abs(erb(1000 * kilohertz) / earlier - 1).max() < 0.1


def test_bark_counts_zwickers_bands() -> None:
    """Traunmüller 1990: within 0.05 Bark of Zwicker's edges, with the corrections at both ends."""
    assert max(abs(bark(edge) - number) for number, edge in enumerate(EDGES[1:], 1)) < 0.05


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
    for centre, (low, high) in zip(CENTRES, pairwise(EDGES), strict=True):
        assert critical_bandwidth(centre) == pytest.approx(high - low, rel=0.1)
    assert critical_bandwidth(1000) == pytest.approx(162.2167, abs=5e-5)
    assert critical_bandwidth(100) == pytest.approx(100.7229, abs=5e-5)


@pytest.mark.parametrize("measure", [erb, bark, critical_bandwidth])
def test_scalars_give_scalars_and_arrays_arrays(measure: Callable[[Any], Any]) -> None:
    assert isinstance(measure(440), float)
    assert measure(np.full((2, 3), 440.0)).shape == (2, 3)
    assert np.all(np.diff(measure(np.geomspace(20, 20_000, 300))) > 0)
    for bad in (0, -440, math.nan, math.inf, "A4"):
        with pytest.raises(ValueError, match="frequency"):
            measure(bad)
