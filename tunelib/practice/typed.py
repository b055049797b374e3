"""What a learner typed, made plain before it is read.

``typed.js`` beside this file does the same in a page without Python; a test holds the two beside each other.
"""

from __future__ import annotations

import re

from tunelib.pitch import cut

_MINUS_SIGNS = str.maketrans({"−": "-", "–": "-", "—": "-"})
_POWER = re.compile(r"(?<![\d.,])(\d{1,4})\s*(?:\^|\*\*)\s*(\d{1,2})(?!\d)")
_GROUPS = re.compile(r"(?<=\d) (?=\d{3}(?!\d))")


def tidy(text: object) -> str:
    """One line with single spaces, plain minus signs, and the digits 0 to 9 for those of any script."""
    line = " ".join(str(text).translate(_MINUS_SIGNS).split())
    return re.sub(r"\d", lambda digit: str(int(digit[0])), line)


def tidy_numbers(text: object) -> str:
    """The same without the spaces between thousands, and with powers worked out.

    >>> tidy_numbers("1 000 Hz"), tidy_numbers("10^6")
    ('1000 Hz', '1000000')
    """
    return _GROUPS.sub("", _POWER.sub(lambda power: str(int(power[1]) ** int(power[2])), tidy(text)))


def quoted(text: object) -> str:
    """What was typed, as a reply repeats it: on one line, in full, or its beginning if it is long.

    >>> quoted(" ba  nana ")
    '“ba nana”'
    """
    return f"“{cut(' '.join(str(text).split()))}”"
