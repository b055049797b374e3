"""The walks of DEVELOPERS.md, gone step by step, and its new feel; numbers are worked out without the library."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path

import mido
import pytest

from tunelib.arrange import FEELS, Feel, tune_score, written_score
from tunelib.exhibits import find_exhibit
from tunelib.export import midi_bytes
from tunelib.film import Keyframe, Timeline
from tunelib.harmony import Chord, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE
from tunelib.show import panel

TOP = Path(__file__).parents[1]
TEXT = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
A4 = 440.0


def test_a_chord_symbol_becomes_a_midi_bend() -> None:
    chord = Chord.parse("Charm7")
    assert sorted(chord.degrees) == [(1, 0), (3, 0), (5, 0), (7, -3)]
    assert chord.steps(THIRTY_ONE)[-1] == 25 == round(31 * math.log2(7 / 4))
    # C is three fifths of 18 steps below the octave of A, so 23 + 31 below A4; the seventh is 25 above that C.
    hertz = A4 * 2 ** ((25 - 23 - 31) / 31)
    assert f"{hertz:.2f} Hz" in TEXT
    tune = retune(parse_lead_sheet("| Charm7 |"), THIRTY_ONE, Taste(0.0))
    score = tune_score(tune)
    seventh = next(note for note in written_score(tune).notes if note.label)
    assert seventh.hertz == pytest.approx(hertz) and f"`{seventh.label}`" in TEXT
    below = 1200 * math.log2(hertz / (A4 * 2 ** ((58 - 69) / 12)))
    assert f"the note is {-below:.1f} cents below it" in TEXT and f"{A4 * 2 ** ((58 - 69) / 12):.2f} Hz" in TEXT
    bend = round(below / 200 * 8192)
    assert f"= −{-bend}, sent on a channel" in TEXT
    sent = [message for track in mido.MidiFile(file=io.BytesIO(midi_bytes(score, "bend"))).tracks for message in track]
    keys = {message.channel: message.note for message in sent if message.type == "note_on"}
    bends = {keys[message.channel]: message.pitch for message in sent if message.type == "pitchwheel"}
    assert bends[58] == bend


def test_a_knob_becomes_a_pixel() -> None:
    shown = panel("beats")
    before = bytes(shown.image.value)
    assert shown.image.format == "png" and f"`{type(find_exhibit('beats')).__name__}`" in TEXT
    shown.knobs["difference"].value = 5.0
    assert bytes(shown.image.value) != before


def test_a_keyframe_becomes_a_frame() -> None:
    keyframes = [Keyframe(0, {"difference": 6}, hold=2), Keyframe(6, {"difference": 0})]
    line = Timeline(find_exhibit("beats"), keyframes)
    assert 150 / 30 == 5 and (5 - 2) / (6 - 2) == 3 / 4 and "three quarters of the way in time" in TEXT
    eased = 3 * (3 / 4) ** 2 - 2 * (3 / 4) ** 3  # the cubic that starts and ends at rest (common practice)
    assert line.values(5)["difference"] == pytest.approx(6 * (1 - eased))
    assert line.values(6)["difference"] == 0


def test_an_entry_is_a_feel(monkeypatch: pytest.MonkeyPatch) -> None:
    """That of the text, played: chords after the beat, roots and fifths on it, four clicks, even eighths"""
    [entry] = re.findall(r"^```\n(Feel\(.*?^\))\n```", TEXT, re.MULTILINE | re.DOTALL)
    march = eval(entry, {"Feel": Feel})
    monkeypatch.setitem(FEELS, march.name, march)  # type: ignore[attr-defined]
    tune = retune(parse_lead_sheet("tempo: 112\n| C | G7 | C | G7 | C |"), THIRTY_ONE, Taste(0.0))
    score = tune_score(tune, feel="march")
    played = {name: sorted({note.onset for note in score.notes if note.voice == name}) for name in score.voices}
    assert played["count"] == [0, 1, 2, 3]
    assert played["comp"][:7] == [5, 7, 9, 11, 13, 14.5, 15]
    assert played["bass"][:7] == [4, 6, 8, 10, 12, 14, 15]
    low = [note.hertz for note in score.notes if note.voice == "bass"]
    assert low[1] == pytest.approx(low[0] * 2 ** (-13 / 31)), "the fifth is thirteen steps below its root"


def test_every_file_that_is_named_is_there() -> None:
    named = set(re.findall(r"`((?:[a-z]+/)?[a-z_]+\.py)`", TEXT))
    files = [path.relative_to(TOP).as_posix() for path in TOP.rglob("*.py") if ".venv" not in path.parts]
    assert len(named) > 40
    assert [name for name in named if not any(f"/{file}".endswith(f"/{name}") for file in files)] == []
