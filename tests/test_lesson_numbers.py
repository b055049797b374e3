"""Every number in the prose of lessons and README is worked out in its table, or is on a list that says why not.

Each lesson has a table of its own, `said/in_01_waves.py` for `01_waves`; what its lists are for is in `said/table.py`.
Headings and the minutes that a lesson takes are held against the table of the course by ``PLACES`` in `said/held.py`.

For a new lesson or step run this file with `-k` and the lesson's name: it names each number that nothing covers, with
the words about it, and each phrase that the lesson no longer has. Copy those words into the lesson's table, under what
fits.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from said import published
from said import worked as worked_out
from said.bare import bare_claims
from said.found import numbers
from said.held import MINUTES_IN_README, faults
from said.prose import README, lessons
from said.table import table_of, tables
from said.worked import more_than
from test_lessons import COURSE, GUIDES, REFERENCES, START

SAID = Path(published.__file__).parent
NAMES = sorted({README, START, *COURSE, *GUIDES, *REFERENCES})


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("a ratio of 3:2, 81/80 and 21.5 cents", [3, 2, 81 / 80, 21.5]),
        ("Thirty-one steps, forty-eight thousand moments, a hundred times, twice", [31, 48000, 100, 2]),
        ("a third of a semitone; a hundred-and-tenth of a comma; half as fast; a quarter", [1 / 3, 1 / 110, 0.5, 0.25]),
        ("the twelfth root of 2, the fifth harmonic, every third peak", [12, 2, 5, 3]),
        ("a pure third and a fifth, the half-sharp, A4, E½♭, BSD-3-Clause, 4K, one of them", []),
        ("a note of twelve; in twelve notes; the twelve of a piano", [12]),
        ("-5 cents, 10-30 minutes, 4:5:6:7", [5, 10, 30, 4, 5, 6, 7]),
        ("the 2nd edition, in the 18th century; one step", [2, 18, 1]),
    ],
)
def test_numbers_are_found_in_digits_and_in_words(words: str, values: list[float]) -> None:
    assert [number.value for number in numbers(words)] == pytest.approx(values)


@pytest.mark.parametrize("name", NAMES)
def test_every_number_in_the_prose_is_right(name: str) -> None:
    found = faults(lessons()[name])
    assert not found, "\n".join(found)


@pytest.mark.parametrize("table", tables())
def test_nothing_is_held_against_itself(table: str) -> None:
    assert bare_claims((SAID / f"{table}.py").read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("worked", "bare"),
    [
        ("[5]", True),
        ("[-5.2]", True),
        ("[(5, 5.0)]", True),
        ("[1 / 4]", True),
        ("[Fraction(5, 4)]", True),
        ("[5 + 0]", True),
        ("[5 * 1]", True),
        ("[near(5)]", True),
        ("[len('EF')]", True),
        ("[lambda said: said == 5]", True),
        ("[abs(-FIVE)]", True),
        ("[*PAIR]", True),
        ("lambda five: [five]", True),
        ("lambda five: [5]", True),
        ("[1200 / 31]", False),
        ("[math.log2(3 / 2)]", False),
        ("[equal(12).cents_of(5)]", False),
        ("[(5, steps('D'))]", False),
        ("[RULE_OF_THUMB]", False),
        ("[near(steps('D'))]", False),
        ("lambda five: [five, from_twelve(five)]", False),
    ],
)
def test_a_check_that_cannot_fail_is_found_out(worked: str, bare: bool) -> None:
    source = f"FIVE = 5\nPAIR = (5, 6)\nTABLE = Table(claims={{'five': {worked}}})"
    assert bool(bare_claims(source.replace("from_twelve(five)", "7") if bare else source)) == bare


def test_published_works_and_helpers_are_all_in_use() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in sorted(SAID.glob("*.py")))
    for module in (published, worked_out):
        kept = [name for name in vars(module) if re.search(rf"^(def )?{name}( = |\(|, )", source, re.MULTILINE)]
        assert [name for name in kept if len(re.findall(rf"\b{name}\b", source)) < 2] == []
    prose = " ".join(lesson.words for lesson in lessons().values())
    phrases = [phrase for name in NAMES for phrase in table_of(name).bibliography]
    spoken = [(phrase, prose[: match.start()][-250:]) for phrase in phrases for match in _found(phrase, prose)]
    cited = {work for phrase, before in spoken for work in published.named_works(phrase, before)}
    assert [work for work in published.WORKS if work not in cited] == []


def _found(phrase: str, prose: str) -> list[re.Match[str]]:
    return list(re.finditer(re.escape(phrase), prose))


def test_the_tables_are_for_lessons_that_exist() -> None:
    assert set(tables()) <= {f"in_{name.lower()}" for name in lessons()}
    assert set(lessons()) == set(NAMES)
    assert set(lessons()) - set(REFERENCES) == {README, *MINUTES_IN_README}


@pytest.mark.parametrize("name", NAMES)
def test_no_number_can_be_changed_unnoticed(name: str) -> None:
    """Each number in turn is made another one; what was right before must then be found wrong."""
    lesson = lessons()[name]
    for number in numbers(lesson.words):
        other = str(round(number.value) + 1) if number.text[0].isdigit() else "ninety"
        words = f"{lesson.words[: number.start]}{other}{lesson.words[number.end :]}"
        around = words[max(number.start - 40, 0) : number.end + 40]
        assert faults(replace(lesson, words=words)), f"{number.text!r} can be changed in …{around}…"


@pytest.mark.parametrize(
    ("name", "old", "new", "fault"),
    [
        ("04_twelve", "harmonic 7 by 31", "harmonic 7 by 32", "harmonic 11 by 49” is no longer there"),
        ("04_twelve", "harmonic 7 by 31", "harmonic 7 by 32", "'32' is covered by nothing"),
        ("04_twelve", "The octaves are exact.", "Fifths are 702 cents.", "'702' is covered by nothing"),
        ("04_twelve", "The octaves are exact.", "There are eleven.", "'eleven' is covered by nothing"),
        ("06_meantone", "a third of a piano", "a quarter of a piano", "'a quarter' is covered by nothing"),
        ("05_other_divisions", "# 05 Other", "# 06 Other", "instead of [5]"),
        ("03_measuring_pitch", "## Step 9 ·", "## Step 8 ·", "instead of [8, 9, 10]"),
        ("for_teachers", "| 15 | questions", "| 16 | questions", "instead of [5, 15, 20, 10"),
        ("08_chords", "sits on a hill", "sits in a valley", "hill between them” is no longer there"),
        ("09_harmony_in_motion", "7.8 cents off", "7.9 cents off", "'7.9' is covered by nothing"),
        ("02_overtones", "20 minutes", "25 minutes", "instead of [20]"),
    ],
)
def test_a_spoiled_sentence_is_found_out(name: str, old: str, new: str, fault: str) -> None:
    lesson = lessons()[name]
    assert old in lesson.words
    spoiled = replace(lesson, words=lesson.words.replace(old, new))
    assert any(fault in found for found in faults(spoiled)), faults(spoiled)


@pytest.mark.parametrize(
    ("part", "entry", "fault"),
    [
        ("claims", {"within 2 cents": [more_than(2.1)]}, "says ['2']"),
        ("claims", {"it misses the major third by 14": [13.4]}, "worked out are [13.4]"),
        ("claims", {"it misses the major third by 14": [(13.7, 13.4)]}, "says ['14']"),
        ("claims", {"it misses the major third by 14": []}, "says ['14']"),
        ("claims", {"stop at 386.3": [386.36]}, "says ['386.3']"),
        ("claims", {"In a pure major third, 5/4, the": [1.26]}, "says ['5/4']"),
        ("settings", [("stop at 386.3", "overtones_and_steps", "harmonic")], "is no stop of harmonic"),
        ("settings", [("harmonic 11 by 49", "equal_steps", "step")], "is no stop of step"),
        ("settings", [("in 31 steps", "equal_steps", "step")], "is no stop"),
        ("settings", [("in 31 steps", "wave", "hertz")], "which is not shown here"),
        ("given", ["harmonic 11 by 49"], "is in no code cell"),
        ("claims", {"The octaves are exact": []}, "has no number"),
        ("settings", [("The octaves are exact", "equal_steps", "step")], "is no stop of step"),
        ("shown", {"The octaves are exact": False}, "is not so"),
        ("shown", {"The octaves are narrow": True}, "is no longer there"),
        ("counted", ["Lay one over the other"], "has no number"),
        ("counted", ["the two banjos"], "is no longer there"),
    ],
)
def test_an_entry_that_is_false_is_found_out(part: str, entry: Any, fault: str) -> None:
    table = table_of("04_twelve")
    kept = getattr(table, part)
    changed: Any = {part: {**kept, **entry} if isinstance(entry, dict) else [*kept, *entry]}
    found = faults(lessons()["04_twelve"], replace(table, **changed))
    assert len(found) == 1 and fault in found[0], found
