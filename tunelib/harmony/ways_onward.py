"""Ways from a chord of a tune to the next that no piano has, in the last beats of the chord."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tunelib.harmony.candidates import rubs
from tunelib.harmony.chords import Chord
from tunelib.harmony.heard import place_of_sign
from tunelib.harmony.retune import RetunedTune
from tunelib.harmony.tune import TimedChord
from tunelib.harmony.way import Way
from tunelib.harmony.ways_between import LONGEST, ways_between
from tunelib.pitch import times

MOST_ONWARD = 3
_TRIED = 12  # of which those that rub against the melody are left out
_EACH = Fraction(1)  # beats of a passing chord


@dataclass(frozen=True)
class Onward:
    """A way from a chord of a tune to the next.

    Parameters
    ----------
    way : Way
    begins : tuple of Fraction
        Beats after the beginning of the chord at which each passing chord begins, one beat each.
    price : str
        In a musician's words what it is.
    """

    way: Way
    begins: tuple[Fraction, ...]
    price: str

    @property
    def added(self) -> tuple[tuple[Fraction, Chord], ...]:
        """The passing chords, each with where it begins."""
        return tuple(zip(self.begins, self.way.passing, strict=True))


def ways_onward(tune: RetunedTune, sign: int) -> tuple[Onward, ...]:
    """The best ways from a chord to the one that comes next, three at the most.

    Parameters
    ----------
    tune : RetunedTune
    sign : int
        Of the chord, as `TimedChord.sign` has it; in a tune that came from no page, its place.

    Both chords are taken as they are tuned now. The passing chords have the last beats of the first one, which keeps
    half of its time at the least, and none of them rubs against the melody. There are none for a chord of less than two
    beats, for one that goes on into the next bar, that a % repeats, or that is followed by silence, by the end, or by
    the same chord.
    Raises ValueError for a sign that the tune does not have.
    """
    place = place_of_sign(tune.sheet, sign)
    here = tune.chords[place]
    following = tune.chords[place + 1 : place + 2]
    timed, length = here.written, tune.sheet.beats_per_bar
    if not following or following[0].written.onset != timed.end or timed.onset % length + timed.duration > length:
        return ()
    if timed.line and len({one.sign for one in tune.sheet.chords if _place(one) == _place(timed)}) > 1:
        return ()
    room = min(LONGEST, timed.duration // (2 * _EACH))
    if room < 1 or here.chord == following[0].chord:
        return ()
    try:
        ways = ways_between(here.chord, following[0].chord, tune.tuning, most=int(room), count=_TRIED)
    except ValueError:  # a chord that three or four voices cannot sing
        return ()
    found = []
    for way in ways:
        begins = tuple(timed.duration - _EACH * left for left in range(len(way.passing), 0, -1))
        if not any(_rubs(chord, timed.onset + begin, tune) for begin, chord in zip(begins, way.passing, strict=True)):
            found.append(Onward(way, begins, _price(way)))
    return tuple(found[:MOST_ONWARD])


def _place(timed: TimedChord) -> tuple[int, int]:
    """Where a chord is on its page."""
    return timed.line, timed.column


def _rubs(chord: Chord, onset: Fraction, tune: RetunedTune) -> bool:
    """Whether the melody has a note against a passing chord that rubs."""
    size = len(tune.tuning)
    sung = [note for note in tune.melody if note.onset < onset + _EACH and note.end > onset]
    return rubs(chord, {note.note.within(tune.tuning).step(tune.tuning) % size for note in sung}, tune.tuning) > 0


def _price(way: Way) -> str:
    lost = len(way.in_twelve.lost)
    said = f"{times(way.leading.total, 'step')} in all, {way.leading.largest} at most at a time"
    return f"{said}; {times(lost, 'move')} that no piano has" if lost else f"{said}; chords that no piano has"
