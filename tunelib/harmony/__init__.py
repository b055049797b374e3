"""Several pitches: chords and their symbols, voicings, lead sheets, retuning, and progressions that wander."""
