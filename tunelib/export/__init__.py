"""A score written down: MIDI, MusicXML, engraved staves and printed pages."""

from tunelib.export.cautions import BREAKS, CAUTIONS_TITLE, LOW_VOLUME, POSTURE, REST_HANDS, RINGING
from tunelib.export.chart_staff import ChartPlaces, chart_places, chart_staff
from tunelib.export.chord_symbols import chart_symbol, marked_symbol, printed_sentence, printed_symbol
from tunelib.export.comparison import Compared, Comparison, compare_tune
from tunelib.export.engrave import engrave_svg
from tunelib.export.handout_page import Asked, Figure, NewSheet, Numbers, Part, Task, handout_page
from tunelib.export.lead import Lead
from tunelib.export.markdown import Block, Grid, Heading, Paragraph, Quotation, Span, read_markdown, words_of
from tunelib.export.midi import midi_bytes, write_midi
from tunelib.export.musicxml import musicxml_text, write_musicxml
from tunelib.export.outlines import StaffDrawing, line_drawings
from tunelib.export.safe_html import safe_html
from tunelib.export.sheet_files import play_along_midi, sheet_files, sheet_pages, write_play_along
from tunelib.export.staff_clefs import middle_line
from tunelib.export.stand_layout import stand_pdf
from tunelib.export.stand_pages import part_pages, score_pages
from tunelib.export.tune_files import check_length, tune_csv, tune_files, tune_names, tune_stem, tune_table
from tunelib.export.typeset import Drawing, Page, page_pdf, paper_width, parts_pdf
from tunelib.export.web_prose import web_prose

__all__ = [
    "BREAKS",
    "CAUTIONS_TITLE",
    "LOW_VOLUME",
    "POSTURE",
    "REST_HANDS",
    "RINGING",
    "Asked",
    "Block",
    "ChartPlaces",
    "Compared",
    "Comparison",
    "Drawing",
    "Figure",
    "Grid",
    "Heading",
    "Lead",
    "NewSheet",
    "Numbers",
    "Page",
    "Paragraph",
    "Part",
    "Quotation",
    "Span",
    "StaffDrawing",
    "Task",
    "chart_places",
    "chart_staff",
    "chart_symbol",
    "check_length",
    "compare_tune",
    "engrave_svg",
    "handout_page",
    "line_drawings",
    "marked_symbol",
    "middle_line",
    "midi_bytes",
    "musicxml_text",
    "page_pdf",
    "paper_width",
    "part_pages",
    "parts_pdf",
    "play_along_midi",
    "printed_sentence",
    "printed_symbol",
    "read_markdown",
    "safe_html",
    "score_pages",
    "sheet_files",
    "sheet_pages",
    "stand_pdf",
    "tune_csv",
    "tune_files",
    "tune_names",
    "tune_stem",
    "tune_table",
    "web_prose",
    "words_of",
    "write_midi",
    "write_musicxml",
    "write_play_along",
]
