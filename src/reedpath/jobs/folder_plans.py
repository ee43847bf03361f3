"""What is to be done with new files for a folder, and the list of what was made there before.

A name is the path of a file inside the folder, with "/" between: a lesson of several pieces has a folder for each
inside its own. Each folder has a list of its own files; that of the folder that was written into says which folders
inside it were written with it.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

import msgspec

from reedpath.data import encode_json, read_json
from reedpath.errors import Clause, Place, ReadError, SettingsError, system_words

# the list of what was made: its name in each folder
LIST = "made-files.json"
# before the bytes of a name that is no UTF-8, where names stand in JSON; ours
_BYTES = "bytes:"


class MadeFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A file that was made.

    sha256 : of its bytes, in hexadecimal.
    command : that made it.
    wishes : how it was to be made, as plain data, where it can be made again from its lesson (`making_again`).
    sounds : keys of the sounds of a lesson that are in it, in the order in which they stand there (`kept_sounds`).
    """

    sha256: str
    command: str
    wishes: dict[str, Any] = {}
    sounds: tuple[str, ...] = ()


class MadeFiles(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The list of a folder.

    files : what was made there, by name.
    folders : those inside it that were written with it; each has a list of its own.
    """

    schema: str = "reedpath/made-files"
    version: int = 1
    files: dict[str, MadeFile] = {}
    folders: tuple[str, ...] | msgspec.UnsetType = msgspec.UNSET


class FolderPlan(msgspec.Struct, frozen=True):
    """What goes where: names that are kept under another, names that are put, names that go."""

    keep: dict[str, str]
    put: tuple[str, ...]
    remove: tuple[str, ...]


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _digests(folder: Path, names: Sequence[str]) -> dict[str, str]:
    """SHA-256 of files in a folder, several at a time: while one is reckoned, Python's other threads go on."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor() as pool:
        return dict(zip(names, pool.map(_sha256, [folder / name for name in names]), strict=True))


def _to_json(name: str) -> str:
    """A name as JSON can hold it: as it is, or by its bytes where these are no UTF-8."""
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return _BYTES + os.fsencode(name).hex()
    return _BYTES + os.fsencode(name).hex() if name.startswith(_BYTES) else name


def _from_json(text: str) -> str:
    """The name that such a text stands for."""
    try:
        return os.fsdecode(bytes.fromhex(text.removeprefix(_BYTES))) if text.startswith(_BYTES) else text
    except ValueError:
        return text


def _with_names(plan: FolderPlan, written: Callable[[str], str]) -> FolderPlan:
    keep = {written(old): written(new) for old, new in plan.keep.items()}
    return FolderPlan(keep, tuple(map(written, plan.put)), tuple(map(written, plan.remove)))


def plan_to_json(plan: FolderPlan) -> bytes:
    """A plan as a file."""
    return encode_json(_with_names(plan, _to_json))


def plan_from_json(path: Path) -> FolderPlan:
    """The plan in a file; ReadError for one that cannot be read."""
    return _with_names(read_json(path.read_bytes(), FolderPlan, file=str(path)), _from_json)


def _listed(folder: Path) -> MadeFiles:
    path = folder / LIST
    try:
        return read_json(path.read_bytes(), MadeFiles, file=str(path))
    except (FileNotFoundError, NotADirectoryError):
        return MadeFiles()
    except OSError as error:
        raise ReadError("jobs.file_unreadable", where=Place(file=str(path)), why=system_words(error)) from error


def made_files(folder: Path) -> Mapping[str, MadeFile]:
    """What was made in a folder itself, by name; nothing where there is no list.

    Raises `ReadError` when there is a list that cannot be read.
    """
    return {_from_json(name): made for name, made in _listed(folder).files.items()}


def made_folders(folder: Path) -> tuple[str, ...]:
    """Names of the folders inside a folder that were written with it; ReadError as for `made_files`."""
    folders = _listed(folder).folders
    return () if folders is msgspec.UNSET else tuple(map(_from_json, folders))


def refused(key: str, path: Path, **values: str | Clause) -> SettingsError:
    """What cannot be done with a file or folder."""
    return SettingsError(key, where=Place(file=str(path)), **values)


def parted(name: str) -> tuple[str, str]:
    """The folder inside the folder, empty for the folder itself, and the name of the file in it."""
    inside, _, last = name.rpartition("/")
    return inside, last


def file_names(folder: Path) -> tuple[str, ...]:
    """Names of all files in a folder and those inside it, in order."""
    return tuple(sorted(one.relative_to(folder).as_posix() for one in folder.rglob("*") if not one.is_dir()))


def folders_in(names: Iterable[str]) -> tuple[str, ...]:
    """The folders inside the folder that files of such names are in, each once."""
    return tuple(dict.fromkeys(inside for name in names if (inside := parted(name)[0])))


def _free_name(folder: Path, name: str, taken: set[str]) -> str:
    """A name beside that of a file which nothing has: "steps.kept.md", "steps.kept-2.md" and so on."""
    inside, last = parted(name)
    stem, dot, end = last.rpartition(".")
    stem, end = (stem, f"{dot}{end}") if stem else (last, "")
    number = 1
    while True:
        free = str(PurePosixPath(inside) / f"{stem}.kept{'' if number == 1 else f'-{number}'}{end}")
        if free not in taken and not os.path.lexists(folder / free):
            return free
        number += 1


def _refuse_in_the_way(folder: Path, names: Iterable[str]) -> None:
    """A SettingsError where something else has the name of a folder that files go into."""
    for inside in folders_in(names):
        if os.path.lexists(folder / inside) and not (folder / inside).is_dir():
            raise refused("jobs.file_in_the_way", folder / inside)


def plan_unlisted(folder: Path, new: Path, *, replace: bool) -> FolderPlan:
    """What is to be done with files for a folder that is not ours: nothing there is replaced but by request."""
    names = file_names(new)
    _refuse_in_the_way(folder, names)
    for name in names:
        refuse_a_file(folder / name, replace=replace)
    return FolderPlan({}, names, ())


def refuse_a_file(path: Path, *, replace: bool) -> None:
    """A SettingsError where a file is there already, unless it may be replaced, or where something else is."""
    if os.path.lexists(path) and not (replace and path.is_file()):
        raise refused("jobs.file_there", path)


def all_made_files(folder: Path) -> dict[str, MadeFile]:
    """What was made in a folder and in those inside it that are ours, by name; ReadError as for `made_files`."""
    listed = dict(made_files(folder))
    for inside in made_folders(folder):
        listed |= {f"{inside}/{name}": made for name, made in made_files(folder / inside).items()}
    return listed


def _lists(files: Mapping[str, MadeFile], ours: Iterable[str]) -> dict[str, MadeFiles]:
    """The lists of a folder, under "", and of those inside it, by their names."""
    lists: dict[str, dict[str, MadeFile]] = {"": {}, **{inside: {} for inside in ours}}
    for name, made in sorted(files.items()):
        inside, last = parted(name)
        lists[inside][_to_json(last)] = made
    inner = tuple(_to_json(inside) for inside in ours)
    return {
        inside: MadeFiles(files=some, folders=msgspec.UNSET if inside or not inner else inner)
        for inside, some in lists.items()
    }


def plan_for(
    folder: Path, new: Path, command: str, *, anew: bool, taken_in: Mapping[str, str], wishes: Mapping[str, Any],
    sounds: Mapping[str, tuple[str, ...]],
) -> tuple[FolderPlan, dict[str, bytes]]:  # fmt: skip
    """What is to be done with the new files, and the lists as they will be, by name."""
    names = file_names(new)
    _refuse_in_the_way(folder, names)
    digests = _digests(new, names)
    before = made_folders(folder)
    listed = all_made_files(folder)
    gone = {one for one, made in listed.items() if anew and made.command == command and one not in names}
    keep: dict[str, str] = {}
    untouched = set()
    for name in {*names, *gone}:
        there = folder / name
        if not os.path.lexists(there):
            continue
        is_ours = name in listed and there.is_file() and not there.is_symlink()
        if is_ours and _sha256(there) in (listed[name].sha256, taken_in.get(name)):
            untouched.add(name)
        elif name in names and (there.is_symlink() or not there.is_file() or _sha256(there) != digests[name]):
            keep[name] = _free_name(folder, name, set(keep.values()))
    files = {one: made for one, made in listed.items() if one not in gone}
    files |= {name: MadeFile(digests[name], command, dict(wishes), sounds.get(name, ())) for name in names}
    # a folder in which nothing of ours is left has no list
    still = tuple(dict.fromkeys([*folders_in(names), *(one for one in before if one in folders_in(files))]))
    lists = {str(PurePosixPath(one) / LIST): encode_json(made) for one, made in _lists(files, still).items()}
    emptied = {f"{one}/{LIST}" for one in before if one not in still and (folder / one / LIST).is_file()}
    remove = tuple(sorted((untouched - set(names)) | emptied))
    return FolderPlan(keep, (*names, *(one for one in lists if one != LIST)), remove), lists
