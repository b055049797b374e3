"""Files: written whole or not at all, never over somebody's work, and read if they are ordinary ones."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path


def require_file(path: str | os.PathLike[str], instead: str) -> None:
    """Stop if there is no ordinary file to read at `path`; `instead` says what to do then, in a few words.

    Raises FileNotFoundError if nothing is there, and ValueError for a folder, a pipe and the like.
    """
    if not os.path.exists(path):
        raise FileNotFoundError(f"there is no file {os.fspath(path)}")
    if not os.path.isfile(path):
        raise ValueError(f"{os.fspath(path)} is not an ordinary file; {instead}")


def refuse_existing(paths: Iterable[str | os.PathLike[str]]) -> None:
    """Stop before any work is done if one of the files to be written is already there.

    Raises FileExistsError that names the first in the way, counts the others, and says what to do.
    """
    present = [os.fspath(path) for path in paths if os.path.lexists(path)]
    if present:
        others = len(present) - 1
        raise FileExistsError(
            f"{present[0]} {f'and {others} more are' if others else 'is'} already there and will not be overwritten; "
            "choose another name or folder, or pass overwrite=True"
        )


def write_whole(path: str | os.PathLike[str], data: bytes, overwrite: bool = False) -> Path:
    """Write `data` to `path` in one step and return the path.

    The bytes go to a temporary file in the same folder, which then takes the wanted name: a reader sees
    the old file or the whole new one, and a failure on the way leaves nothing behind.

    Raises FileExistsError if the file is there and `overwrite` is false, and FileNotFoundError if the folder
    is missing.
    """
    target = Path(path)
    if not overwrite:
        refuse_existing([target])
    making = temporary_beside(target)
    try:
        with making.open("wb") as stream:
            stream.write(data)
        take_name(making, target, overwrite)
    except BaseException:
        making.unlink(missing_ok=True)
        raise
    return target


def temporary_beside(path: str | os.PathLike[str]) -> Path:
    """An empty file of a temporary name in the folder of `path`, to be written and then given that name by `take_name`.

    Raises FileNotFoundError if the folder is missing.
    """
    target = Path(path)
    if not target.parent.is_dir():
        raise FileNotFoundError(f"cannot write {target}: the folder {target.parent} does not exist; make it first")
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    os.close(handle)
    return Path(name)


def take_name(making: Path, target: Path, overwrite: bool) -> None:
    """Give a finished temporary file its name, once it is safe on the disk.

    Raises FileExistsError if the name is taken, were it only meanwhile, and `overwrite` is false.
    """
    with making.open("rb+") as stream:
        os.fsync(stream.fileno())
    making.chmod(0o666 & ~_umask())
    if overwrite:
        making.replace(target)
        return
    try:
        os.link(making, target)
    except FileExistsError:
        refuse_existing([target])
        raise
    except OSError:  # a file system without hard links
        refuse_existing([target])
        making.replace(target)
    else:
        making.unlink()


def write_together(
    folder: str | os.PathLike[str], contents: Mapping[str, bytes], overwrite: bool = False
) -> list[Path]:
    """Write a set of files, given by their names, into a folder, and return the paths; all of them, or none.

    The folder is made if it is missing. A set with gaps is of no use: if one file cannot be written, those before it
    are taken away again, unless they may have replaced others. Raises FileExistsError, before anything is written, if
    one of them is there and `overwrite` is false.
    """
    paths = [Path(folder) / name for name in contents]
    if not overwrite:
        refuse_existing(paths)
    Path(folder).mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    try:
        for path, data in zip(paths, contents.values(), strict=True):
            written.append(write_whole(path, data, overwrite))
    except BaseException:
        if not overwrite:
            for path in written:
                path.unlink()
        raise
    return written


def _umask() -> int:
    """The process's file mode mask, which can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
