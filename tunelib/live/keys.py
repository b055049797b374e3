"""The instrument: the notes of any tuning under mouse, fingers, computer keyboard and MIDI, heard by Python.

All that the page needs is in the traits of the widget, so it sounds and speaks with no kernel behind it. Python hears
which keys are held and what was played, and adds what a chord can be read as.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import anywidget
import numpy as np
import traitlets

from tunelib.exhibits import sign_outlines
from tunelib.harmony import CHORD_TONE, ChordScale, readings
from tunelib.live.chord_table import (
    FEWEST_NOTES,
    MOST_OFF_RATIOS,
    MOST_OFF_SYMBOL,
    chord_table,
    chord_words,
    farthest,
    on_keys,
)
from tunelib.live.key_notes import KeyNotes, harmonic_notes, key_notes
from tunelib.live.key_picture import key_name, key_picture
from tunelib.live.layouts import LAYOUTS, Board, lay_out
from tunelib.live.midi_maps import midi_maps
from tunelib.live.played import Played, played_score
from tunelib.live.program import tones
from tunelib.live.script import script
from tunelib.pitch import A4_HZ, NAMED, Note, drawn, listed
from tunelib.score import Score
from tunelib.sound import TIMBRES, Timbre
from tunelib.sound import timbre as find_timbre

_HERE = Path(__file__).parent
FIRST_TIMBRES = ("organ", "flute", "plucked")  # that a page has without asking Python
_TONES_AN_OCTAVE = 6
_TONES = 65.4 * 2.0 ** (np.arange(5 * _TONES_AN_OCTAVE + 1) / _TONES_AN_OCTAVE)  # hertz: C2 to C7
_ALIGNED = 8  # bytes


def keys(
    tuning: Any = 31,
    layout: str = "rows",
    timbre: str | Timbre = "organ",
    *,
    octaves: int | None = None,
    lowest: int | str | Note = 0,
    player: str = "",
    lit: str | Iterable[int | str | Note] | ChordScale = (),
    title: str = "",
    reference: float = A4_HZ,
    read_chords: bool = True,
    over: bool = False,
) -> Keys:
    """An instrument in the page that has the notes of a tuning.

    Parameters
    ----------
    tuning
        A Tuning, a Chain of fifths, a number of equal steps to the octave, or the name of a temperament of the past,
        such as ``"quarter-comma"``.
    layout : str
        ``"rows"``, ``"line"``, ``"ring"``, ``"staff"`` or ``"fretboard"``.
    timbre : str or Timbre
        What it sounds like first; others are chosen in the page.
    octaves : int, optional
        How many octaves have keys.
    lowest : int, str or Note
        The lowest of them; on a staff and a fretboard the player decides.
    player : str
        On a staff, the instrument whose written notes these are; on a fretboard, the set of strings.
    lit : see `Keys.light`
    title : str
        What it is called; the tuning unless given.
    reference : float
        The frequency of A4 in hertz.
    read_chords : bool
        Whether it says what a chord can be read as; in an exercise that would be half the answer.
    over : bool
        Whether what a panel sounds goes on while these keys are played: a chord with *Hold*, to play over.

    Raises ValueError for anything that does not exist, and for a layout that does not suit the tuning.
    """
    notes = key_notes(tuning, reference)
    board = lay_out(layout, notes, octaves, notes.step(lowest), player)
    return Keys(notes, board, timbre, lit, title or f"Keys: {notes.tuning.name}", read_chords, over)


def harmonic_keys(
    fundamental: float | str | Note = "C2",
    count: int = 16,
    timbre: str | Timbre = "sine",
    *,
    lit: Iterable[int] = (),
    title: str = "",
) -> Keys:
    """An instrument that has the first harmonics of a fundamental, each on a key with its number.

    Parameters
    ----------
    fundamental : float, str or Note
        In hertz, or a note of twelve equal steps.
    count : int
        How many harmonics, 2 to 32.
    timbre, lit, title
        As for `keys`; step 0 is harmonic 1.
    """
    notes = harmonic_notes(fundamental, count)
    return Keys(notes, lay_out("line", notes), timbre, lit, title or notes.tuning.name)


class Keys(anywidget.AnyWidget):
    """The keys of one tuning in the page. Made by `keys` and `harmonic_keys`.

    Attributes
    ----------
    held : list of int
        The steps that sound now, rising. Observe it to be told: ``board.observe(heard, "held")``.
    lit : list of int
        The steps whose keys are marked.
    faint : list of int
        Those of them whose mark is light: what a scale has besides the notes of its chord.
    notes : KeyNotes
        The tuning, at its pitch and with its names.
    """

    _esm = f"{script(_HERE / 'keys.js')}\nexport default {{render: renderKeys}};"
    _css = _HERE / "live.css"
    title = traitlets.Unicode("").tag(sync=True)
    board: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    scale: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    signs: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    chords: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    ratios: traitlets.List[Any] = traitlets.List().tag(sync=True)
    midi: traitlets.List[Any] = traitlets.List().tag(sync=True)
    tones = traitlets.Bytes().tag(sync=True)
    ladder: traitlets.List[Any] = traitlets.List().tag(sync=True)
    timbres: traitlets.List[Any] = traitlets.List().tag(sync=True)
    choices: traitlets.List[Any] = traitlets.List().tag(sync=True)
    timbre = traitlets.Unicode("").tag(sync=True)
    lit = traitlets.List(traitlets.Int()).tag(sync=True)
    faint = traitlets.List(traitlets.Int()).tag(sync=True)
    over = traitlets.Bool(False).tag(sync=True)
    held = traitlets.List(traitlets.Int()).tag(sync=True, echo_update=False)
    reading: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        notes: KeyNotes,
        board: Board,
        timbre: str | Timbre,
        lit: str | Iterable[Any] | ChordScale,
        title: str,
        read_chords: bool = True,
        over: bool = False,
    ) -> None:
        first = find_timbre(timbre) if isinstance(timbre, str) else timbre
        known = {one.name: one for one in (first, *TIMBRES.values())}
        self.notes = notes
        self._board = board
        self._known = known
        marked, faint = self._marked(lit)
        tones, timbres = self._with_timbres(b"", [], (first.name, *(TIMBRES[name].name for name in FIRST_TIMBRES)))
        super().__init__(  # with all that the page needs, so that no key is there before its tones
            title=title,
            board=board.table(),
            scale=notes.table(),
            signs=_signs_of(notes),
            chords=chord_table(notes.tuning) if notes.spelled and read_chords else {},
            ratios=[
                [
                    named.cents,
                    f"{named.ratio.numerator}/{named.ratio.denominator}",
                    named.name,
                    _complexity(named.ratio),
                ]
                for named in NAMED
                if named.kind == "interval"
            ],
            midi=midi_maps(notes),
            ladder=_TONES.tolist(),
            choices=list(known),
            timbre=first.name,
            over=over,
            tones=tones,
            timbres=timbres,
            lit=marked,
            faint=faint,
        )
        self._read_chords = read_chords
        self._gathered: list[Callable[[list[int]], None]] = []
        self._sounding: dict[int, int] = {}  # where in what was played, by the number that the page gave the note
        self._played: list[Played] = []
        self._began: float | None = None
        self.observe(self._read, "held")
        self.observe(lambda change: self._add_timbres(change["new"]), "timbre")
        self.on_msg(self._told)

    @property
    def played(self) -> tuple[Played, ...]:
        """What has been played since the beginning, or since `clear`, in order of onset."""
        return tuple(self._played)

    @property
    def chord(self) -> str:
        """What is held as a chord, with its ratios, such as ``"Charm7, near 4:5:6:7"``; empty if it is none.

        Two different notes are an interval, whatever their octaves.
        """
        return str(self.reading.get("chord", "")) if self.reading.get("held") == self.held else self._chord()[0]

    def light(self, steps: str | Iterable[int | str | Note] | ChordScale = ()) -> None:
        """Mark the keys of some steps or notes, such as ``[0, 10, 18]`` or ``"C4 E4 G4"``, and no others.

        Of a scale over a chord (`tunelib.harmony.scales_over`) all keys are marked, in every octave that there is:
        those of the chord strongly, the others lightly. Raises ValueError for what is no step and no note of the
        tuning, and for a scale of another tuning.

        >>> from tunelib.harmony import Chord, scales_over
        >>> from tunelib.pitch import equal
        >>> board = keys(31, "line", lit=scales_over(Chord.parse("Cmaj7"), equal(31))[0])
        >>> board.lit, board.faint
        ([0, 5, 10, 13, 18, 23, 28, 31], [5, 13, 23])
        """
        lit, faint = self._marked(steps)
        with self.hold_sync():
            self.lit, self.faint = lit, faint

    def _marked(self, steps: str | Iterable[int | str | Note] | ChordScale) -> tuple[list[int], list[int]]:
        """The steps whose keys are to be marked, and those of them that are marked lightly."""
        if isinstance(steps, ChordScale):
            return self._of_scale(steps)
        return [self.notes.step(one) for one in (steps.split() if isinstance(steps, str) else steps)], []

    def _of_scale(self, scale: ChordScale) -> tuple[list[int], list[int]]:
        """The steps of the board that a scale has, and those of them that are not of its chord."""
        if scale.tuning != self.notes.tuning:
            raise ValueError(
                f"the scale is one of {scale.tuning.name} and the keys are of {self.notes.tuning.name}: "
                "take scales_over(chord, tuning) with the tuning of the keys"
            )
        root, size = scale.notes[0].step(scale.tuning), len(scale.tuning)
        part = {(root + one.step) % size: one.part for one in scale.degrees}
        lit = sorted({place.step for place in self._board.keys if place.step % size in part})
        return lit, [step for step in lit if part[step % size] != CHORD_TONE]

    def on_gathered(self, act: Callable[[list[int]], None]) -> None:
        """Call a function with the steps that are held together, rising, whenever there is one more.

        The page tells of each by itself; of ``held`` it tells only the latest where Python was busy meanwhile, and a
        hand may have left the keys by then.
        """
        self._gathered.append(act)

    def clear(self) -> None:
        """Forget what was played."""
        self._played, self._sounding, self._began = [], {}, None

    def score(self, tempo: float = 60.0, grid: Fraction | float = Fraction(1, 4)) -> Score:
        """What was played as a score, for sound, MIDI, MusicXML and the staff.

        Parameters
        ----------
        tempo : float
            Beats a minute.
        grid : Fraction or float
            The part of a beat to whose multiples times are moved, so that the score can be read; 0 leaves them as they
            were played.

        Raises ValueError for a tempo that is not above 0, or a grid below 0.
        """
        return played_score(self._played, self.notes, tempo, grid, self.title)

    def _add_timbres(self, *names: str) -> None:
        """See that the page has the tones of these timbres."""
        tones, timbres = self._with_timbres(self.tones, self.timbres, names)
        with self.hold_sync():
            self.tones, self.timbres = tones, timbres

    def _with_timbres(self, tones: bytes, timbres: list[Any], names: Iterable[str]) -> tuple[bytes, list[Any]]:
        """Tones, and the table of whose they are and where; with those of these timbres."""
        packed, table = [tones], list(timbres)
        there = {name for name, _, _ in table}
        for name in dict.fromkeys(names):
            if name not in there and name in self._known:
                made = _packed(self._known[name])
                table.append([name, sum(map(len, packed)), len(made)])
                packed.append(made)
        return b"".join(packed), table

    def _read(self, _change: Any) -> None:
        """Tell the page what the notes that are held can be read as."""
        chord, why = self._chord()
        self.reading = {"held": list(self.held), "chord": chord, "why": why}

    def _chord(self) -> tuple[str, str]:
        """What is held as a chord, and why it is read so; empty where it is none."""
        notes = self.notes
        if not self._read_chords:
            return "", ""
        if notes.are_harmonics and len(self.held) > 1:
            return ":".join(key_name(notes, step) for step in self.held), ""
        if not notes.spelled or notes.tuning.fifth is None:
            return "", ""
        if len({step % len(notes.tuning) for step in self.held}) < FEWEST_NOTES:
            return "", ""
        found = readings(self.held, notes.tuning)
        if not found:
            return "", ""
        symbol, ratios = chord_words(found[0], notes.tuning)
        why = found[0].why.replace(f"; close to {ratios}", "")  # which the chord says itself
        if not notes.is_even:
            root = found[0].chord.root.step(notes.tuning)
            symbol, why = on_keys(found[0], notes, self.held[0]), ""
            cents = (notes.tuning.cents_of(step) - notes.tuning.cents_of(root) for step in self.held)
            off = farthest(ratios, cents) if ratios else 0.0
            symbol, ratios = "" if off > MOST_OFF_SYMBOL else symbol, "" if off > MOST_OFF_RATIOS else ratios
        return f"{symbol}, near {ratios}" if ratios else symbol, why

    def _told(self, _widget: Any, message: Any, _buffers: Any) -> None:
        """Keep what the page says of a note: that it begins, or that it ends; and hand on what is held with it."""
        for act in self._gathered if "held" in message else ():
            act(list(message["held"]))
        if "id" not in message:  # one that was bent to another step
            return
        number, seconds = message["id"], message["seconds"]
        if "step" in message:
            self._began = seconds if self._began is None else self._began
            self._sounding[number] = len(self._played)
            level, away = message["velocity"], message["cents"]
            self._played.append(Played(seconds - self._began, message["step"], level, None, away))
        elif number in self._sounding:
            place = self._sounding.pop(number)
            note = self._played[place]
            self._played[place] = note._replace(duration=seconds - (self._began or 0.0) - note.seconds)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live keys; and, for a reader without a kernel, a picture of them with a sentence."""
        found = super()._repr_mimebundle_(**kwargs)
        live, words = found[0] if found else {}, self.words
        picture = key_picture(self._board, self.notes, self.lit, self.title, self.faint)
        return live | {"image/png": picture, "text/plain": words}, {"image/png": {"alt": words}}

    @property
    def page_state(self) -> dict[str, Any]:
        """What a page without Python needs beside `tones`, as JSON can have it: the traits by name, nothing held."""
        there = {name: getattr(self, name) for name in Keys.class_own_traits(sync=True) if not name.startswith("_")}
        del there["tones"]
        return there | {"held": [], "reading": {}, "choices": [name for name, _, _ in self.timbres]}

    @property
    def words(self) -> str:
        """What the keys are, in a sentence."""
        steps = [place.step for place in self._board.keys]
        low, high = (self._name(step) for step in (min(steps), max(steps)))
        said = f"{self.title}: {len(steps)} keys {LAYOUTS[self._board.arrangement].where}, from {low} to {high}"
        marked = f"; marked: {listed(self._name(step) for step in self.lit)}" if self.lit else ""
        return f"{said}{marked}."

    def _name(self, step: int) -> str:
        return str(self.notes.note(step)) if self.notes.spelled else key_name(self.notes, step)


def _signs_of(notes: KeyNotes) -> dict[str, Any]:
    """The outlines of the signs that the names have, by how the page writes them, see `SignOutline`."""
    used = {name.name[1:].rstrip("+−0123456789") for name in notes.names if isinstance(name, Note)}
    return {drawn(sign): asdict(outline) for sign, outline in sign_outlines().items() if sign in used}


def _complexity(ratio: Fraction) -> float:
    """By how many cents a simpler ratio may be farther off and still be named first: 3 for each doubling of the product
    of its numbers (Benedetti's height; Tenney takes its logarithm), and 10 more for a prime above 11."""
    rest = product = ratio.numerator * ratio.denominator
    for prime in (2, 3, 5, 7, 11):
        while rest % prime == 0:
            rest //= prime
    return 3 * math.log2(product) + (10 if rest > 1 else 0)


@lru_cache(maxsize=32)
def _packed(timbre: Timbre) -> bytes:
    made = tones(timbre, _TONES)
    return made + bytes(-len(made) % _ALIGNED)
