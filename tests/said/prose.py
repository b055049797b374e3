"""The prose of lessons and README, as a reader sees it, and their code."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import nbformat

ROOT = Path(__file__).resolve().parents[2]
README = "README"


@dataclass(frozen=True)
class Lesson:
    """A lesson, or README: its prose as `plain` gives it, and its code."""

    name: str
    words: str
    code: str = ""

    @cached_property
    def literals(self) -> set[float]:
        """The numbers in its code."""
        values = (node.value for node in ast.walk(ast.parse(self.code)) if isinstance(node, ast.Constant))
        return {float(value) for value in values if isinstance(value, (int, float))}


def plain(markdown: str) -> str:
    """Prose on one line, ¶ between paragraphs: without code, where links lead, emphasis and marks of quotation.

    Nor does it have the line that says which lesson it is, or links that are called as the lessons are:
    `tests/test_lessons.py` holds both to the table of the course.
    """
    text = re.sub(r"^Lesson \d+ of \d+ · .*$", "", markdown, flags=re.MULTILINE)
    text = re.sub(r"\[\d\d [^]]+\]\(\d\d_\w+\.ipynb\)", " ", text)
    text = re.sub(r"```.*?```|`[^`]*`", " ", text, flags=re.DOTALL)
    text = re.sub(r"\]\([^)]*\)", "]", text)
    text = re.sub(r"^> ?", "", text, flags=re.MULTILINE)
    paragraphs = re.split(r"\n\s*\n", text.replace("*", ""))
    return " ¶ ".join(" ".join(paragraph.split()) for paragraph in paragraphs if paragraph.strip())


@lru_cache(maxsize=1)
def lessons() -> dict[str, Lesson]:
    """All lessons, and README, by name."""
    found = {README: Lesson(README, plain((ROOT / "README.md").read_text(encoding="utf-8")))}
    for path in sorted((ROOT / "lessons").glob("*.ipynb")):
        cells = nbformat.read(path, as_version=4).cells
        sources = {kind: "\n\n".join(c.source for c in cells if c.cell_type == kind) for kind in ("markdown", "code")}
        found[path.stem] = Lesson(path.stem, plain(sources["markdown"]), sources["code"])
    return found


def minutes(name: str) -> int:
    """How long a lesson says that it takes."""
    match = re.search(r"It takes about (\d+) minutes", lessons()[name].words)
    assert match
    return int(match[1])
