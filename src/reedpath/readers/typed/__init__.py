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

__all__ = [
    "CountMark",
    "LengthMark",
    "TypedHeading",
    "parse_counts",
    "parse_length",
    "parse_lengths",
    "plain_characters",
    "read_heading",
    "typed_lines",
]
