"""The panel for a learner's own tune, driven by its widgets: what it says, what it plays, and what it writes."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path
from typing import Any

import mido
import numpy as np
import pytest
from IPython.core.formatters import DisplayFormatter
from offline import notes_of
from PIL import Image

from tunelib.arrange.count_in import count_in_beats
from tunelib.export import engrave
from tunelib.export.tune_files import tune_names
from tunelib.pitch.tunings import THIRTY_ONE
from tunelib.practice.tune_folder import FOLDER
from tunelib.practice.tune_panel import LONGEST_HEARD, TunePanel, tune_panel

CADENCE = "title: Two shelves\ntempo: 120\nkey: C major\n\n| Dm7 | G7 | Cmaj7 |\n"
BEGINNINGS = {".csv": b"bar,", ".pdf": b"%PDF-", ".musicxml": b"<?xml", ".wav": b"RIFF", ".mid": b"MThd"}


def retuned(panel: TunePanel) -> list[str]:
    """The symbols on the staff."""
    return [sign["symbol"] for sign in panel.signs]


def pitches(bytes_: bytes) -> list[float]:
    """The pitches in hertz of what the page would play, which must be something."""
    assert bytes_, "there is nothing to play"
    return [note["hertz"] for note in notes_of(bytes_)]


def ask(panel: TunePanel, what: str, given: Any = ()) -> None:
    """Say to the panel what its page would."""
    panel._told(None, {"do": what, "with": list(given) if isinstance(given, tuple) else given}, [])


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of the test's own, in which the notebook would be."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_tune_is_there_at_first_and_nothing_sounds_or_is_written(here: Path) -> None:
    panel = tune_panel()
    assert panel.tune is not None and len(retuned(panel)) == len(panel.tune.chords)
    assert pitches(panel.program) and not panel.playing
    assert list(here.iterdir()) == []


def test_a_dominant_seventh_gets_its_harmonic_seventh_and_a_sentence_with_numbers() -> None:
    """4:5:6:7 is nearer in 31 with its seventh on 25 steps: Fokker, "New Music with 31 Notes", 1975."""
    panel = tune_panel(CADENCE)
    ask(panel, "choose", [1])
    assert retuned(panel)[1] == "Gharm7" and "Gharm7" in panel.chord["title"]
    assert re.search(r"\d cents", panel.chord["why"])


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
    panel.text = text
    assert panel.tune is None
    assert place in panel.problem and part in panel.problem
    assert not panel.program and not panel.others
    ask(panel, "write")
    assert list(here.iterdir()) == [] and "nothing to write yet" in panel.told

    panel.text = CADENCE
    assert len(retuned(panel)) == 3 and panel.told == ""


def test_a_chord_is_heard_as_written_in_both_divisions_and_as_chosen() -> None:
    """The seventh of G over its root: 1000 cents in 12, 26 and 25 steps in 31."""
    panel = tune_panel(CADENCE)
    ask(panel, "choose", [1])
    for way, seventh in zip(panel.chord["ways"], (1000, 26 / 31 * 1200, 25 / 31 * 1200), strict=True):
        root, *upper = sorted(pitches(panel.chord["programs"][way]))
        assert min(abs(1200 * np.log2(hertz / root) % 1200 - seventh) for hertz in upper) < 1e-6, way


@pytest.mark.parametrize(("common", "apart"), [("tonic", 0.0), ("A", 25.8)])
def test_a_chord_in_twelve_shares_the_tonic_or_the_a_with_thirty_one(common: str, apart: float) -> None:
    """Over the same A, D flat is 11 steps of 31, 425.8 cents, in one, and 400 cents in the other."""
    panel = tune_panel("key: Db major\n\n| Dbmaj7 |")
    panel.like(common=common)
    twelve, thirty_one = (min(pitches(panel.chord["programs"][way])) for way in panel.chord["ways"][:2])
    assert 1200 * np.log2(thirty_one / twelve) == pytest.approx(apart, abs=0.05)


@pytest.mark.parametrize("division", [12, 19, 22, 41, 53])
def test_a_tune_in_another_division_is_heard_in_it_and_in_twelve(division: int) -> None:
    """As written, the F of G7 is two fourths of the division over its root; as chosen, the nearest step of 9/5."""
    panel = tune_panel(CADENCE, division)
    assert panel.tune is not None and len(panel.tune.tuning) == division and panel.chosen == f"in {division}"
    assert list(panel.others) == list(dict.fromkeys((f"in {division}", "in 12")))
    ask(panel, "choose", [1])
    assert list(panel.chord["ways"]) == list(
        dict.fromkeys(("as written in 12", f"as written in {division}", "as chosen"))
    )
    panel.like(adventure=0)
    fourth = division - round(division * np.log2(3 / 2))
    for way, seventh in (("written in " + str(division), 2 * fourth), ("chosen", round(division * np.log2(9 / 5)))):
        root, *upper = sorted(pitches(panel.chord["programs"][f"as {way}"]))
        assert min(abs(division * np.log2(hertz / root) % division - seventh) for hertz in upper) < 1e-6, way
    assert ("common" in [knob[0] for knob in panel.knobs]) == (division != 12)


@pytest.mark.parametrize(
    ("division", "said"), [(13, "no letters"), (5, "12 to 72 equal steps"), (80, "12 to 72"), ("31", "whole number")]
)
def test_a_division_that_no_tune_can_be_played_in_is_refused(division: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        tune_panel(CADENCE, division)


def test_a_chord_that_is_not_there_is_not_chosen() -> None:
    panel = tune_panel(CADENCE)
    for given in ([-1], [3], ["1"], [None], [0, 0], None):
        ask(panel, "choose", given)
        assert panel.chord["sign"] == 0


def test_the_staff_has_a_symbol_for_each_chord_and_one_for_silence() -> None:
    """In the order of the drawing, which is where the page finds their places; and what sounds when, in seconds."""
    panel = tune_panel("tempo: 120\n\n| Dm7 . G7 . | N.C. | Cmaj7 |")
    assert panel.staff.count('class="harm"') == len(panel.signs) == 4
    assert panel.staff.count('class="measure"') == 3
    assert [sign["sign"] for sign in panel.signs] == [0, 1, -1, 3]  # the sign for silence is one too
    assert panel.moments == [(0, 0, 0), (1, 1, 0), (2, -1, 1), (4, 3, 2)]


def test_the_knobs_of_taste_retune_at_once() -> None:
    """At no adventure all stays as written; dark and bright part ways; roots stay unless they may drift."""
    panel = tune_panel(CADENCE)
    panel.like(adventure=0)
    assert retuned(panel) == ["Dm7", "G7", "Cmaj7"]
    panel.like(adventure=1)
    found = []
    for colour in (-1, 1):
        panel.like(colour=colour)
        assert panel.tune is not None
        found.append([sum(chord.chord.steps(THIRTY_ONE)) for chord in panel.tune.chords])
    dark, bright = found
    assert sum(dark) < sum(bright)
    panel.like(drift=True)
    assert panel.tune is not None and panel.tune.taste.drift


def test_the_tune_is_heard_in_31_and_in_12_and_a_knob_leaves_the_choice_alone() -> None:
    """The third of A, the tonic, at 440 Hz in both (ISO 16:1975): ten steps of 31 over it, or four of 12."""
    panel = tune_panel("tempo: 120\nkey: A major\n| A | A |\n")
    panel.like(adventure=0)
    for division, third in ((31, 440 * 2 ** (10 / 31)), (12, 440 * 2 ** (4 / 12))):
        panel._told(None, {"flip": f"in {division}"}, [])
        assert panel.chosen == f"in {division}" and panel.program == panel.others[panel.chosen]
        octaves = [abs(1200 * np.log2(hertz / third) + 600) % 1200 - 600 for hertz in pitches(panel.program)]
        assert min(map(abs, octaves)) < 1e-6
    before = pitches(panel.program)
    panel.text = "tempo: 120\n| D | D |\n"
    assert panel.chosen == "in 12" and pitches(panel.program) != before


def test_what_is_typed_is_heard_and_written_without_retune_being_pressed(here: Path) -> None:
    """A tune of one bar in place of one of three; and a mistake is not passed over."""
    panel = tune_panel(CADENCE)
    panel.text = "title: One bar\ntempo: 120\n| C |"
    assert max(note["onset"] + note["duration"] for note in notes_of(panel.program)) == pytest.approx(2)
    panel.text = "title: One bar\ntempo: 120\n| H |"
    ask(panel, "write")
    assert "line 3, column 3" in panel.problem and list(here.iterdir()) == []


def test_a_tune_too_long_to_listen_to_here_is_not_played() -> None:
    bars = round(LONGEST_HEARD * 10 / 4) + 1
    panel = tune_panel(f"tempo: 10\n|{' C |' * bars}")
    assert not panel.program and "minutes" in panel.told


def test_the_files_are_written_once_and_left_alone_after(here: Path) -> None:
    """Read by mido, and by what the formats begin with: PDF (ISO 32000-1), XML, RIFF (IBM and Microsoft 1991)."""
    panel = tune_panel(CADENCE)
    ask(panel, "write")
    files = {path.name: path.read_bytes() for path in (here / FOLDER).iterdir()}
    assert all(name.startswith("two-shelves") and name in panel.told for name in files)
    assert set(files) == set(tune_names("two-shelves", 31))
    suffixes = [Path(name).suffix for name in files]
    assert set(suffixes) == set(BEGINNINGS), "BEGINNINGS has what each kind of file begins with"
    assert suffixes.count(".mid") == suffixes.count(".wav") == 2
    for name, content in files.items():
        assert content.startswith(BEGINNINGS[Path(name).suffix]), name
    bend = next(content for name, content in files.items() if name.endswith("bend.mid"))
    assert mido.MidiFile(file=io.BytesIO(bend)).length == pytest.approx((8 + 12) * 60 / 120, abs=0.1), (
        "two bars count in"
    )

    panel.like(adventure=0)
    ask(panel, "write")
    assert "already in the folder" in panel.told
    assert {path.name: path.read_bytes() for path in (here / FOLDER).iterdir()} == files


def test_parts_are_written_for_the_players_that_are_named(here: Path) -> None:
    panel = tune_panel(CADENCE)
    panel.like(players="trumpet, kazoo")
    ask(panel, "write")
    assert "kazoo" in panel.told and list(here.iterdir()) == []
    panel.like(players=" trumpet , double bass", feel="bossa", common="A")
    ask(panel, "write")
    names = {path.name for path in (here / FOLDER).iterdir()}
    assert {"two-shelves-in-31-trumpet.pdf", "two-shelves-in-31-double-bass.pdf"} < names


def test_without_a_kernel_the_staff_is_seen_and_its_chords_are_read() -> None:
    """A PNG (ISO 15948) as wide as the other pictures, with the sentence as its text."""
    data, told = DisplayFormatter().format(tune_panel(CADENCE))
    with Image.open(io.BytesIO(data["image/png"])) as picture:
        assert picture.format == "PNG" and picture.width == 960
    assert data["text/plain"].endswith(CADENCE)
    sentence = told["image/png"]["alt"]
    assert (
        "G7 is tuned as Gharm7 in bar 2; all other chords are as written" in sentence and sentence in data["text/plain"]
    )


def test_without_a_staff_the_chords_are_there_still(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "verovio", None)
    engrave._toolkit.cache_clear()
    panel = tune_panel(CADENCE)
    assert "pip install verovio" in panel.problem and not panel.staff
    assert len(panel.signs) == 3 and pitches(panel.program) and panel.chord["title"]
    data, _ = DisplayFormatter().format(panel)
    assert "image/png" not in data and "pip install verovio" in data["text/plain"]


def test_a_double_flat_is_seen_and_said_wherever_a_note_is_named() -> None:
    """Few typefaces of a browser have the sign, and no screen reader says it."""
    panel = tune_panel("key: Gb major\n| Cbm7 | Gb7 | Cb |")
    ask(panel, "choose", [0])
    names = [voice["name"] for voice in panel.chord["voices"]]
    assert any(name.startswith("E♭♭4 ") for name in names)
    assert any("E double flat 4," in voice["said"] for voice in panel.chord["voices"])
    shown = [panel.chord["why"], *names, *(row["price"] for row in panel.others_of["rows"])]
    assert not any(sign in words for words in shown for sign in "𝄫𝄪")


def test_a_mark_for_players_goes_with_a_name_in_words_and_the_bass_says_why_it_is_not_kept() -> None:
    """By hand: in Gsubharm7 third and seventh are steps 7 and 25, 271 and 968 cents, 29 and 32 below the keys."""
    panel = tune_panel("| Gm7 | C7 |")
    ask(panel, "choose", [0])
    prices = {f"{row['symbol']} {row['mark']}".strip(): row["price"] for row in panel.others_of["rows"]}
    assert prices["Gm7 3 −29 7 −32"].startswith("Gsubharm7: ")
    assert not any(price.startswith("G") for called, price in prices.items() if " " not in called)
    bass, *upper = (voice["said"] for voice in panel.chord["voices"])
    assert re.fullmatch(r"Bass: G1, \+6 cents from the key G1; it goes with the chord, and is not kept by itself", bass)
    assert all(said.startswith("Keep voice") for said in upper)


def test_an_alternative_is_heard_taken_locked_and_undone() -> None:
    panel = tune_panel(CADENCE)
    ask(panel, "choose", [1])
    rows, before = panel.others_of["rows"], retuned(panel)
    assert rows[0]["taken"] and len(rows) == len(panel.others_of["programs"]) > 2
    place = next(place for place, row in enumerate(rows) if row["symbol"] == "G7")
    heard = sorted(pitches(panel.others_of["programs"][place]))
    ask(panel, "take", [place])
    assert retuned(panel)[1] == "G7" and panel.chord["locked"]
    assert sorted(pitches(panel.chord["programs"]["as chosen"])) == heard
    assert [sign["locked"] for sign in panel.signs] == [False, True, False] and panel.signs[1]["said"].endswith(
        ", locked"
    )
    assert "tuned otherwise" in panel.told and panel.tools["undo"]
    ask(panel, "undo")
    assert retuned(panel) == before and not panel.chord["locked"] and panel.tools["redo"]
    ask(panel, "redo")
    assert retuned(panel)[1] == "G7"


def test_a_taste_is_undone_and_its_knobs_go_back() -> None:
    panel = tune_panel(CADENCE)
    panel.like(adventure=0.0, voicing="shells")
    ask(panel, "undo")
    knobs = {name: value for name, _, value, _ in panel.knobs}
    assert knobs["adventure"] == 0.6 and knobs["voicing"] == "rootless"
    assert retuned(panel)[1] == "Gharm7"


def test_locks_of_a_symbol_a_voice_and_a_passage() -> None:
    panel = tune_panel("| Dm7 | G7 | Cmaj7 | G7 |")
    ask(panel, "choose", [1])
    ask(panel, "lock everywhere")
    assert [sign["locked"] for sign in panel.signs] == [False, True, False, True] and panel.chord["everywhere"]
    ask(panel, "lock everywhere")
    ask(panel, "keep", [2])
    assert [voice["kept"] for voice in panel.chord["voices"]][:3] == [False, False, True]
    ask(panel, "keep", [2])
    ask(panel, "lock bars", [1, 3])
    assert [sign["locked"] for sign in panel.signs] == [True, True, True, False]
    ask(panel, "lock bars", [1, 3])
    assert not any(sign["locked"] for sign in panel.signs)
    ask(panel, "lock bars", [8, 9])
    assert "No chord begins" in panel.told


@pytest.mark.parametrize(
    ("what", "given"),
    [("take", [99]), ("take", []), ("keep", [0]), ("keep", [9]), ("keep", [True]), ("lock bars", [1]), ("lock", [1]),
     ("dance", []), (None, []), ("take", ["0"]), ("keep", None)],
)  # fmt: skip
def test_what_makes_no_sense_changes_nothing(what: Any, given: Any) -> None:
    panel = tune_panel(CADENCE)
    before, choices = retuned(panel), panel.arranging.choices
    ask(panel, what, given)
    assert retuned(panel) == before and panel.arranging.choices == choices


def test_choices_are_saved_beside_the_tune_opened_and_replaced_only_when_asked_again(here: Path) -> None:
    panel = tune_panel(CADENCE)
    ask(panel, "open choices")
    assert "No choices" in panel.told
    ask(panel, "choose", [1])
    ask(panel, "lock")
    ask(panel, "save choices")
    [path] = (here / FOLDER).iterdir()
    assert path.name in panel.told and path.name == "two-shelves-choices.toml"
    saved = path.read_text("utf-8")

    again = tune_panel(CADENCE)
    again.like(adventure=0)
    ask(again, "save choices")
    assert "already in the folder" in again.told and again.tools["replaces"] and path.read_text("utf-8") == saved
    ask(again, "open choices")
    assert retuned(again)[1] == "Gharm7" and again.arranging.choices == panel.arranging.choices
    ask(again, "undo")
    assert retuned(again)[1] == "G7"
    ask(again, "save choices")
    assert path.read_text("utf-8") == "" and not again.tools["replaces"]

    path.write_text("[[chords]]\nbar = 9\nbeat = 1\nchosen = 'C'\n", "utf-8")
    ask(again, "open choices")
    assert path.name in again.told and "bar 9" in again.told


def test_a_feel_and_a_count_in_are_heard_and_the_playhead_waits_for_them() -> None:
    panel = tune_panel(CADENCE)
    plain, moments = pitches(panel.program), panel.moments
    panel.like(count_in=True)
    clicks = count_in_beats(panel.arranging.sheet)
    assert len(pitches(panel.program)) > len(plain)
    assert panel.moments[0][0] == moments[0][0] + clicks * 60 / 120
    panel.like(count_in=False, feel="bossa")
    assert len(pitches(panel.program)) != len(plain)
    panel.like(feel="polka")
    assert "polka" in panel.told and pitches(panel.program)


def test_choices_stay_when_the_text_is_changed_elsewhere() -> None:
    panel = tune_panel(CADENCE)
    ask(panel, "choose", [2])
    ask(panel, "lock")
    panel.text = CADENCE.replace("Dm7", "F6")
    assert [sign["locked"] for sign in panel.signs] == [False, False, True]
    panel.text = CADENCE.replace("Cmaj7", "C6")
    assert not any(sign["locked"] for sign in panel.signs)


def test_a_way_to_the_next_chord_is_heard_taken_written_and_undone(here: Path) -> None:
    """After the alternatives; taking it changes the text of the tune, which the files and the saved choices follow."""
    panel = tune_panel(CADENCE)
    panel.like(adventure=0)
    rows = panel.others_of["rows"]
    ways = [place for place, row in enumerate(rows) if row["price"].startswith("a way to the next chord, G7: ")]
    assert 1 <= len(ways) <= 3 and ways == list(range(len(rows) - len(ways), len(rows)))
    assert len(panel.others_of["programs"]) == len(rows)
    chords = rows[ways[0]]["symbol"].removeprefix("→ ").split(" – ")
    first, last = pitches(panel.others_of["programs"][ways[0]])[:5], pitches(panel.others_of["programs"][ways[0]])[-5:]
    assert len(pitches(panel.others_of["programs"][ways[0]])) == 5 * (len(chords) + 2)
    assert {round(31 * np.log2(hertz / 440)) % 31 for hertz in first} == {(s - 23) % 31 for s in (5, 13, 23, 31)}
    assert {round(31 * np.log2(hertz / 440)) % 31 for hertz in last} == {(s - 23) % 31 for s in (18, 28, 5, 13)}
    before = retuned(panel)
    ask(panel, "take", (ways[0],))
    assert panel.told == "The way is in the tune now, in its text too, and locked."
    assert retuned(panel) == ["Dm7", *chords, *before[1:]]
    assert [sign["locked"] for sign in panel.signs] == [False, *[True] * len(chords), False, False]
    assert chords[0].replace("♭", "b") in panel.text
    ask(panel, "save choices")
    saved = next((here / FOLDER).glob("*-choices.toml")).read_text("utf-8")
    assert saved.count("[[chords]]") == len(chords)
    again = tune_panel(panel.text)
    ask(again, "open choices")
    assert again.problem == "" and [sign["locked"] for sign in again.signs] == [sign["locked"] for sign in panel.signs]
    ask(panel, "choose", (1,))
    assert panel.chord["locked"]
    ask(panel, "undo")
    assert panel.text == CADENCE and retuned(panel) == before
    assert panel.told == "The tune is without the way again."
    ask(panel, "redo")
    assert retuned(panel) == ["Dm7", *chords, *before[1:]]
    panel.text = "title: x\n\n| C | huh |"
    assert panel.tune is None
    panel.text = CADENCE
    assert retuned(panel) == before
