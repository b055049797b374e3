"""The rules of the trade, over sixty progressions in all keys: what is written is meant, and a band would play it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import chart_rules as rules
import pytest
from chart_rules import Rule
from progressions import PROGRESSIONS, REMOTE_KEYS, TWELVE_KEYS, keys_of, sheet

from tunelib.harmony import COMPING, Chord, RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, Note, equal

CADENCE = "| Dm7 | G7 | Cmaj7 |"


@dataclass(frozen=True)
class Chart:
    """A chart made up: a lead sheet, the notes of each chord, and where it matters the chords as they are tuned, what
    is said of each, and the melody as it sounds.
    """

    bars: str
    notes: tuple[str, ...]
    tuned: tuple[str, ...] = ()
    why: str = "as written."
    drift: bool = False
    sung: tuple[str, ...] = ()

    def tune(self) -> RetunedTune:
        tune = retune(parse_lead_sheet(self.bars), THIRTY_ONE, Taste(0.0, drift=self.drift))
        symbols = self.tuned or [chord.written.symbol for chord in tune.chords]
        chords = [
            replace(chord, chord=Chord.parse(symbol), notes=tuple(map(Note.parse, notes.split())), why=self.why)
            for chord, symbol, notes in zip(tune.chords, symbols, self.notes, strict=True)
        ]
        sung = [replace(note, note=Note.parse(name)) for note, name in zip(tune.melody, self.sung, strict=False)]
        return replace(tune, chords=tuple(chords), melody=tuple(sung) or tune.melody)


GOOD = {
    "a cadence": Chart(
        f"{CADENCE}\nmelody: | D5:4 | D5:4 | E5:4 |", ("D2 F3 A3 C4", "G1 F3 B3 D4", "C2 E3 G3 B3")
    ),
    "a flat ninth over its root": Chart("| G7b9/B |", ("B1 G3 F4 Ab4",)),
    "an eleventh without its third": Chart("| C11 |", ("C2 Bb3 D4 F4",)),
    "a passing note": Chart("| Cmaj7 |\nmelody: | C5:1/2 B4:1/2 G4:3 |", ("C2 E3 G3 B3",)),
    "a half-diminished chord keeps its root": Chart("| Dm7b5 |", ("D2 F3 Ab3 C4 D4",)),
    "a sharp ninth as it is sung": Chart("| D7#9 |\nmelody: | F5:4 |", ("D2 F#3 C4 F4",)),
    "a melody that forbids": Chart(
        "| G7 | C6 | G7 | G7 |\nmelody: | F4:4 | E4:4 | D4:4 | D4:4 |",
        ("G1 F3 B3 D4", "C2 E3 A3", "G1 Fhb3 B3 D4", "G1 Fhb3 B3 D4"),
        ("G7", "C6", "Gharm7", "Gharm7"),
        "G7, because of the melody.",
    ),
    "a third alone under a sung seventh": Chart(
        "| G7 |\nmelody: | F4:4 |", ("G1 F3 Bhb3",), ("Gneu7",)
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
    "a repeat with other notes": (
        rules.same_sign_same_notes,
        Chart("|: C6 | G7 :|", ("C2 E3 A3", "G1 F3 B3", "C2 E3 A3", "G1 F3 D4")),
        "bar 2 G7: G1 F3 D4, and before G1 F3 B3",
    ),
    "a third before the seventh": (
        rules.sevenths_of_dominants_go_first, Chart("| G7 |", ("G1 F3 Bh#3",), ("Gsup7",)), "bar 1 G7 as Gsup7"
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
    "a melody that moved": (
        rules.melody_as_written,
        Chart("| C6 |\nmelody: | C5:2 G4:2 |", ("C2 E3 A3",), sung=("C5", "Gh#4")),
        "bar 1: G½♯4 for G4 in the melody",
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
    "three voices close on top": (
        rules.no_cluster_on_top, Chart("| G13 |", ("G1 B3 E4 F4 Fh#4",), ("G13",)), "bar 1 G13: G1 B3 E4 F4 F½♯4"
    ),
    "a flat thirteenth with the fifth": (
        rules.no_degrees_at_odds, Chart("| G7b13 |", ("G1 F3 B3 D4 Eb4",)), "bar 1 G7b13: G1 F3 B3 D4 E♭4"
    ),
    "two ninths": (
        rules.no_degrees_at_odds, Chart("| G7b9#9 |", ("G1 F3 B3 Ab4 A#4",)), "bar 1 G7b9#9: G1 F3 B3 A♭4 A♯4"
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
        assert keys_of(name)[:12] == TWELVE_KEYS
        assert {note.bar for note in sheet(name).melody} or name == "alone"
    assert all(len([name for name in PROGRESSIONS if key in keys_of(name)]) > 50 for key in REMOTE_KEYS)
    symbols = {chord.symbol for name in PROGRESSIONS for chord in sheet(name).chords}
    assert {"Fneu", "Cwide7", "Gharm7", "Dsubharm7", "Charm9h#11"} <= symbols


@dataclass(frozen=True)
class Setting:
    """What charts are made for: a division, a taste, and how much is tried.

    `keys` of a progression are tried, each progression in others than the next; and of the progressions every second
    where `every` is 2.
    """

    division: int = 31
    adventure: float = 0.3
    drift: bool = False
    voicing: str = "rootless"
    keys: int = 1
    every: int = 1

    def __str__(self) -> str:
        return f"{self.division} at {self.adventure:g}{' drifting' if self.drift else ''}, {self.voicing}"


SETTINGS = [
    Setting(keys=13),
    Setting(adventure=0.0, keys=3),
    Setting(adventure=0.6),
    Setting(adventure=1.0),
    *(Setting(adventure=adventure, drift=True) for adventure in (0.0, 0.3, 1.0)),
    *(Setting(adventure=a, voicing=style, every=2) for style in COMPING if style != "rootless" for a in (0.3, 1.0)),
    *(Setting(division, adventure, every=2) for division in (12, 19, 41, 53) for adventure in (0.0, 0.6)),
]
ALL_KEYS = TWELVE_KEYS + REMOTE_KEYS


@lru_cache(maxsize=len(SETTINGS))
def charts(setting: Setting) -> tuple[tuple[str, RetunedTune], ...]:
    """Progressions with the keys that they are in, and what becomes of them."""
    tuning = equal(setting.division)
    taste = Taste(setting.adventure, drift=setting.drift, voicing=setting.voicing)
    turn = SETTINGS.index(setting)
    tunes = []
    for place, name in enumerate(PROGRESSIONS):
        if (place + turn) % setting.every:
            continue
        for key in (ALL_KEYS[(5 * place + turn + more) % len(ALL_KEYS)] for more in range(setting.keys)):
            on_a_key = Note.named(key).half_sharps % 2 == 0
            if key in keys_of(name) and (on_a_key or tuning.half_sharp is not None):
                tunes.append((f"{name} in {key}", retune(sheet(name, key), tuning, taste)))
    return tuple(tunes)


def faults(rule: Rule, setting: Setting) -> list[str]:
    """All that breaks a rule."""
    return [f"{name}, {fault}" for name, tune in charts(setting) for fault in rule(tune)]


NOT_ALWAYS = {  # what other rules or the melody may outweigh, and for how many chords of a hundred
    rules.sevenths_resolve: 1,
    rules.no_semitone_under_the_melody: 1,
    rules.no_hole_above_the_bass: 1,
    rules.shaped: 5,
}
ALWAYS = [rule for rule in EACH_RULE if rule not in {*NOT_ALWAYS, rules.as_written}]


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("rule", ALWAYS, ids=lambda rule: rule.__name__)
def test_every_chart_keeps_the_rule(rule: Rule, setting: Setting) -> None:
    found = faults(rule, setting)
    assert not found, f"{len(found)} faults, such as {found[:3]}"


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("rule", NOT_ALWAYS, ids=lambda rule: rule.__name__)
def test_nearly_every_chart_keeps_the_rule(rule: Rule, setting: Setting) -> None:
    found = faults(rule, setting)
    chords = sum(len(tune.chords) for _, tune in charts(setting))
    assert len(found) <= NOT_ALWAYS[rule] * chords / 100, f"{len(found)} faults, such as {found[:3]}"


def test_every_key_is_tried_with_forty_progressions() -> None:
    keys = Counter(label.rpartition(" in ")[2] for label, _ in charts(SETTINGS[0]))
    assert set(keys) == set(ALL_KEYS) and min(keys[key] for key in TWELVE_KEYS) >= 40


@pytest.mark.parametrize("setting", [setting for setting in SETTINGS if not setting.adventure], ids=str)
def test_without_adventure_every_note_is_as_written(setting: Setting) -> None:
    assert not faults(rules.as_written, setting)


def test_more_adventure_changes_more() -> None:
    """Of every progression, and altogether much more."""
    counts = []
    for adventure in (0.0, 0.3, 0.6, 1.0):
        tunes = [retune(sheet(name), THIRTY_ONE, Taste(adventure)) for name in PROGRESSIONS]
        counts.append([sum(chord.chord.degrees != chord.meant.degrees for chord in tune.chords) for tune in tunes])
    assert all(less <= more for fewer, many in pairwise(counts) for less, more in zip(fewer, many, strict=True))
    assert sum(counts[0]) == 0 < sum(counts[1]) < sum(counts[2]) < sum(counts[3])
