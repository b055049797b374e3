"""The notes that are found in a take when nothing is known of what is played, beside Praat's pitch with a plain rule.

Takes of sampled instruments with bends of known size, played by FluidSynth; `tests/benchmark_listening.py` measures all
of them. By none of the programs here were weights fitted, or constants tried.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from sampled import FONT, RATE
from takes import (
    Bent,
    KnownTake,
    Sung,
    added,
    by_parselmouth,
    detached,
    dry,
    in_a_room,
    quick,
    rendered,
    repeated,
    score,
    slurred,
    tracked,
)

from tunelib.hearing import Recording, attacks_of, track_notes, track_pitch
from tunelib.hearing.cheapest_row import (
    LATE,
    PASSAGE_RATE,
    Stretch,
    cheapest_row,
)
from tunelib.hearing.level_pieces import BRIEF_PRICE, NOTE_PRICE, PASSAGE_PRICE, LevelPieces
from tunelib.hearing.piece_ends import SHORTEST_PIECE
from tunelib.hearing.swings import drift_and_swing, level_and_swing, slides

PROGRAMS = (58, 65, 69, 74)  # tuba, alto saxophone, English horn and recorder in General MIDI
HOP = 0.01


def heard(samples: np.ndarray, take: KnownTake | None = None) -> list[tuple[float, float, float]]:
    track = tracked(take) if take else track_pitch(samples, RATE)
    notes = track_notes(track, attacks_of(Recording.of(samples, RATE), track))
    return [(note.onset, note.offset, note.hertz) for note in notes]


@pytest.mark.parametrize(
    ("make", "least", "peer_at_most"),
    [
        (partial(slurred, each=0.3), 0.98, 1.0),
        (partial(slurred, each=0.5, width=60.0), 0.97, 0.3),
        (partial(slurred, each=0.5, width=160.0), 0.97, 0.3),
        (partial(repeated, gap=0.06), 0.97, 0.9),
        (partial(detached, width=100.0), 0.98, 0.3),
        (partial(detached, width=160.0), 0.95, 0.3),
        (partial(quick, a_second=4.0), 0.97, 0.9),
    ],
    ids=["slurred", "vibrato 60", "vibrato 160", "repeated", "detached 100", "detached 160", "quick"],
)
def test_notes_of_sampled_instruments_are_told_apart(
    make: Callable[[Path, int], KnownTake], least: float, peer_at_most: float
) -> None:
    takes = [make(FONT, program) for program in PROGRAMS]
    ours = added(score(heard(take.samples, take), take.notes) for take in takes)
    peer = added(score(by_parselmouth(take.samples), take.notes) for take in takes)
    assert ours.share >= least, ours
    assert peer.share <= peer_at_most, peer


def test_the_pitch_of_a_wide_vibrato_is_within_three_cents() -> None:
    off = []
    for program in PROGRAMS:
        take = detached(FONT, program, 160.0)
        for note in take.notes:
            near = [h for a, b, h in heard(take.samples, take) if a < (note.onset + note.offset) / 2 < b]
            off += [abs(1200 * np.log2(hertz / note.hertz)) for hertz in near]
    assert len(off) >= 0.95 * 8 * len(PROGRAMS) and np.median(off) < 3


def test_a_room_that_rings_for_a_second_splits_no_note() -> None:
    total = added(
        score(heard(take.samples), take.notes)
        for take in (in_a_room(detached(FONT, program, 0.0), 0.8) for program in PROGRAMS)
    )
    assert total.extra == 0 and total.share > 0.95, total


def test_a_slurred_grace_note_is_a_note() -> None:
    """90 ms on a neighbour a tone above, slurred into a note of a second"""

    def bend(seconds: np.ndarray) -> np.ndarray:
        return np.where(seconds < 0.39, 200.0, 0.0)

    samples = rendered(FONT, 71, [Bent(65, 0.3, 1.4, bend)])
    grace, note = heard(samples)
    base = dry(FONT, 71, 65)
    assert 1200 * np.log2(np.array([grace[2], note[2]]) / base) == pytest.approx([200, 0], abs=8)
    assert grace[1] == pytest.approx(0.39, abs=0.03)


def synthetic(cents: np.ndarray, level: np.ndarray | float = 1.0) -> np.ndarray:
    """Six partials over a pitch given in cents above 220 Hz, sample by sample."""
    phase = 2 * np.pi * np.cumsum(220 * 2 ** (cents / 1200)) / RATE
    sound = sum(np.sin(n * phase) / n for n in range(1, 7))
    noise = np.random.default_rng(3).standard_normal(cents.size)
    return np.asarray(0.1 * level * sound + 1e-4 * noise)


def test_swelling_and_wavering_are_no_new_notes() -> None:
    """A tremolo of 6 dB at 5.5 Hz with a vibrato of 60 cents: as a flute has it"""
    seconds = np.arange(3 * RATE) / RATE
    swing = np.sin(2 * np.pi * 5.5 * seconds)
    [note] = heard(synthetic(30 * swing, 10 ** (3 * swing / 20)))
    assert abs(1200 * np.log2(note[2] / 220)) < 1


@pytest.mark.parametrize("rest", [0.0, 0.03, 0.1])
def test_a_tone_that_is_tongued_again_is_another_note(rest: float) -> None:
    seconds = np.arange(2 * RATE) / RATE
    since = seconds % 0.5
    level = np.minimum(1, since / 0.02) * np.clip((0.5 - rest - since) / 0.03, 0.1 if not rest else 0.0, 1)
    notes = heard(synthetic(np.zeros(seconds.size), level))
    assert [onset for onset, _, _ in notes] == pytest.approx([0, 0.5, 1.0, 1.5], abs=0.04)


def stretch(cents: np.ndarray, worth: dict[int, float] | None = None) -> Stretch:
    given = np.zeros(cents.size)
    for frame, nats in (worth or {}).items():
        given[frame] = nats
    return Stretch(np.asarray(cents, dtype=float), given, np.zeros(cents.size), HOP)


def test_the_row_that_is_found_is_the_cheapest_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside every way to cut short stretches into notes and passages, told one by one"""
    dice = np.random.default_rng(5)
    for _ in range(6):
        cents = np.repeat(dice.choice([0, 38.7, 77.4], 3), 12) + dice.normal(0, 3, 36)
        part = stretch(cents, {12: float(dice.uniform(0, 12))})
        at = np.arange(0, 37, 4)
        monkeypatch.setattr("tunelib.hearing.cheapest_row._places", lambda *given, at=at: at)
        pieces = LevelPieces(part.cents, HOP, (np.abs(np.gradient(part.cents, HOP)) <= 4000).astype(float))

        def price(begin: int, end: int, note: bool, part: Stretch = part, pieces: LevelPieces = pieces) -> float:
            seconds = (end - begin) * HOP
            if not note:
                return PASSAGE_PRICE + PASSAGE_RATE * seconds if seconds <= 0.2 else np.inf
            if seconds < SHORTEST_PIECE:
                return np.inf
            struck = part.worth[max(0, begin - LATE) : begin + 2].max()
            brief = BRIEF_PRICE * max(0.0, (0.1 - seconds) / 0.05) * (part.worth[begin] < 8)
            return float(pieces.costs(end, np.array([begin]))[0][0]) + NOTE_PRICE - struck + brief

        best: tuple[float, list[tuple[int, int]]] = (np.inf, [])
        for inner in itertools.product((False, True), repeat=at.size - 2):
            cuts = [0, *at[1:-1][list(inner)].tolist(), int(at[-1])]
            for kinds in itertools.product((True, False), repeat=len(cuts) - 1):
                if any(not a and not b for a, b in itertools.pairwise(kinds)):
                    continue
                row = list(zip(cuts, cuts[1:], kinds, strict=False))
                cost = sum(price(*piece) for piece in row)
                if cost < best[0] - 1e-9:
                    best = cost, [(a, b) for a, b, note in row if note]
        assert cheapest_row(part) == best[1]


def test_what_an_attack_is_worth_parts_what_pitch_alone_does_not() -> None:
    level = np.random.default_rng(2).normal(0, 2, 80)
    assert len(cheapest_row(stretch(level))) == 1
    assert len(cheapest_row(stretch(level, {40: 18.0}))) == 2
    assert len(cheapest_row(stretch(level, {40: 4.0}))) == 1


def test_a_step_of_thirty_one_under_a_vibrato_is_a_step_and_the_vibrato_is_none() -> None:
    """The least-squares step between two notes of half a second, each with a vibrato of 100 cents"""
    seconds = HOP * np.arange(100)
    swing = 50 * np.sin(2 * np.pi * 5.8 * seconds)
    noise = np.random.default_rng(1).normal(0, 2, 100)
    assert len(cheapest_row(stretch(swing + noise))) == 1
    first, second = cheapest_row(stretch(swing + noise + 1200 / 31 * (seconds >= 0.5)))
    assert abs(first[1] - 50) <= 3 and abs(second[0] - 50) <= 3


def test_swing_drift_and_slide_are_measured() -> None:
    seconds = HOP * np.arange(150)
    swing = 40 * np.cos(2 * np.pi * 6 * seconds + 1)
    level, width, rate = level_and_swing(25 + swing, HOP)
    assert (level, width, rate) == pytest.approx((25, 80, 6), abs=0.5)
    assert drift_and_swing(swing + np.linspace(0, 30, 150), HOP) == pytest.approx((0, 30), abs=2)
    assert slides(np.linspace(0, 100, 15)) and not slides(swing[:17])
    assert level_and_swing(np.full(20, 7.0), HOP) == (7.0, 0.0, 0.0)


def test_scores_say_what_went_wrong() -> None:
    """The measure itself: right, merged, split, missed, off and too many, on notes made up"""
    notes = [Sung(i, i + 1.0, 440.0) for i in range(5)]
    found = [(0.0, 1.0, 440.0), (1.0, 3.0, 440.0), (3.0, 3.4, 440.0), (3.5, 4.0, 440.0), (4.0, 5.0, 450.0), (6, 7, 440)]
    assert score(found, notes)[:7] == (5, 1, 2, 1, 0, 1, 2)
