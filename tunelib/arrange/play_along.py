"""A sheet to play along with: the overtones of one note, for one instrument or voice.

After a bar of ticks each harmonic takes two bars. In the first it sounds; the second is a gap to play in. A drone
on the fundamental sounds under it all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

import numpy as np

from tunelib.pitch import (
    Instrument,
    Note,
    Tuning,
    cents,
    equal,
    in_runs,
    is_whole,
    octave_reduce,
    spell,
    whole_number,
)
from tunelib.score import Score, ScoreNote

PAGES = ("overtones", "notes", "fingers")
"""The pages that a player can have: the sheet itself, the notes of thirty-one, and where fingers find them."""
MOST_PLAYERS = 100  # of a band: a large symphony orchestra (common practice)
HIGHEST_HARMONIC = 64
SLOWEST_SHEET, FASTEST_SHEET = 20.0, 200.0  # beats a minute
LOWEST_HZ, HIGHEST_HZ = 16.0, 16_000.0  # C0 and up; few adults hear a tone above (common practice)
BEATS_PER_BAR = 4

_TICK_HZ = (1320.0, 880.0, 880.0, 880.0)
_TWELVE = equal(12)
_FINEST = 1000  # steps
_DRONE_LEVEL = 0.5  # with bright harmonics, so that a player's note has something to beat against


@dataclass(frozen=True)
class SheetRow:
    """One harmonic of a sheet.

    `ratio` is to the octave of the fundamental at or below it; `sounding` and `written` name the nearest of twelve
    equal steps; `cents` is how far the harmonic, at `hertz`, is above it; `in_reach` says whether it is in the
    player's comfortable range. `nearest` is what the nearest step of another division is called, counted from the
    fundamental, and `cents_from_nearest` how far the harmonic is above that; empty and 0 without another division.
    """

    number: int
    ratio: Fraction
    sounding: Note
    written: Note
    hertz: float
    cents: float
    in_reach: bool
    nearest: str = ""
    cents_from_nearest: float = 0.0

    @property
    def label(self) -> str:
        """Number and ratio as printed under the note, such as ``"7 · 7/4"``."""
        return f"{self.number} · {self.written_ratio}"

    @property
    def written_ratio(self) -> str:
        """The ratio with both its numbers, such as ``"1/1"``."""
        return f"{self.ratio.numerator}/{self.ratio.denominator}"


@dataclass(frozen=True)
class Sheet:
    """A play-along sheet: what `overtone_sheet` makes.

    The score has the voices ``"count"``, ``"guide"``, ``"player"`` and, if there is one, ``"drone"``.
    """

    title: str
    player: Instrument
    fundamental: Note
    rows: tuple[SheetRow, ...]
    score: Score
    division: int = 12

    @property
    def slug(self) -> str:
        """The title as a file name, without its suffix."""
        return f"{self.player.slug}-{self.series}{'' if self.division == 12 else f'-in-{self.division}'}"

    @property
    def series(self) -> str:
        """The fundamental and its harmonics as a part of file names, such as ``"b-flat-1-harmonics-1-16"``."""
        note = f"{self.fundamental.letter}{_SPOKEN[self.fundamental.half_sharps]}-{self.fundamental.octave}"
        return f"{note.lower()}-harmonics-{_drawn_together([row.number for row in self.rows])}"

    @property
    def reached(self) -> int:
        """How many of the harmonics are in the player's comfortable range."""
        return sum(row.in_reach for row in self.rows)


_SPOKEN = {-4: "-double-flat", -2: "-flat", 0: "", 2: "-sharp", 4: "-double-sharp"}


def overtone_sheet(
    player: Instrument,
    fundamental: Note,
    harmonics: Sequence[int] = range(1, 17),
    drone: bool = True,
    tempo: float = 60.0,
    division: int = 12,
) -> Sheet:
    """Make a sheet of the harmonics of a note.

    Parameters
    ----------
    player : Instrument
    fundamental : Note
        As it sounds, in twelve equal steps at A4 = 440 Hz.
    harmonics : sequence of int
        Their numbers from 1 to 64, rising; 1 is the fundamental itself.
    drone : bool
        Whether the fundamental sounds throughout.
    tempo : float
        Beats a minute, 20 to 200. A bar has four.
    division : int
        Equal steps to the octave, 2 to 1000. For any but twelve each row also gives the nearest step, counted from
        the fundamental. The part is written in twelve all the same, for the keys that the player has.

    Raises ValueError for values out of these bounds, a fundamental below C0, a harmonic above 16 000 Hz, which few
    could hear, or one that this player's part cannot be written for.

    >>> from tunelib.pitch import instrument, signed
    >>> sheet = overtone_sheet(instrument("trumpet"), Note.parse("B♭2"), range(2, 9))
    >>> [f"{row.written} {signed(row.cents)}" for row in sheet.rows[4:6]]
    ['G5 +2', 'B♭5 −31']
    """
    numbers = list(harmonics)
    if not numbers:
        raise ValueError("a sheet needs at least one harmonic, such as range(1, 17)")
    for number in numbers:
        if not is_whole(number) or not 1 <= number <= HIGHEST_HARMONIC:
            raise ValueError(f"harmonics are numbered from 1 to {HIGHEST_HARMONIC}; {number} is not among them")
    if any(after <= before for before, after in pairwise(numbers)):
        raise ValueError("the harmonics must rise, each number given once")
    if not SLOWEST_SHEET <= tempo <= FASTEST_SHEET:
        raise ValueError(f"the tempo must be from {SLOWEST_SHEET:g} to {FASTEST_SHEET:g} beats a minute, not {tempo:g}")
    tuning = equal(whole_number(division, "a division", 2, _FINEST))
    base = fundamental.hz(_TWELVE)
    if base < LOWEST_HZ:
        raise ValueError(f"the fundamental {fundamental} is at {base:.3g} Hz; take one from C0 (16.35 Hz) up")
    if base * numbers[-1] > HIGHEST_HZ:
        raise ValueError(
            f"harmonic {numbers[-1]} of {fundamental} is at {base * numbers[-1]:.0f} Hz, above {HIGHEST_HZ:.0f} Hz, "
            "where few can hear it; take fewer harmonics or a lower fundamental"
        )
    rows = _rows(player, fundamental, numbers, tuning)
    for row in rows:
        if not 0 <= row.written.octave <= 9:
            raise ValueError(
                f"harmonic {row.number} of {fundamental} would be written {row.written} for {player.name}, "
                "and written notes go from C0 to B9; take another fundamental"
            )
    title = f"Overtones of {fundamental} for {player.name}"
    score = Score(tuple(_play_along(rows, fundamental, drone)), tempo, BEATS_PER_BAR, title)
    return Sheet(title, player, fundamental, rows, score, len(tuning))


def _rows(player: Instrument, fundamental: Note, numbers: Sequence[int], tuning: Tuning) -> tuple[SheetRow, ...]:
    hertz = fundamental.hz(_TWELVE) * np.array(numbers)
    home = player.written(fundamental).fifths
    rows = []
    for number, frequency, in_reach in zip(numbers, hertz.tolist(), player.reaches(hertz).tolist(), strict=True):
        steps, away = _above(number)
        nearest = spell(fundamental.step(_TWELVE) + steps, _TWELVE, fundamental.fifths)
        written = _plain(player.written(nearest), home)
        sounding = player.sounding(written)
        near = _near(fundamental, number, sounding, tuning)
        rows.append(SheetRow(number, octave_reduce(number), sounding, written, frequency, away, in_reach, *near))
    return tuple(rows)


def _near(fundamental: Note, number: int, sounding: Note, tuning: Tuning) -> tuple[str, float]:
    """The nearest step of another division than twelve to a harmonic, on the letter that it has, and the cents left."""
    if len(tuning) == len(_TWELVE):
        return "", 0.0
    step, error = tuning.nearest(cents(number))
    if tuning.fifth is None:
        return f"step {step}", -error
    return str(sounding.sounding(fundamental.within(tuning).step(tuning) + step, tuning)), -error


@lru_cache(maxsize=HIGHEST_HARMONIC)
def _above(number: int) -> tuple[int, float]:
    """The step of twelve nearest to a harmonic, counted from its fundamental, and the cents left over."""
    step, error = _TWELVE.nearest(cents(number))
    return step, -error


def _plain(written: Note, home: float) -> Note:
    """A note as a player likes to read it: no double accidental, and no E♯, B♯, C♭ or F♭."""
    if abs(written.half_sharps) <= 2 and (written.letter, written.half_sharps) not in _AWKWARD:
        return written
    return spell(written.step(_TWELVE), _TWELVE, home)


_AWKWARD = {("E", 2), ("B", 2), ("C", -2), ("F", -2)}


def _play_along(rows: Sequence[SheetRow], fundamental: Note, drone: bool) -> list[ScoreNote]:
    bar = BEATS_PER_BAR
    notes = [ScoreNote(beat, Fraction(1, 4), hertz, None, "count") for beat, hertz in enumerate(_TICK_HZ)]
    for i, row in enumerate(rows):
        start = bar + 2 * bar * i
        notes.append(ScoreNote(start, bar, row.hertz, row.sounding, "guide", level=0.7))
        notes.append(ScoreNote(start + bar, bar, row.hertz, row.sounding, "player", row.label, level=0))
    if drone:
        length = 2 * bar * len(rows)
        notes.append(ScoreNote(bar, length, fundamental.hz(_TWELVE), fundamental, "drone", level=_DRONE_LEVEL))
    return notes


def _drawn_together(numbers: Sequence[int]) -> str:
    """Rising numbers with neighbours drawn together: ``"1-4_7"``."""
    return "_".join(f"{first}-{last}" if last > first else str(first) for first, last in in_runs(numbers))
