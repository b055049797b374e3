"""How soon a take is recorded and handed over, and what that takes; beside a plain upload and a browser's own recorder.

Run as ``python tests/benchmark_microphone.py`` with nothing else at work. The browser hears a file in place of a
microphone. Measured are the way from the press of Record to the first sample that is kept, from the press of Stop to
the take in Python, ten minutes in memory on both sides, files of several sizes by our chooser and by
`ipywidgets.FileUpload`, and the pitch of the same notes as samples and as the browser's MediaRecorder codes them.
"""

from __future__ import annotations

import base64
import statistics
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil
from browser import Lab, Page, running_browser, running_lab

from tunelib.hearing import Recording, hear_recording
from tunelib.pitch import cents, equal
from tunelib.score import sequence
from tunelib.sound import SAMPLE_RATE, TIMBRES, open_recording, read_audio, render, wav_bytes

STEPS, NOTE_SECONDS = (0, 5, 10, 13, 18, 23, 28, 31), 0.8
PRESSES, MINUTES = 20, 10
MEGABYTES = (1, 9, 12, 100)
PATIENCE_MS = 40_000
CELL = """
import itertools, pathlib
count = itertools.count()
import ipywidgets
from tunelib.live import Recorder
recorder, plain, said = Recorder(), ipywidgets.FileUpload(), ipywidgets.Label("nothing")
def took(take):
    if take.recorded and not pathlib.Path("ours.wav").exists():
        take.save("ours.wav")
    recorder.unsaved, said.value = False, f"{len(take.data)} bytes, message {next(count)}"
recorder.on_take(took)
size = lambda: sum(one["size"] for one in plain.value)
plain.observe(lambda _: setattr(said, "value", f"{size()} bytes, message {next(count)}"), "value")
ipywidgets.VBox([recorder, plain, said])"""
_FIRST = """() => new Promise(resolve => {
  const microphone = globalThis[Symbol.for('tunelib.microphone')], button = document.querySelector('.tunelib-record');
  const began = performance.now();
  microphone.heard = data => {
    delete microphone.heard;
    microphone.heard(data);
    resolve(performance.now() - began - 1000 * data.samples.length / microphone.used.context.sampleRate);
  };
  button.click();
})"""
_LONG = """async ([minutes]) => {
  const microphone = globalThis[Symbol.for('tunelib.microphone')], {sampleRate} = microphone.used.context;
  for (let second = 0; second < 60 * minutes; second++) {
    for (let at = 0; at < sampleRate; at += 512) {
      microphone.heard({samples: Float32Array.from({length: 512}, () => Math.random() / 10), end: 0});
    }
    if (second % 5 === 0) { await new Promise(resolve => setTimeout(resolve)); }
  }
}"""
_CODED = """async ([seconds]) => {
  const audio = {echoCancellation: false, noiseSuppression: false, autoGainControl: false};
  const stream = await navigator.mediaDevices.getUserMedia({audio}), parts = [], recorder = new MediaRecorder(stream);
  recorder.ondataavailable = ({data}) => parts.push(data);
  recorder.start();
  await new Promise(resolve => setTimeout(resolve, 1000 * seconds));
  await new Promise(resolve => { recorder.onstop = resolve; recorder.stop(); });
  stream.getTracks().forEach(track => track.stop());
  const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
  return btoa(bytes.reduce((text, byte) => text + String.fromCharCode(byte), ''));
}"""


def wait_for(page: Page, words: str, most: int = PATIENCE_MS) -> float | None:
    """Seconds until Python says something; None if it does not."""
    began = time.perf_counter()
    try:
        page.page.locator(".widget-label", has_text=words).wait_for(timeout=most)
    except Exception as error:
        if "Timeout" not in str(error):
            raise
        return None
    return time.perf_counter() - began


def forget(page: Page) -> None:
    """Wipe what Python has said from the page."""
    page.page.locator(".widget-label").first.evaluate("label => { label.textContent = 'nothing'; }")


def kernel_megabytes(lab: Lab) -> float:
    """What the kernel holds in memory."""
    kernels = [
        one for one in psutil.Process().children(recursive=True) if "ipykernel_launcher" in " ".join(one.cmdline())
    ]
    return max(one.memory_info().rss for one in kernels) / 1e6


def page_megabytes(page: Page) -> float:
    session = page.page.context.new_cdp_session(page.page)
    session.send("HeapProfiler.collectGarbage")
    heap = session.send("Runtime.getHeapUsage")
    session.detach()
    return float(heap["usedSize"] + heap.get("backingStorageSize", 0)) / 1e6


def presses(page: Page) -> None:
    firsts, stops = [], []
    for _ in range(PRESSES):
        firsts.append(page.page.evaluate(_FIRST))
        page.page.wait_for_timeout(600)
        began = time.perf_counter()
        page.page.locator(".tunelib-record").click()
        wait_for(page, "bytes")
        stops.append(1000 * (time.perf_counter() - began))
        forget(page)
    for what, values in (("Record to the first sample kept", firsts), ("Stop to the take in Python", stops)):
        print(f"{what}: median {statistics.median(values):.0f} ms, longest {max(values):.0f} ms")


def long_take(lab: Lab, page: Page) -> None:
    before = kernel_megabytes(lab), page_megabytes(page)
    page.page.locator(".tunelib-record").click()
    page.page.get_by_text("● Recording 0:00").wait_for()
    page.page.evaluate(_LONG, [MINUTES])
    during = kernel_megabytes(lab), page_megabytes(page)
    began = time.perf_counter()
    page.page.locator(".tunelib-record").click()
    wait_for(page, "bytes")
    handed = time.perf_counter() - began
    forget(page)
    after = kernel_megabytes(lab), page_megabytes(page)
    print(f"{MINUTES} minutes at once, handed over {handed:.1f} s after Stop; MB more than before: kernel "
          f"{during[0] - before[0]:.0f}, then {after[0] - before[0]:.0f}; page {during[1] - before[1]:.0f}, then "
          f"{after[1] - before[1]:.0f}")  # fmt: skip


def files(page: Page, folder: Path) -> None:
    for megabytes in MEGABYTES:
        file = folder / f"{megabytes}.wav"
        file.write_bytes(bytes(megabytes * 1_000_000 + len(str(megabytes))))
        for what, button in (("ours", ".tunelib-choose"), ("FileUpload", ".widget-upload")):
            with page.page.expect_file_chooser() as chosen:
                page.page.locator(button).click()
            chosen.value.set_files(file)
            seconds = wait_for(page, f"{file.stat().st_size} bytes")
            print(f"{megabytes} MB by {what}: " + (f"{seconds:.2f} s" if seconds else "has not arrived"))
            forget(page)


def pitches(lab: Lab, page: Page) -> None:
    lasts = NOTE_SECONDS * len(STEPS) + 1
    coded = base64.b64decode(page.page.evaluate(_CODED, [lasts]))
    page.page.locator(".tunelib-record").click()
    page.page.get_by_text("● Recording 0:00").wait_for()
    page.page.wait_for_timeout(1000 * lasts)
    page.page.locator(".tunelib-record").click()
    wait_for(page, "bytes")
    forget(page)
    right = np.array([float(equal(31).hz(step)) for step in STEPS])
    for what, recording in (
        ("samples", Recording.of(*read_audio(lab.folder / "ours.wav"))),
        (f"MediaRecorder, {8 * len(coded) / lasts / 1000:.0f} kbit/s", open_recording(coded)),
    ):
        heard = np.array([note.hertz for note in hear_recording(recording).notes])
        off = np.abs(cents(heard / right)) if heard.size == right.size else np.array([np.nan])
        print(f"pitch from {what}: {heard.size} of {right.size} notes, median error {np.median(off):.2f} cents, "
              f"greatest {off.max():.2f}")  # fmt: skip


def main() -> None:
    notes = sequence([(float(equal(31).hz(step)), None) for step in STEPS], beats=NOTE_SECONDS)
    silence = np.zeros(SAMPLE_RATE // 2)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "heard.wav").write_bytes(
            wav_bytes(np.concatenate([silence, render(notes, TIMBRES["reed"]), *4 * [silence]]))
        )
        (folder / "notebooks").mkdir()
        flags = "--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={folder / 'heard.wav'}"
        with running_browser(*flags) as browser, running_lab(folder / "notebooks", browser) as lab:
            page = lab.open_cells("microphone.ipynb", [CELL])
            page.page.context.grant_permissions(["microphone"])
            pitches(lab, page)
            presses(page)
            long_take(lab, page)
            files(page, folder)


if __name__ == "__main__":
    main()
