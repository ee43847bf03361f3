"""Counting: lengths as a teacher counts them, in the beats of the metre in force."""

from __future__ import annotations

from fractions import Fraction

from reedpath.phrase import Metre, Phrase

__all__ = ["beat_length", "metre_at"]

# a metre where a phrase gives none; common practice, no source
COMMON_TIME = Metre(Fraction(0), 4, 4)


def metre_at(phrase: Phrase, onset: Fraction) -> Metre:
    """The metre in force at a moment, 4/4 where the phrase gives none."""
    return next((metre for metre in reversed(phrase.metres) if metre.onset <= onset), COMMON_TIME)


def beat_length(metre: Metre) -> Fraction:
    """
    Quarter notes in a counted beat: in compound metres (6/8, 9/8, 12/8) a beat is three units.

    >>> beat_length(Metre(Fraction(0), 6, 8)), beat_length(Metre(Fraction(0), 3, 4))
    (Fraction(3, 2), Fraction(1, 1))
    """
    compound = metre.unit >= 8 and metre.count > 3 and metre.count % 3 == 0
    return Fraction(4, metre.unit) * (3 if compound else 1)
