"""All that a presenter or a teacher waits for: ``python tests/benchmark_studio.py``; about half an hour.

Prints, one after another: clips of every exhibit beside matplotlib's film writer, other sizes and kinds of file, and
whether picture and sound keep together (`benchmark_clips.py`); the loudness of the calibration tone beside ffmpeg's
meter; the demo episode with one job, with as many as there are cores, and a second time; handouts and a band's sheets;
the lessons one after another; and a classroom (`benchmark_classroom.py`). ``--no-room`` leaves the classroom out.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import benchmark_classroom
import benchmark_clips
import nbformat
import numpy as np
import renew_lessons
from film import metered

from tunelib.files import write_set
from tunelib.film.episode import plan_episode, render_plan
from tunelib.film.shots import read_episode
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note
from tunelib.practice.handout import handout_files
from tunelib.show.band import band_files, band_of
from tunelib.sound.audio import write_wav
from tunelib.sound.loudness import loudness, true_peak

LESSONS = renew_lessons.LESSONS
COURSE = sorted(LESSONS.glob("0*.ipynb"))
BAND = ("flute", "alto saxophone", "tenor saxophone", "trumpet", "trombone", "piano", "guitar", "bass guitar")
RUN_SECONDS = 90


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Do some work, and print how long it took."""
    before = time.perf_counter()
    result = work()
    print(f"{what}: {time.perf_counter() - before:.1f} s", flush=True)
    return result


def calibration(folder: Path) -> None:
    """A sine of 997 Hz at full scale, which is to read -3.01 LKFS (ITU-R BS.1770-4)."""
    tone = np.sin(2 * np.pi * 997 * np.arange(20 * 48000) / 48000)
    read, peak = metered(write_wav(folder / "tone.wav", tone))
    print(f"997 Hz at full scale: {loudness(tone):.2f} LKFS, true peak {true_peak(tone):.2f}; ffmpeg {read} and {peak}")


def episode(folder: Path) -> None:
    """The demo episode, in fresh folders and once more."""
    shots = read_episode(LESSONS / "material" / "episode.toml")

    def render(name: str, jobs: int) -> None:
        outcome = render_plan(plan_episode(shots, folder / name), jobs=jobs)
        assert not outcome.failed, outcome.failed

    cores = os.cpu_count() or 1
    timed("demo episode, one job", lambda: render("one", 1))
    timed(f"demo episode, {cores} jobs", lambda: render("many", cores))
    timed("demo episode, nothing to do", lambda: render("many", cores))


def printed(folder: Path) -> None:
    """Handouts of all lessons, and the sheets of a band of eight with recording and MIDI."""
    timed(f"handouts of {len(COURSE) - 1} lessons", lambda: write_set(handout_files(COURSE[1:]), folder / "handouts"))
    players = [instrument(name) for name in BAND]
    band = band_of(players, Note.parse("Bb1"))
    timed(f"sheets for a band of {len(BAND)}", lambda: write_set(band_files(band), folder / "band"))


def lessons() -> None:
    """Every lesson in a kernel of its own, one after another."""
    before = time.perf_counter()
    for lesson in COURSE:
        timed(lesson.stem, lambda at=lesson: renew_lessons.run(nbformat.read(at, as_version=4), LESSONS))
    print(f"all of them: {time.perf_counter() - before:.1f} s; the aim is {RUN_SECONDS}")


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--no-room", action="store_true", help="leave the classroom out, which takes ten minutes")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        benchmark_clips.main(["--sizes", "--long"])
        calibration(folder)
        episode(folder)
        printed(folder)
    lessons()
    if not chosen.no_room:
        benchmark_classroom.main([])


if __name__ == "__main__":
    main()
