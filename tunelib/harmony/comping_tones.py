"""Which notes of a chord the upper voices of a rhythm section have (common practice of jazz arranging).

They keep what gives the chord its name: third (or what is suspended for it) and seventh or sixth first, then altered
degrees, additions, the fifth. The root is left to the bass where the chord has a seventh; only where four parts are in
the nature of the style may it be one of them. Of several ninths one is enough, and an addition may be left out, where
the melody would rub against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tunelib.harmony.chords import Chord
from tunelib.harmony.comping_styles import STYLES
from tunelib.harmony.meanings import interval_of
from tunelib.harmony.symbols import Degree

_FEWEST = 3  # voices of a triad
_LEFT_OUT = 1.0  # points, for an addition that is left out


def upper_tones(chord: Chord, style: str) -> tuple[tuple[tuple[Degree, ...], float], ...]:
    """Which degrees the upper voices can have, each choice with what it costs in points; the best first.

    >>> upper_tones(Chord.parse("C9"), "rootless")[:2]
    ((((3, 0), (5, 0), (7, -2), (9, 0)), 0.0), (((3, 0), (5, 0), (7, -2)), 1.0))
    >>> [upper_tones(Chord.parse("Cmaj7"), style)[0][0] for style in ("rootless", "shells", "drop 2")]
    [((3, 0), (5, 0), (7, 0)), ((3, 0), (7, 0)), ((1, 0), (3, 0), (5, 0), (7, 0))]
    """
    voices = STYLES[style].voices
    degrees = chord.degrees
    numbers = {number for number, _ in degrees}
    with_seventh = 7 in numbers
    thirds = [degree for degree in degrees if degree[0] in (3, 2, 4)]
    if (3, 0) in degrees and (11, 0) in degrees:  # a minor ninth apart, and the eleventh says more
        thirds = []
    essential = [*sorted(thirds), *(degree for degree in degrees if degree[0] in (6, 7))]
    if chord.bass is not None:
        bass = [degree for degree in essential if _name(chord, degree) == chord.bass.name]
        essential = [degree for degree in essential if degree not in bass]
    fifths = [degree for degree in degrees if degree[0] == 5]
    altered = [degree for degree in fifths if degree[1] and voices > 2]
    if with_seventh and (7, -4) in degrees:
        altered = fifths
    additions = sorted(degree for degree in degrees if degree[0] >= 9)
    plain = [degree for degree in fifths if degree not in altered and not _against(degree, additions)]
    half_diminished = {(3, -2), (5, -2)} <= degrees
    with_root = STYLES[style].with_root or not with_seventh or chord.bass is not None or half_diminished
    root = [(1, 0)] if with_root and (voices > 2 or len(essential) < voices) else []
    if voices == 2 and not with_seventh and 6 not in numbers:
        additions, root = [], [(1, 0)] if chord.bass is not None or not fifths else []
    found: dict[tuple[Degree, ...], float] = {}
    for cost, chosen in _choices(additions):
        order = [*essential, *altered, *_altered_first(chosen), *(root if chord.bass else []), *plain, *root]
        chosen_tones = list(dict.fromkeys(order))[:voices] or [(1, 0)]
        if len(chosen_tones) < min(voices, _FEWEST) and not with_seventh:
            chosen_tones.append((1, 0))  # twice: a triad over its third, or a bare fifth
        found.setdefault(tuple(sorted(chosen_tones)), cost)
    return tuple(found.items())


def _choices(additions: Sequence[Degree]) -> list[tuple[float, list[Degree]]]:
    """The additions with one ninth of several, since ♭9 beside ♯9 is a cluster; and with one of these left out."""
    ninths = [degree for degree in additions if degree[0] in (9, 10)]
    others = [degree for degree in additions if degree[0] not in (9, 10)]
    whole = [[*others, ninth] for ninth in ninths] or [others]
    fewer = [[degree for degree in one if degree != out] for one in whole for out in one]
    return [*((0.0, one) for one in whole), *((_LEFT_OUT, one) for one in fewer)]


def _name(chord: Chord, degree: Degree) -> str:
    return chord.root.transpose(interval_of(degree)).name


def _against(fifth: Degree, additions: Iterable[Degree]) -> bool:
    """Whether a fifth is a semitone from one of the additions: 5 with ♭13, or with ♯11."""
    return fifth == (5, 0) and any(degree in ((13, -2), (13, -1)) for degree in additions)


def _altered_first(additions: Iterable[Degree]) -> list[Degree]:
    """A flat thirteenth before an altered ninth, and those before what is plain or a sharp eleventh."""

    def rank(degree: Degree) -> tuple[int, Degree]:
        number, offset = degree
        return (
            0 if number == 13 and offset else 1 if number in (9, 10) and offset else 2 if number != 11 else 3
        ), degree

    return sorted(additions, key=rank)
