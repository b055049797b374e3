"""A part on its staff, bar by bar, as MusicXML has it."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from math import ceil, floor, lcm
from xml.etree import ElementTree

from tunelib.arrange import LEAST_CENTS, own_key
from tunelib.export.chord_symbols import harmony_element
from tunelib.export.elements import add
from tunelib.export.form_signs import ending_spans, write_closing, write_jumps, write_opening, write_section
from tunelib.export.lead import Lead
from tunelib.export.note_values import Value, bar_values, beams
from tunelib.export.printed_bars import PrintedBars, PrintedNote
from tunelib.export.staff_clefs import OCTAVE_SIGNS, clef_for, middle_line, octave_sign, write_clef
from tunelib.harmony import Chord
from tunelib.pitch import LETTERS, Instrument, Note, signed
from tunelib.score import ScoreNote

ACCIDENTALS = {
    -4: "flat-flat",
    -3: "three-quarters-flat",
    -2: "flat",
    -1: "quarter-flat",
    0: "natural",
    1: "quarter-sharp",
    2: "sharp",
    3: "three-quarters-sharp",
    4: "double-sharp",
}
"""MusicXML's names of the accidentals, by half-sharps (accidental-value in the MusicXML 4.0 schema)."""

CUE_SIZE = 0.65
"""Of a small staff, beside one of full size (common practice)."""

_MOST_REPEATED = 4  # bars in sequence
_NO_SIGNATURE: Mapping[str, int] = dict.fromkeys(LETTERS, 0)


@dataclass(frozen=True)
class Style:
    """How parts are written; the meaning is that of the parameters of `tunelib.export.musicxml_text`."""

    player: Instrument | None
    cues: Collection[str]
    new_lines: Collection[int]
    bare: bool
    lead: Lead | None
    tempo: float
    symbols_over: str = ""  # the voice
    cents: bool = True

    @property
    def exact(self) -> bool:
        """Whether cents are written above the notes."""
        return self.cents and not self.bare and self.lead is None

    @property
    def for_player(self) -> bool:
        """Whether it is a player's part of a tune, whose notes are written in the octave in which they are read."""
        return self.player is not None and self.lead is not None

    def clef(self, voice: str, notes: Sequence[ScoreNote]) -> str:
        """The clef of a voice: as its lead sheet says, or its player's, or the one that suits the notes."""
        if self.lead:
            return self.lead.parts[voice]
        return self.player.clef if self.player else clef_for(note.name for note in notes if note.name)


@dataclass(frozen=True)
class _Sign:
    """What is in one bar as one sign: a chord, a note, or, without notes, a rest.

    A tie may lead to it, and from it; one from elsewhere on the page makes it `held`, and where the note goes on in a
    bar that does not follow, the tie is `left` open. A `slash` says that something is played whose notes are left to
    the player.
    """

    value: Value
    notes: tuple[ScoreNote, ...] = ()
    tied_from: bool = False
    tied_on: bool = False
    held: bool = False
    left: bool = False
    slash: bool = False

    @property
    def end(self) -> Fraction:
        """The beat in its bar at which it ends."""
        return self.value.start + self.value.length


_Chords = Sequence[tuple[Fraction, Chord | None]]


def write_part(
    part: ElementTree.Element, voice: str, notes: Sequence[ScoreNote], bars: PrintedBars, style: Style, first: bool
) -> None:
    """Write the bars of a part: all its notes, which have names, and cues may be among them.

    Tempo, words and new lines are in the `first` part only, chord symbols where the lead sheet has them. Raises
    ValueError, with its bar, for what there is no sign for.
    """
    clef = style.clef(voice, notes)
    layers = [_signs(layer, bars) for layer in _layers(bars.notes(notes))]
    if style.lead and voice in style.lead.slashed:
        layers = [_slashes(layers, bars)]
    slashed = {bar for layer in layers for bar, signs in enumerate(layer) if any(sign.slash for sign in signs)}
    chords = bars.chords(style.lead.chords) if style.lead and voice == style.symbols_over else []
    repeated = _repeated(layers, chords, bars, style.new_lines) if style.lead and style.lead.repeats_bars else set()
    chords = [(place, chord) for place, chord in chords if place // bars.beats not in repeated]
    times = [time for layer in layers for signs in layer for sign in signs for time in (sign.value.length, sign.end)]
    divisions = lcm(*(time.denominator for time in [*times, *(place for place, _ in chords)]))
    writer = _PartWriter(style, clef, divisions, chords)
    spans = ending_spans(bars.form)
    for bar, printed in enumerate(bars.form):
        implicit = style.bare or printed.number == (bars.form[bar - 1].number if bar else 0)
        measure = add(part, "measure", number=str(printed.number), **({"implicit": "yes"} if implicit else {}))
        if first and bar + 1 in style.new_lines:
            add(measure, "print", **{"new-system": "yes"})
            writer.close_octave_sign()  # each line can be read by itself
        write_opening(measure, printed)
        if bar == 0:
            _write_attributes(measure, divisions, bars.beats, clef, voice, style)
            if first and not style.bare and (style.lead is None or style.lead.tempo):
                _write_tempo(measure, style)
        _write_measure_style(measure, "slash", "", bar in slashed, bar - 1 in slashed)
        _write_measure_style(measure, "measure-repeat", "1", bar in repeated, bar - 1 in repeated)
        if first:
            write_section(measure, printed)
        writer.write_bar(measure, [layer[bar] for layer in layers], bar * bars.beats)
        if first:
            write_jumps(measure, printed)
        last = bar == len(bars.form) - 1
        if last:
            writer.close_octave_sign()
            _write_measure_style(measure, "slash", "", False, bar in slashed)  # else it goes on in the next part
            _write_measure_style(measure, "measure-repeat", "", False, bar in repeated)
        write_closing(measure, printed, spans.get(bar), last and not style.bare)


def _layers(notes: Sequence[PrintedNote]) -> list[list[list[PrintedNote]]]:
    """Notes sorted into lines in which nothing overlaps; notes that begin and end together are one chord."""
    layers: list[list[list[PrintedNote]]] = []
    for _, alike in groupby(notes, key=lambda note: (note.start, note.end, note.held, note.left)):
        chord = sorted(alike, key=lambda note: note.note.hertz)
        layer = next((line for line in layers if line[-1][0].end <= chord[0].start), None)
        if layer is None:
            layer = []
            layers.append(layer)
        layer.append(chord)
    return layers


def _signs(layer: Sequence[Sequence[PrintedNote]], bars: PrintedBars) -> list[list[_Sign]]:
    """The signs of a line, for each bar."""
    written: list[list[_Sign]] = []
    first = 0  # the first chord that has not ended before the bar
    for bar, printed in enumerate(bars.form):
        start, end = bars.starts(bar), bars.ends(bar)
        while first < len(layer) and layer[first][0].end <= start:
            first += 1
        last = first
        while last < len(layer) and layer[last][0].start < end:
            last += 1
        inside = layer[first:last]
        from_zero = bar * bars.beats
        spans = tuple((max(chord[0].start, start) - from_zero, min(chord[0].end, end) - from_zero) for chord in inside)
        try:
            values = bar_values(spans, (start - from_zero, end - from_zero), bars.beats)
        except ValueError as error:
            raise ValueError(f"bar {printed.number}, {error}") from None
        written.append([_sign(value, inside, spans, from_zero) for value in values])
    return written


def _slashes(layers: Sequence[Sequence[Sequence[_Sign]]], bars: PrintedBars) -> list[list[_Sign]]:
    """A slash for each beat of the bars in which something is played, and rests in the others."""
    written: list[list[_Sign]] = []
    for bar in range(len(bars.form)):
        start, end = (place - bar * bars.beats for place in (bars.starts(bar), bars.ends(bar)))
        playing = any(sign.notes for layer in layers for sign in layer[bar])
        beats = range(floor(start), ceil(end)) if playing else ()
        spans = tuple((max(start, Fraction(beat)), min(end, Fraction(beat + 1))) for beat in beats)
        written.append([_Sign(value, slash=playing) for value in bar_values(spans, (start, end), bars.beats)])
    return written


def _repeated(
    layers: Sequence[Sequence[Sequence[_Sign]]], chords: _Chords, bars: PrintedBars, new_lines: Collection[int]
) -> set[int]:
    """The bars, counted from 0, that are written as a repeat of the one before."""

    def like(bar: int) -> object:
        signs = [
            (sign.value, [note.name for note in sign.notes], sign.tied_from, sign.tied_on, sign.left, sign.slash)
            for layer in layers
            for sign in layer[bar]
        ]
        return signs, [(at % bars.beats, chord) for at, chord in chords if at // bars.beats == bar]

    found: set[int] = set()
    for bar in range(1, len(bars.form)):
        printed = bars.form[bar]
        fresh = bar + 1 in new_lines or printed.opens or printed.section or printed.endings
        many = found.issuperset(range(bar - _MOST_REPEATED, bar))
        rests = not any(sign.notes or sign.slash for layer in layers for sign in layer[bar])
        if not (fresh or many or rests) and like(bar) == like(bar - 1):
            found.add(bar)
    return found


def _write_measure_style(measure: ElementTree.Element, kind: str, text: str, here: bool, before: bool) -> None:
    """Say that a style of writing bars begins here, or that the one of the bar before has ended."""
    if here != before:
        attributes = add(measure, "attributes")
        add(add(attributes, "measure-style"), kind, text if here else "", type="start" if here else "stop")


def _sign(
    value: Value, chords: Sequence[Sequence[PrintedNote]], spans: Sequence[tuple[Fraction, Fraction]], from_zero: int
) -> _Sign:
    if value.place < 0:
        return _Sign(value)
    chord = chords[value.place]
    at, end = value.start + from_zero, value.start + value.length + from_zero
    return _Sign(
        value,
        tuple(note.note for note in chord),
        tied_from=at > chord[0].start or chord[0].held,
        tied_on=end < chord[0].end,
        held=at == chord[0].start and chord[0].held,
        left=end == chord[0].end and chord[0].left,
    )


def _write_attributes(
    measure: ElementTree.Element, divisions: int, beats: int, clef: str, voice: str, style: Style
) -> None:
    attributes = add(measure, "attributes")
    add(attributes, "divisions", divisions)
    key = add(attributes, "key")
    add(key, "fifths", style.lead.fifths if style.lead else 0)
    if style.lead:
        add(key, "mode", style.lead.key.mode)
    time = add(attributes, "time", **({"print-object": "no"} if style.bare else {}))
    add(time, "beats", beats)
    add(time, "beat-type", 4)
    write_clef(attributes, clef)
    if style.lead and voice in style.lead.small:
        add(add(attributes, "staff-details"), "staff-size", round(100 * CUE_SIZE))
    if style.player and style.player.written_above != "P1":
        _write_transpose(attributes, style.player)


def _write_transpose(attributes: ElementTree.Element, player: Instrument) -> None:
    """What is to be added to the written pitch for the sounding one: letters and semitones, whole octaves apart."""
    written = Note("C", 0, 4)
    sounding = player.sounding(written)
    letters = sounding.diatonic - written.diatonic
    semitones = (sounding.quartertones - written.quartertones) // 2
    octaves = abs(letters) // 7 * (1 if letters > 0 else -1)
    transpose = add(attributes, "transpose")
    add(transpose, "diatonic", letters - 7 * octaves)
    add(transpose, "chromatic", semitones - 12 * octaves)
    if octaves:
        add(transpose, "octave-change", octaves)


def _write_tempo(measure: ElementTree.Element, style: Style) -> None:
    direction = add(measure, "direction", placement="above")
    if style.lead and style.lead.style:
        add(
            add(direction, "direction-type"),
            "words",
            f"{style.lead.style}\N{NO-BREAK SPACE}",
            **{"font-weight": "bold"},
        )
    metronome = add(add(direction, "direction-type"), "metronome")
    add(metronome, "beat-unit", "quarter")
    add(metronome, "per-minute", f"{style.tempo:g}")
    add(direction, "sound", tempo=f"{style.tempo:g}")


class _PartWriter:
    """Writes the signs of one part in order, and remembers what is in force."""

    def __init__(self, style: Style, clef: str, divisions: int, chords: _Chords) -> None:
        self.style = style
        self.player = style.player
        self.clef = clef
        self.divisions = divisions
        self.chords = deque(chords)  # those still to be written
        self.signature = style.lead.alterations if style.lead else _NO_SIGNATURE
        self.in_force: dict[int, int] = {}  # half-sharps by place on the staff, since the barline
        self._octaves = 0
        self._measure: ElementTree.Element | None = None

    def write_bar(self, measure: ElementTree.Element, layers: Sequence[Sequence[_Sign]], from_zero: int) -> None:
        """Write what is in a bar, whose first beat is at a place; a second line is written where it has notes."""
        self.in_force.clear()
        for number, signs in enumerate(layers, start=1):
            if number > 1 and not any(sign.notes for sign in signs):
                continue
            if number > 1:
                length = sum(sign.value.length for sign in signs)
                add(add(measure, "backup"), "duration", length * self.divisions)
            for sign, beam in zip(signs, beams([sign.value for sign in signs]), strict=True):
                if number == 1:
                    self._write_chords(measure, sign, from_zero)
                self._write_sign(measure, sign, beam, number)

    def close_octave_sign(self) -> None:
        if self._octaves and self._measure is not None:
            self._octave_shift(self._measure, "stop", self._octaves)
            self._octaves = 0

    def _write_sign(self, measure: ElementTree.Element, sign: _Sign, beam: Sequence[str], layer: int) -> None:
        if not sign.notes:
            self._measure = measure
            if sign.slash:
                self._write_slash(measure, sign, layer)
            else:
                self._write_rest(measure, sign, layer)
            return
        if layer == 1:
            self._set_octave_sign(measure, sign)
        self._measure = measure
        if sign.held or not sign.tied_from:
            self._write_steps(measure, sign.notes)
        full_size = [note for note in sign.notes if note.voice not in self.style.cues]
        if full_size and not sign.tied_from and self.style.exact:
            self._write_cents(measure, full_size)
        elif self.style.lead and not sign.tied_from:
            self._write_figures(measure, [note for note in sign.notes if note.voice in self.style.lead.cents])
        for i, note in enumerate(sign.notes):
            self._write_note(measure, sign, note, beam if i == 0 else (), layer, in_chord=i > 0)

    def _written(self, note: ScoreNote) -> Note:
        return self.player.written(note.sign) if self.player else note.sign

    def _set_octave_sign(self, measure: ElementTree.Element, sign: _Sign) -> None:
        wanted = {octave_sign(self._written(note), self.clef) for note in sign.notes}
        octaves = wanted.pop() if len(wanted) == 1 and not self.style.for_player else 0
        if octaves == self._octaves:
            return
        if self._octaves:
            # The line ends where the notes under it end, so in the bar that holds the last of them.
            self._octave_shift(self._measure if self._measure is not None else measure, "stop", self._octaves)
        if octaves:
            self._octave_shift(measure, "down" if octaves > 0 else "up", octaves)
        self._octaves = octaves

    def _octave_shift(self, measure: ElementTree.Element, kind: str, octaves: int) -> None:
        direction = add(measure, "direction", placement="above" if octaves > 0 else "below")
        add(add(direction, "direction-type"), "octave-shift", type=kind, size=OCTAVE_SIGNS[abs(octaves)])

    def _write_chords(self, measure: ElementTree.Element, sign: _Sign, from_zero: int) -> None:
        """The symbols of the chords that begin during a sign, set off from it."""
        while self.chords and self.chords[0][0] < from_zero + sign.end:
            place, chord = self.chords.popleft()
            harmony = harmony_element(chord, self.style.lead.bodies.get(chord) if self.style.lead and chord else None)
            after = place - from_zero - sign.value.start
            if after:
                add(harmony, "offset", after * self.divisions)
            measure.append(harmony)

    def _write_steps(self, measure: ElementTree.Element, notes: Sequence[ScoreNote]) -> None:
        """By how many steps notes are off their letters and signs, from the top note down; nothing if none is."""
        steps = [note.name.steps for note in reversed(notes) if note.name]
        if any(steps):
            direction = add(measure, "direction", placement="below")
            add(add(direction, "direction-type"), "words", "\n".join(map(signed, steps)), **{"font-style": "italic"})

    def _write_cents(self, measure: ElementTree.Element, notes: Sequence[ScoreNote]) -> None:
        """Cents above the note or, for a chord, above one another from the top note down."""
        away = [signed(note.cents_from_name) for note in reversed(notes) if note.name]
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "words", "\n".join(away), **{"font-style": "normal"})

    def _write_figures(self, measure: ElementTree.Element, notes: Sequence[ScoreNote]) -> None:
        """How far notes are from their nearest keys, above one another from the top note down."""
        figures = [figure for note in reversed(notes) if (figure := self._figure(note))]
        if figures:
            direction = add(measure, "direction", placement="above")
            add(add(direction, "direction-type"), "words", "\n".join(figures), **{"font-style": "normal"})

    def _figure(self, note: ScoreNote) -> str:
        """The cents of a note to be played by, with the key that they are counted from where that has another name."""
        assert note.name is not None and self.style.lead is not None
        key, away = own_key(note.name, note.hertz, self.style.lead.key.lowest_fifth + 1)
        if abs(away) < LEAST_CENTS:
            return ""
        read = self.player.written(key) if self.player else key
        return signed(away) if read.name == self._written(note).name else f"{read.name} {signed(away)}"

    def _write_note(
        self,
        measure: ElementTree.Element,
        sign: _Sign,
        note: ScoreNote,
        beam: Sequence[str],
        layer: int,
        in_chord: bool,
    ) -> None:
        written = self._written(note)
        where = f"bar {measure.get('number')}, beat {float(sign.value.start) + 1:g}: {written}"
        if written.half_sharps not in ACCIDENTALS:
            raise ValueError(f"{where} has no accidental of its own: respell it with fewer")
        if not 0 <= written.octave <= 9:
            raise ValueError(f"{where} is outside the octaves 0 to 9 that MusicXML can hold")
        cue = note.voice in self.style.cues
        element = add(measure, "note")
        if cue:
            add(element, "cue")
        if in_chord:
            add(element, "chord")
        pitch = add(element, "pitch")
        add(pitch, "step", written.letter)
        if written.half_sharps:
            add(pitch, "alter", f"{written.half_sharps / 2:g}")
        add(pitch, "octave", written.octave)
        add(element, "duration", sign.value.length * self.divisions)
        ties = [kind for kind, tied in (("stop", sign.tied_from), ("start", sign.tied_on)) if tied]
        if not cue:
            for kind in ties:
                add(element, "tie", type=kind)
        add(element, "voice", layer)
        _write_value(element, sign.value, small=cue)
        before = self.in_force.get(written.diatonic, self.signature[written.letter])
        if before != written.half_sharps and (sign.held or not sign.tied_from):
            add(element, "accidental", ACCIDENTALS[written.half_sharps], **({"size": "cue"} if cue else {}))
        self.in_force[written.diatonic] = written.half_sharps
        _write_tuplet(element, sign.value)
        if self.player and not self.style.lead and not self.player.reaches(note.hertz):
            add(element, "notehead", "x")
        for level, what in enumerate(beam, start=1):
            add(element, "beam", what, number=str(level))
        _write_notations(element, sign.value, [*ties, *(["let-ring"] if sign.left else [])], in_chord)
        if note.label and not sign.tied_from and not self.style.bare:
            above = [other for other in sign.notes if other.label and other.hertz > note.hertz]
            lyric = add(element, "lyric", number=str(1 + len(above)))  # the label of a chord's top note comes first
            add(lyric, "syllabic", "single")
            add(lyric, "text", note.label.replace(" ", "\N{NO-BREAK SPACE}"))  # one syllable, not several

    def _write_rest(self, measure: ElementTree.Element, sign: _Sign, layer: int) -> None:
        value = sign.value
        if layer > 1 and value.tuplet is None:  # a second line only shows its notes
            add(add(measure, "forward"), "duration", value.length * self.divisions)
            return
        element = add(measure, "note")
        add(element, "rest", **({} if value.name else {"measure": "yes"}))
        add(element, "duration", value.length * self.divisions)
        add(element, "voice", layer)
        if value.name:
            _write_value(element, value, small=False)
        _write_tuplet(element, value)
        _write_notations(element, value, (), in_chord=False)

    def _write_slash(self, measure: ElementTree.Element, sign: _Sign, layer: int) -> None:
        middle = middle_line(self.clef)
        element = add(measure, "note")
        pitch = add(element, "unpitched")
        add(pitch, "display-step", middle.letter)
        add(pitch, "display-octave", middle.octave)
        add(element, "duration", sign.value.length * self.divisions)
        add(element, "voice", layer)
        _write_value(element, sign.value, small=False)
        add(element, "stem", "none")
        add(element, "notehead", "slash")


def _write_value(element: ElementTree.Element, value: Value, small: bool) -> None:
    add(element, "type", value.name, **({"size": "cue"} if small else {}))
    for _ in range(value.dots):
        add(element, "dot")


def _write_tuplet(element: ElementTree.Element, value: Value) -> None:
    if value.tuplet:
        change = add(element, "time-modification")
        add(change, "actual-notes", value.tuplet.actual)
        add(change, "normal-notes", value.tuplet.normal)
        add(change, "normal-type", value.tuplet.unit)


def _write_notations(element: ElementTree.Element, value: Value, ties: Sequence[str], in_chord: bool) -> None:
    brackets = [kind for kind, here in (("start", value.opens), ("stop", value.closes)) if here and not in_chord]
    if ties or brackets:
        notations = add(element, "notations")
        for kind in ties:
            add(notations, "tied", type=kind)
        for kind in brackets:
            add(notations, "tuplet", type=kind)
