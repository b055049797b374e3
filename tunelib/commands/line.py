"""Reading the command line and running what was asked.

A command is a module of this room with `NAME`, `SUMMARY`, `add_arguments(parser)` and `run(options)`,
in the list below. A wrong argument, a file in the way or a missing part gets one line on the error stream and exit
code 2.
"""

from __future__ import annotations

import _thread
import argparse
import contextlib
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from types import FrameType
from typing import NoReturn, Protocol

from tunelib.commands import (
    band_command,
    handout_command,
    instruments_command,
    listen_command,
    page_command,
    render_command,
    retune_command,
    sheet_command,
)
from tunelib.commands.streams import finish_output, fit_streams
from tunelib.commands.telling import one_line
from tunelib.pitch import listed

WRONG = 2  # exit code
INTERRUPTED = 130  # as shells report it
_LOADING = "<frozen importlib."  # how the files begin, as tracebacks name them, of what loads a module
_MOMENT = 0.02  # seconds


class Command(Protocol):
    """What a command's module offers."""

    NAME: str
    SUMMARY: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say what can be given."""

    def run(self, options: argparse.Namespace) -> None:
        """Do it."""


COMMANDS: tuple[Command, ...] = (
    sheet_command,
    band_command,
    instruments_command,
    listen_command,
    handout_command,
    page_command,
    render_command,
    retune_command,
)


class _Misuse(ValueError):
    """Something is wrong with what was typed after `prog`."""

    def __init__(self, prog: str, message: str) -> None:
        super().__init__(message)
        self.prog = prog


class _Parser(argparse.ArgumentParser):
    """A parser that raises what is wrong."""

    def error(self, message: str) -> NoReturn:
        raise _Misuse(self.prog, message)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code: 0, 2 for anything wrong with what was asked, 130 if it was stopped."""
    prog = "python -m tunelib"
    try:
        with _ended_gently():
            fit_streams()
            options = _asked_for(sys.argv[1:] if arguments is None else arguments, prog)
            prog = options.prog
            options.run(options)
            finish_output()
    except SystemExit as stop:  # after --help
        return int(stop.code or 0)
    except _Misuse as error:
        return _said(f"{error.prog}: {one_line(error)} (see {error.prog} --help)", WRONG)
    except (ValueError, OSError, ImportError) as error:
        return _said(f"{prog}: {one_line(error)}", WRONG)
    except KeyboardInterrupt:
        return _said(f"{prog}: stopped", INTERRUPTED)
    return 0


def _said(why: str, code: int) -> int:
    """Say why a command ends, if anything can still be said, and return its exit code."""
    with contextlib.suppress(OSError):
        print(why, file=sys.stderr, flush=True)
    return code


def _asked_for(arguments: Sequence[str], prog: str) -> argparse.Namespace:
    parser = _parser(prog)
    try:
        options = parser.parse_args(arguments)
    except _Misuse as error:
        dashed = [given for given in arguments if given.startswith("-") and os.path.isfile(given)]
        hint = f"; for the file {dashed[0]} write ./{dashed[0]}" if dashed else ""
        raise _Misuse(error.prog, f"{error}{hint}") from None
    if "run" not in options:
        parser.error(f"give a command: {listed([command.NAME for command in COMMANDS], 'or')}")
    return options


def _parser(prog: str) -> argparse.ArgumentParser:
    parser = _Parser(
        prog=prog,
        description="Sheets, handouts and web pages, stills and clips, reports on tuning, and retuned tunes.",
    )
    commands = parser.add_subparsers(title="commands", metavar="command")
    for command in COMMANDS:
        added = commands.add_parser(command.NAME, help=command.SUMMARY, description=command.SUMMARY)
        command.add_arguments(added)
        added.set_defaults(run=command.run, prog=added.prog)
    return parser


@contextlib.contextmanager
def _ended_gently() -> Iterator[None]:
    """Let Ctrl-C, a request to end or a closed terminal stop the work; a signal that is ignored stays ignored."""
    numbers = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in numbers}
    heeded = [number for number, handler in before.items() if handler not in (signal.SIG_IGN, None)]
    if threading.current_thread() is not threading.main_thread():
        heeded = []
    try:
        for number in heeded:
            signal.signal(number, _stop)
        yield
    finally:
        for number in heeded:
            signal.signal(number, before[number])


def _stop(number: int, frame: FrameType | None) -> None:
    """Stop the work; while a library is being loaded, as soon as that is done.

    A compiled one that is interrupted as it begins takes that for a failure, or brings the process down at its end.
    """
    while frame is not None and frame.f_code is not main.__code__:
        if frame.f_code.co_filename.startswith(_LOADING):
            _thread.start_new_thread(_stop_later, (number, _thread.get_ident()))
            return
        frame = frame.f_back
    raise KeyboardInterrupt


def _stop_later(number: int, main_thread: int) -> None:
    time.sleep(_MOMENT)
    if hasattr(signal, "pthread_kill"):
        signal.pthread_kill(main_thread, number)  # which ends its waiting, too
    else:
        _thread.interrupt_main(signal.Signals(number))
