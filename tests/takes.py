"""Takes whose notes are known: sampled instruments that FluidSynth plays with bends of known size, and how what was
heard in them is scored.

An instrument of a sound font has a tuning of its own, key by key; so each note's true pitch is that of the same key
played dry, without a bend, as parselmouth finds it, moved by the bend.
"""

from __future__ import annotations

import functools
import hashlib
import os
import pickle
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

import mido
import numpy as np
import parselmouth
from sampled import FONT, RATE, played

import tunelib.hearing.between_samples
import tunelib.hearing.pitch_path
import tunelib.hearing.pitch_track
from tunelib.hearing import PitchTrack, track_pitch

FONTS = (FONT, Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"))  # Debian: timgm6mb-soundfont, fluid-soundfont-gm
HELD = {  # General MIDI programs of one player who holds notes (MIDI Manufacturers Association 1991), and a middle key
    20: 60, 21: 65, 22: 67, 40: 69, 41: 60, 42: 50, 43: 43, 53: 62, 56: 65, 57: 53, 58: 45,
    59: 65, 60: 55, 64: 67, 65: 62, 66: 57, 67: 50, 68: 69, 69: 64, 70: 50, 71: 65, 73: 74, 74: 76, 75: 72,
}  # fmt: skip
FRESH = (40, 58, 65, 69, 74, 75)  # by none of these were weights fitted, or constants tried
STEP = 1200 / 31
NEAR = 15.0  # cents within which a note counts as right
BEND_RANGE = 12.0  # semitones
LEAD_IN, SLUR = 0.3, 0.02  # seconds before the first note, and from one slurred note to the next

ZIGZAG = (0, 1, 2, 3, 4, 3, 5, 4, 3, 2, 1, 0)  # steps of thirty-one, each the neighbour of the last but for one
IN_FIFTHS = (0, 2, 4, 5, 7, 5, 4, 2, 0, 7, 4, 0)  # semitones

Made = TypeVar("Made")


class Sung(NamedTuple):
    """A note that was played: from and to in seconds, and its pitch in hertz."""

    onset: float
    offset: float
    hertz: float


class KnownTake(NamedTuple):
    """A take and what was played in it."""

    name: str
    samples: np.ndarray
    notes: tuple[Sung, ...]


class Score(NamedTuple):
    """How many notes were told rightly, run into a neighbour, split, missed, or told at another pitch; and how many
    notes too many there were."""

    notes: int = 0
    right: int = 0
    merged: int = 0
    split: int = 0
    missed: int = 0
    off: int = 0
    extra: int = 0

    @property
    def share(self) -> float:
        return self.right / max(self.notes, 1)


def added(scores: Iterable[Score]) -> Score:
    return Score(*map(sum, zip(Score(), *scores, strict=True)))


def score(heard: Sequence[tuple[float, float, float]], notes: Sequence[Sung]) -> Score:
    """Notes heard, as onset, offset and hertz, held beside those that were played.

    Each is given to the note with which it shares most time. A note is right if it has one, less than 15 cents away,
    which does not also cover most of a neighbour.
    """
    shared = np.array([[min(b, n.offset) - max(a, n.onset) for n in notes] for a, b, _ in heard]).reshape(
        -1, len(notes)
    )
    owner = shared.argmax(axis=1) if len(heard) else np.zeros(0, dtype=int)
    alone = shared.max(axis=1, initial=-np.inf) <= 0
    found: Counter[str] = Counter()
    covered = shared > 0.5 * np.array([n.offset - n.onset for n in notes])
    for place, note in enumerate(notes):
        mine = np.flatnonzero((owner == place) & ~alone)
        if not mine.size:
            found["merged" if covered[:, place].any() else "missed"] += 1
        elif mine.size > 1:
            found["split"] += 1
            found["extra"] += mine.size - 1
        elif covered[mine[0]].sum() > 1:
            found["merged"] += 1
        else:
            near = abs(1200 * np.log2(heard[mine[0]][2] / note.hertz)) < NEAR
            found["right" if near else "off"] += 1
    found["extra"] += int(alone.sum())
    return Score(notes=len(notes), **found)


# What is played


class Bent(NamedTuple):
    """A key held from one second to another, with its bend in cents by time (a function of an array of seconds)."""

    key: int
    start: float
    stop: float
    bend: Callable[[np.ndarray], np.ndarray] | None = None


def rendered(font: Path, program: int, keys: Sequence[Bent], velocity: int = 90) -> np.ndarray:
    """Keys on one channel, as FluidSynth plays them, dry, at 48 kHz."""
    events: list[tuple[float, int, mido.Message]] = []
    for key, after in zip(keys, [*[key.start for key in keys[1:]], keys[-1].stop], strict=True):
        if key.bend is not None:  # which goes on while the key rings
            seconds = np.arange(key.start, after, 0.005)
            wheel = np.clip(np.rint(key.bend(seconds) / (100 * BEND_RANGE) * 8192), -8192, 8191).astype(int)
            for at, value, before in zip(seconds, wheel, np.append(99999, wheel[:-1]), strict=True):
                if value != before:
                    events.append((float(at), 1, mido.Message("pitchwheel", pitch=int(value))))
        events.append((key.start, 2, mido.Message("note_on", note=key.key, velocity=velocity)))
        events.append((key.stop, 0, mido.Message("note_off", note=key.key)))
    controls = ((101, 0), (100, 0), (6, int(BEND_RANGE)), (38, 0))  # MIDI 1.0: registered parameter 0, bend sensitivity
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    track += [mido.Message("control_change", control=control, value=value) for control, value in controls]
    track.append(mido.Message("program_change", program=program))
    now = 0
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        tick = round(1000 * at)
        track.append(message.copy(time=tick - now))
        now = tick
    return played(mido.MidiFile(ticks_per_beat=1000, tracks=[track]), font)


def kept(make: Callable[[], Made], *named: Any) -> Made:
    """What `make` makes, from a folder for a while where it was made before; a benchmark asks for hours of sound."""
    folder = Path(os.environ.get("TUNELIB_TAKES", Path(tempfile.gettempdir()) / "tunelib-takes"))
    path = folder / f"{hashlib.sha256(repr(named).encode()).hexdigest()[:24]}.pickle"
    if path.is_file():
        return pickle.loads(path.read_bytes())  # type: ignore[no-any-return]
    made = make()
    folder.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(f".{os.getpid()}")
    part.write_bytes(pickle.dumps(made))
    part.replace(path)
    return made


@functools.lru_cache(maxsize=4096)
def dry(font: Path, program: int, key: int, seconds: float = 1.2) -> float:
    """The pitch in hertz of a key by itself and without a bend, by parselmouth: the median of its later part.

    What begins a quarter-tone flat, as some samples do, is flat for as long as it is short.
    """

    def find() -> float:
        sound = rendered(font, program, [Bent(key, LEAD_IN, LEAD_IN + seconds)])
        nominal = 440 * 2 ** ((key - 69) / 12)
        pitch = parselmouth.Sound(sound, RATE).to_pitch_ac(
            time_step=0.005, pitch_floor=0.7 * nominal, pitch_ceiling=1.4 * nominal, very_accurate=True
        )
        inside = (pitch.xs() > LEAD_IN + min(0.25, 0.4 * seconds)) & (pitch.xs() < LEAD_IN + 0.95 * seconds)
        hertz = pitch.selected_array["frequency"][inside]
        return float(np.median(hertz[hertz > 0]))

    return kept(find, "dry, later part", font.name, program, key, seconds)


def slurred(
    font: Path, program: int, each: float, width: float = 0.0, steps: Sequence[int] = ZIGZAG, rate: float = 5.8
) -> KnownTake:
    """One key held, and bent from step to step of thirty-one; with a vibrato of `width` cents from peak to peak."""
    key, size = HELD[program], STEP * np.array(steps, dtype=float)
    size -= size.max() / 2

    def bend(seconds: np.ndarray) -> np.ndarray:
        since = np.maximum(seconds - LEAD_IN, 0)
        place = np.minimum((since / each).astype(int), size.size - 1)
        part = np.clip((since - place * each) / SLUR, 0, 1)
        level = size[np.maximum(place - 1, 0)] * (1 - part) + size[place] * part
        return np.asarray(level + width / 2 * np.sin(2 * np.pi * rate * since))

    held = Bent(key, LEAD_IN, LEAD_IN + each * size.size, bend)
    notes = tuple(
        Sung(LEAD_IN + i * each, LEAD_IN + (i + 1) * each, dry(font, program, key) * 2 ** (off / 1200))
        for i, off in enumerate(size.tolist())
    )
    name = f"slurred {each:g} s, vibrato {width:g}"
    samples = kept(
        lambda: rendered(font, program, [held]), "slurred", font.name, program, each, width, tuple(steps), rate
    )
    return KnownTake(name, samples, notes)


def struck(
    font: Path, program: int, keys: Sequence[int], each: float, gap: float, width: float = 0.0, rate: float = 5.8
) -> KnownTake:
    """Keys one after another, `each` seconds long with a gap before the next; with a vibrato of `width` cents."""
    starts = LEAD_IN + (each + gap) * np.arange(len(keys))

    def swing(seconds: np.ndarray) -> np.ndarray:
        return np.asarray(width / 2 * np.sin(2 * np.pi * rate * (seconds - LEAD_IN)))

    bents = [Bent(key, at, at + each, swing if width else None) for key, at in zip(keys, starts.tolist(), strict=True)]
    notes = tuple(Sung(one.start, one.stop, dry(font, program, one.key, min(each, 1.2))) for one in bents)
    samples = kept(
        lambda: rendered(font, program, bents),
        "struck, ringing bent",
        font.name,
        program,
        tuple(keys),
        each,
        gap,
        width,
        rate,
    )
    return KnownTake(f"{each:g} s, gap {1000 * gap:g} ms, vibrato {width:g}", samples, notes)


def repeated(font: Path, program: int, gap: float) -> KnownTake:
    """The same note ten times."""
    return struck(font, program, (HELD[program],) * 10, 0.4, gap)


def detached(font: Path, program: int, width: float) -> KnownTake:
    """Notes of 1 s, each by itself, with or without vibrato."""
    keys = [HELD[program] + step for step in IN_FIFTHS[:8]]
    return struck(font, program, keys, 1.0, 0.15, width)


def quick(font: Path, program: int, a_second: float) -> KnownTake:
    """A tune tongued at so many notes a second, each lasting nine tenths of its time."""
    keys = [HELD[program] + step for step in IN_FIFTHS + IN_FIFTHS]
    return struck(font, program, keys, 0.9 / a_second, 0.1 / a_second)


def in_a_room(take: KnownTake, seconds: float, decibels: float = -3.0) -> KnownTake:
    """A take in a room that rings: its direct sound, and noise that falls by 60 dB in so many seconds, of an energy of
    so many decibels beside it."""
    time = np.arange(int(seconds * RATE)) / RATE
    tail = np.random.default_rng(5).standard_normal(time.size) * 10 ** (-3 * time / seconds)
    tail *= 10 ** (decibels / 20) / np.sqrt(np.sum(tail**2))
    tail[0] += 1.0
    size = 1 << int(np.ceil(np.log2(take.samples.size + tail.size)))
    wet = np.fft.irfft(np.fft.rfft(take.samples, size) * np.fft.rfft(tail, size), size)[: take.samples.size + RATE]
    return KnownTake(f"{take.name}, in a room of {seconds:g} s", wet, take.notes)


def tracked(take: KnownTake, lowest: float = 50.0, highest: float = 2000.0) -> PitchTrack:
    """The pitch track of a take; kept as long as the tracker stays as it is."""
    modules = tunelib.hearing.pitch_track, tunelib.hearing.pitch_path, tunelib.hearing.between_samples
    source = b"".join(Path(module.__file__).read_bytes() for module in modules)
    named = (hashlib.sha256(source).hexdigest(), hashlib.sha256(take.samples.tobytes()).hexdigest(), lowest, highest)
    return kept(lambda: track_pitch(take.samples, RATE, lowest=lowest, highest=highest), "tracked", *named)


def every_take(make: Callable[[Path, int], KnownTake], programs: Iterable[int] = tuple(HELD)) -> Iterator[KnownTake]:
    """A kind of take from every font that is there, and every program of these."""
    for font in FONTS:
        if font.is_file():
            for program in programs:
                yield make(font, program)


# A plain peer


def by_parselmouth(samples: np.ndarray, rate: float = RATE, apart: float = 25.0) -> list[tuple[float, float, float]]:
    """Notes by Praat's pitch and a plain rule: a new one where it stays 25 cents off the running mean for 50 ms."""
    pitch = parselmouth.Sound(samples, rate).to_pitch(time_step=0.01, pitch_floor=50, pitch_ceiling=2000)
    hertz, times = pitch.selected_array["frequency"], pitch.xs()
    cents = np.where(hertz > 0, 1200 * np.log2(np.maximum(hertz, 1e-9)), np.nan)
    rows: list[list[int]] = []
    now: list[int] = []
    away = 0
    for frame, value in enumerate(cents.tolist()):
        if np.isnan(value):
            rows, now, away = [*rows, now], [], 0
            continue
        settled = now[: len(now) - away]
        away = away + 1 if settled and abs(value - np.mean(cents[settled])) > apart else 0
        now.append(frame)
        if away >= 5:
            rows, now, away = [*rows, now[:-5]], now[-5:], 0
    rows.append(now)
    return [
        (float(times[row[0]]), float(times[row[-1]]), float(2 ** (np.median(cents[row]) / 1200)))
        for row in rows
        if len(row) >= 5
    ]
