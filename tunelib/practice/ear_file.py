"""Where a learner's answers by ear are kept: one small file of the learner's own, a table of it, and forgetting it.

The file is ``ear.json`` (`tunelib.practice.own_file` has where it is, and the care that is taken of it)::

    {"format": 1,
     "answers": [["third:neutral", "2026-05-03T18:20:11+02:00", true, "neutral", null, "middle", false], ...],
     "months": [["third:neutral", "middle", false, "2026-01", 57, 46, 12, 9.6, "2026-01-30T17:02:40+01:00", null, null],
                ...],
     "thresholds": [["pure", "middle", "2026-01", 210, 7.2, 1.1], ...]}

The rows are what `Answered`, `EarMonth` and `EarThreshold` have, in their order. Nothing that was recorded is kept, and
nothing leaves the machine.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, ClassVar

from tunelib.files import PathLike, write_whole
from tunelib.practice.ear_history import Answered, EarHistory, EarMonth, EarThreshold, Item
from tunelib.practice.own_file import OwnFile, Tell


class EarFile(OwnFile[EarHistory]):
    """The file: everything that was answered."""

    name: ClassVar[str] = "ear.json"
    thing: ClassVar[str] = "practice"
    most_bytes: ClassVar[int] = 16_000_000  # far more than a lifetime

    def empty(self) -> EarHistory:
        """Nothing was answered."""
        return EarHistory()

    def understood(self, data: dict[str, Any]) -> EarHistory:
        """See the head of this file."""
        answers = [_answered(*row) for row in data["answers"]]
        return EarHistory(
            tuple(sorted(answers, key=lambda one: one.moment)),
            tuple(_month(*row) for row in data["months"]),
            tuple(EarThreshold(*row) for row in data["thresholds"]),
        )

    def text(self, kept: EarHistory) -> str:
        """See the head of this file."""
        rows = {
            "answers": (
                [str(one.item), _told(one.moment), one.right, one.answer, one.cents, one.register, one.sung]
                for one in kept.answers
            ),
            "months": (
                [
                    *(str(one.item), one.register, one.sung, one.month, one.answers, one.right, one.days, one.share),
                    *(_told(one.last), one.bias, one.spread),
                ]
                for one in kept.months
            ),
            "thresholds": (list(vars(one).values()) for one in kept.thresholds),
        }
        parts = [f'"format": {self.newest}', *(f'"{name}": {_in_lines(these)}' for name, these in rows.items())]
        return "{" + ",\n ".join(parts) + "}\n"


EAR_FILE = EarFile()


def ear_history() -> EarHistory:
    """Everything that was answered, as the file and this notebook know; nothing if it cannot be read."""
    return EAR_FILE.kept()


def keep_answer(answer: Answered, tell: Tell) -> None:
    """Keep an answer; `tell` is given what the learner should know, the first time that keeping fails.

    Returns at once: in a notebook the file is written on the side, and `tell` is called later, by the notebook's own
    loop.
    """
    EAR_FILE.keep(lambda before: before.adding(answer), tell)


def write_ear_csv(path: PathLike) -> Path:
    """Write everything that was answered into a table, for a spreadsheet: CSV in UTF-8; see `EarHistory.csv`.

    Raises FileExistsError if there is a file of that name, which is left as it is, and FileNotFoundError if the folder
    is missing.
    """
    return write_whole(path, ear_history().csv().encode("utf-8-sig"))


def _told(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")


def _in_lines(rows: Iterable[list[Any]]) -> str:
    """Rows as JSON, one on a line."""
    return "[" + ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in rows) + "]"


def _answered(item: str, moment: str, right: bool, answer: str, cents: float, register: str, sung: bool) -> Answered:
    return Answered(Item.parse(item), _moment(moment), right, answer, cents, register, sung)


def _month(
    item: str,
    register: str,
    sung: bool,
    month: str,
    answers: int,
    right: int,
    days: int,
    share: float,
    last: str,
    bias: float | None,
    spread: float | None,
) -> EarMonth:
    return EarMonth(Item.parse(item), register, sung, month, answers, right, days, share, _moment(last), bias, spread)


def _moment(text: str) -> datetime:
    found = datetime.fromisoformat(text)
    _ = found.astimezone(timezone.utc)  # at the end of all calendars there is none (an OverflowError)
    return found
