"""Questions and exercises on waves: what they are, how two of them beat, and where their peaks meet.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from fractions import Fraction

from tunelib.pitch import A4_HZ, parse_ratio
from tunelib.pitch import in_hertz as _hz
from tunelib.practice.answers import Choice, Quantity, Ratio
from tunelib.practice.exercise import Exercise, Question

# Step 1: a wave you can see


def question_1() -> Question:
    return Question(
        "In a moment you will move a tone up and watch its wave. As the note rises, what will the wave do?",
        Choice(
            ("It keeps its shape and slides to the right.", "It grows taller.", "Its crests crowd closer together."),
            right=2,
            responses=(
                "Sliding only means that you are looking at another moment. Watch the distance from one crest to the "
                "next.",
                "Taller is louder, not higher. Watch the distance from one crest to the next instead.",
                "Higher means more waves in the same time, so each has less room.",
            ),
        ),
    )


def exercise_1() -> Exercise:
    period = 1000 / A4_HZ
    return Exercise(
        f"The standard A is {_hz(A4_HZ)} (ISO 16): the air vibrates {A4_HZ:g} times in one second. How long does one "
        "vibration take? Give milliseconds (there are a thousand in a second); one decimal is enough.",
        Quantity(
            period,
            "ms",
            tolerance=0.06,
            slips={
                A4_HZ: "That is how many vibrations fit in a second. How long is each of them?",
                A4_HZ / 1000: "That is the other way round: share the thousand milliseconds among the vibrations.",
                period / 2: "That is half a vibration, from crest to trough. A whole one comes back to where it began.",
            },
        ),
        hint=f"Share 1000 milliseconds equally among {A4_HZ:g} vibrations.",
        worked=f"1000 milliseconds ÷ {A4_HZ:g} vibrations = {period:.2f} milliseconds for each. That time is called "
        f"the period. An octave higher, at {_hz(2 * A4_HZ)}, there are twice as many, so each takes half as long: "
        f"{period / 2:.2f} milliseconds.",
    )


# Step 2: two waves drift apart


_BEATS = 4


def question_2() -> Question:
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
                f"Those swells are beats: {other:g} less {A4_HZ:g} is {other - A4_HZ:g}, and that is how "
                "many you hear each second.",
                "So close together, the ear cannot separate them. It hears one, and something happens to its loudness.",
                "The pitch is indeed about halfway, but the note does not stay steady. Listen to how loud it is.",
            ),
        ),
    )


def exercise_2() -> Exercise:
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
                _BEATS: "That is the number of beats. Which two frequencies are that far apart?",
            },
        ),
        hint=f"{_BEATS} beats a second: the string was {_BEATS} Hz away from the fork, above it or below it. "
        "Tightening raises a string. Did that bring it nearer?",
        worked=f"{_BEATS} beats a second mean {_BEATS} Hz apart, so the string was at {_hz(flat)} or {_hz(sharp)}. "
        f"Tightening it made the beats slower, so it came nearer to {_hz(A4_HZ)} from below: it was at {_hz(flat)}.",
    )


# Step 3: shared peaks


def question_3() -> Question:
    return Question(
        "Two tones start together on a peak, and the upper one vibrates twice while the lower vibrates once. How "
        "many of the upper tone's peaks will fall together with a peak of the lower?",
        Choice(
            ("All of them.", "Every second one.", "Every third one."),
            right=1,
            responses=(
                "Only two tones at the same pitch do that. Here the upper has more peaks than the lower can meet.",
                "Two upper vibrations fit in one lower, so every second peak is shared, and no other: an octave.",
                "Every third is shared with three vibrations to one, the twelfth. Count again for two to one.",
            ),
        ),
    )


def exercise_3() -> Exercise:
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
                Fraction(upper - lower): "That is how many hertz they are apart. A ratio is one divided by the other.",
            },
        ),
        hint=f"Which is the largest number that goes into both {upper:g} and {lower:g} without a remainder? Divide "
        "both by it.",
        worked=f"{shared:g} goes into both: {upper:g} ÷ {shared:g} = {ratio.numerator} and {lower:g} ÷ {shared:g} = "
        f"{ratio.denominator}, so the ratio is {ratio.numerator}:{ratio.denominator}, the fifth. One "
        f"peak in {ratio.numerator} of the upper tone meets one peak in {ratio.denominator} of the lower, {shared:g} "
        "times in a second. The simpler the ratio, the more peaks are shared.",
    )
