"""How a rhythm section plays: every feel, as data. One entry in the table at the end is a feel.

Bars are separated by ``|``, as on a page, and go round for as long as the tune lasts. In a bar are hits, each written
``onset/length/accent``: in beats from the beginning of the bar, in beats, and 0 for a soft one, 1 for a plain one or 2
for an accent; ``1.5`` is the off-beat that is swung. A bass adds what it plays: ``root`` (the bass note of the chord),
``fifth`` or ``walk``. Whatever is written there, it plays the bass note where a chord begins. A hit on the off-beat
just before a chord begins is the new chord's.

Where things stand that depend on the tempo, each is what holds from that many beats a minute on; a swing ratio is drawn
straight from one tempo to the next.

**Comping, bass, lengths and velocities** are common practice, as books on comping and drumming have them; the bossa
follows N. Faria, *The Brazilian Guitar Book*, 1995.

**Swing.** A. Friberg and A. Sundström ("Swing ratios and ensemble timing in jazz performance", Music Perception 19,
2002; "Preferred swing ratio in jazz as a function of tempo", TMH-QPSR 38, 1997) measured drummers' cymbals at up to 3.5
to 1 near 120 beats a minute, falling about in a straight line to even eighths, with a short note of about a tenth of a
second at medium to fast tempi: 2 to 1 at 200, 1.5 to 1 at 240 and 1 to 1 at 300 are worked out from that. Chords and
bass are played to the cymbal's ratio from 200 on; below, where no drummer holds them to it, to triplets, which is
common practice. Soloists swing less: 1.3 to 1 over 456 solos (C. Corcoran and K. Frieler, Music Perception 38, 2021),
here 1.5 to 1 for a melody that is played from the page. Their off-beats meet the cymbal's all the same, since their
on-beats come late (Friberg and Sundström, 2002), by about 30 ms at 150 beats a minute (C. Nelias and others,
Communications Physics 5, 2022); `tunelib.arrange.swing` does as they do.

**Counting in.** A click is a figure, a beat without one a dot (common practice).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import TypeVar

from tunelib.pitch import look_up

SOFT, PLAIN, ACCENT = range(3)
ROLES = ("root", "fifth", "walk")
_HIT = re.compile(r"(\d*\.?\d+)/(\d*\.?\d+)/([012])(?:/([a-z]+))?")
_T = TypeVar("_T")


@dataclass(frozen=True)
class Hit:
    """One hit of a pattern: where in its bar and for how long, in beats, its accent, and what a bass plays."""

    onset: Fraction
    length: Fraction
    accent: int
    role: str = ""


Bars = tuple[tuple[Hit, ...], ...]


@dataclass(frozen=True)
class Feel:
    """A way of playing a tune; how the patterns are written is said above.

    Parameters
    ----------
    name : str
    beats : int
        Of the bars that its patterns are written in. Shorter bars are cut from them and longer ones go on with the bar
        after; where a bar is a half or a third of one, several make one.
    comping : mapping of tempo to str
        When the chords are struck; empty if they are not.
    bass : mapping of tempo to str
    count_in : mapping of tempo to str
        The bars before the tune.
    swing, melody_swing : mapping of tempo to float
        How many times as long as its off-beat the first eighth of a beat is: for chords and bass, and for the melody.
    chords_velocity, bass_velocity, held_velocity, melody_velocity : int
        As in MIDI, 1 to 127, of a plain hit: of the chords as they are struck, of the bass, of the chords as they hold
        softly under it all (0: they do not), and of a melody note on the beat.
    off_beat, top : int
        How much louder an off-beat of the melody is, and the highest note of a phrase.
    eighth, clipped : float
        What sounds of an eighth note of the melody, and of the last one before a rest: 1 for all of it.

    Raises ValueError for a pattern that cannot be read or does not fit its bars, or a table that begins above tempo 0.
    """

    name: str
    beats: int
    comping: Mapping[int, str]
    bass: Mapping[int, str]
    count_in: Mapping[int, str]
    swing: Mapping[int, float] = field(default_factory=lambda: {0: 1.0})
    melody_swing: Mapping[int, float] = field(default_factory=lambda: {0: 1.0})
    chords_velocity: int = 63
    bass_velocity: int = 84
    held_velocity: int = 38
    melody_velocity: int = 88
    off_beat: int = 6
    top: int = 8
    eighth: float = 0.95
    clipped: float = 0.5

    def __post_init__(self) -> None:
        for table in (self.comping, self.bass, self.count_in, self.swing, self.melody_swing):
            if 0 not in table:
                raise ValueError(f"the feel {self.name!r}: a table that depends on the tempo begins with tempo 0")
        for patterns, plays in ((self.comping, False), (self.bass, True)):
            for text in patterns.values():
                self._read(text, plays)
        for text in self.count_in.values():
            self._read_count(text)

    def comping_at(self, tempo: float) -> Bars:
        """The bars in which the chords are struck at a tempo in beats a minute."""
        return self._read(_from(self.comping, tempo), False)

    def bass_at(self, tempo: float) -> Bars:
        """The bars of the bass at a tempo in beats a minute."""
        return self._read(_from(self.bass, tempo), True)

    def count_at(self, tempo: float) -> tuple[tuple[bool, ...], ...]:
        """Whether a click is on each beat of the bars that count the tune in."""
        return self._read_count(_from(self.count_in, tempo))

    def _read(self, text: str, plays: bool) -> Bars:
        bars = tuple(tuple(self._hit(word, plays) for word in bar.split()) for bar in text.split("|")) if text else ()
        placed = [
            (place * self.beats + hit.onset, hit.length) for place, bar in enumerate((*bars, *bars[:1])) for hit in bar
        ]
        for (onset, length), (after, _) in pairwise(placed):
            if onset + length > after:
                raise ValueError(
                    f"the feel {self.name!r}: the hit at beat {float(onset):g} of {text!r} lasts into the one at "
                    f"{float(after):g}"
                )
        return bars

    def _hit(self, word: str, plays: bool) -> Hit:
        found = _HIT.fullmatch(word)
        role = (found and found[4]) or ""
        if found is None or (role in ROLES) != plays:
            like = "1.5/.4/2/fifth" if plays else "1.5/.4/2"
            raise ValueError(
                f"the feel {self.name!r}: {word!r} is not a hit: write onset/length/accent"
                f"{', and root, fifth or walk' if plays else ''}, such as {like}"
            )
        onset, length = Fraction(found[1]), Fraction(found[2])
        if not (onset < self.beats and 0 < length <= self.beats):
            raise ValueError(f"the feel {self.name!r}: {word!r} does not fit a bar of {self.beats} beats")
        return Hit(onset, length, int(found[3]), role)

    def _read_count(self, text: str) -> tuple[tuple[bool, ...], ...]:
        bars = tuple(tuple(beat != "." for beat in bar.split()) for bar in text.split("|"))
        if any(len(bar) != self.beats for bar in bars):
            raise ValueError(f"the feel {self.name!r}: a bar of the count-in {text!r} has not {self.beats} beats")
        return bars


def _from(table: Mapping[int, _T], tempo: float) -> _T:
    """What a table has from the fastest tempo on that is not above one."""
    return table[max(start for start in table if start <= tempo)]


def ratio_at(table: Mapping[int, float], tempo: float) -> float:
    """A swing ratio at a tempo in beats a minute, on straight lines between those of a table.

    >>> [ratio_at({0: 2.0, 200: 2.0, 300: 1.0}, tempo) for tempo in (120, 250, 320)]
    [2.0, 1.5, 1.0]
    """
    below = max(start for start in table if start <= tempo)
    above = min((start for start in table if start > tempo), default=below)
    share = (tempo - below) / (above - below) if above > below else 0.0
    return table[below] + share * (table[above] - table[below])


_WALKING = "0/.96/0/walk 1/.92/1/walk 2/.96/0/walk 3/.92/1/walk"
_TWO = "0/1.7/0/root 2/1.7/0/fifth"
_CYMBAL = {0: 2.0, 200: 2.0, 240: 1.5, 300: 1.0}
_SOLOIST = {0: 1.5, 240: 1.5, 300: 1.0}
_TWO_BARS = {0: "1 . 2 . | 1 2 3 4", 200: "1 . 2 . | 1 . 2 ."}

_TABLE = (
    Feel(
        "swing",
        4,
        comping={
            0: "0/.8/1 1.5/.4/2 | .5/.4/1 2.5/.4/1 | 1.5/.4/1 3.5/.6/2 | 1/.4/1 3/.4/1 | "
            "0/.8/1 1.5/.4/2 | 2.5/1.2/2 | 1.5/.4/1 3.5/.6/2 | .5/.4/1 2.5/.4/1",
            200: "1.5/.4/2 | 3.5/1/2 | .5/.4/1 2.5/.4/2 | | 0/.4/1 2.5/.4/2 | 3.5/1/2 | 1.5/.4/2 | 2.5/1.2/2",
        },
        bass={0: _WALKING},
        count_in=_TWO_BARS,
        swing=_CYMBAL,
        melody_swing=_SOLOIST,
    ),
    Feel(
        "straight",
        4,
        comping={0: "0/.75/1 1.5/.75/1 | 0/.75/1 2.5/.75/1 | 0/.75/1 1.5/.4/1 2.5/.75/1 | 0/1.3/1 3/.75/0"},
        bass={0: f"{_TWO} | {_TWO} | {_TWO} | 0/1.7/0/root 2/.9/0/fifth 3/.9/0/walk"},
        count_in=_TWO_BARS,
    ),
    Feel(
        "ballad",
        4,
        comping={0: "0/3.8/1 | 0/1.9/1 2/1.9/0 | .5/3/1 | 0/1.9/1 2/1.9/0"},
        bass={0: f"{_TWO} | {_TWO} | {_TWO} | 0/1.7/0/root 2/1.4/0/fifth 3.5/.4/0/walk"},
        count_in={0: "1 2 3 4"},
        chords_velocity=58,
        bass_velocity=82,
        off_beat=2,
        eighth=0.98,
        clipped=0.9,
    ),
    Feel(
        "bossa",
        4,
        comping={0: "0/.5/1 1/.5/1 2.5/.9/2 | .5/.9/1 1.5/.5/1 2.5/.9/2"},
        bass={0: "0/1.4/1/root 1.5/.4/0/fifth 2/1.4/1/fifth 3.5/.4/0/root"},
        count_in=_TWO_BARS,
        clipped=0.8,
    ),
    Feel(
        "waltz",
        3,
        comping={0: "0/1.3/1 1.5/1.2/2 | 1/.4/1 2/.4/1 | 1.5/.4/2 | 2.5/.9/2 | 1/.4/1 2/.4/1 | 1.5/.4/2 | "
                    "0/1.3/1 1.5/1.2/2 | 1/.4/1 2/.4/1"},
        bass={0: "0/1.9/1/root 2/.9/0/fifth | 0/2.7/1/root | 0/1.9/1/root 2/.9/0/fifth | 0/1.9/1/root 2/.9/0/walk"},
        count_in={0: "1 . . | 1 2 3"},
        swing=_CYMBAL,
        melody_swing=_SOLOIST,
    ),
    Feel(
        "long chords",
        4,
        comping={0: ""},
        bass={0: "0/4/0/root"},
        count_in=_TWO_BARS,
        bass_velocity=88,
        held_velocity=62,
        off_beat=0,
        top=0,
        eighth=1.0,
        clipped=1.0,
    ),
)  # fmt: skip

FEELS: Mapping[str, Feel] = {feel.name: feel for feel in _TABLE}
"""The feels by their names."""

_BALLAD_BELOW = 96  # beats a minute


def suitable_feel(beats_per_bar: int, tempo: float) -> Feel:
    """The feel that a tune is played in unless another is asked for.

    In bars of 3 beats, or of several 3s, a waltz; else a ballad below 96 beats a minute, and swing from there on.

    >>> suitable_feel(3, 140).name, suitable_feel(4, 72).name, suitable_feel(4, 160).name
    ('waltz', 'ballad', 'swing')
    """
    if beats_per_bar % 3 == 0:
        return FEELS["waltz"]
    return FEELS["ballad" if tempo < _BALLAD_BELOW else "swing"]


def find_feel(name: str) -> Feel:
    """A feel by its name. Raises ValueError for another, with the nearest."""
    return look_up(name, FEELS, "feel")
