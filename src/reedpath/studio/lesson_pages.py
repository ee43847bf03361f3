"""Lessons: steps edited beside their moves, tempos and drills, the order of pieces, versions side by side."""

from __future__ import annotations

from collections.abc import Callable
from difflib import SequenceMatcher
from functools import partial
from typing import Any

from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from reedpath.arrange import level_names
from reedpath.errors import SettingsError
from reedpath.jobs.adding_pieces import PieceWishes, add_piece_to_version
from reedpath.jobs.band_choices import decode_band
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.lesson_desk import ChangedLesson
from reedpath.jobs.lesson_edits import (
    with_drills_chosen,
    with_line_edited,
    with_pieces_in_order,
    with_tempos_chosen,
    with_words_said,
)
from reedpath.jobs.lesson_views import LessonView
from reedpath.jobs.own_harps import own_harps
from reedpath.jobs.shelf_lessons import keep_version
from reedpath.jobs.wording_of_lessons import SaidOfLesson
from reedpath.lesson import DrillWish, LineEdit, Taught
from reedpath.shelf import (
    KeptLesson,
    KeptPhrase,
    LessonVersion,
    OwnedHarp,
    PhraseQuery,
    Shelf,
    differences,
    last_version,
    two_versions,
    version_list,
    version_numbered,
)
from reedpath.studio import lesson_film_pages, lesson_making_pages
from reedpath.studio.band_forms import band_fields
from reedpath.studio.form_answers import begun, kept, result_of
from reedpath.studio.forms import SentForm, form_of, number_if_any, tempo_of, whole_number
from reedpath.studio.lesson_desks import desk_of, keep_changes
from reedpath.studio.lesson_making_pages import made_of
from reedpath.studio.open_shelf import undoing
from reedpath.studio.pages import asks_for_data, page, studio_of
from reedpath.wording import load_catalogue

Change = Callable[[Taught], Taught]
# versions that are listed on the lesson's page; the others stand on the page of versions
LISTED = 8
# phrases that are listed of those looked for
FOUND = 30
# times that a drill may be played in a row; ours
MOST_TIMES = 100
# differences that are told one by one
MOST_DIFFERENCES = 200


def _lesson_and_last(shelf: Shelf, number: int) -> tuple[KeptLesson, LessonVersion]:
    return shelf.get(KeptLesson, number), last_version(shelf, number)


async def show_lesson(request: Request) -> Response:
    """GET /lessons/N."""
    studio, number = studio_of(request), request.path_params["number"]
    lesson, version = await studio.shelf.run(_lesson_and_last, number)
    asked = request.query_params.get("find")
    found, count = ([], 0) if asked is None else await studio.shelf.find(PhraseQuery(asked))
    view = await desk_of(request).view(version, studio.spoken(request))
    chosen = decode_band(lesson.band)
    return page(
        request,
        "lesson.html",
        lesson=lesson,
        version=version,
        view=view,
        versions=(await studio.shelf.run(version_list, number))[:LISTED],
        made=await made_of(request, lesson, version, view),
        told=studio.told_once(),
        steps=await studio.shelf.run(undoing),
        languages_of={name: _title(name) for name in view.languages},
        asked=asked,
        found=[(one.number, one.title, one.key) for one in found[:FOUND]],
        not_shown=max(0, count - FOUND),
        levels=level_names(),
        band=band_fields(studio.catalogue(request), chosen),
        band_formats=lesson_making_pages.SOUND_FORMATS,
        places=await desk_of(request).places(version, studio.spoken(request), chosen),
    )


def _title(name: str) -> str:
    """What a language calls itself."""
    try:
        return load_catalogue(name).title
    except SettingsError:
        return name


# ----------------------------------------------------------------------------------------------------------- changes


def _line_changes(form: SentForm) -> tuple[Change, ...]:
    """Lines whose text is not what it was when the page was made: fields "text EN 3" and "was EN 3", "note EN 3"."""
    piece = number_if_any(form.get("piece"))
    edits: dict[str, list[LineEdit]] = {}
    for name, text in form.fields:
        kind, _, place = name.partition(" ")
        language, _, index = place.partition(" ")
        if kind not in ("text", "note") or not index.isdigit():
            continue
        was = form.get(f"was {place}")
        if kind == "note" and text.strip():
            edits.setdefault(language, []).append(LineEdit(int(index), was, text, after=True))
        elif kind == "text" and text.strip() != was.strip():
            edits.setdefault(language, []).append(LineEdit(int(index), was, text))
    # from the last line on, so that one that comes or goes moves none that is still to be changed; notes before the
    # line that they stand after
    return tuple(
        partial(with_line_edited, language=language, edit=edit, piece=piece)
        for language, some in edits.items()
        for edit in sorted(some, key=lambda one: (-one.index, not one.after))
    )


def _said_changes(form: SentForm) -> tuple[Change, ...]:
    """Title, author, date, notes to the student and names of parts, those that the page says."""
    piece = number_if_any(form.get("piece"))
    fields = {name: form.line(name) for name in ("title", "author", "date") if form.has(name)}
    if not fields.get("title", "-"):
        del fields["title"]
    notes = tuple(f"{name[5:]}:{form.line(name)}" for name, _ in form.fields if name.startswith("said "))
    names = []
    for name, text in form.fields:
        kind, _, place = name.partition(" ")
        language, _, label = place.partition(" ")
        if kind == "part" and label:
            names.append(f"{language}:{label}={text.strip()}")
    return (partial(with_words_said, said=SaidOfLesson(**fields, notes=notes, part_names=tuple(names)), piece=piece),)


def _tempos(text: str) -> tuple[float, ...]:
    """Tempos as typed: "60 72,5 80", "60; 72.5; 80"."""
    words = text.replace(";", " ").replace(", ", " ").split()
    return tuple(tempo_of(word.strip(",")) for word in words if word.strip(","))


def _tempo_changes(form: SentForm) -> tuple[Change, ...]:
    tempos = None if form.has("program") else _tempos(form.get("tempos"))
    return (partial(with_tempos_chosen, tempos=tempos, piece=number_if_any(form.get("piece"))),)


def _drill_changes(form: SentForm) -> tuple[Change, ...]:
    """Drills by rows of fields "first", "last", "times", "drill-tempos"; a row without a first note is left out."""
    if form.has("program"):
        return (partial(with_drills_chosen, drills=None, piece=number_if_any(form.get("piece"))),)
    every = [
        [value for key, value in form.fields if key == name] for name in ("first", "last", "times", "drill-tempos")
    ]
    drills = [
        DrillWish(whole_number(first) - 1, whole_number(last) - 1, _times(times), _tempos(tempos))
        for first, last, times, tempos in zip(*every, strict=False)
        if first.strip() and last.strip()
    ]
    return (partial(with_drills_chosen, drills=tuple(drills), piece=number_if_any(form.get("piece"))),)


def _times(text: str) -> int:
    number = whole_number(text or "3")
    if not 1 <= number <= MOST_TIMES:
        raise SettingsError("studio.no_times", found=text[:40], most=MOST_TIMES)
    return number


def _order_changes(form: SentForm) -> tuple[Change, ...]:
    order = tuple(whole_number(one) for one in form.get("order").split(",") if one.strip())
    return (partial(with_pieces_in_order, order=order),)


_KINDS: dict[str, Callable[[SentForm], tuple[Change, ...]]] = {
    "lines": _line_changes,
    "words": _said_changes,
    "tempos": _tempo_changes,
    "drills": _drill_changes,
    "order": _order_changes,
}


async def change_lesson(request: Request) -> Response:
    """POST /lessons/N/change/KIND: change something; it is kept at once as a new version, where it differs."""
    number, kind = request.path_params["number"], request.path_params["kind"]
    form = await form_of(request)
    if kind not in _KINDS:
        raise SettingsError("studio.not_found")
    changes = _KINDS[kind](form)
    version, is_new = await keep_changes(request, number, changes)
    catalogue = studio_of(request).catalogue(request)
    told = catalogue.say("lesson.kept" if is_new else "lesson.same", version=version.version)
    return kept(request, told, f"/lessons/{number}{_place(form)}", version=version.version, is_new=is_new)


def _place(form: SentForm) -> str:
    """The place of the page that a form stands in."""
    place = form.get("place")
    return f"#{place}" if place.replace("-", "").isalnum() else ""


def _again(shelf: Shelf, number: int, wanted: int) -> LessonVersion:
    """Let an earlier version be the last one once more, as a new version."""
    last = last_version(shelf, number)
    one = version_numbered(shelf, number, wanted)
    if one.version == last.version:
        return last
    with shelf.step("lesson"):
        return shelf.add(replace(one, number=0, uid="", version=last.version + 1))


async def take_version(request: Request) -> Response:
    """POST /lessons/N/again: an earlier version is the lesson again."""
    studio, number = studio_of(request), request.path_params["number"]
    form = await form_of(request)
    version = await studio.shelf.run(_again, number, whole_number(form.get("version")))
    studio.tell(studio.catalogue(request).say("lesson.again", version=version.version))
    return RedirectResponse(f"/lessons/{number}", 303)


def _for_piece(shelf: Shelf, number: int, phrase: int) -> tuple[LessonVersion, KeptPhrase, tuple[OwnedHarp, ...]]:
    return last_version(shelf, number), shelf.get(KeptPhrase, phrase), own_harps(shelf)


async def add_piece(request: Request) -> Response:
    """POST /lessons/N/add: another phrase of the shelf is taught too; kept as a new version."""
    studio, number = studio_of(request), request.path_params["number"]
    form = await form_of(request)
    version, phrase, harps = await studio.shelf.run(_for_piece, number, whole_number(form.get("phrase")))
    wishes = PieceWishes(level=form.line("level"))
    if form.get("harp") == "best":
        tunings = tuple(dict.fromkeys(one.tuning for one in harps)) or HarpChoice().tunings
        wishes = replace(wishes, harp=HarpChoice(tunings=tunings), owned=tuple(one.key for one in harps))

    async def keep(made: ChangedLesson) -> dict[str, Any]:
        after, is_new = await studio.shelf.run(partial(keep_version, opened=made.opened, kept=made.kept))
        return {"version": after.version, "is_new": is_new}

    link = f"/lessons/{number}"
    job = studio.jobs.start(
        "piece",
        add_piece_to_version,
        studio.shelf.files,
        version,
        phrase,
        wishes,
        title=phrase.title,
        link=link,
        then=keep,
    )
    if not asks_for_data(request):
        made = await result_of(job)
        studio.tell(studio.catalogue(request).say("lesson.kept", version=made["version"]))
    return await begun(request, [job], f"{link}#order")


# ----------------------------------------------------------------------------------------------------------- versions


def _said(view: LessonView, language: str) -> list[str]:
    """All that is said in a language, line by line."""
    rows = [*view.whole, *(row for piece in view.pieces for row in piece.rows)]
    cells = [cell for row in rows for cell in row.cells if cell.language == language]
    lines: list[str] = []
    for cell in cells:
        lines += [text for text in (cell.line.text, *(note for _, note in cell.notes)) if text]
    return lines


def _beside(before: list[str], after: list[str]) -> list[tuple[str, str]]:
    """Lines that differ, side by side."""
    rows: list[tuple[str, str]] = []
    for kind, i, i_end, j, j_end in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind != "equal":
            count = max(i_end - i, j_end - j)
            left = [*before[i:i_end], *[""] * (count - (i_end - i))]
            right = [*after[j:j_end], *[""] * (count - (j_end - j))]
            rows += zip(left, right, strict=True)
    return rows


def _plays(view: LessonView) -> list[str]:
    return [f"{piece.title}: " + " ".join(event.tab for event in piece.events) for piece in view.pieces]


def _tempos_of(view: LessonView) -> list[str]:
    return [
        f"{piece.title}: " + ", ".join(f"{one:g}" for one in (*piece.tempos, piece.full)) for piece in view.pieces
    ]


async def show_versions(request: Request) -> Response:
    """GET /lessons/N/versions?before=1&after=2: what differs."""
    studio, number = studio_of(request), request.path_params["number"]
    query = request.query_params
    asked = [number_if_any(query.get(name, "")) for name in ("before", "after")]
    lesson = await studio.shelf.run(Shelf.get, KeptLesson, number)
    before, after = await studio.shelf.run(two_versions, number, *asked)
    shown = studio.spoken(request)
    old, new = await desk_of(request).view(before, shown), await desk_of(request).view(after, shown)
    languages = list(dict.fromkeys([*old.languages, *new.languages]))
    said = {_title(one): _beside(_said(old, one), _said(new, one)) for one in languages}
    facts = {
        "title": _beside([old.title], [new.title]),
        "author": _beside([old.author], [new.author]),
        "date": _beside([old.date], [new.date]),
        "moves": _beside(_plays(old), _plays(new)),
        "tempos": _beside(_tempos_of(old), _tempos_of(new)),
    }
    every = differences(before, after)
    other = [
        (" > ".join(map(str, one.place)), _short(one.before), _short(one.after)) for one in every[:MOST_DIFFERENCES]
    ]
    return page(
        request,
        "lesson_versions.html",
        lesson=lesson,
        before=before,
        after=after,
        versions=await studio.shelf.run(version_list, number),
        said=said,
        facts=facts,
        other=other,
        count=len(every),
    )


def _short(value: Any) -> str:
    text = "" if value is None else str(value)
    return text if len(text) <= 160 else f"{text[:159]}…"


ROUTES: list[BaseRoute] = [
    Route("/lessons/{number:int}", show_lesson),
    Route("/lessons/{number:int}/change/{kind:str}", change_lesson, methods=["POST"]),
    Route("/lessons/{number:int}/add", add_piece, methods=["POST"]),
    Route("/lessons/{number:int}/again", take_version, methods=["POST"]),
    Route("/lessons/{number:int}/versions", show_versions),
    *lesson_making_pages.ROUTES,
    *lesson_film_pages.ROUTES,
]
