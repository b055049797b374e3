"""A sum that is typed where a number was asked for: ``65.4*5``, ``(440 - 220)/2``, ``2^(1/12)``, ``1200*log2(3/2)``.

It has numbers, brackets, + - * / and ^ for powers, log2 and sqrt, read as they are in arithmetic, and nothing else. A
comma is a decimal mark for some and separates thousands for others, so a sum may have two readings.

``sums.js`` beside this file reads the same; a test holds the two beside each other.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias, TypeVar

Sum: TypeAlias = "str | tuple[str, Any] | tuple[str, Any, Any]"
N = TypeVar("N", float, Fraction)

LONGEST = 200  # signs that a sum may have
LARGEST_POWER = 99
LARGEST_WHOLE = 2**4096  # in a power of fractions, above and below the stroke
READINGS = 2
_NUMERAL = re.compile(r"(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:e[+-]?[0-9]{1,2}(?![0-9]))?")
_FUNCTIONS: dict[str, Callable[[float], float]] = {"log2": math.log2, "sqrt": math.sqrt}


@dataclass
class _Reader:
    """Reads a text from a place on; each method gives what it finds there, or None and stays where it is."""

    text: str
    place: int = 0

    def sum(self) -> Sum | None:
        return self._row(self.product, "+-")

    def product(self) -> Sum | None:
        return self._row(self.signed, "*/")

    def signed(self) -> Sum | None:
        start, sign = self.place, self._one_of("+-")
        power = self.power()
        if power is None:
            self.place = start
            return None
        return ("-", "0", power) if sign == "-" else power

    def power(self) -> Sum | None:
        base = self.atom()
        start = self.place
        if base is not None and self._one_of("^"):
            exponent = self.signed()
            if exponent is not None:
                return ("^", base, exponent)
            self.place = start
        return base

    def atom(self) -> Sum | None:
        start = self.place
        if self._one_of("("):
            inside = self.sum()
            if inside is not None and self._one_of(")"):
                return inside
            self.place = start
            return None
        self._skip()
        for name in _FUNCTIONS:
            if self.text.startswith(name, self.place):
                self.place += len(name)
                of = self.atom()
                if of is not None:
                    return (name, of)
                self.place = start
                return None
        numeral = _NUMERAL.match(self.text, self.place)
        if not numeral:
            self.place = start
            return None
        self.place = numeral.end()
        return numeral[0]

    def _row(self, part: Callable[[], Sum | None], signs: str) -> Sum | None:
        left = part()
        while left is not None:
            start, sign = self.place, self._one_of(signs)
            right = part() if sign else None
            if right is None:
                self.place = start
                break
            left = (sign, left, right)
        return left

    def _one_of(self, signs: str) -> str:
        start = self.place
        self._skip()
        sign = self.text[self.place : self.place + 1]
        if sign and sign in signs:
            self.place += 1
            return sign
        self.place = start
        return ""

    def _skip(self) -> None:
        while self.text[self.place : self.place + 1] == " ":
            self.place += 1


def read_sum(text: str) -> tuple[Sum, str] | None:
    """The longest sum that a text begins with, and the words after it; None if there is none.

    >>> read_sum("65.4*5 Hz")
    (('*', '65.4', '5'), 'Hz')
    """
    if len(text) > LONGEST:
        return None
    reader = _Reader(text)
    found = reader.sum()
    return None if found is None else (found, text[reader.place :].strip(" "))


def readings(numeral: str) -> list[str]:
    """What a typed number may mean, in digits with a decimal point.

    >>> readings("1,500"), readings("1,5"), readings("1.000,5"), readings("1.000.000"), readings("1.2.3")
    (['1500', '1.500'], ['1.5'], ['1000.5'], ['1000000'], [])
    """
    figures, e, power = numeral.partition("e")
    found = []
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?", figures):
        found.append(figures.replace(",", ""))
    if re.fullmatch(r"[0-9]{1,3}(\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(\.[0-9]{3}){2,}", figures):
        found.append(figures.replace(".", "").replace(",", "."))
    if figures.count(",") + figures.count(".") <= 1:
        found.append(figures.replace(",", "."))
    return [f"{reading}{e}{power}" for reading in found]


def values(typed: Sum) -> list[float]:
    """What a sum may come to, reading by reading; empty if it comes to nothing."""
    found = [worth(typed, float, reading) for reading in range(READINGS)]
    return [value for value in found if value is not None and math.isfinite(value)]


def exact(typed: Sum) -> Fraction | None:
    """What a sum of ratios comes to, with the comma as a decimal mark, or None.

    >>> exact(read_sum("5/4 * 6/5")[0])
    Fraction(3, 2)
    """
    return worth(typed, Fraction, READINGS - 1)


def worth(typed: Sum, number: Callable[[str], N], reading: int) -> N | None:
    """What a sum comes to in numbers of a kind, by one of the readings of its numerals."""
    if isinstance(typed, str):
        spellings = readings(typed)
        return number(spellings[min(reading, len(spellings) - 1)]) if spellings else None
    sign, *parts = typed
    amounts = [worth(part, number, reading) for part in parts]
    found = [amount for amount in amounts if amount is not None]
    if len(found) < len(amounts):
        return None
    if sign in _FUNCTIONS:
        return _function(sign, found[0])
    left, right = found
    if sign == "^":
        return _power(left, right, number)
    if sign == "/":
        return left / right if right else None
    return left + right if sign == "+" else left - right if sign == "-" else left * right


def _function(name: str, of: N) -> N | None:
    """What a function comes to, in numbers that are no fractions."""
    if isinstance(of, Fraction) or not (of > 0 or (name == "sqrt" and of == 0)):
        return None
    return _FUNCTIONS[name](of)


def _power(base: N, exponent: N, number: Callable[[str], N]) -> N | None:
    """A power; whole ones are multiplied out, so that a page comes to the very same number."""
    if exponent != exponent // 1 or abs(exponent) > LARGEST_POWER:
        if isinstance(base, Fraction) or base <= 0 or not abs(exponent) <= LARGEST_POWER:
            return None
        try:
            return math.pow(base, exponent)
        except OverflowError:
            return None
    found = number("1")
    for _ in range(abs(int(exponent))):
        found *= base
        if isinstance(found, Fraction) and max(abs(found.numerator), found.denominator) > LARGEST_WHOLE:
            return None
    if exponent < 0:
        return number("1") / found if found else None
    return found
