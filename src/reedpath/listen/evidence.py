"""Evidence: all that is known of each event of a play-through, collected once, before anything is decided.

An event is looked at where lining up puts it: its beginning is moved to where its own partials begin, its pitch is
measured, its reeds are looked up, and so are the moments at which it is struck again. `sounds` then decides which
sound is whose, `judging` what to say of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from reedpath.arrange import RouteEvent
from reedpath.data import replace
from reedpath.harp import Alteration, Move, sound_of
from reedpath.hear import HOP_SECONDS, HeardNote, PitchCurve
from reedpath.hear.middles import middle_of
from reedpath.listen.align import VOICED_LATE_SECONDS
from reedpath.listen.answer_kinds import Verdict
from reedpath.listen.company import Company
from reedpath.listen.expected import Expected, Score, sounding_midi
from reedpath.listen.leads import SlideHeard, glide_end, glide_start, slide_heard
from reedpath.listen.letting_ring import ring_shares
from reedpath.listen.moves_heard import HeardMove, heard_move, is_within_reach
from reedpath.listen.own_partials import (
    BEGUN_DB,
    LATER_IN_COMPANY,
    OFF_SECONDS,
    SOONER_IN_COMPANY,
    OwnLevel,
    begins_anew,
    is_filled,
    is_up,
    nearest_start,
    own_start,
    second_starts,
    slow_rise,
    sounds_on,
    swing_db,
    usual_level,
)
from reedpath.listen.pitch_measure import PitchMeasure, measure_pitch
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough
from reedpath.listen.reading_again import ReadAgain, moved
from reedpath.listen.reeds import ReedHeard, ReedState, holes_heard
from reedpath.listen.ringing import is_over
from reedpath.listen.wavering import Waver, waver_of

# cents off from which it may be another note, from which it must be, and how near that other must lie
MAYBE_ANOTHER, SURELY_ANOTHER, ANOTHER_NEAR = 50.0, 75.0, 30.0
# seconds under which a sound is no note, and share of a short event's length that will do
LEAST_SECONDS, LEAST_SHARE = 0.05, 0.3
# decibels under the usual level of the events from which another note is only the echo of one, or a backing; and
# seconds from its start within which it must be heard to begin
ECHO_DB, BEGINS_SECONDS = 12.0, 0.045
# cents within which a pitch belongs to one of several holes that sound together; half a semitone
OF_A_CHORD = 60.0
# decibels under the loudest reed at which a single note that was asked is itself, with a neighbour louder than it
OWN_DB = -12.0
# semitones within which two events are the same pitch
SAME = 0.5
# seconds into an event before which a second strike is the first one's attack, and that it must last
AFTER_START, LASTS = 0.08, 0.06
# seconds up to which a note may be covered by a drum or a chord of others, so that its pitch is not heard
COVERED_SECONDS = 0.2
# seconds without its own partials after which a note that others may play is over; tongued reeds stop for 0.03
ENDED_SECONDS = 0.12
# seconds into a bend in which it may still slide from its natural note
AFTER_SLIDE = 0.22
# share of the way to a bend, or out of it, off which a pitch is held still; seconds that the way takes at least
STILL, GLIDES_SECONDS = 0.25, 0.02
# seconds before a bend was placed in which it may have come
BENT_EARLY = 0.25
# seconds without sound before a note that make it a strike of its own, and nearest to it that do not count
REST_SECONDS, EDGE_SECONDS = 0.08, 0.015
# seconds beyond its end for which a note's own partials must sound on for it to be told apart from ringing off; ours
SURELY_ON = 0.06


@dataclass(frozen=True, slots=True)
class SoundRead:
    """What some sound is, taken for an event.

    verdict : MISSED where nothing sounds, or only what rings on from elsewhere.
    heard : the move that sounds it. cents, heard_cents : off the asked pitch, and off that of the heard move.
    pitch : as the pitch curve has it. follows : whether that is the pitch of what was asked.
    reeds : that sound in it; none where they are not known, or say nothing of this verdict.
    is_covered : whether others sound over it, so that it may be played or not.
    """

    verdict: Verdict
    heard: Move | None = None
    cents: float | None = None
    heard_cents: float | None = None
    pitch: PitchMeasure | None = None
    follows: bool = True
    reeds: tuple[ReedHeard, ...] = ()
    is_covered: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What is known of one event.

    placed : where lining up puts it, from where its own partials begin. expected, asked : what it should be.
    wanted_seconds : how long it should be, in the play-through's own tempo. near : moves of the events beside it.
    read : what sounds where it was placed. strikes : seconds at which that is struck again.
    holds_on : whether it is only the sound of the event before, held on.
    slide : where it is slid into or out of through other notes, and was heard.
    rise : when it begins to come up, and when it has, where that takes longer than a reed does.
    rings_share : for how much of the time to the next event it sounds, where it could be held until then.
    is_swallowed : whether it does so as the first note, out of silence: then nobody knows when it began.
    """

    placed: PlacedEvent
    expected: Expected
    asked: RouteEvent
    wanted_seconds: float
    near: tuple[Move, ...]
    read: SoundRead
    strikes: tuple[float, ...] = ()
    holds_on: bool = False
    slide: SlideHeard | None = None
    rise: tuple[float, float] | None = None
    is_swallowed: bool = False
    rings_share: float | None = None

    @property
    def risen_seconds(self) -> float:
        """When it has come up, if that takes longer than a reed does; else before all."""
        return -np.inf if self.rise is None else self.rise[1]


@dataclass(frozen=True, slots=True, eq=False)
class PlayEvidence:
    """What is known of a play-through.

    score : with the tuning of the player's own harp. events : one for each event of `play`.
    usual_db : median of the events' loudest levels. notes : those heard between its start and its end.
    """

    lined_up: LinedUp
    score: Score
    play: PlayThrough
    events: tuple[Evidence, ...]
    usual_db: float
    notes: tuple[HeardNote, ...]


def natural_midi(score: Score, move: Move) -> float:
    """The pitch of a move's hole without any alteration, MIDI number with its fraction."""
    sound = sound_of(score.harp, Move(move.holes, move.breath))
    return sound.midi[0] + (sound.cents[0] + score.tuned_cents) / 100.0


def _off_cents(score: Score, expected: Expected, midi: float) -> float:
    """Cents off the nearest asked pitch; a dip is on it anywhere between its natural note and its limit."""
    if not expected.move.is_dip:
        return 100.0 * min((midi - asked for asked in expected.midi), key=abs)
    sound = sound_of(score.harp, expected.move)
    limit = sound.midi[0] + ((sound.limit_cents or 0.0) + score.tuned_cents) / 100.0
    low, high = sorted((limit, natural_midi(score, expected.move)))
    return 100.0 * (midi - min(max(midi, low), high))


def _is_another(off: float, expected: Expected, heard: HeardMove) -> bool:
    if abs(off) <= MAYBE_ANOTHER or heard.move == expected.move:
        return False
    if len(expected.move.holes) > 1:
        # several reeds at once: only a pitch far from all of them speaks against it
        return abs(off) >= 2 * SURELY_ANOTHER
    return abs(off) >= SURELY_ANOTHER or abs(heard.cents) <= ANOTHER_NEAR


def _level_db(curve: PitchCurve, start_seconds: float, end_seconds: float) -> float:
    return float(curve.span(start_seconds, end_seconds).energy.max(initial=-120.0))


def _sounding_seconds(
    curve: PitchCurve, expected: Expected, start_seconds: float, end_seconds: float, *, is_short: bool
) -> float:
    """For how long something sounds between two times; of a short event, what was taken from its end counts too."""
    frames = np.count_nonzero(curve.span(start_seconds, end_seconds).voiced)
    if is_short:
        after = curve.span(end_seconds, end_seconds + VOICED_LATE_SECONDS)
        own = np.min([np.abs(after.midi - midi) for midi in expected.midi], axis=0) < SAME
        frames += np.count_nonzero(own & after.voiced)
    return HOP_SECONDS * float(frames)


def read_sound(
    about: Evidence, lined_up: LinedUp, score: Score, usual_db: float, start_seconds: float, end_seconds: float
) -> SoundRead:
    """What sounds between two times, taken for an event, by the pitch that stands out.

    score : with the tuning of the player's own harp. usual_db : median of the events' loudest levels.
    """
    curve, expected = lined_up.hearing.curve, about.expected
    least = min(LEAST_SECONDS, LEAST_SHARE * about.wanted_seconds)
    sounding = _sounding_seconds(curve, expected, start_seconds, end_seconds, is_short=least < LEAST_SECONDS)
    pitch = measure_pitch(curve, start_seconds, end_seconds) if sounding >= least else None
    if pitch is None:
        return SoundRead(Verdict.MISSED)
    off = _off_cents(score, expected, pitch.midi)
    heard = HeardMove(expected.move, off)
    if abs(off) > MAYBE_ANOTHER:
        near = (expected.move, *about.near)
        heard = heard_move(score.harp, pitch.midi - score.tuned_cents / 100.0, near=near)
    if _is_another(off, expected, heard):
        begins = any(abs(note.start_seconds - start_seconds) < BEGINS_SECONDS for note in lined_up.hearing.notes)
        is_single = len(expected.move.holes) == 1  # of several holes, the reeds tell more than the pitch
        is_harp = not is_single or is_within_reach(score.harp, pitch.midi - score.tuned_cents / 100.0)
        if not (begins and is_harp) or _level_db(curve, start_seconds, end_seconds) < usual_db - ECHO_DB:
            return SoundRead(Verdict.MISSED)
        return SoundRead(Verdict.ANOTHER, heard.move, off, heard.cents, pitch, follows=False)
    cents = None if len(expected.move.holes) > 1 and abs(off) > OF_A_CHORD else off
    return SoundRead(Verdict.PLAYED, expected.move, cents, cents, pitch)


def _single_with_reeds(read: SoundRead, move: Move, reeds: tuple[ReedHeard, ...]) -> SoundRead:
    """A single note whose own reed sounds is played, though the hole beside may be louder."""
    own = reeds[0]
    if own.state is not ReedState.SOUNDS:
        return read
    if read.verdict is Verdict.ANOTHER:
        is_beside = read.heard is not None and read.heard.holes[0] in holes_heard(reeds).too_many
        if not is_beside or (own.level_db or 0.0) < OWN_DB:
            return read
        return replace(read, verdict=Verdict.PLAYED, heard=move, cents=own.cents, heard_cents=own.cents, reeds=reeds)
    return replace(read, reeds=reeds)


def _several_with_reeds(read: SoundRead, move: Move, reeds: tuple[ReedHeard, ...]) -> SoundRead:
    """Several holes are told by their reeds; by the pitch that stands out only where none of them is heard."""
    read = replace(read, reeds=reeds)
    if all(reed.state is ReedState.SILENT for reed in reeds if reed.asked):
        beside = tuple(reed.hole for reed in reeds if not reed.asked and reed.state is ReedState.SOUNDS)
        if read.verdict is Verdict.ANOTHER or not beside:
            return read
        heard = Move(beside, move.breath, embouchure=move.embouchure)
        return replace(read, verdict=Verdict.ANOTHER, heard=heard, cents=None, heard_cents=None)
    # the reed furthest off its pitch, those left out that share theirs with another
    told = [one.cents for one in reeds if one.asked and one.cents is not None and one.level_db is not None]
    cents = max(told, key=abs, default=None)
    return replace(read, verdict=Verdict.PLAYED, heard=move, cents=cents, heard_cents=cents)


def _with_reeds(read: SoundRead, move: Move, reeds: Sequence[ReedHeard], tuned_cents: float) -> SoundRead:
    if read.verdict is Verdict.MISSED or not reeds:
        return read
    own = tuple(moved(reed, -tuned_cents) for reed in reeds)
    return (_single_with_reeds if len(move.holes) == 1 else _several_with_reeds)(read, move, own)


def _usual_own_db(placed: Sequence[PlacedEvent], levels: Mapping[int, OwnLevel]) -> float:
    """How loud the own partials of a play-through's events are, decibels."""
    known = [
        usual_level(levels[one.event], one.start_seconds, one.end_seconds)
        for one in placed
        if one.played and one.event in levels
    ]
    return float(np.median(known)) if known else 0.0


def _uncovered(one: PlacedEvent, expected: Expected, level: OwnLevel | None, usual_db: float) -> PlacedEvent:
    """A short note that others cover, so that nothing was heard for it: where it was due, if its partials sound."""
    seconds = one.pace * (expected.end_seconds - expected.start_seconds)
    start, end = one.due_seconds, one.due_seconds + seconds
    if level is None or seconds > COVERED_SECONDS or not is_up(level, start, end, usual_db):
        return one
    return replace(one, played=True, start_seconds=start, end_seconds=end)


def _unless_others(
    read: SoundRead,
    about: Evidence,
    reeds: Sequence[ReedHeard],
    level: OwnLevel | None,
    span: SlideHeard,
    usual_db: float,
) -> SoundRead:
    """A single note over others' playing, which may sound itself though they seem to sound in its place.

    By its own partials and its own reed; by the partials alone where it was too short for its reeds to be told.
    """
    move = about.expected.move
    if read.verdict is Verdict.PLAYED or len(move.holes) > 1:
        return read
    if level is None or not is_up(level, span.arrives_seconds, span.leaves_seconds, usual_db):
        return read
    own = next((reed for reed in reeds if reed.asked), None)
    if own is None:
        sounds = about.wanted_seconds <= COVERED_SECONDS
    else:
        sounds = own.state is ReedState.SOUNDS and (own.level_db or 0.0) >= OWN_DB
    return SoundRead(Verdict.PLAYED, move, is_covered=True) if sounds else read


def _unless_theirs(
    read: SoundRead, level: OwnLevel | None, placed: PlacedEvent, usual_db: float, company: Company
) -> SoundRead:
    """Another note, unless others may sound it, being no louder than they are: then it is none of the player's.

    level : of its partials. usual_db : how loud those of the player's notes are.
    """
    if read.verdict is not Verdict.ANOTHER or level is None:
        return read
    beside = usual_level(level, placed.start_seconds, placed.end_seconds) - usual_db
    return SoundRead(Verdict.MISSED) if company.may_stand_for(beside) else read


def _is_after_a_rest(curve: PitchCurve, note: HeardNote) -> bool:
    """Whether nothing sounds right before a note."""
    before = curve.span(note.start_seconds - REST_SECONDS, note.start_seconds - EDGE_SECONDS)
    return len(before) > 0 and not before.voiced.any()


def _struck_again(about: Evidence, lined_up: LinedUp, level: OwnLevel | None, waver: Waver) -> tuple[float, ...]:
    """Seconds at which an event's sound is struck again: by the sound of the whole, and by its own partials."""
    hearing, placed = lined_up.hearing, about.placed
    is_single, choice = len(about.expected.move.holes) == 1, about.asked.choice
    first, last = placed.start_seconds + AFTER_START, placed.end_seconds - LASTS
    if about.slide is not None:  # what is struck on the way is asked for
        first, last = about.slide.arrives_seconds + AFTER_START, about.slide.leaves_seconds - LASTS
    first = max(first, about.risen_seconds)
    strikes = hearing.strikes if is_single else hearing.hard_strikes
    rested = [
        note.start_seconds
        for note in hearing.notes
        if first < note.start_seconds < last and _is_after_a_rest(hearing.curve, note)
    ]
    inside = sorted([*strikes[(strikes > first) & (strikes < last)].tolist(), *rested])
    found = [at for before, at in pairwise([-np.inf, *inside]) if at - before > AFTER_START]
    if level is None or about.read.verdict is not Verdict.PLAYED:
        return tuple(found)
    swing = swing_db(level, first, last)
    found = [at for at in found if begins_anew(level, at, placed.end_seconds, swing=swing)]
    if is_single and not (choice.attack_semitones or choice.fall_semitones or about.slide):
        after = AFTER_SLIDE if about.expected.move.alteration is Alteration.BEND else AFTER_START
        begins = max(placed.start_seconds + after, about.risen_seconds)
        own = second_starts(level, begins, placed.end_seconds, swing=swing)
        found += [at for at in own if at < last and all(abs(at - other) > AFTER_START for other in found)]
    return tuple(waver.without_its_dips(sorted(found), level, placed.start_seconds + AFTER_START, placed.end_seconds))


def _without_others(
    strikes: tuple[float, ...], level: OwnLevel, placed: PlacedEvent, company: Company
) -> tuple[float, ...]:
    """The strikes that others' tones of the same pitch do not account for, once the event has ended."""
    if not strikes or not company.is_heard:
        return strikes
    usual = usual_level(level, placed.start_seconds, strikes[0])
    swing = swing_db(level, placed.start_seconds + AFTER_START, placed.end_seconds - LASTS)
    found = []
    for at, until in zip(strikes, (*strikes[1:], placed.end_seconds), strict=True):
        has_ended = bool((level.between(at - ENDED_SECONDS, at - EDGE_SECONDS) < usual - BEGUN_DB).all())
        beside = usual_level(level, at, until) - usual
        filled = is_filled(level, at, until, swing=swing)
        if beside > -BEGUN_DB and not filled and not (has_ended and company.may_sound(beside)):
            found.append(at)
    return tuple(found)


def _waver_of(placed: Sequence[PlacedEvent], levels: Mapping[int, OwnLevel]) -> Waver:
    """The vibrato of a play-through, from what is held of its events."""
    return waver_of(
        (levels[one.event], one.start_seconds + AFTER_START, one.end_seconds - EDGE_SECONDS)
        for one in placed
        if one.played and one.event in levels
    )


def _holds_on(one: Evidence, before: Evidence, levels: Mapping[int, OwnLevel], score: Score) -> bool:
    """Whether the sound of an event is that of the one before, held on: the same pitch, which does not begin anew."""
    if not one.placed.played or not before.placed.played:
        return False
    start, level = one.placed.start_seconds, levels.get(one.placed.event)
    if before.expected.midi == one.expected.midi:
        since = before.placed.start_seconds
        return not begins_anew(level, start, one.placed.end_seconds, since_seconds=since)
    if one.read.verdict is not Verdict.ANOTHER or before.read.verdict is not Verdict.PLAYED or not one.read.heard:
        return False
    joined = start - before.placed.end_seconds < AFTER_START
    same = sounding_midi(score.harp, one.read.heard) == sounding_midi(score.harp, before.expected.move)
    return joined and same and not begins_anew(levels.get(before.placed.event), start, start + AFTER_START)


def _under_ringing(one: Evidence, ringing: Sequence[tuple[float, float]]) -> Evidence:
    """The event, which nobody can judge where something rings over it: neither whether it is played, nor how."""
    placed = one.placed
    start = placed.start_seconds if placed.played else placed.due_seconds
    end = placed.end_seconds if placed.played else start + one.wanted_seconds
    # its beginning is not heard where that was due under it
    is_begun = any(
        first < placed.due_seconds < last and start - placed.due_seconds > OFF_SECONDS for first, last in ringing
    )
    if not is_begun and not is_over(ringing, start, end):
        return one
    placed = replace(placed, played=True, start_seconds=start, end_seconds=end)
    return replace(
        one,
        placed=placed,
        read=SoundRead(Verdict.PLAYED, one.expected.move, is_covered=True),
        strikes=(),
        holds_on=False,
    )


def _begun_anew(one: Evidence) -> Evidence:
    """The event from where its own partials begin anew, if what was taken for its start is another's strike while the
    note before it, of the same pitch, is held on.
    """
    if not one.holds_on or not one.strikes or one.strikes[0] > one.placed.start_seconds + LATER_IN_COMPANY:
        return one
    placed = replace(one.placed, start_seconds=one.strikes[0])
    return replace(one, placed=placed, strikes=one.strikes[1:], holds_on=False)


class Preceding(NamedTuple):
    """The event before another: what is expected of it, and the level of its own partials."""

    expected: Expected
    level: OwnLevel | None


def _still_sounds(before: Expected, expected: Expected, curve: PitchCurve, span: tuple[float, float]) -> bool:
    """Whether the pitch between two times is that of the event before, and not an event's own."""
    part = curve.span(*span)
    if not part.voiced.any():
        return False
    midi = middle_of(part.midi[part.voiced])
    near, own = (min(abs(midi - one) for one in asked.midi) for asked in (before, expected))
    return near < SAME <= own


def _end_before(note: HeardNote, expected: Expected) -> float:
    """When a note ends: where its pitch has slid to an event's own and stays there, as in a slur of a semitone.

    The next note is then often parted from it only where something else is struck a little later.
    """
    off = np.min([np.abs(note.contour_midi - midi) for midi in expected.midi], axis=0)
    others = np.flatnonzero(~(off < SAME))
    if not len(others) or others[-1] + 1 == len(off):
        return note.end_seconds
    return min(note.end_seconds, float(note.contour_seconds[others[-1] + 1]))


def _free_from(notes: Sequence[HeardNote], placed: PlacedEvent, expected: Expected, own_seconds: float) -> float:
    """When the note before an event ends; one of its own pitches, if it has several, may only be heard first.

    own_seconds : when its own partials begin: a note of its pitch that begins then is no note before it.
    """
    several = len(expected.midi) > 1
    ends = [
        _end_before(note, expected)
        for note in notes
        if note.end_seconds < placed.start_seconds + EDGE_SECONDS
        and not (
            (several or abs(note.start_seconds - own_seconds) < OFF_SECONDS)
            and min(abs(note.pitch_midi - midi) for midi in expected.midi) < SAME
        )
    ]
    return min(placed.start_seconds, max(ends, default=0.0))


def _pitch_from(
    curve: PitchCurve, placed: PlacedEvent, expected: Expected, level: OwnLevel, before: Expected | None
) -> float:
    """When the pitch of an event has come that is not struck where it was placed: there others are struck."""
    start = placed.start_seconds
    if before is None or begins_anew(level, start, placed.end_seconds):
        return start
    part = curve.span(start - SOONER_IN_COMPANY, start)
    near, own = (
        np.min([np.abs(part.midi - midi) for midi in asked.midi], axis=0) < SAME for asked in (before, expected)
    )
    others = np.flatnonzero(~own | near | ~part.voiced)
    first = int(others[-1]) + 1 if len(others) else 0
    sooner = float(part.seconds[first]) if first < len(part) else start
    return sooner if start - sooner > OFF_SECONDS else start


def _heard_until(
    notes: Sequence[HeardNote], placed: PlacedEvent, before: Expected | None, level: OwnLevel, last_seconds: float
) -> float:
    """When what sounds before an event over others' playing has ended: no note in which its own partials sound."""
    usual, ends = usual_level(level, placed.start_seconds, placed.end_seconds), [0.0]
    for note in notes:
        if note.end_seconds >= last_seconds + EDGE_SECONDS:
            continue
        is_before = before is not None and min(abs(note.pitch_midi - midi) for midi in before.midi) < SAME
        if is_before or not is_up(level, note.start_seconds, note.end_seconds, usual):
            ends.append(note.end_seconds)
    return max(ends)


def _bent_at(curve: PitchCurve, placed: PlacedEvent, expected: Expected, before: Preceding | None) -> float | None:
    """When a reed's pitch goes over from that of the event before to an event's own in one breath: half way.

    That pitch must be held still until it leaves, and not be struck again: who slides into a bend on time leaves it
    at once. None where it is not so; what others play leaps.
    """
    if before is None or before.level is None:
        return None
    moves = before.expected.move, expected.move
    old, new = before.expected.midi[0], expected.midi[0]
    if len(moves[1].holes) > 1 or moves[0].holes != moves[1].holes or moves[0].breath is not moves[1].breath:
        return None
    if abs(old - new) < SAME:
        return None
    sooner = _goes_over(curve.span(placed.start_seconds - BENT_EARLY, placed.start_seconds), old, new, stays=True)
    if sooner is not None and placed.start_seconds - sooner > OFF_SECONDS:
        return sooner
    at = _goes_over(curve.span(placed.start_seconds, placed.end_seconds), old, new)
    return None if at is None or begins_anew(before.level, placed.start_seconds, at) else at


def _goes_over(part: PitchCurve, old: float, new: float, *, stays: bool = False) -> float | None:
    """When a pitch that is held still goes over to another in one breath: half way; None where it leaps or stays.

    stays : whether it must be at the other from then on.
    """
    way = (part.midi - old) / (new - old)  # nothing where no pitch is heard
    crossed, arrived = np.flatnonzero(~(way < 0.5)), np.flatnonzero(way > 1.0 - STILL)
    if not len(crossed) or not len(arrived) or (stays and not (way[crossed[0] :] >= 0.5).all()):
        return None
    held = int(np.argmax(~(np.abs(way) < STILL)))
    if held * HOP_SECONDS < OFF_SECONDS or (arrived[0] - held) * HOP_SECONDS < GLIDES_SECONDS:
        return None
    return float(part.seconds[crossed[0]])


def _placed_over_others(
    curve: PitchCurve,
    notes: Sequence[HeardNote],
    placed: PlacedEvent,
    expected: Expected,
    level: OwnLevel,
    before: Preceding | None,
    own_seconds: float,
    partials_seconds: float,
) -> PlacedEvent:
    """The event, from the moment nearest to when it was due of those at which it may begin while others play.

    own_seconds : when it begins by its own partials. partials_seconds : when these do, later in one that glides.
    """
    bent = _bent_at(curve, placed, expected, before)
    if bent is not None:
        return replace(placed, start_seconds=bent)
    start, asked = own_seconds, None if before is None else before.expected
    ends = None if before is None else before.level
    sounds_until = placed.start_seconds if ends is None else sounds_on(ends, placed.start_seconds)
    is_again = asked is not None and asked.midi == expected.midi  # then its partials are those of the event before
    goes_on = not is_again and sounds_until > placed.start_seconds + SURELY_ON
    if start == placed.start_seconds:
        start = _pitch_from(curve, placed, expected, level, asked)
    elif not goes_on:  # else others may be what was heard of the event before
        start = max(start, _free_from(notes, placed, expected, own_seconds))
        span = start, placed.start_seconds
        if start < placed.start_seconds and asked is not None and _still_sounds(asked, expected, curve, span):
            start = placed.start_seconds
    starts = (start,) if partials_seconds == placed.start_seconds else (start, max(partials_seconds, start))
    if goes_on:
        starts = (*starts, max(start, placed.start_seconds))
        if not begins_anew(level, placed.start_seconds, placed.end_seconds):
            starts = (*starts, min(sounds_until, placed.end_seconds - LEAST_SECONDS))
    since = _heard_until(notes, placed, asked, level, max(starts))
    start = nearest_start(level, starts, placed.end_seconds, since_seconds=since, due_seconds=placed.due_seconds)
    return replace(placed, start_seconds=start)


def _placed(
    curve: PitchCurve,
    notes: Sequence[HeardNote],
    placed: PlacedEvent,
    expected: Expected,
    level: OwnLevel | None,
    before: Preceding | None,
    *,
    company: bool,
) -> PlacedEvent:
    """The event, from where its own partials begin; its notes on the way are looked for later.

    before : the event before it, whose partials may lie on its own: these do not tell that it begins while the pitch
        of that still sounds. company : whether others play too.
    """
    if not placed.played or level is None or expected.lead_in:
        return placed
    is_plain = expected.high - expected.low < SAME
    rises = own_start(level, placed.start_seconds, placed.end_seconds, company=company)
    start = rises if is_plain else min(rises, placed.start_seconds)  # one that glides may begin before they do
    if company:
        return _placed_over_others(curve, notes, placed, expected, level, before, start, rises)
    sooner = start, placed.start_seconds
    asked = None if before is None else before.expected
    if start < placed.start_seconds and asked is not None and _still_sounds(asked, expected, curve, sooner):
        return placed
    return replace(placed, start_seconds=start)


def _held_on_until(
    lined_up: Sequence[PlacedEvent],
    placed: Sequence[PlacedEvent],
    by_index: Mapping[int, Expected],
    levels: Mapping[int, OwnLevel],
) -> list[PlacedEvent]:
    """The events over others' playing, each held on until the next begins where that was put later, if it sounds on.

    lined_up : the events where lining up puts them. placed : from where their own partials begin.
    """
    kept = list(placed)
    for place, (old, one) in enumerate(zip(lined_up[1:], placed[1:], strict=True)):
        before, level = kept[place], levels.get(kept[place].event)
        is_later = before.played and one.played and one.start_seconds > old.start_seconds + OFF_SECONDS
        if not is_later or level is None or abs(old.start_seconds - before.end_seconds) > AFTER_START:
            continue
        until = one.start_seconds
        if by_index[before.event].midi != by_index[one.event].midi:
            until = min(until, sounds_on(level, old.start_seconds))
        kept[place] = replace(before, end_seconds=max(before.end_seconds, until))
    return kept


def _with_glides(lined_up: LinedUp, placed: list[PlacedEvent], score: Score, *, company: bool) -> None:
    """Put events that glide into their pitch to where that begins, those that fall from it to where that ends.

    company : whether others play too: then it begins when it was due, or as near to it as what is heard allows.
    """
    by_index = {expected.index: expected for expected in score.events}
    for place, one in enumerate(placed):
        fall = float(lined_up.route.events[one.event].choice.fall_semitones)
        if not one.played or not fall:
            continue
        after = min((other.start_seconds for other in placed[place + 1 :] if other.played), default=np.inf)
        span = one.end_seconds, max(after, one.end_seconds)
        placed[place] = replace(one, end_seconds=glide_end(lined_up.hearing.curve, by_index[one.event], fall, span))
    for place, one in enumerate(placed):
        glide = float(lined_up.route.events[one.event].choice.attack_semitones)
        if not one.played or not glide:
            continue
        before = max((other.end_seconds for other in placed[:place] if other.played), default=0.0)
        span = before, one.start_seconds
        start = glide_start(lined_up.hearing.curve, lined_up.hearing.notes, by_index[one.event], glide, span)
        if company:
            start = float(np.clip(one.due_seconds, min(before, start), max(start, one.start_seconds)))
        placed[place] = replace(one, start_seconds=start)


def _slides(lined_up: LinedUp, placed: list[PlacedEvent], score: Score) -> dict[int, SlideHeard]:
    """What events are slid through, by their place; they are put from where that begins to where it ends."""
    by_index, found = {expected.index: expected for expected in score.events}, {}
    for place, one in enumerate(placed):
        expected = by_index[one.event]
        if not one.played or not (expected.lead_in or expected.lead_out):
            continue
        before = [other.end_seconds for other in placed[:place] if other.played]
        after = [other.start_seconds for other in placed[place + 1 :] if other.played]
        free = (
            min(before[-1] if before else 0.0, one.start_seconds),
            max(after[0] if after else np.inf, one.end_seconds),
        )
        span = one.start_seconds, one.end_seconds
        slide = found[place] = slide_heard(lined_up.hearing.curve, lined_up.hearing.notes, expected, span, free)
        placed[place] = replace(one, start_seconds=slide.start_seconds, end_seconds=slide.end_seconds)
    return found


def evidence_of(lined_up: LinedUp, score: Score, number: int, again: ReadAgain) -> PlayEvidence:
    """
    What is known of the events of a play-through.

    Parameters
    ----------
    score : with the tuning of the player's own harp. number : of the play-through.
    again : what was heard when the take was read again.
    """
    play, route = lined_up.play_throughs[number], lined_up.route.events
    by_index = {expected.index: expected for expected in score.events}
    levels = {event: level for (which, event), level in again.levels.items() if which == number}
    curve = lined_up.hearing.curve
    befores = [None, *(Preceding(by_index[one.event], levels.get(one.event)) for one in play.events)]
    placed = [
        _placed(
            curve,
            lined_up.hearing.notes,
            one,
            by_index[one.event],
            levels.get(one.event),
            before,
            company=again.company.is_heard,
        )
        for one, before in zip(play.events, befores, strict=False)
    ]
    if again.company.is_heard:
        placed = _held_on_until(play.events, placed, by_index, levels)
    _with_glides(lined_up, placed, score, company=again.company.is_heard)
    slides = _slides(lined_up, placed, score)
    heard = [_level_db(curve, one.start_seconds, one.end_seconds) for one in placed if one.played]
    usual_db = float(np.median(heard)) if heard else 0.0
    waver = _waver_of(placed, levels)
    usual_own_db = _usual_own_db(placed, levels)
    if again.company.is_heard:
        covered = {event: level for (which, event), level in again.covered.items() if which == number}
        placed = [_uncovered(one, by_index[one.event], covered.get(one.event), usual_own_db) for one in placed]
    events: list[Evidence] = []
    for place, one in enumerate(placed):
        expected = by_index[one.event]
        beside = placed[max(0, place - 1) : place] + placed[place + 1 : place + 2]
        near = tuple(by_index[other.event].move for other in beside)
        wanted = (expected.end_seconds - expected.start_seconds) * one.pace
        slide = slides.get(place)
        about = Evidence(one, expected, route[one.event], wanted, near, SoundRead(Verdict.MISSED), slide=slide)
        if one.played:
            own = slide or SlideHeard(one.start_seconds, one.start_seconds, one.end_seconds, one.end_seconds)
            read = read_sound(about, lined_up, score, usual_db, own.arrives_seconds, own.leaves_seconds)
            reeds = again.reeds.get((number, one.event), ())
            read = _with_reeds(read, expected.move, reeds, score.tuned_cents)
            if again.company.is_heard:
                level = levels.get(one.event) or again.covered.get((number, one.event))
                read = _unless_others(read, about, reeds, level, own, usual_own_db)
                other = again.instead.get((number, one.event))
                read = _unless_theirs(read, other, one, usual_own_db, again.company)
            level, rise = levels.get(one.event), None
            # what others play hides how a note comes up that another of the player's goes before
            if level is not None and slide is None and (place == 0 or not again.company.is_heard):
                rise = slow_rise(level, one.start_seconds, one.end_seconds)
            about = replace(about, read=read, rise=rise, is_swallowed=place == 0 and rise is not None)
            holds_on = bool(events) and _holds_on(about, events[-1], levels, score)
            struck = level.smoothed() if level is not None and again.company.is_heard else level
            strikes = _struck_again(about, lined_up, struck, waver)
            if struck is not None:
                strikes = _without_others(strikes, struck, about.placed, again.company)
            about = replace(about, strikes=strikes, holds_on=holds_on)
            if again.company.is_heard:
                about = _begun_anew(about)
        events.append(about)
    notes = tuple(
        note
        for note in lined_up.hearing.notes
        if play.start_seconds <= note.start_seconds < play.end_seconds
        and not any(one.dropped_seconds <= note.start_seconds < one.seconds for one in play.restarts)
    )
    # what others play fills the gaps
    rings = {} if again.company.is_heard else ring_shares(lined_up.route, placed, levels)
    events = [_under_ringing(one, again.ringing) for one in events]
    notes = tuple(one for one in notes if not is_over(again.ringing, one.start_seconds, one.end_seconds))
    known = tuple(replace(one, rings_share=rings.get(one.placed.event)) for one in events)
    return PlayEvidence(lined_up, score, play, known, usual_db, notes)
