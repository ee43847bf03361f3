"""Answering: from a take lined up with its route to the answer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from statistics import median

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import Alteration
from reedpath.hear import Condition, SourceTally, condition_of, heard_sound, observe
from reedpath.listen.advice import OF_THE_WHOLE, detached_in, failed_spots, practise_of, things_of_the_whole
from reedpath.listen.align import lined_up_without
from reedpath.listen.answer import (
    Answer,
    EventAnswer,
    Extra,
    Fault,
    PlayAnswer,
    joined_play,
)
from reedpath.listen.answer_kinds import FaultKind, Notice, Verdict
from reedpath.listen.beat_divisions import SwingGround, swing_grounds
from reedpath.listen.event_sounds import sounds_of
from reedpath.listen.evidence import PlayEvidence, evidence_of
from reedpath.listen.judging import fault_of, judged, late_limit, swaps_of
from reedpath.listen.next_step import next_step_of
from reedpath.listen.other_harps import line_up_on_any_harp
from reedpath.listen.parts_played import parts_played
from reedpath.listen.play_through import LinedUp, PlayThrough, on_harp_of
from reedpath.listen.praise import praise_of
from reedpath.listen.reading_again import NOT_READ_AGAIN, ReadAgain, only_talk, read_again
from reedpath.listen.recording_end import as_recorded, is_cut_short
from reedpath.listen.swing import swing_of_answers
from reedpath.listen.tempo_and_breath import breath_of_play, tempo_of_play
from reedpath.listen.tries import tries_of
from reedpath.signal.samples import Samples

# cents from which a harp is said to be tuned otherwise (a reference of 443 Hz is 12), natural notes that must tell
# so, and their median deviation; common practice, no source
TUNED_CENTS, TUNED_NOTES, TUNED_SPREAD_CENTS = 6.0, 6, 6.0
# share of full scale under whose peak a recording is told to be soft (-34 dB); from memory
SOFT_PEAK = 0.02
# seconds from which a recording is told to be long
LONG_SECONDS = 20 * 60.0
# share of a recording that must be filled with sure notes for it to be other music rather than noise; from memory
LEAST_MUSIC, SURE = 0.1, 0.7
# faults that take time, so that what follows is later by as much
LOSE_TIME = {FaultKind.EXTRA, FaultKind.RESTART}
# times that a take is lined up without what only others play: once or twice, for our own band
TIMES_WITHOUT = 3

# opens a take from its start
Opened = Callable[[], AbstractContextManager[Samples | Iterable[Samples]]]


def _between_events(play: PlayThrough, extras: Sequence[Extra]) -> dict[int, list[Fault]]:
    """Faults that lie between events, by the event that they are told of."""
    faults: dict[int, list[Fault]] = defaultdict(list)
    for extra in extras:
        kind = FaultKind.BEGUN_BEFORE if extra.leads else FaultKind.EXTRA
        faults[extra.after].append(fault_of(kind, extra.end_seconds - extra.start_seconds))
    for restart in play.restarts:
        faults[restart.after].append(fault_of(FaultKind.RESTART, float(restart.after - restart.back_to + 1)))
    left_out = {one.event for one in play.events if not one.played}
    for pause in play.pauses:
        before = max((one.event for one in play.events if one.event < pause.before), default=pause.before)
        # a pause that a note too many or a step back accounts for is told with it, time left out with its notes
        is_leap = pause.seconds < 0 and before in left_out
        if not is_leap and not any(fault.kind in LOSE_TIME for fault in faults.get(before, ())):
            faults[pause.before].append(fault_of(FaultKind.PAUSE, pause.seconds))
    return faults


def _without_short(one: EventAnswer) -> EventAnswer:
    """An event that is not told to be short: the swing that is played makes it so, or all are, and is told itself."""
    return replace(one, faults=tuple(fault for fault in one.faults if fault.kind is not FaultKind.SHORT))


def _answer_play(
    lined_up: LinedUp, known: PlayEvidence, again: ReadAgain, grounds: Sequence[SwingGround]
) -> PlayAnswer:
    sounds, extras = sounds_of(known, company=again.company)
    between, limit = _between_events(known.play, extras), late_limit(known)
    lost = {extra.after: extra.end_seconds - extra.start_seconds for extra in extras if not extra.leads}
    before = [None, *(one.placed.event for one in known.events)]
    swaps = swaps_of(known, sounds)
    answers = tuple(
        judged(
            about,
            sound,
            score=known.score,
            limit_seconds=limit,
            lost_seconds=0.0 if last is None else lost.get(last, 0.0),
            is_cut_short=sound is not None and is_cut_short(lined_up, sound.end_seconds),
            swapped_with=known.events[swaps[place]].placed.event if place in swaps else None,
            after=between.get(about.placed.event, ()),
        )
        for place, (last, about, sound) in enumerate(zip(before, known.events, sounds, strict=False))
    )
    tempo, air = tempo_of_play(lined_up, known.play, answers), breath_of_play(answers)
    swing = swing_of_answers(grounds, answers)
    short = set(() if swing is None else swing.events) | set(detached_in(answers))
    answers = tuple(_without_short(one) if one.event in short else one for one in answers)
    return PlayAnswer(
        play=known.play,
        events=answers,
        extras=tuple(extras),
        tempo=tempo,
        air=air,
        practise=practise_of(answers, whole=things_of_the_whole(answers, tempo, air, swing)),
        spots=failed_spots(lined_up.route, answers),
        right_share=sum(one.is_right for one in answers) / max(1, sum(not one.covered for one in answers)),
        swing=swing,
    )


def _best(plays: Sequence[PlayAnswer]) -> int | None:
    """The play-through with most right; of equal ones that with the right swing and tempo, then the one nearest to
    full tempo, then the first.
    """

    def worth(index: int) -> tuple[int, int, float]:
        play = plays[index]
        whole = sum(thing.kind in OF_THE_WHOLE for thing in play.practise)
        return play.right, -whole, min(play.tempo.factor, 1.0)

    return max(range(len(plays)), key=worth, default=None)


def _tuned_cents(plays: Sequence[PlayEvidence]) -> float:
    """By how much the player's harp lies over the lesson's: the median of the natural notes, where they agree."""
    off = [
        one.read.cents
        for play in plays
        for one in play.events
        if one.read.cents is not None
        and one.read.verdict is Verdict.PLAYED
        and one.expected.move.alteration is Alteration.NATURAL
        and len(one.expected.move.holes) == 1
    ]
    if len(off) < TUNED_NOTES:
        return 0.0
    middle = median(off)
    agree = median(abs(cents - middle) for cents in off) < TUNED_SPREAD_CENTS
    return middle if agree and abs(middle) > TUNED_CENTS else 0.0


def _of_music(lined_up: LinedUp, condition: Condition, *, talk: bool) -> list[Notice]:
    """What is to be said where no play-through is found."""
    if lined_up.play_throughs or lined_up.harp_heard is not None:
        return []
    if not len(lined_up.score):
        return [Notice.NOTHING_ASKED]
    if talk and not condition.without_pitch:  # drums change as speech does
        return [Notice.TALK]
    sure = sum(note.duration_seconds for note in lined_up.hearing.notes if note.confidence > SURE)
    music = not condition.without_pitch and sure > LEAST_MUSIC * condition.duration_seconds
    return [Notice.OTHER_MUSIC if music else Notice.NO_PITCH]


def notices_of(
    lined_up: LinedUp, condition: Condition, *, company: bool = False, talk: bool = False, rings: bool = False
) -> tuple[Notice, ...]:
    """What is to be said of a recording that is lined up with a route.

    company : whether other instruments are heard in it. talk : whether nothing but talk is.
    rings : whether something rings over the playing.
    """
    if not condition.rate or not condition.duration_seconds:
        return (Notice.EMPTY,)
    if condition.silent:
        return (Notice.SILENT,)
    said = {
        Notice.QUIET: condition.peak < SOFT_PEAK,
        Notice.CLIPPED: condition.clipped,
        Notice.NARROW: condition.low_rate,
        Notice.LONG: condition.duration_seconds > LONG_SECONDS,
        Notice.COMPANY: company,
        Notice.RINGS: rings,
        Notice.BROKEN_OFF: condition.broken_off or any(play.cut_off for play in lined_up.play_throughs),
    }
    return (*(notice for notice, holds in said.items() if holds), *_of_music(lined_up, condition, talk=talk))


def answer_of(lined_up: LinedUp, condition: Condition, again: ReadAgain = NOT_READ_AGAIN) -> Answer:
    """The answer to a take that is lined up with its route.

    condition : of the recording, as `reedpath.hear.condition_of` gives it.
    again : what `read_again` hears; without it, several holes together are judged by the pitch that stands out, and
        a hole that sounds along is not told.
    """
    lined_up = as_recorded(lined_up)
    numbers = range(len(lined_up.play_throughs))
    known = [evidence_of(lined_up, lined_up.score, number, again) for number in numbers]
    tuned = _tuned_cents(known)
    if tuned:
        score = lined_up.score.tuned(tuned)
        known = [evidence_of(lined_up, score, number, again) for number in numbers]
    grounds = lined_up.grounds
    if grounds is None:
        grounds = swing_grounds(lined_up.route, lined_up.score) if known else ()
    plays = tuple(_answer_play(lined_up, one, again, grounds) for one in known)
    best = _best(plays)
    by_parts = parts_played(plays, best, lined_up.route, len(lined_up.score))
    # tries of several parts are no tries of one thing
    tries = tries_of(plays, len(lined_up.score)) if by_parts is None else None
    told = None if best is None else plays[best] if by_parts is None else joined_play(plays, by_parts)
    other = lined_up.harp_heard
    return Answer(
        route=lined_up.route if other is None else on_harp_of(lined_up.route, -other.semitones),
        duration_seconds=condition.duration_seconds,
        plays=plays,
        best=best,
        tuned_cents=tuned,
        notices=notices_of(
            lined_up, condition, company=again.company.is_heard, talk=again.only_talk, rings=bool(again.ringing)
        ),
        harp_heard=other,
        praise=None if told is None else praise_of(told, tries),
        next_step=None if told is None else next_step_of(told, lined_up.route, other),
        tries=tries,
        by_parts=by_parts,
    )


def _read(lined_up: LinedUp, opened: Opened) -> ReadAgain:
    with opened() as sound:
        if lined_up.play_throughs:
            return read_again(lined_up, sound)
        return replace(NOT_READ_AGAIN, only_talk=only_talk(sound, lined_up.route.harp))


def lined_up_again(lined_up: LinedUp, opened: Opened) -> tuple[LinedUp, ReadAgain]:
    """
    A take read again; and where others play, lined up without the stretches that are theirs alone, and read again.

    Parameters
    ----------
    opened : the take, whole or in blocks from its start; called once for each reading.
    """
    again = _read(lined_up, opened)
    for _ in range(TIMES_WITHOUT):
        if not again.alone:
            break
        lined_up = lined_up_without(lined_up, again.alone)
        again = _read(lined_up, opened)
    return lined_up, again


def answer_take(sound: Samples | Iterable[Samples], route: Route) -> Answer:
    """
    The answer to a take of a route: line it up, and compare.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them. It is kept as it is heard (64 kilobytes
        a second) until it is answered.
    """
    tally = SourceTally()
    heard = list(heard_sound(tally.passing(sound)))
    seen = observe(heard, low_strings=False)
    lined_up, again = lined_up_again(line_up_on_any_harp(seen, route), lambda: nullcontext(heard))
    return answer_of(lined_up, condition_of(seen, tally), again)
