"""Voice leading: the smallest motion checked against every assignment there is, published facts, and the chain."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest

from tunelib.exhibits.smallest_moves import smallest_chain
from tunelib.harmony.chords import Chord
from tunelib.harmony.leading import Leading, lead, smooth_chain
from tunelib.pitch.tunings import THIRTY_ONE, equal, just


def every_assignment(voicing: tuple[int, ...], classes: tuple[int, ...], size: int) -> int:
    """The smallest total motion of all: each voice to any note, in the octave below, its own, and the one above."""
    best = None
    for goals in product(classes, repeat=len(voicing)):
        if set(goals) != set(classes):
            continue
        ways = [[abs(goal - voice % size + octave * size) for octave in (-1, 0, 1)] for voice, goal in
                zip(voicing, goals, strict=True)]  # fmt: skip
        total = sum(map(min, ways))
        best = total if best is None else min(best, total)
    assert best is not None
    return best


@pytest.mark.parametrize("size", [5, 12, 31])
def test_no_assignment_of_voices_moves_less(size: int) -> None:
    """Random chords of one to five notes for up to five voices, doubled notes and unisons among them."""
    dice = np.random.default_rng(size)
    for _ in range(150):
        voices = int(dice.integers(1, 6))
        voicing = tuple(dice.integers(-2 * size, 2 * size, voices).tolist())
        classes = tuple(set(dice.integers(0, size, int(dice.integers(1, voices + 1))).tolist()))
        leading = lead(voicing, [classes], equal(size))
        assert leading.total == every_assignment(voicing, classes, size), (voicing, classes)
        assert {step % size for step in leading.voices[1]} == set(classes)


def test_six_voices_against_all_seven_hundred_and_twenty_permutations() -> None:
    dice = np.random.default_rng(6)
    orders = np.array(list(permutations(range(6))))
    for _ in range(100):
        voicing, goals = dice.integers(0, 31, 6), dice.choice(31, 6, replace=False)
        away = np.abs(goals[orders] - voicing)
        every = np.minimum(away, 31 - away).sum(axis=1)
        assert lead(voicing.tolist(), [goals.tolist()], THIRTY_ONE).total == every.min()


def test_all_common_tones_are_held() -> None:
    """Every note that the two chords share stays where it is."""
    dice = np.random.default_rng(3)
    for _ in range(200):
        one, other = (dice.choice(31, 4, replace=False) for _ in range(2))
        leading = lead(one.tolist(), [other.tolist()], THIRTY_ONE)
        shared = len(set(one.tolist()) & set(other.tolist()))
        assert np.count_nonzero(leading.motion == 0) == shared


def test_doublings_are_weighed_over_the_whole_progression() -> None:
    """Four voices through triads: no choice of notes for all voices at all chords moves less in sum."""
    dice = np.random.default_rng(11)
    nearer = 0
    for _ in range(4):
        voicing = tuple(dice.integers(0, 12, 4).tolist())
        chords = [tuple(dice.choice(12, 3, replace=False).tolist()) for _ in range(3)]
        goals = [[g for g in product(chord, repeat=4) if set(g) == set(chord)] for chord in chords]
        best = min(
            sum(
                min(abs(a - b), 12 - abs(a - b))
                for here, after in zip((voicing, *way), way, strict=False)
                for a, b in zip(here, after, strict=True)
            )
            for way in product(*goals)
        )
        assert lead(voicing, chords, equal(12)).total == best
        one_by_one, here = 0, voicing
        for chord in chords:
            step = lead(here, [chord], equal(12))
            one_by_one, here = one_by_one + step.total, step.voices[1]
        nearer += best < one_by_one
    assert nearer, "going chord by chord was never worse: the search over the whole is not tried"


def test_neighbouring_triads_move_as_the_textbooks_have_it() -> None:
    """C major to its parallel, relative and leading-tone-exchange minor: 1, 2 and 1 semitones, one voice moving.

    R. Cohn, "Neo-Riemannian operations, parsimonious trichords, and their Tonnetz representations", Journal of Music
    Theory 41, 1997 (from memory). In 31, a semitone that changes the letter is three steps and one that does not two.
    """
    for symbol, keys, steps in (("Cm", 1, 2), ("Am", 2, 5), ("Em", 1, 3)):
        in_twelve, in_31 = (
            lead(Chord.parse("C").steps(tuning), [Chord.parse(symbol)], tuning) for tuning in (equal(12), THIRTY_ONE)
        )
        assert (in_twelve.total, in_31.total) == (keys, steps)
        assert np.count_nonzero(in_twelve.motion) == np.count_nonzero(in_31.motion) == 1


def test_two_five_one_goes_by_step_with_thirds_and_sevenths_changing_places() -> None:
    """F C, F B, E B, the thirds and sevenths of Dm7 G7 Cmaj7: a third is held as a seventh, which then falls a semitone
    to the next third (common practice)."""
    leading = lead((13, 31), [(13, 28), (28, 10)], THIRTY_ONE)
    assert leading.motion.tolist() == [[0, -3], [-3, 0]]
    assert [str(note) for note in leading.notes()[2]] == ["E4", "B4"]


def test_voices_keep_their_octaves_and_their_order_of_listing() -> None:
    """A voice two octaves up is led from there, and the voices stay in the order in which they were given."""
    low = lead((18, 0, 41, -21), [Chord.parse("F")], THIRTY_ONE)
    high = lead((18 + 62, 0, 41, -21), [Chord.parse("F")], THIRTY_ONE)
    assert np.array_equal(low.motion, high.motion)
    assert high.voices[1][0] - low.voices[1][0] == 62 and high.voices[1][1] == low.voices[1][1] == 0


def test_the_report_spells_as_the_chords_do_and_gives_every_move() -> None:
    chords = [Chord.parse("C"), Chord.parse("Fm"), Chord.parse("C")]
    lines = lead((18, 0, 41), chords[1:], THIRTY_ONE).report(chords)
    assert lines == ("G4 +3 A♭4 −3 G4", "C4 held C4 held C4", "E5 +3 F5 −3 E5")
    assert lead((0, 10), [(1, 11)], THIRTY_ONE).report() == ("C4 +1 C½♯4", "E4 +1 E½♯4")


def test_the_chain_moves_no_voice_more_than_two_steps_and_comes_home() -> None:
    """At least eight chords, no root twice, two tones held each time; every move counted by hand from the notes."""
    chords, leading = smallest_chain()
    assert len(chords) == 9 and chords[0] == chords[-1] and leading.voices[0] == leading.voices[-1]
    roots = [chord.root.step(THIRTY_ONE) % 31 for chord in chords]
    assert len(set(roots[:-1])) == 8
    for chord, steps in zip(chords, leading.voices, strict=True):
        assert {note.step(THIRTY_ONE) % 31 for note in chord.notes} == {step % 31 for step in steps}
    for before, after in zip(leading.voices, leading.voices[1:], strict=False):
        moves = [abs(b - a) for a, b in zip(before, after, strict=True)]
        assert max(moves) <= 2 and moves.count(0) >= 2 and sum(moves) > 0
    assert leading.largest == 2 and leading.total == sum(abs(int(move)) for move in leading.motion.ravel())


def impurity(chord: Chord) -> float:
    """Root-mean-square error of a chord's pairs, in cents."""
    return float(np.sqrt(np.mean(np.square(list(chord.errors(THIRTY_ONE).values())))))


@pytest.mark.parametrize(("families", "moves", "home"), [
    (("m7", "m7b5", "neumid7"), 3, 0), (("harm7", "dim7", "m7"), 4, 1), (("harm7", "dim7", "m7"), 5, -1),
    (("harm7", "dim7", "m7", "subharm7", "neumid7"), 5, 0),
])  # fmt: skip
def test_no_chain_is_purer(families: tuple[str, ...], moves: int, home: int) -> None:
    """Every walk of that length through all chords on all roots, without a bound, costs as much or more."""
    first = Chord.parse("Cmaj7")
    found = smooth_chain(first, families, moves, THIRTY_ONE, home=home)
    kinds = [first, *(Chord.parse(f"C{family}") for family in families)]
    shapes = {
        (k, root): [(s + root) % 31 for s in kind.steps(THIRTY_ONE)]
        for k, kind in enumerate(kinds)
        for root in range(31)
    }
    costs = [impurity(kind) for kind in kinds]
    nexts: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def smooth(one: tuple[int, int], other: tuple[int, int]) -> bool:
        steps = np.abs(lead(shapes[one], [shapes[other]], THIRTY_ONE).motion[0])
        return bool(steps.max() <= 2 and np.count_nonzero(steps == 0) >= 2)

    def cheapest(path: list[tuple[int, int]]) -> float:
        here = path[-1]
        if len(path) == moves:
            return costs[0] if smooth(here, (0, home % 31)) else np.inf
        if here not in nexts:
            nexts[here] = [node for node in shapes if smooth(here, node)]
        taken = {root for _, root in path} | {home % 31}
        return min(
            (costs[k] + cheapest([*path, (k, root)]) for k, root in nexts[here] if root not in taken), default=np.inf
        )

    assert sum(map(impurity, found[1:])) == pytest.approx(cheapest([(0, 0)]))
    assert found[-1].root.step(THIRTY_ONE) % 31 == home % 31


def test_without_held_tones_chords_slide() -> None:
    """Parallel motion of a diesis is allowed only where no tone need be held."""
    slid = smooth_chain(Chord.parse("Charm7"), ["harm7"], 3, THIRTY_ONE, most=1, held=0, home=3)
    assert [chord.root.step(THIRTY_ONE) for chord in slid] == [0, 1, 2, 3]
    with pytest.raises(ValueError, match="no chain of 3 moves leads from Charm7 to 3 steps above it"):
        smooth_chain(Chord.parse("Charm7"), ["harm7"], 3, THIRTY_ONE, most=1, held=1, home=3)


def test_what_cannot_be_led_is_refused() -> None:
    with pytest.raises(ValueError, match="3 voices cannot sing the 4 notes of a chord"):
        lead((0, 10, 18), [Chord.parse("C7")], THIRTY_ONE)
    for voicing in ((), (0.5, 10), "CEG", None):
        with pytest.raises(ValueError, match="a voicing is a list of steps"):
            lead(voicing, [Chord.parse("C")], THIRTY_ONE)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="a chord is a list of steps"):
        lead((0, 10, 18), [()], THIRTY_ONE)
    with pytest.raises(ValueError, match="equal steps of the octave"):
        lead((0, 1), [(1, 2)], just(["9/8", "5/4", "3/2"]))
    with pytest.raises(ValueError, match="equal steps of the octave"):
        lead((0, 1), [(1, 2)], equal(13, 3))
    with pytest.raises(ValueError, match="C does not have as many notes as Cmaj7"):
        smooth_chain(Chord.parse("Cmaj7"), [""], 3, THIRTY_ONE)
    leading = Leading(((0, 10), (0, 8)), THIRTY_ONE)
    with pytest.raises(ValueError, match="2 chords are led through"):
        leading.notes([Chord.parse("C")])
    with pytest.raises(ValueError, match="Am has no note at step 8"):
        leading.notes([Chord.parse("C"), Chord.parse("Am")])
