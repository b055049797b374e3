"""The microphone and the recorder on a plain page: without a device, over plain http, with one that is lost or spoiled.

Where a device is needed, a tone that the page itself makes stands in for one; a stand-in for Python takes what is sent.
"""

from __future__ import annotations

import base64
import functools
import http.server
import json
import re
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import running_browser, why_not

import tunelib.live
from tunelib.live import Recorder, script

LIVE = Path(tunelib.live.__file__).parent
PLAIN = "plain.example"  # a name that leads to this machine, which a browser does not know to be this machine
TONE_HZ = 441.5
_PAGE = """<!doctype html><meta charset="utf-8"><link rel="icon" href="data:,"><style>STYLE</style>
<body><div id="here" style="max-width: 800px"></div><script type="module">
SCRIPT
const state = STATE, listeners = {};
for (const name of ["count_in", "drone"]) { state[name] = Uint8Array.from(atob(state[name]), c => c.charCodeAt(0)); }
const tell = (name, news) => (listeners[name] ?? []).forEach(listener => listener(news));
window.model = {
  parts: [], said: [], answers: true,
  get: name => state[name],
  set(name, value) {
    state[name] = value;
    tell(`change:${name}`);
  },
  on(names, listener) { names.split(" ").forEach(name => (listeners[name] ??= []).push(listener)); },
  save_changes() {},
  off(names, listener) { for (const name of names.split(" ")) {
    listeners[name] = listeners[name].filter(other => other !== listener);
  } },
  send(message, callbacks, buffers = []) {
    this.said.push(message);
    if (!this.answers) { return; }
    if ("part" in message) {
      this.parts.push({at: message.at, samples: [...new Float32Array(buffers[0])]});
      setTimeout(() => tell("msg:custom", {got: message.part, at: message.at}));
    }
    if ("end" in message) { setTimeout(() => tell("msg:custom", {whole: message.end})); }
  },
};
// A device of the page's own; `asked` is what was asked of it, and `settings` what it says of itself.
window.device = settings => {
  const context = new AudioContext({sampleRate: 48000}), end = context.createMediaStreamDestination();
  const tone = new OscillatorNode(context, {frequency: TONE}), level = new GainNode(context, {gain: 0.25});
  tone.connect(level).connect(end);
  tone.start();
  [window.track] = end.stream.getAudioTracks();
  track.getSettings = () => ({sampleRate: 48000, ...settings});
  navigator.mediaDevices.getUserMedia = async wishes => {
    window.asked = wishes;
    return end.stream;
  };
};
Object.assign(window, {microphone: theMicrophone(), microphoneTrouble});
window.end = renderRecorder({model, el: document.querySelector("#here")});
</script>"""

_LOUDER = """factor => {
  const plain = Object.getPrototypeOf(microphone).heard;
  microphone.heard = data => plain.call(microphone, {...data, samples: data.samples.map(sample => factor * sample)});
}"""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A browser on a machine without a microphone."""
    if why_not():
        pytest.skip(why_not())
    with running_browser(f"--host-resolver-rules=MAP {PLAIN} 127.0.0.1") as browser:
        yield browser


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """Where the page is served, on this machine alone."""
    folder = tmp_path_factory.mktemp("page")
    recorder = Recorder()
    state = {name: value for name, value in recorder.get_state().items() if isinstance(value, str | int | bool)}
    sounds = {name: base64.b64encode(getattr(recorder, name)).decode() for name in ("count_in", "drone")}
    page = _PAGE.replace("STATE", json.dumps(state | sounds)).replace("TONE", str(TONE_HZ))
    page = page.replace("STYLE", (LIVE / "recorder.css").read_text("utf-8"))
    (folder / "index.html").write_text(page.replace("SCRIPT", script(LIVE / "recorder.js")), encoding="utf-8")

    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *words: Any) -> None:
            """Say nothing."""

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=folder)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_port
        server.shutdown()


@pytest.fixture
def page(chromium: Any, port: int) -> Iterator[Any]:
    opened = chromium.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(str(error)))
    opened.goto(f"http://127.0.0.1:{port}/")
    yield opened
    opened.close()
    assert errors == []


def said(page: Any) -> str:
    return str(page.locator(".tunelib-recorder-words").inner_text())


def press(page: Any, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).click()


def taken(page: Any) -> np.ndarray[Any, Any]:
    """The samples that were sent, each part in its place."""
    parts = sorted(page.evaluate("model.parts"), key=lambda part: part["at"])
    sizes = [len(part["samples"]) for part in parts]
    assert [part["at"] for part in parts] == [4 * sum(sizes[:number]) for number in range(len(sizes))]
    return np.concatenate([part["samples"] for part in parts])


def record(page: Any) -> None:
    """Record until at least a second is said to be there."""
    press(page, "Record")
    page.get_by_text(re.compile(r"● Recording \d+:(?!00)\d\d")).wait_for()


def test_a_machine_without_a_microphone_is_told_to_get_one(page: Any) -> None:
    press(page, "Record")
    page.get_by_text("No microphone is connected to this computer.").wait_for()
    assert said(page).endswith("or record with a phone or a recorder and choose the file.")
    assert page.get_by_role("button", name="Record", exact=True).is_enabled()


def test_a_page_over_plain_http_says_that_it_is_one(chromium: Any, port: int) -> None:
    page = chromium.new_page()
    page.goto(f"http://{PLAIN}:{port}/")
    press(page, "Record")
    page.get_by_text("This page came over plain http, and there a browser gives nobody a microphone.").wait_for()
    assert "Open it over https, or from this computer itself (localhost)" in said(page)
    page.close()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("NotAllowedError", "The microphone is not allowed here."),
        ("SecurityError", "The microphone is not allowed here."),
        ("NotReadableError", "another program may have it"),
        ("AbortError", "another program may have it"),
        ("OddError", "The microphone cannot be opened (oddly)"),
    ],
)
def test_every_refusal_says_why_and_what_else_can_be_done(page: Any, name: str, words: str) -> None:
    """Where there is a file to choose, it says so; elsewhere, as at the needle, it does not."""
    for instead, end in (("or choose the file", "; or choose the file."), ("", ".")):
        told = page.evaluate(
            "([name, instead]) => microphoneTrouble(new DOMException('oddly', name), instead)", [name, instead]
        )
        assert words in told and told.endswith(end) and ("file" in told) == bool(instead)


def test_all_that_a_browser_does_to_speech_is_asked_to_be_off_and_samples_come_as_they_are(page: Any) -> None:
    page.evaluate("device({})")
    record(page)
    asked = page.evaluate("asked")["audio"]
    assert {name for name, wish in asked.items() if wish is False} == {
        "echoCancellation", "noiseSuppression", "autoGainControl", "voiceIsolation",
    }  # fmt: skip
    assert asked["channelCount"] == {"ideal": 1} and asked["sampleRate"] == {"ideal": 48_000}
    press(page, "Stop")
    page.wait_for_function("model.said.some(message => 'end' in message)")
    samples = taken(page)
    assert page.evaluate("model.said.at(-1).bytes") == 4 * samples.size and samples.size > 48_000
    steady = samples[4800:52_800]
    rising = np.flatnonzero((steady[:-1] < 0) & (steady[1:] >= 0))
    exact = rising - steady[rising] / (steady[rising + 1] - steady[rising])
    # Between two audio contexts of a page a few samples can be lost, which between a device and a page are not.
    assert 48_000 / np.median(np.diff(exact)) == pytest.approx(TONE_HZ, abs=0.01)
    assert np.abs(steady).max() == pytest.approx(0.25, abs=0.001)
    assert page.evaluate("track.readyState") == "ended"


def test_what_was_not_granted_is_said(page: Any) -> None:
    page.evaluate("device({echoCancellation: true, autoGainControl: true, sampleRate: 16000})")
    record(page)
    assert "did not switch off echo cancellation and automatic level control" in said(page)
    assert "only 16000 samples a second, as a headset does in a call: choose another" in said(page)


def test_a_device_that_is_unplugged_ends_the_take_and_keeps_what_there_is(page: Any) -> None:
    page.evaluate("device({})")
    record(page)
    page.evaluate("track.dispatchEvent(new Event('ended'))")
    page.wait_for_function("model.said.some(message => 'end' in message)")
    assert "The microphone is gone: it was unplugged" in said(page)
    assert "What was recorded until then is kept." in said(page)
    assert taken(page).size > 40_000


def test_the_device_is_open_only_while_somebody_listens(page: Any) -> None:
    """Two may, and each hears the same; the last to go lets it go, also one that goes before it is open."""
    page.evaluate("device({})")
    page.evaluate("""async () => {
      Object.assign(window, {owners: [{}, {}], heard: [[], []]});
      await Promise.all(owners.map(owner => microphone.open(owner)));
      owners.forEach((owner, n) => microphone.listen(owner, (samples, end) => heard[n].push(end)));
    }""")
    page.wait_for_function("heard[0].length >= 30")
    blocks, state = page.evaluate(
        "(() => { microphone.close(owners[0]); return [heard[1].length, track.readyState]; })()"
    )
    page.wait_for_function("blocks => heard[1].length >= blocks + 20", arg=blocks)
    assert (state, page.evaluate("track.readyState")) == ("live", "live")
    assert page.evaluate("(() => { microphone.close(owners[1]); return track.readyState; })()") == "ended"
    one, other = page.evaluate("heard")
    assert one == other[:blocks], "one was told what the other was not, or was told after it had gone"
    assert np.diff(other) == pytest.approx(512 / 48_000, abs=1e-6), "a block was lost"
    page.evaluate("device({})")
    page.evaluate("(async () => { const o = {}; const p = microphone.open(o); microphone.close(o); await p; })()")
    assert page.evaluate("track.readyState") == "ended"


def test_a_take_ends_by_itself_at_the_longest_that_is_taken(page: Any) -> None:
    page.evaluate("device({}); model.set('longest', 2)")
    press(page, "Record")
    page.wait_for_function("model.said.some(message => 'end' in message)")
    assert taken(page).size / 48_000 == pytest.approx(2, abs=0.05)
    assert page.get_by_role("button", name="Record", exact=True).is_visible()


@pytest.mark.parametrize(
    ("gain", "words"), [(0.005, "Very soft: come closer"), (0.25, "The level is right."), (3.9, "Too loud: move away")]
)
def test_the_level_is_shown_in_words_and_as_a_value(page: Any, gain: float, words: str) -> None:
    """The tone has a peak of a quarter of full scale at a gain of 1; the value is in decibels of full scale."""
    page.evaluate("device({})")
    page.evaluate(_LOUDER, 4 * gain)
    press(page, "Record")
    page.wait_for_function(
        """([words, decibels]) => {
          const meter = document.querySelector("[role=meter]"), value = meter.getAttribute("aria-valuenow");
          return meter.nextSibling.textContent.startsWith(words) && Math.abs(value - decibels) <= 1
            && meter.getAttribute("aria-valuetext") === `${value.replace("-", "−")} decibels of full scale`;
        }""",
        arg=[words, min(0, 20 * np.log10(gain))],
    )


def test_words_and_value_of_the_level_are_always_of_the_same_moment(page: Any) -> None:
    """Also after a while without pictures, as in a tab that is not seen, and when it is opened again"""
    told = page.evaluate(
        """() => {
          METER
          const meter = new LevelMeter(), told = [];
          const note = () => told.push([Number(meter.bar.getAttribute("aria-valuenow")), meter.words.textContent]);
          const hear = (peak, seconds) => {
            for (let block = 0; block < 100 * seconds; block++) { meter.hear(new Float32Array(480).fill(peak), 48000); }
            note();
          };
          note();
          hear(1, 0.01);
          meter.draw();
          note();
          hear(0.1, 60);
          meter.draw();
          note();
          meter.rest();
          note();
          return told;
        }""".replace("METER", script(LIVE / "recorder.js"))
    )
    loud, right, rest = (0, "Too loud: move away, or turn the input down."), (-20, "The level is right."), (-60, "")
    assert [tuple(pair) for pair in told] == [rest, rest, loud, loud, right, rest]


def test_a_python_that_says_nothing_is_noticed_and_nothing_is_lost(page: Any) -> None:
    page.evaluate("device({}); model.answers = false")
    record(page)
    press(page, "Stop")
    page.get_by_text("Python does not answer.").wait_for(timeout=60_000)
    page.evaluate("model.answers = true")
    page.wait_for_function("model.said.some(message => 'end' in message)", timeout=60_000)
    assert taken(page).size > 40_000


def test_what_comes_while_the_page_looks_for_a_part_is_handed_over_too(page: Any) -> None:
    """A take that is ended at that very moment would otherwise wait for ever for its last part"""
    page.evaluate(
        """() => {
          DELIVERY
          window.sent = [];
          const source = new SamplesToHand(8000);
          const model = {on() {}, off() {}, send(words, callbacks, buffers = []) {
            sent.push([words.at, buffers[0].byteLength]);
          }};
          const delivery = new Delivery(model, source, {name: "a take", rate: 8000}, () => {});  // there is nothing yet
          source.add(new Float32Array(100));
          source.end();
          delivery.goOn();
        }""".replace("DELIVERY", script(LIVE / "delivery.js"))
    )
    assert page.wait_for_function("sent.length && [...sent]").json_value() == [[0, 400]]
