"""Note values: what music21 reads from the MusicXML, against the lengths that were to be written."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import lcm
from xml.etree import ElementTree

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_musicxml import check, schema  # noqa: F401 - a fixture

from tunelib.export.engrave import engrave_svg
from tunelib.export.musicxml import musicxml_text
from tunelib.export.note_values import NOTE_TYPES, Value, bar_values, beams
from tunelib.pitch.notes import Note
from tunelib.score import Score, ScoreNote

F = Fraction
Span = tuple[Fraction, Fraction]


def written(*times: str, bar: int = 4, beats: int = 4) -> list[str]:
    """The signs of a bar: value and dots, ``r`` for a rest, and the tuplet that a sign is in.

    Each of the times is the beginning and the end of a note, such as ``0-1/3``.
    """
    spans = tuple((F(start), F(end)) for start, _, end in (time.partition("-") for time in times))
    return [said(value) for value in bar_values(spans, (F(0), F(bar)), beats)]


def said(value: Value) -> str:
    tuplet = f" {value.tuplet.actual}:{value.tuplet.normal}" if value.tuplet else ""
    return f"{'r' if value.place < 0 else ''}{value.name}{'.' * value.dots}{tuplet}"


def even(count: int, length: Fraction) -> list[str]:
    return [f"{i * length / count}-{(i + 1) * length / count}" for i in range(count)]


@pytest.mark.parametrize(
    ("count", "value", "tuplet"),
    [
        (3, "eighth", "3:2"),
        (5, "16th", "5:4"),
        (6, "16th", "6:4"),
        (7, "16th", "7:4"),
        (9, "32nd", "9:8"),
        (11, "32nd", "11:8"),
        (13, "32nd", "13:8"),
        (15, "32nd", "15:8"),
    ],
)
def test_a_beat_of_any_number_of_notes(count: int, value: str, tuplet: str) -> None:
    """In the time of the power of two below (common practice)"""
    assert written(*even(count, F(1)), bar=1) == [f"{value} {tuplet}"] * count


@pytest.mark.parametrize(
    ("count", "beats", "value", "tuplet"),
    [(3, 2, "quarter", "3:2"), (5, 2, "eighth", "5:4"), (7, 2, "eighth", "7:4"), (3, 4, "half", "3:2")],
)
def test_tuplets_over_two_and_four_beats_are_written_as_such(count: int, beats: int, value: str, tuplet: str) -> None:
    assert written(*even(count, F(beats)), bar=beats) == [f"{value} {tuplet}"] * count


@pytest.mark.parametrize(
    ("times", "signs"),
    [
        ("0-2/3 2/3-1 1-4", "quarter 3:2, eighth 3:2, half."),
        ("0-1/3 1/3-1 1-4", "eighth 3:2, quarter 3:2, half."),
        ("1/3-2/3", "reighth 3:2, eighth 3:2, reighth 3:2, rquarter, rhalf"),
        ("0-4/3 4/3-2 2-4", "half 3:2, quarter 3:2, half"),
        ("0-2/3 2/3-1 1-4/3 4/3-2 2-4", "quarter 3:2, eighth 3:2, eighth 3:2, quarter 3:2, half"),
        ("1-5/3 5/3-7/3 7/3-3", "rquarter, quarter 3:2, eighth 3:2, eighth 3:2, quarter 3:2, rquarter"),
        ("0-1/2 1/2-2/3 2/3-5/6 5/6-1 1-4", "eighth, 16th 3:2, 16th 3:2, 16th 3:2, half."),
        ("0-1/6 1/6-1/3 1/3-2/3 2/3-1 1-4", "16th 3:2, 16th 3:2, eighth 3:2, eighth 3:2, half."),
        ("0-2/5 2/5-1 1-4", "eighth 5:4, eighth. 5:4, half."),
        ("0-5/7 5/7-1 1-4", "quarter 7:4, 16th 7:4, eighth 7:4, half."),
        ("0-10/3 10/3-4", "half., eighth 3:2, quarter 3:2"),
    ],
)  # fmt: skip
def test_what_is_in_a_tuplet(times: str, signs: str) -> None:
    """A group is seen from all that begins and ends in it; where it cannot be over two beats, ties join two groups"""
    assert ", ".join(written(*times.split())) == signs


@pytest.mark.parametrize(
    ("times", "signs"),
    [
        (["0-1", "1-3", "3-4"], ["quarter", "half", "quarter"]),
        (["0-1/2", "1/2-3/2", "3/2-2", "2-4"], ["eighth", "quarter", "eighth", "half"]),
        (["0-3/2", "3/2-5/2", "5/2-4"], ["quarter.", "eighth", "eighth", "quarter."]),
        (["0-1", "1-5/2", "5/2-4"], ["quarter", "quarter", "eighth", "quarter."]),
        (["0-3/4", "3/4-5/4", "5/4-2", "2-4"], ["eighth.", "16th", "16th", "eighth.", "half"]),
        (["0-5/2"], ["half", "eighth", "reighth", "rquarter"]),
        (["0-4"], ["whole"]),
        (["1/2-4"], ["reighth", "quarter.", "half"]),
        (["0-1/64"], ["256th", "r256th", "r128th", "r64th", "r32nd", "r16th", "reighth", "rquarter", "rhalf"]),
    ],
)
def test_notes_and_rests_show_beats_and_the_middle_of_the_bar(times: list[str], signs: list[str]) -> None:
    """Common practice"""
    assert written(*times) == signs


def test_rests_divide_the_bar() -> None:
    assert written("0-1", bar=3, beats=3) == ["quarter", "rquarter", "rquarter"]
    assert written("1-2") == ["rquarter", "quarter", "rhalf"]
    assert written("3-4") == ["rhalf", "rquarter", "quarter"]
    assert written(bar=3, beats=3) == ["r"]
    assert written(bar=1) == ["rquarter"]


def test_beams_join_a_beat_or_a_tuplet() -> None:
    quintuplet = tuple((F(2 * i, 5), F(2 * i + 2, 5)) for i in range(5))
    found = beams(bar_values((*quintuplet, (F(2), F(5, 2)), (F(5, 2), F(3))), (F(0), F(4)), 4))
    assert found == [["begin"], ["continue"], ["continue"], ["continue"], ["end"], ["begin"], ["end"], []]


@pytest.mark.parametrize("parts", [127, 131, 128, 81])
def test_what_is_too_fine_is_refused_with_its_bar_and_beat(parts: int) -> None:
    """A tuplet of 127 in 64 is the last whose values are 256ths"""
    notes = (named(F(0), F(2)), named(F(5), F(1, parts)))
    if parts in (127, 81):
        musicxml_text(Score(notes))
        return
    with pytest.raises(ValueError, match=f"^bar 2, beat 2: its notes and rests cut it into {parts} equal parts"):
        musicxml_text(Score(notes))


def named(onset: Fraction, duration: Fraction) -> ScoreNote:
    return ScoreNote(onset, duration, 440, Note.parse("A4"))


@st.composite
def rhythms(draw: st.DrawFn) -> list[Span]:
    """Notes and gaps one after another, of each beat another division."""
    edges = {F(0), F(8)}
    for beat in range(8):
        parts = draw(st.sampled_from([1, 1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 16, 64]))
        edges |= {beat + F(i, parts) for i in draw(st.sets(st.integers(0, parts - 1), max_size=5))}
    spans = list(pairwise(sorted(edges)))
    kept = draw(st.lists(st.booleans(), min_size=len(spans), max_size=len(spans)))
    return [span for span, keep in zip(spans, kept, strict=True) if keep] or spans


@given(rhythms(), st.sampled_from([2, 3, 4, 5]))
def test_any_rhythm_comes_back_exactly(spans: list[Span], beats: int) -> None:
    """music21 joins the ties and adds up what each sign lasts; each tuplet is whole"""
    score = Score(tuple(named(start, end - start) for start, end in spans), beats_per_bar=beats)
    text = musicxml_text(score)
    part = music21.converter.parse(text, format="musicxml").parts[0]
    read = [(F(note.offset), F(note.offset) + F(note.quarterLength)) for note in part.flatten().stripTies().notes]
    assert read == spans
    for measure in ElementTree.fromstring(text).iter("measure"):
        kinds = [tuplet.get("type") for tuplet in measure.iter("tuplet")]
        assert kinds == ["start", "stop"] * (len(kinds) // 2)


@given(rhythms(), st.sampled_from([2, 3, 4]))
def test_the_signs_of_a_bar_last_as_long_as_it(spans: list[Span], beats: int) -> None:
    """Each sign's value and dots in its tuplet are the time it takes, and in a tuplet they add up to it"""
    inside = tuple((start, min(end, F(beats))) for start, end in spans if start < beats)
    lengths = {name: length for length, name in NOTE_TYPES.items()}
    values = bar_values(inside, (F(0), F(beats)), beats)
    assert sum(value.length for value in values) == beats
    for value in values:
        if value.name:
            nominal = lengths[value.name] * (F(3, 2) if value.dots else 1)
            assert nominal == value.length * (F(value.tuplet.actual, value.tuplet.normal) if value.tuplet else 1)
    for tuplet in {value.tuplet for value in values if value.tuplet}:
        assert sum(value.length for value in values if value.tuplet == tuplet) == tuplet.length
        assert lengths[tuplet.unit] * tuplet.normal == tuplet.length


def test_they_keep_to_the_schema_and_verovio_draws_them(schema) -> None:  # type: ignore[no-untyped-def]  # noqa: F811
    notes, at = [], F(0)
    for count, beats in ((3, 1), (5, 1), (6, 1), (7, 1), (9, 1), (11, 1), (3, 2), (5, 2), (7, 2), (3, 4)):
        at += -at % beats
        notes += [named(at + i * F(beats, count), F(beats, count)) for i in range(count)]
        at += beats
    text = musicxml_text(Score(tuple(notes)))
    check(schema, text)
    [svg] = engrave_svg(text)
    assert svg.count('class="tuplet"') == 10
    assert svg.count('class="note"') == len(notes)
    assert int(ElementTree.fromstring(text).findtext(".//divisions", "")) == lcm(3, 5, 6, 7, 9, 11)
