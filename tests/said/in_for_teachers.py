"""Every number in the prose of for_teachers, and what it is worked out from."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import numpy as np
from test_lessons import plans

from said.found import numbers
from said.prose import ROOT
from said.published import CLASS, CLASS_OF_SOUNDS, DAILY_ALLOWANCE, FLASHES, THREE_FLASHES, WEEKLY_ALLOWANCE
from said.table import Table
from said.worked import (
    FIVE,
    SEMITONE,
    THIRD,
    THIRDS,
    THIRTY_ONE,
    TWELVE,
    bargain,
    lesson_called,
    near,
    partials_alone,
    size,
    step_about,
    worst,
)
from tunelib import (
    Note,
    cents,
    course,
    equal,
    errors,
)
from tunelib.exhibits.families import STANDS_FOR
from tunelib.sound.render import USUAL_PEAK_DBFS

DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def written(pattern: str) -> float:
    """A number that is in DEVELOPERS.md, where measurements are kept."""
    match = re.search(pattern, DEVELOPERS)
    assert match, pattern
    return float(match[1])


def measured_room(learners: float) -> float:
    """The median move in a class of so many, in milliseconds, from the table there."""
    return written(rf"\| {learners:g}(?:: breaks)? \| \d+ s \| \d+ MiB \| (\d+) ms")


SERVER = written(r"a server takes (\d+) MiB")

KERNEL = written(r"a lesson \d+ to (\d+) MiB")

TRAFFIC = written(r"with the pauses ([\d.]+) Mbit/s for each learner")

GUARANTEED = written(r"\*\*(\d+) MiB\s+guaranteed") / 1024  # GiB for each learner
CORES = numbers(DEVELOPERS[DEVELOPERS.index("Measured with ") :])[0].value
BELOW_MEDIAN = np.mean(np.arange(100) < np.median(np.arange(100)))  # the table there has medians
QUARTER_TONE = 2 ** (1 / 24)


TABLE = Table(
    claims={
        "512 MiB of memory guaranteed to each learner and 1 GiB at most": [
            written(r"\*\*(\d+) MiB\s+guaranteed"),
            written(r"guaranteed, (\d+) GiB at most"),
        ],
        "enough for two lessons open at a time and five at most": [
            lambda said: SERVER + said * KERNEL <= 512,
            lambda said: SERVER + said * KERNEL <= 1024 < SERVER + (said + 1) * KERNEL,
        ],
        "30 learners | 300 learners": [*map(written, (r"\| (\d+) learners \| 300", r"learners \| (\d+) learners \|"))],
        "1, with 4 cores and 24 GiB | 5, each with 8 cores and 32 GiB": [
            math.ceil(30 * GUARANTEED / (24 - 2)),
            *map(written, (r"one with (\d+) cores", r"one with 4 cores and (\d+) GiB")),
            math.ceil(300 / ((32 - 2) / GUARANTEED)),
            *map(written, (r"five with (\d+) cores", r"five with 8 cores and (\d+) GiB")),
        ],
        "70 megabits a second | 700 megabits a second": [
            math.ceil(30 * TRAFFIC / 10) * 10,
            math.ceil(300 * TRAFFIC / 100) * 100,
        ],
        "on a machine of 2 cores": [CORES],
        "Half of the moves brought their picture in less than 35 milliseconds with 10 learners": lambda _, ms, n: [
            BELOW_MEDIAN,
            lambda said: measured_room(n) < said,
            n,
        ],
        "and with 20; with 40 it was too slow": [
            lambda said: measured_room(said) < 35,
            lambda said: measured_room(said) > 150,
        ],
        "The course has nine lessons": [len(course.LESSONS)],
        "Three evenings of two hours": [
            sum(rows[-1][0] == 120 for rows in plans().values()),
            next(iter(plans().values()))[-1][0] / 60,
        ],
        "through the course in three evenings": [sum("evening" in title for title in plans())],
        "## Three evenings": [sum("evening" in title for title in plans())],
        "the handouts of the four lessons": [
            sum(bool(re.match(r"\[0[1-9] ", what)) for _, what, _ in next(iter(plans().values())))
        ],
        "the comma, thirty-one notes": [THIRTY_ONE],
        "Four tuners pass a chain of fifths up from C": [THIRD],
        "each player's page of the thirty-one notes": [THIRTY_ONE],
        "playing: five thirds": [FIVE],
        "the five thirds, one player at a time": [FIVE],
        "Go from 12 to 13, and look at the fifth": [
            12 if worst(12, 3) < abs(errors(13, ["3/2"])[0]) else 0,
            13 if abs(errors(13, ["3/2"])[0]) > worst(12, 3) else 0,  # which lies farther from it
        ],
        "With odd numbers up to 9 and 2 cents asked of every note, 12 wins": lambda limit, price, wins: [
            limit,
            price,
            bargain(price, limit),
        ],
        "a quarter tone is half of a piano's semitone, 50 cents": [
            cents(QUARTER_TONE) / cents(SEMITONE**2),
            cents(QUARTER_TONE) / cents(SEMITONE),
            size(QUARTER_TONE),
        ],
        "A half-sharp is a quarter tone": [Note.named("Ch#").step(equal(24)) / Note.named("D").step(equal(24))],
        "a step of thirty-one has 38.7": [1200 / 31],
        "Put the needle of step 10 on your screen": [step_about("measure yourself")],
        "Then the chart of step 31 on your screen": [step_about("retune")],
        "its name to the panel of step 10": [step_about("measure yourself")],
        "the test of one's own ear, in step 9": [step_about("how small")],
        "In step 13, Only the two that beat": [step_about("sounds"), len(partials_alone())],
        "It stands for 11/9": [Fraction(STANDS_FOR[THIRDS[2]])],
        "none is made louder than about a quarter of full scale": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        **{f"### {lesson.heading}": [lesson.number] for lesson in course.LESSONS},
        "### 04 Twelve": [lesson_called("Twelve"), TWELVE],
        "### 07 Thirty-one notes": [lesson_called("Thirty-one notes"), THIRTY_ONE],
    },
    counted=[
        "two notes agree where",
        "two waves drift apart",
        "flip between two tunings",
        "Have two players make them",
    ],
    taken_over={
        "2.2, 2023: three flashes": THREE_FLASHES,
        "before you print thirty": CLASS,
        "thirty browsers in a room make thirty sounds": CLASS_OF_SOUNDS,
        "a week's allowance of 40 hours at 80 dB(A) for adults, and at 75 dB(A) for children": WEEKLY_ALLOWANCE,
        "no more than 85 dBA over 8 hours, and half the time for each 3 dB more": DAILY_ALLOWANCE,
        "more than three flashes in a second": FLASHES,
    },
    bibliography=["H.870, 2018, revised 2022", "Publication 98-126, 1998", "Guidelines 2.2, 2023"],
)
