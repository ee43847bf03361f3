"""The answer to a take: what was played of a route, event by event, and what is worth practising.

All values are frozen and say their unit; words are given to them in `answer_text`, data in `answer_json`, names of
kinds in `answer_kinds`.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reedpath.arrange import Route, Spot
from reedpath.data import replace
from reedpath.data.numbers import Index, Share
from reedpath.harp import Move
from reedpath.listen.answer_kinds import (
    BeatDivision,
    FaultKind,
    NextStepKind,
    Notice,
    PraiseKind,
    Trend,
    Verdict,
)
from reedpath.listen.pitch_measure import HeardVibrato, Shape
from reedpath.listen.play_through import HarpHeard, PlayThrough, on_harp_of
from reedpath.listen.reeds import ReedHeard, ReedState
from reedpath.listen.swaying_tempo import SWAYS


class Fault(Struct, frozen=True):
    """Something that is not as asked.

    kind : what. amount : how much, in the unit that the kind says; 0 where there is nothing to measure.
    weight : how much it matters, 1 for a wrong note.
    """

    kind: FaultKind
    amount: float
    weight: Share


class GlideHeard(Struct, frozen=True):
    """A glide that was asked for: by how many semitones, and how many were heard."""

    wanted_semitones: float
    heard_semitones: float


class BendHeard(Struct, frozen=True):
    """A bend as it was heard.

    wanted_semitones, reached_semitones : depth under the natural note of the hole, 0 and up.
    glide_seconds : from the start of the note until it stays at its depth. shape : how it comes there.
    """

    wanted_semitones: float
    reached_semitones: float
    glide_seconds: float
    shape: Shape


class EventAnswer(Struct, frozen=True):
    """What became of one event.

    event : index of the route's event. move : what was asked.
    verdict : played, missed or another note.
    heard : the move that sounds what was heard, None where it is missed; beside the asked one only where
        another note was played.
    start_seconds, end_seconds : when it sounds, or was due.
    cents : heard pitch less the target in the harp's own temperament; of several holes, that of the reed furthest
        off; None where it is missed, or where no pitch can be told.
    heard_cents : heard pitch less that of the heard move.
    bend : for a bend. attack, fall : for glides that were asked for at its start and end.
    unsteady_cents : standard deviation of the pitch from a straight line, vibrato left out; None where missed.
    vibrato : None where there is none.
    late_seconds, late_beats : onset less when it was due in the play-through's own tempo; negative is early.
    held_share : length less than or beyond what was asked, 1 as asked, in the play-through's own tempo.
    confidence : 0 to 1. faults : the heaviest first.
    reeds : reed by reed, those asked and those that sound beside them; none where the sound was not read again.
    covered : whether others play its pitch over it, so that nobody can hear whether it is played; then it counts
        neither as right nor as wrong.
    rings_share : for how much of the time to the next event it sounds, where the air need not stop between them; None
        elsewhere.
    swapped_with : index of the event beside it with which it was swapped, each played in the other's place.
    """

    event: Index
    move: Move
    verdict: Verdict
    heard: Move | None
    start_seconds: float
    end_seconds: float
    cents: float | None
    heard_cents: float | None
    bend: BendHeard | None
    attack: GlideHeard | None
    fall: GlideHeard | None
    unsteady_cents: float | None
    vibrato: HeardVibrato | None
    late_seconds: float | None
    late_beats: float | None
    held_share: float | None
    confidence: Share
    faults: tuple[Fault, ...]
    reeds: tuple[ReedHeard, ...] = ()
    covered: bool = False
    swapped_with: Index | None = None
    rings_share: Share | None = None

    @property
    def is_right(self) -> bool:
        """Whether it is heard, and nothing is wrong with it."""
        return not self.covered and not self.faults

    @property
    def has_unsure_hole(self) -> bool:
        """Whether of one of the holes asked nobody can hear whether it sounds."""
        return any(reed.asked and reed.state is ReedState.UNSURE for reed in self.reeds)


class Extra(Struct, frozen=True):
    """A sound that belongs to no event.

    after : index of the event before it. again : whether it is that event's own note, struck again.
    move, cents : the move that most likely sounds it, and how far off.
    leads : whether it comes right before the first event, which `after` then is.
    """

    start_seconds: float
    end_seconds: float
    after: int
    again: bool
    move: Move
    cents: float
    leads: bool = False


class TempoHeard(Struct, frozen=True):
    """The tempo of a play-through.

    factor : of the written tempo. bpm : quarter notes a minute where it begins, as played.
    drift : growth of the tempo from the first event to the last, as a share; 0.05 is five per cent faster.
    kept : whether it was kept, by what listeners notice.
    sway : by how much it goes up and down on the way, as a share either way.
    spread_ms : standard deviation of the onsets about the tempo, late notes left out.
    """

    factor: float
    bpm: float
    drift: float
    kept: bool
    spread_ms: float
    sway: Share = 0.0

    @property
    def sways(self) -> bool:
        """Whether it goes up and down by what is told."""
        return self.sway >= SWAYS


class SwingHeard(Struct, frozen=True):
    """How the two notes that divide a beat, or half of one, are played.

    asked, heard : times that the first is as long as the second, as asked and in the middle as played.
    pairs : pairs of notes that say so.
    kind : what of it is not as asked, None where it is.
    events : indexes of the second notes that speak for that.
    division : which notes they are. Of several that a phrase has, the one that is most often not as asked; where all
        are, the one with the most pairs.
    """

    asked: float
    heard: float
    pairs: int
    kind: FaultKind | None = None
    events: tuple[Index, ...] = ()
    division: BeatDivision = BeatDivision.EIGHTHS


class BreathBalance(Struct, frozen=True):
    """The air of a play-through, reckoned from what was played and how long.

    net_litres : drawn less blown. lowest_litres, highest_litres : of the balance on the way, breaths in rests taken.
    longest_draw_seconds, longest_draw_from : the longest stretch of drawing without a rest, and its first event.
    longest_blow_seconds, longest_blow_from : likewise of blowing.
    fullest_at, emptiest_at : indexes of the events at whose end the balance is highest and lowest, None where it is
        at the start. rest_to_fullest, rest_to_emptiest : those of the last events before these after which there is
        time for a little air, None where there is none on the way.
    """

    net_litres: float
    lowest_litres: float
    highest_litres: float
    longest_draw_seconds: float
    longest_draw_from: int | None
    longest_blow_seconds: float
    longest_blow_from: int | None
    fullest_at: int | None = None
    emptiest_at: int | None = None
    rest_to_fullest: int | None = None
    rest_to_emptiest: int | None = None


class Practise(Struct, frozen=True):
    """Something worth practising: one kind of fault where it comes most.

    kind : of the faults. events : indexes of the events that have it, in order. weight : their sum.
    move : the asked move where they share it; of two that are swapped, the one that is first.
    amount : median of the faults' amounts.
    """

    kind: FaultKind
    events: tuple[Index, ...]
    weight: float
    move: Move | None
    amount: float


class PlayAnswer(Struct, frozen=True):
    """The answer to one play-through.

    play : where it lies. events : from the first to the last event that was tried. extras : in order.
    practise : two or three things most worth practising, swing first, then the weightiest first.
    spots : stretches of the route that failed, to be made into drills.
    right_share : share of the events that can be heard in which nothing is wrong.
    swing : how beats are divided in two, None where too few of them tell.
    """

    play: PlayThrough
    events: tuple[EventAnswer, ...]
    extras: tuple[Extra, ...]
    tempo: TempoHeard
    air: BreathBalance
    practise: tuple[Practise, ...]
    spots: tuple[Spot, ...]
    right_share: Share
    swing: SwingHeard | None = None

    @property
    def heard_events(self) -> tuple[EventAnswer, ...]:
        """The events of which it can be heard whether they are played."""
        return tuple(one for one in self.events if not one.covered)

    @property
    def is_by_parts(self) -> bool:
        """Whether it is put together of several play-throughs."""
        return False

    @property
    def right(self) -> int:
        """How many of them are right."""
        return sum(one.is_right for one in self.events)


class PartsPlayed(Struct, frozen=True):
    """A route played by parts, where no play-through holds all of it.

    plays : indexes of the play-throughs that are told together, the best of each part, in the order of the route.
    practise, spots : as of a play-through, of the events of all of them.
    """

    plays: tuple[Index, ...]
    practise: tuple[Practise, ...]
    spots: tuple[Spot, ...]


def _told_from(plays: Sequence[PlayAnswer]) -> dict[int, tuple[int, EventAnswer]]:
    """For each event of several play-throughs, from which it is told: right where one of them has it so, else as the
    first has it.
    """
    found: dict[int, tuple[int, EventAnswer]] = {}
    for number, one in ((number, one) for number, play in enumerate(plays) for one in play.events):
        kept = found.get(one.event)
        if kept is None or (one.is_right and not kept[1].is_right):
            found[one.event] = number, one
    return found


def events_of_parts(plays: Sequence[PlayAnswer]) -> tuple[EventAnswer, ...]:
    """Each event of several play-throughs once, in the order of the route."""
    return tuple(one for _, (_, one) in sorted(_told_from(plays).items()))


def plays_of_parts(plays: Sequence[PlayAnswer], parts: PartsPlayed) -> tuple[PlayAnswer, ...]:
    """The play-throughs of parts, each with the events alone that are told from it."""
    told = [plays[index] for index in parts.plays]
    source = {event: number for event, (number, _) in _told_from(told).items()}
    return tuple(
        replace(
            play,
            events=tuple(one for one in play.events if source[one.event] == number),
            extras=tuple(one for one in play.extras if source.get(one.after) == number),
        )
        for number, play in enumerate(told)
    )


class PlayOfParts(PlayAnswer, frozen=True):
    """The answer to several play-throughs, each of a part, told as one; it is never written."""

    @property
    def is_by_parts(self) -> bool:
        """Whether it is put together of several play-throughs."""
        return True


def joined_play(plays: Sequence[PlayAnswer], parts: PartsPlayed) -> PlayOfParts:
    """The play-throughs of parts as one, at the tempo of the slowest of them."""
    told = plays_of_parts(plays, parts)
    events = events_of_parts(told)
    from_where = {one.event: number for number, play in enumerate(told) for one in play.events}
    placed = {
        one.event: one
        for number, play in enumerate(told)
        for one in play.play.events
        if from_where[one.event] == number
    }
    slowest = min(told, key=lambda play: play.tempo.factor)
    play = replace(
        slowest.play,
        start_seconds=min(one.play.start_seconds for one in told),
        end_seconds=max(one.play.end_seconds for one in told),
        events=tuple(placed[one.event] for one in events),
        whole=False,
        pauses=tuple(pause for one in told for pause in one.play.pauses),
        restarts=tuple(restart for one in told for restart in one.play.restarts),
        cut_off=False,
    )
    return PlayOfParts(
        play=play,
        events=events,
        extras=tuple(extra for one in told for extra in one.extras),
        tempo=slowest.tempo,
        air=slowest.air,
        swing=slowest.swing,
        practise=parts.practise,
        spots=parts.spots,
        right_share=sum(one.is_right for one in events) / max(1, sum(not one.covered for one in events)),
    )


class Praise(Struct, frozen=True):
    """One thing that truly went well.

    kind : what. count : how many notes, bends, beats or tries say so. events : their indexes, where some do.
    """

    kind: PraiseKind
    count: int
    events: tuple[Index, ...] = ()


class NextStep(Struct, frozen=True):
    """What comes next.

    kind : what. bpm : quarter notes a minute at which, None where that does not matter.
    first, last : indexes of the events that are played apart, or were not played yet; None for all.
    """

    kind: NextStepKind
    bpm: float | None = None
    first: Index | None = None
    last: Index | None = None


class Tries(Struct, frozen=True):
    """Several tries in one recording.

    count : tries of half the route or more. trend : of the share of notes as asked.
    first_share, last_share : that share at the first and the last, on the line that runs through all.
    recurring : what most of them have in common to be mended, as it was in the last try that has it; None where
        nothing comes back in half of them. recurring_in : how many. seen_in : index of that play-through.
        recurring_at : index of the event at which it comes back, None where it is one thing wherever it comes.
    first_bpm, last_bpm : quarter notes a minute at the first and the last, on the line that runs through all; None
        where the tempo neither rises nor falls beyond chance.
    """

    count: int
    trend: Trend
    first_share: Share
    last_share: Share
    recurring: Practise | None = None
    recurring_in: int = 0
    seen_in: Index | None = None
    first_bpm: float | None = None
    last_bpm: float | None = None
    recurring_at: Index | None = None


class AnswerContent(Struct, frozen=True, kw_only=True, rename={"plays": "play_throughs"}):
    """What an answer says, beside the route that it is about.

    duration_seconds : of the take.
    plays : one for each play-through, in order.
    best : index of the one with most right, of equal ones the one in time and nearest to its tempo; None for none.
    tuned_cents : by how much the player's harp lies over the lesson's pitch, allowed for in all cents; 0 where it
        agrees.
    notices : what is to be said of the recording itself.
    harp_heard : another harp or octave than the lesson's; what is said of holes is said as if it were the right one.
        None where it is that of the lesson.
    praise : one thing that truly went well in the best play-through, None where nothing that is measured says so.
    next_step : what comes next, None where nothing is heard.
    tries : what becomes of it from try to try, None for few.
    by_parts : which play-throughs are told together where the route is played by parts, None where one says it all.
    """

    duration_seconds: float
    plays: tuple[PlayAnswer, ...]
    best: Index | None
    tuned_cents: float
    notices: tuple[Notice, ...]
    harp_heard: HarpHeard | None = None
    praise: Praise | None = None
    next_step: NextStep | None = None
    tries: Tries | None = None
    by_parts: PartsPlayed | None = None

    @property
    def best_play(self) -> PlayAnswer | None:
        """The play-through with most right, or those of the parts as one; None for none."""
        if self.best is None:
            return None
        return self.plays[self.best] if self.by_parts is None else joined_play(self.plays, self.by_parts)


class Answer(AnswerContent, frozen=True, kw_only=True):
    """The answer to a take.

    route : what was to be played.
    """

    route: Route

    @property
    def heard_route(self) -> Route:
        """What was to be played, on the harp that is heard."""
        return self.route if self.harp_heard is None else on_harp_of(self.route, self.harp_heard.semitones)
