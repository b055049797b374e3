"""Finding a thing by the name somebody typed."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import TypeVar

from tunelib.pitch.intervals import shortened

T = TypeVar("T")

_FOLDS = str.maketrans({"♭": "b", "♯": "#", "-": " ", "_": " ", "’": "'"})
_LISTED_IN_FULL = 40
_LONGEST_NAME = 200  # letters, far more than any name has; so that nothing takes long to compare


def folded(name: str) -> str:
    """A name stripped of what does not matter to a reader: capitals, hyphens, underscores, doubled spaces."""
    return " ".join(name.casefold().translate(_FOLDS).split())


def look_up(name: str, known: Mapping[str, T], what: str) -> T:
    """The value in `known` whose name, folded, is `name`.

    Parameters
    ----------
    name : str
    known : mapping of str to anything
        Full names first: where a value has several, a suggestion gives the first.
    what : str
        What is being looked for, in the singular, such as ``"instrument"``.

    Raises ValueError with the nearest names, or with those known if none is near.
    """
    first_names: list[str] = []
    by_folded: dict[str, tuple[str, T]] = {}
    firsts: dict[int, str] = {}
    for full, value in known.items():
        first = firsts.setdefault(id(value), full)
        if first == full:
            first_names.append(full)
        by_folded.setdefault(folded(full), (first, value))
    sought = folded(name[:_LONGEST_NAME]) if isinstance(name, str) else ""
    if sought in by_folded:
        return by_folded[sought][1]
    near = dict.fromkeys(by_folded[close][0] for close in difflib.get_close_matches(sought, by_folded, n=3, cutoff=0.5))
    if near:
        hint = f"did you mean {' or '.join(near)}?"
    elif len(first_names) <= _LISTED_IN_FULL:
        hint = f"known are: {', '.join(first_names)}"
    else:
        hint = f"among those known are: {', '.join(first_names[:: len(first_names) // 12])}"
    raise ValueError(f"no {what} is called {shortened(name)}; {hint}")
