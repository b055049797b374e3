"""The play-along sheet, its page, and the command that makes it."""

from __future__ import annotations

import importlib
import os
import re
import shutil
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import soundfile

from tunelib.arrange.play_along import Sheet, overtone_sheet
from tunelib.commands.line import main
from tunelib.commands.overtone_options import parse_harmonics
from tunelib.export.sheet_files import SHEET_CAUTIONS, SHEET_SUFFIXES, sheet_files, sheet_pages
from tunelib.export.typeset import Page, page_pdf, paper_width, parts_pdf
from tunelib.files import write_set
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note

SHEET_FILES = importlib.import_module("tunelib.export.sheet_files")  # which `tunelib.export` hides behind the function

# Published deviation of harmonics 1 to 16 from twelve equal steps, to a cent: Helmholtz, On the Sensations of Tone
# (2nd English edition 1885), Appendix XX by A. J. Ellis.
DEVIATIONS = [0, 0, 2, 0, -14, 2, -31, 0, 4, -14, -49, 2, 41, -31, -12, 0]
QUICK = {"harmonics": range(2, 5), "tempo": 200.0}


def quick(name: str = "viola", fundamental: str = "C3", **other: Any) -> Sheet:
    return overtone_sheet(instrument(name), Note.parse(fundamental), **(QUICK | other))


def pdf_text(path: Path, page: int = 1) -> str:
    """The words on one page of a PDF."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    done = subprocess.run(
        ["pdftotext", "-layout", "-f", str(page), "-l", str(page), path, "-"], check=True, capture_output=True
    )
    return done.stdout.decode()


def test_the_rows_hold_the_published_deviations() -> None:
    rows = overtone_sheet(instrument("alto saxophone"), Note.parse("B♭1")).rows
    assert [round(row.cents) for row in rows] == DEVIATIONS
    assert [row.number for row in rows] == list(range(1, 17))
    assert [row.ratio for row in rows][4:11] == [Fraction(n) for n in ("5/4", "3/2", "7/4", "1", "9/8", "5/4", "11/8")]
    assert rows[6].label == "7 · 7/4"
    assert str(rows[6].sounding) == "A♭4"
    assert str(rows[6].written) == "F5"


def test_the_rows_say_what_lies_in_reach() -> None:
    """An alto saxophone reads from B♭3 to F6 (common practice), a major sixth above what sounds"""
    sheet = overtone_sheet(instrument("alto saxophone"), Note.parse("B♭1"))
    assert [row.number for row in sheet.rows if not row.in_reach] == [1, 2, 15, 16]
    assert sheet.reached == 12


@pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=INSTRUMENTS.keys())
@pytest.mark.parametrize("fundamental", ["C2", "F#2", "Db2", "Ab2", "B2", "G#2", "Eb2"])
def test_a_player_reads_plain_spellings_of_the_nearest_note(player: Any, fundamental: str) -> None:
    """No double accidentals and no E♯, B♯, C♭ or F♭, and still the key of twelve nearest to what sounds"""
    for row in overtone_sheet(player, Note.parse(fundamental), range(1, 25)).rows:
        assert not re.match("E♯|B♯|C♭|F♭|.(𝄪|𝄫|♯♯|♭♭)", str(row.written))
        assert player.sounding(row.written).hz() == pytest.approx(row.sounding.hz())
        assert abs(row.cents) <= 50
        assert row.sounding.hz() * 2 ** (row.cents / 1200) == pytest.approx(row.hertz)


def test_the_score_counts_guides_and_waits() -> None:
    score = quick().score
    assert score.voices == ("count", "guide", "drone", "player")
    assert [float(n.onset) for n in score.only("count").notes] == [0, 1, 2, 3]
    assert [(n.onset, n.duration) for n in score.only("guide").notes] == [(4, 4), (12, 4), (20, 4)]
    assert [(n.onset, n.duration, n.level) for n in score.only("player").notes] == [(8, 4, 0), (16, 4, 0), (24, 4, 0)]
    [drone] = score.only("drone").notes
    assert (drone.onset, drone.end, drone.hertz) == (4, 28, Note.parse("C3").hz())


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"harmonics": []}, "at least one harmonic"),
        ({"harmonics": [0, 1]}, "from 1 to 64; 0 is not"),
        ({"harmonics": [65]}, "from 1 to 64; 65 is not"),
        ({"harmonics": [3, 2]}, "must rise"),
        ({"harmonics": [3, 3]}, "must rise"),
        ({"tempo": 19}, "20 to 200 beats a minute, not 19"),
        ({"tempo": float("nan")}, "20 to 200"),
        ({"fundamental": "C-1"}, r"C-1 is at 8\.18 Hz"),
        ({"fundamental": "C7", "harmonics": [10]}, "harmonic 10 of C7 is at 20930 Hz"),
        ({"fundamental": "Chb3"}, "falls between the steps"),
        ({"name": "glockenspiel", "fundamental": "C1", "harmonics": [1]}, "would be written C-1 for glockenspiel"),
    ],
)
def test_what_makes_no_sheet_is_refused(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        quick(**changes)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_sheet_is_five_files(tmp_path: Path, paper: str) -> None:
    steps: list[str] = []
    sheet = quick()
    paths = write_set(sheet_files(sheet, paper), tmp_path / "new", progress=steps.append)
    assert [path.name for path in paths] == [f"viola-c-3-harmonics-2-4{suffix}" for suffix in SHEET_SUFFIXES]
    assert sorted(os.listdir(tmp_path / "new")) == sorted(path.name for path in paths)
    assert len(steps) == 6
    pdf, svg, musicxml, midi, wav = paths
    assert pdf.read_bytes().startswith(b"%PDF-1.7")
    root = ElementTree.parse(svg).getroot()
    assert root.findtext("{http://www.w3.org/2000/svg}title") == sheet.title
    assert ElementTree.parse(musicxml).getroot().get("version") == "4.0"
    assert midi.read_bytes().startswith(b"MThd")
    info = soundfile.info(str(wav))
    assert (info.samplerate, info.channels) == (48000, 1)
    assert info.duration == pytest.approx(28 * 60 / 200, abs=0.1)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> tuple[Sheet, Path, list[str]]:
    """An alto saxophone's sheet, its PDF, and the words on each of its pages as poppler reads them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(SHEET_FILES, "render_to", lambda path, score, timbres: path.write_bytes(b""))
        sheet = overtone_sheet(instrument("alto saxophone"), Note.parse("B♭1"))
        pdf, svg, *_ = write_set(sheet_files(sheet), tmp_path_factory.mktemp("pages"))
    return sheet, pdf, [pdf_text(pdf, page) for page in (1, 2)] + [svg.read_text(encoding="utf-8")]


def test_the_page_to_play_from_gives_nothing_away(pages: tuple[Sheet, Path, list[str]]) -> None:
    """No cents, no sign of higher or lower, no ratio, no hertz; nor has the drawing of its staff"""
    sheet, _, (first, second, drawing) = pages
    assert sheet.title in first and "leave that until" in " ".join(first.split())
    for row in sheet.rows:
        assert f"{row.hertz:.2f}" in second and f"{row.hertz:.2f}" not in first
        assert re.search(rf"(?<!\d){row.number}(?!\d)", first)
        if row.in_reach:
            assert re.search(rf"(?m)^ *{row.number} +{row.written}$", first), "there is no line to write on"
    signed_figures = re.compile(r"[+−-]\d|\d/\d")
    assert signed_figures.search(second)
    assert signed_figures.search(re.sub("1 ?/ ?2\\s*$", "", first)) is None
    assert "cents" not in first and "twelve" not in first
    shown = re.findall(r">([^<>]*\d[^<>]*)<", re.sub("(?s)<(style|title|defs|symbol).*?</\\1>", "", drawing))
    assert [words for words in shown if signed_figures.search(words)] == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("name", "fundamental"), [("bass voice", "C2"), ("piano", "C2"), ("double bass", "E1")])
def test_every_player_s_first_page_is_blind(name: str, fundamental: str, paper: str) -> None:
    blind, figures = sheet_pages(overtone_sheet(instrument(name), Note.parse(fundamental), division=31), paper)
    assert "Cents from 31" in figures.head and not any("ents" in head or "Ratio" in head for head in blind.head)
    assert all("cents" in drawing.description for drawing in figures.drawings)
    assert not any("cents" in drawing.description or "−" in drawing.description for drawing in blind.drawings)
    assert all(not any(row[2:]) for row in blind.rows)
    assert blind.cautions == SHEET_CAUTIONS and not figures.cautions


def test_the_page_for_afterwards_holds_everything(pages: tuple[Sheet, Path, list[str]]) -> None:
    """The numbers are those of the table, the cents those on the staff too"""
    sheet, _, (first, second, _) = pages
    assert second.strip().startswith("After you have played: overtones of B♭1 for alto saxophone")
    for row in sheet.rows:
        line = next(line for line in second.splitlines() if f"{row.hertz:.2f}" in line).split()
        ratio = f"{row.ratio.numerator}/{row.ratio.denominator}"
        assert line[:4] == [str(row.number), ratio, str(row.sounding), str(row.written)]
        assert abs(float(line[5].replace("−", "-")) - row.cents) <= 0.0501
        assert " ".join(line[6:]) == ("in range" if row.in_reach else "out of range")
        assert row.label in second.replace("\N{NO-BREAK SPACE}", " ")
    for caution in SHEET_CAUTIONS:
        assert caution in first
    assert "Look after" not in second


@pytest.mark.parametrize(
    ("name", "fundamental", "paper", "size"),
    [
        ("alto saxophone", "B♭1", "a4", "595.276 x 841.89 pts (A4)"),
        ("horn in F", "F1", "letter", "612 x 792 pts (letter)"),
    ],
)
def test_a_sheet_is_a_page_and_its_back(tmp_path: Path, name: str, fundamental: str, paper: str, size: str) -> None:
    sheet = overtone_sheet(instrument(name), Note.parse(fundamental))
    (tmp_path / "sheet.pdf").write_bytes(parts_pdf(sheet.title, [sheet_pages(sheet, paper)], paper))
    information = subprocess.run(["pdfinfo", tmp_path / "sheet.pdf"], check=True, capture_output=True).stdout.decode()
    facts = dict(re.findall(r"(?m)^([^:\n]+): +(.*)$", information))
    assert facts["Title"] == sheet.title
    assert facts["Tagged"] == "yes"
    assert facts["Pages"] == "2"
    assert facts["Page size"] == size


def test_the_staff_is_described_in_words_for_those_who_do_not_see_it(tmp_path: Path) -> None:
    """As the alternative text of a tagged PDF's figures (ISO 14289-1): a string of letters, or of hex in UTF-16"""
    data = write_set(sheet_files(quick("cello", "C2", harmonics=range(1, 6))), tmp_path)[0].read_bytes()
    strings = re.findall(rb"/Alt ?(?:\(([^)]*)\)|<FEFF([0-9A-F]*)>)", data)
    described = [text.decode() or bytes.fromhex(hexed.decode()).decode("utf-16-be") for text, hexed in strings]
    assert described == [
        "Staff for cello: harmonic 1, written C2; harmonic 2, written C3; harmonic 3, written G3; "
        "harmonic 4, written C4.",
        "Staff for cello: harmonic 5, written E4.",
        "Staff for cello: harmonic 1, written C2, 0 cents; harmonic 2, written C3, 0 cents; "
        "harmonic 3, written G3, +2 cents; harmonic 4, written C4, 0 cents.",
        "Staff for cello: harmonic 5, written E4, −14 cents.",
    ]


def test_a_page_refuses_a_ragged_table_and_an_unknown_paper() -> None:
    page = {"title": "a", "introduction": "", "drawings": (), "table_title": "t", "cautions_title": "c", "cautions": ()}
    with pytest.raises(ValueError, match="row 2 of the table has 1 cells, but the head has 2"):
        Page(head=("a", "b"), rows=[("1", "2"), ("3",)], **page)
    with pytest.raises(ValueError, match="no paper is called 'a3'; known are a4 and letter"):
        page_pdf(Page(head=("a",), rows=[("1",)], **page), "a3")
    assert paper_width("a4") == 180


def test_markup_in_a_title_is_only_text(tmp_path: Path) -> None:
    title = '#panic("x") $a$ *b* <c> \\ "d"'
    page = Page(title, "", (), "Table", ("a",), [("1",)], "Cautions", ())
    (tmp_path / "a.pdf").write_bytes(page_pdf(page))
    assert '#panic("x") $a$ *b* <c>' in pdf_text(tmp_path / "a.pdf")


def test_without_typst_the_page_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(ImportError, match=r'pip install "tunelib\[studio\]"'):
        write_set(sheet_files(quick()), tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_files_that_are_there_are_kept(tmp_path: Path) -> None:
    sheet = quick()
    mine = tmp_path / sheet_files(sheet).names[3]
    mine.write_bytes(b"mine")
    with pytest.raises(FileExistsError, match=r"\.mid is already there"):
        write_set(sheet_files(sheet), tmp_path)
    assert os.listdir(tmp_path) == [mine.name]
    assert mine.read_bytes() == b"mine"
    write_set(sheet_files(sheet), tmp_path, overwrite=True)
    assert mine.read_bytes().startswith(b"MThd")
    assert len(os.listdir(tmp_path)) == 5


@pytest.mark.parametrize("step", ["parts_pdf", "midi_bytes", "render_to", "fsync"])
def test_a_failing_step_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    def fail(*arguments: Any, **named: Any) -> Any:
        raise OSError("no space left")

    monkeypatch.setattr(os if step == "fsync" else SHEET_FILES, step, fail)
    with pytest.raises(OSError, match="no space left"):
        write_set(sheet_files(quick()), tmp_path)
    assert os.listdir(tmp_path) == []


GOOD = ["sheet", "--instrument", "viola", "--fundamental", "C3", "--harmonics", "2-4", "--tempo", "200"]
GOOD += ["--pages", "overtones"]


def test_the_command_writes_a_sheet_and_tells_its_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*GOOD, "--out", str(tmp_path), "--no-drone", "--paper", "letter"]) == 0
    printed = capsys.readouterr()
    assert sorted(printed.out.split("\n")[:5]) == sorted(str(tmp_path / name) for name in os.listdir(tmp_path))
    assert "3 of 3 harmonics" in printed.out
    assert "rendering the sound ...\n" in printed.err


def test_the_command_proposes_a_fundamental_in_reach(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(SHEET_FILES, "render_to", lambda path, score, timbres: path.write_bytes(b""))
    command = ["sheet", "--instrument", "tenor voice", "--fundamental", "C4", "--out", str(tmp_path)]
    assert main([*command, "--pages", "overtones"]) == 0
    proposal = re.search(r"it would be (\d+) of 16: try --fundamental (\S+)", capsys.readouterr().out)
    assert proposal is not None
    better = overtone_sheet(instrument("tenor voice"), Note.parse(proposal[2]))
    assert better.reached == int(proposal[1]) > overtone_sheet(instrument("tenor voice"), Note.parse("C4")).reached


def test_existing_files_are_kept_without_force(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command = [*GOOD, "--out", str(tmp_path)]
    assert main(command) == 0
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    capsys.readouterr()
    assert main(command) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "give --force" in error
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before
    assert main([*command, "--force"]) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "command"),
        (["shet"], "invalid choice: 'shet'"),
        (["sheet"], "--instrument, --out"),
        ([*GOOD, "--instrument", "altosax"], "did you mean alto saxophone"),
        ([*GOOD, "--fundamental", "H3"], "'H3' is not a note"),
        ([*GOOD, "--fundamental", "Ehb3"], "falls between the steps"),
        ([*GOOD, "--harmonics", "1-"], "'1-' names no harmonics; write them as 1-16"),
        ([*GOOD, "--harmonics", "a"], "names no harmonics"),
        ([*GOOD, "--harmonics", "9-3"], "'9-3' runs backwards; write 3-9"),
        ([*GOOD, "--harmonics", "0-4"], "from 1 to 64"),
        ([*GOOD, "--harmonics", "1-65"], "from 1 to 64"),
        ([*GOOD, "--harmonics", "1-99999999"], "from 1 to 64"),
        ([*GOOD, "--tempo", "5"], "20 to 200 beats a minute"),
        ([*GOOD, "--tempo", "fast"], "the tempo is a number of beats a minute, such as 60, not 'fast'"),
        ([*GOOD, "--paper", "a5"], "no paper is called 'a5'"),
        ([*GOOD, "--colour", "red"], "unrecognized arguments"),
        ([*GOOD, "--out", __file__], "is a file, not a folder"),
        ([*GOOD, "--out", f"{__file__}/deeper"], "is a file, not a folder"),
    ],
)
def test_a_wrong_argument_gets_one_line_and_exit_code_2(
    arguments: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if arguments[:1] == ["sheet"] and "--out" not in arguments and len(arguments) > 1:
        arguments = [*arguments, "--out", str(tmp_path / "out")]
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert re.fullmatch(r"python -m tunelib[^\n]*\n", printed.err)
    assert message in printed.err
    assert os.listdir(tmp_path) == []


def test_a_folder_that_may_not_be_written_is_named_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Asked of the system, which would let the superuser write anywhere"""
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    assert main([*GOOD, "--out", str(tmp_path / "out")]) == 2
    assert "no file may be written in" in capsys.readouterr().err


def test_the_instruments_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["instruments"]) == 0
    heading, *lines = capsys.readouterr().out.splitlines()
    assert heading.split()[0] == "instrument" and len(lines) == len(INSTRUMENTS) >= 20
    assert re.split(r"  +", next(line for line in lines if line.startswith("viola"))) == ["viola", "alto", "C3 to C6"]


def test_the_package_runs_as_a_module() -> None:
    done = subprocess.run([sys.executable, "-m", "tunelib", "sheet", "--help"], capture_output=True, text=True)
    assert done.returncode == 0
    assert "--fundamental" in done.stdout


@pytest.mark.parametrize(
    ("text", "numbers"),
    [("1-16", list(range(1, 17))), ("8", [8]), ("1,2,5", [1, 2, 5]), (" 1-3 , 7 ", [1, 2, 3, 7]), ("4-4", [4])],
)
def test_harmonics_are_read_as_typed(text: str, numbers: list[int]) -> None:
    assert list(parse_harmonics(text)) == numbers
