"""What a player likes, by which a tune is retuned."""

from __future__ import annotations

from dataclasses import dataclass

from tunelib.harmony.comping_styles import STYLES
from tunelib.pitch import shortened

COMPING = tuple(STYLES)
"""The styles in which chords are laid out, as `tunelib.harmony.comping_styles` tells them."""


@dataclass(frozen=True)
class Taste:
    """What a player likes.

    Parameters
    ----------
    adventure : float
        From 0, as written, to 1, other families wherever they fit.
    colour : float
        From -1, darker (lower thirds and sevenths), to 1, brighter; of what the taste for adventure allows.
    drift : bool
        Whether roots may drift, a diesis at a time and up to two in all, without coming back, and the melody with them.
        Otherwise every root is where it is written. Where the tuning has the comma 81/80, it takes the place of the
        diesis.
    clashes : bool
        Whether a melody note may sound a diesis beside a note of the chord, or anything else nearer than 60 cents.
    voicing : str
        How chords are laid out: one of `COMPING`.

    Raises ValueError for a number out of bounds, a choice that is neither True nor False, or an unknown style.
    """

    adventure: float = 0.3
    colour: float = 0.0
    drift: bool = False
    clashes: bool = False
    voicing: str = "rootless"

    def __post_init__(self) -> None:
        for what, value, low in (("adventure", self.adventure, 0.0), ("colour", self.colour, -1.0)):
            is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
            if not (is_number and low <= value <= 1):
                raise ValueError(f"{what} must be from {low:g} to 1, not {value!r}")
        for what, choice in (("drift", self.drift), ("clashes", self.clashes)):
            if not isinstance(choice, bool):
                raise ValueError(f"{what} is True or False, not {choice!r}")
        if self.voicing not in COMPING:
            raise ValueError(f"a style of voicing is one of {', '.join(COMPING)}, not {shortened(self.voicing)}")
