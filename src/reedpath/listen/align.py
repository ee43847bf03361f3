"""Lining up: where in a take each event of a route is played, play-through by play-through.

Two passes of the same exact decoding (see `score_following`): the first knows only what should sound in what order,
and so finds every play-through at any tempo; from its onsets the time map of each play-through is fitted (see
`time_map`), and the second pass, with the times at which events are due, decides which of several like notes was the
missing one. A run that goes back a few events and goes on is one play-through with a restart.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.listen.beat_divisions import SwingGround, swing_grounds
from reedpath.listen.expected import pitch_prior, score_of
from reedpath.listen.fit import fit_of
from reedpath.listen.play_bounds import with_bounds_settled
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough, Restart
from reedpath.listen.score_following import EventRun, SegmentFits, follow, runs_of
from reedpath.listen.second_pass import (
    EDGE,
    FITS_WELL,
    PassInputs,
    best_reading,
    range_of,
    read_on,
    without_false_restarts,
)
from reedpath.listen.segments import Hearing, Segments, heard_in, segments_of
from reedpath.listen.swing import score_as_played, swing_played
from reedpath.listen.time_map import Pause, TimeMap

Float64 = npt.NDArray[np.float64]

# events that a run must hold, and share of its stretch that must fit well, to be a play-through and no chance
# likeness in talk; found by trial on singing
FEWEST_EVENTS, LEAST_SHARE = 5, 0.5
# events under which a run must fit in a larger share, and be in time: beats that half of its onsets may be off by
SURE_EVENTS, SHORT_SHARE, IN_TIME_BEATS = 8, 0.75, 0.1
# seconds between two runs within which going back is a restart and not another play-through
RESTART_SECONDS = 5.0
# events that may seem to sound while the player stops and talks; ours
MOST_STRAYS = 2
# events that a piece of a play-through must hold, and seconds to the next piece, where it alone would be none
FEWEST_OF_A_PIECE, PIECE_SECONDS = 2, 1.0
# events that may be lost between two runs that are still one; a bar of eighths would be another place
MOST_LOST = 4
# shares of the time that more lost events would have taken, between which they were there and only not recognised
LOST_IN_TIME = (0.8, 1.3)
# beats after the end of a run within which what begins there goes on with it, whatever is left out between
AT_ONCE_BEATS = 0.35
# times its written length that what is lost between two runs may have taken
SLOWEST = 2.0
# confidence that a sound of a wrong pitch, clearly heard, still is the event; from memory
WRONG_IS_SURE = 0.4
# seconds by which a voiced stretch outlives its sound (see `reedpath.hear`)
VOICED_LATE_SECONDS = 0.02


def _fits(table: PassInputs, runs: list[EventRun], fewest: int, short_share: float) -> bool:
    """Whether so many events of some runs fit well, and a share of those that they span."""
    well = sum(table.fit_share(place, span) > FITS_WELL for run in runs for place, span in run.spans.items())
    spanned = sum(run.last - run.first + 1 for run in runs)
    share = LEAST_SHARE if spanned >= min(SURE_EVENTS, len(table.score)) else short_share
    return well >= min(fewest, len(table.score)) and well >= share * spanned


def _is_playing(table: PassInputs, runs: list[EventRun]) -> bool:
    return _fits(table, runs, FEWEST_EVENTS, SHORT_SHARE)


def _may_be_playing(table: PassInputs, run: EventRun) -> bool:
    return _fits(table, [run], FEWEST_OF_A_PIECE, LEAST_SHARE)


def _is_in_time(table: PassInputs, play: PlayThrough) -> bool:
    """Whether a short play-through keeps a beat of its own, as no chance likeness does."""
    played = [one for one in play.events if one.played]
    if len(played) >= min(SURE_EVENTS, len(table.score)):
        return True
    beats = {one.index: one.beat_seconds for one in table.score.events}
    off = [abs(one.start_seconds - one.due_seconds) / (beats[one.event] * one.pace) for one in played]
    return float(np.median(off)) < IN_TIME_BEATS


def _goes_on(table: PassInputs, before: EventRun, run: EventRun) -> bool:
    """Whether a run goes on from the one before.

    Few events are lost between, or those for which there was time, or whatever is left out while the beat goes on.
    """
    if not before.last < run.first:
        return False
    if run.first <= before.last + 1 + MOST_LOST:
        return True
    seconds, events = table.fits.segments.seconds, table.score.events
    begin, end, onward = (
        (events[place].start_seconds, float(seconds[segment]))
        for place, segment in (
            (before.first, before.first_segment),
            (before.last, before.spans[before.last][0]),
            (run.first, run.first_segment),
        )
    )
    if end[0] <= begin[0]:
        return False
    pace = (end[1] - begin[1]) / (end[0] - begin[0])
    last = events[before.last]
    over = max(float(seconds[before.last_segment + 1]), end[1] + pace * (last.end_seconds - end[0]))
    if abs(onward[1] - over) < AT_ONCE_BEATS * pace * last.beat_seconds:
        return True
    due = pace * (onward[0] - end[0])
    return LOST_IN_TIME[0] * due < onward[1] - end[1] < LOST_IN_TIME[1] * due


def _put_together(
    table: PassInputs, before: EventRun, run: EventRun, within_seconds: float, *, first: int | None = None
) -> list[EventRun] | None:
    """Two runs as one where the second goes on from the first, as two where it goes back a little and on; None where
    they are two play-throughs.

    first : the first event of the play-through so far, that of the run before for None.
    """
    seconds, events = table.fits.segments.seconds, table.score.events
    apart = float(seconds[run.first_segment] - seconds[min(before.last_segment + 1, len(seconds) - 1)])
    lost = max(0.0, events[run.first].start_seconds - events[before.last].end_seconds)
    if run.first_segment < before.last_segment or apart >= within_seconds + SLOWEST * lost:
        return None
    if _goes_on(table, before, run):
        return [EventRun({**before.spans, **run.spans})]
    if (before.first if first is None else first) < run.first <= before.last < run.last:
        return [before, run]
    return None


def _longest(table: PassInputs, begin: int, end: int) -> EventRun | None:
    """The longest run within some segments, by its order alone."""
    found = runs_of(follow(table.fits.part(slice(begin, end), slice(0, len(table.score)))))
    if not found:
        return None
    best = max(found, key=lambda one: len(one.spans))
    spans = {place: (first + begin, last + begin) for place, (first, last) in best.spans.items()}
    return EventRun(spans, after_stop=True)


def _stop_in(table: PassInputs, run: EventRun) -> tuple[int, int] | None:
    """Segments between which a run stops for longer than a player who goes back does; None where it goes on.

    Few events that seem to sound in between are what else is heard there.
    """
    seconds, spans = table.fits.segments.seconds, list(run.spans.values())
    pace: float | None = None
    for few in range(1, MOST_STRAYS + 2):
        for place, (before, after) in enumerate(zip(spans, spans[few:], strict=False)):
            apart = float(seconds[after[0]] - seconds[before[0]])
            if apart < RESTART_SECONDS:
                continue
            if pace is None:
                pace = table.mapped(run, run.first, run.last).steady_pace
            events = list(run.spans)[place], list(run.spans)[place + few]
            if apart - pace * float(table.written[events[1]] - table.written[events[0]]) >= RESTART_SECONDS:
                return before[1], after[0]
    return None


def _parted(table: PassInputs, run: EventRun) -> list[EventRun]:
    """A run, or several where the player stops for long between parts that are each playing of their own."""
    stop = _stop_in(table, run)
    if stop is None:
        return [run]
    kept = {place: span for place, span in run.spans.items() if span[1] <= stop[0]}
    before = dataclasses.replace(run, spans=kept)
    after = _longest(table, stop[0] + 1, run.last_segment + 1)
    if after is None or not _is_playing(table, [before]) or not _is_playing(table, [after]):
        return [run]
    if before.last < after.first <= before.last + 1 + EDGE:  # it goes on where the part before ended
        after = dataclasses.replace(after, tried_from=before.last + 1)
    return [*_parted(table, before), *_parted(table, after)]


def _chained(table: PassInputs, runs: Iterable[EventRun]) -> list[list[EventRun]]:
    """Runs in order, those of one play-through together."""
    groups: list[list[EventRun]] = []
    for run in runs:
        together = None
        if groups and not run.after_stop:
            first = groups[-1][0].first
            together = _put_together(table, groups[-1][-1], run, RESTART_SECONDS, first=first)
        if together is None:
            groups.append([run])
        else:
            groups[-1][-1:] = together
    return groups


def _with_piece(table: PassInputs, group: list[EventRun], piece: EventRun) -> list[EventRun] | None:
    """A play-through with a short run right before or after it, None where that is not part of it."""
    lead = _put_together(table, piece, group[0], PIECE_SECONDS)
    if lead is not None:
        return [*lead, *group[1:]]
    trail = _put_together(table, group[-1], piece, PIECE_SECONDS)
    return None if trail is None else [*group[:-1], *trail]


def _grouped(table: PassInputs, runs: Sequence[EventRun]) -> list[list[EventRun]]:
    """The runs of each play-through: those that are sure by themselves, with the short ones next to them."""
    sure = [run for run in runs if _is_playing(table, [run])]
    groups = _chained(table, sure or runs)
    for piece in runs if sure else ():
        if piece in sure:
            continue
        for number, group in enumerate(groups):
            together = _with_piece(table, group, piece)
            if together is not None:
                groups[number] = together
                break
    return [group for group in groups if _is_playing(table, group)]


def _end_seconds(table: PassInputs, span: tuple[int, int]) -> float:
    """When the sound of some segments ends."""
    segments, curve = table.fits.segments, table.hearing.curve
    first, last = int(segments.cuts[span[0]]), int(segments.cuts[span[1] + 1])
    sounding = np.flatnonzero(curve.voiced[first:last])
    whole = float(segments.seconds[span[1] + 1]) if span[1] + 1 < len(segments) else len(curve) * HOP_SECONDS
    if not len(sounding):
        return whole
    heard = (first + int(sounding[-1]) + 1) * HOP_SECONDS
    if heard >= last * HOP_SECONDS - HOP_SECONDS / 2 and last < len(curve) and curve.voiced[last]:
        return whole
    return max(min(whole, heard) - VOICED_LATE_SECONDS, float(segments.seconds[span[0]]) + HOP_SECONDS)


def _sure(table: PassInputs, place: int, span: tuple[int, int]) -> float:
    """How sure it is that some segments are an event, where their pitch is."""
    fits = min(1.0, max(0.0, table.fit_share(place, span)))
    return WRONG_IS_SURE + (1.0 - WRONG_IS_SURE) * fits


def _placed(table: PassInputs, run: EventRun, due: TimeMap, place: int) -> PlacedEvent:
    expected = table.score.events[place]
    when, pace = float(due.due_seconds[place - due.first]), float(due.pace[place - due.first])
    span = run.spans.get(place)
    if span is None:
        length = (expected.end_seconds - expected.start_seconds) * pace
        return PlacedEvent(
            expected.index, when, when + length, played=False, due_seconds=when, pace=pace, confidence=0.0
        )
    start = float(table.fits.segments.seconds[span[0]])
    frames = slice(*table.fits.segments.cuts[[span[0], span[1] + 1]])
    heard = float(table.hearing.curve.confidence[frames][table.hearing.curve.voiced[frames]].mean())
    sure = heard * _sure(table, place, span)
    end = _end_seconds(table, span)
    return PlacedEvent(expected.index, start, end, played=True, due_seconds=when, pace=pace, confidence=sure)


def _with_doubts(events: list[PlacedEvent]) -> tuple[PlacedEvent, ...]:
    """A missing event is as sure as its neighbours that sound are."""
    sure = [one.confidence for one in events if one.played]
    usual = float(np.median(sure)) if sure else 0.0
    return tuple(one if one.played else replace(one, confidence=usual) for one in events)


def _play_through(table: PassInputs, group: list[EventRun], bounds: tuple[int, int]) -> PlayThrough:
    events: list[PlacedEvent] = []
    pauses: list[Pause] = []
    restarts: list[Restart] = []
    paces: list[tuple[float, int]] = []
    growths: list[float] = []
    sways: list[tuple[int, float]] = []
    for number, first_found in enumerate(group):
        begin = bounds[0] if number == 0 else first_found.first_segment
        end = bounds[1] if number == len(group) - 1 else group[number + 1].first_segment
        reading = best_reading(table, first_found, (begin, end))
        run, due = reading.run, reading.due
        first, last = range_of(table, run)
        first = run.first if number else first
        last = run.last if number < len(group) - 1 else last
        if number:
            back_to = table.score.events[first].index
            kept = [one for one in events if one.event < back_to]
            if len(kept) < len(events):
                at = float(table.fits.segments.seconds[run.first_segment])
                dropped = min(one.start_seconds for one in events if one.event >= back_to)
                restarts.append(Restart(dropped, at, events[-1].event, back_to))
            events = kept
        events += [_placed(table, run, due, place) for place in range(first, last + 1)]
        pauses += [replace(one, before=table.score.events[one.before].index) for one in due.pauses]
        paces.append((due.steady_pace, len(run.spans)))
        growths.append(due.growth)
        sways.append((len(run.spans), due.sway))
    placed = _with_doubts(events)
    sounding = [one for one in placed if one.played]
    total = sum(count for _, count in paces)
    return PlayThrough(
        start_seconds=min(one.start_seconds for one in sounding),
        end_seconds=max(one.end_seconds for one in sounding),
        tempo_factor=total / sum(pace * count for pace, count in paces),
        events=placed,
        whole=len(placed) == len(table.score),
        pauses=tuple(pauses),
        restarts=tuple(restarts),
        confidence=float(np.mean([one.confidence for one in placed])),
        tempo_growth=growths[0] if len(growths) == 1 else None,
        tempo_sway=max(sways)[1],
    )


def _as_swung(
    table: PassInputs, route: Route, grounds: Sequence[SwingGround], group: Sequence[EventRun]
) -> PassInputs:
    """What both passes share, with the events where the player's own swing puts them if it is not the one asked for.

    So a swing that is not as asked is one thing, and no note is late or early for it.
    """
    told = swing_played(grounds, [table.onsets(run) for run in group])
    if told is None or told.kind is None:
        return table
    score = score_as_played(route, table.score, grounds, told)
    return dataclasses.replace(table, score=score, written=score.array("start_seconds"))


def line_up(seen: Observations, route: Route) -> LinedUp:
    """
    Line a take up with a route.

    Parameters
    ----------
    seen : what `reedpath.hear.observing` sees in the take.

    Returns
    -------
    The play-throughs found, in order; none for silence, for other music, and for an empty route.
    """
    return line_up_heard(route, heard_in(seen, prior=pitch_prior(route.harp)))


def lined_up_without(lined_up: LinedUp, spans: Sequence[tuple[float, float]]) -> LinedUp:
    """The take lined up once more, with nothing of the player's in some stretches of it.

    spans : their starts and ends in seconds.
    """
    found = line_up_heard(lined_up.route, lined_up.hearing.without(spans))
    return dataclasses.replace(found, harp_heard=lined_up.harp_heard)


@dataclass(frozen=True, slots=True, eq=False)
class FirstPass:
    """What the first pass finds of a route in a take: the runs of each play-through, in order."""

    route: Route
    table: PassInputs
    groups: tuple[tuple[EventRun, ...], ...]

    def share(self) -> float:
        """Share of the take's sound that lies in events of the runs, each as sure as it is.

        The second pass explains about as much.
        """
        curve, fits = self.table.hearing.curve, self.table.fits
        sure = np.append(0.0, np.cumsum(np.where(curve.voiced, curve.confidence, 0.0)))[fits.segments.cuts]
        spans = [(place, span) for group in self.groups for run in group for place, span in run.spans.items()]
        heard = (_sure(self.table, place, span) * (sure[span[1] + 1] - sure[span[0]]) for place, span in spans)
        return float(sum(heard) / fits.voiced.sum())


def first_pass(route: Route, hearing: Hearing, *, segments: Segments | None = None) -> FirstPass | None:
    """Look for a route in a take by its order alone; None where nothing sounds or is asked for.

    segments : of the take, where they are known already.
    """
    score, curve = score_of(route), hearing.curve
    if not len(score) or not curve.voiced.any():
        return None
    segments = segments_of(hearing) if segments is None else segments
    fit, kind_of = fit_of(score, curve, segments, hearing.seen)
    voiced = np.add.reduceat(curve.voiced.astype(np.float64), segments.cuts[:-1])
    fits = SegmentFits(segments, fit, kind_of, voiced)
    table = PassInputs(score, fits, hearing, score.array("start_seconds"), score.array("beat_seconds"))
    whole = [part for run in runs_of(follow(fits)) for part in _parted(table, run)]
    runs = [run for run in whole if _may_be_playing(table, run)]
    return FirstPass(route, table, tuple(tuple(group) for group in _grouped(table, runs)))


def line_up_heard(route: Route, hearing: Hearing) -> LinedUp:
    """Line a take up with a route, as it was heard."""
    found = first_pass(route, hearing)
    return LinedUp(route, score_of(route), hearing, ()) if found is None else second_pass(found)


def _without_false_starts(table: PassInputs, groups: list[list[EventRun]]) -> list[list[EventRun]]:
    """The play-throughs; one that seems to break off goes on where the next one seems to begin, if it does."""
    seconds, kept = table.fits.segments.seconds, groups[:1]
    for number, group in enumerate(groups[1:], start=1):
        before, after = kept[-1][-1], group[0]
        breaks_off = range_of(table, before)[1] < len(table.score) - 1
        apart = float(seconds[after.first_segment] - seconds[min(before.last_segment + 1, len(seconds) - 1)])
        is_one = len(kept[-1]) == len(group) == 1 and breaks_off and range_of(table, after)[0] == 0
        joined = None
        if is_one and apart < RESTART_SECONDS:
            lower = kept[-2][-1].last_segment + 1 if len(kept) > 1 else 0
            upper = groups[number + 1][0].first_segment if number + 1 < len(groups) else len(seconds)
            joined = read_on(table, before, after, (lower, upper))
        if joined is None:
            kept.append(group)
        else:
            kept[-1] = [joined]
    return kept


def second_pass(first: FirstPass) -> LinedUp:
    """Line a take up with a route, knowing what the first pass finds."""
    route, table = first.route, first.table
    score, hearing, segments = table.score, table.hearing, table.fits.segments
    groups = _without_false_starts(table, [list(group) for group in first.groups])
    groups = with_bounds_settled(table, groups)
    bounds = [group[0].first_segment for group in groups] + [len(segments)]
    found, grounds = [], swing_grounds(route, score) if groups else None
    for number, group in enumerate(groups):
        lower = 0 if number == 0 else groups[number - 1][-1].last_segment + 1
        limits = (lower, bounds[number + 1])
        swung = _as_swung(table, route, grounds or (), group)
        found.append(_play_through(swung, without_false_restarts(swung, group, limits), limits))
    plays = tuple(play for play in found if _is_in_time(table, play))
    return LinedUp(route, score, hearing, plays, grounds=grounds)
