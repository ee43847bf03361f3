"""From the bytes of a harmonica tab to its phrase."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.harp import Notation, Tuning
from reedpath.phrase import Phrase
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.harmonica_tab.lines import Page, lay_out
from reedpath.readers.harmonica_tab.settings import (
    Wanted,
    choose_harp,
    choose_notation,
    choose_tuning,
    key_of,
)
from reedpath.readers.harmonica_tab.slots import Slot, TypedLine, is_tab, slots_of
from reedpath.readers.harmonica_tab.timing import Labelled, written_bars
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option
from reedpath.readers.typed import text_option, typed_lines, yes_or_no_option

__all__ = ["read_harmonica_tab"]

# characters of a note with what parts it from the next, so that a bound on notes bounds the text; ours
_CHARACTERS_PER_NOTE = 5
# letters in a row that make a word: a line with a digit and a word in it is prose
_WORD = re.compile(r"[^\W\d_]{3,}")


def _tab_lines(page: Page, notation: Notation, tuning: Tuning) -> list[TypedLine]:
    """The lines of tab. Prose is passed over; a line that is neither is kept, for its errors to be said."""
    return [line for line in page.lines if is_tab(line, notation, tuning) or not _WORD.search(line.text)]


def _labelled(page: Page, lines: Sequence[TypedLine], slots: Sequence[Sequence[Slot]]) -> list[Labelled]:
    """Lines of slots, each with the name of the part that begins with it: the last one named before."""
    labelled: list[Labelled] = []
    used = 0
    for line, of_line in zip(lines, slots, strict=True):
        named = bisect_right(page.parts, line.number, key=lambda part: part[0])
        labelled.append(Labelled(of_line, page.parts[named - 1][1] if named > used else ""))
        used = named
    return labelled


def read_harmonica_tab(
    data: bytes,
    /,
    *,
    limits: Limits,
    harp: Option | None = None,
    tuning: Option | None = None,
    notation: Option | None = None,
    german_names: Option | None = None,
) -> Phrase:
    """
    The phrase of a harmonica tab, at the pitches of its harp; see the package for the options.

    Raises
    ------
    ReadError
        Naming line and column of what cannot be read, and what the harp can play where a move is none of its.
    """
    german = yes_or_no_option(german_names, name="german_names")
    wanted = Wanted(text_option(harp), text_option(tuning), text_option(notation), german)
    omissions = Omissions()
    page = lay_out(typed_lines(data, limits=limits))
    size = sum(len(line.text) for line in page.lines)
    limits.check("events", size // _CHARACTERS_PER_NOTE, what="notes by the length of the text")
    reeds = choose_tuning(page.heading, wanted)
    chosen = choose_notation([line.text for line in page.lines], page.heading, wanted, tuning=reeds)
    lines = [] if chosen is None else _tab_lines(page, chosen, reeds)
    if chosen is None or not lines:
        raise ReadError(
            "no harmonica tab in the source", hint="such as 4 -4 5 -5, 4B 4D, or 4 (4), with a line harp: C"
        )
    instrument = choose_harp(page.heading, wanted, tuning=reeds, notation=chosen, omissions=omissions)
    slots = slots_of(lines, chosen, reeds, omissions)
    limits.check("events", sum(len(of_line) for of_line in slots), what="notes and rests")
    bars = written_bars(_labelled(page, lines, slots), instrument, page.heading, omissions)
    key = key_of(page.heading, wanted, chosen)
    heading = Heading(page.heading.title, key, page.heading.swing or Fraction(1))
    return build_phrase(bars, heading, limits=limits, omissions=omissions)
