"""Audio files and the bytes that a player in the browser takes."""

from __future__ import annotations

import io
import math
import os
import wave
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple

import numpy as np
import numpy.typing as npt

from tunelib.files import check_targets, require_file, staged, write_whole
from tunelib.hearing import Recording
from tunelib.pitch import FloatArray, is_whole, shortened
from tunelib.score import Score
from tunelib.sound.decoder import Decoded, decoded
from tunelib.sound.levels import reference_gain
from tunelib.sound.limiter import SAMPLE_RATE
from tunelib.sound.render import Rendering
from tunelib.sound.timbre import Timbre

if TYPE_CHECKING:
    import soundfile

LONGEST_MINUTES = 60
LOWEST_RATE, HIGHEST_RATE = 8000, 192_000
_FRAMES_AT_A_TIME = 1 << 16
_SAVED = (".wav", ".flac")
_HIGHEST_VALUE = 2.0**32  # of floats: those that hold whole numbers of 32 bits are read, if loud

# How recordings begin, by their published formats. The first are read here, the others by ffmpeg, which knows them by
# the last of the names.
_READ = (b"RIFF", b"RIFX", b"RF64", b"fLaC", b"OggS", b"FORM", b"caff")
_TAGGED = b"ID3"  # before the first frame of an MP3 file
_DECODED = (
    (4, b"ftyp", "mov"),  # MPEG-4 (m4a, mp4, 3gp), ISO/IEC 14496-12
    (0, b"#!AMR", "amr"),  # RFC 4867
    (0, b"\x1a\x45\xdf\xa3", "matroska"),  # WebM, RFC 9559
    (0, b"\x30\x26\xb2\x75", "asf"),  # Windows Media
)
_AAC = "aac"
_BY_FFMPEG = (*(demuxer for *_, demuxer in _DECODED), _AAC)
_MPEG = "mpeg"


def read_audio(source: str | os.PathLike[str] | bytes, mono: bool = False) -> tuple[FloatArray, int]:
    """Read a recording: WAV, FLAC, OGG, MP3, AIFF or CAF, and with imageio-ffmpeg what phones and browsers make (m4a,
    mp4, 3gp, amr, aac, webm, wma). It is recognised by its contents and not by its name.

    Parameters
    ----------
    source : str, path or bytes
        A file's path, or the contents of one.
    mono : bool
        Whether several channels are averaged as they are read, so that no more than one is ever held.

    Returns
    -------
    samples : array of float64, shape (samples,), or (samples, channels) if there are several
        Full scale is 1.
    sample_rate : int
        In hertz.

    Raises FileNotFoundError if the file is missing and IsADirectoryError for a folder. Raises ValueError for anything
    that is not one of these recordings, one that is empty or damaged, longer than an hour, or sampled outside 8000 to
    192 000 Hz. Raises ImportError, with what to install, where soundfile is missing, or imageio-ffmpeg for a recording
    that needs it.
    """
    with _opened(source) as opened:
        blocks = list(_blocks(opened, mono))
        return np.concatenate(blocks), int(opened.file.samplerate)


def open_recording(source: str | os.PathLike[str] | bytes) -> Recording:
    """A recording to read in blocks, its channels made one, so that an hour takes no more memory than a minute.

    Takes a source as `read_audio` does. The same errors are raised: here for what shows at its beginning, and for what
    is damaged or too long while it is gone through.
    """
    with _opened(source) as opened:
        rate = int(opened.file.samplerate)
        expected = min(max(0, int(opened.file.frames)), LONGEST_MINUTES * 60 * rate)

    def blocks() -> Iterator[FloatArray]:
        with _opened(source) as again:
            for block in _blocks(again, mono=False):
                yield block if block.ndim == 2 else block[:, np.newaxis]

    return Recording.of_channels(rate, blocks, expected)


class _Bytes(io.BytesIO):
    """Bytes as a file that stays where it is when a damaged recording sends its reader out of bounds."""

    def seek(self, offset: int, whence: int = 0) -> int:
        try:
            return super().seek(offset, whence)
        except (ValueError, OverflowError):
            return self.tell()


class _Opened(NamedTuple):
    """A recording that is open: what it is read from, what errors call it, and whether it is in layers of MPEG."""

    file: soundfile.SoundFile | Decoded
    name: str
    mpeg: bool


@contextmanager
def _opened(source: str | os.PathLike[str] | bytes) -> Iterator[_Opened]:
    """Open a recording, and close it in the end; an error of the library becomes a ValueError in one line."""
    stream: io.FileIO | _Bytes
    if isinstance(source, bytes):
        name, stream = "the recording", _Bytes(source)
    else:
        path = Path(source)
        if path.is_dir():
            raise IsADirectoryError(f"{path} is a folder; give the recording itself, such as {path / 'take.wav'}")
        require_file(path, "save the recording as one first")
        name, stream = str(path), path.open("rb", buffering=0)
    with stream:
        kind = _kind(stream.read(16), name)
        if kind in _BY_FFMPEG:
            with decoded(source if isinstance(source, bytes) else path, kind, name) as file:
                _check_rate(file.samplerate, name)
                yield _Opened(file, name, mpeg=False)
            return
        stream.seek(0)
        soundfile = _soundfile()
        # By its descriptor or its bytes, for a name that ends otherwise would be believed.
        handle = stream.fileno() if isinstance(stream, io.FileIO) else stream
        try:
            with _quiet(kind == _MPEG):
                file = soundfile.SoundFile(handle, closefd=False)
            with file:
                _check_rate(file.samplerate, name)
                yield _Opened(file, name, kind == _MPEG)
        except soundfile.LibsndfileError as error:
            why = error.error_string
            raise ValueError(f"{name} is damaged, or not the recording that it begins like: {why}") from None


def _check_rate(rate: int, name: str) -> None:
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise ValueError(f"{name} has {rate} samples a second; {LOWEST_RATE} to {HIGHEST_RATE} can be read")


def _soundfile() -> Any:
    """The library that reads recordings, loaded when there is one to be read."""
    try:
        import soundfile
    except (ImportError, OSError) as error:  # OSError: the package is there, and the library under it is not
        raise ImportError(
            "reading a recording needs soundfile, which is missing here: pip install soundfile"
        ) from error
    return soundfile


@contextmanager
def _quiet(mpeg: bool) -> Iterator[None]:
    """Silences what the MP3 decoder prints past Python, on the process's own error stream."""
    if not mpeg:
        yield
        return
    try:
        kept = os.dup(2)
    except OSError:  # it is closed
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)


def _kind(head: bytes, name: str) -> str:
    """What a recording is, by its first bytes: what ffmpeg calls it, or ``"mpeg"`` for MP3, or ``""`` for what else
    soundfile reads. ValueError for what is none."""
    if not head:
        raise ValueError(f"{name} is empty")
    sync = len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0  # ISO/IEC 11172-3: eleven bits of sync
    if sync and not head[1] & 0x06:  # ISO/IEC 13818-7: the same sync, and layer 0
        return _AAC
    layered = sync and len(head) > 2 and head[2] >> 4 not in (0, 15) and head[2] & 0x0C != 0x0C
    if layered or head.startswith(_TAGGED):
        return _MPEG
    if head.startswith(_READ):
        return ""
    for start, mark, demuxer in _DECODED:
        if head[start:].startswith(mark):
            return demuxer
    raise ValueError(f"{name} is not a recording that can be read: give a WAV, FLAC, OGG, MP3 or M4A file")


def _blocks(opened: _Opened, mono: bool) -> Iterator[FloatArray]:
    """The samples of a recording from the first on; what a damaged header says about the length is not believed."""
    file, name, mpeg = opened
    room = LONGEST_MINUTES * 60 * file.samplerate
    averages = np.full(file.channels, 1 / file.channels)
    held = 0
    while True:
        with _quiet(mpeg):
            block = file.read(_FRAMES_AT_A_TIME, dtype="float64", always_2d=True)
        if not len(block):
            break
        held += len(block)
        if held > room:
            raise ValueError(f"{name} is longer than {LONGEST_MINUTES} minutes; cut out the part to be heard")
        highest = float(np.abs(block).max())
        if not highest < math.inf:
            raise ValueError(f"{name} is damaged: it holds values that are not numbers")
        if highest > _HIGHEST_VALUE:
            raise ValueError(f"{name} is damaged: it holds values as high as {highest:.1g} times full scale")
        if file.channels == 1:
            yield block[:, 0]
        else:
            yield block @ averages if mono else block
    if not held:
        raise ValueError(f"{name} holds no sound: it is 0 seconds long")


def write_wav(
    path: str | os.PathLike[str], samples: npt.ArrayLike, sample_rate: int = SAMPLE_RATE, overwrite: bool = False
) -> Path:
    """Write samples as a WAV file of 24-bit PCM, whole or not at all, and return the path.

    Parameters
    ----------
    path : str or path
    samples : array, shape (samples,) or (samples, channels)
        Within -1 and 1, which is full scale.
    sample_rate : int
        In hertz.
    overwrite : bool
        Whether a file already there may be replaced.

    Raises FileExistsError if the file is there, FileNotFoundError if its folder is missing, and ValueError for
    samples that are not finite or pass full scale.
    """
    check_targets([path], overwrite)
    return write_whole(path, _encoded(samples, sample_rate, 24), overwrite=overwrite)


def save_recording(path: str | os.PathLike[str], recording: Recording, overwrite: bool = False) -> Path:
    """Save a recording of one channel as a file of 24 bits, block by block, whole or not at all; returns the path.

    Parameters
    ----------
    path : str or path
        Ends in ``.wav`` or ``.flac``.
    recording : Recording
        What passes full scale is cut off there.
    overwrite : bool
        Whether a file already there may be replaced.

    Raises ValueError for another ending, FileExistsError if the file is there, FileNotFoundError if its folder is
    missing, and ImportError, with what to install, where soundfile is missing for FLAC.
    """
    target = Path(path)
    if target.suffix.lower() not in _SAVED:
        raise ValueError(f"a take is saved as {' or '.join(_SAVED)}, not {target.name or 'without a name'}")
    rate, blocks = round(recording.sample_rate), (np.clip(block, -1, 1) for block in recording.blocks())
    with staged(target.parent, [target.name], overwrite) as making, (making / target.name).open("xb") as stream:
        if target.suffix.lower() == ".wav":
            write_wav_blocks(stream, blocks, rate, 24)
        else:
            with _soundfile().SoundFile(stream, "w", rate, 1, "PCM_24", format="FLAC") as file:
                for block in blocks:
                    file.write(block)
    return target


def wav_bytes(samples: npt.ArrayLike, sample_rate: int = SAMPLE_RATE) -> bytes:
    """Samples as the bytes of a WAV file of 16-bit PCM, rounded without dither, so that silence stays silence.

    Takes samples as `write_wav` does, and raises ValueError as it does. The level is kept as it is.
    """
    return _encoded(samples, sample_rate, 16)


def write_wav_blocks(
    stream: BinaryIO, blocks: Iterable[npt.ArrayLike], sample_rate: int = SAMPLE_RATE, bits: int = 16
) -> None:
    """Write samples that come in blocks as a WAV file, so that they are never all held at once.

    Parameters
    ----------
    stream : binary file, open for writing, in which one can seek
        Left open.
    blocks : iterable of arrays, each of shape (samples,) or (samples, channels), with as many channels as the first
        Within -1 and 1, which is full scale.
    sample_rate : int
        In hertz.
    bits : int
        16 or 24, of PCM. Rounded without dither, so that silence stays silence.

    The bytes are those of `wav_bytes`, or of `write_wav` for 24 bits, for the blocks joined. Raises ValueError for
    samples that are not finite or pass full scale; what has been written by then stays in the stream.
    """
    if not is_whole(sample_rate) or not 1 <= sample_rate <= 384_000:
        raise ValueError(f"a sample rate is a whole number of hertz, such as 48000, not {sample_rate!r}")
    if bits not in (16, 24):
        raise ValueError(f"a sample has 16 or 24 bits, not {bits!r}")
    written = 0
    with wave.open(stream, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(bits // 8)
        file.setframerate(sample_rate)
        for block in blocks:
            values = _within_full_scale(block, written)
            channels = 1 if values.ndim == 1 else values.shape[1]
            if not written:
                file.setnchannels(channels)
            if channels != file.getnchannels():
                raise ValueError(f"a block has {channels} channels, and the first has {file.getnchannels()}")
            file.writeframesraw(_pcm(values, bits))
            written += len(values)
        file.writeframesraw(b"")  # a header, if there was no block


def render_to(path: str | os.PathLike[str], score: Score, timbre: Timbre | Mapping[str, Timbre]) -> None:
    """Render a score into a new WAV file of 16-bit PCM, block by block, so that its length costs no memory.

    The bytes are those of ``wav_bytes(render(score, timbre, gain=reference_gain(score, timbre)))``. Raises as `render`
    and `reference_gain` do, before the file is made, and FileExistsError if it is there.
    """
    rendering = Rendering(score, timbre, gain=reference_gain(score, timbre))
    with Path(path).open("xb") as stream:
        write_wav_blocks(stream, rendering.blocks(), rendering.sample_rate)


def _encoded(samples: npt.ArrayLike, sample_rate: int, bits: int) -> bytes:
    stream = io.BytesIO()
    write_wav_blocks(stream, [samples], sample_rate, bits)
    return stream.getvalue()


def _pcm(values: FloatArray, bits: int) -> bytes:
    """Samples within full scale as whole numbers of a number of bits, little end first."""
    steps = np.minimum(np.rint(values * 2.0 ** (bits - 1)), 2.0 ** (bits - 1) - 1)
    if bits == 16:
        return steps.astype("<i2").tobytes()
    return steps.astype("<i4").reshape(-1, 1).view(np.uint8)[:, :3].tobytes()


def _within_full_scale(samples: npt.ArrayLike, before: int) -> FloatArray:
    """Samples as floats, after a number of others; ValueError that names the first out of bounds."""
    try:
        values = np.asarray(samples, dtype=float)
    except (TypeError, ValueError):
        raise ValueError(f"samples are numbers from -1 to 1, not {shortened(samples)}") from None
    if values.ndim not in (1, 2):
        raise ValueError(f"samples have the shape (samples,) or (samples, channels), not {values.shape}")
    bad = ~(np.abs(values) <= 1)
    if np.any(bad):
        where = tuple(int(i) for i in np.argwhere(bad)[0])
        raise ValueError(
            f"sample {before + where[0]} is {values[where]:g}; samples must be from -1 to 1: "
            "turn the sound down before writing it"
        )
    return values
