"""The keys as Python has them: what they are called, what MIDI plays, what was heard; and their picture."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tunelib import Note, equal, midi_from_hz
from tunelib.export import engrave_svg, midi_bytes, musicxml_text, printed_symbol
from tunelib.harmony import Chord, readings, scales_over
from tunelib.live import LAYOUTS, Keys, harmonic_keys, keys
from tunelib.live.chord_table import chord_table
from tunelib.live.key_notes import key_notes
from tunelib.live.midi_maps import midi_maps


def hold(board: Keys, *steps: int) -> None:
    """As the page does when these keys are down and no others."""
    board.set_state({"held": sorted(steps)})


def tell(board: Keys, *messages: dict[str, Any]) -> None:
    """As the page does when notes begin and end."""
    for message in messages:
        board._handle_custom_msg(message, [])


def begins(number: int, step: int, seconds: float, velocity: float = 0.7, cents: float = 0.0) -> dict[str, Any]:
    return {"id": number, "step": step, "seconds": seconds, "velocity": velocity, "cents": cents}


def ends(number: int, seconds: float) -> dict[str, Any]:
    return {"id": number, "seconds": seconds}


@pytest.mark.parametrize("division", [12, 19, 31, 53])
def test_the_page_names_a_chord_as_the_library_does(division: int) -> None:
    """The same root, the same word, whatever the chord stands on"""
    tuning = equal(division)
    table = chord_table(tuning)
    assert len(table) > 40
    for above, (root, word, _) in table.items():
        for bass in (0, 3, division // 2):
            steps = [bass, *(bass + int(step) for step in above.split())]
            best = readings(steps, tuning)[0]
            assert best.chord.root.step(tuning) % division == (bass + root) % division
            assert printed_symbol(best.chord).split("/")[0].endswith(word)
            assert ("/" in best.symbol) == (root != 0)


def test_the_table_has_the_ratios_of_chords_and_none_for_tunings_without_letters() -> None:
    table = chord_table(equal(31))
    assert table["10 18 25"] == (0, "harm7", "4:5:6:7")
    assert table["9 18"] == (0, "neu", "18:22:27")
    assert table["5 10 14 18 25"] == (0, "harm9½♯11", "4:5:6:7:9:11")  # which step 27 asks for
    assert table["13 21"] == (13, "m", "10:12:15")
    assert chord_table(equal(11)) == {}


def test_black_keys_play_what_the_words_say() -> None:
    notes = key_notes(31)
    ways = {way["said"]: way["steps"] for way in midi_maps(notes)}
    names = [str(notes.note(step)) for step in ways["black keys are half-flats"][60:72]]
    assert names == "C4 D½♭4 D4 E½♭4 E4 F4 G½♭4 G4 A½♭4 A4 B½♭4 B4".split()
    assert ways["black keys are sharps"][70] == notes.step("A#4")
    assert ways["black keys are flats"][58] == notes.step("Bb3")
    assert ways["step by step from middle C"][60:64] == [0, 1, 2, 3]


def test_the_nearest_note_is_nearest() -> None:
    notes = key_notes(31)
    [steps] = [way["steps"] for way in midi_maps(notes) if "nearest" in way["said"]]
    for number, step in enumerate(steps):
        away = [abs(midi_from_hz(notes.hz(step + beside)) - number) for beside in (-1, 0, 1)]
        assert away[1] < min(away) + 1e-9


@pytest.mark.parametrize("tuning", [12, "Vallotti", 31, 19, 11, 53])
def test_every_way_but_the_last_has_a_step_for_each_midi_key(tuning: int | str) -> None:
    *ways, last = midi_maps(key_notes(tuning))
    assert last["steps"] == [] and "MPE" in last["said"]
    for way in ways:
        assert len(way["steps"]) == 128
        assert all(low < high for low, high in zip(way["steps"][30:90], way["steps"][31:91], strict=True)) or (
            "nearest" in way["said"]
        )


def test_what_is_held_is_named_and_told_to_the_page() -> None:
    board = keys(31)
    heard: list[list[int]] = []
    board.observe(lambda change: heard.append(change["new"]), "held")
    hold(board, 5, 14, 23)
    assert board.chord == "Dneu, near 18:22:27"
    assert board.reading["why"] == "Root position, complete; a neutral third."
    hold(board, 5)
    assert (board.chord, board.reading["why"]) == ("", "")
    hold(board)
    assert heard == [[5, 14, 23], [5], []]


def test_a_chord_has_the_signs_of_a_chart() -> None:
    board = keys(31)
    for steps, symbol in (((9, 18, 27), "E½♭neu"), ((28, 36, 44, 54), "Bm7♭5"), ((9, 17, 27, 37), "E½♭m(maj7)")):
        hold(board, *steps)
        assert board.chord.split(",")[0] == symbol


def test_two_notes_are_an_interval_and_no_chord() -> None:
    """In whatever octaves; with a third one beside them they are a chord"""
    board = keys(31)
    for interval in ((0, 10), (0, 13), (0, 18), (0, 18, 31), (0, 10, 62)):
        hold(board, *interval)
        assert (board.chord, board.reading["why"]) == ("", "")
    hold(board, 0, 10, 49)
    assert board.chord == "C, near 4:5:6"


def test_a_wolf_has_no_name() -> None:
    """In quarter-comma meantone G♯ and E♭ are no fifth, and E♭ is no third to B"""
    board = keys("quarter-comma", "line")
    hold(board, 0, 4, 7)
    assert board.chord == "C, near 4:5:6"
    for wolf in ((8, 12, 15), (11, 15, 18)):
        hold(board, *wolf)
        assert board.chord == ""
    hold(board, 6, 9, 13)
    assert board.chord == "F♯m, near 10:12:15"


def test_harmonics_are_a_chord_by_their_numbers() -> None:
    board = harmonic_keys("C2")
    hold(board, 3, 4, 5)
    assert board.chord == "4:5:6"


def test_what_was_played_becomes_a_score_and_its_outputs() -> None:
    board = keys(31)
    tell(
        board, begins(1, 0, 100.0, 1.0), begins(2, 10, 100.5, 0.5), ends(1, 101.0), ends(2, 101.5), begins(3, 18, 102.0)
    )
    first, second, third = board.played
    assert first == (0.0, 0, 1.0, 1.0, 0.0)
    assert (second.seconds, second.duration) == (0.5, 1.0)
    assert third.duration is None
    score = board.score(tempo=120)
    assert [(note.onset, note.duration) for note in score.notes[:2]] == [(0.0, 2.0), (1.0, 2.0)]
    assert [str(note.name) for note in score.notes] == ["C4", "E4", "G4"]
    assert [note.hertz for note in score.notes] == pytest.approx(equal(31).hz([0, 10, 18]))
    assert [note.level for note in score.notes[:2]] == [1.0, 0.25]
    assert midi_bytes(score).startswith(b"MThd")
    assert "score-partwise" in musicxml_text(score)
    board.clear()
    assert board.played == () and board.score().notes == ()
    tell(board, ends(3, 104.0), begins(4, 1, 105.0))
    assert board.played[0].seconds == 0.0


def test_times_are_moved_to_a_grid_or_left() -> None:
    """A player is never quite in time; what is written is"""
    board = keys(31)
    for i, seconds in enumerate((0.0, 0.013, 0.71, 1.38, 2.02)):
        tell(board, begins(i, 5 * i, seconds), ends(i, seconds + 0.6))
    assert [note.onset for note in board.score(60).notes] == [0, 0, 0.75, 1.5, 2]
    assert [note.onset for note in board.score(60, grid=0).notes] == pytest.approx([0.0, 0.013, 0.71, 1.38, 2.02])
    assert engrave_svg(musicxml_text(board.score(90)))
    for given, words in (((0.0,), "tempo"), ((60, -1), "grid")):
        with pytest.raises(ValueError, match=words):
            board.score(*given)


def test_a_bent_note_is_in_the_score_at_its_own_pitch() -> None:
    board = keys(12)
    tell(board, begins(1, 4, 0.0, cents=-13.7), ends(1, 1.0))
    [note] = board.score().notes
    assert midi_from_hz(note.hertz) == pytest.approx(63.863)


def test_a_scale_is_marked_in_every_octave_and_its_chord_strongly() -> None:
    """The alto's keys sound E♭4 as C: over E♭harm7 its lowest key is the root; other notes are marked lightly."""
    over = scales_over(Chord.parse("Ebharm7"), equal(31))[0]
    board = keys(31, "staff", player="alto saxophone", octaves=2, lit=over, over=True)
    root = Note.parse("Eb4").step(equal(31))
    lowest = min(place["step"] for place in board.board["keys"])
    assert (lowest - root) % 31 == 0
    assert [step - lowest for step in board.lit] == [0, 5, 10, 13, 18, 23, 25, 31, 36, 41, 44, 49, 54, 56, 62]
    assert [step - lowest for step in board.faint] == [5, 13, 23, 36, 44, 54]
    assert board.page_state["faint"] == board.faint and board.page_state["over"] is True
    board.light("C4")
    assert board.faint == []
    with pytest.raises(
        ValueError, match=r"the scale is one of 12 equal steps and the keys are of 31 equal steps: take"
    ):
        board.light(scales_over(Chord.parse("C"), equal(12))[0])


def test_what_is_lit_is_given_as_steps_notes_or_text() -> None:
    board = keys(31, lit=[0, 10])
    assert board.lit == [0, 10]
    board.light("C4 E½♭4 G4")
    assert board.lit == [0, 9, 18]
    board.light([Note.parse("D4"), "F#5"])
    assert board.lit == [5, 46]
    board.light()
    assert board.lit == []
    with pytest.raises(ValueError, match="is not a note"):
        board.light("H4")
    with pytest.raises(ValueError, match="have numbers"):
        keys(11, "line").light("C4")


def test_the_page_has_all_it_needs_without_asking() -> None:
    """As JSON and bytes, and no more of them than a page can carry"""
    board = keys(31)
    assert len(json.dumps(board.page_state)) < 40_000
    assert board.page_state["choices"] == ["organ-like", "flute-like", "plucked-like"]
    assert len(board.tones) < 250_000
    assert sum(length for _, _, length in board.timbres) == len(board.tones)


def test_a_timbre_that_is_chosen_in_the_page_is_sent_to_it() -> None:
    board = keys(31, timbre="sine")
    before = len(board.tones)
    board.set_state({"timbre": "brass-like"})
    name, offset, length = board.timbres[-1]
    assert (name, offset) == ("brass-like", before)
    assert len(board.tones) == before + length
    board.set_state({"timbre": "sine"})
    assert len(board.timbres) == 5


def test_names_are_said_in_words() -> None:
    scale = keys(31).scale
    assert scale["names"][8:11] == ["E♭", "E½♭", "E"]
    assert scale["said"][8:11] == ["E flat", "E half-flat", "E"]
    assert harmonic_keys().scale["said"][6] == "number 7"


def test_a_reader_without_a_kernel_sees_the_keys_and_their_words() -> None:
    board = keys(31, lit="C4 E4 G4", title="A chord")
    bundle, metadata = board._repr_mimebundle_()
    assert bundle["text/plain"] == "A chord: 75 keys in rows, from C4 to C6; marked: C4, E4 and G4."
    assert metadata["image/png"]["alt"] == bundle["text/plain"]
    with (
        Image.open(io.BytesIO(bundle["image/png"])) as picture,
        Image.open(io.BytesIO(keys(31, title="A chord")._repr_mimebundle_()[0]["image/png"])) as unlit,
    ):
        assert picture.size == unlit.size and picture.tobytes() != unlit.tobytes()


def test_what_readme_says_of_the_keys_is_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    readme = (Path(__file__).parent.parent / "README.md").read_text("utf-8")
    made, used = (block for block in re.findall(r"```python\n(.*?)```", readme, re.DOTALL) if "board" in block)
    names: dict[str, Any] = {}
    exec(made, names)
    for call in re.findall(r"keys\([^)]*\)", made):
        assert isinstance(eval(call, names), Keys)
    tell(names["board"], begins(1, 0, 0.0), ends(1, 1.0))
    exec(used, names)
    assert names["board"].lit == [5, 14, 23]
    assert {path.name for path in tmp_path.iterdir()} == {"played.mid", "played.musicxml"}
    assert set(re.findall(r'`"(\w+)"`', readme)) >= set(LAYOUTS)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"tuning": 0}, "a division has"),
        ({"tuning": "meantune"}, "no temperament is called"),
        ({"layout": "piano"}, "no layout of keys"),
        ({"timbre": "trumpet"}, "no timbre"),
        ({"lowest": "H3"}, "not a note"),
        ({"octaves": 9}, "number of octaves"),
        ({"layout": "staff", "player": "lyre"}, "no instrument"),
    ],
)
def test_what_does_not_exist_is_refused(given: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        keys(**given)


def test_the_page_has_tones_and_marks_from_the_first_message_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that no key is there before there is something for it to sound"""
    opened: list[dict[str, Any]] = []
    monkeypatch.setattr(Keys, "open", lambda self: opened.append(self.get_state()))
    board = keys(31, lit=[0, 10])
    [first] = opened
    assert first["lit"] == [0, 10]
    assert first["tones"] == board.tones and first["timbres"] == board.timbres
    assert first["timbre"] in [name for name, _, _ in first["timbres"]]
