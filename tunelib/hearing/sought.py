"""Between which bounds a take's pitch is looked for."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import track_recording
from tunelib.hearing.recording import Recording
from tunelib.pitch import FloatArray, Instrument

_USUAL = (50.0, 2000.0)  # hertz: if no instrument is named, and nothing sounds beyond
_BEYOND = 2.1  # how far past a player's range pitch is sought, as a ratio: an octave, so that one can be told
_LOWEST, _HIGHEST = 25.0, 4500.0  # hertz
_PROBE_SECONDS, _PROBES = 1.5, 40
_HOP, _STEADY_FRAMES, _STEADY_OCTAVES, _SURE = 0.04, 3, 0.05, 0.9
_OFTEN = 0.03  # of what is steady
_ROOM = 1.2  # how far past the lowest and the highest note found


def sought(recording: Recording, player: Instrument | None) -> tuple[float, float]:
    """The lowest and the highest pitch to look for, in hertz.

    With an instrument it is the instrument's range and an octave about it. Without, it is 50 to 2000 Hz; but a minute
    of the take at most is tracked from 25 to 4500 Hz beforehand, in coarse steps, and steady notes beyond widen the
    bounds: a note below them would be heard an octave too high, one above them an octave too low.
    """
    most = recording.sample_rate / 5
    if player is not None:
        low, high = player.range_hz
        return max(_LOWEST, low / _BEYOND), min(high * _BEYOND, max(_HIGHEST, high * 1.06), most)
    found = _steady_pitches(_probed(recording), min(_HIGHEST, most))
    lowest, highest = _USUAL
    if np.sum(found < lowest) > _OFTEN * found.size:
        lowest = max(_LOWEST, float(found.min()) / _ROOM)
    if np.sum(found > highest / 1.06) > _OFTEN * found.size:
        highest = min(_HIGHEST, float(found.max()) * _ROOM)
    return lowest, min(highest, most)


def _probed(recording: Recording) -> Recording:
    """Stretches from all through a long recording, one after another; a short one as it is."""
    length = round(_PROBE_SECONDS * recording.sample_rate)
    if recording.expected <= _PROBES * length:
        return recording
    starts = np.linspace(0, recording.expected - length, _PROBES).astype(int).tolist()
    fade = np.minimum(1.0, np.minimum(np.arange(length) + 1, length - np.arange(length)) / (0.01 * length))

    def blocks() -> Iterator[FloatArray]:
        for stretch in recording.windows(starts, length):
            yield stretch * fade

    return Recording(recording.sample_rate, blocks, _PROBES * length)


def _steady_pitches(recording: Recording, highest: float) -> FloatArray:
    """The pitches in hertz that hold for some frames on end."""
    track = track_recording(recording, lowest=_LOWEST, highest=highest, hop=_HOP)
    if track.times.size < _STEADY_FRAMES:
        return np.zeros(0)
    octaves = sliding_window_view(np.log2(track.hertz), _STEADY_FRAMES)
    sure = sliding_window_view(track.confidence, _STEADY_FRAMES).min(axis=1) > _SURE
    steady = sure & (octaves.max(axis=1) - octaves.min(axis=1) < _STEADY_OCTAVES)  # not where one has no pitch
    return np.asarray(2.0 ** np.median(octaves[steady], axis=1))
