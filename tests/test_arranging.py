"""A tune in its player's hands: choices, locks, undoing, and what is left of them when the text changes."""

from __future__ import annotations

import pytest

from tunelib.harmony.choices import NO_CHOICES
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.taste import Taste
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.practice.arranging import Arranging, still_meant

TURN = "key: C major\n\n|: Cmaj7 A7 | Dm7 G7 :| Em7 A7 | Dm7 G7 | Cmaj7 |"


def arranging(text: str = TURN, adventure: float = 0.6) -> Arranging:
    return Arranging(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure))


def tuned(tune: Arranging) -> list[str]:
    return [chord.chord.symbol for chord in tune.tune.chords]


def test_what_is_taken_stays_and_a_repeat_plays_it_again() -> None:
    tune = arranging()
    other = next(one for one in tune.alternatives(1) if one.chord.symbol == "A7")
    tune.take(1, other)
    for adventure in (0.0, 0.6, 1.0):
        tune.like(Taste(adventure))
        chords = [chord for chord, sign in zip(tune.tune.chords, tune.signs, strict=True) if sign == 1]
        assert len(chords) == 2 and all((one.chord, one.notes) == (other.chord, other.notes) for one in chords)
    assert tune.is_locked(1) and not tune.is_locked(3)


def test_a_symbol_is_locked_everywhere_and_freed() -> None:
    tune = arranging()
    free = tuned(tune)
    plain = next(one for one in tune.alternatives(1) if one.chord.symbol == "A7")
    tune.take(1, plain)
    tune.lock_everywhere(1)
    tune.free([1])
    assert [symbol for symbol in tuned(tune) if symbol.startswith("A")] == ["A7"] * 3
    assert tune.is_locked(5) and tune.is_locked_everywhere(5) and not tune.is_locked(3)
    tune.free_everywhere(5)
    assert tuned(tune) == free and not tune.choices


def test_a_kept_note_stays_whatever_becomes_of_the_other_voices() -> None:
    tune = arranging()
    top = tune.chord(3).notes[-1]
    tune.keep(3, top)
    for other in tune.alternatives(2):
        tune.take(2, other)
        assert top in tune.chord(3).notes[1:]
    assert tune.kept(3) == (top,)
    inner = tune.chord(3).notes[1]
    tune.keep(3, inner)
    assert set(tune.kept(3)) == {top, inner}
    tune.keep(3, inner)
    tune.keep(3, top)
    assert not tune.is_locked(3)


def test_a_note_that_no_layout_of_a_voicing_has_is_given_up_and_told() -> None:
    """Shells have no fifth; with four voices it is back."""
    tune = arranging("| Dm7 | G7 | Cmaj7 |")
    fifth = next(note for note in tune.chord(0).notes[1:] if note.letter == "A")
    tune.keep(0, fifth)
    tune.like(Taste(0.6, voicing="shells"))
    assert [chord.written.symbol for chord in tune.lost()] == ["Dm7"]
    tune.like(Taste(0.6, voicing="rootless"))
    assert not tune.lost() and fifth in tune.chord(0).notes


def test_what_a_chord_is_now_is_known_under_another_spelling() -> None:
    """The harmonic seventh of D flat resolves up as an augmented sixth, so that it is spelled B in C major."""
    tune = arranging("key: C major\n\n| Dm7 | Db7 | Cmaj7 |")
    tune.take(1, next(one for one in tune.alternatives(1) if one.chord.symbol == "Dbharm7"))
    assert any(note.letter == "B" for note in tune.chord(1).notes)
    now, *others = tune.alternatives(1)
    assert now.price == "as it is now" and now.notes == tune.chord(1).notes
    assert all(other.price != "as it is now" for other in others)


def test_of_a_whole_layout_that_is_locked_one_voice_is_let_go() -> None:
    tune = arranging()
    tune.lock([3])
    bass, *upper = tune.chord(3).notes
    assert tune.kept(3) == (bass, *upper)
    tune.keep(3, upper[0])
    assert tune.kept(3) == tuple(upper[1:])


def test_all_is_undone_and_done_again_to_the_note() -> None:
    tune = arranging()
    seen = [tune.tune]
    for change in (
        lambda: tune.take(1, tune.alternatives(1)[1]),
        lambda: tune.like(Taste(1.0, 0.5)),
        lambda: tune.lock([2, 3]),
        lambda: tune.lock_everywhere(0),
    ):
        change()
        seen.append(tune.tune)
    for before in reversed(seen[:-1]):
        assert tune.can_undo
        tune.undo()
        assert (tune.tune.chords, tune.taste, tune.choices) == (before.chords, before.taste, before.choices)
    assert not tune.can_undo
    for after in seen[1:]:
        tune.redo()
        assert (tune.tune.chords, tune.taste, tune.choices) == (after.chords, after.taste, after.choices)
    assert not tune.can_redo
    tune.undo()
    tune.lock([0])
    assert not tune.can_redo, "what is new takes the place of what was undone"


def test_what_cannot_be_solved_leaves_all_as_it_was() -> None:
    tune = arranging()
    before = tune.tune
    with pytest.raises(ValueError, match="E7"):
        tune.choose(NO_CHOICES.everywhere("E7", Chord.parse("Eharm7")))
    assert tune.tune is before and not tune.choices and not tune.can_undo
    with pytest.raises(ValueError, match="sign 99"):
        tune.lock([99])
    assert tune.tune is before


@pytest.mark.parametrize(
    ("after", "signs"),
    [
        (TURN, {1, 6}),
        ("key: C major\n\n| N.C. | Cmaj7 A7 | Dm7 G7 |", set()),  # all is a bar later
        ("key: C major\n\n|: Cmaj7 A7 | F G7 :| Em7 A7 | Dm7 G7 | Cmaj7 |", {1, 6}),
        ("key: C major\n\n|: Cmaj7 Bb7 | Dm7 G7 :| Em7 A7 | Dm7 G7 | Cmaj7 |", {6}),
    ],
)
def test_choices_outlive_a_change_of_the_text_where_it_leaves_their_chords_alone(after: str, signs: set[int]) -> None:
    before = parse_lead_sheet(TURN)
    choices = (
        NO_CHOICES.at(1, Chord.parse("Aharm7")).at(6, Chord.parse("Dsubharm7")).everywhere("Em7", Chord.parse("Em7"))
    )
    left = still_meant(choices, before, parse_lead_sheet(after))
    assert set(left.chords) == signs
    assert set(left.symbols) == ({"Em7"} if "Em7" in after else set())
