"""Takes to try an intonation report on: rendered here, with errors that we know because we put them in.

All but `FIVE_NOTES` are the same eight notes, harmonics 5 to 12 of B♭1 in the range of an alto saxophone, played by a
player with one habit. No one recorded them. The errors are data beside the notes, to compare a measurement with.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tunelib.pitch import FloatArray, Note, cents, equal, nearest_note, ratio_from_cents
from tunelib.score import Score, ScoreNote
from tunelib.sound.levels import REFERENCE_LOUDNESS
from tunelib.sound.limiter import SAMPLE_RATE
from tunelib.sound.loudness import at_loudness
from tunelib.sound.timbre import MOVEMENTS_A_SECOND, TIMBRES, Timbre

DEMO_FUNDAMENTAL = Note.parse("B♭1")
DEMO_HARMONICS = tuple(range(5, 13))
DEMO_NOTE_SECONDS, DEMO_GAP_SECONDS = 0.9, 0.1

_TIMBRE = TIMBRES["reed"]


@dataclass(frozen=True)
class PlayedNote:
    """One note of a demo take, and what was done to it.

    Parameters
    ----------
    harmonic : float
        What was aimed at, as a multiple of `DEMO_FUNDAMENTAL`: a whole number for one of its harmonics.
    error : float
        Mean pitch over the note, in cents above that.
    drift : float
        Cents that the pitch moves from the start of the note to its end, evenly about the mean.
    vibrato : float
        Width from trough to crest, in cents.
    vibrato_rate : float
        In hertz.
    """

    harmonic: float
    error: float = 0.0
    drift: float = 0.0
    vibrato: float = 0.0
    vibrato_rate: float = 0.0

    @property
    def hertz(self) -> float:
        """The mean pitch."""
        return self.harmonic * DEMO_FUNDAMENTAL.hz() * ratio_from_cents(self.error)

    def pitch(self, seconds: FloatArray) -> FloatArray:
        """The pitch in hertz at times within the note, 0 at its onset."""
        swing = self.vibrato / 2 * np.sin(2 * np.pi * self.vibrato_rate * seconds)
        slope = self.drift * (seconds / DEMO_NOTE_SECONDS - 0.5)
        return np.asarray(self.hertz * ratio_from_cents(swing + slope))


@dataclass(frozen=True)
class DemoTake:
    """A rendered take: its name, what its player does, and the notes with their errors."""

    name: str
    habit: str
    played: tuple[PlayedNote, ...]

    @property
    def timbre(self) -> Timbre:
        """What it is played on."""
        return _TIMBRE

    @property
    def score(self) -> Score:
        """The notes at their mean pitches, a beat to a second."""
        step = DEMO_NOTE_SECONDS + DEMO_GAP_SECONDS
        notes = tuple(
            ScoreNote(DEMO_GAP_SECONDS + step * i, DEMO_NOTE_SECONDS, note.hertz, nearest_note(note.hertz)[0], "player")
            for i, note in enumerate(self.played)
        )
        return Score(notes, tempo=60, title=self.name)

    @property
    def bends(self) -> tuple[FloatArray, ...]:
        """How the pitch of each note moves: ratios to its mean, `MOVEMENTS_A_SECOND` of them a second."""
        rows = np.arange(math.ceil((DEMO_NOTE_SECONDS + self.timbre.release) * MOVEMENTS_A_SECOND) + 1)
        return tuple(note.pitch(rows / MOVEMENTS_A_SECOND) / note.hertz for note in self.played)

    def samples(self) -> FloatArray:
        """The sound at 48 kHz, as loud as all that is heard; shape (samples,), read-only."""
        return _rendered(self)


@lru_cache(maxsize=8)
def _rendered(take: DemoTake) -> FloatArray:
    length = round(DEMO_NOTE_SECONDS * SAMPLE_RATE)
    seconds = np.arange(length) / SAMPLE_RATE
    out: FloatArray = np.zeros(
        round((DEMO_GAP_SECONDS + len(take.played) * (DEMO_NOTE_SECONDS + DEMO_GAP_SECONDS)) * SAMPLE_RATE)
    )
    rise = np.minimum(1, np.minimum(np.arange(length), np.arange(length)[::-1]) / (take.timbre.attack * SAMPLE_RATE))
    ramp = np.sin(np.pi / 2 * rise) ** 2
    for note, of in zip(take.score.notes, take.played, strict=True):
        # The phase of a partial is the sum of the pitch so far, times its number.
        turns = np.cumsum(of.pitch(seconds)) / SAMPLE_RATE
        frequencies, amplitudes, _ = take.timbre.partials(of.hertz)
        waves = zip(np.rint(frequencies / of.hertz), amplitudes, take.timbre.phases(of.hertz), strict=True)
        tone = sum(size * np.sin(2 * np.pi * number * turns + phase) for number, size, phase in waves)
        start = round(float(note.onset) * SAMPLE_RATE)
        out[start : start + length] = ramp * tone
    out = at_loudness(out, REFERENCE_LOUDNESS)
    out.flags.writeable = False
    return out


def _all(play: Callable[[int, int], PlayedNote]) -> tuple[PlayedNote, ...]:
    return tuple(play(i, harmonic) for i, harmonic in enumerate(DEMO_HARMONICS))


def _in(division: int) -> Callable[[int, int], PlayedNote]:
    """Playing the nearest step of an equal division laid on the fundamental, in place of the harmonic."""
    tuning = equal(division)
    return lambda i, harmonic: PlayedNote(harmonic, tuning.nearest(cents(harmonic))[1])


_SMALL = (1.5, -2.0, 3.0, -1.0, 2.5, -3.0, 0.5, -1.5)  # cents: as near as a very good player comes
_EVEN = (-8.0, 4.0, -12.0, 6.0, 10.0, -5.0, 14.0, -9.0)
_MIXED = (
    PlayedNote(5, 2.0),
    PlayedNote(6, -3.0),
    PlayedNote(7, -18.0),
    PlayedNote(8, 1.0),
    PlayedNote(9, -5.0, drift=-26.0),
    PlayedNote(10, 3.0),
    PlayedNote(11, -2.0, vibrato=50.0, vibrato_rate=5.5),
    PlayedNote(12, 4.0),
)

DEMO_TAKES: dict[str, DemoTake] = {
    take.name: take
    for take in (
        DemoTake("a mixed day", "is flat on one note, sinks on another and shakes on a third", _MIXED),
        DemoTake("keyboard habit", "plays every note where a piano has it", _all(_in(12))),
        DemoTake("true to the overtones", "keeps within 3 cents", _all(lambda i, n: PlayedNote(n, _SMALL[i]))),
        DemoTake("in thirty-one", "plays the nearest of thirty-one equal steps", _all(_in(31))),
        DemoTake("tired lip", "sinks by 24 cents on every note", _all(lambda i, n: PlayedNote(n, -6.0, -24.0))),
        DemoTake("warming up", "begins 20 cents flat and ends 8 sharp", _all(lambda i, n: PlayedNote(n, 4.0 * i - 20))),
        DemoTake(
            "wide vibrato",
            "swings by 60 cents, about means that are off by up to 14",
            _all(lambda i, n: PlayedNote(n, _EVEN[i], 0.0, 60.0, 5.5)),
        ),
    )
}

_FLAT = 35.0  # cents

FIVE_NOTES = DemoTake(
    "five notes up",
    "goes from C to G as a piano does, but for one note",
    tuple(
        PlayedNote(Note.parse(name).hz() / DEMO_FUNDAMENTAL.hz(), -_FLAT if name == "F4" else 0.0)
        for name in ("C4", "D4", "E4", "F4", "G4")
    ),
)
"""The take of which step 10 asks which note is flat."""
