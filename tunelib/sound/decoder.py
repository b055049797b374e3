"""What phones and browsers record (m4a, mp4, 3gp, amr, webm), decoded by the ffmpeg that comes with imageio-ffmpeg.

The samples come through a pipe as they are decoded, and are read in blocks like those of any other recording.
"""

from __future__ import annotations

import os
import re
import struct
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from tunelib.pitch import FloatArray

# Sun's audio format, in which samples are passed on: six numbers of 32 bits, then a text; the last is the channels.
_HEAD = struct.Struct(">4s5I")
_LASTS = re.compile(rb"Duration: (\d+):(\d+):([\d.]+)")
_UNPLAYABLE = b"matches no streams"
_MOST_WORDS = 200


def find_ffmpeg(what: str, instead: str = "") -> str:
    """The path of ffmpeg. Raises ImportError where it is missing: `what` needs it, and what can be done `instead`."""
    try:
        import imageio_ffmpeg
    except ImportError:
        raise ImportError(f'{what} needs imageio-ffmpeg: pip install "tunelib[studio]"{instead}') from None
    return str(imageio_ffmpeg.get_ffmpeg_exe())


@dataclass
class Decoded:
    """A recording as it is decoded; it is read as soundfile's files are.

    ``frames`` is how many samples a channel should come, as far as the file says; 0 if it does not.
    """

    name: str
    samplerate: int
    channels: int
    frames: int
    _process: subprocess.Popen[bytes]
    _words: BinaryIO

    def read(self, frames: int, dtype: str = "float64", always_2d: bool = True) -> FloatArray:
        """The next samples, shape (samples, channels): fewer at the end, and none after it.

        Raises ValueError, with the decoder's words, where it gave up.
        """
        assert self._process.stdout is not None
        data = self._process.stdout.read(4 * self.channels * frames)
        whole = len(data) - len(data) % (4 * self.channels)
        if not whole and self._process.wait():
            raise _damaged(self.name, self._words)
        return np.frombuffer(data[:whole], ">f4").astype(dtype).reshape(-1, self.channels)


@contextmanager
def decoded(source: Path | bytes, demuxer: str, name: str) -> Iterator[Decoded]:
    """Decode a recording: a file, or the contents of one, which pass through a temporary file that is then deleted.

    Parameters
    ----------
    source : path or bytes
    demuxer : str
        What ffmpeg calls the format. It is not left to guess, since some of what it knows leads to other files.
    name : str
        What errors call the recording.

    Raises ValueError for a recording that is damaged or without sound, and ImportError where there is no ffmpeg.
    """
    command = find_ffmpeg(f"reading {name}, which is in a form for phones,", ", or have the recorder export WAV")
    with tempfile.TemporaryDirectory(prefix="tunelib-") as folder, tempfile.TemporaryFile() as words:
        if isinstance(source, bytes):
            path = Path(folder) / "recording"
            path.write_bytes(source)
        else:
            path = source.resolve()
        process = subprocess.Popen(
            [
                command, "-nostdin", "-hide_banner", "-nostats", "-protocol_whitelist", "file,pipe", "-f", demuxer,
                "-i", f"file:{path}", "-map", "0:a:0", "-c:a", "pcm_f32be", "-f", "au", "pipe:1",
            ],
            stdout=subprocess.PIPE, stderr=words, stdin=subprocess.DEVNULL, start_new_session=True,
            env=os.environ | {"LC_ALL": "C"},
        )  # fmt: skip
        try:
            yield _begun(name, process, words)
        finally:
            process.kill()
            process.wait()
            assert process.stdout is not None
            process.stdout.close()


def _begun(name: str, process: subprocess.Popen[bytes], words: BinaryIO) -> Decoded:
    """What the head of the decoded samples says."""
    assert process.stdout is not None
    head = process.stdout.read(_HEAD.size)
    if len(head) < _HEAD.size:
        process.wait()
        raise _damaged(name, words)
    _, begin, _, _, rate, channels = _HEAD.unpack(head)
    process.stdout.read(begin - _HEAD.size)
    lasts = _LASTS.search(_said(words))
    hours, minutes, seconds = map(float, lasts.groups()) if lasts else (0.0, 0.0, 0.0)
    return Decoded(name, rate, channels, round(rate * (3600 * hours + 60 * minutes + seconds)), process, words)


def _said(words: BinaryIO) -> bytes:
    """What the decoder has said until now; it goes on writing where it was."""
    return os.pread(words.fileno(), 1 << 20, 0) if hasattr(os, "pread") else b""


def _damaged(name: str, words: BinaryIO) -> ValueError:
    words.seek(0)
    said = words.read()
    if _UNPLAYABLE in said:
        return ValueError(f"{name} has no sound in it")
    last = said.decode(errors="replace").strip().splitlines()[-1:] or ["the decoder stopped"]
    return ValueError(f"{name} is damaged, or not the recording that it begins like: {last[0].strip()[:_MOST_WORDS]}")
