"""The rules of the trade for a chart, each a plain function of a retuned tune: what breaks it, place by place.

A fault is a line such as ``"bar 3 Cmaj7: B4 over C4"``; a tune that keeps a rule gives none. Terms: a chord's *notes*
are its bass and its *upper* voices, rising. Sizes are in cents, so that a rule holds in every division: a semitone is
anything from 60 to 150 cents, and what is less apart rubs.

Low interval limits are those of B. Lowell and K. Pullig, *Arranging for Large Jazz Ensemble*, 2003, read strictly;
registers of comping over a bass those of P. Mantooth, *Voicings for Jazz Keyboard*, 1986. The rest is common practice,
as in B. Nettles and R. Graf, *The Chord Scale Theory and Jazz Harmony*, 1997: third and seventh say what a chord is,
the bass has the root, sevenths fall to thirds; a minor ninth inside is harsh, and so is a semitone on top or under a
held melody.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import combinations, pairwise
from statistics import mean, median

from tunelib.harmony import Chord, RetunedChord, RetunedTune, TimedNote, is_meantone
from tunelib.harmony.meanings import degree_step
from tunelib.harmony.symbols import Degree
from tunelib.pitch import Note, SpelledInterval, Tuning

Rule = Callable[[RetunedTune], list[str]]

RUBBING = 60.0  # cents: nearer than this, and not the same, is heard as one note out of tune
SEMITONE = (RUBBING, 150.0)
MINOR_NINTH = (1255.0, 1345.0)
CLUSTER = 325.0
OCTAVE = 1200.0
LOW_INTERVAL_LIMITS = {  # semitones: the lowest note of such a pair, strict reading
    1: "E3", 2: "Eb3", 3: "C3", 4: "Bb2", 5: "Bb2", 6: "B2", 7: "Bb1", 8: "G2", 9: "F2", 10: "F2", 11: "F2",
    13: "E2", 14: "Eb2", 15: "C2", 16: "Bb1",
}  # fmt: skip
LOWEST_UPPER, HIGHEST_UPPER = Note.parse("C3"), Note.parse("C5")
LOW_MELODY = Note.parse("F4")  # under a lower one four voices have little room
LOWEST_BASS, HIGHEST_BASS = Note.parse("E1"), Note.parse("C3")
ABOUT = 200.0  # cents: by how much "about C3 to C5" may be passed
FALLING = 250.0  # cents: the farthest that a resolving seventh falls
PLAIN_ACCIDENTALS = 2  # half-sharps: a sharp or a flat


def height(note: Note, tuning: Tuning) -> float:
    """Cents above C4."""
    return note.step(tuning) * OCTAVE / len(tuning)


def heights(chord: RetunedChord, tuning: Tuning) -> list[float]:
    """Of the bass and the upper voices."""
    return [height(note, tuning) for note in chord.notes]


def voices(chord: RetunedChord, tuning: Tuning) -> list[float]:
    """Of the upper voices, two that share a note being one."""
    return sorted(set(heights(chord, tuning)[1:]))


def sung_with(tune: RetunedTune, chord: RetunedChord) -> list[TimedNote]:
    """The notes of the melody that sound while a chord does."""
    begin, end = [note.onset for note in tune.melody], [note.end for note in tune.melody]
    return list(tune.melody[bisect_right(end, chord.written.onset) : bisect_left(begin, chord.written.end)])


def sounding_together(note: TimedNote, chord: RetunedChord) -> Fraction:
    """Beats for which a note of the melody sounds with a chord."""
    return min(note.end, chord.written.end) - max(note.onset, chord.written.onset)


def at(chord: RetunedChord) -> str:
    """Where a fault is."""
    as_tuned = "" if chord.chord.symbol == chord.written.symbol else f" as {chord.chord.symbol}"
    return f"bar {chord.written.bar} {chord.written.symbol}{as_tuned}"


def laid(chord: RetunedChord) -> str:
    """The notes of a chord as they are laid out."""
    return " ".join(map(str, chord.notes))


def rub(one: Note, other: Note, tuning: Tuning) -> bool:
    """Whether two notes, octaves set aside, are neither the same nor far enough apart to be two."""
    away = (one.step(tuning) - other.step(tuning)) % len(tuning)
    return 0 < min(away, len(tuning) - away) * OCTAVE / len(tuning) < RUBBING


def same_degree(degrees: frozenset[Degree], number: int) -> list[int]:
    """The half-sharps of the degrees of a number."""
    return [offset for found, offset in degrees if found == number]


def pitch_class(note: Note, tuning: Tuning) -> int:
    """Its step within the octave."""
    return note.step(tuning) % len(tuning)


def steps_of(chord: Chord, tuning: Tuning) -> dict[Degree, int]:
    """The step within the octave of each degree of a chord."""
    root = chord.root.within(tuning).step(tuning)
    return {degree: (root + degree_step(degree, tuning)) % len(tuning) for degree in chord.degrees}


# 1. What is written is meant.


def as_written(tune: RetunedTune) -> list[str]:
    """Every note is one that the symbol spells or, of a degree that the melody spells otherwise, one that is meant."""
    faults = []
    for chord in tune.chords:
        tuning = tune.tuning
        written = chord.written.chord
        spelled = set(steps_of(written, tuning).values())
        bass = pitch_class(written.bass_in(tuning), tuning)
        sung = {note.note.name for note in sung_with(tune, chord)}
        meant = dict(zip(chord.meant.notes, chord.meant.notes_in(tuning), strict=True))
        keys = {note.quartertones % 24 for note in written.notes}
        respelled = {
            pitch_class(sounding, tuning)
            for note, sounding in meant.items()
            if note.quartertones % 24 in keys and sung & {note.name, sounding.name}
        }
        strange = [note for note in chord.notes if pitch_class(note, tuning) not in spelled | respelled | {bass}]
        if strange or pitch_class(chord.notes[0], tuning) not in {bass} | respelled:
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def words_kept(tune: RetunedTune) -> list[str]:
    """What only some divisions have, because the writer asked for it, is there: neutral, harmonic, half-sharp."""
    return [
        f"{at(chord)}: lost {sorted(lost)}"
        for chord in tune.chords
        if (lost := {degree for degree in chord.written.chord.degrees if degree[1] % 2} - chord.chord.degrees)
    ]


def roots_in_place(tune: RetunedTune) -> list[str]:
    """No root is moved, unless roots may drift."""
    faults = []
    for chord in tune.chords:
        written = chord.written.chord.root.within(tune.tuning)
        if not tune.taste.drift and pitch_class(chord.chord.root.within(tune.tuning), tune.tuning) != pitch_class(
            written, tune.tuning
        ):
            faults.append(f"{at(chord)}: {chord.chord.root.name} for {written.name}")
    return faults


def one_tuning_a_symbol(tune: RetunedTune) -> list[str]:
    """Chords of one symbol are tuned alike, unless the melody forbids it and the reason says so.

    The melody forbids a tuning where a note of it rubs against one of the chord as it is tuned elsewhere.
    """
    groups: dict[str, list[RetunedChord]] = defaultdict(list)
    for chord in tune.chords:
        groups[chord.written.symbol].append(chord)
    faults = []
    for alike in groups.values():
        faults += min((_tuned_otherwise(tune, usual, alike) for usual in alike), key=len)
    return faults


def _tuned_otherwise(tune: RetunedTune, usual: RetunedChord, alike: list[RetunedChord]) -> list[str]:
    """Which of the chords of one symbol are not tuned as one of them is, and have no reason not to be."""
    faults = []
    for chord in alike:
        if chord.chord.degrees != usual.chord.degrees:
            elsewhere = usual.chord.on(chord.chord.root)
            if not _rubs(tune, chord, elsewhere) or "melody" not in chord.why:
                faults.append(f"{at(chord)}: in bar {usual.written.bar} {usual.chord.symbol}")
    return faults


def _rubs(tune: RetunedTune, place: RetunedChord, chord: Chord) -> bool:
    notes = chord.notes_in(tune.tuning)
    return any(rub(sung.note, note, tune.tuning) for sung in sung_with(tune, place) for note in notes)


def same_sign_same_notes(tune: RetunedTune) -> list[str]:
    """A sign that is played again, in a repeat, has the same notes again."""
    first: dict[int, RetunedChord] = {}
    faults = []
    for chord in tune.chords:
        sign = chord.written.sign
        if sign >= 0 and first.setdefault(sign, chord).notes != chord.notes:
            faults.append(f"{at(chord)}: {laid(chord)}, and before {laid(first[sign])}")
    return faults


def sevenths_of_dominants_go_first(tune: RetunedTune) -> list[str]:
    """Nothing else of a dominant is in another family while its seventh is as written, unless the melody keeps that.

    The harmonic seventh is what an adventurous player reaches for first: it is nearest to what is heard anyway.
    """
    faults = []
    for chord in tune.chords:
        written, tuned = chord.written.chord.degrees, chord.chord.degrees
        if {(3, 0), (7, -2)} <= written and (7, -2) in tuned and any(offset % 2 for _, offset in tuned - written):
            harmonic = _with_harmonic_seventh(chord)
            alike = [other for other in tune.chords if other.written.symbol == chord.written.symbol]
            if not any(_rubs(tune, other, harmonic) for other in alike):
                faults.append(f"{at(chord)}")
    return faults


def _with_harmonic_seventh(chord: RetunedChord) -> Chord:
    written = chord.written.chord
    moved = {SpelledInterval.parse("m7"): SpelledInterval.parse("subminor seventh")}
    return Chord(chord.chord.root, tuple(moved.get(interval, interval) for interval in written.intervals), written.bass)


def thirteenths_keep_their_third(tune: RetunedTune) -> list[str]:
    """A thirteenth chord has the third that is written, and it sounds."""
    faults = []
    for chord in tune.chords:
        written = chord.written.chord.degrees
        thirds = [(3, offset) for offset in same_degree(written, 3)]
        if thirds and same_degree(written, 13):
            step = steps_of(chord.chord, tune.tuning).get(thirds[0])
            if step is None or step not in [pitch_class(note, tune.tuning) for note in chord.notes]:
                faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def one_spelling_with_the_melody(tune: RetunedTune) -> list[str]:
    """No note of a chord rubs against a note of the melody, unless clashes are asked for."""
    return [] if tune.taste.clashes else list(_rubbing_melody(tune))


def _rubbing_melody(tune: RetunedTune) -> Iterator[str]:
    for chord in tune.chords:
        own = set(steps_of(chord.written.chord, tune.tuning).values())
        for sung in sung_with(tune, chord):
            for note in chord.notes:
                both_written = {pitch_class(sung.note, tune.tuning), pitch_class(note, tune.tuning)} <= own
                if rub(sung.note, note, tune.tuning) and not both_written:
                    yield f"{at(chord)}: {note} under {sung.note} in the melody"


def names_can_be_read(tune: RetunedTune) -> list[str]:
    """No note and no symbol has more than a double sharp or flat."""
    faults = []
    for chord in tune.chords:
        tuned = (chord.chord.root, *filter(None, [chord.chord.bass]), *chord.notes)
        if unreadable := [note.name for note in tuned if abs(note.half_sharps) > 4]:
            faults.append(f"{at(chord)}: {', '.join(unreadable)}")
    faults += [f"bar {note.bar}: {note.note} in the melody" for note in tune.melody if abs(note.note.half_sharps) > 4]
    return faults


def moved_roots_have_plain_names(tune: RetunedTune) -> list[str]:
    """A root that moved is named with one plain sharp or flat at most, where the tuning has such a name for it."""
    faults = []
    for chord in tune.chords:
        root = chord.chord.root
        step = pitch_class(root.within(tune.tuning), tune.tuning)
        if step == pitch_class(chord.written.chord.root.within(tune.tuning), tune.tuning):
            continue
        plain = [Note(letter, sign, 4) for letter in "CDEFGAB" for sign in (-2, 0, 2)]
        names = [note for note in plain if pitch_class(note, tune.tuning) == step]
        if names and (abs(root.half_sharps) > PLAIN_ACCIDENTALS or root.half_sharps % 2 or root.steps):
            faults.append(f"{at(chord)}: {root.name}, plainly {names[0].name}")
    return faults


def melody_as_written(tune: RetunedTune) -> list[str]:
    """Without a drift the melody is the one that is written; its notes may take the spelling of the chords.

    So each is on the same key of a piano as before; or near it, where a tuning has the comma 81/80 or no half-sharp.
    """
    if tune.taste.drift:
        return []
    faults = []
    for written, sounding in zip(tune.sheet.melody, tune.melody, strict=True):
        same_time = (written.onset, written.duration) == (sounding.onset, sounding.duration)
        same_key = written.note.quartertones == sounding.note.quartertones
        away = abs(height(sounding.note, tune.tuning) - height(written.note.within(tune.tuning), tune.tuning))
        between = written.note.half_sharps % 2 and tune.tuning.half_sharp is None
        near = OCTAVE / len(tune.tuning) if between else 0.0 if is_meantone(tune.tuning) else RUBBING
        if not same_time or not (same_key or away <= near):
            faults.append(f"bar {written.bar}: {sounding.note} for {written.note} in the melody")
    return faults


# 2. Arranged as an arranger would.


def melody_on_top(tune: RetunedTune) -> list[str]:
    """No upper voice is above the lowest note of the melody that sounds with it."""
    faults = []
    for chord in tune.chords:
        sung = min((height(note.note, tune.tuning) for note in sung_with(tune, chord)), default=None)
        top = height(chord.notes[-1], tune.tuning)
        if sung is not None and top > sung:
            lowest = min(sung_with(tune, chord), key=lambda note: height(note.note, tune.tuning))
            faults.append(f"{at(chord)}: {laid(chord)} over {lowest.note} in the melody")
    return faults


def upper_voices_in_register(tune: RetunedTune) -> list[str]:
    """Upper voices are about C3 to C5, a whole tone either way; under a low melody they may be lower."""
    low, high = height(LOWEST_UPPER, tune.tuning) - ABOUT, height(HIGHEST_UPPER, tune.tuning) + ABOUT
    faults = []
    for chord in tune.chords:
        upper = voices(chord, tune.tuning)
        if upper[-1] > high or (upper[0] < low and not _has_little_room(tune, chord)):
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def _has_little_room(tune: RetunedTune, chord: RetunedChord) -> bool:
    """Whether the melody goes so low that four voices hardly fit below it."""
    room = height(LOW_MELODY, tune.tuning)
    return any(height(note.note, tune.tuning) < room for note in sung_with(tune, chord))


def bass_where_basses_play(tune: RetunedTune) -> list[str]:
    """The bass is from E1, its lowest string, to C3."""
    low, high = height(LOWEST_BASS, tune.tuning), height(HIGHEST_BASS, tune.tuning)
    return [
        f"{at(chord)}: {chord.notes[0]}"
        for chord in tune.chords
        if not low - RUBBING <= heights(chord, tune.tuning)[0] <= high + RUBBING
    ]


def bass_as_written(tune: RetunedTune) -> list[str]:
    """The bass has the note after the slash, or the root."""
    return [
        f"{at(chord)}: {chord.notes[0]}"
        for chord in tune.chords
        if pitch_class(chord.notes[0], tune.tuning) != pitch_class(chord.chord.bass_in(tune.tuning), tune.tuning)
    ]


def no_root_doubled_beside_a_seventh(tune: RetunedTune) -> list[str]:
    """Over a bass that has the root, the upper voices of a chord with a seventh leave it out.

    Half-diminished and diminished sevenths keep it, since each of their four notes is essential. So do drop 2 and
    four-way close, which have four voices always: see `no_root_twice_above`.
    """
    faults = []
    for chord in () if tune.taste.voicing in ("drop 2", "four-way close") else tune.chords:
        if has_root_to_spare(chord.chord):
            root = pitch_class(chord.chord.root.within(tune.tuning), tune.tuning)
            if root in [pitch_class(note, tune.tuning) for note in chord.notes[1:]]:
                faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def has_root_to_spare(chord: Chord) -> bool:
    """Whether a chord has a seventh, its root in the bass, and enough notes without it."""
    diminished = same_degree(chord.degrees, 3) == [-2] and -2 in same_degree(chord.degrees, 5)
    spare = len(chord.degrees) > 3 and not diminished
    return spare and chord.bass is None and bool(same_degree(chord.degrees, 7))


def no_root_twice_above(tune: RetunedTune) -> list[str]:
    """The upper voices of a chord with a seventh have its root once at most."""
    faults = []
    for chord in tune.chords:
        root = pitch_class(chord.chord.root.within(tune.tuning), tune.tuning)
        above = [pitch_class(note, tune.tuning) for note in set(chord.notes[1:])]
        if same_degree(chord.chord.degrees, 7) and above.count(root) > 1:
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def no_semitone_on_top(tune: RetunedTune) -> list[str]:
    """The two highest upper voices are not a semitone apart, unless a low melody leaves no room."""
    faults = []
    for chord in tune.chords:
        if _has_little_room(tune, chord):
            continue
        upper = voices(chord, tune.tuning)
        if len(upper) > 1 and SEMITONE[0] <= upper[-1] - upper[-2] < SEMITONE[1]:
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def no_minor_ninth_inside(tune: RetunedTune) -> list[str]:
    """No two upper voices are a minor ninth apart, except the root and flat ninth of a dominant."""
    faults = []
    for chord in tune.chords:
        upper = heights(chord, tune.tuning)[1:]
        for low, high in combinations(range(len(upper)), 2):
            if MINOR_NINTH[0] <= upper[high] - upper[low] <= MINOR_NINTH[1] and not _flat_ninth(tune, chord, low + 1):
                faults.append(f"{at(chord)}: {chord.notes[low + 1]} {chord.notes[high + 1]}")
    return faults


def _flat_ninth(tune: RetunedTune, chord: RetunedChord, low: int) -> bool:
    """Whether a note is the root of a dominant with a flat ninth."""
    root = pitch_class(chord.chord.root.within(tune.tuning), tune.tuning)
    is_root = pitch_class(chord.notes[low], tune.tuning) == root
    return is_root and any(offset < 0 for offset in same_degree(chord.chord.degrees, 9))


def no_cluster_on_top(tune: RetunedTune) -> list[str]:
    """The three highest upper voices are not within a minor third, unless a low melody leaves no room."""
    faults = []
    for chord in tune.chords:
        if _has_little_room(tune, chord):
            continue
        upper = voices(chord, tune.tuning)
        if len(upper) > 2 and upper[-1] - upper[-3] <= CLUSTER:
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def no_degrees_at_odds(tune: RetunedTune) -> list[str]:
    """No upper voices have a major third and a plain eleventh, a fifth and a flat thirteenth, or two ninths."""
    faults = []
    for chord in tune.chords:
        above = {pitch_class(note, tune.tuning) for note in chord.notes[1:]}
        found = {degree for degree, step in steps_of(chord.chord, tune.tuning).items() if step in above}
        ninths = [degree for degree in found if degree[0] in (9, 10)]
        if found >= {(3, 0), (11, 0)} or found >= {(5, 0), (13, -2)} or len(ninths) > 1:
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def guide_tones_sound(tune: RetunedTune) -> list[str]:
    """The third, or what takes its place, and the seventh or sixth of every chord are among its notes.

    A major third is left out under a plain eleventh, a minor ninth above it.
    """
    faults = []
    for chord in tune.chords:
        steps = steps_of(chord.chord, tune.tuning)
        if (11, 0) in steps:
            steps.pop((3, 0), None)
        sounding = [pitch_class(note, tune.tuning) for note in chord.notes]
        lost = [degree for degree in steps if degree[0] in (2, 3, 4, 6, 7) and steps[degree] not in sounding]
        if lost:
            faults.append(f"{at(chord)}: {laid(chord)} without {sorted(lost)}")
    return faults


def low_interval_limits(tune: RetunedTune) -> list[str]:
    """No pair of notes, the bass among them, is lower than its interval can be without being muddy.

    Under a melody that leaves no other room it may be.
    """
    faults = []
    for chord in tune.chords:
        if _has_little_room(tune, chord):
            continue
        tones = heights(chord, tune.tuning)
        for low, high in combinations(range(len(tones)), 2):
            limit = LOW_INTERVAL_LIMITS.get(round((tones[high] - tones[low]) / 100))
            if limit is not None and tones[low] < height(Note.parse(limit), tune.tuning) - RUBBING:
                faults.append(f"{at(chord)}: {chord.notes[low]} {chord.notes[high]}, not below {limit}")
    return faults


def no_hole_above_the_bass(tune: RetunedTune) -> list[str]:
    """From the bass to the next voice there are two octaves at most."""
    return [
        f"{at(chord)}: {chord.notes[0]} {chord.notes[1]}"
        for chord in tune.chords
        if heights(chord, tune.tuning)[1] - heights(chord, tune.tuning)[0] > 2 * OCTAVE
    ]


def no_hole_between_upper_voices(tune: RetunedTune) -> list[str]:
    """Upper neighbours are an octave apart at most, and none of them rub."""
    faults = []
    for chord in tune.chords:
        gaps = [after - before for before, after in pairwise(voices(chord, tune.tuning))]
        if any(gap > OCTAVE or gap < RUBBING for gap in gaps):
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def sevenths_resolve(tune: RetunedTune) -> list[str]:
    """Where a root falls by a fifth, a minor or harmonic seventh stays, or falls by step: some voice takes it there."""
    return [fault for fault, resolved in resolutions(tune) if not resolved]


def resolutions(tune: RetunedTune) -> list[tuple[str, bool]]:
    """Each seventh at a falling fifth, and whether it resolves."""
    found = []
    for before, after in pairwise(tune.chords):
        root = before.written.chord.root.interval_to(after.written.chord.root)
        falls = (root.letters % 7, root.quartertones % 24) == (3, 10)
        sevenths = [(7, offset) for offset in same_degree(before.chord.degrees, 7) if offset < 0]
        if not falls or not sevenths or before.written.end != after.written.onset:
            continue
        step = steps_of(before.chord, tune.tuning)[sevenths[0]]
        here = [
            height(note, tune.tuning) for note in before.notes[1:] if pitch_class(note, tune.tuning) == step
        ]  # nothing, where it is in the bass alone
        there = heights(after, tune.tuning)[1:]
        for seventh in here:
            resolved = any(-FALLING <= goal - seventh < RUBBING for goal in there)
            found.append((f"{at(before)} to {after.written.symbol}: {laid(before)} to {laid(after)}", resolved))
    return found


def no_semitone_under_the_melody(tune: RetunedTune) -> list[str]:
    """No upper voice is a semitone or a minor ninth from a melody note that sounds with it for a beat or more."""
    faults = []
    for chord in tune.chords:
        for sung in sung_with(tune, chord):
            if sounding_together(sung, chord) < 1:
                continue
            top = height(sung.note, tune.tuning)
            for note in chord.notes[1:]:
                below = top - height(note, tune.tuning)
                if SEMITONE[0] <= abs(below) < SEMITONE[1] or MINOR_NINTH[0] <= below <= MINOR_NINTH[1]:
                    faults.append(f"{at(chord)}: {note} under {sung.note}")
    return faults


# 3. Styles: each the shape that its name promises, where a chord has four notes to lay out.


def shaped(tune: RetunedTune) -> list[str]:
    """The upper voices have the shape of the style; chords laid out in fewer voices have none."""
    is_so = SHAPES[tune.taste.voicing]
    faults = []
    for chord in tune.chords:
        upper = voices(chord, tune.tuning)
        if len(upper) > 3 and not is_so(upper) and not _has_little_room(tune, chord):
            faults.append(f"{at(chord)}: {laid(chord)}")
    return faults


def _is_close(upper: list[float]) -> bool:
    return upper[-1] - upper[0] < OCTAVE


def _is_drop_two(upper: list[float]) -> bool:
    """Whether the lowest voice an octave higher is the second from the top of a close voicing."""
    lowest, *others, top = upper
    return _is_close([*others, top]) and others[-1] < lowest + OCTAVE < top


SHAPES: dict[str, Callable[[list[float]], bool]] = {
    "shells": lambda upper: False,  # which never have four
    "rootless": lambda upper: True,
    "drop 2": _is_drop_two,
    "four-way close": _is_close,
    "pads": lambda upper: not _is_close(upper),
}


# Figures, for the same tunes before and after a change.


def melody_notes_under_the_top(tune: RetunedTune) -> tuple[int, int]:
    """How many notes of the melody are under the top voice of a chord that sounds with them, and of how many."""
    under = set()
    for chord in tune.chords:
        top = height(chord.notes[-1], tune.tuning)
        under |= {note for note in sung_with(tune, chord) if height(note.note, tune.tuning) < top}
    return len(under), len(tune.melody)


def median_top(tunes: list[RetunedTune]) -> float:
    """The median height of the top voice, in cents above C4."""
    return median(heights(chord, tune.tuning)[-1] for tune in tunes for chord in tune.chords)


def motions(tune: RetunedTune) -> list[float]:
    """Of each change of chord, semitones that the upper voices move, all together, where as many go on."""
    found = []
    for before, after in pairwise(tune.chords):
        if len(before.notes) == len(after.notes):
            moved = zip(heights(before, tune.tuning)[1:], heights(after, tune.tuning)[1:], strict=True)
            found.append(sum(abs(there - here) for here, there in moved) / 100)
    return found


def mean_purity(tunes: list[RetunedTune]) -> float:
    """The mean purity of all chords, in cents."""
    return mean(chord.purity for tune in tunes for chord in tune.chords)
