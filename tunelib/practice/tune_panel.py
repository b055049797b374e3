"""A learner's own tune in a notebook: written or pasted as text, retuned, heard against twelve, and taken to the band.

Nothing sounds by itself, nothing is written unless a button asks for it, and a file that is there is left alone.
"""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from tunelib.arrange import tune_score
from tunelib.export import tune_files, tune_table
from tunelib.files import write_set
from tunelib.harmony import RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.live import Sounding, program
from tunelib.pitch import THIRTY_ONE
from tunelib.show import assistance
from tunelib.sound import reference_gain, tune_timbres

FOLDER = "my_tunes"  # beside the notebook
LONGEST_HEARD = 4.0  # minutes of a tune that are played here
DIVISIONS = (31, 12)  # in which it can be heard
MOST_CHORDS = 400  # in a notebook; the command takes more
_LABELLED = {"style": {"description_width": "150px"}, "layout": {"width": "560px", "max_width": "100%"}}
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
    """The panel of step 31: a place for a tune, the knobs of taste, and what came of it.

    `text` is a lead sheet; `tunelib.harmony.lead_sheet` says how one is written.
    """
    return TunePanel(text)


class TunePanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. A program may set ``text``, ``adventure``, ``colour`` and ``drift``, and click the buttons.

    The result is in ``tune``, or None while the text cannot be read, and said in ``words``; ``told`` says what came of
    a button that was pressed, and ``sound`` is the row that plays the tune in the page, in 31 or in 12. What is heard
    and written is always the text as it is now.
    """

    def __init__(self, text: str = _TUNE) -> None:
        self.text = widgets.Textarea(
            value=text,
            continuous_update=False,  # letters that are still on their way would be overtaken by a click
            layout={"width": "100%", "max_width": "960px", "height": "230px"},
        )
        self.adventure = widgets.FloatSlider(
            value=0.6, min=0, max=1, step=0.1, readout_format=".1f", description="Adventure", **_LABELLED
        )
        self.colour = widgets.FloatSlider(
            value=0, min=-1, max=1, step=0.5, readout_format=".1f", description="Dark to bright", **_LABELLED
        )
        self.drift = widgets.Checkbox(value=False, description="Roots may drift", **_LABELLED)
        self.again = _button("Retune", "check")
        self.write = _button("Write the files", "download")
        self.sound = Sounding("your tune")
        self._division = DIVISIONS[0]
        self.words = widgets.HTML(layout={"width": "100%", "max_width": "960px"})
        self.told = widgets.HTML()
        self.tune: RetunedTune | None = None
        self.again.on_click(lambda _: self.retune())
        self.sound.on_flip(self._flip)
        self.write.on_click(lambda _: self.save())
        for knob in (self.text, self.adventure, self.colour, self.drift):
            knob.observe(lambda _: self.retune(), names="value")
        buttons = widgets.HBox([self.again, self.write], layout={"flex_flow": "row wrap"})
        parts = {
            "text": self.text, "adventure": self.adventure, "colour": self.colour, "drift": self.drift,
            "buttons": buttons, "sound": self.sound, "told": self.told, "words": self.words,
        }  # fmt: skip
        for what, widget in parts.items():
            widget.add_class(f"tunelib-{what}")
        names = {"textarea": "Your tune, as text"}
        super().__init__([*parts.values(), assistance("tunelib-tune-panel", names)])
        self.add_class("tunelib-tune-panel")
        self.retune()

    def retune(self) -> None:
        """Read the text and retune it, or say where it cannot be read."""
        self._tell("")
        try:
            sheet = parse_lead_sheet(self.text.value)
            self.tune = retune(sheet, THIRTY_ONE, Taste(self.adventure.value, self.colour.value, self.drift.value))
        except ValueError as problem:
            self.tune = None
            self.words.value = _report(_paragraph(str(problem)))
            self._give()
            return
        *rows, whole = tune_table(self.tune).splitlines()
        self.words.value = _report(_table(rows), *map(_paragraph, [whole, *self.reasons]))
        self._give()

    @property
    def reasons(self) -> list[str]:
        """Why each chord that was changed was chosen, a sentence each."""
        if self.tune is None:
            return []
        changed = [chord for chord in self.tune.chords if chord.changed]
        return [f"Bar {chord.written.bar}: {chord.why}" for chord in changed]

    @property
    def said(self) -> str:
        """The table of the tune, and the reasons; nothing while the text cannot be read."""
        return "" if self.tune is None else "\n".join([tune_table(self.tune), *self.reasons])

    def _give(self) -> None:
        """Give the page the tune to play in either division, or nothing if there is none or it is too long."""
        if self.tune is None:
            self.sound.stop()
            self.sound.give(b"", {})
            return
        minutes = self.tune.sheet.beats / self.tune.sheet.tempo
        if minutes > LONGEST_HEARD:
            self._tell(f"This tune lasts {minutes:.0f} minutes. Write the files, and listen to them there.")
            self.sound.give(b"", {})
            return
        ways = {f"in {division}": _program(self.tune, division) for division in DIVISIONS}
        self.sound.give(ways[f"in {self._division}"], ways, f"in {self._division}")

    def _flip(self, way: str) -> None:
        """Stay in the division that the reader flipped to, whatever becomes of the tune."""
        self._division = int(way.removeprefix("in "))
        self._give()

    def save(self) -> None:
        """Write the tune's files into `FOLDER`, and say which, or why not."""
        if self.tune is None:
            self._tell("There is nothing to write yet: see below what is to be mended.")
            return
        try:
            paths = write_set(tune_files(self.tune), Path(FOLDER), progress=lambda step: self._tell(f"{step} …"))
        except FileExistsError:
            self._tell(
                f"A tune of this title is already in the folder {FOLDER}. Move it, or give this one another title."
            )
        except (OSError, ValueError, ImportError) as problem:
            self._tell(str(problem))
        else:
            self._tell(f"In the folder {FOLDER}, beside this notebook: {', '.join(path.name for path in paths)}.")

    def _tell(self, words: str) -> None:
        self.told.value = f'<p role="status" aria-live="polite" style="margin:0">{html.escape(words)}</p>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live widgets; and, for a reader without a kernel, the text of the tune and what came of it."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        return live | {"text/plain": f"{self.text.value}\n{self.said}"}, {}


def _program(tune: RetunedTune, division: int) -> bytes:
    """What the page plays of a tune in a division."""
    score, timbres = tune_score(tune, division), tune_timbres()
    return program(score, timbres, reference_gain(score, timbres))


def _button(words: str, icon: str) -> widgets.Button:
    return widgets.Button(description=words, icon=icon, layout={"width": "170px"})


def _report(*parts: str) -> str:
    """What is said below the buttons, which takes the width of the page and asks for none of its own."""
    style = "width:0;min-width:100%"
    return f'<div role="status" aria-live="polite" style="{style}">{"".join(parts)}</div>'


def _table(rows: list[str]) -> str:
    """Columns of letters, which are scrolled and never broken."""
    style = "margin:0;line-height:1.35;white-space:pre;overflow-x:auto"
    lines = "\n".join(map(html.escape, rows))
    return f'<pre style="{style}">{lines}</pre>'


def _paragraph(words: str) -> str:
    """A sentence, in which no line begins with a percent sign."""
    unbroken = html.escape(words).replace(" %", "\N{NO-BREAK SPACE}%")
    return f'<p style="margin:6px 0 0;line-height:1.35">{unbroken}</p>'
