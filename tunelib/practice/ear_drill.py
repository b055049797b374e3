"""One question for the ear after another, in the page: its sounds, its answers, and what it was.

The widget shows what it is told to and says what the reader did; whose turn it is, is the session's business.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tunelib.live import LIVE_STYLE, script
from tunelib.practice.ear_sounds import EarSound

_HERE = Path(__file__).parent
_NUMBERED = "Sound {}"
_NOTHING: Mapping[str, Any] = {
    "stage": "idle", "place": "", "share": 0.0, "words": "", "more": [], "sounds": [], "helps": [], "compared": [],
    "answers": [], "answered": -1, "right": -1, "response": "", "go": "", "skips": False, "hint": "", "short": False,
}  # fmt: skip


class EarDrill(anywidget.AnyWidget):
    """The widget.

    ``shown`` is all that the page shows: the stage (``"idle"``, ``"asking"``, ``"told"``, ``"listening"`` or
    ``"done"``), words, sounds and answers, see `show`. `on_act` names who is told what the reader did: ``"go"``,
    ``"answer"`` with the answer's place, ``"skip"`` or ``"stop"``.
    """

    _esm = f"{script(_HERE / 'ear_drill.js')}\nexport default {{render: renderDrill}};"
    _css = "\n".join(path.read_text("utf-8") for path in (LIVE_STYLE, _HERE / "ear_drill.css"))
    title = traitlets.Unicode().tag(sync=True)
    shown: traitlets.Dict[str, Any] = traitlets.Dict(dict(_NOTHING)).tag(sync=True)

    def __init__(self, title: str) -> None:
        super().__init__(title=title)
        self._act: Callable[[str, Any], None] = lambda what, value: None
        self.on_msg(self._told)

    def on_act(self, act: Callable[[str, Any], None]) -> None:
        """Call a function with what the reader did, and the place of the answer where it was one."""
        self._act = act

    def show(self, stage: str, words: str, **parts: Any) -> None:
        """Show a stage: `words`, and of the other parts of ``shown`` those that are given; the rest are empty.

        Sounds are given as `EarSound`; what is before the answer is shown under its number, since its name would tell.
        """
        for row in ("sounds", "helps", "compared"):
            parts[row] = _sent(parts.get(row, ()), numbered=row == "sounds")
        self.shown = {**_NOTHING, "stage": stage, "words": words, **parts}

    def _told(self, _widget: Any, message: Any, _buffers: Any) -> None:
        if isinstance(message, Mapping) and isinstance(message.get("do"), str):
            self._act(message["do"], message.get("with"))


def _sent(sounds: Sequence[EarSound], numbered: bool) -> list[dict[str, Any]]:
    """Sounds as the page gets them, under their names or under their numbers."""
    return [
        {"name": _NUMBERED.format(place) if numbered else sound.name, "program": sound.program}
        for place, sound in enumerate(sounds, start=1)
    ]
