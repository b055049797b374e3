"""Where the keys are: every step has one, none covers another, and the rows are those of `KeyGrid`."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest

from tunelib import Note, equal, just, meantone_chain
from tunelib.live.key_notes import KeyNotes, harmonic_notes, key_notes
from tunelib.live.layouts import LAYOUTS, MOST_IN_ROWS, Board, grid_of, lay_out
from tunelib.practice import exercise

TUNINGS = (5, 7, 12, 19, 24, 31, 41, 53, 72, "quarter-comma", "Vallotti")
NOT_EVEN = ("quarter-comma", "Vallotti")


def boards(name: str) -> list[tuple[KeyNotes, Board]]:
    """A layout of each tuning that it suits."""
    tunings = [one for one in TUNINGS if name != "fretboard" or (one not in NOT_EVEN and one != 72)]
    return [(notes, lay_out(name, notes)) for notes in map(key_notes, tunings)]


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_step_from_the_lowest_to_the_highest_has_a_key(name: str) -> None:
    for notes, board in boards(name):
        steps = {place.step for place in board.keys}
        assert steps == set(range(min(steps), max(steps) + 1)), notes.tuning.name
        assert len(steps) >= len(notes.tuning)


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_key_covers_another_or_leaves_the_board(name: str) -> None:
    for notes, board in boards(name):
        for one, other in combinations(board.keys, 2):
            apart = (
                abs(one.x - other.x) - (one.width + other.width) / 2,
                abs(one.y - other.y) - (one.height + other.height) / 2,
            )
            assert max(apart) > -0.25 if name == "ring" else max(apart) > 0, (notes.tuning.name, one, other)
        for place in board.keys:
            assert place.width / 2 <= place.x <= board.width - place.width / 2 + 1e-3
            assert place.height / 2 <= place.y <= board.height - place.height / 2 + 1e-3


def test_the_middles_of_neighbours_in_a_ring_are_a_key_apart() -> None:
    """So that a finger hits one of them, though the corners of square keys may meet"""
    for notes, board in boards("ring"):
        for one, other in combinations(board.keys, 2):
            assert (one.x - other.x) ** 2 + (one.y - other.y) ** 2 > 0.99**2, (notes.tuning.name, one, other)


@pytest.mark.parametrize("tuning", TUNINGS)
def test_the_rows_are_those_of_a_key_grid(tuning: int | str) -> None:
    """A key to the right and a key above are the same intervals everywhere, and farther right is higher"""
    notes = key_notes(tuning)
    grid, board = grid_of(notes), lay_out("rows", notes)
    assert grid.spacing == 1
    at = {(round(place.x - 0.5 - place.step / grid.across, 3), place.y): place for place in board.keys}
    assert {x for x, _ in at} == {0.0}
    for one, other in combinations(board.keys, 2):
        rows = one.y - other.y
        columns = (other.step - one.step - grid.up * rows) / grid.across
        assert columns == int(columns)
        if columns == 1 and rows == 0:
            assert other.step == grid.step(1, 0) + one.step
        if rows == 1 and columns == 0:
            assert other.step == grid.step(0, 1) + one.step


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_two_keys_answer_to_one_place_of_a_computer_keyboard(name: str) -> None:
    for _, board in boards(name):
        codes = [place.code for place in board.keys if place.code]
        assert len(codes) == len(set(codes))
        assert len(codes) >= min(len(board.keys), 7)


def test_the_home_row_plays_tones_from_c() -> None:
    keys = {place.code: place.step for place in lay_out("rows", key_notes(31)).keys}
    assert [keys[code] for code in ("KeyA", "KeyS", "KeyD", "KeyR", "KeyT", "KeyY", "KeyU")] == [
        0,
        5,
        10,
        13,
        18,
        23,
        28,
    ]


def test_an_exercise_says_rightly_which_way_is_up_in_rows() -> None:
    """Before a learner knows these keys: by whole tones along a row, and higher to the right everywhere"""
    asked = exercise(15)
    for words in (
        "Every C is marked",
        "each key is a whole tone higher than the one to its left",
        "farther to the right",
    ):
        assert words in asked.prompt
    board = asked.answer.instrument()
    places = [(place["x"], place["step"], place["y"]) for place in board.board["keys"]]
    cs = {step for _, step, _ in places if board.notes.note(step).name == "C"}
    assert set(board.lit) == cs and len(cs) == 3
    assert all(left[1] < right[1] for left in places for right in places if right[0] > left[0])
    tone = Note.named("C").interval_to(Note.named("D")).step(board.notes.tuning)
    for row in {y for _, _, y in places}:
        along = sorted((x, step) for x, step, y in places if y == row)
        assert {right[1] - left[1] for left, right in pairwise(along)} == {tone}


def test_a_staff_shows_what_the_player_reads() -> None:
    """A B♭ clarinet's written C sounds the B♭ below; each written note is at its letter's place"""
    board = lay_out("staff", key_notes(31), player="clarinet")
    assert (board.keys[0].name, board.keys[0].step) == ("C", -5)
    by_name = {place.name: place.y for place in board.keys}
    assert by_name["C♯"] - by_name["D♭"] == 0.5
    assert by_name["E½♭"] == by_name["E"]
    assert board.clef.outline
    assert lay_out("staff", key_notes(31), player="cello").clef != board.clef


def test_a_fretboard_has_the_strings_of_its_player() -> None:
    board = lay_out("fretboard", key_notes(31), player="mandolin")
    opened = [place.step for place in board.keys if place.x < 1.5]
    assert opened == [41, 23, 5, -13]  # E5 A4 D4 G3, the highest on top
    assert len(board.keys) == 4 * 32


@pytest.mark.parametrize(
    ("name", "tuning", "words"),
    [
        ("rows", 100, "take layout='line'"),
        ("staff", 11, "no letters"),
        ("fretboard", "Vallotti", "equal steps"),
        ("fretboard", 72, "too many"),
        ("hexagons", 31, "no layout of keys"),
    ],
)
def test_a_layout_that_does_not_suit_is_refused(name: str, tuning: int | str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        lay_out(name, key_notes(tuning))
    assert MOST_IN_ROWS < 100


def test_octaves_and_the_lowest_note_are_as_asked() -> None:
    steps = [place.step for place in lay_out("line", key_notes(12), octaves=2, lowest=-12).keys]
    assert steps == list(range(-12, 13))
    with pytest.raises(ValueError, match="octaves"):
        lay_out("line", key_notes(12), octaves=0)


def test_notes_have_the_names_of_their_chain() -> None:
    """A meantone that ends with G♯ has no A♭"""
    names = [str(key_notes(meantone_chain("1/4")).note(step)) for step in range(12)]
    assert names == "C4 C♯4 D4 E♭4 E4 F4 F♯4 G4 G♯4 A4 B♭4 B4".split()
    assert key_notes("quarter-comma").step("G#5") == 20
    with pytest.raises(ValueError, match="keys are for a tuning"):
        key_notes(3.5)


@pytest.mark.parametrize(
    "tuning", [12, 31, 53, equal(19), just(["9/8", "5/4", "4/3", "3/2", "5/3", "15/8"]), "Vallotti"]
)
def test_every_step_is_at_the_pitch_of_its_tuning(tuning: object) -> None:
    notes = key_notes(tuning)
    for step in (-40, -1, 0, 1, 17, 60):
        assert notes.hz(step) == pytest.approx(float(notes.tuning.hz(step)), rel=1e-12)
        if notes.spelled:
            assert notes.step(notes.note(step)) == step


def test_harmonics_are_keys_with_their_numbers() -> None:
    notes = harmonic_notes("A2", 16)
    assert [notes.hz(step) for step in (0, 6, 15)] == pytest.approx([110, 770, 1760])
    assert notes.names[6] == "7"
    assert [place.code for place in lay_out("line", notes).keys[:2]] == ["Digit1", "Digit2"]
    with pytest.raises(ValueError, match="number of harmonics"):
        harmonic_notes(110, 1)
