"""The keys on a page without a server, with a stand-in for the widget's model that notes what it is told.

``with keys_page(browser, keys(31)) as page`` opens it. On the page ``model`` is the stand-in, ``heard()`` is what
sounds in hertz, ``pressed`` what has been begun, and ``midi(...)`` sends a message from a keyboard that is not there.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import tunelib
from tunelib.live import Keys, script

LIVE = Path(tunelib.__file__).parent / "live"

_PAGE = """<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="light dark"><style>STYLE</style><body><div id="keys"></div>
<button id="elsewhere">Elsewhere</button><script type="module">
SCRIPT
const state = STATE, listeners = {};
state.tones = Uint8Array.from(atob(state.tones), c => c.charCodeAt(0));
window.model = {
  sent: [], dead: false,
  get: name => state[name],
  set(name, value) {
    if (model.dead) { throw new Error("dead"); }
    state[name] = value;
    (listeners[`change:${name}`] ?? []).forEach(listener => listener());
  },
  save_changes() {},
  on(name, listener) { (listeners[name] ??= []).push(listener); },
  off(name, listener) { listeners[name] = (listeners[name] ?? []).filter(other => other !== listener); },
  send(message) {
    if (model.dead) { throw new Error("dead"); }
    model.sent.push(message);
  },
};
Object.assign(window, {KeyScale, chordWords, readProgram, player: thePlayer()});
window.sounding = new Map();  // hertz by the number of the voice
window.pressed = [];
const {press, bend, release} = player;
Object.assign(player, {
  press(owner, id, tone, level, ratio) {
    sounding.set(id, {of: tone.hertz[0], level, ratio});
    pressed.push(tone.hertz[0] * ratio);
    press.call(player, owner, id, tone, level, ratio);
  },
  bend(id, ratio) {
    sounding.get(id).ratio = ratio;
    bend.call(player, id, ratio);
  },
  release(id) {
    sounding.delete(id);
    release.call(player, id);
  },
});
window.heard = () => [...sounding.values()].map(({of, ratio}) => of * ratio).sort((a, b) => a - b);
window.input = {name: "A keyboard", onmidimessage: null};
navigator.requestMIDIAccess = async () => ({inputs: new Map([["one", input]]), onstatechange: null});
window.midi = (...data) => input.onmidimessage({data: new Uint8Array(data)});
window.shut = renderKeys({model, el: document.getElementById("keys")});
</script>"""


@contextmanager
def keys_page(browser: Any, board: Keys, **context: Any) -> Iterator[Any]:
    """A page with these keys, opened from a file; `context` is what Playwright makes its context of."""
    state = board.page_state | {"tones": base64.b64encode(board.tones).decode()}
    text = _PAGE.replace("STYLE", (LIVE / "live.css").read_text("utf-8"))
    text = text.replace("SCRIPT", script(LIVE / "keys.js")).replace("STATE", json.dumps(state).replace("</", "<\\/"))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "keys.html"
        path.write_text(text, encoding="utf-8")
        opened = browser.new_context(**context)
        page = opened.new_page()
        page.goto(path.as_uri())
        page.wait_for_function("() => window.shut !== undefined && player.context !== undefined")
        yield page
        opened.close()
