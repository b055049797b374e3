"""Step 13: that the miss of a third is heard as well as seen."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.typeface import as_set
from tunelib.hearing import dissonance_curve
from tunelib.pitch import cents
from tunelib.show.stage import Stage
from tunelib.sound import SAMPLE_RATE


def swell(samples: np.ndarray, seconds: float) -> float:
    """How much the whole sound swells, in dB: the highest over the lowest of its power in the middle of it.

    Power is the mean of the squares under a Hann window as long as is given: long beside the periods of the partials
    and of their differences, which are no beats, and short beside a beat.
    """
    window = np.hanning(round(seconds * SAMPLE_RATE))
    power = np.convolve(samples[SAMPLE_RATE // 4 : -SAMPLE_RATE // 4] ** 2, window / window.sum(), "valid")
    return float(10 * np.log10(power.max() / power.min()))


def third_heard(**values: Any) -> np.ndarray:
    """The sound of step 13 at these settings of its knobs."""
    third = EXHIBITS["beating_third"]
    return third.sound(**third.settle(values))


@pytest.mark.parametrize("lower", [131.0, 220.0, 262.0, 440.0, 523.0])
def test_the_third_of_twelve_is_heard_to_beat_and_the_pure_one_to_stand_still(lower: float) -> None:
    """6 dB at least, and less than one, in every register; in thirty-one it beats as deep, and slowly."""
    two_periods_of_the_difference = 8 / lower
    assert swell(third_heard(third=400.0, lower=lower), two_periods_of_the_difference) > 6
    assert swell(third_heard(third=cents("5/4"), lower=lower), two_periods_of_the_difference) < 1
    assert swell(third_heard(third=1200 * 10 / 31, lower=lower), two_periods_of_the_difference) > 6


def test_the_pure_third_is_exact() -> None:
    """Its own stop is 386.3 cents, which alone would beat once in two minutes"""
    third = EXHIBITS["beating_third"]
    lower, upper = (note.hertz for note in third.score(**third.settle({"third": 386.3})).notes)
    assert upper / lower == 5 / 4


@pytest.mark.parametrize("lower", [131.0, 220.0, 440.0])
def test_the_two_that_beat_are_heard_by_themselves(lower: float) -> None:
    """Nothing else sounds: they come and go altogether, at the rate that the library says."""
    heard = third_heard(third=400.0, lower=lower, only=True)
    assert swell(heard, 2 / lower) > 25
    spectrum = np.abs(np.fft.rfft(heard * np.hanning(heard.size))) ** 2
    hertz = np.fft.rfftfreq(heard.size, 1 / SAMPLE_RATE)
    assert spectrum[np.abs(hertz - 5 * lower) < 40].sum() > 0.9999 * spectrum.sum()
    assert swell(third_heard(third=cents("5/4"), lower=lower, only=True), 2 / lower) < 1


def test_the_figure_swells_as_the_sound_does() -> None:
    """The shape that is drawn has the depth of what is heard, of the whole sound and of the two by themselves."""
    third = EXHIBITS["beating_third"]
    for only, least, most in ((False, 7, 8.5), (True, 30, 200)):
        stage = Stage(third)
        stage.move(third.settle({"lower": 220.0, "only": only}))
        shape, *_ = stage._scene.parts["beats"]
        outline = shape.get_xy()[:1201, 1]
        height = outline - (outline.max() + shape.get_xy()[1201:2402, 1].min()) / 2
        assert least < 20 * np.log10(height.max() / height.min()) < most


def test_the_land_is_as_high_as_the_third_is_rough() -> None:
    """The dot is on the ridge at its size; the ridge is lowest at the pure third, and its dip that of the library."""
    third = EXHIBITS["beating_third"]
    stage = Stage(third)
    numbers = np.arange(1, 9)
    for lower in (131.0, 220.0, 523.0):
        found = {}
        for size in (360.0, cents("5/4"), 400.0, 420.0):
            stage.move(third.settle({"third": size, "lower": lower}))
            dot = stage._scene.parts["third"][0]
            (x,), (y,) = dot.get_xdata(), dot.get_ydata()
            ridge = stage._scene.parts["land"][-3]
            across, up = np.asarray(ridge.get_xdata()), np.asarray(ridge.get_ydata())
            assert x == pytest.approx(across[0] + (across[-1] - across[0]) * (size - 360) / 60)
            assert y == pytest.approx(np.interp(x, across, up))
            assert across[up.argmin()] == pytest.approx(across[-1] * (cents("5/4") - 360) / 60, abs=0.05)
            found[size] = y
        rough = dissonance_curve(lower * numbers, 0.88**numbers, list(found))
        heights = np.array(list(found.values()))
        share = (heights - heights.min()) / np.ptp(heights)
        assert share == pytest.approx((rough - rough.min()) / np.ptp(rough), abs=0.02)


def test_the_two_notes_are_named() -> None:
    """The note that is chosen and its third, spelled as one: D♯ above B, not E♭."""
    third = EXHIBITS["beating_third"]
    for lower, pair in ((220.0, ("A3", "C♯4")), (246.9, ("B3", "D♯4")), (261.6, ("C4", "E4"))):
        stage = Stage(third)
        stage.move(third.settle({"lower": lower}))
        assert stage._scene.parts["beats"][2].get_text().split()[::2][:2] == [as_set(note) for note in pair]
