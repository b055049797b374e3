"""The one loudness at which everything is heard: how loud a score will be, worked out from its partials.

Nothing is rendered for it, so it takes milliseconds. The measure is that of `tunelib.sound.loudness`, on the same
blocks and through the same gates; what a block holds comes from what its partials add up to. Partials that lie close
together, as those of a nearly pure chord do, are added as waves, since they beat slowly or not at all; the rest as
power.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray
from tunelib.score import Score, ScoreNote
from tunelib.sound.loudness import BLOCK_SECONDS, HOP_SECONDS, gated_loudness, k_weight
from tunelib.sound.render import HEADROOM, USUAL_PEAK_DBFS, timbre_of
from tunelib.sound.timbre import Timbre

REFERENCE_LOUDNESS = -30.0
"""LKFS: as loud as the densest chords of the course can be before their peaks, 16 dB above it, reach the ceiling."""

_SLICE = 0.01  # seconds: what is reckoned at once
_SLOW = 10.0  # hertz: partials as near as that can be heard to beat within a block
_RAMP_POWER = 3 / 8  # mean power of a raised cosine


def reference_gain(score: Score, timbre: Timbre | Mapping[str, Timbre]) -> float:
    """The gain with which `render` gives a score the loudness of every other sound, `REFERENCE_LOUDNESS`.

    Raises ValueError for a score in which nothing can be heard, or a voice without a timbre.
    """
    expected = expected_loudness(score, timbre)
    if expected == -math.inf:
        raise ValueError("nothing in the score can be heard, so that it cannot be given a loudness")
    return float(10 ** ((REFERENCE_LOUDNESS - expected) / 20))


def expected_loudness(score: Score, timbre: Timbre | Mapping[str, Timbre]) -> float:
    """Loudness in LKFS that ``render(score, timbre)`` will have, as long as the limiter has nothing to do.

    To a tenth of a LU, unless all that sounds dies away within a few hundredths of a second, as a tick does. Takes
    scores and timbres as `render` does; minus infinity if nothing can be heard.
    """
    tones: dict[tuple[int, float], _Tone] = {}
    placed = []
    for note in score.notes:
        if note.level > 0:
            of = timbre_of(note, timbre)
            tone = tones.setdefault((id(of), note.hertz), _Tone.of(of, note.hertz))
            placed.append(_Placed(score, note, of, tone))
    power = np.zeros(max((one.last for one in placed), default=0))
    for one in placed:
        power[one.first : one.last] += one.power()
    for one, other in _overlapping(placed):
        first, last = max(one.first, other.first), min(one.last, other.last)
        power[first:last] += _beating(one, other, first, last)
    return gated_loudness(_blocks(np.maximum(power, 0.0)))


@dataclass(frozen=True)
class _Tone:
    """The partials of a tone: hertz, amplitudes as the ear weighs them, phases, and decay in nepers a second."""

    hertz: FloatArray
    amplitudes: FloatArray
    phases: FloatArray
    damping: FloatArray

    @classmethod
    def of(cls, timbre: Timbre, hertz: float) -> _Tone:
        frequencies, amplitudes, decay_seconds = timbre.partials(hertz)
        full_level = 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM
        weighed = full_level * amplitudes * k_weight(frequencies)
        return cls(frequencies, weighed, timbre.phases(hertz), math.log(1000) / decay_seconds)


class _Placed:
    """A note's tone in its place, `first` to before `last`, counted in slices of time."""

    def __init__(self, score: Score, note: ScoreNote, timbre: Timbre, tone: _Tone) -> None:
        self._timbre, self.tone, self._level = timbre, tone, note.level
        self._hertz = note.hertz
        self.onset = score.seconds(note.onset)
        # A ramp has as much power as a shorter stretch at full level.
        begin = self.onset + (1 - _RAMP_POWER) * timbre.attack
        end = score.seconds(note.end) + _RAMP_POWER * timbre.release
        self.first, self.last = math.floor(begin / _SLICE), math.ceil(end / _SLICE)
        edges = np.clip(np.arange(self.first, self.last + 1) * _SLICE, begin, end)
        self._share = np.diff(edges) / _SLICE

    def amplitudes(self, first: int, last: int, which: npt.NDArray[np.intp] | slice = slice(None)) -> FloatArray:
        """Amplitudes of partials in the middle of some slices of time; shape (slices, partials)."""
        seconds = self._since(first, last)
        faded = np.exp(-self.tone.damping[which] * seconds[:, np.newaxis])
        sizes = self._level * self.tone.amplitudes[which] * faded
        if self._timbre.moves:
            sizes = sizes * self._timbre.movement(self._hertz, seconds)[:, which]
        return np.asarray(sizes)

    def power(self) -> FloatArray:
        """Power in each of its slices, as if no partial met another."""
        if np.any(self.tone.damping > 0) or self._timbre.moves:
            return np.asarray(self._share * np.sum(self.amplitudes(self.first, self.last) ** 2, axis=1) / 2)
        return np.asarray(self._share * (self._level**2 * np.sum(self.tone.amplitudes**2) / 2))

    def phases(self, first: int, last: int, which: npt.NDArray[np.intp]) -> FloatArray:
        """Phases in radians in the middle of some slices; shape (slices, partials)."""
        turned = 2 * np.pi * self.tone.hertz[which] * self._since(first, last)[:, np.newaxis]
        return np.asarray(turned + self.tone.phases[which])

    def _since(self, first: int, last: int) -> FloatArray:
        return np.asarray((np.arange(first, last) + 0.5) * _SLICE - self.onset)


def _overlapping(placed: list[_Placed]) -> Iterator[tuple[_Placed, _Placed]]:
    """Each two notes that sound at one time, the earlier first; `placed` is in order of onset."""
    sounding: list[_Placed] = []
    for other in placed:
        sounding = [one for one in sounding if one.last > other.first]
        yield from ((one, other) for one in sounding)
        sounding.append(other)


def _beating(one: _Placed, other: _Placed, first: int, last: int) -> FloatArray:
    """Power that partials near each other add to that of two notes, in some slices; below 0 where they cancel."""
    near = np.abs(one.tone.hertz[:, np.newaxis] - other.tone.hertz) < _SLOW
    if not near.any():
        return np.zeros(last - first)
    these, those = np.nonzero(near)
    apart = one.phases(first, last, these) - other.phases(first, last, those)
    sizes = one.amplitudes(first, last, these) * other.amplitudes(first, last, those)
    return np.asarray(np.sum(sizes * np.cos(apart), axis=1))


def _blocks(power: FloatArray) -> FloatArray:
    """Mean power of the overlapping blocks of which loudness is made."""
    block, hop = round(BLOCK_SECONDS / _SLICE), round(HOP_SECONDS / _SLICE)
    total = np.concatenate(([0.0], np.cumsum(power)))
    starts = np.arange(0, max(1, power.size - min(block, power.size) + 1), hop)
    ends = np.minimum(starts + block, power.size)
    return np.asarray((total[ends] - total[starts]) / max(1, min(block, power.size)))
