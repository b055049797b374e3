"""A learner's own recording measured against its targets, in a notebook: choose, listen, read, look.

The recording goes from the page to the learner's own kernel and nowhere else, and is kept in memory only. Nothing
sounds by itself. Where no recording is at hand, the demo takes, rendered with known errors, stand in for one.
"""

from __future__ import annotations

import html
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import OwnTake
from tunelib.hearing import Report, listen, parse_targets
from tunelib.pitch import INSTRUMENTS
from tunelib.practice.listening import listen_to
from tunelib.show import assistance, find_size, picture
from tunelib.sound import DEMO_TAKES, SAMPLE_RATE

_WIDTH, _HEIGHT = find_size("panel").pixels
_ANY = "any instrument or voice"
_OWN = "my recording"
_LABELLED = {"style": {"description_width": "150px"}, "layout": {"width": "560px", "max_width": "100%"}}
_TARGETS = ("harmonics of B♭1", "12", "31", "1/1 9/8 5/4 4/3 3/2 5/3 15/8 on C4")


def take_panel(*, theme: str = "light") -> TakePanel:
    """The panel of step 10: a place for a recording, what to measure it against, and what was heard.

    `theme` is ``"light"`` or ``"dark"``; raises ValueError for another.
    """
    return TakePanel(theme)


class TakePanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. A program may set ``recording``, ``take``, ``player`` and ``against``, and click ``listen``.

    What was heard is in ``report``, the ``words`` and the ``image``.
    """

    def __init__(self, theme: str = "light") -> None:
        self._theme = theme
        self.recording = widgets.FileUpload(
            accept=".wav,.flac,.ogg,.mp3,.aif,.aiff,.caf,audio/*", multiple=False, description="Choose a recording"
        )
        self.recording.layout = {"width": "240px"}
        self.take = widgets.Dropdown(
            options=[*DEMO_TAKES, _OWN], value=next(iter(DEMO_TAKES)), description="Listen to", **_LABELLED
        )
        self.player = widgets.Dropdown(
            options=[_ANY, *INSTRUMENTS], value="alto saxophone", description="Played by", **_LABELLED
        )
        self.against = widgets.Combobox(
            options=_TARGETS, value=_TARGETS[0], ensure_option=False, description="Against", **_LABELLED
        )
        self.listen = widgets.Button(description="Listen", icon="check", layout={"width": "140px"})
        self.words = widgets.HTML(layout={"max_width": "100%", "overflow": "auto"})
        self.image = widgets.Image(
            format="png", width=_WIDTH, height=_HEIGHT, layout={"max_width": "100%", "height": "auto"}
        )
        self.report: Report | None = None
        self.recording.observe(self._chosen, names="value")
        self.listen.on_click(self._asked)
        parts = (self.recording, self.take, self.player, self.against, self.listen, self.words, self.image)
        for widget, what in zip(
            parts, ("recording", "take", "player", "against", "listen", "words", "picture"), strict=True
        ):
            widget.add_class(f"tunelib-{what}")
        picture = "Picture: what was heard, note by note. The table above says it in words."
        super().__init__([*parts, assistance("tunelib-take-panel", {"img": picture})])
        self.add_class("tunelib-take-panel")
        self._asked(None)

    def hear(self) -> Report:
        """The report on what is chosen. Raises ValueError for targets or a recording that cannot be read."""
        player = INSTRUMENTS.get(self.player.value)
        if self.take.value != _OWN:
            return listen(DEMO_TAKES[self.take.value].samples(), SAMPLE_RATE, parse_targets(self.against.value), player)
        if not self.recording.value:
            raise ValueError("choose a recording first, or one of the demo takes")
        return listen_to(bytes(self.recording.value[0]["content"]), self.against.value, player)

    def _chosen(self, _change: Any) -> None:
        if self.recording.value:
            self.take.value = _OWN

    def _asked(self, _button: Any) -> None:
        """Listen, and show what was heard, or why nothing was."""
        self.words.value = _lines("Listening …")
        try:
            report = self.hear()
        except (ValueError, OSError) as problem:
            self.words.value = _lines(str(problem))
            self.image.layout.visibility = "hidden"
            return
        self.report = report
        self.words.value = _lines(report.table())
        self.image.value = picture(OwnTake(report), size="panel", theme=self._theme)
        self.image.layout.visibility = "visible"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live widgets; and, for a reader without a kernel, the picture and the table."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        if self.report is None:
            return live
        still = {"image/png": bytes(self.image.value), "text/plain": self.report.table()}
        return live | still, {"image/png": {"alt": OwnTake(self.report).sentence()}}


def _lines(words: str) -> str:
    return f'<pre role="status" aria-live="polite" style="margin:0;line-height:1.35">{html.escape(words)}</pre>'
