"""Audio files and the bytes that a player in the browser takes."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from tunelib.files import check_targets, require_file, write_whole
from tunelib.pitch import FloatArray, is_whole, shortened
from tunelib.sound.limiter import SAMPLE_RATE

LONGEST_MINUTES = 60
LOWEST_RATE, HIGHEST_RATE = 8000, 192_000
_FRAMES_AT_A_TIME = 1 << 17

# How recordings begin, by their published formats. The first are read; of the others, a reader is told what they are.
_READ = (b"RIFF", b"RIFX", b"RF64", b"fLaC", b"OggS", b"FORM", b"caff", b"ID3")
_NOT_READ = (
    (4, b"ftyp", "an MPEG-4 recording (m4a, mp4, 3gp), as phones make them"),  # ISO/IEC 14496-12
    (0, b"#!AMR", "an AMR recording, as phones make them"),  # RFC 4867
    (0, b"\x1a\x45\xdf\xa3", "a WebM or Matroska recording"),  # RFC 9559
    (0, b"\x30\x26\xb2\x75", "a Windows Media recording"),
)


def read_audio(source: str | os.PathLike[str] | bytes, mono: bool = False) -> tuple[FloatArray, int]:
    """Read a recording: WAV, FLAC, OGG, MP3, AIFF or CAF, told by its contents and not by its name.

    Parameters
    ----------
    source : str, path or bytes
        A file's path, or what stands in one.
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
    192 000 Hz; a phone's recording is named as such, with a way to convert it.
    """
    if isinstance(source, bytes):
        return _decoded(_Bytes(source), "the recording", mono)
    path = Path(source)
    if path.is_dir():
        raise IsADirectoryError(f"{path} is a folder; give the recording itself, such as {path / 'take.wav'}")
    require_file(path, "save the recording as one first")
    with path.open("rb", buffering=0) as stream:
        return _decoded(stream, str(path), mono)


class _Bytes(io.BytesIO):
    """Bytes as a file that stays where it is when a damaged recording sends its reader out of bounds."""

    def seek(self, offset: int, whence: int = 0) -> int:
        try:
            return super().seek(offset, whence)
        except (ValueError, OverflowError):
            return self.tell()


def _decoded(stream: io.FileIO | io.BytesIO, name: str, mono: bool) -> tuple[FloatArray, int]:
    _check_kind(stream.read(16), name)
    stream.seek(0)
    try:
        # By its descriptor or its bytes, for a name that ends otherwise would be believed.
        handle = stream.fileno() if isinstance(stream, io.FileIO) else stream
        with soundfile.SoundFile(handle, closefd=False) as recording:
            rate = int(recording.samplerate)
            if not LOWEST_RATE <= rate <= HIGHEST_RATE:
                raise ValueError(f"{name} has {rate} samples a second; {LOWEST_RATE} to {HIGHEST_RATE} can be read")
            samples = _all_frames(recording, name, mono)
    except soundfile.LibsndfileError as error:
        raise ValueError(f"{name} is damaged, or not the recording that it begins like: {error.error_string}") from None
    if not samples.size:
        raise ValueError(f"{name} holds no sound: it is 0 seconds long")
    return samples, rate


def _check_kind(head: bytes, name: str) -> None:
    """Refuse what does not begin like a recording that can be read, and say what it is."""
    if not head:
        raise ValueError(f"{name} is empty")
    mpeg = len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0  # ISO/IEC 11172-3: eleven bits of sync
    layered = mpeg and head[1] & 0x06 and len(head) > 2 and head[2] >> 4 not in (0, 15) and head[2] & 0x0C != 0x0C
    if head.startswith(_READ) or layered:
        return
    what = next((words for start, mark, words in _NOT_READ if head[start:].startswith(mark)), "")
    if mpeg and not head[1] & 0x06:
        what = "an AAC recording, as phones make them"  # ISO/IEC 13818-7: the same sync, and layer 0
    if what:
        raise ValueError(
            f"{name} is {what}, which cannot be read here; have the recorder export it as WAV, "
            "or convert it: ffmpeg -i your_recording take.wav"
        )
    raise ValueError(f"{name} is not a recording that can be read: give a WAV, FLAC, OGG or MP3 file")


def _all_frames(recording: soundfile.SoundFile, name: str, mono: bool) -> FloatArray:
    """All samples, read in blocks; what a damaged header says of the length is not believed."""
    blocks = []
    room = LONGEST_MINUTES * 60 * recording.samplerate
    while len(block := recording.read(_FRAMES_AT_A_TIME, dtype="float64", always_2d=True)):
        room -= len(block)
        if room < 0:
            raise ValueError(f"{name} is longer than {LONGEST_MINUTES} minutes; cut out the part to be heard")
        if not np.all(np.isfinite(block)):
            raise ValueError(f"{name} is damaged: it holds values that are not numbers")
        blocks.append(block.mean(axis=1) if mono or recording.channels == 1 else block)
    return np.concatenate(blocks) if blocks else np.empty(0)


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


def wav_bytes(samples: npt.ArrayLike, sample_rate: int = SAMPLE_RATE) -> bytes:
    """Samples as the bytes of a WAV file of 16-bit PCM, rounded without dither, so that silence stays silence.

    Takes samples as `write_wav` does, and raises ValueError as it does. The level is kept as it is.
    """
    return _encoded(samples, sample_rate, 16)


def _encoded(samples: npt.ArrayLike, sample_rate: int, bits: int) -> bytes:
    if not is_whole(sample_rate) or not 1 <= sample_rate <= 384_000:
        raise ValueError(f"a sample rate is a whole number of hertz, such as 48000, not {sample_rate!r}")
    # Rounded here, as the top bits of 32: handed floats, the library would cut off what lies below the last bit.
    steps = np.rint(_within_full_scale(samples) * 2.0 ** (bits - 1))
    values = np.minimum(steps, 2.0 ** (bits - 1) - 1).astype(np.int32) << (32 - bits)
    stream = io.BytesIO()
    soundfile.write(stream, values, sample_rate, format="WAV", subtype=f"PCM_{bits}")
    return stream.getvalue()


def _within_full_scale(samples: npt.ArrayLike) -> FloatArray:
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
            f"sample {where[0]} is {values[where]:g}; samples lie from -1 to 1: turn the sound down before writing it"
        )
    return values
