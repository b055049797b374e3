"""MIDI files, read back by mido and by hand, against MIDI 1.0 and the MIDI Tuning Standard."""

from __future__ import annotations

import io
import math
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from midi_reader import hear, single_note_changes

from tunelib.export.midi import midi_bytes, write_midi
from tunelib.export.midi_tunings import frequency_data
from tunelib.pitch.notes import hz_from_midi
from tunelib.pitch.tunings import equal
from tunelib.score import Score, ScoreNote, sequence

TUNINGS = ("bend", "mts")
C4 = hz_from_midi(60)


def away(heard: float, wanted: float) -> float:
    return abs(1200 * math.log2(heard / wanted))


def line(*pitches: float, **score: object) -> Score:
    return sequence([(hertz, None) for hertz in pitches], **score)


def messages(data: bytes) -> list[mido.Message]:
    return [message for track in mido.MidiFile(file=io.BytesIO(data), charset="utf-8").tracks for message in track]


THIRTY_ONE = line(*equal(31).hz(range(-31, 63)))
HARMONICS = line(*(55.0 * n for n in range(1, 65)))
CHORD = Score(tuple(ScoreNote(0, 4, 110 * n, None, f"voice {n}") for n in range(4, 19)))
CROWD = line(*(440 * 2 ** (cents / 1200) for cents in range(0, 100, 7)))


@pytest.mark.parametrize("tuning", TUNINGS)
@pytest.mark.parametrize("last_track_first", [False, True])
@pytest.mark.parametrize("score", [THIRTY_ONE, HARMONICS, CHORD, CROWD], ids=["31", "harmonics", "chord", "crowd"])
def test_every_note_comes_back_exact(score: Score, tuning: str, last_track_first: bool) -> None:
    """Within 0.1 cent, at its time, by the file's own bends or tuning messages"""
    heard = hear(midi_bytes(score, tuning), last_track_first)
    assert len(heard) == len(score.notes)
    for note, found in zip(score.notes, sorted(heard, key=lambda h: (h.start, h.hertz)), strict=True):
        assert away(found.hertz, note.hertz) < 0.1
        assert found.start == pytest.approx(float(note.onset))
        assert found.end == pytest.approx(float(note.end), abs=0.002)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 12), st.integers(1, 4), st.floats(8.2, 12500), st.sampled_from("abc")),
        min_size=1,
        max_size=12,
    ),
    st.booleans(),
)
def test_any_score_comes_back_within_a_tenth_of_a_cent(
    notes: list[tuple[int, int, float, str]], last_track_first: bool
) -> None:
    score = Score(tuple(ScoreNote(Fraction(o, 2), Fraction(d, 2), hz, None, v) for o, d, hz, v in notes))
    heard = hear(midi_bytes(score, "bend"), last_track_first)
    pairs = zip(
        sorted(score.notes, key=lambda n: (n.onset, n.hertz)),
        sorted(heard, key=lambda h: (h.start, h.hertz)),
        strict=True,
    )
    assert all(away(found.hertz, note.hertz) < 0.013 for note, found in pairs)


@pytest.mark.parametrize(
    ("cents", "value", "data"),
    [(38.7097, 9778, "32 4C"), (-21.5063, 7311, "0F 39"), (-3.4217, 8052, "74 3E")],
)
def test_bends_are_the_worked_ones(cents: float, value: int, data: str) -> None:
    """14 bits around 8192, two semitones each way, low byte first (MIDI 1.0)"""
    [bend] = [m for m in messages(midi_bytes(line(hz_from_midi(60 + cents / 100)))) if m.type == "pitchwheel"]
    assert bend.pitch + 8192 == value
    assert bend.hex()[3:] == data


def test_the_bend_range_is_set_by_registered_parameter_0() -> None:
    """Parameter 0 chosen, data entry in semitones and cents, then none chosen (MIDI 1.0)"""
    setup = [m.hex() for m in messages(midi_bytes(line(440))) if m.type == "control_change"]
    assert setup == ["B0 65 00", "B0 64 00", "B0 06 02", "B0 26 00", "B0 65 7F", "B0 64 7F"]


def test_channel_10_is_left_to_the_drums() -> None:
    used = {m.channel for m in messages(midi_bytes(CHORD)) if not m.is_meta}
    assert used == set(range(16)) - {9}


@pytest.mark.parametrize("tuning", TUNINGS)
def test_a_sixteenth_note_at_once_is_refused_where_there_are_fifteen_channels(tuning: str) -> None:
    score = Score((*CHORD.notes, ScoreNote(2, 1, 100, None, "one more")))
    with pytest.raises(
        ValueError, match="more than 15 notes sound at once at beat 2" if tuning == "bend" else "16 voices"
    ):
        midi_bytes(score, tuning)


def test_a_channel_is_used_again_only_when_it_is_free() -> None:
    """And rests as long as it can; the reader refuses a bend under a sounding note"""
    heard = hear(midi_bytes(line(*([440.0, 450.0] * 15))))
    assert [note.channel for note in heard[:15]] == [c for c in range(16) if c != 9]
    assert [note.channel for note in heard[15:]] == [c for c in range(16) if c != 9]


def test_a_long_note_keeps_its_channel() -> None:
    drone = ScoreNote(0, 60, 55.3, None, "drone")
    heard = hear(midi_bytes(Score((drone, *line(*range(100, 160)).notes))))
    [low] = [note for note in heard if note.track == "drone"]
    assert not any(note.channel == low.channel for note in heard if note is not low)


def test_voices_have_their_programs_and_tracks() -> None:
    score = Score(tuple(ScoreNote(i, 1, 300 + i, None, "ab"[i % 2]) for i in range(40)))
    for tuning in TUNINGS:
        heard = hear(midi_bytes(score, tuning, program_of={"a": 40, "b": 71}))
        assert {(note.track, note.program) for note in heard} == {("a", 40), ("b", 71)}


@pytest.mark.parametrize(
    ("data", "hertz"),
    [
        ("00 00 00", 8.1758),
        ("0C 00 00", 16.3516),
        ("3C 00 00", 261.6256),
        ("44 7F 7F", 439.9984),
        ("45 00 00", 440.0000),
        ("45 00 01", 440.0016),
    ],
)
def test_frequency_data_is_the_standards_own(data: str, hertz: float) -> None:
    """Examples in the MIDI Tuning Standard's table: those that follow its own rule, printed finer than a unit"""
    assert " ".join(f"{byte:02X}" for byte in frequency_data(hertz)) == data


@pytest.mark.parametrize(
    ("cents", "data"),
    [
        (1200 / 31, "3C 31 46"),
        (2400 / 31, "3C 63 0C"),
        (386.3137, "3F 6E 3E"),
        (12000 / 31, "3F 6F 3E"),
        (701.9550, "43 02 40"),
        (696.5784, "42 7B 4F"),
        (968.8259, "45 58 0C"),
    ],
)
def test_frequency_data_of_intervals_above_middle_c(cents: float, data: str) -> None:
    """Worked from the standard's rule: 14 bits to the semitone"""
    assert " ".join(f"{byte:02X}" for byte in frequency_data(C4 * 2 ** (cents / 1200))) == data


def test_a_tuning_change_has_the_standards_form() -> None:
    """F0 7F device 08 02 program count (key xx yy zz) F7, without a checksum: middle C raised by a quarter semitone"""
    [change] = [m for m in messages(midi_bytes(line(hz_from_midi(60.25)), "mts")) if m.type == "sysex"]
    assert change.hex() == "F0 7F 7F 08 02 00 01 3C 3C 20 00 F7"


def test_pitches_that_share_a_key_get_neighbouring_ones() -> None:
    [change] = [m for m in messages(midi_bytes(CROWD, "mts")) if m.type == "sysex"]
    _, keys = single_note_changes(change.data)
    assert len(keys) == len(CROWD.notes)
    assert sorted(keys.values()) == [pitch for _, pitch in sorted(keys.items())]


def test_a_tuning_of_all_keys_fits_and_one_more_does_not() -> None:
    full = line(*(12000 * 2 ** (-i / 1000) for i in range(128)))
    heard = hear(midi_bytes(full, "mts"))
    assert max(away(h.hertz, n.hertz) for h, n in zip(heard, full.notes, strict=True)) < 0.004
    with pytest.raises(ValueError, match="129 different pitches"):
        midi_bytes(line(*(n.hertz for n in full.notes), 440), "mts")


@pytest.mark.parametrize("tuning", TUNINGS)
def test_a_note_at_level_0_does_not_sound(tuning: str) -> None:
    score = Score((ScoreNote(0, 1, 440, level=0), ScoreNote(1, 1, 441, level=0.25)))
    data = midi_bytes(score, tuning)
    assert [note.start for note in hear(data)] == [1.0]
    [on] = [m for m in messages(data) if m.type == "note_on"]
    assert on.velocity == 64  # half of 127: amplitude goes as its square (Downloadable Sounds Level 1, common practice)


def chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    """The file's chunks by hand: four letters, four bytes of length, that many bytes (Standard MIDI File 1.0)."""
    found = []
    while data:
        length = int.from_bytes(data[4:8], "big")
        assert len(data) >= 8 + length
        found.append((data[:4], data[8 : 8 + length]))
        data = data[8 + length :]
    return found


def test_the_bytes_of_a_file() -> None:
    """Header, tempo, metre and end of track as Standard MIDI File 1.0 lays them down"""
    score = line(440, tempo=120, beats_per_bar=3, title="Two ♭")
    (head, header), (first, opening), (second, notes) = chunks(midi_bytes(score))
    assert (head, first, second) == (b"MThd", b"MTrk", b"MTrk")
    assert header == bytes.fromhex("0001 0002 03C0")
    name = "Two ♭".encode()
    assert opening.startswith(b"\x00\xff\x03" + bytes([len(name)]) + name)
    assert bytes.fromhex("00 FF 51 03 07 A1 20") in opening  # 500 000 microseconds a beat
    assert bytes.fromhex("00 FF 58 04 03 02 18 08") in opening
    assert notes.startswith(b"\x00\xff\x03\x06melody")
    assert bytes.fromhex("00 90 45 7F") in notes
    assert opening.endswith(b"\x00\xff\x2f\x00")
    assert notes.endswith(b"\x00\xff\x2f\x00")


@pytest.mark.parametrize(
    ("ticks", "quantity"),
    [
        (0x40, "40"),
        (0x7F, "7F"),
        (0x80, "81 00"),
        (0x2000, "C0 00"),
        (0x3FFF, "FF 7F"),
        (0x4000, "81 80 00"),
        (0x100000, "C0 80 00"),
        (0x1FFFFF, "FF FF 7F"),
        (0x200000, "81 80 80 00"),
    ],
)
def test_times_are_variable_length_quantities(ticks: int, quantity: str) -> None:
    """The table in Standard MIDI File 1.0; a note ends a tick early, so that the next finds its channel free"""
    data = midi_bytes(Score((ScoreNote(0, Fraction(ticks + 1, 960), 440),)))
    assert bytes.fromhex(f"00 90 45 7F {quantity} 80 45") in data


@pytest.mark.parametrize(
    ("score", "arguments", "message"),
    [
        (line(440), {"tuning": "equal"}, "'bend' or 'mts', not 'equal'"),
        (line(7.0), {}, "7 Hz is out of range"),
        (line(14100.0), {}, "14100 Hz is out of range"),
        (line(8.0), {"tuning": "mts"}, "8 Hz is outside the range of MIDI tuning"),
        (line(13300.0), {"tuning": "mts"}, "13300 Hz is outside the range of MIDI tuning"),
        (line(440, tempo=3), {}, "cannot hold a tempo of 3"),
        (line(440, beats_per_bar=256), {}, "cannot hold 256 beats"),
        (line(440), {"program_of": {"melody": 128}}, "voice 'melody' is a whole number from 0 to 127"),
    ],
)
def test_what_a_file_cannot_hold_is_refused(score: Score, arguments: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        midi_bytes(score, **arguments)


def test_a_score_without_notes_is_a_file_without_notes() -> None:
    for tuning in TUNINGS:
        assert hear(midi_bytes(Score(()), tuning)) == []


def test_a_file_is_not_overwritten_unless_asked(tmp_path: Path) -> None:
    path = write_midi(line(440), tmp_path / "a.mid")
    before = path.read_bytes()
    with pytest.raises(FileExistsError):
        write_midi(line(550), path)
    assert path.read_bytes() == before
    write_midi(line(550), path, overwrite=True)
    assert path.read_bytes() != before
