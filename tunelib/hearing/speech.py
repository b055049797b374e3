"""What is spoken in a take, before or after the music: told from notes by how its pitch moves.

A spoken syllable glides: it holds its pitch within a few cents for no more than an instant, and does not swing about a
middle as a vibrato does. And consonants are loud without a pitch. A take is cut into phrases at its pauses; a phrase is
speech where hardly any of its pitch holds still or swings evenly and a good part of what is loud has no pitch, while
the rest of the take is different. The bounds lie between what was measured on a speech synthesizer's voices (up to a
quarter holds still) and on notes of sampled instruments (a third at eight notes a second; two thirds and more with a
vibrato of 160 cents), and were set by hand.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tunelib.hearing.pitch_track import PitchTrack
from tunelib.pitch import FloatArray

_PAUSE = 0.25  # seconds without pitch
_FLAT_SECONDS, _FLAT = 0.07, 15.0  # cents between the highest and the lowest
_SWING_SECONDS, _EVEN = 0.19, 30.0  # about one swing of a vibrato; cents from the middle of one to that of the next
_SPEECH, _MUSIC = 0.3, 0.55  # share of the frames that hold still: at most in speech, at least in the rest
_EDGE, _LOUD, _UNPITCHED = 0.25, 0.06, 0.25  # seconds about a phrase; of its loudest frame's amplitude; of what is loud
_LOWEST, _HIGHEST = 60.0, 450.0  # hertz: the middle of a speaker's pitch


class Spoken(NamedTuple):
    """A stretch of speech, in seconds."""

    begin: float
    end: float


def spoken(track: PitchTrack, levels: FloatArray) -> tuple[Spoken, ...]:
    """The stretches of a take in which somebody speaks.

    Parameters
    ----------
    track : PitchTrack
    levels : array
        Root mean square from each frame of the track to the next.
    """
    voiced = np.flatnonzero(np.isfinite(track.hertz))
    if voiced.size < 2 or levels.size != track.times.size:
        return ()
    hop = float(track.times[1] - track.times[0])
    still = _still(1200 * np.log2(track.hertz), hop)
    phrases = np.split(voiced, np.flatnonzero(np.diff(voiced) * hop > _PAUSE) + 1)
    speech = [_is_speech(phrase, still, track, levels, round(_EDGE / hop)) for phrase in phrases]
    rest = [phrase for phrase, is_speech in zip(phrases, speech, strict=True) if not is_speech]
    if not rest or np.mean(still[np.concatenate(rest)]) < _MUSIC:
        return ()
    return tuple(
        Spoken(float(track.times[phrase[0]]), float(track.times[phrase[-1]]))
        for phrase, is_speech in zip(phrases, speech, strict=True)
        if is_speech
    )


def _is_speech(
    phrase: npt.NDArray[np.intp], still: npt.NDArray[np.bool_], track: PitchTrack, levels: FloatArray, edge: int
) -> bool:
    if np.mean(still[phrase]) >= _SPEECH or not _LOWEST < np.median(track.hertz[phrase]) < _HIGHEST:
        return False
    around = slice(max(0, phrase[0] - edge), phrase[-1] + 1 + edge)
    loud = levels[around] > _LOUD * levels[phrase].max()
    return bool(np.mean(np.isnan(track.hertz[around][loud])) > _UNPITCHED)


def _still(cents: FloatArray, hop: float) -> npt.NDArray[np.bool_]:
    """In which frames the pitch holds still, or swings about a middle that does."""
    reach = max(1, round(_FLAT_SECONDS / hop / 2))
    near = sliding_window_view(np.pad(cents, reach, constant_values=np.nan), 2 * reach + 1)
    flat = near.max(axis=1) - near.min(axis=1) < _FLAT  # never so beside a frame without pitch
    reach = max(1, round(_SWING_SECONDS / hop / 2))
    swing = sliding_window_view(np.pad(cents, reach, constant_values=np.nan), 2 * reach + 1)
    middle = np.pad(swing.mean(axis=1), reach, constant_values=np.nan)
    even = np.abs(middle[2 * reach :] - middle[: -2 * reach]) < _EVEN
    return np.asarray(flat | even)
