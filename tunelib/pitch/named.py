"""The intervals and commas that have names, as exact ratios.

The core is A. J. Ellis's table, from which most English names come: Helmholtz, *On the Sensations of Tone*, 2nd
English edition 1885, Appendix XX, section D, "Table of intervals not exceeding one octave". His names were set down
here from memory; the ratios are exact by definition, and the tests rebuild them from fifths, thirds and
octaves. Names marked "common practice" are current in books on tuning and have no one inventor; those marked "named
here" had no name in general use, and say what they are.

Where two ratios share a name in different books, the name goes with the ratio that Ellis or most books give it, and
the rest of its names tell them apart. A *comma* here is anything smaller than the small semitone 25/24: what is left
over when two ways of tuning one note disagree.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

import numpy as np

from tunelib.pitch.intervals import FloatArray, RatioLike, cents, exact_ratio, finite_cents, shortened
from tunelib.pitch.lookup import look_up

Kind: TypeAlias = Literal["interval", "comma"]


@dataclass(frozen=True)
class NamedInterval:
    """A named interval.

    Parameters
    ----------
    ratio : Fraction
        Exact, 1 or more.
    name : str
        The name it is printed with.
    other_names : tuple of str
        Names that are looked up too.
    kind : str
        ``"interval"``, or ``"comma"`` if it is smaller than the small semitone 25/24.
    source : str
        Who names it so.
    """

    ratio: Fraction
    name: str
    other_names: tuple[str, ...]
    kind: Kind
    source: str

    @property
    def cents(self) -> float:
        """Size in cents."""
        return cents(self.ratio)


_SMALLEST_INTERVAL = Fraction(25, 24)

_SOURCES = {
    "E": "Ellis 1885, in Helmholtz, On the Sensations of Tone, Appendix XX, section D (name from memory)",
    "C": "common practice",
    "H": "Mercator, in Holder 1694, A Treatise of the Natural Grounds and Principles of Harmony (from memory)",
    "T": "Tanaka 1890, Studien im Gebiete der reinen Stimmung (from memory)",
}

_MERCATOR = f"{3**53}/{2**84}"

_TABLE = f"""
1/1           | E | unison                     | prime, perfect unison
32805/32768   | E | skhisma                    | schisma
{_MERCATOR}   | H | Mercator's comma           |
243/242       | named here: 27/22 less 11/9 | difference of the neutral thirds |
225/224       | C | septimal kleisma           |
15625/15552   | T | kleisma                    |
1029/1024     | named here: 3/2 less three times 8/7 | fifth less three septimal tones |
2109375/2097152 | C | semicomma                | Fokker's comma
126/125       | C | septimal semicomma         |
121/120       | named here: 11/10 less 12/11 | difference of the neutral seconds |
2048/2025     | E | diaskhisma                 | diaschisma
81/80         | E | comma of Didymus           | syntonic comma, comma, Didymean comma
531441/524288 | E | Pythagorean comma          | ditonic comma
64/63         | E | septimal comma             | Archytas' comma
3125/3072     | C | small diesis               |
50/49         | C | septimal sixth-tone        | tritonic diesis
49/48         | C | septimal diesis            |
128/125       | E | great diesis               | enharmonic diesis, lesser diesis, diesis
36/35         | E | septimal quarter-tone      |
33/32         | C | undecimal comma            | undecimal quarter-tone
648/625       | C | greater diesis             |
27/26         | C | tridecimal third-tone      |
25/24         | E | small semitone             | chromatic semitone, lesser chromatic semitone
21/20         | E | subminor second            |
256/243       | E | Pythagorean limma          | limma, Pythagorean minor second, Pythagorean diatonic semitone
135/128       | E | larger limma               | greater chromatic semitone
17/16         | C | 17th harmonic              | seventeenth harmonic
16/15         | E | diatonic semitone          | just semitone, minor second, just minor second
15/14         | C | septimal semitone          | septimal diatonic semitone
2187/2048     | E | Pythagorean apotome        | apotome, Pythagorean chromatic semitone
27/25         | E | great limma                |
12/11         | C | lesser neutral second      | undecimal neutral second
11/10         | C | greater neutral second     |
65536/59049   | E | Pythagorean diminished third |
10/9          | E | minor tone                 | lesser tone, lesser whole tone
9/8           | E | major tone                 | greater tone, whole tone, major second, Pythagorean major second
256/225       | E | diminished third           |
8/7           | E | supersecond                | septimal tone, septimal whole tone, supermajor second
7/6           | E | subminor third             | septimal minor third
75/64         | E | augmented tone             | augmented second
32/27         | E | Pythagorean minor third    |
19/16         | C | 19th harmonic              | nineteenth harmonic
6/5           | E | just minor third           | minor third
11/9          | C | neutral third              | undecimal neutral third
27/22         | E | wosta of Zalzal            | Zalzal's wosta, greater neutral third
5/4           | E | just major third           | major third
16/13         | C | 13th subharmonic           | thirteenth undertone
81/64         | E | Pythagorean major third    | ditone
32/25         | E | diminished fourth          |
9/7           | E | supermajor third           | septimal major third
21/16         | C | 21st harmonic              | twenty-first harmonic, septimal fourth
4/3           | E | fourth                     | perfect fourth, just fourth, diatessaron
27/20         | E | acute fourth               |
11/8          | E | 11th harmonic              | eleventh harmonic
25/18         | E | superfluous fourth         |
7/5           | E | subminor fifth             | septimal diminished fifth, lesser septimal tritone
1024/729      | C | Pythagorean diminished fifth |
45/32         | E | tritone                    | just tritone, augmented fourth, false fourth
64/45         | E | diminished fifth           | just diminished fifth, false fifth
729/512       | E | Pythagorean tritone        | Pythagorean augmented fourth
10/7          | C | septimal tritone           | greater septimal tritone
36/25         | E | acute diminished fifth     |
16/11         | C | 11th subharmonic           | eleventh undertone
40/27         | E | grave fifth                |
3/2           | E | fifth                      | perfect fifth, just fifth, diapente
32/21         | C | 21st subharmonic           | twenty-first undertone
14/9          | E | subminor sixth             | septimal minor sixth
25/16         | E | augmented fifth            | superfluous fifth
128/81        | E | Pythagorean minor sixth    |
8/5           | E | minor sixth                | just minor sixth
13/8          | E | 13th harmonic              | thirteenth harmonic
18/11         | C | neutral sixth              | undecimal neutral sixth
5/3           | E | major sixth                | just major sixth
27/16         | E | Pythagorean major sixth    |
12/7          | E | supermajor sixth           | septimal major sixth
128/75        | E | diminished seventh         |
7/4           | E | natural seventh            | harmonic seventh, subminor seventh, 7th harmonic
225/128       | E | augmented sixth            | extreme sharp sixth
16/9          | E | Pythagorean minor seventh  |
9/5           | E | acute minor seventh        | minor seventh, just minor seventh
11/6          | C | neutral seventh            | undecimal neutral seventh
15/8          | E | just major seventh         | major seventh
243/128       | E | Pythagorean major seventh  |
48/25         | C | diminished octave          |
27/14         | C | supermajor seventh         | septimal major seventh
2/1           | E | octave                     | perfect octave, diapason
32/15         | C | minor ninth                |
9/4           | C | major ninth                |
12/5          | C | minor tenth                |
5/2           | C | major tenth                | tenth
8/3           | C | eleventh                   | perfect eleventh
3/1           | C | twelfth                    | perfect twelfth
16/5          | C | minor thirteenth           |
10/3          | C | major thirteenth           | thirteenth
7/2           | C | natural fourteenth         | harmonic fourteenth
4/1           | C | double octave              | fifteenth
5/1           | C | seventeenth                | major seventeenth
6/1           | C | nineteenth                 | perfect nineteenth
8/1           | C | triple octave              | twenty-second
"""


def _read_table() -> tuple[NamedInterval, ...]:
    found = []
    for line in _TABLE.strip().splitlines():
        ratio_text, source, name, others = (cell.strip() for cell in line.split("|"))
        ratio = Fraction(ratio_text)
        kind: Kind = "comma" if 1 < ratio < _SMALLEST_INTERVAL else "interval"
        other_names = tuple(other.strip() for other in others.split(",") if other.strip())
        found.append(NamedInterval(ratio, name, other_names, kind, _SOURCES.get(source, source)))
    return tuple(sorted(found, key=lambda named: named.ratio))


NAMED: tuple[NamedInterval, ...] = _read_table()
"""Every named interval, ascending."""

_BY_NAME = {named.name: named for named in NAMED} | {other: named for named in NAMED for other in named.other_names}
_BY_RATIO = {named.ratio: named for named in NAMED}


def named_interval(name: str) -> NamedInterval:
    """The interval of a name; capitals and hyphens do not matter.

    Raises ValueError with the nearest names known.

    >>> named_interval("Syntonic comma").ratio
    Fraction(81, 80)
    """
    return look_up(name, _BY_NAME, "interval")


def name_of(ratio: RatioLike) -> str | None:
    """The name of an exact ratio, or None if it has none here. An interval down has the name of the same one up.

    Raises ValueError for a float, or for a ratio of zero or less.

    >>> name_of("7/4"), name_of("4/5"), name_of("97/89")
    ('natural seventh', 'just major third', None)
    """
    exact = exact_ratio(ratio)
    found = _BY_RATIO.get(max(exact, 1 / exact))
    return None if found is None else found.name


def nearest_named(cents: float, kind: Kind = "interval") -> tuple[NamedInterval, float]:
    """The named interval nearest to a size, and how far off it is.

    Parameters
    ----------
    cents : float
        Size of the interval in cents, 0 or more.
    kind : str
        Whether to look among the ``"interval"`` or the ``"comma"`` names.

    Returns
    -------
    (NamedInterval, float)
        The error is the named interval minus the size, in cents, as in `Tuning.nearest`. The table ends at three
        octaves: beyond, take the octaves off first. Of two equally near, the smaller.

    Raises ValueError for a negative or infinite size, or another kind.

    >>> named, error = nearest_named(1200 * 25 / 31)
    >>> named.name, round(error, 3)
    ('natural seventh', 1.084)
    """
    size = finite_cents(cents)
    if size.ndim or size < 0:
        raise ValueError(f"an interval's size is one number of cents, 0 or more, not {shortened(cents)}")
    if kind not in _SIZES:
        raise ValueError(f"the kind of a named interval is 'interval' or 'comma', not {shortened(kind)}")
    candidates, sizes = _SIZES[kind]
    best = int(np.argmin(np.abs(sizes - size)))
    return candidates[best], float(sizes[best] - size)


def _of_kind(kind: Kind) -> tuple[tuple[NamedInterval, ...], FloatArray]:
    chosen = tuple(named for named in NAMED if named.kind == kind)
    return chosen, np.array([named.cents for named in chosen])


_SIZES = {kind: _of_kind(kind) for kind in ("interval", "comma")}
