"""The right answers of lesson 01_waves, worked out without the library: by ear, from the pitches that sound.

440 Hz is ISO 16:1975.
"""

from __future__ import annotations

import math

from tunelib.practice import exercise

TONES = [sound.score.notes[0].hertz for sound in exercise(1).sounds]
PAIRS = [[note.hertz for note in sound.score.notes] for sound in exercise(2).sounds]
FIFTHS = [[note.hertz for note in sound.score.notes] for sound in exercise(3).sounds]
BEFORE, AFTER = (abs(string - fork) for fork, string in PAIRS)

RIGHT = {
    "1": "ABC"[TONES.index(min(TONES))],
    "1 in numbers": f"{1000 / 440} ms",
    "2": "B" if AFTER > BEFORE else "A",  # tightening raises: farther away means that it was above already
    "2 in numbers": "436 Hz",
    "3": "ABC"[next(place for place, (lower, upper) in enumerate(FIFTHS) if math.isclose(2 * upper, 3 * lower))],
    "3 in numbers": f"{330 // math.gcd(330, 220)}:{220 // math.gcd(330, 220)}",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("1", f"{min(TONES):.0f} Hz"),
    ("1 in numbers", "2.27 milliseconds"),
    ("2", f"Before: {BEFORE:.0f} beats a second; after: {AFTER:.0f}"),
    ("2 in numbers", "it was at 436 Hz"),
    ("3", f"{abs(2 * FIFTHS[0][1] - 3 * FIFTHS[0][0]):.0f} and {abs(2 * FIFTHS[1][1] - 3 * FIFTHS[1][0]):.0f} beats"),
    ("3 in numbers", "3:2"),
)
"""What the worked answers show."""
