"""Pages: templates filled in the teacher's language, and errors told on a page."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from pathlib import PurePath
from typing import Any, NamedTuple

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from msgspec.structs import replace
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.conversations import told_error
from reedpath.studio.open_shelf import OpenShelf
from reedpath.studio.running_jobs import RunningJobs
from reedpath.studio.settings import Settings, read_settings, write_settings
from reedpath.wording import (
    Catalogue,
    catalogue_names,
    clock_words,
    error_hint,
    error_words,
    load_catalogue,
    load_studio_catalogue,
    typed_names,
)

# keys of errors and the status that each has, by RFC 9110; all others are 400
STATUS = {
    "shelf.no_record": 404, "shelf.no_draft": 404,
    "studio.no_job": 404, "studio.no_upload": 404, "studio.not_found": 404,
    "studio.too_much": 413, "studio.no_length": 411, "studio.went_away": 400, "studio.disk_full": 507,
    "studio.too_many_uploads": 503, "cli.fault": 500,
}  # fmt: skip
# keys that lead from screen to screen: name of the screen, its address
SCREENS = (
    ("shelf", "/"),
    ("workbench", "/workbench"),
    ("rehearse", "/rehearse"),
    ("students", "/students"),
)


class Spoken(NamedTuple):
    """What a process words things in: names of a language and of its way to name notes, empty for its custom."""

    language: str
    notes: str = ""


@dataclass(eq=False)
class Studio:
    """What all pages share.

    uploads : an `uploads.Uploads`.
    hearing : numbers of the takes that waited on the shelf and for which a job was begun.
    """

    shelf: OpenShelf
    jobs: RunningJobs
    uploads: Any
    settings: Settings = field(default_factory=Settings)
    hearing: set[int] = field(default_factory=set)
    _told: str = ""

    def __post_init__(self) -> None:
        """Take the settings that are kept beside the shelf."""
        said = self.settings
        kept = read_settings(self.shelf.path)
        self.settings = replace(kept, language=said.language or kept.language)

    def set(self, settings: Settings) -> None:
        """Let other settings hold, and keep them."""
        load_catalogue(settings.language or "en", notes=settings.notes or None)
        self.settings = settings
        write_settings(self.shelf.path, settings)

    def tell(self, text: str) -> None:
        """Say something on the page that is shown next."""
        self._told = text

    def told_once(self) -> str:
        """What is to be said on this page; it is not said again."""
        told, self._told = self._told, ""
        return told

    def catalogue(self, connection: HTTPConnection) -> Catalogue:
        """The catalogue of the teacher's language: as chosen, else as the browser asks, else English."""
        name = self.settings.language or _asked_language(connection.headers.get("accept-language", ""))
        return load_studio_catalogue(name, notes=self.settings.notes or None)

    def spoken(self, connection: HTTPConnection) -> Spoken:
        """The teacher's language and how notes are named in it, for a process that words something."""
        return Spoken(self.catalogue(connection).name, self.settings.notes)


def studio_of(connection: HTTPConnection) -> Studio:
    """The studio that a request was made to."""
    studio: Studio = connection.app.state.studio
    return studio


def _asked_language(header: str) -> str:
    """The first language that a browser asks for and we speak (RFC 9110, 12.5.4); English where there is none."""
    known = catalogue_names()
    asked: list[tuple[float, str]] = []
    for part in header[:400].split(","):
        name, _, weight = part.strip().partition(";q=")
        try:
            asked.append((float(weight or 1), name.split("-")[0].lower()))
        except ValueError:
            continue
    return next((name for _weight, name in sorted(asked, key=lambda one: -one[0]) if name in known), "en")


@cache
def templates() -> Environment:
    """The templates, for pages and pieces of them."""
    return Environment(
        loader=PackageLoader("reedpath.studio", "templates"),
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip


@cache
def _words_text(catalogue_name: str, prefixes: tuple[str, ...]) -> str:
    catalogue = load_studio_catalogue(catalogue_name)
    words = {
        key: dict(message.variants[0]) if len(message.variants[0]) > 1 else message.variants[0]["other"]
        for key, message in catalogue.messages.items()
        if key.startswith(prefixes)
    }
    return json.dumps(words, ensure_ascii=False).replace("</", "<\\/").replace("<!--", "<\\u0021--")


def words_json(catalogue: Catalogue, *tables: str) -> Markup:
    """What scripts say, as JSON for the page: texts by key, and tables of forms where number asks for it."""
    return Markup(_words_text(catalogue.name, tuple(f"{one}." for one in ("studio", *tables))))


def page(connection: HTTPConnection, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
    """A page made from a template, in the teacher's language.

    In a template: ``say(key, ...)``, ``catalogue``, ``settings``, ``screens``, ``words_json(table, ...)``,
    ``running`` (how many jobs run), ``clock`` (seconds as clocks show them),
    ``key_named`` (keys and harps as the language names them), and the values given.
    """
    studio = studio_of(connection)
    catalogue = studio.catalogue(connection)
    text = (
        templates()
        .get_template(template)
        .render(
            say=catalogue.say,
            catalogue=catalogue,
            settings=studio.settings,
            languages=[load_catalogue(name) for name in catalogue_names()],
            screens=SCREENS,
            here=connection.url.path,
            key_named=lambda text: typed_names(text, catalogue),
            moment=lambda text: moment_words(text, catalogue),
            words_json=lambda *tables: words_json(catalogue, *tables),
            clock=clock_words,
            running=sum(not job.state.is_end for job in studio.jobs.all()),
            **values,
        )
    )
    return HTMLResponse(text, status)


def moment_words(text: str, catalogue: Catalogue) -> str:
    """Day, hour and minute of a moment (a time with its zone, as ISO 8601 writes it), as it is here."""
    return f"{catalogue.day(text)}, {datetime.fromisoformat(text).astimezone():%H:%M}"


def asks_for_data(request: Request) -> bool:
    """Whether a script asks, which wants JSON, and not a person, who wants a page."""
    return "application/json" in request.headers.get("accept", "")


def said_error(error: ReedpathError, catalogue: Catalogue) -> dict[str, str]:
    """What is wrong, and what to do about it; of a file, which is one of the studio's own, only its name is told."""
    file = error.where.file
    if file.startswith("/"):
        error = type(error)(error.key, where=replace(error.where, file=PurePath(file).name), **error.values)
    says = catalogue.sentence(error_words(error, catalogue))
    own = f"studio.hint.{error.key}"
    hint = catalogue.say(own) if own in catalogue.messages else error_hint(error, catalogue)
    return {"says": says, "hint": catalogue.sentence(hint) if hint else ""}


def problem(request: Request, error: ReedpathError, status: int | None = None) -> Response:
    """An error told in the teacher's language: as a page, or as data for a script."""
    catalogue = studio_of(request).catalogue(request)
    said = said_error(error, catalogue)
    status = status or STATUS.get(error.key, 400)
    if asks_for_data(request) or request.method not in ("GET", "POST", "HEAD"):
        return JSONResponse({"error": error.key, **said}, status)
    return page(request, "problem.html", status=status, **said)


async def _ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, ReedpathError)
    return problem(request, error)


async def _not_found(request: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 404)
    return problem(request, SettingsError("studio.not_found" if status == 404 else "studio.not_so"), status)


async def _fault(request: Request, error: Exception) -> Response:
    return problem(request, told_error(error), 500)


# what answers each kind of error
PROBLEMS: dict[Any, Any] = {ReedpathError: _ours, 404: _not_found, 405: _not_found, Exception: _fault}
