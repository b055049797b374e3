"""The styles in which a rhythm section lays chords out (common practice of jazz arranging).

shells           third and seventh alone
rootless         three or four voices for two hands, close or open
drop 2           a close voicing in four parts, its second voice from the top an octave lower
four-way close   four parts within an octave, right under the melody
pads             open, for held chords of horns or strings
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tunelib.pitch import CENTS_PER_OCTAVE, FloatArray


@dataclass(frozen=True)
class Style:
    """One way to lay chords out: how many voices there are at most, and what is asked of their gaps.

    `shaped` takes the gaps between neighbours in cents, shape (layouts, voices - 1), and says which layouts are so.
    """

    name: str
    voices: int
    shaped: Callable[[FloatArray], npt.NDArray[np.bool_]]
    near_melody: bool = False
    with_root: bool = False


def _any(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.full(len(gaps), True)


def _within_an_octave(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(gaps.sum(axis=1) < CENTS_PER_OCTAVE)


def _dropped_second(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether the lowest voice, an octave higher, would be the second from the top of a close voicing."""
    raised = CENTS_PER_OCTAVE - gaps[:, :-1].sum(axis=1)  # of the lowest voice above the second from the top
    return np.asarray((raised > 0) & (raised < gaps[:, -1]) & (gaps[:, 1:].sum(axis=1) < CENTS_PER_OCTAVE))


def _opened(gaps: FloatArray) -> npt.NDArray[np.bool_]:
    return np.asarray(gaps.sum(axis=1) > CENTS_PER_OCTAVE)


STYLES = {
    style.name: style
    for style in (
        Style("shells", 2, _any),
        Style("rootless", 4, _any),
        Style("drop 2", 4, _dropped_second, with_root=True),
        Style("four-way close", 4, _within_an_octave, near_melody=True, with_root=True),
        Style("pads", 4, _opened),
    )
}
"""The styles by their names."""
