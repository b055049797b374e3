"""MusicXML 4.0: the written score, for notation editors and for engraving.

What is written is the spelling. A half-sharp's ``<alter>`` is 0.5, its nominal value, as editors expect; how far
the exact pitch is from the written note is printed above it in cents, and the note's label below it. So the printed
page holds the exact pitch too. A note that is some steps of its tuning off its letter is written with the sign
that is nearest to it in pitch.

Each voice becomes a part on a staff of its own, but for the voices named as *cues*: these are written small into
the first part, as a player's part shows what somebody else plays. Notes without a name are not written.

A *lead sheet* also has a key signature, and chord symbols above its first part.
"""

from __future__ import annotations

import os
from collections import defaultdict, deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache, reduce
from math import floor, lcm
from pathlib import Path
from xml.etree import ElementTree

from tunelib.export.chord_symbols import harmony_element
from tunelib.files import write_whole
from tunelib.harmony import Chord
from tunelib.pitch import LETTERS, Instrument, Key, Note, look_up, signed
from tunelib.score import Score, ScoreNote

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

_CLEFS = {
    "treble": ("G", 2, 0, "B4"),
    "treble 8vb": ("G", 2, -1, "B3"),
    "alto": ("C", 3, 0, "C4"),
    "bass": ("F", 4, 0, "D3"),
    "bass 8vb": ("F", 4, -1, "D2"),
}  # sign, line, octave change, and the note on the middle line
_READABLE = 9  # places from the middle line to the third ledger line, and the space beyond
_MOST_FIFTHS = 7
_NO_SIGNATURE: Mapping[str, int] = dict.fromkeys(LETTERS, 0)
_OCTAVE_SIGNS = {1: "8", 2: "15", 3: "22"}
_TYPES = {
    Fraction(4) / 2**k: name for k, name in enumerate(("whole", "half", "quarter", "eighth", "16th", "32nd", "64th"))
}
_SHORTEST = min(_TYPES)
_VALUES = {
    length * factor: (name, dots)
    for length, name in _TYPES.items()
    for factor, dots in ((Fraction(1), 0), (Fraction(3, 2), 1))
    if not dots or length > _SHORTEST
}  # beats to the name and dots of what lasts so long


@dataclass(frozen=True)
class Lead:
    """What makes a score a lead sheet.

    Parameters
    ----------
    parts : mapping of str to str
        The voices that are written, from the top staff down, each with its clef: ``"treble"``, ``"bass 8vb"``, ...
    key : Key
        Its signature is written if it is of up to seven sharps or flats; of another one the accidentals are.
    chords : sequence of (Fraction, Chord or None)
        The beat from which each holds, in order; None where no chord sounds.
    """

    parts: Mapping[str, str]
    key: Key
    chords: Sequence[tuple[Fraction, Chord | None]] = ()

    @property
    def fifths(self) -> int:
        """How many sharps, or, negative, flats the signature has."""
        fifths = self.key.lowest_fifth + 1
        return int(fifths) if fifths == int(fifths) and abs(fifths) <= _MOST_FIFTHS else 0

    @property
    def alterations(self) -> Mapping[str, int]:
        """Half-sharps on each letter by the signature."""
        return Key(Note.on_chain(self.fifths)).alterations


def write_musicxml(
    score: Score,
    path: str | os.PathLike[str],
    player: Instrument | None = None,
    cues: Collection[str] = (),
    new_lines: Collection[int] = (),
    overwrite: bool = False,
) -> Path:
    """Write a score as MusicXML; the parameters and errors are those of `musicxml_text`.

    Returns the path. Raises FileExistsError if the file is there and `overwrite` is false.
    """
    return write_whole(path, musicxml_text(score, player, cues, new_lines).encode(), overwrite)


def musicxml_text(
    score: Score,
    player: Instrument | None = None,
    cues: Collection[str] = (),
    new_lines: Collection[int] = (),
    bare: bool = False,
    lead: Lead | None = None,
) -> str:
    """A score as MusicXML 4.0, partwise.

    Parameters
    ----------
    score : Score
    player : Instrument, optional
        Whose part it is: the notes are written at that instrument's pitch in its clef, and those out of its
        comfortable range get a cross for a notehead. Without one, they are written where they sound, in the treble
        or the bass clef, whichever needs fewer ledger lines.
    cues : collection of str
        Voices written small, and without cents, into the first part.
    new_lines : collection of int
        Bars, counted from 1, that begin a new line of the page.
    bare : bool
        Whether to leave out metre, tempo, bar numbers, final barline, cents, labels and rests behind the last note,
        for a figure that says what is needed of them itself.
    lead : Lead, optional
        Makes it a lead sheet, with the voices that it names and no others, and without cents above the notes.

    Raises ValueError if nothing is left to write, a cue is no voice of the score, or a note has a pitch, an accidental
    or a length that MusicXML has no sign for.

    >>> from tunelib.score import sequence
    >>> text = musicxml_text(sequence([(440.0, Note.parse("A4"))]))
    >>> "<step>A</step><octave>4</octave>" in text
    True
    """
    unknown = sorted(set(cues) - set(score.voices))
    if unknown:
        raise ValueError(f"{unknown[0]!r} is to be a cue, but the score has no such voice: {', '.join(score.voices)}")
    written = [note for note in score.notes if note.name is not None]
    named = {note.voice for note in written}
    own = [voice for voice in (lead.parts if lead else score.voices) if voice not in cues and voice in named]
    if not own:
        raise ValueError("the score has no named notes to write, only cues")
    root = ElementTree.Element("score-partwise", version="4.0")
    if score.title:
        _add(_add(root, "work"), "work-title", score.title)
    _add(_add(_add(root, "identification"), "encoding"), "software", "tunelib")
    part_list = _add(root, "part-list")
    style = _Style(player, frozenset(cues), bare, lead)
    for number, voice in enumerate(own, start=1):
        voices = {voice, *cues} if number == 1 else {voice}
        _list_part(part_list, number, voice, player, alone=len(own) == 1)
        part = _add(root, "part", id=f"P{number}")
        notes = [note for note in written if note.voice in voices]
        _write_part(part, score, notes, style, new_lines if number == 1 else None)
    header = '<?xml version="1.0" encoding="UTF-8"?>\n'
    doctype = (
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">\n'
    )
    return header + doctype + ElementTree.tostring(root, encoding="unicode") + "\n"


@lru_cache(maxsize=len(_CLEFS))
def middle_line(clef: str) -> Note:
    """The note on the middle line of a staff. Raises ValueError for a clef that is not known."""
    return Note.parse(look_up(clef, _CLEFS, "clef")[3])


def octave_sign(written: Note, clef: str) -> int:
    """How many octaves up (8va, 15ma) or, negative, down (8vb, 15mb) bring a note near enough to the staff.

    0 for a note within three ledger lines and a space of the staff; a note too far for 22ma gets that. Raises
    ValueError for a clef that is not known.

    >>> octave_sign(Note.parse("C7"), "treble"), octave_sign(Note.parse("G2"), "treble")
    (1, -1)
    """
    places = written.diatonic - middle_line(clef).diatonic
    octaves = max(0, -((_READABLE + 1 - abs(places)) // 7))
    return min(octaves, max(_OCTAVE_SIGNS)) * (1 if places > 0 else -1)


@dataclass(frozen=True)
class _Piece:
    """What is in one bar as one sign: a chord, a note, or, without notes, a rest."""

    start: Fraction
    length: Fraction
    notes: tuple[ScoreNote, ...] = ()
    tied_from: bool = False
    tied_on: bool = False
    triplet: bool = False
    bar_rest: bool = False

    @property
    def end(self) -> Fraction:
        return self.start + self.length

    @property
    def sign(self) -> tuple[str, int]:
        """The name of the note value, and its dots."""
        return _VALUES[self.length * Fraction(3, 2) if self.triplet else self.length]

    @property
    def brackets(self) -> tuple[str, ...]:
        """Whether a triplet's bracket starts or stops here: it spans one beat."""
        if not self.triplet:
            return ()
        edges = (("start", self.start), ("stop", self.end))
        return tuple(kind for kind, edge in edges if edge.denominator == 1)


def _add(parent: ElementTree.Element, tag: str, text: object = None, **attributes: str) -> ElementTree.Element:
    child = ElementTree.SubElement(parent, tag, attributes)
    if text is not None:
        child.text = str(text)
    return child


def _list_part(parent: ElementTree.Element, number: int, voice: str, player: Instrument | None, alone: bool) -> None:
    listed = _add(parent, "score-part", id=f"P{number}")
    _add(listed, "part-name", player.name if player else voice, **({"print-object": "no"} if alone else {}))
    if player:
        _add(_add(listed, "score-instrument", id=f"P{number}-I1"), "instrument-name", player.name)
        _add(_add(listed, "midi-instrument", id=f"P{number}-I1"), "midi-program", player.midi_program + 1)


@dataclass(frozen=True)
class _Style:
    """How parts are written."""

    player: Instrument | None
    cues: frozenset[str]
    bare: bool
    lead: Lead | None

    @property
    def exact(self) -> bool:
        """Whether cents are written above the notes."""
        return not self.bare and self.lead is None

    def clef(self, notes: Sequence[ScoreNote]) -> str:
        if self.lead:
            return self.lead.parts[notes[0].voice]
        return self.player.clef if self.player else _clef_for([note.name for note in notes if note.name])


def _write_part(
    part: ElementTree.Element,
    score: Score,
    notes: Sequence[ScoreNote],
    style: _Style,
    new_lines: Collection[int] | None,
) -> None:
    """Write the bars of a part; tempo, chords and new lines are in the first one only (None in the others)."""
    bare = style.bare
    clef = style.clef(notes)
    end = _exact(score.beats) if bare else Fraction(len(_bars(score)) * score.beats_per_bar)
    layers = [_pieces(layer, score.beats_per_bar, end) for layer in _layers(notes)]
    chords = style.lead.chords if style.lead and new_lines is not None else ()
    times = [time for layer in layers for piece in layer for time in (piece.start, piece.length)]
    divisions = reduce(lcm, (time.denominator for time in [*times, *(onset for onset, _ in chords)]), 1)
    writer = _PartWriter(style, clef, divisions, chords)
    by_bar = [_in_bars(layer, score.beats_per_bar) for layer in layers]
    for bar in range(len(_bars(score))):
        measure = _add(part, "measure", number=str(bar + 1), **({"implicit": "yes"} if bare else {}))
        if new_lines and bar + 1 in new_lines:
            _add(measure, "print", **{"new-system": "yes"})
            writer.close_octave_sign()  # each line can be read by itself
        if bar == 0:
            _write_attributes(measure, divisions, score.beats_per_bar, clef, style)
            if new_lines is not None and not bare:
                _write_tempo(measure, score.tempo)
        writer.in_force.clear()
        for number, layer in enumerate(by_bar, start=1):
            if number > 1:
                _add(_add(measure, "backup"), "duration", score.beats_per_bar * divisions)
            inside = layer[bar]
            for piece, beams in zip(inside, _beams(inside), strict=True):
                writer.write(measure, piece, beams, number)
    writer.close_octave_sign()
    if not bare:
        _add(_add(measure, "barline", location="right"), "bar-style", "light-heavy")


def _in_bars(layer: Sequence[_Piece], beats_per_bar: int) -> Mapping[int, list[_Piece]]:
    """The pieces of a line by their bars, counted from 0."""
    bars: defaultdict[int, list[_Piece]] = defaultdict(list)
    for piece in layer:
        bars[floor(piece.start / beats_per_bar)].append(piece)
    return bars


def _bars(score: Score) -> range:
    return range(-(-_exact(score.beats) // score.beats_per_bar))


def _clef_for(names: Sequence[Note]) -> str:
    """Treble or bass, whichever keeps the notes nearer to the staff."""
    return min(
        ("treble", "bass"),
        key=lambda clef: sum(abs(name.diatonic - middle_line(clef).diatonic) for name in names),
    )


def _write_attributes(measure: ElementTree.Element, divisions: int, beats: int, clef: str, style: _Style) -> None:
    attributes = _add(measure, "attributes")
    _add(attributes, "divisions", divisions)
    key = _add(attributes, "key")
    _add(key, "fifths", style.lead.fifths if style.lead else 0)
    if style.lead:
        _add(key, "mode", style.lead.key.mode)
    time = _add(attributes, "time", **({"print-object": "no"} if style.bare else {}))
    _add(time, "beats", beats)
    _add(time, "beat-type", 4)
    sign, line, octave_change, _ = _CLEFS[clef]
    shape = _add(attributes, "clef")
    _add(shape, "sign", sign)
    _add(shape, "line", line)
    if octave_change:
        _add(shape, "clef-octave-change", octave_change)
    if style.player and style.player.written_above != "P1":
        _write_transpose(attributes, style.player)


def _write_transpose(attributes: ElementTree.Element, player: Instrument) -> None:
    """What is to be added to the written pitch for the sounding one: letters and semitones, whole octaves apart."""
    written = Note("C", 0, 4)
    sounding = player.sounding(written)
    letters = sounding.diatonic - written.diatonic
    semitones = (sounding.quartertones - written.quartertones) // 2
    octaves = abs(letters) // 7 * (1 if letters > 0 else -1)
    transpose = _add(attributes, "transpose")
    _add(transpose, "diatonic", letters - 7 * octaves)
    _add(transpose, "chromatic", semitones - 12 * octaves)
    if octaves:
        _add(transpose, "octave-change", octaves)


def _write_tempo(measure: ElementTree.Element, tempo: float) -> None:
    direction = _add(measure, "direction", placement="above")
    metronome = _add(_add(direction, "direction-type"), "metronome")
    _add(metronome, "beat-unit", "quarter")
    _add(metronome, "per-minute", f"{tempo:g}")
    _add(direction, "sound", tempo=f"{tempo:g}")


def _exact(beats: Fraction | float) -> Fraction:
    """A time as an exact fraction: a float is taken for the nearest one of small denominator that it stands for."""
    return beats if isinstance(beats, Fraction) else Fraction(beats).limit_denominator(192)


def _layers(notes: Sequence[ScoreNote]) -> list[list[_Piece]]:
    """Notes sorted into lines in which nothing overlaps; notes that begin and end together are one chord."""
    chords: dict[tuple[Fraction, Fraction], list[ScoreNote]] = {}
    for note in notes:
        chords.setdefault((_exact(note.onset), _exact(note.duration)), []).append(note)
    layers: list[list[_Piece]] = []
    for (start, length), together in sorted(chords.items(), key=lambda item: (item[0][0], -item[0][1])):
        low_to_high = tuple(sorted(together, key=lambda note: note.hertz))
        layer = next((line for line in layers if line[-1].end <= start), None)
        if layer is None:
            layer = []
            layers.append(layer)
        layer.append(_Piece(start, length, low_to_high))
    return layers


def _pieces(layer: Sequence[_Piece], beats_per_bar: int, end: Fraction) -> list[_Piece]:
    """A line with its gaps up to the end filled by rests, cut at barlines into note values."""
    pieces: list[_Piece] = []
    now = Fraction(0)
    for piece in [*layer, _Piece(end, Fraction(0))]:
        if piece.start > now:
            pieces.extend(_cut(_Piece(now, piece.start - now), beats_per_bar))
        if piece.length:
            pieces.extend(_cut(piece, beats_per_bar))
        now = piece.end
    return pieces


def _cut(piece: _Piece, beats_per_bar: int) -> list[_Piece]:
    """One note or rest as the tied signs, or the rests, that write it."""
    signs = _signs(piece.start, piece.end, beats_per_bar, rest=not piece.notes)
    if not piece.notes:
        return list(signs)
    last = len(signs) - 1
    return [replace(s, notes=piece.notes, tied_from=i > 0, tied_on=i < last) for i, s in enumerate(signs)]


@lru_cache(maxsize=4096)
def _signs(start: Fraction, end: Fraction, beats_per_bar: int, rest: bool) -> tuple[_Piece, ...]:
    """The signs that write a time, without their notes."""
    signs: list[_Piece] = []
    now = start
    while now < end:
        barline = Fraction((floor(now / beats_per_bar) + 1) * beats_per_bar)
        length = min(end, barline) - now
        if rest and length == beats_per_bar:
            signs.append(_Piece(now, length, bar_rest=True))
        else:
            if not (_is_binary(now) and _is_binary(length)) or (rest and now % 1):
                length = min(length, floor(now) + 1 - now)
            triplet = not (_is_binary(now) and _is_binary(length))
            stretch = Fraction(3, 2) if triplet else Fraction(1)
            fitting = [value for value in _VALUES if value <= length * stretch]
            if not fitting or length * stretch % _SHORTEST:
                raise ValueError(
                    f"a {'rest' if rest else 'note'} from beat {start} to {end} has no plain note value: "
                    "use halves and thirds of beats, down to a 64th note"
                )
            length = max(fitting) / stretch
            signs.append(_Piece(now, length, triplet=triplet))
        now += length
    return tuple(signs)


def _is_binary(time: Fraction) -> bool:
    return time.denominator & (time.denominator - 1) == 0


def _beams(pieces: Sequence[_Piece]) -> list[list[str]]:
    """For each piece of a bar, what its beams do, outermost first; nothing for notes that have none."""
    flags = [max(0, list(_TYPES.values()).index(p.sign[0]) - 2) if p.notes else 0 for p in pieces]
    beams: list[list[str]] = []
    for i, piece in enumerate(pieces):
        before, after = (
            flags[j] if 0 <= j < len(pieces) and floor(pieces[j].start) == floor(piece.start) else 0
            for j in (i - 1, i + 1)
        )
        beams.append([_beam(level, before, after) for level in range(flags[i])] if before or after else [])
    return beams


def _beam(level: int, before: int, after: int) -> str:
    if before > level:
        return "continue" if after > level else "end"
    if after > level:
        return "begin"
    return "backward hook" if before else "forward hook"


class _PartWriter:
    """Writes the signs of one part in order, and remembers what is in force."""

    def __init__(
        self, style: _Style, clef: str, divisions: int, chords: Sequence[tuple[Fraction, Chord | None]]
    ) -> None:
        self.style = style
        self.player = style.player
        self.clef = clef
        self.divisions = divisions
        self.chords = deque(chords)  # those still to be written
        self.signature = style.lead.alterations if style.lead else _NO_SIGNATURE
        self.in_force: dict[int, int] = {}  # half-sharps by place on the staff, since the barline
        self._octaves = 0
        self._measure: ElementTree.Element | None = None

    def write(self, measure: ElementTree.Element, piece: _Piece, beams: Sequence[str], layer: int) -> None:
        if layer == 1 and piece.notes:
            self._set_octave_sign(measure, piece)
        self._measure = measure
        while layer == 1 and self.chords and self.chords[0][0] < piece.end:
            self._write_chord(measure, piece, *self.chords.popleft())
        full_size = [note for note in piece.notes if note.voice not in self.style.cues]
        if full_size and not piece.tied_from and self.style.exact:
            self._write_cents(measure, full_size)
        for i, note in enumerate(piece.notes):
            self._write_note(measure, piece, note, beams if i == 0 else (), layer, in_chord=i > 0)
        if not piece.notes:
            self._write_rest(measure, piece, layer)

    def close_octave_sign(self) -> None:
        if self._octaves and self._measure is not None:
            self._octave_shift(self._measure, "stop", self._octaves)
            self._octaves = 0

    def _written(self, note: ScoreNote) -> Note:
        return self.player.written(note.sign) if self.player else note.sign

    def _set_octave_sign(self, measure: ElementTree.Element, piece: _Piece) -> None:
        wanted = {octave_sign(self._written(note), self.clef) for note in piece.notes}
        octaves = wanted.pop() if len(wanted) == 1 else 0
        if octaves == self._octaves:
            return
        if self._octaves:
            # The line ends where the notes under it end, so in the bar that holds the last of them.
            self._octave_shift(self._measure if self._measure is not None else measure, "stop", self._octaves)
        if octaves:
            self._octave_shift(measure, "down" if octaves > 0 else "up", octaves)
        self._octaves = octaves

    def _octave_shift(self, measure: ElementTree.Element, kind: str, octaves: int) -> None:
        direction = _add(measure, "direction", placement="above" if octaves > 0 else "below")
        _add(_add(direction, "direction-type"), "octave-shift", type=kind, size=_OCTAVE_SIGNS[abs(octaves)])

    def _write_chord(self, measure: ElementTree.Element, piece: _Piece, onset: Fraction, chord: Chord | None) -> None:
        """A chord symbol, set off from the sign during which its chord begins."""
        harmony = harmony_element(chord)
        if onset > piece.start:
            _add(harmony, "offset", (onset - piece.start) * self.divisions)
        measure.append(harmony)

    def _write_cents(self, measure: ElementTree.Element, notes: Sequence[ScoreNote]) -> None:
        """Cents above the note or, for a chord, above one another from the top note down."""
        away = [signed(note.cents_from_name) for note in reversed(notes) if note.name]
        direction = _add(measure, "direction", placement="above")
        _add(_add(direction, "direction-type"), "words", "\n".join(away), **{"font-style": "normal"})

    def _write_note(
        self,
        measure: ElementTree.Element,
        piece: _Piece,
        note: ScoreNote,
        beams: Sequence[str],
        layer: int,
        in_chord: bool,
    ) -> None:
        written = self._written(note)
        if written.half_sharps not in ACCIDENTALS:
            raise ValueError(f"{written} at beat {note.onset} has no accidental of its own: respell it with fewer")
        if not 0 <= written.octave <= 9:
            raise ValueError(f"{written} at beat {note.onset} is outside the octaves 0 to 9 that MusicXML can hold")
        cue = note.voice in self.style.cues
        element = _add(measure, "note")
        if cue:
            _add(element, "cue")
        if in_chord:
            _add(element, "chord")
        pitch = _add(element, "pitch")
        _add(pitch, "step", written.letter)
        if written.half_sharps:
            _add(pitch, "alter", f"{written.half_sharps / 2:g}")
        _add(pitch, "octave", written.octave)
        _add(element, "duration", piece.length * self.divisions)
        ties = [kind for kind, tied in (("stop", piece.tied_from), ("start", piece.tied_on)) if tied]
        if not cue:
            for kind in ties:
                _add(element, "tie", type=kind)
        _add(element, "voice", layer)
        self._write_sign(element, piece, small=cue)
        before = self.in_force.get(written.diatonic, self.signature[written.letter])
        if before != written.half_sharps and not piece.tied_from:
            _add(element, "accidental", ACCIDENTALS[written.half_sharps], **({"size": "cue"} if cue else {}))
        self.in_force[written.diatonic] = written.half_sharps
        if piece.triplet:
            _write_triplet(element)
        if self.player and not self.player.reaches(note.hertz):
            _add(element, "notehead", "x")
        for level, beam in enumerate(beams, start=1):
            _add(element, "beam", beam, number=str(level))
        brackets = piece.brackets if not in_chord else ()
        if ties or brackets:
            notations = _add(element, "notations")
            for kind in ties:
                _add(notations, "tied", type=kind)
            for kind in brackets:
                _add(notations, "tuplet", type=kind)
        if note.label and not piece.tied_from and not self.style.bare:
            above = [other for other in piece.notes if other.label and other.hertz > note.hertz]
            lyric = _add(element, "lyric", number=str(1 + len(above)))  # the label of a chord's top note comes first
            _add(lyric, "syllabic", "single")
            _add(lyric, "text", note.label.replace(" ", "\N{NO-BREAK SPACE}"))  # one syllable, not several

    def _write_rest(self, measure: ElementTree.Element, piece: _Piece, layer: int) -> None:
        if layer > 1:  # a second line only shows its notes
            _add(_add(measure, "forward"), "duration", piece.length * self.divisions)
            return
        element = _add(measure, "note")
        _add(element, "rest", **({"measure": "yes"} if piece.bar_rest else {}))
        _add(element, "duration", piece.length * self.divisions)
        _add(element, "voice", layer)
        if not piece.bar_rest:
            self._write_sign(element, piece, small=False)
        if piece.triplet:
            _write_triplet(element)
        if piece.brackets:
            notations = _add(element, "notations")
            for kind in piece.brackets:
                _add(notations, "tuplet", type=kind)

    def _write_sign(self, element: ElementTree.Element, piece: _Piece, small: bool) -> None:
        name, dots = piece.sign
        _add(element, "type", name, **({"size": "cue"} if small else {}))
        for _ in range(dots):
            _add(element, "dot")


def _write_triplet(element: ElementTree.Element) -> None:
    change = _add(element, "time-modification")
    _add(change, "actual-notes", 3)
    _add(change, "normal-notes", 2)
