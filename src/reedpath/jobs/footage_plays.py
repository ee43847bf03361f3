"""What is played in a film: its play-throughs, each judged as a student's is.

Each stretch that is played between talk and pauses is answered as a take of its own, so that a try that was broken
off, and what was said then, are never heard as one with the next. Where a pause alone parts what goes on in time, it
is one play-through with notes that are missing; where one begins again from the start of a part, it is two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from dataclasses import replace as replaced
from itertools import pairwise
from math import log
from pathlib import Path
from statistics import median
from typing import Any

from msgspec.structs import replace

from reedpath.arrange import Spot
from reedpath.film import FoundPlay, SingleNote, found_play
from reedpath.hear import HOP_SECONDS, SHORTEST_VOICE, HeardNote, SoundCourse, hear_notes, runs_of
from reedpath.jobs.hearing import opened_take
from reedpath.lesson import Lesson, drill_route
from reedpath.listen import PlacedEvent, PlayAnswer, PlayThrough, answer_take, pitch_prior, score_of
from reedpath.phrase import timing_of
from reedpath.signal import Samples, concatenated

# seconds: of talk from which it parts what is played, though no voice is heard in it; of tone from which a stretch is
# worth answering; and before and after a stretch that are heard with it; ours
PARTING_TALK, LEAST_TONE, BEFORE, AFTER = 0.3, 0.3, 0.4, 0.6
# seconds of a pause that parts what is played, at least and beyond the longest that the lesson asks for; ours
LEAST_PAUSE, OVER_ASKED = 0.9, 0.35
# seconds of a pause over which no play-through goes on, and share by which what follows may come too soon or too late
# to be its rest; ours
LONGEST_PAUSE, OUT_OF_TIME = 6.0, 0.4
# events of a part that is looked for by itself, and of one that may be spoilt so that it is not found so; ours
SHORT_PART, SPOILT_PART = 8, 6
# notes up to which one that comes late or twice would make a play-through seem slower; ratio of two steps from note
# to note that are not at one tempo: under the steps of the ladder; ours
FEW_NOTES, ANOTHER_TEMPO = 12, 1.13
# times slower than the slowest and faster than the fastest tempo at which what is begun may be; ours
TEMPO_BEYOND = 1.3
# events that must be right in what goes on after a pause; ours
RIGHT_IN_REST = 2.0
# seconds of talk that must stand still for it to be looked whether it is played on a low harp, and of a pause after
# which it may begin; moments at which it may that are tried; ours
LEAST_LOW, LOW_PAUSE, MOST_BEGINS = 1.0, 0.4, 4
# times that a stretch is parted where the player began again; seconds before a note at which it is parted
MOST_PARTINGS, BEFORE_NOTE = 6, 0.05
# notes from which what is played is told to be the beginning of a part, share of them that must be its own, and
# confidence of a note that counts; ours
FEWEST_NOTES, OWN_SHARE, SURE = 3, 0.7, 0.4
# events before a part that may be left over from what was broken off, and seconds of the pause after them beyond what
# is asked: nobody who joins two parts waits so long; ours
MOST_STRAYS, PAUSE_AFTER_STRAYS = 2, 0.9


def _begun_again(play: PlayAnswer, lesson: Lesson) -> float | None:
    """When the player began again from where a part or the play-through begins, seconds; None for never."""
    firsts = {part.first for part in lesson.parts} | {play.play.first}
    return next((one.seconds for one in play.play.restarts if one.back_to in firsts), None)


def begun_after_strays(play: PlayThrough, lesson: Lesson) -> float | None:
    """When a part begins, seconds, where an event or two before it are of what was broken off; None for never.

    The last notes before a player breaks off may sound like those that lead to the part. Then a pause tells them:
    the part comes later than in the tempo that it is then played at.
    """
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    firsts = {part.first for part in lesson.parts}
    for before, one in zip(play.events, play.events[1 : MOST_STRAYS + 1], strict=False):
        if one.event not in firsts or not one.played:
            continue
        asked = timing.seconds_at(events[one.event].onset) - timing.seconds_at(events[before.event].onset)
        if one.start_seconds - before.start_seconds > asked / play.tempo_factor + PAUSE_AFTER_STRAYS:
            return one.start_seconds
    return None


def _longest_pause(lesson: Lesson) -> float:
    """Seconds in which nothing may sound inside a play-through: from one onset to the next, played slowly."""
    phrase = lesson.route.phrase
    timing = timing_of(phrase)
    onsets = [timing.seconds_at(one.onset) for one in phrase.events]
    longest = max((after - before for before, after in pairwise(onsets)), default=0.0)
    slowest = min((rung.factor for rung in lesson.ladder), default=1.0)
    return max(LEAST_PAUSE, longest / slowest + OVER_ASKED)


def _parting_talk(course: SoundCourse) -> list[tuple[int, int]]:
    """Runs of talk that part what is played: a knock does not."""
    return [
        (first, stop)
        for first, stop in runs_of(course.talk)
        if (stop - first) * HOP_SECONDS >= PARTING_TALK or course.voiced_seconds(first, stop) >= SHORTEST_VOICE
    ]


def _stretches(course: SoundCourse, pause: float) -> list[tuple[float, float]]:
    """Where something is played, between talk and long pauses, seconds."""
    talk = _parting_talk(course)
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
    return replaced(found, play=moved)


def _answered(sound: Samples, lesson: Lesson, left: int = MOST_PARTINGS) -> Iterator[FoundPlay]:
    """The play-throughs of a stretch; where one begins again from the start of a part, they are two."""
    before = 0.0
    answer = answer_take(sound, lesson.route)
    for play in answer.plays:
        begin, end = max(0.0, play.play.start_seconds - BEFORE), play.play.end_seconds + AFTER
        again = _begun_again(play, lesson) if left else None
        if again is None and left:
            again = begun_after_strays(play.play, lesson)
            # what was broken off begins before its last notes
            begin = begin if again is None else before
        before = play.play.end_seconds
        if again is None:
            yield found_play(play, answer.harp_heard)
            continue
        cut = max(begin, again - BEFORE_NOTE)
        for first, last in ((begin, cut), (cut, min(end, sound.duration_seconds))):
            for one in _answered(sound.span(first, last), lesson, left - 1):
                yield _moved(one, first)


# ---------------------------------------------------------------------------------------------- what is short


def _of_short_parts(sound: Samples, lesson: Lesson) -> list[FoundPlay]:
    """The play-throughs of parts that have too few notes to be told from chance among those of the whole lesson."""
    found: list[FoundPlay] = []
    for part in lesson.parts:
        if part.same_as is None and part.last - part.first < SHORT_PART:
            route = drill_route(lesson.route, Spot(part.first, part.last, 0.0, ()))
            answer = answer_take(sound, route)
            found += [_counted_from(found_play(one, answer.harp_heard), part.first) for one in answer.plays]
    return _apart(one for one in found if one.worth >= OWN_SHARE * one.events)


def _apart(found: Iterable[FoundPlay]) -> list[FoundPlay]:
    """Of play-throughs at the same time the one that is worth most, in order of time."""
    taken: list[FoundPlay] = []
    for one in sorted(found, key=lambda each: each.worth, reverse=True):
        start, end = one.play.start_seconds, one.play.end_seconds
        if all(end <= other.play.start_seconds or start >= other.play.end_seconds for other in taken):
            taken.append(one)
    return sorted(taken, key=lambda each: each.play.start_seconds)


def _counted_from(found: FoundPlay, first: int) -> FoundPlay:
    """A play-through of a stretch, its events counted as the lesson counts them."""
    play = found.play
    counted = replace(
        play,
        events=tuple(replace(one, event=one.event + first) for one in play.events),
        pauses=tuple(replace(one, before=one.before + first) for one in play.pauses),
        restarts=tuple(replace(one, after=one.after + first, back_to=one.back_to + first) for one in play.restarts),
        whole=False,
    )
    return replaced(found, play=counted, wrong=tuple(event + first for event in found.wrong))


def _in_time(found: FoundPlay, lesson: Lesson) -> FoundPlay:
    """A play-through at the tempo that most steps from note to note have, where a few notes are played: one that
    comes late, or twice, would make all of them slow.
    """
    played = [one for one in found.play.events if one.played]
    if not 2 <= len(played) <= FEW_NOTES:
        return found
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    steps = sorted(
        (timing.seconds_at(events[after.event].onset) - timing.seconds_at(events[before.event].onset))
        / max(1e-3, after.start_seconds - before.start_seconds)
        for before, after in pairwise(played)
    )
    middle = steps[(len(steps) - 1) // 2 : len(steps) // 2 + 1]
    factor = sum(middle) / len(middle)
    if middle[-1] > ANOTHER_TEMPO * middle[0]:
        factor = min(
            middle, key=lambda one: min((abs(log(one / each.factor)) for each in lesson.ladder), default=0.0)
        )
    return replaced(found, play=replace(found.play, tempo_factor=factor)) if factor > 0 else found


# ------------------------------------------------------------------------------------------- what was only begun


def _sure_notes(sound: Samples, lesson: Lesson) -> list[HeardNote]:
    return [one for one in hear_notes(sound, prior=pitch_prior(lesson.route.harp)) if one.confidence > SURE]


def _begun(notes: Sequence[HeardNote], lesson: Lesson) -> FoundPlay | None:
    """The beginning of a part, or a spoilt short one, too short for a play-through to be told from chance."""
    asked = {one.index: round(one.midi[0]) for one in score_of(lesson.route).events}
    best: list[tuple[int, HeardNote]] = []
    for part in lesson.parts:
        indexes = [index for index in range(part.first, part.last + 1) if index in asked]
        if not indexes:
            continue
        if len(notes) < FEWEST_NOTES:
            own = list(zip(indexes, notes, strict=False))
            # two notes are told by both; of one pitch they may be anything
            is_it = len(own) == FEWEST_NOTES - 1 == len({note.midi for note in notes})
            is_it = is_it and all(asked[index] == note.midi for index, note in own)
        elif len(indexes) <= SPOILT_PART:
            # a note too many may be alike one that is asked for: which of both was meant, the tempo tells
            choices = [_common(indexes, notes, asked, latest=latest) for latest in (False, True)]
            own = min(choices, key=lambda one: _unevenness(_paces(one, lesson)))
            is_it = len(own) >= FEWEST_NOTES and len(notes) <= 2 * len(indexes)
        else:
            pairs = list(zip(indexes, notes, strict=False))
            own = [(index, note) for index, note in pairs if asked[index] == note.midi]
            is_it = len(notes) <= len(indexes) and notes[0].midi == asked[indexes[0]]
        if is_it and len(own) >= OWN_SHARE * len(notes) and len(own) > len(best):
            best = own
    return _placed(best, len(notes), lesson) if len(best) >= FEWEST_NOTES - 1 else None


def _common(
    indexes: Sequence[int], notes: Sequence[HeardNote], asked: Mapping[int, int], *, latest: bool = True
) -> list[tuple[int, HeardNote]]:
    """The most notes that are those of some events, in their order: the longest common subsequence.

    latest : whether the later of two notes that would do is taken.
    """
    # of all beginnings of both, each row one event more
    rows: list[list[list[tuple[int, HeardNote]]]] = [[[] for _ in range(len(notes) + 1)]]
    for index in indexes:
        row: list[list[tuple[int, HeardNote]]] = [[]]
        for place, note in enumerate(notes):
            with_it = [*rows[-1][place], (index, note)] if asked[index] == note.midi else []
            without = (rows[-1][place + 1], row[-1])
            row.append(max((with_it, *without) if latest else (*without, with_it), key=len))
        rows.append(row)
    return rows[-1][-1]


def _paces(own: Sequence[tuple[int, HeardNote]], lesson: Lesson) -> list[float]:
    """How many times slower than the full tempo each note is followed by the next."""
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    return [
        (after.start_seconds - before.start_seconds)
        / max(1e-3, timing.seconds_at(events[later].onset) - timing.seconds_at(events[index].onset))
        for (index, before), (later, after) in pairwise(own)
    ]


def _unevenness(paces: Sequence[float]) -> float:
    """The slowest pace to the fastest; 1 is even."""
    return max(paces) / max(1e-3, min(paces)) if paces else 1.0


def _placed(own: Sequence[tuple[int, HeardNote]], count: int, lesson: Lesson) -> FoundPlay | None:
    """Notes as events, None where they keep no tempo of the lesson; ``count`` is how many notes there were."""
    paces = _paces(own, lesson)
    pace = max(1e-2, median(paces))
    tempos = [rung.factor for rung in lesson.ladder] or [1.0]
    if not min(tempos) / TEMPO_BEYOND <= 1 / pace <= max(tempos) * TEMPO_BEYOND:
        return None
    placed = tuple(
        PlacedEvent(
            index, note.start_seconds, note.end_seconds, played=True, due_seconds=note.start_seconds, pace=pace,
            confidence=note.confidence,
        )
        for index, note in own
    )  # fmt: skip
    sure = min(note.confidence for _, note in own)
    play = PlayThrough(
        own[0][1].start_seconds, own[-1][1].end_seconds, 1 / pace, placed, whole=False, pauses=(), restarts=(),
        confidence=sure,
    )  # fmt: skip
    return FoundPlay(play, len(own) / count, len(own) / 2, only_begun=True)


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
    answer = answer_take(sound.span(start, end), lesson.route)
    plays = answer.plays
    if len(plays) != 1 or plays[0].play.first > before.play.first:
        return None
    whole = found_play(plays[0], answer.harp_heard)
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
    talk = [(first * HOP_SECONDS, stop * HOP_SECONDS) for first, stop in _parting_talk(course)]
    found: list[list[tuple[float, float]]] = []
    for number, one in enumerate(around):
        before = stretches[number - 1][1] if number else 0.0
        is_parted = any(before <= said[0] and said[1] <= stretches[number][0] for said in talk)
        if found and not is_parted and stretches[number][0] - before < LONGEST_PAUSE:
            found[-1].append(one)
        else:
            found.append([one])
    return [_Session(one[0][0], one[-1][1], tuple(one)) for one in found]


@dataclass(frozen=True, slots=True, eq=False)
class PlayedInFilm:
    """What is played in a film, in order: its play-throughs, and notes by themselves that are none."""

    plays: Sequence[FoundPlay]
    single_notes: Sequence[SingleNote]


def _in_session(sound: Samples, session: _Session, lesson: Lesson) -> PlayedInFilm:
    """What is played in a session; what goes on after a pause is one with what was before it."""
    part_ends = {part.last for part in lesson.parts}
    found: list[FoundPlay] = []
    single: list[SingleNote] = []
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
        if not plays:
            plays = [_moved(one, start) for one in _of_short_parts(part, lesson)]
        if not plays:
            notes = _sure_notes(part, lesson)
            begun = _begun(notes, lesson)
            plays = [] if begun is None else [_moved(begun, start)]
            if len(notes) == 1:
                single.append(SingleNote(session.start + start + notes[0].start_seconds, notes[0].midi))
        found += plays
    return PlayedInFilm([_moved(_in_time(one, lesson), session.start) for one in found], single)


def with_low_playing(path: Path, lesson: Lesson, course: SoundCourse, lower: SoundCourse) -> SoundCourse:
    """The course of a film's sound, with what is played in it on a lower harp than the lesson's, which seems talk.

    course : with what stands still under the lesson's harp told to be talk. lower : with what does under a lower one.
    """
    stretches = []
    for start, end in _stretches(lower, _longest_pause(lesson)):
        inside = slice(round(start / HOP_SECONDS), round(end / HOP_SECONDS))
        if (course.talk[inside] & lower.tone[inside]).sum() * HOP_SECONDS >= LEAST_LOW:
            stretches.append((start, end))
    if not stretches:
        return course
    talk, tone, voiced = course.talk.copy(), course.tone.copy(), course.voiced.copy()
    silent = [(first * HOP_SECONDS, stop * HOP_SECONDS) for first, stop in runs_of(~(lower.talk | lower.tone))]
    with opened_take(path, broken_off=True) as blocks:
        for at, sound in _sounds_of(blocks, _around(stretches, lower)):
            # what somebody says first is told from what is played by the pause between
            pauses = [end for start, end in silent if end - start >= LOW_PAUSE and at < start]
            begins = [end - at - BEFORE_NOTE for end in pauses if end - at < sound.duration_seconds]
            for first, last in _played_low(sound, lesson, [0.0, *begins[:MOST_BEGINS]]):
                inside = _with_whole_runs(lower, round((at + first) / HOP_SECONDS), round((at + last) / HOP_SECONDS))
                talk[inside], tone[inside], voiced[inside] = lower.talk[inside], lower.tone[inside], False
    return replaced(course, talk=talk, tone=tone, voiced=voiced)


def _with_whole_runs(course: SoundCourse, first: int, stop: int) -> slice:
    """A stretch with all of the tone that it begins and ends in."""
    runs = [run for run in runs_of(course.tone) if run[0] < stop and run[1] > first]
    return slice(min((run[0] for run in runs), default=first), max((run[1] for run in runs), default=stop))


def _played_low(sound: Samples, lesson: Lesson, begins: Sequence[float]) -> list[tuple[float, float]]:
    """From when to when the lesson is played on a lower harp, seconds, from the first moment that it may begin at."""
    for begin in begins:
        answer = answer_take(sound.span(begin, sound.duration_seconds), lesson.route)
        heard = answer.harp_heard
        if heard is not None and heard.semitones < 0 and answer.plays:
            return [
                (begin + one.play.start_seconds, begin + one.play.end_seconds)
                for one in answer.plays
                if not found_play(one).is_sung
            ]
    return []


def plays_in_film(
    path: Path,
    lesson: Lesson,
    course: SoundCourse,
    spans: Sequence[tuple[float, float]],
    told: Callable[[float], None],
) -> PlayedInFilm:
    """What is played in a film inside some spans of it; ``told`` is told the second it is at."""
    stretches = [
        one
        for one in _stretches(course, _longest_pause(lesson))
        if any(start <= (one[0] + one[1]) / 2 < end for start, end in spans)
    ]
    sessions = _sessions(stretches, course)
    found: list[FoundPlay] = []
    single: list[SingleNote] = []
    with opened_take(path, broken_off=True) as blocks:
        sounds = _sounds_of(blocks, [(one.start, one.end) for one in sessions])
        for session, (_, sound) in zip(sessions, sounds, strict=False):
            told(session.start)
            played = _in_session(sound, session, lesson)
            found += played.plays
            single += played.single_notes
    return PlayedInFilm(sorted(found, key=lambda one: one.play.start_seconds), single)
