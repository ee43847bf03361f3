"""Another harp: a take that is not the lesson's phrase where it was asked for, but is on a harp of another key, in
another octave, or some holes beside.

Which transpositions are worth trying is voted by runs of three notes: a run of the take and one of the route that
differ by one and the same interval speak for it. Runs of one pitch alone say nothing. The likeliest are lined up on
the pitch curve that is there already, and what counts is how much of the sound is then the right note. A phrase that
is played some holes beside on the right harp has other intervals, since the steps from hole to hole are not alike;
it is asked for in the same way, and where it explains as much as the best transposition, that is none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import Harp, Move
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.hear.frames import windows_of
from reedpath.hear.middles import middle_of
from reedpath.listen.align import FirstPass, first_pass, line_up, line_up_heard
from reedpath.listen.expected import pitch_prior, score_of
from reedpath.listen.play_through import HarpHeard, LinedUp, PlayThrough, on_harp_of
from reedpath.listen.segments import Hearing, heard_in

Float64 = npt.NDArray[np.float64]

# share of the sound that the phrase must explain for it to be looked for nowhere else: on another harp some of its
# own notes are there in another place, and explain up to 0.65 (bench/listen_advice.py)
ENOUGH = 0.75
# share that it must explain elsewhere, and times as much as where it was asked for; ours
LEAST, TIMES_AS_ASKED = 0.35, 1.4
# share of the notes of its play-throughs that must be the right ones there, and of the route's notes that one of them
# must have right: other tunes of the same player share runs of notes with it, but not the whole (tried on phrases of
# the tests, each against all others)
RIGHT_NOTES, RIGHT_OF_ROUTE = 0.75, 0.6
# share of the sound that will do where only a part of the route is played; other tunes of the same player had 0.86
NEARLY_ALL = 0.9
# semitones by which a harp may differ: from a low one of the lowest key to a high one of the highest
MOST_SEMITONES = 24
# holes beside that are tried
HOLES = (-2, -1, 1, 2)
# semitones within which two intervals are one, and a note is the right one; half a semitone of tuning is allowed for
SAME = 0.5
# runs of three notes that must speak for a transposition, and transpositions tried; ours
FEWEST_VOTES, MOST_TRIED = 3, 3
# confidence of a note that counts
SURE = 0.5


def _some_holes_beside(route: Route, holes: int) -> Route | None:
    """A route played so many holes too far to the right; None where the harp does not have them."""
    last = len(route.harp.tuning.blow)
    events = []
    for one in route.events:
        move = one.choice.move
        if move is not None:
            moved = tuple(hole + holes for hole in move.holes)
            if moved[0] < 1 or moved[-1] > last:
                return None
            move = Move(moved, move.breath)
        choice = replace(one.choice, move=move, lead_in=(), lead_out=())
        events.append(replace(one, choice=choice))
    return replace(route, events=tuple(events))


def _runs_of_three(pitches: Float64) -> Float64:
    """All runs of three pitches that are not all one: shape (runs, 3)."""
    if len(pitches) < 3:
        return np.zeros((0, 3))
    runs = windows_of(pitches, 3)
    return np.asarray(runs[np.ptp(runs, axis=1) > SAME])


def _votes(heard: Float64, asked: Float64) -> Counter[int]:
    """How many runs of three heard pitches speak for each interval between what was asked and what is heard."""
    takes, wanted = _runs_of_three(heard), _runs_of_three(asked)
    votes: Counter[int] = Counter()
    for run in takes:
        apart = run[np.newaxis, :] - wanted
        alike = np.ptp(apart, axis=1) < SAME
        for semitones in {round(float(one)) for one in apart[alike].mean(axis=1)}:
            votes[semitones] += 1
    return votes


def _asked(route: Route) -> Float64:
    return np.array([one.midi[0] for one in score_of(route).events])


class Explained(NamedTuple):
    """How well a route explains a take.

    share : of the sound that is the right note of it. right : share of the notes tried that are right.
    of_route : share of the route's notes that the best play-through has right.
    """

    share: float
    right: float
    of_route: float

    @property
    def is_it(self) -> bool:
        """Whether the take is that route, and no other tune that is like it in places."""
        return self.right >= RIGHT_NOTES and (self.of_route >= RIGHT_OF_ROUTE or self.share >= NEARLY_ALL)


def _right_notes(lined_up: LinedUp, play: PlayThrough) -> tuple[int, float]:
    """How many events of a play-through have the right pitch, and for how many seconds they sound."""
    curve, asked = lined_up.hearing.curve, {one.index: one for one in lined_up.score.events}
    off: list[float] = []
    lengths: list[float] = []
    for one in play.heard:
        part = curve.span(one.start_seconds, one.end_seconds)
        if part.voiced.any():
            midi = middle_of(part.midi[part.voiced])
            off.append(min((midi - pitch for pitch in asked[one.event].midi), key=abs))
            lengths.append(HOP_SECONDS * float(part.voiced.sum()))
    if not off:
        return 0, 0.0
    # a harp may lie off the pitch that its key has
    right = np.abs(np.array(off) - np.clip(np.median(off), -SAME, SAME)) < SAME
    return int(right.sum()), float(np.array(lengths)[right].sum())


def _explained(lined_up: LinedUp) -> Explained:
    sounding = HOP_SECONDS * float(lined_up.hearing.curve.voiced.sum())
    found = [_right_notes(lined_up, play) for play in lined_up.play_throughs]
    if not found or not sounding:
        return Explained(0.0, 0.0, 0.0)
    tried = sum(len(play.events) for play in lined_up.play_throughs)
    return Explained(
        min(1.0, sum(seconds for _, seconds in found) / sounding),
        sum(count for count, _ in found) / tried,
        max(count for count, _ in found) / len(lined_up.score),
    )


def _likeliest(votes: Counter[int]) -> list[int]:
    """The transpositions for which more speaks than for what was asked."""
    least = max(FEWEST_VOTES, votes[0] + 1)
    found = [(semitones, count) for semitones, count in votes.items() if abs(semitones) <= MOST_SEMITONES]
    found.sort(key=lambda one: (-one[1], abs(one[0])))
    return [semitones for semitones, count in found[:MOST_TRIED] if count >= least]


def _holes_beside(lined_up: LinedUp, heard: Float64, *, more_than: int) -> tuple[int, float]:
    """The holes beside on which most of the sound is the phrase, and how much of it.

    more_than : runs of notes that speak for what was asked.
    """
    best, most = 0, 0.0
    for holes in HOLES:
        beside = _some_holes_beside(lined_up.route, holes)
        if beside is None or _votes(heard, _asked(beside))[0] < max(FEWEST_VOTES, more_than + 1):
            continue
        found = _explained(line_up_heard(beside, lined_up.hearing))
        if found.share > most and found.is_it:
            best, most = holes, found.share
    return best, most


def _octaves_beyond(harp: Harp, semitones: int) -> int:
    """Octaves of a transposition that no customary harp accounts for: none where that of the other key does."""
    if semitones % 12 == 0:
        return semitones // 12
    octaves = replace(harp, key_midi=harp.key_midi + semitones).octaves
    return octaves if octaves not in (0, -1) else 0


def _heard_as(usual: LinedUp, semitones: int, octaves: int, explained: float, as_asked: float) -> HarpHeard:
    key_midi = usual.route.harp.key_midi + semitones - 12 * octaves
    name = replace(usual.route.harp, key_midi=key_midi).name
    return HarpHeard(name, semitones, octaves, 0, explained, as_asked)


def _best_elsewhere(usual: LinedUp, shifts: Sequence[int]) -> tuple[int, LinedUp, float]:
    """The transposition by which most is explained, lined up, and how much that is."""
    best = (0, usual, 0.0)
    for semitones in shifts:
        found = line_up_heard(on_harp_of(usual.route, semitones), usual.hearing)
        told = _explained(found)
        if told.share > best[2] and told.is_it:
            best = (semitones, found, told.share)
    return best


def _heard_pitches(hearing: Hearing) -> Float64:
    """The pitches of the notes that are sure, MIDI numbers with their fraction."""
    return np.array([note.pitch_midi for note in hearing.notes if note.confidence > SURE])


def may_be_elsewhere(usual: FirstPass, *, at_least: float) -> bool:
    """Whether a take may be a route on any harp, by the order of its notes alone.

    usual : of the route as it is. at_least : share of the sound that it must explain.
    """
    hearing, segments = usual.table.hearing, usual.table.fits.segments
    if usual.share() >= at_least:
        return True
    shifts = _likeliest(_votes(_heard_pitches(hearing), _asked(usual.route)))
    passes = (first_pass(on_harp_of(usual.route, one), hearing, segments=segments) for one in shifts)
    return any(one is not None and one.share() >= at_least for one in passes)


def line_up_on_any_harp(
    seen: Observations,
    route: Route,
    *,
    usual: LinedUp | None = None,
    without: Sequence[tuple[float, float]] = (),
    pieces: int = 1,
) -> LinedUp:
    """
    Line a take up with a route; where it is not played as asked, with the same on another harp or in another octave.

    Parameters
    ----------
    usual : the take lined up with the route as it is, where that is known already.
    without : starts and ends in seconds of what is something else; it is not in `usual` either.
    pieces : how many may share the take, so that each explains less of it.
    """
    usual = line_up(seen, route) if usual is None else usual
    as_asked = _explained(usual).share
    if as_asked >= ENOUGH or not len(usual.score):
        return usual
    heard = _heard_pitches(usual.hearing)
    votes = _votes(heard, _asked(route))
    semitones, found, share = _best_elsewhere(usual, _likeliest(votes))
    holes, beside = _holes_beside(usual, heard, more_than=votes[0])
    if max(share, beside) < max(LEAST / pieces, TIMES_AS_ASKED * as_asked):
        return usual
    if beside >= share:
        told = HarpHeard(route.harp.name, 0, 0, holes, beside, as_asked)
        return replace(usual, play_throughs=(), harp_heard=told)
    octaves = _octaves_beyond(route.harp, semitones)
    # heard once more, with the reach of that harp: the other's ends elsewhere
    hearing = heard_in(seen, prior=pitch_prior(found.route.harp))
    found = line_up_heard(found.route, hearing.without(without) if without else hearing)
    return replace(found, harp_heard=_heard_as(usual, semitones, octaves, share, as_asked))
