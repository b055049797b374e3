"""Two buttons by which a learner has something of theirs forgotten: one is pressed twice, the other goes back."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from tunelib.practice.own_file import OwnFile, Unkept


class ForgetButtons(widgets.VBox):  # type: ignore[misc]
    """The buttons of one file of the learner's own. A program may click ``forget``, and again to confirm, or ``keep``.

    What was said last is in ``words``.

    Parameters
    ----------
    file : OwnFile
        Which is put aside, not deleted.
    asked : str
        What the button says, such as ``"Forget my progress"``.
    afresh : str
        What it begins with then, such as ``"an empty list"``.
    look : function
        Called after either button has done its work.
    """

    def __init__(self, file: OwnFile[Any], asked: str, afresh: str, look: Callable[[], None]) -> None:
        self._file, self._asked, self._afresh, self._look = file, asked, afresh, look
        self.forget = widgets.Button(description=asked, layout={"width": "200px"})
        self.keep = widgets.Button(description="No, keep it", layout={"width": "200px", "display": "none"})
        self.words = widgets.HTML(layout={"max_width": "60em"})
        self.forget.on_click(lambda _: self._pressed())
        self.keep.on_click(lambda _: self._settle("Nothing was changed."))
        self._sure = False
        super().__init__([widgets.HBox([self.forget, self.keep]), self.words])

    def _pressed(self) -> None:
        if not self._sure:
            self._sure = True
            self.keep.layout.display = ""  # the way back is there before the way on
            self.forget.description = "Yes, forget it all"
            self._say(f"Press once more to begin with {self._afresh}. The old file is put aside, not deleted.")
            return
        try:
            aside = self._file.forget()
        except Unkept as problem:
            self._settle(f"That did not work: {problem}.")
        else:
            self._settle(f"Forgotten. The old file is now {aside}." if aside else "There was nothing to forget.")

    def _settle(self, words: str) -> None:
        self._sure = False
        self.forget.description, self.keep.layout.display = self._asked, "none"
        self._say(words)
        self._look()

    def _say(self, words: str) -> None:
        self.words.value = f'<p role="status" aria-live="polite" style="line-height:1.35">{html.escape(words)}</p>'
