"""The keys on a page opened from a file, with nobody behind it: fingers, letters, MIDI, and what sounds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from keys_page import keys_page
from offline import LIVE

from tunelib import equal, hz_from_midi
from tunelib.exhibits import STANDS_FOR, sign_outlines
from tunelib.live import LAYOUTS, harmonic_keys, keys, program, script
from tunelib.score import sequence
from tunelib.sound import TIMBRES

HZ = equal(31).hz


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    with keys_page(chromium, keys(31), viewport={"width": 1000, "height": 800}) as page:
        yield page


def heard(page: Any) -> Any:
    """What sounds, in hertz, rising."""
    return page.evaluate("heard()")


def held(page: Any) -> Any:
    return page.evaluate("model.get('held')")


def wait_held(page: Any, *steps: int) -> None:
    """Wait until these are held: the browser hands on what fingers do with its next picture."""
    page.wait_for_function("steps => String(model.get('held')) === String(steps)", arg=list(steps))


def middle(page: Any, name: str) -> dict[str, float]:
    """The middle of the key that says a name."""
    box = page.locator(f".tunelib-key[aria-label='{name}']").first.bounding_box()
    return {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}


def press(page: Any, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).click()


def use_midi(page: Any, way: str = "") -> None:
    page.locator("summary").click()
    press(page, "Use MIDI")
    page.get_by_text("Plays: A keyboard").wait_for()
    if way:
        page.get_by_label("MIDI plays").select_option(label=way)


def midi(page: Any, *messages: tuple[int, ...]) -> None:
    for message in messages:
        page.evaluate("message => midi(...message)", list(message))


def bent(channel: int, semitones: float, whole: float) -> tuple[int, int, int]:
    """The message that bends a channel, where the wheel's whole way is so many semitones."""
    value = round(8192 + 8192 * semitones / whole)
    return 0xE0 | channel, value & 0x7F, value >> 7


def test_intervals_are_called_by_the_ratios_that_players_know(page: Any) -> None:
    """Common practice for twelve; for 31 the ratios for which thirds, fifths and sevenths stand in the course."""
    twelve = ["16/15", "9/8", "6/5", "5/4", "4/3", "7/5", "3/2", "8/5", "5/3", "16/9", "15/8", "2/1", "32/15"]
    page.add_script_tag(content=script(LIVE / "key_names.js"))
    near = "cents => cents.map(size => nearRatio(model.get('ratios'), size).ratio)"
    assert page.evaluate(near, [100.0 * step for step in range(1, 14)]) == twelve
    steps = (5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 18, 19, 21, 23, 24, 25, 26, 27, 28, 31)
    assert page.evaluate(near, [1200 * step / 31 for step in steps]) == [STANDS_FOR[step] for step in steps]


def test_letters_sound_the_steps_of_the_tuning(page: Any) -> None:
    page.locator(".tunelib-key").first.focus()
    for letter in "adt":
        page.keyboard.down(letter)
    assert heard(page) == pytest.approx(HZ([0, 10, 18]), rel=1e-12)
    assert held(page) == [0, 10, 18]
    assert page.locator(".tunelib-chord").inner_text() == "C, near 4:5:6"
    assert page.locator(".tunelib-key[aria-pressed=true]").count() == page.evaluate(
        "model.get('board').keys.filter(place => [0, 10, 18].includes(place.step)).length"
    )
    for letter in "adt":
        page.keyboard.up(letter)
    assert heard(page) == [] and held(page) == []
    said = page.evaluate("model.sent")
    assert [message.get("step") for message in said] == [0, 10, 18, None, None, None]
    assert {message["id"] for message in said[:3]} == {message["id"] for message in said[3:]}


def test_several_fingers_play_and_slide(chromium: Any) -> None:
    with keys_page(chromium, keys(31), has_touch=True, viewport={"width": 800, "height": 800}) as page:
        touch = page.context.new_cdp_session(page)

        def fingers(kind: str, *points: dict[str, float]) -> None:
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

        first, second = middle(page, "C 4") | {"id": 0}, middle(page, "E 4") | {"id": 1}
        fingers("touchStart", first)
        fingers("touchStart", first, second)
        wait_held(page, 0, 10)
        fingers("touchMove", first, middle(page, "E half-flat 4") | {"id": 1})
        wait_held(page, 0, 9)
        assert heard(page) == pytest.approx(HZ([0, 9]))
        fingers("touchEnd")
        wait_held(page)


def test_the_latch_keeps_keys_down_and_lets_them_go(page: Any) -> None:
    press(page, "Latch")
    for name in ("C 4", "E 4"):
        page.mouse.click(**middle(page, name))
    assert held(page) == [0, 10]
    page.mouse.click(**middle(page, "C 4"))
    assert held(page) == [10]
    page.keyboard.press("Escape")
    assert held(page) == []
    page.mouse.click(**middle(page, "C 4"))
    press(page, "Latch")
    assert held(page) == []


def test_a_drone_sounds_on_under_other_notes(page: Any) -> None:
    page.locator("summary").click()
    press(page, "Drone")
    page.mouse.click(**middle(page, "C 4"))
    assert heard(page) == pytest.approx([HZ(0)])
    page.get_by_role("button", name="Drone C4").wait_for()
    page.mouse.click(**middle(page, "G 4"))
    assert held(page) == [0]
    page.get_by_role("button", name="Drone C4").click()
    assert heard(page) == []


def test_an_arpeggio_goes_round_through_what_is_held(page: Any) -> None:
    page.locator("summary").click()
    page.get_by_label("notes a minute").fill("600")
    page.get_by_label("notes a minute").press("Enter")
    page.get_by_label("Arpeggio").select_option("up and down")
    page.locator(".tunelib-key").first.focus()
    for letter in "adt":
        page.keyboard.down(letter)
    page.evaluate("pressed.length = 0")
    page.wait_for_function("() => pressed.length >= 8")
    assert len(heard(page)) == 1
    steps = [int(np.argmin(np.abs(HZ(np.arange(31)) - hertz))) for hertz in page.evaluate("pressed")]
    assert {steps[i : i + 4] == [10, 18, 10, 0] for i in range(4) if steps[i + 3] == 0} == {True}
    assert held(page) == [0, 10, 18]
    for letter in "adt":
        page.keyboard.up(letter)
    assert heard(page) == []
    page.evaluate("pressed.length = 0")
    page.wait_for_timeout(250)
    assert page.evaluate("pressed") == [], "it goes on with nothing to go round"


def test_octave_up_and_down_move_the_keys_within_bounds(page: Any) -> None:
    page.locator(".tunelib-key").first.focus()
    page.keyboard.press("PageDown")
    page.keyboard.down("a")
    assert heard(page) == pytest.approx([HZ(-31)])
    page.keyboard.up("a")
    for _ in range(6):
        page.keyboard.press("PageUp")
    page.keyboard.down("a")
    assert heard(page) == pytest.approx([HZ(62)])  # above which the highest key would not be heard well
    page.keyboard.up("a")


def test_letters_are_shown_on_the_keys_that_they_play(page: Any) -> None:
    press(page, "Letters")
    assert page.locator(".tunelib-key[aria-label='C 4']").first.inner_text() == "A"
    assert page.locator(".tunelib-key[aria-label='C 4']").first.get_attribute("aria-keyshortcuts") == "A"
    press(page, "Letters")
    assert page.locator(".tunelib-key[aria-label='C 4']").first.inner_text() == "C"


def test_what_is_lit_is_marked_and_said(page: Any) -> None:
    page.evaluate("model.set('lit', [0, 9])")
    assert page.locator(".tunelib-lit").count() >= 2
    assert page.locator(".tunelib-key[aria-label='E half-flat 4, lit']").count() >= 1


def test_of_a_scale_the_notes_beside_the_chord_are_marked_lightly(page: Any) -> None:
    page.evaluate("model.set('faint', [9]); model.set('lit', [0, 9])")
    assert page.locator(".tunelib-faint[aria-label='E half-flat 4, lit faintly']").count() >= 1
    assert page.locator(".tunelib-lit").first.get_attribute("aria-label") == "C 4, lit"


@pytest.mark.parametrize("over", [True, False])
def test_a_chord_goes_on_under_keys_that_play_over_it(chromium: Any, over: bool) -> None:
    """A panel's program sounds on while a key is down, if the keys were made to play over it; else it falls silent."""
    with keys_page(chromium, keys(31, over=over)) as page:
        page.evaluate(
            """async bytes => {
          window.panel = {};
          await player.ready;
          player.play(panel, {...readProgram(Uint8Array.from(bytes)), seconds: 30});
        }""",
            list(program(sequence([(220, None)]), TIMBRES["sine"])),
        )
        page.mouse.move(**middle(page, "C 4"))
        page.mouse.down()
        assert held(page) == [0]
        assert page.evaluate("player.sounds(panel)") is over


def test_a_midi_keyboard_plays_by_the_way_that_was_chosen(page: Any) -> None:
    use_midi(page)
    midi(page, (0x90, 60, 127), (0x90, 63, 64))
    assert heard(page) == pytest.approx(HZ([0, 8]))  # E♭
    assert page.evaluate("[...sounding.values()].map(v => v.level)") == pytest.approx([1, (64 / 127) ** 2])
    midi(page, (0x80, 60, 0), (0x90, 63, 0))
    assert heard(page) == []
    page.get_by_label("MIDI plays").select_option(label="black keys are half-flats")
    midi(page, (0x90, 63, 64))
    assert held(page) == [9]
    page.get_by_label("MIDI plays").select_option(label="step by step from middle C")
    assert held(page) == []
    midi(page, (0x90, 63, 64))
    assert held(page) == [3]


def test_bend_and_pedal(page: Any) -> None:
    use_midi(page)
    midi(page, (0x90, 60, 100), bent(0, 1, 2))
    assert heard(page) == pytest.approx([HZ(0) * 2 ** (1 / 12)])
    assert held(page) == [0]
    midi(page, (0xB0, 101, 0), (0xB0, 100, 0), (0xB0, 6, 12), bent(0, -6, 12))  # a range of twelve semitones
    assert heard(page) == pytest.approx([HZ(0) / 2 ** (6 / 12)])
    midi(page, bent(0, 0, 12), (0xB0, 64, 127), (0x80, 60, 0))
    assert held(page) == [0]
    midi(page, (0x90, 67, 100), (0x80, 67, 0), (0xB0, 64, 0))
    assert held(page) == []


def test_a_key_that_comes_up_though_it_was_not_down_leaves_no_note_under_the_pedal(page: Any) -> None:
    """It went down before there was anybody to hear it"""
    use_midi(page)
    midi(page, (0xB0, 64, 127), (0x80, 60, 0), (0x90, 67, 100), (0x80, 67, 0))
    assert held(page) == [18]
    midi(page, (0xB0, 64, 0))
    assert held(page) == []


def test_an_mpe_controller_is_taken_at_its_own_pitch(page: Any) -> None:
    """Each key with the bend of its channel, and that of the manager; the step is the nearest"""
    use_midi(page)
    midi(page, (0xB0, 101, 0), (0xB0, 100, 6), (0xB0, 6, 15))  # a zone of fifteen
    assert page.get_by_label("MIDI plays").evaluate("s => s.selectedOptions[0].textContent").startswith("MPE")
    midi(page, bent(1, 0.5, 48), bent(2, -0.1369, 48), (0x91, 60, 100), (0x92, 64, 100))
    expected = [hz_from_midi(60.5), hz_from_midi(63.8631)]
    assert heard(page) == pytest.approx(expected, rel=3e-4)
    assert held(page) == [1, 10]
    midi(page, bent(0, 2, 2))
    assert heard(page) == pytest.approx([hertz * 2 ** (2 / 12) for hertz in expected], rel=3e-4)
    midi(page, (0x81, 60, 0), (0x82, 64, 0))
    assert heard(page) == []


def test_voices_are_let_go_when_the_reader_is_elsewhere(page: Any) -> None:
    def play() -> None:
        page.locator(".tunelib-key").first.focus()
        page.keyboard.down("a")
        assert len(heard(page)) == 1

    play()
    page.locator("#elsewhere").focus()
    assert heard(page) == []
    page.keyboard.up("a")
    for leave in ("window.dispatchEvent(new Event('blur'))", "window.dispatchEvent(new Event('pagehide'))", "shut()"):
        play()
        page.evaluate(leave)
        assert heard(page) == [] and held(page) == [], leave
        page.keyboard.up("a")
    page.keyboard.down("a")
    assert heard(page) == [], "keys that were closed still play"


def test_another_that_plays_silences_the_keys(page: Any) -> None:
    press(page, "Latch")
    page.mouse.click(**middle(page, "C 4"))
    page.evaluate("player.takeOver({})")
    assert held(page) == []


def test_the_end_of_one_program_is_not_taken_for_that_of_the_next(page: Any) -> None:
    """News of the end is on its way when somebody else begins"""
    sounds = page.evaluate(
        """async bytes => {
      const program = seconds => ({...readProgram(Uint8Array.from(bytes)), seconds}), first = {}, second = {};
      await player.ready;
      const {port} = player.node, told = port.onmessage;
      const over = new Promise(resolve => { port.onmessage = news => { if (news.data.over) { resolve(news); } }; });
      player.play(first, program(0.2));
      const late = await over;
      player.play(second, program(30));
      told(late);
      port.onmessage = told;
      return [player.sounds(first), player.sounds(second)];
    }""",
        list(program(sequence([(220, None)]), TIMBRES["sine"])),
    )
    assert sounds == [False, True]


def test_the_keys_play_though_nobody_can_be_told(page: Any) -> None:
    page.evaluate("model.dead = true")
    page.locator(".tunelib-key").first.focus()
    page.keyboard.down("a")
    assert heard(page) == pytest.approx([HZ(0)])
    page.keyboard.up("a")
    assert heard(page) == []


def test_a_chosen_timbre_changes_what_sounds(page: Any) -> None:
    assert page.get_by_label("Sound").evaluate("s => [...s.options].map(o => o.text)") == [
        "organ-like", "flute-like", "plucked-like",
    ]  # fmt: skip
    page.evaluate(
        "window.tones = 0; player.say = (what, id, tone) => { tones = what === 'press' ? tone.hertz.length : tones; }"
    )
    page.mouse.click(**middle(page, "C 4"))
    organ = page.evaluate("tones")
    page.get_by_label("Sound").select_option("flute-like")
    page.mouse.click(**middle(page, "C 4"))
    assert organ > page.evaluate("tones") == 9


def test_harmonics_one_by_one_and_together(chromium: Any) -> None:
    with keys_page(chromium, harmonic_keys("A2", 16)) as page:
        page.locator(".tunelib-key").first.focus()
        for digit in "457":
            page.keyboard.down(digit)
        assert heard(page) == pytest.approx([440, 550, 770])
        assert page.locator(".tunelib-chord").inner_text() == "4:5:7"
        assert "4, 440.00 Hz · 5, 550.00 Hz · 7, 770.00 Hz" in page.locator(".tunelib-said").inner_text()


def test_the_page_and_python_name_the_same_chords(chromium: Any) -> None:
    """In tunings of uneven steps too, where not every triad is one; a bass has the name of its key on the page"""
    naming = "steps => chordWords(new KeyScale(model.get('scale')), model.get('chords'), steps)"
    for tuning, third, fifth in (("quarter-comma", 4, 7), ("Vallotti", 4, 7), (31, 10, 18)):
        board = keys(tuning, "line")
        with keys_page(chromium, board) as page:
            for bass in range(12):
                for raised in range(3):
                    chord = [bass, bass + third, bass + fifth]
                    steps = sorted([*chord[raised:], *(step + len(board.notes.tuning) for step in chord[:raised])])
                    board.set_state({"held": steps})
                    said = page.evaluate(naming, steps)
                    assert re.sub("/[^,]*", "/", said) == re.sub("/[^,]*", "/", board.chord), (tuning, steps)
                for above in range(1, 2 * len(board.notes.tuning)):  # two are an interval, here and an octave up
                    for steps in ([bass, bass + above], [bass, bass + above, bass + 2 * len(board.notes.tuning)]):
                        board.set_state({"held": steps})
                        assert page.evaluate(naming, steps) == board.chord == "", (tuning, steps)


def test_an_interval_is_told_by_the_ratio_near_it_and_is_no_chord(chromium: Any) -> None:
    """In twelve a third is 13.7 cents wider than 5/4, a fifth 2.0 narrower than 3/2, an octave is pure."""
    with keys_page(chromium, keys(12, "line")) as page:
        press(page, "Latch")
        said = page.locator(".tunelib-said")
        page.mouse.click(**middle(page, "C 4"))
        for name, words in (
            ("E 4", "E4, 400.0 cents up: 13.7 cents wider than 5/4"),
            ("G 4", "G4, 700.0 cents up: 2.0 cents narrower than 3/2"),
            ("C 5", "C5, 1200.0 cents up: 2/1"),
        ):
            page.mouse.click(**middle(page, name))
            assert said.inner_text() == f"C4, 261.63 Hz · {words}"
            page.mouse.click(**middle(page, name))
        for name in ("E 4", "G 4"):
            page.mouse.click(**middle(page, name))
        assert page.locator(".tunelib-chord").inner_text() == "C, near 4:5:6"


@pytest.mark.parametrize("layout", LAYOUTS)
def test_on_a_narrow_page_keys_can_be_hit_and_read(chromium: Any, layout: str) -> None:
    """At 360 pixels nothing sticks out of the page, and a key is large enough for a finger; a ring is seen whole"""
    for touched, least in ((False, 23), (True, 25)):
        screen = {"viewport": {"width": 360, "height": 599}, "has_touch": touched, "is_mobile": touched}
        with keys_page(chromium, keys(31, layout), **screen) as page:
            assert page.evaluate("document.documentElement.scrollWidth") <= 360
            sizes = page.evaluate(
                "[...document.querySelectorAll('.tunelib-key')].map(k => [k.offsetWidth, k.offsetHeight])"
            )
            assert min(map(min, sizes)) >= least
            fonts = page.evaluate(
                "[...document.querySelectorAll('#keys *')].filter(e => e.textContent.trim() && !e.children.length)"
                ".map(e => parseFloat(getComputedStyle(e).fontSize))"
            )
            assert min(fonts) >= 12
            assert page.locator(".tunelib-board-window").bounding_box()["height"] <= 500
            arrows = page.get_by_title("Keys farther right")
            assert arrows.is_visible() == (layout != "ring")


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("division", [12, 19, 22, 31, 41, 53])
def test_no_name_is_cut_off_by_its_key(chromium: Any, division: int, layout: str) -> None:
    """On a page of any width; on keys that are marked or held as well, and where letters to play by are shown"""
    too_long = """() => [...document.querySelectorAll('.tunelib-key')]
      .filter(key => key.scrollWidth > key.clientWidth || key.scrollHeight > key.clientHeight)
      .map(key => key.getAttribute('aria-label'))"""
    with keys_page(chromium, keys(division, layout)) as page:
        assert page.locator(".tunelib-key", has_text=re.compile("[½♯♭]")).count() == 0, "signs are drawn"
        for width in (1280, 1000, 420, 360):
            page.set_viewport_size({"width": width, "height": 720})
            page.evaluate("model.set('lit', [])")
            assert page.evaluate(too_long) == [], width
            page.evaluate("model.set('lit', model.get('board').keys.map(place => place.step))")
            assert page.evaluate(too_long) == [], width
            page.evaluate(
                "document.querySelectorAll('.tunelib-key').forEach(key => key.setAttribute('aria-pressed', true))"
            )
            assert page.evaluate(too_long) == [], width
        press(page, "Letters")
        assert page.evaluate(too_long) == []


def test_each_sign_is_drawn_as_players_write_it(chromium: Any) -> None:
    """The outlines are those of the pictures' lettering; what is said aloud stays in words"""
    names = {"D flat 4": "♭", "D half-flat 4": "½♭", "D half-sharp 4": "½♯", "D sharp 4": "♯"}
    with keys_page(chromium, keys(31, "staff")) as page:
        for name, sign in names.items():
            key = page.locator(f".tunelib-key[aria-label='{name}']")
            assert key.inner_text() == "D"
            assert key.locator("path").get_attribute("d") == sign_outlines()[sign].outline
            box, letter = key.locator("svg").bounding_box(), key.locator(".tunelib-letter").bounding_box()
            assert letter["x"] + 6 < box["x"] and box["width"] > 4 and box["height"] > 10
        assert page.locator(".tunelib-key[aria-label='D 4'] svg").count() == 0


def test_where_a_browser_plays_nothing_the_page_says_why(page: Any) -> None:
    """Over plain http from another machine there is no audio worklet (W3C Web Audio API: a secure context)."""
    page.context.add_init_script("delete globalThis.AudioWorkletNode")
    page.reload()
    page.locator(".tunelib-mute", has_text="over https").wait_for()
    page.locator(".tunelib-key").first.focus()
    page.keyboard.down("a")
    assert held(page) == [0]
    page.keyboard.up("a")
    assert page.evaluate("globalThis[Symbol.for('tunelib.player')].context") is None
