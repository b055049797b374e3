"""Questions and exercises on twelve equal steps: what they are, what they miss, and what a miss sounds like.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import math
from itertools import combinations

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
    listed,
    nearest_note,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.pitch import in_hertz as _hz
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.ear_sounds import heard, one_by_one, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played
from tunelib.score import Score

_NEAR_CENTS = 5.0
_HARMONICS = 16
_TWELVE = equal(12)


# Step 11: twelve equal steps


def _ladder(rungs: list[float], seconds: float = 0.36) -> Score:
    """Notes one after another, and then the first and the last held together."""
    return one_by_one([*([rung] for rung in rungs), [rungs[0], rungs[-1]]], seconds)


def question_11() -> Question:
    low, count = A4_HZ / 2, len(_TWELVE)
    ratio, simple = 2 ** (1 / count), 16 / 15
    rungs = {
        "First": [low * (1 + n / count) for n in range(count + 1)],
        "Second": [low * simple**n for n in range(count + 1)],
        "Third": [low * ratio**n for n in range(count + 1)],
    }
    return Question(
        f"Three ladders of twelve steps, from the A of {_hz(low)} up. At the end of each you hear its two ends "
        "together. Which of them climbs by steps that sound equally large, and ends on the octave?",
        Choice(
            tuple(f"The {name.lower()}." for name in rungs),
            right=2,
            responses=(
                f"Sing its first step, and then its last. Each is {_hz(low / count)}, and to the ear they shrink.",
                "Its steps do sound equal. But listen to the two ends together: twelve of them overshoot the octave, "
                f"and come to {plain(simple**count, 2)} where an octave is 2.",
                f"Each note is {plain(ratio, 4)} times the one before, and twelve of those come to 2: an octave.",
            ),
        ),
        heard("flute", {name: _ladder(notes) for name, notes in rungs.items()}),
    )


_WIDE_STEP, _WIDE_CENTS = 5, 155.0


def exercise_11() -> Exercise:
    count = len(_TWELVE)
    other = (1200 - _WIDE_CENTS) / (count - 1)
    lopsided = [n * other + (_WIDE_CENTS - other if n >= _WIDE_STEP else 0) for n in range(count + 1)]
    alike = [float(cent) for cent in _TWELVE.cents_of(np.arange(count + 1))]
    climbs = {"First": ("D4", lopsided), "Second": ("B♭3", alike), "Third": ("C4", alike)}
    again = "All its steps are alike. Listen again for a step that is wider than those around it."
    return Exercise(
        "Three scales of twelve steps, an octave each. In two of them all the steps are equal. In one, a single step "
        "is wider than all the others. Which scale is that?",
        Choice(
            tuple(f"The {name.lower()}." for name in climbs),
            right=0,
            responses=(
                f"Step {_WIDE_STEP} of it is wide, and the others make up for that.",
                again,
                again.replace("Listen", "Climb along with it, and listen"),
            ),
        ),
        hint="Hum along, and let your voice take the next step before you hear it. Where does it come too early?",
        worked=f"The first. Its step {_WIDE_STEP}, counted from the bottom, has {plain(_WIDE_CENTS)} cents, and each "
        f"of the others {plain(other)}. In the other two scales every step has {plain(alike[1])}. By the "
        "lowest and the highest note alone you could not have told: all three end on the octave.",
        sounds=heard(
            "plucked",
            {
                name: _ladder([float(Note.parse(low).hz() * ratio_from_cents(cent)) for cent in climb])
                for name, (low, climb) in climbs.items()
            },
        ),
    )


_A4 = Note.parse("A4").step(_TWELVE)
_KEYS_DOWN = 3


def exercise_11_in_numbers() -> Exercise:
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


_BETWEEN = 11


def question_12() -> Question:
    tone = _BETWEEN * Note.parse("C2").hz()
    key, _ = nearest_note(tone)
    below = key.step(_TWELVE) - (key.hz() > tone)
    keys = tuple(nearest_note(float(_TWELVE.hz(step)))[0] for step in (below, below + 1))
    names = [nearest_note(float(_TWELVE.hz(step)))[0].name for step in range(len(_TWELVE))]
    alone = {
        name: f"Hum the tone, and then your {name}: is the tone above it, or below? Go that way." for name in names
    }
    beside = {
        f"{one} {other}": f"Hum the tone, and then your {one} and your {other}. Does it fall between them, and are "
        "they neighbours?"
        for one, other in combinations(names, 2)
        if (one, other) != (keys[0].name, keys[1].name)
    }
    return Question(
        "A tone, which is one of the harmonics of a low C. Find it on the keys. If no key is right, hold the two "
        "between which it falls. (If you click, press Latch first: each key then stays down.)",
        Played(
            keys,
            _TWELVE,
            slips=alone
            | beside
            | {
                keys[0].name: f"Near. Go back and forth between the tone and your {keys[0].name}: which is the higher?",
                keys[1].name: f"Near. Go back and forth between the tone and your {keys[1].name}: which is the lower?",
            },
            keyboard={"layout": "line", "lowest": "C5", "octaves": 1},
        ),
        heard("flute", {"The tone": together([tone], 3)}),
    )


def exercise_12() -> Exercise:
    low = Note.parse("C3").hz()
    numbers = {"First": 5, "Second": 7, "Third": 3}
    apart = {number: abs(nearest_note(number * low)[0].hz() - number * low) for number in numbers.values()}
    beside = {
        name: one_by_one(
            [[number * low], [nearest_note(number * low)[0].hz()], [number * low, nearest_note(number * low)[0].hz()]]
        )
        for name, number in numbers.items()
    }
    away = np.abs(harmonic_deviations(_TWELVE, _HARMONICS).error)
    octaves, near = int(np.sum(away < 1e-6)), int(np.sum(away <= _NEAR_CENTS))
    least_miss = float(away[away > _NEAR_CENTS].min())
    return Exercise(
        "Three harmonics of one C: each alone, then the nearest key of a piano, then both together. Put them in "
        "order, from the key that fits best to the one that fits worst.",
        Choice(
            ("Third, first, second.", "First, third, second.", "Third, second, first."),
            right=0,
            responses=(
                "From a slow swell to a quick trembling to a rasp.",
                "Compare the ends of the first and of the third: which swells more slowly?",
                "The third is the best. Compare the ends of the other two: which can you still count?",
            ),
        ),
        hint="Listen to the end of each, where harmonic and key sound together. The slower it swells, the nearer they "
        "are.",
        worked=f"They are harmonics {listed([str(n) for n in sorted(apart, key=lambda n: apart[n])])}: together with "
        f"the key they beat {listed([plain(beats) for beats in sorted(apart.values())])} times a second. Of the first "
        f"{_HARMONICS} harmonics, {near} are within {plain(_NEAR_CENTS)} cents of a key: {octaves} of them are the "
        f"octaves, which are exact, and the other {near - octaves} come from the fifth. All the rest are "
        f"{plain(math.floor(least_miss))} cents off or more. Twelve is good at one thing.",
        sounds=heard("flute", beside),
    )


def exercise_12_in_numbers() -> Exercise:
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
    rate = beat_rate(_C4, _E4, "5/4")
    return Question(
        "Two major thirds on the same C. One is pure, and one is a piano's. Which is the piano's?",
        Choice(
            ("The first.", "The second.", "They are the same."),
            right=1,
            responses=(
                "That one keeps quite still: nothing in it beats. Listen high up in the other.",
                f"Its upper note is too high for the lower, and something in it trembles, {plain(rate)} times a "
                "second.",
                "Let each of them sound to its end, and listen high up, above both of its notes.",
            ),
        ),
        heard("reed", {"First": together([_C4, _C4 * 5 / 4], 4), "Second": together([_C4, _E4], 4)}),
    )


_F3, _A3 = (Note.parse(name).hz() for name in ("F3", "A3"))


def exercise_13() -> Exercise:
    two = 5 * _F3, 4 * _A3
    key, _ = nearest_note(two[1])
    return Exercise(
        "The third from F3 to A3, as a piano has it. Something in it trembles, high above both notes. At what pitch? "
        "Find its key.",
        Played(
            (key,),
            _TWELVE,
            exact=True,
            slips={
                "F3": "That is one of the two notes, and it is steady. What trembles is far above them.",
                "A3": "That is one of the two notes, and it is steady. What trembles is far above them.",
                "A4": "Right letter, but higher still: hum what trembles, and compare.",
            },
            keyboard={"layout": "line", "lowest": "F3", "octaves": 3},
        ),
        hint="Listen to What trembles, which is the third without all the rest, and hum it. Then look for your note.",
        worked=f"{key}, two octaves above the upper note. Harmonic 5 of the F is at {_hz(two[0])} and harmonic 4 of "
        f"the A at {_hz(two[1])}. They are almost one, and beat {plain(two[1] - two[0])} times a second. Play the two "
        f"notes on a piano tonight, and listen where {key} would be.",
        sounds=(
            *heard("reed", {"The third": together([_F3, _A3], 4)}),
            *heard("sine", {"What trembles": together(two, 4)}),
        ),
    )


def exercise_13_in_numbers() -> Exercise:
    rate = beat_rate(_C4, _E4, "5/4")
    thirty_one = beat_rate(_C4, _C4 * ratio_from_cents(THIRTY_ONE.cents_of(10)), "5/4")
    fifth = beat_rate(_C4, _G4, "3/2")
    return Exercise(
        f"C4 is {plain(_C4, 2)} Hz and E4 {plain(_E4, 2)} Hz. How many times a second do harmonic 5 of the C and "
        "harmonic 4 of the E beat? One decimal is enough.",
        Quantity(
            rate,
            "beats a second",
            tolerance=0.15,
            down=True,
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
