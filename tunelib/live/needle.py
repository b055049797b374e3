"""A live needle: what is sung or played, against a note of any tuning, as it sounds.

The pitch is found in the page (``pitch_finder.js``) and shown there, so the needle moves while Python is at work, or
where there is none. What a singer or player made of a target, from where the voice settles to where it stops, comes to
Python when it is over. No sound is kept or sent.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import anywidget
import numpy as np
import traitlets

from tunelib.live.key_notes import KeyNotes, key_notes
from tunelib.live.needle_picture import needle_picture, note_words
from tunelib.live.program import tones
from tunelib.live.script import script
from tunelib.pitch import A4_HZ, FloatArray, Note, instrument, is_number, positive_hertz, shortened, spell_near
from tunelib.sound import TIMBRES

_HERE = Path(__file__).parent
LOWEST_HEARD, HIGHEST_HEARD = 30.0, 5000.0  # hertz between which bounds can be set
_TONE_HERTZ = 220.0  # of the drone's tone, which the page bends


class Attempt(NamedTuple):
    """What was made of a target.

    Parameters
    ----------
    seconds : array
        Moments since the voice settled, some 90 a second.
    hertz : array
        The pitch at each; NaN where there was none.
    target : float
        In hertz.
    """

    seconds: FloatArray
    hertz: FloatArray
    target: float


def needle(
    tuning: Any,
    *,
    target: float | str | Note | None = None,
    drone: float | str | Note | None = None,
    lowest: float = 60.0,
    highest: float = 2000.0,
    player: str = "",
    any_octave: bool = False,
    reference: float = A4_HZ,
    title: str = "",
) -> Needle:
    """A needle for the notes of a tuning.

    Parameters
    ----------
    tuning
        A Tuning, a Chain of fifths, a number of equal steps to the octave, or the name of a temperament of the past,
        such as ``"quarter-comma"``.
    target : float, str or Note, optional
        What is to be sung or played: a frequency in hertz, or a note as it sounds. Without one the nearest note of the
        tuning is shown.
    drone : float, str or Note, optional
        What the drone sounds; the target unless given.
    lowest, highest : float
        Bounds in hertz of what is listened for, from 30 to 5000. A low one makes the needle slower: it listens to four
        periods of the lowest.
    player : str
        An instrument that reads other notes than sound; names are then those that it reads.
    any_octave : bool
        Whether the target may be sung in any octave.
    reference : float
        The frequency of A4 in hertz.
    title : str
        What it is called; the tuning unless given.

    Raises ValueError for what is no tuning, note, instrument or frequency, and for bounds that do not suit.
    """
    notes = key_notes(tuning, reference)
    return Needle(notes, target, drone, (lowest, highest), player, any_octave, title)


class Needle(anywidget.AnyWidget):
    """The needle in the page. Made by `needle`.

    Attributes
    ----------
    target : float
        In hertz; 0 for any note. It can be set at any time, by `aim` too, and the reader sets it in the page.
    drone : float
        In hertz; 0 for the target.
    listening : bool
        Whether the microphone is open. The reader opens it; setting it to False closes it.
    any_octave : bool
        Whether the target may be sung in any octave.
    notes : KeyNotes
        The tuning, at its pitch and with its names.
    """

    _esm = f"{script(_HERE / 'needle.js')}\nexport default {{render: renderNeedle}};"
    _css = _HERE / "live.css"
    title = traitlets.Unicode("").tag(sync=True)
    scale: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    target = traitlets.Float(0.0).tag(sync=True)
    drone = traitlets.Float(0.0).tag(sync=True)
    lowest = traitlets.Float().tag(sync=True)
    highest = traitlets.Float().tag(sync=True)
    any_octave = traitlets.Bool(False).tag(sync=True)
    listening = traitlets.Bool(False).tag(sync=True)
    tones = traitlets.Bytes().tag(sync=True)
    tone_hertz = traitlets.Float(_TONE_HERTZ).tag(sync=True)

    def __init__(
        self,
        notes: KeyNotes,
        target: float | str | Note | None,
        drone: float | str | Note | None,
        bounds: tuple[float, float],
        player: str,
        any_octave: bool,
        title: str,
    ) -> None:
        lowest, highest = _checked_bounds(*bounds)
        self.notes = notes
        self._read = read = _as_read(notes, player)
        super().__init__(
            title=title or f"Needle: {notes.tuning.name}{f', {player}' if player else ''}",
            scale=read.table(),
            target=self._hertz(target, "a target"),
            drone=self._hertz(drone, "a drone"),
            lowest=lowest,
            highest=highest,
            any_octave=any_octave,
            tones=tones(TIMBRES["organ"], [_TONE_HERTZ]),
        )
        self._done: list[Callable[[Attempt], None]] = []
        self.on_msg(self._told)

    def aim(self, target: float | str | Note | None, drone: float | str | Note | None = None) -> None:
        """Set another target, and another drone; both as for `needle`."""
        with self.hold_sync():
            self.target, self.drone = self._hertz(target, "a target"), self._hertz(drone, "a drone")

    def on_attempt(self, act: Callable[[Attempt], None]) -> None:
        """Call a function with every `Attempt` at a target when it is over."""
        self._done.append(act)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live needle; and, for a reader without a kernel, a picture of its ladder with a sentence."""
        found = super()._repr_mimebundle_(**kwargs)
        live, words = found[0] if found else {}, self.words
        middle = self._read.nearest(self.target) if self.target else 0
        picture = needle_picture(self._read, middle, self.title)
        return live | {"image/png": picture, "text/plain": words}, {"image/png": {"alt": words}}

    @property
    def words(self) -> str:
        """What the needle is, in a sentence."""
        aim = note_words(self._read, self._read.nearest(self.target)) if self.target else "the nearest note"
        return (
            f"{self.title}: what you sing or play, beside the notes of {self.notes.tuning.name}, in cents from {aim}."
        )

    @property
    def page_state(self) -> dict[str, Any]:
        """What a page without Python needs beside `tones`, as JSON can have it: the traits by name."""
        there = {name: getattr(self, name) for name in Needle.class_own_traits(sync=True) if not name.startswith("_")}
        del there["tones"]
        return there | {"listening": False}

    def _hertz(self, of: float | str | Note | None, what: str) -> float:
        """What was given as a frequency or a note; 0 for neither."""
        if of is None:
            return 0.0
        if is_number(of):
            return float(positive_hertz(of, what).item())
        if not isinstance(of, (str, Note)):
            raise ValueError(f"{what} is a frequency in hertz or a note, such as 'E4', not {shortened(of)}")
        return self.notes.hz(self.notes.step(of))

    def _told(self, _widget: Any, message: Any, buffers: Any) -> None:
        """Hand on an attempt that the page has seen to its end."""
        if "attempt" not in message:
            return
        seconds, hertz = (np.frombuffer(buffer, dtype="<f8").copy() for buffer in buffers)
        attempt = Attempt(seconds, hertz, float(message["attempt"]))
        for act in self._done:
            act(attempt)


def _checked_bounds(lowest: float, highest: float) -> tuple[float, float]:
    numbers = is_number(lowest) and is_number(highest)
    if not numbers or not LOWEST_HEARD <= lowest <= highest / 2 <= HIGHEST_HEARD / 2:
        raise ValueError(
            f"a needle listens over an octave or more, from {LOWEST_HEARD:g} Hz at the lowest to {HIGHEST_HEARD:g} Hz, "
            f"and not from {shortened(lowest)} to {shortened(highest)}"
        )
    return float(lowest), float(highest)


def _as_read(notes: KeyNotes, player: str) -> KeyNotes:
    """The same notes with the names that a player reads, the simplest where all steps are alike; numbers stay."""
    if not player or not notes.spelled:
        return notes
    reads, tuning = instrument(player), notes.tuning
    written = [reads.written(note) for note in map(notes.note, range(len(tuning)))]
    names = [spell_near(note.step(tuning), tuning) for note in written] if notes.is_even else written
    return KeyNotes(tuning, notes.hertz, tuple(names))
