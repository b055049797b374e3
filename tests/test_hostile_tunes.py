"""Tunes from files that are damaged, odd or mean harm: each is read, or refused in one short line, and at once."""

from __future__ import annotations

import io
import random
import re
import time
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tunelib.harmony.lead_sheet import parse_lead_sheet, read_lead_sheet
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.tune import LONGEST_TITLE, LeadSheet

MATERIAL = Path(__file__).parents[1] / "lessons" / "material"
XML = (MATERIAL / "offcuts.musicxml").read_bytes()
TEXTS = [path.read_text(encoding="utf-8") for path in sorted(MATERIAL.glob("*.txt"))]
TEXT = "title: t\nmetre: 4/4\ntempo: 120\nkey: C major\n| C | F |\nmelody: | C4:4 | D4:4 |\n"
PLACED = re.compile(r"line [1-9]\d*, column [1-9]\d*: \S")


def refusal(read: Callable[[], LeadSheet]) -> str:
    """The one line in which something is refused, or nothing if it is read; either way within seconds."""
    begun = time.process_time()
    try:
        read()
        said = ""
    except ValueError as error:
        said = str(error)
    assert time.process_time() - begun < 3
    assert "\n" not in said and len(said) < 600 and "sys.set_int_max_str_digits" not in said
    return said


@pytest.mark.parametrize("digits", ["9" * 300, "9" * 5000, "0" * 5000 + "1"], ids=["300", "5000", "zeros"])
@pytest.mark.parametrize(
    ("place", "number"),
    [
        ("4/4", "{}/4"), ("4/4", "4/{}"), ("120", "{}"), ("120", "120.{}"), ("C4:4", "C4:{}"), ("C4:4", "C4:1/{}"),
        ("C4:4", "C4:0.{}"), ("C4:4", "-:{}"), ("C4:4", "C{}:4"), ("C4:4", "{}"), ("C |", "C{} |"), ("C |", "C7b{} |"),
        ("C |", "C/{} |"), ("C |", "{}. C |"), ("C |", "C6/{} |"), ("C |", "%{} |"), ("C major", "C{}"),
    ],
)  # fmt: skip
def test_numbers_of_any_length_are_refused_at_their_place(place: str, number: str, digits: str) -> None:
    assert PLACED.match(refusal(lambda: parse_lead_sheet(TEXT.replace(place, number.format(digits), 1))))


@pytest.mark.parametrize("flats", ["bbb", "b" * 300, "#" * 5, "b" * 200_000])
@pytest.mark.parametrize(
    ("place", "name"), [("C |", "C{} |"), ("C |", "C/D{} |"), ("C4:4", "C{}4:4"), ("C m", "C{} m")]
)
def test_more_than_a_double_sharp_or_flat_is_refused_at_its_place(place: str, name: str, flats: str) -> None:
    said = refusal(lambda: parse_lead_sheet(TEXT.replace(place, name.format(flats), 1)))
    assert PLACED.match(said)
    assert "more than a double sharp or flat" in said or "is not a chord symbol: it has more than 100" in said


def test_a_title_that_cannot_be_printed_is_refused_on_its_line() -> None:
    assert parse_lead_sheet(TEXT.replace(": t", f": {'a' * LONGEST_TITLE}")).title == "a" * LONGEST_TITLE
    for title in ("a" * 10_000, "a" * 450_000):
        said = refusal(lambda title=title: parse_lead_sheet(TEXT.replace(": t", f": {title}")))  # type: ignore[misc]
        assert said.startswith("line 1, column 8: a title has 200 letters at most, and 'aaa")
        said = refusal(lambda title=title: musicxml_lead_sheet(XML.replace(b">Offcuts<", f">{title}<".encode())))  # type: ignore[misc]
        assert PLACED.match(said) and "a title has 200 letters at most" in said


@pytest.mark.parametrize(
    "sign", "\ufffe\uffff\0\a\x0b\x1b\x7f\ud800\ufdd0\ufeff\U0001ffff", ids=lambda c: f"{ord(c):x}"
)
@pytest.mark.parametrize("place", [": t", "C |", "4:4", "major"])
def test_a_character_that_no_page_can_show_is_refused_at_its_place(sign: str, place: str) -> None:
    """XML 1.0, 2.2: control characters, halves of pairs and code points that are no characters are none of its own"""
    spoilt = TEXT.replace(place, place[0] + sign + place[1:], 1)
    line = TEXT[: TEXT.index(place)].count("\n") + 1
    column = spoilt.split("\n")[line - 1].index(sign) + 1
    said = refusal(lambda: parse_lead_sheet(spoilt))
    assert said == f"line {line}, column {column}: the character U+{ord(sign):04X} cannot be printed: remove it"


def test_in_a_title_from_musicxml_it_is_refused_at_its_element() -> None:
    spoilt = XML.replace(b">Offcuts<", ">Off\ufdd0cuts<".encode())
    assert re.match(r"line \d+, column \d+: the character U\+FDD0", refusal(lambda: musicxml_lead_sheet(spoilt)))


SPACES = " " * 300_000
LONG = {
    "spaces": SPACES,
    "spaces after a letter": f"x{SPACES}",
    "spaces between letters": f"x{SPACES}y:",
    "letters and spaces": "a " * 150_000,
    "spaces in a heading": TEXT.replace("title:", f"title{SPACES}:"),
    "spaces in a bar": TEXT.replace("C |", f"C7{SPACES}(b9{SPACES}) |"),
    "spaces in a melody": TEXT.replace("melody:", f"melody{SPACES}:"),
    "letters": "x" * 450_000,
    "letters in a melody": TEXT.replace("C4:4", "x" * 450_000),
    "a long chord": TEXT.replace("C |", f"C7{'b9' * 100_000} |"),
    "brackets": TEXT.replace("C |", f"C{'()' * 100_000} |"),
    "dots": TEXT.replace("C |", f"C{' .' * 100_000} |"),
    "endings": f"|: C | {'1. ' * 50_000}C :|",
    "bars": "| C " * 11_000 + "|",
    "lines of bars": "| C |\n" * 50_000,
    "bar lines": "|" * 300_000,
    "headings": "title: x\n" * 50_000,
}


@pytest.mark.parametrize("name", LONG)
def test_what_is_far_too_long_is_told_at_once_and_not_repeated(name: str) -> None:
    said = refusal(lambda: parse_lead_sheet(LONG[name]))
    assert not said or PLACED.match(said)


@pytest.mark.parametrize("code", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "latin-1"])
def test_a_text_in_another_encoding_is_refused_by_name(tmp_path: Path, code: str) -> None:
    (tmp_path / "a.txt").write_bytes(TEXT.replace(": t", ": é").encode(code))
    said = refusal(lambda: read_lead_sheet(tmp_path / "a.txt"))
    assert re.fullmatch(r"a\.txt: line 1, column \d+: this is not UTF-8 text; save the file as UTF-8", said)


# MusicXML


def packed(data: bytes, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", method) as archive:
        archive.writestr("META-INF/container.xml", '<container><rootfile full-path="a.xml"/></container>')
        archive.writestr("a.xml", data)
    return file.getvalue()


def test_declared_attributes_are_refused_before_they_grow() -> None:
    """600 KB of them on ten thousand notes would fill 6 GB"""
    listed = " ".join(f"a{number} CDATA '{'x' * 900}'" for number in range(600))
    bomb = f"<!DOCTYPE score-partwise [<!ATTLIST note {listed}>]><score-partwise>{'<note/>' * 10_000}</score-partwise>"
    tracemalloc.start()
    try:
        said = refusal(lambda: musicxml_lead_sheet(bomb.encode()))
        assert tracemalloc.get_traced_memory()[1] < 50_000_000
    finally:
        tracemalloc.stop()
    assert re.match(r"line 1, column \d+: the file declares an attribute of its own, which no score needs", said)


@pytest.mark.parametrize(
    "declared", ["<!ELEMENT note ANY>", "<!NOTATION a SYSTEM 'b'>", "<!ATTLIST note a CDATA #IMPLIED>"]
)
def test_a_doctype_that_declares_anything_is_refused(declared: str) -> None:
    spoilt = re.sub(rb"<!DOCTYPE[^>]*>", f"<!DOCTYPE score-partwise [{declared}]>".encode(), XML)
    assert "of its own, which no score needs: remove it" in refusal(lambda: musicxml_lead_sheet(spoilt))


@pytest.mark.parametrize(
    "code", ["UTF-7", "hz", "shift_jis", "idna", "punycode", "rot13", "base64", "undefined", "x", "", "a" * 10_000]
)
def test_an_odd_encoding_is_refused_in_one_line(code: str) -> None:
    body = XML[XML.index(b"<score-partwise") :]
    said = refusal(lambda: musicxml_lead_sheet(f"<?xml version='1.0' encoding='{code}'?>".encode() + body))
    assert PLACED.match(said) and "this is not XML" in said


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_what_is_packed_otherwise_than_the_standard_says_is_refused(method: int) -> None:
    """MusicXML 4.0 packs with DEFLATE; LZMA may ask for four gigabytes before the first byte is there"""
    assert musicxml_lead_sheet(packed(XML)) == musicxml_lead_sheet(XML)
    assert "packed in a way that MusicXML does not know" in refusal(lambda: musicxml_lead_sheet(packed(XML, method)))


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_damaged_compressed_file_is_read_or_refused(method: int) -> None:
    chance = random.Random(method)
    whole = packed(XML, method)
    for _ in range(200):
        spoilt = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        refusal(lambda data=bytes(spoilt): musicxml_lead_sheet(data))  # type: ignore[misc]


VALUES = [
    "9" * 300,
    "9" * 5000,
    "-1",
    "0",
    "1e5",
    "x",
    "",
    "0.5",
    "99",
    "-99",
    "7.25",
    "other",
    "\ufdd0",
    "𝄫",
    "x" * 9999,
]


def test_a_score_spoilt_in_a_thousand_ways_is_read_or_refused() -> None:
    chance = random.Random(31)
    for _ in range(500):
        text = XML
        for _ in range(chance.randint(1, 4)):
            at, other = chance.randrange(len(text)), chance.randrange(len(text))
            way = chance.random()
            if way < 0.3:
                text = text[:at] + bytes([chance.randrange(256)]) + text[at + 1 :]
            elif way < 0.5:
                text = text[:at] + text[at + chance.randint(1, 200) :]
            elif way < 0.6:
                text = text[:other] + text[at : at + chance.randint(1, 400)] + text[other:]
            else:
                place = chance.choice(list(re.finditer(rb'(?<=>)[^<>\n]+(?=<)|(?<==")[^"]+', text)))
                text = text[: place.start()] + chance.choice(VALUES).encode() + text[place.end() :]
        refusal(lambda data=text: musicxml_lead_sheet(data))  # type: ignore[misc]


SIGNS = [
    *"| : :| % . N.C. 1. 2. 9. # b hb x / ( ) sus 7 13 maj m - C4: 1/3 0 ½♭ 𝄫 Cbbb /Gx alt".split(),
    *"melody: title: metre: key: tempo:".split(),
    *"\n\r\t \u2028\0\ufffe",
    "9" * 300,
]


def test_a_lead_sheet_spoilt_in_a_thousand_ways_is_read_or_refused_at_a_place() -> None:
    chance = random.Random(12)
    for _ in range(250):
        text = chance.choice(TEXTS)
        for _ in range(chance.randint(1, 5)):
            at, other, way = chance.randrange(len(text)), chance.randrange(len(text)), chance.random()
            if way < 0.5:
                text = text[:at] + chance.choice(SIGNS) + text[at:]
            elif way < 0.8:
                text = text[:at] + text[at + chance.randint(1, 30) :]
            else:
                text = text[:at] + text[other : other + 40] + text[at:]
        said = refusal(lambda text=text: parse_lead_sheet(text))  # type: ignore[misc]
        assert not said or PLACED.match(said)
