"""Answering: from a take lined up with its route to the answer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import median

from reedpath.arrange import Route
from reedpath.harp import Alteration
from reedpath.hear import Condition, SourceTally, condition_of, observe
from reedpath.listen.advice import failed_spots, practise_of
from reedpath.listen.align import line_up
from reedpath.listen.answer import Answer, EventAnswer, Extra, Fault, FaultKind, Notice, PlayAnswer, Verdict
from reedpath.listen.compare import compare_events, fault_of, with_faults
from reedpath.listen.extras import extras_of, struck_once
from reedpath.listen.own_partials import mended
from reedpath.listen.play_through import LinedUp, PlayThrough
from reedpath.listen.read_again import NOT_READ_AGAIN, ReadAgain, read_again
from reedpath.listen.reed_faults import with_reeds, without_leaks
from reedpath.listen.substitutions import held_over, in_its_place, put_back
from reedpath.listen.tempo_and_breath import breath_of_play, tempo_of_play
from reedpath.signal.samples import Samples

__all__ = ["answer_of", "answer_take", "notices_of"]

# times the length of a note too many by which the next may be late for it
LATE_FOR_EXTRA = 1.4
# cents from which a harp is said to be tuned otherwise (a reference of 443 Hz is 12), natural notes that must tell
# so, and their median deviation; common practice, no source
TUNED_CENTS, TUNED_NOTES, TUNED_SPREAD_CENTS = 6.0, 6, 6.0
# weight of going back, and of a pause, against a wrong note; ours
RESTART_WEIGHT, PAUSE_WEIGHT = 0.8, 0.5
# share of full scale under whose peak a recording is told to be soft (-34 dB); from memory
SOFT_PEAK = 0.02
# seconds from which a recording is told to be long
LONG_SECONDS = 20 * 60.0
# share of a recording that must be filled with sure notes for it to be other music rather than noise; from memory
LEAST_MUSIC, SURE = 0.1, 0.7
# faults that take time, so that what follows is later by as much
LOSE_TIME = {FaultKind.EXTRA, FaultKind.RESTART}


def _between_events(play: PlayThrough, extras: Sequence[Extra]) -> dict[int, list[Fault]]:
    """Faults that lie between events, by the event that they are told of."""
    faults: dict[int, list[Fault]] = defaultdict(list)
    for extra in extras:
        faults[extra.after].append(fault_of(FaultKind.EXTRA, extra.end_seconds - extra.start_seconds))
    for restart in play.restarts:
        again = restart.after - restart.back_to + 1
        faults[restart.after].append(Fault(FaultKind.RESTART, float(again), RESTART_WEIGHT))
    for pause in play.pauses:
        # a pause that a note too many or a step back accounts for is told with it
        if not any(kind in LOSE_TIME for kind in _kinds_before(play, faults, pause.before)):
            faults[pause.before].append(Fault(FaultKind.PAUSE, pause.seconds, PAUSE_WEIGHT))
    return faults


def _kinds_before(play: PlayThrough, faults: Mapping[int, Sequence[Fault]], event: int) -> list[FaultKind]:
    before = max((one.event for one in play.events if one.event < event), default=event)
    return [fault.kind for fault in faults.get(before, ())]


def _on_time_after(answers: Sequence[EventAnswer], extras: Sequence[Extra]) -> tuple[EventAnswer, ...]:
    """The events, those not told to be late that only come after a note too many took their time."""
    lost = {extra.after: extra.end_seconds - extra.start_seconds for extra in extras}
    kept = []
    for before, one in zip((None, *answers), answers, strict=False):
        taken = lost.get(before.event, 0.0) if before else 0.0
        if 0.0 < (one.late_seconds or 0.0) < LATE_FOR_EXTRA * taken:
            one = replace(one, faults=tuple(fault for fault in one.faults if fault.kind is not FaultKind.LATE))
        kept.append(one)
    return tuple(kept)


def _overlap(one: Extra, other: Extra) -> bool:
    return one.start_seconds < other.end_seconds and other.start_seconds < one.end_seconds


def _answer_play(lined_up: LinedUp, number: int, again: ReadAgain) -> PlayAnswer:
    levels = {event: level for (play, event), level in again.levels.items() if play == number}
    play = mended(lined_up.play_throughs[number], lined_up.score, lined_up.route.events, levels)
    compared = tuple(
        with_reeds(one, again.reeds.get((number, one.event), ()), tuned_cents=lined_up.score.tuned_cents)
        for one in compare_events(lined_up, play)
    )
    answers, strikes = struck_once(lined_up, held_over(lined_up, play, compared, levels), levels)
    others = [] if again.company else extras_of(lined_up, play, answers)
    others = [one for one in others if not any(_overlap(one, strike) for strike in strikes)]
    extras = sorted([*strikes, *others], key=lambda one: one.start_seconds)
    answers, extras = put_back(lined_up, play, answers, without_leaks(extras, answers))
    answers, extras = in_its_place(lined_up, play, answers, extras)
    answers = _on_time_after(answers, extras)
    between = _between_events(play, extras)
    answers = tuple(with_faults(one, between.get(one.event, ())) for one in answers)
    return PlayAnswer(
        play=play,
        events=answers,
        extras=tuple(extras),
        tempo=tempo_of_play(lined_up, play, answers),
        air=breath_of_play(answers),
        practise=practise_of(answers),
        spots=failed_spots(lined_up.route, answers),
        right_share=sum(not one.faults for one in answers) / len(answers),
    )


def _best(plays: Sequence[PlayAnswer]) -> int | None:
    if not plays:
        return None
    return max(range(len(plays)), key=lambda index: plays[index].right_share * len(plays[index].events))


def _tuned_cents(plays: Sequence[PlayAnswer]) -> float:
    """By how much the player's harp lies over the lesson's: the median of the natural notes, where they agree."""
    off = [
        one.cents
        for play in plays
        for one in play.events
        if one.cents is not None
        and one.verdict is Verdict.PLAYED
        and one.move.alteration is Alteration.NATURAL
        and len(one.move.holes) == 1
    ]
    if len(off) < TUNED_NOTES:
        return 0.0
    middle = median(off)
    agree = median(abs(cents - middle) for cents in off) < TUNED_SPREAD_CENTS
    return middle if agree and abs(middle) > TUNED_CENTS else 0.0


def _of_music(lined_up: LinedUp, condition: Condition) -> list[Notice]:
    """What is to be said where no play-through is found."""
    if lined_up.play_throughs:
        return []
    if not len(lined_up.score):
        return [Notice.NOTHING_ASKED]
    sure = sum(note.duration_seconds for note in lined_up.hearing.notes if note.confidence > SURE)
    music = not condition.without_pitch and sure > LEAST_MUSIC * condition.duration_seconds
    return [Notice.OTHER_MUSIC if music else Notice.NO_PITCH]


def notices_of(lined_up: LinedUp, condition: Condition, *, company: bool = False) -> tuple[Notice, ...]:
    """What is to be said of a recording that is lined up with a route.

    company : whether other instruments are heard in it.
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
    }
    return (*(notice for notice, holds in said.items() if holds), *_of_music(lined_up, condition))


def answer_of(lined_up: LinedUp, condition: Condition, again: ReadAgain = NOT_READ_AGAIN) -> Answer:
    """The answer to a take that is lined up with its route.

    condition : of the recording, as `reedpath.hear.condition_of` gives it.
    again : what `read_again` hears; without it, several holes together are judged by the pitch that stands out, and
        a hole that sounds along is not told.
    """
    numbers = range(len(lined_up.play_throughs))
    plays = tuple(_answer_play(lined_up, number, again) for number in numbers)
    tuned = _tuned_cents(plays)
    if tuned:
        retuned = replace(lined_up, score=lined_up.score.tuned(tuned))
        plays = tuple(_answer_play(retuned, number, again) for number in numbers)
    notices = notices_of(lined_up, condition, company=again.company)
    return Answer(lined_up.route, condition.duration_seconds, plays, _best(plays), tuned, notices)


def answer_take(sound: Samples | Iterable[Samples], route: Route) -> Answer:
    """
    The answer to a take of a route: line it up, and compare.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them. Blocks that can be had only once, from
        an iterator, are not read again (see `answer_of`).
    """
    tally = SourceTally()
    seen = observe(tally.passing(sound))
    lined_up = line_up(seen, route)
    once = isinstance(sound, Iterator)
    again = read_again(lined_up, sound) if lined_up.play_throughs and not once else NOT_READ_AGAIN
    return answer_of(lined_up, condition_of(seen, tally), again)
