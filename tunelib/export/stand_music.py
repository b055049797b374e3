"""The staves of a tune's parts and of its score, engraved line by line in the form of the page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

from tunelib.arrange import (
    LEAST_CENTS,
    SLASHES,
    VOICINGS,
    PartStaff,
    TunePart,
    hint,
    own_key,
    suitable_feel,
)
from tunelib.export.chord_symbols import chart_bodies, printed_symbol
from tunelib.export.engrave import engrave_svg
from tunelib.export.lead import Lead
from tunelib.export.musicxml import musicxml_text
from tunelib.export.page_lines import page_lines
from tunelib.export.printed_bars import PrintedBars
from tunelib.export.staff_writer import CUE_SIZE
from tunelib.export.stand_letters import numbered
from tunelib.export.typeset import Drawing, paper_width
from tunelib.harmony import Chord, LeadSheet, RetunedTune
from tunelib.pitch import Instrument, Note
from tunelib.score import Score, ScoreNote

_ENGRAVED_STAFF_MM = 7.2  # of a page as it comes from the engraver
_SPACES = 4  # of a staff
_SCORE_SYMBOLS = 1.22  # times as large as in a part, beside its staff

# How wide signs are, in spaces of a staff: as they were measured on pages.
_EMPTY_BAR, _NOTE, _SIGN, _SYMBOL_LETTER, _FIGURE = 6.0, 2.4, 1.2, 1.25, 0.8
_LOW_IN_TREBLE = Note.parse("G3").diatonic
_CLEF, _SHARP_OR_FLAT, _STAFF_NAME = 7.0, 1.0, 12.0


def part_musicxml(tune: RetunedTune, part: TunePart, new_lines: Sequence[int] = (), feel: str | None = None) -> str:
    """A player's part as MusicXML 4.0, as the instrument reads it; `new_lines` as for `musicxml_text`.

    The name of the feel is over the first bar: that which suits the tune, or another.
    """
    return _Music(tune, [part], part.player, feel).musicxml(new_lines)


def score_musicxml(
    tune: RetunedTune, parts: Sequence[TunePart], new_lines: Sequence[int] = (), feel: str | None = None
) -> str:
    """A score of parts as MusicXML 4.0, at concert pitch; the rest as for `part_musicxml`."""
    return _Music(tune, parts, None, feel).musicxml(new_lines)


def part_systems(
    tune: RetunedTune, part: TunePart, staff_mm: float, paper: str, feel: str | None = None
) -> list[list[Drawing]]:
    """The lines of a part on a paper, those of each section together, without the tempo: an engraver puts it under the
    chord symbols, where the head of the page has it above."""
    return _Music(tune, [part], part.player, feel).systems(staff_mm, paper)


def score_systems(
    tune: RetunedTune, parts: Sequence[TunePart], staff_mm: float, paper: str, feel: str | None = None
) -> list[list[Drawing]]:
    """The lines of a score of parts on a paper; the rest as for `part_systems`."""
    return _Music(tune, parts, None, feel).systems(staff_mm, paper)


def style_words(sheet: LeadSheet, feel: str | None) -> str:
    """How a tune is felt, in words for its first bar: as it is told, or as suits it."""
    return (feel or suitable_feel(sheet.beats_per_bar, sheet.tempo).name).capitalize()


def chord_times(tune: RetunedTune) -> list[tuple[Fraction, Chord | None]]:
    """The chords by the beats from which they hold, and None where they stop."""
    symbols: list[tuple[Fraction, Chord | None]] = []
    end = tune.chords[0].written.onset
    for chord in tune.chords:
        if chord.written.onset > end:
            symbols.append((end, None))
        symbols.append((chord.written.onset, chord.chord))
        end = chord.written.end
    if end < tune.sheet.beats:
        symbols.append((end, None))
    return symbols


class _Music:
    """What is on the staves of a part, or of a score where no player is given."""

    def __init__(
        self, tune: RetunedTune, parts: Sequence[TunePart], player: Instrument | None, feel: str | None
    ) -> None:
        self.player = player
        self.larger = 1.0 if player else _SCORE_SYMBOLS
        staves = [(part, staff) for part in parts for staff in part.staves if player or not staff.small]
        notes = [note for part in parts for note in _printed(tune, part, player)]
        self.score = Score(tuple(notes), tune.sheet.tempo, tune.sheet.beats_per_bar, tune.sheet.title)
        self.lead = Lead(
            {staff.voice: staff.clef if player else _concert_clef(part, staff) for part, staff in staves},
            tune.sheet.key,
            chord_times(tune),
            tune.sheet.written_bars,
            style_words(tune.sheet, feel),
            slashed=frozenset(part.name for part in parts if part.has == SLASHES),
            small=frozenset(staff.voice for _, staff in staves if staff.small),
            bodies=chart_bodies(tune),
            braced={part.name: part.staves[1].voice for part in parts if part.has == VOICINGS},
            cents=frozenset(staff.voice for part, staff in staves if part.bends and not staff.small),
        )
        self.bars = PrintedBars(tune.sheet.written_bars, tune.sheet.beats_per_bar)

    def musicxml(self, new_lines: Sequence[int]) -> str:
        """The music; `new_lines` are bars in the order of the page, from 1."""
        return self._text(self.lead, new_lines)

    def systems(self, staff_mm: float, paper: str) -> list[list[Drawing]]:
        """The lines, those of each section together."""
        width = paper_width(paper)
        sections = page_lines(self.lead.form, self._widths(), self._room(width / (staff_mm / _SPACES)))
        lines = [line for section in sections for line in section]
        text = self._text(replace(self.lead, tempo=False), [line.start + 1 for line in lines[1:]])
        page_width = round(10 * width * _ENGRAVED_STAFF_MM / staff_mm)
        drawn = engrave_svg(
            text, page_width=page_width, lines_per_page=1, encoded_lines=True, stand=True, larger=self.larger
        )
        drawings = iter(
            Drawing(numbered(svg, self.lead.form[line.start].number, self.larger), self._in_words(line))
            for svg, line in zip(drawn, lines, strict=True)
        )
        return [[next(drawings) for _ in section] for section in sections]

    def _text(self, lead: Lead, new_lines: Sequence[int]) -> str:
        return musicxml_text(self.score, self.player, new_lines=new_lines, lead=lead)

    def _widths(self) -> list[float]:
        """How wide each bar would like to be, in spaces of the staff."""
        symbols: defaultdict[int, float] = defaultdict(float)
        for place, chord in self._read_chords:
            symbols[int(place // self.bars.beats)] += (
                self.larger * _SYMBOL_LETTER * (len(self._symbol(chord)) + 1 if chord else 4)
            )
        widths = [max(_EMPTY_BAR, symbols[bar]) for bar in range(len(self.lead.form))]
        for voice in self.lead.parts:
            taken: defaultdict[int, float] = defaultdict(float)
            together = {note.start: note.note for note in self.bars.notes(self._on(voice))}
            for place, note in together.items():
                sign = _SIGN if note.name and note.name.half_sharps else 0.0
                taken[int(place // self.bars.beats)] += max(_NOTE + sign, _FIGURE * len(note.label))
            size = CUE_SIZE if voice in self.lead.small else 1.0
            widths = [max(width, size * taken[bar]) for bar, width in enumerate(widths)]
        return widths

    @cached_property
    def _read(self) -> Lead:
        """What is written, as the player reads it."""
        return self.lead.read_by(self.player) if self.player else self.lead

    @cached_property
    def _read_chords(self) -> list[tuple[Fraction, Chord | None]]:
        """The chords as they are printed, each with its place."""
        return self.bars.chords(self._read.chords)

    def _symbol(self, chord: Chord) -> str:
        body = self._read.bodies.get(chord)
        return printed_symbol(chord) if body is None else f"{chord.root.name}{body}"

    def _on(self, voice: str) -> list[ScoreNote]:
        return [note for note in self.score.notes if note.voice == voice]

    def _room(self, spaces: float) -> float:
        """How wide the bars of a line can be together."""
        names = self.larger * _STAFF_NAME if len(self.lead.parts) > 1 else 0.0
        return spaces - _CLEF - _SHARP_OR_FLAT * abs(self._read.fifths) - names

    def _in_words(self, line: range) -> str:
        """What is on a line, for those who cannot see it."""
        numbers = [self.lead.form[bar].number for bar in line]
        said = f"bars {numbers[0]} to {numbers[-1]}" if len(set(numbers)) > 1 else f"bar {numbers[0]}"
        there = [chord for place, chord in self._read_chords if place // self.bars.beats in line]
        chords = [self._symbol(chord) for chord in there if chord]
        return f"Staves of {said}: {', '.join(chords) or 'no chord begins'}."


def _concert_clef(part: TunePart, staff: PartStaff) -> str:
    """The clef of a staff at concert pitch: its own, the same for an octave lower, or one that suits the notes."""
    if part.has == SLASHES:
        return staff.clef
    above = part.player.written_above
    if above in ("P1", "P8"):
        return f"{staff.clef} 8vb" if above == "P8" and staff.clef in ("treble", "bass") else staff.clef
    heights = sorted(note.name.diatonic for note in part.notes if note.voice == staff.voice and note.name)
    return "treble" if not heights or heights[len(heights) // 4] >= _LOW_IN_TREBLE else "bass"


def _printed(tune: RetunedTune, part: TunePart, player: Instrument | None) -> list[ScoreNote]:
    """The notes of a part with the hints of its player; those of its chords where it has slashes."""
    home = tune.sheet.key.lowest_fifth + 1
    if part.has == SLASHES:
        return [
            ScoreNote(chord.written.onset, chord.written.duration, note.hz(tune.tuning), note, part.name)
            for chord in tune.chords
            for note in chord.notes[:1]
        ]
    small = {staff.voice for staff in part.staves if staff.small}
    notes = []
    for note in part.notes:
        assert note.name is not None  # the notes of a part are written
        key, cents = own_key(note.name, note.hertz, home)
        shown = player and note.voice not in small and abs(cents) >= LEAST_CENTS
        notes.append(replace(note, label=hint(player, note.hertz, key)) if player and shown else note)
    return [note for note in notes if player or note.voice not in small]
