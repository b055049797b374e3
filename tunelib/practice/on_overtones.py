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
from tunelib.practice.ear_sounds import EarSound, heard, in_turn, one_by_one, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played
from tunelib.sound import TIMBRES, overtone_singer, vowel_timbre

_STRAY_CENTS = 25.0  # a quarter of the way from one key to the next
_SHEET_HARMONICS = 16


# Step 4: multiples of one frequency


def question_4() -> Question:
    series = harmonic_series(A4_HZ / 4, 8)
    return Question(
        f"You hear {number_in_words(len(series))} tones, from {_hz(series[0])} up. Each is "
        f"{_hz(series[1] - series[0])} above the one before. To your ear, what do the steps from tone to tone do?",
        Choice(
            ("They grow smaller and smaller.", "They stay the same size.", "They grow larger and larger."),
            right=0,
            responses=(
                "The ear compares by ratio: 2:1, an octave; 3:2, a fifth; 4:3, a fourth; and ever smaller.",
                "In hertz they do. Sing the first step, and then the last: is it as wide?",
                "Sing the first step, and then the last: which of them is wider?",
            ),
        ),
        heard("flute", {"The tones": in_turn(series.tolist())}),
    )


def exercise_4() -> Exercise:
    string, count = Note.parse("C2"), 6
    series = harmonic_series(string.hz(), count)
    keys = tuple(nearest_note(hertz)[0] for hertz in series.tolist())
    fifth, left_over = nearest_note(float(series[4]))
    octaves = " ".join(f"C{string.octave + n}" for n in range(3))
    return Exercise(
        f"Notes are named here with their octave: C4 is middle C. The lowest string of a cello, {string}, is two "
        f"octaves below it. You hear its first {number_in_words(count)} harmonics, one after another. Find them on the "
        "keys, as near as a piano has them, from the string itself upwards.",
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
        hint=f"The first is {string} itself. Then climb the ladder in the picture: an octave, a fifth, a fourth, a "
        "major third, a minor third. Play along with the sound, a key at a time.",
        worked=f"{listed(keys)}: once, twice, three times the {_hz(string.hz())} of the string, and so on. Not all the "
        f"keys are right on them. Harmonic 5, at {_hz(series[4])}, is a little {'below' if left_over < 0 else 'above'} "
        f"{fifth}, at {_hz(fifth.hz())}. You will meet that difference again.",
        sounds=heard("bowed", {"The harmonics": in_turn(series.tolist())}),
    )


# Step 5: the same pitch, another recipe


def question_5() -> Question:
    return Question(
        "The same note twice, equally loud. What do you think is different in the sound itself?",
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
                "On one steady note both have their harmonics at the same multiples. Something else differs.",
            ),
        ),
        tuple(
            EarSound(name, together([A4_HZ / 2]), TIMBRES[timbre])
            for name, timbre in (("First", "clarinet"), ("Second", "brass"))
        ),
    )


def exercise_5() -> Exercise:
    recipes = {"First": "sawtooth", "Second": "brass", "Third": "square"}
    return Exercise(
        "Three recipes for one note. A clarinet, in its low register, almost goes without its even harmonics: 2, 4, 6 "
        "and so on. One of the three goes without them altogether. Which?",
        Choice(
            tuple(f"The {name.lower()}." for name in recipes),
            right=2,
            responses=(
                "That one has all its harmonics, and strong ones: it is bright, not hollow.",
                "That one has them all as well, and the high ones rather strong. Which of them sounds hollow?",
                "Only harmonics 1, 3, 5, 7 and so on are in it: it sounds hollow, as a low clarinet does.",
            ),
        ),
        hint="In the picture, go from clarinet to brass and back. Which of the two sounds hollow? Listen for that.",
        worked="The third: it has harmonics 1, 3, 5, 7 and so on, and no other. The first and the second have them "
        "all. To an ear that has heard a clarinet, what is left out sounds hollow.",
        sounds=tuple(EarSound(name, together([A4_HZ / 2]), TIMBRES[timbre]) for name, timbre in recipes.items()),
    )


def exercise_5_in_numbers() -> Exercise:
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
    note = Note.parse("A2").hz()
    return Question(
        "One singer holds one note, first on one vowel and then on another. What has changed in the sound?",
        Choice(
            (
                "The harmonics have moved to new pitches.",
                "The lowest tone in it is gone.",
                "Only how strong each of the harmonics is.",
            ),
            right=2,
            responses=(
                "Then it would be another note. The harmonics stay at their multiples; the mouth cannot move them.",
                "The voice goes on making its fundamental as before. Listen to what is above it.",
                "The mouth lets some harmonics through more strongly than others, and we hear a vowel.",
            ),
        ),
        tuple(
            EarSound(name, together([note]), vowel_timbre(word))
            for name, word in (("First", "heed"), ("Second", "who'd"))
        ),
    )


_MELODY = (8, 9, 10, 8)
_MELODY_PACE = 1.2  # seconds on each note


def exercise_6() -> Exercise:
    drone = Note.parse("C3").hz()
    walk = [(place * _MELODY_PACE, float(number)) for place, number in enumerate(_MELODY)]
    singer = overtone_singer("who'd", walk, drone)
    return Exercise(
        f"A singer holds one low note, and {number_in_words(len(_MELODY))} high notes whistle above it, one after "
        "another. Hum them. Which way do they go?",
        Choice(
            ("Up, up, and back down.", "Up, down, and up again.", "Down, down, and back up."),
            right=0,
            responses=(
                f"They are harmonics {listed(map(str, _MELODY))} of the note that is held.",
                "Hum the first of them, and then the third: which is higher?",
                "Hum the first of them, and then the second: which is higher?",
            ),
        ),
        hint="Leave the low note alone: it never moves. Listen to the whistle above it, and hum along, softly.",
        worked=f"Up, up, and back down: harmonics {listed(map(str, _MELODY))}. The sung note, {_hz(drone)}, never "
        "moves. The mouth lifts one of its harmonics after another.",
        sounds=(EarSound("The singer", together([drone], _MELODY_PACE * len(_MELODY)), singer),),
    )


def exercise_6_in_numbers() -> Exercise:
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
    low = Note.parse("B♭1")
    beside = {}
    for name, number in (("First", 3), ("Second", 7)):
        harmonic = number * low.hz()
        key = nearest_note(harmonic)[0].hz()
        beside[name] = one_by_one([[harmonic], [key], [harmonic, key]])
    return Question(
        "Two harmonics of a low note. Each sounds alone, then the key of a piano that is nearest to it, then both "
        f"together. Try the first {_SHEET_HARMONICS} harmonics like this: how many would be as calm with their key as "
        "the first of these two?",
        Choice(
            (
                "All of them: notes were made from harmonics.",
                "Most; but a few fall far between the keys.",
                "Hardly any: only the octaves.",
            ),
            right=1,
            responses=(
                "The second is among them. Is it as calm as the first?",
                "Most are so near that you barely notice, but a few fall almost halfway between two keys.",
                "Only the octaves are exact, but the first, which is no octave, is calm as well. So are most.",
            ),
        ),
        heard("flute", beside),
    )


def exercise_7() -> Exercise:
    table = harmonic_deviations(equal(12), _SHEET_HARMONICS)
    strays = table[np.abs(table.error) > _STRAY_CENTS]
    worst = table[np.argmax(np.abs(table.error))]
    seventh, double = (table[table.number == n][0] for n in (7, 14))
    closest = table[table.number == 3][0]
    return Exercise(
        f"With your sheet, or the recording: which of harmonics 1 to {_SHEET_HARMONICS} are far from the note that is "
        "written, more than a quarter of the way to the next key? Find them by ear first. Then look at the second page "
        f"of the sheet, or at the picture with the cents shown, where {_STRAY_CENTS:g} is a quarter. Give their "
        "numbers.",
        Several(frozenset(int(n) for n in strays.number)),
        hint=f"There are {len(strays)} of them. Hold each note against the guide and listen for the roughest; or look "
        "for the large figures, with a plus or with a minus.",
        worked="A minus means that the harmonic is the lower of the two: "
        + listed([f"harmonic {row.number} is at {signed(-row.error)}" for row in strays])
        + f". Harmonic {double.number} is harmonic {seventh.number} an octave higher, so they stray alike. The "
        f"farthest is harmonic {worst.number}, nearly halfway between two keys; harmonic {closest.number}, at "
        f"{signed(-closest.error)}, you would barely notice.",
    )
