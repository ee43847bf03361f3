"""Files that pages bring along: styles and scripts, also the students' page's. No name becomes a path."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from reedpath.data import shipped_folder
from reedpath.errors import SettingsError
from reedpath.page.web.assets import format_inks, module_names, module_text

TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}


def _found(folder: Path, prefix: str = "") -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    for one in folder.iterdir():
        if one.is_dir():
            found |= _found(one, f"{prefix}{one.name}/")
        elif _ending(one.name) in TYPES:
            found[f"{prefix}{one.name}"] = one.read_bytes()
    return found


def _ending(name: str) -> str:
    return name[name.rfind(".") :]


@cache
def static_files() -> dict[str, bytes]:
    """Every file by its name under ``/static/``: the studio's own, and as ``page/`` those of the students' page."""
    controls = (shipped_folder("reedpath.page.web") / "controls.css").read_bytes()
    page = {f"page/{name}.js": module_text(name).encode() for name in module_names()}
    return {
        "inks.css": format_inks().encode(),
        "controls.css": controls,
        **page,
        **_found(shipped_folder("reedpath.studio") / "static"),
    }


@cache
def _tag(name: str) -> str:
    return f'"{hashlib.sha256(static_files()[name]).hexdigest()[:20]}"'


async def get_static(request: Request) -> Response:
    """GET /static/NAME."""
    name = request.path_params["name"]
    if name not in static_files():
        raise SettingsError("studio.not_found")
    headers = {"etag": _tag(name), "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(status_code=304, headers=headers)
    return Response(static_files()[name], media_type=TYPES[_ending(name)], headers=headers)


ROUTES = [Route("/static/{name:path}", get_static)]
