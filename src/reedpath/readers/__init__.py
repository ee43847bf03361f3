"""Readers: one module per source format, bytes to phrase. Knows nothing of arranging."""

from reedpath.readers.limits import DEFAULT_LIMITS, Limits
from reedpath.readers.registry import Option, Reader, find_reader, read_phrase, reader_names, reader_of

__all__ = [
    "DEFAULT_LIMITS",
    "Limits",
    "Option",
    "Reader",
    "find_reader",
    "read_phrase",
    "reader_names",
    "reader_of",
]
