"""Questions and exercises on meantone: the comma, tempering, the gap, and the circle closed.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise

from tunelib.hearing import beat_rate
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    Interval,
    Note,
    Tuning,
    cents,
    equal,
    home_fraction,
    meantone_chain,
    miss_after,
    plain,
    ratio_from_cents,
    signed,
    tempered_fifth,
)
from tunelib.practice.answers import Choice, Quantity, Ratio
from tunelib.practice.ear_sounds import heard, one_by_one, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played
from tunelib.score import Score

_COMMA = cents("81/80")
_QUARTER = meantone_chain("1/4")
_FIFTH = _QUARTER.fifths[0].cents
_C4_HZ = Note.parse("C4").hz()


def _above(hertz: float, size: float) -> float:
    """The pitch some cents above another."""
    return hertz * float(ratio_from_cents(size))


def _third(fifth: Interval) -> float:
    """Cents of the major third that four fifths make."""
    return 4 * fifth.cents - 2 * CENTS_PER_OCTAVE


# Step 17: four fifths and a third


def question_17() -> Question:
    low = Note.parse("C2").hz()
    climb, top = [low * 1.5**fifths for fifths in range(5)], 4 * low
    leap = [low, 2 * low, top, top * 5 / 4]
    return Question(
        "Two ways from a low C to the E above middle C. First: four pure fifths, C to G to D to A to E. Second: two "
        "octaves, and a pure third. At the end of each you hear that E together with middle C. Is it the same E?",
        Choice(
            ("Yes: the two are the same.", "No: the first is a little lower.", "No: the first is a little higher."),
            right=2,
            responses=(
                "Listen to the two endings only. In one of them something flutters, in the other it is still.",
                "They do differ. Sing the E of the second, hold it, and go to the first: which way must you move?",
                f"By {plain(_COMMA)} cents, about a fifth of a semitone: over a C you hear it flutter. Four pure "
                "fifths lead past the pure third.",
            ),
        ),
        heard(
            "bowed",
            {
                "First": one_by_one([*([hertz] for hertz in climb), [top, climb[-1]]], 1.0),
                "Second": one_by_one([*([hertz] for hertz in leap), [top, leap[-1]]], 1.0),
            },
        ),
    )


def exercise_17() -> Exercise:
    sizes = {"First": cents("5/4"), "Second": _third(tempered_fifth(0)), "Third": float(equal(12).cents_of(4))}
    beats = {name: beat_rate(_C4_HZ, _above(_C4_HZ, size), "5/4") for name, size in sizes.items()}
    return Exercise(
        "Three players hold an E over the same C. One came to it by four pure fifths, one has a piano's E, and one "
        "has tuned it until it was still. Which of them came by fifths?",
        Choice(
            tuple(f"The {name.lower()}." for name in sizes),
            right=1,
            responses=(
                "This one does not flutter at all: it was tuned until it was still.",
                f"It flutters fastest, {plain(beats['Second'], 0)} times a second: a whole comma too high.",
                "This one flutters, but another flutters faster. Which is the highest E of the three?",
            ),
        ),
        hint="How high is each E, and how fast does it flutter? Four pure fifths lead farther than a piano's E.",
        worked=f"The second: {plain(beats['Second'])} beats a second, a comma of {plain(_COMMA)} cents too high. The "
        f"first is pure. The third is a piano's, {plain(beats['Third'])} beats a second: on a piano every fifth is "
        "narrow by a trifle, so that four of them do not lead quite as far.",
        sounds=heard("bowed", {name: together([_C4_HZ, _above(_C4_HZ, size)], 3) for name, size in sizes.items()}),
    )


def exercise_17_in_numbers() -> Exercise:
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
    parts = {"First": Fraction(1, 4), "Second": Fraction(1, 2), "Third": Fraction(0)}
    return Question(
        "Four fifths overshoot the pure third by one comma. So make all the fifths narrower, each by the same amount, "
        "and let thirds and fifths give way together. Three chords of C, from three such tunings. In which has the "
        "third come to rest?",
        Choice(
            tuple(f"The {name.lower()}." for name in parts),
            right=list(parts.values()).index(Fraction(1, 4)),
            responses=(
                f"Each fifth gives a quarter of the comma, {plain(_COMMA / 4)} cents, and four of them the whole. "
                "Such a fifth beats slowly; most ears forgive it for the sake of the thirds.",
                "Its third has come down, but too far: the fifths have given twice what was needed. In which chord is "
                "nothing left but a slow beat?",
                "Its fifth is pure, and does not beat at all. But listen to its third, and then to the other chords.",
            ),
        ),
        heard(
            "bowed",
            {
                name: together([_C4_HZ, *(_above(_C4_HZ, size) for size in (_third(fifth), fifth.cents))], 4)
                for name, fifth in ((name, tempered_fifth(part)) for name, part in parts.items())
            },
        ),
    )


def exercise_18() -> Exercise:
    parts = {"First": Fraction(1, 4), "Second": Fraction(1, 6), "Third": Fraction(1, 3)}
    a = Note.parse("A3").hz()
    sounds = {}
    for name, part in parts.items():
        fifth = tempered_fifth(part)
        c = _above(a, 2 * CENTS_PER_OCTAVE - 3 * fifth.cents)
        sounds[name] = one_by_one([[c, _above(c, _third(fifth))], [a, c]] * 2, 1.6)
    return Exercise(
        "Not everyone wanted the major thirds pure. Three temperings, and in each of them two thirds in turn: major, "
        "C and E, then minor, A and C. In one tempering it is the minor third that is at rest. In which?",
        Choice(
            tuple(f"The {name.lower()}." for name in parts),
            right=list(parts.values()).index(Fraction(1, 3)),
            responses=(
                "In this one the major third is at rest. Listen to the other, A and C: it beats.",
                "In this one both of them beat. Listen to A and C alone.",
                "Its minor third is still, and its major third beats a little: too narrow now.",
            ),
        ),
        hint="Leave the first of the two thirds aside, and listen to the second: A and C. Where does it stop beating?",
        worked="The third: there each fifth gives a third of the comma. A minor third is made of three fifths, taken "
        "downwards, so three shares make it pure. In the first each gives a quarter, and the major third is at rest; "
        "in the second a sixth, and neither is.",
        sounds=heard("bowed", sounds),
    )


def exercise_18_in_numbers() -> Exercise:
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


_TONICS = {"D": 2, "A": -3, "E": 4}  # in keys above middle C
_CADENCE = ((0, 4, 7), (0, 5, 9), (-1, 2, 7), (0, 4, 7))  # its chords: of the tonic, the fourth, the fifth, the tonic


def _cadence(tuning: Tuning, tonic: int) -> Score:
    """A cadence on twelve keys."""
    return one_by_one([[float(tuning.hz(tonic + key)) for key in chord] for chord in _CADENCE], 1.3)


def question_19() -> Question:
    names = ("First", "Second", "Third")
    return Question(
        "An old keyboard has twelve keys to the octave, tuned in quarter-comma fifths from E♭ to G♯. You hear the same "
        "four chords in three keys. In which of them does something go wrong?",
        Choice(
            tuple(f"In the {name.lower()}." for name in names),
            right=2,
            responses=(
                "This is in D major: it needs F♯ and C♯, and both are there. Hear the others.",
                "This is in A major: it needs G♯ as well. It is there, the last of the chain. Hear the others.",
                "This is in E major. Its third chord, B major, needs a D♯, and there is none: the key plays E♭, "
                f"{plain(-miss_after(tempered_fifth('1/4'), 12).miss.cents, 1)} cents higher.",
            ),
        ),
        heard(
            "organ",
            {name: _cadence(_QUARTER.tuning, t) for name, t in zip(names, _TONICS.values(), strict=True)},
        ),
    )


def exercise_19() -> Exercise:
    organ = meantone_chain("1/4", first="A♭")
    low, high = organ.notes[-1], organ.notes[0]
    wolf = organ.closing_fifth.cents
    narrow = f"{plain(cents('3/2') - _FIFTH)} cents narrow"
    no_fifths = {
        f"{one.name} {other.name}": f"{one.name} and {other.name} are no fifth: go seven keys up, black and white."
        for one, other in combinations(organ.notes, 2)
        if (one, other) != (high, low)
    }
    good = {
        f"{lower.name} {upper.name}": f"{lower.name} and {upper.name} make one of the eleven: {narrow}, and it beats "
        "slowly."
        for lower, upper in pairwise(organ.notes)
    }
    return Exercise(
        "Another old organ, with twelve keys as well. Its tuner made eleven quarter-comma fifths, but set out from "
        "another note, so its wolf is somewhere else. A fifth, seven keys up, can be played from each of the twelve: "
        "find by ear the one that nobody tuned, and hold its two notes.",
        Played(
            (low, high),
            organ.tuning,
            slips=no_fifths | good,
            keyboard={"tuning": organ, "layout": "line", "octaves": 2},
        ),
        hint="Play fifth after fifth, and listen: eleven of them beat slowly, and all alike. One howls.",
        worked=f"{low.name} and {high.name}: the chain of this organ goes from {high.name} to {low.name}. What is left "
        f"between its ends is {plain(wolf - cents('3/2'))} cents wider than a pure fifth, more than a third of a "
        "semitone. It is as wide as the wolf between G♯ and E♭: a chain of fifths has one wherever it ends.",
    )


# Step 20: closing the circle


def question_20() -> Question:
    fifth = tempered_fifth("1/4")
    stops = {"First": 19, "Second": 31, "Third": 12}
    misses = {name: miss_after(fifth, count).miss.cents for name, count in stops.items()}
    nearest = min(misses, key=lambda name: abs(misses[name]))
    return Question(
        "You tune quarter-comma fifths upwards from C, and take octaves off as you go. Three times you stop and "
        "compare: C, the note that you have come to, and both together. In which of the three have you come nearest "
        "to home?",
        Choice(
            tuple(f"In the {name.lower()}." for name in stops),
            right=list(stops).index(nearest),
            responses=(
                f"That is after {stops['First']} fifths, {signed(misses['First'])} cents from home. How fast do the "
                "two beat at the end? Is there a slower pair?",
                f"That is after {stops['Second']} fifths, only {plain(abs(misses[nearest]), 0)} cents from home. "
                "Spread over all of them no ear is likely to notice.",
                f"That is after {stops['Third']} fifths, {signed(misses['Third'])} cents from home, though a piano's "
                "fifths would be there. How fast do the two beat at the end? Is there a slower pair?",
            ),
        ),
        heard(
            "bowed",
            {
                name: one_by_one([[_C4_HZ], [_above(_C4_HZ, miss)], [_C4_HZ, _above(_C4_HZ, miss)]], 1.6)
                for name, miss in misses.items()
            },
        ),
    )


def exercise_20() -> Exercise:
    tonic = [Note.parse(name) for name in ("E4", "G♯4", "B4")]
    chords = (
        tonic,
        [Note.parse(name) for name in ("E4", "A4", "C♯5")],
        [Note.parse(name) for name in ("D♯4", "F♯4", "B4")],
        tonic,
    )
    scores = {
        "First": one_by_one([[note.hz(equal(12)) for note in chord] for chord in chords], 1.3),
        "Second": _cadence(_QUARTER.tuning, _TONICS["E"]),
        "Third": one_by_one([[note.hz(THIRTY_ONE) for note in chord] for chord in chords], 1.3),
    }
    return Exercise(
        "The same four chords in E, on three keyboards: the old one with twelve keys, a piano, and one with thirty-one "
        "equal steps. Which has the thirty-one?",
        Choice(
            tuple(f"The {name.lower()}." for name in scores),
            right=list(scores).index("Third"),
            responses=(
                "Nothing howls in it. But listen to the last chord, which is held: its third flutters.",
                "Here the third chord howls: its D♯ is an E♭. That is the old keyboard.",
                "Nothing howls, there is a D♯, and the thirds are all but at rest. Only the fifths beat, slowly.",
            ),
        ),
        hint="In one of them a chord howls. In one the third flutters, plainest in the last chord. In one neither "
        "happens, and there is only a slow beat.",
        worked="The third. The first is a piano: every key is as good as every other, and every third is "
        f"{plain(float(equal(12).cents_of(4)) - cents('5/4'))} cents too wide. The second is the old keyboard, and its "
        "third chord howls. In thirty-one steps every key is as good as every other too, and thirds are "
        f"{plain(float(THIRTY_ONE.cents_of(10)) - cents('5/4'), 1)} cents too wide.",
        sounds=heard("organ", scores),
    )


def exercise_20_in_numbers() -> Exercise:
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
