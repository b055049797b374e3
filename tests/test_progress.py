"""A learner's progress: what is kept, that none of it is ever lost, and that it never gets in a lesson's way."""

from __future__ import annotations

import ast
import asyncio
import errno
import importlib
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import platformdirs
import pytest
import renew_lessons
from IPython.core.formatters import DisplayFormatter
from nbformat.v4 import new_code_cell, new_notebook

from tunelib.course import all_steps
from tunelib.practice import exercise, own_file
from tunelib.practice.exercise import Exercise

progress = importlib.import_module("tunelib.practice.progress")  # the module, whose name its function takes
STEPS = [step.number for step in all_steps()]
AT_FIRST = os.environ["TUNELIB_DATA"]  # when the tests are read
TOP = Path(__file__).resolve().parent.parent


@pytest.fixture(autouse=True)
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The place of a file that is not there yet, in a folder that is not there either."""
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path / "data"))
    _begin_anew()
    yield tmp_path / "data" / "progress.json"
    _begin_anew()


def _begin_anew() -> None:
    """As if the kernel had been started anew."""
    progress.PROGRESS_FILE.__init__()


def _steps(file: Path) -> Any:
    return json.loads(file.read_text(encoding="utf-8"))["steps"]


def _names(file: Path) -> list[str]:
    return sorted(path.name for path in file.parent.iterdir())


def _shown() -> str:
    return str(progress.progress().list.value)


def test_an_exercise_that_was_worked_through_is_kept_with_tries_and_help_and_nothing_that_was_typed(file: Path) -> None:
    card = exercise(2, numbers=True).card
    assert not file.exists(), "a card that is only looked at leaves a file"
    card.entry.value = "444.75 Hz"
    card.hint_button.click()
    card.entry.value = "436 Hz"
    card.worked_button.click()  # after it was right, so it does not count
    card.entry.value = "437 Hz"
    assert _names(file) == ["progress.json"]
    (step, kept), *others = _steps(file).items()
    assert (step, others) == ("2", [])
    assert set(kept) == {"tries", "right", "hint", "worked"}
    assert (kept["tries"], kept["hint"], kept["worked"]) == (2, True, False)
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", kept["right"])
    assert "436" not in file.read_text(encoding="utf-8") and "444" not in file.read_text(encoding="utf-8")


def test_one_answer_sent_twice_is_one_try_and_an_empty_one_is_none(file: Path) -> None:
    """Who types and then clicks Check sends an answer twice: once by leaving the field, once by the button."""
    card = exercise(3, numbers=True).card
    card.check.click()
    card.entry.value = "4:3"
    card.check.click()
    card.entry.value = "3:2"
    card.check.click()
    assert _steps(file)["3"]["tries"] == 2


def test_what_is_not_understood_is_no_try(file: Path) -> None:
    """The exercise is then solved at the first try."""
    card = exercise(3, numbers=True).card
    for slip in ("qwertz", "3//2", "three halves please"):
        card.entry.value = slip
        assert "I cannot read" in card.response.value
    card.entry.value = "3:2"
    assert _steps(file)["3"]["tries"] == 1
    assert "at the first try" in _shown()


def test_the_card_of_an_exercise_solved_before_says_so_in_words_and_one_that_was_not_says_nothing() -> None:
    for text in ("4:3", "3:2"):
        assert exercise(3, numbers=True).card.note.value == ""
        exercise(3, numbers=True).card.entry.value = text
    _begin_anew()
    note = exercise(3, numbers=True).card.note
    assert re.search(r"✓ Solved before, on \d+ \w+ \d{4}\.", note.value)
    assert note.layout.display != "none"
    assert exercise(4).card.note.layout.display == "none"


def test_an_exercise_outside_the_course_keeps_nothing(file: Path) -> None:
    own = Exercise("Which ratio?", exercise(3, numbers=True).answer, hint="?", worked="!").card
    own.entry.value = "3:2"
    own.hint_button.click()
    own.worked_button.click()
    assert not file.parent.exists()


@pytest.mark.parametrize("step", STEPS)
def test_what_is_stored_of_an_exercise_does_not_depend_on_progress(step: int) -> None:
    fresh = {kind: words for kind, words in DisplayFormatter().format(exercise(step))[0].items() if "text/" in kind}
    progress.keep_try(step, True, pytest.fail)
    assert bool(exercise(step).card.note.value) is exercise(step).solves, "it says so if that is all it takes"
    assert fresh.items() <= DisplayFormatter().format(exercise(step))[0].items()
    assert {"text/markdown", "text/plain"} <= fresh.keys()


def test_what_is_stored_of_the_list_is_the_same_on_every_machine(file: Path) -> None:
    fresh = DisplayFormatter().format(progress.progress())[0]
    progress.keep_try(3, True, pytest.fail)
    later = DisplayFormatter().format(progress.progress())[0]
    for kind in ("text/markdown", "text/plain"):
        assert fresh[kind] == later[kind]
        assert not re.search(r"\d", fresh[kind]) and str(file.parent) not in fresh[kind]


def test_the_list_says_what_was_done_of_each_step_and_where_it_is_kept(file: Path) -> None:
    progress.keep_try(3, True, pytest.fail)
    progress.keep_try(4, False, pytest.fail)
    for right in (False, True):
        progress.keep_opened(5, pytest.fail, worked=True)
        progress.keep_try(5, right, pytest.fail)
    progress.keep_opened(6, pytest.fail, hint=True)
    shown = _shown()
    assert f"3 of {len(STEPS)}" not in shown and f"2 of {len(STEPS)} exercises solved" in shown
    assert "02 Overtones: 1 of 4 solved" in shown
    assert re.search(r"✓ solved on \d+ \w+ \d{4}, at the first try<", shown)
    assert re.search(r"✓ solved on \d+ \w+ \d{4}, in 2 tries, with the worked answer<", shown)
    assert "tried once, not solved yet<" in shown
    assert "not tried yet; the hint opened<" in shown
    assert shown.count("not tried yet<") == len(STEPS) - 4
    assert f"Kept in {file}," in shown


def test_two_notebooks_that_are_open_at_once_do_not_lose_each_others_entries(file: Path) -> None:
    """A second process writes between two answers of this one; both add to the tries of the same step."""
    exercise(1, numbers=True).card.entry.value = "3 ms"
    other = (
        "from tunelib.practice import exercise\n"
        "for step, text in ((1, '4 ms'), (2, '436 Hz')): exercise(step, numbers=True).card.entry.value = text"
    )
    subprocess.run([sys.executable, "-c", other], check=True, timeout=60)
    exercise(1, numbers=True).card.entry.value = "2.27 ms"
    kept = _steps(file)
    assert kept["1"]["tries"] == 3 and kept["1"]["right"]
    assert kept["2"]["tries"] == 1 and kept["2"]["right"]


DAMAGED = {
    "empty": b"",
    "half": b'{"format": 1, "steps": {"3": {"tries": 1, "ri',
    "a list": b"[1, 2, 3]",
    "a word": b'"progress"',
    "not text": b"\xff\xfe\x00\x01" * 20,
    "no format": b'{"steps": {}}',
    "format zero": b'{"format": 0, "steps": {}}',
    "format true": b'{"format": true, "steps": {}}',
    "steps a list": b'{"format": 1, "steps": [3]}',
    "a step of no number": b'{"format": 1, "steps": {"third": {"tries":1,"right":"","hint":false,"worked":false}}}',
    "a part missing": b'{"format": 1, "steps": {"3": {"tries": 1}}}',
    "not a number": b'{"format": 1, "steps": {"3": {"tries":NaN,"right":"","hint":false,"worked":false}}}',
    "tries below none": b'{"format": 1, "steps": {"3": {"tries":-1,"right":"","hint":false,"worked":false}}}',
    "tries in words": b'{"format": 1, "steps": {"3": {"tries":"1","right":"","hint":false,"worked":false}}}',
    "right is true": b'{"format": 1, "steps": {"3": {"tries":1,"right":true,"hint":false,"worked":false}}}',
    "right without a zone": b'{"format": 1, "steps": {"3": {"tries":1,"right":"2026-05-03",'
    b'"hint":false,"worked":false}}}',
    "right before all time": b'{"format": 1, "steps": {"3": {"tries":1,"right":"0001-01-01T00:00:00+14:00",'
    b'"hint":false,"worked":false}}}',
    "hint a number": b'{"format": 1, "steps": {"3": {"tries":1,"right":"","hint":1,"worked":false}}}',
    "deep": b"[" * 200_000,
    "long digits": b'{"format": ' + b"9" * 10_000 + b', "steps": {}}',
    "fifty megabytes": b'{"format": 1, "steps": {}}' + b" " * 50_000_000,
}


def test_a_moment_that_the_system_cannot_tell_the_day_of_is_damage(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As Windows cannot of one before 1970, for which it raises an OSError."""
    day = progress.Done.day.fget

    def of_windows(one: Any) -> str:
        if one.right.startswith("1960"):
            raise OSError(errno.EINVAL, "Invalid argument")
        return str(day(one))

    monkeypatch.setattr(progress.Done, "day", property(of_windows))
    entry = {"tries": 1, "right": "1960-01-01T00:00:00+00:00", "hint": False, "worked": False}
    file.parent.mkdir()
    file.write_text(json.dumps({"format": 1, "steps": {"3": entry}}), encoding="utf-8")
    assert exercise(3, numbers=True).card.note.value == "" and "could not be understood" in _shown()
    progress.keep_try(4, True, lambda _: None)
    assert _names(file) == ["progress-damaged-1.json", "progress.json"]


@pytest.mark.parametrize("what", DAMAGED)
def test_a_damaged_file_is_put_aside_whole_and_work_goes_on(file: Path, what: str) -> None:
    file.parent.mkdir()
    file.write_bytes(DAMAGED[what])
    assert exercise(3, numbers=True).card.note.value == ""
    assert "could not be understood" in _shown()
    assert file.read_bytes() == DAMAGED[what], "it was touched before anything was to be kept"
    card = exercise(3, numbers=True).card
    assert card.answer("3:2").right
    assert _names(file) == ["progress-damaged-1.json", "progress.json"]
    assert (file.parent / "progress-damaged-1.json").read_bytes() == DAMAGED[what]
    assert _steps(file)["3"]["right"]
    assert "progress-damaged-1.json" in card.note.value


def test_files_put_aside_earlier_are_never_written_over(file: Path) -> None:
    file.parent.mkdir()
    for number in (1, 2):
        file.with_name(f"progress-damaged-{number}.json").write_text(f"mine {number}")
    file.write_bytes(b"[]")
    progress.keep_try(3, True, lambda _: None)
    assert [file.with_name(f"progress-damaged-{n}.json").read_text() for n in (1, 2, 3)] == ["mine 1", "mine 2", "[]"]


def test_a_folder_or_a_pipe_in_place_of_the_file_blocks_nothing(file: Path) -> None:
    """A pipe would keep a reader waiting for ever."""
    file.mkdir(parents=True)
    progress.keep_try(3, True, lambda _: None)
    assert file.with_name("progress-damaged-1.json").is_dir() and _steps(file)["3"]["right"]
    if hasattr(os, "mkfifo"):
        file.unlink()
        os.mkfifo(file)
        progress.keep_try(4, True, lambda _: None)
        assert file.with_name("progress-damaged-2.json").is_fifo() and _steps(file)["4"]["right"]


def test_a_file_of_a_newer_format_is_left_alone_and_the_learner_told_once(file: Path) -> None:
    newer = b'{"format": 2, "steps": "otherwise"}'
    file.parent.mkdir()
    file.write_bytes(newer)
    notes = []
    for step, answer in ((3, "A"), (4, "C2 C3")):
        card = exercise(step).card
        assert card.answer(answer).understood
        notes.append(card.note.value)
    assert "newer version of these lessons" in notes[0] and notes[1] == ""
    assert file.read_bytes() == newer and _names(file) == ["progress.json"]
    assert "newer version" in _shown()


def test_entries_of_steps_that_the_course_does_not_have_stay(file: Path) -> None:
    file.parent.mkdir()
    entry = {"tries": 5, "right": "2031-01-02T03:04:05+00:00", "hint": False, "worked": True}
    file.write_text(json.dumps({"format": 1, "steps": {"99": entry}}), encoding="utf-8")
    progress.keep_try(3, True, pytest.fail)
    assert _steps(file)["99"] == entry and _steps(file)["3"]["tries"] == 1


@pytest.mark.parametrize("code", [errno.EROFS, errno.ENOSPC, errno.EACCES], ids=errno.errorcode.get)
def test_where_nothing_can_be_written_lessons_go_on_and_the_learner_is_told_once_where_that_was(
    file: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    """What could not be kept is held, and kept with the next answer once there is room."""

    def no_room(path: Path, data: bytes, overwrite: bool = False) -> None:
        raise OSError(code, os.strerror(code), str(path))

    with monkeypatch.context() as full:
        full.setattr(own_file, "write_whole", no_room)
        cards = [exercise(step, numbers=step == 3).card for step in (3, 4, 5)]
        for card, answer in zip(cards, ("3:2", "C2 C3", "A"), strict=True):
            assert card.answer(answer).understood
        told = [card.note.value for card in cards]
        assert "progress is not being kept" in told[0] and os.strerror(code).lower() in told[0]
        assert str(file) in told[0] and "The lessons work without it" in told[0]
        assert told[1:] == ["", ""]
        assert cards[0].note.layout.display != "none"
        assert "progress is not being kept" in _shown() and "✓ solved on" in _shown()
    progress.keep_try(6, False, pytest.fail)
    assert set(_steps(file)) == {"3", "4", "5", "6"}
    assert "not being kept" not in _shown()


def test_a_folder_that_cannot_be_made_is_said_as_well(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Real, not simulated: a file is where the folder should be."""
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path / "file" / "data"))
    card = exercise(3, numbers=True).card
    assert card.answer("3:2").right
    assert "progress is not being kept" in card.note.value and str(tmp_path / "file" / "data") in card.note.value
    assert (tmp_path / "file").read_text() == "in the way"


def test_an_answer_does_not_wait_for_the_disk(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a notebook's loop the response is there while a slow disk still writes; then the learner is told of it."""
    whole, read = own_file.write_whole, threading.Event()

    def slow(path: Path, data: bytes, overwrite: bool = False) -> None:
        read.wait(30)
        whole(path, data, overwrite)
        raise OSError(errno.EIO, "slow and broken")

    async def answer() -> None:
        monkeypatch.setattr(own_file, "write_whole", slow)
        card = exercise(3, numbers=True).card
        card.entry.value = "3:2"
        assert "✓" in card.response.value
        assert not file.exists(), "the answer waited for the disk"
        read.set()
        for _ in range(1000):  # a thread writes; a busy machine may let it wait
            await asyncio.sleep(0.05)
            if card.note.value:
                break
        assert "slow and broken" in card.note.value
        assert file.exists()

    asyncio.run(answer())


def test_forgetting_asks_to_be_pressed_twice_and_puts_the_old_file_aside(file: Path) -> None:
    progress.keep_try(3, True, pytest.fail)
    before = file.read_bytes()
    panel, ways_back = progress.progress(), []
    panel.forget.observe(lambda _: ways_back.append(panel.keep.layout.display), "description")
    panel.forget.click()
    assert file.read_bytes() == before and "once more" in panel.words.value
    assert ways_back == [""], "nobody is asked whether they are sure without a way back"
    panel.keep.click()
    assert panel.keep.layout.display == "none"
    panel.forget.click()
    assert file.read_bytes() == before, "a press that was taken back still counted"
    panel.forget.click()
    assert _names(file) == ["progress-before-1.json"]
    assert (file.parent / "progress-before-1.json").read_bytes() == before
    assert "progress-before-1.json" in panel.words.value and "✓" not in panel.list.value
    assert exercise(3, numbers=True).card.note.value == ""
    for _ in range(2):
        panel.forget.click()
    assert "nothing to forget" in panel.words.value


def test_forgetting_that_fails_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    progress.keep_try(3, True, pytest.fail)

    def refuse(*_: Any) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    for name in ("link", "rename"):
        monkeypatch.setattr(os, name, refuse)
    monkeypatch.setattr(Path, "rename", refuse)
    panel = progress.progress()
    for _ in range(2):
        panel.forget.click()
    assert "permission denied" in panel.words.value and "1 of 3 solved" in panel.list.value


def test_without_the_variable_the_file_is_in_the_systems_folder_for_such_things(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On Linux that is ``tunelib`` in XDG_DATA_HOME (XDG Base Directory Specification); nothing is written here."""
    monkeypatch.delenv("TUNELIB_DATA")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    path = progress.PROGRESS_FILE.path()
    assert path == Path(os.path.realpath(platformdirs.user_data_dir("tunelib", appauthor=False))) / "progress.json"
    if sys.platform.startswith("linux"):
        assert path == tmp_path / "home" / "tunelib" / "progress.json"
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: Path("~/.local/share/tunelib"))
    with pytest.raises(own_file.Unkept, match="no folder for it on this machine"):
        progress.PROGRESS_FILE.path()
    card = exercise(3, numbers=True).card
    assert card.answer("3:2").right and "TUNELIB_DATA" in card.note.value


def test_a_link_to_a_file_elsewhere_stays_a_link(file: Path, tmp_path: Path) -> None:
    """For those who keep it in a folder that is shared between machines."""
    file.parent.mkdir()
    file.symlink_to(tmp_path / "elsewhere.json")
    progress.keep_try(3, True, pytest.fail)
    assert file.is_symlink() and _steps(tmp_path / "elsewhere.json")["3"]["right"]


def test_test_runs_and_renewals_of_lessons_have_folders_of_their_own(file: Path) -> None:
    """The first is set before any test is read, and kernels that tests start inherit it; the other is one kernel's."""
    assert Path(AT_FIRST).is_relative_to(tempfile.gettempdir())
    cells = [new_code_cell('import os\nos.environ["TUNELIB_DATA"]')]
    fresh = renew_lessons.run(new_notebook(cells=cells), TOP)
    theirs = Path(ast.literal_eval(fresh.cells[0].outputs[0].data["text/plain"]))
    assert theirs.is_relative_to(tempfile.gettempdir()) and theirs != file.parent and not theirs.exists()
