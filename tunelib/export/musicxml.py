"""MusicXML 4.0: the written score, for notation editors and for engraving.

What is written is the spelling. A half-sharp's ``<alter>`` is 0.5, its nominal value, as editors expect; how far
the exact pitch is from the written note is printed above it in cents, and the note's label below it. So the printed
page holds the exact pitch too. A note that is some steps of its tuning off its letter and accidental has their number
below it in italics, as in its name: E−1 is a plain E with −1. A chord has a number for each note, from the top down.

Each voice becomes a part on a staff of its own, but for the voices named as *cues*: these are written small into
the first part, as a player's part shows what somebody else plays. Notes without a name are not written.

A *lead sheet* also has a key signature, chord symbols above its first part, and its form: repeats, endings, sections
and jumps.
"""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path
from xml.etree import ElementTree

from tunelib.export.elements import add
from tunelib.export.lead import Lead
from tunelib.export.printed_bars import PrintedBars, plain_bars
from tunelib.export.staff_writer import Style, write_part
from tunelib.files import write_whole
from tunelib.pitch import Instrument
from tunelib.score import Score


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
    cents: bool = True,
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
        Bars that begin a new line of the page, counted from 1 in the order of the page, a pickup among them.
    bare : bool
        Whether to leave out metre, tempo, bar numbers, final barline, cents, labels and rests behind the last note,
        for a figure that says what is needed of them itself.
    lead : Lead, optional
        Makes it a lead sheet at concert pitch, with the voices that it names and no others, in the clefs that it names,
        and without cents above the notes. With a player it is that player's part: key and chords are transposed too,
        and there are no crosses.
    cents : bool
        Whether the cents are above the notes, or left for a player to find out.

    Raises ValueError if nothing is left to write, a cue is no voice of the score, or a note has a pitch, an accidental
    or a length that MusicXML has no sign for.

    >>> from tunelib.pitch import Note
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
        add(add(root, "work"), "work-title", score.title)
    add(add(add(root, "identification"), "encoding"), "software", "tunelib")
    part_list = add(root, "part-list")
    form = tuple(lead.form) if lead and lead.form else plain_bars(score, whole=not bare)
    bars = PrintedBars(form, score.beats_per_bar)
    read = lead.read_by(player) if lead and player else lead
    style = Style(player, cues, new_lines, bare, read, score.tempo, lead.symbols_over(own) if lead else "", cents)
    for number, voice in enumerate(own, start=1):
        voices = {voice, *cues} if number == 1 else {voice}
        if lead and lead.braced.get(voice) in own:
            add(add(part_list, "part-group", type="start", number="1"), "group-symbol", "brace")
        _list_part(part_list, number, voice, player, lead, alone=len(own) == 1)
        if lead and number > 1 and lead.braced.get(own[number - 2]) == voice:
            add(part_list, "part-group", type="stop", number="1")
        part = add(root, "part", id=f"P{number}")
        notes = [note for note in written if note.voice in voices]
        write_part(part, voice, notes, bars, style, first=number == 1)
    header = '<?xml version="1.0" encoding="UTF-8"?>\n'
    doctype = (
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">\n'
    )
    return header + doctype + ElementTree.tostring(root, encoding="unicode") + "\n"


def _list_part(
    parent: ElementTree.Element, number: int, voice: str, player: Instrument | None, lead: Lead | None, alone: bool
) -> None:
    """Name a part; the name is shown where there are several, but not on a player's own staff, or on a lower hand's."""
    listed = add(parent, "score-part", id=f"P{number}")
    named = voice if lead or player is None else player.name
    own_staff = lead is not None and player is not None and voice not in lead.small
    lower_hand = lead is not None and voice in lead.braced.values()
    shown = not (alone or own_staff or lower_hand)
    add(listed, "part-name", named, **({} if shown else {"print-object": "no"}))
    if player:
        add(add(listed, "score-instrument", id=f"P{number}-I1"), "instrument-name", player.name)
        add(add(listed, "midi-instrument", id=f"P{number}-I1"), "midi-program", player.midi_program + 1)
