"""Runs the code of all notebooks where some packages are missing: ``python tests/lessons_without.py name name ...``.

Prints, as JSON, how many cells there are, and for each that raises or says that something is missing: the notebook, the
cell's source, the error or nothing, and what it says in plain text.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from pathlib import Path
from typing import Any

LESSONS = Path(__file__).parents[1] / "lessons"
MISSING = frozenset(sys.argv[1:])


class Missing:
    """Finds no package of the given names, as where they are not installed."""

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> None:
        if name.partition(".")[0] in MISSING:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)


def said(result: Any) -> str:
    """What a cell's result says without a picture: nothing for one that has its picture."""
    shown = getattr(result, "_repr_mimebundle_", None)
    if shown is not None:
        bundle = shown()
        kinds = bundle[0] if isinstance(bundle, tuple) else bundle
        return "" if "image/png" in kinds else str(kinds.get("text/plain", ""))
    page = getattr(result, "_repr_html_", None)
    return str(page()) if page is not None else ""


def main() -> None:
    sys.meta_path.insert(0, Missing())  # type: ignore[arg-type]
    from IPython.core.interactiveshell import InteractiveShell

    shell: Any = InteractiveShell.instance()
    count, found = 0, []
    for notebook in sorted(LESSONS.glob("*.ipynb")):
        shell.reset(new_session=True)
        for cell in json.loads(notebook.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] != "code":
                continue
            count += 1
            source = "".join(cell["source"])
            with contextlib.redirect_stdout(io.StringIO()):
                run = shell.run_cell(source)
            error = run.error_before_exec or run.error_in_exec
            words = "" if error else said(run.result)
            if error or "missing here" in words:
                found.append([notebook.name, source, repr(error) if error else "", words])
    print(json.dumps([count, found]))


if __name__ == "__main__":
    main()
