"""Footage as it was heard: what is played, talked and neither in each film, stretch by stretch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING, TypeGuard

import numpy as np

from reedpath.film.film_cut import CutKind
from reedpath.harp import Alteration
from reedpath.hear import HOP_SECONDS, SHORTEST_VOICE, SoundCourse, runs_of

if TYPE_CHECKING:
    from reedpath.listen import HarpHeard, PlayAnswer, PlayThrough

# seconds: talk that is shorter, and in which no voice is heard, is a knock or a breath; silence inside talk that is
# longer parts it; ours
SHORTEST_TALK, LONGEST_PAUSE = 0.35, 1.6
# seconds within which a tone beside a play-through is its note's beginning or end, and by which it may go on; ours
NOTES_OWN, LONGEST_DECAY = 0.15, 1.2
# seconds: talk, and notes that are not the lesson's, are one stretch with pauses up to this; shorter is nothing;
# ours
OTHER_PAUSE, SHORTEST_OTHER = 0.5, 0.08
# seconds: a tone that follows talk, or that talk follows, within this, and is no longer than that, is a vowel that
# is held: nobody takes a harp to the mouth so fast, and talks on; longer where talk is on both sides; ours
AT_ONCE, LONGEST_VOWEL, LONGEST_IN_TALK = 0.15, 0.8, 2.0
# share of a tone beside talk in which a voice's period must be heard for it to be talk; ours
VOICED_SHARE = 0.4
# notes from which it is told whether they are sung, and cents by which the pitch wanders in most of them at least:
# recorded reeds wander by 1 to 3, a voice that was made for it by 8, breath that is unsteady by 4 to 7
FEWEST_SUNG, SUNG_UNSTEADY = 4, 6.0
# share of the notes that have vibrato, and cents by which they lie off from note to note; and by how far without it.
# Players have vibrato on long notes alone, and a reed lies where it was tuned; ours
SUNG_VIBRATO, SUNG_OFF, SUNG_FAR_OFF = 0.85, 4.0, 18.0
# windows over which a level is taken where the quietest moment is looked for
QUIET_WINDOWS = 5


@dataclass(frozen=True, slots=True, eq=False)
class FoundPlay:
    """A play-through that was found in footage, judged as a student's is.

    right : share of its events in which nothing is wrong. wrong : indexes of those in which something is.
    worth : how much of it is right: half of it those events, half all of them, each less the weight of what is wrong
        in it; less those that had to be played again.
    only_begun : whether it is told by its first notes alone.
    harp_heard : another harp or octave than the lesson's, None for the lesson's own.
    counted_from : when somebody begins to count it in, seconds; None where nobody does.
    is_sung : whether it is a voice that sings it.
    """

    play: PlayThrough
    right: float
    worth: float
    only_begun: bool = False
    harp_heard: HarpHeard | None = None
    wrong: tuple[int, ...] = ()
    counted_from: float | None = None
    is_sung: bool = False

    @property
    def start_seconds(self) -> float:
        """When it begins, with the beats that are counted before it."""
        return self.play.start_seconds if self.counted_from is None else self.counted_from

    @property
    def events(self) -> int:
        """How many events were tried."""
        return self.play.last - self.play.first + 1


def found_play(answer: PlayAnswer, harp_heard: HarpHeard | None = None) -> FoundPlay:
    """A play-through with what its answer says of it, and the harp that it is heard on."""
    again = sum(max(0, one.after - one.back_to + 1) for one in answer.play.restarts)
    weighed = sum(1.0 - min(1.0, sum(fault.weight for fault in one.faults)) for one in answer.heard_events)
    wrong = tuple(one.event for one in answer.heard_events if not one.is_right)
    worth = (answer.right + weighed) / 2 - again
    return FoundPlay(
        answer.play, answer.right_share, worth, harp_heard=harp_heard, wrong=wrong, is_sung=_is_sung(answer)
    )


def _is_sung(answer: PlayAnswer) -> bool:
    """Whether a voice sings it: hardly a note stands still, nearly all have vibrato, and they are off, or far off.

    Notes that are bent, or of several holes, say nothing.
    """
    notes = [
        (one.unsteady_cents, one.heard_cents, one.vibrato is not None)
        for one in answer.heard_events
        if one.unsteady_cents is not None and one.heard_cents is not None
        and one.move.alteration is Alteration.NATURAL and len(one.move.holes) == 1
    ]  # fmt: skip
    if len(notes) < FEWEST_SUNG or median(one[0] for one in notes) < SUNG_UNSTEADY:
        return False
    middle = median(one[1] for one in notes)
    off = median(abs(one[1] - middle) for one in notes)
    has_vibrato = sum(one[2] for one in notes) >= SUNG_VIBRATO * len(notes)
    return off >= (SUNG_OFF if has_vibrato else SUNG_FAR_OFF)


@dataclass(frozen=True, slots=True)
class SingleNote:
    """A note by itself that is no play-through: when it begins, and its MIDI number."""

    start_seconds: float
    midi: int


@dataclass(frozen=True, slots=True, eq=False)
class Footage:
    """A film as it was taken.

    name : of its file. seconds : its length. frame_rate : pictures a second.
    plays : its play-throughs, in order.
    course : what sounds when.
    spans : the stretches of it that are gone through; another camera, that hears better, has the others.
    has_pictures : whether it is a film, and not sound alone.
    single_notes : notes by themselves, in order.
    """

    name: str
    seconds: float
    frame_rate: float
    plays: Sequence[FoundPlay]
    course: SoundCourse
    spans: Sequence[tuple[float, float]]
    has_pictures: bool = True
    single_notes: Sequence[SingleNote] = ()


@dataclass(frozen=True, slots=True)
class Sounding:
    """A stretch that sounds; ``play`` is the place of its play-through among those of its film."""

    kind: CutKind
    start_seconds: float
    end_seconds: float
    play: int | None = None
    sounds_seconds: float = 0.0
    voiced_seconds: float = 0.0


def _runs(course: SoundCourse) -> list[Sounding]:
    """Every stretch of talk and of tone, in order, a pause between any two."""
    runs = [
        Sounding(
            kind,
            first * HOP_SECONDS,
            stop * HOP_SECONDS,
            None,
            (stop - first) * HOP_SECONDS,
            course.voiced_seconds(first, stop),
        )
        for kind, flags in ((CutKind.TALK, course.talk), (CutKind.NEITHER, course.tone))
        for first, stop in runs_of(flags)
    ]
    return sorted(runs, key=lambda one: one.start_seconds)


def _with_own_tones(plays: list[Sounding], runs: Sequence[Sounding]) -> tuple[list[Sounding], list[Sounding]]:
    """Play-throughs from where their first tone begins to where their last one ends, and what is outside them."""
    left: list[Sounding] = []
    for run in runs:
        own = None
        for place, play in enumerate(plays):
            first, last = play.start_seconds - NOTES_OWN, play.end_seconds + NOTES_OWN
            if run.end_seconds > first and run.start_seconds < last:
                own = place
                break
        if own is None:
            left.append(run)
            continue
        play = plays[own]
        if run.kind is CutKind.TALK and not (
            run.start_seconds >= play.start_seconds and run.end_seconds <= play.end_seconds
        ):
            left += _outside(run, play)
            continue
        start = max(run.start_seconds, play.start_seconds - LONGEST_DECAY)
        end = min(run.end_seconds, play.end_seconds + LONGEST_DECAY)
        plays[own] = replace(
            play, start_seconds=min(start, play.start_seconds), end_seconds=max(end, play.end_seconds)
        )
    return plays, left


def _outside(run: Sounding, play: Sounding) -> Iterator[Sounding]:
    """What of a run lies before a play-through, and after it."""
    if run.start_seconds < play.start_seconds:
        yield replace(run, end_seconds=min(run.end_seconds, play.start_seconds))
    if run.end_seconds > play.end_seconds:
        yield replace(run, start_seconds=max(run.start_seconds, play.end_seconds))


def _with_held_vowels(runs: Sequence[Sounding]) -> list[Sounding]:
    """Runs, those that stand as a reed does and have talk before or after them at once as talk, and those beside talk
    in which a voice is heard.
    """
    found = list(runs)
    for place, run in enumerate(runs):
        if run.kind is not CutKind.NEITHER:
            continue
        before = runs[place - 1] if place else None
        after = runs[place + 1] if place + 1 < len(runs) else None
        follows = _is_talk(before) and run.start_seconds - before.end_seconds <= AT_ONCE
        is_followed = _is_talk(after) and after.start_seconds - run.end_seconds <= AT_ONCE
        if run.voiced_seconds >= VOICED_SHARE * run.sounds_seconds and any(
            _is_talk(one) and _gap(run, one) <= OTHER_PAUSE for one in (before, after)
        ):
            found[place] = replace(run, kind=CutKind.TALK)
            continue
        longest = LONGEST_IN_TALK if follows and is_followed else LONGEST_VOWEL if follows or is_followed else 0.0
        if run.end_seconds - run.start_seconds <= longest:
            found[place] = replace(run, kind=CutKind.TALK)
    return found


def _gap(run: Sounding, other: Sounding) -> float:
    """Seconds between two."""
    return max(run.start_seconds - other.end_seconds, other.start_seconds - run.end_seconds)


def _is_talk(one: Sounding | None) -> TypeGuard[Sounding]:
    return one is not None and one.kind is CutKind.TALK


def _joined(runs: Sequence[Sounding]) -> Iterator[Sounding]:
    """Stretches of talk, and of other tones, that follow each other at once, as one."""
    last: Sounding | None = None
    for run in runs:
        alike = last is not None and last.kind is run.kind and run.kind is not CutKind.PLAY
        if last is not None and alike and run.start_seconds - last.end_seconds <= OTHER_PAUSE:
            last = replace(
                last,
                end_seconds=max(last.end_seconds, run.end_seconds),
                sounds_seconds=last.sounds_seconds + run.sounds_seconds,
                voiced_seconds=last.voiced_seconds + run.voiced_seconds,
            )
            continue
        if last is not None:
            yield last
        last = run
    if last is not None:
        yield last


def _told(runs: Sequence[Sounding]) -> list[Sounding]:
    """Talk with its pauses in it as one stretch; what is too short for talk and no voice is a knock."""
    found: list[Sounding] = []
    for run in runs:
        is_voice = run.sounds_seconds >= SHORTEST_TALK or run.voiced_seconds >= SHORTEST_VOICE
        is_talk = run.kind is CutKind.TALK and is_voice
        if run.kind is CutKind.TALK and not is_talk:
            run = replace(run, kind=CutKind.NEITHER)
        last = next((one for one in reversed(found) if not _is_knock(one)), None)
        goes_on = is_talk and last is not None and last.kind is CutKind.TALK
        if goes_on and last is not None and run.start_seconds - last.end_seconds <= LONGEST_PAUSE:
            while found[-1] is not last:
                found.pop()
            found[-1] = replace(last, end_seconds=run.end_seconds)
        else:
            found.append(run)
    return found


def _is_knock(one: Sounding) -> bool:
    return one.kind is CutKind.NEITHER and one.end_seconds - one.start_seconds < SHORTEST_TALK


def soundings_of(footage: Footage, span: tuple[float, float]) -> list[Sounding]:
    """What sounds between two moments of a film, in order, a pause between any two."""
    plays = [
        Sounding(CutKind.PLAY, one.start_seconds, one.play.end_seconds, place)
        for place, one in enumerate(footage.plays)
        if span[0] <= one.play.start_seconds < span[1]
    ]
    runs = [one for one in _runs(footage.course) if one.end_seconds > span[0] and one.start_seconds < span[1]]
    plays, left = _with_own_tones(plays, runs)
    # play-throughs part what lies between them, so that talk on either side of one is never joined
    left = _with_held_vowels(left)
    found = _told(list(_joined(sorted([*plays, *left], key=lambda one: one.start_seconds))))
    shortest = {CutKind.NEITHER: SHORTEST_OTHER}
    return [one for one in found if one.end_seconds - one.start_seconds >= shortest.get(one.kind, 0.0)]


def quietest_moment(course: SoundCourse, start: float, end: float) -> float:
    """The moment between two at which least is heard."""
    first, stop = round(start / HOP_SECONDS), round(end / HOP_SECONDS) + 1
    level = course.level_db[max(0, first) : stop]
    if len(level) < 2:
        return (start + end) / 2
    smooth = np.convolve(np.pad(level, QUIET_WINDOWS // 2, mode="edge"), np.ones(QUIET_WINDOWS), mode="valid")
    return min(end, max(start, (max(0, first) + int(smooth.argmin())) * HOP_SECONDS))
