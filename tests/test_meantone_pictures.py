"""The pictures of lesson 06: what they draw is what the chains of fifths are, worked out here from ratios."""

from __future__ import annotations

import math

import numpy as np
import pytest
from laid_out import laid_out

from tunelib.exhibits import Playing

COMMA = 1200 * math.log2(81 / 80)


@pytest.mark.parametrize("tall", [False, True])
def test_both_ways_up_end_on_one_key_and_the_glass_opens_at_the_fourth_fifth(tall: bool) -> None:
    """Four arcs of four white keys reach as far as two octaves and a third do; only then is there a gap, 21.5 cents."""
    drawn = laid_out("four_fifths", tall)
    fifths, octaves, word = drawn.parts["fifths"][:4], drawn.parts["octaves"][:3], drawn.parts["word"][0]
    fill = drawn.parts["gap"][0]
    for stacked in (1, 2, 3, 4):
        drawn.update(stacked=stacked, lowest=130.8, pure_last=False)
        assert sum(arc.get_visible() for arc in fifths) == stacked
        assert (np.ptp(fill.get_xy()[:, 0]) > 0.5) == (stacked == 4)
    assert fifths[-1].get_xdata()[-1] == pytest.approx(octaves[-1].get_xdata()[-1])
    assert float(word.get_text()) == pytest.approx(COMMA, abs=0.05)


def test_the_keys_of_the_stack_light_up_one_after_another() -> None:
    """C, G, D, A and E are four white keys apart; the chord at the end has C, C, G and an E."""
    drawn = laid_out("four_fifths")
    drawn.update(stacked=4, lowest=130.8, pure_last=False)
    lit = next(line for line in drawn.moving if line.get_label() == "sounding")
    found = []
    for playing in [(k,) for k in range(5)] + [(5, 6, 7, 8)]:
        drawn.light(Playing(1.0, playing))
        found.append(list(lit.get_xdata()))
    climb = np.ravel(found[:5])
    assert np.diff(climb) == pytest.approx(np.full(4, climb[1] - climb[0]))
    assert found[5][0] == climb[0] and found[5][3] == climb[4]
    assert (found[5][1] - climb[0]) / (climb[1] - climb[0]) == pytest.approx(7 / 4)
