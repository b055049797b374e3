"""Questions and exercises on measuring pitch: cents, the learner's own ear, and a recording against its target.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import math

from tunelib.exhibits import RULE_OF_THUMB
from tunelib.hearing import TARGET
from tunelib.pitch import A4_HZ, CENTS_PER_OCTAVE, Note, cents, harmonic_series, nearest_note, plain, signed
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question

# Step 8: cents, a ruler for the ear


def question_8() -> Question:
    low = A4_HZ / 2
    fifth = low * 3 / 2
    again = A4_HZ * 3 / 2 - A4_HZ
    return Question(
        f"From {plain(low)} Hz up to {plain(fifth)} Hz is a fifth: {plain(fifth - low)} Hz more. You now start from "
        f"{plain(A4_HZ)} Hz. How much must you add for the same interval, to the ear?",
        Choice(
            (f"{plain(again)} Hz.", f"{plain(fifth - low)} Hz.", f"{plain(again / 2 * 3)} Hz."),
            right=0,
            responses=(
                f"Twice as high, so twice as many hertz: {plain(A4_HZ)} × 3/2 = {plain(A4_HZ + again)}. The ear hears "
                "the ratio. Cents are made so that the same interval always has the same number.",
                f"That gives {plain(A4_HZ + fifth - low)} Hz, which is 5/4 of {plain(A4_HZ)}: only a third. The ear "
                "goes by ratio, 3/2 here as there.",
                f"That is too far. A fifth is the ratio 3/2: what is half of {plain(A4_HZ)}?",
            ),
        ),
    )


def exercise_8() -> Exercise:
    sharp = A4_HZ + 2
    size = cents(sharp / A4_HZ)
    lower = cents((A4_HZ / 2 + 2) / (A4_HZ / 2))
    return Exercise(
        f"An orchestra tunes its A to {plain(sharp)} Hz, your instrument to {plain(A4_HZ)} Hz. How many cents higher "
        "is the orchestra?",
        Quantity(
            size,
            "cents",
            tolerance=0.2,
            slips={
                2: "That is the difference in hertz. How many cents is the ratio of the two?",
                CENTS_PER_OCTAVE * math.log10(sharp / A4_HZ): "That uses the logarithm to base 10. Cents take the "
                "one to base 2, since an octave is a doubling.",
                CENTS_PER_OCTAVE * math.log(sharp / A4_HZ): "That uses the natural logarithm. Cents take the one to "
                "base 2, since an octave is a doubling.",
                sharp / A4_HZ: "That is the ratio. Its size in cents is 1200 times its logarithm to base 2.",
            },
        ),
        hint=f"Divide {plain(sharp)} by {plain(A4_HZ)}. Cents are 1200 times its logarithm to base 2: a pocket "
        "calculator will do, or a line of Python.",
        worked=f"{plain(sharp)} ÷ {plain(A4_HZ)} = {plain(sharp / A4_HZ, 5)}, and 1200 × log₂ of that is "
        f"{plain(size, 2)} cents: about one cent for each quarter of a hertz. An octave lower the same 2 Hz would be "
        f"{plain(lower, 2)} cents, twice as much.",
    )


# Step 9: how small a difference can you hear


def question_9() -> Question:
    return Question(
        "Two tones, one after the other, in the middle of the range and in a quiet room. How small a difference can "
        "practised listeners still tell, and say which tone was the higher?",
        Choice(
            ("About 50 cents: half a semitone.", "About 20 cents: a fifth of one.", "Less than 10 cents."),
            right=2,
            responses=(
                "Everybody can hear that. Practised ears go on until the two are many times closer.",
                "That is where many begin. A few hours of practice bring most people well below it.",
                f"Published values are 0.2 to 0.3 %, or {plain(cents(1.002))} to {plain(cents(1.003))} cents, and the "
                f"rule of thumb says {plain(RULE_OF_THUMB)}. Ears without practice often begin several times higher; a "
                "few hours close most of the gap (Micheyl and others 2006). Whatever yours turns out to be is where "
                "you start from.",
            ),
        ),
    )


def exercise_9() -> Exercise:
    share = 100 * TARGET
    return Exercise(
        "The test makes the difference smaller after two right answers in a row, and larger after each wrong one. It "
        "settles where two right answers in a row are as likely as not. How often is a single answer right there? "
        "Give per cent.",
        Quantity(
            share,
            "%",
            tolerance=0.8,
            slips={
                50: "That is how often a pure guess is right. Two in a row would then come only a quarter of the time.",
                25: "That is how often two guesses in a row are right. At which share is it one time in two?",
                75: f"Close, but two in a row would then come {plain(0.75**2 * 100, 0)} % of the time. They should "
                "come just half of it.",
                TARGET: "That is the share as a fraction of 1. Multiply by 100 for per cent.",
            },
        ),
        hint="If one answer is right some share of the time, two in a row are right for that share times itself. "
        "Which number times itself is one half?",
        worked=f"{plain(TARGET, 4)} × {plain(TARGET, 4)} = {plain(TARGET**2)}, so a single answer is right "
        f"{plain(share)} % of the time (Levitt 1971). Your threshold is that point: well above guessing, but not yet "
        "certainty. You still hear something of a smaller difference; you just get it right less often.",
    )


# Step 10: measure yourself


_ALWAYS_SHARP = 12
_SPREAD = 3


def question_10() -> Question:
    return Question(
        f"You record eight notes. The report says: {_ALWAYS_SHARP} cents sharp on average, and no note more than "
        f"{_SPREAD} cents from that average. What does it tell you?",
        Choice(
            (
                "My ear is poor: not one of the notes is right.",
                "My notes fit each other; the whole instrument is high.",
                "High and low notes cancel, so all is well.",
            ),
            right=1,
            responses=(
                "Every note is off by nearly the same. A poor ear would scatter them.",
                f"A small spread means good intervals. Tune {_ALWAYS_SHARP} cents lower, once, and all eight are "
                f"within {_SPREAD} cents of their targets.",
                f"Cancelling would give an average near 0. Here even the lowest note is "
                f"{_ALWAYS_SHARP - _SPREAD} cents sharp or more.",
            ),
        ),
    )


_HEARD_HZ = 293.0
_HEARD_HARMONIC = 5


def exercise_10() -> Exercise:
    root = Note.parse("Bb1")
    target = float(harmonic_series(root.hz(), _HEARD_HARMONIC)[-1])
    off = cents(_HEARD_HZ / target)
    note, from_note = nearest_note(_HEARD_HZ)
    return Exercise(
        f"You play against the harmonics of {root}, which is {plain(root.hz(), 2)} Hz. For harmonic {_HEARD_HARMONIC} "
        f"the recording shows {plain(_HEARD_HZ)} Hz. How many cents are you off? Sharp is plus, flat is minus.",
        Quantity(
            off,
            "cents",
            tolerance=0.4,
            slips={
                from_note: f"That is measured from {note} as a piano has it. The target here is the harmonic.",
                _HEARD_HZ - target: "That is the difference in hertz. How many cents is the ratio?",
                cents(_HEARD_HZ / root.hz()): f"That is how far you are above {root}. How far are you from harmonic "
                f"{_HEARD_HARMONIC} of it?",
            },
        ),
        hint=f"The target is {_HEARD_HARMONIC} times {plain(root.hz(), 2)} Hz. Then take the cents of what you played, "
        "divided by the target.",
        worked=f"The target is {_HEARD_HARMONIC} × {plain(root.hz(), 2)} = {plain(target, 2)} Hz, and "
        f"{plain(_HEARD_HZ)} ÷ {plain(target, 2)} is {signed(off, 1)} cents: sharp. A tuner in twelve equal steps "
        f"would have said {note}, {signed(from_note, 1)}: flat! Off by how much always means off from what.",
    )
