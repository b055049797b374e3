"""Tones whose pitch moves while they sound, as they are rendered: pitch by somebody else's finder, and no clicks."""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest

from tunelib.pitch import cents, ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound import MOVEMENTS_A_SECOND, SAMPLE_RATE, TIMBRES, overtone_singer, render

NOTE = Score((ScoreNote(0, 3, 300.0),), tempo=60)
SLIDE = ratio_from_cents(np.interp(np.arange(3.2 * MOVEMENTS_A_SECOND) / MOVEMENTS_A_SECOND, [1, 2], [0, 200]))


def test_a_slide_has_the_pitch_that_was_asked_for_at_every_moment() -> None:
    """By Praat's autocorrelation (Boersma 1993): 300 Hz for a second, then evenly up by 200 cents, which stay."""
    found = parselmouth.Sound(render(NOTE, TIMBRES["reed"], bends=[SLIDE]), SAMPLE_RATE).to_pitch_ac(time_step=0.01)
    times, hertz = found.xs(), found.selected_array["frequency"]
    voiced = (hertz > 0) & (times > 0.1) & (times < 2.9)
    assert voiced.sum() > 250
    wanted = np.interp(times[voiced], [1, 2], [0, 200])
    assert np.abs(cents(hertz[voiced] / 300.0) - wanted).max() < 1.0


def test_a_note_that_is_bent_by_nothing_sounds_as_it_always_does() -> None:
    """Ratios of 1 give the samples of a plain tone; so does an empty table."""
    plain = render(NOTE, TIMBRES["reed"])
    assert np.abs(render(NOTE, TIMBRES["reed"], bends=[np.ones(4)]) - plain).max() < 1e-9
    assert np.array_equal(render(NOTE, TIMBRES["reed"], bends=[np.empty(0)]), plain)


def test_a_bend_of_one_note_leaves_the_other_alone() -> None:
    two = Score((*NOTE.notes, ScoreNote(0, 3, 200.0, voice="low")), tempo=60)
    both = render(two, TIMBRES["sine"], bends=[SLIDE, np.empty(0)])
    alone = render(NOTE, TIMBRES["sine"], bends=[SLIDE]) + render(two.only("low"), TIMBRES["sine"])
    assert np.abs(both - alone).max() < 1e-9


def test_bends_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="1 notes that sound need as many bends or none, not 2"):
        render(NOTE, TIMBRES["sine"], bends=[SLIDE, SLIDE])
    for wrong in ([1.0, np.nan], [1.0, np.inf], [0.0, 1.0], [-1.0, 1.0], [[1.0, 1.0]], ["a"]):
        with pytest.raises(ValueError, match="bend 0 is a row of ratios above 0, such as"):
            render(NOTE, TIMBRES["sine"], bends=[np.array(wrong)])
    with pytest.raises(ValueError, match="a timbre whose amplitudes stay"):
        render(NOTE, overtone_singer("heard", [(0.0, 8.0), (1.0, 9.0)], 300.0), bends=[SLIDE])
