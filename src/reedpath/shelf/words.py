"""Words as they are searched: small letters without accents."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

# letters that are no letter with an accent, and what they are typed as; common practice, no source
_LETTERS = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "ł": "l", "đ": "d", "ı": "i"})


def folded(text: str) -> str:
    """A text as it is compared: without accents, in small letters.

    >>> folded("Élan au cœur, naïf"), folded("Straße")
    ('elan au coeur, naif', 'strasse')
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).translate(_LETTERS)


def lines(words: Sequence[str]) -> str:
    """Words one on a line each, with an end of line before and after, so that one of them is found whole."""
    return "".join(f"\n{folded(one)}" for one in words) + "\n"


def phrase_words(row: Mapping[str, Any]) -> tuple[str, str, str]:
    """What a phrase is searched by: all its words, its tags, its techniques."""
    tags, techniques = json.loads(row["tags"]), json.loads(row["techniques"])
    words = " ".join([row["title"], row["key"], *tags, *(one.replace("_", " ") for one in techniques)])
    return folded(words), lines(tags), lines(techniques)
