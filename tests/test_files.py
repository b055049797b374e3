"""Files are written whole or not at all, and never over somebody's work."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tunelib.files import refuse_existing, write_whole


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
        refuse_existing(paths)
    refuse_existing(paths[2:])
