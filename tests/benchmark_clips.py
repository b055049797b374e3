"""Clips: frames a second for every exhibit, beside matplotlib's own film writer: ``python tests/benchmark_clips.py``.

Each exhibit is filmed as a presenter would have it, its knobs moving in turn from end to end for ten seconds, with
sound and captions, at 1080p and 30 frames a second. The peer is ``FuncAnimation.save``, which draws every picture
whole, as it comes and with our quicker settings of the encoder. ``--long`` adds a clip of ten minutes: by how much
its ticks are heard beside the pictures that they belong to.

With names of exhibits, only those; ``--sizes`` adds the other sizes and kinds of file for the first.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import matplotlib
import numpy as np
import pytest
from matplotlib.animation import FFMpegWriter, FuncAnimation
from matplotlib.backends.backend_agg import FigureCanvasAgg
from test_clip import ticking

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Exhibit
from tunelib.film import Keyframe, clip
from tunelib.film.clip import CLIP_SIZES
from tunelib.film.timeline import Timeline
from tunelib.show import stage as stages
from tunelib.show.stage import Stage

SECONDS, FPS, PEER_FRAMES = 10, 30, 20
FLOOR, TIMES = 30, 4
QUICK = ("-preset", "superfast", "-crf", "16")


def sweep(exhibit: Exhibit) -> list[Keyframe]:
    """The knobs from one end to the other, one after another."""
    turn = (SECONDS - 0.1) / len(exhibit.knobs)
    start = Keyframe(0, {knob.name: knob.corners[0] for knob in exhibit.knobs})
    return [start, *(Keyframe(turn * i, {knob.name: knob.corners[1]}) for i, knob in enumerate(exhibit.knobs, 1))]


def ours(exhibit: Exhibit, folder: Path, suffix: str = ".mp4", **settings: Any) -> float:
    """Pictures a second of a whole clip: sound, pictures, encoding and captions."""
    before = time.perf_counter()
    report = clip(
        exhibit.name, folder / f"clip{suffix}", sweep(exhibit), seconds=SECONDS, fps=FPS, overwrite=True, **settings
    )
    return report.frames / (time.perf_counter() - before)


def peer(exhibit: Exhibit, folder: Path, *settings: str) -> float:
    """Pictures a second of `FuncAnimation.save` on the same figure, with these settings of the encoder and no sound."""
    stage, line = Stage(exhibit, "1080p"), Timeline(exhibit, sweep(exhibit), SECONDS)
    figure = stage.whole(line.values(0))
    FigureCanvasAgg(figure)

    def update(number: int) -> list[Any]:
        stage.whole(line.values(number * SECONDS / PEER_FRAMES))
        return []

    film = FuncAnimation(figure, update, frames=PEER_FRAMES, init_func=lambda: [], cache_frame_data=False)
    writer = FFMpegWriter(fps=FPS, codec="libx264", extra_args=[*settings, "-pix_fmt", "yuv420p"])
    before = time.perf_counter()
    film.save(folder / "peer.mp4", writer=writer)
    return PEER_FRAMES / (time.perf_counter() - before)


def main(arguments: list[str] | None = None) -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="Measure clips.")
    parser.add_argument("exhibits", nargs="*", help="names of exhibits; all, if none is given")
    parser.add_argument("--sizes", action="store_true", help="also the other sizes and kinds of file")
    parser.add_argument(
        "--long", action="store_true", help="also ten minutes, and whether picture and sound keep together"
    )
    chosen = parser.parse_args(arguments)
    matplotlib.rcParams["animation.ffmpeg_path"] = imageio_ffmpeg.get_ffmpeg_exe()
    print(f"frames a second at 1080p on {os.cpu_count()} cores; the floor is {FLOOR}, and {TIMES} times the peer")
    print(f"{'exhibit':<22}{'clip':>8}{'FuncAnimation':>16}{'times':>8}{'our encoding':>16}{'times':>8}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found = []
        for name in chosen.exhibits or EXHIBITS:
            exhibit = EXHIBITS[name]
            rates = ours(exhibit, folder), peer(exhibit, folder)
            same = peer(exhibit, folder, *QUICK)
            found.append(rates)
            times = rates[0] / rates[1], rates[0] / same
            print(
                f"{name:<22}{rates[0]:>8.1f}{rates[1]:>16.1f}{times[0]:>8.1f}{same:>16.1f}{times[1]:>8.1f}", flush=True
            )
        slowest, least = min(rate for rate, _ in found), min(rate / other for rate, other in found)
        middle = statistics.median(rate for rate, _ in found)
        print(f"slowest {slowest:.1f}, median {middle:.1f}; at least {least:.1f} times the peer")
        if chosen.sizes:
            first = EXHIBITS[(chosen.exhibits or list(EXHIBITS))[0]]
            for size in CLIP_SIZES[1:]:
                print(f"{first.name} {size}: {ours(first, folder, size=size):.1f}", flush=True)
            for suffix in (".webm", ".mov"):
                rate = ours(first, folder, suffix, theme="transparent")
                print(f"{first.name} 1080p transparent {suffix}: {rate:.1f}", flush=True)
        if chosen.long:
            with pytest.MonkeyPatch.context() as patch:
                patch.setitem(stages.SIZES, "1080p", stages.Size(9.6, 5.4, 20))
                late = 1000 * ticking(patch, folder / "long.mp4", seconds=600, fps=25, every=9.973)
            print(
                f"ten minutes at 25 a second, {late.size} ticks heard after their pictures: {late.min():.1f} to "
                f"{late.max():.1f} ms (one picture is 40 ms); from the first ten to the last ten they drift by "
                f"{np.abs(late[-10:].mean() - late[:10].mean()):.2f} ms"
            )


if __name__ == "__main__":
    main()
