"""The header of a tab text: what is played on which harp, and how to read it."""

from __future__ import annotations

from collections.abc import Iterable

from reedpath.page.score.elements import clean_text
from reedpath.page.score.legend import Sign, moves_legend, signs_legend
from reedpath.page.score.sheet import Sheet
from reedpath.page.score.tokens import marks_for
from reedpath.page.tabtext.systems import padded, text_width, wrapped
from reedpath.phrase import timing_of
from reedpath.wording import Catalogue, harp_words, key_words, named_words, position_words

__all__ = ["facts_of", "header_of"]

# columns between two signs of the legend
BETWEEN = 3


def facts_of(sheet: Sheet, catalogue: Catalogue) -> list[str]:
    """What a player needs to know before playing, in a few words each."""
    route = sheet.route
    facts = [harp_words(route.harp, catalogue, with_tuning=route.harp.tuning.name != "standard")]
    if route.position:
        facts.append(position_words(route.position, catalogue))
    facts.append(key_words(route.phrase.key, catalogue))
    bpm = timing_of(route.phrase).tempos[0].bpm
    tempo = catalogue.say("tempo.quarter", bpm=round(bpm))
    facts.append(tempo if route.phrase.swing == 1 else f"{tempo}, {catalogue.say('tempo.swing')}")
    metre = sheet.bars[0].metre
    facts.append(f"{metre.count}/{metre.unit}")
    return facts


def _table(signs: Iterable[Sign], width: int) -> list[str]:
    """Signs and their words in as many columns as fit."""
    rows = [(sign.sign, sign.words) for sign in signs]
    left = max(text_width(sign) for sign, _ in rows) + 2
    right = max(text_width(words) for _, words in rows) + BETWEEN
    across = max(1, (width + BETWEEN) // (left + right))
    down = -(-len(rows) // across)
    lines = []
    for line in range(down):
        cells = [padded(sign, left) + padded(words, right) for sign, words in rows[line::down]]
        lines.append("".join(cells).rstrip())
    return lines


def header_of(sheet: Sheet, catalogue: Catalogue, *, width: int, ascii_only: bool) -> list[str]:
    """The lines of the header."""
    title = clean_text(sheet.title)
    lines = wrapped(title, width)
    if lines:
        lines.append("=" * max(text_width(line) for line in lines))
    lines += wrapped(", ".join(facts_of(sheet, catalogue)), width)
    marks = marks_for(ascii_only=ascii_only)
    signs = (
        *moves_legend(sheet, catalogue, ascii_only=ascii_only),
        *signs_legend(sheet, catalogue, ascii_only=ascii_only),
    )
    if sheet.notes:
        held = Sign(marks.hold, catalogue.say("tab.hold"))
        notation = named_words("notation", sheet.notation, catalogue)
        lines += ["", f"{catalogue.say('sheet.notation')} ({notation})", *_table((*signs, held), width)]
    return lines
