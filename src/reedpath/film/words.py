"""Words: text cut where a line may be broken, which is not at the fixed spaces that French puts before signs."""

from __future__ import annotations

import re

__all__ = ["words_of"]

# plain spaces, everything that breaks a line, and signs that control something
_BREAKS = re.compile(r"[\x00-\x20\x7f-\x9f\u2028\u2029]+")


def words_of(text: str) -> list[str]:
    r"""
    The pieces of a text between which a line may be broken.

    >>> words_of(" Pas à pas\u202f: slow\n")
    ['Pas', 'à', 'pas\u202f:', 'slow']
    """
    return [word for word in _BREAKS.split(text) if word]
