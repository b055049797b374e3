"""Questions and exercises for steps 1 to 7: waves and overtones.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np

from tunelib.pitch import (
    A4_HZ,
    Note,
    equal,
    harmonic_deviations,
    harmonic_series,
    listed,
    nearest_note,
    parse_ratio,
    plain,
    signed,
)
from tunelib.practice.answers import Choice, Quantity, Ratio, Several
from tunelib.practice.exercise import Exercise, Question

STRAY_CENTS = 25.0  # a quarter of the way from one key to the next
SHEET_HARMONICS = 16


def _hz(value: float, places: int = 1) -> str:
    return f"{plain(value, places)} Hz"


# Step 1: a wave you can see


def _question_1() -> Question:
    return Question(
        "In a moment you will move a tone up and watch its wave. As the note rises, what will the wave do?",
        Choice(
            ("It keeps its shape and slides to the right.", "It grows taller.", "Its swings crowd closer together."),
            right=2,
            responses=(
                "Sliding only means that you look at another moment. Watch the distance from one crest to the next.",
                "Taller is louder, not higher. Watch the distance from one crest to the next instead.",
                "Higher means more swings in the same time, so each has less room.",
            ),
        ),
    )


def _exercise_1() -> Exercise:
    period = 1000 / A4_HZ
    return Exercise(
        f"The standard A is {_hz(A4_HZ)} (ISO 16): the air swings {A4_HZ:g} times in one second. How long does one "
        "swing take? Give milliseconds (there are a thousand in a second); one figure after the point is enough.",
        Quantity(
            period,
            "ms",
            tolerance=0.06,
            slips={
                A4_HZ: "That is how many swings fit in a second. How long is each of them?",
                A4_HZ / 1000: "That is the other way round: share the thousand milliseconds among the swings.",
                period / 2: "That is half a swing, from crest to trough. A whole swing comes back to where it began.",
            },
        ),
        hint=f"Share 1000 milliseconds equally among {A4_HZ:g} swings.",
        worked=f"1000 milliseconds ÷ {A4_HZ:g} swings = {period:.2f} milliseconds for each. That time is called the "
        f"period. An octave higher, at {_hz(2 * A4_HZ)}, there are twice as many swings, so each takes half as long: "
        f"{period / 2:.2f} milliseconds.",
    )


# Step 2: two waves drift apart


_BEATS = 4


def _question_2() -> Question:
    other = A4_HZ + 3
    return Question(
        f"Two flutes hold an A, one at {_hz(A4_HZ)} and one at {_hz(other)}. What will you hear?",
        Choice(
            (
                f"One note that swells and fades {other - A4_HZ:g} times a second.",
                "Two notes, one a shade above the other.",
                f"One steady note halfway between, at {_hz((A4_HZ + other) / 2)}.",
            ),
            right=0,
            responses=(
                f"Those swells are beats: {other:g} less {A4_HZ:g} is {other - A4_HZ:g}, and so many come each second.",
                "So close together, the ear does not part them. It hears one, and something happens to its loudness.",
                "The pitch is indeed about halfway, but the note does not stay steady. Listen to how loud it is.",
            ),
        ),
    )


def _exercise_2() -> Exercise:
    flat, sharp = A4_HZ - _BEATS, A4_HZ + _BEATS
    return Exercise(
        f"You tune a string to a fork that sounds {_hz(A4_HZ)}, and hear {_BEATS} beats a second. You tighten the "
        "string a little: the beats slow down, and then they stop. At how many hertz was the string before you "
        "touched it?",
        Quantity(
            flat,
            "Hz",
            tolerance=0.2,
            slips={
                sharp: "Right distance, wrong side. Tightening raises a string; had it been too high, the beats would "
                "have grown faster.",
                A4_HZ: "That is where it ended, when the beats stopped. Where did it begin?",
                _BEATS: "That is the number of beats. Which two frequencies lie that far apart?",
            },
        ),
        hint=f"{_BEATS} beats a second: the string lay {_BEATS} Hz away from the fork, above it or below it. "
        "Tightening raises a string. Did that bring it nearer?",
        worked=f"{_BEATS} beats a second mean {_BEATS} Hz apart, so the string was at {_hz(flat)} or {_hz(sharp)}. "
        f"Tightening it made the beats slower, so it came nearer to {_hz(A4_HZ)} from below: it was at {_hz(flat)}.",
    )


# Step 3: shared peaks


def _question_3() -> Question:
    return Question(
        "Two tones start together on a peak, and the upper one swings twice while the lower swings once. How many of "
        "the upper tone's peaks will fall together with a peak of the lower?",
        Choice(
            ("All of them.", "Every second one.", "Every third one."),
            right=1,
            responses=(
                "Only two tones at the same pitch do that. Here the upper has more peaks than the lower can meet.",
                "Two upper swings fill one lower, so every second peak is shared, and never any other: an octave.",
                "Every third is shared with three swings to one, the twelfth. Count again for two swings to one.",
            ),
        ),
    )


def _exercise_3() -> Exercise:
    ratio = parse_ratio("3/2")
    lower = A4_HZ / 2
    upper = lower * float(ratio)
    shared = lower / ratio.denominator
    return Exercise(
        f"One tone sounds at {_hz(upper)}, another at {_hz(lower)}. They start together on a peak. What is the ratio "
        "of the upper to the lower, in the smallest whole numbers?",
        Ratio(
            ratio,
            slips={
                parse_ratio("2/1"): "That would be an octave. Divide both frequencies by the largest number that goes "
                "into each.",
                Fraction(
                    upper - lower
                ): "That is how many hertz lie between them. A ratio is one divided by the other.",
            },
        ),
        hint=f"Which is the largest number that goes into both {upper:g} and {lower:g} without a remainder? Divide "
        "both by it.",
        worked=f"{shared:g} goes into both: {upper:g} ÷ {shared:g} = {ratio.numerator} and {lower:g} ÷ {shared:g} = "
        f"{ratio.denominator}, so the ratio is {ratio.numerator}:{ratio.denominator}, the fifth. One "
        f"peak in {ratio.numerator} of the upper tone meets one peak in {ratio.denominator} of the lower, {shared:g} "
        "times in a second. The simpler the ratio, the more peaks are shared.",
    )


# Step 4: multiples of one frequency


def _question_4() -> Question:
    series = harmonic_series(A4_HZ / 4, 4)
    return Question(
        f"A tone has its harmonics at {listed([_hz(f) for f in series])}, and so on: always "
        f"{_hz(series[1] - series[0])} more. Walk up them one by one. To your ear, the steps will",
        Choice(
            ("grow smaller and smaller.", "stay the same size.", "grow larger and larger."),
            right=0,
            responses=(
                "The ear compares by ratio: 2/1, an octave; 3/2, a fifth; 4/3, a fourth; and ever smaller.",
                "In hertz they are alike, but the ear compares by ratio, and the ratios are 2/1, 3/2, 4/3 …",
                "Work out the ratios: 2/1, then 3/2, then 4/3. Do they grow?",
            ),
        ),
    )


def _exercise_4() -> Exercise:
    string = Note.parse("C2")
    series = harmonic_series(string.hz(), 6)
    fundamental, wanted = float(series[0]), float(series[4])
    nearest, left_over = nearest_note(wanted)
    return Exercise(
        f"Notes are named here with their octave: C4 is middle C. The lowest string of a cello, {string}, lies two "
        f"octaves below it and sounds at about {_hz(fundamental)}. At how many hertz is its fifth harmonic?",
        Quantity(
            wanted,
            "Hz",
            tolerance=0.6,
            slips={
                float(
                    series[5]
                ): "That is harmonic 6, the fifth overtone. The fundamental itself counts as harmonic 1.",
                float(series[3]): "That is harmonic 4. The fundamental itself is harmonic 1, and the fifth is five "
                "times as fast.",
                nearest.hz(): f"That is {nearest} as a piano has it. The harmonic lies close to it, but not on it.",
                fundamental + 5: "Harmonics multiply: five times the fundamental, not 5 Hz more.",
                fundamental * 2**4: "Doubling four times climbs four octaves, to harmonic 16. Harmonics add the "
                "fundamental each time.",
            },
        ),
        hint=f"Harmonic 1 is the string itself, {_hz(fundamental)}. Harmonic 2 swings twice as fast, harmonic 3 three "
        "times as fast …",
        worked=f"5 × {_hz(fundamental, 2)} = {_hz(wanted)}. The nearest note of a piano is {nearest}, at "
        f"{_hz(nearest.hz())}: the harmonic lies a little {'below' if left_over < 0 else 'above'} it. You will meet "
        "that difference again.",
    )


# Step 5: the same pitch, another recipe


def _question_5() -> Question:
    return Question(
        "A flute and a trumpet hold the same note, equally loud. What differs in their sound?",
        Choice(
            (
                "How strong each of the harmonics is.",
                "How often the wave repeats.",
                "At which pitches the harmonics lie.",
            ),
            right=0,
            responses=(
                "The harmonics lie at the same pitches; how strong each one is makes the recipe, and so the timbre.",
                "Then one would sound higher. Both repeat equally often: that is what the same note means.",
                "On one steady note both have their harmonics at the same multiples. Look at how strong each one is.",
            ),
        ),
    )


def _exercise_5() -> Exercise:
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


def _question_6() -> Question:
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


def _exercise_6() -> Exercise:
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


def _question_7() -> Question:
    return Question(
        f"You are going to play the first {SHEET_HARMONICS} harmonics of one low note on your instrument, whose notes "
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
                "Most lie so near that you hardly notice, but a few fall almost halfway between two of your notes.",
                "Only the octaves are exact, but most of the others come close. A few do not: look for those.",
            ),
        ),
    )


def _exercise_7() -> Exercise:
    table = harmonic_deviations(equal(12), SHEET_HARMONICS)
    strays = table[np.abs(table.error) > STRAY_CENTS]
    worst = table[np.argmax(np.abs(table.error))]
    seventh, double = (table[table.number == n][0] for n in (7, 14))
    closest = table[table.number == 3][0]
    return Exercise(
        f"Above each note of your sheet, and of the picture when its cents are shown, stands how far the true harmonic "
        f"lies from it, in hundredths of the way to the next key. Which of harmonics 1 to {SHEET_HARMONICS} stray by "
        f"more than {STRAY_CENTS:g}? Give their numbers.",
        Several(frozenset(int(n) for n in strays.number)),
        hint=f"There are {len(strays)} of them. Look for the large figures, with a plus or with a minus; or hold each "
        "note against the guide and listen for the roughest.",
        worked="A minus means that the harmonic is the lower of the two: "
        + listed([f"harmonic {row.number} lies {signed(-row.error)}" for row in strays])
        + f". Harmonic {double.number} is harmonic {seventh.number} an octave higher, so they stray alike. The "
        f"farthest is harmonic {worst.number}, nearly halfway between two keys; harmonic {closest.number}, at "
        f"{signed(-closest.error)}, you would hardly notice.",
    )


QUESTIONS: dict[int, Callable[[], Question]] = {
    1: _question_1,
    2: _question_2,
    3: _question_3,
    4: _question_4,
    5: _question_5,
    6: _question_6,
    7: _question_7,
}
EXERCISES: dict[int, Callable[[], Exercise]] = {
    1: _exercise_1,
    2: _exercise_2,
    3: _exercise_3,
    4: _exercise_4,
    5: _exercise_5,
    6: _exercise_6,
    7: _exercise_7,
}
