"""Written bars played through: the tune that they make, with every chord and note where it sounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise

from tunelib.harmony.form import FormBar
from tunelib.harmony.playing_order import playing_order
from tunelib.harmony.rhythm import check_rhythm
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.harmony.written_bars import WrittenBar, WrittenNote
from tunelib.pitch import Key


@dataclass(frozen=True)
class Turn:
    """A bar at one of the times that it is played: its place on the page, and the beats that it takes.

    A pickup that comes `in_rest` takes the rest at the end of the bar before it, and no beats of its own.
    """

    place: int
    onset: Fraction
    beats: Fraction
    in_rest: bool = False

    @property
    def end(self) -> Fraction:
        """Beat at which the next bar begins."""
        return self.onset + self.beats


def turns_of(bars: Sequence[WrittenBar], beats_per_bar: int) -> list[Turn]:
    """The bars as they are played, in order. Raises ValueError as `playing_order` does.

    A short first bar is a pickup, put at the end of the first bar. It is played again where the bar before it leaves
    room: one that is short by as much, or rests there. Any other short bar stays short if the one played after it
    completes it, and is filled up if not.
    """
    order = playing_order(bars)
    turns: list[Turn] = []
    now = beats_per_bar - bars[order[0]].beats
    until = Fraction(-1)  # where in the last turn its notes end
    for turn, place in enumerate(order):
        beats = bars[place].beats
        following = bars[order[turn + 1]].beats if turn + 1 < len(order) else Fraction(0)
        within = now % beats_per_bar
        if turn and place == 0 and beats < beats_per_bar and not within:
            free = turns[-1].beats - beats
            if free >= max(until, Fraction(0)) and all(sign.offset < free for sign in bars[turns[-1].place].chords):
                turns.append(Turn(0, now - beats, beats, in_rest=True))
                until = _until(bars[0], until == free)
            continue
        completes = within + beats == beats_per_bar or (not within and beats + following == beats_per_bar)
        until = _until(bars[place], bool(turns) and until == turns[-1].beats)
        turns.append(Turn(place, now, beats if completes else beats_per_bar - within))
        now = turns[-1].end
    return turns


def _until(bar: WrittenBar, sounding: bool) -> Fraction:
    """Where in a bar its notes end, if they do not begin with a tie to nothing; -1 if none sounds in it."""
    until = Fraction(0 if sounding else -1)
    for note in bar.melody:
        if note.note is not None or note.offset == until:
            until = note.offset + note.duration
    return until


def written_out(bars: Sequence[WrittenBar], title: str, tempo: float, beats_per_bar: int, key: Key) -> LeadSheet:
    """The tune that written bars make when they are played through.

    Raises ValueError as `playing_order`, `check_rhythm` and `LeadSheet` do, and if no bar has a chord.
    """
    if not bars:
        raise ValueError("there are no bars")
    turns = turns_of(bars, beats_per_bar)
    lengths: dict[int, Fraction] = {}
    onsets: dict[int, Fraction] = {}
    for turn in turns:
        onsets.setdefault(turn.place, turn.onset)
        lengths[turn.place] = min(turn.beats, lengths.get(turn.place, turn.beats))
    numbers = _numbers([lengths[place] for place in range(len(bars))], beats_per_bar)
    chords, melody = _chords(bars, turns, numbers), _melody(bars, turns, numbers)
    if not chords:
        raise ValueError(f"{bars[-1].where}: the tune ends here without a single chord")
    if not chords[-1].duration:
        end = -(-turns[-1].end // beats_per_bar) * Fraction(beats_per_bar)
        chords[-1] = replace(chords[-1], duration=end - chords[-1].onset)
    check_rhythm(chords)
    check_rhythm(melody)
    form = [
        FormBar(
            numbers[place],
            onsets[place],
            lengths[place],
            bar.opens,
            bar.times,
            bar.endings,
            bar.section,
            bar.double,
            bar.marks,
        )
        for place, bar in enumerate(bars)
    ]
    return LeadSheet(title, tempo, beats_per_bar, key, tuple(chords), tuple(melody), tuple(form))


def _numbers(lengths: Sequence[Fraction], beats_per_bar: int) -> list[int]:
    """The number of each bar as printed: 0 for a pickup, and one for two that make a bar together."""
    numbers = [0 if lengths[0] < beats_per_bar else 1]
    whole = True  # whether the last bar is one, by itself or with the one before it
    for before, length in pairwise(lengths):
        completes = not whole and before + length == beats_per_bar
        numbers.append(numbers[-1] + (not completes))
        whole = completes or length == beats_per_bar
    return numbers


def _chords(bars: Sequence[WrittenBar], turns: Sequence[Turn], numbers: Sequence[int]) -> list[TimedChord]:
    """The chords; the last lasts no time yet if nothing ends it."""
    first = list(accumulate((len(bar.chords) for bar in bars), initial=0))
    chords: list[TimedChord] = []
    sounding = False
    for turn in turns:
        for sign, written in enumerate(bars[turn.place].chords, start=first[turn.place]):
            onset = turn.onset + written.offset
            if turn.in_rest and written.chord is None:
                continue  # the chord of the bar that it comes in goes on
            if sounding:
                chords[-1] = replace(chords[-1], duration=onset - chords[-1].onset)
            sounding = written.chord is not None
            if written.chord is not None:
                number, where = numbers[turn.place], (written.line, written.column)
                chords.append(TimedChord(written.chord, onset, Fraction(0), written.symbol, number, *where, sign))
    return chords


def _melody(bars: Sequence[WrittenBar], turns: Sequence[Turn], numbers: Sequence[int]) -> list[TimedNote]:
    first = list(accumulate((len(bar.melody) for bar in bars), initial=0))
    melody: list[TimedNote] = []
    for turn in turns:
        for sign, written in enumerate(bars[turn.place].melody, start=first[turn.place]):
            _sing(melody, written, turn.onset + written.offset, numbers[turn.place], sign)
    return melody


def _sing(melody: list[TimedNote], written: WrittenNote, onset: Fraction, bar: int, sign: int) -> None:
    """Add a note to a melody, or make the last one longer."""
    before = melody[-1] if melody else None
    if written.held and before and before.end == onset and written.note in (None, before.note):
        melody[-1] = replace(before, duration=before.duration + written.duration)
    elif written.note is not None:
        melody.append(TimedNote(written.note, onset, written.duration, bar, written.line, written.column, sign))
