"""A learner's progress: which exercises were tried and solved, kept in one small file of the learner's own.

The file is ``progress.json`` (`tunelib.practice.own_file` has where it is, and the care that is taken of it)::

    {"format": 1,
     "steps": {"3": {"tries": 2, "right": "2026-05-03T18:20:11+00:00", "hint": true, "worked": false}}}

For each step whose exercise was worked on: how many answers were tried until one was right, when that was (in UTC,
empty as long as none was), and whether the hint and the worked answer were opened before it. What was typed is not
kept, and nothing leaves the machine. Entries of steps that the course does not have are kept as they are.
"""

from __future__ import annotations

import html
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timezone
from typing import Any, ClassVar

import ipywidgets as widgets

from tunelib import course
from tunelib.practice.forget_buttons import ForgetButtons
from tunelib.practice.own_file import OwnFile, Tell
from tunelib.show import assistance

_MOST_TRIES = 1_000_000
_STORED = (
    "Your progress. Run this page, and all the steps are listed here: which exercises you have solved, and when. It "
    "is kept in one small file on the machine that runs the lessons, and nowhere else."
)


@dataclass(frozen=True)
class Done:
    """What was done on one exercise: see the head of this file for what each part means."""

    tries: int = 0
    right: str = ""
    hint: bool = False
    worked: bool = False

    @property
    def day(self) -> str:
        """The day on which it was first right, in words and in the local time; empty if it never was."""
        if not self.right:
            return ""
        moment = datetime.fromisoformat(self.right).astimezone()
        return f"{moment.day} {moment:%B} {moment.year}"

    def tried(self, right: bool, moment: str) -> Done:
        """The same after one more try; once it was right, nothing changes."""
        return self if self.right else replace(self, tries=self.tries + 1, right=moment if right else "")

    def opened(self, hint: bool = False, worked: bool = False) -> Done:
        """The same after the hint or the worked answer was opened; once it was right, nothing changes."""
        return self if self.right else replace(self, hint=self.hint or hint, worked=self.worked or worked)


class ProgressFile(OwnFile[dict[int, Done]]):
    """The file: what was done on each step that was worked on."""

    name: ClassVar[str] = "progress.json"
    thing: ClassVar[str] = "progress"
    most_bytes: ClassVar[int] = 1_000_000  # a file of all steps takes some three thousand

    def empty(self) -> dict[int, Done]:
        """Nothing was done."""
        return {}

    def understood(self, data: dict[str, Any]) -> dict[int, Done]:
        """See the head of this file."""
        return {_step(key): _done(parts) for key, parts in data["steps"].items()}

    def text(self, kept: dict[int, Done]) -> str:
        """See the head of this file."""
        steps = {str(step): vars(kept[step]) for step in sorted(kept)}
        return json.dumps({"format": self.newest, "steps": steps}, indent=1) + "\n"


PROGRESS_FILE = ProgressFile()


def done(step: int) -> Done:
    """What was done on a step's exercise so far, as the file and this notebook know; nothing if it cannot be read."""
    return everything_done().get(step, Done())


def everything_done() -> dict[int, Done]:
    """What was done on each exercise that was worked on; empty if nothing was, or if it cannot be read."""
    return PROGRESS_FILE.kept()


def keep_try(step: int, right: bool, tell: Tell) -> None:
    """Keep that an answer was tried; `tell` is given what the learner should know, the first time that keeping fails.

    Returns at once: in a notebook the file is written on the side, and `tell` is called later, by the notebook's own
    loop.
    """
    moment = datetime.now(timezone.utc).isoformat(timespec="seconds")
    _keep(step, lambda before: before.tried(right, moment), tell)


def keep_opened(step: int, tell: Tell, hint: bool = False, worked: bool = False) -> None:
    """Keep that the hint or the worked answer of a step was opened; `tell` as in `keep_try`."""
    _keep(step, lambda before: before.opened(hint, worked), tell)


def _keep(step: int, add: Callable[[Done], Done], tell: Tell) -> None:
    PROGRESS_FILE.keep(lambda before: {**before, step: add(before.get(step, Done()))}, tell)


def _step(key: str) -> int:
    if not (key.isascii() and key.isdigit() and len(key) < 5):
        raise ValueError(f"no step is called {key!r}")
    return int(key)


def _done(parts: Mapping[str, Any]) -> Done:
    found = Done(**{part: parts[part] for part in ("tries", "right", "hint", "worked")})
    if type(found.tries) is not int or not 0 <= found.tries <= _MOST_TRIES:
        raise ValueError(f"{found.tries!r} is not a number of tries")
    if type(found.right) is not str:
        raise ValueError(f"{found.right!r} is not a moment")
    if type(found.hint) is not bool or type(found.worked) is not bool:
        raise ValueError("what was opened is said by true or false")
    if found.right and datetime.fromisoformat(found.right).tzinfo is None:
        raise ValueError(f"{found.right!r} has no time zone")
    _ = found.day  # a moment at the end of all calendars has none, nor on Windows one before 1970 (an OSError)
    return found


def progress() -> ProgressPanel:
    """The steps of the course with what you have done on each, for a notebook."""
    return ProgressPanel()


class ProgressPanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `progress`; a program may click ``forget``, and again to confirm, or ``keep`` to go back.

    The steps are in ``list``, and what was said last in ``words``.
    """

    def __init__(self) -> None:
        self.list = widgets.HTML(layout={"max_width": "60em"})
        buttons = ForgetButtons(PROGRESS_FILE, "Forget my progress", "an empty list", self.look)
        self.forget, self.keep, self.words = buttons.forget, buttons.keep, buttons.words
        super().__init__([self.list, buttons, assistance("tunelib-progress")])
        self.add_class("tunelib-progress")
        self.look()

    def look(self) -> None:
        """Show what has been done so far."""
        said = [*PROGRESS_FILE.standing(), "What you type is not kept."]
        lines = [f'<p style="line-height:1.35">{html.escape(line)}</p>' for line in said]
        self.list.value = _table(everything_done()) + "".join(lines)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live list; and, for a reader without a kernel, what it is for, the same on every machine."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/markdown": _STORED, "text/plain": _STORED}


def _table(all_done: Mapping[int, Done]) -> str:
    rows = []
    for lesson in course.LESSONS:
        right = sum(bool(all_done.get(step.number, Done()).right) for step in lesson.steps)
        rows.append(
            f'<tr><th colspan="3" scope="rowgroup" style="text-align:left;padding:0.7em 0.6em 0.1em 0">'
            f"{html.escape(lesson.heading)}: {right} of {len(lesson.steps)} solved</th></tr>"
        )
        rows += [_row(step.number, step.about, all_done.get(step.number, Done())) for step in lesson.steps]
    steps = course.all_steps()
    total = sum(bool(all_done.get(step.number, Done()).right) for step in steps)
    head = "".join(f'<th scope="col" style="{_CELL}">{words}</th>' for words in ("Step", "About", "Your exercise"))
    return (
        f"<p><b>Your progress.</b> {total} of {len(steps)} exercises solved.</p>"
        f'<table style="border-spacing:0;line-height:1.35"><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


_CELL = "text-align:left;vertical-align:top;padding:0.1em 1.2em 0.1em 0"


def _row(step: int, words: str, one: Done) -> str:
    cells = (str(step), html.escape(words), _in_words(one))
    return f"<tr>{''.join(f'<td style={_CELL!r}>{cell}</td>' for cell in cells)}</tr>"


def _in_words(one: Done) -> str:
    """What was done on an exercise, such as ``✓ solved on 3 May 2026, in 2 tries, with the hint``."""
    helps = [words for words, opened in (("the hint", one.hint), ("the worked answer", one.worked)) if opened]
    if one.right:
        return f"✓ solved on {one.day}, {_counted(one.tries)}{', with ' if helps else ''}{' and '.join(helps)}"
    opened = f"; {' and '.join(helps)} opened" if helps else ""
    if one.tries:
        return f"tried {'once' if one.tries == 1 else f'{one.tries} times'}, not solved yet{opened}"
    return f"not tried yet{opened}"


def _counted(tries: int) -> str:
    return "at the first try" if tries == 1 else f"in {tries} tries"
