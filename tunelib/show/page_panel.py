"""An exhibit on a page that has no Python behind it: its parts in HTML, and what its script moves them by.

Everything is readable before any script has run: the first picture, its sentence and the names of the knobs. What the
knobs show lies at the end of the page, packed, and is unpacked when the exhibit comes near.
"""

from __future__ import annotations

import base64
import gzip
import html
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tunelib.exhibits import Switch
from tunelib.pitch import listed
from tunelib.show.ahead import Ahead, Row
from tunelib.show.assist import aloud
from tunelib.show.mosaic import ACROSS, TILE
from tunelib.show.stage import find_size

PAGE_PANEL_STYLE = Path(__file__).parent / "page_panel.css"


def panel_html(made: Ahead, name: str) -> str:
    """The exhibit's place on the page; `name` is that of nothing else there."""
    width, height = find_size("panel").pixels
    title, words = html.escape(made.exhibit.title), html.escape(made.start.words)
    said = html.escape(aloud(made.start.words))
    knobs = "\n".join(_knob(row, place, f"{name}-{row.knob.name}") for place, row in enumerate(made.rows))
    notes = "".join(f'<p class="aside">{html.escape(note)}</p>\n' for note in _notes(made))
    picture = f'width="{width}" height="{height}"'
    return (
        f'<figure class="exhibit" id="{name}" data-exhibit="{made.exhibit.name}" data-title="{title}" '
        f'aria-label="{title}">\n<div class="window"><div class="picture">'
        f'<img src="data:image/webp;base64,{_text(made.first)}" {picture} alt="{said}">'
        f'<canvas {picture} aria-hidden="true" hidden></canvas></div></div>\n'
        '<button type="button" class="larger" aria-pressed="false" hidden>Larger picture</button>\n'
        f'<figcaption><p class="sentence" aria-hidden="true">{words}</p><p class="spoken" role="status">{said}</p>'
        f'</figcaption>\n<div class="controls"><div class="knobs" hidden>\n{knobs}\n</div>\n'
        f'<div class="sound"></div></div>\n{notes}</figure>'
    )


def panel_data(made: Ahead, name: str) -> str:
    """What the exhibit of that name is moved by, for the end of the page: data, which no browser runs."""
    sheets, steps, tones = made.pictures.sheets, made.pictures.steps, made.sounds.tones
    # fmt: off
    table = {
        "rows": [_table(row) for row in made.rows],
        "together": made.together,
        "places": made.places,
        "settings": [[one.picture, one.words, _if_other(one.words), one.sound, one.others, one.chosen]
                     for one in made.settings],
        "grid": {"tile": TILE, "across": ACROSS, "columns": made.pictures.columns, "pictures": steps.shape[1]},
        "sheets": [len(sheet) for sheet in sheets],
        "heads": made.sounds.heads,
        "parts": made.sounds.parts,
        "tones": [len(tone) for tone in tones],
        # Pairs, since a JavaScript object would put names such as 12 first.
        "ways": [[way, _stops_of(made, knobs)] for way, knobs in made.exhibit.comparisons.items()],
    }
    # fmt: on
    words = json.dumps(table, ensure_ascii=False, separators=(",", ":")).encode()
    return "\n".join(
        f'<script type="application/octet-stream" data-of="{name}" data-part="{part}">{_text(packed)}</script>'
        for part, packed in (
            ("table", gzip.compress(words, mtime=0)),
            ("tones", gzip.compress(b"".join(tones), mtime=0)),
            ("steps", gzip.compress(steps.astype("<i4").tobytes(), mtime=0)),
            ("sheets", b"".join(sheets)),
        )
    )


def _table(row: Row) -> dict[str, object]:
    """A knob's stops: as they are read, as they are spoken, and which is the start."""
    said = [row.said(value) for value in row.values]
    return {"said": said, "spoken": [_if_other(words) for words in said], "start": row.start}


def _if_other(words: str) -> str:
    """Words as they are spoken; nothing if that is how they are written."""
    spoken = aloud(words)
    return spoken if spoken != words else ""


def _stops_of(made: Ahead, knobs: Mapping[str, Any]) -> list[list[int]]:
    """Knob values of a way to tune as pairs: the row, and its stop."""
    places = {row.knob.name: place for place, row in enumerate(made.rows)}
    return [[places[name], made.rows[places[name]].values.index(value)] for name, value in knobs.items()]


def _knob(row: Row, place: int, name: str) -> str:
    """A knob with its label and the value that it has at first."""
    knob, said = row.knob, html.escape(row.said(row.values[row.start]))
    label = f'<label for="{name}">{html.escape(knob.label)}</label>'
    common = f'id="{name}" data-row="{place}"'
    if isinstance(knob, Switch):
        ticked = " checked" if row.values[row.start] else ""
        return f'<div class="knob switch"><input type="checkbox" {common}{ticked}>{label}</div>'
    if row.slides:
        spoken = html.escape(aloud(row.said(row.values[row.start])))
        return (
            f'<div class="knob">{label}<input type="range" {common} min="0" max="{len(row.values) - 1}" step="1" '
            f'value="{row.start}" aria-valuetext="{spoken}"><output for="{name}">{said}</output></div>'
        )
    options = "".join(
        f'<option value="{number}"{" selected" if number == row.start else ""}{_labelled(str(option))}>'
        f"{html.escape(str(option))}</option>"
        for number, option in enumerate(row.values)
    )
    return f'<div class="knob">{label}<select {common}>{options}</select></div>'


def _labelled(words: str) -> str:
    spoken = _if_other(words)
    return f' aria-label="{html.escape(spoken)}"' if spoken else ""


def _notes(made: Ahead) -> list[str]:
    """What a reader should know who has seen the exhibit move in a notebook."""
    notes = []
    alone = [row.knob.label for place, row in enumerate(made.rows) if place not in made.together]
    if len(made.together) > 1 and alone:
        notes.append(f"{_each(alone)} moves by itself here: the rest then goes back to where it began.")
    elif alone and len(made.rows) > 1:
        notes.append("One slider at a time moves here: the others then go back to where they began.")
    thinned = [row.knob.label for row in made.rows if row.thinned]
    if thinned:
        notes.append(f"{_each(thinned)} has fewer stops here than in the notebook; the values shown are exact.")
    if made.exhibit.makes:
        notes.append(f"The button “{made.exhibit.makes}” writes files, and so is in the notebook alone.")
    return notes


def _each(labels: Sequence[str]) -> str:
    named = [f"“{label}”" for label in labels]
    return named[0] if len(named) == 1 else f"Each of {listed(named)}"


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()
