"""Elements of MusicXML, made in the order in which its schema wants them."""

from __future__ import annotations

from xml.etree import ElementTree


def add(parent: ElementTree.Element, tag: str, text: object = None, **attributes: str) -> ElementTree.Element:
    """Add an element to another, with its text and attributes."""
    child = ElementTree.SubElement(parent, tag, attributes)
    if text is not None:
        child.text = str(text)
    return child
