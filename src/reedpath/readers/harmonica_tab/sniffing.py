"""Telling harmonica tab from other texts: by the share of its pieces that are moves."""

from __future__ import annotations

from reedpath.errors import ReadError
from reedpath.harp import guess_notation, tokenize_tab
from reedpath.readers.harmonica_tab.lines import Page, lay_out
from reedpath.readers.texts import looks_like_text
from reedpath.readers.typed import plain_characters

__all__ = ["sniff_harmonica_tab"]

# bytes, lines and columns that are looked at
_BYTES, _LINES, _COLUMNS = 16_384, 200, 400
# moves under which a text is not claimed
_ENOUGH_MOVES = 4
# certainty that the heading names a harp, and that every piece is a move of a likely notation; ours
_NAMED, _ALL_MOVES = 0.3, 0.75


def _words_beside(lines: list[str], page: Page) -> int:
    """Pieces of the lines that are neither heading, nor names of parts, nor lengths."""
    apart = {*page.heading.lines.values(), *(number for number, _ in page.parts)}
    return sum(
        len(text.split())
        for number, text in enumerate(lines, start=1)
        if number not in apart and not set(text) <= set(" |.whqestWHQES")
    )


def sniff_harmonica_tab(data: bytes) -> float:
    """How sure it is that a source is harmonica tab, 0 to 1."""
    if not looks_like_text(data):
        return 0.0
    text = data[:_BYTES].decode("utf-8", errors="replace")
    lines = [plain_characters(line[:_COLUMNS]) for line in text.splitlines()[:_LINES]]
    try:
        page = lay_out(lines)
    except ReadError:
        return 0.0
    named = _NAMED if "harp" in page.heading.texts else 0.0
    typed = [line.text for line in page.lines]
    guesses = guess_notation("\n".join(typed))
    if not guesses:
        return named
    moves = sum(1 for line in typed for token in tokenize_tab(line, guesses[0].name) if token.move)
    if moves < _ENOUGH_MOVES:
        return named
    share = min(1.0, moves / max(1, _words_beside(lines, page)))
    return min(1.0, named + _ALL_MOVES * share * share)
