"""How a tune is played: every feel at every metre and tempo, its swing, its comping, its count-in and its loudness."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from tunelib.arrange import FEELS
from tunelib.arrange.laying import laid
from tunelib.harmony import RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import equal
from tunelib.score import Score, ScoreNote

EACH = pytest.mark.parametrize("feel", FEELS)
TEMPOS = (40, 96, 126, 150, 199, 200, 240, 300, 500)
REPEATED = """tempo: 126
key: Bb
        |: Cm7                | F7 . . Bdim7        | 1. Bbmaj7       | G7alt :| 2. Bb6 | Eb9    |
melody: |  C5 Eb5:1/2 G5:5/2  | F5:1/2 D5:1/2 C5:3  | D5:1/2 F5:7/2   | -:4   :| D5:4   | -:4    |
        | Abm7         | Db7     | Bb6 |
melody: | Ab4:2 Cb5:2  | Bb4:4   | D5:4 |
"""


def tuned(text: str, division: int = 31) -> RetunedTune:
    return retune(parse_lead_sheet(text), equal(division), Taste(0.3))


def voice(score: Score, name: str) -> list[ScoreNote]:
    return [note for note in score.notes if note.voice == name]


def onsets(score: Score, name: str) -> list[Fraction | float]:
    return sorted({note.onset for note in voice(score, name)})


@EACH
@pytest.mark.parametrize("beats", range(1, 13))
def test_every_pattern_fits_its_bars(feel: str, beats: int) -> None:
    """In bars of any length and at any tempo hits come one after another, none and none within the one before"""
    sheet = parse_lead_sheet("| C | F | C | G | C | F | C | G |").__class__(
        "", 100, beats, parse_lead_sheet("| C |").key, parse_lead_sheet("| C |").chords
    )
    for tempo in TEMPOS:
        for bars in (FEELS[feel].comping_at(tempo), FEELS[feel].bass_at(tempo)):
            hits = list(laid(bars, FEELS[feel].beats, sheet, Fraction(0), Fraction(8 * beats)))
            assert all(when + hit.length <= after for (when, hit), (after, _) in pairwise(hits) if after % beats)
            assert all(0 <= when < 8 * beats and hit.length > 0 for when, hit in hits)
            if any(bars):
                assert hits and [when for when, _ in hits] == sorted({when for when, _ in hits})


@EACH
def test_no_bar_of_comping_comes_three_times_running(feel: str) -> None:
    for tempo in TEMPOS:
        bars = FEELS[feel].comping_at(tempo)
        assert all(len({bars[place - 2], bars[place - 1], bars[place]}) > 1 for place in range(len(bars)))
