"""Where the keys of a tuning are: in rows, in a line, in a ring, on the staff, on a fretboard.

All is measured in keys: 1 is the breadth of one, x goes to the right and y down, and the place of a key is its middle.
The page decides how large a key is. Each key also says which place of a computer keyboard plays it, by the name that
the place has in a browser (UI Events KeyboardEvent code Values, W3C), whatever letter is printed there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

from tunelib.export import middle_line
from tunelib.live.clefs import CLEF_UNITS, clef_outline
from tunelib.live.key_notes import KeyNotes
from tunelib.pitch import (
    LETTERS,
    STRING_SETS,
    KeyGrid,
    Note,
    drawn,
    fret_gaps,
    fret_places,
    instrument,
    look_up,
    whole_number,
)

MOST_IN_ROWS = 72  # steps to the octave: what the page has room for
MOST_KEYS = 400
_MOST_OCTAVES = 8
_PLACES = (  # of a computer keyboard, from the bottom row up
    "KeyZ KeyX KeyC KeyV KeyB KeyN KeyM Comma Period Slash".split(),
    "KeyA KeyS KeyD KeyF KeyG KeyH KeyJ KeyK KeyL Semicolon Quote".split(),
    "KeyQ KeyW KeyE KeyR KeyT KeyY KeyU KeyI KeyO KeyP BracketLeft BracketRight".split(),
    "Digit1 Digit2 Digit3 Digit4 Digit5 Digit6 Digit7 Digit8 Digit9 Digit0 Minus Equal".split(),
)
_HOME_ROW = 1  # whose first place plays the lowest note of the rows
_GAP = 0.08  # between two keys
_MOST_IN_ONE_RING = 36
_TALL = 2.2  # of a key in a line
_NUT = 1.5  # of the open strings
_CLEF = 3.0  # of the room for the clef
_TO_C = 6  # places from the middle line down to the first note: C4 in the treble clef
_CLEF_UP = 7  # places that it takes above the middle line, and below


@dataclass(frozen=True)
class KeyPlace:
    """One key: the step that it sounds, its middle, its size, and the place of a computer keyboard that plays it.

    `name` is what stands on it where that is another name than that of the step, as on a transposing player's staff.
    """

    step: int
    x: float
    y: float
    width: float
    height: float
    code: str = ""
    name: str = ""


@dataclass(frozen=True)
class Line:
    """A line behind the keys, such as a string or a line of the staff; `broad` for one that is drawn broader."""

    x1: float
    y1: float
    x2: float
    y2: float
    broad: bool = False


@dataclass(frozen=True)
class Clef:
    """The sign at the beginning of a staff: an outline as SVG writes it, y upwards, with its place and its scale."""

    outline: str = ""
    x: float = 0.0
    y: float = 0.0
    scale: float = 1.0


@dataclass(frozen=True)
class Board:
    """Keys on a board of some width and height; `arrangement` is the name of the layout."""

    arrangement: str
    keys: tuple[KeyPlace, ...]
    width: float
    height: float
    lines: tuple[Line, ...] = ()
    clef: Clef = Clef()

    def table(self) -> dict[str, Any]:
        """All of it as the page has it."""
        return asdict(self)


@dataclass(frozen=True)
class _Wanted:
    notes: KeyNotes
    lowest: int
    octaves: int
    player: str


def lay_out(name: str, notes: KeyNotes, octaves: int | None = None, lowest: int = 0, player: str = "") -> Board:
    """The keys of a tuning.

    Parameters
    ----------
    name : str
        One of `LAYOUTS`.
    notes : KeyNotes
    octaves : int, optional
        How many periods of the tuning there are keys for; as many as suit the layout unless given.
    lowest : int
        The lowest step; on the staff and the fretboard the player decides.
    player : str
        On the staff, the instrument whose clef and written notes these are; on the fretboard, one of `STRING_SETS`.

    Raises ValueError for another name, for more keys than the page has room for, and for a layout that does not suit
    the tuning.
    """
    layout = look_up(name, LAYOUTS, "layout of keys")
    periods = layout.octaves if octaves is None else whole_number(octaves, "the number of octaves", 1, _MOST_OCTAVES)
    board = layout.make(_Wanted(notes, lowest, periods, player))
    if len(board.keys) > MOST_KEYS:
        raise ValueError(
            f"{len(board.keys)} keys are too many for a page: take fewer octaves, at most {MOST_KEYS} keys"
        )
    return board


def grid_of(notes: KeyNotes) -> KeyGrid:
    """The rows of a tuning: a whole tone to the right, a diatonic semitone up or, where these miss notes, nearly so.

    A whole tone is two fifths less an octave, a semitone three octaves less five fifths.

    >>> from tunelib.live.key_notes import key_notes
    >>> grid_of(key_notes(31)), grid_of(key_notes(12))
    (KeyGrid(division=31, across=5, up=3), KeyGrid(division=12, across=2, up=1))
    """
    n, fifth = len(notes.tuning), notes.tuning.fifth
    across, up = (2 * fifth - n, 3 * n - 5 * fifth) if fifth else (max(1, round(n / 6)), max(1, round(n / 12)))
    nearest = sorted(range(1, across + 1), key=lambda other: (abs(other - up), other))
    return KeyGrid(n, across, next(other for other in nearest if math.gcd(across, other) == 1))


def _rows(wanted: _Wanted) -> Board:
    """Rows as `KeyGrid` has them, each moved sideways so that what is farther right is higher."""
    grid, notes = grid_of(wanted.notes), len(wanted.notes.tuning)
    if notes > MOST_IN_ROWS:
        raise ValueError(f"rows have room for {MOST_IN_ROWS} steps to the octave, not {notes}: take layout='line'")
    rows = range(-(grid.across // 2), (grid.across + 1) // 2 + 1)  # one more than it takes for every step to have a key
    highest = wanted.octaves * notes
    keys = []
    for row in rows:
        columns = range(math.ceil(-grid.up * row / grid.across), (highest - grid.up * row) // grid.across + 1)
        for column in columns:
            step = int(grid.step(column, row))
            x = step / grid.across + 0.5
            keys.append(_key(wanted.lowest + step, x, rows[-1] - row + 0.5, code=_row_place(column, row)))
    return Board("rows", tuple(keys), highest / grid.across + 1, len(rows))


def _row_place(column: int, row: int) -> str:
    """Where on a computer keyboard: a place up and to the left is a tone less a semitone lower, as in the rows."""
    line = row + _HOME_ROW
    return _place(line, column + row) if 0 <= line < len(_PLACES) else ""


def _place(line: int, place: int) -> str:
    return _PLACES[line][place] if 0 <= place < len(_PLACES[line]) else ""


def _in_order(count: int) -> list[str]:
    """Places for keys in a line: from the bottom row up or, for what has numbers, from the digits down."""
    codes = [code for line in _PLACES for code in line]
    return codes[:count] + [""] * (count - len(codes))


def _numbered(count: int) -> list[str]:
    codes = [code for line in reversed(_PLACES) for code in line[:10]]
    return codes[:count] + [""] * (count - len(codes))


def _line(wanted: _Wanted) -> Board:
    notes = wanted.notes
    count = len(notes.tuning) * wanted.octaves + (1 if notes.spelled else 0)
    codes = _in_order(count) if notes.spelled else _numbered(count)
    keys = [_key(wanted.lowest + i, i + 0.5, _TALL / 2, height=_TALL - _GAP, code=codes[i]) for i in range(count)]
    return Board("line", tuple(keys), count, _TALL)


def _ring(wanted: _Wanted) -> Board:
    """One period clockwise from the top; many keys in two rings, one within the other."""
    count = len(wanted.notes.tuning)
    rings = 2 if count > _MOST_IN_ONE_RING else 1
    inner = max(1.2, 0.5 / math.sin(math.pi / max(2, math.ceil(count / rings))))
    radii = [inner + (i + 1) % rings for i in range(count)]
    if rings == 2 and count % 2:
        radii[-1] += 1  # beside the first, which is in the outer ring as well
    middle, codes, keys = max(radii) + 0.5, _in_order(count), []
    for i, radius in enumerate(radii):
        turn = 2 * math.pi * i / count
        x, y = middle + radius * math.sin(turn), middle - radius * math.cos(turn)
        keys.append(_key(wanted.lowest + i, x, y, code=codes[i]))
    return Board("ring", tuple(keys), 2 * middle, 2 * middle)


def _staff(wanted: _Wanted) -> Board:
    """Each note at its place on a player's staff, those of one place side by side in order of pitch."""
    notes = wanted.notes
    if not notes.spelled:
        raise ValueError(
            f"the notes of {notes.tuning.name} have no letters, so no place on a staff: take layout='line'"
        )
    player = instrument(wanted.player or "flute")
    middle = middle_line(player.clef).diatonic
    first = Note(LETTERS[(middle - _TO_C) % len(LETTERS)], 0, (middle - _TO_C) // len(LETTERS))
    lowest, above = notes.step(player.sounding(first)), notes.step(first) - notes.step(player.sounding(first))
    steps = range(lowest, lowest + len(notes.tuning) * wanted.octaves + 1)
    written = [notes.note(step + above) for step in steps]
    top = max(middle + _CLEF_UP, *(note.diatonic for note in written))
    bottom = min(middle - _CLEF_UP, *(note.diatonic for note in written))
    codes = _in_order(len(steps))
    keys = [
        _key(step, _CLEF + i + 0.5, (top - note.diatonic) / 2 + 0.5, code=codes[i], name=drawn(note.name))
        for i, (step, note) in enumerate(zip(steps, written, strict=True))
    ]
    places = [middle + k for k in (-4, -2, 0, 2, 4)]
    width = len(steps) + _CLEF
    lines = [Line(0, (top - place) / 2 + 0.5, width, (top - place) / 2 + 0.5) for place in places]
    outline, line = clef_outline(player.clef)
    clef = Clef(outline, 0.2, (top - middle - line) / 2 + 0.5, 1 / CLEF_UNITS)
    height = (top - bottom) / 2 + 1
    return Board("staff", tuple(keys), width, height, (*lines, *_ledgers(written, middle, top)), clef)


def _ledgers(written: Sequence[Note], middle: int, top: int) -> list[Line]:
    found = []
    for i, note in enumerate(written):
        away = note.diatonic - middle
        for place in range(6, abs(away) + 1, 2):
            y = (top - middle - math.copysign(place, away)) / 2 + 0.5
            found.append(Line(_CLEF + i, y, _CLEF + i + 1, y))
    return found


def _fretboard(wanted: _Wanted) -> Board:
    """Strings one above the other, the highest on top; each key is where a finger goes, between two frets."""
    notes, steps = wanted.notes, len(wanted.notes.tuning)
    if not notes.spelled or not notes.is_even:
        raise ValueError(f"frets run straight across in equal steps with letters, not in {notes.tuning.name}")
    strings = look_up(wanted.player or "guitar", STRING_SETS, "set of strings")
    frets = steps * wanted.octaves
    gaps = fret_gaps(steps, 1.0, frets)
    scale = 1 / float(gaps[-1])
    wires = [_NUT, *(_NUT + place * scale for place in fret_places(steps, 1.0, frets).tolist())]
    keys = []
    for row, note in enumerate(reversed(strings)):
        open_step, line = note.within(notes.tuning).step(notes.tuning), len(_PLACES) - 1 - row
        for fret in range(frets + 1):
            start = wires[fret - 1] if fret else 0.0
            code = _place(line, fret) if line >= 0 else ""
            width = wires[fret] - start - _GAP
            keys.append(_key(open_step + fret, (start + wires[fret]) / 2, row + 0.5, width=width, code=code))
    height = float(len(strings))
    across = [Line(0, row + 0.5, wires[-1], row + 0.5) for row in range(len(strings))]
    along = [Line(x, 0, x, height, broad=i == 0) for i, x in enumerate(wires)]
    return Board("fretboard", tuple(keys), wires[-1], height, (*across, *along))


_ROUND = 1 - _GAP


def _key(step: int, x: float, y: float, *, width: float = _ROUND, height: float = _ROUND, **more: str) -> KeyPlace:
    return KeyPlace(step, round(x, 4), round(y, 4), round(width, 4), round(height, 4), **more)


class Layout(NamedTuple):
    """A way to lay out keys: what makes it, how many octaves it usually has, and where keys are in it, in words."""

    make: Callable[[_Wanted], Board]
    octaves: int
    where: str


LAYOUTS = {
    "rows": Layout(_rows, 2, "in rows"),
    "line": Layout(_line, 1, "in a line"),
    "ring": Layout(_ring, 1, "in a ring"),
    "staff": Layout(_staff, 1, "on a staff"),
    "fretboard": Layout(_fretboard, 1, "on a fretboard"),
}
"""How the keys can be laid out, by name."""
