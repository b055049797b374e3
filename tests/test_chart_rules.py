"""The rules of the trade, over sixty progressions in all keys: what is written is meant, and a band would play it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import chart_rules as rules
import pytest
from chart_rules import Rule
from progressions import PROGRESSIONS, REMOTE_KEYS, TWELVE_KEYS, keys_of, sheet

from tunelib.harmony import Chord, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, Note

CADENCE = "| Dm7 | G7 | Cmaj7 |"


@dataclass(frozen=True)
class Chart:
    """A chart made up: a lead sheet, the notes of each chord, the chords as they are tuned, what is said of each."""

    bars: str
    notes: tuple[str, ...]
    tuned: tuple[str, ...] = ()
    why: str = "as written."
    drift: bool = False

    def tune(self) -> RetunedTune:
        tune = retune(parse_lead_sheet(self.bars), THIRTY_ONE, Taste(0.0, drift=self.drift))
        symbols = self.tuned or [chord.written.symbol for chord in tune.chords]
        chords = [
            replace(chord, chord=Chord.parse(symbol), notes=tuple(map(Note.parse, notes.split())), why=self.why)
            for chord, symbol, notes in zip(tune.chords, symbols, self.notes, strict=True)
        ]
        return replace(tune, chords=tuple(chords))


GOOD = {
    "a cadence": Chart(
        f"{CADENCE}\nmelody: | D5:4 | D5:4 | E5:4 |", ("D2 F3 A3 C4", "G1 F3 B3 D4", "C2 E3 G3 B3")
    ),
    "a flat ninth over its root": Chart("| G7b9/B |", ("B1 G3 F4 Ab4",)),
    "a passing note": Chart("| Cmaj7 |\nmelody: | C5:1/2 B4:1/2 G4:3 |", ("C2 E3 G3 B3",)),
    "a half-diminished chord keeps its root": Chart("| Dm7b5 |", ("D2 F3 Ab3 C4 D4",)),
    "a sharp ninth as it is sung": Chart("| D7#9 |\nmelody: | F5:4 |", ("D2 F#3 C4 F4",)),
    "a melody that forbids": Chart(
        "| G7 | C6 | G7 | G7 |\nmelody: | F4:4 | E4:4 | D4:4 | D4:4 |",
        ("G1 F3 B3 D4", "C2 E3 A3", "G1 Fhb3 B3 D4", "G1 Fhb3 B3 D4"),
        ("G7", "C6", "Gharm7", "Gharm7"),
        "G7, because of the melody.",
    ),
    "a drift": Chart("| F | F |", ("F2 A3 C4", "E#2 Gx3 B#3"), ("F", "E#"), drift=True),
}  # fmt: skip

BAD: dict[str, tuple[Rule, Chart, str]] = {
    "a note that is not written": (
        rules.as_written, Chart("| G7 |", ("G1 Fhb3 B3 D4",)), "bar 1 G7: G1 F½♭3 B3 D4"
    ),
    "a bass that is not written": (rules.as_written, Chart("| C/E |", ("E½♭2 E3 G3 C4",)), "bar 1 C/E: E½♭2 E3 G3 C4"),
    "a word taken away": (
        rules.words_kept, Chart("| Charm7 |", ("C2 E3 G3 Bb3",), ("C7",)), "bar 1 Charm7 as C7: lost [(7, -3)]"
    ),
    "a root that moved": (
        rules.roots_in_place, Chart("| G7 |", ("Gh#1 Fh#3 Bh#3",), ("Gh#7",)), "bar 1 G7 as Gh#7: G½♯ for G"
    ),
    "one symbol in two tunings": (
        rules.one_tuning_a_symbol,
        Chart("| G7 | C6 | G7 |", ("G1 F3 B3", "C2 E3 A3", "G1 Fhb3 B3"), ("G7", "C6", "Gharm7")),
        "bar 3 G7 as Gharm7: in bar 1 G7",
    ),
    "and the melody no reason": (
        rules.one_tuning_a_symbol,
        Chart(
            "| G7 | C6 | G7 |\nmelody: | D4:4 | E4:4 | D4:4 |",
            ("G1 F3 B3", "C2 E3 A3", "G1 Fhb3 B3"),
            ("G7", "C6", "Gharm7"),
            "Gharm7, because of the melody.",
        ),
        "bar 3 G7 as Gharm7: in bar 1 G7",
    ),
    "a thirteenth in another family": (
        rules.thirteenths_keep_their_third,
        Chart("| G13 |", ("G1 F3 Bh#3 E4",), ("Gsup13",)),
        "bar 1 G13 as Gsup13: G1 F3 B½♯3 E4",
    ),
    "a thirteenth without its third": (
        rules.thirteenths_keep_their_third, Chart("| G13 |", ("G1 F3 A3 E4",)), "bar 1 G13: G1 F3 A3 E4"
    ),
    "a sharp ninth beside a minor tenth": (
        rules.one_spelling_with_the_melody,
        Chart("| D7#9 |\nmelody: | F5:4 |", ("D2 F#3 C4 E#4",)),
        "bar 1 D7#9: E♯4 under F5 in the melody",
    ),
    "a triple flat": (
        rules.names_can_be_read,
        Chart("| Cb7 |", ("Cb2 Eb3 Bbbhb3",), ("Cbharm7",)),
        "bar 1 Cb7 as Cbharm7: B𝄫½♭",
    ),
    "a root that has a plainer name": (
        rules.moved_roots_have_plain_names,
        Chart("| B7 |", ("Bh#1 Ah#3",), ("Bh#7",)),
        "bar 1 B7 as Bh#7: B½♯, plainly C♭",
    ),
    "a melody below": (
        rules.melody_on_top,
        Chart("| G7 |\nmelody: | D5:2 B3:2 |", ("G1 F3 B3 D4",)),
        "bar 1 G7: G1 F3 B3 D4 over B3 in the melody",
    ),
    "voices too high": (
        rules.upper_voices_in_register, Chart("| G7 |", ("G1 F4 B4 F5",)), "bar 1 G7: G1 F4 B4 F5"
    ),
    "voices too low": (rules.upper_voices_in_register, Chart("| G7 |", ("G1 A2 F3",)), "bar 1 G7: G1 A2 F3"),
    "a bass too high": (rules.bass_where_basses_play, Chart("| G7 |", ("G3 B3 F4",)), "bar 1 G7: G3"),
    "a bass too low": (rules.bass_where_basses_play, Chart("| Eb7 |", ("Eb1 G3 Db4",)), "bar 1 Eb7: E♭1"),
    "another bass": (rules.bass_as_written, Chart("| Dm7 |", ("F2 F3 A3 C4",)), "bar 1 Dm7: F2"),
    "a root doubled": (
        rules.no_root_doubled_beside_a_seventh, Chart("| Dm7 |", ("D2 F3 C4 D4",)), "bar 1 Dm7: D2 F3 C4 D4"
    ),
    "a root twice above": (
        rules.no_root_twice_above, Chart("| Dm7 |", ("D2 D3 F3 C4 D4",)), "bar 1 Dm7: D2 D3 F3 C4 D4"
    ),
    "a semitone on top": (
        rules.no_semitone_on_top, Chart("| Cmaj7 |", ("C2 E3 G3 B3 C4",)), "bar 1 Cmaj7: C2 E3 G3 B3 C4"
    ),
    "a minor ninth inside": (
        rules.no_minor_ninth_inside, Chart("| Cmaj7 |", ("C2 B3 E4 C5",)), "bar 1 Cmaj7: B3 C5"
    ),
    "a flat thirteenth over the fifth": (
        rules.no_minor_ninth_inside, Chart("| G7b13 |", ("G1 D3 B3 Eb4",)), "bar 1 G7b13: D3 E♭4"
    ),
    "no seventh": (
        rules.guide_tones_sound, Chart("| G7 |", ("G1 B3 D4",)), "bar 1 G7: G1 B3 D4 without [(7, -2)]"
    ),
    "a third in the mud": (rules.low_interval_limits, Chart("| C |", ("C2 E2 G3",)), "bar 1 C: C2 E2, not below Bb2"),
    "a hole above the bass": (rules.no_hole_above_the_bass, Chart("| G7 |", ("G1 B3 F4",)), "bar 1 G7: G1 B3"),
    "a hole between voices": (
        rules.no_hole_between_upper_voices, Chart("| G7 |", ("G1 D3 F4 B4",)), "bar 1 G7: G1 D3 F4 B4"
    ),
    "two voices that rub": (
        rules.no_hole_between_upper_voices, Chart("| D7#9 |", ("D2 F#3 E#4 F4",)), "bar 1 D7#9: D2 F♯3 E♯4 F4"
    ),
    "a seventh that rises": (
        rules.sevenths_resolve,
        Chart("| G7 | Cmaj7 |", ("G1 F3 B3 D4", "C2 G3 B3 E4")),
        "bar 1 G7 to Cmaj7: G1 F3 B3 D4 to C2 G3 B3 E4",
    ),
    "a major seventh under a held root": (
        rules.no_semitone_under_the_melody,
        Chart("| Cmaj7 |\nmelody: | C5:4 |", ("C2 E3 G3 B3",)),
        "bar 1 Cmaj7: B3 under C5",
    ),
}  # fmt: skip
EACH_RULE = sorted({rule for rule, _, _ in BAD.values()}, key=lambda rule: rule.__name__)


@pytest.mark.parametrize("chart", GOOD.values(), ids=GOOD)
def test_no_rule_finds_a_fault_in_a_good_chart(chart: Chart) -> None:
    tune = chart.tune()
    spared = {rules.as_written} if chart.tuned else set()
    assert [fault for rule in EACH_RULE if rule not in spared for fault in rule(tune)] == []


@pytest.mark.parametrize(("rule", "chart", "fault"), BAD.values(), ids=BAD)
def test_each_rule_finds_what_breaks_it(rule: Rule, chart: Chart, fault: str) -> None:
    assert rule(chart.tune()) == [fault]


def test_the_progressions_are_many_and_in_all_keys() -> None:
    assert len(PROGRESSIONS) >= 60
    for name in PROGRESSIONS:
        assert keys_of(name, TWELVE_KEYS) == list(TWELVE_KEYS)
        assert {note.bar for note in sheet(name).melody} or name == "alone"
    assert all(len([name for name in PROGRESSIONS if key in keys_of(name)]) > 50 for key in REMOTE_KEYS)
    symbols = {chord.symbol for name in PROGRESSIONS for chord in sheet(name).chords}
    assert {"Fneu", "Cwide7", "Gharm7", "Dsubharm7", "Charm9h#11"} <= symbols
