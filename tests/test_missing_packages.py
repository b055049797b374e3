"""What runs where a package is missing that has a library of its own under it, as in a Python in the browser."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ENGRAVED = {
    ("02_overtones.ipynb", 'panel("series_sheet"'),
    ("07_thirty_one_notes.ipynb", 'panel("written_notes"'),
    ("07_thirty_one_notes.ipynb", "reading_drill("),
    ("08_chords.ipynb", 'panel("chord_scale"'),
    ("09_harmony_in_motion.ipynb", "blind_tune(tune_panel("),
    ("exhibits.ipynb", "index()"),
    ("other_divisions_at_work.ipynb", "tune_panel("),
}
"""The cells that show engraved staves, by their notebook and what they call."""


def test_all_lessons_run_without_soundfile_verovio_and_mido_but_for_the_engraved_staves(tmp_path: Path) -> None:
    script = Path(__file__).with_name("lessons_without.py")
    ran = subprocess.run(
        [sys.executable, str(script), "soundfile", "verovio", "mido"],
        capture_output=True, text=True, check=True, cwd=tmp_path,
        env={**os.environ, "TUNELIB_DATA": str(tmp_path), "MPLBACKEND": "agg"},
    )  # fmt: skip
    count, found = json.loads(ran.stdout.splitlines()[-1])
    assert count > 150
    told = {
        (notebook, call)
        for notebook, call in ENGRAVED
        for name, source, *_ in found
        if name == notebook and call in source
    }
    assert told == ENGRAVED and len(found) == len(ENGRAVED), found
    for _, source, error, words in found:
        assert not error, (source, error)
        assert "engraving a staff needs verovio, which is missing here: pip install verovio" in words


@pytest.mark.parametrize(
    ("missing", "code", "message"),
    [
        ("soundfile", "read_audio('take.wav')", "reading a recording needs soundfile"),
        ("verovio", "engrave_svg('<a/>')", "engraving a staff needs verovio"),
        ("mido", "midi_bytes(Score((ScoreNote(0, 1, 440.0),), 60))", "a MIDI file needs mido"),
    ],
)
def test_what_needs_a_package_says_which_and_how_to_install_it(
    tmp_path: Path, missing: str, code: str, message: str
) -> None:
    (tmp_path / "take.wav").write_bytes(b"RIFF" + bytes(100))
    program = f"""
import sys
sys.modules[{missing!r}] = None
from tunelib.export.engrave import engrave_svg
from tunelib.export.midi import midi_bytes
from tunelib.score import Score, ScoreNote
from tunelib.sound.audio import read_audio
try:
    {code}
except ImportError as error:
    print(error)
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert ran.stdout == f"{message}, which is missing here: pip install {missing}\n"


def test_heavy_packages_are_loaded_where_they_are_used_and_not_before() -> None:
    program = """
import sys
import tunelib.export.engrave, tunelib.export.midi, tunelib.export, tunelib.sound
print(sorted({"soundfile", "verovio", "mido"} & set(sys.modules)))
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


def test_signs_of_notes_are_shown_as_typed_where_there_is_no_engraver_to_take_them_from(tmp_path: Path) -> None:
    """A picture says E½♭ then, and every sign of it is in one of the two typefaces (a missing one is a warning)."""
    program = """
import sys
sys.modules["verovio"] = None
from tunelib.exhibits.typeface import as_set
from tunelib.show import still
print(as_set("E½♭ F𝄪"))
still("ring_of_31", "ring.png")
"""
    ran = subprocess.run(
        [sys.executable, "-W", "error", "-c", program],
        capture_output=True, text=True, check=True, cwd=tmp_path, env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)},
    )  # fmt: skip
    assert ran.stdout == "E½♭ F♯♯\n" and (tmp_path / "ring.png").stat().st_size > 10_000
