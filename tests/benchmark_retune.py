"""A tune retuned: the search as tunes grow, the files of a tune step by step, and the first sound after a click.

Run as ``python tests/benchmark_retune.py``, or with ``search``, ``files`` or ``sound`` for a part of it.

Every chord has some hundreds of realisations. The greedy choice takes for each chord the realisation that is cheapest
after the one chosen before; the exhaustive search adds up every path there is. These peers search the same realisations
at the same prices, and let a symbol be tuned in several ways, as the best path may not.

The rendering is beside a plain sum of sines, note by note, and the first sound beside what a page without our player
would wait for: the whole tune rendered, as the bytes of a WAV file.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import numpy.typing as npt

from tunelib.arrange import tune_score
from tunelib.export import tune_files
from tunelib.files import write_set
from tunelib.harmony import LeadSheet, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.harmony.best_path import Search, cheapest
from tunelib.live import program
from tunelib.pitch import THIRTY_ONE
from tunelib.score import Score
from tunelib.sound import SAMPLE_RATE, Timbre, reference_gain, render, tune_timbres, wav_bytes
from tunelib.sound.render import HEADROOM, USUAL_PEAK_DBFS

COUNTS = (32, 64, 125, 250, 500, 1000)
BARS = (32, 200)
TASTE = Taste(0.6)
RUNS = 3
PEER_SECONDS = 4.0
CADENCES = ("Dm7 G7", "Cmaj7 Am7", "Em7b5 A7b9", "Fm6 Bb13", "Ebmaj7 C7alt", "F#dim7 G7sus4", "Abmaj7 Db9", "Gm9 C13")
RHYTHMS = (("2", "1", "1"), ("1", "1/2", "1/2", "2"), ("3", "1"), ("1/2",) * 8)
NOTES = ("A4", "Bb4", "B4", "C5", "D5", "Eb5", "E5", "F5", "G5")


def song(chords: int, seed: int = 31) -> LeadSheet:
    """Chords alone, two to a bar."""
    chosen = random.Random(seed)
    bars = " | ".join(chosen.choice(CADENCES) for _ in range((chords + 1) // 2))
    sheet = parse_lead_sheet(f"| {bars} |")
    return LeadSheet("", 120, 4, sheet.key, sheet.chords[:chords])


def tune_text(bars: int, seed: int = 31) -> str:
    """A lead sheet with a melody: AABA where it has 32 bars, and else without a repeat."""
    chosen = random.Random(seed)

    def line() -> str:
        chords = [chosen.choice(CADENCES) for _ in range(4)]
        sung = [" ".join(f"{chosen.choice(NOTES)}:{beats}" for beats in chosen.choice(RHYTHMS)) for _ in chords]
        return f"| {' | '.join(chords)} |\nmelody: | {' | '.join(sung)} |\n"

    lines = [line() for _ in range(bars // 4)]
    if bars == 32:
        lines = [*lines[:2], *lines[:2], *lines[2:4], *lines[:2]]
    return f"title: Offcuts of {bars}\ntempo: 140\nkey: C\n" + "".join(lines)


def greedy(search: Search) -> float:
    """What the path costs that takes the cheapest step each time."""
    total, last = 0.0, -1
    for place, column in enumerate(search.columns):
        reached = column.costs
        if place:
            reached = reached + search.moving(search.columns[place - 1], column)[:, last]
        last = int(np.argmin(reached))
        total += float(reached[last])
    return total


def exhaustive(search: Search) -> tuple[int, float]:
    """How many paths there are, and the cost of the cheapest."""
    totals: npt.NDArray[np.float64] = search.columns[0].costs
    for place, column in enumerate(search.columns[1:]):
        totals = totals[..., np.newaxis] + search.moving(search.columns[place], column).T + column.costs
    return totals.size, float(totals.min())


def search_of(tune: RetunedTune) -> Search:
    """What was searched, with no price kept from the search before."""
    solved = tune.solved
    return Search(solved.search.columns, solved.search.before, solved.search.symbols, solved.search.moving)


def freely(search: Search) -> tuple[list[int], float]:
    """The cheapest path, whatever it makes of symbols that come again."""
    return cheapest(search, [np.arange(len(column.costs)) for column in search.columns])


def seconds(run: Callable[..., object], *arguments: object, runs: int = RUNS) -> float:
    """The least of several runs."""
    taken = []
    for _ in range(runs):
        before = time.perf_counter()
        run(*arguments)
        taken.append(time.perf_counter() - before)
    return min(taken)


def benchmark_search() -> None:
    before = time.perf_counter()
    retune(song(32), THIRTY_ONE, TASTE)
    print(f"the first tune of 32 chords, its tables and chords unknown: {time.perf_counter() - before:.2f} s\n")
    print("chords  realisations  retune, s  ms a chord  search, s  greedy, s  cost  greedy's cost  peak, MB")
    for count in COUNTS:
        sheet = song(count)
        search = search_of(retune(sheet, THIRTY_ONE, TASTE))
        sizes = np.mean([len(column.costs) for column in search.columns])
        whole = seconds(retune, sheet, THIRTY_ONE, TASTE)
        path, by_greed = seconds(freely, search), seconds(greedy, search)
        best, dearer = freely(search)[1], greedy(search)
        tracemalloc.start()
        retune(sheet, THIRTY_ONE, TASTE)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        print(
            f"{count:6d}  {sizes:12.0f}  {whole:9.3f}  {1000 * whole / count:10.2f}  {path:9.3f}  {by_greed:9.3f}"
            f"  {best:4.0f}  {dearer:13.0f}  {peak:8.1f}"
        )
    print("\nchords          paths  exhaustive, s  its cost  ours, s  our cost  greedy's cost")
    for symbols in ("Dm7 G7", "Dm7 G7 Cmaj7", "Am7b5 D7b9 Gm6"):
        sheet = parse_lead_sheet(" | ".join(["", *symbols.split(), ""]).strip())
        search = search_of(retune(sheet, THIRTY_ONE, TASTE))
        start = time.perf_counter()
        paths, least = exhaustive(search)
        took = time.perf_counter() - start
        ours = seconds(freely, search)
        print(
            f"{len(search.columns):6d}  {paths:13,d}  {took:13.3f}  {least:8.3f}  {ours:7.3f}"
            f"  {freely(search)[1]:8.3f}  {greedy(search):13.3f}"
        )


def timed_steps(tune: RetunedTune) -> dict[str, tuple[float, float]]:
    """Seconds for each step of making a tune's files: on the clock, and of a processor."""
    found: dict[str, tuple[float, float]] = {}
    at = [time.perf_counter(), time.process_time()]
    doing = ["preparing"]

    def tell(step: str) -> None:
        now = time.perf_counter(), time.process_time()
        found[doing[0]] = now[0] - at[0], now[1] - at[1]
        at[:], doing[0] = now, step

    with TemporaryDirectory() as folder:
        write_set(tune_files(tune), Path(folder) / "tune", progress=tell)
        tell("")
    return found


def benchmark_files() -> None:
    for bars in BARS:
        text = tune_text(bars)
        print(f"\nall files of {bars} bars, the first time and again: seconds, and seconds of a processor")
        columns = []
        for _ in range(2):
            start = time.perf_counter(), time.process_time()
            tune = retune(parse_lead_sheet(text), THIRTY_ONE)
            taken = time.perf_counter() - start[0], time.process_time() - start[1]
            steps = {"retuning the chords": taken} | timed_steps(tune)
            whole = time.perf_counter() - start[0], time.process_time() - start[1]
            columns.append(steps | {"the whole": whole})
        for step in columns[0]:
            print(
                f"  {step:24s}" + "".join(f"  {clock:7.2f} {core:7.2f}" for clock, core in (c[step] for c in columns))
            )
        with TemporaryDirectory() as folder:
            path = Path(folder) / "tune.txt"
            path.write_text(text, encoding="utf-8")
            command = [sys.executable, "-m", "tunelib", "retune", str(path), "--out", str(Path(folder) / "out")]
            before = time.perf_counter()
            subprocess.run(command, check=True, capture_output=True)
            took = time.perf_counter() - before
        print(f"  {'the command, from a shell':25s} {took:7.2f}")


def sum_of_sines(score: Score, timbres: dict[str, Timbre], gain: float, until: float) -> npt.NDArray[np.float64]:
    """The notes that begin in the first seconds, each partial of each by itself; without the limiter."""
    notes = [note for note in score.notes if score.seconds(note.onset) < until]
    longest = max(score.seconds(note.end) + timbres[note.voice].release for note in notes)
    out = np.zeros(round(longest * SAMPLE_RATE) + 1)
    for note in notes:
        timbre = timbres[note.voice]
        start = round(score.seconds(note.onset) * SAMPLE_RATE)
        length = round((score.seconds(note.end) + timbre.release) * SAMPLE_RATE) - start
        count = np.arange(length)
        tone = np.zeros(length)
        for hertz, amplitude, decay, phase in zip(*timbre.partials(note.hertz), timbre.phases(note.hertz), strict=True):
            fading = amplitude * 10 ** (-3 * count / (decay * SAMPLE_RATE))
            tone += fading * np.sin(2 * np.pi * hertz / SAMPLE_RATE * count + phase)
        attack, release = (round(ramp * SAMPLE_RATE) for ramp in (timbre.attack, timbre.release))
        rising, falling = np.minimum(count / attack, 1), np.clip((count - length + release + 1) / release, 0, 1)
        ramps = (0.5 - 0.5 * np.cos(np.pi * rising)) * (0.5 + 0.5 * np.cos(np.pi * falling))
        out[start : start + length] += gain * note.level * 10 ** (USUAL_PEAK_DBFS / 20) / HEADROOM * ramps * tone
    return out[: round(until * SAMPLE_RATE)]


def rendered_to_bytes(score: Score, timbres: dict[str, Timbre]) -> bytes:
    return wav_bytes(render(score, timbres, gain=reference_gain(score, timbres)))


def benchmark_sound() -> None:
    timbres = tune_timbres()
    print("\nbars  seconds of sound  rendered, s  times real time  plain sines  difference, dB", end="")
    print("  score, ms  loudness, ms  program, ms  first sound, ms  rendered to bytes, ms")
    for bars in BARS:
        tune = retune(parse_lead_sheet(tune_text(bars)), THIRTY_ONE)
        score = tune_score(tune)
        gain = reference_gain(score, timbres)
        samples = render(score, timbres, gain=gain)
        length = samples.size / SAMPLE_RATE
        rendered = seconds(render, score, timbres)
        plain = seconds(sum_of_sines, score, timbres, gain, PEER_SECONDS, runs=1)
        expected = sum_of_sines(score, timbres, gain, PEER_SECONDS)
        apart = np.abs(samples[: expected.size] - expected).max() / np.abs(expected).max()
        steps = (
            seconds(tune_score, tune),
            seconds(reference_gain, score, timbres),
            seconds(program, score, timbres, gain),
        )
        in_bytes = seconds(rendered_to_bytes, score, timbres)
        print(
            f"{bars:4d}  {length:16.0f}  {rendered:11.2f}  {length / rendered:15.0f}  {PEER_SECONDS / plain:11.1f}"
            f"  {20 * np.log10(apart):14.0f}  {1000 * steps[0]:9.1f}  {1000 * steps[1]:12.1f}  {1000 * steps[2]:11.1f}"
            f"  {1000 * sum(steps):15.1f}  {1000 * (steps[0] + in_bytes):21.0f}"
        )


PARTS = {"search": benchmark_search, "files": benchmark_files, "sound": benchmark_sound}


def main() -> None:
    for name in sys.argv[1:] or PARTS:
        PARTS[name]()


if __name__ == "__main__":
    main()
