"""Limits: how much a reader takes in, so that no source costs more than its worth in time and memory."""

from __future__ import annotations

from msgspec import Struct

from reedpath.errors import NOWHERE, Place, ReadError, Term

# quarter notes a minute; ours: slower or faster is a slip of the pen, or no tempo
SLOWEST_BPM, FASTEST_BPM = 1.0, 1000.0


class Limits(Struct, frozen=True):
    """What a reader takes at most. A phrase to be taught has some hundred events; these leave wide room.

    source_bytes : bytes of the source as given.
    unpacked_bytes : bytes of one compressed source once unpacked.
    unpack_ratio : unpacked bytes for one packed byte.
    packed_files : files inside a compressed source.
    nesting : how deep elements stand inside one another.
    elements : elements (XML) or messages (MIDI) in all.
    lines, line_characters : of a source in plain text.
    events : notes and rests of the part that is read, and of what its repeats unfold to.
    bars : bars of the part that is read, and of what its repeats unfold to.
    """

    # bytes; from memory: engraved orchestral movements stay under 10 MB
    source_bytes: int = 16_000_000
    # bytes; as above
    unpacked_bytes: int = 32_000_000
    # times; from memory: text of scores packs 10 to 40 times, a zip of death over 1,000 times
    unpack_ratio: int = 200
    # files; common practice, no source: a score, its container and some pictures
    packed_files: int = 1_000
    # levels; MusicXML 4.0's own content model needs about 12
    nesting: int = 64
    # elements or messages; what takes a few seconds and under a gigabyte
    elements: int = 1_000_000
    # lines; common practice, no source: a book of tunes has some ten thousand
    lines: int = 100_000
    # characters; common practice, no source
    line_characters: int = 20_000
    # notes and rests; a hundred minutes of quavers at 100 beats a minute
    events: int = 20_000
    # bars; as above
    bars: int = 5_000

    def check_size(self, data: bytes) -> None:
        """Refuse an empty source, and one of too many bytes, with a ReadError."""
        if not data:
            raise ReadError("readers.empty")
        self.check("source_bytes", len(data), what="bytes")

    def check(self, limit: str, count: int, *, what: str, where: Place = NOWHERE) -> None:
        """Raise ReadError when ``count`` is over the field named ``limit``.

        ``what`` is counted: a key of the messages of ``word``.

        >>> DEFAULT_LIMITS.check("nesting", 12, what="levels")
        """
        most: int = getattr(self, limit)
        if count > most:
            raise ReadError("readers.too_large", where=where, count=count, what=Term(what), most=most)


DEFAULT_LIMITS = Limits()
