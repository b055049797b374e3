"""The staff of thirty-one notes: what is engraved, named and sounded, beside published names and other libraries."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import music21
import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from test_exhibits import boxes, settings

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits import staff as staff_room
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.look import THEMES, Look, find_theme
from tunelib.exhibits.typeface import as_set
from tunelib.exhibits.written import lowest_c, written_notes
from tunelib.export.engrave import engrave_svg
from tunelib.export.musicxml import musicxml_text
from tunelib.export.outlines import line_drawings, staff_drawing
from tunelib.pitch import equal, harmonic_deviations
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note
from tunelib.score import Score, ScoreNote
from tunelib.show.stage import SIZES, Stage

EVERY_PLAYER = pytest.mark.parametrize("player", INSTRUMENTS.values(), ids=INSTRUMENTS)
BOTH = pytest.mark.parametrize("along_the_fifths", [False, True])

# Names and code points of the Standard Music Font Layout: glyphnames.json of the W3C Music Notation Community Group.
SIGNS = {
    "accidentalDoubleFlat": "E264",
    "accidentalFlat": "E260",
    "accidentalQuarterToneFlatStein": "E280",
    "accidentalNatural": "E261",
    "accidentalQuarterToneSharpStein": "E282",
    "accidentalSharp": "E262",
    "accidentalDoubleSharp": "E263",
}
# What stands on a staff from C to the F♯ above it, in order (thirty-one named with halves: common practice).
HALVES = (
    "C", "C half-sharp", "C sharp", "D flat", "D half-flat", "D natural", "D half-sharp", "D sharp", "E flat",
    "E half-flat", "E natural", "E half-sharp", "F half-flat", "F natural", "F half-sharp", "F sharp",
)  # fmt: skip
GLYPH_OF = {
    "half-sharp": "accidentalQuarterToneSharpStein", "sharp": "accidentalSharp", "flat": "accidentalFlat",
    "half-flat": "accidentalQuarterToneFlatStein", "natural": "accidentalNatural",
}  # fmt: skip

# Steps of thirty-one above C (whole tone 5, diatonic semitone 3), and of a sharp: 2 (Huygens 1691, from memory).
LETTER_STEPS = {"C": 0, "D": 5, "E": 10, "F": 13, "G": 18, "A": 23, "B": 28}


def step_by_table(note: Note) -> int:
    """Steps of thirty-one above C4."""
    return LETTER_STEPS[note.letter] + note.half_sharps + 31 * (note.octave - 4)


@pytest.fixture
def engraved(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The drawings that are engraved from here on."""
    found: list[str] = []

    def spied(*args: object, **kwargs: object) -> list[str]:
        found.extend(engrave_svg(*args, **kwargs))  # type: ignore[arg-type]
        return found[-1:]

    staff_room.engraved_lines.cache_clear()
    monkeypatch.setattr(staff_room, "engrave_svg", spied)
    return found


def signs(svg: str) -> list[str]:
    """The code points of the accidentals of a drawing, in order."""
    return [glyph for glyph in re.findall(r'xlink:href="#([0-9A-F]{4})-', svg) if "E260" <= glyph < "E300"]


def test_the_signs_on_the_staff_are_the_standard_music_fonts(engraved: list[str]) -> None:
    """Stein's half-sharp and half-flat, and the usual ones, note by note on the first line."""
    exhibit = EXHIBITS["written_notes"]
    Stage(exhibit).move(exhibit.settle({"instrument": "violin"}))
    expected = [SIGNS[GLYPH_OF[name.split()[1]]] for name in HALVES if " " in name]
    assert len(engraved) == 1
    assert signs(engraved[0])[: len(expected)] == expected
    assert {SIGNS["accidentalQuarterToneFlatStein"], SIGNS["accidentalQuarterToneSharpStein"]} < set(signs(engraved[0]))


def test_along_the_fifths_there_are_double_signs_and_no_halves(engraved: list[str]) -> None:
    """Five double flats (D E G A B) and five double sharps (C D F G A), and nothing of Stein's."""
    exhibit = EXHIBITS["written_notes"]
    Stage(exhibit).move(exhibit.settle({"instrument": "violin", "spelling": "along the fifths"}))
    found = signs(engraved[0])
    assert found.count(SIGNS["accidentalDoubleFlat"]) == found.count(SIGNS["accidentalDoubleSharp"]) == 5
    assert not {"E280", "E281", "E282", "E283"} & set(found)


def test_a_staff_is_engraved_once_however_often_the_mark_moves(engraved: list[str]) -> None:
    """Moving the step engraves nothing; another clef does."""
    exhibit = EXHIBITS["written_notes"]
    stage = Stage(exhibit)
    for step in range(32):
        stage.move(exhibit.settle({"instrument": "violin", "step": step}))
    stage.move(exhibit.settle({"instrument": "trumpet"}))  # the same written notes in the same clef
    assert len(engraved) == 1
    stage.move(exhibit.settle({"instrument": "cello"}))
    assert len(engraved) == 2


@BOTH
@EVERY_PLAYER
def test_all_names_of_a_note_are_one_step_of_thirty_one(player: object, along_the_fifths: bool) -> None:
    """By the steps of the letters and of a sharp, counted by hand, as written and as it sounds."""
    notes = written_notes(player, along_the_fifths)  # type: ignore[arg-type]
    assert [note.step for note in notes] == list(range(32))
    low = step_by_table(notes[0].written)
    for note in notes:
        assert {step_by_table(name) - low for name in note.names} == {note.step}
        assert step_by_table(note.sounding) - step_by_table(notes[0].sounding) == note.step
        assert len(set(note.names)) == len(note.names)
        assert note.hertz == pytest.approx(440 * 2 ** ((step_by_table(note.sounding) - 23) / 31), rel=1e-12)


# Written C sounds, in steps of thirty-one from C4 (major second 5, minor third 8, fifth 18, major sixth 23, octave 31).
# The transpositions are common practice; those of the instruments' table are tested in test_instruments.
SOUNDS = {
    "violin": 0, "trumpet": -5, "clarinet in A": -8, "clarinet in E♭": 8, "horn in F": -18, "alto saxophone": -23,
    "tenor saxophone": -36, "guitar": -31, "piccolo": 62, "cello": -31, "double bass": -62,
}  # fmt: skip


@pytest.mark.parametrize(("player", "steps"), SOUNDS.items())
def test_who_transposes_does_so_by_name(player: str, steps: int) -> None:
    """A tone is five steps of thirty-one, and not two keys of twelve."""
    first = written_notes(instrument(player))[0]
    assert step_by_table(first.sounding) == steps
    assert first.hertz == pytest.approx(440 * 2 ** ((steps - 23) / 31), rel=1e-12)


@BOTH
@EVERY_PLAYER
def test_the_nearest_key_is_the_one_that_a_tuned_keyboard_has(player: object, along_the_fifths: bool) -> None:
    """The MIDI note number nearest to the frequency (69 is 440 Hz: MIDI 1.0), read back through the transposition."""
    for note in written_notes(player, along_the_fifths):  # type: ignore[arg-type]
        number = 69 + 12 * np.log2(note.hertz / 440)
        assert note.cents == pytest.approx(100 * (number - round(number)), abs=1e-9)
        assert abs(note.cents) <= 50
        key = player.sounding(note.key)  # type: ignore[attr-defined]
        assert key.quartertones / 2 + 12 == round(number)


def test_intervals_have_the_names_that_music21_gives_them() -> None:
    """From C to every note along the fifths, up to doubly augmented and diminished (music21's `niceName`)."""
    for note in written_notes(instrument("violin"), along_the_fifths=True):
        sign = {4: "##", 2: "#", 0: "", -2: "-", -4: "--"}[note.written.half_sharps]
        theirs = music21.interval.Interval(
            music21.note.Note("C4"), music21.note.Note(f"{note.written.letter}{sign}{note.written.octave}")
        )
        assert note.interval.name == theirs.niceName.lower().replace("doubly-", "doubly ")


def test_halves_lie_where_music21_puts_its_quarter_tones() -> None:
    """The nominal place on a keyboard with quarter-tones: music21's `ps`, where a half-sharp is 0.5."""
    for note in written_notes(instrument("violin")):
        sign = {2: "#", 1: "~", 0: "", -1: "`", -2: "-"}[note.written.half_sharps]
        theirs = music21.pitch.Pitch(f"{note.written.letter}{sign}{note.written.octave}")
        assert note.written.quartertones == 2 * (theirs.ps - 12)


@EVERY_PLAYER
def test_the_octave_lies_well(player: object) -> None:
    """Within the comfortable range, and no farther from the staff than two ledger lines and the space beyond."""
    low = lowest_c(player)  # type: ignore[arg-type]
    high = Note("C", 0, low.octave + 1)
    assert player.lowest.quartertones <= low.quartertones  # type: ignore[attr-defined]
    assert high.quartertones <= player.highest.quartertones  # type: ignore[attr-defined]
    notes = tuple(note.written for note in written_notes(player))  # type: ignore[arg-type]
    for line in staff_room.engraved_lines(notes, player.clef, 16, 16, 14500.0):  # type: ignore[attr-defined]
        space = line.staff_lines[1] - line.staff_lines[0]
        assert len(line.noteheads) == 16
        for _, y in line.noteheads:
            assert line.staff_lines[0] - 3 * space <= y <= line.staff_lines[-1] + 3 * space


def laid_out(name: str, size: str) -> Any:
    """The scene of an exhibit in a shape, and the figure it is on."""
    frame = SIZES[size]
    stage = Stage(EXHIBITS[name], size)
    stage.figure.clear()
    look = Look(find_theme("light"), tall=frame.height >= frame.width, square=frame.height == frame.width)
    return EXHIBITS[name].lay_out(stage.figure, look)


SHAPES = pytest.mark.parametrize("size", ["panel", "vertical", "square"])


@SHAPES
@pytest.mark.parametrize("spelling", ["with halves", "along the fifths"])
@pytest.mark.parametrize("step", [0, 7, 8, 15, 16, 31])
def test_the_chosen_note_is_in_its_place_with_its_name_under_it(size: str, spelling: str, step: int) -> None:
    """The staff goes by until its head is in the middle of the one place that stays, and the name is set there."""
    scene = laid_out("written_notes", size)
    scene.update(instrument="violin", step=step, spelling=spelling)
    [band] = scene.parts["chosen"]
    middle = float(np.mean(np.asarray(band.get_xy())[:4, 0]))
    patch = scene.parts["notes"][1 + step]
    ink = np.asarray(patch.get_path().vertices)
    assert patch.get_visible()
    assert ink[:, 0].max() - middle == pytest.approx((middle - band.get_xy()[:, 0].min()) * 152 / 430, rel=0.02)
    name = scene.parts["name"][0]
    note = written_notes(instrument("violin"), spelling == "along the fifths")[step]
    assert name.get_text() == as_set(note.written.name) and name.get_position()[0] == pytest.approx(middle)


@SHAPES
def test_the_new_signs_are_bright_and_the_known_ones_soft(size: str) -> None:
    """The half-sharps and half-flats have the colour of thirty-one; sharps, flats and naturals are grey."""
    theme = find_theme("light")
    scene = laid_out("written_notes", size)
    scene.update(instrument="violin", step=0, spelling="with halves")
    colours = [to_hex(patch.get_facecolor()).upper() for patch in scene.parts["notes"][1:33]]
    new = [note.written.half_sharps % 2 == 1 for note in written_notes(instrument("violin"))]
    assert colours[1:] == [theme.thirty_one.full if is_new else theme.grey for is_new in new][1:]
    assert colours[0] == theme.ink and sum(new) == 14


@SHAPES
def test_what_sounds_lights_up_on_the_staff(size: str) -> None:
    """C, the note, and both at once: their heads turn to ink, and no other."""
    scene, values = laid_out("written_notes", size), {"instrument": "violin", "step": 1, "spelling": "with halves"}
    for sounding, lit in (((0,), [0]), ((1,), [1]), ((2, 3), [0, 1])):
        scene.update(**values)
        scene.light(Playing(1.0, sounding))
        colours = [to_hex(patch.get_facecolor()).upper() for patch in scene.parts["notes"][1:33]]
        assert [k for k, colour in enumerate(colours) if colour == find_theme("light").ink] == lit
        scene.update(**values)
        scene.light(SILENT)
        assert find_theme("light").ink not in [
            to_hex(patch.get_facecolor()).upper() for patch in scene.parts["notes"][2:33]
        ]


@SHAPES
@pytest.mark.parametrize("name", ["series_sheet", "written_notes"])
def test_no_ink_of_a_staff_touches_its_words(name: str, size: str) -> None:
    """However far notes are from the staff: no vertex of an outline is in a text's box or outside its place."""
    exhibit = EXHIBITS[name]
    stage = Stage(exhibit, size)
    far = {"player": "double bass", "fundamental": "C4"} if name == "series_sheet" else {"instrument": "piccolo"}
    for values in [*settings(exhibit, extra=6), exhibit.settle(far)]:
        stage.move(values)
        every = []
        for axes in stage.figure.axes:
            patches = [patch for patch in axes.patches if patch.get_visible() and isinstance(patch, PathPatch)]
            ink = [patch.get_transform().transform(patch.get_path().vertices) for patch in patches]
            every.append(np.concatenate([np.empty((0, 2)), *ink]))
            x, y = every[-1].T
            assert np.all((y >= axes.bbox.y0) & (y <= axes.bbox.y1)), values
            assert np.all((x >= axes.bbox.x0) & (x <= axes.bbox.x1)), values
        x, y = np.concatenate(every).T
        for words, box in boxes(stage):
            inside = (x > box.x0) & (x < box.x1) & (y > box.y0 + 1) & (y < box.y1 - 1)
            assert not inside.any(), (words, values)


@pytest.mark.parametrize("size", ["panel", "square panel", "panel at double density", "vertical"])
@pytest.mark.parametrize("player", ["alto saxophone", "piano", "double bass"])
def test_every_line_of_a_staff_is_seen(size: str, player: str) -> None:
    """However small the staff is, and wherever it is between two rows of pixels: five lines for each line of music."""
    exhibit = EXHIBITS["series_sheet"]
    stage = Stage(exhibit, size)
    for fundamental in ("C1", "A♭1", "B♭1", "F2", "D3", "C4"):
        stage.move(exhibit.settle({"player": player, "fundamental": fundamental, "cents": False}))
        inked = stage.pixels()[:, :, :3].min(axis=2) < 235
        across = np.mean(inked, axis=1) > 0.6
        lines = int(np.sum(np.diff(across.astype(int), prepend=0) == 1))
        staves = sum(any(head.get_visible() for head in axes.patches) for axes in stage.figure.axes)
        assert lines == 5 * staves, fundamental


@SHAPES
def test_the_bars_of_a_sheet_are_as_long_as_its_harmonics_are_off(size: str) -> None:
    """On one scale for all, up where they are sharp; none where the written note is within 10 cents; 7 is 31 flat."""
    scene = laid_out("series_sheet", size)
    scene.update(player="alto saxophone", fundamental="B♭1", last=16, cents=True)
    heights: list[float] = []
    for bar in scene.parts["gaps"][: len(scene.parts["gaps"]) // 3]:
        up = np.asarray(bar.get_ydata(), dtype=float).reshape(-1, 3)
        heights += (up[:, 1] - up[:, 0]).tolist()
    off = -np.asarray(harmonic_deviations(equal(12), 16).error)
    shown = np.abs(off) > 10
    assert np.isnan(np.array(heights)[~shown]).all()
    assert np.array(heights)[shown] / heights[6] == pytest.approx(off[shown] / off[6])
    words = [text.get_text() for text in scene.parts["cents"] if text.get_text()]
    assert [round(float(word.replace("−", "-"))) for word in words] == [round(miss) for miss in off[shown]]
    scene.update(player="alto saxophone", fundamental="B♭1", last=16, cents=False)
    assert not any(text.get_text() for text in scene.parts["cents"])


@SHAPES
def test_the_harmonic_that_sounds_lights_up_on_the_sheet(size: str) -> None:
    """One after another, with the drone under all of them; the others recede."""
    values = {"player": "tuba", "fundamental": "B♭1", "last": 6, "cents": True}
    scene, theme = laid_out("series_sheet", size), find_theme("light")
    notes = EXHIBITS["series_sheet"].score(**values).notes
    for number in range(6):
        sounding = tuple(i for i, note in enumerate(notes) if note.onset <= number < note.onset + note.duration)
        scene.update(**values)
        scene.light(Playing(number * 60 / 75, sounding))
        heads = [patch for patch in scene.parts["staff"] if patch.get_visible()]
        lit = [patch for patch in heads if to_hex(patch.get_facecolor()).upper() == theme.ink]
        assert len(lit) == 1
        dim = [patch for patch in heads if to_hex(patch.get_facecolor()).upper() == theme.line]
        assert len(dim) == 5


@BOTH
def test_the_printed_table_has_all_thirty_one(along_the_fifths: bool) -> None:
    """A row for each, as wide as the head; the alto saxophone's frequencies to the hundredth; cautions."""
    exhibit = EXHIBITS["written_notes"]
    spelling = "along the fifths" if along_the_fifths else "with halves"
    printed = exhibit.printed(**exhibit.settle({"spelling": spelling}))
    assert [row[0] for row in printed.rows] == [str(step) for step in range(31)]
    assert {len(row) for row in printed.rows} == {len(printed.head)}
    hertz = [float(row[printed.head.index("Hertz")]) for row in printed.rows]
    assert hertz == pytest.approx([440 * 2 ** ((step - 46) / 31) for step in range(31)], abs=0.005)
    assert "E♭3" in printed.introduction and any("pain means stop" in words for words in printed.cautions)


def line_score(*names: str) -> Score:
    """Whole notes, a bar each."""
    notes = [Note.parse(name) for name in names]
    return Score(tuple(ScoreNote(4 * i, 4, note.hz(), note) for i, note in enumerate(notes)))


def test_lines_taken_apart_are_together_the_page() -> None:
    """Every note, staff line and bit of ink of the page belongs to one of its lines, in the same place."""
    text = musicxml_text(line_score("C4", "F#5", "Bb3", "C7"), new_lines=(2, 4), bare=True)
    [svg] = engrave_svg(text, page_width=600, encoded_lines=True)
    page, lines = staff_drawing(svg), line_drawings(svg)
    assert [len(line.noteheads) for line in lines] == [1, 2, 1]
    assert sum((line.noteheads for line in lines), ()) == page.noteheads
    assert sum((line.staff_lines for line in lines), ()) == page.staff_lines
    ink: Callable[[object], int] = lambda drawing: sum(len(outline.vertices) for outline in drawing.outlines)  # type: ignore[attr-defined]  # noqa: E731
    assert sum(map(ink, lines)) == ink(page)


def test_a_line_of_a_figure_has_no_number_and_ends_with_its_notes() -> None:
    """No bar number where a line begins, no rests to fill the last bar."""
    score = Score(line_score("C4", "D4", "E4").notes, beats_per_bar=8)
    [svg] = engrave_svg(musicxml_text(score, new_lines=(2,), bare=True), page_width=600, encoded_lines=True)
    assert "<tspan" not in svg and 'class="rest"' not in svg
    [full] = engrave_svg(musicxml_text(score, new_lines=(2,)), page_width=600, encoded_lines=True)
    assert re.search(r"<tspan[^>]*>2</tspan>", full) and 'class="rest"' in full


def test_an_octave_sign_ends_with_its_line() -> None:
    """Each line can be read by itself: the sign stops at the end of one and begins again on the next."""
    text = musicxml_text(line_score("C7", "D7", "E7"), new_lines=(3,))
    assert re.findall(r'octave-shift type="(\w+)"', text) == ["down", "stop", "down", "stop"]


def test_the_letters_are_above_the_dots_of_their_notes() -> None:
    """C D E F G A B are 0, 5, 10, 13, 18, 23 and 28 steps up (tones of five steps and semitones of three)."""
    exhibit = EXHIBITS["written_notes"]
    scene = exhibit.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    scene.update(**exhibit.settle({}))
    known, new, *_ = scene.parts["all"]
    dots = np.sort(np.concatenate([known.get_xdata(), new.get_xdata()]))
    at = {text.get_text(): text.get_position()[0] for text in scene.parts["all"][3:] if text.get_visible()}
    assert at == pytest.approx(dict(zip("CDEFGAB", dots[[0, 5, 10, 13, 18, 23, 28]], strict=True)))
