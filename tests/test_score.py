"""The score keeps what it is given, in order, and refuses what cannot be played."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.pitch.notes import Note
from tunelib.score import Score, ScoreNote, sequence

beats = st.fractions(min_value=0, max_value=64, max_denominator=48)
score_notes = st.builds(
    ScoreNote,
    onset=beats,
    duration=beats.filter(bool),
    hertz=st.floats(20, 5000),
    voice=st.sampled_from(["guide", "drone", "click"]),
    level=st.floats(0, 1),
)
scores = st.builds(Score, st.lists(score_notes, max_size=12), tempo=st.floats(20, 300))


@given(st.lists(score_notes, max_size=12))
def test_notes_are_kept_in_order_of_onset_and_none_is_lost(notes: list[ScoreNote]) -> None:
    score = Score(tuple(notes))
    onsets = [note.onset for note in score.notes]
    assert onsets == sorted(onsets)
    assert sorted(map(id, score.notes)) == sorted(map(id, notes))
    for onset in onsets:  # notes that begin together stay in the order they were given
        together = [note for note in notes if note.onset == onset]
        assert [note for note in score.notes if note.onset == onset] == together


@given(scores)
def test_the_length_is_to_the_end_of_the_note_that_ends_last(score: Score) -> None:
    assert score.beats == max((note.onset + note.duration for note in score.notes), default=0)
    assert all(note.end <= score.beats for note in score.notes)


@given(scores)
def test_the_voices_divide_the_score_between_them(score: Score) -> None:
    parts = [score.only(voice) for voice in score.voices]
    assert sorted(id(note) for part in parts for note in part.notes) == sorted(map(id, score.notes))
    assert score.only(*score.voices) == score
    for voice, part in zip(score.voices, parts, strict=True):
        assert part.voices == (voice,)
        assert (part.tempo, part.title, part.beats_per_bar) == (score.tempo, score.title, score.beats_per_bar)


def test_beats_become_seconds_at_the_tempo() -> None:
    """Beats a minute, as a metronome counts them."""
    score = Score((), tempo=90)
    assert score.seconds(Fraction(3, 2)) == 1.0
    assert Score(()).seconds(7) == 7.0


def test_a_sequence_is_one_note_after_another() -> None:
    a, c = Note.parse("A4"), Note.parse("C5")
    score = sequence([(440.0, a), (523.25, c), (100.0, None)], beats=1.5, voice="guide", tempo=120, title="Three notes")
    assert [(n.onset, n.duration, n.hertz, n.name, n.voice) for n in score.notes] == [
        (0.0, 1.5, 440.0, a, "guide"),
        (1.5, 1.5, 523.25, c, "guide"),
        (3.0, 1.5, 100.0, None, "guide"),
    ]
    assert (score.beats, score.tempo, score.title, score.voices) == (4.5, 120, "Three notes", ("guide",))
    assert sequence([]).beats == 0


@pytest.mark.parametrize(
    ("number", "name", "cents"),
    [(3, "G3", 1.9550), (5, "E4", -13.6863), (7, "Bb4", -31.1741), (11, "F#5", -48.6821), (13, "Ab5", 40.5277)],
)
def test_the_cents_on_the_staff_are_those_of_the_published_tables(number: int, name: str, cents: float) -> None:
    """Deviation of harmonics from twelve equal steps, as tables of the harmonic series print it."""
    fundamental = Note.parse("C2").hz()
    note = ScoreNote(0, 1, fundamental * number, Note.parse(name))
    assert note.cents_from_name == pytest.approx(cents, abs=5e-5)


def test_a_half_sharp_is_measured_from_halfway_between_two_keys() -> None:
    """A step of thirty-one (1200/31 cents) falls 11.29 short of a quarter-tone, which is 50 by definition."""
    half_sharp = Note.parse("Ch#4")
    c = Note.parse("C4").hz()
    note = ScoreNote(0, 1, c * 2 ** (1 / 31), half_sharp)
    assert note.cents_from_name == pytest.approx(1200 / 31 - 50)
    with pytest.raises(ValueError, match="beat 3 has no written name"):
        _ = ScoreNote(3, 1, 440.0).cents_from_name


@pytest.mark.parametrize(
    ("field", "bad", "says"),
    [("onset", -1, "beat 0 or later"), ("onset", math.inf, "beat 0 or later"),
     ("onset", math.nan, "beat 0 or later"), ("duration", 0, "longer than 0"),
     ("duration", -0.5, "longer than 0"), ("duration", math.inf, "longer than 0"),
     ("duration", math.nan, "longer than 0"), ("hertz", 0, "above 0 Hz"), ("hertz", -440, "above 0 Hz"),
     ("hertz", math.inf, "above 0 Hz"), ("hertz", math.nan, "above 0 Hz"), ("level", -0.1, "between 0 and 1"),
     ("level", 1.5, "between 0 and 1"), ("level", math.nan, "between 0 and 1")],
)  # fmt: skip
def test_a_note_that_cannot_be_played_is_refused(field: str, bad: float, says: str) -> None:
    values = {"onset": 0, "duration": 1, "hertz": 440.0, "level": 1.0} | {field: bad}
    with pytest.raises(ValueError, match=says) as refused:
        ScoreNote(**values)  # type: ignore[arg-type]
    assert str(bad) in str(refused.value)


@pytest.mark.parametrize(
    ("field", "bad", "says"),
    [("tempo", 0, "above 0 beats"), ("tempo", -60, "above 0 beats"), ("tempo", math.nan, "above 0 beats"),
     ("tempo", math.inf, "above 0 beats"), ("beats_per_bar", 0, "whole number of beats"),
     ("beats_per_bar", 2.5, "whole number of beats"), ("beats_per_bar", math.nan, "whole number of beats")],
)  # fmt: skip
def test_a_score_that_cannot_be_counted_is_refused(field: str, bad: float, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        Score((), **{field: bad})  # type: ignore[arg-type]
    assert str(bad) in str(refused.value)


def test_a_voice_that_is_not_there_is_refused_with_those_that_are() -> None:
    score = sequence([(440.0, None)], voice="guide")
    with pytest.raises(ValueError, match="no voice 'drone'; it has guide"):
        score.only("drone")
    with pytest.raises(ValueError, match="it has none"):
        Score(()).only("guide")


def test_a_score_cannot_be_changed() -> None:
    score = sequence([(440.0, None)])
    with pytest.raises(AttributeError):
        score.tempo = 90  # type: ignore[misc]
    with pytest.raises(AttributeError):
        score.notes[0].hertz = 441.0  # type: ignore[misc]
