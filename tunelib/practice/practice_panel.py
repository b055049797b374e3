"""The panel of practice: today's sitting, what has come of it over the weeks, and what it is made with."""

from __future__ import annotations

import html
from datetime import datetime
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import EarCurves, find_theme
from tunelib.files import PathLike
from tunelib.pitch import INSTRUMENTS, THIRTY_ONE, Tuning, chance, equal, listed, times
from tunelib.practice.ear_exercise import exercise_questions
from tunelib.practice.ear_file import EAR_FILE, ear_history, keep_answer, write_ear_csv
from tunelib.practice.ear_history import Answered
from tunelib.practice.ear_plan import CAUTIONS, LONGEST_SESSION, SHORTEST_SESSION, Turn, next_session
from tunelib.practice.ear_questions import EAR_KINDS, ear_items
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EAR_REGISTERS, EAR_TIMBRES, EarSettings
from tunelib.practice.ear_sitting import EarSitting
from tunelib.practice.ear_sung import SungQuestion
from tunelib.practice.ear_weeks import ear_weeks
from tunelib.practice.exercise_file import Exercise, parse_exercise, read_exercise
from tunelib.practice.forget_buttons import ForgetButtons
from tunelib.show import assistance, find_size, picture

EAR_TABLE = "my_ear.csv"
_VIEWS = ("Practice", "Progress", "Settings")
_NAMES = {".noUi-handle": "Minutes a day"}
_FITTING = (
    "<style>@media (min-width: 601px) { .tunelib-curves-narrow { display: none !important } }"
    " @media (max-width: 600px) { .tunelib-curves-wide { display: none !important } }</style>"
)
"""Which of the two pictures of the curves a page shows: on a narrow one it is a square with larger type."""

_WIDTH, _HEIGHT = (round(0.65 * pixels) for pixels in find_size("panel").pixels)
_NARROW = {"width": "max-content", "flex": "none"}
_WRAPPED = {"flex_flow": "row wrap"}
_LABELLED = {"style": {"description_width": "150px"}, "layout": {"width": "420px", "max_width": "100%"}}
_EASIEST_FIRST = ("middle", "low", "high")  # registers
_ANYBODY = "any voice or instrument"
_STORED = (
    "Practice for ear and voice. Run this page and press Begin: questions come one after another, as hard as suits, "
    "five to ten minutes a day. What you answer is kept in one small file on the machine that runs the lessons, and "
    "nowhere else."
)


def practice(
    tuning: Tuning | int = THIRTY_ONE,
    *,
    exercise: PathLike | None = None,
    theme: str = "light",
    seed: int | None = None,
) -> PracticePanel:
    """The panel of practice, for a notebook.

    Parameters
    ----------
    tuning : Tuning or int
        Whose steps are named, sung and played, or into how many equal steps the octave is divided.
    exercise : path, optional
        The file of a teacher's exercise, which is begun with; see `tunelib.practice.exercise_file`.
    theme : str
        Of the curves: ``"light"`` or ``"dark"``.
    seed : int, optional
        Fixes what is drawn; another every time unless given.

    Raises ValueError for a tuning whose notes have no letters, an exercise with mistakes, another theme, and a seed
    that is no whole number, and FileNotFoundError for an exercise that is not there.
    """
    panel = PracticePanel(tuning if isinstance(tuning, Tuning) else equal(tuning), theme, seed)
    if exercise is not None:
        panel.give(read_exercise(exercise))
    return panel


class PracticePanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `practice`.

    A program may set ``timbres`` and ``registers`` (by name, each a checkbox), ``microphone``, ``player`` and
    ``minutes``, `give` an exercise, and do in ``sitting`` what a learner does; ``view`` is one of "Practice",
    "Progress" and "Settings". Under "Progress" are the ``curves``, of the ``kind`` of question that is chosen, and what
    they say, ``seen``; the button ``table``; and ``forget``. ``note`` says what came of a button.
    """

    def __init__(self, tuning: Tuning, theme: str, seed: int | None) -> None:
        if find_theme(theme).paper is None:
            raise ValueError(f"the theme of a practice is 'light' or 'dark', not {theme!r}")
        self._tuning, self._theme, self._dice = tuning, theme, chance(seed)
        first = EarSettings(tuning)
        self.timbres = {name: _box(name, name in first.timbres) for name in EAR_TIMBRES}
        self.registers = {name: _box(name, name in first.registers) for name in EAR_REGISTERS}
        self.microphone = _box("I sing or play into a microphone", first.microphone)
        self.player = widgets.Dropdown(
            options=[_ANYBODY, *INSTRUMENTS], value=_ANYBODY, description="Names and range for", **_LABELLED
        )
        self.minutes = widgets.IntSlider(
            value=7, min=SHORTEST_SESSION, max=LONGEST_SESSION, description="Minutes a day", **_LABELLED
        )
        self.exercise: Exercise | None = None
        self.file = widgets.FileUpload(accept=".toml", multiple=False, description="A teacher's exercise")
        self.file.layout = {"width": "220px"}
        self.leave = widgets.Button(description="Back to my own practice", layout={"width": "220px", "display": "none"})
        self.view = widgets.ToggleButtons(options=_VIEWS, style={"button_width": "110px"})
        self.note = widgets.HTML()
        self.kind = widgets.Dropdown(options=_measured(), description="Smallest difference in", **_LABELLED)
        self.curves = widgets.Image(
            format="png", width=_WIDTH, height=_HEIGHT, layout={"max_width": "100%", "height": "auto"}
        )
        self.narrow_curves = widgets.Image(format="png", layout={"max_width": "100%", "height": "auto"})
        self.curves.add_class("tunelib-curves-wide")
        self.narrow_curves.add_class("tunelib-curves-narrow")
        self.seen = widgets.HTML(layout={"max_width": "60em"})
        self.table = widgets.Button(description="Write a table", layout=_NARROW)
        self.forget = ForgetButtons(EAR_FILE, "Forget my answers", "an empty history", self._look)
        self.sitting = EarSitting("Today", self.settings, self._begin, self._today)
        self._views = {
            "Practice": self.sitting,
            "Progress": widgets.VBox(
                [
                    self.kind,
                    self.curves,
                    self.narrow_curves,
                    widgets.HTML(_FITTING),
                    self.seen,
                    widgets.HBox([self.table, self.forget], layout=_WRAPPED),
                ]
            ),
            "Settings": self._chosen(),
        }
        self.kind.observe(lambda _: self._look(), names="value")
        self.file.observe(lambda _: self._open_file(), names="value")
        self.leave.on_click(lambda _: self.give(None))
        self.table.on_click(lambda _: self._write())
        self.view.observe(lambda change: self._turn_to(change.new), names="value")
        super().__init__([self.view, *self._views.values(), self.note, assistance("tunelib-practice", _NAMES)])
        self.add_class("tunelib-practice")
        self._turn_to("Practice")

    def settings(self) -> EarSettings:
        """What is chosen. Raises ValueError where no sound or no register is."""
        tuning = self.exercise.division if self.exercise and self.exercise.practise else None
        return EarSettings(
            tuning or self._tuning,
            [name for name, box in self.timbres.items() if box.value],
            [name for name in _EASIEST_FIRST if self.registers[name].value],
            self.microphone.value,
            INSTRUMENTS.get(self.player.value),
        )

    def _begin(self) -> EarSession:
        settings = self.settings()
        given = {question.item: question for question in self._given(settings)}
        turns = self._turns(settings)
        return EarSession(turns, ear_history(), settings, self._dice, keep=self._keep, given=given)

    def _given(self, settings: EarSettings) -> tuple[SungQuestion, ...]:
        """The questions of the exercise that is open, if one is."""
        return exercise_questions(self.exercise, settings) if self.exercise else ()

    def _turns(self, settings: EarSettings) -> tuple[Turn, ...]:
        """The turns of the exercise that is open, or else of today.

        Without a microphone the notes of an exercise are listened to, and what is sung is left out. Raises ValueError
        where nothing is left.
        """
        there, now = ear_items(settings), datetime.now().astimezone()
        if self.exercise is None:
            return next_session(ear_history(), now, there, self.minutes.value)
        notes = [Turn(given.item, listen=not settings.microphone) for given in self._given(settings)]
        items = [item for item in self.exercise.practise if item in there]
        if not notes and not items:
            raise ValueError("this exercise is sung or played: tick the microphone under Settings")
        return (*notes, *(next_session(ear_history(), now, items, self.minutes.value) if items else ()))

    def _today(self) -> tuple[str, list[str]]:
        """What the sitting of today is, and the cautions."""
        try:
            turns = self._turns(self.settings())
        except ValueError as problem:
            return f"{problem}.", []
        if self.exercise:
            unsung = self.exercise.notes and not self.microphone.value
            how = "Tick the microphone under Settings to sing or play it." if unsung else CAUTIONS[1]
            counts = ((len(self.exercise.notes), "note"), (len(self.exercise.practise), "thing to tell by ear"))
            made_of = listed(times(count, what) for count, what in counts if count)
            return f"An exercise: {self.exercise.title}, {made_of}.", [*self.exercise.cautions, CAUTIONS[0], how]
        kinds = dict.fromkeys(EAR_KINDS[turn.item.kind].title for turn in turns)
        asked = sum(not turn.listen for turn in turns)
        return (
            f"Today: {times(asked, 'question')}, {times(len(turns) - asked, 'sound')} to listen to, about "
            f"{times(self.minutes.value, 'minute')}.",
            [f"On the way: {listed(kinds)}.", *CAUTIONS],
        )

    def _keep(self, answer: Answered) -> None:
        keep_answer(answer, self._say)

    def _chosen(self) -> widgets.VBox:
        """The settings."""
        rows = [
            widgets.HBox([widgets.Label(label, layout={"width": "158px"}), *boxes.values()], layout=_WRAPPED)
            for label, boxes in (("Sounds", self.timbres), ("Registers", self.registers))
        ]
        for box in (*self.timbres.values(), *self.registers.values(), self.microphone, self.player, self.minutes):
            box.observe(lambda _: self._settled(), names="value")
        given = widgets.HBox([self.file, self.leave], layout=_WRAPPED)
        return widgets.VBox([*rows, self.microphone, self.player, self.minutes, given])

    def give(self, exercise: Exercise | None) -> None:
        """Open a teacher's exercise, which Begin then begins; or None, to go back to one's own practice."""
        self.exercise = exercise
        self.leave.layout.display = "" if exercise else "none"
        self.sitting.wait()

    def _open_file(self) -> None:
        """Open the exercise that was chosen, or say what is wrong with it, line by line."""
        if not self.file.value:
            return
        chosen = self.file.value[0]
        try:
            self.give(parse_exercise(bytes(chosen["content"]), chosen["name"]))
        except ValueError as problem:
            self._say(str(problem))
        else:
            self._say(f"Open: {chosen['name']}. It begins under Practice.")
        self.file.value = ()

    def _settled(self) -> None:
        """What is chosen holds from the next sitting on; one that has begun goes on as it is."""
        if self.sitting.session is None or self.sitting.session.stage == "done":
            self.sitting.wait()

    def _turn_to(self, view: str) -> None:
        for name, part in self._views.items():
            part.layout.display = "" if name == view else "none"
        self._say("")
        if view == "Progress":
            self._look()

    def _look(self) -> None:
        """Show what has come of it so far, as curves and in words."""
        lines = EAR_FILE.standing()
        try:
            shown = EarCurves(ear_weeks(ear_history(), self._tuning, self.kind.value or None))
        except ValueError as nothing:
            lines.insert(0, f"{str(nothing)[0].upper()}{str(nothing)[1:]}.")
            self.curves.layout.display = self.narrow_curves.layout.display = "none"
        else:
            self.curves.value = picture(shown, size="panel", theme=self._theme)
            self.narrow_curves.value = picture(shown, size="square", theme=self._theme)
            self.curves.layout.display = self.narrow_curves.layout.display = ""
            lines.insert(0, shown.sentence())
        self.seen.value = "".join(f'<p style="line-height:1.35">{html.escape(line)}</p>' for line in lines)

    def _write(self) -> None:
        """Write everything into a table beside the notebook."""
        try:
            self._say(f"Written: {write_ear_csv(EAR_TABLE)}.")
        except OSError as problem:
            self._say(f"Nothing was written: {problem}.")

    def _say(self, words: str) -> None:
        lines = html.escape(words).replace("\n", "<br>")
        self.note.value = f'<p role="status" aria-live="polite">{lines}</p>' if words else ""

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live panel; and, for a reader without a kernel, what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/markdown": f"**Practice.** {_STORED}", "text/plain": _STORED}


def _measured() -> list[tuple[str, str]]:
    """The kinds of question that measure a difference, by what they are called, behind the one that was asked most."""
    kinds = [(kind.title, name) for name, kind in EAR_KINDS.items() if kind.differences]
    return [("what was asked most often", ""), *kinds]


def _box(words: str, value: bool) -> widgets.Checkbox:
    return widgets.Checkbox(
        value=value, description=words, indent=False, layout=_NARROW | {"margin": "2px 14px 2px 2px"}
    )
