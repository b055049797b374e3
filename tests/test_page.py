"""Exhibits as printed pages: what is on them, as other people's programs read it."""

from __future__ import annotations

import importlib
import os
import re
import sys
from pathlib import Path

import pytest
from poppler import poppler, unhyphened, words

from tunelib.exhibits import EXHIBITS
from tunelib.pitch.words import drawn
from tunelib.show import page
from tunelib.show.page import has_page

MODULE = importlib.import_module("tunelib.show.page")  # which `tunelib.show` hides behind the function
PRINTED = [name for name, exhibit in EXHIBITS.items() if has_page(exhibit)]


def descriptions(data: bytes) -> list[str]:
    """The alternative texts of a tagged PDF's figures (ISO 14289-1): a string of letters, or of hex in UTF-16."""
    plain = rb"(?:[^()\\]|\\.)*"  # and brackets within it, if they are balanced (ISO 32000-1, 7.3.4.2)
    strings = re.findall(rb"/Alt ?(?:\((%b(?:\(%b\)%b)*)\)|<FEFF([0-9A-F]*)>)" % (plain, plain, plain), data)
    return [
        re.sub(rb"\\(.)", rb"\1", text).decode() if text else bytes.fromhex(hexed.decode()).decode("utf-16-be")
        for text, hexed in strings
    ]


def test_there_are_pages_to_print() -> None:
    assert {"key_grid", "familiar_notes"} <= set(PRINTED)


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.276 x 841.89 pts (A4)"), ("letter", "612 x 792 pts (letter)")])
@pytest.mark.parametrize("name", PRINTED)
def test_a_page_holds_everything(tmp_path: Path, name: str, paper: str, size: str) -> None:
    """As poppler reads it: title, introduction, sentence, every cell of the table in its order, every caution"""
    exhibit = EXHIBITS[name]
    values = exhibit.settle({})
    printed = exhibit.printed(**values)
    path = page(name, tmp_path / "page.pdf", paper=paper)
    text = words(poppler("pdftotext", "-layout", path, "-"))
    for part in (exhibit.title, printed.table_title):
        assert part in text
    flowing = unhyphened(poppler("pdftotext", path, "-"))
    for part in (printed.introduction, exhibit.sentence(**values), *printed.cautions):
        assert unhyphened(drawn(part)) in flowing
    cells = iter(words(poppler("pdftotext", "-raw", path, "-")).split())
    for row in printed.rows:
        for cell in drawn(" ".join(row)).split():
            assert cell in cells, f"{cell!r} of {row} is missing, or out of order"
    facts = dict(re.findall(r"(?m)^([^:\n]+): +(.*)$", poppler("pdfinfo", path)))
    assert facts["Title"] == exhibit.title
    assert facts["Tagged"] == "yes"
    assert facts["Page size"] == size
    assert int(facts["Pages"]) <= 2
    data = path.read_bytes()
    assert b"<pdfuaid:part>1</pdfuaid:part>" in data  # ISO 14289-1, clause 5
    assert descriptions(data) == [exhibit.sentence(**values)]


@pytest.mark.parametrize("name", PRINTED)
def test_no_sign_is_missing_from_the_fonts(tmp_path: Path, name: str) -> None:
    """Nothing on the page is set in a stand-in: every font is one of text, and no double accidental is left over"""
    text = poppler("pdftotext", page(name, tmp_path / "page.pdf"), "-")
    assert not set(text) & set("𝄪𝄫\ufffd□")
    fonts = {line.split()[0].split("+")[-1] for line in poppler("pdffonts", tmp_path / "page.pdf").splitlines()[2:]}
    assert {font.split("-")[0] for font in fonts} <= {"LibertinusSerif", "STIXGeneral"}


def test_a_page_follows_its_knobs(tmp_path: Path) -> None:
    """The sentence of the setting that was asked for is on it, and not that of the default"""
    path = page("familiar_notes", tmp_path / "page.pdf", player="cello", note="G♯")
    sentence = EXHIBITS["familiar_notes"].sentence(player="cello", note="G♯")
    assert descriptions(path.read_bytes()) == [sentence]
    assert sentence.startswith("G♯2")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"exhibit": "wave"}, "'wave' has no printed page; those that have one are .*key_grid"),
        ({"exhibit": "key_gird"}, "did you mean key_grid"),
        ({"path": "page.png"}, r"a printed page is a \.pdf file, not 'page\.png'"),
        ({"path": "page"}, r"a printed page is a \.pdf file, not 'page'"),
        ({"paper": "a5"}, "no paper is called 'a5'; known are a4 and letter"),
        ({"across": 16}, "across goes from 1 to 15, not to 16"),
        ({"colour": 1}, "no knob is called 'colour'"),
    ],
)
def test_what_cannot_be_printed_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: dict[str, object], message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ValueError, match=message):
        page(**({"exhibit": "key_grid", "path": "page.pdf"} | arguments))  # type: ignore[arg-type]
    assert os.listdir(tmp_path) == []


def test_a_page_never_overwrites_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And says so before it is set"""
    path = tmp_path / "mine.pdf"
    path.write_bytes(b"mine")
    with monkeypatch.context() as patch:
        patch.setattr(MODULE, "page_pdf", lambda *_: pytest.fail("the page was set in vain"))
        with pytest.raises(FileExistsError, match=r"mine\.pdf is already there"):
            page("key_grid", path)
    assert path.read_bytes() == b"mine"
    page("key_grid", path, overwrite=True)
    assert path.read_bytes().startswith(b"%PDF") and os.listdir(tmp_path) == ["mine.pdf"]


def test_without_typst_a_page_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(ImportError, match=r'pip install "tunelib\[studio\]"'):
        page("key_grid", tmp_path / "page.pdf")
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("name", [name for name in EXHIBITS if name not in PRINTED])
def test_an_exhibit_without_a_page_says_so(name: str) -> None:
    with pytest.raises(NotImplementedError, match=f"'{name}' has no printed page"):
        EXHIBITS[name].printed(**EXHIBITS[name].settle({}))
