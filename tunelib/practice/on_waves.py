"""Questions and exercises on waves: what they are, how two of them beat, and where their peaks meet.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from fractions import Fraction

from tunelib.pitch import A4_HZ, parse_ratio
from tunelib.pitch import in_hertz as _hz
from tunelib.practice.answers import Choice, Quantity, Ratio
from tunelib.practice.ear_sounds import heard, together
from tunelib.practice.exercise import Exercise, Question

# Step 1: a wave you can see


def question_1() -> Question:
    low, high = A4_HZ / 2, A4_HZ
    return Question(
        "Two tones, equally loud. If you could see the waves that they send through the air, how would the second "
        "differ from the first?",
        Choice(
            (
                "It would keep its shape and sit farther to the right.",
                "It would be taller.",
                "Its crests would crowd closer together.",
            ),
            right=2,
            responses=(
                "That would be the same tone a moment later. You hear a higher one.",
                "Taller is louder, and they are equally loud. You hear a higher one.",
                "You hear a higher tone: more waves in the same time, so each has less room.",
            ),
        ),
        heard("flute", {"First": together([low]), "Second": together([high])}),
    )


def exercise_1() -> Exercise:
    names, hertz = ("First", "Second", "Third"), (A4_HZ * 3 / 4, A4_HZ / 2, A4_HZ)
    by_name = dict(zip(names, hertz, strict=True))
    longest = min(by_name, key=lambda name: by_name[name])
    return Exercise(
        "Three tones. Which of them has the longest wave?",
        Choice(
            tuple(f"The {name.lower()}." for name in names),
            right=names.index(longest),
            responses=(
                "Go from the first to the second: does the tone rise or fall? The lower one has the longer wave.",
                f"It is the lowest, {_hz(by_name[longest])}: the fewest waves in a second, so each is longest.",
                "That is the highest of the three: its waves are crowded most, so each is shortest.",
            ),
        ),
        hint="A low tone sends few waves in a second. Is each of them long then, or short?",
        worked=f"The {longest.lower()}. It is the lowest: {_hz(by_name[longest])}, where the others have "
        f"{_hz(by_name['First'])} and {_hz(by_name['Third'])}. The fewer waves in a second, the longer each one is. "
        f"From the {longest.lower()} to the third is an octave, so the wave of the third is half as long.",
        sounds=heard("flute", {name: together([pitch]) for name, pitch in by_name.items()}),
    )


def exercise_1_in_numbers() -> Exercise:
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
        "First one flute alone; then two flutes together. Each of the two holds its note as steadily as the one that "
        "you heard alone. What do you hear that was not there before, and where does it come from?",
        Choice(
            (
                "A note that swells and fades: the two do it to each other.",
                "Two notes, one a shade above the other.",
                "A note that swells and fades: the second player cannot hold it steady.",
            ),
            right=0,
            responses=(
                f"They are {_hz(A4_HZ)} and {_hz(other)}, and you hear {other - A4_HZ:g} swells a second. Such swells "
                "are called beats.",
                "So close together, the ear cannot separate them. It hears one, and something happens to its loudness.",
                "Both are as steady as the one alone. Neither swells; something happens where they meet.",
            ),
        ),
        heard("flute", {"Alone": together([A4_HZ], 4), "Two": together([A4_HZ, other], 4)}),
    )


def exercise_2() -> Exercise:
    fork, before, after = A4_HZ, A4_HZ + _BEATS / 2, A4_HZ + _BEATS
    return Exercise(
        "You tune a string to a fork. You hear the two together; then you tighten the string a little, which raises "
        "it, and hear them again. Was the string too low at first, or too high?",
        Choice(
            ("Too low.", "Too high.", "It cannot be told."),
            right=1,
            responses=(
                "Had it been too low, raising it would have brought it nearer, and the beats would be slower now. Are "
                "they?",
                "Tightening made the beats faster, so the string went farther away: it was above the fork already.",
                "It can: tightening raises a string. Are the beats faster now, or slower?",
            ),
        ),
        hint="Count the swells over four seconds, before and after. Did the string come nearer to the fork, or go "
        "farther away?",
        worked=f"Before: {before - fork:g} beats a second; after: {after - fork:g}. The string went away from the "
        f"fork, and tightening raises it: it was too high, at {_hz(before)}, and is now at {_hz(after)}. Loosen it.",
        sounds=heard("bowed", {"Before": together([fork, before], 4), "After": together([fork, after], 4)}),
    )


def exercise_2_in_numbers() -> Exercise:
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
    lower = A4_HZ / 2
    octave, seventh = parse_ratio("2/1"), parse_ratio("15/8")
    return Question(
        "Two pairs of tones. Both have the same lower tone; the upper tones are a semitone apart. In which pair do "
        "the two waves fall back into step sooner?",
        Choice(
            ("In the first.", "In the second.", "In both alike."),
            right=1,
            responses=(
                f"This pair, {seventh.numerator}:{seventh.denominator}, needs {seventh.denominator} waves of its lower "
                "tone to fall back into step. Which of the two sounds more like one tone?",
                f"It is an octave, {octave.numerator}:{octave.denominator}: two waves of the upper tone to each of the "
                "lower, and they are in step again at once.",
                "Then they would sound equally calm. Which of the two sounds more like one tone?",
            ),
        ),
        heard(
            "bowed",
            {"First": together([lower, lower * float(seventh)]), "Second": together([lower, lower * float(octave)])},
        ),
    )


def exercise_3() -> Exercise:
    lower, upper = A4_HZ / 2, A4_HZ * 3 / 4
    off = {"First": -1.0, "Second": 1.5, "Third": 0.0}
    names = tuple(off)
    in_tune = next(name for name in names if off[name] == 0)
    beats = {name: abs(2 * (upper + off[name]) - 3 * lower) for name in names}
    return Exercise(
        "Three fifths. In one of them the two tones are exactly three to two. Which?",
        Choice(
            tuple(f"The {name.lower()}." for name in names),
            right=names.index(in_tune),
            responses=(
                "Listen to the end of it: it swells and fades. In a true fifth nothing does.",
                "This one swells and fades the fastest of the three. In a true fifth nothing does.",
                "Nothing swells and fades in it: three waves fit into two, again and again.",
            ),
        ),
        hint="Tick Hold. In two of them something swells and fades, slowly. In one, nothing does.",
        worked=f"The {in_tune.lower()}: {_hz(upper)} against {_hz(lower)}, three to two. In the first the upper tone "
        f"is {-off['First']:g} Hz too low, in the second {off['Second']:g} Hz too high: you hear {beats['First']:g} "
        f"and {beats['Second']:g} beats a second, wherever two peaks that should meet slip past each other.",
        sounds=heard("bowed", {name: together([lower, upper + away], 4) for name, away in off.items()}),
    )


def exercise_3_in_numbers() -> Exercise:
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
