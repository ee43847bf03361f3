"""Sounds of an earlier version of a lesson on the shelf, laid where the next one is made, which keeps what it can."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from msgspec.structs import replace

from reedpath.data import encode_json, read_json
from reedpath.jobs.folder_plans import LIST, MadeFile, MadeFiles, parted
from reedpath.shelf import KeptFiles, LessonVersion


def _sounds_in(files: KeptFiles, earlier: LessonVersion, inside: str) -> dict[str, MadeFile]:
    """What of a version's folder, or of one inside it, has sounds of the lesson in it, by name there."""
    name = f"{inside}/{LIST}" if inside else LIST
    listed = read_json(files.path(earlier.files[name]).read_bytes(), MadeFiles, file=name)
    return {one: made for one, made in listed.files.items() if made.command == "lesson" and made.sounds}


def _laid(files: KeptFiles, kept: Mapping[str, str], sounds: Mapping[str, MadeFile], to: Path) -> dict[str, MadeFile]:
    """Copy files to a folder in which nothing has their names; those that were."""
    laid = {}
    for name, made in sounds.items():
        if name in kept and not os.path.lexists(to / name):
            to.mkdir(exist_ok=True)
            shutil.copyfile(files.path(kept[name]), to / name)
            laid[name] = made
    return laid


def lay_earlier_sounds(files: KeptFiles, earlier: LessonVersion, folder: Path) -> None:
    """Lay an earlier version's sounds into the folder of one of which nothing is made, with lists that say so.

    When everything is made there, those that would sound the same are kept, and the others go.

    Raises `ReadError` for a list that cannot be read.
    """
    if (folder / LIST).exists() or LIST not in earlier.files:
        return
    lists: dict[str, MadeFiles] = {}
    for name in earlier.files:
        inside, last = parted(name)
        if last == LIST:
            begins = f"{inside}/" if inside else ""
            kept = {one.removeprefix(begins): had for one, had in earlier.files.items() if one.startswith(begins)}
            lists[inside] = MadeFiles(files=_laid(files, kept, _sounds_in(files, earlier, inside), folder / inside))
    folders = tuple(inside for inside, listed in lists.items() if inside and listed.files)
    for inside in folders:
        (folder / inside / LIST).write_bytes(encode_json(lists[inside]))
    whole = replace(lists[""], folders=folders) if folders else lists[""]
    (folder / LIST).write_bytes(encode_json(whole))
