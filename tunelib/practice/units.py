"""An amount as a learner types it: a number or a sum, its unit in any usual spelling, and which way it goes.

``"2,27 ms"``, ``"0.44 kilohertz"``, ``"about 31 cents"``, ``"flat by 31"`` and ``"5/4 of 440 Hz"`` are all understood.

``units.js`` beside this file reads the same; a test holds the two beside each other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from tunelib.practice.sums import read_sum, values
from tunelib.practice.typed import tidy_numbers


@dataclass(frozen=True)
class Unit:
    """What a unit measures, how many of the base unit it is, how it is said, an example, and how it may be typed."""

    measure: str
    size: float
    spoken: str
    form: str
    typed: tuple[str, ...]


UNITS: dict[str, Unit] = {
    "Hz": Unit(
        "hertz", 1, "hertz", "440 Hz",
        ("hz", "hertz", "/s", "1/s", "per second", "a second", "times a second", "times per second", "cps",
         "cycles a second", "cycles per second", "vibrations a second", "vibrations per second"),
    ),
    "kHz": Unit("hertz", 1000, "kilohertz", "2 kHz", ("khz", "kilohertz")),
    "s": Unit(
        "time", 1, "seconds", "0.5 s",
        ("s", "sec", "secs", "second", "seconds", "of a second", "th of a second"),
    ),
    "ms": Unit("time", 0.001, "milliseconds", "12 ms", ("ms", "msec", "msecs", "millisecond", "milliseconds")),
    "beats a second": Unit(
        "hertz", 1, "beats a second", "4 beats a second",
        ("beats", "beat", "beats a second", "beats per second", "beats/s", "beat a second", "beat per second"),
    ),
    "cents": Unit("cents", 1, "cents", "−31 cents", ("cents", "cent", "c", "¢", "ct", "cts")),
    "semitones": Unit(
        "cents", 100, "semitones", "2 semitones",
        ("semitone", "semitones", "half step", "half steps", "half-step", "half-steps", "halftone", "halftones"),
    ),
    "octaves": Unit("cents", 1200, "octaves", "2 octaves", ("octave", "octaves")),
    "mm": Unit(
        "length", 0.001, "millimetres", "25 mm",
        ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    ),
    "cm": Unit(
        "length", 0.01, "centimetres", "2.5 cm",
        ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    ),
    "m": Unit("length", 1, "metres", "0.65 m", ("m", "metre", "metres", "meter", "meters")),
    "%": Unit("share", 0.01, "per cent", "20 %", ("%", "per cent", "percent", "pct")),
    "": Unit(
        "count", 1, "a plain number", "12",
        ("", "notes", "note", "keys", "key", "fifths", "fifth", "ways",
         "th", "st", "nd", "rd", "harmonics", "th harmonic"),
    ),
    "times": Unit("count", 1, "times", "4 times", ("times",)),
    "steps": Unit("count", 1, "steps", "5 steps", ("step", "steps")),
    "commas": Unit("count", 1, "commas", "1/4 of a comma", ("comma", "commas", "of a comma", "of the comma")),
}  # fmt: skip
TYPED_UNITS = {typed: unit for unit, kind in UNITS.items() for typed in kind.typed}

DOWN = ("flat", "flatter", "below", "down", "downwards", "lower", "low", "narrow", "narrower", "minus")
UP = ("sharp", "sharper", "above", "up", "upwards", "higher", "high", "wide", "wider", "plus")
_WAY = "|".join((*DOWN, *UP))
_SAYING_NOTHING = (
    "it is", "it's", "is", "about", "around", "roughly", "nearly", "approximately", r"approx\.", r"ca\.", "by", "the",
    "harmonic", "step", "number", "=", "≈", "~",
)  # fmt: skip
_LEAD = rf"(?:(?:{'|'.join(_SAYING_NOTHING)}) *)*"
_BEFORE = re.compile(rf"{_LEAD}(?:({_WAY})(?: +|$))?{_LEAD}(.*)", re.DOTALL)
_AFTER = re.compile(rf"(|.*? )(?:too )?({_WAY})", re.DOTALL)


@dataclass(frozen=True)
class Amount:
    """What was typed: the values that it may mean, in its unit; that unit, "" if there was none; and which way.

    `unit` is None for words that are no unit. `way` is -1 for down, 1 for up, 0 where no word says so; the values have
    their sign as it was typed.
    """

    values: tuple[float, ...]
    unit: str | None
    typed: bool
    way: int

    @property
    def both_ways(self) -> bool:
        """Whether the sign says one way and the word another."""
        return self.way > 0 and any(value < 0 for value in self.values)


def read_amount(text: object) -> Amount | None:
    """What a learner typed as an amount, or None where there is no number at its beginning.

    >>> read_amount("31,5 cents flat")
    Amount(values=(31.5,), unit='cents', typed=True, way=-1)
    """
    before = _BEFORE.fullmatch(tidy_numbers(text).lower())
    read = read_sum(before[2]) if before else None
    if not before or not read:
        return None
    rest = read[1].rstrip(".!")
    after = _AFTER.fullmatch(rest)
    if after:
        rest = after[1].rstrip(" ")
    ways = {-1 if word in DOWN else 1 for word in (before[1], after and after[2]) if word}
    unit = TYPED_UNITS.get(rest) if len(ways) < 2 else None
    return Amount(tuple(dict.fromkeys(values(read[0]))), unit, bool(rest), ways.pop() if len(ways) == 1 else 0)
