"""How long a staff of 16 notes takes from MusicXML to pixels, part by part, beside a general renderer of SVG.

Run as ``python tests/benchmark_staff.py``. resvg hands over PNG, so its time holds the unpacking.
"""

from __future__ import annotations

import io

import numpy as np
import resvg_py
from PIL import Image
from staff_pixels import staff_pixels
from timing import milliseconds

from tunelib.export.engrave import TEXT_FONT, engrave_svg
from tunelib.export.musicxml import musicxml_text
from tunelib.export.outlines import FONT_FOLDER
from tunelib.pitch.notes import nearest_note
from tunelib.score import Score, ScoreNote

RUNS = 30


def staff(fundamental: float) -> Score:
    return Score(
        tuple(
            ScoreNote(n - 1, 1, fundamental * n, nearest_note(fundamental * n)[0], label=f"{n}") for n in range(1, 17)
        )
    )


def by_resvg(svg: str, width: int) -> np.ndarray:
    faces = [str(FONT_FOLDER / f"{TEXT_FONT}.ttf")]
    png = resvg_py.svg_to_bytes(svg_string=svg, width=width, skip_system_fonts=True, font_files=faces)
    return np.array(Image.open(io.BytesIO(bytes(png))))


def main() -> None:
    score = staff(65.4)
    text = musicxml_text(score)
    [svg] = engrave_svg(text)
    print(f"MusicXML            {milliseconds(lambda: musicxml_text(score), RUNS):6.1f} ms")
    print(f"engraving           {milliseconds(lambda: engrave_svg(text), RUNS):6.1f} ms")
    for width in (600, 1200):
        print(f"pixels, {width:4} wide   {milliseconds(lambda w=width: staff_pixels(svg, w, 'black'), RUNS):6.1f} ms")
        print(f"  by resvg          {milliseconds(lambda w=width: by_resvg(svg, w), RUNS):6.1f} ms")


if __name__ == "__main__":
    main()
