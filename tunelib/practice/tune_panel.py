"""A learner's own tune in a notebook: written or pasted as text, retuned, looked at and heard chord by chord, taken to
the band.

Nothing sounds by itself, nothing is written unless a button asks for it, and a file that is there is left alone.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import traitlets

from tunelib.arrange import as_written, chord_score, tune_score
from tunelib.export import chart_staff, symbol_places, tune_files
from tunelib.files import write_set
from tunelib.harmony import RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.live import LIVE_STYLE, Sounding, program, script
from tunelib.pitch import THIRTY_ONE, Note, Tuning, equal
from tunelib.practice.chart_picture import chart_picture
from tunelib.practice.chart_words import chart_sentence, chord_title, sign_table, voice_table
from tunelib.score import Score
from tunelib.sound import reference_gain, tune_timbres

FOLDER = "my_tunes"  # beside the notebook
LONGEST_HEARD = 4.0  # minutes of a tune that are played here
DIVISIONS = (31, 12)  # in which it can be heard
WAYS = ("as written in 12", "as written in 31", "as chosen")  # to hear one chord
REST_SECONDS = 0.25  # how long nothing must change before the whole tune is made ready to be heard
_BARS_ON_A_LINE = {"wide": 4, "narrow": 2}
_TWELVE = equal(12)
_HERE = Path(__file__).parent
_TUNE = """\
title: First on the Left
metre: 4/4
tempo: 108
key: F major

        | Gm7              | C7              | Fmaj7          | D7b9                    |
melody: | D5:2 Bb4 D5      | C5 Bb4 G4 E4    | A4:3 C5        | C5 Eb5 C5 A4            |
        | Gm7              | Gb7             | F6 . . D7      | Gm7 C7                  |
melody: | Bb4:2 G4 Bb4     | Ab4 Bb4 Db5 Eb5 | C5:2 A4 F#4    | G4 Bb4 E4 G4            |
"""


def tune_panel(text: str = _TUNE) -> TunePanel:
    """The panel of step 31: a place for a tune, its chart to click on, and the knobs of taste.

    `text` is a lead sheet; `tunelib.harmony.lead_sheet` says how one is written.
    """
    return TunePanel(text)


class TunePanel(Sounding):
    """The panel. A program may set ``text`` and, by `like`, the taste, and do by methods what the buttons do.

    The result is in ``tune``, or None while the text cannot be read, which ``problem`` says then; ``told`` says what
    came of a button that was pressed. What is heard and written is always the text as it is now.
    """

    _esm = f"{script(_HERE / 'tune_panel.js')}\nexport default {{render: renderTunePanel}};"
    _css = "\n".join(path.read_text("utf-8") for path in (LIVE_STYLE, _HERE / "tune_panel.css"))
    text = traitlets.Unicode().tag(sync=True)
    taste: traitlets.List[Any] = traitlets.List().tag(sync=True)  # of [name, label, value, what it can be]
    staff: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)  # the drawings, for a wide and a narrow page
    signs: traitlets.List[Any] = traitlets.List().tag(sync=True)  # of each symbol on the staff, what is to be known
    moments: traitlets.List[Any] = traitlets.List().tag(sync=True)  # seconds, and the symbol and the bar from there on
    chord: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)  # all of the chord that is chosen, its sound too
    history: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    told = traitlets.Unicode().tag(sync=True)
    problem = traitlets.Unicode().tag(sync=True)

    def __init__(self, text: str = _TUNE) -> None:
        super().__init__("your tune")
        self.tune: RetunedTune | None = None
        self._division = DIVISIONS[0]
        self._place = 0  # of the chord that is chosen
        self._resting: asyncio.TimerHandle | None = None
        self.history = {"undo": False, "redo": False}
        self.taste = [
            ["adventure", "Adventure", 0.6, {"low": 0, "high": 1, "step": 0.1}],
            ["colour", "Dark to bright", 0.0, {"low": -1, "high": 1, "step": 0.5}],
            ["drift", "Roots may drift", False, None],
        ]
        self.text = text
        self.on_flip(self._flip)
        self.observe(lambda _: self.retune(), names=("text", "taste"))
        self.retune()

    def like(self, **values: Any) -> None:
        """Set knobs of taste by their names. Raises ValueError for a name that there is none of."""
        names = [knob[0] for knob in self.taste]
        if unknown := [name for name in values if name not in names]:
            raise ValueError(f"there is no knob {unknown[0]!r}; there are {', '.join(names)}")
        self.taste = [[name, words, values.get(name, now), range_] for name, words, now, range_ in self.taste]

    def retune(self) -> None:
        """Read the text and retune it, or say where it cannot be read."""
        self.told = ""
        try:
            sheet = parse_lead_sheet(self.text)
            self.tune = retune(sheet, THIRTY_ONE, Taste(**{name: value for name, _, value, _ in self.taste}))
        except ValueError as problem:
            self.tune, self.problem = None, str(problem)
            self.stop()
            with self.hold_sync():
                self.staff, self.signs, self.moments, self.chord = {}, [], [], {}
            self.give(b"", {})
            return
        self._place = min(self._place, len(self.tune.chords) - 1)
        self._show()

    def choose(self, place: int) -> None:
        """Choose a chord by its place in the tune."""
        assert self.tune is not None
        self._place = place
        self.chord = self._chord(self.tune)

    def _show(self) -> None:
        """Show the tune as it is: the chosen chord first, then the staff, and what the whole sounds like at rest."""
        tune = self.tune
        assert tune is not None
        self.signs = sign_table(tune)
        self.chord = self._chord(tune)
        self.moments = _moments(tune)
        self.problem = ""
        try:
            self.staff = {name: chart_staff(tune, bars) for name, bars in _BARS_ON_A_LINE.items()}
        except (ValueError, ImportError) as problem:  # then the chords are there without a staff
            self.staff, self.problem = {}, str(problem)
        self._plan()

    def _chord(self, tune: RetunedTune) -> dict[str, Any]:
        """All that the page is told of the chosen chord."""
        chord = tune.chords[self._place]
        written = as_written(chord, tune.tuning)
        heard = ((written, _TWELVE), (written, tune.tuning), (chord.notes, tune.tuning))
        return {
            "sign": self._place,
            "title": chord_title(tune, chord),
            "why": chord.why,
            "written": chord.written.symbol,
            "bar": chord.written.bar,
            "bars": tune.sheet.bars,
            "ways": WAYS,
            "voices": voice_table(tune, chord),
            "locked": False,
            "everywhere": False,
            "alternatives": [],
            "programs": {way: _chord_program(*one) for way, one in zip(WAYS, heard, strict=True)},
        }

    def _plan(self) -> None:
        """Have the whole tune made ready once nothing changes any more, so that a chord need not wait for it."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: nobody is waiting
            self._give()
            return
        if self._resting is not None:
            self._resting.cancel()
        self._resting = loop.call_later(REST_SECONDS, self._give)

    def _give(self) -> None:
        """Give the page the tune to play in either division, or nothing if there is none or it is too long."""
        if self.tune is None:
            return
        minutes = self.tune.sheet.beats / self.tune.sheet.tempo
        if minutes > LONGEST_HEARD:
            self.told = f"This tune lasts {minutes:.0f} minutes. Write the files, and listen to them there."
            self.give(b"", {})
            return
        ways = {f"in {division}": _program(tune_score(self.tune, division, count_in=False)) for division in DIVISIONS}
        self.give(ways[f"in {self._division}"], ways, f"in {self._division}")

    def _flip(self, way: str) -> None:
        """Stay in the division that the reader flipped to, whatever becomes of the tune."""
        self._division = int(way.removeprefix("in "))
        self._give()

    def save(self) -> None:
        """Write the tune's files into `FOLDER`, and say which, or why not."""
        if self.tune is None:
            self.told = "There is nothing to write yet: see above what is to be mended."
            return
        try:
            paths = write_set(tune_files(self.tune), Path(FOLDER), progress=lambda step: self._tell(f"{step} …"))
        except FileExistsError:
            self.told = (
                f"A tune of this title is already in the folder {FOLDER}. Move it, or give this one another title."
            )
        except (OSError, ValueError, ImportError) as problem:
            self.told = str(problem)
        else:
            self.told = f"In the folder {FOLDER}, beside this notebook: {', '.join(path.name for path in paths)}."

    def _tell(self, words: str) -> None:
        self.told = words

    def _told(self, widget: Any, message: Any, buffers: Any) -> None:
        """Do what the page asks for."""
        super()._told(widget, message, buffers)
        if not isinstance(message, Mapping):
            return
        if self.tune is not None and message.get("choose") in range(len(self.tune.chords)):
            self.choose(message["choose"])
        if message.get("do") == "write":
            self.save()

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live panel; and, for a reader without a kernel, the staff with its chords in a sentence."""
        found = super()._repr_mimebundle_(**kwargs)
        live = found[0] if found else {}
        if self.tune is None:
            return live | {"text/plain": f"{self.problem}\n\n{self.text}"}, {}
        sentence = chart_sentence(self.tune)
        words = "\n\n".join(filter(None, (sentence, self.problem, self.text)))
        still = {"image/png": chart_picture(self.staff["wide"])} if self.staff else {}
        return live | still | {"text/plain": words}, {"image/png": {"alt": sentence}} if still else {}


def _moments(tune: RetunedTune) -> list[tuple[float, int, int]]:
    """From which second on which symbol and which bar of the staff sound."""
    sheet = tune.sheet
    places = symbol_places(tune)
    onsets = sorted({*(onset for onset, _ in places), *range(0, sheet.beats, sheet.beats_per_bar)})
    seconds = 60 / sheet.tempo
    found = []
    for onset in onsets:
        begun = sum(place_onset <= onset for place_onset, _ in places) - 1
        found.append((float(onset) * seconds, begun, int(onset // sheet.beats_per_bar)))
    return found


def _program(score: Score) -> bytes:
    timbres = tune_timbres()
    return program(score, timbres, reference_gain(score, timbres))


def _chord_program(notes: tuple[Note, ...], tuning: Tuning) -> bytes:
    return _program(chord_score(notes, tuning))
