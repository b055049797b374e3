"""A retuned tune as a band plays it in one of the feels: counted in; melody, chords struck and softly held, bass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from tunelib.arrange.bass_line import BassNote, bass_line
from tunelib.arrange.comping import Struck, comping, punctual
from tunelib.arrange.count_in import clicks, count_in_beats
from tunelib.arrange.feels import ACCENT, SOFT, Feel, find_feel, ratio_at, suitable_feel
from tunelib.arrange.phrasing import EIGHTH, unsounded, velocities
from tunelib.arrange.swing import Swing, melody_swing, off_beat, on_tick
from tunelib.arrange.written_score import BASS, CHORDS, COMP, COUNT, MELODY, as_written
from tunelib.harmony import LeadSheet, RetunedTune
from tunelib.pitch import A4_HZ, Note, Tuning, equal, readable
from tunelib.score import Score, ScoreNote

COMMON = ("tonic", "A")
"""What a tune in its own division and the same in twelve may have in common."""

_TWELVE = equal(12)
_COMPING_ACCENTS = {SOFT: -5, ACCENT: 12}  # velocities, beside a plain hit (common practice)
_BASS_ACCENT = 4  # for each degree of it
_COUNT_VELOCITY = 112  # a click is short: as this its peaks are those of the melody
_COUNT_HERTZ = {True: _TWELVE.hz(Note.parse("E6").step(_TWELVE)), False: _TWELVE.hz(Note.parse("A5").step(_TWELVE))}
_CLICK = Fraction(1, 4)  # beats


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
        plain chords, in the layout that they have in its own division, at the same times. A note of the lead sheet
        that is between two keys goes to the nearer.
    feel : str, optional
        One of `FEELS`; the one that suits metre and tempo unless given.
    common : str
        What the two have in common, so that they can be heard beside one another. In its own division a tune is always
        at A4 = 440 Hz, to which a band tunes. "tonic": twelve is moved until the tonic of the tune's key is the same in
        both; "A": twelve is at A4 = 440 Hz too, and its tonic is some cents away.
    count_in : bool
        Whether it is counted in; `count_in_beats` says how much later it is then.

    Returns a score with the voices "count", "melody" (if there is one), "chords", softly held, "comp", the same as they
    are struck, and "bass", as the feel has them. The same tune is played alike every time, and what is repeated in it
    too. Raises ValueError for another division or feel, or another thing in common.
    """
    own, sheet = len(tune.tuning), tune.sheet
    if division not in (None, own, 12):
        raise ValueError(f"this tune is played in {own} or in 12, not in {division!r}")
    played = suitable_feel(sheet.beats_per_bar, sheet.tempo) if feel is None else find_feel(feel)
    retuned = division in (None, own)
    tuning = tune.tuning if retuned else _TWELVE
    reference = reference_hertz(tune, tuning, common)
    before = count_in_beats(sheet, played.name) if count_in else 0
    sounds: dict[tuple[Note, Note], tuple[float, Note]] = {}
    notes = list(_counted(sheet, played)) if count_in else []
    for note in _played(tune, played):
        pair = note.note, note.written
        if pair not in sounds:
            sounding = note.note if retuned else replace(note.written, steps=0).within(tuning)
            sounds[pair] = sounding.hz(tuning, reference), readable(sounding, tuning)
        hertz, name = sounds[pair]
        printed = None if note.voice == COMP else name  # the chords that hold have their names
        length = note.end - note.onset
        notes.append(ScoreNote(note.onset + before, length, hertz, printed, note.voice, level=_level(note.velocity)))
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


@dataclass(frozen=True)
class _Played:
    """A note of the band: as it sounds in the tune's own division, as it is written, when, and how loud as in MIDI."""

    voice: str
    note: Note
    written: Note
    onset: Fraction
    end: Fraction
    velocity: int


def _played(tune: RetunedTune, feel: Feel) -> Iterator[_Played]:
    yield from _melody(tune, feel)
    swing = Swing(off_beat(ratio_at(feel.swing, tune.sheet.tempo)))
    pairs = [tuple(zip(chord.notes[1:], as_written(chord, tune.tuning)[1:], strict=True)) for chord in tune.chords]
    if feel.held_velocity:
        for chord, notes in zip(tune.chords, pairs, strict=True):
            begin, end = swing.played(chord.written.onset), swing.played(chord.written.end)
            yield from (_Played(CHORDS, *pair, begin, end, feel.held_velocity) for pair in notes)
    struck = comping(tune.sheet, feel, punctual(tune))
    for one, (begin, end) in zip(struck, _swung(struck, swing), strict=True):
        velocity = feel.chords_velocity + _COMPING_ACCENTS.get(one.accent, 0)
        yield from (_Played(COMP, *pair, begin, end, velocity) for pair in pairs[one.chord])
    line = bass_line(tune, feel)
    for low, (begin, end) in zip(line, _swung(line, swing), strict=True):
        yield _Played(BASS, low.note, low.written, begin, end, feel.bass_velocity + _BASS_ACCENT * low.accent)


def _melody(tune: RetunedTune, feel: Feel) -> Iterator[_Played]:
    sheet, melody = tune.sheet, tune.sheet.melody
    times = [time for note in melody for time in (note.onset, note.end)]
    swing = melody_swing(times, *(ratio_at(table, sheet.tempo) for table in (feel.swing, feel.melody_swing)))
    loudness = velocities(melody, sheet.beats_per_bar, feel)
    for place, (sung, note) in enumerate(zip(tune.melody, melody, strict=True)):
        begin, end = swing.played(note.onset), swing.played(note.end)
        silent = on_tick(min(end - begin, EIGHTH) * Fraction(unsounded(melody, place, feel)))
        yield _Played(MELODY, sung.note, note.note, begin, end - silent, loudness[place])


def _swung(hits: Sequence[Struck | BassNote], swing: Swing) -> Iterator[tuple[Fraction, Fraction]]:
    """When hits begin and end that are given in even eighths; each lasts up to the next at most."""
    begins = [swing.played(hit.onset) for hit in hits]
    for place, (hit, begin) in enumerate(zip(hits, begins, strict=True)):
        yield begin, min([begin + hit.length, *begins[place + 1 : place + 2]])


def _level(velocity: int) -> float:
    """Amplitude goes as velocity squared (Downloadable Sounds Level 1)."""
    return (velocity / 127) ** 2


def _counted(sheet: LeadSheet, feel: Feel) -> Iterator[ScoreNote]:
    for beat, first in clicks(sheet, feel):
        yield ScoreNote(beat, _CLICK, _COUNT_HERTZ[first], None, COUNT, level=_level(_COUNT_VELOCITY))
