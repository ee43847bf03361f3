"""Long notes: one note or bend to be held in tune, chosen on a page of its own."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from reedpath.harp import Harp, format_move, sound_of
from reedpath.harp.reach import single_moves
from reedpath.jobs.instruments import known_tunings
from reedpath.jobs.long_notes import LongNote, held_until_now, keep_held_note, natural_cents, sound_long_note
from reedpath.jobs.own_harps import own_harps
from reedpath.listen import BEND_TOLERANCES, HeldTime
from reedpath.shelf import KeptHeldNote
from reedpath.studio.form_answers import begun_at_once, kept
from reedpath.studio.forms import SentForm, decimal_number, form_of, number_if_any
from reedpath.studio.open_shelf import students_by_name
from reedpath.studio.pages import page, studio_of
from reedpath.wording import Catalogue, harp_words, move_words

# keys of harps, as they are sold: from low to high (common practice, no source)
KEYS = ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")
# what the page begins with: the bend that is out of tune most often (common practice, no source)
FIRST_KEY, FIRST_TUNING, FIRST_MOVE = "A", "standard", "-3''"
# notes whose bars are drawn, and how far apart they stand
BARS, BAR_STEP = 40, 14
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
    said, note = _asked(request)
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
    student = number_if_any(said.line("student"))
    until_now = await studio.shelf.run(held_until_now, note, student)
    return page(
        request,
        "long_notes.html",
        student=student,
        students=await studio.shelf.run(students_by_name),
        until_now=[_told(one, catalogue) for one in reversed(until_now)],
        bars=_bars([one.seconds for one in until_now]),
        note=note,
        says=move_words(note.move, catalogue),
        harp=harp_words(note.harp, catalogue),
        chosen=chosen,
        keys=list(dict.fromkeys([*(one.key for one in owned), *KEYS, note.harp.name])),
        tunings=known_tunings(),
        moves=_moves(note.harp, catalogue),
        tolerances=[f"{one:g}" for one in BEND_TOLERANCES],
        data=data,
        cautions=CAUTIONS,
        told=studio.told_once(),
    )


def _told(held: KeptHeldNote, catalogue: Catalogue) -> dict[str, str]:
    return {
        "added": held.added,
        "when": catalogue.day(held.added),
        "seconds": catalogue.number(held.seconds, decimals=1),
        "cents": catalogue.number(round(held.cents)),
        "unsteady": catalogue.number(round(held.unsteady_cents)),
        "tolerance": catalogue.number(held.tolerance_cents),
    }


def _bars(seconds: Sequence[float]) -> list[tuple[int, float]]:
    """Bars of the last notes: how far right each stands, and how high, of 40 for the longest.

    >>> _bars([2.0, 4.0])
    [(0, 20.0), (14, 40.0)]
    """
    last = seconds[-BARS:]
    longest = max(last, default=0.0) or 1.0
    return [(BAR_STEP * place, round(40.0 * one / longest, 1)) for place, one in enumerate(last)]


async def keep_note(request: Request) -> Response:
    """POST /rehearse/long-notes/keep: keep the longest note of a sitting."""
    studio, form = studio_of(request), await form_of(request)
    note = LongNote.of(*(form.get(name) for name in ("harp", "tuning", "move", "tolerance")))
    held = HeldTime(*(decimal_number(form.get(name)) for name in ("seconds", "cents", "unsteady_cents")))
    student = number_if_any(form.line("student"))
    longest = await studio.shelf.run(keep_held_note, note, held, student)
    catalogue = studio.catalogue(request)
    told = catalogue.say("rehearse.note_kept", seconds=catalogue.number(longest.seconds, decimals=1))
    asked = {name: form.get(name) for name in ("harp", "tuning", "move", "tolerance", "student")}
    return kept(request, told, f"/rehearse/long-notes?{urlencode(asked)}")


async def begin_tone(request: Request) -> Response:
    """POST /rehearse/long-notes/tone: let the note be sounded."""
    studio, form = studio_of(request), await form_of(request)
    note = LongNote.of(form.get("harp"), form.get("tuning"), form.get("move"), form.get("tolerance"))
    job = studio.jobs.start("tone", sound_long_note, note, in_folder=True, title=note.tab)
    job.link = f"/rehearse/long-notes/tone/{job.number}"
    return begun_at_once(request, job, "/work", link=job.link)


async def tone(request: Request) -> Response:
    """GET /rehearse/long-notes/tone/J: the note that was sounded."""
    job = studio_of(request).jobs.get(request.path_params["number"])
    if job.error is not None:
        raise job.error
    return FileResponse(job.folder / str(job.result), media_type="audio/wav")


ROUTES = [
    Route("/rehearse/long-notes", show_long_notes),
    Route("/rehearse/long-notes/keep", keep_note, methods=["POST"]),
    Route("/rehearse/long-notes/tone", begin_tone, methods=["POST"]),
    Route("/rehearse/long-notes/tone/{number:int}", tone),
]
