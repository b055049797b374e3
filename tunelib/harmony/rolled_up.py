"""A tune back on its page: the bars as they are written, found again from what is played and from the form."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from fractions import Fraction

from tunelib.harmony.tune import LeadSheet, Timed, TimedNote
from tunelib.harmony.unrolled import turns_of, written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote

_NO_CHORD = "N.C."


def rolled_up(sheet: LeadSheet) -> list[WrittenBar]:
    """The bars of a tune as they are written, from which `written_out` makes an equal one with an equal form.

    Raises ValueError for a tune that is not what its form plays.
    """
    bars = [
        WrittenBar(
            f"bar {bar.number}",
            bar.beats,
            opens=bar.opens,
            times=bar.times,
            endings=bar.endings,
            section=bar.section,
            double=bar.double,
            marks=bar.marks,
        )
        for bar in sheet.written_bars
    ]
    _Page(sheet, bars).fill()
    if sheet.form:
        again = written_out(bars, sheet.title, sheet.tempo, sheet.beats_per_bar, sheet.key)
        if again != sheet or again.form != sheet.form:
            raise ValueError(
                "what is played in this tune is not what its form says: change both alike, or drop the form"
            )
    return bars


class _Page:
    """The bars of a page while they are filled from what is played."""

    def __init__(self, sheet: LeadSheet, bars: list[WrittenBar]) -> None:
        self._sheet, self._bars = sheet, bars
        self._turns = [turn for turn in turns_of(bars, sheet.beats_per_bar) if not turn.in_rest]
        self._onsets = [turn.onset for turn in self._turns]

    def fill(self) -> None:
        """Put chords and notes into the bars."""
        self._fill_chords()
        self._fill_melody()

    def _at(self, beat: Fraction) -> int:
        """Which turn is on at a beat, or the first."""
        return max(0, bisect_right(self._onsets, beat) - 1)

    def _belongs(self, timed: Timed, at: int) -> bool:
        """Whether it is written in the bar whose turn it is, and not in a pickup that comes in there."""
        return not self._sheet.form or timed.bar == self._sheet.form[self._turns[at].place].number

    def _fill_chords(self) -> None:
        signs: dict[int, dict[Fraction, WrittenChord]] = defaultdict(dict)
        chords = self._sheet.chords
        for place, timed in enumerate(chords):
            at, end = self._at(timed.onset), self._at(timed.end)
            belongs = self._belongs(timed, at)
            if belongs:
                turn = self._turns[at]
                offset = timed.onset - turn.onset
                sign = WrittenChord(offset, timed.chord, timed.symbol, timed.line, timed.column)
                signs[turn.place][offset] = sign
            followed = place + 1 < len(chords) and chords[place + 1].onset == timed.end
            if not followed and timed.end < self._turns[-1].end and (belongs or at < end):
                turn = self._turns[end]
                offset = timed.end - turn.onset
                signs[turn.place][offset] = WrittenChord(offset, None, _NO_CHORD, 0, 0)
        for place, found in signs.items():
            self._bars[place].chords = [found[offset] for offset in sorted(found)]

    def _fill_melody(self) -> None:
        pieces: list[list[tuple[Fraction, Fraction, bool, TimedNote]]] = [[] for _ in self._turns]
        for timed in self._sheet.melody:
            first = at = self._at(timed.onset)
            now = timed.onset
            while now < timed.end and at < len(self._turns):
                stop = min(timed.end, self._turns[at].end)
                if at > first or self._belongs(timed, at):
                    pieces[at].append((now - self._turns[at].onset, stop - now, at > first, timed))
                now, at = stop, at + 1
        turns: dict[int, list[int]] = defaultdict(list)
        for at, turn in enumerate(self._turns):
            turns[turn.place].append(at)
        for place, alike in turns.items():
            begun = {at: pieces[at][0][2] for at in alike if pieces[at] and not pieces[at][0][0]}
            held = [at for at, tied in begun.items() if tied]
            struck = len(held) < len(begun)
            for offset, length, tied, timed in pieces[held[0] if held else alike[0]]:
                note = None if tied and not struck else timed.note
                written = WrittenNote(offset, length, note, tied, timed.line, timed.column)
                self._bars[place].melody.append(written)
