"""The live card of a question or an exercise: words, a place to answer, buttons, and the response.

Works by keyboard alone: Tab reaches everything in order, Space presses a button, Enter in the answer field checks
it. A choice is a row of buttons rather than of radio buttons, because JupyterLab takes the arrow keys for itself.
Nothing is coloured by hand, so text keeps the reader's theme.
"""

from __future__ import annotations

import html

import ipywidgets

from tunelib.practice.answers import Answer, Choice, Response
from tunelib.practice.progress import done, keep_opened, keep_try
from tunelib.show import FRAME

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

    Its parts are ordinary widgets, so that anything a learner does can be done by a program too: the text field
    ``entry`` (`.value`) with the button ``check`` (`.click()`), or for a choice the buttons ``choices``; then
    ``hint_button``, ``worked_button`` and the ``response``; and ``note``, which says that the exercise was solved
    before, or that progress is not being kept. ``widget`` holds them all.
    """

    def __init__(
        self, title: str, prompt: str, answer: Answer, hint: str = "", worked: str = "", step: int | None = None
    ) -> None:
        self._answer = answer
        self._step = step
        self._last = ""  # an answer that is sent twice, by leaving the field and by the button, is one try
        self._hint = hint
        self._worked = worked
        self.entry = ipywidgets.Text(
            description="Your answer",
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
        self.check.on_click(lambda _: self.answer(self.entry.value))
        self.entry.observe(lambda change: self.answer(change.new), names="value")
        for choice in self.choices:
            choice.on_click(lambda pressed: self.answer(pressed.description))
        self.hint_button.on_click(lambda _: self.show_hint())
        self.worked_button.on_click(lambda _: self.show_worked())
        place = self.choices or [ipywidgets.HBox([self.entry, self.check], layout={"flex_flow": "row wrap"})]
        helps = [ipywidgets.HBox([self.hint_button, self.worked_button])] if worked else []
        words = ipywidgets.HTML(FRAME + _paragraphs(prompt, opening=title), layout=_WIDE)
        parts = [words, self.note, *place, *helps, self.response]
        self.widget = ipywidgets.VBox(parts, layout={"margin": "0.5em 0"})
        self.widget.add_class("tunelib-card")
        if step is not None and (day := done(step).day):
            self._note(f"✓ Solved before, on {day}.")

    def answer(self, text: str) -> Response:
        """Respond to an answer, and open the worked one."""
        response = self._answer.check(text)
        self._say("✓" if response.right else "", response.message)
        self.worked_button.disabled = False
        if self._step is not None and text.strip() not in ("", self._last):
            keep_try(self._step, response.right, self._note)
        self._last = text.strip()
        return response

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


def _button(words: str, tooltip: str, disabled: bool = False) -> ipywidgets.Button:
    return ipywidgets.Button(description=words, tooltip=tooltip, disabled=disabled)


def _choice(shown: str) -> ipywidgets.Button:
    return ipywidgets.Button(description=shown, layout={"width": "max-content", "max_width": "100%"})


def _paragraphs(words: str, opening: str = "") -> str:
    paragraphs = [html.escape(paragraph) for paragraph in words.split("\n\n")]
    if opening:
        paragraphs[0] = f"<b>{html.escape(opening)}</b> {paragraphs[0]}"
    return "".join(f'<p style="margin: 0.3em 0; line-height: 1.45">{paragraph}</p>' for paragraph in paragraphs)
