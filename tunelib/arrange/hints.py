"""Where a note is found on instruments that make every note themselves: a trombone's slide and bowed strings.

A hint is short enough to be printed under a note. How it is worked out, and how far it can be trusted, is said at the
head of `tunelib.pitch.slide` and of `tunelib.pitch.bowed`: the ear has the last word.
"""

from __future__ import annotations

from functools import lru_cache

from tunelib.pitch import BOWED, Instrument, Note, signed, slide_places

_NOTICED = 0.5  # millimetres
_LIPS = 20.0  # cents that lips bend a note beyond the end of the slide (common practice)


@lru_cache(maxsize=1024)
def hint(player: Instrument, hertz: float, key: Note) -> str:
    """Where a player finds a pitch, beside its nearest key; empty where nothing is known or nothing needs saying.

    >>> from tunelib.pitch import instrument
    >>> hint(instrument("trombone"), 114.9, Note.parse("B♭2")), hint(instrument("cello"), 114.9, Note.parse("B♭2"))
    ('1 +20', '−8')
    >>> hint(instrument("trumpet"), 114.9, Note.parse("B♭2"))
    ''
    """
    if player.name == "trombone":
        place = next(iter(slide_places(hertz, lips=_LIPS)), None)
        if place is None:
            return ""
        beyond = f" {signed(place.beyond)}" if abs(place.beyond) >= _NOTICED else ""
        return f"{place.position}{beyond}{' lip' if place.lips else ''}"
    if player.name in BOWED:
        strings = BOWED[player.name]
        lower = min(hertz, key.hz())
        if lower < strings.strings[0].hz():
            return ""
        string = strings.string(lower)
        away = float(strings.place(string, hertz) - strings.place(string, key.hz()))
        return signed(away) if abs(away) >= _NOTICED else ""
    return ""


def hint_words(player: Instrument) -> str:
    """What the hints of a player mean, in a sentence; empty where there are none."""
    if player.name == "trombone":
        return (
            "Under a note: the slide's position, and how many millimetres further out, or, with a minus, in; lip means "
            "that lips do the rest."
        )
    if player.name in BOWED:
        return "Under a note: how many millimetres the finger goes towards the bridge, or, with a minus, the nut."
    return ""
