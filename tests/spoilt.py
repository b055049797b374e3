"""What a real room and recorder do to a take: a drone, a click track, a channel turned over, a voice before it.

A drone is a sampled instrument or a synthetic tone; clicks are those of common metronomes: a short tone or a burst of
noise that dies away in a hundredth of a second; what is spoken is made by a general speech synthesizer where there is
one (Debian: espeak-ng), or from published formants.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
from sampled import RATE
from takes import HELD, IN_FIFTHS, Bent, KnownTake, Sung, dry, kept, rendered, struck

DRONES = (16, 42, 48)  # General MIDI: drawbar organ, cello, strings


def sounding(samples: np.ndarray) -> float:
    """Root mean square of the moments of 50 ms within 20 dB of the loudest."""
    whole = samples[: samples.size // 2400 * 2400].reshape(-1, 2400)
    powers = np.mean(whole**2, axis=1)
    return float(np.sqrt(np.mean(powers[powers > 0.01 * powers.max()])))


def over(take: KnownTake, other: np.ndarray, decibels: float, name: str) -> KnownTake:
    """A take with another sound from its beginning on, so many decibels above it."""
    added = np.zeros(take.samples.size)
    size = min(added.size, other.size)
    added[:size] = other[:size]
    gain = 10 ** (decibels / 20) * sounding(take.samples) / sounding(added)
    return KnownTake(f"{take.name}, {name} at {decibels:g} dB", take.samples + gain * added, take.notes)


def synthetic_drone(hertz: float, seconds: float) -> np.ndarray:
    """Twenty partials, each 3 dB softer than the one before."""
    time = np.arange(int(seconds * RATE)) / RATE
    return np.asarray(
        sum(10 ** (-3 * n / 20) * np.sin(2 * np.pi * n * hertz * time + n * n) for n in range(1, 21) if n * hertz < 2e4)
    )


def droned(font: Path, program: int, decibels: float, kind: int = 0, under: int = 12) -> KnownTake:
    """A tune of held notes over a drone so many semitones under its first; kind 0 is synthetic, or a program."""
    keys = [HELD[program] + step for step in IN_FIFTHS]
    take = struck(font, program, keys, 0.5, 0.05)
    key = HELD[program] - under
    seconds = take.samples.size / RATE
    if kind:
        drone = kept(
            lambda: rendered(font, kind, [Bent(key, 0.0, seconds)]), "drone", font.name, kind, key, round(seconds, 3)
        )
        hertz = dry(font, kind, key)
    else:
        hertz = 440 * 2 ** ((key - 69 + 0.07) / 12)
        drone = synthetic_drone(hertz, seconds)
    return over(take, drone, decibels, f"a drone of {hertz:.1f} Hz")


# Below E2 and above G5: keys of General MIDI programs that go there.
_FAR = {
    43: (28, 31, 33, 35, 38), 58: (29, 31, 33, 36), 40: (91, 94, 96, 98, 100), 73: (79, 80, 84, 88, 91, 95, 96),
    74: (79, 84, 88, 91, 95), 68: (79, 81, 84, 86), 70: (34, 36, 38, 39), 42: (36, 37, 39),
}  # fmt: skip


def far(font: Path, program: int) -> KnownTake:
    """Notes at the ends of an instrument's range; none for one that does not go so far."""
    keys = _FAR.get(program, ())
    if not keys:
        return KnownTake("no note so far", np.zeros(RATE), ())
    return struck(font, program, keys, 0.6, 0.1)


def clicks(seconds: float, tempo: float, kind: str = "tone") -> np.ndarray:
    """Clicks at so many a minute, of a peak of 1."""
    time = np.arange(int(0.05 * RATE)) / RATE
    sound = {
        "tone": np.sin(2 * np.pi * 1500 * time),
        "noise": np.random.default_rng(3).normal(size=time.size) / 3,
        "block": np.sin(2 * np.pi * 1000 * time) + 0.6 * np.sin(2 * np.pi * 2350 * time),
    }[kind] * np.exp(-time / 0.008)
    sound /= np.abs(sound).max()
    made = np.zeros(int(seconds * RATE) + sound.size)
    for at in np.arange(0.1, seconds, 60 / tempo):
        place = round(at * RATE)
        made[place : place + sound.size] += sound
    return made[: int(seconds * RATE)]


def clicked(font: Path, program: int, tempo: float = 100.0, kind: str = "tone", each: float = 1.0) -> KnownTake:
    """Held notes with a click track whose peaks are as high as theirs."""
    take = struck(font, program, [HELD[program] + step for step in IN_FIFTHS[:8]], each, 0.15)
    track = clicks(take.samples.size / RATE, tempo, kind) * np.abs(take.samples).max()
    return KnownTake(f"{take.name}, clicks at {tempo:g} a minute", take.samples + track, take.notes)


def turned_over(take: KnownTake) -> KnownTake:
    """A take in two channels, of which one is upside down."""
    return KnownTake(f"{take.name}, one side turned over", np.stack([take.samples, -take.samples], 1), take.notes)


def spoken(words: str, voice: str = "en") -> np.ndarray:
    """Words as a speech synthesizer says them, at 48 kHz; the test that asks is skipped where there is none."""
    if shutil.which("espeak-ng") is None:
        pytest.skip("needs a speech synthesizer (Debian: espeak-ng)")
    done = subprocess.run(["espeak-ng", "-v", voice, "--stdout", words], check=True, capture_output=True, timeout=60)
    sound, rate = soundfile.read(io.BytesIO(done.stdout))
    size = int(sound.size * RATE / rate)
    return np.interp(np.arange(size) / RATE, np.arange(sound.size) / rate, sound)


# Three formants in hertz of vowels of men: G. Peterson and H. Barney, "Control methods used in a study of the vowels",
# J. Acoust. Soc. Am. 24, 1952.
_VOWELS = ((270, 2290, 3010), (660, 1720, 2410), (730, 1090, 2440), (300, 870, 2240), (490, 1350, 1690))


def speech_like(syllables: int = 9, middle: float = 115.0, seed: int = 1) -> np.ndarray:
    """A source and filter: pulses whose rate falls over each syllable, through formants, and noise in between."""
    dice = np.random.default_rng(seed)
    parts = []
    for number in range(syllables):
        size = int(RATE * dice.uniform(0.1, 0.22))
        time = np.arange(size) / RATE
        accent = dice.uniform(-0.05, 0.12) - 0.02 * number
        hertz = middle * (1 + accent + 0.25 * np.sin(np.pi * time / time[-1] + dice.uniform(0, 1)))
        turns = np.cumsum(hertz) / RATE
        sound = np.zeros(size)
        sound[np.flatnonzero(np.diff(np.floor(turns))) + 1] = 1.0
        for formant in _VOWELS[int(dice.integers(len(_VOWELS)))]:
            ring = np.exp(-2 * np.pi * 45 * time[:2400]) * np.sin(2 * np.pi * formant * time[:2400])
            sound = np.convolve(sound, ring)[:size]
        sound *= np.hanning(size) ** 0.25 / np.abs(sound).max()
        noise = 0.15 * dice.normal(size=int(RATE * dice.uniform(0.05, 0.12)))
        parts += [np.diff(noise, prepend=0), sound]
    return np.concatenate(parts)


def announced(take: KnownTake, said: np.ndarray, decibels: float = -6.0, after: bool = False) -> KnownTake:
    """A take with something said before it, and a pause of half a second; or after it."""
    gain = 10 ** (decibels / 20) * sounding(take.samples) / sounding(said)
    pause = np.zeros(RATE // 2)
    parts = [take.samples, pause, gain * said] if after else [gain * said, pause, take.samples]
    later = 0.0 if after else (said.size + pause.size) / RATE
    notes = tuple(Sung(note.onset + later, note.offset + later, note.hertz) for note in take.notes)
    return KnownTake(f"{take.name}, spoken {'after' if after else 'before'}", np.concatenate(parts), notes)
