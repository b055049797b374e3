"""What makes a score a lead sheet: which voices are written, in which key, under which chords, in which form."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from tunelib.arrange import chord_read_by
from tunelib.harmony import Chord, FormBar
from tunelib.pitch import Instrument, Key, Note

_MOST_FIFTHS = 7


@dataclass(frozen=True)
class Lead:
    """What makes a score a lead sheet.

    Parameters
    ----------
    parts : mapping of str to str
        The voices that are written, from the top staff down, each with its clef: ``"treble"``, ``"bass 8vb"``, ...
    key : Key
        Its signature is written if it is of up to seven sharps or flats; of another one the accidentals are.
    chords : sequence of (Fraction, Chord or None)
        The beat from which each holds as it is played, in order; None where no chord sounds.
    form : sequence of FormBar, optional
        The bars as they are written, with repeats, endings, sections and jumps: each is written once, as it is played
        for the first time. Without one, bars are written as they are played.
    style : str
        Words over the first bar, such as ``"Medium swing"``.
    slashed : collection of str
        Those of the voices that are written as a slash for each beat of the bars in which they have notes.
    repeats_bars : bool
        Whether a bar that is like the one before it, chord symbols and all, is written as a repeat sign of one bar:
        four in sequence at most, and never at the beginning of a line, a section, a repeat or an ending.
    small : collection of str
        Those that have a small staff, as a cue. Chord symbols are above the first that has not.
    cents : collection of str
        Those over whose notes is how far they are from the nearest key, in cents, where that is worth playing.
    bodies : mapping of Chord to str
        What is printed between root and bass of a chord's symbol, where that is not what its own symbol has there.
    braced : mapping of str to str
        The upper staff of two hands, and the lower, which follows it and shows no name.
    tempo : bool
        Whether the tempo is over the first bar, after the words of `style`.
    """

    parts: Mapping[str, str]
    key: Key
    chords: Sequence[tuple[Fraction, Chord | None]] = ()
    form: Sequence[FormBar] = ()
    style: str = ""
    slashed: Collection[str] = ()
    repeats_bars: bool = False
    small: Collection[str] = ()
    cents: Collection[str] = ()
    bodies: Mapping[Chord, str] = field(default_factory=dict)
    braced: Mapping[str, str] = field(default_factory=dict)
    tempo: bool = True

    def symbols_over(self, voices: Sequence[str]) -> str:
        """Of voices that are written, the one over whose staff are the chord symbols."""
        return next((voice for voice in voices if voice not in self.small), voices[0])

    @property
    def fifths(self) -> int:
        """How many sharps, or, negative, flats the signature has."""
        fifths = self.key.lowest_fifth + 1
        return int(fifths) if fifths == int(fifths) and abs(fifths) <= _MOST_FIFTHS else 0

    @property
    def alterations(self) -> Mapping[str, int]:
        """Half-sharps on each letter by the signature."""
        return Key(Note.on_chain(self.fifths)).alterations

    def read_by(self, player: Instrument) -> Lead:
        """The same for a player's part: key and chords as that instrument reads them."""
        return replace(
            self,
            key=replace(self.key, tonic=player.written(self.key.tonic)),
            chords=[(time, chord and chord_read_by(chord, player)) for time, chord in self.chords],
            bodies={chord_read_by(chord, player): body for chord, body in self.bodies.items()},
        )
