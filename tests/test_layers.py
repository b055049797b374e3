"""The rooms of the package are in order, each has one front door, and that of the house is light."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TypeGuard

import pytest

import tunelib

PACKAGE = Path(tunelib.__file__).parent
ROOMS = (
    "files", "course", "pitch", "hearing", "harmony", "score", "arrange", "sound", "export", "exhibits", "live",
    "show", "film", "practice", "commands", "__main__",
)  # fmt: skip
DOORS = [room for room in ROOMS if (PACKAGE / room).is_dir()]
MODULES = sorted(
    path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py") if path.name != "__init__.py" or path.parent != PACKAGE
)


def imported(source: str, path: Path) -> Iterator[tuple[int, str, str]]:
    """Line, module and name of everything that a module in the package imports, wherever in it the import is."""
    package = ("tunelib", *path.parent.parts)
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            origin = ".".join((*base, node.module) if node.module else base)
            yield from ((node.lineno, origin, alias.name) for alias in node.names)
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in (
            "import_module",
            "importlib.import_module",
            "__import__",
        ):
            yield from (
                (node.lineno, arg.value, "")
                for arg in node.args
                if isinstance(arg, ast.Constant) and isinstance(arg.value, str)
            )


def complaints(source: str, path: Path) -> list[str]:
    """What in a module's imports goes against the order of the rooms, or comes in past a front door."""
    room = path.parts[0].removesuffix(".py")
    if room not in ROOMS:
        return [f"{path}: {room} is not a room; the rooms are {', '.join(ROOMS)}"]
    found = []
    for line, module, name in imported(source, path):
        if module.split(".")[0] != "tunelib":
            continue
        parts = [*module.split(".")[1:], *([name] if module == "tunelib" and name else [])]
        other = parts[0] if parts else ""
        said = f"{path}:{line}: {room} imports {'.'.join(['tunelib', *parts])}"
        if other not in ROOMS:
            if room != "__main__":
                found.append(f"{said} by the front door of the house; import it from its own room")
        elif ROOMS.index(other) > ROOMS.index(room):
            found.append(f"{said}, from a room below it")
        elif parts == [room] and path.name != "__init__.py" and name in _offered(room):
            found.append(f"{said}, its own front door; import it from its module")
        elif other != room and len(parts) > 1:
            found.append(f"{said} past a front door; import it from tunelib.{other}")
    return found


def _offered(room: str) -> set[str]:
    """The names that a room's front door offers, rather than modules of the room."""
    door = ast.parse((PACKAGE / room / "__init__.py").read_text(encoding="utf-8"))
    return {alias.name for node in door.body if isinstance(node, ast.ImportFrom) for alias in node.names}


def _is_all(node: ast.stmt) -> TypeGuard[ast.Assign]:
    return isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"


def ajar(room: str, door: str, modules: dict[str, str]) -> list[str]:
    """What is wrong with a front door, given the sources of the room's modules by name."""
    tree = ast.parse(door)
    offered: dict[str, str] = {}
    found = [] if ast.get_docstring(tree) else [f"{room}: its door does not say what the room is for"]
    for node in tree.body[1:]:
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(f"tunelib.{room}."):
            offered |= {alias.name: node.module.split(".")[-1] for alias in node.names}
        elif not _is_all(node):
            found.append(f"{room}: its door does more than to name what the room offers: {ast.unparse(node)}")
    listed = next((ast.literal_eval(node.value) for node in tree.body if _is_all(node)), [])
    if sorted(listed) != sorted(offered):
        found.append(f"{room}: __all__ and what is imported differ by {sorted(set(listed) ^ set(offered))}")
    for name, module in offered.items():
        made = [
            node
            for node in ast.parse(modules.get(module, "")).body
            if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and node.name == name
        ]
        if name.startswith("_") or (made and not any(map(ast.get_docstring, made))):
            found.append(f"{room}: {name} is offered, and is private or has no docstring")
    return found


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_a_room_imports_only_from_the_rooms_above_it_and_by_their_doors(path: Path) -> None:
    assert complaints((PACKAGE / path).read_text(encoding="utf-8"), path) == []


@pytest.mark.parametrize(
    ("source", "path"),
    [
        ("from tunelib.score import Score", "pitch/notes.py"),
        ("import tunelib.show", "sound/render.py"),
        ("import numpy, tunelib.show as p", "exhibits/waves.py"),
        ("from tunelib import sound", "pitch/notes.py"),
        ("from tunelib import equal", "sound/render.py"),
        ("import tunelib", "sound/render.py"),
        ("from ..score import Score", "pitch/notes.py"),
        ("from .. import export", "sound/render.py"),
        ("from .export import midi", "score.py"),
        ("def f():\n    from tunelib.export import write_midi", "sound/audio.py"),
        ("if True:\n    import tunelib.practice", "exhibits/waves.py"),
        ("import importlib\nimportlib.import_module('tunelib.show')", "export/midi.py"),
        ("from tunelib.pitch import Note", "files.py"),
        ("from tunelib.pitch.notes import Note", "score.py"),
        ("import tunelib.pitch.notes", "score.py"),
        ("from ..pitch.notes import Note", "sound/render.py"),
        ("from tunelib.pitch import Note", "pitch/instruments.py"),
        ("x = 1", "cellar/wine.py"),
    ],
)
def test_the_check_finds_an_import_from_below_and_one_past_a_door(source: str, path: str) -> None:
    assert len(complaints(source, Path(path))) == 1


@pytest.mark.parametrize(
    ("source", "path"),
    [
        ("from tunelib.pitch import Note", "score.py"),
        ("from .notes import Note\nimport numpy as np", "pitch/instruments.py"),
        ("from tunelib.pitch.notes import Note", "pitch/instruments.py"),
        ("from ..pitch import Note", "sound/render.py"),
        ("from tunelib import files", "pitch/notes.py"),
        ("from tunelib import equal", "__main__.py"),
        ("import tunelib_extras", "pitch/notes.py"),
    ],
)
def test_the_check_lets_pass_what_comes_from_above_by_a_door(source: str, path: str) -> None:
    assert complaints(source, Path(path)) == []


@pytest.mark.parametrize("room", DOORS)
def test_a_front_door_names_what_its_room_offers_and_does_nothing_else(room: str) -> None:
    modules = {path.stem: path.read_text(encoding="utf-8") for path in (PACKAGE / room).glob("*.py")}
    assert ajar(room, modules["__init__"], modules) == []


@pytest.mark.parametrize(
    "door",
    [
        'from tunelib.attic.wine import pour\n\n__all__ = ["pour"]',
        '"""A room."""\n\nfrom tunelib.attic.wine import pour\n\n__all__ = []',
        '"""A room."""\n\nfrom tunelib.attic.wine import _cork\n\n__all__ = ["_cork"]',
        '"""A room."""\n\nfrom tunelib.attic.wine import spill\n\n__all__ = ["spill"]',
        '"""A room."""\n\nfrom tunelib.pitch import Note\n\n__all__ = ["Note"]',
        '"""A room."""\n\nopened = 1\n',
    ],
)
def test_the_check_finds_a_door_that_is_not_as_it_should_be(door: str) -> None:
    wine = 'def pour():\n    """Pour."""\n\ndef _cork():\n    """Close."""\n\ndef spill():\n    pass\n'
    assert ajar("attic", door, {"wine": wine})


def test_lessons_and_readme_come_in_by_the_front_doors() -> None:
    top = PACKAGE.parent
    pages = [top / "README.md", *sorted((top / "lessons").glob("*.ipynb"))]
    past = [
        (page.name, found)
        for page in pages
        for found in re.findall(r"from tunelib\.\w+\.\w+ import", page.read_text("utf-8"))
    ]
    assert past == []


def test_no_two_files_of_the_package_have_the_same_name() -> None:
    names = [path.name for path in MODULES if path.name != "__init__.py"]
    assert [name for name in set(names) if names.count(name) > 1] == []


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


@pytest.mark.parametrize("room", ["export", "sound", "commands"])
def test_what_a_tune_s_files_are_made_by_loads_neither_matplotlib_nor_ipython(room: str) -> None:
    """Each in a fresh interpreter: they would double the time that a command takes to start"""
    script = f"import sys, tunelib.{room}; print(sys.modules.keys() & {{'matplotlib', 'IPython', 'ipywidgets'}})"
    answer = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert answer.stdout == "set()\n"
