"""HTML that somebody else wrote, made safe for a page of ours: a list of what may stay, and all else shown as text.

No script, no style, no form and no address outside the page gets through, and what was left open is closed.
"""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Callable
from html.parser import HTMLParser

_PLAIN = frozenset(
    "p div section span b strong i em u s del ins mark small sub sup code pre kbd samp var q cite abbr blockquote "
    "ul ol li dl dt dd table caption thead tbody tfoot tr th td h1 h2 h3 h4 h5 h6 details summary figure "
    "figcaption".split()
)
_VOID = frozenset(["br", "hr", "wbr"])
_KEPT = {"th": ("colspan", "rowspan"), "td": ("colspan", "rowspan"), "ol": ("start",)}  # attributes, whole numbers
_SILENT = frozenset(["script", "style"])  # neither they nor what is in them is shown
_OURS = frozenset(["math", "address"])  # classes
_PICTURE = re.compile(r"data:image/(?:png|jpeg|gif|webp);base64,[A-Za-z0-9+/=\s]*")

Link = Callable[[str], str]
"""Given the address that a link leads to, the one that it has on our page; empty where there is none."""


def safe_html(text: str, link: Link, picture: Link = lambda address: address) -> str:
    """HTML with nothing in it that could do harm.

    Parameters
    ----------
    text : str
    link : function
        As `Link`. A link that leads nowhere becomes plain words, with the address behind them if it is one of the web.
    picture : function
        The same for pictures; what it returns stays only if it is a picture itself, as a ``data:`` address.

    >>> safe_html('<b onclick="x()">one<i>two <script>three</script><form>four', lambda address: "")
    '<b>one<i>two &lt;form&gt;four</i></b>'
    """
    reader = _Reader(link, picture)
    end = text.rfind(">") + 1  # there is no tag beyond it, and html.parser would take minutes to find none
    reader.feed(text[:end])
    reader.close()
    reader.handle_data(html.unescape(text[end:]))
    return reader.finished()


class _Reader(HTMLParser):
    def __init__(self, link: Link, picture: Link) -> None:
        super().__init__(convert_charrefs=True)
        self._link, self._picture = link, picture
        self._written: list[str] = []
        self._open: list[tuple[str, str]] = []  # tags, and what closes them
        self._depth: Counter[str] = Counter()  # how many of each tag are open
        self._silent = 0  # where in what is written a silent part began; 0 outside

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag in _SILENT:
            self._silent = len(self._written) + 1
        elif tag == "a":
            self._begin_link(given.get("href", ""))
        elif tag == "img":
            self._write_picture(given)
        elif tag in _VOID:
            self._written.append(f"<{tag}>")
        elif tag in _PLAIN:
            kept = [(name, given[name]) for name in _KEPT.get(tag, ()) if re.fullmatch(r"\d{1,4}", given.get(name, ""))]
            if given.get("class") in _OURS:
                kept.append(("class", given["class"]))
            attributes = [f' {name}="{value}"' for name, value in kept]
            self._written.append(f"<{tag}{''.join(attributes)}>")
            self._begin(tag, f"</{tag}>")
        else:
            self.handle_data(self.get_starttag_text() or "")

    def handle_endtag(self, tag: str) -> None:
        if tag in _SILENT:
            self._end_silence()
        elif self._depth[tag]:
            opened = ""
            while opened != tag:
                opened, closing = self._open.pop()
                self._depth[opened] -= 1
                self._written.append(closing)
        elif tag not in _PLAIN and tag not in _VOID and tag not in ("a", "img"):
            self.handle_data(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        self._written.append(html.escape(data, quote=False))

    def finished(self) -> str:
        """What was read, with all closed."""
        self._end_silence()
        closings = [closing for _, closing in reversed(self._open)]
        return "".join([*self._written, *closings])

    def _begin(self, tag: str, closing: str) -> None:
        self._open.append((tag, closing))
        self._depth[tag] += 1

    def _end_silence(self) -> None:
        if self._silent:
            del self._written[self._silent - 1 :]
        self._silent = 0

    def _begin_link(self, address: str) -> None:
        there = self._link(address)
        if there:
            self._written.append(f'<a href="{html.escape(there)}">')
            self._begin("a", "</a>")
        else:
            outside = address if re.match(r"(?i)(https?://|mailto:)", address) else ""
            self._begin("a", f' <span class="address">({html.escape(outside)})</span>' if outside else "")

    def _write_picture(self, given: dict[str, str]) -> None:
        address, words = self._picture(given.get("src", "")), html.escape(given.get("alt", ""))
        if _PICTURE.fullmatch(address):
            self._written.append(f'<img src="{"".join(address.split())}" alt="{words}">')
        else:
            self._written.append(f"[Picture that is not in this file{f': {words}' if words else ''}]")
