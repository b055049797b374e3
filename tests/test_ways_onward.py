"""Ways from a chord of a tune to the next: offered where there is room, and put into its text."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tunelib.harmony import Chord, Taste, parse_lead_sheet, retune, ways_between, ways_onward, with_chords_after
from tunelib.pitch import equal
from tunelib.practice.arranging import Arranging

T31 = equal(31)
HALF = Chord.parse("Dmharm7")


@pytest.mark.parametrize(
    ("before", "sign", "beats", "after"),
    [
        ("| Dm7 | G7 |", 0, "3", "| Dm7 . . Dmharm7 | G7 |"),
        ("| Dm7 | G7 |", 0, "2", "| Dm7 Dmharm7 | G7 |"),
        ("| Dm7 G7 | Cmaj7 |", 1, "1", "| Dm7 . G7 Dmharm7 | Cmaj7 |"),
        ("| Em7 . . A7 | Dm7 |", 0, "2", "| Em7 . Dmharm7 A7 | Dm7 |"),
        ("metre: 3/4\n| Dm7 | G7 |", 0, "2", "metre: 3/4\n| Dm7 . Dmharm7 | G7 |"),
        ("| Dm7 . . . . G7 . . | C |", 0, "3/2", "| Dm7 . . Dmharm7 . G7 . . | C |"),
        ("|: Dm7 | 1. G7 :| 2. Cmaj7 |", 1, "2", "|: Dm7 | 1. G7 Dmharm7 :| 2. Cmaj7 |"),
        ("| Dm7 | % | G7 |", 1, "3", None),
        (
            "| Fmaj7 | Dm7 To Coda | G7 D.C. al Coda | Coda C |",
            1,
            "3",
            "| Fmaj7 | Dm7 . . Dmharm7 To Coda | G7 D.C. al Coda | Coda C |",
        ),
        ("| Dm7  # a word\n| G7 |", 0, "3", None),
        ("| Dm7 | . G7 |", 0, "3", None),
        ("| Dm7 | G7 |", 0, "4", None),
        ("| Dm7 | G7 |", 9, "1", None),
    ],
)
def test_a_chord_is_put_in_and_all_else_stays(before: str, sign: int, beats: str, after: str | None) -> None:
    """In the bar of the chord alone, which is divided as far as it must be; or a clear refusal."""
    added = [(Fraction(beats), HALF)]
    if after is None:
        with pytest.raises(ValueError):
            with_chords_after(before, sign, added)
        return
    changed = with_chords_after(before, sign, added)
    assert [line.split() for line in changed.split("\n")] == [line.split() for line in after.split("\n")]
    old, new = parse_lead_sheet(before), parse_lead_sheet(changed)
    assert new.beats == old.beats and new.form == old.form
    assert [chord.symbol for chord in new.chords if chord.symbol != "Dmharm7"] == [chord.symbol for chord in old.chords]


def test_ways_are_offered_in_the_last_beats() -> None:
    """A bar of four beats has room for two passing chords, two beats for one; chords are joined as they are tuned."""
    tune = retune(parse_lead_sheet("| Dm7 | G7 Am7 | Cmaj7 |"), T31, Taste(adventure=0))
    whole = ways_onward(tune, 0)
    assert 1 <= len(whole) <= 3
    best = ways_between(Chord.parse("Dm7"), Chord.parse("G7"), T31, most=2, count=12)
    assert [onward.way for onward in whole] == list(best[:3])
    for onward in whole:
        count = len(onward.way.passing)
        assert onward.begins == tuple(Fraction(4 - left) for left in range(count, 0, -1))
    assert {len(onward.way.passing) for onward in ways_onward(tune, 1)} == {1}
    assert ways_onward(tune, 3) == (), "after the last chord comes none"
    for wrong in (7, True, None):
        with pytest.raises(ValueError, match=f"no chord sign {wrong}: they go from 0 to 3"):
            ways_onward(tune, wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text", ["| Dm7 G7 Am7 D7 | C |", "| Dm7 | . G7 |", "| Dm7 | N.C. | G7 |", "| Dm7 | Dm7 | G7 |", "| Dm7 | % |"]
)
def test_no_way_is_offered_where_there_is_no_room(text: str) -> None:
    """One beat, a chord that goes on, silence, the same chord again, and a bar that is repeated."""
    assert ways_onward(retune(parse_lead_sheet(text), T31, Taste(adventure=0)), 0) == ()


def test_no_passing_chord_rubs_against_the_melody() -> None:
    """C5 held through the bar: C½♭ a step below it is in none of the chords, though the best way has it."""
    held = "| Dm7 | G7 |\nmelody: | C5:4 | B4:4 |"
    free = retune(parse_lead_sheet("| Dm7 | G7 |"), T31, Taste(adventure=0))
    sung = retune(parse_lead_sheet(held), T31, Taste(adventure=0))
    assert "Dmharm7" in [chord.symbol for chord in ways_onward(free, 0)[0].way.passing]
    for onward in ways_onward(sung, 0):
        for chord in onward.way.passing:
            steps = {note.step(T31) % 31 for note in chord.notes_in(T31)}
            assert 0 in steps or not steps & {30, 1}


def test_a_way_goes_into_the_tune_is_locked_and_undone() -> None:
    """Its chords are written, tuned as they were offered, and what was chosen before stays with its chord."""
    text = "title: Two\n\n|: Dm7 | G7 :| Cmaj7 |\n"
    arranging = Arranging(parse_lead_sheet(text), T31, Taste(), text=text)
    arranging.lock([1, 2])
    locked = {chord.symbol for chord in map(arranging.chord, (1, 2)) for chord in [chord.chord]}
    onward = arranging.ways_onward(0)[0]
    arranging.go_by(0, onward)
    names = [timed.symbol for timed in arranging.sheet.chords]
    middle = [chord.symbol for chord in onward.way.passing]
    assert names == ["Dm7", *middle, "G7"] * 2 + ["Cmaj7"]
    assert parse_lead_sheet(arranging.text) == arranging.sheet
    for number, chord in enumerate(onward.way.passing, start=1):
        assert arranging.is_locked(number) and arranging.chord(number).chord == chord
    after = len(middle) + 1
    assert {arranging.chord(sign).chord.symbol for sign in (after, after + 1)} == locked
    assert arranging.is_locked(after) and arranging.is_locked(after + 1)
    arranging.undo()
    assert arranging.text == text and [timed.symbol for timed in arranging.sheet.chords] == ["Dm7", "G7"] * 2 + [
        "Cmaj7"
    ]
    assert arranging.signs == [0, 1, 0, 1, 2]
    arranging.redo()
    assert [timed.symbol for timed in arranging.sheet.chords] == names


def test_a_tune_that_is_no_text_has_none_to_put_in() -> None:
    assert Arranging(parse_lead_sheet("| Dm7 | G7 |"), T31, Taste()).ways_onward(0) == ()
