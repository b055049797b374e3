"""Questions and exercises on overtones: their series, timbre, vowels, and a sheet to play along with.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import numpy as np

from tunelib.pitch import (
    A4_HZ,
    Note,
    equal,
    harmonic_deviations,
    harmonic_series,
    listed,
    nearest_note,
    number_in_words,
    signed,
)
from tunelib.pitch import in_hertz as _hz
from tunelib.practice.answers import Choice, Quantity, Several
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_STRAY_CENTS = 25.0  # a quarter of the way from one key to the next
_SHEET_HARMONICS = 16


# Step 4: multiples of one frequency


def question_4() -> Question:
    series = harmonic_series(A4_HZ / 4, 4)
    return Question(
        f"A tone has its harmonics at {listed([_hz(f) for f in series])}, and so on: always "
        f"{_hz(series[1] - series[0])} more. Walk up them one by one. To your ear, the steps will",
        Choice(
            ("grow smaller and smaller.", "stay the same size.", "grow larger and larger."),
            right=0,
            responses=(
                "The ear compares by ratio: 2/1, an octave; 3/2, a fifth; 4/3, a fourth; and ever smaller.",
                "In hertz they are equal, but the ear compares by ratio, and the ratios are 2/1, 3/2, 4/3 …",
                "Work out the ratios: 2/1, then 3/2, then 4/3. Do they grow?",
            ),
        ),
    )


def exercise_4() -> Exercise:
    string, count = Note.parse("C2"), 6
    series = harmonic_series(string.hz(), count)
    keys = tuple(nearest_note(hertz)[0] for hertz in series.tolist())
    fifth, left_over = nearest_note(float(series[4]))
    octaves = " ".join(f"C{string.octave + n}" for n in range(3))
    return Exercise(
        f"Notes are named here with their octave: C4 is middle C. The lowest string of a cello, {string}, is two "
        f"octaves below it and sounds at about {_hz(string.hz())}. Play the keys of a piano that are nearest to its "
        f"first {number_in_words(count)} harmonics, from the string itself upwards, one after another. Every key says "
        "its frequency.",
        Played(
            keys,
            equal(12),
            in_order=True,
            exact=True,
            slips={
                octaves: "Doubling again and again climbs in octaves, past most of the harmonics. Each harmonic adds "
                "the fundamental once more.",
                str(keys[1]): "That is harmonic 2. The fundamental itself counts as harmonic 1.",
            },
            keyboard={"layout": "line", "lowest": str(string), "octaves": 3},
        ),
        hint=f"Harmonic 1 is the string itself, {_hz(string.hz())}. Harmonic 2 vibrates twice as fast, harmonic 3 "
        "three times as fast … Look for the keys with those frequencies.",
        worked=f"Once, twice, three times {_hz(string.hz(), 2)}, and so on, make {listed([_hz(f) for f in series])}: "
        f"{listed(keys)}. Not all the keys are right on them. Harmonic 5, 5 × {_hz(string.hz(), 2)} = "
        f"{_hz(series[4])}, is a little {'below' if left_over < 0 else 'above'} {fifth}, at {_hz(fifth.hz())}. You "
        "will meet that difference again.",
    )


# Step 5: the same pitch, another recipe


def question_5() -> Question:
    return Question(
        "A flute and a trumpet hold the same note, equally loud. What differs in their sound?",
        Choice(
            (
                "How strong each of the harmonics is.",
                "How often the wave repeats.",
                "At what pitches its harmonics are.",
            ),
            right=0,
            responses=(
                "The harmonics are at the same pitches; how strong each one is makes the recipe, and so the timbre.",
                "Then one would sound higher. Both repeat equally often: that is what the same note means.",
                "On one steady note both have their harmonics at the same multiples. Look at how strong each one is.",
            ),
        ),
    )


def exercise_5() -> Exercise:
    fundamental = 100
    parts = harmonic_series(fundamental, 6)[2:]
    repeat = int(np.gcd.reduce(parts.astype(int)))
    return Exercise(
        f"Here is an odd recipe: a tone made of {listed([_hz(f) for f in parts])}, and nothing lower. How many times "
        "a second does the whole pattern repeat? That is the pitch that most ears give it.",
        Quantity(
            repeat,
            "Hz",
            tolerance=0.5,
            slips={
                float(parts[0]): "That is the lowest tone present, but the others have not come round again by then. "
                "Which number goes into all of them?",
                float(parts.mean()): "That is the average. The pattern repeats more slowly: which number goes into all "
                "of them?",
                float(parts.sum()): "That is the sum. Which number goes into all of them?",
            },
        ),
        hint="Look for the largest number that goes into every one of them. They are all harmonics of it.",
        worked=f"{listed([f'{f:g}' for f in parts])} are {listed([f'{n:g}' for n in parts / repeat])} times "
        f"{repeat}. So the pattern repeats {repeat} times a second, and you hear a pitch of {repeat} Hz although no "
        f"tone of {repeat} Hz is there. Change the recipe, even leave the fundamental out, and the pitch stays.",
    )


# Step 6: vowels and overtone singing


def question_6() -> Question:
    return Question(
        "A singer holds one note and glides from “ee” to “oo”. What changes?",
        Choice(
            (
                "The harmonics slide down to new pitches.",
                "The fundamental becomes weaker and vanishes.",
                "Only how strong each of the harmonics is.",
            ),
            right=2,
            responses=(
                "The harmonics stay at their multiples as long as the note is held. The mouth cannot move them.",
                "The voice goes on making its fundamental as before. Watch what happens to the others.",
                "The mouth is a filter: it lets some harmonics through more strongly than others, and we hear a vowel.",
            ),
        ),
    )


def exercise_6() -> Exercise:
    drone, melody = Note.parse("F3"), Note.parse("A6")
    number = round(melody.hz() / drone.hz())
    return Exercise(
        f"Adachi and Yamada (1999) measured a singer who held {drone} ({_hz(drone.hz())}) and let a whistling melody "
        f"ring above it. One note of the melody was {melody}, near {_hz(melody.hz(), 0)}. Which harmonic of the drone "
        "was that? Give its number.",
        Quantity(
            number,
            tolerance=0.3,
            slips={
                number - 1: f"That is the number of overtones: harmonic {number} is overtone {number - 1}, because the "
                "fundamental counts as harmonic 1.",
                melody.hz() - drone.hz(): "That is the difference in hertz. How many times does the drone go into the "
                "melody note?",
            },
        ),
        hint=f"How many times does {drone.hz():.1f} go into {melody.hz():.0f}? Take the nearest whole number.",
        worked=f"{melody.hz():.0f} ÷ {drone.hz():.1f} = {melody.hz() / drone.hz():.2f}, so it was harmonic {number}, "
        f"at {_hz(number * drone.hz())}. The singer cannot sing a pitch between the harmonics this way: the mouth only "
        "picks out one that is there already.",
    )


# Step 7: play along with the series


def question_7() -> Question:
    return Question(
        f"You are going to play the first {_SHEET_HARMONICS} harmonics of one low note on your instrument, whose notes "
        "are twelve equal steps to the octave. How well will your notes meet them?",
        Choice(
            (
                "All of them will match: notes were made from harmonics.",
                "Most come close; a few fall far between my notes.",
                "None but the octaves will come anywhere near.",
            ),
            right=1,
            responses=(
                "Many come close, but not all. Play or listen: some of them will beat.",
                "Most are so near that you barely notice, but a few fall almost halfway between two of your notes.",
                "Only the octaves are exact, but most of the others come close. A few do not: look for those.",
            ),
        ),
    )


def exercise_7() -> Exercise:
    table = harmonic_deviations(equal(12), _SHEET_HARMONICS)
    strays = table[np.abs(table.error) > _STRAY_CENTS]
    worst = table[np.argmax(np.abs(table.error))]
    seventh, double = (table[table.number == n][0] for n in (7, 14))
    closest = table[table.number == 3][0]
    return Exercise(
        f"Your sheet says above each note how far the true harmonic is from it, in hundredths of the way to the next "
        f"key; so does the picture, where it is far and the cents are shown. Which of harmonics 1 to "
        f"{_SHEET_HARMONICS} stray by more than {_STRAY_CENTS:g}? Give their numbers.",
        Several(frozenset(int(n) for n in strays.number)),
        hint=f"There are {len(strays)} of them. Look for the large figures, with a plus or with a minus; or hold each "
        "note against the guide and listen for the roughest.",
        worked="A minus means that the harmonic is the lower of the two: "
        + listed([f"harmonic {row.number} is at {signed(-row.error)}" for row in strays])
        + f". Harmonic {double.number} is harmonic {seventh.number} an octave higher, so they stray alike. The "
        f"farthest is harmonic {worst.number}, nearly halfway between two keys; harmonic {closest.number}, at "
        f"{signed(-closest.error)}, you would barely notice.",
    )
