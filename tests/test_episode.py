"""Rendering an episode: what is made, what is left alone, what a stopped run leaves, and the contact sheet.

Digests are SHA-256 (FIPS 180-4); contrast is that of WCAG 2.2, 1.4.3. The ceiling for reading captions, 20 characters a
second, is common practice.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import multiprocessing
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from html.parser import HTMLParser
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from processes import heeding_signals, still_running
from test_exhibits import contrast

import tunelib.film.episode
import tunelib.film.origins
from tunelib.commands.line import main
from tunelib.exhibits import find_exhibit
from tunelib.files import alone_in
from tunelib.film import contact
from tunelib.film.captions import FASTEST_READING, reading_speeds
from tunelib.film.episode import Outcome, plan_episode, render_plan
from tunelib.film.origins import origin, reached
from tunelib.film.record import RECORD
from tunelib.film.shot import Episode
from tunelib.film.shots import parse_episode

STILLS = """\
title = "Glue & clamps"
[defaults]
sizes = ["panel"]
[[shot]]
name = "one"
exhibit = "beats"
note = "Say <this> first."
[[shot]]
name = "two"
exhibit = "wave"
formats = ["png", "svg"]
"""
CLIP = """\
[[shot]]
name = "three"
exhibit = "beats"
title = "A clip"
seconds = 1.5
fps = 24
sizes = ["square"]
[[shot.keyframe]]
at = 0
hold = 0.5
knobs = { difference = 4 }
[[shot.keyframe]]
at = 1
"""
NAMES = ["one-panel.png", "two-panel.png", "two-panel.svg"]


def read(text: str = STILLS, file: str = "episode.toml") -> Episode:
    return parse_episode(text.encode(), file)


def make(folder: Path, text: str = STILLS, file: str = "episode.toml", **how: Any) -> Outcome:
    only = how.pop("only", ())
    return render_plan(plan_episode(read(text, file), folder, only), **{"jobs": 1, **how})


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("finished")
    make(folder)
    return folder


@pytest.fixture
def made(finished: Path, tmp_path: Path) -> Path:
    """A folder in which a run has made everything."""
    shutil.copytree(finished, tmp_path, dirs_exist_ok=True)
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_second_run_does_nothing_and_touches_no_file(tmp_path: Path) -> None:
    first = make(tmp_path)
    assert (first.made, first.current, first.failed) == (NAMES, [], {})
    assert sorted(contents(tmp_path)) == sorted([*NAMES, "contact.html", RECORD])
    times = {path: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    second = make(tmp_path)
    assert (second.made, second.current, second.left) == ([], NAMES, [])
    assert times == {path: path.stat().st_mtime_ns for path in tmp_path.iterdir()}


@pytest.mark.parametrize(
    ("old", "new", "anew"),
    [
        ('exhibit = "wave"', 'exhibit = "wave"\nknobs = { hertz = 330 }', ["two-panel.png", "two-panel.svg"]),
        ('exhibit = "wave"', 'exhibit = "wave"\nknobs = { hertz = 220 }', []),  # as it is anyway
        ('exhibit = "beats"', 'exhibit = "beats"\ntitle = "Ours"', ["one-panel.png"]),
        ('"png", "svg"', '"svg", "pdf"', ["two-panel.pdf"]),
        ('["panel"]', '["panel"]\ntheme = "dark"', NAMES),
        ("Say <this> first.", "Say that.", []),
        ('name = "one"', 'name = "won"', ["won-panel.png"]),
        ('name = "two"', 'name = "two"\nsentence = true', ["two-panel.png", "two-panel.svg"]),
    ],
)
def test_what_changed_is_made_again_and_nothing_else(made: Path, old: str, new: str, anew: list[str]) -> None:
    before = contents(made)
    changed = STILLS.replace(old, new)
    assert changed != STILLS
    outcome = make(made, changed)
    assert outcome.made == anew
    after = contents(made)
    assert all(after[name] == before[name] for name in NAMES if name not in anew)
    assert all(after[name] != before.get(name) for name in anew)


def test_a_file_that_is_gone_is_made_again_the_same(made: Path) -> None:
    before = contents(made)
    (made / NAMES[0]).unlink()
    assert make(made).made == [NAMES[0]]
    assert contents(made)[NAMES[0]] == before[NAMES[0]]


def test_a_note_is_changed_on_the_contact_sheet_without_making_anything(made: Path) -> None:
    assert "Say &lt;this&gt; first." in (made / "contact.html").read_text(encoding="utf-8")
    assert make(made, STILLS.replace("<this>", "that")).made == []
    assert "Say that first." in (made / "contact.html").read_text(encoding="utf-8")


def test_the_record_holds_the_digest_of_each_file(made: Path) -> None:
    record = json.loads((made / RECORD).read_bytes())
    assert record["files"].keys() == {*NAMES, "contact.html"}
    for name, entry in record["files"].items():
        assert entry["digests"] == [hashlib.sha256((made / name).read_bytes()).hexdigest()]


def test_a_file_that_was_changed_or_is_not_ours_is_refused_before_anything_is_made(tmp_path: Path) -> None:
    make(tmp_path, only=["one"])
    (tmp_path / NAMES[0]).write_bytes(b"touched up")
    (tmp_path / NAMES[1]).write_bytes(b"mine")
    (tmp_path / "contact.html").write_bytes(b"mine too")
    before = contents(tmp_path)
    with pytest.raises(FileExistsError) as caught:
        make(tmp_path, STILLS.replace("beats", "shared_peaks"))
    assert str(caught.value).splitlines() == [
        f"{tmp_path / NAMES[0]} was changed since it was made",
        f"{tmp_path / NAMES[1]} was not made by this command",
        f"{tmp_path / 'contact.html'} was changed since it was made",
    ]
    assert contents(tmp_path) == before
    assert make(tmp_path, force=True).made == NAMES
    assert make(tmp_path).made == []


def test_two_shot_lists_do_not_write_over_each_other(made: Path) -> None:
    with pytest.raises(FileExistsError, match=r"one-panel\.png belongs to episode\.toml"):
        make(made, STILLS.replace("beats", "shared_peaks"), "other.toml")


def test_a_file_that_is_no_longer_in_the_list_is_named_and_left(made: Path) -> None:
    outcome = make(made, STILLS.replace('"png", "svg"', '"png"'))
    assert outcome.left == ["two-panel.svg"] and (made / "two-panel.svg").is_file()
    (made / "two-panel.svg").unlink()
    assert make(made, STILLS.replace('"png", "svg"', '"png"')).left == []


def test_only_some_shots_are_made_and_the_sheet_says_what_is_missing(tmp_path: Path) -> None:
    assert make(tmp_path, only=["Two"]).made == NAMES[1:]
    assert "not made yet" in (tmp_path / "contact.html").read_text(encoding="utf-8")
    with pytest.raises(ValueError, match="no shot is called 'thre'; did you mean three"):
        plan_episode(read(STILLS + CLIP), tmp_path, ["thre"])


def test_a_shot_that_fails_does_not_stop_the_others(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = tunelib.film.episode.still

    def failing(exhibit: str, path: Path, **how: Any) -> Path:
        if path.suffix == ".svg":
            path.write_bytes(b"half")
            raise OSError("the disk is full")
        return real(exhibit, path, **how)

    monkeypatch.setattr(tunelib.film.episode, "still", failing)
    outcome = make(tmp_path)
    assert outcome.made == NAMES[:2] and outcome.failed == {"two-panel.svg": "the disk is full"}
    assert sorted(contents(tmp_path)) == sorted([*NAMES[:2], "contact.html", RECORD])
    assert "not made: the disk is full" in (tmp_path / "contact.html").read_text(encoding="utf-8")
    monkeypatch.undo()
    assert make(tmp_path).made == ["two-panel.svg"]


@pytest.mark.parametrize("moment", ["still", "keep", "replace"])
def test_a_run_that_is_stopped_loses_nothing_that_was_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    """While the second file is drawn, just before it is put on record, and just before it takes its name"""
    make(tmp_path, STILLS.replace("beats", "shared_peaks").replace("wave", "shared_peaks"))
    where: Any = {"still": tunelib.film.episode, "keep": tunelib.film.record.Record, "replace": os}[moment]
    real, calls = getattr(where, moment), []

    def stopping(*given: Any, **named: Any) -> Any:
        if moment != "replace" or RECORD not in str(given):  # a file of the record's takes its name so too
            calls.append(given)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return real(*given, **named)

    monkeypatch.setattr(where, moment, stopping)
    with pytest.raises(KeyboardInterrupt):
        make(tmp_path)
    monkeypatch.undo()
    assert not [name for name in os.listdir(tmp_path) if name.startswith(".")]
    outcome = make(tmp_path)
    assert len(outcome.made) == 2 and len(outcome.current) == 1
    assert make(tmp_path).made == []


def test_a_second_run_in_the_same_folder_is_kept_out(tmp_path: Path) -> None:
    with alone_in(tmp_path), pytest.raises(FileExistsError, match="another run is at work"):
        make(tmp_path)
    assert make(tmp_path).made


@pytest.mark.parametrize("text", ["", "{", "[]", '{"version": 2}', '{"version": 1, "outputs": {"a": 1}, "files": {}}'])
def test_a_record_that_cannot_be_read_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / RECORD).write_text(text)
    with pytest.raises(ValueError, match="is not the record of an earlier run"):
        make(tmp_path)


# What an output is made from


def test_the_modules_that_draw_an_exhibit_are_found_and_those_of_others_are_not() -> None:
    drawing = reached([type(find_exhibit("beats")).__module__, "tunelib.show.still"])
    assert {"tunelib.exhibits.waves", "tunelib.exhibits.look", "tunelib.show.stage", "tunelib.score"} <= drawing
    assert {"tunelib.pitch.intervals", "tunelib.sound.render", "tunelib.hearing.beats"} <= drawing
    assert not {name for name in drawing if name.startswith(("tunelib.practice", "tunelib.exhibits.circle"))}
    assert "tunelib.film.soundtrack" in reached(["tunelib.film.clip"]) - drawing


def test_a_correction_to_one_exhibit_makes_its_own_pictures_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    def origins() -> dict[str, str]:
        tunelib.film.origins._code.cache_clear()
        return {output.file: origin(output) for output in read(STILLS.replace("wave", "fretboard")).outputs}

    before = origins()
    real = tunelib.film.origins._source
    monkeypatch.setattr(
        tunelib.film.origins,
        "_source",
        lambda module: real(module) + (b"# better" if module == "tunelib.exhibits.waves" else b""),
    )
    changed = origins()
    monkeypatch.undo()
    assert [name for name in before if before[name] != changed[name]] == ["one-panel.png"]
    monkeypatch.setattr(tunelib.film.origins, "_versions", lambda: {"matplotlib": "0"})
    assert not set(origins().values()) & set(before.values())
    tunelib.film.origins._code.cache_clear()


RICH = """\
[[shot]]
name = "three"
exhibit = "beats"
title = "A clip"
seconds = 16
fps = 24
build = true
sizes = ["square"]
[[shot.keyframe]]
at = 0
hold = 4
knobs = { difference = 4 }
[[shot.keyframe]]
at = 5
[[shot.point]]
at = 6
until = 8
part = "gap"
how = ["circle", "dim"]
words = "{beats} a second"
[[shot.then]]
exhibit = "wave"
at = 9
transition = "cross-fade"
knobs = { hertz = 330 }
"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("build = true", "build = false"),
        ("hold = 4", "hold = 4\nbuild = 3"),
        ("at = 6\n", "at = 6.5\n"),
        ("until = 8", "until = 8.5"),
        ('part = "gap"', 'part = "sum"'),
        ('["circle", "dim"]', '["circle"]'),
        ("{beats} a second", "{beats} in a second"),
        ('exhibit = "wave"', 'exhibit = "wave"\ntitle = "So"'),
        ("at = 9", "at = 9.5"),
        ('"cross-fade"', '"cut"'),
        ("hertz = 330", "hertz = 331"),
        ("[[shot.then]]", '[shot.beside]\nexhibit = "wave"\n[[shot.then]]'),
    ],
)
def test_all_that_a_clip_may_do_is_part_of_what_it_is_made_from(old: str, new: str) -> None:
    """So a change to any of it makes the clip anew; a spelling, or what is said in another order, does not."""
    wide = RICH.replace("square", "1080p")
    if "build = 3" in new:
        wide = wide.replace("build = true\n", "")
    changed = wide.replace(old, new)
    assert changed != wide
    [before], [after] = (read(text).outputs for text in (wide, changed))
    assert origin(before) != origin(after)
    [same] = read(wide.replace('part = "gap"', 'part = "Gap"').replace('"cross-fade"', '"Cross-Fade"')).outputs
    assert origin(same) == origin(before)


def test_both_exhibits_of_a_clip_are_part_of_what_it_is_made_from(monkeypatch: pytest.MonkeyPatch) -> None:
    """A correction to the one that follows makes it anew as well"""
    text = RICH.replace('"wave"', '"fretboard"').replace("hertz = 330", "")

    def made_from() -> str:
        tunelib.film.origins._code.cache_clear()
        return origin(read(text).outputs[0])

    before, real = made_from(), tunelib.film.origins._source
    monkeypatch.setattr(
        tunelib.film.origins,
        "_source",
        lambda module: real(module) + (b"# better" if module == "tunelib.exhibits.fretboard" else b""),
    )
    assert made_from() != before
    monkeypatch.undo()
    tunelib.film.origins._code.cache_clear()


def test_the_sheet_shows_a_clip_at_each_keyframe_of_each_exhibit_and_where_something_is_pointed_at() -> None:
    """As it is on film, ring and all, and says what for"""
    episode = read(RICH)
    [shot] = episode.shots
    assert [(glance.begins, glance.exhibit.name) for glance in shot.glances] == [
        (0, "beats"), (5, "beats"), (6, "beats"), (9.6, "wave")
    ]  # fmt: skip
    shown = contact.pictures(shot)
    rows = [contact.Row(output, contact.NEW, None) for output in episode.outputs]
    page = Page(contact.contact_sheet(episode, rows, {"three": shown}).decode())
    assert len(page.all("img")) == len(shown) == 4 and len(set(shown)) == 4
    assert f"This points at {find_exhibit('beats').parts['gap']}, with the words: 4 a second" in page.words
    assert "of the exhibits beats and wave" in page.words


# The command, in processes of its own


COMMAND = [sys.executable, "-m", "tunelib", "render"]


@pytest.fixture(scope="module")
def rendered(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """An episode of stills and a clip, made by two processes."""
    folder = tmp_path_factory.mktemp("film")
    (folder / "film.toml").write_text(STILLS + CLIP, encoding="utf-8")
    command = [*COMMAND, str(folder / "film.toml"), "--out", str(folder / "out"), "--jobs", "2"]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"})
    return folder / "out", done


def test_the_command_makes_stills_and_clips_with_several_processes(
    rendered: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    folder, done = rendered
    assert done.returncode == 0, done.stderr
    made = [*NAMES, "three-square.mp4"]
    *paths, summary = done.stdout.splitlines()
    assert [Path(path).name for path in paths] == made
    assert summary == f"4 made, 0 current; look through them in {folder / 'contact.html'}"
    assert sorted(done.stderr.splitlines()) == sorted(f"{name} is made" for name in made)
    assert sorted(os.listdir(folder)) == sorted([*made, "three-square.vtt", "contact.html", RECORD])


def test_several_processes_draw_what_one_does(
    rendered: tuple[Path, subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    make(tmp_path)
    for name in NAMES:
        assert (tmp_path / name).read_bytes() == (rendered[0] / name).read_bytes()


def test_what_one_run_made_is_current_for_the_next(
    rendered: tuple[Path, subprocess.CompletedProcess[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = rendered[0]
    assert main(["render", str(folder.parent / "film.toml"), "--out", str(folder), "--jobs", "1"]) == 0
    printed = capsys.readouterr()
    assert printed.out == f"0 made, 4 current; look through them in {folder / 'contact.html'}\n"
    assert printed.err == ""


@pytest.mark.parametrize("after", [0, 0.3, 2])
def test_a_process_that_is_ended_from_outside_costs_no_file(tmp_path: Path, after: float) -> None:
    """As a system does that is short of memory: what the process was at is made once more, alone"""
    outcomes: list[Outcome] = []
    before = set(multiprocessing.active_children())
    run = threading.Thread(target=lambda: outcomes.append(make(tmp_path, STILLS + CLIP, jobs=2)), daemon=True)
    run.start()
    while run.is_alive() and not (workers := set(multiprocessing.active_children()) - before):
        time.sleep(0.001)
    time.sleep(after)
    workers.pop().kill()
    run.join()
    assert outcomes[0].made == [*NAMES, "three-square.mp4"] and outcomes[0].failed == {}


def begun(folder: Path) -> subprocess.Popen[str]:
    """The command at work on two clips that take minutes, in a process group of its own."""
    long = CLIP.replace("at = 1\n", "at = 600\nknobs = { difference = 5 }\n").replace("seconds = 1.5", "sound = 'off'")
    (folder / "film.toml").write_text(long + long.replace("three", "four"), encoding="utf-8")
    command = [*COMMAND, str(folder / "film.toml"), "--out", str(folder / "out"), "--jobs", "2"]
    (folder / "temporary").mkdir()
    with heeding_signals():
        run = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
            env={**os.environ, "TMPDIR": str(folder / "temporary")},
        )  # fmt: skip
    while len(list((folder / "out").glob(".tunelib-*/made/.tunelib-*/made/*"))) < 2:
        assert run.poll() is None, run.communicate()[1]
        time.sleep(0.05)
    return run


@pytest.mark.skipif(os.name == "nt", reason="signals to a group of processes are of other systems")
def test_ctrl_c_stops_all_at_once_and_leaves_nothing_behind(tmp_path: Path) -> None:
    run = begun(tmp_path)
    os.killpg(run.pid, signal.SIGINT)
    try:
        out, err = run.communicate(timeout=120)
    finally:
        run.kill()
    assert run.returncode == 130 and out == ""
    assert err == "python -m tunelib render: stopped\n"
    assert os.listdir(tmp_path / "out") == []
    assert not still_running(str(tmp_path))
    assert list((tmp_path / "temporary").glob("tunelib-*")) == []


@pytest.mark.skipif(os.name == "nt", reason="signals to a group of processes are of other systems")
def test_processes_do_not_outlive_a_run_that_is_killed_and_the_next_run_clears_what_it_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = begun(tmp_path)
    run.kill()
    until = time.monotonic() + 120
    while still_running(str(tmp_path)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not still_running(str(tmp_path))
    run.communicate()  # its processes held the other ends
    assert list((tmp_path / "temporary").glob("tunelib-*")) == []
    (tmp_path / "film.toml").write_text(STILLS, encoding="utf-8")
    assert main(["render", str(tmp_path / "film.toml"), "--out", str(tmp_path / "out")]) == 0
    assert "what an earlier run left unfinished here was cleared away" in capsys.readouterr().err
    assert not list((tmp_path / "out").glob(".*"))


def test_mistakes_are_told_line_by_line_and_nothing_is_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "film.toml"
    path.write_text(STILLS.replace('"wave"', '"wav"').replace("panel", "pannel"), encoding="utf-8")
    assert main(["render", str(path), "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "film.toml, line 3: no size is called 'pannel'; did you mean panel or square panel?",
        "film.toml, line 10: no exhibit is called 'wav'; did you mean wave?",
        f"python -m tunelib render: 2 mistakes in {path}; nothing was made",
    ]
    assert not (tmp_path / "out").exists()


def test_a_check_makes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "film.toml"
    path.write_text(STILLS, encoding="utf-8")
    assert main(["render", str(path), "--out", str(tmp_path / "out"), "--check"]) == 0
    assert capsys.readouterr().out == f"{path} is in order: 3 files to make, 0 current\n"
    assert not (tmp_path / "out").exists()


def test_files_in_the_way_are_all_named_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "film.toml", tmp_path / "out"
    path.write_text(STILLS, encoding="utf-8")
    out.mkdir()
    for name in NAMES[:2]:
        (out / name).write_bytes(b"mine")
    assert main(["render", str(path), "--out", str(out)]) == 2
    *named, last = capsys.readouterr().err.splitlines()
    assert named == [f"{out / name} was not made by this command" for name in NAMES[:2]]
    assert "nothing was made" in last and "--force" in last
    assert sorted(os.listdir(out)) == NAMES[:2]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "the following arguments are required: --out"),
        (["--out", "x", "--jobs", "0"], "the number of jobs is 1 or more, not '0'"),
        (["--out", "x", "--jobs", "99"], "the number of jobs must be from 1 to 60, not 99"),
        (["--out", "x", "--only", "on"], "no shot is called 'on'; did you mean one"),
    ],
)
def test_a_wrong_argument_gets_one_line(
    arguments: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "film.toml"
    path.write_text(STILLS, encoding="utf-8")
    given = [str(tmp_path / "x") if word == "x" else word for word in arguments]
    assert main(["render", str(path), *given]) == 2
    error = capsys.readouterr().err
    assert message in error and error.count("\n") == 1
    assert os.listdir(tmp_path) == ["film.toml"]


# The contact sheet


class Page(HTMLParser):
    """What a page is made of: its tags in order, with attributes, and its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "img", "rect"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag != "rect":
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def page(rendered: tuple[Path, subprocess.CompletedProcess[str]]) -> Page:
    return Page((rendered[0] / "contact.html").read_text(encoding="utf-8"))


def test_the_sheet_stands_alone(page: Page) -> None:
    """Nothing is loaded from anywhere; links lead to the files beside it"""
    assert page.open == []
    assert all(str(picture["src"]).startswith("data:image/jpeg;base64,") for picture in page.all("img"))
    assert not {tag for tag, _ in page.tags} & {"script", "link", "iframe", "video", "audio", "object"}
    style = contact._STYLE
    assert "url(" not in style and "@import" not in style
    links = [str(link["href"]) for link in page.all("a")]
    assert links == [
        "#one", "#two", "#three", *NAMES, "three-square.mp4", "three-square.vtt"
    ]  # fmt: skip


def test_the_sheet_has_language_headings_and_a_text_for_each_picture(page: Page) -> None:
    assert page.all("html") == [{"lang": "en"}]
    assert [tag for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)] == ["h1", "h2", "h2", "h2"]
    assert all(picture["alt"] for picture in page.all("img"))
    assert all(graphic["role"] == "img" and graphic["aria-label"] for graphic in page.all("svg"))
    assert {"width", "height"} <= page.all("img")[0].keys()
    assert any(meta.get("name") == "viewport" for meta in page.all("meta"))


def test_the_sheet_shows_each_keyframe_as_the_exhibit_does(page: Page) -> None:
    pictures = [Image.open(io.BytesIO(base64.b64decode(str(one["src"]).split(",")[1]))) for one in page.all("img")]
    assert [picture.size for picture in pictures] == [(640, 360), (640, 360), (640, 640), (640, 640)]
    beats = find_exhibit("beats")
    still, moved = (beats.sentence(**beats.settle({"difference": difference})) for difference in (3, 4))
    assert page.words.count(still) == 1 and page.words.count(moved) == 2  # the second keyframe names no knob
    assert "difference 4 Hz" in page.words and "at 0:01.0" in page.words and "held 0.5 s" in page.words


def test_the_sheet_gives_the_figures_of_each_file(
    rendered: tuple[Path, subprocess.CompletedProcess[str]], page: Page
) -> None:
    record = json.loads((rendered[0] / RECORD).read_bytes())["outputs"]["three-square.mp4"]["figures"]
    assert (record["width"], record["height"], record["fps"], record["seconds"]) == (1080, 1080, 24, 1.5)
    assert record["bytes"] == (rendered[0] / "three-square.mp4").stat().st_size
    assert record["loudness"] == pytest.approx(-23, abs=0.1) and record["true_peak"] < -1
    assert "1080 × 1080" in page.words and "−23.0 LKFS" in page.words and "dBTP" in page.words and "1.5 s" in page.words


def test_captions_that_nobody_can_read_in_time_are_marked(page: Page) -> None:
    shot = read(STILLS + CLIP).shots[2]
    assert FASTEST_READING == 20 and min(reading_speeds(shot.programme)) > 20
    assert "Captions too fast to read at keyframes 1, 2" in page.words
    mixed = read(CLIP.replace("at = 1\n", "at = 12\n").replace("seconds = 1.5", "seconds = 12.5"))
    first, second = reading_speeds(mixed.shots[0].programme)
    assert first < 20 < second
    rows = [contact.Row(output, contact.NEW, None) for output in mixed.outputs]
    assert "Captions too fast to read</b> at keyframe 2:" in contact.contact_sheet(mixed, rows, {}).decode()


@pytest.mark.parametrize(
    ("ink", "paper"),
    [
        *product((contact._INK, contact._GREY, contact._LINK, contact._MARK), (contact._PAPER, "#ffffff")),
        (contact._INK, contact._BAND),
        (contact._PAPER, contact._INK),
    ],
)
def test_words_on_the_sheet_have_the_contrast_that_text_needs(ink: str, paper: str) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1"""
    assert contrast(ink, paper) >= 4.5
