"""Every number in the prose of lesson 05, and what it is worked out from."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np

from said.table import Table
from said.worked import (
    TWELVE,
    bargain,
    from_thirty_one,
    from_twelve,
    less_than,
    more_than,
    shown,
    stands_out,
    step_about,
    steps,
    worst,
)
from tunelib import (
    largest_error,
    named_interval,
    odd_limit,
    odd_limit_intervals,
    prime_limit,
)
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.dividing import PIANO_OCTAVE, RULE_OF_THUMB
from tunelib.pitch.divisions import frontier
from tunelib.pitch.frets import SCALE_LENGTH, fret_gaps, fret_places
from tunelib.practice.practice_card import QUESTIONS_ON_A_CARD


def best_up_to(limit: int, after: int) -> tuple[int, int]:
    """The first division past one that is nearer to all intervals with odd numbers up to a limit than any before it."""
    divisions = np.arange(1, 101)
    best = frontier(divisions, largest_error(divisions, odd_limit_intervals(limit)))
    by_hand = next(
        n for n in range(after + 1, 101) if worst(n, limit) < min(worst(fewer, limit) for fewer in range(1, n))
    )
    return int(best[best > after][0]), by_hand


WINNERS = {price / 10: int(bargain(price / 10, 7)[0]) for price in range(21)}
"""The division that wins at each price in cents a note, the dearest last."""

TABLE = Table(
    claims={
        "If twelve steps miss": [TWELVE],
        "made of odd numbers up to 7, such as 3/2, 5/4 and 7/6": [
            odd_limit("7/6"),
            *(Fraction(ratio) for ratio in ("3/2", "5/4", "7/6") if odd_limit(ratio) <= 7),
        ],
        "(Factors of 2 do not count: they only move a note by octaves.)": [named_interval("octave").ratio],
        "the block in it is 5 cents": [shown("finer_steps", "# cents each", division=240)],
        "a guitar string of 650 mm": [SCALE_LENGTH],
        "Move to 240. Steps of 5 cents, at last": [1200 / RULE_OF_THUMB, 1200 / 240],
        "frets less than two millimetres apart": [more_than(float(fret_gaps(240).max()))],
        "an octave is more than three metres wide": [less_than(240 * PIANO_OCTAVE / 12 / 1000)],
        "on the twelve keys of step 12": [TWELVE, step_about("misses")],
        "the first of thirty-one frets": [len(fret_places(31))],
        "5 is thirds, fourths, fifths and sixths": [max(map(odd_limit, ("6/5", "5/4", "4/3", "3/2", "5/3", "8/5")))],
        "7 brings in the seventh harmonic": [odd_limit("7/4"), prime_limit("7/4")],
        "11 the eleventh": [odd_limit("11/8")],
        "the chord 4:5:6:7": [
            4 * note.hertz / 261.6256 for note in EXHIBITS["all_divisions"].score(limit="7", division=31).notes[4:]
        ],
        "How long does 31 stay the winner?": [bargain(0.4, 7)],
        "Its fifth is 5.2 cents narrow": [tuple(-cents for cents in from_thirty_one("3/2"))],
        "its seventh harmonic within about a cent": lambda seven: [
            prime_limit(Fraction(seven)) * (abs(from_thirty_one(f"{seven}/4")[1]) < 1.15),
        ],
        "and there 12 beats it": [12 if from_twelve(3)[0] < abs(from_thirty_one("3/2")[0]) else 0],
        "its eleventh harmonic is 9.4 cents flat, its thirteenth 11.1 sharp": lambda eleven, flat, sharp: [
            eleven,
            -from_thirty_one(f"{eleven}/8")[1],
            from_thirty_one("13/8"),
        ],
        "Choose 9 under Odd numbers up to, and set A note must earn to 2 cents: 12 wins": lambda limit, price, wins: [
            limit,
            price,
            bargain(price, limit),
        ],
        "lower the price until 31 wins": [bargain(0.6, 9)],
        "Steps of 5 cents would need 240 notes": [RULE_OF_THUMB, 1200 / RULE_OF_THUMB],
        "far better than their neighbours: 12, 19, 31, 53": [stands_out(n) for n in (12, 19, 31, 53)],
        "With odd numbers up to 7, nothing below 31 comes closer": lambda limit, below: [limit, best_up_to(limit, 27)],
        "than its 6 cents": [(largest_error(31, odd_limit_intervals(7)), worst(31, 7))],
        "nothing beats it until 68": [best_up_to(7, 31)],
        "a fifth that is 5.2 cents narrow": [-from_thirty_one("3/2")[0]],
        "exactly two notes between it and the fourth above": [steps("F") - steps("E") - 1],
        "Three questions for your ear": [QUESTIONS_ON_A_CARD],
        "about 165 mm, and a string of 650 mm": [PIANO_OCTAVE, SCALE_LENGTH],
    },
    settings=[
        ("Move to 240", "finer_steps", "division"),
        ("5 is thirds", "all_divisions", "limit"),
        ("7 brings in", "all_divisions", "limit"),
        ("11 the eleventh", "all_divisions", "limit"),
        ("Find 12, 19, 31 and 53", "all_divisions", "division"),
        ("What happens to 31", "all_divisions", "division"),
        ("Flip between 12 and 31", "all_divisions", "division"),
        ("when you go from 7 to 11?", "all_divisions", "limit"),
        ("Choose 9 under Odd numbers up to", "the_trade", "limit"),
        ("set A note must earn to 2 cents", "the_trade", "price"),
    ],
    given=["Here are nineteen steps", "in place of the 19", "with odd numbers up to 7, by hand"],
    counted=["plays one step up and back", "the two take turns"],
    shown={
        "All other dots are above the line": all(
            worst(n, 7) + price * n > worst(winner, 7) + price * winner
            for price, winner in WINNERS.items()
            for n in range(5, 101)
            if n != winner
        ),
        "few notes win": list(WINNERS.values()) == sorted(WINNERS.values(), reverse=True),
        "the winner jumps, it does not creep": all(
            before == after or before - after > 1 for before, after in pairwise(WINNERS.values())
        ),
        "every fret leaves the same share of the string that the one before it left": bool(
            np.allclose(np.diff(np.log(1 - fret_places(31, 1))), -np.log(2) / 31)
        ),
    },
    bibliography=["Tuning and Temperament: A Historical Survey, 1951"],
)
