"""Settings: language, names of notes, light, size of letters; for the whole studio."""

from __future__ import annotations

from typing import Any

import msgspec
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reedpath.errors import SettingsError
from reedpath.studio.forms import form_of
from reedpath.studio.pages import page, studio_of
from reedpath.studio.settings import Settings


async def show_settings(request: Request) -> Response:
    """GET /settings."""
    return page(request, "settings.html")


async def set_settings(request: Request) -> Response:
    """POST /settings: let what was chosen hold."""
    studio, form = studio_of(request), await form_of(request)
    said: dict[str, Any] = {name: form.get(name) for name in Settings.__struct_fields__}
    if said["language"] != studio.settings.language:
        said["notes"] = ""  # another language has other names
    try:
        settings = msgspec.convert(said, Settings)
    except msgspec.ValidationError as error:
        raise SettingsError("studio.no_form") from error
    studio.set(settings)
    return RedirectResponse("/settings", 303)


ROUTES = [Route("/settings", show_settings), Route("/settings", set_settings, methods=["POST"])]
