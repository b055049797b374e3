"""Questions and exercises on the thirty-one notes: their map, writing, families, and places under the fingers.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from collections.abc import Iterable

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
from tunelib.practice.ear_sounds import broken, heard, in_turn
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_STEP = CENTS_PER_OCTAVE / 31


def _sounding(names: Iterable[str]) -> list[float]:
    """The hertz of notes by their names with octaves."""
    return [Note.parse(name).hz(THIRTY_ONE) for name in names]


# Step 21: the map of thirty-one


def question_21() -> Question:
    sharp, flat = (Note.parse(name).step(THIRTY_ONE) for name in ("C#4", "Db4"))
    return Question(
        "On a piano C♯ and D♭ are one key. Here you hear C and then C♯; and then C and D♭. Which is higher, C♯ or D♭?",
        Choice(
            ("C♯.", "D♭.", "Neither: they are one note here too."),
            right=1,
            responses=(
                "Sing the last note of each: which is farther from the C? (Where fifths are pure, C♯ is the higher. "
                "Here they are narrow, and seven of them lead up to it, so that it ends lower.)",
                f"C♯ is step {sharp}, D♭ step {flat}: of the five steps from C to D a sharp raises by two, a flat "
                "lowers by two.",
                "Sing the last note of the first, hold it, and press the second. Does it end where you are?",
            ),
        ),
        heard("bowed", {"First": in_turn(_sounding(("C4", "C#4")), 1), "Second": in_turn(_sounding(("C4", "Db4")), 1)}),
    )


def exercise_21() -> Exercise:
    missing = "Db"
    ladder = ("C", "Ch#", "C#", missing, "Dhb", "D")
    left = [name for name in ladder if name != missing]
    before, after = (Note.named(ladder[ladder.index(missing) + way]).name for way in (-1, 1))
    return Exercise(
        "From C up to D there are six notes, with four between. You hear only five of them: one of the four has been "
        "left out. Find it on the ring, and play it.",
        Played(
            (Note.named(missing),),
            THIRTY_ONE,
            slips={
                name: "That one is among the five. Play along with them, and stop where you fall behind."
                for name in left
            }
            | {" ".join(left): "Those are the five that you hear. Which one is missing among them?"},
            keyboard={"layout": "ring"},
        ),
        hint="Between two of them the way is twice as far as between the others. Play along from C, key by key.",
        worked=f"{Note.named(missing).name}. From {before} to {after} is two steps, {plain(2 * _STEP, 1)} cents, and "
        f"everywhere else it is one, {plain(_STEP, 1)}.",
        sounds=heard("flute", {"Five notes": in_turn(_sounding(f"{name}4" for name in left), 0.9)}),
    )


def exercise_21_in_numbers() -> Exercise:
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
    names = {"First": "Ehb4", "Second": "Eb4", "Third": "E4"}
    return Question(
        "Three times C, a note above it, and C again. The note in the middle is once E, once E flat, and once E with "
        "the new sign, half as far down as E flat. Which of them is that?",
        Choice(
            tuple(f"The {name.lower()}." for name in names),
            right=0,
            responses=(
                "It is the one between: E half-flat, a step above E flat and a step below E.",
                "Go from this one to each of the others. They are both higher: it is E flat.",
                "Go from this one to each of the others. They are both lower: it is E.",
            ),
        ),
        heard("clarinet", {name: in_turn(_sounding(("C4", note, "C4")), 0.9) for name, note in names.items()}),
    )


def exercise_22() -> Exercise:
    line = ("G", "A", "Bhb", "G")
    first, *others = (Note.named(name) for name in line)
    odd = Note.named(line[2])
    return Exercise(
        f"You hear four notes. The first is {first.name}. Find the others on the staff, and play all four as you hear "
        "them.",
        Played(
            (first, *others),
            THIRTY_ONE,
            in_order=True,
            slips={
                "G A Bb": "Your third note is flatter than what you hear. Play the line and listen to that note alone.",
                "G A B": "Your third note is sharper than what you hear. Play the line and listen to that note alone.",
            },
            keyboard={"layout": "staff"},
        ),
        hint="Up, up again, and back. Try each note of the staff against what you hear; one of the four has a new "
        "sign.",
        worked=f"{listed(note.name for note in (first, *others))}. {odd.name} is a step above B♭ and a step below B.",
        sounds=heard("flute", {"Four notes": in_turn(_sounding(f"{name}4" for name in line), 0.9)}),
    )


def exercise_22_in_numbers() -> Exercise:
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
    steps = {"Minor": "Eb4", "Major": "E4", "New": "D#4"}
    size, minor = (Note.parse(steps[name]).step(THIRTY_ONE) for name in ("New", "Minor"))
    return Question(
        "You hear a minor third, a major third, and a third that no piano has. Where does the new one belong?",
        Choice(
            ("Between the two.", "Above the major third.", "Below the minor third."),
            right=2,
            responses=(
                "There is one between, but this is another. Sing the upper notes from low to high: in which order do "
                "they come?",
                "There is one above, but this is another. Sing the upper notes from low to high: in which order do "
                "they come?",
                f"It has {size} steps, where the minor third has {minor}. There is one between as well, and one above.",
            ),
        ),
        heard("bowed", {name: broken(_sounding(("C4", upper))) for name, upper in steps.items()}),
    )


def exercise_23() -> Exercise:
    root, steps = Note.parse("C4"), 11
    third = interval_names(steps, THIRTY_ONE)[0]
    families = ("Subminor.", "Minor.", "Neutral.", "Major.", "Supermajor.")
    return Exercise(
        "A third above C. Which family is it of? (The five are marked on the keys above: find it there.)",
        Choice(
            families,
            right=families.index(f"{third.name.split()[0].capitalize()}."),
            responses=(
                "Play D♯ over C, and then press the sound: does it go up, or down?",
                "Play E♭ over C, and then press the sound: does it go up, or down?",
                "Play E half-flat over C, and then press the sound: does it go up, or down?",
                "Nearly. Play E over C, and then press the sound: is it quite the same?",
                f"{steps} steps, a step above the major third.",
            ),
        ),
        hint="Sing a major third over the low note. Does your voice have to go up or down to meet the upper one?",
        worked=f"{third.name.capitalize()}: {root.name} and {root.transpose(third).name}, {steps} steps. The major "
        "third is one step narrower.",
        sounds=heard("reed", {"The third": broken([root.hz(THIRTY_ONE), root.transpose(third).hz(THIRTY_ONE)])}),
    )


def exercise_23_in_numbers() -> Exercise:
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


_SLIDE = 20.0  # millimetres that the finger moves


def question_24() -> Question:
    start = Note.parse("A3").hz(THIRTY_ONE)
    left = {"First": SCALE_LENGTH / 2, "Second": SCALE_LENGTH - _SLIDE}  # of the string, when the finger has moved
    gaps = fret_gaps(31)
    return Question(
        f"A finger moves up a string by {plain(_SLIDE, 0)} mm, once close to the nut, and once near the middle of a "
        "string. Both times it begins on A. Which of the two was near the middle?",
        Choice(
            tuple(f"The {name.lower()}." for name in left),
            right=0,
            responses=(
                "The shorter the string that is left, the more the same move does. So frets crowd together: of "
                f"thirty-one on a guitar the first two are {plain(float(gaps[1]), 0)} mm apart, the last two before "
                f"the octave {plain(float(gaps[30]), 0)}.",
                "Which of them rises more? And where is the same move a larger share of the string that is left?",
            ),
        ),
        heard(
            "plucked",
            {name: in_turn([start, start * (rest + _SLIDE) / rest], 1) for name, rest in left.items()},
        ),
    )


def exercise_24() -> Exercise:
    string, sought = Note.parse("E4"), Note.parse("Ghb4")
    third = string.interval_to(sought)
    return Exercise(
        f"You hear {string.name}, the highest string of a guitar, open, and then a note above it. Find that note on "
        "the neck, and play it.",
        Played(
            (sought,),
            THIRTY_ONE,
            slips={string.name: "That is the open string. Slide up from it until you meet the second note."},
            keyboard={"layout": "fretboard", "player": "guitar"},
        ),
        hint="It is a third, and a narrow one. Go up fret by fret, and press the sound again each time.",
        worked=f"{sought.name}, {third.step(THIRTY_ONE)} steps above {string.name}: a {third.name}. The fret of "
        f"a minor third, {string.transpose('m3').name}, is the next one up.",
        sounds=heard("plucked", {"Two notes": in_turn([string.hz(THIRTY_ONE), sought.hz(THIRTY_ONE)], 1.2)}),
    )


def exercise_24_in_numbers() -> Exercise:
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
