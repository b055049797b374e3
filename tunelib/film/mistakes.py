"""Going over a TOML file and collecting its mistakes, each with its line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tunelib.film.shot_values import shown
from tunelib.film.toml_lines import Place
from tunelib.pitch import look_up, shortened

_LONGEST_MESSAGE = 400
_MOST_TOLD = 100  # mistakes in one message


@dataclass(frozen=True)
class Mistake:
    """What is wrong in a shot list, and its line, from 1."""

    line: int
    what: str


class ShotListError(ValueError):
    """All mistakes of a shot list, in the order of their lines; a line of the message each."""

    def __init__(self, file: str, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = sorted(set(mistakes), key=lambda mistake: (mistake.line, mistake.what))
        told = [f"{file}, line {mistake.line}: {mistake.what}" for mistake in self.mistakes[:_MOST_TOLD]]
        if len(self.mistakes) > _MOST_TOLD:
            told.append(f"{file}: {len(self.mistakes) - _MOST_TOLD:,} more mistakes, told when these are mended")
        super().__init__("\n".join(told))


class Tables:
    """A TOML tree that is gone over from top to bottom, and the mistakes found in it.

    Parameters
    ----------
    tree : dict
    lines : mapping of places to lines
        As `lines_of` has them.
    """

    def __init__(self, tree: dict[str, Any], lines: Mapping[Place, int]) -> None:
        self.mistakes: list[Mistake] = []
        self.tree = tree
        self.lines = lines

    def wrong(self, place: Place, what: object) -> None:
        """Note a mistake at a place, or at the nearest that has a line."""
        while place not in self.lines:
            place = place[:-1]
        said = " ".join(str(what).split())
        self.mistakes.append(
            Mistake(self.lines[place], said if len(said) <= _LONGEST_MESSAGE else f"{said[:_LONGEST_MESSAGE]}...")
        )

    def names(self, values: Any, place: Place, check: Callable[[Any], str]) -> tuple[str, ...]:
        """What a list of names says, as far as it is right."""
        if not isinstance(values, list) or not values:
            example = "1080p" if place[-1] == "sizes" else "png"
            self.wrong(place, f'{place[-1]} is a list in brackets with one name or more, such as ["{example}"]')
            return ()
        chosen: list[str] = []
        for number, value in enumerate(values):
            try:
                name = check(value)
            except ValueError as error:
                self.wrong((*place, number), error)
                continue
            if name in chosen:
                self.wrong((*place, number), f"{name} is here twice")
            chosen.append(name)
        return tuple(chosen)

    def checked(self, table: dict[str, Any], place: Place, key: str, check: Callable[[Any], Any]) -> Any:
        """What a key says, or None if it is not there or wrong."""
        if key not in table:
            return None
        try:
            return check(table[key])
        except ValueError as error:
            self.wrong((*place, key), f"{key}: {error}" if str(error).startswith("this is") else error)
            return None

    def table(self, table: dict[str, Any], place: Place, key: str) -> dict[str, Any]:
        """An inner table; empty if it is not there or wrong."""
        inner = table.get(key, {})
        if isinstance(inner, dict):
            return inner
        self.wrong((*place, key), f"{key} is a table, such as {{ difference = 2 }}, not {shown(inner)}")
        return {}

    def tables(self, table: dict[str, Any], place: Place, key: str) -> Iterator[tuple[dict[str, Any], Place]]:
        """The tables of an array of tables."""
        name = ".".join(str(part) for part in (*place, key) if isinstance(part, str))
        inner = table.get(key, [])
        if not isinstance(inner, list) or (key in table and not inner):
            self.wrong((*place, key), f"write [[{name}]], in double brackets, before each {key}")
            return
        for number, one in enumerate(inner):
            if isinstance(one, dict):
                yield one, (*place, key, number)
            else:
                self.wrong((*place, key, number), f"write [[{name}]], in double brackets, before each {key}")

    def keys(self, table: dict[str, Any], place: Place, known: Sequence[str], what: str) -> None:
        """Note the keys of a table that it cannot have."""
        for key in table:
            if key in known:
                continue
            try:
                right = look_up(key, {name: name for name in known}, f"setting of {what}")
                self.wrong((*place, key), f"write {right}, not {shortened(key)}")
            except ValueError as error:
                self.wrong((*place, key), error)
