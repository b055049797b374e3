"""Who plays what of a retuned tune: a part for every player of a band.

The first in the list who plays a single line has the melody; where nobody does, the first who plays chords, and failing
that the first of all. Other single lines hold the chords (`tunelib.arrange.pads`), with the melody small above them. A
piano or a harp has the chords written out for two hands, a guitar slashes and symbols, a bass its line. A tuba or
a contrabassoon is the bass of a band that has no other. All this is common practice.

What cannot be bent is written as it is played: a piano, a harp and bars that are struck have the nearest keys.

Notes are as they sound, the whole tune as it is played; whoever prints them takes what is on the page, and writes it as
the instrument reads it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from tunelib.arrange.octaves import Phrase, suited
from tunelib.arrange.pads import pad_voices
from tunelib.arrange.play_along import MOST_PLAYERS
from tunelib.arrange.tuning_card import own_key
from tunelib.arrange.written_score import BASS, MELODY, written_score
from tunelib.harmony import LeadSheet, RetunedChord, RetunedTune
from tunelib.pitch import (
    Instrument,
    Key,
    Note,
    SpelledInterval,
    Tuning,
    equal,
    in_runs,
    instrument,
    listed,
    number_in_words,
    readable,
)
from tunelib.score import Score, ScoreNote

LEAD, PAD, VOICINGS, SLASHES, LINE = "melody", "pad", "voicings", "slashes", "line"
"""What a player can have: the melody, a long note of each chord, chords for two hands, symbols alone, or the bass."""

_TWELVE = equal(12)
_BASSES, _BASSES_IN_NEED = ("double bass", "bass guitar"), ("tuba", "contrabassoon")
_TWO_HANDS, _STRUMMED = ("piano", "harp", "organ", "accordion"), ("guitar", "ukulele", "mandolin", "banjo")
_MIDDLE_C_HZ = Note.parse("C4").hz()
_MOST_FIFTHS = 6  # sharps or flats that a part has in its signature if another spelling has fewer
_QUALITIES = {"perfect": "P", "major": "M", "minor": "m", "augmented": "A", "diminished": "d"}
_LEVEL = 0.5
_NO_MELODY = 20_000.0  # hertz


@dataclass(frozen=True)
class PartStaff:
    """A staff of a part: the voice that is on it, its clef, and whether it is small, as a cue."""

    voice: str
    clef: str
    small: bool = False


@dataclass(frozen=True)
class TunePart:
    """What one player of a band has.

    Parameters
    ----------
    name : str
        Of the instrument, with a number where there are several, such as ``"trumpet 2"``.
    player : Instrument
        Its transposition is spelled for the key of the tune.
    has : str
        `LEAD`, `PAD`, `VOICINGS`, `SLASHES` or `LINE`.
    staves : tuple of PartStaff
        From the top. Their voices are those of the notes, and no two parts share one but for the melody as a cue.
    notes : tuple of ScoreNote
        Empty for slashes.
    remarks : tuple of str
        Sentences for the head of the part.
    told : tuple of str
        More of them, for the leader too: what is in another octave than the lead sheet has it, or out of range.
    """

    name: str
    player: Instrument
    has: str
    staves: tuple[PartStaff, ...]
    notes: tuple[ScoreNote, ...]
    remarks: tuple[str, ...] = ()
    told: tuple[str, ...] = ()

    @property
    def bends(self) -> bool:
        """Whether the player can do something about the cents of a note."""
        return bends(self.player)


def tune_parts(tune: RetunedTune, players: Sequence[Instrument]) -> tuple[TunePart, ...]:
    """The parts of a band, in the order in which its players are named.

    Raises ValueError unless there are from 1 to 100 of them.
    """
    if not 1 <= len(players) <= MOST_PLAYERS:
        raise ValueError(f"a band has from 1 to {MOST_PLAYERS} players, not {len(players)}")
    band = [_spelled_for(player, tune.sheet.key) for player in players]
    roles, names = _roles(players, melody=bool(tune.melody)), part_names(players)
    makers = _Parts(tune, has_bass=LINE in roles, leader=names[roles.index(LEAD)] if LEAD in roles else "")
    horns = [player for player, role in zip(band, roles, strict=True) if role == PAD]
    pads = makers.pads(horns)
    parts = []
    for name, player, role in zip(names, band, roles, strict=True):
        if role == PAD:
            parts.append(makers.pad(name, player, next(pads)))
        else:
            make = {LEAD: makers.lead, VOICINGS: makers.voicings, SLASHES: makers.slashes, LINE: makers.line}[role]
            parts.append(make(name, player))
    return tuple(parts)


def leader_parts(tune: RetunedTune) -> tuple[TunePart, ...]:
    """What a score shows where no band is named: melody, if there is one, chords and bass, where they sound."""
    makers = _Parts(tune, has_bass=True, leader="")
    melody = [
        TunePart(MELODY, instrument("flute"), LEAD, (PartStaff(MELODY, "treble"),), makers.voice(MELODY))
        for _ in tune.melody[:1]
    ]
    bass = TunePart(BASS, instrument("double bass"), LINE, (PartStaff(BASS, "bass"),), makers.voice(BASS))
    return (*melody, makers.chords(), bass)


def bends(player: Instrument) -> bool:
    """Whether a player can sound a note a few cents from where a keyboard has it.

    >>> from tunelib.pitch import instrument
    >>> bends(instrument("trombone")), bends(instrument("piano"))
    (True, False)
    """
    return player.family not in ("struck", "organ") and player.name != "harp"


def _roles(players: Sequence[Instrument], melody: bool) -> list[str]:
    """What each player has."""
    names = [player.name for player in players]
    basses = _BASSES if set(names) & set(_BASSES) else _BASSES_IN_NEED
    roles = [
        LINE if name in basses else VOICINGS if name in _TWO_HANDS else SLASHES if name in _STRUMMED else PAD
        for name in names
    ]
    if melody:
        first = next((role for role in (PAD, VOICINGS, SLASHES, LINE) if role in roles), LINE)
        takes = {VOICINGS, SLASHES} if first in (VOICINGS, SLASHES) else {first}
        roles[next(place for place, role in enumerate(roles) if role in takes)] = LEAD
    return roles


def part_names(players: Sequence[Instrument]) -> list[str]:
    """The names of players' parts: those of the instruments, with a number where one is there several times.

    >>> from tunelib.pitch import instrument
    >>> part_names([instrument(name) for name in ("trumpet", "piano", "trumpet")])
    ['trumpet 1', 'piano', 'trumpet 2']
    """
    count, seen = Counter(player.name for player in players), Counter[str]()
    names = []
    for player in players:
        seen[player.name] += 1
        names.append(f"{player.name} {seen[player.name]}" if count[player.name] > 1 else player.name)
    return names


def part_slugs(players: Sequence[Instrument]) -> list[str]:
    """The same as parts of file names, such as ``"trumpet-2"``."""
    names = part_names(players)
    return [replace(player, name=name).slug for player, name in zip(players, names, strict=True)]


def _spelled_for(player: Instrument, key: Key) -> Instrument:
    """A player whose part has the lighter of two signatures: A flat rather than G sharp for an alto in concert B.

    On the instrument the two are one key, so cents are counted from the same note.
    """
    above = player.written(key.tonic)
    fifths = Key(above, key.mode).lowest_fifth + 1
    interval = key.tonic.interval_to(above)
    if abs(fifths) <= _MOST_FIFTHS or interval.letters % 7 == 0:
        return player
    other = SpelledInterval(interval.letters + (1 if fifths > 0 else -1), interval.quartertones)
    down = "-" if interval.letters < 0 else ""
    return replace(player, written_above=f"{down}{_QUALITIES[other.quality]}{abs(other.letters) + 1}")


@dataclass(frozen=True)
class _Parts:
    """Makes the parts of a tune, one by one."""

    tune: RetunedTune
    has_bass: bool
    leader: str  # who has the melody; empty if nobody has

    def lead(self, name: str, player: Instrument) -> TunePart:
        sections = {bar.onset for bar in self.tune.sheet.written_bars if bar.section}
        phrases = suited(self.voice(MELODY), player, sections)
        notes = [note for phrase in phrases for note in phrase.notes]
        told = (*_shifts(phrases, self.tune.sheet), *_out_of_range(phrases, self.tune.sheet))
        return self._part(name, player, LEAD, notes, ("You have the melody.",), told)

    def pads(self, players: Sequence[Instrument]) -> Iterator[list[ScoreNote]]:
        """The notes of each player who holds the chords."""
        chords = self.tune.chords
        melody = self.voice(MELODY)
        ceilings = list(_lowest(melody, chords))
        voices = pad_voices([chord.chord for chord in chords], self.tune.tuning, players, ceilings) if players else []
        for place in range(len(players)):
            yield [
                self._note(chord, notes[place], self.tune.tuning) for chord, notes in zip(chords, voices, strict=True)
            ]

    def pad(self, name: str, player: Instrument, notes: Sequence[ScoreNote]) -> TunePart:
        if not self.leader:
            return self._part(name, player, PAD, notes, ("You hold the chords.",))
        phrases = suited(self.voice(MELODY), player)
        cue = [note for phrase in phrases for note in phrase.notes]
        remark = f"You hold the chords behind the melody. The small staff is a cue: the {self.leader} has it."
        part = self._part(name, player, PAD, notes, (remark,))
        return replace(
            part, staves=(*part.staves, PartStaff(MELODY, player.clef, small=True)), notes=(*cue, *part.notes)
        )

    def voicings(self, name: str, player: Instrument) -> TunePart:
        remarks = ["Chords for two hands, in the keys nearest to the band's notes. The rhythm is yours."]
        if not self.has_bass:
            remarks.append("The left hand has the bass.")
        return self._two_hands(name, player, on_keys=True, remarks=tuple(remarks))

    def chords(self) -> TunePart:
        """The chords as they sound, on two staves of a score."""
        return self._two_hands("chords", instrument("piano"), on_keys=False, remarks=())

    def _two_hands(self, name: str, player: Instrument, on_keys: bool, remarks: tuple[str, ...]) -> TunePart:
        hands = name, f"{name}, left hand"
        notes = []
        for chord in self.tune.chords:
            sounding = chord.notes[1 if self.has_bass else 0 :]
            for played in dict.fromkeys(self._key(note) if on_keys else note for note in sounding):
                note = self._note(chord, played, _TWELVE if on_keys else self.tune.tuning)
                notes.append(replace(note, voice=hands[note.hertz < _MIDDLE_C_HZ]))
        staves = PartStaff(hands[0], "treble"), PartStaff(hands[1], "bass")
        return TunePart(name, player, VOICINGS, staves, tuple(notes), remarks)

    def slashes(self, name: str, player: Instrument) -> TunePart:
        return self._part(name, player, SLASHES, (), ("Play the chords in a rhythm of your own.",))

    def line(self, name: str, player: Instrument) -> TunePart:
        remark = "The bass line as it is simplest: walk from it where you like."
        return self._part(name, player, LINE, self.voice(BASS), (remark,))

    def _part(
        self,
        name: str,
        player: Instrument,
        has: str,
        notes: Sequence[ScoreNote],
        remarks: tuple[str, ...],
        told: tuple[str, ...] = (),
    ) -> TunePart:
        own = [replace(note, voice=name, label="") for note in notes]
        if not bends(player):
            own = [self._on_keys(note) for note in own]
        return TunePart(name, player, has, (PartStaff(name, player.clef),), tuple(own), remarks, told)

    def voice(self, voice: str) -> tuple[ScoreNote, ...]:
        """The notes of a voice of the tune as it is printed."""
        return tuple(replace(note, label="") for note in self._written.notes if note.voice == voice)

    @cached_property
    def _written(self) -> Score:
        return written_score(self.tune)

    def _note(self, chord: RetunedChord, note: Note, tuning: Tuning) -> ScoreNote:
        """A note that lasts as long as a chord."""
        name = readable(note, tuning)
        return ScoreNote(chord.written.onset, chord.written.duration, note.hz(tuning), name, level=_LEVEL)

    def _key(self, note: Note) -> Note:
        return own_key(note, note.hz(self.tune.tuning), self.tune.sheet.key.lowest_fifth + 1)[0]

    def _on_keys(self, note: ScoreNote) -> ScoreNote:
        assert note.name is not None  # the notes of a tune are written
        key, _ = own_key(note.name, note.hertz, self.tune.sheet.key.lowest_fifth + 1)
        return replace(note, hertz=key.hz(_TWELVE), name=key)


def _lowest(melody: Sequence[ScoreNote], chords: Sequence[RetunedChord]) -> Iterator[float]:
    """For each chord the lowest note over it that lasts a beat or more, in hertz; `_NO_MELODY` where there is none."""
    onsets, ends = [note.onset for note in melody], [note.end for note in melody]
    for chord in chords:
        over = melody[bisect_right(ends, chord.written.onset) : bisect_left(onsets, chord.written.end)]
        yield min((note.hertz for note in over if note.duration >= 1), default=_NO_MELODY)


def _shifts(phrases: Sequence[Phrase], sheet: LeadSheet) -> Iterator[str]:
    """Sentences on the phrases that are in another octave than that of the lead sheet."""
    for octaves in sorted({phrase.octaves for phrase in phrases} - {0}):
        moved = [phrase for phrase in phrases if phrase.octaves == octaves]
        far = "an octave" if abs(octaves) == 1 else f"{number_in_words(abs(octaves))} octaves"
        where = "It" if len(moved) == len(phrases) else _bars([note for one in moved for note in one.notes], sheet)
        are = "is" if where == "It" or where.startswith("Bar ") else "are"
        yield f"{where} {are} {far} {'above' if octaves > 0 else 'below'} the lead sheet."


def _out_of_range(phrases: Sequence[Phrase], sheet: LeadSheet) -> tuple[str, ...]:
    """A sentence on the notes that are not in comfortable range in any octave, if there are any."""
    beyond = [note for phrase in phrases for note in phrase.out_of_range]
    if not beyond:
        return ()
    names = listed(dict.fromkeys(str(note.name) for note in sorted(beyond, key=lambda note: note.hertz)))
    return (f"{_bars(beyond, sheet)}: out of comfortable range (sounding {names}).",)


def _bars(notes: Sequence[ScoreNote], sheet: LeadSheet) -> str:
    """The bars in which notes begin, by their printed numbers, such as ``"Bars 1 to 4 and 9"``."""
    numbers = sorted(
        {bar.number for bar in sheet.written_bars for note in notes if bar.onset <= note.onset < bar.onset + bar.beats}
    )
    said = listed(f"{first} to {last}" if last > first else str(first) for first, last in in_runs(numbers))
    return f"{'Bar' if len(numbers) == 1 else 'Bars'} {said}"
