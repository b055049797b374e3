"""Files: written whole or not at all, never over anybody's work, and read only if they are ordinary ones.

Files that belong together are a `FileSet`, and go through `write_set`. Like a single file they are made in a hidden
folder beside their place and moved in at the end. From the moment the first is moved, a note in the hidden folder says
which are to follow: if the program is killed between two moves, the next run in that folder finishes them
(`clear_leftovers`). If it is killed before, what was there is untouched, and the hidden folder is cleared away.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import stat
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TypeAlias

PathLike: TypeAlias = "str | os.PathLike[str]"
Tell: TypeAlias = Callable[[str], None]
"""Called with a few words before each step of a longer piece of work."""

_STAGE = ".tunelib-"  # how the hidden folders begin
_LOCK, _FINISHED, _MADE = "lock", "finished", "made"  # what is in one: a lock, the note, and the folder of new files


def require_file(path: PathLike, instead: str) -> None:
    """Stop if there is no ordinary file to read at `path`; `instead` says what to do then, in a few words.

    Raises FileNotFoundError if nothing is there, and ValueError for a folder, a pipe and the like.
    """
    if not os.path.exists(path):
        raise FileNotFoundError(f"there is no file {os.fspath(path)}")
    if not os.path.isfile(path):
        raise ValueError(f"{os.fspath(path)} is not an ordinary file; {instead}")


def check_targets(paths: Iterable[PathLike], overwrite: bool = False, reads: Iterable[PathLike] = ()) -> None:
    """Stop before any work is done if writing some files would do harm.

    Parameters
    ----------
    paths : paths of the files to be written
    overwrite : bool
        Whether ordinary files there may be replaced.
    reads : paths
        What the work reads and must not replace.

    Raises ValueError for one that is read and for one that is a folder, a device or a pipe, and FileExistsError, with
    the first in the way and how many more there are, if `overwrite` is false.
    """
    targets = [Path(path) for path in paths]
    sources = [Path(path) for path in reads]
    for target in targets:
        for source in sources:
            if target.exists() and source.exists() and target.samefile(source):
                raise ValueError(f"{target} is read here and would be replaced; choose another name or folder")
        if os.path.lexists(target) and not stat.S_ISREG(_mode(target)):
            raise ValueError(f"{target} is {_kind(target)}, not a file that can be replaced; choose another name")
    present = [] if overwrite else [target for target in targets if os.path.lexists(target)]
    if present:
        others = len(present) - 1
        raise FileExistsError(
            f"{present[0]} {f'and {others} more are' if others else 'is'} already there and will not be overwritten; "
            "choose another name or folder, or pass overwrite=True"
        )


def _mode(path: Path) -> int:
    """The mode of a file or what a link leads to; of the link itself, if it leads nowhere."""
    return (path.stat() if path.exists() else path.lstat()).st_mode


def _kind(path: Path) -> str:
    mode = _mode(path)
    return "a folder" if stat.S_ISDIR(mode) else "a pipe" if stat.S_ISFIFO(mode) else "a device or the like"


@dataclass(frozen=True)
class FileSet:
    """Files that belong together.

    Parameters
    ----------
    names : tuple of str
        Their names, known before any of them is made.
    make : function
        Called with an empty folder, into which it writes a file of each name, and with a function to which it says
        each step in a few words.
    """

    names: tuple[str, ...]
    make: Callable[[Path, Tell], None]

    @classmethod
    def of(cls, makers: Mapping[str, Callable[[], bytes]], saying: str = "printing") -> FileSet:
        """A set whose files are made one by one, each by a function that returns its bytes."""

        def make(folder: Path, tell: Tell) -> None:
            for name, maker in makers.items():
                tell(f"{saying} {name}")
                (folder / name).write_bytes(maker())

        return cls(tuple(makers), make)

    def __add__(self, other: FileSet) -> FileSet:
        def make(folder: Path, tell: Tell) -> None:
            self.make(folder, tell)
            other.make(folder, tell)

        return FileSet((*self.names, *other.names), make)


def write_set(files: FileSet, folder: PathLike, overwrite: bool = False, progress: Tell | None = None) -> list[Path]:
    """Make a set of files and put them into a folder: all of them or none. Returns their paths, in order.

    Parameters
    ----------
    files : FileSet
        Such as `tunelib.export.sheet_files` gives.
    folder : path
        Made if it is missing.
    overwrite : bool
        Whether files of these names may be replaced.
    progress : function, optional
        Called with a few words before each step.

    Raises FileExistsError, before anything is made, if one of them is there and `overwrite` is false; ValueError for a
    name that is a folder or a device; and whatever stops the making.
    """
    tell = progress or (lambda step: None)
    folder = Path(folder)
    check_targets((folder / name for name in files.names), overwrite)
    with _made_folder(folder), staged(folder, files.names, overwrite) as making:
        files.make(making, tell)
        tell("saving the files")
    return [folder / name for name in files.names]


def write_whole(path: PathLike, data: bytes, overwrite: bool = False) -> Path:
    """Write `data` to `path` in one step and return the path.

    Raises FileExistsError if the file is there and `overwrite` is false, and FileNotFoundError if the folder is
    missing.
    """
    target = Path(path)
    with staged(target.parent, [target.name], overwrite) as making:
        (making / target.name).write_bytes(data)
    return target


@contextlib.contextmanager
def staged(folder: PathLike, names: Sequence[str], overwrite: bool = False) -> Iterator[Path]:
    """A hidden folder to make files in, which take their places in `folder` at the end of the block, all or none.

    An error or an interrupt within the block leaves nothing behind. Raises as `check_targets` does, first at once and
    then for what has appeared since, and FileNotFoundError if the folder is missing or a file was not made.
    """
    folder = Path(folder)
    check_targets((folder / name for name in names), overwrite)
    if not folder.is_dir():
        raise FileNotFoundError(f"cannot write {folder / names[0]}: the folder {folder} does not exist; make it first")
    clear_leftovers(folder)
    stage, lock = _begun(folder)
    try:
        yield stage / _MADE
        missing = [name for name in names if not (stage / _MADE / name).is_file()]
        if missing:
            raise FileNotFoundError(f"{folder / missing[0]} was not made")
        check_targets((folder / name for name in names), overwrite)
        _move_in(stage, folder, names, overwrite)
    finally:
        lock.close()
        shutil.rmtree(stage, ignore_errors=True)


@contextlib.contextmanager
def alone_in(folder: PathLike) -> Iterator[Path]:
    """A hidden folder to work in, for one run at a time in a folder, which is made if it is missing.

    It goes away at the end of the block with what is still in it. Raises FileExistsError if another run is at work.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    clear_leftovers(folder)
    if any(folder.glob(f"{_STAGE}*")):
        raise FileExistsError(f"another run is at work in {folder}; wait until it has finished")
    stage, lock = _begun(folder)
    try:
        yield stage / _MADE
    finally:
        lock.close()
        shutil.rmtree(stage, ignore_errors=True)


def clear_leftovers(folder: PathLike) -> list[str]:
    """Finish or clear away what runs that were killed have left in a folder; returns a sentence for each.

    What a run that is still at work is making is left alone.
    """
    told = []
    for stage in sorted(Path(folder).glob(f"{_STAGE}*")):
        if not stage.is_dir() or _is_at_work(stage):
            continue
        note = stage / _FINISHED
        if note.exists():
            kept = json.loads(note.read_bytes())
            _move(stage, Path(folder), kept["names"], kept["overwrite"])
            told.append(f"an earlier run was stopped as it saved {kept['names'][0]}; its files are now all there")
        else:
            told.append("what an earlier run left unfinished here was cleared away")
        shutil.rmtree(stage, ignore_errors=True)
    return told


def _begun(folder: Path) -> tuple[Path, BinaryIO]:
    """A new hidden folder, and its lock, held as long as the program lives."""
    stage = Path(tempfile.mkdtemp(prefix=_STAGE, dir=folder))
    (stage / _MADE).mkdir()
    lock = (stage / _LOCK).open("wb")
    with contextlib.suppress(ImportError):
        import fcntl

        fcntl.flock(lock, fcntl.LOCK_EX)
    return stage, lock


def _is_at_work(stage: Path) -> bool:
    """Whether the run that a hidden folder belongs to still lives."""
    try:
        import fcntl
    except ImportError:  # Windows, where a file that is open cannot be deleted
        try:
            (stage / _LOCK).unlink(missing_ok=True)
        except OSError:
            return True
        return False
    try:
        with (stage / _LOCK).open("rb") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:  # killed before it had one, or not ours to look into
        return False
    return False


def _move_in(stage: Path, folder: Path, names: Sequence[str], overwrite: bool) -> None:
    """Move finished files to their places; once the first is moved, all are, whatever interrupts."""
    for name in names:
        with (stage / _MADE / name).open("rb+") as stream:
            os.fsync(stream.fileno())
    if len(names) > 1:
        note = stage / f"{_FINISHED}.json"
        note.write_text(json.dumps({"names": list(names), "overwrite": overwrite}), encoding="utf-8")
        note.replace(stage / _FINISHED)
    try:
        _move(stage, folder, names, overwrite)
    except KeyboardInterrupt:
        _move(stage, folder, names, overwrite)
        raise


def _move(stage: Path, folder: Path, names: Sequence[str], overwrite: bool) -> None:
    """Move those of the files that have not been moved yet. If one is in the way, those moved before it go again."""
    moved: list[Path] = []
    for name in names:
        made, target = stage / _MADE / name, folder / name
        if not made.exists():
            continue
        try:
            _take_name(made, target, overwrite)
        except FileExistsError:
            for path in moved:
                path.unlink()
            raise
        if not overwrite:
            moved.append(target)


def _take_name(made: Path, target: Path, overwrite: bool) -> None:
    """Give a finished file its name. Raises FileExistsError if that is taken, even if only since the work began."""
    if overwrite:
        made.replace(target)
        return
    try:
        os.link(made, target)
    except FileExistsError:
        if not made.samefile(target):  # or else it was moved as an interrupt came
            check_targets([target])
            raise
    except OSError:  # a file system without hard links
        check_targets([target])
        made.replace(target)
        return
    made.unlink()


@contextlib.contextmanager
def _made_folder(folder: Path) -> Iterator[None]:
    """Make a folder if it is missing, and take it away again if the block fails."""
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        for place in missing:
            with contextlib.suppress(OSError):
                place.rmdir()
        raise
