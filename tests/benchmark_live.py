"""How soon a key sounds, and how many voices a page can bear; beside the same voices made of oscillator nodes.

Run as ``python tests/benchmark_live.py`` with nothing else at work. A key is timed from the browser's time stamp on
the event to the moment at which its first sample leaves, as the browser maps the audio clock to its own; the browser's
latency of output is in that, and is given beside it.
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path
from typing import Any

import numpy as np
from browser import running_browser, running_lab
from keys_page import keys_page
from offline import offline

from tunelib.live import keys, program
from tunelib.score import Score, ScoreNote
from tunelib.sound import SAMPLE_RATE, Timbre, mixture

VOICES, PARTIALS = 60, 16
TIMBRE: Timbre = mixture([1 / n for n in range(1, PARTIALS + 1)])
PRESSES, OPENINGS, CHORDS, SECONDS = 100, 10, 30, 10

_WATCH = """
window.ways = [];
const pressing = player.press;
player.press = (owner, id, ...more) => {
  const way = {stamp: event.timeStamp, called: performance.now()};
  ways.push(way);
  player.began.set(id, seconds => { way.seconds = seconds + 128 / player.context.sampleRate; });  // the limiter's block
  pressing.call(player, owner, id, ...more);
};
// Each way from a key, in milliseconds: to the player's call, to the first sample out; and the browser's own latency.
window.told = () => {
  const {contextTime, performanceTime} = player.context.getOutputTimestamp();
  return ways.filter(way => way.seconds !== undefined).map(({stamp, called, seconds}) => [
    called - stamp, performanceTime + 1000 * (seconds - contextTime) - stamp, 1000 * player.context.outputLatency,
  ]);
};
void 0;
"""
_READ = """
window.waits = [];
const player = globalThis[Symbol.for('tunelib.player')], pressing = player.press;
player.press = (...all) => { window.stamp = event.timeStamp; pressing.apply(player, all); };
const chord = document.querySelector('.tunelib-chord');
new MutationObserver(() => {
  if (chord.textContent.includes('complete')) { waits.push(performance.now() - stamp); }
}).observe(chord, {childList: true});
void 0;
"""
_HOLD = """async ([hertz, seconds]) => {
  const tone = {numbers: [], hertz: [], amplitudes: [], phases: [], dampings: [], factors: new Float64Array(),
    bends: new Float64Array(), attack: 0.01, release: 0.015, rate: 200};
  await player.wake();
  const owner = {};
  hertz.forEach(f => {
    const numbers = Float64Array.from({length: PARTIALS}, (_, k) => k + 1);
    player.press(owner, player.newId(), {...tone, numbers, hertz: numbers.map(n => n * f),
      amplitudes: numbers.map(n => 0.1 / n), phases: numbers.map(n => n * n), dampings: numbers.map(() => 0)});
  });
  await new Promise(resolve => setTimeout(resolve, 1000));
  const {context} = player, stats = () => context.playbackStats ?? context.playoutStats;
  const began = [context.currentTime, performance.now(), stats()?.underrunEvents ?? stats()?.fallbackFramesEvents];
  await new Promise(resolve => setTimeout(resolve, 1000 * seconds));
  const ended = [context.currentTime, performance.now(), stats()?.underrunEvents ?? stats()?.fallbackFramesEvents];
  player.releaseAll(owner);
  return {lag: (ended[1] - began[1]) - 1000 * (ended[0] - began[0]), underruns: ended[2] - began[2]};
}"""
_OSCILLATORS = """async ([hertz, seconds]) => {
  const context = new OfflineAudioContext(1, RATE * seconds, RATE);
  for (const f of hertz) {
    for (let n = 1; n <= PARTIALS; n++) {
      const gain = new GainNode(context, {gain: 0.01 / n});
      const oscillator = new OscillatorNode(context, {frequency: n * f});
      oscillator.connect(gain).connect(context.destination);
      oscillator.start();
    }
  }
  const began = performance.now();
  await context.startRendering();
  return (performance.now() - began) / 1000;
}"""


def spread(what: str, values: list[float]) -> str:
    ordered = sorted(values)
    return f"{what}: median {statistics.median(ordered):.1f} ms, worst {ordered[-1]:.1f} ms of {len(ordered)}"


def key_ways(browser: Any) -> list[list[float]]:
    """Ways of keys on a page that has sounded already."""
    with keys_page(browser, keys(31)) as page:
        page.evaluate(_WATCH)
        page.locator(".tunelib-key").first.focus()
        for i in range(PRESSES + 1):
            page.keyboard.down("asdfgt"[i % 6])
            time.sleep(0.03)
            page.keyboard.up("asdfgt"[i % 6])
            time.sleep(0.03)
        return page.evaluate("told()")[1:]


def first_way(browser: Any) -> list[float]:
    """The way of the first key on a fresh page."""
    with keys_page(browser, keys(31)) as page:
        page.evaluate(_WATCH)
        page.locator(".tunelib-key").first.focus()
        page.keyboard.down("a")
        time.sleep(0.6)
        return page.evaluate("told()")[0]


def python_ways(browser: Any) -> list[float]:
    """From the last key of a chord to what Python reads it as, on the page, in JupyterLab."""
    with running_lab(Path(__file__).parent.parent / "lessons", browser) as lab:
        page = lab.open_cells("keys.ipynb", ["from tunelib.live import keys", "keys(31)"]).page
        page.evaluate(_READ)
        page.locator(".tunelib-key").first.focus()
        for _ in range(CHORDS):
            for letter in "adt":
                page.keyboard.down(letter)
            page.wait_for_timeout(300)
            for letter in "adt":
                page.keyboard.up(letter)
            page.wait_for_timeout(200)
        return page.evaluate("waits")


def main() -> None:
    hertz = np.geomspace(110, 880, VOICES).tolist()
    with running_browser() as browser:
        ways = key_ways(browser)
        firsts = [first_way(browser) for _ in range(OPENINGS)]
        print(spread("key to the player's call", [way[0] for way in ways]))
        print(spread("key to the first sample out", [way[1] for way in ways]))
        print(spread("  of which the browser's output latency", [way[2] for way in ways]))
        print(spread("  and beyond it", [way[1] - way[2] for way in ways]))
        print(spread("first key of a page to the first sample out", [way[1] for way in firsts]))
        print(spread("last key of a chord to what Python reads it as, in JupyterLab", python_ways(browser)))
        with keys_page(browser, keys(31)) as page:
            held = page.evaluate(_HOLD.replace("PARTIALS", str(PARTIALS)), [hertz, SECONDS])
            said = "not told by this browser" if held["underruns"] is None else held["underruns"]
            print(f"{VOICES} voices of {PARTIALS} partials held for {SECONDS} s: underruns {said}")
            print(f"  and the audio clock fell {held['lag']:.1f} ms behind")
            rated = _OSCILLATORS.replace("PARTIALS", str(PARTIALS)).replace("RATE", str(SAMPLE_RATE))
            theirs = page.evaluate(rated, [hertz, SECONDS])
        with offline(browser) as play:
            score = Score(tuple(ScoreNote(0, SECONDS, f, level=0.1) for f in hertz), tempo=60)
            _, ours = play(program(score, TIMBRE), SECONDS * SAMPLE_RATE, timed=True)
    for what, took in ((f"{SECONDS} s of them take", ours), ("  and with an oscillator node for each partial", theirs)):
        print(f"{what} {took:.2f} s of one core ({100 * took / SECONDS:.0f} %)")


if __name__ == "__main__":
    main()
