"""A learner's progress: which exercises were tried and solved, kept in one small file of the learner's own.

The file is ``progress.json`` in the learner's data folder, which is the operating system's folder for such things
(`platformdirs` knows it), or the folder that the environment variable ``TUNELIB_DATA`` names. It is JSON in UTF-8::

    {"format": 1,
     "steps": {"3": {"tries": 2, "right": "2026-05-03T18:20:11+00:00", "hint": true, "worked": false}}}

For each step whose exercise was worked on: how many answers were tried until one was right, when that was (in UTC,
empty as long as none was), and whether the hint and the worked answer were opened before it. What was typed is not
kept, and nothing leaves the machine. Entries of steps that the course does not have are kept as they are.

The file never gets in the way of a lesson:

- It is read again before each writing, and only what is new is added, so several notebooks may be open at once. It is
  written whole or not at all. If two notebooks write within the same few milliseconds, the later one wins, and the
  earlier one's last answer is missing.
- It is written aside from the lesson, after the learner has the response.
- A file that cannot be understood is put aside under another name, never lost or written over, and a new one begun.
- A file of a newer format is left alone: nothing is read from it or written to it.
- Where it cannot be written, the answers are held until it can, as long as the notebook runs, and the learner is told
  once that nothing is being kept, and where that was tried.
"""

from __future__ import annotations

import asyncio
import html
import json
import os
import stat
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import platformdirs

from tunelib import course
from tunelib.files import write_whole
from tunelib.show import assistance

DATA_FOLDER = "TUNELIB_DATA"  # the environment variable that names another folder
FORMAT = 1
_MOST_BYTES = 1_000_000  # a file of all steps takes some three thousand
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


class Unkept(Exception):
    """Progress cannot be read or kept; the message says why, in words for the learner."""


@dataclass(frozen=True)
class _Event:
    """Something new about a step, not yet in the file."""

    step: int
    add: Callable[[Done], Done]


_new: list[_Event] = []
_told: set[str] = set()  # what the learner has been told in this notebook
_disk = ThreadPoolExecutor(1, "progress")
_turn = threading.Lock()  # held by the one who changes the file


def progress_file() -> Path:
    """Where progress is kept.

    Raises Unkept where the operating system gives no folder for it.
    """
    named = os.environ.get(DATA_FOLDER)
    folder = Path(os.path.expanduser(named)) if named else platformdirs.user_data_path("tunelib", appauthor=False)
    if not named and not folder.is_absolute():
        raise Unkept(f"there is no folder for it on this machine (the variable {DATA_FOLDER} can name one)")
    return Path(os.path.realpath(folder / "progress.json"))


def done(step: int) -> Done:
    """What was done on a step's exercise so far, as the file and this notebook know; nothing if it cannot be read."""
    return everything_done().get(step, Done())


def everything_done() -> dict[int, Done]:
    """What was done on each exercise that was worked on; empty if nothing was, or if it cannot be read."""
    try:
        kept = _read(progress_file())
    except (Unkept, ValueError):
        kept = {}
    return _with(kept, list(_new))


def keep_try(step: int, right: bool, tell: Callable[[str], None]) -> None:
    """Keep that an answer was tried; `tell` is given what the learner should know, the first time that keeping fails.

    Returns at once: in a notebook the file is written on the side, and `tell` is called later, by the notebook's own
    loop.
    """
    moment = datetime.now(timezone.utc).isoformat(timespec="seconds")
    _keep(_Event(step, lambda before: before.tried(right, moment)), tell)


def keep_opened(step: int, tell: Callable[[str], None], hint: bool = False, worked: bool = False) -> None:
    """Keep that the hint or the worked answer of a step was opened; `tell` as in `keep_try`."""
    _keep(_Event(step, lambda before: before.opened(hint, worked)), tell)


def forget() -> Path | None:
    """Put the file aside, so that progress starts afresh; returns its new name, or None if there was no file.

    Raises Unkept if it cannot be moved.
    """
    path = progress_file()
    with _turn:
        try:
            aside = _put_aside(path, "before")
        except OSError as problem:
            raise Unkept(f"{path} cannot be moved: {_reason(problem)}") from problem
        _new.clear()
    return aside


def _keep(event: _Event, tell: Callable[[str], None]) -> None:
    _new.append(event)

    def report(problem: str) -> None:
        if problem and problem not in _told:
            _told.add(problem)
            tell(problem)

    try:
        loop = asyncio.get_running_loop()
    except RuntimeError:  # no notebook: nobody is waiting
        report(_write())
    else:
        loop.run_in_executor(_disk, _write).add_done_callback(lambda written: report(written.result()))


def _write() -> str:
    """Add to the file what is new; returns what the learner should know, in words, or nothing if all is well."""
    with _turn:
        taken = list(_new)
        try:
            said = _add(progress_file(), taken)
        except Unkept as problem:
            return _unkept(problem)
        del _new[: len(taken)]
    return said


def _add(path: Path, events: list[_Event]) -> str:
    """Add events to the file; returns in words that it had to be put aside, or nothing. Raises Unkept."""
    said = ""
    try:
        try:
            kept = _read(path)
        except ValueError:
            kept = {}
            if aside := _put_aside(path, "damaged"):
                said = f"Your progress file could not be understood. It is now {aside}, and a new one has been started."
        after = _with(kept, events)
        if after != kept:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, _as_bytes(after), overwrite=True)
    except OSError as problem:
        raise Unkept(f"{path} cannot be written: {_reason(problem)}") from problem
    return said


def _unkept(problem: Unkept) -> str:
    return f"Your progress is not being kept: {problem}. The lessons work without it."


def _with(kept: Mapping[int, Done], events: list[_Event]) -> dict[int, Done]:
    after = dict(kept)
    for event in events:
        after[event.step] = event.add(after.get(event.step, Done()))
    return after


def _read(path: Path) -> dict[int, Done]:
    """What the file holds; nothing if there is none.

    Raises ValueError if it cannot be understood, and Unkept if it may not be read or is of a newer format.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode) or about.st_size > _MOST_BYTES:
            raise ValueError("not a small file")
        text = path.read_bytes().decode()
    except FileNotFoundError:
        return {}
    except OSError as problem:
        raise Unkept(f"{path} cannot be read: {_reason(problem)}") from problem
    try:
        return _understood(json.loads(text, parse_constant=_no_number), path)
    except (TypeError, KeyError, AttributeError, RecursionError, OverflowError, OSError) as problem:
        raise ValueError(f"not a file of progress: {problem}") from problem


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is not a number")


def _understood(data: Any, path: Path) -> dict[int, Done]:
    if type(data["format"]) is not int or data["format"] < 1:
        raise ValueError(f"no format is called {data['format']!r}")
    if data["format"] > FORMAT:
        raise Unkept(f"{path} was written by a newer version of these lessons, and is left as it is")
    return {_step(key): _done(parts) for key, parts in data["steps"].items()}


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


def _as_bytes(kept: Mapping[int, Done]) -> bytes:
    steps = {str(step): vars(kept[step]) for step in sorted(kept)}
    return (json.dumps({"format": FORMAT, "steps": steps}, indent=1) + "\n").encode()


def _put_aside(path: Path, why: str) -> Path | None:
    """Give the file the first name that is free, and return it; None if there is no file, or somebody was faster."""
    number = 0
    while True:
        number += 1
        aside = path.with_name(f"{path.stem}-{why}-{number}{path.suffix}")
        if os.path.lexists(aside):
            continue
        try:
            os.link(path, aside)  # which never takes a name that is in use
            path.unlink()
        except FileExistsError:
            continue
        except FileNotFoundError:
            return None
        except OSError:  # a folder of that name, or a file system without hard links
            path.rename(aside)
        return aside


def _reason(problem: OSError) -> str:
    return (problem.strerror or str(problem)).lower()


def progress() -> ProgressPanel:
    """The steps of the course with what you have done on each, for a notebook."""
    return ProgressPanel()


class ProgressPanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `progress`; a program may click ``forget``, and again to confirm, or ``keep`` to go back.

    The steps are in ``list``, and what was said last in ``words``.
    """

    def __init__(self) -> None:
        self.list = widgets.HTML(layout={"max_width": "60em"})
        self.forget = widgets.Button(description="Forget my progress", layout={"width": "200px"})
        self.keep = widgets.Button(description="No, keep it", layout={"width": "200px", "display": "none"})
        self.words = widgets.HTML(layout={"max_width": "60em"})
        self.forget.on_click(lambda _: self._pressed())
        self.keep.on_click(lambda _: self._settle("Nothing was changed."))
        self._sure = False
        buttons = widgets.HBox([self.forget, self.keep])
        super().__init__([self.list, buttons, self.words, assistance("tunelib-progress")])
        self.add_class("tunelib-progress")
        self.look()

    def look(self) -> None:
        """Show what has been done so far."""
        lines = [f'<p style="line-height:1.35">{html.escape(line)}</p>' for line in _standing()]
        self.list.value = _table(everything_done()) + "".join(lines)

    def _pressed(self) -> None:
        if not self._sure:
            self._sure = True
            self.forget.description, self.keep.layout.display = "Yes, forget it all", ""
            self._say("Press once more to begin with an empty list. The old file is put aside, not deleted.")
            return
        try:
            aside = forget()
        except Unkept as problem:
            self._settle(f"That did not work: {problem}.")
        else:
            self._settle(f"Forgotten. The old file is now {aside}." if aside else "There was nothing to forget.")

    def _settle(self, words: str) -> None:
        self._sure = False
        self.forget.description, self.keep.layout.display = "Forget my progress", "none"
        self._say(words)
        self.look()

    def _say(self, words: str) -> None:
        self.words.value = f'<p role="status" aria-live="polite" style="line-height:1.35">{html.escape(words)}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live list; and, for a reader without a kernel, what it is for, the same on every machine."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/markdown": _STORED, "text/plain": _STORED}


def _standing() -> list[str]:
    """Where the file is, or why there is none."""
    try:
        path = progress_file()
        _read(path)
    except Unkept as problem:
        return [_unkept(problem)]
    except ValueError:
        return [
            f"The file {path} could not be understood. It is put aside, not deleted, when you next try an exercise."
        ]
    lines = [f"Kept in {path}, on the machine that runs the lessons, and nowhere else. What you type is not kept."]
    return lines + [problem for problem in sorted(_told) if _new]


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
