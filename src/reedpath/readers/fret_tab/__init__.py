"""Fret tab: guitar tablature in plain text, as people type it.

One line per string with frets as digits, the high string on top; the customary letters for bends, slides and
the rest, and the file's own legend over them (H. Wright, "Guide to TAB notation", 1995; Wikipedia, "ASCII
tab"). There is no strict standard; what is read, and how, is written down in docs/sources-tab.md.

Lengths of notes come from a line of letters (``q e e``) or counts (``1 & 2 &``) over the strings where there is
one; else they are guessed from the spacing, which ``left_out`` says.

Options: ``tuning``, ``capo``, ``high_string_on_top``.
"""

from __future__ import annotations

from fractions import Fraction

from reedpath.errors import ReadError
from reedpath.phrase import Phrase
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.decoding import looks_like_text
from reedpath.readers.fret_tab.layout import lay_out
from reedpath.readers.fret_tab.tab import read_tab
from reedpath.readers.limits import DEFAULT_LIMITS, Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option, Reader
from reedpath.readers.typed_tab.text import plain_characters, typed_lines, yes_or_no_option

__all__ = ["READER", "read_fret_tab", "sniff_fret_tab"]

# bytes that are looked at to tell the format
_SNIFFED_BYTES = 65_536


def sniff_fret_tab(data: bytes) -> float:
    """How sure it is that a source is a fret tab, 0 to 1: by a system of string lines that hold a fret."""
    if not looks_like_text(data):
        return 0.0
    text = data[:_SNIFFED_BYTES].decode("utf-8", errors="replace")
    lines = [plain_characters(line[: DEFAULT_LIMITS.line_characters]) for line in text.splitlines()]
    try:
        systems, _ = lay_out(lines)
    except ReadError:
        return 0.6  # string lines, but not as they should be: worth this reader's message
    bodies = [line.body for system in systems for line in system.strings]
    if not bodies:
        return 0.0
    return 0.95 if any(character.isdigit() for body in bodies for character in body) else 0.6


def read_fret_tab(
    data: bytes,
    /,
    *,
    limits: Limits,
    tuning: Option | None = None,
    capo: Option | None = None,
    high_string_on_top: Option | None = None,
) -> Phrase:
    """
    The phrase of a fret tab; see the module for the options.

    Raises `ReadError`, naming line and column of what cannot be read.
    """
    omissions = Omissions()
    heading, bars = read_tab(
        typed_lines(data, limits=limits),
        tuning=tuning,
        capo=capo,
        high_string_on_top=yes_or_no_option(high_string_on_top, name="high_string_on_top"),
        limits=limits,
        omissions=omissions,
    )
    whole = Heading(heading.title, heading.key, heading.swing or Fraction(1))
    return build_phrase(bars, whole, limits=limits, omissions=omissions)


READER = Reader(
    name="fret-tab",
    title="guitar fret tab",
    suffixes=(".tab", ".txt", ".btab", ".crd"),
    sniff=sniff_fret_tab,
    read=read_fret_tab,
    options={
        "tuning": "tuning of the strings: a name such as drop D, or letters from low to high",
        "capo": "fret of the capo",
        "high_string_on_top": "yes when the top line is the highest string, no when it is the lowest",
    },
)
