"""The workbench's pages: drafts, a phrase as ribbon, staff and tab, what can be said of it, and its sounds."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.requests import HTTPConnection, Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from reedpath.arrange import level_names
from reedpath.errors import ReedpathError, SettingsError
from reedpath.harp import format_move, load_tuning, notation_names, parse_move
from reedpath.jobs.instruments import known_tunings
from reedpath.jobs.workbench import (
    BroughtFile,
    Draft,
    HeardSpan,
    PartPlayed,
    PartSound,
    draft_of_phrase,
    encode_draft,
    hear_span,
    read_brought,
    save_lesson,
    save_phrase,
    sound_of_part,
    sound_of_source,
    typed_formats,
    waveform_of,
)
from reedpath.jobs.workbench.commands import BringPhrase, Choose, NoteKept, TypeSource
from reedpath.jobs.workbench.draft import NOTATION
from reedpath.jobs.workbench.messages import WorkbenchMessage, WorkbenchView
from reedpath.phrase import decode_phrase
from reedpath.shelf import Shelf, all_drafts, new_draft, put_away
from reedpath.signal import Waveform
from reedpath.studio.band_forms import band_of
from reedpath.studio.bench_forms import command_of, sound_of
from reedpath.studio.bench_panels import panels_of
from reedpath.studio.bench_windows import BenchWindow
from reedpath.studio.benches import OpenBench, OpenBenches
from reedpath.studio.form_answers import begun, result_of, went
from reedpath.studio.forms import decimal_number, form_of, tempo_of
from reedpath.studio.pages import asks_for_data, page, studio_of
from reedpath.wording import error_words

# seconds that a page waits for what is found out at rest: of a short phrase all of it, and nobody notices
REST_SECONDS = 0.3
# moves, as commands write them, by which a person sees how a notation writes
SAMPLE_MOVES = ("+4", "-4", "-4'")
# words that the scripts say
WORDS = ("workbench",)
# endings of recordings; all else is read as a source (`signal` tells what it really is)
RECORDINGS = (
    *(".wav", ".flac", ".mp3", ".ogg", ".opus", ".m4a", ".aac", ".webm", ".mp4", ".mov", ".aiff", ".aif"),
    *(".amr", ".awb", ".3gp"),
)


def _benches(connection: HTTPConnection) -> OpenBenches:
    benches: OpenBenches = connection.app.state.benches
    return benches


async def _bench(connection: HTTPConnection, number: int | None = None) -> OpenBench:
    number = connection.path_params["number"] if number is None else number
    return await _benches(connection).get(number, studio_of(connection).spoken(connection))


# ------------------------------------------------------------------------------------------------------- drafts


async def show_drafts(request: Request) -> Response:
    """GET /workbench: the drafts, and a place to begin one."""
    studio = studio_of(request)
    drafts = await studio.shelf.run(all_drafts)
    return page(request, "workbench_drafts.html", drafts=drafts, words=WORDS, told=studio.told_once())


async def begin_draft(request: Request) -> Response:
    """POST /workbench: a draft of what was pasted; an empty one for nothing."""
    form = await form_of(request)
    number = await studio_of(request).shelf.run(new_draft, encode_draft(Draft()))
    if form.get("text").strip():
        bench = await _bench(request, number)
        await bench.ask(TypeSource(text=form.get("text")))
    return went(request, f"/workbench/{number}")


async def open_phrase(request: Request) -> Response:
    """GET /workbench/phrases/N: the draft of a phrase of the shelf."""
    number = await studio_of(request).shelf.run(draft_of_phrase, request.path_params["number"])
    return RedirectResponse(f"/workbench/{number}", 303)


async def put_draft_away(request: Request) -> Response:
    """POST /workbench/N/away: put a draft away, or take it out again."""
    form, number = await form_of(request), request.path_params["number"]
    await studio_of(request).shelf.run(put_away, number, away=form.get("away", "1") == "1")
    return went(request, "/workbench")


# -------------------------------------------------------------------------------------------------- one workbench


@cache
def notation_samples() -> dict[str, str]:
    """The notations by their names, each with a blow note, a draw note and its bend as it writes them."""
    shown = [parse_move(text, NOTATION, tuning=load_tuning("standard")) for text in SAMPLE_MOVES]
    return {name: " ".join(format_move(move, name) for move in shown) for name in notation_names()}


def _values(request: HTTPConnection, bench: OpenBench, tunings: Sequence[str]) -> dict[str, Any]:
    """What the panels of a workbench are made of."""
    return {
        "bench": bench,
        "catalogue": studio_of(request).catalogue(request),
        "tunings": tunings,
        "levels": level_names(),
        "notations": notation_samples(),
    }


async def show_workbench(request: Request) -> Response:
    """GET /workbench/N."""
    studio = studio_of(request)
    number = request.path_params["number"]
    bench = await _benches(request).get(number, studio.spoken(request), looks_again=True)
    view = await bench.show_all(studio.spoken(request))
    await bench.rest(REST_SECONDS if view.notes else 0.0)
    values = _values(request, bench, known_tunings())
    return page(
        request,
        "workbench.html",
        drawn=Markup,  # ribbon and staff are the program's own drawings, which have put each text in as a text
        panels=panels_of(values, None).panels,
        sound=_sound_asked(request),
        formats=typed_formats(),
        words=WORDS,
        told=studio.told_once(),
        **{name: value for name, value in values.items() if name != "catalogue"},
    )


def _sound_asked(request: Request) -> str:
    """The address of the sound that a form without scripts asked for."""
    job = request.query_params.get("sound", "")
    return f"/workbench/{request.path_params['number']}/sounds/{int(job)}" if job.isdigit() else ""


async def do_command(request: Request) -> Response:
    """POST /workbench/N: carry out what a form says."""
    form, bench = await form_of(request), await _bench(request)
    fields, catalogue = {name: value for name, value in form.fields}, studio_of(request).catalogue(request)
    if fields.get("do") == "look":
        await bench.send(command_of(fields, catalogue))
    else:
        await bench.ask(command_of(fields, catalogue))
    at = fields.get("at", "")
    return went(request, f"/workbench/{bench.number}{f'#{at}' if at.isidentifier() else ''}")


async def save_draft(request: Request) -> Response:
    """POST /workbench/N/save: put the phrase on the shelf, or a lesson of it."""
    studio, form, bench = studio_of(request), await form_of(request), await _bench(request)
    catalogue = studio.catalogue(request)
    given = await bench.lesson(tuple(dict.fromkeys((catalogue.name, "en", "fr"))))
    if not given.lesson:
        raise SettingsError("studio.nothing_to_save")
    draft = bench.draft
    if form.get("as") == "lesson":
        lesson = await studio.shelf.run(save_lesson, draft, given.lesson)
        return went(request, f"/lessons/{lesson}")
    kept = await studio.shelf.run(save_phrase, draft, given.lesson)
    await bench.ask(NoteKept(uid=kept.uid))
    studio.tell(catalogue.say("workbench.saved", title=kept.title))
    return went(request, f"/workbench/{bench.number}")


# ---------------------------------------------------------------------------------------------- files and recordings


def _keep_file(shelf: Shelf, path: Path, name: str) -> str:
    with path.open("rb") as file:
        return shelf.files.keep(file, name=name)


async def bring_file(request: Request) -> Response:
    """POST /workbench/N/bring: a file that was sent, a source or a recording."""
    studio, form, bench = studio_of(request), await form_of(request), await _bench(request)
    sent = studio.uploads.get(form.get("upload"))
    try:
        if sent.name.lower().endswith(RECORDINGS):
            sound = await studio.shelf.run(_keep_file, sent.path, sent.name)
            await bench.ask(BringPhrase(recording=HeardSpan(sound=sound, name=sent.name[:200]), name=sent.name[:200]))
        else:
            which = form.line("which")
            options = {form.line("of", "part"): int(which) if which.isdigit() else which} if which else {}
            job = studio.jobs.start("read_source", read_brought, sent.path, sent.name, options, title=sent.name)
            brought: BroughtFile = await result_of(job)
            if brought.text:
                await bench.ask(TypeSource(text=brought.text))
            else:
                await bench.ask(BringPhrase(phrase=decode_phrase(brought.phrase), name=sent.name[:200]))
    finally:
        studio.uploads.drop(sent.id)
    return went(request, f"/workbench/{bench.number}")


def _recording(bench: OpenBench, request: Request) -> tuple[HeardSpan, Path]:
    heard = bench.draft.recording
    if heard is None:
        raise SettingsError("studio.no_source")
    path = studio_of(request).shelf.file_path(heard.sound)
    if not path.is_file():
        raise SettingsError("studio.lost_recording", name=heard.name)
    return heard, path


async def show_waveform(request: Request) -> Response:
    """GET /workbench/N/waveform: of the recording that was brought in."""
    studio, bench = studio_of(request), await _bench(request)
    heard, path = _recording(bench, request)
    known: dict[str, Waveform] = request.app.state.__dict__.setdefault("waveforms", {})
    if heard.sound not in known:
        job = studio.jobs.start("waveform", waveform_of, path, title=heard.name)
        known[heard.sound] = await result_of(job)
    found = known[heard.sound]
    return JSONResponse({"seconds": found.seconds, "peaks": found.peaks})


async def send_recording(request: Request) -> Response:
    """GET /workbench/N/recording: the recording itself, any part of it (RFC 9110, 14)."""
    heard, path = _recording(await _bench(request), request)
    return FileResponse(path, filename=heard.name, content_disposition_type="inline")


async def hear_recording(request: Request) -> Response:
    """POST /workbench/N/hear: begin to write down what a stretch of the recording plays, or the lead of a record."""
    studio, form, bench = studio_of(request), await form_of(request), await _bench(request)
    benches, number, spoken = _benches(request), bench.number, studio.spoken(request)
    heard, path = _recording(bench, request)
    start = decimal_number(form.get("start") or "0")
    end = decimal_number(form.get("end")) if form.get("end") else None
    harp, bpm, lead = form.line("harp"), form.line("bpm"), form.has("lead")
    known_bpm, title = tempo_of(bpm) if bpm else None, Path(heard.name).stem
    span = HeardSpan(
        sound=heard.sound,
        name=heard.name,
        start_seconds=start,
        end_seconds=end,
        harp=harp,
        lead=lead,
        chords=form.has("chords"),
        octaves=form.has("octaves"),
    )

    async def brought(data: bytes) -> bool:
        phrase = decode_phrase(data)
        if not phrase.events:
            raise SettingsError("studio.nothing_heard")
        there = await benches.get(number, spoken)  # opened again where its window was closed meanwhile
        await there.ask(BringPhrase(phrase=phrase, name=heard.name, recording=span))
        return True

    what = "hear_lead" if lead else "hear"
    address = f"/workbench/{number}"
    asked = (path, span, known_bpm, title)
    job = studio.jobs.start(what, hear_span, *asked, title=heard.name, link=address, then=brought)
    return await begun(request, [job], address)


# ------------------------------------------------------------------------------------------------------- sounds


async def make_sound(request: Request) -> Response:
    """POST /workbench/N/sound: a part at a tempo, by who is to play it."""
    studio, form, bench = studio_of(request), await form_of(request), await _bench(request)
    view = bench.view or await bench.show_all(bench.spoken)
    first, last, bpm = sound_of(dict(form.fields), len(view.notes))
    if form.has("source"):
        heard, path = _recording(bench, request)
        share = (bpm / view.facts.bpm) if bpm and view.facts else 1.0
        start, end = _seconds_of(view, heard, first, last)
        job = studio.jobs.start("slow", sound_of_source, path, start, end, share, in_folder=True, title=heard.name)
    else:
        given = await bench.lesson(("en",))
        if not given.lesson:
            raise SettingsError("studio.nothing_to_save")
        chosen, has_band = band_of(form, bench.draft.band), form.has("band") or form.has("band-take")
        if chosen != bench.draft.band:
            await bench.ask(Choose(band=chosen))
        wanted = PartSound(first, last, bpm, form.has("harp"), has_band, form.has("click"), chosen)
        job = studio.jobs.start(
            "part", sound_of_part, given.lesson.encode(), wanted, in_folder=True, title=given.title
        )
    played: PartPlayed = await result_of(job)
    if asks_for_data(request):
        notes = [[one.event, one.start_seconds, one.end_seconds] for one in played.notes]
        return JSONResponse({"sound": f"/workbench/{bench.number}/sounds/{job.number}", "notes": notes})
    return RedirectResponse(f"/workbench/{bench.number}?sound={job.number}#play", 303)


def _seconds_of(view: WorkbenchView, heard: HeardSpan, first: int, last: int) -> tuple[float, float | None]:
    """The stretch of a recording in which events were heard: to the start of the one after the last."""
    there = [(index, note.seconds) for index, note in enumerate(view.notes) if note.seconds is not None]
    start = next((seconds for index, seconds in there if index >= first), heard.start_seconds)
    end = next((seconds for index, seconds in there if index > last), heard.end_seconds)
    return start, end if end is None or end > start else None


async def send_sound(request: Request) -> Response:
    """GET /workbench/N/sounds/JOB: a sound that was made."""
    job = studio_of(request).jobs.get(request.path_params["job"])
    if not isinstance(job.result, PartPlayed):
        raise SettingsError("studio.not_found")
    return FileResponse(job.folder / job.result.file, media_type="audio/wav")


# --------------------------------------------------------------------------------------------------------- live


async def live(socket: WebSocket) -> None:
    """WebSocket /workbench/live?draft=N: what is said in forms, and the panels that change."""
    text = socket.query_params.get("draft", "")
    await socket.accept()
    try:
        bench = await _bench(socket, int(text) if text.isdigit() else 0)
    except ReedpathError:
        await socket.close(1008)
        return
    catalogue, spoken = studio_of(socket).catalogue(socket), studio_of(socket).spoken(socket)
    window, tunings = BenchWindow(), known_tunings()  # which asks the disk: once for a window

    async def shown(told: WorkbenchMessage) -> None:
        with suppress(WebSocketDisconnect):  # a window that has just been closed
            await socket.send_text(json.dumps(window.told(told, _values(socket, bench, tunings)), ensure_ascii=False))

    bench.watching.add(shown)
    _benches(socket).watched(bench.number)
    try:
        while True:
            fields: Mapping[str, Any] = await socket.receive_json()
            if not isinstance(fields, dict):
                raise ValueError(fields)
            try:
                if fields.get("do") == "show":
                    await bench.show_all(spoken, layout=str(fields.get("layout", "")))
                else:
                    said = {str(name): str(value) for name, value in fields.items()}
                    await bench.send(command_of(said, catalogue))
            except ReedpathError as error:
                await socket.send_json({"says": catalogue.sentence(error_words(error, catalogue))})
                if bench.ended.is_set():
                    await socket.close(1011)
                    return
    except (WebSocketDisconnect, ValueError, RuntimeError):
        with suppress(RuntimeError):
            await socket.close()
    finally:
        bench.watching.discard(shown)
        _benches(socket).left(bench.number)


ROUTES = [
    Route("/workbench", show_drafts),
    Route("/workbench", begin_draft, methods=["POST"]),
    Route("/workbench/phrases/{number:int}", open_phrase),
    Route("/workbench/{number:int}", show_workbench),
    Route("/workbench/{number:int}", do_command, methods=["POST"]),
    Route("/workbench/{number:int}/away", put_draft_away, methods=["POST"]),
    Route("/workbench/{number:int}/save", save_draft, methods=["POST"]),
    Route("/workbench/{number:int}/bring", bring_file, methods=["POST"]),
    Route("/workbench/{number:int}/waveform", show_waveform),
    Route("/workbench/{number:int}/recording", send_recording),
    Route("/workbench/{number:int}/hear", hear_recording, methods=["POST"]),
    Route("/workbench/{number:int}/sound", make_sound, methods=["POST"]),
    Route("/workbench/{number:int}/sounds/{job:int}", send_sound),
    WebSocketRoute("/workbench/live", live),
]
