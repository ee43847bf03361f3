"""Making again what other commands made of a lesson that has changed since: sounds to practise with, and films."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from reedpath.data import encode_json
from reedpath.film import FilmWishes
from reedpath.jobs.films import make_film
from reedpath.jobs.folder_plans import made_files
from reedpath.jobs.kept_wishes import wishes_from
from reedpath.jobs.practising import PractiseWishes, make_practice_sounds
from reedpath.jobs.progress import Progress, silent
from reedpath.lesson import Lesson, LessonOfPieces, Taught


def _make_in(folder: Path, lesson: Taught, progress: Progress) -> Iterator[str]:
    """Make again what lies in a folder itself; the names of all."""
    # not what says not how it was made, nor a name that leads elsewhere
    listed = {name: one for name, one in made_files(folder).items() if one.wishes and Path(name).name == name}
    if isinstance(lesson, Lesson):
        # sounds of one wish were made in one go
        sounds = {encode_json(one.wishes): one.wishes for one in listed.values() if one.command == "play-along"}
        for wished in sounds.values():
            wishes = wishes_from(wished, PractiseWishes)
            yield from make_practice_sounds(lesson, wishes, folder, replace=True, progress=progress).files
    for name, one in listed.items():
        if one.command == "film" and name.endswith(".mp4"):
            film_wishes = wishes_from(one.wishes, FilmWishes)
            yield from make_film(lesson, film_wishes, folder / name, replace=True, progress=progress).files


def make_again(folder: Path, lesson: Taught, *, progress: Progress = silent) -> tuple[str, ...]:
    """Make the sounds and films again that lie in a lesson's folder, as they were wished for; the names of all.

    lesson : as it is now, the folder's own.

    Raises `ReedpathError` when one of them cannot be made; those before it are there then.
    """
    names = [*_make_in(folder, lesson, progress)]
    for piece in lesson.pieces if isinstance(lesson, LessonOfPieces) else ():
        names += (f"{piece.folder}/{name}" for name in _make_in(folder / piece.folder, piece.lesson, progress))
    return tuple(names)
