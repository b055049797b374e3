"""The trombone's slide, against published distances, a published table of positions, and the arithmetic of tubes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.look import THEMES, Look
from tunelib.pitch.intervals import cents
from tunelib.pitch.notes import Note, spell
from tunelib.pitch.slide import (
    FUNDAMENTAL,
    TUBE_LENGTH,
    division_positions,
    ordinary_positions,
    position_note,
    slide_distance,
    slide_place,
    slide_places,
    slide_travel,
)
from tunelib.pitch.tunings import equal

INCH = 25.4
TWELVE, THIRTY_ONE = equal(12), equal(31)


def test_the_seven_positions_lie_about_where_a_published_method_puts_them() -> None:
    """ "Third about 7 inches, seventh about 23 inches" (*It's Easy to Make Music*, fig. 93): within 2 per cent of ours.

    Second at 8 cm or a little more is common practice among teachers (from memory).
    """
    places = ordinary_positions()
    assert places[[2, 6]] == pytest.approx([7 * INCH, 23 * INCH], rel=0.02)
    assert 78 < places[1] < 90


def test_the_length_that_counts_lies_between_the_metal_and_a_plain_tube_of_that_pitch() -> None:
    """Nine feet of metal (common practice); a plain open tube is half a wavelength of its fundamental."""
    speed_of_sound = 343.2  # metres a second in dry air at 20 °C (handbook value)
    plain_tube = speed_of_sound / 2 / FUNDAMENTAL.hz()
    assert 9 * 12 * INCH / 1000 < TUBE_LENGTH < plain_tube
    assert plain_tube == pytest.approx(2.95, abs=0.01), "as said in the module"
    assert 1 / ordinary_positions(1.0)[6] * 1000 == pytest.approx(4.83, abs=0.005), "as said in the module"


@pytest.mark.parametrize("length", [2.5, 2.85, 3.0])
def test_the_tube_grows_by_twice_what_the_slide_moves(length: float) -> None:
    """A tube of length L + 2d sounds L / (L + 2d) of what it did: the law of pipes, Mersenne 1636."""
    lowered = np.array([0.0, 38.7, 100, 350, 600])
    longer = length + 2 * slide_distance(lowered, length) / 1000
    assert cents(longer / length) == pytest.approx(lowered, abs=1e-9)
    assert slide_travel(length) == pytest.approx(1000 * length * (2**0.5 - 1) / 2)
    assert ordinary_positions(length)[6] == pytest.approx(slide_travel(length))
    assert slide_distance(100.0, length) == pytest.approx(1000 * length / 2 / 16.817, abs=0.01), "17.817 less one"


def test_sixteen_positions_of_thirty_one_fit_into_the_travel() -> None:
    """15 steps are 580.6 cents, 16 are 619.4; twelve has its seven, and each step is a little longer than the last."""
    places = division_positions(31)
    assert places.size == 16 and places[0] == 0 and places[-1] < slide_travel() < slide_distance(16 * 1200 / 31)
    assert division_positions(12) == pytest.approx(ordinary_positions())
    steps = np.diff(places)
    assert steps[1:] / steps[:-1] == pytest.approx(np.full(14, 2 ** (1 / 31)))
    assert places[1] == pytest.approx(32.2, abs=0.05), "1425 (2 ** (1 / 31) - 1) by hand"


# The lowest position for each note of the chromatic scale from E2 (OEIS A309909, after Kennan, The Technique of
# Orchestration, 1952), up to D5: harmonics 2, 3, 4, 5, 6, then 7 and 8, 9, 10.
KENNAN = [7, 6, 5, 4, 3, 2, 1, 7, 6, 5, 4, 3, 2, 1, 5, 4, 3, 2, 1, 4, 3, 2, 1, 3, 2, 1, 3, 2, 3, 2, 1, 2, 1, 2, 1]


def test_ordinary_notes_lie_in_the_positions_of_the_handbook() -> None:
    """With lips that pull 15 cents (harmonics 5 and 10 are 13.7 low), but not the 31 that harmonic 7 would need."""
    lowest = Note.parse("E2").step(TWELVE)
    found = []
    for step in range(lowest, Note.parse("D5").step(TWELVE) + 1):
        places = slide_places(float(TWELVE.hz(step)), lips=15)
        found.append(places[0].position)
    assert found == KENNAN


def test_every_place_sounds_the_pitch_that_is_wanted() -> None:
    """From the place back to the pitch: n f1 L / (L + 2d), to a hundred-millionth of a cent, for every note of 31."""
    f1 = FUNDAMENTAL.hz(THIRTY_ONE)
    low, high = (Note.parse(name).step(THIRTY_ONE) for name in ("E1", "D5"))
    for step in range(low, high + 1):
        hertz = float(THIRTY_ONE.hz(step))
        for place in slide_places(hertz, tuning=THIRTY_ONE, lips=2):
            assert 0 <= place.millimetres <= slide_travel() + 1e-9
            tube = TUBE_LENGTH + 2 * place.millimetres / 1000
            sounding = place.harmonic * f1 * TUBE_LENGTH / tube
            assert cents(hertz / sounding) == pytest.approx(place.lips, abs=1e-8)
            ordinary = ordinary_positions()
            assert ordinary[place.position - 1] + place.beyond == pytest.approx(place.millimetres)
            assert abs(place.beyond) == pytest.approx(np.abs(ordinary - place.millimetres).min())


def test_all_places_of_a_note_are_found() -> None:
    """F4 is harmonic 6 in first position, 7 in or near fourth, 8 in sixth (common practice: alternate positions)."""
    places = slide_places(Note.parse("F4").hz(), lips=2)
    assert [(p.harmonic, p.position) for p in places] == [(6, 1), (7, 4), (8, 6)]
    assert slide_places(Note.parse("C2").hz()) == (), "between pedal B♭ and low E there is nothing"
    assert [p.harmonic for p in slide_places(Note.parse("B♭1").hz())] == [1]


def test_natural_harmonics_are_corrected_where_thirty_one_differs() -> None:
    """Fifth of 31 5.18 cents narrow, third 0.78 wide, natural seventh's step 1.08 narrow (published errors of 31)."""
    slide = {n: slide_place(n, position_note(n, 0, THIRTY_ONE).hz(THIRTY_ONE), tuning=THIRTY_ONE) for n in range(2, 11)}
    for harmonic, narrow in ((3, 5.18), (6, 5.18), (7, 1.08), (9, 10.36)):
        assert slide[harmonic].millimetres == pytest.approx(TUBE_LENGTH * 500 * narrow / 1200 * np.log(2), rel=0.005)
        assert slide[harmonic].lips == 0
    for harmonic in (5, 10):
        assert slide[harmonic].millimetres == 0 and slide[harmonic].lips == pytest.approx(0.78, abs=0.005)
        assert slide[harmonic].in_words == "1st position, lips 0.8 cents up"
    for harmonic in (2, 4, 8):
        assert slide[harmonic].millimetres == pytest.approx(0, abs=1e-6)


def test_sixteen_positions_reach_what_they_should() -> None:
    """Step k on the octaves of B♭ is k steps of the chain down; B♭ to F♭ is an augmented fourth of 15 steps."""
    down = [position_note(2, step, THIRTY_ONE).step(THIRTY_ONE) for step in range(16)]
    assert np.diff(down).tolist() == [-1] * 15
    assert down[15] == Note.parse("Fb2").step(THIRTY_ONE)
    assert str(position_note(7, 0, THIRTY_ONE)) == "G♯4", "the augmented sixth of 31 is its harmonic seventh"
    reached = {position_note(n, k, THIRTY_ONE).step(THIRTY_ONE) for n in range(2, 11) for k in range(16)}
    missing = [str(spell(s, THIRTY_ONE, -2)) for s in range(min(reached), max(reached)) if s not in reached]
    assert missing == ["B½♭2", "B2"]
    for name in (*missing, "E2"):
        assert not slide_places(Note.parse(name).hz(THIRTY_ONE), tuning=THIRTY_ONE, lips=5), name
    assert {step % 31 for step in reached} == set(range(31)), "but every one of the 31 has a place in some octave"


@pytest.mark.parametrize(
    ("distance", "words"),
    [
        (0.0, "1st position"),
        (174.5, "3rd position"),
        (195.5, "3rd position, 21 mm further out"),
        (249.6, "4th position, 20 mm further in"),
    ],
)
def test_places_are_said_as_a_player_would(distance: float, words: str) -> None:
    """The nearest of the seven positions, and how far from it."""
    tube = TUBE_LENGTH + 2 * distance / 1000
    assert slide_place(4, 4 * FUNDAMENTAL.hz() * TUBE_LENGTH / tube).in_words == words


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: slide_distance(100, 0), r"the length of a tube is one number above 0 metres, such as 2.85, not 0"),
        (lambda: slide_distance("far"), r"cents must be a number"),
        (lambda: slide_travel(-1), r"above 0 metres"),
        (lambda: division_positions(0), r"a division is a whole number from 1"),
        (lambda: slide_place(0, 440), r"a harmonic is a whole number from 1 to 64, not 0"),
        (lambda: slide_place(2, -1), r"a pitch must be above 0 Hz, not -1"),
        (lambda: slide_place(2, [440.0, 220.0]), r"one pitch at a time"),  # type: ignore[arg-type]
        (lambda: slide_places(440, lips=-1), r"the pull of the lips is a number of cents, 0 or more, not -1"),
        (lambda: slide_places(440, harmonics=[2, 65]), r"a harmonic is a whole number from 1 to 64, not 65"),
        (lambda: position_note(2, -1), r"a step down is a whole number from 0"),
        (lambda: position_note(2, 1, equal(8)), r"have no letters"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Any, message: str) -> None:
    """ValueError says what was wrong and what would be right."""
    with pytest.raises(ValueError, match=message):
        call()


def test_the_exhibit_says_and_sounds_what_the_model_says() -> None:
    """Harmonic 6, four steps down: from F4 to E½♭4, 154.8 cents lower, and harmonic 7 has it too."""
    slide = EXHIBITS["slide"]
    values = slide.settle({"harmonic": 6, "position": 4})
    assert "give E½♭4, the slide 138.0 mm out: 3rd position, 37 mm further in; also on harmonic 7" in slide.sentence(
        **values
    )
    first, lowered = slide.score(**values).notes
    assert cents(first.hertz / lowered.hertz) == pytest.approx(4 * 1200 / 31)
    assert str(first.name) == "F4"


def test_the_printed_slide_has_all_sixteen_positions() -> None:
    """One row a position, notes by harmonic, what is out of reach, and the cautions."""
    slide = EXHIBITS["slide"]
    page = slide.printed(**slide.settle({}))
    assert len(page.rows) == 16 and {len(row) for row in page.rows} == {len(page.head)}
    assert page.rows[0] == ("0", "0.0", "1st position", "B♭2", "F3", "B♭3", "D4", "F4", "G♯4", "B♭4", "C5", "D5")
    assert "but for B½♭2 and B2. E2 would be 22.7 mm beyond seventh" in page.introduction
    assert "4.3 mm for harmonic 3" in page.introduction and "Harmonics 5 and 10 are 0.8 cents" in page.introduction
    for word in ("hurts", "teacher", "Lips tire", "end correction"):
        assert any(word in caution for caution in page.cautions)


@pytest.mark.parametrize("look", [Look(THEMES["dark"]), Look(THEMES["light"], tall=True)], ids=["wide", "upright"])
def test_the_picture_has_the_slide_where_it_sounds(look: Look) -> None:
    """The bow, the chosen dot and the same note elsewhere, in millimetres by the ticks of the seven positions.

    E½♭4 is 4 steps below F4, the note of harmonic 6, and 11 below G♯4, that of harmonic 7; in 31 these two are 5.18
    and 1.08 cents below the harmonics (published errors of 31).
    """
    slide = EXHIBITS["slide"]
    scene = slide.lay_out(Figure(figsize=look.inches), look)
    values = slide.settle({"harmonic": 6, "position": 4})
    scene.update(**values)
    axis = 1 if look.tall else 0

    def along(artist: Any) -> Any:
        found = np.unique(np.asarray(artist.get_data()[axis], dtype=float))
        found = np.sort(found[~np.isnan(found)])[:: -1 if look.tall else 1]
        return (found - ticks[0]) / (ticks[-1] - ticks[0]) * slide_travel()

    raw = np.unique(scene.parts["positions"][0].get_data()[axis])
    ticks = np.sort(raw[~np.isnan(raw)])[:: -1 if look.tall else 1]
    assert along(scene.parts["positions"][0]) == pytest.approx(ordinary_positions())
    step = 1200 / 31
    third, seventh = 5.18 + 4 * step, 1.08 + 11 * step
    assert along(scene.parts["note"][0])[0] == pytest.approx(slide_distance(third), abs=0.01)
    assert along(scene.parts["same"][0])[0] == pytest.approx(slide_distance(seventh), abs=0.01)
    assert along(scene.parts["tube"][0])[-1] == pytest.approx(slide_distance(third), abs=0.01), "the bow's end"
    assert slide.numbers(**values)["millimetres"] == f"{slide_distance(third):.1f}"
    number, *_ = scene.parts["out"]
    assert number.get_text() == f"{slide_distance(third):.0f}"


def test_the_tube_is_drawn_to_scale() -> None:
    """Legs 90 mm apart (common practice), by the same scale as the seven positions."""
    scene = EXHIBITS["slide"].lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    scene.update(**EXHIBITS["slide"].settle({}))
    ticks = scene.parts["positions"][0].get_xdata()
    inch = slide_travel() / (np.nanmax(ticks) - np.nanmin(ticks))
    assert np.ptp(scene.parts["tube"][0].get_ydata()) * inch == pytest.approx(90)


def test_the_rows_at_the_ends_are_numbered_where_there_is_room() -> None:
    """Harmonics 2 and 10, but for a row beside one that is numbered already."""
    slide = EXHIBITS["slide"]
    scene = slide.lay_out(Figure(figsize=(9.6, 5.4)), Look(THEMES["dark"]))
    seen = {}
    for harmonic, position in ((6, 4), (9, 12)):
        scene.update(harmonic=harmonic, position=position, tube=TUBE_LENGTH)
        seen[harmonic] = [text.get_text() for text in scene.parts["notes"][17:] if text.get_visible()]
    assert seen == {6: ["2", "harmonic 6", "also on 7", "10"], 9: ["2", "also on 7", "also on 8", "harmonic 9"]}
