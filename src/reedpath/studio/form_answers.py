"""What the sender of a form is answered: where to go on, or the jobs that it began."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from reedpath.errors import SettingsError
from reedpath.studio.pages import asks_for_data, studio_of
from reedpath.studio.running_jobs import RunningJob

__all__ = ["begun", "begun_at_once", "result_of", "went"]


def went(request: Request, address: str, *, tells: bool = False, **data: Any) -> Response:
    """
    Where the sender of a form goes on: a person is led there, a script learns the address.

    Parameters
    ----------
    tells : whether a script learns, too, what the next page would have told.
    data : what else a script learns.
    """
    if not asks_for_data(request):
        return RedirectResponse(address, 303)
    told = {"told": studio_of(request).told_once()} if tells else {}
    return JSONResponse({"address": address, **told, **data})


def begun_at_once(request: Request, job: RunningJob, address: str, **data: Any) -> Response:
    """A job that a form began and nobody waits for: a script learns its number and ``data``, a person is led on."""
    if asks_for_data(request):
        return JSONResponse({"job": job.number, **data}, 202)
    return RedirectResponse(address, 303)


async def begun(request: Request, jobs: Sequence[RunningJob], address: str, *, raises: bool = True) -> Response:
    """
    Jobs that a form began: a script learns their numbers, a person is led on when all have ended.

    Parameters
    ----------
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
