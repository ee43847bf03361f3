"""What the two typed tab formats, of guitar and of harmonica, have in common: characters, heading, note lengths."""

from reedpath.readers.typed.heading import FieldName, TypedHeading, read_heading
from reedpath.readers.typed.lengths import (
    CountMark,
    LengthMark,
    bar_must_be_full,
    cut_into_bars,
    parse_count,
    parse_counts,
    parse_length,
    parse_lengths,
    usual_metre,
)
from reedpath.readers.typed.text import (
    checked_times,
    is_chord_line,
    is_times_alone,
    part_names,
    plain_characters,
    text_option,
    times_in_words,
    typed_lines,
    yes_or_no_option,
)

__all__ = [
    "CountMark",
    "FieldName",
    "LengthMark",
    "TypedHeading",
    "bar_must_be_full",
    "checked_times",
    "cut_into_bars",
    "is_chord_line",
    "is_times_alone",
    "parse_count",
    "parse_counts",
    "parse_length",
    "parse_lengths",
    "part_names",
    "plain_characters",
    "read_heading",
    "text_option",
    "times_in_words",
    "typed_lines",
    "usual_metre",
    "yes_or_no_option",
]
