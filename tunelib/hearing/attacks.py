"""Where a note may begin, by the level of a sound and by how well it repeats itself.

A struck, tongued or bowed beginning shows in two ways: the level rises within some hundredths of a second and stays up,
or the sound stops repeating itself for a moment, since what rings on and what begins are not in step. A click does
neither for long. Only differences of level within a tenth of a second count, since recorders ride the level.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.hearing.recording import Recording
from tunelib.pitch import FloatArray

MOST = 18.0  # nats that an attack is worth at most

_REACH, _APART = 0.06, 0.1  # seconds that are compared on either side, and between attacks
_LEAST_RISE, _RISE_WORTH = 4.0, 1.5  # decibels, and nats for each further one
_CLEAR, _LOST_WORTH = 0.92, 60.0  # of the clarity about it, and nats for what lacks of all of it
_CLICK = 1.5  # decibels by which a click is louder than what is about it
_LEAST_WORTH = 3.0
_QUIETEST = 1e-9


class Attacks(NamedTuple):
    """Evidence of attacks in a take: two arrays with a value for each frame of its track.

    Parameters
    ----------
    worth : array
        Nats by which a note is more likely to begin there than at another frame; 0 for most.
    level_db : array
        Level within 10 ms either way, in decibels of full scale.
    """

    worth: FloatArray
    level_db: FloatArray


def attacks_of(recording: Recording, track: PitchTrack) -> Attacks:
    """Evidence of attacks in a recording whose pitch is known; one pass, in blocks."""
    hop = float(track.times[1] - track.times[0]) if track.times.size > 1 else 0.01
    level = _levels(recording, track.times, hop)
    return Attacks(_worth(level, track.confidence, hop), level)


def attacks_by_clarity(clarity: FloatArray, hop: float) -> Attacks:
    """Evidence of attacks from how well a sound repeats itself alone, as if its level stayed the same."""
    return Attacks(_worth(np.zeros(clarity.size), clarity, hop), np.full(clarity.size, np.nan))


def _levels(recording: Recording, times: FloatArray, hop: float) -> FloatArray:
    part = max(1, round(0.5 * hop * recording.sample_rate))
    rest, powers = np.zeros(0), []
    for block in recording.blocks():
        rest = np.concatenate((rest, block))
        whole = rest[: rest.size // part * part].reshape(-1, part)
        powers.append(np.einsum("ij,ij->i", whole, whole) / part)
        rest = rest[whole.size :]
    parts = np.concatenate(([0.0, 0.0], *powers, [0.0, 0.0]))
    around = sliding_window_view(parts, 4).mean(axis=1)  # two either way
    middles = np.minimum(np.rint(times * recording.sample_rate / part).astype(int), around.size - 1)
    return np.asarray(10 * np.log10(around[middles] + _QUIETEST))


def _worth(level: FloatArray, clarity: FloatArray, hop: float) -> FloatArray:
    reach, apart = max(1, round(_REACH / hop)), max(1, round(_APART / hop / 2))
    steep = np.maximum(0, np.gradient(level)) if level.size > 1 else np.zeros(level.size)
    around = sliding_window_view(np.pad(level, reach, mode="edge"), reach + 1)
    before, after = around[: level.size], np.median(around[reach:], axis=1)
    rise = np.clip(after - before.min(axis=1) - _LEAST_RISE, 0, None) * (steep > 0)
    near = sliding_window_view(np.pad(clarity, reach, mode="edge"), reach + 1).max(axis=1)
    lost = np.clip(_CLEAR * np.minimum(near[: clarity.size], near[reach:]) - clarity, 0, None)
    loudest = sliding_window_view(np.pad(level, 4, mode="edge"), 9).max(axis=1)
    lost *= loudest < np.maximum(np.median(before, axis=1), after) + _CLICK
    worth = np.minimum(_RISE_WORTH * rise + _LOST_WORTH * lost, MOST)
    ranked = worth + 0.01 * steep + 1e-6 * np.arange(worth.size)  # so that no two are equal
    top = ranked == sliding_window_view(np.pad(ranked, apart), 2 * apart + 1).max(axis=1)
    return np.where(top & (worth > _LEAST_WORTH), worth, 0.0)
