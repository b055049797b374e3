"""A keyboard in two dimensions: keys in rows, on which a chord keeps its shape in all thirty-one keys."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from itertools import pairwise
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from tunelib.exhibits.exhibit import Canvas, Choice, Exhibit, Knob, Playing, Printed, Scene, Slider, Voicing
from tunelib.exhibits.inches import field_of, in_inches, width_of
from tunelib.exhibits.look import Look
from tunelib.export import LOW_VOLUME, REST_HANDS
from tunelib.pitch import THIRTY_ONE, IntArray, KeyGrid, SpelledInterval, every, plain, spell, times
from tunelib.score import Score, ScoreNote
from tunelib.sound import TIMBRES

_CHORDS = {
    "major": ("P1", "M3", "P5"),
    "minor": ("P1", "m3", "P5"),
    "neutral": ("P1", "neutral third", "P5"),
    "subminor": ("P1", "subminor third", "P5"),
    "supermajor": ("P1", "supermajor third", "P5"),
    "major seventh": ("P1", "M3", "P5", "M7"),
    "minor seventh": ("P1", "m3", "P5", "m7"),
    "dominant seventh": ("P1", "M3", "P5", "m7"),
    "harmonic seventh": ("P1", "M3", "P5", "subminor seventh"),  # near 4:5:6:7
}
_STEPS = {
    chord: tuple(SpelledInterval.parse(interval).step(THIRTY_ONE) for interval in intervals)
    for chord, intervals in _CHORDS.items()
}
_INTERVALS = {
    name: (0, SpelledInterval.parse(name).step(THIRTY_ONE))
    for name in ("minor second", "major second", "perfect fourth", "perfect fifth", "subminor seventh", "octave")
}
_ROOTS = tuple(spell(step, THIRTY_ONE).name for step in range(len(THIRTY_ONE)))
_NATURALS = tuple(step for step, name in enumerate(_ROOTS) if len(name) == 1)
_BOARDS = (15, 7), (8, 13), (10, 9)  # columns and rows of the board, wide, tall and square
_MIDDLE_STEP = 22  # of the board: a note in the octave above the roots, where chords are
_TOUCHING = 0.6  # of the distance between two keys: half of a key and half of a thick line, and a little more

_CAUTIONS = (
    "Never force a wide shape: give one of its keys to another finger or to the other hand.",
    REST_HANDS,
    LOW_VOLUME,
)


class KeyGridBoard(Exhibit):
    """A board of keys in rows, with the shape of a chord on one root, and the same shape on C."""

    name: ClassVar[str] = "key_grid"
    title: ClassVar[str] = "One shape for every key"
    knobs: ClassVar[tuple[Knob, ...]] = (
        Choice("chord", "Chord", tuple(_CHORDS), "major"),
        Choice("root", "Root", _ROOTS, "E♭", ordered=True),
        Slider("across", "Steps to the right", 1, 15, 1, 5),
        Slider("up", "Steps up a row", 1, 18, 1, 3),
    )

    parts: ClassVar[Mapping[str, str]] = {
        "board": "keys in rows",
        "letters": "the keys of the seven letters",
        "chord": "the chord on its root",
        "ghost": "the same shape on C",
        "words": "the notes of the chord",
    }
    builds: ClassVar[tuple[tuple[str, ...], ...]] = (("board", "letters"), ("ghost",), ("chord", "words"))

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        theme, tint = look.theme, look.theme.thirty_one
        look.heading(figure, self.title)
        field, board = field_of(look), look.fit(*_BOARDS)
        top = field.top - look.fit(0.0, 0.45, 0.36)
        pitch = min(field.width / board[0], (top - field.bottom) / board[1])  # inches from key to key
        left = (field.left + field.right - pitch * (board[0] - 1)) / 2
        low = (field.bottom + top - pitch * (board[1] - 1)) / 2
        size = 72 * pitch * look.fit(0.84, 0.84, 0.9)
        axes = in_inches(figure, look)

        def at(places: Any) -> Any:
            return np.asarray(places) * pitch + (left, low)

        keys = np.stack(np.meshgrid(np.arange(board[0]), np.arange(board[1])), axis=-1).reshape(-1, 2)
        key: dict[str, Any] = {"ms": size, "mfc": theme.behind_text, "mec": theme.line, "mew": 1.2}
        (every_key,) = axes.plot(*at(keys).T, "o", **key)
        dashed: dict[str, Any] = {"color": theme.grey, "lw": 3.5, "ls": (0, (1.6, 1.3))}
        (way_on_c,) = axes.plot([], [], **dashed)
        (way,) = axes.plot([], [], color=tint.full, lw=10, solid_joinstyle="round", solid_capstyle="round")
        (over,) = axes.plot([], [], "o", **key)
        (letters,) = axes.plot([], [], "o", **key | {"mfc": theme.ground, "mec": theme.grey})
        (on_c,) = axes.plot([], [], **dashed | {"dash_capstyle": "butt"})
        (held,) = axes.plot([], [], "o", ms=size, mfc=tint.fill, mec=tint.full, mew=6)
        (sounding,) = axes.plot([], [], "o", ms=size + 5, mfc=tint.fill, mec=theme.ink, mew=7)
        names = [look.text(axes, x, y, ha="center", va="center") for x, y in at(keys).tolist()]
        side, level = look.fit((field.right, look.inches[1] - 0.66), (field.left, top + 0.14))
        said = look.text(axes, side, level, size="name", ha=look.fit("right", "left"))
        also_said = look.text(axes, 0, level, ha=look.fit("right", "left"), color=theme.grey)
        round_ = np.linspace(0, 2 * np.pi, 61)
        ring = (size / 72 / 2 + 0.02) * np.column_stack([np.cos(round_), np.sin(round_)])
        ring = np.vstack([ring, [[np.nan, np.nan]]])
        where: dict[str, Any] = {}

        def update(chord: str, root: str, across: int, up: int) -> None:
            grid = KeyGrid(len(THIRTY_ONE), across, up)
            places, corner = _on_board(grid, chord, root, board)
            notes = grid.step(*(keys + corner).T) % len(THIRTY_ONE)
            mine = _seen(places - corner, board)
            places_on_c, _ = _on_board(grid, chord, _ROOTS[0], board)
            ghosts = _seen(places_on_c - corner, board)
            shown, dim = {tuple(place) for place in mine.tolist()}, {tuple(place) for place in ghosts.tolist()}
            for text, note, place in zip(names, notes.tolist(), keys.tolist(), strict=True):
                text.set_text(_ROOTS[note])
                chosen = tuple(place) in shown
                text.set_color(theme.ink if chosen or tuple(place) in dim else theme.grey)
                text.set_fontweight("bold" if chosen else "normal")
            letters.set_data(*at(keys[np.isin(notes, _NATURALS)]).T)
            for line, ends in ((way_on_c, places_on_c - corner), (way, places - corner)):
                line.set_data(*at(ends).T)
            held.set_data(*at(mine).T)
            on_c.set_data(*(at(ghosts)[:, np.newaxis] + ring).reshape(-1, 2).T)
            on_c.set_visible(root != _ROOTS[0])
            way_on_c.set_visible(root != _ROOTS[0])
            crossed = _crossed(keys, places - corner) | _crossed(keys, places_on_c - corner)
            over.set_data(*at(keys[crossed]).T)
            sounding.set_data([np.nan], [np.nan])
            fits = _fits(places - corner, board)
            said.set_text(_heading(chord, root, grid) if fits else "too wide for this board")
            also_said.set_text(f"dashed: {' '.join(_notes(chord, _ROOTS[0]))}")
            beside = width_of(said) + 0.25
            also_said.set_x(side + beside * look.fit(-1, 1))
            has_room = look.fit(True, beside + width_of(also_said) < field.width)
            whole = _fits(places_on_c - corner, board) and grid.reaches(_STEPS[chord]).all()
            also_said.set_visible(root != _ROOTS[0] and fits and whole and has_room)
            where.update(mine=mine, count=len(_STEPS[chord]))

        def light(playing: Playing) -> None:
            tones = {note % where["count"] for note in playing.notes}
            lit = [key for tone, key in enumerate(where["mine"]) if tone in tones]
            if lit:
                sounding.set_data(*at(lit).T)

        parts = {
            "board": (every_key, *names),
            "letters": (letters,),
            "chord": (way, over, held),
            "ghost": (way_on_c, on_c, also_said),
            "words": (said,),
        }
        return Scene(
            (way_on_c, way, over, letters, on_c, held, sounding, *names, said, also_said), update, light, parts
        )

    def numbers(self, chord: str, root: str, across: int, up: int) -> Mapping[str, str]:
        notes = _notes(chord, root)
        return {"notes": " ".join(notes), "count": str(len(notes)), "keys": str(len(_ROOTS))}

    def sentence(self, chord: str, root: str, across: int, up: int) -> str:
        grid = KeyGrid(len(THIRTY_ONE), across, up)
        opening = (
            f"With {times(across, 'step')} from each key to the next on its right and {plain(up)} to the one above"
        )
        if not grid.reaches(_STEPS[chord]).all():
            return (
                f"{opening}, only {every(grid.spacing)} step has a key, and the {chord} chord on {root} has no shape."
            )
        first, *others = zip(_notes(chord, root), _shape(grid, chord).tolist(), strict=True)
        directions = [f"{note}, {_direction(*key)}" for note, key in others]
        return (
            f"{opening}, the {chord} chord on {root} is {first[0]} with {'; '.join(directions)}: the same shape on all "
            f"{len(THIRTY_ONE)} notes."
        )

    def score(self, chord: str, root: str, across: int, up: int) -> Score:
        pitches = [float(THIRTY_ONE.hz(_ROOTS.index(root) + step - len(THIRTY_ONE))) for step in _STEPS[chord]]
        broken = [ScoreNote(0.6 * i, 0.55, hertz, level=0.4) for i, hertz in enumerate(pitches)]
        together = [ScoreNote(0.6 * len(pitches) + 0.1, 2.4, hertz, level=0.35) for hertz in pitches]
        return Score((*broken, *together), tempo=60)

    def timbre(self, **values: Any) -> Voicing:
        return TIMBRES["organ"]

    def printed(self, chord: str, root: str, across: int, up: int) -> Printed:
        grid = KeyGrid(len(THIRTY_ONE), across, up)
        return Printed(
            introduction=(
                f"Keys in straight rows: {times(across, 'step')} of {len(THIRTY_ONE)} higher from each key to the next "
                f"on its right, {times(up, 'step')} higher to the key above. An interval is a direction and a "
                "distance, so a chord that you have learnt on one note falls under the hand in the same shape on every "
                f"other. {_reach(grid)} The table counts keys from the root of each chord, and gives its most compact "
                "shape; "
                "there are others, since most notes have more than one key."
            ),
            table_title="Chords and intervals by the keys",
            head=("Chord or interval", "Steps", f"On {root}", "From the root"),
            rows=tuple(_row(grid, root, name, steps) for name, steps in (_STEPS | _INTERVALS).items()),
            cautions=_CAUTIONS,
        )


@lru_cache(maxsize=1024)
def _shape(grid: KeyGrid, chord: str) -> IntArray:
    """The shape of a chord, or its root alone where it has none."""
    steps = _STEPS[chord]
    return grid.shape(steps if grid.reaches(steps).all() else steps[:1])


def _on_board(grid: KeyGrid, chord: str, root: str, board: tuple[int, int]) -> tuple[IntArray, IntArray]:
    """The keys of a chord on a root, and the lower left corner of the board, both as column and row.

    The root is in the octave from C4, the middle of the board straight up the slope of pitch from C4, and the chord
    as near to that middle as possible. The board stays still; it is moved only for a chord with no place on it, by as
    many keys as need be.
    """
    slope, size = np.array([grid.across, grid.up]), np.array(board)
    corner = np.round(_MIDDLE_STEP * slope / (slope @ slope) - (size - 1) / 2).astype(np.int64)
    shape = _shape(grid, chord)
    octaves = np.array(sorted(range(-grid.spacing, grid.spacing + 1), key=abs)) * len(THIRTY_ONE)
    candidates = _ROOTS.index(root) + octaves  # a root that has no key in its own octave has one in another
    reached = candidates[grid.reaches(candidates)]
    if not reached.size:
        return np.zeros((0, 2), dtype=np.int64), corner
    step = int(reached[0])
    least, most = corner - shape.min(axis=0), corner + size - shape.max(axis=0)  # for the root of a chord on the board
    middle = (least + most - 1) / 2
    columns, rows = (range(*ends) for ends in zip(least.tolist(), most.tolist(), strict=True))
    fitting = grid.keys(step, columns, rows)
    if len(fitting):
        return shape + fitting[np.argmin(((fitting - middle) ** 2).sum(axis=1))], corner
    keys = shape + grid.nearest_key(step, *middle.tolist())
    return keys, np.minimum(np.maximum(corner, keys.max(axis=0) - size + 1), keys.min(axis=0))


def _fits(places: IntArray, board: tuple[int, int]) -> bool:
    """Whether all keys of a chord are on the board."""
    return bool(np.all((places >= 0) & (places < board)))


def _seen(places: IntArray, board: tuple[int, int]) -> npt.NDArray[np.float64]:
    """The keys of a chord, those that are not on the board as not a number, so that each keeps its place."""
    on = np.all((places >= 0) & (places < board), axis=-1, keepdims=True)
    return np.where(on, places, np.nan)


def _crossed(keys: IntArray, way: IntArray) -> npt.NDArray[np.bool_]:
    """Which keys a way from key to key touches, so that they must be drawn over it."""
    touched = np.zeros(len(keys), dtype=bool)
    for start, end in pairwise(way):
        along = end - start
        share = np.clip((keys - start) @ along / (along @ along), 0, 1)
        touched |= np.hypot(*(keys - start - share[:, np.newaxis] * along).T) < _TOUCHING
    return touched


def _notes(chord: str, root: str) -> list[str]:
    return [_ROOTS[(_ROOTS.index(root) + step) % len(THIRTY_ONE)] for step in _STEPS[chord]]


def _heading(chord: str, root: str, grid: KeyGrid) -> str:
    if not grid.reaches(_STEPS[chord]).all():
        return f"only {every(grid.spacing)} step has a key"
    return f"{chord} on {root}: {' '.join(_notes(chord, root))}"


def _direction(columns: int, rows: int) -> str:
    """Where a key is, such as ``"3 right and 1 up"``."""
    across = f"{abs(columns)} {'right' if columns > 0 else 'left'}" if columns else ""
    along = f"{abs(rows)} {'up' if rows > 0 else 'down'}" if rows else ""
    return " and ".join(part for part in (across, along) if part) or "the same key"


def _reach(grid: KeyGrid) -> str:
    if grid.spacing == 1:
        return f"All {len(THIRTY_ONE)} notes have a key in every octave, if the board is large enough."
    return (
        f"Only {every(grid.spacing)} step has a key, since both intervals are whole multiples of {grid.spacing} steps: "
        "each note has keys in some octaves only."
    )


def _row(grid: KeyGrid, root: str, name: str, steps: tuple[int, ...]) -> tuple[str, ...]:
    notes = " ".join(_ROOTS[(_ROOTS.index(root) + step) % len(THIRTY_ONE)] for step in steps)
    above = ", ".join(str(step) for step in steps[1:])
    if not grid.reaches(steps).all():
        return (name, above, notes, "no key")
    return (name, above, notes, ", ".join(_direction(*key) for key in grid.shape(steps)[1:].tolist()))
