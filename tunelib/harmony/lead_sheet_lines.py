"""A line of a lead sheet: its bar lines, and what is between them in which column; and the place of a mistake in words.

Lines and columns are counted from 1.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import NamedTuple

BAR_LINE = re.compile(r"(:?)\|{1,2}(:?)")
CHORD_SIGN = re.compile(r"(?:\([^()|]*\)|[^\s|])+(?:\s+\([^()|]*\))*")
_COMMENT = re.compile(r"(^|(?<=\s))#(?=\s|$)")


@contextmanager
def at_place(line: int, column: int) -> Iterator[None]:
    """Put the place before what a ValueError says."""
    try:
        yield
    except ValueError as error:
        raise wrong_at(line, column, str(error)) from None


def wrong_at(line: int, column: int, why: str) -> ValueError:
    """An error to be raised, which says where something is wrong, and why."""
    return ValueError(f"{place_of(line, column)}: {why}")


def place_of(line: int, column: int) -> str:
    """A place as it is told.

    >>> place_of(3, 5)
    'line 3, column 5'
    """
    return f"line {line}, column {column}"


class BarLine(NamedTuple):
    """What stands between two bars: whether a repeat ends or begins there, and whether it is double."""

    closes: bool
    double: bool
    opens: bool


def first_column(line: str) -> int:
    """Column of the first character that is not a space."""
    return len(line) - len(line.lstrip()) + 1


def cells_of(number: int, line: str, begin: int) -> tuple[tuple[int, str], list[BarLine], list[tuple[int, str]]]:
    """What comes before the first bar line of a line, from a place on; its bar lines; and what is between them.

    Each text comes with its column.
    """
    comment = _COMMENT.search(line, begin)
    text = line[: comment.start()] if comment else line
    found = list(BAR_LINE.finditer(text, begin))
    if not found:
        raise wrong_at(number, begin + first_column(text[begin:]), "the bars begin with a bar line |")
    before = text[begin : found[0].start()]
    bar_lines, cells = [_bar_line(found[0])], []
    for left, right in pairwise(found):
        inside, bar_line = text[left.end() : right.start()], _bar_line(right)
        if inside.strip():
            bar_lines.append(bar_line)
            cells.append((left.end() + 1, inside))
        elif (bar_lines[-1].closes or bar_line.opens) and not (bar_lines[-1].opens or bar_line.closes):
            bar_lines[-1] = BarLine(*(one or other for one, other in zip(bar_lines[-1], bar_line, strict=True)))
        else:
            raise wrong_at(
                number, left.end() + 1, "this bar is empty: write % for the bar before, N.C. for no chord, - for a rest"
            )
    if text[found[-1].end() :].strip():
        raise wrong_at(
            number, len(text.rstrip()) + 1, "the last bar of the line is not closed: end it with a bar line |"
        )
    if not cells:
        raise wrong_at(number, found[0].start() + 1, "there is a bar line and no bar: write one such as | Dm7 G7 |")
    return (begin + 1, before), bar_lines, cells


def _bar_line(found: re.Match[str]) -> BarLine:
    return BarLine(found[1] == ":", found[0] == "||", found[2] == ":")


def signs_in(column: int, inside: str) -> list[tuple[int, str]]:
    """The signs between two bar lines, with their columns."""
    return [(column + match.start(), match.group()) for match in CHORD_SIGN.finditer(inside)]
