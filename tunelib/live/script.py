"""Our JavaScript in one piece: modules that import one another, joined for a widget or a page.

The files are plain modules, which a browser or a checker can read as they are. A widget takes one script, and a page
without a server may load no file beside it; so they are put one after another, each after what it imports, without the
lines that import. Names at the top of a module must therefore be its own.
"""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path

_IMPORT = re.compile(r'^import \{([^}]*)\} from "(\./|\.\./)([\w./]+)";\n', re.MULTILINE)
_TOP = re.compile(r"^(?:export )?(?:async )?(?:function\*?|class|const|let) (\w+)", re.MULTILINE)
_TEXT = ".text.js"

LIVE_STYLE = Path(__file__).parent / "live.css"
"""The style sheet of what is live on a page."""
GUARD = Path(__file__).parent / "guard.js"
"""The module whose ``guard(element)`` keeps the keys that are pressed in an element from the notebook."""


@lru_cache
def script(*modules: Path) -> str:
    """Modules and all that they import, as one script without imports or exports.

    A module that imports from ``"./name.text.js"`` gets the file ``name.js`` as a string, under its name.

    Raises ValueError for a file that is missing, for an import in another form, and for two modules with one name at
    their top.
    """
    order: dict[Path, str] = {}
    for module in modules:
        _gather(module.resolve(), order)
    owners: dict[str, Path] = {}
    for path, text in order.items():
        for name in _TOP.findall(text):
            if owners.setdefault(name, path) != path:
                raise ValueError(f"{name} stands at the top of both {owners[name].name} and {path.name}")
    return "\n".join(re.sub(r"^export ", "", text, flags=re.MULTILINE) for text in order.values())


def _gather(path: Path, order: dict[Path, str], inside: tuple[Path, ...] = ()) -> None:
    """Put a module behind those that it imports."""
    if path in order:
        return
    if path in inside:
        raise ValueError(f"{path.name} imports itself, by way of {inside[-1].name}")
    source = path.with_name(path.name.replace(_TEXT, ".js"))
    if not source.is_file():
        raise ValueError(f"there is no {source.name} in {source.parent}, which {inside[-1].name} imports" if inside
                         else f"there is no script {source}")  # fmt: skip
    text = source.read_text(encoding="utf-8")
    if path != source:
        order[path] = f"const {source.stem} = {json.dumps(text)};\n"
        return
    for _, up, name in _IMPORT.findall(text):
        _gather((path.parent / up / name).resolve(), order, (*inside, path))
    rest = _IMPORT.sub("", text)
    if odd := re.search(r"^import\b.*|^export (?:default|\{).*", rest, re.MULTILINE):
        raise ValueError(f'{path.name}: modules are joined by `import {{names}} from "./file.js";`, not {odd[0]!r}')
    order[path] = rest
