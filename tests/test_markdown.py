"""Markdown as lessons write it: what it says, written out by hand from CommonMark 0.31 and GitHub Flavored Markdown."""

from __future__ import annotations

import json
import random
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tunelib.export.markdown import (
    Block,
    Grid,
    Heading,
    Items,
    Listing,
    Paragraph,
    Quotation,
    Span,
    read_markdown,
    words_of,
)

LESSONS = sorted((Path(__file__).resolve().parent.parent / "lessons").glob("*.ipynb"))


def said(text: str) -> list[str]:
    """Each block as its kind and its runs of words, one style a run, as in ``paragraph: plain|strong:loud``."""
    return [line for block in read_markdown(text) for line in lines(block)]


def lines(block: Block) -> Iterator[str]:
    match block:
        case Heading():
            yield f"heading {block.level}: {runs(block.spans)}"
        case Paragraph():
            yield f"paragraph: {runs(block.spans)}"
        case Items():
            for number, item in enumerate(block.items, start=block.first or 0):
                yield f"{'bullet' if block.first is None else f'number {number}'}: {runs(item)}"
        case Grid():
            for row in (block.head, *block.rows):
                yield f"row: {' / '.join(map(runs, row))}"
        case Quotation():
            for paragraph in block.paragraphs:
                yield f"quotation: {runs(paragraph)}"
        case Listing():
            yield f"listing: {block.text}"


def runs(spans: tuple[Span, ...]) -> str:
    shown = []
    for span in spans:
        styles = [name for name in ("strong", "emphasis", "code") if getattr(span, name)]
        styles += [f"<{span.url}>"] if span.url else []
        shown.append(f"{'+'.join(styles)}:{span.text}" if styles else span.text)
    return "|".join(shown)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a **bold *and slanted* end**", ["paragraph: a |strong:bold |strong+emphasis:and slanted|strong: end"]),
        ("*slanted **and bold** end*", ["paragraph: emphasis:slanted |strong+emphasis:and bold|emphasis: end"]),
        ("2 * 3 * 4 and a_b_c and _so_ on", ["paragraph: 2 * 3 * 4 and a_b_c and |emphasis:so| on"]),
        (r"\*not slanted\*, \[no link\](x), a back\\slash", [r"paragraph: *not slanted*, [no link](x), a back\slash"]),
        ("`*code*` and ``a ` tick``", ["paragraph: code:*code*| and |code:a ` tick"]),
        ("a `` b ` `c `` d ``` e", ["paragraph: a |code:b ` `c| d ``` e"]),
        (
            "[a *styled* link](https://example.org/a_(b)) and <https://example.org>",
            [
                "paragraph: <https://example.org/a_(b)>:a |emphasis+<https://example.org/a_(b)>:styled"
                "|<https://example.org/a_(b)>: link| and |<https://example.org>:https://example.org"
            ],
        ),
        ("a line\nand 240. no list", ["paragraph: a line and 240. no list"]),
        ("a line\n- a list", ["paragraph: a line", "bullet: a list"]),
        ("1. one\n2. two\n   goes on\n3. three", ["number 1: one", "number 2: two goes on", "number 3: three"]),
        ("7. seven\n8. eight", ["number 7: seven", "number 8: eight"]),
        ("* one\n* two\n\n* three", ["bullet: one", "bullet: two", "bullet: three"]),
        ("- one\n\n  more\n  - inner\n-\n- last", ["bullet: one more", "bullet: inner", "bullet: ", "bullet: last"]),
        ("> quoted\n> on\n>\n> and **on**", ["quotation: quoted on", "quotation: and |strong:on"]),
        ("> so:\n>\n> - one\n> - two", ["quotation: so:", "quotation: one two"]),
        ("| a | b |\n|:-:|---|\n| `1` | *2* |\n\nend", ["row: a / b", "row: code:1 / emphasis:2", "paragraph: end"]),
        ("a | b\n--|--\n1 | 2", ["row: a / b", "row: 1 / 2"]),
        ("### third ###\n\ntext", ["heading 3: third", "paragraph: text"]),
        ("#\n\nTitle\n=====", ["heading 1: ", "heading 1: Title"]),
        ("```python\na = 1  # *not slanted*\n```\nafter", ["listing: a = 1  # *not slanted*", "paragraph: after"]),
        ("```\n| a | b |\n|---|---|\n| 1 |\n```", ["listing: | a | b |\n|---|---|\n| 1 |"]),
        ("R&amp;D, `&amp;`", ["paragraph: R&D, |code:&amp;"]),
        ("one  \ntwo ![a *picture*](x.png)", ["paragraph: one two a |emphasis:picture"]),
        ("<b>so</b>\n\n---\n\nend", ["paragraph: <b>so</b>", "paragraph: end"]),
    ],
)  # fmt: skip
def test_what_a_teacher_may_write_is_read(text: str, expected: list[str]) -> None:
    assert said(text) == expected


def test_a_lesson_is_read_as_it_is_written() -> None:
    """The whole of one cell, by hand: the end of the first lesson of tuning twelve"""
    cells = json.loads(LESSONS[4].read_text(encoding="utf-8"))["cells"]
    [cell] = [cell for cell in cells if cell["source"] and cell["source"][0].startswith("## What to remember")]
    assert said("".join(cell["source"]))[:3] == [
        "heading 2: What to remember",
        "bullet: Twelve equal steps are twelve equal |strong:ratios|: each note is 1.0595 times the one before.",
        "bullet: Twelve meets the octave exactly, the fifth within 2 cents; it misses the major third by 14, "
        "harmonic 7 by 31 and harmonic 11 by 49.",
    ]


@pytest.mark.parametrize("notebook", LESSONS, ids=lambda path: path.stem)
def test_no_sign_of_markdown_is_left_in_a_lesson(notebook: Path) -> None:
    """But in code; and no word of three letters or more is lost"""
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    for text in ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"):
        shown = " ".join(said(text))
        assert not [sign for sign in ("**", "](", "## ", "|--", "&amp;") if sign in shown]
        assert all(word in shown for word in text.split() if word.isalpha() and len(word) > 2)


def test_what_is_not_known_stays_as_it_is_written() -> None:
    [block] = read_markdown("$x^2$ and <b>b</b> and **open")
    assert isinstance(block, Paragraph)
    assert words_of(block.spans) == "$x^2$ and <b>b</b> and **open"


def test_a_table_with_a_short_row_is_filled_up() -> None:
    [block] = read_markdown("| a | b |\n|---|---|\n| 1 |\n| 1 | 2 | 3 |")
    assert isinstance(block, Grid)
    assert [[words_of(cell) for cell in row] for row in block.rows] == [["1", ""], ["1", "2"]]


def test_the_bold_words_at_a_paragraphs_beginning_are_its_lead() -> None:
    [led, plain] = read_markdown("**Look and listen.** Then go on.\n\nNothing **bold** here first.")
    assert isinstance(led, Paragraph) and isinstance(plain, Paragraph)
    assert (led.lead, plain.lead) == ("Look and listen", "")


HARD = {
    "stars": "a" + "*" * 50_000,
    "an open star before bold words": "*open " + "**bold** " * 24,
    "ticks of all lengths": " ".join("`" * (number % 300 + 1) for number in range(600)),
    "brackets": "[" * 50_000,
    "links that never end": "[a](" * 12_000,
    "quotations in quotations": ">" * 50_000,
    "lists in lists": "".join(f"{'  ' * depth}- a\n" for depth in range(300)),
    "a blank heading": f"# a{' ' * 300_000}b",
    "a table of bars": f"|a|b|\n|-|-|\n{'|' * 50_000}",
}


@pytest.mark.parametrize("name", HARD)
def test_nothing_takes_long_to_read(name: str) -> None:
    """Two seconds are a hundred times what these take; what goes back and forth would take minutes or years"""
    begun = time.process_time()
    blocks = read_markdown(HARD[name])
    assert blocks and time.process_time() - begun < 2


def test_any_mixture_of_signs_is_read() -> None:
    chance = random.Random(8)
    for _ in range(400):
        read_markdown("".join(chance.choices('*_[]()<>!#-+=|`~\\ \n\t&;:1.a"\0\r\u2028', k=chance.randint(1, 200))))
