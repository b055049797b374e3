"""Questions and exercises on other divisions of the octave: finer steps, every division scored, and the trade.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import numpy as np

from tunelib.exhibits import RULE_OF_THUMB
from tunelib.hearing import beat_rate
from tunelib.pitch import (
    A4_HZ,
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    THIRTY_ONE,
    cents,
    equal,
    errors,
    flat_or_sharp,
    fret_gaps,
    fret_places,
    largest_error,
    listed,
    odd_limit_intervals,
    plain,
    ratio_from_cents,
    signed,
    spell,
    trade,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.ear_sounds import heard, in_turn, one_by_one, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_ODD_LIMIT = 7
_DIVISIONS = np.arange(5, 101)
_CALLED = {"5/4": "third", "3/2": "fifth", "7/4": "seventh"}
_CHORD = tuple(_CALLED)  # 4:5:6:7, above its lowest note


def _nearest(division: int, ratio: str) -> float:
    """The ratio that a division has for a pure one."""
    return float(ratio_from_cents(cents(ratio) + errors(division, [ratio]).item()))


# Step 14: finer and finer


def question_14() -> Question:
    moves = {"First": CENTS_PER_OCTAVE / 240, "Second": 0.0, "Third": CENTS_PER_OCTAVE / 53}
    first, _, third = moves.values()
    return Question(
        "Three players hold a note, and move it up one step and back, twice. Their steps are small, each of another "
        "size. One of the three only pretends, and does not move at all. Which?",
        Choice(
            tuple(f"The {name.lower()}." for name in moves),
            right=list(moves.values()).index(0.0),
            responses=(
                f"It does move, but only by {plain(first)} cents. Listen again: does another move even less?",
                f"The first moves by {plain(first)} cents, a step of {CENTS_PER_OCTAVE / first:.0f} to the octave. If "
                "you had to guess, your ear has given up somewhere near there. The third moves by "
                f"{plain(third)}, a step of {CENTS_PER_OCTAVE / third:.0f}.",
                f"That one moves by {plain(third)} cents, the most of the three. Hum the first of its notes, and stay "
                "on it.",
            ),
        ),
        heard(
            "flute",
            {
                name: in_turn([A4_HZ * float(ratio_from_cents(cents_up)) for cents_up in (0, move, 0, move, 0)], 0.6)
                for name, move in moves.items()
            },
        ),
    )


def exercise_14() -> Exercise:
    lower, divisions = A4_HZ / 2, (12, 24, 31)
    off = errors(divisions, ["5/4"])[:, 0].tolist()
    beats = [beat_rate(lower, lower * _nearest(division, "5/4"), "5/4") for division in divisions]
    return Exercise(
        "A major third twice. First as twelve steps have it. Then every step is cut in two, so that there are "
        "twenty-four, and you hear the one of these that is nearest to a pure third. Which is the calmer?",
        Choice(
            ("The first.", "The second.", "Neither."),
            right=2,
            responses=(
                "Count how often each of them swells in two seconds. Is it really fewer in this one?",
                "That is what one would expect of finer steps. Count how often each of them swells in two seconds.",
                f"They are the same: {plain(beats[0])} beats a second in both. Finer is not always nearer.",
            ),
        ),
        hint="Tick Hold, go from one to the other, and leave aside what you expect. Does anything change?",
        worked=f"They are the same sound. The twenty-four have a note in the middle of each old step, and a pure third "
        f"is nowhere near one: the old note, {signed(off[0])} cents off, is still the nearest. Thirty-one steps, only "
        f"a few more, come within {plain(abs(off[2]))}. Finer is not always nearer; it depends where the steps fall.",
        sounds=heard(
            "bowed",
            {
                name: together([lower, lower * _nearest(division, "5/4")], 4)
                for name, division in zip(("First", "Second"), divisions, strict=False)
            },
        ),
    )


def exercise_14_in_numbers() -> Exercise:
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
    lowest, divisions = A4_HZ / 2, {"First": 31, "Second": 12, "Third": 47}
    worst = {
        name: max(zip(errors(division, list(_CHORD)).tolist(), _CHORD, strict=True), key=lambda miss: abs(miss[0]))
        for name, division in divisions.items()
    }
    purest = min(worst, key=lambda name: abs(worst[name][0]))
    (first, _), (second, _), (third, of_third) = worst.values()
    pure = together([lowest * harmonic for harmonic in (1, 5 / 4, 3 / 2, 7 / 4)], 3)
    return Question(
        "Harmonics 4, 5, 6 and 7 together make a seventh chord, 4:5:6:7. You hear it pure, and then as three divisions "
        "of the octave have it, each with the notes that come nearest. Which of the three is the nearest to pure?",
        Choice(
            tuple(f"The {name.lower()}." for name in divisions),
            right=list(divisions).index(purest),
            responses=(
                f"It has {divisions['First']} steps, and its worst note is {flat_or_sharp(first)}. The second has "
                f"{divisions['Second']}. The third has {divisions['Third']}, half as many again as the first, and is "
                "farther off.",
                f"Go back to the pure one, and sing its highest note. Here that note is {flat_or_sharp(second)}.",
                f"It does have the most steps of the three, {divisions['Third']}. But listen to how it beats beside "
                f"the pure one: its {_CALLED[of_third]} is {flat_or_sharp(third)}.",
            ),
        ),
        heard(
            "bowed",
            {"Pure": pure}
            | {
                name: together([lowest, *(lowest * _nearest(division, ratio) for ratio in _CHORD)], 3)
                for name, division in divisions.items()
            },
        ),
    )


def exercise_15() -> Exercise:
    tuning = THIRTY_ONE
    root = float(tuning.hz(0))
    steps = [tuning.nearest(cents(ratio))[0] for ratio in _CHORD]
    third, fifth, seventh = steps
    names = [spell(step, tuning).name for step in (0, *steps)]
    off = errors(len(tuning), list(_CHORD)).tolist()
    return Exercise(
        f"You hear the chord 4:5:6:7, pure. Find it on {len(tuning)} keys to the octave: hold a C, and above it the "
        "three keys that bring you closest. Every C is marked. In a row each key is a whole tone higher than the one "
        "to its left; and in whichever row, a key farther to the right is higher. Latch keeps a key down while you "
        "look for the next. What the signs on the keys mean comes later: here your ear is enough. (In writing, C is "
        "step 0.)",
        Played(
            (0, *steps),
            tuning,
            slips={
                f"0 {third} {fifth} {seventh + 1}": "The highest is a step too high: play the pure chord again, and "
                "sing its highest note.",
                f"0 {third} {fifth + 1} {seventh}": "The fifth is one step too wide: the narrower one beats more "
                "slowly.",
                f"0 {third - 1} {fifth} {seventh}": "The third is one step too narrow: a step up, and it goes still.",
                "0 4 7 10": f"Those are the steps of a piano. Here an octave has {len(tuning)}: use your ear.",
            },
            keyboard={"lit": range(0, 3 * len(tuning), len(tuning))},
        ),
        hint="One at a time, each over the C: first the third, until it goes still; then the fifth, whose beats slow "
        "down but do not stop; last the seventh, lower than you are used to.",
        worked=f"0, {listed(str(step) for step in steps)}: on the keys {listed(names)}. The third and the seventh are "
        f"all but pure, {plain(abs(off[0]))} and {plain(abs(off[2]))} cents off. The fifth is {plain(abs(off[1]))} "
        "cents narrow, and you hear it beat, slowly.",
        sounds=heard("bowed", {"The chord": together([root * n / 4 for n in (4, 5, 6, 7)], 4)}),
    )


def exercise_15_in_numbers() -> Exercise:
    division, ratio = 31, _CHORD[-1]
    target, step_size = cents(ratio), CENTS_PER_OCTAVE / division
    step = equal(division).nearest(target)[0]
    off, twelve = (errors(each, [ratio]).item() for each in (division, 12))
    others = errors(division, list(_CHORD[:-1])).tolist()
    return Exercise(
        f"Score {division} equal steps by hand. The seventh harmonic, {ratio}, is at {plain(target, 2)} cents. By how "
        f"many cents does the nearest of {division} steps miss it? Give a minus if it is too low.",
        Quantity(
            off,
            "cents",
            tolerance=0.03,
            slips={
                twelve: "That is how far off twelve is.",
                off + step_size: "That is the step above. There is a nearer one.",
                step * step_size: f"That is how large the step is. How far is that from {plain(target, 2)}?",
                target: f"That is how large {ratio} is. How far from it is the nearest step?",
                step: "That is the number of the step. How many cents is it from the harmonic?",
                -1: "Right, to the nearest cent. Give two decimals.",
                1: "About that size. But which of the two is higher? And give two decimals.",
            },
        ),
        hint=f"One step is 1200 ÷ {division} = {plain(step_size, 4)} cents. How many of them come nearest to "
        f"{plain(target, 2)}?",
        worked=f"{plain(target, 2)} ÷ {plain(step_size, 4)} = {plain(target / step_size, 2)}, so step {step}. It is at "
        f"{plain(step * step_size, 2)} cents: {signed(off, 2)} cents from {ratio}, where twelve has "
        f"{signed(twelve, 2)}. In the same way {_CHORD[0]} is {signed(others[0], 2)} cents off, and {_CHORD[1]} "
        f"{signed(others[1], 2)}. So the chord 4:5:6:7 scores {plain(max(map(abs, (off, *others))), 2)} cents, its "
        "worst miss. A computer does the same for every interval of every division.",
    )


# Step 16: the trade


def question_16() -> Question:
    lower, ratios = A4_HZ / 2, {"First": "7/4", "Second": "5/4", "Third": "3/2"}
    sevenths, thirds, fifths = errors([12, 31], list(ratios.values())).T.tolist()

    def beside(misses: list[float]) -> str:
        twelve, thirty_one = (signed(miss, 1) for miss in misses)
        return f"{twelve} cents in twelve, {thirty_one} in thirty-one"

    return Question(
        "Three intervals, each in twelve steps and then in thirty-one, and both once more. Thirty-one steps are the "
        "finer. Yet for one of the three intervals twelve is the calmer. For which?",
        Choice(
            tuple(f"The {name.lower()}." for name in ratios),
            right=2,
            responses=(
                f"A seventh, and the second one is far calmer: {beside(sevenths)}.",
                f"A major third, and the second one is far calmer: {beside(thirds)}.",
                f"The fifth pays for the rest: {beside(fifths)}. No division is best at everything.",
            ),
        ),
        heard(
            "bowed",
            {
                name: one_by_one([[lower, lower * _nearest(division, ratio)] for division in (12, 31, 12, 31)], 1.8)
                for name, ratio in ratios.items()
            },
        ),
    )


def exercise_16() -> Exercise:
    hand = 12  # keys, from the lowest of an octave on a piano to the highest
    third, fourth, fifth = (int(THIRTY_ONE.nearest(cents(ratio))[0]) for ratio in ("5/4", "4/3", "3/2"))
    reach = {"fifth": fifth, "fourth": fourth, "major third": third}
    widest = max((name for name, keys in reach.items() if keys <= hand), key=lambda name: reach[name])
    nineteen = int(equal(19).nearest(cents("3/2"))[0])
    return Exercise(
        f"On paper, or on the edge of a table. Your hand just spans an octave on a piano: its top key is {hand} keys "
        "up, black and white. Now a keyboard of thirty-one, its keys as wide as a piano's and all in one row. A major "
        f"third is {third} keys up, a fourth {fourth}, a fifth {fifth}. What is the widest of these that your hand can "
        "hold?",
        Choice(
            tuple(f"The {name}." for name in reach),
            right=list(reach).index(widest),
            responses=(
                f"It is {fifth} keys up, and your hand spans {hand}.",
                f"Nearly. It is {fourth} keys up, and your hand spans {hand}.",
                f"{third} keys up, and your hand spans {hand}. Not even C, E and G fit under one hand.",
            ),
        ),
        hint=f"Your hand reaches {hand} keys up, however many there are to the octave.",
        worked=f"The {widest}, {reach[widest]} keys up; a fourth is too far. In nineteen a fifth is {nineteen} keys "
        "up: C, E and G fit, an octave does not. So one row of keys is no way to play thirty-one. Builders of such "
        "keyboards put the keys in several rows, one behind the other; you will soon play on some.",
    )


def exercise_16_in_numbers() -> Exercise:
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
