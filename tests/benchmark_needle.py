"""How close, how fast and how soon the live needle is: ``python tests/benchmark_needle.py`` with nothing else at work.

The page's pitch finder beside librosa's YIN and Praat's autocorrelation, each given the same blocks of 512 samples and
what came before them: cents from our offline tracker in steady frames of sampled instruments and voices, dry, in a room
and in noise; gross errors are those over a quarter-tone, or no pitch. Then the needle in a page: from the moment at
which a note reaches it to the picture that shows it.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable

import librosa
import numpy as np
import parselmouth
from browser import running_browser
from needle_page import RATE, hearing_browser, listening, needle_page
from pitch_page import BLOCK, Found, pitch_page
from sampled import sampled
from test_pitch_finder import SAMPLED, beside_python, in_a_room, in_noise

from tunelib.live import needle

LOWEST, HIGHEST, LONG = 50, 2000, 4096  # hertz, and the samples that the peers are given: four periods of the lowest
EVERY = 9  # semitones from note to note
QUARTER_TONE = 50.0


def yin(stretch: np.ndarray) -> float:
    return float(librosa.yin(stretch, fmin=LOWEST, fmax=HIGHEST, sr=RATE, frame_length=LONG, center=False)[0])


def praat(stretch: np.ndarray) -> float:
    """The candidate of the middle frame."""
    pitch = parselmouth.Sound(stretch, RATE).to_pitch_ac(time_step=0.01, pitch_floor=LOWEST, pitch_ceiling=HIGHEST)
    hertz = pitch.selected_array["frequency"]
    middle = float(hertz[hertz.size // 2])
    return middle or np.nan


def block_by_block(finds: Callable[[np.ndarray], float], sound: np.ndarray) -> Found:
    """The estimates of a peer, of the newest stretch after each block."""
    ends = np.arange(LONG, sound.size + 1, BLOCK)
    hertz, costs = np.full(ends.size, np.nan), np.zeros(ends.size)
    for place, end in enumerate(ends):
        began = time.perf_counter()
        hertz[place] = finds(sound[end - LONG : end])
        costs[place] = 1000 * (time.perf_counter() - began)
    return Found((ends - LONG / 2) / RATE, hertz, np.ones(ends.size), np.zeros(ends.size), costs)


def closeness() -> None:
    print(
        f"{'sound':<12}{'finder':<14}{'frames':>8}{'within 2 c':>12}{'median':>9}{'95 %':>9}{'gross':>9}{'ms each':>9}"
    )
    with running_browser() as browser, pitch_page(browser) as find:
        finders = {
            "the page's": find,
            "librosa YIN": lambda s: block_by_block(yin, s),
            "Praat": lambda s: block_by_block(praat, s),
        }
        for heard, name in ((np.asarray, "dry"), (in_a_room, "in a room"), (in_noise, "in noise")):
            sounds = [
                heard(sampled(program, tuple(range(low, high + 1, EVERY)), 0.6, 0.1))
                for program, low, high in SAMPLED.values()
            ]
            for called, finder in finders.items():
                found = [finder(sound) for sound in sounds]
                off = np.concatenate(
                    [np.abs(beside_python(one, sound)) for one, sound in zip(found, sounds, strict=True)]
                )
                cost = np.median(np.concatenate([one.cost for one in found]))
                gross = np.mean(~(off <= QUARTER_TONE))
                print(
                    f"{name:<12}{called:<14}{off.size:>8}{np.mean(off < 2):>12.1%}{np.nanmedian(off):>9.3f}"
                    f"{np.nanpercentile(off, 95):>9.2f}{gross:>9.1%}{cost:>9.2f}"
                )


def delays(hertz: float, lowest: float) -> str:
    """From step to step of thirty-one, slurred, half a second each."""
    tuning = needle(31, lowest=lowest)
    steps = np.array([0, 1, 3, 2, 0, 2, 3, 1] * 4)
    turns = np.cumsum(np.repeat(hertz * 2 ** (steps / 31), RATE // 2)) / RATE
    sound = 0.05 * sum(np.sin(2 * np.pi * n * turns + n * n) / n for n in range(1, 9))
    with hearing_browser() as browser, needle_page(browser, tuning) as page:
        shown = listening(page, sound)
    shown = shown._replace(seconds=shown.drawn)
    from_c = 1200 * np.log2(hertz / tuning.notes.hertz)
    late = []
    for place in range(1, steps.size):
        after = shown.between(place / 2, place / 2 + 0.5)
        there = after.seconds[np.abs(after.cents - from_c - steps[place] * 1200 / 31) < 5]
        late.append(1000 * (there[0] - place / 2) if there.size else np.inf)
    inside = shown.between(0.5, steps.size / 2 - 0.5)
    pace = inside.seconds.size / (steps.size / 2 - 1)
    at = [np.median(late), np.percentile(late, 95), max(late)]
    costs = [np.median(shown.costs), np.percentile(shown.costs, 99)]
    return (
        f"{hertz:>7.0f} Hz, lowest {lowest:>3.0f} Hz: median {at[0]:.0f} ms, 95 % {at[1]:.0f} ms, worst {at[2]:.0f} ms "
        f"of {len(late)}; {pace:.0f} pictures a second; {costs[0]:.2f} ms a block, 99 % {costs[1]:.1f} ms"
    )


def main() -> None:
    closeness()
    print("\na slurred step to its picture (the aim: 100 ms, 20 pictures a second)")
    for hertz, lowest in ((110, 60), (220, 60), (660, 60), (55, 40), (660, 40)):
        print(delays(hertz, lowest))
    print(f"(load of this machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors)")


if __name__ == "__main__":
    main()
