"""What a teacher gives out to be practised, as it is written: ``third:neutral``, or ``third`` for all of a kind."""

from __future__ import annotations

from collections.abc import Sequence

from tunelib.pitch import folded, look_up
from tunelib.practice.ear_history import Item


def given_items(words: Sequence[str], items: Sequence[Item]) -> tuple[Item, ...]:
    """The items that are written so, each once, in their order.

    Parameters
    ----------
    words : sequence of str
        Each a kind and, after a colon, what is asked of it; or a kind alone, for everything there is of it.
    items : sequence of Item
        What there is, such as `ear_items` gives.

    Raises ValueError with the nearest for a kind that there is none of, or for something of a kind.

    >>> there = (Item("third", "major"), Item("third", "neutral"), Item("pure", "5/4"))
    >>> [str(item) for item in given_items(["pure:5/4", "third"], there)]
    ['pure:5/4', 'third:major', 'third:neutral']
    """
    kinds: dict[str, dict[str, Item]] = {}
    for item in items:
        kinds.setdefault(item.kind, {})[item.what] = item
    found: list[Item] = []
    for word in words:
        kind, colon, what = str(word).partition(":")
        of_kind = look_up(kind, kinds, "kind of question")
        if not colon:
            found += of_kind.values()
        elif what.strip() in of_kind:  # exactly first, since C and c are two chords to some
            found.append(of_kind[what.strip()])
        else:
            found.append(look_up(what, of_kind, f"{folded(kind)} to practise"))
    return tuple(dict.fromkeys(found))
