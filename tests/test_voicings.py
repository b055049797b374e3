"""Voicings against textbook examples and music21, and their roughness against what arrangers know of low intervals."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21.chord import Chord as Music21Chord
from music21.pitch import Pitch
from scipy.stats import spearmanr

from tunelib.exhibits import find_exhibit
from tunelib.harmony.chords import Chord
from tunelib.harmony.pair_roughness import PLAIN_AMPLITUDES, PLAIN_PARTIALS, chord_roughness
from tunelib.harmony.voicings import HAND, VOICING_KINDS, Voicing, playable, ranked, telling_tones, voicings
from tunelib.hearing.roughness import roughness
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.spelled import SpelledInterval
from tunelib.pitch.tunings import THIRTY_ONE, equal, just

TWELVE = equal(12)
SYMBOLS = (
    "C F#m Ebdim Baug A5 Dsus4 Gsus2 Csub Bbneu Esup F6 Abm6 C69 Cmaj7 F#m7 Db7 Bm7b5 Cdim7 Charm7 Ebsubharm7 Cneumid7 "
    "G9 Cmaj9 Dm11 Charm9h#11 A13 Bb7b9 G7alt C/E Dm7/G E7#9"
).split()
A1, C8 = Note.parse("A1"), Note.parse("C8")


def names(voicing: Voicing) -> str:
    return " ".join(note.name for note in voicing.notes)


def shapes(symbol: str, kind: str) -> set[str]:
    return {names(voicing) for voicing in voicings(Chord.parse(symbol), THIRTY_ONE, kind, A1, C8, hand=None)}


@pytest.mark.parametrize(
    ("symbol", "kind", "known"),
    [
        # Drop 2 of the four close positions of a major seventh: 5 1 3 7, 7 3 5 1, 1 5 7 3 and 3 7 1 5.
        ("Cmaj7", "drop 2", {"G C E B", "B E G C", "C G B E", "E B C G"}),
        # Drop 3: 3 1 5 7, 5 3 7 1, 7 5 1 3 and 1 7 3 5.
        ("Cmaj7", "drop 3", {"E C G B", "G E B C", "B G C E", "C B E G"}),
        # Open triads: root, fifth, tenth, and its inversions.
        ("C", "open", {"C G E", "E C G", "G E C"}),
        ("Cmaj7", "open", {"C G E B", "E B G C", "G C B E", "B E C G"}),
        ("Dm7", "close", {"D F A C", "F A C D", "A C D F", "C D F A"}),
        # Shells of a two-five-one: root, third and seventh, and the third as a tenth.
        ("G7", "shell", {"G B F", "B F G", "F G B", "G F B"}),
        ("C6", "shell", {"C E A", "E A C", "A C E", "C A E"}),
        ("F", "shell", {"F A C", "A C F", "C F A", "F C A"}),
        # Rootless left-hand voicings of a two-five-one in C: the first and the third inversion are the usual two.
        ("Dm9", "rootless", {"F A C E", "A C E F", "C E F A", "E F A C"}),
        ("G13", "rootless", {"B E F A", "E F A B", "F A B E", "A B E F"}),
        ("Cmaj9", "rootless", {"E G B D", "G B D E", "B D E G", "D E G B"}),
        ("C7", "rootless", {"E G B♭", "G B♭ E", "B♭ E G"}),
        ("C", "rootless", set()),
        ("C", "drop 3", set()),
    ],
)
def test_voicings_are_those_of_the_textbooks(symbol: str, kind: str, known: set[str]) -> None:
    """Common practice of jazz harmony: by letters, from the lowest up; octaves are tested below."""
    assert shapes(symbol, kind) == known


@pytest.mark.parametrize("symbol", [symbol for symbol in SYMBOLS if not set(symbol) & {"u", "h"} or "sus" in symbol])
def test_close_voicings_are_what_music21_calls_closed(symbol: str) -> None:
    """In twelve steps: music21's closed position of the same notes over the same bass, and its number of the inversion
    where it has one."""
    chord = Chord.parse(symbol)
    found = voicings(chord, TWELVE, "close", hand=None)
    assert len({voicing.notes[0].name for voicing in found}) == len({step % 12 for step in chord.steps(TWELVE)})
    for voicing in found:
        keys = [60 + step for step in voicing.steps(TWELVE)]
        theirs = Music21Chord([Pitch(midi=key) for key in keys])
        assert [pitch.midi for pitch in theirs.closedPosition().pitches] == keys
        if symbol in ("C", "F#m", "Ebdim", "Cmaj7", "F#m7", "Db7", "Bm7b5"):
            spelled = Music21Chord([note.typed.replace("b", "-") for note in voicing.notes])
            assert spelled.inversion() == voicing.inversion


@pytest.mark.parametrize("tuning", [TWELVE, equal(19), THIRTY_ONE], ids=["12", "19", "31"])
@pytest.mark.parametrize("symbol", SYMBOLS)
def test_voicings_hold_the_chosen_notes_rise_and_fit(symbol: str, tuning: object) -> None:
    """Each note of a chord once where all are taken, and never one that is not in it; all within reach."""
    chord = Chord.parse(symbol)
    low, high = Note.parse("F2"), Note.parse("D5")
    size = len(tuning)  # type: ignore[arg-type]
    try:
        classes = {(chord.root.step(tuning) + step) % size for step in chord.steps(tuning)}  # type: ignore[arg-type]
    except ValueError:
        with pytest.raises(ValueError, match="falls between the steps"):
            voicings(chord, tuning)  # type: ignore[arg-type]
        return
    found = voicings(chord, tuning, lowest=low, highest=high)  # type: ignore[arg-type]
    assert len({voicing.notes for voicing in found}) == len(found)
    for voicing in found:
        steps = voicing.steps(tuning)  # type: ignore[arg-type]
        held = [step % size for step in steps]
        assert all(after > before for before, after in pairwise(steps)), voicing
        assert low.step(tuning) <= steps[0] and steps[-1] <= high.step(tuning)  # type: ignore[arg-type]
        assert max(Counter(held).values()) == 1 and set(held) <= classes
        if voicing.kind in ("close", "open", "spread"):
            assert set(held) == classes
        tenth = HAND.step(tuning)  # type: ignore[arg-type]
        assert any(
            all(not hand or (hand[-1] - hand[0] <= tenth and len(hand) <= 5) for hand in (steps[:cut], steps[cut:]))
            for cut in range(len(steps) + 1)
        )


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_dropped_voices_lie_an_octave_lower_than_in_a_close_voicing(symbol: str) -> None:
    """Raised by an octave, the lowest note of a drop 2 is the second from the top of a close voicing, of a drop 3 the
    third (common practice)."""
    for kind, place in (("drop 2", -2), ("drop 3", -3)):
        for voicing in voicings(Chord.parse(symbol), THIRTY_ONE, kind, A1, C8, hand=None):
            lowest, *rest = voicing.steps(THIRTY_ONE)
            close = sorted([lowest + 31, *rest])
            assert close[-1] - close[0] < 31
            assert close[place] == lowest + 31


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_spread_voicings_are_wide_below_and_closer_above(symbol: str) -> None:
    """Like the overtones: no step from voice to voice is wider than the one below it. Every way is found that a plain
    search through all octaves finds."""
    chord = Chord.parse(symbol)
    found = {
        voicing.steps(THIRTY_ONE) for voicing in voicings(chord, THIRTY_ONE, "spread", Note.parse("C3"), C8, hand=None)
    }
    for steps in found:
        gaps = np.diff(steps)
        assert gaps[0] >= 15.5 and np.all(np.diff(gaps) <= 0)
    degrees = sorted({note.step(THIRTY_ONE) % 31 for note in chord.notes})
    if 3 <= len(degrees) <= 4:
        octaves = np.stack(np.meshgrid(*[np.arange(6)] * len(degrees), indexing="ij"), axis=-1).reshape(
            -1, len(degrees)
        )
        every = np.sort(np.array(degrees) + 31 * octaves - 31, axis=1)
        gaps = np.diff(every, axis=1)
        spread = (2 * gaps[:, 0] >= 31) & (gaps[:, 0] <= 46) & np.all(np.diff(gaps, axis=1) <= 0, axis=1)
        assert found == {tuple(row) for row in every[spread & (every[:, -1] <= C8.step(THIRTY_ONE))].tolist()}


def test_shells_and_rootless_voicings_of_an_altered_dominant_take_its_colours() -> None:
    """Root, third and seventh; third, flat thirteenth, seventh and either ninth (common practice)."""
    assert "G B F" in shapes("G7alt", "shell")
    assert {"F A♯ B E♭", "F A♭ B E♭"} <= shapes("G7alt", "rootless")


def test_a_bass_lies_below_and_is_the_slash_or_the_root() -> None:
    for symbol, bass in (("Cmaj7", "C"), ("Cmaj7/E", "E"), ("Dm7/G", "G")):
        found = voicings(Chord.parse(symbol), THIRTY_ONE, bass=True)
        assert found
        for voicing in found:
            steps = voicing.steps(THIRTY_ONE)
            assert voicing.with_bass and voicing.notes[0].name == bass and steps[0] < steps[1]
            assert Note.parse("E1").step(THIRTY_ONE) <= steps[0] < Note.parse("E2").step(THIRTY_ONE)
            assert voicing.upper == voicing.notes[1:]
    assert not any(note.name == "G" for voicing in voicings(Chord.parse("Dm7/G"), THIRTY_ONE) for note in voicing.notes)


def test_inversions_are_counted_from_the_root() -> None:
    """Of a seventh chord there are four, in every kind that takes all its notes, and the bass has no part in it."""
    for kind in ("close", "open", "drop 2", "drop 3", "spread"):
        for bass in (False, True):
            assert {voicing.inversion for voicing in voicings(Chord.parse("Gharm7"), THIRTY_ONE, kind, bass=bass)} == {
                0,
                1,
                2,
                3,
            }


def test_a_hand_that_reaches_farther_finds_more() -> None:
    chord = Chord.parse("C13")
    counts = [
        len(voicings(chord, THIRTY_ONE, hand=SpelledInterval.parse(reach) if reach else None))
        for reach in ("P5", "P8", "M10", "")
    ]
    assert counts == sorted(counts) and len(set(counts)) == 4
    fifth = voicings(chord, THIRTY_ONE, "close", hand=SpelledInterval.parse("P5"))
    assert {len(voicing.notes) for voicing in fifth} == {6}


def test_players_share_a_voicing_within_their_ranges() -> None:
    players = ["trombone", "tenor saxophone", "alto saxophone", "trumpet"]
    every = voicings(Chord.parse("Ebm7"), THIRTY_ONE, hand=None)
    found = playable(every, players, THIRTY_ONE)
    assert 0 < len(found) < sum(len(voicing.notes) == 4 for voicing in every)
    for voicing in found:
        for player, note in zip(map(instrument, players), voicing.notes, strict=True):
            assert player.reaches(note.hz(THIRTY_ONE))


def test_telling_tones_come_in_the_order_of_what_they_say() -> None:
    """Third and seventh first, the root last, which a bass has (common practice)."""
    said = [interval.name for interval in telling_tones(Chord.parse("C9"), 5)]
    assert set(said[:2]) == {"major third", "minor seventh"} and said[-1] == "perfect unison"
    assert telling_tones(Chord.parse("C13#11"), 3)[-1].name == "augmented eleventh"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"kinds": "drop2"}, "did you mean drop 2"),
        ({"kinds": ["close", "wide"]}, "no kind of voicing is called 'wide'"),
        ({"lowest": Note.parse("C5"), "highest": Note.parse("C3")}, "C5 is not below C3"),
        ({"lowest": "C3"}, "the lowest note is a note"),
        ({"tuning": just(["1/1", "5/4", "3/2"])}, "have no letters"),
    ],
)
def test_wrong_wishes_are_refused(arguments: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        voicings(Chord.parse("Cmaj7"), **{"tuning": THIRTY_ONE, **arguments})  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least one note"):
        Voicing(Chord.parse("C"), "close", (Note.parse("C2"),), with_bass=True)


def test_nothing_that_fits_is_no_error() -> None:
    assert voicings(Chord.parse("Cmaj7"), THIRTY_ONE, lowest=Note.parse("C4"), highest=Note.parse("E4")) == ()
    assert ranked((), THIRTY_ONE) == []


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.lists(st.integers(-60, 60), min_size=1, max_size=7), min_size=1, max_size=4),
    st.sampled_from([equal(12), equal(31), equal(53)]),
    st.sampled_from([((1.0, 2.0, 3.0), (1.0, 0.5, 0.25)), ((1.0, 2.1, 3.3, 4.6), (1.0, 1.0, 0.3, 0.0))]),
    st.sampled_from([415.0, 440.0]),
)
def test_roughness_by_pairs_is_that_of_all_partials_together(
    chords: list[list[int]], tuning: object, spectrum: tuple[tuple[float, ...], tuple[float, ...]], reference: float
) -> None:
    """Sethares 1993 adds up over pairs of partials, so pairs of notes add up too: exactly, in any order of asking."""
    partials, amplitudes = spectrum
    for steps in chords:
        hertz = np.asarray(tuning.hz(np.array(steps), reference))  # type: ignore[attr-defined]
        together = roughness(np.multiply.outer(hertz, partials).ravel(), np.tile(amplitudes, len(steps)))
        found = chord_roughness(steps, tuning, partials, amplitudes, reference)  # type: ignore[arg-type]
        assert float(found) == pytest.approx(together, rel=1e-9, abs=1e-12)


def test_chords_beyond_all_hearing_are_refused() -> None:
    for steps, message in (([0, 200], "C−1 to C10"), ([[-156]], "C−1 to C10"), ([0.5], "whole numbers"), (7, "rows")):
        with pytest.raises(ValueError, match=message):
            chord_roughness(steps, THIRTY_ONE)


def test_ranking_is_by_roughness_and_keeps_everything() -> None:
    found = voicings(Chord.parse("Charm9"), THIRTY_ONE)
    order = ranked(found, THIRTY_ONE)
    rough = [much for _, much in order]
    assert rough == sorted(rough) and len(rough) == len(found) > 100
    assert {voicing.notes for voicing, _ in order} == {voicing.notes for voicing in found}
    hertz = np.array([note.hz(THIRTY_ONE) for note in order[7][0].notes])
    together = roughness(np.multiply.outer(hertz, PLAIN_PARTIALS).ravel(), np.tile(PLAIN_AMPLITUDES, len(hertz)))
    assert rough[7] == pytest.approx(together)
    assert ranked(found, THIRTY_ONE, [1.0], [1.0])[0][1] < rough[0]  # sines rasp less


@pytest.mark.parametrize("symbol", ["Cmaj7", "Cm7", "C7", "Charm7", "C6", "Csubharm7"])
def test_low_close_chords_are_rough_and_high_ones_are_not(symbol: str) -> None:
    """R. Plomp and W. J. M. Levelt 1965, W. A. Sethares 1993: a pair is roughest near a quarter of a critical band, and
    low down a band is wide in cents. So a close chord on C2 is several times as rough as on C5, opening it helps there
    by far more than it does on C5, and a close chord high up is smoother than the smoothest open one low down."""
    close, opened = (
        {
            octave: min(
                much
                for _, much in ranked(
                    (v for v in every if v.inversion == 0 and v.notes[0].octave == octave), THIRTY_ONE
                )
            )
            for octave in (2, 5)
        }
        for every in (
            voicings(Chord.parse(symbol), THIRTY_ONE, kind, highest=Note.parse("C8"), hand=None)
            for kind in ("close", "open")
        )
    )
    assert close[2] > 4 * close[5]
    assert close[2] > 1.5 * opened[2]
    assert close[2] - opened[2] > 4 * (close[5] - opened[5])
    assert close[5] < opened[2]


# The lowest places at which arrangers put an interval, by its lower note, as Sweetwater's inSync ("Low interval limit")
# prints them, its octaves moved so that C4 is middle C. Charts of the kind stand in books of jazz arranging, such as
# D. Lowell and K. Pullig, *Arranging for Large Jazz Ensemble*. Its tritone, printed lower than its fifth, is left out.
LOW_INTERVAL_LIMITS = {
    "m2": "E3", "M2": "Eb3", "m3": "C3", "M3": "B2", "P4": "A2", "P5": "C#2", "m6": "F2", "M6": "F2", "m7": "F2",
    "M7": "F2",
}  # fmt: skip


def rasping(interval: str, low: Note) -> float:
    """What two notes have together beyond what each has alone."""
    steps = [low.step(THIRTY_ONE), low.transpose(interval).step(THIRTY_ONE)]
    return float(
        chord_roughness(steps, THIRTY_ONE)
        - chord_roughness(steps[:1], THIRTY_ONE)
        - chord_roughness(steps[1:], THIRTY_ONE)
    )


def test_intervals_are_about_equally_rough_at_their_low_limits() -> None:
    """What arrangers found by ear, roughness foretells: at their limits intervals from second to seventh differ by less
    than half of what they do on one note, and the rougher an interval is there, the higher it is kept."""
    at_limit = np.array([rasping(interval, Note.parse(low)) for interval, low in LOW_INTERVAL_LIMITS.items()])
    on_c3 = np.array([rasping(interval, Note.parse("C3")) for interval in LOW_INTERVAL_LIMITS])
    assert np.std(at_limit) / np.mean(at_limit) < 0.5 * np.std(on_c3) / np.mean(on_c3)
    limits = [Note.parse(low).step(THIRTY_ONE) for low in LOW_INTERVAL_LIMITS.values()]
    assert spearmanr(limits, on_c3).statistic > 0.8


def test_the_exhibit_shows_the_chord_that_its_knobs_say() -> None:
    """Turned once, the lowest note of a close chord is at the top; an octave up the same letters come back."""
    exhibit = find_exhibit("spread_chord")
    heard = {}
    for turned in (0, 1):
        score = exhibit.score(**exhibit.settle({"voicing": "close", "turned": turned}))
        heard[turned] = [note.hertz for note in score.notes]
    assert heard[1] == pytest.approx([*heard[0][1:], 2 * heard[0][0]])
    assert heard[0][0] == pytest.approx(Note.parse("C3").hz(THIRTY_ONE))
    ratios = [high / low for low, high in combinations(heard[0], 2)]
    assert ratios == pytest.approx([2 ** (n / 31) for n in (10, 18, 28, 8, 18, 10)])


def test_every_kind_is_offered() -> None:
    """One name each, and something of each for a chord that has a ninth."""
    assert len(set(VOICING_KINDS)) == len(VOICING_KINDS) == 7
    assert {voicing.kind for voicing in voicings(Chord.parse("C9"), THIRTY_ONE)} == set(VOICING_KINDS)


def test_a_voicing_says_where_it_has_fewer_notes_than_close_and_how_often_it_is_turned_if_it_is() -> None:
    """By hand: a shell of Cmaj7 has its root, third and seventh, 3 of 4 notes."""
    spread_chord = find_exhibit("spread_chord")

    def said(**values: Any) -> str:
        return spread_chord.sentence(**spread_chord.settle({"chord": "Cmaj7", **values}))

    assert "from there up, with 3 notes where that has 4, and" in said(voicing="shell")
    assert "notes" not in said(voicing="spread")
    assert "turned" not in said(turned=0) and ", turned 1 time, has" in said(turned=1)
