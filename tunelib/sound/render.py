"""A score as samples: a sum of partials, each exact in pitch from the first sample to the last.

The sum is worked out in blocks. A partial that starts a block at phase p is, k samples later, at p + w k, and
``sin(p + w k) = sin(p) cos(w k) + cos(p) sin(w k)``. The values for k are the same in every block and those for p the
same for every k, so a whole note is the product of two small matrices, (blocks, partials) by (partials, samples of a
block), and the sines number far fewer than the samples. A decay is a factor in both, and an amplitude that moves is a
straight line within each block.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator, Mapping

import numpy as np

from tunelib.pitch import FloatArray, is_number, is_whole
from tunelib.score import Score, ScoreNote
from tunelib.sound.limiter import SAMPLE_RATE, limited
from tunelib.sound.timbre import HIGHEST_PARTIAL_HZ, Timbre

USUAL_PEAK_DBFS = -12.0
HIGHEST_PEAK_DBFS = -1.0
HEADROOM = 5.0  # how many notes at full level may come together below the ceiling: a note is softer by so much

_MOVING_BLOCK = 24
_SAMPLES_AT_A_TIME = 65536
_PRODUCTS_ON_ONE_THREAD = 1 << 18  # OpenBLAS: 65536 times its default threshold of 4


def render(
    score: Score,
    timbre: Timbre | Mapping[str, Timbre],
    sample_rate: int = SAMPLE_RATE,
    peak_dbfs: float = USUAL_PEAK_DBFS,
    gain: float = 1.0,
) -> FloatArray:
    """The sound of a score.

    A note at level 1 has the power of a sine whose peak is 14 dB below the ceiling `peak_dbfs`. Four of them come to
    about -23 LKFS, the level at which programmes are broadcast (EBU R 128), and pass under the ceiling; where more
    comes together, `limit` turns it down. A quiet score stays quiet. Notes at level 0 do not sound, but take their
    time.

    Listen with the volume low at first: what is rendered here is 12 dB below full scale, an amplifier is not.

    Parameters
    ----------
    score : Score
    timbre : Timbre, or mapping from a voice's name to its Timbre
    sample_rate : int
        In hertz, 8000 to 192 000. No partial is higher than half of it, or than 20 000 Hz.
    peak_dbfs : float
        The largest peak that may come out, in dB below full scale. -12 unless asked for; -1 at most.
    gain : float
        A factor on the level of all notes, above 0, such as `reference_gain` finds.

    Returns
    -------
    array of float64, shape (samples,)
        From the score's first beat to its last, and the last release. Begins and ends in exact silence.

    Raises ValueError for a voice without a timbre, a note too high to sound at all, or a value out of bounds.
    """
    rendering = Rendering(score, timbre, sample_rate, peak_dbfs, gain)
    out = np.empty(rendering.samples)
    first = 0
    for block in rendering.blocks():
        out[first : first + block.size] = block
        first += block.size
    return out


class Rendering:
    """The sound of a score, to be made block by block, so that the whole of it is never held.

    Takes what `render` takes, and raises as it does; a note too high to sound is found here, before any work is done.
    `samples` is how many samples there will be, and `sample_rate` the rate.
    """

    def __init__(
        self,
        score: Score,
        timbre: Timbre | Mapping[str, Timbre],
        sample_rate: int = SAMPLE_RATE,
        peak_dbfs: float = USUAL_PEAK_DBFS,
        gain: float = 1.0,
    ) -> None:
        if not is_whole(sample_rate) or not 8000 <= sample_rate <= 192_000:
            raise ValueError(f"a sample rate is a whole number of hertz, 8000 to 192000, not {sample_rate!r}")
        if not -120 <= peak_dbfs <= HIGHEST_PEAK_DBFS:
            raise ValueError(
                f"the peak must be from -120 to {HIGHEST_PEAK_DBFS:g} dB below full scale, not {peak_dbfs}"
            )
        self.sample_rate = int(sample_rate)
        self._ceiling = 10 ** (peak_dbfs / 20)
        self._full_level = self._ceiling / HEADROOM * check_gain(gain)
        sounding = [(note, timbre_of(note, timbre)) for note in score.notes if note.level > 0]
        spans = [_span(score, note, of, self.sample_rate) for note, of in sounding]
        self.samples = max([round(score.seconds(score.beats) * sample_rate), *(stop for _, stop in spans)])
        for note, of in sounding:
            _check_audible(note, of, self.sample_rate)
        placed = [(*span, note, of) for span, (note, of) in zip(spans, sounding, strict=True)]
        self._placed = sorted(placed, key=lambda place: place[0])

    def blocks(self, progress: Callable[[float], None] | None = None) -> Iterator[FloatArray]:
        """The samples in order, in arrays of shape (samples,), as often as they are asked for.

        `progress` is told after each what share is done, from 0 to 1.
        """
        done = 0
        for block in limited(self._unlimited(), self._ceiling, self.sample_rate):
            yield block
            done += block.size
            if progress is not None:
                progress(done / self.samples)

    def _unlimited(self) -> Iterator[FloatArray]:
        coming = deque(self._placed)
        sounding: list[tuple[int, int, _Tone]] = []
        for first in range(0, self.samples, _SAMPLES_AT_A_TIME):
            out = np.zeros(min(_SAMPLES_AT_A_TIME, self.samples - first))
            last = first + out.size
            while coming and coming[0][0] < last:
                start, stop, note, of = coming.popleft()
                level = self._full_level * note.level
                sounding.append((start, stop, _Tone(note, of, stop - start, self.sample_rate, level)))
            for start, stop, tone in sounding:
                begin, end = max(start, first), min(stop, last)
                out[begin - first : end - first] += tone.samples(begin - start, end - start)
            sounding = [place for place in sounding if place[1] > last]
            yield out


def check_gain(gain: float) -> float:
    """A gain; ValueError for one that is not a number above 0."""
    if not is_number(gain) or not 0 < gain < math.inf:
        raise ValueError(f"a gain is a factor above 0, not {gain!r}")
    return float(gain)


def timbre_of(note: ScoreNote, timbre: Timbre | Mapping[str, Timbre]) -> Timbre:
    """The timbre that plays a note; ValueError if none is given for its voice."""
    if isinstance(timbre, Timbre):
        return timbre
    if note.voice not in timbre:
        given = ", ".join(timbre) or "none"
        raise ValueError(f"no timbre is given for the voice {note.voice!r}; there is one for {given}")
    return timbre[note.voice]


def _span(score: Score, note: ScoreNote, timbre: Timbre, sample_rate: int) -> tuple[int, int]:
    """First sample of a note, and the one after its release."""
    start = round(score.seconds(note.onset) * sample_rate)
    return start, round((score.seconds(note.end) + timbre.release) * sample_rate)


def _check_audible(note: ScoreNote, timbre: Timbre, sample_rate: int) -> None:
    if not (timbre.partials(note.hertz)[0] < sample_rate / 2).any():
        highest = min(HIGHEST_PARTIAL_HZ, sample_rate / 2)
        raise ValueError(
            f"the note at beat {note.onset} cannot sound: its pitch is {note.hertz:g} Hz, "
            f"and no partial above {highest:g} Hz is rendered"
        )


class _Tone:
    """One note, of which any stretch of samples can be made."""

    def __init__(self, note: ScoreNote, timbre: Timbre, length: int, sample_rate: int, level: float) -> None:
        self._timbre, self._hertz, self._rate, self._length = timbre, note.hertz, sample_rate, length
        frequencies, amplitudes, decay_seconds = timbre.partials(note.hertz)
        self._audible = frequencies < sample_rate / 2
        self._frequencies, self._amplitudes = frequencies[self._audible], level * amplitudes[self._audible]
        self._phases = timbre.phases(note.hertz)[self._audible]
        # Nepers a sample: 60 dB are a factor of 1000.
        self._damping = math.log(1000) / (decay_seconds[self._audible] * sample_rate)
        self._block = _MOVING_BLOCK if timbre.moves else _block_length(length)

        within = np.arange(self._block)
        angles = (2 * np.pi / sample_rate) * self._frequencies[:, np.newaxis] * within
        waves = np.concatenate([np.sin(angles), np.cos(angles)])
        if np.any(self._damping > 0):
            waves *= np.exp(-np.tile(self._damping, 2)[:, np.newaxis] * within)
        self._waves = np.concatenate([waves, waves * (within / self._block)]) if timbre.moves else waves

    def samples(self, first: int, last: int) -> FloatArray:
        """Samples from one to before another, counted from the note's onset."""
        if not self._timbre.moves:
            return self._stretch(first, last, first % self._block)
        anew = range(first - first % _SAMPLES_AT_A_TIME, last, _SAMPLES_AT_A_TIME)  # where blocks begin anew
        parts = ((start, max(first, start), min(last, start + _SAMPLES_AT_A_TIME)) for start in anew)
        return np.concatenate([self._stretch(begin, end, (begin - start) % self._block) for start, begin, end in parts])

    def _stretch(self, first: int, last: int, left_out: int) -> FloatArray:
        """The same, for blocks of which one begins a number of samples before the first."""
        starts = np.arange(first - left_out, last, self._block, dtype=float)
        at_start = 2 * np.pi * _cycles(self._frequencies, starts, self._rate) + self._phases
        strength = self._amplitudes * np.exp(-self._damping * starts[:, np.newaxis])
        turned = np.concatenate([strength * np.cos(at_start), strength * np.sin(at_start)], axis=1)
        if self._timbre.moves:
            edges = np.append(starts, starts[-1] + self._block) / self._rate
            factors = np.tile(self._timbre.movement(self._hertz, edges)[:, self._audible], 2)
            turned = np.concatenate([turned * factors[:-1], turned * np.diff(factors, axis=0)], axis=1)
        tone = _product(turned, self._waves).ravel()[left_out : left_out + last - first]
        attack, release = (round(ramp * self._rate) for ramp in (self._timbre.attack, self._timbre.release))
        _ramp(tone, first, self._length, attack, release)
        return tone


def _product(left: FloatArray, right: FloatArray) -> FloatArray:
    """The product of two matrices, a few rows at a time: small enough for BLAS to keep to one thread.

    Threads gain little on matrices of this size, and on a machine that is busy they wait for one another: ten times as
    long for the whole.
    """
    rows = max(1, _PRODUCTS_ON_ONE_THREAD // right.size)
    padded = np.pad(left, ((0, -len(left) % rows), (0, 0)))
    return np.asarray((padded.reshape(-1, rows, left.shape[1]) @ right).reshape(-1, right.shape[1])[: len(left)])


def _block_length(samples: int) -> int:
    """The power of two nearest the square root, where the two matrices hold about as many sines."""
    return int(2 ** min(10, max(5, round(math.log2(max(samples, 1)) / 2))))


def _cycles(frequencies: FloatArray, samples: FloatArray, sample_rate: int) -> FloatArray:
    """Turns since sample 0, less the whole ones; shape (samples, frequencies).

    A frequency is split into a part short enough for its product with a sample's number to be exact, and a rest so
    small that its product's rounding does not matter: no phase is lost over hours.
    """
    coarse = frequencies.astype(np.float32).astype(np.float64)
    numbers = samples[:, np.newaxis]
    exact = np.fmod(coarse * numbers, sample_rate)
    return np.asarray((exact + (frequencies - coarse) * numbers) / sample_rate)


def _ramp(tone: FloatArray, first: int, length: int, attack: int, release: int) -> None:
    """Apply to samples `first` and on of a note the raised cosines at its beginning and at its end, in place."""
    rising = np.arange(first, min(attack, first + tone.size))
    tone[: rising.size] *= 0.5 - 0.5 * np.cos(np.pi * rising / attack)
    begin = max(first, length - release)
    falling = np.arange(begin, first + tone.size)
    tone[tone.size - falling.size :] *= 0.5 + 0.5 * np.cos(np.pi * (falling - (length - release) + 1) / release)
