"""The page's pitch finder beside Python's tracker, on sampled instruments and voices, and on sounds that are known."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest
import scipy.signal
from pitch_page import Found, pitch_page
from sampled import RATE, sampled

from tunelib.hearing import track_pitch

# General MIDI programs (MIDI Manufacturers Association 1991), and keys within what the instruments play.
SAMPLED = {
    "grand piano": (0, 36, 84),
    "nylon guitar": (24, 40, 76),
    "violin": (40, 55, 93),
    "cello": (42, 36, 72),
    "choir": (52, 43, 79),
    "voice": (53, 43, 79),
    "trumpet": (56, 54, 82),
    "tuba": (58, 34, 55),
    "bassoon": (70, 34, 70),
    "clarinet": (71, 50, 89),
    "flute": (73, 60, 94),
}
EVERY = 5  # semitones from note to note
STILL, STILL_CENTS = (
    8,
    10.0,
)  # frames of Python's tracker on either side that a steady one has, and how far they may move
NEAR = 2.0  # cents

Find = Callable[..., Found]


@pytest.fixture(scope="module")
def find(chromium: Any) -> Iterator[Find]:
    with pitch_page(chromium) as find:
        yield find


def tone(hertz: float | np.ndarray, seconds: float = 1.0, rate: int = RATE) -> np.ndarray:
    turns = np.cumsum(np.broadcast_to(hertz, round(seconds * rate))) / rate
    return np.asarray(0.05 * sum(np.sin(2 * np.pi * n * turns + n * n) / n for n in range(1, 9)))


def beside_python(found: Found, sound: np.ndarray, lowest: float = 50) -> np.ndarray:
    """Cents from Python's pitch to the page's in all steady frames; NaN where the page has none."""
    track = track_pitch(sound, RATE, lowest=lowest)
    cents = 1200 * np.log2(track.hertz)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(cents, STILL, constant_values=np.nan), 2 * STILL + 1)
    steady = np.ptp(around, axis=1) < STILL_CENTS
    kept = np.interp(found.seconds, track.times, steady.astype(float)) == 1
    return np.asarray(1200 * np.log2(found.hertz[kept]) - np.interp(found.seconds[kept], track.times, cents))


def in_a_room(sound: np.ndarray) -> np.ndarray:
    """With a reverberation of one second, six decibels below what comes straight."""
    size = RATE
    rest = np.random.default_rng(1).standard_normal(size) * np.exp(-3 * np.log(10) * np.arange(size) / size)
    rest *= 0.5 / np.sqrt(np.sum(rest**2))
    return np.asarray(sound + scipy.signal.fftconvolve(sound, rest)[: sound.size])


def in_noise(sound: np.ndarray) -> np.ndarray:
    """20 decibels above white noise."""
    return np.asarray(sound + sound.std() / 10 * np.random.default_rng(2).standard_normal(sound.size))


@pytest.mark.parametrize("heard", [np.asarray, in_a_room, in_noise], ids=["dry", "in a room", "in noise"])
def test_in_95_of_100_steady_frames_the_page_is_within_two_cents_of_python(find: Find, heard: Any) -> None:
    off = []
    for program, low, high in SAMPLED.values():
        sound = heard(sampled(program, tuple(range(low, high + 1, EVERY)), 0.6, 0.1))
        off.append(beside_python(find(sound), sound))
    every = np.concatenate(off)
    assert every.size > 1000
    assert np.mean(np.abs(every) < NEAR) > 0.95
    assert np.nanmedian(np.abs(every)) < 0.15


@pytest.mark.parametrize("hertz", [40.5, 55, 82.41, 220, 440, 1318.5, 1975.5])
def test_an_exact_tone_is_found_within_a_tenth_of_a_cent(find: Find, hertz: float) -> None:
    found = find(tone(hertz), lowest=40)
    inside = found.seconds > 0.15
    assert np.abs(1200 * np.log2(found.hertz[inside] / hertz)).max() < 0.1
    assert found.clarity[inside].min() > 0.999


@pytest.mark.parametrize("rate", [44100, 32000, 96000])
def test_at_any_usual_sample_rate(find: Find, rate: int) -> None:
    found = find(tone(233.08, rate=rate), rate=rate)
    assert np.abs(1200 * np.log2(found.hertz[found.seconds > 0.15] / 233.08)).max() < 0.1


def test_up_to_the_top_of_a_piccolo(find: Find) -> None:
    found = find(tone(4180.0), lowest=60, highest=4400)
    assert np.abs(1200 * np.log2(found.hertz[found.seconds > 0.15] / 4180.0)).max() < 0.2


def test_a_glide_is_found_where_it_was_in_the_middle_of_the_stretch(find: Find) -> None:
    """`seconds` says of which moment a pitch is, so at a pace of an octave in two seconds it is off by nothing."""
    pitch = 150 * 2 ** (np.arange(2 * RATE) / RATE / 2)
    found = find(tone(pitch, 2.0), lowest=60)
    inside = (found.seconds > 0.2) & (found.seconds < 1.9)
    true = 150 * 2 ** (found.seconds[inside] / 2)
    assert np.abs(1200 * np.log2(found.hertz[inside] / true)).max() < 2


def test_what_has_no_pitch_has_none(find: Find) -> None:
    noise = 0.1 * np.random.default_rng(3).standard_normal(RATE)
    assert np.isfinite(find(noise).hertz).mean() < 0.05
    assert not np.isfinite(find(np.zeros(RATE)).hertz).any()
    assert not np.isfinite(find(2e-5 * tone(220)).hertz).any(), "what is below -80 dB of full scale is silence"
    humming = 0.2 * np.sin(2 * np.pi * 8 * np.arange(RATE) / RATE) + 0.001 * noise
    assert np.isfinite(find(humming).hertz).mean() < 0.05


def test_a_step_of_thirty_one_shows_as_soon_as_half_the_stretch_is_behind_it(find: Find) -> None:
    step = np.where(np.arange(RATE) < RATE // 2, 220.0, 220 * 2 ** (1 / 31))
    found = find(tone(step))
    cents = 1200 * np.log2(found.hertz / 220)
    before, after = (found.seconds > 0.15) & (found.seconds < 0.47), (found.seconds > 0.53) & (found.seconds < 0.9)
    assert np.abs(cents[before]).max() < 0.1 and np.abs(cents[after] - 1200 / 31).max() < 0.1
