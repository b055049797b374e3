"""Choices by hand, kept in a small file: read back as they were, and what is wrong in one said to be so."""

from __future__ import annotations

import re

import pytest

from tunelib.harmony.choices import NO_CHOICES, Choice, Choices, choices_text, parse_choices
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.pitch.notes import Note

SHEET = parse_lead_sheet("|: Dm7 G7 | 1. Cmaj7 A7 :| 2. Cmaj7 |")
LAYOUT = tuple(map(Note.parse, ("G1", "F4", "B4", "D5")))


def test_choices_are_read_back_as_they_were() -> None:
    choices = (
        NO_CHOICES.everywhere("Dm7", Chord.parse("Dsubharm7"))
        .at(1, Chord.parse("G7"), LAYOUT)
        .at(3, Chord.parse("Aharm7"), keep=(Note.parse("C#4"),))
        .at(4, Chord.parse("Cneumid7"))
    )
    text = choices_text(choices, SHEET)
    assert parse_choices(text, SHEET) == choices
    assert 'written = "A7"' in text and "bar = 2\nbeat = 3.0" in text and '"Dm7" = "Dsubharm7"' in text
    assert choices_text(NO_CHOICES, SHEET) == "" and parse_choices("", SHEET) == NO_CHOICES


def test_no_method_changes_what_it_is_called_on() -> None:
    one = NO_CHOICES.at(0, Chord.parse("Dm7")).everywhere("G7", Chord.parse("Gharm7"))
    assert one.without(0).without_symbol("G7") == NO_CHOICES and one and not NO_CHOICES
    assert set(one.chords) == {0} and set(one.symbols) == {"G7"}


WRONG = {
    "no TOML": ("[symbols", "the choices are not TOML"),
    "another table": ("[sevenths]", "choices have [symbols] and [[chords]], not 'sevenths'"),
    "no table": ("symbols = 3", "choices have a table [symbols] and an array [[chords]]"),
    "a symbol that is not there": ('[symbols]\nF7 = "F7"', "[symbols]: the tune has no 'F7'"),
    "no chord": ('[symbols]\nG7 = "Gwhat"', "[symbols], G7: 'Gwhat' cannot be read from character 2 on"),
    "nothing chosen": ("[[chords]]\nbar = 1", "[[chords]] 1: a choice has a bar, a beat and what is chosen"),
    "another key": (
        '[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dm7"\nloud = 1',
        "[[chords]] 1: 'loud' is none of bar, beat",
    ),
    "no number": ('[[chords]]\nbar = "1"\nbeat = 1\nchosen = "Dm7"', "[[chords]] 1: bar and beat are numbers"),
    "no chord there": ('[[chords]]\nbar = 1\nbeat = 2\nchosen = "Dm7"', "no chord begins in bar 1 on beat 2"),
    "another tune": (
        '[[chords]]\nbar = 1\nbeat = 1\nwritten = "Em7"\nchosen = "Dm7"',
        "[[chords]] 1: bar 1 has Dm7 there, not Em7: the tune has changed",
    ),
    "no note": ('[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dm7"\nkeep = ["H4"]', "[[chords]] 1: 'H4' is not a note"),
    "no list": (
        '[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dm7"\nnotes = "D2 F4"',
        "[[chords]] 1: notes are a list of names",
    ),
    "too few": ('[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dm7"\nnotes = ["D2"]', "[[chords]] 1: a layout has a bass"),
    "both": (
        '[[chords]]\nbar = 1\nbeat = 1\nchosen = "Dm7"\nnotes = ["D2", "F4"]\nkeep = ["F4"]',
        "[[chords]] 1: give the whole layout or the notes to keep, not both",
    ),
    "much": ("#" * 1_000_001, "the choices have more than 1,000,000 characters"),
}


@pytest.mark.parametrize(("text", "words"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_said_in_a_line(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)) as refused:
        parse_choices(text, SHEET)
    assert "\n" not in str(refused.value)


def test_a_choice_is_made_of_chords_and_notes() -> None:
    for make, words in (
        (lambda: Choice("G7"), "a chord is chosen as one"),  # type: ignore[arg-type]
        (lambda: Choice(Chord.parse("G7"), ("B3", "F4")), "a layout is chosen as notes"),  # type: ignore[arg-type]
        (lambda: Choices({"G7": "Gharm7"}), "a symbol is chosen by its text and a Chord"),  # type: ignore[dict-item]
        (lambda: Choices(chords={-1: Choice(Chord.parse("G7"))}), "a chord is chosen by the number of its sign"),
        (lambda: choices_text(NO_CHOICES.at(9, Chord.parse("C")), SHEET), "the tune has no chord sign 9"),
    ):
        with pytest.raises(ValueError, match=words):
            make()
