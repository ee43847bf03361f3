"""Hearing raw footage: its clocks lined up, its play-throughs found and judged, talk told from playing.

Each stretch that is played between talk and pauses is answered as a take of its own, so that a try that was broken
off, and what was said then, are never heard as one with the next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from reedpath.film import FilmClock, FilmFacts, Footage, FoundPlay, film_facts, found_play
from reedpath.harp import Breath, reed_hz
from reedpath.hear import HOP_SECONDS, SoundCourse, clock_between, course_of, low_sound, runs_of
from reedpath.jobs.hearing import opened_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson
from reedpath.listen import PlayAnswer, answer_take
from reedpath.phrase import timing_of
from reedpath.signal import Samples, concatenated

__all__ = ["HeardFilms", "hear_films"]

# seconds: of talk from which it parts what is played, of tone from which a stretch is worth answering, and before and
# after a stretch that are heard with it; ours
PARTING_TALK, LEAST_TONE, BEFORE, AFTER = 0.3, 0.5, 0.4, 0.6
# seconds of a pause that parts what is played, at least and beyond the longest that the lesson asks for; ours
LEAST_PAUSE, OVER_ASKED = 0.9, 0.35
# times that a stretch is parted where the player began again
MOST_PARTINGS = 6
# seconds at the end of a film in which something sounds that goes on where another camera goes on
BROKEN_OFF_SECONDS = 0.6
# seconds under which what another camera has beyond is nothing
LEAST_BEYOND = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class HeardFilms:
    """Films as they were heard. clocks : of those that were taken together with another one."""

    footage: tuple[Footage, ...]
    clocks: tuple[FilmClock, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Film:
    """A film with what sounds in it. margin_db : how far the loud lies over the soft, and less what is cut off."""

    path: Path
    facts: FilmFacts
    low: Any
    course: SoundCourse

    @property
    def margin_db(self) -> float:
        return self.course.margin_db


def _lowest_hz(lesson: Lesson) -> float:
    harp = lesson.route.harp
    return min(reed_hz(harp, hole, breath) for hole in (1, 2) for breath in Breath)


def _longest_pause(lesson: Lesson) -> float:
    """Seconds in which nothing may sound inside a play-through: from one onset to the next, played slowly."""
    phrase = lesson.route.phrase
    timing = timing_of(phrase)
    onsets = [timing.seconds_at(one.onset) for one in phrase.events]
    longest = max((after - before for before, after in pairwise(onsets)), default=0.0)
    slowest = min((rung.factor for rung in lesson.ladder), default=1.0)
    return max(LEAST_PAUSE, longest / slowest + OVER_ASKED)


# ------------------------------------------------------------------------------------------------- what is played


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
        cut = max(begin, again - 0.05)
        for first, last in ((begin, cut), (cut, min(end, sound.duration_seconds))):
            for one in _answered(sound.span(first, last), lesson, left - 1):
                yield _moved(one, first)


def _plays(
    film: _Film, lesson: Lesson, spans: Sequence[tuple[float, float]], told: Callable[[float], None]
) -> list[FoundPlay]:
    """The play-throughs of a film inside some spans, in order."""
    stretches = [
        one
        for one in _around(_stretches(film.course, _longest_pause(lesson)), film.course)
        if any(start <= (one[0] + one[1]) / 2 < end for start, end in spans)
    ]
    found: list[FoundPlay] = []
    with opened_take(film.path, broken_off=True) as blocks:
        for start, sound in _sounds_of(blocks, stretches):
            told(start)
            found += [_moved(one, start) for one in _answered(sound, lesson)]
    return sorted(found, key=lambda one: one.play.start_seconds)


# --------------------------------------------------------------------------------------------------------- clocks


def _clocks(films: Sequence[_Film]) -> list[FilmClock]:
    """Which films were taken together, and how their times are each other's."""
    clocks: dict[int, FilmClock] = {}
    for number, film in enumerate(films):
        for other in range(number):
            found = clock_between(films[other].low, film.low)
            if found is None:
                continue
            root = clocks.get(other, FilmClock(other, other, 0.0))
            offset = root.there(found.offset_seconds)
            clocks[number] = FilmClock(number, root.other, round(offset, 6), found.rate * root.rate)
            break
    return list(clocks.values())


def _beyond(film: _Film, end: float) -> float:
    """Where a film is left for another that goes on: before what sounds at its end."""
    sounds = film.course.talk | film.course.tone
    if end > HOP_SECONDS * len(sounds) - LEAST_BEYOND:
        runs = runs_of(sounds)
        if runs and runs[-1][1] * HOP_SECONDS > film.facts.seconds - BROKEN_OFF_SECONDS:
            index = len(runs) - 1
            while index and (runs[index][0] - runs[index - 1][1]) * HOP_SECONDS < LEAST_PAUSE:
                index -= 1
            before = runs[index - 1][1] if index else 0
            return (before + runs[index][0]) / 2 * HOP_SECONDS
    return end


def _spans(films: Sequence[_Film], clocks: Sequence[FilmClock]) -> list[list[tuple[float, float]]]:
    """The stretches of each film that are gone through: of those taken together, the one that hears best first."""
    of = {one.film: one for one in clocks}
    spans: list[list[tuple[float, float]]] = [[] for _ in films]
    taken: dict[int, list[tuple[float, float]]] = {}
    for number in sorted(range(len(films)), key=lambda one: -films[one].margin_db):
        clock = of.get(number, FilmClock(number, number, 0.0))
        has = taken.setdefault(clock.other, [])
        free = [(0.0, films[number].facts.seconds)]
        for start, end in has:
            first, last = clock.here(start), clock.here(end)
            free = [
                part
                for one in free
                for part in ((one[0], min(one[1], first)), (max(one[0], last), one[1]))
                if part[1] - part[0] >= LEAST_BEYOND
            ]
        is_followed = any(
            other != number
            and of.get(other, FilmClock(other, other, 0.0)).other == clock.other
            and of.get(other, FilmClock(other, other, 0.0)).there(films[other].facts.seconds)
            > clock.there(films[number].facts.seconds) + LEAST_BEYOND
            for other in range(len(films))
        )
        if is_followed:
            free = [(start, _beyond(films[number], end)) for start, end in free]
        spans[number] = free
        has += [(clock.there(start), clock.there(end)) for start, end in free]
    return spans


# ------------------------------------------------------------------------------------------------------------ all


def _opened(path: Path, lesson: Lesson, progress: Progress) -> _Film:
    with opened_take(path, broken_off=True, progress=progress) as blocks:
        low = low_sound(blocks)
    return _Film(path, film_facts(path), low, course_of(low, lowest_hz=_lowest_hz(lesson)))


def hear_films(lesson: Lesson, paths: Sequence[Path], *, progress: Progress = silent) -> HeardFilms:
    """What is played and said in films that were taken of a lesson.

    paths : films that follow each other, or were taken together by several cameras, which is found by their sound.
    """
    count = max(1, len(paths))

    def told(number: int, share: float) -> None:
        progress(ProgressStep("listening", number, len(paths), share=min(1.0, (number + share) / count)))

    films = []
    for number, path in enumerate(paths):
        told(number, 0.0)
        films.append(_opened(path, lesson, silent))
    clocks = _clocks(films)
    spans = _spans(films, clocks)
    footage = []
    for number, film in enumerate(films):
        seconds = max(film.facts.seconds, 1e-3)
        plays = _plays(film, lesson, spans[number], lambda at, n=number, s=seconds: told(n, at / s))  # type: ignore[misc]
        rate = float(film.facts.frame_rate)
        footage.append(Footage(film.path.name, film.facts.seconds, rate, plays, film.course, spans[number]))
    return HeardFilms(tuple(footage), tuple(clocks))
