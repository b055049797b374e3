"""Sound under the hand in a real browser: at once, going on while knobs move, and one at a time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from browser import Lab, Page

CELLS = ["from tunelib.show import panel", 'panel("beats")', 'panel("small_difference")']

# What is played, looked at where it is made: the player of the page, and what the processor tells it.
_EAR = """
window.ear = {
  player: globalThis[Symbol.for('tunelib.player')], heard: [], started: [],
  listen() {
    const {port} = this.player.node, told = port.onmessage;
    this.analyser = new AnalyserNode(this.player.context, {fftSize: 16384, smoothingTimeConstant: 0});
    this.player.node.connect(this.analyser);
    port.onmessage = event => {
      if (event.data.position !== undefined) { this.heard.push(event.data.position); }
      told(event);
    };
  },
  // The strongest frequency of what is heard now, in hertz, to some three of them.
  strongest() {
    const levels = new Float32Array(this.analyser.frequencyBinCount);
    this.analyser.getFloatFrequencyData(levels);
    return levels.indexOf(Math.max(...levels)) * this.player.context.sampleRate / this.analyser.fftSize;
  },
  level() {
    const samples = new Float32Array(this.analyser.fftSize);
    this.analyser.getFloatTimeDomainData(samples);
    return Math.sqrt(samples.reduce((sum, sample) => sum + sample * sample, 0) / samples.length);
  },
};
ear.player.ready.then(() => ear.listen());
"""


@pytest.fixture(scope="module")
def live(lab: Lab) -> Iterator[Page]:
    page = lab.open_cells("live.ipynb", CELLS)
    page.page.evaluate(_EAR)
    yield page
    page.close()


def row(page: Page, panel: int) -> Any:
    return page.page.locator(".tunelib-sounding").nth(panel)


@contextmanager
def holding(page: Page, *panels: int) -> Iterator[None]:
    """Have what these panels sound go on until it is stopped, however long the page is kept from doing so."""
    for panel in panels:
        row(page, panel).get_by_label("Hold").check()
    yield
    for panel in panels:
        row(page, panel).get_by_label("Hold").uncheck()


def playing(page: Page) -> bool:
    return bool(page.tool("ear.player.owner !== undefined"))


def wait_for_sound(page: Page) -> None:
    page.page.wait_for_function("() => ear.level() > 1e-3")


def wait_for_silence(page: Page) -> None:
    page.page.wait_for_function("() => ear.level() === 0")


def test_nothing_sounds_by_itself_and_a_press_is_enough(live: Page) -> None:
    live.tool("ear.player.ready")
    assert not playing(live) and live.tool("ear.level()") == 0
    row(live, 0).get_by_text("Hear it").click()
    wait_for_sound(live)
    wait_for_silence(live)
    row(live, 0).get_by_text("Hear it").wait_for()


def test_what_sounds_is_stopped(live: Page) -> None:
    with holding(live, 0):
        row(live, 0).get_by_text("Hear it").click()
        wait_for_sound(live)
        row(live, 0).get_by_text("Stop").click()
        wait_for_silence(live)
        assert row(live, 0).get_by_text("Hear it").is_visible()


def test_audio_is_started_when_a_hand_comes_near_and_nothing_sounds(live: Page) -> None:
    live.page.mouse.move(0, 0)
    live.tool("ear.player.context.suspend()")
    row(live, 0).get_by_text("Hear it").hover()
    live.page.wait_for_function("() => ear.player.context.state === 'running'")
    assert not playing(live) and live.tool("ear.level()") == 0


def test_a_sound_goes_on_from_where_it_is_while_a_knob_moves(live: Page) -> None:
    """The position never goes back, the pitch is that of the knob, and nothing is interrupted."""
    live.tool("ear.heard.length = 0")
    with holding(live, 0):
        row(live, 0).get_by_text("Hear it").click()
        slider = live.page.locator(".tunelib-panel").first.get_by_role("slider", name="Lower tone (Hz)")
        slider.focus()
        wait_for_sound(live)
        for _ in range(12):  # an octave up, a semitone at a time: the beats exhibit begins on A4
            live.page.keyboard.press("ArrowRight")
        live.page.wait_for_function("() => Math.abs(ear.strongest() - 881) < 5")
        assert playing(live)
        heard = live.tool("ear.heard")
        assert len(heard) > 1 and heard == sorted(heard), "the sound began again"
        row(live, 0).get_by_text("Stop").click()
        wait_for_silence(live)


def test_one_panel_sounds_at_a_time(live: Page) -> None:
    with holding(live, 0, 1):
        row(live, 0).get_by_text("Hear it").click()
        wait_for_sound(live)
        row(live, 1).get_by_text("Hear it").click()
        row(live, 1).get_by_text("Stop").wait_for()
        assert row(live, 0).get_by_text("Hear it").is_visible()
        row(live, 1).get_by_text("Stop").click()
        wait_for_silence(live)


def test_what_is_held_goes_on_until_it_is_let_go(live: Page) -> None:
    hold = row(live, 0).get_by_label("Hold")
    hold.check()
    row(live, 0).get_by_text("Hear it").click()
    live.page.wait_for_function("() => ear.heard.at(-1) > 4.6")  # the exhibit itself takes 4 s
    assert live.tool("ear.level()") > 1e-4
    hold.uncheck()
    wait_for_silence(live)
    row(live, 0).get_by_text("Hear it").wait_for()


def test_the_volume_is_one_for_all_and_is_remembered(live: Page) -> None:
    sliders = live.page.locator(".tunelib-volume-slider")
    sliders.first.focus()
    live.page.keyboard.press("ArrowLeft")
    assert {slider.input_value() for slider in sliders.all()} == {"55"}
    assert live.page.evaluate("localStorage.getItem('tunelib.volume')") == "0.55"
    live.page.keyboard.press("ArrowRight")


def test_a_panel_that_is_made_anew_falls_silent(live: Page) -> None:
    """Its cell is run again while it sounds: nothing is left that nobody could stop."""
    row(live, 0).get_by_label("Hold").check()
    row(live, 0).get_by_text("Hear it").click()
    wait_for_sound(live)
    live.run_all()
    wait_for_silence(live)
    assert not playing(live)
    assert live.page.locator(".tunelib-volume-slider").count() == 2
    live.page.wait_for_function("() => ear.player.volumeListeners.size === 2")  # the old ones listen no longer


def test_sound_goes_on_without_a_kernel(live: Page) -> None:
    """With the kernel gone, what was given last is heard, held, and stopped."""
    live.tool("window.jupyterapp.serviceManager.sessions.shutdownAll()")
    with holding(live, 1):
        row(live, 1).get_by_text("Hear it").click()
        wait_for_sound(live)
        row(live, 1).get_by_text("Stop").click()
        wait_for_silence(live)


def test_a_panel_sounds_in_notebook_7(lab: Lab) -> None:
    page = lab.open_classic("in_notebook.ipynb", CELLS[:2])
    page.page.evaluate(_EAR)
    row(page, 0).get_by_text("Hear it").click()
    wait_for_sound(page)
    page.close()
