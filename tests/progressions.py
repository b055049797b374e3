"""Progressions to judge charts by: each in C, or in C minor, and put into any other key; with melodies of their own.

What they are is common practice: cadences, turnarounds, blues, bridges, substitutes, cycles, pedals; and chords that
only some divisions have. A few melodies are written out, because they are what matters: a ♯9 that is sung as a minor
tenth, a ♯5 as a flat sixth, a pickup, an ending. The others are made by rule from the name of the progression, always
the same: a note of the chord that is near the last one on each change, then others of its notes and short steps
between them.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from tunelib.harmony import Chord, LeadSheet, parse_lead_sheet
from tunelib.pitch import Note, SpelledInterval

TWELVE_KEYS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
REMOTE_KEYS = ("Gb", "C#", "Cb", "Fb", "Dhb", "Gh#")  # the last two are between the keys of a piano
_LOW, _HIGH, _BEGIN = Note.parse("E4"), Note.parse("A5"), Note.parse("B4")  # of a melody made by rule, in C
_NOTE = re.compile(r"([A-G](?:h#|hb|[#bx])*)(-?\d)")
_ROOT = re.compile(r"(^|/)([A-G](?:h#|hb|[#bx])*)")
_SHAPES = {  # lengths of the notes of a chord that lasts so many beats
    1: ((1,), (Fraction(1, 2), Fraction(1, 2))),
    2: ((2,), (1, 1), (Fraction(3, 2), Fraction(1, 2))),
    3: ((3,), (2, 1), (Fraction(3, 2), Fraction(1, 2), 1)),
    4: ((4,), (3, 1), (2, 2), (Fraction(3, 2), Fraction(1, 2), 2), (1, Fraction(1, 2), Fraction(1, 2), 2)),
}


@dataclass(frozen=True)
class Progression:
    """A progression in C or C minor: bars as in a lead sheet, with or without a melody; beats to a bar, and a tempo."""

    bars: str
    metre: int = 4
    tempo: int = 140
    mode: str = "major"


PROGRESSIONS = {
    "two five one": Progression("| Dm7 | G7 | Cmaj7 | C6 |"),
    "two five one with ninths": Progression("| Dm9 | G13 | Cmaj9 | C69 |"),
    "two five one minor": Progression("| Dm7b5 | G7b9 | Cm6 | Cm(maj7) |", mode="minor"),
    "two five to a bar": Progression("| Em7 A7 | Dm7 G7 | Cmaj7 A7 | Dm7 G7 | C6 |", tempo=180),
    "sixth two five": Progression("| Cmaj7 Am7 | Dm7 G7 | Em7 Am7 | Dm9 G9 | C69 |"),
    "rhythm first eight": Progression(
        "| C6 A7 | Dm7 G7 | Em7 A7 | Dm7 G7 |\n| C7 C7/E | F7 F#dim7 | C6/G G7 | C6 |", tempo=220
    ),
    "rhythm bridge": Progression("| E7 | E9 | A7 | A13 | D7 | D9 | G7 | G13 | C6 |", tempo=220),
    "blues": Progression(
        "| C7 | F7 | C7 | C7 |\n| F7 | F#dim7 | C7/G | A7b9 |\n| Dm7 | G7 | C7 A7 | Dm7 G7 |", tempo=120
    ),
    "blues with two fives": Progression(
        "| Cmaj7 | Bm7b5 E7b9 | Am7 D7 | Gm7 C7 |\n| F7 | Fm7 Bb7 | Em7 A7 | Ebm7 Ab7 |\n| Dm7 | G7 | C6 A7 | Dm7 G7 |"
    ),
    "blues minor": Progression(
        "| Cm6 | Fm7 | Cm7 | Cm7 |\n| Fm7 | Fm9 | Cm6 | Cm7 |\n| Ab7 | G7alt | Cm6 | G7#9 |", mode="minor"
    ),
    "blues of harmonic sevenths": Progression("| Charm7 | Fharm7 | Charm7 | Gharm9 | Fharm7 | Charm7 |", tempo=90),
    "substitutes": Progression("| Dm7 | Db7 | Cmaj7 | C6 | Fm7 | E7 | Ebmaj7 | Eb6 |"),
    "substitutes in a turnaround": Progression("| Cmaj7 Eb7 | Dm7 Db7 | Cmaj7 Ebmaj7 | Abmaj7 Db7 | C6 |"),
    "substitutes with a sharp eleven": Progression("| Bm7b5 Bb7#11 | Am7 Ab7#11 | Gm7 Gb7#11 | Fmaj7 |"),
    "back door": Progression("| Fmaj7 | Fm7 Bb9 | Cmaj7 | Gm7 C7 | Fm6 | C6 |"),
    "altered": Progression("| Dm7b5 | G7alt | Cm9 | C7alt | Fm9 | F7alt | Bbm9 | Bbm6 |", mode="minor"),
    "a sharp nine sung as a minor tenth": Progression(
        "        | D7#9          | G7#9        | C7#9     | F7#9      | Bb6  |\n"
        "melody: | F5:2 D5 F5    | Bb4:3 G4    | Eb5:4    | Ab4:2 C5:2 | D5:4 |"
    ),
    "a sharp nine sung as one": Progression(
        "        | E7#9       | A7alt      | Dm7     | G7b9#9      | C6   |\n"
        "melody: | Fx5:2 E5:2 | B#4:2 G4:2 | A4 F4:3 | A#4:2 Ab4:2 | G4:4 |"
    ),
    "a sharp five sung as a flat six": Progression(
        "        | C7#5        | Fm7        | Bb7#5     | Ebm7      | Caug      | Fm6  |\n"
        "melody: | Ab4:2 Bb4:2 | Ab4:3 C5   | Gb4:4     | F4 Gb4:3  | Ab4:2 E5:2 | D5:4 |",
        mode="minor",
    ),
    "a flat six sung as a sharp five": Progression(
        "        | E7b13      | Am7      | A7b13      | Dm6     |\n"
        "melody: | B#4:2 D5:2 | C5:4     | E#5:2 G5:2 | F5:4    |"
    ),
    "a diminished seventh sung as a sixth": Progression(
        "        | Cdim7      | C6        | F#dim7     | C/G    | G#dim7    | Am7  |\n"
        "melody: | A4:2 Gb4:2 | G4:3 A4   | D#5:2 C5:2 | E5:4   | F5:2 D5:2 | C5:4 |"
    ),
    "diminished upwards": Progression("| Cmaj7 | C#dim7 | Dm7 | D#dim7 | C/E | F6 | F#dim7 | C6/G |"),
    "diminished downwards": Progression("| Em7 | Ebdim7 | Dm7 | G7 | Cdim7 | Cmaj7 |"),
    "major thirds": Progression("| Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 G7 | Cmaj7 |", tempo=240),
    "major thirds with two fives": Progression(
        "| Cmaj7 | F#m7 B7 | Emaj7 | Bbm7 Eb7 | Abmaj7 | Dm7 G7 | Cmaj7 |", tempo=240
    ),
    "minor thirds": Progression("| Cmaj7 | Ebmaj7 | Gbmaj7 | Amaj7 | Cmaj7 |"),
    "minor thirds in dominants": Progression("| C7 Eb7 | Gb7 A7 | C7 Eb7 | Dm7 G7 | C6 |"),
    "round the fifths": Progression("| E7 | A7 | D7 | G7 | C7 | F7 | Bb7 | Eb7 | Abmaj7 |"),
    "thirteenths round the fifths": Progression("| A13 | D13b9 | G13 | C13#11 | F13 | Bb13 | Eb69 |"),
    "suspended": Progression("| G7sus4 | G7 | C7sus4 | C7 | F9sus4 | F9 | Bbmaj7 | Csus2 C |"),
    "suspended and planing": Progression("| D9sus4 | F9sus4 | Eb13sus4 | D13sus4 | Gsus4 | G |"),
    "half-diminished": Progression("| F#m7b5 B7b9 | Em7b5 A7b9 | Dm7b5 G7b9 | Cm6 |", mode="minor"),
    "slash basses": Progression("| C | C/B | Am7 | Am7/G | F | C/E | Dm7 | G7/F | C/E | F6 | C/G G7 | C |"),
    "pedal": Progression("| C | F/C | G7/C | C | Dm7/G | G9sus4 | G7 | Cmaj7 |"),
    "minor line": Progression("| Cm | Cm(maj7) | Cm7 | Cm6 | Abmaj7 | G7b9 | Cm(maj9) |", mode="minor"),
    "major line": Progression("| C | Caug | C6 | C7 | Fmaj7 | Fm6 | C/G | Am7 D7 | G7sus4 G7 | Cadd9 |"),
    "waltz": Progression("| Cmaj7 | Bm7b5 | E7b9 | Am7 | D7 | Dm7 | G7 | C6 |", metre=3, tempo=150),
    "waltz minor": Progression("| Cm7 | Fm7 | Bb7 | Ebmaj7 | Abmaj7 | Dm7b5 | G7b9 | Cm6 |", 3, 160, "minor"),
    "bossa": Progression("| Cmaj9 | C69 | D9 | D7b5 | Dm9 | G7b9 | Cmaj9 | Db9 |", tempo=130),
    "bossa minor": Progression("| Cm9 | Cm9 | Dm7b5 | G7b13 | Cm9 | F13 | Abmaj7#11 | G7#5b9 |", 4, 130, "minor"),
    "modal": Progression("| Dm7 | Dm11 | Ebm7 | Ebm11 | Dm9 | Dm6 |", tempo=200),
    "lydian": Progression("| Cmaj7#11 | Ebmaj7#11 | Dbmaj9#11 | Bmaj7#11 | Cmaj13 |", tempo=80),
    "phrygian cadence": Progression("| Cm | Bb7 | Abmaj7 | G7sus4 G7 | Abmaj7 | Gm7 Fm7 | Cm |", mode="minor"),
    "deceptive": Progression("| Dm7 G7 | Am7 | Fmaj7 G7 | Abmaj7 Bb7 | C6 |"),
    "altered fifths": Progression("| Cmaj7#5 | C7b5 | C7#5 | F7b5 | Em7b5 | A7#5b9 | Dm(maj7) | G7b5b9 | C6 |"),
    "triads": Progression("| C | Am | F | G | C | E | Am Dm | G C |", tempo=100),
    "four in the bar": Progression("| C Dm7 C/E F | Fm6 C/E Dm7 G7 | Cmaj7 A7b9 Dm7 Db7 | C6 |", tempo=90),
    "five in the bar": Progression("| Cm7 . . F7 . | Bbmaj7 . . Ebmaj7 . | Am7b5 . . D7alt . | Gm6 |", 5, 170),
    "neutral": Progression("| F | Fneu | Fm | C | Cneumid7 | Fneu | Csub | C |", tempo=80),
    "wide and harmonic": Progression("| Cwide7 | Am7 | Dsubharm7 | Gharm7 | Cwide7 | Cmaj7 |", tempo=80),
    "supermajor dominant": Progression("| Dsubharm7 | Gsupharm7 | Csup | C |", tempo=80),
    "the eleventh harmonic": Progression("| Fmaj7h#11 | Charm9h#11 | Bb7h#11 | Charm7 | C |", tempo=80),
    "neutral sevenths down": Progression("| Cmaj7 | Cmid7 | C7 | Charm7 | F6 | Fm6 | C |", tempo=80),
    "subminor": Progression("| Csubharm7 | Fsubharm7 | Bbharm9 | Ebmaj7 | Abmaj7 | Gharm7b9 | Csub |", 4, 80, "minor"),
    "repeats and endings": Progression(
        "        |: Dm7       | G7          | 1. Cmaj7  | A7alt :|  2. Cmaj7 | C6   |\n"
        "melody: |: F4:2 A4:2 | B4 D5 F5:2  | E5:4      | C5:2 G4:2 :| E5:4  | G5:4 |"
    ),
    "pickup": Progression(
        "        | N.C.           | Gm7        | C9        | Fmaj7     | D7b9       | Gm7       | C7sus4 C7  | F6   |\n"
        "melody: | -:3 C5:1/2 D5:1/2 | F5:3 D5 | E5:2 G4:2 | A4:4      | A4:3 Eb5   | D5:2 Bb4:2 | F4:2 Bb4:2 | A4:4 |"
    ),
    "root over a major seventh": Progression(
        "        | Cmaj7     | Fmaj7     | Ebmaj7    | Abmaj7      | G7sus4 G7 | Cmaj7 |\n"
        "melody: | C5:4      | F4:2 A4:2 | Eb5:3 D5  | Ab4:2 C5:2  | C5:2 B4:2 | C5:4  |"
    ),
    "low melody": Progression(
        "        | Fm7       | Bb9         | Ebmaj7   | C7b9        | Fm7      | Bb7b9       | Eb6   |\n"
        "melody: | Eb4:3 C4  | D4:2 F4:2   | G4:4     | E4:2 Db4:2  | C4 F4:3  | D4:2 Ab4:2  | G4:4  |"
    ),
    "high melody": Progression(
        "        | Fm7       | Bb13        | Ebmaj9   | C7b9        | Fm9      | Bb7#9       | Eb69  |\n"
        "melody: | Eb6:3 C6  | D6:2 G6:2   | F6:4     | E6:2 Db6:2  | C6 F6:3  | Db6:2 Ab5:2 | C6:4  |"
    ),
    "alone": Progression("| C7 | F7 |\nmelody: | -:4 | -:4 |"),
}  # fmt: skip


@lru_cache(maxsize=4096)
def sheet(name: str, key: str = "C") -> LeadSheet:
    """A progression in a key, with its melody. Raises ValueError for a key in which a root cannot be written."""
    progression = PROGRESSIONS[name]
    bars = progression.bars if "melody:" in progression.bars else _with_melody(name, progression)
    away = Note.named("C").interval_to(Note.named(key))
    if away.letters > 3:  # a melody stays near where it is singable
        away = away - SpelledInterval.parse("P8")
    heads = f"title: {name}\nmetre: {progression.metre}/4\ntempo: {progression.tempo}\nkey: {key} {progression.mode}\n"
    return parse_lead_sheet(heads + "\n".join(_transposed(line, away) for line in bars.splitlines()) + "\n")


@lru_cache(maxsize=128)
def keys_of(name: str) -> tuple[str, ...]:
    """The keys in which every root, bass and note of a progression can be written."""
    found = []
    for key in TWELVE_KEYS + REMOTE_KEYS:
        try:
            sheet(name, key)
        except ValueError:
            continue
        found.append(key)
    return tuple(found)


def _transposed(line: str, away: SpelledInterval) -> str:
    if line.lstrip().startswith("melody:"):
        return _NOTE.sub(lambda match: Note.parse(match.group()).transpose(away).typed, line)
    return re.sub(r"[^\s|:]+", lambda sign: _symbol_transposed(sign.group(), away), line)


def _symbol_transposed(symbol: str, away: SpelledInterval) -> str:
    return _ROOT.sub(lambda match: match[1] + Note.named(match[2]).transpose(away).typed_name, symbol)


def _with_melody(name: str, progression: Progression) -> str:
    """Lines of plain bars, each with a melody below it."""
    chance = random.Random(name)
    last = _BEGIN
    lines = []
    for line in progression.bars.splitlines():
        cells = []
        for bar in line.strip().strip("|").split("|"):
            signs = bar.split()
            starts = [place for place, sign in enumerate(signs) if sign != "."]
            share = Fraction(progression.metre, len(signs))
            sung = []
            for start, end in zip(starts, [*starts[1:], len(signs)], strict=True):
                notes = _phrase(Chord.parse(signs[start]), share * (end - start), last, chance)
                last = notes[-1][0]
                sung += [f"{note.typed}:{length}" for note, length in notes]
            cells.append(" ".join(sung))
        lines += [f"        {line.strip()}", f"melody: | {' | '.join(cells)} |"]
    return "\n".join(lines)


def _phrase(chord: Chord, beats: Fraction, last: Note, chance: random.Random) -> list[tuple[Note, Fraction]]:
    """Notes over one chord: the nearest of those that say what it is, then others; a short note is a step from both."""
    shape = chance.choice(_SHAPES.get(int(beats), ((beats,),)))
    notes: list[tuple[Note, Fraction]] = []
    for length in (Fraction(beats) for beats in shape):
        others = [note for note in _singable(chord) if note != last]
        near = sorted(others, key=lambda note: (abs(note.quartertones - last.quartertones), note.quartertones))
        last = near[0] if not notes else chance.choice(near[:3])
        notes.append((last, length))
    return notes


def _singable(chord: Chord) -> list[Note]:
    """The notes of a chord in the range of a melody; beside a major seventh or a flat ninth not its root."""
    numbers = {interval.letters + 1: interval.offset for interval in chord.intervals}
    rubbed = numbers.get(7) in (0, 1) or numbers.get(9, 0) < 0
    kept = [interval for interval in chord.intervals if interval.letters or not rubbed]
    names = [chord.root.transpose(interval) for interval in kept]
    octaves = [Note(note.letter, note.half_sharps, octave) for note in names for octave in (3, 4, 5)]
    return [note for note in octaves if _LOW.quartertones <= note.quartertones <= _HIGH.quartertones]
