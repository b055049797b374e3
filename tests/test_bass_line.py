"""The bass: what books on walking lines ask of one, over progressions in all keys, and how its notes are tuned."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import pairwise

import pytest
from progressions import PROGRESSIONS, keys_of, sheet

from tunelib.arrange.bass_line import BassNote, bass_line
from tunelib.arrange.feels import FEELS
from tunelib.harmony import RetunedTune, Taste, parse_lead_sheet, retune
from tunelib.pitch import THIRTY_ONE, Note, equal

LETTERS = {"C": 0, "D": 5, "E": 10, "F": 13, "G": 18, "A": 23, "B": 28}  # steps of thirty-one (Huygens 1691)
LOWEST, HIGHEST = 10 + 31 * 1, 18 + 31 * 2  # E1 and G2
MINOR_SECOND, TONE, FIFTH, OCTAVE = 3, 5, 18, 31
APPROACHES = {2: "semitone", 3: "semitone", 4: "step", 5: "step", 13: "fifth", 18: "fifth"}
NAMES = [name for name in PROGRESSIONS if name != "alone"]
EACH = pytest.mark.parametrize("name", NAMES)


@cache
def tuned(name: str, division: int = 31) -> RetunedTune:
    """A progression in a key of its own, so that all keys have their turn."""
    among = keys_of(name)
    return retune(sheet(name, among[NAMES.index(name) % len(among)]), equal(division), Taste(0.3))


def step(note: Note) -> int:
    """The place of a note in thirty-one, counted from C0."""
    assert note.steps == 0
    return LETTERS[note.letter] + note.half_sharps + 31 * note.octave


def walked(name: str) -> list[BassNote]:
    return bass_line(tuned(name), FEELS["swing"])


def changes(tune: RetunedTune) -> list[int]:
    """The places of the chords that are not the one before once more."""
    return [
        place for place, chord in enumerate(tune.chords) if not place or chord.chord != tune.chords[place - 1].chord
    ]


@EACH
def test_a_walking_line_has_the_bass_note_where_a_chord_begins(name: str) -> None:
    tune, line = tuned(name), {note.onset: note for note in walked(name)}
    for place in changes(tune):
        chord = tune.chords[place]
        assert (step(line[chord.written.onset].note) - step(chord.notes[0])) % OCTAVE == 0


@EACH
def test_a_walking_line_stays_on_its_strings_and_is_no_leap_and_no_drone(name: str) -> None:
    """From E1 to G2; no leap beyond an octave, a turn after one beyond a fifth, no note three times running"""
    places = [step(note.note) for note in walked(name)]
    assert all(LOWEST <= place <= HIGHEST for place in places)
    moves = [after - before for before, after in pairwise(places)]
    assert all(abs(move) <= OCTAVE for move in moves)
    for move, after in pairwise(moves):
        assert move or after, "a note comes three times"
        assert abs(move) <= FIFTH or move * after < 0, "no turn after a leap"
    assert sum(abs(move) in range(2, TONE + 2) for move in moves) * 2 >= len(moves)


def test_new_chords_are_approached_by_semitone_step_and_fifth_from_both_sides() -> None:
    """Over all progressions together: hardly ever otherwise, and none of the ways and sides is rare"""
    ways: Counter[str] = Counter()
    for name in NAMES:
        tune, line = tuned(name), walked(name)
        begins = {tune.chords[place].written.onset for place in changes(tune)}
        for before, note in pairwise(line):
            if note.onset in begins and before.onset not in {chord.written.onset for chord in tune.chords}:
                move = step(note.note) - step(before.note)
                ways[APPROACHES.get(abs(move), "other")] += 1
                ways["up" if move > 0 else "down"] += 1
    total = ways["up"] + ways["down"]
    assert total > 250 and ways["other"] <= total / 40
    assert all(ways[way] >= total / 6 for way in ("semitone", "step", "fifth"))
    assert all(ways[side] >= total * 2 / 5 for side in ("up", "down"))


@EACH
def test_approaches_are_not_in_octaves_with_the_highest_voice(name: str) -> None:
    """The bass does not go to the note to which the top of the chords goes, from the note from which that comes"""
    tune, line = tuned(name), {note.onset: step(note.note) for note in walked(name)}
    begins = {chord.written.onset for chord in tune.chords}
    for chord, after in pairwise(tune.chords):
        from_top, to_top = step(chord.notes[-1]), step(after.notes[-1])
        onset = max(onset for onset in line if onset < after.written.onset)
        if onset not in begins and from_top != to_top and (line[after.written.onset] - to_top) % OCTAVE == 0:
            assert (line[onset] - from_top) % OCTAVE


@EACH
def test_a_note_with_the_letter_of_the_chords_own_is_tuned_as_in_the_chord(name: str) -> None:
    """All but the last before a new chord, which leads there: an E half-flat is never followed by a plain E flat"""
    tune, line = tuned(name), walked(name)
    for note, after in pairwise(line):
        chord = next(one for one in reversed(tune.chords) if one.written.onset <= note.onset)
        own = [*chord.chord.notes_in(THIRTY_ONE), chord.notes[0]]
        if after.onset < chord.written.end and note.note.letter in {one.letter for one in own}:
            assert step(note.note) % OCTAVE in {step(one) % OCTAVE for one in own}


@EACH
def test_a_semitone_to_a_new_chord_is_tuned_by_its_spelling(name: str) -> None:
    """Three steps of thirty-one to another letter, two on the same; notes of the chord before may be either"""
    tune, line = tuned(name), walked(name)
    begins = {tune.chords[place].written.onset: place for place in changes(tune)}
    for note, after in pairwise(line):
        if after.onset in begins and after.note.half_sharps % 2 == 0:
            own = {step(one) % OCTAVE for one in tune.chords[begins[after.onset] - 1].chord.notes_in(THIRTY_ONE)}
            letters = abs(after.note.diatonic - note.note.diatonic)
            if abs(step(after.note) - step(note.note)) in (2, 3) and step(note.note) % OCTAVE not in own:
                assert (abs(step(after.note) - step(note.note)), letters) in ((MINOR_SECOND, 1), (2, 0))
                assert abs(note.note.half_sharps) <= 2, "nothing is written with a double sharp or flat"


@EACH
def test_a_line_is_played_alike_every_time_and_its_keys_are_the_written_ones(name: str) -> None:
    """Again from a tune made anew; and the note that is written for each is three quarter-tones away at most"""
    tune = tuned(name)
    anew = retune(tune.sheet, THIRTY_ONE, Taste(0.3))
    assert bass_line(anew, FEELS["swing"]) == walked(name)
    for note in walked(name):
        assert abs(note.note.quartertones - note.written.quartertones) <= 3


@pytest.mark.parametrize("feel", FEELS)
def test_a_repeat_has_the_same_line(feel: str) -> None:
    """Up to the bars that lead elsewhere: the one before the second ending, and the last"""
    tune = retune(parse_lead_sheet("tempo: 120\n|: Dm7 | G7 . . Db7 | Cmaj7 | A7 :| Fm7 | Bb7 | C6 |"), THIRTY_ONE)
    line = bass_line(tune, FEELS[feel])
    first = [(n.onset, n.length, n.accent, n.note) for n in line if n.onset < 15]
    second = [(n.onset - 16, n.length, n.accent, n.note) for n in line if 16 <= n.onset < 31]
    assert first == second and len(first) >= 4


@pytest.mark.parametrize("feel", FEELS)
@pytest.mark.parametrize("name", ["blues", "slash basses", "five in the bar", "waltz", "neutral", "pickup"])
def test_every_feel_has_a_bass_within_its_chords(name: str, feel: str) -> None:
    """In order, never two at a time, silent where no chord is, the bass note under each new chord"""
    tune = tuned(name)
    line = bass_line(tune, FEELS[feel])
    assert all(one.onset + one.length <= other.onset for one, other in pairwise(line))
    onsets = {note.onset: note for note in line}
    for chord in tune.chords:
        if feel != "swing":
            assert (step(onsets[chord.written.onset].note) - step(chord.notes[0])) % OCTAVE == 0
    for note in line:
        assert any(chord.written.onset <= note.onset < chord.written.end for chord in tune.chords)


@pytest.mark.parametrize("division", [12, 19, 22, 41, 53, 72])
def test_other_divisions_walk_too(division: int) -> None:
    """With the same rules in cents, and what a chord's own note is, tuned as in the chord"""
    for name in NAMES[::9]:
        tune = tuned(name, division)
        line = bass_line(tune, FEELS["swing"])
        places = [note.note.step(equal(division)) * 1200 / division for note in line]
        moves = [after - before for before, after in pairwise(places)]
        assert all(abs(move) < 1201 for move in moves)
        assert all(abs(one) < 730 or one * other < 0 for one, other in pairwise(moves))
        assert sum(0 < abs(move) <= 250 for move in moves) * 2 >= len(moves)


def test_a_bass_in_two_has_fifths_and_a_pickup_every_fourth_bar() -> None:
    """Roots on the first beat, fifths on the third, below where the strings reach (common practice)"""
    tune = retune(parse_lead_sheet("tempo: 70\n| C6 | Am7 | Dm7 | G7 | C6 | Am7 | Dm7 | G7 | C6 |"), THIRTY_ONE)
    line = {(note.onset): str(note.note) for note in bass_line(tune, FEELS["ballad"])}
    assert [line[4 * bar] for bar in range(4)] == ["C2", "A1", "D2", "G1"]
    assert [line[4 * bar + 2] for bar in range(4)] == ["G1", "E1", "A1", "D2"]
    assert [onset for onset in line if onset % 4 == 3.5] == [15.5, 31.5]
