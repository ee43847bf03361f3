"""The lesson that could come next for a student: of some lessons that were not played yet the one that suits best."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property

from reedpath.arrange import Route
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.student_letters import FollowingPhrase
from reedpath.jobs.take_matching import MOST_LISTENED, KnownLesson
from reedpath.lesson import Lesson
from reedpath.shelf.words import folded
from reedpath.skill import StudentSkill, expected_share, skill_settings, tempo_for
from reedpath.skill.demands import PlayedDemands, demands_of


class FollowingLessons:
    """Lessons of one phrase, and who has played which of them.

    played : student and title of a lesson, for each take.
    """

    def __init__(self, lessons: Sequence[KnownLesson], played: Iterable[tuple[str, str]]) -> None:
        self._lessons = lessons
        self._played: dict[str, set[str]] = defaultdict(set)
        for student, title in played:
            self._played[folded(student)].add(folded(title))

    @cached_property
    def _asked(self) -> list[tuple[str, Route, PlayedDemands]]:
        """Titles, routes, and what their notes demand."""
        found = []
        for one in self._lessons[:MOST_LISTENED]:
            taught = lesson_of_version(one.version)
            if isinstance(taught, Lesson) and taught.route.events:
                found.append((one.title, taught.route, demands_of(taught.route)))
        return found

    def after(self, student: str, skill: StudentSkill) -> FollowingPhrase | None:
        """The lesson whose share of notes expected right is nearest to the aim; None where all are played."""
        aim, played = skill_settings().told.aim, self._played[folded(student)]
        left = [
            (abs(expected_share(skill, demands) - aim), title, route)
            for title, route, demands in self._asked
            if folded(title) not in played
        ]
        if not left:
            return None
        _, title, route = min(left, key=lambda one: one[:2])
        return FollowingPhrase(title, tempo_for(skill, route))
