"""Names of common chords for the page, so that it can say what is held without asking Python."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache

from tunelib.export import printed_symbol
from tunelib.harmony import Chord, Reading, readings, root_word, symbol_body, whole_numbers
from tunelib.live.key_notes import KeyNotes
from tunelib.pitch import CENTS_PER_OCTAVE, Note, Tuning, cents, drawn

_COMMON = (
    "C Cm Cneu Csub Csup Cdim Caug Csus4 Csus2 C6 Cm6 C7 Cm7 Cmaj7 Charm7 Cmmaj7 Cneumid7 Csubharm7 Csupwide7 "
    "Cdim7 Cm7b5 Cmid7 Cadd9 Cmadd9 C9 Cm9 Cmaj9 Charm9 Charm9h#11 C69 C7sus4"
).split()
_LARGEST_NUMBER = 60  # of ratios that are worth telling
FEWEST_NOTES = 3  # of a chord: two are an interval
MOST_OFF_RATIOS = 20.0  # cents: in a tuning of uneven steps, ratios farther off than this are not told
MOST_OFF_SYMBOL = 30.0  # cents: and no symbol, since a wolf is no fifth
_C = Note.parse("C4")


def chord_words(reading: Reading, tuning: Tuning) -> tuple[str, str]:
    """A reading's symbol as it is printed, and the ratios that it is near to in whole numbers; no ratios where none are
    simple."""
    symbol = drawn(printed_symbol(reading.chord))
    try:
        numbers = whole_numbers(reading.chord.ratios(tuning))
    except ValueError:
        return symbol, ""
    return symbol, ":".join(map(str, numbers)) if max(numbers) <= _LARGEST_NUMBER else ""


def on_keys(reading: Reading, notes: KeyNotes, bass: int) -> str:
    """A reading's symbol with the names of the keys: a keyboard that has a C♯ has no D♭, whatever the chord."""
    root = reading.chord.root.step(notes.tuning)
    named, lowest = (root_word(drawn(notes.note(step).name)) for step in (root, bass))
    symbol = f"{named}{_word(reading)}"
    return symbol if (bass - root) % len(notes.tuning) == 0 else f"{symbol}/{lowest}"


def _word(reading: Reading) -> str:
    """What a symbol has between its root and its bass, as it is printed."""
    return symbol_body(reading.chord.degrees, printed=True)


def farthest(ratios: str, sizes: Iterable[float]) -> float:
    """How far notes are from a chord's ratios, octaves aside: the farthest, in cents.

    `sizes` are the notes in cents above the root, for which the first of the numbers stands.

    >>> round(farthest("4:5:6", [0.0, 427.4, 1200 + 696.6]), 1)  # with the wolf's third of quarter-comma meantone
    41.1
    """
    numbers = [int(number) for number in ratios.split(":")]
    pure = [cents(Fraction(number, numbers[0])) for number in numbers]
    return max(min(abs(math.remainder(size - one, CENTS_PER_OCTAVE)) for one in pure) for size in sizes)


@lru_cache(maxsize=32)
def chord_table(tuning: Tuning) -> dict[str, tuple[int, str, str]]:
    """What notes above a bass make a chord of.

    Returns
    -------
    dict
        By the steps above the bass within the octave, rising, in a text such as ``"10 18"``: how many steps above the
        bass the root is, what its symbol has after the root, and the ratios. Empty where notes have no letters.

    >>> from tunelib.pitch import equal
    >>> table = chord_table(equal(31))
    >>> table["10 18"], table["8 21"]
    ((0, '', '4:5:6'), (21, '', '4:5:6'))
    """
    if tuning.fifth is None:
        return {}
    table: dict[str, tuple[int, str, str]] = {}
    for symbol in _COMMON:
        try:
            steps = sorted({step % len(tuning) for step in Chord.parse(symbol).steps(tuning)})
        except ValueError:  # this tuning has no such degree
            continue
        for bass in steps:
            above = sorted((step - bass) % len(tuning) for step in steps)
            key = " ".join(map(str, above[1:]))
            if key not in table and (found := _entry(tuple(above), tuning)):
                table[key] = found
    return table


def _entry(steps: tuple[int, ...], tuning: Tuning) -> tuple[int, str, str] | None:
    found = readings(steps, tuning)
    if not found:
        return None
    _, ratios = chord_words(found[0], tuning)
    return found[0].chord.root.step(tuning) % len(tuning), _word(found[0]), ratios
