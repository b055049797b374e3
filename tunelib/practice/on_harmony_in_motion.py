"""Questions and exercises on harmony in motion: voice leading, drift, and a whole tune.

Every number that a learner reads here is worked out by the library, so that words and sounds cannot disagree.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from tunelib.exhibits import EXHIBITS
from tunelib.harmony import PROGRESSIONS, TUNED_BLUES, Chord
from tunelib.pitch import THIRTY_ONE, Note, cents, listed, plain, times
from tunelib.practice.answers import Choice, Quantity
from tunelib.practice.ear_sounds import EarSound, heard, in_turn, one_by_one
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played

_COMMA = cents("81/80")


def _shown(name: str, exhibit: str, **values: Any) -> EarSound:
    """What an exhibit sounds like with its knobs set so."""
    show = EXHIBITS[exhibit]
    settled = show.settle(values)
    return EarSound(name, show.score(**settled), show.timbre(**settled))


# Step 29: moving by the smallest step


def question_29() -> Question:
    fall = {
        kind: Chord.parse(f"C{kind}").steps(THIRTY_ONE)[3] - Note.named("A").step(THIRTY_ONE) for kind in ("7", "harm7")
    }
    return Question(
        "A dominant seventh goes home, twice. Hum the top voice along with it: it falls. In which of the two does it "
        "have the shorter way? On a piano the ways are the same.",
        Choice(
            ("In the first.", "In the second.", "It is as far in both."),
            right=1,
            responses=(
                "Hum the first, both notes, and then the second from the same end: which begins nearer to it?",
                f"In the first the minor seventh falls by {times(fall['7'], 'step')}. In the second it is the harmonic "
                f"seventh, and falls by {fall['harm7']}. There is a smaller move yet: one step.",
                "On a piano it is. Listen to where the top voice begins: it ends on the same note both times.",
            ),
        ),
        (
            _shown("First", "guide_tones", progression="V I", seventh="31, minor 7th"),
            _shown("Second", "guide_tones", progression="V I", seventh="31, harmonic 7th"),
        ),
    )


_SHELLS = ("E3 D4 G#4", "A2 C#4 G4", "D3 C4 F#4", "G2 B3 Fhb4", "C3 C4 E4")
"""E7, A7, D7, Gharm7 and C: each dominant by its root, third and seventh."""


def exercise_29() -> Exercise:
    shells = [tuple(map(Note.parse, names.split())) for names in _SHELLS]
    voice = tuple(shell[-1] for shell in shells)
    harmonic, minor = (Chord.parse(symbol).notes[3] for symbol in ("Aharm7", "G7"))
    falls = [before.step(THIRTY_ONE) - after.step(THIRTY_ONE) for before, after in pairwise(voice)]
    on_piano = [*voice[:3], minor, voice[4]]
    return Exercise(
        "Four dominants, on E, A, D and G, go home to C. You hear the chords, and then their top voice alone. On a "
        f"piano that voice goes down by semitones: {listed(note.name for note in on_piano)}. Here its second note, the "
        "seventh of A, and its fourth, the seventh of G, can each be the minor seventh or the harmonic one, a step "
        "lower. Play the voice as you hear it.",
        Played(
            voice,
            THIRTY_ONE,
            in_order=True,
            slips={
                f"{voice[0].typed_name} {harmonic.typed_name}": f"{harmonic.name} is the harmonic seventh of A. Hear "
                "the first two notes again: the way down is shorter than yours.",
                " ".join(note.typed_name for note in on_piano[:4]): f"{minor.name} is the minor seventh of G. Hear "
                "the last two notes again: the way home is shorter than yours.",
            },
        ),
        hint="Play along with the voice alone, and stay on each note: where yours beats, it is a step off. Or compare "
        "the ways: from each note to the next it is two steps or three.",
        worked=f"{listed(note.name for note in voice)}: down by {listed(map(str, falls))} steps. The seventh of A is "
        "the minor one, and has three steps to fall. That of G is the harmonic one, and has two: it leans into its "
        "fall. On a piano all of these voices are one; here each seventh is a choice, and you hear which was taken.",
        sounds=heard(
            "reed",
            {
                "The chords": one_by_one([[note.hz(THIRTY_ONE) for note in shell] for shell in shells], seconds=1.6),
                "The top voice": in_turn([note.hz(THIRTY_ONE) for note in voice], seconds=1.6),
            },
        ),
    )


# Step 30: going round and coming home


def question_30() -> Question:
    turnarounds = PROGRESSIONS["two turnarounds"]
    drift = abs(turnarounds.drift())
    return Question(
        "Two choirs sing C, A minor, D minor, G, E minor, A, D minor, G and C. At the very end comes the C of the "
        "beginning once more, as it was. Which choir has come home to it?",
        Choice(
            ("The first.", "The second.", "Both."),
            right=0,
            responses=(
                f"The second sings every chord pure and holds the notes that two chords share. So it sinks, by "
                f"{plain(drift, 0)} cents on the way. The first sings in thirty-one.",
                "Listen to its last two chords alone: is the one on which it ends as high as the one after it?",
                "One of the two has sunk. Listen to the last two chords of each, and hum the bass.",
            ),
        ),
        (
            _shown("First", "going_round", progression="two turnarounds", rounds=1, tuned="31"),
            _shown("Second", "going_round", progression="two turnarounds", rounds=1, tuned="just"),
        ),
    )


def exercise_30() -> Exercise:
    first, wanted = (tuple(map(Note.named, names.split())) for names in ("B D F Ab", "G# B D F"))
    gap = first[0].step(THIRTY_ONE) - first[3].step(THIRTY_ONE)
    moved = first[3].step(THIRTY_ONE) - wanted[0].step(THIRTY_ONE)
    rises = Note.named("A").step(THIRTY_ONE) - wanted[0].step(THIRTY_ONE)
    names = [note.name for note in first]
    return Exercise(
        f"{', '.join(names[:3])} and {names[3]} lead to C: {names[0]} is above the narrow gap, of {gap} steps, and is "
        "the leading note. Move one voice by one step, so that the gap is elsewhere and the chord leads to A. Play "
        "its four notes.",
        Played(
            wanted,
            THIRTY_ONE,
            slips={
                " ".join(names): "That still leads to C. Which note of it is nearly the leading note of A?",
                "B D F A": "A is where it leads. The leading note is below it.",
            },
        ),
        hint=f"The leading note of A is as far below A as {names[0]} is below C.",
        worked=f"{names[3]} goes down by {times(moved, 'step')} to {wanted[0].name}, which rises by "
        f"{times(rises, 'step')} to A. On a piano {names[3]} and {wanted[0].name} are one key, and nothing would have "
        "moved.",
    )


def exercise_30_in_numbers() -> Exercise:
    rounds = 5
    return Exercise(
        f"A round of C, A minor, D minor and G, every chord pure, falls by a syntonic comma. How many cents flat is "
        f"the choir after {rounds} rounds?",
        Quantity(
            rounds * _COMMA,
            "cents",
            tolerance=0.3,
            down=True,
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
    tune = Note.parse("F5").hz(THIRTY_ONE)
    sounds = {}
    for name, symbol in (("First", "G7"), ("Second", "Gharm7")):
        root = Note.parse("G3").step(THIRTY_ONE)
        chord = [float(THIRTY_ONE.hz(root + step)) for step in Chord.parse(symbol).steps(THIRTY_ONE)]
        sounds[name] = one_by_one([chord, [*chord, tune]], seconds=1.8)
    return Question(
        "Twice, a chord on G, and then a note of the tune held over it, an F. In which of the two does the tune rub "
        "against the chord?",
        Choice(
            ("In the first.", "In the second.", "In neither."),
            right=1,
            responses=(
                "Listen to the moment at which the high note comes in. In which of the two does the sound turn rough?",
                "Alone its chord was the purer one, with the harmonic seventh; but the tune's F is a step off, and "
                "rasps. A good arranger gives way: the minor seventh here, the harmonic one where the tune leaves it "
                "free.",
                "In one of them two notes are a step apart, an octave aside. Listen to the high note alone.",
            ),
        ),
        heard("reed", sounds),
    )


_BARS_HEARD = 5


def exercise_31() -> Exercise:
    ways = {"First": "harmonic sevenths", "Second": "rest and announce"}
    sounds = {
        name: one_by_one([_sounding(way, bar) for bar in range(_BARS_HEARD)], seconds=1.6) for name, way in ways.items()
    }
    one, other = (TUNED_BLUES[way].chords for way in ways.values())
    [bar] = [place for place in range(_BARS_HEARD) if one[place] != other[place]]
    return Exercise(
        "The first five bars of a blues, twice, a chord to a bar: four times the chord on C, and then the one on F. "
        "The two are alike but for one bar. Which?",
        Choice(
            ("Bar 2.", "Bar 3.", "Bar 4.", "Bar 5."),
            right=bar - 1,
            responses=(
                "Count along with the second one: has anything moved yet?",
                "Count along with the second one: has anything moved yet?",
                "One voice goes up by a single step, and the chord no longer rests: it leads on.",
                "The chord changes in both of them there. Listen to the bars before it.",
            ),
        ),
        hint="While the chord on C lasts, nothing should move. In one of the two, something does. Count the bars.",
        worked=f"Bar {bar + 1}: C7 in the place of C with its harmonic seventh. The seventh goes up by one step, and "
        "tells the band that the F is coming.",
        sounds=heard("organ", sounds),
        solves=False,
    )


def _sounding(way: str, bar: int) -> list[float]:
    """The notes of a bar, counted from 0, over their root, in hertz."""
    root = TUNED_BLUES[way].chords[bar].root.step(THIRTY_ONE) - len(THIRTY_ONE)
    return [float(THIRTY_ONE.hz(step)) for step in (root, *TUNED_BLUES[way].voices(THIRTY_ONE)[bar])]


def exercise_31_in_numbers() -> Exercise:
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
        solves=False,
    )
