"""Markdown as HTML for a page of ours: what notebooks show of it, and nothing that could do harm."""

from __future__ import annotations

import html
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from tunelib.export.markdown import evened
from tunelib.export.safe_html import Link, safe_html


def web_prose(text: str, link: Link, picture: Link = lambda address: "") -> str:
    """A text in Markdown as HTML; formulas stay as they are typed. `link` and `picture` are as for `safe_html`.

    >>> web_prose("*Beats*, [again](02.ipynb)", lambda address: "")
    '<p><em>Beats</em>, again</p>'
    """
    return safe_html(_reader()(evened(text)), link, picture).strip()


@lru_cache(maxsize=1)
def _reader() -> Callable[[str], Any]:
    import mistune

    writer = mistune.HTMLRenderer(escape=False, allow_harmful_protocols=True)  # of addresses, safe_html judges
    reader = mistune.create_markdown(renderer=writer, plugins=["table", "strikethrough", "math"])
    for kind in ("inline_math", "block_math"):
        writer.register(kind, _formula)
    return reader


def _formula(_renderer: Any, text: str) -> str:
    return f'<code class="math">{html.escape(text)}</code>'
