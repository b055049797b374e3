"""The rooms of the package stand one above the other, and the front door is light."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import tunelib

PACKAGE = Path(tunelib.__file__).parent
ROOMS = (
    "files", "course", "pitch", "hearing", "harmony", "score", "sound", "export", "exhibits", "show", "practice",
    "__main__",
)  # fmt: skip
MODULES = sorted(
    path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py") if path.name != "__init__.py" or path.parent != PACKAGE
)


def imported(source: str, path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything that a module in the package imports, wherever in it the import stands."""
    package = ("tunelib", *path.parent.parts)
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            origin = ".".join((*base, node.module) if node.module else base)
            yield from ((node.lineno, f"{origin}.{alias.name}") for alias in node.names)
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in (
            "import_module",
            "importlib.import_module",
            "__import__",
        ):
            yield from (
                (node.lineno, arg.value)
                for arg in node.args
                if isinstance(arg, ast.Constant) and isinstance(arg.value, str)
            )


def complaints(source: str, path: Path) -> list[str]:
    """What in a module's imports goes against the order of the rooms."""
    room = path.parts[0].removesuffix(".py")
    if room not in ROOMS:
        return [f"{path}: {room} is not a room; the rooms are {', '.join(ROOMS)}"]
    found = []
    for line, name in imported(source, path):
        if name.split(".")[0] != "tunelib":
            continue
        other = name.removeprefix("tunelib").lstrip(".").split(".")[0]
        if other not in ROOMS:
            if room != "__main__":
                found.append(f"{path}:{line}: {room} imports {name} by the front door; import it from its own room")
        elif ROOMS.index(other) > ROOMS.index(room):
            found.append(f"{path}:{line}: {room} imports {name} from {other}, which stands above it")
    return found


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_a_room_imports_only_from_the_rooms_below_it(path: Path) -> None:
    assert complaints((PACKAGE / path).read_text(encoding="utf-8"), path) == []


@pytest.mark.parametrize(
    ("source", "path"),
    [
        ("from tunelib.score import Score", "pitch/notes.py"),
        ("import tunelib.show", "sound/render.py"),
        ("import numpy, tunelib.show.panel as p", "exhibits/waves.py"),
        ("from tunelib import sound", "pitch/notes.py"),
        ("from tunelib import equal", "sound/render.py"),
        ("import tunelib", "sound/render.py"),
        ("from ..score import Score", "pitch/notes.py"),
        ("from .. import export", "sound/render.py"),
        ("from .export import midi", "score.py"),
        ("def f():\n    from tunelib.export.midi import write_midi", "sound/audio.py"),
        ("if True:\n    import tunelib.practice.drill", "exhibits/waves.py"),
        ("import importlib\nimportlib.import_module('tunelib.show')", "export/midi.py"),
        ("from tunelib.pitch.notes import Note", "files.py"),
        ("x = 1", "cellar/wine.py"),
    ],
)
def test_the_check_finds_an_import_from_above(source: str, path: str) -> None:
    assert len(complaints(source, Path(path))) == 1


@pytest.mark.parametrize(
    ("source", "path"),
    [
        ("from tunelib.pitch.notes import Note", "score.py"),
        ("from . import notes", "pitch/instruments.py"),
        ("from .notes import Note\nimport numpy as np", "pitch/instruments.py"),
        ("from ..pitch import notes", "sound/render.py"),
        ("from tunelib import files", "pitch/notes.py"),
        ("from tunelib import equal", "__main__.py"),
        ("import tunelib_extras", "pitch/notes.py"),
    ],
)
def test_the_check_lets_pass_what_stands_below(source: str, path: str) -> None:
    assert complaints(source, Path(path)) == []


def test_there_is_something_to_check() -> None:
    assert Path("pitch/notes.py") in MODULES
    assert Path("score.py") in MODULES


def test_importing_the_package_loads_numpy_and_nothing_heavier(capsys: pytest.CaptureFixture[str]) -> None:
    """In a fresh interpreter; the time it adds to `import numpy` is printed, not judged"""
    script = (
        "import json, sys, time, numpy; before = set(sys.modules); start = time.perf_counter(); import tunelib; "
        "seconds = time.perf_counter() - start; "
        "print(json.dumps([seconds, sorted({name.split('.')[0] for name in set(sys.modules) - before})]))"
    )
    answer = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    seconds, loaded = json.loads(answer.stdout)
    assert set(loaded) - sys.stdlib_module_names - {"numpy"} == {"tunelib"}
    with capsys.disabled():
        print(f"\n`import tunelib` adds {1000 * seconds:.0f} ms to `import numpy`")
