"""The knobs of an exhibit as widgets of a notebook."""

from __future__ import annotations

import copy
import math
from typing import Any

import ipywidgets as widgets

from tunelib.exhibits import Choice, Knob, Slider, Switch


def knob_widget(knob: Knob, value: Any) -> widgets.DOMWidget:
    """A slider, a list to choose from, or a box to tick; it starts at a value that the knob takes."""
    common = {"description": described(knob), "value": value}
    if isinstance(knob, Switch):
        return widgets.Checkbox(indent=False, **common)
    if isinstance(knob, Choice) and knob.ordered:
        return _SELECTION_SLIDER(options=knob.options, **common)
    if isinstance(knob, Choice):
        return widgets.Dropdown(options=knob.options, **common)
    return _slider_widget(knob, common)


def described(knob: Knob) -> str:
    """What a knob is called beside its widget: its label with its unit."""
    return f"{knob.label} ({knob.unit})" if isinstance(knob, Slider) and knob.unit else knob.label


def _unechoed(kind: type[widgets.DOMWidget], trait: str) -> type[widgets.DOMWidget]:
    """The kind of slider whose value the kernel does not send back to the page that sent it.

    The echo serves several pages that share one kernel and costs each move a message; a panel lives on one page.
    """
    value = copy.copy(kind.class_traits()[trait])
    value.metadata = value.metadata | {"echo_update": False}
    return type(kind.__name__, (kind,), {trait: value})


_SELECTION_SLIDER = _unechoed(widgets.SelectionSlider, "index")
_INT_SLIDER = _unechoed(widgets.IntSlider, "value")
_FLOAT_SLIDER = _unechoed(widgets.FloatSlider, "value")
_LOG_SLIDER = _unechoed(widgets.FloatLogSlider, "value")


def _slider_widget(knob: Slider, common: dict[str, Any]) -> widgets.DOMWidget:
    if knob.logarithmic:
        # The steps are counted from the low end, and the value that is given first is one of them.
        above = math.log2(common["value"] / knob.low)
        low = math.log2(common["value"]) - math.floor(above * knob.step + 1e-9) / knob.step
        return _LOG_SLIDER(
            base=2,
            min=low,
            max=math.log2(knob.high),
            step=1 / knob.step,
            readout_format=".1f",
            **common,
        )
    if knob.whole:
        return _INT_SLIDER(min=knob.low, max=knob.high, step=knob.step, **common)
    decimals = len(f"{knob.step:g}".partition(".")[2])
    return _FLOAT_SLIDER(min=knob.low, max=knob.high, step=knob.step, readout_format=f".{decimals}f", **common)
