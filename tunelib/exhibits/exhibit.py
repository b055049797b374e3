"""The exhibit: one thing worth showing, from which panels, stills and clips are all made.

An exhibit says what its knobs are, how its picture is laid out once and then only updated, what it sounds like, and
one sentence that puts into words what it shows now. Nothing else in the project draws.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar, TypeAlias

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure, SubFigure

from tunelib.exhibits.look import Look
from tunelib.pitch import FloatArray, in_figures, is_number, look_up, shortened
from tunelib.score import Score
from tunelib.sound import Timbre, reference_gain, render

Canvas: TypeAlias = Figure | SubFigure
Voicing: TypeAlias = Timbre | Mapping[str, Timbre]

_DIGITS, _HAIR = 9, 1e-9  # to which stops are rounded, and what is no more than a rounding


@dataclass(frozen=True)
class Slider:
    """A knob that takes a number from `low` to `high` in steps; the steps are ratios if `logarithmic`.

    `step` is in the knob's own unit, or, on a logarithmic slider, the number of steps to an octave.
    Whole-number bounds and step give whole numbers.
    """

    name: str
    label: str
    low: float
    high: float
    step: float
    default: float
    unit: str = ""
    logarithmic: bool = False

    @property
    def whole(self) -> bool:
        """Whether the knob takes whole numbers only."""
        return not self.logarithmic and all(isinstance(v, int) for v in (self.low, self.high, self.step))

    def check(self, value: Any) -> float:
        """The value as a number; raises ValueError if it is not one within the bounds."""
        if not is_number(value):
            raise ValueError(f"{self.name} takes a number{self._of_unit}, not {shortened(value)}")
        slack = (
            0 if self.whole else 1e-9 * max(abs(self.low), abs(self.high))
        )  # an end may miss its bound by a rounding
        if not self.low - slack <= value <= self.high + slack:
            raise ValueError(
                f"{self.name} goes from {self.low:g} to {self.high:g}{self._in_unit}, not to {in_figures(value)}"
            )
        if self.whole and value != int(value):
            raise ValueError(f"{self.name} takes whole numbers, not {value:g}")
        if self.whole:
            return int(value)
        near = [float(end) for end in (self.low, self.high) if abs(value - end) <= slack]
        return near[0] if near else float(value)

    def snap(self, value: Any, start: float | None = None) -> float:
        """A value as it is meant: the stop of the slider that it misses by a rounding, if it does, else itself.

        Stops are counted from the low end, or, on a logarithmic slider, from `start`, the default unless given; they
        come out a hair beside where a widget works them out. What is typed between two stops stays as it is. Raises
        ValueError as `check`.

        >>> Slider("cents", "Cents", 5, 80, 12, 10, logarithmic=True).snap(9.999999999999998)
        10.0
        >>> Slider("level", "Level", 0.0, 1.0, 0.1, 0.5).snap(0.30000000000000004)
        0.3
        """
        value = self.check(value)
        start = float(self.default if start is None else start)
        if self.logarithmic:
            stop = start * 2 ** (round(math.log2(value / start) * self.step) / self.step)
        else:
            stop = round(self.low + round((value - self.low) / self.step) * self.step, _DIGITS)
        near = (
            one for one in (self.low, self.high, start, stop) if math.isclose(value, one, rel_tol=_HAIR, abs_tol=_HAIR)
        )
        return self.check(next(near, value))

    @property
    def _of_unit(self) -> str:
        return f" ({self.unit})" if self.unit else ""

    @property
    def _in_unit(self) -> str:
        return f" {self.unit}" if self.unit else ""

    @property
    def corners(self) -> tuple[Any, ...]:
        """The values that a picture must survive: the ends and the default."""
        return (self.low, self.high, self.default)


@dataclass(frozen=True)
class Choice:
    """A knob that takes one of a few words; `ordered` where they have an order, so that a slider can pick them."""

    name: str
    label: str
    options: tuple[str, ...]
    default: str
    ordered: bool = False

    def check(self, value: Any) -> str:
        """The value, if it is one of the options; else ValueError with the nearest."""
        if value in self.options:
            return str(value)
        return look_up(value, {option: option for option in self.options}, self.name)

    @property
    def corners(self) -> tuple[Any, ...]:
        """Every option, or the ends of a row of them."""
        return (self.options[0], self.options[-1], self.default) if self.ordered else self.options


@dataclass(frozen=True)
class Switch:
    """A knob that is on or off."""

    name: str
    label: str
    default: bool

    def check(self, value: Any) -> bool:
        """The value, if it is True or False; else ValueError."""
        if isinstance(value, (bool, np.bool_)):
            return bool(value)
        raise ValueError(f"{self.name} is True or False, not {shortened(value)}")

    @property
    def corners(self) -> tuple[Any, ...]:
        """On and off."""
        return (False, True)


Knob: TypeAlias = Slider | Choice | Switch


@dataclass(frozen=True)
class Playing:
    """What sounds at a moment of an exhibit's sound.

    `seconds` is how long it has sounded, None while it is silent; `notes` are the places in its score's notes of those
    that sound at that moment.
    """

    seconds: float | None = None
    notes: tuple[int, ...] = ()


SILENT = Playing()


@dataclass(frozen=True)
class Scene:
    """An exhibit laid out on a figure: the artists that move, and the functions that move them.

    `update` takes the knobs by name. It sets data, text, colours and visibility of the moving artists alone; all else
    was drawn once and stays. `light` is called after it, with what sounds at that moment: what sounds lights up, and
    what drifts has drifted. It sets moving artists too, from what `update` has left, and with `SILENT` leaves them so.

    `parts` has the artists of each part that can be pointed at, under the names of the exhibit's `parts`; artists of
    parts may move or stay.
    """

    moving: Sequence[Artist]
    update: Callable[..., None]
    light: Callable[[Playing], None] = lambda playing: None
    parts: Mapping[str, Sequence[Artist]] = field(default_factory=dict)


@dataclass(frozen=True)
class Printed:
    """What a printed page says besides an exhibit's picture: plain words, and a table whose rows match its head."""

    introduction: str
    table_title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cautions: tuple[str, ...]


class Exhibit(ABC):
    """One thing worth showing. Subclasses give the four parts; `name` is how lessons and commands ask for it.

    Where there are two tunings to compare, or a before and an after, `comparisons` names them.

    Methods that take the values of the knobs take them by keyword, each under its knob's name.
    """

    name: ClassVar[str]
    title: ClassVar[str]
    knobs: ClassVar[tuple[Knob, ...]]
    makes: ClassVar[str] = ""
    """What the button says by which files are made, for an exhibit that makes any."""
    parts: ClassVar[Mapping[str, str]] = {}
    """What can be pointed at, by its name in shot lists, and in words, such as ``{"gap": "the gap to the key"}``."""
    builds: ClassVar[tuple[tuple[str, ...], ...]] = ()
    """In which order parts come on stage, if they come one after another: two to five groups of names of parts, the
    stage itself first, what the picture says last. What is in none is there from the beginning, as the title is."""
    flows: ClassVar[bool] = False
    """Whether the picture moves on while it sounds, as a drifting wave does, and not at its notes' ends alone."""
    comparisons: ClassVar[Mapping[str, Mapping[str, Any]]] = {}
    """Ways to tune what is heard, or a before and an after, between which a listener flips while it sounds: a word or
    two for each, such as ``"12"``, and the knob values that give it, at stops of their sliders.

    Each sets the same knobs. Whatever the others are at, all have the same notes in the same voices at the same times,
    so that each partial glides to its counterpart, and all are equally loud.
    """
    together: ClassVar[tuple[str, ...]] = ()
    """The knobs to be moved together where pictures are made beforehand and not all settings can be: their settings
    should be some 200 or fewer."""
    stops: ClassVar[Mapping[str, Sequence[float]]] = {}
    """Where pictures are made beforehand: the stops of a slider, by its name, in place of even ones; the start comes on
    top."""

    @abstractmethod
    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        """Draw all that stays, and return what moves."""

    @abstractmethod
    def sentence(self, *_: Any, **values: Any) -> str:
        """What the picture shows at these knob values, in words: its caption and its alt text."""

    def numbers(self, *_: Any, **values: Any) -> Mapping[str, str]:
        """The numbers that a callout may quote at these knob values, as they are read, by names such as ``"cents"``.

        They come on top of the knobs themselves, which can be quoted by their own names.
        """
        return {}

    @abstractmethod
    def score(self, *_: Any, **values: Any) -> Score:
        """What is heard at these knob values."""

    @abstractmethod
    def timbre(self, *_: Any, **values: Any) -> Voicing:
        """What plays the score: one timbre, or one for each voice."""

    def bends(self, *_: Any, **values: Any) -> Sequence[FloatArray]:
        """How the pitch of each note moves while it sounds, as `tunelib.sound.render` takes it; none if all stay."""
        return ()

    def gain(self, *_: Any, **values: Any) -> float:
        """What the score is turned up or down by, to be as loud as everything else that is heard.

        Only a knob that is there to make a sound louder or softer leaves its mark.
        """
        return reference_gain(self.score(**values), self.timbre(**values))

    def sound(self, **values: Any) -> FloatArray:
        """The sound at these knob values: samples at 48 kHz, at the loudness of everything that is heard."""
        return render(self.score(**values), self.timbre(**values), gain=self.gain(**values), bends=self.bends(**values))

    def make(self, folder: Path, tell: Callable[[str], None], *_: Any, **values: Any) -> list[Path]:
        """Write the exhibit's files at these knob values into a folder, whole or not at all; none is overwritten.

        `tell` is called with a few words before each step.
        """
        raise NotImplementedError(f"{self.name!r} makes no files")

    def printed(self, *_: Any, **values: Any) -> Printed:
        """What a page printed at these knob values says besides the picture."""
        raise NotImplementedError(f"{self.name!r} has no printed page")

    def clash(self, *_: Any, **values: Any) -> str:
        """Why these knob values, each right by itself, make no sense together; empty where they do, as they mostly do.

        One clause that names the knobs and says what would be right, such as ``"8 of 2 parts cannot be silent: 0 to 2
        can"``. The defaults never clash.
        """
        return ""

    def checked(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Knob values under their full names, each looked at by itself; ValueError for one unknown or out of bounds."""
        known = {knob.name: knob for knob in self.knobs}
        given = {name if name in known else look_up(name, known, "knob").name: value for name, value in values.items()}
        return {name: known[name].check(value) for name, value in given.items()}

    def settle(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """All knobs with their values, defaults filled in; ValueError as for `checked`, or where they clash."""
        given = self.checked(values)
        settled = {knob.name: given.get(knob.name, knob.check(knob.default)) for knob in self.knobs}
        if why := self.clash(**settled):
            raise ValueError(why)
        return settled
