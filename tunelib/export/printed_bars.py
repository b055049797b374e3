"""A score as it stands on the page: its written bars once each, whatever repeats and jumps make of them.

A score has the times at which notes are played. The form of a tune (`tunelib.harmony.FormBar`) says when each of its
bars is played for the first time: what is played in it then is what is written, and what is played in it later is left
out. On the page there are *places*, in beats too: the bar that is printed n-th, from 0, begins n times the metre from
the beginning, or, if it is a pickup, so much later that it ends where a full bar would. So a place says the bar, and
the beat in it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from tunelib.harmony import Chord, FormBar
from tunelib.score import Score, ScoreNote

_FINEST = 192


@dataclass(frozen=True)
class PrintedNote:
    """A note from one place to another. One that is `held` is tied to what was played before, from elsewhere on the
    page; one that is `left` goes on in a bar that does not follow."""

    note: ScoreNote
    start: Fraction
    end: Fraction
    held: bool = False
    left: bool = False


@dataclass(frozen=True)
class PrintedBars:
    """The bars of a page in its order, in a metre of so many beats."""

    form: tuple[FormBar, ...]
    beats: int

    def starts(self, bar: int) -> Fraction:
        """The place at which a bar begins; bars are counted from 0."""
        return self._starts[bar]

    def ends(self, bar: int) -> Fraction:
        """The place at which a bar ends."""
        return self.starts(bar) + self.form[bar].beats

    def follows(self, bar: int) -> bool:
        """Whether a bar is first played right after the one that is printed before it."""
        return bar > 0 and self.form[bar - 1].onset + self.form[bar - 1].beats == self.form[bar].onset

    def notes(self, notes: Sequence[ScoreNote]) -> list[PrintedNote]:
        """The notes as they are written, in order of place. What is played in no bar for the first time is left out."""
        found = [written for note in notes for written in self._written(note)]
        return sorted(found, key=lambda written: (written.start, -written.end, written.held, written.left))

    def chords(self, chords: Sequence[tuple[Fraction, Chord | None]]) -> list[tuple[Fraction, Chord | None]]:
        """Chords by the times from which they hold, as they are written, in order of place.

        The chord that holds already where a bar begins is written again if the bar does not follow the one before.
        """
        times = [time for time, _ in chords]
        found: list[tuple[Fraction, Chord | None]] = []
        for bar, printed in enumerate(self.form):
            first, last = (bisect_left(times, time) for time in (printed.onset, printed.onset + printed.beats))
            if bar and not self.follows(bar) and first and times[first : first + 1] != [printed.onset]:
                found += [(self.starts(bar), chord) for _, chord in chords[first - 1 : first] if chord]
            found += [(self.starts(bar) + time - printed.onset, chord) for time, chord in chords[first:last]]
        return found

    @cached_property
    def _starts(self) -> list[Fraction]:
        within = [printed.onset % self.beats for printed in self.form]
        return [
            bar * self.beats + (late if late + printed.beats <= self.beats else Fraction(0))
            for bar, (printed, late) in enumerate(zip(self.form, within, strict=True))
        ]

    @cached_property
    def _as_played(self) -> tuple[list[int], list[float]]:
        """The bars in the order in which they are first played, and when they are: floats, which are found sooner."""
        order = sorted(range(len(self.form)), key=lambda bar: self.form[bar].onset)
        return order, [float(self.form[bar].onset) for bar in order]

    def _written(self, note: ScoreNote) -> list[PrintedNote]:
        order, onsets = self._as_played
        begin, end = exact_time(note.onset), exact_time(note.end)
        found: list[PrintedNote] = []
        for at in range(max(0, bisect_right(onsets, float(begin)) - 1), bisect_left(onsets, float(end))):
            bar = order[at]
            onset = self.form[bar].onset
            first, last = max(begin, onset), min(end, onset + self.form[bar].beats)
            if first >= last:
                continue
            start, stop = (self.starts(bar) + time - onset for time in (first, last))
            before = found[-1] if found else None
            if before and first == onset and self.follows(bar) and before.end == self.ends(bar - 1):
                found[-1] = replace(before, end=stop, left=last < end)
            else:
                found.append(PrintedNote(note, start, stop, held=first > begin, left=last < end))
        return found


def plain_bars(score: Score, whole: bool) -> tuple[FormBar, ...]:
    """The bars of a score that has no form: one after another, the last one `whole` or as long as its notes."""
    end, beats = exact_time(score.beats), score.beats_per_bar
    onsets = [Fraction(onset) for onset in range(0, -(-end // beats) * beats, beats)]
    lengths = [Fraction(beats) if whole else min(Fraction(beats), end - onset) for onset in onsets]
    return tuple(FormBar(number, *span) for number, span in enumerate(zip(onsets, lengths, strict=True), start=1))


def exact_time(beats: Fraction | float) -> Fraction:
    """A time as an exact fraction: a float is taken for the nearest one of small denominator that it stands for."""
    return beats if isinstance(beats, Fraction) else Fraction(beats).limit_denominator(_FINEST)
