"""Naming chords back: every chord that some notes can be, the likeliest first, and why.

The same notes have many names. C E G A is a C with a sixth, or an Am7 with its third in the bass. Every note is tried
as the root, with every degree that each other note can be above it (`tunelib.harmony.degrees`), and every chord over a
foreign bass. A reading is likelier if it keeps the spelling given, lacks none of its notes, has its root in the bass,
is plain rather than altered, and stands for simple ratios, in about this order of weight.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from tunelib.harmony.chords import Chord
from tunelib.harmony.degrees import degree_choices, degree_sets, strangeness, usable
from tunelib.harmony.meanings import degree_step, interval_of
from tunelib.harmony.ratios import mean_complexity, whole_numbers
from tunelib.harmony.symbols import Degree, symbol_body
from tunelib.pitch import Note, Tuning, is_whole, listed, shortened, spell_near, spellings

_HELP = "give notes, their names as text such as 'C E G Bb', or steps such as [0, 10, 18]"
_IN_THE_BASS = {3: 1.2, 5: 1.2, 7: 1.3, 2: 1.6, 4: 1.6, 6: 2.0}  # what it costs; any other degree:
_HIGH_IN_THE_BASS = 2.5
_FOREIGN_BASS = 2.2
_RESPELLED = 0.3  # each note
_BIT = 0.05  # the cost of each bit of complexity in a chord's ratios, on average
_LARGEST_NUMBER = 60  # in the ratios that a sentence tells
_INVERSIONS = {3: "First inversion", 5: "Second inversion", 7: "Third inversion"}


@dataclass(frozen=True)
class Reading:
    """One way to read some notes as a chord.

    Attributes
    ----------
    chord : Chord
        With the lowest of the notes as its bass, where that is not its root.
    symbol : str
    why : str
        One sentence: where the root is, what is missing or unusual, which notes are respelled, which ratios are
        near.
    """

    chord: Chord
    symbol: str
    why: str


@dataclass(frozen=True)
class _Found:
    """A reading before it is put into words."""

    root: Note
    degrees: frozenset[Degree]
    bass: Note | None
    respelled: tuple[tuple[Note, Note], ...]  # given, and as it is read
    cost: float


def readings(notes_or_steps: str | Iterable[Note] | Iterable[int], tuning: Tuning) -> tuple[Reading, ...]:
    """Every chord that some notes can be read as, the likeliest first.

    Parameters
    ----------
    notes_or_steps : str, or notes, or whole numbers
        Notes in any order, of which the lowest is the bass; or their names in a text, ``"E3 C4 G4"``, or without
        octaves, ``"E C G"``, the lowest first; or steps of the tuning, C4 being 0. Otherwise octaves and doublings do
        not matter.
    tuning : Tuning
        One whose notes have letters.

    Returns
    -------
    tuple of Reading
        Those that keep the spelling of the notes come first. Empty for a heap of notes, such as all thirty-one, that no
        root makes a chord of: a chord has one third and one seventh, so that many neighbours do not fit.

    Raises ValueError for fewer than two different notes, for anything else than notes or steps, or if a note falls
    between the steps of the tuning.

    >>> from tunelib.pitch import equal
    >>> [reading.symbol for reading in readings("A C E G", equal(31))][:3]
    ['Am7', 'C/A', 'C6/A']
    >>> readings([0, 10, 18, 25], equal(31))[0].why
    'Root position, complete; a harmonic seventh; close to 4:5:6:7.'
    """
    given = _given(notes_or_steps, tuning)
    if len(given) < 2:
        raise ValueError(f"a chord has two different notes or more; {_HELP}")
    found: list[tuple[tuple[bool, float, str], Reading]] = []
    for one in (*_chords(given, tuning), *_over_a_foreign_bass(given, tuning)):
        chord = Chord(one.root, tuple(interval_of(degree) for degree in one.degrees), one.bass)
        near, bits = _near(chord, tuning)
        rank = (bool(one.respelled), one.cost + _BIT * bits, chord.symbol)
        found.append((rank, Reading(chord, chord.symbol, _why(one, near))))
    return tuple(reading for _, reading in sorted(found, key=lambda pair: pair[0]))


def _given(notes_or_steps: object, tuning: Tuning) -> dict[int, Note | None]:
    """The notes by their steps within the octave, the bass first; no note where a step was given."""
    if isinstance(notes_or_steps, str):
        notes_or_steps = _from_text(notes_or_steps, tuning)
    try:
        every = list(notes_or_steps)  # type: ignore[call-overload]
    except TypeError:
        every = [None]
    if all(isinstance(one, Note) for one in every):
        pairs = sorted(((note.step(tuning), note) for note in every), key=lambda pair: pair[0])
    elif all(is_whole(one) for one in every):
        pairs = [(int(step), None) for step in sorted(every)]
    else:
        raise ValueError(f"{shortened(notes_or_steps)} are not notes of a chord: {_HELP}")
    given: dict[int, Note | None] = {}
    for step, note in pairs:
        given.setdefault(step % len(tuning), note)
    return given


def _from_text(text: str, tuning: Tuning) -> list[Note]:
    words = text.replace(",", " ").split()
    if all(word[-1].isdigit() for word in words):
        return [Note.parse(word) for word in words]
    rising: list[Note] = []
    for word in words:
        note = Note.named(word)
        while rising and note.step(tuning) <= rising[-1].step(tuning):
            note = replace(note, octave=note.octave + 1)
        rising.append(note)
    return rising


def _chords(given: dict[int, Note | None], tuning: Tuning) -> Iterator[_Found]:
    """Each note as the root of a chord of all the others."""
    lowest = next(iter(given))
    for root in given:
        for degrees in _degrees_over(root, given, tuning):
            one = _spelled(root, degrees, given, tuning)
            bass = next(degree for degree in degrees if _place(degree, root, given, tuning) == lowest)
            plain = 0.0 if lowest == root else _IN_THE_BASS.get(bass[0], _HIGH_IN_THE_BASS)
            inverted = None if lowest == root else one.root.transpose(interval_of(bass))
            yield _Found(one.root, degrees, inverted, one.respelled, one.cost + plain)


def _over_a_foreign_bass(given: dict[int, Note | None], tuning: Tuning) -> Iterator[_Found]:
    """Complete chords of all notes but the bass."""
    lowest, *others = given
    upper = {step: given[step] for step in others}
    written = given[lowest]
    basses = (written,) if written else spellings(lowest, tuning) or (spell_near(lowest, tuning),)
    for root in upper:
        for degrees in _degrees_over(root, upper, tuning):
            numbers = {number for number, _ in degrees}
            if (5, 0) in degrees and numbers & {2, 3, 4}:
                one = _spelled(root, degrees, upper, tuning)
                names = {one.root.transpose(interval_of(degree)).name for degree in degrees}
                bass = next((name for name in basses if name.name not in names), None)
                if bass:  # under the name of a note of the chord it would sound with that
                    yield _Found(one.root, degrees, bass, one.respelled, one.cost + _FOREIGN_BASS)


def _degrees_over(root: int, given: dict[int, Note | None], tuning: Tuning) -> Iterator[frozenset[Degree]]:
    """The chords of all the notes that the grammar has a symbol for."""
    choices = []
    for step, note in given.items():
        if step != root:
            options = list(degree_choices((step - root) % len(tuning), tuning))
            as_spelled = _as_spelled(given[root], note)
            if as_spelled and as_spelled not in options:
                options.append(as_spelled)
            choices.append(options)
    for degrees in degree_sets(choices):
        if len(degrees) < len(given):  # two notes cannot be one degree
            continue
        try:
            symbol_body(degrees)
        except ValueError:
            continue
        yield degrees


def _as_spelled(root: Note | None, note: Note | None) -> Degree | None:
    """The degree that a note is by its letter, if a symbol can say it."""
    if root is None or note is None:
        return None
    interval = root.interval_to(note)
    octaves = interval.letters // 7
    letters, quartertones = interval.letters - 7 * octaves, interval.quartertones - 24 * octaves
    degree = letters + 1, quartertones - interval_of((letters + 1, 0)).quartertones
    return degree if usable(degree) else None


def _place(degree: Degree, root: int, given: dict[int, Note | None], tuning: Tuning) -> int:
    """Which of the steps given is a degree above a root: by its sound or, failing that, by its letter."""
    step = (root + degree_step(degree, tuning)) % len(tuning)
    if step in given:
        return step
    within = (degree[0] - 1) % 7 + 1, degree[1]
    return next(step for step, note in given.items() if _as_spelled(given[root], note) == within)


def _spelled(root: int, degrees: frozenset[Degree], given: dict[int, Note | None], tuning: Tuning) -> _Found:
    """The chord with its root spelled so that most is kept of what was given, and then with the fewest signs."""
    plainest = spellings(root, tuning)[:2] or (spell_near(root, tuning),)
    names = dict.fromkeys(note for note in (given[root], *plainest) if note)
    members = [(interval_of(degree), given[_place(degree, root, given, tuning)], degree) for degree in degrees]
    best: tuple[tuple[int, int], _Found] | None = None
    for name in names:
        respelled, signs = [], 2 * abs(name.half_sharps)
        for interval, was, degree in members:
            note = name.transpose(interval)
            signs += abs(note.half_sharps)
            if was and (was.letter, was.half_sharps) != (note.letter, note.half_sharps):
                note = note.sounding(name.step(tuning) + degree_step(degree, tuning), tuning)
                if was.name != note.name:
                    respelled.append((was, note))
        rank = len(respelled), signs
        if best is None or rank < best[0]:
            cost = strangeness(degrees) + _RESPELLED * len(respelled)
            best = rank, _Found(name, degrees, None, tuple(respelled), cost)
    if best is None:
        raise ValueError(f"step {root} of {tuning.name} has no plain spelling")
    return best[1]


def _near(chord: Chord, tuning: Tuning) -> tuple[str, float]:
    """The ratios that the chord stands for, in whole numbers if they are small, and their complexity for a pair."""
    try:
        ratios = chord.ratios(tuning)
    except ValueError:  # nothing simple is near
        return "", 0.0
    numbers = whole_numbers(ratios)
    return ":".join(map(str, numbers)) if max(numbers) <= _LARGEST_NUMBER else "", mean_complexity(ratios)


def _why(one: _Found, near: str) -> str:
    parts = [f"{_position(one)}, {_completeness(one.degrees)}"]
    unusual = [_said(degree) for degree in sorted(one.degrees) if _is_unusual(degree)]
    if unusual:
        parts.append(listed(unusual))
    if one.respelled:
        parts.append(listed([f"{read.name} for {was.name}" for was, read in one.respelled]))
    if near:
        parts.append(f"close to {near}")
    return "; ".join(parts) + "."


def _position(one: _Found) -> str:
    if one.bass is None:
        return "Root position"
    for degree in one.degrees:
        if one.root.transpose(interval_of(degree)).name == one.bass.name:
            bass = f"ith its {interval_of(degree).number}, {one.bass.name}, in the bass"
            return f"{_INVERSIONS[degree[0]]}, w{bass}" if degree[0] in _INVERSIONS else f"W{bass}"
    return f"A chord over the bass {one.bass.name}, which is no note of it"


def _completeness(degrees: frozenset[Degree]) -> str:
    numbers = {number for number, _ in degrees}
    missing = [name for name, of in (("third", {2, 3, 4}), ("fifth", {5})) if not numbers & of]
    return f"without {' or '.join(missing)}" if missing else "complete"


def _is_unusual(degree: Degree) -> bool:
    return degree[0] not in (1, 3, 5, 7) or degree not in ((1, 0), (3, 0), (3, -2), (5, 0), (7, 0), (7, -2))


def _said(degree: Degree) -> str:
    number, offset = degree
    if degree == (7, -3):
        return "a harmonic seventh"
    interval = interval_of(degree)
    name = interval.name if offset else interval.number
    said = f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
    return f"{said} in place of the third" if number in (2, 4) else said
