"""What a picture or clip is made from, as one digest: while it stays the same, nothing has to be made again.

It is a SHA-256 (FIPS 180-4) over the settled description of the output, over the source text of those modules of this
package that take part in drawing and sounding it, and over the versions of the packages they build on. So a correction
to one exhibit remakes its own clips and leaves the others alone.
"""

from __future__ import annotations

import ast
import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import tunelib.show
from tunelib.film.acts import Entry
from tunelib.film.shot import Output

_PACKAGE = Path(tunelib.show.__file__).parents[1]
_CATALOGUE = "tunelib.exhibits.catalogue"
_STANDS_ON = ("numpy", "matplotlib", "pillow", "imageio-ffmpeg", "verovio")


def origin(output: Output) -> str:
    """The digest of an output, in 64 hexadecimal digits."""
    shot, settings = output.shot, output.shot.settings
    said: dict[str, Any] = {
        "acts": [_act(entry) for entry in shot.programme.entries],
        "size": output.size,
        "format": output.format,
        "theme": settings.theme,
    }
    if shot.moves:
        said |= {
            "beside": shot.beside is not None,
            "cues": [[cue.at, cue.until, cue.act] for cue in shot.programme.cues],
            "seconds": shot.programme.seconds,
            "fps": settings.fps,
            "sound": settings.sound,
            "loudness": settings.loudness,
            "captions": output.captions,
            "said": [[one.at, one.until, one.words] for one in shot.spoken],
        }
    else:
        said |= {"sentence": settings.sentence}
    homes = [type(entry.exhibit).__module__ for entry in shot.programme.entries]
    said["code"] = _code(*homes, "tunelib.film.clip" if shot.moves else "tunelib.show.still")
    said["stands on"] = _versions()
    return digest(json.dumps(said, sort_keys=True).encode())


def _act(entry: Entry) -> dict[str, Any]:
    """All that an exhibit does, as it turned out."""
    timeline = entry.timeline
    return {
        "exhibit": entry.exhibit.name,
        "title": entry.act.title,
        "stops": [[stop.at, stop.leaves, stop.values] for stop in timeline.stops],
        "eases": timeline.eases[1:],
        "build": timeline.building.changes,
        "points": [asdict(point) for point in entry.points],
        "comes": [entry.begins, entry.ends, entry.transition],
    }


def digest(data: bytes) -> str:
    """SHA-256 of some bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


@lru_cache(maxsize=1)
def _versions() -> dict[str, str]:
    found = {}
    for name in _STANDS_ON:
        try:
            found[name] = version(name)
        except PackageNotFoundError:  # clips have an extra of their own
            found[name] = ""
    return found


@cache
def _code(*modules: str) -> str:
    """One digest over modules and all that they import from this package."""
    return digest("\n".join(f"{name} {_text_digest(name)}" for name in sorted(reached(modules))).encode())


def reached(modules: Iterable[str]) -> set[str]:
    """Modules of this package that some of them import, directly or by way of others, and they themselves.

    What comes in by a room's front door counts as from the module that the door has it from. The catalogue of exhibits
    knows them all and draws none: it is not followed.
    """
    found: set[str] = set()
    waiting = list(modules)
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(_imports(name))
    return found


@cache
def _imports(module: str) -> tuple[str, ...]:
    if module == _CATALOGUE:
        return ()
    found = {name for name in _named(ast.parse(_source(module))) if name.startswith("tunelib.")}
    return tuple(sorted({home for name in found if (home := _home(name))}))


def _home(name: str) -> str:
    """The module that an imported name comes from; nothing for a room itself."""
    room, _, last = name.rpartition(".")
    if (_file(room) / "__init__.py").is_file() and last in _door(room):
        return _door(room)[last]
    return next((module for module in (name, room) if _file(module).with_suffix(".py").is_file()), "")


@cache
def _door(room: str) -> dict[str, str]:
    """What a room offers, and the module that it has each name from."""
    tree = ast.parse((_file(room) / "__init__.py").read_bytes())
    imports = [node for node in tree.body if isinstance(node, ast.ImportFrom) and node.module]
    return {alias.name: str(node.module) for node in imports for alias in node.names}


def _named(tree: ast.AST) -> Iterator[str]:
    """The full name of everything that is imported, wherever the import is."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _text_digest(module: str) -> str:
    return digest(_source(module))


@cache
def _source(module: str) -> bytes:
    return _file(module).with_suffix(".py").read_bytes()


def _file(module: str) -> Path:
    """The path of a module without its ending, or of a room."""
    return _PACKAGE.joinpath(*module.split(".")[1:])
