"""The shelf as a zip to be kept elsewhere: written in a process of its own from a copy, so that no page waits."""

from __future__ import annotations

import secrets

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from reedpath.jobs.shelves import export_apart
from reedpath.studio.form_answers import result_of
from reedpath.studio.pages import studio_of

__all__ = ["sent_zip"]


async def sent_zip(request: Request, name: str, *, student: int | None = None) -> Response:
    """Send everything, or a student, as one zip; nothing of it is left in the studio's own folder then."""
    studio = studio_of(request)
    copy = studio.jobs.new_file(f"{secrets.token_hex(8)}.sqlite")
    await studio.shelf.run(lambda shelf: shelf.copy_to(copy))
    job = studio.jobs.start("export", export_apart, copy, studio.shelf.files, student, in_folder=True, title=name)
    path = await result_of(job)
    return FileResponse(path, filename=name, media_type="application/zip", background=BackgroundTask(path.unlink))
