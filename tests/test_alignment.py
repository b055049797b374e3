"""Takes held beside what was to be played: which note is which, and how it was."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import librosa
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampled import RATE
from takes import FONTS, HELD, KnownTake, quick, slurred

from tunelib.hearing import best_story as stories
from tunelib.hearing.alignment import Alignment, align
from tunelib.hearing.attacks import Attacks, attacks_of
from tunelib.hearing.best_story import WeighedStretch, best_story
from tunelib.hearing.intended import Intended, IntendedNote
from tunelib.hearing.level_pieces import LevelPieces
from tunelib.hearing.pitch_track import PitchTrack, track_pitch
from tunelib.hearing.recording import Recording
from tunelib.pitch.notes import nearest_note

HOP, STEP = 0.010, 1200 / 31


def intended(sizes: Sequence[float], base: float = 220.0) -> Intended:
    """Notes so many cents above a pitch."""
    hertz = [base * 2 ** (size / 1200) for size in sizes]
    return Intended("a line", tuple(IntendedNote(h, nearest_note(h)[0], str(i)) for i, h in enumerate(hertz)))


def curve(
    notes: Sequence[tuple[float, float]], base: float = 220.0, *, gap: float = 0.0, vibrato: float = 0.0, seed: int = 1
) -> tuple[PitchTrack, Attacks]:
    """A pitch track of notes, each so many cents above a pitch and so many seconds long, each struck."""
    rng = np.random.default_rng(seed)
    cents: list[float] = [math.nan] * 20
    struck = []
    for size, seconds in notes:
        struck.append(len(cents))
        time = np.arange(round(seconds / HOP)) * HOP
        swing = vibrato / 2 * np.sin(2 * np.pi * 5.7 * time + rng.uniform(0, 6))
        cents += [*(size + swing + rng.normal(0, 3, time.size)), *[math.nan] * round(gap / HOP)]
    values = np.array([*cents, *[math.nan] * 20])
    worth = np.zeros(values.size)
    worth[struck] = 10.0
    known = np.isfinite(values)
    hertz = base * 2 ** (values / 1200)
    return PitchTrack(np.arange(values.size) * HOP, hertz, known * 1.0), Attacks(worth, np.where(known, -20.0, -80.0))


def told(found: Alignment) -> str:
    """The notes in the order of time by their numbers; + for one that was added, ! after a wrong one."""
    return " ".join(
        "+" if one.intended is None else f"{one.intended}{'!' if one.wrong else ''}" for one in found.playings
    )


SCALE = [0, 2, 4, 5, 7, 9, 11, 12]
LINE = [100.0 * step for step in SCALE]


@pytest.mark.parametrize(
    ("played", "story"),
    [
        (LINE, "0 1 2 3 4 5 6 7"),
        (LINE[:3] + LINE[4:], "0 1 2 4 5 6 7"),
        ([*LINE[:4], 300.0, *LINE[4:]], "0 1 2 3 + 4 5 6 7"),
        ([*LINE[:4], 820.0, *LINE[5:]], "0 1 2 3 4! 5 6 7"),
        (LINE[:5] + LINE[2:], "0 1 2 3 4 2 3 4 5 6 7"),
        (LINE[:3] + LINE[6:], "0 1 2 6 7"),
        (LINE[2:6], "2 3 4 5"),
        ([*LINE[:4], LINE[3], *LINE[4:]], "0 1 2 3 3 4 5 6 7"),
    ],
    ids=["as written", "left out", "added", "wrong", "back", "forth", "the middle of it", "struck again"],
)
@pytest.mark.parametrize("vibrato", [0.0, 80.0])
def test_what_happened_is_told(played: list[float], story: str, vibrato: float) -> None:
    """What may happen to a line, in notes of unequal lengths with short gaps, with vibrato and without"""
    lengths = [0.4 + 0.07 * (i % 4) for i in range(len(played))]
    track, attacks = curve(list(zip(played, lengths, strict=True)), gap=0.06, vibrato=vibrato)
    found = align(track, attacks, intended(LINE))
    assert told(found) == story
    assert abs(found.offset) < 8
    alone = [one for one in found.playings if one.intended is not None and not one.wrong]
    assert all(abs(one.off) < 8 for one in alone)


@pytest.mark.parametrize("offset", [25.0, -33.0, 1200.0, -1188.0])
@pytest.mark.parametrize("sizes", [LINE, [STEP * i for i in range(12)]], ids=["twelve", "thirty-one"])
def test_a_common_offset_is_found_and_makes_no_wrong_notes(offset: float, sizes: list[float]) -> None:
    track, attacks = curve([(size + offset, 0.4) for size in sizes])
    found = align(track, attacks, intended(sizes))
    assert found.offset == pytest.approx(offset, abs=2)
    assert found.outcomes == ("played",) * len(sizes)
    assert all(one.off == pytest.approx(offset, abs=5) for one in found.playings)


def test_one_bad_note_does_not_move_the_common_offset() -> None:
    sizes = [size + (70 if i == 3 else 25) for i, size in enumerate(LINE)]
    found = align(*curve([(size, 0.4) for size in sizes]), intended(LINE))
    assert found.offset == pytest.approx(25, abs=2)
    assert [one.wrong for one in found.playings] == [i == 3 for i in range(8)]


def test_steps_of_thirty_one_slurred_with_no_attack_are_parted() -> None:
    sizes = [STEP * step for step in (0, 1, 2, 3, 2, 1, 0)]
    track, attacks = curve([(size, 0.4) for size in sizes], vibrato=100)
    found = align(track, attacks._replace(worth=np.zeros(track.times.size)), intended(sizes))
    assert told(found) == "0 1 2 3 4 5 6"
    for i, one in enumerate(found.playings):
        assert one.heard.onset == pytest.approx(0.2 + 0.4 * i, abs=0.08)


def test_a_scoop_belongs_to_its_note() -> None:
    track, attacks = curve([(0, 0.5), (400, 0.5)], gap=0.1)
    hertz = track.hertz.copy()
    hertz[80:92] *= 2 ** (np.linspace(-150, -10, 12) / 1200)
    found = align(track._replace(hertz=hertz), attacks, intended([0, 400]))
    assert told(found) == "0 1"
    assert found.playings[0].scoop == 0 and -150 <= found.playings[1].scoop < -80
    assert found.playings[1].off == pytest.approx(0, abs=3)


def test_a_long_note_stays_one() -> None:
    found = align(*curve([(0, 9.0), (200, 1.0)], vibrato=40), intended([0, 200]))
    assert told(found) == "0 1"


def test_silence_leaves_everything_out() -> None:
    nothing = PitchTrack(np.arange(50) * HOP, np.full(50, math.nan), np.zeros(50))
    found = align(nothing, None, intended(LINE))
    assert found.playings == () and found.outcomes == ("left out",) * 8


# Beside an exhaustive search


def cheapest(stretch: WeighedStretch, pieces: LevelPieces, targets: np.ndarray) -> float:
    """The cheapest of all stories of a stretch, each told to its end; written anew from what the prices mean."""
    frames, notes = stretch.at.tolist(), targets.size

    def on(place: int, passed: int) -> float:
        if place == len(frames) - 1:
            return min(3.0 * (notes - passed), 4.0)
        ways = []
        for end in range(place + 1, len(frames)):
            length = frames[end] - frames[place]
            ways.append(3.0 + stories.PASSAGE_FRAME * length + on(end, passed))
            if length * HOP < 0.05 - 1e-9:
                continue
            fit, level, variance = (float(one[0]) for one in pieces.costs(frames[end], np.array([frames[place]])))
            fit += 8.0 * min(max((0.1 - length * HOP) / 0.05, 0.0), 1.0)
            struck = fit - float(stretch.worth[place])
            ways.append(struck + 9.0 + 3.0 + on(end, passed))
            if passed < notes:
                ways.append(struck + 9.0 + 4.0 + on(end, passed + 1))
            for note in range(notes):
                known = 0.5 * (level - float(targets[note])) ** 2 / (variance + 400.0)
                unheard = 0.0 if stretch.worth[place] else 6.0
                price = 4.0
                if note == passed:
                    same = note > 0 and targets[note] == targets[note - 1]
                    price = min(price, unheard if same else 0.0)
                elif note == passed + 1:
                    price = 3.0
                elif note == passed - 1:
                    price = min(price, 3.0 + unheard)
                    ways.append(fit + 8.0 + known + on(end, passed))
                ways.append(struck + 6.0 + price + known + on(end, note + 1))
        return min(ways)

    return min(min(3.0 * passed, 4.0) + on(0, passed) for passed in range(notes + 1))


@given(
    st.lists(st.tuples(st.sampled_from([0.0, 38.7, 77.4, 200.0, 900.0]), st.integers(4, 14)), min_size=1, max_size=4),
    st.lists(st.sampled_from([0.0, 38.7, 77.4, 200.0]), min_size=1, max_size=3),
    st.integers(0, 10**6),
)
@settings(max_examples=40)
def test_no_story_is_cheaper_than_the_one_that_is_found(
    levels: list[tuple[float, int]], sizes: list[float], seed: int
) -> None:
    rng = np.random.default_rng(seed)
    cents = np.concatenate([level + rng.normal(0, 9, length) for level, length in levels])
    worth = np.where(rng.random(cents.size) < 0.1, rng.uniform(3, 18, cents.size), 0.0)
    inner = np.unique(rng.integers(1, cents.size, 4)) if cents.size > 4 else np.zeros(0, dtype=int)
    at = np.unique(np.concatenate(([0], inner, [cents.size]))).astype(np.intp)
    still = np.ones(cents.size)
    stretch = WeighedStretch(0, cents, worth, HOP, at, still)
    found, steps = best_story([stretch], np.array(sizes))
    assert found == pytest.approx(cheapest(stretch, LevelPieces(cents, HOP, still), np.array(sizes)), abs=1e-9)
    assert [step.first for step in steps[1:]] == [step.end for step in steps[:-1]]


# Beside dynamic time warping


def by_warping(track: PitchTrack, sizes: Sequence[float], base: float = 220.0) -> list[int]:
    """Which note each pitched frame is, by librosa's dynamic time warping of the pitch onto the line."""
    cents = 1200 * np.log2(track.hertz[np.isfinite(track.hertz)] / base)
    _, path = librosa.sequence.dtw(C=np.abs(np.array(sizes)[:, np.newaxis] - cents), step_sizes_sigma=STEPS)
    owner = {frame: note for note, frame in path[::-1].tolist()}
    return [owner[frame] for frame in range(cents.size)]


STEPS = np.array([[1, 1], [0, 1], [1, 0]])


def by_story(track: PitchTrack, attacks: Attacks, sizes: Sequence[float]) -> list[int]:
    found = align(track, attacks, intended(sizes))
    owner = np.full(track.times.size, -1)
    for one in found.playings:
        inside = (track.times >= one.heard.onset) & (track.times <= one.heard.offset)
        owner[inside] = -1 if one.intended is None else one.intended
    return owner[np.isfinite(track.hertz)].tolist()


def test_repeats_omissions_and_added_notes_beside_dynamic_time_warping() -> None:
    """Which note a frame belongs to: warping, which cannot go back nor pass a note over, is right less often."""
    rng = np.random.default_rng(7)
    ours, theirs, frames = 0, 0, 0
    for take in range(12):
        sizes = np.cumsum(rng.choice([-200.0, -100.0, 100.0, 200.0, 300.0], 16)).tolist()
        order = list(range(16))
        back = int(rng.integers(6, 13))
        order = order[:back] + order[back - 4 :]  # four notes again
        del order[int(rng.integers(1, 5))]  # one left out
        order.insert(int(rng.integers(10, 14)), -1)  # one added
        notes = [(sizes[i] if i >= 0 else 1500.0, float(rng.uniform(0.25, 0.6))) for i in order]
        track, attacks = curve(notes, gap=0.05, vibrato=50, seed=take)
        truth = [i for i, (_, seconds) in zip(order, notes, strict=True) for _ in range(round(seconds / HOP))]
        ours += sum(a == b for a, b in zip(by_story(track, attacks, sizes), truth, strict=True))
        theirs += sum(a == b for a, b in zip(by_warping(track, sizes), truth, strict=True))
        frames += len(truth)
    assert ours > 0.97 * frames
    assert theirs < 0.9 * frames


# Sampled instruments


def aligned(take: KnownTake) -> Alignment:
    low, high = min(n.hertz for n in take.notes) / 1.3, max(n.hertz for n in take.notes) * 1.3
    track = track_pitch(take.samples, RATE, lowest=low, highest=high)
    wanted = tuple(IntendedNote(n.hertz, nearest_note(n.hertz)[0], str(i)) for i, n in enumerate(take.notes))
    return align(track, attacks_of(Recording.of(take.samples, RATE), track), Intended("a take", wanted))


@pytest.mark.parametrize("program", [40, 66, 73], ids=["violin", "tenor saxophone", "flute"])
@pytest.mark.parametrize(
    "make",
    [
        lambda program: slurred(FONTS[0], program, 0.3),
        lambda program: slurred(FONTS[0], program, 0.5, 100.0),
        lambda program: quick(FONTS[0], program, 6.0),
    ],
    ids=["slurred", "with vibrato", "six a second"],
)
def test_every_note_of_a_sampled_instrument_gets_its_place(program: int, make: Callable[[int], KnownTake]) -> None:
    assert program in HELD
    take = make(program)
    found = aligned(take)
    right = 0
    for note, playings in zip(take.notes, found.of, strict=True):
        if len(playings) == 1:
            heard = playings[0].heard
            middle = (note.onset + note.offset) / 2
            right += heard.onset < middle < heard.offset and abs(playings[0].off) < 15
    assert right >= len(take.notes) - 1
    assert found.added == ()
