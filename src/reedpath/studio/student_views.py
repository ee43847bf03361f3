"""What the students' screens show, as plain values for their templates; and what is done for them in jobs."""

from __future__ import annotations

from datetime import datetime
from typing import Any, TypeAlias

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.errors import ReedpathError
from reedpath.jobs.answering import piece_name, piece_told, pieces_unheard
from reedpath.jobs.incoming_takes import FoundTake, IncomingTake, TakeGround, hear_take
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.next_phrases import NextPhrase, SuitedLesson, next_phrases, suited_lessons
from reedpath.jobs.progress import Progress
from reedpath.jobs.student_letters import due_words
from reedpath.jobs.student_progress import HeardTake, KeptPlaying, StudentProgress, answers_heard, progress_of
from reedpath.lesson import Lesson, make_lesson
from reedpath.listen import PlaceToHear, format_answer, format_pieces, places_to_hear
from reedpath.page import format_tab
from reedpath.shelf import KeptPhrase, LessonVersion
from reedpath.skill import TechniqueStanding, told_range, told_share
from reedpath.studio.pages import Spoken
from reedpath.wording import Catalogue, harp_words, load_catalogue

# things told that come later; the rest is far off
MOST_LATER = 5
# takes on a student's page, the newest first
MOST_TAKES = 60
# phrases that are told to come next
MOST_NEXT = 3
# phrases and lessons as a page shows them, by these two words
FoundNext: TypeAlias = dict[str, list[dict[str, Any]]]


class FoundNexts:
    """What was last found to come next for each student, and on what ground: any value that changes with it."""

    def __init__(self) -> None:
        self._known: dict[int, tuple[Any, FoundNext]] = {}

    def keep(self, student: int, ground: Any, found: FoundNext) -> None:
        """Keep what was found to come next for a student."""
        self._known[student] = (ground, found)

    def of(self, student: int, ground: Any) -> FoundNext | None:
        """What was found last; None where nothing was looked for, or the ground has changed since."""
        known = self._known.get(student)
        return known[1] if known is not None and known[0] == ground else None

    def forget(self, student: int) -> None:
        """What is known of a student is forgotten."""
        self._known.pop(student, None)


def hear_one(take: IncomingTake, ground: TakeGround, *, progress: Progress) -> FoundTake | ReedpathError:
    """Hear one take, or say why it can't be; in the job's process."""
    try:
        return hear_take(take, ground, progress)
    except ReedpathError as error:
        return error


def _standing_data(one: TechniqueStanding) -> dict[str, Any]:
    lowest, highest = told_range(one.chance)

    def told(measured: Any) -> tuple[int, int] | None:
        return None if measured is None else (round(measured.lowest), round(measured.highest))

    return {
        "technique": one.technique.value,
        "standing": one.standing.value,
        "lowest": lowest,
        "highest": highest,
        "heard": one.heard,
        "cents": told(one.cents),
        "late": told(one.late_ms),
    }


def take_rows(playing: KeptPlaying, heard: tuple[HeardTake, ...]) -> list[dict[str, Any]]:
    """The takes of a student, the newest first, each with what was right in it."""
    by_number: dict[int, list[HeardTake]] = {}
    for one in heard:
        by_number.setdefault(one.take.number, []).append(one)
    rows = []
    in_order = sorted(playing.takes, key=lambda take: (take.added, take.number))
    for take in reversed(in_order[-MOST_TAKES:]):
        best = [play for one in by_number.get(take.number, ()) if (play := one.answer.best_play) is not None]
        notes = sum(len(play.heard_events) for play in best)
        version = playing.versions.get(take.version or 0)
        rows.append(
            {
                "take": take,
                "lesson": None if version is None else playing.lessons[version.lesson],
                "percent": round(100 * sum(play.right for play in best) / max(1, notes)) if best else None,
                "is_heard": take.number in by_number,
            }
        )
    return rows


class ToldAnswer(Struct, frozen=True):
    """A take's answer as its page shows it.

    text : in words, without its heading, empty where there is none. everything : with all that is not as asked.
    places : where in the take one hears what is worth practising, in the order of time.
    """

    text: str = ""
    everything: str = ""
    places: tuple[PlaceToHear, ...] = ()


def _below_heading(text: str) -> str:
    """An answer's text without its heading, which the page has."""
    return "\n".join(text.rstrip().split("\n")[2:])


def told_take(playing: KeptPlaying, version: LessonVersion | None, catalogue: Catalogue) -> ToldAnswer:
    """The answer to the only take of a student's playing.

    version : of the lesson that was played.
    """
    answers = answers_heard(playing)
    if not answers or version is None:
        return ToldAnswer()
    taught = lesson_of_version(version)
    if isinstance(taught, Lesson):
        answer = answers[0][1]
        texts = [format_answer(answer, catalogue, everything=one) for one in (False, True)]
        return ToldAnswer(_below_heading(texts[0]), _below_heading(texts[1]), places_to_hear(answer, catalogue))
    told = [piece_told(taught, piece, answer, catalogue) for piece, answer in answers]
    unheard = [piece_name(taught, index, catalogue) for index in pieces_unheard(taught, [one for one, _ in answers])]
    texts = [format_pieces(taught.title, told, unheard, catalogue, everything=one) for one in (False, True)]
    places = [place for one in told for place in places_to_hear(one.answer, catalogue, piece=one.name)]
    in_time = tuple(sorted(places, key=lambda one: one.seconds[0]))
    return ToldAnswer(_below_heading(texts[0]), _below_heading(texts[1]), in_time)


def progress_data(found: StudentProgress, catalogue: Catalogue) -> dict[str, Any]:
    """What is sure, what is due and what comes later."""
    return {
        "standings": [_standing_data(one) for one in found.standings],
        "due": [(due_words(one, catalogue), round(100 * one.card.share), one.lesson) for one in found.due],
        "later": [(due_words(one, catalogue), catalogue.day(one.card.due)) for one in found.later[:MOST_LATER]],
    }


def _tab_of(route: Route, title: str, words: Catalogue) -> str:
    return format_tab(make_lesson(route, title=title), catalogue=words)


def _next_data(
    phrases: tuple[NextPhrase, ...], lessons: tuple[SuitedLesson, ...], words: Catalogue
) -> dict[str, list[dict[str, Any]]]:
    return {
        "phrases": [
            {
                "number": one.number,
                "title": one.title,
                "harp": harp_words(one.route.harp, words),
                "percent": told_share(one.share),
                "tempo": _percent(one.tempo),
                "technique": None if one.technique is None else one.technique.value,
                "tab": _tab_of(one.route, one.title, words),
            }
            for one in phrases
        ],
        "lessons": [
            {
                "lesson": one.lesson,
                "title": one.title,
                "percent": told_share(one.share),
                "tempo": _percent(one.tempo),
                "other_percent": None if one.other is None else told_share(one.other[1]),
                "tab": "" if one.other is None else _tab_of(one.other[0], one.title, words),
            }
            for one in lessons
        ],
    }


def _percent(share: float | None) -> int | None:
    return None if share is None else round(100 * share)


def find_next(
    phrases: tuple[KeptPhrase, ...], playing: KeptPlaying, at: datetime, spoken: Spoken, *, progress: Progress
) -> dict[str, list[dict[str, Any]]]:
    """Look for the phrases that come next, and how the lessons played suit; in the job's process."""
    stands = progress_of(playing, at)
    found = next_phrases(phrases, playing, stands, most=MOST_NEXT, tell=progress)
    words = load_catalogue(spoken.language, notes=spoken.notes or None)
    return _next_data(found, suited_lessons(playing, stands), words)
