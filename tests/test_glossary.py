"""The glossary: every term is taught where it says, and no lesson uses one before.

What a learner reads is taken in the order of the course, a step at a time: prose, questions and exercises with their
answers, and the sentences under the pictures. Openings ("You will be able to"), the map and the lists of sources may
name what is still to come.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import nbformat
import pytest

LESSONS = Path(__file__).resolve().parent.parent / "lessons"

# How a term is found where it is not its own name, with or without a plural s.
FOUND_BY = {
    "Beats": r"beat(?:s|ing)?",
    "Drift": r"drift(?:s|ed|ing)?",
    "Half-sharp, half-flat": r"half-(?:sharp|flat)s?",
    "Pure": r"pure(?:r|ly)?",
    "Subminor, supermajor": r"subminor|supermajor",
    "Temperament": r"temperaments?|temper(?:ed|ing)?",
}

# Steps that use a term before the step that teaches it, and why that may be.
FORESHADOWED: dict[str, dict[str, str]] = {
    "Cent": {"Step 7": "named there, with where it is taught"},
    "Drift": {
        "Step 2": "of two waves, in the common sense of the word",
        "Step 10": "of a single note, which the glossary gives as well",
        "03 Measuring pitch, Try on your instrument": "of a single note",
    },
    "Equal steps": {
        "02 Overtones, What to remember": "equal in hertz",
        "Step 8": "cents, each of which is said to be the same ratio",
        "Step 10": "a tuner's steps",
    },
    "Frequency": {"Start here, Sound check": "the name of a slider, which is to be moved and heard"},
    "Neutral": {
        "Step 21": "the picture's sentence names each interval",
        "Step 22": "the picture's sentence names each interval",
    },
    "Wave": {"Start here, Sound check": "the picture's sentence"},
}

UNTAUGHT = {"Sources", "The map", "The way on"}
BROUGHT = {"minor", "major"}  # which everyone who reads music has


@dataclass(frozen=True)
class Section:
    """A part of the course: the notebook and its title, its heading, its first cell, and all that is read there."""

    notebook: str
    title: str
    heading: str
    cell: str
    words: str

    @property
    def name(self) -> str:
        """What it is called here: ``Step 3``, or for a part that is no step ``02 Overtones, What to remember``."""
        step, _, rest = self.heading.partition(" · ")
        return step if rest else f"{self.title}, {self.heading}"

    @property
    def anchor(self) -> str:
        """What a link to the first cell ends in, as JupyterLab reads it."""
        return f"cell-id={self.cell}"


@dataclass(frozen=True)
class Entry:
    """A term of the glossary, what is said of it, and where its link leads."""

    term: str
    words: str
    label: str
    notebook: str
    anchor: str

    @property
    def pattern(self) -> re.Pattern[str]:
        """What finds the term in a text."""
        return re.compile(rf"\b(?:{FOUND_BY.get(self.term, re.escape(self.term) + 's?')})\b", re.IGNORECASE)


@lru_cache(maxsize=1)
def sections() -> tuple[Section, ...]:
    """The course in order, and what is for presenters, without openings, the map and sources."""
    found: list[Section] = []
    for path in [*sorted(LESSONS.glob("[0-9]*.ipynb")), LESSONS / "for_presenters.ipynb"]:
        heading, first, words = "", "", ""
        cells = nbformat.read(path, as_version=4).cells
        page = cells[0].source.splitlines()[0].removeprefix("# ")
        for cell in cells:
            texts = [cell.source] if cell.cell_type == "markdown" else []
            for output in cell.get("outputs", []):
                data = output.get("data", {})
                texts.append(data.get("text/markdown") or data.get("text/plain") or output.get("text", ""))
            for line in "\n".join(texts).splitlines():
                title = re.fullmatch(r"## +(.+?) *", line)
                if title:
                    found.append(Section(path.name, page, heading, first, words))
                    heading, first, words = title[1], cell.id, ""
                words += f"{re.sub(r'`[^`]*`', ' ', line)}\n"
        found.append(Section(path.name, page, heading, first, words))
    return tuple(part for part in found if part.heading and part.heading not in UNTAUGHT)


@lru_cache(maxsize=1)
def entries() -> tuple[Entry, ...]:
    """The glossary as it is stored."""
    cells = nbformat.read(LESSONS / "glossary.ipynb", as_version=4).cells
    paragraphs = [part for cell in cells[1:] for part in cell.source.split("\n\n") if not part.startswith("## ")]
    matches = [re.fullmatch(r"\*\*(.+?)\.\*\* (.+) \[(.+)\]\((.+?)#(.+)\)", part) for part in paragraphs]
    assert all(matches), "a paragraph is no entry: **Term.** What it is. [Step 3](notebook.ipynb#cell-id=step-3-1)"
    return tuple(Entry(*match.groups()) for match in matches if match)


def faults(entry: Entry) -> list[str]:
    """A link that leads nowhere, a term that its step does not have, and uses before that step."""
    course = sections()
    there = [n for n, part in enumerate(course) if part.notebook == entry.notebook and part.anchor == entry.anchor]
    if not there:
        return [f"{entry.term}: no part of {entry.notebook} begins at {entry.anchor}"]
    taught = course[there[0]]
    label = taught.name if taught.name.startswith("Step ") else taught.title
    found = [] if entry.label == label else [f"{entry.term}: {entry.label} leads to {label}"]
    if not entry.pattern.search(taught.words):
        found.append(f"{entry.term}: {taught.name} does not have it")
    allowed = FORESHADOWED.get(entry.term, {})
    for part in course[: there[0]]:
        used = entry.pattern.search(part.words)
        if used and part.name not in allowed:
            around = " ".join(part.words[max(used.start() - 40, 0) : used.end() + 30].split())
            found.append(f"{entry.term}: {part.name} of {part.notebook} uses it before {taught.name}: …{around}…")
    return found


def test_the_glossary_is_in_alphabetical_order_and_has_no_term_twice() -> None:
    terms = [entry.term.casefold() for entry in entries()]
    assert terms == sorted(set(terms))


@pytest.mark.parametrize("entry", entries(), ids=lambda entry: entry.term)
def test_a_term_is_taught_where_the_glossary_says_and_not_used_before(entry: Entry) -> None:
    assert faults(entry) == []


def test_what_is_foreshadowed_is_so() -> None:
    """Every exception is of a term of the glossary, and of a place before its step that does use it."""
    known = {entry.term: entry for entry in entries()}
    for term, places in FORESHADOWED.items():
        course = [part.name for part in sections()]
        taught = course.index(next(p.name for p in sections() if p.anchor == known[term].anchor))
        for name in places:
            assert course.index(name) < taught, f"{term} is taught before {name}"
            assert known[term].pattern.search(sections()[course.index(name)].words), f"{name} does not use {term}"


def test_every_word_that_a_lesson_sets_in_bold_to_teach_it_is_in_the_glossary() -> None:
    """Lessons set a new term in bold; a summary repeats some of them, and is left out."""
    wanted = set()
    for part in sections():
        if part.name.startswith("Step "):
            wanted |= {(part.name, word) for word in re.findall(r"\*\*([a-z][^*.:]*)\*\*", part.words)}
    missing = {
        (name, word)
        for name, word in wanted
        if word not in BROUGHT and not any(e.pattern.search(word) for e in entries())
    }
    assert missing == set()


@pytest.mark.parametrize(
    ("term", "change", "fault"),
    [
        ("Roughness", {"notebook": "01_waves.ipynb", "anchor": "cell-id=step-2-1"}, "does not have it"),
        ("Wolf", {"anchor": "cell-id=step-20-1"}, "uses it before Step 20"),
        ("Wolf", {"anchor": "cell-id=step-19-2"}, "no part of 06_meantone.ipynb begins"),
        ("Wolf", {"label": "Step 18"}, "Step 18 leads to Step 19"),
        ("Temperament", {"term": "Overtone"}, "uses it before Step 18"),
    ],
)
def test_an_entry_that_is_wrong_is_found_out(term: str, change: dict[str, str], fault: str) -> None:
    entry = next(entry for entry in entries() if entry.term == term)
    assert any(fault in found for found in faults(replace(entry, **change)))
