"""A panel: an exhibit live in a notebook, with its knobs, its picture, its sentence and its sound.

The picture is one image widget whose bytes change, never an output area. Sound is made in the page, from what the panel
gives it to play: at every move while it sounds, else when a knob has rested; none ever starts by itself. What sounds
lights up in the picture, which the page tells the time. The panel also carries its picture and sentence as plain
outputs, so that a reader without a kernel sees them.
"""

from __future__ import annotations

import asyncio
import html
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import SILENT, Playing, Slider, Voicing, find_exhibit, find_theme
from tunelib.live import Sounding, exhibit_program, notes_at
from tunelib.score import Score
from tunelib.show.assist import assistance
from tunelib.show.carried import carried, follow
from tunelib.show.knob_widgets import described, knob_widget
from tunelib.show.moving_picture import MovingPicture
from tunelib.show.panel_frame import PanelFrame
from tunelib.show.stage import lightened

FOLDER = "my_sheets"  # where files that a panel makes go, beside the notebook
REST_SECONDS = 0.2  # how long a knob must rest before all that can be heard is made ready
SAY_SECONDS = 0.06  # how far the sentence may lag behind a moving knob, so that it does not hold up the picture
_STYLE = (Path(__file__).parent / "panel.css").read_text(encoding="utf-8")


def panel(
    exhibit: str, *, theme: str = "light", density: int = 1, glide: bool = True, builds: bool = False, **values: Any
) -> Panel:
    """An exhibit with its knobs, for a notebook.

    Parameters
    ----------
    exhibit : str
        Name of the exhibit, such as ``"wave"``.
    theme : str
        ``"light"`` or ``"dark"``.
    density : int
        Pixels of the picture for each pixel of the page: 1, or 2 for a projector or a fine screen.
    glide : bool
        Whether what is chosen or switched moves from where it was to where it will be, or is there at once.
    builds : bool
        Whether the picture comes on stage in steps, in the order in which one explains it: for a lecture. *Next* or an
        arrow key brings the next one.
    **values
        Where the knobs start; the others start at their defaults.

    Raises ValueError for a name, a knob or a value that does not exist, for values that clash, for a switch that is
    neither True nor False, and for `builds` where an exhibit has none. Where knobs that are moved by hand clash, the
    picture and the sound stay as they were, and the sentence says why.
    """
    return Panel(exhibit, theme, density, values, glide, builds)


class Panel(widgets.VBox):  # type: ignore[misc]
    """The widgets of one exhibit. Made by `panel`.

    Its parts are ordinary widgets, so that anything a reader does or sees can be done or read by a program too: the
    ``knobs`` by their names (`.value`), the ``image``, the ``words`` below it, ``sound``, the row that plays in the
    page, and ``frame``, the row for full screen and going on. Where an exhibit makes files, there are the button
    ``make`` and ``made``, which says what came of it.
    """

    def __init__(
        self,
        exhibit: str,
        theme: str,
        density: int,
        values: dict[str, Any],
        glide: bool = True,
        builds: bool = False,
    ) -> None:
        if density not in (1, 2):
            raise ValueError(f"the density of a panel is 1 or 2, not {density!r}")
        for name, switch in (("glide", glide), ("builds", builds)):
            if not isinstance(switch, bool):
                raise ValueError(f"{name} is True or False, not {switch!r}")
        colours = find_theme(theme)
        if colours.paper is None:
            raise ValueError(f"the theme of a panel is 'light' or 'dark', not {theme!r}; a still can be transparent")
        self._exhibit = shown = find_exhibit(exhibit)
        if builds and not shown.builds:
            raise ValueError(f"{shown.name!r} does not come on stage in steps")
        self._theme, self._glide = theme, glide
        self._values = self._start = settled = shown.settle(carried(shown.name, values) | values)
        self._clash = ""  # why the knobs make no sense as set, if they do not
        self._place: tuple[float, bool] | None = (
            None  # in what sounds: the seconds since it began, and whether it holds
        )
        self._heard: tuple[dict[str, Any], Score, Voicing] | None = None
        self._moving: asyncio.Handle | None = None
        self._resting: asyncio.TimerHandle | None = None
        self._saying: asyncio.TimerHandle | None = None
        self._picture = MovingPicture(shown, theme, density, glide, 1 if builds else None)
        self.knobs = {knob.name: knob_widget(knob, settled[knob.name]) for knob in shown.knobs}
        self.image = self._picture.image
        self.words = widgets.HTML()
        self.sound = Sounding(shown.title, True, "flow" if shown.flows else "notes", *self._programs(all_ways=True))
        steps = len(shown.builds) if builds else 0
        self.frame = PanelFrame(title=shown.title, paper=colours.paper, ink=colours.ink, steps=steps)
        self.make = widgets.Button(description=shown.makes, icon="download")
        self.made = widgets.HTML()
        knobs, makes = widgets.VBox(list(self.knobs.values())), widgets.Box([self.make, self.made])
        side = widgets.VBox([self.sound, self.frame])
        controls = widgets.Box([knobs, side, *([makes] if shown.makes else [])])
        body = widgets.Box([self.image, self.words, controls])
        for widget, what in (
            (self.image, "picture"), (self.words, "sentence"), (self.sound, "sound"), (self.make, "make"),
            (self.made, "made"), (knobs, "knobs"), (makes, "makes"), (side, "side"), (controls, "controls"),
            (body, "body"),
        ):  # fmt: skip
            widget.add_class(f"tunelib-{what}")
        for knob in self.knobs.values():
            knob.observe(self._moved, names="value")
        self.sound.on_flip(self._flip)
        self.sound.on_place(self._light)
        self.sound.observe(self._silenced, names="playing")
        self.frame.observe(self._step, names="step")
        self.frame.observe(self._fit, names=["shape", "large", "calm"])
        self.make.on_click(self._make_files)
        names = {"img": f"Picture: {shown.title}"}
        units = {described(knob): getattr(knob, "unit", None) for knob in shown.knobs}
        super().__init__([body, assistance("tunelib-panel", names, units, _STYLE)])
        self.add_class("tunelib-panel")
        self.move()
        self.say()
        self._picture.rest()
        follow(shown.name, self)

    def set(self, **values: Any) -> None:
        """Move knobs, as a reader would."""
        for name, value in values.items():
            self.knobs[name].value = value

    @property
    def values(self) -> dict[str, Any]:
        """Where the knobs are now; if they make no sense together, where they last did."""
        values = self._exhibit.checked({name: knob.value for name, knob in self.knobs.items()})
        for knob in self._exhibit.knobs:
            if isinstance(knob, Slider):
                values[knob.name] = knob.snap(values[knob.name], self._start[knob.name])
        self._clash = self._exhibit.clash(**values)
        self._values = self._values if self._clash else values
        return self._values

    @property
    def sentence(self) -> str:
        """What the panel shows now, in words; and why there is no picture, if something is missing for it."""
        sentence, missing = self._exhibit.sentence(**self.values), self._picture.missing
        return f"{sentence} There is no picture: {missing}." if missing else sentence

    def move(self) -> None:
        """Let the knobs be heard as they are now, if the panel sounds, and show them."""
        self._moving = None
        if self.sound.playing:
            self._give()
        self._picture.go(self.values, self._playing())

    def say(self) -> None:
        """Say in words what the knobs show now, or why they show nothing and the picture stays."""
        self._saying = None
        sentence = self.sentence
        kept = f"{self._clash[:1].upper()}{self._clash[1:]}. The picture stays as it was: {sentence}"
        self.words.value = _paragraph(kept if self._clash else sentence)

    def rest(self) -> None:
        """Show the picture crisp, and have ready what there is to hear."""
        self._picture.rest()
        self._ready()

    def _ready(self) -> None:
        self._resting = None
        self._give(all_ways=True)

    def _give(self, all_ways: bool = False) -> None:
        """Give the page what there is to hear now; see `_programs`."""
        self.sound.give(*self._programs(all_ways))

    def _programs(self, all_ways: bool) -> tuple[bytes, dict[str, bytes] | None, str]:
        """What is heard at the knobs as they are; if asked, in every way to tune it; and which of those it is."""
        values, ways = self.values, self._exhibit.comparisons
        others = (
            {way: exhibit_program(self._exhibit, {**values, **knobs}) for way, knobs in ways.items()}
            if all_ways
            else None
        )
        chosen = next((way for way, knobs in ways.items() if knobs.items() <= values.items()), "")
        return exhibit_program(self._exhibit, values), others, chosen

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
        self._resting = loop.call_later(REST_SECONDS, self._ready)
        self._saying = self._saying or loop.call_later(SAY_SECONDS, self.say)
        self._moving = self._moving or loop.call_soon(self.move)

    def _flip(self, way: str) -> None:
        """Set the knobs to what the page already plays."""
        for name, value in self._exhibit.comparisons[way].items():
            self.knobs[name].value = value

    def _light(self, seconds: float, hold: bool) -> None:
        """Light up what sounds at a moment; with the next picture, if the knobs are on the move."""
        self._place = seconds, hold
        if self._moving is None:
            self._picture.light(self._playing())

    def _silenced(self, _change: Any) -> None:
        if not self.sound.playing:
            self._place = None
            self._picture.light(SILENT)

    def _playing(self) -> Playing:
        """What sounds of what is heard at the knobs as they are, by what the page has told."""
        if self._place is None:
            return SILENT
        if self._heard is None or self._heard[0] != self._values:  # kept, since it is asked for many times a second
            values = self._values
            self._heard = values, self._exhibit.score(**values), self._exhibit.timbre(**values)
        _, score, timbre = self._heard
        seconds, hold = self._place
        return Playing(seconds, notes_at(score, timbre, seconds, hold))

    def _step(self, _change: Any) -> None:
        """Bring as much on stage as the page says."""
        self._picture.bring_on(min(max(1, self.frame.step), self.frame.steps) if self.frame.steps else None)

    def _fit(self, _change: Any) -> None:
        """Follow what the page tells of itself."""
        self._picture.glides = self._glide and not self.frame.calm
        self._picture.fit(self.frame.shape, self.frame.large)

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
        if self._picture.missing:
            return live | {"text/plain": sentence}, {}
        if self._moving is not None:  # a knob was set in this very cell
            self._moving.cancel()
            self.move()
        still = lightened(self._picture.captioned(sentence))
        return live | {"image/png": still, "text/plain": sentence}, {"image/png": {"alt": sentence}}


def _paragraph(words: str) -> str:
    return f'<p style="margin:0">{html.escape(words)}</p>'
