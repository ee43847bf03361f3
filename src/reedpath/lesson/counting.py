"""Counting: lengths as a teacher counts them, in the beats of the metre in force."""

from __future__ import annotations

from fractions import Fraction

from reedpath.phrase import Metre, Phrase, beat_of

__all__ = ["beat_length", "metre_at"]

# a metre where a phrase gives none; common practice, no source
COMMON_TIME = Metre(Fraction(0), 4, 4)
# metres of longer units are counted in quarters; common practice in teaching, no source
LEAST_COUNTED_UNIT = 4


def metre_at(phrase: Phrase, onset: Fraction) -> Metre:
    """The metre in force at a moment, 4/4 where the phrase gives none."""
    return next((metre for metre in reversed(phrase.metres) if metre.onset <= onset), COMMON_TIME)


def beat_length(metre: Metre) -> Fraction:
    """
    Quarter notes in a counted beat.

    In compound metres (6/8, 9/8, 12/8) a beat is three units; half notes are counted as two quarters, since a lesson
    goes slowly and a metronome does not (its scale begins at 40).

    >>> [beat_length(Metre(Fraction(0), count, unit)) for count, unit in ((6, 8), (3, 4), (2, 2))]
    [Fraction(3, 2), Fraction(1, 1), Fraction(1, 1)]
    """
    return Fraction(1) if metre.unit < LEAST_COUNTED_UNIT else beat_of(metre)
