"""Numbers of things: whole, and within bounds."""

from __future__ import annotations

import numpy as np

from tunelib.pitch.intervals import shortened

_LARGEST_IN_FULL = 10**300


def is_whole(value: object) -> bool:
    """Whether a value is a whole number of Python's or numpy's; True and False are not.

    >>> is_whole(7), is_whole(7.0), is_whole(True)
    (True, False, False)
    """
    return isinstance(value, (int, np.integer)) and not isinstance(value, bool)


def is_number(value: object) -> bool:
    """Whether a value is one finite number of Python's or numpy's, a whole one of any length or a float.

    >>> is_number(7), is_number(0.5), is_number(float("nan")), is_number("7")
    (True, True, False, False)
    """
    return is_whole(value) or (isinstance(value, (float, np.floating)) and bool(np.isfinite(value)))


def in_figures(value: float) -> str:
    """A number as a message repeats it. A whole number of hundreds of digits has no `float`, and is shortened.

    >>> in_figures(0.1 + 0.2), in_figures(10**400)
    ('0.3', '100000000000000000000000000000000000000000000000000000000000 …')
    """
    return shortened(value) if is_whole(value) and abs(value) > _LARGEST_IN_FULL else f"{value:g}"


def whole_number(value: int, what: str, least: int, most: int) -> int:
    """`value` as an int. Raises ValueError, naming `what` it is, unless it is a whole number from `least` to `most`.

    >>> whole_number(7, "a fret", 0, 31)
    7
    """
    if not is_whole(value) or not least <= value <= most:
        raise ValueError(f"{what} is a whole number from {least} to {most}, not {shortened(value)}")
    return int(value)


def chance(seed: int | None = None) -> np.random.Generator:
    """What chance is drawn from: with a seed the same each time, without one another every time.

    Raises ValueError unless `seed` is a whole number, 0 or more, or None.

    >>> chance(7).integers(6, size=4).tolist() == chance(7).integers(6, size=4).tolist()
    True
    """
    if seed is not None and (not is_whole(seed) or seed < 0):
        raise ValueError(f"a seed is a whole number, 0 or more, not {shortened(seed)}")
    return np.random.default_rng(seed)
