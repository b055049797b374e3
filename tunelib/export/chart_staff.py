"""The staff of a chart for the screen: the melody, or slashes where there is none, with the chord symbols above."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from tunelib.arrange import CHORDS, MELODY, written_score
from tunelib.export.chord_symbols import chart_bodies, printed_symbol
from tunelib.export.engrave import engrave_svg
from tunelib.export.lead import Lead
from tunelib.export.musicxml import musicxml_text
from tunelib.export.page_lines import page_lines
from tunelib.export.printed_bars import PrintedBars
from tunelib.export.stand_music import chord_times
from tunelib.harmony import LeadSheet, RetunedTune, TimedChord, TimedNote, signs
from tunelib.score import Score

_Thing = TypeVar("_Thing")
BAR_WIDTH = 530  # tenths of a millimetre at a staff of 7.2 mm
_SPACE = 18  # of that staff, in the same
_CLEF, _LETTER, _NOTE = 7.0, 1.5, 2.4  # how wide they are, in spaces


def chart_staff(tune: RetunedTune, bars_on_a_line: int = 4) -> str:
    """A tune as one engraved SVG document, its symbols as retuned, so many bars to a line; without the tempo, which an
    engraver puts upon the first symbol.

    In the drawing each bar is an element of the class "measure", and each symbol one of the class "harm", in the order
    of `ChartPlaces`. Raises ValueError for a line of no bars or a note value that cannot be written, and ImportError
    where Verovio is missing.
    """
    if bars_on_a_line < 1:
        raise ValueError(f"a line has at least one bar, not {bars_on_a_line}")
    sheet = tune.sheet
    voice = MELODY if sheet.melody else CHORDS
    form = sheet.written_bars
    slashed = () if sheet.melody else (CHORDS,)
    lead = Lead(
        {voice: "treble"}, sheet.key, chord_times(tune), form, slashed=slashed, bodies=chart_bodies(tune), tempo=False
    )
    score = written_score(tune).only(voice)
    score = replace(score, notes=tuple(replace(note, label="") for note in score.notes))
    width = BAR_WIDTH * bars_on_a_line
    sections = page_lines(form, _widths(score, lead), width / _SPACE - _CLEF - abs(lead.fifths), bars_on_a_line)
    new_lines = [line.start + 1 for section in sections for line in section][1:]
    text = musicxml_text(score, lead=lead, new_lines=new_lines)
    [svg] = engrave_svg(text, page_width=width, encoded_lines=True, stand=True)
    return svg


def _widths(score: Score, lead: Lead) -> list[float]:
    """How wide each bar would like to be, in spaces of the staff."""
    bars = PrintedBars(tuple(lead.form), score.beats_per_bar)
    symbols, notes = ([0.0] * len(lead.form) for _ in range(2))
    for place, chord in bars.chords(lead.chords):
        symbol = "N.C." if chord is None else lead.bodies.get(chord, printed_symbol(chord))
        symbols[int(place // bars.beats)] += _LETTER * (len(symbol) + 1)
    for place in {note.start for note in bars.notes(score.notes)}:
        notes[int(place // bars.beats)] += _NOTE
    return list(map(max, symbols, notes))


@dataclass(frozen=True)
class ChartPlaces:
    """Where a chart has what is played.

    Parameters
    ----------
    symbols : tuple of int or None
        For each chord symbol on the staff, in order, the number of its sign, as `tunelib.harmony.signs` has it; None
        where no chord sounds.
    moments : tuple of (Fraction, int or None, int)
        From which beat on which sign and which bar of the staff, counted from 0, is played.
    """

    symbols: tuple[int | None, ...]
    moments: tuple[tuple[Fraction, int | None, int], ...]


def chart_places(tune: RetunedTune) -> ChartPlaces:
    """Where the chart of a tune has what is played."""
    sheet, times = tune.sheet, chord_times(tune)
    sign_at = dict(zip((chord.onset for chord in sheet.chords), signs(sheet), strict=True))
    begins = [beat for beat, _ in times]
    numbers = [sign_at[beat] if chord else None for beat, chord in times]
    printed = PrintedBars(sheet.written_bars, sheet.beats_per_bar)
    symbols = []
    for place, _ in printed.chords(times):
        bar = int(place // sheet.beats_per_bar)
        played = sheet.written_bars[bar].onset + place - printed.starts(bar)
        symbols.append(_at(played, begins, numbers))
    starts, bars = zip(*_played_bars(sheet), strict=True)
    moments = [
        (beat, _at(beat, begins, numbers) if beat >= begins[0] else None, _at(beat, starts, bars))
        for beat in sorted({*begins, *starts} - {Fraction(sheet.beats)})
    ]
    return ChartPlaces(tuple(symbols), tuple(moments))


def _at(beat: Fraction, begins: Sequence[Fraction], things: Sequence[_Thing]) -> _Thing:
    """Of things in order, the one that is there at a beat; the first, if that comes later."""
    return things[max(0, bisect_right(begins, beat) - 1)]


def _played_bars(sheet: LeadSheet) -> list[tuple[Fraction, int]]:
    """When each bar of the page begins, as often as it is played: beats, and places in the form.

    What is played again tells by its sign which bar it is in; bars in which nothing begins follow one another.
    """
    form = sheet.written_bars
    known = {bar.onset: place for place, bar in enumerate(form)}
    first_times = sorted((bar.onset, place) for place, bar in enumerate(form))
    onsets = [onset for onset, _ in first_times]
    things: Iterable[Iterable[TimedChord | TimedNote]] = (sheet.chords, sheet.melody)
    for played in things:
        first: dict[int, Fraction] = {}
        for thing in played:
            if thing.sign >= 0 and first.setdefault(thing.sign, thing.onset) != thing.onset:
                onset, place = first_times[bisect_right(onsets, first[thing.sign]) - 1]
                known.setdefault(thing.onset - (first[thing.sign] - onset), place)
    bars: list[tuple[Fraction, int]] = []
    starts = sorted(known.items())
    for (start, place), (until, _) in zip(starts, [*starts[1:], (Fraction(sheet.beats), 0)], strict=True):
        while start < until:
            bars.append((start, place))
            start += form[place].beats
            place = min(place + 1, len(form) - 1)
    return bars
