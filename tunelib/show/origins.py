"""What a picture or clip is made from, as one digest: while it stays the same, nothing has to be made again.

It is a SHA-256 (FIPS 180-4) over the settled description of the output, over the source text of those modules of this
package that take part in drawing and sounding it, and over the versions of the packages they stand on. So a correction
to one exhibit makes its own clips anew and leaves the others alone.
"""

from __future__ import annotations

import ast
import hashlib
import json
from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import tunelib.show
from tunelib.pitch.lookup import look_up
from tunelib.show.shots import Output
from tunelib.show.timeline import EASES

_PACKAGE = Path(tunelib.show.__file__).parents[1]
_STANDS_ON = ("numpy", "matplotlib", "pillow", "imageio-ffmpeg", "verovio")


def origin(output: Output) -> str:
    """The digest of an output, in 64 hexadecimal digits."""
    shot, settings = output.shot, output.shot.settings
    said: dict[str, Any] = {
        "exhibit": shot.exhibit.name,
        "title": shot.title,
        "stops": [[stop.at, stop.leaves, stop.values] for stop in shot.stops],
        "size": output.size,
        "format": output.format,
        "theme": settings.theme,
    }
    if shot.moves:
        said |= {
            "eases": [
                look_up(keyframe.ease, {ease: ease for ease in EASES}, "ease") for keyframe in shot.keyframes[1:]
            ],
            "seconds": shot.timeline.seconds,
            "fps": settings.fps,
            "sound": settings.sound,
            "loudness": settings.loudness,
            "captions": output.captions,
        }
    else:
        said |= {"sentence": settings.sentence}
    said["code"] = _code(type(shot.exhibit).__module__, "tunelib.show.clip" if shot.moves else "tunelib.show.still")
    said["stands on"] = _versions()
    return digest(json.dumps(said, sort_keys=True).encode())


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

    An ``__init__`` is an index of a room: it draws nothing, and is not followed.
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
    found = {name for name in _named(ast.parse(_source(module))) if name.startswith("tunelib.")}
    modules = {name if _file(name).is_file() else name.rpartition(".")[0] for name in found}
    return tuple(sorted(name for name in modules if _file(name).is_file()))


def _named(tree: ast.AST) -> Iterator[str]:
    """The full name of everything that is imported, wherever the import stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _text_digest(module: str) -> str:
    return digest(_source(module))


@cache
def _source(module: str) -> bytes:
    return _file(module).read_bytes()


def _file(module: str) -> Path:
    return _PACKAGE.joinpath(*module.split(".")[1:]).with_suffix(".py")
