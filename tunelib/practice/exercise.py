"""Questions and exercises that check themselves.

A `Question` comes first, and may well be got wrong. An `Exercise` comes last, with a hint and a worked answer. Either
may be asked by ear: it then has sounds of its own to go by. In a notebook with a kernel each is shown as a card to work
on; a reader without a kernel sees the same words, with the hint and the answers folded away.
"""

from __future__ import annotations

import html
import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from tunelib.pitch import listed
from tunelib.practice.answers import LETTERS, Answer, Choice, Response
from tunelib.practice.card import Card
from tunelib.practice.ear_sounds import EarSound
from tunelib.practice.playing import Played

QUESTION = "Question."
"""How a question begins, and an exercise does not."""


class _Shown(ABC):
    """Showing as a card, as Markdown with folds, and as plain text."""

    prompt: str
    answer: Any
    sounds: tuple[EarSound, ...]
    card: Any

    @abstractmethod
    def _choices(self) -> tuple[str, ...]: ...

    @abstractmethod
    def folds(self) -> list[tuple[str, str]]:
        """What is folded away for a reader without a kernel: titles and words."""

    def _markdown(self) -> str:
        choices = [f"- {_for_markdown(choice)}" for choice in self._choices()]
        folds = [
            f"<details><summary>{title}</summary>\n\n{_for_markdown(words)}\n\n</details>"
            for title, words in self.folds()
        ]
        asked = "\n\n".join(map(_for_markdown, self.asked))
        heard = [f"*{_for_markdown(self._unheard)}*"] if self.sounds else []
        return "\n\n".join([f"**{self.title}** {asked}", *heard, *choices, *folds])

    def _plain_text(self) -> str:
        choices = [f"  {choice}" for choice in self._choices()]
        folds = [f"{title}: {words}".replace("\n\n", "\n  ") for title, words in self.folds()]
        heard = [self._unheard] if self.sounds else []
        return "\n".join([f"{self.title} {' '.join(self.asked)}", *heard, *choices, *folds])

    @property
    def title(self) -> str:
        """What it opens with."""
        return QUESTION

    @property
    def _unheard(self) -> str:
        """What a reader is told whose page cannot sound."""
        return f"Run this cell to hear {listed(sound.name for sound in self.sounds)}."

    @property
    def asked(self) -> tuple[str, ...]:
        """The prompt and, where there are no keys to play the answer on, how else to give it."""
        return (self.prompt, self.answer.ways) if isinstance(self.answer, Played) else (self.prompt,)

    def told(self) -> dict[str, Any]:
        """All that a page needs for a card without Python, as plain values for JSON; see ``card.js``.

        The step is None unless progress is kept, and what is not offered is left empty.
        """
        return {
            "title": self.title,
            "prompt": self.prompt,
            "choices": list(self._choices()),
            "answer": self.answer.told(),
            "hint": "",
            "worked": "",
            "step": None,
            "sounds": [sound.name for sound in self.sounds],
        }

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        live = self.card.widget._repr_mimebundle_()
        return {**live, "text/markdown": self._markdown(), "text/plain": self._plain_text()}


def _for_markdown(words: str) -> str:
    """Plain words made safe inside Markdown, so that nothing in them is taken for markup."""
    return re.sub(r"([\\`*_\[\]#|~$])", r"\\\1", html.escape(words, quote=False))


@dataclass(frozen=True)
class Question(_Shown):
    """A question to guess at, before anything is explained.

    Parameters
    ----------
    prompt : str
        Plain words; blank lines separate paragraphs.
    answer : Choice or Played
        The choices, which is right, and a response to each; or what is to be found on the keys.
    sounds : tuple of EarSound
        What is to be heard first, under names that do not tell the answer.
    """

    prompt: str
    answer: Choice | Played
    sounds: tuple[EarSound, ...] = ()

    def check(self, text: str) -> Response:
        """Respond to a choice, given by its letter or its words, or to the names of notes."""
        return self.answer.check(text)

    @cached_property
    def card(self) -> Card:
        """The live card; there is one, however often it is shown."""
        return Card(self.title, self.prompt, self.answer, sounds=self.sounds)

    def _choices(self) -> tuple[str, ...]:
        return self.answer.lettered if isinstance(self.answer, Choice) else ()

    def folds(self) -> list[tuple[str, str]]:
        """The answer, with the response to each choice: titles and words."""
        if isinstance(self.answer, Played):
            return [("Answer", f"{listed(self.answer.names)}.")]
        lines = [f"{letter}: {words}" for letter, words in zip(LETTERS, self.answer.responses, strict=False)]
        return [("Answer", "\n\n".join([f"It is {LETTERS[self.answer.right]}.", *lines]))]


@dataclass(frozen=True)
class Exercise(_Shown):
    """An exercise with a hint, and a worked answer that opens after a try or a hint.

    Parameters
    ----------
    prompt : str
        Plain words; blank lines separate paragraphs.
    answer : Answer
        A `Quantity`, `Ratio`, `Pitch`, `Several`, `Choice` or `Played`.
    hint, worked : str
        Plain words; their numbers are worked out by the library where the exercise is written.
    step : int, optional
        The step of the course that it belongs to, under which the learner's progress is kept; without one, none is
        kept.
    sounds : tuple of EarSound
        What it is about, under names that do not tell the answer.
    in_numbers : bool
        Whether it is the one of its step for those who like to calculate.
    solves : bool
        Whether its step is solved with it. Otherwise a panel of that step says when it is; on a page without Python,
        where no panel can, the step is solved with the exercise all the same.
    """

    prompt: str
    answer: Answer
    hint: str
    worked: str
    step: int | None = None
    sounds: tuple[EarSound, ...] = ()
    in_numbers: bool = False
    solves: bool = True

    def check(self, text: str) -> Response:
        """Respond to an answer as typed; see the kinds of answer for what is understood.

        >>> from fractions import Fraction
        >>> from tunelib.practice.answers import Ratio
        >>> fifth = Exercise("Which ratio is a fifth?", Ratio(Fraction(3, 2)), "Harmonics 2 and 3.", "3/2.")
        >>> fifth.check("2:3").message
        'That is the ratio upside down: put the higher tone first.'
        """
        return self.answer.check(text)

    @cached_property
    def card(self) -> Card:
        """The live card; there is one, however often it is shown."""
        step = self.step if self.solves else None
        return Card(self.title, self.prompt, self.answer, self.hint, self.worked, step, self.sounds)

    @property
    def title(self) -> str:
        """What it opens with."""
        return "Exercise in numbers." if self.in_numbers else "Exercise."

    def _choices(self) -> tuple[str, ...]:
        return self.answer.lettered if isinstance(self.answer, Choice) else ()

    def folds(self) -> list[tuple[str, str]]:
        """The hint and the worked answer: titles and words."""
        return [("Hint", self.hint), ("Worked answer", self.worked)]

    def told(self) -> dict[str, Any]:
        """All that a page needs, as for a `Question`, with the hint, the worked answer and the step."""
        return super().told() | {"hint": self.hint, "worked": self.worked, "step": self.step}
