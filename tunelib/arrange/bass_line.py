"""The bass of a tune in a feel: the bass note where a chord begins, and between what the pattern says.

A walking bass leads to the next chord by a semitone, a step of the scale or the fifth of its bass note, from above and
below in turn. Until then it plays notes of the chord, on strong beats above all, and steps of the scale. A fifth is
below the root where the strings go so far; a chord without one has its third there. All of this is common practice; X.
Riley and S. Dixon ("FiloBass", ISMIR 2023) describe walking lines like this from 48 that were written down from
recordings.

What is repeated is played as it was before. The last bass note is held.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from tunelib.arrange.bass_notes import BassPitch, fifth_of, leading, material_of, placed
from tunelib.arrange.comping import anticipates
from tunelib.arrange.feels import PLAIN, Feel, Hit
from tunelib.arrange.laying import first_full_bar, homes, laid
from tunelib.arrange.walking import FIFTH, STEP, cheapest_line
from tunelib.arrange.written_score import beside
from tunelib.harmony import RetunedTune
from tunelib.pitch import CENTS_PER_OCTAVE, Note

# What a note of a walking line costs by itself, beside what moves cost.
_ROOT, _IN_CHORD, _SEVENTH, _OUTSIDE = 0.0, 0.2, 0.5, 1.2  # on a strong beat; on another the last two count little
_WEAK = 0.25
_APPROACH = {"semitone": 0.0, "step": 0.0, "fifth": -0.4, "other": 1.5, "same": 3.0}  # the note before a new chord
_WAYS = (  # by their cents, in all divisions whose notes have letters
    (0.0, 0.0, "same"), (0.0, 150.0, "semitone"), (150.0, STEP, "step"),
    (480.0, 515.0, "fifth"), (685.0, FIFTH, "fifth"),
)  # fmt: skip
_SAME_SIDE, _SAME_WAY = 0.6, 0.5  # as the approach before
_IN_OCTAVES = 2.0  # with the highest voice of the chords

_TRIAD, _SEVENTHS = (2, 4), (5, 6)  # letters above the root
_STRONG = 2  # every so many beats


@dataclass(frozen=True)
class BassNote:
    """A note of the bass: when and for how long, in even eighths, its accent, as it sounds and as it is written."""

    onset: Fraction
    length: Fraction
    accent: int
    note: Note
    written: Note


@dataclass(frozen=True)
class _Beat:
    """A hit of the bass at its place: the chord that it plays, and which written place of the tune it is."""

    onset: Fraction
    length: Fraction
    accent: int
    role: str
    chord: int
    identity: tuple[int, Fraction]


def bass_line(tune: RetunedTune, feel: Feel) -> list[BassNote]:
    """The bass of a tune, in order of onset; the same every time."""
    tuning, key = tune.tuning, tune.sheet.key
    materials = [material_of(chord.chord, chord.meant, key, tuning) for chord in tune.chords]
    roots = _roots(tune)
    beats = _beats(tune, feel)
    pitches: list[BassPitch | None] = []
    for beat in beats:
        root, material = roots[beat.chord], materials[beat.chord]
        fixed = {"root": root, "fifth": fifth_of(root, material, tuning)}
        pitches.append(fixed.get(beat.role))
    _walk(tune, beats, pitches, materials)
    return [
        BassNote(beat.onset, beat.length, beat.accent, pitch.note, pitch.written)
        for beat, pitch in zip(beats, pitches, strict=True)
        if pitch is not None
    ]


def _beats(tune: RetunedTune, feel: Feel) -> list[_Beat]:
    """The hits of the pattern under every chord, and one where a chord begins."""
    sheet, bars = tune.sheet, feel.bass_at(tune.sheet.tempo)
    found: list[_Beat] = []
    for place, (chord, home) in enumerate(zip(sheet.chords, homes(sheet), strict=True)):
        last = place == len(sheet.chords) - 1
        hits = [] if last else list(laid(bars, feel.beats, sheet, home, home + chord.duration))
        if not hits or hits[0][0] > home:
            hits.insert(0, (home, Hit(Fraction(0), chord.duration, PLAIN, "root")))
        for when, hit in hits:
            onset = when - home + chord.onset
            begins = onset == chord.onset and not (hit.role == "walk" and _goes_on(tune, place))
            early = hit.role == "root" and anticipates(sheet, place, onset)
            role = "root" if begins else hit.role
            identity = (sheet.chords[place + early].sign, when)
            found.append(_Beat(onset, hit.length, hit.accent, role, place + early, identity))
    ends = [after.onset for _, after in pairwise(found)]
    return [
        replace(beat, length=min(beat.length, end - beat.onset, sheet.chords[beat.chord].end - beat.onset))
        for beat, end in zip(found, [*ends, sheet.chords[-1].end], strict=True)
    ]


def _goes_on(tune: RetunedTune, place: int) -> bool:
    """Whether a chord is the one before once more."""
    if not place:
        return False
    before, chord = tune.chords[place - 1], tune.chords[place]
    return before.written.end == chord.written.onset and before.chord == chord.chord


def _roots(tune: RetunedTune) -> list[BassPitch]:
    """The bass note of every chord, where the string has it twice in the octave that makes the shortest ways."""
    tuning = tune.tuning
    signs = [chord.written.sign if chord.written.sign >= 0 else -1 - place for place, chord in enumerate(tune.chords)]
    choices: dict[int, list[BassPitch]] = {}
    for sign, chord in zip(signs, tune.chords, strict=True):
        if sign not in choices:
            bass, meant = chord.notes[0], chord.meant
            pitch = BassPitch(bass, beside(bass, meant.bass or meant.root), 0, True)
            places = list(placed([pitch], tuning))
            choices[sign] = sorted(places, key=lambda one: one.note != bass)
    chosen = {sign: places[0] for sign, places in choices.items()}
    for sign, places in choices.items():
        if len(places) > 1:
            beside_it = [
                other
                for one, two in pairwise(signs)
                for this, other in ((one, two), (two, one))
                if this == sign != other
            ]
            chosen[sign] = min(
                places,
                key=lambda one: sum(
                    (one.note.step(tuning) - chosen[other].note.step(tuning)) ** 2 for other in beside_it
                ),
            )
    return [chosen[sign] for sign in signs]


def _walk(
    tune: RetunedTune,
    beats: Sequence[_Beat],
    pitches: list[BassPitch | None],
    materials: Sequence[tuple[BassPitch, ...]],
) -> None:
    """Fill in what walks, between what does not."""
    tuning, known = tune.tuning, dict[tuple[tuple[int, Fraction], ...], list[BassPitch]]()
    last = (True, "")
    for first, after in _runs(beats):
        led = after < len(beats) and _joined(tune, beats[after - 1], beats[after])
        target = pitches[after] if led else None
        around = tuple(beat.identity for beat in beats[max(0, first - 1) : after + 1])
        if around not in known:
            slots = [_on_the_way(tune, beat, materials[beat.chord]) for beat in beats[first:after]]
            if target is not None:
                slots[-1] = _approaches(
                    tune, beats[after - 1 : after + 1], materials[beats[after - 1].chord], target, last
                )
            follows = first > 0 and _joined(tune, beats[first - 1], beats[first])
            before = [pitch.note.step(tuning) for pitch in pitches[max(0, first - 2) : first] if pitch and follows]
            weighed = tuple(tuple((pitch.note.step(tuning), cost) for pitch, cost in slot) for slot in slots)
            goal = None if target is None else target.note.step(tuning)
            line = cheapest_line(tuple(before), weighed, goal, len(tuning))
            known[around] = [slot[place][0] for slot, place in zip(slots, line, strict=True)]
            if goal is not None:
                last = _approach(known[around][-1].note.step(tuning), goal, len(tuning))
        pitches[first:after] = known[around]


def _joined(tune: RetunedTune, one: _Beat, other: _Beat) -> bool:
    """Whether no silence is written between two hits."""
    return other.chord == one.chord or tune.sheet.chords[one.chord].end == tune.sheet.chords[other.chord].onset


def _runs(beats: Sequence[_Beat]) -> Iterator[tuple[int, int]]:
    """The places of hits that walk without one that does not between: the first of each run, and the one after it."""
    first = 0
    while first < len(beats):
        after = first
        while after < len(beats) and beats[after].role == "walk":
            after += 1
        if after > first:
            yield first, after
        first = after + 1


def _on_the_way(tune: RetunedTune, beat: _Beat, material: Sequence[BassPitch]) -> list[tuple[BassPitch, float]]:
    """What may be played on a beat, and what each costs by itself."""
    within = beat.onset - first_full_bar(tune.sheet) * tune.sheet.beats_per_bar
    strong = within % tune.sheet.beats_per_bar % _STRONG == 0
    return [(pitch, _foreign(pitch) * (1.0 if strong else _WEAK)) for pitch in material]


def _foreign(pitch: BassPitch) -> float:
    if not pitch.in_chord:
        return _OUTSIDE
    if pitch.letters == 0:
        return _ROOT
    return _IN_CHORD if pitch.letters in _TRIAD else _SEVENTH if pitch.letters in _SEVENTHS else _OUTSIDE


def _approaches(
    tune: RetunedTune, beats: Sequence[_Beat], material: Sequence[BassPitch], target: BassPitch, last: tuple[bool, str]
) -> list[tuple[BassPitch, float]]:
    """What may lead from the first of two beats to the note of the second, and what each costs by itself."""
    tuning, size = tune.tuning, len(tune.tuning)
    goal = target.note.step(tuning)
    top, next_top = (tune.chords[beat.chord].notes[-1].step(tuning) for beat in beats)
    in_octaves = top if top != next_top and (next_top - goal) % size == 0 else None
    by_step = {pitch.note.step(tuning): pitch for pitch in reversed([*material, *leading(target, tuning)])}
    found = []
    for step, pitch in sorted(by_step.items()):
        above, way = _approach(step, goal, size)
        cost = _APPROACH[way] + _SAME_SIDE * (above == last[0]) + _SAME_WAY * (way == last[1])
        if in_octaves is not None and (step - in_octaves) % size == 0:
            cost += _IN_OCTAVES
        found.append((pitch, cost))
    return found


def _approach(step: int, goal: int, size: int) -> tuple[bool, str]:
    """Whether a note is above the one that it leads to, and how it leads there."""
    away = abs(step - goal) * CENTS_PER_OCTAVE / size
    return step > goal, next((way for least, most, way in _WAYS if least <= away <= most), "other")
