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
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from tunelib.pitch import FloatArray
from tunelib.score import Score, ScoreNote
from tunelib.sound.loudness import BLOCK_SECONDS, HOP_SECONDS, gated_loudness, k_weight
from tunelib.sound.render import HEADROOM, USUAL_PEAK_DBFS, timbre_of
from tunelib.sound.timbre import Timbre

REFERENCE_LOUDNESS = -30.0
"""LKFS: as loud as the densest chords of the course can be before their peaks, 16 dB above it, reach the ceiling."""

_SLICE = 0.02  # seconds: what is reckoned at once
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
    sounding = (note for note in score.notes if note.level > 0)
    placed = [_Placed(score, note, timbre_of(note, timbre)) for note in sounding]
    power = np.zeros(max((one.last for one in placed), default=0))
    for one in placed:
        power[one.first : one.last] += one.power()
    for one, other in _overlapping(placed):
        first, last = max(one.first, other.first), min(one.last, other.last)
        power[first:last] += _beating(one, other, first, last)
    return gated_loudness(_blocks(np.maximum(power, 0.0)))


@dataclass(frozen=True, eq=False)
class _Tone:
    """The partials of a tone: hertz, amplitudes as the ear weighs them, phases, and decay in nepers a second.

    One is kept for each tone, so that two are equal only if they are one.
    """

    hertz: FloatArray
    amplitudes: FloatArray
    phases: FloatArray
    damping: FloatArray


@lru_cache(maxsize=512)
def _tone(timbre: Timbre, hertz: float) -> _Tone:
    frequencies, amplitudes, decay_seconds = timbre.partials(hertz)
    full_level = 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM
    weighed = full_level * amplitudes * k_weight(frequencies)
    return _Tone(frequencies, weighed, timbre.phases(hertz), math.log(1000) / decay_seconds)


@lru_cache(maxsize=4096)
def _near(one: _Tone, other: _Tone) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Which partials of two tones are near each other: the places of each pair in either."""
    these, those = np.nonzero(np.abs(one.hertz[:, np.newaxis] - other.hertz) < _SLOW)
    return these, those


class _Placed:
    """A note in its place, `first` to before `last`, counted in slices of time.

    `hertz`, `sizes` and `phases` are those of its partials, the phases at time 0 as if it had begun by then.
    """

    def __init__(self, score: Score, note: ScoreNote, timbre: Timbre) -> None:
        self._note_hertz, self._timbre, self.tone = note.hertz, timbre, _tone(timbre, note.hertz)
        self._onset = score.seconds(note.onset)
        # A ramp has as much power as a shorter stretch at full level.
        begin = self._onset + (1 - _RAMP_POWER) * timbre.attack
        end = score.seconds(note.end) + _RAMP_POWER * timbre.release
        self.first, self.last = math.floor(begin / _SLICE), math.ceil(end / _SLICE)
        edges = np.clip(np.arange(self.first, self.last + 1) * _SLICE, begin, end)
        self._share = np.diff(edges) / _SLICE
        self.hertz, self.sizes = self.tone.hertz, note.level * self.tone.amplitudes
        self.phases = self.tone.phases - 2 * np.pi * self.hertz * self._onset

    @property
    def steady(self) -> bool:
        """Whether its partials stay as large as they begin."""
        return self._timbre.ring == math.inf and not self._timbre.moves

    def changes(self, first: int, last: int, which: npt.NDArray[np.intp] | slice = slice(None)) -> FloatArray:
        """How large partials are in the middle of some slices, as shares of their sizes; shape (slices, partials)."""
        seconds = _middles(first, last) - self._onset
        shares = np.exp(-self.tone.damping[which] * seconds[:, np.newaxis])
        if self._timbre.moves:
            shares = shares * self._timbre.movement(self._note_hertz, seconds)[:, which]
        return np.asarray(shares)

    def power(self) -> FloatArray:
        """Power in each of its slices, as if no partial met another."""
        if self.steady:
            return np.asarray(self._share * (np.sum(self.sizes**2) / 2))
        return np.asarray(self._share * (self.changes(self.first, self.last) ** 2 @ self.sizes**2 / 2))


def _overlapping(placed: list[_Placed]) -> Iterator[tuple[_Placed, _Placed]]:
    """Each two notes that sound at one time, the earlier first; `placed` is in order of onset."""
    sounding: list[_Placed] = []
    for other in placed:
        sounding = [one for one in sounding if one.last > other.first]
        yield from ((one, other) for one in sounding)
        sounding.append(other)


def _beating(one: _Placed, other: _Placed, first: int, last: int) -> FloatArray:
    """Power that partials near each other add to that of two notes, in some slices; below 0 where they cancel."""
    these, those = _near(one.tone, other.tone)
    if not these.size:
        return np.zeros(last - first)
    apart, start = one.hertz[these] - other.hertz[those], one.phases[these] - other.phases[those]
    waves = np.cos(2 * np.pi * apart * _middles(first, last)[:, np.newaxis] + start)
    if not (one.steady and other.steady):
        waves = waves * one.changes(first, last, these) * other.changes(first, last, those)
    return np.asarray(waves @ (one.sizes[these] * other.sizes[those]))


def _middles(first: int, last: int) -> FloatArray:
    """The middles of some slices, in seconds."""
    return np.asarray((np.arange(first, last) + 0.5) * _SLICE)


def _blocks(power: FloatArray) -> FloatArray:
    """Mean power of the overlapping blocks of which loudness is made."""
    block, hop = round(BLOCK_SECONDS / _SLICE), round(HOP_SECONDS / _SLICE)
    total = np.concatenate(([0.0], np.cumsum(power)))
    starts = np.arange(0, max(1, power.size - min(block, power.size) + 1), hop)
    ends = np.minimum(starts + block, power.size)
    return np.asarray((total[ends] - total[starts]) / max(1, min(block, power.size)))
