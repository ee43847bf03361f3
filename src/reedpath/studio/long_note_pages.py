"""Long notes: one note or bend to be held in tune, chosen on a page of its own."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from reedpath.harp import Harp, format_move, sound_of
from reedpath.harp.reach import single_moves
from reedpath.jobs.instruments import known_tunings
from reedpath.jobs.long_notes import LongNote, natural_cents, sound_long_note
from reedpath.jobs.own_harps import own_harps
from reedpath.listen import BEND_TOLERANCES
from reedpath.studio.forms import SentForm, form_of
from reedpath.studio.pages import asks_for_data, page, studio_of
from reedpath.wording import Catalogue, move_words

__all__ = ["KEYS", "ROUTES"]

# keys of harps, as they are sold: from low to high (common practice, no source)
KEYS = ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")
# what the page begins with: the bend that is out of tune most often (common practice, no source)
FIRST_KEY, FIRST_TUNING, FIRST_MOVE = "A", "standard", "-3''"
# cautions of the catalogue that belong to long notes
CAUTIONS = ("dizzy", "reeds", "lungs")


def _moves(harp: Harp, catalogue: Catalogue) -> list[dict[str, str]]:
    """Every note of one hole, by holes, with its name."""
    found = []
    for move in single_moves(harp.tuning):
        tab, note = format_move(move), catalogue.note_with_octave(sound_of(harp, move).midi[0])
        found.append({"tab": tab, "says": f"{tab} · {move_words(move, catalogue)} · {note}"})
    return found


def _asked(request: Request) -> tuple[SentForm, LongNote]:
    said = SentForm(list(request.query_params.multi_items()))
    key, tuning = said.line("harp") or FIRST_KEY, said.line("tuning") or FIRST_TUNING
    tolerance = said.line("tolerance") or f"{BEND_TOLERANCES[1]:g}"
    move = said.line("move") or FIRST_MOVE
    return said, LongNote.of(key, tuning, move, tolerance)


async def show_long_notes(request: Request) -> Response:
    """GET /rehearse/long-notes: the note chosen, to be held."""
    studio = studio_of(request)
    catalogue = studio.catalogue(request)
    _said, note = _asked(request)
    chosen = {
        "harp": note.harp.name,
        "tuning": note.harp.tuning.name,
        "move": note.tab,
        "tolerance": f"{note.tolerance_cents:g}",
    }
    natural = natural_cents(note.harp, note.move)
    owned = await studio.shelf.run(own_harps)
    data = {
        "live": f"/live?{urlencode(chosen)}",
        "label": note.tab,
        "natural": natural,
        "tolerance": note.tolerance_cents,
        "tone": "/rehearse/long-notes/tone",
        "chosen": chosen,
    }
    return page(
        request,
        "long_notes.html",
        note=note,
        says=move_words(note.move, catalogue),
        chosen=chosen,
        keys=list(dict.fromkeys([*(one.key for one in owned), *KEYS, note.harp.name])),
        tunings=known_tunings(),
        moves=_moves(note.harp, catalogue),
        tolerances=[f"{one:g}" for one in BEND_TOLERANCES],
        data=data,
        cautions=CAUTIONS,
        told=studio.told_once(),
    )


async def begin_tone(request: Request) -> Response:
    """POST /rehearse/long-notes/tone: let the note be sounded."""
    studio, form = studio_of(request), await form_of(request)
    note = LongNote.of(form.get("harp"), form.get("tuning"), form.get("move"), form.get("tolerance"))
    job = studio.jobs.start("tone", sound_long_note, note, title=note.tab)
    job.link = f"/rehearse/long-notes/tone/{job.number}"
    if asks_for_data(request):
        return JSONResponse({"job": job.number, "link": job.link}, 202)
    return RedirectResponse("/work", 303)


async def tone(request: Request) -> Response:
    """GET /rehearse/long-notes/tone/J: the note that was sounded."""
    job = studio_of(request).jobs.get(request.path_params["number"])
    if job.error is not None:
        raise job.error
    return FileResponse(job.folder / str(job.result), media_type="audio/wav")


ROUTES = [
    Route("/rehearse/long-notes", show_long_notes),
    Route("/rehearse/long-notes/tone", begin_tone, methods=["POST"]),
    Route("/rehearse/long-notes/tone/{number:int}", tone),
]
