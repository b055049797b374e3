"""A retuned tune for the band: as sound, staff, MIDI and table, and the same tune in twelve to compare.

One score holds it all. The melody, the chords as they hold, and the bass are written; the chords as they are struck are
played and not written. Under a note that was moved, or lies between two keys, stand the nearest of twelve equal steps
and the cents by which the note lies away from that, so that it can be played on what is at hand.
"""

from __future__ import annotations

import csv
import io
import os
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from tunelib.export.cautions import CAUTIONS_TITLE, LOW_VOLUME, RINGING
from tunelib.export.chord_symbols import printed_symbol
from tunelib.export.comping import bass_beats, struck
from tunelib.export.engrave import engrave_svg
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import Lead, musicxml_text
from tunelib.export.page import Drawing, Page, page_pdf, paper_width
from tunelib.files import refuse_existing, write_together
from tunelib.harmony.chords import Chord
from tunelib.harmony.retune import RetunedChord, RetunedTune
from tunelib.pitch.notes import Note, nearest_note, spellings
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.tunings import Tuning, equal
from tunelib.pitch.words import aligned, plain, signed, times
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import wav_bytes
from tunelib.sound.render import render
from tunelib.sound.timbre import Timbre, timbre

MELODY, CHORDS, COMP, BASS = "melody", "chords", "comp", "bass"
"""The voices of a tune's score: "chords" hold, and "comp" are the same chords as they are struck."""

SUFFIXES = ("-in-31.csv", "-in-31.pdf", "-in-31.musicxml", "-in-31-bend.mid", "-in-31-mts.mid", "-in-31.wav")
TWELVE_SUFFIX = "-in-12.wav"
LONGEST_MINUTES = 15.0
CAUTIONS = (
    LOW_VOLUME,
    RINGING,
    "Rest hands, lips and voice often. Strain or pain means stop; ask a teacher before you go on.",
)

_TWELVE, _THIRTY_ONE = equal(12), equal(31)
_UNISON, _FIFTH = SpelledInterval.parse("P1"), SpelledInterval.parse("P5")
_LEVELS = {MELODY: 0.8, CHORDS: 0.22, COMP: 0.4, BASS: 0.7}
_TIMBRES = {MELODY: "reed", CHORDS: "organ", COMP: "plucked", BASS: "plucked"}
_PROGRAMS = {MELODY: 65, CHORDS: 19, COMP: 26, BASS: 32}  # General MIDI, from 0: alto sax, organ, jazz guitar, bass
_CLEFS = {MELODY: "treble", CHORDS: "treble", BASS: "bass 8vb"}
_MOST_HALF_SHARPS = 4  # that there are accidentals for
_STAFF_SCALE = 0.8  # of 7.2 mm: three staves together, as piano scores are printed
_LONGEST_NAME = 60
_BARS_ON_A_LINE = 4
_LETTERS_ON_A_LINE = 80  # of chord symbols, or of labels under the melody
_AFTER_A_SYMBOL, _NARROWEST_BAR = 2, 8  # letters
_HEAD = (
    "bar", "beat", "as written", "as retuned", "notes", "cents off, rms", "worst pair", "worst pair, cents",
    "roughness", "motion, steps", "why",
)  # fmt: skip


def tune_score(tune: RetunedTune, division: int = 31) -> Score:
    """A retuned tune as it is played.

    Parameters
    ----------
    tune : RetunedTune
    division : int
        31, or 12 for the tune as it is written on a keyboard: its plain chords, in the layout that they have in
        thirty-one, in the same rhythm. A note of the lead sheet that lies between two keys goes to the nearer.

    Returns a score with the voices "melody" (if there is one), "chords", "comp" and "bass". A4 is 440 Hz in both.
    Raises ValueError for another division.
    """
    if division not in (12, 31):
        raise ValueError(f"a tune is played in 31 or in 12, not in {division!r}")
    tuning, sheet = equal(division), tune.sheet
    melody = tune.melody if division == 31 else sheet.melody
    home = sheet.key.lowest_fifth + 1
    notes = [
        _voiced(MELODY, sung.note, written.note, sung.onset, sung.duration, tuning, home)
        for sung, written in zip(melody, sheet.melody, strict=True)
    ]
    for chord in tune.chords:
        notes += _played(chord, sheet.beats_per_bar, tuning, home)
    return Score(tuple(notes), sheet.tempo, sheet.beats_per_bar, sheet.title)


def tune_timbres() -> dict[str, Timbre]:
    """The timbres of the voices of a tune's score; all have exact harmonics."""
    return {voice: timbre(name) for voice, name in _TIMBRES.items()}


def tune_musicxml(tune: RetunedTune) -> str:
    """The tune as MusicXML 4.0: melody, chords and bass, and the chord symbols as retuned."""
    score = tune_score(tune)
    return musicxml_text(score, lead=Lead(_CLEFS, tune.sheet.key, _symbols(tune)), new_lines=_new_lines(tune, score))


def _new_lines(tune: RetunedTune, score: Score) -> list[int]:
    """The bars with which a line of staves begins, after the first: four to a line, fewer where more is to be read."""
    widths: dict[int, int] = {}
    for chord in tune.chords:
        bar = chord.written.bar
        widths[bar] = widths.get(bar, 0) + len(printed_symbol(chord.chord)) + _AFTER_A_SYMBOL
    below: dict[int, int] = {}
    for note in score.notes:
        if note.voice == MELODY and note.label:
            bar = int(note.onset // tune.sheet.beats_per_bar) + 1
            below[bar] = below.get(bar, 0) + len(note.label)
    starts, first, taken = [], 1, 0
    for bar in range(1, tune.sheet.bars + 1):
        width = max(widths.get(bar, 0), below.get(bar, 0), _NARROWEST_BAR)
        widest = max(width, taken)  # bars of a line are about as wide as one another
        if bar > first and (bar - first == _BARS_ON_A_LINE or widest * (bar - first + 1) > _LETTERS_ON_A_LINE):
            starts.append(bar)
            first, widest = bar, width
        taken = widest
    return starts


def tune_csv(tune: RetunedTune) -> str:
    """The tune chord by chord as comma-separated values, with a head."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(_HEAD)
    for chord in tune.chords:
        pair, error = worst_pair(chord.chord, tune.tuning)
        writer.writerow(
            [
                chord.written.bar,
                _beat(tune, chord),
                chord.written.symbol,
                chord.chord.symbol,
                " ".join(note.typed for note in chord.notes),
                f"{chord.purity:.2f}",
                pair,
                f"{error:.2f}",
                f"{chord.roughness:.3f}",
                chord.motion,
                chord.why,
            ]
        )
    return stream.getvalue()


def tune_table(tune: RetunedTune) -> str:
    """The tune chord by chord in short, in columns of letters of one width; ends with a line on the whole."""
    head = ("bar", "beat", "written", "retuned", "notes", "cents off", "worst pair", "moved")
    rows = [head]
    for chord in tune.chords:
        pair, error = worst_pair(chord.chord, tune.tuning)
        rows.append(
            (
                str(chord.written.bar),
                _beat(tune, chord),
                chord.written.symbol,
                chord.chord.symbol,
                " ".join(map(str, chord.notes)),
                f"{chord.purity:.1f}",
                f"{pair} {aligned(error)}",
                str(chord.motion),
            )
        )
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    right = {0, 1, 5, 7}
    lines = []
    for row in rows:
        cells = (
            cell.rjust(width) if place in right else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  ".join(cells).rstrip())
    return "\n".join([*lines, summary(tune)]) + "\n"


def summary(tune: RetunedTune) -> str:
    """The whole tune in a sentence."""
    chords = tune.chords
    changed = sum(chord.chord != chord.written.chord for chord in chords)
    off = (sum(chord.purity**2 for chord in chords) / len(chords)) ** 0.5
    moved = sum(chord.motion for chord in chords) / max(1, len(chords) - 1)
    return (
        f"{times(len(chords), 'chord')}, {changed} of them retuned; their pairs are {off:.1f} cents off on the whole, "
        f"and from one to the next the four upper voices move {plain(moved)} steps of 31 together."
    )


def worst_pair(chord: Chord, tuning: Tuning) -> tuple[str, float]:
    """The two notes of a chord that lie farthest from their ratio, and by how many cents; nothing for one note alone.

    >>> pair, error = worst_pair(Chord.parse("Charm7"), equal(31))
    >>> pair, round(error, 1)
    ('E–G', -6.0)
    """
    errors = chord.errors(tuning)
    if not errors:
        return "", 0.0
    (low, high), error = max(errors.items(), key=lambda item: abs(item[1]))
    return f"{chord.notes[low].name}–{chord.notes[high].name}", error


def tune_names(stem: str) -> tuple[str, ...]:
    """The names of the files of a tune."""
    return tuple(stem + suffix for suffix in (*SUFFIXES, TWELVE_SUFFIX))


def tune_stem(title: str, otherwise: str = "tune") -> str:
    """What the files of a tune are called, by its title, or by another name if no letter of that can be used.

    >>> tune_stem("Sawdust on the Stairs"), tune_stem("木くず", "my blues")
    ('sawdust-on-the-stairs', 'my-blues')
    """
    for name in (title, otherwise):
        letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
        stem = re.sub(r"[^a-z0-9]+", "-", letters)[:_LONGEST_NAME].strip("-")
        if stem:
            return stem
    return "tune"


def write_tune(
    tune: RetunedTune,
    folder: str | os.PathLike[str],
    paper: str = "a4",
    overwrite: bool = False,
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write a retuned tune as CSV, PDF, MusicXML, MIDI (pitch bend, MIDI Tuning Standard) and WAV, in 31 and in 12.

    Parameters
    ----------
    tune : RetunedTune
    folder : str or path
        Made if it is missing.
    paper : str
        ``"a4"`` or ``"letter"``.
    overwrite : bool
        Whether files of these names may be replaced.
    progress : function, optional
        Called with a few words before each step.

    All are made before the first is written; the paths are returned in that order. Raises FileExistsError, before
    anything is made, if one of them is there; ValueError for a paper that is not known, a tune of more than 15 minutes,
    or one with a note value that cannot be written; ImportError, with what to install, where Typst is missing.
    """
    tell = progress or (lambda step: None)
    stem = tune_stem(tune.sheet.title)
    if not overwrite:
        refuse_existing(Path(folder) / name for name in tune_names(stem))
    contents = tune_files(tune, stem, paper, tell)
    tell("saving the files")
    return write_together(folder, contents, overwrite)


def tune_files(tune: RetunedTune, stem: str, paper: str, tell: Callable[[str], None]) -> dict[str, bytes]:
    """The files of a tune by name, made and not yet written; parameters and errors as for `write_tune`."""
    paper_width(paper)  # refuses one that is not known
    minutes = tune.sheet.beats / tune.sheet.tempo
    if minutes > LONGEST_MINUTES:
        raise ValueError(
            f"the tune lasts {minutes:.0f} minutes with its repeats written out, and {LONGEST_MINUTES:g} can be made: "
            "give a faster tempo, or a part of it"
        )
    tell("writing the notes")
    score = tune_score(tune)
    part = tune_musicxml(tune)
    tell("engraving the staves")
    width = round(10 / _STAFF_SCALE * paper_width(paper))
    lines = engrave_svg(part, page_width=width, lines_per_page=1, encoded_lines=True)
    tell("setting the page")
    pdf = page_pdf(_page(tune, lines), paper)
    tell("writing the MIDI files")
    bend, mts = (midi_bytes(score, way, _PROGRAMS) for way in ("bend", "mts"))
    tell("rendering the sound")
    sound = wav_bytes(render(score, tune_timbres()))
    tell("rendering it in twelve")
    in_twelve = wav_bytes(render(tune_score(tune, 12), tune_timbres()))
    contents = (tune_csv(tune).encode(), pdf, part.encode(), bend, mts, sound, in_twelve)
    return dict(zip(tune_names(stem), contents, strict=True))


def as_written(chord: RetunedChord) -> tuple[Note, ...]:
    """The notes of a retuned chord where the lead sheet has them: the same letters, in the same octaves."""
    written = chord.written.chord
    unmoved = dict(zip(_by_number(chord.chord), _by_number(written), strict=True))
    bass, *upper = chord.notes
    notes = [Note(bass.letter, (written.bass or written.root).half_sharps, bass.octave)]
    notes += [replace(note, half_sharps=unmoved[note.letter, note.half_sharps][1]) for note in upper]
    return tuple(notes)


def _by_number(chord: Chord) -> list[tuple[str, int]]:
    """Letters and accidentals of a chord's notes, by the numbers that they have in it, which retuning leaves alone."""
    placed = sorted(zip(chord.intervals, chord.notes, strict=True), key=lambda pair: pair[0].letters)
    return [(note.letter, note.half_sharps) for _, note in placed]


def _on_a_key(note: Note) -> Note:
    """A note between two keys of twelve, as the one of the two that lies nearer to it in thirty-one."""
    if note.half_sharps % 2 == 0:
        return note
    below, above = (Note(note.letter, note.half_sharps + side, note.octave) for side in (-1, 1))
    hertz = note.hz(_THIRTY_ONE)
    return below if hertz / below.hz(_TWELVE) < above.hz(_TWELVE) / hertz else above


def _writable(note: Note, tuning: Tuning) -> Note:
    """A note under a name that there is an accidental for."""
    return note if abs(note.half_sharps) <= _MOST_HALF_SHARPS else spellings(note.step(tuning), tuning)[0]


def _voiced(
    voice: str, note: Note, written: Note, onset: Fraction, duration: Fraction, tuning: Tuning, home: float
) -> ScoreNote:
    """A note of a voice, with the nearest key under it if it was moved or lies between two keys."""
    sounding = note if len(tuning) == 31 else _on_a_key(note)
    hertz = sounding.hz(tuning)
    if voice == COMP:  # the chords are written as they hold
        return ScoreNote(onset, duration, hertz, None, voice, level=_LEVELS[voice])
    label = ""
    if len(tuning) == 31 and (note != written or note.half_sharps % 2):
        key, cents = nearest_note(hertz, home=home)
        label = f"{key.name} {signed(cents)}"
    return ScoreNote(onset, duration, hertz, _writable(sounding, tuning), voice, label, _LEVELS[voice])


def _played(chord: RetunedChord, beats_per_bar: int, tuning: Tuning, home: float) -> list[ScoreNote]:
    """A chord as it holds and as it is struck, and its bass."""
    written = as_written(chord)
    onset, end = chord.written.onset, chord.written.end
    sounding = chord.notes if len(tuning) == 31 else written
    holding = [(onset, chord.written.duration)]
    notes = [
        _voiced(voice, note, unmoved, when, length, tuning, home)
        for voice, times_and_lengths in ((CHORDS, holding), (COMP, struck(onset, end, beats_per_bar)))
        for when, length in times_and_lengths
        for note, unmoved in zip(sounding[1:], written[1:], strict=True)
    ]
    root_and_fifth = chord.written.chord.bass is None and (5, 0) in chord.chord.degrees
    for turn, (when, length) in enumerate(bass_beats(onset, end, beats_per_bar)):
        up = _FIFTH if root_and_fifth and turn % 2 else _UNISON
        note, unmoved = (bass.transpose(up) for bass in (sounding[0], written[0]))
        notes.append(_voiced(BASS, note, unmoved, when, length, tuning, home))
    return notes


def _symbols(tune: RetunedTune) -> list[tuple[Fraction, Chord | None]]:
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


def _beat(tune: RetunedTune, chord: RetunedChord) -> str:
    """The beat of its bar on which a chord begins, counted from 1."""
    return f"{float(chord.written.onset % tune.sheet.beats_per_bar) + 1:.4g}"


def _page(tune: RetunedTune, lines: Sequence[str]) -> Page:
    sheet = tune.sheet
    title = f"{sheet.title or 'A tune'}, in thirty-one"
    mode = f"{sheet.key.tonic.name} {sheet.key.mode}"
    introduction = (
        f"{times(sheet.bars, 'bar')} in {mode}, {plain(sheet.tempo)} beats a minute. {summary(tune)} Over the staves "
        "stand the chords as retuned; under each note that was moved, or lies between two keys of a keyboard, the "
        "nearest key and how far the note lies from it, in cents (hundredths of a semitone). The chords are written as "
        "they hold; the rhythm is yours. All parts are at concert pitch. Under the clef with an 8 all sounds an octave "
        "lower."
    )
    return Page(
        title=title,
        introduction=introduction,
        drawings=_drawings(tune, lines),
        table_title="The chords that were changed, and why",
        head=("Bar", "Written", "Retuned", "Why"),
        rows=_changes(tune) or [("–", "–", "–", "No chord was changed.")],
        cautions_title=CAUTIONS_TITLE,
        cautions=CAUTIONS,
        prose=True,
    )


def _changes(tune: RetunedTune) -> list[tuple[str, str, str, str]]:
    """The chords that were changed or clash, one row for all that came out alike: bars, as written, as retuned, why."""
    alike: dict[tuple[str, str], list[RetunedChord]] = {}
    for chord in tune.chords:
        if chord.chord != chord.written.chord or chord.clashes:
            symbols = printed_symbol(chord.written.chord), printed_symbol(chord.chord)
            alike.setdefault(symbols, []).append(chord)
    rows = []
    for (written, retuned), chords in alike.items():
        bars = dict.fromkeys(str(chord.written.bar) for chord in chords)
        rows.append((", ".join(bars), written, retuned, _printed(chords[0].why)))
    return rows


def _printed(sentence: str) -> str:
    """A sentence with its chord symbols as they are printed, and no line that begins with a percent sign."""

    def printed(word: re.Match[str]) -> str:
        try:
            return printed_symbol(Chord.parse(word[0]))
        except ValueError:
            return word[0]

    return re.sub(r"\b[A-G][^\s;:,.]*", printed, sentence).replace(" %", "\N{NO-BREAK SPACE}%")


def _drawings(tune: RetunedTune, lines: Sequence[str]) -> list[Drawing]:
    """Each line of staves with the chords on it in words."""
    drawings, first = [], 1
    for line in lines:
        after = first + line.count('class="measure"')
        chords = [
            f"bar {chord.written.bar} {printed_symbol(chord.chord)}"
            for chord in tune.chords
            if first <= chord.written.bar < after
        ]
        said = f"bars {first} to {after - 1}" if after > first + 1 else f"bar {first}"
        drawings.append(Drawing(line, f"Staves of {said}: {'; '.join(chords) or 'no chord begins'}."))
        first = after
    return drawings
