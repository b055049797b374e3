"""The same few questions for the ear in any division of the octave: its thirds, sevenths and chords.

They are asked as in practice, and yet nothing of it is kept: an answer about six steps of nineteen says nothing about
six steps of thirty-one.
"""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from tunelib.harmony import playable_division
from tunelib.pitch import Tuning, chance, equal, number_in_words
from tunelib.practice.ear_history import EarHistory, Item
from tunelib.practice.ear_plan import Turn
from tunelib.practice.ear_questions import ear_items
from tunelib.practice.ear_session import EarSession
from tunelib.practice.ear_settings import EarSettings
from tunelib.practice.ear_sitting import EarSitting
from tunelib.show import assistance

ASKED = ("third", "chord", "play", "seventh", "side", "play chord")
"""The kinds of question, one of each where the division has a choice of names."""


def division_drill(tuning: Tuning | int, *, seed: int | None = None) -> DivisionDrill:
    """A card of questions for the ear in one division.

    Parameters
    ----------
    tuning : Tuning or int
        An equal division in which harmony works, or into how many steps the octave is divided.
    seed : int, optional
        Fixes what is drawn; another every time unless given.

    Raises ValueError for a division in which harmony does not work, and for a seed that is no whole number.

    >>> [turn.item.kind for turn in division_drill(12, seed=1).turns()]
    ['third', 'chord', 'play', 'side', 'play chord']
    """
    return DivisionDrill(playable_division(tuning if isinstance(tuning, Tuning) else equal(tuning)), seed)


class DivisionDrill(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `division_drill`; a program does in ``sitting`` what a learner does."""

    def __init__(self, tuning: Tuning, seed: int | None) -> None:
        self._settings, self._dice = EarSettings(tuning), chance(seed)
        self._asked = tuple(kind for kind in ASKED if self._items(kind))
        self.sitting = EarSitting(f"In {len(tuning)} steps", lambda: self._settings, self._begin, self._today)
        super().__init__([self.sitting, assistance("tunelib-division-drill")])
        self.add_class("tunelib-division-drill")

    def turns(self) -> list[Turn]:
        """The next questions: one of each kind, drawn anew."""
        drawn = []
        for kind in self._asked:
            items = self._items(kind)
            drawn.append(Turn(items[int(self._dice.integers(len(items)))]))
        return drawn

    def _items(self, kind: str) -> list[Item]:
        return [item for item in ear_items(self._settings) if item.kind == kind]

    def _begin(self) -> EarSession:
        return EarSession(self.turns(), EarHistory(), self._settings, self._dice)

    @property
    def _words(self) -> str:
        many = number_in_words(len(self._asked)).capitalize()
        return f"{many} questions for your ear in {len(self._settings.tuning)} steps."

    def _today(self) -> tuple[str, list[str]]:
        more = "Begin with the volume low. Nothing of what you answer here is kept: your practice is about thirty-one."
        return self._words, [more]

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live card; and, for a reader without a kernel, what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        words = f"{self._words} Run this page to be asked them."
        return live | {"text/markdown": f"**For the ear.** {words}", "text/plain": words}
