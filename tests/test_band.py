"""The sheets of a whole band: their order, their pages, and what all play along with."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from midi_reader import hear
from poppler import poppler, words

import tunelib.show.band
from tunelib.commands.line import main
from tunelib.files import write_set
from tunelib.pitch.instruments import INSTRUMENTS, instrument
from tunelib.pitch.notes import Note
from tunelib.show.band import WHOLE_BAND, band_files, band_of, in_score_order, suit_all
from tunelib.sound.audio import read_audio

QUICK: dict[str, Any] = {"harmonics": range(2, 5), "tempo": 200.0}


def players(*names: str) -> list[Any]:
    return [instrument(name) for name in names]


@pytest.mark.parametrize(
    "score",
    [
        # An orchestra, as Read, Music Notation (1979) and Gould, Behind Bars (2011) have it, from memory; there horns
        # stand above trumpets, which here go by the order of bands.
        "piccolo, flute, oboe, english horn, clarinet in E♭, clarinet in B♭, bass clarinet, bassoon, contrabassoon, "
        "trumpet, trombone, tuba, glockenspiel, vibraphone, harp, piano, soprano voice, alto voice, tenor voice, "
        "bass voice, violin, viola, cello, double bass",
        # A big band: reeds, brass, rhythm (common practice).
        "alto saxophone, tenor saxophone, baritone saxophone, trumpet, trombone, guitar, piano, bass guitar",
        # A wind band (common practice).
        "flute, oboe, clarinet in B♭, bassoon, alto saxophone, trumpet, horn in F, trombone, euphonium, tuba",
    ],
    ids=["orchestra", "big band", "wind band"],
)
def test_parts_stand_in_score_order(score: str) -> None:
    names = [name.strip() for name in score.split(",")]
    for mixed in (sorted(names), names[::-1]):
        assert [player.name for player in in_score_order(players(*mixed))] == names


def test_every_instrument_has_a_place_in_the_score() -> None:
    assert len(in_score_order(list(INSTRUMENTS.values()))) == len(INSTRUMENTS)


def test_the_fundamental_for_all_is_the_best_there_is() -> None:
    """Beside a search by hand: the worst-off reaches the most, then all together, then the nearest"""
    band, numbers = players("flute", "bass guitar", "trumpet"), list(range(1, 9))
    best, reached = suit_all(band, numbers, Note.parse("B♭1"))
    found = []
    for step in range(-48, 25):
        hertz = 440 * 2 ** ((step - 9) / 12)  # A4 is nine steps above C4
        counts = []
        for player in band:
            low, high = (end * 2 ** (cents / 1200) for end, cents in zip(player.range_hz, (-50, 50), strict=True))
            counts.append(sum(low <= hertz * number <= high for number in numbers))
        found.append((min(counts), sum(counts), -abs(step + 26), step, counts))  # B♭1 is 26 steps below C4
    *_, step, counts = max(found)
    assert (best.hz(), reached) == (pytest.approx(440 * 2 ** ((step - 9) / 12)), counts)


def test_a_note_that_leaves_somebody_out_is_refused_with_the_one_that_suits_all() -> None:
    band = players("tuba", "piccolo")
    with pytest.raises(ValueError) as refusal:
        band_of(band, Note.parse("B♭1"), range(1, 9))
    found = re.fullmatch(
        r"on B♭1 no harmonic is in the comfortable range of the piccolo \(in range, of 8: piccolo 0, tuba (\d)\); "
        r"(\S+) suits them all best, with (\d) harmonics or more in range for each",
        str(refusal.value),
    )
    assert found
    tuba, better, least = found.groups()
    low, high = (440 * 2 ** ((midi - 69) / 12) for midi in (27.5, 65.5))  # E1 to F4, give or take half a step
    assert int(tuba) == sum(low <= 440 * 2 ** (-35 / 12) * number <= high for number in range(1, 9))
    parts = band_of(band, Note.parse(better), range(1, 9)).parts
    assert min(part.sheet.reached for part in parts if part.sheet) == int(least) > 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"players": []}, "a band has from 1 to 100 players, not 0"),
        ({"pages": ["toes"]}, "there is no page 'toes'; choose from overtones, notes, fingers"),
        ({"fundamental": None}, "a page of overtones needs a fundamental"),
        ({"pages": ["fingers"]}, "there is no page of fingers for the oboe and the trumpet"),
        ({"harmonics": []}, "a sheet needs at least one harmonic"),
        ({"harmonics": [1], "players": players("glockenspiel", "tuba")}, "on C3 no harmonic .* no fundamental suits"),
    ],
)
def test_a_band_that_cannot_be_is_refused(arguments: dict[str, Any], message: str) -> None:
    usual = {"players": players("oboe", "trumpet"), "fundamental": Note.parse("C3")}
    with pytest.raises(ValueError, match=message):
        band_of(**(usual | arguments))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files of a small band, in which two play the trumpet."""
    folder = tmp_path_factory.mktemp("band")
    names = ("trombone", "trumpet", "flute", "trumpet")
    assert main(
        ["band", "--instruments", ", ".join(names), "--fundamental", "C3", "--harmonics", "2-4", "--tempo", "200",
         "--out", str(folder), "--paper", "letter"]
    ) == 0  # fmt: skip
    return folder


def test_each_instrument_gets_its_pages_and_the_band_all_of_them(written: Path) -> None:
    """As poppler reads them: in score order, each instrument's first sheet on a right-hand page, one set a player"""
    sets = ["01-flute.pdf", "02-trumpet.pdf", "03-trombone.pdf"]
    heard = ["band-c-3-harmonics-2-4.mid", "band-c-3-harmonics-2-4.wav"]
    assert sorted(os.listdir(written)) == [*sets, *heard, WHOLE_BAND]
    texts = {name: poppler("pdftotext", written / name, "-").split("\f")[:-1] for name in [*sets, WHOLE_BAND]}
    for name, title in zip(sets, ("flute", "trumpet", "trombone"), strict=True):
        assert texts[name][0].startswith(f"Overtones of C3 for {title}\n")
        assert texts[name][1].startswith(f"After you have played: overtones of C3 for {title}\n")
        assert "cents" in texts[name][1] and "cents" not in texts[name][0]
        assert texts[name][2].startswith(f"Thirty-one notes on a staff: {title}\n")
        for number, text in enumerate(texts[name], start=1):
            assert re.search(rf"{title} .*{number} ?/ ?{len(texts[name])}", words(text))
        facts = dict(re.findall(r"(?m)^([^:\n]+): +(.*)$", poppler("pdfinfo", written / name)))
        assert facts["Title"] == f"Pages for {title}"
        assert facts["Page size"] == "612 x 792 pts (letter)" and facts["Tagged"] == "yes"
    assert texts[sets[2]][4].startswith("A slide in thirty-one: trombone\n")
    expected: list[str] = []
    for name in (sets[0], sets[1], sets[1], sets[2]):
        expected += [""] * (len(expected) % 2) + [words(text) for text in texts[name]]
    assert [words(text) for text in texts[WHOLE_BAND]] == expected


def test_all_play_along_with_one_recording(written: Path) -> None:
    """Harmonics 2 to 4 in turn, a bar of 1.2 s each: read back from the MIDI file, and in the recording's spectrum"""
    base = 440 * 2 ** (-21 / 12)  # C3
    guide = [note for note in hear((written / "band-c-3-harmonics-2-4.mid").read_bytes()) if note.program == 16]
    samples, rate = read_audio(written / "band-c-3-harmonics-2-4.wav", mono=True)
    for place, (number, note) in enumerate(zip((2, 3, 4), guide, strict=True)):
        assert note.hertz / base == pytest.approx(number, rel=1e-3) and note.start == 4 + 8 * place
        begin = round((1.2 * (1 + 2 * place) + 0.2) * rate)
        heard = samples[begin : begin + round(0.9 * rate)]
        spectrum = np.abs(np.fft.rfft(heard * np.hanning(len(heard)), 2**18))
        hertz = np.fft.rfftfreq(2**18, 1 / rate)
        near = np.abs(hertz / base - number) < 0.3
        assert hertz[near][spectrum[near].argmax()] / base == pytest.approx(number, rel=2e-3)


def test_the_pages_alone_need_no_fundamental(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Fingers are left out where they are not known"""
    assert main(["band", "--instruments", "oboe, trombone", "--pages", "fingers,notes", "--out", str(tmp_path)]) == 0
    assert sorted(os.listdir(tmp_path)) == ["01-oboe.pdf", "02-trombone.pdf", WHOLE_BAND]
    assert "Overtones" not in poppler("pdftotext", tmp_path / WHOLE_BAND, "-")
    assert capsys.readouterr().out.splitlines() == [
        str(tmp_path / name) for name in ("01-oboe.pdf", "02-trombone.pdf", WHOLE_BAND)
    ]


def full_disk(handle: int) -> None:
    raise OSError(28, "No space left on device")


def test_a_band_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file in the way stops it before anything is made, and a failure on the way takes all back"""
    band = band_of(players("oboe", "flute"), Note.parse("C4"), **QUICK)
    mine = tmp_path / WHOLE_BAND
    mine.write_bytes(b"mine")
    with monkeypatch.context() as patch:
        patch.setattr(tunelib.show.band, "parts_pdf", lambda *_: pytest.fail("pages were set in vain"))
        with pytest.raises(FileExistsError, match=rf"{WHOLE_BAND} is already there"):
            write_set(band_files(band), tmp_path)
        with pytest.raises(ValueError, match="no paper is called 'a5'"):
            write_set(band_files(band, "a5"), tmp_path, overwrite=True)
    assert mine.read_bytes() == b"mine"
    monkeypatch.setattr(tunelib.show.band, "parts_pdf", lambda *_: b"pdf")
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full_disk)
        with pytest.raises(OSError, match="No space left"):
            write_set(band_files(band), tmp_path / "out")
    assert not (tmp_path / "out").exists()
    said: list[str] = []
    paths = write_set(band_files(band), tmp_path / "out", progress=said.append)
    assert tuple(path.name for path in paths) == band_files(band).names
    assert said[:3] == ["printing 01-flute.pdf", "printing 02-oboe.pdf", f"printing {WHOLE_BAND}"]


def test_the_command_says_who_reaches_how_much(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(tunelib.show.band, "parts_pdf", lambda *_: b"pdf")
    monkeypatch.setattr(tunelib.show.band, "write_play_along", lambda sheet, wav, together: wav.write_bytes(b"wav"))
    arguments = ["band", "--instruments", "trumpet, bass guitar, trumpet", "--fundamental", "Bb2", "--harmonics", "1-8"]
    assert main([*arguments, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out.splitlines()[-4:]
    assert said[0] == f"2 players read 01-trumpet.pdf; it is in {WHOLE_BAND} 2 times."
    assert re.fullmatch(r"\d of 8 harmonics are in the comfortable range of the trumpet\.", said[1])
    assert said[2] == "1 of 8 harmonics are in the comfortable range of the bass guitar."  # up to G3, 196 Hz
    assert re.fullmatch(r"On \S+ each would have \d or more in range: try --fundamental \S+", said[3])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ["--instruments", "trumpet,,flute"],
            "'trumpet,,flute' has a name missing; put one comma between two instruments",
        ),
        (["--instruments", "trumpt, flute"], "no instrument is called 'trumpt'; did you mean trumpet"),
        (["--instruments", "oboe, flute"], "the page of overtones needs --fundamental, such as Bb1"),
        (["--instruments", "oboe, flute", "--pages", "fingers"], "no page of fingers for the flute and the oboe"),
        (["--instruments", "tuba, piccolo", "--fundamental", "Bb1", "--harmonics", "1-8"], "suits them all best"),
        (["--instruments", "tuba, glockenspiel", "--fundamental", "Bb1"], "the lowest that works here is C2"),
        (["--instruments", "oboe, flute", "--pages", "notes", "--paper", "a5"], "no paper is called 'a5'"),
        (["--instruments", "oboe", "--fundamental", "C4", "--tempo", "5"], "the tempo must be from 20 to 200"),
    ],
)
def test_the_command_says_in_one_line_what_is_wrong(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], message: str
) -> None:
    assert main(["band", *arguments, "--out", str(tmp_path / "out")]) == 2
    printed = capsys.readouterr()
    assert re.fullmatch(r"python -m tunelib band: [^\n]*\n", printed.err)
    assert message in printed.err and printed.out == ""
    assert os.listdir(tmp_path) == []
