"""A tune's files in other divisions: every output at the exact pitch, under the name of its notes."""

from __future__ import annotations

import csv
import importlib
import math
from pathlib import Path
from xml.etree import ElementTree

import pytest
from midi_reader import hear

from tunelib.arrange.tune_score import tune_score
from tunelib.arrange.written_score import BASS, CHORDS, COUNT, MELODY, written_score
from tunelib.commands.line import main
from tunelib.export.comparison import compare_tune
from tunelib.export.midi import midi_bytes
from tunelib.export.tune_files import tune_csv, tune_musicxml, tune_names, tune_table
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, Taste, retune
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE, equal

TUNE_FILES = importlib.import_module("tunelib.export.tune_files")  # which `tunelib.export` hides behind the function
TEXT = """title: Rasp and File
tempo: 160
key: F major
        | F7         | Bb7 . . Bdim7 | F7/C      | Cneu F7   |
melody: | C4:2 A4:2  | D5:3/2 F4:5/2 | -:2 C5:2  | Eb5:2 D5:2 |
"""
DIVISIONS = (12, 17, 19, 22, 24, 31, 34, 41, 50, 53, 72)
TUNES = {division: retune(parse_lead_sheet(TEXT), equal(division), Taste(0.6)) for division in DIVISIONS}
EACH = pytest.mark.parametrize("division", DIVISIONS)
FIFTHS = dict(zip("FCGDAEB", range(-1, 6), strict=True))
SEMITONES = dict(zip("CDEFGAB", (0, 2, 4, 5, 7, 9, 11), strict=True))


def hertz(note: Note, division: int) -> float:
    """A spelled note along the chain of fifths, and so many steps beside that; A4 at 440 Hz."""
    fifth = math.floor(division * math.log2(3 / 2) + 0.5)
    sharp = 7 * fifth - 4 * division
    octaves = {"F": -1, "C": 0, "G": 0, "D": 1, "A": 1, "E": 2, "B": 2}
    natural = FIFTHS[note.letter] * fifth - octaves[note.letter] * division
    a4 = 3 * fifth - division
    step = natural + sharp * note.half_sharps / 2 + note.steps + division * (note.octave - 4)
    return float(440 * 2 ** ((step - a4) / division))


def cents(one: float, other: float) -> float:
    return 1200 * math.log2(one / other)


@EACH
def test_the_score_is_at_the_pitches_of_the_division(division: int) -> None:
    tune = TUNES[division]
    score = tune_score(tune, count_in=False)
    assert score == tune_score(tune, division, count_in=False)
    for chord in tune.chords:
        found = sorted(note.hertz for note in score.notes if note.voice == CHORDS and note.onset == chord.written.onset)
        assert found == pytest.approx([hertz(note, division) for note in chord.notes[1:]])
    sung = [note.hertz for note in score.notes if note.voice == MELODY]
    assert sung == pytest.approx([hertz(note.note, division) for note in tune.melody])


@EACH
def test_midi_has_the_exact_pitches(division: int) -> None:
    score = tune_score(TUNES[division])
    exact = sorted(note.hertz for note in score.notes if note.level and note.voice != COUNT)
    for way in ("bend", "mts"):
        heard = sorted(note.hertz for note in hear(midi_bytes(score, way)) if note.track != COUNT)
        assert len(heard) == len(exact)
        assert max(abs(cents(one, other)) for one, other in zip(heard, exact, strict=True)) < 0.02


@EACH
def test_the_staff_has_the_sign_of_the_name_and_the_cents_below(division: int) -> None:
    """Cents are from what letter and sign nominally are; below is the nearest key."""
    tune = TUNES[division]
    score = written_score(tune)
    for note in score.notes:
        if note.voice not in (MELODY, CHORDS, BASS):
            continue
        assert note.name is not None
        assert note.sign == Note(note.name.letter, note.name.half_sharps, note.name.octave)
        semitones = SEMITONES[note.sign.letter] + note.sign.half_sharps / 2 + 12 * (note.sign.octave - 4) - 9
        assert note.cents_from_name == pytest.approx(cents(note.hertz, 440 * 2 ** (semitones / 12)))
        if note.name.steps:
            assert note.label, "the nearest key and the cents from it are told"
    root = ElementTree.fromstring(tune_musicxml(tune))
    melody = root.findall("part")[0].findall(".//note[pitch]")
    written = [(note.findtext("pitch/step"), float(note.findtext("pitch/alter", "0"))) for note in melody]
    signs_sung = [note.sign for note in score.notes if note.voice == MELODY]
    tied = [place for place, note in enumerate(melody) if any(tie.get("type") == "stop" for tie in note.findall("tie"))]
    shown = [pair for place, pair in enumerate(written) if place not in tied]
    assert shown == [(sign.letter, sign.half_sharps / 2) for sign in signs_sung]


@EACH
def test_the_same_in_twelve_is_the_tune_as_it_is_written(division: int) -> None:
    """Every note on a key, at the letters of the lead sheet."""
    keys = tune_score(TUNES[division], 12, common="A")
    for note in keys.notes:
        assert (69 + 12 * math.log2(note.hertz / 440)) % 1 == pytest.approx(0, abs=1e-9) or (
            69 + 12 * math.log2(note.hertz / 440)
        ) % 1 == pytest.approx(1, abs=1e-9)
    plain = tune_score(TUNES[31], 12, common="A")
    pitches = [note.hertz for note in keys.notes if note.voice == MELODY]
    assert pitches == pytest.approx([note.hertz for note in plain.notes if note.voice == MELODY])


@EACH
def test_table_and_sentences_are_of_the_division(division: int) -> None:
    tune = TUNES[division]
    rows = list(csv.DictReader(tune_csv(tune).splitlines()))
    assert [row["as written"] for row in rows] == [chord.written.symbol for chord in tune.chords]
    for row, chord in zip(rows, tune.chords, strict=True):
        assert [Note.parse(name) for name in row["notes"].split()] == list(chord.notes)
        assert [hertz(Note.parse(name), division) for name in row["notes"].split()] == pytest.approx(
            [float(note.hz(equal(division))) for note in chord.notes]
        )
    assert f"steps of {division} together" in tune_table(tune)


def test_the_names_of_the_files() -> None:
    assert tune_names("x", 41)[0] == "x-in-41.csv" and tune_names("x", 41)[-1] == "x-in-12.wav"
    assert len(tune_names("x", 12)) == len(set(tune_names("x", 12))) == len(tune_names("x", 31)) - 1
    with pytest.raises(ValueError, match="in 41 or in 12, not in 31"):
        tune_score(TUNES[41], 31)


def test_a_comparison_is_of_each_tune_by_itself() -> None:
    sheet = parse_lead_sheet(TEXT)
    found = compare_tune(sheet, [equal(41), equal(12)], Taste(0.6))
    assert [row.division for row in found.rows] == [41, 12]
    for row in found.rows:
        tune: RetunedTune = TUNES[row.division]
        purity = [chord.purity for chord in tune.chords]
        assert row.error == pytest.approx(math.sqrt(sum(one * one for one in purity) / len(purity)))
        assert row.roughness == pytest.approx(sum(chord.roughness for chord in tune.chords) / len(tune.chords))
        moved = sum(chord.motion for chord in tune.chords) * 1200 / row.division
        assert row.motion == pytest.approx(moved / (len(tune.chords) - 1))
    read = list(csv.DictReader(found.csv().splitlines()))
    assert [row["steps"] for row in read] == ["41", "12"]
    with pytest.raises(ValueError, match="give at least one division"):
        compare_tune(sheet, [])
    with pytest.raises(ValueError, match="no letters"):
        compare_tune(sheet, [THIRTY_ONE, equal(13)])


@pytest.fixture
def tune(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A tune in a file; its sound is not rendered."""
    monkeypatch.setattr(TUNE_FILES, "render_to", lambda path, score, timbres: path.write_bytes(b""))
    path = tmp_path / "tune.txt"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.mark.parametrize("division", [12, 41])
def test_the_command_writes_and_prints_another_division(
    division: int, tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["retune", str(tune), "--steps", str(division), "--out", str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(tune_names("rasp-and-file", division))
    assert f"steps of {division} together" in capsys.readouterr().out


def test_the_command_compares_divisions(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["retune", str(tune), "--compare", "12, 31,41,31"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == ["steps", "12", "31", "41"]
    assert main(["retune", str(tune), "--compare", "12,31", "--out", str(tmp_path / "out")]) == 0
    [written] = (tmp_path / "out").iterdir()
    assert written.name == "rasp-and-file-compared.csv" and len(written.read_text().splitlines()) == 3
    assert main(["retune", str(tune), "--compare", "12,31", "--out", str(tmp_path / "out")]) == 2
    assert "already there" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--steps", "13", "--out", "OUT"], "the notes of 13 equal steps have no letters"),
        (["--steps", "11", "--out", "OUT"], "a tune is played in 12 to 72 equal steps, not in 11"),
        (["--steps", "1000000000", "--out", "OUT"], "12 to 72 equal steps, not in 1000000000"),
        (["--steps", "many", "--out", "OUT"], "a division is a number of equal steps, such as 31, not 'many'"),
        (["--steps", "-5", "--out", "OUT"], "not '-5'"),
        (["--compare", "12,,31"], "a division is a number of equal steps, such as 31, not ''"),
        (["--compare", "12,18"], "the notes of 18 equal steps have no letters"),
        (["--compare", "12", "--steps", "31", "--out", "OUT"], "--steps for one division or --compare for several"),
        (["--steps", "41"], "the following arguments are required: --out"),
    ],
)
def test_what_cannot_be_played_gets_one_line_and_no_file(
    arguments: list[str], words: str, tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["retune", str(tune), *(str(out) if word == "OUT" else word for word in arguments)]) == 2
    said = capsys.readouterr()
    assert words in said.err and said.err.count("\n") == 1 and not said.out and not out.exists()
