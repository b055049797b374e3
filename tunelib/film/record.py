"""The record of a folder of pictures and clips: which files are ours, and what each was made from.

It is a JSON file in the folder. A file that is not on record, or whose bytes are not those that we wrote, belongs to
somebody else.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from math import isfinite
from pathlib import Path

from tunelib.files import check_targets, require_file, write_whole
from tunelib.pitch import shortened

RECORD = "render.json"
_VERSION = 1
_BYTES_AT_A_TIME = 1 << 20


@dataclass(frozen=True)
class Figures:
    """What is known of a finished output: bytes, pixels, and for a clip its length, rate, loudness and true peak."""

    bytes: int
    width: int
    height: int
    seconds: float | None = None
    fps: int | None = None
    loudness: float | None = None
    true_peak: float | None = None


@dataclass(frozen=True)
class Made:
    """An output on record: the digest of what it was made from, and what is known of it."""

    origin: str
    figures: Figures


@dataclass(frozen=True)
class Written:
    """A file on record: the shot list that it was made for, and the digests of its bytes, now and before."""

    shot_list: str
    digests: tuple[str, ...]


@dataclass
class Record:
    """What is on record in a folder. `outputs` go by the name of their main file."""

    folder: Path
    outputs: dict[str, Made] = field(default_factory=dict)
    files: dict[str, Written] = field(default_factory=dict)

    @classmethod
    def read(cls, folder: Path) -> Record:
        """The record of a folder, empty if there is none. Raises ValueError for one that cannot be read."""
        path = folder / RECORD
        if not os.path.lexists(path):
            return cls(folder)
        require_file(path, "move it out of the way")
        try:
            kept = json.loads(path.read_bytes())
            if kept["version"] != _VERSION:
                raise ValueError(f"its version is {shortened(kept['version'])}")
            return cls(
                folder,
                {name: Made(_text(one["origin"]), _figures(one["figures"])) for name, one in kept["outputs"].items()},
                {
                    name: Written(_text(one["shot_list"]), tuple(map(_text, one["digests"])))
                    for name, one in kept["files"].items()
                },
            )
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise ValueError(
                f"{path} is not the record of an earlier run ({error}); move it out of the way, and give --force "
                "to make the files there again"
            ) from None

    def keep(self) -> None:
        """Write the record."""
        kept = {
            "version": _VERSION,
            "outputs": {name: asdict(self.outputs[name]) for name in sorted(self.outputs)},
            "files": {name: asdict(self.files[name]) for name in sorted(self.files)},
        }
        write_whole(self.folder / RECORD, (json.dumps(kept, indent=1) + "\n").encode(), overwrite=True)

    def is_current(self, output: str, origin: str, files: Iterable[str]) -> bool:
        """Whether an output was made from exactly that, and its files are there as they were written."""
        made = self.outputs.get(output)
        return made is not None and made.origin == origin and all(self._is_latest(file) for file in files)

    def _is_latest(self, file: str) -> bool:
        written = self.files.get(file)
        return written is not None and digest_of(self.folder / file) == written.digests[0]

    def in_the_way(self, files: Iterable[str], shot_list: str) -> list[str]:
        """Those of some files that are there and not ours to replace, each with the reason."""
        found = []
        for file in files:
            path, written = self.folder / file, self.files.get(file)
            if not os.path.lexists(path):
                continue
            if written is None:
                found.append(f"{path} was not made by this command")
            elif digest_of(path) not in written.digests:
                found.append(f"{path} was changed since it was made")
            elif written.shot_list != shot_list:
                found.append(f"{path} belongs to {written.shot_list}")
        return found

    def take(self, made_in: Path, output: str, files: Iterable[str], made: Made, shot_list: str, force: bool) -> None:
        """Put the finished files of an output into the folder and on record.

        The record is written first and knows the bytes before and after, so that a run may stop at any moment. Raises
        FileExistsError if somebody has put a file there since, and `force` is false.
        """
        files = list(files)
        refused = [] if force else self.in_the_way(files, shot_list)
        if refused:
            raise FileExistsError("; ".join(refused))
        for file in files:
            before = digest_of(self.folder / file)
            new = digest_of(made_in / file)
            assert new is not None
            digests = (new, before) if before is not None and before != new else (new,)
            self.files[file] = Written(shot_list, digests)
        self.outputs[output] = made
        self.keep()
        for file in files:
            check_targets([self.folder / file], overwrite=True)
            os.replace(made_in / file, self.folder / file)

    def left(self, wanted: Iterable[str], shot_list: str) -> list[str]:
        """Files that were made for a shot list, are still there, and are no longer in it."""
        known = set(wanted)
        return sorted(
            file
            for file, written in self.files.items()
            if written.shot_list == shot_list and file not in known and (self.folder / file).is_file()
        )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{shortened(value)} is given where text should be")
    return value


def _figures(kept: Mapping[str, object]) -> Figures:
    """Figures from a record. Raises ValueError if one is not a number, and TypeError if one is missing."""
    for name, value in kept.items():
        optional = value is None and name not in ("bytes", "width", "height")
        if not optional and (isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value)):
            raise ValueError(f"{shortened(value)} is given where the number of {name} should be")
    return Figures(**kept)  # type: ignore[arg-type]


def digest_of(path: Path) -> str | None:
    """SHA-256 of a file's bytes; None if it is not there or not an ordinary file."""
    if not path.is_file():
        return None
    with contextlib.suppress(FileNotFoundError), path.open("rb") as stream:
        summed = hashlib.sha256()
        while piece := stream.read(_BYTES_AT_A_TIME):
            summed.update(piece)
        return summed.hexdigest()
    return None
