"""Numbers of things: whole, and within bounds."""

from __future__ import annotations

import numpy as np

from tunelib.pitch.intervals import shortened


def is_whole(value: object) -> bool:
    """Whether a value is a whole number of Python's or numpy's; True and False are none.

    >>> is_whole(7), is_whole(7.0), is_whole(True)
    (True, False, False)
    """
    return isinstance(value, (int, np.integer)) and not isinstance(value, bool)


def whole_number(value: int, what: str, least: int, most: int) -> int:
    """`value` as an int. Raises ValueError, naming `what` it is, unless it is a whole number from `least` to `most`.

    >>> whole_number(7, "a fret", 0, 31)
    7
    """
    if not is_whole(value) or not least <= value <= most:
        raise ValueError(f"{what} is a whole number from {least} to {most}, not {shortened(value)}")
    return int(value)
