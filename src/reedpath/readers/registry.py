"""The registry: what formats can be read, and how the format of a source is told.

A reader is a module of this package, named as its format (with _ for -), that holds one value ``READER``. It is
imported when it is chosen or has to look at a source.
Readers do not know one another.

How a format is told: each reader looks at the source and says how sure it is, 0 to 1, until one is certain; the
file name counts only between readers that are about equally sure, and when no reader knows the content at all.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from pathlib import PurePath
from typing import Protocol, TypeAlias

from msgspec import Struct

from reedpath.additions import added_names, added_reader, names_in_folder
from reedpath.errors import PhraseError, PitchError, ReadError, Term
from reedpath.phrase import Phrase
from reedpath.readers.limits import DEFAULT_LIMITS, Limits

Option: TypeAlias = str | int | bool

# names of the formats, in the order in which they are asked
_NAMES = ("musicxml", "midi", "abc", "fret-tab", "harmonica-tab", "phrase-json")

# bytes without any of which a source is certainly not of a format, so that its reader need not be imported; those
# with a zero are of ABC in UTF-16 and UTF-32
_MARKS = {
    "musicxml": (b"PK", b"<"),
    "midi": (b"MThd", b"RIFF"),
    "abc": (b"K:", b"%abc", b"K\0", b"%\0"),
    "phrase-json": (b"{",),
}
# share of certainty; a reader under it does not claim the source. Ours
_CLAIM = 0.1
# share of certainty; a reader over it need not be compared with the others. Ours
_CERTAIN = 0.9
# share of certainty; two readers nearer than this are equally sure. Ours
_MARGIN = 0.2


class Sniff(Protocol):
    """How sure a reader is that a source is of its format, 0 to 1. Never raises, never takes long."""

    def __call__(self, data: bytes, /) -> float:
        """Look at the source."""
        ...


# called as read(data, *, limits, **options): a Phrase, or ReadError and nothing else
Read: TypeAlias = Callable[..., Phrase]


class Reader(Struct, frozen=True):
    """One format that can be read.

    name : of the reader, as the user types it.
    title : of the format, as the trade calls it.
    suffixes : of file names, lower case, with the dot.
    sniff : how sure the reader is of a source, 0 to 1, by its content alone.
    read : the source's phrase.
    options : names that ``read`` takes beside ``limits``, each with a sentence of what it chooses.
    """

    name: str
    title: str
    suffixes: tuple[str, ...]
    sniff: Sniff
    read: Read
    options: Mapping[str, str]


def reader_names() -> tuple[str, ...]:
    """Names of the readers, as `reader_of` and the ``format`` of `read_phrase` take them.

    >>> reader_names()[:3]
    ('musicxml', 'midi', 'abc')
    """
    return _NAMES


def reader_of(name: str) -> Reader:
    """The reader of a name; ReadError for a name that none has."""
    if name not in _NAMES:
        added: Reader | None = added_reader(name)
        if added is None:
            known = (*_NAMES, *added_names("readers"))
            raise ReadError("readers.no_reader", name=name, there_are=known)
        return added
    reader: Reader = importlib.import_module(f"reedpath.readers.{name.replace('-', '_')}").READER
    return reader


def find_reader(data: bytes, *, name: str = "") -> Reader:
    """The reader of a source, told by its content first and its file name second.

    Raises `ReadError` when no reader knows the source, or several do equally well: the message names them.
    """
    if not data:
        raise ReadError("readers.empty")
    sure: dict[str, float] = {}

    def is_certain(name: str) -> bool:
        may_be = any(mark in data for mark in _MARKS.get(name, (b"",)))
        sure[name] = reader_of(name).sniff(data) if may_be else 0.0
        return sure[name] > _CERTAIN

    for each in (*_NAMES, *names_in_folder("readers")):
        if is_certain(each):
            return reader_of(each)
    # packages are looked through only for a source that nobody else knows
    packaged = () if max(sure.values()) >= _CLAIM else added_names("readers")
    for each in packaged:
        if each not in sure and is_certain(each):
            return reader_of(each)
    suffix = PurePath(name).suffix.lower()
    best = max(sure.values())
    able = [each for each in sure if sure[each] >= max(_CLAIM, best - _MARGIN)]
    if len(able) != 1:
        able = [each for each in able or sure if suffix and suffix in reader_of(each).suffixes] or able
    if len(able) == 1:
        return reader_of(able[0])
    titles = [f"{reader_of(each).title} ({each})" for each in able or sure]
    if not able:
        raise ReadError("readers.no_format", formats=titles)
    raise ReadError("readers.several_formats", formats=titles, first=able[0])


def read_phrase(
    data: bytes,
    *,
    name: str = "",
    format: str | None = None,
    limits: Limits = DEFAULT_LIMITS,
    options: Mapping[str, Option] | None = None,
) -> Phrase:
    """Read the phrase of a source.

    data : the source, as its file holds it.
    name : its file name or path, if it has one; only looked at, never opened.
    format : name of the reader, or None to tell it from content and name.
    limits : what is read at most.
    options : choices that the reader offers (see ``Reader.options``), such as the part to read.

    Raises `ReadError` when the format is unknown or unsure, an option is not the reader's, or the source cannot be
    read.
    """
    limits.check_size(data)
    reader = reader_of(format) if format else find_reader(data, name=name)
    chosen = dict(options or {})
    for option in chosen:
        if option not in reader.options:
            offered = list(reader.options) or [Term("none")]
            raise ReadError("readers.no_option", format=reader.title, option=option, there_are=offered)
    try:
        return reader.read(data, limits=limits, **chosen)
    except (PhraseError, PitchError) as error:
        raise ReadError.like(error) from error
