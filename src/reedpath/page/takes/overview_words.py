"""The sentences of the overview of many takes, for its text and its page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from reedpath.page.takes.overview import (
    CommonPlace,
    LastTime,
    TakeChange,
    TakesOverview,
    ToldTake,
    UnansweredTake,
    WhyUnanswered,
)
from reedpath.wording import Catalogue, capital

# names of files that are no recordings, told at most
MOST_OTHERS = 6


def _recording(take: ToldTake) -> tuple[str, str, str, str]:
    """What tells a recording from others; a take of several pieces is told once for each of them."""
    return take.student, take.recorded, take.file, take.folder


def by_student(overview: TakesOverview) -> list[tuple[str, list[list[ToldTake]]]]:
    """The takes of each student, each with the pieces that are heard in it."""
    return [
        (student, [list(pieces) for _, pieces in groupby(takes, key=_recording)])
        for student, takes in groupby(overview.takes, key=lambda one: one.student)
    ]


def days_words(overview: TakesOverview, words: Catalogue) -> str:
    """From when to when; empty where there is no take."""
    if overview.first_day == overview.last_day:
        return overview.last_day
    return words.say("week.days", first=overview.first_day, last=overview.last_day)


def counted_words(overview: TakesOverview, words: Catalogue) -> str:
    """How many takes of how many students, and how many of them are answered."""
    told = {_recording(one): one.is_new for one in overview.takes}
    now = sum(told.values())
    counts = {
        "now": now,
        "before": len(told) - now,
        "older": overview.older,
        "open": len(overview.unanswered),
    }
    parts = [words.say(f"week.{name}", count=count) for name, count in counts.items() if count]
    takes = words.say("shelf.takes", count=len(told) + overview.older + len(overview.unanswered))
    students = {one.student for one in overview.takes if one.student}
    if students:
        takes = words.say("week.of", takes=takes, count=len(students))
    if len(parts) == 1 and not overview.unanswered:
        return words.say("week.all_now" if now else "week.all_before", takes=takes)
    return words.say("week.counted", takes=takes, parts=words.join(parts)) if parts else words.sentence(takes)


def student_words(student: str, words: Catalogue) -> str:
    """A student's name, or that it is not known."""
    return student or words.say("week.nobody")


def lesson_words(pieces: Sequence[ToldTake], words: Catalogue) -> str:
    """What was played: the lesson, and the piece of it where only one is heard."""
    title, piece = words.say("shelf.people.phrase", title=pieces[0].lesson), pieces[0].piece_title
    if len(pieces) > 1 or not piece:
        return title
    return words.say("listen.pieces.place", piece=title, line=words.say("shelf.people.phrase", title=piece))


def when_words(take: ToldTake) -> str:
    """The day of a take, and the recording's name where nothing else says which it is."""
    return take.recorded if take.student else f"{take.recorded} ({take.file})"


def _score(right: int, notes: int, words: Catalogue) -> str:
    return words.say("week.score", right=right, notes=notes, percent=round(100 * right / notes))


def heard_words(take: ToldTake, words: Catalogue, *, with_piece: bool = False) -> str:
    """How many notes are as asked, and at what tempo; that nothing of the lesson is heard.

    with_piece : whether it says of which piece.
    """
    if take.right is None or not take.notes or take.bpm is None or take.tempo_percent is None:
        return words.say("hear.not_played")
    score = _score(take.right, take.notes, words)
    heard = words.say("week.heard", score=score, bpm=take.bpm, percent=take.tempo_percent)
    return _of_piece(take.piece_title, heard, words) if with_piece else heard


def _of_piece(title: str, line: str, words: Catalogue) -> str:
    piece = words.say("shelf.people.phrase", title=title)
    return words.say("listen.pieces.place", piece=piece, line=line)


def _change(take: ToldTake, last: LastTime, words: Catalogue) -> str:
    score = _score(last.right, last.notes, words)
    if take.change in (TakeChange.FASTER, TakeChange.SLOWER):
        return words.say(f"week.{take.change.value}", date=last.recorded, score=score, bpm=last.bpm)
    return words.say(f"week.{take.change.value}", date=last.recorded, score=score)


def change_words(take: ToldTake, words: Catalogue) -> str:
    """Better or worse than the last time."""
    if take.right is None or not take.student:
        return ""
    return words.say("week.first") if take.last is None else _change(take, take.last, words)


def place_words(take: ToldTake, words: Catalogue) -> Iterator[str]:
    """Where it is better than the last time, and where it is not."""
    for name, place in (("better_in", take.better_in), ("worse_in", take.worse_in)):
        if place:
            yield capital(words.say(f"week.{name}", place=place))


def common_words(common: CommonPlace, words: Catalogue) -> str:
    """Where several students went wrong."""
    return words.say(
        "week.common_line",
        title=common.lesson,
        place=common.place,
        move=common.move,
        names=words.join(list(common.students)),
    )


def unanswered_words(take: UnansweredTake, words: Catalogue) -> str:
    """Why a take has no answer, and what to do."""
    if take.why is WhyUnanswered.UNREADABLE:
        return take.error
    if take.why is WhyUnanswered.WAITING:
        return words.say("week.waiting", file=take.file)
    near = [one for one in take.tried if one.percent]
    if not near:
        return words.say("week.no_lesson_at_all", file=take.file)
    tried = words.join([words.say("week.tried", title=one.title, percent=one.percent) for one in near])
    key = "week.several" if take.why is WhyUnanswered.SEVERAL_LESSONS else "week.no_lesson"
    return words.say(key, file=take.file, tried=tried)


def left_words(overview: TakesOverview, words: Catalogue) -> Iterator[str]:
    """What else lay there: recordings that are the same as others, and files that are none."""
    for file, other in overview.same.items():
        yield words.say("week.same_sound", file=file, other=other)
    if overview.others:
        shown = list(overview.others[:MOST_OTHERS])
        are_all = len(shown) == len(overview.others)
        yield words.say("week.others", names=words.join(shown) if are_all else ", ".join([*shown, "…"]))
