"""Making again what other commands made of a lesson that has changed since: sounds to practise with, and films."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from reedpath.data import encode_json
from reedpath.film import FilmWishes
from reedpath.jobs.films import make_film
from reedpath.jobs.folder_plans import MadeFile, made_files
from reedpath.jobs.kept_wishes import wishes_from
from reedpath.jobs.practising import PractiseWishes, make_practice_sounds
from reedpath.jobs.progress import Progress, silent
from reedpath.lesson import Lesson, LessonOfPieces

__all__ = ["make_again"]


class _Making(Struct, frozen=True):
    """Files of a folder that one command made in one go, and how."""

    command: str
    wishes: Mapping[str, Any]
    names: tuple[str, ...]


def _makings(listed: Mapping[str, MadeFile]) -> list[_Making]:
    """What can be made again, in order of name."""
    found: dict[tuple[str, bytes, str], _Making] = {}
    for name, made in sorted(listed.items()):
        if not made.wishes or Path(name).name != name:
            continue  # what says not how it was made, and a name that leads elsewhere
        # each film with what lies beside it; all sounds of one wish
        film = name.partition(".")[0] if made.command == "film" else ""
        key = (made.command, encode_json(made.wishes), film)
        before = found[key].names if key in found else ()
        found[key] = _Making(made.command, made.wishes, (*before, name))
    films = [one for one in found.values() if one.command == "film"]
    no_film = [one for one in films if not any(name.endswith(".mp4") for name in one.names)]
    return [one for one in found.values() if one not in no_film]


def _make_in(folder: Path, lesson: Lesson | LessonOfPieces, progress: Progress) -> Iterator[str]:
    for making in _makings(made_files(folder)):
        if making.command == "play-along" and isinstance(lesson, Lesson):
            wishes = wishes_from(making.wishes, PractiseWishes)
            yield from make_practice_sounds(lesson, wishes, folder, replace=True, progress=progress).files
        elif making.command == "film":
            film = folder / next(name for name in making.names if name.endswith(".mp4"))
            wished = wishes_from(making.wishes, FilmWishes)
            yield from make_film(lesson, wished, film, replace=True, progress=progress).files


def make_again(folder: Path, lesson: Lesson | LessonOfPieces, *, progress: Progress = silent) -> tuple[str, ...]:
    """Make the sounds and films again that lie in a lesson's folder, as they were wished for; the names of all.

    lesson : as it is now, the folder's own.

    Raises
    ------
    ReedpathError
        When one of them cannot be made; those before it are there then.
    """
    names = [*_make_in(folder, lesson, progress)]
    for piece in lesson.pieces if isinstance(lesson, LessonOfPieces) else ():
        names += (f"{piece.folder}/{name}" for name in _make_in(folder / piece.folder, piece.lesson, progress))
    return tuple(names)
