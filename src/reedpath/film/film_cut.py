"""The cut of raw footage: which stretches of it stay, as plain data. What is proposed is told by `cut_proposal`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Any, Literal

import numpy as np
import numpy.typing as npt
from msgspec import Meta, Struct

from reedpath.data import encode_json, extended, from_plain, plain_of_version, replace
from reedpath.data.numbers import Index, Share
from reedpath.errors import FilmError, Place, ReadError, ReedpathError

CUT_SCHEMA = "reedpath/cut"
VERSION: Literal[1] = 1

# hops of a tenth of a second, and decibels below which nothing is told apart
HOPS, QUIETEST_DB = 10, -90.0
# seconds of a stretch under which nothing can be shown
SHORTEST_SECONDS = 0.02
# seconds by which another camera may begin later or end sooner than a stretch: its next picture stands for them
SEEN_SLACK = 0.1

# decibels: more would be noise alone
Gain = Annotated[float, Meta(ge=-40, le=40)]
Seconds = Annotated[float, Meta(ge=0, le=1_000_000)]


class CutKind(StrEnum):
    """What is in a stretch of footage."""

    PLAY = "play"
    TALK = "talk"
    NEITHER = "neither"  # what sounds and is neither of these: notes that are not the lesson's, a knock
    SILENCE = "silence"


class CutWhy(StrEnum):
    """Why a stretch is proposed to stay or to go."""

    ONLY = "only"  # the only play-through of its stretch
    BEST = "best"  # of those that play the same
    ANOTHER = "another"  # another one of them is better
    FALSE_START = "false start"  # it was broken off and begun again
    SHOWN = "shown"  # what she talks of before it and after it: a note by itself, with the pauses around it
    BETWEEN = "between"  # it lies between play-throughs of which one stays
    TALK = "talk"
    NEITHER = "neither"
    SILENCE = "silence"


class CutPiece(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """A stretch of footage.

    film : index of the film that it is of, whose sound is heard.
    start_seconds, end_seconds : in that film.
    keep : whether it stays.
    why : why it was proposed so.
    first, last : indexes of the events played in it, inclusive, None where nothing is.
    tempo_factor : of the written tempo, for what is played.
    right : share of its events in which nothing is wrong. wrong : indexes of those in which something is.
    part : labels of the lesson's parts that are played in it. tempo : name of the ladder's tempo.
    harp : the harp that it is played on, where that is not the lesson's.
    seen : index of the film whose pictures are shown, of another camera at the same time; None for the same.
    """

    film: Index
    start_seconds: Seconds
    end_seconds: Seconds
    kind: CutKind
    keep: bool
    why: CutWhy
    first: Index | None = None
    last: Index | None = None
    tempo_factor: float | None = None
    right: Share | None = None
    wrong: tuple[Index, ...] = ()
    part: str = ""
    tempo: str = ""
    harp: str = ""
    seen: Index | None = None

    @property
    def shown(self) -> int:
        """Index of the film whose pictures are shown."""
        return self.film if self.seen is None else self.seen

    @property
    def seconds(self) -> float:
        """Its length."""
        return self.end_seconds - self.start_seconds


class FilmClock(Struct, frozen=True, forbid_unknown_fields=True):
    """A film that was taken together with another one: its time is ``offset_seconds + rate * seconds`` there.

    film, other : indexes of both.
    """

    film: Index
    other: Index
    offset_seconds: float
    rate: Annotated[float, Meta(gt=0.9, lt=1.1)] = 1.0

    def there(self, seconds: float) -> float:
        """The other film's time at a moment of this one."""
        return self.offset_seconds + self.rate * seconds

    def here(self, seconds: float) -> float:
        """The film's own time at a moment of the other."""
        return (seconds - self.offset_seconds) / self.rate


class FilmCut(Struct, frozen=True):
    """The cut of one film or several: all stretches in the order in which they are shown, those that go among them.

    films : names of the films. lengths : seconds of each.
    clocks : of films that were taken together, of one camera each.
    gains_db : by how much the sound of each film is raised, so that all are as loud; nothing for not at all.
    """

    films: Annotated[tuple[str, ...], Meta(min_length=1)]
    lengths: tuple[Seconds, ...]
    pieces: tuple[CutPiece, ...]
    clocks: tuple[FilmClock, ...] = ()
    gains_db: tuple[Gain, ...] = ()

    def clock(self, film: int, other: int) -> FilmClock | None:
        """How the time of a film is that of another; None where they were not taken together."""
        known = {one.film: one for one in self.clocks}
        first = known.get(film, FilmClock(film, film, 0.0))
        second = known.get(other, FilmClock(other, other, 0.0))
        if first.other != second.other:
            return None
        offset = (first.offset_seconds - second.offset_seconds) / second.rate
        return FilmClock(film, other, offset, first.rate / second.rate)

    @property
    def kept(self) -> tuple[CutPiece, ...]:
        """The stretches that stay, in order; those that go on in one go are one."""
        kept: list[CutPiece] = []
        for piece in self.pieces:
            if not piece.keep or piece.seconds < SHORTEST_SECONDS:
                continue
            before = kept[-1] if kept else None
            if before is not None and goes_on(before, piece) and before.shown == piece.shown:
                kept[-1] = replace(before, end_seconds=piece.end_seconds)
            else:
                kept.append(piece)
        return tuple(kept)

    @property
    def seconds(self) -> float:
        """Length of what stays."""
        return sum(piece.seconds for piece in self.kept)

    @property
    def filmed_seconds(self) -> float:
        """Length of what was filmed, that of films which were taken together once."""
        spans: dict[int, list[float]] = {}
        roots = {one.film: one.other for one in self.clocks}
        for film, length in enumerate(self.lengths):
            root = roots.get(film, film)
            clock = self.clock(film, root)
            spans.setdefault(root, []).extend(
                (0.0, length) if clock is None else (clock.there(0.0), clock.there(length))
            )
        return sum(max(one) - min(one) for one in spans.values())


def goes_on(before: CutPiece, piece: CutPiece) -> bool:
    """Whether a stretch begins where another one ends."""
    return before.film == piece.film and before.end_seconds == piece.start_seconds


class _CutFile(FilmCut, frozen=True, kw_only=True, tag_field="schema", tag=CUT_SCHEMA, forbid_unknown_fields=True):
    """A cut as it is written."""

    version: Literal[1] = VERSION


def encode_cut(cut: FilmCut) -> bytes:
    """The file of a cut, to be corrected by hand: a line for each stretch."""
    head = encode_json(extended(replace(cut, pieces=()), _CutFile)).decode()
    lines = ",\n".join(f"  {encode_json(piece, indent=0).decode().strip()}" for piece in cut.pieces)
    return head.replace('"pieces": []', f'"pieces": [\n{lines}\n ]', 1).encode()


# texts, which are left as they are; and where a line was moved: an object after another without a comma between, and
# a comma after the last one
_MOVED_LINES = re.compile(rb'"(?:[^"\\]|\\.)*"|(?P<before>\})(?P<gap>\s*)(?=\{)|,(?P<after>\s*\])')
# a moment as players show it: hours, minutes and seconds
_SHOWN_TIME = re.compile(r"(?:(?P<hours>\d+):)?(?P<minutes>\d{1,3}):(?P<seconds>\d{1,2}(?:\.\d+)?)")


def _as_json(data: bytes) -> bytes:
    """JSON as people leave it who move its lines, with the commas that it needs, and with the quotation marks and
    without the byte order mark that programs for texts write by themselves; no line begins elsewhere.
    """
    for mark in ("\u201c", "\u201d", "\u201e"):
        data = data.replace(mark.encode(), b'"')

    def mended(found: re.Match[bytes]) -> bytes:
        if found["before"]:
            return b"}," + found["gap"]
        return found["after"] if found["after"] is not None else found[0]

    return _MOVED_LINES.sub(mended, data.removeprefix(b"\xef\xbb\xbf"))


def _plain_cut(data: bytes) -> Any:
    try:
        return plain_of_version(data, schema=CUT_SCHEMA, version=VERSION, older={})
    except ReadError as error:
        if error.key != "data.no_json":
            raise
        try:
            return plain_of_version(_as_json(data), schema=CUT_SCHEMA, version=VERSION, older={})
        except ReadError:
            raise error from None


def _in_seconds(value: Any) -> Any:
    """A moment in seconds, where it is written as players show it."""
    found = _SHOWN_TIME.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        return value
    return 3600 * int(found["hours"] or 0) + 60 * int(found["minutes"]) + float(found["seconds"])


def decode_cut(data: bytes) -> FilmCut:
    """The cut in a file; ReadError naming the field at fault, FilmError as for `checked_cut`.

    Commas that are missing or left over where stretches were moved, and quotation marks of a program for texts, are
    no fault, and moments may be written as players show them ("1:04.5").
    """
    try:
        return _decoded_cut(data)
    except ReedpathError as error:
        line = _line_of(data, error.where.field)
        raise error if line is None else error.inside(Place(line=line)) from None


# what parts the data of a file, and the texts in it
_MARKS = re.compile(rb'"(?:[^"\\]|\\.)*"|[][{}]')


def _line_of(data: bytes, field: str) -> int | None:
    """The line of a file in which a stretch begins, by the name of a field of it: "pieces[3].film"."""
    named = re.match(r"pieces\[(\d+)\]", field)
    if named is None:
        return None
    data, left, depth, is_inside = _as_json(data), int(named[1]), 0, False
    for mark in _MARKS.finditer(data):
        if mark[0] in b"[{":
            if is_inside and depth == 2 and not left:
                return data.count(b"\n", 0, mark.start()) + 1
            left -= is_inside and depth == 2
            depth += 1
        elif mark[0] in b"]}":
            depth -= 1
        elif depth == 1:
            is_inside = mark[0] == b'"pieces"'
    return None


def _decoded_cut(data: bytes) -> FilmCut:
    plain = _plain_cut(data)
    pieces = plain.get("pieces") if isinstance(plain, dict) else None
    for piece in pieces if isinstance(pieces, list) else ():
        if isinstance(piece, dict):
            piece |= {key: _in_seconds(piece[key]) for key in ("start_seconds", "end_seconds") if key in piece}
    read = from_plain(plain, _CutFile)
    return checked_cut(FilmCut(read.films, read.lengths, read.pieces, read.clocks, read.gains_db))


def checked_cut(cut: FilmCut) -> FilmCut:
    """The cut itself; FilmError for a stretch outside its film or that overlaps another, and where none stays.

    The very same stretch may be shown again.
    """
    if len(cut.lengths) != len(cut.films):
        raise FilmError("film.cut_lengths", where=Place(field="lengths"))
    if len(cut.gains_db) not in (0, len(cut.films)):
        raise FilmError("film.cut_lengths", where=Place(field="gains_db"))
    for index, clock in enumerate(cut.clocks):
        if max(clock.film, clock.other) >= len(cut.films):
            where = Place(field=f"clocks[{index}]")
            raise FilmError("film.cut_no_film", where=where, film=max(clock.film, clock.other), count=len(cut.films))
    for index, piece in enumerate(cut.pieces):
        where = Place(field=f"pieces[{index}]")
        if piece.film >= len(cut.films):
            raise FilmError("film.cut_no_film", where=where, film=piece.film, count=len(cut.films))
        if not piece.start_seconds <= piece.end_seconds <= cut.lengths[piece.film] + SHORTEST_SECONDS:
            raise FilmError(
                "film.cut_outside", where=where, start=piece.start_seconds, end=piece.end_seconds,
                seconds=cut.lengths[piece.film],
            )  # fmt: skip
        _check_seen(cut, piece, where)
    shown = [(one, at) for at, one in enumerate(cut.pieces) if one.keep and one.seconds >= SHORTEST_SECONDS]
    shown.sort(key=lambda one: (one[0].film, one[0].start_seconds, one[0].end_seconds))
    for (before, _), (after, at) in pairwise(shown):
        # the very same once more is meant
        again = (before.start_seconds, before.end_seconds) == (after.start_seconds, after.end_seconds)
        if before.film == after.film and after.start_seconds < before.end_seconds and not again:
            where = Place(field=f"pieces[{at}]")
            raise FilmError("film.cut_twice", where=where, start=after.start_seconds, end=before.end_seconds)
    if not shown:
        raise FilmError("film.cut_empty")
    return cut


def _check_seen(cut: FilmCut, piece: CutPiece, where: Place) -> None:
    """Raise FilmError for a stretch of which another camera has no pictures."""
    if piece.seen is None:
        return
    if piece.seen >= len(cut.films):
        raise FilmError("film.cut_no_film", where=where, film=piece.seen, count=len(cut.films))
    clock = cut.clock(piece.film, piece.seen)
    if clock is None:
        raise FilmError("film.cut_not_together", where=where, film=piece.film, seen=piece.seen)
    start, end = clock.there(piece.start_seconds), clock.there(piece.end_seconds)
    if piece.keep and not -SEEN_SLACK <= start <= end <= cut.lengths[piece.seen] + SEEN_SLACK:
        raise FilmError("film.cut_not_seen", where=where, film=piece.seen, start=start, end=end)


def on_pictures(cut: FilmCut, rates: Sequence[float]) -> FilmCut:
    """The cut with every stretch from one picture of its film to another; pictures a second of each film."""

    def at(seconds: float, film: int) -> float:
        rate = rates[film]
        return round(min(cut.lengths[film], round(seconds * rate) / rate), 6)

    pieces = [
        replace(
            piece, start_seconds=at(piece.start_seconds, piece.film), end_seconds=at(piece.end_seconds, piece.film)
        )
        for piece in cut.pieces
    ]
    return replace(cut, pieces=tuple(pieces))


def loudness_in_tenths(loudness_db: npt.NDArray[np.floating]) -> tuple[float, ...]:
    """The loudest of each tenth of a second, in whole decibels, silence being far down."""
    loud = np.maximum(loudness_db, QUIETEST_DB)
    rows = -(-len(loud) // HOPS)
    padded = np.pad(loud, (0, rows * HOPS - len(loud)), constant_values=QUIETEST_DB)
    return tuple(float(one) for one in np.round(padded.reshape(rows, HOPS).max(axis=1)))
