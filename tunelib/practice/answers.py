"""Kinds of answer: how each is read from what a learner types, and the reply it gets.

Every kind has `check(text) -> Response`, a `form`, the words that show how such an answer may be written, and `told()`,
all of it as plain values. Checking is kind to the way an answer is written and strict about what it means: ``"3:2"``,
``"3/2"`` and ``"1.5"`` are one ratio, and where a wrong answer has a known cause the response names it.

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

from tunelib.pitch import Note, cents, equal, parse_ratio
from tunelib.practice.typed import quoted, tidy, tidy_numbers


@dataclass(frozen=True)
class Response:
    """The reply to an answer: whether it is right, and one line in words."""

    right: bool
    message: str


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


# Unit as asked for, what it measures, how many of the base unit it is, and how else it may be typed.
_UNITS: dict[str, tuple[str, float, tuple[str, ...]]] = {
    "Hz": ("hertz", 1, ("hz", "hertz", "/s", "1/s", "per second", "a second", "times a second", "times per second")),
    "kHz": ("hertz", 1000, ("khz", "kilohertz")),
    "s": ("time", 1, ("s", "sec", "second", "seconds")),
    "ms": ("time", 0.001, ("ms", "msec", "millisecond", "milliseconds")),
    "beats a second": (
        "hertz",
        1,
        ("beats", "beat", "beats a second", "beats per second", "beats/s", "beat a second", "beat per second"),
    ),
    "cents": ("cents", 1, ("cents", "cent", "c", "¢", "ct")),
    "mm": ("length", 0.001, ("mm", "millimetre", "millimetres", "millimeter", "millimeters")),
    "cm": ("length", 0.01, ("cm", "centimetre", "centimetres", "centimeter", "centimeters")),
    "%": ("share", 0.01, ("%", "per cent", "percent")),
    "": ("count", 1, ("", "of a comma", "of the comma", "comma")),
}
_SPOKEN = {
    "Hz": "hertz",
    "kHz": "kilohertz",
    "s": "seconds",
    "ms": "milliseconds",
    "beats a second": "beats a second",
    "cents": "cents",
    "mm": "millimetres",
    "cm": "centimetres",
    "%": "per cent",
    "": "a plain number",
}
_FORMS = {
    "Hz": "440 Hz",
    "kHz": "2 kHz",
    "s": "0.5 s",
    "ms": "12 ms",
    "beats a second": "4 beats a second",
    "cents": "−31 cents",
    "mm": "25 mm",
    "cm": "2.5 cm",
    "%": "20 %",
    "": "12",
}
_TYPED_UNITS = {typed: unit for unit, (_, _, spellings) in _UNITS.items() for typed in spellings}

_LARGEST = 1e300
_MOST_IN_FULL = 1e15
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)*|[.,]\d+)"
_QUANTITY = re.compile(rf"({_NUMBER})(?:\s*/\s*({_NUMBER}))?\s*(.*)")


def _readings(number: str) -> list[float]:
    """What a typed number may mean: a comma is a decimal mark for some and separates thousands for others."""
    spellings = [number.replace(",", "")] if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", number) else []
    if number.count(",") + number.count(".") <= 1:
        spellings.append(number.replace(",", "."))
    return [float(spelling) for spelling in spellings]


def _shown(value: float) -> str:
    value += 0.0  # so that there is no minus nought
    whole = 10_000 <= abs(value) < _MOST_IN_FULL and float(value).is_integer()
    return (f"{value:,.0f}" if whole else f"{value:.4g}").replace("-", "−")


@dataclass(frozen=True)
class Quantity:
    """A number with a unit.

    Parameters
    ----------
    value : float
        The right answer, in `unit`.
    unit : str
        ``"Hz"``, ``"kHz"``, ``"s"``, ``"ms"``, ``"beats a second"``, ``"cents"``, ``"mm"``, ``"cm"``, ``"%"``, or
        ``""`` for a plain number.
    tolerance : float
        How far off an answer may be and still be right, in `unit`.
    slips : mapping from float to str
        Wrong answers with a known cause, and the line that helps each; held to the same tolerance.

    Raises ValueError for a unit that is not one of these, or a tolerance below 0.
    """

    value: float
    unit: str = ""
    tolerance: float = 0.0
    slips: Mapping[float, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.unit not in _UNITS:
            raise ValueError(f"{self.unit!r} is not a unit for an answer: use one of {', '.join(filter(None, _UNITS))}")
        if not self.tolerance >= 0:
            raise ValueError(f"a tolerance is 0 or more, not {self.tolerance}")

    @property
    def form(self) -> str:
        return _FORMS[self.unit]

    def check(self, text: str) -> Response:
        match = _QUANTITY.fullmatch(tidy_numbers(text))
        readings = _readings(match[1]) if match else []
        divisors = _readings(match[2]) if match and match[2] else [1.0]
        values = [top / bottom for top in readings for bottom in divisors if bottom]
        typed = match[3].rstrip(".").lower() if match else ""
        unit = _TYPED_UNITS.get(typed) if typed else self.unit
        if not values or unit is None or not all(abs(value) < _LARGEST for value in values):
            return Response(False, f"I cannot read {quoted(text)} as an answer here. Write, for example, {self.form}.")
        wanted, size, _ = _UNITS[self.unit]
        given, given_size, _ = _UNITS[unit]
        if given != wanted:
            return Response(False, f"You gave {_SPOKEN[unit]}; the question asks for {_SPOKEN[self.unit]}.")
        scaled = [value * given_size / size for value in values]
        return self._respond(min(scaled, key=lambda value: abs(value - self.value)))

    def told(self) -> dict[str, Any]:
        return {
            "kind": "quantity",
            "form": self.form,
            "value": float(self.value),
            "unit": self.unit,
            "tolerance": float(self.tolerance),
            "slips": [[float(slip), message] for slip, message in self.slips.items()],
        }

    def _is(self, value: float, target: float) -> bool:
        return math.isclose(value, target, rel_tol=1e-9, abs_tol=self.tolerance)

    def _respond(self, value: float) -> Response:
        if self._is(value, self.value):
            return Response(True, f"Yes: {_shown(self.value)} {self.unit}".rstrip() + ".")
        for slip, message in self.slips.items():
            if self._is(value, slip):
                return Response(False, message)
        if self._is(-value, self.value):
            return Response(False, "Right size, wrong sign.")
        unit = _UNITS[self.unit][0]
        if unit == "time" and any(self._is(value * factor, self.value) for factor in (1000, 0.001)):
            other = "seconds" if self.unit == "ms" else "milliseconds"
            return Response(False, f"That is right in {other}; the question asks for {_SPOKEN[self.unit]}.")
        if self.unit in ("Hz", "kHz") and any(self._is(value * factor, self.value) for factor in (0.5, 2)):
            return Response(False, f"Right note, but an octave too {'high' if value > self.value else 'low'}.")
        distance = "a little " if abs(value - self.value) <= 4 * self.tolerance else ""
        return Response(
            False, f"Not yet: {_shown(value)} is {distance}too {'large' if value > self.value else 'small'}."
        )


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
        plain = tidy_numbers(text).lower().replace(" to ", "/").replace(",", ".")
        quantity = _QUANTITY.fullmatch(plain)
        unit = _TYPED_UNITS.get(quantity[3].rstrip(".")) if quantity else None
        if unit:
            return Response(False, f"You gave {_SPOKEN[unit]}; the question asks for a ratio, such as {self.form}.")
        try:
            given = parse_ratio(plain)
        except ValueError:
            return Response(False, f"I cannot read {quoted(text)} as a ratio. Write, for example, {self.form}.")
        return self._respond(given, rounded="." in plain)

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
            return Response(False, f"I cannot read {quoted(text)} as a note. Write, for example, {self.form}.")
        return Response(False, "Which octave? Add its number: C4 is middle C, and A4 the tuning note.")


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
        plain = tidy(text).lower().replace(" and ", " ").replace("&", " ")
        if not re.fullmatch(r"\d{1,6}(?:[\s,;]+\d{1,6})*[.]?", plain):
            return Response(False, f"I cannot read {quoted(text)} as whole numbers. Write, for example, {self.form}.")
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
        """Respond to a choice given by its letter, its words, or both as shown."""
        plain = _compared(text)
        for index, (letter, choice, shown) in enumerate(zip(LETTERS, self.choices, self.lettered, strict=False)):
            if plain in (_compared(letter), _compared(choice), _compared(shown)):
                return Response(index == self.right, self.responses[index])
        if not plain:
            return Response(False, "Choose one of the answers first.")
        return Response(False, f"{quoted(text)} is not one of the choices. Write {self.form}.")

    def told(self) -> dict[str, Any]:
        return {
            "kind": "choice",
            "form": self.form,
            "choices": list(self.choices),
            "right": self.right,
            "responses": list(self.responses),
        }


def _compared(text: str) -> str:
    return tidy(text).rstrip(".").lower()
