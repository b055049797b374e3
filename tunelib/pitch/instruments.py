"""Instruments and voices: how each is written, and which notes are comfortable.

Ranges are *comfortable* ones for a player of some years, as written for the instrument, not its extremes.
Transpositions are common practice, checked in the tests against published tables and another library; ranges are
common practice too (orchestration handbooks differ by a tone or two at the top).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from tunelib.pitch.intervals import cents
from tunelib.pitch.lookup import look_up
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.tunings import A4_HZ, equal


@dataclass(frozen=True)
class Instrument:
    """An instrument or voice.

    Parameters
    ----------
    name : str
    family : str
        One of ``FAMILIES``: what kind of sound it has.
    clef : str
        ``"treble"``, ``"treble 8vb"``, ``"alto"``, ``"bass"`` or ``"bass 8vb"``.
    written_above : str
        The named interval from the sounding note up to the written one (``"M2"`` for a B♭ trumpet), down with a
        minus sign (``"-P8"`` for a piccolo), ``"P1"`` for an instrument written where it sounds.
    lowest, highest : Note
        The comfortable range, as written.
    midi_program : int
        General MIDI program, 0 to 127 (General MIDI 1 sound set).
    """

    name: str
    family: str
    clef: str
    written_above: str
    lowest: Note
    highest: Note
    midi_program: int

    def written(self, sounding: Note) -> Note:
        """The note that this player reads for a sounding note."""
        return sounding.transpose(self.written_above)

    def sounding(self, written: Note) -> Note:
        """The note that sounds when this player reads a written note."""
        down = self.written_above[1:] if self.written_above.startswith("-") else f"-{self.written_above}"
        return written.transpose(down)

    @property
    def slug(self) -> str:
        """The name as a part of file names, such as ``"clarinet-in-b-flat"``."""
        return self.name.replace("♭", "-flat").replace(" ", "-").lower()

    @cached_property
    def range_hz(self) -> tuple[float, float]:
        """The comfortable range as it sounds, in hertz, in twelve equal steps at A4 = 440 Hz."""
        return self.sounding(self.lowest).hz(), self.sounding(self.highest).hz()

    def reaches(self, hz: Any, leeway: float = 50.0) -> Any:
        """Whether frequencies (hertz, any shape) are within the comfortable range, give or take `leeway` cents."""
        low, high = self.range_hz
        above_low = np.asarray(cents(np.asarray(hz, dtype=float) / low))
        result = (above_low >= -leeway) & (above_low <= cents(high / low) + leeway)
        return result if result.ndim else bool(result)


FAMILIES = ("flute", "reed", "brass", "organ", "bowed", "plucked", "struck", "voice")

_TABLE = """
piccolo            | flute   | treble     | -P8 | D4  C7  | 72
flute              | flute   | treble     | P1  | C4  C7  | 73
alto flute         | flute   | treble     | P4  | C4  G6  | 73
recorder           | flute   | treble     | -P8 | C4  C6  | 74
alto recorder      | flute   | treble     | P1  | F4  F6  | 74
oboe               | reed    | treble     | P1  | Bb3 F6  | 68
english horn       | reed    | treble     | P5  | B3  G6  | 69
clarinet in B♭     | reed    | treble     | M2  | E3  C7  | 71
clarinet in A      | reed    | treble     | m3  | E3  C7  | 71
clarinet in E♭     | reed    | treble     | -m3 | E3  G6  | 71
bass clarinet      | reed    | treble     | M9  | Eb3 G6  | 71
bassoon            | reed    | bass       | P1  | Bb1 Bb4 | 70
contrabassoon      | reed    | bass       | P8  | Bb1 Bb4 | 70
soprano saxophone  | reed    | treble     | M2  | Bb3 F6  | 64
alto saxophone     | reed    | treble     | M6  | Bb3 F6  | 65
tenor saxophone    | reed    | treble     | M9  | Bb3 F6  | 66
baritone saxophone | reed    | treble     | M13 | A3  F6  | 67
harmonica          | reed    | treble     | P1  | C4  C7  | 22
trumpet            | brass   | treble     | M2  | F#3 C6  | 56
cornet             | brass   | treble     | M2  | F#3 C6  | 56
flugelhorn         | brass   | treble     | M2  | F#3 A5  | 56
horn in F          | brass   | treble     | P5  | F#2 C6  | 60
trombone           | brass   | bass       | P1  | E2  Bb4 | 57
euphonium          | brass   | bass       | P1  | E2  Bb4 | 58
tuba               | brass   | bass       | P1  | E1  F4  | 58
organ              | organ   | treble     | P1  | C3  C6  | 19
accordion          | organ   | treble     | P1  | F3  A6  | 21
violin             | bowed   | treble     | P1  | G3  E7  | 40
viola              | bowed   | alto       | P1  | C3  C6  | 41
cello              | bowed   | bass       | P1  | C2  C5  | 42
double bass        | bowed   | bass       | P8  | E2  G4  | 43
guitar             | plucked | treble     | P8  | E3  B5  | 24
bass guitar        | plucked | bass       | P8  | E2  G4  | 33
ukulele            | plucked | treble     | P1  | C4  A5  | 24
mandolin           | plucked | treble     | P1  | G3  E6  | 25
banjo              | plucked | treble     | P8  | C4  A5  | 105
harp               | plucked | treble     | P1  | C3  G6  | 46
piano              | struck  | treble     | P1  | C3  C7  | 0
vibraphone         | struck  | treble     | P1  | F3  F6  | 11
marimba            | struck  | treble     | P1  | C3  C7  | 12
xylophone          | struck  | treble     | -P8 | F4  C7  | 13
glockenspiel       | struck  | treble     | -P15 | G3 C6  | 9
soprano voice      | voice   | treble     | P1  | C4  A5  | 53
mezzo-soprano voice | voice  | treble     | P1  | A3  F5  | 53
alto voice         | voice   | treble     | P1  | F3  D5  | 53
tenor voice        | voice   | treble 8vb | P1  | C3  A4  | 53
baritone voice     | voice   | bass       | P1  | G2  F4  | 53
bass voice         | voice   | bass       | P1  | E2  D4  | 53
"""


def _read_table() -> dict[str, Instrument]:
    found = {}
    for line in _TABLE.strip().splitlines():
        name, family, clef, written_above, span, program = (cell.strip() for cell in line.split("|"))
        lowest, highest = map(Note.parse, span.split())
        found[name] = Instrument(name, family, clef, written_above, lowest, highest, int(program))
    return found


INSTRUMENTS: dict[str, Instrument] = _read_table()

_OTHER_NAMES = {
    "concert flute": "flute",
    "descant recorder": "recorder",
    "soprano recorder": "recorder",
    "treble recorder": "alto recorder",
    "clarinet": "clarinet in B♭",
    "B♭ clarinet": "clarinet in B♭",
    "A clarinet": "clarinet in A",
    "E♭ clarinet": "clarinet in E♭",
    "double bassoon": "contrabassoon",
    "saxophone": "alto saxophone",
    "cor anglais": "english horn",
    "mouth organ": "harmonica",
    "B♭ trumpet": "trumpet",
    "French horn": "horn in F",
    "F horn": "horn in F",
    "horn": "horn in F",
    "tenor trombone": "trombone",
    "pipe organ": "organ",
    "electric organ": "organ",
    "piano accordion": "accordion",
    "fiddle": "violin",
    "violoncello": "cello",
    "bass": "double bass",
    "contrabass": "double bass",
    "upright bass": "double bass",
    "string bass": "double bass",
    "acoustic guitar": "guitar",
    "classical guitar": "guitar",
    "electric guitar": "guitar",
    "electric bass": "bass guitar",
    "electric piano": "piano",
    "keyboard": "piano",
    "vibes": "vibraphone",
    "voice": "baritone voice",
    "mezzo-soprano": "mezzo-soprano voice",
}


_BY_NAME = INSTRUMENTS | {other: INSTRUMENTS[full] for other, full in _OTHER_NAMES.items()}
_BY_NAME |= {name.replace("saxophone", "sax"): player for name, player in _BY_NAME.items()}


def instrument(name: str) -> Instrument:
    """The instrument or voice of a name; capitals, hyphens and "sax" for "saxophone" do not matter.

    Raises ValueError with the nearest names known.

    >>> instrument("alto sax").written_above
    'M6'
    """
    return look_up(name, _BY_NAME, "instrument")


def propose_fundamental(player: Instrument, harmonics: Sequence[int], near: Note) -> tuple[Note, int]:
    """The fundamental that puts the most of these harmonics within a player's range.

    Of several equally good ones, the nearest to `near` is taken. Returns the note, in twelve equal steps at
    A4 = 440 Hz, and how many of the harmonics are in the comfortable range. Raises ValueError unless there is at least
    one harmonic and all are whole numbers, 1 or more.
    """
    numbers = np.array(list(harmonics))
    if not numbers.size or numbers.dtype.kind not in "iu" or np.any(numbers < 1):
        raise ValueError(f"harmonics are numbered 1, 2, 3, ..., at least one of them, not {list(harmonics)!r}")
    twelve = equal(12)
    candidates = [spell(step, twelve, home=-2) for step in range(-48, 25)]
    fundamentals = np.array([note.hz(twelve, A4_HZ) for note in candidates])
    within = player.reaches(fundamentals[:, np.newaxis] * numbers).sum(axis=1)
    distance = np.abs([note.step(twelve) - near.step(twelve) for note in candidates])
    best = int(np.lexsort((distance, -within))[0])
    return candidates[best], int(within[best])
