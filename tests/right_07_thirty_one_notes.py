"""The right answers of lesson 07_thirty_one_notes, worked out without the library: by ear, from the pitches that sound.

By counting: a fifth is 18 steps, a tone 5, a half-sharp 1 (Huygens 1691); a trombone's slide gives half of what the
tube must grow (common practice). Pitches are held against A4 = 440 Hz (ISO 16:1975), 23 steps above C4.
"""

from __future__ import annotations

from itertools import pairwise

from cents_by_hand import cents_of

from tunelib.practice import exercise


def step_of(hertz: float) -> int:
    """The step of thirty-one that a frequency is, counted from C4."""
    return round(23 + cents_of(hertz / 440) * 31 / 1200)


FOUND = {
    step: [step_of(note.hertz) for sound in exercise(step).sounds for note in sound.score.notes]
    for step in (21, 22, 23, 24)
}
"""By the step of the course: what sounds in its exercise."""

GAP = next(low for low, high in pairwise(FOUND[21]) if high - low > 1)
THIRD = max(FOUND[23]) - min(FOUND[23])

RIGHT = {
    "21": str(GAP + 1),
    "21 in numbers": " ".join(str((20 + 18 * n) % 31) for n in range(5)),
    "22": " ".join(map(str, FOUND[22])),
    "22 in numbers": f"{5 + 1 - 5}",
    "23": "ABCDE"[THIRD - 7],
    "23 in numbers": "23 30 32 34",
    "24": str(FOUND[24][1]),
    "24 in numbers": f"{2850 * (2 ** (1 / 31) - 1) / 2:.1f} mm",
}
"""By the step, or by the step and ``in numbers``: an answer as it is typed."""

SHOWN = (
    ("21", f"two steps, {2 * 1200 / 31:.1f} cents"),
    ("21", f"it is one, {1200 / 31:.1f}"),
    ("21 in numbers", "20, 7, 25, 12 and 30: G♯, D♯, A♯, E♯ and B♯"),
    ("21 in numbers", f"{30 * 1200 / 31:.1f} cents above a C, {1200 / 31:.1f} short"),
    ("22", "G, A, B½♭ and G"),
    ("22 in numbers", "step 6, less 5 is 1: C½♯"),
    ("23", f"{THIRD} steps"),
    ("23 in numbers", f"270.97 − 266.87 = +{7 * 1200 / 31 - cents_of(7 / 6):.1f} cents"),
    ("23 in numbers", f"+{300 - cents_of(7 / 6):.1f} cents off"),
    ("24", f"{FOUND[24][1] - FOUND[24][0]} steps above E: a subminor third"),
    ("24 in numbers", f"{2850 * (2 ** (1 / 31) - 1):.1f} mm of tube"),
    ("24 in numbers", f"is at {2850 * (2 ** (1 / 12) - 1) / 2:.1f} mm"),
)
"""What the worked answers show."""
