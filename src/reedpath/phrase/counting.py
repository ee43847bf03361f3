"""How the places of a bar are counted: "1 e & a", and what is meant by a place that nothing is counted at."""

from __future__ import annotations

from fractions import Fraction
from math import floor

# what is counted on the quarters of a counted unit: "1 e & a" (common practice, no source)
COUNTED = {Fraction(1, 4): "e", Fraction(1, 2): "&", Fraction(3, 4): "a"}
_HALF, _THIRD = Fraction(1, 2), Fraction(1, 3)


def guessed_places(start: Fraction, end: Fraction, count: int) -> list[Fraction]:
    """
    Where so many uncounted places between two counted ones are taken to lie, all in counted units of a bar.

    One alone in half a unit is of a triplet, as players take it; else they are evenly spread.

    >>> [str(place) for place in guessed_places(Fraction(1, 2), Fraction(1), 1)]
    ['2/3']
    >>> [str(place) for place in guessed_places(Fraction(1), Fraction(2), 2)]
    ['4/3', '5/3']
    """
    if count == 1 and end - start == _HALF and (2 * start).denominator == 1:
        return [floor(start) + (_THIRD if start.denominator == 1 else 2 * _THIRD)]
    return [start + (end - start) * index / (count + 1) for index in range(1, count + 1)]
