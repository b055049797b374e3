"""Run every lesson afresh and store it as it should be kept: ``python tests/renew_lessons.py [names] [--check]``.

A stored lesson holds what a reader without a kernel needs, and nothing that differs from run to run: pictures and
sentences, but no widget state, no model numbers, no timings, no sound. With ``--check`` nothing is written, and the
exit code is 1 if what is stored is not what the lessons give now.
"""

from __future__ import annotations

import argparse
import base64
import io
import os
import re
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from PIL import Image

from tunelib.files import write_whole
from tunelib.practice.notebook import FOLDED

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
LARGEST_BYTES = 600_000
CELL_SECONDS = 60
HIDDEN = "hide-input"  # the tag of a cell that only sets something up: its code is out of sight until it is wanted
_KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
_LIVE = "application/vnd.jupyter.widget-view+json"
_IN_A_PAGE = re.compile(r"(?<=data:image/png;base64,)[A-Za-z0-9+/=]+")
PIXEL_LEEWAY = 2.0  # mean difference, of 255, that a picture may show between font renderers


def run(notebook: Any, folder: Path) -> Any:
    """The notebook executed from top to bottom in a fresh kernel, and normalised; the one given is left as it is.

    Raises nbclient's CellExecutionError if a cell fails.
    """
    fresh = nbformat.from_dict(notebook)
    client = NotebookClient(
        fresh,
        timeout=CELL_SECONDS,
        kernel_name=_KERNEL["name"],
        store_widget_state=False,
        record_timing=False,
        resources={"metadata": {"path": str(folder)}},
    )
    with tempfile.TemporaryDirectory() as nobodys:  # whoever renews the lessons has progress of their own
        client.execute(env=os.environ | {"TUNELIB_DATA": nobodys})
    return normalise(fresh)


def normalise(notebook: Any) -> Any:
    """Take out all that differs from run to run, and what would hide the picture from a reader without a kernel."""
    notebook.metadata = nbformat.from_dict({"kernelspec": _KERNEL, "language_info": {"name": "python"}})
    notebook.nbformat, notebook.nbformat_minor = 4, 5
    for cell, name in zip(notebook.cells, _cell_names(notebook.cells), strict=True):
        cell.id = name
        cell.metadata = nbformat.from_dict(_metadata(cell.metadata.get("tags", [])))
        cell.pop("attachments", None)
        for output in cell.get("outputs", []):
            output.get("data", {}).pop(_LIVE, None)
    return notebook


def _metadata(tags: list[str]) -> dict[str, Any]:
    """What is kept of a cell's metadata: its tags, and what they mean to JupyterLab and to nbconvert."""
    kept: dict[str, Any] = {"tags": list(tags)} if tags else {}
    if HIDDEN in tags:
        kept |= {"jupyter": {"source_hidden": True}, "transient": {"remove_source": True}}
    if FOLDED in tags:
        kept["jp-MarkdownHeadingCollapsed"] = True
    return kept


def _cell_names(cells: list[Any]) -> list[str]:
    """A name for each cell from the heading that it is under, such as ``step-3-2``."""
    names, section, count = [], "opening", 0
    for cell in cells:
        heading = re.match(r"##\s+(.+)", cell.source) if cell.cell_type == "markdown" else None
        if heading:
            step = re.match(r"Step (\d+)", heading[1])
            slug = re.sub(r"[^a-z0-9]+", "-", heading[1].lower()).strip("-")[:40]
            section, count = (f"step-{step[1]}" if step else slug), 0
        count += 1
        names.append(f"{section}-{count}")
    return names


def differences(stored: Any, fresh: Any) -> list[str]:
    """What in the stored notebook is not as the fresh one has it; pictures are compared by their pixels."""
    if len(stored.cells) != len(fresh.cells):
        return [f"{len(stored.cells)} cells are stored, {len(fresh.cells)} expected"]
    found = [] if stored.metadata == fresh.metadata else ["the metadata are not normalised"]
    for old, new in zip(stored.cells, fresh.cells, strict=True):
        if not _same_cell(old, new):
            found.append(f"cell {new.id} is not current")
    return found


def _same_cell(old: Any, new: Any) -> bool:
    pictures = [_take_pictures(cell) for cell in (old, new)]
    without = [{**cell, "outputs": _without_pictures(cell)} for cell in (old, new)]
    return (
        without[0] == without[1]
        and len(pictures[0]) == len(pictures[1])
        and all(_same_picture(a, b) for a, b in zip(*pictures, strict=True))
    )


def _take_pictures(cell: Any) -> list[str]:
    data = [output.get("data", {}) for output in cell.get("outputs", [])]
    pages = [picture for one in data for picture in _IN_A_PAGE.findall(one.get("text/html", ""))]
    return [one["image/png"] for one in data if "image/png" in one] + pages


def _without_pictures(cell: Any) -> list[Any]:
    without = []
    for output in cell.get("outputs", []):
        data = {kind: value for kind, value in output.get("data", {}).items() if kind != "image/png"}
        if "text/html" in data:
            data["text/html"] = _IN_A_PAGE.sub("", data["text/html"])
        without.append({**output, "data": data})
    return without


def _same_picture(a: str, b: str) -> bool:
    pixels = [np.asarray(Image.open(io.BytesIO(base64.b64decode(data))).convert("RGB"), dtype=float) for data in (a, b)]
    return pixels[0].shape == pixels[1].shape and bool(np.abs(pixels[0] - pixels[1]).mean() <= PIXEL_LEEWAY)


def renew(path: Path, check: bool = False) -> list[str]:
    """Run one lesson and store it, or with `check` only compare; returns what is wrong, in words."""
    stored = nbformat.read(path, as_version=4)
    began = time.perf_counter()
    try:
        fresh = run(stored, path.parent)
    except CellExecutionError as error:
        return [f"a cell fails: {error.ename}: {error.evalue}"]
    except nbformat.ValidationError as error:
        return [f"an output is not valid in a notebook (is a picture base64 text?): {str(error.message)[:60]} …"]
    data = (nbformat.writes(fresh).rstrip("\n") + "\n").encode()
    print(f"{path.name}: {time.perf_counter() - began:.1f} s, {len(data) / 1000:.0f} KB", flush=True)
    if len(data) > LARGEST_BYTES:
        return [f"{len(data) / 1000:.0f} KB is more than the {LARGEST_BYTES / 1000:.0f} KB that a lesson may take"]
    if check:
        return differences(stored, nbformat.reads(data.decode(), as_version=4))
    write_whole(path, data, overwrite=True)
    return []


def main(arguments: list[str]) -> int:
    """The command; returns its exit code."""
    parser = argparse.ArgumentParser(description="Run the lessons afresh and store them as they should be kept.")
    parser.add_argument("names", nargs="*", help="lessons to run, such as 01_waves; all of them if none is named")
    parser.add_argument("--check", action="store_true", help="write nothing; exit code 1 if a lesson is not current")
    parser.add_argument("--folder", type=Path, default=LESSONS, help=argparse.SUPPRESS)
    chosen = parser.parse_args(arguments)
    known = {path.stem: path for path in sorted(chosen.folder.glob("*.ipynb"))}
    unknown = [name for name in chosen.names if Path(name).stem not in known]
    if unknown:
        parser.error(f"no lesson is called {unknown[0]!r}; there are {', '.join(known) or 'none yet'}")
    wrong, began = 0, time.perf_counter()
    for name, path in known.items():
        if not chosen.names or name in {Path(n).stem for n in chosen.names}:
            for fault in renew(path, chosen.check):
                wrong += 1
                print(f"{path.name}: {fault}", file=sys.stderr)
    print(f"in all: {time.perf_counter() - began:.0f} s", flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
