"""Tempos in words: in the beats that are counted, dotted quarters in 6/8, with the sign of their note value."""

from __future__ import annotations

from fractions import Fraction

from reedpath.phrase import Metre, practice_beat
from reedpath.wording.catalogue import Catalogue

# signs of the note values that a tempo is told in, by their length in quarter notes
TEMPO_SIGNS = {Fraction(1): "♩", Fraction(3, 2): "♩.", Fraction(1, 2): "♪", Fraction(3, 4): "♪."}


def tempo_unit(metre: Metre) -> Fraction:
    """Quarter notes of the note value that tempos are told in: the beat as it is practised, or the quarter."""
    beat = practice_beat(metre)
    return beat if beat in TEMPO_SIGNS else Fraction(1)


def tempo_sign(metre: Metre) -> str:
    """
    The sign of what is counted.

    >>> [tempo_sign(Metre(Fraction(0), *metre)) for metre in ((4, 4), (6, 8), (2, 2), (3, 8))]
    ['♩', '♩.', '♩', '♪']
    """
    return TEMPO_SIGNS[tempo_unit(metre)]


def counted_bpm(bpm: float, metre: Metre) -> float:
    """
    Quarter notes a minute as counted beats a minute.

    >>> counted_bpm(90.0, Metre(Fraction(0), 6, 8))
    60.0
    """
    return bpm / float(tempo_unit(metre))


def tempo_words(bpm: float, metre: Metre, catalogue: Catalogue, *, decimals: int = 1) -> str:
    """A tempo given in quarter notes a minute, as a metronome is set: "♩. = 60"."""
    told = counted_bpm(bpm, metre)
    number = catalogue.number(round(told, decimals) if decimals else round(told))
    return catalogue.say("tempo.quarter", bpm=number).replace("♩", tempo_sign(metre))


def clock_words(seconds: float) -> str:
    """A length as clocks show it, minutes and seconds.

    >>> clock_words(184.6)
    '3:05'
    """
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"
