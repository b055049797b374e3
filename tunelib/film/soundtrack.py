"""The sound of a clip: its exhibits' own, in time with their knobs, at the loudness asked for."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tunelib.film.acts import Programme
from tunelib.pitch import FloatArray
from tunelib.sound import MOMENTS_A_SECOND, SAMPLE_RATE, Moment, at_loudness, follow, limit, loudness, true_peak

SOUNDS = ("at keyframes", "following", "off")
USUAL_LOUDNESS = -23.0  # LKFS: EBU R 128 (2023), the level of programmes
SOFTEST, LOUDEST = -40.0, -14.0
HIGHEST_PEAK = -1.0  # dBTP: EBU R 128

_FADE_SECONDS = 0.03
_CEILING = HIGHEST_PEAK - 0.5  # dBFS, sample by sample: half a decibel for what comes between the samples
_NEAR = 0.05  # LU
_ROUNDS = 8


def check_loudness(target: float) -> float:
    """A loudness that a clip can be set to, in LKFS; ValueError for another."""
    if not SOFTEST <= target <= LOUDEST:
        raise ValueError(f"the loudness must be from {SOFTEST:g} to {LOUDEST:g} LKFS, not {target:g}")
    return float(target)


@dataclass(frozen=True)
class Soundtrack:
    """Samples at 48 kHz, their integrated loudness in LKFS and their true peak in dBTP (ITU-R BS.1770-4)."""

    samples: FloatArray
    loudness: float
    true_peak: float


def soundtrack(programme: Programme, sound: str, samples: int, target: float | None) -> Soundtrack | None:
    """The sound of a programme, `samples` long; None where there is none to be heard.

    ``"at keyframes"`` starts an exhibit's sound again at each of its keyframes; one that is cut off by the next, or by
    its exhibit's leaving, or the end, fades out before it. ``"following"`` holds the chord of the exhibit that is
    spoken of throughout, and the pitches move with the knobs. `target` is the integrated loudness; None leaves the
    level of `render`.
    """
    if sound == "off":
        return None
    made = _following(programme, samples) if sound == "following" else _at_keyframes(programme, samples)
    measured = loudness(made)
    if measured == -math.inf:
        return None
    if target is not None:
        made, measured = _set_to(made, target)
    return Soundtrack(made, measured, true_peak(made))


def _at_keyframes(programme: Programme, samples: int) -> FloatArray:
    out = np.zeros(samples)
    for number, cue in enumerate(programme.cues):
        last = number == len(programme.cues) - 1 and cue.until >= programme.seconds
        start, end = round(cue.at * SAMPLE_RATE), samples if last else round(cue.until * SAMPLE_RATE)
        heard = cue.exhibit.sound(**cue.values)
        if heard.size > end - start:
            heard = _cut(heard, end - start)
        out[start : start + heard.size] = heard
    return out


def _following(programme: Programme, samples: int) -> FloatArray:
    moments: list[Moment] = []
    before: object = None
    for number in range(math.ceil(samples * MOMENTS_A_SECOND / SAMPLE_RATE) + 1):
        exhibit, values = programme.heard(number / MOMENTS_A_SECOND)
        if values is not before:
            moment = (exhibit.score(**values), exhibit.timbre(**values), exhibit.gain(**values))
            before = values
        moments.append(moment)
    heard = follow(moments)
    return _cut(heard, samples) if heard.size > samples else heard


def _cut(samples: FloatArray, length: int) -> FloatArray:
    """The beginning of a sound, faded out at its end."""
    beginning = samples[:length].copy()
    fade = min(length, round(_FADE_SECONDS * SAMPLE_RATE))
    beginning[length - fade :] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, fade + 1) / fade)
    return beginning


def _set_to(samples: FloatArray, target: float) -> tuple[FloatArray, float]:
    """Turned to a loudness, with peaks turned down where they would pass; what that takes away is given back.

    Where a sound is all peaks, a few rounds may leave it a little softer than asked for; its final loudness is returned
    with it.
    """
    wanted = target
    for _ in range(_ROUNDS):
        made = limit(at_loudness(samples, wanted), 10 ** (_CEILING / 20))
        reached = loudness(made)
        if abs(reached - target) <= _NEAR:
            break
        wanted += target - reached
    return made, reached
