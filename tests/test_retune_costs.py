"""Each cost of retuning decides something that can be heard: set to nothing, it changes the music of its check."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest

from tunelib.harmony.choices import NO_CHOICES, Choices
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.harmony.taste import Taste
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE

CANDIDATES, LAYOUTS, TONES, SEARCH = (
    importlib.import_module(f"tunelib.harmony.{name}")
    for name in ("candidates", "comping_layouts", "comping_tones", "best_path")
)
MODULES: tuple[ModuleType, ...] = (CANDIDATES, LAYOUTS, TONES, SEARCH)

# What is no cost: numbers that say which realisations there are, or how far something is.
LIMITS = {
    "CENTS_PER_OCTAVE",
    "_AS_PURE",
    "_BEST",
    "_CLUSTER",
    "_EITHER_WAY",
    "_FEWEST",
    "_FIFTH",
    "_HALVED_AFTER",
    "_MINOR_NINTH",
    "_MOST_HALF_SHARPS",
    "_REMEMBERED",
    "_ROUNDS",
    "_SEMITONE",
    "_TELLING",
    "_UNDER_MELODY",
    "_WHOLE_TONE",
    "_WIDEST_GAP_TO_BASS",
}


def tune(
    text: str, adventure: float, colour: float = 0.0, *, drift: bool = False, choices: Choices = NO_CHOICES
) -> RetunedTune:
    """A lead sheet retuned in thirty-one."""
    return retune(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure, colour, drift), choices)


def symbols(text: str, adventure: float, colour: float = 0.0) -> list[str]:
    """The symbols of its chords."""
    return [chord.chord.symbol for chord in tune(text, adventure, colour).chords]


def upper(text: str, place: int = 0, adventure: float = 0.0, voicing: str = "rootless") -> str:
    """The upper voices of one of its chords."""
    found = retune(parse_lead_sheet(text), THIRTY_ONE, Taste(adventure, voicing=voicing))
    return " ".join(map(str, found.chords[place].notes[1:]))


def purer() -> None:
    """A C7 with the harmonic seventh keeps its third at the boldest taste, because 9/7 beside it is less pure"""
    assert symbols("| C7 |", 1.0) == ["Charm7"]


def simpler() -> None:
    """An Em7 goes to 12:14:18:21 at the boldest taste, because that is simpler than 18:22:27:33, as pure in 31"""
    assert symbols("| Em7 |", 1.0) == ["Esubharm7"]


def smoother() -> None:
    """A Cmaj7 is not piled up from its third, where its voices rub, because an open spacing is smoother"""
    assert upper("| Cmaj7 |") == "G3 B3 E4"


def nearer() -> None:
    """Three voices of Db7 stay where they are in F#dim7 or move by steps, because motion has its price"""
    assert upper("| Db7 | F#dim7 |", 1) == "E♭3 F♯3 A3 C4"


def as_written() -> None:
    """A minor seventh stays in its family at a middling taste, because leaving it has its price"""
    assert symbols("| Cm7 |", 0.6) == ["Cm7"]


def bold() -> None:
    """The boldest taste makes a major seventh neutral, because it likes what is not written"""
    assert symbols("| Cmaj7 |", 1.0) == ["Cneumid7"]


def resolved() -> None:
    """An Fm7 has its E flat where the D of a Bb7 can follow it, because a seventh falls or stays"""
    assert upper("| Fm7 | Bb7 | Ebmaj7 | C7 | F7 |").startswith("C3 A♭3 E♭4")


def at_home() -> None:
    """A two five one goes nowhere, because a drift must save more than it costs"""
    tune_of = tune("| Dm7 G7 | Cmaj7 A7 | Dm7 G7 | C6 |", 0.4, drift=True)
    assert {chord.shift for chord in tune_of.chords} == {0}


def drifting_slowly() -> None:
    """No root drifts under a held note of the melody, nor by two dieses, because either would be heard as a slip"""
    held = tune("| Emaj7 G#m7 | Abm7 Db7 |\nmelody: | B4:2 B4:2 | .:2 Ab4 B4 |", 0.4, drift=True)
    assert [chord.shift for chord in held.chords] == [0, 0, 0, 0]


def coloured() -> None:
    """A dark minor seventh has low third and seventh, because colour was asked for"""
    assert symbols("| Cm7 |", 0.6, -1.0) == ["Csubharm7"]


def in_tune_with_the_melody() -> None:
    """Where every tuning rubs against the melody the one is taken that rubs least"""
    [chord] = tune("| G7 |\nmelody: | F4 Ab4 Bhb4:2 |", 0.6).chords
    assert (chord.chord.symbol, chord.clashes) == ("Gsupharm7", 1)


def clear() -> None:
    """Under a low melody a C7 keeps its fifth, and nothing is below C3, because a low interval limit is one"""
    assert upper("| D7#11 | C7 |\nmelody: | D5:4 | Bb3:4 |", 1) == "E3 G3 B♭3"


def never_a_cluster() -> None:
    """A sharp ninth is not right under the third, because an arranger refuses that"""
    assert upper("| Dbmaj7 | Cmaj9 | D7#9 |", 2) == "F♯3 A3 C4 E♯4"


def out_of_the_way() -> None:
    """Under a C the B of a G7 is an octave and a ninth away from it, because a semitone under a long note is avoided"""
    assert "B3" not in upper("| G7 | Am9 |\nmelody: | C5:4 | C5:4 |", 1)


def together() -> None:
    """Neighbours within a fifth are best"""
    assert upper("| Cneu | A7b9 |\nmelody: | A4:4 | G4:4 |") == "E½♭3 G3 C4"


def below_the_melody() -> None:
    """Voices go under a low melody and break lesser rules for it, because the melody is on top"""
    assert upper("| C9 | Am9 |\nmelody: | Eb4:4 | C4:4 |", 1) == "E3 G3 C4"


def in_the_middle() -> None:
    """An E7 sharp nine is laid out about the middle of the register, because higher is not better for being smoother"""
    assert upper("| E7#9 | A7b9 |") == "G♯3 B3 D4 F𝄪4"


def whole() -> None:
    """A C9 has its ninth, because leaving an addition out has its price"""
    assert upper("| C9 |") == "E3 G3 B♭3 D4"


def kept() -> None:
    """A note to keep is there, though the voices would be elsewhere"""
    keep = NO_CHOICES.at(0, Chord.parse("C7"), keep=(Note.parse("E3"),))
    assert Note.parse("E3") in tune("| C7 |", 0.0, choices=keep).chords[0].notes


def one_symbol() -> None:
    """Two of three G7s as written rather than one as an exception, because exceptions have their price"""
    assert symbols("| G7 | C | G7 | C |\nmelody: | D5:4 | C5:4 | F5:4 | C5:4 |", 0.3)[::2] == ["G7", "G7"]


CHECKS: dict[str, tuple[ModuleType, Callable[[], None]]] = {
    "_PER_CENT_OFF": (CANDIDATES, purer),
    "_PER_BIT": (CANDIDATES, simpler),
    "_ROUGHNESS": (CANDIDATES, smoother),
    "_PER_STEP_MOVED": (CANDIDATES, nearer),
    "_PER_ALTERATION": (CANDIDATES, as_written),
    "_REWARD": (CANDIDATES, bold),
    "_UNRESOLVED": (CANDIDATES, resolved),
    "_PER_DRIFT": (CANDIDATES, at_home),
    "_FARTHER": (CANDIDATES, drifting_slowly),
    "_COLOUR": (CANDIDATES, coloured),
    "_CLASH": (CANDIDATES, in_tune_with_the_melody),
    "_NEVER": (LAYOUTS, clear),
    "_REFUSED": (LAYOUTS, never_a_cluster),
    "_AVOIDED": (LAYOUTS, out_of_the_way),
    "_NOT_BEST": (LAYOUTS, together),
    "_ABOVE_MELODY": (LAYOUTS, below_the_melody),
    "_PER_OCTAVE_OFF": (LAYOUTS, in_the_middle),
    "_KEPT": (LAYOUTS, kept),
    "_LEFT_OUT": (TONES, whole),
    "EXCEPTION": (SEARCH, one_symbol),
}


@pytest.fixture(autouse=True)
def weighed_anew() -> Iterator[None]:
    """What was weighed at other costs is forgotten."""
    forget()
    yield
    forget()


def forget() -> None:
    for module in MODULES:
        for one in vars(module).values():
            if hasattr(one, "cache_clear"):
                one.cache_clear()


def test_every_cost_has_its_check() -> None:
    """A number of the modules is a limit, or a cost that a check here notices"""
    numbers = {
        name
        for module in MODULES
        for name, value in vars(module).items()
        if name.isupper() and isinstance(value, (int, float)) and not isinstance(value, bool)
    }
    assert numbers - LIMITS == set(CHECKS)


@pytest.mark.parametrize("cost", CHECKS)
def test_each_cost_decides_what_its_check_says(cost: str) -> None:
    CHECKS[cost][1]()


@pytest.mark.parametrize("cost", CHECKS)
def test_without_the_cost_the_choice_is_another(cost: str, monkeypatch: pytest.MonkeyPatch) -> None:
    module, check = CHECKS[cost]
    monkeypatch.setattr(module, cost, 0)
    with pytest.raises(AssertionError):
        check()
