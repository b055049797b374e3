"""The encoder: pictures and sound into a film file, by the ffmpeg that comes with imageio-ffmpeg.

Pictures go to it raw, one after another, as they are drawn; sound comes from a file.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from tunelib.sound import find_ffmpeg

_OPAQUE_INPUT, _CLEAR_INPUT = "rgb0", "rgba"
# Colours as ITU-R BT.709 has them for high definition, and marked so; a player that is not told would guess.
_BT709 = (
    "-vf",
    "scale=out_color_matrix=bt709:out_range=tv,"
    "setparams=colorspace=bt709:color_primaries=bt709:color_trc=bt709:range=tv",
)
_H264 = ("-c:v", "libx264", "-preset", "superfast", "-crf", "16", *_BT709)
_VP9 = ("-c:v", "libvpx-vp9", "-deadline", "realtime", "-cpu-used", "8", "-row-mt", "1", "-tile-columns", "2",
        "-b:v", "0", "-crf", "20", "-auto-alt-ref", "0", *_BT709)  # fmt: skip

_PIPE_BYTES = 1 << 20


@dataclass(frozen=True)
class _Kind:
    """A kind of film file, by what ffmpeg is told.

    `picture` and `sound` choose the codecs; `opaque` and `clear` are the forms of a pixel without opacity and with it,
    the latter empty where the file cannot have any. A `busy` encoder leaves a core to the one that draws.
    """

    picture: tuple[str, ...]
    sound: tuple[str, ...]
    opaque: str
    clear: str = ""
    busy: bool = False


_KINDS = {
    # H.264 and AAC, which everything plays
    ".mp4": _Kind(_H264, ("-c:a", "aac", "-b:a", "192k", "-movflags", "+faststart"), "yuv420p", busy=True),
    # VP9 and Opus, for pages
    ".webm": _Kind(_VP9, ("-c:a", "libopus", "-b:a", "160k"), "yuv420p", "yuva420p"),
    # Apple's Animation codec, which keeps every pixel and its opacity as they are, and plain samples, for editors
    ".mov": _Kind(("-c:v", "qtrle"), ("-c:a", "pcm_s24le"), "argb", "argb"),
}
FILM_SUFFIXES = tuple(_KINDS)
CLEAR_SUFFIXES = tuple(suffix for suffix, kind in _KINDS.items() if kind.clear)


def ffmpeg() -> str:
    """The encoder's path. Raises ImportError, with what to install, where it is missing."""
    return find_ffmpeg("a clip")


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _widen(pipe: Any) -> None:
    """Let a pipe hold a mebibyte where the system can (Linux): passing on a picture then takes half the time."""
    with contextlib.suppress(ImportError, AttributeError, OSError):
        import fcntl

        fcntl.fcntl(pipe.fileno(), fcntl.F_SETPIPE_SZ, _PIPE_BYTES)


class Encoder:
    """One film file in the making: ``with Encoder(...) as film: film.add(pixels); ...; film.finish()``.

    Parameters
    ----------
    path : Path
        Ends in one of `FILM_SUFFIXES`.
    pixels : tuple of two ints
        Width and height.
    rate : int
        Frames a second.
    clear : bool
        Whether the pictures' opacity is kept.
    sound : Path or None
        A WAV file.
    threads : int or None
        How many the encoder may use; if None, one for each core, less the one that draws for a busy encoder.
    title : str
        Goes into the file.

    Left without `finish`, by an error or an interrupt, it stops the encoder. Raises
    OSError, with the encoder's own words, where that fails.
    """

    def __init__(
        self,
        path: Path,
        pixels: tuple[int, int],
        rate: int,
        clear: bool,
        sound: Path | None,
        threads: int | None,
        title: str,
    ) -> None:
        kind = _KINDS[path.suffix.lower()]
        self._path = path
        command = [
            ffmpeg(), "-y", "-nostdin", "-loglevel", "error",
            "-f", "rawvideo", "-pix_fmt", _CLEAR_INPUT if clear else _OPAQUE_INPUT,
            "-s", f"{pixels[0]}x{pixels[1]}", "-r", str(rate), "-i", "pipe:0",
        ]  # fmt: skip
        command += ["-i", str(sound), "-map", "0:v", "-map", "1:a"] if sound else []
        command += [*kind.picture, "-pix_fmt", kind.clear if clear else kind.opaque, *kind.sound]
        command += ["-g", str(rate), "-r", str(rate), "-metadata", f"title={title}"]
        own = max(1, cores() - 1) if kind.busy else cores()
        command += ["-threads", str(threads or own)]
        self._words = tempfile.TemporaryFile()  # noqa: SIM115 (closed by __exit__)
        try:
            self._process = subprocess.Popen(
                [*command, f"file:{path}"],
                stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=self._words, start_new_session=True,
            )  # fmt: skip
        except BaseException:
            self._words.close()
            raise
        _widen(self._process.stdin)

    def __enter__(self) -> Encoder:
        return self

    def add(self, pixels: Any) -> None:
        """One more picture: a buffer of four bytes a pixel, row by row from the top."""
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(pixels)
        except OSError:  # a broken pipe, which Windows calls an invalid argument
            raise self._failure() from None

    def finish(self) -> None:
        """Close the file."""
        assert self._process.stdin is not None
        with contextlib.suppress(OSError):
            self._process.stdin.close()
        if self._process.wait() != 0:
            raise self._failure()

    def _failure(self) -> OSError:
        self._process.wait()
        self._words.seek(0)
        said = " ".join(self._words.read().decode(errors="replace").replace(f"{self._path}", self._path.name).split())
        return OSError(f"{self._path.name} cannot be written: {said or 'the encoder stopped'}")

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        if self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.close()
        self._words.close()
