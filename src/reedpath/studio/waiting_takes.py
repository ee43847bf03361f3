"""Takes that wait: each is heard in a job of its own, kept as a student's, or asked about; also after a new start."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from reedpath.errors import ReedpathError
from reedpath.jobs.incoming_takes import (
    FoundTake,
    IncomingTake,
    findings_as_text,
    found_before,
    ground_of,
    keep_found,
)
from reedpath.shelf import (
    KeptTake,
    Shelf,
    WaitingTake,
    all_waiting_takes,
    end_waiting,
    keep_findings,
    remove_waiting_take,
)
from reedpath.studio.pages import Studio
from reedpath.studio.running_jobs import RunningJob
from reedpath.studio.student_views import hear_one


class AskedTake(Struct, frozen=True):
    """A take of which something is not sure; number: by which it is asked about."""

    number: int
    found: FoundTake


def incoming(shelf: Shelf, take: WaitingTake) -> IncomingTake:
    """A take that waits, as it is heard."""
    return IncomingTake(shelf.files.path(take.sound), take.name, take.student, take.version, take.added)


def asked_takes(shelf: Shelf) -> list[AskedTake]:
    """The takes that are asked about, in the order in which they came."""
    waiting = (one for one in all_waiting_takes(shelf) if one.found)
    return [AskedTake(one.number, found_before(incoming(shelf, one), one.found)) for one in waiting]


def keep_take(shelf: Shelf, number: int, found: FoundTake) -> KeptTake:
    """Keep a take that waited as a student's."""
    kept = keep_found(shelf, found)
    end_waiting(shelf, number)
    return kept


async def hear_waiting(studio: Studio, number: int, take: IncomingTake) -> RunningJob:
    """Start a job that hears a take that waits and keeps it, or asks."""
    ground = await studio.shelf.run(ground_of)
    studio.hearing.add(number)

    async def keep(found: FoundTake | ReedpathError) -> dict[str, Any]:
        if isinstance(found, ReedpathError):  # it can't be heard another time either
            await studio.shelf.run(remove_waiting_take, number)
            raise found
        if not found.is_sure:
            await studio.shelf.run(keep_findings, number, findings_as_text(found))
            return {"asked": found.take.name}
        kept = await studio.shelf.run(keep_take, number, found)
        return {"take": kept.number, "student": kept.student}

    link = "/students" if take.student is None else f"/students/{take.student}"
    return studio.jobs.start("take", hear_one, take, ground, title=take.name, link=link, then=keep)


def _unheard(shelf: Shelf) -> list[tuple[int, IncomingTake]]:
    return [(one.number, incoming(shelf, one)) for one in all_waiting_takes(shelf) if not one.found]


async def hear_again(studio: Studio) -> None:
    """Hear the takes that were not heard yet when the studio was closed, or came in with a zip."""
    for number, take in await studio.shelf.run(_unheard):
        if number not in studio.hearing:
            await hear_waiting(studio, number, take)
