"""Questions and exercises on harmony in motion: voice leading, drift, and a whole tune.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from tunelib.harmony import Chord
from tunelib.pitch import THIRTY_ONE, Note, cents, equal, plain
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_TWELVE = equal(12)
_COMMA = cents("81/80")


# Step 29: moving by the smallest step


def question_29() -> Question:
    chromatic = Note.named("Eb").interval_to(Note.named("E")).step(THIRTY_ONE)
    diatonic = Note.named("E").interval_to(Note.named("F")).step(THIRTY_ONE)
    return Question(
        "From C major to C minor one voice moves, E to E♭. From C major to F major another one does, E to F. On a "
        "piano both move by a semitone. And in thirty-one?",
        Choice(
            ("Both by the same.", f"E to E♭ by {chromatic} steps, E to F by {diatonic}.", "E to E♭ by more."),
            right=1,
            responses=(
                "A piano cannot tell a chromatic semitone from a diatonic one. Thirty-one can.",
                f"{chromatic} steps, {plain(float(THIRTY_ONE.cents_of(chromatic)), 0)} cents, for a letter altered; "
                f"{diatonic} steps, {plain(float(THIRTY_ONE.cents_of(diatonic)), 0)} cents, from one letter to the "
                "next. And there is a smaller motion yet: one step.",
                "The other way round: a sharp or a flat is smaller than the step from letter to letter.",
            ),
        ),
    )


def exercise_29() -> Exercise:
    old, new = Chord.parse("G7"), Chord.parse("Gharm7")
    minor, harmonic = (chord.notes[3].transpose("-P8") for chord in (old, new))
    third = Chord.parse("C").notes[1]
    steps, plain_steps = (third.interval_to(seventh).step(THIRTY_ONE) for seventh in (harmonic, minor))
    return Exercise(
        f"Going from G7 to C the seventh, {minor.name}, falls to {third.name}: {plain_steps} steps. Give the G its "
        "harmonic seventh instead, one step lower. Play that voice: the harmonic seventh, and the note of C major that "
        "it falls to.",
        Played(
            (harmonic, third),
            THIRTY_ONE,
            in_order=True,
            slips={
                minor.name: "That is the minor seventh of G. The harmonic one is a step lower.",
                third.name: "That is where the voice goes. Where does it come from?",
                f"{harmonic.name} {third.transpose('-m2').name}": "The voice stops sooner, at the third of C major.",
            },
        ),
        hint=f"{minor.name} is {minor.step(THIRTY_ONE)} steps above C, {third.name} {third.step(THIRTY_ONE)}. Where is "
        "the harmonic seventh of G?",
        worked=f"It is {harmonic.name}, which falls to {third.name}: {minor.step(THIRTY_ONE)} − 1 − "
        f"{third.step(THIRTY_ONE)} = {steps} steps, {plain(float(THIRTY_ONE.cents_of(steps)), 0)} cents. The purer "
        "chord also moves more smoothly. It does not always work out so well, and then something has to give.",
    )


# Step 30: going round and coming home


def question_30() -> Question:
    return Question(
        "A choir without accompaniment sings C, A minor, D minor, G, C. A singer whose note comes in two chords "
        "running holds it, and every chord is pure. When they are back on C, where is it?",
        Choice(
            ("Where it was.", f"About {plain(_COMMA, 0)} cents too high.", f"About {plain(_COMMA, 0)} cents too low."),
            right=2,
            responses=(
                "On a keyboard it would be. But nobody hit a key here: each chord was tuned to the one before.",
                "The right size, but the other way. Follow the D: a fourth above A, it is a comma lower than a fifth "
                "above G.",
                f"Down by a syntonic comma, {plain(_COMMA, 1)} cents, and again with each round.",
            ),
        ),
    )


def exercise_30() -> Exercise:
    rounds = 5
    return Exercise(
        f"Each round of that progression falls by a syntonic comma. How many cents flat is the choir after {rounds} "
        "rounds?",
        Quantity(
            rounds * _COMMA,
            "cents",
            tolerance=0.3,
            slips={
                _COMMA: "That is one round.",
                rounds * cents("531441/524288"): "That is with the Pythagorean comma. This one is 81/80.",
                (rounds - 1) * _COMMA: "That is one round short.",
            },
        ),
        hint=f"One comma is {plain(_COMMA, 2)} cents.",
        worked=f"{rounds} × {plain(_COMMA, 2)} = {plain(rounds * _COMMA, 1)} cents: more than a semitone. In twelve "
        "and in thirty-one the comma vanishes, since four of their fifths make a third exactly: they come home. What "
        f"each fifth pays for it, in thirty-one, is {plain(abs(float(THIRTY_ONE.cents_of(18)) - cents('3/2')), 1)} "
        "cents.",
    )


# Step 31: retune a whole tune


def question_31() -> Question:
    return Question(
        "Over a G7 the tune holds an F. The chord would be purer with its harmonic seventh, one step below that F. "
        "What should a good arranger do?",
        Choice(
            (
                "Take the purer seventh all the same.",
                "Keep the minor seventh here.",
                "Leave the seventh out wherever a tune has one.",
            ),
            right=1,
            responses=(
                "Then two notes a diesis apart sound together, and rasp: what the chord gains is lost against "
                "the tune.",
                "The tune comes first. Elsewhere, where the melody leaves it free, the harmonic seventh gets its turn.",
                "That is safe, and dull. It is enough to give way where they meet.",
            ),
        ),
    )


def exercise_31() -> Exercise:
    ways, chords = 10, 6
    return Exercise(
        f"A tune has {chords} chords, and each of them can be played in {ways} ways. How many different ways are there "
        "to play the whole tune?",
        Quantity(
            ways**chords,
            slips={
                ways * chords: "That would be so if only one chord could be chosen. Each choice goes with every other.",
                chords**ways: "The other way round: ten choices, six times.",
                ways ** (chords - 1): "One chord is missing.",
            },
        ),
        hint="Ten for the first; for each of them ten for the second; and so on.",
        worked=f"{ways} to the power of {chords}, or {ways**chords:,}: and a tune of 32 bars has more than there are "
        "grains of sand. Nobody tries them all. For each way to play a chord, all you need is the best way to get "
        "there, so the work grows only in step with the number of chords, and the best path is found all the same.",
    )
