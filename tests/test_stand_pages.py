"""Parts and score as they are printed: measured on the drawings, and read back from the pages with poppler.

What is asked of them: a staff of 7.0 mm or more in parts, better 7.5, and not above 8.5 (Major Orchestra Librarians'
Association, *Music Preparation Guidelines*, 2017); in a score 4.5 mm; the number of the first bar at every line, and
section letters in boxes (E. Gould, *Behind Bars*, 2011).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import music21
import pytest
from lxml import etree
from matplotlib.ft2font import FT2Font
from poppler import poppler
from test_musicxml import check, schema  # noqa: F401 - a fixture

from tunelib.arrange.parts import TunePart, leader_parts, tune_parts
from tunelib.export.outlines import FONT_FOLDER
from tunelib.export.stand_layout import stand_pdf
from tunelib.export.stand_music import part_musicxml, part_systems, score_musicxml, score_systems
from tunelib.export.stand_pages import PART_STAFF_MM, PLAYERS_CAUTION, SCORE_STAFF_MM, part_pages, score_pages
from tunelib.export.typeset import Drawing, paper_width
from tunelib.harmony.lead_sheet import parse_lead_sheet, read_lead_sheet
from tunelib.harmony.retune import RetunedTune, retune
from tunelib.harmony.taste import Taste
from tunelib.pitch.instruments import instrument
from tunelib.pitch.spelling import Key
from tunelib.pitch.tunings import THIRTY_ONE, equal

MATERIAL = Path(__file__).parents[1] / "lessons" / "material"
PICKUP = """title: The Spokeshave
tempo: 152
key: Bb major
[A]
F7 |: Bbmaj7 G7alt | Cm7 F7 | Dm7 G7#9 | Cm9 F13 | Fm7 | Bb7alt | 1. Ebmaj7 Edim7 | Bb6/F F7 :| 2. Ebmaj7 Ebm6 | Bb6 ||
melody: F4:1/2 G4:1/2 A4:1/2 C5:1/2 |: D5:3/2 Bb4:1/2 Ab4 B4 | C5:2 A4:1/2 G4:1/2 F4 | F5:3/2 D5:1/2 B4 Bb4 | G4:3 A4 \
| Ab4:2 C5 Eb5 | Gb4:3/2 Ab4:1/2 Bb4 D5 | G4:3 Bb4 | D5:2 F4:1/2 G4:1/2 A4:1/2 C5:1/2 :| G4 Bb4 D5 Gb4 | F4:4 ||
[B]
| Am7b5 | D7alt | Gm7 | C7#11 | Cm7 | F7sus4 F7b9 | Bbmaj7 Bdim7 | Cm7 F7 |
melody: | Eb5:2 C5:1/3 A4:1/3 G4:1/3 Eb4 | F#4 Bb4 C5 Eb5 | D5:3 Bb4 | F#5:2 E5 C5 \
| Eb5:4 | G4 Bb4 Eb5 Gb4 | F4:4 | -:4 |
"""
CODA = """title: Planing by Lamplight
metre: 3/4
tempo: 138
key: C minor
[A]
| Segno Cm9 | Fm7 | Dm7b5 | G7b9 | Cm7 | Abmaj7 | Dm7b5 To Coda | G7alt |
melody: | G4:2 Eb5 | Ab4:2 C5 | F4 Ab4 D5 | F5 D5 B4 | Eb5:3 | C5:2 G4 | F4 D4 F4 | Eb4 B3 D4 |
[B]
| Cm7 | F7 | Bbmaj7 | Ebmaj7 | Abmaj7 | Dm7b5 | G7 | G7b9 D.S. al Coda |
melody: | Eb4:2 G4 | A4:2 C5 | D5:3 | D5 Bb4 G4 | C5:2 Eb5 | D5 C5 Ab4 | G4:3 | F4 D4 B3 |
| Coda G7 | Cm6 |
melody: | B4:2 D5 | C5:3 |
"""
BAND = "alto saxophone, trumpet, trombone, guitar, piano, double bass"
TASTE = Taste(0.6)
TUNES = {
    "pickup": retune(parse_lead_sheet(PICKUP), THIRTY_ONE, TASTE),
    "coda": retune(parse_lead_sheet(CODA), THIRTY_ONE, TASTE),
    "blues": retune(read_lead_sheet(MATERIAL / "blues.txt"), THIRTY_ONE, TASTE),
}
EACH = pytest.mark.parametrize("tune", TUNES.values(), ids=TUNES.keys())
MM_PER_POINT = 25.4 / 72
_APART = 0.8  # points between words
CAP_OF_SIZE = 0.662  # STIX General's capitals; held against the face below


def parts_of(tune: RetunedTune, names: str = BAND) -> dict[str, TunePart]:
    return {part.name: part for part in tune_parts(tune, [instrument(name) for name in names.split(",")])}


def lines(sections: list[list[Drawing]]) -> list[Drawing]:
    return [line for section in sections for line in section]


def mm_of_unit(line: Drawing, paper: str) -> float:
    """Millimetres on paper of the drawing's unit."""
    inner = re.findall(r'viewBox="0 0 ([\d.]+) [\d.]+"', line.svg)[1]
    return paper_width(paper) / float(inner)


def staff_heights(line: Drawing, paper: str) -> list[float]:
    """Of each staff of a line, in millimetres, from its lines in the first bar."""
    found = []
    first_bar = line.svg.split('class="measure"')[1]
    for staff in re.findall(r'class="staff">(.*?)class="(?:clef|layer)', first_bar, re.DOTALL):
        heights = [int(y) for y in re.findall(r'<path d="M\S+ (\S+) L', staff)[:5]]
        found.append((heights[4] - heights[0]) * mm_of_unit(line, paper))
    return found


def sizes(line: Drawing, kind: str, paper: str) -> list[tuple[str, float]]:
    """The words of a kind of text, each with its size in millimetres."""
    groups = re.findall(rf'<g [^>]*class="{kind}[^"]*".*?</g>', line.svg, re.DOTALL)
    spans = [span for group in groups for span in re.findall(r'<tspan font-size="(\d+)px">([^<]+)', group)]
    return [(text.strip(), int(size) * mm_of_unit(line, paper)) for size, text in spans]


def written(path: Path, pdf: bytes) -> Path:
    path.write_bytes(pdf)
    return path


def words_of(path: Path) -> Iterator[list[tuple[float, float, float, float, str]]]:
    """The words of each page with their boxes: left, top, right, bottom."""
    pattern = r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>'
    for page in poppler("pdftotext", "-bbox", path, "-").split("<page ")[1:]:
        yield [
            (float(left), float(top), float(right), float(bottom), word)
            for left, top, right, bottom, word in re.findall(pattern, page)
        ]


def printed_over(path: Path) -> list[tuple[str, str]]:
    """Words that touch one another, less the room that a face leaves above capitals and below the line."""
    found = []
    for words in words_of(path):
        inked = [(l, t + 0.28 * (b - t), r, b - 0.22 * (b - t), word) for l, t, r, b, word in words]  # noqa: E741
        for i, (left, top, right, bottom, word) in enumerate(inked):
            for other in inked[i + 1 :]:
                across = min(right, other[2]) - max(left, other[0])
                down = min(bottom, other[3]) - max(top, other[1])
                if across > -_APART and down > 0.5:
                    found.append((word, other[4]))
    return found


def test_the_capitals_of_the_face_are_as_high_as_is_counted_with() -> None:
    face = FT2Font(str(FONT_FOLDER / "STIXGeneral.ttf"))
    face.set_size(100, 72)
    assert face.load_char(ord("H")).height / 64 / 100 == pytest.approx(CAP_OF_SIZE, abs=0.01)


@EACH
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_part_can_be_read_from_a_stand(tune: RetunedTune, paper: str) -> None:
    """Staves, symbols, figures and letters, in millimetres on paper"""
    for part in parts_of(tune).values():
        for line in lines(part_systems(tune, part, PART_STAFF_MM, paper)):
            full_size = [height for height in staff_heights(line, paper) if height > 6]
            assert full_size and all(7.0 <= height <= 8.5 for height in full_size)
            for text, size in sizes(line, "harm", paper):
                if re.match("[A-G]", text):
                    assert size * CAP_OF_SIZE >= 2.8, text
            for kind in ("dir", "mNum", "syl"):
                assert all(size >= 9 * MM_PER_POINT for _, size in sizes(line, kind, paper))
            assert all(size >= 14 * MM_PER_POINT for _, size in sizes(line, "reh", paper))


@EACH
def test_a_score_has_a_staff_for_everybody(tune: RetunedTune) -> None:
    parts = parts_of(tune)
    for line in lines(score_systems(tune, list(parts.values()), SCORE_STAFF_MM, "a4")):
        heights = staff_heights(line, "a4")
        assert len(heights) == 7 and all(height >= 4.5 for height in heights)


@EACH
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_symbols_of_a_score_can_be_read_from_a_stand(tune: RetunedTune, paper: str) -> None:
    """Capitals of 2.5 mm or more, of section letters too"""
    for parts in (leader_parts(tune), list(parts_of(tune).values())):
        for line in lines(score_systems(tune, parts, SCORE_STAFF_MM, paper)):
            letters = [size for text, size in sizes(line, "harm", paper) if re.match("[A-G]", text)]
            assert min(letters + [size for _, size in sizes(line, "reh", paper)]) * CAP_OF_SIZE >= 2.5


def test_a_score_of_a_large_band_fits_its_pages(tmp_path: Path) -> None:
    """Forty players: nothing is cut off, so the words of the lowest staff are there, above the foot of the page"""
    tune = retune(parse_lead_sheet("| Dm7 | G7 |\nmelody: | D5:4 | B4:4 |"), THIRTY_ONE)
    parts = parts_of(tune, ",".join(["flute"] * 39 + ["tuba"]))
    path = written(tmp_path / "score.pdf", stand_pdf(score_pages(tune, list(parts.values()), "letter"), "letter"))
    [words] = [page for page in words_of(path) if any(word[4] == "tuba" for word in page)]
    assert max(word[3] for word in words if word[4] == "tuba") < 792 - 15 / MM_PER_POINT


@EACH
def test_every_line_has_the_number_of_its_first_bar(tune: RetunedTune) -> None:
    """Also beside a section letter, and all the numbers are those that are printed"""
    form = tune.sheet.written_bars
    for part in parts_of(tune).values():
        first, *others = lines(part_systems(tune, part, PART_STAFF_MM, "a4"))
        assert first.description.startswith(f"Staves of bars {form[0].number} to ")
        for line in others:
            number = re.match(r"Staves of bars? (\d+)", line.description)
            assert number and re.search(rf"(?:<tspan|<text)[^>]*>{number[1]}<", line.svg)


@EACH
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_words_are_printed_over_others(tune: RetunedTune, paper: str, tmp_path: Path) -> None:
    """As poppler finds the boxes of words"""
    parts = parts_of(tune, f"{BAND}, cello, clarinet")
    pages = {name: stand_pdf(part_pages(tune, part, paper), paper) for name, part in parts.items()}
    pages["score"] = stand_pdf(score_pages(tune, list(parts.values()), paper), paper)
    for name, pdf in pages.items():
        assert printed_over(written(tmp_path / f"{name}.pdf", pdf)) == []


def test_crowded_symbols_stay_apart(tmp_path: Path) -> None:
    bars = "| C7#11 F7b9 | Bbm7 Ebm7b5 | Abmaj7 Db7#9 | Gb7b9 F7 |\n"
    tune = retune(parse_lead_sheet(bars * 2), THIRTY_ONE, Taste(0.0))
    assert (
        printed_over(written(tmp_path / "part.pdf", stand_pdf(part_pages(tune, parts_of(tune, "guitar")["guitar"]))))
        == []
    )


def test_a_part_says_what_it_has_to_say(tmp_path: Path) -> None:
    """As poppler reads it (ISO 14289-1): tagged, part and title, the card as the player reads it, cautions"""
    tune = TUNES["pickup"]
    path = written(tmp_path / "part.pdf", stand_pdf(part_pages(tune, parts_of(tune)["alto saxophone"])))
    assert re.search(r"Tagged: +yes", poppler("pdfinfo", path))
    text = " ".join(poppler("pdftotext", "-raw", path, "-").split())
    assert text.startswith("alto saxophone The Spokeshave, in thirty-one You have the melody.")
    assert "Cents from the keys of a piano, A = 440 Hz" in text
    assert "E♭ +29" in text  # a G flat of the band
    assert "harm 7: ♭7 −32 above the root" in text
    assert PLAYERS_CAUTION in text


def test_the_card_can_be_read_from_a_stand(tmp_path: Path) -> None:
    """Names of 16 points and figures of 12 or more: their boxes are as high as a line of the face, 1.2 times that"""
    path = written(tmp_path / "part.pdf", stand_pdf(part_pages(TUNES["coda"], parts_of(TUNES["coda"])["trumpet"])))
    [words] = [page for page in words_of(path) if any(word[4] == "card" for word in page)]
    top = next(word[1] for word in words if word[4] == "card")
    beside = [(word[3] - word[1], word[4]) for word in words if word[1] > top]
    names = [height for height, word in beside if word in ("B♭", "G♭", "F½♭")]
    figures = [height for height, word in beside if re.fullmatch("[+−]\\d+", word)]
    assert names and figures and min(names) > 16 and min(figures) > 12


def test_the_score_gives_the_reasons_on_one_page_one_row_for_a_symbol(tmp_path: Path) -> None:
    tune = TUNES["pickup"]
    path = written(tmp_path / "score.pdf", stand_pdf(score_pages(tune, list(parts_of(tune).values()))))
    pages = poppler("pdftotext", "-layout", path, "-").split("\f")
    [page] = [page for page in pages if "What was changed, and why" in page]
    rows = re.findall(r"^ *(?!Written)([A-G]\S*) {2,}\S", page, re.MULTILINE)
    changed = {chord.written.symbol for chord in tune.chords if chord.changed}
    assert len(rows) == len(set(rows)) >= len(changed) > 2
    assert "the upper voices move" not in page


def test_sections_are_not_torn_apart_by_a_page_turn(tmp_path: Path) -> None:
    """Eight bars to a section, on one page each"""
    text = "".join(f"[{letter}]\n" + "| Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | C6 | C6 |\n" for letter in "ABCDEFGH")
    tune = retune(parse_lead_sheet(text), THIRTY_ONE)
    path = written(tmp_path / "part.pdf", stand_pdf(part_pages(tune, parts_of(tune, "piano")["piano"])))
    pages = [{word for *_, word in words} for words in words_of(path)]
    starts = [next(i for i, page in enumerate(pages) if str(number) in page) for number in range(9, 65, 4)]
    assert starts == sorted(starts) and len(set(starts)) > 1
    assert all(starts[i] == starts[i + 1] for i in range(0, len(starts), 2))


def lines_by_page(path: Path, systems: list[list[Drawing]]) -> list[int]:
    """How many lines of music are on each page, by the number at the left of every line but the first."""
    described = [re.match(r"Staves of bars? (\d+)", line.description) for line in lines(systems)[1:]]
    numbers = {number[1] for number in described if number}
    found = []
    for words in words_of(path):
        card = next((top for _, top, _, _, word in words if word == "Tuning"), 1000.0)
        here = numbers.intersection(word for left, top, _, _, word in words if 44 < left < 100 and top < card)
        numbers -= here
        found.append(len(here))
    return [1 + found[0], *found[1:]]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["song_form", "two_five_one", "blues"])
def test_no_page_has_the_tuning_card_alone(name: str, paper: str, tmp_path: Path) -> None:
    """Beside it are two lines of music or more, and in a score what was changed and why"""
    tune = retune(read_lead_sheet(MATERIAL / f"{name}.txt"), THIRTY_ONE, TASTE)
    parts = parts_of(tune, f"{BAND}, alto voice") | parts_of(tune, "trumpet")
    for part in parts.values():
        pages = part_pages(tune, part, paper)
        path = written(tmp_path / "part.pdf", stand_pdf(pages, paper))
        count = lines_by_page(path, pages.systems)
        assert sum(count) == len(lines(pages.systems))
        [card] = [place for place, words in enumerate(words_of(path)) if any(word[4] == "Tuning" for word in words)]
        assert count[card] >= 2, (part.name, count)
        assert not any(count[card + 1 :])
    path = written(tmp_path / "score.pdf", stand_pdf(score_pages(tune, list(parts.values()), paper), paper))
    [page] = [page for page in poppler("pdftotext", "-layout", path, "-").split("\f") if "Tuning card" in page]
    assert "What was changed, and why" in page


@pytest.mark.parametrize(
    ("name", "player", "paper"),
    [("blues", "alto saxophone", "letter"), ("song_form", "guitar", "letter"), ("two_five_one", "piano", "letter")],
)
def test_the_card_is_on_the_first_page_where_all_fits(name: str, player: str, paper: str, tmp_path: Path) -> None:
    """The last of them fits with lines closer together, no more than a millimetre and a half"""
    tune = retune(read_lead_sheet(MATERIAL / f"{name}.txt"), THIRTY_ONE, TASTE)
    pages = part_pages(tune, parts_of(tune)[player], paper)
    path = written(tmp_path / "part.pdf", stand_pdf(pages, paper))
    count = lines_by_page(path, pages.systems)
    assert count == [len(lines(pages.systems)), *[0] * (player == "guitar")]


@EACH
def test_the_tempo_is_clear_above_the_first_symbol(tune: RetunedTune, tmp_path: Path) -> None:
    """On the page, in a part and in a score, and no second time on the staves"""
    parts = parts_of(tune)
    for pages in (part_pages(tune, parts["trumpet"]), score_pages(tune, list(parts.values()))):
        assert not any('class="tempo' in line.svg for line in lines(pages.systems))
        words = next(words_of(written(tmp_path / "page.pdf", stand_pdf(pages))))
        tempo = next(word for word in words if word[4] == "♩")
        symbols = [
            word for word in words if word[1] > tempo[1] and re.match(r"[A-G][♯♭]?(m|maj|harm|dim|alt)?\d", word[4])
        ]
        _, top, _, bottom, _ = min(symbols, key=lambda word: word[1])
        assert tempo[3] - 0.22 * (tempo[3] - tempo[1]) < top + 0.28 * (bottom - top)


def test_two_hundred_bars_are_a_few_pages(tmp_path: Path) -> None:
    """A page holds 32 bars or more"""
    tune = retune(
        parse_lead_sheet("| Dm7 | G7 | Cmaj7 | A7 |\nmelody: | D4:4 | B4:4 | C5:2 E5:2 | C#5:4 |\n" * 50), THIRTY_ONE
    )
    path = written(tmp_path / "part.pdf", stand_pdf(part_pages(tune, parts_of(tune)["alto saxophone"])))
    pages = re.search(r"Pages: +(\d+)", poppler("pdfinfo", path))
    assert pages and int(pages[1]) <= 8


@EACH
def test_the_music_of_parts_and_score_is_musicxml(tune: RetunedTune, schema: etree.XMLSchema) -> None:  # noqa: F811
    """By the schema"""
    parts = parts_of(tune)
    for part in parts.values():
        check(schema, part_musicxml(tune, part, [5, 9]))
    check(schema, score_musicxml(tune, list(parts.values())))


@pytest.mark.parametrize("name", ["alto saxophone", "trumpet", "horn in F", "clarinet in E♭", "guitar", "flute"])
def test_a_melody_part_sounds_as_the_tune_does(name: str) -> None:
    """music21 takes it from written to sounding pitch, half-sharps as halves of semitones; and its signature fits"""
    tune = TUNES["coda"]
    part = parts_of(tune, name)[name]
    score = music21.converter.parseData(part_musicxml(tune, part), format="musicxml")
    assert isinstance(score, music21.stream.Score)
    struck = [note for note in score.toSoundingPitch().flatten().notes if isinstance(note, music21.note.Note)]
    heard = [note.pitch.ps for note in struck if not (note.tie and note.tie.type in ("stop", "continue"))]
    bars = tune.sheet.written_bars
    played = [note.name for note in part.notes if any(bar.onset <= note.onset < bar.onset + bar.beats for bar in bars)]
    assert heard == [name.quartertones / 2 + 12 for name in played if name]
    signature = score.parts[0].flatten().getElementsByClass(music21.key.KeySignature)[0].sharps
    assert signature == Key(part.player.written(tune.sheet.key.tonic), "minor").lowest_fifth + 1


def test_a_page_with_figures_for_steps_says_what_they_are() -> None:
    """Where notes are steps off their letters: in 41, and never in 31"""
    for division in (31, 41):
        tune = retune(parse_lead_sheet(PICKUP), equal(division), TASTE)
        parts = parts_of(tune)
        pages = {name: part_pages(tune, part).remarks for name, part in parts.items()}
        pages["score"] = score_pages(tune, list(parts.values())).remarks
        said = f"In italics under a note: how many of the {division} steps it is above or below its letter and sign."
        has = {name for name, remarks in pages.items() if said in remarks}
        drawn = {name for name, part in parts.items() if "italic" in part_musicxml(tune, part)}
        assert has == (drawn | {"score"} if division == 41 else set())
        assert bool(drawn) == (division == 41)
