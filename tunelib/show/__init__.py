"""The ways to show an exhibit: live in a notebook (`panel`), as a picture (`still`), or on paper (`page`)."""

from tunelib.show.ahead import Ahead, ahead
from tunelib.show.assist import aloud, assistance
from tunelib.show.band import WHOLE_BAND, Band, band_files, band_of, suit_all
from tunelib.show.carried import carry_over
from tunelib.show.index import index, write_index
from tunelib.show.page import has_page, page, printed_page
from tunelib.show.page_panel import PAGE_PANEL_STYLE, panel_data, panel_html
from tunelib.show.panel import panel
from tunelib.show.players_pages import players_pages
from tunelib.show.stage import SIZES, Size, Stage, find_size, lightened
from tunelib.show.still import STILL_FORMATS, paged, picture, still

__all__ = [
    "PAGE_PANEL_STYLE",
    "SIZES",
    "STILL_FORMATS",
    "WHOLE_BAND",
    "Ahead",
    "Band",
    "Size",
    "Stage",
    "ahead",
    "aloud",
    "assistance",
    "band_files",
    "band_of",
    "carry_over",
    "find_size",
    "has_page",
    "index",
    "lightened",
    "page",
    "paged",
    "panel",
    "panel_data",
    "panel_html",
    "picture",
    "players_pages",
    "printed_page",
    "still",
    "suit_all",
    "write_index",
]
