"""One loudness for all that is heard: as rendered, as worked out beforehand, and wherever the lessons let it sound."""

from __future__ import annotations

import ast
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from offline import head_of

from tunelib.arrange import overtone_sheet, tune_score
from tunelib.exhibits import EXHIBITS, NotesToRead
from tunelib.export import write_play_along
from tunelib.harmony import Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, Note, instrument
from tunelib.practice.ear_test import REGISTERS, SOUNDS, ear_test, trial_score
from tunelib.practice.tune_panel import TunePanel
from tunelib.score import Score, ScoreNote
from tunelib.sound import (
    DEMO_TAKES,
    REFERENCE_LOUDNESS,
    SAMPLE_RATE,
    TIMBRES,
    expected_loudness,
    loudness,
    overtone_singer,
    read_audio,
    reference_gain,
    render,
    tune_timbres,
)

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
TUNES = [path.read_text() for path in sorted((LESSONS / "material").glob("*.txt"))]


def as_in_the_lessons() -> list[tuple[str, dict[str, Any]]]:
    """Every panel of the lessons, by its exhibit and the knobs that its cell sets."""
    found = []
    for path in sorted(LESSONS.glob("*.ipynb")):
        for cell in json.loads(path.read_text())["cells"]:
            source = "".join(cell["source"])
            if cell["cell_type"] != "code" or "panel(" not in source:
                continue
            for node in ast.walk(ast.parse(source)):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "panel":
                    given = {word.arg: ast.literal_eval(word.value) for word in node.keywords if word.arg}
                    found.append((ast.literal_eval(node.args[0]), given))
    return found


def is_the_one_loudness(samples: np.ndarray) -> bool:
    """Whether a sound is within half a LU of the one loudness (ITU-R BS.1770-4), and safe."""
    return abs(loudness(samples) - REFERENCE_LOUDNESS) <= 0.5 and np.abs(samples).max() <= 10 ** (-12 / 20)


@pytest.mark.parametrize(("name", "given"), as_in_the_lessons(), ids=lambda value: str(value))
def test_panels_of_the_lessons_are_as_loud_as_one_another(name: str, given: dict[str, Any]) -> None:
    """As each first sounds when its cell is run; corners of the knobs stand in `test_exhibits`."""
    exhibit = EXHIBITS[name]
    knobs = {knob.name: given[knob.name] for knob in exhibit.knobs if knob.name in given}
    assert is_the_one_loudness(exhibit.sound(**exhibit.settle(knobs)))


def test_all_lessons_were_looked_at() -> None:
    """The panels found are of all exhibits, and the sound check is among them."""
    assert {name for name, _ in as_in_the_lessons()} == set(EXHIBITS)
    assert ("wave", {"hertz": 220, "level": 60}) in as_in_the_lessons()


def test_demo_takes_are_as_loud_as_the_panels() -> None:
    """Each of them, as a learner hears it in step 10."""
    assert all(is_the_one_loudness(take.samples()) for take in DEMO_TAKES.values())


@pytest.mark.parametrize("sound", SOUNDS)
@pytest.mark.parametrize("register", REGISTERS)
def test_trials_of_the_ear_are_as_loud_as_the_panels(sound: str, register: str) -> None:
    """In every register and sound, from the first trial on, as differences shrink."""
    card = ear_test()
    card.sound.value, card.register.value = sound, register
    card.start()
    for _ in range(3):
        assert card.test is not None
        score = trial_score(card.test.next_trial())
        assert is_the_one_loudness(render(score, TIMBRES[sound], gain=head_of(card.row.program)["gain"]))
        card.answer(second=card.test.next_trial().second_is_higher)


@pytest.mark.parametrize("division", [12, 31])
@pytest.mark.parametrize("text", [None, *TUNES], ids=lambda text: "" if text is None else text.splitlines()[0])
def test_tunes_are_as_loud_as_the_panels(text: str | None, division: int) -> None:
    """The one that stands in the panel of step 31, and those that come with the lessons."""
    panel = TunePanel() if text is None else TunePanel(text)
    assert panel.tune is not None
    gain = head_of(panel.others[f"in {division}"])["gain"]
    assert is_the_one_loudness(render(tune_score(panel.tune, division, count_in=False), tune_timbres(), gain=gain))


@pytest.mark.parametrize("name", ["alto saxophone", "tuba", "guitar", "soprano voice"])
def test_recordings_to_play_along_with_are_as_loud_as_the_panels(name: str, tmp_path: Path) -> None:
    """As written to a file, for one player and for a band, count-in and all."""
    sheet = overtone_sheet(instrument(name), Note.parse("B♭1"), range(1, 9))
    for together in (False, True):
        path = tmp_path / f"{together}.wav"
        write_play_along(sheet, path, together)
        samples, rate = read_audio(path)
        assert rate == SAMPLE_RATE and is_the_one_loudness(samples)


def test_notes_to_read_are_as_loud_as_the_panels() -> None:
    """Those of a reading drill, on instruments that hold a note and that let it die away."""
    written = [Note.parse(name) for name in ("D5", "E½♭5", "F♯5", "A4")]
    for name in ("alto saxophone", "guitar", "violin"):
        assert is_the_one_loudness(NotesToRead("To read", written, instrument(name), [""] * 4).sound())


def a_few_scores() -> dict[str, tuple[Score, Any]]:
    """Scores with what makes loudness hard to foresee: beats, unisons, decay, rests, movement, and one short note."""
    singer = overtone_singer("hood", [(0, 8), (1.0, 9), (2.3, 12)], 110.0)
    pairs = {f"{apart} Hz apart": (440.0, 440.0 + apart) for apart in (0, 0.1, 0.4, 1.3, 3, 7, 9.9, 12, 30)}
    found: dict[str, tuple[Score, Any]] = {
        name: (Score(tuple(ScoreNote(0, 3, hertz, level=0.5) for hertz in pair)), TIMBRES["sine"])
        for name, pair in pairs.items()
    }
    major = (220.0, 275.0, 330.0, 440.0)
    for sound in ("reed", "bowed", "organ", "plucked", "struck string"):
        notes = [ScoreNote(0.5 * i, 3 - 0.5 * i, hertz, level=0.3 + 0.1 * i) for i, hertz in enumerate(major)]
        found[f"a pure chord, {sound}"] = (Score(tuple(notes)), TIMBRES[sound])
    long_rest = (ScoreNote(0.31, 0.7, 220.0, level=0.9), ScoreNote(4.2, 1.03, 233.1, level=0.2))
    found["a soft note after a rest"] = (Score(long_rest), TIMBRES["brass"])
    found["a walking voice"] = (Score((ScoreNote(0.013, 4, 110.0),)), singer)
    found["a count-in and a low note"] = (
        Score((ScoreNote(0, 1, 1000.0, voice="count"), ScoreNote(1, 2, 41.2, voice="bass"))),
        {"count": TIMBRES["tick"], "bass": TIMBRES["plucked"]},
    )
    return found


@pytest.mark.parametrize("name", a_few_scores())
def test_loudness_is_foreseen(name: str) -> None:
    """What is worked out from the partials is what is measured of the samples, to a tenth of a LU."""
    score, timbre = a_few_scores()[name]
    assert expected_loudness(score, timbre) == pytest.approx(loudness(render(score, timbre)), abs=0.1)


def test_loudness_of_exhibits_is_foreseen() -> None:
    """All of them at their defaults, as `render` has them without a gain."""
    for exhibit in EXHIBITS.values():
        values = exhibit.settle({})
        score, timbre = exhibit.score(**values), exhibit.timbre(**values)
        assert expected_loudness(score, timbre) == pytest.approx(loudness(render(score, timbre)), abs=0.1)


def test_loudness_of_a_tune_is_foreseen() -> None:
    """Some hundred notes for four voices with timbres of their own."""
    tune = retune(parse_lead_sheet(TUNES[0]), THIRTY_ONE, Taste(0.6))
    score = tune_score(tune, 31)
    expected = expected_loudness(score, tune_timbres())
    assert expected == pytest.approx(loudness(render(score, tune_timbres())), abs=0.1)
    assert reference_gain(score, tune_timbres()) == pytest.approx(10 ** ((REFERENCE_LOUDNESS - expected) / 20))


def test_what_cannot_be_heard_has_no_gain() -> None:
    """Silence is minus infinity, as it is measured, and cannot be turned up."""
    silent = Score((ScoreNote(0, 1, 220.0, level=0),))
    for score in (silent, Score(())):
        assert expected_loudness(score, TIMBRES["sine"]) == -math.inf
        with pytest.raises(ValueError, match="nothing in the score can be heard"):
            reference_gain(score, TIMBRES["sine"])


@pytest.mark.parametrize("gain", [0, -1, math.nan, math.inf, "loud", True])
def test_a_gain_is_a_factor_above_0(gain: Any) -> None:
    """Else it is refused before anything is rendered."""
    with pytest.raises(ValueError, match="a gain is a factor above 0"):
        render(Score((ScoreNote(0, 1, 220.0),)), TIMBRES["sine"], gain=gain)


def test_a_gain_multiplies_what_is_rendered() -> None:
    """Sample by sample, below the ceiling, which it does not move."""
    score = Score((ScoreNote(0, 1, 220.0, level=0.5), ScoreNote(0.5, 1, 331.0, level=0.5)))
    plain, louder, loudest = (render(score, TIMBRES["reed"], gain=gain) for gain in (1.0, 1.5, 100.0))
    assert np.allclose(louder, 1.5 * plain, atol=1e-12)
    assert 0.99 < np.abs(loudest).max() / 10 ** (-12 / 20) <= 1
