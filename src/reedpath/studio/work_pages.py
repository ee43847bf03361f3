"""Work: what runs, how far it is, how long it still takes; and stopping it."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from reedpath.jobs.progress import ProgressStep
from reedpath.studio.pages import asks_for_data, page, said_error, studio_of
from reedpath.studio.running_jobs import RunningJob
from reedpath.wording import Catalogue

# seconds between two tellings of progress; more is not seen
TELL_SECONDS = 0.1


def _step_words(step: ProgressStep, catalogue: Catalogue) -> str:
    key = f"progress.{step.name}"
    return catalogue.say(key, rung=step.detail) if step.detail else catalogue.say(key)


def job_data(job: RunningJob, catalogue: Catalogue) -> dict[str, Any]:
    """A job as a page shows it, in words."""
    step, left = job.step, job.seconds_left
    return {
        "number": job.number,
        "name": catalogue.say(f"work.job.{job.name}"),
        "title": job.title,
        "state": job.state.value,
        "state_says": catalogue.say(f"work.state.{job.state.value}"),
        "ended": job.state.is_end,
        "share": round(job.share, 3),
        "step": "" if step is None else _step_words(step, catalogue),
        "left": "" if left is None else catalogue.say("work.left", count=max(1, round(left))),
        "link": job.link,
        "error": None if job.error is None else said_error(job.error, catalogue),
    }


async def show_work(request: Request) -> Response:
    """GET /work: the jobs."""
    studio = studio_of(request)
    catalogue = studio.catalogue(request)
    jobs = [job_data(job, catalogue) for job in studio.jobs.all()]
    if asks_for_data(request):
        return JSONResponse(jobs)
    return page(request, "work.html", jobs=jobs)


async def cancel_job(request: Request) -> Response:
    """POST /work/N/cancel: stop a job."""
    studio = studio_of(request)
    job = await studio.jobs.cancel(request.path_params["number"])
    if asks_for_data(request):
        return JSONResponse(job_data(job, studio.catalogue(request)))
    return RedirectResponse("/work", 303)


async def tell_progress(socket: WebSocket) -> None:
    """WebSocket /progress: all jobs as they are, and again when one goes on."""
    studio = studio_of(socket)
    catalogue = studio.catalogue(socket)
    await socket.accept()

    async def tell() -> None:
        async for jobs in studio.jobs.changes():
            await socket.send_json([job_data(job, catalogue) for job in jobs])
            await asyncio.sleep(TELL_SECONDS)

    telling = asyncio.create_task(tell())
    with suppress(WebSocketDisconnect):
        while True:
            await socket.receive_text()
    telling.cancel()
    with suppress(asyncio.CancelledError, WebSocketDisconnect, RuntimeError):
        await telling


ROUTES = [
    Route("/work", show_work),
    Route("/work/{number:int}/cancel", cancel_job, methods=["POST"]),
    WebSocketRoute("/progress", tell_progress),
]
