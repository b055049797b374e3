"""A tune in its player's hands: what was chosen by hand, solved around it, and all that can be undone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from tunelib.harmony import (
    NO_CHOICES,
    Alternative,
    Choice,
    Choices,
    LeadSheet,
    Onward,
    RetunedChord,
    RetunedTune,
    Taste,
    alternatives,
    parse_lead_sheet,
    place_of_sign,
    retune,
    signs,
    ways_onward,
    with_chords_after,
)
from tunelib.pitch import Note, Tuning

MOST_UNDONE = 200


@dataclass(frozen=True)
class _State:
    taste: Taste
    choices: Choices
    sheet: LeadSheet
    text: str


class Arranging:
    """A tune that is solved anew whenever its player decides something.

    Parameters
    ----------
    sheet : LeadSheet
    tuning : Tuning
    taste : Taste
    choices : Choices, optional
    text : str, optional
        The lead sheet as text, into which `go_by` writes; nothing is written without.

    The solution is in ``tune``. Chords are named by the number of their sign, as `tunelib.harmony.signs` has it. Raises
    ValueError as `tunelib.harmony.retune` does, and then everything stays as it was.
    """

    def __init__(
        self, sheet: LeadSheet, tuning: Tuning, taste: Taste, choices: Choices = NO_CHOICES, text: str = ""
    ) -> None:
        self.tuning = tuning
        self._now = _State(taste, choices, sheet, text)
        self._before: list[_State] = []
        self._after: list[_State] = []
        self.tune: RetunedTune = self._solved(self._now)
        self._signs = signs(sheet)

    @property
    def sheet(self) -> LeadSheet:
        """The tune as it is written."""
        return self._now.sheet

    @property
    def text(self) -> str:
        """The same as text, if it came from one."""
        return self._now.text

    @property
    def taste(self) -> Taste:
        """What the player likes."""
        return self._now.taste

    @property
    def choices(self) -> Choices:
        """What was chosen by hand."""
        return self._now.choices

    @property
    def signs(self) -> list[int]:
        """The number of the sign of each chord, in the order in which they are played."""
        return self._signs

    @property
    def can_undo(self) -> bool:
        """Whether there is something to be undone."""
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        """Whether something was undone and can be done again."""
        return bool(self._after)

    def chord(self, sign: int) -> RetunedChord:
        """The chord of a sign, where it is first played. Raises ValueError for a sign that is not there."""
        return self.tune.chords[place_of_sign(self.sheet, sign)]

    def is_locked(self, sign: int) -> bool:
        """Whether the player decided about this chord, alone or wherever its symbol is."""
        return sign in self.choices.chords or self.is_locked_everywhere(sign)

    def is_locked_everywhere(self, sign: int) -> bool:
        """Whether the player decided about the symbol of this chord wherever it is."""
        return self.chord(sign).written.chord.symbol in self.choices.symbols

    def kept(self, sign: int) -> tuple[Note, ...]:
        """The notes of a chord that are to stay: all, if it is locked in its layout."""
        choice = self.choices.chords.get(sign)
        return () if choice is None else choice.notes or choice.keep

    def lost(self) -> list[RetunedChord]:
        """The chords that have not all the notes that were to stay, since none of their layouts has them."""
        found = []
        for sign in self.choices.chords:
            chord = self.chord(sign)
            if {note.step(self.tuning) for note in self.kept(sign)} - {note.step(self.tuning) for note in chord.notes}:
                found.append(chord)
        return found

    def alternatives(self, sign: int) -> tuple[Alternative, ...]:
        """What else a chord could be, best first."""
        return alternatives(self.tune, sign)

    def like(self, taste: Taste) -> None:
        """Solve for another taste."""
        self._go(replace(self._now, taste=taste))

    def choose(self, choices: Choices) -> None:
        """Solve around other choices."""
        self._go(replace(self._now, choices=choices))

    def take(self, sign: int, alternative: Alternative) -> None:
        """Have an alternative in a chord's place."""
        self.choose(self.choices.at(sign, alternative.chord, alternative.notes))

    def ways_onward(self, sign: int) -> tuple[Onward, ...]:
        """Ways from a chord to the next that no piano has, best first; none for a tune that did not come from text."""
        return ways_onward(self.tune, sign) if self.text else ()

    def go_by(self, sign: int, onward: Onward) -> None:
        """Put the passing chords of a way into the tune after a chord, in its last beats, and lock them as they are.

        Raises ValueError where the text cannot have them.
        """
        text = with_chords_after(self.text, sign, onward.added)
        sheet = parse_lead_sheet(text)
        choices = still_meant(self.choices, self.sheet, sheet)
        for number, chord in enumerate(onward.way.passing, start=sign + 1):
            choices = choices.at(number, chord)
        self._go(_State(self.taste, choices, sheet, text))

    def lock(self, numbers: Iterable[int]) -> None:
        """Have chords stay as they are now, each in its tuning and its layout."""
        choices = self.choices
        for sign in numbers:
            chord = self.chord(sign)
            choices = choices.at(sign, chord.chord, chord.notes)
        self.choose(choices)

    def free(self, numbers: Iterable[int]) -> None:
        """Leave chords to the search again."""
        choices = self.choices
        for sign in numbers:
            choices = choices.without(sign)
        self.choose(choices)

    def lock_everywhere(self, sign: int) -> None:
        """Have a symbol tuned as this chord is wherever it is."""
        chord = self.chord(sign)
        self.choose(self.choices.everywhere(chord.written.chord.symbol, chord.chord))

    def free_everywhere(self, sign: int) -> None:
        """Leave a symbol to the search again."""
        self.choose(self.choices.without_symbol(self.chord(sign).written.chord.symbol))

    def keep(self, sign: int, note: Note) -> None:
        """Have a chord keep its tuning and one more note of its upper voices, or, if it is kept already, let it go."""
        chord, kept, place = self.chord(sign), self.kept(sign), note.step(self.tuning)
        if kept and len(kept) == len(chord.notes):
            kept = kept[1:]  # of a whole layout, which is loosened, all upper voices but this one stay
        rest = tuple(other for other in kept if other.step(self.tuning) != place)
        keep = rest if len(rest) < len(kept) else (*kept, note)
        self.choose(self.choices.at(sign, chord.chord, keep=keep) if keep else self.choices.without(sign))

    def undo(self) -> None:
        """Go back to what was before the last change."""
        self._move(self._before, self._after)

    def redo(self) -> None:
        """Do again what was undone last."""
        self._move(self._after, self._before)

    def _move(self, source: list[_State], other: list[_State]) -> None:
        if not source:
            return
        self.tune = self._solved(source[-1])
        other.append(self._now)
        self._now = source.pop()
        self._signs = signs(self.sheet)

    def _go(self, state: _State) -> None:
        if state == self._now:
            return
        self.tune = self._solved(state)
        self._before = [*self._before[1 - MOST_UNDONE :], self._now]
        self._after = []
        self._now = state
        self._signs = signs(self.sheet)

    def _solved(self, state: _State) -> RetunedTune:
        return retune(state.sheet, self.tuning, state.taste, state.choices)


def still_meant(choices: Choices, before: LeadSheet, after: LeadSheet) -> Choices:
    """Of the choices for a tune, those that still make sense now that its text has changed.

    A symbol must still be there, and a chord must still be written as it was, in its bar and on its beat.
    """
    symbols = {timed.chord.symbol for timed in after.chords}
    here, there = _placed(before), _placed(after)
    place_of = {sign: place for place, sign in here.items()}
    chords: dict[int, Choice] = {}
    for sign, choice in choices.chords.items():
        if place_of.get(sign) in there:
            chords[there[place_of[sign]]] = choice
    return Choices({symbol: chord for symbol, chord in choices.symbols.items() if symbol in symbols}, chords)


def _placed(sheet: LeadSheet) -> dict[tuple[object, ...], int]:
    """The signs of a tune by their bars, their beats and how they are written."""
    found: dict[tuple[object, ...], int] = {}
    for sign, timed in zip(signs(sheet), sheet.chords, strict=True):
        found.setdefault((timed.bar, timed.onset % sheet.beats_per_bar, timed.chord.symbol), sign)
    return found
