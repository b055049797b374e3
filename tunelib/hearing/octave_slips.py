"""Notes that were heard an octave too low, and put right.

A sound of period T repeats itself after 2 T as well, and better where something weak happens only every other time. A
note is heard an octave higher than its track says where its odd harmonics have next to no power beside the even ones.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from tunelib.hearing.heard_notes import HeardNote
from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.recording import Recording

_WINDOW_SECONDS = 0.09
_HARMONICS = 16
_HIGHEST_HZ = 10_000.0
_NEXT_TO_NONE = 10 ** (-25 / 10)  # of the power of the even harmonics
_NEAR = 2 ** (1 / 12)


def raised(track: PitchTrack, notes: Sequence[HeardNote], recording: Recording) -> PitchTrack:
    """The track, an octave higher where a note's odd harmonics are missing; the same track if there is no such note."""
    rate = recording.sample_rate
    length = round(_WINDOW_SECONDS * rate)
    middles = [(note.onset + note.offset) / 2 for note in notes]
    starts = [max(0, round(middle * rate) - length // 2) for middle in middles]
    window = np.hanning(length)
    hertz = track.hertz.copy()
    for note, stretch in zip(notes, recording.windows(starts, length), strict=True):
        if _odd_are_missing(np.abs(np.fft.rfft(window * stretch)) ** 2, note.hertz * length / rate, rate / length):
            inside = (track.times > note.onset) & (track.times < note.offset)
            with np.errstate(invalid="ignore"):
                inside &= (hertz > note.hertz / _NEAR) & (hertz < note.hertz * _NEAR)
            hertz[inside] *= 2
    return track if np.array_equal(hertz, track.hertz, equal_nan=True) else track._replace(hertz=hertz)


def _odd_are_missing(powers: npt.NDArray[np.float64], bins: float, bin_hertz: float) -> bool:
    """Whether of the harmonics of a pitch, so many bins apart, only the even ones have power."""
    count = min(_HARMONICS, int(min(_HIGHEST_HZ / bin_hertz, powers.size - 4) / bins))
    if bins < 8 or count < 2:  # too near to each other to be told apart, or too few
        return False
    at = np.rint(bins * np.arange(1, count + 1)).astype(int)
    heights = powers[at[:, np.newaxis] + np.arange(-2, 3)].max(axis=1)
    return bool(heights[::2].sum() < _NEXT_TO_NONE * heights[1::2].sum())
