"""Why a chord of a retuned tune is as it is, in one sentence for musicians."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from tunelib.harmony.best_path import Indices
from tunelib.harmony.candidates import Candidates, rubs
from tunelib.harmony.choices import Choice
from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import Sign
from tunelib.harmony.meanings import degree_step, interval_of, same_step
from tunelib.harmony.playable import small_step, small_step_word
from tunelib.harmony.symbols import Degree
from tunelib.harmony.taste import Taste
from tunelib.harmony.variants import Variant
from tunelib.pitch import Tuning, listed, times

_TELLING = 0.05  # cents: a smaller difference of purity is none


def why(
    sign: Sign,
    found: Candidates,
    chosen: int,
    moves: npt.NDArray[np.int16] | None,
    choice: Choice | None,
    taste: Taste,
    allowed: Indices,
) -> str:
    """The sentence for one realisation of a sign.

    Parameters
    ----------
    sign : Sign
    found : Candidates
    chosen : int
        Which of their realisations.
    moves : array of int or None
        Steps that each upper voice moved from the chord before; None for the first.
    choice : Choice or None
        What the player has decided.
    taste : Taste
    allowed : array of int
        The realisations that the tuning of the symbol allows here.
    """
    number, _, shift = found.which[chosen].tolist()
    variant, tuning = found.variants[number], found.tuning
    said = [f"{variant.chord}{', chosen by hand' if choice else ''}{_differences(variant, sign, shift, tuning)}"]
    said += _respelled(sign, tuning) + _untold(variant.chord, tuning)
    if choice is None and len(set(found.column.tunings[allowed].tolist())) > 1:
        forbidden = [one for one, count in zip(found.variants, found.clashes, strict=True) if count]
        said.append(f"not as elsewhere, because of the {_rubbing(forbidden, sign, tuning)} in the melody")
    said.append(f"its pairs are {variant.purity:.1f} cents off on the whole{_beside(variant, found)}")
    if moves is not None:
        stay = int(np.sum(moves == 0))
        kept = "none stays" if not stay else f"{times(stay, 'voice')} stay{'s' * (stay == 1)}"
        said.append(f"the upper voices move {times(int(moves.sum()), 'step')}, {kept}")
    said += _given_up(variant, found, number, sign, taste)
    if clashes := found.clashes[number]:
        said.append(
            f"{'a note' if clashes == 1 else f'{clashes} notes'} of the melody rub{'s' * (clashes == 1)} against it"
        )
    return f"{'; '.join(said)}."


def _beside(variant: Variant, found: Candidates) -> str:
    written = found.variants[0]
    return f", as written {written.purity:.1f}" if variant is not written and not written.moves else ""


def _differences(variant: Variant, sign: Sign, shift: int, tuning: Tuning) -> str:
    """What of a chord was moved from what is meant."""
    moved = degrees_moved(sign.meant, variant.chord, tuning)
    if shift:
        count, word = abs(shift) // small_step(tuning), small_step_word(tuning)
        far = f"a {word}" if count == 1 else f"{count} {'dieses' if word == 'diesis' else 'commas'}"
        moved.append(f"its root {far} {'higher' if shift > 0 else 'lower'}")
    if moved:
        return f", {listed(moved)}"
    return " as written" if variant.chord == sign.timed.chord else ""


def degrees_moved(meant: Chord, tuned: Chord, tuning: Tuning) -> list[str]:
    """In words, which degrees of a chord are moved and by how many steps; another root alone says nothing.

    >>> from tunelib.pitch import equal
    >>> degrees_moved(Chord.parse("Cm7"), Chord.parse("Csubharm7"), equal(31))
    ['its third a step lower', 'its seventh a step lower']
    """
    before, after = _by_number(meant), _by_number(tuned)
    said = []
    for number in sorted(before.keys() & after.keys()):
        for was, now in zip(before[number], after[number], strict=False):
            steps = degree_step(now, tuning) - degree_step(was, tuning)
            if steps:
                count = "a step" if abs(steps) == 1 else f"{abs(steps)} steps"
                said.append(f"its {interval_of(was).number} {count} {'higher' if steps > 0 else 'lower'}")
    return said


def _by_number(chord: Chord) -> dict[int, list[Degree]]:
    found: dict[int, list[Degree]] = {}
    for degree in sorted(chord.degrees):
        found.setdefault(degree[0], []).append(degree)
    return found


def _respelled(sign: Sign, tuning: Tuning) -> list[str]:
    """Which degrees are spelled as the melody has them."""
    written, meant = sign.timed.chord.degrees, sign.meant.degrees
    names = [sign.meant.root.transpose(interval_of(degree)).name for degree in sorted(meant - written)]
    return [f"with {listed(names)}, as the melody spells it"] if names else []


def _untold(chord: Chord, tuning: Tuning) -> list[str]:
    """What the chord asks for and the tuning does not tell from something plainer."""
    said = []
    for degree in sorted(chord.degrees):
        if plainer := same_step(degree, tuning):
            said.append(f"{interval_of(degree).name} and {interval_of(plainer).name} are one step of {len(tuning)}")
    return said


def _rubbing(variants: Iterable[Variant], sign: Sign, tuning: Tuning) -> str:
    """The names of the notes of the melody that rub against one of some variants."""
    size = len(tuning)
    names = [
        note.name for note in sign.notes if any(rubs(one.chord, [note.step(tuning) % size], tuning) for one in variants)
    ]
    return listed(dict.fromkeys(names))


def _given_up(variant: Variant, found: Candidates, number: int, sign: Sign, taste: Taste) -> list[str]:
    """The purest chord that was tried, if it is another, and what spoke against it."""
    purest = min(range(len(found.variants)), key=lambda place: found.variants[place].purity)
    other = found.variants[purest]
    if other.purity >= variant.purity - _TELLING:
        return []
    if not taste.clashes and found.clashes[purest] > found.clashes[number]:
        reason = f"the {_rubbing([other], sign, found.tuning)} in the melody would rub against it"
    elif other.price > variant.price:
        reason = "it is farther from what is written"
    else:
        reason = "the voices, the sound or the taste for colour speak against it"
    return [f"{other.chord} would be purer by {variant.purity - other.purity:.1f} cents, but {reason}"]
