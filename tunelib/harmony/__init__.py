"""Several pitches: chords and their symbols, voicings, lead sheets, retuning, and progressions that wander."""

from tunelib.harmony.alternatives import Alternative, alternatives
from tunelib.harmony.choices import NO_CHOICES, Choice, Choices, choices_text, parse_choices, read_choices
from tunelib.harmony.chord_scales import CHORD_TONE, TENSION, TO_MIND, ChordScale, ScaleDegree, scale_over, scales_over
from tunelib.harmony.chords import Chord
from tunelib.harmony.drift import PROGRESSIONS, Progression
from tunelib.harmony.form import JUMPS, MARKS, FormBar
from tunelib.harmony.grips import Grip, GripString, grip
from tunelib.harmony.heard import place_of_sign, signs
from tunelib.harmony.lead_sheet import parse_lead_sheet, read_lead_sheet
from tunelib.harmony.lead_sheet_edit import with_chords_after
from tunelib.harmony.lead_sheet_text import lead_sheet_text
from tunelib.harmony.lead_sheet_xml import musicxml_lead_sheet
from tunelib.harmony.leading import Leading, lead, smooth_chain
from tunelib.harmony.meanings import families, interval_of, is_meantone
from tunelib.harmony.naming import Reading, readings
from tunelib.harmony.pair_roughness import PLAIN_AMPLITUDES, PLAIN_PARTIALS, chord_roughness
from tunelib.harmony.passing_chords import degrees_of_no_piano
from tunelib.harmony.plain_names import notes_before, plainest_name
from tunelib.harmony.playable import FEWEST_STEPS, MOST_STEPS, playable_division, widest_rub
from tunelib.harmony.ratios import complexity, pair_errors, ratio_chord, whole_numbers
from tunelib.harmony.retune import RetunedChord, RetunedTune, retune
from tunelib.harmony.scale_kinds import SCALE_KINDS, ScaleKind
from tunelib.harmony.symbols import Degree, root_word, symbol_body
from tunelib.harmony.taste import COMPING, Taste
from tunelib.harmony.tune import LeadSheet, TimedChord, TimedNote
from tunelib.harmony.twelve_bars import BARS, TUNED_BLUES, TunedBlues
from tunelib.harmony.voicings import VOICING_KINDS, Voicing, playable, ranked, telling_tones, voicings
from tunelib.harmony.way import Way
from tunelib.harmony.ways_between import ways_between
from tunelib.harmony.ways_onward import Onward, ways_onward
from tunelib.harmony.xml_chords import MUSICXML_KINDS

__all__ = [
    "BARS",
    "CHORD_TONE",
    "COMPING",
    "FEWEST_STEPS",
    "JUMPS",
    "MARKS",
    "MOST_STEPS",
    "MUSICXML_KINDS",
    "NO_CHOICES",
    "PLAIN_AMPLITUDES",
    "PLAIN_PARTIALS",
    "PROGRESSIONS",
    "SCALE_KINDS",
    "TENSION",
    "TO_MIND",
    "TUNED_BLUES",
    "VOICING_KINDS",
    "Alternative",
    "Choice",
    "Choices",
    "Chord",
    "ChordScale",
    "Degree",
    "FormBar",
    "Grip",
    "GripString",
    "LeadSheet",
    "Leading",
    "Onward",
    "Progression",
    "Reading",
    "RetunedChord",
    "RetunedTune",
    "ScaleDegree",
    "ScaleKind",
    "Taste",
    "TimedChord",
    "TimedNote",
    "TunedBlues",
    "Voicing",
    "Way",
    "alternatives",
    "choices_text",
    "chord_roughness",
    "complexity",
    "degrees_of_no_piano",
    "families",
    "grip",
    "interval_of",
    "is_meantone",
    "lead",
    "lead_sheet_text",
    "musicxml_lead_sheet",
    "notes_before",
    "pair_errors",
    "parse_choices",
    "parse_lead_sheet",
    "place_of_sign",
    "plainest_name",
    "playable",
    "playable_division",
    "ranked",
    "ratio_chord",
    "read_choices",
    "read_lead_sheet",
    "readings",
    "retune",
    "root_word",
    "scale_over",
    "scales_over",
    "signs",
    "smooth_chain",
    "symbol_body",
    "telling_tones",
    "voicings",
    "ways_between",
    "ways_onward",
    "whole_numbers",
    "widest_rub",
    "with_chords_after",
]
