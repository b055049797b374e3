"""Ways between two chords: against a search that tries everything, and what a musician expects of them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import pairwise, permutations
from typing import TypeAlias

import numpy as np
import pytest

from tunelib.harmony import Chord, Way, chord_roughness, ways_between, widest_rub
from tunelib.harmony.passing_chords import SEVENTHS, TRIADS, is_new, kinds_of
from tunelib.harmony.ratios import mean_complexity
from tunelib.pitch import Tuning, equal

T31 = equal(31)
Place: TypeAlias = "tuple[tuple[int, ...], int, float]"  # its voices, its root and what it costs alone


def found(first: str, last: str, tuning: Tuning = T31, **wanted: object) -> tuple[Way, ...]:
    return ways_between(Chord.parse(first), Chord.parse(last), tuning, **wanted)  # type: ignore[arg-type]


def by_trying(
    first: str, last: str, tuning: Tuning, words: list[str], length: int, start: tuple[int, ...], end: tuple[int, ...]
) -> list[tuple[float, tuple[tuple[int, ...], ...]]]:
    """Every way through so many passing chords by plain loops, with its cost; the cheapest first.

    Worked out from the description of `ways_between` alone, without a bound: what is possible is tried.
    """
    size, unit = len(tuning), 31 / len(tuning)
    ends = [Chord.parse(first), Chord.parse(last)]
    semitone = Chord.parse("C7b9").steps(tuning)[-1] - size
    plain = sum(mean_complexity(chord.ratios(tuning)) for chord in ends) / 2
    roughest = max(float(chord_roughness([steps], tuning)[0]) for steps in (start, end))
    places: list[Place] = []
    new: set[tuple[tuple[int, ...], int]] = set()
    seen: set[tuple[int, ...]] = set()
    for word in words:
        shape = Chord.parse(f"C{word}")
        classes = tuple(sorted(step % size for step in shape.steps(tuning)))
        if classes in seen:
            continue
        seen.add(classes)
        for root in range(size):
            notes = [(root + step) % size for step in shape.steps(tuning)]
            if set(notes) in ({step % size for step in start}, {step % size for step in end}):
                continue
            for order in permutations(notes):
                steps = []
                for note, one, other in zip(order, start, end, strict=True):
                    low, high = min(one, other) - semitone, max(one, other) + semitone
                    steps += [step for step in range(low, high + 1) if step % size == note]
                rises = len(steps) == len(start) and all(b - a > widest_rub(tuning) for a, b in pairwise(steps))
                if rises and steps[-1] - steps[-2] > semitone:
                    rough = float(chord_roughness([steps], tuning)[0])
                    alone = shape.purity(tuning) / 6 + max(mean_complexity(shape.ratios(tuning)) - plain, 0) / 2
                    alone += 4 * max(rough / roughest - 1, 0) + (0 if is_new(shape, tuning) else 0.5)
                    places.append((tuple(steps), root, alone))
                    if is_new(shape, tuning):
                        new.add((tuple(steps), root))

    def between(one: int, other: int) -> float:
        away = (other - one) % size
        chord = Chord.parse("C13").steps(tuning)
        fifth, thirds = chord[2], (chord[1], Chord.parse("Cm").steps(tuning)[1])
        tone = Chord.parse("Csus2").steps(tuning)[1]
        if away == 0:
            return 0.0
        if away in (fifth, size - fifth):
            return 0.3
        if away in (*thirds, *(size - third for third in thirds)):
            return 0.6
        return 0.4 if min(away, size - away) <= tone else 1.2

    roots = [chord.root.step(tuning) % size for chord in ends]
    source, target = (start, roots[0], 0.0), (end, roots[1], 0.0)
    key = {step: ((step - roots[0]) * 12 / size + 0.5) // 1 for step in range(-2 * size, 3 * size)}

    @cache
    def going(one: tuple[int, ...], root: int, other: tuple[int, ...], next_root: int) -> tuple[float, bool]:
        """What one change costs, infinite if there is no such change, and whether a move is lost in twelve."""
        moves = [abs(b - a) * unit for a, b in zip(one, other, strict=True)]
        if not 0 < max(moves) <= 8:
            return float("inf"), False
        lost = any(a != b and key[a] == key[b] for a, b in zip(one, other, strict=True))
        return sum(move / 8 + move**2 / 25 for move in moves) + between(root, next_root), lost

    def chains(chain: list[Place], left: int) -> Iterator[list[Place]]:
        for place in places if left else [target]:
            if going(*chain[-1][:2], *place[:2])[0] < float("inf"):
                yield from chains([*chain, place], left - 1) if left else [[*chain, place]]

    ways = []
    for chain in chains([source], length):
        middle = chain[1:-1]
        if len({frozenset(step % size for step in steps) for steps, _, _ in middle}) < length:
            continue
        changes = [going(*before[:2], *after[:2]) for before, after in pairwise(chain)]
        cost = sum(alone for _, _, alone in middle) / length + 0.3 * length + sum(change for change, _ in changes)
        possible = True
        for voice in range(len(start)):
            moves = [b[0][voice] - a[0][voice] for a, b in pairwise(chain)]
            turns = [b for a, b in pairwise([move for move in moves if move]) if a * b < 0]
            cost += 1.5 * len(turns)
            possible &= len(turns) <= 1 and all(abs(b) <= semitone for b in turns)
        if possible and (any(lost for _, lost in changes) or any(place[:2] in new for place in middle)):
            ways.append((round(cost, 3), tuple(steps for steps, _, _ in chain)))
    return sorted(ways)


@pytest.mark.parametrize(
    ("first", "last", "size", "words", "length"),
    [
        ("Dm7", "G7", 31, ["mharm7", "sup7", "m7b5", "sub6"], 1),
        ("Dm7", "G7", 31, ["mharm7", "sup7", "m7b5", "sub6"], 2),
        ("Dm7", "G7", 31, ["mharm7", "sup7"], 3),
        ("Cmaj7", "Ebmaj7", 31, ["harm7", "neumid7", "7#5"], 2),
        ("G7", "C", 31, ["supharm7", "harm7", "harm7sushb4"], 2),
        ("F", "C", 31, ["neu", "m", "sub", ""], 2),
        ("F", "C", 31, ["neu", "m"], 3),
        ("C", "B#", 31, [""], 2),
        ("C", "A", 22, ["", "m", "sub", "neu"], 2),
        ("Am7", "D7", 19, ["harm7", "m7", "7"], 2),
    ],
)
def test_no_way_is_cheaper_than_those_found(first: str, last: str, size: int, words: list[str], length: int) -> None:
    """All that is possible, tried one by one: the same ways with the same costs, of all that are unlike one another."""
    tuning = equal(size)
    ways = found(first, last, tuning, most=length, fewest=length, words=words, count=6)
    start, end = (ways[0].voices[0], ways[0].voices[-1]) if ways else ((), ())
    assert ways, "the case is of use only where there are ways"
    tried = by_trying(first, last, tuning, words, length, start, end)
    chosen: list[tuple[frozenset[int], ...]] = []
    costs = []
    for cost, chain in tried:
        if cost > tried[0][0] + 8:
            break
        through = tuple(frozenset(step % size for step in steps) for steps in chain[1:-1])
        alike = any(2 * len(set(through) & set(other)) > length for other in chosen)
        crowded = any(sum(other[place] == through[place] for other in chosen) >= 2 for place in (0, -1))
        if not alike and not crowded:
            chosen.append(through)
            costs.append(cost)
    assert [way.cost.total for way in ways] == pytest.approx(costs[: len(ways)], abs=2e-3)
    assert len(ways) == min(6, len(costs))


def named(ways: tuple[Way, ...]) -> list[str]:
    return [" ".join(chord.symbol for chord in way.passing) for way in ways]


def test_the_seventh_slides_down() -> None:
    """Cmaj7 to C6, and to Am7: the top voice goes 1, 1, 1 and 2 steps down while all others are held."""
    for last in ("C6", "Am7"):
        best = found("Cmaj7", last, fewest=3, count=1)[0]
        assert named((best,)) == ["Cmid7 C7 Charm7"]
        assert best.moves.tolist() == [[0, 0, 0, -1], [0, 0, 0, -1], [0, 0, 0, -1], [0, 0, 0, -2]]


def test_two_voices_narrow() -> None:
    """Cmaj7, Cneumid7, Cm7, Csubharm7: third and seventh fall a step each time."""
    ways = found("Cmaj7", "Csubharm7", most=2, fewest=2)
    narrowing = ways[named(ways).index("Cneumid7 Cm7")]
    assert narrowing.moves.tolist() == [[0, -1, 0, -1]] * 3


def test_a_neutral_chord_on_the_way_from_f_to_c() -> None:
    """F, Fneu, Fm, C: the third falls a step, a step, and a semitone with the root."""
    ways = found("F", "C", most=2, fewest=2)
    assert ways[named(ways).index("Fneu Fm")].moves.tolist() == [[0, -1, 0], [0, -1, 0], [-3, -3, 0]]


def test_dominants() -> None:
    """G7 to Cmaj7 by the harmonic seventh, whose F falls a step and then two; to C also by the supermajor dominant."""
    ways = found("G7", "Cmaj7")
    assert ways[named(ways).index("Gharm7")].moves.tolist() == [[0, -1, 0, 0], [-5, -2, 0, 0]]
    ways = found("G7", "C", most=1)
    assert ways[named(ways).index("Gsupharm7")].moves.tolist() == [[0, -1, 0, 1], [-5, -2, 0, 2]]


def test_three_major_thirds_are_a_way_to_the_chord_a_diesis_lower() -> None:
    """Of major triads alone: C, E, G♯, B♯, of which twelve hears the last as the first."""
    ways = found("C", "B#", words=[""], most=2, fewest=2, count=50)
    pump = ways[named(ways).index("E G#")]
    assert np.abs(pump.moves).sum(axis=1).tolist() == [5, 5, 5]
    assert pump.moves.sum(axis=0).tolist() == [-1, -1, -1]


PAIRS = (
    "Dm7 G7",
    "Cmaj7 Am7",
    "C F",
    "G7 Cmaj7",
    "Cmaj7 Ebmaj7",
    "G7 C",
    "Dm7 Cmaj7",
    "Cm7 F7",
    "Em7b5 A7",
    "Cmaj9 G13",
)


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("length", [1, 2, 3])
def test_a_way_sounds_like_one(pair: str, length: int) -> None:
    """Each voice sings its chord's notes, none crosses or leaps, none turns back twice; and twelve loses something."""
    first, last = pair.split()
    ways = found(first, last, most=length, fewest=length)
    assert len(ways) == 5
    assert [way.cost.total for way in ways] == sorted(way.cost.total for way in ways)
    for way in ways:
        assert way.chords[0].symbol == first and way.chords[-1].symbol == last
        assert len(way.passing) == length
        for chord, steps in zip(way.passing, way.voices[1:-1], strict=True):
            notes = {note.step(T31) % 31 for note in chord.notes_in(T31)}
            assert {step % 31 for step in steps} == notes
            assert steps[-1] - steps[-2] > 3
        for steps in way.voices:
            assert all(after > before for before, after in pairwise(steps))
        assert np.abs(way.moves).max() <= 8
        for voice in way.moves.T.tolist():
            going = [move for move in voice if move]
            assert sum(before * after < 0 for before, after in pairwise(going)) <= 1
        assert way.in_twelve.is_new and way.in_twelve.words.startswith("In twelve ")
    assert len({frozenset(named((way,))[0].split()) for way in ways}) == 5


def test_the_words_agree_with_the_steps() -> None:
    """A reason says how far the voices go; a move that twelve loses begins and ends on one key."""
    lost = 0
    for place, way in enumerate(found("Dm7", "G7", most=2)):
        total, largest, held = np.abs(way.moves).sum(), np.abs(way.moves).max(), (way.moves == 0).sum()
        assert f"{total} steps in all, {largest} at most at a time, {held} notes held" in way.reason
        assert ("after the best since" in way.reason) == (place > 0)
        for into, voice in way.in_twelve.lost:
            before, after = (way.in_twelve.keys[chord][voice] for chord in (into - 1, into))
            assert before == after and way.voices[into - 1][voice] != way.voices[into][voice]
            lost += 1
    assert lost


def test_twelve_has_no_such_way() -> None:
    assert found("Dm7", "G7", equal(12)) == ()


@pytest.mark.parametrize("size", [17, 19, 22, 41, 53, 72])
def test_other_divisions_have_ways_too(size: int) -> None:
    tuning = equal(size)
    ways = found("Dm7", "G7", tuning, most=2)
    assert ways
    for way in ways:
        assert way.in_twelve.is_new
        for chord, steps in zip(way.chords, way.voices, strict=True):
            assert {step % size for step in steps} == {note.step(tuning) % size for note in chord.notes_in(tuning)}


def test_given_voices_are_kept() -> None:
    way = found("Dm7", "G7", voicing=[-8, 5, 13, 31], into=[-13, 5, 13, 28], most=1)[0]
    assert way.voices[0] == (-8, 5, 13, 31) and way.voices[-1] == (-13, 5, 13, 28)


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ({"most": 4}, "passing chords"),
        ({"most": 1, "fewest": 2}, "fewest"),
        ({"count": 0}, "number of ways"),
        ({"voicing": [0, 1, 2, 3]}, "has not the notes of Dm7"),
        ({"voicing": [5.5, 13, 23, 31]}, "a step of voicing is a whole number from -155 to 155, not 5.5"),
        ({"voicing": [5 + 31 * 10**25, 13, 23, 31]}, "a step of voicing is a whole number from -155 to 155"),
        ({"voicing": 5}, "voicing is a list of steps"),
        ({"into": "5"}, "into is a list of steps"),
        ({"words": "neu7"}, "words is a list of what follows a root"),
        ({"words": 7}, "words is a list of what follows a root"),
        ({"words": [7]}, "words is a list of what follows a root"),
        ({"words": []}, "needs chords"),
        ({"words": ["neu"]}, "have 3 notes"),
        ({"words": ["neu", "neu7"]}, "as many notes"),
        ({"words": ["huh"]}, "cannot be read"),
        ({"voicing": [5, 13, 23, 31], "into": [36, 44, 49, 59]}, "nearer"),
    ],
)
def test_what_makes_no_sense_is_refused(wanted: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        found("Dm7", "G7", **wanted)
    with pytest.raises(ValueError, match="from a Chord to a Chord"):
        ways_between("Dm7", Chord.parse("G7"), T31)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="no letters"):
        found("Dm7", "G7", equal(13))


def test_the_vocabulary_is_of_different_chords() -> None:
    """In thirty-one each word is another chord, and those with a half-sharp in them are those that no piano has."""
    for words, notes in ((TRIADS, 3), (SEVENTHS, 4)):
        kinds = kinds_of(words, T31)
        assert len(kinds.chords) == len(words) == len({tuple(row) for row in kinds.steps.tolist()})
        assert kinds.steps.shape[1] == notes
        for chord, new in zip(kinds.chords, kinds.new.tolist(), strict=True):
            assert new == any(offset % 2 for _, offset in chord.degrees)
    assert not kinds_of(SEVENTHS, equal(12)).new.any()
