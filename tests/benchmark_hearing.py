"""How close and how fast the pitch tracker is, beside two others: ``python tests/benchmark_hearing.py``.

The sound is a tone of eight partials that glides from 60 to 1500 Hz in 20 seconds, evenly in octaves and evenly in
hertz, with noise 45 dB below it; everything runs on one thread. Then ten minutes of stereo, with the memory they take,
by themselves and as the command hears them from a file and draws them.
"""

# ruff: noqa: E402 - the number of threads must be set before numpy is loaded

from __future__ import annotations

import os

for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ[_variable] = "1"

import math
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import librosa
import numpy as np
import parselmouth
import soundfile
from timing import seconds_of

from tunelib.hearing.heard_notes import track_notes
from tunelib.hearing.pitch_track import track_pitch

RATE = 48000
SECONDS = 20
LOW, HIGH = 60.0, 1500.0
NOISE_DB = -45
RUNS = 5

Tracked = tuple[np.ndarray, np.ndarray]


def in_octaves(seconds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pitch, and turns since the beginning."""
    pace = math.log(HIGH / LOW) / SECONDS
    hertz = LOW * np.exp(pace * seconds)
    return hertz, (hertz - LOW) / pace


def in_hertz(seconds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    pace = (HIGH - LOW) / SECONDS
    return LOW + pace * seconds, LOW * seconds + pace / 2 * seconds**2


def gliding(turns: np.ndarray) -> np.ndarray:
    tone = sum(np.sin(2 * np.pi * n * turns) / n for n in range(1, 9))
    tone *= 0.1 / np.sqrt(np.mean(tone**2))
    return np.asarray(tone + 0.1 * 10 ** (NOISE_DB / 20) * np.random.default_rng(1).standard_normal(tone.size))


def ours(sound: np.ndarray) -> Tracked:
    return track_pitch(sound, RATE)[:2]


def by_parselmouth(sound: np.ndarray) -> Tracked:
    found = parselmouth.Sound(sound, RATE).to_pitch(time_step=0.01, pitch_floor=50, pitch_ceiling=2000)
    hertz = found.selected_array["frequency"]
    return found.xs(), np.where(hertz > 0, hertz, np.nan)


def by_librosa_yin(sound: np.ndarray) -> Tracked:
    hertz = librosa.yin(sound, fmin=50, fmax=2000, sr=RATE, frame_length=4096, hop_length=480)
    return np.arange(hertz.size) / 100, hertz


def fastest(run: Callable[[], object]) -> float:
    """Seconds, the least of several runs after one to warm up: other work on the machine only ever adds."""
    run()
    return min(seconds_of(run, RUNS))


def ten_minutes() -> np.ndarray:
    """A note a second over two octaves, each with a pause after it, in stereo."""
    dice = np.random.default_rng(2)
    seconds = np.arange(RATE) / RATE
    take = np.empty((600 * RATE, 2), dtype=np.float32)
    for start in range(0, len(take), RATE):
        hertz = 220 * 2 ** (dice.integers(24) / 12)
        tone = sum(np.sin(2 * np.pi * n * hertz * seconds) / n for n in range(1, 7)) * (seconds < 0.9)
        take[start : start + RATE] = (0.1 * tone + 1e-3 * dice.standard_normal(RATE))[:, np.newaxis]
    return take


def processor_seconds() -> float:
    """What the processors have spent on processes that were started from here."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def by_command(take: np.ndarray) -> None:
    """The same ten minutes from a file: the table alone, with a picture for the screen, and with one for print."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "take.wav"
        soundfile.write(path, take, RATE)
        command = [sys.executable, "-m", "tunelib", "listen", str(path), "--against", "12"]
        for picture in ([], ["take.png"], ["take.pdf"]):
            more = [word for name in picture for word in ("--picture", str(Path(folder) / name))]
            before, worked = time.perf_counter(), processor_seconds()
            printed = subprocess.run([*command, *more], check=True, capture_output=True, text=True).stdout
            seconds = time.perf_counter() - before
            memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            lines = printed.splitlines()
            print(
                f"`listen`{', '.join(['', *picture])}: {seconds:.1f} s, {processor_seconds() - worked:.1f} of them at "
                f"work, {memory:.0f} MiB at most so far, "
                f"{len(lines)} lines of {max(map(len, lines))} letters at most (the aim: 10 s without a picture)"
            )


def main() -> None:
    seconds = np.arange(SECONDS * RATE) / RATE
    print(f"{SECONDS} s gliding from {LOW:g} to {HIGH:g} Hz, noise {NOISE_DB} dB: absolute error in cents, one thread")
    print("(the aim: median 0.05 at most, 95 % within 0.2, 100 times real time)")
    print(f"{'glide':<12}{'tracker':<18}{'pitched':>8}{'median':>9}{'95 %':>9}{'largest':>10}{'x real time':>13}")
    for course in (in_octaves, in_hertz):
        sound = gliding(course(seconds)[1])
        for tracker in (ours, by_parselmouth, by_librosa_yin):
            times, hertz = tracker(sound)
            kept = (times > 0.1) & (times < SECONDS - 0.1)
            off = np.abs(1200 * np.log2(hertz[kept] / course(times[kept])[0]))
            heard = off[np.isfinite(off)]
            speed = SECONDS / fastest(lambda sound=sound, tracker=tracker: tracker(sound))
            print(
                f"{course.__name__:<12}{tracker.__name__:<18}{heard.size / off.size:>8.1%}{np.median(heard):>9.4f}"
                f"{np.percentile(heard, 95):>9.4f}{heard.max():>10.3f}{speed:>13.0f}"
            )
    take = ten_minutes()
    before = time.perf_counter()
    track = track_pitch(take, RATE)
    between = time.perf_counter()
    notes = track_notes(track)
    after = time.perf_counter()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nten minutes of stereo: pitch {between - before:.1f} s, {len(notes)} notes {after - between:.1f} s;")
    print(
        f"  memory of this process at its peak, the peers and the recording of {take.nbytes / 2**20:.0f} MiB with it:"
    )
    print(f"  {memory:.0f} MiB (the aim: 10 s and 1024 MiB)")
    by_command(take)
    print(f"(load of this machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors)")


if __name__ == "__main__":
    main()
