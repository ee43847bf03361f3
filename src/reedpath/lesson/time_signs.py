"""Time signs: where in a route the tempo or the metre changes, so that it is told at the note where it happens."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

from reedpath.lesson.ladder import FELT_STEP
from reedpath.phrase import Metre, Phrase, Tempo, metres_of, practice_beat

# beats (quarter notes) between two changes of tempo that are one ritardando or accelerando at most; our choice
GRADUAL_BEATS = Fraction(4)
# smallest unit of a metre that is told where it comes and goes: bars in sixteenths are bars that do not add up; ours
SHORTEST_UNIT = 8
# usual bars that what repeats and pickups cut short makes together, at most; ours
MOST_CUT = 2
# ratio up to which a tempo is that of the beginning again; our choice
SAME_TEMPO = 1.01


class TimeChange(StrEnum):
    """How time changes; the values are keys of the catalogues under "time"."""

    FASTER = "faster"
    SLOWER = "slower"
    SPEEDING = "speeding"  # little by little
    SLOWING = "slowing"
    BACK = "back"  # to the tempo of the beginning
    METRE = "metre"
    ONE_BAR = "one_bar"  # a single bar of another metre


class TimeSign(Struct, frozen=True):
    """One change of tempo or metre.

    change : which.
    event : index of the event at which it is told.
    onset : where it begins, beats.
    bpm : quarter notes a minute from then on, or in the end; 0 where the metre changes.
    metre : in force there.
    """

    change: TimeChange
    event: int
    onset: Fraction
    bpm: float
    metre: Metre


def _gradual_runs(tempos: Sequence[Tempo]) -> Iterator[list[Tempo]]:
    """Changes after the first tempo in runs: several soon after one another, all up or all down, are one."""
    run: list[Tempo] = []
    was_up: bool | None = None
    for before, now in pairwise(tempos):
        if now.bpm == before.bpm:
            continue
        up = now.bpm > before.bpm
        if run and up is was_up and now.onset - run[-1].onset <= GRADUAL_BEATS:
            run.append(now)
        else:
            if run:
                yield run
            run = [now]
        was_up = up
    if run:
        yield run


def _change_of(run: Sequence[Tempo], told: float, begins: float) -> TimeChange:
    if len(run) > 1:
        return TimeChange.SPEEDING if run[-1].bpm > told else TimeChange.SLOWING
    if max(run[-1].bpm / begins, begins / run[-1].bpm) <= SAME_TEMPO:
        return TimeChange.BACK
    return TimeChange.FASTER if run[-1].bpm > told else TimeChange.SLOWER


def _event_at(phrase: Phrase, onset: Fraction, *, sounding: bool) -> int | None:
    """The event at which a change is told: the first from it on, or the one that sounds; None after the last."""
    onsets = [event.onset for event in phrase.events]
    if not onsets or onset >= phrase.end:
        return None
    if sounding:
        return max(0, bisect_right(onsets, onset) - 1)
    return min(bisect_left(onsets, onset), len(onsets) - 1)


def _tempo_signs(phrase: Phrase, metres: Sequence[Metre]) -> Iterator[TimeSign]:
    first = phrase.events[0].onset
    tempos = sorted(phrase.tempos, key=lambda tempo: tempo.onset)
    # of several before the first note only the last is heard
    later = bisect_right([tempo.onset for tempo in tempos], first)
    tempos = tempos[max(0, later - 1) :]
    told = begins = tempos[0].bpm if tempos else 0.0
    for run in _gradual_runs(tempos):
        onset, bpm = run[0].onset, run[-1].bpm
        if max(bpm / told, told / bpm) < FELT_STEP:
            continue
        event = _event_at(phrase, onset, sounding=len(run) > 1)
        if event is not None:
            metre = next(one for one in reversed(metres) if one.onset <= onset or one is metres[0])
            yield TimeSign(_change_of(run, told, begins), event, onset, bpm, metre)
        told = bpm


def _alike(one: Metre, other: Metre) -> bool:
    return one.signature == other.signature


def _passing(odd: Sequence[Metre], back: Metre, usual: Metre) -> list[tuple[TimeChange, Metre]] | None:
    """What is told of metres between which and the usual one again there is little: a bar of its own, or nothing.

    Nothing of bars that a repeat or a pickup cuts short; None where the metre changes for longer.
    """
    length = back.onset - odd[0].onset
    if len(odd) == 1 and odd[0].unit <= SHORTEST_UNIT and length == odd[0].bar:
        return [] if length in (usual.bar, practice_beat(odd[0])) else [(TimeChange.ONE_BAR, odd[0])]
    cut = odd[0].unit > SHORTEST_UNIT or length <= len(odd) * usual.bar
    return [] if cut and length <= MOST_CUT * usual.bar else None


def _changes_of_metre(metres: Sequence[Metre]) -> Iterator[tuple[TimeChange, Metre]]:
    """The changes that are told."""
    usual, place = metres[0], 1
    while place < len(metres):
        now = metres[place]
        back = next((at for at in range(place, len(metres)) if _alike(metres[at], usual)), len(metres))
        passing = _passing(metres[place:back], metres[back], usual) if place < back < len(metres) else None
        if passing is not None:
            yield from passing
            place = back
        elif back != place:
            usual = now
            yield TimeChange.METRE, now
        place += 1


def _metre_signs(phrase: Phrase, metres: Sequence[Metre]) -> Iterator[TimeSign]:
    first = phrase.events[0].onset
    begins = max(place for place, metre in enumerate(metres) if metre.onset <= first or place == 0)
    for change, metre in _changes_of_metre(metres[begins:]):
        event = _event_at(phrase, metre.onset, sounding=False)
        if event is not None:
            yield TimeSign(change, event, metre.onset, 0.0, metre)


def time_signs(phrase: Phrase) -> tuple[TimeSign, ...]:
    """The changes of tempo and metre in a phrase that a player has to be told of, in order.

    A tempo that differs by less than is felt is not told; steps of tempo that follow one another closely are one
    ritardando or accelerando.
    """
    if not phrase.events:
        return ()
    metres = metres_of(phrase)
    signs = [*_metre_signs(phrase, metres), *_tempo_signs(phrase, metres)]
    return tuple(sorted(signs, key=lambda sign: (sign.event, sign.onset)))
