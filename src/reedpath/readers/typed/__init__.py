"""What the two typed tab formats, of guitar and of harmonica, have in common: characters, heading, note lengths."""

from reedpath.readers.typed.characters import plain_characters, typed_lines
from reedpath.readers.typed.heading import TypedHeading, read_heading
from reedpath.readers.typed.lengths import (
    CountMark,
    LengthMark,
    parse_counts,
    parse_length,
    parse_lengths,
)
from reedpath.readers.typed.measures import bar_must_be_full, cut_into_bars, usual_metre
from reedpath.readers.typed.options import text_option, yes_or_no_option
from reedpath.readers.typed.words import is_chord_line, part_names

__all__ = [
    "CountMark",
    "LengthMark",
    "TypedHeading",
    "bar_must_be_full",
    "cut_into_bars",
    "is_chord_line",
    "parse_counts",
    "parse_length",
    "parse_lengths",
    "part_names",
    "plain_characters",
    "read_heading",
    "text_option",
    "typed_lines",
    "usual_metre",
    "yes_or_no_option",
]
