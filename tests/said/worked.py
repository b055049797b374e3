"""What lessons share to work out the numbers that they say: by the library, and a second way."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from tunelib import (
    MEANTONES,
    Note,
    cents,
    closings,
    course,
    equal,
    errors,
    harmonic_deviations,
    harmonic_series,
    interval_names,
    meantone_chain,
    named_interval,
    tempered_fifth,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Slider
from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import PROGRESSIONS
from tunelib.sound.render import timbre_of


def more_than(worked: float) -> Callable[[float], bool]:
    """The number said is above the one worked out: "less than two millimetres"."""
    return lambda said: worked < said


def less_than(worked: float) -> Callable[[float], bool]:
    """The number said is below the one worked out: "more than three metres"."""
    return lambda said: said < worked


def a_little_less_than(worked: float) -> Callable[[float], bool]:
    """The number said is below the one worked out, by a fifth of itself at most: "a little more than a third"."""
    return lambda said: said < worked < 1.2 * said


def near(worked: float, within: float = 0.05) -> Callable[[float], bool]:
    """The number said is near the one worked out, to one part in twenty or as given: "about a quarter"."""
    return lambda said: abs(said / worked - 1) <= within


def size(ratio: str | float) -> tuple[float, float]:
    """Cents of a ratio: by the library, and by the definition of A. J. Ellis, 1885."""
    value = Fraction(ratio) if isinstance(ratio, str) else ratio
    return cents(ratio), 1200 * math.log2(value)


# Whole cents of the first harmonics within the octave: A. J. Ellis, in Helmholtz, On the Sensations of Tone, 1885,
# Appendix XX, section D (from memory).
ELLIS = {3: 702, 5: 386, 7: 969, 9: 204, 11: 551, 13: 841, 15: 1088}


def from_twelve(harmonic: int) -> tuple[float, float]:
    """How many cents a harmonic is from the nearest of twelve: by the library, and by Ellis's table."""
    by_ellis = ELLIS[harmonic] - 100 * round(ELLIS[harmonic] / 100)
    return abs(float(harmonic_deviations(equal(12), 16).error[harmonic - 1])), abs(by_ellis)


def from_thirty_one(ratio: str) -> tuple[float, float]:
    """How many cents wider thirty-one has a ratio: by the library, and from the definition."""
    steps = 31 * math.log2(Fraction(ratio))
    return float(errors(31, [ratio])[0]), (round(steps) - steps) * 1200 / 31


def terms(name: str) -> tuple[int, int]:
    """The two numbers of a ratio by its name."""
    ratio = named_interval(name).ratio
    return ratio.numerator, ratio.denominator


def step_about(word: str) -> int:
    """The number of the first step with a word in its title."""
    return next(step.number for step in course.all_steps() if re.search(rf"\b{word}\b", step.title, re.IGNORECASE))


def lesson_called(title: str) -> int:
    """The number of the lesson with a title."""
    return next(lesson.number for lesson in course.LESSONS if lesson.title == title)


def lesson_of(step: int) -> int:
    """The number of the lesson that has a step."""
    return course.lesson_of(step).number


def steps(name: str) -> int:
    """How many of thirty-one steps a note is above the C below it."""
    return Note.named("C").interval_to(Note.named(name)).step(equal(31)) % 31


def thirds(division: int) -> list[int]:
    """The steps of an equal division that are called a third of some kind, by its own first name for them."""
    return [n for n in range(1, division) if interval_names(n, equal(division))[0].name.endswith(" third")]


def worst(division: int, limit: int) -> float:
    """Cents by which a division misses the worst of all intervals with odd numbers up to a limit, by hand."""
    odd = range(1, limit + 1, 2)
    missed = ((division * math.log2(a / b)) % 1 for a in odd for b in odd)
    return max(min(part, 1 - part) for part in missed) * 1200 / division


def stands_out(division: int) -> int:
    """The division, if its worst third or fifth is less than half as far off as that of any of the four about it."""
    about = [worst(division + away, 5) for away in (-2, -1, 1, 2)]
    return division if 2 * worst(division, 5) < min(about) else 0


def bargain(price: float, limit: int) -> tuple[float, int]:
    """The division from 5 to 100 that costs least at a price for each note: by the exhibit, and by hand."""
    by_hand = min(range(5, 101), key=lambda n: worst(n, limit) + price * n)
    return shown("the_trade", f"{limit}, # steps", price=price, limit=str(limit)), by_hand


def shown(exhibit: str, what: str, **knobs: Any) -> float:
    """A number in the sentence of an exhibit, by the words about it: ``# times larger`` finds 20."""
    show = EXHIBITS[exhibit]
    match = re.search(re.escape(what).replace(r"\#", r"(\d+(?:\.\d+)?)"), show.sentence(**show.settle(knobs)))
    assert match, f"{exhibit} says nothing like {what!r}"
    return float(match[1])


def says(exhibit: str, words: str, **knobs: Any) -> bool:
    """Whether the sentence of an exhibit has these words in it."""
    show = EXHIBITS[exhibit]
    return words in show.sentence(**show.settle(knobs))


def onsets(exhibit: str) -> int:
    """How many chords or notes an exhibit plays one after another."""
    show = EXHIBITS[exhibit]
    return len({note.onset for note in show.score(**show.settle({})).notes})


def part(name: str) -> Fraction:
    """The part of the comma that a meantone is called by."""
    return MEANTONES[f"{name}-comma"].fraction


def slider(exhibit: str, name: str) -> Slider:
    """A slider of an exhibit by its name."""
    return next(knob for knob in EXHIBITS[exhibit].knobs if isinstance(knob, Slider) and knob.name == name)


def partials_alone() -> list[float]:
    """All partials that sound in step 13 where only those that beat are kept, in hertz."""
    show = EXHIBITS["beating_third"]
    values = show.settle({"only": True})
    timbre = show.timbre(**values)
    tones = (timbre_of(note, timbre).partials(note.hertz) for note in show.score(**values).notes)
    return [hertz for frequencies, *_ in tones for hertz in frequencies.tolist()]


def away(progression: str, division: int) -> int:
    """The steps of a division by which a progression misses home."""
    return int(PROGRESSIONS[progression].drift_steps(division))


def default(function: Callable[..., Any], parameter: str) -> Any:
    """What a function takes if nothing is given."""
    return inspect.signature(function).parameters[parameter].default


A3, A4 = Note.parse("A3").hz(), Note.parse("A4").hz()

SEMITONE = 2 ** (1 / 12)

QUARTER = meantone_chain("1/4")

COMMA = size("81/80")

NARROW = (cents("3/2") - QUARTER.fifths[0].cents, 1200 * math.log2(1.5 / 5**0.25))

WOLF = (QUARTER.closing_fifth.cents, 1200 * math.log2(2**7 / 5**2.75), 737.637)  # 737.64: common in handbooks

CLOSES = closings(tempered_fifth("1/4"), 100)[-1].fifths

TWELFTH = 2 * named_interval("fifth").ratio

OVER_OCTAVES = (4 * cents("3/2") - cents("5/4")) / 1200

THIRD = next(n for n in range(1, 12) if Note.on_chain(n).name == "E")  # fifths from C

TIMES = harmonic_series(1, 8).tolist()

THIRDS = thirds(31)

SEVENTH_PAIRS = Chord.parse("Charm7").errors(equal(31))

FIVE = len(THIRDS), len({round(31 * math.log2(r)) for r in (7 / 6, 6 / 5, 11 / 9, 5 / 4, 9 / 7)})

OCTAVE_OF_THIRDS = round(1200 / cents("5/4")), round(1200 / cents("6/5"))  # how many come near an octave

STRAY = [n for n in range(1, 17) if abs(harmonic_deviations(equal(12), 16).error[n - 1]) > 25]

# The tunings that the course is about have as many notes as it takes fifths to come home: pure ones, or quarter-comma.
TWELVE = len(equal(12)), closings(tempered_fifth(0), 40)[-1].fifths
THIRTY_ONE = len(equal(31)), CLOSES

TONES = [Fraction(9, 8), Fraction(10, 9)]
