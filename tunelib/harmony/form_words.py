"""The words and signs for the form of a tune: segno, To Coda, D.S. al Coda and their like, as people write them."""

from __future__ import annotations

from tunelib.harmony.form import MARKS

_SIGNS = {"𝄋": " segno ", "𝄌": " coda ", "⊕": " coda ", ".": "", ",": ""}
_IN_FULL = {"da capo": "dc", "dal segno": "ds"}
_WORDS = {mark.replace(".", "").casefold(): mark for mark in MARKS}
MARK_WORDS = {mark: mark.replace("fine", "Fine").replace("coda", "Coda").replace("to", "To") for mark in MARKS} | {
    "segno": "Segno"
}
"""The marks of `tunelib.harmony.form` as they are printed, such as ``"D.S. al Coda"``."""


def form_mark(words: str) -> str:
    """The mark that words or signs stand for; empty for any others.

    >>> form_mark("Dal segno al fine"), form_mark("ds al 𝄌"), form_mark("slowly")
    ('D.S. al fine', 'D.S. al coda', '')
    """
    plain = words.casefold()
    for sign, name in _SIGNS.items():
        plain = plain.replace(sign, name)
    plain = " ".join(plain.split())
    for full, short in _IN_FULL.items():
        plain = plain.replace(full, short)
    return _WORDS.get(plain, "")


def in_order(marks: set[str]) -> tuple[str, ...]:
    """The marks of a bar in the order in which they stand in it; of two jumps, the one that says more."""
    said = {mark for mark in marks if not any(other.startswith(f"{mark} al") for other in marks)}
    return tuple(mark for mark in MARKS if mark in said)
