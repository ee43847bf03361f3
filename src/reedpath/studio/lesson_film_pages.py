"""The teacher's own film of a lesson: dropped in or recorded with the prompter, lined up, cut on its time line."""

from __future__ import annotations

from functools import partial
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from reedpath.data import as_plain, replace
from reedpath.errors import SettingsError
from reedpath.film import CutOrder, CutPiece, FilmCut, TakeWishes, checked_cut
from reedpath.jobs.footage_of_versions import (
    KeptFootage,
    footage_inside,
    footage_of,
    keep_cut,
    line_up_footage,
    make_film_of_footage,
    put_own_files,
    without_film,
)
from reedpath.jobs.lesson_views import LessonView
from reedpath.shelf import KeptFiles, KeptLesson, LessonVersion, Shelf, last_version
from reedpath.studio.form_answers import begun_at_once, kept
from reedpath.studio.forms import SentForm, decimal_number, form_of, number_if_any, whole_number
from reedpath.studio.lesson_desks import desk_of, file_keeper
from reedpath.studio.pages import page, studio_of

# decimals of a second, as the time line and its table have them
DECIMALS = 2


async def _asked(request: Request, text: str) -> tuple[int | None, KeptLesson, LessonVersion, str]:
    """The piece that a form or an address names, its lesson, the last version of it, and where footage lies there."""
    piece = number_if_any(text)
    studio, number = studio_of(request), request.path_params["number"]
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, number)
    version = await studio.shelf.run(last_version, number)
    if piece is not None and piece >= max(1, len(version.pieces)):
        raise SettingsError("lesson.no_such_piece", number=piece + 1, count=len(version.pieces))
    return piece, lesson, version, footage_inside(tuple(version.pieces), piece)


def _files(request: Request) -> KeptFiles:
    return studio_of(request).shelf.files


def _link(number: int, piece: int | None) -> str:
    return f"/lessons/{number}/film" + ("" if piece is None else f"?piece={piece}")


def _rows(cut: FilmCut, view: LessonView, piece: int | None) -> list[dict[str, Any]]:
    """The stretches as the page shows them."""
    events = view.pieces[piece or 0].events
    rows = []
    for one in cut.pieces:
        played = ""
        if one.first is not None and one.last is not None and one.last < len(events):
            played = f"{events[one.first].number}-{events[one.last].number}"
        rows.append({**as_plain(one), "played": played, "seconds": round(one.seconds, DECIMALS)})
    return rows


def _timeline(footage: KeptFootage, view: LessonView, piece: int | None, addresses: list[str]) -> dict[str, Any]:
    assert footage.cut is not None
    assert footage.heard is not None
    return {
        "films": [
            {"name": name, "seconds": seconds, "address": address, "loudness": loud}
            for name, seconds, address, loud in zip(
                footage.cut.films, footage.cut.lengths, addresses, footage.heard.loudness_db, strict=True
            )
        ],
        "pieces": _rows(footage.cut, view, piece),
        "clocks": as_plain(footage.cut.clocks),
    }


def _together(cut: FilmCut) -> tuple[tuple[int, ...], ...]:
    """For each film those that may show its stretches, itself among them; nothing where no two ran together."""
    films = range(len(cut.films))
    return tuple(tuple(other for other in films if cut.clock(film, other)) for film in films) if cut.clocks else ()


async def show_film(request: Request) -> Response:
    """GET /lessons/N/film?piece=0: her films and the cut."""
    studio = studio_of(request)
    piece, lesson, version, _ = await _asked(request, request.query_params.get("piece", ""))
    view = await desk_of(request).view(version, studio.spoken(request))
    piece = (piece or 0) if view.is_of_pieces else None
    inside = footage_inside(tuple(version.pieces), piece)
    footage = footage_of(_files(request), version, inside)
    addresses = [f"/lessons/{lesson.number}/versions/{version.version}/files/{name}" for name in footage.films]
    link = _link(lesson.number, piece)
    running = [job.number for job in studio.jobs.all() if job.link == link and not job.state.is_end]
    cut_film = f"{inside}my-film.mp4"
    return page(
        request,
        "lesson_film.html",
        lesson=lesson,
        version=version,
        view=view,
        piece=piece,
        footage=footage,
        films=list(zip(footage.films, addresses, strict=True)),
        rows=_rows(footage.cut, view, piece) if footage.cut else [],
        together=_together(footage.cut) if footage.cut else (),
        timeline=_timeline(footage, view, piece, addresses) if footage.cut else None,
        made=cut_film if cut_film in version.files else "",
        job=running[0] if running else 0,
        told=studio.told_once(),
    )


# ----------------------------------------------------------------------------------------------------------- lined up


async def add_footage(request: Request) -> Response:
    """POST /lessons/N/film: films that were uploaded are kept and lined up."""
    studio, form = studio_of(request), await form_of(request)
    piece, lesson, version, inside = await _asked(request, form.get("piece"))
    order = CutOrder.TAUGHT if form.get("order") == CutOrder.TAUGHT else CutOrder.FILMED
    uploads = form.all("upload")
    new = tuple(studio.uploads.path(one) for one in uploads)
    if not new and not footage_of(_files(request), version, inside).films:
        raise SettingsError("studio.nothing_given")

    async def keep(made: dict[str, str]) -> int:
        kept = await studio.shelf.run(partial(put_own_files, lesson=lesson.number, files=made, what="footage"))
        for one in uploads:
            studio.uploads.drop(one)
        return kept.version

    link = _link(lesson.number, piece)
    line_up = partial(line_up_footage, piece=piece, inside=inside, order=order)
    job = studio.jobs.start(
        "lineup", line_up, _files(request), version, new, title=lesson.title, link=link, then=keep
    )
    return begun_at_once(request, job, link)


async def remove_footage(request: Request) -> Response:
    """POST /lessons/N/film/remove: one of her films goes; the cut is proposed anew of what is left."""
    studio, form = studio_of(request), await form_of(request)
    piece, lesson, version, inside = await _asked(request, form.get("piece"))
    gone = without_film(version, form.get("name"), inside)
    await studio.shelf.run(partial(put_own_files, lesson=lesson.number, files={}, gone=gone, what="footage"))
    return RedirectResponse(_link(lesson.number, piece), 303)


# ------------------------------------------------------------------------------------------------------------ the cut


def _seconds(text: str) -> float:
    return round(max(0.0, decimal_number(text)), 4)


def _corrected(cut: FilmCut, form: SentForm) -> FilmCut:
    """A cut as the table has it: fields "start 3" and "end 3", "keep 3", "seen 3", the film that
    shows it, and "place 3", counted from 1, or "order" where that was changed.
    """
    pieces: list[CutPiece] = []
    for index, piece in enumerate(cut.pieces):
        if not form.has(f"start {index}"):
            pieces.append(piece)
            continue
        start, end = _seconds(form.get(f"start {index}")), _seconds(form.get(f"end {index}"))
        # what the table rounds is not changed by it
        start = piece.start_seconds if abs(start - piece.start_seconds) < 10**-DECIMALS else start
        end = piece.end_seconds if abs(end - piece.end_seconds) < 10**-DECIMALS else end
        seen = piece.seen
        if form.has(f"seen {index}"):
            shown = whole_number(form.get(f"seen {index}"))
            seen = None if shown == piece.film else shown
        pieces.append(replace(piece, start_seconds=start, end_seconds=end, keep=form.has(f"keep {index}"), seen=seen))
    pieces = _placed(pieces, form)
    for text in form.all("split"):
        number, _, at = text.partition(" ")
        pieces = _split(pieces, whole_number(number), _seconds(at))
    order = [whole_number(one) for one in form.get("order").split(",") if one.strip()]
    if sorted(order) == list(range(len(pieces))):
        pieces = [pieces[one] for one in order]
    return checked_cut(replace(cut, pieces=tuple(pieces)))


def _placed(pieces: list[CutPiece], form: SentForm) -> list[CutPiece]:
    """The stretches, those that are given another place moved there."""
    wanted = {
        index: min(max(1, whole_number(form.get(f"place {index}"))), len(pieces))
        for index in range(len(pieces))
        if form.get(f"place {index}")
    }
    order = list(range(len(pieces)))
    for index, place in sorted(wanted.items(), key=lambda one: one[1]):
        if place != index + 1:
            order.remove(index)
            order.insert(place - 1, index)
    return [pieces[index] for index in order]


def _split(pieces: list[CutPiece], index: int, at: float) -> list[CutPiece]:
    """A stretch in two."""
    if index >= len(pieces) or not pieces[index].start_seconds < at < pieces[index].end_seconds:
        return pieces
    one = pieces[index]
    return [*pieces[:index], replace(one, end_seconds=at), replace(one, start_seconds=at), *pieces[index + 1 :]]


async def set_cut(request: Request) -> Response:
    """POST /lessons/N/film/cut: the cut corrected by hand."""
    studio, form = studio_of(request), await form_of(request)
    piece, lesson, version, inside = await _asked(request, form.get("piece"))
    footage = footage_of(_files(request), version, inside)
    if footage.cut is None:
        raise SettingsError("film.no_footage")
    cut = _corrected(footage.cut, form)
    if cut != footage.cut:
        made = keep_cut(_files(request), cut, inside)
        await studio.shelf.run(partial(put_own_files, lesson=lesson.number, files=made, what="cut"))
    told = studio.catalogue(request).say("lesson.cut_kept", count=round(cut.seconds))
    view = await desk_of(request).view(version, studio.spoken(request))
    return kept(request, told, _link(lesson.number, piece), seconds=cut.seconds, pieces=_rows(cut, view, piece))


async def make_cut(request: Request) -> Response:
    """POST /lessons/N/film/made: her film is cut, with the strip over it or beside it."""
    studio, form = studio_of(request), await form_of(request)
    piece, lesson, version, inside = await _asked(request, form.get("piece"))
    wishes = TakeWishes(
        form.get("side", "over"), form.get("frame", "landscape"), form.get("palette", "night"), form.get("language")
    )
    link = _link(lesson.number, piece)
    make = partial(make_film_of_footage, piece=piece, inside=inside)
    job = studio.jobs.start(
        "film", make, _files(request), version, wishes, title=lesson.title, link=link,
        then=file_keeper(studio, version),
    )  # fmt: skip
    return begun_at_once(request, job, link)


# ------------------------------------------------------------------------------------------------------- the prompter


async def show_prompter(request: Request) -> Response:
    """GET /lessons/N/prompter?language=fr&piece=0: the steps, large, for filming."""
    studio = studio_of(request)
    piece, lesson, version, _ = await _asked(request, request.query_params.get("piece", ""))
    view = await desk_of(request).view(version, studio.spoken(request))
    shown = view.pieces[piece or 0]
    language = request.query_params.get("language", "") or studio.catalogue(request).name
    language = language if language in view.languages else view.languages[0]
    return page(
        request,
        "prompter.html",
        lesson=lesson,
        view=view,
        piece=(piece or 0) if view.is_of_pieces else None,
        shown=shown,
        beats=shown.beats,
        language=language,
        pages=_prompts(shown, language),
        link=_link(lesson.number, (piece or 0) if view.is_of_pieces else None),
    )


def _prompts(piece: Any, language: str) -> list[dict[str, Any]]:
    """What is said, a page for each heading, with the events that it speaks of."""
    pages: list[dict[str, Any]] = []
    for row in piece.rows:
        cell = next((one for one in row.cells if one.language == language), None)
        if cell is None:
            continue
        if cell.line.kind == "heading" or not pages:
            pages.append({"title": cell.line.text if cell.line.kind == "heading" else "", "lines": []})
        texts = [] if cell.line.kind == "heading" else [cell.line.text]
        tab = ""
        if row.first is not None and row.last is not None:
            tab = " ".join(event.tab for event in piece.events[row.first : row.last + 1])
        for text in (*texts, *(note for _, note in cell.notes)):
            if text:
                pages[-1]["lines"].append({"text": text, "tab": tab, "first": row.first, "last": row.last})
                tab = ""
    return [one for one in pages if one["lines"]]


ROUTES: list[BaseRoute] = [
    Route("/lessons/{number:int}/film", show_film),
    Route("/lessons/{number:int}/film", add_footage, methods=["POST"]),
    Route("/lessons/{number:int}/film/remove", remove_footage, methods=["POST"]),
    Route("/lessons/{number:int}/film/cut", set_cut, methods=["POST"]),
    Route("/lessons/{number:int}/film/made", make_cut, methods=["POST"]),
    Route("/lessons/{number:int}/prompter", show_prompter),
]
