"""Every number in the prose of other_divisions_at_work, and what it is worked out from."""

from __future__ import annotations

import ast
import math
from fractions import Fraction

from said.prose import lessons
from said.table import Table
from said.worked import (
    CLOSES,
    THIRTY_ONE,
    shown,
    size,
    step_about,
)
from tunelib import Note, equal, errors
from tunelib.exhibits.dividing import PIANO_OCTAVE
from tunelib.harmony import PROGRESSIONS, parse_lead_sheet, retune
from tunelib.live.key_notes import key_notes
from tunelib.pitch import SCALE_LENGTH, prime_limit_intervals
from tunelib.practice.division_drill import division_drill
from tunelib.practice.division_table import wolf
from tunelib.practice.ear_names import thirds_of
from tunelib.practice.tune_panel import FIRST_TUNE


def divisions() -> tuple[int, ...]:
    """The six, as they are in the first cell of the page."""
    for node in ast.walk(ast.parse(lessons()["other_divisions_at_work"].code)):
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "divisions":
            return tuple(ast.literal_eval(node.value))
    raise AssertionError("the page has no divisions")


SIX = divisions()
TUNE = parse_lead_sheet(FIRST_TUNE)


def fifth(division: int) -> int:
    """The steps of the nearest fifth, from its logarithm."""
    return round(division * math.log2(3 / 2))


def off(division: int, ratio: str) -> tuple[float, float]:
    """By how much a division misses a ratio, without its sign: by the library, and from logarithms."""
    value = Fraction(ratio)
    missed = round(division * math.log2(value)) * 1200 / division - 1200 * math.log2(value)
    return abs(float(errors(division, [ratio])[0])), abs(missed)


def of_letters(division: int) -> float:
    """The third that four fifths make, in cents."""
    return (4 * fifth(division) - 2 * division) * 1200 / division


def vanishing(division: int) -> bool:
    """Whether four fifths of a division are its nearest third."""
    return 4 * fifth(division) - 2 * division == round(division * math.log2(5 / 4))


def drift(division: int) -> tuple[float, float]:
    """How far I vi ii V drifts in a round: by the library, and as one step, where the comma is one."""
    return abs(PROGRESSIONS["I vi ii V"].drift(division)), 1200 / division


def stillest(division: int) -> int:
    """How many steps above the E of the letters the nearest third over C is."""
    return round(division * math.log2(5 / 4)) - (4 * fifth(division) - 2 * division)


def on_key(division: int) -> str:
    """What is printed on the key of that third."""
    return key_notes(division).note(round(division * math.log2(5 / 4))).name


def under(division: int, letter: str = "") -> set[int]:
    """What is printed under the notes of the tune's melody, or those of a letter without a sign: 0 where nothing is."""
    notes = [sung.note for sung in retune(TUNE, equal(division)).melody]
    return {note.steps for note in notes if letter in ("", note.letter + note.accidental)}


HOME = [n for n in SIX if vanishing(n)]
SHARP = {n: 7 * fifth(n) - 4 * n for n in SIX}
NAMED = {n: len(thirds_of(equal(n))) for n in SIX}  # thirds that have a name
TO_E = next(n for n in range(1, 12) if Note.on_chain(n).name == "E")  # fifths from C
SEVEN = prime_limit_intervals(7)[-1].numerator
QUESTIONS = {len(division_drill(n, seed=1).turns()) for n in SIX}

PRIMES = tuple(ratio.numerator for ratio in prime_limit_intervals(11) if ratio.numerator != SEVEN)

TABLE = Table(
    claims={
        "about 165 mm, and a string of 650 mm": [PIANO_OCTAVE, SCALE_LENGTH],
        "in which of six divisions": [len(SIX)],
        "in six divisions: 12, 19, 22, 31, 41 and 53 steps": [len(SIX), *SIX],
        "with the seventh harmonic on top": [SEVEN],
        "The picture of step 12": [step_about("misses")],
        "with harmonic 7, then with 3, 5 and 11": [SEVEN, *PRIMES],
        "In 12, 19 and 31 it is the E. In": [n for n in SIX if stillest(n) == 0],
        "In 22, 41 and 53 it is the key one step lower": [
            *(n for n in SIX if stillest(n)),
            -min(map(stillest, SIX)),
        ],
        "on which D♯ is printed in 22, and F♭ in 41 and 53": [
            *(n for n in SIX if stillest(n) and on_key(n) == "D♯"),
            *(n for n in SIX if stillest(n) and on_key(n) == "F♭"),
        ],
        "Where −1 or +1 is printed in italics under a note": [
            -min(set().union(*map(under, SIX))),
            max(set().union(*map(under, SIX))),
        ],
        "it is an E with −1 under it": [-min(under(41, "E") & under(53, "E"))],
        "Eight bars, in the panel of step 31": [max(chord.bar for chord in TUNE.chords), step_about("whole")],
        "of how many of its ten chords": [len(TUNE.chords)],
        "Five or six questions": sorted(QUESTIONS),
        "In 12 steps there are two thirds to tell apart": [SIX[0], NAMED[12]],
        "in 19 and in 22 there are four, and from 31 on there are five": [
            SIX[1],
            SIX[2],
            (NAMED[19], NAMED[22]),
            THIRTY_ONE,
            (NAMED[31], NAMED[41], NAMED[53]),
        ],
        "Four fifths up from C is E": [TO_E],
        "the comma of step 17": [step_about("comma")],
        "In 12, 19 and 31 it does. Four fifths": [*HOME, TO_E],
        "In 41 and 53 the fifths are nearly pure": [n for n in SIX if not vanishing(n) and off(n, "3/2")[1] < 1],
        "so four of them make the wide third of step 17, here 409.8 and 407.5 cents": [
            TO_E,
            step_about("comma"),
            of_letters(41),
            of_letters(53),
        ],
        "In 22 the fifths are 7.1 cents too wide, and four of them make 436.4 cents": [
            next(n for n in SIX if fifth(n) * 1200 / n > size("3/2")[1] + 1),
            off(22, "3/2"),
            TO_E,
            of_letters(22),
        ],
        "A sharp is three steps": [SHARP[22]],
        "to the seventh harmonic. To hear": [lambda said: 2 * (22 - fifth(22)) == round(22 * math.log2(said / 4))],
        "as written in 22": [next(n for n in SIX[1:] if of_letters(n) > 430)],
        "So in these three a chart": [len(SIX) - len(HOME)],
        "by 54.5, 29.3 or 22.6 cents a round": [drift(22), drift(41), drift(53)],
        "or, in 22, of a seventh that": [next(n for n in SIX[1:] if 2 * (n - fifth(n)) == round(n * math.log2(7 / 4)))],
        "A half-sharp is one step in 31 and two in 41": [SHARP[31] / 2, THIRTY_ONE, SHARP[41] / 2, SIX[4]],
        "In the other four a sharp cannot be halved": [sum(SHARP[n] % 2 for n in SIX)],
        "the five thirds, the staff": [NAMED[31]],
        "Set 12, 19, 22, 31, 41 and 53 in turn": SIX,
        "pure to 0.1 cents": [off(19, "6/5")],
        "a little more than 7 cents narrow": [
            lambda said: all(said < off(19, r)[1] < said + 0.5 for r in ("3/2", "5/4"))
        ],
        "12 closes everything": [next(n for n in SIX if wolf(n) == 0)],
        "19 is the cheapest step away from it": [SIX[1]],
        "nothing near harmonic 7 or harmonic 11": [
            lambda said: off(12, f"{said:g}/4")[1] > 30,
            lambda said: off(12, f"{said:g}/8")[1] > 45,
        ],
        "and its seventh harmonic is poor": [lambda said: off(19, f"{said:g}/4")[1] > 20],
        "22 is the smallest here that": [next(n for n in SIX if off(n, "11/8")[1] < 6)],
        "comes within 6 cents of the eleventh harmonic": lambda within, harmonic: [
            lambda said: off(22, "11/8")[1] < said < off(19, "11/8")[1],
            lambda said: off(22, f"{said:g}/8")[1] < within,
        ],
        "31 has thirds and sevenths": [CLOSES],
        "41 has harmonics 3, 5, 7 and 11 all within 6 cents": lambda division, *rest: [
            next(n for n in SIX if all(off(n, r)[1] < rest[-1] for r in ("3/2", "5/4", "7/4", "11/8"))),
            PRIMES[0],
            PRIMES[1],
            SEVEN,
            PRIMES[2],
            lambda said: max(off(41, r)[1] for r in ("3/2", "5/4", "7/4", "11/8")) < said,
        ],
        "an octave of keys is 56 cm wide": [shown("finer_steps", "would measure # cm", division=41)],
        "53 has triads": [min(SIX, key=lambda n: off(n, "3/2")[1] + off(n, "5/4")[1])],
    },
    counted=[
        "Do it five times before you read on",
        "choose the same one twice",
        "Which two can you not tell apart",
        "Is it the same division twice",
        "Three keys are marked: that E, the key one step lower and the key one step higher",
        "Which of the three keys it is",
        "it sounds one step lower or higher than its letter",
        "one step below the E of the letters",
        "The third that rings is one step lower",
    ],
    bibliography=["Tuning and Temperament: A Historical Survey, 1951"],
)
