"""Students on the terminal: takes that came in, where a student stands, what comes next, a letter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import catalogue_for, print_data, print_errors, print_line, print_table, progress_display
from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.shelves import lesson_called, shelf_at, student_called
from reedpath.shelf import last_version

if TYPE_CHECKING:
    from reedpath.jobs.incoming_takes import FoundTake, TakeGround
    from reedpath.jobs.next_phrases import NextPhrase, SuitedLesson
    from reedpath.jobs.student_progress import DueThing
    from reedpath.shelf import KeptLetter, Shelf, Student
    from reedpath.skill import TechniqueStanding
    from reedpath.skill.standing import MeasuredRange
    from reedpath.wording import Catalogue

# things told that come later; the rest is far off
_MOST_LATER = 5
# columns of what is sure
_HEADS = ("technique", "standing", "range", "heard", "cents", "late")


def _percent(share: float) -> int:
    return round(100 * share)


def _found_words(found: FoundTake, ground: TakeGround, catalogue: Catalogue) -> str:
    names = {one.number: one.name for one in ground.students}
    if found.version is None:
        titles = [one.title for one in found.lessons if one.share]
        if not titles:
            return catalogue.say("shelf.people.what_unknown", file=found.take.name)
        return catalogue.say("shelf.people.what", file=found.take.name, titles=catalogue.join(titles, link="or"))
    if found.student is None:
        who = catalogue.join([names[one] for one in found.students], link="or")
        return catalogue.say("shelf.people.who", file=found.take.name, names=who)
    values: dict[str, Any] = {
        "file": found.take.name, "name": names[found.student], "title": found.lessons[0].title
    }  # fmt: skip
    if found.right_share is None:
        return catalogue.say("shelf.people.kept", **values)
    return catalogue.say("shelf.people.kept_share", percent=_percent(found.right_share), **values)


def _found_data(found: FoundTake, ground: TakeGround) -> dict[str, Any]:
    names = {one.number: one.name for one in ground.students}
    return {
        "file": found.take.name,
        "student": None if found.student is None else names[found.student],
        "lesson": found.lessons[0].title if found.version is not None else None,
        "students": [names[one] for one in found.students],
        "lessons": [{"title": one.title, "heard_share": round(one.share, 2)} for one in found.lessons],
        "right_share": found.right_share,
        "kept": found.is_sure,
    }


def take_in(
    recordings: Sequence[Path], student: str | None, lesson: str | None, path: Path | None,
    *, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Answer takes and keep those that are sure; ask about the others."""
    from reedpath.jobs.incoming_takes import IncomingTake, ground_of, hear_takes, keep_found

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf, progress_display(catalogue) as progress:
        who = None if student is None else student_called(shelf, student).number
        what = None if lesson is None else last_version(shelf, lesson_called(shelf, lesson).number).number
        ground = ground_of(shelf)
        incoming = [IncomingTake(one, one.name, who, what) for one in recordings]
        told: list[dict[str, Any]] = []
        failed = False
        for found in hear_takes(incoming, ground, progress):
            if isinstance(found, ReedpathError):
                failed = True
                print_errors([found], catalogue)
                continue
            if found.is_sure:
                keep_found(shelf, found)
            told.append(_found_data(found, ground))
            if not json:
                print_line(_found_words(found, ground, catalogue))
    if json:
        print_data(told)
    if failed:
        raise SystemExit(2)


def _range_words(measured: MeasuredRange | None, catalogue: Catalogue) -> str:
    if measured is None:
        return "-"
    return catalogue.say("skill.range", lowest=round(measured.lowest), highest=round(measured.highest))


def _standing_row(one: TechniqueStanding, catalogue: Catalogue) -> list[str]:
    from reedpath.skill import told_range

    lowest, highest = told_range(one.chance)
    return [
        catalogue.say(f"skill.technique.{one.technique.value}"),
        catalogue.say(f"skill.standing.{one.standing.value}"),
        catalogue.say("skill.range", lowest=lowest, highest=highest),
        catalogue.number(one.heard),
        _range_words(one.cents, catalogue),
        _range_words(one.late_ms, catalogue),
    ]


def _due_data(one: DueThing) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "technique": one.technique,
        "lesson": one.title or None,
        "events": one.spot,
        "due": one.card.due.isoformat(timespec="seconds"),
        "times": one.card.times,
        "last_share": round(one.card.share, 3),
    }


def show_progress(name: str, path: Path | None, *, language: str | None, json: bool) -> None:
    """Print where a student stands, and what is due."""
    from reedpath.data import as_plain
    from reedpath.jobs.student_letters import due_words
    from reedpath.jobs.student_progress import playing_of, progress_of

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        playing = playing_of(shelf, student_called(shelf, name))
    found = progress_of(playing, datetime.now(UTC))
    if json:
        print_data(
            {
                "student": found.student.name,
                "takes": [one.name for one in found.heard],
                "unheard": found.unheard,
                "techniques": as_plain(found.standings),
                "due": [_due_data(one) for one in found.due],
                "later": [_due_data(one) for one in found.later],
            }
        )
        return
    print_line(catalogue.say("shelf.people.heard", name=found.student.name, count=len(found.heard)))
    if found.unheard:
        print_line(catalogue.say("shelf.people.unheard", names=catalogue.join(found.unheard)))
    if not found.takes:
        return
    print_line()
    heads = [catalogue.say(f"skill.head.{one}") for one in _HEADS]
    print_table([heads, *(_standing_row(one, catalogue) for one in found.standings)], right=(3,))
    print_line()
    print_line(catalogue.say("shelf.people.due" if found.due else "shelf.people.nothing_due"))
    for one in found.due:
        thing = due_words(one, catalogue)
        print_line("- " + catalogue.say("shelf.people.last_share", thing=thing, percent=_percent(one.card.share)))
    if found.later:
        print_line()
        print_line(catalogue.say("shelf.people.later"))
    for one in found.later[:_MOST_LATER]:
        date = catalogue.day(one.card.due)
        print_line("- " + catalogue.say("shelf.people.later_on", thing=due_words(one, catalogue), date=date))


def _next_data(phrases: Sequence[NextPhrase], lessons: Sequence[SuitedLesson]) -> dict[str, Any]:
    return {
        "phrases": [
            {
                "number": one.number,
                "title": one.title,
                "harp": one.route.harp.name,
                "expected_share": round(one.share, 2),
                "tempo": one.tempo,
                "least_sure": one.technique,
            }
            for one in phrases
        ],
        "lessons": [
            {
                "title": one.title,
                "expected_share": round(one.share, 2),
                "tempo": one.tempo,
                "other_route_share": None if one.other is None else round(one.other[1], 2),
            }
            for one in lessons
        ],
    }


def show_next(name: str, top: int, path: Path | None, *, language: str | None, json: bool) -> None:
    """Print the phrases that come next."""
    from reedpath.jobs.next_phrases import candidates_of, next_phrases, suited_lessons
    from reedpath.jobs.student_progress import playing_of, progress_of
    from reedpath.skill import told_share

    catalogue = catalogue_for(language)
    if top < 1:
        raise SettingsError("jobs.no_lines", lines=top)
    with shelf_at(path) as shelf:
        playing = playing_of(shelf, student_called(shelf, name))
        phrases = candidates_of(shelf, playing)
    stands = progress_of(playing, datetime.now(UTC))
    with progress_display(catalogue) as tell:
        found = next_phrases(phrases, playing, stands, most=top, tell=tell)
    lessons = suited_lessons(playing, stands)
    if json:
        print_data(_next_data(found, lessons))
        return
    print_line(catalogue.say("shelf.people.next", count=len(found)))
    for one in found:
        said: dict[str, Any] = {
            "number": one.number, "title": one.title, "harp": one.route.harp.name, "percent": told_share(one.share)
        }  # fmt: skip
        if one.tempo is None:
            print_line(catalogue.say("shelf.people.next_slowly", **said))
        else:
            print_line(catalogue.say("shelf.people.next_line", tempo=_percent(one.tempo), **said))
        if one.technique is not None:
            technique = catalogue.say(f"skill.technique.{one.technique.value}")
            print_line("   " + catalogue.say("shelf.people.next_hard", technique=technique))
    for each in lessons:
        said = {"title": each.title, "percent": told_share(each.share)}
        print_line()
        if each.tempo is None:
            print_line(catalogue.say("shelf.people.played_apart", **said))
        else:
            print_line(catalogue.say("shelf.people.played", tempo=_percent(each.tempo), **said))
        if each.other is not None:
            print_line("   " + catalogue.say("shelf.people.other_route", percent=told_share(each.other[1])))


def _letter_of(shelf: Shelf, student: Student, text: Path | None, catalogue: Catalogue, *, anew: bool) -> KeptLetter:
    """The letter that there is, as it is now or was changed, or a new one."""
    from reedpath.jobs.disk import read_text
    from reedpath.jobs.next_phrases import candidates_of, next_phrases
    from reedpath.jobs.student_letters import FollowingPhrase, change_letter, propose_letter
    from reedpath.jobs.student_progress import playing_of, progress_of
    from reedpath.shelf import KeptLetter

    letters = shelf.all(KeptLetter, student=student.number)
    if text is not None:
        if not letters:
            raise SettingsError("jobs.no_letter", name=student.name)
        return change_letter(shelf, letters[-1].number, read_text(text))
    playing = playing_of(shelf, student)
    newest = max((one.added for one in playing.answers.values()), default="")
    if letters and letters[-1].added >= newest and letters[-1].language == catalogue.name and not anew:
        return letters[-1]
    progress = progress_of(playing, datetime.now(UTC))
    following = next_phrases(candidates_of(shelf, playing), playing, progress, most=1) if progress.takes else ()
    first = FollowingPhrase(following[0].title, following[0].tempo) if following else None
    return propose_letter(shelf, progress, first, catalogue)


def show_letter(
    name: str, text: Path | None, path: Path | None, *, anew: bool, language: str | None, json: bool
) -> None:
    """Print the letter to a student as it is now."""
    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        letter = _letter_of(shelf, student_called(shelf, name), text, catalogue, anew=anew)
    if json:
        print_data(
            {
                "number": letter.number, "language": letter.language, "text": letter.text,
                "proposed": letter.proposed, "added": letter.added,
            }
        )  # fmt: skip
        return
    for line in letter.text.rstrip("\n").split("\n"):
        print_line(line)
