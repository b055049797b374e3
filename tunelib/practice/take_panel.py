"""A learner's own take measured against its targets, in a notebook: record it or choose it, read, look.

The take goes from the page to the learner's own kernel and nowhere else, and is kept in memory only, unless the learner
saves it. Nothing sounds by itself. Where no take is at hand, the demo takes, rendered with known errors, stand in for
one.
"""

from __future__ import annotations

import html
import math
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import OwnTake
from tunelib.hearing import Recording, Report, parse_targets
from tunelib.live import GivenTake, Recorder
from tunelib.pitch import INSTRUMENTS, drawn, nearest_note
from tunelib.practice.listening import listen_to
from tunelib.practice.report_html import report_html
from tunelib.show import assistance, find_size, picture
from tunelib.sound import DEMO_TAKES, SAMPLE_RATE

_SIZES = {False: "panel", True: "square"}  # of the picture, by whether the page is narrow
_SHOWN = 780  # pixels of its width: so that what is asked and the picture fit a laptop's screen together
_ANY = "any instrument or voice"
_OWN = "my own take"
_LABELLED = {
    "style": {"description_width": "initial"},
    "layout": {"width": "auto", "min_width": "0", "flex": "1 1 200px"},
}
_TARGETS = ("harmonics of B♭1", "12", "31", "1/1 9/8 5/4 4/3 3/2 5/3 15/8 on C4")
_TONIC = ("1", "1/1")  # what a target is called that the others are measured from
_LOWEST_DRONE = 100.0  # hertz: what small loudspeakers and headphones give


def take_panel(*, theme: str = "light") -> TakePanel:
    """The panel of step 10: a place to record or to choose a take, what to measure it against, and what was heard.

    `theme` is ``"light"`` or ``"dark"``; raises ValueError for another.
    """
    return TakePanel(theme)


class TakePanel(widgets.VBox):  # type: ignore[misc]
    """The widgets. A program may set ``take``, ``player`` and ``against``, and click ``listen``; or call
    ``recorder.give`` with a take.

    What was heard is in ``report``, which is None where nothing was, in the ``words`` and in the ``image``; ``heading``
    says which take it is of.
    """

    def __init__(self, theme: str = "light") -> None:
        self._theme = theme
        self._heard = ""  # the name of the take that was listened to last
        self.report: Report | None = None
        self.recorder = Recorder()
        self.take = widgets.Dropdown(
            options=[*DEMO_TAKES, _OWN], value=next(iter(DEMO_TAKES)), description="Listen to", **_LABELLED
        )
        self.player = widgets.Dropdown(
            options=[_ANY, *INSTRUMENTS], value="alto saxophone", description="Played by", **_LABELLED
        )
        self.against = widgets.Combobox(
            options=_TARGETS, value=_TARGETS[0], ensure_option=False, description="Against", **_LABELLED
        )
        self.listen = widgets.Button(description="Listen", icon="check", layout={"width": "100px"})
        self.heading = widgets.HTML(layout={"margin": "0"})
        self.words = widgets.HTML(layout={"display": "block", "width": "100%"})
        self.image = widgets.Image(format="png", layout={"max_width": "100%", "height": "auto"})
        self.recorder.on_take(self._given)
        self.recorder.on_coming(lambda _: self._head())
        self.recorder.observe(lambda _: self._draw(), names="narrow")
        self.against.observe(lambda _: self._offer_drone(), names="value")
        self.listen.on_click(lambda _: self._listen())
        asked = (self.take, self.player, self.against, self.listen)
        told = (self.heading, self.image, self.words)
        names = ("take", "player", "against", "listen", "heading", "picture", "words")
        for widget, name in zip((*asked, *told), names, strict=True):
            widget.add_class(f"tunelib-{name}")
        row = widgets.Box(asked, layout={"flex_flow": "row wrap", "max_width": "960px"})
        picture = "Picture: what was heard, note by note. The table below says it in words."
        super().__init__([self.recorder, row, *told, assistance("tunelib-take-panel", {"img": picture})])
        self.add_class("tunelib-take-panel")
        self._offer_drone()
        self._listen()

    def hear(self) -> Report:
        """The report on what is chosen. Raises ValueError for targets or a take that cannot be read, and ImportError,
        with what to install, where a package is missing for it."""
        return listen_to(
            self._chosen(), self.against.value, INSTRUMENTS.get(self.player.value), progress=self._progress
        )

    def _chosen(self) -> Recording:
        """What is to be listened to."""
        if self.take.value != _OWN:
            return Recording.of(DEMO_TAKES[self.take.value].samples(), SAMPLE_RATE)
        if self.recorder.take is None:
            raise ValueError("record a take or choose a file first, or listen to one of the demo takes")
        return self.recorder.take.recording()

    def _given(self, _take: GivenTake) -> None:
        self.take.value = _OWN
        self._listen()

    def _listen(self) -> None:
        """Listen, and show what was heard, or why nothing was."""
        self.report = None
        self.words.value = ""
        self.image.layout.display = "none"
        self._heard = self.recorder.current if self.take.value == _OWN else f"the demo take “{self.take.value}”"
        self._progress(0)
        try:
            report = self.hear()
        except (ValueError, OSError, ImportError) as problem:
            self._head()
            self.words.value = f'<p role="status" style="margin:0">{html.escape(str(problem))}</p>'
            return
        self.report = report
        self._head()
        self.words.value = report_html(report)
        self._draw()

    def _draw(self) -> None:
        """Draw what was heard, as wide as the page is."""
        if self.report is None:
            return
        size = _SIZES[self.recorder.narrow]
        width, height = find_size(size).pixels
        self.image.width, self.image.height = min(width, _SHOWN), min(height, _SHOWN * height // width)
        self.image.value = picture(OwnTake(self.report), size=size, theme=self._theme)
        self.image.layout.display = ""

    def _progress(self, share: float) -> None:
        self.heading.value = _heading(f"Listening: {self._heard}, {share:.0%}")

    def _head(self) -> None:
        """Say which take it is that was heard, and whether there is a newer one that was not."""
        what = "Report" if self.report else "No report"
        newer = self.recorder.coming
        but = f" A newer take, {newer}, has not been listened to." if newer else ""
        self.heading.value = _heading(f"{what}: {self._heard}" if self._heard else what, but)

    def _offer_drone(self) -> None:
        """Have the recorder offer the note that the targets stand on, or the A that they are tuned by."""
        try:
            targets = parse_targets(self.against.value)
        except ValueError:  # which is said when it is to be listened to
            return
        labelled = zip(targets.hertz, targets.labels, strict=True)
        tonic = next((hertz for hertz, label in labelled if label in _TONIC), targets.reference)
        tonic *= 2.0 ** math.ceil(math.log2(_LOWEST_DRONE / tonic))
        self.recorder.drone_on(tonic, drawn(str(nearest_note(tonic, reference=targets.reference)[0])))

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live widgets; and, for a reader without a kernel, the picture and the table."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        if self.report is None:
            return live
        still = {"image/png": bytes(self.image.value), "text/plain": f"Report: {self._heard}.\n{self.report.table()}"}
        return live | still, {"image/png": {"alt": OwnTake(self.report).sentence()}}


def _heading(what: str, but: str = "") -> str:
    words = f"<b>{html.escape(what)}.</b>{html.escape(but)}"
    return f'<p role="status" style="margin:0;line-height:1.5">{words}</p>'
