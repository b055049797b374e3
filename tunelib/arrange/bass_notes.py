"""The notes that a bass has: of a chord, of the scale around it, and of what leads to the next chord, in its octaves.

A note of the chord is tuned as in the chord, and a step of the scale as that degree over the root. A semitone is
written to the letter beside the note that it leads to, and is diatonic, three steps of thirty-one; where that would
take a double sharp or flat it keeps the letter and is chromatic, two steps.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from tunelib.arrange.written_score import by_number
from tunelib.harmony import Chord
from tunelib.pitch import Key, Note, SpelledInterval, Tuning

LOWEST, HIGHEST = Note.parse("E1"), Note.parse("G2")
"""Between these it plays: from the lowest string of a double bass up to its highest, open (common practice)."""

_MINOR_SECOND, _SHARP = SpelledInterval.parse("m2"), SpelledInterval.parse("A1")
_FIFTH_UP, _FOURTH_DOWN = SpelledInterval.parse("P5"), SpelledInterval.parse("-P4")
_SINGLE = 2  # half-sharps of a sharp or flat


@dataclass(frozen=True)
class BassPitch:
    """A note as it sounds and as it is written, and the letters from the root of its chord up to it."""

    note: Note
    written: Note
    letters: int
    in_chord: bool

    def transpose(self, interval: SpelledInterval) -> BassPitch:
        """The note an interval above it."""
        return replace(self, note=self.note.transpose(interval), written=self.written.transpose(interval))


def leading(target: BassPitch, tuning: Tuning) -> list[BassPitch]:
    """The semitones above and below a note, and its fifth, where they can be played."""
    semitones = []
    for diatonic, chromatic in ((_MINOR_SECOND, _SHARP), (-_MINOR_SECOND, -_SHARP)):
        plain = target.transpose(diatonic)
        semitones.append(plain if abs(plain.note.half_sharps) <= _SINGLE else target.transpose(chromatic))
    outside = [replace(pitch, in_chord=False) for pitch in semitones]
    return list(placed([*outside, *_fifths_of(target, tuning)], tuning))


def _fifths_of(target: BassPitch, tuning: Tuning) -> list[BassPitch]:
    both = [target.transpose(interval) for interval in (_FIFTH_UP, _FOURTH_DOWN)]
    return [pitch for pitch in both if _in_reach(pitch.note, tuning)]


@lru_cache(maxsize=1024)
def material_of(chord: Chord, meant: Chord, key: Key, tuning: Tuning) -> tuple[BassPitch, ...]:
    """The notes of a chord, and of the scale between them, wherever a bass has them, rising."""
    found = []
    rising = sorted(chord.intervals, key=lambda interval: interval.letters)
    for (note, unmoved), interval in zip(by_number(chord, meant, tuning), rising, strict=True):
        found.append(BassPitch(note, unmoved, interval.letters % 7, interval.letters < 7))
    taken = {pitch.letters for pitch in found}
    for interval in _scale(meant, key):
        if interval.letters not in taken:
            [_, note] = Chord(chord.root, (SpelledInterval(0, 0), interval)).notes_in(tuning)
            found.append(BassPitch(note, meant.root.transpose(interval), interval.letters, False))
    return tuple(sorted(placed(found, tuning), key=lambda pitch: pitch.note.step(tuning)))


def _scale(chord: Chord, key: Key) -> list[SpelledInterval]:
    """Seven intervals above a root: of all the keys that most notes of the chord are in, the one nearest to a key."""
    fifths = [interval.fifths for interval in chord.intervals if interval.fifths % 1 == 0]
    home = key.lowest_fifth - chord.root.fifths

    def rank(lowest: int) -> tuple[float, ...]:
        return sum(not lowest <= fifth <= lowest + 6 for fifth in fifths), abs(lowest - home), lowest

    lowest = min(range(-6, 1), key=rank)
    return [SpelledInterval(4 * fifth % 7, 14 * fifth - 24 * (4 * fifth // 7)) for fifth in range(lowest, lowest + 7)]


def placed(pitches: Iterable[BassPitch], tuning: Tuning) -> Iterator[BassPitch]:
    """Some notes in all the octaves in which a bass has them, each from the lowest up."""
    for pitch in pitches:
        octaves = -((pitch.note.step(tuning) - LOWEST.step(tuning)) // len(tuning))
        while _in_reach(replace(pitch.note, octave=pitch.note.octave + octaves), tuning):
            yield replace(
                pitch,
                note=replace(pitch.note, octave=pitch.note.octave + octaves),
                written=replace(pitch.written, octave=pitch.written.octave + octaves),
            )
            octaves += 1


def _in_reach(note: Note, tuning: Tuning) -> bool:
    return LOWEST.step(tuning) <= note.step(tuning) <= HIGHEST.step(tuning)


def fifth_of(root: BassPitch, material: Sequence[BassPitch], tuning: Tuning) -> BassPitch:
    """The fifth of a chord, or its third, below its bass note or else above it; its root under another bass."""
    in_chord = [pitch for pitch in material if pitch.in_chord]
    wanted = next(
        (
            pitch
            for letters in (4, 2, 3, 0)
            for pitch in in_chord
            if pitch.letters == letters and not _same(pitch, root)
        ),
        root,
    )
    at = root.note.step(tuning)
    places = [pitch for pitch in in_chord if pitch.letters == wanted.letters and _same(pitch, wanted)]
    below = [pitch for pitch in places if pitch.note.step(tuning) < at]
    return below[-1] if below else places[0] if places else root


def _same(one: BassPitch, other: BassPitch) -> bool:
    """Whether two are one note, octaves apart or not."""
    return (one.note.letter, one.note.half_sharps) == (other.note.letter, other.note.half_sharps)
