"""The shelf on the terminal: what is on it, what was found, what became of what was asked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import catalogue_for, print_data, print_errors, print_line, print_table, progress_display
from reedpath.cli.reading import owned_harps
from reedpath.errors import SettingsError
from reedpath.jobs.shelves import (
    erase_student_called,
    export_to_zip,
    import_zip,
    lesson_called,
    lesson_differences,
    shelf_at,
    take_out_phrase,
    words_of_phrase,
)

if TYPE_CHECKING:
    from reedpath.shelf import FoundPhrase, LessonDifference
    from reedpath.wording import Catalogue

# characters of a value that is told where two versions differ; ours
_LONGEST = 60
# kinds of records that are counted for a person, and the sentences that count them
_COUNTED = {
    "phrase": "shelf.phrases",
    "lesson": "shelf.lessons",
    "lesson_version": "shelf.versions",
    "student": "shelf.students",
    "take": "shelf.takes",
    "answer": "shelf.answers",
    "draft": "shelf.drafts",
}


def _counts_words(counts: dict[str, int], catalogue: Catalogue) -> str:
    said = [catalogue.say(key, count=counts[kind]) for kind, key in _COUNTED.items() if counts.get(kind)]
    return ", ".join(said) or catalogue.say("shelf.nothing")


def add_files(
    paths: Sequence[Path], tags: Sequence[str], level: str | None, path: Path | None, *, quick: bool, files: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Put sources and lessons on the shelf, and say which."""
    from reedpath.jobs import PlayerChoice, RouteRequest, add_to_shelf

    catalogue = catalogue_for(language)
    request = None if quick else RouteRequest(player=PlayerChoice(level))
    with shelf_at(path, make=True) as shelf, progress_display(catalogue) as progress:
        added = add_to_shelf(shelf, paths, tags=tags, request=request, with_files=files, progress=progress)
    print_errors(added.unread, catalogue)
    if json:
        print_data({"phrases": added.phrases, "lessons": added.lessons, "there": added.there})
        return
    for key, titles in (("lesson", added.lessons), ("phrase", added.phrases), ("there", added.there)):
        for title in titles:
            print_line(catalogue.say(f"shelf.added.{key}", title=title))


def _rows(found: Sequence[FoundPhrase], catalogue: Catalogue) -> list[list[str]]:
    return [
        [
            str(one.number),
            one.title,
            one.key,
            "" if one.difficulty is None else catalogue.number(one.difficulty, decimals=2),
            ", ".join(catalogue.say(f"technique.{name}") for name in one.techniques),
            ", ".join(one.tags),
        ]
        for one in found
    ]


def _print_phrases(found: Sequence[FoundPhrase], catalogue: Catalogue) -> None:
    heads = [
        catalogue.say(f"shelf.head.{name}") for name in ("number", "title", "key", "points", "techniques", "tags")
    ]
    print_table([heads, *_rows(found, catalogue)], right=(0, 3))


def _as_data(found: Sequence[FoundPhrase]) -> list[dict[str, Any]]:
    from reedpath.data import as_plain

    return [as_plain(one) for one in found]


def show_all(path: Path | None, *, language: str | None, json: bool) -> None:
    """Print what is on the shelf."""
    from reedpath.shelf import KeptLesson, KeptTake, OwnedHarp, PhraseQuery, PhraseSearch, Student, version_list

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        phrases = PhraseSearch(shelf).find(PhraseQuery())
        lessons = [(one, version_list(shelf, one.number)) for one in shelf.all(KeptLesson)]
        students = [
            (one, shelf.all(OwnedHarp, student=one.number), shelf.all(KeptTake, student=one.number))
            for one in shelf.all(Student)
        ]
        counts = shelf.counts()
    if json:
        print_data(
            {
                "phrases": _as_data(phrases),
                "lessons": [
                    {"number": one.number, "title": one.title, "tags": one.tags, "versions": len(versions)}
                    for one, versions in lessons
                ],
                "students": [
                    {
                        "number": one.number, "name": one.name, "level": one.level, "techniques": one.techniques,
                        "note": one.note, "harps": [harp.key for harp in harps],
                        "takes": [take.name for take in takes],
                    }
                    for one, harps, takes in students
                ],
            }
        )  # fmt: skip
        return
    print_line(_counts_words(counts, catalogue))
    if lessons:
        print_line()
        for one, versions in lessons:
            print_line(catalogue.say("shelf.lesson", title=one.title, count=len(versions)))
    if phrases:
        print_line()
        _print_phrases(phrases, catalogue)
    if students:
        print_line()
        for who, harps, takes in students:
            owned = ", ".join(harp.key for harp in harps) or catalogue.say("shelf.no_harps")
            level = catalogue.say(f"level.{who.level}") if who.level in _levels() else who.level
            said = catalogue.say("shelf.takes", count=len(takes))
            print_line(" - ".join(one for one in (who.name, level, owned, said) if one))


def _levels() -> Sequence[str]:
    from reedpath.arrange import level_names

    return level_names()


def _query_key(text: str | None) -> str:
    from reedpath.pitch import key_name, parse_key

    return "" if text is None else key_name(parse_key(text).plain)


def find_phrases(
    words: Sequence[str], path: Path | None, *, key: str | None, tune: str | None, tune_from: Path | None, top: int,
    language: str | None, json: bool, **others: Any,
) -> None:  # fmt: skip
    """Print the phrases that are found, and how many more notes would help to find a tune.

    ``others`` are asked for as in `PhraseQuery`: tags, techniques, easiest, hardest.
    """
    from reedpath.shelf import PhraseQuery, PhraseSearch, more_notes_wanted, typed_melody

    catalogue = catalogue_for(language)
    if top < 0:
        raise SettingsError("jobs.no_lines", lines=top)
    melody = typed_melody(tune) if tune is not None else None
    if tune_from is not None:
        from reedpath.jobs import tune_from as tune_in

        if melody is not None:
            raise SettingsError("shelf.two_tunes")
        melody = tune_in(tune_from)
    query = PhraseQuery(" ".join(words), key=_query_key(key), tune=melody, top=top, **others)
    with shelf_at(path) as shelf:
        found = PhraseSearch(shelf).find(query)
    more = more_notes_wanted(melody) if melody is not None else 0
    if json:
        print_data({"found": _as_data(found), "more_notes_wanted": more})
        return
    if found:
        _print_phrases(found, catalogue)
    else:
        print_line(catalogue.say("shelf.none_found"))
    if more:
        print_line(catalogue.say("shelf.more_notes", count=more))


def change_words(
    number: int, title: str | None, tags: Sequence[str], not_tags: Sequence[str], path: Path | None,
    *, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Give a phrase another title or other tags, and show it."""
    from reedpath.shelf import PhraseSearch

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        words_of_phrase(shelf, number, title=title, tags=tags, not_tags=not_tags)
        found = PhraseSearch(shelf).numbered(number)
    if json:
        print_data(_as_data([found])[0])
    else:
        _print_phrases([found], catalogue)


def get_phrase(number: int, out: Path, path: Path | None, *, replace: bool, language: str | None) -> None:
    """Write a phrase into a file, and say where."""
    catalogue_for(language)
    with shelf_at(path) as shelf:
        take_out_phrase(shelf, number, out, replace=replace)
    print_line(str(out))


def write_lesson_folder(
    title: str, version: int | None, out: Path, path: Path | None, *, language: str | None, json: bool
) -> None:
    """Write a version of a lesson out as a folder, and say which files are in it."""
    from reedpath.jobs.shelf_lessons import write_kept_lesson
    from reedpath.shelf import version_numbered

    catalogue_for(language)
    with shelf_at(path) as shelf:
        found = version_numbered(shelf, lesson_called(shelf, title).number, version)
        names = write_kept_lesson(shelf.files, found, out)
    if json:
        print_data({"folder": str(out), "version": found.version, "files": names})
        return
    print_line(str(out))
    for name in names:
        print_line(f"  {name}")


def remove_phrase(number: int, path: Path | None, *, language: str | None) -> None:
    """Take a phrase off the shelf, and say how it is had again."""
    from reedpath.shelf import KeptPhrase

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        phrase = shelf.get(KeptPhrase, number)
        with shelf.step("remove"):
            shelf.remove(phrase)
    print_line(catalogue.say("shelf.removed", title=phrase.title))


def _short(value: Any, catalogue: Catalogue) -> str:
    import json

    text = catalogue.say("shelf.nothing") if value is None else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _difference_words(one: LessonDifference, catalogue: Catalogue) -> str:
    place = "/".join(map(str, one.place))
    return f"{place}: {_short(one.before, catalogue)} > {_short(one.after, catalogue)}"


def show_differences(
    title: str, before: int | None, after: int | None, path: Path | None, *, language: str | None, json: bool
) -> None:
    """Print what differs between two versions of a lesson."""
    from reedpath.data import as_plain

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        earlier, later, found = lesson_differences(shelf, title, before=before, after=after)
    if json:
        print_data({"before": earlier.version, "after": later.version, "differences": as_plain(found)})
        return
    print_line(catalogue.say("shelf.compared", before=earlier.version, after=later.version, count=len(found)))
    for one in found:
        print_line(f"  {_difference_words(one, catalogue)}")


def say_student(
    name: str, path: Path | None, *, level: str | None, owned: str | None, techniques: tuple[str, ...],
    note: str | None, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Put a student on the shelf, and show him or her."""
    from reedpath.jobs import StudentSaid, put_student

    catalogue = catalogue_for(language)
    harps = owned_harps(owned) if owned is not None else None
    said = StudentSaid(level, harps, techniques or None, note)
    with shelf_at(path, make=True) as shelf:
        student, there = put_student(shelf, name, said)
    if json:
        print_data(
            {
                "number": student.number, "name": student.name, "level": student.level,
                "techniques": student.techniques, "note": student.note, "harps": [one.key for one in there],
            }
        )  # fmt: skip
        return
    print_line(catalogue.say("shelf.student", name=student.name))


def say_harps(owned: str | None, tuning: str, path: Path | None, *, language: str | None, json: bool) -> None:
    """Put the teacher's own harps of a tuning on the shelf, and show all that there are."""
    from reedpath.jobs.own_harps import own_harps, set_own_harps

    catalogue = catalogue_for(language)
    with shelf_at(path, make=owned is not None) as shelf:
        if owned is not None:
            others = [(one.key, one.tuning) for one in own_harps(shelf) if one.tuning != tuning]
            set_own_harps(shelf, [*others, *((key, tuning) for key in owned_harps(owned))])
        there = own_harps(shelf)
    if json:
        print_data({"harps": [{"harp": one.key, "tuning": one.tuning} for one in there]})
        return
    for one in there:
        print_line(one.key if one.tuning == "standard" else f"{one.key} ({one.tuning})")
    if not there:
        print_line(catalogue.say("shelf.no_harps"))


def keep_take(
    recording: Path, student: str, path: Path | None, *, lesson: str | None, answer: Path | None, note: str | None,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Keep a take, and say so."""
    from reedpath.jobs import add_take

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        take = add_take(shelf, recording, student=student, lesson=lesson, answer=answer, note=note or "")
    if json:
        print_data({"number": take.number, "name": take.name, "sound": take.sound})
    else:
        print_line(catalogue.say("shelf.take", name=student, take=take.name))


def undo_last(path: Path | None, *, redo: bool, language: str | None, json: bool) -> None:
    """Undo the last step, or do it again, and say what it was."""
    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        step = shelf.redo() if redo else shelf.undo()
        more = len(shelf.steps(undone=redo))
    if json:
        print_data(
            {"step": None if step is None else step.what, "records": step.records if step else 0, "more": more}
        )
        return
    if step is None:
        print_line(catalogue.say("shelf.no_redo" if redo else "shelf.no_undo"))
        return
    what = catalogue.say(f"shelf.step.{step.what}")
    key = "shelf.redone" if redo else "shelf.undone"
    print_line(catalogue.say(key, what=what, count=step.records))
    print_line(catalogue.say("shelf.more_steps", count=more))


def check_all(path: Path | None, *, language: str | None, json: bool) -> None:
    """Look whether all is whole, and say so; exit status 2 where it is not."""
    from reedpath.shelf import check_shelf

    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        found = check_shelf(shelf)
        counts = shelf.counts()
    if json:
        print_data(
            {"whole": found.is_whole, "problems": found.problems, "lost": found.lost, "cleared": found.cleared}
        )
    else:
        print_line(_counts_words(counts, catalogue))
        print_line(catalogue.say("shelf.whole" if found.is_whole else "shelf.not_whole"))
        for one in (*found.problems, *(catalogue.say("shelf.lost", name=name) for name in found.lost)):
            print_line(f"  {one}")
        if found.cleared:
            print_line(catalogue.say("shelf.cleared", count=found.cleared))
    if not found.is_whole:
        raise SystemExit(2)


def export_all(
    zip_path: Path, student: str | None, path: Path | None, *, replace: bool, language: str | None, json: bool
) -> None:
    """Write the shelf into a zip, and say what is in it."""
    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        counts = export_to_zip(shelf, zip_path, student=student, replace=replace)
    if json:
        print_data({"zip": str(zip_path), "records": counts})
        return
    print_line(str(zip_path))
    print_line(_counts_words(counts, catalogue))


def import_all(zip_path: Path, path: Path | None, *, language: str | None, json: bool) -> None:
    """Bring a zip in, and say what is new, what was there, and what was there otherwise."""
    from reedpath.data import as_plain

    catalogue = catalogue_for(language)
    with shelf_at(path, make=True) as shelf:
        found = import_zip(shelf, zip_path)
    if json:
        print_data(as_plain(found))
        return
    counts = {**found.added, "draft": found.drafts}
    print_line(catalogue.say("shelf.brought", records=_counts_words(counts, catalogue)))
    if found.there:
        print_line(catalogue.say("shelf.were_there", count=found.there))
    for title in found.kept:
        print_line(catalogue.say("shelf.stayed", title=title))
    for name in found.lost:
        print_line(catalogue.say("shelf.lost", name=name))


def erase_all(name: str, path: Path | None, *, language: str | None) -> None:
    """Erase a student, and say so."""
    catalogue = catalogue_for(language)
    with shelf_at(path) as shelf:
        student = erase_student_called(shelf, name)
    print_line(catalogue.say("shelf.erased", name=student.name))
