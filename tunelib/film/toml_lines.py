"""Where the keys and values of a TOML text are: the standard reader keeps no lines, and a mistake needs one."""

from __future__ import annotations

import re
import sys
from bisect import bisect_right
from typing import TypeAlias

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

Place: TypeAlias = tuple[str | int, ...]
"""The way to a value: the keys of its tables, and its number in an array, from 0."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_QUOTED = re.compile(
    r'"""(?:[^"\\]|\\[\s\S]|"(?!""))*"""(?:"{0,2})'
    r"|'''[\s\S]*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]+")


def lines_of(text: str) -> dict[Place, int]:
    """The line, from 1, on which each table, key and array element begins; a value begins on the line of its key.

    Parameters
    ----------
    text : str
        Valid TOML, as ``tomllib.loads`` has accepted it.

    >>> lines_of('title = "A"\\n[[shot]]\\nname = "x"\\nsizes = [\\n  "square"]')[("shot", 0, "sizes", 0)]
    5
    """
    return _Walk(text).lines


class _Walk:
    """One walk over a text, from its beginning to its end."""

    def __init__(self, text: str) -> None:
        self.lines: dict[Place, int] = {(): 1}
        self._text = text
        self._at = 0
        self._ends = [match.start() for match in re.finditer("\n", text)]
        self._counts: dict[Place, int] = {}  # how many tables an array of tables has so far
        table: Place = ()
        while self._next():
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _next(self, step: int = 0) -> str:
        """The next character that is neither blank nor comment, after `step` characters; empty at the end."""
        match = _BLANK.match(self._text, self._at + step)
        self._at = match.end() if match else len(self._text)
        return self._text[self._at : self._at + 1]

    def _mark(self, place: Place) -> None:
        line = 1 + bisect_right(self._ends, self._at - 1)
        for length in range(1, len(place) + 1):
            self.lines.setdefault(place[:length], line)

    def _take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        if match is None:
            raise ValueError(f"no valid TOML at character {self._at + 1}")
        self._at = match.end()
        return match.group()

    def _key(self) -> tuple[str, ...]:
        """A key with its dots, each part as the reader names it."""
        parts: list[str] = []
        while True:
            quoted = self._next() in ("'", '"')
            part = self._take(_QUOTED if quoted else _BARE_KEY)
            parts.append(tomllib.loads(f"key = {part}")["key"] if quoted else part)
            if self._next() != ".":
                return tuple(parts)
            self._at += 1

    def _header(self) -> Place:
        """``[table]`` or ``[[table]]``, and the way to it."""
        brackets = 2 if self._text.startswith("[[", self._at) else 1
        begin = self._at
        self._at += brackets
        *above, last = self._key()
        end = self._at + brackets
        place: Place = ()
        for part in above:
            place = self._latest((*place, part))
        place = (*place, last)
        if brackets == 2:
            self._counts[place] = self._counts.get(place, 0) + 1
        self._at = begin
        place = self._latest(place)
        self._mark(place)
        self._at = end
        return place

    def _latest(self, place: Place) -> Place:
        """The way to a table, into the last one of an array of tables."""
        return (*place, self._counts[place] - 1) if place in self._counts else place

    def _pair(self, table: Place) -> None:
        begin = self._at
        place: Place = (*table, *self._key())
        after, self._at = self._at, begin
        self._mark(place)
        self._at = after
        self._next(1)  # over the =
        self._value(place)

    def _value(self, place: Place) -> None:
        first = self._text[self._at]
        if first == "[":
            number = 0
            following = self._next(1)
            while following != "]":
                self._mark((*place, number))
                self._value((*place, number))
                number += 1
                following = self._next()
                if following == ",":
                    following = self._next(1)
            self._at += 1
        elif first == "{":
            following = self._next(1)
            while following != "}":
                self._pair(place)
                following = self._next()
                if following == ",":
                    following = self._next(1)
            self._at += 1
        else:
            self._take(_QUOTED if first in "'\"" else _BARE_VALUE)
