"""One score, and every output of it read back by somebody else's reader: the same pitches.

Sound is measured by Praat's autocorrelation method (Boersma 1993) through parselmouth, MIDI is parsed by mido and
turned into hertz by its own messages, and MusicXML is parsed by music21.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import parselmouth
import pytest
from midi_reader import hear

from tunelib.arrange.play_along import overtone_sheet
from tunelib.export.midi import write_midi
from tunelib.export.musicxml import write_musicxml
from tunelib.export.sheet_files import sheet_files
from tunelib.files import write_set
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note, nearest_note, spell
from tunelib.pitch.tunings import equal
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import write_wav
from tunelib.sound.players import play_along_timbres
from tunelib.sound.render import render
from tunelib.sound.timbre import timbre

music21 = pytest.importorskip("music21")

TOLERANCE = 0.1  # cents
SECONDS = 1.5


def melody(notes: list[tuple[float, Note]]) -> Score:
    """Notes of a second and a half one after another, at 60 beats a minute."""
    return Score(
        tuple(ScoreNote(SECONDS * i, SECONDS, hertz, name) for i, (hertz, name) in enumerate(notes)), title="Agreement"
    )


THIRTY_ONE = melody([(equal(31).hz(step), spell(step, equal(31))) for step in range(-12, 25, 3)])
HARMONICS = melody([(110.0 * n, nearest_note(110.0 * n)[0]) for n in range(1, 14)])
MEANTONE = melody([(220 * 5 ** (i / 4), nearest_note(220 * 5 ** (i / 4))[0]) for i in range(5)])
SCORES = pytest.mark.parametrize("score", [THIRTY_ONE, HARMONICS, MEANTONE], ids=["31", "harmonics", "meantone"])


def away(heard: float, wanted: float) -> float:
    return 1200 * math.log2(heard / wanted)


def measured(sound: parselmouth.Sound, start: float, end: float, near: float) -> float:
    """Median pitch of a steady tone between two times; the search spans a fourth to either side."""
    part = sound.extract_part(start, end)
    pitch = part.to_pitch_ac(time_step=0.01, pitch_floor=0.75 * near, pitch_ceiling=1.33 * near, very_accurate=True)
    frequencies = pitch.selected_array["frequency"]
    assert np.count_nonzero(frequencies) > 20
    return float(np.median(frequencies[frequencies > 0]))


@SCORES
def test_the_sound_has_the_scores_pitches(score: Score, tmp_path: Path) -> None:
    path = write_wav(tmp_path / "a.wav", render(score, timbre("organ")))
    sound = parselmouth.Sound(str(path))
    for note in score.notes:
        found = measured(sound, float(note.onset) + 0.3, float(note.end) - 0.3, note.hertz)
        assert abs(away(found, note.hertz)) < TOLERANCE


@SCORES
@pytest.mark.parametrize("tuning", ["bend", "mts"])
def test_the_midi_file_has_the_scores_pitches(score: Score, tuning: str, tmp_path: Path) -> None:
    heard = hear(write_midi(score, tmp_path / "a.mid", tuning).read_bytes())
    assert len(heard) == len(score.notes)
    for note, found in zip(score.notes, heard, strict=True):
        assert abs(away(found.hertz, note.hertz)) < TOLERANCE


@SCORES
@pytest.mark.parametrize("player", [None, "alto saxophone", "double bass", "piccolo", "viola", "tenor voice"])
def test_the_musicxml_has_the_scores_pitches_to_a_quarter_tone(
    score: Score, player: str | None, tmp_path: Path
) -> None:
    """Each note sounds, to music21, within half the step that its spelling is written in"""
    path = write_musicxml(score, tmp_path / "a.musicxml", instrument(player) if player else None)
    notes = music21.converter.parse(path).toSoundingPitch().stripTies().recurse().notes
    for note, found in zip(score.notes, notes, strict=True):
        semitones = 69 + 12 * math.log2(note.hertz / 440)
        assert note.name is not None
        assert found.pitch.ps == 12 + note.name.quartertones / 2
        assert abs(found.pitch.ps - semitones) <= 0.5


@pytest.mark.parametrize("name", ["alto saxophone", "piano", "tenor voice"])
def test_a_sheets_files_agree(name: str, tmp_path: Path) -> None:
    """Guide tones in sound and MIDI, and the part's notes with their cents, are the harmonics in the table"""
    sheet = overtone_sheet(instrument(name), Note.parse("B♭2"), range(1, 9), drone=False, tempo=160)
    _, _, musicxml, midi, wav = write_set(sheet_files(sheet), tmp_path)
    guide = sheet.score.only("guide").notes
    assert [note.hertz for note in guide] == [row.hertz for row in sheet.rows]

    sound = parselmouth.Sound(str(wav))
    for note in guide:
        start, end = sheet.score.seconds(note.onset), sheet.score.seconds(note.end)
        assert abs(away(measured(sound, start + 0.2, end - 0.2, note.hertz), note.hertz)) < TOLERANCE
        gap = sound.extract_part(end + 0.2, end + (end - start) - 0.1).values
        assert np.abs(gap).max() == 0

    heard = [note for note in hear(midi.read_bytes()) if note.track == "guide"]
    for note, found in zip(guide, heard, strict=True):
        assert abs(away(found.hertz, note.hertz)) < TOLERANCE
        assert found.start == float(note.onset)

    part = music21.converter.parse(musicxml).toSoundingPitch()
    words = [mark.content for mark in part.recurse().getElementsByClass("TextExpression")]
    notes = list(part.recurse().notes)
    for note, own, cents in zip(guide, notes[1::2], words, strict=True):
        written = own.pitch.ps + float(cents.replace("−", "-")) / 100
        assert abs(written - (69 + 12 * math.log2(note.hertz / 440))) < 0.00501


def test_a_drone_sounds_under_the_gaps_and_can_be_left_out(tmp_path: Path) -> None:
    player = instrument("viola")
    with_drone = overtone_sheet(player, Note.parse("C3"), range(2, 5), tempo=120)
    without = overtone_sheet(player, Note.parse("C3"), range(2, 5), drone=False, tempo=120)
    assert "drone" not in without.score.voices
    rate = 48000
    gap = slice(int(4.2 * rate), int(5.8 * rate))  # the second bar of the first harmonic
    droning = render(with_drone.score, play_along_timbres(player), rate)[gap]
    silent = render(without.score, play_along_timbres(player), rate)[gap]
    assert np.abs(silent).max() == 0
    found = measured(parselmouth.Sound(droning, rate), 0, 1.6, 130.8)
    assert abs(away(found, Note.parse("C3").hz())) < TOLERANCE
