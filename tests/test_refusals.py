"""Nonsense of every kind is refused by a ValueError of one readable line that says what was wrong."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from tunelib.arrange.play_along import overtone_sheet
from tunelib.export.midi import midi_bytes
from tunelib.export.staff_clefs import octave_sign
from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import Progression
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.leading import lead, smooth_chain
from tunelib.harmony.retune import Taste
from tunelib.harmony.voicings import ranked, telling_tones, voicings
from tunelib.pitch.bowed import BOWED, Bowed
from tunelib.pitch.harmonics import harmonic_series
from tunelib.pitch.instruments import instrument, propose_fundamental
from tunelib.pitch.intervals import cents, parse_ratio, ratio_from_cents
from tunelib.pitch.key_grid import KeyGrid
from tunelib.pitch.meantone import PURE_FIFTH, Chain, closings, meantone, meantone_chain, miss_after, tempered_fifth
from tunelib.pitch.notes import Note, hz_from_midi, nearest_note, spell, spell_on_chain
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.spelling import Key, spell_chord, spell_in_key
from tunelib.pitch.temperaments import temperament, well
from tunelib.pitch.tunings import THIRTY_ONE, equal, just
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes
from tunelib.sound.timbre import mixture
from tunelib.sound.voice import overtone_singer

C4, FLUTE = Note.parse("C4"), instrument("flute")
LONG = "9" * 5000
TUNE = parse_lead_sheet("| C |")
TRIAD = Chord.parse("C")

NONSENSE: dict[str, tuple[Callable[[], object], str]] = {
    "a note of 5000 digits": (lambda: Note.parse(f"C{LONG}"), "is not a note"),
    "an interval of 5000 digits": (lambda: C4.transpose(f"M{LONG}"), "is not an interval"),
    "a ratio of 5000 digits": (lambda: parse_ratio(f"{LONG}/0"), "is not a ratio"),
    "voicings of a name": (lambda: voicings("C", THIRTY_ONE), "voicings are of a Chord"),  # type: ignore[arg-type]
    "kinds in numbers": (lambda: voicings(TRIAD, THIRTY_ONE, 5), "kinds of voicing are names"),  # type: ignore[arg-type]
    "a hand in numbers": (lambda: voicings(TRIAD, THIRTY_ONE, hand=5), "the reach of a hand is a SpelledInterval"),  # type: ignore[arg-type]
    "numbers ranked": (lambda: ranked([1], THIRTY_ONE), "ranked takes Voicings"),  # type: ignore[list-item]
    "fewer than no voices": (lambda: telling_tones(TRIAD, -1), "the number of voices is a whole number from 1"),
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
    "a comma of 5000 digits": (lambda: tempered_fifth(LONG), "is not a fraction of a comma"),
    "a large comma": (lambda: tempered_fifth("1e4000"), "more than a whole comma"),
    "a comma in decimals": (lambda: meantone(0.25), "a fraction of a comma is exact"),  # type: ignore[arg-type]
    "a tempo in words": (lambda: replace(TUNE, tempo="fast"), "a tempo must be between 10 and 500"),  # type: ignore[arg-type]
    "chords in words": (lambda: replace(TUNE, chords=("C",)), "the chords of a tune are TimedChords"),  # type: ignore[arg-type]
    "no title": (lambda: replace(TUNE, title=None), "the title of a tune is text"),  # type: ignore[arg-type]
    "a taste in words": (lambda: Taste(drift="no"), "drift is True or False, not 'no'"),  # type: ignore[arg-type]
    "no ratios": (lambda: Chord.from_ratios(None, C4, THIRTY_ONE), "a chord of ratios is a list"),  # type: ignore[arg-type]
    "no steps": (lambda: Chord.from_steps(C4, None, THIRTY_ONE), "a chord of steps is a list"),  # type: ignore[arg-type]
    "one third": (lambda: Chord.stacked(C4, "major"), "a stack of thirds is a list such as ['major', 'minor']"),
    "one chord alone": (lambda: lead((0, 10, 18), TUNE.chords[0].chord, THIRTY_ONE), "led through a list"),  # type: ignore[arg-type]
    "half a move": (lambda: smooth_chain(TUNE.chords[0].chord, ["m"], 3, THIRTY_ONE, most=1.5), "not 1.5"),  # type: ignore[arg-type]
    "a chord too many": (
        lambda: Progression.read("C Am Dm G").held(4),
        "the place of a chord is a whole number from 0",
    ),
    "a trillion fifths": (lambda: meantone("1/4", notes=10**12), "from 5 to 2000"),
    "a circle without end": (lambda: closings("3/2", 10**12), "from 1 to 2000"),
    "an interval in words": (lambda: SpelledInterval.parse("a long way\nup"), "is not an interval"),
    "an interval of halves": (lambda: SpelledInterval(0.5, 1), "whole number"),  # type: ignore[arg-type]
    "a mode of its own": (lambda: Key(C4, "cheerful"), "no mode is called 'cheerful'"),
    "a key of a letter": (lambda: Key("C"), "the tonic of a key is a note"),  # type: ignore[arg-type]
    "a temperament of a number": (lambda: temperament(3), "no temperament is called 3"),  # type: ignore[arg-type]
    "a well in the desert": (lambda: well("Sahara"), "no well temperament is called 'Sahara'"),
    "a home in words": (lambda: spell_on_chain(3, equal(31), home="C"), "chain of fifths"),  # type: ignore[arg-type]
    "a tuning of text": (lambda: just("3/2"), "not the text '3/2'"),
    "a key in words": (lambda: spell_in_key(3, equal(31), "F#"), "such as Key(Note.named"),  # type: ignore[arg-type]
    "a root in words": (lambda: spell_chord("D", [0], equal(31)), "a chord is a note"),  # type: ignore[arg-type]
    "a triad on words": (lambda: meantone_chain("1/4").triad("B"), "not 'B'"),  # type: ignore[arg-type]
    "an interval to words": (lambda: C4.interval_to("E4"), "not 'E4'"),  # type: ignore[arg-type]
    "a billion fifths": (lambda: miss_after("3/2", 10**9), "from 1 to 2000"),
    "a chain from afar": (lambda: Chain("far", 10**30, (PURE_FIFTH,) * 11), "2000 at most"),
    "a grid beyond all keys": (lambda: KeyGrid(31, 10**30, 3), "from -1000000 to 1000000"),
    "a place in words": (lambda: KeyGrid(31, 5, 3).nearest_key(1, "a", 0), "column and row"),  # type: ignore[arg-type]
    "a string in words": (lambda: BOWED["violin"].place("A4", 880), "an open string is a note"),  # type: ignore[arg-type]
    "a length in words": (lambda: Bowed("long", (C4,)), "the length of a string"),  # type: ignore[arg-type]
    "two pitches on one string": (lambda: BOWED["violin"].string([440, 880]), "at a time"),  # type: ignore[arg-type]
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


ODD_TEXTS = [
    "9" * 300, "9" * 5000, f"1/{'9' * 5000}", "3/2" * 9999, "1e5000", "1e999999999", "1e-999999999", "", "\0", "\ufffe",
    "x" * 450_000, " " * 300_000,
    f"{' ' * 100_000}x", f"C{'b' * 100_000}", f"C{'b' * 100_000}4", f"P{'9' * 300}", "-" * 9999,
    f"A{'A' * 9999}4", "neutral " * 9999, "1:" * 5000, "2^(1/31)", "(" * 9999, f"C7{'b9' * 9999}",
]  # fmt: skip
ODD_NUMBERS = [10**400, 10**5000, -(10**400), 1e308, math.nan, math.inf, None, [1] * 9999, Fraction(1, 10**400)]
READERS: dict[str, Callable[[Any], object]] = {
    "a ratio": parse_ratio,
    "cents": cents,
    "a ratio from cents": ratio_from_cents,
    "a note": Note.parse,
    "a note's name": Note.named,
    "an interval": C4.transpose,
    "a spelled interval": SpelledInterval.parse,
    "a meantone": meantone,
    "a fifth": tempered_fifth,
    "a temperament": temperament,
    "a well temperament": well,
    "an instrument": instrument,
    "an equal division": equal,
    "a home": lambda home: spell(3, equal(31), home),
    "a frequency": nearest_note,
    "a MIDI number": hz_from_midi,
    "a chord": Chord.parse,
    "a progression": Progression.read,
    "a mode": lambda mode: Key(C4, mode),
}


@pytest.mark.parametrize("name", READERS)
def test_anything_is_read_or_refused_at_once_in_one_short_line(name: str) -> None:
    """Numbers of any length, endless texts, characters that are none: nothing hangs, and none of it is echoed"""
    for given in [*ODD_TEXTS, *ODD_NUMBERS]:
        begun = time.process_time()
        try:
            READERS[name](given)
        except ValueError as refused:
            message = str(refused)
            assert message and "\n" not in message and len(message) < 600 and "sys.set_int" not in message, message[
                :200
            ]
        except TypeError as refused:
            assert "unhashable" in str(refused) and isinstance(given, list)  # of `spell`, which remembers
        assert time.process_time() - begun < 2
