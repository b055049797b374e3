"""What a player has decided by hand: chords that are tuned and laid out so, whatever the search would do.

A choice is for one chord sign of the tune, which a repeat plays again, or for a symbol wherever it is. Choices are kept
in a small text file beside the tune, in TOML::

    [symbols]
    G7 = "Gharm7"

    [[chords]]
    bar = 7
    beat = 3.0
    written = "Ab7"
    chosen = "Abharm7"
    notes = ["Ab1", "C4", "Eb4", "Ghb4"]

Bars are numbered as they are printed. `notes` is the whole layout, the bass first; `keep` in its place names notes that
are to be among the upper voices; without either the search lays the chord out.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Any

import tomllib

from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import known_sign, signs
from tunelib.harmony.tune import LeadSheet, TimedChord
from tunelib.pitch import Note, is_number, is_whole, shortened

_KEYS = {"bar", "beat", "written", "chosen", "notes", "keep"}
_LONGEST = 1_000_000  # characters


@dataclass(frozen=True)
class Choice:
    """What one chord is to be.

    Parameters
    ----------
    chord : Chord
        As it is tuned.
    notes : tuple of Note, optional
        Its whole layout, the bass first and then the upper voices, rising.
    keep : tuple of Note
        Notes that are to be among its upper voices, where `notes` are not given.

    Raises ValueError for anything else.
    """

    chord: Chord
    notes: tuple[Note, ...] | None = None
    keep: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        if not isinstance(self.chord, Chord):
            raise ValueError(f"a chord is chosen as one, such as Chord.parse('Gharm7'), not {shortened(self.chord)}")
        if self.notes is not None:
            object.__setattr__(self, "notes", tuple(self.notes))
        object.__setattr__(self, "keep", tuple(self.keep))
        every = (*(self.notes or ()), *self.keep)
        if not all(isinstance(note, Note) for note in every):
            raise ValueError(f"a layout is chosen as notes, such as Note.parse('E4'), not {shortened(every)}")
        if self.notes is not None and len(self.notes) < 2:
            raise ValueError(f"a layout has a bass and at least one voice over it, not {shortened(self.notes)}")
        if self.notes is not None and self.keep:
            raise ValueError("give the whole layout or the notes to keep, not both")


@dataclass(frozen=True)
class Choices:
    """Choices for symbols wherever they are, and for single chord signs, which go before those.

    Parameters
    ----------
    symbols : mapping of str to Chord
        By `Chord.symbol` of the chord as it is written: as it is tuned.
    chords : mapping of int to Choice
        By the number of the sign, as `TimedChord.sign` has it.

    None of its methods changes it: each returns another. Raises ValueError for what is not of these kinds.
    """

    symbols: Mapping[str, Chord] = field(default_factory=dict)
    chords: Mapping[int, Choice] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for symbol, chord in self.symbols.items():
            if not isinstance(symbol, str) or not isinstance(chord, Chord):
                raise ValueError(f"a symbol is chosen by its text and a Chord, not {symbol!r}: {shortened(chord)}")
        for sign, choice in self.chords.items():
            if not is_whole(sign) or sign < 0 or not isinstance(choice, Choice):
                raise ValueError(f"a chord is chosen by the number of its sign and a Choice, not {sign!r}")
        object.__setattr__(self, "symbols", MappingProxyType(dict(self.symbols)))
        object.__setattr__(self, "chords", MappingProxyType(dict(self.chords)))

    def everywhere(self, symbol: str, chord: Chord) -> Choices:
        """With a symbol tuned so wherever it is."""
        return Choices({**self.symbols, symbol: chord}, self.chords)

    def at(
        self, sign: int, chord: Chord, notes: tuple[Note, ...] | None = None, keep: tuple[Note, ...] = ()
    ) -> Choices:
        """With one chord sign tuned so and, if notes are given, laid out so."""
        return Choices(self.symbols, {**self.chords, sign: Choice(chord, notes, keep)})

    def without(self, sign: int) -> Choices:
        """With a chord sign left to the search again."""
        return Choices(self.symbols, {place: choice for place, choice in self.chords.items() if place != sign})

    def without_symbol(self, symbol: str) -> Choices:
        """With a symbol left to the search again."""
        return Choices({name: chord for name, chord in self.symbols.items() if name != symbol}, self.chords)

    def __bool__(self) -> bool:
        return bool(self.symbols or self.chords)


NO_CHOICES = Choices()


def choices_text(choices: Choices, sheet: LeadSheet) -> str:
    """Choices as text, which `parse_choices` reads back as equal ones. Raises ValueError for a sign that is not there.

    >>> from tunelib.harmony.lead_sheet import parse_lead_sheet
    >>> sheet = parse_lead_sheet("| Dm7 G7 | Cmaj7 |")
    >>> print(choices_text(NO_CHOICES.at(1, Chord.parse("Gharm7"), keep=(Note.parse("B3"),)), sheet), end="")
    [[chords]]
    bar = 1
    beat = 3.0
    written = "G7"
    chosen = "Gharm7"
    keep = ["B3"]
    """
    first = _first_played(sheet)
    parts = []
    if choices.symbols:
        pairs = (f"{json.dumps(symbol)} = {json.dumps(chord.symbol)}" for symbol, chord in choices.symbols.items())
        parts.append("\n".join(["[symbols]", *pairs]))
    for sign, choice in sorted(choices.chords.items()):
        timed = first[known_sign(sign, first)]
        lines = [
            "[[chords]]",
            f"bar = {timed.bar}",
            f"beat = {_beat(timed, sheet)!r}",
            f"written = {json.dumps(timed.symbol, ensure_ascii=False)}",
            f"chosen = {json.dumps(choice.chord.symbol)}",
        ]
        for name, notes in (("notes", choice.notes), ("keep", choice.keep)):
            if notes:
                lines.append(f"{name} = {json.dumps([note.typed for note in notes])}")
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n" if parts else ""


def read_choices(path: str | os.PathLike[str], sheet: LeadSheet) -> Choices:
    """Read choices for a tune from a file (.toml).

    Raises ValueError that begins with the file's name, as `parse_choices` does, or if it is no text in UTF-8; and
    OSError if it cannot be opened.
    """
    file = Path(path)
    with file.open("rb") as stream:
        data = stream.read(4 * _LONGEST + 1)
    try:
        return parse_choices(data.decode("utf-8-sig"), sheet)
    except UnicodeDecodeError:
        raise ValueError(f"{file.name}: this is not UTF-8 text; save the file as UTF-8") from None
    except ValueError as problem:
        raise ValueError(f"{file.name}: {problem}") from None


def parse_choices(text: str, sheet: LeadSheet) -> Choices:
    """Read choices for a tune; the format is at the head of this module.

    Raises ValueError that says which entry is wrong, and what would be right: for text that is not TOML, an unknown
    key, a chord or a note that cannot be read, and for an entry that names no chord of the tune.
    """
    if len(text) > _LONGEST:
        raise ValueError(f"the choices have more than {_LONGEST:,} characters, which no tune has")
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ValueError(f"the choices are not TOML: {error}") from None
    if unknown := set(table) - {"symbols", "chords"}:
        raise ValueError(f"choices have [symbols] and [[chords]], not {shortened(min(unknown))}")
    symbols, chords = table.get("symbols", {}), table.get("chords", [])
    if not isinstance(symbols, dict) or not isinstance(chords, list):
        raise ValueError("choices have a table [symbols] and an array [[chords]]")
    written = {timed.chord.symbol for timed in sheet.chords}
    found = NO_CHOICES
    for symbol, chosen in symbols.items():
        known = _chord(symbol, "[symbols]").symbol
        if known not in written:
            raise ValueError(f"[symbols]: the tune has no {shortened(symbol)}")
        found = found.everywhere(known, _chord(chosen, f"[symbols], {symbol}"))
    for number, entry in enumerate(chords, start=1):
        found = _with_entry(found, entry, f"[[chords]] {number}", sheet)
    return found


def _with_entry(choices: Choices, entry: Any, where: str, sheet: LeadSheet) -> Choices:
    if not isinstance(entry, dict) or not {"bar", "beat", "chosen"} <= set(entry):
        raise ValueError(f"{where}: a choice has a bar, a beat and what is chosen, such as bar = 3, beat = 1")
    if unknown := set(entry) - _KEYS:
        raise ValueError(f"{where}: {shortened(min(unknown))} is none of {', '.join(sorted(_KEYS))}")
    if not is_whole(entry["bar"]) or not is_number(entry["beat"]):
        raise ValueError(f"{where}: bar and beat are numbers, such as bar = 3 and beat = 1")
    there = (
        (sign, timed)
        for sign, timed in _first_played(sheet).items()
        if timed.bar == entry["bar"] and abs(_beat(timed, sheet) - entry["beat"]) < _SAME_BEAT
    )
    sign, timed = next(there, (-1, None))
    if timed is None:
        raise ValueError(f"{where}: no chord begins in bar {entry['bar']} on beat {entry['beat']:g}")
    if "written" in entry and _chord(entry["written"], where) != timed.chord:
        raise ValueError(
            f"{where}: bar {timed.bar} has {timed.symbol} there, not {entry['written']}: the tune has changed"
        )
    notes = _notes(entry["notes"], where) if "notes" in entry else None
    try:
        return choices.at(sign, _chord(entry["chosen"], where), notes, _notes(entry.get("keep", []), where))
    except ValueError as problem:
        raise ValueError(f"{where}: {problem}") from None


_SAME_BEAT = 0.01


def _first_played(sheet: LeadSheet) -> dict[int, TimedChord]:
    found: dict[int, TimedChord] = {}
    for sign, timed in zip(signs(sheet), sheet.chords, strict=True):
        found.setdefault(sign, timed)
    return found


def _beat(timed: TimedChord, sheet: LeadSheet) -> float:
    """The beat of its bar on which a chord begins, counted from 1."""
    return round(float(timed.onset % Fraction(sheet.beats_per_bar)) + 1, 3)


def _chord(text: Any, where: str) -> Chord:
    try:
        return Chord.parse(text)
    except ValueError as problem:
        raise ValueError(f"{where}: {problem}") from None


def _notes(names: Any, where: str) -> tuple[Note, ...]:
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise ValueError(f"{where}: notes are a list of names, such as ['E3', 'Bb3']")
    try:
        return tuple(Note.parse(name) for name in names)
    except ValueError as problem:
        raise ValueError(f"{where}: {problem}") from None
