"""Every number in the prose of lessons and README is worked out here, or is on a short list that says why not.

A number is found as digits or as words ("eleven", "a fifth of", "twice"). It is covered by a phrase that holds it, just
as the text has it without its emphasis, code and links, in one of these tables:

- ``CLAIMS``: the numbers are worked out, by the library and, where that is possible, a second way; they must agree with
  what is said as far as it is said, 21.5 to a tenth;
- ``SETTINGS``: a knob that the reader is told to set, and each number is one of its stops;
- ``GIVEN``: what a sum sets out from, and each number stands in a code cell of the same lesson;
- ``COUNTED``: the things counted stand in the sentence itself: "the two sliders";
- ``TAKEN_OVER``: published or common practice, and nothing that can be worked out;
- ``BIBLIOGRAPHY``: editions, volumes and years.

What is said of a picture or a sound without a number, "sits on a hill", is in ``SHOWN`` with whether it is so.

Headings and the minutes that a lesson takes are held against the table of the course by ``PLACES``.

For a new lesson or step run this file: it names each number that nothing covers, with the words about it. Copy those
words into the table that fits, under the name of the lesson.
"""

from __future__ import annotations

import ast
import inspect
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any, TypeAlias

import nbformat
import numpy as np
import pytest
from test_lessons import COURSE, GUIDES, MOST_LINES, REFERENCES, START, plans

from tunelib import (
    MEANTONES,
    WELL_TEMPERAMENTS,
    Key,
    Note,
    cents,
    closings,
    course,
    equal,
    errors,
    harmonic_deviations,
    harmonic_series,
    home_fraction,
    interval_names,
    largest_error,
    mapped_steps,
    meantone_chain,
    miss_after,
    name_of,
    named_interval,
    odd_limit,
    odd_limit_intervals,
    parse_ratio,
    prime_limit,
    ratio_from_cents,
    tempered_fifth,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.dividing import PIANO_OCTAVE, RULE_OF_THUMB
from tunelib.exhibits.exhibit import Choice, Slider
from tunelib.exhibits.families import STANDS_FOR
from tunelib.exhibits.series_sheet import NEAR
from tunelib.exhibits.singing import DEEPEST
from tunelib.exhibits.smallest_moves import smallest_chain
from tunelib.exhibits.waves import SPEED_OF_SOUND
from tunelib.film import ClipPlan
from tunelib.film.clip import RATES
from tunelib.film.flashes import MOST_FLASHES
from tunelib.film.soundtrack import HIGHEST_PEAK, USUAL_LOUDNESS
from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import PROGRESSIONS
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.playable import FEWEST_STEPS, MOST_STEPS
from tunelib.harmony.ratios import whole_numbers
from tunelib.harmony.taste import Taste
from tunelib.hearing.beats import beat_rate
from tunelib.hearing.held_pitch import EXCELLENT_CENTS, USUAL_CENTS
from tunelib.hearing.pitch_track import track_pitch
from tunelib.hearing.roughness import roughness
from tunelib.live import harmonic_keys
from tunelib.pitch.divisions import frontier
from tunelib.pitch.frets import SCALE_LENGTH, fret_gaps, fret_places
from tunelib.pitch.intervals import FloatArray
from tunelib.pitch.notes import LETTERS
from tunelib.pitch.slide import POSITIONS, division_positions
from tunelib.practice.ear_plan import AIM, LONGEST_SESSION, SHORTEST_SESSION
from tunelib.practice.reading_drill import reading_drill
from tunelib.sound.loudness import loudness
from tunelib.sound.render import USUAL_PEAK_DBFS, render, timbre_of
from tunelib.sound.timbre import timbre
from tunelib.sound.voice import vowel

ROOT = Path(__file__).resolve().parent.parent
README = "README"
Worked: TypeAlias = "float | Fraction | Callable[[float], bool] | tuple[float | Fraction, ...]"

# --- Finding numbers ------------------------------------------------------------------------------------------------

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_WORDS = dict(zip(_SMALL, range(20), strict=True)) | dict(zip(_TENS, range(20, 100, 10), strict=True))
_WORDS |= {"hundred": 100, "thousand": 1000, "twice": 2}
_PARTS = {
    "half": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "ninth": 9,
    "tenth": 10, "eleventh": 11, "twelfth": 12, "thirteenth": 13, "hundredth": 100, "hundred-and-tenth": 110,
}  # fmt: skip
_CARDINAL = "|".join(word for word in _WORDS if word not in ("zero", "one"))  # "one" is mostly a pronoun
_PART = "|".join(_PARTS)
_NUMBER = re.compile(
    rf"""
      (?<![\w.½♭♯]) (?<![a-z]-) (?P<digits> \d+(?:\.\d+)? (?:/\d+)? )                   # 5/4, 21.5, 2nd; not C4
          (?: st|nd|rd|th|s )? (?![\w½])
    | \b (?P<ordinal> {_PART} ) \b (?= \ harmonic | \ root )                             # the seventh harmonic
    | (?<= every\ ) (?P<every> second | third ) (?= \ peak | [,.] )                      # every second peak
    | \b (?P<part> an?\ (?:{_PART}) \b (?= \ of\b | \ as\b | ,\ a\ quarter )             # a third of, a fifth as
                 | quarter \b (?! s | - ) | half \b (?! - ) )
    | \b (?: a\ )? (?P<cardinal> (?:{_CARDINAL}) (?: [ -] (?: one | {_CARDINAL} ) )* ) \b
    | \b (?P<one> one ) (?= \ (?: step | vibration | cent | semitone )s? \b )
    """,
    re.VERBOSE | re.IGNORECASE,
)
# The two tunings are called by their numbers. Where things are counted it is a number all the same.
_TUNING = re.compile(
    r"\b(?:twelve|thirty-one)\b"
    r"(?!\W*(?:equal|keys|notes|steps|fifths|frets|pitches|rungs|times|such|of them|to the octave))",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Number:
    """A number in a text: where it is, how it is written, and its value with half a unit of its last digit."""

    start: int
    end: int
    text: str
    value: float
    leeway: float


def _in_words(text: str) -> int:
    total = 0
    for word in re.split(r"[ -]", text.lower()):
        total = max(total, 1) * _WORDS[word] if word in ("hundred", "thousand") else total + _WORDS[word]
    return total


def numbers(words: str) -> list[Number]:
    """All numbers of a text, in order."""
    names = {match.start() for match in _TUNING.finditer(words)}
    found = []
    for match in _NUMBER.finditer(words):
        kind, text = match.lastgroup, match[match.lastgroup or 0]
        leeway = 0.0
        if kind == "digits":
            value = float(Fraction(text))
            leeway = 0.0 if "/" in text else 0.5 * 10.0 ** -len(text.partition(".")[2])
        elif kind == "part":
            value = 1 / _PARTS[text.lower().split()[-1]]
        elif kind in ("ordinal", "every"):
            value = _PARTS.get(text.lower(), 2)
        else:
            value, leeway = _in_words(text), 0.5
        if match.start() not in names:
            found.append(Number(match.start(), match.end(), match[0], value, leeway))
    return found


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("a ratio of 3:2, 81/80 and 21.5 cents", [3, 2, 81 / 80, 21.5]),
        ("Thirty-one steps, forty-eight thousand moments, a hundred times, twice", [31, 48000, 100, 2]),
        ("a third of a semitone; a hundred-and-tenth of a comma; half as fast; a quarter", [1 / 3, 1 / 110, 0.5, 0.25]),
        ("the twelfth root of 2, the fifth harmonic, every third peak", [12, 2, 5, 3]),
        ("a pure third and a fifth, the half-sharp, A4, E½♭, BSD-3-Clause, 4K, one of them", []),
        ("a note of twelve; in twelve notes; the twelve of a piano", [12]),
        ("-5 cents, 10-30 minutes, 4:5:6:7", [5, 10, 30, 4, 5, 6, 7]),
        ("the 2nd edition, in the 18th century; one step", [2, 18, 1]),
    ],
)
def test_numbers_are_found_in_digits_and_in_words(words: str, values: list[float]) -> None:
    assert [number.value for number in numbers(words)] == pytest.approx(values)


# --- The lessons ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Lesson:
    """A lesson, or README: its prose as `plain` gives it, and its code."""

    name: str
    words: str
    code: str = ""

    @cached_property
    def literals(self) -> set[float]:
        """The numbers in its code."""
        values = (node.value for node in ast.walk(ast.parse(self.code)) if isinstance(node, ast.Constant))
        return {float(value) for value in values if isinstance(value, (int, float))}


def plain(markdown: str) -> str:
    """Prose on one line, ¶ between paragraphs: without code, where links lead, emphasis and marks of quotation."""
    text = re.sub(r"```.*?```|`[^`]*`", " ", markdown, flags=re.DOTALL)
    text = re.sub(r"\]\([^)]*\)", "]", text)
    text = re.sub(r"^> ?", "", text, flags=re.MULTILINE)
    paragraphs = re.split(r"\n\s*\n", text.replace("*", ""))
    return " ¶ ".join(" ".join(paragraph.split()) for paragraph in paragraphs if paragraph.strip())


@lru_cache(maxsize=1)
def lessons() -> dict[str, Lesson]:
    """All lessons, and README, by name."""
    found = {README: Lesson(README, plain((ROOT / "README.md").read_text(encoding="utf-8")))}
    for path in sorted((ROOT / "lessons").glob("*.ipynb")):
        cells = nbformat.read(path, as_version=4).cells
        sources = {kind: "\n\n".join(c.source for c in cells if c.cell_type == kind) for kind in ("markdown", "code")}
        found[path.stem] = Lesson(path.stem, plain(sources["markdown"]), sources["code"])
    return found


# --- Numbers worked out ---------------------------------------------------------------------------------------------


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


def best_for_sevens(after: int) -> tuple[int, int]:
    """The first division past one that is nearer to all intervals with odd numbers up to 7 than any before it."""
    divisions = np.arange(1, 101)
    best = frontier(divisions, largest_error(divisions, odd_limit_intervals(7)))
    by_hand = next(n for n in range(after + 1, 101) if worst(n, 7) < min(worst(fewer, 7) for fewer in range(1, n)))
    return int(best[best > after][0]), by_hand


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


def home(part: float) -> tuple[float, int]:
    """The division in which a part of the comma is at home: by the exhibit, and by their fifths in logarithms."""
    narrow = math.log2(1.5) - part * math.log2(81 / 80)
    nearest = min((12, 19, 31, 43, 50, 55), key=lambda n: abs(round(n * math.log2(1.5)) / n - narrow))
    return shown("closing_the_circle", "most at home in #", fraction=part, fifths=31), nearest


def misses(fifths: int) -> tuple[float, float]:
    """Cents by which so many quarter-comma fifths miss whole octaves, by the library and as fourths of log 5."""
    octaves = fifths / 4 * math.log2(5)
    return abs(miss_after(tempered_fifth("1/4"), fifths).miss.cents), abs(octaves - round(octaves)) * 1200


def third_beats(lower: float) -> float:
    """How often a second a piano's major third beats above a note of so many hertz."""
    return float(beat_rate(lower, lower * 2 ** (4 / 12), "5/4"))


def part(name: str) -> Fraction:
    """The part of the comma that a meantone is called by."""
    return MEANTONES[f"{name}-comma"].fraction


def year(name: str) -> int:
    """When that meantone was described."""
    return MEANTONES[f"{name}-comma"].year


def slider(exhibit: str, name: str) -> Slider:
    """A slider of an exhibit by its name."""
    return next(knob for knob in EXHIBITS[exhibit].knobs if isinstance(knob, Slider) and knob.name == name)


def triads() -> list[tuple[int, int]]:
    """The numbers of the five triads, narrowest third first: by their symbols, and by hand from third and fifth."""
    by_symbol = [
        n for kind in ("sub", "m", "neu", "", "sup") for n in whole_numbers(Chord.parse(f"C{kind}").ratios(equal(31)))
    ]
    by_hand: list[int] = []
    for third in map(Fraction, ("7/6", "6/5", "11/9", "5/4", "9/7")):
        scale = math.lcm(third.denominator, 2)
        by_hand += [scale, int(scale * third), scale * 3 // 2]
    return list(zip(by_symbol, by_hand, strict=True))


def rough_chords(hertz: FloatArray) -> FloatArray:
    """How rough chords of equally strong notes are, of eight partials each; a chord a row."""
    partials = (hertz[:, :, np.newaxis] * np.arange(1, 9)).reshape(len(hertz), -1)
    return np.asarray(roughness(partials, np.tile(0.88 ** np.arange(8), hertz.shape[1])))


def partials_alone() -> list[float]:
    """All partials that sound in step 13 where only those that beat are kept, in hertz."""
    show = EXHIBITS["beating_third"]
    values = show.settle({"only": True})
    timbre = show.timbre(**values)
    tones = (timbre_of(note, timbre).partials(note.hertz) for note in show.score(**values).notes)
    return [hertz for frequencies, *_ in tones for hertz in frequencies.tolist()]


def laid_out(**knobs: Any) -> list[float]:
    """The notes of the spread chord in hertz, the lowest first."""
    show = EXHIBITS["spread_chord"]
    return sorted(note.hertz for note in show.score(**show.settle(knobs)).notes)


def roughness_over_c3(voicing: str, octave: int = 0) -> float:
    """How rough a voicing of Cmaj7 over C3 is, so many octaves from there."""
    return float(rough_chords(np.array([laid_out(voicing=voicing)]) * 2.0**octave)[0])


@lru_cache(maxsize=4)
def triad_curve(root: float) -> tuple[FloatArray, FloatArray]:
    """Thirds from 240 to 449 cents, and how rough each is between a root of so many hertz and its fifth."""
    sizes = np.arange(240.0, 450.0)
    return sizes, rough_chords(root * 2 ** (np.stack([0 * sizes, sizes, 0 * sizes + 18 * 1200 / 31], axis=1) / 1200))


def deepest_valleys(root: float, count: int) -> list[float]:
    """The thirds in the deepest valleys of that curve, no two of them within 20 cents."""
    sizes, rough = triad_curve(root)
    valleys = sizes[1:-1][(rough[1:-1] < rough[:-2]) & (rough[1:-1] <= rough[2:])]
    found: list[float] = []
    for valley in sorted(valleys, key=lambda size: rough[sizes == size][0]):
        found += [valley] if all(abs(valley - other) > 20 for other in found) else []
    return sorted(found[:count])


def depth(root: float) -> float:
    """How far the lowest valley is below the highest hill, as a part of the hill."""
    heights = triad_curve(root)[1]
    return float(1 - heights.min() / heights.max())


def lies_on_a_hill(third: int, root: float) -> bool:
    """Whether a third of thirty-one is within 5 cents of the top between the two deepest valleys."""
    sizes, rough = triad_curve(root)
    low, high = deepest_valleys(root, 2)
    between = (sizes > low) & (sizes < high)
    return bool(abs(sizes[between][rough[between].argmax()] - third * 1200 / 31) < 5)


def seventh_beats(root: float, step: int, division: int) -> list[float]:
    """How often a second the seventh of 4:5:6:7 beats against each of the other notes, from the definition."""
    places = step, 0, round(division * math.log2(5 / 4)), round(division * math.log2(3 / 2))
    seventh, *others = (root * 2 ** (n / division) for n in places)
    return [abs(number * seventh - 7 * other) for number, other in zip((4, 5, 6), others, strict=True)]


def pair_errors(places: tuple[int, ...], ratios: str) -> float:
    """Root mean square, in cents, of what all pairs of a chord in thirty-one are off, from the definition."""
    sizes = [
        (1200 / 31 * place, 1200 * math.log2(Fraction(ratio)))
        for place, ratio in zip(places, ratios.split(), strict=True)
    ]
    off = [(high[0] - low[0]) - (high[1] - low[1]) for low, high in combinations(sizes, 2)]
    return math.sqrt(sum(miss**2 for miss in off) / len(off))


def sung(rounds: int) -> list[frozenset[float]]:
    """The chords that a round of C, A minor, D minor and G gives to hear, one after another."""
    show = EXHIBITS["going_round"]
    notes = show.score(**show.settle({"rounds": rounds})).notes
    return [frozenset(n.hertz for n in notes if n.onset == onset) for onset in sorted({n.onset for n in notes})]


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


def away(progression: str, division: int) -> int:
    """The steps of a division by which a progression misses home."""
    return int(PROGRESSIONS[progression].drift_steps(division))


def default(function: Callable[..., Any], parameter: str) -> Any:
    """What a function takes if nothing is given."""
    return inspect.signature(function).parameters[parameter].default


def full_scale(hertz: float) -> FloatArray:
    """Two seconds of a sine at full scale."""
    return np.sin(2 * np.pi * hertz * np.arange(96000) / 48000)


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


def minutes(name: str) -> int:
    """How long a lesson says that it takes."""
    match = re.search(r"It takes about (\d+) minutes", lessons()[name].words)
    assert match
    return int(match[1])


A3, A4 = Note.parse("A3").hz(), Note.parse("A4").hz()
SEMITONE = 2 ** (1 / 12)
SHIMMER = abs(4 * SEMITONE**4 - 5) * 440 / SEMITONE**9  # beats of the third on middle C, in twelve
QUARTER = meantone_chain("1/4")
COMMA = size("81/80")
PURE_THIRDS = (np.isclose(QUARTER.spans(4), cents("5/4")).sum(), 12 - 4)  # all but the four over the gap
NARROW = (cents("3/2") - QUARTER.fifths[0].cents, 1200 * math.log2(1.5 / 5**0.25))
WOLF = (QUARTER.closing_fifth.cents, 1200 * math.log2(2**7 / 5**2.75), 737.637)  # 737.64: common in handbooks
CLOSES = closings(tempered_fifth("1/4"), 100)[-1].fifths
WIDER = 1200 * 18 / 31 - QUARTER.fifths[0].cents  # cents by which a fifth of thirty-one is wider than quarter-comma's
TWELFTH = 2 * named_interval("fifth").ratio
OVER_OCTAVES = (4 * cents("3/2") - cents("5/4")) / 1200
THIRD = next(n for n in range(1, 12) if Note.on_chain(n).name == "E")  # fifths from C
TIMES = harmonic_series(1, 8).tolist()
MINUTES = [lesson.minutes for lesson in course.LESSONS]
THIRDS = thirds(31)
GROWN = [  # the harmonics of the chord that grows
    int(number)
    for number in EXHIBITS["growing_chord"]
    .sentence(**EXHIBITS["growing_chord"].settle({"notes": 7}))
    .split("harmonics ")[1]
    .split()[0]
    .split(":")
]
SEVENTH_PAIRS = Chord.parse("Charm7").errors(equal(31))
FIVE = len(THIRDS), len({round(31 * math.log2(r)) for r in (7 / 6, 6 / 5, 11 / 9, 5 / 4, 9 / 7)})
CHAIN = smallest_chain()[0]
VOICES = np.array(smallest_chain()[1].voices)  # steps of thirty-one: chords x voices
ON_KEYS = np.round(VOICES * 12 / 31)
MOVED = np.abs(smallest_chain()[1].motion).max(), np.abs(np.diff(VOICES, axis=0)).max()
C3 = Note.parse("C3").hz(equal(31))
TONIC = np.diff(PROGRESSIONS["12 fifths"].tonic(1))
MATERIAL = [path.suffix for path in (ROOT / "lessons" / "material").iterdir()]
OCTAVE_OF_THIRDS = round(1200 / cents("5/4")), round(1200 / cents("6/5"))  # how many come near an octave
STRAY = [n for n in range(1, 17) if abs(harmonic_deviations(equal(12), 16).error[n - 1]) > 25]
TWELVE, THIRTY_ONE = len(equal(12)), len(equal(31))
TONES = [Fraction(9, 8), Fraction(10, 9)]
SQUARE = timbre("square").partials(110)[1]
PURE_WELL = max(int(np.isclose(kind.chain.spans(4), cents("5/4")).sum()) for kind in WELL_TEMPERAMENTS.values())
PYTHON = float(re.findall(r'requires-python = ">=([\d.]+)"', (ROOT / "pyproject.toml").read_text(encoding="utf-8"))[0])


CLAIMS: dict[str, dict[str, list[Worked]]] = {
    "00_start_here": {
        "harmony in thirty-one notes to the octave": [(CLOSES, THIRTY_ONE)],
        "in two or three lines of Python": [less_than(MOST_LINES), MOST_LINES],
        "goes above about a quarter of what your equipment can play": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        "lesson 02 comes back to it": [lesson_of(step_about("multiples"))],
    },
    "01_waves": {
        "take forty-eight thousand moments in a second": [default(render, "sample_rate")],
        "a wave that rises and falls 440 times a second": [(A4, 440)],  # ISO 16:1975
        "After a third of a second the second tone has gained exactly one vibration": [
            1 / beat_rate(440, 443),
            443 / 3 - 440 / 3,
        ],
        "So they meet three times a second": [(beat_rate(440, 443), 443 - 440)],
        "The notes 330 Hz and 220 Hz share the factor 110": [3 * 110, 2 * 110, math.gcd(330, 220)],
        "three times 110, and twice 110": [330 / 110, 110, 220 / 110, 110],
        "a ratio of 3:2": [parse_ratio("330:220").numerator, parse_ratio("330:220").denominator],
        "In the octave, 2:1, the upper note vibrates twice while": [*terms("octave"), terms("octave")[0]],
        "so every second peak of the upper wave meets": [terms("octave")[0]],
        "In the twelfth, 3:1, it is every third": [TWELFTH, 1, TWELFTH],
        "the fifteenth, 4:1": [named_interval("octave").ratio ** 2, 1],
        "In the fifth, 3:2, the pattern takes two vibrations": [*terms("fifth"), terms("fifth")[1]],
        "in the minor third, 6:5, it takes five": [*terms("minor third"), terms("minor third")[1]],
        "step 2 prepared and lesson 04 takes up": [step_about("drift"), lesson_of(step_about("sounds"))],
        "Twice the hertz is an octave up": [ratio_from_cents(1200)],
        "in the octave every second, in the twelfth every third peak": [2, TWELFTH],
        "(A4 = 440 Hz)": [(A4, 440)],  # ISO 16:1975
        # 331.3 m/s at 0 °C, growing with the root of the absolute temperature: handbooks of physics (from memory)
        "343 metres a second": [(SPEED_OF_SOUND, 331.3 * math.sqrt(1 + 20 / 273.15))],
        "in dry air at 20 °C": [near(((SPEED_OF_SOUND / 331.3) ** 2 - 1) * 273.15)],
    },
    "02_overtones": {
        "It also vibrates in two halves, in three thirds, in four quarters": TIMES[1:4],
        "The halves are twice as fast, the thirds three times": TIMES[1:3],
        "at two, three, four times its frequency": TIMES[1:4],
        "each of the first sixteen harmonics is a key": [default(harmonic_keys, "count")],
        "then two kinds of third": [sum("third" in str(name_of(Fraction(n + 1, n))) for n in range(1, 6))],
        "the third a third as strong as the first, the fifth a fifth as strong": [
            SQUARE[1] / SQUARE[0],
            SQUARE[2] / SQUARE[0],
        ],
        "put that formant at 1090 Hz": [(vowel("hod").formants_hz[1], 1090)],  # Peterson and Barney 1952, table II
        "the strongest harmonic is 60 of them above the foot": [-DEEPEST],
        "20 lower is a tenth of the strength": [-20 * math.log10(0.1), 10 ** (-20 / 20)],  # IEC 60027-3: field levels
        "own notes, twelve to the octave": [TWELVE],
        "above them is how far that is, in hundredths of the way to the next key, where it is more than ten": [NEAR],
        "twelve keys to the octave, and here the way from each to the next is cut into a hundred parts": [
            TWELVE,
            size(SEMITONE),
        ],
        "the seventh harmonic is about 2.8 of them above": [7, (cents(7) / 1200, math.log2(7))],
        "Harmonics 7, 11, 13 and 14 are not": STRAY,
        "touch a string lightly at a half, a third, a quarter of its length": [1 / n for n in TIMES[1:4]],
    },
    "03_measuring_pitch": {
        "An octave from 110 Hz is 110 Hz wide": [110, 110 * ratio_from_cents(1200) - 110],
        "An octave from 440 Hz is 440 Hz wide": [440, 440 * ratio_from_cents(1200) - 440],
        "Cut the octave into 1200 equal steps": [size("2")],
        "Each is one cent, a hundredth of a semitone": [1, 1 / cents(SEMITONE)],
        "move the interval from 386 slowly to 400": [(*size("5/4"), ELLIS[5]), size(SEMITONE**4)],
        "a pure major third, exactly 5/4": [named_interval("major third").ratio],
        "Fourteen cents; hear what they do": [from_twelve(5)],
        "the often-quoted 5 cents": [RULE_OF_THUMB],  # common practice
        "(Remember step 2.)": [step_about("drift")],
        "it finds the pitch a hundred times a second": [1 / default(track_pitch, "hop")],
        "the A below middle C, 220 Hz": [(A3, 440 / 2)],
        "a hundredth of a semitone; 1200 make an octave": [1 / cents(SEMITONE), size("2")],
        "Five cents is a rule of thumb": [RULE_OF_THUMB],
        "Flip between overtones, 12 and 31 in the middle of a note: three players": [
            TWELVE,
            THIRTY_ONE,
            len(EXHIBITS["intonation"].comparisons),
        ],
        "the test of step 9": [step_about("hear")],
        "the pitch tracking of step 10": [step_about("measure")],
    },
    "04_twelve": {
        "how twelve equal steps are made": [TWELVE],
        "Twelve equal steps ¶ A piano has twelve keys": [TWELVE, TWELVE],
        "multiplied by itself twelve times over, has to come to exactly 2": [
            math.log(2) / math.log(SEMITONE),
            ratio_from_cents(100) ** 12,
        ],
        "the same number, about 1.0595": [(ratio_from_cents(100), SEMITONE)],
        "the twelfth root of 2": [TWELVE, SEMITONE**12],
        "twelve equal rungs to the octave": [TWELVE],
        "the bars are the twelve keys": [TWELVE],
        "The third harmonic is two cents off": [3, from_twelve(3)],
        "The fifth is fourteen below its key": [from_twelve(5)],
        "Fourteen cents is not much": [from_twelve(5)],
        "the reason is in step 2: two harmonics that should have met": [step_about("drift"), 2],
        "(A pure third has 386.3 cents, a fourth 498, a fifth 702.)": [size(ratio) for ratio in ("5/4", "4/3", "3/2")],
        "In a pure major third, 5/4, the fifth harmonic of the lower": [
            Fraction(*terms("major third")),
            terms("major third")[0],
        ],
        "the A of 220 Hz": [A3],
        "At 400 cents, the piano's third": [size(SEMITONE**4)],
        "shimmers nearly nine times a second": [(third_beats(A3), 4 * 277.1826 - 5 * 220)],
        "stop at 386.3: a pure third": [size("5/4")],
        "switch Only the two that beat on: harmonic 5 of the lower note and harmonic 4 of the upper": [
            len(partials_alone()),
            *terms("major third"),
        ],
        "flip between 12 and 31: in thirty-one, one beat takes two seconds": [
            TWELVE,
            THIRTY_ONE,
            1 / beat_rate(A3, A3 * 2 ** (10 / 31), "5/4"),
        ],
        "the same third beats half as fast": [third_beats(110) / third_beats(220)],
        "Twelve equal steps are twelve equal ratios": [TWELVE, TWELVE],
        "1.0595 times the one before": [(ratio_from_cents(100), SEMITONE)],
        "the fifth within 2 cents": [more_than(from_twelve(3)[0])],
        "it misses the major third by 14, harmonic 7 by 31 and harmonic 11 by 49": [
            from_twelve(5),
            7,
            from_twelve(7),
            11,
            from_twelve(11),
        ],
        "Measure it if you like (step 10)": [step_about("measure")],
        "the roughness of step 13": [step_about("sounds")],
    },
    "05_other_divisions": {
        "If twelve steps miss": [TWELVE],
        "made of odd numbers up to 7, such as 3/2, 5/4 and 7/6": [
            odd_limit("7/6"),
            *(Fraction(ratio) for ratio in ("3/2", "5/4", "7/6") if odd_limit(ratio) <= 7),
        ],
        "(Factors of 2 do not count: they only move a note by octaves.)": [named_interval("octave").ratio],
        "the block in it is 5 cents": [shown("finer_steps", "# cents each", division=240)],
        "a guitar string of 650 mm": [SCALE_LENGTH],
        "Move to 240. Steps of 5 cents, at last": [1200 / RULE_OF_THUMB, 1200 / 240],
        "frets less than two millimetres apart": [more_than(float(fret_gaps(240).max()))],
        "an octave is more than three metres wide": [less_than(240 * PIANO_OCTAVE / 12 / 1000)],
        "on the twelve keys of step 12": [TWELVE, step_about("misses")],
        "the first of thirty-one frets": [len(fret_places(31))],
        "5 is thirds, fourths, fifths and sixths": [max(map(odd_limit, ("6/5", "5/4", "4/3", "3/2", "5/3", "8/5")))],
        "7 brings in the seventh harmonic": [odd_limit("7/4"), 7],
        "11 the eleventh": [odd_limit("11/8")],
        "the chord 4:5:6:7": [
            4 * note.hertz / 261.6256 for note in EXHIBITS["all_divisions"].score(limit="7", division=31).notes[4:]
        ],
        "How long does 31 stay the winner?": [bargain(0.4, 7)],
        "its seventh harmonic within about a cent. But its fifth is 5.2 cents narrow": [7, -from_thirty_one("3/2")[0]],
        "and there 12 beats it": [12 if from_twelve(3)[0] < abs(from_thirty_one("3/2")[0]) else 0],
        "its eleventh harmonic is 9.4 cents flat, its thirteenth 11.1 sharp": [
            11,
            -from_thirty_one("11/8")[1],
            from_thirty_one("13/8"),
        ],
        "Choose 9 under Odd numbers up to, and set A note must earn to 2 cents: 12 wins": [9, 2, bargain(2, 9)],
        "lower the price until 31 wins": [bargain(0.6, 9)],
        "Steps of 5 cents would need 240 notes": [RULE_OF_THUMB, 1200 / RULE_OF_THUMB],
        "far better than their neighbours: 12, 19, 31, 53": [stands_out(n) for n in (12, 19, 31, 53)],
        "With odd numbers up to 7, nothing below 31 comes closer": [7, best_for_sevens(27)],
        "than its 5.96 cents": [(largest_error(31, odd_limit_intervals(7)), worst(31, 7))],
        "nothing beats it until 68": [best_for_sevens(31)],
        "a fifth that is 5.2 cents narrow": [-from_thirty_one("3/2")[0]],
        "exactly two notes between it and the fourth above": [steps("F") - steps("E") - 1],
        "length × (1 − 2^(−n / steps))": [
            fret_places(31, 1)[6] + 2 ** (-7 / 31),
            (1 - fret_places(31, 1)[6]) ** (-31 / 7),
        ],
        "about 165 mm, and a string of 650 mm": [PIANO_OCTAVE, SCALE_LENGTH],
    },
    "06_meantone": {
        "the wolf that this leaves on twelve keys": [len(QUARTER)],
        "Four fifths and a third": [THIRD],
        "with its fifth at 3/2 and its third at 5/4": [named_interval(name).ratio for name in ("fifth", "major third")],
        "from C, four fifths up is E, and so is two octaves and a third": [THIRD, OVER_OCTAVES],
        "shoots past two octaves and a pure third": [OVER_OCTAVES],
        "flip between four fifths and pure third": [THIRD],
        "21.5 cents, and the third goes still": [COMMA],
        "the whole tone is half of one": [QUARTER.spans(2)[0] / cents("5/4")],
        "midway between the two sizes, 9/8 and 10/9": [len(TONES), *TONES],
        "moves all twelve notes": [len(QUARTER)],
        "drawn twenty times larger than it is": [shown("tempering", "# times larger")],
        "the thirds come in four times as fast": [
            (QUARTER.spans(4)[0] - cents("81/64")) / (QUARTER.spans(1)[0] - cents("3/2"))
        ],
        "where the twelve have one: eight of them": [PURE_THIRDS],
        "at 0.25, a quarter of the comma, all eight turn green": [Fraction(1, 4), Fraction(1, 4), PURE_THIRDS],
        "The fifth at 0.25 is narrow by 5.4 cents": [Fraction(1, 4), NARROW],
        # With fifths narrow by f commas, minor thirds are 3f - 1 too wide, major ones 1 - 4f, fifths -f.
        "1/3 | Salinas, 1577 | minor thirds pure": [(part("third"), Fraction(1, 3)), year("third")],
        "2/7 | Zarlino, 1558 | major and minor thirds equally far off": [
            (part("two-sevenths"), Fraction(1 + 1, 4 + 3)),
            year("two-sevenths"),
        ],
        "1/4 | Aaron, 1523": [(part("quarter"), Fraction(1, 4)), year("quarter")],
        "1/5 | Verheijen": [(part("fifth"), Fraction(1, 4 + 1))],
        "Rossi, 1666 | fifths and major thirds equally far off": [year("fifth")],
        # Sorge, Gespräch, Lobenstein 1748; that it is a sixth of this comma is Barbour 1951 (from memory)
        "1/6 | near what Sorge heard in Silbermann's organs, 1748": [part("sixth"), year("sixth")],
        "exactly a quarter of a comma for each": [NARROW[1] / COMMA[1]],
        "Twelve keys, eleven good fifths": [len(QUARTER), np.isclose(QUARTER.spans(1), 300 * math.log2(5)).sum()],
        "one fifth that is 36 cents too wide": [(WOLF[0] - cents("3/2"), 1200 * math.log2(2**8 / 5**2.75 / 3))],
        "more than a third of a piano's semitone": [a_little_less_than((WOLF[1] - cents("3/2")) / 100)],
        "the seven notes of your key": [len(Key(Note.named("C")).scale)],
        "the six chords of a short progression": [onsets("the_gap")],
        "on twelve keys by letting fifths differ": [len(WELL_TEMPERAMENTS["Vallotti"].chain)],
        "These are the twelve keys": [len(QUARTER)],
        "Eight are pure; on which four keys": [PURE_THIRDS, len(QUARTER) - PURE_THIRDS[0]],
        "None has eight pure thirds": [more_than(PURE_WELL)],
        "at 12 they are 41 cents apart, at 19 35 cents, at 31 only 6": [12, misses(12), 19, misses(19), 31, misses(31)],
        "Spread over the thirty-one fifths that is 0.2 cents each": [CLOSES, (WIDER, misses(31)[1] / 31)],
        "near 0.09 in the twelve of a piano": [home_fraction(12, 7)],
        "at 1/6 (0.167) near 55": [part("sixth"), 1 / 6, home(1 / 6)],
        "at 1/5 (0.2) near 43": [part("fifth"), 1 / 5, home(1 / 5)],
        "at 1/4 near 31": [part("quarter"), home(1 / 4)],
        "near 2/7 (0.286) in 50": [part("two-sevenths"), 2 / 7, home(2 / 7)],
        "a little above 1/3 in 19": [a_little_less_than(home_fraction(19, 11)), home(0.335)],
        "they add a hundred-and-tenth of a comma": [near(WIDER / COMMA[1], 0.01)],  # Huygens 1691
        "that 7/4 and 7/5 are close to an augmented sixth and an augmented fourth": [
            Fraction(STANDS_FOR[steps(name)]) for name in ("A#", "F#")
        ],
        "Four pure fifths overshoot two octaves and a pure third": [THIRD, OVER_OCTAVES],
        "by the syntonic comma, 81/80, 21.5 cents": [named_interval("syntonic comma").ratio, COMMA],
        "with a quarter, major thirds are pure and fifths 5.4 cents narrow": [Fraction(1, 4), NARROW],
        "On twelve keys that leaves a wolf of 737.6 cents": [len(QUARTER), WOLF],
        "After thirty-one such fifths the circle all but closes, 6 cents short": [CLOSES, misses(31)],
        "Make them a fifth of a cent wider, and you have thirty-one equal steps": [near(WIDER), THIRTY_ONE],
        "and measure (step 10)": [step_about("measure")],
    },
    "07_thirty_one_notes": {
        "07 Thirty-one notes": [7, THIRTY_ONE],
        "read all thirty-one notes": [THIRTY_ONE],
        "Thirty-one steps to the octave, 38.7 cents each": [
            THIRTY_ONE,
            (cents(equal(31).hz(1) / equal(31).hz(0)), 1200 / 31),
        ],
        "A whole tone is five of them; the semitone between two letters, such as E to F, is three": [
            steps("D"),
            len("EF"),
            steps("F") - steps("E"),
        ],
        "So between C and D there are four notes": [steps("D") - 1],
        "C♯ and D♭ are two notes, one step apart, and a sharp is two steps": [
            len({steps("C#"), steps("Db")}),
            steps("Db") - steps("C#"),
            steps("C#"),
        ],
        "Seven letters": [len(LETTERS)],
        "two more signs: the half-sharp, a sharp with one upright, and the half-flat": [
            len({Note.named(name).name for name in ("Ch#", "Chb")})
        ],
        "Two more come from these: a sharp and a half": [
            len({Note.named(name).name for name in ("C#h#", "Cbhb")}),
            (steps("C#h#") - steps("C#")) / steps("C#"),
        ],
        "and a flat and a half ( , )": [(steps("Cb") - steps("Cbhb")) / steps("C#")],
        "All thirty-one notes of an octave": [THIRTY_ONE],
        "the third is A♯, and not B a flat and a half, though the two sound the same": [
            (steps("Bb") - steps("Bbhb")) / steps("C#"),
            2 * (steps("A#") == steps("Bbhb")),
        ],
        "(A half-sharp is one step up, a half-flat one step down.)": [
            steps("Ch#") - steps("C"),
            steps("D") - steps("Dhb"),
        ],
        "brought down two octaves": [math.log2(7 / Fraction(7, 4))],
        "(It is the seventh harmonic": [odd_limit("7/4")],
        "between the minor and the major: two letters, nine steps": [
            Note.named("C").interval_to(Note.named("Ehb")).letters,
            steps("Ehb"),
        ],
        "E is step 10": [(steps("E"), round(31 * math.log2(5 / 4)))],
        "Sixteen notes, from easy to hard": [default(reading_drill, "notes")],
        "In twelve there are two thirds": [len(thirds(12))],
        "In thirty-one there are five": [len(THIRDS)],
        "one step from each to the next": [max(np.diff(THIRDS))],
        "come in the same five": [len(THIRDS)],
        "The seconds of 5 steps": [(steps("D"), *(mapped_steps(tone, 31) for tone in TONES))],
        "the sevenths of 26 each stand for two ratios": [
            (steps("Bb"), *(mapped_steps(2 / tone, 31) for tone in TONES)),
            len(TONES),
        ],
        "through the thirds from 7 to 11": [THIRDS[0], THIRDS[-1]],
        "the harmonic seventh, 7/4, of 25 steps, with the minor seventh, 26": [
            (named_interval("subminor seventh").ratio, Fraction(7, 4)),
            (STANDS_FOR.index("7/4"), round(31 * math.log2(7 / 4))),
            steps("Bb"),
        ],
        "The five thirds against the ratios 7/6, 6/5, 11/9, 5/4 and 9/7": [
            len(THIRDS),
            *(Fraction(STANDS_FOR[n]) for n in THIRDS),
        ],
        "C and its five thirds are marked": [FIVE],
        "play the four notes between. Then": [steps("D") - 1],
        "on such rows in lesson 08": [lesson_of(step_about("thirds"))],
        "Thirty-one frets to the octave, beside the twelve of an ordinary guitar": [len(fret_places(31))],
        "The seventh harmonic is a subminor seventh": [named_interval("subminor seventh").ratio * 4],
        "Seven positions become sixteen": [POSITIONS, len(division_positions(31))],
        "and measure (step 10)": [step_about("measure")],
        "on a string of 650 mm": [SCALE_LENGTH],
        "with all thirty-one notes as you read them": [THIRTY_ONE],
        "A whole tone is five steps, the semitone between two letters three, a sharp or flat two": [
            steps("D"),
            len("EF"),
            steps("F") - steps("E"),
            steps("C#"),
        ],
        "Five families": [len(THIRDS)],
        "their thirds have 7, 8, 9, 10 and 11 steps": THIRDS,
        "Find the four notes between": [steps("D") - 1],
        "one step is a little more than a third of a semitone": [1, a_little_less_than(12 / 31)],
        "the five thirds over it, from 7 steps to 11": [len(THIRDS), THIRDS[0], THIRDS[-1]],
    },
    "08_chords": {
        "so 4:5:6:7 on C is": list(whole_numbers(Chord.parse("Charm7").ratios(equal(31)))),
        "the neutral seventh of 27 steps": [Chord.parse("Cmid7").steps(equal(31))[3]],
        "the supermajor one of 29": [Chord.parse("Cwide7").steps(equal(31))[3]],
        "build triads on five thirds": [FIVE],
        "Five thirds, five triads": [FIVE, len(triads()) / 3],
        "A piano offers two places for that note, minor and major. Thirty-one offer five.": [
            len(thirds(12)),
            FIVE,
        ],
        "each of the five marked thirds": [FIVE],
        "how rough the three notes are": [len(Chord.parse("C").steps(equal(31)))],
        "the blue dots are the five of thirty-one": [FIVE],
        "Minor and major sit near the two deepest valleys": [
            sum(abs(low - n * 1200 / 31) < 5 for low, n in zip(deepest_valleys(261.63, 2), (8, 10), strict=True)),
        ],
        "take Root down an octave or two": [
            math.log2(slider("five_thirds", "root").default / slider("five_thirds", "root").low)
        ],
        "the major triad of thirty-one from 4:5:6": [*whole_numbers(Chord.parse("C").ratios(equal(31)))],
        "Sevenths, and the seventh harmonic": [prime_limit(STANDS_FOR[25])],
        "In lesson 04 the seventh harmonic fell between the keys": [lesson_of(step_about("misses")), STRAY[0]],
        "In thirty-one it has a key: 25 steps": [(mapped_steps("7/4", 31), round(31 * math.log2(7 / 4)))],
        "Six pairs of notes": [(len(SEVENTH_PAIRS), math.comb(4, 2))],
        "each against its pure ratio in the chord 4:5:6:7": [*whole_numbers(Chord.parse("Charm7").ratios(equal(31)))],
        "and pure 4:5:6:7": [*whole_numbers(Chord.parse("Charm7").ratios(equal(31)))],
        "4:5, 4:5:6, 4:5:6:7, and on to 9, 11 and 13": [*GROWN[:2], *GROWN[:3], *GROWN],
        "Marked is 4:5:6:7:9:11": GROWN[:6],
        "The ninth is ten cents flat, since it is two fifths up": [
            tuple(-off for off in from_thirty_one("9/4")),
            math.log(9 / 4, 3 / 2),
        ],
        "the eleventh nine, the thirteenth eleven the other way": [
            tuple(-off for off in from_thirty_one("11/8")),
            from_thirty_one("13/8"),
        ],
        "the half-sharp eleventh, 14 steps and an octave": [
            (Chord.parse("C7h#11").steps(equal(31))[-1] - 31, round(31 * math.log2(11 / 8)))
        ],
        "Five thirds make five triads: 6:7:9, 10:12:15, 18:22:27, 4:5:6, 14:18:21": [
            FIVE,
            len(triads()) / 3,
            *triads(),
        ],
        "The harmonic seventh, 25 steps, makes 4:5:6:7: its worst pair is 6 cents off": [
            mapped_steps("7/4", 31),
            *whole_numbers(Chord.parse("Charm7").ratios(equal(31))),
            (
                max(map(abs, SEVENTH_PAIRS.values())),
                max(abs(from_thirty_one(f"{high}/{low}")[1]) for low, high in combinations((4, 5, 6, 7), 2)),
            ),
        ],
        "The minor seventh, 26 steps": [(steps("Bb"), Chord.parse("C7").steps(equal(31))[-1])],
        "Harmonic 11 is the half-sharp eleventh": [prime_limit(STANDS_FOR[steps("Fh#")])],
        "play the five thirds": [FIVE],
        "(Step 10.)": [step_about("measure")],
        "the roughness of steps 25 and 28": [step_about("thirds"), step_about("voicing")],
    },
    "09_harmony_in_motion": {
        "lesson 08 has the words": [lesson_of(step_about("thirds"))],
        "an octave less three major thirds, 128/125 where they are pure, and one step in thirty-one": [
            OCTAVE_OF_THIRDS[0],
            Fraction(2) / Fraction(5, 4) ** 3,
            31 - 3 * steps("E"),
        ],
        "holds for two beats": [int(parse_lead_sheet("| C |\nmelody: | D4:2 -:2 |").melody[0].duration)],
        "lead voices by one or two steps": [MOVED],
        "a semitone, 100 cents": [size(SEMITONE)],
        "no voice ever moves more than two steps, 77 cents": [
            MOVED,
            (cents(equal(31).hz(2) / equal(31).hz(0)), 2 * 1200 / 31),
        ],
        "flip to 12: the nearest that a piano can come": [TWELVE],
        "Move E down by one step": [steps("E") - steps("Ehb")],
        # Three major thirds have 3 × 10 steps and four minor ones 4 × 8, beside the 31 of the octave.
        "it ends one step flat": [(-away("three major thirds", 31), 31 - 3 * steps("E"))],
        "With four minor thirds it ends one step sharp": [
            OCTAVE_OF_THIRDS[1],
            (away("four minor thirds", 31), 4 * steps("Eb") - 31),
        ],
        "after twelve of them": [TWELVE],
        "Six chords, a line each": [(slider("retuned_chords", "chord").high, shown("retuned_chords", "of # is"))],
        "the pairs of a dominant seventh are 7.8 cents off overall": [
            (
                shown("retuned_chords", "as written #;"),
                pair_errors(Chord.parse("C7").steps(equal(31)), "1 5/4 3/2 9/5"),
            )
        ],
        "in 31 and in 12": [THIRTY_ONE, TWELVE],
        "flips between 31 and 12 as it goes": [THIRTY_ONE, TWELVE],
        "flip between as written, in 12, and as chosen, in 31": [TWELVE, THIRTY_ONE],
        "The root of the mean square of all six": [(len(SEVENTH_PAIRS), math.comb(4, 2))],
        "A sharp or a flat is two steps, from letter to letter is three or five": [
            steps("C#"),
            steps("F") - steps("E"),
            steps("D"),
        ],
        "by 21.5 cents a round": [(-PROGRESSIONS["I vi ii V"].drift(), *COMMA)],
        "three major thirds or four minor thirds end one step from home": [
            *OCTAVE_OF_THIRDS,
            (abs(away("three major thirds", 31)), abs(away("four minor thirds", 31))),
        ],
    },
    "practice": {
        "About four of five answers should be right": [lambda said: said / 5 == AIM, 5],
        "Ten cents is excellent, twenty is usual": [EXCELLENT_CENTS, USUAL_CENTS],
        "The way from a major third of twelve to that of thirty-one is 12.9 cents": [
            (400 - 12000 / 31, equal(12).cents_of(4) - equal(31).cents_of(Note.parse("E4").step(equal(31)))),
        ],
    },
    "for_presenters": {
        "is it nearer to once a second, or to ten times?": [
            lambda said: abs(SHIMMER - said) < abs(SHIMMER - 1),
        ],
        "The fifth harmonic of the lower note and the fourth of the upper": [5],
        "there are 30 frames a second": [inspect.signature(ClipPlan).parameters["fps"].default],
        "unless you ask for , 25, 50 or 60": [rate for rate in RATES if rate not in (24, 30)],
        "a sine of 997 Hz at full scale must read −3.01": [997, -loudness(full_scale(997))],
        "Every clip is set to −23 unless": [-inspect.signature(ClipPlan).parameters["loudness"].default],
        "stays below −1 decibels of full scale": [-HIGHEST_PEAK],
        "leave the clip at −23": [-USUAL_LOUDNESS],
        "flashes more than three times a second": [MOST_FLASHES],
    },
    "for_teachers": {
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
            1,
            4,
            24,
            math.ceil(300 / (30 / 0.5)),
            8,
            written(r"five with 8 cores and (\d+) GiB"),
        ],
        "60 megabits a second | 600 megabits a second": [
            math.ceil(30 * TRAFFIC / 10) * 10,
            math.ceil(300 * TRAFFIC / 100) * 100,
        ],
        "on a machine of 2 cores": [2],
        "Half of the moves brought their picture in less than 14 milliseconds with 10 learners": [
            1 / 2,
            measured_room(10),
            10,
        ],
        "less than 30 with 40": [measured_room(40), 40],
        "with 80": [lambda said: measured_room(said) > 150],
        "would do for thirty": [lambda said: measured_room(40) < 150 and said < 40],
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
        "[07 Thirty-one notes]": [7, THIRTY_ONE],
        "Four tuners pass a chain of fifths up from C": [THIRD],
        "each player's page of the thirty-one notes": [THIRTY_ONE],
        "playing: five thirds": [FIVE],
        "the five thirds, one player at a time": [FIVE],
        "Go from 12 to 13, and look at the fifth": [
            12,
            13 if abs(errors(13, ["3/2"])[0]) > worst(12, 3) else 0,  # which lies farther from it
        ],
        "With odd numbers up to 9 and 2 cents asked of every note, 12 wins": [9, 2, bargain(2, 9)],
        "a quarter tone is half of a piano's semitone, 50 cents": [1 / 4, 1 / 2, cents(SEMITONE) / 2],
        "A half-sharp is a quarter tone": [1 / 4],
        "a step of thirty-one has 38.7": [1200 / 31],
        "In step 13, Only the two that beat": [step_about("sounds"), len(partials_alone())],
        "It stands for 11/9": [Fraction(STANDS_FOR[THIRDS[2]])],
        "none is made louder than about a quarter of full scale": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        **{f"### {lesson.heading}": [lesson.number] for lesson in course.LESSONS},
        "### 04 Twelve": [4, TWELVE],
        "### 07 Thirty-one notes": [7, THIRTY_ONE],
    },
    "glossary": {
        "means steps of 38.7 cents": [1200 / 31],
        "a hundredth of a semitone of twelve. An octave has 1200 of them": [1 / cents(SEMITONE), size("2")],
        "such as C to C♯: 2 steps of thirty-one": [steps("C#")],
        "such as E to F, has 3": [steps("F") - steps("E")],
        "how far four pure fifths overshoot two octaves and a pure third": [THIRD, OVER_OCTAVES],
        "It is 81/80, or 21.5 cents": [named_interval("syntonic comma").ratio, COMMA],
        "20 decibels less is a tenth of the strength": [-20 * math.log10(0.1), 10 ** (-20 / 20)],
        "How far three major thirds fall short of an octave: 128/125 where they are pure, one step in thirty-one": [
            OCTAVE_OF_THIRDS[0],
            Fraction(2) / Fraction(5, 4) ** 3,
            31 - 3 * steps("E"),
        ],
        "12, 19 or 31 of them": [stands_out(n) for n in (12, 19, 31)],
        "1.0595 times the one before": [(ratio_from_cents(100), SEMITONE)],
        "its harmonic number 1": [TIMES[0]],
        "half of what a sharp or a flat does": [steps("Ch#") / steps("C#")],
        "The interval 7/4, which is the seventh harmonic brought down": [
            Fraction(STANDS_FOR[25]),
            odd_limit(STANDS_FOR[25]),
        ],
        "it has 25 steps, and the minor seventh 26": [
            (mapped_steps("7/4", 31), round(31 * math.log2(7 / 4))),
            steps("Bb"),
        ],
        "Twice the hertz is an octave up": [ratio_from_cents(1200)],
        "With a quarter of it the major thirds are pure": [NARROW[1] / COMMA[1]],
        "The neutral third has 9 steps": [THIRDS[2]],
        "Up to 7, these are all whose ratios are made of 1, 3, 5 and 7": [7, *range(1, 8, 2)],
        "factors of 2 do not count": [named_interval("octave").ratio],
        "at 440 Hz, 2.27 milliseconds": [A4, 1000 / 440],
        "in a simple ratio, such as 5/4": [named_interval("major third").ratio],
        "That of the octave is 2:1, of the fifth 3:2": [*terms("octave"), *terms("fifth")],
        "The subminor third has 7 steps, the supermajor third 11": [THIRDS[0], THIRDS[-1]],
        "An octave and a fifth together: the ratio 3:1": [TWELFTH, 1],
        "A temperament of twelve notes": [len(WELL_TEMPERAMENTS["Vallotti"].chain)],
        "a chain of twelve notes": [len(QUARTER)],
        "it has 737.6 cents": [WOLF],
    },
    README: {
        "three evenings, what to print": [sum("evening" in title for title in plans())],
        "over the twelve equal steps": [TWELVE],
        "Thirty-one notes in a ring with the twelve of a piano inside": [THIRTY_ONE],
        "harmony in thirty-one notes": [(CLOSES, THIRTY_ONE)],
        "why twelve equal steps miss some": [TWELVE],
        "to thirty-one equal steps, and from there": [THIRTY_ONE],
        "Python 3.10 or newer": [PYTHON],
        "none is louder than about a quarter of full scale": [near(10 ** (USUAL_PEAK_DBFS / 20))],
        "A lesson takes 15 to 30 minutes": [min(MINUTES), max(MINUTES)],
        "twelve equal steps, what they miss": [TWELVE],
        "thirty-one fifths close the circle": [CLOSES],
        "the thirty-one notes as that instrument reads them": [THIRTY_ONE],
        "asks for five to ten minutes a day": [SHORTEST_SESSION, LONGEST_SESSION],
        "five thirds, the harmonic seventh": [FIVE],
        "goes from 0, as written where possible, to 1, adventurous": taste_from_to("adventure"),
        "from -1, darker, to 1, brighter": [abs(number) for number in taste_from_to("colour")],
        "There are three tunes to try in": [MATERIAL.count(".txt")],
        "another division of the octave, from 12 to 72 steps": [FEWEST_STEPS, MOST_STEPS],
        "a note that its letter does not reach is written like E−1, one step below the E": [
            Note.parse("E4").step(equal(41)) - mapped_steps("5/4", 41),
            Note.parse("E4").step(equal(41)) - mapped_steps("5/4", 41),
        ],
    },
}

SHOWN: dict[str, dict[str, bool]] = {
    "08_chords": {
        "The neutral third sits on a hill between them": lies_on_a_hill(9, 261.63),
        "down an octave or two: everything gets rougher": bool(
            (triad_curve(65.4)[1] > triad_curve(130.8)[1]).all()
            and (triad_curve(130.8)[1] > triad_curve(261.63)[1]).all()
        ),
        "and the valleys fill up": depth(65.4) < depth(130.8) < depth(261.63),
        "one below the minor seventh": steps("Bb") - mapped_steps("7/4", 31) == 1,
        # Many is taken here as more than ten a second, slow as fewer than four.
        "The first two shimmer: their sevenths beat many times a second against everything else": (
            min(seventh_beats(C3, 10, 12) + seventh_beats(C3, 26, 31)) > 10
        ),
        "In the third only slow beats are left": (
            max(*seventh_beats(C3, 25, 31), shown("two_sevenths", "cents, # beats", chord="Charm7 in 31")) < 4
        ),
        "So do the overtones, in sizes of their own": all(
            240 < cents(b / Fraction(a)) < 450 for a, b in pairwise(GROWN)
        ),
        "Up to the seventh, thirty-one is close to pure": all(
            abs(from_thirty_one(ratio)[1]) < 6 for ratio in ("5/4", "3/2", "7/4")
        ),
        "Twelve has no eleventh worth the name": from_twelve(11)[1] > 45,
        "where a piano has to choose between F and F sharp": 500 < ELLIS[11] < 600,
        "move it down with Root: the roughness grows": roughness_over_c3("close", -1)
        > roughness_over_c3("close")
        > roughness_over_c3("close", 1),
        "dropped, spread or as a shell (root, third and seventh alone), the chord clears": all(
            roughness_over_c3(kind) < 0.9 * roughness_over_c3("close")
            for kind in ("drop 2", "drop 3", "spread", "shell")
        ),
        "Times turned puts another note at the bottom": len({laid_out(turned=turned)[0] for turned in range(4)}) == 4,
    },
    "09_harmony_in_motion": {
        "Here there is a smaller one": 1200 / 31 < 100,
        "the harmony goes through distant places and comes home": (
            CHAIN[0] == CHAIN[-1] and max(abs(chord.root.fifths) for chord in CHAIN) > 6
        ),
        "One of the changes has gone": (
            (np.diff(ON_KEYS, axis=0) == 0).all(axis=1).sum()
            == 1
            == shown("smallest_moves", "at # of", chain="in twelve")
        ),
        "plays the first chord, the last, and the first again": (
            len(sung(4)) == len(sung(3)) == 3 and sung(4)[0] == sung(4)[2] != sung(4)[1]
        ),
        "it sings every chord on the way": [len(sung(rounds)) for rounds in (1, 2)] == [4 + 2, 2 * 4 + 2],
        "Twelve and thirty-one come home: in both, the comma vanishes": (
            away("I vi ii V", 12) == away("I vi ii V", 31) == 4 * 7 % 12 - 4 == 4 * 18 % 31 - 10 == 0
        ),
        "take three major thirds: C, E, G♯, B♯": (
            [Note.on_chain(n * THIRD).name for n in range(4)] == ["C", "E", "G♯", "B♯"]
        ),
        "Twelve comes home again": away("three major thirds", 12) == 3 * 4 % 12 == 0,
        "that is where it jumps": bool(TONIC[-1] < 0 and np.ptp(TONIC[:-1]) < 0.01),
        "where nothing is changed": all(
            says("retuned_chords", " as written; its pairs", adventure=0.0, chord=chord) for chord in range(1, 7)
        ),
        "Twelve and thirty-one come home.": away("I vi ii V", 12) == away("I vi ii V", 31) == 0,
    },
    README: {"and one in MusicXML": MATERIAL.count(".musicxml") == 1},
}

SETTINGS: dict[str, list[tuple[str, str, str]]] = {
    "01_waves": [
        ("by an octave, from 220 to 440 Hz", "wave", "hertz"),
        ("set the difference to 1 Hz", "beats", "difference"),
        ("Then try 4, then 12, while it sounds", "beats", "difference"),
        ("at 0 there is nothing left to count", "beats", "difference"),
        ("set Upper tone off by to 0.5 Hz", "shared_peaks", "off"),
        ("flip between in tune and 1 Hz off", "shared_peaks", "off"),
    ],
    "02_overtones": [
        ("set Harmonics kept to 1", "recipe", "kept"),
        ("With Focus at 0", "sung_overtones", "focus"),
        ("Now set Focus to 100", "sung_overtones", "focus"),
    ],
    "03_measuring_pitch": [
        ("move the interval from 386 slowly to 400", "cents_ruler", "interval"),
        ("Move Lower tone down to 110 Hz", "small_difference", "hertz"),
    ],
    "04_twelve": [
        ("Move Step from 1 to 12", "equal_steps", "step"),
        ("Choose 3, then 5, then 7, then 11", "overtones_and_steps", "harmonic"),
        ("flip between 12 and 31 at each", "overtones_and_steps", "division"),
        ("find a home in 31 steps", "overtones_and_steps", "division"),
        ("At 400 cents", "beating_third", "third"),
        ("stop at 386.3", "beating_third", "third"),
    ],
    "05_other_divisions": [
        ("Move to 240", "finer_steps", "division"),
        ("5 is thirds", "all_divisions", "limit"),
        ("7 brings in", "all_divisions", "limit"),
        ("11 the eleventh", "all_divisions", "limit"),
        ("Find 12, 19, 31 and 53", "all_divisions", "division"),
        ("What happens to 31", "all_divisions", "division"),
        ("Flip between 12 and 31", "all_divisions", "division"),
        ("when you go from 7 to 11?", "all_divisions", "limit"),
        ("Choose 9 under Odd numbers up to", "the_trade", "limit"),
        ("set A note must earn to 2 cents", "the_trade", "price"),
    ],
    "06_meantone": [
        ("Move Fifths stacked from 1 to 4", "four_fifths", "stacked"),
        ("Start at 0, where fifths are pure", "tempering", "fraction"),
        ("and at 0.25", "tempering", "fraction"),
        ("type 0.25", "tempering", "fraction"),
        ("from 0 slowly to 0.25", "tempering", "fraction"),
        ("Then go on to 0.333", "tempering", "fraction"),
        ("flip to 31", "the_gap", "tuned"),
        ("With Part of the comma at 0.25", "closing_the_circle", "fraction"),
        ("move Fifths from 12 to 19, and to 31", "closing_the_circle", "fifths"),
        ("flip between 12 fifths and 31 fifths", "closing_the_circle", "fifths"),
        ("(0.167)", "closing_the_circle", "fraction"),
        ("(0.2)", "closing_the_circle", "fraction"),
        ("(0.286)", "closing_the_circle", "fraction"),
    ],
    "07_thirty_one_notes": [
        ("Move Step slowly from 0 to 5", "ring_of_31", "step"),
        ("through the thirds from 7 to 11", "interval_families", "step"),
        ("25 steps, with the minor seventh, 26", "interval_families", "step"),
    ],
    "08_chords": [
        ("move Steps of the third from 7 to 11", "five_thirds", "third"),
        ("flip between C7 in 12", "two_sevenths", "chord"),
        ("C7 in 31, Charm7 in 31", "two_sevenths", "chord"),
        ("Move Notes from 2 upwards", "growing_chord", "notes"),
        ("flip between pure, 31 and 12", "growing_chord", "tuned"),
        ("Drop 2, counted", "spread_chord", "voicing"),
    ],
    "09_harmony_in_motion": [
        ("Move Chord from 1 to the end", "smallest_moves", "position"),
        ("take three major thirds", "going_round", "progression"),
        ("With four minor thirds", "going_round", "progression"),
        ("pure line of 12 fifths", "going_round", "progression"),
        ("with Rounds at 1 or 2", "going_round", "rounds"),
        ("flip between just, 31 and 12", "going_round", "tuned"),
        ("Move Adventure from 0", "retuned_chords", "adventure"),
        ("nothing is changed, to 1", "retuned_chords", "adventure"),
    ],
}

GIVEN: dict[str, list[str]] = {
    "01_waves": ["one tone vibrates 440 times a second and the other 443"],
    "02_overtones": ["the ladder on 110 Hz", "a drone on 130.8 Hz", "How far is the seventh harmonic"],
    "03_measuring_pitch": ["ten cents above 440 Hz", "repeats every 4.5 milliseconds"],
    "05_other_divisions": ["Here are nineteen steps", "in place of the 19", "with odd numbers up to 7, by hand"],
    "07_thirty_one_notes": ["before the octave, on a string of 650 mm"],
}

COUNTED: dict[str, list[str]] = {
    "01_waves": [
        "the two agree", "Which of the two sliders", "Two waves drift apart", "Two players tune",
        "hearing the two notes", "the two are in step", "difference of the two frequencies", "the two are one",
        "Two tones close together", "Two tones in a simple ratio",
    ],
    "02_overtones": [
        "one or two traits", "two notes from one throat", "the lower of the two", "Where the two sound calm together",
    ],
    "03_measuring_pitch": [
        "how far apart two notes are", "Two tones, one after the other", "until the two are one",
        "play ten slow notes",
    ],
    "04_twelve": ["Which of the three pairs", "Two players, or one and a drone"],
    "05_other_divisions": ["plays one step up and back", "the two take turns"],
    "06_meantone": ["the two ends enlarged", "midway between the two sizes"],
    "07_thirty_one_notes": [
        "where the two meet", "Where do the two go still", "a keyboard in two dimensions", "the last two frets",
    ],
    "08_chords": ["The first two shimmer", "with three players"],
    "practice": [
        "Where two sounds differ", "where two notes beat", "which of two intervals is pure", "whether two are tuned",
    ],
    "for_presenters": [
        "The number, twice", "if the two agree", "between two of them they move", "Two sounds with the same peak",
    ],
    "for_teachers": [
        "two notes agree where", "two waves drift apart", "flip between two tunings",
        "Have two players make them", "2023: three flashes",
    ],
    "glossary": [
        "fading of two tones", "also of two harmonics", "cannot separate two partials",
    ],
    "09_harmony_in_motion": [
        "between two chords", "Where do the two differ",
    ],
    README: [
        "three lines:", "panel of step 10", "which of two is pure",
        "drop 2, four-way close or pads", "panel of step 31", "two voices elsewhere",
    ],
}  # fmt: skip

TAKEN_OVER: dict[str, dict[str, str]] = {
    "00_start_here": {"small loudspeakers play next to nothing below 150 Hz": "common practice"},
    "01_waves": {"around fifteen or twenty the swells melt into a rough buzz": "Fastl and Zwicker 2007 (from memory)"},
    "practice": {"taught nothing in four days": "Little, Cheng and Wright 2019 (abstract)"},
    "for_presenters": {
        "European broadcasters ask for −23": "EBU R 128, 2023",
        "American ones for −24": "ATSC A/85, 2013",
        "turn louder films down to about −14": "common practice",
        "in short blocks that overlap by three quarters": "ITU-R BS.1770-4, annex 1: 75 % of the gating block",
    },
    "for_teachers": {
        "before you print thirty": "the class that the course is made for",
        "thirty browsers in a room make thirty sounds": "the class that the course is made for",
        "a week's allowance of 40 hours at 80 dB(A) for adults, and at 75 dB(A) for children": "ITU-T H.870, 2022",
        "no more than 85 dBA over 8 hours, and half the time for each 3 dB more": "NIOSH 98-126, 1998",
        "more than three flashes in a second": "WCAG 2.2, success criterion 2.3.1",
    },
    "06_meantone": {
        "Zarlino, 1571, and Salinas, 1577, in numbers": "Barbour 1951 (from memory)",
        "Verheijen, about 1600": "Barbour 1951 (from memory)",
        "described in 1555, and had built": "J. Wild, Music Theory Online 20.2, 2014",
        "thirty-six keys to the octave, thirty-one of them": "W. Alves 1989; J. Wild, Music Theory Online 20.2, 2014",
        "Salinas wrote of such an instrument in 1577": "Salinas, De musica libri septem, book III (from memory)",
        "Rossi gave string lengths for thirty-one equal steps in 1666": "Huygens-Fokker Foundation, life of Huygens",
        "in notes of 1661 and in a letter printed in 1691": "Huygens-Fokker Foundation; Œuvres complètes XX",
        "took it up in the 1940s": "Fokker 1975 (from memory)",
        "his organ was built in 1950": "Teylers Museum, Haarlem, on its organ of thirty-one notes",
    },
    "07_thirty_one_notes": {
        "with three uprights": "SMuFL, Stein-Zimmermann accidentals: accidentalThreeQuarterTonesSharpStein",
    },
}

BIBLIOGRAPHY: dict[str, list[str]] = {
    "00_start_here": ["H.870, 2018, revised 2022"],
    "for_presenters": [
        "BS.1770-4 (2015)", "EBU R 128 (2023) for −23", "ATSC A/85 (2013) for −24", "Guidelines 2.2 (2023)",
        "H.870 (2018, revised 2022)",
    ],
    "practice": [
        "Computational Linguistics, 2016", "Perception & Psychophysics 81, 2019", "Perception & Psychophysics 33, 1983",
        "Psychological Bulletin 95, 1984",
    ],
    "for_teachers": ["H.870, 2018, revised 2022", "Publication 98-126, 1998", "Guidelines 2.2, 2023"],
    "01_waves": ["2nd English edition, 1885", "Facts and Models, 3rd edition, 2007", "ISO 16:1975"],
    "02_overtones": [
        "vowels, J. Acoust. Soc. Am. 24, 1952", "Xöömij, J. Acoust. Soc. Am. 105, 1999", "eLife 9:e50476, 2020",
        "One singer, two voices, Acoustics Today 17(1), 2021", "2nd English edition, 1885",
    ],
    "03_measuring_pitch": [
        "2nd English edition, 1885", "J. Acoust. Soc. Am. 49, 1971",
        "Perception & Psychophysics 33, 1983", "Hearing Research 219, 2006",
        "J. Acoust. Soc. Am. 111, 2002",
    ],
    "04_twelve": ["2nd English edition, 1885", "J. Acoust. Soc. Am. 38, 1965", "J. Acoust. Soc. Am. 94, 1993"],
    "05_other_divisions": ["Tuning and Temperament: A Historical Survey, 1951"],
    "06_meantone": [
        "Venice 1523", "Venice 1558", "Venice 1571", "Perugia 1666", "Salamanca 1577", "Rome 1555", "Rotterdam 1691",
        "Quedlinburg 1691",
        "Phil. Trans. 90, 1800", "Tuning and Temperament, 1951", "New Music with 31 Notes, 1975",
    ],
    "07_thirty_one_notes": ["Rotterdam 1691", "Intervals and Temperament, 1876", "New Music with 31 Notes, 1975"],
    "08_chords": [
        "2nd English edition, 1885", "timbre and scale, J. Acoust. Soc. Am. 94, 1993", "New Music with 31 Notes, 1975",
    ],
    "09_harmony_in_motion": [
        "Turin 1585", "The Hague 1698", "The Geometry of Musical Chords, Science 313, 2006",
        "Dynamic Programming, 1957",
    ],
}  # fmt: skip

MINUTES_IN_README = {
    name: int(taken)
    for name, taken in re.findall(
        r"^\| \[`(\w+)`\].*\| (\d+) \|$", (ROOT / "README.md").read_text(encoding="utf-8"), flags=re.MULTILINE
    )
}


def planned(name: str) -> list[tuple[int, str, str]]:
    """The rows of the plan for teachers, whose sums test_lessons.py holds against the lessons."""
    return [row for rows in plans().values() for row in rows] if name == "for_teachers" else []


def linked_steps() -> list[int]:
    """The steps to which the glossary's links lead, in its order."""
    text = (ROOT / "lessons" / "glossary.ipynb").read_text(encoding="utf-8")
    return [int(step) for step in re.findall(r"\.ipynb#cell-id=step-(\d+)-1\)", text)]


PLACES: list[tuple[str, Callable[[str], list[int]]]] = [
    (r"^# (\d\d) ", lambda name: [int(name[:2])] if name in COURSE else []),
    (r"## Step (\d+) · ", lambda name: [step.number for step in COURSE[name].steps] if name in COURSE else []),
    (r"\| \[?(\d\d) [A-Z]", lambda name: [each.number for each in course.LESSONS] if name == "for_teachers" else []),
    (r"It takes about (\d+) minutes", lambda name: [MINUTES_IN_README[name]] if name in MINUTES_IN_README else []),
    (r"\| (\d+) \|", lambda name: [minutes(lesson) for lesson in MINUTES_IN_README] if name == README else []),
    (r"\| (\d+) \| [\[a-z]", lambda name: [row[0] for row in planned(name)]),
    (r"\| (\d+) \| \|", lambda name: [int(row[2]) for row in planned(name) if row[2].isdigit()]),
    (r"\[Step (\d+)\]", lambda name: linked_steps() if name == "glossary" else []),
]
"""Patterns for the numbers of lessons and steps, and for minutes, each with what they must be in a lesson."""


# --- Holding the two together ---------------------------------------------------------------------------------------


def _spans(phrase: str, words: str) -> list[tuple[int, int]]:
    """Where a phrase is; "5 cents" is not in "15 cents", nor "at 5" in "at 5.2"."""
    return [match.span() for match in re.finditer(rf"(?<![\w.]){re.escape(phrase)}(?!\w|\.\d)", words)]


def _agrees(said: Number, worked: Worked) -> bool:
    if isinstance(worked, tuple):
        return all(_agrees(said, way) for way in worked)
    if callable(worked):
        return worked(said.value)
    return abs(float(worked) - said.value) <= said.leeway + 1e-9


def _is_a_stop(said: Number, exhibit: str, knob_name: str) -> bool:
    knob = next(knob for knob in EXHIBITS[exhibit].knobs if knob.name == knob_name)
    if isinstance(knob, Choice):
        return any([said.value] == [number.value for number in numbers(option)] for option in knob.options)
    assert isinstance(knob, Slider)
    if not knob.low <= said.value <= knob.high:
        return False
    way = math.log2(said.value / knob.low) * knob.step if knob.logarithmic else (said.value - knob.low) / knob.step
    return abs(way - round(way)) < 1e-6


def _phrases(lesson: Lesson) -> Iterator[tuple[str, Callable[[list[Number]], str]]]:
    """Each phrase on the lists for a lesson, with what finds fault with the numbers that it says."""

    def worked_out(worked: list[Worked]) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            right = len(said) == len(worked) and all(map(_agrees, said, worked))
            return "" if right else f"says {[n.text for n in said]}, worked out are {worked}"

        return fault

    def settable(exhibit: str, knob: str) -> Callable[[list[Number]], str]:
        def fault(said: list[Number]) -> str:
            if f'panel("{exhibit}"' not in lesson.code:
                return f"sets a knob of {exhibit}, which is not shown here"
            return "" if all(_is_a_stop(n, exhibit, knob) for n in said) else f"is no stop of {knob} in {exhibit}"

        return fault

    def given(said: list[Number]) -> str:
        return "" if said and {n.value for n in said} <= lesson.literals else "is in no code cell"

    def any_number(said: list[Number]) -> str:
        return "" if said else "has no number"

    def shown_so(so: bool) -> Callable[[list[Number]], str]:
        return lambda said: "" if so else "is not so"

    for phrase, worked in CLAIMS.get(lesson.name, {}).items():
        yield phrase, worked_out(worked)
    for phrase, exhibit, knob in SETTINGS.get(lesson.name, []):
        yield phrase, settable(exhibit, knob)
    for phrase in GIVEN.get(lesson.name, []):
        yield phrase, given
    for phrase, so in SHOWN.get(lesson.name, {}).items():
        yield phrase, shown_so(so)
    for phrase in (
        *COUNTED.get(lesson.name, []),
        *TAKEN_OVER.get(lesson.name, {}),
        *BIBLIOGRAPHY.get(lesson.name, []),
    ):
        yield phrase, any_number


def faults(lesson: Lesson) -> list[str]:
    """Phrases that are gone, numbers that are wrong, and numbers that nothing covers."""
    found = []
    all_numbers = numbers(lesson.words)
    covered: list[tuple[int, int]] = []
    for phrase, fault in _phrases(lesson):
        spans = _spans(phrase, lesson.words)
        if not spans:
            found.append(f"“{phrase}” is no longer there")
        for start, end in spans:
            wrong = fault([number for number in all_numbers if start <= number.start and number.end <= end])
            found += [f"“{phrase}” {wrong}"] if wrong else []
        covered += spans if phrase not in SHOWN.get(lesson.name, {}) else []
    for pattern, due in PLACES:
        matches = list(re.finditer(pattern, lesson.words))
        wanted = due(lesson.name)
        if wanted and [int(match[1]) for match in matches] != wanted:
            found.append(f"{pattern} finds {[match[1] for match in matches]} instead of {wanted}")
        covered += [match.span(1) for match in matches] if wanted else []
    for number in all_numbers:
        if not any(start <= number.start and number.end <= end for start, end in covered):
            around = lesson.words[max(number.start - 40, 0) : number.end + 30]
            found.append(f"{number.text!r} is covered by nothing: …{around}…")
    return found


@pytest.mark.parametrize("name", lessons())
def test_every_number_in_the_prose_is_right(name: str) -> None:
    found = faults(lessons()[name])
    assert not found, "\n".join(found)


def test_the_tables_are_for_lessons_that_exist() -> None:
    for table in (CLAIMS, SHOWN, SETTINGS, GIVEN, COUNTED, TAKEN_OVER, BIBLIOGRAPHY):
        assert set(table) <= set(lessons())
    assert set(lessons()) <= {README, START, *COURSE, *GUIDES, *REFERENCES}
    assert set(lessons()) - set(REFERENCES) == {README, *MINUTES_IN_README}


@pytest.mark.parametrize("name", lessons())
def test_no_number_can_be_changed_unnoticed(name: str) -> None:
    """Each number in turn is made another one; what was right before must then be found wrong."""
    lesson = lessons()[name]
    for number in numbers(lesson.words):
        other = str(round(number.value) + 1) if number.text[0].isdigit() else "ninety"
        words = f"{lesson.words[: number.start]}{other}{lesson.words[number.end :]}"
        around = words[max(number.start - 40, 0) : number.end + 40]
        assert faults(replace(lesson, words=words)), f"{number.text!r} can be changed in …{around}…"


@pytest.mark.parametrize(
    ("name", "old", "new", "fault"),
    [
        ("04_twelve", "harmonic 7 by 31", "harmonic 7 by 32", "harmonic 11 by 49” is no longer there"),
        ("04_twelve", "harmonic 7 by 31", "harmonic 7 by 32", "'32' is covered by nothing"),
        ("04_twelve", "The octaves are exact.", "Fifths are 702 cents.", "'702' is covered by nothing"),
        ("04_twelve", "The octaves are exact.", "There are eleven.", "'eleven' is covered by nothing"),
        ("06_meantone", "a third of a piano", "a quarter of a piano", "'a quarter' is covered by nothing"),
        ("05_other_divisions", "# 05 Other", "# 06 Other", "instead of [5]"),
        ("03_measuring_pitch", "## Step 9 ·", "## Step 8 ·", "instead of [8, 9, 10]"),
        ("for_teachers", "[02 Overtones]", "[03 Overtones]", "instead of [1, 2, 3"),
        ("08_chords", "sits on a hill", "sits in a valley", "hill between them” is no longer there"),
        ("09_harmony_in_motion", "7.8 cents off", "7.9 cents off", "'7.9' is covered by nothing"),
        ("02_overtones", "20 minutes", "25 minutes", "instead of [20]"),
    ],
)
def test_a_spoiled_sentence_is_found_out(name: str, old: str, new: str, fault: str) -> None:
    lesson = lessons()[name]
    assert old in lesson.words
    spoiled = replace(lesson, words=lesson.words.replace(old, new))
    assert any(fault in found for found in faults(spoiled)), faults(spoiled)


@pytest.mark.parametrize(
    ("table", "entry", "fault"),
    [
        (CLAIMS, {"within 2 cents": [more_than(2.1)]}, "says ['2']"),
        (CLAIMS, {"it misses the major third by 14": [13.4]}, "worked out are [13.4]"),
        (CLAIMS, {"it misses the major third by 14": [(13.7, 13.4)]}, "says ['14']"),
        (CLAIMS, {"it misses the major third by 14": []}, "says ['14']"),
        (CLAIMS, {"stop at 386.3": [386.36]}, "says ['386.3']"),
        (CLAIMS, {"In a pure major third, 5/4, the": [1.26]}, "says ['5/4']"),
        (SETTINGS, [("stop at 386.3", "overtones_and_steps", "harmonic")], "is no stop of harmonic"),
        (SETTINGS, [("harmonic 11 by 49", "equal_steps", "step")], "is no stop of step"),
        (SETTINGS, [("in 31 steps", "equal_steps", "step")], "is no stop"),
        (SETTINGS, [("in 31 steps", "wave", "hertz")], "which is not shown here"),
        (GIVEN, ["harmonic 11 by 49"], "is in no code cell"),
        (SHOWN, {"The octaves are exact": False}, "is not so"),
        (SHOWN, {"The octaves are narrow": True}, "is no longer there"),
        (COUNTED, ["Lay one over the other"], "has no number"),
        (COUNTED, ["the two banjos"], "is no longer there"),
    ],
)
def test_an_entry_that_is_false_is_found_out(
    table: dict[str, Any], entry: Any, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = table.get("04_twelve", type(entry)())
    monkeypatch.setitem(table, "04_twelve", {**kept, **entry} if isinstance(entry, dict) else [*kept, *entry])
    found = faults(lessons()["04_twelve"])
    assert len(found) == 1 and fault in found[0], found
