"""A drill in reading thirty-one from the staff: name the note that is shown, or find the one with that name.

It goes from naturals by sharps and flats and the halves to the double signs. Only a right answer brings the next note;
what counts is the first try. In the first half of each level a name is typed or its key played, in the second half the
number of a staff is typed, or its button pressed: a number, since a letter would be the name of a note.

The keyboard never falls back to the notebook, where a `B` would insert a cell: the field stays while a round lasts, and
gets the focus when the buttons go.
"""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Any

import ipywidgets as widgets
import numpy as np

from tunelib.exhibits import MOST_NOTES, NotesToRead, find_theme, place_in_words, sign_in_words
from tunelib.export import middle_line
from tunelib.live import Keys, keys
from tunelib.pitch import (
    INSTRUMENTS,
    LETTERS,
    THIRTY_ONE,
    Instrument,
    Note,
    chance,
    drawn,
    instrument,
    spell,
    spellings,
    times,
    whole_number,
)
from tunelib.practice.answers import Response, not_understood
from tunelib.show import Stage, assistance, find_size

LEVELS: dict[str, tuple[int, ...]] = {
    "naturals": (0,),
    "sharps and flats": (2, -2),
    "half-sharps and half-flats": (1, -1),
    "double and one-and-a-half signs": (4, -4, 3, -3),
}
"""From easy to hard, each with its alterations in half-sharps."""

FEWEST, MOST = len(LEVELS), 64
CHOICES = "1234"
_MOST_HALF_SHARPS = 4  # a double sharp
_FARTHEST = 6  # places from the middle line: to the first ledger line
_FORM = "E½♭4, or Ehb4"
_FORM_OF_CHOICE = CHOICES[1]
_CHOOSE = f"Choose one of {', '.join(CHOICES)}."
_WIDTH, _HEIGHT = (round(0.75 * pixels) for pixels in find_size("panel").pixels)
_HEARD_ONLY = "position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)"
_INTRODUCTION = (
    "Read notes of thirty-one from the staff, from easy to hard. Type a name as a letter and its sign: # and b, h# and "
    "hb for the halves, #h# and bhb for one and a half, x and bb for the doubles, such as Ehb or Fx; the octave may be "
    "left out. Or play its key. Where there are four staves, type the number of one or press its button. A right "
    "answer brings the next note."
)


@dataclass(frozen=True)
class Task:
    """One note to read: to be named, or, if there are choices, to be found among these by their numbers 1 to 4."""

    note: Note
    level: str
    player: Instrument
    choices: tuple[Note, ...] = ()

    @property
    def prompt(self) -> str:
        """What is asked."""
        return f"Which of these is {_name(self.note)}?" if self.choices else "Which note is this?"

    @property
    def answer(self) -> str:
        """What would be right, as it is typed or pressed."""
        return CHOICES[self.choices.index(self.note)] if self.choices else _name(self.note)

    @property
    def picture(self) -> NotesToRead:
        """The note, or the choices, on the player's staff."""
        shown = self.choices or (self.note,)
        return NotesToRead(self.prompt, shown, self.player, tuple(CHOICES) if self.choices else ("",))

    def check(self, text: str) -> Response:
        """Respond to a name or, where there are choices, to a number; never raises for what a learner typed."""
        plain = "".join(str(text).split())
        if self.choices:
            if len(plain) != 1 or plain not in CHOICES:
                return not_understood(_CHOOSE)
            given = self.choices[CHOICES.index(plain)]
            wrong = f"Staff {plain} is {_name(given)}. {self._not(given)}"
            return self._yes if given == self.note else Response(False, wrong)
        read = self._read(plain)
        if read is None:
            return not_understood(f"I cannot read {text!r} as a note. Write, for example, {_FORM}.")
        return self._yes if read == self.note else Response(False, self._why(read))

    def check_step(self, step: int) -> Response:
        """Respond to a key of thirty-one, C4 = 0, that is played for a name, in any octave."""
        if self.choices:
            return not_understood(_CHOOSE)
        half = len(THIRTY_ONE) // 2
        away = (step - self.note.step(THIRTY_ONE) + half) % len(THIRTY_ONE) - half
        if not away:
            return self._yes
        side = "high" if away > 0 else "low"
        return Response(False, f"That key is {_name_of_key(step)}, {times(abs(away), 'step')} too {side}.")

    def named(self, text: str) -> str:
        """An answer as a note's name: what was typed, or the note of the staff that was chosen."""
        plain = text.strip()
        by_number = dict(zip(CHOICES, map(_name, self.choices), strict=False))
        return by_number.get(plain, plain)

    @property
    def _yes(self) -> Response:
        plainest = spell(self.note.step(THIRTY_ONE), THIRTY_ONE)
        same = f" In thirty-one it sounds as {_name(plainest)} does." if plainest != self.note else ""
        return Response(True, f"Yes: {_name(self.note)}.{same}")

    def _read(self, plain: str) -> Note | None:
        """The note that was typed; without its octave, the nearest on the staff."""
        try:
            return Note.parse(plain)
        except ValueError:
            pass
        try:
            octaves = [Note.parse(f"{plain}{self.note.octave + shift}") for shift in (-1, 0, 1)]
        except ValueError:
            return None
        return min(octaves, key=lambda note: abs(note.diatonic - self.note.diatonic))

    def _why(self, given: Note) -> str:
        """Why a name is not that of the note shown."""
        right, place = self.note, place_in_words(self.note, self.player.clef)
        if given.letter == right.letter and given.half_sharps == right.half_sharps:
            side = "higher" if right.octave > given.octave else "lower"
            return f"Right name, but the note is {side}: look at the octave number. C4 is middle C."
        if given.letter == right.letter:
            return f"The letter is right. The note has {_sized(right)}; you read {_sized(given)}."
        if self._sounds_as(given):
            return f"{_name(given)} is the same step of thirty-one, but written differently: this note is {place}."
        if given.half_sharps == right.half_sharps:
            return f"The sign is right, but not the letter: {_places(right, given)} than that {_name(given)}."
        return f"Neither letter nor sign yet: the note is {place}, with {_sized(right)}."

    def _not(self, given: Note) -> str:
        """Why a note chosen is not the one that was named."""
        right = self.note
        if given.diatonic == right.diatonic:
            return f"The place is right. It must have {_sized(right)}; this one has {_sized(given)}."
        if self._sounds_as(given):
            other = f"{_name(right)} has the place of {right.letter}"
            return f"It is the same step of thirty-one, but written differently: {other}."
        if given.half_sharps == right.half_sharps:
            return f"The sign is right, but not the place: {_places(right, given)}."
        return f"Look for the place of {right.letter}, with {_sized(right)}."

    def _sounds_as(self, given: Note) -> bool:
        return given.step(THIRTY_ONE) == self.note.step(THIRTY_ONE)


def _name(note: Note) -> str:
    """A note in signs that every font has."""
    return drawn(str(note))


def _name_of_key(step: int) -> str:
    return drawn(spell(step, THIRTY_ONE).name)


def _sized(note: Note) -> str:
    """The sign of a note, and how many steps of thirty-one it is worth."""
    count, side = abs(note.half_sharps), "up" if note.half_sharps > 0 else "down"
    if not count:
        return sign_in_words(0)
    return f"{sign_in_words(note.half_sharps)}, {times(count, 'step')} {side}"


def _places(right: Note, given: Note) -> str:
    away = right.diatonic - given.diatonic
    return f"{abs(away)} place{'s' if abs(away) > 1 else ''} {'higher' if away > 0 else 'lower'}"


def reading_tasks(player: Instrument, notes: int = 16, seed: int = 0) -> tuple[Task, ...]:
    """The tasks of one round, from easy to hard; the first half of each level is to be named, the rest to be found.

    Parameters
    ----------
    player : Instrument
        Whose staff and comfortable range; no note is farther out than the first ledger line.
    notes : int
        How many, 4 to 64.
    seed : int
        Fixes which notes come.

    Raises ValueError for a number out of these bounds.
    """
    many = whole_number(notes, "the number of notes in a round", FEWEST, MOST)
    dice = chance(seed)
    tasks = []
    for number, (level, signs) in enumerate(LEVELS.items()):
        count = (number + 1) * many // len(LEVELS) - number * many // len(LEVELS)
        pool = [note for note in _readable(player) if note.half_sharps in signs]
        order = [pool[i % len(pool)] for i in dice.permutation(max(len(pool), count))[:count].tolist()]
        for i, note in enumerate(order):
            choices = _choices(note, player, dice) if 2 * i >= count else ()
            tasks.append(Task(note, level, player, choices))
    return tuple(tasks)


def _readable(player: Instrument) -> list[Note]:
    """All notes with a sign of at most a double sharp or flat that are comfortable to read."""
    middle = middle_line(player.clef).diatonic
    lowest, highest = max(player.lowest.diatonic, middle - _FARTHEST), min(player.highest.diatonic, middle + _FARTHEST)
    return [
        Note(LETTERS[place % 7], half_sharps, place // 7)
        for place in range(lowest, highest + 1)
        for half_sharps in range(-_MOST_HALF_SHARPS, _MOST_HALF_SHARPS + 1)
    ]


def _choices(note: Note, player: Instrument, dice: np.random.Generator) -> tuple[Note, ...]:
    """A note among those it is mistaken for: with another sign, under another name, or a place or two beside it."""
    same_place = [Note(note.letter, sign, note.octave) for sign in (1, -1, 2, -2, 0) if note.half_sharps]
    likeliest = [other for other in same_place if other.half_sharps * note.half_sharps > 0]
    renamed = [other for other in spellings(note.step(THIRTY_ONE), THIRTY_ONE) if note.half_sharps]
    beside = [
        Note(LETTERS[place % 7], note.half_sharps, place // 7)
        for place in (note.diatonic + away for away in (-2, -1, 1, 2))
    ]
    found = [note]
    for kind in (likeliest, renamed, beside, [*same_place, *beside], beside, beside):
        left = [other for other in kind if other not in found]
        if left and len(found) < len(CHOICES):
            found.append(left[int(dice.integers(len(left)))])
    return tuple(found[i] for i in dice.permutation(len(found)).tolist())


def reading_drill(
    player: str = "alto saxophone", notes: int = 16, *, seed: int = 0, theme: str = "light"
) -> ReadingDrill:
    """The drill as a card, for a notebook.

    Parameters
    ----------
    player : str
        Whose staff is read at first; the card has a choice of all.
    notes : int
        How many notes a round has, 4 to 64.
    seed : int
        Fixes the notes of the first round; each further round has others.
    theme : str
        ``"light"`` or ``"dark"``.

    Raises ValueError for a player, number or theme that does not exist.
    """
    return ReadingDrill(player, notes, seed, theme)


class ReadingDrill(widgets.VBox):  # type: ignore[misc]
    """The card of the drill. Made by `reading_drill`.

    A program may set ``player`` and ``entry`` (`.value`), and click ``check``, the ``choices``, ``show_me`` and
    ``again``; ``task`` is what is asked now, or None at the end, and ``missed`` holds the tasks that were not right at
    the first try, each with what was answered. What the reader sees is in ``words`` (the number of the note, or at the
    end the report), ``image``, ``seen`` (the same for a screen reader), ``response``, and in ``typed`` and ``pressed``,
    which hold the field and the buttons. ``wish`` (`.value`) shows the keys, ``board``.
    """

    def __init__(self, player: str, notes: int, seed: int, theme: str) -> None:
        if find_theme(theme).paper is None:
            raise ValueError(f"the theme of a drill is 'light' or 'dark', not {theme!r}")
        self._notes, self._seed, self._theme = notes, seed, theme
        self._missing = ""  # why there is no picture, where there is none
        self.missed: list[tuple[Task, str]] = []
        self.player = widgets.Dropdown(
            options=list(INSTRUMENTS),
            value=instrument(player).name,
            description="Instrument",
            layout={"width": "300px"},
        )
        self.words = widgets.HTML()
        self.image = widgets.Image(
            format="png", width=_WIDTH, height=_HEIGHT, layout={"max_width": "100%", "height": "auto"}
        )
        self.seen = widgets.HTML()  # what the picture shows, for a screen reader
        self.entry = widgets.Text(
            description="Your answer",
            continuous_update=False,  # one value when Enter is pressed or the field is left, not one for each letter
            style={"description_width": "initial"},
            layout={"width": "22em", "max_width": "100%"},
        )
        self.check = widgets.Button(description="Check", tooltip="Check the answer")
        self.choices = [widgets.Button(description=number, layout={"width": "4em"}) for number in CHOICES]
        self.show_me = widgets.Button(description="Show me", tooltip="Show the answer; the note then counts as missed")
        self.again = widgets.Button(description="Another round", tooltip="Begin again with other notes")
        self.response = widgets.HTML(layout={"min_height": "3em"})
        self.wish = widgets.Checkbox(description="Show keys to answer on", indent=False, layout={"width": "16em"})
        self.place_of_keys = widgets.VBox()
        self.board: Keys | None = None  # made when they are wished for
        self.typed = widgets.HBox([self.entry, self.check])
        self.pressed = widgets.HBox(self.choices)
        self.player.observe(lambda _: self.start(), names="value")
        self.entry.observe(lambda change: self.answer(change.new), names="value")
        self.check.on_click(lambda _: self.answer(self.entry.value))
        for choice in self.choices:
            choice.on_click(lambda pressed: self.answer(pressed.description))
        self.wish.observe(lambda change: self._show_keys(change.new), names="value")
        self.show_me.on_click(lambda _: self.show())
        self.again.on_click(lambda _: self.restart())
        buttons = widgets.HBox([self.show_me, self.again, self.wish], layout={"flex_flow": "row wrap"})
        introduction = widgets.HTML(f"<p>{html.escape(_INTRODUCTION)}</p>", layout={"max_width": "46em"})
        super().__init__(
            [
                introduction,
                self.player,
                self.words,
                self.image,
                self.seen,
                self.typed,
                self.pressed,
                self.response,
                buttons,
                self.place_of_keys,
                assistance("tunelib-reading-drill", {"img": "Picture: the staff, described below"}),
            ]
        )
        self.image.add_class("tunelib-picture")
        self.add_class("tunelib-reading-drill")
        self.start()

    @property
    def task(self) -> Task | None:
        """What is asked now."""
        return self._tasks[self._place] if self._place < len(self._tasks) else None

    def start(self) -> None:
        """Begin a round for the instrument that is chosen."""
        self._tasks = reading_tasks(INSTRUMENTS[self.player.value], self._notes, self._seed)
        self._place, self._tried, self.missed = 0, False, []
        self._say("")
        self._ask()

    def restart(self) -> None:
        """Begin another round, with other notes."""
        self._seed += 1
        self.start()

    def answer(self, text: str) -> None:
        """Respond to an answer; a right one brings the next note. Nothing happens for an empty one, and one that is not
        understood is no try."""
        if self.task is not None and text.strip():
            had_buttons = bool(self.task.choices)
            self._take(self.task.check(text), self.task.named(text))
            if self.task is not None and had_buttons and not self.task.choices:
                self.entry.focus()

    def play(self, step: int) -> None:
        """Respond to a key that is played; where a staff is asked for, a key is no answer and no mistake."""
        if self.task is not None:
            self._take(self.task.check_step(step), _name_of_key(step))

    def _take(self, response: Response, said: str) -> None:
        """Say what is right or wrong; go on to the next note, or keep what was answered."""
        if not response.right:
            self._say(response.message)
            if response.understood:
                self._miss(said)
            return
        self._say(f"Note {self._place + 1}. {response.message}", "✓")
        self._place, self._tried = self._place + 1, False
        self._ask()
        if self.task is None:
            self.again.focus()

    def _show_keys(self, wished: bool) -> None:
        if wished and self.board is None:
            self.board = keys(THIRTY_ONE, title="Keys with the names that are written")
            self.board.on_msg(
                lambda _widget, message, _buffers: self.play(message["step"]) if "step" in message else None
            )
        self.place_of_keys.children = (self.board,) if wished else ()

    def show(self) -> None:
        """Show the answer, which then has to be given all the same."""
        if self.task is None:
            return
        self._say(f"It is {self.task.answer}, to be typed now: the note is {self._described(self.task)}.")
        self._miss("")

    def report(self) -> str:
        """How many were right at the first try, level by level, and what to practise."""
        done = self._tasks[: self._place]
        missed = [task for task, _ in self.missed if task in done]
        lines = [f"{len(done) - len(missed)} of {len(done)} right at the first try."]
        worst, most = "", 0.0
        for level in LEVELS:
            asked, wrong = (sum(task.level == level for task in some) for some in (done, missed))
            if asked:
                lines.append(f"{level[0].upper()}{level[1:]}: {asked - wrong} of {asked}.")
                if wrong / asked > most:
                    worst, most = level, wrong / asked
        if not worst:
            lines.append("Nothing was missed: try another clef, or more notes.")
        else:
            taken = [f"{_name(task.note)}{f' (you said {said})' if said else ''}" for task, said in self.missed]
            lines.append(f"To practise: {worst}. Missed: {', '.join(taken)}.")
        return "\n".join(lines)

    def _miss(self, said: str) -> None:
        assert self.task is not None
        if not self._tried:
            self._tried = True
            self.missed.append((self.task, said))

    @staticmethod
    def _described(task: Task) -> str:
        return f"{place_in_words(task.note, task.player.clef)}, with {_sized(task.note)}"

    def _ask(self) -> None:
        """Show the task, or at the end the report."""
        task = self.task
        self.entry.value = ""
        self.typed.layout.display = "flex" if task else "none"
        self.pressed.layout.display = "flex" if task and task.choices else "none"
        self.entry.placeholder = f"for example {_FORM_OF_CHOICE if task and task.choices else _FORM}"
        self.show_me.disabled = task is None
        if task is None:
            self.words.value = f"<p>{html.escape(self.report()).replace(chr(10), '<br>')}</p>"
            notes = list(dict.fromkeys(missed.note for missed, _ in self.missed))[:MOST_NOTES]
            self.image.layout.visibility = "visible" if notes else "hidden"
            if notes:
                player = INSTRUMENTS[self.player.value]
                self._show(NotesToRead("To read once more", notes, player, [note.name for note in notes]))
            return
        self.words.value = f"<p>{html.escape(self._number)}</p>"
        self.image.layout.visibility = "visible"
        self._show(task.picture)

    @property
    def _number(self) -> str:
        assert self.task is not None
        return f"Note {self._place + 1} of {len(self._tasks)}: {self.task.level}."

    def _show(self, picture: NotesToRead) -> None:
        stage = Stage(picture, "panel", self._theme)
        try:
            stage.move({})
        except ImportError as missing:
            self.image.layout.display = "none"
            self._missing = f"There is no picture: {missing}."
            self.seen.value = f"<p>{html.escape(f'{picture.sentence()} {self._missing}')}</p>"
            return
        self.image.value = stage.crisp()
        self.seen.value = f'<span style="{_HEARD_ONLY}">{html.escape(f"{picture.heading} {picture.sentence()}")}</span>'

    def _say(self, words: str, opening: str = "") -> None:
        mark = f"<b>{opening}</b> " if opening else ""
        self.response.value = f'<p role="status" aria-live="polite">{mark}{html.escape(words)}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live card; and, for a reader without a kernel, the note that is asked for, with words."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        if self.task is None:
            return live | {"text/plain": self.report()}
        said = self.task.picture.sentence()
        words = f"{_INTRODUCTION}\n{self._number} {self.task.prompt} {said}\nAnswer: {self.task.answer}."
        if self._missing:
            return live | {"text/plain": f"{words}\n{self._missing}"}, {}
        return live | {"image/png": bytes(self.image.value), "text/plain": words}, {"image/png": {"alt": said}}
