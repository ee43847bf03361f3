"""What a page answers to who sends it something: where to go on, the jobs that it began, what one of them made."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response

from reedpath.errors import SettingsError
from reedpath.jobs.shelves import export_apart
from reedpath.studio.pages import asks_for_data, studio_of
from reedpath.studio.running_jobs import RunningJob


def went(request: Request, address: str, *, tells: bool = False, **data: Any) -> Response:
    """Where the sender of a form goes on: a person is led there, a script learns the address.

    tells : whether a script learns, too, what the next page would have told.
    data : what else a script learns.
    """
    if not asks_for_data(request):
        return RedirectResponse(address, 303)
    told = {"told": studio_of(request).told_once()} if tells else {}
    return JSONResponse({"address": address, **told, **data})


def kept(request: Request, told: str, address: str, **data: Any) -> Response:
    """What a form said was kept: a script learns what is told and ``data``, a person is led on and told there."""
    if asks_for_data(request):
        return JSONResponse({"told": told, **data})
    studio_of(request).tell(told)
    return RedirectResponse(address, 303)


def begun_at_once(request: Request, job: RunningJob, address: str, **data: Any) -> Response:
    """A job that a form began and nobody waits for: a script learns its number and ``data``, a person is led on."""
    if asks_for_data(request):
        return JSONResponse({"job": job.number, **data}, 202)
    return RedirectResponse(address, 303)


async def begun(request: Request, jobs: Sequence[RunningJob], address: str, *, raises: bool = True) -> Response:
    """Jobs that a form began: a script learns their numbers, a person is led on when all have ended.

    raises : whether a person is told at once what went wrong; else the next page, or that of all jobs, says it.
    """
    if asks_for_data(request):
        numbers = [job.number for job in jobs]
        return JSONResponse({"job": numbers[0], "jobs": numbers}, 202)
    for job in jobs:
        await job.ended.wait()
        if raises and job.error is not None:
            raise job.error
    return RedirectResponse(address, 303)


async def result_of(job: RunningJob) -> Any:
    """What a job comes to; its error raised, and SettingsError where it was stopped."""
    await job.ended.wait()
    if job.error is not None:
        raise job.error
    if job.result is None:
        raise SettingsError("studio.job_ended")
    return job.result


async def sent_zip(request: Request, name: str, *, student: int | None = None) -> Response:
    """Send the shelf, or a student of it, as one zip, which is written from a copy in a process of its own.

    Nothing of it is left in the studio's own folder then.
    """
    studio = studio_of(request)
    copy = studio.jobs.new_file(f"{secrets.token_hex(8)}.sqlite")
    await studio.shelf.run(lambda shelf: shelf.copy_to(copy))
    job = studio.jobs.start("export", export_apart, copy, studio.shelf.files, student, in_folder=True, title=name)
    path = await result_of(job)
    return FileResponse(path, filename=name, media_type="application/zip", background=BackgroundTask(path.unlink))
