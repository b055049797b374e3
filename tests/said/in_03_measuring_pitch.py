"""Every number in the prose of lesson 03, and what it is worked out from."""

from __future__ import annotations

from said.table import Table
from said.worked import (
    A3,
    ELLIS,
    SEMITONE,
    THIRTY_ONE,
    TWELVE,
    default,
    from_twelve,
    near,
    size,
    step_about,
)
from tunelib import (
    cents,
    named_interval,
    ratio_from_cents,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.dividing import RULE_OF_THUMB
from tunelib.hearing.pitch_track import track_pitch
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD
from tunelib.sound import DEMO_HARMONICS

TABLE = Table(
    claims={
        "An octave from 110 Hz is 110 Hz wide": lambda low, wide: [
            low,
            low * ratio_from_cents(1200) - low,
        ],
        "one from 440 Hz is 440 Hz wide": lambda low, wide: [
            low,
            low * ratio_from_cents(1200) - low,
        ],
        "It cuts the octave into 1200 equal steps": [size("2")],
        "Each is one cent, a hundredth of a semitone": [size(2 ** (1 / 1200)), 1 / cents(SEMITONE)],
        "move the interval from 386 slowly to 400": [(*size("5/4"), ELLIS[5]), size(SEMITONE**4)],
        "a pure major third, exactly 5/4": [named_interval("major third").ratio],
        "Fourteen cents; hear what they do": [from_twelve(5)],
        "the often-quoted 5 cents": [RULE_OF_THUMB],  # common practice
        "(Remember step 2.)": [step_about("drift")],
        "calmest places near 500 and near 700": [near(size("4/3")[1]), near(size("3/2")[1])],
        "it finds the pitch a hundred times a second": [1 / default(track_pitch, "hop")],
        "the A below middle C, 220 Hz": [(A3, 440 / 2)],
        "a hundredth of a semitone; 1200 make an octave": [1 / cents(SEMITONE), size("2")],
        "Five cents is a rule of thumb": [RULE_OF_THUMB],
        "and close your eyes: eight notes": [len(DEMO_HARMONICS)],
        "Flip between overtones, 12 and 31 in the middle of a note: three players": [
            TWELVE,
            THIRTY_ONE,
            len(EXHIBITS["intonation"].comparisons),
        ],
        "Step 13 says why": [step_about("miss")],
        "the test of step 9": [step_about("hear")],
        "the pitch tracking of step 10": [step_about("measure")],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
    },
    settings=[
        ("move the interval from 386 slowly to 400", "cents_ruler", "interval"),
        ("Move Lower tone down to 110 Hz", "small_difference", "hertz"),
    ],
    given=["ten cents above 440 Hz", "repeats every 4.5 milliseconds"],
    counted=[
        "how far apart two notes are",
        "Two tones, one after the other",
        "until the two are one",
        "play ten slow notes",
    ],
    bibliography=[
        "2nd English edition, 1885",
        "J. Acoust. Soc. Am. 49, 1971",
        "Perception & Psychophysics 33, 1983",
        "Hearing Research 219, 2006",
        "J. Acoust. Soc. Am. 111, 2002",
    ],
)
