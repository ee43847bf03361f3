"""What is played in a film: its play-throughs, each judged as a student's is.

Each stretch that is played between talk and pauses is answered as a take of its own, so that a try that was broken
off, and what was said then, are never heard as one with the next. Where a pause alone parts what goes on in time, it
is one play-through with notes that are missing; where one begins again from the start of a part, it is two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

from msgspec.structs import replace

from reedpath.film import FoundPlay, found_play
from reedpath.hear import HOP_SECONDS, HeardNote, SoundCourse, hear_notes, runs_of
from reedpath.jobs.hearing import opened_take
from reedpath.lesson import Lesson, LessonPart
from reedpath.listen import PlacedEvent, PlayAnswer, PlayThrough, answer_take, pitch_prior, score_of
from reedpath.phrase import timing_of
from reedpath.signal import Samples, concatenated

__all__ = ["plays_in_film"]

# seconds: of talk from which it parts what is played, of tone from which a stretch is worth answering, and before and
# after a stretch that are heard with it; ours
PARTING_TALK, LEAST_TONE, BEFORE, AFTER = 0.3, 0.3, 0.4, 0.6
# seconds of a pause that parts what is played, at least and beyond the longest that the lesson asks for; ours
LEAST_PAUSE, OVER_ASKED = 0.9, 0.35
# seconds of a pause over which no play-through goes on, and share by which what follows may come too soon or too late
# to be its rest; ours
LONGEST_PAUSE, OUT_OF_TIME = 6.0, 0.4
# events that must be right in what goes on after a pause; ours
RIGHT_IN_REST = 2.0
# times that a stretch is parted where the player began again; seconds before a note at which it is parted
MOST_PARTINGS, BEFORE_NOTE = 6, 0.05
# notes from which what is played is told to be the beginning of a part, share of them that must be its own, and
# confidence of a note that counts; ours
FEWEST_NOTES, OWN_SHARE, SURE = 3, 0.7, 0.4


def _longest_pause(lesson: Lesson) -> float:
    """Seconds in which nothing may sound inside a play-through: from one onset to the next, played slowly."""
    phrase = lesson.route.phrase
    timing = timing_of(phrase)
    onsets = [timing.seconds_at(one.onset) for one in phrase.events]
    longest = max((after - before for before, after in pairwise(onsets)), default=0.0)
    slowest = min((rung.factor for rung in lesson.ladder), default=1.0)
    return max(LEAST_PAUSE, longest / slowest + OVER_ASKED)


def _stretches(course: SoundCourse, pause: float) -> list[tuple[float, float]]:
    """Where something is played, between talk and long pauses, seconds."""
    talk = [run for run in runs_of(course.talk) if (run[1] - run[0]) * HOP_SECONDS >= PARTING_TALK]
    found: list[list[int]] = []
    for first, stop in runs_of(course.tone):
        last = found[-1] if found else None
        if last is not None and (first - last[1]) * HOP_SECONDS <= pause:
            is_parted = any(last[1] <= one[0] and one[1] <= first for one in talk)
            if not is_parted:
                last[1] = stop
                last[2] += stop - first
                continue
        found.append([first, stop, stop - first])
    return [
        (first * HOP_SECONDS, stop * HOP_SECONDS) for first, stop, tone in found if tone * HOP_SECONDS >= LEAST_TONE
    ]


def _around(stretches: Sequence[tuple[float, float]], course: SoundCourse) -> list[tuple[float, float]]:
    """The stretches with a little before and after them, up to halfway to the next and up to talk."""
    found = []
    for number, (start, end) in enumerate(stretches):
        before = 0.0 if number == 0 else (stretches[number - 1][1] + start) / 2
        after = len(course.level_db) * HOP_SECONDS
        if number + 1 < len(stretches):
            after = (end + stretches[number + 1][0]) / 2
        for first, stop in runs_of(course.talk):
            if stop * HOP_SECONDS <= start:
                before = max(before, stop * HOP_SECONDS)
            elif first * HOP_SECONDS >= end:
                after = min(after, first * HOP_SECONDS)
        found.append((max(0.0, before, start - BEFORE), min(after, end + AFTER)))
    return found


def _sounds_of(blocks: Iterable[Samples], spans: Sequence[tuple[float, float]]) -> Iterator[tuple[float, Samples]]:
    """The sound of each stretch, with where it begins; the blocks are gone through once."""
    left, parts, at = list(spans), [], 0.0
    for block in blocks:
        until = at + block.duration_seconds
        while left and left[0][0] < until:
            start, end = left[0]
            part = block.span(max(0.0, start - at), max(0.0, min(end - at, block.duration_seconds)))
            if part.frames:
                parts.append(part)
            if end > until:
                break
            if parts:
                yield start, concatenated(parts)
            parts = []
            left.pop(0)
        at = until
    if parts:
        yield left[0][0], concatenated(parts)


def _moved(found: FoundPlay, seconds: float) -> FoundPlay:
    """A play-through so much later."""

    def later(one: Any, *names: str) -> Any:
        return replace(one, **{name: getattr(one, name) + seconds for name in names})

    play = found.play
    moved = replace(
        later(play, "start_seconds", "end_seconds"),
        events=tuple(later(one, "start_seconds", "end_seconds", "due_seconds") for one in play.events),
        restarts=tuple(later(one, "dropped_seconds", "seconds") for one in play.restarts),
    )
    return FoundPlay(moved, found.right, found.worth)


def _begun_again(play: PlayAnswer, lesson: Lesson) -> float | None:
    """When the player began again from where a part or the play-through begins, seconds; None for never."""
    firsts = {part.first for part in lesson.parts} | {play.play.first}
    return next((one.seconds for one in play.play.restarts if one.back_to in firsts), None)


def _answered(sound: Samples, lesson: Lesson, left: int = MOST_PARTINGS) -> Iterator[FoundPlay]:
    """The play-throughs of a stretch; where one begins again from the start of a part, they are two."""
    for play in answer_take(sound, lesson.route).plays:
        again = _begun_again(play, lesson) if left else None
        if again is None:
            yield found_play(play)
            continue
        begin, end = max(0.0, play.play.start_seconds - BEFORE), play.play.end_seconds + AFTER
        cut = max(begin, again - BEFORE_NOTE)
        for first, last in ((begin, cut), (cut, min(end, sound.duration_seconds))):
            for one in _answered(sound.span(first, last), lesson, left - 1):
                yield _moved(one, first)


# ------------------------------------------------------------------------------------------- what was only begun


def _begun(sound: Samples, lesson: Lesson) -> FoundPlay | None:
    """The beginning of a part, too short for a play-through to be told from chance but by its first notes."""
    notes = [one for one in hear_notes(sound, prior=pitch_prior(lesson.route.harp)) if one.confidence > SURE]
    asked = {one.index: round(one.midi[0]) for one in score_of(lesson.route).events}
    best: tuple[int, LessonPart] | None = None
    for part in lesson.parts:
        indexes = [index for index in range(part.first, part.last + 1) if index in asked][: len(notes)]
        if len(notes) < FEWEST_NOTES or len(indexes) < len(notes):
            continue
        own = sum(asked[index] == note.midi for index, note in zip(indexes, notes, strict=True))
        if own >= OWN_SHARE * len(notes) and notes[0].midi == asked[indexes[0]] and (best is None or own > best[0]):
            best = own, part
    return None if best is None else _placed(notes, best[1], best[0], lesson)


def _placed(notes: Sequence[HeardNote], part: LessonPart, own: int, lesson: Lesson) -> FoundPlay:
    """Notes as the first events of a part."""
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    paces = [
        (after.start_seconds - before.start_seconds)
        / max(1e-3, timing.seconds_at(events[index + 1].onset) - timing.seconds_at(events[index].onset))
        for index, (before, after) in enumerate(pairwise(notes), start=part.first)
    ]
    pace = max(1e-2, median(paces))
    placed = tuple(
        PlacedEvent(
            index,
            note.start_seconds,
            note.end_seconds,
            played=True,
            due_seconds=note.start_seconds,
            pace=pace,
            confidence=note.confidence,
        )
        for index, note in enumerate(notes, start=part.first)
    )
    sure = min(one.confidence for one in notes)
    play = PlayThrough(
        notes[0].start_seconds, notes[-1].end_seconds, 1 / pace, placed, whole=False, pauses=(), restarts=(),
        confidence=sure,
    )  # fmt: skip
    return FoundPlay(play, own / len(notes), float(own))


# --------------------------------------------------------------------------------------------- what is one after all


def _goes_on(before: FoundPlay, after: FoundPlay, lesson: Lesson) -> bool:
    """Whether a play-through is the rest of the one before, which left out notes or stopped."""
    first, second = before.play, after.play
    if first.last >= second.first:
        return False
    if first.last in {part.last for part in lesson.parts} and second.first in {part.first for part in lesson.parts}:
        return False
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    asked = timing.seconds_at(events[second.first].onset) - timing.seconds_at(events[first.last].onset)
    due = asked / first.tempo_factor
    came = second.start_seconds - first.events[-1].start_seconds
    return abs(came - due) <= OUT_OF_TIME * max(due, 1.0)


def _as_one(before: FoundPlay, end: float, sound: Samples, lesson: Lesson) -> FoundPlay | None:
    """A play-through with what is played until a moment, None where that is not its rest."""
    start = max(0.0, before.play.start_seconds - BEFORE)
    plays = answer_take(sound.span(start, end), lesson.route).plays
    if len(plays) != 1 or plays[0].play.first > before.play.first:
        return None
    whole = found_play(plays[0])
    return _moved(whole, start) if whole.worth >= before.worth + RIGHT_IN_REST else None


# ---------------------------------------------------------------------------------------------------------- all


@dataclass(frozen=True, slots=True)
class _Session:
    """Stretches between which there is no talk and no long pause, and from where to where they are heard."""

    start: float
    end: float
    stretches: tuple[tuple[float, float], ...]


def _sessions(stretches: Sequence[tuple[float, float]], course: SoundCourse) -> list[_Session]:
    around = _around(stretches, course)
    talk = [(first * HOP_SECONDS, stop * HOP_SECONDS) for first, stop in runs_of(course.talk)]
    talk = [one for one in talk if one[1] - one[0] >= PARTING_TALK]
    found: list[list[tuple[float, float]]] = []
    for number, one in enumerate(around):
        before = stretches[number - 1][1] if number else 0.0
        is_parted = any(before <= said[0] and said[1] <= stretches[number][0] for said in talk)
        if found and not is_parted and stretches[number][0] - before < LONGEST_PAUSE:
            found[-1].append(one)
        else:
            found.append([one])
    return [_Session(one[0][0], one[-1][1], tuple(one)) for one in found]


def _in_session(sound: Samples, session: _Session, lesson: Lesson) -> Iterator[FoundPlay]:
    """The play-throughs of a session; what goes on after a pause is one with what was before it."""
    part_ends = {part.last for part in lesson.parts}
    found: list[FoundPlay] = []
    for start, end in ((one[0] - session.start, one[1] - session.start) for one in session.stretches):
        part = sound.span(start, end)
        plays = [_moved(one, start) for one in _answered(part, lesson)]
        before = found[-1] if found else None
        rest: FoundPlay | None = None
        if before is not None and (
            _goes_on(before, plays[0], lesson) if plays else before.play.last not in part_ends
        ):
            until = plays[0].play.end_seconds + AFTER if plays else end
            rest = _as_one(before, until, sound, lesson)
        if rest is not None:
            found[-1:] = [rest, *plays[1:]]
            continue
        begun = None if plays else _begun(part, lesson)
        found += plays if begun is None else [_moved(begun, start)]
    yield from (_moved(one, session.start) for one in sorted(found, key=lambda one: one.play.start_seconds))


def plays_in_film(
    path: Path,
    lesson: Lesson,
    course: SoundCourse,
    spans: Sequence[tuple[float, float]],
    told: Callable[[float], None],
) -> list[FoundPlay]:
    """The play-throughs of a film inside some spans of it, in order; ``told`` is told the second it is at."""
    stretches = [
        one
        for one in _stretches(course, _longest_pause(lesson))
        if any(start <= (one[0] + one[1]) / 2 < end for start, end in spans)
    ]
    sessions = _sessions(stretches, course)
    found: list[FoundPlay] = []
    with opened_take(path, broken_off=True) as blocks:
        sounds = _sounds_of(blocks, [(one.start, one.end) for one in sessions])
        for session, (_, sound) in zip(sessions, sounds, strict=False):
            told(session.start)
            found += _in_session(sound, session, lesson)
    return sorted(found, key=lambda one: one.play.start_seconds)
