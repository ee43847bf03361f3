"""Play-throughs of raw footage where they lie in the cut film."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reedpath.data import replace
from reedpath.film.film_cut import CutKind, CutPiece, FilmCut, goes_on

if TYPE_CHECKING:
    from reedpath.listen import PlayThrough


@dataclass(frozen=True, slots=True)
class ToldPlay:
    """A stretch of a cut film that is played, and from when on it is spoken of; film time."""

    start_seconds: float
    end_seconds: float
    told_from: float


def told_plays(cut: FilmCut) -> tuple[ToldPlay, ...]:
    """The stretches that are played in what stays. What is said between two of them speaks of the second; of what is
    said before the first, the last stretch does: the others greet.
    """
    told: list[ToldPlay] = []
    at, told_from = 0.0, 0.0
    before: CutPiece | None = None
    for piece in cut.pieces:
        if not piece.keep:
            continue
        end = at + piece.seconds
        if piece.kind is CutKind.PLAY:
            told.append(ToldPlay(at, end, told_from))
            told_from = end
        elif not told and (before is None or not goes_on(before, piece)):
            told_from = at
        at, before = end, piece
    return tuple(told)


def _moved(play: PlayThrough, piece: CutPiece, offset: float) -> PlayThrough | None:
    """What of a play-through lies in a stretch, as much later as the stretch is shown later; None for nothing."""
    inside = [
        one
        for one in play.events
        if piece.start_seconds <= one.start_seconds and one.start_seconds < piece.end_seconds
    ]
    if not any(one.played for one in inside):
        return None
    events = tuple(
        replace(
            one,
            start_seconds=one.start_seconds + offset,
            end_seconds=min(one.end_seconds, piece.end_seconds) + offset,
            due_seconds=one.due_seconds + offset,
        )
        for one in inside
    )
    sounding = [one for one in events if one.played]
    return replace(
        play,
        start_seconds=sounding[0].start_seconds,
        end_seconds=max(one.end_seconds for one in sounding),
        events=events,
        whole=play.whole and len(events) == len(play.events),
        pauses=(),
        restarts=(),
    )


def _cut(cut: FilmCut, plays: Sequence[Sequence[PlayThrough]]) -> Iterator[PlayThrough]:
    at = 0.0
    for piece in cut.kept:
        moved = (_moved(play, piece, at - piece.start_seconds) for play in plays[piece.film])
        yield from (play for play in moved if play is not None)
        at += piece.seconds


def plays_in_cut(cut: FilmCut, plays: Sequence[Sequence[PlayThrough]]) -> tuple[PlayThrough, ...]:
    """The play-throughs of each film where they are seen in the cut, in order; without those that are cut out."""
    return tuple(_cut(cut, plays))
