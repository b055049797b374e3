"""Retuning a tune: the path is the best there is, and what is said of each chord is so."""

from __future__ import annotations

import importlib
import math
import re
from fractions import Fraction
from itertools import combinations, pairwise, product
from typing import Any

import numpy as np
import pytest

from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import UPPER_VOICES, RetunedTune, Taste, best_path, retune
from tunelib.hearing.roughness import roughness
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE

module = importlib.import_module("tunelib.harmony.retune")  # its room has the function by that name
STUDY = "| Dm7 | G7 | Cmaj7 | Cmaj7 | Em7b5 | A7b9 | Dm7 | G13 | C69 | Fm6 | D7#11 | G7alt | Caug | Bdim7 | Csus4 | C |"
TASTES = [Taste(0.0), Taste(0.3), Taste(0.6), Taste(1.0), Taste(0.6, -1.0), Taste(0.6, 1.0), Taste(0.5, drift=True)]


@pytest.mark.parametrize("seed", range(6))
def test_no_exhaustive_search_finds_a_cheaper_path(seed: int) -> None:
    """Every path through four columns of nine, tried one by one."""
    random = np.random.default_rng(seed)
    columns = [
        (random.integers(-20, 40, (9, 4)).astype(np.int16), random.uniform(0, 4, 9)) for _ in range(int(seed % 3) + 3)
    ]
    path, cost = best_path(columns, 1 / 8)

    def total(places: tuple[int, ...]) -> float:
        alone = sum(float(costs[place]) for (_, costs), place in zip(columns, places, strict=True))
        moved = 0
        for (before, _), (after, _), i, j in zip(columns, columns[1:], places, places[1:], strict=False):
            moved += int(np.abs(after[j].astype(int) - before[i].astype(int)).sum())
        return alone + moved / 8

    everything = min(product(range(9), repeat=len(columns)), key=total)
    assert cost == pytest.approx(total(everything)) and total(tuple(path)) == pytest.approx(cost)


TINY = {
    "a cadence": ("| Dm7 | G7 | Cmaj7 |", Taste(0.3)),
    "adventurous and dark": ("| Dm7 | G7 | Cmaj7 |", Taste(1.0, -1.0)),
    "a bass and a melody": ("| C/E | F7 |\nmelody: | E4:4 | F4:2 Eb4:2 |", Taste(0.8)),
    "a drift": ("| C | E | Ab |", Taste(0.4, drift=True)),
    "a drift under a melody held over": ("| C | E | Ab |\nmelody: | C5:4 | B4:4 | .:2 C5:2 |", Taste(0.4, drift=True)),
}


@pytest.mark.parametrize(("text", "taste"), TINY.values(), ids=TINY)
def test_no_other_path_through_a_tunes_own_realisations_is_cheaper(
    text: str, taste: Taste, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every path there is, with the cost of each change of chord worked out from the steps of the voices."""
    seen: list[Any] = []

    def keeping(columns: Any, *costs: Any) -> tuple[list[int], float]:
        seen.extend(columns)
        return best_path(columns, *costs)

    monkeypatch.setattr(module, "best_path", keeping)
    monkeypatch.setattr(module, "_LAYOUTS", 2)
    for cache in (module._variants, module._weighed):
        cache.cache_clear()
    sheet = parse_lead_sheet(text)
    tune = retune(sheet, THIRTY_ONE, taste)
    totals = np.asarray(seen[0][1])
    for i, ((before, _), (after, costs)) in enumerate(pairwise(seen)):
        steps = np.abs(before[:, np.newaxis].astype(float) - after[np.newaxis])
        onset = sheet.chords[i + 1].onset
        held = any(note.onset < onset < note.end for note in sheet.melody)
        if taste.drift:  # a diesis counts as two steps, and is out of the question where a note is held or with more
            steps[..., -1] = np.where(steps[..., -1] > (0 if held else 1), 2000, 2 * steps[..., -1])
        totals = totals[..., np.newaxis] + steps.sum(axis=2) / 8 + costs
    for cache in (module._variants, module._weighed):
        cache.cache_clear()
    assert totals.size > 300 and tune.cost == pytest.approx(totals.min())


def test_a_greedy_choice_is_dearer_than_the_best_path() -> None:
    """The cheapest chord first leads astray: 0 then 10 steps, rather than 1 point and no motion."""
    columns = [
        (np.array([[0], [80]], dtype=np.int16), np.array([0.0, 1.0])),
        (np.array([[80]], dtype=np.int16), np.array([0.0])),
    ]
    assert best_path(columns, 1 / 8) == ([1, 0], 1.0)
    assert best_path([], 1 / 8) == ([], 0.0)


@pytest.mark.parametrize("taste", TASTES, ids=str)
def test_what_is_said_of_each_chord_is_so(taste: Taste) -> None:
    """Purity, roughness and motion recomputed from the notes that are there."""
    tune = retune(parse_lead_sheet(STUDY), THIRTY_ONE, taste)
    assert [chord.written.symbol for chord in tune.chords] == re.findall(r"[^\s|]+", STUDY)
    before: list[int] | None = None
    for chord in tune.chords:
        steps = [note.step(THIRTY_ONE) for note in chord.notes]
        upper = steps[1:]
        assert len(upper) == UPPER_VOICES and upper == sorted(upper) and steps[0] < upper[0]
        root = chord.chord.root.step(THIRTY_ONE)
        degrees = {(root + step) % 31 for step in chord.chord.steps(THIRTY_ONE)}
        assert {step % 31 for step in steps} <= degrees, "every voice sings a note of the chord"
        assert (root - chord.written.chord.root.step(THIRTY_ONE) - chord.shift) % 31 == 0
        ratios = chord.chord.ratios(THIRTY_ONE)
        sizes = [1200 * step / 31 for step in sorted(set(chord.chord.steps(THIRTY_ONE)))]
        errors = [
            (sizes[j] - sizes[i]) - 1200 * math.log2(Fraction(ratios[j], ratios[i]))
            for i, j in combinations(range(len(sizes)), 2)
        ]
        assert chord.purity == pytest.approx(math.sqrt(sum(error**2 for error in errors) / len(errors)))
        # Roughness is the same an octave's step away but for the register, so it is reckoned before the root moves.
        hertz = np.array([float(THIRTY_ONE.hz(step - chord.shift)) for step in steps])
        partials = (hertz[:, np.newaxis] * np.arange(1, 9)).ravel()
        assert chord.roughness == pytest.approx(float(roughness(partials, np.tile(0.88 ** np.arange(8), 5))))
        assert chord.motion == (sum(abs(a - b) for a, b in zip(upper, before, strict=True)) if before else 0)
        assert chord.held == (sum(a == b for a, b in zip(upper, before, strict=True)) if before else 0)
        before = upper


@pytest.mark.parametrize("taste", TASTES, ids=str)
def test_the_reasons_are_one_sentence_with_the_numbers_of_the_chord(taste: Taste) -> None:
    for number, chord in enumerate(retune(parse_lead_sheet(STUDY), THIRTY_ONE, taste).chords):
        assert chord.why.endswith(".") and chord.why.count(". ") == 0
        assert f"{chord.purity:.1f} cents" in chord.why and "roughness" in chord.why
        assert ("the upper voices move" in chord.why) == (number > 0)
        if number and chord.motion != 1:
            assert f"move {chord.motion} steps and {chord.held} of 4 stay" in chord.why


def test_a_plain_taste_leaves_every_chord_as_it_is_written() -> None:
    tune = retune(parse_lead_sheet(STUDY), THIRTY_ONE, Taste(0.0))
    assert [chord.chord for chord in tune.chords] == [chord.written.chord for chord in tune.chords]
    assert {chord.shift for chord in tune.chords} == {0}


def test_more_adventure_changes_more_and_colour_moves_thirds_and_sevenths_its_way() -> None:
    sheet = parse_lead_sheet(STUDY)

    def changed(taste: Taste) -> int:
        return sum(chord.chord != chord.written.chord for chord in retune(sheet, THIRTY_ONE, taste).chords)

    counts = [changed(Taste(adventure)) for adventure in (0.0, 0.3, 0.6, 1.0)]
    assert counts == sorted(counts) and counts[0] == 0 < counts[-1]

    def height(taste: Taste) -> int:
        return sum(
            sum(chord.chord.steps(THIRTY_ONE)) - sum(chord.written.chord.steps(THIRTY_ONE))
            for chord in retune(sheet, THIRTY_ONE, taste).chords
        )

    assert height(Taste(0.6, -1.0)) < height(Taste(0.6, 0.0)) < height(Taste(0.6, 1.0))


def test_a_dominant_seventh_takes_the_harmonic_one_and_comes_home() -> None:
    """4:5:6:7 is purer and simpler than 20:25:30:36 (published errors of 31: 5.2 cents at most to the root)."""
    tune = retune(parse_lead_sheet("| Dm7 | G7 | Cmaj7 |"), THIRTY_ONE, Taste(0.3))
    assert [chord.chord.symbol for chord in tune.chords] == ["Dm7", "Gharm7", "Cmaj7"]
    written = retune(parse_lead_sheet("| Dm7 | G7 | Cmaj7 |"), THIRTY_ONE, Taste(0.0))
    assert tune.chords[1].purity < written.chords[1].purity
    assert tune.chords[-1].shift == 0


MELODIES = {
    "the written seventh is held": ("F4", Taste(0.4), "7", False),
    "the harmonic seventh is held": ("Fhb4", Taste(0.4), "harm7", False),
    "a clash is asked for": ("F4", Taste(0.4, clashes=True), "harm7", True),
}


@pytest.mark.parametrize(("note", "taste", "seventh", "clash"), MELODIES.values(), ids=MELODIES)
def test_no_chord_lies_a_diesis_beside_the_melody_unless_asked(
    note: str, taste: Taste, seventh: str, clash: bool
) -> None:
    sheet = parse_lead_sheet(f"| Dm7 | G7 | Cmaj7 |\nmelody: | D4:4 | {note}:4 | E4:4 |")
    chord = retune(sheet, THIRTY_ONE, taste).chords[1]
    assert chord.chord.symbol in (f"G{seventh}", f"Gsup{seventh}") and bool(chord.clashes) == clash
    assert ("melody note clashes" in chord.why) == clash


def test_a_melody_that_clashes_with_every_realisation_is_told_and_not_hidden() -> None:
    """C and C a diesis up, both held over one chord: whatever the root does, one of them rubs."""
    sheet = parse_lead_sheet("| C5 |\nmelody: | Ch#5:2 Chb5:2 |")
    [chord] = retune(sheet, THIRTY_ONE, Taste(0.5)).chords
    assert chord.clashes >= 1 and "clash" in chord.why


def test_roots_drift_only_where_they_may_and_the_melody_goes_along() -> None:
    """Three major thirds up are a diesis short of an octave (128/125, Ellis 1885): E to A flat may be E to G sharp."""
    sheet = parse_lead_sheet(
        "| C | E | Ab | C | E | Ab | C |\nmelody: | C5:4 | B4:4 | C5:4 | C5:4 | B4:4 | C5:4 | C5:4 |"
    )
    home, drifting = retune(sheet, THIRTY_ONE, Taste(0.4)), retune(sheet, THIRTY_ONE, Taste(0.4, drift=True))
    assert home.melody == sheet.melody and home.chords[-1].shift == 0
    assert drifting.chords[0].shift == 0 and drifting.chords[-1].shift < 0
    for before, after in zip(sheet.melody, drifting.melody, strict=True):
        under = next(c for c in reversed(drifting.chords) if c.written.onset <= before.onset)
        assert after.note.step(THIRTY_ONE) - before.note.step(THIRTY_ONE) == under.shift
        assert (after.onset, after.duration) == (before.onset, before.duration)
    assert drifting.cost <= home.cost


def test_a_root_drifts_by_one_diesis_at_a_time_and_not_under_a_held_note() -> None:
    text = "| C | E | Ab | C | E | Ab | F7 | Gb7 | C |"
    free = [chord.shift for chord in retune(parse_lead_sheet(text), THIRTY_ONE, Taste(0.4, drift=True)).chords]
    assert max(abs(after - before) for before, after in pairwise(free)) == 1
    held = f"{text}\nmelody: | D5:4 |{' .:4 |' * 8}"
    tune = retune(parse_lead_sheet(held), THIRTY_ONE, Taste(0.4, drift=True))
    assert {chord.shift for chord in tune.chords} == {0}


@pytest.mark.parametrize("taste", [Taste(1.0, -1.0), Taste(1.0), Taste(1.0, 1.0)], ids=str)
@pytest.mark.parametrize("symbol", ["C/E", "Cm/Eb", "Am7/G", "Abmaj7/G", "C7/Bb"])
def test_a_bass_that_is_a_note_of_the_chord_goes_along_with_it(symbol: str, taste: Taste) -> None:
    """A diesis between the bass and an upper voice would rasp."""
    tune = retune(parse_lead_sheet(f"| {symbol} | {symbol} | F |"), THIRTY_ONE, taste)
    assert taste.colour >= 0 or all(chord.chord != chord.written.chord for chord in tune.chords[:2])
    for chord in tune.chords[:2]:
        names = {(note.letter, note.half_sharps) for note in chord.chord.notes}
        assert (chord.notes[0].letter, chord.notes[0].half_sharps) in names


def test_a_melody_note_beside_a_foreign_bass_is_a_clash() -> None:
    [chord] = retune(parse_lead_sheet("| C/Bb |\nmelody: | Bhb4:4 |"), THIRTY_ONE, Taste(0.0)).chords
    assert chord.clashes == 1


def test_what_was_given_up_for_the_melody_is_said_to_be() -> None:
    sheet = parse_lead_sheet("| Dm7 | G7 | Cmaj7 |\nmelody: | D4:4 | F4:4 | E4:4 |")
    assert re.search(
        r"given up: Gharm7, purer by [\d.]+ cents, for the melody", retune(sheet, THIRTY_ONE, Taste(0.6)).chords[1].why
    )


def test_the_same_tune_gives_the_same_answer_and_the_order_of_its_bars_matters_little_to_time() -> None:
    sheet = parse_lead_sheet(STUDY)
    first, second = retune(sheet, THIRTY_ONE, Taste(0.6)), retune(sheet, THIRTY_ONE, Taste(0.6))
    assert first == second and isinstance(first, RetunedTune)
    assert retune(sheet, THIRTY_ONE) == retune(sheet, THIRTY_ONE, Taste())


@pytest.mark.parametrize(
    "symbol",
    [
        "C5",
        "F#5",
        "Cno5/E",
        "C7b13add13",
        "C",
        "Caug",
        "Cdim7",
        "C7alt",
        "C13#11",
        "C/E",
        "Am7/G",
        "Csus2",
        "Cneu",
        "Charm9h#11",
    ],
)
def test_every_kind_of_chord_is_laid_out_in_five_voices_of_its_notes(symbol: str) -> None:
    [chord] = retune(parse_lead_sheet(f"| {symbol} |"), THIRTY_ONE, Taste(0.0)).chords
    bass = chord.written.chord.bass or chord.written.chord.root
    assert (chord.notes[0].letter, chord.notes[0].half_sharps) == (bass.letter, bass.half_sharps)
    names = {(note.letter, note.half_sharps) for note in chord.notes[1:]}
    assert names <= {(note.letter, note.half_sharps) for note in Chord.parse(symbol).notes}
    low, high = Note.parse("E3").step(THIRTY_ONE), Note.parse("F5").step(THIRTY_ONE)
    assert all(low <= note.step(THIRTY_ONE) <= high for note in chord.notes[1:])


def test_what_cannot_be_retuned_is_refused_in_a_line() -> None:
    sheet = parse_lead_sheet("| C | Cno3no5 |")
    with pytest.raises(ValueError, match="^bar 2: Cno3no5 cannot be laid out in the range of the upper voices$"):
        retune(sheet, THIRTY_ONE)
    for wrong in ((None, THIRTY_ONE), ("| C |", THIRTY_ONE), (sheet, THIRTY_ONE, 0.5)):
        with pytest.raises(ValueError, match="retune takes a LeadSheet and a Taste"):
            retune(*wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Taste(adventure=1.5), "adventure must be from 0 to 1, not 1.5"),
        (lambda: Taste(colour=-2), "colour must be from -1 to 1, not -2"),
        (lambda: Taste(adventure="much"), "adventure must be from 0 to 1, not 'much'"),  # type: ignore[arg-type]
        (lambda: Taste(adventure=float("nan")), "adventure must be from 0 to 1, not nan"),
    ],
)
def test_a_taste_out_of_bounds_says_what_would_be_right(make: Any, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        make()
