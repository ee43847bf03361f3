"""The shelf's pages: what is on it, what is looked for, one phrase, the teacher's harps, undoing, zips."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, inf
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from reedpath.errors import ReedpathError, SettingsError
from reedpath.harp import harp_names
from reedpath.jobs.instruments import known_tunings
from reedpath.jobs.own_harps import own_harps, set_own_harps
from reedpath.jobs.progress import Progress
from reedpath.jobs.shelf_adding import ReadForShelf, put_on_shelf, read_for_shelf
from reedpath.jobs.shelves import check_zip_apart, import_zip, words_of_phrase
from reedpath.lesson import PlayingTechnique
from reedpath.pitch import key_name, midi_name, parse_key
from reedpath.shelf import (
    CheckedTexts,
    KeptLesson,
    KeptPhrase,
    LessonVersion,
    Melody,
    PhraseQuery,
    Shelf,
    Student,
    TaughtPhrase,
    check_shelf,
    melodies_of,
    more_notes_wanted,
    typed_melody,
)
from reedpath.studio.form_answers import begun, sent_zip, went
from reedpath.studio.forms import SentForm, decimal_number, form_of, whole_number
from reedpath.studio.open_shelf import undoing
from reedpath.studio.pages import asks_for_data, page, said_error, studio_of
from reedpath.studio.waiting_takes import hear_again
from reedpath.wording import Catalogue, plain_names

# phrases on one page
PAGE = 60
# steps that can be undone, as they are listed
STEPS = 50
# rows of pixels of a semitone and columns of a beat in the drawing of a melody, and its width at most; ours
SEMITONE, BEAT, WIDEST = 3, 12, 240


class PicturedNote(NamedTuple):
    """A note of a melody as a small picture has it, in its own units."""

    x: float
    y: int
    width: float


class MelodyPicture(NamedTuple):
    """How a melody goes up and down, to be known at a glance."""

    width: int
    height: int
    notes: tuple[PicturedNote, ...]

    @property
    def outline(self) -> str:
        """All its notes as one path of SVG (2, 9.3), bars with rounded corners: sixty pictures stand on a page.

        >>> MelodyPicture(11, 3, (PicturedNote(0.0, 0, 11.0),)).outline
        'M1 0h9q1 0 1 1v1q0 1-1 1h-9q-1 0-1-1v-1q0-1 1-1z'
        """
        return "".join(
            f"M{one.x + 1:.4g} {one.y}h{one.width - 2:.4g}q1 0 1 1v1q0 1-1 1h{2 - one.width:.4g}q-1 0-1-1v-1q0-1 1-1z"
            for one in self.notes
        )


def melody_picture(melody: Melody) -> MelodyPicture:
    """The first notes of a melody as a picture.

    >>> melody_picture(Melody((60, 64), (1.0, 1.0))).notes
    (PicturedNote(x=0.0, y=12, width=11.0), PicturedNote(x=12.0, y=0, width=11.0))
    """
    lengths = melody.lengths or (1.0,) * len(melody.midi)
    top = max(melody.midi, default=0)
    x, notes = 0.0, []
    for midi, length in zip(melody.midi, lengths, strict=True):
        width = min(length, 8.0) * BEAT
        if x + width > WIDEST:
            break
        notes.append(PicturedNote(round(x, 1), (top - midi) * SEMITONE, round(max(width - 1, 2), 1)))
        x += width
    lowest = max((one.y for one in notes), default=0)
    return MelodyPicture(ceil(x), lowest + SEMITONE, tuple(notes))


# --------------------------------------------------------------------------------------------------- looking for


def _points(text: str) -> float | None:
    points = decimal_number(text) if text.strip() else None
    return points if points is not None and 0 <= points < inf else None


def _tune(asked: SentForm, catalogue: Catalogue) -> Melody | None:
    """The tune that is looked for, with its rhythm where that was heard."""
    text = plain_names(asked.line("tune"), catalogue)
    if not text:
        return None
    tune = typed_melody(text)
    lengths = [_points(one) or 0.0 for one in asked.line("rhythm").split()]
    return Melody(tune.midi, tuple(lengths)) if len(lengths) == len(tune.midi) and all(lengths) else tune


def tune_address(tune: Melody) -> str:
    """Where a tune is looked for.

    >>> tune_address(Melody((64, 67), (1.0, 0.5)))
    '/?tune=E4+G4&rhythm=1+0.5'
    """
    rhythm = " ".join(f"{round(length, 3):g}" for length in tune.lengths)
    return "/?" + urlencode({"tune": " ".join(map(midi_name, tune.midi)), "rhythm": rhythm})


def _query(asked: SentForm, catalogue: Catalogue) -> PhraseQuery:
    key, tune = plain_names(asked.line("key"), catalogue), _tune(asked, catalogue)
    return PhraseQuery(
        asked.line("words"),
        asked.words("tags"),
        tuple(one for one in asked.all("technique")),
        _points(asked.get("easiest")),
        _points(asked.get("hardest")),
        key_name(parse_key(key).plain) if key else "",
        tune,
        0 if tune else PAGE,
    )


def _melodies(shelf: Shelf, numbers: Sequence[int]) -> dict[int, MelodyPicture]:
    return {number: melody_picture(melody) for number, melody in melodies_of(shelf, numbers).items()}


def _on_shelf(shelf: Shelf) -> dict[str, Any]:
    """What else is on the shelf than phrases."""
    lessons = []
    for one in shelf.all(KeptLesson):
        versions = shelf.all(LessonVersion, lesson=one.number)
        if versions:
            lessons.append({"number": one.number, "title": one.title, "tags": one.tags, "versions": len(versions)})
    return {
        "lessons": sorted(lessons, key=lambda one: str(one["title"]).casefold()),
        **undoing(shelf),
        "harps": own_harps(shelf),
        "students": [(one.number, one.name) for one in shelf.all(Student)],
    }


async def show_shelf(request: Request) -> Response:
    """GET /: what is on the shelf, or what of it is looked for."""
    studio = studio_of(request)
    catalogue = studio.catalogue(request)
    asked = SentForm(list(request.query_params.multi_items()))
    wrong, query = "", PhraseQuery(top=PAGE)
    try:
        query = _query(asked, catalogue)
    except ReedpathError as error:
        if asks_for_data(request):
            raise
        wrong = said_error(error, catalogue)["says"]
    number = max(1, whole_number(asked.get("page", "1") or "1"))
    shown, count = ([], 0) if wrong else await studio.shelf.find(query, skip=(number - 1) * PAGE)
    pages = max(1, ceil(count / PAGE))
    if asks_for_data(request):
        return JSONResponse({"found": [_found_data(one, catalogue) for one in shown], "count": count})
    fields = [(name, value) for name, value in asked.fields if name != "page" and value]
    return page(
        request,
        "shelf.html",
        asked=asked,
        wrong=wrong,
        looked_for=bool(fields),
        found=[_found_data(one, catalogue) for one in shown],
        count=count,
        more_notes=more_notes_wanted(query.tune) if query.tune is not None else 0,
        contours=await studio.shelf.run(_melodies, [one.number for one in shown]),
        pages=[(one, "/?" + urlencode([*fields, ("page", str(one))])) for one in range(1, pages + 1)],
        number=number,
        techniques=[one.value for one in PlayingTechnique],
        told=studio.told_once(),
        job=next((one.number for one in studio.jobs.all() if one.link == "/" and not one.state.is_end), 0),
        **await studio.shelf.run(_on_shelf),
    )


def _found_data(one: Any, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "number": one.number,
        "title": one.title,
        "key": one.key,
        "tags": list(one.tags),
        "techniques": [
            catalogue.say(f"technique.{name}") for name in one.techniques if catalogue.has(f"technique.{name}")
        ],
        "points": "" if one.difficulty is None else catalogue.number(one.difficulty, decimals=1),
    }


def _heard_tune(folder: Path, sound: Path, name: str, *, progress: Progress) -> Melody:
    """The tune of a source or a recording that was sent; in the job's process."""
    from reedpath.jobs.tune_queries import tune_from

    return tune_from(sound.rename(folder / name))


async def find_tune(request: Request) -> Response:
    """POST /find-tune: look for the tune of an upload; the job leads to what was found."""
    studio, form = studio_of(request), await form_of(request)
    upload = studio.uploads.get(form.get("upload"))

    async def found(tune: Melody) -> str:
        job.link = tune_address(tune)
        return job.link

    job = studio.jobs.start("tune", _heard_tune, upload.path, upload.name, in_folder=True, then=found)
    return JSONResponse({"job": job.number}, 202)


# ---------------------------------------------------------------------------------------------- brought in, taken out


def _read_uploads(folder: Path, files: Sequence[tuple[Path, str]], *, progress: Progress) -> ReadForShelf:
    """Read files that were sent, under the names that they had; in the job's process."""
    from reedpath.jobs.arranging import RouteRequest

    paths = []
    for place, (path, name) in enumerate(files):
        own = folder / str(place)
        own.mkdir(parents=True)
        paths.append(path.rename(own / name))
    return read_for_shelf(paths, request=RouteRequest(), progress=progress)


def _name_of_text(text: str) -> str:
    """What a pasted source is called, so that its reader is found: the readers tell formats by content too."""
    return "pasted.abc" if text.lstrip().startswith("X:") else "pasted.txt"


async def add_sources(request: Request) -> Response:
    """POST /add: put uploads, or a text that was pasted, on the shelf."""
    studio, form = studio_of(request), await form_of(request)
    tags = form.words("tags")
    files = [(studio.uploads.get(id).path, studio.uploads.get(id).name) for id in form.all("upload")]
    text = form.get("text")
    if text.strip():
        upload = studio.uploads.from_bytes(text.encode(), name=_name_of_text(text))
        files.append((upload.path, upload.name))
    if not files:
        raise SettingsError("studio.nothing_given")

    async def keep(read: ReadForShelf) -> dict[str, Any]:
        added = await studio.shelf.run(put_on_shelf, read, tags=tags)
        return {"phrases": added.phrases, "there": added.there}

    title = ", ".join(name for _path, name in files)
    job = studio.jobs.start("add", _read_uploads, files, in_folder=True, title=title, link="/", then=keep)
    return await begun(request, [job], "/")


async def export_zip(request: Request) -> Response:
    """GET /export.zip: everything as one zip."""
    return await sent_zip(request, "reedpath.zip")


async def bring_zip(request: Request) -> Response:
    """POST /import: bring in what a zip holds, that was uploaded."""
    studio, form = studio_of(request), await form_of(request)
    catalogue, upload = studio.catalogue(request), studio.uploads.get(form.get("upload"))

    async def bring(checked: CheckedTexts) -> int:
        brought = await studio.shelf.run(import_zip, upload.path, checked)
        studio.uploads.drop(upload.id)
        await hear_again(studio)
        words = [catalogue.say("shelfpage.brought_drafts", count=brought.drafts)] if brought.drafts else []
        words += [catalogue.say("shelf.were_there", count=brought.there)] if brought.there else []
        words += [catalogue.say("shelf.stayed", title=title) for title in brought.kept]
        words += [catalogue.say("shelf.lost", name=name) for name in brought.lost]
        count = sum(brought.added.values())
        studio.tell(" ".join([catalogue.say("shelfpage.brought", count=count), *words]))
        return count

    job = studio.jobs.start("import", check_zip_apart, upload.path, title=upload.name, link="/", then=bring)
    return await begun(request, [job], "/")


async def check(request: Request) -> Response:
    """POST /check: look whether all is whole."""
    studio = studio_of(request)
    catalogue = studio.catalogue(request)
    found = await studio.shelf.run(check_shelf)
    words = [catalogue.say("shelf.whole" if found.is_whole else "shelf.not_whole"), *found.problems]
    words += [catalogue.say("shelf.lost", name=name) for name in found.lost]
    studio.tell(" ".join(words))
    return went(request, "/", tells=True)


# ------------------------------------------------------------------------------------------------------- undoing


def _back(request: Request) -> str:
    """The page of ours that a form was sent from; the shelf where that is not known."""
    referer = request.headers.get("referer", "")
    start = f"http://{request.headers['host']}/"
    return referer[len(start) - 1 :] if referer.startswith(start) else "/"


async def undo(request: Request) -> Response:
    """POST /undo: undo the last step."""
    return await _swap(request, is_redo=False)


async def redo(request: Request) -> Response:
    """POST /redo: do the step again that was undone last."""
    return await _swap(request, is_redo=True)


async def _swap(request: Request, *, is_redo: bool) -> Response:
    studio = studio_of(request)
    catalogue = studio.catalogue(request)
    step = await studio.shelf.run(Shelf.redo if is_redo else Shelf.undo)
    if step is None:
        studio.tell(catalogue.say("shelf.no_redo" if is_redo else "shelf.no_undo"))
    else:
        key = "studio.redone" if is_redo else "studio.undone"
        studio.tell(catalogue.say(key, what=catalogue.say(f"shelf.step.{step.what}")))
    return went(request, _back(request), tells=True)


# ---------------------------------------------------------------------------------------------------- one phrase


def _phrase_and_lessons(shelf: Shelf, number: int) -> dict[str, Any]:
    phrase = shelf.get(KeptPhrase, number)
    lessons: dict[int, str] = {}
    for taught in shelf.all(TaughtPhrase, phrase=number):
        version = shelf.get(LessonVersion, taught.version)
        lessons[version.lesson] = shelf.get(KeptLesson, version.lesson).title
    return {"phrase": phrase, "lessons": lessons, "contour": melody_picture(phrase.melody)}


async def show_phrase(request: Request) -> Response:
    """GET /phrases/N."""
    studio = studio_of(request)
    values = await studio.shelf.run(_phrase_and_lessons, request.path_params["number"])
    catalogue = studio.catalogue(request)
    return page(
        request, "phrase.html", facts=_found_data(values["phrase"], catalogue), told=studio.told_once(), **values
    )


async def change_phrase(request: Request) -> Response:
    """POST /phrases/N: another title, other tags."""
    studio, form = studio_of(request), await form_of(request)
    number = request.path_params["number"]
    tags = form.words("tags")
    there = await studio.shelf.run(Shelf.get, KeptPhrase, number)
    title = form.line("title") or there.title
    gone = [one for one in there.tags if one.casefold() not in {tag.casefold() for tag in tags}]
    await studio.shelf.run(words_of_phrase, number, title=title, tags=tags, not_tags=gone)
    return went(request, f"/phrases/{number}", tells=True)


def _remove_phrase(shelf: Shelf, number: int) -> KeptPhrase:
    phrase = shelf.get(KeptPhrase, number)
    with shelf.step("remove"):
        shelf.remove(phrase)
    return phrase


async def remove_phrase(request: Request) -> Response:
    """POST /phrases/N/remove: take it off the shelf; it can be undone."""
    studio = studio_of(request)
    phrase = await studio.shelf.run(_remove_phrase, request.path_params["number"])
    studio.tell(studio.catalogue(request).say("shelfpage.removed", title=phrase.title))
    return went(request, "/", tells=True)


async def phrase_file(request: Request) -> Response:
    """GET /phrases/N/phrase.json: the phrase's file, which every command reads."""
    phrase = await studio_of(request).shelf.run(Shelf.get, KeptPhrase, request.path_params["number"])
    headers = {"content-disposition": f'attachment; filename="phrase-{phrase.number}.json"'}
    return Response(phrase.data, media_type="application/json", headers=headers)


# ------------------------------------------------------------------------------------------------ the teacher's harps


async def show_harps(request: Request) -> Response:
    """GET /harps."""
    studio = studio_of(request)
    return page(
        request,
        "harps.html",
        harps=await studio.shelf.run(own_harps),
        tunings=known_tunings(),
        told=studio.told_once(),
    )


async def set_harps(request: Request) -> Response:
    """POST /harps: add harps ("A, C, Low F") of a tuning; those whose box is not ticked any more go."""
    studio, form = studio_of(request), await form_of(request)
    there = await studio.shelf.run(own_harps)
    keys = plain_names(form.line("keys"), studio.catalogue(request))
    kept = {one for one in form.all("keep")}
    harps = [(one.key, one.tuning) for one in there if str(one.number) in kept]
    harps += [(name, form.get("tuning", "standard")) for name in harp_names(keys)]
    await studio.shelf.run(set_own_harps, harps)
    return went(request, "/harps", tells=True)


ROUTES = [
    Route("/", show_shelf),
    Route("/find-tune", find_tune, methods=["POST"]),
    Route("/add", add_sources, methods=["POST"]),
    Route("/export.zip", export_zip),
    Route("/import", bring_zip, methods=["POST"]),
    Route("/check", check, methods=["POST"]),
    Route("/undo", undo, methods=["POST"]),
    Route("/redo", redo, methods=["POST"]),
    Route("/phrases/{number:int}", show_phrase),
    Route("/phrases/{number:int}", change_phrase, methods=["POST"]),
    Route("/phrases/{number:int}/remove", remove_phrase, methods=["POST"]),
    Route("/phrases/{number:int}/phrase.json", phrase_file),
    Route("/harps", show_harps),
    Route("/harps", set_harps, methods=["POST"]),
]
