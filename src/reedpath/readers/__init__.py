"""Readers: one module per source format, bytes to phrase. Knows nothing of arranging."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.readers.limits import DEFAULT_LIMITS, Limits
    from reedpath.readers.registry import Option, Reader, find_reader, read_phrase, reader_names, reader_of
else:
    __getattr__ = lazy_face(__name__)

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
