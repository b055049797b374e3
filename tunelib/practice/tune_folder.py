"""What a learner's own tune leaves in a folder beside the notebook: its files, and the choices made by hand.

Nothing that is there is replaced unasked. What came of it is said in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tunelib.arrange import tune_parts
from tunelib.export import tune_files, tune_stem
from tunelib.files import FileSet, Tell, write_set
from tunelib.harmony import LeadSheet, RetunedTune, choices_text
from tunelib.pitch import instrument
from tunelib.practice.arranging import Arranging

FOLDER = "my_tunes"


def choices_path(sheet: LeadSheet) -> Path:
    """Where the choices for a tune are kept."""
    return Path(FOLDER) / f"{tune_stem(sheet.title)}-choices.toml"


def save_choices(arranging: Arranging, replace: bool) -> tuple[str, bool]:
    """Write the choices that were made by hand, over those that are there if `replace` says so.

    Returns what came of it in words, and whether it takes leave to replace what is there.
    """
    name = choices_path(arranging.sheet).name
    files = FileSet.of({name: lambda: choices_text(arranging.choices, arranging.sheet).encode()})
    try:
        [path] = write_set(files, Path(FOLDER), overwrite=replace)
    except FileExistsError:
        return f"{name} is already in the folder {FOLDER}. Press once more to replace it.", True
    except (OSError, ValueError) as problem:
        return str(problem), replace
    return f"Your choices are in the folder {FOLDER}, beside this notebook: {path.name}.", False


def write_tune(tune: RetunedTune, players: Sequence[str], feel: str | None, common: str, tell: Tell) -> str:
    """Write the files of a tune, with a part for each of some instruments; returns what came of it in words."""
    try:
        parts = tune_parts(tune, [instrument(name) for name in players]) if players else ()
        files = tune_files(tune, parts=parts, feel=feel, common=common)
        paths = write_set(files, Path(FOLDER), progress=tell)
    except FileExistsError:
        return f"A tune of this title is already in the folder {FOLDER}. Move it, or give this one another title."
    except (OSError, ValueError, ImportError) as problem:
        return str(problem)
    return f"In the folder {FOLDER}, beside this notebook: {', '.join(path.name for path in paths)}."
