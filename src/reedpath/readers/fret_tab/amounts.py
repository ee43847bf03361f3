"""Amounts: how far a string is bent or let go, from what is written after the sign.

``b9`` to the pitch of fret 9, ``b(9)`` alike; ``b``, ``bf`` and ``bfull`` a whole tone, ``bhalf``, ``b1/2`` and
``b½`` a semitone, ``b1/4`` and ``b¼`` a quarter tone, ``b1½`` a tone and a half; a number no higher than the
fret counts whole tones: ``7b1``, ``7b2``.
"""

from __future__ import annotations

import re
from fractions import Fraction

__all__ = ["FULL_BEND", "MOST_BEND", "bend_amount", "written_fret"]

# semitones of a bend without a number; "full" is a whole tone (common practice, no source)
FULL_BEND = Fraction(2)
# semitones; strings are bent by two whole tones at most, a third by the boldest (common practice, no source)
MOST_BEND = Fraction(6)

_AMOUNT = re.compile(
    r"\(?(?:(?P<steps>[1-3])?(?P<glyph>[¼½¾])|(?P<fraction>1/2|1/4|3/4|3/2)(?!\d)"
    r"|(?P<word>full|half|f)(?![a-z])|(?P<number>[0-9]{1,2})(?![0-9]))\)?",
    re.IGNORECASE,
)
_FRET = re.compile(r"\(?([0-9]{1,2})\)?(?![0-9])")
_GLYPHS = {"¼": Fraction(1, 4), "½": Fraction(1, 2), "¾": Fraction(3, 4)}


def _end(match: re.Match[str]) -> int:
    """Column after a number, with its own brackets but not those around the whole note."""
    stray = match[0].endswith(")") and not match[0].startswith("(")
    return match.end() - stray


def bend_amount(text: str, index: int, fret: int) -> tuple[Fraction, int]:
    """
    Semitones of the bend of a note on a fret, as written at an index of a text, and the index after it.

    A number that is neither a higher fret nor up to three whole tones gives 0.

    >>> bend_amount("7b9r7", 2, 7), bend_amount("7b", 2, 7), bend_amount("7b1/2", 2, 7)
    ((Fraction(2, 1), 3), (Fraction(2, 1), 2), (Fraction(1, 1), 5))
    """
    match = _AMOUNT.match(text, index)
    if match is None:
        return FULL_BEND, index
    if match["number"]:
        number = int(match["number"])
        steps = FULL_BEND * number if number <= 3 else Fraction(0)
        return (Fraction(number - fret) if number > fret else steps), _end(match)
    if match["word"]:
        return (FULL_BEND / 2 if match["word"].lower() == "half" else FULL_BEND), _end(match)
    part = _GLYPHS[match["glyph"]] if match["glyph"] else Fraction(match["fraction"])
    return FULL_BEND * (int(match["steps"] or 0) + part), _end(match)


def written_fret(text: str, index: int) -> tuple[int | None, int]:
    """
    The fret written at an index of a text, in brackets or not, and the index after it; None for none.

    >>> written_fret("7b9r7", 4), written_fret("7b9r", 4)
    ((7, 5), (None, 4))
    """
    match = _FRET.match(text, index)
    return (None, index) if match is None else (int(match[1]), _end(match))
