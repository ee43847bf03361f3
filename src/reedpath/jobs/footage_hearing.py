"""Hearing raw footage: talk told from playing, the clocks of its cameras lined up, its play-throughs found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

from reedpath.film import FilmClock, FilmFacts, Footage, FoundPlay, footage_facts, picture_rates
from reedpath.harp import Breath, reed_hz
from reedpath.hear import HOP_SECONDS, SoundCourse, clock_between, course_of, low_sound, runs_of
from reedpath.jobs.footage_count_ins import counted_from
from reedpath.jobs.footage_plays import plays_in_film, with_low_playing
from reedpath.jobs.hearing import opened_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson

# seconds of a pause between two things that sound; ours
LEAST_PAUSE = 0.9
# seconds at the end of a film in which something sounds that goes on where another camera goes on
BROKEN_OFF_SECONDS = 0.6
# seconds under which what another camera has beyond is nothing
LEAST_BEYOND = 1.0
# decibels of a margin by which another camera must hear better than one named before it: half the noise; ours
HEARS_BETTER_DB = 3.0


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


def _from(film: _Film) -> float:
    """From where a film is heard that goes on with what another one has begun: after what sounds at its start."""
    runs = runs_of(film.course.talk | film.course.tone)
    if not runs or runs[0][0] * HOP_SECONDS >= BROKEN_OFF_SECONDS:
        return 0.0
    pauses = ((one[1], after[0]) for one, after in pairwise([*runs, (len(film.course.talk), 0)]))
    pause = next((one for one in pauses if (one[1] - one[0]) * HOP_SECONDS >= LEAST_PAUSE), None)
    return 0.0 if pause is None else (pause[0] + pause[1]) / 2 * HOP_SECONDS


def by_hearing(margins_db: Sequence[float], together: Sequence[int]) -> list[int]:
    """Indexes of films, of those taken together the one first that is to be heard.

    margins_db : how well each hears. together : of each, the film whose time it is told in; alike for those taken
        together.
    Those that hear as well as the best stand first, as they are named: which one is a hair better is chance, and
    the first is the one that the others were added to.
    """
    best = {root: max(db for db, own in zip(margins_db, together, strict=True) if own == root) for root in together}

    def order(film: int) -> tuple[float, int]:
        hears = margins_db[film]
        return (-min(hears, best[together[film]] - HEARS_BETTER_DB), film)

    return sorted(range(len(margins_db)), key=order)


def _spans(films: Sequence[_Film], clocks: Sequence[FilmClock]) -> list[list[tuple[float, float]]]:
    """The stretches of each film that are gone through: of those taken together, the one that hears best first."""
    of = {one.film: one for one in clocks}
    spans: list[list[tuple[float, float]]] = [[] for _ in films]
    clocks_of = [of.get(number, FilmClock(number, number, 0.0)) for number in range(len(films))]
    taken: dict[int, list[tuple[float, float]]] = {}
    together = [of[number].other if number in of else number for number in range(len(films))]
    for number in by_hearing([film.margin_db for film in films], together):
        clock = clocks_of[number]
        beside = [
            (one, films[other].facts.seconds)
            for other, one in enumerate(clocks_of)
            if other != number and one.other == clock.other
        ]
        starts, ends = clock.there(0.0), clock.there(films[number].facts.seconds)
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
        if any(one.there(seconds) > ends + LEAST_BEYOND for one, seconds in beside):
            free = [(start, _beyond(films[number], end)) for start, end in free]
        if any(one.there(0.0) < starts - LEAST_BEYOND for one, _ in beside):
            free = [(start or _from(films[number]), end) for start, end in free]
        spans[number] = free
        has += [(clock.there(start), clock.there(end)) for start, end in free]
    return spans


# ------------------------------------------------------------------------------------------------------------ all


def _opened(path: Path, lesson: Lesson, progress: Progress) -> _Film:
    with opened_take(path, broken_off=True, progress=progress) as blocks:
        low = low_sound(blocks)
    lowest_hz = _lowest_hz(lesson)
    course = course_of(low, lowest_hz=lowest_hz)
    # an octave lower there are low harps of every key
    course = with_low_playing(path, lesson, course, course_of(low, lowest_hz=lowest_hz / 2))
    return _Film(path, footage_facts(path), low, course)


def _with_singing(course: SoundCourse, plays: Sequence[FoundPlay]) -> SoundCourse:
    """The course of a sound in which what is sung is told to be talk."""
    talk, tone = course.talk.copy(), course.tone.copy()
    for one in plays:
        if one.is_sung:
            sung = slice(round(one.play.start_seconds / HOP_SECONDS), round(one.play.end_seconds / HOP_SECONDS) + 1)
            talk[sung], tone[sung] = talk[sung] | tone[sung], False
    return replace(course, talk=talk, tone=tone)


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
    rates = picture_rates([film.facts for film in films])
    clocks = _clocks(films)
    spans = _spans(films, clocks)
    footage = []
    for number, film in enumerate(films):
        seconds = max(film.facts.seconds, 1e-3)

        def heard(at: float, number: int = number, seconds: float = seconds) -> None:
            told(number, at / seconds)

        played = plays_in_film(film.path, lesson, film.course, spans[number], heard)
        course = _with_singing(film.course, played.plays)
        plays = [
            replace(one, counted_from=counted_from(course, one, lesson)) for one in played.plays if not one.is_sung
        ]
        facts = film.facts
        footage.append(
            Footage(
                film.path.name, facts.seconds, float(rates[number]), plays, course, spans[number],
                has_pictures=facts.has_pictures, single_notes=played.single_notes,
            )
        )  # fmt: skip
    return HeardFilms(tuple(footage), tuple(clocks))
