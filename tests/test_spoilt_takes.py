"""Takes with a drone, a click track or a channel turned over: the notes are found, and what was done is said."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sampled import FONT, RATE
from spoilt import announced, clicked, droned, speech_like, spoken, turned_over
from takes import FONTS, HELD, IN_FIFTHS, KnownTake, in_a_room, repeated, score, struck

from tunelib.hearing import PitchTrack, Take, hear
from tunelib.hearing.click_tracks import find_clicks, without_clicks
from tunelib.hearing.drones import find_drone, without_drone
from tunelib.hearing.heard_notes import HeardNote
from tunelib.hearing.octave_slips import raised
from tunelib.hearing.recording import Recording

CLARINET, CELLO, TRUMPET, HORN, SAXOPHONE = 71, 42, 56, 60, 65


def right(take: KnownTake, heard: Take) -> float:
    return score([(note.onset, note.offset, note.hertz) for note in heard.notes], take.notes).share


def plain(program: int) -> KnownTake:
    return struck(FONT, program, [HELD[program] + step for step in IN_FIFTHS], 0.5, 0.05)


@pytest.mark.parametrize("under", [12, 19, 5])
@pytest.mark.parametrize("decibels", [-6.0, -20.0])
def test_a_drone_is_found_named_and_taken_out(under: int, decibels: float) -> None:
    """Twenty partials from 7 cents above a key of twelve, in tune with the player or not"""
    take = droned(FONT, CLARINET, decibels, under=under)
    hertz = 440 * 2 ** ((HELD[CLARINET] - under + 0.07 - 69) / 12)
    heard = hear(take.samples, RATE)
    [said] = [line for line in heard.faults if "drone" in line]
    assert abs(1200 * np.log2(float(re.search(r"\(([\d.]+) Hz\)", said)[1]) / hertz)) < 3  # type: ignore[index]
    assert not any("more than one note" in line for line in heard.faults)
    assert right(take, heard) >= 0.9
    assert len(heard.notes) <= len(take.notes) + 3


def test_what_is_left_of_a_drone_is_far_below_it() -> None:
    """The player's part beside what was left, in the pauses too"""
    take, alone = droned(FONT, CLARINET, 0.0), plain(CLARINET).samples
    recording = Recording.of(take.samples, RATE)
    drone = find_drone(recording)
    assert drone is not None and drone.decibels == pytest.approx(0, abs=6)
    left = np.concatenate(list(without_drone(recording, drone).blocks())) - alone
    assert left.size == alone.size
    inside = slice(RATE, -2 * RATE)
    assert np.std(left[inside]) < 0.15 * np.std((take.samples - alone)[inside])


@pytest.mark.parametrize(
    "take",
    [
        plain(CLARINET), plain(CELLO), repeated(FONT, TRUMPET, 0.15), struck(FONT, CLARINET, [67], 15.0, 0.1),
        struck(FONT, CELLO, [50] * 3, 5.0, 0.3, width=80),
    ],
    ids=lambda take: take.name,
)  # fmt: skip
def test_a_player_alone_is_no_drone_and_no_click_track(take: KnownTake) -> None:
    """One who holds a note for long, too, or plays the same again and again, evenly"""
    recording = Recording.of(take.samples, RATE)
    assert find_drone(recording) is None and find_clicks(recording) is None
    assert hear(take.samples, RATE).faults == ()


@pytest.mark.parametrize(("kind", "tempo"), [("tone", 100.0), ("noise", 72.0), ("block", 120.0)])
def test_a_click_track_is_found_counted_and_taken_out(kind: str, tempo: float) -> None:
    take, alone = clicked(FONT, CLARINET, tempo, kind), clicked(FONT, CLARINET, 1.0, kind)
    heard = hear(take.samples, RATE)
    assert any(f"clicks at {tempo:.0f} a minute" in line for line in heard.faults)
    assert right(take, heard) == right(alone, hear(alone.samples[: take.samples.size], RATE)) >= 0.8
    recording = Recording.of(take.samples, RATE)
    clicks = find_clicks(recording)
    assert clicks is not None and clicks.tempo == pytest.approx(tempo, abs=0.1)
    assert np.all(np.diff(clicks.places) > 0)
    parts = [np.concatenate(list(without_clicks(recording, clicks).blocks()))]
    short = Recording(RATE, lambda: iter(np.array_split(take.samples, 97)), take.samples.size)
    parts.append(np.concatenate(list(without_clicks(short, clicks).blocks())))
    assert np.allclose(*parts)


@pytest.mark.skipif(not FONTS[1].is_file(), reason="needs a sound font (Debian: fluid-soundfont-gm)")
@pytest.mark.parametrize("program", [HORN, SAXOPHONE])
def test_a_note_repeated_evenly_is_no_click_track_and_clicks_over_it_are(program: int) -> None:
    assert find_clicks(Recording.of(repeated(FONTS[1], program, 0.06).samples, RATE)) is None
    clicks = find_clicks(Recording.of(clicked(FONTS[1], program).samples, RATE))
    assert clicks is not None and clicks.tempo == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize("program", [CLARINET, HORN])
@pytest.mark.parametrize(("seconds", "rings"), [(0.0, False), (0.5, False), (2.0, True)])
def test_a_room_that_rings_for_long_is_spoken_of(program: int, seconds: float, rings: bool) -> None:
    """Notes with pauses between them, in which that can be heard"""
    take = struck(FONT, program, [HELD[program] + step for step in IN_FIFTHS[:4]], 0.8, 1.2)
    heard = hear((in_a_room(take, seconds) if seconds else take).samples, RATE)
    assert any("the room rings" in line for line in heard.faults) == rings


def test_a_channel_turned_over_is_turned_back() -> None:
    take = plain(CLARINET)
    over = turned_over(take)
    one, two = hear(take.samples, RATE), hear(over.samples, RATE)
    assert [note.hertz for note in two.notes] == pytest.approx([note.hertz for note in one.notes], rel=1e-6)
    assert one.faults == () and "channel 2 of the recording is upside down" in two.faults[0]


@pytest.mark.parametrize("beside", ["silence", "hiss", "hum"])
def test_a_channel_with_nothing_in_it_does_no_harm(beside: str) -> None:
    take = plain(CLARINET)
    loud = np.std(take.samples)
    dice = np.random.default_rng(4)
    other = {
        "silence": np.zeros(take.samples.size),
        "hiss": 2 * loud * dice.normal(size=take.samples.size),
        "hum": 0.001 * loud * np.sin(2 * np.pi * 50 * np.arange(take.samples.size) / RATE),
    }[beside]
    both = hear(np.stack([other, take.samples], axis=1), RATE)
    assert [note.hertz for note in both.notes] == pytest.approx([n.hertz for n in hear(take.samples, RATE).notes])
    assert both.faults == (
        ("channel 1 of the recording is mostly noise and was left out. Check its microphone",)
        if beside == "hiss"
        else ()
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("program", [CLARINET, CELLO])
def test_what_is_spoken_is_left_out_and_said(program: int, after: bool, seed: int) -> None:
    take = plain(program)
    heard = hear(take.samples, RATE)
    both = announced(take, speech_like(middle=110.0 + 30 * seed, seed=seed), after=after)
    said = hear(both.samples, RATE)
    assert len(said.faults) == 1 and said.faults[0].startswith("what was spoken was left out")
    assert [note.hertz for note in said.notes] == pytest.approx([note.hertz for note in heard.notes], rel=5e-4)


def test_a_synthesizers_speech_is_left_out() -> None:
    both = announced(plain(CLARINET), spoken("Take two, a slow scale of C, a bit faster this time."))
    assert len(hear(both.samples, RATE).notes) == len(hear(plain(CLARINET).samples, RATE).notes)


@pytest.mark.parametrize("width", [0.0, 160.0])
@pytest.mark.parametrize("each", [0.12, 0.5])
def test_notes_are_not_called_speech(width: float, each: float) -> None:
    """Neither quick ones nor wide vibrato, low or in the middle"""
    for program in (CELLO, CLARINET):
        slow = struck(FONT, program, [HELD[program]] * 3, 1.0, 0.3).samples
        quick = struck(FONT, program, [HELD[program] + step for step in IN_FIFTHS], each, 0.01, width).samples
        heard = hear(np.concatenate([slow, np.zeros(RATE // 2), quick]), RATE)
        assert not any("spoken" in line for line in heard.faults)


@pytest.mark.parametrize(("program", "keys"), [(43, (28, 31, 35)), (58, (29, 33)), (73, (84, 91, 96)), (72, (98, 103))])
def test_notes_far_down_and_up_are_in_their_octave(program: int, keys: tuple[int, ...]) -> None:
    """Double bass, tuba, flute and piccolo, whose notes were below 50 Hz or above 2000 Hz, with no instrument named"""
    take = struck(FONT, program, keys, 0.8, 0.15)
    heard = hear(take.samples, RATE)
    assert heard.faults == () and heard.notes
    for note in heard.notes:
        assert min(abs(1200 * np.log2(note.hertz / played.hertz)) for played in take.notes) < 15


@pytest.mark.parametrize(("soft", "factor"), [(0.01, 2), (0.3, 1)])
def test_a_note_whose_odd_harmonics_are_all_but_missing_is_raised(soft: float, factor: int) -> None:
    """Its track alone: one whose odd harmonics are only soft stays, and so does what is no part of a note"""
    time = np.arange(2 * RATE) / RATE
    tone = sum((soft if n % 2 else 1.0) / n * np.sin(2 * np.pi * n * 400 * time + n * n) for n in range(1, 20))
    times = np.arange(200) / 100
    track = PitchTrack(times, np.where(times < 1.5, 400.0, 300.0), np.ones(200))
    notes = [HeardNote(0.5, 1.2, 400.0, 0, 0, 0, 0, 1)]
    found = raised(track, notes, Recording.of(tone, RATE))
    inside = (times > 0.5) & (times < 1.2)
    assert np.all(found.hertz[inside] == factor * 400) and np.array_equal(found.hertz[~inside], track.hertz[~inside])
    assert (found is track) == (factor == 1)


def test_two_channels_in_order_are_averaged() -> None:
    dice = np.random.default_rng(5)
    tone = np.sin(2 * np.pi * 300 * np.arange(RATE) / RATE)
    sound = np.stack([tone, 0.5 * tone], axis=1) + 0.01 * dice.normal(size=(RATE, 2))
    recording = Recording.of(sound, RATE)
    assert np.array_equal(np.concatenate(list(recording.blocks())), sound @ np.array([0.5, 0.5]))
    assert recording.said() == ()
