"""The command ``python -m tunelib retune``: what it writes, what it says, and how it says no."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
import threading
import zipfile
from pathlib import Path

import pytest
import soundfile
from midi_reader import hear, struck

import tunelib
from tunelib.arrange import FEELS, tune_score
from tunelib.arrange.parts import tune_parts
from tunelib.commands.line import main
from tunelib.export.stand_layout import StandPages
from tunelib.export.tune_files import tune_files, tune_names
from tunelib.files import write_set
from tunelib.harmony import Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, equal, instrument
from tunelib.score import Score

TUNE_FILES = importlib.import_module("tunelib.export.tune_files")  # which `tunelib.export` hides behind the function

TUNE = "title: Glue & clamps\ntempo: 240\nkey: C major\n| Dm7 | G7 |\nmelody: | D5:4 | B4:4 |\n"
STEM = "glue-clamps"


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    path = tmp_path / "tune.txt"
    path.write_text(TUNE, encoding="utf-8")
    return path


@pytest.fixture
def silent(monkeypatch: pytest.MonkeyPatch) -> None:
    """No sound is rendered: it takes most of the time, and is tested elsewhere."""
    monkeypatch.setattr(TUNE_FILES, "render_to", lambda path, score, timbres: path.write_bytes(b""))


def test_it_writes_its_files_and_prints_the_table(tune: Path, tmp_path: Path) -> None:
    """In a process of its own: table and paths on the output, steps on the error stream, nothing else"""
    command = [sys.executable, "-m", "tunelib", "retune", str(tune), "--taste", "0.6", "--out", str(tmp_path / "out")]
    environment = {**os.environ, "PYTHONUTF8": "1"}
    done = subprocess.run(command, check=True, capture_output=True, encoding="utf-8", env=environment)
    lines = done.stdout.splitlines()
    assert lines[0].split()[:4] == ["bar", "beat", "written", "retuned"]
    assert [line.split()[2] for line in lines[1:3]] == ["Dm7", "G7"]
    assert [Path(line).name for line in lines[4:]] == list(tune_names(STEM, 31))
    assert sorted(Path(line) for line in lines[4:]) == sorted((tmp_path / "out").iterdir())
    assert all(line.endswith(" ...") for line in done.stderr.splitlines())
    assert "rendering the sound ..." in done.stderr
    for suffix in ("-in-31.wav", "-in-12.wav"):
        assert soundfile.info(tmp_path / "out" / f"{STEM}{suffix}").duration == pytest.approx(2 + 2, abs=0.05), (
            "counted in"
        )


@pytest.mark.usefixtures("silent")
def test_a_band_gets_parts_and_the_leader_is_told_about_them(
    tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file for each player, named for the instrument; what is in another octave or out of range is said at the end"""
    arguments = ["retune", str(tune), "--for", "bass voice, trombone, trombone, piano", "--out", str(tmp_path / "out")]
    assert main(arguments) == 0
    said = capsys.readouterr()
    parts = {f"{STEM}-in-31-{part}.pdf" for part in ("bass-voice", "trombone-1", "trombone-2", "piano")}
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == parts | set(tune_names(STEM, 31))
    assert all((tmp_path / "out" / part).read_bytes().startswith(b"%PDF-") for part in parts)
    assert said.out.endswith("bass voice: It is an octave below the lead sheet.\n")
    assert "printing the part of the trombone 2 ..." in said.err


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--for", "alto sax, zither"], "'zither'"),
        (["--for", "alto sax,, piano"], "'alto sax,, piano' has a name missing; put one comma between two instruments"),
        (["--for", ", ".join(["flute"] * 101)], "a band has at most 100 players, not 101"),
        (["--for", "flute", "--compare", "12,31"], "--for makes parts of a tune in one division; leave --compare out"),
    ],
)
def test_a_band_that_is_none_is_refused_before_any_work(
    options: list[str], message: str, tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["retune", str(tune), "--out", str(tmp_path / "out"), *options]) == 2
    assert message in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("silent")
def test_options_reach_the_tune(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def table(*options: str) -> str:
        assert main(["retune", str(tune), "--out", str(tmp_path / "out"), "--force", *options]) == 0
        return capsys.readouterr().out

    plain = table("--taste", "0")
    assert "Dm7      Dm7" in plain
    assert table("--taste", "1") != plain
    assert table("--taste", "1", "--colour", "-1") != table("--taste", "1", "--colour", "1")
    assert table("--taste", "0", "--voicing", "Drop 2") != plain
    table("--tempo", "33.5", "--paper", "letter", "--drift", "--clashes")
    text = (tmp_path / "out" / f"{STEM}-in-31.musicxml").read_text(encoding="utf-8")
    assert "<per-minute>33.5</per-minute>" in text


def test_feel_and_what_is_common_reach_midi_and_sound(
    tune: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As scores have them; and the help names every feel"""
    rendered: dict[str, Score] = {}
    monkeypatch.setattr(
        TUNE_FILES,
        "render_to",
        lambda path, score, timbres: (rendered.update({path.name: score}), path.write_bytes(b"")),
    )
    options = ["--taste", "0", "--feel", "Long-chords", "--common", "a", "--steps", "19"]
    assert main(["retune", str(tune), "--out", str(tmp_path / "out"), *options]) == 0
    own = retune(parse_lead_sheet(TUNE), equal(19), Taste(0))
    assert rendered == {
        f"{STEM}-in-{division}.wav": tune_score(own, division, "long chords", "A") for division in (19, 12)
    }
    data = (tmp_path / "out" / f"{STEM}-in-19-bend.mid").read_bytes()
    assert {note.track for note in hear(data)} == {"melody", "chords", "bass"}
    assert struck(data)
    capsys.readouterr()
    assert main(["retune", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert all(feel in said for feel in FEELS)


@pytest.mark.usefixtures("silent")
def test_choices_by_hand_reach_the_tune(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    chosen = tmp_path / "glue-choices.toml"
    chosen.write_text('[symbols]\nG7 = "Gneu7"\n\n[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dsub7"\n', encoding="utf-8")
    out = ["--out", str(tmp_path / "out"), "--force"]
    assert main(["retune", str(tune), "--choices", str(chosen), "--taste", "0", *out]) == 0
    rows = [line.split()[2:4] for line in capsys.readouterr().out.splitlines()[1:3]]
    assert rows == [["Dm7", "Dsub7"], ["G7", "Gneu7"]]


@pytest.mark.parametrize(
    ("text", "options", "message"),
    [
        (None, [], "there is no file"),
        (b"[[chords]]\nbar = 7\nbeat = 1\nchosen = 'C'", [], "own.toml: [[chords]] 1: no chord begins in bar 7"),
        (b"[symbols]\nA7 = 'Aharm7'", [], "own.toml: [symbols]: the tune has no 'A7'"),
        (b"bar = ", [], "own.toml: the choices are not TOML"),
        (b"\xff\xfe", [], "own.toml: this is not UTF-8 text"),
        (b"", ["--compare", "12,31"], "give --choices or --compare, not both"),
    ],
)
def test_choices_that_do_not_fit_are_refused_in_one_line(
    text: bytes | None, options: list[str], message: str, tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "own.toml"
    if text is not None:
        path.write_bytes(text)
    out = ["--out", str(tmp_path / "out")]
    assert main(["retune", str(tune), "--choices", str(path), *out, *options]) == 2
    assert message in capsys.readouterr().err.splitlines()[-1]
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("silent")
def test_musicxml_is_read_plain_and_compressed(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What it has written can be given to it again, and makes the same tune"""
    assert main(["retune", str(tune), "--taste", "0", "--out", str(tmp_path / "a")]) == 0
    written = tmp_path / "a" / f"{STEM}-in-31.musicxml"
    packed = tmp_path / "tune.mxl"
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(
            "META-INF/container.xml", '<container><rootfiles><rootfile full-path="t.xml"/></rootfiles></container>'
        )
        archive.write(written, "t.xml")
    first = capsys.readouterr().out.splitlines()[:4]
    for source, folder in ((written, "b"), (packed, "c")):
        assert main(["retune", str(source), "--taste", "0", "--out", str(tmp_path / folder)]) == 0
        assert capsys.readouterr().out.splitlines()[:4] == first


@pytest.mark.usefixtures("silent")
def test_nothing_is_overwritten_unless_forced(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["retune", str(tune), "--out", str(tmp_path / "out")]
    assert main(arguments) == 0
    capsys.readouterr()
    assert main(arguments) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert f"{STEM}-in-31.csv and {len(tune_names(STEM, 31)) - 1} more are already there" in said
    assert said.endswith("give --force\n")
    assert main([*arguments, "--force"]) == 0


@pytest.mark.usefixtures("silent")
def test_the_tune_itself_is_never_replaced(tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Not even by force: what was made of it once has the name of what would be made of it again"""
    assert main(["retune", str(tune), "--out", str(tmp_path)]) == 0
    own = tmp_path / f"{STEM}-in-31.musicxml"
    before = own.read_bytes()
    capsys.readouterr()
    assert main(["retune", str(own), "--out", str(tmp_path), "--force"]) == 2
    assert "is read here and would be replaced" in capsys.readouterr().err
    assert own.read_bytes() == before


@pytest.mark.parametrize(
    ("text", "options", "message"),
    [
        (None, [], "there is no file"),
        (TUNE, ["--taste", "1.5"], "the taste goes from 0, as written where possible, to 1, adventurous, not to 1.5"),
        (TUNE, ["--taste", "nan"], "not to nan"),
        (TUNE, ["--taste", "bold"], "'bold' is not a number"),
        (TUNE, ["--colour", "-2"], "the colour goes from -1, darker, to 1, brighter, not to -2"),
        (
            TUNE,
            ["--voicing", "blocks"],
            "a voicing is one of shells, rootless, drop 2",
        ),
        (TUNE, ["--tempo", "900"], "a tempo must be between 10 and 500 beats a minute, not 900"),
        (TUNE, ["--tempo", "fast"], "the tempo is a number of beats a minute"),
        (TUNE, ["--feel", "swig"], "no feel is called 'swig'; did you mean swing or straight?"),
        (TUNE, ["--common", "B"], "two tunings have the tonic in common or A, not 'B'"),
        (TUNE, ["--paper", "a3"], "no paper is called 'a3'"),
        ("| Dm7 | Gq7 |", [], "tune.txt: line 1, column 9: 'Gq7' cannot be read from character 2 on"),
        ("| Dm7 | G7", [], "line 1, column 11: the last bar of the line is not closed"),
        ("", [], "there are no bars"),
        ("| C |\nmelody: | C4:1/131 -:523/131 |", [], "in bar 1 something begins or ends 1/131 into a beat"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    text: str | None, options: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "tune.txt"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert main(["retune", str(path), "--out", str(tmp_path / "out"), *options]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    last = said.err.splitlines()[-1]
    assert last.startswith("python -m tunelib retune: ")
    assert message in last
    assert all(line.endswith(" ...") for line in said.err.splitlines()[:-1])
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["tune.mid", "tune"])
def test_another_kind_of_file_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / name).write_text(TUNE, encoding="utf-8")
    assert main(["retune", str(tmp_path / name), "--out", str(tmp_path / "out")]) == 2
    assert f"{name} is not a lead sheet: its name must end in .txt" in capsys.readouterr().err


def test_a_folder_in_place_of_the_tune_and_a_file_in_place_of_the_folder_are_refused(
    tune: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["retune", str(tmp_path), "--out", str(tmp_path / "out")]) == 2
    assert "is not an ordinary file" in capsys.readouterr().err
    assert main(["retune", str(tune), "--out", str(tune)]) == 2
    assert "tune.txt is a file, not a folder; give --out a folder" in capsys.readouterr().err
    assert main(["retune", str(tune)]) == 2
    assert "the following arguments are required: --out" in capsys.readouterr().err


@pytest.mark.usefixtures("silent")
@pytest.mark.parametrize("name", ["two_five_one.txt", "blues.txt", "song_form.txt", "offcuts.musicxml"])
def test_the_tunes_that_come_with_the_lessons_are_handled(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    material = Path(tunelib.__file__).parents[1] / "lessons" / "material" / name
    assert main(["retune", str(material), "--taste", "0.6", "--out", str(tmp_path)]) == 0
    *table, _, first = capsys.readouterr().out.splitlines()[: 1 - len(tune_names(STEM, 31))]
    assert len(table) > 16
    assert first.endswith("-in-31.csv")


@pytest.mark.parametrize("stopped", ["the score", "the part of the trumpet", "the MIDI files"])
def test_pages_are_set_beside_the_rest_and_stop_with_it(
    tune: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stopped: str
) -> None:
    """An error in the thread that sets pages, or an interrupt here: nothing is written, and no sound was begun."""
    begun: list[str] = []
    interrupted = threading.Event()

    def setting(pages: StandPages, paper: str) -> bytes:
        begun.append(pages.name)
        if stopped == "the MIDI files":
            interrupted.wait(10)
        if stopped.endswith(pages.name.split(",")[0]):
            raise ValueError(f"{pages.name} cannot be set")
        return b"%PDF"

    def tell(step: str) -> None:
        if stopped == "the MIDI files" and step.endswith(stopped):
            threading.Timer(0.2, interrupted.set).start()
            raise KeyboardInterrupt
        assert not step.startswith("rendering")

    monkeypatch.setattr(TUNE_FILES, "stand_pdf", setting)
    retuned = retune(parse_lead_sheet(tune.read_text(encoding="utf-8")), THIRTY_ONE)
    files = tune_files(retuned, parts=tune_parts(retuned, [instrument("trumpet"), instrument("double bass")]))
    with pytest.raises(KeyboardInterrupt if stopped == "the MIDI files" else ValueError):
        write_set(files, tmp_path / "out", progress=tell)
    assert begun and (stopped != "the MIDI files" or len(begun) == 1), "what was not begun is dropped"
    assert not (tmp_path / "out").exists()
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("ThreadPoolExecutor")]
