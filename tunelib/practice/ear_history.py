"""What a learner has answered by ear, sung and played: the items of practice, and all answers to them so far.

The latest `IN_FULL` answers are kept one by one. Of older ones there is a sum for each item, register and month, and a
threshold for each kind, register and month, so that what is kept stays small however long somebody practises: with
forty answers a day half a megabyte at most in the first year, and a sixth of one more in each that follows.
"""

from __future__ import annotations

import csv
import io
import math
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any, TypeVar

from tunelib.hearing import believed
from tunelib.pitch import CENTS_PER_OCTAVE, is_number, is_whole, shortened

IN_FULL = 4000
"""How many answers are kept one by one: more than three months of forty a day."""

_LONGEST = 40  # letters of a kind, of what, of an answer, of a register
_MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")
_COLUMNS = ("when", "kind", "what", "register", "answers", "right", "answer", "cents", "spread", "threshold")
_Row = TypeVar("_Row")


@dataclass(frozen=True, order=True)
class Item:
    """One thing to be practised.

    Parameters
    ----------
    kind : str
        The kind of question, such as ``"third"``: see `ear_items`.
    what : str
        What is asked of it, such as ``"neutral"``.

    Raises ValueError for either that is empty, longer than 40 letters, or has a colon or a line break.

    >>> str(Item("third", "neutral")), Item.parse("pure:5/4")
    ('third:neutral', Item(kind='pure', what='5/4'))
    """

    kind: str
    what: str

    def __post_init__(self) -> None:
        for part, words in (("kind", self.kind), ("thing asked", self.what)):
            if not isinstance(words, str) or not re.fullmatch(rf"[^:\n\r\t]{{1,{_LONGEST}}}", words):
                raise ValueError(
                    f"the {part} of an item is 1 to {_LONGEST} letters and no colon, not {shortened(words)}"
                )

    def __str__(self) -> str:
        return f"{self.kind}:{self.what}"

    @classmethod
    def parse(cls, text: str) -> Item:
        """The item that is written so. Raises ValueError for what is not ``kind:what``."""
        kind, colon, what = str(text).partition(":")
        if not colon:
            raise ValueError(f"an item is written as kind:what, such as third:neutral, not {shortened(text)}")
        return cls(kind, what)


@dataclass(frozen=True)
class Answered:
    """One answer.

    Parameters
    ----------
    item : Item
    moment : datetime
        When, with its time zone: that of the learner, since a day is the learner's.
    right : bool
    answer : str
        What was answered, in a word; empty for what was sung.
    cents : float or None
        Of what was sung or played: how far it was off, above 0 where it was sharp. Of what was heard: the difference
        that was to be heard, 0 or more, in questions that have one. None in others.
    register : str
        Where it sounded, such as ``"low"``, ``"middle"`` or ``"high"``.
    sung : bool
        Whether it was sung or played, so that `cents` is an error; else it was heard.

    Raises ValueError for a moment without a time zone, cents of more than an octave or, of what was heard, below 0, and
    words of more than 40 letters.
    """

    item: Item
    moment: datetime
    right: bool
    answer: str = ""
    cents: float | None = None
    register: str = "middle"
    sung: bool = False

    def __post_init__(self) -> None:
        if not isinstance(self.item, Item):
            raise ValueError(f"an answer is to an Item, not to {shortened(self.item)}")
        if not isinstance(self.moment, datetime) or self.moment.utcoffset() is None:
            raise ValueError(f"an answer has a moment with a time zone, not {shortened(self.moment)}")
        if type(self.right) is not bool or type(self.sung) is not bool:
            raise ValueError("an answer is right or not, and sung or not: True or False")
        least = -CENTS_PER_OCTAVE if self.sung else 0
        if self.cents is not None and not (is_number(self.cents) and least <= self.cents <= CENTS_PER_OCTAVE):
            raise ValueError(f"the cents of an answer are {least} to {CENTS_PER_OCTAVE}, not {shortened(self.cents)}")
        for part, words in (("answer", self.answer), ("register", self.register)):
            if not isinstance(words, str) or len(words) > _LONGEST:
                raise ValueError(f"an {part} is told in {_LONGEST} letters at most, not as {shortened(words)}")

    @property
    def day(self) -> str:
        """The learner's day, such as ``"2026-05-03"``."""
        return self.moment.date().isoformat()


@dataclass(frozen=True)
class EarMonth:
    """The answers to an item in a register in one month, in sums.

    Parameters
    ----------
    item, register, sung
        As for `Answered`.
    month : str
        Such as ``"2026-05"``.
    answers, right : int
        How many there were, and how many were right.
    days : float
        On how many days. Where an item was answered in several registers on a day, they share it.
    share : float
        How many of these days went well: half by the first answer to the item on each, which tells what was remembered,
        and half by all of them.
    last : datetime
        When the last one was.
    bias, spread : float or None
        Of what was sung, the mean and the standard deviation of its errors in cents.
    """

    item: Item
    register: str
    sung: bool
    month: str
    answers: int
    right: int
    days: float
    share: float
    last: datetime
    bias: float | None = None
    spread: float | None = None

    def __post_init__(self) -> None:
        _check_month(self.month, self.register, self.answers)
        errors = (self.bias, self.spread)
        if (
            not (is_whole(self.right) and 0 <= self.right <= self.answers)
            or not (is_number(self.days) and 0 < self.days <= self.answers)
            or not (is_number(self.share) and 0 <= self.share <= self.days * (1 + 1e-9))
            or type(self.sung) is not bool
            or self.last.utcoffset() is None
            or not (errors == (None, None) or all(is_number(error) for error in errors))
            or not abs(self.bias or 0) <= CENTS_PER_OCTAVE
            or not 0 <= (self.spread or 0) <= CENTS_PER_OCTAVE
        ):
            raise ValueError(f"these sums of a month do not fit together: {shortened(self)}")


@dataclass(frozen=True)
class EarThreshold:
    """The threshold that the answers of a kind in a register in one month tell of.

    Parameters
    ----------
    kind, register, month
        As for `Item`, `Answered` and `EarMonth`.
    answers : int
    threshold, spread : float
        In cents, and a factor either way.
    """

    kind: str
    register: str
    month: str
    answers: int
    threshold: float
    spread: float

    def __post_init__(self) -> None:
        _check_month(self.month, self.register, self.answers)
        Item(self.kind, "any")
        if not (is_number(self.threshold) and 0 < self.threshold <= CENTS_PER_OCTAVE):
            raise ValueError(f"a threshold is above 0 and at most {CENTS_PER_OCTAVE} cents, not {self.threshold!r}")
        if not (is_number(self.spread) and 1 < self.spread < math.inf):
            raise ValueError(f"the spread of a threshold is a factor above 1, not {self.spread!r}")


def _check_month(month: str, register: str, answers: int) -> None:
    """Raises ValueError for what no sum of a month can have."""
    if not isinstance(month, str) or not _MONTH.fullmatch(month):
        raise ValueError(f"a month is written as 2026-05, not {shortened(month)}")
    if not isinstance(register, str) or len(register) > _LONGEST:
        raise ValueError(f"a register is told in {_LONGEST} letters at most, not as {shortened(register)}")
    if not is_whole(answers) or answers < 1:
        raise ValueError(f"a sum is of 1 answer or more, not of {answers!r}")


@dataclass(frozen=True)
class EarHistory:
    """All that was answered.

    Parameters
    ----------
    answers : tuple of Answered
        The latest, in the order of their moments.
    months : tuple of EarMonth
        What was answered before them.
    thresholds : tuple of EarThreshold
        What those told of thresholds.
    """

    answers: tuple[Answered, ...] = ()
    months: tuple[EarMonth, ...] = ()
    thresholds: tuple[EarThreshold, ...] = ()

    def adding(self, answer: Answered) -> EarHistory:
        """The same and one answer more. Where there are more than `IN_FULL`, the older half becomes sums."""
        place = bisect_right(self.answers, answer.moment, key=lambda before: before.moment)
        answers = (*self.answers[:place], answer, *self.answers[place:])
        if len(answers) <= IN_FULL:
            return EarHistory(answers, self.months, self.thresholds)
        first_day = answers[len(answers) // 2].day
        old = tuple(each for each in answers if each.day < first_day)
        return EarHistory(
            answers[len(old) :],
            _merged(
                [*self.months, *months_of(old)], lambda one: (one.item, one.register, one.sung, one.month), _joined
            ),
            _merged([*self.thresholds, *_thresholds(old)], lambda one: (one.kind, one.register, one.month), _combined),
        )

    def csv(self) -> str:
        """A table with a row for each answer that is kept in full, and for each sum; empty where it has no such value.

        ``when`` is a moment or a month, ``cents`` the error or the difference, of a sum the mean error, and ``spread``
        its standard deviation; for a threshold, in cents, its factor either way.
        """
        out = io.StringIO()
        table = csv.writer(out, lineterminator="\n")
        table.writerow(_COLUMNS)
        for mean in self.thresholds:
            around = (mean.month, mean.kind, "", mean.register, mean.answers, "", "", "")
            table.writerow([*around, _rounded(mean.spread), _rounded(mean.threshold)])
        for month in self.months:
            of_item = (month.month, month.item.kind, month.item.what, month.register, month.answers, month.right, "")
            table.writerow([*of_item, _rounded(month.bias), _rounded(month.spread), ""])
        for one in self.answers:
            what = (one.moment.isoformat(timespec="seconds"), one.item.kind, one.item.what, one.register, 1)
            table.writerow([*what, int(one.right), one.answer, _rounded(one.cents), "", ""])
        return out.getvalue()


def mean_and_spread(errors: Sequence[float]) -> tuple[float, float]:
    """The mean of errors and their standard deviation; raises ValueError if there are none.

    >>> mean_and_spread([4.0, 8.0, 6.0])
    (6.0, 1.632993161855452)
    """
    if not errors:
        raise ValueError("there are no errors to take the mean of")
    mean = math.fsum(errors) / len(errors)
    return mean, math.sqrt(math.fsum((error - mean) ** 2 for error in errors) / len(errors))


def _rounded(value: float | None) -> float | str:
    return "" if value is None else round(value, 2)


def months_of(answers: Sequence[Answered]) -> list[EarMonth]:
    """Answers, which are in the order of their moments, in sums."""

    def key(one: Answered) -> tuple[Item, str, bool, str]:
        return one.item, one.register, one.sung, one.day[:7]

    each_day = Counter((one.item, one.day) for one in answers)
    begun: set[tuple[Item, str]] = set()
    parts: dict[int, float] = {}  # what each answer counts for in its day
    for one in answers:
        first = (one.item, one.day) not in begun
        begun.add((one.item, one.day))
        parts[id(one)] = 0.5 / each_day[one.item, one.day] + (0.5 if first else 0.0)
    found = []
    for (item, register, sung, month), group in groupby(sorted(answers, key=key), key):
        these = list(group)
        errors = [one.cents for one in these if sung and one.cents is not None]
        found.append(
            EarMonth(
                item,
                register,
                sung,
                month,
                len(these),
                sum(one.right for one in these),
                round(sum(parts[id(one)] for one in these), 4),
                round(sum(parts[id(one)] for one in these if one.right), 4),
                max(one.moment for one in these),
                *((round(each, 3) for each in mean_and_spread(errors)) if errors else ()),
            )
        )
    return found


def _thresholds(answers: Sequence[Answered]) -> list[EarThreshold]:
    """What answers tell of thresholds."""

    def key(one: Answered) -> tuple[str, str, str]:
        return one.item.kind, one.register, one.day[:7]

    heard = [one for one in answers if not one.sung and one.cents is not None]
    found = []
    for (kind, register, month), group in groupby(sorted(heard, key=key), key):
        these = list(group)
        told = believed([one.cents or 0.0 for one in these], [one.right for one in these])
        found.append(EarThreshold(kind, register, month, len(these), round(told.threshold, 4), round(told.spread, 4)))
    return found


def _merged(rows: Iterable[_Row], key: Callable[[_Row], Any], join: Callable[[_Row, _Row], _Row]) -> tuple[_Row, ...]:
    """Rows in the order of their months, those with the same key as one."""
    found: dict[Any, _Row] = {}
    for row in rows:
        found[key(row)] = join(found[key(row)], row) if key(row) in found else row
    return tuple(found[one] for one in sorted(found, key=lambda one: (one[-1], one[:-1])))


def _joined(one: EarMonth, other: EarMonth) -> EarMonth:
    """Two sums of different days of one month."""
    errors: tuple[float, ...] = ()
    parts = [part for part in (one, other) if part.bias is not None and part.spread is not None]
    if parts:
        count = sum(part.answers for part in parts)
        mean = sum(part.answers * (part.bias or 0.0) for part in parts) / count
        about = sum(part.answers * ((part.spread or 0.0) ** 2 + ((part.bias or 0.0) - mean) ** 2) for part in parts)
        errors = (mean, math.sqrt(about / count))
    return EarMonth(
        one.item,
        one.register,
        one.sung,
        one.month,
        one.answers + other.answers,
        one.right + other.right,
        one.days + other.days,
        one.share + other.share,
        max(one.last, other.last),
        *errors,
    )


def _combined(one: EarThreshold, other: EarThreshold) -> EarThreshold:
    """Two estimates of one threshold, each weighed by how certain it is."""
    weights = [1 / math.log(each.spread) ** 2 for each in (one, other)]
    total = sum(weights)
    mean = (weights[0] * math.log(one.threshold) + weights[1] * math.log(other.threshold)) / total
    return EarThreshold(
        one.kind, one.register, one.month, one.answers + other.answers, math.exp(mean), math.exp(total**-0.5)
    )
