"""The one loudness at which everything is heard: how loud a score will be, worked out from its partials.

Nothing is rendered for it, so it takes milliseconds. The measure is that of `tunelib.sound.loudness`, on the same
blocks and through the same gates; what a block holds comes from what its partials add up to. Partials that lie close
together, as those of a nearly pure chord do, are added as waves, since they beat slowly or not at all; the rest as
power.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

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
_TOO_LITTLE = 1e-5  # of the power of two tones: what two partials add that changes no loudness by 0.001 LU
_RAMP_POWER = 3 / 8  # mean power of a raised cosine
_WAVES_AT_ONCE = 1 << 17


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
    for meetings in _some(_meetings(placed)):
        power += _beating(meetings, power.size)
    return gated_loudness(_blocks(np.maximum(power, 0.0)))


@dataclass(frozen=True, eq=False)
class _Tone:
    """The partials of a tone: hertz, amplitudes as the ear weighs them, phases, decay in nepers a second; and its size.

    One is kept for each tone, so that two are equal only if they are one.
    """

    hertz: FloatArray
    amplitudes: FloatArray
    phases: FloatArray
    damping: FloatArray
    size: float


@lru_cache(maxsize=512)
def _tone(timbre: Timbre, hertz: float) -> _Tone:
    frequencies, amplitudes, decay_seconds = timbre.partials(hertz)
    full_level = 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM
    weighed = full_level * amplitudes * k_weight(frequencies)
    size = 0.0 if timbre.moves else float(np.linalg.norm(weighed))  # 0: a partial may grow, and none is too little
    return _Tone(frequencies, weighed, timbre.phases(hertz), math.log(1000) / decay_seconds, size)


@lru_cache(maxsize=8192)
def _near(one: _Tone, other: _Tone) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Which partials of two tones are near each other and count: the places of each two in either."""
    begin = np.searchsorted(other.hertz, one.hertz - _SLOW, "right")
    counts = np.searchsorted(other.hertz, one.hertz + _SLOW) - begin
    these, those = np.repeat(np.arange(counts.size), counts), np.repeat(begin, counts) + _counted(counts)
    heard = one.amplitudes[these] * other.amplitudes[those] > _TOO_LITTLE * one.size * other.size
    return these[heard], those[heard]


class _Placed:
    """A note in its place, `first` to before `last`, counted in slices of time.

    `onset` is in seconds, and `moves` says whether its partials change in size beside their decay.
    """

    def __init__(self, score: Score, note: ScoreNote, timbre: Timbre) -> None:
        self._hertz, self._timbre, self.tone = note.hertz, timbre, _tone(timbre, note.hertz)
        self.onset, self.level, self.moves = score.seconds(note.onset), note.level, timbre.moves
        # A ramp has as much power as a shorter stretch at full level.
        begin = self.onset + (1 - _RAMP_POWER) * timbre.attack
        end = score.seconds(note.end) + _RAMP_POWER * timbre.release
        self.first, self.last = math.floor(begin / _SLICE), math.ceil(end / _SLICE)
        edges = np.clip(np.arange(self.first, self.last + 1) * _SLICE, begin, end)
        self._share = np.diff(edges) / _SLICE

    def movement(self, first: int, last: int) -> FloatArray:
        """How its partials move in the middle of some slices, as factors; shape (slices, partials)."""
        return self._timbre.movement(self._hertz, _middles(first, last) - self.onset)

    def power(self) -> FloatArray:
        """Power in each of its slices, as if no partial met another."""
        powers = (self.level * self.tone.amplitudes) ** 2 / 2
        if self._timbre.ring == math.inf and not self.moves:
            return np.asarray(self._share * powers.sum())
        seconds = _middles(self.first, self.last) - self.onset
        shares = np.exp(-self.tone.damping * seconds[:, np.newaxis])
        if self.moves:
            shares *= self.movement(self.first, self.last)
        return np.asarray(self._share * (shares**2 @ powers))


class _Meeting(NamedTuple):
    """Two notes that sound together from one slice to before another, and the places of partials near each other."""

    one: _Placed
    other: _Placed
    these: npt.NDArray[np.intp]
    those: npt.NDArray[np.intp]
    first: int
    last: int

    @property
    def waves(self) -> int:
        """How many values it comes to: one for each two partials in each slice."""
        return self.these.size * (self.last - self.first)

    def movement(self) -> FloatArray:
        """How the product of each two partials moves, as factors; partial by partial, and each slice by slice."""
        one = self.one.movement(self.first, self.last)[:, self.these]
        return np.asarray((one * self.other.movement(self.first, self.last)[:, self.those]).T.ravel())


def _meetings(placed: list[_Placed]) -> Iterator[_Meeting]:
    """The meetings of notes; `placed` is in order of onset."""
    sounding: list[_Placed] = []
    for other in placed:
        sounding = [one for one in sounding if one.last > other.first]
        for one in sounding:
            these, those = _near(one.tone, other.tone)
            first, last = max(one.first, other.first), min(one.last, other.last)
            if these.size and first < last:
                yield _Meeting(one, other, these, those, first, last)
        sounding.append(other)


def _some(meetings: Iterable[_Meeting]) -> Iterator[list[_Meeting]]:
    """As many meetings at a time as are reckoned at once."""
    some: list[_Meeting] = []
    waves = 0
    for meeting in meetings:
        some.append(meeting)
        waves += meeting.waves
        if waves >= _WAVES_AT_ONCE:
            yield some
            some, waves = [], 0
    if some:
        yield some


def _beating(meetings: Sequence[_Meeting], slices: int) -> FloatArray:
    """Power that partials near each other add to that of their notes in each slice; below 0 where they cancel."""
    ones, others, these, those, begin, end = zip(*meetings, strict=True)
    first, last = (np.repeat(slices, [places.size for places in these]) for slices in (begin, end))
    (one, one_changes), (other, other_changes) = _at_slice(ones, these, first), _at_slice(others, those, first)
    start, change = one * other.conj(), one_changes + other_changes.conj()
    size, angle, fading, turning = np.abs(start), np.angle(start), change.real, change.imag
    which, later = np.repeat(np.arange(first.size), last - first), _counted(last - first)
    waves = size[which] * np.exp(fading[which] * later) * np.cos(angle[which] + turning[which] * later)
    at = 0
    for meeting in meetings:
        if meeting.one.moves or meeting.other.moves:
            waves[at : at + meeting.waves] *= meeting.movement()
        at += meeting.waves
    return np.asarray(np.bincount(first[which] + later, waves, slices), dtype=float)


def _at_slice(
    notes: Sequence[_Placed], places: Sequence[npt.NDArray[np.intp]], slices: npt.NDArray[np.intp]
) -> tuple[npt.NDArray[np.complex128], npt.NDArray[np.complex128]]:
    """Some partials of each of some notes in the middle of a slice, one for each partial.

    Returns them as complex amplitudes, and by how much the logarithm of each changes from slice to slice.
    """
    tones = tuple(dict.fromkeys(note.tone for note in notes))
    begin = dict(zip(tones, accumulate((tone.hertz.size for tone in tones), initial=0), strict=False))
    placed = np.array([(begin[note.tone], note.onset, note.level) for note in notes])
    begins, onset, level = np.repeat(placed, [some.size for some in places], axis=0).T
    which = begins.astype(np.intp) + np.concatenate(places)
    hertz, amplitudes, phases, damping = (
        np.concatenate(column)[which]
        for column in zip(*((t.hertz, t.amplitudes, t.phases, t.damping) for t in tones), strict=True)
    )
    a_second = 2j * np.pi * hertz - damping
    return level * amplitudes * np.exp(a_second * ((slices + 0.5) * _SLICE - onset) + 1j * phases), a_second * _SLICE


def _counted(lengths: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    """0, 1, 2 ... up to before each of some lengths, one after another."""
    return np.asarray(np.arange(lengths.sum()) - np.repeat(np.cumsum(lengths) - lengths, lengths))


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
