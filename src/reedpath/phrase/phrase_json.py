"""A phrase as a JSON file, nothing of it lost: ``{"schema": "reedpath/phrase", "version": 2, "phrase": {...}}``.

The shape of ``phrase`` is that of the type `Phrase`, which is also that of ``route.phrase`` in a lesson's file.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from reedpath.data import encode_json, from_plain, plain_of_version
from reedpath.phrase.checking import check_phrase
from reedpath.phrase.events import Phrase
from reedpath.phrase.version_1 import phrase_file_of_version_1

# what such a file says it is
PHRASE_SCHEMA = "reedpath/phrase"
# of its shape, raised when a reader of the old one would misread it
VERSION: Literal[2] = 2


class PhraseFile(Struct, frozen=True, tag_field="schema", tag=PHRASE_SCHEMA):
    """A phrase in a file of its own.

    version : of the shape of the file.
    phrase : as it was given.
    """

    version: Literal[2]
    phrase: Phrase


def encode_phrase(phrase: Phrase) -> bytes:
    """The file of a phrase."""
    return encode_json(PhraseFile(VERSION, phrase))


def decode_phrase(data: bytes) -> Phrase:
    """The phrase of a file, of this version or an older one; ReadError names the field that does not hold."""
    older = {1: phrase_file_of_version_1}
    plain = plain_of_version(data, schema=PHRASE_SCHEMA, version=VERSION, older=older)
    phrase = from_plain(plain, PhraseFile).phrase
    check_phrase(phrase, field="phrase")
    return phrase
