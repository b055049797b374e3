"""Sound: timbres, the singing voice, rendering a score to samples, and audio files.

Samples are float64 arrays in which 1 is full scale (0 dBFS). Nothing here plays a sound by itself.
"""
