"""The right answers of lesson 09_harmony_in_motion, worked out without the library: from what sounds, and by counting.

Steps of thirty-one by letters: five from one to the next, three from E to F and from B to C; a sharp or a flat is two.
Held notes make a progression fall by 81/80 a round (Benedetti 1585).
"""

from __future__ import annotations

import math
from itertools import pairwise

from cents_by_hand import cents_of

from tunelib.practice import exercise

STEP = {"C": 0, "D": 5, "E": 10, "F": 13, "G♯": 18 + 2, "A♭": 23 - 2, "A": 23, "B": 28}


def one_step_lower(chord: list[str], tonic: str) -> str:
    """A diminished chord with one note a step lower, such that the note above its narrow gap is 3 below the tonic."""
    for place, name in enumerate(chord):
        lowered = (STEP[name] - 1) % 31
        moved = {STEP[other] for other in chord[:place] + chord[place + 1 :]} | {lowered}
        leading = [high for high in moved if (high - 7) % 31 in moved]
        if leading == [STEP[tonic] - 3]:
            return " ".join(other for other, step in STEP.items() if step in moved)
    raise AssertionError(f"no note of {chord} can be moved so that it leads to {tonic}")


def bars(sound: object) -> list[list[float]]:
    """The chords of a sound one after another, in steps of thirty-one above the lowest note of all."""
    notes = sound.score.notes  # type: ignore[attr-defined]
    low = min(note.hertz for note in notes)
    onsets = sorted({note.onset for note in notes})
    return [
        sorted(round(31 * math.log2(note.hertz / low), 3) for note in notes if note.onset == onset) for onset in onsets
    ]


ON_C = {step: name for name, step in (STEP | {"G": 18, "F♯": 13 + 2, "F½♭": 13 - 1}).items()}


def top_voice(sound: object) -> list[int]:
    """The highest notes one after another, in steps above C4: A is 440 Hz, and 23 steps above it."""
    highest: dict[float, float] = {}
    for note in sound.score.notes:  # type: ignore[attr-defined]
        highest[note.onset] = max(note.hertz, highest.get(note.onset, 0.0))
    return [round(23 + 31 * math.log2(highest[onset] / 440)) for onset in sorted(highest)]


def chain(sound: object) -> list[str]:
    """Chords by their steps above the bass, as symbols: dominants without their fifths, and triads."""
    symbols = {(0, 10, 26): "7", (0, 10, 25): "harm7", (0, 10): ""}
    found = []
    for onset in sorted({note.onset for note in sound.score.notes}):  # type: ignore[attr-defined]
        hertz = sorted(note.hertz for note in sound.score.notes if note.onset == onset)  # type: ignore[attr-defined]
        above = sorted({round(31 * math.log2(each / hertz[0])) % 31 for each in hertz})
        found.append(ON_C[round(23 + 31 * math.log2(hertz[0] / 440)) % 31] + symbols[tuple(above)])
    return found


CHAIN = chain(exercise(29).sounds[0])
OF_CHORDS, ALONE = map(top_voice, exercise(29).sounds)
VOICE = [ON_C[step] for step in OF_CHORDS]
FALLS = [before - after for before, after in pairwise(ALONE)]

FIRST, SECOND = (bars(sound) for sound in exercise(31).sounds)
[DIFFERS] = [number for number, pair in enumerate(zip(FIRST, SECOND, strict=True), start=1) if pair[0] != pair[1]]

RIGHT = {
    "29": " ".join(VOICE),
    "30": one_step_lower(["B", "D", "F", "A♭"], "A"),
    "30 in numbers": f"{5 * cents_of(81 / 80):.1f} cents",
    "31": f"Bar {DIFFERS}.",
    "31 in numbers": "1,000,000",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("29", f"The seventh of {CHAIN[1].removesuffix('7')} is the minor one, and has three steps to fall"),
    ("29", f"That of {CHAIN[3].removesuffix('harm7')} is the harmonic one, and has two"),
    ("29", f"{', '.join(VOICE[:-1])} and {VOICE[-1]}: down by {FALLS[0]}, {FALLS[1]}, {FALLS[2]} and {FALLS[3]} steps"),
    ("30", f"A♭ goes down by {STEP['A♭'] - STEP['G♯']} step to G♯, which rises by {STEP['A'] - STEP['G♯']} steps to A"),
    ("30 in numbers", f"{5 * cents_of(81 / 80):.1f} cents: more than a semitone"),
    ("30 in numbers", f"is {cents_of(3 / 2) - 18 * 1200 / 31:.1f} cents"),
    ("31", f"Bar {DIFFERS}: C7 in the place of C"),
    ("31 in numbers", "10 to the power of 6, or 1,000,000"),
)
"""What the worked answers show."""
