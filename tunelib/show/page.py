"""A printed page: one exhibit at one setting of its knobs, with its table and what to mind, as a PDF to print."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tunelib.exhibits import EXHIBITS, Exhibit, find_exhibit
from tunelib.export import CAUTIONS_TITLE, Drawing, Page, page_pdf, paper_width
from tunelib.files import check_targets, write_whole
from tunelib.show.still import picture

_LONG = 14  # rows: a longer table does not fit under a picture


def page(exhibit: str, path: str | Path, *, paper: str = "a4", overwrite: bool = False, **values: Any) -> Path:
    """Write an exhibit as a printed page: its picture and sentence, a table, and what to mind.

    A short table goes under the picture; a long one has a sheet to itself, and the picture, upright, has another.

    Parameters
    ----------
    exhibit : str
        Name of the exhibit, such as ``"key_grid"``; one that has something to print.
    path : str or Path
        Ends in .pdf.
    paper : str
        ``"a4"`` or ``"letter"``.
    overwrite : bool
        Whether to replace a file that is there.
    **values
        Knobs of the exhibit by name; the others stay at their defaults.

    Returns the path. Raises ValueError for an exhibit that does not exist or has no printed page, and for an ending,
    paper or knob that does not exist; FileExistsError if the file is there and `overwrite` is false; ImportError, with
    what to install, where Typst is missing.
    """
    path = Path(path)
    if path.suffix.lower() != ".pdf":
        raise ValueError(f"a printed page is a .pdf file, not {path.name!r}")
    check_targets([path], overwrite)
    return write_whole(path, printed_page(exhibit, paper, **values), overwrite=overwrite)


def printed_page(exhibit: str, paper: str = "a4", **values: Any) -> bytes:
    """The same page as the bytes of a PDF file; parameters and errors as for `page`."""
    paper_width(paper)  # refuses one that is not known
    return page_pdf(exhibit_page(exhibit, **values), paper)


def exhibit_page(exhibit: str, **values: Any) -> Page:
    """The same page before it is set; parameters and errors as for `page`."""
    shown = find_exhibit(exhibit)
    settled = shown.settle(values)
    if not has_page(shown):
        known = ", ".join(name for name, other in EXHIBITS.items() if has_page(other))
        raise ValueError(f"{shown.name!r} has no printed page; those that have one are {known}")
    words = shown.printed(**settled)
    sentence = shown.sentence(**settled)
    long = len(words.rows) > _LONG
    drawing = picture(shown, "svg", size="vertical" if long else "print", title="", **settled).decode()
    return Page(
        title=shown.title,
        introduction=words.introduction,
        drawings=[Drawing(drawing, description=sentence, caption=sentence)],
        table_title=words.table_title,
        head=words.head,
        rows=words.rows,
        cautions_title=CAUTIONS_TITLE,
        cautions=words.cautions,
        table_apart=long,
    )


def has_page(exhibit: Exhibit) -> bool:
    """Whether an exhibit has something to print."""
    return type(exhibit).printed is not Exhibit.printed
