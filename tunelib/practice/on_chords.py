"""Questions and exercises on chords: triads, sevenths, higher chords, and voicing.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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
from tunelib.practice.ear_sounds import broken, heard, in_turn, together
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_TWELVE = equal(12)


_HEARD = {"First": 7, "Second": 9, "Third": 11}  # harmonics


def _hertz(chord: Chord, octave: int = 0) -> list[float]:
    """The notes of a chord above middle C, so many octaves from there."""
    return [note.hz(THIRTY_ONE) * 2.0**octave for note in chord.notes]


def _low(chord: Chord) -> list[float]:
    """The notes of a chord above the C below middle C."""
    return _hertz(chord, -1)


def _opened(chord: Chord) -> list[float]:
    """The same above middle C with the third an octave higher, as pianists open a chord."""
    root, third, *others = _hertz(chord)
    return [root, *others, 2 * third]


def _numbers(symbol: str) -> str:
    return ":".join(map(str, whole_numbers(Chord.parse(symbol).ratios(THIRTY_ONE))))


# Step 25: five thirds, five triads


def question_25() -> Question:
    major, neutral, minor = (Chord.parse(symbol) for symbol in ("C", "Cneu", "Cm"))
    third = neutral.steps(THIRTY_ONE)[1]
    return Question(
        "Three chords with the same root and the same fifth. Two of them are a major triad and a minor one, as good as "
        "pure. Which one is neither?",
        Choice(
            ("The first.", "The second.", "The third."),
            right=1,
            responses=(
                f"That is the major triad, {_numbers(major.symbol)}. Is there one with a darker middle note, and one "
                "darker still?",
                f"Its middle note has {third} steps, midway between minor and major. The chord is "
                f"{_numbers(neutral.symbol)}: larger numbers, so fewer of its harmonics meet.",
                f"That is the minor triad, {_numbers(minor.symbol)}. Is there one with a brighter middle note, and one "
                "brighter still?",
            ),
        ),
        heard(
            "reed",
            {name: broken(_hertz(chord)) for name, chord in (("First", major), ("Second", neutral), ("Third", minor))},
        ),
    )


def exercise_25() -> Exercise:
    chord = Chord.parse("Csup")
    steps = chord.steps(THIRTY_ONE)
    return Exercise(
        "A triad, one note after another and then all together. Play it, on whichever root you like.",
        Played(
            chord.notes,
            THIRTY_ONE,
            anywhere=True,
            slips={
                "C": "One note so far. Play all three together.",
                "C G": "Root and fifth are right. Lay each of the five thirds between them, and compare.",
                "C E G": "That is the major triad. Hear it again: its third is wider than yours.",
                "C Ehb G": "That is the neutral triad. Hear it again: its third is wider than yours, and the chord "
                "brighter.",
                "C Eb G": "That is the minor triad. Hear it again: is it dark, or bright?",
                f"0 7 {steps[2]}": "That is the subminor triad, the darkest of the five. Hear it again: is it dark, or "
                "bright?",
            },
        ),
        hint="Is its third wider than major, or narrower than minor? Latch the root and the fifth, and try the thirds "
        "between them one by one.",
        worked=f"Its third is the supermajor one, {steps[1]} steps, a step wider than major. On C the triad is "
        f"{listed(note.name for note in chord.notes)}, written {chord.symbol} here: {_numbers(chord.symbol)}. What is "
        f"left of the fifth above it has {steps[2] - steps[1]} steps, a subminor third. In "
        f"{_numbers('Csub')} the two swap places.",
        sounds=heard("reed", {"The triad": broken(_hertz(chord.on(Note.named("D"))))}),
    )


def exercise_25_in_numbers() -> Exercise:
    chord = Chord.parse("Csup")
    third = chord.ratios(THIRTY_ONE)[1]
    steps = chord.steps(THIRTY_ONE)
    return Exercise(
        f"A triad stands for the chord {_numbers('Csup')}. How many steps of thirty-one has the lower of its two "
        "thirds?",
        Quantity(
            steps[1],
            "steps",
            slips={
                steps[2] - steps[1]: "That is the upper one, 21 to 18. What is 18 to 14?",
                steps[2]: "That is the whole fifth, 21 to 14. What is 18 to 14?",
                Chord.parse("C").steps(THIRTY_ONE)[1]: "That is the major third, 5/4. What is 18 to 14?",
            },
        ),
        hint=f"18/14 is {third}. How many cents is that, and how many steps of {plain(CENTS_PER_OCTAVE / 31, 2)} "
        "cents?",
        worked=f"18/14 = {third}, {plain(cents(third), 1)} cents; {steps[1]} steps are "
        f"{plain(float(THIRTY_ONE.cents_of(steps[1])), 1)}. The upper third, 21/18 = 7/6, is a subminor one.",
    )


# Step 26: sevenths, and the seventh harmonic


def question_26() -> Question:
    both = locked, shimmering = Chord.parse("Charm7"), Chord.parse("C7")
    beats = {chord: abs(float(beat_rate(low[0], low[3], "7/4"))) for chord, low in ((c, _low(c)) for c in both)}
    return Question(
        "Two seventh chords on the same root, in thirty-one steps. Their sevenths are one step apart. One of the two "
        "rings almost like a single note, and could be the end of a piece. Which?",
        Choice(
            ("The first.", "The second.", "Neither: both shimmer."),
            right=0,
            responses=(
                f"Its seventh is the seventh harmonic, almost: against the root it beats "
                f"{plain(beats[locked])} times a second, and in the other chord {plain(beats[shimmering], 0)} times.",
                f"Listen to the top note: against the root it beats {plain(beats[shimmering], 0)} times a second. That "
                "wants to go on.",
                "Hold one, and then the other. In one of them the quick shimmer is gone.",
            ),
        ),
        heard("reed", {"First": together(_low(locked), 4), "Second": together(_low(shimmering), 4)}),
    )


def exercise_26() -> Exercise:
    kinds = {"First": "Cm7b5", "Second": "Csubharm7bhb5", "Third": "Cm7bhb5"}
    chords = {name: Chord.parse(symbol) for name, symbol in kinds.items()}
    off = {name: plain(chord.purity(THIRTY_ONE)) for name, chord in chords.items()}
    calm = "Second"
    return Exercise(
        "The same half-diminished chord three times, each time tuned in another way. Which is the calmest?",
        Choice(
            tuple(f"The {name.lower()}." for name in kinds),
            right=list(kinds).index(calm),
            responses=(
                "That is the chord as it is spelled. Listen for what is restless in it, and whether another has less "
                "of it.",
                f"All its pairs are simple ones: {_numbers(kinds[calm])}, {off[calm]} cents off.",
                "That one has the fifth a step lower, and the third as it is spelled. Is there still one that swells "
                "less?",
            ),
        ),
        hint="Go from each to the next and back. In one of them less swells and rasps. Tick Hold, and take your time.",
        worked=f"The {calm.lower()}. It is {_numbers(kinds[calm])}, the chord 4:5:6:7 upside down, and {off[calm]} "
        f"cents off on the whole. The first, as it is spelled, is {_numbers(kinds['First'])} and {off['First']} off; "
        f"the third is {_numbers(kinds['Third'])} and {off['Third']} off. Its notes are the upper ones of a ninth "
        "chord.",
        sounds=heard("reed", {name: together(_opened(chord), 4) for name, chord in chords.items()}),
    )


def exercise_26_in_numbers() -> Exercise:
    root = 100.0
    seventh = root * ratio_from_cents(float(THIRTY_ONE.cents_of(26)))
    rate = float(beat_rate(root, seventh, "7/4"))
    harmonic = float(beat_rate(root, root * ratio_from_cents(float(THIRTY_ONE.cents_of(25))), "7/4"))
    return Exercise(
        f"In thirty-one, a C7 on a root of {plain(root)} Hz has its seventh, 26 steps up, at {plain(seventh, 2)} Hz. "
        "How many times a second do harmonic 7 of the root and harmonic 4 of the seventh beat? One decimal is enough.",
        Quantity(
            rate,
            "beats a second",
            tolerance=0.15,
            down=True,
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
        f"{plain(harmonic)}: a slow beat, {plain(1 / harmonic)} seconds long. One step decides whether the chord "
        "shimmers or locks.",
    )


# Step 27: higher


def question_27() -> Question:
    low = Note.parse("C2").hz(THIRTY_ONE)
    series = harmonic_deviations(_TWELVE, 11)
    pairs = {name: (low * n, low * n * ratio_from_cents(float(series.error[n - 1]))) for name, n in _HEARD.items()}
    off = {n: plain(abs(float(series.error[n - 1])), 0) for n in _HEARD.values()}
    nearest = plain(abs(float(harmonic_deviations(THIRTY_ONE, 11).error[-1])), 0)
    return Question(
        "Harmonics 7, 9 and 11 of a low C, one in each pair. You hear the harmonic, the key of a piano that is nearest "
        "to it, and both again. In which pair are the two farthest apart?",
        Choice(
            tuple(f"In the {name.lower()}." for name in _HEARD),
            right=2,
            responses=(
                f"That is harmonic 7, {off[7]} cents from its key. Far; but one of the others is farther.",
                f"That is harmonic 9, {off[9]} cents from its key: two fifths up. Can you hear any difference there?",
                f"That is harmonic 11, just about halfway between two keys: {off[11]} cents from this one. In "
                f"thirty-one it is {nearest} cents from the nearest step.",
            ),
        ),
        heard("flute", {name: in_turn([*pair, *pair], 0.9) for name, pair in pairs.items()}),
    )


def exercise_27() -> Exercise:
    root = Note.named("G")
    chord = Chord.from_ratios("4:5:6:7:9:11", root, THIRTY_ONE)
    on_c = chord.on(Note.named("C")).steps(THIRTY_ONE)
    up = root.step(THIRTY_ONE)
    notes = [note.name for note in chord.notes]
    minor = root.transpose("m7").name

    def with_eleventh(name: str) -> str:
        return " ".join([*notes[:-1], name])

    return Exercise(
        f"You played 4:5:6:7:9:11 on C. Play the whole of it on {root.name}, six notes, in whichever octaves you can "
        "reach.",
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
        hint=f"On C the steps are {listed(map(str, on_c))}. {root.name} is {up} steps higher, and so is every other "
        f"note. Or begin with the triad on {root.name}, which you know by its letters.",
        worked=f"{up} steps above those on C: {listed(notes)}. In a symbol it is {chord.symbol}. The seventh, "
        f"{notes[3]}, is one step below {minor}; the eleventh, {notes[-1]}, is one step above the fourth and one below "
        "the augmented fourth.",
    )


def exercise_27_in_numbers() -> Exercise:
    target = cents("11/8")
    step, error = THIRTY_ONE.nearest(target)
    return Exercise(
        f"Harmonic 11 over a root three octaves below it is 11/8, {plain(target, 1)} cents. How many steps of "
        "thirty-one come nearest to it?",
        Quantity(
            step,
            "steps",
            slips={
                step - 1: "That is the fourth. Harmonic 11 is one step higher.",
                step + 1: "That is the augmented fourth. Harmonic 11 is one step lower.",
                round(target / 100): "Those would be semitones of twelve. A step of thirty-one is smaller.",
            },
        ),
        hint=f"Divide by the {plain(CENTS_PER_OCTAVE / 31, 4)} cents of a step, and round.",
        worked=f"{plain(target, 1)} ÷ {plain(CENTS_PER_OCTAVE / 31, 4)} = {plain(target * 31 / CENTS_PER_OCTAVE, 2)}, "
        f"so step {step}, {signed(error, 1)} cents: over C it is F½♯, and in a symbol h#11.",
    )


# Step 28: voicing


def question_28() -> Question:
    root = Note.parse("C3").hz(THIRTY_ONE)
    spread, close = (0, 28, 41, 49), (0, 10, 18, 28)

    def laid(steps: tuple[int, ...], octave: int = 0) -> list[float]:
        return [root * 2**octave * ratio_from_cents(float(THIRTY_ONE.cents_of(step))) for step in steps]

    return Question(
        "Three times the notes C, E, G and B. In two of the chords they are within an octave; in one they are spread "
        "over almost two. Which?",
        Choice(
            ("The first.", "The second.", "The third."),
            right=0,
            responses=(
                "Its lowest note is as low as in the second, and still it does not growl: the next note is almost an "
                "octave away.",
                "That one growls: its notes are thirds, low down. There a third is narrower than a critical band "
                "(step 13), and its partials rasp.",
                "It is clear. But is that because it is spread, or because it is high? Hum its lowest note, and then "
                "its highest: is that more than an octave?",
            ),
        ),
        heard(
            "reed",
            {
                "First": together(laid(spread), 3),
                "Second": together(laid(close), 3),
                "Third": together(laid(close, 1), 3),
            },
        ),
    )


def exercise_28() -> Exercise:
    close = tuple(map(Note.parse, ("C4", "E4", "G4", "A#4")))
    turned = (*close[1:], close[0].transpose("P8"))
    first, second = _drop_two(close), _drop_two(turned)
    minor = Note.parse("Bb3")
    third = (turned[1].transpose("-P8"), turned[0], *turned[2:])
    return Exercise(
        f"A close voicing of Charm7 is {listed(map(str, close))}. The first chord that you hear is its drop 2: "
        f"{listed(map(str, first))}. The second has the same notes, and is a drop 2 as well. Play it as you hear it.",
        Played(
            (second[-1], *second[:-1]),
            THIRTY_ONE,
            exact=True,
            slips={
                _typed(first): "That is the first chord. Hum the top note of each: which way does it go?",
                _typed(close): "That is the close voicing. Nothing is dropped yet, and the top note is another.",
                _typed(turned): "The top note is right, and these are the notes. But one of them sounds lower than "
                "that: the hand is too close.",
                _typed(third): "The third note from the top is dropped, which is called drop 3. Hum the lowest note "
                "that you hear.",
                _typed((minor, *second[1:])): f"{minor.name} is the minor seventh. Put the sound beside it: the one "
                "that you hear is a step lower.",
            },
            keyboard={"lowest": "C3", "octaves": 2},
        ),
        hint=f"Hum the top note: it is {second[-1].name}. Which close voicing has {second[-1].name} on top? Drop the "
        "second note from the top of that one.",
        worked=f"With {second[-1].name} on top the close voicing is {listed(map(str, turned))}: the chord, turned "
        f"once. Its second note from the top, {turned[-2]}, goes down to {second[0]}, and the voicing is "
        f"{listed(map(str, second))}. From the first chord to the second every voice goes up to the next note of the "
        "chord. Go on like that, and you have all four.",
        sounds=heard("reed", {"First": together(_sounding(first), 3), "Second": together(_sounding(second), 3)}),
    )


def _drop_two(close: Sequence[Note]) -> tuple[Note, ...]:
    """A close voicing with its second note from the top an octave lower."""
    return (close[-2].transpose("-P8"), *close[:-2], close[-1])


def _typed(notes: Iterable[Note]) -> str:
    return " ".join(map(str, notes))


def _sounding(notes: Iterable[Note]) -> list[float]:
    return [note.hz(THIRTY_ONE) for note in notes]
