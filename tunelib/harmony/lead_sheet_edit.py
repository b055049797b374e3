"""Putting chords into a tune that is text, beside the others of their bar; all else in the text stays as it is."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import place_of_sign, signs
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.tune import LeadSheet, TimedChord
from tunelib.pitch import is_whole, shortened

_GOES_ON = (".", "/")
_TOKEN = re.compile(r"\S+")
_BAR_LINE = re.compile(r":?\|{1,2}:?")


def with_chords_after(text: str, sign: int, added: Sequence[tuple[Fraction, Chord]]) -> str:
    """A lead sheet with some chords put in while one of its chords lasts.

    Parameters
    ----------
    text : str
        A lead sheet, as `tunelib.harmony.lead_sheet` tells.
    sign : int
        The number of the chord's sign.
    added : sequence of (Fraction, Chord)
        Beats after its beginning, rising, and what is played from there on, up to the next or to the end of the chord.

    Returns the text, in which that bar alone is written otherwise: with a share for each beat or part of a beat that it
    needs. Read again, it is the same tune but for these chords. Raises ValueError where that cannot be, as when the
    chord goes on into the next bar or a % repeats its own, or for a sign that is not there.

    >>> print(with_chords_after("| Dm7 G7 | Cmaj7 |", 0, [(Fraction(1), Chord.parse("Dmharm7"))]))
    | Dm7 Dmharm7 G7 . | Cmaj7 |
    """
    sheet = parse_lead_sheet(text)
    timed = sheet.chords[place_of_sign(sheet, sign)]
    _check(added)
    wanted = _with(sheet, sign, added)
    lines = text.split("\n")
    line = lines[timed.line - 1]
    bar_lines = [(found.start(), found.end()) for found in _BAR_LINE.finditer(line)]
    begin = max((after for _, after in bar_lines if after < timed.column), default=0)
    end = min((before for before, _ in bar_lines if before >= timed.column), default=len(line))
    lines[timed.line - 1] = line[:begin] + _bar(line[begin:end], timed.column - 1 - begin, timed, added) + line[end:]
    changed = "\n".join(lines)
    try:
        same = parse_lead_sheet(changed) == wanted
    except ValueError:
        same = False
    if not same:
        raise ValueError(
            f"bar {timed.bar}: nothing can be put in after {timed.symbol}: it goes on beyond its bar, or a % repeats it"
        )
    return changed


def _check(added: Sequence[tuple[Fraction, Chord]]) -> None:
    """Raises ValueError unless these are chords, each with its beat."""
    if not isinstance(added, Sequence) or not all(
        isinstance(pair, tuple) and len(pair) == 2 and _is_placed(*pair) for pair in added
    ):
        raise ValueError(
            "what is put in is a list of beats and chords, such as [(Fraction(1), Chord.parse('G7'))], "
            f"not {shortened(added)}"
        )


def _is_placed(begin: object, chord: object) -> bool:
    return (isinstance(begin, Fraction) or is_whole(begin)) and isinstance(chord, Chord)


def _with(sheet: LeadSheet, sign: int, added: Sequence[tuple[Fraction, Chord]]) -> LeadSheet:
    """The tune as it is to be."""
    chords: list[TimedChord] = []
    for number, timed in zip(signs(sheet), sheet.chords, strict=True):
        if number != sign:
            chords.append(timed)
            continue
        places = [Fraction(0), *(place for place, _ in added), timed.duration]
        if any(after <= before for before, after in pairwise(places)):
            raise ValueError(f"{timed.symbol} lasts {timed.duration} beats: what is put in begins within them")
        here = [(timed.chord, timed.symbol), *((chord, chord.symbol) for _, chord in added)]
        for (chord, symbol), (begin, end) in zip(here, pairwise(places), strict=True):
            onset = timed.onset + begin
            chords.append(replace(timed, chord=chord, symbol=symbol, onset=onset, duration=end - begin))
    return replace(sheet, chords=tuple(chords))


def _bar(inside: str, at: int, timed: TimedChord, added: Sequence[tuple[Fraction, Chord]]) -> str:
    """What is between two bar lines, with the chords in it."""
    tokens = [(found.start(), found.group()) for found in _TOKEN.finditer(inside)]
    shares = [place for place, (_, token) in enumerate(tokens) if _is_share(token)]
    first = next((place for place, (start, _) in enumerate(tokens) if start == at), None)
    if first is None:
        return inside
    lasting = 1
    while first + lasting < len(tokens) and tokens[first + lasting][1] in _GOES_ON:
        lasting += 1
    share = timed.duration / lasting
    unit = share
    for begin, _ in added:
        unit = _common(unit, begin)
    parts = int(share / unit)
    put = {int(begin / unit): chord.symbol for begin, chord in added}
    words = [token for _, token in tokens[: shares[0]]]
    for place in shares:
        mine = [tokens[place][1], *["."] * (parts - 1)]
        if first <= place < first + lasting:
            before = (place - first) * parts
            mine = [put.get(before + n, word) for n, word in enumerate(mine)]
        words += mine
    words += [token for _, token in tokens[shares[-1] + 1 :]]
    return f" {' '.join(words)} ".ljust(len(inside))


def _is_share(token: str) -> bool:
    """Whether a word in a bar is a chord, or a sign for one."""
    if token in _GOES_ON or token.upper() == "N.C.":
        return True
    try:
        Chord.parse(token)
    except ValueError:
        return False
    return True


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The largest part of a beat that both are whole numbers of."""
    return Fraction(
        math.gcd(one.numerator * other.denominator, other.numerator * one.denominator),
        one.denominator * other.denominator,
    )
