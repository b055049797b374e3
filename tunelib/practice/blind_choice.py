"""One chord in several divisions of the octave, unnamed and in an order of chance: choose, then learn which it was.

Nobody is right or wrong here. What was chosen is counted while the panel is there, and kept nowhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import ipywidgets as widgets
import numpy as np

from tunelib.pitch import (
    cents,
    chance,
    errors,
    listed,
    number_in_words,
    ratio_from_cents,
    shortened,
    signed,
    whole_number,
)
from tunelib.practice.ear_drill import EarDrill
from tunelib.practice.ear_settings import EAR_TIMBRES, root_in
from tunelib.practice.ear_sounds import EarSound, broken
from tunelib.show import assistance
from tunelib.sound import TIMBRES

FEWEST, MOST = 2, 9  # sounds, which have number keys
LARGEST_NUMBER = 16  # in a chord
_FEWEST_STEPS, _MOST_STEPS = 5, 100  # to the octave


def blind_choice(
    chord: str, divisions: Sequence[int], *, timbre: str = EAR_TIMBRES[0], seed: int | None = None
) -> BlindChoice:
    """A panel that plays one chord in several divisions, without names and in an order of chance, to choose from.

    Parameters
    ----------
    chord : str
        As whole numbers that rise, up to 16, such as ``"4:5:6:7"``; each division has its nearest steps for it.
    divisions : sequence of int
        Two to nine of them, each once, with 5 to 100 equal steps to the octave.
    timbre : str
        One of `tunelib.practice.ear_settings.EAR_TIMBRES`, whose partials are exact multiples.
    seed : int, optional
        Fixes the order and the pitch; another every time unless given.

    Raises ValueError for a chord that is not written so, too few divisions or too many, one that is given twice or has
    too few steps or too many, another timbre, and a seed that is no whole number.

    >>> panel = blind_choice("4:5:6", [12, 31], seed=1)
    >>> panel.act("go")
    >>> panel.act("answer", panel.order.index(31))
    >>> print(panel.drill.shown["more"][1])
    31 steps, sound 2: it misses 5/4 by +0.8 and 3/2 by −5.2 cents.
    """
    numbers = _numbers(chord)
    if not isinstance(divisions, Sequence):
        raise ValueError(f"divisions are numbers of steps, such as [12, 31], not {shortened(divisions)}")
    steps = [whole_number(n, "the number of steps of a division", _FEWEST_STEPS, _MOST_STEPS) for n in divisions]
    if not FEWEST <= len(set(steps)) == len(steps) <= MOST:
        raise ValueError(f"a choice is of {FEWEST} to {MOST} divisions, each once, not {shortened(list(divisions))}")
    if timbre not in EAR_TIMBRES:
        raise ValueError(f"the timbre of a choice is one of {', '.join(EAR_TIMBRES)}, not {shortened(timbre)}")
    return BlindChoice(numbers, steps, timbre, seed)


def _numbers(chord: str) -> list[int]:
    """The numbers of a chord such as ``"4:5:6:7"``."""
    parts = chord.split(":") if isinstance(chord, str) else []
    numbers = [int(part) for part in parts if part.strip().isdecimal()]
    if len(numbers) < max(2, len(parts)) or sorted(set(numbers)) != numbers or not numbers[0] > 0:
        raise ValueError(f"a chord is written as numbers that rise, such as 4:5:6:7, not {shortened(chord)}")
    if numbers[-1] > LARGEST_NUMBER:
        raise ValueError(f"the numbers of a chord go up to {LARGEST_NUMBER}, not to {numbers[-1]}")
    return numbers


class BlindChoice(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `blind_choice`.

    A program does by `act` what the reader does in the page: ``act("go")``, ``act("answer", 2)``, ``act("stop")``.
    ``order`` is in which divisions the numbered sounds are, and ``chosen`` counts what was chosen, by division.
    """

    def __init__(self, numbers: Sequence[int], divisions: Sequence[int], timbre: str, seed: int | None) -> None:
        self.chosen: Counter[int] = Counter()
        self.order: list[int] = []
        self._ratios = [Fraction(number, numbers[0]) for number in numbers[1:]]
        self._chord, self._divisions, self._timbre = ":".join(map(str, numbers)), list(divisions), timbre
        self._dice = chance(seed)
        self._sounds: list[EarSound] = []
        self.drill = EarDrill("Blind")
        self.drill.on_act(self.act)
        super().__init__([self.drill, assistance("tunelib-blind-choice")])
        self.add_class("tunelib-blind-choice")
        self._wait()

    def act(self, what: str, value: Any = None) -> None:
        """Do what the reader did; what does not suit the moment is passed over."""
        stage = self.drill.shown["stage"]
        if what == "go" and stage in ("idle", "told", "done"):
            self._ask()
        elif what == "answer" and stage == "asking" and value in range(len(self.order)):
            self._tell(int(value))
        elif what == "stop" and stage in ("asking", "told"):
            self._wait()

    @property
    def _introduction(self) -> str:
        return (
            f"The chord {self._chord}, {number_in_words(len(self._divisions))} times, each time in another division "
            "of the octave. Which is which, only the panel knows."
        )

    def _wait(self) -> None:
        self.drill.show("idle", self._introduction, more=self._tally(), go="Begin")

    def _ask(self) -> None:
        """Put the divisions in another order, on another pitch."""
        self.order = [self._divisions[place] for place in self._dice.permutation(len(self._divisions)).tolist()]
        low = root_in("middle", self._dice)
        self._sounds = [
            EarSound(f"{division} steps", broken(self._hertz(low, division)), TIMBRES[self._timbre])
            for division in self.order
        ]
        last = len(self.order)
        self.drill.show(
            "asking",
            "Which of them would you like to play in? Hear each as often as you like.",
            sounds=self._sounds,
            answers=[f"Sound {number}" for number in range(1, last + 1)],
            hint=f"Keys: 1 to {last} choose, Space hears them all again.",
        )

    def _tell(self, place: int) -> None:
        self.chosen[self.order[place]] += 1
        by_size = sorted(zip(self.order, range(1, len(self.order) + 1), strict=True))
        self.drill.show(
            "told",
            f"You chose sound {place + 1}: {self.order[place]} steps to the octave.",
            more=[
                *(f"{division} steps, sound {number}: {self._missed(division)}." for division, number in by_size),
                *self._tally(),
            ],
            compared=[self._sounds[number - 1] for _, number in by_size],
            answers=[f"Sound {number}" for number in range(1, len(self.order) + 1)],
            answered=place,
            right=place,
            go="Once more",
            hint="Number keys flip between them; Hold lets them ring on.",
        )

    def _hertz(self, low: float, division: int) -> list[float]:
        missed = np.asarray(errors(division, self._ratios))
        above = [cents(ratio) + miss for ratio, miss in zip(self._ratios, missed.tolist(), strict=True)]
        return [low, *(low * ratio_from_cents(place) for place in above)]

    def _missed(self, division: int) -> str:
        """How far the notes of the chord are from pure over the lowest, in words."""
        missed = np.asarray(errors(division, self._ratios)).tolist()
        said = (f"{ratio} by {signed(miss, 1)}" for ratio, miss in zip(self._ratios, missed, strict=True))
        return f"it misses {listed(said)} cents"

    def _tally(self) -> list[str]:
        if not self.chosen:
            return []
        counted = [f"{division} steps {count} ×" for division, count in sorted(self.chosen.items())]
        return [f"Chosen so far: {listed(counted)}."]

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live panel; and, for a reader without a kernel, what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        words = f"{self._introduction} Run this page and press Begin: choose one, and then learn which it was."
        return live | {"text/markdown": f"**Blind.** {words}", "text/plain": words}
