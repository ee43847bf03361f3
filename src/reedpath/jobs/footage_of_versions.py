"""Raw footage of a lesson on the shelf: the teacher's films, what is played in them, and the cut as she wants it.

All of it are kept files of a version (`FILM`, `CUT`, `HEARD`) that go with the lesson's next versions, since they are
hers. Of a lesson of several pieces they lie in the folder of the piece that is played.
"""

from __future__ import annotations

import io
import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.data import encode_json, read_json
from reedpath.errors import SettingsError
from reedpath.film import CutOrder, FilmCut, FilmWishes, TakeWishes, decode_cut, encode_cut, seekable_film
from reedpath.jobs.cutting import make_cut_film, propose_cut
from reedpath.jobs.films import make_film
from reedpath.jobs.lesson_edits import piece_of
from reedpath.jobs.lesson_folders import lesson_of_version, read_taught
from reedpath.jobs.progress import Progress, silent
from reedpath.jobs.shelf_lessons import files_of_folder, write_kept_lesson
from reedpath.lesson import LessonOfPieces
from reedpath.listen import PlayThrough
from reedpath.shelf import KeptFiles, LessonVersion, Shelf, last_version

# names of a version's files: her films by their numbers, the cut (not that of `make_cut_film`, which is made), and
# what is heard in the films
FILM = re.compile(r"my-film-(\d+)\.[a-z0-9]{1,8}")
CUT, HEARD = "my-film-cut.json", "my-film-heard.json"
# what is made of them, and of the lesson alone
CUT_FILM, LESSON_FILM = "my-film.mp4", "film.mp4"


class HeardFootage(Struct, frozen=True):
    """What is heard in the films of a lesson.

    plays : the play-throughs of each. loudness_db : of each, every tenth of a second.
    """

    plays: tuple[tuple[PlayThrough, ...], ...]
    loudness_db: tuple[tuple[float, ...], ...]


class KeptFootage(Struct, frozen=True):
    """The films of a lesson, or of one of its pieces.

    films : kept files by their names in the version, in order.
    cut, heard : None before the films are lined up.
    """

    films: Mapping[str, str]
    cut: FilmCut | None = None
    heard: HeardFootage | None = None


def footage_inside(taught_folders: Sequence[str], piece: int | None) -> str:
    """What leads the names of the files of a piece's films; nothing for a lesson of one phrase."""
    return "" if not taught_folders else f"{taught_folders[piece or 0]}/"


def _films(version: LessonVersion, inside: str) -> dict[str, str]:
    numbered = {
        int(found[1]): name
        for name in version.files
        if name.startswith(inside) and (found := FILM.fullmatch(name.removeprefix(inside)))
    }
    return {numbered[number]: version.files[numbered[number]] for number in sorted(numbered)}


def footage_of(files: KeptFiles, version: LessonVersion, inside: str = "") -> KeptFootage:
    """The films of a version with their cut; ReedpathError for a cut that cannot be read."""
    films = _films(version, inside)
    cut, heard = version.files.get(inside + CUT), version.files.get(inside + HEARD)
    if not films or cut is None or heard is None:
        return KeptFootage(films)
    read = read_json(files.path(heard).read_bytes(), HeardFootage, file=HEARD)
    return KeptFootage(films, decode_cut(files.path(cut).read_bytes()), read)


def _kept(files: KeptFiles, data: bytes, name: str) -> str:
    return files.keep(io.BytesIO(data), name=name)


def keep_cut(files: KeptFiles, cut: FilmCut, inside: str = "") -> dict[str, str]:
    """Keep a cut that was corrected by hand; the version's file by its name."""
    return {inside + CUT: _kept(files, encode_cut(cut), CUT)}


def without_film(version: LessonVersion, name: str, inside: str = "") -> tuple[str, ...]:
    """Names of the files that go with one of her films: itself, and what is heard in all of them."""
    if name not in _films(version, inside):
        raise SettingsError("shelf.no_record", number=0)
    return (name, inside + CUT, inside + HEARD)


def line_up_footage(
    files: KeptFiles,
    version: LessonVersion,
    new: Sequence[Path],
    *,
    piece: int | None = None,
    inside: str = "",
    order: CutOrder = CutOrder.FILMED,
    progress: Progress = silent,
) -> dict[str, str]:
    """Keep films that the teacher took, line all of hers up with the lesson, and propose a cut of them.

    The version's files that come of it, by name. Nothing but the files beside the database is touched.

    new : films beside those that the version has.
    piece, inside : of a lesson of several pieces, which is played, and what leads the names of its files.
    order : in which what stays is proposed to be shown.

    Raises `ReedpathError` for a film that cannot be read, or has no sound; as taught, where nothing of the lesson is
    played.
    """
    lesson = piece_of(lesson_of_version(version), piece)
    films = _films(version, inside)
    number = max((int(found[1]) for name in films if (found := FILM.fullmatch(name.removeprefix(inside)))), default=0)
    made: dict[str, str] = {}
    with tempfile.TemporaryDirectory(prefix="footage-") as aside:
        for place, path in enumerate(new, start=number + 1):
            film = seekable_film(path, Path(aside))
            name = f"{inside}my-film-{place}{film.suffix.lower()}"
            with film.open("rb") as file:
                made[name] = files.keep(file, name=film.name)
    every = {**films, **made}
    proposed = propose_cut(lesson, [files.path(kept) for kept in every.values()], order=order, progress=progress)
    named = replace(proposed.cut, films=tuple(name.removeprefix(inside) for name in every))
    heard = HeardFootage(proposed.plays, proposed.loudness_db)
    made[inside + HEARD] = _kept(files, encode_json(heard), HEARD)
    return made | keep_cut(files, named, inside)


def _is_footage(name: str) -> bool:
    return FILM.fullmatch(name.rpartition("/")[2]) is not None


def write_without_films(files: KeptFiles, version: LessonVersion, folder: Path) -> None:
    """Write a version out without its films, which are large, are read where they lie, and stay as they are."""
    light = {name: kept for name, kept in version.files.items() if not _is_footage(name)}
    write_kept_lesson(files, replace(version, files=light), folder)


def make_film_of_version(
    files: KeptFiles, version: LessonVersion, wishes: FilmWishes, *, progress: Progress = silent
) -> dict[str, str]:
    """Make the film of a version; all files of its folder as they are then, by name."""
    with tempfile.TemporaryDirectory(prefix="film-") as aside:
        folder = Path(aside) / "lesson"
        write_without_films(files, version, folder)
        taught = read_taught(folder)
        make_film(taught, wishes, folder / LESSON_FILM, replace=True, progress=progress)
        return files_of_folder(files, folder, tuple(version.pieces))


def make_film_of_footage(
    files: KeptFiles,
    version: LessonVersion,
    wishes: TakeWishes,
    *,
    piece: int | None = None,
    inside: str = "",
    progress: Progress = silent,
) -> dict[str, str]:
    """Cut her films and lay the strip over them; all files of the version's folder as they are then, by name."""
    footage = footage_of(files, version, inside)
    if footage.cut is None or footage.heard is None:
        raise SettingsError("film.no_footage")
    with tempfile.TemporaryDirectory(prefix="film-") as aside:
        folder = Path(aside) / "lesson"
        write_without_films(files, version, folder)
        taught = read_taught(folder)
        lesson = piece_of(taught, piece if isinstance(taught, LessonOfPieces) else None)
        films = [files.path(kept) for kept in footage.films.values()]
        out = folder / f"{inside}{CUT_FILM}"
        make_cut_film(
            lesson, films, wishes, out, cut=footage.cut, plays=footage.heard.plays, replace=True, progress=progress
        )
        return files_of_folder(files, folder, tuple(version.pieces))


def put_own_files(
    shelf: Shelf, lesson: int, files: Mapping[str, str], *, gone: Sequence[str] = (), what: str
) -> LessonVersion:
    """Let the last version of a lesson have files of hers, whichever that is by now."""
    return put_files(shelf, last_version(shelf, lesson).number, files, gone=gone, what=what)


def put_files(
    shelf: Shelf, number: int, files: Mapping[str, str], *, gone: Sequence[str] = (), what: str = "made"
) -> LessonVersion:
    """Let a version have these files beside those that it has, by the number of its record."""
    with shelf.step(what):
        version = shelf.get(LessonVersion, number)
        left = {name: kept for name, kept in version.files.items() if name not in gone}
        changed = replace(version, files={**left, **files})
        if changed != version:
            shelf.change(changed)
        return changed
