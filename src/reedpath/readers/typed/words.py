"""Words around typed tab: names of parts in brackets, and lines of chord names."""

from __future__ import annotations

import re

__all__ = ["is_chord_line", "part_names"]

_PART = re.compile(r"\[([^\[\]\d][^\[\]]{0,60})\]")
_CHORD = re.compile(
    r"(?:N\.?C\.?|[A-G][#b]?(?:maj|min|dim|aug|sus|add|m|M|\+|-|°|ø)?\d{0,2}(?:(?:sus|add|maj|b|#)\d{1,2})*"
    r"(?:/[A-G][#b]?)?)"
)


def part_names(text: str) -> tuple[tuple[int, str], ...]:
    """
    Columns (0-based) and names of the parts on a line of nothing but [names]; empty for any other line.

    >>> part_names("[Call]    [Answer]"), part_names("[4] 5")
    (((0, 'Call'), (10, 'Answer')), ())
    """
    if _PART.sub("", text).strip():
        return ()
    return tuple((match.start(), match[1].strip()) for match in _PART.finditer(text))


def is_chord_line(text: str) -> bool:
    """
    Whether a line holds nothing but names of chords.

    >>> is_chord_line("E7   A7/C#  | Bm7b5"), is_chord_line("A man")
    (True, False)
    """
    words = text.replace("|", " ").split()
    return bool(words) and all(_CHORD.fullmatch(word) for word in words)
