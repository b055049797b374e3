"""Questions and exercises for steps 8 to 16: cents, the learner's own ear, twelve steps, and every other division.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from tunelib.exhibits import RULE_OF_THUMB
from tunelib.hearing import TARGET, beat_rate
from tunelib.pitch import (
    A4_HZ,
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    THIRTY_ONE,
    Note,
    cents,
    equal,
    errors,
    fret_gaps,
    fret_places,
    frontier,
    harmonic_deviations,
    harmonic_series,
    largest_error,
    nearest_note,
    odd_limit_intervals,
    plain,
    ratio_from_cents,
    signed,
    trade,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question

_ODD_LIMIT = 7
_DIVISIONS = np.arange(5, 101)
_NEAR_CENTS = 5.0
_HARMONICS = 16
_TWELVE = equal(12)


# Step 8: cents, a ruler for the ear


def _question_8() -> Question:
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


def _exercise_8() -> Exercise:
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
                2: "That is the difference in hertz. How many cents are the ratio of the two?",
                CENTS_PER_OCTAVE * math.log10(sharp / A4_HZ): "That is with the logarithm to base 10. Cents take the "
                "one to base 2, since an octave is a doubling.",
                CENTS_PER_OCTAVE * math.log(sharp / A4_HZ): "That is with the natural logarithm. Cents take the one to "
                "base 2, since an octave is a doubling.",
                sharp / A4_HZ: "That is the ratio. Its size in cents is 1200 times its logarithm to base 2.",
            },
        ),
        hint=f"Divide {plain(sharp)} by {plain(A4_HZ)}. Cents are 1200 times the logarithm of that to base 2: a pocket "
        "calculator will do, or a line of Python.",
        worked=f"{plain(sharp)} ÷ {plain(A4_HZ)} = {plain(sharp / A4_HZ, 5)}, and 1200 × log₂ of that is "
        f"{plain(size, 2)} cents: about one cent for each quarter of a hertz. An octave lower the same 2 Hz would be "
        f"{plain(lower, 2)} cents, twice as much.",
    )


# Step 9: how small a difference can you hear


def _question_9() -> Question:
    return Question(
        "Two tones, one after the other, in the middle of the range and in a quiet room. How small a difference can "
        "practised listeners still tell, and say which tone was the higher?",
        Choice(
            ("About 50 cents: half a semitone.", "About 20 cents: a fifth of one.", "Less than 10 cents."),
            right=2,
            responses=(
                "Everybody hears that much. Practised ears go on until the two are many times closer.",
                "That is where many begin. A few hours of practice bring most people well below it.",
                f"Published values are 0.2 to 0.3 %, or {plain(cents(1.002))} to {plain(cents(1.003))} cents, and the "
                f"rule of thumb says {plain(RULE_OF_THUMB)}. Ears without practice often begin several times higher; a "
                "few hours close most of the gap (Micheyl and others 2006). Whatever yours turns out to be is where "
                "you start from.",
            ),
        ),
    )


def _exercise_9() -> Exercise:
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
                TARGET: "That is the share of 1. Times 100 it is per cent.",
            },
        ),
        hint="If one answer is right with some share, two in a row are right with that share times itself. Which "
        "number times itself is one half?",
        worked=f"{plain(TARGET, 4)} × {plain(TARGET, 4)} = {plain(TARGET**2)}, so a single answer is right "
        f"{plain(share)} % of the time (Levitt 1971). Your threshold is that point: well above guessing, and not yet "
        "certainty. A smaller difference does not fall silent; you are only right about it less often.",
    )


# Step 10: measure yourself


_ALWAYS_SHARP = 12
_SPREAD = 3


def _question_10() -> Question:
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
                "Every note is off by nearly the same. An ear that was poor would scatter them.",
                f"A small spread means good intervals. Tune {_ALWAYS_SHARP} cents lower, once, and all eight lie "
                f"within {_SPREAD} cents of their targets.",
                f"Cancelling would give an average near 0. Here even the lowest note is "
                f"{_ALWAYS_SHARP - _SPREAD} cents sharp or more.",
            ),
        ),
    )


_HEARD_HZ = 293.0
_HEARD_HARMONIC = 5


def _exercise_10() -> Exercise:
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


# Step 11: twelve equal steps


def _question_11() -> Question:
    in_hertz = A4_HZ * (1 + 1 / 12)
    simple = A4_HZ * 16 / 15
    step = float(_TWELVE.hz(_A4 + 1))
    return Question(
        f"From {plain(A4_HZ)} Hz to its octave, {plain(2 * A4_HZ)} Hz, there are to be twelve steps that sound equally "
        "large. Where is the first?",
        Choice(
            (
                f"At {plain(in_hertz)} Hz, a twelfth of the way.",
                f"At {plain(simple)} Hz, by the ratio 16/15.",
                f"At {plain(step)} Hz, by the twelfth root of 2.",
            ),
            right=2,
            responses=(
                f"Twelve such ratios in a row come to {plain((in_hertz / A4_HZ) ** 12, 2)}, far above an octave. Equal "
                "numbers of hertz are not equal to the ear.",
                f"A good semitone, but twelve of them come to {plain((16 / 15) ** 12, 2)}, and an octave is 2.",
                f"The number that gives 2 when it is multiplied by itself twelve times is {plain(step / A4_HZ, 4)}. "
                "Each step multiplies by it: 100 cents.",
            ),
        ),
    )


_A4 = Note.parse("A4").step(_TWELVE)
_KEYS_DOWN = 3


def _exercise_11() -> Exercise:
    step = _A4 - _KEYS_DOWN
    note, _ = nearest_note(float(_TWELVE.hz(step)))
    ratio = 2 ** (1 / 12)
    return Exercise(
        f"A4 is {plain(A4_HZ)} Hz. Go down {_KEYS_DOWN} keys, black ones counted, to {note}. At how many hertz is it, "
        "in twelve equal steps?",
        Quantity(
            float(_TWELVE.hz(step)),
            "Hz",
            tolerance=0.4,
            slips={
                float(_TWELVE.hz(_A4 + _KEYS_DOWN)): "That is as far up. Going down, divide.",
                float(_TWELVE.hz(_A4 - 1)): "That is one key down. Go on.",
                A4_HZ * (1 - _KEYS_DOWN / 12): f"That takes {_KEYS_DOWN} twelfths of {plain(A4_HZ)} away. Equal steps "
                "divide by the same number each time.",
                A4_HZ * 5 / 6: "That is the pure minor third, 6/5. Twelve equal steps come near it, but not to it.",
            },
        ),
        hint=f"One key up multiplies by {plain(ratio, 4)}, the twelfth root of 2. One key down divides by it.",
        worked=f"{plain(A4_HZ)}{f' ÷ {plain(ratio, 4)}' * _KEYS_DOWN} = {plain(float(_TWELVE.hz(step)))} Hz, which is "
        f"{100 * _KEYS_DOWN} cents down. A pure minor third, 6/5, would have led to "
        f"{plain(A4_HZ * 5 / 6)} Hz.",
    )


# Step 12: where twelve hits and misses the overtones


def _question_12() -> Question:
    away = np.abs(harmonic_deviations(_TWELVE, _HARMONICS).error)
    octaves = int(np.sum(away < 1e-6))
    near = int(np.sum(away <= _NEAR_CENTS))
    within_a_quarter = int(np.sum(away <= 25))
    least_miss = float(away[away > _NEAR_CENTS].min())
    return Question(
        f"How many of the first {_HARMONICS} harmonics of a note lie within {plain(_NEAR_CENTS)} cents of one of the "
        "twelve equal steps?",
        Choice(
            (f"{near} of them.", f"{within_a_quarter} of them.", f"{octaves} of them: only the octaves."),
            right=0,
            responses=(
                f"The {octaves} octaves are exact, and the {near - octaves} that come of the fifth lie very near. All "
                f"others are {plain(math.floor(least_miss))} cents off or more. Twelve is good at one thing.",
                "That many lie within a quarter of a semitone. Be stricter.",
                "Those are exact. But are there none that come close?",
            ),
        ),
    )


def _exercise_12() -> Exercise:
    fifth, third, seventh = errors(12, ["3/2", "5/4", "7/4"]).tolist()
    minor = float(errors(12, ["6/5"]).item())
    pure = cents("5/4")
    return Exercise(
        "Twelve has its major third at four steps. How far does it lie from the pure one, 5/4? Give cents, plus if the "
        "third of twelve is too wide.",
        Quantity(
            third,
            "cents",
            tolerance=0.4,
            slips={
                pure: "That is how large the pure third is. How far from it are four steps?",
                float(_TWELVE.cents_of(4)): "That is how large four steps are. How far is that from the pure third?",
                minor: "That is the minor third, 6/5. The major third is four steps.",
                seventh: "That is how far the seventh harmonic is missed. The third is the fifth harmonic.",
            },
        ),
        hint="Four steps of 100 cents, less the cents of 5/4.",
        worked=f"400 − {plain(pure, 2)} = {signed(third, 2)} cents: too wide. The fifth of twelve is only "
        f"{signed(fifth, 2)} off, the seventh harmonic {signed(seventh, 2)}. So twelve is nearly pure in the fifth, "
        "audibly wide in the third, and has no seventh harmonic to speak of.",
    )


# Step 13: what a miss sounds like


_C4, _E4, _G4 = (Note.parse(name).hz() for name in ("C4", "E4", "G4"))


def _question_13() -> Question:
    apart = beat_rate(_C4, _E4)
    return Question(
        f"C4 and E4 on an organ in twelve equal steps are {plain(_C4)} and {plain(_E4)} Hz. Hold them together, and "
        "you hear a trembling. Which two partials make it?",
        Choice(
            (
                f"The two fundamentals, {plain(apart)} Hz apart.",
                "Harmonic 5 of the C and harmonic 4 of the E.",
                "None: such a trembling comes from the room.",
            ),
            right=1,
            responses=(
                "They do beat, but so fast that it is no trembling. Look for two that almost meet.",
                f"In a pure third they coincide. Here they are {plain(5 * _C4)} and {plain(4 * _E4)} Hz, and beat as "
                "often as they are apart.",
                "It goes with you into any room. Look for two harmonics that almost meet.",
            ),
        ),
    )


def _exercise_13() -> Exercise:
    rate = beat_rate(_C4, _E4, "5/4")
    thirty_one = beat_rate(_C4, _C4 * ratio_from_cents(THIRTY_ONE.cents_of(10)), "5/4")
    fifth = beat_rate(_C4, _G4, "3/2")
    return Exercise(
        f"C4 is {plain(_C4, 2)} Hz and E4 {plain(_E4, 2)} Hz. How many times a second do harmonic 5 of the C and "
        "harmonic 4 of the E beat?",
        Quantity(
            rate,
            "beats a second",
            tolerance=0.15,
            slips={
                _E4 - _C4: "That is how far apart the fundamentals are. Take harmonic 5 of one and 4 of the other.",
                5 * _E4 - 4 * _C4: "The other way round: five times the lower, four times the upper.",
                rate / 4: "Beats come as often as the two harmonics are apart, not the fundamentals: count four times.",
                5 * (_E4 - _C4): "Five times the lower, but only four times the upper.",
            },
        ),
        hint=f"5 × {plain(_C4, 2)} and 4 × {plain(_E4, 2)}: how far apart are they?",
        worked=f"5 × {plain(_C4, 2)} = {plain(5 * _C4)} and 4 × {plain(_E4, 2)} = {plain(4 * _E4)}: {plain(rate)} Hz "
        f"apart, so {plain(rate)} beats a second. A pure third has none; the third of thirty-one steps, on the same C, "
        f"beats {plain(thirty_one)} times. The fifth C4 to G4 of twelve beats {plain(fifth)} times, slowly enough to "
        "pass for a warm tone.",
    )


# Step 14: finer and finer


def _question_14() -> Question:
    twelve, twenty_four, twenty_nine = errors([12, 24, 29], ["3/2"])[:, 0].tolist()
    return Question(
        f"Twelve steps miss the fifth by {signed(twelve, 2)} cents. Cut every step in two, so that there are 24. By "
        "how much is the fifth missed now?",
        Choice(
            ("By half as much.", "By just as much.", "By twice as much."),
            right=1,
            responses=(
                "The steps are half as large, but where do they lie? Halfway between the old ones, far from the fifth.",
                f"The old note is still the nearest: {signed(twenty_four, 2)} cents. Finer is not always better, and "
                f"29 steps, hardly more than 24, come within {plain(abs(twenty_nine), 2)}.",
                "It cannot get worse: all the old notes are still there.",
            ),
        ),
    )


def _exercise_14() -> Exercise:
    steps = round(CENTS_PER_OCTAVE / RULE_OF_THUMB)
    first, last = (float(gap) for gap in fret_gaps(steps)[[0, -1]])
    twelve, thirty_one = (float(fret_places(division)[0]) for division in (12, 31))
    return Exercise(
        f"Steps of {plain(RULE_OF_THUMB)} cents would be {steps} to the octave. On a guitar string of "
        f"{plain(SCALE_LENGTH)} mm, how far from the nut would the first fret be? Give millimetres.",
        Quantity(
            first,
            "mm",
            tolerance=0.06,
            slips={
                SCALE_LENGTH / steps: "That shares the whole string equally. The octave is its half, and each fret "
                "takes away the same fraction of what is left.",
                SCALE_LENGTH / 2 / steps: "That shares half the string equally. But each fret takes away the same "
                "fraction of what is left, so the first gaps are the widest.",
                twelve: "That is the first fret in twelve steps.",
                SCALE_LENGTH - first: "That is how much string still sounds. How far is the fret from the nut?",
            },
        ),
        hint=f"{plain(RULE_OF_THUMB)} cents up is a ratio of 2 to the power of 1/{steps}. The string that sounds is "
        "shorter by that ratio. How much of it is cut off?",
        worked=f"The string that sounds is {plain(SCALE_LENGTH)} ÷ 2^(1/{steps}) = {plain(SCALE_LENGTH - first, 2)} mm "
        f"long, so the fret is {plain(first, 2)} mm from the nut, and near the octave the frets are {plain(last, 2)} "
        "mm apart: less than a fret wire is wide (about 2 mm). In twelve steps the first fret is at "
        f"{plain(twelve)} mm, in thirty-one at {plain(thirty_one)}.",
    )


# Step 15: scoring every division


def _question_15() -> Question:
    score = largest_error(_DIVISIONS, odd_limit_intervals(_ODD_LIMIT))
    best = frontier(_DIVISIONS, score).tolist()
    after = best[best.index(31) + 1]
    return Question(
        f"Each division from {_DIVISIONS[0]} to {_DIVISIONS[-1]} gets one number: how far it misses the worst of the "
        f"intervals with odd numbers up to {_ODD_LIMIT}. Plotted from few steps to many, what will that look like?",
        Choice(
            (
                "It falls raggedly: some beat others twice their size.",
                "It falls smoothly: each step more is a little better.",
                "It rises: more steps, more that can be wrong.",
            ),
            right=0,
            responses=(
                f"After 31 steps it takes {after} to do better. The good ones are few, and they stand out.",
                "The steps do get finer, but whether one lies near the target is another matter. See 31 and its "
                "neighbours.",
                "More steps never lie farther from a target than half of one, and that half shrinks.",
            ),
        ),
    )


def _exercise_15() -> Exercise:
    division, target = 31, cents("7/4")
    tuning = equal(division)
    step, off = tuning.nearest(target)
    above = float(tuning.cents_of(step + 1)) - target
    twelve = float(errors(12, ["7/4"]).item())
    return Exercise(
        f"Score one interval by hand. The seventh harmonic, 7/4, is {plain(target, 2)} cents. How far is the nearest "
        f"of {division} equal steps from it? Give cents, step less target.",
        Quantity(
            off,
            "cents",
            tolerance=0.06,
            slips={
                step: "That is the number of the step. Where does it lie, in cents?",
                float(tuning.cents_of(step)): "That is where the step lies. How far is that from the target?",
                above: "That is the step above. There is a nearer one.",
                twelve: "That is the miss in twelve steps.",
            },
        ),
        hint=f"One step is 1200 ÷ {division} = {plain(CENTS_PER_OCTAVE / division, 4)} cents. How many of them come "
        f"nearest to {plain(target, 2)}?",
        worked=f"{plain(target, 2)} ÷ {plain(CENTS_PER_OCTAVE / division, 4)} = "
        f"{plain(target * division / CENTS_PER_OCTAVE, 2)}, so step {step}. It lies at "
        f"{plain(float(tuning.cents_of(step)), 2)} cents: {signed(off, 2)} cents from the target, where twelve has "
        f"{signed(twelve, 2)}. A computer does the same for every interval of every division.",
    )


# Step 16: the trade


def _question_16() -> Question:
    sevenths, thirds, fifths = errors([12, 31], ["7/4", "5/4", "3/2"]).T.tolist()

    def beside(misses: list[float]) -> str:
        twelve, thirty_one = (signed(miss, 1) for miss in misses)
        return f"{twelve} cents in twelve, {thirty_one} in thirty-one"

    return Question(
        "Thirty-one steps are finer than twelve. Yet one of these intervals is nearer to pure in twelve. Which?",
        Choice(
            ("The seventh harmonic, 7/4.", "The major third, 5/4.", "The fifth, 3/2."),
            right=2,
            responses=(
                f"There thirty-one is far better: {beside(sevenths)}.",
                f"There thirty-one is far better: {beside(thirds)}.",
                f"The fifth pays for the rest: {beside(fifths)}. No division is best at everything.",
            ),
        ),
    )


def _exercise_16() -> Exercise:
    score = largest_error(_DIVISIONS, odd_limit_intervals(_ODD_LIMIT))
    twelve, thirty_one = (float(score[division - _DIVISIONS[0]]) for division in (12, 31))
    price = (twelve - thirty_one) / (31 - 12)
    smaller, larger = _DIVISIONS < 31, _DIVISIONS > 31
    dearest = float(np.min((score[smaller] - thirty_one) / (31 - _DIVISIONS[smaller])))
    cheapest = float(np.max((thirty_one - score[larger]) / (_DIVISIONS[larger] - 31)))
    between = int(trade(_DIVISIONS, score, price))
    eleventh, thirteenth = errors(31, ["11/8", "13/8"]).tolist()
    return Exercise(
        f"With odd numbers up to {_ODD_LIMIT}, twelve misses its worst interval by {plain(twelve, 2)} cents and "
        f"thirty-one by {plain(thirty_one, 2)}. Going from twelve notes to thirty-one, how many cents does each added "
        "note earn, on average?",
        Quantity(
            price,
            "cents",
            tolerance=0.03,
            slips={
                twelve - thirty_one: "That is what they earn together. How many notes more are there?",
                (twelve - thirty_one) / 31: "Divide among the notes that were added, not among all of them.",
                (twelve - thirty_one) / 12: "Divide among the notes that were added: 31 less 12.",
            },
        ),
        hint="How many cents are gained in all, and how many notes were added for it?",
        worked=f"({plain(twelve, 2)} − {plain(thirty_one, 2)}) ÷ (31 − 12) = {plain(price, 2)} cents a note. Whoever "
        "asks less of a note than that is better served by thirty-one than by twelve, and whoever asks more by twelve; "
        f"at just that price {between} beats them both. Of all divisions from {_DIVISIONS[0]} to {_DIVISIONS[-1]}, "
        f"thirty-one is the best from {plain(cheapest, 2)} to {plain(dearest, 2)} cents a note. That is so with odd "
        f"numbers up to {_ODD_LIMIT}. Ask for more, and it is less good: its eleventh harmonic is off by "
        f"{signed(eleventh, 1)} cents, its thirteenth by {signed(thirteenth, 1)}.",
    )


QUESTIONS: dict[int, Callable[[], Question]] = {
    8: _question_8,
    9: _question_9,
    10: _question_10,
    11: _question_11,
    12: _question_12,
    13: _question_13,
    14: _question_14,
    15: _question_15,
    16: _question_16,
}
EXERCISES: dict[int, Callable[[], Exercise]] = {
    8: _exercise_8,
    9: _exercise_9,
    10: _exercise_10,
    11: _exercise_11,
    12: _exercise_12,
    13: _exercise_13,
    14: _exercise_14,
    15: _exercise_15,
    16: _exercise_16,
}
