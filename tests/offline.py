"""What the player in the page would play, rendered by a real browser faster than it sounds.

``with offline(browser) as play: samples = play(program, seconds)`` runs the worklet in an OfflineAudioContext.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, TypeAlias

import numpy as np

import tunelib
from tunelib.live import Tape, script
from tunelib.sound import SAMPLE_RATE

LATE = 128  # samples by which the limiter delays all sound, so that it can look ahead
LIVE = Path(tunelib.__file__).parent / "live"

Play: TypeAlias = Callable[..., np.ndarray[Any, Any]]

_TOOLS = """
window.bytesOf = text => Uint8Array.from(atob(text), c => c.charCodeAt(0));
const ANSWERING = "Player.prototype.answer = function () { this.port.postMessage('answer'); };";
// Play a program for so many samples; `changes` are [seconds, what to say, ...words], where a program is in base 64.
window.offline = async (text, samples, options, changes, taped) => {
  const tapes = new Map(taped.map(([name, data]) => [name, new Int16Array(bytesOf(data).buffer)]));
  const context = new OfflineAudioContext(1, samples, RATE), module = encodeURIComponent(worklet + ANSWERING);
  await context.audioWorklet.addModule(`data:text/javascript;charset=utf-8,${module}`);
  const program = text && withTapes(readProgram(bytesOf(text)), tapes);
  const node = new AudioWorkletNode(context, 'tunelib-player', {
    numberOfInputs: 0, outputChannelCount: [1], processorOptions: {program, ...options},
  });
  node.connect(context.destination);
  const read = word => word?.program ? withTapes(readProgram(bytesOf(word.program)), tapes) : word?.tone ?
    readProgram(bytesOf(word.tone)).tones[0] : word;
  for (const [seconds, ...words] of changes) {
    context.suspend(seconds).then(async () => {
      const heard = new Promise(resolve => { node.port.onmessage = ({data}) => data === 'answer' && resolve(); });
      node.port.postMessage(words.map(read));
      node.port.postMessage(['answer']);  // what comes before it has been heard by then
      await heard;
      context.resume();
    });
  }
  const began = performance.now();
  const out = (await context.startRendering()).getChannelData(0);
  const bytes = new Uint8Array(out.buffer), parts = [];
  for (let i = 0; i < bytes.length; i += 32768) { parts.push(String.fromCharCode(...bytes.subarray(i, i + 32768))); }
  return [btoa(parts.join('')), (performance.now() - began) / 1000];
};
"""


def text(program: bytes) -> str:
    """Bytes as a page takes them."""
    return base64.b64encode(program).decode()


@contextmanager
def offline(browser: Any) -> Iterator[Play]:
    """A function that renders programs in a page of a browser: see `play` inside."""
    code = script(LIVE / "player.js") + _TOOLS.replace("RATE", str(SAMPLE_RATE))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        path.write_text(f"<!DOCTYPE html><meta charset=utf-8><title>.</title><script>{code}</script>")
        page = browser.new_page()
        page.goto(path.as_uri())

        def play(
            program: bytes,
            samples: int,
            changes: Sequence[Sequence[Any]] = (),
            timed: bool = False,
            tapes: Sequence[Tape] = (),
            **options: Any,
        ) -> Any:
            """The samples that leave the player, the limiter's delay taken off; with `timed`, and the seconds it took.

            `changes` are what the page says to the player and when, such as ``[0.5, "hold", True]``; a program in them
            is bytes, and a lone tone ``("tone", bytes)``. `tapes` are those that the programs have parts of.
            """
            said = [
                [word if not isinstance(word, (bytes, tuple)) else _packed(word) for word in one] for one in changes
            ]
            out, seconds = page.evaluate(
                "given => offline(...given)",
                [
                    text(program) if program else None,
                    samples + LATE,
                    options,
                    said,
                    [[tape.name, text(tape.data)] for tape in tapes],
                ],
            )
            heard = np.frombuffer(base64.b64decode(out), dtype="<f4").astype(float)[LATE:]
            return (heard, seconds) if timed else heard

        yield play
        page.close()


def head_of(program: bytes) -> Any:
    """What the JSON of a program says."""
    return json.loads(program[4 : 4 + int.from_bytes(program[:4], "little")])


def notes_of(program: bytes) -> list[dict[str, Any]]:
    """The notes of a program: what its JSON says of each, and the `hertz` of its first partial."""
    length, head = int.from_bytes(program[:4], "little"), head_of(program)
    values = np.frombuffer(program[-(-(4 + length) // 8) * 8 :], dtype="<f8")
    tones = [{"hertz": float(values[tone["at"] + tone["partials"]]), **tone} for tone in head["tones"]]
    return [{**note, "hertz": tones[note["tone"]]["hertz"]} for note in head["notes"]]


def _packed(word: Any) -> dict[str, str]:
    return {"program": text(word)} if isinstance(word, bytes) else {word[0]: text(word[1])}
