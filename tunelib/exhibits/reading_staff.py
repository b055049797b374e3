"""Notes on a staff for somebody to read: the picture of the reading drill, and how a written note is described."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from tunelib.exhibits.exhibit import Canvas, Exhibit, Knob, Playing, Scene, Voicing
from tunelib.exhibits.look import Look
from tunelib.exhibits.staff import Staff, engraved_lines, ink
from tunelib.export import middle_line
from tunelib.pitch import THIRTY_ONE, Instrument, Note, ordinal_in_words, sign_name
from tunelib.score import Score, sequence
from tunelib.sound import timbre_for

MOST_NOTES = 8
_BREADTH = 2300.0  # the least of a staff, in the unit of engraved drawings, of which 720 are its height
_LARGEST = 0.16  # points to that unit
_TOP_LINE = 4  # places above the middle line


def sign_in_words(half_sharps: int) -> str:
    """What an accidental is called, with its article.

    >>> sign_in_words(-1), sign_in_words(0)
    ('a half-flat', 'no sign')
    """
    return f"a {sign_name(half_sharps)}" if half_sharps else sign_name(0)


def place_in_words(written: Note, clef: str) -> str:
    """Where a note is on its staff; lines and spaces are counted from below, ledger lines from the staff.

    >>> place_in_words(Note.parse("A4"), "treble"), place_in_words(Note.parse("C4"), "treble")
    ('in the second space', 'on the first ledger line below the staff')
    """
    place = written.diatonic - middle_line(clef).diatonic
    if abs(place) <= _TOP_LINE:
        index, between = divmod(place + _TOP_LINE, 2)
        which = ordinal_in_words(index + 1)
        return f"in the {which} space" if between else f"on the {which} line"
    side = "above" if place > 0 else "below"
    ledgers, beyond = divmod(abs(place) - _TOP_LINE, 2)
    if not ledgers:
        return f"just {side} the staff"
    line = f"the {ordinal_in_words(ledgers)} ledger line"
    return f"just {side} {line} {side} the staff" if beyond else f"on {line} {side} the staff"


class NotesToRead(Exhibit):
    """A few notes, each on a staff of its own, with a heading and a label under each.

    Parameters
    ----------
    heading : str
    written : sequence of Note
        One to eight, as the player reads them.
    player : Instrument
    labels : sequence of str
        One for each note; they may be empty.

    Raises ValueError for another number of notes or labels.
    """

    name: ClassVar[str] = "notes_to_read"
    title: ClassVar[str] = "Notes to read"
    knobs: ClassVar[tuple[Knob, ...]] = ()

    def __init__(self, heading: str, written: Sequence[Note], player: Instrument, labels: Sequence[str]) -> None:
        if not 1 <= len(written) <= MOST_NOTES or len(labels) != len(written):
            raise ValueError(
                f"one to {MOST_NOTES} notes can be read at once, each with a label, not {len(written)} with "
                f"{len(labels)} labels"
            )
        self.heading, self.written, self.player, self.labels = heading, tuple(written), player, tuple(labels)

    def lay_out(self, figure: Canvas, look: Look) -> Scene:
        look.heading(figure, self.heading)
        across = look.fit(*((1, 1) if len(self.written) == 1 else (2, 1) if len(self.written) == 2 else (4, 2)))
        across = 2 if len(self.written) in (3, 4) else across
        down = -(-len(self.written) // across)
        left, bottom, whole, high = look.frame
        width, height = whole / across, high / down
        staves = [
            Staff(
                figure,
                look,
                (left + (i % across + 0.04) * width, bottom + (down - 1 - i // across) * height, 0.92 * width, height),
                1,
                (),
                [("title" if any(self.labels) else "label", "bold")],
            )
            for i in range(len(self.written))
        ]

        def update() -> None:
            for staff, note, label in zip(staves, self.written, self.labels, strict=True):
                scale = min(_LARGEST, staff.width / _BREADTH)
                for _ in range(2):  # a staff that must be smaller is broader in its own unit
                    [line] = engraved_lines((note,), self.player.clef, 1, 1, round(staff.width / scale))
                    high, low = ink(line)
                    scale = min(scale, staff.room / (low - high))
                staff.show(line, scale, [(label,)])

        def light(playing: Playing) -> None:
            for i, staff in enumerate(staves):
                dim = playing.seconds is not None and i not in playing.notes
                staff.notes[0].set_facecolor(look.theme.line if dim else look.theme.ink)

        return Scene([artist for staff in staves for artist in staff.artists], update, light)

    def sentence(self) -> str:
        """Where each note is and what sign it has, without its name."""
        told = [
            f"{f'{label}, ' if label else ''}{place_in_words(note, self.player.clef)} with "
            f"{sign_in_words(note.half_sharps)}"
            for label, note in zip(self.labels, self.written, strict=True)
        ]
        notes = "A note" if len(told) == 1 else f"{len(told)} notes"
        return f"{notes} in the {self.player.clef} clef: {'; '.join(told)}."

    def score(self) -> Score:
        sounding = [self.player.sounding(note) for note in self.written]
        return sequence([(note.hz(THIRTY_ONE), note) for note in sounding])

    def timbre(self) -> Voicing:
        return timbre_for(self.player)
