"""Exercises as small files: what they may hold, what is said of mistakes, and takes that are held beside them."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.arrange import MELODY, intended_from, overtone_sheet, written_score
from tunelib.commands.line import main
from tunelib.harmony import parse_lead_sheet, retune
from tunelib.hearing import Recording
from tunelib.pitch import Note, cents, equal, instrument, meantone
from tunelib.practice.exercise_file import Exercise, parse_exercise, read_exercise
from tunelib.practice.listening import follow_exercise, read_intended
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES, render, write_wav

SCALE = """title = "Up and down"
tuning = "31"
instrument = "alto saxophone"
notes = "C4 D4 Ehb4:2 F4 | G4 F4 Ehb4 D4 C4:2"
cautions = "Start softly."
"""


def exercise(**lines: str) -> Exercise:
    """One of these lines, beside a title."""
    return parse_exercise(
        "\n".join(['title = "A line"', *(f"{key} = {value}" for key, value in lines.items())]).encode()
    )


def pitches(found: Exercise) -> list[tuple[str, float]]:
    return [(note.label, note.hertz) for note in found.intended.notes]


def test_notes_are_read_with_their_beats_and_rests() -> None:
    found = exercise(tuning='"31"', notes='"C4 Ehb4:2 | -:1/2 F#4:0.5"', tempo="90", reference="442")
    assert [(note.label, note.beats) for note in found.intended.notes] == [("C4", 1), ("E½♭4", 2), ("F♯4", 0.5)]
    assert [(note.onset, note.duration) for note in found.score.notes] == [(0, 1), (1, 2), (3.5, 0.5)]
    assert found.score.tempo == 90 and found.player is None and found.cautions == ()
    expected = [Note.parse(name).hz(equal(31), 442) for name in ("C4", "Ehb4", "F#4")]
    assert [hertz for _, hertz in pitches(found)] == pytest.approx(expected)
    assert found.intended.name == "“A line” in 31 equal steps" and found.intended.reference == 442


def test_what_is_to_be_practised_by_ear_is_read_with_notes_or_without() -> None:
    found = exercise(tuning="31", practise='["third", "pure:5/4", "sing:10"]')
    assert [str(item) for item in found.practise[:2]] == ["third:subminor", "third:minor"]
    assert [str(item) for item in found.practise[5:]] == ["pure:5/4", "sing:10"]
    assert found.notes == found.score.notes == ()
    with pytest.raises(ValueError, match="“A line” has no notes to play: its items are practised by ear"):
        follow_exercise(Recording.of(np.zeros(48_000), 48_000), found)
    both = exercise(tuning="31", notes='"C4"', practise='"third:neutral"')
    assert len(both.intended.notes) == len(both.practise) == 1
    assert exercise(tuning="31", notes='"C4"').practise == ()


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ({"tuning": "31", "practise": '["third",\n"thrid:neutral"]'}, "line 4: no kind of question is called 'thrid'"),
        ({"tuning": "31", "practise": "3"}, "line 3: practise is text in quotes"),
        ({"tuning": "31", "practise": "[]"}, "line 3: practise is text in quotes"),
        ({"tuning": '"quarter-comma"', "practise": '"third"'}, "line 3: items are of a division whose notes have lett"),
        ({"tuning": "31"}, "notes is missing"),
    ],
)
def test_mistakes_in_what_is_to_be_practised_are_told_with_their_lines(lines: dict[str, str], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        exercise(**lines)


def test_names_of_one_pitch_in_a_division_keep_their_spelling() -> None:
    sharp, flat = exercise(tuning="12", notes='"C#4 Db4"').intended.notes
    assert (str(sharp.note), str(flat.note)) == ("C♯4", "D♭4") and sharp.hertz == flat.hertz


def test_every_kind_of_tuning_is_read() -> None:
    """A fifth of quarter-comma is the fourth root of five (Aaron 1523), harmonic 7 is seven times the fundamental"""
    (_, c), (_, g) = pitches(exercise(tuning='"quarter-comma"', notes='"C4 G4"'))
    assert (g / c) ** 4 == pytest.approx(5)
    assert cents(g / c) == pytest.approx(float(meantone("1/4").cents_of(7)))
    harmonics = pitches(exercise(tuning='"harmonics of Bb1"', notes='["4 5 6", "7"]'))
    assert [label for label, _ in harmonics] == ["4", "5", "6", "7"]
    assert harmonics[3][1] == pytest.approx(7 * Note.parse("Bb1").hz())
    thirteen = pitches(exercise(tuning='"13"', notes='"0 1 13"'))
    assert cents(thirteen[1][1] / thirteen[0][1]) == pytest.approx(1200 / 13)
    assert thirteen[2][1] == pytest.approx(2 * thirteen[0][1])
    just = pitches(exercise(tuning='"1/1 5/4 3/2 on C4"', notes='"C4 E4 G4"'))
    assert [hertz / just[0][1] for _, hertz in just] == pytest.approx([1, 1.25, 1.5])


def test_a_division_is_put_on_a_note_and_written_notes_are_transposed() -> None:
    found = exercise(tuning='"31"', on='"C4 = 263.1 Hz"', notes='"C4"')
    assert pitches(found)[0] == ("C4", pytest.approx(263.1))
    found = exercise(tuning='"12"', notes='"C4 E4"', instrument='"clarinet"', written="true")
    assert [label for label, _ in pitches(found)] == ["B♭3", "D4"]
    assert found.player == instrument("clarinet")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (b'title = "A', ["line 1: this is not TOML", "text goes in quotes"]),
        (b"\n\xff", ["line 2: this is not text in UTF-8"]),
        (b'name = "x"', ["line 1: an exercise has no 'name'", "title is missing", "notes is missing"]),
        (b'title="x"\ntuning="31"\nnotes=["C4 D4","H4 C4:x",\n"C4:0"]', ["line 3: 'H4' is not a note", "line 3: 'C4:x'",
         "line 4: 'C4:0': a note lasts longer than 0 beats"]),
        (b'title="x"\ntuning="12"\nnotes="""\nC4 D4\nEhb4"""', ["line 5: E½♭4 falls between the steps of 12"]),
        (b'title="x"\ntuning="quarter-comma"\nnotes="C4 D#4"', ["line 3: D#4 is not among the notes of quarter-comma"]),
        (b'title="x"\ntuning="999"\nnotes="C4"', ["line 2: a division to play in has 1 to 400 equal steps, not 999"]),
        (b'title="x"\ntuning="31"\non="H"\nnotes="C4"', ["line 3: "]),
        (b'title="x"\ntuning="31"\nnotes="- -"', ["line 3: there is no note to play"]),
        (b'title="x"\ntuning="31"\nnotes=3', ["line 3: notes are text in quotes"]),
        (b'title="x"\ntuning="31"\nnotes="C4"\ntempo="6"', ["line 4: tempo is a number from 10 to 500"]),
        (b'title="x"\ntuning="31"\nnotes="C4"\nwritten=true', ["line 4: written notes are for an instrument"]),
        (b'title="x"\ntuning="31"\nnotes="C4"\nwritten=1', ["line 4: written is true or false"]),
        (b'title="x"\ntuning="31"\nnotes="C4"\ninstrument="kazoo 9"', ["line 4: "]),
        (b'title="x"\ntuning="31"\nnotes="C4"\ncautions=[3]', ["line 4: cautions are text in quotes"]),
        (b'title="x"\ntuning="31"\nnotes="' + b"C4 " * 2001 + b'"', ["line 3: an exercise has 2000 notes at most"]),
    ],
)  # fmt: skip
def test_mistakes_are_told_with_their_lines(text: bytes, told: list[str]) -> None:
    with pytest.raises(ValueError) as caught:
        parse_exercise(text, "scale.toml")
    for words in told:
        assert words in str(caught.value)
    told = str(caught.value).splitlines()
    assert all(line.startswith("scale.toml, line ") for line in told)
    assert all(line.endswith(";") for line in told[:-1]), "also in one line they are parted"


@given(st.text(max_size=80))
def test_any_text_is_an_exercise_or_refused(text: str) -> None:
    try:
        parse_exercise(text.encode("utf-8", "surrogatepass"))
    except ValueError as refused:
        assert str(refused).startswith("exercise.toml")


def test_a_file_that_is_missing_or_too_large_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="there is no file"):
        read_exercise(tmp_path / "none.toml")
    (tmp_path / "large.toml").write_text("#" * 100_001)
    with pytest.raises(ValueError, match="an exercise has 100,000 at most"):
        read_exercise(tmp_path / "large.toml")


# A take beside an exercise


def take_of(found: Exercise, offset: float = 0.0) -> list[ScoreNote]:
    """The exercise as someone plays it, all so many cents sharp."""
    factor = 2 ** (offset / 1200)
    return [
        replace(note, hertz=note.hertz * factor, duration=0.9 * note.duration, level=0.8) for note in found.score.notes
    ]


def sounding(notes: list[ScoreNote]) -> Recording:
    return Recording.of(render(Score(tuple(notes), 80), TIMBRES["reed"]), 48_000)


def test_each_note_is_told_as_the_player_reads_it() -> None:
    """A take that is 25 cents sharp, with a note left out, another wrong and the last one again"""
    found = parse_exercise(SCALE.encode())
    notes = take_of(found, 25)
    del notes[3]
    notes[5] = replace(notes[5], hertz=notes[5].hertz * 2 ** (90 / 1200))
    notes.append(replace(notes[-1], onset=notes[-1].onset + 2.5))
    report = follow_exercise(sounding(notes), found)
    assert [note.outcome for note in report.notes] == ["played"] * 5 + ["wrong"] + ["played"] * 2 + ["again"]
    assert [(report.targets.labels[one.target], one.before) for one in report.left_out] == [("F4", 3)]
    assert report.offset is not None and report.offset.cents == pytest.approx(25, abs=0.5)
    assert report.away[5] == pytest.approx(90, abs=1)
    assert [report.name(note.target) for note in report.notes[:3]] == ["A4", "B4", "C½♯5"]
    assert "7 played, 1 wrong, 1 left out, 1 repeated" in report.table()


def test_a_take_an_octave_below_is_measured_there() -> None:
    found = parse_exercise(SCALE.replace('instrument = "alto saxophone"\n', "").encode())
    report = follow_exercise(sounding([replace(note, hertz=note.hertz / 2) for note in take_of(found)]), found)
    assert {note.outcome for note in report.notes} == {"played"} and report.offset is None
    assert report.name(report.notes[0].target) == "C3"
    assert any("an octave below what was to be played" in warning for warning in report.warnings)


def test_a_take_of_something_else_is_refused() -> None:
    found = parse_exercise(SCALE.encode())
    with pytest.raises(ValueError, match="silent"):
        follow_exercise(Recording.of([0.0] * 48_000, 48_000), found)


def test_the_command_follows_an_exercise(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = parse_exercise(SCALE.encode())
    (tmp_path / "scale.toml").write_text(SCALE, encoding="utf-8")
    notes = take_of(found)
    del notes[4]
    take = write_wav(tmp_path / "take.wav", render(Score(tuple(notes), 80), TIMBRES["reed"]))
    asked = ["listen", str(take), "--exercise", str(tmp_path / "scale.toml"), "--csv", str(tmp_path / "take.csv")]
    assert main(asked) == 0
    printed = capsys.readouterr().out
    assert "against “Up and down” in 31 equal steps" in printed and "left out" in printed
    rows = list(csv.DictReader((tmp_path / "take.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["outcome"] for row in rows].count("played") == 8
    assert [row["target"] for row in rows if row["outcome"] == "left out"] == ["G4"]
    assert main(["listen", str(take)]) == 2
    assert "--against with a tuning, or --exercise" in capsys.readouterr().err
    assert main([*asked, "--against", "31", "--force"]) == 2
    assert "an exercise names its own tuning" in capsys.readouterr().err


TUNE = """title: Two bars
key: C
tempo: 100
| Cmaj7 | G7 |
melody: | C5:2 E5:2 | D5:1 B4:1 G4:2 |
"""


def test_the_melody_of_a_tune_is_what_is_to_be_played(tmp_path: Path) -> None:
    (tmp_path / "tune.txt").write_text(TUNE)
    found = read_intended(tmp_path / "tune.txt", "31")
    assert not isinstance(found, Exercise)
    tune = retune(parse_lead_sheet(TUNE), equal(31))
    assert [note.hertz for note in found.notes] == pytest.approx([sung.note.hz(equal(31)) for sung in tune.melody])
    for against in (None, "quarter-comma"):
        with pytest.raises(ValueError, match="a tune is played in equal steps"):
            read_intended(tmp_path / "tune.txt", against)


def test_a_voice_of_any_score_is_what_is_to_be_played() -> None:
    sheet = overtone_sheet(instrument("trombone"), Note.parse("Bb1"), (2, 3, 4, 7))
    found = intended_from(sheet.score, "player")
    assert [note.hertz for note in found.notes] == pytest.approx([n * Note.parse("Bb1").hz() for n in (2, 3, 4, 7)])
    with pytest.raises(ValueError, match="has no voice 'tuba'"):
        intended_from(sheet.score, "tuba")
    tune = retune(parse_lead_sheet(TUNE), equal(31))
    assert len(intended_from(written_score(tune), MELODY).notes) == 5
    with pytest.raises(ValueError, match="several notes sound at once, at beat 0"):
        intended_from(written_score(tune), "chords")
