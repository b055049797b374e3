"""The scales that players lay over chords: one table, each scale written in degrees, so that it is there in any tuning.

A degree is a number counted from 1 in letters, with signs as in chord symbols: ``b3`` a minor third, ``hb7`` a neutral
seventh, ``bhb7`` the harmonic one. What each is heard as, and by which step, is said by `tunelib.harmony.meanings`.
`over` names the chords with which a scale is usually paired, by what follows the root of their symbols.

The pairs of chord and scale are common practice (M. Levine, *The Jazz Theory Book*, 1995; B. Nettles and R. Graf, *The
Chord Scale Theory and Jazz Harmony*, 1997; both from memory). The blues scale with measured means has those that
`tunelib.pitch.blues` gives with their source, each as the degree that is nearest in thirty-one. Versions with harmonic
sevenths, subminor, neutral and supermajor thirds are our own: a usual scale in which some degrees are moved to the
ratio that the chord has.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from tunelib.harmony.symbol_words import WORDS, Degree
from tunelib.pitch import shortened

COMMON = "common practice"
MEASURED = "means of measured performances"
OURS = "our own"

_DEGREE = re.compile(r"([#bhx]*)([1-7])")


@dataclass(frozen=True)
class ScaleKind:
    """A scale: its name, its degrees as they are typed, the chords it is usually laid over, and where that is from.

    `ratios` has what a degree stands for where that is another ratio than in a chord. Raises ValueError for degrees
    that cannot be read, or that do not begin with 1, and for a name with a comma, which would read as two in a list.

    >>> ScaleKind("dorian", "1 2 b3 4 5 6 b7").parsed[2]
    (3, -2)
    """

    name: str
    degrees: str
    over: tuple[str, ...] = ()
    source: str = COMMON
    ratios: Mapping[Degree, Fraction] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if "," in self.name:
            raise ValueError(f"a scale stands in lists by its name, so there is no comma in it: {shortened(self.name)}")
        if not isinstance(self.degrees, str):
            raise ValueError(
                f"the degrees of a scale are text such as '1 2 b3 4 5 6 b7', not {shortened(self.degrees)}"
            )
        if self.parsed[:1] != ((1, 0),):
            raise ValueError(f"the degrees of a scale begin with 1, not {shortened(self.degrees)}")

    @property
    def parsed(self) -> tuple[Degree, ...]:
        """Its degrees: numbers, each with its half-sharps."""
        return tuple(map(_read, self.degrees.split()))


def _read(word: str) -> Degree:
    match = _DEGREE.fullmatch(word)
    if match is None or match[1] not in WORDS.sign.values():
        raise ValueError(f"{shortened(word)} is not a degree of a scale: write 1 to 7 with a sign, such as b3 or bhb7")
    return int(match[2]), WORDS.half_sharps(match[1])


SCALE_KINDS = (
    ScaleKind("major", "1 2 3 4 5 6 7", ("", "maj7", "maj9", "6", "69")),
    ScaleKind("lydian", "1 2 3 #4 5 6 7", ("maj7#11", "maj7", "maj9#11")),
    ScaleKind("lydian harmonic 11", "1 2 3 h#4 5 6 7", ("maj7h#11",), OURS),
    ScaleKind("lydian augmented", "1 2 3 #4 #5 6 7", ("maj7#5",)),
    ScaleKind("mixolydian", "1 2 3 4 5 6 b7", ("7", "9", "13", "7sus4", "9sus4", "13sus4")),
    ScaleKind("lydian dominant", "1 2 3 #4 5 6 b7", ("7#11", "9#11", "7")),
    ScaleKind("mixolydian flat 6", "1 2 3 4 5 b6 b7", ("7b13", "9b13")),
    ScaleKind("mixolydian harmonic 7", "1 2 3 4 5 6 bhb7", ("harm7", "harm9"), OURS),
    ScaleKind("mixolydian harmonic 7 low 4", "1 2 3 hb4 5 6 bhb7", ("harm7", "harm9"), OURS),
    ScaleKind(
        "overtone", "1 2 3 h#4 5 hb6 bhb7", ("harm7h#11", "harm9h#11", "harm7"), OURS, {(6, -1): Fraction(13, 8)}
    ),
    ScaleKind("dorian", "1 2 b3 4 5 6 b7", ("m7", "m9", "m11", "m6", "m69", "m")),
    ScaleKind("aeolian", "1 2 b3 4 5 b6 b7", ("m", "m7")),
    ScaleKind("phrygian", "1 b2 b3 4 5 b6 b7", ("7sus4b9",)),
    ScaleKind("subminor dorian", "1 2 bhb3 4 5 6 bhb7", ("subharm7", "sub"), OURS),
    ScaleKind("neutral", "1 hb2 hb3 4 5 hb6 hb7", ("neumid7", "neu"), OURS),
    ScaleKind("supermajor", "1 h#2 h#3 4 5 h#6 h#7", ("supwide7", "sup"), OURS),
    ScaleKind("melodic minor", "1 2 b3 4 5 6 7", ("mmaj7", "m6")),
    ScaleKind("harmonic minor", "1 2 b3 4 5 b6 7", ("mmaj7",)),
    ScaleKind("locrian natural 2", "1 2 b3 4 b5 b6 b7", ("m7b5",)),
    ScaleKind("locrian", "1 b2 b3 4 b5 b6 b7", ("m7b5",)),
    ScaleKind("altered", "1 b2 b3 b4 b5 b6 b7", ("7alt",)),
    ScaleKind("altered with the chord's third", "1 b2 b3 3 b5 b6 b7", ("7alt",)),
    ScaleKind("harmonic altered", "1 b2 #2 3 #4 #5 bhb7", ("harm7#5b9#9#11", "harm7#5#9", "harm7#5b9"), OURS),
    ScaleKind("whole-tone", "1 2 3 #4 #5 b7", ("7#5", "9#5")),
    ScaleKind("whole-tone harmonic 7", "1 2 3 #4 #5 bhb7", ("harm7#5", "harm9#5"), OURS),
    ScaleKind("half-whole", "1 b2 b3 3 #4 5 6 b7", ("7b9", "13b9", "7b9#11", "7#9", "7b9#9")),
    ScaleKind("harmonic half-whole", "1 b2 #2 3 #4 5 6 bhb7", ("harm7#9", "harm7b9", "harm7b9#9"), OURS),
    ScaleKind("harmonic minor from its fifth", "1 b2 3 4 5 b6 b7", ("7b9b13", "7b9")),
    ScaleKind("whole-half", "1 2 b3 4 b5 b6 bb7 7", ("dim7", "dim")),
    ScaleKind("blues as written", "1 b3 4 b5 5 b7", ("7", "9", "m7")),
    ScaleKind("blues as measured", "1 b3 4 #4 5 hb7", ("7",), MEASURED),
    ScaleKind("harmonic blues", "1 bhb3 4 h#4 5 bhb7", ("harm7", "subharm7"), OURS),
)
"""The table. Of scales that a tuning plays on the same steps, the first gives the name."""
