"""Swing in words: what "swing", "shuffle" or "straight" over a staff asks for."""

from __future__ import annotations

import re
from fractions import Fraction

# first to second half of a beat; common practice, no source: a shuffle is a triplet with its middle missing
_TRIPLET_SWING = Fraction(2)
# English, French and German; common practice, no source
_SWUNG = re.compile(r"\b(swing|swung|shuffle|swingué|geswingt)\b", re.IGNORECASE)
_STRAIGHT = re.compile(r"\b(straight|even|no swing|not swung|binaire|gerade)\b", re.IGNORECASE)


def swing_of_words(text: str) -> Fraction | None:
    """Ratio of the two halves of a beat that a direction asks for; None when it says nothing of swing.

    >>> swing_of_words("Medium shuffle"), swing_of_words("Straight eighths"), swing_of_words("Slowly")
    (Fraction(2, 1), Fraction(1, 1), None)
    """
    if _STRAIGHT.search(text):
        return Fraction(1)
    return _TRIPLET_SWING if _SWUNG.search(text) else None
