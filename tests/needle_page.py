"""The needle on a page without a server, with a stand-in for the widget's model.

``with hearing_browser() as browser, needle_page(browser, needle(31)) as page`` opens it; `listening` has it hear a
sound, and gives what it showed. On the page ``model`` is the stand-in.

The sound is put in where the browser's samples would come from, in the audio clock of whoever hears them: on its way
from Chromium's fake microphone a busy machine loses some. `put_in` is for what is to be tried with that microphone.
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
from browser import PATIENCE_MS, running_browser

import tunelib
from tunelib.live import script
from tunelib.live.needle import Needle

LIVE = Path(tunelib.__file__).parent / "live"
RATE = 48000

_WATCH = """
(() => {
  const microphone = globalThis[Symbol.for("tunelib.microphone")], listen = microphone.listen;
  const meter = document.querySelector(".tunelib-needle [role=meter]");
  window.watched = {onBegan() {}};
  watched.anew = () => {
    Object.assign(watched, {shown: [], said: [], clock: [], costs: [], began: undefined, newest: NaN});
  };
  watched.anew();
  AudioContext.prototype.createMediaStreamSource = function () {
    // With silence behind it: a source that has ended gives nothing at all, and a microphone goes on.
    const buffer = new AudioBuffer({length: watched.sound.length + 60 * RATE, sampleRate: RATE});
    buffer.copyToChannel(watched.sound, 0);
    const source = new AudioBufferSourceNode(this, {buffer});
    source.start();
    return source;
  };
  document.addEventListener("tunelib-needle", ({detail: {cents, swing, sounds, newest}}) => {
    if (newest !== watched.newest) { return; }  // it has not heard anything yet
    watched.shown.push([newest, Number.isNaN(cents) ? null : cents, swing, sounds, performance.now() / 1000]);
    watched.said.push(meter.ariaValueText);
  });
  microphone.listen = (owner, onBlock) => listen.call(microphone, owner, (samples, end) => {
    const {context} = microphone.used, loud = samples.findIndex(sample => Math.abs(sample) > 1e-3);
    const now = performance.now();
    watched.clock.push(now / 1000 - context.currentTime);
    if (loud >= 0 && watched.began === undefined) {
      watched.began = end - (samples.length - loud) / context.sampleRate;
      watched.onBegan();
    }
    onBlock(samples, end);
    watched.newest = end;
    watched.costs.push(performance.now() - now);
  });
})()
""".replace("RATE", str(RATE))
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
def hearing_browser(path: Path | None = None) -> Iterator[Any]:
    """A browser with a microphone; it hears what is in a WAV file, if there is one, once, and then silence."""
    file = () if path is None else (f"--use-file-for-fake-audio-capture={path}%noloop",)
    with running_browser("--use-fake-device-for-media-stream", *file) as browser:
        yield browser


class Shown(NamedTuple):
    """What a needle showed while it listened, picture by picture.

    `seconds` are moments of the sound: how much of it the needle had heard when the picture was drawn. `cents` are
    above step 0 of the tuning, NaN for nothing; `swing` is how far to either side they go, and `sounds` whether there
    was a pitch just then. `drawn` is how far the sound had got at the microphone by then, and `said` what the needle
    told in words. `costs` are the milliseconds of all that was done with a block of samples.
    """

    seconds: np.ndarray
    cents: np.ndarray
    swing: np.ndarray
    sounds: np.ndarray
    drawn: np.ndarray
    said: np.ndarray
    costs: np.ndarray

    def between(self, start: float, end: float) -> Shown:
        """The pictures of a stretch of the sound."""
        kept = (self.seconds >= start) & (self.seconds < end)
        return Shown(*(values[kept] for values in self[:6]), self.costs)


def put_in(path: Path, sound: np.ndarray) -> None:
    """Have the microphone hear samples at 48 kHz whenever it is opened anew.

    Silence goes behind them: at the end of a file Chromium repeats the last hundredth of a second for ever.
    """
    soundfile.write(path, np.concatenate((sound, np.zeros(3 * RATE))), RATE, subtype="PCM_16")


def watch(page: Any, sound: np.ndarray) -> None:
    """Have the only needle on a page hear samples at 48 kHz when it listens next; what comes of it is in `watched`."""
    if not page.evaluate("() => globalThis.watched !== undefined"):
        page.evaluate(_WATCH)
    text = base64.b64encode(np.asarray(sound, dtype="<f4").tobytes()).decode()
    page.evaluate(
        "text => { watched.anew();"
        " watched.sound = new Float32Array(Uint8Array.from(atob(text), c => c.charCodeAt(0)).buffer); }",
        text,
    )


def wait_for_shown(page: Any, seconds: float) -> None:
    """Wait until the needle has shown what it heard so many seconds after the sound began."""
    page.wait_for_function("seconds => watched.shown.at(-1)?.[0] - watched.began >= seconds", arg=seconds)


def listening(page: Any, sound: np.ndarray, do: Callable[[], None] | None = None, at: float | None = None) -> Shown:
    """What the only needle on a page shows of a sound that begins loud, after a quarter of a second of silence.

    `do` is called when so many seconds of the sound have been shown, or all of it, before the needle is told to stop.
    """
    watch(page, np.concatenate((np.zeros(RATE // 4), sound)))
    page.get_by_role("button", name="Listen", exact=True).click()
    end = sound.size / RATE + 0.3
    if do:
        wait_for_shown(page, end if at is None else at)
        do()
    wait_for_shown(page, end)
    page.get_by_role("button", name="Stop", exact=True).click()
    seen = page.evaluate("() => watched")
    rows = np.array(seen["shown"], dtype=float).reshape(-1, 5)
    rows[:, 0] -= seen["began"]
    rows[:, 4] -= min(seen["clock"]) + seen["began"]
    return Shown(*rows.T, np.array(seen["said"]), np.array(seen["costs"]))


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
        opened.set_default_timeout(PATIENCE_MS)
        page = opened.new_page()
        page.goto(path.as_uri())
        page.wait_for_function("() => window.shut !== undefined && player.context !== undefined")
        yield page
        opened.close()
