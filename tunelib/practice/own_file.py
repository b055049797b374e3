"""A small file of the learner's own, such as their progress, kept so that it never gets in the way of a lesson.

It is in the learner's data folder, which is the operating system's folder for such things (`platformdirs` knows it), or
the folder that the environment variable ``TUNELIB_DATA`` names. It is JSON in UTF-8: an object with a ``format``, a
whole number. Nothing leaves the machine.

- It is read again before each writing, and only what is new is added, so several notebooks may be open at once. It is
  written whole or not at all. If two notebooks write within the same few milliseconds, the later one wins, and the
  earlier one's last answer is missing.
- It is written aside from the lesson, after the learner has the response.
- A file that cannot be understood is put aside under another name, never lost or written over, and a new one begun.
- A file of a newer format is left alone: nothing is read from it or written to it.
- Where it cannot be written, what is new is held until it can, as long as the notebook runs, and the learner is told
  once that nothing is being kept, and where that was tried.
"""

from __future__ import annotations

import asyncio
import json
import os
import stat
import threading
import weakref
from abc import ABC, abstractmethod
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, ClassVar, Generic, Protocol, TypeAlias, TypeVar

import platformdirs

from tunelib.files import write_whole

DATA_FOLDER = "TUNELIB_DATA"  # the environment variable that names another folder

Kept = TypeVar("Kept")
Tell: TypeAlias = Callable[[str], None]
"""Called with what the learner should know, in words."""

_disk = ThreadPoolExecutor(1, "own file")


class Watcher(Protocol):
    """Something that shows what is kept."""

    def look(self) -> None:
        """Look again."""
        ...


class Unkept(Exception):
    """A file of the learner's own cannot be read or kept; the message says why, in words for the learner."""


class OwnFile(ABC, Generic[Kept]):
    """One such file, and what is new and not yet in it. A subclass says what is in it."""

    name: ClassVar[str]
    """Of the file, such as ``"progress.json"``."""
    thing: ClassVar[str]
    """What it keeps, as the learner is told, such as ``"progress"``."""
    newest: ClassVar[int] = 1
    """The format that is written here."""
    most_bytes: ClassVar[int]
    """A longer file is not understood."""

    def __init__(self) -> None:
        self._new: list[Callable[[Kept], Kept]] = []
        self._told: set[str] = set()  # what the learner has been told in this notebook
        self._turn = threading.Lock()  # held by the one who changes the file
        self._watchers: weakref.WeakSet[Watcher] = weakref.WeakSet()

    @abstractmethod
    def empty(self) -> Kept:
        """What is kept to begin with."""

    @abstractmethod
    def understood(self, data: dict[str, Any]) -> Kept:
        """What the object of a file of the newest format or an older one says.

        Raises ValueError for one that makes no sense, or a TypeError, KeyError and the like that comes of reading it.
        """

    @abstractmethod
    def text(self, kept: Kept) -> str:
        """What is written in the file, ``format`` and all."""

    def path(self) -> Path:
        """Where the file is. Raises Unkept where the operating system gives no folder for it."""
        named = os.environ.get(DATA_FOLDER)
        folder = Path(os.path.expanduser(named)) if named else platformdirs.user_data_path("tunelib", appauthor=False)
        if not named and not folder.is_absolute():
            raise Unkept(f"there is no folder for it on this machine (the variable {DATA_FOLDER} can name one)")
        return Path(os.path.realpath(folder / self.name))

    def kept(self) -> Kept:
        """What is kept, as the file and this notebook know; if the file cannot be read, what this notebook knows."""
        try:
            kept = self._read(self.path())
        except (Unkept, ValueError):
            kept = self.empty()
        return _with(kept, list(self._new))

    def keep(self, change: Callable[[Kept], Kept], tell: Tell) -> None:
        """Keep a change; `tell` is given what the learner should know, the first time that keeping fails.

        Returns at once: in a notebook the file is written on the side, and `tell` is called later, by the notebook's
        own loop. `change` may be called more than once, each time with what is kept by then.
        """
        self._new.append(change)
        self._tell_watchers()

        def report(problem: str) -> None:
            if problem and problem not in self._told:
                self._told.add(problem)
                tell(problem)

        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no notebook: nobody is waiting
            report(self._write())
        else:
            loop.run_in_executor(_disk, self._write).add_done_callback(lambda written: report(written.result()))

    def watch(self, watcher: Watcher) -> None:
        """Have a watcher look again whenever something is kept or forgotten here, as long as it is in use."""
        self._watchers.add(watcher)

    def _tell_watchers(self) -> None:
        for watcher in list(self._watchers):
            watcher.look()

    def forget(self) -> Path | None:
        """Put the file aside, to start afresh; returns its new name, or None if there was no file.

        Raises Unkept if it cannot be moved.
        """
        path = self.path()
        with self._turn:
            try:
                aside = _put_aside(path, "before")
            except OSError as problem:
                raise Unkept(f"{path} cannot be moved: {_reason(problem)}") from problem
            self._new.clear()
        self._tell_watchers()
        return aside

    def standing(self) -> list[str]:
        """Where the file is, or why there is none, in sentences for the learner."""
        try:
            path = self.path()
            self._read(path)
        except Unkept as problem:
            return [self._unkept(problem)]
        except ValueError:
            return [
                f"The file {path} could not be understood. It is put aside, not deleted, when something is next kept."
            ]
        where = f"Kept in {path}, on the machine that runs the lessons, and nowhere else."
        return [where, *(problem for problem in sorted(self._told) if self._new)]

    def _write(self) -> str:
        """Add to the file what is new; returns what the learner should know, in words, or nothing if all is well."""
        with self._turn:
            taken = list(self._new)
            try:
                said = self._add(self.path(), taken)
            except Unkept as problem:
                return self._unkept(problem)
            del self._new[: len(taken)]
        return said

    def _add(self, path: Path, changes: list[Callable[[Kept], Kept]]) -> str:
        """Change the file; returns in words that it had to be put aside, or nothing. Raises Unkept."""
        said = ""
        try:
            try:
                kept = self._read(path)
            except ValueError:
                kept = self.empty()
                if aside := _put_aside(path, "damaged"):
                    said = (
                        f"Your {self.thing} file could not be understood. It is now {aside}, and a new one has been "
                        "started."
                    )
            after = _with(kept, changes)
            if after != kept:
                path.parent.mkdir(parents=True, exist_ok=True)
                write_whole(path, self.text(after).encode(), overwrite=True)
        except OSError as problem:
            raise Unkept(f"{path} cannot be written: {_reason(problem)}") from problem
        return said

    def _unkept(self, problem: Unkept) -> str:
        return f"Your {self.thing} is not being kept: {problem}. The lessons work without it."

    def _read(self, path: Path) -> Kept:
        """What the file holds; nothing if there is none.

        Raises ValueError if it cannot be understood, and Unkept if it may not be read or is of a newer format.
        """
        try:
            about = path.stat()
            if not stat.S_ISREG(about.st_mode) or about.st_size > self.most_bytes:
                raise ValueError("not a small file")
            text = path.read_bytes().decode()
        except FileNotFoundError:
            return self.empty()
        except OSError as problem:
            raise Unkept(f"{path} cannot be read: {_reason(problem)}") from problem
        try:
            data = json.loads(text, parse_constant=_no_number)
            if type(data["format"]) is not int or data["format"] < 1:
                raise ValueError(f"no format is called {data['format']!r}")
            if data["format"] > self.newest:
                raise Unkept(f"{path} was written by a newer version of these lessons, and is left as it is")
            return self.understood(data)
        except (TypeError, KeyError, AttributeError, RecursionError, OverflowError, OSError) as problem:
            raise ValueError(f"not a {self.thing} file: {problem}") from problem


def _with(kept: Kept, changes: list[Callable[[Kept], Kept]]) -> Kept:
    for change in changes:
        kept = change(kept)
    return kept


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is not a number")


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
