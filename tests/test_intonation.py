"""Takes checked against targets: what is aimed at, what is heard, what is said, and how it is drawn."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path
from typing import Any

import numpy as np
import parselmouth
import pytest
from film import metered
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image
from sampled import RATE, sampled
from test_exhibits import assert_clear, boxes

from tunelib.exhibits.exhibit import Exhibit
from tunelib.exhibits.intonation import Intonation, demo_report
from tunelib.exhibits.own_take import OwnTake
from tunelib.hearing.recording import Recording
from tunelib.hearing.take import hear, listen
from tunelib.hearing.take_faults import Faults, faults, survey
from tunelib.hearing.targets import FINEST_DIVISION, Targets, parse_targets
from tunelib.live import GivenTake, exhibit_program
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.intervals import cents
from tunelib.pitch.notes import Note, hz_from_midi
from tunelib.pitch.tunings import equal
from tunelib.practice.take_panel import TakePanel, take_panel
from tunelib.score import Score, ScoreNote
from tunelib.show import picture
from tunelib.show.stage import Stage
from tunelib.sound.audio import wav_bytes, write_wav
from tunelib.sound.demo_takes import DEMO_FUNDAMENTAL, DEMO_TAKES, SAMPLE_RATE, DemoTake
from tunelib.sound.render import render
from tunelib.sound.timbre import TIMBRES

SAX = instrument("alto saxophone")
OVERTONES = parse_targets("harmonics of B♭1")
EVERY_TAKE = pytest.mark.parametrize("take", DEMO_TAKES.values(), ids=DEMO_TAKES)

# Published deviation of harmonics 1 to 16 from twelve equal steps, to a cent: Helmholtz, On the Sensations of Tone
# (2nd English edition 1885), Appendix XX by A. J. Ellis.
DEVIATIONS = [0, 0, 2, 0, -14, 2, -31, 0, 4, -14, -49, 2, 41, -31, -12, 0]


def played(*hertz: float, seconds: float = 0.8, timbre: str = "reed") -> np.ndarray:
    """Notes one after another."""
    notes = (ScoreNote(i * (seconds + 0.2) + 0.1, seconds, h) for i, h in enumerate(hertz))
    return render(Score(tuple(notes), tempo=60), TIMBRES[timbre])


def chord(*hertz: float, timbre: str = "reed") -> np.ndarray:
    return render(Score(tuple(ScoreNote(0, 2, h) for h in hertz), tempo=60), TIMBRES[timbre])


def test_harmonics_lie_where_ellis_has_them() -> None:
    for note in ("B♭1", "C2", "F#2"):
        targets = parse_targets(f"harmonics of {note}")
        assert targets.hertz[:3] == pytest.approx([n * Note.parse(note).hz() for n in (1, 2, 3)])
        assert [round(targets.from_twelve(i)) for i in range(16)] == DEVIATIONS
        assert targets.labels[:16] == tuple(map(str, range(1, 17)))
    assert [str(note) for note in OVERTONES.notes[3:8]] == ["B♭3", "D4", "F4", "A♭4", "B♭4"]


def test_a_division_is_tuned_from_a4_and_spelled() -> None:
    """Twelve against ISO 16 and the MIDI 1.0 note numbers; a fifth of thirty-one is 5.18 cents flat (published)"""
    twelve = parse_targets("12")
    at = twelve.labels.index("A4")
    assert twelve.hertz[at] == pytest.approx(440) and twelve.hertz[at + 12] == pytest.approx(880)
    assert twelve.hertz[at - 9] == pytest.approx(hz_from_midi(60)) and twelve.labels[at - 9] == "C4"
    thirty_one = parse_targets("31", 442)
    e5, a4 = (thirty_one.hertz[thirty_one.labels.index(name)] for name in ("E5", "A4"))
    assert a4 == pytest.approx(442) and cents(e5 / a4) - cents("3/2") == pytest.approx(-5.18, abs=0.01)
    assert "E½♭4" in thirty_one.labels and thirty_one.nearest(445)[1] == pytest.approx(cents(445 / 442), abs=1e-9)
    assert parse_targets("13").labels[50].startswith("step ")


def test_ratios_stand_on_their_note_in_every_octave() -> None:
    targets = parse_targets("1/1, 5:4 3/2 3 on C4")
    start = targets.labels.index("1", 12)
    assert targets.labels[start : start + 4] == ("1", "5/4", "3/2", "1")
    c = targets.hertz[start]
    assert math.log2(c / hz_from_midi(60)) == pytest.approx(round(math.log2(c / hz_from_midi(60))), abs=1e-12)
    assert [h / c for h in targets.hertz[start : start + 4]] == pytest.approx([1, 1.25, 1.5, 2])
    assert parse_targets("1/1 on 100 Hz").hertz[4] / 100 in (2.0, 4.0, 1.0)


def at(targets: Targets, label: str) -> float:
    return targets.hertz[targets.labels.index(label)]


def test_a_division_is_put_on_any_note_and_any_a() -> None:
    """C4 of thirty-one is 23 steps under its A4, by its fifths; ratios of the others by the definition of the cent"""
    step = 2 ** (1 / 31)
    for text, note, hertz in (
        ("31", "C4", 440 / step**23),
        ("31 on C4", "C4", 440 / step**23),
        ("31 on C4 = 263.1 Hz", "C4", 263.1),
        ("31 equal steps on C4=263.1", "D½♯4", 263.1 * step**6),
        ("31 on Ehb4 = 330 Hz", "E½♭4", 330),
        ("31 on 263.1 Hz", "C4", 263.1),
        ("31 on A4 = 442", "A4", 442),
        ("41, A = 442", "A4", 442),
        ("41 A4=442 Hz", "A5", 884),
        ("12 on C4 = 261", "C5", 522),
    ):
        assert at(parse_targets(text), note) == pytest.approx(hertz, rel=1e-9), text
    assert parse_targets("31 on C4").hertz == parse_targets("31").hertz
    assert parse_targets("31 on C4").name == "31 equal steps on C4 = 263.09 Hz"
    assert parse_targets("31 on C4 = 263.1 Hz").reference == pytest.approx(263.1 * step**23)
    steps = parse_targets("13 on D4")
    assert at(steps, "step 0") == pytest.approx(440 / 2 ** (7 / 12)) and steps.name.endswith("on D4 = 293.66 Hz")
    assert [parse_targets(text).steps for text in ("31", "31 on C4 = 260", "3/1 on C4", "Vallotti")] == [
        31,
        31,
        None,
        None,
    ]
    kinds = [parse_targets(text).kind for text in ("31 on C4", "3/2 on C4", "harmonics of C2", "Vallotti")]
    assert kinds == ["tuning", "ratios", "harmonics", "tuning"]


def test_a_note_at_a_frequency_moves_what_is_read() -> None:
    """The seventh harmonic is 31 cents under a note of twelve wherever the player's B♭ is (Ellis 1885)"""
    targets = parse_targets("harmonics of B♭1 = 59.3 Hz")
    assert targets.hertz[0] == 59.3 and str(targets.notes[6]) == "A♭4" and round(targets.from_twelve(6)) == -31
    assert at(parse_targets("1/1 3/2 on C4 = 260 Hz"), "3/2") == pytest.approx(390 / 16)
    assert at(parse_targets("1/1 3/2 on A3, A = 442"), "1") == pytest.approx(221 / 8)


def test_temperaments_are_put_on_any_note() -> None:
    """Quarter-comma: thirds pure, the wolf from G♯ to E♭ 737.6 cents (Barbour 1951), two notes on from A♯ to F when D
    is where C was; Werckmeister III as he is read, from his quarters of the Pythagorean comma"""
    plain, moved = parse_targets("quarter-comma"), parse_targets("Quarter comma on D")
    for targets, third, wolf in ((plain, ("C4", "E4"), ("G♯3", "E♭4")), (moved, ("D4", "F♯4"), ("A♯3", "F4"))):
        assert at(targets, third[1]) / at(targets, third[0]) == pytest.approx(5 / 4)
        assert cents(at(targets, wolf[1]) / at(targets, wolf[0])) == pytest.approx(737.64, abs=0.01)
        assert at(targets, "A4") == pytest.approx(440)
    assert at(parse_targets("quarter-comma meantone on D4 = 290 Hz"), "F♯4") == pytest.approx(362.5)
    assert at(parse_targets("1/4-comma"), "E4") == pytest.approx(at(plain, "E4"))
    well = parse_targets("Werckmeister III, A = 415")
    assert at(well, "A4") == pytest.approx(415)
    assert [round(float(cents(at(well, name) / at(well, "C4"))), 1) for name in ("C♯4", "E4", "G4")] == [
        90.2,
        390.2,
        696.1,
    ]
    for text in ("Vallotti on F#", "Pythagorean on Db", "sixth-comma on C#"):  # where no key is called A
        ladder = parse_targets(text)
        assert min(abs(cents(np.array(ladder.hertz) / 440))) < 1e-9 and len(ladder.hertz) == pytest.approx(120, abs=1)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "targets are named in 1 to 400 characters"),
        ("   ", "targets are named"),
        ("x" * 401, "targets are named"),
        ("tuba", '\'tuba\' names no targets: give a number of equal steps such as "31" or "31 on C4 = 263.1 Hz"'),
        ("quater-comma on D", "The temperaments are Pythagorean, third-comma, two-sevenths-comma, quarter-comma"),
        ("31 on C4 = 500 Hz", "C4 = 500 Hz puts A4 at 836.21 Hz, and it must be between 300 and 600 Hz"),
        ("31 on C4 = 263.1 Hz, A = 442", "C4 = 263.1 Hz already says where A4 is"),
        ("harmonics of A2 = 110 Hz, A = 442", "A2 = 110 Hz already says where A4 is"),
        ("31, A = 44", "the reference for A4 must be between 300 and 600 Hz, not 44"),
        ("31 on C4 =", "'C4 =' is not a note"),
        ("31 on Q4", "'Q4' is not a note"),
        ("31 on 5 Hz", "5 Hz is at 5 Hz; take one from 16 to 16000 Hz"),
        ("quarter-comma on Ehb", "a temperament begins on a natural, a sharp or a flat, not on E½♭"),
        ("0", "1 to 400 equal steps, not 0"),
        ("401", "1 to 400 equal steps"),
        ("harmonics of H2", "'H2' is not a note"),
        ("harmonics of C0 and more", "is not a note"),
        ("harmonics of C12", "C12 is at 66976 Hz; take one from 16 to 16000 Hz"),
        ("harmonics of Chb3", "falls between the steps"),
        ("1/1 5/x on C4", "'5/x' is not a ratio"),
        ("0/1 on C4", "must be greater than 0"),
        ("5/4 on", "names no targets"),
    ],
)
def test_targets_that_cannot_be_read_are_named(text: str, message: str) -> None:
    with pytest.raises(ValueError) as caught:
        parse_targets(text)
    assert message in str(caught.value)


@pytest.mark.parametrize("reference", [0, -440, 20_000, math.nan, math.inf])
def test_a_reference_out_of_bounds_is_refused(reference: float) -> None:
    with pytest.raises(ValueError, match="the reference for A4 must be between 300 and 600 Hz"):
        parse_targets("12", reference)


TEXTS = st.one_of(
    st.text(max_size=60),
    st.integers(-5, 10**12).map(str),
    st.text("harmonics of ABCDEFGb#x0123456789-", max_size=24).map(lambda rest: f"harmonics of {rest}"),
    st.tuples(
        st.one_of(
            st.text("0123456789/:., -e", max_size=40), st.sampled_from(["31", "13", "quarter-comma", "Vallotti"])
        ),
        st.text("ABCb#0123456789 hz.=,", max_size=12),
    ).map(" on ".join),
)


@settings(max_examples=400, deadline=None)
@given(TEXTS)
@example("9" * 390 + " on C4")
@example("1/" + "9" * 390 + " on C4")
@example("harmonics of C" + "9" * 380)
@example("harmonics of C" + "#" * 380 + "1")
@example(" on " * 90)
@example("31 on C4 = " + "9" * 380)
@example("31 on C4 = 0.0000001 Hz")
@example("harmonics of 0 Hz")
@example("31, A = 1" + "0" * 380)
@example("Vallotti on " + "#" * 300)
@example("A = 440 " * 40)
def test_any_text_names_targets_or_is_refused(text: str) -> None:
    try:
        targets = parse_targets(text)
    except ValueError as error:
        assert str(error)
    else:
        assert 1 <= len(targets.hertz) == len(targets.labels) <= 11 * FINEST_DIVISION
        assert np.all(np.diff(targets.hertz) > 0)


def test_targets_are_whole_and_ascend() -> None:
    c, d = Note.parse("C4"), Note.parse("D4")
    for hertz, labels, notes, message in (
        ((), (), (), "there is no target"),
        ((2.0, 1.0), ("a", "b"), (c, d), "targets ascend"),
        ((1.0, 2.0), ("a",), (c, d), "2 targets need as many labels"),
    ):
        with pytest.raises(ValueError, match=message):
            Targets("mine", hertz, labels, notes)


@EVERY_TAKE
def test_a_demo_take_has_the_errors_that_it_says(take: DemoTake) -> None:
    """As another tracker hears it: Praat's autocorrelation (Boersma 1993), through parselmouth"""
    sound = parselmouth.Sound(take.samples(), SAMPLE_RATE)
    pitch = sound.to_pitch_ac(time_step=0.005, pitch_floor=150, pitch_ceiling=1000, very_accurate=True)
    times, hertz = pitch.xs(), pitch.selected_array["frequency"]
    for note, of in zip(take.score.notes, take.played, strict=True):
        inside = (times > float(note.onset) + 0.06) & (times < float(note.end) - 0.06) & (hertz > 0)
        seconds = times[inside] - float(note.onset)
        heard, meant = cents(hertz[inside]), cents(of.pitch(seconds))
        assert inside.sum() > 100
        assert abs(np.mean(heard - meant)) < 1 and np.abs(heard - meant).max() < 6
        assert cents(of.hertz / (of.harmonic * DEMO_FUNDAMENTAL.hz())) == pytest.approx(of.error)


@EVERY_TAKE
def test_the_known_errors_are_found_within_a_cent(take: DemoTake) -> None:
    report = listen(take.samples(), SAMPLE_RATE, OVERTONES, SAX)
    assert [report.targets.labels[note.target] for note in report.notes] == [str(of.harmonic) for of in take.played]
    assert report.warnings == ()
    for heard, of, meant in zip(report.notes, take.played, take.score.notes, strict=True):
        assert heard.off == pytest.approx(of.error, abs=1)
        assert heard.drift == pytest.approx(of.drift, abs=1)
        assert heard.vibrato == pytest.approx(of.vibrato, rel=0.05, abs=0.5)
        assert heard.vibrato_rate == pytest.approx(of.vibrato_rate, abs=0.1)
        assert (heard.onset, heard.offset) == pytest.approx((float(meant.onset), float(meant.end)), abs=0.03)


def test_the_summary_adds_the_notes_up() -> None:
    """Against numpy on the errors that were put in, and by hand for the shares"""
    take = DEMO_TAKES["warming up"]
    summary = listen(take.samples(), SAMPLE_RATE, OVERTONES, SAX).summary
    errors = np.array([of.error for of in take.played])
    assert errors.tolist() == [-20, -16, -12, -8, -4, 0, 4, 8]
    assert summary.mean == pytest.approx(-6, abs=0.2)
    assert summary.rms == pytest.approx(math.sqrt(120), abs=0.2)
    assert summary.steady == pytest.approx(np.std(errors), abs=0.2)
    assert summary.worst == 0
    assert summary.within[:2] == (3 / 8, 5 / 8)


def test_sound_in_two_channels_is_heard_as_one() -> None:
    take = DEMO_TAKES["warming up"].samples()
    one, two = (listen(sound, SAMPLE_RATE, OVERTONES) for sound in (take, np.stack([take, take], axis=1)))
    assert [note.off for note in one.notes] == pytest.approx([note.off for note in two.notes])


def test_the_table_says_what_was_heard() -> None:
    report = listen(DEMO_TAKES["keyboard habit"].samples(), SAMPLE_RATE, OVERTONES, SAX)
    table = report.table()
    line = next(line for line in table.splitlines() if line.strip().startswith("3 "))
    *told, heard, off, spread = line.split()[3:10]
    assert told == ["7", "F5", "−31", "407.89"] and (off, spread) == ("+31.2", "0.2")
    assert float(heard) == pytest.approx(Note.parse("G#4").hz(), abs=0.011)
    assert "Furthest off: note 7 at 0:06.1, harmonic 11 (C♯6), +48.7 cents." in table
    assert "How near: 4 within 5, 4 within 10 and 6 within 20 cents; mean" in table
    assert "alto saxophone reads" in table and "Take care" not in table
    notes = table.splitlines()[table.splitlines().index("") + 1 :]
    assert len(notes) == 9 and len({len(line) for line in notes}) == 1


def test_a_take_that_is_sharp_throughout_is_heard_so_and_keeps_its_names() -> None:
    """Rendered 25 cents sharp in thirty-one, where the next step is nearer; read a major sixth up (common practice)"""
    steps = [Note.parse(name).step(equal(31)) for name in ("C4", "D4", "Ehb4", "G4", "A4", "C5")]
    sharp = equal(31).hz(np.array(steps)) * 2 ** (25 / 1200)
    report = listen(played(*sharp, seconds=0.3), SAMPLE_RATE, parse_targets("31"), SAX)
    assert report.offset is not None and report.offset.cents == pytest.approx(25, abs=0.5)
    assert [report.name(note.target) for note in report.notes] == ["A4", "B4", "C½♯5", "E5", "F♯5", "A5"]
    assert "The whole take is 25 cents sharp" in report.table() and np.abs(report.away).max() < 1
    assert "the whole take is +25 cents off; beside that" in OwnTake(report).sentence()
    two = listen(played(*sharp[:2]), SAMPLE_RATE, parse_targets("12"))
    assert two.offset is None and "mean" not in two.table()


def test_near_targets_are_owned_up_to() -> None:
    table = listen(DEMO_TAKES["keyboard habit"].samples(), SAMPLE_RATE, parse_targets("31"), SAX).table()
    assert "Targets are as close as 39 cents to each other here, so a note may be no more than 19 off" in table


def test_the_csv_reads_back_as_the_report() -> None:
    report = listen(DEMO_TAKES["wide vibrato"].samples(), SAMPLE_RATE, OVERTONES, SAX)
    rows = list(csv.DictReader(io.StringIO(report.csv())))
    assert [float(row["off_cents"]) for row in rows] == pytest.approx([n.off for n in report.notes], abs=6e-4)
    assert [row["sounding"] for row in rows] == ["D4", "F4", "A♭4", "B♭4", "C5", "D5", "E5", "F5"]
    assert [row["written"] for row in rows] == ["B4", "D5", "F5", "G5", "A5", "B5", "C♯6", "D6"]
    assert all(float(row["vibrato_hz"]) == pytest.approx(5.5, abs=0.1) for row in rows)


# Instruments whose sampled notes hold still enough for a mean to mean something, over the range of each.
PLAYERS = (
    "flute, oboe, clarinet in B♭, alto saxophone, bassoon, trumpet, horn in F, trombone, tuba, violin, cello, guitar"
)


def keys(name: str, count: int = 6) -> tuple[int, ...]:
    low, high = (69 + 12 * math.log2(hertz / 440) for hertz in INSTRUMENTS[name].range_hz)
    return tuple(round(low + (high - low) * (i + 0.5) / count) for i in range(count))


@pytest.mark.parametrize("name", PLAYERS.split(", "))
def test_sampled_instruments_are_heard_at_the_keys_that_were_played(name: str) -> None:
    """Recordings of players (a sound font's), each note as Praat's autocorrelation hears it through parselmouth"""
    player, numbers = INSTRUMENTS[name], keys(name)
    sound = sampled(player.midi_program, numbers)
    report = listen(sound, RATE, parse_targets("12"), player)
    assert not report.warnings
    pitch = parselmouth.Sound(sound, RATE).to_pitch_ac(
        pitch_floor=max(25, 0.7 * player.range_hz[0]), pitch_ceiling=1.4 * player.range_hz[1], very_accurate=True
    )
    times, hertz = pitch.xs(), pitch.selected_array["frequency"]
    for i, number in enumerate(numbers):
        middle = i * 1.5 + 0.3 + 0.6
        [note] = [note for note in report.notes if note.onset < middle < note.offset]
        assert report.targets.hertz[note.target] == pytest.approx(hz_from_midi(number))
        frames = (times > note.onset + 0.1) & (times < note.offset - 0.1) & (hertz > 0)
        ours = (report.track.times > note.onset + 0.1) & (report.track.times < note.offset - 0.1)
        assert cents(np.nanmedian(report.track.hertz[ours]) / np.median(hertz[frames])) == pytest.approx(0, abs=2)


def test_silence_and_what_is_too_short_are_refused() -> None:
    for sound, message in (
        (np.zeros(RATE), "the take is silent; check the microphone"),
        (np.full(RATE, 0.0004), "the take is all but silent, 68 dB below full scale"),
        (0.1 * np.ones(RATE // 10), "the take is too short: it lasts 0.10 s, and a note needs 0.2 s"),
        (np.zeros(0), "the take is too short: it lasts 0.00 s"),
        (np.full(RATE, np.nan), "an array of finite samples"),
        (np.zeros((2, 2, 2)), "an array of finite samples"),
    ):
        with pytest.raises(ValueError, match=message):
            listen(sound, RATE, OVERTONES)
    with pytest.raises(ValueError, match="8000 samples a second or more, not 100"):
        listen(np.ones(RATE), 100, OVERTONES)


def test_noise_has_no_notes_and_is_called_noise() -> None:
    noise = 0.1 * np.random.default_rng(1).normal(size=2 * RATE)
    with pytest.raises(ValueError, match=r"no steady note is found from 66 to 1744 Hz: the recording is noisy"):
        listen(noise, RATE, OVERTONES, SAX)


@EVERY_TAKE
def test_demo_takes_are_as_loud_as_other_sounds(take: DemoTake, tmp_path: Path) -> None:
    """By ITU-R BS.1770 as ffmpeg measures it: -30 LUFS, with peaks far under -12 dB. The level is a choice of this
    project's, so that the figure is its own; the measure is not."""
    level, peak = metered(write_wav(tmp_path / "take.wav", take.samples()))
    assert level == pytest.approx(-30, abs=0.15)
    assert -27 < peak < -24


def test_level_is_measured_as_it_is_defined() -> None:
    """A square wave of full scale is 0 dB, a sine 3.01 below it (by the definition of the root mean square)"""

    def loudest(sound: np.ndarray) -> float:
        return survey(Recording.of(sound, RATE)).loudest_dbfs

    sine = np.sin(2 * np.pi * 1000 * np.arange(RATE) / RATE)
    assert loudest(np.sign(sine + 1e-9)) == pytest.approx(0, abs=0.01)
    assert loudest(0.1 * sine) == pytest.approx(-23.01, abs=0.01)
    assert loudest(np.zeros(100)) == -math.inf


@pytest.mark.parametrize("gain", [1.5, 3.0])
@pytest.mark.parametrize("turned_down", [1.0, 0.25])
def test_clipping_is_heard_even_when_turned_down_later(gain: float, turned_down: float) -> None:
    take = DEMO_TAKES["true to the overtones"].samples()
    cut = turned_down * np.clip(gain * take / np.abs(take).max(), -1, 1)
    sixteen_bits = np.rint(cut * 32767) / 32768
    assert survey(Recording.of(sixteen_bits, SAMPLE_RATE)).clipped
    report = listen(sixteen_bits, SAMPLE_RATE, OVERTONES, SAX)
    assert "the recording is clipped" in report.warnings[0]


@pytest.mark.parametrize("hertz", [30, 50, 220, 1000, 12_000])
@pytest.mark.parametrize("peak", [1.0, 0.3, 0.02])
def test_a_whole_wave_is_not_called_clipped(hertz: float, peak: float) -> None:
    """Rounded to 16 bits, where a crest too may hold some equal samples"""
    wave = peak * np.sin(2 * np.pi * hertz * np.arange(2 * RATE) / RATE)
    assert not survey(Recording.of(np.rint(wave * 32767) / 32768, RATE)).clipped


def test_noise_under_a_take_is_said_when_it_is_loud() -> None:
    take = DEMO_TAKES["true to the overtones"].samples()
    hiss = np.random.default_rng(2).normal(size=take.size) * np.sqrt(np.mean(take**2))
    loud, soft = (listen(take + share * hiss, SAMPLE_RATE, OVERTONES, SAX) for share in (0.25, 0.01))
    assert "noisy" in loud.warnings[0] and soft.warnings == ()


@pytest.mark.parametrize("ratios", [(1, 1.5), (1, 1.25), (1, 1.25, 1.5), (1, 2 ** (7 / 12)), (1, 2 ** (4 / 12))])
@pytest.mark.parametrize("timbre", ["reed", "flute", "sine"])
def test_two_notes_at_a_time_are_told_from_one(ratios: tuple[float, ...], timbre: str) -> None:
    """In tune as well, where the two together repeat themselves as one low note would; but not two bare sines,
    tempered, which may be parts of one tone"""
    if timbre == "sine" and ratios[1] not in (1.5, 1.25):
        ratios = (1, 1.5)
    sound = chord(*(300 * ratio for ratio in ratios), timbre=timbre)
    take = hear(sound, RATE)
    assert any("more than one note" in fault for fault in take.faults)
    assert not hear(chord(300, timbre=timbre), RATE).faults


@pytest.mark.parametrize("name", ["flute", "oboe", "alto saxophone", "trumpet", "trombone", "cello", "guitar", "piano"])
@pytest.mark.parametrize("steps", [(0, 7), (0, 4), (0, 4, 7)])
def test_sampled_instruments_in_chords_are_told_from_one(name: str, steps: tuple[int, ...]) -> None:
    root = keys(name)[2]
    sound = sampled(INSTRUMENTS[name].midi_program, tuple(root + step for step in steps), together=True)
    try:
        said = "; ".join(hear(sound, RATE, INSTRUMENTS[name]).faults)
    except ValueError as error:
        said = str(error)
    assert "more than one note" in said


def test_faults_of_a_track_without_frames_are_none() -> None:
    empty = hear(played(440), RATE).track._replace(times=np.zeros(0), hertz=np.zeros(0), confidence=np.zeros(0))
    assert faults(Recording.of(np.zeros(RATE), RATE), empty) == Faults(several=False, noisy=False)


def test_a_take_an_octave_away_is_said_to_be_so() -> None:
    low, right = (played(*(n * DEMO_FUNDAMENTAL.hz() * 2.0**octave for n in (5, 7, 9, 11))) for octave in (-1, 0))
    assert any("an octave below its targets" in line for line in listen(low, RATE, OVERTONES).warnings)
    assert listen(right, RATE, OVERTONES, SAX).warnings == ()
    deep = played(*(n * DEMO_FUNDAMENTAL.hz() / 2 for n in (5, 6, 7, 8)))
    assert listen(deep, RATE, parse_targets("12"), INSTRUMENTS["flute"]).warnings == (
        "the take seems to be an octave below the usual range of the flute. Check the instrument",
    )
    shrill = played(*(n * DEMO_FUNDAMENTAL.hz() for n in (6, 7, 8, 9)))
    assert listen(shrill, RATE, parse_targets("12"), INSTRUMENTS["bass voice"]).warnings == (
        "the take seems to be an octave above the usual range of the bass voice. Check the instrument",
    )


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_sound_gives_a_report_or_an_error(data: Any) -> None:
    """Noise, clicks, steps and tones, of any length and level"""
    size = data.draw(st.integers(1, RATE))
    dice = np.random.default_rng(data.draw(st.integers(0, 99)))
    time = np.arange(size) / RATE
    sound = data.draw(st.sampled_from([0.0, 1e-5, 0.1, 1.0])) * dice.normal(size=size)
    sound += data.draw(st.sampled_from([0.0, 0.5])) * np.sin(2 * np.pi * data.draw(st.floats(5, 9000)) * time)
    sound += data.draw(st.sampled_from([0.0, 0.3])) * np.sign(np.sin(2 * np.pi * data.draw(st.floats(1, 900)) * time))
    if data.draw(st.booleans()):
        sound[dice.integers(size, size=5)] = 1.0
    targets = parse_targets(data.draw(st.sampled_from(["1", "12", "31", "harmonics of A3", "3/2 on C4"])))
    player = data.draw(st.sampled_from([None, *INSTRUMENTS.values()]))
    try:
        report = listen(sound, RATE, targets, player)
    except ValueError as error:
        assert "\n" not in str(error)
    else:
        assert report.table() and report.csv().count("\n") == len(report.notes) + 1
        assert all(math.isfinite(note.off) for note in report.notes)
        assert picture(OwnTake(report), size="panel").startswith(b"\x89PNG")


REPORTS = {
    "one note": lambda: listen(played(440), RATE, parse_targets("12")),
    "two near notes": lambda: listen(played(440, 447), RATE, parse_targets("31")),
    "five octaves": lambda: listen(played(60, 130, 500, 1100, 1900), RATE, parse_targets("1/1 9/8 5/4 on C4")),
    "many notes": lambda: listen(
        played(*(np.geomspace(200, 800, 40)), seconds=0.3), RATE, parse_targets("53"), INSTRUMENTS["viola"]
    ),
    "sampled": lambda: listen(sampled(65, (60, 62, 64, 65, 67)), RATE, OVERTONES, SAX),
}


@pytest.mark.parametrize("name", REPORTS)
@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
def test_any_report_is_drawn_without_overlaps(name: str, size: str) -> None:
    report = REPORTS[name]()
    stage = Stage(OwnTake(report), size)
    stage.move({})
    assert_clear(boxes(stage), stage.canvas.get_width_height())


def test_pictures_are_of_their_kind_and_described() -> None:
    report = listen(played(440, 450), RATE, parse_targets("12"))
    sentence = OwnTake(report).sentence()
    assert sentence.startswith("Your take: against 12 equal steps, ") and sentence.endswith(".")
    assert sentence.split(";")[0] in picture(OwnTake(report), "svg").decode()
    assert b"/Subject" in picture(OwnTake(report), "pdf")
    with Image.open(io.BytesIO(picture(OwnTake(report)))) as opened:
        assert opened.size == (1920, 1080)
    with pytest.raises(ValueError, match=r"a picture is a \.png, \.svg or \.pdf file, not \.gif"):
        picture(OwnTake(report), "gif")


def test_the_exhibit_shows_the_reports_of_its_demo_takes() -> None:
    """A keyboard's eleventh harmonic is 49 cents off, its seventh 31 (Ellis 1885); in its own targets nothing is"""
    shown: Exhibit = Intonation()
    assert "is 31.2 cents sharp" in shown.sentence(take="keyboard habit", against="harmonics", note=3)
    assert "is 48.7 cents sharp" in shown.sentence(take="keyboard habit", against="harmonics", note=7)
    for take, against in (("keyboard habit", "twelve"), ("in thirty-one", "thirty-one")):
        assert demo_report(take, against).summary.rms < 0.3
    assert [note.off for note in demo_report("in thirty-one", "harmonics").notes] == pytest.approx(
        equal(31).nearest(cents([5, 6, 7, 8, 9, 10, 11, 12]))[1], abs=0.3
    )
    take = shown.settle({"take": "tired lip"})
    assert np.array_equal(shown.sound(**take), DEMO_TAKES["tired lip"].samples())
    assert [note.hertz for note in shown.score(**take).notes] == [of.hertz for of in DEMO_TAKES["tired lip"].played]


def uploaded(panel: TakePanel, data: bytes, name: str = "take.wav") -> str:
    """What the panel says of a file that is chosen on the page."""
    panel.recorder.give(GivenTake(name, data))
    return str(panel.words.value)


def test_the_panel_hears_demo_takes_and_uploads() -> None:
    """It begins without a report, so that the take can be judged by ear first; and then says whose take it is of."""
    panel = take_panel()
    bundle = panel._repr_mimebundle_()
    assert panel.report is None and panel.image.layout.display == "none" and "image/png" not in bundle
    assert "say which of its notes are off, and press Measure" in panel.heading.value and not panel.words.value
    assert "Run the lesson" in bundle["text/plain"] and "cents" not in bundle["text/plain"]
    panel.measure.click()
    bundle, about = panel._repr_mimebundle_()
    assert bundle["image/png"].startswith(b"\x89PNG") and "Furthest off" in bundle["text/plain"]
    assert about["image/png"]["alt"].startswith("Demo take “a mixed day”: ")
    assert "application/vnd.jupyter.widget-view+json" in bundle
    panel.player.value, panel.against.value = "alto saxophone", "harmonics of B♭1"
    said = uploaded(panel, wav_bytes(DEMO_TAKES["warming up"].samples()), "my flute.wav")
    assert panel.take.value == "my own take" and "mean −6.0 cents" in said
    assert "Report: my flute.wav." in panel.heading.value
    assert panel.image.layout.display == ""
    assert panel._repr_mimebundle_()[1]["image/png"]["alt"].startswith("Your take: ")


def test_a_demo_take_is_heard_in_the_panel() -> None:
    """The row plays the take that is chosen, with its bends, as step 10's exhibit does; there is none for one's own."""
    panel = take_panel()
    for name in ("a mixed day", "wide vibrato"):
        panel.take.value = name
        exhibit = Intonation()
        assert panel.sound.program == exhibit_program(exhibit, exhibit.settle({"take": name}))
        assert panel.sound.layout.display == ""
    panel.take.value = "my own take"
    assert panel.sound.layout.display == "none"


def test_a_picture_of_a_demo_take_is_titled_as_that() -> None:
    report = demo_report("tired lip", "harmonics")
    titles = {demo: picture(OwnTake(report, demo=demo), "svg").decode() for demo in ("", "tired lip")}
    assert "Demo take “tired lip” against its targets" in titles["tired lip"] and "Your take" not in titles["tired lip"]
    assert "Your take against its targets" in titles[""]


def test_the_panel_holds_a_take_beside_an_exercise(tmp_path: Path) -> None:
    """It says what to play and with what care, counts the exercise's tempo, and tells of the note that is left out."""
    file = tmp_path / "thirds.toml"
    file.write_text(
        'title = "Thirds"\ntuning = "31"\ntempo = 90\nnotes = "C4 Ehb4 E4 G4"\ncautions = "Rest in between."'
    )
    panel = take_panel(str(file))
    assert "<b>Thirds.</b> Play C4, E½♭4, E4, G4. Rest in between." in panel.brief.value
    other = take_panel()
    assert panel.recorder.count_in != other.recorder.count_in and panel.recorder.drone_name == "A2"
    hertz = [float(equal(31).hz(step)) for step in (0, 10, 18)]
    played = render(Score(tuple(ScoreNote(beat, 1, pitch) for beat, pitch in enumerate(hertz))), TIMBRES["reed"])
    panel.player.value = "any instrument or voice"
    said = uploaded(panel, wav_bytes(played), "three of four.wav")
    assert panel.report is not None and [note.hertz for note in panel.report.notes] == pytest.approx(hertz, rel=1e-3)
    assert "left out" in said
    panel.against.value = "31"
    assert panel.brief.value == ""


def test_the_panel_says_in_a_line_what_is_wrong() -> None:
    panel = take_panel(theme="dark")
    panel.take.value = "my own take"
    panel.measure.click()
    assert "record a take or choose a file first" in panel.words.value and panel.image.layout.display == "none"
    assert "is damaged" in uploaded(panel, b"\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00" + bytes(100), "<i>memo</i>")
    assert "No report: &lt;i&gt;memo&lt;/i&gt;." in panel.heading.value and panel.report is None
    assert "not a recording" in uploaded(panel, b"<script>alert(1)</script>")
    panel.take.value, panel.against.value = "a mixed day", "<b>nonsense</b>"
    panel.measure.click()
    assert "&lt;b&gt;" in panel.words.value and "<b>" not in panel.words.value
    with pytest.raises(ValueError, match="no theme is called"):
        take_panel(theme="mauve")


def test_the_line_shows_each_note_as_far_off_as_it_is() -> None:
    """The middle of each curve is its deviation, beside a line drawn at 20 cents; the dot is where the take sounds"""
    exhibit = Intonation()
    for values in ({}, {"take": "keyboard habit", "note": 7}, {"take": "wide vibrato", "against": "twelve"}):
        settled = exhibit.settle(values)
        report = demo_report(settled["take"], settled["against"])
        for size in ("panel", "vertical", "square"):
            stage = Stage(exhibit, size)
            stage.move(settled)
            marks = np.asarray(stage._scene.parts["target"][-3 if size != "vertical" else -5].get_ydata())
            twenty = (marks.max() - marks[marks > marks.max() - 3].min()) / 2
            chosen = stage._scene.parts["note"][0]
            note = settled["note"] - 1
            gap = stage._scene.parts["gap"][note].get_xy()
            off = (np.asarray(chosen.get_ydata()) - gap[0, 1]) / twenty * 20
            assert off.mean() == pytest.approx(report.away[note], abs=0.6)
            assert stage._scene.parts["off"][0].get_text() in (
                f"{abs(report.away[note]):.0f}",
                f"{abs(report.away[note]):.1f}",
            )


@pytest.mark.parametrize("size", ["panel", "vertical", "square"])
def test_the_five_notes_of_the_question_are_measured_as_they_were_played(size: str) -> None:
    """One note is flat, by 35 cents, and its neighbours are in tune; five curves are drawn, and nothing of a longer
    take that was there before is left. What makes no sense is said."""
    exhibit, five = Intonation(), {"take": "five notes up", "against": "twelve"}
    stage = Stage(exhibit, size)
    stage.move(exhibit.settle({}))
    stage.move(exhibit.settle(five | {"note": 1}))
    assert sum(gap.get_visible() for gap in stage._scene.parts["gap"]) == 5
    assert [round(note.off) for note in demo_report("five notes up", "twelve").notes] == [0, 0, 0, -35, 0]
    sentence = exhibit.sentence(**exhibit.settle(five | {"note": 1}))
    assert "note 1, C4, is in tune" in sentence and "F" not in sentence and "flat" not in sentence
    for values, said in (
        (five | {"note": 6}, "has 5 notes: 1 to 5"),
        ({"take": "five notes up"}, "aims at no harmonics"),
    ):
        with pytest.raises(ValueError, match=said):
            exhibit.settle(values)
    stage.move(exhibit.settle({}))
    assert sum(gap.get_visible() for gap in stage._scene.parts["gap"]) == 8
