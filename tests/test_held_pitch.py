"""How a held pitch and a slide are graded, on curves that are known."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.hearing import Held, grade_hold, grade_slide

TARGET = 220.0
PACE = 512 / 48000  # seconds from one pitch of the page to the next


def held(cents: Callable[[np.ndarray], np.ndarray], seconds: float = 3.0, **options: float) -> Held:
    """Of a curve in cents over the target, with the unsteadiness of a pitch finder."""
    times = np.arange(0, seconds, PACE)
    wander = np.random.default_rng(1).normal(0, 0.5, times.size)
    return grade_hold(times, TARGET * 2 ** ((cents(times) + wander) / 1200), TARGET, **options)


def test_a_note_held_dead_still_is_so_from_the_start() -> None:
    note = held(lambda t: np.full(t.size, -6.0))
    assert note.soon == 0 and note.off == pytest.approx(-6, abs=0.3) and note.closeness == "excellent"
    assert note.spread < 1 and abs(note.drift) < 1
    assert note.near_seconds == pytest.approx(3, abs=0.03) and note.steady_seconds == pytest.approx(3, abs=0.03)
    assert (note.vibrato_rate, note.vibrato_width) == (0, 0)


@pytest.mark.parametrize(("rate", "width"), [(5.0, 60), (5.5, 100), (6.2, 160), (7.5, 30)])
def test_a_vibrato_is_graded_by_its_middle(rate: float, width: float) -> None:
    note = held(lambda t: 7 + width / 2 * np.sin(2 * np.pi * rate * t))
    assert note.off == pytest.approx(7, abs=1)
    assert note.vibrato_rate == pytest.approx(rate, abs=0.2)
    assert note.vibrato_width == pytest.approx(width, rel=0.05)
    assert note.soon < 0.1 and note.spread < 2 and note.steady_seconds > 2.8


@pytest.mark.parametrize("after", [0.3, 0.8, 1.5])
def test_soon_is_when_it_came_for_good(after: float) -> None:
    """Scooped up from 80 cents below"""
    note = held(lambda t: np.where(t < after, -80 + 80 * t / after, 0.0))
    assert note.soon == pytest.approx(after * 70 / 80, abs=0.04)
    assert note.off == pytest.approx(0, abs=1)
    left = held(lambda t: np.where((t > 1) & (t < 1.5), 25.0, 0.0))
    assert left.soon == pytest.approx(1.5, abs=0.04) and left.steady_seconds == pytest.approx(1.5, abs=0.06)
    moment = held(lambda t: np.where((t > 1) & (t < 1.06), 25.0, 0.0))
    assert moment.soon == 0, "a moment's slip is passed over"


def test_what_never_comes_near_has_no_soon() -> None:
    note = held(lambda t: np.full(t.size, 38.7))
    assert math.isnan(note.soon) and note.closeness == "off" and note.near_seconds == note.steady_seconds == 0
    assert held(lambda t: np.full(t.size, 15.0)).closeness == "usual"
    assert held(lambda t: np.full(t.size, 15.0), near=20).soon == 0


def test_it_is_said_in_a_sentence() -> None:
    note = held(lambda t: np.where(t < 0.5, -40.0, 7 + 30 * np.sin(2 * np.pi * 6 * t)))
    assert re.fullmatch(
        r"Held for 3\.0 s, near after 0\.[4-6] s: \+7 cents in the middle; within 10 cents for 2\.[3-6] s; "
        r"spread [01], drift [−+]?\d cents; vibrato of [56]\d cents at 6\.0 Hz\.",
        note.words,
    )
    far = held(lambda t: np.full(t.size, -38.7)).words
    assert "not near to the end: −39 cents" in far and "vibrato" not in far


def test_drift_and_unsteadiness_are_told_apart() -> None:
    sinking = held(lambda t: 10 - 20 * t / 3)
    assert sinking.drift == pytest.approx(-20 * (3 - 0.35) / 3, abs=1) and sinking.spread < 1
    wavering = held(lambda t: 12 * np.sin(2 * np.pi * 1.5 * t))
    assert wavering.spread == pytest.approx(1.4826 * 12 / np.sqrt(2), rel=0.1)
    assert wavering.vibrato_width == 0, "a swing as slow as that is no vibrato"


def test_pauses_for_breath_and_the_release_do_not_count() -> None:
    note = held(lambda t: np.where((t > 1) & (t < 1.2), np.nan, np.where(t > 2.95, -60.0, 2.0)))
    assert note.soon == 0 and note.off == pytest.approx(2, abs=0.3)
    assert note.near_seconds == pytest.approx(2.75, abs=0.08)


@given(st.floats(-400, 400), st.floats(0.4, 6), st.floats(60, 1500))
def test_any_level_note_is_as_far_off_as_it_is(cents: float, seconds: float, target: float) -> None:
    times = np.arange(0, seconds, PACE)
    note = grade_hold(times, np.full(times.size, target * 2 ** (cents / 1200)), target)
    assert note.off == pytest.approx(cents, abs=1e-6) and note.seconds == pytest.approx(seconds, abs=0.02)
    assert 0 <= note.steady_seconds <= note.near_seconds <= note.seconds + 0.02


def test_a_slide_from_twelve_to_thirty_one() -> None:
    times = np.arange(0, 4, PACE)
    size = -13.0  # from a major third of twelve to that of thirty-one
    cents = np.interp(times, [1.0, 1.8], [1.0, size + 2])
    slid = grade_slide(times, TARGET * 2 ** (cents / 1200), TARGET, TARGET * 2 ** (size / 1200))
    assert slid.near == pytest.approx(13 / 3)
    assert slid.from_off == pytest.approx(1, abs=0.3) and slid.to_off == pytest.approx(2, abs=0.3)
    assert 1 < slid.began < slid.arrived < 1.8 and slid.beyond == 0
    past = np.interp(times, [1.0, 1.5, 2.0], [0.0, size - 9, size])
    beyond = grade_slide(times, TARGET * 2 ** (past / 1200), TARGET, TARGET * 2 ** (size / 1200))
    assert beyond.beyond == pytest.approx(9, abs=1) and beyond.arrived > 1.5
    never = grade_slide(times, np.full(times.size, TARGET), TARGET, TARGET * 2 ** (size / 1200))
    assert math.isnan(never.arrived) and math.isnan(never.seconds) and never.to_off == pytest.approx(13)


@pytest.mark.parametrize(
    ("seconds", "hertz", "target", "said"),
    [
        ([0, 1], [220], 220, "do not match"),
        ([0, 0.5, 0.4], [220, 220, 220], 220, "rise"),
        ([0, 0.1, np.nan], [220, 220, 220], 220, "rise"),
        ([0, 0.1, 0.2], [220, 220, 220], 220, "0.3 s of pitch; this one has"),
        ([], [], 220, "has 0.00 s"),
        (np.arange(100) / 100, np.full(100, np.nan), 220, "has 0.00 s"),
        (np.arange(100) / 100, np.full(100, -1.0), 220, "above 0 Hz"),
        (np.arange(100) / 100, np.full(100, 220.0), 0, "a target must be above 0 Hz"),
    ],
)
def test_bad_input_is_named(seconds: list[float], hertz: list[float], target: float, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        grade_hold(seconds, hertz, target)


def test_a_bad_bound_and_a_slide_to_nowhere_are_named() -> None:
    times = np.arange(100) / 100
    with pytest.raises(ValueError, match="near within some cents above 0"):
        grade_hold(times, np.full(100, 220.0), 220, near=0)
    with pytest.raises(ValueError, match="another pitch than its start, 220 Hz"):
        grade_slide(times, np.full(100, 220.0), 220, 220)
