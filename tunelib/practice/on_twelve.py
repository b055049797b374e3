"""Questions and exercises on twelve equal steps: what they are, what they miss, and what a miss sounds like.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import math

import numpy as np

from tunelib.hearing import beat_rate
from tunelib.pitch import (
    A4_HZ,
    THIRTY_ONE,
    Note,
    cents,
    equal,
    errors,
    harmonic_deviations,
    nearest_note,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question

_NEAR_CENTS = 5.0
_HARMONICS = 16
_TWELVE = equal(12)


# Step 11: twelve equal steps


def question_11() -> Question:
    in_hertz = A4_HZ * (1 + 1 / 12)
    simple = A4_HZ * 16 / 15
    step = float(_TWELVE.hz(_A4 + 1))
    return Question(
        f"From {plain(A4_HZ)} Hz to its octave, {plain(2 * A4_HZ)} Hz, we want twelve steps that sound equally "
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


def exercise_11() -> Exercise:
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
                float(_TWELVE.hz(_A4 + _KEYS_DOWN)): "That is just as far up. Going down, divide.",
                float(_TWELVE.hz(_A4 - 1)): "That is one key down. Go on.",
                A4_HZ * (1 - _KEYS_DOWN / 12): f"That takes {_KEYS_DOWN} twelfths of {plain(A4_HZ)} away. Equal steps "
                "divide by the same number each time.",
                A4_HZ * 5 / 6: "That is the pure minor third, 6/5. Twelve equal steps come near it, but not to it.",
            },
        ),
        hint=f"One key up multiplies by {plain(ratio, 4)}, the twelfth root of 2. One key down divides by it.",
        worked=f"{plain(A4_HZ)}{f' ÷ {plain(ratio, 4)}' * _KEYS_DOWN} = {plain(float(_TWELVE.hz(step)))} Hz, which is "
        f"{100 * _KEYS_DOWN} cents down. A pure minor third, 6/5, would have taken you to {plain(A4_HZ * 5 / 6)} Hz.",
    )


# Step 12: where twelve hits and misses the overtones


def question_12() -> Question:
    away = np.abs(harmonic_deviations(_TWELVE, _HARMONICS).error)
    octaves = int(np.sum(away < 1e-6))
    near = int(np.sum(away <= _NEAR_CENTS))
    within_a_quarter = int(np.sum(away <= 25))
    least_miss = float(away[away > _NEAR_CENTS].min())
    return Question(
        f"How many of the first {_HARMONICS} harmonics of a note are within {plain(_NEAR_CENTS)} cents of one of the "
        "twelve equal steps?",
        Choice(
            (f"{near} of them.", f"{within_a_quarter} of them.", f"{octaves} of them: only the octaves."),
            right=0,
            responses=(
                f"The {octaves} octaves are exact, and the {near - octaves} that come from the fifth are very near. "
                f"All others are {plain(math.floor(least_miss))} cents off or more. Twelve is good at one thing.",
                "That many are within a quarter of a semitone. Be stricter.",
                "Those are exact. But are there none that come close?",
            ),
        ),
    )


def exercise_12() -> Exercise:
    fifth, third, seventh = errors(12, ["3/2", "5/4", "7/4"]).tolist()
    minor = float(errors(12, ["6/5"]).item())
    pure = cents("5/4")
    return Exercise(
        "Twelve has its major third at four steps. How far is it from the pure one, 5/4? Give cents, plus if the "
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


def question_13() -> Question:
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
                "They do beat, but too fast to be heard as a trembling. Look for two that almost meet.",
                f"In a pure third they coincide. Here they are {plain(5 * _C4)} and {plain(4 * _E4)} Hz, and beat as "
                "often as they are apart.",
                "It follows you into any room. Look for two harmonics that almost meet.",
            ),
        ),
    )


def exercise_13() -> Exercise:
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
        "pass for warmth.",
    )
