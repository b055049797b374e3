"""The staff of a chart for the screen: the melody, or slashes where there is none, with the chord symbols above."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from tunelib.arrange import MELODY, written_score
from tunelib.export.engrave import engrave_svg
from tunelib.export.musicxml import Lead, musicxml_text
from tunelib.harmony import Chord, RetunedTune
from tunelib.pitch import Note
from tunelib.score import Score, ScoreNote

BAR_WIDTH = 530  # tenths of a millimetre at a staff of 7.2 mm, so that four symbols have room
_SLASH = Note("B", 0, 4)
_PLAIN_HEAD = "<type>quarter</type>"
_SLASHED_HEAD = f"{_PLAIN_HEAD}<stem>none</stem><notehead>slash</notehead>"


def chart_staff(tune: RetunedTune, bars_on_a_line: int = 4) -> str:
    """A tune as one engraved SVG document, its symbols as retuned, so many bars to a line.

    In the drawing each bar is an element of the class "measure" and each symbol one of the class "harm", in the order
    in which they are played, so that a page can find its way in it. Raises ValueError for a line of no bars or a note
    value that cannot be written, and ImportError where Verovio is missing.
    """
    if bars_on_a_line < 1:
        raise ValueError(f"a line has at least one bar, not {bars_on_a_line}")
    sheet = tune.sheet
    lead = Lead({MELODY: "treble"}, sheet.key, _symbols(tune))
    new_lines = range(1 + bars_on_a_line, sheet.bars + 1, bars_on_a_line)
    if sheet.melody:
        score = written_score(tune).only(MELODY)
        unlabelled = tuple(replace(note, label="") for note in score.notes)
        text = musicxml_text(replace(score, notes=unlabelled), lead=lead, new_lines=new_lines)
    else:
        text = _slashed(musicxml_text(_beats(tune), lead=lead, new_lines=new_lines))
    [svg] = engrave_svg(text, page_width=BAR_WIDTH * bars_on_a_line, encoded_lines=True)
    return svg


def symbol_places(tune: RetunedTune) -> list[tuple[Fraction, int | None]]:
    """The beats at which the symbols of a chart are, each with the place of its chord in the tune, or None for N.C."""
    places: list[tuple[Fraction, int | None]] = []
    end = Fraction(0)
    for place, chord in enumerate(tune.chords):
        if places and chord.written.onset > end:
            places.append((end, None))
        places.append((chord.written.onset, place))
        end = chord.written.end
    return [*places, (end, None)] if end < tune.sheet.beats else places


def _symbols(tune: RetunedTune) -> list[tuple[Fraction, Chord | None]]:
    return [(onset, None if place is None else tune.chords[place].chord) for onset, place in symbol_places(tune)]


def _beats(tune: RetunedTune) -> Score:
    """A note on the middle line on every beat."""
    sheet, hertz = tune.sheet, _SLASH.hz(tune.tuning)
    notes = (ScoreNote(Fraction(beat), Fraction(1), hertz, _SLASH, MELODY) for beat in range(sheet.beats))
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def _slashed(musicxml: str) -> str:
    """The same music with slashes for its quarter notes, and no accidentals."""
    return re.sub(r"<accidental>\w+</accidental>", "", musicxml.replace(_PLAIN_HEAD, _SLASHED_HEAD))
