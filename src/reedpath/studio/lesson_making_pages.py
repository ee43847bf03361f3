"""Lessons made and shown: the folder built as a job, its files, hand-out, page and film previewed in place."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from reedpath.errors import SettingsError
from reedpath.film import FilmWishes
from reedpath.jobs.band_choices import BandChoice, decode_band, encode_band
from reedpath.jobs.band_sounds import KeptBandSound, kept_band_sounds, make_band_sounds_of_version
from reedpath.jobs.footage_of_versions import make_film_of_version
from reedpath.jobs.lesson_pages import too_many_megabytes
from reedpath.jobs.lesson_views import LessonView
from reedpath.jobs.progress import Progress
from reedpath.jobs.shelf_lessons import keep_made_version, make_kept_lesson
from reedpath.shelf import KeptFiles, KeptLesson, LessonVersion, Shelf, last_version, version_list, version_numbered
from reedpath.studio.band_forms import band_of
from reedpath.studio.form_answers import begun_at_once
from reedpath.studio.forms import form_of
from reedpath.studio.lesson_desks import file_keeper
from reedpath.studio.pages import Studio, page, studio_of

# kinds of files as they are sent, by their endings (IANA media types); all others are only to be kept
TYPES = {
    ".html": "text/html; charset=utf-8", ".pdf": "application/pdf", ".svg": "image/svg+xml", ".png": "image/png",
    ".mp3": "audio/mpeg", ".wav": "audio/wav", ".flac": "audio/flac", ".opus": "audio/ogg",
    ".mp4": "video/mp4", ".webm": "video/webm", ".mov": "video/quicktime",
    ".mkv": "video/x-matroska", ".vtt": "text/vtt; charset=utf-8", ".txt": "text/plain; charset=utf-8",
    ".md": "text/plain; charset=utf-8", ".mid": "audio/midi", ".musicxml": "application/vnd.recordare.musicxml+xml",
}  # fmt: skip
# what the students' page may do in its frame: what it brings along, and nothing of the studio's (W3C, Content
# Security Policy Level 3); the frame is sandboxed, so that it is of no origin
PAGE_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
    "media-src data: blob:; font-src data:; connect-src data:; frame-ancestors 'self'; sandbox allow-scripts"
)
# a picture that is a document may load and run nothing
QUIET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'; sandbox"
# a sheet is shown by the browser's own reader, which a sandbox keeps from running
SHEET_POLICY = "default-src 'none'; object-src 'self'; frame-ancestors 'self'"
# kinds of sound files that are offered, the one that is easiest to send first
SOUND_FORMATS = ("mp3", "wav", "flac", "opus")
# names of what is previewed
SHEET, PAGE, FILM, CUT_FILM = "sheet.pdf", "lesson.html", "film.mp4", "my-film.mp4"


class LessonPreviews(Struct, frozen=True):
    """What is made of a lesson.

    version : the last version of which something is made; None where nothing is.
    is_last : whether that is the lesson as it is now.
    films : the films of it: file, and captions by language.
    large_megabytes : of the page, where that is too large for e-mail, else 0.
    files : names of all. sounds : play-alongs with a band, of the lesson as it is now.
    """

    version: int | None = None
    is_last: bool = False
    sheet: str = ""
    page: str = ""
    films: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    files: tuple[str, ...] = ()
    job: int = 0
    sounds: tuple[KeptBandSound, ...] = ()
    large_megabytes: int = 0


def _made_version(shelf: Shelf, number: int) -> LessonVersion | None:
    """The last version of which something is made that can be shown."""
    for facts in version_list(shelf, number):
        if facts.files:
            version = shelf.get(LessonVersion, facts.number)
            if any(name.rpartition("/")[2] in (SHEET, PAGE, FILM, CUT_FILM) for name in version.files):
                return version
    return None


def _captions(version: LessonVersion, film: str) -> tuple[tuple[str, str], ...]:
    stem = film.removesuffix(".mp4")
    found = []
    for name in version.files:
        middle = name.removeprefix(f"{stem}.").removesuffix(".vtt")
        if name == f"{stem}.{middle}.vtt" and "." not in middle:
            found.append((middle, name))
    return tuple(found)


def _large_megabytes(studio: Studio, version: LessonVersion) -> int:
    page = studio.shelf.file_path(version.files[PAGE]) if PAGE in version.files else None
    return too_many_megabytes(page.stat().st_size) if page is not None and page.is_file() else 0


async def made_of(request: Request, lesson: KeptLesson, last: LessonVersion, view: LessonView) -> LessonPreviews:
    """What is made of a lesson, of its last version or an earlier one."""
    studio = studio_of(request)
    version = await studio.shelf.run(_made_version, lesson.number)
    link = f"/lessons/{lesson.number}"
    running = [job.number for job in studio.jobs.all() if job.link == link and not job.state.is_end]
    job = running[0] if running else 0
    sounds = kept_band_sounds(studio.shelf.files, last)
    if version is None:
        return LessonPreviews(job=job, sounds=sounds)
    films = [name for name in version.files if name.rpartition("/")[2] in (FILM, CUT_FILM)]
    return LessonPreviews(
        version.version,
        version.version == last.version,
        SHEET if SHEET in version.files else "",
        PAGE if PAGE in version.files else "",
        tuple((name, _captions(version, name)) for name in films),
        tuple(sorted(version.files)),
        job,
        sounds,
        _large_megabytes(studio, version),
    )


# ------------------------------------------------------------------------------------------------------- made as jobs


def _make(
    files: KeptFiles, version: LessonVersion, earlier: LessonVersion | None, band: BandChoice, sounds: str, *,
    progress: Progress,
) -> LessonVersion:  # fmt: skip
    made = make_kept_lesson(files, version, earlier=earlier, progress=progress)
    if not sounds:
        return made
    return replace(made, files=make_band_sounds_of_version(files, made, band, sounds, progress=progress))


async def make_lesson(request: Request) -> Response:
    """POST /lessons/N/make: everything of the lesson's folder is made; its files are kept with the version."""
    studio, number = studio_of(request), request.path_params["number"]
    version = await studio.shelf.run(last_version, number)
    earlier = await studio.shelf.run(_made_version, number)
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, number)

    async def keep(made: LessonVersion) -> int:
        return (await studio.shelf.run(keep_made_version, made)).version

    link = f"/lessons/{number}"
    band, sounds = decode_band(lesson.band), lesson.band_sounds
    job = studio.jobs.start(
        "make", _make, studio.shelf.files, version, earlier, band, sounds, title=lesson.title, link=link, then=keep
    )
    return begun_at_once(request, job, f"{link}#made")


def _keep_band(shelf: Shelf, number: int, band: BandChoice, sounds: str) -> KeptLesson:
    lesson = shelf.get(KeptLesson, number)
    chosen = replace(lesson, band=encode_band(band), band_sounds=sounds)
    if chosen != lesson:
        with shelf.step("lesson"):
            shelf.change(chosen)
    return chosen


async def choose_band(request: Request) -> Response:
    """POST /lessons/N/band: what the band does is kept with the lesson; the play-alongs are made where asked."""
    studio, number, form = studio_of(request), request.path_params["number"], await form_of(request)
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, number)
    band, format = band_of(form, decode_band(lesson.band)), form.get("band-format", SOUND_FORMATS[0])
    if format not in SOUND_FORMATS:
        raise SettingsError("studio.no_form")
    sounds = format if form.has("band-with-lesson") else ""
    await studio.shelf.run(_keep_band, number, band, sounds)
    link = f"/lessons/{number}"
    if not (form.has("make") or form.has("band-take")):
        studio.tell(studio.catalogue(request).say("band.kept"))
        return RedirectResponse(f"{link}#band", 303)
    version = await studio.shelf.run(last_version, number)

    job = studio.jobs.start(
        "band", make_band_sounds_of_version, studio.shelf.files, version, band, format, title=lesson.title, link=link,
        then=file_keeper(studio, version),
    )  # fmt: skip
    return begun_at_once(request, job, f"{link}#band")


async def make_film(request: Request) -> Response:
    """POST /lessons/N/film/make: the film of the lesson alone."""
    studio, number, form = studio_of(request), request.path_params["number"], await form_of(request)
    wishes = FilmWishes(
        form.get("screen", "landscape"), form.get("palette", "night"), form.get("language"),
        with_steps=form.has("steps"),
    )  # fmt: skip
    version = await studio.shelf.run(last_version, number)
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, number)

    link = f"/lessons/{number}"
    job = studio.jobs.start(
        "film", make_film_of_version, studio.shelf.files, version, wishes, title=lesson.title, link=link,
        then=file_keeper(studio, version),
    )  # fmt: skip
    return begun_at_once(request, job, f"{link}#made")


# -------------------------------------------------------------------------------------------------------------- files


def _policy(ending: str) -> dict[str, str]:
    policy = {".html": PAGE_POLICY, ".svg": QUIET_POLICY, ".pdf": SHEET_POLICY}.get(ending)
    return {} if policy is None else {"content-security-policy": policy}


async def get_file(request: Request) -> Response:
    """GET /lessons/N/versions/V/files/NAME: a file of a version; its name is looked up and never a path."""
    studio, params = studio_of(request), request.path_params
    version = await studio.shelf.run(version_numbered, params["number"], params["version"])
    name = params["name"]
    if name not in version.files:
        raise SettingsError("studio.not_found")
    ending = PurePosixPath(name).suffix.lower()
    sent: dict[str, Any] = {"headers": _policy(ending)}
    if ending not in TYPES or "save" in request.query_params:
        sent["filename"] = name.rpartition("/")[2]
    kept = studio.shelf.file_path(version.files[name])
    return FileResponse(kept, media_type=TYPES.get(ending, "application/octet-stream"), **sent)


async def show_page(request: Request) -> Response:
    """GET /lessons/N/versions/V: what a version is made of, previewed."""
    studio, params = studio_of(request), request.path_params
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, params["number"])
    version = await studio.shelf.run(version_numbered, params["number"], params["version"])
    return page(request, "lesson_files.html", lesson=lesson, version=version, files=sorted(version.files))


ROUTES: list[BaseRoute] = [
    Route("/lessons/{number:int}/make", make_lesson, methods=["POST"]),
    Route("/lessons/{number:int}/band", choose_band, methods=["POST"]),
    Route("/lessons/{number:int}/film/make", make_film, methods=["POST"]),
    Route("/lessons/{number:int}/versions/{version:int}", show_page),
    Route("/lessons/{number:int}/versions/{version:int}/files/{name:path}", get_file),
]
