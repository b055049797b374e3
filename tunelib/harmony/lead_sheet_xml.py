"""Lead sheets from MusicXML 4.0 (W3C Music Notation Community Group, 2021): what notation programs give people.

Chords come from the ``<harmony>`` elements of the first part that has any, the melody from the first voice of the first
part, the top notes of its chords; both as they sound, whatever the part is written in. Grace notes and cues are left
out. Repeats and endings are written out.

Three things are decided here. Kinds of thirteenths are read without their eleventh, as players take the sign 13
(common practice; the standard lists the eleventh, "usually as the basis for alteration"). A degree that is to be
altered and is not in the chord is added. And a key that is not a row of sharps or flats is taken for C major, because a
key only helps to spell.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import interval_of
from tunelib.harmony.symbols import Degree, note_of_root
from tunelib.harmony.tune import LeadSheet, bar_length, known_tempo, known_title, writable
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.pitch import MODES, Key, Note, SpelledInterval, cut, look_up, printable, shortened

LARGEST_FILE = 20_000_000
"""Bytes of a file, and of what is packed in it."""

_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # MusicXML 4.0, compressed files; others may ask for gigabytes
_DEEPEST = 64
_MOST_ELEMENTS = 1_000_000
_MOST_FILES = 1000
MUSICXML_KINDS = {
    "major": "", "minor": "m", "augmented": "aug", "diminished": "dim",
    "dominant": "7", "major-seventh": "maj7", "minor-seventh": "m7", "diminished-seventh": "dim7",
    "augmented-seventh": "7#5", "half-diminished": "m7b5", "major-minor": "mmaj7",
    "major-sixth": "6", "minor-sixth": "m6",
    "dominant-ninth": "9", "major-ninth": "maj9", "minor-ninth": "m9",
    "dominant-11th": "11", "major-11th": "maj11", "minor-11th": "m11",
    "dominant-13th": "13", "major-13th": "maj13", "minor-13th": "m13",
    "suspended-second": "sus2", "suspended-fourth": "sus4", "power": "5",
}  # fmt: skip
_NOT_CHORDS = ("Neapolitan", "Italian", "French", "German", "pedal", "Tristan")
_MODE_NAMES = {mode: mode for mode in MODES} | {"ionian": "major", "aeolian": "minor"}
_BEAT_UNITS = {
    "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2), "16th": Fraction(1, 4),
}  # fmt: skip
_LARGEST_DEGREE = 13
_MOST_FIFTHS = 14
_MOST_DIVISIONS = 1_000_000
_MOST_TIMES = 9
_MOST_OCTAVES = 4
_AS_WRITTEN = SpelledInterval(0, 0)
_DECIMAL = re.compile(r"[-+]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})")
_ENDINGS = re.compile(r"[1-9](\s*,\s*[1-9])*")
_JUMPS = ("dacapo", "dalsegno")


def musicxml_lead_sheet(data: bytes) -> LeadSheet:
    """Read a tune from MusicXML, plain or compressed (.mxl).

    Parameters
    ----------
    data : bytes
        The file.

    Raises ValueError, with the number of the measure and the line and column in the file where there is one, for what
    is not MusicXML, for an XML file that declares entities, attributes or elements, for one that is too large or too
    deep, for a chord that no symbol can say, a metre that changes, or a jump such as D.S.
    """
    if data[:2] == b"PK":
        data = _unpacked(data)
    root, places = _parsed(data)
    return _Reader(root, places).read()


def _unpacked(data: bytes) -> bytes:
    """The score in a compressed file: the first root file that its container names."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if len(archive.infolist()) > _MOST_FILES:
                raise ValueError(f"the compressed file holds more than {_MOST_FILES} files, which no score does")
            container, _ = _parsed(_member(archive, "META-INF/container.xml"))
            for element in container.iter():
                if element.tag.rpartition("}")[2] == "rootfile":
                    return _member(archive, element.get("full-path", ""))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as error:
        raise ValueError(f"the compressed file is damaged, or locked: {cut(printable(str(error)))}") from None
    raise ValueError("the compressed file names no score in its META-INF/container.xml")


def _member(archive: zipfile.ZipFile, name: str) -> bytes:
    try:
        member = archive.open(name)
    except KeyError:
        raise ValueError(f"the compressed file has no {shortened(name)} in it") from None
    if archive.getinfo(name).compress_type not in _PACKED:
        raise ValueError(f"{shortened(name)} is packed in a way that MusicXML does not know: save it as .musicxml")
    with member:
        data = member.read(LARGEST_FILE + 1)  # counted while unpacking: the size that the file claims may be a lie
    if len(data) > LARGEST_FILE:
        raise ValueError(f"{shortened(name)} is larger than {LARGEST_FILE // 1_000_000} MB when unpacked")
    return data


def _parsed(data: bytes) -> tuple[Element, dict[Element, tuple[int, int]]]:
    """The tree of an XML file, and where each element is. Nothing outside the file is looked up."""
    if len(data) > LARGEST_FILE:
        raise ValueError(f"the file is larger than {LARGEST_FILE // 1_000_000} MB, which no tune is")
    parser = expat.ParserCreate()
    builder = TreeBuilder()
    places: dict[Element, tuple[int, int]] = {}
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise ValueError(f"{_place(parser)}: more than {_DEEPEST} elements are inside one another")
        if len(places) >= _MOST_ELEMENTS:
            raise ValueError(f"{_place(parser)}: the file has more than {_MOST_ELEMENTS:,} elements, which no tune has")
        places[builder.start(tag, attributes)] = parser.CurrentLineNumber, parser.CurrentColumnNumber + 1

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def declared(what: str) -> Callable[..., None]:
        def refuse(*_: object) -> None:
            raise ValueError(f"{_place(parser)}: the file declares {what} of its own, which no score needs: remove it")

        return refuse

    def entity(name: str, *_: object) -> None:
        raise ValueError(f"{_place(parser)}: the file defines an entity, {shortened(name)}, which no score needs")

    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = entity
    parser.AttlistDeclHandler = declared("an attribute")
    parser.ElementDeclHandler = declared("an element")
    parser.NotationDeclHandler = declared("a notation")
    try:
        parser.Parse(data, True)
        return builder.close(), places
    except expat.ExpatError as error:
        where = f"line {error.lineno}, column {error.offset + 1}"
        raise ValueError(f"{where}: this is not XML: {expat.errors.messages[error.code]}") from None
    except (LookupError, ValueError) as error:
        if str(error).startswith("line "):  # said above
            raise
        raise ValueError(f"line 1, column 1: this is not XML that can be read: {cut(str(error))}") from None


def _place(parser: expat.XMLParserType) -> str:
    return f"line {parser.CurrentLineNumber}, column {parser.CurrentColumnNumber + 1}"


def _text(element: Element, path: str, default: str = "") -> str:
    return (element.findtext(path) or "").strip() or default


def _number(text: str, what: str) -> Fraction:
    if not _DECIMAL.fullmatch(text):
        raise ValueError(f"the {what} is a number, not {shortened(text)}")
    return Fraction(text)


def _whole(text: str, what: str) -> int:
    number = _number(text, what)
    if number.denominator > 1:
        raise ValueError(f"the {what} is a whole number, not {shortened(text)}")
    return int(number)


def _half_sharps(text: str, what: str) -> int:
    """Half-sharps of an alteration in semitones."""
    doubled = 2 * _number(text, what)
    if doubled.denominator > 1:
        raise ValueError(f"the {what} is {text} semitones: half a semitone, 0.5, is the finest that has a name")
    return int(doubled)


@dataclass
class _Part:
    """What has to be remembered from measure to measure of a part."""

    divisions: int = 1
    transposition: SpelledInterval = _AS_WRITTEN
    voice: tuple[str, str] | None = None  # of the melody: its name, and its staff

    def beats(self, duration: str) -> Fraction:
        """Quarter notes of a duration in divisions."""
        return _number(duration, "duration") / self.divisions


class _Reader:
    """Reads a score measure by measure."""

    def __init__(self, root: Element, places: dict[Element, tuple[int, int]]) -> None:
        self._root, self._places = root, places
        self._tempo: float | None = None
        self._key: Key | None = None
        self._beats: int | None = None

    def read(self) -> LeadSheet:
        parts = self._parts()
        if not parts or not parts[0]:
            raise ValueError("the score has no measures")
        with_chords = next((part for part in parts if any(m.find("harmony") is not None for _, m in part)), None)
        if with_chords is None:
            raise ValueError("the score has no chord symbols (harmony elements): write them above the melody")
        bars = self._read_part(parts[0], with_chords is parts[0])
        if with_chords is not parts[0]:
            for bar, other in zip(bars, self._read_part(with_chords, True), strict=False):
                bar.chords = other.chords
        return written_out(
            bars, self._title(), self._tempo or 120.0, self._beats or 4, self._key or Key(Note.named("C"))
        )

    def _title(self) -> str:
        for path in ("work/work-title", "movement-title"):
            element = self._root.find(path)
            if element is not None and (element.text or "").strip():
                line, column = self._places[element]
                try:
                    return known_title(element.text or "")
                except ValueError as error:
                    raise ValueError(f"line {line}, column {column}: {error}") from None
        return ""

    @contextmanager
    def _at(self, measure: str, element: Element) -> Iterator[None]:
        """Puts the measure and the place in the file before what a ValueError says."""
        try:
            yield
        except ValueError as error:
            raise ValueError(f"{self._where(measure, element)}: {error}") from None

    def _where(self, measure: str, element: Element) -> str:
        line, column = self._places[element]
        return f"measure {measure} (line {line}, column {column})"

    def _parts(self) -> list[list[tuple[str, Element]]]:
        """The measures of each part, with their numbers."""
        if self._root.tag == "score-partwise":
            return [
                [(measure.get("number", "?")[:10], measure) for measure in part.findall("measure")]
                for part in self._root.findall("part")
            ]
        if self._root.tag == "score-timewise":
            parts: dict[str, list[tuple[str, Element]]] = {}
            for measure in self._root.findall("measure"):
                for part in measure.findall("part"):
                    parts.setdefault(part.get("id", ""), []).append((measure.get("number", "?")[:10], part))
            return list(parts.values())
        raise ValueError(
            f"this is not a MusicXML score: it begins with {shortened(self._root.tag)}, not score-partwise"
        )

    def _read_part(self, measures: list[tuple[str, Element]], with_chords: bool) -> list[WrittenBar]:
        part = _Part()
        return [self._measure(number, measure, part, with_chords) for number, measure in measures]

    def _measure(self, number: str, measure: Element, part: _Part, with_chords: bool) -> WrittenBar:
        bar = WrittenBar(self._where(number, measure), Fraction(0))
        now = begun = length = Fraction(0)
        for element in measure:
            with self._at(number, element):
                if element.tag == "note":
                    if element.find("chord") is None:
                        begun = now
                    if element.find("grace") is None:
                        duration = part.beats(_text(element, "duration"))
                        if duration <= 0:
                            raise ValueError("a note lasts longer than nothing")
                        self._note(element, begun, duration, part, bar)
                        now = begun + duration
                elif element.tag == "backup":
                    now -= part.beats(_text(element, "duration"))
                    if now < 0:
                        raise ValueError("this goes back to before the measure")
                elif element.tag == "forward":
                    now += part.beats(_text(element, "duration"))
                elif element.tag == "attributes":
                    self._attributes(element, part)
                elif element.tag == "harmony" and with_chords:
                    self._harmony(element, now, part, bar)
                elif element.tag == "barline":
                    _barline(element, bar)
                elif element.tag in ("direction", "sound"):
                    self._sound(element)
            length = max(length, now)
        with self._at(number, measure):
            whole = Fraction(self._beats or 4)
            if length > whole:
                raise ValueError(f"the measure lasts {float(length):g} quarter notes, and its metre has {whole}")
            bar.beats = length or whole
            bar.chords.sort(key=lambda sign: sign.offset)
            if any(after.offset == before.offset for before, after in pairwise(bar.chords)):
                raise ValueError("two chords begin at once: give the later one an offset, or write it at its note")
            if bar.chords and bar.chords[-1].offset >= bar.beats:
                raise ValueError("a chord begins after the measure ends")
        return bar

    def _note(self, element: Element, onset: Fraction, duration: Fraction, part: _Part, bar: WrittenBar) -> None:
        if element.find("cue") is not None:
            return
        voice = _text(element, "voice", "1"), _text(element, "staff", "1")
        part.voice = part.voice or voice
        pitch = element.find("pitch")
        if pitch is None or voice != part.voice:
            return
        alteration = _half_sharps(_text(pitch, "alter", "0"), "alteration")
        written = Note(_text(pitch, "step"), alteration, _whole(_text(pitch, "octave"), "octave"))
        note = writable(written.transpose(part.transposition))
        held = any(tie.get("type") == "stop" for tie in element.findall("tie"))
        new = WrittenNote(onset, duration, note, held, *self._places[element])
        before = bar.melody[-1] if bar.melody else None
        if before and before.note and element.find("chord") is not None and before.offset == onset:
            if note.quartertones > before.note.quartertones:
                bar.melody[-1] = new
        elif before and before.offset + before.duration > onset:
            raise ValueError("this note of the melody begins before the last one has ended")
        else:
            bar.melody.append(new)

    def _attributes(self, element: Element, part: _Part) -> None:
        if divisions := _text(element, "divisions"):
            part.divisions = _whole(divisions, "number of divisions")
            if not 0 < part.divisions <= _MOST_DIVISIONS:
                raise ValueError(f"a quarter note has from 1 to {_MOST_DIVISIONS:,} divisions, not {part.divisions}")
        transpose = element.find("transpose")
        if transpose is not None:
            part.transposition = _transposition(transpose)
        time = element.find("time")
        if time is not None:
            beats = _beats(time)
            if self._beats not in (None, beats):
                raise ValueError(f"the metre changes from {self._beats} quarter notes to {beats}: a lead sheet has one")
            self._beats = beats
        key = element.find("key")
        if key is not None and self._key is None:
            self._key = _key(key, part.transposition)

    def _sound(self, element: Element) -> None:
        """Take the first tempo; refuse a jump."""
        for sound in element.iter("sound"):
            if any(sound.get(jump) for jump in _JUMPS):
                raise ValueError("here is a jump, D.C. or D.S.: write the tune out, or with repeats and endings")
            tempo = _number(sound.get("tempo", "0"), "tempo")
            if tempo and self._tempo is None:
                self._tempo = known_tempo(float(tempo))
        for metronome in element.iter("metronome"):
            said = re.search(r"\d{1,4}(\.\d{1,9})?", _text(metronome, "per-minute"))
            unit = _BEAT_UNITS.get(_text(metronome, "beat-unit"))
            if said and unit and self._tempo is None:
                dots = len(metronome.findall("beat-unit-dot"))
                self._tempo = known_tempo(float(Fraction(said.group()) * unit * (2 - Fraction(1, 2**dots))))

    def _harmony(self, element: Element, now: Fraction, part: _Part, bar: WrittenBar) -> None:
        if element.get("type") == "alternate":
            return
        offset = now + part.beats(_text(element, "offset", "0"))
        if offset < 0:
            raise ValueError("the chord begins before its measure")
        kinds = element.findall("kind")
        if len(kinds) != 1:
            raise ValueError(f"a chord symbol has one kind, and this has {len(kinds)}: write one chord over a bass")
        if (kinds[0].text or "").strip() == "none":
            bar.chords.append(WrittenChord(offset, None, "N.C.", *self._places[element]))
            return
        chord = _chord(element, part.transposition)
        bar.chords.append(WrittenChord(offset, chord, chord.symbol, *self._places[element]))


def _barline(element: Element, bar: WrittenBar) -> None:
    repeat, ending = element.find("repeat"), element.find("ending")
    if repeat is not None:
        if element.get("location") == "middle":
            raise ValueError("a repeat in the middle of a measure: divide the measure in two")
        if repeat.get("direction") == "forward":
            bar.opens = True
        else:
            bar.times = _whole(repeat.get("times", "2"), "number of times")
            if not 2 <= bar.times <= _MOST_TIMES:
                raise ValueError(f"a repeat is played 2 to {_MOST_TIMES} times, not {bar.times}")
    if ending is not None and ending.get("type") == "start":
        numbers = ending.get("number", "").strip()
        if not _ENDINGS.fullmatch(numbers):
            raise ValueError(f"the number of an ending is such as 1, or 1, 2, and not {shortened(numbers)}")
        bar.endings = tuple(int(number) for number in numbers.split(","))


def _beats(time: Element) -> int:
    """Quarter notes in a bar of a time signature."""
    beats, types = time.findall("beats"), time.findall("beat-type")
    if len(beats) != 1 or len(types) != 1:
        raise ValueError("the metre is free, or made of several: a lead sheet has one, such as 4/4")
    number = sum(_whole(part.strip(), "number of beats") for part in (beats[0].text or "").split("+"))
    return bar_length(number, _whole((types[0].text or "").strip(), "beat type"))


def _key(element: Element, transposition: SpelledInterval) -> Key | None:
    if element.find("fifths") is None:
        return None
    fifths = _whole(_text(element, "fifths"), "number of fifths")
    if abs(fifths) > _MOST_FIFTHS:
        raise ValueError(f"a key has up to {_MOST_FIFTHS} fifths, not {fifths}")
    mode = _MODE_NAMES.get(_text(element, "mode", "major"), "major")
    tonic = Note.on_chain(fifths - 1 + MODES.index(mode)).transpose(transposition)
    return Key(writable(tonic), mode)


def _transposition(element: Element) -> SpelledInterval:
    """From written to sounding pitch."""
    quartertones = _half_sharps(_text(element, "chromatic"), "transposition")
    letters = _text(element, "diatonic")
    octaves = _whole(_text(element, "octave-change", "0"), "octave change")
    if abs(octaves) > _MOST_OCTAVES or abs(quartertones) > 24 * _MOST_OCTAVES:
        raise ValueError(f"no instrument sounds more than {_MOST_OCTAVES} octaves from where it is written")
    return SpelledInterval(
        (_whole(letters, "number of letters") if letters else round(quartertones * 7 / 24)) + 7 * octaves,
        quartertones + 24 * octaves,
    )


def _named(element: Element, what: str, transposition: SpelledInterval) -> Note:
    """The root or the bass of a chord as it sounds; between two keys if its text says so and the rest agrees."""
    alteration = _half_sharps(_text(element, f"{what}-alter", "0"), f"alteration of the {what}")
    note = Note(_text(element, f"{what}-step"), alteration, 4)
    step = element.find(f"{what}-step")
    with suppress(ValueError):
        named = note_of_root("" if step is None else step.get("text", ""))
        if (named.letter, 2 * int(named.half_sharps / 2)) == (note.letter, note.half_sharps):
            note = named
    return writable(replace(note.transpose(transposition), octave=4))


def _chord(element: Element, transposition: SpelledInterval) -> Chord:
    root, bass = element.find("root"), element.find("bass")
    if root is None:
        raise ValueError("the chord has no root but a numeral: write its name, such as Dm7")
    kind = _text(element, "kind")
    if kind in _NOT_CHORDS:
        raise ValueError(
            f"the kind {kind} says what a chord does, not what it is: write its root and a kind such as major"
        )
    if kind == "other":
        of_kind = frozenset({(1, 0)})
    else:
        of_kind = Chord.parse(f"C{look_up(kind, MUSICXML_KINDS, 'kind of chord')}").degrees
    degrees = _said(_changed(of_kind, element.findall("degree")), element.find("kind"))
    chord = Chord(_named(root, "root", transposition), tuple(interval_of(degree) for degree in degrees))
    if bass is not None:
        return chord.over(_named(bass, "bass", transposition))
    inversion = _whole(_text(element, "inversion", "0"), "number of the inversion")
    if not 0 <= inversion < len(chord.notes):
        raise ValueError(f"{chord} has {len(chord.notes)} notes, and so no inversion {inversion}")
    return chord.over(chord.notes[inversion])


def _said(degrees: set[Degree], kind: Element | None) -> set[Degree]:
    """The degrees that the text of a kind says, if none is more than half a sharp from the kind's: so in our files."""
    text = "" if kind is None else kind.get("text", "")
    with suppress(ValueError):
        chord = Chord.parse(f"C{text}")
        pairs = list(zip(sorted(chord.degrees), sorted(degrees), strict=True))
        if chord.root == Note("C", 0, 4) and all(one == n and abs(a - b) <= 1 for (one, a), (n, b) in pairs):
            return set(chord.degrees)
    return degrees


def _changed(of_kind: frozenset[Degree], changes: list[Element]) -> set[Degree]:
    """The degrees of a kind with what is added, altered or taken away.

    What is added counts from a dominant chord, what is altered from the chord that the kind makes (MusicXML 4.0,
    degree-alter). A second or fourth beside a third is a ninth or an eleventh.
    """
    plain = dict(of_kind)
    found = set(of_kind)
    for element in changes:
        number = _whole(_text(element, "degree-value"), "degree")
        if not 2 <= number <= _LARGEST_DEGREE:
            raise ValueError(f"the degree {number} cannot be changed: those from 2 to {_LARGEST_DEGREE} can")
        change = _half_sharps(_text(element, "degree-alter", "0"), "alteration of the degree")
        dominant = -2 if number == 7 else 0
        action = _text(element, "degree-type")
        if action == "add":
            found.add((number, dominant + change))
        elif action == "alter":
            found.discard((number, plain.get(number, dominant)))
            found.add((number, plain.get(number, dominant) + change))
        elif action == "subtract":
            found = {degree for degree in found if degree[0] != number}
        else:
            raise ValueError(f"a degree is to add, alter or subtract, not {shortened(action)}")
    if any(number == 3 for number, _ in found):
        return {({2: 9, 4: 11}.get(number, number), offset) for number, offset in found}
    return found
