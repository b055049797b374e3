"""Questions and exercises on meantone: the comma, tempering, the gap, and the circle closed.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    Note,
    cents,
    home_fraction,
    meantone_chain,
    miss_after,
    plain,
    signed,
    tempered_fifth,
)
from tunelib.practice.answers import Choice, Quantity, Ratio
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_COMMA = cents("81/80")
_QUARTER = meantone_chain("1/4")
_FIFTH = _QUARTER.fifths[0].cents
_WOLF = _QUARTER.closing_fifth.cents


# Step 17: four fifths and a third


def question_17() -> Question:
    return Question(
        "Tune four pure fifths upwards, C to G to D to A to E, and take two octaves off. Is that E the pure third "
        "above C?",
        Choice(
            ("Yes: pure intervals add up to pure ones.", "No: it is a little too low.", "No: it is a little too high."),
            right=2,
            responses=(
                "If only. But 3/2 × 3/2 × 3/2 × 3/2 is 81/16, and no power of 3 is ever 5 times a power of 2.",
                f"It misses, but on the other side: the four fifths come to {plain(4 * cents('3/2'))} cents, two "
                f"octaves and a pure third only to {plain(cents(5))}.",
                f"By {plain(_COMMA)} cents, the syntonic comma: about a fifth of a semitone, and easily heard in a "
                "chord.",
            ),
        ),
    )


def exercise_17() -> Exercise:
    return Exercise(
        "Four pure fifths make 3/2 × 3/2 × 3/2 × 3/2. Two octaves and a pure third make 4 × 5/4 = 5. What is the ratio "
        "of the first to the second?",
        Ratio(
            Fraction(81, 80),
            tolerance=1.0,
            slips={
                Fraction(81, 64): "That is the third that the fifths make, two octaves taken off. Compare it with 5/4.",
                Fraction(81, 16): "That is the four fifths alone. Divide by 5.",
            },
        ),
        hint="Multiply the four fifths out first: the 3s above, the 2s below. Then divide by 5.",
        worked=f"(3/2)⁴ = 81/16, and 81/16 ÷ 5 = 81/80: {plain(_COMMA, 2)} cents. It is called the syntonic comma, or "
        "the comma of Didymus, after a Greek writer of the first century who set the tones 9/8 and 10/9 side by side: "
        "it is the difference between them.",
    )


# Step 18: tempering by a fraction of the comma


def question_18() -> Question:
    return Question(
        "Four fifths overshoot the pure third by one comma. You may narrow all the fifths, each by the same amount. "
        "How much narrower must each be for the thirds to come out pure?",
        Choice(
            ("By a quarter of a comma.", "By half a comma.", "By a whole comma."),
            right=0,
            responses=(
                f"Four fifths share one comma: {plain(_COMMA / 4, 2)} cents each. A fifth of {plain(_FIFTH, 2)} cents "
                "beats slowly; most ears forgive it for the sake of the thirds.",
                "Then four of them would lose two commas, and only one is too much.",
                "Then four of them would fall short by three commas: each fifth gives its share.",
            ),
        ),
    )


def exercise_18() -> Exercise:
    third_comma = meantone_chain("1/3")
    return Exercise(
        "Not everyone wanted the major thirds pure. A minor third, A to C, is three fifths down and two octaves up. "
        "With pure fifths it is a whole comma narrower than 6/5. By what fraction of the comma must each fifth be "
        "narrowed for minor thirds to be pure?",
        Quantity(
            1 / 3,
            tolerance=0.004,
            slips={
                0.25: "That makes the major thirds pure, which take four fifths. How many does a minor third take?",
                1: "Three fifths share the work: each gives a fraction.",
                3: "Three fifths share one comma. What fraction does each give?",
            },
        ),
        hint="The fifths that make up the interval share the comma between them.",
        worked="Three fifths share one comma, so a third of it each: fifths of "
        f"{plain(third_comma.fifths[0].cents, 2)} cents, and major thirds "
        f"{plain(abs(third_comma.triad(Note.named('C')).third_error), 2)} cents narrow. Salinas described it in 1577. "
        "Zarlino's two sevenths of 1558 come in between: there major and minor thirds are equally far off.",
    )


# Step 19: the gap


def question_19() -> Question:
    return Question(
        "An old keyboard has twelve keys, tuned in quarter-comma fifths from E♭ to G♯. You play the same progression "
        "in C, then G, D, A, E. In which of these keys does it first hit a chord that cannot be played in tune?",
        Choice(
            ("In D major.", "In A major.", "In E major."),
            right=2,
            responses=(
                "D major needs F♯ and C♯, and both are there.",
                "A major needs a G♯ as well. It is there: the last of the chain.",
                "Its chord of B needs a D♯, and there is none: the key plays E♭, "
                f"{plain(-miss_after(tempered_fifth('1/4'), 12).miss.cents, 1)} cents higher.",
            ),
        ),
    )


def exercise_19() -> Exercise:
    narrow = f"{plain(cents('3/2') - _FIFTH)} cents narrow"
    good = {
        f"{low.name} {high.name}": f"{low.name} and {high.name} make one of the eleven: {narrow}, and it beats gently."
        for low, high in pairwise(_QUARTER.notes)
    }
    return Exercise(
        "These are the twelve keys of that old keyboard, with eleven quarter-comma fifths from E♭ to G♯. A fifth, "
        "seven keys up, can be played from each of the twelve: so there is one that nobody tuned. Find it by ear, "
        "and hold its two notes.",
        Played(
            (_QUARTER.notes[-1], _QUARTER.notes[0]),
            _QUARTER.tuning,
            slips=good,
            keyboard={"tuning": _QUARTER, "layout": "line", "octaves": 2},
        ),
        hint="Play fifth after fifth, and listen: eleven of them beat slowly, and all alike. Or follow the "
        "chain: which key has no fifth above it left?",
        worked="G♯ is the last of the chain, and the key seven above it is its first, E♭. Twelve fifths should make "
        f"seven octaves: {7 * CENTS_PER_OCTAVE} − {plain(11 * _FIFTH, 2)} = {plain(_WOLF, 2)} cents: "
        f"{plain(_WOLF - cents('3/2'), 1)} wider than pure, more than a third of a semitone. This one is written as a "
        "diminished sixth, and called the wolf for how it sounds.",
    )


# Step 20: closing the circle


def question_20() -> Question:
    fifth = tempered_fifth("1/4")
    misses = {n: miss_after(fifth, n) for n in (12, 19, 31, 43)}
    return Question(
        f"After twelve quarter-comma fifths you are {plain(abs(misses[12].miss.cents), 0)} cents away from where you "
        "began. You go on. After how many do you come closest to home?",
        Choice(
            ("After 19.", "After 31.", "After 43."),
            right=1,
            responses=(
                f"A little closer than at 12, but no more: {signed(misses[19].miss.cents)} cents.",
                f"Only {plain(abs(misses[31].miss.cents), 2)} cents away, after {misses[31].octaves} octaves. Spread "
                "over thirty-one fifths no ear is likely to notice.",
                f"Farther than at 12: {signed(misses[43].miss.cents)} cents. Forty-three is at home in smaller shares "
                "of the comma.",
            ),
        ),
    )


def exercise_20() -> Exercise:
    miss = abs(miss_after(tempered_fifth("1/4"), 31).miss.cents)
    equal_fifth = float(THIRTY_ONE.cents_of(18))
    return Exercise(
        f"Thirty-one quarter-comma fifths fall short of eighteen octaves by {plain(miss, 2)} cents. Make every fifth "
        "a little wider, all by the same amount, so that the circle closes. By how many cents is each widened?",
        Quantity(
            miss / 31,
            "cents",
            tolerance=0.006,
            slips={
                miss: "That is for all of them together. How much does each one get?",
                miss / 18: "The octaves are eighteen, but thirty-one fifths share it.",
                miss / 12: "Not twelve: how many fifths does this circle have?",
            },
        ),
        hint="Divide the miss among the fifths.",
        worked=f"{plain(miss, 4)} ÷ 31 = {plain(miss / 31, 4)} cents: a fifth of {plain(equal_fifth, 2)} cents instead "
        f"of {plain(_FIFTH, 2)}, about a hundred-and-tenth of a comma, as Huygens worked out in 1691. The thirds "
        f"become {plain(float(THIRTY_ONE.cents_of(10)) - cents('5/4'), 2)} cents wider than pure, and there is no "
        f"wolf. Seen the other way round, thirty-one equal steps are a meantone of {plain(home_fraction(31, 18), 4)} "
        "of a comma.",
    )
