"""Where lines begin: as copyists have it (E. Gould, *Behind Bars*, 2011; C. Roemer, *The Art of Music Copying*)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.export.page_lines import page_lines
from tunelib.harmony.form import FormBar
from tunelib.harmony.lead_sheet import parse_lead_sheet


def numbers(bars: str, widths: list[float] | None = None, room: float = 40.0) -> list[list[list[int]]]:
    """The printed numbers of the bars of each line, those of each section together."""
    form = parse_lead_sheet(bars).written_bars
    sections = page_lines(form, widths or [10.0] * len(form), room)
    return [[[form[bar].number for bar in line] for line in section] for section in sections]


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        ("| C | F | G | C | C | F | G | C |", [[[1, 2, 3, 4], [5, 6, 7, 8]]]),
        ("| C | F | G | C | F | G |", [[[1, 2, 3, 4], [5, 6]]]),
        ("| C | F | G | C | F |", [[[1, 2, 3, 4, 5]]]),
        ("C | F | G | C | F | G | C |", [[[0, 1, 2, 3, 4], [5, 6]]]),
        ("C |: F | G | C | F :| G | C |", [[[0, 1, 2, 3, 4]], [[5, 6]]]),
        ("| C | F || G | C | F | G | C | C |", [[[1, 2]], [[3, 4, 5, 6], [7, 8]]]),
        ("[A]\n| C | F | G | C | F | G |\n[B]\n| C | F |", [[[1, 2, 3, 4], [5, 6]], [[7, 8]]]),
        ("|: C | F | 1. G | C :| 2. G | C | F | F | G | G |", [[[1, 2, 3, 4]], [[5, 6]], [[7, 8, 9, 10]]]),
        ("|: C | F | G | 1. C :| 2. C | F | F | G | G |", [[[1, 2, 3, 4, 5]], [[6, 7, 8, 9]]]),
        ("|: C | F | 1. G | C :| 2. G | C | F |", [[[1, 2, 3, 4]], [[5, 6, 7]]]),
        ("| C | F To Coda | G | C D.C. al Coda | Coda F | C |", [[[1, 2, 3, 4]], [[5, 6]]]),
    ],
)
def test_four_bars_to_a_line_and_phrases_at_the_left(bars: str, expected: list[list[list[int]]]) -> None:
    assert numbers(bars, room=60.0) == expected


def test_a_crowded_line_is_halved() -> None:
    """Its bars only: the next line has four again"""
    widths = [10.0, 10.0, 25.0, 10.0, *[10.0] * 4]
    assert numbers("| C | F | G | C | C | F | G | C |", widths) == [[[1, 2], [3, 4], [5, 6, 7, 8]]]
    assert numbers("C | C | F | G | C |", [5.0, *[20.0] * 4]) == [[[0, 1, 2], [3, 4]]]


FORMS = st.lists(
    st.builds(
        FormBar,
        number=st.integers(1, 99),
        onset=st.just(0),
        beats=st.just(4),
        opens=st.booleans(),
        times=st.sampled_from([1, 1, 1, 2]),
        section=st.sampled_from(["", "", "", "A"]),
        double=st.booleans(),
    ),
    min_size=1,
    max_size=40,
)


@given(FORMS, st.floats(1.0, 100.0))
def test_every_bar_is_on_one_line(form: list[FormBar], room: float) -> None:
    """In order, five bars at most; every section, repeat and new phrase at the left"""
    sections = page_lines(form, [10.0] * len(form), room)
    lines = [line for section in sections for line in section]
    assert [bar for line in lines for bar in line] == list(range(len(form)))
    assert all(1 <= len(line) <= 5 for line in lines)
    for line in lines:
        assert not any(form[bar].opens or form[bar].section or form[bar - 1].double for bar in line[1:])
