"""Each cost of retuning decides something that can be heard: set to nothing, it changes the music of its check."""

from __future__ import annotations

import importlib
import time
from collections.abc import Callable, Iterator

import pytest

from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, Taste, retune
from tunelib.pitch.tunings import THIRTY_ONE

retuning = importlib.import_module("tunelib.harmony.retune")  # the module: its room has the function by that name

# What is no cost: numbers that say which realisations there are.
LIMITS = {
    "_CHORDS_BETWEEN_TELLING",
    "_SHARE_OF_SEARCH",
    "CENTS_PER_OCTAVE",
    "UPPER_VOICES",
    "FEWEST_STEPS",
    "MOST_STEPS",
    "_SPAN",
    "_RUBBING",
    "_LARGEST_SHIFT",
    "_LAYOUTS",
    "_MOST_ALTERED",
}


def tune(text: str, adventure: float, colour: float = 0.0, *, drift: bool = False) -> RetunedTune:
    """A lead sheet retuned in thirty-one."""
    return retune(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure, colour, drift))


def symbols(text: str, adventure: float, colour: float = 0.0) -> list[str]:
    """The symbols of its chords."""
    return [chord.chord.symbol for chord in tune(text, adventure, colour).chords]


def shifts(text: str, adventure: float, *, drift: bool = False) -> list[int]:
    """By how many dieses each root is off its place."""
    return [chord.shift for chord in tune(text, adventure, drift=drift).chords]


def purer() -> None:
    """A dominant's seventh goes to the harmonic one, because 4:5:6:7 is purer: 7/4 is a cent off in 31, 9/5 eleven"""
    [chord] = tune("| C7 |", 0.3).chords
    assert chord.chord.symbol == "Charm7"


def simpler() -> None:
    """A major triad keeps its third at a bold taste, because 4:5:6 is simpler than 18:22:27, as pure in 31"""
    assert symbols("| C |", 0.8) == ["C"]


def smoother() -> None:
    """A major seventh stays, because a stack of neutral thirds, which is as pure in 31, is rougher"""
    assert symbols("| Cmaj7 |", 0.8) == ["Cmaj7"]


def nearer() -> None:
    """A bright G7 widens its third; before a C it widens its seventh instead, because the voices then move less"""
    assert symbols("| G7 |", 0.3, 1.0) == ["Gsup7"]
    assert symbols("| G7 | C |", 0.3, 1.0) == ["Gmid7", "C"]


def as_written() -> None:
    """A plain taste keeps the seventh that is written, because leaving a family has its price"""
    assert symbols("| C7 |", 0.0) == ["C7"]


def bold() -> None:
    """The boldest taste makes a minor third subminor (6:7:9), because it likes what is not written"""
    assert symbols("| Cm |", 1.0) == ["Csub"]


def rooted() -> None:
    """The E of E7 stays in its place before a C, because a root a diesis off has its price, though voices moved less"""
    assert shifts("| E7 | C |", 0.0) == [0, 0]


def drifting_late() -> None:
    """Up by major thirds, one drift of a diesis closes the circle (128/125), because a drift is motion too"""
    assert shifts("| C | E | Ab |", 0.4, drift=True) == [0, 0, -1]


def drifting_slowly() -> None:
    """No root drifts by two dieses at once, nor under a held note, because either would be heard as a slip"""
    assert shifts("| C | E | Ab |", 0.4, drift=True) == [0, 0, -1]
    assert shifts("| C | E | Ab | C |\nmelody: | D5:4 | .:4 | .:4 | .:4 |", 0.0, drift=True) == [0, 0, 0, 0]


def coloured() -> None:
    """A dark minor seventh has low third and seventh, a bright one high ones, because colour was asked for"""
    assert symbols("| Cm7 |", 0.6, -1.0) == ["Csubharm7"]
    assert symbols("| Cm7 |", 0.6, 1.0) == ["Cneumid7"]


def in_tune_with_the_melody() -> None:
    """A C7 under B flat keeps its seventh, because the harmonic one would rub against the melody by a diesis"""
    assert symbols("| C7 |\nmelody: | Bb4:4 |", 0.3) == ["C7"]
    assert symbols("| C7 |\nmelody: | Bhb4:4 |", 0.0) == ["Charm7"]


CHECKS: dict[str, Callable[[], None]] = {
    "_PER_CENT_OFF": purer,
    "_PER_BIT": simpler,
    "_ROUGHNESS": smoother,
    "_PER_STEP_MOVED": nearer,
    "_PER_ALTERATION": as_written,
    "_REWARD": bold,
    "_PER_SHIFT": rooted,
    "_DRIFTING": drifting_late,
    "_FARTHER": drifting_slowly,
    "_COLOUR": coloured,
    "_CLASH": in_tune_with_the_melody,
}


@pytest.fixture(autouse=True)
def weighed_anew() -> Iterator[None]:
    """What was weighed at other costs is forgotten."""
    retuning._weighed.cache_clear()
    yield
    retuning._weighed.cache_clear()


def test_every_cost_has_its_check() -> None:
    """A number of the module is a limit, or a cost that a check here notices"""
    numbers = {
        name
        for name, value in vars(retuning).items()
        if name.isupper() and isinstance(value, (int, float)) and not isinstance(value, bool)
    }
    assert numbers - LIMITS == set(CHECKS)


@pytest.mark.parametrize("cost", CHECKS)
def test_each_cost_decides_what_its_check_says(cost: str) -> None:
    CHECKS[cost]()


@pytest.mark.parametrize("cost", CHECKS)
def test_without_the_cost_the_choice_is_another(cost: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """And it takes less than half a second to find out"""
    CHECKS[cost]()
    retuning._weighed.cache_clear()
    monkeypatch.setattr(retuning, cost, 0)
    began = time.process_time()
    with pytest.raises(AssertionError):
        CHECKS[cost]()
    assert time.process_time() - began < 0.5
