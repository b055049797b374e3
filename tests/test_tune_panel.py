"""The panel for a learner's own tune, driven by its widgets: what it says, what it plays, and what it writes."""

from __future__ import annotations

import html
import io
import re
from pathlib import Path

import mido
import numpy as np
import pytest
from IPython.core.formatters import DisplayFormatter
from offline import notes_of

from tunelib.export.tune_files import tune_names
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.practice.tune_panel import FOLDER, LONGEST_HEARD, TunePanel, tune_panel

CADENCE = "title: Two shelves\ntempo: 120\nkey: C major\n\n| Dm7 | G7 | Cmaj7 |\n"
BEGINNINGS = {".csv": b"bar,", ".pdf": b"%PDF-", ".musicxml": b"<?xml", ".wav": b"RIFF", ".mid": b"MThd"}


def words(panel: TunePanel) -> str:
    """What is below the buttons, as it is read."""
    return html.unescape(re.sub(r"<[^>]*>", "\n", panel.words.value)).strip()


def told(panel: TunePanel) -> str:
    """What the panel has told last, as it is read."""
    return html.unescape(re.sub(r"<[^>]*>", "", panel.told.value))


def retuned(panel: TunePanel) -> list[str]:
    """The symbols in the column "retuned" of the table that is shown."""
    rows = [row.split() for row in words(panel).splitlines()]
    return [row[3] for row in rows if len(row) > 3 and row[0][0].isdigit() and row[1][0].isdigit()]


def heard(panel: TunePanel) -> list[float]:
    """The pitches in hertz of what the page would play, which must be something."""
    assert panel.sound.program, "there is nothing to play"
    return [note["hertz"] for note in notes_of(panel.sound.program)]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of the test's own, in which the notebook would be."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_tune_is_there_at_first_and_nothing_sounds_or_is_written(here: Path) -> None:
    panel = tune_panel()
    assert panel.tune is not None and len(retuned(panel)) == len(panel.tune.chords)
    assert heard(panel) and not panel.sound.playing
    assert list(here.iterdir()) == []


def test_a_dominant_seventh_gets_its_harmonic_seventh_and_a_sentence_with_numbers() -> None:
    """4:5:6:7 is nearer in 31 with its seventh on 25 steps: Fokker, "New Music with 31 Notes", 1975."""
    panel = tune_panel(CADENCE)
    assert "Gharm7" in retuned(panel)
    reasons = [line for line in words(panel).splitlines() if line.startswith("Bar ")]
    changed = [new != old for new, old in zip(retuned(panel), ("Dm7", "G7", "Cmaj7"), strict=True)]
    assert len(reasons) == sum(changed)
    assert all(re.search(r"\d cents", reason) for reason in reasons)


@pytest.mark.parametrize(
    ("text", "place", "part"),
    [
        ("title: Shelf\n\n| Dm7 | G7xx | C |\n", "line 3, column 9", "'G7xx'"),
        ("| Dm7 | G7\n", "line 1, column 11", "bar line"),
        ("| Dm7 |\nmelody: | D4 E4 |\n", "line 2, column 11", "add 2"),
        ("tempo: soon\n| Dm7 |\n", "line 1, column 8", "'soon'"),
        ("", "line 1, column 1", "no bars"),
    ],
)
def test_a_mistake_gives_its_line_and_column_and_nothing_is_played_or_written(
    here: Path, text: str, place: str, part: str
) -> None:
    """The place of a mistake is counted by hand here."""
    panel = tune_panel(CADENCE)
    panel.text.value = text
    panel.again.click()
    assert panel.tune is None
    assert place in words(panel) and part in words(panel)
    assert not panel.sound.program and not panel.sound.others
    panel.write.click()
    assert list(here.iterdir()) == [] and "nothing to write yet" in told(panel)

    panel.text.value = CADENCE
    panel.again.click()
    assert len(retuned(panel)) == 3 and told(panel) == ""


def test_what_is_typed_is_shown_as_it_is_typed() -> None:
    """Text that looks like HTML is no HTML on the page."""
    panel = tune_panel("| <img src=x> |")
    assert "<img" in words(panel) and "<img" not in panel.words.value


def test_the_knobs_of_taste_retune_at_once() -> None:
    """At no adventure all stays as written; dark and bright part ways; roots stay unless they may drift."""
    panel = tune_panel(CADENCE)
    panel.adventure.value = 0
    assert retuned(panel) == ["Dm7", "G7", "Cmaj7"]
    panel.adventure.value = 1
    found = []
    for panel.colour.value in (-1, 1):
        assert panel.tune is not None
        found.append([sum(chord.chord.steps(THIRTY_ONE)) for chord in panel.tune.chords])
    dark, bright = found
    assert sum(dark) < sum(bright)
    panel.drift.value = True
    assert panel.tune is not None and panel.tune.taste.drift


def test_the_tune_is_heard_in_31_and_in_12_and_a_knob_leaves_the_choice_alone() -> None:
    """The third of A, the tonic, at 440 Hz in both (ISO 16:1975): ten steps of 31 over it, or four of 12."""
    panel = tune_panel("tempo: 120\nkey: A major\n| A | A |\n")
    panel.adventure.value = 0
    for division, third in ((31, 440 * 2 ** (10 / 31)), (12, 440 * 2 ** (4 / 12))):
        panel.sound._told(None, {"flip": f"in {division}"}, [])
        assert panel.sound.chosen == f"in {division}" and panel.sound.program == panel.sound.others[panel.sound.chosen]
        octaves = [abs(1200 * np.log2(hertz / third) + 600) % 1200 - 600 for hertz in heard(panel)]
        assert min(map(abs, octaves)) < 1e-6
    before = heard(panel)
    panel.text.value = "tempo: 120\n| D | D |\n"
    assert panel.sound.chosen == "in 12" and heard(panel) != before


def test_what_is_typed_is_heard_and_written_without_retune_being_pressed(here: Path) -> None:
    """A tune of one bar in place of one of three; and a mistake is not passed over."""
    panel = tune_panel(CADENCE)
    panel.text.value = "title: One bar\ntempo: 120\n| C |"
    assert max(note["onset"] + note["duration"] for note in notes_of(panel.sound.program)) == pytest.approx(2)
    panel.text.value = "title: One bar\ntempo: 120\n| H |"
    panel.write.click()
    assert "line 3, column 3" in words(panel) and list(here.iterdir()) == []


def test_a_tune_too_long_to_listen_to_here_is_not_played() -> None:
    bars = round(LONGEST_HEARD * 10 / 4) + 1
    panel = tune_panel(f"tempo: 10\n|{' C |' * bars}")
    assert not panel.sound.program and "minutes" in told(panel)


def test_the_files_are_written_once_and_left_alone_after(here: Path) -> None:
    """Read by mido, and by what the formats begin with: PDF (ISO 32000-1), XML, RIFF (IBM and Microsoft 1991)."""
    panel = tune_panel(CADENCE)
    panel.write.click()
    files = {path.name: path.read_bytes() for path in (here / FOLDER).iterdir()}
    assert all(name.startswith("two-shelves") and name in told(panel) for name in files)
    assert set(files) == set(tune_names("two-shelves", 31))
    suffixes = [Path(name).suffix for name in files]
    assert set(suffixes) == set(BEGINNINGS), "BEGINNINGS has what each kind of file begins with"
    assert suffixes.count(".mid") == suffixes.count(".wav") == 2
    for name, content in files.items():
        assert content.startswith(BEGINNINGS[Path(name).suffix]), name
    bend = next(content for name, content in files.items() if name.endswith("bend.mid"))
    assert mido.MidiFile(file=io.BytesIO(bend)).length == pytest.approx(12 * 60 / 120, abs=0.1)

    panel.adventure.value = 0
    panel.write.click()
    assert "already in the folder" in told(panel)
    assert {path.name: path.read_bytes() for path in (here / FOLDER).iterdir()} == files


def test_without_a_kernel_the_tune_and_what_came_of_it_are_read_as_text() -> None:
    panel = tune_panel(CADENCE)
    data, _ = DisplayFormatter().format(panel)
    assert CADENCE in data["text/plain"] and "Gharm7" in data["text/plain"]
