"""The right answers of lesson 08_chords, worked out without the library: by ear, from the pitches that sound.

4:5:6:7 and its kind are whole numbers (Helmholtz 1885); drop 2 is the second voice from the top an octave lower (common
practice).
"""

from __future__ import annotations

import math
from itertools import combinations

from cents_by_hand import cents_of

from tunelib.practice import exercise

MIDDLE_C = 440 * 2 ** (-23 / 31)  # hertz: A is 23 steps above it
TRIAD = [round(31 * math.log2(hertz / MIDDLE_C)) for hertz in exercise(25).sounds[0].hertz]

# Half-diminished chords by the whole numbers that they are near, in the order in which they are heard.
HALF_DIMINISHED = ((25, 30, 36, 45), (60, 70, 84, 105), (5, 6, 7, 9))
OFF = [
    math.sqrt(
        sum(
            (1200 * math.log2(high / low) - cents_of(upper / lower)) ** 2
            for (low, lower), (high, upper) in combinations(zip(sorted(sound.hertz), numbers, strict=True), 2)
        )
        / 6
    )
    for sound, chord in zip(exercise(26).sounds, HALF_DIMINISHED, strict=True)
    for numbers in [(chord[0], *chord[2:], 2 * chord[1])]  # the third an octave up
]

HEARD = [sorted(round(31 * math.log2(hertz / MIDDLE_C)) for hertz in sound.hertz) for sound in exercise(28).sounds]


def drop_2(close: list[int]) -> list[int]:
    """A close voicing in steps with its second voice from the top an octave lower."""
    return sorted([*close[:-2], close[-2] - 31, close[-1]])


assert [drop_2([0, 10, 18, 25]), drop_2([10, 18, 25, 31])] == HEARD  # 4:5:6:7, and turned once

RIGHT = {
    "25": " ".join(map(str, TRIAD)),
    "25 in numbers": f"{round(31 * math.log2(18 / 14))} steps",
    "26": "ABC"[OFF.index(min(OFF))],
    "26 in numbers": f"{4 * 100 * 2 ** (26 / 31) - 7 * 100:.2f} beats a second",
    "27": " ".join(str(18 + round(31 * math.log2(n / 4))) for n in (4, 5, 6, 7, 9, 11)),
    "27 in numbers": f"{round(31 * math.log2(11 / 8))} steps",
    "28": " ".join(map(str, HEARD[1])),
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("25", f"supermajor one, {TRIAD[1] - TRIAD[0]} steps"),
    ("25", f"{TRIAD[2] - TRIAD[1]} steps, a subminor third"),
    ("25 in numbers", f"9/7, {cents_of(9 / 7):.1f} cents; 11 steps are {11 * 1200 / 31:.1f}"),
    ("26", f"60:70:84:105, the chord 4:5:6:7 upside down, and {OFF[1]:.1f} cents off"),
    ("26", f"25:30:36:45 and {OFF[0]:.1f} off; the third is 5:6:7:9 and {OFF[2]:.0f} off"),
    ("26 in numbers", f"{4 * 100 * 2 ** (26 / 31) - 700:.1f} beats a second"),
    (
        "26 in numbers",
        f"there are {abs(4 * 100 * 2 ** (25 / 31) - 700):.1f}: a slow beat, "
        f"{1 / abs(4 * 100 * 2 ** (25 / 31) - 700):.1f} seconds long",
    ),
    ("27", "G, B, D, F½♭, A and C½♯"),
    ("27 in numbers", f"{31 * math.log2(11 / 8):.2f}, so step 14, −{cents_of(11 / 8) - 14 * 1200 / 31:.1f} cents"),
    ("28", "With C on top the close voicing is E4, G4, A♯4 and C5"),
    ("28", "A♯4, goes down to A♯3, and the voicing is A♯3, E4, G4 and C5"),
)
"""What the worked answers show."""
