"""A still: one exhibit at one setting of its knobs, as a PNG, SVG or PDF file."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import matplotlib

from tunelib.exhibits import Exhibit, find_exhibit
from tunelib.files import write_whole
from tunelib.show.stage import Stage

STILL_FORMATS = ("png", "svg", "pdf")


def still(
    exhibit: str,
    path: str | Path,
    *,
    size: str = "1080p",
    theme: str = "light",
    caption: bool = False,
    title: str | None = None,
    overwrite: bool = False,
    **values: Any,
) -> Path:
    """Write one picture of an exhibit; the ending of `path` (.png, .svg or .pdf) says which kind.

    Parameters
    ----------
    exhibit : str
        Name of the exhibit, such as ``"wave"``.
    path : str or Path
    size : str
        A named size, one of `tunelib.show.SIZES`.
    theme : str
        ``"light"``, ``"dark"`` or ``"transparent"``.
    caption : bool
        Whether to put the exhibit's sentence under the picture. In any case it goes into the file as its
        description.
    title : str, optional
        Stands in the picture in place of the exhibit's own title; an empty one leaves it out.
    overwrite : bool
        Whether to replace a file that is there.
    **values
        Knobs of the exhibit by name; the others stay at their defaults.

    Returns the path. Raises ValueError for a name, ending or knob that does not exist and for a title that has no
    room, FileExistsError if the file is there and `overwrite` is false.
    """
    path = Path(path)
    kind = path.suffix.lower().lstrip(".")
    if kind not in STILL_FORMATS:
        raise ValueError(f"a still is a .png, .svg or .pdf file, not {path.name!r}")
    drawn = picture(find_exhibit(exhibit), kind, size=size, theme=theme, caption=caption, title=title, **values)
    write_whole(path, drawn, overwrite=overwrite)
    return path


def picture(
    exhibit: Exhibit,
    kind: str = "png",
    *,
    size: str = "1080p",
    theme: str = "light",
    caption: bool = False,
    title: str | None = None,
    **values: Any,
) -> bytes:
    """One picture of an exhibit as bytes of a PNG, SVG or PDF file; the other parameters and errors as for `still`."""
    if kind not in STILL_FORMATS:
        raise ValueError(f"a picture is a .png, .svg or .pdf file, not .{kind}")
    settled = exhibit.settle(values)
    sentence = exhibit.sentence(**settled)
    stage = Stage(exhibit, size, theme, sentence if caption else "", title)
    if kind == "png":
        stage.move(settled)
        return stage.crisp()
    packed = io.BytesIO()
    described = {"Title": title or exhibit.title, "Description" if kind == "svg" else "Subject": sentence}
    undated: dict[str, Any] = {"Date": None} if kind == "svg" else {"CreationDate": None}
    with matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": exhibit.name, "pdf.fonttype": 42}):
        stage.whole(settled).savefig(packed, format=kind, metadata=described | undated)
    return packed.getvalue()


def paged(exhibits: Sequence[Exhibit], *, size: str = "1080p", theme: str = "light") -> bytes:
    """Exhibits without knobs as the pages of one PDF file, the first of which says what it is called and shows."""
    from matplotlib.backends.backend_pdf import PdfPages  # which no panel needs, and takes a while to load

    packed = io.BytesIO()
    described = {"Title": exhibits[0].title, "Subject": exhibits[0].sentence(), "CreationDate": None}
    with matplotlib.rc_context({"pdf.fonttype": 42}), PdfPages(packed, metadata=described) as pages:
        for exhibit in exhibits:
            pages.savefig(Stage(exhibit, size, theme).whole({}))
    return packed.getvalue()
