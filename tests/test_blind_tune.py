"""A tune of one's own heard blind, and a choice made by hand: what is told when, what is kept, when it is solved."""

from __future__ import annotations

import importlib
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from IPython.core.formatters import DisplayFormatter
from offline import notes_of

from tunelib.harmony import parse_choices, parse_lead_sheet, retune
from tunelib.pitch import equal
from tunelib.practice import blind_tune, tune_panel
from tunelib.practice.blind_tune import BlindTune, choice_with_reason, farthest_apart
from tunelib.practice.progress import done
from tunelib.practice.tune_folder import FOLDER

CADENCE = "title: Two shelves\ntempo: 120\nkey: C major\n\n| Dm7 | G7 | Cmaj7 |\n"
STEP = 31
progress = importlib.import_module("tunelib.practice.progress")  # the module, whose name its function takes


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of the test's own, in which the notebook and what is kept would be."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path / "data"))
    progress.PROGRESS_FILE.__init__()  # as if the kernel had been started anew
    yield tmp_path
    progress.PROGRESS_FILE.__init__()


def made(text: str = CADENCE, seed: int = 1, division: int = 31) -> BlindTune:
    return blind_tune(tune_panel(text, division), step=STEP, seed=seed)


def told(panel: BlindTune, place: int = 0, where: str = "bar 2") -> BlindTune:
    """Both sounds heard, one preferred, and where they part named."""
    panel.act("go")
    panel.act("answer", place)
    panel.parted.value = where
    panel.tell.click()
    return panel


def pitches(sound: dict[str, Any]) -> list[float]:
    return [note["hertz"] for note in notes_of(sound["program"])]


def on_keys(hertz: list[float]) -> bool:
    """Whether all pitches are a whole number of semitones from one another."""
    away = [12 * math.log2(one / hertz[0]) for one in hertz]
    return max(abs(one - round(one)) for one in away) < 1e-6


def test_the_two_sounds_are_the_tune_in_the_divisions_that_are_told_at_the_end() -> None:
    for seed in range(4):
        panel = made(seed=seed)
        panel.act("go")
        sounds = panel.drill.shown["sounds"]
        assert [12 if on_keys(pitches(sound)) else 31 for sound in sounds] == panel.order
        panel.act("answer", 1)
        panel.parted.value = "the G7"
        panel.tell.click()
        assert f"in {panel.order[1]}." in panel.drill.shown["words"]
        assert "the G7" in panel.drill.shown["more"][0]


def test_the_order_is_one_of_chance() -> None:
    panel, orders = made(seed=2), set()
    for _ in range(12):
        told(panel)
        orders.add(tuple(panel.order))
    assert orders == {(12, 31), (31, 12)}


def test_nothing_tells_which_is_which_before_it_is_said_where_they_part() -> None:
    panel = made()
    panel.act("go")
    for answer in (None, 1):
        if answer is not None:
            panel.act("answer", answer)
        shown = {name: part for name, part in panel.drill.shown.items() if name != "sounds"}
        assert "12" not in str(shown) and "31" not in str(shown)
        assert [sound["name"] for sound in panel.drill.shown["sounds"]] == ["Sound 1", "Sound 2"]
    panel.tell.click()
    assert "First write" in panel.words.value and panel.drill.shown["compared"] == []
    panel.parted.value = " \u200b "
    panel.tell.click()
    assert panel.drill.shown["compared"] == []
    panel.parted.value = "bar 2"
    panel.tell.click()
    assert [sound["name"] for sound in panel.drill.shown["compared"]] == ["in 12", "in 31"]
    assert not on_keys(pitches(panel.drill.shown["compared"][1]))


def test_the_step_is_solved_when_the_tune_was_heard_blind_and_a_choice_is_kept_with_its_reason(here: Path) -> None:
    panel = made()
    panel.keep.click()
    panel.reason.value = "it rests"
    panel.chart.choose(1)
    panel.chart.lock()
    panel.keep.click()  # nothing was heard blind yet
    assert not (here / FOLDER).exists() and not done(STEP).right
    told(panel)
    panel.chart.undo()
    panel.keep.click()
    assert "Nothing is chosen by hand yet" in panel.words.value
    panel.chart.lock()
    panel.reason.value = "  "
    panel.keep.click()
    assert "why" in panel.words.value and not (here / FOLDER).exists() and not done(STEP).right
    panel.reason.value = "it rests,\tand so do I"
    panel.keep.click()
    [path] = (here / FOLDER).iterdir()
    text = path.read_text("utf-8")
    assert text.startswith("# Why: it rests, and so do I\n") and path.name in panel.words.value
    assert parse_choices(text, panel.chart.arranging.sheet) == panel.chart.arranging.choices
    assert done(STEP).right


def test_a_choice_that_is_kept_is_replaced_only_when_asked_once_more(here: Path) -> None:
    panel = told(made())
    panel.chart.choose(1)
    panel.chart.lock()
    panel.reason.value = "one"
    panel.keep.click()
    [path] = (here / FOLDER).iterdir()
    panel.reason.value = "two"
    panel.keep.click()
    assert "once more" in panel.words.value and "# Why: one" in path.read_text("utf-8")
    panel.keep.click()
    assert "# Why: two" in path.read_text("utf-8")


def test_a_reason_with_signs_that_break_a_line_is_still_read_back() -> None:
    sheet = parse_lead_sheet(CADENCE)
    choices = made().chart.arranging.choices.everywhere("G7", retune(sheet, equal(31)).chords[1].chord)
    reason = 'because\n[symbols]\x00\r\u2028 "G7" = \x7f' + "x" * 600
    text = choice_with_reason(choices, sheet, reason)
    assert parse_choices(text, sheet) == choices
    assert len(text.splitlines()[0]) <= len("# Why: ") + 500


@pytest.mark.parametrize(
    ("text", "bar", "note", "cents"),
    [
        # G harm7 has its seventh 18 + 25 - 31 = 12 steps above C; twelve has F at 500 cents: 464.5 - 500.
        ("key: C major\n\n| C | G7 | C |", 2, "F", 12 * 1200 / 31 - 500),
        # As written: in F sharp major from C, 15 steps against 600 cents is less far than its third, A sharp, 25.
        ("key: C major\n\n| F#maj7 | C |", 1, "E♯", 12 * 1200 / 31 - 500),
    ],
)
def test_where_the_two_are_farthest_apart(text: str, bar: int, note: str, cents: float) -> None:
    found = farthest_apart(retune(parse_lead_sheet(text), equal(31)), "tonic")
    assert (found.bar, found.note) == (bar, note) and found.cents == pytest.approx(cents, abs=1e-3)


def test_a_tune_that_cannot_be_read_or_is_too_long_is_not_asked_about() -> None:
    panel = made()
    panel.chart.text = "| Dm7 | G7xx |"
    panel.act("go")
    assert "line 1" in panel.words.value and panel.drill.shown["stage"] == "idle"
    panel.chart.text = "tempo: 40\n\n" + "| C " * 50 + "|"
    panel.act("go")
    assert "more than 4 minutes" in panel.words.value and panel.drill.shown["stage"] == "idle"
    panel.chart.text = CADENCE
    panel.act("go")
    assert panel.drill.shown["stage"] == "asking" and "line 1" not in panel.words.value


def test_what_does_not_suit_the_moment_is_passed_over() -> None:
    panel = made()
    for what, value in (("answer", 0), ("stop", None), ("skip", None)):
        panel.act(what, value)
    panel.tell.click()
    panel.keep.click()
    assert panel.drill.shown["stage"] == "idle"
    panel.act("go")
    panel.act("answer", 2)
    assert panel.drill.shown["stage"] == "asking"
    panel.act("stop")
    assert panel.drill.shown["stage"] == "idle" and panel._why.layout.display == "none"


@pytest.mark.parametrize(
    ("chart", "step", "said"),
    [
        ("Dm7", None, "from its chart"),
        (lambda: tune_panel(CADENCE, 12), None, "nothing to be heard beside"),
        (lambda: tune_panel(CADENCE), 0, "no step 0"),
    ],
)
def test_what_cannot_be_heard_blind_is_refused(chart: Any, step: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        blind_tune(chart() if callable(chart) else chart, step)


def test_a_reader_without_a_kernel_sees_the_chart_and_what_is_to_be_done() -> None:
    bundle, about = DisplayFormatter().format(made())
    assert "The chart of Two shelves" in bundle["text/plain"] and "Blind." in bundle["text/plain"]
    assert "image/png" in bundle and about["image/png"]["alt"]
