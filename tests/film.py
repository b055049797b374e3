"""Reading a film back in: what it says of itself, its pictures and its sound, by ffmpeg and ffprobe."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tunelib.film.encoder import ffmpeg


def streams(path: Path) -> dict[str, dict[str, Any]]:
    """What ffprobe says of the picture and the sound of a film, by "video" and "audio"."""
    if not (probe := shutil.which("ffprobe")):
        pytest.skip("ffprobe is not installed (Debian's package ffmpeg)")
    told = subprocess.run(
        [probe, "-v", "error", "-show_streams", "-count_frames", "-of", "json", str(path)],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    return {stream["codec_type"]: stream for stream in json.loads(told)["streams"]}


def pictures(path: Path, pixels: tuple[int, int], *, at: list[int] | None = None, scale: int = 1) -> np.ndarray:
    """Pictures of a film as arrays of shape (count, height, width, 4): those of these numbers, or all; made smaller."""
    width, height = pixels[0] // scale, pixels[1] // scale
    chosen = "+".join(rf"eq(n\,{number})" for number in at or [])
    steps = ",".join([*([f"select={chosen}"] if at else []), f"scale={width}:{height}:flags=area"])
    decoder = ["-c:v", "libvpx-vp9"] if path.suffix == ".webm" else []  # the one that reads opacity
    raw = subprocess.run(
        [ffmpeg(), "-v", "error", *decoder, "-i", str(path), "-vf", steps,
         "-fps_mode", "passthrough", "-f", "rawvideo", "-pix_fmt", "rgba", "-"],
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    return np.frombuffer(raw, np.uint8).reshape(-1, height, width, 4)


def sound(path: Path) -> np.ndarray:
    """The sound of a film: samples at 48 kHz in one channel, from the moment at which its pictures begin."""
    raw = subprocess.run(
        [ffmpeg(), "-v", "error", "-i", str(path), "-vn", "-ac", "1", "-ar", "48000", "-f", "f32le", "-"],
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    return np.frombuffer(raw, np.float32).astype(float)


def metered(path: Path) -> tuple[float, float]:
    """Integrated loudness in LUFS and true peak in dB, by ffmpeg's meter of EBU R 128."""
    told = subprocess.run(
        [ffmpeg(), "-hide_banner", "-nostats", "-i", str(path), "-vn", "-af", "ebur128=peak=true", "-f", "null", "-"],
        capture_output=True, text=True, check=True,
    ).stderr  # fmt: skip
    summary = told[told.rindex("Summary:") :]
    found = [re.search(pattern, summary) for pattern in (r"I:\s+(-?[\d.]+) LUFS", r"Peak:\s+(-?[\d.]+) dBFS")]
    assert found[0] and found[1], summary
    return float(found[0][1]), float(found[1][1])
