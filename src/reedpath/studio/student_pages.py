"""The students' screens: who they are, takes dropped in by the dozen, where each stands, and a letter."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from reedpath.arrange import level_names
from reedpath.errors import SettingsError
from reedpath.harp import harp_names
from reedpath.jobs.incoming_takes import IncomingTake, found_before
from reedpath.jobs.next_phrases import candidates_of
from reedpath.jobs.student_letters import FollowingPhrase, change_letter, propose_letter
from reedpath.jobs.student_progress import (
    KeptPlaying,
    StudentProgress,
    playing_of,
    progress_of,
)
from reedpath.jobs.students import StudentSaid, change_student, put_student
from reedpath.lesson import PlayingTechnique
from reedpath.shelf import (
    KeptLesson,
    KeptLetter,
    KeptPhrase,
    KeptTake,
    LessonVersion,
    OwnedHarp,
    Shelf,
    Student,
    add_waiting_take,
    erase_student,
    remove_waiting_take,
    say_of_waiting_take,
    waiting_take,
)
from reedpath.studio.form_answers import begun, sent_zip, went
from reedpath.studio.forms import form_of, number_if_any, whole_number
from reedpath.studio.open_shelf import undoing
from reedpath.studio.pages import Studio, page, studio_of
from reedpath.studio.student_views import FoundNexts, find_next, progress_data, take_rows, told_take
from reedpath.studio.waiting_takes import asked_takes, hear_waiting, incoming, keep_take
from reedpath.wording import load_catalogue, plain_names, typed_names


def _nexts(request: Request) -> FoundNexts:
    nexts: FoundNexts = request.app.state.nexts
    return nexts


# ------------------------------------------------------------------------------------------------------ all students


def _all_students(shelf: Shelf) -> dict[str, Any]:
    rows = []
    for one in shelf.all(Student):
        takes = shelf.all(KeptTake, student=one.number)
        rows.append(
            {
                "student": one,
                "name": one.name,
                "harps": ", ".join(harp.key for harp in shelf.all(OwnedHarp, student=one.number)),
                "takes": len(takes),
                "last": takes[-1].added if takes else "",
            }
        )
    lessons = []
    for lesson in shelf.all(KeptLesson):
        versions = shelf.all(LessonVersion, lesson=lesson.number)
        if versions:
            lessons.append((versions[-1].number, lesson.title))
    rows.sort(key=lambda row: str(row["name"]).casefold())
    return undoing(shelf) | {"rows": rows, "lessons": lessons}


async def show_students(request: Request) -> Response:
    """GET /students: all students, and the takes that something is to be asked of."""
    studio = studio_of(request)
    return page(
        request,
        "students.html",
        told=studio.told_once(),
        levels=level_names(),
        asked=await studio.shelf.run(asked_takes),
        **await studio.shelf.run(_all_students),
    )


async def add_student(request: Request) -> Response:
    """POST /students: a new student."""
    studio, form = studio_of(request), await form_of(request)
    name = form.line("name")
    if not name:
        raise SettingsError("studio.no_name")
    harps = harp_names(plain_names(form.line("harps"), studio.catalogue(request)))
    said = StudentSaid(form.line("level") or None, harps or None)
    student, _ = await studio.shelf.run(put_student, name, said)
    return went(request, f"/students/{student.number}", student=student.number)


# ------------------------------------------------------------------------------------------------------------- takes


def _wait(shelf: Shelf, path: Path, name: str, student: int | None, at: str) -> tuple[int, IncomingTake]:
    if student is not None:
        shelf.get(Student, student)
    kept = add_waiting_take(shelf, path, name=name, student=student, added=at)
    return kept.number, incoming(shelf, kept)


async def add_takes(request: Request) -> Response:
    """POST /students/takes: takes that were dropped in, each heard in a job of its own."""
    studio, form = studio_of(request), await form_of(request)
    student = number_if_any(form.get("student"))
    # takes are heard side by side, and keep the order in which they came
    at, jobs = datetime.now(UTC).isoformat(timespec="milliseconds"), []
    for id in form.all("upload"):
        upload = studio.uploads.get(id)
        number, take = await studio.shelf.run(_wait, upload.path, upload.name, student, at)
        studio.uploads.drop(id)
        jobs.append(await hear_waiting(studio, number, take))
    if not jobs:
        raise SettingsError("studio.nothing_given")
    return await begun(request, jobs, "/students", raises=False)


def _answered(shelf: Shelf, number: int, student: int, version: int) -> IncomingTake | None:
    """Keep a take as it was said; or, where it was not heard as a take of that lesson, what is to be heard."""
    shelf.get(Student, student)
    shelf.get(LessonVersion, version)
    waiting = replace(waiting_take(shelf, number), student=student, version=version)
    take = incoming(shelf, waiting)
    found = found_before(take, waiting.found) if waiting.found else None
    is_heard = found is not None and found.version == version and bool(found.answer)
    say_of_waiting_take(shelf, number, student=student, version=version, keeps=is_heard)
    if found is None or not is_heard:
        return take
    keep_take(shelf, number, replace(found, student=student))
    return None


async def answer_question(request: Request) -> Response:
    """POST /students/takes/N: who plays what in a take that was not sure; or it is left."""
    studio, form = studio_of(request), await form_of(request)
    number = request.path_params["number"]
    if form.has("leave"):
        await studio.shelf.run(remove_waiting_take, number)
        return went(request, "/students")
    student, version = whole_number(form.get("student")), whole_number(form.get("version"))
    take = await studio.shelf.run(_answered, number, student, version)
    if take is None:
        return went(request, "/students")
    return await begun(request, [await hear_waiting(studio, number, take)], "/students", raises=False)


# ------------------------------------------------------------------------------------------------------- one student


def _one_student(shelf: Shelf, number: int) -> dict[str, Any]:
    student = shelf.get(Student, number)
    playing, letters = playing_of(shelf, student), shelf.all(KeptLetter, student=number)
    return {
        "playing": playing,
        "letters": letters,
        "undoing": undoing(shelf),
        "ground": _ground(shelf, playing),
        "asked": asked_takes(shelf),
    }


def _ground(shelf: Shelf, playing: KeptPlaying) -> tuple[Any, ...]:
    """What the next phrase depends on: the student, what was played, and how many phrases there are."""
    answers = tuple(one.number for one in playing.answers.values())
    return (playing.student, playing.harps, answers, shelf.counts()["phrase"])


async def _progress(studio: Studio, playing: KeptPlaying) -> StudentProgress:
    # reading the answers of a new shelf takes some tenths of a second; in a thread, so that other pages go on
    return await asyncio.to_thread(progress_of, playing, datetime.now(UTC))


async def show_student(request: Request) -> Response:
    """GET /students/N: where a student stands, what to practise, takes, letter."""
    studio, number = studio_of(request), request.path_params["number"]
    catalogue = studio.catalogue(request)
    values = await studio.shelf.run(_one_student, number)
    playing: KeptPlaying = values["playing"]
    letters: list[KeptLetter] = values["letters"]
    found = await _progress(studio, playing)
    return page(
        request,
        "student.html",
        told=studio.told_once(),
        student=playing.student,
        harps=typed_names(", ".join(one.key for one in playing.harps), catalogue),
        levels=level_names(),
        techniques=[one.value for one in PlayingTechnique],
        takes=take_rows(playing, found.takes),
        asked=[one for one in values["asked"] if one.found.student == number],
        nexts=_nexts(request).of(number, values["ground"]),
        letter=letters[-1] if letters else None,
        earlier=list(reversed(letters[:-1])),
        **values["undoing"],
        **progress_data(found, catalogue),
    )


async def change_one(request: Request) -> Response:
    """POST /students/N: name, level, harps, techniques, note."""
    studio, form, number = studio_of(request), await form_of(request), request.path_params["number"]
    said = StudentSaid(
        form.line("level"),
        harp_names(plain_names(form.line("harps"), studio.catalogue(request))),
        tuple(form.all("technique")),
        form.get("note").strip(),
    )
    await studio.shelf.run(change_student, number, form.line("name"), said)
    studio.tell(studio.catalogue(request).say("studentspage.kept"))
    return went(request, f"/students/{number}")


def _next_ground(shelf: Shelf, number: int) -> tuple[KeptPlaying, tuple[KeptPhrase, ...], tuple[Any, ...]]:
    playing = playing_of(shelf, shelf.get(Student, number))
    return playing, candidates_of(shelf, playing), _ground(shelf, playing)


async def look_for_next(request: Request) -> Response:
    """POST /students/N/next: look for the next phrase, in a job."""
    studio, number = studio_of(request), request.path_params["number"]
    nexts = _nexts(request)
    playing, phrases, ground = await studio.shelf.run(_next_ground, number)

    async def keep(found: dict[str, list[dict[str, Any]]]) -> int:
        nexts.keep(number, ground, found)
        return len(found["phrases"])

    job = studio.jobs.start(
        "next", find_next, phrases, playing, datetime.now(UTC), studio.spoken(request),
        title=playing.student.name, link=f"/students/{number}#next", then=keep,
    )  # fmt: skip
    return await begun(request, [job], f"/students/{number}#next")


# --------------------------------------------------------------------------------------------------- one of the takes


def _take_of(shelf: Shelf, number: int, take: int) -> tuple[KeptPlaying, KeptTake]:
    found = shelf.get(KeptTake, take)
    if found.student != number:
        raise SettingsError("shelf.no_record", number=take)
    playing = playing_of(shelf, shelf.get(Student, number))
    return replace(playing, takes=(found,)), found


def _beside(shelf: Shelf, number: int, take: int) -> tuple[KeptTake | None, KeptTake | None]:
    """The takes of a student before and after one, in the order in which they came."""
    takes = sorted(playing_of(shelf, shelf.get(Student, number)).takes, key=lambda one: (one.added, one.number))
    index = next(index for index, one in enumerate(takes) if one.number == take)
    return (takes[index - 1] if index else None), (takes[index + 1] if index + 1 < len(takes) else None)


async def show_take(request: Request) -> Response:
    """GET /students/N/takes/K: a take and its answer in words."""
    studio = studio_of(request)
    number, of = request.path_params["number"], request.path_params["take"]
    playing, take = await studio.shelf.run(_take_of, number, of)
    beside = await studio.shelf.run(_beside, number, of)
    catalogue = studio.catalogue(request)
    version = playing.versions.get(take.version or 0)
    told = await asyncio.to_thread(told_take, playing, version, catalogue)
    before, after = beside
    return page(
        request,
        "take.html",
        before=before,
        after=after,
        told=studio.told_once(),
        student=playing.student,
        take=take,
        lesson=None if version is None else playing.lessons[version.lesson],
        text=told.text,
        everything=told.everything,
        places=told.places,
    )


async def take_sound(request: Request) -> Response:
    """GET /students/N/takes/K/sound: the take as it was sent."""
    studio = studio_of(request)
    _, take = await studio.shelf.run(_take_of, request.path_params["number"], request.path_params["take"])
    path = studio.shelf.file_path(take.sound) if take.sound else None
    if path is None or not path.is_file():
        raise SettingsError("studio.not_found")
    return FileResponse(path)


def _remove_take(shelf: Shelf, number: int, take: int) -> None:
    _, found = _take_of(shelf, number, take)
    with shelf.step("remove_take"):
        shelf.remove(found)


async def remove_take(request: Request) -> Response:
    """POST /students/N/takes/K/remove: take it off the shelf; it can be undone."""
    studio, number = studio_of(request), request.path_params["number"]
    await studio.shelf.run(_remove_take, number, request.path_params["take"])
    studio.tell(studio.catalogue(request).say("studentspage.take_removed"))
    return went(request, f"/students/{number}")


# ------------------------------------------------------------------------------------------------------------ letters


async def new_letter(request: Request) -> Response:
    """POST /students/N/letter: propose a letter about the last take, in a language."""
    studio, form, number = studio_of(request), await form_of(request), request.path_params["number"]
    values = await studio.shelf.run(_one_student, number)
    found = await _progress(studio, values["playing"])
    nexts = _nexts(request).of(number, values["ground"])
    known = nexts["phrases"] if nexts else []
    spoken = studio.spoken(request)
    language = form.get("language") or spoken.language
    # another language names notes in other ways
    words = load_catalogue(language, notes=spoken.notes or None if language == spoken.language else None)
    first = None
    if known:
        tempo = known[0]["tempo"]
        first = FollowingPhrase(known[0]["title"], None if tempo is None else tempo / 100)
    await studio.shelf.run(propose_letter, found, first, words)
    return went(request, f"/students/{number}#letter")


def _own_letter(shelf: Shelf, number: int, letter: int) -> KeptLetter:
    found = shelf.get(KeptLetter, letter)
    if found.student != number:
        raise SettingsError("shelf.no_record", number=letter)
    return found


async def keep_letter(request: Request) -> Response:
    """POST /students/N/letters/K: the letter as the teacher has it."""
    studio, form, number = studio_of(request), await form_of(request), request.path_params["number"]
    letter = await studio.shelf.run(_own_letter, number, request.path_params["letter"])
    await studio.shelf.run(change_letter, letter.number, form.get("text"))
    return went(request, f"/students/{number}#letter", kept=True)


async def letter_file(request: Request) -> Response:
    """GET /students/N/letters/K.txt: the letter as a file."""
    letter = await studio_of(request).shelf.run(
        _own_letter, request.path_params["number"], request.path_params["letter"]
    )
    headers = {"content-disposition": f'attachment; filename="letter-{letter.number}.txt"'}
    return Response(letter.text, media_type="text/plain; charset=utf-8", headers=headers)


# ------------------------------------------------------------------------------------------- out, and gone for good


async def export_student(request: Request) -> Response:
    """GET /students/N/export.zip: all that the shelf has of a student."""
    number = request.path_params["number"]
    return await sent_zip(request, f"student-{number}.zip", student=number)


def _erase(shelf: Shelf, number: int) -> str:
    student = shelf.get(Student, number)
    erase_student(shelf, student)
    return student.name


async def erase(request: Request) -> Response:
    """POST /students/N/erase: a student is erased whole, where the box beside it is ticked."""
    studio, form, number = studio_of(request), await form_of(request), request.path_params["number"]
    if not form.has("sure"):
        raise SettingsError("studio.not_sure")
    name = await studio.shelf.run(_erase, number)
    studio.jobs.new_file(f"student-{number}.zip").unlink(missing_ok=True)
    _nexts(request).forget(number)
    studio.tell(studio.catalogue(request).say("shelf.erased", name=name))
    return went(request, "/students")


ROUTES = [
    Route("/students", show_students),
    Route("/students", add_student, methods=["POST"]),
    Route("/students/takes", add_takes, methods=["POST"]),
    Route("/students/takes/{number:int}", answer_question, methods=["POST"]),
    Route("/students/{number:int}", show_student),
    Route("/students/{number:int}", change_one, methods=["POST"]),
    Route("/students/{number:int}/next", look_for_next, methods=["POST"]),
    Route("/students/{number:int}/takes/{take:int}", show_take),
    Route("/students/{number:int}/takes/{take:int}/sound", take_sound),
    Route("/students/{number:int}/takes/{take:int}/remove", remove_take, methods=["POST"]),
    Route("/students/{number:int}/letter", new_letter, methods=["POST"]),
    Route("/students/{number:int}/letters/{letter:int}", keep_letter, methods=["POST"]),
    Route("/students/{number:int}/letters/{letter:int}.txt", letter_file),
    Route("/students/{number:int}/export.zip", export_student),
    Route("/students/{number:int}/erase", erase, methods=["POST"]),
]
