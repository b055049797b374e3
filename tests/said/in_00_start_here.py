"""Every number in the prose of lesson 00, and what it is worked out from."""

from __future__ import annotations

from said.published import SMALL_LOUDSPEAKERS
from said.table import Table
from said.worked import (
    THIRTY_ONE,
    lesson_of,
    near,
    step_about,
)
from tunelib.sound.render import USUAL_PEAK_DBFS

TABLE = Table(
    claims={
        "harmony in thirty-one notes to the octave": [THIRTY_ONE],
        "goes above about a quarter of what your equipment can play": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        "lesson 02 comes back to it": [lesson_of(step_about("multiples"))],
    },
    counted=["A grey line with three dots"],
    taken_over={"small loudspeakers play next to nothing below 150 Hz": SMALL_LOUDSPEAKERS},
    bibliography=["H.870, 2018, revised 2022"],
)
