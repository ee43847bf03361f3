"""Play-alongs with a band, made of a lesson of the shelf: as the command makes them, from what was chosen there."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from msgspec import Struct

from reedpath.data import read_json
from reedpath.errors import SoundError
from reedpath.jobs.band_choices import BandChoice, backing_of
from reedpath.jobs.folder_plans import LIST, MadeFiles, parted
from reedpath.jobs.footage_of_versions import write_without_films
from reedpath.jobs.kept_wishes import wishes_from
from reedpath.jobs.lesson_folders import read_taught
from reedpath.jobs.practising import PractiseWishes, make_practice_sounds
from reedpath.jobs.progress import Progress, silent
from reedpath.jobs.shelf_lessons import files_of_folder
from reedpath.lesson import Lesson
from reedpath.shelf import KeptFiles, LessonVersion
from reedpath.sound import Backing

# names that `sound.with_band_name` gives, by their tempo
_WITH_BAND = re.compile(r"with-band-([0-9]+(?:\.[0-9]+)?)")


class KeptBandSound(Struct, frozen=True):
    """A play-along with a band among the files of a version.

    piece : folder of the piece it is of, empty for a lesson of one. bpm : as its name tells it.
    seed : which take of the band it is; None where that is not known.
    """

    name: str
    piece: str
    bpm: float
    seed: int | None


def make_band_sounds(
    folder: Path, choice: BandChoice, format: str, *, progress: Progress = silent
) -> tuple[str, ...]:
    """Make the play-alongs of a lesson's folder with a band, at each tempo; their names.

    Each piece of several has its own, in its folder, as `play-along` makes them there; one that no band can play has
    none.

    format : "wav", "flac", "mp3" or "opus".

    Raises `SettingsError` for a choice that means nothing, and `SoundError` where the band can play none of them.
    """
    taught = read_taught(folder)
    inside = [("", taught)] if isinstance(taught, Lesson) else [(one.folder, one.lesson) for one in taught.pieces]
    names: list[str] = []
    refused: list[SoundError] = []
    for name, lesson in inside:
        try:
            wishes = PractiseWishes(backing_of(choice, lesson.route), format=format)
            made = make_practice_sounds(lesson, wishes, folder / name, replace=True, progress=progress)
        except SoundError as error:
            refused.append(error)
            continue
        names += (f"{name}/{file}" if name else file for file in made.files)
    if len(refused) == len(inside):
        raise refused[0]
    return tuple(names)


def make_band_sounds_of_version(
    files: KeptFiles, version: LessonVersion, choice: BandChoice, format: str, *, progress: Progress = silent
) -> dict[str, str]:
    """The same for a kept version; all files of its folder as they are then, by name."""
    with tempfile.TemporaryDirectory(prefix="band-") as aside:
        folder = Path(aside) / "lesson"
        write_without_films(files, version, folder)
        make_band_sounds(folder, choice, format, progress=progress)
        return {**version.files, **files_of_folder(files, folder, tuple(version.pieces))}


def kept_band_sounds(files: KeptFiles, version: LessonVersion) -> tuple[KeptBandSound, ...]:
    """The play-alongs with a band among the files of a version, piece by piece, the slowest first."""
    found: list[KeptBandSound] = []
    for name in version.files:
        inside, last = parted(name)
        tempo = _WITH_BAND.match(last)
        if tempo is not None:
            found.append(KeptBandSound(name, inside, float(tempo[1]), _seed_of(files, version, inside, last)))
    return tuple(sorted(found, key=lambda one: (one.piece, one.bpm, one.name)))


def _seed_of(files: KeptFiles, version: LessonVersion, inside: str, name: str) -> int | None:
    listed = f"{inside}/{LIST}" if inside else LIST
    if listed not in version.files:
        return None
    made = read_json(files.path(version.files[listed]).read_bytes(), MadeFiles, file=listed).files.get(name)
    if made is None or not made.wishes:
        return None
    play = wishes_from(made.wishes, PractiseWishes).play
    return play.seed if isinstance(play, Backing) else None
