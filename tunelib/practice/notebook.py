"""Reading a notebook without running it: its cells, the calls in them, and what they have stored.

A notebook may come from anybody. Nothing in it is run: of its code only plain calls are followed, such as
``panel("wave", hertz=220)``, whose arguments are written out.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any

from tunelib.files import require_file

FOLDED = "folded"
"""The tag of a heading whose part of the notebook is folded away until a reader opens it."""

_MAGIC = re.compile(r"(?m)^([ \t]*)(?:[%!?].*|[^#\n]*\?[ \t]*|[\w., \t]+=[ \t]*[%!].*)$")
_CELL_MAGIC = re.compile(r"\s*%%(\w*).*\n?")
_OVER_PYTHON = ("", "capture", "prun", "time", "timeit")  # cell magics with Python below them
_LARGEST_NOTEBOOK = 100_000_000  # bytes
_LONGEST_CELL = 200_000  # characters


@dataclass(frozen=True)
class Cell:
    """A cell of a notebook.

    Parameters
    ----------
    where : str
        The notebook and the number of the cell, in words.
    kind : str
        ``"code"``, ``"markdown"`` or ``"raw"``.
    source : str
    name : str
        By which links lead to it; empty in a notebook whose cells have no names.
    tags : tuple of str
    outputs, attachments
        As they are stored (nbformat 4); whatever is not of that form is left out.
    """

    where: str
    kind: str
    source: str
    name: str = ""
    tags: tuple[str, ...] = ()
    outputs: Sequence[dict[str, Any]] = ()
    attachments: dict[str, Any] | None = None


@dataclass(frozen=True)
class Call:
    """A call in a cell; `arguments` is None if they are not plain values, each with its own name."""

    name: str
    arguments: dict[str, Any] | None
    node: ast.Call


def calls(tree: ast.AST, names: Mapping[str, Sequence[str]]) -> Iterator[Call]:
    """The calls of some functions in their order.

    Parameters
    ----------
    tree
        What `python_of` gives, or a part of it.
    names
        The functions that are looked for, and what their arguments without a name are called, in order.
    """
    found = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and called(node.func) in names]
    for node in sorted(found, key=lambda call: (call.lineno, call.col_offset)):
        name = called(node.func)
        given = zip_longest(names[name], node.args) if node.args else ()
        unnamed = [(key, argument) for key, argument in given if argument is not None]
        yield Call(name, _plain_values([*unnamed, *((word.arg, word.value) for word in node.keywords)]), node)


def _plain_values(given: Sequence[tuple[str | None, ast.expr]]) -> dict[str, Any] | None:
    values: dict[str, Any] = {}
    for key, node in given:
        try:
            value = ast.literal_eval(node)
        except (ValueError, TypeError):  # the latter for a table with a table for a key
            return None
        if value is None or key is None or key in values:
            return None
        values[key] = value
    return values


def called(function: ast.expr) -> str:
    """The name of what is called; empty for what has none."""
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def python_of(source: str, where: str) -> ast.Module:
    """A code cell as Python, with nothing in place of what only IPython knows: ``%``, ``!`` and ``?``.

    Raises ValueError, which says where and why, for what is no Python.
    """
    if magic := _CELL_MAGIC.match(source):
        source = source[magic.end() :] if magic[1] in _OVER_PYTHON else ""
    try:
        try:
            return ast.parse(source)
        except SyntaxError:
            return ast.parse(_MAGIC.sub(r"\1pass", source))
    except SyntaxError as error:
        at = f": line {error.lineno}" if error.lineno else ""
        why = "a number of thousands of digits" if error.msg.startswith("Exceeds the limit") else error.msg
    except ValueError as error:  # a null character, in some versions of Python
        at, why = "", str(error)
    except (MemoryError, RecursionError):  # which is how Python says it
        at, why = "", "its brackets or signs are too deep in one another"
    raise ValueError(f"{where}{at} cannot be read as Python: {why}")


def cells_of(notebook: Path, meant: str) -> Iterator[Cell]:
    """The cells of a notebook (nbformat 4); `meant` says for what, such as ``"a handout"``.

    Raises FileNotFoundError if there is none, and ValueError, which says what is wrong and where, for what is no
    notebook, is damaged, or is too large.
    """
    require_file(notebook, "give the notebook itself, such as 04_twelve.ipynb")
    if notebook.stat().st_size > _LARGEST_NOTEBOOK:
        raise ValueError(f"{notebook} is larger than {_LARGEST_NOTEBOOK // 1_000_000} MB, too large for {meant}")
    try:
        stored = json.loads(notebook.read_text(encoding="utf-8"))
    except UnicodeDecodeError:
        raise ValueError(f"{notebook} is not a notebook: it is not text in UTF-8") from None
    except json.JSONDecodeError as error:
        raise ValueError(
            f"{notebook} is not a notebook, or is damaged: line {error.lineno}, column {error.colno}: {error.msg}"
        ) from None
    except RecursionError:
        raise ValueError(f"{notebook} is not a notebook: it holds lists within lists without end") from None
    cells = stored.get("cells") if isinstance(stored, dict) else None
    if not isinstance(cells, list):
        raise ValueError(
            f"{notebook} is not a notebook: it has no list of cells; open it in JupyterLab and save it again"
        )
    for number, cell in enumerate(cells, start=1):
        where = f"{notebook}, cell {number}"
        source = cell.get("source") if isinstance(cell, dict) else None
        lines = [source] if isinstance(source, str) else source
        if not isinstance(lines, list) or not all(isinstance(line, str) for line in lines):
            raise ValueError(f"{where} is damaged: it has no source; open the notebook in JupyterLab and save it again")
        whole = "".join(lines)
        if len(whole) > _LONGEST_CELL:
            raise ValueError(
                f"{where} has {len(whole):,} characters, too many for {meant}: divide it, or take out the "
                f"pictures that are written into it; {_LONGEST_CELL:,} can be read"
            )
        yield _cell(where, whole, cell)


def _cell(where: str, source: str, stored: dict[str, Any]) -> Cell:
    """A cell with what else is stored in it, as far as it has the right form."""

    def of(key: str, kind: type) -> Any:
        value = stored.get(key)
        return value if isinstance(value, kind) else kind()

    tags = of("metadata", dict).get("tags")
    return Cell(
        where,
        str(stored.get("cell_type")),
        source,
        of("id", str),
        tuple(tag for tag in tags if isinstance(tag, str)) if isinstance(tags, list) else (),
        [output for output in of("outputs", list) if isinstance(output, dict)],
        of("attachments", dict),
    )
