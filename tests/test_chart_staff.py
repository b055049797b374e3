"""The staff of a chart on the screen: what stands on it in which order, and what of it sounds when."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tunelib.export.chart_staff import chart_places, chart_staff
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import retune
from tunelib.pitch.tunings import THIRTY_ONE

REPEATED = """\
metre: 4/4
key: F major

        |: Fmaj7     | Gm7 C7      | 1. Am7 D7 :| 2. Fmaj7   |
melody: |: A4:2 C5:2 | Bb4:2 G4:2  | C5:2 F#4:2 | F4:4       |
        | Bbmaj7 | N.C. | Fmaj7 |
melody: | D5:4   | -:4  | A4:4  |
"""


def symbols_in(svg: str) -> list[str]:
    """The words of the chord symbols, in the order of the drawing."""
    harms = re.findall(r'class="harm".*?</g>', svg, re.DOTALL)
    return ["".join(re.findall(r">([^<>]+)<", harm)).strip() for harm in harms]


def test_symbols_are_drawn_in_the_order_of_their_signs_and_repeats_once() -> None:
    tune = retune(parse_lead_sheet(REPEATED), THIRTY_ONE)
    svg, places = chart_staff(tune), chart_places(tune)
    chords = dict(zip((chord.written.sign for chord in tune.chords), tune.chords, strict=True))
    wanted = ["N.C." if sign is None else chords[sign].chord.symbol.replace("b", "♭") for sign in places.symbols]
    assert [re.sub(r"\s", "", symbol) for symbol in symbols_in(svg)] == wanted
    assert places.symbols == (0, 1, 2, 3, 4, 5, 6, None, 8)
    assert svg.count('class="measure"') == len(tune.sheet.written_bars) == 7


def test_what_sounds_goes_round_with_the_repeat_and_into_the_second_ending() -> None:
    """Beats and bars are counted by hand."""
    places = chart_places(retune(parse_lead_sheet(REPEATED), THIRTY_ONE))
    assert places.moments == tuple(
        (Fraction(beat), sign, bar)
        for beat, sign, bar in (
            (0, 0, 0), (4, 1, 1), (6, 2, 1), (8, 3, 2), (10, 4, 2),
            (12, 0, 0), (16, 1, 1), (18, 2, 1), (20, 5, 3),
            (24, 6, 4), (28, None, 5), (32, 8, 6),
        )
    )  # fmt: skip


def test_bars_in_which_nothing_begins_follow_one_another() -> None:
    """A chord of three bars, without a melody, after a pickup that is silent until its chord."""
    places = chart_places(retune(parse_lead_sheet("metre: 3/4\n\n| Dm7 | . | . | G7 |"), THIRTY_ONE))
    assert [bar for _, _, bar in places.moments] == [0, 1, 2, 3]
    assert [sign for _, sign, _ in places.moments] == [0, 0, 0, 1]


def test_without_a_melody_there_is_a_slash_for_every_beat() -> None:
    svg = chart_staff(retune(parse_lead_sheet("metre: 3/4\n\n| Dm7 | G7 |"), THIRTY_ONE))
    heads = re.findall(r'class="notehead".*?xlink:href="#(\w{4})', svg, re.DOTALL)
    assert heads == ["E101"] * 6, "SMuFL's noteheadSlashHorizontalEnds"


@pytest.mark.parametrize("bars", [2, 4])
def test_a_line_has_as_many_bars_as_are_asked_for(bars: int) -> None:
    svg = chart_staff(retune(parse_lead_sheet("| C " * 8 + "|"), THIRTY_ONE), bars)
    assert svg.count('class="system"') == 8 // bars
    with pytest.raises(ValueError, match="at least one bar"):
        chart_staff(retune(parse_lead_sheet("| C |"), THIRTY_ONE), 0)
