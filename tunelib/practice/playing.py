"""An answer that is played on the keys, or given by the names of its notes.

``playing.js`` beside this file checks it in a page without Python, by the same rules and in the same words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from tunelib.live import Keys, keys
from tunelib.pitch import Note, Tuning, drawn, equal, interval_names, listed, spell_near, times
from tunelib.practice.answers import Response
from tunelib.practice.typed import quoted, tidy

_WHOLE = re.compile(r"-?\d{1,4}")
_HYPHEN = re.compile(r"-(?=[A-Ga-g])")  # between two names
_OCTAVE = 4  # of a name without one


@dataclass(frozen=True)
class Played:
    """Notes to be played: together, or one after another.

    Parameters
    ----------
    notes : tuple of Note, or of int
        The right ones: a chord's root first, a sequence in its order. As steps, C4 = 0, where the tuning has no
        letters, or where numbers are what is asked for.
    tuning : Tuning
        The one that the keys have.
    in_order : bool
        Whether they are played one after another; otherwise they are held together, and their order does not count.
    exact : bool
        Whether the octaves count.
    anywhere : bool
        Whether the same intervals from another note are right as well.
    slips : mapping from str to str
        Notes that are wrong for a known reason, as they are typed, and the line that helps each. In a sequence what
        begins with them is wrong.
    keyboard : mapping
        What the keys to play it on are made with: words of `tunelib.live.keys`, for another tuning, layout or range
        than the plain keys of `tuning`.

    Raises ValueError unless there are notes, and for a note that the tuning does not have.
    """

    notes: tuple[Note | int, ...]
    tuning: Tuning
    in_order: bool = False
    exact: bool = False
    anywhere: bool = False
    slips: Mapping[str, str] = field(default_factory=dict)
    keyboard: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.notes:
            raise ValueError("an answer that is played needs at least one note")
        _ = self.steps, self._slips

    @cached_property
    def steps(self) -> tuple[int, ...]:
        """The right notes as steps of the tuning, C4 = 0."""
        return tuple(note.step(self.tuning) if isinstance(note, Note) else note for note in self.notes)

    @property
    def form(self) -> str:
        """How it may be written: three notes that are not the answer."""
        if not self._spelled:
            return "0 3 7"
        third = "Eb" if self.tuning.half_sharp is None else "Ehb"
        return f"C4 {third}4 A4" if self.exact else f"C {third} A"

    @property
    def ways(self) -> str:
        """How to answer without any keys, in a sentence."""
        what = "names of the notes" if self._spelled else "numbers of the steps"
        return f"Play it, or write the {what}, for example {self.form}."

    @property
    def _spelled(self) -> bool:
        return isinstance(self.notes[0], Note)

    def check(self, text: str) -> Response:
        """Respond to names of notes, with or without octaves, or to steps counted from C4 = 0."""
        words = _words(text)
        if not words:
            return self._respond([])
        read = [self._read(word) for word in words]
        unread = next((word for word, note in zip(words, read, strict=True) if note is None), "")
        if unread:
            return Response(
                False, f"I cannot read {quoted(unread)} as a note of these keys. Write, for example, {self.form}."
            )
        found = [note for note in read if note is not None]
        if self.exact and not all(said for _, _, said in found):
            return Response(False, "Which octave? Add its number to each name: C4 is middle C, and B3 is just below.")
        return self._respond([(step, name) for step, name, _ in found])

    def check_steps(self, steps: Iterable[int]) -> Response:
        """Respond to what is played, as steps of the tuning, C4 = 0: in their order, if it counts."""
        return self._respond([(step, self._name(step)) for step in steps])

    def begun(self, steps: Sequence[int]) -> bool:
        """Whether these are the first notes of the right ones in their order, but not all of them."""
        return 0 < len(steps) < len(self.steps) and self._same(steps, self.steps[: len(steps)])

    def instrument(self) -> Keys:
        """The keys to play it on."""
        about: dict[str, Any] = {"tuning": self.tuning, "title": "Play your answer here", "read_chords": False}
        return keys(**about | dict(self.keyboard))

    def told(self) -> dict[str, Any]:
        """All that a page needs to check it: see `Answer`."""
        return {
            "kind": "played",
            "form": self.form,
            "ways": self.ways,
            "steps": list(self.steps),
            "names": [self._name(step) for step in self.steps],
            "in_order": self.in_order,
            "exact": self.exact,
            "anywhere": self.anywhere,
            "slips": [[list(steps), message] for steps, message in self._slips],
            "count": len(self.tuning),
            "fifth": self.tuning.fifth,
            "half_sharp": self.tuning.half_sharp,
            "step_names": [list(self._named(step)) for step in range(len(self.tuning))],
            "intervals": list(self._intervals),
        }

    @cached_property
    def _slips(self) -> list[tuple[tuple[int, ...], str]]:
        found = []
        for text, message in self.slips.items():
            read = [self._read(word) for word in _words(text)]
            if not read or None in read:
                raise ValueError(f"the slip {text!r} is not made of notes of {self.tuning.name}")
            found.append((tuple(note[0] for note in read if note is not None), message))
        return found

    @cached_property
    def _intervals(self) -> tuple[str, ...]:
        """What each number of steps within the octave is called; nothing where that depends on where they begin."""
        if self.tuning.fifth is None or self.tuning != equal(len(self.tuning)):
            return ()
        names = [interval_names(step, self.tuning) for step in range(len(self.tuning))]
        return tuple(
            f"{'an' if found[0].name[0] in 'aeiou' else 'a'} {found[0].name}" if found else "" for found in names
        )

    def _named(self, step: int) -> tuple[str, int]:
        """The name of a step of the first octave as the answer spells it, and that name's octave."""
        if self.tuning.fifth is None:
            return str(step), 0
        for note in self.notes:
            if isinstance(note, Note) and (note.step(self.tuning) - step) % len(self.tuning) == 0:
                return drawn(note.name), note.octave - (note.step(self.tuning) - step) // len(self.tuning)
        note = spell_near(step, self.tuning)
        return drawn(note.name), note.octave

    def _name(self, step: int) -> str:
        if self.tuning.fifth is None:
            return str(step)
        octaves, within = divmod(step, len(self.tuning))
        name, octave = self._named(within)
        return f"{name}{octave + octaves}" if self.exact else name

    def _read(self, word: str) -> tuple[int, str, bool] | None:
        """A typed note as its step, its name, and whether its octave was said; None if it is none."""
        if _WHOLE.fullmatch(word):
            return int(word), word, True
        for octave, said in (("", True), (str(_OCTAVE), False)):
            try:
                note = Note.parse(f"{word}{octave}")
                return note.step(self.tuning), drawn(str(note) if self.exact else note.name), said
            except ValueError:
                continue
        return None

    def _key(self, step: int) -> int:
        return step if self.exact else step % len(self.tuning)

    def _same(self, steps: Sequence[int], wanted: Sequence[int]) -> bool:
        """Whether notes are those that are wanted."""
        if self.in_order:
            away = steps[0] - wanted[0] if self.anywhere and steps else 0
            return [self._key(step) for step in steps] == [self._key(step + away) for step in wanted]
        given = {self._key(step) for step in steps}
        ways = [step - wanted[0] for step in steps] if self.anywhere else [0]
        return any(given == {self._key(step + away) for step in wanted} for away in ways)

    def _respond(self, given: list[tuple[int, str]]) -> Response:
        steps = [step for step, _ in given]
        if not given:
            return Response(False, f"No notes yet. {self.ways}")
        if self._same(steps, self.steps):
            shown = [name for _, name in given]
            return Response(True, f"Yes: {listed(shown if self.in_order else dict.fromkeys(shown))}.")
        for slip, message in self._slips:
            if self._same(steps[: len(slip)] if self.in_order else steps, slip):
                return Response(False, message)
        moved = self._moved(steps)
        if moved:
            first = "begin on" if self.in_order else "the root is"
            return Response(False, f"Right intervals, but {self._apart(moved)}: {first} {self._name(self.steps[0])}.")
        return self._in_order(given) if self.in_order else self._together(given)

    def _moved(self, steps: Sequence[int]) -> int:
        """By how much the right notes were moved as a whole, up or down; 0 if they were not."""
        if self.anywhere or len(self.steps) < 2:
            return 0
        for away in sorted((step - self.steps[0] for step in steps), key=abs):
            if self._same(steps, [step + away for step in self.steps]):
                return self._nearest(away)
        return 0

    def _nearest(self, away: int) -> int:
        """A distance in steps; the shorter way round, where octaves do not count."""
        if self.exact:
            return away
        count = len(self.tuning)
        return (away + count // 2) % count - count // 2

    def _apart(self, away: int) -> str:
        octaves, left = divmod(abs(away), len(self.tuning))
        side = "too high" if away > 0 else "too low"
        if octaves and not left:
            return f"{'an octave' if octaves == 1 else f'{octaves} octaves'} {side}"
        return f"{times(abs(away), 'step')} {side}"

    def _in_order(self, given: list[tuple[int, str]]) -> Response:
        """What is wrong with notes one after another."""
        steps = [step for step, _ in given]
        shift = steps[0] - self.steps[0] if self.anywhere else 0
        if self.begun(steps):
            return Response(False, f"Right so far: {listed(name for _, name in given)}. Go on.")
        for number, ((step, name), wanted) in enumerate(zip(given, self.steps, strict=False), start=1):
            away = self._nearest(step - wanted - shift)
            if self._key(away):
                place = f"Note {number}, {name}," if len(self.steps) > 1 else f"{name}"
                return Response(False, f"{place} is {self._apart(away)}.")
        return Response(False, f"Right up to note {len(self.steps)}, and that is all of them: stop there.")

    def _together(self, given: list[tuple[int, str]]) -> Response:
        """What is wrong with notes that are held together."""
        names: dict[int, str] = {}
        for step, name in given:
            names.setdefault(self._key(step), name)
        shifts = [step - self.steps[0] for step, _ in given] if self.anywhere else [0]
        shift = max(shifts, key=lambda away: sum(self._key(step + away) in names for step in self.steps))
        root = self.steps[0] + shift
        wanted = {self._key(step + shift): step + shift for step in self.steps}
        wrong = [key for key in names if key not in wanted]
        missing = [step for key, step in wanted.items() if key not in names]
        if not wrong:
            found = f"{len(wanted) - len(missing)} of {len(wanted)} notes, and none of them wrong"
            return Response(False, f"{found}. {self._missing(missing, root)}")
        if not missing:
            return Response(False, f"All the notes are there, but {listed(names[key] for key in wrong)} should not be.")
        key = wrong[0]
        near = min(missing, key=lambda step: abs(self._nearest(key - step)))
        said = f"{names[key]} is {self._apart(self._nearest(key - near))}"
        given_is, asked = self._above(key, root), self._above(near, root)
        if self._key(root) in names and given_is != asked:
            said += f": it is {given_is} above {names[self._key(root)]}, and {asked} is asked for"
        return Response(False, f"{said}.")

    def _above(self, step: int, root: int) -> str:
        """What a note is above the root, within an octave; nothing if that has no name here."""
        return self._intervals[(step - root) % len(self.tuning)] if self._intervals else ""

    def _missing(self, steps: Sequence[int], root: int) -> str:
        """Which notes are missing."""
        if root in steps:
            return "The root is missing."
        named = [self._above(step, root) for step in steps]
        if not all(named):
            return "Look for the rest."
        return f"Missing above the root: {listed(named)}."


def _words(text: object) -> list[str]:
    """The notes that were typed, one by one."""
    line = _HYPHEN.sub(" ", f" {tidy(text)} ".replace(" and ", " "))
    return [word for word in re.split(r"[ ,;&]+", line) if word]
