"""What one part of a notebook has found, carried over to the panels of an exhibit: those that exist, and later ones.

It holds as long as the notebook runs, and is kept nowhere.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any, Protocol
from weakref import WeakSet

from tunelib.exhibits import find_exhibit


class Shown(Protocol):
    """A panel, as far as it is needed here."""

    def set(self, **values: Any) -> None:
        """Move knobs."""
        ...


_found: dict[str, dict[str, Any]] = {}
_panels: defaultdict[str, WeakSet[Shown]] = defaultdict(WeakSet)


def carry_over(exhibit: str, **values: Any) -> None:
    """Move the panels of an exhibit to these knob values, and have those made later begin there.

    A call of `tunelib.show.panel` that gives one of them itself has none of them from here. Raises ValueError for a
    name, a knob or a value that does not exist.
    """
    shown = find_exhibit(exhibit)
    _found[shown.name] = found = shown.checked(values)
    for one in tuple(_panels[shown.name]):
        one.set(**found)


def follow(exhibit: str, shown: Shown) -> None:
    """Have a panel of an exhibit moved by what is carried over to it from now on."""
    _panels[exhibit].add(shown)


def carried(exhibit: str, given: Mapping[str, Any]) -> dict[str, Any]:
    """The knob values that were carried over to an exhibit; none where nothing was, or where one of them is given."""
    found = _found.get(exhibit, {})
    return {} if found.keys() & find_exhibit(exhibit).checked(given) else dict(found)
