"""The command that listens, and what a newcomer to the command line is told."""

from __future__ import annotations

import csv
import io
import os
import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from sampled import RATE, sampled

import tunelib.commands.sheet_command
from tunelib.commands.line import main
from tunelib.commands.overtone_options import parse_harmonics
from tunelib.pitch.notes import hz_from_midi
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import write_wav
from tunelib.sound.demo_takes import DEMO_TAKES
from tunelib.sound.render import render
from tunelib.sound.timbre import TIMBRES

OVERTONES = ["--against", "harmonics of Bb1", "--instrument", "alto saxophone"]


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_wav(tmp_path_factory.mktemp("takes") / "take.wav", DEMO_TAKES["warming up"].samples())


def test_the_command_prints_a_table_and_writes_what_is_asked(
    take: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet, picture = tmp_path / "take.csv", tmp_path / "take.PNG"
    assert main(["listen", str(take), *OVERTONES, "--csv", str(sheet), "--picture", str(picture)]) == 0
    printed = capsys.readouterr()
    assert printed.err == "" and "mean −6.0 cents" in printed.out
    assert printed.out.splitlines()[-2:] == [str(sheet), str(picture)]
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8").splitlines()))
    assert [float(row["off_cents"]) for row in rows] == pytest.approx([-20, -16, -12, -8, -4, 0, 4, 8], abs=0.2)
    with Image.open(picture) as opened:
        assert opened.size == (1920, 1080)


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_pictures_for_print_too(take: Path, tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"take.{suffix}"
    assert main(["listen", str(take), "--against", "31", "--picture", str(path)]) == 0
    assert path.read_bytes().startswith({"svg": b"<?xml", "pdf": b"%PDF"}[suffix])


def test_a_sampled_player_is_heard_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A recording that this project did not make: an alto saxophone from a sound font"""
    path = write_wav(tmp_path / "sax.wav", sampled(65, (60, 62, 64, 65)), RATE)
    assert main(["listen", str(path), "--against", "12", "--instrument", "alto saxophone"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()[-4:]]
    assert [line[3] for line in lines] == ["A4", "B4", "C♯5", "D5"]
    assert [float(line[4]) for line in lines] == pytest.approx(
        [hz_from_midi(key) for key in (60, 62, 64, 65)], abs=0.01
    )


def test_a_long_take_is_told_in_short_unless_all_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    keys = [60 + (7 * i) % 12 for i in range(36)]
    notes = tuple(ScoreNote(0.1 + 0.35 * i, 0.3, hz_from_midi(key)) for i, key in enumerate(keys))
    path = write_wav(tmp_path / "long.wav", render(Score(notes, tempo=60), TIMBRES["reed"]))
    command = ["listen", str(path), "--against", "12 on C4 = 261.6 Hz"]
    assert main(command) == 0
    short = capsys.readouterr().out
    assert main([*command, "--all", "--picture", str(tmp_path / "long.pdf")]) == 0
    whole = capsys.readouterr().out
    assert short.splitlines()[-1] == "These are the 5 furthest off; --all prints all 36 notes."
    assert short.startswith("36 notes in 12.") and "against 12 equal steps on C4 = 261.6 Hz" in short
    assert len(whole.splitlines()) - len(short.splitlines()) == 36 - 5 - 1 + 1  # less that line, and with the picture
    rows = [line.split() for line in whole.splitlines()[-37:-1]]
    assert [row[0] for row in rows] == [str(number) for number in range(1, 37)]
    assert [row[3][:-1] for row in rows[:4]] == ["C", "G", "D", "A"]
    assert (tmp_path / "long.pdf").read_bytes().startswith(b"%PDF")


def test_the_reference_moves_the_targets(take: Path, tmp_path: Path) -> None:
    """A4 at 442 Hz puts everything 7.85 cents flatter: 1200 log2(442/440), by the definition of the cent"""
    off = []
    for reference in ("440", "442"):
        path = tmp_path / f"{reference}.csv"
        assert main(["listen", str(take), *OVERTONES, "--reference", reference, "--csv", str(path)]) == 0
        off.append([float(row["off_cents"]) for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())])
    assert np.subtract(*off) == pytest.approx(7.85, abs=0.01)


def test_files_that_are_there_are_kept_unless_forced(
    take: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("mine")
    command = ["listen", str(take), "--against", "12", "--csv", str(mine)]
    assert main(command) == 2
    assert "already there" in capsys.readouterr().err and mine.read_text() == "mine"
    assert main([*command, "--force"]) == 0
    assert mine.read_text().startswith("note,onset_s")
    assert os.listdir(tmp_path) == ["mine.csv"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--against", "nonsense"], "'nonsense' names no targets"),
        ([], "--against"),
        (["--against", "12", "--instrument", "kazzo"], "no instrument is called"),
        (["--against", "12", "--reference", "high"], "the frequency of A4 in hertz, such as 440, not 'high'"),
        (["--against", "12", "--reference", "44"], "between 300 and 600 Hz"),
        (["--against", "12", "--picture", "FOLDER/a.bmp"], "a picture is a .png, .svg or .pdf file, not 'a.bmp'"),
        (["--against", "12", "--picture", "FOLDER/none/a.png"], "does not exist; make it first"),
        (
            ["--against", "12", "--csv", "FOLDER", "--force"],
            "is a folder, not a file that can be replaced",
        ),
        (["--against", "12", "--csv", ""], "the name is empty"),
        (["--against", "12", "--csv", "FOLDER/a.png", "--picture", "FOLDER/a.png"], "give them different names"),
    ],
)
def test_a_wrong_argument_gets_one_line(
    take: Path, tmp_path: Path, arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", str(take), *(word.replace("FOLDER", str(tmp_path)) for word in arguments)]) == 2
    printed = capsys.readouterr()
    assert printed.out == "" and message in printed.err
    assert re.fullmatch(r"python -m tunelib listen: [^\n]*\n", printed.err)
    assert not list(tmp_path.iterdir())


def test_a_take_that_says_nothing_is_refused_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    noise = 0.1 * np.random.default_rng(3).normal(size=RATE)
    for samples, message in (
        (np.zeros(RATE), "the take is silent"), (np.full(1000, 0.1), "too short"), (noise, "the recording is noisy"),
    ):  # fmt: skip
        path = write_wav(tmp_path / "take.wav", samples, overwrite=True)
        assert main(["listen", str(path), "--against", "12"]) == 2
        error = capsys.readouterr().err
        assert message in error and error.count("\n") == 1
    for path in (tmp_path, tmp_path / "none.wav"):
        assert main(["listen", str(path), "--against", "12"]) == 2
        assert capsys.readouterr().err.count("\n") == 1


@settings(max_examples=80, deadline=None)
@given(
    st.one_of(st.binary(max_size=400), st.binary(max_size=400).map(lambda rest: b"RIFF\x00\x01\x00\x00WAVE" + rest)),
    st.one_of(st.sampled_from(["12", "31", "harmonics of A2"]), st.text(max_size=30)),
    st.one_of(st.none(), st.sampled_from(["viola", "sax"]), st.text(max_size=12)),
)
def test_any_bytes_and_any_words_get_an_answer_or_a_line(data: bytes, against: str, name: str | None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "take.wav"
        path.write_bytes(data)
        arguments = ["listen", str(path), f"--against={against}"] + ([f"--instrument={name}"] if name else [])
        assert main(arguments) in (0, 2)


GOOD = ["sheet", "--instrument", "viola", "--fundamental", "C3", "--harmonics", "2-4", "--tempo", "200"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "give a command: sheet, band, instruments, listen, handout, page, render or retune"),
        ([*GOOD, "--out", ""], "the name is empty; give one, such as my_practice"),
        ([*GOOD, "--tempo", "quick"], "the tempo is a number of beats a minute, such as 60, not 'quick'"),
        ([*GOOD, "--instrument", "xyzzy"], "`python -m tunelib instruments` lists them"),
        ([*GOOD, "--fundamental", "B"], "'B' has no octave: add its number, such as B1"),
        ([*GOOD, "--fundamental", "e♭ "], "'e♭ ' has no octave: add its number, such as e♭1"),
        ([*GOOD, "--fundamental", "H"], "'H' is not a note"),
        ([*GOOD, "--instrument", "glockenspiel", "--fundamental", "C0"], "the lowest that works here is"),
    ],
)
def test_a_newcomer_is_told_what_to_type(
    arguments: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if arguments and "--out" not in arguments:
        arguments = [*arguments, "--out", str(tmp_path / "out")]
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert message in printed.err and printed.err.count("\n") == 1 and printed.out == ""
    assert not list(tmp_path.iterdir())


def test_the_lowest_fundamental_that_is_named_works_and_the_key_below_does_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(tunelib.commands.sheet_command, "write_set", lambda *given, **named: [])
    command = ["sheet", "--instrument", "glockenspiel", "--harmonics", "1-4", "--out", str(tmp_path), "--fundamental"]
    assert main([*command, "C1"]) == 2
    named = re.search(r"the lowest that works here is (\S+)", capsys.readouterr().err)
    assert named and named[1] == "C2"  # written two octaves below where it sounds (common practice): C0
    assert main([*command, "C2"]) == 0
    assert main([*command, "B1"]) == 2


@pytest.mark.parametrize(
    ("name", "taken", "other"),
    [
        ("saxophone", "alto saxophone", "tenor saxophone"),
        ("sax", "alto saxophone", "soprano saxophone"),
        ("clarinet", "clarinet in B♭", "bass clarinet"),
        ("horn", "horn in F", "english horn"),
        ("Voice", "baritone voice", "alto voice"),
        ("flute", None, None),
        ("alto sax", None, None),
        ("french horn", None, None),
    ],
)
def test_a_family_name_is_said_to_be_taken_for_one_of_them(
    take: Path, name: str, taken: str | None, other: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["listen", str(take), "--against", "12", "--instrument", name])
    note = capsys.readouterr().err
    assert (f"taking the {taken} for {name!r}" in note and str(other) in note) if taken else "taking" not in note


def test_spaces_about_a_dash_do_not_matter() -> None:
    assert list(parse_harmonics("1 - 16")) == list(range(1, 17))


def test_the_list_of_instruments_has_a_heading(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["instruments"]) == 0
    heading, first, *_ = capsys.readouterr().out.splitlines()
    assert re.split("  +", heading) == ["instrument or voice", "clef", "comfortable range, as written"]
    assert heading.index("clef") == first.index("treble")


def test_a_folder_that_cannot_be_written_is_found_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on a disk that is full or read-only, whatever the file's permissions say"""

    def refuse(*given: Any, **named: Any) -> None:
        raise OSError(30, "Read-only file system")

    def work(*given: Any, **named: Any) -> None:
        raise AssertionError("the work was begun")

    monkeypatch.setattr(tempfile, "TemporaryDirectory", refuse)
    monkeypatch.setattr(tunelib.commands.sheet_command, "write_set", work)
    assert main([*GOOD, "--out", str(tmp_path / "out")]) == 2
    assert f"no file may be written in {tmp_path}" in capsys.readouterr().err


@pytest.mark.parametrize("kind", ["wav", "flac", "ogg", "mp3"])
def test_a_take_that_the_project_did_not_make_is_heard(
    tmp_path: Path, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Notes of a sampled trumpet, played by FluidSynth, in the kinds of file that people have; keys by MIDI 1.0."""
    keys = (58, 62, 65, 70)
    path, sheet = tmp_path / f"trumpet.{kind}", tmp_path / "trumpet.csv"
    soundfile.write(path, sampled(56, keys), RATE)
    assert main(["listen", str(path), "--against", "12", "--instrument", "trumpet", "--csv", str(sheet)]) == 0
    rows = list(csv.DictReader(io.StringIO(sheet.read_text(encoding="utf-8"))))
    assert [float(row["target_hz"]) for row in rows] == pytest.approx([hz_from_midi(key) for key in keys], abs=1e-3)
    assert [row["written"] for row in rows] == ["C4", "E4", "G4", "C5"], "a B♭ trumpet reads a tone higher"
    assert "Take care" not in capsys.readouterr().out
