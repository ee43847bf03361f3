"""What a shelf knows of a student's playing, and what follows from it: skill, and what is due to be practised."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import lru_cache

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.errors import ReedpathError
from reedpath.jobs.lesson_folders import lesson_of_texts
from reedpath.jobs.written_answers import answers_written
from reedpath.lesson import Lesson, phrases_taught
from reedpath.listen import Answer, AnswerFile
from reedpath.listen.answer import AnswerContent
from reedpath.shelf import KeptAnswer, KeptLesson, KeptTake, LessonVersion, OwnedHarp, Shelf, Student
from reedpath.skill import (
    PracticeCard,
    PracticeReview,
    SkillObservation,
    SkillTechnique,
    StudentSkill,
    TechniqueStanding,
    after_take,
    cards_of,
    due_cards,
    first_skill,
    observations_of,
    skill_settings,
    standings_of,
)
from reedpath.skill.demands import technique_of

# answers whose reading is kept in memory: reckoning the effort of a hundred notes anew takes 40 ms
MOST_READ = 512
# kinds of things that are practised
TECHNIQUE, PHRASE, SPOT = "technique", "phrase", "spot"
PracticeKind = str
# of a take whose time was not kept
_LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


class KeptPlaying(Struct, frozen=True):
    """What a shelf has of a student's playing, not yet looked into.

    takes : in order. answers : the last one to each take, by the take's number.
    versions : of the lessons that were played, by number. lessons : these, by number.
    """

    student: Student
    harps: tuple[OwnedHarp, ...]
    takes: tuple[KeptTake, ...]
    answers: Mapping[int, KeptAnswer]
    versions: Mapping[int, LessonVersion]
    lessons: Mapping[int, KeptLesson]


class HeardTake(Struct, frozen=True):
    """A take of a student, or a piece that is heard in it, with its answer, and what that says of skill.

    title : of the lesson. lesson : its number. piece : index of the piece that was played. piece_title : of a lesson
        of several.
    """

    take: KeptTake
    at: datetime
    lesson: int
    title: str
    piece: int
    route: Route
    answer: AnswerFile
    seen: tuple[SkillObservation, ...]
    piece_title: str = ""

    @property
    def what(self) -> str:
        """Title of what was played: of the piece, where the lesson has several."""
        return self.piece_title or self.title


class DueThing(Struct, frozen=True):
    """Something to be practised.

    kind : "technique", "phrase" or "spot". technique : for a technique. title : of the lesson, or of the piece of
        it, for the other two.
    spot : first and last event of the lesson's route, for a spot.
    """

    kind: PracticeKind
    card: PracticeCard
    technique: SkillTechnique | None = None
    lesson: int | None = None
    title: str = ""
    spot: tuple[int, int] | None = None
    route: Route | None = None


class StudentProgress(Struct, frozen=True):
    """Where a student stands.

    takes : those that were heard, in order; each once for each piece in it.
    unheard : names of those that no answer speaks of.
    due : what is to be practised at the time that was given, the longest overdue first.
    later : what comes after, the soonest first.
    """

    student: Student
    skill: StudentSkill
    takes: tuple[HeardTake, ...]
    unheard: tuple[str, ...]
    standings: tuple[TechniqueStanding, ...]
    due: tuple[DueThing, ...]
    later: tuple[DueThing, ...]

    @property
    def heard(self) -> tuple[KeptTake, ...]:
        """The takes that were heard, each once however many pieces are in it."""
        return tuple({one.take.number: one.take for one in self.takes}.values())


def playing_of(shelf: Shelf, student: Student) -> KeptPlaying:
    """What a shelf has of a student's playing."""
    takes = tuple(shelf.all(KeptTake, student=student.number))
    answers = {take.number: found[-1] for take in takes if (found := shelf.all(KeptAnswer, take=take.number))}
    versions = {take.version: shelf.get(LessonVersion, take.version) for take in takes if take.version is not None}
    lessons = {one.lesson: shelf.get(KeptLesson, one.lesson) for one in versions.values()}
    harps = tuple(shelf.all(OwnedHarp, student=student.number))
    return KeptPlaying(student, harps, takes, answers, versions, lessons)


@lru_cache(maxsize=MOST_READ)
def _read_answers(
    data: str, lesson: str, pieces: tuple[tuple[str, str], ...]
) -> tuple[tuple[int, Route, AnswerFile, tuple[SkillObservation, ...], str], ...]:
    """Which pieces an answer is about, the route of each, what it says, and their titles where there are several."""
    try:
        written = answers_written(data.encode())
        taught = lesson_of_texts(lesson, pieces)
    except ReedpathError:  # written by hand or by another version: it stays kept, and says nothing of skill
        return ()
    routes = [one.route for one in phrases_taught(taught)]
    folders, titles = [""], [""]
    if not isinstance(taught, Lesson):
        folders, titles = [one.folder for one in taught.pieces], [one.lesson.title for one in taught.pieces]
    found = [(one.route_in(folders, routes), one.answer) for one in written]
    return tuple(
        (piece, routes[piece], answer, observations_of(answer, routes[piece]), titles[piece])
        for piece, answer in found
        if piece is not None
    )


def _time_of(text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return _LONG_AGO
    return at if at.tzinfo else at.replace(tzinfo=UTC)


def heard_takes(playing: KeptPlaying) -> tuple[HeardTake, ...]:
    """The takes of a student that an answer speaks of, in the order in which they were kept; each once for each piece
    that is heard in it.
    """
    found = []
    for take in playing.takes:
        answer, version = playing.answers.get(take.number), playing.versions.get(take.version or 0)
        if answer is None or version is None:
            continue
        title, at = playing.lessons[version.lesson].title, _time_of(take.added or answer.added)
        for read in _read_answers(answer.data, version.data, tuple(version.pieces.items())):
            found.append(HeardTake(take, at, version.lesson, title, *read))
    return tuple(sorted(found, key=lambda one: one.at))


def _things(take: HeardTake) -> Iterator[tuple[DueThing, float]]:
    """What was practised in a take, each with the share of its notes that came right in the best play-through."""
    best = take.answer.best_play
    right = {} if best is None else {one.event: one.is_right for one in best.heard_events}
    if not right:
        return
    # the card is put in when all takes are known
    card = PracticeCard("", take.at, take.at, 0, 0.0, 0.0)
    here = {"lesson": take.lesson, "title": take.what, "route": take.route}
    yield DueThing(PHRASE, card, **here), sum(right.values()) / len(right)  # type: ignore[arg-type]
    for spot in take.route.spots:
        inside = [right[event] for event in range(spot.first, spot.last + 1) if event in right]
        if inside:
            span = (spot.first, spot.last)
            yield DueThing(SPOT, card, spot=span, **here), sum(inside) / len(inside)  # type: ignore[arg-type]
    for technique in SkillTechnique:
        asked = [
            right[index]
            for index, one in enumerate(take.route.events)
            if index in right and technique_of(one.choice) is technique
        ]
        if len(asked) >= skill_settings().told.fewest and technique is not SkillTechnique.PLAIN:
            yield DueThing(TECHNIQUE, card, technique=technique), sum(asked) / len(asked)


def _name_of(thing: DueThing, piece: int) -> str:
    if thing.kind == TECHNIQUE:
        return f"{TECHNIQUE} {thing.technique}"
    place = "" if thing.spot is None else f" {thing.spot[0]} {thing.spot[1]}"
    return f"{thing.kind} {thing.lesson} {piece}{place}"


def _practice(takes: Sequence[HeardTake], now: datetime) -> tuple[list[DueThing], list[DueThing]]:
    """What is due, and what comes later."""
    reviews, things = [], {}
    for take in takes:
        for thing, share in _things(take):
            name = _name_of(thing, take.piece)
            reviews.append(PracticeReview(name, take.at, share))
            things[name] = thing
    cards = cards_of(reviews)
    due = [one.thing for one in due_cards(cards, now)]
    later = sorted((one.due, name) for name, one in cards.items() if name not in set(due))

    def with_card(name: str) -> DueThing:
        thing = things[name]
        return DueThing(thing.kind, cards[name], thing.technique, thing.lesson, thing.title, thing.spot, thing.route)

    return [with_card(name) for name in due], [with_card(name) for _, name in later]


def answers_heard(playing: KeptPlaying) -> tuple[tuple[int, Answer], ...]:
    """The answers to the only take of a student's playing, each with the index of its piece and its route."""
    names = AnswerContent.__struct_fields__
    return tuple(
        (one.piece, Answer(route=one.route, **{name: getattr(one.answer, name) for name in names}))
        for one in heard_takes(playing)
    )


def progress_of(playing: KeptPlaying, now: datetime) -> StudentProgress:
    """Where a student stands at a time, reckoned from the kept answers alone."""
    takes = heard_takes(playing)
    skill = first_skill(playing.student.level)
    for take in takes:
        skill = after_take(skill, take.seen)
    due, later = _practice(takes, now)
    heard = {one.take.number for one in takes}
    return StudentProgress(
        playing.student,
        skill,
        takes,
        tuple(one.name for one in playing.takes if one.number not in heard),
        standings_of(skill, [one.seen for one in takes]),
        tuple(due),
        tuple(later),
    )
