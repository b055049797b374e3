"""A blues of twelve bars, tuned in ways that a band can keep to: which notes each uses, and what it costs.

The bars are I7 four times, IV7 twice, I7 twice, V7, IV7 and I7 twice (common practice; there are many others). Written
C7, F7 and G7, they leave open which seventh is played. A way of tuning settles that for every bar:

* **minor sevenths**: all as written.
* **harmonic sevenths**: all are the seventh harmonic. Then the F that is the root of IV is not the F that is sung as
  the seventh of V.
* **rest and announce**: harmonic where a chord rests, minor where it leads on: in the bar before IV, and on V.
* **eight notes**: harmonics 5 to 9 of the tonic and of the fourth, and nothing else. That blue notes come from these is
  proposed by G. Kubik, *Africa and the Blues*, 1999 (seen quoted by others). The set has no third for V, which is
  suspended here; that is our choice.

Which to take is a musician's choice. What matters to a band is that all take the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import Progression
from tunelib.pitch import Note, Tuning, equal, root_mean_square, shortened, whole_number

BARS = 12
_KEYS = equal(12)
_LOWEST = Note.parse("A3")


@dataclass(frozen=True)
class TunedBlues:
    """A way to tune a blues of twelve bars in C.

    Parameters
    ----------
    name : str
    symbols : tuple of str
        A chord for each bar.
    held : str
        The chords once round, as `Progression.read` takes them: what becomes of the tonic if every chord is pure, and a
        note that two chords share on the page is held.

    Raises ValueError unless there are twelve chords.

    >>> from tunelib.pitch import THIRTY_ONE
    >>> way = TUNED_BLUES["harmonic sevenths"]
    >>> len(way.notes(THIRTY_ONE)), way.in_two_tunings(THIRTY_ONE), round(way.purity(THIRTY_ONE), 2)
    (10, {'F': (12, 13)}, 3.75)
    """

    name: str
    symbols: tuple[str, ...]
    held: str

    def __post_init__(self) -> None:
        if not isinstance(self.symbols, tuple) or len(self.symbols) != BARS:
            raise ValueError(f"a blues has a chord for each of {BARS} bars, in a tuple, not {shortened(self.symbols)}")

    @cached_property
    def chords(self) -> tuple[Chord, ...]:
        """The chord of each bar."""
        return tuple(Chord.parse(symbol) for symbol in self.symbols)

    def notes(self, tuning: Tuning) -> dict[int, Note]:
        """Every note that the chorus uses, by its step above C, rising; each as a chord spells it first."""
        found: dict[int, Note] = {}
        for chord in self.chords:
            for note in chord.notes_in(tuning):
                found.setdefault(note.step(tuning) % len(tuning), note)
        return dict(sorted(found.items()))

    def in_two_tunings(self, tuning: Tuning) -> dict[str, tuple[int, ...]]:
        """The notes that are one key of a piano, one name on the page, and more than one step here: by plain name."""
        keys: dict[int, dict[int, Note]] = {}
        for chord in self.chords:
            root = chord.root.step(_KEYS)
            for note, interval in zip(chord.notes_in(tuning), chord.steps(_KEYS), strict=True):
                keys.setdefault((root + interval) % len(_KEYS), {})[note.step(tuning) % len(tuning)] = note
        return {
            min((note.name for note in steps.values()), key=len): tuple(sorted(steps))
            for _, steps in sorted(keys.items())
            if len(steps) > 1
        }

    def voices(self, tuning: Tuning) -> tuple[tuple[int, ...], ...]:
        """The four notes of each bar in close position, in the octave from A3 up, as steps above C4: rising.

        >>> from tunelib.pitch import THIRTY_ONE
        >>> voices = TUNED_BLUES["minor sevenths"].voices(THIRTY_ONE)
        >>> voices[3], voices[4], voices[8]
        ((-5, 0, 10, 18), (-8, 0, 8, 13), (-3, 5, 13, 18))
        """
        low, size = _LOWEST.step(tuning), len(tuning)
        return tuple(
            tuple(sorted((note.step(tuning) - low) % size + low for note in chord.notes_in(tuning)))
            for chord in self.chords
        )

    def moves(self, bar: int, tuning: Tuning) -> tuple[int, ...]:
        """Steps by which the voices move into a bar, counted from 1, the lowest first; into the first from the last.

        Raises ValueError for a bar that there is not.
        """
        voices = self.voices(tuning)
        place = whole_number(bar, "a bar of the blues", 1, BARS) - 1
        return tuple(now - before for before, now in zip(voices[place - 1], voices[place], strict=True))

    def purity(self, tuning: Tuning) -> float:
        """Root mean square over all pairs of notes of all bars, of how far they are from their ratios, in cents."""
        return root_mean_square(error for chord in self.chords for error in chord.errors(tuning).values())

    @cached_property
    def round(self) -> Progression:
        """The chords once round, with what they share on the page held: its `comma` is what the tonic gains or loses.

        >>> [(str(way.round.comma), way.round.drift_steps(31)) for way in TUNED_BLUES.values()]
        [('81/80', 0), ('63/64', -1), ('81/80', 0), ('1', 0)]
        """
        return Progression.read(self.held, self.name)


def _bars(text: str) -> tuple[str, ...]:
    return tuple(text.replace("|", " ").split())


TUNED_BLUES: Mapping[str, TunedBlues] = {
    way.name: way
    for way in (
        TunedBlues("minor sevenths", _bars("C7 C7 C7 C7 | F7 F7 C7 C7 | G7 F7 C7 C7"), "C7 F7 C7 G7 F7"),
        TunedBlues(
            "harmonic sevenths",
            _bars("Charm7 Charm7 Charm7 Charm7 | Fharm7 Fharm7 Charm7 Charm7 | Gharm7 Fharm7 Charm7 Charm7"),
            "Charm7 Fharm7 Charm7 Gharm7 7/8 Fharm7",  # the F held: 7/4 of G is the root
        ),
        TunedBlues(
            "rest and announce",
            _bars("Charm7 Charm7 Charm7 C7 | Fharm7 Fharm7 Charm7 Charm7 | G7 Fharm7 Charm7 Charm7"),
            "Charm7 C7 Fharm7 Charm7 G7 Fharm7",
        ),
        TunedBlues(
            "eight notes",
            _bars("Charm7 Charm7 Charm7 Charm7 | Fharm7 Fharm7 Charm7 Charm7 | G7sus4 Fharm7 Charm7 Charm7"),
            "Charm7 Fharm7 Charm7 G7sus4 Fharm7",
        ),
    )
}
"""The ways by their names."""
