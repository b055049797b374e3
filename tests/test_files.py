"""Files are written whole or not at all, and never over somebody's work."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from processes import heeding_signals

from tunelib.files import FileSet, Tell, check_targets, clear_leftovers, staged, write_set, write_whole


def test_a_file_is_written_and_its_path_returned(tmp_path: Path) -> None:
    path = write_whole(tmp_path / "a.bin", b"one")
    assert path == tmp_path / "a.bin"
    assert path.read_bytes() == b"one"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_a_file_that_is_there_is_kept(tmp_path: Path) -> None:
    path = write_whole(tmp_path / "a.bin", b"mine")
    with pytest.raises(FileExistsError, match=r"a\.bin is already there .* overwrite=True"):
        write_whole(path, b"yours")
    assert path.read_bytes() == b"mine"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_a_file_is_replaced_when_asked(tmp_path: Path) -> None:
    path = write_whole(tmp_path / "a.bin", b"old")
    write_whole(path, b"new", overwrite=True)
    assert path.read_bytes() == b"new"


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_failure_on_the_way_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, overwrite: bool
) -> None:
    """A full disk shows itself when the bytes are flushed"""
    path = tmp_path / "a.bin"
    if overwrite:
        path.write_bytes(b"old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, b"new", overwrite)
    assert os.listdir(tmp_path) == (["a.bin"] if overwrite else [])
    assert not overwrite or path.read_bytes() == b"old"


def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.bin"
    monkeypatch.setattr(os, "fsync", lambda handle: path.write_bytes(b"theirs"))
    with pytest.raises(FileExistsError, match="already there"):
        write_whole(path, b"ours")
    assert path.read_bytes() == b"theirs"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_a_file_system_without_hard_links_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(source: str, target: str) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    assert write_whole(tmp_path / "a.bin", b"one").read_bytes() == b"one"
    assert os.listdir(tmp_path) == ["a.bin"]


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="the folder .*nowhere does not exist"):
        write_whole(tmp_path / "nowhere" / "a.bin", b"")


def test_a_file_has_the_usual_permissions(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.touch()
    assert write_whole(tmp_path / "a.bin", b"").stat().st_mode == plain.stat().st_mode


def test_several_files_in_the_way_are_counted(tmp_path: Path) -> None:
    paths = [tmp_path / name for name in "abc"]
    for path in paths[:2]:
        path.touch()
    with pytest.raises(FileExistsError, match="a and 1 more are already there"):
        check_targets(paths)
    check_targets(paths[2:])


# Sets of files


def a_set(words: str, names: tuple[str, ...] = ("a.txt", "b.txt", "c.txt")) -> FileSet:
    return FileSet.of({name: lambda: words.encode() for name in names})


def contents(folder: Path) -> dict[str, str]:
    """The files of a folder; hidden folders are not among them."""
    return {path.name: path.read_text() for path in sorted(folder.iterdir()) if path.is_file()}


OLD, NEW = (dict.fromkeys(("a.txt", "b.txt", "c.txt"), words) for words in ("old", "new"))


def test_a_set_is_made_in_a_folder_that_may_be_missing_and_tells_its_steps(tmp_path: Path) -> None:
    told: list[str] = []
    paths = write_set(a_set("new") + a_set("more", ("d.txt",)), tmp_path / "x" / "y", progress=told.append)
    assert [path.name for path in paths] == ["a.txt", "b.txt", "c.txt", "d.txt"]
    assert contents(tmp_path / "x" / "y") == NEW | {"d.txt": "more"}
    assert told == ["printing a.txt", "printing b.txt", "printing c.txt", "printing d.txt", "saving the files"]


@pytest.mark.parametrize("moment", ["making", "fsync", "replace"])
def test_a_set_that_fails_leaves_the_old_one_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    write_set(a_set("old"), tmp_path)

    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    def making(folder: Path, tell: Tell) -> None:
        (folder / "a.txt").write_text("new")
        fails()

    if moment == "fsync":
        monkeypatch.setattr(os, "fsync", fails)
    elif moment == "replace":
        monkeypatch.setattr(Path, "replace", fails)
    wanted = FileSet(("a.txt", "b.txt", "c.txt"), making) if moment == "making" else a_set("new")
    with pytest.raises(OSError, match="No space left"):
        write_set(wanted, tmp_path, overwrite=True)
    monkeypatch.undo()
    assert contents(tmp_path) == OLD
    assert clear_leftovers(tmp_path) == []


def test_a_set_that_fails_takes_the_folders_that_it_made_with_it(tmp_path: Path) -> None:
    def making(folder: Path, tell: Tell) -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        write_set(FileSet(("a",), making), tmp_path / "x" / "y")
    assert os.listdir(tmp_path) == []


def test_a_file_that_was_not_made_is_named_and_nothing_is_saved(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"b was not made"), staged(tmp_path, ["a", "b"]) as making:
        (making / "a").touch()
    assert os.listdir(tmp_path) == []


def test_one_file_in_the_way_keeps_the_whole_set_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Were it put there at the last moment"""
    link = os.link

    def slow(source: Path, target: Path) -> None:
        if target.name == "b.txt":
            target.write_text("theirs")
        link(source, target)

    monkeypatch.setattr(os, "link", slow)
    with pytest.raises(FileExistsError, match=r"b\.txt is already there"):
        write_set(a_set("new"), tmp_path)
    assert contents(tmp_path) == {"b.txt": "theirs"}


@pytest.mark.parametrize("overwrite", [False, True])
def test_an_interrupt_between_two_moves_waits_until_all_are_moved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, overwrite: bool
) -> None:
    if overwrite:
        write_set(a_set("old"), tmp_path)
    usual = Path.replace if overwrite else os.link
    interrupts = [KeyboardInterrupt()]

    def once(source: Path, target: Path) -> Any:
        done = usual(source, target)
        if target.name == "b.txt" and interrupts:
            raise interrupts.pop()
        return done

    monkeypatch.setattr(Path if overwrite else os, "replace" if overwrite else "link", once)
    with pytest.raises(KeyboardInterrupt):
        write_set(a_set("new"), tmp_path, overwrite)
    assert contents(tmp_path) == NEW


SLOW = """
import sys
from pathlib import Path
import tunelib.files
from tunelib.files import FileSet, write_set
take_name = tunelib.files._take_name
def slowly(*given):
    take_name(*given)
    print("moved", flush=True)
    sys.stdin.readline()
tunelib.files._take_name = slowly
def make(folder, tell):
    for name in ("a.txt", "b.txt", "c.txt"):
        (folder / name).write_text("new")
    print("made", flush=True)
    sys.stdin.readline()
write_set(FileSet(("a.txt", "b.txt", "c.txt"), make), Path(sys.argv[1]), overwrite=sys.argv[2] == "over")
"""


def slow_run(folder: Path, overwrite: bool = True) -> subprocess.Popen[str]:
    """A run that writes a set, says when it is made and when a file is moved, and waits until it may go on."""
    command = [sys.executable, "-c", SLOW, str(folder), "over" if overwrite else "new"]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


def killed_after(line: str, folder: Path, overwrite: bool = True) -> None:
    with slow_run(folder, overwrite) as run:
        assert run.stdin is not None and run.stdout is not None
        while (said := run.stdout.readline().strip()) != line:
            assert said, "it has ended"
            run.stdin.write("\n")
            run.stdin.flush()
        run.kill()


def test_a_run_that_is_killed_before_it_saves_leaves_the_old_set(tmp_path: Path) -> None:
    write_set(a_set("old"), tmp_path)
    killed_after("made", tmp_path)
    assert contents(tmp_path) == OLD
    assert clear_leftovers(tmp_path) == ["what an earlier run left unfinished here was cleared away"]
    assert contents(tmp_path) == OLD
    assert clear_leftovers(tmp_path) == []


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_run_that_is_killed_as_it_saves_is_finished_by_the_next(tmp_path: Path, overwrite: bool) -> None:
    if overwrite:
        write_set(a_set("old"), tmp_path)
    killed_after("moved", tmp_path, overwrite)
    assert clear_leftovers(tmp_path) == ["an earlier run was stopped as it saved a.txt; its files are now all there"]
    assert contents(tmp_path) == NEW
    assert clear_leftovers(tmp_path) == []


def test_what_a_run_at_work_is_making_is_left_alone(tmp_path: Path) -> None:
    with slow_run(tmp_path) as run:
        assert run.stdin is not None and run.stdout is not None and run.stdout.readline().strip() == "made"
        assert clear_leftovers(tmp_path) == []
        run.stdin.close()
        assert run.wait() == 0
    assert contents(tmp_path) == NEW


def test_the_next_run_of_a_command_says_that_it_cleared_what_was_left(tmp_path: Path) -> None:
    killed_after("made", tmp_path)
    command = [sys.executable, "-m", "tunelib", "sheet", "--instrument", "viola", "--pages", "notes"]
    done = subprocess.run([*command, "--out", str(tmp_path)], capture_output=True, text=True, check=True)
    assert f"{tmp_path}: what an earlier run left unfinished here was cleared away" in done.stderr
    assert os.listdir(tmp_path) == ["viola-notes-of-31.pdf"]


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="this system has no such signals")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_command_that_is_told_to_end_leaves_nothing_behind(tmp_path: Path, name: str) -> None:
    command = [sys.executable, "-m", "tunelib", "sheet", "--instrument", "viola", "--fundamental", "C3"]
    with heeding_signals():
        started = subprocess.Popen([*command, "--out", str(tmp_path / "out")], stderr=subprocess.PIPE, text=True)
    with started as run:
        assert run.stderr is not None
        while "engraving" not in (said := run.stderr.readline()):
            assert said, "it has ended"
        run.send_signal(getattr(signal, name))
        assert run.wait() == 130
    assert os.listdir(tmp_path) == []


# What no command may write over


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("overwrite", [False, True])
def test_a_folder_a_pipe_and_a_device_are_no_targets(tmp_path: Path, overwrite: bool) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to("/dev/null")
    for name, kind in (("folder", "a folder"), ("pipe", "a pipe"), ("link", "a device")):
        with pytest.raises(ValueError, match=f"{name} is {kind}.*choose another name"):
            write_whole(tmp_path / name, b"", overwrite)
        with pytest.raises(ValueError, match=f"{name} is {kind}"):
            write_set(a_set("new", (name,)), tmp_path, overwrite)
    assert sorted(os.listdir(tmp_path)) == ["folder", "link", "pipe"]


def test_what_is_read_is_not_written_over_by_whatever_name(tmp_path: Path) -> None:
    take = tmp_path / "take.wav"
    take.touch()
    (tmp_path / "other.wav").symlink_to(take)
    for name in ("take.wav", "other.wav", f"../{tmp_path.name}/take.wav"):
        with pytest.raises(ValueError, match="is read here and would be replaced"):
            check_targets([tmp_path / name], overwrite=True, reads=[take])
    check_targets([tmp_path / "new.wav"], reads=[take])
