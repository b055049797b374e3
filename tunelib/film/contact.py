"""The contact sheet of an episode: one page to look through, with every shot at each of its keyframes.

It is one HTML file that loads nothing else; its links lead to the files beside it.
"""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from html import escape
from itertools import groupby
from pathlib import Path
from typing import Any

from PIL import Image

from tunelib.exhibits import Slider, Switch
from tunelib.film.captions import FASTEST_READING, reading_speeds
from tunelib.film.origins import digest
from tunelib.film.projector import Projector
from tunelib.film.record import Figures
from tunelib.film.shot import Episode, Glance, Output, Shot
from tunelib.pitch import MINUS, clock, listed, plain, times
from tunelib.show import find_size

SHEET = "contact.html"
NEW, AS_IT_WAS = "new", "as it was"

_LONG_SIDE_PIXELS = 640
_QUALITY = 82  # of a JPEG
_CHECK_PIXELS, _CHECKS = 8, (72, 96)  # the squares behind a transparent picture, and their two greys
_INK, _PAPER, _GREY, _LINE, _LINK, _MARK, _BAND = (
    "#16181c", "#fcfbf8", "#555a61", "#c9c6bd", "#00568a", "#b34700", "#efece4"
)  # fmt: skip


@dataclass(frozen=True)
class Row:
    """What to say of one output: whether it is there, and its figures if it is."""

    output: Output
    state: str
    figures: Figures | None


def pictures(shot: Shot) -> list[bytes]:
    """Small pictures of a shot where it is looked at, as JPEG files."""
    size = shot.settings.sizes[0]
    frame = find_size(size)
    coarse = "panel" if frame.width > frame.height else size
    projector = Projector(shot.programme, coarse, shot.settings.theme, shot.settings.sound if shot.moves else "off")
    found = []
    for glance in shot.glances:
        picture = Image.fromarray(projector.picture(projector.state(glance.at)).copy())
        picture.thumbnail((_LONG_SIDE_PIXELS, _LONG_SIDE_PIXELS), Image.Resampling.LANCZOS)
        behind = _checks(picture.size) if projector.theme.paper is None else Image.new("RGBA", picture.size, "white")
        packed = io.BytesIO()
        Image.alpha_composite(behind, picture).convert("RGB").save(packed, "JPEG", quality=_QUALITY)
        found.append(packed.getvalue())
    return found


def _checks(size: tuple[int, int]) -> Image.Image:
    """What is put behind a transparent picture to show that it is transparent."""
    dark, light = _CHECKS
    small = Image.new("L", (2, 2), dark)
    small.putpixel((0, 0), light)
    small.putpixel((1, 1), light)
    tile = small.resize((2 * _CHECK_PIXELS, 2 * _CHECK_PIXELS), Image.Resampling.NEAREST)
    out = Image.new("L", size)
    for x in range(0, size[0], tile.width):
        for y in range(0, size[1], tile.height):
            out.paste(tile, (x, y))
    return out.convert("RGBA")


def sheet_origin(episode: Episode, origins: Mapping[str, str], rows: Sequence[Row]) -> str:
    """The digest of what a contact sheet is made from; which files are new is left out of it."""
    said = {
        "title": episode.title,
        "notes": [[shot.name, shot.note] for shot in episode.shots],
        "origins": origins,
        "rows": [
            [row.output.file, row.state if row.figures is None else "", row.figures and asdict(row.figures)]
            for row in rows
        ],
        "code": digest(Path(__file__).read_bytes()),
    }
    return digest(json.dumps(said, sort_keys=True).encode())


def contact_sheet(episode: Episode, rows: Sequence[Row], shown: Mapping[str, Sequence[bytes]]) -> bytes:
    """The page, as UTF-8.

    Parameters
    ----------
    episode : Episode
    rows : sequence of Row
        One for each output.
    shown : mapping
        The pictures of each shot, by its name, one for each keyframe; a shot without pictures goes without.
    """
    return "\n".join(_page(episode, rows, shown)).encode()


def _page(episode: Episode, rows: Sequence[Row], shown: Mapping[str, Sequence[bytes]]) -> Iterator[str]:
    title = escape(episode.title)
    yield (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}: contact sheet</title>\n<style>{_STYLE}</style>\n</head>\n<body>"
    )
    yield f"<header>\n<h1>{title}</h1>\n<p>{escape(_summary(episode, rows))}</p>"
    yield '<nav aria-label="Shots">\n<ol>'
    for shot in episode.shots:
        yield f'<li><a href="#{shot.name}">{escape(shot.name)}</a> {_length(shot)}</li>'
    yield "</ol>\n</nav>\n</header>\n<main>"
    by_shot = {name: list(some) for name, some in groupby(rows, lambda row: row.output.shot.name)}
    for number, shot in enumerate(episode.shots, start=1):
        yield from _shot(number, shot, by_shot[shot.name], shown.get(shot.name, ()))
    yield "</main>\n</body>\n</html>\n"


def _summary(episode: Episode, rows: Sequence[Row]) -> str:
    moving = [shot for shot in episode.shots if shot.moves]
    new = sum(row.state == NEW for row in rows)
    there = sum(row.figures is not None for row in rows)
    parts = [
        times(len(episode.shots), "shot"),
        times(len(rows), "file")
        + f" ({new} new in the run that wrote this page, {there - new} as before"
        + (f", {len(rows) - there} missing)" if there < len(rows) else ")"),
    ]
    if moving:
        parts.append(f"{clock(sum(shot.programme.seconds for shot in moving), tenths=True)} of clips")
    return f"From {episode.file}: {', '.join(parts)}."


def _length(shot: Shot) -> str:
    return clock(shot.programme.seconds, tenths=True) if shot.moves else "still"


def _shot(number: int, shot: Shot, rows: Sequence[Row], shown: Sequence[bytes]) -> Iterator[str]:
    heading = shot.title or shot.exhibit.title
    yield f'<section id="{shot.name}" aria-labelledby="{shot.name}.heading">'
    yield f'<h2 id="{shot.name}.heading"><span class="number">{number}</span> {escape(heading)}</h2>'
    yield f'<p class="what">{escape(shot.name)}: {_kind(shot)} of {_exhibits(shot)}</p>'
    if shot.note:
        yield f'<p class="note"><b>To say:</b> {escape(shot.note)}</p>'
    if shot.moves:
        yield _course(shot)
    if shot.say:
        yield "<dl class='talk'>"
        for one in shot.spoken:
            yield f"<dt>{clock(one.at, tenths=True)}, {one.pace:.0f} words a minute</dt><dd>{escape(one.words)}</dd>"
        yield "</dl>"
    captioned = any(row.output.captions for row in rows) and not shot.say  # what is said has its pace checked
    speeds = reading_speeds(shot.programme) if captioned else []
    too_fast = [number for number, speed in enumerate(speeds, start=1) if speed > FASTEST_READING]
    if too_fast:
        yield (
            f'<p class="mark"><b>Captions too fast to read</b> at {_keyframes(too_fast)}: more than '
            f"{FASTEST_READING:g} characters a second, a usual ceiling for subtitles. Give more time there.</p>"
        )
    yield '<div class="frames">'
    before: dict[int, Mapping[str, Any]] = {}
    numbers = {cue: number for number, cue in enumerate((cue.at, cue.act) for cue in shot.programme.cues)}
    for index, glance in enumerate(shot.glances):
        cue = None if glance.points else numbers.get((glance.begins, glance.act))
        speed = speeds[cue] if speeds and cue is not None else 0.0
        yield from _frame(
            shot, glance, cue, before.get(glance.act, {}), shown[index] if index < len(shown) else None, speed
        )
        before[glance.act] = glance.values
    yield "</div>"
    yield from _files(shot, rows)
    yield "</section>"


def _kind(shot: Shot) -> str:
    if not shot.moves:
        return "still"
    keyframes = times(len(shot.programme.cues), "keyframe")
    return f"clip of {shot.programme.seconds:g} s with {keyframes}, sound {escape(shot.settings.sound)},"


def _exhibits(shot: Shot) -> str:
    names = [escape(entry.exhibit.name) for entry in shot.programme.entries]
    return f"the exhibit {names[0]}" if len(names) == 1 else f"the exhibits {listed(names)}"


def _keyframes(numbers: Sequence[int]) -> str:
    return ("keyframe " if len(numbers) == 1 else "keyframes ") + ", ".join(map(str, numbers))


def _course(shot: Shot) -> str:
    """A line of time: where the knobs rest, and between which moments they move."""
    whole = shot.programme.seconds
    stops = shot.stops
    rests = "".join(
        f'<rect x="{1000 * start / whole:.1f}" y="4" width="{max(1000 * (end - start) / whole, 3):.1f}" height="8"/>'
        for start, end in [
            *((stop.at if index else 0.0, stop.leaves) for index, stop in enumerate(stops)),
            (stops[-1].leaves, whole),
        ]
    )
    said = f"The knobs rest at {', '.join(clock(stop.at, tenths=True) for stop in stops)} and move in between."
    return (
        f'<svg class="course" viewBox="0 0 1000 16" preserveAspectRatio="none" role="img" aria-label="{said}">'
        f'<rect class="way" x="0" y="7" width="1000" height="2"/>{rests}</svg>'
    )


def _frame(
    shot: Shot, glance: Glance, number: int | None, before: Mapping[str, Any], picture: bytes | None, speed: float
) -> Iterator[str]:
    first = find_size(shot.settings.sizes[0])
    shape = "upright" if first.height > first.width else "square" if first.height == first.width else "wide"
    yield f'<figure class="{shape}">'
    if picture is not None:
        when = f", {clock(glance.begins, tenths=True)} in" if shot.moves else ""
        with Image.open(io.BytesIO(picture)) as opened:
            width, height = opened.size
        yield (
            f'<img src="data:image/jpeg;base64,{base64.b64encode(picture).decode()}" width="{width}" height="{height}" '
            f'alt="{escape(glance.exhibit.title)}{when}; what it shows is said below.">'
        )
    yield "<figcaption>"
    if shot.moves:
        held = f", held {glance.at - glance.begins:g} s" if glance.at > glance.begins and not glance.points else ""
        which = "" if number is None else f"<b>{number + 1}</b> "
        yield f'<p class="time">{which}at {clock(glance.begins, tenths=True)}{held}</p>'
    yield f"<p>{escape(glance.said)}</p>"
    knobs = [
        f"<b>{text}</b>" if name in before and before[name] != glance.values[name] else text
        for name, text in _knobs(glance)
    ]
    yield f'<p class="knobs">{", ".join(knobs)}</p>'
    if speed:
        mark = ' class="mark"' if speed > FASTEST_READING else ""
        yield f"<p{mark}>Captions: {speed:.0f} characters a second{', too fast' if mark else ''}</p>"
    yield "</figcaption>\n</figure>"


def _knobs(glance: Glance) -> Iterator[tuple[str, str]]:
    """Each knob's name, and it with its value and unit."""
    for knob in glance.exhibit.knobs:
        value = glance.values[knob.name]
        if isinstance(knob, Slider):
            said = f"{plain(value, 2)}{f' {knob.unit}' if knob.unit else ''}"
        elif isinstance(knob, Switch):
            said = "on" if value else "off"
        else:
            said = str(value)
        yield knob.name, escape(f"{knob.name} {said}")


def _files(shot: Shot, rows: Sequence[Row]) -> Iterator[str]:
    heads = ["file", "pixels", "size"]
    heads += ["length", "frames a second", "loudness", "true peak"] if shot.moves else []
    yield (
        f'<div class="table" role="region" tabindex="0" aria-label="Files of {shot.name}">\n<table>\n<thead><tr>'
        + "".join(f'<th scope="col">{head}</th>' for head in [*heads, "in this run"])
        + "</tr></thead>\n<tbody>"
    )
    for row in rows:
        links = " ".join(f'<a href="{file}">{file}</a>' for file in row.output.files)
        figures = row.figures
        if figures is None or (shot.moves and None in (figures.seconds, figures.fps)):
            empty = "<td>–</td>" * (len(heads) - 1)
            yield f'<tr><th scope="row">{row.output.file}</th>{empty}<td class="mark">{escape(row.state)}</td></tr>'
            continue
        cells = [f"{figures.width} × {figures.height}", _bytes(figures.bytes)]
        if shot.moves:
            silent = None in (figures.loudness, figures.true_peak)
            cells += [
                f"{figures.seconds:g} s",
                f"{figures.fps}",
                "silent" if silent else f"{figures.loudness:.1f} LKFS".replace("-", MINUS),
                "–" if silent else f"{figures.true_peak:.1f} dBTP".replace("-", MINUS),
            ]
        cells.append(escape(row.state))
        yield f'<tr><th scope="row">{links}</th>{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'
    yield "</tbody>\n</table>\n</div>"


def _bytes(number: int) -> str:
    return f"{number / 1000:.0f} kB" if number < 999_500 else f"{number / 1e6:.1f} MB"


_STYLE = f"""
:root {{ color-scheme: light; }}
body {{ margin: 0 auto; padding: 1.5rem clamp(1rem, 4vw, 3rem) 4rem; max-width: 76rem;
  color: {_INK}; background: {_PAPER}; font: 1rem/1.5 system-ui, sans-serif; }}
h1 {{ margin: 0; font-size: 2rem; line-height: 1.2; }}
h2 {{ margin: 0; font-size: 1.4rem; line-height: 1.3; }}
p {{ margin: .3rem 0; max-width: 70ch; overflow-wrap: anywhere; }}
a {{ color: {_LINK}; }}
a:focus-visible, .table:focus-visible {{ outline: 3px solid {_LINK}; outline-offset: 2px; }}
nav ol {{ display: flex; flex-wrap: wrap; gap: .2rem 2.2rem; padding-left: 1.4rem; }}
nav li {{ padding-left: .2rem; }}
section {{ border-top: 2px solid {_INK}; margin-top: 2.5rem; padding-top: 1rem; }}
.number {{ display: inline-block; min-width: 1.2em; padding: 0 .3em; margin-right: .3em; text-align: center;
  color: {_PAPER}; background: {_INK}; }}
.what, .time, .knobs {{ color: {_GREY}; }}
.time b {{ color: {_INK}; }}
.note {{ border-left: 4px solid {_LINK}; padding-left: .8rem; font-size: 1.1rem; }}
.mark {{ color: {_MARK}; }}
.course {{ display: block; width: 100%; height: 16px; margin: .8rem 0; fill: {_LINK}; }}
.course .way {{ fill: {_LINE}; }}
.frames {{ display: flex; flex-wrap: wrap; gap: 1.2rem; margin: .8rem 0; align-items: flex-start; }}
figure {{ margin: 0; flex: 1 1 19rem; max-width: 30rem; }}
figure.square {{ flex-basis: 16rem; max-width: 20rem; }}
figure.upright {{ flex-basis: 13rem; max-width: 16rem; }}
img {{ display: block; width: 100%; height: auto; border: 1px solid {_LINE}; box-sizing: border-box; }}
.table {{ overflow-x: auto; }}
table {{ border-collapse: collapse; font-size: .92rem; }}
th, td {{ padding: .3rem .9rem .3rem .4rem; text-align: left; vertical-align: top; font-weight: normal;
  border-bottom: 1px solid {_LINE}; white-space: nowrap; }}
td.mark {{ white-space: normal; min-width: 14rem; }}
thead th {{ background: {_BAND}; }}
@media print {{
  body {{ max-width: none; padding: 0; font-size: 9.5pt; background: none; }}
  h2, p, .course {{ break-after: avoid; }}
  section, figure, tr {{ break-inside: avoid; }}
  .number {{ color: {_INK}; background: none; border: 1px solid {_INK}; }}
  .table {{ overflow: visible; }}
  table {{ font-size: .85rem; }}
  th, td {{ white-space: normal; padding-right: .5rem; }}
  figure, figure.square {{ flex: 0 0 30%; }}
  figure.upright {{ flex: 0 0 20%; }}
  a {{ color: {_INK}; text-decoration: none; }}
  nav {{ display: none; }}
}}
"""
