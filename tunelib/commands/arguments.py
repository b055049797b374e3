"""Arguments that several commands have, and how they are read."""

from __future__ import annotations

import argparse
import os
import re
import sys
import tempfile
from pathlib import Path

from tunelib.arrange import MOST_PLAYERS
from tunelib.files import clear_leftovers
from tunelib.pitch import INSTRUMENTS, Instrument, folded, instrument, shortened


def add_out(parser: argparse.ArgumentParser, required: bool = True) -> None:
    """The folder that files go into."""
    parser.add_argument(
        "--out", required=required, type=path, metavar="DIR", help="folder for the files; made if missing"
    )


def add_paper(parser: argparse.ArgumentParser) -> None:
    """The size of printed pages."""
    parser.add_argument("--paper", default="a4", type=str.lower, help="a4 or letter (default: %(default)s)")


def add_force(parser: argparse.ArgumentParser) -> None:
    """Permission to replace files."""
    parser.add_argument("--force", action="store_true", help="replace files that are already there")


def path(text: str) -> Path:
    """A path as typed."""
    if not text.strip():
        raise argparse.ArgumentTypeError("the name is empty; give one, such as my_practice")
    return Path(text)


def tempo(text: str) -> float:
    """Beats a minute as typed."""
    return number(text, f"the tempo is a number of beats a minute, such as 60, not {shortened(text)}")


def number(text: str, otherwise: str) -> float:
    """A number as typed, or a complaint in the words of `otherwise`."""
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(otherwise) from None


def steps(text: str) -> int:
    """A number of equal steps to the octave as typed."""
    if not is_count(text.strip()):
        raise argparse.ArgumentTypeError(f"a division is a number of equal steps, such as 31, not {shortened(text)}")
    return int(text)


def is_count(text: str) -> bool:
    """Whether a text is a whole number of 0 or more, short enough for anybody to have typed."""
    return text.isascii() and text.isdigit() and len(text) <= 18


def player_named(name: str) -> Instrument:
    """The instrument of a name; where a whole family goes by that name, the error stream says which one was taken."""
    try:
        player = instrument(name)
    except ValueError as error:
        far = "" if "did you mean" in str(error) else "; `python -m tunelib instruments` lists them"
        raise ValueError(f"{error}{far}") from None
    sought = re.sub(r"\bsax\b", "saxophone", folded(name))
    others = [other for other in INSTRUMENTS if other != player.name and sought in folded(other).split()]
    if sought != folded(player.name) and others:
        print(f"taking the {player.name} for {name!r}; there are also: {', '.join(others)}", file=sys.stderr)
    return player


def players_named(text: str) -> list[Instrument]:
    """The instruments of a list such as ``"alto saxophone, trumpet, trumpet, piano"``.

    Raises ValueError for a name that is not known or missing, and for more than 100.
    """
    names = [name.strip() for name in text.split(",")]
    if not all(names):
        raise ValueError(f"{shortened(text)} has a name missing; put one comma between two instruments")
    if len(names) > MOST_PLAYERS:
        raise ValueError(f"a band has at most {MOST_PLAYERS} players, not {len(names)}")
    return [player_named(name) for name in names]


def check_folder(folder: Path) -> None:
    """Stop early, before a minute's work, if nothing can be written to a folder; clear what killed runs left."""
    present = next(place for place in (folder.absolute(), *folder.absolute().parents) if place.exists())
    if not present.is_dir():
        raise NotADirectoryError(f"{present} is a file, not a folder; give --out a folder")
    refused = f"no file may be written in {present}; give --out a folder of your own"
    if not os.access(present, os.W_OK | os.X_OK):
        raise PermissionError(refused)
    try:
        with tempfile.TemporaryDirectory(dir=present, prefix=".tunelib-"):
            pass
    except OSError:  # a full or read-only disk, or a folder that only the system fills
        raise PermissionError(refused) from None
    if present == folder.absolute():
        for done in clear_leftovers(folder):
            print(f"{folder}: {done}", file=sys.stderr)
