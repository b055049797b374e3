"""A clip: exhibits on film, their knobs moved along keyframes, with their own sound in time and captions."""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from matplotlib.colors import to_rgb

from tunelib.files import check_targets, staged
from tunelib.film.acts import Act, Programme
from tunelib.film.captions import captions as captions_of
from tunelib.film.encoder import CLEAR_SUFFIXES, FILM_SUFFIXES, Encoder, ffmpeg
from tunelib.film.flashes import MOST_FLASHES, FlashMeter
from tunelib.film.pointing import Point
from tunelib.film.projector import Projector
from tunelib.film.soundtrack import SOUNDS, USUAL_LOUDNESS, Soundtrack, check_loudness, soundtrack
from tunelib.film.talk import Say, Spoken, spoken
from tunelib.film.timeline import Keyframe
from tunelib.pitch import listed, look_up, plain, shortened
from tunelib.show import find_size
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
    overwrite: bool = False,
    threads: int | None = None,
    progress: Callable[[float, float], None] | None = None,
    **settings: Any,
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
    overwrite : bool
        Whether to replace files that are there.
    threads : int, optional
        How many the encoder may use.
    progress : function, optional
        Called about four times a second with the share of the work done and the seconds that are left.
    **settings
        All else that `ClipPlan` takes: seconds, size, theme, fps, title, sound, loudness, captions, build, points,
        beside, then and say.

    A keyframe is seen from the first picture at or after its moment, so picture and sound are never a whole picture
    apart, however long the clip. Raises what `ClipPlan` does, and ValueError for a picture that flashes more than three
    times a second (WCAG 2.2, 2.3.1); FileExistsError if a file is there and `overwrite` is false; OSError where the
    encoder fails. A file is written whole or not at all.
    """
    plan = ClipPlan(exhibit, path, keyframes, **settings)
    check_targets(plan.paths, overwrite)
    heard = soundtrack(plan.programme, plan.sound, plan.frames * SAMPLE_RATE // plan.fps, plan.loudness)
    said = captions_of(plan.programme, plan.spoken).encode() if plan.captions else b""
    names = [made.name for made in plan.paths]
    with (
        tempfile.TemporaryDirectory(prefix="tunelib-") as apart,
        staged(plan.paths[0].parent, names, overwrite) as making,
    ):
        wav = write_wav(Path(apart) / "sound.wav", heard.samples) if heard else None
        with Encoder(
            making / names[0],
            plan.projector.pixels,
            plan.fps,
            plan.clear,
            wav,
            threads,
            plan.title or plan.programme.entries[0].exhibit.title,
        ) as encoder:
            drawn = _film(plan, encoder, progress or (lambda done, left: None))
            encoder.finish()
        if plan.captions:
            (making / names[1]).write_bytes(said)
    return _report(plan, drawn, heard)


def check_rate(fps: object) -> int:
    """Frames a second that a clip can have; ValueError for others."""
    if not isinstance(fps, int) or fps not in RATES:
        raise ValueError(f"a clip has {listed(RATES, 'or')} frames a second, not {shortened(fps)}")
    return fps


@dataclass
class ClipPlan:
    """A clip that can be made; nothing is made yet, and its folder need not be there.

    Parameters
    ----------
    exhibit, path, keyframes
        As for `clip`.
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
        and its pitches move with the knobs. ``"off"``: none. What sounds lights up in the picture.
    loudness : float or None
        Integrated loudness in LKFS (ITU-R BS.1770-4), -40 to -14; the peak stays under -1 dBTP. None leaves the level
        at which lessons play.
    captions : bool
        Whether the captions file is written.
    build : bool
        Whether the exhibit comes on stage in its groups of parts, evenly: before the first keyframe, or, if that is at
        the beginning, before the first move, and there is a second of stillness before either.
    points : sequence of Point
        What is pointed at, when and how.
    beside : Act, optional
        Another exhibit, beside this one in a wide picture and below it in an upright one. Sound and captions are of the
        one whose keyframe came last.
    then : sequence of Act
        Exhibits that follow, each alone.
    say : sequence of Say
        What is said over it, which the captions then have in place of the exhibits' sentences. It is not heard: the
        voice is yours.

    Its other attributes are the `programme` and the `projector` of the clip, what is `spoken`, how many `frames` it
    has, the `paths` of its files, and whether it is `clear`. Raises ValueError for an argument that is wrong;
    ImportError, with what to install, where the encoder is missing.
    """

    exhibit: str
    path: str | Path
    keyframes: Sequence[Keyframe]
    seconds: float | None = None
    size: str = "1080p"
    theme: str = "light"
    fps: int = 30
    title: str | None = None
    sound: str = "at keyframes"
    loudness: float | None = USUAL_LOUDNESS
    captions: bool = True
    build: bool = False
    points: Sequence[Point] = ()
    beside: Act | None = None
    then: Sequence[Act] = ()
    say: Sequence[Say] = ()
    programme: Programme = field(init=False)
    spoken: tuple[Spoken, ...] = field(init=False)
    projector: Projector = field(init=False)
    frames: int = field(init=False)
    paths: tuple[Path, ...] = field(init=False)
    clear: bool = field(init=False)

    def __post_init__(self) -> None:
        film = Path(self.path)
        if film.suffix.lower() not in FILM_SUFFIXES:
            raise ValueError(f"a clip is a {listed(FILM_SUFFIXES, 'or')} file, not {film.name!r}")
        if self.size not in CLIP_SIZES:
            find_size(self.size)  # a slip of the pen gets the nearest name
            raise ValueError(f"the size of a clip is {listed(CLIP_SIZES, 'or')}, not {self.size!r}")
        check_rate(self.fps)
        self.sound = look_up(self.sound, {name: name for name in SOUNDS}, "sound")
        if self.loudness is not None:
            check_loudness(self.loudness)
        first = Act(self.exhibit, self.keyframes, self.title, self.build, self.points)
        self.programme = Programme(first, self.beside, self.then, self.seconds)
        self.spoken = spoken(self.say, self.programme)
        self.projector = Projector(self.programme, self.size, self.theme, self.sound)
        self.clear = self.projector.theme.paper is None
        if self.clear and film.suffix.lower() not in CLEAR_SUFFIXES:
            raise ValueError(
                f"a {film.suffix} file cannot be transparent; give it the ending {' or '.join(CLEAR_SUFFIXES)}"
            )
        ffmpeg()
        self.paths = (film, film.with_suffix(".vtt")) if self.captions else (film,)
        self.frames = math.ceil(self.programme.seconds * self.fps - 1e-6)


def _film(plan: ClipPlan, film: Encoder, progress: Callable[[float, float], None]) -> int:
    """Draw every picture and hand it to the encoder; returns how many differ from the one before."""
    red, green, blue = (round(255 * part) for part in to_rgb(plan.projector.theme.behind_text))
    meter = FlashMeter(plan.fps, (red, green, blue))
    before: Any = None
    drawn = 0
    began = told = time.monotonic()
    for number in range(plan.frames):
        state = plan.projector.state(number / plan.fps + 1e-9)
        if state == before:
            flashing = meter.same()
        else:
            pixels = plan.projector.picture(state)
            flashing = meter.add(pixels)
            drawn, before = drawn + 1, state
        if flashing:
            raise ValueError(
                f"about {number / plan.fps:.1f} seconds in, the picture flashes more than {MOST_FLASHES} times a "
                "second, which can harm some viewers (WCAG 2.2, 2.3.1): set the keyframes there further apart"
            )
        film.add(pixels.data)
        now = time.monotonic()
        if now - told >= _TELL_SECONDS:
            told, done = now, (number + 1) / plan.frames
            progress(done, (now - began) * (1 - done) / done)
    progress(1.0, 0.0)
    return drawn


def _report(plan: ClipPlan, drawn: int, heard: Soundtrack | None) -> ClipReport:
    return ClipReport(
        paths=plan.paths,
        pixels=plan.projector.pixels,
        rate=plan.fps,
        frames=plan.frames,
        drawn=drawn,
        seconds=plan.frames / plan.fps,
        loudness=heard.loudness if heard else None,
        true_peak=heard.true_peak if heard else None,
    )
