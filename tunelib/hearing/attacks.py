"""What speaks for a note being struck, moment by moment: the level rises and stays up, or the period is lost for a
moment. Weights were set by hand, on sampled instruments.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.recording import Recording
from tunelib.pitch import FloatArray

_WINDOW, _REACH, _APART = 0.02, 0.06, 0.05  # seconds
_RISE, _A_DECIBEL, _MOST_RISE = 4.0, 1.5, 12.0
_LOST, _A_LOSS, _MOST_LOST, _LOUDER = 0.92, 60.0, 0.3, 1.5
_LEAST, _MOST = 3.0, 18.0


class Attacks(NamedTuple):
    """Attacks by the frames of a pitch track.

    Parameters
    ----------
    worth : array
        How much speaks for a note being struck at each frame, in nats; 0 at most of them.
    level_db : array
        Root mean square about each frame, in decibels below full scale.
    """

    worth: FloatArray
    level_db: FloatArray


def attacks_of(recording: Recording, track: PitchTrack) -> Attacks:
    """The attacks of a recording, in one pass through it."""
    if track.times.size < 2:
        return Attacks(np.zeros(track.times.size), np.full(track.times.size, -90.0))
    hop = float(np.median(np.diff(track.times)))
    length = max(1, round(_WINDOW * recording.sample_rate))
    starts = np.rint(track.times * recording.sample_rate).astype(int) - length // 2
    power = np.array([window @ window for window in recording.windows(starts.tolist(), length)]) / length
    level = 10 * np.log10(power + 1e-9)
    reach, apart = max(1, round(_REACH / hop)), max(1, round(_APART / hop))
    steep = np.maximum(0.0, np.gradient(level))
    around = sliding_window_view(np.pad(level, reach, mode="edge"), reach + 1)
    before, after = around[: level.size], np.median(around[reach:], axis=1)
    rise = np.clip(after - before.min(axis=1) - _RISE, 0, _MOST_RISE) * (steep > 0)
    sure = sliding_window_view(np.pad(track.confidence, reach, mode="edge"), reach + 1).max(axis=1)
    lost = np.clip(_LOST * np.minimum(sure[: level.size], sure[reach:]) - track.confidence, 0, _MOST_LOST)
    near = round(0.04 / hop)
    loudest = sliding_window_view(np.pad(level, near, mode="edge"), 2 * near + 1).max(axis=1)
    lost *= loudest < np.maximum(np.median(before, axis=1), after) + _LOUDER  # a click is louder than what is about it
    worth = np.minimum(_A_DECIBEL * rise + _A_LOSS * lost, _MOST)
    ranked = worth + 0.01 * steep + 1e-6 * np.arange(worth.size)
    peaks = ranked == sliding_window_view(np.pad(ranked, apart), 2 * apart + 1).max(axis=1)
    return Attacks(np.where(peaks & (worth > _LEAST), worth, 0.0), level)
