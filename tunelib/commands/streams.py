"""The streams that commands print on: plain letters where music signs cannot be shown, and nothing lost unnoticed."""

from __future__ import annotations

import codecs
import io
import sys

_PLAIN = {
    "♯": "#", "♭": "b", "♮": "n", "𝄪": "x", "𝄫": "bb", "½": "h", "−": "-", "–": "-", "—": "-", "·": ".", "×": "x",
    "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "→": "->", "±": "+/-", "°": "o", "\N{NO-BREAK SPACE}": " ",
}  # fmt: skip
_HANDLER = "tunelib-plain"


def _in_plain_letters(error: UnicodeError) -> tuple[str, int]:
    """What to print for letters that a stream cannot show: ``h`` and ``b`` for ½♭, as one types them."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(_PLAIN.get(letter, "?") for letter in lost), error.end


def fit_streams() -> None:
    """Let output and error stream print whatever is said; a closed error stream swallows it.

    Raises OSError if there is no output to print on.
    """
    codecs.register_error(_HANDLER, _in_plain_letters)
    if sys.stderr is None:
        sys.stderr = io.StringIO()
    if sys.stdout is None:
        raise OSError("there is nowhere to print: the output is closed")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_HANDLER)


def finish_output() -> None:
    """Send off what was printed. Raises OSError if it does not arrive."""
    try:
        sys.stdout.flush()
    except OSError:
        sys.stdout = io.StringIO()  # or the interpreter tries once more as it exits
        raise
