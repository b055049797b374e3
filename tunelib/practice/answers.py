"""Kinds of answer: how each is read from what a learner types, and the reply it gets.

Every kind has `check(text) -> Response`, a `form`, the words that show how such an answer may be written, and `told()`,
all of it as plain values. Checking is kind to the way an answer is written and strict about what it means: ``"3:2"``,
``"3/2"`` and ``"1.5"`` are one ratio, ``"flat by 31"`` is −31 cents, and where a wrong answer has a known cause the
response names it.

In a page without Python ``answers.js`` beside this file checks what `told()` says, by the same rules and in the same
words; a test holds the two beside each other. Answers that are played are in ``playing.py``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Protocol

from tunelib.pitch import MINUS, Note, cents, equal
from tunelib.practice.sums import exact, read_sum
from tunelib.practice.typed import gist, in_digits, quoted, tidy, tidy_numbers
from tunelib.practice.units import UNITS, read_amount


@dataclass(frozen=True)
class Response:
    """The reply to an answer: whether it is right, one line in words, and whether the answer was understood.

    One that was not, such as a word that is no note, is no try: it was written wrongly, and not yet given.
    """

    right: bool
    message: str
    understood: bool = True


def not_understood(message: str) -> Response:
    """The reply to what is no answer yet: what is wrong with how it is written, in one line."""
    return Response(False, message, understood=False)


class Answer(Protocol):
    """A kind of answer, with the right one inside."""

    @property
    def form(self) -> str:
        """How such an answer may be written, as an example."""
        ...

    def check(self, text: str) -> Response:
        """Read an answer and respond to it; never raises for what a learner typed."""
        ...

    def told(self) -> dict[str, Any]:
        """All that a page needs to check it, as plain values for JSON; a fraction is [numerator, denominator]."""
        ...


_LARGEST = 1e300
_MOST_IN_FULL = 1e15
_OFF = ((10, "ten"), (100, "a hundred"), (1000, "a thousand"))
_OCTAVES = ((2, "an octave"), (4, "two octaves"))
_HALF = 0.5  # what is rounded to a whole number is nearer to it
_WITHOUT_A_SIGN = ("hertz", "time", "length")
_SIDES = {"time": ("long", "short"), "length": ("long", "short"), "Hz": ("high", "low"), "kHz": ("high", "low")}


def _nothing(form: str) -> Response:
    return not_understood(f"Write an answer first, for example {form}.")


def _shown(value: float) -> str:
    value += 0.0  # so that there is no minus nought
    whole = 10_000 <= abs(value) < _MOST_IN_FULL and float(value).is_integer()
    return (f"{value:,.0f}" if whole else f"{value:.4g}").replace("-", MINUS)


@dataclass(frozen=True)
class Quantity:
    """A number with a unit.

    Parameters
    ----------
    value : float
        The right answer, in `unit`.
    unit : str
        One of `UNITS` in ``units.py``: ``"Hz"``, ``"ms"``, ``"cents"`` and so on, or ``""`` for a plain number.
    tolerance : float
        How far off an answer may be and still be right, in `unit`.
    slips : mapping from float to str
        Wrong answers with a known cause, and the line that helps each; held to the same tolerance.
    down : bool
        Whether the question asks how far down, or how flat: then `value` is above 0, and a minus sign in an answer says
        no more than the question. Otherwise "31 cents flat" is −31. So too where it asks how far two things are apart,
        whichever is taken from the other.

    Raises ValueError for a unit that is not one of these, or a tolerance below 0.
    """

    value: float
    unit: str = ""
    tolerance: float = 0.0
    slips: Mapping[float, str] = field(default_factory=dict)
    down: bool = False

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"{self.unit!r} is not a unit for an answer: use one of {', '.join(filter(None, UNITS))}")
        if not self.tolerance >= 0:
            raise ValueError(f"a tolerance is 0 or more, not {self.tolerance}")

    @property
    def form(self) -> str:
        return UNITS[self.unit].form

    def check(self, text: str) -> Response:
        if not tidy(text):
            return _nothing(self.form)
        amount = read_amount(text)
        if not amount or not amount.values or amount.unit is None or max(map(abs, amount.values)) >= _LARGEST:
            return not_understood(f"I cannot read {quoted(text)} as an answer here. Write, for example, {self.form}.")
        if amount.both_ways:
            return not_understood(f"{quoted(text)} goes both ways: leave out the sign or the word.")
        how_often = amount.unit == "times" and self._measure == "hertz"
        unit = UNITS[amount.unit if amount.typed and not how_often else self.unit]
        signed = [self._turned(value, amount.way) for value in amount.values]
        if unit.measure != self._measure:
            right = "The number is right, the unit is not. " if any(self._is(n, self.value) for n in signed) else ""
            asked = UNITS[self.unit].spoken
            return Response(False, f"{right}You gave {unit.spoken}; the question asks for {asked}.")
        scaled = [value * unit.size / UNITS[self.unit].size for value in signed]
        nearest = min(scaled, key=lambda value: abs(value - self.value))
        return self._respond(nearest, asked=unit == UNITS[self.unit], typed=amount.typed, told=bool(amount.way))

    @property
    def _measure(self) -> str:
        return UNITS[self.unit].measure

    def _turned(self, value: float, way: int) -> float:
        """A value as the question counts: "flat" is a minus, but where it asks how flat, so is no sign at all."""
        if self.down:
            return -abs(value) if way > 0 else abs(value)
        return -abs(value) if way < 0 else value

    def told(self) -> dict[str, Any]:
        return {
            "kind": "quantity",
            "form": self.form,
            "value": float(self.value),
            "unit": self.unit,
            "tolerance": float(self.tolerance),
            "slips": [[float(slip), message] for slip, message in self.slips.items()],
            "down": self.down,
        }

    def _is(self, value: float, target: float) -> bool:
        return math.isclose(value, target, rel_tol=1e-9, abs_tol=self.tolerance)

    def _respond(self, value: float, *, asked: bool, typed: bool, told: bool) -> Response:
        if self._is(value, self.value):
            return Response(True, f"Yes: {_shown(self.value)} {self.unit}".rstrip() + ".")
        for slip, message in self.slips.items():
            if self._is(value, slip) or (self._measure in _WITHOUT_A_SIGN and self._is(-value, slip)):
                return Response(False, message)
        if self._measure == "count" and float(self.value).is_integer() and abs(value - self.value) < _HALF:
            return Response(False, f"Right so far: {_shown(value)}. Round it to a whole number.")
        if self._is(-value, self.value):
            return Response(False, "Right size, but the other way." if told else "Right size, wrong sign.")
        message = ("" if typed else self._in_another_unit(value)) or self._by_a_factor(value, asked)
        return Response(False, message or self._too_large_or_small(value, told))

    def _too_large_or_small(self, value: float, told: bool) -> str:
        """What to say to a value of which nothing else is known: where there is a minus, of sign and size apart."""
        size, right = abs(value), abs(self.value)
        distance = "a little " if abs(size - right) <= 4 * self.tolerance else ""
        side = f"{distance}too {'large' if size > right else 'small'}"
        if not value * self.value or min(value, self.value) > 0:
            return f"Not yet: {_shown(value)} is {side}."
        which = "direction" if told else "sign"
        return f"Not yet: the {which} is {'right, but' if value * self.value > 0 else 'wrong, and'} the size is {side}."

    def _in_another_unit(self, value: float) -> str:
        """What to say to a number without a unit that would be right in another one."""
        own = UNITS[self.unit]
        for unit in UNITS.values():
            another = unit.measure == own.measure and unit.size != own.size
            if another and self._is(value * unit.size / own.size, self.value):
                return f"That is right in {unit.spoken}; the question asks for {own.spoken}."
        return ""

    def _by_a_factor(self, value: float, asked: bool) -> str:
        """What to say to a value that is off by octaves or by tens, or is upside down."""
        over, under = _SIDES.get(self.unit) or _SIDES.get(self._measure) or ("large", "small")
        side = over if abs(value) > abs(self.value) else under
        for factor, octaves in _OCTAVES:
            if over == "high" and any(self._is(value * by, self.value) for by in (factor, 1 / factor)):
                return f"Right note, but {octaves} too {side}."
        if self._measure == "cents":
            octave = UNITS["octaves"].size / UNITS[self.unit].size
            if any(self._is(value + away, self.value) for away in (octave, -octave)):
                return f"Right except for the octave: it is an octave too {'large' if value > self.value else 'small'}."
        for factor, times in _OFF:
            if any(self._is(value * by, self.value) for by in (factor, 1 / factor)):
                where = "decimal point" if asked else "unit"
                return f"That is {times} times too {side}: look at the {where}."
        if self._measure == "count" and value and self._is(1 / value, self.value):
            return "That is upside down: divide the other way round."
        return ""


@dataclass(frozen=True)
class Ratio:
    """An interval as a ratio.

    Parameters
    ----------
    value : Fraction
        The right ratio, upper frequency to lower.
    tolerance : float
        How far off a *decimal* answer may be, in cents; two whole numbers must be exact.
    slips : mapping from Fraction to str
        Wrong ratios with a known cause, and the line that helps each.
    """

    value: Fraction
    tolerance: float = 5.0
    slips: Mapping[Fraction, str] = field(default_factory=dict)

    @property
    def form(self) -> str:
        return "5/4 or 5:4"

    def check(self, text: str) -> Response:
        if not tidy(text):
            return _nothing(self.form)
        amount = read_amount(text)
        if amount and amount.unit and amount.values:
            unit = UNITS[amount.unit]
            size = next((n * unit.size for n in amount.values if unit.measure == "cents"), math.inf)
            right = "The size is right. " if abs(size - cents(self.value)) <= self.tolerance else ""
            asked = f"the question asks for a ratio, such as {self.form}"
            return Response(False, f"{right}You gave {unit.spoken}; {asked}.")
        plain = tidy_numbers(text).lower().replace(" to ", ":")
        read = read_sum(plain.replace(":", "/")) if plain.count(":") <= 1 else None
        given = exact(read[0]) if read and not read[1].rstrip(".") else None
        if given is None or given <= 0:
            return not_understood(f"I cannot read {quoted(text)} as a ratio. Write, for example, {self.form}.")
        return self._respond(given, rounded="." in plain or "," in plain)

    def told(self) -> dict[str, Any]:
        return {
            "kind": "ratio",
            "form": self.form,
            "value": list(self.value.as_integer_ratio()),
            "tolerance": float(self.tolerance),
            "slips": [[list(slip.as_integer_ratio()), message] for slip, message in self.slips.items()],
        }

    def _respond(self, given: Fraction, *, rounded: bool) -> Response:
        def same(target: Fraction) -> bool:
            return given == target or (rounded and abs(cents(given / target)) <= self.tolerance)

        if same(self.value):
            return Response(True, f"Yes: {self.value}.")
        for slip, message in self.slips.items():
            if same(slip):
                return Response(False, message)
        if same(1 / self.value):
            return Response(False, "That is the ratio upside down: put the higher tone first.")
        if same(self.value * 2) or same(self.value / 2):
            return Response(False, f"Right except for the octave: it is an octave too {self._side(given)}.")
        return Response(False, f"Not yet: that interval is too {self._side(given)}.")

    def _side(self, given: Fraction) -> str:
        return "wide" if given > self.value else "narrow"


_TWELVE = equal(12)


@dataclass(frozen=True)
class Pitch:
    """A note with its octave. The same key under another name counts as right, and the response says its name here."""

    value: Note

    @property
    def form(self) -> str:
        return "B♭3, or Bb3"

    def check(self, text: str) -> Response:
        plain = tidy(text).replace(" ", "")
        if not plain:
            return _nothing(self.form)
        try:
            given = Note.parse(plain)
        except ValueError:
            return self._unread(text, plain)
        try:
            distance = given.step(_TWELVE) - self.value.step(_TWELVE)
        except ValueError:
            return Response(False, f"{given} is between two keys; the answer is one of the twelve.")
        if given == self.value:
            return Response(True, f"Yes: {self.value}.")
        if distance == 0:
            return Response(True, f"Yes, that is the key; here it is written {self.value}.")
        if distance % len(_TWELVE) == 0:
            return Response(
                False, f"Right note, but too {'high' if distance > 0 else 'low'}: look at the octave number."
            )
        close = "one key " if abs(distance) == 1 else ""
        return Response(False, f"Not yet: {given} is {close}too {'high' if distance > 0 else 'low'}.")

    def told(self) -> dict[str, Any]:
        return {"kind": "pitch", "form": self.form, "value": str(self.value)}

    def _unread(self, text: str, plain: str) -> Response:
        try:
            Note.parse(f"{plain}4")
        except ValueError:
            return not_understood(f"I cannot read {quoted(text)} as a note. Write, for example, {self.form}.")
        return not_understood("Which octave? Add its number: C4 is middle C, and A4 the tuning note.")


_BESIDE_NUMBERS = re.compile(r"\b(?:the|harmonics?|numbers?)\b|(?<=[0-9])(?:st|nd|rd|th)\b", re.ASCII)


@dataclass(frozen=True)
class Several:
    """Several whole numbers, in any order.

    Raises ValueError if there are none.
    """

    values: frozenset[int]

    def __post_init__(self) -> None:
        if not self.values:
            raise ValueError("an answer of several numbers needs at least one")

    @property
    def form(self) -> str:
        return "2, 3 and 5"

    def check(self, text: str) -> Response:
        if not tidy(text):
            return _nothing(self.form)
        plain = in_digits(tidy(text)).lower().replace(" and ", " ").replace("&", " ")
        plain = _BESIDE_NUMBERS.sub("", plain).strip(" ")
        if not re.fullmatch(r"\d{1,6}(?:[\s,;]+\d{1,6})*[.]?", plain):
            return not_understood(f"I cannot read {quoted(text)} as whole numbers. Write, for example, {self.form}.")
        given = {int(number) for number in re.findall(r"\d+", plain)}
        found, wrong = given & self.values, sorted(given - self.values)
        if given == self.values:
            return Response(True, f"Yes: {', '.join(map(str, sorted(self.values)))}.")
        if wrong:
            which = " and ".join(map(str, wrong)) if len(wrong) <= 2 else "some of these"
            return Response(False, f"{len(found)} of {len(self.values)} found, but {which} should not be there.")
        return Response(False, f"{len(found)} of {len(self.values)} found, and none of them wrong. Look for the rest.")

    def told(self) -> dict[str, Any]:
        return {"kind": "several", "form": self.form, "values": sorted(self.values)}


LETTERS = "ABCDEF"


@dataclass(frozen=True)
class Choice:
    """One of a few choices, with one line of response for each.

    Parameters
    ----------
    choices : tuple of str
    right : int
        Index of the right one.
    responses : tuple of str
        The reply to each choice, in the same order.

    Raises ValueError unless there are two to six choices, a response for each, and a right one among them.
    """

    choices: tuple[str, ...]
    right: int
    responses: tuple[str, ...]

    def __post_init__(self) -> None:
        if not 2 <= len(self.choices) <= len(LETTERS) or len(set(self.choices)) < len(self.choices):
            raise ValueError(f"a choice is between two and {len(LETTERS)} different answers, not {self.choices!r}")
        if len(self.responses) != len(self.choices):
            raise ValueError(f"{len(self.choices)} choices need as many responses, not {len(self.responses)}")
        if not 0 <= self.right < len(self.choices):
            raise ValueError(f"the right choice is an index from 0 to {len(self.choices) - 1}, not {self.right}")

    @property
    def form(self) -> str:
        return "one letter, such as A"

    @property
    def lettered(self) -> tuple[str, ...]:
        """The choices as they are shown: ``"A. …"``, ``"B. …"``."""
        return tuple(f"{letter}. {choice}" for letter, choice in zip(LETTERS, self.choices, strict=False))

    def check(self, text: str) -> Response:
        """Respond to a choice given by its letter, its words or both as shown, or by words or a number that mean it."""
        plain = _compared(text)
        for index, (letter, choice, shown) in enumerate(zip(LETTERS, self.choices, self.lettered, strict=False)):
            if plain in (_compared(letter), _compared(choice), _compared(shown)):
                return Response(index == self.right, self.responses[index])
        if not plain:
            return not_understood("Choose one of the answers first.")
        meant = [index for index, choice in enumerate(self.choices) if _means(gist(text), gist(choice))]
        if len(meant) == 1:
            return Response(meant[0] == self.right, self.responses[meant[0]])
        return not_understood(f"{quoted(text)} is not one of the choices. Write {self.form}.")

    def told(self) -> dict[str, Any]:
        return {
            "kind": "choice",
            "form": self.form,
            "choices": list(self.choices),
            "right": self.right,
            "responses": list(self.responses),
        }


def _means(gist_given: str, gist_of_choice: str) -> bool:
    """Whether what was typed means a choice: it says the same, or a number that is in it."""
    numbers = gist_of_choice.split() if re.fullmatch("[0-9]+", gist_given) else ()
    return gist_given != "" and (gist_given == gist_of_choice or gist_given in numbers)


def _compared(text: str) -> str:
    return tidy(text).rstrip(".").lower()
