"""A learner's own take measured against its targets, in a notebook: record it or choose it, read, look.

The take goes from the page to the learner's own kernel and nowhere else, and is kept in memory only, unless the learner
saves it. Nothing sounds by itself, and of a demo take nothing is told before *Measure* is pressed, so that it can be
judged by ear first. Where no take is at hand, the demo takes, rendered with known errors, stand in for one. What was
measured is heard as it was played, in tune, or one note at a time before its target, and a line goes along the picture.
"""

from __future__ import annotations

import html
import math
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import SILENT, OwnTake, Playing, find_theme
from tunelib.hearing import Recording, Report, Targets, hear_recording, parse_targets
from tunelib.live import GivenTake, Recorder, Sounding, Tape, program
from tunelib.pitch import INSTRUMENTS, clock, drawn, flat_or_sharp, nearest_note, signed
from tunelib.practice.exercise_file import Exercise, read_exercise
from tunelib.practice.listening import follow_exercise
from tunelib.practice.report_html import report_html
from tunelib.practice.take_programs import (
    AS_PLAYED,
    IN_TUNE,
    LONGEST_HEARD,
    ONE_NOTE,
    HeardNote,
    as_played,
    in_tune,
    one_note,
)
from tunelib.show import Stage, assistance, find_size
from tunelib.sound import DEMO_TAKES, SAMPLE_RATE, reference_gain

_SIZES = {False: "panel", True: "square"}  # of the picture, by whether the page is narrow
_SHOWN = 780  # pixels of its width: so that what is asked and the picture fit a laptop's screen together
_ANY = "any instrument or voice"
_OWN = "my own take"
_LABELLED = {
    "style": {"description_width": "initial"},
    "layout": {"width": "auto", "min_width": "0", "flex": "1 1 200px"},
}
_TARGETS = (
    "harmonics of B♭1",
    "12",
    "31",
    "31 on C4 = 263.1 Hz",
    "quarter-comma on D",
    "1/1 9/8 5/4 4/3 3/2 5/3 15/8 on C4",
)
_TO_DO = " Hear the take, say which of its notes are off, and press Measure."
_STORED = (
    "Record a take, choose a file, or hear one of the demo takes. Measure says how far off each note was, in a picture "
    "and in a table. Run the lesson to use it."
)
_EXERCISE = ".toml"
_MOST_NOTES = 24  # of an exercise, in words
_TONIC = ("1", "1/1")  # what a target is called that the others are measured from
_LOWEST_DRONE = 100.0  # hertz: what small loudspeakers and headphones give
_LEAD = 5.0  # seconds of a long take that are heard before the chosen note


def take_panel(against: str = _TARGETS[0], *, theme: str = "light") -> TakePanel:
    """The panel of step 10: a place to record or to choose a take, what to measure it against, and what was heard.

    It begins without a report, so that a take can be judged by ear first.

    Parameters
    ----------
    against : str
        Targets, as `tunelib.hearing.parse_targets` reads them; or the path of an exercise (.toml), which says what is
        to be played, and of which a take is heard note by note.
    theme : str
        ``"light"`` or ``"dark"``.

    Raises ValueError for another theme. What cannot be read is said in the panel.
    """
    return TakePanel(against, theme)


class TakePanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. A program may set ``take``, ``player`` and ``against``, and click ``measure``; or call
    ``recorder.give`` with a take. The take plays in the row ``sound``; once it has been measured, also in tune, or the
    note that is chosen in ``note`` and then its target. What there is to say of that is in ``heard``.

    What was heard is in ``report``, which is None where nothing was, in the ``words`` and in the ``image``; ``heading``
    says which take it is of.
    """

    def __init__(self, against: str, theme: str) -> None:
        self._theme = find_theme(theme).name
        self._demo = ""  # its name, if it was a demo take
        self._measured = ""  # the name of the take that was measured last
        self._tape: Tape | None = None  # what is heard of the take that was measured, or is to be
        self._pair: HeardNote | None = None  # the chosen note and its target, as long as the take is the measured one
        self._stage: Stage | None = None
        self._still = b""  # the picture at rest
        self.report: Report | None = None
        self.recorder = Recorder()
        self.take = widgets.Dropdown(
            options=[*DEMO_TAKES, _OWN], value=next(iter(DEMO_TAKES)), description="Take", **_LABELLED
        )
        self.player = widgets.Dropdown(
            options=[_ANY, *INSTRUMENTS], value="alto saxophone", description="Played by", **_LABELLED
        )
        self.against = widgets.Combobox(
            options=_TARGETS, value=against, ensure_option=False, description="Against", **_LABELLED
        )
        self.measure = widgets.Button(description="Measure", icon="check", layout={"width": "100px"})
        self.sound = Sounding("the take", holds=False, follow="flow")
        self.note = widgets.Dropdown(description="Note", **_LABELLED)
        self.heard = widgets.HTML(layout={"margin": "0"})
        self.brief = widgets.HTML(layout={"margin": "0"})
        self.heading = widgets.HTML(layout={"margin": "0"})
        self.words = widgets.HTML(layout={"display": "block", "width": "100%"})
        self.image = widgets.Image(format="png", layout={"max_width": "100%", "height": "auto"})
        self.recorder.on_take(self._given)
        self.recorder.on_coming(lambda _: self._head())
        self.recorder.observe(lambda _: self._draw(), names="narrow")
        self.against.observe(lambda _: self._aim(), names="value")
        self.take.observe(lambda _: self._offer(), names="value")
        self.measure.on_click(lambda _: self._measure())
        self.note.observe(self._chosen_note, names="value")
        self.sound.on_place(lambda seconds, _hold: self._light(seconds))
        self.sound.observe(lambda change: None if change.new else self._light(None), names="playing")
        asked = (self.take, self.player, self.against, self.measure)
        hearing = (self.sound, self.note)
        told = (self.heard, self.brief, self.heading, self.image, self.words)
        names = (
            "take", "player", "against", "measure", "sound", "note", "heard", "brief", "heading", "picture", "words",
        )  # fmt: skip
        for widget, name in zip((*asked, *hearing, *told), names, strict=True):
            widget.add_class(f"tunelib-{name}")
        self.sound.layout.flex, self.note.layout.flex = "1 1 600px", "0 1 225px"
        hear = widgets.Box(hearing, layout={"flex_flow": "row wrap", "align_items": "center", "max_width": "960px"})
        row = widgets.Box(asked, layout={"flex_flow": "row wrap", "max_width": "960px"})
        picture = "Picture: what was heard, note by note. The table below says it in words."
        super().__init__([self.recorder, row, hear, *told, assistance("tunelib-take-panel", {"img": picture})])
        self.add_class("tunelib-take-panel")
        self.image.layout.display = "none"
        self._aim()
        self._offer()
        self._head()

    def hear(self) -> Report:
        """The report on what is chosen. Raises ValueError for targets or a take that cannot be read, and ImportError,
        with what to install, where a package is missing for it."""
        player, aim = INSTRUMENTS.get(self.player.value), self._aimed_at()
        if isinstance(aim, Exercise):
            return follow_exercise(self._chosen(), aim, player, self._progress)
        return hear_recording(self._chosen(), player, self._progress).against(aim)

    def _aimed_at(self) -> Exercise | Targets:
        """What a take is held beside."""
        against = self.against.value.strip()
        return read_exercise(against) if against.lower().endswith(_EXERCISE) else parse_targets(against)

    def _chosen(self) -> Recording:
        """What is to be measured."""
        if self.take.value != _OWN:
            return Recording.of(DEMO_TAKES[self.take.value].samples(), SAMPLE_RATE)
        if self.recorder.take is None:
            raise ValueError("record a take or choose a file first, or choose one of the demo takes")
        return self.recorder.take.recording()

    def _given(self, _take: GivenTake) -> None:
        if self.take.value == _OWN:
            self._offer()
        self.take.value = _OWN
        self._measure()

    def _offer(self) -> None:
        """Let the take that is chosen be heard as it was played."""
        demo = DEMO_TAKES.get(self.take.value)
        self.sound.stop()
        self._tape = self._pair = None
        self.heard.value = ""
        self.note.layout.display = "none"
        if demo:
            gain = reference_gain(demo.score, demo.timbre)
            self._play(program(demo.score, demo.timbre, gain, demo.bends))
        else:
            self._play(b"" if self.recorder.take is None else self._wound(0.0))

    def _play(self, played: bytes, others: dict[str, bytes] | None = None) -> None:
        """Have ready what there is to hear: the take, and the other ways to hear it."""
        self.sound.give(
            played,
            others or {},
            AS_PLAYED if others else "",
            apart=[ONE_NOTE],
            tapes=[self._tape] if self._tape else [],
        )
        self.sound.layout.display = "" if played else "none"

    def _wound(self, begins: float) -> bytes:
        """The take from a moment on, for the player; nothing if it cannot be heard, which is said."""
        try:
            self._tape = Tape.of(self._chosen(), begins, LONGEST_HEARD)
        except (ValueError, OSError, ImportError) as problem:
            self._tape = None
            self.heard.value = _line(f"The take cannot be heard here: {problem}.")
            return b""
        self.heard.value = _line(self._about_the_tape())
        return as_played(self._tape)

    def _about_the_tape(self) -> str:
        """What there is to say of what is heard: which part of a long take it is, and how it is tuned."""
        assert self._tape is not None
        said, begins = [], self._tape.begins
        if begins or self._tape.goes_on:
            part = f"from {clock(begins)} to {clock(begins + self._tape.seconds)}"
            said.append(
                f"You hear the take {part}: {LONGEST_HEARD:.0f} seconds at most. Choose a note to hear it elsewhere."
            )
        if self.report is not None and self.report.offset is not None:
            off = flat_or_sharp(self.report.offset.cents, 0)
            said.append(f"“In tune” is {off} too, as the whole take is, so that you hear how its notes fit together.")
        return " ".join(said)

    def _chosen_note(self, _change: Any) -> None:
        if self._pair is not None and self.report is not None:
            self._set_beside(self.report)

    def _set_beside(self, report: Report) -> None:
        """Have ready the take, the same in tune, and the chosen note before its target; bring out that note."""
        note, tape = report.notes[self.note.value], self._tape
        if tape is None or not tape.begins <= note.onset < note.offset <= tape.begins + tape.seconds:
            self.sound.stop()
            played = self._wound(0.0 if note.offset < LONGEST_HEARD else max(0.0, note.onset - _LEAD))
        else:
            played = as_played(tape)
        if self._tape is None:
            self._play(b"")
        else:
            self._pair = one_note(report, self.note.value, self._tape)
            ways = {AS_PLAYED: played, IN_TUNE: in_tune(report, self._tape), ONE_NOTE: self._pair.program}
            self._play(played, {way: sound for way, sound in ways.items() if sound})
            self.heard.value = _line(self._about_the_tape())
        self._draw()

    def _light(self, seconds: float | None) -> None:
        """Have the line stand where the sound is, of what was measured."""
        if self._stage is None or self._tape is None or self._pair is None:
            return
        moment = None
        if seconds is not None:
            alone = self.sound.way == ONE_NOTE
            moment = self._pair.moment(seconds) if alone else self._tape.begins + seconds
        self._stage.move({}, SILENT if moment is None else Playing(moment))
        with self.image.hold_sync():
            self.image.format = "png" if moment is None else "jpeg"
            self.image.value = self._still if moment is None else self._stage.compact()

    def _measure(self) -> None:
        """Measure, and show what was heard, or why nothing was."""
        self.report = self._stage = None
        self.words.value = ""
        self.image.layout.display = "none"
        self._demo = "" if self.take.value == _OWN else self.take.value
        self._measured = _called(self._demo) if self._demo else self.recorder.current
        self._progress(0)
        try:
            report = self.hear()
        except (ValueError, OSError, ImportError) as problem:
            self._head()
            self._offer()
            if self._tape is None:  # for the same reason, which is said once
                self.heard.value = ""
            self.words.value = f'<p role="status" style="margin:0">{html.escape(str(problem))}</p>'
            return
        self.report = report
        self._head()
        self.words.value = report_html(report)
        self._list_notes(report)
        self._set_beside(report)

    def _list_notes(self, report: Report) -> None:
        """Offer the notes of a report that were to be played; the one furthest off is chosen."""
        self._pair = None  # so that nothing is made ready on the way
        meant = [index for index, note in enumerate(report.notes) if note.outcome != "added"]
        self.note.options = [(_note(report, index), index) for index in meant or range(len(report.notes))]
        self.note.value = next(index for index in report.furthest if index in meant or not meant)
        self.note.layout.display = ""

    def _draw(self) -> None:
        """Draw what was heard, as wide as the page is."""
        if self.report is None:
            return
        size = _SIZES[self.recorder.narrow]
        width, height = find_size(size).pixels
        self._stage = Stage(OwnTake(self.report, demo=self._demo, chosen=self.note.value), size, self._theme)
        self._stage.move({})
        self._still = self._stage.crisp()
        with self.image.hold_sync():
            self.image.width, self.image.height = min(width, _SHOWN), min(height, _SHOWN * height // width)
            self.image.format, self.image.value = "png", self._still
        self.image.layout.display = ""

    def _progress(self, share: float) -> None:
        self.heading.value = _heading(f"Measuring: {self._measured}, {share:.0%}")

    def _head(self) -> None:
        """Say which take it is that was measured, and whether there is a newer one that was not."""
        what = "Report" if self.report else "No report"
        newer = self.recorder.coming
        but = f" A newer take, {newer}, has not been measured." if newer else "" if self._measured else _TO_DO
        self.heading.value = _heading(f"{what}: {self._measured}" if self._measured else f"{what} yet", but)

    def _aim(self) -> None:
        """Say what is to be played, and have the recorder count its tempo and offer a drone: the note that the targets
        stand on, or the A that they are tuned by."""
        self.brief.value = ""
        try:
            aim = self._aimed_at()
        except (ValueError, OSError):  # which is said when it is to be measured
            return
        targets = aim.targets if isinstance(aim, Exercise) else aim
        labelled = zip(targets.hertz, targets.labels, strict=True)
        tonic = next((hertz for hertz, label in labelled if label in _TONIC), targets.reference)
        tonic *= 2.0 ** math.ceil(math.log2(_LOWEST_DRONE / tonic))
        self.recorder.drone_on(tonic, drawn(str(nearest_note(tonic, reference=targets.reference)[0])))
        if isinstance(aim, Exercise):
            self.recorder.count_at(aim.score.tempo)
            self.brief.value = _brief(aim)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live widgets; and, for a reader without a kernel, the picture and the table, or what it is for."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        if self.report is None:
            return live | {"text/markdown": f"**A take of your own.** {_STORED}", "text/plain": _STORED}
        told = f"Report: {self._measured}.\n{self.report.table()}"
        still = {"image/png": self._still, "text/plain": told}
        return live | still, {"image/png": {"alt": OwnTake(self.report, demo=self._demo).sentence()}}


def _called(demo: str) -> str:
    """A demo take in words."""
    return f"the demo take “{demo}”"


def _note(report: Report, index: int) -> str:
    """A note to be chosen, by its number, its target and how far off it is."""
    note = report.notes[index]
    off = note.outcome if note.outcome == "wrong" else signed(report.away[index])
    return f"{index + 1}: {report.called(note.target)}, {off}"


def _line(words: str) -> str:
    return f'<p role="status" style="margin:0;line-height:1.5">{html.escape(words)}</p>' if words else ""


def _brief(exercise: Exercise) -> str:
    """What an exercise has one play, and with what care."""
    notes = ", ".join(note.label for note in exercise.intended.notes[:_MOST_NOTES])
    more = len(exercise.intended.notes) - _MOST_NOTES
    words = f"Play {notes}{f' and {more} more' if more > 0 else ''}. {' '.join(exercise.cautions)}".strip()
    return f'<p style="margin:0;line-height:1.5"><b>{html.escape(exercise.title)}.</b> {html.escape(words)}</p>'


def _heading(what: str, but: str = "") -> str:
    words = f"<b>{html.escape(what)}.</b>{html.escape(but)}"
    return f'<p role="status" style="margin:0;line-height:1.5">{words}</p>'
