"""Clips: what is on film, in which shape, and whether picture and sound keep together."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import textwrap
from dataclasses import replace
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any, ClassVar

import numpy as np
import pytest
from film import metered, pictures, sound, streams
from matplotlib.patches import Rectangle
from processes import heeding_signals, still_running

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Scene, Slider, Switch, Voicing
from tunelib.exhibits.look import Look
from tunelib.film import Keyframe, clip, encoder
from tunelib.film.clip import CLIP_SIZES, RATES, ClipPlan
from tunelib.film.encoder import CLEAR_SUFFIXES, FILM_SUFFIXES
from tunelib.pitch.words import listed
from tunelib.score import Score, ScoreNote
from tunelib.show import stage as stages
from tunelib.show.stage import Size, Stage
from tunelib.sound.timbre import TIMBRES

BEATS = [Keyframe(0, {"difference": 1}, hold=0.5), Keyframe(1, {"difference": 6})]


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """Pictures of a tenth of the width and height, where what they show does not matter."""
    monkeypatch.setitem(stages.SIZES, "1080p", Size(9.6, 5.4, 20))
    return 192, 108


class Metronome(Exhibit):
    """A square that is light or dark, and a tick."""

    name: ClassVar[str] = "metronome"
    title: ClassVar[str] = ""
    knobs: ClassVar[tuple[Knob, ...]] = (Switch("lit", "Lit", False), Slider("beat", "Beat", 0, 10_000, 1, 0))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        square = figure.add_artist(Rectangle((0.1, 0.1), 0.8, 0.8, transform=figure.transFigure))

        def update(lit: bool, beat: int) -> None:
            square.set_facecolor("white" if lit else "black")

        return Scene((square,), update)

    def sentence(self, lit: bool, beat: int) -> str:
        return f"Beat {beat}, {'light' if lit else 'dark'}."

    def score(self, **values: Any) -> Score:
        return Score((ScoreNote(0, 0.25, 1000.0),))

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["tick"]


def ticking(monkeypatch: pytest.MonkeyPatch, path: Path, seconds: float, fps: int, every: float) -> np.ndarray:
    """Film a metronome; returns by how many seconds each of its ticks comes after its picture."""
    monkeypatch.setitem(EXHIBITS, "metronome", Metronome())
    beats = [
        Keyframe(round(0.4 + every * i, 3), {"lit": i % 2 == 0, "beat": i}, ease="jump")
        for i in range(1, int((seconds - 1) / every))
    ]
    clip("metronome", path, beats, seconds=seconds, fps=fps, captions=False)
    light = pictures(path, (192, 108), scale=12)[..., 1].astype(float).mean(axis=(1, 2))
    seen = (1 + np.flatnonzero(np.abs(np.diff(light)) > 60)) / fps
    loud = np.flatnonzero(np.abs(sound(path)) > 0.02) / 48000
    heard = loud[np.flatnonzero(np.diff(loud, prepend=-1) > every / 2)]
    assert len(seen) + 1 == len(heard) == len(beats), "the first beat changes no picture"
    return np.asarray(heard[1:] - seen)


@pytest.mark.parametrize("fps", [24, 30, 60])
@pytest.mark.parametrize("suffix", FILM_SUFFIXES)
def test_ticks_are_seen_when_they_are_heard(
    small: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, suffix: str, fps: int
) -> None:
    """In every kind of file, even between two pictures, a tick is heard less than one picture from where it is seen."""
    late = ticking(monkeypatch, tmp_path / f"ticks{suffix}", seconds=8, fps=fps, every=0.707)
    assert np.abs(late).max() < 1 / fps, late


def test_picture_and_sound_keep_together_for_ten_minutes(
    small: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """After ten minutes the ticks are where they were after ten seconds, and both streams are equally long."""
    path = tmp_path / "long.mp4"
    late = ticking(monkeypatch, path, seconds=600, fps=25, every=9.973)
    assert np.abs(late).max() < 1 / 25
    assert abs(late[-3:].mean() - late[:3].mean()) < 1 / 25
    told = streams(path)
    assert float(told["video"]["duration"]) == pytest.approx(600, abs=1e-3)
    assert float(told["audio"]["duration"]) == pytest.approx(600, abs=1 / 25)
    assert int(told["video"]["nb_read_frames"]) == 15000


@pytest.mark.parametrize("size", CLIP_SIZES)
def test_a_clip_has_the_size_and_the_codecs_it_should(tmp_path: Path, size: str) -> None:
    """1920 by 1080, 3840 by 2160, 1080 square, 1080 by 1920 (common practice); H.264 in yuv420p with AAC in an MP4."""
    path = tmp_path / "beats.mp4"
    report = clip("beats", path, BEATS[1:], seconds=1.2, size=size)
    told = streams(path)
    video, audio = told["video"], told["audio"]
    asked = {"1080p": (1920, 1080), "2160p": (3840, 2160), "square": (1080, 1080), "vertical": (1080, 1920)}[size]
    assert (video["width"], video["height"]) == report.pixels == asked
    assert (video["codec_name"], video["pix_fmt"], audio["codec_name"]) == ("h264", "yuv420p", "aac")
    assert {video[f"color_{what}"] for what in ("space", "transfer", "primaries")} == {"bt709"}
    assert audio["sample_rate"] == "48000" and report.frames == int(video["nb_read_frames"]) == 36


@pytest.mark.parametrize("fps", RATES)
def test_a_clip_has_the_rate_and_the_length_it_should(small: Any, tmp_path: Path, fps: int) -> None:
    """As many frames a second as were asked for, for as long as was asked."""
    report = clip("beats", tmp_path / "beats.mp4", BEATS, seconds=2, fps=fps)
    video = streams(tmp_path / "beats.mp4")["video"]
    assert video["r_frame_rate"] == f"{fps}/1" and float(video["duration"]) == pytest.approx(2, abs=1e-3)
    assert (report.frames, report.seconds) == (2 * fps, 2)
    assert len(sound(tmp_path / "beats.mp4")) == pytest.approx(96000, abs=48000 / fps)


@pytest.mark.parametrize("suffix", FILM_SUFFIXES)
def test_what_is_on_film_is_the_exhibit(tmp_path: Path, suffix: str) -> None:
    """Pictures pulled out at the keyframes and between them are those of a still at the knobs' values then."""
    path = tmp_path / f"wave{suffix}"
    keyframes = [Keyframe(0, {"hertz": 110}), Keyframe(1, {"hertz": 440}, hold=0.2, ease="steady")]
    clip("wave", path, keyframes, seconds=1.4, theme="dark", sound="off")
    film = pictures(path, (1920, 1080), at=[0, 15, 30, 41], scale=4)
    stage = Stage(EXHIBITS["wave"], "1080p", "dark")
    for picture, hertz in zip(film, [110, 220, 440, 440], strict=True):
        stage.move(EXHIBITS["wave"].settle({"hertz": hertz}))
        whole = stage.pixels().reshape(270, 4, 480, 4, 4).astype(float).mean(axis=(1, 3))
        assert np.abs(whole[..., :3] - picture[..., :3]).mean() < 1.5, hertz
    assert list(streams(path)) == ["video"], "a silent clip has no sound"


@pytest.mark.parametrize("suffix", CLEAR_SUFFIXES)
def test_a_transparent_clip_lets_the_background_through(tmp_path: Path, suffix: str) -> None:
    """Opacity is that of the picture; a MOV keeps every pixel as it is."""
    leeway = 0.0 if suffix == ".mov" else 2.0
    path = tmp_path / f"ladder{suffix}"
    clip("harmonic_ladder", path, [Keyframe(0)], seconds=0.5, theme="transparent", sound="off")
    [picture] = pictures(path, (1920, 1080), at=[7])
    stage = Stage(EXHIBITS["harmonic_ladder"], "1080p", "transparent")
    stage.move(EXHIBITS["harmonic_ladder"].settle({}))
    drawn = stage.pixels()
    assert picture[0, 0, 3] == 0 and picture[..., 3].max() == 255
    assert np.abs(picture[..., 3].astype(float) - drawn[..., 3]).mean() <= leeway
    if not leeway:
        seen = drawn[..., 3] > 0
        assert np.array_equal(picture[seen], drawn[seen])


@pytest.mark.parametrize("target", [-23.0, -14.0])
@pytest.mark.parametrize("how", ["at keyframes", "following"])
def test_a_clip_is_as_loud_as_it_was_asked_to_be(small: Any, tmp_path: Path, how: str, target: float) -> None:
    """ffmpeg's meter of EBU R 128 (ITU-R BS.1770-4) reads the loudness that was asked for, and peaks under -1 dBTP."""
    report = clip("five_thirds", tmp_path / "thirds.mp4", [Keyframe(0)], seconds=6, sound=how, loudness=target)
    read, peak = metered(tmp_path / "thirds.mp4")
    assert read == pytest.approx(target, abs=0.3) and report.loudness == pytest.approx(target, abs=0.1)
    assert peak <= -0.9 and report.true_peak is not None and peak == pytest.approx(report.true_peak, abs=0.5)


def test_without_a_loudness_a_clip_sounds_as_its_lesson_does(small: Any, tmp_path: Path) -> None:
    """None leaves the samples that the exhibit gives, each from its keyframe on."""
    path = tmp_path / "wave.mov"
    clip("wave", path, [Keyframe(0.25, {"hertz": 330})], seconds=4, loudness=None)
    heard, given = sound(path), EXHIBITS["wave"].sound(**EXHIBITS["wave"].settle({"hertz": 330}))
    assert np.abs(heard[12000 : 12000 + given.size] - given).max() < 2**-22
    assert np.abs(heard[:12000]).max() == np.abs(heard[12000 + given.size :]).max() == 0


def test_a_sound_is_known_by_any_spelling_of_its_name(small: Any, tmp_path: Path) -> None:
    """Capitals do not matter, here as elsewhere: `Off` is off."""
    assert clip("wave", tmp_path / "off.mp4", [Keyframe(0)], seconds=1, sound="Off").loudness is None


def test_a_sound_that_is_cut_off_by_the_next_fades_first(small: Any, tmp_path: Path) -> None:
    """No leap of the wave at a keyframe, nor at the end."""
    path = tmp_path / "wave.mov"
    clip("wave", path, [Keyframe(0, {"hertz": 110}), Keyframe(1, {"hertz": 117})], seconds=1.5, loudness=None)
    heard = sound(path)
    steepest = 2 * np.pi * 117 / 48000 * np.abs(heard).max()
    assert np.abs(np.diff(heard)).max() < 1.2 * steepest and abs(heard[-1]) < 1e-4


@pytest.mark.skipif(os.name == "nt", reason="this signal is of other systems")
def test_a_stopped_run_leaves_no_half_file(tmp_path: Path) -> None:
    """An interrupt in the middle of a clip leaves the folder as it was, and no encoder behind."""
    program = f"""
        from tunelib.film import Keyframe, clip
        tell = lambda done, left: print(done, flush=True)
        clip("wave", {str(tmp_path / "wave.mp4")!r}, [Keyframe(0), Keyframe(60, {{"hertz": 440}})], progress=tell)
    """
    command = [sys.executable, "-c", textwrap.dedent(program)]
    with heeding_signals():
        started = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    with started as running:
        assert running.stdout is not None
        assert running.stdout.readline()
        [half] = tmp_path.iterdir()
        assert half.name.startswith(".tunelib-")
        running.send_signal(signal.SIGINT)
        assert running.wait() != 0
    assert list(tmp_path.iterdir()) == []
    assert not still_running(str(half))


def test_an_encoder_that_cannot_be_started_leaves_nothing(small: Any, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr("tunelib.film.encoder.ffmpeg", lambda: str(tmp_path / "nowhere" / "ffmpeg"))
    with pytest.raises(FileNotFoundError, match="ffmpeg"):
        clip("wave", tmp_path / "wave.mp4", [Keyframe(0)])
    assert list(tmp_path.iterdir()) == []


def test_an_encoder_that_fails_is_reported_in_its_own_words(small: Any, tmp_path: Path, monkeypatch: Any) -> None:
    """What ffmpeg says reaches the user, and nothing stays."""
    mp4 = replace(encoder._KINDS[".mp4"], picture=("-c:v", "no_such_codec"))
    monkeypatch.setitem(encoder._KINDS, ".mp4", mp4)
    with pytest.raises(OSError, match=r"wave\.mp4 cannot be written: .*no_such_codec"):
        clip("wave", tmp_path / "wave.mp4", [Keyframe(0)])
    assert list(tmp_path.iterdir()) == []


def test_a_clip_never_overwrites_unasked(small: Any, tmp_path: Path) -> None:
    """Neither the film nor its captions, and a refused clip costs no time."""
    for name in ("wave.mp4", "wave.vtt"):
        (tmp_path / name).write_bytes(b"somebody's work")
        with pytest.raises(FileExistsError, match=name.replace(".", r"\.")):
            clip("wave", tmp_path / "wave.mp4", [Keyframe(0)])
        assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"somebody's work"]
        (tmp_path / name).unlink()
    (tmp_path / "wave.mp4").write_bytes(b"old")
    report = clip("wave", tmp_path / "wave.mp4", [Keyframe(0)], seconds=1, overwrite=True)
    names = ["wave.mp4", "wave.vtt"]
    assert [path.name for path in report.paths] == sorted(path.name for path in tmp_path.iterdir()) == names
    assert (tmp_path / "wave.mp4").stat().st_size > 1000


def test_a_flashing_clip_is_refused(small: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Light and dark eight times a second is not written; twice a second is (WCAG 2.2, 2.3.1)."""
    monkeypatch.setitem(EXHIBITS, "metronome", Metronome())

    def blinking(times_a_second: float) -> list[Keyframe]:
        return [Keyframe(i / times_a_second / 2, {"lit": i % 2 == 1}, ease="jump") for i in range(20)]

    with pytest.raises(ValueError, match=r"about 0\.5 seconds in, the picture flashes more than 3 times a second"):
        clip("metronome", tmp_path / "blink.mp4", blinking(8))
    assert list(tmp_path.iterdir()) == []
    clip("metronome", tmp_path / "blink.mp4", blinking(2))


@pytest.mark.parametrize("exhibit", EXHIBITS)
def test_every_exhibit_can_be_filmed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, exhibit: str) -> None:
    """Each with its knobs on their way from one end to the other, all at once, for two seconds; but sixty divisions of
    which each has keys of its own would flash by, so there it is twenty-six."""
    monkeypatch.setitem(stages.SIZES, "1080p", Size(9.6, 5.4, 50))
    ends = [{knob.name: knob.corners[end] for knob in EXHIBITS[exhibit].knobs} for end in (0, 1)]
    if exhibit == "finer_steps":
        ends[1]["division"] = 31
    keyframes = [Keyframe(0, ends[0]), Keyframe(1.9, ends[1])]
    report = clip(exhibit, tmp_path / "it.mp4", keyframes, seconds=2, fps=24, sound="following")
    assert report.frames == 48 and report.drawn >= 2 and report.loudness == pytest.approx(-23, abs=0.1)
    assert streams(tmp_path / "it.mp4").keys() == {"video", "audio"}
    assert EXHIBITS[exhibit].sentence(**EXHIBITS[exhibit].settle(ends[1])).split()[0] in report.paths[1].read_text()


def test_progress_is_told_with_the_time_that_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rising shares that end with the whole, and a time left that is what the rest takes, if all pictures take as long.

    The clock is the test's own: 0.1 seconds to a picture.
    """
    ticks = (0.1 * tick for tick in count())
    monkeypatch.setattr(sys.modules[clip.__module__], "time", SimpleNamespace(monotonic=lambda: next(ticks)))
    told: list[tuple[float, float]] = []
    clip(
        "wave", tmp_path / "wave.mp4", [Keyframe(0, {"moment": 0}), Keyframe(5, {"moment": 1})], seconds=5, fps=25,
        progress=lambda done, left: told.append((done, left)),
    )  # fmt: skip
    shares = [done for done, _ in told]
    assert len(told) > 3 and shares == sorted(shares) and told[-1] == (1, 0)
    assert [left for _, left in told] == pytest.approx([0.1 * 125 * (1 - done) for done in shares])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"exhibit": "waev"}, "did you mean wave"),
        ({"path": "clip.avi"}, rf"a clip is a {re.escape(listed(FILM_SUFFIXES, 'or'))} file, not 'clip.avi'"),
        ({"size": "1080"}, "did you mean 1080p"),
        ({"size": "print"}, "the size of a clip is 1080p, 2160p, square or vertical, not 'print'"),
        ({"theme": "drak"}, "did you mean dark"),
        ({"theme": "transparent"}, r"a \.mp4 file cannot be transparent; give it the ending \.webm or \.mov"),
        ({"fps": 29}, "a clip has 24, 25, 30, 50 or 60 frames a second, not 29"),
        ({"fps": 30.0}, "frames a second, not 30.0"),
        ({"sound": "folowing"}, "did you mean following"),
        ({"loudness": -5}, "the loudness must be from -40 to -14 LKFS, not -5"),
        ({"loudness": float("nan")}, "the loudness must be from -40 to -14 LKFS, not nan"),
        ({"keyframes": []}, "needs at least one keyframe"),
        ({"keyframes": [Keyframe(0, {"hertz": 1})]}, "keyframe 1: hertz goes from 55"),
        ({"title": "A title that goes on and on " * 4}, "too long for a picture of 'wave'"),
    ],
)
def test_a_clip_refuses_what_does_not_exist(tmp_path: Path, arguments: dict[str, Any], message: str) -> None:
    """Each wrong argument gets one line that says what would be right, before anything is made."""
    given: dict[str, Any] = {"exhibit": "wave", "path": "clip.mp4", "keyframes": [Keyframe(0)]} | arguments
    given["path"] = tmp_path / given["path"]
    for refuses in (clip, ClipPlan):
        with pytest.raises(ValueError, match=message):
            refuses(**given)
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_missing_is_named(tmp_path: Path) -> None:
    """As for every file that is written."""
    with pytest.raises(FileNotFoundError, match="the folder .*nowhere does not exist; make it first"):
        clip("wave", tmp_path / "nowhere" / "wave.mp4", [Keyframe(0)])
