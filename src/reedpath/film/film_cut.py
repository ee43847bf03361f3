"""The cut of raw footage: which stretches of it stay, as plain data, and what is proposed.

A teacher who films herself plays a stretch until it is good, and talks in between. Of play-throughs of the same
stretch one after the other, at the same tempo, the best stays; what lies between them goes with the others. Her talk
before the first and after the last of them stays; silence goes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
import numpy.typing as npt
from msgspec import Meta, Struct

from reedpath.data import encode_json, from_plain, plain_of_version, replace
from reedpath.data.numbers import Index, Share
from reedpath.errors import FilmError, Place

if TYPE_CHECKING:
    from reedpath.lesson import LessonPart
    from reedpath.listen import PlayThrough

__all__ = [
    "CutKind",
    "CutPiece",
    "CutWhy",
    "FilmCut",
    "Footage",
    "checked_cut",
    "decode_cut",
    "encode_cut",
    "loudness_in_tenths",
    "proposed_cut",
]

CUT_SCHEMA = "reedpath/cut"
VERSION: Literal[1] = 1

# share of the longer one of two stretches that both must play to be the same stretch; ours
SAME_SHARE = 0.8
# ratio of two tempos up to which they are one that was meant; above what is felt as another (`lesson.ladder`), for
# nobody hits a tempo again exactly; ours
SAME_TEMPO = 1.1
# seconds of the film that stay before the first and after the last note of a play-through: the breath before and the
# last note's end; ours
BEFORE_SECONDS, AFTER_SECONDS = 0.6, 0.8
# decibels over what is heard in the softest tenth of the time between the play-throughs, from which somebody talks,
# and under full scale, below which nobody does; ours
TALK_OVER_DB, LEAST_TALK_DB = 12.0, -55.0
SOFTEST = 0.1
# seconds: talk that is shorter is a click of the camera; silence inside talk that is longer is cut out, and so much
# of it stays at either side; ours
SHORTEST_TALK, LONGEST_PAUSE, LEFT_SECONDS = 0.25, 1.6, 0.3
# seconds from one value of the loudness to the next
HOP_SECONDS = 0.01
# hops of a tenth of a second, and decibels below which nothing is told apart
HOPS, QUIETEST_DB = 10, -90.0
# seconds of a stretch under which nothing can be shown
SHORTEST_SECONDS = 0.02

Seconds = Annotated[float, Meta(ge=0, le=1_000_000)]


class CutKind(StrEnum):
    """What is in a stretch of footage."""

    PLAY = "play"
    TALK = "talk"
    SILENCE = "silence"


class CutWhy(StrEnum):
    """Why a stretch is proposed to stay or to go."""

    ONLY = "only"  # the only play-through of its stretch there
    BEST = "best"  # of those that play the same one after the other
    ANOTHER = "another"  # another one of them is better
    FALSE_START = "false start"  # it was broken off and begun again
    BETWEEN = "between"  # it lies between play-throughs of which one stays
    TALK = "talk"
    SILENCE = "silence"


class CutPiece(Struct, frozen=True, omit_defaults=True):
    """A stretch of footage.

    film : index of the film that it is of.
    start_seconds, end_seconds : in that film.
    keep : whether it stays.
    why : why it was proposed so.
    first, last : indexes of the events played in it, inclusive, None where nothing is.
    tempo_factor : of the written tempo, for what is played.
    right : share of its events in which nothing is wrong.
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

    @property
    def seconds(self) -> float:
        """Its length."""
        return self.end_seconds - self.start_seconds


class FilmCut(Struct, frozen=True):
    """The cut of one film or several: all stretches in the order in which they are shown, those that go among them.

    films : names of the films. lengths : seconds of each.
    """

    films: Annotated[tuple[str, ...], Meta(min_length=1)]
    lengths: tuple[Seconds, ...]
    pieces: tuple[CutPiece, ...]

    @property
    def kept(self) -> tuple[CutPiece, ...]:
        """The stretches that stay, in order; those that go on in one go are one."""
        kept: list[CutPiece] = []
        for piece in self.pieces:
            if not piece.keep or piece.seconds < SHORTEST_SECONDS:
                continue
            before = kept[-1] if kept else None
            if before is not None and before.film == piece.film and before.end_seconds == piece.start_seconds:
                kept[-1] = replace(before, end_seconds=piece.end_seconds)
            else:
                kept.append(piece)
        return tuple(kept)

    @property
    def seconds(self) -> float:
        """Length of what stays."""
        return sum(piece.seconds for piece in self.kept)


class _CutFile(FilmCut, frozen=True, kw_only=True, tag_field="schema", tag=CUT_SCHEMA):
    """A cut as it is written."""

    version: Literal[1] = VERSION


def encode_cut(cut: FilmCut) -> bytes:
    """The file of a cut, to be corrected by hand."""
    return encode_json(_CutFile(films=cut.films, lengths=cut.lengths, pieces=cut.pieces))


def decode_cut(data: bytes) -> FilmCut:
    """The cut in a file; ReadError naming the field at fault, FilmError as for `checked_cut`."""
    plain: Any = plain_of_version(data, schema=CUT_SCHEMA, version=VERSION, older={})
    return checked_cut(from_plain(plain, FilmCut))


def checked_cut(cut: FilmCut) -> FilmCut:
    """The cut itself; FilmError for a stretch outside its film or that overlaps another, and where none stays."""
    if len(cut.lengths) != len(cut.films):
        raise FilmError("film.cut_lengths", where=Place(field="lengths"))
    for index, piece in enumerate(cut.pieces):
        where = Place(field=f"pieces[{index}]")
        if piece.film >= len(cut.films):
            raise FilmError("film.cut_no_film", where=where, film=piece.film, count=len(cut.films))
        if not piece.start_seconds <= piece.end_seconds <= cut.lengths[piece.film] + SHORTEST_SECONDS:
            raise FilmError(
                "film.cut_outside", where=where, start=piece.start_seconds, end=piece.end_seconds,
                seconds=cut.lengths[piece.film],
            )  # fmt: skip
    shown = sorted(cut.kept, key=lambda one: (one.film, one.start_seconds))
    for before, after in pairwise(shown):
        if before.film == after.film and after.start_seconds < before.end_seconds:
            raise FilmError("film.cut_twice", start=after.start_seconds, end=before.end_seconds)
    if not shown:
        raise FilmError("film.cut_empty")
    return cut


# --------------------------------------------------------------------------------------------------- what is proposed


@dataclass(frozen=True, slots=True, eq=False)
class Footage:
    """A film as it was taken.

    name : of its file. seconds : its length.
    plays : its play-throughs, in order, each with the share of its events in which nothing is wrong.
    loudness_db : every `HOP_SECONDS`.
    """

    name: str
    seconds: float
    plays: Sequence[tuple[PlayThrough, float]]
    loudness_db: npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _Take:
    """A play-through, and the film that it is in."""

    film: int
    play: PlayThrough
    right: float

    @property
    def events(self) -> int:
        return self.play.last - self.play.first + 1

    def is_again(self, other: _Take, part_ends: Collection[int]) -> bool:
        """Whether it plays what another one plays, at the same tempo, or either was broken off."""
        tempos = sorted((self.play.tempo_factor, other.play.tempo_factor))
        if tempos[1] > SAME_TEMPO * tempos[0]:
            return False
        both = min(self.play.last, other.play.last) - max(self.play.first, other.play.first) + 1
        is_same = both >= SAME_SHARE * max(self.events, other.events)
        return is_same or self.is_false_start_of(other, part_ends) or other.is_false_start_of(self, part_ends)

    def is_false_start_of(self, other: _Take, part_ends: Collection[int]) -> bool:
        """Whether it begins where another does and is broken off before it, not where a part ends."""
        is_shorter = self.play.first == other.play.first and self.play.last < other.play.last
        return is_shorter and self.play.last not in part_ends

    @property
    def worth(self) -> tuple[float, float]:
        """What of two takes is the better one: events that are right less those that had to be played again."""
        again = sum(max(0, one.after - one.back_to + 1) for one in self.play.restarts)
        return (self.right * self.events - again - len(self.play.pauses), self.play.start_seconds)


def _groups(takes: Sequence[_Take], part_ends: Collection[int]) -> list[list[_Take]]:
    """Takes of the same, one after the other."""
    groups: list[list[_Take]] = []
    for take in takes:
        if groups and any(take.is_again(one, part_ends) for one in groups[-1]):
            groups[-1].append(take)
        else:
            groups.append([take])
    return groups


def _why(take: _Take, group: Sequence[_Take], best: _Take, part_ends: Collection[int]) -> CutWhy:
    if len(group) == 1:
        return CutWhy.ONLY
    if take is best:
        return CutWhy.BEST
    return CutWhy.FALSE_START if take.is_false_start_of(best, part_ends) else CutWhy.ANOTHER


def _played(take: _Take, why: CutWhy, bounds: tuple[float, float]) -> CutPiece:
    start = max(bounds[0], take.play.start_seconds - BEFORE_SECONDS)
    end = min(bounds[1], take.play.end_seconds + AFTER_SECONDS)
    keep = why in (CutWhy.ONLY, CutWhy.BEST)
    play = take.play
    return CutPiece(
        take.film, start, end, CutKind.PLAY, keep, why, play.first, play.last, play.tempo_factor, round(take.right, 4)
    )


def _talked(footage: Footage, spans: Sequence[tuple[float, float]]) -> npt.NDArray[np.bool_]:
    """Whether somebody talks, at each moment between the play-throughs."""
    loud = footage.loudness_db
    seconds = np.arange(len(loud)) * HOP_SECONDS
    between = np.zeros(len(loud), dtype=bool)
    for start, end in spans:
        between |= (seconds >= start) & (seconds < end)
    if not between.any():
        return between
    floor = float(np.quantile(loud[between], SOFTEST))
    return between & (loud > max(floor + TALK_OVER_DB, LEAST_TALK_DB))


def _runs(talked: npt.NDArray[np.bool_], start: float, end: float) -> Iterator[tuple[float, float]]:
    """Stretches of talk between two moments, pauses in it left in."""
    at = start
    runs: list[list[float]] = []
    inside = talked[round(start / HOP_SECONDS) : round(end / HOP_SECONDS)]
    for is_talk, some in groupby(inside):
        seconds = sum(1 for _ in some) * HOP_SECONDS
        if is_talk and runs and at - runs[-1][1] <= LONGEST_PAUSE:
            runs[-1][1] = at + seconds
        elif is_talk:
            runs.append([at, at + seconds])
        at += seconds
    for first, last in runs:
        if last - first >= SHORTEST_TALK:
            yield max(start, first - LEFT_SECONDS), min(end, last + LEFT_SECONDS)


def _between(
    film: int, start: float, end: float, talked: npt.NDArray[np.bool_], *, is_inside: bool
) -> Iterator[CutPiece]:
    """What lies between two play-throughs; ``is_inside`` where both play the same."""

    def piece(first: float, last: float, kind: CutKind) -> CutPiece:
        keep = kind is CutKind.TALK and not is_inside
        why = CutWhy.BETWEEN if is_inside else CutWhy.TALK if kind is CutKind.TALK else CutWhy.SILENCE
        return CutPiece(film, first, last, kind, keep, why)

    at = start
    for first, last in _runs(talked, start, end):
        if first - at > SHORTEST_SECONDS:
            yield piece(at, first, CutKind.SILENCE)
        yield piece(max(at, first), last, CutKind.TALK)
        at = last
    if end - at > SHORTEST_SECONDS:
        yield piece(at, end, CutKind.SILENCE)


def _bounds(takes: Sequence[_Take], index: int, seconds: float) -> tuple[float, float]:
    """Between which moments a take of a film may be shown: halfway to those beside it."""
    start, end = 0.0, seconds
    if index:
        start = (takes[index - 1].play.end_seconds + takes[index].play.start_seconds) / 2
    if index + 1 < len(takes):
        end = (takes[index].play.end_seconds + takes[index + 1].play.start_seconds) / 2
    return start, end


def _of_film(film: int, footage: Footage, whys: dict[int, CutWhy], groups: dict[int, int]) -> Iterator[CutPiece]:
    """The stretches of one film, without gaps; ``whys`` and ``groups`` by the ids of its play-throughs."""
    takes = [_Take(film, play, right) for play, right in footage.plays]
    played = [
        _played(take, whys[id(take.play)], _bounds(takes, index, footage.seconds)) for index, take in enumerate(takes)
    ]
    ends = [0.0, *(piece.end_seconds for piece in played)]
    starts = [*(piece.start_seconds for piece in played), footage.seconds]
    talked = _talked(footage, list(zip(ends, starts, strict=True)))
    numbers = [groups[id(take.play)] for take in takes]
    for index, (start, end) in enumerate(zip(ends, starts, strict=True)):
        is_inside = 0 < index < len(played) and numbers[index - 1] == numbers[index]
        yield from _between(film, start, end, talked, is_inside=is_inside)
        if index < len(played):
            yield played[index]


def proposed_cut(footage: Sequence[Footage], parts: Sequence[LessonPart]) -> FilmCut:
    """The cut that is proposed of one film, or of several that are shown one after the other; parts of the lesson."""
    part_ends = {part.last for part in parts}
    takes = [_Take(film, play, right) for film, one in enumerate(footage) for play, right in one.plays]
    whys: dict[int, CutWhy] = {}
    numbers: dict[int, int] = {}
    for number, group in enumerate(_groups(takes, part_ends)):
        best = max(group, key=lambda take: (take.worth[0], takes.index(take)))
        for take in group:
            whys[id(take.play)], numbers[id(take.play)] = _why(take, group, best, part_ends), number
    pieces = [piece for film, one in enumerate(footage) for piece in _of_film(film, one, whys, numbers)]
    return FilmCut(tuple(one.name for one in footage), tuple(one.seconds for one in footage), tuple(pieces))


def loudness_in_tenths(loudness_db: npt.NDArray[np.float64]) -> tuple[float, ...]:
    """The loudest of each tenth of a second, in whole decibels, silence being far down."""
    loud = np.maximum(loudness_db, QUIETEST_DB)
    rows = -(-len(loud) // HOPS)
    padded = np.pad(loud, (0, rows * HOPS - len(loud)), constant_values=QUIETEST_DB)
    return tuple(float(one) for one in np.round(padded.reshape(rows, HOPS).max(axis=1)))
