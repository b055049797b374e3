"""Keys in rows: what they sound, which keys sound a note, and the shape that a chord keeps."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Playing
from tunelib.exhibits.keyboard import _BOARDS, _ROOTS, _STEPS, _on_board
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch.key_grid import KeyGrid

STEPS = 31
INTERVALS = [(across, up) for across in range(1, STEPS + 1) for up in range(1, STEPS + 1)]
CHORDS = ([0, 10, 18], [0, 8, 18], [0, 9, 18], [0, 10, 18, 25], [0, 31])


def widest(shape: Any) -> float:
    """The distance between the two keys of a shape that are farthest apart."""
    return max((math.dist(one, other) for one, other in itertools.combinations(shape, 2)), default=0.0)


def test_a_chord_has_one_shape_in_all_31_keys_for_every_pair_of_intervals() -> None:
    """From whatever key the shape begins it sounds the chord, on each of the 31 roots, and no key is passed over"""
    for across, up in INTERVALS:
        grid = KeyGrid(STEPS, across, up)
        roots = np.arange(STEPS) * grid.spacing  # as many as there are notes with keys
        begin = np.array([grid.nearest_key(root, 0, 0) for root in roots.tolist()])
        for chord in CHORDS:
            if not grid.reaches(chord).all():
                continue
            shape = grid.shape(chord)
            assert shape[0].tolist() == [0, 0]
            keys = begin[:, np.newaxis] + shape
            assert np.array_equal(grid.step(keys[..., 0], keys[..., 1]), roots[:, np.newaxis] + chord)
            root = int(roots[across % STEPS])
            assert np.array_equal(grid.shape([root + step for step in chord]), shape)


@pytest.mark.parametrize(("across", "up"), [(5, 3), (5, 13), (1, 1), (18, 10), (7, -4), (-5, 2), (4, 6), (31, 5)])
@pytest.mark.parametrize("chord", CHORDS, ids=str)
def test_no_shape_is_more_compact(across: int, up: int, chord: list[int]) -> None:
    """Every other way to finger the chord on a board of 81 by 81 keys reaches at least as far: tried one by one"""
    grid = KeyGrid(STEPS, across, up)
    if not grid.reaches(chord).all():
        with pytest.raises(ValueError, match="there is a key at every 2 steps only"):
            grid.shape([*chord, 9])
        return
    places = range(-40, 41)
    ways = [
        [(column, row) for column in places for row in places if across * column + up * row == step]
        for step in chord[1:]
    ]
    best = min(widest([(0, 0), *others]) for others in itertools.product(*ways))
    assert widest(grid.shape(chord)) == pytest.approx(best)


def test_eulers_grid_of_fifths_and_thirds_has_triads_as_triangles() -> None:
    """Euler, Tentamen novae theoriae musicae (1739), lays notes out by fifths and major thirds (from memory).

    There a major triad is a note, its neighbour by a third and its neighbour by a fifth; a minor one is the same
    triangle turned over: its third is the major third below the fifth.
    """
    grid = KeyGrid(STEPS, across=18, up=10)
    assert grid.shape([0, 10, 18]).tolist() == [[0, 0], [0, 1], [1, 0]]
    assert grid.shape([0, 8, 18]).tolist() == [[0, 0], [1, -1], [1, 0]]


def test_bosanquets_whole_tones_miss_the_octave_by_a_step() -> None:
    """Six whole tones to the right fall short of an octave in 31 and pass it in 53, by one step each time.

    Bosanquet 1876 sorts systems by the sign of this, as positive or negative (from memory): 53 is positive.
    """
    assert KeyGrid(31, across=5, up=1).step(6, 0) - 31 == -1
    assert KeyGrid(53, across=9, up=1).step(6, 0) - 53 == 1


@pytest.mark.parametrize(("across", "up"), [(5, 3), (6, 9), (4, 6), (10, 8), (31, 31), (0, 7), (-5, 10)])
def test_keys_are_those_that_sound_the_step(across: int, up: int) -> None:
    """Against asking every key of the board, for one octave and for any"""
    grid = KeyGrid(STEPS, across, up)
    columns, rows = range(-3, 8), range(-2, 4)
    for step in range(-10, 45):
        for any_octave in (False, True):
            found = grid.keys(step, columns, rows, any_octave)
            right = [
                [column, row]
                for row in rows
                for column in columns
                if (across * column + up * row - step) % (STEPS if any_octave else 10**6) == 0
            ]
            assert found.tolist() == right
            assert found.shape == (len(right), 2)


def test_every_note_is_reached_where_no_divisor_is_shared() -> None:
    """In 31, which is prime, by all but whole octaves; in 12 not by even intervals. Counted on a large board"""
    for division in (12, 31):
        for across, up in itertools.product(range(1, 13), repeat=2):
            grid = KeyGrid(division, across, up)
            steps = grid.step(np.arange(-40, 41), np.arange(-40, 41)[:, np.newaxis])
            assert (math.gcd(grid.spacing, division) == 1) == (
                len(set((steps % division).ravel().tolist())) == division
            )
            assert grid.spacing == int(np.min(np.abs(steps[steps != 0])))
    assert KeyGrid(31, 31, 62).spacing == 31


def test_numbers_in_numbers_out_and_arrays_in_arrays_out() -> None:
    """Keys may be asked one by one or all at once"""
    grid = KeyGrid(STEPS, 5, 13)
    assert grid.step(2, -1) == -3 and isinstance(grid.step(2, -1), int)
    assert grid.step(np.arange(3), np.arange(2)[:, np.newaxis]).tolist() == [[0, 5, 10], [13, 18, 23]]
    assert grid.reaches(7) is True
    assert grid.nearest_key(31, 0, 0) == (1, 2)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: KeyGrid(0, 5, 3), "a division is a whole number from 1 to 1000000, not 0"),
        (lambda: KeyGrid(31, 0, 0), "across and up cannot both be 0"),
        (lambda: KeyGrid(31, 5.0, 3), "across is a whole number from -1000000 to 1000000, not 5.0"),  # type: ignore[arg-type]
        (lambda: KeyGrid(31, 5, True), "up is a whole number from -1000000 to 1000000, not True"),
        (lambda: KeyGrid(31, 5, 3).step(0.5, 1), "columns are whole numbers, not 0.5"),
        (lambda: KeyGrid(31, 5, 3).shape([]), "for one hand: 1 to 5 notes, not 0"),
        (lambda: KeyGrid(31, 5, 3).shape(range(6)), "for one hand: 1 to 5 notes, not 6"),
        (
            lambda: KeyGrid(31, 6, 3).shape([0, 10]),
            "no key sounds step 10: with 6 steps across and 3 up there is a key",
        ),
        (lambda: KeyGrid(31, 6, 3).nearest_key(1, 0, 0), "no key sounds step 1"),
    ],
)
def test_what_makes_no_keyboard_is_refused(wrong: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wrong()


@pytest.mark.parametrize("board", _BOARDS)
def test_the_keys_shown_sound_the_chord(board: tuple[int, int]) -> None:
    """For every root, chord and a choice of intervals; a shape that fits on the board is on it wholly"""
    for across, up, chord in itertools.product((1, 5, 6, 15), (1, 3, 8, 18), _STEPS):
        grid = KeyGrid(STEPS, across, up)
        for step, root in enumerate(_ROOTS):
            keys, corner = _on_board(grid, chord, root, board)
            assert len(keys), "a root that has no key in its own octave has one in another"
            sounding = grid.step(*keys.T)
            octaves = (sounding[0] - step) // STEPS
            assert grid.reaches(step) == (octaves == 0)
            assert (sounding - STEPS * octaves).tolist() == [step + above for above in _STEPS[chord]][: len(sounding)]
            if np.all(np.ptp(keys, axis=0) < board):
                assert np.all(keys >= corner) and np.all(keys < corner + board)


def test_the_board_lies_still_while_a_major_triad_goes_through_all_keys() -> None:
    """At the intervals that the exhibit opens with"""
    for board in _BOARDS:
        corners = {tuple(_on_board(KeyGrid(STEPS, 5, 3), "major", root, board)[1].tolist()) for root in _ROOTS}
        assert len(corners) == 1


def test_the_sentence_tells_the_shape_and_what_has_none() -> None:
    exhibit = EXHIBITS["key_grid"]
    assert exhibit.sentence(chord="major", root="D", across=5, up=3) == (
        "With 5 steps from each key to the next on its right and 3 to the one above, the major chord on D is D with "
        "F♯, 2 right; A, 3 right and 1 up: the same shape on all 31 notes."
    )
    assert exhibit.sentence(chord="major", root="C", across=6, up=3).endswith(
        "only every third step has a key, and the major chord on C has no shape."
    )


def test_the_chord_sounds_broken_and_then_together() -> None:
    """4:5:6:7 by steps of 2 ** (1/31), the A of twelve at 440 Hz"""
    exhibit = EXHIBITS["key_grid"]
    score = exhibit.score(**exhibit.settle({"chord": "harmonic seventh", "root": "A"}))
    hertz = [note.hertz for note in score.notes]
    right = [220 * 2 ** (step / 31) for step in (0, 10, 18, 25)]
    assert hertz == pytest.approx(right * 2)
    assert [float(note.onset) for note in score.notes][4:] == [2.5] * 4


def test_the_shape_on_the_root_is_the_shape_on_c() -> None:
    """The two ways from key to key are one shape, moved; the names on the keys are those of the chord."""
    exhibit = EXHIBITS["key_grid"]
    scene = exhibit.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["light"]))
    for root, chord in itertools.product(("E♭", "A½♯", "F"), _STEPS):
        values = exhibit.settle({"root": root, "chord": chord})
        scene.update(**values)
        way, ghost = (np.column_stack(scene.parts[part][0].get_data()) for part in ("chord", "ghost"))
        assert way - way[0] == pytest.approx(ghost - ghost[0])
        at = {tuple(np.round(text.get_position(), 6)): text for text in scene.parts["board"][1:]}
        on_keys = [at[tuple(np.round(place, 6))] for place in way]
        shown = exhibit.numbers(**values)["notes"].split()
        written = [text for text in scene.parts["words"][0].get_text().split(": ")[1].split()]
        assert [text.get_text() for text in on_keys] == written and len(shown) == len(written)
        assert all(text.get_fontweight() == "bold" for text in on_keys)


def test_keys_light_up_one_by_one_and_then_together() -> None:
    exhibit = EXHIBITS["key_grid"]
    scene = exhibit.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    [*_, held] = scene.parts["chord"]
    keys = np.column_stack(held.get_data())
    counts = []
    for notes in ((0,), (1,), (2,), (3, 4, 5), ()):
        scene.update(**exhibit.settle({}))
        before = [np.column_stack(artist.get_data()) for artist in scene.moving if hasattr(artist, "get_data")]
        scene.light(Playing(0.1, notes))
        after = [np.column_stack(artist.get_data()) for artist in scene.moving if hasattr(artist, "get_data")]
        keys = np.column_stack(held.get_data())
        lit = [now for was, now in zip(before, after, strict=True) if not np.array_equal(was, now, equal_nan=True)]
        assert all(np.isin(now, keys).all() for now in lit)
        counts.append(sum(len(now) for now in lit))
    assert counts == [1, 1, 1, 3, 0]


def test_the_shape_on_c_is_named_unless_it_is_the_chord_itself() -> None:
    exhibit = EXHIBITS["key_grid"]
    for look in (Look(THEMES["light"]), Look(THEMES["light"], tall=True, square=True)):
        scene = exhibit.lay_out(Figure(figsize=look.inches), look)
        seen = {}
        for root in ("C", "E♭"):
            scene.update(**exhibit.settle({"root": root}))
            *_, words = scene.parts["ghost"]
            seen[root] = words.get_text() if words.get_visible() else ""
        assert seen == {"C": "", "E♭": "dashed: C E G"}
