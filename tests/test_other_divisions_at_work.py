"""What the notebook on other divisions is made of: the blind choice, a panel by division, its questions, its table."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from cents_by_hand import cents_of
from IPython.core.formatters import DisplayFormatter

from tunelib.harmony import PROGRESSIONS
from tunelib.live import keys
from tunelib.pitch import odd_limit_intervals
from tunelib.practice import (
    blind_choice,
    blind_tune,
    by_division,
    division_drill,
    division_table,
    ear_test,
    practice,
    practice_card,
    tune_panel,
)
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_sounds import EarSound

DIVISIONS = (12, 19, 22, 31, 41, 53)
CHORD = (4, 5, 6, 7)


def missed(division: int, ratio: Fraction) -> float:
    """Nearest step less ratio, in cents, without the library."""
    return round(division * math.log2(ratio)) * 1200 / division - cents_of(ratio)


def stored(shown: Any) -> dict[str, Any]:
    """What a notebook stores of something that it shows."""
    bundle, _ = DisplayFormatter().format(shown)
    return dict(bundle)


# --- The blind choice ------------------------------------------------------------------------------------------------


def held(sound: EarSound) -> list[float]:
    """The pitches of a chord, rising."""
    return sorted(sound.hertz)


def test_each_numbered_sound_is_the_chord_in_the_division_that_is_told_afterwards() -> None:
    panel = blind_choice("4:5:6:7", DIVISIONS, seed=3)
    panel.act("go")
    assert sorted(panel.order) == sorted(DIVISIONS)
    for division, sound in zip(panel.order, panel._sounds, strict=True):
        root, *upper = held(sound)
        steps = [round(division * math.log2(number / CHORD[0])) for number in CHORD[1:]]
        assert [division * math.log2(hertz / root) for hertz in upper] == pytest.approx(steps)
    panel.act("answer", 4)
    assert f"sound 5: {panel.order[4]} steps" in panel.drill.shown["words"]
    assert panel.chosen == {panel.order[4]: 1}


def test_nothing_tells_which_is_which_before_one_is_chosen() -> None:
    panel = blind_choice("4:5:6", DIVISIONS, seed=3)
    assert panel.drill.shown["sounds"] == []
    panel.act("go")
    shown = {name: part for name, part in panel.drill.shown.items() if name != "sounds"}
    assert not any(f"{division}" in str(shown["answers"]) for division in (12, 19, 22, 31, 41, 53))
    assert [sound["name"] for sound in panel.drill.shown["sounds"]] == [f"Sound {n}" for n in range(1, 7)]
    assert shown["compared"] == [] and shown["more"] == [] and "steps" not in shown["words"]
    panel.act("answer", 0)
    assert [sound["name"] for sound in panel.drill.shown["compared"]] == [f"{n} steps" for n in DIVISIONS]


def test_the_order_and_the_pitch_change_from_round_to_round_and_choices_are_counted() -> None:
    panel = blind_choice("4:5:6", DIVISIONS, seed=5)
    orders, roots = set(), set()
    for _ in range(6):
        panel.act("go")
        orders.add(tuple(panel.order))
        roots.add(held(panel._sounds[0])[0])
        panel.act("answer", panel.order.index(31))
    assert len(orders) == 6 and len(roots) == 6
    assert panel.chosen == {31: 6} and "31 steps 6 ×" in panel.drill.shown["more"][-1]


def test_all_sounds_of_a_choice_are_as_loud_as_one_another() -> None:
    """By the mean square of the notes' partials, which is what the ear has no other cue from."""
    from tunelib.sound import loudness, render

    panel = blind_choice("4:5:6:7", (12, 31, 53), seed=1)
    panel.act("go")
    loud = [loudness(sound.gain * render(sound.score, sound.timbre)) for sound in panel._sounds]
    assert max(loud) - min(loud) < 0.5


def test_what_does_not_suit_the_moment_is_passed_over() -> None:
    panel = blind_choice("4:5:6", (12, 31), seed=1)
    panel.act("answer", 0)
    panel.act("stop")
    panel.act("go")
    for value in (2, -1, None, "0"):
        panel.act("answer", value)
    assert not panel.chosen and panel.drill.shown["stage"] == "asking"
    panel.act("stop")
    assert panel.drill.shown["stage"] == "idle"


@pytest.mark.parametrize(
    ("chord", "divisions", "options", "said"),
    [
        ("4:6:5", (12, 31), {}, "numbers that rise, such as 4:5:6:7"),
        ("Charm7", (12, 31), {}, "numbers that rise"),
        ("4", (12, 31), {}, "numbers that rise"),
        ("0:1", (12, 31), {}, "numbers that rise"),
        ("4:5:17", (12, 31), {}, "go up to 16, not to 17"),
        (456, (12, 31), {}, "numbers that rise"),
        ("4:5:6", (12,), {}, "a choice is of 2 to 9 divisions"),
        ("4:5:6", None, {}, "divisions are numbers of steps, such as"),
        ("4:5:6", (12, 12), {}, "each once"),
        ("4:5:6", (12, 4), {}, "5 to 100"),
        ("4:5:6", (12, 31.5), {}, "whole number"),
        ("4:5:6", (12, 31), {"timbre": "piano"}, "one of organ"),
        ("4:5:6", (12, 31), {"seed": "seven"}, "a seed is a whole number, 0 or more, not 'seven'"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused(chord: Any, divisions: Any, options: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        blind_choice(chord, divisions, **options)


# --- One panel by division -------------------------------------------------------------------------------------------


def test_a_panel_is_made_when_it_is_first_chosen_and_kept() -> None:
    made = []

    def make(division: int) -> Any:
        made.append(division)
        return keys(division, "line")

    both = by_division(make, DIVISIONS, 19)
    assert made == [19]
    first = both.shown
    both.steps.value = 22
    assert made == [19, 22] and both.shown is not first
    both.steps.value = 19
    assert both.shown is first and both.children[1].children == (first,) and made == [19, 22]


def test_a_reader_without_a_kernel_sees_the_panel_of_the_first() -> None:
    assert "19 equal steps" in stored(by_division(lambda steps: keys(steps, "line"), DIVISIONS, 19))["text/plain"]


@pytest.mark.parametrize(
    ("divisions", "chosen", "said"),
    [
        ((31,), 31, "two divisions or more"),
        ((12, 12, 31), 31, "each once"),
        (31, 31, "numbers of steps"),
        ((12, 31), 19, "12 or"),
    ],
)
def test_buttons_that_make_no_sense_are_refused(divisions: Any, chosen: int, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        by_division(keys, divisions, chosen)


# --- The same questions in each --------------------------------------------------------------------------------------


@pytest.mark.parametrize("division", DIVISIONS)
def test_questions_are_about_steps_of_the_division_and_nothing_is_kept(division: int, monkeypatch: Any) -> None:
    def fail(*_: Any) -> None:
        raise AssertionError("an answer was kept")

    monkeypatch.setattr("tunelib.practice.ear_file.keep_answer", fail)
    card = division_drill(division, seed=2)
    card.sitting.act("go")
    asked = 0
    while (session := card.sitting.session) is not None and session.question is not None:
        question = session.question
        sounds = getattr(question, "sounds", ())
        hertz = [pitch for sound in sounds for pitch in sound.hertz]
        if question.item.kind != "side":
            steps = [division * math.log2(pitch / min(hertz)) for pitch in hertz]
            assert np.allclose(steps, np.rint(steps), atol=1e-6), question.item
        asked += 1
        if isinstance(question, PlayedQuestion):
            session.play([0])
        else:
            session.answer(0)
        card.sitting.act("go")
    assert asked == len(card.turns()) >= 5


def test_a_division_without_letters_has_no_questions() -> None:
    with pytest.raises(ValueError, match="no letters"):
        division_drill(13)


# --- The table -------------------------------------------------------------------------------------------------------


def numbers(cells: tuple[str, ...]) -> list[float]:
    """Cells as numbers."""
    return [float(cell.replace("−", "-")) for cell in cells]


def test_the_table_is_what_arithmetic_without_the_library_gives() -> None:
    cells = division_table(DIVISIONS).cells
    gives, closes, takes = (cells[heading] for heading in cells)
    for row, ratio in (("fifth, 3/2", (3, 2)), ("major third, 5/4", (5, 4)), ("harmonic 7, 7/4", (7, 4)),
                       ("harmonic 11, 11/8", (11, 8))):  # fmt: skip
        assert numbers(gives[row]) == pytest.approx([missed(n, Fraction(*ratio)) for n in DIVISIONS], abs=0.051)
    for limit in (7, 11):
        sizes = [[missed(n, ratio) for ratio in odd_limit_intervals(limit)] for n in DIVISIONS]
        worst = [max(map(abs, row)) for row in sizes]
        typical = [math.sqrt(sum(miss**2 for miss in row) / len(row)) for row in sizes]
        assert numbers(gives[f"worst, odd numbers up to {limit}"]) == pytest.approx(worst, abs=0.051)
        assert numbers(gives[f"typical, odd numbers up to {limit}"]) == pytest.approx(typical, abs=0.051)
    fifths = [round(n * math.log2(3 / 2)) for n in DIVISIONS]
    thirds = [round(n * math.log2(5 / 4)) for n in DIVISIONS]
    home = [4 * fifth - 2 * n == third for n, fifth, third in zip(DIVISIONS, fifths, thirds, strict=True)]
    assert [cell == "yes" for cell in closes["I vi ii V comes home (81/80 vanishes)"]] == home
    assert [cell == "yes" for cell in closes["three major thirds make an octave (128/125 vanishes)"]] == [
        3 * third == n for n, third in zip(DIVISIONS, thirds, strict=True)
    ]
    sevenths = [round(n * math.log2(7 / 4)) for n in DIVISIONS]
    assert [cell == "yes" for cell in closes["two fourths up are harmonic 7 (64/63 vanishes)"]] == [
        2 * (n - fifth) == seventh for n, fifth, seventh in zip(DIVISIONS, fifths, sevenths, strict=True)
    ]
    assert numbers(takes["one step, cents"]) == pytest.approx([1200 / n for n in DIVISIONS], abs=0.051)
    wolf = [7 * 1200 - 12 * fifth * 1200 / n for n, fifth in zip(DIVISIONS, fifths, strict=True)]
    assert numbers(takes["wolf of a keyboard with twelve of them, cents"]) == pytest.approx(wolf, abs=0.51)
    first = [650 * (1 - 2 ** (-1 / n)) for n in DIVISIONS]
    assert numbers(takes["first fret from the nut, mm of 650"]) == pytest.approx(first, abs=0.051)
    assert numbers(takes["frets at the octave, mm apart"]) == pytest.approx(
        [325 * (2 ** (1 / n) - 1) for n in DIVISIONS], abs=0.051
    )
    assert numbers(takes["an octave of keys as wide as a piano's, cm"]) == pytest.approx(
        [16.5 * n / 12 for n in DIVISIONS], abs=0.051
    )
    assert numbers(takes["what a hand that spans an octave reaches there, cents"]) == pytest.approx(
        [1200 * 12 / n for n in DIVISIONS], abs=0.51
    )


def test_the_turnaround_drifts_where_the_comma_is_a_step() -> None:
    drift = numbers(division_table(DIVISIONS).cells["What it closes"]["each round of it, cents"])
    assert drift == pytest.approx([PROGRESSIONS["I vi ii V"].drift_steps(n) * 1200 / n for n in DIVISIONS], abs=0.051)
    assert drift == [0, 0, -54.5, 0, -29.3, -22.6]


def test_the_table_is_shown_with_a_column_for_each_division() -> None:
    table = division_table((12, 22))
    markdown = stored(table)["text/markdown"]
    rows = [line for line in markdown.splitlines() if line]
    assert all(line.count("|") == 4 for line in rows) and "| 12 | 22 |" in markdown
    assert "harmonic 7, 7/4" in str(table)


@pytest.mark.parametrize(("divisions", "said"), [((), "give one division or more"), ((13,), "no letters")])
def test_a_table_of_nothing_is_refused(divisions: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        division_table(divisions)


@pytest.mark.parametrize(
    "make",
    [
        lambda seed: division_drill(12, seed=seed),
        lambda seed: practice(seed=seed),
        lambda seed: practice_card("01_waves", seed=seed),
        lambda seed: ear_test(seed),
        lambda seed: blind_tune(tune_panel("key: C major\n| C |"), seed=seed),
    ],
)
@pytest.mark.parametrize("seed", ["seven", float("nan"), -1, True])
def test_a_seed_that_is_no_number_is_refused_by_whatever_draws(make: Any, seed: Any) -> None:
    with pytest.raises(ValueError, match="a seed is a whole number, 0 or more, not "):
        make(seed)
