"""How a tune is played: every feel in every metre and at every tempo; swing, comping, count-in, phrasing, loudness."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from progressions import sheet

from tunelib.arrange import BASS, CHORDS, COMP, COUNT, FEELS, MELODY, Feel, count_in_beats, suitable_feel, tune_score
from tunelib.arrange.comping import comping
from tunelib.arrange.feels import find_feel, ratio_at
from tunelib.arrange.laying import laid
from tunelib.harmony import LeadSheet, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import equal
from tunelib.score import Score, ScoreNote
from tunelib.sound import REFERENCE_LOUDNESS, SAMPLE_RATE, loudness, reference_gain, render, tune_timbres

EACH = pytest.mark.parametrize("feel", FEELS)
TEMPOS = (40, 96, 126, 150, 199, 200, 240, 300, 500)
MATERIAL = Path(__file__).parent.parent / "lessons" / "material"
TUNE = """tempo: {tempo}
key: Bb
        | Cm7                 | F7                        | Bbmaj7               | G7                               |
melody: | C5:1/2 Eb5:1/2 G5:3 | F5:1/3 D5:1/3 C5:1/3 A4:3 | D5:3/4 F5:1/4 Bb5:3  | B4:1/4 C5:1/4 D5:1/4 C5:1/4 D5:3 |
        | Cm7                 | F7                        | Bb6                  | Bb6                              |
melody: | C5:1/2 Eb5:1/2 G5:3 | F5 Eb5 C5 A4              | Bb4:4                | -:4                              |
"""


def tuned(text: str, division: int = 31) -> RetunedTune:
    return retune(parse_lead_sheet(text), equal(division), Taste(0.3))


def voice(score: Score, name: str) -> list[ScoreNote]:
    return [note for note in score.notes if note.voice == name]


def onsets(score: Score, name: str) -> list[Fraction | float]:
    return sorted({note.onset for note in voice(score, name)})


def velocity(note: ScoreNote) -> int:
    """Amplitude goes as velocity squared (Downloadable Sounds Level 1)."""
    return round(127 * math.sqrt(note.level))


def plain_bars(beats: int) -> LeadSheet:
    return parse_lead_sheet(f"metre: {beats}/4\n" + "| C " * 8 + "|")


@EACH
@pytest.mark.parametrize("beats", range(1, 13))
def test_every_pattern_fits_its_bars(feel: str, beats: int) -> None:
    """In bars of any length and at any tempo: in order, and none lasts into the next of its bar"""
    for tempo in TEMPOS:
        for bars in (FEELS[feel].comping_at(tempo), FEELS[feel].bass_at(tempo)):
            hits = list(laid(bars, FEELS[feel].beats, plain_bars(beats), Fraction(0), Fraction(8 * beats)))
            assert all(0 <= when < 8 * beats and hit.length > 0 for when, hit in hits)
            for (when, hit), (after, _) in pairwise(hits):
                assert when < after
                assert when + hit.length <= after or after % beats == 0 or beats % FEELS[feel].beats
            assert hits or not any(bars)


@EACH
def test_comping_is_varied(feel: str) -> None:
    """No bar of it comes three times running, however often it goes round, and no two bars go on for ever"""
    for tempo in TEMPOS:
        bars = FEELS[feel].comping_at(tempo)
        if any(bars) and feel != "bossa":  # whose two bars are what makes it one
            twice = (*bars, *bars)
            assert all(len(set(twice[place : place + 3])) > 1 for place in range(len(bars)))
            assert len(set(bars)) > 2


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        ({"comping": {0: "0/.5/1 .4/.5/1"}}, "the hit at beat 0 .* lasts into the one at 0.4"),
        ({"comping": {0: "3.5/.6/1 | 0/1/1"}}, "lasts into the one at 4"),
        ({"comping": {0: "4/.5/1"}}, "does not fit a bar of 4 beats"),
        ({"comping": {0: "1/2"}}, "is not a hit: write onset/length/accent, such as"),
        ({"bass": {0: "0/1/1"}}, "is not a hit: write onset/length/accent, and root, fifth or walk, such as"),
        ({"bass": {0: "0/1/1/seventh"}}, "'0/1/1/seventh' is not a hit"),
        ({"bass": {100: "0/1/1/root"}}, "a table that depends on the tempo begins with tempo 0"),
        ({"count_in": {0: "1 2 3"}}, "a bar of the count-in '1 2 3' has not 4 beats"),
    ],
)
def test_a_pattern_that_makes_no_sense_is_refused(pattern: dict[str, Any], words: str) -> None:
    plain: dict[str, Any] = {"comping": {0: "0/1/1"}, "bass": {0: "0/1/1/root"}, "count_in": {0: "1 2 3 4"}}
    with pytest.raises(ValueError, match=words):
        Feel("new", 4, **{**plain, **pattern})


def test_a_feel_is_found_by_its_name_and_suits_metre_and_tempo() -> None:
    assert find_feel("Long-Chords") is FEELS["long chords"]
    with pytest.raises(ValueError, match="no feel is called 'swig'; did you mean swing"):
        find_feel("swig")
    suits = {
        (3, 90): "waltz",
        (6, 200): "waltz",
        (4, 95.9): "ballad",
        (4, 96): "swing",
        (5, 170): "swing",
        (2, 60): "ballad",
    }
    for (beats, tempo), name in suits.items():
        assert suitable_feel(beats, tempo).name == name
        score = tune_score(retune(replace(plain_bars(beats), tempo=tempo), equal(31)))
        assert score == tune_score(retune(replace(plain_bars(beats), tempo=tempo), equal(31)), feel=name)


@pytest.mark.parametrize("tempo", [120, 160, 199, 220, 300])
def test_off_beats_swing_by_the_published_ratios(tempo: int) -> None:
    """Chords 2 to 1, melody 1.5 to 1, less from 200 on (Friberg and Sundström 2002); triplets, sixteenths as written"""
    score = tune_score(tuned(TUNE.format(tempo=tempo)), count_in=False)
    ratio = float(np.interp(tempo, [200, 240, 300], [2.0, 1.5, 1.0]))
    of_melody = float(np.interp(tempo, [240, 300], [1.5, 1.0]))
    band, own = ratio / (1 + ratio), of_melody / (1 + of_melody)
    late = band - own
    struck = [float(onset % 1) for onset in onsets(score, COMP)]
    assert {round(place, 2) for place in struck} == {0.0, round(band, 2)}
    sung = [float(onset) for onset in onsets(score, MELODY)]
    even = [4, 4 + 1 / 3, 4 + 2 / 3, 5, 8, 8.75, 9, 12, 12.25, 12.5, 12.75, 13]
    written = [0, own, 1, *even, 16, 16 + own, 17, 20, 21, 22, 23, 24]
    assert sung == pytest.approx([beat + late for beat in written], abs=1 / 900)
    assert band == pytest.approx(sung[1], abs=1 / 900), "the off-beats of melody and chords meet"


def test_a_melody_lays_back_as_soloists_were_heard_to() -> None:
    """About 30 ms on the beat at 150 beats a minute, less the faster it is (Nelias and others 2022)"""
    late = {}
    for tempo in (120, 150, 200, 240):
        score = tune_score(tuned(TUNE.format(tempo=tempo)), count_in=False)
        late[tempo] = 1000 * score.seconds(onsets(score, MELODY)[0])
    assert late[150] == pytest.approx(30, abs=5)
    assert sorted(late.values(), reverse=True) == list(late.values()) and late[240] < 1


@pytest.mark.parametrize("feel", ["straight", "ballad", "bossa", "long chords"])
def test_even_feels_are_even(feel: str) -> None:
    """Melody and chord changes where they are written, and hits on halves of beats"""
    tune = tuned(TUNE.format(tempo=140))
    score = tune_score(tune, feel=feel, count_in=False)
    assert onsets(score, MELODY) == [note.onset for note in tune.sheet.melody]
    assert all(onset * 2 % 1 == 0 for name in (COMP, BASS) if name in score.voices for onset in onsets(score, name))


@pytest.mark.parametrize("feel", FEELS)
@pytest.mark.parametrize(
    "name", ["blues", "two five to a bar", "five in the bar", "waltz", "pickup", "four in the bar"]
)
def test_what_is_struck_is_the_chord_or_the_one_that_it_anticipates(name: str, feel: str) -> None:
    """Every chord once at least, never two at a time; early by half a beat at most, and then on an off-beat"""
    tune = sheet(name)
    struck = comping(tune, FEELS[feel])
    if not struck:
        assert feel == "long chords"
        return
    assert {one.chord for one in struck} == set(range(len(tune.chords)))
    for one in struck:
        chord = tune.chords[one.chord]
        early = chord.onset - one.onset
        assert early <= 0 or (early <= Fraction(1, 2) and one.onset % 1)
        assert one.length > 0 and one.onset + one.length <= chord.end
    assert all(one.onset + one.length <= other.onset for one, other in pairwise(struck))
    assert [one.chord for one in struck] == sorted(one.chord for one in struck)
    last = tune.chords[-1]
    assert struck[-1].onset == last.onset and struck[-1].length == last.duration, "the last chord is held"


def test_an_anticipation_plays_the_new_chord() -> None:
    tune = tuned("tempo: 126\n| C6 | Am7 | Dm7 | G7 | C6 |")
    score = tune_score(tune, count_in=False)
    early = Fraction(11) + Fraction(2, 3)  # the fourth beat of the third bar, swung
    notes = sorted(note.hertz for note in voice(score, COMP) if note.onset == early)
    assert notes == pytest.approx(sorted(float(note.hz(tune.tuning)) for note in tune.chords[3].notes[1:]))


@EACH
def test_a_repeat_is_played_as_before(feel: str) -> None:
    """Note for note and as loud, up to where it leads elsewhere; melody, chords and bass"""
    head = "        |: Cm7              | F7 . . Bdim7         | 1. Bbmaj7     | G7alt :| 2. Ebmaj7 | Ab7  |\n"
    sung = "melody: | C5 Eb5:1/2 G5:5/2 | F5:1/2 D5:1/2 C5:3   | D5:1/2 F5:7/2 | -:4   :| D5:4      | C5:4 |\n"
    tune = tuned(f"tempo: 126\nkey: Bb\n{head}{sung}        | Bb6  |\nmelody: | D5:4 |")
    score = tune_score(tune, feel=feel, count_in=False)

    def between(start: int, end: int) -> list[tuple[Any, ...]]:
        return [
            (note.onset - start, note.duration, note.hertz, note.voice, note.level)
            for note in score.notes
            if start <= note.onset < end
        ]

    assert between(0, 7) == between(16, 23) and len(between(0, 7)) > 10


@EACH
@pytest.mark.parametrize("name", ["blues", "waltz", "neutral", "pickup", "a sharp nine sung as a minor tenth"])
def test_thirty_one_and_twelve_are_played_together(name: str, feel: str) -> None:
    """The same voices, times, lengths and levels, note by note: a player may change over at any moment"""
    tune = retune(sheet(name), equal(31), Taste(0.6))
    here, there = (
        [(note.voice, note.onset, note.duration, note.level) for note in tune_score(tune, division, feel).notes]
        for division in (31, 12)
    )
    assert here == there


@pytest.mark.parametrize("division", [19, 31, 41])
@pytest.mark.parametrize("key", ["C", "Db", "F#", "A minor", "Eb minor"])
def test_twelve_is_heard_around_the_same_tonic(key: str, division: int) -> None:
    """Its tonic is the tune's own, whose A is 440 Hz; or else the A is in common, as ISO 16 has it"""
    tonic, *_ = key.split()
    tune = tuned(f"key: {key}\ntempo: 100\n| {tonic} |\nmelody: | {tonic}4:3 A4:1 |", division)

    def sung(*arguments: Any) -> list[float]:
        return [note.hertz for note in voice(tune_score(tune, *arguments), MELODY)]

    own, twelve, with_a = sung(), sung(12), sung(12, None, "A")
    assert twelve[0] == pytest.approx(own[0]), "the tonic"
    assert own[1] == pytest.approx(440) == with_a[1]
    assert sung(None, None, "A") == own
    assert twelve[1] / twelve[0] == pytest.approx(with_a[1] / with_a[0])
    if key == "Db" and division == 31:
        assert 1200 * math.log2(own[0] / with_a[0]) == pytest.approx(25.8, abs=0.05)
    with pytest.raises(ValueError, match="have the tonic in common or A, not 'B'"):
        sung(12, None, "B")


COUNTED = {  # beats before beat 0 of the tune, and where the clicks are
    "tempo: 120\n| C | G | C |": (8, [0, 2, 4, 5, 6, 7]),
    "tempo: 220\n| C | G | C |": (8, [0, 2, 4, 6]),
    "tempo: 60\n| C | G | C |": (4, [0, 1, 2, 3]),
    "tempo: 140\nmetre: 3/4\n| C | G | C |": (6, [0, 3, 4, 5]),
    "tempo: 120\nmetre: 2/4\n| C | G | C |": (8, [0, 2, 4, 5, 6, 7]),
    "tempo: 120\nmetre: 5/4\n| C | G | C |": (10, [0, 2, 4, 5, 6, 7, 8, 9]),
    "tempo: 140\nmetre: 6/4\n| C | G | C |": (6, [0, 3, 4, 5]),
    "tempo: 120\n        | N.C.            | C     |\nmelody: | -:3 C5:1/2 D5:1/2 | E5:4 |": (4, [0, 2, 4, 5, 6]),
    "tempo: 60\n        | N.C.            | C     |\nmelody: | -:3 C5:1/2 D5:1/2 | E5:4 |": (0, [0, 1, 2]),
    "tempo: 60\n        | N.C.            | C     |\nmelody: | -:1 A4 B4 C5 | E5:4 |": (4, [0, 1, 2, 3, 4]),
    "tempo: 120\n        | N.C.  | C     |\nmelody: | -:7/2 D5:1/2 | E5:4 |": (4, [0, 2, 4, 5, 6, 7]),
}


@pytest.mark.parametrize("text", COUNTED)
def test_a_tune_is_counted_in_up_to_its_first_note(text: str) -> None:
    """Two bars, "1 · 2 · 1 2 3 4"; a ballad one, a waltz "1 · · 1 2 3"; a pickup within them (common practice)"""
    tune = tuned(text)
    before, beats = COUNTED[text]
    score = tune_score(tune)
    assert count_in_beats(tune.sheet) == before
    assert [note.onset for note in voice(score, COUNT)] == beats
    plain = tune_score(tune, count_in=False)
    assert COUNT not in plain.voices
    assert [replace(note, onset=note.onset - before) for note in score.notes if note.voice != COUNT] == list(
        plain.notes
    )
    high = max(note.hertz for note in voice(score, COUNT))
    assert [note.onset for note in voice(score, COUNT) if note.hertz == high] == [
        beat for beat in beats if beat % tune.sheet.beats_per_bar == 0
    ]


def test_a_melody_is_phrased() -> None:
    """Off-beats 6 louder, the top of a phrase 8; an eighth sounds for 95 %, before a rest for half (common practice)"""
    tune = tuned("tempo: 140\n| C6 | Am7 | C6 |\nmelody: | C5:1/2 E5:1/2 G5 E5:1/2 -:3/2 | A4:2 C5:1/2 -:3/2 | C5:4 |")
    sung = voice(tune_score(tune, feel="straight", count_in=False), MELODY)
    assert [velocity(note) for note in sung] == [88, 94, 96, 88, 88, 88, 88]
    assert [float(note.duration) for note in sung] == pytest.approx(
        [0.475, 0.475, 0.975, 0.25, 1.975, 0.25, 3.975], abs=2e-3
    )
    plain = voice(tune_score(tune, feel="long chords", count_in=False), MELODY)
    assert [(note.onset, note.duration) for note in plain] == [
        (note.onset, note.duration) for note in tune.sheet.melody
    ]
    assert len({note.level for note in plain}) == 1


@EACH
def test_velocities_are_those_of_the_trade(feel: str) -> None:
    """Melody 88 to 102, comping 53 to 75, a bass 80 to 92 (common practice); chords that hold below those struck"""
    score = tune_score(tuned(TUNE.format(tempo=140)), feel=feel)
    bounds = {MELODY: (88, 102), COMP: (53, 75), BASS: (80, 92), CHORDS: (30, 62)}
    for name, (low, high) in bounds.items():
        assert all(low <= velocity(note) <= high for note in voice(score, name))
    if feel == "long chords":
        assert COMP not in score.voices
    else:
        held, struck = (max(note.level for note in voice(score, name)) for name in (CHORDS, COMP))
        assert held < struck


def test_long_chords_hold_under_a_plain_melody() -> None:
    """For listening: nothing is struck, every chord holds for all of its time, the bass has its note in each bar"""
    tune = tuned("tempo: 100\n| Dm7 | G7 . . Db7 | Cmaj7 | C6 |")
    score = tune_score(tune, feel="long chords", count_in=False)
    assert score.voices == (CHORDS, BASS)
    for chord in tune.chords:
        inside = [note for note in voice(score, CHORDS) if note.onset == chord.written.onset]
        assert [note.duration for note in inside] == [chord.written.duration] * (len(chord.notes) - 1)
    assert onsets(score, BASS) == [0, 4, 7, 8, 12]


def middle(score: Score) -> float:
    """How loud a score is as it is rendered on its own, in LKFS."""
    return loudness(render(score, tune_timbres()))


@EACH
def test_the_band_is_in_balance(feel: str) -> None:
    """The melody above the chords by 1 to 8 LU (ITU-R BS.1770-4), the bass 3 to 10 below it, the count-in well heard"""
    score = tune_score(tuned(TUNE.format(tempo=140)), feel=feel)
    names = [name for name in (COMP, CHORDS) if name in score.voices]
    melody, chords, bass = middle(score.only(MELODY)), middle(score.only(*names)), middle(score.only(BASS))
    assert 1 < melody - chords < 8 and 3 < melody - bass < 10
    click, note = (np.abs(render(score.only(name), tune_timbres())).max() for name in (COUNT, MELODY))
    assert 1 / 2 < click / note < 2


@pytest.mark.parametrize("name", ["blues", "song_form"])
@EACH
def test_every_feel_is_as_loud_as_all_that_is_heard(name: str, feel: str) -> None:
    """The one loudness to half a LU, peaks at -12 dB of full scale at most, and no click at the edge of any note"""
    text = "\n".join((MATERIAL / f"{name}.txt").read_text().splitlines()[:12])
    tune = tuned(f"{text}\n" if name == "blues" else text)
    score = tune_score(tune, feel=feel)
    samples = render(score, tune_timbres(), gain=reference_gain(score, tune_timbres()))
    assert loudness(samples) == pytest.approx(REFERENCE_LOUDNESS, abs=0.5)
    assert np.abs(samples).max() <= 10 ** (-12 / 20)
    jumps = np.abs(np.diff(samples, 2))
    edges = [round(SAMPLE_RATE * score.seconds(note.onset)) for note in score.notes if note.voice != COUNT]
    at_edges = [jumps[max(0, edge - 2) : edge + 3].max() for edge in edges if edge + 3 < jumps.size]
    assert max(at_edges) < 3 * np.quantile(jumps, 0.9999)


@pytest.mark.parametrize(("tempo", "ratio"), [(40, 2.0), (200, 2.0), (220, 1.75), (240, 1.5), (270, 1.25), (400, 1.0)])
def test_ratios_are_on_straight_lines(tempo: int, ratio: float) -> None:
    assert ratio_at(FEELS["swing"].swing, tempo) == pytest.approx(ratio)
