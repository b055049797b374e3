"""A clip: one exhibit on film, its knobs moved along keyframes, with its own sound in time and captions."""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from matplotlib.colors import to_rgb

from tunelib.exhibits import find_exhibit
from tunelib.files import check_targets, staged
from tunelib.film.captions import captions as captions_of
from tunelib.film.encoder import CLEAR_SUFFIXES, FILM_SUFFIXES, Encoder, ffmpeg
from tunelib.film.flashes import MOST_FLASHES, FlashMeter
from tunelib.film.soundtrack import SOUNDS, USUAL_LOUDNESS, Soundtrack, check_loudness, soundtrack
from tunelib.film.timeline import Keyframe, Timeline
from tunelib.pitch import listed, look_up, plain, shortened
from tunelib.show import Stage, find_size
from tunelib.sound import SAMPLE_RATE, write_wav

RATES = (24, 25, 30, 50, 60)
CLIP_SIZES = ("1080p", "2160p", "square", "vertical")

_TELL_SECONDS = 0.25


@dataclass(frozen=True)
class ClipReport:
    """What came of a clip.

    `paths` are the film and, if there is one, its captions file; `pixels` its width and height; `rate` its frames a
    second, `frames` how many there are, and `drawn` how many differ from the one before; `loudness` is in LKFS and
    `true_peak` in dBTP, both None for a silent clip.
    """

    paths: tuple[Path, ...]
    pixels: tuple[int, int]
    rate: int
    frames: int
    drawn: int
    seconds: float
    loudness: float | None
    true_peak: float | None

    def __str__(self) -> str:
        width, height = self.pixels
        heard = "silent"
        if self.loudness is not None and self.true_peak is not None:
            heard = f"{plain(self.loudness)} LKFS, true peak {plain(self.true_peak)} dBTP"
        return (
            f"{', '.join(path.as_posix() for path in self.paths)}: {width} × {height}, {self.rate} frames a second, "
            f"{plain(self.seconds)} s, {heard}"
        )

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(str(self))


def clip(
    exhibit: str,
    path: str | Path,
    keyframes: Sequence[Keyframe],
    *,
    seconds: float | None = None,
    size: str = "1080p",
    theme: str = "light",
    fps: int = 30,
    title: str | None = None,
    sound: str = "at keyframes",
    loudness: float | None = USUAL_LOUDNESS,
    captions: bool = True,
    overwrite: bool = False,
    threads: int | None = None,
    progress: Callable[[float, float], None] | None = None,
) -> ClipReport:
    """Write a clip of an exhibit, and beside it a captions file (.vtt).

    Parameters
    ----------
    exhibit : str
        Name of the exhibit, such as ``"beats"``.
    path : str or Path
        The ending says which kind: .mp4 (H.264 and AAC), .webm (VP9 and Opus) or .mov (Apple's Animation codec, which
        keeps every pixel as it is).
    keyframes : sequence of Keyframe
        Where the knobs are at which moments; see `tunelib.film.timeline`.
    seconds : float, optional
        The length; three seconds after the last keyframe or its hold, unless given.
    size : str
        ``"1080p"``, ``"2160p"``, ``"square"`` or ``"vertical"``.
    theme : str
        ``"light"``, ``"dark"``, or for .webm and .mov ``"transparent"``.
    fps : int
        Frames a second: 24, 25, 30, 50 or 60.
    title : str, optional
        Stands in the picture in place of the exhibit's own title; an empty one leaves it out.
    sound : str
        ``"at keyframes"``: the exhibit's sound begins at each keyframe. ``"following"``: its chord sounds throughout,
        and its pitches move with the knobs. ``"off"``: none.
    loudness : float or None
        Integrated loudness in LKFS (ITU-R BS.1770-4), -40 to -14; the peak stays under -1 dBTP. None leaves the level
        at which lessons play.
    captions : bool
        Whether the captions file is written.
    overwrite : bool
        Whether to replace files that are there.
    threads : int, optional
        How many the encoder may use.
    progress : function, optional
        Called about four times a second with the share of the work done and the seconds that are left.

    A keyframe is seen from the first picture at or after its moment, so picture and sound are never a whole picture
    apart, however long the clip. Raises ValueError for an argument that is wrong, and for a picture that flashes more
    than three times a second (WCAG 2.2, 2.3.1); FileExistsError if a file is there and `overwrite` is false;
    ImportError, with what to install, where the encoder is missing; OSError where it fails. A file is written whole
    or not at all.
    """
    plan = plan_clip(
        exhibit,
        path,
        keyframes,
        seconds=seconds,
        size=size,
        theme=theme,
        fps=fps,
        title=title,
        sound=sound,
        loudness=loudness,
        captions=captions,
    )
    check_targets(plan.paths, overwrite)
    heard = soundtrack(plan.timeline, plan.sound, plan.frames * SAMPLE_RATE // fps, loudness)
    said = captions_of(plan.timeline).encode() if captions else b""
    names = [made.name for made in plan.paths]
    with (
        tempfile.TemporaryDirectory(prefix="tunelib-") as apart,
        staged(plan.paths[0].parent, names, overwrite) as making,
    ):
        wav = write_wav(Path(apart) / "sound.wav", heard.samples) if heard else None
        with Encoder(
            making / names[0],
            plan.stage.canvas.get_width_height(),
            fps,
            plan.clear,
            wav,
            threads,
            title or plan.stage.exhibit.title,
        ) as encoder:
            drawn = _film(plan, fps, encoder, progress or (lambda done, left: None))
            encoder.finish()
        if captions:
            (making / names[1]).write_bytes(said)
    return _report(plan, fps, drawn, heard)


def check_rate(fps: object) -> int:
    """Frames a second that a clip can have; ValueError for others."""
    if not isinstance(fps, int) or fps not in RATES:
        raise ValueError(f"a clip has {listed(RATES, 'or')} frames a second, not {shortened(fps)}")
    return fps


@dataclass(frozen=True)
class ClipPlan:
    """A clip that can be made: what is seen when, how many pictures that is, where it goes, and what is heard."""

    timeline: Timeline
    stage: Stage
    frames: int
    paths: tuple[Path, ...]
    clear: bool
    sound: str


def plan_clip(
    exhibit: str,
    path: str | Path,
    keyframes: Sequence[Keyframe],
    *,
    seconds: float | None = None,
    size: str = "1080p",
    theme: str = "light",
    fps: int = 30,
    title: str | None = None,
    sound: str = "at keyframes",
    loudness: float | None = USUAL_LOUDNESS,
    captions: bool = True,
) -> ClipPlan:
    """Check the arguments of `clip`, and raise what it would, without making anything; the folder need not be there."""
    film = Path(path)
    if film.suffix.lower() not in FILM_SUFFIXES:
        raise ValueError(f"a clip is a {listed(FILM_SUFFIXES, 'or')} file, not {film.name!r}")
    if size not in CLIP_SIZES:
        find_size(size)  # a slip of the pen gets the nearest name
        raise ValueError(f"the size of a clip is {listed(CLIP_SIZES, 'or')}, not {size!r}")
    check_rate(fps)
    sound = look_up(sound, {name: name for name in SOUNDS}, "sound")
    if loudness is not None:
        check_loudness(loudness)
    timeline = Timeline(find_exhibit(exhibit), keyframes, seconds)
    stage = Stage(timeline.exhibit, size, theme, title=title)
    clear = stage.look.theme.paper is None
    if clear and film.suffix.lower() not in CLEAR_SUFFIXES:
        raise ValueError(
            f"a {film.suffix} file cannot be transparent; give it the ending {' or '.join(CLEAR_SUFFIXES)}"
        )
    ffmpeg()
    paths = (film, film.with_suffix(".vtt")) if captions else (film,)
    return ClipPlan(timeline, stage, math.ceil(timeline.seconds * fps - 1e-6), paths, clear, sound)


def _film(plan: ClipPlan, fps: int, film: Encoder, progress: Callable[[float, float], None]) -> int:
    """Draw every picture and hand it to the encoder; returns how many differ from the one before."""
    theme = plan.stage.look.theme
    red, green, blue = (round(255 * part) for part in to_rgb(theme.behind_text))
    meter = FlashMeter(fps, (red, green, blue))
    before: dict[str, Any] | None = None
    drawn = 0
    began = told = time.monotonic()
    for number in range(plan.frames):
        values = plan.timeline.values(number / fps + 1e-9)
        if values == before:
            flashing = meter.same()
        else:
            plan.stage.move(values)
            flashing = meter.add(plan.stage.pixels())
            drawn, before = drawn + 1, values
        if flashing:
            raise ValueError(
                f"about {number / fps:.1f} seconds in, the picture flashes more than {MOST_FLASHES} times a second, "
                "which can harm some viewers (WCAG 2.2, 2.3.1): set the keyframes there further apart"
            )
        film.add(plan.stage.canvas.buffer_rgba())
        now = time.monotonic()
        if now - told >= _TELL_SECONDS:
            told, done = now, (number + 1) / plan.frames
            progress(done, (now - began) * (1 - done) / done)
    progress(1.0, 0.0)
    return drawn


def _report(plan: ClipPlan, fps: int, drawn: int, heard: Soundtrack | None) -> ClipReport:
    return ClipReport(
        paths=plan.paths,
        pixels=plan.stage.canvas.get_width_height(),
        rate=fps,
        frames=plan.frames,
        drawn=drawn,
        seconds=plan.frames / fps,
        loudness=heard.loudness if heard else None,
        true_peak=heard.true_peak if heard else None,
    )
