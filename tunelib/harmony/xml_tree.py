"""XML from files that may be damaged or mean harm: the tree of a MusicXML file, plain or compressed, and its values.

Nothing outside the file is looked up, and nothing in it may declare what would grow.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable
from fractions import Fraction
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from tunelib.pitch import cut, printable, shortened

LARGEST_FILE = 20_000_000
"""Bytes of a file, and of what is packed in it."""

_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # MusicXML 4.0, compressed files; others may ask for gigabytes
_DEEPEST = 64
_MOST_ELEMENTS = 1_000_000
_MOST_FILES = 1000
_DECIMAL = re.compile(r"[-+]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})")


def xml_tree(data: bytes) -> tuple[Element, dict[Element, tuple[int, int]]]:
    """The tree of a MusicXML file, and the line and the column of each element in it.

    Raises ValueError for what is not XML, for a file that declares entities, attributes or elements, and for one that
    is too large or too deep.
    """
    return _parsed(_unpacked(data) if data[:2] == b"PK" else data)


def _unpacked(data: bytes) -> bytes:
    """The score in a compressed file: the first root file that its container names."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if len(archive.infolist()) > _MOST_FILES:
                raise ValueError(f"the compressed file holds more than {_MOST_FILES} files, which no score does")
            container, _ = _parsed(_member(archive, "META-INF/container.xml"))
            for element in container.iter():
                if element.tag.rpartition("}")[2] == "rootfile":
                    return _member(archive, element.get("full-path", ""))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as error:
        raise ValueError(f"the compressed file is damaged, or locked: {cut(printable(str(error)))}") from None
    raise ValueError("the compressed file names no score in its META-INF/container.xml")


def _member(archive: zipfile.ZipFile, name: str) -> bytes:
    try:
        member = archive.open(name)
    except KeyError:
        raise ValueError(f"the compressed file has no {shortened(name)} in it") from None
    if archive.getinfo(name).compress_type not in _PACKED:
        raise ValueError(f"{shortened(name)} is packed in a way that MusicXML does not know: save it as .musicxml")
    with member:
        data = member.read(LARGEST_FILE + 1)  # counted while unpacking: the size that the file claims may be a lie
    if len(data) > LARGEST_FILE:
        raise ValueError(f"{shortened(name)} is larger than {LARGEST_FILE // 1_000_000} MB when unpacked")
    return data


def _parsed(data: bytes) -> tuple[Element, dict[Element, tuple[int, int]]]:
    if len(data) > LARGEST_FILE:
        raise ValueError(f"the file is larger than {LARGEST_FILE // 1_000_000} MB, which no tune is")
    parser = expat.ParserCreate()
    builder = TreeBuilder()
    places: dict[Element, tuple[int, int]] = {}
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise ValueError(f"{_place(parser)}: more than {_DEEPEST} elements are inside one another")
        if len(places) >= _MOST_ELEMENTS:
            raise ValueError(f"{_place(parser)}: the file has more than {_MOST_ELEMENTS:,} elements, which no tune has")
        places[builder.start(tag, attributes)] = parser.CurrentLineNumber, parser.CurrentColumnNumber + 1

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def declared(what: str) -> Callable[..., None]:
        def refuse(*_: object) -> None:
            raise ValueError(f"{_place(parser)}: the file declares {what} of its own, which no score needs: remove it")

        return refuse

    def entity(name: str, *_: object) -> None:
        raise ValueError(f"{_place(parser)}: the file defines an entity, {shortened(name)}, which no score needs")

    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = entity
    parser.AttlistDeclHandler = declared("an attribute")
    parser.ElementDeclHandler = declared("an element")
    parser.NotationDeclHandler = declared("a notation")
    try:
        parser.Parse(data, True)
        return builder.close(), places
    except expat.ExpatError as error:
        where = f"line {error.lineno}, column {error.offset + 1}"
        raise ValueError(f"{where}: this is not XML: {expat.errors.messages[error.code]}") from None
    except (LookupError, ValueError) as error:
        if str(error).startswith("line "):  # said above
            raise
        raise ValueError(f"line 1, column 1: this is not XML that can be read: {cut(str(error))}") from None


def _place(parser: expat.XMLParserType) -> str:
    return f"line {parser.CurrentLineNumber}, column {parser.CurrentColumnNumber + 1}"


def text_of(element: Element, path: str, default: str = "") -> str:
    """What an element inside another says."""
    return (element.findtext(path) or "").strip() or default


def number(text: str, what: str) -> Fraction:
    """A decimal number. Raises ValueError for what is none."""
    if not _DECIMAL.fullmatch(text):
        raise ValueError(f"the {what} is a number, not {shortened(text)}")
    return Fraction(text)


def whole(text: str, what: str) -> int:
    """A whole number. Raises ValueError for what is none."""
    found = number(text, what)
    if found.denominator > 1:
        raise ValueError(f"the {what} is a whole number, not {shortened(text)}")
    return int(found)


def half_sharps(text: str, what: str) -> int:
    """Half-sharps of an alteration in semitones. Raises ValueError for what is finer."""
    doubled = 2 * number(text, what)
    if doubled.denominator > 1:
        raise ValueError(f"the {what} is {text} semitones: half a semitone, 0.5, is the finest that has a name")
    return int(doubled)
