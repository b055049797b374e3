"""A panel: an exhibit live in a notebook, with its knobs, its picture, its sentence and its sound.

The picture is one image widget of fixed size whose bytes change, never an output area: a compact encoding while a knob
moves, a crisp one once it has come to rest. Sound is made in the page, from what the panel gives it to play: at every
move while it sounds, else when a knob has rested; none ever starts by itself. The panel also carries its picture and
sentence as plain outputs, so that a reader without a kernel sees them.
"""

from __future__ import annotations

import asyncio
import copy
import html
import math
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import Choice, Knob, Slider, Switch, find_exhibit, find_theme
from tunelib.live import Sounding, exhibit_program
from tunelib.show.assist import assistance
from tunelib.show.stage import Stage, find_size, lightened
from tunelib.show.still import picture

FOLDER = "my_sheets"  # where files that a panel makes go, beside the notebook
REST_SECONDS = 0.2  # how long a knob must rest before the crisp picture and the sound are made
SAY_SECONDS = 0.06  # how far the sentence may lag behind a moving knob, so that it does not hold up the picture
_SEGMENT = 1 << 16  # bytes; a smaller picture would wait on its way to a page on the same machine (see DEVELOPERS.md)
_WIDTH, _HEIGHT = find_size("panel").pixels
_KNOB = {"description_width": "200px"}


def panel(exhibit: str, *, theme: str = "light", density: int = 1, **values: Any) -> Panel:
    """An exhibit with its knobs, for a notebook.

    Parameters
    ----------
    exhibit : str
        Name of the exhibit, such as ``"wave"``.
    theme : str
        ``"light"`` or ``"dark"``.
    density : int
        Pixels of the picture for each pixel of the page: 1, or 2 for a projector or a fine screen.
    **values
        Where the knobs start; the others start at their defaults.

    Raises ValueError for a name, a knob or a value that does not exist, and for values that clash. Where knobs that are
    moved by hand clash, the picture and the sound stay as they were, and the sentence says why.
    """
    return Panel(exhibit, theme, density, values)


class Panel(widgets.VBox):  # type: ignore[misc]
    """The widgets of one exhibit. Made by `panel`.

    Its parts are ordinary widgets, so that anything a reader does or sees can be done or read by a program too: the
    ``knobs`` by their names (`.value`), the ``image``, the ``words`` below it, and ``sound``, the row that plays in the
    page. Where an exhibit makes files, there are the button ``make`` and ``made``, which says what came of it.
    """

    def __init__(self, exhibit: str, theme: str, density: int, values: dict[str, Any]) -> None:
        if density not in (1, 2):
            raise ValueError(f"the density of a panel is 1 or 2, not {density!r}")
        if find_theme(theme).paper is None:
            raise ValueError(f"the theme of a panel is 'light' or 'dark', not {theme!r}; a still can be transparent")
        self._exhibit = find_exhibit(exhibit)
        self._theme = theme
        self._values = settled = self._exhibit.settle(values)
        self._clash = ""  # why the knobs make no sense as set, if they do not
        self._stage = Stage(self._exhibit, "panel" if density == 1 else "panel at double density", theme)
        self._moving: asyncio.Handle | None = None
        self._missing = ""  # what a picture would need that is not installed
        self._resting: asyncio.TimerHandle | None = None
        self._saying: asyncio.TimerHandle | None = None
        self.knobs = {knob.name: _knob_widget(knob, settled[knob.name]) for knob in self._exhibit.knobs}
        self.image = widgets.Image(
            width=_WIDTH, height=_HEIGHT, layout={"max_width": "100%", "height": "auto", "flex": "0 0 auto"}
        )
        self.words = widgets.HTML(layout=_fixed(_WIDTH, 64))
        self.sound = Sounding(self._exhibit.title)
        self.make = widgets.Button(description=self._exhibit.makes, icon="download", layout={"width": "180px"})
        self.made = widgets.HTML(layout=_fixed(_WIDTH, 64))
        for widget, what in (
            (self.image, "picture"), (self.words, "sentence"), (self.sound, "sound"), (self.make, "make"),
            (self.made, "made"),
        ):  # fmt: skip
            widget.add_class(f"tunelib-{what}")
        for knob in self.knobs.values():
            knob.observe(self._moved, names="value")
        self.sound.on_flip(self._flip)
        self.make.on_click(self._make_files)
        title = self._exhibit.title
        names = {"img": f"Picture: {title}"}
        units = {_described(knob): getattr(knob, "unit", None) for knob in self._exhibit.knobs}
        parts = [widgets.VBox(list(self.knobs.values())), self.image, self.words, self.sound]
        makes = [self.make, self.made] if self._exhibit.makes else []
        super().__init__([*parts, *makes, assistance("tunelib-panel", names, units)])
        self.add_class("tunelib-panel")
        self.move()
        self.say()
        self.rest()

    @property
    def values(self) -> dict[str, Any]:
        """Where the knobs are now; if they make no sense together, where they last did."""
        values = self._exhibit.checked({name: knob.value for name, knob in self.knobs.items()})
        self._clash = self._exhibit.clash(**values)
        self._values = self._values if self._clash else values
        return self._values

    @property
    def sentence(self) -> str:
        """What the panel shows now, in words; and why there is no picture, if something is missing for it."""
        sentence = self._exhibit.sentence(**self.values)
        return f"{sentence} There is no picture: {self._missing}." if self._missing else sentence

    def move(self) -> None:
        """Let the knobs be heard as they are now, if the panel sounds, and show them in a compact picture."""
        self._moving = None
        if self.sound.playing:
            self._give()
        try:
            self._stage.move(self.values)
        except ImportError as missing:
            self._missing = str(missing)
            self.image.layout.display = "none"
            return
        self._show(self._stage.compact().ljust(_SEGMENT, b"\0"), "jpeg")

    def say(self) -> None:
        """Say in words what the knobs show now, or why they show nothing and the picture stays."""
        self._saying = None
        sentence = self.sentence
        kept = f"{self._clash[:1].upper()}{self._clash[1:]}. The picture stays as it was: {sentence}"
        self.words.value = _paragraph(kept if self._clash else sentence)

    def rest(self) -> None:
        """Show the picture crisp, and have ready what there is to hear."""
        self._resting = None
        if not self._missing:
            self._show(self._stage.crisp(), "png")
        self._give(all_ways=True)

    def _show(self, picture: bytes, kind: str) -> None:
        with self.image.hold_sync():
            self.image.format = kind
            self.image.value = picture

    def _give(self, all_ways: bool = False) -> None:
        """Give the page what to play at the knobs as they are, and, if asked to, in every way to tune it."""
        values, ways = self.values, self._exhibit.comparisons
        others = (
            {way: exhibit_program(self._exhibit, {**values, **knobs}) for way, knobs in ways.items()}
            if all_ways
            else None
        )
        chosen = next((way for way, knobs in ways.items() if knobs.items() <= values.items()), "")
        self.sound.give(exhibit_program(self._exhibit, values), others, chosen)

    def _moved(self, _change: Any) -> None:
        """Plan what a moved knob asks for.

        The picture is drawn just after this message has been answered, not before: the page sends the next value when
        the answer has come, and an answer behind a large picture may be held up on the way (TCP waits with a small
        packet until the large one before it has been acknowledged, some 40 ms).
        """
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: nobody is waiting
            self.move()
            self.say()
            self.rest()
            return
        if self._resting is not None:
            self._resting.cancel()
        self._resting = loop.call_later(REST_SECONDS, self.rest)
        self._saying = self._saying or loop.call_later(SAY_SECONDS, self.say)
        self._moving = self._moving or loop.call_soon(self.move)

    def _flip(self, way: str) -> None:
        """Set the knobs to what the page already plays."""
        for name, value in self._exhibit.comparisons[way].items():
            self.knobs[name].value = value

    def _make_files(self, _button: Any) -> None:
        """Have the exhibit write its files into `FOLDER`, and say which, or why not."""
        try:
            made = self._exhibit.make(Path(FOLDER), lambda step: self._report(f"{step} …"), **self.values)
        except FileExistsError:
            self._report(
                f"This sheet is already in the folder {FOLDER}. Move or rename it there to have it made again."
            )
        except (OSError, ValueError, ImportError) as problem:
            self._report(str(problem))
        else:
            names = ", ".join(path.name for path in made)
            self._report(f"In the folder {FOLDER}, beside this notebook: {names}.")

    def _report(self, words: str) -> None:
        self.made.value = f'<div role="status" aria-live="polite">{_paragraph(words)}</div>'

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live widgets; and, for a reader without a kernel, the picture with its sentence below."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        sentence = self.sentence
        if self._missing:
            return live | {"text/plain": sentence}, {}
        still = picture(self._exhibit, size="panel", theme=self._theme, caption=True, **self.values)
        return live | {"image/png": lightened(still), "text/plain": sentence}, {"image/png": {"alt": sentence}}


def _paragraph(words: str) -> str:
    return f'<p style="margin:0;line-height:1.35">{html.escape(words)}</p>'
