"""A tune as it is played: its chords and its melody in beats, with the repeats written out.

Beats are quarter notes throughout, whatever the metre says. Two readers make such tunes: `tunelib.harmony.lead_sheet`
from text, and `tunelib.harmony.lead_sheet_xml` from MusicXML. Both collect the bars as they are written, with their
repeat signs, and `written_out` plays them through.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import accumulate, pairwise
from numbers import Real
from typing import TypeVar

from tunelib.harmony.chords import Chord
from tunelib.harmony.form import FormBar
from tunelib.pitch import Key, Note, cut, in_figures, is_whole, shortened, unprintable

MOST_BARS = 10_000
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

    @property
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
        The bars as they are written, in the order of the page; see `written_bars`. Two tunes that sound alike are
        equal whatever their form.

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


@dataclass(frozen=True)
class WrittenChord:
    """A chord sign in a bar, a number of beats from its beginning; without a chord, the sign that none sounds."""

    offset: Fraction
    chord: Chord | None
    symbol: str
    line: int
    column: int


@dataclass(frozen=True)
class WrittenNote:
    """A note in a bar. One that is `held` is tied to what comes before it; without a note, it holds whatever it is."""

    offset: Fraction
    duration: Fraction
    note: Note | None
    held: bool
    line: int
    column: int


@dataclass
class WrittenBar:
    """A bar as it is written, with its repeat signs.

    Parameters
    ----------
    where : str
        What an error calls it, such as ``"line 3, column 5"`` or ``"measure 12"``.
    beats : Fraction
        Its length, which for an upbeat is less than the metre's.
    chords : list of WrittenChord
    melody : list of WrittenNote
    opens : bool
        Whether a repeat begins with it.
    times : int
        How many times the repeat that ends with it is played; 1 where none ends.
    endings : tuple of int
        The passes for which an ending is played that begins with it; empty where none begins.
    section, double, marks
        As in `FormBar`.
    """

    where: str
    beats: Fraction
    chords: list[WrittenChord] = field(default_factory=list)
    melody: list[WrittenNote] = field(default_factory=list)
    opens: bool = False
    times: int = 1
    endings: tuple[int, ...] = ()
    section: str = ""
    double: bool = False
    marks: tuple[str, ...] = ()


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


def playing_order(bars: Sequence[WrittenBar]) -> list[int]:
    """Places of the bars, from 0, in the order in which they are played.

    A repeat goes back to where it was opened; failing that, to the end of the repeat before, or to the beginning. The
    last ending of several goes on into what follows it (common practice).

    Raises ValueError, naming the bar, for a repeat that is not closed, for endings that are not numbered 1, 2 and so on
    or do not close where they have to, or if the whole has more than 10,000 bars.
    """
    order: list[int] = []
    at, entered = 0, -1  # `entered` is the bar of a last ending to which the repeat before has led
    while at < len(bars):
        close = _close(bars, at)
        if close is None:
            if bars[at].opens:
                raise ValueError(f"{bars[at].where}: the repeat that begins here is not closed: put :| where it ends")
            after = next((place for place in range(at + 1, len(bars)) if bars[place].opens), len(bars))
            _refuse_endings(bars, range(at, after), entered)
            order += range(at, after)
            at = after
        else:
            played, at, entered = _repeat(bars, at, close)
            order += played
        if len(order) > MOST_BARS:
            raise ValueError(
                f"{bars[at - 1].where}: with its repeats written out the tune has more than {MOST_BARS} bars"
            )
    return order


def _close(bars: Sequence[WrittenBar], start: int) -> int | None:
    """The bar that closes a repeat from a bar on; None if another is opened before, or none closes."""
    for place in range(start, len(bars)):
        if place > start and bars[place].opens:
            return None
        if bars[place].times > 1:
            return place
    return None


def _refuse_endings(bars: Sequence[WrittenBar], places: range, entered: int = -1) -> None:
    for place in places:
        if bars[place].endings and place != entered:
            raise ValueError(
                f"{bars[place].where}: ending {bars[place].endings[0]} belongs to no repeat: "
                "the ending before it closes with :|, and the first follows what is repeated"
            )


def _repeat(bars: Sequence[WrittenBar], start: int, close: int) -> tuple[list[int], int, int]:
    """What a repeat plays, the bar that comes after it, and the same if that is its last ending, else -1."""
    first = next((place for place in range(start, close + 1) if bars[place].endings), None)
    if first is None:
        return [*range(start, close + 1)] * bars[close].times, close + 1, -1
    closing = [range(first, close + 1)]  # the endings after which a repeat sign leads back
    after, last = close + 1, -1
    while after < len(bars) and bars[after].endings and not bars[after].opens:
        end = _close(bars, after)
        if end is None:
            last = after
            break
        closing.append(range(after, end + 1))
        after = end + 1
    played: list[int] = []
    due = 1
    for span in closing:
        _refuse_endings(bars, span[1:])
        for number in bars[span[0]].endings:
            _check_due(bars[span[0]], number, due)
            played += [*range(start, first), *span]
            due += 1
    if last >= 0:
        _check_due(bars[last], bars[last].endings[0], due)
        if len(bars[last].endings) > 1:
            raise ValueError(f"{bars[last].where}: an ending that is played more than once closes with :|")
    elif len(closing) > 1:
        raise ValueError(
            f"{bars[closing[-1][0]].where}: ending {due - 1} closes with :| and no ending {due} follows: end it with "
            "|, or put |: where the repeat begins that ends there"
        )
    return [*played, *range(start, first)], after, last  # after a first ending alone, the next time goes past it


def _check_due(bar: WrittenBar, number: int, due: int) -> None:
    if number != due:
        raise ValueError(
            f"{bar.where}: ending {number} comes where ending {due} is due: endings are numbered 1, 2 and so on"
        )


def written_out(bars: Sequence[WrittenBar], title: str, tempo: float, beats_per_bar: int, key: Key) -> LeadSheet:
    """The tune that written bars make when they are played through.

    A short first bar is a pickup, put at the end of the first bar. Any other short bar stays short if the one
    played after it completes it, and is filled up with silence if not.

    Raises ValueError as `playing_order` and `LeadSheet` do, and if no bar has a chord.
    """
    if not bars:
        raise ValueError("there are no bars")
    order = playing_order(bars)
    numbers = _numbers(bars, beats_per_bar)
    chord_signs = list(accumulate((len(bar.chords) for bar in bars), initial=0))
    note_signs = list(accumulate((len(bar.melody) for bar in bars), initial=0))
    chords: list[TimedChord] = []
    melody: list[TimedNote] = []
    onsets: dict[int, Fraction] = {}
    lengths: dict[int, Fraction] = {}
    now = beats_per_bar - bars[order[0]].beats
    sounding = False
    for turn, place in enumerate(order):
        bar, number = bars[place], numbers[place]
        onsets.setdefault(place, now)
        for sign, written in enumerate(bar.chords, start=chord_signs[place]):
            onset = now + written.offset
            if sounding:
                chords[-1] = replace(chords[-1], duration=onset - chords[-1].onset)
            sounding = written.chord is not None
            if written.chord is not None:
                where = written.line, written.column, sign
                chords.append(TimedChord(written.chord, onset, Fraction(0), written.symbol, number, *where))
        for sign, note in enumerate(bar.melody, start=note_signs[place]):
            _sing(melody, note, now + note.offset, number, sign)
        following = bars[order[turn + 1]].beats if turn + 1 < len(order) else Fraction(0)
        within = now % beats_per_bar
        if within + bar.beats == beats_per_bar or (not within and bar.beats + following == beats_per_bar):
            length = bar.beats
        else:
            length = beats_per_bar - within
        lengths[place] = min(length, lengths.get(place, length))
        now += length
    if not chords:
        raise ValueError(f"{bars[-1].where}: the tune ends here without a single chord")
    if sounding:
        end = -(-now // beats_per_bar) * Fraction(beats_per_bar)
        chords[-1] = replace(chords[-1], duration=end - chords[-1].onset)
    form = [
        FormBar(
            number, onsets[place], lengths[place], bar.opens, bar.times, bar.endings, bar.section, bar.double, bar.marks
        )
        for place, (bar, number) in enumerate(zip(bars, numbers, strict=True))
    ]
    return LeadSheet(title, tempo, beats_per_bar, key, tuple(chords), tuple(melody), tuple(form))


def _numbers(bars: Sequence[WrittenBar], beats_per_bar: int) -> list[int]:
    """The number of each bar as printed: 0 for a pickup, and one for two that make a bar together."""
    numbers = [0 if bars[0].beats < beats_per_bar else 1]
    completed = True  # whether the last bar is a whole one, by itself or with the one before it
    for before, bar in pairwise(bars):
        completed = completed or before.beats + bar.beats != beats_per_bar
        numbers.append(numbers[-1] + completed)
        completed = not completed or bar.beats == beats_per_bar
    return numbers


def _sing(melody: list[TimedNote], written: WrittenNote, onset: Fraction, bar: int, sign: int) -> None:
    """Add a note to a melody, or make the last one longer."""
    before = melody[-1] if melody else None
    if written.held and before and before.end == onset and written.note in (None, before.note):
        melody[-1] = replace(before, duration=before.duration + written.duration)
    elif written.note is not None:
        melody.append(TimedNote(written.note, onset, written.duration, bar, written.line, written.column, sign))
