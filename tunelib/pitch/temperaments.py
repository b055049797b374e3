"""Temperaments of the past by what they were, with date and source.

Meantones are given by the fraction of the syntonic comma by which every fifth is narrow; the well temperaments, which
closed the gap another way, by how much each single fifth is. Dates and authors are from memory unless a test names its
source; the definitions are those of J. M. Barbour, *Tuning and Temperament*, 1951 (from memory), except where it says
otherwise. What musicians really tuned, by ear, varied more than any table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from tunelib.pitch.intervals import Interval, shortened
from tunelib.pitch.lookup import look_up
from tunelib.pitch.meantone import PURE_FIFTH, SYNTONIC_COMMA, Chain, meantone_chain
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import Tuning

PYTHAGOREAN_COMMA = Interval.of("531441/524288")
_SKHISMA = PYTHAGOREAN_COMMA / SYNTONIC_COMMA
_FIRST = -3  # E♭, where the chain of a keyboard of twelve begins
_NOTES = 12


@dataclass(frozen=True)
class Meantone:
    """A meantone of the past: its name, the fraction of the syntonic comma, and when and by whom it was described."""

    name: str
    fraction: Fraction
    year: int
    source: str

    @property
    def chain(self) -> Chain:
        """Its twelve notes as a chain of fifths from E♭ to G♯."""
        return meantone_chain(self.fraction)


@dataclass(frozen=True)
class WellTemperament:
    """A well temperament: by how much each fifth of the circle is narrower than pure.

    Parameters
    ----------
    name : str
    narrowed : mapping from str to Interval
        The fifths that are not pure, each by its lower note, from E♭ to C♯; the last, from G♯, takes what is left.
    year : int
    source : str

    Raises ValueError for a fifth that is not among those from E♭ to C♯.
    """

    name: str
    narrowed: Mapping[str, Interval]
    year: int
    source: str

    def __post_init__(self) -> None:
        for lower in self.narrowed:
            if Note.named(lower).fifths not in range(_FIRST, _FIRST + _NOTES - 1):
                raise ValueError(
                    f"{shortened(self.name)} has no fifth from {lower}: those to be given go from E♭ to C♯"
                )

    @property
    def chain(self) -> Chain:
        """Its twelve notes as a chain of fifths from E♭ to G♯."""
        by_place = {int(Note.named(name).fifths): share for name, share in self.narrowed.items()}
        fifths = (PURE_FIFTH / by_place.get(place, Interval()) for place in range(_FIRST, _FIRST + _NOTES - 1))
        return Chain(self.name, _FIRST, tuple(fifths))


_MEANTONES = (
    Meantone("Pythagorean", Fraction(0), -300, "Sectio canonis, ascribed to Euclid, about 300 BC: all fifths pure"),
    Meantone("third-comma", Fraction(1, 3), 1577, "Salinas, De musica libri septem, Salamanca 1577: minor thirds pure"),
    Meantone(
        "two-sevenths-comma",
        Fraction(2, 7),
        1558,
        "Zarlino, Le istitutioni harmoniche, Venice 1558: major and minor thirds equally off",
    ),
    Meantone(
        "quarter-comma",
        Fraction(1, 4),
        1523,
        "Aaron, Thoscanello de la musica, Venice 1523: thirds pure, fifths blunted. That each is narrow by exactly a "
        "quarter is a later reading; Zarlino (1571) and Salinas (1577) gave the numbers",
    ),
    Meantone(
        "fifth-comma",
        Fraction(1, 5),
        1666,
        "Verheijen, letter to Stevin, about 1600; Rossi, Sistema musico, Perugia 1666: fifths and thirds equally off",
    ),
    Meantone(
        "sixth-comma",
        Fraction(1, 6),
        1748,
        "ascribed to Silbermann by Sorge, Gespräch, Lobenstein 1748, who "
        "judged by ear; commonly the sixth is taken of "
        "the Pythagorean comma",
    ),
)
MEANTONES: Mapping[str, Meantone] = {kind.name: kind for kind in _MEANTONES}
"""Meantones by name; Pythagorean tuning is the one of fraction zero."""


def _shares(names: str, comma: Interval, fraction: Fraction) -> dict[str, Interval]:
    return dict.fromkeys(names.split(), comma**fraction)


_WELL_TEMPERAMENTS = (
    WellTemperament(
        "Werckmeister III",
        _shares("C G D B", PYTHAGOREAN_COMMA, Fraction(1, 4)),
        1691,
        "Werckmeister, Musicalische Temperatur, Quedlinburg 1691; that he meant quarters of the Pythagorean comma is "
        "how "
        "he is read",
    ),
    WellTemperament(
        "Vallotti",
        _shares("F C G D A E", PYTHAGOREAN_COMMA, Fraction(1, 6)),
        1754,
        "named after Vallotti, whose system Tartini praised, without figures, in Trattato di musica, Padua 1754. His "
        "own "
        "description, with sixths of the syntonic comma and the skhisma in one more fifth, was first printed in 1950; "
        "this form, in sixths of the Pythagorean comma, is the usual one now",
    ),
    WellTemperament(
        "Kirnberger III",
        _shares("C G D A", SYNTONIC_COMMA, Fraction(1, 4)) | {"F♯": _SKHISMA},
        1779,
        "Kirnberger, undated letter to Forkel, about 1779, printed by Bellermann in 1871; his own table puts the small "
        "remainder between F♯ and C♯",
    ),
    WellTemperament(
        "Young I",
        _shares("C G D A", SYNTONIC_COMMA, Fraction(3, 16))
        | _shares("B♭ F E B", PYTHAGOREAN_COMMA / SYNTONIC_COMMA ** Fraction(3, 4), Fraction(1, 4)),
        1799,
        "Young, letter of 9 July 1799, printed in Phil. Trans. 90, 1800: the third on C a quarter of a comma wide, so "
        "four "
        "fifths narrow by 3/16 of it, and four more share the rest (the first of his two)",
    ),
    WellTemperament(
        "Young II",
        _shares("C G D A E B", PYTHAGOREAN_COMMA, Fraction(1, 6)),
        1799,
        "Young, as above, his second: six perfect fourths, and from C on six equally imperfect fifths",
    ),
)
WELL_TEMPERAMENTS: Mapping[str, WellTemperament] = {kind.name: kind for kind in _WELL_TEMPERAMENTS}
"""Well temperaments by name, in order of date."""

_KNOWN: dict[str, Meantone | WellTemperament] = {**MEANTONES, **WELL_TEMPERAMENTS}


def well(name: str) -> Tuning:
    """A well temperament as a tuning of twelve notes, by its name in `WELL_TEMPERAMENTS`.

    Raises ValueError with the nearest name for one that is not known.

    >>> well("Werckmeister III").cents.round(1).tolist()
    [0.0, 90.2, 192.2, 294.1, 390.2, 498.0, 588.3, 696.1, 792.2, 888.3, 996.1, 1092.2]
    """
    return look_up(name, WELL_TEMPERAMENTS, "well temperament").chain.tuning


def temperament(name: str) -> Meantone | WellTemperament:
    """A temperament of the past, meantone or well, by name: its `chain`, year and source.

    Raises ValueError with the nearest name for one that is not known.

    >>> temperament("quarter-comma").chain.wolf is None, temperament("Vallotti").chain.wolf is None
    (False, True)
    """
    return look_up(name, _KNOWN, "temperament")
