"""A player's own tune, blind: in twelve and in its own division, in an order of chance; then a choice made by hand.

Nobody is right or wrong here. The player says which of the two is the better one and where they part, and then learns
which was which. What is chosen by hand afterwards is kept beside the notebook, with the reason in the player's words;
then the step is solved.
"""

from __future__ import annotations

import html
from bisect import bisect_right
from math import log2
from pathlib import Path
from typing import Any, NamedTuple

import ipywidgets as widgets

from tunelib.arrange import tune_score
from tunelib.course import lesson_of
from tunelib.export import printed_symbol, tune_stem
from tunelib.files import FileSet, write_set
from tunelib.harmony import Choices, LeadSheet, RetunedTune, choices_text
from tunelib.pitch import CENTS_PER_OCTAVE, chance, plain, shortened
from tunelib.practice.ear_drill import EarDrill
from tunelib.practice.ear_sounds import EarSound
from tunelib.practice.progress import keep_try
from tunelib.practice.tune_folder import FOLDER
from tunelib.practice.tune_panel import LONGEST_HEARD, TunePanel
from tunelib.show import assistance
from tunelib.sound import tune_timbres

_TWELVE = 12
_SUFFIX = "-choice-and-why.toml"  # the chart itself saves under another name
_LONGEST_REASON = 500  # characters
_HIDDEN, _SHOWN = {"display": "none"}, {"display": ""}
_INTRODUCTION = (
    "The tune of the chart above, twice: once in {} and once in twelve, in an order that only chance knows. Which "
    "would you rather have, and where do the two part?"
)


def blind_tune(chart: TunePanel, step: int | None = None, seed: int | None = None) -> BlindTune:
    """A chart, and under it its tune to be heard blind, and one choice to be made by hand and said why.

    Parameters
    ----------
    chart : TunePanel
        As `tune_panel` makes one; its tune is heard as it is when the reader presses *Begin*.
    step : int, optional
        The step of the course that is solved when both are done; without one, none is.
    seed : int, optional
        Fixes the order; another every time unless given.

    Raises ValueError for what is no chart, for one in twelve steps, which has nothing to be heard beside, for a step
    that the course does not have, and for a seed that is no whole number.
    """
    if not isinstance(chart, TunePanel):
        raise ValueError(f"a tune is heard blind from its chart, such as tune_panel(), not {shortened(chart)}")
    if chart.division == _TWELVE:
        raise ValueError("a chart in 12 has nothing to be heard beside: make it in another division, tune_panel()")
    if step is not None:
        lesson_of(step)
    return BlindTune(chart, step, seed)


class BlindTune(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `blind_tune`.

    A program does by `act` what the reader does in the page, ``act("go")`` or ``act("answer", 1)``; fills in ``parted``
    and presses ``tell``; and then ``reason`` and ``keep``. ``order`` is in which divisions the two sounds are, and
    ``words`` has what was said last.
    """

    def __init__(self, chart: TunePanel, step: int | None, seed: int | None) -> None:
        self.chart = chart
        self.order: list[int] = []
        self._step, self._dice = step, chance(seed)
        self._stage, self._chosen, self._replaces = "idle", 0, False
        self._tune: RetunedTune | None = None  # as it was when it was asked about
        self._sounds: list[EarSound] = []
        self.drill = EarDrill("Blind")
        self.drill.on_act(self.act)
        self.parted, self.tell = _line("Where do they part?", "a bar, a chord, a note"), _button("Which was which?")
        self.reason, self.keep = _line("Why?", "in your own words"), _button("Keep my choice")
        self._where = widgets.HBox([self.parted, self.tell], layout={"flex_flow": "row wrap", **_HIDDEN})
        self._why = widgets.HBox([self.reason, self.keep], layout={"flex_flow": "row wrap", **_HIDDEN})
        self.words = widgets.HTML(layout={"max_width": "60em"})
        self.tell.on_click(lambda _: self._tell())
        self.keep.on_click(lambda _: self._keep())
        super().__init__([chart, self.drill, self._where, self._why, self.words, assistance("tunelib-blind-tune")])
        self.add_class("tunelib-blind-tune")
        self._wait()

    def act(self, what: str, value: Any = None) -> None:
        """Do what the reader did; what does not suit the moment is passed over."""
        if what == "go" and self._stage in ("idle", "told"):
            self._ask()
        elif what == "answer" and self._stage == "asking" and value in range(len(self.order)):
            self._choose(int(value))
        elif what == "stop" and self._stage != "idle":
            self._wait()

    def _wait(self) -> None:
        self._go_to("idle")
        self.drill.show("idle", _INTRODUCTION.format(self.chart.division), go="Begin")

    def _ask(self) -> None:
        """Put the two in another order."""
        try:
            scores, tune = self.chart.scores(), self.chart.arranging.tune
        except ValueError as problem:
            self._say(str(problem))
            return
        if tune.sheet.beats / tune.sheet.tempo > LONGEST_HEARD:
            self._say(f"This tune lasts more than {LONGEST_HEARD:g} minutes: take one chorus of it.")
            return
        self._tune = tune
        divisions = list(scores)
        self.order = [divisions[place] for place in self._dice.permutation(len(divisions)).tolist()]
        self._sounds = [EarSound(f"in {division}", scores[division], tune_timbres()) for division in self.order]
        self._go_to("asking")
        self.drill.show(
            "asking",
            "Which of them would you rather have? Hear each as often as you like.",
            sounds=self._sounds,
            answers=self._answers,
            hint="Keys: 1 and 2 choose, Space hears them again.",
        )

    @property
    def _answers(self) -> list[str]:
        return [f"Sound {number}" for number in range(1, len(self.order) + 1)]

    def _choose(self, place: int) -> None:
        self._chosen = place
        self._go_to("where")
        self.drill.show(
            "told",
            f"Sound {place + 1}. And where do the two part? Listen again, and write it below.",
            sounds=self._sounds,
            answers=self._answers,
            answered=place,
            right=place,
        )

    def _tell(self) -> None:
        """Tell which was which, once the reader has said where they part."""
        said = _tidy(self.parted.value)
        if self._stage != "where" or self._tune is None:
            return
        if not said:
            self._say("First write where you hear them part: a bar, a chord, a note. A guess will do.")
            return
        self._go_to("told")
        by_size = sorted(self._sounds, key=lambda sound: int(sound.name.removeprefix("in ")))
        self.drill.show(
            "told",
            f"Sound {self._chosen + 1}, which you would rather have, is in {self.order[self._chosen]}.",
            more=[f"You heard them part here: {said}", _parting(self._tune, self.chart.common)],
            compared=by_size,
            answers=self._answers,
            answered=self._chosen,
            right=self._chosen,
            go="Once more",
            hint="Number keys flip between them; Hold goes round and round.",
        )
        self._say(
            "Now decide one thing by hand: in the chart, take another chord than the one that was chosen, or lock one "
            "that you want as it is. Then write why, and keep it."
        )

    def _keep(self) -> None:
        """Keep what was chosen by hand and why; then the step is solved."""
        reason = _tidy(self.reason.value)
        if self._stage != "told":
            return
        if self.chart.tune is None or not (choices := self.chart.arranging.choices):
            self._say("Nothing is chosen by hand yet: in the chart, take another chord or lock one, and press again.")
            return
        if not reason:
            self._say("And why? A few words will do: write them down first.")
            return
        sheet = self.chart.arranging.sheet
        name = f"{tune_stem(sheet.title)}{_SUFFIX}"
        files = FileSet.of({name: lambda: choice_with_reason(choices, sheet, reason).encode()})
        try:
            write_set(files, Path(FOLDER), overwrite=self._replaces)
        except FileExistsError:
            self._replaces = True
            self._say(f"{name} is already in the folder {FOLDER}. Press once more to replace it.")
            return
        except (OSError, ValueError) as problem:
            self._say(str(problem))
            return
        self._replaces = False
        self._say(f"✓ Your choice is in the folder {FOLDER}, beside this notebook, with your reason: {name}.")
        if self._step is not None:
            keep_try(self._step, True, self._say)

    def _go_to(self, stage: str) -> None:
        self._stage, self._replaces = stage, False
        for row, at in ((self._where, "where"), (self._why, "told")):
            row.layout.display = _SHOWN["display"] if stage == at else _HIDDEN["display"]
        if stage == "asking":
            self.parted.value = ""
        self._say("")

    def _say(self, words: str) -> None:
        self.words.value = f'<p role="status" style="margin:0;line-height:1.45">{html.escape(words)}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live panel; and, for a reader without a kernel, the chart with what is to be done under it."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        still, about = self.chart._repr_mimebundle_(**kwargs)
        picture = {kind: part for kind, part in still.items() if kind == "image/png"}
        words = f"{still['text/plain']}\n\nBlind. {_INTRODUCTION.format(self.chart.division)}"
        return live | picture | {"text/plain": words}, about


def choice_with_reason(choices: Choices, sheet: LeadSheet, reason: str) -> str:
    """Choices as text with the reason above them, which `tunelib.harmony.parse_choices` passes over.

    >>> from tunelib.harmony import NO_CHOICES, Chord, parse_lead_sheet
    >>> choices = NO_CHOICES.everywhere("G7", Chord.parse("Gharm7"))
    >>> print(choice_with_reason(choices, parse_lead_sheet("| G7 | C |"), "it rests"), end="")
    # Why: it rests
    <BLANKLINE>
    [symbols]
    "G7" = "Gharm7"
    """
    return f"# Why: {_tidy(reason)}\n\n{choices_text(choices, sheet)}"


class Parting(NamedTuple):
    """Where a tune in two divisions is farthest apart: over which chord, in which bar it begins, which note, by how
    many cents its own division is the higher one.
    """

    symbol: str
    bar: int
    note: str
    cents: float


def farthest_apart(tune: RetunedTune, common: str) -> Parting:
    """The note that is farthest from where twelve has it, the first of several; `common` as `tune_score` has it.

    >>> from tunelib.harmony import parse_lead_sheet, retune
    >>> from tunelib.pitch import equal
    >>> found = farthest_apart(retune(parse_lead_sheet("key: C major\\n| C | G7 | C |"), equal(31)), "tonic")
    >>> found.symbol, found.bar, found.note, round(found.cents, 1)
    ('Gharm7', 2, 'F', -35.5)
    """
    own, twelve = (tune_score(tune, division, "long chords", common, count_in=False) for division in (None, _TWELVE))
    pairs = list(zip(own.notes, twelve.notes, strict=True))
    apart = [round(CENTS_PER_OCTAVE * log2(one.hertz / other.hertz), 6) for one, other in pairs]
    place = max(range(len(apart)), key=lambda k: abs(apart[k]))
    note = pairs[place][1]
    begins = [chord.written.onset for chord in tune.chords]
    chord = tune.chords[max(0, bisect_right(begins, note.onset) - 1)]
    return Parting(
        printed_symbol(chord.chord), chord.written.bar, note.name.name if note.name else "a note", apart[place]
    )


def _parting(tune: RetunedTune, common: str) -> str:
    """Where they part most, in words."""
    found = farthest_apart(tune, common)
    way = "lower" if found.cents < 0 else "higher"
    return (
        f"By the numbers they are farthest apart in bar {found.bar}, on {found.symbol}: the {found.note} of twelve is "
        f"{plain(abs(found.cents), 1)} cents {way} in {len(tune.tuning)}. That need not be where you hear it most."
    )


def _tidy(words: str) -> str:
    """What was typed on one line, without signs that are not to be seen."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in words).split())[:_LONGEST_REASON]


def _line(label: str, example: str) -> widgets.Text:
    return widgets.Text(
        description=label,
        placeholder=f"for example {example}" if label.endswith("part?") else example,
        style={"description_width": "initial"},
        layout={"width": "34em", "max_width": "100%"},
    )


def _button(words: str) -> widgets.Button:
    return widgets.Button(description=words, layout={"width": "max-content"})
