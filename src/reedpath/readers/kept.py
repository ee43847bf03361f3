"""Kept phrases: the program's own file of a phrase, JSON in which nothing is lost.

The file is ``{"schema": "reedpath/phrase", "version": 1, "phrase": {...}}``, the phrase as `phrase_as_data` gives it;
the shape is that of ``phrase`` in a lesson's data (docs/lesson.md).
"""

from __future__ import annotations

import json

from reedpath.errors import ReadError
from reedpath.phrase import Phrase, Placed, phrase_from_data
from reedpath.readers.limits import Limits
from reedpath.readers.registry import Reader

__all__ = ["READER", "SCHEMA", "VERSION", "read_kept"]

# what such a file says it is, and the number of its shape
SCHEMA, VERSION = "reedpath/phrase", 1
# bytes within which a file says so
_HEAD_BYTES = 400


def sniff_kept(data: bytes, /) -> float:
    """How sure it is that a source is a kept phrase, 0 to 1."""
    head = data[:_HEAD_BYTES].lstrip(b"\xef\xbb\xbf \t\r\n")
    return 1.0 if head.startswith(b"{") and SCHEMA.encode() in head else 0.0


def read_kept(data: bytes, /, *, limits: Limits) -> Phrase:
    """The phrase of a kept file; a ReadError names the place in its data that does not hold."""
    limits.check_size(data)
    try:
        found = Placed(json.loads(data))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise ReadError(f"this is not the data of a phrase: {error}") from error
    if found["schema"].text() != SCHEMA or found["version"].value != VERSION:
        raise ReadError(f"this is not version {VERSION} of a phrase's data", where="version")
    phrase = phrase_from_data(found["phrase"])
    limits.check("events", len(phrase.events), what="events")
    return phrase


READER = Reader("kept", "a kept phrase", (".json",), sniff_kept, read_kept, {})
