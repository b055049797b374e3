"""Questions and exercises on chords: triads, sevenths, higher chords, and voicing.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from tunelib.harmony import Chord, whole_numbers
from tunelib.hearing import beat_rate
from tunelib.pitch import (
    CENTS_PER_OCTAVE,
    THIRTY_ONE,
    Note,
    cents,
    equal,
    harmonic_deviations,
    listed,
    plain,
    ratio_from_cents,
    signed,
)
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_TWELVE = equal(12)


def _numbers(symbol: str) -> str:
    return ":".join(map(str, whole_numbers(Chord.parse(symbol).ratios(THIRTY_ONE))))


# Step 25: five thirds, five triads


def question_25() -> Question:
    return Question(
        "C to G is a fifth. You may put one note between them, 7, 8, 9, 10 or 11 steps above the C. On which of these "
        "do the partials of the three notes get least in each other's way?",
        Choice(
            ("On 9, in the middle.", "On 10.", "On 11, the widest."),
            right=1,
            responses=(
                f"In the middle, yes, but its chord is {_numbers('Cneu')}: few of its harmonics meet.",
                f"That is the major third, and the chord {_numbers('C')}: small numbers, so harmonics meet early and "
                "often.",
                f"Its chord is {_numbers('Csup')}. It has a charm of its own, and more roughness.",
            ),
        ),
    )


def exercise_25() -> Exercise:
    chord = Chord.parse("Csup")
    third = chord.ratios(THIRTY_ONE)[1]
    steps = chord.steps(THIRTY_ONE)[1]
    return Exercise(
        f"A triad stands for the chord {_numbers('Csup')}. Play it, on whichever root you like.",
        Played(
            chord.notes,
            THIRTY_ONE,
            anywhere=True,
            slips={
                "C E G": f"That is the major triad, {_numbers('C')}. What is 18 to 14?",
                "C Ehb G": f"That is the neutral triad, {_numbers('Cneu')}. What is 18 to 14?",
                "C Eb G": f"That is the minor triad, {_numbers('Cm')}. What is 18 to 14?",
                f"0 7 {chord.steps(THIRTY_ONE)[2]}": f"That is {_numbers('Csub')}: the two thirds have changed places.",
            },
        ),
        hint=f"18/14 is {third}. How many cents is that, and how many steps of {plain(CENTS_PER_OCTAVE / 31, 2)} "
        "cents?",
        worked=f"18/14 = {third}, {plain(cents(third), 1)} cents; {steps} steps are "
        f"{plain(float(THIRTY_ONE.cents_of(steps)), 1)}. On C the triad is "
        f"{listed(note.name for note in chord.notes)}. Its third is the supermajor one, and the "
        f"chord is written {chord.symbol} here. The upper third, 21/18 = 7/6, is a subminor one: "
        f"the two swap places in {_numbers('Csub')}.",
    )


# Step 26: sevenths, and the seventh harmonic


def question_26() -> Question:
    away = -float(harmonic_deviations(_TWELVE, 7).error[-1])
    minor = float(THIRTY_ONE.cents_of(26)) - cents("7/4")
    harmonic = float(THIRTY_ONE.cents_of(25)) - cents("7/4")
    return Question(
        "Harmonics 4, 5, 6 and 7 of one note make a chord that players call a dominant seventh. How far is the seventh "
        "of a piano from the seventh harmonic?",
        Choice(
            (
                f"About {plain(abs(away), 0)} cents too high.",
                f"About {plain(abs(harmonic), 0)} cent too low.",
                "It is the same note.",
            ),
            right=0,
            responses=(
                f"Nearly a third of a semitone. In thirty-one the minor seventh of 26 steps is {plain(minor, 0)} cents "
                f"too high, but 25 steps are within {plain(abs(harmonic), 1)}.",
                "That is what 25 steps of thirty-one come to. The piano does far worse.",
                "It has the same name, but that is all: listen to the two, one after the other.",
            ),
        ),
    )


def exercise_26() -> Exercise:
    root = 100.0
    seventh = root * ratio_from_cents(float(THIRTY_ONE.cents_of(26)))
    rate = float(beat_rate(root, seventh, "7/4"))
    harmonic = float(beat_rate(root, root * ratio_from_cents(float(THIRTY_ONE.cents_of(25))), "7/4"))
    return Exercise(
        f"In thirty-one, a C7 on a root of {plain(root)} Hz has its seventh, 26 steps up, at {plain(seventh, 2)} Hz. "
        "How many times a second do harmonic 7 of the root and harmonic 4 of the seventh beat?",
        Quantity(
            rate,
            "beats a second",
            tolerance=0.15,
            slips={
                seventh - root: "That is how far apart the notes are. Take harmonic 7 of one and 4 of the other.",
                7 * seventh - 4 * root: "The other way round: seven times the lower, four times the upper.",
                rate / 4: "Beats come as often as the two harmonics are apart: count four times.",
                harmonic: "That is for 25 steps, the harmonic seventh.",
            },
        ),
        hint=f"7 × {plain(root)} and 4 × {plain(seventh, 2)}: how far apart are they?",
        worked=f"4 × {plain(seventh, 2)} = {plain(4 * seventh, 1)}, and 7 × {plain(root)} = {plain(7 * root)}: "
        f"{plain(rate)} beats a second, too fast to count. With the harmonic seventh, 25 steps, there are "
        f"{plain(harmonic)}: one slow beat in two seconds. One step decides whether the chord shimmers or locks.",
    )


# Step 27: higher


def question_27() -> Question:
    def off(n: int, division: int) -> float:
        return -float(harmonic_deviations(equal(division), n).error[-1])

    return Question(
        "Stack harmonics 4, 5, 6, 7, 9 and 11 into one chord. Which of them is farthest from any key of a piano?",
        Choice(
            ("Harmonic 7.", "Harmonic 9.", "Harmonic 11."),
            right=2,
            responses=(
                f"It is far off, {plain(abs(off(7, 12)), 0)} cents, but another is farther off.",
                f"It is within {plain(abs(off(9, 12)), 0)} cents: two fifths up.",
                f"Just about halfway between two keys, {plain(abs(off(11, 12)), 0)} cents from one. In thirty-one it "
                f"is {plain(abs(off(11, 31)), 0)} cents from the nearest step.",
            ),
        ),
    )


def exercise_27() -> Exercise:
    root = Note.named("G")
    chord = Chord.from_ratios("4:5:6:7:9:11", root, THIRTY_ONE)
    target = cents("11/8")
    step, error = THIRTY_ONE.nearest(target)
    notes = [note.name for note in chord.notes]
    minor = root.transpose("m7").name

    def with_eleventh(name: str) -> str:
        return " ".join([*notes[:-1], name])

    return Exercise(
        f"The chord above is on C. Play the whole of it on {root.name}: 4:5:6:7:9:11, six notes, in whichever octaves "
        "you can reach.",
        Played(
            chord.notes,
            THIRTY_ONE,
            slips={
                " ".join(
                    [*notes[:3], minor, *notes[4:]]
                ): f"{minor} is the minor seventh. Harmonic 7 is one step lower.",
                with_eleventh(root.transpose("P4").name): "Your eleventh is a fourth above the root. Harmonic 11 is "
                "one step higher.",
                with_eleventh(root.transpose("A4").name): "Your eleventh is an augmented fourth above the root. "
                "Harmonic 11 is one step lower.",
            },
        ),
        hint=f"Harmonic 11 is 11/8 over a root three octaves below it, {plain(target, 1)} cents: divide by "
        f"{plain(CENTS_PER_OCTAVE / 31, 4)}, and round. Harmonic 7 is 25 steps up.",
        worked=f"{plain(target, 1)} ÷ {plain(CENTS_PER_OCTAVE / 31, 4)} = {plain(target * 31 / CENTS_PER_OCTAVE, 2)}, "
        f"so step {step}, {signed(error, 1)} cents: over {root.name} it is {notes[-1]}, and in a symbol h#11. It is "
        f"one step above the fourth and one below the augmented fourth. The whole chord, {chord.symbol}, is "
        f"{listed(notes)}.",
    )


# Step 28: voicing


def question_28() -> Question:
    return Question(
        "A close C major triad sounds smooth in the middle of a keyboard. You play the same three notes two octaves "
        "lower. What happens to its roughness?",
        Choice(
            ("It grows.", "It stays: the ratios are the same.", "It falls: low notes are softer."),
            right=0,
            responses=(
                "Down there a third is narrower than a critical band, and its partials rasp. So low chords are spread, "
                "with an octave, a fifth or a tenth at the bottom.",
                "The ratios are the same, and so are the beats for each hertz. But the ear's bands are wider, in "
                "cents, for low notes (step 13).",
                "Softer or not, in hertz they are closer together, too close for the ear to separate.",
            ),
        ),
    )


def exercise_28() -> Exercise:
    chord = Chord.parse("Cmaj7")
    second = chord.notes[2]
    dropped = second.transpose("-P8")
    voicing = (dropped, *chord.notes[:2], chord.notes[3])
    return Exercise(
        f"A close voicing of {chord.symbol} is {', '.join(map(str, chord.notes))}. Drop the second note from "
        "the top by an octave, and play the chord that this makes.",
        Played(
            voicing,
            THIRTY_ONE,
            exact=True,
            slips={
                " ".join(map(str, chord.notes)): "That is the close voicing, before anything is dropped.",
                f"{chord.notes[1].transpose('-P8')} {chord.notes[0]} {second} {chord.notes[3]}": "That is the third "
                "note from the top, and the voicing is called drop 3. Drop the second.",
                f"{chord.notes[3].transpose('-P8')} {' '.join(map(str, chord.notes[:3]))}": "That is the top note. "
                "Drop the second from the top.",
            },
            keyboard={"lowest": str(chord.notes[0].transpose("-P8")), "octaves": 2},
        ),
        hint=f"The second from the top is the {second.letter}.",
        worked=f"{second} becomes {dropped}: the voicing is {', '.join(map(str, voicing))}, called drop 2. What was a "
        "row of thirds is now a fourth, a third and a fifth: wider below, and clearer.",
    )
