"""Nonsense of every kind is refused by a ValueError of one readable line that says what was wrong."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import octave_sign
from tunelib.export.sheet import overtone_sheet
from tunelib.pitch.harmonics import harmonic_series
from tunelib.pitch.instruments import instrument, propose_fundamental
from tunelib.pitch.intervals import parse_ratio
from tunelib.pitch.notes import Note, hz_from_midi, spell
from tunelib.pitch.tunings import equal, just
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes
from tunelib.sound.timbre import mixture
from tunelib.sound.voice import overtone_singer

C4, FLUTE = Note.parse("C4"), instrument("flute")
LONG = "9" * 5000

NONSENSE: dict[str, tuple[Callable[[], object], str]] = {
    "a note of 5000 digits": (lambda: Note.parse(f"C{LONG}"), "is not a note"),
    "an interval of 5000 digits": (lambda: C4.transpose(f"M{LONG}"), "is not an interval"),
    "a ratio of 5000 digits": (lambda: parse_ratio(f"{LONG}/0"), "is not a ratio"),
    "no harmonics": (lambda: propose_fundamental(FLUTE, [], C4), "at least one of them"),
    "a harmonic 0": (lambda: propose_fundamental(FLUTE, [0], C4), "numbered 1, 2, 3"),
    "half a harmonic": (lambda: overtone_sheet(FLUTE, C4, [1.5, 2]), "1.5 is not among them"),  # type: ignore[list-item]
    "a harmonic in words": (lambda: overtone_sheet(FLUTE, C4, ["a"]), "a is not among them"),  # type: ignore[list-item]
    "an onset in words": (lambda: ScoreNote("0", 1, 440.0), "the onset of a note is a number"),  # type: ignore[arg-type]
    "a pitch in words": (lambda: ScoreNote(0, 1, "440"), "the pitch of a note is a number"),  # type: ignore[arg-type]
    "a score of a number": (lambda: Score(5), "the notes of a score are ScoreNotes"),  # type: ignore[arg-type]
    "a score of words": (lambda: Score(("a",)), "the notes of a score are ScoreNotes"),  # type: ignore[arg-type]
    "no sample rate": (lambda: wav_bytes([0.1], sample_rate=0), "whole number of hertz"),
    "a broken sample rate": (lambda: wav_bytes([0.1], sample_rate=44100.5), "44100.5"),  # type: ignore[arg-type]
    "samples in words": (lambda: wav_bytes("abc"), "samples are numbers from -1 to 1"),
    "amplitudes in words": (lambda: mixture("abc"), "a mixture is a list of amplitudes"),  # type: ignore[arg-type]
    "a melody of a number": (lambda: overtone_singer("who'd", 8, 175), "a melody is a list"),  # type: ignore[arg-type]
    "half a program": (
        lambda: midi_bytes(Score((ScoreNote(0, 1, 440.0),)), program_of={"melody": 2.5}),  # type: ignore[dict-item]
        "a whole number from 0 to 127, not 2.5",
    ),
    "an unknown clef": (lambda: octave_sign(C4, "trebel"), "no clef is called 'trebel'; did you mean treble"),
    "a key beyond hearing": (lambda: hz_from_midi(1e9), "run from 0 to 127"),
    "a trillion harmonics": (lambda: harmonic_series(110, 10**12), "from 1 to 1000000"),
    "no home": (lambda: spell(3, equal(12), home=math.nan), "home is a place on the chain of fifths"),
    "a tuning of text": (lambda: just("3/2"), "not the text '3/2'"),
}


@pytest.mark.parametrize("name", NONSENSE)
def test_nonsense_is_refused_in_one_line(name: str) -> None:
    call, says = NONSENSE[name]
    with pytest.raises(ValueError) as refused:
        call()
    message = str(refused.value)
    assert says in message and "\n" not in message


def test_a_long_wrong_ratio_is_not_repeated_in_full() -> None:
    with pytest.raises(ValueError) as refused:
        parse_ratio(f"{LONG}/0")
    assert len(str(refused.value)) < 200
