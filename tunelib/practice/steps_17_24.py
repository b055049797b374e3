"""Questions and exercises for steps 17 to 24: meantone, its gap, and the thirty-one notes.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np

from tunelib.exhibits import STANDS_FOR
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    SCALE_LENGTH,
    THIRTY_ONE,
    TUBE_LENGTH,
    Note,
    cents,
    fret_gaps,
    home_fraction,
    interval_names,
    meantone_chain,
    miss_after,
    plain,
    signed,
    slide_distance,
    tempered_fifth,
)
from tunelib.practice.answers import Choice, Quantity, Ratio
from tunelib.practice.exercise import Exercise, Question

_STEP = CENTS_PER_OCTAVE / 31
_COMMA = cents("81/80")
_QUARTER = meantone_chain("1/4")
_FIFTH = _QUARTER.fifths[0].cents
_WOLF = _QUARTER.closing_fifth.cents


# Step 17: four fifths and a third


def _question_17() -> Question:
    return Question(
        "Tune four pure fifths upwards, C to G to D to A to E, and take two octaves off. Is that E the pure third "
        "above C?",
        Choice(
            ("Yes: pure intervals add up to pure ones.", "No: it is a little too low.", "No: it is a little too high."),
            right=2,
            responses=(
                "One would wish so. But 3/2 × 3/2 × 3/2 × 3/2 is 81/16, and no power of 3 is ever 5 times a power of "
                "2.",
                f"It misses, and to the other side: the four fifths come to {plain(4 * cents('3/2'))} cents, two "
                "octaves "
                f"and a pure third only to {plain(cents(5))}.",
                f"By {plain(_COMMA)} cents, the syntonic comma: about a fifth of a semitone, and easily heard in a "
                "chord.",
            ),
        ),
    )


def _exercise_17() -> Exercise:
    return Exercise(
        "Four pure fifths make 3/2 × 3/2 × 3/2 × 3/2. Two octaves and a pure third make 4 × 5/4 = 5. What is the "
        "ratio of "
        "the first to the second?",
        Ratio(
            Fraction(81, 80),
            tolerance=1.0,
            slips={
                Fraction(81, 64): "That is the third that the fifths make, two octaves taken off. Compare it with 5/4.",
                Fraction(81, 16): "That is the four fifths alone. Divide by 5.",
            },
        ),
        hint="Multiply the four fifths out first: the 3s above, the 2s below. Then divide by 5.",
        worked=f"(3/2)⁴ = 81/16, and 81/16 ÷ 5 = 81/80: {plain(_COMMA, 2)} cents. It is called the "
        "syntonic comma, or the comma of Didymus, after a Greek writer of the first century who set the tones 9/8 and "
        "10/9 "
        "side by side: it is the difference between them.",
    )


# Step 18: tempering by a fraction of the comma


def _question_18() -> Question:
    return Question(
        "Four fifths overshoot the pure third by one comma. You may make all fifths narrower, each by as much. How "
        "much "
        "narrower must each be, for the thirds to come out pure?",
        Choice(
            ("By a quarter of a comma.", "By half a comma.", "By a whole comma."),
            right=0,
            responses=(
                f"Four fifths share one comma: {plain(_COMMA / 4, 2)} cents each. A fifth of {plain(_FIFTH, 2)} cents "
                "beats slowly; most ears forgive it for the sake of the thirds.",
                "Then four of them would lose two commas, one more than they have too much.",
                "Then four of them would fall short by three commas: each fifth gives its share.",
            ),
        ),
    )


def _exercise_18() -> Exercise:
    third_comma = meantone_chain("1/3")
    return Exercise(
        "Not everyone wanted the major thirds pure. A minor third, A to C, is three fifths down and two octaves up. "
        "With pure fifths it is a whole comma narrower than 6/5. By which part of the comma must each fifth be "
        "narrowed, "
        "for minor thirds to be pure?",
        Quantity(
            1 / 3,
            tolerance=0.004,
            slips={
                0.25: "That makes the major thirds pure, which take four fifths. How many does a minor third take?",
                1: "Three fifths share the work: each gives a part.",
                3: "Three fifths share one comma. Which part does each give?",
            },
        ),
        hint="As many fifths as make the interval share the comma between them.",
        worked="Three fifths share one comma, so a third of it each: fifths of "
        f"{plain(third_comma.fifths[0].cents, 2)} "
        f"cents, and major thirds {plain(abs(third_comma.triad(Note.named('C')).third_error), 2)} cents narrow. "
        "Salinas "
        "described it in 1577. Zarlino's two sevenths of 1558 lie between: there major and minor thirds are equally "
        "far off.",
    )


# Step 19: the gap


def _question_19() -> Question:
    return Question(
        "An old keyboard has twelve keys, tuned in quarter-comma fifths from E♭ to G♯. You play the same progression "
        "in C, "
        "then G, D, A, E. In which of these keys does it first hit a chord that cannot be played in tune?",
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


def _exercise_19() -> Exercise:
    return Exercise(
        f"Twelve fifths should make seven octaves, {7 * CENTS_PER_OCTAVE} cents. Eleven of them are quarter-comma "
        "fifths of "
        f"{plain(_FIFTH, 2)} cents. How large is what is left for the twelfth? Give cents.",
        Quantity(
            _WOLF,
            "cents",
            tolerance=0.15,
            slips={
                _WOLF - _FIFTH: "That is how much wider it is than the others. How large is it?",
                _FIFTH: "That is one of the eleven good ones. What is left over?",
                _WOLF - cents("3/2"): "That is how much wider it is than a pure fifth. How large is it?",
            },
        ),
        hint=f"Take 11 × {plain(_FIFTH, 2)} from {7 * CENTS_PER_OCTAVE}.",
        worked=f"{7 * CENTS_PER_OCTAVE} − {plain(11 * _FIFTH, 2)} = {plain(_WOLF, 2)} cents: "
        f"{plain(_WOLF - cents('3/2'), 1)} wider than pure, more than a third of a semitone. It is written as a "
        "diminished "
        "sixth, G♯ to E♭, and called the wolf for how it sounds.",
    )


# Step 20: closing the circle


def _question_20() -> Question:
    fifth = tempered_fifth("1/4")
    misses = {n: miss_after(fifth, n) for n in (12, 19, 31, 43)}
    return Question(
        f"After twelve quarter-comma fifths you are {plain(abs(misses[12].miss.cents), 0)} cents away from where you "
        "began. You go on. After how many do you come closest to home?",
        Choice(
            ("After 19.", "After 31.", "After 43."),
            right=1,
            responses=(
                f"A little closer than at 12, and no more: {signed(misses[19].miss.cents)} cents.",
                f"Only {plain(abs(misses[31].miss.cents), 2)} cents away, after {misses[31].octaves} octaves. Spread "
                "over "
                "thirty-one fifths no ear is likely to notice.",
                f"Farther than at 12: {signed(misses[43].miss.cents)} cents. Forty-three is at home in smaller shares "
                "of "
                "the comma.",
            ),
        ),
    )


def _exercise_20() -> Exercise:
    miss = abs(miss_after(tempered_fifth("1/4"), 31).miss.cents)
    equal_fifth = float(THIRTY_ONE.cents_of(18))
    return Exercise(
        f"Thirty-one quarter-comma fifths fall short of eighteen octaves by {plain(miss, 2)} cents. Make every fifth "
        "a little "
        "wider, all by as much, so that the circle closes. By how many cents is each widened?",
        Quantity(
            miss / 31,
            "cents",
            tolerance=0.006,
            slips={
                miss: "That is for all of them together. How much falls to each?",
                miss / 18: "There are eighteen octaves, but thirty-one fifths to share it.",
                miss / 12: "Not twelve: how many fifths does this circle have?",
            },
        ),
        hint="Divide the miss among the fifths.",
        worked=f"{plain(miss, 4)} ÷ 31 = {plain(miss / 31, 4)} cents: a fifth of {plain(equal_fifth, 2)} cents "
        "instead of "
        f"{plain(_FIFTH, 2)}, about a hundred-and-tenth of a comma, as Huygens reckoned in 1691. The thirds become "
        f"{plain(float(THIRTY_ONE.cents_of(10)) - cents('5/4'), 2)} cents wider than pure, and there is no wolf. "
        "Seen the "
        f"other way, thirty-one equal steps are a meantone of {plain(home_fraction(31, 18), 4)} of a comma.",
    )


# Step 21: the map of thirty-one


def _question_21() -> Question:
    sharp, flat = (Note.parse(name).step(THIRTY_ONE) for name in ("C#4", "Db4"))
    return Question(
        "On a piano C♯ and D♭ are one key. Among the thirty-one they are two notes. Which is higher?",
        Choice(
            ("C♯.", "D♭.", "That depends on the key."),
            right=1,
            responses=(
                "So it is where fifths are pure. But here fifths are narrow, and seven of them lead up to C♯: it ends "
                "lower.",
                f"C♯ is step {sharp}, D♭ step {flat}: of the five steps from C to D a sharp raises by two, a flat "
                "lowers by two.",
                "Players may shade a note. The map does not move: a sharp is two steps up, a flat two steps down.",
            ),
        ),
    )


def _exercise_21() -> Exercise:
    fifth = 18
    answer = 3 * fifth % 31
    return Exercise(
        f"Number the notes from C = 0 to 30. A fifth up is {fifth} steps. Which number has A, three fifths up from C, "
        "brought back into the octave?",
        Quantity(
            answer,
            slips={
                3 * fifth: "Take the octave off: 31 steps.",
                (3 * fifth) % 12: "There are 31 steps to the octave here.",
                2 * fifth % 31: "That is D, two fifths up.",
                4 * fifth % 31: "That is E, four fifths up.",
                9: "That is its number among twelve.",
            },
        ),
        hint=f"Three times {fifth}, less an octave of 31.",
        worked=f"3 × {fifth} − 31 = {answer}: A lies {plain(float(THIRTY_ONE.cents_of(answer)), 1)} cents above C. "
        "Going on "
        "in this way you meet every one of the thirty-one before you are back at C.",
    )


# Step 22: writing and reading


def _question_22() -> Question:
    step = Note.named("Ehb").step(THIRTY_ONE)
    double = Note.named("Dx")
    return Question(
        "The sign of a half-flat lowers a note by one step of thirty-one. E half-flat has another name, along the "
        "chain of "
        "fifths. Which?",
        Choice(
            ("D double sharp.", "E double flat.", "F flat."),
            right=0,
            responses=(
                f"D is step {Note.named('D').step(THIRTY_ONE)}, and two sharps are four steps: "
                f"{double.step(THIRTY_ONE)}. E is step {Note.named('E').step(THIRTY_ONE)}, less one: {step}. One "
                "sound, two "
                "ways to write it.",
                f"E double flat is four steps below E, step {Note.named('Ebb').step(THIRTY_ONE)}; a half-flat is one.",
                f"F flat is step {Note.named('Fb').step(THIRTY_ONE)}, above E. In thirty-one it is a note of its own.",
            ),
        ),
    )


def _exercise_22() -> Exercise:
    written = Note.named("Dh#")
    sounding = written.transpose("-M2")
    tone = Note.named("D").step(THIRTY_ONE)
    answer = sounding.step(THIRTY_ONE)
    return Exercise(
        f"A trumpet in B♭ sounds a major second, {tone} steps, below what it reads. It reads {written.name}. Which "
        "step "
        "sounds, counted from C = 0?",
        Quantity(
            answer,
            slips={
                written.step(THIRTY_ONE): "That is the note as it is written. The trumpet sounds lower.",
                written.step(THIRTY_ONE) + tone: "That is a major second higher. The trumpet sounds lower.",
                answer + 1: f"A major second is {tone} steps here, as from C to D.",
            },
        ),
        hint=f"D is step {tone}; a half-sharp adds one. Then go down {tone}.",
        worked=f"{written.name} is step {written.step(THIRTY_ONE)}, less {tone} is {answer}: {sounding.name}. Parts "
        "for "
        "transposing instruments are moved by the name of the interval, so letters and signs stay readable.",
    )


# Step 23: families of intervals


def _question_23() -> Question:
    sizes = {step: float(THIRTY_ONE.cents_of(step)) for step in (8, 9, 10)}
    return Question(
        f"A minor third has 8 steps, a major third 10. Between them lies a third of 9 steps, {plain(sizes[9], 1)} "
        "cents, "
        "called neutral. Which simple ratio does it come close to?",
        Choice(
            ("5/4.", "6/5.", "11/9."),
            right=2,
            responses=(
                f"That is the major third, {plain(cents('5/4'))} cents, and 10 steps are {plain(sizes[10])}.",
                f"That is the minor third, {plain(cents('6/5'))} cents, and 8 steps are {plain(sizes[8])}.",
                f"Within {plain(abs(sizes[9] - cents('11/9')), 2)} cents: the eleventh harmonic over the ninth. No "
                "piano has it.",
            ),
        ),
    )


def _exercise_23() -> Exercise:
    step = 7
    size, target = float(THIRTY_ONE.cents_of(step)), cents(STANDS_FOR[step])
    names = interval_names(step, THIRTY_ONE)
    return Exercise(
        f"The {names[0].name} has {step} steps of {plain(_STEP, 4)} cents and stands for {STANDS_FOR[step]}, "
        f"{plain(target, 2)} cents. How far off is it? Give cents, steps less ratio.",
        Quantity(
            size - target,
            "cents",
            tolerance=0.06,
            slips={
                size: "That is the size of the steps. How far is it from the ratio?",
                float(THIRTY_ONE.cents_of(8)) - target: "That is 8 steps, the minor third. Take 7.",
                300 - target: "That is the third of a piano.",
            },
        ),
        hint=f"{step} × {plain(_STEP, 4)}, then take {plain(target, 2)} away.",
        worked=f"{step} × {plain(_STEP, 4)} = {plain(size, 2)}, and {plain(size, 2)} − {plain(target, 2)} = "
        f"{signed(size - target, 2)} cents. Where the spelling asks for it, the same {step} steps are written as an "
        f"{names[1].name}. A piano's third of 300 cents is {signed(300 - target, 1)} cents off.",
    )


# Step 24: under the fingers


def _question_24() -> Question:
    gaps, common = fret_gaps(31), fret_gaps(12)
    first, last = float(gaps[0]), float(gaps[30])
    return Question(
        f"A guitar of {plain(SCALE_LENGTH)} mm gets thirty-one frets to the octave. How far apart are the last two "
        "before the "
        "octave?",
        Choice(
            (f"About {plain(last, 0)} mm.", f"About {plain(first, 0)} mm.", f"About {plain(float(common[11]), 0)} mm."),
            right=0,
            responses=(
                f"{plain(last, 2)} mm: less than a fingertip needs. High up one plays with the tip, or leaves frets "
                "out.",
                "That is the first fret's distance from the nut. The frets come closer together as one goes up.",
                "That is the last gap before the octave in twelve.",
            ),
        ),
    )


def _exercise_24() -> Exercise:
    out = float(np.asarray(slide_distance(_STEP, TUBE_LENGTH)))
    semitone = float(np.asarray(slide_distance(100.0, TUBE_LENGTH)))
    return Exercise(
        f"A trombone's tube counts as {plain(TUBE_LENGTH, 2)} m long in first position. One step of thirty-one "
        "lower, the "
        f"tube must be 2^(1/31) times as long. How far does the slide move out? Give millimetres.",
        Quantity(
            out,
            "mm",
            tolerance=0.25,
            slips={
                2 * out: "The tube grows by that. But it runs out and back again, so the slide moves half as far.",
                semitone: "That is a semitone of twelve, second position.",
                TUBE_LENGTH * 1000 / 31 / 2: "Not an equal share of the tube: it must grow by the ratio 2^(1/31).",
            },
        ),
        hint=f"2^(1/31) is {plain(2 ** (1 / 31), 5)}. How much longer is the tube, and how much of that does the "
        "slide give?",
        worked=f"{plain(TUBE_LENGTH, 2)} m × ({plain(2 ** (1 / 31), 5)} − 1) = {plain(2 * out, 1)} mm of tube, and "
        "the slide "
        f"moves half of that: {plain(out, 1)} mm. Second position, a semitone of twelve, is at {plain(semitone, 1)} "
        "mm. These "
        "are reckoned for a plain tube; bell, mouthpiece and lips move them a little.",
    )


QUESTIONS: dict[int, Callable[[], Question]] = {
    17: _question_17,
    18: _question_18,
    19: _question_19,
    20: _question_20,
    21: _question_21,
    22: _question_22,
    23: _question_23,
    24: _question_24,
}
EXERCISES: dict[int, Callable[[], Exercise]] = {
    17: _exercise_17,
    18: _exercise_18,
    19: _exercise_19,
    20: _exercise_20,
    21: _exercise_21,
    22: _exercise_22,
    23: _exercise_23,
    24: _exercise_24,
}
