"""The application: the pages of all screens behind the guard."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.routing import BaseRoute

from reedpath.jobs.demo_shelf import DemoLessons, demo_lessons, demo_takes, put_demo_lessons, put_demo_students
from reedpath.studio import (
    lesson_pages,
    rehearse_pages,
    settings_pages,
    shelf_pages,
    static_files,
    student_pages,
    uploads,
    work_pages,
    workbench_pages,
)
from reedpath.studio.benches import OpenBenches
from reedpath.studio.guard import Guard
from reedpath.studio.lesson_desks import end_desk
from reedpath.studio.open_shelf import OpenShelf
from reedpath.studio.pages import PROBLEMS, Studio
from reedpath.studio.running_jobs import RunningJobs
from reedpath.studio.settings import Settings
from reedpath.studio.student_views import FoundNexts
from reedpath.studio.waiting_takes import hear_again


def _routes() -> list[BaseRoute]:
    screens = (
        rehearse_pages,
        shelf_pages,
        workbench_pages,
        lesson_pages,
        work_pages,
        settings_pages,
        uploads,
        static_files,
        student_pages,
    )
    return [route for screen in screens for route in screen.ROUTES]


def make_app(shelf: OpenShelf, *, port: int, language: str = "", demo: bool = False) -> tuple[Guard, Starlette]:
    """The studio over an open shelf: the guard that is served, and the application behind it.

    port : that it is served at, which every request must name.
    language : of the pages; empty for what is kept, or that of the browser.
    demo : whether the demo is put on the shelf, by jobs that begin with the studio.
    """
    work = _beside(shelf.path, "work")

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        jobs, taken = RunningJobs(work / "jobs"), uploads.Uploads(work / "uploads")
        app.state.studio = Studio(shelf, jobs, taken, Settings(language=language))
        if demo:
            _start_demo(shelf, jobs)
        app.state.benches, app.state.nexts = OpenBenches(shelf), FoundNexts()
        await hear_again(app.state.studio)
        yield
        await app.state.benches.end()
        await jobs.end()
        await end_desk(app)
        taken.end()

    app = Starlette(routes=_routes(), exception_handlers=PROBLEMS, lifespan=lifespan)
    return Guard(app, port=port), app


def _start_demo(shelf: OpenShelf, jobs: RunningJobs) -> None:
    """Put the demo on the shelf: phrases and lessons, soon there, then students, whose takes are answered first."""

    async def keep(made: DemoLessons) -> None:
        versions = await shelf.run(put_demo_lessons, made)
        jobs.start(
            "demo_takes", demo_takes, made.lessons, in_folder=True, link="/",
            then=lambda takes: shelf.run(put_demo_students, takes, versions),
        )  # fmt: skip

    jobs.start("demo", demo_lessons, link="/", then=keep)


def _beside(shelf: Path, name: str) -> Path:
    return shelf.with_name(f"{shelf.name}.{name}")
