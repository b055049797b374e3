"""The prose of a lesson held against its table: what is said wrongly, and what nothing covers."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Callable, Iterator, Sequence
from functools import cache

from test_lessons import COURSE, plans

from said.found import Number, numbers
from said.prose import README, ROOT, Lesson, minutes
from said.published import Fact, named_works
from said.table import Table, Worked, table_of
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Choice, Slider

MOST_COUNTED = 10  # things in one sentence
MINUTES_IN_README = {
    name: int(taken)
    for name, taken in re.findall(
        r"^\| \[`(\w+)`\].*\| (\d+) \|$", (ROOT / "README.md").read_text(encoding="utf-8"), flags=re.MULTILINE
    )
}


def planned(name: str) -> list[tuple[int, str, str]]:
    """The rows of the plan for teachers, whose sums test_lessons.py holds against the lessons."""
    return [row for rows in plans().values() for row in rows] if name == "for_teachers" else []


def linked_steps() -> list[int]:
    """The steps to which the glossary's links lead, in its order."""
    text = (ROOT / "lessons" / "glossary.ipynb").read_text(encoding="utf-8")
    return [int(step) for step in re.findall(r"\.ipynb#cell-id=step-(\d+)-1\)", text)]


PLACES: list[tuple[str, Callable[[str], list[int]]]] = [
    (r"^# (\d\d) ", lambda name: [int(name[:2])] if name in COURSE else []),
    (r"## Step (\d+) · ", lambda name: [step.number for step in COURSE[name].steps] if name in COURSE else []),
    (r"It takes about (\d+) minutes", lambda name: [MINUTES_IN_README[name]] if name in MINUTES_IN_README else []),
    (r"\| (\d+) \|", lambda name: [minutes(lesson) for lesson in MINUTES_IN_README] if name == README else []),
    (r"\| (\d+) \| (?=[\[a-z]|\| \|)", lambda name: [row[0] for row in planned(name)]),
    (r"\| (\d+) \| \| (?=\d)", lambda name: [int(row[2]) for row in planned(name) if row[2].isdigit()]),
    (r"\[Step (\d+)\]", lambda name: linked_steps() if name == "glossary" else []),
]
"""Patterns for the numbers of lessons and steps, and for minutes, each with what they must be in a lesson."""


def _spans(phrase: str, words: str) -> list[tuple[int, int]]:
    """Where a phrase is; "5 cents" is not in "15 cents", nor "at 5" in "at 5.2"."""
    return [match.span() for match in re.finditer(rf"(?<![\w.]){re.escape(phrase)}(?!\w|\.\d)", words)]


def _takes(function: Callable[..., Sequence[Worked]], count: int) -> bool:
    try:
        inspect.signature(function).bind(*range(count))
    except TypeError:
        return False
    return True


@cache
def _worked_from(function: Callable[..., Sequence[Worked]], *said: float) -> Sequence[Worked]:
    return function(*said)


def _whole(value: float) -> float:
    return int(value) if value.is_integer() else value


def _agrees(said: Number, worked: Worked) -> bool:
    if isinstance(worked, tuple):
        return all(_agrees(said, way) for way in worked)
    if callable(worked):
        return worked(said.value)
    return abs(float(worked) - said.value) <= said.leeway + 1e-9


def _is_a_stop(said: Number, exhibit: str, knob_name: str) -> bool:
    knob = next(knob for knob in EXHIBITS[exhibit].knobs if knob.name == knob_name)
    if isinstance(knob, Choice):
        return any([said.value] == [number.value for number in numbers(option)] for option in knob.options)
    assert isinstance(knob, Slider)
    if not knob.low <= said.value <= knob.high:
        return False
    way = math.log2(said.value / knob.low) * knob.step if knob.logarithmic else (said.value - knob.low) / knob.step
    return abs(way - round(way)) < 1e-6


def _phrases(lesson: Lesson, table: Table) -> Iterator[tuple[str, Callable[[list[Number]], str]]]:
    """Each phrase on the lists for a lesson, with what finds fault with the numbers that it says."""

    def worked_out(worked: Sequence[Worked] | Callable[..., Sequence[Worked]]) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            if not said:
                return "has no number"
            values = [_whole(number.value) for number in said]
            if callable(worked) and not _takes(worked, len(said)):
                return f"says {[n.text for n in said]}, worked out from another number of them"
            due = _worked_from(worked, *values) if callable(worked) else worked
            right = len(said) == len(due) and all(map(_agrees, said, due))
            return "" if right else f"says {[n.text for n in said]}, worked out are {due}"

        return fault

    def settable(exhibit: str, knob: str) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            if f'panel("{exhibit}"' not in lesson.code:
                return f"sets a knob of {exhibit}, which is not shown here"
            return (
                "" if said and all(_is_a_stop(n, exhibit, knob) for n in said) else f"is no stop of {knob} in {exhibit}"
            )

        return fault

    def given(said: list[Number]) -> str:
        return "" if said and {n.value for n in said} <= lesson.literals else "is in no code cell"

    def counted(said: list[Number]) -> str:
        few = all(number.value <= MOST_COUNTED for number in said)
        return ("" if few else "is more than a reader counts") if said else "has no number"

    def published(known: Fact) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            right = isinstance(known, Fact) and len(said) == len(known.values) and all(map(_agrees, said, known.values))
            return "" if right else f"says {[n.text for n in said]}, published is {known}"

        return fault

    def named(phrase: str) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            if not said:
                return "has no number"
            places = (lesson.words[max(start - 250, 0) : start] for start, _ in _spans(phrase, lesson.words))
            return "" if all(named_works(phrase, before) for before in places) else "is of no work in published.py"

        return fault

    def shown_so(so: bool) -> Callable[[list[Number]], str]:
        return lambda said: "" if so else "is not so"

    for phrase, worked in table.claims.items():
        yield phrase, worked_out(worked)
    for phrase, exhibit, knob in table.settings:
        yield phrase, settable(exhibit, knob)
    for phrase in table.given:
        yield phrase, given
    for phrase, so in table.shown.items():
        yield phrase, shown_so(so)
    for phrase in table.counted:
        yield phrase, counted
    for phrase, known in table.taken_over.items():
        yield phrase, published(known)
    for phrase in table.bibliography:
        yield phrase, named(phrase)


def faults(lesson: Lesson, table: Table | None = None) -> list[str]:
    """Phrases that are gone, numbers that are wrong, and numbers that nothing covers, by the lesson's own table."""
    table = table or table_of(lesson.name)
    found = []
    all_numbers = numbers(lesson.words)
    covered: list[tuple[int, int]] = []
    for phrase, fault in _phrases(lesson, table):
        spans = _spans(phrase, lesson.words)
        if not spans:
            found.append(f"“{phrase}” is no longer there")
        for start, end in spans:
            wrong = fault([number for number in all_numbers if start <= number.start and number.end <= end])
            found += [f"“{phrase}” {wrong}"] if wrong else []
        covered += spans if phrase not in table.shown else []
    for pattern, due in PLACES:
        matches = list(re.finditer(pattern, lesson.words))
        wanted = due(lesson.name)
        if wanted and [int(match[1]) for match in matches] != wanted:
            found.append(f"{pattern} finds {[match[1] for match in matches]} instead of {wanted}")
        covered += [match.span(1) for match in matches] if wanted else []
    for number in all_numbers:
        if not any(start <= number.start and number.end <= end for start, end in covered):
            around = lesson.words[max(number.start - 40, 0) : number.end + 30]
            found.append(f"{number.text!r} is covered by nothing: …{around}…")
    return found
