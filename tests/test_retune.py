"""Retuning a tune: what is written is meant, and what is said of each chord is so."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from tunelib.harmony.alternatives import alternatives
from tunelib.harmony.choices import NO_CHOICES, Choices
from tunelib.harmony.chords import Chord
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.harmony.taste import COMPING, Taste
from tunelib.hearing.roughness import roughness
from tunelib.pitch.notes import Note
from tunelib.pitch.tunings import THIRTY_ONE

STUDY = "| Dm7 | G7 | Cmaj7 | Cmaj7 | Em7b5 | A7b9 | Dm7 | G13 | C69 | Fm6 | D7#11 | G7alt | Caug | Bdim7 | Csus4 | C |"
TASTES = [Taste(0.0), Taste(0.3), Taste(0.6), Taste(1.0), Taste(0.6, -1.0), Taste(0.6, 1.0), Taste(0.5, drift=True)]
TASTES += [Taste(0.3, voicing=style) for style in COMPING if style != "rootless"]


def retuned(text: str, taste: Taste | None = None, choices: Choices = NO_CHOICES) -> RetunedTune:
    return retune(parse_lead_sheet(text), THIRTY_ONE, taste or Taste(), choices)


def symbols(tune: RetunedTune) -> list[str]:
    return [chord.chord.symbol for chord in tune.chords]


@pytest.mark.parametrize("taste", TASTES, ids=str)
def test_what_is_said_of_each_chord_is_so(taste: Taste) -> None:
    """Purity, roughness and motion recomputed from the notes that are there."""
    tune = retuned(STUDY, taste)
    assert [chord.written.symbol for chord in tune.chords] == re.findall(r"[^\s|]+", STUDY)
    before: list[int] | None = None
    for chord in tune.chords:
        steps = [note.step(THIRTY_ONE) for note in chord.notes]
        assert steps == sorted(set(steps))
        upper = steps[1:]
        root = chord.chord.root.step(THIRTY_ONE)
        assert {step % 31 for step in steps} <= {(root + step) % 31 for step in chord.chord.steps(THIRTY_ONE)}
        assert (root - chord.written.chord.root.step(THIRTY_ONE) - chord.shift) % 31 == 0
        ratios = chord.chord.ratios(THIRTY_ONE)
        sizes = [1200 * step / 31 for step in sorted(set(chord.chord.steps(THIRTY_ONE)))]
        errors = [
            (sizes[j] - sizes[i]) - 1200 * math.log2(Fraction(ratios[j], ratios[i]))
            for i, j in combinations(range(len(sizes)), 2)
        ]
        assert chord.purity == pytest.approx(math.sqrt(sum(error**2 for error in errors) / len(errors)))
        # Roughness is the same an octave's step away but for the register, so it is worked out before the root moves.
        hertz = np.array([float(THIRTY_ONE.hz(step - chord.shift)) for step in steps])
        partials = (hertz[:, np.newaxis] * np.arange(1, 9)).ravel()
        assert chord.roughness == pytest.approx(float(roughness(partials, np.tile(0.88 ** np.arange(8), len(steps)))))
        if before is not None and len(before) == len(upper):
            assert chord.motion == sum(abs(a - b) for a, b in zip(upper, before, strict=True))
            assert chord.held == sum(a == b for a, b in zip(upper, before, strict=True))
        before = upper


@pytest.mark.parametrize("taste", TASTES, ids=str)
def test_the_reasons_are_one_sentence_with_the_numbers_of_the_chord(taste: Taste) -> None:
    for number, chord in enumerate(retuned(STUDY, taste).chords):
        assert chord.why.endswith(".") and chord.why.count(". ") == 0
        assert f"{chord.purity:.1f} cents" in chord.why
        assert ("the upper voices move" in chord.why) == (number > 0)
        if number and chord.motion != 1:
            assert f"move {chord.motion} steps" in chord.why
        assert ("as written;" in chord.why) == (not chord.changed)


def test_without_adventure_every_chord_has_the_notes_that_its_symbol_spells() -> None:
    for taste in (Taste(0.0), Taste(0.0, 1.0), Taste(0.0, -1.0), Taste(0.0, voicing="pads")):
        tune = retuned(STUDY, taste)
        assert [chord.chord for chord in tune.chords] == [chord.written.chord for chord in tune.chords]
        assert {chord.shift for chord in tune.chords} == {0} and not any(chord.changed for chord in tune.chords)


ORDER = {
    0.0: ["C7#11", "Cm7", "Cmaj7", "C13"],
    0.3: ["Charm7#11", "Cm7", "Cmaj7", "Charm13"],
}


@pytest.mark.parametrize("adventure", ORDER)
def test_adventure_changes_first_the_seventh_of_a_dominant_then_the_eleventh(adventure: float) -> None:
    """A judgement of jazz musicians (common practice): brass players know the seventh and eleventh harmonics."""
    assert symbols(retuned("| C7#11 | Cm7 | Cmaj7 | C13 |", Taste(adventure))) == ORDER[adventure]
    assert symbols(retuned("| C7#11 |", Taste(0.8))) == ["Charm7h#11"]


def third(chord: Chord) -> int:
    return next(offset for number, offset in chord.degrees if number == 3)


def test_thirds_are_changed_at_a_bold_taste_alone_and_never_in_a_thirteenth_chord() -> None:
    bold = retuned("| C7 | Cm7 | Cmaj7 | C13 |", Taste(1.0))
    assert [third(chord.chord) != third(chord.meant) for chord in bold.chords[1:]] == [True, True, False]
    cautious = retuned("| C7 | Cm7 | Cmaj7 | C13 |", Taste(0.5))
    assert all(third(chord.chord) == third(chord.meant) for chord in cautious.chords)


@pytest.mark.parametrize("symbol", ["C", "C7", "C13", "Cm7", "Cmaj9", "C7b5", "Cm11", "C7b9"])
def test_no_chord_is_less_pure_than_it_is_meant_unless_colour_is_asked_for(symbol: str) -> None:
    for adventure in (0.3, 0.6, 1.0):
        [chord] = retuned(f"| {symbol} |", Taste(adventure)).chords
        assert chord.purity <= chord.meant.purity(THIRTY_ONE) + 0.05


@pytest.mark.parametrize("symbol", ["Fneu", "Cwide7", "Charm7", "Csub", "Csup", "Cmid7", "Charm9h#11", "C7hb9"])
def test_a_word_that_only_thirty_one_has_is_a_decision_of_the_writer(symbol: str) -> None:
    written = {degree for degree in Chord.parse(symbol).degrees if degree[1] % 2}
    for taste in TASTES:
        [_, chord, _] = retuned(f"| Dm7 | {symbol} | G7 |", taste).chords
        assert written <= chord.chord.degrees


MEANT = {
    "a sharp ninth under its minor tenth": ("D7#9", "F5", "D7b10"),
    "a sharp ninth that the melody has": ("D7#9", "E#5", "D7#9"),
    "a sharp fifth under a flat thirteenth": ("C7#5", "Ab4", "C7no5b13"),
    "a flat thirteenth under a sharp fifth": ("C7b13", "G#4", "C7#5"),
    "a diminished seventh under its sixth": ("Cdim7", "A4", "Cdimadd6"),
    "a flat fifth under a sharp eleventh": ("C7b5", "F#4", "C7no5#11"),
    "a root between the keys": ("Dh#7#9", "Fh#5", "Dh#7b10"),
    "what is not altered": ("Fm7", "G#4", "Fm7"),
}


@pytest.mark.parametrize(("symbol", "note", "meant"), MEANT.values(), ids=MEANT)
def test_melody_and_chord_are_one_spelling(symbol: str, note: str, meant: str) -> None:
    """On a keyboard they are one key (common practice); a diesis between them would be nobody's meaning."""
    tune = retuned(f"| {symbol} |\nmelody: | {note}:4 |", Taste(0.0))
    [chord] = tune.chords
    assert chord.meant == Chord.parse(meant) and chord.chord == chord.meant and not chord.clashes
    step = tune.melody[0].note.step(THIRTY_ONE) % 31
    root = chord.chord.root.step(THIRTY_ONE)
    assert step in {(root + other) % 31 for other in chord.chord.steps(THIRTY_ONE)}
    assert abs(tune.melody[0].note.step(THIRTY_ONE) - Note.parse(note).step(THIRTY_ONE)) == (symbol == "Fm7")


def test_a_note_between_the_keys_is_meant_as_it_is_written() -> None:
    tune = retuned("| C7 |\nmelody: | Bhb4:4 |", Taste(0.0))
    assert tune.melody == tune.sheet.melody and tune.chords[0].clashes == 1


def test_one_symbol_is_tuned_alike_throughout_unless_the_melody_forbids_it() -> None:
    text = "| G7 | C | G7 | C | G7 | C |\nmelody: | D5:4 | C5:4 | D5:4 | C5:4 | {}:4 | C5:4 |"
    free = retuned(text.format("B4"))
    assert symbols(free)[::2] == ["Gharm7"] * 3
    forbidden = retuned(text.format("F5"))
    assert symbols(forbidden)[::2] == ["G7"] * 3
    many = retuned("| G7 | C " * 8 + "| G7 | C |\nmelody: " + "| D5:4 | C5:4 " * 8 + "| F5:4 | C5:4 |")
    assert symbols(many)[::2] == ["Gharm7"] * 8 + ["G7"]
    assert "elsewhere Gharm7, against which the F in the melody rubs" in many.chords[-2].why


def test_a_repeat_is_played_alike_and_its_join_is_weighed() -> None:
    text = "metre: 3/4\n|: Ebmaj7 | C7 | Fm7 | Bb7 | 1. Ab7sus4 . Db7 :| 2. Bb7 | Eb6 |"
    for taste in TASTES:
        tune = retuned(text, taste)
        first: dict[int, Any] = {}
        for chord in tune.chords:
            alike = chord.chord, chord.notes, chord.shift
            assert first.setdefault(chord.written.sign, alike) == alike
    plain = retuned(text)
    join = plain.chords[5], plain.chords[6]
    assert join[1].written.sign == 0 and join[1].motion <= 31
    drawn_out = retuned("| Ebmaj7 | C7 | Fm7 | Bb7 | Ab7sus4 | Db7 | Ebmaj7 |")
    assert join[1].motion <= 2 * max(chord.motion for chord in drawn_out.chords)


MELODIES = {
    "the written seventh is held": ("F4", Taste(0.4), "7", False),
    "the harmonic seventh is held": ("Fhb4", Taste(0.4), "harm7", False),
    "a clash is asked for": ("F4", Taste(0.4, clashes=True), "harm7", True),
}


@pytest.mark.parametrize(("note", "taste", "seventh", "clash"), MELODIES.values(), ids=MELODIES)
def test_no_chord_is_a_diesis_off_the_melody_unless_asked(note: str, taste: Taste, seventh: str, clash: bool) -> None:
    chord = retuned(f"| Dm7 | G7 | Cmaj7 |\nmelody: | D4:4 | {note}:4 | E4:4 |", taste).chords[1]
    assert chord.chord.symbol == f"G{seventh}" and bool(chord.clashes) == clash
    assert ("of the melody rubs against it" in chord.why) == clash


def test_a_melody_that_clashes_with_every_realisation_is_told_and_not_hidden() -> None:
    """C a diesis up and a diesis down, both held over one chord of C."""
    [chord] = retuned("| C5 |\nmelody: | Ch#5:2 Chb5:2 |", Taste(0.5)).chords
    assert chord.clashes == 2 and "2 notes of the melody rub against it" in chord.why


def test_a_melody_note_beside_a_foreign_bass_is_a_clash() -> None:
    [chord] = retuned("| C/Bb |\nmelody: | Bhb4:4 |", Taste(0.0)).chords
    assert chord.clashes == 1


def test_what_was_given_up_for_the_melody_is_said_to_be() -> None:
    tune = retuned("| Dm7 | G7 | Cmaj7 |\nmelody: | D4:4 | F4:4 | E4:4 |", Taste(0.3))
    assert re.search(
        r"Gharm7 would be purer by [\d.]+ cents, but the F in the melody would rub against it", tune.chords[1].why
    )


ENHARMONIC = "| Emaj7 G#m7 | Abm7 Db7 | Gbmaj7 |\nmelody: | B4:2 B4 A#4 | Cb5:2 Ab4 B4 | Bb4:4 |"


def test_roots_drift_only_where_they_may_and_the_melody_goes_along() -> None:
    """G sharp minor becomes A flat minor: on a keyboard nothing moves, in thirty-one everything does, or nothing."""
    home, drifting = retuned(ENHARMONIC, Taste(0.4)), retuned(ENHARMONIC, Taste(0.4, drift=True))
    assert {chord.shift for chord in home.chords} == {0}
    assert [chord.shift for chord in drifting.chords] == [0, 0, -1, -1, -1]
    assert drifting.chords[2].motion == 0 < home.chords[2].motion
    for before, after in zip(home.melody, drifting.melody, strict=True):
        under = next(c for c in reversed(drifting.chords) if c.written.onset <= before.onset)
        assert after.note.step(THIRTY_ONE) - before.note.step(THIRTY_ONE) == under.shift
        assert (after.onset, after.duration) == (before.onset, before.duration)
    assert drifting.cost <= home.cost
    assert [chord.chord.root.name for chord in drifting.chords[2:]] == ["G♯", "C♯", "F♯"]
    for chord in drifting.chords:
        assert all(abs(note.half_sharps) <= 4 for note in (chord.chord.root, *chord.notes))


def test_an_ordinary_tune_drifts_nowhere() -> None:
    for text in ("| Dm7 G7 | Cmaj7 A7 | Dm7 G7 | C6 |", "| Ebm7 Ab7 | Dbmaj7 Bb7 | Ebm7 Ab7 | Db6 |"):
        assert {chord.shift for chord in retuned(text, Taste(0.4, drift=True)).chords} == {0}


def test_no_root_drifts_under_a_held_note() -> None:
    held = ENHARMONIC.replace("Cb5:2 Ab4 B4", ".:2 Ab4 B4").replace("B4 A#4", "B4:2")
    assert {chord.shift for chord in retuned(held, Taste(0.4, drift=True)).chords} == {0}


@pytest.mark.parametrize("taste", [Taste(1.0, -1.0), Taste(1.0), Taste(1.0, 1.0)], ids=str)
@pytest.mark.parametrize("symbol", ["C/E", "Cm/Eb", "Am7/G", "Abmaj7/G", "C7/Bb"])
def test_a_bass_that_is_a_note_of_the_chord_stays_and_so_does_the_note(symbol: str, taste: Taste) -> None:
    """A bass player cannot follow a diesis, and one between the bass and an upper voice would rasp."""
    for chord in retuned(f"| {symbol} | {symbol} | F |", taste).chords[:2]:
        assert chord.chord.bass == chord.written.chord.bass
        names = {(note.letter, note.half_sharps) for note in chord.chord.notes}
        assert (chord.notes[0].letter, chord.notes[0].half_sharps) in names


def test_the_same_tune_gives_the_same_answer() -> None:
    assert retuned(STUDY, Taste(0.6)) == retuned(STUDY, Taste(0.6)) and retuned(STUDY) == retuned(STUDY, Taste())


@pytest.mark.parametrize("style", COMPING)
@pytest.mark.parametrize(
    "symbol",
    "C5 F#5 Cno5/E C7b13add13 C Caug Cdim7 C7alt C13#11 C/E Am7/G Csus2 Cneu Charm9h#11 Cno3no5 C11 Fm11".split(),
)
def test_every_kind_of_chord_is_laid_out_over_its_bass(symbol: str, style: str) -> None:
    [chord] = retuned(f"| {symbol} |", Taste(0.0, voicing=style)).chords
    bass = chord.written.chord.bass or chord.written.chord.root
    assert (chord.notes[0].letter, chord.notes[0].half_sharps) == (bass.letter, bass.half_sharps)
    names = {(note.letter, note.half_sharps) for note in chord.notes[1:]}
    assert names <= {(note.letter, note.half_sharps) for note in Chord.parse(symbol).notes}
    low, high = Note.parse("C3").step(THIRTY_ONE), Note.parse("C5").step(THIRTY_ONE)
    assert all(low <= note.step(THIRTY_ONE) <= high for note in chord.notes[1:])


def test_a_choice_is_kept_and_the_rest_is_worked_out_around_it() -> None:
    """A chord, a layout, a note to keep, and a symbol wherever it is."""
    text = "| Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | Cmaj7 |"
    plain = retuned(text)
    by_chord = retuned(text, choices=NO_CHOICES.at(1, Chord.parse("Gneu")))
    assert symbols(by_chord)[1] == "Gneu" and symbols(by_chord)[5] == symbols(plain)[5]
    assert by_chord.chords[1].by_hand and "chosen by hand" in by_chord.chords[1].why
    layout = tuple(map(Note.parse, ("G1", "B3", "D4", "F4", "G4")))
    by_layout = retuned(text, choices=NO_CHOICES.at(1, Chord.parse("G7"), layout))
    assert by_layout.chords[1].notes == layout and by_layout.chords[0].notes != plain.chords[0].notes
    keep = Note.parse("C4")
    kept = retuned(text, choices=NO_CHOICES.at(2, Chord.parse("Cmaj9"), keep=(Note.parse("D4"),)))
    assert Note.parse("D4") in kept.chords[2].notes and keep not in kept.chords[2].notes
    everywhere = retuned(text, choices=NO_CHOICES.everywhere("Dm7", Chord.parse("Dsubharm7")))
    assert [symbols(everywhere)[place] for place in (0, 4)] == ["Dsubharm7"] * 2
    root = retuned(text, choices=NO_CHOICES.at(1, Chord.parse("Ghb7")))
    assert symbols(root)[1] == "Ghb7"


def test_alternatives_are_told_with_their_price_and_cost_what_they_say() -> None:
    """What an alternative costs is what the tune costs more with it, the other symbols tuned as they are."""
    tune = retuned("| Dm7 | G7 | Cmaj7 |", Taste(0.3))
    offered = alternatives(tune, 1)
    assert offered[0].chord == tune.chords[1].chord and offered[0].notes == tune.chords[1].notes
    assert offered[0].price == "as it is now" and offered[0].cost == 0
    assert [one.cost for one in offered] == sorted(one.cost for one in offered)
    written = next(one for one in offered if one.chord.symbol == "G7")
    assert "less pure by 4 cents" in written.price and "seventh a step higher" in written.price
    taken = retuned("| Dm7 | G7 | Cmaj7 |", Taste(0.3), NO_CHOICES.at(1, written.chord, written.notes))
    assert taken.chords[1].notes == written.notes
    others = [chord.notes for place, chord in enumerate(taken.chords) if place != 1]
    by_chord = retuned("| Dm7 | G7 | Cmaj7 |", Taste(0.3), NO_CHOICES.at(1, written.chord))
    assert [chord.notes for place, chord in enumerate(by_chord.chords) if place != 1] == others
    assert by_chord.cost == pytest.approx(tune.cost + written.cost, abs=1e-3)
    rubbing = alternatives(retuned("| G7 |\nmelody: | F4:4 |"), 0)
    assert any("rubs against the melody" in one.price and "harm7" in one.chord.symbol for one in rubbing)
    with pytest.raises(ValueError, match="no chord sign 7: they go from 0 to 2"):
        alternatives(tune, 7)


def test_what_cannot_be_retuned_is_refused_in_a_line() -> None:
    sheet = parse_lead_sheet("| C | G7 |")
    for wrong in ((None, THIRTY_ONE), ("| C |", THIRTY_ONE), (sheet, THIRTY_ONE, 0.5)):
        with pytest.raises(ValueError, match="retune takes a LeadSheet, a Taste and Choices"):
            retune(*wrong)  # type: ignore[arg-type]
    for choices, words in (
        (NO_CHOICES.at(5, Chord.parse("C")), "a choice is for chord sign 5, and the tune has signs 0 to 1"),
        (NO_CHOICES.everywhere("F7", Chord.parse("F7")), "a choice is for 'F7', which the tune does not have"),
        (NO_CHOICES.at(1, Chord.parse("G7"), keep=(Note.parse("C4"),)), "bar 2: C4 is no note of G7, which has G, B,"),
    ):
        with pytest.raises(ValueError, match=re.escape(words)):
            retune(sheet, THIRTY_ONE, choices=choices)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Taste(adventure=1.5), "adventure must be from 0 to 1, not 1.5"),
        (lambda: Taste(colour=-2), "colour must be from -1 to 1, not -2"),
        (lambda: Taste(adventure="much"), "adventure must be from 0 to 1, not 'much'"),  # type: ignore[arg-type]
        (lambda: Taste(adventure=float("nan")), "adventure must be from 0 to 1, not nan"),
        (lambda: Taste(voicing="loud"), "a style of voicing is one of shells, rootless, drop 2, four-way close, pads"),
    ],
)
def test_a_taste_out_of_bounds_says_what_would_be_right(make: Any, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        make()
