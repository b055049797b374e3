"""What the pages of lessons are put together from: the frame around them, and the parts that work in them.

A page forbids, by its own policy, everything that is not in its file (W3C, *Content Security Policy Level 3*): what may
run is named by its digest.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from tunelib import course
from tunelib.live import LIVE_STYLE, Keys, Needle, harmonic_keys, keys, needle, script
from tunelib.practice.answers import Choice
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.playing import Played
from tunelib.practice.progress_line import lesson_named
from tunelib.practice.steps import exercise, question
from tunelib.show import PAGE_PANEL_STYLE

_HERE = Path(__file__).parent
_STYLES = (_HERE / "lesson_page.css", PAGE_PANEL_STYLE, LIVE_STYLE)
_WITHOUT_SCRIPTS = "Scripts are switched off here, so nothing moves or sounds; everything can be read."
_FEWEST_HEADINGS = 3  # for a list of contents


@dataclass(frozen=True)
class PagePart:
    """A part of a page: its HTML, and data for the end of the page."""

    html: str
    data: tuple[str, ...] = ()


def card_part(kind: str, arguments: dict[str, Any], name: str) -> PagePart:
    """A question or an exercise; `arguments` are those of its call."""
    asked: Question | Exercise = question(**arguments) if kind == "question" else exercise(**arguments)
    choices = asked.answer.lettered if isinstance(asked.answer, Choice) else ()
    listed = f"<ul>{''.join(f'<li>{html.escape(choice)}</li>' for choice in choices)}</ul>" if choices else ""
    folds = "".join(
        f"<details><summary>{title}</summary>{_paragraphs(words)}</details>" for title, words in asked.folds()
    )
    words = "\n\n".join(asked.asked)
    heard = [data_block(name, f"sound-{place}", sound.program) for place, sound in enumerate(asked.sounds)]
    played = live_data(asked.answer.instrument(), name) if isinstance(asked.answer, Played) else ()
    return PagePart(
        f'<div class="card" id="{name}">{_paragraphs(words, asked.title)}{listed}{folds}</div>',
        (data_block(name, "card", json.dumps(asked.told()).encode()), *heard, *played),
    )


def keys_part(kind: str, arguments: dict[str, Any], name: str) -> PagePart:
    """An instrument, with the timbres that it has at first; `arguments` are those of its call."""
    board = keys(**arguments) if kind == "keys" else harmonic_keys(**arguments)
    words = html.escape(board.words)
    return PagePart(f'<div class="instrument" id="{name}"><p class="aside">{words}</p></div>', live_data(board, name))


def needle_part(arguments: dict[str, Any], name: str) -> PagePart:
    """A needle; `arguments` are those of its call."""
    made = needle(**arguments)
    return PagePart(
        f'<div class="needle" id="{name}"><p class="aside">{html.escape(made.words)}</p></div>',
        live_data(made, name),
    )


def progress_part(name: str) -> PagePart:
    """The list of what was done on each step, as the browser keeps it."""
    lessons = [(lesson.heading, [(step.number, step.about) for step in lesson.steps]) for lesson in course.LESSONS]
    return PagePart(
        f'<div class="progress" id="{name}"></div>', (data_block(name, "lessons", json.dumps(lessons).encode()),)
    )


def progress_line_part(lesson: str | int, name: str) -> PagePart:
    """The line on how far a learner has come, as the browser keeps it."""
    steps = [step.number for step in lesson_named(lesson).steps]
    every = [step.number for step in course.all_steps()]
    return PagePart(
        f'<div class="progress-line" id="{name}"></div>',
        (data_block(name, "steps", json.dumps({"steps": steps, "every": every}).encode()),),
    )


def live_data(live: Keys | Needle, name: str) -> tuple[str, ...]:
    """The data blocks of an instrument or a needle; those of its tones are alike for all that have the same ones."""
    tones = f"tones-{hashlib.sha256(live.tones).hexdigest()[:16]}"
    return (
        data_block(name, "state", json.dumps({**live.page_state, "tones": tones}).encode()),
        data_block(tones, "shared", live.tones),
    )


def data_block(name: str, part: str, data: bytes) -> str:
    """Data for the script of a page, packed; no browser runs it."""
    packed = base64.b64encode(gzip.compress(data, mtime=0)).decode()
    return f'<script type="application/octet-stream" data-of="{name}" data-part="{part}">{packed}</script>'


def whole_page(
    title: str,
    sections: Sequence[str],
    data: Sequence[str],
    *,
    headings: Sequence[tuple[str, str]] = (),
    before: Sequence[tuple[str, str]] = (),
    after: Sequence[tuple[str, str]] = (),
    home: bool = False,
) -> str:
    """A page as HTML.

    Parameters
    ----------
    title : str
    sections : sequence of str
        What is on it, as HTML; the first has the title.
    data : sequence of str
        Blocks of data for its script; what is there more than once is written once.
    headings : pairs of str
        For the list of contents: the ids of headings, and their words.
    before, after : pairs of str
        The pages before and after it: their addresses, and their titles.
    home : bool
        Whether this is the index.
    """
    code, style = _script(), _style()
    policy = (
        f"default-src 'none'; script-src {_digest(code)} data:; style-src {_digest(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    first, *rest = sections
    onward = [*(_onward("Back to", page, words) for page, words in before),
              *(_onward("On to", page, words) for page, words in after)]  # fmt: skip
    back = "" if home else '<a class="home" href="index.html">All lessons</a>'
    return "\n".join((
        "<!DOCTYPE html>", '<html lang="en">', "<head>", '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{html.escape(policy)}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        f"<title>{html.escape(title)}</title>", f"<style>{style}</style>", "</head>", "<body>",
        '<a class="skip" href="#main">Skip to the lesson</a>',
        f'<header>{back}<span class="where">{html.escape(title)}</span><div id="volume"></div></header>',
        f'<noscript><p class="aside">{_WITHOUT_SCRIPTS}</p></noscript>',
        '<main id="main" tabindex="-1">', first, _contents(headings), *rest, "</main>",
        f'<nav class="onward" aria-label="Lessons">{"".join(onward)}</nav>' if onward else "",
        *dict.fromkeys(data), f"<script>{code}</script>", "</body>", "</html>", "",
    ))  # fmt: skip


def _contents(headings: Sequence[tuple[str, str]]) -> str:
    if len(headings) < _FEWEST_HEADINGS:
        return ""
    links = "".join(f'<li><a href="#{name}">{html.escape(words)}</a></li>' for name, words in headings)
    return f'<nav class="contents" aria-label="On this page"><ul>{links}</ul></nav>'


def _onward(way: str, page: str, title: str) -> str:
    return f'<a href="{html.escape(page)}"><span class="aside">{way}</span> {html.escape(title)}</a>'


@lru_cache(maxsize=1)
def _script() -> str:
    """All that runs on a page. A closing tag in it would end it."""
    return (script(_HERE / "lesson_page.js") + "\nbeginPage();\n").replace("</", "<\\/")


@lru_cache(maxsize=1)
def _style() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in _STYLES)


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _paragraphs(words: str, opening: str = "") -> str:
    paragraphs = [html.escape(paragraph) for paragraph in words.split("\n\n")]
    if opening:
        paragraphs[0] = f"<b>{opening}</b> {paragraphs[0]}"
    return "".join(f"<p>{paragraph}</p>" for paragraph in paragraphs)
