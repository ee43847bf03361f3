"""A take divided among the pieces of a lesson: which of them is played when, so that each is answered by itself.

Each piece is lined up with the whole take first. Pieces of one lesson share notes, so one is found in scraps where
another is played; so it is decided which piece each moment belongs to: to the one whose events sound there in a row
and in time, with a price for going from one piece to another (the best course through all moments, by dynamic
programming as in Viterbi's search). Then each piece is lined up once more with what the others have not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import fmean
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.listen.align import first_pass, line_up_heard, second_pass
from reedpath.listen.expected import score_of
from reedpath.listen.other_harps import TIMES_AS_ASKED, line_up_on_any_harp
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough
from reedpath.listen.take_hearings import TakeHearings

# an event counts for half where so many follow on one another without a pause or a step back, and for about a third
# where their onsets stray by so many seconds from their own tempo: a phrase that is not played is found in scraps out
# of time; ours, tried on takes of the examples against one another's lessons
HALF_BELIEVED_EVENTS, STRAY_SECONDS = 6.0, 0.1
# seconds of sound, each as sure as it is, that must speak for going from one piece to another; ours, tried on takes
# of licks that share most of their notes
CHANGE_SECONDS = 0.5
# share of its written length, in the tempo that is played, after which an event is over at the next note that is
# heard to begin where nothing of its piece follows, and with which it begins where nothing comes before: pieces that
# follow one another often end and begin on one pitch; ours
OVER, ENOUGH_OF_IT = 0.8, 0.6
# how much what lies beyond that counts: it is another piece's where one begins or ends there, else this one's
BEYOND = 0.02
# how far a piece must be believed to be played somewhere, once another one is; ours: of licks in one key played
# apart, with and without faults, none was under 0.4, and what is found of others in them is seldom over 0.3
LEAST_BELIEVED = 0.3
# share of the sound of a play-through that must lie where its piece is
LEAST_INSIDE = 0.5
# share of the sound, and seconds of it, that no piece explains, from which each that is not heard is looked for on
# another harp and in another octave
LEFT_SHARE, LEFT_SECONDS = 0.25, 3.0

Float64 = npt.NDArray[np.float64]
Span = tuple[float, float]


class PieceLinedUp(NamedTuple):
    """A piece that is heard in a take: its index, and the take lined up with it."""

    piece: int
    lined_up: LinedUp


class _Heard(NamedTuple):
    """A stretch in which an event of a piece sounds, and how sure it is that the piece is played there."""

    start: float
    end: float
    sure: float


def believed(events: Sequence[PlacedEvent], *, breaks: int = 0) -> float:
    """How far some events that sound are believed to be played on in time, 0 to 1.

    breaks : pauses and steps back among them.
    """
    if not events:
        return 0.0
    in_a_row = len(events) / (1.0 + breaks)
    stray = math.sqrt(fmean((one.start_seconds - one.due_seconds) ** 2 for one in events))
    return in_a_row / (in_a_row + HALF_BELIEVED_EVENTS) * math.exp(-stray / STRAY_SECONDS)


def _stretches(play: PlayThrough) -> Iterator[list[PlacedEvent]]:
    """The events of a play-through that sound, parted where the time is broken or the player goes back."""
    parted = sorted({*(one.before for one in play.pauses), *(one.back_to for one in play.restarts)})
    begins = {min((one.event for one in play.heard if one.event >= event), default=-1) for event in parted}
    stretch: list[PlacedEvent] = []
    for one in play.heard:
        if one.event in begins and stretch:
            yield stretch
            stretch = []
        stretch.append(one)
    if stretch:
        yield stretch


def _begins(lined_up: LinedUp) -> list[float]:
    """When the notes of a take begin."""
    return [note.start_seconds for note in lined_up.hearing.notes]


def _own_start(lined_up: LinedUp, one: PlacedEvent, asked_seconds: float) -> float:
    """When the first event of a play-through may begin, where it seems to begin with another piece's last note."""
    begins, late = _begins(lined_up), one.end_seconds - ENOUGH_OF_IT * asked_seconds
    return max((begin for begin in begins if one.start_seconds < begin < late), default=one.start_seconds)


def _own_end(lined_up: LinedUp, one: PlacedEvent, asked_seconds: float) -> float:
    """When the last event of a play-through may end, where it seems to go on into another piece's first note."""
    begins, early = _begins(lined_up), one.start_seconds + OVER * asked_seconds
    return min((begin for begin in begins if early < begin < one.end_seconds), default=one.end_seconds)


def _heard_in(lined_up: LinedUp) -> list[_Heard]:
    written = {one.index: one.end_seconds - one.start_seconds for one in lined_up.score.events}
    heard = []
    for play in lined_up.play_throughs:
        stretches = list(_stretches(play))
        if not stretches:
            continue
        first, last = stretches[0][0], stretches[-1][-1]
        starts = {first.event: _own_start(lined_up, first, written[first.event] * first.pace)}
        ends = {last.event: _own_end(lined_up, last, written[last.event] * last.pace)}
        for number, stretch in enumerate(stretches):
            sure = believed(stretch)
            if not number and len(stretch) == 1 < len(stretches) and starts[first.event] > first.start_seconds:
                sure = believed(stretches[1])  # the pause after it is the other piece's note
            for one in stretch:
                start, end = one.start_seconds, one.end_seconds
                own = sure * one.confidence
                heard.append(_Heard(starts.get(one.event, start), ends.get(one.event, end), own))
                heard.append(_Heard(start, end, BEYOND * own))
    return heard


def _gains(found: Sequence[Sequence[_Heard]], cuts: Float64) -> Float64:
    """What each piece gains between two cuts, in seconds: shape (pieces, cuts - 1)."""
    gains, lengths = np.zeros((len(found), len(cuts) - 1)), np.diff(cuts)
    for index, heard in enumerate(found):
        for one in heard:
            inside = slice(*np.searchsorted(cuts, (one.start, one.end)))
            gains[index, inside] = np.maximum(gains[index, inside], one.sure * lengths[inside])
    return gains


def _course(gains: Float64) -> npt.NDArray[np.intp]:
    """Which piece is played between two cuts, for the whole take: the course with most gain."""
    pieces, count = gains.shape
    came_from = np.zeros((count, pieces), dtype=np.intp)
    best = np.zeros(pieces)
    for step in range(count):
        leader = int(best.argmax())
        changes = best[leader] - CHANGE_SECONDS > best
        came_from[step] = np.where(changes, leader, np.arange(pieces))
        best = np.where(changes, best[leader] - CHANGE_SECONDS, best) + gains[:, step]
    course = np.zeros(count, dtype=np.intp)
    at = int(best.argmax())
    for step in reversed(range(count)):
        course[step] = at
        at = came_from[step, at]
    return course


def spans_of_pieces(pieces: Sequence[LinedUp]) -> tuple[tuple[Span, ...], ...]:
    """
    When each of several pieces is played, as pairs of seconds.

    Parameters
    ----------
    pieces : a take lined up with each, without regard to the others: play-throughs may overlap.
    """
    found = [_heard_in(each) for each in pieces]
    cuts = np.unique([edge for heard in found for one in heard for edge in (one.start, one.end)])
    if len(cuts) < 2:
        return ((),) * len(pieces)
    gains = _gains(found, cuts)
    course = _course(gains)
    spans: list[list[Span]] = [[] for _ in pieces]
    ends = [*(np.flatnonzero(np.diff(course)) + 1).tolist(), len(course)]
    begin = 0
    for end in ends:
        piece = int(course[begin])
        sounding = begin + np.flatnonzero(gains[piece, begin:end])
        if len(sounding):
            spans[piece].append((float(cuts[sounding[0]]), float(cuts[sounding[-1] + 1])))
        begin = end
    return tuple(tuple(each) for each in spans)


def _seconds_inside(play: PlayThrough, spans: Sequence[Span]) -> float:
    """Seconds of a play-through's events that lie in some spans."""
    return sum(
        max(0.0, min(one.end_seconds, end) - max(one.start_seconds, start))
        for one in play.heard
        for start, end in spans
    )


def _only_inside(lined_up: LinedUp, spans: Sequence[Span]) -> LinedUp:
    """A take lined up with a piece, without the play-throughs that do not lie where the piece is."""
    kept = []
    for play in lined_up.play_throughs:
        sounding = sum(one.end_seconds - one.start_seconds for one in play.heard)
        if _seconds_inside(play, spans) >= LEAST_INSIDE * sounding:
            kept.append(play)
    return replace(lined_up, play_throughs=tuple(kept))


def _of_others(spans: Mapping[int, Sequence[Span]], piece: int) -> list[Span]:
    """When other pieces are played, with what lies between them where this one is not."""
    joined: list[Span] = []
    own_before = True
    for start, end, is_own in sorted((*span, index == piece) for index, each in spans.items() for span in each):
        if not is_own:
            joined[len(joined) if own_before else -1 :] = [(start if own_before else joined[-1][0], end)]
        own_before = is_own
    return joined


def _divided(found: Mapping[int, LinedUp]) -> dict[int, LinedUp]:
    """Each piece that is heard, lined up with what the others have not."""
    spans = dict(zip(found, spans_of_pieces(list(found.values())), strict=True))
    heard = {}
    for index, lined_up in found.items():
        others = _of_others(spans, index)
        if spans[index] and others:
            again = line_up_heard(lined_up.route, lined_up.hearing.without(others))
            lined_up = replace(again, harp_heard=lined_up.harp_heard)
        lined_up = _only_inside(lined_up, spans[index])
        if lined_up.play_throughs:
            heard[index] = lined_up
    return heard


def _is_sure(lined_up: LinedUp) -> bool:
    """Whether a piece is believed to be played somewhere."""
    plays = lined_up.play_throughs
    return max((believed(stretch) for play in plays for stretch in _stretches(play)), default=0.0) >= LEAST_BELIEVED


def _sounding_seconds(lined_up: LinedUp) -> float:
    return HOP_SECONDS * float(lined_up.hearing.curve.voiced.sum())


def _heard_seconds(lined_up: LinedUp) -> float:
    return sum(
        (one.end_seconds - one.start_seconds) * one.confidence
        for play in lined_up.play_throughs
        for one in play.heard
    )


def _elsewhere(seen: Observations, found: Sequence[LinedUp], heard: Mapping[int, LinedUp]) -> dict[int, LinedUp]:
    """The pieces that are not heard as asked, but on another harp or in another octave, in what is left of it."""
    spans = [(play.start_seconds, play.end_seconds) for one in heard.values() for play in one.play_throughs]
    elsewhere = {}
    for index, usual in enumerate(found):
        if index in heard:
            continue
        if spans:
            usual = line_up_heard(usual.route, usual.hearing.without(spans))
        told = line_up_on_any_harp(seen, usual.route, usual=usual, without=spans, pieces=len(found))
        if told.harp_heard is not None:
            elsewhere[index] = told
    return elsewhere


def _gain(heard: Mapping[int, LinedUp]) -> float:
    """Seconds in which pieces are heard, each as far as it is believed."""
    return sum(one.sure * (one.end - one.start) for lined_up in heard.values() for one in _heard_in(lined_up))


def _with_others_elsewhere(
    seen: Observations, found: Sequence[LinedUp], sure: Mapping[int, LinedUp]
) -> tuple[dict[int, LinedUp], dict[int, LinedUp]]:
    """The pieces heard as asked, and of the others those heard elsewhere; or all elsewhere, where that explains more.

    On the wrong harp scraps of some are heard as asked. Beside it all that is heard elsewhere, whether it is divided.

    sure : those that are heard as asked.
    """
    elsewhere = _elsewhere(seen, found, sure)
    heard = dict(sure) | _divided({index: one for index, one in elsewhere.items() if one.play_throughs})
    if sure:
        every = _divided({index: one for index, one in _elsewhere(seen, found, {}).items() if one.play_throughs})
        if _gain(every) > TIMES_AS_ASKED * _gain(heard):
            heard = every
    return heard, elsewhere


def line_up_with_pieces(seen: Observations, routes: Sequence[Route]) -> tuple[PieceLinedUp, ...]:
    """
    Line a take up with each of several pieces that is heard in it.

    A piece that is not played as asked is looked for on another harp and in another octave too.

    Returns
    -------
    The pieces heard, in their order. Where none is, one of them, with no play-through: the one that is heard some
    holes beside, or else the first.
    """
    if len(routes) == 1:
        return (PieceLinedUp(0, line_up_on_any_harp(seen, routes[0])),)
    hearings, found = TakeHearings(seen), []
    for route in routes:
        hearing, known = hearings.on(route.harp)
        passed = first_pass(route, hearing, segments=known)
        found.append(LinedUp(route, score_of(route), hearing, ()) if passed is None else second_pass(passed))
    heard = _divided(dict(enumerate(found)))
    sure = {index: one for index, one in heard.items() if _is_sure(one)}
    sounding = max(map(_sounding_seconds, found))
    left = sounding - sum(map(_heard_seconds, sure.values()))
    if left > max(LEFT_SHARE * sounding, LEFT_SECONDS):
        sure, elsewhere = _with_others_elsewhere(seen, found, sure)
        if not sure and elsewhere:
            return (PieceLinedUp(*next(iter(elsewhere.items()))),)
    if sure:
        return tuple(PieceLinedUp(index, sure[index]) for index in sorted(sure))
    if heard:
        return (PieceLinedUp(*max(heard.items(), key=lambda one: _heard_seconds(one[1]))),)
    return (PieceLinedUp(0, found[0]),)
