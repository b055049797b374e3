"""Spelled intervals against music21, against the names in the books, and against steps for every pair of notes."""

from __future__ import annotations

import itertools

import music21
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.pitch.intervals import cents
from tunelib.pitch.meantone import meantone
from tunelib.pitch.notes import LETTERS, Note, spell, spell_on_chain
from tunelib.pitch.spelled import SpelledInterval, interval_names
from tunelib.pitch.tunings import Tuning, equal, just

NOTES = [Note(letter, half_sharps, octave) for octave in (4, 5) for letter in LETTERS for half_sharps in range(-4, 5)]
PAIRS = list(itertools.product(NOTES[:63], NOTES))
WHOLE_PAIRS = [pair for pair in PAIRS if not any(note.half_sharps % 2 for note in pair)]
intervals = st.builds(SpelledInterval, st.integers(-30, 30), st.integers(-110, 110))

# Thirty-one steps as families: seconds, thirds, ... (names of the trade; where each lies, common practice).
THIRTY_ONE_NAMES = [
    "perfect unison", "super unison", "subminor second", "minor second", "neutral second", "major second",
    "supermajor second", "subminor third", "minor third", "neutral third", "major third", "supermajor third",
    "sub fourth", "perfect fourth", "super fourth", "augmented fourth", "diminished fifth", "sub fifth",
    "perfect fifth", "super fifth", "subminor sixth", "minor sixth", "neutral sixth", "major sixth",
    "supermajor sixth", "subminor seventh", "minor seventh", "neutral seventh", "major seventh",
    "supermajor seventh", "sub octave", "perfect octave",
]  # fmt: skip


@pytest.mark.parametrize("tuning", [equal(24), equal(31), equal(17)], ids=lambda tuning: tuning.name)
def test_where_there_are_halves_every_pair_of_notes_is_as_many_steps_apart_as_its_interval(tuning: Tuning) -> None:
    for lower, upper in PAIRS:
        assert lower.interval_to(upper).step(tuning) == upper.step(tuning) - lower.step(tuning)


@pytest.mark.parametrize(
    "tuning",
    [*map(equal, (12, 19, 53, 22, 43)), *(meantone("1/4", notes=n) for n in (12, 19, 31))],
    ids=lambda tuning: tuning.name,
)
def test_every_pair_of_naturals_sharps_and_flats_is_as_many_steps_apart_as_its_interval(tuning: Tuning) -> None:
    for lower, upper in WHOLE_PAIRS:
        assert lower.interval_to(upper).step(tuning) == upper.step(tuning) - lower.step(tuning)


@pytest.mark.parametrize("n", [12, 19, 53])
def test_every_interval_with_half_a_sharp_in_it_falls_between_the_steps(n: int) -> None:
    halves = [pair for pair in PAIRS if (pair[0].half_sharps - pair[1].half_sharps) % 2]
    for interval in {lower.interval_to(upper) for lower, upper in halves}:
        with pytest.raises(ValueError, match=f"falls between the steps of {n} equal steps, which has no half-sharps"):
            interval.step(equal(n))


def test_every_pair_of_the_thirty_one_notes_by_each_of_its_spellings() -> None:
    tuning = equal(31)
    spellings = [(spell(step, tuning), spell_on_chain(step, tuning)) for step in range(31)]
    for low, high in itertools.product(range(31), repeat=2):
        for lower, upper in itertools.product(spellings[low], spellings[high]):
            interval = lower.interval_to(upper)
            assert interval.step(tuning) == interval.letters + interval.quartertones == high - low
            assert lower.transpose(interval).step(tuning) == high


def test_a_step_of_thirty_one_is_letters_plus_quarter_tones() -> None:
    for letters, quartertones in itertools.product(range(-15, 16), range(-50, 51)):
        assert SpelledInterval(letters, quartertones).step(equal(31)) == letters + quartertones


def test_the_interval_between_two_notes_leads_from_one_to_the_other() -> None:
    for lower, upper in PAIRS:
        interval = lower.interval_to(upper)
        assert lower.transpose(interval) == upper
        assert upper.transpose(-interval) == lower
        assert upper.interval_to(lower) == -interval
        assert interval.fifths == upper.fifths - lower.fifths


@settings(deadline=None)  # the first to ask a tuning fills what is kept of it
@given(st.sampled_from(NOTES), st.sampled_from(NOTES), st.sampled_from(NOTES))
def test_intervals_add_up_along_the_way(first: Note, second: Note, third: Note) -> None:
    there, on = first.interval_to(second), second.interval_to(third)
    assert there + on == first.interval_to(third)
    assert first.interval_to(third) - on == there


@settings(deadline=None)
@given(intervals, intervals, st.sampled_from([24, 31]))
def test_steps_add_up_when_intervals_do(one: SpelledInterval, other: SpelledInterval, n: int) -> None:
    assert (one + other).step(equal(n)) == one.step(equal(n)) + other.step(equal(n))
    assert (one - other).step(equal(n)) == one.step(equal(n)) - other.step(equal(n))


def test_every_interval_between_two_notes_is_read_back_from_its_name() -> None:
    for lower, upper in PAIRS:
        for interval in (lower.interval_to(upper), upper.interval_to(lower)):
            assert SpelledInterval.parse(interval.name) == interval
            assert SpelledInterval.parse(f"  {interval.name.upper()} ") == interval
            assert lower.transpose(interval.name) == lower.transpose(interval)


def test_names_match_music21() -> None:
    """Every pair of naturals, sharps and flats, doubled ones included, up to music21's fourfold alterations."""
    signs = {-4: "--", -2: "-", 0: "", 2: "#", 4: "##"}
    words = {"doubly-": "doubly ", "triply-": "triply ", "quadruply-": "4-fold "}
    named = 0
    for lower, upper in WHOLE_PAIRS:
        ours = lower.interval_to(upper)
        if ours.name.startswith("5-fold") or ours.name.endswith("down"):
            continue  # music21 stops at fourfold, and calls C to C flat a diminished unison
        pitches = (
            music21.pitch.Pitch(f"{note.letter}{signs[note.half_sharps]}{note.octave}") for note in (lower, upper)
        )
        theirs = music21.interval.Interval(*pitches).niceName.lower()
        for word, plain in words.items():
            theirs = theirs.replace(word, plain)
        assert ours.name == theirs
        named += 1
    assert named > 1500


@pytest.mark.parametrize("number", range(1, 30))
def test_short_forms_match_music21(number: int) -> None:
    perfect = number % 7 in (1, 4, 5)
    for quality in ("P", "A", "AA", "d", "dd") if perfect else ("M", "m", "A", "AA", "d", "dd"):
        if number == 1 and quality[0] == "d":
            continue  # music21 turns a diminished unison round
        theirs = music21.interval.Interval(f"{quality}{number}")
        ours = SpelledInterval.parse(f"{quality}{number}")
        assert (ours.letters, ours.quartertones) == (theirs.generic.staffDistance, 2 * theirs.chromatic.semitones)
        assert SpelledInterval.parse(f"-{quality}{number}") == -ours


def test_the_families_of_thirty_one_steps() -> None:
    tuning = equal(31)
    assert [interval_names(step, tuning)[0].name for step in range(32)] == THIRTY_ONE_NAMES
    assert interval_names(42, tuning)[0].name == "supermajor tenth"
    assert interval_names(61, tuning)[0].name == "sub fifteenth"


@pytest.mark.parametrize(
    ("step", "other"),
    [(1, "diminished second"), (2, "augmented unison"), (6, "diminished third"), (7, "augmented second"),
     (11, "diminished fourth"), (12, "augmented third"), (19, "diminished sixth"), (20, "augmented fifth"),
     (24, "diminished seventh"), (25, "augmented sixth"), (29, "diminished octave"), (30, "augmented seventh")],
)  # fmt: skip
def test_the_other_names_of_thirty_one_steps(step: int, other: str) -> None:
    """Meantone's augmented and diminished intervals, where the fifth is 18 steps: common practice."""
    assert [interval.name for interval in interval_names(step, equal(31))][1:] == [other]


@pytest.mark.parametrize(
    ("ratio", "name"),
    [("7/6", "subminor third"), ("9/7", "supermajor third"), ("11/9", "neutral third"), ("6/5", "minor third"),
     ("5/4", "major third"), ("8/7", "supermajor second"), ("7/4", "subminor seventh"), ("12/7", "supermajor sixth"),
     ("12/11", "neutral second"), ("18/11", "neutral sixth"), ("14/9", "subminor sixth"), ("21/20", "subminor second"),
     ("11/6", "neutral seventh"), ("16/15", "minor second"), ("9/5", "minor seventh"), ("15/8", "major seventh"),
     ("27/14", "supermajor seventh"), ("11/8", "super fourth"), ("16/11", "sub fifth"), ("3/2", "perfect fifth")],
)  # fmt: skip
def test_ratios_have_the_names_that_the_books_give_them(ratio: str, name: str) -> None:
    """Ellis 1885, Appendix XX, for the subminor, supermajor and neutral ones (names from memory)."""
    step, _ = equal(31).nearest(cents(ratio))
    assert interval_names(step, equal(31))[0].name == name


def test_ordinary_names_come_first_in_twelve() -> None:
    """Common practice."""
    names = [interval_names(step, equal(12))[0].name for step in range(13)]
    assert names == [
        "perfect unison", "minor second", "major second", "minor third", "major third", "perfect fourth",
        "augmented fourth", "perfect fifth", "minor sixth", "major sixth", "minor seventh", "major seventh",
        "perfect octave",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "tuning", [*map(equal, (5, 7, 12, 17, 19, 22, 24, 31, 53)), meantone("1/4", notes=19)], ids=lambda t: t.name
)
def test_every_name_of_a_step_spans_that_step(tuning: Tuning) -> None:
    for step in range(3 * len(tuning)):
        names = interval_names(step, tuning)
        assert len(set(names)) == len(names)
        assert all(name.step(tuning) == step and name.quartertones >= 0 for name in names)
        assert names or len(tuning) == 53


@pytest.mark.parametrize(
    ("name", "letters", "quartertones", "fifths"),
    [("perfect fifth", 4, 14, 1), ("fifth", 4, 14, 1), ("octave", 7, 24, 0), ("major third", 2, 8, 4),
     ("neutral third", 2, 7, 0.5), ("minor third", 2, 6, -3), ("subminor third", 2, 5, -6.5),
     ("diminished fourth", 3, 8, -8), ("augmented sixth", 5, 20, 10), ("major third down", -2, -8, -4),
     ("augmented unison down", 0, -2, -7), ("doubly augmented fourth", 3, 14, 13),
     ("super-augmented fifth", 4, 17, 11.5),
     ("sub-diminished seventh", 6, 17, -12.5), ("-M3", -2, -8, -4), ("A1", 0, 2, 7), ("d2", 1, 0, -12)],
)  # fmt: skip
def test_intervals_counted_in_letters_quarter_tones_and_fifths(
    name: str, letters: int, quartertones: int, fifths: float
) -> None:
    """Letters and quarter-tones counted by hand; along the chain a sharp is seven fifths: common practice."""
    interval = SpelledInterval.parse(name)
    assert (interval.letters, interval.quartertones, interval.fifths) == (letters, quartertones, fifths)


def test_quality_and_number_make_the_name() -> None:
    interval = SpelledInterval.parse("subminor tenth down")
    assert (interval.quality, interval.number, interval.offset) == ("subminor", "tenth", -3)
    assert str(interval) == interval.name == "subminor tenth down"
    assert [SpelledInterval.parse(f"M{n}").number for n in (16, 21, 23, 112)] == ["16th", "21st", "23rd", "112th"]


@settings(deadline=None)
@given(st.text(max_size=12) | st.from_regex(r"-?[PMmAd]{0,3}[0-9]{0,4}", fullmatch=True))
def test_any_text_is_an_interval_or_is_refused_with_what_would_be_right(text: str) -> None:
    try:
        interval = SpelledInterval.parse(text)
    except ValueError as refused:
        assert "such as" in str(refused) and "\n" not in str(refused)
    else:
        assert isinstance(interval, SpelledInterval)


@pytest.mark.parametrize(
    "text", ["", "third", "P3", "M5", "neutral fifth", "major 3", "down", "minor thrid", None, 3, b"M3"]
)
def test_what_is_no_interval_is_refused_by_name(text: object) -> None:
    with pytest.raises(ValueError, match="is not an interval.*such as") as refused:
        SpelledInterval.parse(text)  # type: ignore[arg-type]
    assert repr(text) in str(refused.value)


@pytest.mark.parametrize(
    ("letters", "quartertones", "what"),
    [
        (2.0, 8, "letters"),
        (2, 7.5, "quarter-tones"),
        (True, 2, "letters"),
        (1, "4", "quarter-tones"),
        (None, 0, "letters"),
    ],
)
def test_the_parts_of_an_interval_are_whole_numbers(letters: object, quartertones: object, what: str) -> None:
    with pytest.raises(ValueError, match=f"the {what} of an interval are a whole number"):
        SpelledInterval(letters, quartertones)  # type: ignore[arg-type]
    assert SpelledInterval(np.int64(2), np.int64(8)).name == "major third"


@pytest.mark.parametrize("step", [-1, 1.0, "3", True, None])
def test_an_interval_spans_a_whole_number_of_steps_from_nothing_up(step: object) -> None:
    with pytest.raises(ValueError, match="0 or more") as refused:
        interval_names(step, equal(31))  # type: ignore[arg-type]
    assert repr(step) in str(refused.value)


def test_without_letters_there_are_no_names() -> None:
    for tuning in (equal(9), just(["5/4", "3/2"])):
        for ask in (lambda t: interval_names(1, t), SpelledInterval(2, 8).step):
            with pytest.raises(ValueError, match="have no letters") as refused:
                ask(tuning)
            assert tuning.name in str(refused.value)
