"""Every number in the prose of for_presenters, and what it is worked out from."""

from __future__ import annotations

import inspect
from typing import Any

import numpy as np

from said.prose import ROOT
from said.published import (
    AARON,
    ARCHICEMBALO_ALL,
    AT_THE_EAR,
    BLUE_MEANS,
    BROADCAST_IN_AMERICA,
    BROADCAST_IN_EUROPE,
    GATING_OVERLAP,
    HUYGENS_31,
    LOUDER_TWICE,
    REFERENCE_SINE,
    RULE_OF_THUMB,
    SMALL_LOUDSPEAKERS,
    TALK,
    VIDEO_PLATFORMS,
    ZARLINO,
)
from said.table import Table
from said.worked import (
    CLOSES,
    QUARTER,
    SEMITONE,
    TWELVE,
    from_thirty_one,
    from_twelve,
    lesson_called,
    size,
    terms,
    worst,
)
from tunelib import equal
from tunelib.exhibits import find_exhibit
from tunelib.film import ClipPlan
from tunelib.film.clip import RATES
from tunelib.film.flashes import MOST_FLASHES
from tunelib.film.shots import tomllib
from tunelib.film.soundtrack import HIGHEST_PEAK, USUAL_LOUDNESS
from tunelib.pitch import BLUE_NOTES, largest_error, odd_limit_intervals, ratio_from_cents
from tunelib.pitch.intervals import FloatArray
from tunelib.sound.loudness import loudness
from tunelib.sound.render import USUAL_PEAK_DBFS


def full_scale(hertz: float) -> FloatArray:
    """Two seconds of a sine at full scale."""
    return np.sin(2 * np.pi * hertz * np.arange(96000) / 48000)


SHOTS = tomllib.loads((ROOT / "lessons" / "material" / "episode.toml").read_text(encoding="utf-8"))["shot"]
CLIP = SHOTS[0]
THEN = CLIP["then"]  # what follows: overtones among the steps, all divisions, the trade
WAVES = find_exhibit("beats").builds[:2]  # one that is held, one that slips
LONG = [shot["seconds"] for shot in SHOTS if "say" in shot]
MIDDLE_C = 440 / SEMITONE**9
HARMONIC = THEN[0]["knobs"]["harmonic"]
LOW_SHIMMER = abs(4 * SEMITONE**4 - 5) * 220  # beats of the same third on the A below


def keyframe(act: dict[str, Any], number: int) -> float:
    """When a keyframe of the episode comes, in whole seconds."""
    return float(int(act["keyframe"][number]["at"]))


def beats_thirty_one(limit: int) -> int:
    """The first division above 31 whose worst miss is smaller."""
    return next(n for n in range(32, 200) if worst(n, limit) < worst(31, limit))


SHIMMER = abs(4 * SEMITONE**4 - 5) * 440 / SEMITONE**9  # beats of the third on middle C, in twelve


TABLE = Table(
    claims={
        "a finished clip of 90 seconds": LONG,
        "From the question to 90 seconds": LONG,
        "the talk track of the 90 seconds": LONG,
        "| 0 | two flutes": [lambda said: said < CLIP["say"][0]["at"], len(WAVES)],
        "| 17 | the flutes meet": [keyframe(CLIP, 1)],
        "| 21 | a third on the piano": [keyframe(CLIP["beside"], 0)],
        "| 41 | the third narrows": [keyframe(CLIP["beside"], 3)],
        "| 46 | harmonic 5, its key, both | twelve keys, then thirty-one steps": [
            int(THEN[0]["at"]),
            HARMONIC,
            int(THEN[0]["knobs"]["division"].split()[0]),
            int(THEN[0]["keyframe"][1]["knobs"]["division"].split()[0]),
        ],
        "| 63 | a chord in": [int(THEN[1]["at"])],
        "| 77 | the same chord": [int(THEN[2]["at"])],
        "400 cents, is 13.7 wider than 5/4": lambda third, wider, ratio: [
            4 * 1200 * np.log2(SEMITONE),
            (from_twelve(5)[0], 400 - size("5/4")[1]),
            terms("major third")[0] / terms("major third")[1],
        ],
        "A piano in twelve equal steps": [TWELVE],
        "One cent at A4 = 440 Hz is 0.25 Hz": lambda cent, a4, hertz: [
            lambda said: abs(1200 * np.log2(1 + hertz / a4) - said) < 0.05,
            equal(12).hz(9),
            a4 * (ratio_from_cents(cent) - 1),
        ],
        "two octaves lower a quarter of that": lambda octaves, part: [
            np.log2(1 / part),
            ratio_from_cents(-1200 * octaves),
        ],
        "13.7 hertz off": [from_twelve(5)[0]],
        "that third is 2.6 Hz too high": [(SEMITONE**4 - 5 / 4) * MIDDLE_C],
        "beats 8.7 times a second on 220 Hz, and twice as fast an octave higher": lambda rate, hertz, faster: [
            abs(4 * SEMITONE**4 - 5) * hertz,
            equal(12).hz(9) / 2,
            SHIMMER * (440 / MIDDLE_C) / LOW_SHIMMER,
        ],
        "Harmonic 5 is not the fifth overtone": lambda harmonic: [HARMONIC],
        "Harmonic 1 is the note itself, so the fifth overtone is harmonic 6": lambda first, sixth: [
            440 / 440,
            HARMONIC + first,
        ],
        "Its third is 0.8 cents wide and its seventh 1.1 flat": lambda third, seventh: [
            from_thirty_one("5/4"),
            tuple(-off for off in from_thirty_one("7/4")),
        ],
        "the fifth is 5.2 cents narrow, where twelve has 2": lambda narrow, twelve: [
            tuple(-off for off in from_thirty_one("3/2")),
            from_twelve(3)[0],
        ],
        "With odd numbers up to 7, nothing below 68 beats 31": lambda limit, better, best: [
            lambda said: largest_error(31, odd_limit_intervals(int(said))) < 6,
            beats_thirty_one(int(limit)),
            CLOSES,
        ],
        "Up to 11, 41 does": lambda limit, better: [
            lambda said: (
                largest_error(31, odd_limit_intervals(int(said))) > largest_error(41, odd_limit_intervals(int(said)))
            ),
            beats_thirty_one(int(limit)),
        ],
        "Their fifths differ by 0.2 cents": [18 * 1200 / 31 - QUARTER.fifths[0].cents],
        "miss home by 6.1 cents": [
            abs(31 * 1200 * np.log2(5**0.25) - 18 * 1200),
        ],
        "7/4, at 968.8 cents, is what was proposed; it is 69.1 cents below the measured seventh": lambda r, at, below: [
            7 / 4,
            size("7/4"),
            BLUE_NOTES["seventh"].measured.cents - size("7/4")[1],
        ],
        "not the seventh harmonic": [lambda said: 2.0**-2 * said == 7 / 4],
        "the first of twelve steps adds 15.6 Hz and the last 29.4": lambda steps, first, last: [
            TWELVE,
            MIDDLE_C * (SEMITONE - 1),
            2 * MIDDLE_C * (1 - 1 / SEMITONE),
        ],
        "−12 of full scale": [-USUAL_PEAK_DBFS],
        "−23 LKFS are": [-USUAL_LOUDNESS],
        "6 decibels are twice the amplitude, and 3 are twice the power": lambda six, twice, three, double: [
            20 * np.log10(twice),
            lambda said: abs(20 * np.log10(said) - six) < 0.05,
            10 * np.log10(double),
            lambda said: abs(10 * np.log10(said) - three) < 0.05,
        ],
        "the sources of [06 Meantone]": [lesson_called("Meantone")],
        "is the shimmer nearer to once a second, or to ten times?": [
            lambda said: abs(LOW_SHIMMER - said) < abs(LOW_SHIMMER - 1),
        ],
        "The fifth harmonic of the lower note and the fourth of the upper": [terms("major third")[0]],
        "there are 30 frames a second": [inspect.signature(ClipPlan).parameters["fps"].default],
        "unless you ask for , 25, 50 or 60": [rate for rate in RATES if rate not in (24, 30)],
        "a sine of 997 Hz at full scale must read −3.01": lambda hertz, reads: [
            REFERENCE_SINE.values[0],
            (-loudness(full_scale(hertz)), REFERENCE_SINE.values[1]),
        ],
        "Every clip is set to −23 unless": [-inspect.signature(ClipPlan).parameters["loudness"].default],
        "stays below −1 decibels of full scale": [-HIGHEST_PEAK],
        "leave the clip at −23": [-USUAL_LOUDNESS],
        "flashes more than three times a second": [MOST_FLASHES],
    },
    counted=[
        "The number, twice",
        "if the two agree",
        "two waves come on stage and drift apart",
        "the third narrows | two peaks meet",
        "where the two pictures show the same thing, as the last two do",
        "has three shorter clips",
        "Cents compare two pitches",
        "are three different things",
        "between two of them they move",
        "Two sounds with the same peak",
    ],
    taken_over={
        "European broadcasters ask for −23": BROADCAST_IN_EUROPE,
        "American ones for −24": BROADCAST_IN_AMERICA,
        "turn louder films down to about −14": VIDEO_PLATFORMS,
        "About 140 words a minute are easy to follow, and the library refuses more than 180": TALK,
        "Aaron (1523)": AARON,
        "Zarlino (1571)": ZARLINO,
        "Vicentino (1555) describes an instrument with 31 keys to the octave among its 36": ARCHICEMBALO_ALL,
        "Huygens worked 31 equal steps out in notes of 1661, printed in 1691": HUYGENS_31,
        "in fifteen early blues performances: means of 319.1, 582.8 and 1037.9 cents for third, fifth and seventh "
        "(Cutting 2018)": BLUE_MEANS,
        '"Five cents" is a rule of thumb': RULE_OF_THUMB,
        "neither is twice as loud, for which about 10 are needed": LOUDER_TWICE,
        "80 dB(A) at the ear": AT_THE_EAR,
        "Small loudspeakers play next to nothing below 150 Hz": SMALL_LOUDSPEAKERS,
        "in short blocks that overlap by three quarters": GATING_OVERLAP,
    },
    bibliography=[
        "BS.1770-4 (2015)",
        "EBU R 128 (2023) for −23",
        "ATSC A/85 (2013) for −24",
        "Guidelines 2.2 (2023)",
        "H.870 (2018, revised 2022)",
        "Empirical Musicology Review 13, 2018",
    ],
)
