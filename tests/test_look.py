"""The look of all pictures: type, signs, colours, each held beside a published standard or model."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import verovio
from colorspacious import cspace_convert, deltaE
from fontTools.ttLib import TTFont
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.text import Text

from tests.test_exhibits import EVERY, contrast
from tunelib.exhibits import THEMES, Exhibit, Look
from tunelib.exhibits.look import SIZES, Words
from tunelib.exhibits.typeface import FAMILY, OTHER_SIGNS, SIGNS, as_set, families
from tunelib.pitch import Note
from tunelib.show.stage import Stage

MEANINGS = ("pure", "twelve", "thirty_one")
KINDS = ("full", "text", "dim")
SIGHTS = (None, "protanomaly", "deuteranomaly", "tritanomaly")


def font(weight: str) -> TTFont:
    families()
    return TTFont(findfont(FontProperties(family=FAMILY, weight=weight), fallback_to_default=False))


@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_figures_have_one_width(weight: str) -> None:
    """A number that changes does not dance."""
    face = font(weight)
    widths = {face["hmtx"][face.getBestCmap()[ord(figure)]][0] for figure in "0123456789"}
    assert len(widths) == 1


@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_signs_are_the_engravers_under_the_standards_names(weight: str) -> None:
    """Each sign is at its code in SMuFL, by its name there, in the engraver's outline, no more than widened.

    Names and codes: Standard Music Font Layout (SMuFL) 1.4, "Standard accidentals (12-EDO)" and "Stein-Zimmermann
    accidentals (24-EDO)", read from the engraver's own list of its font's glyphs.
    """
    face = font(weight)
    glyphs = {glyph.get("c"): glyph for glyph in ET.parse(Path(verovio.__file__).parent / "data/Bravura.xml").iter("g")}
    for sign in SIGNS:
        listed = glyphs[f"{sign.code:X}"]
        assert listed.get("n") == sign.smufl
        assert face.getBestCmap()[sign.code] == sign.smufl
        drawn = face["glyf"][sign.smufl]
        shape = (drawn.xMax - drawn.xMin) / (drawn.yMax - drawn.yMin)
        assert shape == pytest.approx(sign.wider * float(listed.get("w", 0)) / float(listed.get("h", 1)), rel=0.02)
    half, whole = (face["glyf"][name] for name in ("accidentalQuarterToneSharpStein", "accidentalSharp"))
    assert whole.xMax - whole.xMin > 1.4 * (half.xMax - half.xMin), "one upright stroke is told from two"
    half, whole = (face["glyf"][name] for name in ("accidentalQuarterToneFlatStein", "accidentalFlat"))
    assert lean(half) > 0 > lean(whole), "a half-flat has its stem at the right, a flat at the left"


def lean(glyph: object) -> float:
    """Where the top of a sign is from its middle: negative at the left."""
    points = np.array(glyph.coordinates)  # type: ignore[attr-defined]
    return float(points[points[:, 1].argmax(), 0] - (points[:, 0].min() + points[:, 0].max()) / 2)


@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_signs_suit_the_letters(weight: str) -> None:
    """About as high as a capital with a little above and below, off the letter before, the half-flat farthest."""
    face = font(weight)
    capital, em = face["OS/2"].sCapHeight, face["head"].unitsPerEm
    for sign in SIGNS:
        drawn = face["glyf"][sign.smufl]
        assert -0.15 * capital < drawn.yMin and drawn.yMax < 1.15 * capital
        assert drawn.xMin >= 0.04 * em
    gaps = {sign.smufl: face["glyf"][sign.smufl].xMin for sign in SIGNS}
    assert max(gaps, key=lambda name: gaps[name]) == "accidentalQuarterToneFlatStein"


def test_every_spelling_of_a_note_is_shown_with_players_signs() -> None:
    """From four half-flats to four half-sharps a picture shows one sign after the letter."""
    for half_sharps in range(-4, 5):
        shown = as_set(str(Note("C", half_sharps, 4)))
        assert shown[0] == "C" and shown[-1] == "4" and len(shown) == (2 if half_sharps == 0 else 3)
    assert as_set("½ of E½♭ and 1½ tones") == "½ of E\ue280 and 1½ tones"
    words = Words(0, 0, "")
    words.set_text("D½♯")
    assert words.get_text() == "D\ue282"


@EVERY
@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
def test_type_has_four_sizes_and_two_weights(exhibit: Exhibit, size: str) -> None:
    """Nothing is set in another size, weight or family."""
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle({}))
    sizes = {stage.look.size(name) for name in SIZES}
    for text in stage.figure.findobj(Text):
        if text.get_text().strip() and text.get_visible():
            assert text.get_fontsize() in sizes, text.get_text()
            assert text.get_fontweight() in ("normal", "bold", 400, 700), text.get_text()
            assert text.get_fontfamily() == [FAMILY, OTHER_SIGNS], text.get_text()


def seen(colour: str, sight: str | None) -> np.ndarray:
    """A colour as somebody sees it whose colour vision is of a kind: Machado, Oliveira and Fernandes 2009."""
    rgb = np.array(to_rgb(colour))
    if sight is None:
        return rgb
    space = {"name": "sRGB1+CVD", "cvd_type": sight, "severity": 100}
    return np.clip(cspace_convert(rgb, space, "sRGB1"), 0, 1)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("kind", "least"), [("full", 11), ("text", 11), ("dim", 8)])
def test_the_three_meanings_stay_apart_for_every_kind_of_sight(theme: str, kind: str, least: float) -> None:
    """Any two differ by the least given, in CAM02-UCS (Luo, Cui and Li 2006), for full protans, deutans and tritans.

    Simulated after Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color Vision
    Deficiency", IEEE TVCG 15 (2009); a difference of 1 is about the smallest that is seen.
    """
    colours = [getattr(getattr(THEMES[theme], meaning), kind) for meaning in MEANINGS]
    for sight in SIGHTS:
        for one, other in itertools.combinations(colours, 2):
            assert deltaE(seen(one, sight), seen(other, sight), input_space="sRGB1") >= least, (sight, one, other)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_colours_stand_out_from_paper(theme: object) -> None:
    """Text reaches 4.5 to 1 (WCAG 2.2, 1.4.3), lines and marks 3 to 1 (1.4.11), ink on every ground 4.5 to 1."""
    paper = theme.behind_text
    assert contrast(theme.ink, paper) >= 4.5 and contrast(theme.grey, paper) >= 4.5
    assert contrast(theme.line, paper) >= 3
    assert contrast(theme.ink, theme.ground) >= 4.5
    for meaning in MEANINGS:
        tint = getattr(theme, meaning)
        assert contrast(tint.text, paper) >= 4.5
        assert contrast(tint.full, paper) >= 3 and contrast(tint.dim, paper) >= 3
        assert contrast(theme.ink, tint.fill) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_roughness_runs_one_way_in_lightness_for_every_kind_of_sight(theme: str) -> None:
    """Lightness (CIE L*) rises or falls from smooth to rough, in steps of 7 or more, whoever looks."""
    for sight in SIGHTS:
        lightness = [cspace_convert(seen(stop, sight), "sRGB1", "CIELab")[0] for stop in THEMES[theme].rough]
        steps = np.diff(lightness) * (1 if theme == "dark" else -1)
        assert steps.min() >= 7, sight


@EVERY
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("size", ["panel", "square"])
def test_words_stand_out_from_what_is_really_behind_them(exhibit: Exhibit, theme: str, size: str) -> None:
    """Against the colour that most of a text's box has without the text: 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    stage = Stage(exhibit, size, theme)
    values = exhibit.settle({})
    stage.move(values)
    renderer = stage.canvas.get_renderer()
    texts = [(text, text.get_window_extent(renderer)) for text in stage.texts()]
    shown = {text: text.get_color() for text, _ in texts}
    stage.whole(values)
    for text, _ in texts:
        text.set_visible(False)
    stage.canvas.draw()
    bare = stage.pixels()[::-1]
    for text, box in texts:
        if text.axes is not None and not text.axes.axison and text not in text.axes.findobj(Words):
            continue  # of a tick that is not drawn
        x0, y0, x1, y1 = (round(end) for end in box.extents)
        patch = bare[max(y0, 0) : y1, max(x0, 0) : x1, :3].reshape(-1, 3)
        if not len(patch):
            continue
        colours, counts = np.unique(patch, axis=0, return_counts=True)
        behind = "#" + "".join(f"{channel:02x}" for channel in colours[counts.argmax()])
        assert contrast(shown[text], behind) >= 4.5, (text.get_text(), behind)


def test_titles_and_frames_have_one_place() -> None:
    """In every shape the title begins at the margin, and the frame for the thing itself ends below it."""
    for look in (Look(THEMES["dark"]), Look(THEMES["dark"], tall=True), Look(THEMES["dark"], tall=True, square=True)):
        figure = Figure(figsize=look.inches, dpi=100)
        heading = look.heading(figure, "A wave you can see")
        box = heading.get_window_extent()
        left, bottom, width, height = look.frame
        assert box.x0 == pytest.approx(left * look.inches[0] * 100, abs=1.5)
        assert (bottom + height) * look.inches[1] * 100 < box.y0
        assert left + width == pytest.approx(1 - left) and bottom * look.inches[1] == pytest.approx(0.45)
