"""The card at the end of a lesson: three questions for the ear on what the lesson was about, as hard as suits.

They are part of the same practice: what is answered here is kept with all else, and comes again in the notebook
``practice``.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import ipywidgets as widgets

from tunelib import course
from tunelib.pitch import THIRTY_ONE, chance, number_in_words
from tunelib.practice.ear_file import ear_history, keep_answer
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_plan import Turn, recall
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sitting import EarSitting
from tunelib.practice.progress_line import lesson_named
from tunelib.show import assistance

QUESTIONS_ON_A_CARD = 3
PRACTICE_NOTEBOOK = "practice.ipynb"


def _items(kind: str, whats: str) -> tuple[Item, ...]:
    return tuple(Item(kind, what) for what in whats.split())


EAR_OF_LESSONS: Mapping[str, tuple[Item, ...]] = {
    "01_waves": _items("pure", "2/1 3/2 4/3"),
    "02_overtones": _items("harmonic", "2 3 4 5 6 7 8 9 10"),
    "03_measuring_pitch": (*_items("wider", "3/2 5/4"), *_items("narrower", "4/3 6/5")),
    "04_twelve": (*_items("pure", "5/4 6/5 5/3 3/2"), *_items("same", "5/4 3/2")),
    "05_other_divisions": _items("division", "12 19 31 53"),
    "06_meantone": (*_items("same", "5/4 6/5"), *_items("pure", "5/4 3/2 6/5"), *_items("wider", "3/2")),
    "07_thirty_one_notes": (
        *_items("third", "subminor minor neutral major supermajor"),
        *_items("play", "7 8 9 10 11"),
    ),
    "08_chords": (
        *_items("chord", "Csub Cm Cneu C Csup C7 Charm7"),
        *_items("seventh", "harmonic minor neutral"),
    ),
    "09_harmony_in_motion": (*_items("chord", "C7 Charm7 Cmaj7 Cm7"), *_items("side", "7 10 25")),
}
"""What the card of each lesson may ask."""


def practice_card(lesson: str | int, *, seed: int | None = None) -> PracticeCard:
    """The card of a lesson, for its end.

    Parameters
    ----------
    lesson : str or int
        The name of its notebook, such as ``"02_overtones"``, or its number.
    seed : int, optional
        Fixes what is drawn; another every time unless given.

    Raises ValueError for a lesson that the course does not have, and for a seed that is no whole number.
    """
    return PracticeCard(lesson_named(lesson), seed)


class PracticeCard(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `practice_card`; a program does in ``sitting`` what a learner does."""

    def __init__(self, lesson: course.Lesson, seed: int | None) -> None:
        self._lesson, self._dice = lesson, chance(seed)
        self.note = widgets.HTML()
        self.sitting = EarSitting("For the ear", self._settings, self._begin, self._today)
        super().__init__([self.sitting, self.note, assistance("tunelib-practice-card")])
        self.add_class("tunelib-practice-card")

    def _settings(self) -> EarSettings:
        return EarSettings(THIRTY_ONE)

    def _begin(self) -> EarSession:
        """What is remembered least of the lesson; of what was never asked, anything."""
        items, history, now = EAR_OF_LESSONS[self._lesson.name], ear_history(), datetime.now().astimezone()
        shuffled = [items[place] for place in self._dice.permutation(len(items)).tolist()]
        least = sorted(shuffled, key=lambda item: recall(history, item, now))[:QUESTIONS_ON_A_CARD]
        return EarSession(
            [Turn(item) for item in least],
            history,
            self._settings(),
            self._dice,
            keep=lambda answer: keep_answer(answer, self._say),
        )

    def _today(self) -> tuple[str, list[str]]:
        more = "They are as hard as suits you. More of them, a few minutes a day, are in the notebook practice."
        return self._words, ["Begin with the volume low.", more]

    @property
    def _words(self) -> str:
        many = number_in_words(QUESTIONS_ON_A_CARD)
        return f"{many.capitalize()} questions for your ear, on what this lesson was about."

    def _say(self, words: str) -> None:
        self.note.value = f'<p role="status">{words}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live card; and, for a reader without a kernel, what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        words = f"{self._words} Run the lesson to be asked them."
        markdown = (
            f"**For the ear.** {words} They come again in [practice]({PRACTICE_NOTEBOOK}), with all that you practise."
        )
        return live | {"text/markdown": markdown, "text/plain": words}
