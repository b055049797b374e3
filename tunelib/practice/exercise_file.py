"""An exercise as a small file: notes to be played in a tuning, which a teacher gives out and a take is held beside.

TOML is an open standard (toml.io, version 1.0.0). What an exercise may hold::

    title = "Up to the neutral third"
    tuning = "31"              # as `parse_targets` reads it: a division, a temperament, harmonics or ratios
    on = "C4 = 263.1 Hz"       # what it is tuned from; A4 if left out
    reference = 440            # the frequency of A4 in hertz; 440 if left out
    instrument = "clarinet"    # who plays; any instrument or voice if left out
    written = true             # the notes are those that the instrument reads; as they sound if left out
    tempo = 60                 # beats a minute; 60 if left out
    notes = "C4 D4 Ehb4:2 | D4 -:1 C4:2"   # or several lines of them, in a list or between triple quotes
    practise = ["third", "pure:5/4", "sing:10"]   # for the ear: a kind of question, or one item of it, as `given_items`
    cautions = "Start softly, and stop if your voice tires."

A note is written as everywhere (`Ehb4` is E half-flat), with its beats after a colon, one if left out. A hyphen is a
rest, and bar lines are for the eye. Where notes have no letters, a number is a step of the division or a harmonic.
There may be notes to play, items to practise, or both; items are of a division whose notes have letters.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from tunelib.files import require_file
from tunelib.film import Place, lines_of
from tunelib.hearing import Intended, IntendedNote, Targets, parse_targets
from tunelib.pitch import A4_HZ, Instrument, Note, Tuning, equal, instrument, is_number, listed, shortened
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_questions import ear_items
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.given_items import given_items
from tunelib.score import Score, ScoreNote

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MOST_BYTES = 100_000
MOST_NOTES = 2000

_KEYS = ("title", "tuning", "on", "reference", "instrument", "written", "tempo", "notes", "practise", "cautions")
_BEATS = re.compile(r"\d{1,3}(?:\.\d{1,4}|/\d{1,3})?")
_LONGEST_TEXT = 1000
_MOST_TOLD = 20
_NEAR = 0.01  # cents
_USUAL_TEMPO, _SLOWEST, _FASTEST = 60.0, 10.0, 500.0


@dataclass(frozen=True)
class Exercise:
    """An exercise as it is played.

    Parameters
    ----------
    title : str
    targets : Targets
        The tuning that its notes are of.
    player : Instrument or None
    score : Score
        Its notes in time, in the voice "player", with the rests between them.
    notes : tuple of IntendedNote
        The same one after another.
    practise : tuple of Item
        What is to be practised by ear.
    cautions : tuple of str
    """

    title: str
    targets: Targets
    player: Instrument | None
    score: Score
    notes: tuple[IntendedNote, ...]
    practise: tuple[Item, ...]
    cautions: tuple[str, ...]

    @property
    def division(self) -> Tuning | None:
        """The division of the octave that its notes or items are of, if they are of one."""
        return equal(self.targets.steps) if self.targets.steps is not None else None

    @property
    def intended(self) -> Intended:
        """Its notes, as a take is held beside. Raises ValueError if it has none, and is for the ear alone."""
        if not self.notes:
            raise ValueError(f"“{self.title}” has no notes to play: its items are practised by ear")
        return Intended(f"“{self.title}” in {self.targets.name}", self.notes, self.targets.reference)


def read_exercise(path: str | os.PathLike[str]) -> Exercise:
    """Read an exercise from a file (.toml).

    Raises FileNotFoundError if there is none, and ValueError with the line of each mistake.
    """
    require_file(path, "give the exercise itself, such as scale.toml")
    place = Path(path)
    if place.stat().st_size > MOST_BYTES:
        raise ValueError(f"{place} has {place.stat().st_size:,} bytes; an exercise has {MOST_BYTES:,} at most")
    return parse_exercise(place.read_bytes(), place.name)


def parse_exercise(data: bytes, file: str = "exercise.toml") -> Exercise:
    """The same from bytes; `file` is what the messages call it.

    >>> found = parse_exercise(b'title = "A third"\\ntuning = "31"\\nnotes = "C4 Ehb4:2"')
    >>> [(note.label, note.beats) for note in found.intended.notes]
    [('C4', 1.0), ('E½♭4', 2.0)]
    """
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = 1 + data.count(b"\n", 0, error.start)
        raise ValueError(f"{file}, line {line}: this is not text in UTF-8; save the file as UTF-8") from None
    try:
        table = tomllib.loads(text)
        lines = lines_of(text)
    except RecursionError:
        raise ValueError(f"{file}: its lists are nested too deep for an exercise") from None
    except ValueError as error:
        where = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", str(error))
        line = int(where[1]) if where and where[1] else 1 + text.rstrip().count("\n")
        what = str(error)[: where.start()] if where else str(error)
        raise ValueError(f"{file}, line {line}: this is not TOML: {what}; text goes in quotes") from None
    reader = _Reader(table, lines, text)
    found = reader.exercise()
    if found is None or reader.mistakes:
        told = [f"{file}, line {line}: {what}" for line, what in sorted(set(reader.mistakes))[:_MOST_TOLD]]
        raise ValueError(";\n".join(told))
    return found


class _Reader:
    """Goes over an exercise from top to bottom, and collects its mistakes with their lines."""

    def __init__(self, table: dict[str, Any], lines: dict[Place, int], text: str) -> None:
        self.mistakes: list[tuple[int, str]] = []
        self._table = table
        self._lines = lines
        self._text = text.split("\n")

    def exercise(self) -> Exercise | None:
        for key in self._table:
            if key not in _KEYS:
                self._wrong((key,), f"an exercise has no {shortened(key)}; it has {listed(_KEYS)}")
        for key, example in (("title", "A scale"), ("tuning", "31"), ("notes", "C4 D4 E4")):
            if key not in self._table and not (key == "notes" and "practise" in self._table):
                self._wrong((), f'{key} is missing; add a line such as {key} = "{example}"')
        title, cautions = self._words("title"), self._cautions()
        targets, player = self._targets(), self._player()
        tempo = self._number("tempo", _USUAL_TEMPO, _SLOWEST, _FASTEST)
        written = self._table.get("written", False)
        if not isinstance(written, bool):
            self._wrong(("written",), f"written is true or false, without quotes, not {shortened(written)}")
        elif written and player is None and "instrument" not in self._table:
            self._wrong(("written",), 'written notes are for an instrument; add a line such as instrument = "clarinet"')
        if targets is None or title is None or self.mistakes:
            return None
        notes = list(self._notes(targets, player if written else None)) if "notes" in self._table else []
        practise = self._practise(targets) if "practise" in self._table else ()
        if "notes" in self._table and not self.mistakes and not any(note for _, note, _ in notes):
            self._wrong(("notes",), "there is no note to play")
        return None if self.mistakes else _made(title, targets, player, tempo, notes, practise, cautions)

    def _wrong(self, place: Place, what: object, line: int | None = None) -> None:
        while place not in self._lines:
            place = place[:-1]
        self.mistakes.append((self._lines[place] if line is None else line, str(what)))

    def _words(self, key: str) -> str | None:
        value = self._table.get(key)
        if value is None:
            return None
        if not isinstance(value, str) or not 0 < len(value.strip()) <= _LONGEST_TEXT or not value.isprintable():
            self._wrong((key,), f"{key} is text in quotes, of 1 to {_LONGEST_TEXT} characters on one line")
            return None
        return value.strip()

    def _cautions(self) -> tuple[str, ...]:
        value = self._table.get("cautions", [])
        given = [value] if isinstance(value, str) else value
        if not isinstance(given, list) or not all(isinstance(one, str) and len(one) <= _LONGEST_TEXT for one in given):
            self._wrong(("cautions",), "cautions are text in quotes, or a list of that")
            return ()
        return tuple(" ".join(one.split()) for one in given)

    def _number(self, key: str, usual: float, low: float, high: float) -> float:
        value = self._table.get(key, usual)
        if not is_number(value) or not low <= value <= high:
            self._wrong((key,), f"{key} is a number from {low:g} to {high:g}, without quotes, not {shortened(value)}")
            return usual
        return float(value)

    def _player(self) -> Instrument | None:
        name = self._words("instrument")
        if name is None:
            return None
        try:
            return instrument(name)
        except ValueError as error:
            self._wrong(("instrument",), error)
            return None

    def _targets(self) -> Targets | None:
        value = self._table.get("tuning")
        if isinstance(value, int) and not isinstance(value, bool):
            self._table["tuning"] = str(value)
        tuning, on = self._words("tuning"), self._words("on")
        reference = self._number("reference", A4_HZ, 300.0, 600.0)
        if tuning is None:
            return None
        try:
            return parse_targets(f"{tuning} on {on}" if on else tuning, reference)
        except ValueError as error:
            self._wrong(("on",) if on else ("tuning",), error)
            return None

    def _practise(self, targets: Targets) -> tuple[Item, ...]:
        value = self._table["practise"]
        given = [value] if isinstance(value, str) else value
        if not isinstance(given, list) or not given or not all(isinstance(one, str) for one in given):
            self._wrong(("practise",), 'practise is text in quotes, such as "third:neutral", or a list of that')
            return ()
        tuning = equal(targets.steps) if targets.steps is not None else None
        if tuning is None or tuning.fifth is None:
            self._wrong(("practise",), f"items are of a division whose notes have letters, not of {targets.name}")
            return ()
        there = ear_items(EarSettings(tuning, microphone=True))
        found: list[Item] = []
        for number, word in enumerate(given):
            try:
                found += given_items([word], there)
            except ValueError as error:
                self._wrong(("practise", number) if isinstance(value, list) else ("practise",), error)
        return tuple(dict.fromkeys(found))

    def _notes(
        self, targets: Targets, player: Instrument | None
    ) -> Iterator[tuple[float, Note | None, IntendedNote | None]]:
        """The beats of each note or rest, its name, and what is to be played."""
        count = 0
        for word, line in self._words_with_lines():
            count += 1
            if count > MOST_NOTES:
                self._wrong(("notes",), f"an exercise has {MOST_NOTES} notes at most")
                return
            name, _, length = word.partition(":")
            if (length and not _BEATS.fullmatch(length)) or word.endswith(":"):
                self._wrong(("notes",), f"{shortened(word)}: after the colon are beats, as in C4:2 or C4:1/2", line)
                continue
            beats = Fraction(length or 1) if not length.endswith("/0") else Fraction(0)
            if not beats > 0:
                self._wrong(("notes",), f"{shortened(word)}: a note lasts longer than 0 beats", line)
                continue
            if name == "-":
                yield float(beats), None, None
                continue
            try:
                note = _note(name, targets, player)
            except ValueError as error:
                self._wrong(("notes",), error, line)
                continue
            yield float(beats), note.note, IntendedNote(note.hertz, note.note, note.label, float(beats))

    def _words_with_lines(self) -> Iterator[tuple[str, int]]:
        value = self._table["notes"]
        given = [value] if isinstance(value, str) else value
        if not isinstance(given, list) or not all(isinstance(row, str) for row in given):
            self._wrong(("notes",), 'notes are text in quotes, such as "C4 D4 E4", or a list of that')
            return
        for number, row in enumerate(given):
            first = self._lines[("notes",) if isinstance(value, str) else ("notes", number)]
            if re.search(r"(\"\"\"|''')\s*$", self._text[first - 1]) and "\n" in row:
                first += 1  # a line break after the opening quotes does not count
            for below, line in enumerate(row.split("\n")):
                for word in line.replace("|", " ").replace(",", " ").split():
                    yield word, first + below


def _note(name: str, targets: Targets, player: Instrument | None) -> IntendedNote:
    """A note as it is typed, at its pitch among the targets; raises ValueError for one that is not among them."""
    for label in (name, f"step {name}") if name.isdecimal() else ():
        if label in targets.labels:
            at = targets.labels.index(label)
            return IntendedNote(targets.hertz[at], targets.notes[at], label)
    typed = Note.parse(name)
    note = player.sounding(typed) if player else typed
    if targets.steps is not None:
        tuning = equal(targets.steps)
        if tuning.fifth is not None:
            hertz = note.hz(tuning, targets.reference)
            at, away = targets.nearest(hertz)
            if abs(away) < _NEAR:
                return IntendedNote(targets.hertz[at], note, str(note))
    if note in targets.notes:
        at = targets.notes.index(note)
        return IntendedNote(targets.hertz[at], note, targets.labels[at])
    near = targets.labels[targets.nearest(note.hz(None, targets.reference) if note.half_sharps % 2 == 0 else 440.0)[0]]
    raise ValueError(f"{name} is not among the notes of {targets.name}; there is {near}")


def _made(
    title: str,
    targets: Targets,
    player: Instrument | None,
    tempo: float,
    notes: list[tuple[float, Note | None, IntendedNote | None]],
    practise: tuple[Item, ...],
    cautions: tuple[str, ...],
) -> Exercise:
    beat, played = 0.0, []
    for beats, _, note in notes:
        if note is not None:
            played.append(ScoreNote(beat, beats, note.hertz, note.note, "player", note.label))
        beat += beats
    known = tuple(note for _, _, note in notes if note is not None)
    return Exercise(
        title,
        targets,
        player,
        Score(tuple(played), tempo, title=title),
        known,
        practise,
        cautions,
    )
