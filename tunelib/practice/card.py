"""The live card of a question or an exercise: words, a place to answer, buttons, and the response.

Works by keyboard alone: Tab reaches everything in order, Space presses a button, Enter in the answer field checks
it. A choice is a row of buttons rather than of radio buttons, because JupyterLab takes the arrow keys for itself.
An answer that is played has keys, and the field as another way. ``card.js`` does the same in a page without Python.
Nothing is coloured by hand, so text keeps the reader's theme.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any

import ipywidgets

from tunelib.live import Sounding
from tunelib.practice.answers import Answer, Choice, Response
from tunelib.practice.ear_sounds import EarSound
from tunelib.practice.playing import Played
from tunelib.practice.progress import done, keep_opened, keep_try
from tunelib.show import assistance

_WIDE = {"width": "100%", "max_width": "46em"}


class Card:
    """A card to work on.

    Parameters
    ----------
    title, prompt : str
    answer : Answer
    hint, worked : str
        Left empty, their buttons are left out.
    step : int, optional
        Whose exercise this is; without it, no progress is kept.
    sounds : sequence of EarSound
        What is to be heard first: a row to hear it, with a button for each where there are several.

    Its parts are ordinary widgets, so that anything a learner does can be done by a program too: the text field
    ``entry`` (`.value`) with the button ``check`` (`.click()`), or for a choice the buttons ``choices``; where it can
    be played, the ``keys`` with the button ``check_played``, or ``begin_again`` for notes one after another; then
    ``hint_button``, ``worked_button`` and the ``response``; and ``note``, which says that the exercise was solved
    before, or that progress is not being kept; and ``row``, where there is something to hear. ``widget`` holds them
    all.
    """

    def __init__(
        self,
        title: str,
        prompt: str,
        answer: Answer,
        hint: str = "",
        worked: str = "",
        step: int | None = None,
        sounds: Sequence[EarSound] = (),
    ) -> None:
        self._answer = answer
        self._step = step
        self._last = ""  # an answer that is sent twice, by leaving the field and by the button, is one try
        self._hint = hint
        self._worked = worked
        self.entry = ipywidgets.Text(
            description="Or write it" if isinstance(answer, Played) else "Your answer",
            placeholder=f"for example {answer.form}",
            continuous_update=False,  # one value when Enter is pressed or the field is left, not one for each letter
            style={"description_width": "initial"},
            layout={"width": "22em", "max_width": "100%"},
        )
        self.check = _button("Check", "Check the answer")
        self.choices = [_choice(shown) for shown in answer.lettered] if isinstance(answer, Choice) else []
        self.hint_button = _button("Hint", "Show a hint")
        self.worked_button = _button("Worked answer", "Opens after a try or a hint", disabled=True)
        self.response = ipywidgets.HTML(layout=_WIDE)
        self.note = ipywidgets.HTML(layout=_WIDE | {"display": "none"})
        self.keys = answer.instrument() if isinstance(answer, Played) else None
        self._heard: list[int] = []  # the notes held last, or those of a sequence so far
        self.check_played = _button("Check what I play", "Check the notes that are held, or were held last")
        self.begin_again = _button("Begin again", "Forget the notes played so far")
        self.check.on_click(lambda _: self.answer(self.entry.value))
        self.entry.observe(lambda change: self.answer(change.new), names="value")
        for choice in self.choices:
            choice.on_click(lambda pressed: self.answer(pressed.description))
        self.check_played.on_click(lambda _: self.answer_played(self._heard))
        self.begin_again.on_click(lambda _: self._begin_again())
        self.hint_button.on_click(lambda _: self.show_hint())
        self.worked_button.on_click(lambda _: self.show_worked())
        place = self.choices or [ipywidgets.HBox([self.entry, self.check], layout={"flex_flow": "row wrap"})]
        if self.keys is not None and isinstance(answer, Played):
            if answer.in_order:
                self.keys.on_msg(lambda _widget, message, _buffers: self._hear_next(message))
            else:
                self.keys.on_gathered(self._hear_held)
            place = [self.keys, self.begin_again if answer.in_order else self.check_played, *place]
        helps = [ipywidgets.HBox([self.hint_button, self.worked_button])] if worked else []
        words = ipywidgets.HTML(_paragraphs(prompt, opening=title), layout=_WIDE)
        self.row = sounding_row(sounds) if sounds else None
        heard = [self.row] if self.row is not None else []
        parts = [words, self.note, *heard, *place, *helps, self.response, assistance("tunelib-card")]
        self.widget = ipywidgets.VBox(parts, layout={"margin": "0.5em 0"})
        self.widget.add_class("tunelib-card")
        if step is not None and (day := done(step).day):
            self._note(f"✓ Solved before, on {day}.")

    def answer(self, text: str) -> Response:
        """Respond to an answer, and open the worked one. One that is not understood is no try."""
        return self._reply(self._answer.check(text), text.strip())

    def answer_played(self, steps: list[int]) -> Response:
        """Respond to notes that are played, as steps, and open the worked answer."""
        assert isinstance(self._answer, Played)
        return self._reply(self._answer.check_steps(steps), " ".join(map(str, steps)))

    def _reply(self, response: Response, given: str) -> Response:
        self._say("✓" if response.right else "", response.message)
        self.worked_button.disabled = False
        if self._step is not None and response.understood and given not in ("", self._last):
            keep_try(self._step, response.right, self._note)
        self._last = given
        return response

    def _hear_held(self, steps: list[int]) -> None:
        """Keep what is held, also when it has been let go: whoever reaches for the button lets go of the keys."""
        self._heard = steps

    def _hear_next(self, message: Any) -> None:
        """Respond to a sequence as it is played. A wrong note before it has begun is no try: keys are to be tried."""
        if "step" not in message:
            return
        assert isinstance(self._answer, Played)
        self._heard.append(message["step"])
        response = self._answer.check_steps(self._heard)
        if self._answer.begun(self._heard) or (len(self._heard) == 1 and not response.right):
            self._say("", response.message)
        else:
            self._reply(response, " ".join(map(str, self._heard)))
        if not self._answer.begun(self._heard):
            self._heard = []

    def _begin_again(self) -> None:
        self._heard = []
        self._say("", "Begin with the first note.")

    def show_hint(self) -> None:
        """Show the hint, and open the worked answer."""
        self._say("Hint.", self._hint)
        self.worked_button.disabled = False
        if self._step is not None:
            keep_opened(self._step, self._note, hint=True)

    def show_worked(self) -> None:
        """Show the worked answer."""
        self._say("Worked answer.", self._worked)
        if self._step is not None:
            keep_opened(self._step, self._note, worked=True)

    def _note(self, words: str) -> None:
        self.note.value = f'<p role="status" style="margin: 0; font-size: 0.9em">{html.escape(words)}</p>'
        self.note.layout.display = ""

    def _say(self, opening: str, words: str) -> None:
        self.response.value = f'<div role="status" aria-live="polite">{_paragraphs(words, opening)}</div>'


def sounding_row(sounds: Sequence[EarSound]) -> Sounding:
    """The row of widgets by which sounds are heard, with a button for each where there are several."""
    ways = {sound.name: sound.program for sound in sounds} if len(sounds) > 1 else {}
    return Sounding(
        "what is asked about", program=sounds[0].program, others=ways, chosen=sounds[0].name if ways else ""
    )


def _button(words: str, tooltip: str, disabled: bool = False) -> ipywidgets.Button:
    return ipywidgets.Button(description=words, tooltip=tooltip, disabled=disabled)


def _choice(shown: str) -> ipywidgets.Button:
    return ipywidgets.Button(description=shown, layout={"width": "max-content", "max_width": "100%"})


def _paragraphs(words: str, opening: str = "") -> str:
    paragraphs = [html.escape(paragraph) for paragraph in words.split("\n\n")]
    if opening:
        paragraphs[0] = f"<b>{html.escape(opening)}</b> {paragraphs[0]}"
    return "".join(f'<p style="margin: 0.3em 0; line-height: 1.45">{paragraph}</p>' for paragraph in paragraphs)
