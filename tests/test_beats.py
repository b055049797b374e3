"""Beats between tones and between their harmonics."""

from __future__ import annotations

import numpy as np
import pytest

from tunelib.hearing.beats import beat_rate
from tunelib.pitch.intervals import ratio_from_cents
from tunelib.pitch.notes import Note
from tunelib.sound.timbre import TIMBRES

C4 = Note.parse("C4").hz()


@pytest.mark.parametrize(
    ("ratio", "cents", "beats"),
    [
        ("3/2", 700.0, 0.8858),
        ("3/2", 1200 / 31 * 18, 2.3453),
        ("3/2", 300 * np.log2(5), 2.4338),
        ("5/4", 400.0, 10.3824),
        ("5/4", 1200 / 31 * 10, 0.5918),
        ("6/5", 300.0, 14.1185),
        ("6/5", 1200 / 31 * 8, 5.3983),
    ],
)
def test_tempered_intervals_on_middle_c_beat_as_piano_tuners_count(ratio: str, cents: float, beats: float) -> None:
    """Common practice in tuning by beats: the equal fifth on C4 beats 0.89 and the third 10.38 times a second."""
    assert beat_rate(C4, C4 * ratio_from_cents(cents), ratio) == pytest.approx(beats, abs=5e-5)


def test_beats_are_heard_in_the_sound_itself() -> None:
    """The loudness of two sines 3 Hz apart, measured from the samples, swells three times a second."""
    seconds = np.arange(4 * 8000) / 8000
    both = TIMBRES["sine"].wave(seconds, 440.0) + TIMBRES["sine"].wave(seconds, 443.0)
    power = np.abs(np.fft.rfft(both**2))
    power[:4] = 0
    slow = power[: 4 * 50]  # up to 50 Hz, in steps of 1/4 Hz
    assert np.argmax(slow) / 4 == pytest.approx(beat_rate(440, 443))


def test_it_broadcasts_and_refuses_nonsense() -> None:
    """Arrays of tones give arrays of beats; a tone of 0 Hz is none."""
    assert beat_rate(np.array([100.0, 200.0]), np.array([[101.0], [202.0]])).shape == (2, 2)
    for lower, upper, ratio in ((0, 440, 1), (440, -1, 1), (440, 441, "0/1"), (440, 441, "loud")):
        with pytest.raises(ValueError, match="0|ratio"):
            beat_rate(lower, upper, ratio)
