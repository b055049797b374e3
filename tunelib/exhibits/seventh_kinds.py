"""Sevenths besides the dominant one and the harmonic one: each as it is written, and as a step of thirty-one tunes it.

The kinds are common practice; a second or third tuning of each is ours: notes a step aside, where the chord then comes
nearer to simple ratios. Altered dominants are played without a fifth, as pianists do.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations

from tunelib.harmony import Chord, pair_errors, ratio_chord, whole_numbers
from tunelib.pitch import THIRTY_ONE, Tuning, cents, equal, readable, root_mean_square

PAIRS = tuple(combinations(range(4), 2))
"""The pairs of four notes, by their places."""
_TWELVE = equal(12)
_ONE_SIGN = 2  # half-sharps of a sharp or a flat


@dataclass(frozen=True)
class SeventhKind:
    """A chord of four notes on C in a tuning of thirty-one: what players call it, and its symbol.

    `row` is the chord as it is written, of which this is one kind.
    """

    name: str
    symbol: str
    row: str

    @cached_property
    def chord(self) -> Chord:
        """Its chord on C."""
        return Chord.parse(self.symbol)

    @cached_property
    def steps(self) -> tuple[int, ...]:
        """Its steps of thirty-one above C."""
        return self.chord.steps(THIRTY_ONE)

    @cached_property
    def ratios(self) -> tuple[Fraction, ...]:
        """The ratios that it is heard as, to its root."""
        return ratio_chord(self.steps, THIRTY_ONE)

    @cached_property
    def reading(self) -> str:
        """The same as whole numbers: ``"28:35:40:50"``."""
        return ":".join(map(str, whole_numbers(self.ratios)))

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Its notes as they are easiest to read, with one sign at the most: an augmented sixth for a seventh a flat and
        a half below the major one."""
        return tuple(readable(note, THIRTY_ONE, _ONE_SIGN).name for note in self.chord.notes)

    @cached_property
    def spelled(self) -> tuple[str, ...]:
        """Its notes as its symbol spells them."""
        return tuple(note.name for note in self.chord.notes)

    def sizes(self, tuning: Tuning | None) -> tuple[float, ...]:
        """Cents of its notes above the root: in a tuning, or pure."""
        if tuning is None:
            return tuple(cents(ratio) for ratio in self.ratios)
        return tuple(float(tuning.cents_of(step)) for step in self.chord.steps(tuning))

    def errors(self, tuning: Tuning | None) -> tuple[float, ...]:
        """Cents by which each of `PAIRS` is wider than in its ratios; in a tuning, or, pure, none."""
        if tuning is None:
            return (0.0,) * len(PAIRS)
        found = pair_errors(self.chord.steps(tuning), self.ratios, tuning)
        return tuple(found[pair] for pair in PAIRS)

    def off(self, tuning: Tuning | None) -> float:
        """Root mean square of the errors of its pairs, in cents.

        >>> round(KINDS["7♭5"].off(THIRTY_ONE), 1), round(KINDS["7♭5"].off(equal(12)), 1)
        (1.7, 18.1)
        """
        return root_mean_square(self.errors(tuning))


KINDS: dict[str, SeventhKind] = {
    name: SeventhKind(name, f"C{symbol}", row)
    for row, kinds in {
        "7♯5": {"7♯5": "7#5", "harm7♯5": "harm7#5"},
        "7♭5": {"7♭5": "7b5", "French sixth": "harm7bhb5"},
        "7♭9": {"7♭9": "7b9no5", "harm7♭9": "harm7b9no5"},
        "7♯9": {"7♯9": "7#9no5", "harm7♯9": "harm7#9no5"},
        "m(maj7)": {"m(maj7)": "m(maj7)", "sub(maj7)": "submaj7"},
        "m6": {"m6": "m6", "m6, wide": "maddh#6"},
        "m7♭5": {"m7♭5": "m7b5", "m7♭5 as 5:6:7:9": "m7bhb5", "m7♭5 as 60:70:84:105": "subharm7bhb5"},
        "m7": {"m7": "m7", "subharm7": "subharm7"},
    }.items()
    for name, symbol in kinds.items()
}
"""All kinds by name, those of a row one after another: first the altered dominants, which leave out the fifth."""

ROWS: tuple[str, ...] = tuple(dict.fromkeys(kind.row for kind in KINDS.values()))
"""The chords as they are written."""


def kinds_written(row: str) -> tuple[SeventhKind, ...]:
    """The kinds of a chord in thirty-one."""
    return tuple(kind for kind in KINDS.values() if kind.row == row)


def off_in_twelve(row: str) -> float:
    """How far twelve is from that kind of a chord to which it comes nearest, in cents."""
    return min(kind.off(_TWELVE) for kind in kinds_written(row))
