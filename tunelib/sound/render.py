"""A score as samples: the sum of its notes, in blocks, through the limiter.

A note is a stretch of a tone at its own level, with a ramp at its end. A tune strikes the same tones again and again,
so those that sounded last are kept, and so are the pieces of them that were worked out.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from tunelib.pitch import FloatArray, is_number, is_whole, shortened
from tunelib.score import Score, ScoreNote
from tunelib.sound.bent import BentTone
from tunelib.sound.limiter import SAMPLE_RATE, limited
from tunelib.sound.timbre import HIGHEST_PARTIAL_HZ, Timbre
from tunelib.sound.tone import Tones

USUAL_PEAK_DBFS = -12.0
HIGHEST_PEAK_DBFS = -1.0
HEADROOM = 5.0  # how many notes at full level may come together below the ceiling: a note is softer by so much

_SAMPLES_AT_A_TIME = 65536


def render(
    score: Score,
    timbre: Timbre | Mapping[str, Timbre],
    sample_rate: int = SAMPLE_RATE,
    peak_dbfs: float = USUAL_PEAK_DBFS,
    gain: float = 1.0,
    bends: Sequence[FloatArray] = (),
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
    bends : sequence of arrays, optional
        How the pitch of each sounding note moves, in their order: ratios to its hertz, `MOVEMENTS_A_SECOND` of them a
        second, from its onset on; an empty array for a note that stays.

    Returns
    -------
    array of float64, shape (samples,)
        From the score's first beat to its last, and the last release. Begins and ends in exact silence.

    Raises ValueError for a voice without a timbre, a note too high to sound at all, bends that do not match the notes,
    or a value out of bounds.
    """
    rendering = Rendering(score, timbre, sample_rate, peak_dbfs, gain, bends)
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
        bends: Sequence[FloatArray] = (),
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
        first_of: dict[tuple[Timbre, float], ScoreNote] = {}
        for note, of in sounding:
            first_of.setdefault((of, note.hertz), note)
        for (of, _), note in first_of.items():
            _check_audible(note, of, self.sample_rate)
        check_bends(bends, len(sounding))
        bent = [
            BentTone(of, note.hertz, bend, stop - start, self.sample_rate) if len(bend) else None
            for (start, stop), (note, of), bend in zip(
                spans, sounding, bends or [np.empty(0)] * len(sounding), strict=True
            )
        ]
        placed = [(*span, note, of, bend) for span, (note, of), bend in zip(spans, sounding, bent, strict=True)]
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
        tones = Tones(self.sample_rate)
        coming = deque(self._placed)
        sounding: list[tuple[int, int, ScoreNote, Timbre, BentTone | None]] = []
        for first in range(0, self.samples, _SAMPLES_AT_A_TIME):
            out = np.zeros(min(_SAMPLES_AT_A_TIME, self.samples - first))
            last = first + out.size
            while coming and coming[0][0] < last:
                sounding.append(coming.popleft())
            for start, stop, note, of, bent in sounding:
                level, release = self._full_level * note.level, round(of.release * self.sample_rate)
                part = max(start, first) - start, min(stop, last) - start
                for at, tone in bent.stretch(*part) if bent else tones.stretch(of, note.hertz, *part):
                    sound = level * tone
                    if at + sound.size > stop - start - release:
                        _fade(sound, at, stop - start, release)
                    out[start + at - first :][: sound.size] += sound
            sounding = [place for place in sounding if place[1] > last]
            yield out


def check_gain(gain: float) -> float:
    """A gain; ValueError for one that is not a number above 0."""
    if not is_number(gain) or not 0 < gain < math.inf:
        raise ValueError(f"a gain is a factor above 0, not {gain!r}")
    return float(gain)


def check_bends(bends: Sequence[FloatArray], sounding: int) -> None:
    """Raises ValueError unless there is a bend for each note that sounds, or none at all, of ratios above 0."""
    if len(bends) not in (0, sounding):
        raise ValueError(f"{sounding} notes that sound need as many bends or none, not {len(bends)}")
    for place, bend in enumerate(bends):
        ratios = np.asarray(bend)
        if ratios.ndim != 1 or ratios.dtype.kind not in "fiu" or not (np.isfinite(ratios) & (ratios > 0)).all():
            raise ValueError(f"bend {place} is a row of ratios above 0, such as [1, 1.02, 1.03], not {shortened(bend)}")


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


def _fade(sound: FloatArray, first: int, length: int, release: int) -> None:
    """Apply to samples `first` and on of a note the raised cosine at its end, in place."""
    begin = max(first, length - release)
    falling = np.arange(begin, first + sound.size)
    sound[begin - first :] *= 0.5 + 0.5 * np.cos(np.pi * (falling - (length - release) + 1) / release)
