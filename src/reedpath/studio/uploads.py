"""Uploads: sounds, films and sources that are dropped on a page, put into files of the studio's own.

A file is sent as the body of a PUT, its length said before, so that no library keeps it in memory or splits it up.
Its name is a word about it and never a path. Nothing in it is looked at here: a job reads it, in its own process.
"""

from __future__ import annotations

import asyncio
import secrets
import shutil
from pathlib import Path, PurePosixPath

from msgspec import Struct
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from reedpath.errors import SettingsError, clean_text
from reedpath.studio.pages import studio_of

# bytes of one file: a film of an hour at 1080p has about half of it; and of all that wait to be used
MOST_BYTES = 8 << 30
MOST_BYTES_WAITING = 20 << 30
# seconds in which the next block must come, and files that may be on their way at once
BLOCK_SECONDS = 30.0
AT_ONCE = 4
# bytes that stay free on the disk
LEFT_FREE = 200 << 20
# characters of a name that are kept
NAME_LENGTH = 200


class Upload(Struct, frozen=True):
    """A file that was sent: the name that its sender gave it, and where it lies."""

    id: str
    name: str
    path: Path
    size: int


class Uploads:
    """The files that were sent and not used yet."""

    def __init__(self, folder: Path) -> None:
        shutil.rmtree(folder, ignore_errors=True)
        self._folder = folder
        self._files: dict[str, Upload] = {}
        self._places = asyncio.Semaphore(AT_ONCE)

    def get(self, id: str) -> Upload:
        """The file of an id; SettingsError where there is none."""
        if id not in self._files:
            raise SettingsError("studio.no_upload")
        return self._files[id]

    def path(self, id: str) -> Path:
        """Where it lies."""
        return self.get(id).path

    def drop(self, id: str) -> None:
        """Forget a file."""
        upload = self._files.pop(id, None)
        if upload is not None:
            upload.path.unlink(missing_ok=True)

    async def take(self, request: Request) -> Upload:
        """Put the body of a request into a file.

        Raises `SettingsError` when no length is said, it is too large, comes too slowly, breaks off, or the disk is
        full.
        """
        size = _said_size(request)
        waiting = sum(one.size for one in self._files.values())
        if waiting + size > MOST_BYTES_WAITING:
            raise SettingsError("studio.too_many_uploads")
        self._folder.mkdir(parents=True, exist_ok=True)
        if shutil.disk_usage(self._folder).free < size + LEFT_FREE:
            raise SettingsError("studio.disk_full")
        name = _clean_name(request.query_params.get("name", ""))
        id = secrets.token_hex(16)
        path = self._folder / f"{id}{_ending(name)}"
        if self._places.locked():
            raise SettingsError("studio.too_many_uploads")
        try:
            async with self._places:
                await _receive(request, path, size)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        upload = Upload(id, name, path, size)
        self._files[id] = upload
        return upload

    def from_bytes(self, data: bytes, *, name: str) -> Upload:
        """What was pasted, as if it had been dropped as a file."""
        self._folder.mkdir(parents=True, exist_ok=True)
        id = secrets.token_hex(16)
        path = self._folder / f"{id}{_ending(name)}"
        path.write_bytes(data)
        self._files[id] = Upload(id, name, path, len(data))
        return self._files[id]

    def end(self) -> None:
        """Remove all of them."""
        shutil.rmtree(self._folder, ignore_errors=True)


def _said_size(request: Request) -> int:
    said = request.headers.get("content-length", "")
    if not (said.isascii() and said.isdigit() and len(said) < 20):
        raise SettingsError("studio.no_length")
    if int(said) > MOST_BYTES:
        raise SettingsError("studio.too_much", most=MOST_BYTES)
    return int(said)


def _clean_name(said: str) -> str:
    """A name without what would lead elsewhere."""
    last = said.replace("\\", "/").rsplit("/", 1)[-1]
    return clean_text(last)[:NAME_LENGTH] or "upload"


def _ending(name: str) -> str:
    ending = PurePosixPath(name).suffix.lower()
    return ending if ending[1:].isascii() and ending[1:].isalnum() and len(ending) <= 9 else ""


async def _receive(request: Request, path: Path, size: int) -> None:
    come, blocks = 0, request.stream()
    with path.open("xb") as file:
        try:
            while True:
                block = await asyncio.wait_for(anext(blocks, None), BLOCK_SECONDS)
                if block is None:
                    break
                come += len(block)
                if come > size:
                    raise SettingsError("studio.went_away")
                await asyncio.to_thread(file.write, block) if len(block) > 1 << 20 else file.write(block)
        except (ClientDisconnect, TimeoutError) as error:
            raise SettingsError("studio.went_away") from error
        except OSError as error:
            raise SettingsError("studio.disk_full") from error
    if come < size:
        raise SettingsError("studio.went_away")


async def put_upload(request: Request) -> Response:
    """PUT /uploads?name=...: the body becomes an upload."""
    upload = await studio_of(request).uploads.take(request)
    return JSONResponse({"upload": upload.id, "name": upload.name, "bytes": upload.size})


async def delete_upload(request: Request) -> Response:
    """DELETE /uploads/ID: it is not wanted after all."""
    studio_of(request).uploads.drop(request.path_params["id"])
    return Response(status_code=204)


ROUTES = [
    Route("/uploads", put_upload, methods=["PUT"]),
    Route("/uploads/{id:str}", delete_upload, methods=["DELETE"]),
]
