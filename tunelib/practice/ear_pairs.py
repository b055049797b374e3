"""Two sounds to be compared: which is pure, which is wider or narrower, whether both are tuned the same.

And a note over a drone: on which side of its place it is. How far apart they are is chosen by what a learner hears.

Both are equally loud. Which of them comes first, and to which side one is off, is drawn for each question.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from tunelib.hearing import beat_rate
from tunelib.pitch import Tuning, cents, interval_names, plain, ratio_from_cents, times
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_settings import EarSettings, root_in
from tunelib.practice.ear_sounds import EarSound, in_turn, together

EAR_RATIOS = {
    "2/1": "octave", "3/2": "fifth", "4/3": "fourth", "5/4": "major third", "6/5": "minor third",
    "5/3": "major sixth", "7/4": "harmonic seventh", "7/6": "subminor third", "11/9": "neutral third",
}  # fmt: skip
"""Intervals by their pure ratios."""

_LONG = 3.2  # seconds, in which a beat every second or two is heard
_FASTEST_BEAT = 15.0  # a second: faster ones are a roughness, and nobody counts them
_STILL = 0.05  # beats a second that nobody waits for
_ROVING = 350.0  # cents at most between the lower notes of two intervals whose sizes are compared


def which_is_pure(item: Item, dice: np.random.Generator, settings: EarSettings, difference: float) -> QuestionAsked:
    """The same interval twice on one note: pure, and off by a difference in cents to either side."""
    ratio, name = Fraction(item.what), EAR_RATIOS[item.what]
    register, timbre, off = settings.register(dice), settings.timbre(dice), _either(dice) * difference
    low = root_in(register, dice)
    high = low * float(ratio) * ratio_from_cents(off)
    pure = EarSound(f"pure, {item.what}", together((low, low * float(ratio)), _LONG), timbre)
    mistuned = EarSound(_off(off), together((low, high), _LONG), timbre)
    right = int(dice.integers(2))
    return QuestionAsked(
        item,
        register,
        f"The same {name} twice. Which is pure?",
        (pure, mistuned) if right == 0 else (mistuned, pure),
        ("Sound 1", "Sound 2"),
        right,
        f"Sound {right + 1} is pure, {item.what}. In the other the {name} is {_off(off)}: harmonic {ratio.numerator} "
        f"of the lower note and harmonic {ratio.denominator} of the upper {in_beats(low, high, ratio)}.",
        (pure, mistuned),
        cents=difference,
    )


def which_is_wider(item: Item, dice: np.random.Generator, settings: EarSettings, difference: float) -> QuestionAsked:
    """Two intervals that differ by so many cents, on two notes: which is the wider."""
    return _by_size(item, dice, settings, difference, ("wider", "narrower"))


def which_is_narrower(item: Item, dice: np.random.Generator, settings: EarSettings, difference: float) -> QuestionAsked:
    """Two intervals that differ by so many cents, on two notes: which is the narrower."""
    return _by_size(item, dice, settings, difference, ("narrower", "wider"))


def _by_size(
    item: Item, dice: np.random.Generator, settings: EarSettings, difference: float, asked: tuple[str, str]
) -> QuestionAsked:
    """`asked` is what is asked for, and what the other one is."""
    ratio, name = Fraction(item.what), EAR_RATIOS[item.what]
    register, timbre = settings.register(dice), settings.timbre(dice)
    # The pure size is anywhere between the two, so that neither can be known by heart.
    narrow = cents(ratio) - difference * float(dice.random())
    sizes = {"narrower": narrow, "wider": narrow + difference}
    low = root_in(register, dice)
    # The lower notes differ as well, by more than the sizes do, so that the upper notes do not tell.
    lows = (low, low * ratio_from_cents(_either(dice) * _ROVING * float(dice.uniform(0.5, 1))))
    right = int(dice.integers(2))
    sounds = tuple(
        EarSound(which, in_turn((root, root * ratio_from_cents(sizes[which]))), timbre)
        for which, root in zip(asked if right == 0 else asked[::-1], lows, strict=True)
    )
    uppers = {which: low * ratio_from_cents(size) for which, size in sizes.items()}
    return QuestionAsked(
        item,
        register,
        f"Two {name}s, each note by note. Which is {asked[0]}?",
        sounds,
        ("Sound 1", "Sound 2"),
        right,
        f"Sound {right + 1} is {asked[0]}. They have {plain(sizes['narrower'])} and {plain(sizes['wider'])} cents; "
        f"pure, {item.what}, is {plain(cents(ratio))}. Held on one note, the narrower would "
        f"{in_beats(low, uppers['narrower'], ratio)}, the wider would {in_beats(low, uppers['wider'], ratio)}.",
        tuple(
            EarSound(f"{which}, {plain(sizes[which])} cents", together((low, upper), _LONG), timbre)
            for which, upper in uppers.items()
        ),
        cents=difference,
    )


def whether_the_same(item: Item, dice: np.random.Generator, settings: EarSettings, difference: float) -> QuestionAsked:
    """An interval twice, in any two of the learner's timbres and registers: of the same size, or not."""
    ratio, name = Fraction(item.what), EAR_RATIOS[item.what]
    registers, timbres = zip(*((settings.register(dice), settings.timbre(dice)) for _ in range(2)), strict=True)
    off, right = _either(dice) * difference, int(dice.integers(2))
    sizes = [cents(ratio), cents(ratio) + right * off]
    if dice.integers(2):
        sizes.reverse()
    lows = [root_in(register, dice) for register in registers]
    uppers = [low * ratio_from_cents(size) for low, size in zip(lows, sizes, strict=True)]
    told = [
        f"sound {place} had {plain(size)} cents and would {in_beats(low, upper, ratio)}"
        for place, size, low, upper in zip((1, 2), sizes, lows, uppers, strict=True)
    ]
    return QuestionAsked(
        item,
        registers[0],
        f"Two {name}s, perhaps in other sounds or places. Are they tuned the same?",
        tuple(
            EarSound(f"{plain(size)} cents", together((low, upper), _LONG), timbre)
            for size, low, upper, timbre in zip(sizes, lows, uppers, timbres, strict=True)
        ),
        ("the same", "different"),
        right,
        f"Held, {told[0]}; {told[1]}.",
        tuple(
            EarSound(words, together((lows[0], lows[0] * ratio_from_cents(size)), _LONG), timbres[0])
            for words, size in ((f"pure, {item.what}", cents(ratio)), (_off(off), cents(ratio) + off))
        ),
        cents=difference,
    )


def on_which_side(item: Item, dice: np.random.Generator, settings: EarSettings, difference: float) -> QuestionAsked:
    """A note over a drone, too low or too high for its step by a difference in cents: which of the two."""
    step, register, timbre = int(item.what), settings.register(dice), settings.timbre(dice)
    low, right = root_in(register, dice), int(dice.integers(2))
    place, off = float(settings.tuning.cents_of(step)), difference if right else -difference
    side = f"{times(difference, 'cent')} too {'high' if right else 'low'}"
    in_tune, heard = (
        EarSound(words, together((low, low * ratio_from_cents(at)), _LONG), timbre)
        for words, at in ((f"in tune, {plain(place)} cents", place), (side, place + off))
    )
    return QuestionAsked(
        item,
        register,
        f"A {name_of_step(step, settings.tuning)} over a drone, off its place. Is it too low or too high?",
        (heard,),
        ("too low", "too high"),
        right,
        f"It is {side}: {plain(place + off)} cents above the drone instead of {plain(place)}, which is step {step} of "
        f"{settings.tuning.name}.",
        (in_tune, heard),
        cents=difference,
    )


def name_of_step(step: int, tuning: Tuning) -> str:
    """The plainest name of an interval of so many steps of a tuning, or the number of steps where it has no name."""
    names = interval_names(step, tuning)
    return names[0].name if names else times(step, "step")


def in_beats(low: float, high: float, ratio: Fraction) -> str:
    """How two notes near a ratio beat, as a verb.

    >>> in_beats(220, 331, Fraction(3, 2)), in_beats(220, 330.1, Fraction(3, 2)), in_beats(220, 330, Fraction(3, 2))
    ('beat 2 times a second', 'beat once in 5 seconds', 'stand still')
    """
    rate = beat_rate(low, high, ratio)
    if rate < _STILL:
        return "stand still"
    if rate > _FASTEST_BEAT:
        return "rub, too fast to count"
    return f"beat {plain(rate)} times a second" if rate >= 1 else f"beat once in {times(1 / rate, 'second')}"


def _either(dice: np.random.Generator) -> int:
    """Up or down: 1 or -1."""
    return 1 if dice.integers(2) else -1


def _off(cents_off: float) -> str:
    return f"{times(abs(cents_off), 'cent')} {'wide' if cents_off > 0 else 'narrow'}"
