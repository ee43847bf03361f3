"""Recordings found in folders, each known by its bytes; what lies beside them is left alone and told."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from msgspec import Struct

from reedpath.errors import Place, ReadError, SoundError, clean_text
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import UNFINISHED
from reedpath.jobs.lesson_folders import DATA
from reedpath.jobs.take_names import date_named
from reedpath.signal.formats import HEAD_BYTES, sound_kind

# endings of files that are told where they can't be heard, in place of being passed over
_ENDINGS = (
    "3gp aac aif aiff amr au avi caf flac m4a m4b m4v mka mkv mov mp3 mp4 mpga oga ogg opus w64 wav weba webm wma wmv"
)
SOUND_ENDINGS = frozenset(f".{one}" for one in _ENDINGS.split())


class RecordingFile(Struct, frozen=True):
    """A recording.

    name : how it is told: its path from the folder that was given, with "/" between.
    folders : names of those on the way, the nearest last. above : name of the folder that it lies in.
    recorded : the day that its name or its folder's says, else that of its last change, as ISO 8601 writes it.
    modified : time of its last change, likewise.
    """

    path: Path
    name: str
    folders: tuple[str, ...]
    above: str
    recorded: str
    modified: str

    @property
    def stem(self) -> str:
        """Its name without its ending."""
        return self.path.stem


class FoundRecordings(Struct, frozen=True):
    """What was found in folders.

    recordings : in order of folder and name. others : names of files that are no recordings.
    """

    recordings: tuple[RecordingFile, ...]
    others: tuple[str, ...]


def _recording(path: Path, root: Path | None) -> RecordingFile:
    changed = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    inside = path.relative_to(root) if root is not None else Path(path.name)
    folders = inside.parts[:-1]
    day = date_named(path.stem, *reversed(folders)) or changed.astimezone().date()
    above = path.resolve().parent.name
    return RecordingFile(
        path,
        clean_text(inside.as_posix()),
        folders,
        above,
        day.isoformat(),
        changed.isoformat(timespec="milliseconds"),
    )


def _recording_in(path: Path, root: Path) -> RecordingFile | None:
    """A recording in a folder; None for a link that leads nowhere."""
    try:
        return _recording(path, root)
    except OSError:
        return None


def _is_sound(path: Path) -> bool:
    if path.suffix.lower() in SOUND_ENDINGS:
        return True
    with suppress(OSError, SoundError), path.open("rb") as file:
        return bool(sound_kind(file.read(HEAD_BYTES)))
    return False


def _files_in(root: Path) -> Iterator[Path]:
    """The files in a folder and those in it; hidden ones, lessons and what this program made are left out."""
    for place, folders, names in os.walk(root):
        here = Path(place)
        if here != root and (DATA in names or LIST in names):
            folders.clear()
            continue
        folders[:] = sorted(one for one in folders if not one.startswith(".") and not one.endswith(UNFINISHED))
        yield from (here / name for name in sorted(names) if not name.startswith("."))


def find_recordings(given: Sequence[Path]) -> FoundRecordings:
    """The recordings among files and in folders, at any depth, each once; a file that is named is one whatever it is.

    Raises `ReadError` when one is not there, or no recording is in any.
    """
    found: dict[Path, RecordingFile] = {}
    others: list[str] = []
    for one in given:
        if one.is_dir():
            for path in _files_in(one):
                recording = _recording_in(path, one) if _is_sound(path) else None
                if recording is not None:
                    found.setdefault(path.resolve(), recording)
                else:
                    others.append(clean_text(path.relative_to(one).as_posix()))
        elif one.exists():
            found.setdefault(one.resolve(), _recording(one, None))
        else:
            raise ReadError("jobs.no_file", where=Place(file=str(one)))
    if not found:
        raise ReadError("jobs.no_recordings_there", where=Place(file=", ".join(map(str, given))))
    return FoundRecordings(tuple(found.values()), tuple(others))
