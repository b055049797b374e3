"""The command line where things go wrong: streams that cannot show or take what is printed, limits, and Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from processes import heeding_signals

from tunelib.commands import instruments_command
from tunelib.commands.line import main
from tunelib.commands.telling import one_line
from tunelib.film.record import RECORD, Record

COMMAND = [sys.executable, "-m", "tunelib"]
NOTES = ["sheet", "--instrument", "viola", "--pages", "notes", "--out"]


def run(*arguments: str, **given: object) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, as on a bare system."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHONU")}
    options = {"env": environment, "capture_output": True, "encoding": "utf-8", "timeout": 120} | given
    return subprocess.run([*COMMAND, *arguments], **options)  # type: ignore[call-overload, no-any-return]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_music_signs_are_printed_in_plain_letters_where_there_are_no_others(encoding: str) -> None:
    done = run("instruments", env={**os.environ, "PYTHONIOENCODING": encoding}, encoding=encoding)
    clarinet = next(line for line in done.stdout.splitlines() if line.startswith("clarinet"))
    assert clarinet.split("  ")[0] == ("clarinet in B♭" if encoding == "utf-8" else "clarinet in Bb")
    assert done.returncode == 0 and done.stderr == ""


def test_a_half_flat_is_printed_as_one_types_it(tmp_path: Path) -> None:
    (tmp_path / "tune.txt").write_text("| Ehb7 | F#m7 |", encoding="utf-8")
    (tmp_path / "E½♭").write_text("in the way")
    arguments = ["retune", str(tmp_path / "tune.txt"), "--out", str(tmp_path / "E½♭")]
    done = run(*arguments, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert done.returncode == 2 and "Ehb is a file, not a folder" in done.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no device that is always full")
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_output_that_does_not_arrive_is_said(unbuffered: str) -> None:
    with open("/dev/full", "w") as full:
        done = run("instruments", capture_output=False, stdout=full, stderr=subprocess.PIPE,
                   env={**os.environ, "PYTHONUNBUFFERED": unbuffered})  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == (
        "python -m tunelib instruments: what was printed did not all arrive: no space left on device\n"
    )


@pytest.mark.skipif(os.name == "nt", reason="its shell closes streams in another way")
def test_a_closed_output_is_said_before_the_work(tmp_path: Path) -> None:
    line = " ".join([*COMMAND, *NOTES, str(tmp_path / "out")])
    done = subprocess.run(["sh", "-c", f"{line} >&-"], capture_output=True, text=True)
    assert done.returncode == 2 and "there is nowhere to print: the output is closed" in done.stderr
    assert os.listdir(tmp_path) == []


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no device that is always full")
@pytest.mark.parametrize("ending", ["2>&-", "2>/dev/full"])
def test_an_error_stream_that_takes_nothing_does_not_stop_the_work(tmp_path: Path, ending: str) -> None:
    line = " ".join([*COMMAND, *NOTES, str(tmp_path)])
    done = subprocess.run(["sh", "-c", f"{line} {ending}"], capture_output=True, text=True)
    assert done.returncode == 0 and os.listdir(tmp_path) == ["viola-notes-of-31.pdf"]


# The command, saying when a module that is named to it begins to be loaded.
TELLING = """
import runpy, sys
named = sys.argv.pop(1)
class Telling:
    @staticmethod
    def find_spec(name, *_):
        if name == named:
            print(name, flush=True)
sys.meta_path.insert(0, Telling)
sys.argv[0] = "-m"
runpy.run_module("tunelib", run_name="__main__", alter_sys=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="this signal is of other systems")
@pytest.mark.parametrize("moment", ["tunelib.pitch", "matplotlib.ft2font", "verovio._verovio"])
def test_ctrl_c_ends_a_command_quietly_from_the_first_moments_on(tmp_path: Path, moment: str) -> None:
    """As soon as Python runs the package; before that the interpreter answers by itself"""
    command = [sys.executable, "-c", TELLING, moment, "sheet", "--instrument", "viola", "--fundamental", "C3", "--out"]
    with heeding_signals():
        started = subprocess.Popen(
            [*command, str(tmp_path / "out")], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
    with started as going:
        assert going.stdout is not None and going.stderr is not None
        assert going.stdout.readline() == f"{moment}\n"
        going.send_signal(signal.SIGINT)
        code = going.wait()
        said = [line for line in going.stderr.read().splitlines() if not line.endswith(" ...")]
    ended_by_the_system = moment == "tunelib.pitch" and code == -signal.SIGINT
    assert (code, said) == (130, ["python -m tunelib sheet: stopped"]) or (ended_by_the_system and said == [])


def test_a_command_is_stopped_when_what_it_loads_has_been_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A compiled library, interrupted as it begins, brings the process down at its end."""
    (tmp_path / "begins_slowly.py").write_text("import signal\nsignal.raise_signal(signal.SIGINT)\nbegun = True\n")
    monkeypatch.syspath_prepend(tmp_path)

    def load(options: object) -> None:
        import begins_slowly  # type: ignore[import-not-found]

        loaded.append(begins_slowly.begun)
        time.sleep(60)

    loaded: list[bool] = []
    monkeypatch.setattr(instruments_command, "run", load)
    with heeding_signals():
        assert main(["instruments"]) == 130
    assert loaded == [True] and capsys.readouterr().err == "python -m tunelib instruments: stopped\n"


def test_an_ignored_interrupt_stays_ignored(tmp_path: Path) -> None:
    """As for a job that a shell runs in the background"""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        assert main([*NOTES, str(tmp_path)]) == 0
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([*NOTES, "x", "--harmonics", "1-1000000,7"], "so '1-1000000' is out"),
        ([*NOTES, "x", "--harmonics", "1-64,1-64"], "has more than 64"),
        ([*NOTES, "x", "--harmonics", "9" * 5000], "names no harmonics"),
        (["band", "--instruments", ",".join(["flute"] * 2000), "--out", "x"], "a band has at most 100 players"),
        ([*NOTES, "x", "--tempo", "z" * 450_000], "such as 60, not 'zzz"),
        (["listen", "x", "--against", "31" * 200_000], "targets are named in 1 to 400 characters"),
        (["retune", "x" * 450_000, "--out", "y"], "there is no file xxx"),
        ([*NOTES, "x", "--paper", "a3"], "no paper is called 'a3'"),
    ],
)
def test_what_is_out_of_bounds_is_said_at_once_in_a_short_line(
    arguments: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    printed = capsys.readouterr().err
    assert said in printed and printed.count("\n") == 1 and len(printed) < 1200
    assert os.listdir(tmp_path) == []


def test_a_paper_may_be_given_in_capitals(tmp_path: Path) -> None:
    assert main([*NOTES, str(tmp_path), "--paper", "A4"]) == 0


def test_a_name_that_begins_with_a_dash_is_met_with_a_hint(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("-t.txt").write_text("| C |")
    assert main(["retune", "-t.txt", "--out", "out"]) == 2
    printed = capsys.readouterr().err
    assert "for the file -t.txt write ./-t.txt" in printed and printed.count("\n") == 1


def test_messages_name_no_hidden_folder_and_no_number_of_an_error() -> None:
    error = OSError(28, "No space left on device", "out/.tunelib-x1y2/made/a.wav")
    assert one_line(error) == "out/a.wav: no space left on device"
    assert one_line(ValueError("a\n  b")) == "a b"
    assert len(one_line(ValueError("x" * 450_000))) < 1100


def test_a_recording_is_never_replaced_by_its_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    take = tmp_path / "take.wav"
    take.write_bytes(b"mine")
    assert main(["listen", str(take), "--against", "31", "--csv", str(take), "--force"]) == 2
    assert "is read here and would be replaced" in capsys.readouterr().err
    assert take.read_bytes() == b"mine"


# The record of a folder of pictures


GOOD: dict[str, object] = {
    "version": 1,
    "outputs": {"a.png": {"origin": "x", "figures": {"bytes": 1, "width": 2, "height": 3}}},
    "files": {"a.png": {"shot_list": "film.toml", "digests": ["y"]}},
}


def test_a_good_record_is_read(tmp_path: Path) -> None:
    (tmp_path / RECORD).write_text(json.dumps(GOOD))
    assert Record.read(tmp_path).outputs["a.png"].figures.width == 2


@pytest.mark.parametrize(
    "change",
    [
        {"version": "<b>"},
        {"outputs": {"a.png": {"origin": 7, "figures": {"bytes": 1, "width": 2, "height": 3}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": "<script>", "width": 2, "height": 3}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": True, "width": 2, "height": 3}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": 1, "width": None, "height": 3}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": 1e999, "width": 2, "height": 3}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": 1, "width": 2}}}},
        {"outputs": {"a.png": {"origin": "x", "figures": {"bytes": 1, "width": 2, "height": 3, "depth": 4}}}},
        {"outputs": []},
        {"files": {"a.png": {"shot_list": None, "digests": ["y"]}}},
        {"files": {"a.png": {"shot_list": "film.toml", "digests": [1]}}},
        {"files": {"a.png": {"shot_list": "film.toml", "digests": 1}}},
    ],
)
def test_a_damaged_record_is_refused_in_a_line(tmp_path: Path, change: dict[str, object]) -> None:
    (tmp_path / RECORD).write_text(json.dumps(GOOD | change))
    with pytest.raises(ValueError, match="is not the record of an earlier run"):
        Record.read(tmp_path)


FILM = '[[shot]]\nname = "one"\nexhibit = "wave"\nsizes = ["panel"]\n'


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("name", [RECORD, "one-panel.png", "contact.html"])
@pytest.mark.parametrize("force", [False, True])
def test_pipes_in_the_place_of_a_picture_or_the_record_are_left_alone(
    tmp_path: Path, name: str, force: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "film.toml").write_text(FILM)
    (tmp_path / "out").mkdir()
    os.mkfifo(tmp_path / "out" / name)
    command = ["render", str(tmp_path / "film.toml"), "--out", str(tmp_path / "out"), *(["--force"] if force else [])]
    assert main(command) == 2
    assert name in capsys.readouterr().err
    assert os.listdir(tmp_path / "out") == [name]


def test_a_shot_list_is_never_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shots = tmp_path / "contact.html"
    shots.write_text(FILM)
    assert main(["render", str(shots), "--out", str(tmp_path), "--force"]) == 2
    assert "is read here and would be replaced" in capsys.readouterr().err
    assert shots.read_text() == FILM
