"""What the course takes from others and cannot work out: published figures, and the works that it names.

Each figure and each work is here once, with where it is from; every lesson that says it is held against this. Where the
package itself keeps the figure, as it does how many flashes are safe, it is taken from there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from tunelib import MEANTONES
from tunelib.film import EASY_PACE, FASTEST_PACE
from tunelib.film.flashes import MOST_FLASHES
from tunelib.film.soundtrack import USUAL_LOUDNESS


@dataclass(frozen=True)
class Fact:
    """Numbers that are published or common practice, in the order in which a sentence says them, and the source."""

    source: str
    values: tuple[float, ...]


def fact(source: str, *values: float) -> Fact:
    """A fact with its numbers."""
    return Fact(source, values)


# --- Hearing and loudness -------------------------------------------------------------------------------------------

SMALL_LOUDSPEAKERS = fact("common practice", 150)  # hertz below which they play next to nothing
BEATS_MELT = fact("Fastl and Zwicker 2007 (from memory)", 15, 20)  # a second
REFERENCE_SINE = fact("ITU-R BS.1770-4, annex 1: 997 Hz at full scale reads −3.01 LKFS", 997, 3.01)
GATING_OVERLAP = fact("ITU-R BS.1770-4, annex 1: 75 % of the gating block", 3)  # quarters
BROADCAST_IN_EUROPE = fact("EBU R 128, 2023", -USUAL_LOUDNESS)
BROADCAST_IN_AMERICA = fact("ATSC A/85, 2013", 24)
VIDEO_PLATFORMS = fact("common practice", 14)
WEEKLY_ALLOWANCE = fact("ITU-T H.870, 2022", 40, 80, 75)  # hours, dB(A) for adults and for children
AT_THE_EAR = fact(WEEKLY_ALLOWANCE.source, WEEKLY_ALLOWANCE.values[1])
DAILY_ALLOWANCE = fact("NIOSH 98-126, 1998", 85, 8, 1 / 2, 3)  # dBA, hours, the exchange
FLASHES = fact("WCAG 2.2, success criterion 2.3.1", MOST_FLASHES)
THREE_FLASHES = fact("WCAG 2.2, 2023, success criterion 2.3.1", 2.2, 2023, MOST_FLASHES)

LOUDER_TWICE = fact("common practice", 2, 10)  # as loud, for so many decibels
TALK = fact("common practice", EASY_PACE, FASTEST_PACE)  # words a minute
RULE_OF_THUMB = fact("a rule of thumb, which the lesson says", 5)  # cents

# --- Teaching and learning ------------------------------------------------------------------------------------------

CLASS = fact("the class that the course is made for", 30)
CLASS_OF_SOUNDS = fact("the class that the course is made for", *CLASS.values, *CLASS.values)
LISTENING_ALONE = fact("Little, Cheng and Wright 2019 (abstract)", 4)  # days

# --- History --------------------------------------------------------------------------------------------------------

MEANTONE_IN_NUMBERS = fact("Barbour 1951 (from memory)", 1571, MEANTONES["third-comma"].year)
VERHEIJEN = fact("Barbour 1951 (from memory)", 1600)
ARCHICEMBALO = fact("J. Wild, Music Theory Online 20.2, 2014", 1555)
ARCHICEMBALO_KEYS = fact("W. Alves 1989; J. Wild, Music Theory Online 20.2, 2014", 36, 31)
SALINAS = fact("Salinas, De musica libri septem, book III (from memory)", MEANTONES["third-comma"].year)
ROSSI = fact("Huygens-Fokker Foundation, life of Huygens", 31, MEANTONES["fifth-comma"].year)
HUYGENS = fact("Huygens-Fokker Foundation; Œuvres complètes XX", 1661, 1691)
FOKKER = fact("Fokker 1975 (from memory)", 1940)
FOKKER_ORGAN = fact("Teylers Museum, Haarlem, on its organ of thirty-one notes", 1950)
BLUES_PERFORMANCES = fact("C. B. Cutting 2018 (abstract)", 15)
BLUE_SEVENTHS = fact("C. B. Cutting 2018 (abstract)", 3)  # clusters
THREE_UPRIGHTS = fact("SMuFL, Stein-Zimmermann accidentals: accidentalThreeQuarterTonesSharpStein", 3)


ZARLINO = fact(MEANTONE_IN_NUMBERS.source, MEANTONE_IN_NUMBERS.values[0])
AARON = fact("Barbour 1951 (from memory)", MEANTONES["quarter-comma"].year)
HUYGENS_31 = fact(HUYGENS.source, 31, *HUYGENS.values)
ARCHICEMBALO_ALL = fact(ARCHICEMBALO_KEYS.source, 1555, *reversed(ARCHICEMBALO_KEYS.values))
BLUE_MEANS = fact("Cutting 2018 (abstract)", 15, 319.1, 582.8, 1037.9, 2018)


# --- Works that the lessons name ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Work:
    """A work as lessons name it: whose it is, what it is called, and where and when it came out."""

    author: str
    title: str
    out: str


WORKS = (
    Work(
        "C. B. Cutting",
        'Microtonal Analysis of "Blue Notes" and the Blues Scale',
        "Empirical Musicology Review 13, 2018",
    ),
    Work("P. Aaron", "Thoscanello de la musica", "Venice 1523"),
    Work("G. Zarlino", "Le istitutioni harmoniche", "Venice 1558"),
    Work("G. Zarlino", "Dimostrationi harmoniche", "Venice 1571"),
    Work("N. Vicentino", "L'antica musica ridotta alla moderna prattica", "Rome 1555"),
    Work("F. Salinas", "De musica libri septem", "Salamanca 1577"),
    Work("G. B. Benedetti", "Diversarum speculationum liber", "Turin 1585"),
    Work("L. Rossi", "Sistema musico", "Perugia 1666"),
    Work("C. Huygens", "Lettre touchant le cycle harmonique", "Rotterdam 1691"),
    Work("C. Huygens", "Kosmotheoros", "The Hague 1698"),
    Work("A. Werckmeister", "Musicalische Temperatur", "Quedlinburg 1691"),
    Work("T. Young", "Phil. Trans.", "90, 1800"),
    Work("R. H. M. Bosanquet", "An Elementary Treatise on Musical Intervals and Temperament", "1876"),
    Work("Helmholtz", "On the Sensations of Tone", "2nd English edition, 1885"),
    Work("J. M. Barbour", "Tuning and Temperament", "1951"),
    Work("J. M. Barbour", "Tuning and Temperament: A Historical Survey", "1951"),
    Work("Peterson and", "Control methods used in a study of the vowels", "J. Acoust. Soc. Am. 24, 1952"),
    Work("R. Bellman", "Dynamic Programming", "1957"),
    Work("R. Plomp", "Tonal consonance and critical bandwidth", "J. Acoust. Soc. Am. 38, 1965"),
    Work("H. Levitt", "Transformed up-down methods in psychoacoustics", "J. Acoust. Soc. Am. 49, 1971"),
    Work("A. D. Fokker", "New Music with 31 Notes", "1975"),
    Work("ISO", "16:1975", ""),
    Work("Watson", "QUEST: a Bayesian adaptive psychometric method", "Perception & Psychophysics 33, 1983"),
    Work("Salmoni", "Knowledge of results and motor learning", "Psychological Bulletin 95, 1984"),
    Work(
        "Sethares",
        "Local consonance and the relationship between timbre and scale",
        "J. Acoust. Soc. Am. 94, 1993",
    ),
    Work(
        "National Institute for Occupational Safety and Health",
        "Occupational Noise Exposure",
        "Publication 98-126, 1998",
    ),
    Work("M. Levine", "The Jazz Theory Book", "1995"),
    Work("B. Nettles", "The Chord Scale Theory and Jazz Harmony", "1997"),
    Work(
        "S. Adachi",
        "An acoustical study of sound production in biphonic singing, Xöömij",
        "J. Acoust. Soc. Am. 105, 1999",
    ),
    Work(
        "A. de Cheveigné",
        "YIN, a fundamental frequency estimator for speech and music",
        "J. Acoust. Soc. Am. 111, 2002",
    ),
    Work("D. Tymoczko", "The Geometry of Musical Chords", "Science 313, 2006"),
    Work("N. Biamonte", "Augmented-Sixth Chords vs. Tritone Substitutes", "Music Theory Online 14.2, 2008"),
    Work(
        "Micheyl",
        "Influence of musical and psychoacoustical training on pitch discrimination",
        "Hearing Research 219, 2006",
    ),
    Work("H. Fastl", "Psychoacoustics: Facts and Models", "3rd edition, 2007"),
    Work("ATSC", "A/85", "2013 for −24"),
    Work("ITU-R", "BS.1770-4", "2015"),
    Work(
        "Settles",
        "A trainable spaced repetition model for language learning",
        "Association for Computational Linguistics, 2016",
    ),
    Work("G. Kubik", "Africa and the Blues", "1999"),
    Work(
        "C. B. Cutting",
        'Microtonal analysis of "blue notes" and the blues scale',
        "Empirical Musicology Review 13, 2018",
    ),
    Work(
        "D. F. Little",
        "Inducing musical-interval learning by combining task practice with periods of stimulus exposure alone",
        "Attention, Perception & Psychophysics 81, 2019",
    ),
    Work("Bergevin", "Overtone focusing in biphonic Tuvan throat singing", "eLife 9:e50476, 2020"),
    Work("Sundberg", "One singer, two voices", "Acoustics Today 17(1), 2021"),
    Work("ITU-T", "H.870", "2018, revised 2022"),
    Work("EBU", "R 128", "2023 for −23"),
    Work("W", "Web Content Accessibility Guidelines 2.2", "2023"),
)


def named_works(phrase: str, before: str) -> list[Work]:
    """The works that a phrase is the end of, by the words that are before it in the text.

    >>> [work.author for work in named_works("Venice 1523", "P. Aaron, Thoscanello de la musica, ")]
    ['P. Aaron']
    """
    told = _bare(f"{before} {phrase}")
    return [
        work
        for work in WORKS
        if _bare(phrase) in _bare(f"{work.author} {work.title} {work.out}")
        and all(_bare(part) in told for part in (work.author, work.title))
        and told.endswith(_bare(work.out))
    ]


def _bare(text: str) -> str:
    """Words without the commas and brackets between them."""
    return " ".join(re.sub(r"[,();:]", " ", text).split())
