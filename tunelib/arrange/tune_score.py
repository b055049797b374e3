"""A retuned tune as a band plays it: its melody, its chords as they hold and as they are struck, and its bass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from tunelib.arrange.comping import struck
from tunelib.arrange.feels import find_feel, suitable_feel
from tunelib.arrange.written_score import (
    BASS,
    CHORDS,
    COMP,
    MELODY,
    as_written,
    bass_beats,
    writable_name,
)
from tunelib.harmony import RetunedChord, RetunedTune
from tunelib.pitch import A4_HZ, Note, SpelledInterval, Tuning, equal
from tunelib.score import Score, ScoreNote

COMMON = ("tonic", "A")
"""What a tune in its own division and the same in twelve have in common."""

_TWELVE = equal(12)
_UNISON, _FIFTH = SpelledInterval.parse("P1"), SpelledInterval.parse("P5")
_LEVELS = {MELODY: 0.8, CHORDS: 0.22, COMP: 0.4, BASS: 0.7}


def tune_score(
    tune: RetunedTune,
    division: int | None = None,
    feel: str | None = None,
    common: str = "tonic",
    count_in: bool = True,
) -> Score:
    """A retuned tune as it is played.

    Parameters
    ----------
    tune : RetunedTune
    division : int, optional
        The tune's own, which it is in unless another is given, or 12 for the tune as it is written on a keyboard: its
        plain chords, in the layout that they have in its own division, in the same rhythm. A note of the lead sheet
        that is between two keys goes to the nearer.
    feel : str, optional
        One of `FEELS`; the one that suits metre and tempo unless given.
    common : str
        What the two have in common, so that they can be heard beside one another. In its own division a tune is always
        at A4 = 440 Hz, as a band tunes up. "tonic": twelve is moved so that the tonic of the tune's key is the same in
        both; "A": twelve is at A4 = 440 Hz too, and its tonic some cents away.
    count_in : bool
        Whether it is counted in.

    Returns a score with the voices "melody" (if there is one), "chords", "comp" and "bass". Raises ValueError for
    another division or feel, or another thing in common.
    """
    own = len(tune.tuning)
    if division not in (None, own, 12):
        raise ValueError(f"this tune is played in {own} or in 12, not in {division!r}")
    sheet = tune.sheet
    if feel is None:
        suitable_feel(sheet.beats_per_bar, sheet.tempo)
    else:
        find_feel(feel)
    retuned = division in (None, own)
    tuning = tune.tuning if retuned else _TWELVE
    reference = reference_hertz(tune, tuning, common)
    melody = tune.melody if retuned else sheet.melody
    notes = [_voiced(MELODY, sung.note, sung.onset, sung.duration, tuning, reference, retuned) for sung in melody]
    for chord in tune.chords:
        notes += _played(tune, chord, tuning, reference, retuned)
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def reference_hertz(tune: RetunedTune, tuning: Tuning, common: str) -> float:
    """The A4 of a tuning in which a tune is played, in hertz. Raises ValueError for another `common` than "tonic", "A".

    >>> from tunelib.harmony import parse_lead_sheet, retune
    >>> from tunelib.pitch import THIRTY_ONE
    >>> tune = retune(parse_lead_sheet("key: Db\\n| Dbmaj7 |"), THIRTY_ONE)
    >>> round(reference_hertz(tune, equal(12), "tonic"), 2), reference_hertz(tune, THIRTY_ONE, "tonic")
    (446.61, 440.0)
    """
    if common not in COMMON:
        raise ValueError(f"two tunings have the tonic in common or A, not {common!r}")
    if common == "A" or tuning == tune.tuning:
        return A4_HZ
    tonic = tune.sheet.key.tonic
    return A4_HZ * tonic.within(tune.tuning).hz(tune.tuning) / tonic.within(tuning).hz(tuning)


def _voiced(
    voice: str, note: Note, onset: Fraction, duration: Fraction, tuning: Tuning, reference: float, retuned: bool
) -> ScoreNote:
    sounding = note if retuned else replace(note, steps=0).within(tuning)
    name = None if voice == COMP else writable_name(sounding, tuning)  # the chords have theirs where they hold
    return ScoreNote(onset, duration, sounding.hz(tuning, reference), name, voice, level=_LEVELS[voice])


def _played(
    tune: RetunedTune, chord: RetunedChord, tuning: Tuning, reference: float, retuned: bool
) -> Sequence[ScoreNote]:
    """A chord as it holds and as it is struck, and its bass."""
    beats_per_bar = tune.sheet.beats_per_bar
    onset, end = chord.written.onset, chord.written.end
    bass, *upper = chord.notes if retuned else as_written(chord, tune.tuning)
    holding = [(onset, chord.written.duration)]
    notes = [
        _voiced(voice, note, when, length, tuning, reference, retuned)
        for voice, times_and_lengths in ((CHORDS, holding), (COMP, struck(onset, end, beats_per_bar)))
        for when, length in times_and_lengths
        for note in upper
    ]
    root_and_fifth = chord.written.chord.bass is None and (5, 0) in chord.chord.degrees
    for turn, (when, length) in enumerate(bass_beats(onset, end, beats_per_bar)):
        note = bass.transpose(_FIFTH if root_and_fifth and turn % 2 else _UNISON)
        notes.append(_voiced(BASS, note, when, length, tuning, reference, retuned))
    return notes
