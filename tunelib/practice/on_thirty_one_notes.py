"""Questions and exercises on the thirty-one notes: their map, writing, families, and places under the fingers.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

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
    interval_names,
    listed,
    plain,
    signed,
    slide_distance,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_STEP = CENTS_PER_OCTAVE / 31


# Step 21: the map of thirty-one


def question_21() -> Question:
    sharp, flat = (Note.parse(name).step(THIRTY_ONE) for name in ("C#4", "Db4"))
    return Question(
        "On a piano C♯ and D♭ are one key. Among the thirty-one they are two notes. Which is higher?",
        Choice(
            ("C♯.", "D♭.", "That depends on the key."),
            right=1,
            responses=(
                "That is so where fifths are pure. But here fifths are narrow, and seven of them lead up to C♯: it "
                "ends lower.",
                f"C♯ is step {sharp}, D♭ step {flat}: of the five steps from C to D a sharp raises by two, a flat "
                "lowers by two.",
                "Players may shade a note. The map does not move: a sharp is two steps up, a flat two steps down.",
            ),
        ),
    )


def exercise_21() -> Exercise:
    first, count = Note.named("G#"), 4
    fifth = first.interval_to(first.transpose("P5")).step(THIRTY_ONE)
    notes = [first]
    for _ in range(count):
        notes.append(notes[-1].transpose("P5"))
    last = notes[-1].step(THIRTY_ONE) % 31
    return Exercise(
        f"On a piano four fifths up from G♯ lead round to C. Do it here, where a fifth up is {fifth} steps, or "
        f"{31 - fifth} down: play G♯ and then the four fifths, one after another, in whichever octaves you like.",
        Played(
            tuple(notes),
            THIRTY_ONE,
            in_order=True,
            slips={
                "G# Eb": f"E♭ is a step above the fifth. Count {fifth} up from G♯, or {31 - fifth} down.",
                "Ab": "A♭ is the next key up. Begin on G♯.",
            },
        ),
        hint=f"G♯ is step {first.step(THIRTY_ONE)} from C. Add {fifth}, and take off 31 when you are past the octave.",
        worked=f"The steps are {listed(note.step(THIRTY_ONE) % 31 for note in notes)}: "
        f"{listed(note.name for note in notes)}. {notes[-1].name} is "
        f"{plain(float(THIRTY_ONE.cents_of(last)), 1)} cents above a C, {plain(_STEP, 1)} short of the next "
        "one: a step. Going on in this way you meet every one of the thirty-one before you are back.",
    )


# Step 22: writing and reading


def question_22() -> Question:
    step = Note.named("Ehb").step(THIRTY_ONE)
    double = Note.named("Dx")
    return Question(
        "The sign of a half-flat lowers a note by one step of thirty-one. E half-flat has another name, along the "
        "chain of fifths. Which?",
        Choice(
            ("D double sharp.", "E double flat.", "F flat."),
            right=0,
            responses=(
                f"D is step {Note.named('D').step(THIRTY_ONE)}, and two sharps are four steps: "
                f"{double.step(THIRTY_ONE)}. E is step {Note.named('E').step(THIRTY_ONE)}, less one: {step}. One "
                "sound, two ways to write it.",
                f"E double flat is four steps below E, step {Note.named('Ebb').step(THIRTY_ONE)}; a half-flat is one.",
                f"F flat is step {Note.named('Fb').step(THIRTY_ONE)}, above E. In thirty-one it is a note of its own.",
            ),
        ),
    )


def exercise_22() -> Exercise:
    written = Note.named("Dh#")
    sounding = written.transpose("-M2")
    tone = Note.named("D").step(THIRTY_ONE)
    answer = sounding.step(THIRTY_ONE)
    return Exercise(
        f"A trumpet in B♭ sounds a major second, {tone} steps, below what it reads. It reads {written.name}. Play the "
        "note that sounds.",
        Played(
            (sounding,),
            THIRTY_ONE,
            slips={
                written.name: "That is the note as it is written. The trumpet sounds lower.",
                written.transpose("M2").name: "That is a major second higher. The trumpet sounds lower.",
                str(answer + 1): f"A major second is {tone} steps here, as from C to D.",
            },
        ),
        hint=f"D is step {tone}; a half-sharp adds one. Then go down {tone}.",
        worked=f"{written.name} is step {written.step(THIRTY_ONE)}, less {tone} is {answer}: {sounding.name}. Parts "
        "for transposing instruments are moved by the name of the interval, so letters and signs stay readable.",
    )


# Step 23: families of intervals


def question_23() -> Question:
    sizes = {step: float(THIRTY_ONE.cents_of(step)) for step in (8, 9, 10)}
    return Question(
        f"A minor third has 8 steps, a major third 10. Between them is a third of 9 steps, {plain(sizes[9], 1)} cents, "
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


def exercise_23() -> Exercise:
    root, steps = Note.named("A"), (7, 9, 11)
    thirds = [interval_names(step, THIRTY_ONE)[0] for step in steps]
    subminor = steps[0]
    size, target = float(THIRTY_ONE.cents_of(subminor)), cents(STANDS_FOR[subminor])
    other = interval_names(subminor, THIRTY_ONE)[1].name
    return Exercise(
        f"Play {root.name}, and then the three thirds above it that no piano has, from the narrowest: "
        f"{listed(third.name for third in thirds)}.",
        Played(
            (root, *(root.transpose(third) for third in thirds)),
            THIRTY_ONE,
            in_order=True,
            slips={
                "A C": "A to C is the minor third, 8 steps. The subminor one is a step narrower.",
                "C": f"The thirds are to be above {root.name}: begin with that.",
            },
        ),
        hint=f"{root.name} to C is a minor third, 8 steps. The families are a step apart: subminor, minor, neutral, "
        "major, supermajor.",
        worked=f"They are {listed(map(str, steps))} steps: {root.name}, "
        f"{listed(root.transpose(third).name for third in thirds)}. The {thirds[0].name} stands for "
        f"{STANDS_FOR[subminor]}: {plain(size, 2)} − {plain(target, 2)} = {signed(size - target, 2)} cents, where a "
        f"piano's third of 300 cents is {signed(300 - target, 1)} cents off. Where the spelling asks for it, the same "
        f"{subminor} steps are written as an {other}.",
    )


# Step 24: under the fingers


def question_24() -> Question:
    gaps, common = fret_gaps(31), fret_gaps(12)
    first, last = float(gaps[0]), float(gaps[30])
    return Question(
        f"A guitar of {plain(SCALE_LENGTH)} mm gets thirty-one frets to the octave. How far apart are the last two "
        "before the octave?",
        Choice(
            (f"About {plain(last, 0)} mm.", f"About {plain(first, 0)} mm.", f"About {plain(float(common[11]), 0)} mm."),
            right=0,
            responses=(
                f"{plain(last, 2)} mm: less than a fingertip needs. High up you play with the tip, or leave frets out.",
                "That is the first fret's distance from the nut. The frets get closer together as you go up.",
                "That is the last gap before the octave in twelve.",
            ),
        ),
    )


def exercise_24() -> Exercise:
    out = float(np.asarray(slide_distance(_STEP, TUBE_LENGTH)))
    semitone = float(np.asarray(slide_distance(100.0, TUBE_LENGTH)))
    return Exercise(
        f"A trombone's tube counts as {plain(TUBE_LENGTH, 2)} m long in first position. One step of thirty-one lower, "
        "the tube must be 2^(1/31) times as long. How far does the slide move out? Give millimetres.",
        Quantity(
            out,
            "mm",
            tolerance=0.25,
            slips={
                2 * out: "The tube grows by that much. But it runs out and back again, so the slide moves half as far.",
                semitone: "That is a semitone of twelve, second position.",
                TUBE_LENGTH * 1000 / 31 / 2: "Do not share the tube equally: it must grow by the ratio 2^(1/31).",
            },
        ),
        hint=f"2^(1/31) is {plain(2 ** (1 / 31), 5)}. How much longer is the tube, and how far does the slide "
        "move for that?",
        worked=f"{plain(TUBE_LENGTH, 2)} m × ({plain(2 ** (1 / 31), 5)} − 1) = {plain(2 * out, 1)} mm of tube, and the "
        f"slide moves half of that: {plain(out, 1)} mm. Second position, a semitone of twelve, is at "
        f"{plain(semitone, 1)} mm. These are worked out for an ideal tube; bell, mouthpiece and lips move them a "
        "little.",
    )
