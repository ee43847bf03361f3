"""Phrases in JSON: the program's own file of a phrase, in which nothing is lost (`phrase.phrase_json`)."""

from __future__ import annotations

from reedpath.phrase import PHRASE_SCHEMA, Phrase, decode_phrase
from reedpath.readers.limits import Limits
from reedpath.readers.registry import Reader

# bytes within which a file says what it is
_HEAD_BYTES = 400


def sniff_phrase_json(data: bytes, /) -> float:
    """How sure it is that a source is a phrase in JSON, 0 to 1."""
    head = data[:_HEAD_BYTES].lstrip(b"\xef\xbb\xbf \t\r\n")
    return 1.0 if head.startswith(b"{") and PHRASE_SCHEMA.encode() in head else 0.0


def read_phrase_json(data: bytes, /, *, limits: Limits) -> Phrase:
    """The phrase of a file; a ReadError names the field that does not hold."""
    limits.check_size(data)
    phrase = decode_phrase(data)
    limits.check("events", len(phrase.events), what="events")
    return phrase


READER = Reader("phrase-json", "a phrase in JSON", (".json",), sniff_phrase_json, read_phrase_json, {})
