"""The needle on a page without a server, before Chromium's fake microphone, with a stand-in for the widget's model.

``with hearing_browser(path) as browser, needle_page(browser, needle(31)) as page`` opens it; `listening` has it hear a
sound, and gives what it showed. On the page ``model`` is the stand-in.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

import numpy as np
import soundfile
from browser import running_browser

import tunelib
from tunelib.live import script
from tunelib.live.needle import Needle

LIVE = Path(tunelib.__file__).parent / "live"
RATE = 48000

_WATCH = """
(() => {
  const microphone = globalThis[Symbol.for("tunelib.microphone")], listen = microphone.listen;
  window.watched = {shown: [], clock: [], costs: [], began: undefined};
  document.addEventListener("tunelib-needle", ({detail: {cents, swing, sounds}}) => {
    watched.shown.push([performance.now() / 1000, Number.isNaN(cents) ? null : cents, swing, sounds]);
  });
  microphone.listen = (owner, onBlock) => listen.call(microphone, owner, (samples, end) => {
    const {context} = microphone.used, loud = samples.findIndex(sample => Math.abs(sample) > 1e-3);
    const now = performance.now();
    watched.clock.push(now / 1000 - context.currentTime);
    if (loud >= 0) { watched.began ??= end - (samples.length - loud) / context.sampleRate; }
    onBlock(samples, end);
    watched.costs.push(performance.now() - now);
  });
})()
"""
_PAGE = """<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="light dark"><style>STYLE</style><body><div id="needle"></div>
<script type="module">
SCRIPT
const state = STATE, listeners = {};
state.tones = Uint8Array.from(atob(state.tones), c => c.charCodeAt(0));
window.model = {
  attempts: [],
  get: name => state[name],
  set(name, value) {
    state[name] = value;
    (listeners[`change:${name}`] ?? []).forEach(listener => listener());
  },
  save_changes() {},
  on(name, listener) { (listeners[name] ??= []).push(listener); },
  off(name, listener) { listeners[name] = (listeners[name] ?? []).filter(other => other !== listener); },
  send(message, _callbacks, buffers) {
    const [seconds, hertz] = buffers.map(buffer => [...new Float64Array(buffer)]);
    model.attempts.push({target: message.attempt, seconds, hertz: hertz.map(one => Number.isNaN(one) ? null : one)});
  },
};
Object.assign(window, {player: thePlayer(), microphone: theMicrophone()});
window.shut = renderNeedle({model, el: document.getElementById("needle")});
</script>"""


@contextmanager
def hearing_browser(path: Path) -> Iterator[Any]:
    """A browser whose microphone hears what is in a WAV file, once, and then silence."""
    with running_browser(
        "--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={path}%noloop"
    ) as browser:
        yield browser


class Shown(NamedTuple):
    """What a needle showed while it listened, picture by picture.

    `seconds` are moments of the sound: a picture that was drawn as the sound had reached this moment at the microphone.
    `cents` are above step 0 of the tuning, NaN for nothing; `swing` is how far to either side they go, and `sounds`
    whether there was a pitch just then. `costs` are the milliseconds of all that was done with a block of samples.
    """

    seconds: np.ndarray
    cents: np.ndarray
    swing: np.ndarray
    sounds: np.ndarray
    costs: np.ndarray

    def between(self, start: float, end: float) -> Shown:
        """The pictures of a stretch of the sound."""
        kept = (self.seconds >= start) & (self.seconds < end)
        return Shown(*(values[kept] for values in self[:4]), self.costs)


def put_in(path: Path, sound: np.ndarray) -> None:
    """Have the microphone hear samples at 48 kHz whenever it is opened anew.

    Silence goes behind them: at the end of a file Chromium repeats the last hundredth of a second for ever.
    """
    soundfile.write(path, np.concatenate((sound, np.zeros(3 * RATE))), RATE, subtype="PCM_16")


def listening(page: Any, path: Path, sound: np.ndarray, before_end: Callable[[], None] | None = None) -> Shown:
    """What the only needle on a page shows of a sound that begins loud, after a quarter of a second of silence.

    `before_end` is called before the needle is told to stop.
    """
    put_in(path, np.concatenate((np.zeros(RATE // 4), sound)))
    if not page.evaluate("() => globalThis.watched !== undefined"):
        page.evaluate(_WATCH)
    page.evaluate("() => { Object.assign(watched, {shown: [], clock: [], costs: [], began: undefined}); }")
    page.get_by_role("button", name="Listen", exact=True).click()
    page.wait_for_function("() => watched.began !== undefined")
    page.wait_for_timeout(1000 * sound.size / RATE + 300)
    if before_end:
        before_end()
    page.get_by_role("button", name="Stop", exact=True).click()
    seen = page.evaluate("() => watched")
    rows = np.array(seen["shown"], dtype=float).reshape(-1, 4)
    rows[:, 0] -= min(seen["clock"]) + seen["began"]
    return Shown(*rows.T, np.array(seen["costs"]))


@contextmanager
def needle_page(browser: Any, widget: Needle, **context: Any) -> Iterator[Any]:
    """A page with this needle, opened from a file; `context` is what Playwright makes its context of."""
    state = widget.page_state | {"tones": base64.b64encode(widget.tones).decode()}
    text = _PAGE.replace("STYLE", (LIVE / "live.css").read_text("utf-8"))
    text = text.replace("SCRIPT", script(LIVE / "needle.js")).replace("STATE", json.dumps(state).replace("</", "<\\/"))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "needle.html"
        path.write_text(text, encoding="utf-8")
        opened = browser.new_context(permissions=["microphone"], **context)
        page = opened.new_page()
        page.goto(path.as_uri())
        page.wait_for_function("() => window.shut !== undefined && player.context !== undefined")
        yield page
        opened.close()
