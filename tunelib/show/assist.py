"""What a screen reader is told, where the keyboard focus is, and whose a key is, where the widgets leave it out.

The notebook's sliders have no name and say their value as a bare position; its pictures and players have no name; and
what has the focus differs from the rest by a shade of colour; and a letter that is pressed on a button is a command to
the notebook. No trait of a widget reaches these places, so a panel brings one small style and one small script to the
page: a frame around what has the focus, names, values with their units, and a guard that keeps the panel's keys. Where
a page does not run them, all else works as before.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

import ipywidgets as widgets

from tunelib.live import GUARD, script
from tunelib.pitch import Note, drawn, sign_name

# The signs of notes in words, the longest first: ½♯ would be spoken as "one half music sharp".
_SIGNS = {
    drawn(str(Note("C", half_sharps, 4)))[1:-1]: sign_name(half_sharps) for half_sharps in (3, -3, 4, -4, 1, -1, 2, -2)
}

_SIGNED = re.compile(f"([A-G])({'|'.join(_SIGNS)})")

# The frame has the colour of the reader's text, so it stands out on a light page and on a dark one.
_FRAME = """<style>
[class*=tunelib-] :is(.noUi-handle, .widget-readout, button, select, input, textarea, audio):focus-visible,
[class*=tunelib-] [role=region]:focus-visible {
  outline: 3px solid var(--jp-ui-font-color0, currentcolor) !important;
  outline-offset: -3px !important; /* inside, since the boxes around cut off what stands out */
}
[class*=tunelib-] :is(.noUi-handle, input[type=checkbox]):focus-visible { outline-offset: 1px !important; }
[class*=tunelib-] .widget-readout[aria-hidden] { pointer-events: none; }
[class*=tunelib-] .noUi-handle:not(:focus, :hover) { border-color: var(--jp-ui-font-color2, gray) !important; }
</style>"""

# Sliders and players come onto the page after the script does, so it looks again whenever the panel gets a new part.
_SCRIPT = """<script>
(() => {
  "use strict";
  GUARD
  const {names, units, panels, signs} = GIVEN, home = document.currentScript;
  const signed = new RegExp(`([A-G])(${Object.keys(signs).join('|')})`, 'gu');
  const spell = (_, letter, sign) => `${letter} ${signs[sign]} `;
  const aloud = words => words.replace(signed, spell).replace(/ +(?= |$)/g, '');
  const set = (part, what, value) => { if (part.getAttribute(what) !== value) { part.setAttribute(what, value); } };
  const introduce = slider => {
    const [label, handle, readout] = ['label', '.noUi-handle', '.widget-readout'].map(s => slider.querySelector(s));
    if (!label || !handle || !readout || handle.hasAttribute('aria-label')) { return; }
    const name = label.textContent, unit = units[name] ? ` ${units[name]}` : '';
    const say = () => set(handle, 'aria-valuetext', aloud(readout.textContent + unit));
    handle.setAttribute('aria-label', aloud(name));
    if (units[name] === null) {
      readout.setAttribute('aria-hidden', 'true');
      readout.setAttribute('tabindex', '-1');
    } else {
      readout.setAttribute('role', 'textbox');
      readout.setAttribute('aria-label', `${name}, typed`);
    }
    say();
    new MutationObserver(say).observe(readout, {childList: true, characterData: true, subtree: true});
    new MutationObserver(say).observe(handle, {attributeFilter: ['aria-valuetext']});
  };
  const look = panel => {
    panel.querySelectorAll('.widget-slider').forEach(introduce);
    panel.querySelectorAll('option').forEach(option => {
      const words = aloud(option.textContent);
      if (words !== option.textContent) { set(option, 'aria-label', words); }
    });
    panel.querySelectorAll('button > i').forEach(icon => set(icon, 'aria-hidden', 'true'));
    for (const [selector, name] of Object.entries(names)) {
      panel.querySelectorAll(selector).forEach(part => set(part, 'aria-label', name));
    }
  };
  const begin = tries => {
    const panel = home.closest(panels);
    if (panel) {
      guard(panel);
      look(panel);
      new MutationObserver(() => look(panel)).observe(panel, {childList: true, subtree: true});
    } else if (tries > 0) {
      setTimeout(begin, 100, tries - 1);
    }
  };
  begin(100);
})();
</script>"""


def aloud(words: str) -> str:
    """Words with the signs of notes spelled out, as a screen reader should say them.

    >>> aloud("E½♭4 is above E♭4")
    'E half-flat 4 is above E flat 4'
    >>> aloud("B𝄫3")
    'B double flat 3'
    """
    return _SIGNED.sub(lambda found: f"{found[1]} {_SIGNS[found[2]]} ", drawn(words)).replace("  ", " ").rstrip()


def assistance(
    panel: str,
    names: Mapping[str, str] | None = None,
    units: Mapping[str, str | None] | None = None,
    style: str = "",
) -> widgets.Output:
    """An invisible part of a panel that brings the names, the frame and the guard to the page.

    Parameters
    ----------
    panel : str
        The panel's own class.
    names : mapping, optional
        What to call the parts of the panel, by CSS selector, such as ``{"img": "Picture: a wave"}``.
    units : mapping, optional
        The unit of a slider's value, by the slider's description; None for a value in words, which cannot be typed.
    style : str, optional
        A style sheet of the panel's own, which comes with them.
    """
    given = json.dumps({"names": dict(names or {}), "units": dict(units or {}), "panels": f".{panel}", "signs": _SIGNS})
    code = _SCRIPT.replace("GUARD", script(GUARD)).replace("GIVEN", given.replace("<", r"\u003c"))
    sent = {
        "output_type": "display_data",
        "data": {"text/html": f"{_FRAME}<style>{style}</style>{code}"},
        "metadata": {},
    }
    return widgets.Output(outputs=(sent,), layout={"display": "none"})
