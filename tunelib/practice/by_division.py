"""One panel in several divisions of the octave, a button for each: the same thing, in the division that is chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from tunelib.pitch import is_whole, listed, shortened
from tunelib.show import assistance


def by_division(make: Callable[[int], Any], divisions: Sequence[int], chosen: int) -> ByDivision:
    """A row of buttons, one for each division, and below them what `make` makes of the one that is chosen.

    Parameters
    ----------
    make : callable
        From a number of steps to a widget, such as ``keys`` or ``lambda steps: tune_panel(tuning=steps)``. Each is made
        when it is first chosen, and kept with all that was done in it.
    divisions : sequence of int
        Two or more, in the order of the buttons.
    chosen : int
        The one that is there first.

    Raises ValueError for fewer than two divisions or the same one twice, for what cannot be called, and if the one to
    begin with is not among them.
    """
    if not callable(make):
        raise ValueError(f"what makes a panel is a function of a number of steps, such as keys, not {shortened(make)}")
    if not isinstance(divisions, Sequence) or not all(map(is_whole, divisions)):
        raise ValueError(f"divisions are numbers of steps, such as [12, 31], not {shortened(divisions)}")
    if len(divisions) < 2 or len(set(divisions)) < len(divisions):
        raise ValueError(f"give two divisions or more to choose from, each once, not {shortened(list(divisions))}")
    if chosen not in divisions:
        raise ValueError(f"it begins with one of {listed(divisions, 'or')}, not with {shortened(chosen)}")
    return ByDivision(make, divisions, chosen)


class ByDivision(widgets.VBox):  # type: ignore[misc]
    """The widgets. Made by `by_division`; a program may set ``steps.value``, and finds in ``shown`` what is there."""

    def __init__(self, make: Callable[[int], Any], divisions: Sequence[int], chosen: int) -> None:
        self._make = make
        self._made: dict[int, Any] = {}
        self.steps = widgets.ToggleButtons(
            options=[(str(division), division) for division in divisions],
            value=chosen,
            description="Steps",
            style={"button_width": "52px", "description_width": "50px"},
        )
        self._place = widgets.VBox()
        self.steps.observe(lambda _: self._show(), names="value")
        super().__init__([self.steps, self._place, assistance("tunelib-by-division")])
        self.add_class("tunelib-by-division")
        self._show()

    @property
    def shown(self) -> Any:
        """What was made for the division that is chosen."""
        division = self.steps.value
        if division not in self._made:
            self._made[division] = self._make(division)
        return self._made[division]

    def _show(self) -> None:
        """Put the chosen one in its place; the one that was there falls silent as it goes."""
        self._place.children = (self.shown,)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The live buttons; and, for a reader without a kernel, what the chosen one stores."""
        live = super()._repr_mimebundle_(**kwargs) or {}
        found = self.shown._repr_mimebundle_(**kwargs)
        stored, metadata = found if isinstance(found, tuple) else (found, {})
        still = {kind: data for kind, data in stored.items() if kind != _LIVE}
        return live | still, metadata


_LIVE = "application/vnd.jupyter.widget-view+json"
