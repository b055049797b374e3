"""Frets and strings, against luthiers' tables, the old rule of thumb, and another library's tunings."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from music21 import instrument as music21_instruments

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch.frets import (
    SCALE_LENGTH,
    STRING_SETS,
    fret_gaps,
    fret_places,
    frets_too_close,
    nearest_common_fret,
    note_at,
    string_set,
)
from tunelib.pitch.intervals import cents
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import equal

# Published to six places with the formula of the trade (noah.org, "fret position"; fret 4 is misprinted there).
FRACTIONS = {
    1: 0.056126, 2: 0.109101, 3: 0.159104, 5: 0.250846, 6: 0.292893, 7: 0.332580, 8: 0.370039, 9: 0.405396,
    10: 0.438769, 11: 0.470268, 12: 0.500000, 15: 0.579552, 19: 0.666290, 24: 0.750000,
}  # fmt: skip


@pytest.mark.parametrize("length", [650.0, 647.7, 25.5, 25.0])
def test_twelve_frets_lie_where_published_tables_put_them(length: float) -> None:
    """The fractions hold for every scale length, in whatever unit, two octaves up."""
    places = fret_places(12, length, 24)
    for fret, fraction in FRACTIONS.items():
        assert places[fret - 1] == pytest.approx(fraction * length, abs=0.6e-6 * length)


def test_distances_to_the_bridge_are_those_of_a_published_table() -> None:
    """25-inch scale: 23.597, 22.272, 21.022, 19.843 and 18.729 inches are left to the bridge (stuphi.co.uk)."""
    assert 25 - fret_places(12, 25.0, 5) == pytest.approx([23.597, 22.272, 21.022, 19.843, 18.729], abs=0.0006)


def test_each_fret_takes_the_published_divisor_of_what_is_left() -> None:
    """Luthiers divide the string that is left by 17.817 (common practice)."""
    left = SCALE_LENGTH - np.concatenate([[0], fret_places(12, frets=24)])
    assert left[:-1] / fret_gaps(12, frets=24) == pytest.approx(np.full(24, 17.817), abs=2e-4)


def test_the_rule_of_18_falls_short_by_what_is_published() -> None:
    """By the old rule twelve frets are not quite an octave, 1187.5 cents: its frets are nearer to the nut."""
    by_rule = SCALE_LENGTH * (1 - (17 / 18) ** np.arange(1, 13))
    assert cents(SCALE_LENGTH / (SCALE_LENGTH - by_rule[-1])) == pytest.approx(1187.455, abs=5e-4)
    short = fret_places(12) - by_rule
    assert np.all(np.diff(short) > 0) and short[0] == pytest.approx(0.371, abs=1e-3)
    # A string of 350 mm: frets 1, 7 and 12 by the rule are published at 19.44, 115.40 and 173.72 mm (a ukulele maker).
    published = np.array([19.44, 115.40, 173.72])
    assert 350 * (1 - (17 / 18) ** np.array([1, 7, 12])) == pytest.approx(published, abs=0.015)
    assert np.all(fret_places(12, 350)[[0, 6, 11]] > published)


@pytest.mark.parametrize("division", [5, 12, 19, 24, 31, 53, 72])
def test_a_fret_sounds_the_step_it_is_named_for(division: int) -> None:
    """What is left of the string, as a ratio, is n steps: frequency goes as one over length (Mersenne 1636)."""
    frets = np.arange(1, 2 * division + 1)
    left = SCALE_LENGTH - fret_places(division, frets=2 * division)
    assert cents(SCALE_LENGTH / left) == pytest.approx(1200 * frets / division, abs=1e-9)
    assert fret_places(division)[-1] == SCALE_LENGTH / 2


def test_many_scale_lengths_are_worked_out_at_once() -> None:
    """The frets are the last axis, and each row is that of its own length."""
    lengths = np.array([[300.0, 650.0], [863.6, 900.0]])
    table, gaps = fret_places(31, lengths), fret_gaps(31, lengths, 40)
    assert table.shape == (2, 2, 31) and gaps.shape == (2, 2, 40)
    assert np.array_equal(table[1, 0], fret_places(31, 863.6))
    assert gaps.sum(axis=-1) == pytest.approx(fret_places(31, lengths, 40)[..., -1])
    assert frets_too_close(31, 12, lengths).shape == nearest_common_fret(31, lengths)[1].shape == (2, 2, 31)


def test_thirty_one_frets_of_a_guitar_are_worked_out_by_hand() -> None:
    """650 (1 - 2 ** (-n / 31)) mm with a pocket calculator: 14.372, 130.235 and 215.368 for frets 1, 10 and 18."""
    assert fret_places(31)[[0, 9, 17, 30]] == pytest.approx([14.372, 130.235, 215.368, 325.0], abs=6e-4)


def test_which_frets_are_too_close_depends_on_finger_and_string() -> None:
    """On a guitar the gap falls below 12 mm after fret 9, from 12.02 to 11.75; a bass at 864 mm has room to fret 21."""
    assert np.flatnonzero(frets_too_close(31, 12))[0] + 1 == 10
    gaps = np.diff([106.464, 118.483, 130.235])  # worked out by hand, frets 8, 9 and 10
    assert gaps[0] > 12 > gaps[1]
    assert not frets_too_close(31, 7.3).any() and frets_too_close(31, 14.4).all()
    assert np.flatnonzero(frets_too_close(31, 12, 864))[0] + 1 == 22
    assert not frets_too_close(12, 18).any(), "a common guitar has room for every finger up to the octave"


def test_the_nearest_common_fret_is_found_by_looking_at_all() -> None:
    """Beside a plain search over the published fractions of twelve; the octave and nothing else falls together."""
    for division in (12, 19, 31, 53):
        fret, away = nearest_common_fret(division)
        common = np.concatenate([[0], fret_places(12, frets=14)])
        table = fret_places(division)[:, np.newaxis] - common
        best = np.abs(table).argmin(axis=1)
        assert fret.tolist() == best.tolist()
        assert away == pytest.approx(table[np.arange(division), best], abs=1e-9)
    fret, away = nearest_common_fret(31)
    assert fret[-1] == 12 and np.flatnonzero(np.abs(away) < 0.01).tolist() == [30]
    assert fret[9] == 4 and away[9] == pytest.approx(130.235 - 134.095, abs=1e-3)


def test_strings_are_tuned_as_another_library_has_them() -> None:
    """music21's string pitches; its ukulele has the high G, and ours says in its name that it is low."""
    for name, theirs in (
        ("guitar", music21_instruments.Guitar),
        ("bass guitar", music21_instruments.ElectricBass),
        ("mandolin", music21_instruments.Mandolin),
        ("tenor banjo", music21_instruments.Banjo),
    ):
        assert [note.hz() for note in STRING_SETS[name]] == pytest.approx(
            [pitch.frequency for pitch in theirs().stringPitches]
        )
    ukulele = [pitch.frequency for pitch in music21_instruments.Ukulele().stringPitches]
    assert [note.hz() for note in STRING_SETS["ukulele with low G"]] == pytest.approx([ukulele[0] / 2, *ukulele[1:]])


def test_lute_viol_and_five_string_bass_are_tuned_as_handbooks_say() -> None:
    """Lute and bass viol: fourths with one third in the middle, from G and from D; the bass's fifth string is a B.

    Common practice, from memory.
    """
    steps_of = {name: np.diff([n.step(equal(12)) for n in STRING_SETS[name]]).tolist() for name in STRING_SETS}
    assert steps_of["lute in G"] == steps_of["bass viol"] == [5, 5, 4, 5, 5]
    assert steps_of["five-string bass guitar"] == [5, 5, 5, 5]
    lowest = [str(string_set(name)[0]) for name in ("lute in G", "bass viol", "five-string bass guitar")]
    assert lowest == ["G2", "D2", "B0"]
    assert all(np.all(np.array(steps) > 0) for steps in steps_of.values()), "lowest first"


def test_every_fret_of_every_string_sounds_its_share_above_the_open_string() -> None:
    """n frets up are n/31 of an octave, by whatever name; A4 stays at 440 Hz."""
    tuning = equal(31)
    for notes in STRING_SETS.values():
        for string in notes:
            heard = [note_at(string, fret, 31).hz(tuning) for fret in range(63)]
            assert cents(np.array(heard) / string.hz(tuning)) == pytest.approx(1200 * np.arange(63) / 31, abs=1e-9)
    assert note_at(Note.parse("A2"), 62, 31) == Note.parse("A4") and Note.parse("A4").hz(tuning) == 440


def test_twelve_frets_give_the_notes_that_guitarists_know() -> None:
    """Fret 5 of each string is the next one's note, except 4 on G (common practice)."""
    strings = STRING_SETS["guitar"]
    for fret, low, high in zip((5, 5, 5, 4, 5), strings, strings[1:], strict=False):
        assert note_at(low, fret, 12) == high
    assert [note_at(low, fret, 31) for low, fret in zip(strings, (13, 13, 13, 10, 13), strict=False)] == [*strings[1:]]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: fret_places(0), r"a division is a whole number from 1 to 1000000, not 0"),
        (lambda: fret_places(31.0), r"a division is a whole number"),  # type: ignore[arg-type]
        (lambda: fret_places(31, frets=0), r"the number of frets is a whole number from 1 to 1000000, not 0"),
        (lambda: fret_places(31, 0), r"a scale length is above 0 mm, such as 650, not 0"),
        (lambda: fret_places(31, [650, -1]), r"a scale length is above 0 mm, such as 650, not -1"),
        (lambda: fret_places(31, "long"), r"a scale length must be a number"),
        (lambda: fret_places(31, float("nan")), r"a scale length must be finite"),
        (lambda: frets_too_close(31, 0), r"the width of a fingertip is one number above 0 mm, such as 12, not 0"),
        (lambda: frets_too_close(31, [12, 13]), r"one number above 0 mm"),  # type: ignore[arg-type]
        (lambda: note_at("E2", 3, 31), r"an open string is a note, such as Note.parse\('E♭4'\), not 'E2'"),  # type: ignore[arg-type]
        (lambda: note_at(Note.parse("E2"), -1, 31), r"a fret is a whole number from 0 to 1000000, not -1"),
        (lambda: note_at(Note.parse("E2"), 3, 8), r"the notes of 8 equal steps have no letters"),
        (lambda: string_set("gitar"), r"no set of strings is called 'gitar'; did you mean guitar"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Any, message: str) -> None:
    """ValueError says what was wrong and what would be right."""
    with pytest.raises(ValueError, match=message):
        call()


def test_the_fretboard_says_and_sounds_what_the_tables_say() -> None:
    """Fret 10 of the A string at 650 mm: C♯3, 130.24 mm, 3.86 mm short of common fret 4, and 387.1 cents up."""
    board = EXHIBITS["fretboard"]
    values = board.settle({"string": 5, "fret": 10})
    sentence = board.sentence(**values)
    assert "A2, sounds C♯3, 130.24 mm from the nut: 3.86 mm short of fret 4 of 12" in sentence
    open_note, fretted = board.score(**values).notes
    assert cents(fretted.hertz / open_note.hertz) == pytest.approx(10 * 1200 / 31)
    assert open_note.hertz == pytest.approx(110)
    assert "since there is no string 6" in board.sentence(**board.settle({"strings": "mandolin", "string": 6}))


def test_the_printed_fretboard_has_every_fret_of_every_string() -> None:
    """One row a fret and the nut, notes as the strings sound, distances as in the worked table, and the cautions."""
    board = EXHIBITS["fretboard"]
    page = board.printed(**board.settle({}))
    assert len(page.rows) == 32 and {len(row) for row in page.rows} == {len(page.head)}
    assert page.rows[10][:7] == ("10", "G♯2", "C♯3", "F♯3", "B3", "D♯4", "G♯4")
    assert page.rows[10][7:] == ("130.24", "11.75", "4", "−3.86")
    assert page.rows[31][7:] == ("325.00", "7.35", "12", "0.00")
    for word in ("hurts", "teacher", "stiffness", "saddle"):
        assert any(word in caution for caution in page.cautions)


@pytest.mark.parametrize("look", [Look(THEMES["dark"]), Look(THEMES["light"], tall=True)], ids=["wide", "upright"])
def test_the_picture_of_the_fretboard_is_to_scale(look: Look) -> None:
    """The fingertip and the room for it are in the proportion of their millimetres; the frets are where they sound."""
    board = EXHIBITS["fretboard"]
    scene = board.lay_out(Figure(figsize=look.inches), look)
    for scale, fret, finger in ((650, 9, 12), (650, 28, 9), (900, 1, 20)):
        values = board.settle({"scale": scale, "fret": fret, "finger": finger})
        scene.update(**values)
        [tip], [gap] = scene.parts["finger"], scene.parts["gap"]
        room = abs(gap.get_height() if look.tall else gap.get_width())
        left = scale * 2 ** (-(fret - 1) / 31)
        assert room / (2 * tip.get_radius()) == pytest.approx(left * (1 - 2 ** (-1 / 31)) / finger)
        assert board.numbers(**values)["room"] == f"{left * (1 - 2 ** (-1 / 31)):.2f}"
        frets = np.unique(scene.parts["frets"][0].get_data()[1 if look.tall else 0])
        frets = np.sort(frets[~np.isnan(frets)])[:: -1 if look.tall else 1]
        places = 2 * (1 - 2 ** (-np.arange(1, 32) / 31))
        assert (frets - frets[0]) / (frets[-1] - frets[0]) == pytest.approx((places - places[0]) / (1 - places[0]))


def test_the_string_that_sounds_lights_up_open_and_then_from_the_fret() -> None:
    board = EXHIBITS["fretboard"]
    scene = board.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    [string] = scene.parts["string"]
    seen = []
    for playing in (SILENT, Playing(0.1, (0,)), Playing(1.6, (1,))):
        scene.update(**board.settle({}))
        scene.light(playing)
        seen.append((string.get_xdata()[0], string.get_linewidth()))
    (still_at, thin), (open_at, lit), (fret_at, also_lit) = seen
    assert open_at < fret_at == still_at and thin < lit == also_lit


def test_the_line_from_the_fret_to_its_room_touches_no_number() -> None:
    """A number that would be in its way is left out; all the others are there."""
    board = EXHIBITS["fretboard"]
    scene = board.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    left_out = set()
    for fret in range(32):
        scene.update(**board.settle({"fret": fret}))
        _, *marks, _ = scene.parts["common"]
        pointer = scene.parts["words"][-1].get_xdata()[0]
        for text in marks:
            apart = abs(text.get_position()[0] - pointer)
            assert text.get_visible() == (apart > 0.05 + 0.05 * len(text.get_text()))
            left_out |= set() if text.get_visible() else {text.get_text()}
    assert left_out, "some number is in the way somewhere"
