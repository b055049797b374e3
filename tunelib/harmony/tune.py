"""A tune as it is played: its chords and its melody in beats, with the repeats written out; and its form.

Beats are quarter notes throughout, whatever the metre says. Two readers make such tunes: `tunelib.harmony.lead_sheet`
from text, and `tunelib.harmony.lead_sheet_xml` from MusicXML. Both collect the bars as they are written
(`tunelib.harmony.written_bars`), and `tunelib.harmony.unrolled` plays them through.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from numbers import Real
from typing import TypeVar

from tunelib.harmony.chords import Chord
from tunelib.harmony.form import FormBar
from tunelib.pitch import Key, Note, cut, in_figures, is_whole, shortened, unprintable

LONGEST_TITLE = 200
SLOWEST, FASTEST = 10, 500
SHORTEST_BAR, LONGEST_BAR = 1, 12
_LOWEST_OCTAVE, _HIGHEST_OCTAVE = -1, 9
_MOST_HALF_SHARPS = 4
_Given = TypeVar("_Given")


class Timed:
    """What a chord and a note of a tune have in common.

    Parameters
    ----------
    onset, duration : Fraction
        Beats.
    bar : int
        The number of the bar in which it begins, as printed: a pickup is bar 0, and what is repeated has its number
        again.
    line, column : int
        Where it was in the file, counted from 1; 0 for one that came from none.
    sign : int
        Which of the written chords, or of the written notes, it is, counted from 0 over the tune as it is written:
        what is repeated is the same sign again. -1 for one that came from no page; it stands for itself alone.

    Two that differ in line, column and sign alone are equal.
    """

    onset: Fraction
    duration: Fraction
    bar: int
    line: int
    column: int
    sign: int

    @cached_property
    def end(self) -> Fraction:
        """Beat at which it ends."""
        return self.onset + self.duration


@dataclass(frozen=True)
class TimedChord(Timed):
    """A chord at its place in a tune; `symbol` is what was written. The rest is as for `Timed`."""

    chord: Chord
    onset: Fraction
    duration: Fraction
    symbol: str
    bar: int
    line: int = field(default=0, compare=False)
    column: int = field(default=0, compare=False)
    sign: int = field(default=-1, compare=False)


@dataclass(frozen=True)
class TimedNote(Timed):
    """A note of the melody: the note that sounds, with its octave. The rest is as for `Timed`."""

    note: Note
    onset: Fraction
    duration: Fraction
    bar: int
    line: int = field(default=0, compare=False)
    column: int = field(default=0, compare=False)
    sign: int = field(default=-1, compare=False)


@dataclass(frozen=True)
class LeadSheet:
    """A tune: its chords in order, repeats written out, its melody if it has one, and its form.

    Parameters
    ----------
    title : str
        Kept on one line, with single spaces.
    tempo : float
        Beats a minute, from 10 to 500.
    beats_per_bar : int
        From 1 to 12.
    key : Key
    chords : tuple of TimedChord
        One at least. Where no chord sounds there is a gap.
    melody : tuple of TimedNote, optional
        One voice, in the octaves from -1 to 9.
    form : tuple of FormBar, optional
        The bars as they are written, in the order of the page; see `written_bars`.
    remarks : tuple of str, optional
        What a reader of a file has to say about it, a sentence each: what was left out.

    Two tunes that sound alike are equal whatever their form and the remarks on them.

    Raises ValueError for what is out of these bounds, for chords or notes that are out of order or overlap, or for a
    note that has more than a double sharp or flat.
    """

    title: str
    tempo: float
    beats_per_bar: int
    key: Key
    chords: tuple[TimedChord, ...]
    melody: tuple[TimedNote, ...] = ()
    form: tuple[FormBar, ...] = field(default=(), compare=False)
    remarks: tuple[str, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", known_title(self.title))
        object.__setattr__(self, "tempo", float(known_tempo(self.tempo)))
        object.__setattr__(self, "chords", _all_of(TimedChord, self.chords, "the chords"))
        object.__setattr__(self, "melody", _all_of(TimedNote, self.melody, "the notes"))
        object.__setattr__(self, "form", _all_of(FormBar, self.form, "the bars of the form"))
        if not isinstance(self.key, Key):
            raise ValueError(f"a key is given as one, such as Key(Note.named('E♭'), 'minor'), not {self.key!r}")
        tonic = writable(self.key.tonic)
        object.__setattr__(self, "key", Key(Note(tonic.letter, tonic.half_sharps, 4), self.key.mode))
        if not is_whole(self.beats_per_bar) or not SHORTEST_BAR <= self.beats_per_bar <= LONGEST_BAR:
            raise ValueError(
                f"a bar has a whole number of beats from {SHORTEST_BAR} to {LONGEST_BAR}, not {self.beats_per_bar!r}"
            )
        if not self.chords:
            raise ValueError("a lead sheet has at least one chord")
        for timed in self.chords:
            writable_chord(timed.chord)
        for sung in self.melody:
            writable(sung.note)
        for things in (self.chords, self.melody):
            end = Fraction(0)
            for thing in things:
                if thing.duration <= 0 or thing.onset < end:
                    raise ValueError(f"what begins at beat {thing.onset} lasts no time, or begins before {end}")
                end = thing.end

    @property
    def bars(self) -> int:
        """How many bars are played, a pickup among them, to the one in which the last chord or note ends."""
        last = max([self.chords[-1].end, *(note.end for note in self.melody[-1:])])
        return math.ceil(last / self.beats_per_bar)

    @property
    def beats(self) -> int:
        """Length in beats: whole bars."""
        return self.bars * self.beats_per_bar

    @property
    def written_bars(self) -> tuple[FormBar, ...]:
        """The bars as they are written: `form`, or as many plain bars as are played where the tune has none."""
        if self.form:
            return self.form
        length = self.beats_per_bar
        return tuple(FormBar(bar + 1, Fraction(bar * length), Fraction(length)) for bar in range(self.bars))


def _all_of(kind: type[_Given], given: Iterable[_Given], what: str) -> tuple[_Given, ...]:
    listed = tuple(given) if isinstance(given, Iterable) else (given,)
    wrong = [thing for thing in listed if not isinstance(thing, kind)]
    if wrong:
        raise ValueError(f"{what} of a tune are {kind.__name__}s, not {shortened(wrong[0])}")
    return listed


def known_title(title: str) -> str:
    """A title on one line, with single spaces. Raises ValueError for one that cannot be printed."""
    if not isinstance(title, str):
        raise ValueError(f"the title of a tune is text, not {shortened(title)}")
    plain = " ".join(title.split())
    if found := unprintable(plain):
        raise ValueError(f"{found[1]} in the title cannot be printed: take it away")
    if len(plain) > LONGEST_TITLE:
        raise ValueError(f"a title has {LONGEST_TITLE} letters at most, and {shortened(plain, 20)} has {len(plain):,}")
    return plain


def known_tempo(tempo: float) -> float:
    """A tempo in beats a minute. Raises ValueError for one that nobody plays."""
    is_number = isinstance(tempo, Real)
    if not is_number or not SLOWEST <= tempo <= FASTEST:
        given = in_figures(tempo) if is_number else shortened(tempo)
        raise ValueError(f"a tempo must be between {SLOWEST} and {FASTEST} beats a minute, not {given}")
    return tempo


def bar_length(beats: int, beat_type: int) -> int:
    """Quarter notes in a bar of a metre such as 3/4 or 6/8.

    Raises ValueError if they are not a whole number from 1 to 12.

    >>> bar_length(6, 8), bar_length(2, 2)
    (3, 4)
    """
    if beats < 1 or beat_type not in (1, 2, 4, 8, 16, 32):
        raise ValueError(f"{beats}/{beat_type} is not a metre: write one such as 4/4, 3/4 or 6/8")
    quarters = Fraction(4 * beats, beat_type)
    if quarters.denominator > 1:
        raise ValueError(
            f"a bar of {beats}/{beat_type} has {float(quarters):g} quarter notes. Beats are quarter notes, a whole "
            f"number of them to a bar: write the tune in {beats}/4, with longer notes and a faster tempo"
        )
    if not SHORTEST_BAR <= quarters <= LONGEST_BAR:
        raise ValueError(
            f"a bar of {beats}/{beat_type} has {quarters} quarter notes; {SHORTEST_BAR} to {LONGEST_BAR} can be read"
        )
    return int(quarters)


def writable(note: Note) -> Note:
    """A note of a tune. Raises ValueError for one out of all octaves, or with too many accidentals to be read."""
    if not _LOWEST_OCTAVE <= note.octave <= _HIGHEST_OCTAVE:
        raise ValueError(f"{cut(str(note))} is out of range: the octaves go from {_LOWEST_OCTAVE} to {_HIGHEST_OCTAVE}")
    if abs(note.half_sharps) > _MOST_HALF_SHARPS:
        raise ValueError(f"{cut(note.name)} has more than a double sharp or flat: name it by another letter")
    return note


def writable_chord(chord: Chord) -> Chord:
    """A chord of a tune. Raises ValueError for a root or a bass with too many accidentals to be read."""
    for note in (chord.root, chord.bass or chord.root):
        writable(note)
    return chord
