"""The names that a player would rather read: of a chord whose root has moved, and of a seventh that is really a sixth.

A root that moves by a step keeps its letter at first, and so may end as a B half-sharp where everybody writes C flat.
What is plain is set here once: a root with one sharp or flat at most comes first, unless a note over it would need more
than two. Then a sharp or flat costs less than half of one, and that less than two; the root counts twice, since it is
read first; and four fifths away from the middle of the key cost as much as a sharp (common practice, the weights our
own).

A harmonic seventh is an augmented sixth in thirty-one: C. Huygens saw it (*Lettre touchant le cycle harmonique*, 1691;
second-hand). Where the bass falls a diatonic semitone from it, as from G♭ to F, players know the chord as a German
sixth, with E over G♭; and so it is written there, and wherever the seventh itself would need more than a double flat.
"""

from __future__ import annotations

from tunelib.harmony.chords import Chord
from tunelib.harmony.meanings import degree_step, interval_of
from tunelib.pitch import Key, Note, Tuning, spell_near, spellings

_SIGN_COSTS = (0.0, 1.5, 1.0, 3.0, 2.5)  # of a natural, a half, a sharp or flat, one and a half, two
_BEYOND = 100.0  # of more signs than two: nobody reads that
_ROOT = 2.0  # how many times the root counts
_STEP_BESIDE = 1.25  # of each step of the tuning beside a letter and its signs
_FIFTH = 0.25  # of each fifth from the middle of the key
_TO_THE_MIDDLE = 3  # fifths from the lowest of a key's seven notes

_HARMONIC_SEVENTH, _AUGMENTED_SIXTH, _MINOR_SECOND = (7, -3), (6, 2), (2, -2)
_DOUBLE = 4  # half-sharps


def plainest_name(chord: Chord, tuning: Tuning, key: Key | None = None) -> Chord:
    """The same chord, step for step, on the root whose name a player would rather read.

    Parameters
    ----------
    chord : Chord
    tuning : Tuning
        One whose notes have letters.
    key : Key, optional
        That of the tune, whose side is preferred: flats in F, sharps in E. C major unless given.

    No name has more than a double accidental where there is another. Raises ValueError for a tuning whose notes have no
    letters.

    >>> from tunelib.pitch import equal
    >>> [plainest_name(Chord.parse(symbol), equal(31)).symbol for symbol in ("Bh#7#11", "Bbhbdim7", "Dhb7/Fhb")]
    ['Cb7#11', 'A#dim7', 'Dhb7/Fhb']
    """
    middle = (key or Key(Note.named("C"))).lowest_fifth + _TO_THE_MIDDLE
    root = chord.root.within(tuning)
    names = dict.fromkeys((root, *_names(root, tuning, middle)))
    return min((_renamed(chord, name, tuning, middle) for name in names), key=lambda one: _cost(one, tuning, middle))


def _names(note: Note, tuning: Tuning, middle: float) -> tuple[Note, ...]:
    """What else the step of a note is called."""
    step = note.step(tuning)
    return (*spellings(step, tuning), spell_near(step, tuning, middle))


def _renamed(chord: Chord, root: Note, tuning: Tuning, middle: float) -> Chord:
    """The chord on the same root by another name; its bass as the chord has it or, if foreign, as plain as can be."""
    renamed = Chord(root, chord.intervals)
    if chord.bass is None:
        return renamed
    bass = chord.bass_in(tuning)
    place = bass.step(tuning) % len(tuning)
    for note, sounding in zip(renamed.notes, renamed.notes_in(tuning), strict=True):
        if sounding.step(tuning) % len(tuning) == place:
            return renamed.over(note)
    own = {note.name for note in renamed.notes}  # by such a name it would sound with the chord
    names = [name for name in (bass, *_names(bass, tuning, middle)) if name.name not in own]
    return renamed.over(min(names, key=lambda name: _note_cost(name, middle))) if names else chord


def _cost(chord: Chord, tuning: Tuning, middle: float) -> tuple[bool, bool, float]:
    """Names that can be read come first, then roots with a sharp, a flat or no sign."""
    bass = _note_cost(chord.bass, middle) if chord.bass else 0.0
    root, *others = notes_before(chord, None, tuning)
    is_plain = root.half_sharps in (-2, 0, 2) and not root.steps
    readable = all(abs(note.half_sharps) <= _DOUBLE for note in (root, *others))
    return not readable, not is_plain, _ROOT * _note_cost(root, middle) + bass + sum(map(_signs, others))


def _note_cost(note: Note, middle: float) -> float:
    return _signs(note) + _STEP_BESIDE * abs(note.steps) + _FIFTH * abs(note.fifths - middle)


def _signs(note: Note) -> float:
    count = abs(note.half_sharps)
    return _SIGN_COSTS[count] if count <= _DOUBLE else _BEYOND


def notes_before(chord: Chord, after: Chord | None, tuning: Tuning) -> tuple[Note, ...]:
    """Its notes as `Chord.notes_in` has them, but the harmonic seventh spelled as an augmented sixth where it is one.

    Parameters
    ----------
    chord : Chord
    after : Chord or None
        The chord that comes next.
    tuning : Tuning

    It is one where the bass of the next chord is a diatonic semitone below the root; and where the seventh would have
    more than a double flat. In a tuning in which the two are not one step nothing is changed.

    >>> from tunelib.pitch import equal
    >>> chord = Chord.parse("Gbharm7")
    >>> [[note.name for note in notes_before(chord, after, equal(31))] for after in (None, Chord.parse("F"))]
    [['G♭', 'B♭', 'D♭', 'F♭½♭'], ['G♭', 'B♭', 'D♭', 'E']]
    """
    notes = chord.notes_in(tuning)
    if _HARMONIC_SEVENTH not in chord.degrees:
        return notes
    place = chord.intervals.index(interval_of(_HARMONIC_SEVENTH))
    sixth = chord.root.within(tuning).transpose(interval_of(_AUGMENTED_SIXTH))
    if (sixth.step(tuning) - notes[place].step(tuning)) % len(tuning):
        return notes
    if abs(notes[place].half_sharps) > _DOUBLE or (after is not None and _falls(chord, after, tuning)):
        return (*notes[:place], sixth, *notes[place + 1 :])
    return notes


def _falls(chord: Chord, after: Chord, tuning: Tuning) -> bool:
    """Whether the root of a chord is a diatonic semitone above the bass of the next."""
    fall = chord.root.within(tuning).step(tuning) - after.bass_in(tuning).step(tuning)
    return fall % len(tuning) == degree_step(_MINOR_SECOND, tuning)
