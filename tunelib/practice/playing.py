"""An answer that is played on the keys, or given by the names of its notes.

What is wrong is told by what was played: a chord by its symbol, a note by the interval that it makes. What is asked for
is never named, nor how many steps it is away, so that there is something left to find.

``playing.js`` beside this file checks it in a page without Python, by the same rules and in the same words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from tunelib.live import Keys, chord_table, keys
from tunelib.pitch import Note, Tuning, drawn, equal, interval_names, listed, spell_near
from tunelib.practice.answers import Response, not_understood
from tunelib.practice.typed import quoted, tidy

_WHOLE = re.compile(r"-?\d{1,4}")
_HYPHEN = re.compile(r"-(?=[A-Ga-g])")  # between two names
_OCTAVE = 4  # of a name without one
_LETTERS = "CDEFGAB"
_OCTAVE_NUMBER = re.compile(r"-?\d+$")
_SEMITONES = 12  # to the octave; less than one of them is a little
_SIGNS_IN_WORDS = tuple(
    (re.compile(rf"(?<=[A-Ga-g])[ -]?{words}(?![a-z])", re.ASCII | re.IGNORECASE), sign)
    for words, sign in (
        ("sharp a half", "#h#"),
        ("flat a half", "bhb"),
        ("double[ -]?sharp", "x"),
        ("double[ -]?flat", "bb"),
        ("half[ -]?sharp", "h#"),
        ("half[ -]?flat", "hb"),
        ("sharp", "#"),
        ("flat", "b"),
    )
)
_BESIDE_NOTES = frozenset("between the it is falls note notes key keys step steps hold play then +".split())
_RUN = re.compile(r"(?:[A-G](?:½[♯♭]|h[#b]|[♯♭#bx♮𝄪𝄫])*[0-9]?){2,}")  # names with nothing between them
_NAME_IN_RUN = re.compile(r"[A-G][^A-G]*")
_CHORD = re.compile(r"[A-G][^A-Za-z ]*[b#x♭♯]*(?:m|neu|sub|sup|dim|aug|harm|mid|wide|maj|sus|add|alt).*")


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
    def names(self) -> tuple[str, ...]:
        """The right notes by their names, with octaves where these count."""
        return tuple(self._name(step) for step in self.steps)

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
        if _CHORD.fullmatch(unread):
            return not_understood(f"{quoted(unread)} is a chord. Write its notes, for example {self.form}.")
        if unread:
            return not_understood(
                f"I cannot read {quoted(unread)} as a note of these keys. Write, for example, {self.form}."
            )
        found = [note for note in read if note is not None]
        if self.exact and not all(said for _, _, said in found):
            return not_understood("Which octave? Add its number to each name: C4 is middle C, and B3 is just below.")
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
            "names": list(self.names),
            "in_order": self.in_order,
            "exact": self.exact,
            "anywhere": self.anywhere,
            "slips": [[list(steps), message] for steps, message in self._slips],
            "count": len(self.tuning),
            "fifth": self.tuning.fifth,
            "half_sharp": self.tuning.half_sharp,
            "step_names": [list(self._named(step)) for step in range(len(self.tuning))],
            "intervals": [[list(name) for name in names] for names in self._intervals],
            "chords": {above: list(chord) for above, chord in self._chords.items()},
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

    @property
    def _even(self) -> bool:
        """Whether notes have letters, and the same number of steps is the same interval everywhere."""
        return self.tuning.fifth is not None and self.tuning == equal(len(self.tuning))

    @cached_property
    def _intervals(self) -> tuple[tuple[tuple[int, str], ...], ...]:
        """What each number of steps within the octave is called, by how many letters it goes up, the plainest first;
        nothing where that depends on where they begin."""
        if not self._even:
            return ()
        return tuple(
            tuple((found.letters % 7, _with_article(found.name)) for found in interval_names(step, self.tuning))
            for step in range(len(self.tuning))
        )

    @cached_property
    def _chords(self) -> dict[str, tuple[int, str]]:
        """Common chords by their steps above the lowest note: where the root is, and the symbol after the root."""
        if self.in_order or not (self._spelled and self._even):
            return {}
        return {above: (root, words) for above, (root, words, _) in chord_table(self.tuning).items()}

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
            return not_understood(f"No notes yet. {self.ways}")
        if self._same(steps, self.steps):
            shown = [name for _, name in given]
            return Response(True, f"Yes: {listed(shown if self.in_order else dict.fromkeys(shown))}.")
        for slip, message in self._slips:
            if self._same(steps[: len(slip)] if self.in_order else steps, slip):
                return Response(False, message)
        moved = self._moved(steps)
        if moved:
            return Response(False, f"Right intervals, but all of it is {self._apart(moved)}.")
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
        return f"a little {side}" if _SEMITONES * abs(away) < len(self.tuning) else side

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
                from_last = self._interval((step, name), given[number - 2]) if number > 1 else ""
                return Response(False, f"{place} is {self._apart(away)}{from_last}.")
        return Response(False, f"Right up to note {len(self.steps)}, and that is all of them: stop there.")

    def _together(self, given: list[tuple[int, str]]) -> Response:
        """What is wrong with notes that are held together."""
        played: dict[int, tuple[int, str]] = {}
        for step, name in given:
            played.setdefault(self._key(step), (step, name))
        shifts = [step - self.steps[0] for step, _ in given] if self.anywhere else [0]
        shift = max(shifts, key=lambda away: sum(self._key(step + away) in played for step in self.steps))
        wanted = {self._key(step + shift): step + shift for step in self.steps}
        wrong = [key for key in played if key not in wanted]
        missing = [step for key, step in wanted.items() if key not in played]
        root = self.steps[0] + shift
        if not wrong:
            found = f"{len(wanted) - len(missing)} of {len(wanted)} notes, and none of them wrong"
            return Response(False, f"{found}. {'The root is missing.' if root in missing else 'Look for the rest.'}")
        if not missing:
            odd = listed(played[key][1] for key in wrong)
            return Response(False, f"All the notes are there, but {odd} should not be.")
        key = wrong[0]
        away = min((self._nearest(key - step) for step in missing), key=abs)
        root_played = played.get(self._key(root))
        above_root = self._interval(played[key], root_played) if root_played else ""
        return Response(False, f"{self._chord(given)}{played[key][1]} is {self._apart(away)}{above_root}.")

    def _interval(self, note: tuple[int, str], other: tuple[int, str]) -> str:
        """What a note is above another, or below it where order or octaves count; nothing if that has no name."""
        (step, name), (from_step, from_name) = note, other
        up = self._nearest(step - from_step) if self.in_order else self._key(step - from_step)
        below, apart = up < 0, abs(up)
        if not self._intervals or not 0 < apart < len(self.tuning) or not self._intervals[apart]:
            return ""
        high, low = (_LETTERS.find(called[0]) for called in ((from_name, name) if below else (name, from_name)))
        spelled = [called for letters, called in self._intervals[apart] if letters == (high - low) % 7]
        called = spelled[0] if spelled and min(high, low) >= 0 else self._intervals[apart][0][1]
        return f": {'below' if below else 'above'} {from_name} it is {called}"

    def _chord(self, given: list[tuple[int, str]]) -> str:
        """The chord that notes make, in a sentence; nothing if it is none of the common ones."""
        lowest, count = min(step for step, _ in given), len(self.tuning)
        above = sorted({(step - lowest) % count for step, _ in given} - {0})
        root, words = self._chords.get(" ".join(map(str, above)), (0, None))
        if words is None:
            return ""
        bass = self._plain_name(lowest, given)
        symbol = f"{self._plain_name(lowest + root, given)}{words}"
        return f"That is {symbol}{f'/{bass}' if root else ''}. "

    def _plain_name(self, step: int, given: list[tuple[int, str]]) -> str:
        """A step's name without its octave: as it was given, or as the answer spells it."""
        names = (_OCTAVE_NUMBER.sub("", name) for played, name in given if (played - step) % len(self.tuning) == 0)
        return next(filter(None, names), "") or self._named(step % len(self.tuning))[0]


def _with_article(name: str) -> str:
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def _words(text: object) -> list[str]:
    """The notes that were typed, one by one."""
    line = f" {tidy(text)} ".replace(" and ", " ")
    for words, sign in _SIGNS_IN_WORDS:
        line = words.sub(sign, line)
    line = _HYPHEN.sub(" ", line)
    kept = [word for word in re.split(r"[ ,;&]+", line) if word and word.lower() not in _BESIDE_NOTES]
    return [name for word in kept for name in (_NAME_IN_RUN.findall(word) if _RUN.fullmatch(word) else [word])]
