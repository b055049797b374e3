"""Lead sheets from MusicXML 4.0 (W3C Music Notation Community Group, 2021): what notation programs give people.

Chords come from the ``<harmony>`` elements of the first part that has any, the melody from the first voice that has
notes of the first part that is not percussion, the top notes of its chords; both as they sound, whatever the part is
written in. Grace notes, cues, slashes and percussion are left out, and `LeadSheet.remarks` says so. The form is that of
the first part: repeats, endings, double bars, jumps and rehearsal marks.

A key that is not a row of sharps or flats is taken for C major, because a key only helps to spell. A duration that is a
note value to the nearest division is taken for it: many programs cannot divide a beat by seven.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from xml.etree.ElementTree import Element

from tunelib.harmony.tune import LeadSheet, bar_length, known_tempo, known_title, writable
from tunelib.harmony.unrolled import written_out
from tunelib.harmony.written_bars import WrittenBar, WrittenChord, WrittenNote
from tunelib.harmony.xml_chords import xml_chord
from tunelib.harmony.xml_form import XmlMark, marks_of, put_marks, section_of
from tunelib.harmony.xml_tree import half_sharps, number, text_of, whole, xml_tree
from tunelib.pitch import MODES, Key, Note, SpelledInterval, printable, shortened, times

_MODE_NAMES = {mode: mode for mode in MODES} | {"ionian": "major", "aeolian": "minor"}
_BEAT_UNITS = {
    name: Fraction(8) / 2**place
    for place, name in enumerate("breve whole half quarter eighth 16th 32nd 64th 128th 256th".split())
}
_MOST_FIFTHS = 14
_MOST_DIVISIONS = 1_000_000
_MOST_TIMES = 9
_MOST_OCTAVES = 4
_MOST_DOTS = 4
_LONGEST_NAME = 40
_MOST_NAMED = 8  # measures in a remark
_AS_WRITTEN = SpelledInterval(0, 0)
_ENDINGS = re.compile(r"[1-9]\.?(\s*,\s*[1-9]\.?)*")
_SLASHES = ("slash", "slashed")


def musicxml_lead_sheet(data: bytes) -> LeadSheet:
    """Read a tune from MusicXML, plain or compressed (.mxl).

    Parameters
    ----------
    data : bytes
        The file.

    Raises ValueError, with the number of the measure and the line and column in the file where there is one, for what
    is not MusicXML, for an XML file that declares entities, attributes or elements, for one that is too large or too
    deep, for a chord that no symbol can say, a metre that changes, or a jump that leads nowhere.
    """
    return _Reader(*xml_tree(data)).read()


_Voice = tuple[str, str]  # its name, and its staff


@dataclass(eq=False)
class _Part:
    """A part: its measures with their numbers, what is taken from it, and what holds from measure to measure."""

    name: str
    measures: list[tuple[str, Element]]
    with_chords: bool = False
    voice: _Voice | None = None  # of the melody
    divisions: int = 1
    transposition: SpelledInterval = _AS_WRITTEN
    key: Key | None = None
    bars: list[WrittenBar] = field(default_factory=list)
    marks: list[XmlMark] = field(default_factory=list)

    def beats(self, duration: str) -> Fraction:
        """Quarter notes of a duration in divisions."""
        return number(duration, "duration") / self.divisions

    def length(self, note: Element) -> Fraction:
        """Quarter notes of a note: its value, if that is its duration to the nearest division."""
        duration = self.beats(text_of(note, "duration"))
        actual, normal = (
            whole(text_of(note, f"time-modification/{which}", "1"), f"number of {which}")
            for which in ("actual-notes", "normal-notes")
        )
        plain = _BEAT_UNITS.get(text_of(note, "type"), Fraction(0))
        dotted = plain * (2 - Fraction(1, 1 << min(len(note.findall("dot")), _MOST_DOTS)))
        value = dotted * Fraction(normal, max(1, actual))
        return value if abs(value - duration) * self.divisions < 1 <= value * self.divisions else duration

    @property
    def is_percussion(self) -> bool:
        """Whether it has a clef for percussion, or notes without pitch alone."""
        clefs = (measure.findtext("attributes/clef/sign") for _, measure in self.measures)
        if next((clef for clef in clefs if clef), "").strip() == "percussion":
            return True
        pitched = (measure.find("note/pitch") is not None for _, measure in self.measures)
        return not any(pitched) and any(measure.find("note/unpitched") is not None for _, measure in self.measures)

    def first_voice(self) -> _Voice | None:
        """The first of the voices, in the order in which they begin, that has a note of a melody."""
        sung: dict[_Voice, bool] = {}
        for _, measure in self.measures:
            for note in measure.findall("note"):
                voice = _voice(note)
                sung[voice] = sung.get(voice, False) or (note.find("pitch") is not None and not _left_out(note))
        return next((voice for voice, found in sung.items() if found), None)


def _voice(note: Element) -> _Voice:
    return text_of(note, "voice", "1"), text_of(note, "staff", "1")


def _left_out(note: Element) -> str:
    """What a note is that is no part of a melody; nothing for one that is."""
    if note.find("grace") is not None:
        return "grace note"
    if note.find("cue") is not None:
        return "cue note"
    if note.find("unpitched") is not None:
        return "note of percussion"
    return "slash" if text_of(note, "notehead") in _SLASHES else ""


class _Reader:
    """Reads a score measure by measure."""

    def __init__(self, root: Element, places: dict[Element, tuple[int, int]]) -> None:
        self._root, self._places = root, places
        self._tempo: float | None = None
        self._beats: int | None = None
        self._left_out: dict[str, list[str]] = {}  # what was, and the measures of each

    def read(self) -> LeadSheet:
        parts = self._parts()
        if not parts or not parts[0].measures:
            raise ValueError("the score has no measures")
        chords = next((part for part in parts if any(m.find("harmony") is not None for _, m in part.measures)), None)
        if chords is None:
            raise ValueError("the score has no chord symbols (harmony elements): write them above the melody")
        chords.with_chords = True
        form, melody = parts[0], next((part for part in parts if not part.is_percussion), parts[0])
        melody.voice = melody.first_voice()
        used = tuple(dict.fromkeys((form, melody, chords)))
        for part in used:
            for number_said, measure in part.measures:
                part.bars.append(self._measure(number_said, measure, part))
        for part in used[1:]:
            for bar, other in zip(form.bars, part.bars, strict=False):
                bar.melody, bar.chords = bar.melody or other.melody, bar.chords or other.chords
                bar.beats, bar.section = max(bar.beats, other.beats), bar.section or other.section
        for bar in form.bars:
            bar.beats = bar.beats or Fraction(self._beats or 4)
            if bar.chords and bar.chords[-1].offset >= bar.beats:
                raise ValueError(f"{bar.where}: a chord begins after the measure ends")
        put_marks(form.bars, {mark for part in used for mark in part.marks})
        if len(form.bars) > 1 and form.bars[0].beats < (self._beats or 4) and not form.bars[1].section:
            form.bars[1].section, form.bars[0].section = form.bars[0].section, ""  # a pickup belongs to what follows
        key = melody.key or form.key or chords.key or Key(Note.named("C"))
        sheet = written_out(form.bars, self._title(), self._tempo or 120.0, self._beats or 4, key)
        return replace(sheet, remarks=self._remarks(parts))

    def _remarks(self, parts: list[_Part]) -> tuple[str, ...]:
        remarks = [f"the part {part.name or '?'} is left out: it is percussion" for part in parts if part.is_percussion]
        for what, measures in self._left_out.items():
            named = list(dict.fromkeys(measures))
            more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
            where = f"measure{'s' * (len(named) > 1)} {', '.join(named[:_MOST_NAMED])}{more}"
            remarks.append(f"{times(len(measures), what)} left out: {where}")
        return tuple(remarks)

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

    def _parts(self) -> list[_Part]:
        names = {part.get("id", ""): text_of(part, "part-name") for part in self._root.findall("part-list/score-part")}
        parts: dict[str, _Part] = {}
        if self._root.tag == "score-partwise":
            for place, part in enumerate(self._root.findall("part")):
                name = printable(names.get(part.get("id", ""), ""))[:_LONGEST_NAME]
                measures = [(measure.get("number", "?")[:10], measure) for measure in part.findall("measure")]
                parts[str(place)] = _Part(name, measures)
        elif self._root.tag == "score-timewise":
            for measure in self._root.findall("measure"):
                for part in measure.findall("part"):
                    name = part.get("id", "")
                    said = printable(names.get(name, ""))[:_LONGEST_NAME]
                    parts.setdefault(name, _Part(said, [])).measures.append((measure.get("number", "?")[:10], part))
        else:
            raise ValueError(
                f"this is not a MusicXML score: it begins with {shortened(self._root.tag)}, not score-partwise"
            )
        return list(parts.values())

    def _measure(self, number_said: str, measure: Element, part: _Part) -> WrittenBar:
        bar = WrittenBar(self._where(number_said, measure), Fraction(0))
        now = begun = Fraction(0)
        for element in measure:
            with self._at(number_said, element):
                if element.tag == "note":
                    if element.find("chord") is None:
                        begun = now
                    if what := _left_out(element):
                        self._leave_out(what, element, number_said, part)
                    if element.find("grace") is None:
                        duration = part.length(element)
                        if duration <= 0:
                            raise ValueError("a note lasts longer than nothing")
                        self._note(element, begun, duration, part, bar)
                        now = begun + duration
                elif element.tag == "backup":
                    now -= part.beats(text_of(element, "duration"))
                    if now < 0:
                        raise ValueError("this goes back to before the measure")
                elif element.tag == "forward":
                    now += part.beats(text_of(element, "duration"))
                elif element.tag == "attributes":
                    self._attributes(element, part)
                elif element.tag == "harmony" and part.with_chords:
                    self._harmony(element, now, part, bar)
                elif element.tag in ("direction", "sound", "barline"):
                    self._direction(element, now, part, bar)
            bar.beats = max(bar.beats, now)
        with self._at(number_said, measure):
            whole_bar = Fraction(self._beats or 4)
            if bar.beats > whole_bar:
                raise ValueError(f"the measure lasts {float(bar.beats):g} quarter notes, and its metre has {whole_bar}")
            bar.chords.sort(key=lambda sign: sign.offset)
            if any(after.offset == before.offset for before, after in pairwise(bar.chords)):
                raise ValueError("two chords begin at once: give the later one an offset, or write it at its note")
        return bar

    def _leave_out(self, what: str, note: Element, measure: str, part: _Part) -> None:
        if part.voice and (_voice(note) == part.voice or note.find("unpitched") is not None):
            self._left_out.setdefault(what, []).append(measure)

    def _note(self, element: Element, onset: Fraction, duration: Fraction, part: _Part, bar: WrittenBar) -> None:
        pitch = element.find("pitch")
        if pitch is None or _voice(element) != part.voice or _left_out(element):
            return
        alteration = half_sharps(text_of(pitch, "alter", "0"), "alteration")
        written = Note(text_of(pitch, "step"), alteration, whole(text_of(pitch, "octave"), "octave"))
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
        if divisions := text_of(element, "divisions"):
            part.divisions = whole(divisions, "number of divisions")
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
        if key is not None and part.key is None:
            part.key = _key(key, part.transposition)

    def _direction(self, element: Element, now: Fraction, part: _Part, bar: WrittenBar) -> None:
        """Take the marks and the section of a direction, a sound or a barline, the first tempo, and what ends a bar."""
        beat = max(Fraction(0), now + part.beats(text_of(element, "offset", "0")))
        part.marks += [XmlMark(len(part.bars), beat, mark) for mark in sorted(marks_of(element))]
        bar.section = bar.section or section_of(element)
        if element.tag == "barline":
            _barline(element, bar, part.bars[-1] if part.bars else None)
            return
        for sound in element.iter("sound"):
            tempo = number(sound.get("tempo", "0"), "tempo")
            if tempo and self._tempo is None:
                self._tempo = known_tempo(float(tempo))
        for metronome in element.iter("metronome"):
            said = re.search(r"\d{1,4}(\.\d{1,9})?", text_of(metronome, "per-minute"))
            unit = _BEAT_UNITS.get(text_of(metronome, "beat-unit"))
            if said and unit and self._tempo is None:
                dots = len(metronome.findall("beat-unit-dot"))
                self._tempo = known_tempo(float(Fraction(said.group()) * unit * (2 - Fraction(1, 2**dots))))

    def _harmony(self, element: Element, now: Fraction, part: _Part, bar: WrittenBar) -> None:
        if element.get("type") == "alternate":
            return
        offset = now + part.beats(text_of(element, "offset", "0"))
        if offset < 0:
            raise ValueError("the chord begins before its measure")
        chord = xml_chord(element, part.transposition)
        symbol = "N.C." if chord is None else chord.symbol
        bar.chords.append(WrittenChord(offset, chord, symbol, *self._places[element]))


def _barline(element: Element, bar: WrittenBar, before: WrittenBar | None) -> None:
    ended = before if element.get("location") == "left" else bar
    if ended is not None and text_of(element, "bar-style") == "light-light":
        ended.double = True
    repeat, ending = element.find("repeat"), element.find("ending")
    if repeat is not None:
        if element.get("location") == "middle":
            raise ValueError("a repeat in the middle of a measure: divide the measure in two")
        if repeat.get("direction") == "forward":
            bar.opens = True
        else:
            bar.times = whole(repeat.get("times", "2"), "number of times")
            if not 2 <= bar.times <= _MOST_TIMES:
                raise ValueError(f"a repeat is played 2 to {_MOST_TIMES} times, not {bar.times}")
    if ending is not None and ending.get("type") == "start":
        numbers = ending.get("number", "").strip()
        if not _ENDINGS.fullmatch(numbers):
            raise ValueError(f"the number of an ending is such as 1, or 1, 2, and not {shortened(numbers)}")
        bar.endings = tuple(int(one.strip(" .")) for one in numbers.split(","))


def _beats(time: Element) -> int:
    """Quarter notes in a bar of a time signature."""
    beats, types = time.findall("beats"), time.findall("beat-type")
    if len(beats) != 1 or len(types) != 1:
        raise ValueError("the metre is free, or made of several: a lead sheet has one, such as 4/4")
    quarters = sum(whole(part.strip(), "number of beats") for part in (beats[0].text or "").split("+"))
    return bar_length(quarters, whole((types[0].text or "").strip(), "beat type"))


def _key(element: Element, transposition: SpelledInterval) -> Key | None:
    if element.find("fifths") is None:
        return None
    fifths = whole(text_of(element, "fifths"), "number of fifths")
    if abs(fifths) > _MOST_FIFTHS:
        raise ValueError(f"a key has up to {_MOST_FIFTHS} fifths, not {fifths}")
    mode = _MODE_NAMES.get(text_of(element, "mode", "major"), "major")
    tonic = Note.on_chain(fifths - 1 + MODES.index(mode)).transpose(transposition)
    return Key(writable(tonic), mode)


def _transposition(element: Element) -> SpelledInterval:
    """From written to sounding pitch."""
    quartertones = half_sharps(text_of(element, "chromatic"), "transposition")
    letters = text_of(element, "diatonic")
    octaves = whole(text_of(element, "octave-change", "0"), "octave change")
    if abs(octaves) > _MOST_OCTAVES or abs(quartertones) > 24 * _MOST_OCTAVES:
        raise ValueError(f"no instrument sounds more than {_MOST_OCTAVES} octaves from where it is written")
    return SpelledInterval(
        (whole(letters, "number of letters") if letters else round(quartertones * 7 / 24)) + 7 * octaves,
        quartertones + 24 * octaves,
    )
