"""MIDI files, read back by mido and by hand, against MIDI 1.0 and the MIDI Tuning Standard."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from midi_reader import hear, moved_tails, single_note_changes, struck

from tunelib.export.midi import midi_bytes, write_midi
from tunelib.export.midi_tunings import frequency_data
from tunelib.pitch.notes import Note, hz_from_midi
from tunelib.pitch.tunings import equal
from tunelib.score import Score, ScoreNote, sequence

TUNINGS = ("bend", "mts", "mpe")
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
A4, DIESIS = 440.0, 440 * 2 ** (1 / 31)
CROWD = line(*(440 * 2 ** (cents / 1200) for cents in range(0, 100, 7)))


@pytest.mark.parametrize("tuning", TUNINGS)
@pytest.mark.parametrize("last_track_first", [False, True])
@pytest.mark.parametrize("score", [THIRTY_ONE, HARMONICS, CHORD, CROWD], ids=["31", "harmonics", "chord", "crowd"])
def test_every_note_comes_back_exact(score: Score, tuning: str, last_track_first: bool) -> None:
    """Within 0.1 cent, at its time, by the file's own bends or tuning messages; in MPE within 0.3"""
    heard = hear(midi_bytes(score, tuning), last_track_first)
    assert len(heard) == len(score.notes)
    for note, found in zip(score.notes, sorted(heard, key=lambda h: (h.start, h.hertz)), strict=True):
        assert away(found.hertz, note.hertz) < (0.3 if tuning == "mpe" else 0.1)
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
        ValueError, match="16 voices" if tuning == "mts" else "more than 15 notes sound at once at beat 2"
    ):
        midi_bytes(score, tuning)


def test_a_channel_keeps_its_bend_as_long_as_something_wants_it() -> None:
    """Two pitches in turn are two bends in all"""
    data = midi_bytes(line(*([440.0, 450.0] * 15)))
    assert [note.channel for note in hear(data)] == [0, 1] * 15
    assert len([m for m in messages(data) if m.type == "pitchwheel"]) == 2


def test_notes_of_one_bend_share_a_channel() -> None:
    """A note and its octave; but not a key with itself, and not in MPE, where each note has a channel"""
    score = Score(tuple(ScoreNote(0, 1, hertz, None) for hertz in (DIESIS, 2 * DIESIS, A4, A4)))
    assert [note.channel for note in hear(midi_bytes(score))] == [0, 0, 1, 2]
    assert len({note.channel for note in hear(midi_bytes(score, "mpe"))}) == 4


def test_a_ringing_note_is_never_moved_while_there_are_channels() -> None:
    """Each pitch once, of 31 to the octave: a channel is taken again when a second has gone by"""
    for tempo in (60, 120, 240):
        score = line(*equal(31).hz(range(-31, 63)), tempo=tempo)
        for tuning in TUNINGS:
            assert moved_tails(midi_bytes(score, tuning), 0.99) == []
    assert max(moved_tails(midi_bytes(line(*equal(31).hz(range(-31, 63)), tempo=500)), 10)) > 20


def test_where_there_are_too_few_the_tail_is_moved_that_is_nearest_to_its_end() -> None:
    """Fifteen held notes but one, and a line on the last channel"""
    held = [ScoreNote(0, 8, 440 * 2 ** (n / 24.5), None) for n in range(14)]
    moving = [ScoreNote(n, Fraction(1, 2), 300 + n, None) for n in range(8)]
    heard = hear(midi_bytes(Score((*held, *moving))))
    assert len({note.channel for note in heard if note.hertz < 310}) == 1
    early = ScoreNote(0, Fraction(1, 4), 300, None)
    late = ScoreNote(0, Fraction(7, 8), 330, None)
    heard = hear(midi_bytes(Score((*held[:13], early, late, ScoreNote(1, 1, 315, None)))))
    of = {round(note.hertz): note.channel for note in heard}
    assert of[315] == of[300] != of[330]


def test_more_voices_than_channels_share_them() -> None:
    score = Score(tuple(ScoreNote(2 * n, 1, 300 + n, None, f"voice {n}") for n in range(20)))
    data = midi_bytes(score, program_of={f"voice {n}": n for n in range(20)})
    assert [note.program for note in hear(data)] == list(range(20))
    assert moved_tails(data, 0.9) == []


def test_a_long_note_keeps_its_channel() -> None:
    drone = ScoreNote(0, 60, 55.3, None, "drone")
    heard = hear(midi_bytes(Score((drone, *line(*range(100, 160)).notes))))
    [low] = [note for note in heard if note.track == "drone"]
    assert not any(note.channel == low.channel for note in heard if note is not low)


def test_voices_have_their_programs_and_tracks() -> None:
    score = Score(tuple(ScoreNote(i, 1, 300 + i, None, "ab"[i % 2]) for i in range(40)))
    for tuning in ("bend", "mts"):
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


@pytest.mark.parametrize("score", [THIRTY_ONE, HARMONICS, CROWD], ids=["31", "harmonics", "crowd"])
def test_what_knows_no_tuning_plays_in_twelve(score: Score) -> None:
    """Every note is on its nearest key, within 50 cents"""
    keys = [m.note for m in messages(midi_bytes(score, "mts")) if m.type == "note_on"]
    for key, note in zip(keys, score.notes, strict=True):
        assert away(hz_from_midi(key), note.hertz) <= 50.0001


def test_a_key_is_tuned_just_before_it_sounds_and_once_for_one_pitch() -> None:
    data = midi_bytes(line(DIESIS, 300, DIESIS, 300), "mts")
    opening = mido.MidiFile(file=io.BytesIO(data)).tracks[0]
    at, times = 0, []
    for message in opening:
        at += message.time
        if message.type == "sysex":
            times.append(at)
    assert times == [0, 960 - 15]


def test_two_pitches_of_one_key_at_once_have_two_channels_and_programs() -> None:
    score = Score(tuple(ScoreNote(0, 2, hertz, None, voice) for voice in "ab" for hertz in (A4, DIESIS)))
    data = midi_bytes(score, "mts")
    assert {m.note for m in messages(data) if m.type == "note_on"} == {69}
    heard = hear(data)
    assert [note.channel for note in heard] == [0, 2, 1, 3]
    assert [single_note_changes(m.data) for m in messages(data) if m.type == "sysex"] == [
        (0, {69: 69.0}), (1, {69: pytest.approx(69 + 12 / 31, abs=1e-4)}),
    ]  # fmt: skip


def test_a_ringing_key_is_not_tuned_to_another_pitch() -> None:
    """Within a second it is another channel, after it the same; how many seconds a beat is, the tempo says"""
    for tempo, channels in ((59, [0, 0]), (61, [0, 1])):
        gap = Score((ScoreNote(0, 1, A4), ScoreNote(2, 1, DIESIS)), tempo)
        data = midi_bytes(gap, "mts")
        assert [note.channel for note in hear(data)] == channels
        assert moved_tails(data, 0.99) == []


def test_without_a_channel_left_a_note_takes_the_nearest_free_key() -> None:
    pitches = [440 * 2 ** (n / 240) for n in range(18)]  # 85 cents, on keys 69 and 70
    score = Score(tuple(ScoreNote(0, 1, hertz) for hertz in [pitches[0]] * 16 + pitches[1:4]))
    data = midi_bytes(score, "mts")
    keys = [m.note for m in messages(data) if m.type == "note_on"]
    assert keys[:15] == [69] * 15
    assert keys[15:] == [68, 70, 70, 70]
    assert sorted(note.hertz for note in hear(data)) == pytest.approx(sorted(n.hertz for n in score.notes), rel=1e-5)


def test_more_pitches_than_keys_are_tuned_in_turn() -> None:
    full = line(*(12000 * 2 ** (-i / 1000) for i in range(300)))
    heard = hear(midi_bytes(full, "mts"))
    assert max(away(h.hertz, n.hertz) for h, n in zip(heard, full.notes, strict=True)) < 0.004


def zones(data: bytes) -> dict[int, int]:
    """The MPE configuration messages of a file: master channels, from 0, with the members that they set up."""
    found, chosen = {}, {}
    for m in messages(data):
        if m.type == "control_change" and m.control in (100, 101):
            chosen[m.channel, m.control] = m.value
        elif m.type == "control_change" and m.control == 6 and chosen[m.channel, 100] == 6:
            found[m.channel] = m.value
    return found


def test_an_mpe_zone_has_its_notes_on_members_and_its_program_on_the_master() -> None:
    """MPE 1.0: registered parameter 6 on channel 1, members from channel 2 up, 48 semitones each way"""
    data = midi_bytes(CHORD, "mpe", program_of={voice: 51 for voice in CHORD.voices})
    assert zones(data) == {0: 15}
    assert {note.channel for note in hear(data)} == set(range(1, 16))
    assert [(m.channel, m.program) for m in messages(data) if m.type == "program_change"] == [(0, 51)]
    ranges = [m.value for m in messages(data) if m.type == "control_change" and m.control == 6 and m.channel]
    assert ranges == [48] * 15


def test_two_instruments_are_two_zones_and_percussion_stays_between_them() -> None:
    click = ScoreNote(0, Fraction(1, 4), 1000, None, "count")
    score = Score((click, ScoreNote(1, 1, A4, None, "low"), ScoreNote(1, 1, DIESIS, None, "high")))
    data = midi_bytes(score, "mpe", program_of={"high": 40})
    assert zones(data) == {0: 8, 15: 5}
    assert [(note.track, note.channel) for note in hear(data)] == [("low", 1), ("high", 14)]
    assert [(m.channel, m.program) for m in messages(data) if m.type == "program_change"] == [(0, 0), (15, 40)]
    assert zones(midi_bytes(score.only("count", "low"), "mpe")) == {0: 8}


def test_clicks_are_percussion() -> None:
    """Wood blocks of General MIDI on channel 10, the high one on the first beat"""
    clicks = tuple(ScoreNote(n, Fraction(1, 4), 880 if n % 4 else 1320, None, "count", level=0.25) for n in range(6))
    score = Score((*clicks, ScoreNote(6, 1, A4)))
    for tuning in TUNINGS:
        data = midi_bytes(score, tuning)
        assert struck(data) == [(n, 77 if n % 4 else 76, 64) for n in range(6)]
        assert [note.hertz for note in hear(data)] == [A4]
    named = replace(clicks[0], name=Note.parse("E6"))
    assert struck(midi_bytes(Score((named,)))) == []


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
        (line(440), {"tuning": "equal"}, "'bend', 'mts' or 'mpe', not 'equal'"),
        (line(7.0), {}, "7 Hz is out of range"),
        (line(14100.0), {}, "14100 Hz is out of range"),
        (line(8.0), {"tuning": "mts"}, "8 Hz is outside the range of MIDI tuning"),
        (line(13300.0), {"tuning": "mts"}, "13300 Hz is outside the range of MIDI tuning"),
        (
            Score(tuple(ScoreNote(0, 1, 440, voice=voice) for voice in "abc")),
            {"tuning": "mpe", "program_of": {"a": 1, "b": 2}},
            "MPE has two zones of one instrument each, and the score has 3",
        ),
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
