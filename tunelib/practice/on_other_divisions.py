"""Questions and exercises on other divisions of the octave: finer steps, every division scored, and the trade.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import numpy as np

from tunelib.exhibits import RULE_OF_THUMB
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    cents,
    equal,
    errors,
    fret_gaps,
    fret_places,
    frontier,
    largest_error,
    listed,
    odd_limit_intervals,
    plain,
    signed,
    trade,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_ODD_LIMIT = 7
_DIVISIONS = np.arange(5, 101)


# Step 14: finer and finer


def question_14() -> Question:
    twelve, twenty_four, twenty_nine = errors([12, 24, 29], ["3/2"])[:, 0].tolist()
    return Question(
        f"Twelve steps miss the fifth by {signed(twelve, 2)} cents. Cut every step in two, so that there are 24. By "
        "how much is the fifth missed now?",
        Choice(
            ("By half as much.", "By just as much.", "By twice as much."),
            right=1,
            responses=(
                "The steps are half as large, but where are they? Halfway between the old ones, far from the fifth.",
                f"The old note is still the nearest: {signed(twenty_four, 2)} cents. Finer is not always better, and "
                f"29 steps, only a few more than 24, come within {plain(abs(twenty_nine), 2)}.",
                "It cannot get worse: all the old notes are still there.",
            ),
        ),
    )


def exercise_14() -> Exercise:
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


def question_15() -> Question:
    score = largest_error(_DIVISIONS, odd_limit_intervals(_ODD_LIMIT))
    best = frontier(_DIVISIONS, score).tolist()
    after = best[best.index(31) + 1]
    return Question(
        f"Each division from {_DIVISIONS[0]} to {_DIVISIONS[-1]} gets one number: how far it misses the worst of the "
        f"intervals with odd numbers up to {_ODD_LIMIT}. Plotted from few steps to many, what will that look like?",
        Choice(
            (
                "It falls raggedly: some beat others twice their size.",
                "It falls smoothly: each added step makes it a little better.",
                "It rises: the more steps, the more can be wrong.",
            ),
            right=0,
            responses=(
                f"After 31 steps it takes {after} to do better. The good ones are few, and they stand out.",
                "The steps do get finer, but whether one falls near the target is another matter. See 31 and its "
                "neighbours.",
                "You are never farther from a target than half a step, and that half shrinks.",
            ),
        ),
    )


def exercise_15() -> Exercise:
    division, ratios = 31, ("5/4", "3/2", "7/4")
    tuning = equal(division)
    target = cents(ratios[-1])
    steps = [tuning.nearest(cents(ratio))[0] for ratio in ratios]
    off = errors(division, list(ratios)).tolist()
    twelve = float(errors(12, [ratios[-1]]).item())
    third, fifth, seventh = steps
    return Exercise(
        f"Score {division} equal steps by hand, on the chord 4:5:6:7. Hold key 0 with the keys that come nearest to "
        f"{listed(f'{ratio} ({plain(cents(ratio), 2)} cents)' for ratio in ratios)} above it.",
        Played(
            (0, *steps),
            tuning,
            slips={
                f"0 {third} {fifth} {seventh + 1}": f"The highest is {plain(float(tuning.cents_of(seventh + 1)), 1)} "
                "cents up. There is a nearer one for 7/4.",
                f"0 {third} {fifth + 1} {seventh}": "The fifth is one step too wide: the narrower one is nearer.",
                f"0 {third - 1} {fifth} {seventh}": "The third is one step too narrow for 5/4.",
                "0 4 7 10": "Those are the steps of a piano. Here an octave has "
                f"{division}, of {plain(CENTS_PER_OCTAVE / division, 2)} cents.",
            },
        ),
        hint=f"One step is 1200 ÷ {division} = {plain(CENTS_PER_OCTAVE / division, 4)} cents. How many of them come "
        f"nearest to {plain(target, 2)}?",
        worked=f"{plain(target, 2)} ÷ {plain(CENTS_PER_OCTAVE / division, 4)} = "
        f"{plain(target * division / CENTS_PER_OCTAVE, 2)}, so step {seventh}. It is at "
        f"{plain(float(tuning.cents_of(seventh)), 2)} cents: {signed(off[-1], 2)} cents from 7/4, where twelve has "
        f"{signed(twelve, 2)}. In the same way 5/4 has step {third}, {signed(off[0], 2)} cents off, and 3/2 step "
        f"{fifth}, {signed(off[1], 2)}. So the chord scores {plain(max(map(abs, off)), 2)} cents, its worst miss. A "
        "computer does the same for every interval of every division.",
    )


# Step 16: the trade


def question_16() -> Question:
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


def exercise_16() -> Exercise:
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
                twelve - thirty_one: "That is what they earn together. How many notes were added?",
                (twelve - thirty_one) / 31: "Divide among the notes that were added, not among all of them.",
                (twelve - thirty_one) / 12: "Divide among the notes that were added: 31 less 12.",
            },
        ),
        hint="How many cents are gained in all, and how many notes were added?",
        worked=f"({plain(twelve, 2)} − {plain(thirty_one, 2)}) ÷ (31 − 12) = {plain(price, 2)} cents a note. If you "
        "ask less of a note than that, thirty-one serves you better than twelve; if you ask more, twelve does; "
        f"at exactly that price {between} beats them both. Of all divisions from {_DIVISIONS[0]} to {_DIVISIONS[-1]}, "
        f"thirty-one is the best from {plain(cheapest, 2)} to {plain(dearest, 2)} cents a note. That is so with odd "
        f"numbers up to {_ODD_LIMIT}. Ask for more, and it does less well: its eleventh harmonic is off by "
        f"{signed(eleventh, 1)} cents, its thirteenth by {signed(thirteenth, 1)}.",
    )
