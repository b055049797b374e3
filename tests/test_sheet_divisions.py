"""A sheet's table in another division than twelve: the nearest step on a harmonic's letter, and the cents from it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tunelib.arrange.play_along import overtone_sheet
from tunelib.commands.line import main
from tunelib.export.sheet_files import sheet_files, sheet_pages
from tunelib.hearing.targets import parse_targets
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import equal

TROMBONE, BB1 = instrument("trombone"), Note.parse("Bb1")


@pytest.mark.parametrize("division", [19, 22, 31, 41, 53, 72])
def test_each_harmonic_has_its_nearest_step_and_the_cents_from_it(division: int) -> None:
    """By logarithms, counted from the fundamental; the name leads to the same step."""
    tuning = equal(division)
    sheet = overtone_sheet(TROMBONE, BB1, range(1, 17), division=division)
    for row in sheet.rows:
        exact = division * math.log2(row.number)
        step = math.floor(exact + 0.5)
        assert row.cents_from_nearest == pytest.approx((exact - step) * 1200 / division)
        named = Note.parse(row.nearest)
        assert named.step(tuning) - BB1.step(tuning) == step and named.letter == row.sounding.letter


def test_the_page_and_the_files_say_which_division_it_is() -> None:
    sheet = overtone_sheet(TROMBONE, BB1, range(1, 5), division=41)
    _, page = sheet_pages(sheet)
    assert page.head[6:8] == ("Nearest of 41", "Cents from 41")
    assert [row[6] for row in page.rows] == [row.nearest for row in sheet.rows]
    assert all(name.startswith("trombone-b-flat-1-harmonics-1-4-in-41.") for name in sheet_files(sheet).names)
    plain = overtone_sheet(TROMBONE, BB1, range(1, 5))
    assert "Cents from 41" not in sheet_pages(plain)[1].head and "in-" not in plain.slug
    assert plain.score == sheet.score, "what sounds and is written is the same"
    assert [row.nearest for row in overtone_sheet(TROMBONE, BB1, [1, 3], division=13).rows] == ["step 0", "step 21"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--steps", "0"], "a division is a whole number from 2 to 1000, not 0"),
        (["--steps", "a few"], "a division is a number of equal steps, such as 31, not 'a few'"),
        (["--steps", "41", "--pages", "notes"], "the pages of notes and fingers are for 31 steps"),
    ],
)
def test_a_division_that_cannot_be_had_gets_one_line(
    arguments: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["sheet", "--instrument", "trombone", "--fundamental", "Bb1", "--out", str(tmp_path / "out"), *arguments]
    assert main(asked) == 2
    said = capsys.readouterr().err
    assert words in said and said.count("\n") == 1 and not (tmp_path / "out").exists()


@pytest.mark.parametrize("division", [12, 17, 22, 31, 41, 53, 72])
def test_a_report_names_every_step_of_a_division_that_has_letters(division: int) -> None:
    targets = parse_targets(str(division))
    for label, hertz in zip(targets.labels, targets.hertz, strict=True):
        assert Note.parse(label).hz(equal(division)) == pytest.approx(hertz)
