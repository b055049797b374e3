"""A report on a take as a piece of a page: its sentences first, then a table that can be read by ear as well."""

from __future__ import annotations

import html

from tunelib.hearing import FURTHEST, LONG_TAKE, Report
from tunelib.show import aloud

_CELL = "padding:2px 8px;text-align:right;white-space:nowrap"
_UNSEEN = "position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap"


def report_html(report: Report) -> str:
    """A report as HTML with its styles in it: sentences as a list, notes as a table with headings for assistive
    technology, and the signs of notes in words beside them. Of a take of more than thirty notes the five furthest off
    are shown, and all the others unfold below.
    """
    heading, *sentences = report.words()
    parts = [f'<p style="margin:0 0 4px">{html.escape(heading)}</p>']
    if sentences:
        items = "".join(f"<li>{_spoken(sentence)}</li>" for sentence in sentences)
        parts.append(f'<ul style="margin:0 0 8px;padding-left:1.2em">{items}</ul>')
    count = len(report.notes)
    if count > LONG_TAKE:
        parts.append(_table(report, report.rows(report.furthest[:FURTHEST]), f"The {FURTHEST} notes furthest off"))
        whole = _table(report, report.rows(), f"All {count} notes")
        parts.append(f"<details><summary>All {count} notes</summary>{whole}</details>")
    else:
        parts.append(_table(report, report.rows(), "Note by note"))
    return f'<div class="tunelib-report" style="line-height:1.4">{"".join(parts)}</div>'


def _table(report: Report, rows: list[tuple[str, ...]], caption: str) -> str:
    """A table in a box that scrolls where a page is narrow, by keyboard too."""
    head = "".join(f'<th scope="col" style="{_CELL}">{html.escape(name or "outcome")}</th>' for name in report.head)
    lines = "".join(
        f'<tr><th scope="row" style="{_CELL}">{row[0] or "–"}</th>'
        + "".join(f'<td style="{_CELL}">{_spoken(cell)}</td>' for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    return (
        f'<div role="region" aria-label="{caption}" tabindex="0" style="overflow-x:auto;margin:0 0 8px">'
        '<table style="border-collapse:collapse;font-variant-numeric:tabular-nums">'
        f'<caption style="text-align:left;font-weight:bold">{caption}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{lines}</tbody></table></div>"
    )


def _spoken(words: str) -> str:
    """Words as they are seen; with those that a screen reader should say instead, where they differ."""
    said, seen = html.escape(aloud(words)), html.escape(words)
    if said == seen:
        return seen
    return f'<span aria-hidden="true">{seen}</span><span style="{_UNSEEN}">{said}</span>'
