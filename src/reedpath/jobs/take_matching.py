"""Which lesson a take plays, and whose it is: by the name of its file, and by what is heard in it.

Nothing is guessed in silence: where a name fits two students, or a sound two lessons, neither is taken.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.hear import Observations
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import phrases_taught
from reedpath.listen import RouteHeard, TakeHearings, lessons_heard, lessons_heard_elsewhere
from reedpath.shelf import LessonVersion, Student
from reedpath.shelf.words import folded

# share of a take's sound that a lesson must explain to be the one that is played, and how many times as much as the
# next one: ours, tried on the tunes of the tests
LEAST_HEARD, TIMES_THE_NEXT = 0.4, 1.5
# share of a take's sound that is to be played on in time for a lesson to be one of several, unless a name says it: of
# the five examples 0.19 to 0.59 with ten faults in 35 to 76 notes, and 0.14 at most of another's; ours
LEAST_ORDERLY = 0.16
# lessons that are listened for, and those that are told where it is not sure
MOST_LISTENED, MOST_TOLD = 60, 3
# letters of a word that says anything of a name
LEAST_LETTERS = 2
_WORD = re.compile(r"[^\W\d_]+")


class KnownLesson(Struct, frozen=True):
    """A lesson that may be played: its last version."""

    title: str
    version: LessonVersion


class LessonHeard(Struct, frozen=True):
    """A lesson, and the share of a take's sound that it explains.

    orderly : what of it is played on in time (`reedpath.listen.RouteHeard`); None where that was not looked at.
    """

    version: int
    title: str
    share: float
    orderly: float | None = None


def words_of_name(text: str) -> set[str]:
    """The words of a name or a title, as they are compared."""
    return {one for one in _WORD.findall(folded(text)) if len(one) >= LEAST_LETTERS}


def named_in(name: str, texts: Sequence[str]) -> list[int]:
    """Indexes of the texts that share most words with the name of a file, none where none shares any."""
    words = words_of_name(Path(name).stem)
    counts = [len(words & words_of_name(text)) for text in texts]
    most = max(counts, default=0)
    return [index for index, count in enumerate(counts) if most and count == most]


def students_named(name: str, students: Sequence[Student]) -> tuple[int, ...]:
    """Numbers of the students whose name the name of a file says: one where that is sure."""
    return tuple(students[index].number for index in named_in(name, [one.name for one in students]))


def lessons_listened_for(name: str, lessons: Sequence[KnownLesson]) -> list[KnownLesson]:
    """The lessons that a take may play, those that its file names before all others."""
    named = named_in(name, [one.title for one in lessons])
    order = sorted(range(len(lessons)), key=lambda index: index not in named)
    return [lessons[index] for index in order[:MOST_LISTENED]]


def _routes_taught(version: LessonVersion) -> list[Route]:
    """The routes that a lesson teaches."""
    return [each.route for each in phrases_taught(lesson_of_version(version))]


def _with_progress(taught: Sequence[Sequence[Route]], progress: Progress) -> Iterator[Sequence[Route]]:
    """The routes of each lesson, and how far one has come with them."""
    for done, routes in enumerate(taught):
        progress(ProgressStep("matching", done, len(taught), share=done / len(taught)))
        yield routes


def _lessons_found(lessons: Sequence[KnownLesson], found: Sequence[RouteHeard]) -> list[LessonHeard]:
    """What each lesson explains of a take, the most first."""
    heard = [
        LessonHeard(one.version.number, one.title, each.share, each.orderly)
        for one, each in zip(lessons, found, strict=True)
    ]
    return sorted(heard, key=lambda one: -one.share)


def sure_lesson(heard: Sequence[LessonHeard], named: Collection[int]) -> LessonHeard | None:
    """The lesson that is played, where one explains enough, and far more than any other.

    Of those that explain about as much it is the one of which far more is played on in time; and of those that teach
    the same, the one that the file names.

    heard : the most first. named : versions of the lessons that it names.
    """
    likely = lessons_that_fit(heard, named)
    by_name = [one for one in likely if one.version in named]
    if len(likely) == 1:
        return likely[0]
    return by_name[0] if len(by_name) == 1 else None


def lessons_that_fit(heard: Sequence[LessonHeard], named: Collection[int] = ()) -> list[LessonHeard]:
    """Those of some lessons that a take may well play: what each explains, and what of it is played on in time."""
    likely = [one for one in heard if one.share >= LEAST_HEARD and one.share * TIMES_THE_NEXT > heard[0].share]
    if len(heard) == 1:  # there is nothing else that it could be
        return likely
    most = max((one.orderly or 0.0 for one in likely), default=0.0)
    return [
        one for one in likely
        if one.orderly is None
        or (one.orderly * TIMES_THE_NEXT > most and (one.orderly >= LEAST_ORDERLY or one.version in named))
    ]  # fmt: skip


def find_lesson(
    seen: Observations, name: str, lessons: Sequence[KnownLesson], progress: Progress = silent
) -> tuple[LessonHeard | None, tuple[LessonHeard, ...]]:
    """The lesson that a take plays, None where that is not sure, and what the likeliest explain of it.

    seen : what was seen in its sound. name : of its file. lessons : as `lessons_listened_for` gives them.
    """
    hearings, taught = TakeHearings(seen), [_routes_taught(one.version) for one in lessons]
    found = lessons_heard(hearings, _with_progress(taught, progress), at_least=LEAST_HEARD, next_to=TIMES_THE_NEXT)
    heard = _lessons_found(lessons, found)
    named = {lessons[index].version.number for index in named_in(name, [one.title for one in lessons])}
    if len(lessons) > 1 and not lessons_that_fit(heard, named):
        # on another harp, or in another octave: told with the answer
        found = lessons_heard_elsewhere(hearings, _with_progress(taught, progress), at_least=LEAST_HEARD)
        elsewhere = _lessons_found(lessons, found)
        if lessons_that_fit(elsewhere, named):
            heard = elsewhere
    return sure_lesson(heard, named), tuple(heard[:MOST_TOLD])
