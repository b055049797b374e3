"""The command that listens: good takes and bad ones, as somebody types it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from sampled import RATE, sampled

from tunelib.__main__ import main
from tunelib.pitch.notes import hz_from_midi
from tunelib.sound.audio import write_wav
from tunelib.sound.demo_takes import DEMO_TAKES, SAMPLE_RATE

OVERTONES = ("--against", "harmonics of B♭1", "--instrument", "alto saxophone")


@pytest.fixture
def take(tmp_path: Path) -> Path:
    """A demo take as a file."""
    return write_wav(tmp_path / "take.wav", DEMO_TAKES["warming up"].samples(), SAMPLE_RATE)


def test_a_take_is_heard_and_told_as_table_csv_and_picture(take: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The known errors, -20 to +8 cents in steps of 4, come back in all three."""
    sheet, picture = take.with_suffix(".csv"), take.with_suffix(".png")
    assert main(["listen", str(take), *OVERTONES, "--csv", str(sheet), "--picture", str(picture)]) == 0
    said = capsys.readouterr().out
    assert "8 notes in 8.1 s: mean −6.0 cents" in said and "alto saxophone reads" in said
    rows = list(csv.DictReader(io.StringIO(sheet.read_text(encoding="utf-8"))))
    assert [float(row["off_cents"]) for row in rows] == pytest.approx(range(-20, 9, 4), abs=1)
    assert [row["target"] for row in rows] == [str(n) for n in range(5, 13)]
    with Image.open(picture) as shown:
        assert shown.size == (1920, 1080)


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


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--against", "tuba"], "names no targets"),
        (["--against", "harmonics of H2"], "is not a note"),
        (["--against", "12", "--instrument", "kazzoo"], "no instrument is called 'kazzoo'"),
        (["--against", "12", "--reference", "high"], "the reference is the frequency of A4 in hertz"),
        (["--against", "12", "--reference", "20"], "between 300 and 600 Hz"),
        (["--against", "12", "--picture", "take.gif"], "a picture is a .png, .svg or .pdf file"),
        (["--against", "12", "--csv", "nowhere/at/all.csv"], "does not exist; make it first"),
        ([], "--against"),
    ],
)
def test_every_wrong_argument_gets_one_line_and_exit_code_2(
    take: Path, arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written and nothing is printed as a result."""
    before = sorted(take.parent.iterdir())
    assert main(["listen", str(take), *arguments]) == 2
    said = capsys.readouterr()
    assert message in said.err and said.err.count("\n") == 1 and not said.out
    assert sorted(take.parent.iterdir()) == before


@pytest.mark.parametrize(
    ("samples", "message"),
    [
        (np.zeros(48000), "the take is silent"),
        (0.1 * np.sin(np.arange(2000) / 10), "too short"),
        (0.05 * np.random.default_rng(5).normal(size=96000), "no steady note is found"),
    ],
)
def test_a_take_without_notes_is_said_to_be_so(
    tmp_path: Path, samples: np.ndarray, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Silence, a click's length and noise each get their line, and exit code 2."""
    path = write_wav(tmp_path / "take.wav", samples)
    assert main(["listen", str(path), *OVERTONES]) == 2
    assert message in capsys.readouterr().err


def test_a_file_that_is_there_stays_as_it_is_unless_forced(take: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An existing CSV is kept, and replaced only with --force."""
    sheet = take.with_suffix(".csv")
    sheet.write_text("somebody's work")
    assert main(["listen", str(take), *OVERTONES, "--csv", str(sheet)]) == 2
    assert "--force" in capsys.readouterr().err and sheet.read_text() == "somebody's work"
    assert main(["listen", str(take), *OVERTONES, "--csv", str(sheet), "--force"]) == 0
    assert sheet.read_text(encoding="utf-8").startswith("note,")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=3000), st.sampled_from([b"", b"RIFF", b"fLaC", b"OggS", b"ID3", b"\xff\xfb\x90\x00"]))
def test_any_bytes_as_a_recording_end_in_a_table_or_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], rest: bytes, head: bytes
) -> None:
    """Never a traceback."""
    path = tmp_path / "take.wav"
    path.write_bytes(head + rest)
    code = main(["listen", str(path), "--against", "12"])
    said = capsys.readouterr()
    assert (code == 0 and said.out) or (code == 2 and said.err.count("\n") == 1)
