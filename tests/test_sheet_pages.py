"""The pages that the sheet command prints beside the overtones: notes and fingers."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

import tunelib.show
from tunelib.commands.line import main
from tunelib.exhibits import EXHIBITS
from tunelib.export.sheet_files import SHEET_SUFFIXES
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.show.page import has_page
from tunelib.show.players_pages import players_pages

QUICK = ["--fundamental", "C3", "--harmonics", "2-4", "--tempo", "200"]


def sheet(folder: Path, name: str, *arguments: str) -> int:
    return main(["sheet", "--instrument", name, "--out", str(folder), *arguments])


@pytest.fixture
def quick_pages(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Pages that cost nothing, where it does not matter what is on them; the list grows with each"""
    printed: list[str] = []

    def quick(exhibit: str, paper: str = "a4", **knobs: object) -> bytes:
        EXHIBITS[exhibit].settle(knobs)
        printed.append(exhibit)
        return f"{exhibit} {paper} {knobs}".encode()

    monkeypatch.setattr(tunelib.show, "printed_page", quick)
    return printed


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_every_page_of_a_player_can_be_printed(name: str) -> None:
    """Its exhibit exists, has a page, and takes the knobs; what it prints names the instrument where it has a knob"""
    player = instrument(name)
    pages = players_pages(player)
    assert list(pages) in (["notes"], ["notes", "fingers"])
    for page in pages.values():
        exhibit = EXHIBITS[page.exhibit]
        assert has_page(exhibit)
        printed = exhibit.printed(**exhibit.settle(page.knobs))
        assert printed.rows and printed.cautions
        assert re.fullmatch(r"[a-z-]+-(notes|familiar-notes|keys|fretboard|slide)-of-31\.pdf", page.file)
        assert all(len(row) == len(printed.head) for row in printed.rows)
    assert name in EXHIBITS["written_notes"].sentence(**EXHIBITS["written_notes"].settle(pages["notes"].knobs))


def test_who_has_a_page_of_fingers() -> None:
    """Those who make every note themselves, and those whose keys, frets or slide the library knows"""
    fingers = {
        name: pages["fingers"].exhibit
        for name in INSTRUMENTS
        if "fingers" in (pages := players_pages(instrument(name)))
    }
    assert fingers == {
        **dict.fromkeys(("violin", "viola", "cello", "double bass"), "familiar_notes"),
        **dict.fromkeys((name for name in INSTRUMENTS if name.endswith("voice")), "familiar_notes"),
        "piano": "key_grid",
        **dict.fromkeys(("guitar", "bass guitar"), "fretboard"),
        "trombone": "slide",
    }


def test_all_pages_are_printed_unless_some_are_chosen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert sheet(tmp_path, "viola", *QUICK, "--paper", "letter") == 0
    printed = capsys.readouterr()
    names = [f"viola-c-3-harmonics-2-4{suffix}" for suffix in SHEET_SUFFIXES]
    names += ["viola-notes-of-31.pdf", "viola-familiar-notes-of-31.pdf"]
    assert printed.out.splitlines()[:7] == [str(tmp_path / name) for name in names]
    assert sorted(os.listdir(tmp_path)) == sorted(names)
    assert "printing viola-familiar-notes-of-31.pdf ...\n" in printed.err
    for name in names[-2:]:
        assert (tmp_path / name).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("name", "pages", "files"),
    [
        ("alto saxophone", "notes", ["alto-saxophone-notes-of-31.pdf"]),
        ("guitar", "fingers", ["guitar-fretboard-of-31.pdf"]),
        ("trombone", " fingers, notes", ["trombone-notes-of-31.pdf", "trombone-slide-of-31.pdf"]),
        ("clarinet in B♭", "NOTES", ["clarinet-in-b-flat-notes-of-31.pdf"]),
        ("tenor voice", "fingers,notes", ["tenor-voice-familiar-notes-of-31.pdf", "tenor-voice-notes-of-31.pdf"]),
        ("piano", "fingers", ["piano-keys-of-31.pdf"]),
    ],
)
def test_chosen_pages_need_no_fundamental(
    tmp_path: Path, quick_pages: list[str], name: str, pages: str, files: list[str]
) -> None:
    assert sheet(tmp_path, name, "--pages", pages) == 0
    assert sorted(os.listdir(tmp_path)) == files
    assert len(quick_pages) == len(files)


@pytest.mark.parametrize(
    ("name", "arguments", "message"),
    [
        ("oboe", ["--pages", "fingers"], "there is no page of fingers for the oboe"),
        ("oboe", [], "the page of overtones needs --fundamental, such as Bb1; for another page give --pages notes"),
        ("violin", ["--pages", "overtones,notes"], "the page of overtones needs --fundamental"),
        ("violin", ["--pages", "toes"], "there is no page 'toes'; choose from overtones, notes, fingers"),
        ("violin", ["--pages", ""], "there is no page ''"),
        ("violin", ["--pages", "notes", "--fundamental", "H3"], "'H3' is not a note"),
        ("violin", ["--pages", "notes", "--paper", "a5"], "no paper is called 'a5'"),
        ("altosax", ["--pages", "notes"], "did you mean alto saxophone"),
    ],
)
def test_a_page_that_cannot_be_gets_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, arguments: list[str], message: str
) -> None:
    assert sheet(tmp_path / "out", name, *arguments) == 2
    printed = capsys.readouterr()
    assert re.fullmatch(r"python -m tunelib sheet: [^\n]*\n", printed.err)
    assert message in printed.err and printed.out == ""
    assert os.listdir(tmp_path) == []


def test_a_page_that_is_there_is_kept_without_force(
    tmp_path: Path, quick_pages: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "violin-notes-of-31.pdf"
    mine.write_bytes(b"mine")
    assert sheet(tmp_path, "violin", "--pages", "notes,fingers") == 2
    assert "violin-notes-of-31.pdf is already there" in capsys.readouterr().err
    assert quick_pages == [] and os.listdir(tmp_path) == [mine.name]
    assert sheet(tmp_path, "violin", "--pages", "notes,fingers", "--force") == 0
    assert mine.read_bytes() != b"mine" and len(os.listdir(tmp_path)) == 2


def test_a_second_fundamental_leaves_the_pages_that_are_there(
    tmp_path: Path, quick_pages: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """They are the same for every fundamental, and need not be asked for again to get another sheet"""
    mine = tmp_path / "violin-notes-of-31.pdf"
    mine.write_bytes(b"mine")
    assert sheet(tmp_path, "violin", *QUICK) == 0
    assert mine.read_bytes() == b"mine"
    assert quick_pages == ["familiar_notes"]
    assert str(mine) not in capsys.readouterr().out


@pytest.mark.parametrize("failing", ["page", "writing"])
def test_nothing_is_left_behind_where_one_page_fails(
    tmp_path: Path, quick_pages: list[str], monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    """All is made before the first file is written, and what was written goes again"""

    def fail(*_: object) -> None:
        raise OSError("no space left")

    def no_page(exhibit: str, *_: object, **knobs: object) -> bytes:
        if exhibit == "fretboard":
            raise OSError("no space left")
        return b"page"

    if failing == "writing":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(tunelib.show, "printed_page", no_page)
    assert sheet(tmp_path, "guitar", *QUICK) == 2
    assert os.listdir(tmp_path) == []
