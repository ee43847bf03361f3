"""The overview of many takes, reckoned from their answers alone: better or worse, where, and what to say to each."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.data import encode_json
from reedpath.errors import ReedpathError
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import UNFINISHED, Written, writing_into
from reedpath.jobs.following_lessons import FollowingLessons
from reedpath.jobs.lesson_folders import lesson_of_version
from reedpath.jobs.many_takes import AnsweredTakes, OpenTake, TakesRun
from reedpath.jobs.progress import Progress, silent
from reedpath.jobs.student_letters import (
    FollowingPhrase,
    is_done,
    next_step_words,
    of_piece_words,
    points_words,
    went_well_words,
)
from reedpath.jobs.take_matching import KnownLesson, lessons_that_fit
from reedpath.jobs.take_records import OVERVIEW, TakeWithAnswer
from reedpath.jobs.written_answers import answers_written
from reedpath.lesson import Lesson
from reedpath.listen import AnswerFile, Notice, PlayAnswer, harp_heard_words
from reedpath.page.takes import (
    CommonPlace,
    LastTime,
    TakesOverview,
    ToldTake,
    TriedLesson,
    UnansweredTake,
    encode_takes_page,
    encode_takes_table,
    format_takes,
)
from reedpath.page.takes.overview import TakeChange, WhyUnanswered
from reedpath.phrase import PrintedBar, metre_at, numbered_bars
from reedpath.shelf.words import folded
from reedpath.skill import (
    StudentSkill,
    after_take,
    first_skill,
    observations_of,
    tempo_for,
)
from reedpath.wording import Catalogue, bars_words, counted_bpm, error_words, move_in_sentence

# share of the notes by which a take is better or worse than the last one, and of the tempo for faster; ours
BETTER_BY, FASTER_BY = 0.05, 0.05
# a take that was answered before is told again while it is of the last week
WEEK = timedelta(days=7)
# points that are made to a student: one, for what is said aloud (docs/students.md)
POINTS_ALOUD = 1
# takes of a student that are reckoned with for the next step; earlier ones say little any more, and each costs
# some 20 ms; ours
MOST_RECKONED = 12
# students who fail at a place for it to be told, and places told
FEWEST_ALIKE, MOST_PLACES = 2, 3


class OverviewMade(Struct, frozen=True):
    """An overview, and new name by old of what had been edited by hand in files that were written again."""

    overview: TakesOverview
    kept: dict[str, str]


class _TaughtPhrase(NamedTuple):
    """A phrase that a lesson teaches: folder and title of a piece, both empty where the lesson is of one phrase."""

    folder: str
    title: str
    route: Route


class _HeardTake(Struct, frozen=True):
    """A take, or a piece that is heard in it, with its answer read, and the phrase that it is about where that is in
    one of the lessons given.
    """

    kept: TakeWithAnswer
    answer: AnswerFile
    piece: str
    piece_title: str
    route: Route | None
    is_new: bool
    is_shown: bool

    @property
    def best(self) -> PlayAnswer | None:
        return self.answer.best_play

    @property
    def student(self) -> str:
        return self.kept.record.student

    @property
    def of_what(self) -> tuple[str, str, str]:
        """Whose it is, and of what."""
        return folded(self.student), folded(self.kept.record.lesson), self.piece

    @property
    def need(self) -> float:
        """How much it needs to be practised: the share of notes that are not right."""
        return 0.0 if self.best is None else 1.0 - self.best.right_share


_Taught = Mapping[str, Sequence[_TaughtPhrase]]


def _taught(lessons: Sequence[KnownLesson]) -> _Taught:
    """The phrases of all lessons, by their titles."""
    taught: dict[str, list[_TaughtPhrase]] = defaultdict(list)
    for one in lessons:
        lesson = lesson_of_version(one.version)
        if isinstance(lesson, Lesson):
            taught[folded(one.title)].append(_TaughtPhrase("", "", lesson.route))
        else:
            phrases = [_TaughtPhrase(each.folder, each.lesson.title, each.lesson.route) for each in lesson.pieces]
            taught[folded(one.title)] += phrases
    return taught


def _pieces_of(take: TakeWithAnswer, taught: _Taught, *, is_new: bool, is_shown: bool) -> Iterator[_HeardTake]:
    """A take, once for each piece that is heard in it; nothing where its answer can't be read."""
    try:
        written = answers_written(take.data)
    except ReedpathError:  # of another version, or written by hand: it says nothing
        return
    phrases = taught.get(folded(take.record.lesson), ())
    for one in written:
        folder = one.folder or take.record.piece
        place = one._replace(folder=folder).route_in(
            [each.folder for each in phrases], [each.route for each in phrases]
        )
        title, route = "", None
        if place is not None:
            folder, title, route = phrases[place]
        yield _HeardTake(take, one.answer, folder, title, route, is_new, is_shown)


def _heard(takes: AnsweredTakes, taught: _Taught) -> list[_HeardTake]:
    """The takes that are told, and all others of the same students, in the order of time; each piece by itself."""
    found: list[_HeardTake] = []
    new = {one.record.sha256 for one in takes.now}
    days = [one.record.recorded for one in (*takes.now, *takes.before)]
    since = (date.fromisoformat(max(days)) - WEEK).isoformat() if days else ""
    shown = new | {one.record.sha256 for one in takes.before if one.record.recorded > since}
    everyone = (*takes.now, *takes.before, *takes.earlier)
    students = {folded(one.record.student) for one in everyone if one.record.sha256 in shown}
    for one in everyone:
        if folded(one.record.student) in students:
            digest = one.record.sha256
            found += _pieces_of(one, taught, is_new=digest in new, is_shown=digest in shown)
    return sorted(found, key=lambda one: one.kept.record.when)


def _counted(play: PlayAnswer, route: Route | None) -> int:
    """Beats a minute as they are counted, quarter notes where the metre is not known."""
    if route is None:
        return round(play.tempo.bpm)
    return round(counted_bpm(play.tempo.bpm, metre_at(route.phrase, route.phrase.events[play.play.first].onset)))


def _faulty_bars(play: PlayAnswer, route: Route) -> Counter[PrintedBar]:
    numbered = numbered_bars(route.phrase)
    return Counter(numbered.at(route.phrase.events[one.event].onset) for one in play.events if one.faults)


def _tried_bars(play: PlayAnswer, route: Route) -> set[PrintedBar]:
    numbered = numbered_bars(route.phrase)
    return {numbered.at(route.phrase.events[one.event].onset) for one in play.events}


def _change(play: PlayAnswer, earlier: PlayAnswer) -> TakeChange:
    gain, faster = play.right_share - earlier.right_share, play.tempo.factor / earlier.tempo.factor - 1.0
    if abs(gain) >= BETTER_BY:
        return TakeChange.BETTER if gain > 0 else TakeChange.WORSE
    if abs(faster) >= FASTER_BY:
        return TakeChange.FASTER if faster > 0 else TakeChange.SLOWER
    return TakeChange.SAME


def _places(take: _HeardTake, before: _HeardTake, words: Catalogue) -> dict[str, str]:
    """The bars that are better than the last time, and those that are not, among those tried both times."""
    play, earlier, route = take.best, before.best, take.route
    if play is None or earlier is None or route is None or before.route != route:
        return {}
    now, then = _faulty_bars(play, route), _faulty_bars(earlier, route)
    tried = sorted(_tried_bars(play, route) & _tried_bars(earlier, route), key=lambda bar: (bar.turn, bar.number))
    better, worse = [bar for bar in tried if now[bar] < then[bar]], [bar for bar in tried if now[bar] > then[bar]]
    named = {"better_in": better, "worse_in": worse}
    return {name: bars_words(bars, words) for name, bars in named.items() if bars}


def _against(take: _HeardTake, before: _HeardTake | None, words: Catalogue) -> dict[str, object]:
    """What a take is against the one before."""
    play, earlier = take.best, None if before is None else before.best
    if play is None or before is None or earlier is None:
        return {}
    last = LastTime(
        before.kept.record.recorded,
        earlier.right,
        len(earlier.heard_events),
        _counted(earlier, before.route or take.route),
    )
    return {"change": _change(play, earlier), "last": last, **_places(take, before, words)}


def _skill(takes: Sequence[_HeardTake]) -> StudentSkill:
    """What is believed of a student after some takes; nothing beyond the first belief where it is not known whose."""
    skill = first_skill()
    for one in takes[-MOST_RECKONED:]:
        if one.route is not None and one.student:
            skill = after_take(skill, observations_of(one.answer, one.route))
    return skill


def _said(
    take: _HeardTake,
    before: _HeardTake | None,
    skill: StudentSkill,
    following: FollowingPhrase | None,
    words: Catalogue,
) -> Iterator[str]:
    """What to say to the student: another harp, what went well, one point, the next step.

    following : what could come next, where this is done with.
    """
    play, route, harp = take.best, take.route, take.answer.harp_heard
    if play is None:
        told = [one for one in take.answer.notices if one is not Notice.LONG]
        yield from (words.say(f"listen.notice.{one.value.replace(' ', '_')}") for one in told)
        yield words.say("letter.not_heard")
    elif route is not None:
        if harp is not None:
            yield harp_heard_words(harp, route, words)
        well = went_well_words(route, play, None if before is None else before.best, words, tries=take.answer.tries)
        if well is not None:
            yield well
        yield from list(points_words(route, play, words))[:POINTS_ALOUD]
        yield next_step_words(route, play, skill, following, words, harp_heard=harp)


def _files(out: Path | None, folder: str) -> tuple[str, ...]:
    if out is None or not folder:
        return ()
    there = (out / folder).iterdir()
    return tuple(sorted(one.name for one in there if one.is_file() and one.name != LIST and one.name != UNFINISHED))


def _told(take: _HeardTake, before: _HeardTake | None, out: Path | None, words: Catalogue) -> ToldTake:
    record, play = take.kept.record, take.best
    told = ToldTake(
        student=record.student,
        recorded=record.recorded,
        file=record.file,
        lesson=record.lesson,
        piece=take.piece,
        piece_title=take.piece_title,
        folder=take.kept.folder,
        files=_files(out, take.kept.folder),
        is_new=take.is_new,
        **_against(take, before, words),  # type: ignore[arg-type]  # fields by their names
    )
    if play is None:
        return told
    return replace(
        told,
        right=play.right,
        notes=len(play.heard_events),
        bpm=_counted(play, take.route),
        tempo_percent=round(100 * play.tempo.factor),
    )


def _unanswered(one: OpenTake, words: Catalogue) -> UnansweredTake:
    file, student = one.take.recording.name, one.take.student
    if one.error is not None:
        return UnansweredTake(
            file, student, WhyUnanswered.UNREADABLE, error=words.sentence(error_words(one.error, words))
        )
    if one.notice is not None:
        key = "week.silent" if one.notice is Notice.SILENT else "week.no_notes"
        return UnansweredTake(file, student, WhyUnanswered.UNREADABLE, error=words.say(key, file=file))
    if not one.heard:
        return UnansweredTake(file, student, WhyUnanswered.WAITING)
    alike = lessons_that_fit(one.heard)
    why = WhyUnanswered.SEVERAL_LESSONS if alike else WhyUnanswered.NO_LESSON
    tried = tuple(
        TriedLesson(each.title, round(100 * (each.share if each.orderly is None else each.orderly)))
        for each in alike or sorted(one.heard, key=lambda each: -(each.orderly or 0.0))
    )
    return UnansweredTake(file, student, why, tried)


def _common(newest: Sequence[_HeardTake], words: Catalogue) -> Iterator[CommonPlace]:
    """The places of a lesson where two students or more, and half of them at least, went wrong."""
    lessons: dict[tuple[str, str], list[_HeardTake]] = defaultdict(list)
    for one in newest:
        if one.student and one.route is not None and one.best is not None:
            lessons[one.kept.record.lesson, one.piece].append(one)
    for (title, _), takes in lessons.items():
        route = takes[-1].route
        assert route is not None
        failed: dict[int, list[str]] = defaultdict(list)
        for one in takes:
            for event in one.best.events if one.best is not None and one.route == route else ():
                if event.faults:
                    failed[event.event].append(one.student)
        numbered = numbered_bars(route.phrase)
        told: set[PrintedBar] = set()
        for index, students in sorted(failed.items(), key=lambda pair: (-len(pair[1]), pair[0])):
            bar = numbered.at(route.phrase.events[index].onset)
            if len(students) < max(FEWEST_ALIKE, len(takes) / 2) or bar in told or len(told) == MOST_PLACES:
                continue
            told.add(bar)
            move = move_in_sentence(route.events[index].choice.move, words, "the")
            yield CommonPlace(
                takes[-1].piece_title or title, bars_words([bar], words), move, tuple(sorted(set(students)))
            )


def _spoken_of(newest: Sequence[_HeardTake]) -> set[tuple[str, str]]:
    """What is spoken of: of each take the piece that needs it most, by recording and folder."""
    needy: dict[str, _HeardTake] = {}
    for one in newest:
        there = needy.get(one.kept.record.sha256)
        if there is None or one.need > there.need:
            needy[one.kept.record.sha256] = one
    return {(digest, one.piece) for digest, one in needy.items()}


def _left_of_lesson(
    take: _HeardTake, own: Sequence[_HeardTake], taught: _Taught, skill: StudentSkill
) -> FollowingPhrase | None:
    """The first piece of a lesson of several that its student has not played yet; None for none.

    own : the student's takes so far.
    """
    played = {one.piece for one in own if one.of_what[:2] == take.of_what[:2]}
    phrases = taught.get(folded(take.kept.record.lesson), ()) if take.piece else ()
    left = next((one for one in phrases if one.folder not in played), None)
    return None if left is None else FollowingPhrase(left.title, tempo_for(skill, left.route))


def overview_of(
    takes: AnsweredTakes, lessons: Sequence[KnownLesson], words: Catalogue, *, out: Path | None = None
) -> TakesOverview:
    """The overview of takes that were given.

    out : the folder that the answers are in.
    """
    taught = _taught(lessons)
    heard = _heard(takes, taught)
    newest = {
        one.of_what if one.student else (one.kept.record.sha256, one.piece): one for one in heard if one.is_shown
    }
    spoken_of = _spoken_of(list(newest.values()))
    several = Counter(one.kept.record.sha256 for one in heard)
    following = FollowingLessons(lessons, [(one.student, one.kept.record.lesson) for one in heard])
    last: dict[tuple[str, str, str], _HeardTake] = {}
    shown: list[ToldTake] = []
    for place, one in enumerate(heard):
        before = last.get(one.of_what) if one.student else None
        if one.is_shown:
            told = _told(one, before, out, words)
            if (one.kept.record.sha256, one.piece) in spoken_of:
                own = [each for each in heard[: place + 1] if each.of_what[0] == one.of_what[0]]
                skill = _skill(own)
                after = None
                if one.student and one.best is not None and one.route is not None and is_done(one.best, one.route):
                    after = _left_of_lesson(one, own, taught, skill) or following.after(one.student, skill)
                said = list(_said(one, before, skill, after, words))
                if said and several[one.kept.record.sha256] > 1:
                    said[0] = of_piece_words(one.piece_title, said[0], words)
                told = replace(told, say=tuple(said))
            shown.append(told)
        if one.best is not None:
            last[one.of_what] = one
    days = sorted(one.recorded for one in shown)
    told_of = {one.kept.record.sha256 for one in heard if one.is_shown}
    return TakesOverview(
        language=words.name,
        first_day=days[0] if days else "",
        last_day=days[-1] if days else "",
        older=sum(one.record.sha256 not in told_of for one in (*takes.now, *takes.before)),
        takes=tuple(sorted(shown, key=lambda one: (not one.student, folded(one.student)))),
        unanswered=tuple(_unanswered(one, words) for one in takes.open),
        common=tuple(_common(list(newest.values()), words)),
        same=takes.same,
        others=takes.others,
    )


def _write_overview(overview: TakesOverview, out: Path, words: Catalogue) -> Written:
    """Write the overview of takes beside their answers: a page, a text, a table, and data."""
    files = {
        "html": encode_takes_page(overview, words),
        "txt": format_takes(overview, words).encode(),
        "csv": encode_takes_table(overview),
        "json": encode_json(overview),
    }
    with writing_into(out, command="listen") as writing:
        for ending, data in files.items():
            (writing.files / f"{OVERVIEW}.{ending}").write_bytes(data)
    return writing.written


def answer_with_overview(run: TakesRun, words: Catalogue, progress: Progress = silent) -> OverviewMade:
    """Answer takes, and write the overview of what is answered however the run ends.

    It is written before the first answer too: from then on the folder is known to be ours, whatever ends the program.
    """
    asked = run.asked

    def write() -> OverviewMade:
        overview = overview_of(run.so_far, asked.lessons, words, out=asked.out)
        return OverviewMade(overview, _write_overview(overview, asked.out, words).kept if asked.out else {})

    kept = write().kept if asked.out is not None else {}
    try:
        run.run(progress)
    except BaseException:
        write()
        raise
    made = write()
    return OverviewMade(made.overview, {**kept, **made.kept, **run.kept})
