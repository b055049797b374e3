"""What covers the numbers in the prose of one lesson.

A number is covered by a phrase that holds it, just as the text has it without its emphasis, code and links. Where a
phrase goes depends on what the number is:

- ``claims``: the numbers are worked out, by the library and, where that is possible, a second way; they must agree with
  what is said as far as it is said, 21.5 to a tenth; where one number follows from another, "harmonic 7 by 31", the
  entry is a function of all numbers said, in their order, that gives what each must be;
- ``settings``: a knob that the reader is told to set, with its exhibit, and each number is one of its stops;
- ``given``: what a sum sets out from, and each number is in a code cell of the same lesson;
- ``counted``: the things counted are in the sentence itself: "the two sliders"; ten at most;
- ``taken_over``: published or common practice, and nothing that can be worked out: a `Fact` of `published.py`;
- ``bibliography``: editions, volumes and years of a work in `published.py`.

What is said of a picture or a sound without a number, "sits on a hill", is in ``shown`` with whether it is so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from typing import TypeAlias

from said.published import Fact

Worked: TypeAlias = "float | Fraction | Callable[[float], bool] | tuple[float | Fraction, ...]"


@dataclass(frozen=True)
class Table:
    """The phrases of one lesson that hold numbers, and what each number is held against."""

    claims: Mapping[str, Sequence[Worked] | Callable[..., Sequence[Worked]]] = field(default_factory=dict)
    shown: Mapping[str, bool] = field(default_factory=dict)
    settings: Sequence[tuple[str, str, str]] = ()
    given: Sequence[str] = ()
    counted: Sequence[str] = ()
    taken_over: Mapping[str, Fact] = field(default_factory=dict)
    bibliography: Sequence[str] = ()


def tables() -> list[str]:
    """The names of the modules that hold a table."""
    return sorted(path.stem for path in Path(__file__).parent.glob("in_*.py"))


@lru_cache(maxsize=32)
def table_of(name: str) -> Table:
    """The table of a lesson, a guide or README by its name: that of `01_waves` is in `in_01_waves.py`.

    A page without numbers in its prose needs none, and has an empty one.
    """
    module = f"in_{name.lower()}"
    if module not in tables():
        return Table()
    table = import_module(f"said.{module}").TABLE
    assert isinstance(table, Table)
    return table
