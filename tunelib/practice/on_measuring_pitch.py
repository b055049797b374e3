"""Questions and exercises on measuring pitch: cents, the learner's own ear, and a recording against its target.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

import math

from tunelib.hearing import TARGET
from tunelib.pitch import (
    A4_HZ,
    CENTS_PER_OCTAVE,
    Note,
    cents,
    harmonic_series,
    listed,
    nearest_note,
    number_in_words,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.pitch import in_hertz as _hz
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.ear_sounds import broken, heard, in_turn
from tunelib.practice.exercise import Exercise, Question
from tunelib.sound import FIVE_NOTES

# Step 8: cents, a ruler for the ear


def question_8() -> Question:
    low = A4_HZ / 2
    fifth = low * 3 / 2
    tops = {"First": A4_HZ * 3 / 2, "Second": A4_HZ + fifth - low, "Third": A4_HZ * 7 / 4}
    choices = [f"The {name.lower()}, which rises by {_hz(top - A4_HZ)}." for name, top in tops.items()]
    return Question(
        f"Low rises by {_hz(fifth - low)}. The others begin an octave higher. Which of them rises by the same interval "
        "as Low?",
        Choice(
            tuple(choices),
            right=0,
            responses=(
                "Both are a fifth. An octave higher, the same interval takes twice as many hertz.",
                "It does have as many hertz as Low. But sing Low, and then the second: does your voice rise as far?",
                "That is the widest of the three. Sing Low, and then the third: does your voice have to go farther?",
            ),
        ),
        heard(
            "flute",
            {"Low": broken([low, fifth])} | {name: broken([A4_HZ, top]) for name, top in tops.items()},
        ),
    )


_NARROW = 40.0  # cents


def exercise_8() -> Exercise:
    pure = cents("3/2")
    sizes = {"G3": pure, "D4": pure - _NARROW, "B♭3": pure}
    leaps = {low: (Note.parse(low).hz(), Note.parse(low).hz() * ratio_from_cents(size)) for low, size in sizes.items()}
    names = ("First", "Second", "Third")
    wide = [_hz(top - low, 0) for low, top in leaps.values()]
    same = "Sing it, and then the same interval from the lower note of each of the others. Where do you miss the top?"
    return Exercise(
        "Three leaps, each from another note. Two of them have the same number of cents. Which is the odd one out?",
        Choice(
            tuple(f"The {name.lower()}." for name in names),
            right=list(sizes.values()).index(pure - _NARROW),
            responses=(
                f"That is a pure fifth. {same}",
                f"It has {plain(pure - _NARROW, 0)} cents, and each of the others {plain(pure, 0)}.",
                f"That one is a pure fifth as well. {same}",
            ),
        ),
        hint="Each leap ends with its two notes held together. Which pair is the least at rest?",
        worked=f"The second, from D4: {plain(pure - _NARROW, 0)} cents. The others, from G3 and from B♭3, have "
        f"{plain(pure, 0)}, a pure fifth. In hertz, the three are {listed(wide)} wide: the odd one is the widest in "
        "hertz, and the narrowest to the ear.",
        sounds=heard("bowed", dict(zip(names, (broken(leap) for leap in leaps.values()), strict=True))),
    )


def exercise_8_in_numbers() -> Exercise:
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


_SMALLER = {"First": 50.0, "Second": -20.0, "Third": 8.0}  # cents from the first tone of a pair to the second
_SLIGHT = 4.0  # cents


def question_9() -> Question:
    return Question(
        "Three pairs of tones, closer and closer. Which is the closest that practised listeners can still tell apart, "
        "in a quiet room, and say which tone was the higher?",
        Choice(
            ("The first.", "The second.", "The third."),
            right=2,
            responses=(
                f"Those are {plain(_SMALLER['First'])} cents apart, half a semitone: everybody hears that. Practised "
                "ears go on until two tones are many times closer.",
                f"Those are {plain(-_SMALLER['Second'])} cents apart. That is where many begin. A few hours of "
                "practice bring most people well below it.",
                f"Those are {plain(_SMALLER['Third'])} cents apart, and published values are smaller still: about "
                f"{plain(cents(1.002), 0)} to {plain(cents(1.003), 0)} cents. Ears without practice often begin "
                "several times higher; a few hours close most of the gap (Micheyl and others 2006). Whatever yours "
                "turns out to be is where you start from.",
            ),
        ),
        heard(
            "flute",
            {name: in_turn([A4_HZ, A4_HZ * ratio_from_cents(away)]) for name, away in _SMALLER.items()},
        ),
    )


def exercise_9() -> Exercise:
    pairs = {"First": ("B4", _SLIGHT), "Second": ("G4", 0.0), "Third": ("A4", 0.0)}
    tones = {
        name: (Note.parse(low).hz(), Note.parse(low).hz() * ratio_from_cents(away))
        for name, (low, away) in pairs.items()
    }
    below, above = tones["First"]
    again = "Those two are the same note. Listen to the end of each pair: which of them does not keep still?"
    return Exercise(
        "Three pairs, each one tone after the other, and then together. In two of the pairs both tones are the same. "
        "Which pair is it where they are not?",
        Choice(
            tuple(f"The {name.lower()}." for name in pairs),
            right=0,
            responses=(
                f"Only {plain(_SLIGHT)} cents, and together they swell about once a second.",
                again,
                again.replace("Those two", "Those"),
            ),
        ),
        hint="One after the other they may all sound the same. Wait for them to sound together, and remember step 2.",
        worked=f"The first: {_hz(below)} and {_hz(above)}, which is {plain(_SLIGHT)} cents, less than the rule of "
        f"thumb. One after the other you may well miss it. Together they beat, {plain(above - below)} times a second, "
        "and any ear hears that. So check your tuning against a sound, never against your memory of one.",
        sounds=heard("flute", {name: broken(pair, 4) for name, pair in tones.items()}),
    )


def exercise_9_in_numbers() -> Exercise:
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


_PHRASE = ("C4", "E4", "G4", "F4", "D4", "C4")
_HIGH = (24, 27, 25, 23, 26, 25)  # cents above each note of the phrase
_SCATTERED = (0, 27, -28, 25, -24, 0)


def question_10() -> Question:
    played = [note.hertz for note in FIVE_NOTES.played]
    return Question(
        f"{number_in_words(len(played)).capitalize()} notes upwards, from C to G. One of them is flat. Which?",
        Choice(
            ("The third, E.", "The fourth, F.", "The fifth, G."),
            right=1,
            responses=(
                "Sing up to the E, and stop there: it is where you expect it. Go on from it.",
                "That is where the tune sags. How many cents is it flat? Have a guess, before it is measured.",
                "Leave out all but the first and the last: C and G make a good fifth. So look between them.",
            ),
        ),
        heard("reed", {"The take": in_turn(played)}),
    )


def _phrase(away: tuple[int, ...]) -> list[float]:
    """The phrase in hertz, each note so many cents off."""
    return [Note.parse(name).hz() * float(ratio_from_cents(off)) for name, off in zip(_PHRASE, away, strict=True)]


def exercise_10() -> Exercise:
    average = sum(_HIGH) / len(_HIGH)
    farthest = max(abs(off - average) for off in _HIGH)
    misses = [abs(off) for off in _SCATTERED if off]
    return Exercise(
        "A phrase as it is written, and two players who play it. One of them only has to tune the instrument, and all "
        "will be well. Which?",
        Choice(
            ("The first.", "The second.", "Neither."),
            right=1,
            responses=(
                "Sing the phrase from the player's own first note. Do the notes after it fall where you sing them?",
                "All the notes are high, and all by nearly the same. They fit each other.",
                "One of the two plays good intervals, from a start that is too high. Sing along from the first note.",
            ),
        ),
        hint="Do not ask whether the notes are right, but whether they fit each other. Sing along with each player.",
        worked=f"The second. Every note is about {plain(average)} cents sharp, and none more than {plain(farthest)} "
        f"from that average: tune {plain(average)} cents lower, once, and the phrase is in tune. The first begins and "
        f"ends right and is off by {min(misses)} to {max(misses)} cents in between, now sharp, now flat. The average "
        f"of that is {plain(sum(_SCATTERED) / len(_SCATTERED))}, and says nothing.",
        sounds=heard(
            "brass",
            {
                "As written": in_turn(_phrase((0,) * len(_PHRASE)), 0.6),
                "First": in_turn(_phrase(_SCATTERED), 0.6),
                "Second": in_turn(_phrase(_HIGH), 0.6),
            },
        ),
    )


_HEARD_HZ = 293.0
_HEARD_HARMONIC = 5


def exercise_10_in_numbers() -> Exercise:
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
