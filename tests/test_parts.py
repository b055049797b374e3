"""The parts of a band: who plays what, in which octave and spelling; pads, grips and the tuning card.

A note's place in thirty-one is worked out here from its letter and its accidental as Huygens counts them (Christiaan
Huygens, *Le cycle harmonique*, 1691): a whole tone is five steps, a major semitone three, a sharp two, its half one.
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.arrange.hints import hint
from tunelib.arrange.octaves import suited
from tunelib.arrange.pads import pad_voices
from tunelib.arrange.parts import LEAD, LINE, PAD, SLASHES, VOICINGS, TunePart, part_names, part_slugs, tune_parts
from tunelib.arrange.tuning_card import chord_read_by, tuning_card
from tunelib.arrange.written_score import MELODY, written_score
from tunelib.harmony.chords import Chord
from tunelib.harmony.grips import grip
from tunelib.harmony.lead_sheet import parse_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.harmony.taste import Taste
from tunelib.pitch.frets import STRING_SETS
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import THIRTY_ONE, equal
from tunelib.score import ScoreNote

SONG = """title: The Marking Gauge
tempo: 140
key: Bb major
        [A]
        |: Cm7      | F7         | Bbmaj7      | G7b9 :|
melody: |: G4:2 Eb5 D5 | A4 C5 Eb5:2 | D5:3 -:1 | B4 Ab4 F4:2 :|
        [B]
        | Ebmaj7    | Ab7       | Bb6   |
melody: | Bb5:2 G5:2 | Gb5 Eb5 C5:2 | D5:4 |
"""
TUNE = retune(parse_lead_sheet(SONG), THIRTY_ONE, Taste(0.6))
LETTERS = {"C": 0, "D": 5, "E": 10, "F": 13, "G": 18, "A": 23, "B": 28}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SINGLE_LINES = [
    name for name, player in INSTRUMENTS.items()
    if name not in ("piano", "harp", "organ", "accordion", "guitar", "ukulele", "mandolin", "banjo")
    and name not in ("double bass", "bass guitar", "tuba", "contrabassoon")
]  # fmt: skip


def band(names: str, tune: RetunedTune = TUNE) -> dict[str, TunePart]:
    return {part.name: part for part in tune_parts(tune, [instrument(name) for name in names.split(",")])}


def cents_from_piano(note: Note) -> float:
    """How far a note in thirty-one is from the key of its own name, or the nearest, A4 being the same."""
    steps = LETTERS[note.letter] - LETTERS["A"] + note.half_sharps
    keys = SEMITONES[note.letter] - SEMITONES["A"] + note.half_sharps / 2
    away = steps * 1200 / 31 - 100 * (keys if note.half_sharps % 2 == 0 else round(steps * 12 / 31))
    return away


@pytest.mark.parametrize(
    ("names", "roles"),
    [
        ("alto saxophone,trumpet,trombone,guitar,piano,double bass", [LEAD, PAD, PAD, SLASHES, VOICINGS, LINE]),
        ("piano,double bass", [LEAD, LINE]),
        ("guitar,piano", [LEAD, VOICINGS]),
        ("tuba,flute,piano", [LINE, LEAD, VOICINGS]),
        ("tuba,bass guitar", [LEAD, LINE]),
        ("double bass", [LEAD]),
        ("piano,harp,alto voice", [VOICINGS, VOICINGS, LEAD]),
    ],
)
def test_everybody_has_something_to_play(names: str, roles: list[str]) -> None:
    """The first single line has the melody, then the first who plays chords, then the bass"""
    assert [part.has for part in band(names).values()] == roles


def test_without_a_melody_single_lines_hold_the_chords() -> None:
    tune = retune(parse_lead_sheet("| Dm7 | G7 | Cmaj7 |"), THIRTY_ONE)
    parts = band("trumpet,trombone,piano", tune)
    assert [part.has for part in parts.values()] == [PAD, PAD, VOICINGS]
    assert [len(part.staves) for part in parts.values()] == [1, 1, 2]


def test_several_of_one_instrument_are_numbered() -> None:
    players = [instrument(name) for name in ("clarinet", "trumpet", "clarinet in Bb")]
    assert part_names(players) == ["clarinet in B♭ 1", "trumpet", "clarinet in B♭ 2"]
    assert part_slugs(players) == ["clarinet-in-b-flat-1", "trumpet", "clarinet-in-b-flat-2"]


def test_a_band_has_players_but_not_too_many() -> None:
    for players in ([], [instrument("flute")] * 101):
        with pytest.raises(ValueError, match=f"a band has from 1 to 100 players, not {len(players)}"):
            tune_parts(TUNE, players)


@pytest.mark.parametrize("name", SINGLE_LINES)
def test_a_melody_is_in_its_players_range_or_the_player_is_told(name: str) -> None:
    """By the ranges of the table of instruments; the contour of every phrase is as it was"""
    [part] = band(name).values()
    lowest, highest = (part.player.sounding(note).hz() for note in (part.player.lowest, part.player.highest))
    quarter_tone = 2 ** (1 / 24)
    inside = [lowest / quarter_tone <= note.hertz <= highest * quarter_tone for note in part.notes]
    assert all(inside) == (not any("out of comfortable range" in sentence for sentence in part.told))
    written = [note for note in written_score(TUNE).notes if note.voice == MELODY]
    shifts = [math.log2(note.hertz / as_it_was.hertz) for note, as_it_was in zip(part.notes, written, strict=True)]
    assert all(abs(shift - round(shift)) < (1e-9 if part.bends else 1 / 24) for shift in shifts)
    moved = {round(shift) for shift in shifts}
    assert bool(moved - {0}) == any("the lead sheet" in sentence for sentence in part.told)
    for (one, shift), (other, next_shift) in pairwise(zip(written, shifts, strict=True)):
        in_one_phrase = other.onset - one.end < 1 and not (one.onset < 32 <= other.onset)  # section B begins at beat 32
        assert round(shift) == round(next_shift) or not in_one_phrase


def test_a_phrase_that_does_not_fit_is_moved_as_a_whole_and_named() -> None:
    low = [ScoreNote(Fraction(n), 1, Note.parse("F2").hz(), Note.parse("F2")) for n in range(2)]
    high = [ScoreNote(Fraction(4 + n), 1, Note.parse("A5").hz(), Note.parse("A5")) for n in range(2)]
    phrases = suited([*low, *high], instrument("trombone"))
    assert [phrase.octaves for phrase in phrases] == [0, -1]
    assert [str(note.name) for phrase in phrases for note in phrase.notes] == ["F2", "F2", "A4", "A4"]
    assert band("soprano voice")["soprano voice"].told == ("Bars 5 to 7 are an octave below the lead sheet.",)


@given(st.lists(st.integers(-30, 40), min_size=1, max_size=12), st.sampled_from(SINGLE_LINES))
def test_no_octave_would_suit_a_phrase_better(steps: list[int], name: str) -> None:
    """Tried from nine octaves down to nine up"""
    player = instrument(name)
    notes = [ScoreNote(Fraction(i), 1, 440 * 2 ** (step / 12), Note.parse("A4")) for i, step in enumerate(steps)]
    [phrase] = suited(notes, player)
    outside = [sum(not player.reaches(note.hertz * 2.0**octaves) for note in notes) for octaves in range(-9, 10)]
    assert len(phrase.out_of_range) == min(outside)


@pytest.mark.parametrize(
    ("key", "name", "tonic", "fifths"),
    [
        ("B major", "alto saxophone", "A♭", -4),
        ("B major", "trumpet", "D♭", -5),
        ("B major", "clarinet in E♭", "A♭", -4),
        ("B major", "horn in F", "F♯", 6),
        ("C# minor", "baritone saxophone", "B♭", -5),
        ("Gb major", "clarinet in A", "A", 3),
        ("Eb major", "alto saxophone", "C", 0),
        ("C# major", "piano", "C♯", 7),
    ],
)
def test_a_part_has_a_signature_that_a_player_reads(key: str, name: str, tonic: str, fifths: int) -> None:
    """At most six sharps or flats, by the table of transpositions; the key that is pressed is the same"""
    tune = retune(
        parse_lead_sheet(f"key: {key}\n| {Note.named(key.split()[0]).typed_name} |\nmelody: | C5:4 |"), THIRTY_ONE
    )
    player = next(iter(band(name, tune).values())).player
    written = player.written(tune.sheet.key.tonic)
    assert written.name == tonic
    assert Key(written, tune.sheet.key.mode).lowest_fifth + 1 == fifths
    apart = player.written(Note.parse("C4")).quartertones - instrument(name).written(Note.parse("C4")).quartertones
    assert apart == 0


def test_pads_hold_what_says_most_about_a_chord() -> None:
    """Third and seventh of two horns; between D3 and C5, and within a fourth from chord to chord"""
    chords = [Chord.parse(symbol) for symbol in "Dm7 G7 Cmaj7 A7 Dm7b5 G7b9 Cm6 Cm6".split()]
    horns = [instrument("trombone"), instrument("trumpet")]
    voices = pad_voices(chords, THIRTY_ONE, horns, [1000.0] * len(chords))
    for chord, notes in zip(chords, voices, strict=True):
        numbers = {chord.root.interval_to(Note(n.letter, n.half_sharps, 4)).letters % 7 + 1 for n in notes}
        assert numbers == {3, 6 if "6" in chord.symbol else 7}
        trombone, trumpet = (note.hz(THIRTY_ONE) for note in notes)
        assert Note.parse("D3").hz() < trombone < trumpet < Note.parse("C5").hz()
    for before, after in pairwise(voices):
        moves = [abs(one.step(THIRTY_ONE) - other.step(THIRTY_ONE)) for one, other in zip(before, after, strict=True)]
        assert max(moves) <= 13


def test_pads_stay_below_the_melody_where_there_is_room() -> None:
    chords = [Chord.parse(symbol) for symbol in "Ebmaj7 Cm7 Fm9 Bb13".split()]
    horns = [instrument("trumpet"), instrument("alto sax"), instrument("trombone")]
    for ceiling in (350.0, 440.0, 520.0):
        for notes in pad_voices(chords, THIRTY_ONE, horns, [ceiling] * len(chords)):
            assert max(note.hz(THIRTY_ONE) for note in notes) < ceiling


@given(st.lists(st.sampled_from(SINGLE_LINES), min_size=1, max_size=7))
def test_every_horn_has_a_note_of_every_chord_within_reach(names: list[str]) -> None:
    chords = [Chord.parse(symbol) for symbol in ("Ebmaj7", "C", "F7alt")]
    players = [instrument(name) for name in names]
    for chord, notes in zip(chords, pad_voices(chords, THIRTY_ONE, players, [600.0] * 3), strict=True):
        tones = {(note.letter, note.half_sharps) for note in chord.notes}
        assert {(note.letter, note.half_sharps) for note in notes} <= tones
        assert all(player.reaches(note.hz(THIRTY_ONE)) for player, note in zip(players, notes, strict=True))
        assert len({note.letter for note in notes}) >= min(len(players), len(tones), 3)


def test_two_hands_have_the_keys_nearest_to_the_chords() -> None:
    """Each of the band's notes within a quarter-tone of a key; above middle C the right hand, below it the left"""
    part = band("flute,piano,double bass")["piano"]
    right, left = part.staves
    for chord in TUNE.chords:
        together = [note for note in part.notes if note.onset == chord.written.onset]
        assert sorted(round(12 * math.log2(note.hz(THIRTY_ONE) / 440)) for note in chord.notes[1:]) == sorted(
            round(12 * math.log2(note.hertz / 440)) for note in together
        )
        for note in together:
            assert note.name is not None and note.name.half_sharps % 2 == 0
            assert note.voice == (right.voice if note.name.octave >= 4 else left.voice)


def test_the_left_hand_has_the_bass_where_nobody_else_has() -> None:
    alone, with_bass = band("flute,piano")["piano"], band("flute,piano,double bass")["piano"]
    assert min(note.hertz for note in alone.notes) < Note.parse("E2").hz() < min(note.hertz for note in with_bass.notes)
    assert "The left hand has the bass." in alone.remarks


def test_the_card_has_each_note_once_with_its_cents() -> None:
    """As Huygens and twelve equal steps have them"""
    card = tuning_card(TUNE)
    names = [row.note.name for row in card.notes]
    assert len(set(names)) == len(names)
    sounding = {note.name for chord in TUNE.chords for note in chord.notes} | {n.note.name for n in TUNE.melody}
    assert sounding <= set(names)
    for row in card.notes:
        assert row.cents == pytest.approx(cents_from_piano(row.note), abs=1e-6)
        assert row.on_own_key == (row.note.half_sharps % 2 == 0)
    from_tonic = [(LETTERS[row.note.letter] + row.note.half_sharps - 26) % 31 for row in card.notes]
    assert from_tonic == sorted(from_tonic)  # B flat is step 26


def test_the_card_tells_the_degrees_that_were_moved() -> None:
    """The harmonic seventh, 25 steps: 32 cents below ten semitones; a neutral third, 9 steps: 48 above three"""
    tune = retune(parse_lead_sheet("| F7 | Bb7 | F7 |"), THIRTY_ONE, Taste(1.0))
    degrees = {degree.word: degree for degree in tuning_card(tune).degrees}
    seventh = degrees["harm 7"]
    assert (seventh.plain, round(seventh.cents)) == ("♭7", -32)
    assert {meant.symbol for meant, _ in seventh.chords} == {"F7", "Bb7"}
    assert not tuning_card(retune(parse_lead_sheet("| F7 | Bb7 | F7 |"), THIRTY_ONE, Taste(0.0))).degrees


@pytest.mark.parametrize("name", ["alto saxophone", "trumpet", "guitar", "horn in F"])
def test_transposition_changes_names_and_not_cents(name: str) -> None:
    card, player = tuning_card(TUNE), instrument(name)
    read = card.read_by(player)
    assert [row.cents for row in read.notes] == [row.cents for row in card.notes]
    for row, as_read in zip(card.notes, read.notes, strict=True):
        assert player.written(row.note).name == as_read.note.name
    for degree, as_read_degree in zip(card.degrees, read.degrees, strict=True):
        for (_, tuned), (_, read_chord) in zip(degree.chords, as_read_degree.chords, strict=True):
            assert read_chord == chord_read_by(tuned, player) == tuned.on(player.written(tuned.root))


@pytest.mark.parametrize("symbol", "C7 Cmaj7 Cm7 Cm7b5 Cdim7 C7alt C13 C9 C69 C Cm Csus4 C7b9 Charm7 Cneu C5".split())
@pytest.mark.parametrize("root", ["C", "F#", "Ab"])
def test_a_grip_can_be_held_and_says_how_far_it_is_off(symbol: str, root: str) -> None:
    """Frets, strings and cents worked out from the open strings alone"""
    chord = Chord.parse(symbol).on(Note.named(root))
    held = grip(chord, THIRTY_ONE)
    strings = [(i, string) for i, string in enumerate(held.strings) if string.fret is not None]
    frets = [string.fret for _, string in strings if string.fret is not None]
    assert len(strings) in (3, 4) and max(frets) - min(frets) <= 3 and min(frets) >= 1 and max(frets) <= 12
    places = [i for i, _ in strings]
    assert places[-1] - places[0] - (len(places) - 1) <= 1
    tones = {(note.letter, note.half_sharps) for note in chord.notes}
    for i, string in strings:
        assert string.note is not None and string.fret is not None
        assert (string.note.letter, string.note.half_sharps) in tones
        fretted = STRING_SETS["guitar"][i].hz() * 2 ** (string.fret / 12)
        assert string.cents == pytest.approx(1200 * math.log2(string.note.hz(THIRTY_ONE) / fretted))
        assert abs(string.cents) <= 50
        assert Note.parse("G2").hz() <= fretted * 1.001 and fretted <= Note.parse("E5").hz() * 1.001
    numbers = {
        chord.root.interval_to(Note(string.note.letter, string.note.half_sharps, 4)).letters % 7 + 1
        for _, string in strings if string.note
    }  # fmt: skip
    has = {number for number, _ in chord.degrees}
    assert {3, 7} & has <= numbers


def test_a_grip_of_strings_that_cannot_play_it_is_refused() -> None:
    with pytest.raises(ValueError, match="Cmaj7 has no grip on the strings G1 A1"):
        grip(Chord.parse("Cmaj7"), THIRTY_ONE, (Note.parse("G1"), Note.parse("A1")))


@pytest.mark.parametrize("sounding", ["B♭2", "D3", "F3", "A½♭3", "G♭3", "B½♭3"])
def test_a_trombonists_hint_leads_to_the_note(sounding: str) -> None:
    """The tube of 2.85 m, longer by twice what the slide is out, sounds a harmonic of B flat at that pitch"""
    note = Note.parse(sounding)
    hertz = note.hz(THIRTY_ONE)
    words = hint(instrument("trombone"), hertz, note).split()
    ordinary = 2850 * (2 ** ((int(words[0]) - 1) / 12) - 1) / 2
    out = ordinary + (float(words[1].replace("−", "-")) if words[1:2] not in ([], ["lip"]) else 0.0)
    fundamental = Note.parse("B♭1").hz() * 2850 / (2850 + 2 * out)
    off = min((1200 * math.log2(hertz / (harmonic * fundamental)) for harmonic in range(2, 11)), key=abs)
    assert abs(off) < (20.5 if "lip" in words else 1.5)


@pytest.mark.parametrize(("name", "string", "length"), [("cello", "G2", 690), ("double bass", "A1", 1050)])
def test_a_string_players_hint_is_in_millimetres(name: str, string: str, length: int) -> None:
    """By the length that is left to sound (Mersenne)"""
    key = Note.parse(string).transpose("m3")
    hertz = key.hz() * 2 ** (16 / 1200)
    open_hz = Note.parse(string).hz()
    wanted = length * (1 - open_hz / hertz) - length * (1 - open_hz / key.hz())
    assert hint(instrument(name), hertz, key) == f"+{wanted:.0f}"
    assert hint(instrument(name), key.hz(), key) == ""
    assert hint(instrument("trumpet"), hertz, key) == ""


@pytest.mark.parametrize("division", [12, 19, 22, 41, 53, 72])
def test_parts_are_made_in_any_division_with_letters(division: int) -> None:
    tune = retune(parse_lead_sheet(SONG), equal(division), Taste(0.6))
    parts = band("clarinet,trombone,guitar,piano,double bass", tune)
    card = tuning_card(tune)
    assert all(abs(row.cents) <= 50 for row in card.notes)
    assert division != 12 or not any(round(row.cents, 6) for row in card.notes)
    assert all(grip(chord.chord, tune.tuning).frets for chord in tune.chords)
    assert parts["trombone"].notes
