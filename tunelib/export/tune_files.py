"""The files of a retuned tune: score and parts, MusicXML, MIDI, sound and a table, and the sound of it in twelve."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from tunelib.arrange import (
    BASS,
    CHORDS,
    COMP,
    MELODY,
    TunePart,
    part_slugs,
    suitable_feel,
    tune_score,
    written_score,
)
from tunelib.export.chord_symbols import chart_bodies, chart_symbol
from tunelib.export.lead import Lead
from tunelib.export.midi import midi_bytes
from tunelib.export.musicxml import musicxml_text
from tunelib.export.page_lines import page_lines
from tunelib.export.printed_bars import PrintedBars
from tunelib.export.stand_layout import stand_pdf
from tunelib.export.stand_music import chord_times
from tunelib.export.stand_pages import part_pages, score_pages, summary
from tunelib.export.typeset import paper_width
from tunelib.files import FileSet, Tell
from tunelib.harmony import Chord, LeadSheet, RetunedChord, RetunedTune
from tunelib.pitch import Instrument, Tuning, aligned
from tunelib.score import Score
from tunelib.sound import render_to, tune_timbres

_SUFFIXES = (".csv", "-score.pdf", ".musicxml", "-bend.mid", "-mts.mid", ".wav")
LONGEST_MINUTES = 15.0
_PROGRAMS = {MELODY: 65, CHORDS: 19, COMP: 26, BASS: 32}
"""General MIDI, from 0: alto saxophone, church organ, jazz guitar, acoustic bass; what counts in is percussion."""

_CLEFS = {MELODY: "treble", CHORDS: "treble", BASS: "bass 8vb"}
_LONGEST_NAME = 60
_LETTERS_ON_A_LINE = 80  # of chord symbols, or of labels under the melody
_AFTER_A_SYMBOL, _NARROWEST_BAR = 2, 8  # letters
_HEAD = (
    "bar", "beat", "as written", "as retuned", "notes", "cents off, rms", "worst pair", "worst pair, cents",
    "roughness", "motion, steps", "why",
)  # fmt: skip


def tune_files(
    tune: RetunedTune,
    paper: str = "a4",
    stem: str | None = None,
    parts: Sequence[TunePart] = (),
    feel: str | None = None,
    common: str = "tonic",
) -> FileSet:
    """The files of a retuned tune, to be written by `tunelib.files.write_set`.

    They are a table (CSV), the leader's score (PDF), MusicXML, MIDI with pitch bends and by the MIDI Tuning Standard,
    and a recording (WAV), in the tune's own division; a part (PDF) for each player of a band; and, if that division is
    not 12, a recording in 12. The file with bends is without the held chords where they are struck as well: there are
    not channels for both with all that rings on.

    Parameters
    ----------
    tune : RetunedTune
    paper : str
        ``"a4"`` or ``"letter"``.
    stem : str, optional
        What the files are called, usually after the title of the tune.
    parts : sequence of TunePart
        Those of a band, as `tunelib.arrange.tune_parts` makes them: the score is then made of these. Otherwise it has
        melody, chords and bass.
    feel, common : str, optional
        How MIDI and sound play it, and what they share with the sound in 12, as `tunelib.arrange.tune_score` has it.

    Raises ValueError for a paper or a feel that is not known, another thing in common, and a tune of more than 15
    minutes. Making them raises ValueError for a note value that cannot be written, and ImportError, with what to
    install, where Typst is missing.
    """
    paper_width(paper)  # refuses one that is not known
    check_length(tune.sheet)
    score, in_twelve = (tune_score(tune, division, feel, common) for division in (len(tune.tuning), 12))
    names = tune_names(stem or tune_stem(tune.sheet.title), len(tune.tuning), [part.player for part in parts])

    def make(folder: Path, tell: Tell) -> None:
        paths = [folder / name for name in names]
        table, pdf, musicxml, bend, mts, wav, *others = paths
        tell("writing the notes")
        table.write_bytes(tune_csv(tune).encode())
        musicxml.write_bytes(tune_musicxml(tune).encode())
        with _beside() as setter:  # pages are set while the next are engraved
            tell("printing the score")
            printed = {pdf: setter.submit(stand_pdf, score_pages(tune, parts, paper, feel), paper)}
            for part, path in zip(parts, others, strict=False):
                tell(f"printing the part of the {part.name}")
                printed[path] = setter.submit(stand_pdf, part_pages(tune, part, paper, feel), paper)
            tell("writing the MIDI files")
            bend.write_bytes(midi_bytes(_for_bends(score), "bend", _PROGRAMS))
            mts.write_bytes(midi_bytes(score, "mts", _PROGRAMS))
            for path, pages in printed.items():
                path.write_bytes(pages.result())
        tell("rendering the sound")
        render_to(wav, score, tune_timbres())
        for path in others[len(parts) :]:
            tell("rendering it in twelve")
            render_to(path, in_twelve, tune_timbres())

    return FileSet(names, make)


@contextmanager
def _beside() -> Iterator[Executor]:
    """A thread that works beside this one, for what needs no Python; an error drops what it has not begun."""
    with ThreadPoolExecutor(1) as executor:
        try:
            yield executor
        except BaseException:
            executor.shutdown(wait=False, cancel_futures=True)
            raise


def _for_bends(score: Score) -> Score:
    """What is in the file with bends."""
    if COMP not in score.voices or CHORDS not in score.voices:
        return score
    return score.only(*(voice for voice in score.voices if voice != CHORDS))


def check_length(sheet: LeadSheet) -> None:
    """Stop before any work is done if a tune is too long for its files to be made: ValueError above 15 minutes."""
    minutes = sheet.beats / sheet.tempo
    if minutes > LONGEST_MINUTES:
        raise ValueError(
            f"the tune lasts {minutes:.0f} minutes with its repeats written out, and {LONGEST_MINUTES:g} can be made: "
            "give a faster tempo, or a part of it"
        )


def tune_names(stem: str, division: int, players: Sequence[Instrument] = ()) -> tuple[str, ...]:
    """The names of the files of a tune in a division; the last is for its sound in twelve, if that is another.

    >>> from tunelib.pitch import instrument
    >>> tune_names("offcuts", 41, [instrument("alto sax")])[-3:]
    ('offcuts-in-41.wav', 'offcuts-in-41-alto-saxophone.pdf', 'offcuts-in-12.wav')
    """
    names = [f"{stem}-in-{division}{suffix}" for suffix in _SUFFIXES]
    names += [f"{stem}-in-{division}-{slug}.pdf" for slug in part_slugs(players)]
    return (*names, f"{stem}-in-12.wav") if division != 12 else tuple(names)


def tune_stem(title: str, otherwise: str = "tune") -> str:
    """What the files of a tune are called: after its title, or another name if none of its letters can be used.

    >>> tune_stem("Sawdust on the Stairs"), tune_stem("木くず", "my blues")
    ('sawdust-on-the-stairs', 'my-blues')
    """
    for name in (title, otherwise):
        letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
        stem = re.sub(r"[^a-z0-9]+", "-", letters)[:_LONGEST_NAME].strip("-")
        if stem:
            return stem
    return "tune"


def tune_musicxml(tune: RetunedTune) -> str:
    """The tune as MusicXML 4.0, in its form: melody, chords and bass, and the chord symbols as retuned."""
    sheet = tune.sheet
    style = suitable_feel(sheet.beats_per_bar, sheet.tempo).name.capitalize()
    lead = Lead(_CLEFS, sheet.key, chord_times(tune), sheet.written_bars, style, bodies=chart_bodies(tune))
    score = written_score(tune)
    return musicxml_text(score, lead=lead, new_lines=_new_lines(tune, score, lead))


def _new_lines(tune: RetunedTune, score: Score, lead: Lead) -> list[int]:
    """The bars with which a line of staves begins, after the first: four to a line, fewer where more is to be read."""
    bars = PrintedBars(tuple(lead.form), tune.sheet.beats_per_bar)
    symbols, below = [0] * len(lead.form), [0] * len(lead.form)
    for place, chord in bars.chords(lead.chords):
        symbol = "N.C." if chord is None else f"{chord.root.name}{lead.bodies.get(chord, '')}"
        symbols[int(place // bars.beats)] += len(symbol) + _AFTER_A_SYMBOL
    for note in bars.notes(score.notes):
        below[int(note.start // bars.beats)] += len(note.note.label) if note.note.voice == MELODY else 0
    widths = [max(*both, _NARROWEST_BAR) for both in zip(symbols, below, strict=True)]
    lines = [line for section in page_lines(lead.form, widths, _LETTERS_ON_A_LINE) for line in section]
    return [line.start + 1 for line in lines[1:]]


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
                " ".join(chart_symbol(chord, tune.tuning)).strip(),
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


def worst_pair(chord: Chord, tuning: Tuning) -> tuple[str, float]:
    """The two notes of a chord that are farthest from their ratio, and by how many cents; nothing for one note alone.

    >>> from tunelib.pitch import equal
    >>> pair, error = worst_pair(Chord.parse("Charm7"), equal(31))
    >>> pair, round(error, 1)
    ('E–G', -6.0)
    """
    errors = chord.errors(tuning)
    if not errors:
        return "", 0.0
    names = {note.step(tuning): note.name for note in reversed(chord.notes_in(tuning))}
    rising = [names[step] for step in sorted(names)]
    (low, high), error = max(errors.items(), key=lambda item: abs(item[1]))
    return f"{rising[low]}–{rising[high]}", error


def _beat(tune: RetunedTune, chord: RetunedChord) -> str:
    """The beat of its bar on which a chord begins, counted from 1."""
    return f"{float(chord.written.onset % tune.sheet.beats_per_bar) + 1:.4g}"
