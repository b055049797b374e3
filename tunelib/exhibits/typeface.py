"""The typeface of every picture: letters made to be read at a distance, with the signs of notes as players write them.

The letters are Source Sans (Paul D. Hunt, Adobe; SIL Open Font License), from the package ``font-source-sans-pro``:
open shapes that stay apart at the back of a room, a capital I, a small l and a 1 that differ, and figures of one width,
so that numbers do not dance when they change. It has no signs of notes. Those are the engraver's own outlines, the ones
on our staves (Bravura, SIL Open Font License), found by their codes in SMuFL, the open standard for music fonts, and
set beside the letters. Both licences let the two be put together under another name; that is done once, at first use,
in the user's folder for caches.
"""

from __future__ import annotations

import hashlib
import io
import tempfile
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import platformdirs
from matplotlib.font_manager import fontManager

from tunelib.files import write_whole

FAMILY = "Tunelib Sans"
OTHER_SIGNS = "DejaVu Sans"  # what the letters lack, such as arrows of other shapes, comes from matplotlib's own
WEIGHTS = {"normal": "Regular", "bold": "Semibold"}  # as matplotlib asks for them: the letters that are set


@dataclass(frozen=True)
class Sign:
    """A sign of notes: its name and code in SMuFL, what it is set for, how high and deep it is and how far off.

    Heights are in capital letters above the baseline: where the sign's foot and its top are. `gap` is what is left
    free before it, and `after` what is after it, in ems: a half-flat could be read as a d.
    `wider` stretches it: one upright stroke and two must stay apart where letters are small.
    """

    smufl: str
    code: int
    typed: str
    foot: float
    top: float
    gap: float = 0.05
    after: float = 0.05
    wider: float = 1.0


@dataclass(frozen=True)
class SignOutline:
    """A sign as SVG draws it: the ``d`` of a path, and the matrix that puts it after a letter, in ems, y upwards.

    `advance` is how far the sign moves the pen, `foot` and `top` are where it ends, above the baseline; in ems as well.
    """

    outline: str
    matrix: tuple[float, float, float, float, float, float]
    advance: float
    foot: float
    top: float


SIGNS = (
    Sign("accidentalThreeQuarterTonesFlatZimmermann", 0xE281, "♭½♭", -0.06, 1.12, 0.07),
    Sign("accidentalThreeQuarterTonesSharpStein", 0xE283, "♯½♯", -0.12, 1.12, wider=1.3),
    Sign("accidentalQuarterToneFlatStein", 0xE280, "½♭", -0.06, 1.12, 0.12, 0.1),
    Sign("accidentalQuarterToneSharpStein", 0xE282, "½♯", -0.12, 1.12, wider=1.15),
    Sign("accidentalDoubleFlat", 0xE264, "𝄫", -0.06, 1.12, 0.07),
    Sign("accidentalDoubleSharp", 0xE263, "𝄪", 0.22, 0.78),
    Sign("accidentalFlat", 0xE260, "♭", -0.06, 1.12, 0.06),
    Sign("accidentalSharp", 0xE262, "♯", -0.12, 1.12, wider=1.3),
    Sign("accidentalNatural", 0xE261, "♮", -0.12, 1.12),
)
"""The signs, the longest spelling first."""

_PLAIN = {"𝄫": "♭♭", "𝄪": "♯♯"}  # what is set where there is no engraver to take signs from
_VERSION = 1  # of what is made here; another one is made anew


def as_set(words: str) -> str:
    """Words with the signs of notes as the typeface has them: ``"E½♭"`` becomes an E with the half-flat of players.

    Where the engraver is not installed, they stay as they are typed.
    """
    instead = {sign.typed: chr(sign.code) for sign in SIGNS} if _engraver() else _PLAIN
    for typed, sign in instead.items():
        if typed in words:
            words = words.replace(typed, sign)
    return words


@cache
def families() -> tuple[str, str]:
    """The families to set type in, the first first; makes them known to matplotlib."""
    for weight in WEIGHTS:
        fontManager.addfont(str(_made(weight)))
    return FAMILY, OTHER_SIGNS


@cache
def sign_outlines() -> dict[str, SignOutline]:
    """The signs for a page, whose typefaces lack some of them, by what they are set for: ``"½♭"``, ``"♯"``, ...

    Empty where the engraver is not installed.
    """
    from fontTools.ttLib import TTFont

    with TTFont(_letters("normal"), lazy=True) as font:
        capital, em = font["OS/2"].sCapHeight, font["head"].unitsPerEm
    return {sign.typed: _placed(path, sign, capital / em) for sign, path in zip(SIGNS, _outlines(), strict=False)}


@cache
def _engraver() -> Path | None:
    """The folder of the engraver's outlines, found without loading it; None where it is not installed."""
    try:
        found = find_spec("verovio")
    except ImportError:
        return None
    return None if found is None or found.origin is None else Path(found.origin).parent / "data"


def _letters(weight: str) -> Path:
    import font_source_sans_pro as letters

    return Path(letters.font_directory) / f"SourceSansPro-{WEIGHTS[weight]}.ttf"


def _made(weight: str) -> Path:
    """The file of one weight, made if it is not there."""
    letters = _letters(weight)
    outlines = "".join(path.read_text() for path in _outlines())
    digest = hashlib.sha256(repr((_VERSION, SIGNS, outlines)).encode() + letters.read_bytes()).hexdigest()[:16]
    name = f"tunelib-sans-{weight}-{digest}.ttf"
    for folder in (Path(platformdirs.user_cache_dir("tunelib")), Path(tempfile.gettempdir()) / "tunelib-fonts"):
        path = folder / name
        try:
            if not path.exists():
                folder.mkdir(parents=True, exist_ok=True)
                write_whole(path, _drawn(letters, weight), overwrite=True)
        except OSError:
            continue  # a folder that cannot be written to
        return path
    raise OSError("no folder for the typeface of pictures can be written to, neither the cache nor the temporary one")


def _outlines() -> list[Path]:
    """The files of the signs' outlines, in their order; none where there is no engraver."""
    folder = _engraver()
    return [folder / "Bravura" / f"{sign.code:X}.xml" for sign in SIGNS] if folder else []


def _drawn(letters: Path, weight: str) -> bytes:
    """A font of the letters and the signs, as the bytes of its file."""
    from fontTools.ttLib import TTFont  # here and below: needed once, to make the font

    font = TTFont(letters)
    capital, em = font["OS/2"].sCapHeight, font["head"].unitsPerEm
    for sign, path in zip(SIGNS, _outlines(), strict=False):
        glyph, advance = _glyph(path, sign, capital, em)
        font.setGlyphOrder([*font.getGlyphOrder(), sign.smufl])
        font["glyf"][sign.smufl] = glyph
        font["hmtx"][sign.smufl] = (advance, glyph.xMin)
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[sign.code] = sign.smufl
    for record in list(font["name"].names):
        if record.nameID in (3, 7, 16, 17, 25):
            font["name"].removeNames(nameID=record.nameID)
    style = {"normal": "Regular", "bold": "Bold"}[weight]
    font["OS/2"].usWeightClass = 400 if weight == "normal" else 700
    full = f"{FAMILY} {style}"
    names = {1: full, 2: "Regular", 4: full, 6: f"TunelibSans-{style}", 16: FAMILY, 17: style}
    for number, words in names.items():
        font["name"].setName(words, number, 3, 1, 0x409)
        font["name"].setName(words, number, 1, 0, 0)
    packed = io.BytesIO()
    font.save(packed)
    return packed.getvalue()


def _glyph(path: Path, sign: Sign, capital: int, em: int) -> tuple[Any, int]:
    """One sign's outline at its size beside the letters, and how far it moves the pen."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.svgLib.path import parse_path

    placed, pen = _placed(path, sign, capital / em), TTGlyphPen(None)
    curves = Cu2QuPen(pen, 0.5, reverse_direction=True)
    parse_path(placed.outline, TransformPen(curves, [em * value for value in placed.matrix]))
    glyph = pen.glyph()
    glyph.recalcBounds(None)
    return glyph, round(em * placed.advance)


def _placed(path: Path, sign: Sign, capital: float) -> SignOutline:
    """One sign's outline as the engraver has it, and its place beside letters whose capitals are so high, in ems."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.svgLib.path import parse_path

    found = ET.parse(path).getroot().find(".//{*}path")
    assert found is not None
    outline, pen = found.get("d", ""), BoundsPen(None)
    parse_path(outline, pen)
    first, lowest, last, highest = pen.bounds
    foot, top = sign.foot * capital, sign.top * capital
    up = (top - foot) / (highest - lowest)
    across = sign.wider * up
    matrix = (across, 0.0, 0.0, up, sign.gap - across * first, foot - up * lowest)
    return SignOutline(outline, matrix, sign.gap + across * (last - first) + sign.after, foot, top)
