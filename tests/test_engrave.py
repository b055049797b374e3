"""Engraving, and the engraved staff as pixels, against the music font's standard and another renderer."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
import resvg_py
from matplotlib.font_manager import get_font
from PIL import Image
from staff_pixels import staff_pixels

from tunelib.export.engrave import TEXT_FONT, engrave_svg
from tunelib.export.musicxml import musicxml_text
from tunelib.export.outlines import FONT_FOLDER, staff_drawing
from tunelib.pitch.instruments import instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import equal
from tunelib.score import Score, ScoreNote

# Names and code points of the Standard Music Font Layout: glyphnames.json of the W3C Music Notation Community Group.
ACCIDENTALS = {
    "Dbb4": ("accidentalDoubleFlat", "E264"),
    "Db4": ("accidentalFlat", "E260"),
    "Dhb4": ("accidentalQuarterToneFlatStein", "E280"),
    "Dbhb4": ("accidentalThreeQuarterTonesFlatZimmermann", "E281"),
    "Dh#4": ("accidentalQuarterToneSharpStein", "E282"),
    "D#4": ("accidentalSharp", "E262"),
    "D#h#4": ("accidentalThreeQuarterTonesSharpStein", "E283"),
    "Dx4": ("accidentalDoubleSharp", "E263"),
}
CLEFS = {"flute": "E050", "tenor voice": "E052", "viola": "E05C", "cello": "E062"}


def score(*names: str, beats: float = 1) -> Score:
    notes = [Note.parse(name) for name in names]
    return Score(
        tuple(
            ScoreNote(i * beats, beats, note.hz(equal(24)), note, label=f"{i} · {i}/4") for i, note in enumerate(notes)
        )
    )


def engraved(*names: str, beats: float = 1) -> str:
    [svg] = engrave_svg(musicxml_text(score(*names, beats=beats)))
    return svg


def glyphs(svg: str) -> list[str]:
    return re.findall(r'xlink:href="#([0-9A-F]{4})-', svg)


@pytest.mark.parametrize(("name", "sign"), ACCIDENTALS.items())
def test_accidentals_are_the_standard_music_fonts(name: str, sign: tuple[str, str]) -> None:
    assert [glyph for glyph in glyphs(engraved(name)) if "E260" <= glyph < "E300"] == [sign[1]]


@pytest.mark.parametrize(("player", "glyph"), CLEFS.items())
def test_clefs_are_the_standard_music_fonts(player: str, glyph: str) -> None:
    """gClef, gClef8vb, cClef, fClef"""
    [svg] = engrave_svg(musicxml_text(score("C4"), instrument(player)))
    assert glyphs(svg)[0] == glyph


def test_the_engraver_is_quiet(capfd: pytest.CaptureFixture[str]) -> None:
    engraved(*ACCIDENTALS)
    with pytest.raises(ValueError, match="cannot be engraved"):
        engrave_svg("not music")
    assert capfd.readouterr() == ("", "")


def test_the_same_music_gives_the_same_drawing() -> None:
    assert engraved("C4", "E4") == engraved("C4", "E4")


def test_lines_are_broken_to_the_width_and_pages_to_the_count() -> None:
    text = musicxml_text(score(*["C4"] * 64))
    assert len(engrave_svg(text)) == 1
    assert len(engrave_svg(text, page_width=1800)) == 1
    lines = engrave_svg(text, page_width=1800, lines_per_page=1)
    assert len(lines) > 1
    assert sum(svg.count('class="notehead"') for svg in lines) == 64


def test_encoded_lines_are_kept() -> None:
    text = musicxml_text(score(*["C4"] * 32), new_lines=(3, 4, 7))
    lines = engrave_svg(text, page_width=1800, lines_per_page=1, encoded_lines=True)
    assert [svg.count('class="measure"') for svg in lines] == [2, 1, 3, 2]


def test_labels_stand_clear_of_the_sign_for_an_octave_below() -> None:
    """Top of the words, two thirds of their size above the baseline, against the dashed line"""
    [svg] = engrave_svg(musicxml_text(score("G2", "A2"), instrument("flute")))
    baselines = [float(y) for y in re.findall(r'class="syl">\s*<text [^>]*y="(\d+)"', svg)]
    dashed = [float(y) for y in re.findall(r'<path d="M\d+ (\d+) L\d+ \d+"[^>]*dasharray', svg)]
    assert len(baselines) == 2
    assert len(dashed) == 1
    assert min(baselines) - 2 / 3 * 405 > dashed[0] + 150


def test_a_label_is_one_piece_centred_under_its_note() -> None:
    """To within half a notehead"""
    svg = engraved("C4", "D4", "E4", beats=4)
    assert re.findall(r'px">([^<]*/[^<]*)<', svg) == [
        f"{i}\N{NO-BREAK SPACE}·\N{NO-BREAK SPACE}{i}/4" for i in range(3)
    ]
    pixels = staff_pixels(svg, 1000, "black")[..., 3]
    scale = 1000 / float(re.findall(r'viewBox="0 0 (\d+) \d+">', svg)[-1])
    columns = np.flatnonzero(pixels[-40:-5].any(axis=0))
    runs = np.split(columns, np.flatnonzero(np.diff(columns) > 60) + 1)
    margin = float(re.findall(r'class="page-margin" transform="translate\((\d+)', svg)[0])
    heads = [(margin + float(x)) * scale for x in re.findall(r"#E0A2[^>]*translate\((\d+)", svg)]
    assert len(runs) == len(heads) == 3
    for run, head in zip(runs, heads, strict=True):
        middle = head + 152 * scale  # Bravura's whole note is 1.69 staff spaces wide, and a space is 180
        assert abs((run[0] + run[-1]) / 2 - middle) < 76 * scale


def words(svg: str) -> str:
    return "".join(text.text or "" for text in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}tspan"))


def test_no_word_on_the_staff_can_be_an_empty_box() -> None:
    """Every letter is in the face that comes with matplotlib; the music font's own code points are drawn, not set"""
    found = set(words(engraved("C4", "Dhb4", "G2", "C8", "F#4"))) - set("\n ")
    assert {"♩", "·", "/", "+", "−"} <= found | {"+", "−"}
    face = get_font(str(FONT_FOLDER / f"{TEXT_FONT}.ttf"))
    assert all(face.get_char_index(ord(letter)) for letter in found | set("♯♭♮½"))


EVERYTHING = engraved("Ehb4", "C#5", "F4", "G5", "C7", "C7", "D3", "Abb4", "Ax4", "B4", "B4", "C8", beats=0.75)


def by_another_renderer(svg: str, width: int) -> np.ndarray:
    faces = [str(path) for path in FONT_FOLDER.glob(f"{TEXT_FONT}*.ttf")]
    png = resvg_py.svg_to_bytes(
        svg_string=svg, width=width, background="white", skip_system_fonts=True, font_files=faces
    )
    return np.array(Image.open(io.BytesIO(bytes(png))).convert("L"), dtype=float)


def worst_difference(svg: str, other: str, width: int) -> float:
    """Of our pixels of one drawing and resvg's of another: the mean grey of 8 by 8 pixels, where it differs most."""
    ours = staff_pixels(svg, width, "black", "white")[..., 0].astype(float)
    theirs = by_another_renderer(other, width)
    assert abs(len(ours) - len(theirs)) <= 1
    high, wide = (length // 8 - 1 for length in ours.shape)
    tiles = (ours[: 8 * high, : 8 * wide] - theirs[: 8 * high, : 8 * wide]).reshape(high, 8, wide, 8)
    return float(np.abs(tiles.mean(axis=(1, 3))).max())


@pytest.mark.parametrize("width", [500, 800, 1200, 2000])
def test_pixels_are_those_of_another_renderer(width: int) -> None:
    """resvg's, but for the smoothing of edges; the bold face of the tempo is not compared"""
    svg = EVERYTHING.replace('class="tempo"', 'class="mark"')
    assert worst_difference(svg, svg, width) < 35


def test_the_comparison_can_fail() -> None:
    svg = EVERYTHING.replace('class="tempo"', 'class="mark"')
    # One sign for another, a missing beam or a missing word shows.
    for part, instead in (
        ('href="#E262', 'href="#E263'),
        ("<polygon", "<none"),
        (">2\N{NO-BREAK SPACE}·\N{NO-BREAK SPACE}2/4", "> "),
    ):
        assert part in svg
        assert worst_difference(svg.replace(part, instead, 1), svg, 1200) > 50


@pytest.mark.parametrize("width", [200, 333, 500, 777, 1200])
def test_no_staff_line_is_lost_at_any_size(width: int) -> None:
    """Columns clear of all signs hold as much ink as five lines of 13 units"""
    svg = engraved(*["C5", "D5", "E5", "F5"] * 4)
    scale = width / staff_drawing(svg).width
    inked = staff_pixels(svg, width, "black")[..., 3].sum(axis=0, dtype=float)
    assert np.percentile(inked[inked > 0], 30) / 255 == pytest.approx(5 * 13 * scale, rel=0.2)


def test_paper_is_transparent_and_ink_has_the_colour_asked_for() -> None:
    picture = staff_pixels(EVERYTHING, 900, "#0072B2")
    assert picture.dtype == np.uint8
    assert picture.shape[1:] == (900, 4)
    assert picture[0, 0, 3] == 0
    solid = picture[picture[..., 3] == 255]
    assert len(solid) > 500
    assert np.all(solid[:, :3] == (0x00, 0x72, 0xB2))


def test_paper_has_the_colour_asked_for() -> None:
    picture = staff_pixels(EVERYTHING, 300, "white", "#101820")
    assert picture[0, 0].tolist() == [0x10, 0x18, 0x20, 255]
    assert np.all(picture[..., 3] == 255)


def test_nothing_is_cut_off() -> None:
    picture = staff_pixels(EVERYTHING, 1200, "black")
    edges = [picture[0], picture[-1], picture[:, 0], picture[:, -1]]
    assert not any(edge[:, 3].any() for edge in edges)


@pytest.mark.parametrize("svg", ["<svg", "<svg xmlns='http://www.w3.org/2000/svg'/>"])
def test_what_is_no_engraving_is_refused(svg: str) -> None:
    with pytest.raises(ValueError, match="not a drawing by engrave_svg"):
        staff_drawing(svg)


def test_a_drawing_tells_where_its_notes_and_lines_are() -> None:
    """Five lines a space apart; in the treble clef B4 is on the middle one, C5 and A4 in the spaces beside it"""
    drawing = staff_drawing(engraved("C5", "A4", "B4"))
    lines = np.array(drawing.staff_lines)
    assert len(lines) == 5
    space = lines[1] - lines[0]
    assert np.all(np.diff(lines) == space)
    places = [(lines[2] - y) / (space / 2) for _, y in drawing.noteheads]
    assert places == [1, -1, 0]
    across = [x for x, _ in drawing.noteheads]
    assert across == sorted(across)
    assert across[-1] < drawing.width
