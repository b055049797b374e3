"""Every number in the prose of README, and what it is worked out from."""

from __future__ import annotations

import re

import numpy as np
from test_lessons import plans

from said.in_for_presenters import LONG
from said.in_other_divisions_at_work import SIX
from said.prose import ROOT
from said.table import Table
from said.worked import (
    CLOSES,
    FIVE,
    THIRTY_ONE,
    TWELVE,
    near,
    step_about,
)
from tunelib import (
    Note,
    course,
    equal,
    mapped_steps,
)
from tunelib.harmony.playable import FEWEST_STEPS, MOST_STEPS
from tunelib.harmony.taste import Taste
from tunelib.practice.ear_plan import LONGEST_SESSION, SHORTEST_SESSION
from tunelib.sound.render import USUAL_PEAK_DBFS


def taste_from_to(what: str) -> list[float]:
    """The least and the greatest number that a taste may have."""
    taken = []
    for number in np.arange(-30, 31) / 10:
        try:
            Taste(**{what: float(number)})
        except ValueError:
            continue
        taken.append(float(number))
    return [min(taken), max(taken)]


MINUTES = [lesson.minutes for lesson in course.LESSONS]

MATERIAL = [path.suffix for path in (ROOT / "lessons" / "material").iterdir()]

PYTHON = float(re.findall(r'requires-python = ">=([\d.]+)"', (ROOT / "pyproject.toml").read_text(encoding="utf-8"))[0])


TABLE = Table(
    claims={
        "12, 19, 22, 31, 41 and 53: chosen blind": SIX,
        "to a clip of 90 seconds": LONG,
        "three evenings, what to print": [sum("evening" in title for title in plans())],
        "over the twelve equal steps": [TWELVE],
        "Thirty-one notes in a ring with the twelve of a piano inside": [THIRTY_ONE],
        "harmony in thirty-one notes": [THIRTY_ONE],
        "why twelve equal steps miss some": [TWELVE],
        "to thirty-one equal steps, and from there": [THIRTY_ONE],
        "which notes go over a chord, in any tuning from 12 to 72 steps": [FEWEST_STEPS, MOST_STEPS],
        "panel of step 10": [step_about("measure")],
        "panel of step 31": [step_about("whole")],
        "Python 3.10 or newer": [PYTHON],
        "none is louder than about a quarter of full scale": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        "A lesson takes 15 to 45 minutes": [min(MINUTES), max(MINUTES)],
        "twelve equal steps, what they miss": [TWELVE],
        "thirty-one fifths close the circle": [CLOSES],
        "the thirty-one notes as that instrument reads them": [THIRTY_ONE],
        "asks for five to ten minutes a day": [SHORTEST_SESSION, LONGEST_SESSION],
        "five thirds, the harmonic seventh": [FIVE],
        "goes from 0, as written where possible, to 1, adventurous": taste_from_to("adventure"),
        "from -1, darker, to 1, brighter": [abs(number) for number in taste_from_to("colour")],
        "There are three tunes to try in": [MATERIAL.count(".txt")],
        "another division of the octave, from 12 to 72 steps": [FEWEST_STEPS, MOST_STEPS],
        "a note that its letter does not reach is called E−1, one step below the E": [
            Note.parse("E4").step(equal(41)) - mapped_steps("5/4", 41),
            Note.parse("E4").step(equal(41)) - mapped_steps("5/4", 41),
        ],
        "is an E with −1 under it on the staff": [Note.parse("E4").step(equal(41)) - mapped_steps("5/4", 41)],
    },
    shown={"and one in MusicXML": MATERIAL.count(".musicxml") == 1},
    counted=[
        "three lines:",
        "which of two is pure",
        "drop 2, four-way close or pads",
        "two voices elsewhere",
    ],
)
