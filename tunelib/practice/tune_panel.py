"""A learner's own tune in a notebook: written or pasted as text, retuned, looked at and heard chord by chord, changed
by hand, and taken to the band.

Nothing sounds by itself, nothing is written unless a button asks for it, and a file that is there is left alone.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import traitlets

from tunelib.arrange import (
    COMMON,
    FEELS,
    as_written,
    chord_score,
    count_in_beats,
    reference_hertz,
    tune_score,
    way_score,
)
from tunelib.export import chart_places, chart_staff, printed_sentence, printed_symbol
from tunelib.harmony import (
    COMPING,
    NO_CHOICES,
    Alternative,
    Onward,
    RetunedTune,
    Taste,
    parse_lead_sheet,
    playable_division,
    read_choices,
)
from tunelib.live import LIVE_STYLE, Sounding, script
from tunelib.pitch import THIRTY_ONE, Note, Tuning, drawn, equal, is_whole, shortened
from tunelib.practice.arranging import Arranging, still_meant
from tunelib.practice.chart_picture import chart_picture
from tunelib.practice.chart_words import (
    alternative_table,
    chart_sentence,
    chord_title,
    lost_words,
    onward_table,
    sign_table,
    voice_table,
    what_followed,
)
from tunelib.practice.tune_folder import FOLDER, choices_path, save_choices, write_tune
from tunelib.practice.tune_programs import TWELVE, score_program, tune_programs
from tunelib.score import Score

LONGEST_HEARD = 4.0  # minutes of a tune that are played here
REST_SECONDS = 0.4  # how long nothing must change before the whole tune is made ready to be heard
SUITABLE = "what suits the tune"
_BARS_ON_A_LINE = {False: 4, True: 2}  # of a page, by whether it is narrow
_HERE = Path(__file__).parent
_KNOBS = (  # name, label, where it is at first, and what it can be
    ("adventure", "Adventure", 0.6, {"low": 0, "high": 1, "step": 0.1}),
    ("colour", "Dark to bright", 0.0, {"low": -1, "high": 1, "step": 0.5}),
    ("voicing", "Voicing", "rootless", {"choices": COMPING}),
    ("feel", "Feel", SUITABLE, {"choices": (SUITABLE, *FEELS)}),
    ("common", "{} and 12 share their", "tonic", {"choices": COMMON}),
    ("drift", "Roots may drift", False, None),
    ("count_in", "Count in", False, None),
    ("players", "Write parts for", "", {"text": "alto saxophone, guitar, double bass"}),
)
_OF_TASTE = ("adventure", "colour", "voicing", "drift")
FIRST_TUNE = """\
title: First on the Left
metre: 4/4
tempo: 108
key: F major

        | Gm7              | C7              | Fmaj7          | D7b9                    |
melody: | D5:2 Bb4 D5      | C5 Bb4 G4 E4    | A4:3 C5        | C5 Eb5 C5 A4            |
        | Gm7              | Gb7             | F6 . . D7      | Gm7 C7                  |
melody: | Bb4:2 G4 Bb4     | Ab4 Bb4 Db5 Eb5 | C5:2 A4 F#4    | G4 Bb4 E4 G4            |
"""


def tune_panel(text: str = FIRST_TUNE, tuning: Tuning | int = THIRTY_ONE) -> TunePanel:
    """The panel of step 31: a place for a tune, its chart to click on, and the knobs of taste.

    Parameters
    ----------
    text : str
        A lead sheet; `tunelib.harmony.lead_sheet` says how one is written.
    tuning : Tuning or int
        An equal division in which harmony works, or into how many steps the octave is divided: that of the course, or
        another from 12 to 72 whose notes have letters.

    Raises ValueError for a tuning that no tune can be played in.
    """
    return TunePanel(text, playable_division(tuning if isinstance(tuning, Tuning) else equal(tuning)))


class TunePanel(Sounding):
    """The panel. A program may set ``text`` and, by `like`, the knobs, and do by methods what the buttons do.

    What came of it is in ``tune``, or None while the text cannot be read, which ``problem`` says then; ``told`` says
    what came of a button that was pressed. What is heard and written is always the text as it is now.
    """

    _esm = f"{script(_HERE / 'tune_panel.js')}\nexport default {{render: renderTunePanel}};"
    _css = "\n".join(path.read_text("utf-8") for path in (LIVE_STYLE, _HERE / "tune_panel.css"))
    text = traitlets.Unicode().tag(sync=True)
    knobs: traitlets.List[Any] = traitlets.List().tag(sync=True)  # of [name, label, value, what it can be]
    narrow = traitlets.Bool(False).tag(sync=True)  # whether the page is; it tells
    staff = traitlets.Unicode().tag(sync=True)  # its drawing
    tempo = traitlets.Unicode().tag(sync=True)  # beats a minute; empty while the text cannot be read
    signs: traitlets.List[Any] = traitlets.List().tag(sync=True)  # of each symbol on the staff, what is to be known
    moments: traitlets.List[Any] = traitlets.List().tag(sync=True)  # seconds, and the sign and the bar from there on
    chord: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)  # what is chosen, and its sound
    others_of: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)  # what it could be, and how that sounds
    tools: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)  # which of them can be used now
    told = traitlets.Unicode().tag(sync=True)
    problem = traitlets.Unicode().tag(sync=True)

    def __init__(self, text: str = FIRST_TUNE, tuning: Tuning = THIRTY_ONE) -> None:
        super().__init__("your tune")
        self._arranging: Arranging | None = None
        self._tuning = tuning
        self._division = len(tuning)  # in which the tune is heard
        self._sign = 0  # of the chord that is chosen
        self._offered: Sequence[Alternative] = ()
        self._onward: Sequence[Onward] = ()  # ways to the next chord, which are offered after those
        self._replaces = False  # whether the choices that are saved already may be replaced
        self._gain: tuple[object, float] = (None, 1.0)  # that of the tune, and of which it is
        self._planned: dict[Callable[[], None], asyncio.Handle] = {}
        self.knobs = [
            [name, words.format(len(tuning)), value, range_]
            for name, words, value, range_ in _KNOBS
            if name != "common" or len(tuning) != len(TWELVE)
        ]
        self.text = text
        self.on_flip(self._flip)
        self.observe(lambda _: self._read(), names="text")
        self.observe(lambda change: self._liked(change.old), names="knobs")
        self.observe(lambda _: self._act(self._draw), names="narrow")
        self._read()

    @property
    def tune(self) -> RetunedTune | None:
        """The tune as it is retuned now; None while the text cannot be read."""
        return None if self._arranging is None else self._arranging.tune

    @property
    def arranging(self) -> Arranging:
        """The tune in its player's hands. Raises ValueError while the text cannot be read."""
        if self._arranging is None:
            raise ValueError(f"there is no tune yet: {self.problem}")
        return self._arranging

    @property
    def division(self) -> int:
        """Into how many steps the octave is divided."""
        return len(self._tuning)

    @property
    def common(self) -> str:
        """What the tune in its own division and in twelve have in common: one of `tunelib.arrange.COMMON`."""
        return self._playing[1]

    def scores(self) -> dict[int, Score]:
        """The tune as it is played now, by the division: its own, and twelve. Raises ValueError as `arranging` does."""
        tune = self.arranging.tune
        return {division: tune_score(tune, division, *self._playing) for division in (self.division, len(TWELVE))}

    def like(self, **values: Any) -> None:
        """Set knobs by their names. Raises ValueError for a name that there is none of."""
        names = [knob[0] for knob in self.knobs]
        if unknown := [name for name in values if name not in names]:
            raise ValueError(f"there is no knob {unknown[0]!r}; there are {', '.join(names)}")
        self.knobs = [[name, words, values.get(name, now), range_] for name, words, now, range_ in self.knobs]

    def choose(self, sign: int) -> None:
        """Choose a chord by the number of its sign. Raises ValueError for one that is not there."""
        self.arranging.chord(sign)
        self._sign = sign
        self._show_chord()
        if self._give in self._planned:  # which can wait
            self._later(self._give, REST_SECONDS)

    def take(self, place: int) -> None:
        """Have one of the alternatives of the chosen chord in its place, or go on by one of the ways after them."""
        beyond = place - len(self._offered)
        if beyond < 0:
            self._do(lambda arranging: arranging.take(self._sign, self._offered[place]))
        else:
            self._do(lambda arranging: arranging.go_by(self._sign, self._onward[beyond]))

    def lock(self) -> None:
        """Lock the chosen chord as it is, or leave it to the search again."""
        locked = self._sign in self.arranging.choices.chords
        self._do(lambda arranging: (arranging.free if locked else arranging.lock)([self._sign]))

    def lock_everywhere(self) -> None:
        """Lock the symbol of the chosen chord as it is tuned wherever it is, or leave it to the search again."""
        locked = self.arranging.is_locked_everywhere(self._sign)
        self._do(lambda arranging: (arranging.free_everywhere if locked else arranging.lock_everywhere)(self._sign))

    def keep(self, voice: int) -> None:
        """Keep the note of a voice of the chosen chord, counted from the bass, which is 0; or let it go again."""
        notes = self.arranging.chord(self._sign).notes
        if not 0 < voice < len(notes):
            raise ValueError(f"a voice over the bass is from 1 to {len(notes) - 1}, not {voice}")
        self._do(lambda arranging: arranging.keep(self._sign, notes[voice]))

    def lock_bars(self, first: int, last: int) -> None:
        """Lock all chords from one bar to another, as they are numbered on the page; if all are, free them."""
        arranging = self.arranging
        chords = zip(arranging.signs, arranging.sheet.chords, strict=True)
        numbers = dict.fromkeys(sign for sign, timed in chords if first <= timed.bar <= last)
        if not numbers:
            self.told = f"No chord begins from bar {first} to bar {last}."
            return
        locked = all(sign in arranging.choices.chords for sign in numbers)
        self._do(lambda arranging: (arranging.free if locked else arranging.lock)(numbers))

    def undo(self) -> None:
        """Go back to what was before the last change."""
        self._do(Arranging.undo)

    def redo(self) -> None:
        """Do again what was undone last."""
        self._do(Arranging.redo)

    def save_choices(self) -> None:
        """Write what was chosen by hand into `FOLDER`, and say where; replace what is there when asked once more."""
        self.told, self._replaces = save_choices(self.arranging, self._replaces)
        self._show_tools()

    def open_choices(self) -> None:
        """Read what was saved for this tune, and solve around it."""
        path = choices_path(self.arranging.sheet)
        try:
            choices = read_choices(path, self.arranging.sheet)
        except FileNotFoundError:
            self.told = f"No choices for this tune are saved in the folder {FOLDER}: there is no {path.name}."
        except (OSError, ValueError) as problem:
            self.told = str(problem)
        else:
            self._do(lambda arranging: arranging.choose(choices))

    def write(self) -> None:
        """Write the tune's files into `FOLDER`, and say which, or why not."""
        if self.tune is None:
            self.told = "There is nothing to write yet: see above what is to be mended."
            return
        feel, common, _ = self._playing
        named = [name.strip() for name in self._knob("players").split(",") if name.strip()]
        self.told = write_tune(self.tune, named, feel, common, lambda step: self._tell(f"{step} …"))

    def _knob(self, name: str) -> Any:
        return next(value for knob, _, value, _ in self.knobs if knob == name)

    @property
    def _common(self) -> str:
        """What the tune shares with twelve; in twelve itself there is no choice."""
        return str(self._knob("common")) if len(self._tuning) != len(TWELVE) else COMMON[0]

    def _taste(self) -> Taste:
        return Taste(**{name: self._knob(name) for name in _OF_TASTE})

    def _read(self) -> None:
        """Read the text and retune it, or say where it cannot be read."""
        if self._arranging is not None and self.text == self._arranging.text:
            return  # it was written here
        self.told, before, self._replaces = "", self._arranging, False
        try:
            sheet = parse_lead_sheet(self.text)
            choices = still_meant(before.choices, before.sheet, sheet) if before else NO_CHOICES
            self._arranging = Arranging(sheet, self._tuning, self._taste(), choices, self.text)
        except ValueError as problem:
            self._arranging = None
            self.stop()
            with self.hold_sync():
                self.staff, self.signs, self.moments, self.chord, self.others_of = "", [], [], {}, {}
                self.tempo = ""
            self.problem = str(problem)
            self.give(b"", {})
            self._show_tools()
            return
        self._sign = self._sign if self._sign in self._arranging.signs else self._arranging.signs[0]
        self._show()

    def _liked(self, before: list[Any]) -> None:
        """Do as the knobs say, or say why that makes no sense and leave them where they were."""
        if self._arranging is None:
            return
        try:
            for _, words, value, range_ in self.knobs:
                if range_ and value not in range_.get("choices", [value]):
                    raise ValueError(f"{words} is one of {', '.join(range_['choices'])}, not {shortened(value)}")
            self._arranging.like(self._taste())
            self.told = " ".join(lost_words(self._arranging))
        except ValueError as problem:
            self.knobs = before
            self.told = str(problem)
        else:
            self._show()

    def _do(self, change: Callable[[Arranging], None]) -> None:
        """Change the tune by hand, and say what else has changed."""
        before = self.arranging.tune
        try:
            change(self.arranging)
        except ValueError as problem:
            self.told = str(problem)
            return
        self.text = self.arranging.text
        if self._sign not in self.arranging.signs:
            self._sign = self.arranging.signs[-1]
        taste = self.arranging.taste  # which is undone too
        self.like(**{name: getattr(taste, name) for name in _OF_TASTE})
        self._show()
        self.told = what_followed(before, self.arranging)

    def _show(self) -> None:
        """Show the tune as it is: the chosen chord first, then the staff, and what the whole sounds like at rest."""
        arranging, tune = self.arranging, self.arranging.tune
        places = chart_places(tune)
        self.signs = sign_table(arranging, places.symbols)
        self._show_chord()
        self._show_tools()
        self.tempo = f"{tune.sheet.tempo:g}"
        seconds, later = 60 / tune.sheet.tempo, self._counted_in()
        self.moments = [
            (float(beat + later) * seconds, -1 if sign is None else sign, bar) for beat, sign, bar in places.moments
        ]
        self._later(self._draw)
        self._later(self._give, REST_SECONDS)

    def _show_chord(self) -> None:
        """Show the chosen chord: what is heard first is made first."""
        arranging, tune, sign = self.arranging, self.arranging.tune, self._sign
        chord = arranging.chord(sign)
        written = as_written(chord, tune.tuning)
        heard = {
            f"as written in {len(TWELVE)}": (written, TWELVE),
            f"as written in {len(tune.tuning)}": (written, tune.tuning),
            "as chosen": (chord.notes, tune.tuning),
        }
        self.chord = {
            "sign": sign,
            "title": chord_title(tune, chord),
            "why": drawn(printed_sentence(chord.why)),
            "written": printed_symbol(chord.written.chord),
            "bar": chord.written.bar,
            "bars": max(timed.bar for timed in tune.sheet.chords),
            "ways": tuple(heard),
            "voices": voice_table(arranging, sign),
            "locked": sign in arranging.choices.chords,
            "everywhere": arranging.is_locked_everywhere(sign),
            "programs": {way: self._chord_program(*one) for way, one in heard.items()},
        }
        self._offered, self._onward = (), ()
        self._later(self._show_alternatives)

    def _show_alternatives(self) -> None:
        arranging, sign = self.arranging, self._sign
        self._offered, self._onward = arranging.alternatives(sign), arranging.ways_onward(sign)
        reference = reference_hertz(arranging.tune, arranging.tuning, self._common)
        self.others_of = {
            "sign": sign,
            "rows": alternative_table(arranging, sign, self._offered) + onward_table(self._onward),
            "programs": [
                *(self._chord_program(other.notes, arranging.tuning) for other in self._offered),
                *(score_program(way_score(onward.way, reference)) for onward in self._onward),
            ],
        }

    def _show_tools(self) -> None:
        arranging = self._arranging
        self.tools = {
            "undo": arranging is not None and arranging.can_undo,
            "redo": arranging is not None and arranging.can_redo,
            "replaces": self._replaces,
        }

    def _draw(self) -> None:
        try:
            self.staff = chart_staff(self.arranging.tune, _BARS_ON_A_LINE[self.narrow])
        except (ValueError, ImportError) as problem:  # then the chords are there without a staff
            self.staff, self.problem = "", str(problem)
        else:
            self.problem = ""

    def _later(self, act: Callable[[], None], seconds: float = 0.0) -> None:
        """Do something once what the page waits for has been sent, unless it is planned anew before."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: nobody is waiting
            act()
            return
        if act in self._planned:
            self._planned.pop(act).cancel()
        self._planned[act] = loop.call_later(seconds, self._act, act)

    def _act(self, act: Callable[[], None]) -> None:
        self._planned.pop(act, None)
        if self._arranging is not None:
            act()

    def _give(self) -> None:
        """Give the page the tune to play in either division, or nothing if it is too long.

        It is made in a thread, so that a chord can be heard meanwhile.
        """
        arranging, tune, playing = self.arranging, self.arranging.tune, self._playing
        minutes = tune.sheet.beats / tune.sheet.tempo
        if minutes > LONGEST_HEARD:
            self.told = f"This tune lasts {minutes:.0f} minutes. Write the files, and listen to them there."
            self.give(b"", {})
            return
        alike = (arranging, arranging.taste.voicing, playing)  # a chord that is tuned otherwise is hardly louder
        gain = self._gain[1] if self._gain[0] == alike else None

        def give(made: tuple[dict[str, bytes], float]) -> None:
            ways, gain = made
            self._gain = alike, gain
            if tune is self.tune:  # and nothing has changed since
                self.give(ways[f"in {self._division}"], ways, f"in {self._division}")

        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: nobody is waiting
            give(tune_programs(tune, *playing, gain))
        else:
            making = loop.run_in_executor(None, tune_programs, tune, *playing, gain)
            making.add_done_callback(lambda done: give(done.result()))

    @property
    def _playing(self) -> tuple[str | None, str, bool]:
        """How the tune is played: its feel, what 31 and 12 have in common, and whether it is counted in."""
        feel = self._knob("feel")
        common = self._common
        return (None if feel == SUITABLE else feel), common, self._knob("count_in")

    def _counted_in(self) -> int:
        """Beats before the tune's own."""
        feel, _, count_in = self._playing
        return count_in_beats(self.arranging.sheet, feel) if count_in else 0

    def _chord_program(self, notes: tuple[Note, ...], tuning: Tuning) -> bytes:
        return score_program(chord_score(notes, tuning, reference_hertz(self.arranging.tune, tuning, self._playing[1])))

    def _flip(self, way: str) -> None:
        """Stay in the division that the reader flipped to, whatever becomes of the tune."""
        self._division = int(way.removeprefix("in "))
        self.give(self.others[way], chosen=way)

    def _tell(self, words: str) -> None:
        self.told = words

    def _told(self, widget: Any, message: Any, buffers: Any) -> None:
        """Do what the page asks for."""
        super()._told(widget, message, buffers)
        if not isinstance(message, Mapping) or message.get("do") not in _DOES:
            return
        if self._arranging is None and message["do"] != "write":
            return  # what was pressed was of a tune that is gone
        given = message.get("with", [])
        if isinstance(given, list) and all(map(is_whole, given)):
            try:
                _DOES[message["do"]](self, *given)
            except (ValueError, TypeError, IndexError) as problem:
                self.told = str(problem)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live panel; and, for a reader without a kernel, the staff with its chords in a sentence."""
        found = super()._repr_mimebundle_(**kwargs)
        live = found[0] if found else {}
        if self.tune is None:
            return live | {"text/plain": f"{self.problem}\n\n{self.text}"}, {}
        sentence = chart_sentence(self.tune)
        if not self.staff:
            self._draw()
        words = "\n\n".join(filter(None, (sentence, self.problem, self.text)))
        still = {"image/png": chart_picture(self.staff)} if self.staff else {}
        return live | still | {"text/plain": words}, {"image/png": {"alt": sentence}} if still else {}


_DOES: Mapping[str, Callable[..., None]] = {
    "choose": TunePanel.choose,
    "take": TunePanel.take,
    "lock": TunePanel.lock,
    "lock everywhere": TunePanel.lock_everywhere,
    "keep": TunePanel.keep,
    "lock bars": TunePanel.lock_bars,
    "undo": TunePanel.undo,
    "redo": TunePanel.redo,
    "save choices": TunePanel.save_choices,
    "open choices": TunePanel.open_choices,
    "write": TunePanel.write,
}
