"""The shot list: a TOML file that names the pictures and clips of one episode of a video.

TOML is an open standard (toml.io, version 1.0.0). What a shot list may hold::

    title = "Where the comma comes from"   # heading of the contact sheet; the file's own name, if left out

    [defaults]                 # for every shot that does not say otherwise; each line may be left out
    sizes = ["1080p"]          # 1080p, 2160p, vertical, square and the other sizes of a still
    formats = ["png", "mp4"]   # stills: png, svg, pdf. Clips: mp4, webm, mov. Each shot takes those of its kind
    theme = "light"            # light, dark, or transparent (clips: webm or mov)
    fps = 30                   # clips: frames a second
    sound = "at keyframes"     # clips: at keyframes, following, or off
    loudness = -23             # clips: LKFS, or "as rendered"
    captions = true            # clips: whether to write a file of captions (.vtt) beside it
    sentence = false           # stills: whether to add the exhibit's sentence below, in a picture that much taller

    [[shot]]                   # one for each shot, in the order of the episode
    name = "slow-beats"        # the files are called by it: slow-beats-1080p.png
    exhibit = "beats"
    title = "One beat a second"            # in the picture; the exhibit's own if left out, none if ""
    note = "Count along before you look."  # what to say over it; on the contact sheet only
    knobs = { difference = 1 } # those not named stay at their defaults
    theme = "dark"             # any of the defaults, for this shot

    [[shot]]
    name = "beats-to-roughness"
    exhibit = "beats"
    seconds = 8                # how long the clip is; 3 s after the last keyframe if left out
    knobs = { lower = 220 }    # where the knobs are until a keyframe moves them

    [[shot.keyframe]]          # a shot that has keyframes is a clip, one that has none a still
    at = 0                     # seconds from the beginning
    hold = 2                   # seconds for which the knobs stay before the next move; none if left out
    knobs = { difference = 1 }

    [[shot.keyframe]]
    at = 6
    ease = "in and out"        # how the knobs move towards it: in and out, in, out, steady, or jump
    knobs = { difference = 20 }

A clip may do more. What there is to be named of an exhibit is in its `parts`, its `builds` and its `numbers`, and a
wrong name is answered with the right ones::

    [[shot]]
    name = "where-the-seventh-lives"
    exhibit = "overtones_and_steps"
    build = true               # its parts come on stage group by group: before the first keyframe, or, if that is at
                               # the beginning, before the first move; the whole is then still for a second

    [[shot.keyframe]]
    at = 6
    build = 2                  # in place of build = true: so many groups are on stage from here on

    [[shot.say]]               # what you say over it, and when; as many as you like. The captions are then these words.
    at = 7                     # Numbers in braces are those of the exhibit in front; too many words for the time are
    words = "Harmonic {harmonic} misses by {cents} cents."      # refused

    [[shot.point]]             # as many as you like
    at = 8
    until = 12                 # to the end of the clip, or until another exhibit follows, if left out
    part = "gap"               # one of the exhibit's parts
    how = ["circle", "dim"]    # circle: a ring round it. dim: the rest recedes. zoom: nearer. One, some, or []
    words = "{cents} cents too low"        # beside it; names in braces are the exhibit's numbers, or its knobs

    [shot.beside]              # another exhibit, beside the first in a wide picture, below it in an upright one; sound
    exhibit = "harmonic_ladder"            # and captions are of the one whose keyframe came last. It has a title,
    knobs = { count = 8 }                  # build, [[shot.beside.keyframe]] and [[shot.beside.point]] of its own, too

    [[shot.then]]              # another exhibit that follows, alone; the same goes for it, and its times are those of
    exhibit = "beating_third"  # the whole clip
    at = 14                    # when it begins to come
    transition = "cross-fade"  # cut, cross-fade, or morph: parts of the same name go from place to place

Every size and format of a shot is a file, `name-size.format`. Names hold no numbers of order, so that a shot put in
between renames nothing that a video editor links to.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

from tunelib.files import require_file
from tunelib.film.mistakes import Mistake, ShotListError
from tunelib.film.shot import Episode
from tunelib.film.shot_reader import ShotReader
from tunelib.film.toml_lines import lines_of

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MOST_BYTES = 1_000_000
_DEEPEST = 12  # tables in tables; a knob of a keyframe of an exhibit that follows needs seven
_MANY_DIGITS = re.compile(r"[0-9][0-9_]{1000,}")
_HINTS = {  # what is usually behind a message of the TOML reader, by its beginning
    "Cannot declare": "each shot begins with [[shot]] and each keyframe with [[shot.keyframe]], in double brackets",
    "Cannot overwrite": "each name may be given only once in a shot or a keyframe",
    "Expected '='": "values are set with an equals sign, as in at = 6",
    "Expected newline": "one setting to a line, and decimals have a point, as in at = 6.5",
    "Illegal character": "text ends on its own line, with the kind of quotation mark that it began with",
    "Invalid value": "text goes in quotes, numbers without, and true and false are in lower case",
}


def read_episode(path: str | Path) -> Episode:
    """Read a shot list and check everything in it.

    Raises ShotListError with every mistake and its line, and OSError if the file cannot be read.
    """
    path = Path(path)
    require_file(path, "give the shot list itself, such as episode.toml")
    if path.stat().st_size > MOST_BYTES:
        raise ValueError(f"{path} has {path.stat().st_size:,} bytes; a shot list has {MOST_BYTES:,} at most")
    return parse_episode(path.read_bytes(), path.name)


def parse_episode(data: bytes, file: str = "episode.toml") -> Episode:
    """The same from bytes; `file` is what the messages call it."""
    text = _decoded(data, file)
    try:
        tree = tomllib.loads(text)
        if _depth(tree) > _DEEPEST:
            raise RecursionError
        lines = lines_of(text)
    except RecursionError:
        raise ValueError(f"{file}: its tables and arrays are nested too deep for a shot list") from None
    except ValueError as error:
        raise _not_toml(error, text, file) from None
    reader = ShotReader(tree, lines)
    shots = reader.shots()
    if reader.mistakes:
        raise ShotListError(file, reader.mistakes)
    return Episode(reader.title or Path(file).stem, tuple(shots), file)


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = 1 + data.count(b"\n", 0, error.start)
        raise ShotListError(
            file, [Mistake(line, "this is not text in UTF-8; save the file as UTF-8 in the editor")]
        ) from None


def _depth(tree: Any) -> int:
    """How deep tables and arrays are nested."""
    depth, layer = 0, [tree]
    while layer and depth <= _DEEPEST:
        depth += 1
        layer = [
            inner
            for outer in layer
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, (dict, list))
        ]
    return depth


def _not_toml(error: ValueError, text: str, file: str) -> ValueError:
    said = str(error)
    where = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", said)
    if where is None:  # a number of more digits than Python reads
        found = _MANY_DIGITS.search(text)
        line = 1 + text.count("\n", 0, found.start() if found else 0)
        return ShotListError(file, [Mistake(line, "a number of thousands of digits is more than any setting takes")])
    line = int(where[1]) if where[1] else 1 + text.rstrip().count("\n")
    what = said[: where.start()]
    what += next((f"; {hint}" for beginning, hint in _HINTS.items() if what.startswith(beginning)), "")
    return ShotListError(file, [Mistake(line, f"this is not TOML: {what[0].lower()}{what[1:]}")])
