"""Audio files and the bytes that a player in the browser takes."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from tunelib.files import refuse_existing, write_whole
from tunelib.pitch.intervals import FloatArray


def write_wav(
    path: str | os.PathLike[str], samples: npt.ArrayLike, sample_rate: int = 48000, overwrite: bool = False
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
    if not overwrite:
        refuse_existing([path])
    return write_whole(path, _encoded(samples, sample_rate, 24), overwrite=overwrite)


def wav_bytes(samples: npt.ArrayLike, sample_rate: int = 48000) -> bytes:
    """Samples as the bytes of a WAV file of 16-bit PCM, rounded without dither, so that silence stays silence.

    Takes samples as `write_wav` does, and raises ValueError as it does. The level is kept as it is.
    """
    return _encoded(samples, sample_rate, 16)


def _encoded(samples: npt.ArrayLike, sample_rate: int, bits: int) -> bytes:
    # Rounded here, as the top bits of 32: handed floats, the library would cut off what lies below the last bit.
    steps = np.rint(_within_full_scale(samples) * 2.0 ** (bits - 1))
    values = np.minimum(steps, 2.0 ** (bits - 1) - 1).astype(np.int32) << (32 - bits)
    stream = io.BytesIO()
    soundfile.write(stream, values, sample_rate, format="WAV", subtype=f"PCM_{bits}")
    return stream.getvalue()


def _within_full_scale(samples: npt.ArrayLike) -> FloatArray:
    values = np.asarray(samples, dtype=float)
    if values.ndim not in (1, 2):
        raise ValueError(f"samples have the shape (samples,) or (samples, channels), not {values.shape}")
    bad = ~(np.abs(values) <= 1)
    if np.any(bad):
        where = tuple(int(i) for i in np.argwhere(bad)[0])
        raise ValueError(
            f"sample {where[0]} is {values[where]:g}; samples lie from -1 to 1: turn the sound down before writing it"
        )
    return values
