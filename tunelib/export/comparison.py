"""One tune in several divisions of the octave, side by side: how pure it is, how rough, and how far its voices move."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tunelib.files import Tell
from tunelib.harmony import LeadSheet, RetunedTune, Taste, playable_division, retune
from tunelib.pitch import CENTS_PER_OCTAVE, Tuning, root_mean_square

_HEAD = ("steps", "chords retuned", "cents off, rms", "roughness", "motion, cents a chord")


@dataclass(frozen=True)
class Compared:
    """A tune in one division.

    Parameters
    ----------
    division : int
        Steps to the octave.
    retuned : int
        How many of its chords were changed.
    error : float
        Root mean square, over its chords, of their purity, in cents.
    roughness : float
        Of its chords as they are laid out, on average.
    motion : float
        Cents that the upper voices move, all together, from one chord to the next, on average.
    """

    division: int
    retuned: int
    error: float
    roughness: float
    motion: float

    @classmethod
    def of(cls, tune: RetunedTune) -> Compared:
        """The figures of a retuned tune that are compared."""
        step = CENTS_PER_OCTAVE / len(tune.tuning)
        return cls(
            len(tune.tuning),
            sum(chord.changed for chord in tune.chords),
            root_mean_square(chord.purity for chord in tune.chords),
            float(np.mean([chord.roughness for chord in tune.chords])),
            step * sum(chord.motion for chord in tune.chords) / max(1, len(tune.chords) - 1),
        )

    @property
    def cells(self) -> tuple[str, ...]:
        """The numbers as they are printed, in the order of the head."""
        return (
            str(self.division),
            str(self.retuned),
            f"{self.error:.2f}",
            f"{self.roughness:.3f}",
            f"{self.motion:.1f}",
        )


@dataclass(frozen=True)
class Comparison:
    """A tune in several divisions, in the order in which they were asked for."""

    rows: tuple[Compared, ...]

    def csv(self) -> str:
        """The table as comma-separated values, with a head."""
        stream = io.StringIO()
        writer = csv.writer(stream)
        writer.writerow(_HEAD)
        writer.writerows(row.cells for row in self.rows)
        return stream.getvalue()

    def table(self) -> str:
        """The table in columns of letters of one width."""
        rows = [_HEAD, *(row.cells for row in self.rows)]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
        return "\n".join(lines) + "\n"


def compare_tune(
    sheet: LeadSheet, tunings: Iterable[Tuning], taste: Taste | None = None, progress: Tell | None = None
) -> Comparison:
    """Retune a tune in several divisions by one taste, and compare the results.

    Parameters
    ----------
    sheet : LeadSheet
    tunings : iterable of Tuning
        Such as `retune` takes.
    taste : Taste, optional
    progress : function, optional
        Called with a few words before each.

    Raises ValueError for a tuning that no tune can be played in, and for none at all.

    >>> from tunelib.harmony import parse_lead_sheet
    >>> from tunelib.pitch import equal
    >>> found = compare_tune(parse_lead_sheet("| Dm7 | G7 | Cmaj7 |"), [equal(12), equal(31)], Taste(0.0))
    >>> print(found.table(), end="")
    steps  chords retuned  cents off, rms  roughness  motion, cents a chord
       12               0           11.83     15.706                  500.0
       31               0            6.34     15.434                  503.2
    """
    tell = progress or (lambda step: None)
    wanted = [playable_division(tuning) for tuning in tunings]
    if not wanted:
        raise ValueError("give at least one division to compare, such as 12 and 31")
    rows = []
    for tuning in wanted:
        tell(f"retuning the chords in {len(tuning)}")
        rows.append(Compared.of(retune(sheet, tuning, taste)))
    return Comparison(tuple(rows))
