"""From the familiar note: cents, millimetres and beats, checked against other people's figures."""

from __future__ import annotations

from typing import Any

import librosa
import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import SILENT, Playing
from tunelib.exhibits.familiar import _NOTES, PLAYERS, _place
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch.bowed import BOWED, Bowed
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note

EVERY = pytest.mark.parametrize("player", PLAYERS)
A_STEP = 23  # from C up to A, in 31


def test_all_voices_and_bowed_strings_have_a_place() -> None:
    families = {name for name, player in INSTRUMENTS.items() if player.family in ("voice", "bowed")}
    assert set(PLAYERS) == families, "the strings of a bowed instrument are in BOWED, in pitch/bowed.py"
    assert len(PLAYERS) >= 10


@EVERY
def test_cents_are_those_that_librosa_finds(player: str) -> None:
    """librosa's MIDI number of each frequency, whose fraction is cents from twelve with A4 at 440 Hz"""
    who = instrument(player)
    for step, name in enumerate(_NOTES):
        place = _place(player, name)
        number = librosa.hz_to_midi(place.hz)
        assert place.away / 100 == pytest.approx(number - round(number), abs=1e-6)
        assert round(
            librosa.note_to_midi(str(who.sounding(place.familiar)).replace("♯", "#").replace("♭", "b"))
        ) == round(number)
        assert place.above + place.below == pytest.approx(100)
        octaves = np.log2(place.hz / 440) - (step - A_STEP) / 31
        assert octaves == pytest.approx(round(octaves), abs=1e-9)
        assert who.reaches(place.hz)


def test_the_worked_example() -> None:
    """E½♭ is step 9: 348.39 cents above a C that is 9.68 above that of twelve, so 58.06 above E♭"""
    place = _place("violin", "E½♭")
    assert [str(note) for note in (place.note, place.lower, place.upper, place.familiar)] == ["E½♭4", "E♭4", "E4", "E4"]
    assert (place.above, place.below) == pytest.approx((58.065, 41.935), abs=0.001)
    assert place.beats == pytest.approx(329.6276 - 321.7388, abs=1e-3)  # E4 of twelve: MIDI 1.0 note 64


def test_a_double_bass_reads_an_octave_above_what_sounds() -> None:
    """Common practice"""
    place = _place("double bass", "A")
    assert str(place.note) == "A3" and place.hz == pytest.approx(110) and str(place.string) == "G3"


def test_a_finger_stands_where_a_fret_would() -> None:
    """The luthiers' rule: the first fret takes 1/17.817 of the string, the twelfth is its middle (common practice)"""
    violin = BOWED["violin"]
    assert violin.place(Note.parse("D4"), Note.parse("E♭4").hz()) == pytest.approx(328 / 17.817, abs=1e-3)
    assert violin.place(Note.parse("G3"), np.array([1, 2, 4]) * Note.parse("G3").hz()).tolist() == pytest.approx(
        [0, 164, 246]
    )


@pytest.mark.parametrize("player", BOWED)
def test_a_finger_moves_as_the_string_law_says(player: str) -> None:
    """By Mersenne's law: what is left of the string sounds inversely to its length; and never off its end"""
    for name in _NOTES:
        place = _place(player, name)
        assert place.string is not None
        left, familiar_left = place.length - place.finger, place.length - place.familiar_finger
        assert familiar_left / left == pytest.approx(2 ** (place.away / 1200))
        assert 0 <= place.finger < place.length / 2 and place.familiar_finger >= 0
        assert np.sign(round(place.shift, 6)) == np.sign(round(place.away, 6))


def test_the_sentence_says_how_far_and_which_way() -> None:
    exhibit = EXHIBITS["familiar_notes"]
    assert exhibit.sentence(player="violin", note="E½♭") == (
        "E½♭4, as the violin reads it, is 58.1 cents above E♭4 and 41.9 below E4; on the D string the finger is "
        "7.2 mm nearer to the nut than for E4."
    )
    assert exhibit.sentence(player="tenor voice", note="A") == (
        "A3, as the tenor voice reads it, is the same note in twelve and in thirty-one, which share their A."
    )


def test_a_pianist_is_told_how_far_the_wheel_turns() -> None:
    """At the bend range of General MIDI 1, 2 semitones: E½♭ is 41.94 cents below E, of 200."""
    exhibit = EXHIBITS["familiar_notes"]
    assert exhibit.sentence(player="piano", note="E½♭") == (
        "E½♭4, as the piano reads it, is 58.1 cents above E♭4 and 41.9 below E4; against E4 it gives 7.9 beats a "
        "second, and it is E4 with the pitch wheel 21 % down."
    )
    for name in _NOTES:
        place = _place("piano", name)
        assert place.familiar_hz * 2 ** (2 * place.turn / 100 / 12) == pytest.approx(place.hz)
        assert exhibit.numbers(player="piano", note=name)["turn"] == f"{abs(place.turn):.0f}"
    rows = exhibit.printed(player="piano", note="A").rows
    assert [row[5] for row in rows][:3] == ["+5 %", "+24 %", "−6 %"]


def test_the_familiar_note_sounds_first_and_then_the_other() -> None:
    exhibit = EXHIBITS["familiar_notes"]
    first, second, *both = [note.hertz for note in exhibit.score(player="alto voice", note="E½♭").notes]
    assert first == pytest.approx(329.6276, abs=1e-3) and second == pytest.approx(321.7388, abs=1e-3)
    assert both == [first, second]


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: Bowed(0.0, (Note.parse("A4"),)), "a string is some hundred millimetres long, not 0.0"),
        (lambda: Bowed(300.0, ()), "open strings rise"),
        (lambda: Bowed(300.0, (Note.parse("A4"), Note.parse("D4"))), "open strings rise"),
        (lambda: BOWED["violin"].string(190.0), "190.00 Hz is below the lowest string, G3"),
        (lambda: BOWED["violin"].place(Note.parse("A4"), [450.0, 430.0]), "430.00 Hz is below the open string A4"),
    ],
)
def test_what_cannot_be_played_is_refused(wrong: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wrong()


def laid_out(look: Look) -> Any:
    return EXHIBITS["familiar_notes"].lay_out(Figure(figsize=look.inches), look)


@pytest.mark.parametrize("player", BOWED)
@pytest.mark.parametrize("tall", [False, True], ids=["wide", "upright"])
def test_finger_and_tapes_are_where_the_string_law_puts_them(player: str, tall: bool) -> None:
    """A finger that raises a string by c cents is 1 - 2 ** (-c / 1200) of its length from the nut (Mersenne)."""
    scene = laid_out(Look(THEMES["dark"], tall=tall))
    for name in ("E½♭", "G½♭", "A", "D½♯"):
        scene.update(player=player, note=name)
        place = _place(player, name)
        tapes, finger = scene.parts["known"][0], scene.parts["note"][1]
        [gap] = [patch for patch in scene.parts["gap"] if isinstance(patch, Rectangle) and patch.get_visible()]
        axis = 1 if tall else 0
        at = np.array([tapes.get_data()[axis][0], tapes.get_data()[axis][3], finger.get_data()[axis][0]], dtype=float)
        string = instrument(player).sounding(place.string).hz()
        pitches = [instrument(player).sounding(note).hz() for note in (place.lower, place.upper)] + [place.hz]
        share = 1 - string / np.array(pitches)
        assert (at - at[0]) / (at[1] - at[0]) == pytest.approx((share - share[0]) / (share[1] - share[0]), abs=1e-9)
        sides = (gap.get_y(), gap.get_y() + gap.get_height()) if tall else (gap.get_x(), gap.get_x() + gap.get_width())
        assert sides[1] == pytest.approx(at[2]) and min(abs(at[:2] - sides[0])) < 1e-9


def test_a_voice_is_as_high_between_the_familiar_notes_as_its_cents() -> None:
    scene = laid_out(Look(THEMES["light"]))
    for name in _NOTES:
        scene.update(player="alto voice", note=name)
        *_, known = [line for line in scene.parts["known"] if hasattr(line, "get_ydata") and len(line.get_ydata()) == 6]
        [note] = [line for line in scene.parts["note"] if hasattr(line, "get_ydata") and line.get_visible()]
        low, high = np.nanmin(known.get_ydata()), np.nanmax(known.get_ydata())
        assert 100 * (note.get_ydata()[0] - low) / (high - low) == pytest.approx(_place("alto voice", name).above)


@pytest.mark.parametrize("tall", [False, True], ids=["wide", "upright"])
def test_a_note_is_between_its_two_keys_as_its_cents(tall: bool) -> None:
    """Keys are a hundred cents apart at the back of a keyboard, and the gap reaches from the note to the nearer one."""
    scene = laid_out(Look(THEMES["dark"], tall=tall))
    for name in _NOTES:
        scene.update(player="piano", note=name)
        place = _place("piano", name)
        [known] = [line for line in scene.parts["known"] if line.get_visible() and _strokes(line) == 2]
        [note] = [line for line in scene.parts["note"] if hasattr(line, "get_xdata") and line.get_visible()]
        [gap] = [patch for patch in scene.parts["gap"] if isinstance(patch, Rectangle) and patch.get_visible()]
        low, high = known.get_xdata()[0], known.get_xdata()[3]
        assert 100 * (note.get_xdata()[0] - low) / (high - low) == pytest.approx(place.above)
        assert 100 * gap.get_width() / (high - low) == pytest.approx(min(place.above, place.below))


def _strokes(artist: Any) -> int:
    """How many strokes a line is made of."""
    return len(artist.get_xdata()) // 3 if hasattr(artist, "get_xdata") else 0


@pytest.mark.parametrize("player", ["violin", "bass voice", "piano"])
def test_the_familiar_note_lights_up_and_then_the_new_one(player: str) -> None:
    scene = laid_out(Look(THEMES["dark"]))

    def seen(*notes: int) -> list[Any]:
        scene.update(player=player, note="E½♭")
        scene.light(Playing(0.1, notes) if notes else SILENT)
        known, new = (
            [line for line in scene.parts[part] if hasattr(line, "get_data") and line.get_visible()]
            for part in ("known", "note")
        )
        return [
            any(not np.isnan(np.asarray(line.get_xdata(), dtype=float)).all() for line in known[1:]),
            max(line.get_linewidth() + line.get_markersize() for line in new),
        ]

    (silent, thin), (first, still_thin), (second, thick), (both, also_thick) = map(
        lambda n: seen(*n), ((), (0,), (1,), (2, 3))
    )
    assert (silent, first, second, both) == (False, True, False, True)
    assert thin == still_thin < thick == also_thick


def test_the_two_rows_of_the_octave_are_numbered() -> None:
    scene = EXHIBITS["familiar_notes"].lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    known, new, *others = scene.parts["octave"]
    levels = {text.get_text(): text.get_position()[1] for text in others if hasattr(text, "get_text")}
    for count, line in (("12", known), ("31", new)):
        assert np.nanmin(line.get_ydata()) < levels[count] < np.nanmax(line.get_ydata())
