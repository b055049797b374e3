"""The row under a picture that sounds: a button to hear it, a switch to hold it, and buttons that flip between tunings.

It plays in the page, so that sound never waits for Python: what Python gives it is a program, made from a score, and a
new one whenever a knob moves. What sounds then glides to the new one from where it is.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from tunelib.live.script import script
from tunelib.live.tape import Tape
from tunelib.pitch import is_number

_HERE = Path(__file__).parent


class Sounding(anywidget.AnyWidget):
    """The row of widgets.

    Parameters
    ----------
    title : str
        What sounds, for assistive technology.
    holds : bool
        Whether what sounds can be held or repeated.
    follow : str
        How closely the page tells where the sound is, see `on_place`: not at all; ``"notes"``, when other notes sound
        than before; or ``"flow"``, some fifteen times a second as well.

    ``program`` is what *Hear it* plays, ``others`` are the ways that buttons flip to, by their names, and ``chosen`` is
    the one of them that ``program`` is, if it is one: set them by `give`. ``playing`` says whether it sounds now, and
    ``way`` which of the ways does; the page tells.
    """

    _esm = f"{script(_HERE / 'sounding.js')}\nexport default {{render: renderSounding}};"
    _css: Path | str = _HERE / "live.css"
    title = traitlets.Unicode().tag(sync=True)
    holds = traitlets.Bool(True).tag(sync=True)
    program = traitlets.Bytes().tag(sync=True)
    others = traitlets.Dict().tag(sync=True)
    chosen = traitlets.Unicode().tag(sync=True)
    apart = traitlets.List(traitlets.Unicode()).tag(sync=True)
    tapes = traitlets.List(traitlets.Unicode()).tag(sync=True)  # the names of those that the programs have parts of
    playing = traitlets.Bool(False).tag(sync=True)
    follow = traitlets.Enum(("", "notes", "flow"), "").tag(sync=True)

    def __init__(
        self,
        title: str,
        holds: bool = True,
        follow: str = "",
        program: bytes = b"",
        others: Mapping[str, bytes] | None = None,
        chosen: str = "",
    ) -> None:
        super().__init__(
            title=title, holds=holds, follow=follow, program=program, others=dict(others or {}), chosen=chosen
        )
        self.way = ""
        self._tapes: dict[str, Tape] = {}
        self._flipped: Callable[[str], None] = lambda way: None
        self._placed: Callable[[float, bool], None] = lambda seconds, hold: None
        self.on_msg(self._told)

    def give(
        self,
        program: bytes,
        others: Mapping[str, bytes] | None = None,
        chosen: str = "",
        *,
        apart: Sequence[str] = (),
        tapes: Sequence[Tape] = (),
    ) -> None:
        """Set what is played; the other ways stay as they are if none are given. What sounds glides to it.

        A way that is `apart` has nothing at the same moments as the rest, and so begins anew. `tapes` are those that
        any of the programs has parts of.
        """
        self._tapes = {tape.name: tape for tape in tapes}
        with self.hold_sync():
            self.tapes, self.apart = list(self._tapes), list(apart)
            self.program, self.chosen = program, chosen
            if others is not None:
                self.others = dict(others)

    def play(self, way: str = "") -> None:
        """Have the page play, from the beginning: the program, or one of the other ways."""
        self.send({"do": "play", "way": way})

    def stop(self) -> None:
        """Have the page fall silent."""
        self.send({"do": "stop"})

    def on_flip(self, act: Callable[[str], None]) -> None:
        """Call a function with the name of a way that the reader flips to."""
        self._flipped = act

    def on_place(self, act: Callable[[float, bool], None]) -> None:
        """Call a function with the place of what sounds: the seconds since it began, and whether it is held.

        The page tells the next place when the function has come back, and as long again has passed.
        """
        self._placed = act

    def _told(self, _widget: Any, message: Any, _buffers: Any) -> None:
        if not isinstance(message, Mapping):
            return
        if message.get("flip") in self.others:
            self._flipped(message["flip"])
        if (tape := self._tapes.get(str(message.get("want")))) is not None:
            self.send({"tape": tape.name}, buffers=[tape.data])
        seconds: Any = message.get("at")
        if is_number(seconds) and seconds >= 0:
            began, self.way = time.perf_counter(), str(message.get("way", ""))
            try:
                self._placed(float(seconds), bool(message.get("hold")))
            finally:  # for as long as this took, something else may have the kernel
                self.send({"do": "go on telling", "after": 1000 * (time.perf_counter() - began)})
