"""Rehearsing: what to play along with, the screen on which it is played, and the answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reedpath.arrange import level_names
from reedpath.data import as_plain
from reedpath.errors import SettingsError
from reedpath.jobs.arranging import RouteRequest
from reedpath.jobs.band_choices import BandChoice, decode_band
from reedpath.jobs.instruments import HarpChoice, PlayerChoice
from reedpath.jobs.own_harps import own_harps
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.jobs.rehearsal_answers import PICTURE, TAKE, RehearsalAnswer, answer_rehearsal, keep_rehearsal
from reedpath.jobs.rehearsing import (
    MOST_ROUNDS,
    Rehearsal,
    RehearsalWishes,
    lesson_of_phrase,
    lesson_to_rehearse,
    prepare_rehearsal,
)
from reedpath.lesson import Lesson
from reedpath.listen.judging import cents_told
from reedpath.phrase import metre_at
from reedpath.shelf import KeptLesson, KeptPhrase, LessonVersion, PhraseQuery, Shelf, last_version
from reedpath.studio import live_lines, long_note_pages
from reedpath.studio.band_forms import band_fields, band_of
from reedpath.studio.form_answers import begun_at_once
from reedpath.studio.forms import SentForm, form_of, whole_number
from reedpath.studio.open_shelf import students_by_name
from reedpath.studio.pages import Spoken, asks_for_data, page, studio_of
from reedpath.studio.running_jobs import JobState, RunningJob
from reedpath.wording import tempo_words

# phrases that are listed; others are found by their words
LISTED = 40
# cautions of the catalogue that belong to playing along
CAUTIONS = ("ears", "dizzy", "lungs")
# seconds of a note that is judged as a long one
LONG_SECONDS = 1.0


# ------------------------------------------------------------------------------------------------- what to rehearse


def _lessons(shelf: Shelf) -> list[dict[str, Any]]:
    return sorted(
        ({"number": one.number, "title": one.title} for one in shelf.all(KeptLesson)),
        key=lambda one: str(one["title"]).casefold(),
    )


async def choose(request: Request) -> Response:
    """GET /rehearse: lessons, and phrases that are looked for by their words."""
    studio = studio_of(request)
    words = SentForm(list(request.query_params.multi_items())).line("words")
    found, count = await studio.shelf.find(PhraseQuery(words))
    return page(
        request,
        "rehearse_choose.html",
        asked=words,
        lessons=await studio.shelf.run(_lessons),
        phrases=[{"number": one.number, "title": one.title, "key": one.key} for one in found[:LISTED]],
        left_out=max(0, count - LISTED),
    )


# ------------------------------------------------------------------------------------------------------ prepared


def prepare_lesson(
    folder: Path, version: LessonVersion, piece: str, wishes: RehearsalWishes, spoken: Spoken, *, progress: Progress
) -> Rehearsal:
    """A job: the rehearsal of a lesson."""
    lesson = lesson_to_rehearse(version, piece)
    return prepare_rehearsal(folder, lesson, wishes, language=spoken.language, notes=spoken.notes, progress=progress)


def prepare_phrase(
    folder: Path,
    phrase: KeptPhrase,
    request: RouteRequest,
    wishes: RehearsalWishes,
    spoken: Spoken,
    *,
    progress: Progress,
) -> Rehearsal:
    """A job: the rehearsal of a phrase, on the harp asked for or the best of those owned."""
    progress(ProgressStep("surveying", 0, 2))
    lesson = lesson_of_phrase(phrase.data, request, title=phrase.title, notation="sign")
    return prepare_rehearsal(folder, lesson, wishes, language=spoken.language, notes=spoken.notes, progress=progress)


def _wishes(asked: SentForm, kept: BandChoice) -> RehearsalWishes:
    """What an address asks for; of the band, where it says nothing, what is kept with the lesson."""
    rounds, turns = whole_number(asked.get("rounds", "1") or "1"), asked.get("harmonica", "yes")
    is_another_take = asked.has("band-take")
    wishes = RehearsalWishes(
        rung=asked.line("rung"),
        is_played=turns != "no",
        has_band=asked.get("band") == "yes" or turns == "turns" or is_another_take,
        has_click=asked.get("click") == "yes",
        rounds=rounds if turns != "turns" or asked.has("rounds") else 2,
        in_turns=turns == "turns",
        band=band_of(asked, kept),
    )
    wishes.check()  # before any work
    return wishes


def _prepared(request: Request, key: tuple[Any, ...], title: str, *job: Any) -> RunningJob:
    """The job that prepares a rehearsal: the one that did or does, or a new one."""
    studio, state = studio_of(request), request.app.state
    known: dict[tuple[Any, ...], int] = getattr(state, "rehearsals", {})
    state.rehearsals = known
    link = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    found = next((one for one in studio.jobs.all() if one.number == known.get(key)), None)
    if found is None or found.state is JobState.CANCELLED:
        found = studio.jobs.start("rehearse", *job, in_folder=True, title=title, link=link)
        known[key] = found.number
    return found


async def _shown(
    request: Request, job: RunningJob, asked: SentForm, wishes: RehearsalWishes, **about: Any
) -> Response:
    """The rehearsal's screen, or that it is being prepared; what went wrong is told once."""
    if job.error is not None:
        known = request.app.state.rehearsals
        for key in [key for key, number in known.items() if number == job.number]:
            del known[key]
        raise job.error
    if not job.state.is_end:
        return page(request, "rehearse_waiting.html", title=job.title)
    made = job.result
    if not isinstance(made, Rehearsal):
        raise SettingsError("studio.job_ended")
    catalogue = studio_of(request).catalogue(request)
    metre = metre_at(made.lesson.route.phrase, made.lesson.route.phrase.pickup)
    return page(
        request,
        "rehearse.html",
        made=made,
        asked=asked,
        comb=Markup(made.picture.comb),
        strip=Markup(made.picture.strip),
        data=_script_data(made, job.number),
        ladder=[(one.name, tempo_words(one.bpm, metre, catalogue)) for one in made.lesson.ladder],
        rounds=range(1, MOST_ROUNDS + 1),
        wishes=wishes,
        band=band_fields(catalogue, wishes.band),
        cautions=CAUTIONS,
        **about,
    )


def _script_data(made: Rehearsal, number: int) -> dict[str, Any]:
    """What the page's script is told."""
    of_html, unused = ("comb", "strip"), ("places", "beat_rows")
    picture = {name: value for name, value in as_plain(made.picture).items() if name not in (*of_html, *unused)}
    return {
        "live": f"/live?rehearsal={number}",
        "sound": f"/rehearse/prepared/{number}/sound",
        "answer": f"/rehearse/prepared/{number}/answer",
        "name": made.lesson.title,
        "seconds": made.seconds,
        "rounds": made.rounds,
        "counts": made.counts,
        "ends_seconds": made.ends_seconds,
        "tolerance": cents_told(LONG_SECONDS),
        "events": as_plain(made.events),
        "picture": picture | {"clock": made.clock},
    }


async def rehearse_lesson(request: Request) -> Response:
    """GET /rehearse/lessons/N: the last version of a lesson, or a piece of it, played along with."""
    studio, asked = studio_of(request), SentForm(list(request.query_params.multi_items()))
    version = await studio.shelf.run(last_version, request.path_params["number"])
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, version.lesson)
    wishes, piece, title = _wishes(asked, decode_band(lesson.band)), asked.line("piece"), lesson.title
    spoken = studio.spoken(request)
    key = ("lesson", version.uid, piece, wishes, spoken)
    job = _prepared(request, key, title, prepare_lesson, version, piece, wishes, spoken)
    about = {"pieces": list(version.pieces), "piece": piece, "of_phrase": False, "lesson_number": version.lesson}
    return await _shown(request, job, asked, wishes, **about)


async def rehearse_phrase(request: Request) -> Response:
    """GET /rehearse/phrases/N: a phrase on a harp, played along with."""
    studio, asked = studio_of(request), SentForm(list(request.query_params.multi_items()))
    wishes, harp, level = _wishes(asked, BandChoice()), asked.line("harp"), asked.line("level")
    phrase = await studio.shelf.run(Shelf.get, KeptPhrase, request.path_params["number"])
    owned = await studio.shelf.run(own_harps)
    keys = tuple(dict.fromkeys(one.key for one in owned if one.tuning == "standard"))
    route = RouteRequest(
        harp=HarpChoice(key=harp or None), owned=() if harp else keys, player=PlayerChoice(level=level or None)
    )
    spoken = studio.spoken(request)
    key = ("phrase", phrase.digest, phrase.title, route, wishes, spoken)
    job = _prepared(request, key, phrase.title, prepare_phrase, phrase, route, wishes, spoken)
    return await _shown(
        request, job, asked, wishes, of_phrase=True, pieces=[], piece="", lesson_number=None, levels=level_names(),
        keys=long_note_pages.KEYS,
    )  # fmt: skip


def _made(request: Request, kind: type[Any]) -> tuple[RunningJob, Any]:
    """A job of the address that is done, and what it made."""
    job = studio_of(request).jobs.get(request.path_params["number"])
    if job.error is not None:
        raise job.error
    if not isinstance(job.result, kind):
        raise SettingsError("studio.no_job", number=job.number)
    return job, job.result


async def play_along_sound(request: Request) -> Response:
    """GET /rehearse/prepared/J/sound: what is played along with."""
    job, made = _made(request, Rehearsal)
    return FileResponse(job.folder / made.sound, media_type="audio/wav")


# ------------------------------------------------------------------------------------------------------- answered


async def answer(request: Request) -> Response:
    """POST /rehearse/prepared/J/answer: let an uploaded take be answered."""
    studio, form = studio_of(request), await form_of(request)
    _job, made = _made(request, Rehearsal)
    language, notes = studio.spoken(request)
    lesson: Lesson = made.lesson
    upload = form.get("upload")

    async def used_up(made: RehearsalAnswer) -> RehearsalAnswer:
        studio.uploads.drop(upload)
        return made

    path = studio.uploads.path(upload)
    job = studio.jobs.start(
        "answer_rehearsal",
        answer_rehearsal,
        path,
        lesson,
        language,
        notes,
        in_folder=True,
        title=lesson.title,
        then=used_up,
    )
    job.link = f"/rehearse/answers/{job.number}"
    return begun_at_once(request, job, "/work", link=job.link)


async def show_answer(request: Request) -> Response:
    """GET /rehearse/answers/J: the answer in words and as a picture."""
    studio = studio_of(request)
    job, made = _made(request, RehearsalAnswer)
    catalogue = studio.catalogue(request)
    right = (
        catalogue.say("rehearse.right", count=made.right, notes=made.notes)
        if made.notes
        else catalogue.say("rehearse.nothing_heard")
    )
    picture = f"/rehearse/answers/{job.number}/{PICTURE}"
    lines = [line for line in made.text.splitlines() if line.strip()]
    if asks_for_data(request):
        said = {"right_says": right, "right": made.right, "notes": made.notes, "lines": lines, "picture": picture}
        return JSONResponse(said)
    return page(
        request, "rehearse_answer.html", made=made, right=right, picture=picture, number=job.number,
        students=await studio.shelf.run(students_by_name), told=studio.told_once(),
    )  # fmt: skip


async def answer_file(request: Request) -> Response:
    """GET /rehearse/answers/J/take.svg, or the take itself."""
    job, _made_answer = _made(request, RehearsalAnswer)
    name = request.path_params["name"]
    kinds = {PICTURE: "image/svg+xml", TAKE: "audio/flac"}
    if name not in kinds:
        raise SettingsError("studio.not_found")
    return FileResponse(job.folder / name, media_type=kinds[name])


async def keep_take(request: Request) -> Response:
    """POST /rehearse/answers/J/keep: put the take and its answer on the shelf, as a student's."""
    studio, form = studio_of(request), await form_of(request)
    job, made = _made(request, RehearsalAnswer)
    student = whole_number(form.get("student"))
    kept = await studio.shelf.run(keep_rehearsal, job.folder, made, student)
    studio.tell(studio.catalogue(request).say("rehearse.take_kept", name=kept))
    return RedirectResponse(f"/rehearse/answers/{job.number}", 303)


ROUTES = [
    Route("/rehearse", choose),
    Route("/rehearse/lessons/{number:int}", rehearse_lesson),
    Route("/rehearse/phrases/{number:int}", rehearse_phrase),
    Route("/rehearse/prepared/{number:int}/sound", play_along_sound),
    Route("/rehearse/prepared/{number:int}/answer", answer, methods=["POST"]),
    Route("/rehearse/answers/{number:int}", show_answer),
    Route("/rehearse/answers/{number:int}/keep", keep_take, methods=["POST"]),
    Route("/rehearse/answers/{number:int}/{name}", answer_file),
    *long_note_pages.ROUTES,
    *live_lines.ROUTES,
]
