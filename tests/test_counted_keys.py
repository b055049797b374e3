"""Keys whose names are counted from others: they recede behind the plain names, say themselves in full, and fit."""

from __future__ import annotations

from typing import Any

import pytest
from keys_page import keys_page

from tunelib.live import keys

# Of each key: what it says, whether that is counted from another name, its size of type, and what more it says.
KEYS = """[...document.querySelectorAll('.tunelib-key')].map(key => ({
  said: key.textContent, counted: /[+−]/.test(key.textContent), size: parseFloat(getComputedStyle(key).fontSize),
  title: key.title, aloud: key.getAttribute('aria-label'),
  cut: key.scrollWidth > key.clientWidth + 1 || key.scrollHeight > key.clientHeight + 1,
}))"""


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize(("division", "counts"), [(12, 0), (19, 0), (22, 0), (31, 0), (41, 0), (53, 1)])
@pytest.mark.parametrize("layout", ["rows", "line"])
def test_plain_names_are_read_first(chromium: Any, division: int, counts: int, layout: str, width: int) -> None:
    """Of 53 steps some have no letter with a sign or two; their names are smaller, and whole on hover."""
    with keys_page(chromium, keys(division, layout), viewport={"width": width, "height": 900}) as page:
        found = page.evaluate(KEYS)
    counted, plain = ([key for key in found if key["counted"] is which] for which in (True, False))
    assert bool(counted) == bool(counts) and len(plain) > 10
    assert not [key["said"] for key in found if key["cut"]]
    assert all(key["title"] == "" for key in plain)
    for key in counted:
        assert 12 <= key["size"] <= min(other["size"] for other in plain)
        assert key["title"][0] == key["aloud"][0] and key["title"][-1] == key["aloud"].split(" step")[0][-1]
    if width == 1280 and layout == "rows" and counted:
        assert max(key["size"] for key in counted) < 0.8 * min(key["size"] for key in plain)
