"""Folders that this program writes into: what is hers stays, what is ours appears whole or not at all.

A folder of ours holds a list of the files that were made (`LIST`), each with its hash and the command that made it.
By that list a later command knows what it may replace: a file that is listed and still has its hash. One that is
listed and was edited since, or that stands in the way and is not listed, is kept beside the new one under another
name; all else in the folder is left alone.

New files are made in a folder aside (`UNFINISHED`), on the same disk. When all are there, a plan of what goes where
is written, and then carried out: from then on anybody can finish the change. An error on the way takes everything
back; signals wait until the plan is carried out; after a kill the next command that writes there finishes the plan,
or clears away what had no plan yet, and says so. A folder that did not exist takes its name in one step. The folder
itself is never renamed or removed, so it may be a link's target, a mount point or where one stands.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

import msgspec

from reedpath.data import encode_json, read_json
from reedpath.errors import Clause, Place, ReadError, SettingsError, system_words
from reedpath.jobs.disk import new_file_mode

__all__ = [
    "LIST",
    "UNFINISHED",
    "FolderWriting",
    "Written",
    "holds_nothing",
    "made_files",
    "refuse_a_file",
    "writing_into",
]

# the list of what was made, and where new files wait: names in the folder
LIST, UNFINISHED = "made-files.json", ".unfinished"
# inside the folder aside
_NEW, _BEFORE, _PLAN, _LOCK = "new", "before", "plan.json", "lock"
# bytes read at a time while hashing
_BLOCK = 1 << 20


# before the bytes of a name that is no UTF-8, where names stand in JSON; ours
_BYTES = "bytes:"


class MadeFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A file that was made: the SHA-256 of its bytes in hexadecimal, and the command that made it."""

    sha256: str
    command: str


class MadeFiles(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The list of a folder: what was made there, by name."""

    schema: str = "reedpath/made-files"
    version: int = 1
    files: dict[str, MadeFile] = {}


class _Plan(msgspec.Struct, frozen=True):
    """What goes where: names that are kept under another, names that are put, names that go."""

    keep: dict[str, str]
    put: tuple[str, ...]
    remove: tuple[str, ...]


class Written(msgspec.Struct, frozen=True):
    """What came of a writing into a folder.

    files : names of the files that were made.
    kept : new name by old of what was edited by hand, or stood in the way, and was kept.
    healed : whether something was seen to that an earlier run had left unfinished.
    """

    files: tuple[str, ...]
    kept: dict[str, str] = {}
    healed: bool = False


class FolderWriting:
    """A writing into a folder while it goes on.

    files : the folder in which new files are to be made, flat.
    written : what came of it, once it is through.
    """

    def __init__(self, files: Path) -> None:
        self.files = files
        self.written = Written(())


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()


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


def _with_names(plan: _Plan, written: Callable[[str], str]) -> _Plan:
    keep = {written(old): written(new) for old, new in plan.keep.items()}
    return _Plan(keep, tuple(map(written, plan.put)), tuple(map(written, plan.remove)))


def holds_nothing(folder: Path) -> bool:
    """Whether nothing lies in a folder but what a writing has put aside there."""
    return all(one.name == UNFINISHED for one in folder.iterdir())


def made_files(folder: Path) -> Mapping[str, MadeFile]:
    """What was made in a folder, by name; nothing where there is no list.

    Raises
    ------
    ReadError
        When there is a list that cannot be read.
    """
    path = folder / LIST
    try:
        listed = read_json(path.read_bytes(), MadeFiles, file=str(path)).files
        return {_from_json(name): made for name, made in listed.items()}
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise ReadError("jobs.file_unreadable", where=Place(file=str(path)), why=system_words(error)) from error


def _refused(key: str, path: Path, **values: str | Clause) -> SettingsError:
    return SettingsError(key, where=Place(file=str(path)), **values)


def _lock(aside: Path) -> int | None:
    """An open file that holds the folder aside for this run; None where another run holds it."""
    try:
        import fcntl
    except ImportError:  # where the system has no such locks the file itself is the lock
        try:
            return os.open(aside / _LOCK, os.O_CREAT | os.O_EXCL | os.O_RDWR)
        except FileExistsError:
            return None
    held = os.open(aside / _LOCK, os.O_CREAT | os.O_RDWR)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        # a run that ends removes the file it holds: what is held must be what is there
        if os.fstat(held).st_ino == os.stat(aside / _LOCK).st_ino:
            return held
    except (BlockingIOError, FileNotFoundError):
        pass
    os.close(held)
    return None


def _free_name(folder: Path, name: str, taken: set[str]) -> str:
    """A name beside that of a file which nothing has: "steps.kept.md", "steps.kept-2.md" and so on."""
    stem, dot, end = name.rpartition(".")
    stem, end = (stem, f"{dot}{end}") if stem else (name, "")
    number = 1
    while True:
        free = f"{stem}.kept{'' if number == 1 else f'-{number}'}{end}"
        if free not in taken and not os.path.lexists(folder / free):
            return free
        number += 1


def _plan_unlisted(folder: Path, new: Path, *, replace: bool) -> _Plan:
    """What is to be done with files for a folder that is not ours: nothing there is replaced but by request."""
    names = tuple(sorted(one.name for one in new.iterdir()))
    for name in names:
        refuse_a_file(folder / name, replace=replace)
    return _Plan({}, names, ())


def refuse_a_file(path: Path, *, replace: bool) -> None:
    """A SettingsError where a file is there already, unless it may be replaced, or where something else is."""
    if os.path.lexists(path) and not (replace and path.is_file()):
        raise _refused("jobs.file_there", path)


def _plan(
    folder: Path, new: Path, command: str, *, anew: bool, taken_in: Mapping[str, str]
) -> tuple[_Plan, MadeFiles]:
    """What is to be done with the new files, and the list as it will be."""
    listed = made_files(folder)
    names = sorted(one.name for one in new.iterdir())
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
        elif name in names and (there.is_symlink() or not there.is_file() or _sha256(there) != _sha256(new / name)):
            keep[name] = _free_name(folder, name, set(keep.values()))
    remove = tuple(sorted(untouched - set(names)))
    files = {one: made for one, made in listed.items() if one not in gone}
    files |= {name: MadeFile(_sha256(new / name), command) for name in names}
    return _Plan(keep, tuple(names), remove), MadeFiles(
        files={_to_json(name): made for name, made in sorted(files.items())}
    )


def _copy_aside(path: Path, to: Path) -> None:
    """Another name for a file, so that it can be had back; a copy where the disk knows no second names."""
    try:
        os.link(path, to)
    except OSError:
        shutil.copy2(path, to)


def _carry_out(folder: Path, aside: Path, plan: _Plan) -> None:
    """Do what the plan says and is not yet done; what it replaces or removes is had in ``before``."""
    before = aside / _BEFORE
    before.mkdir(exist_ok=True)
    for name, kept in plan.keep.items():
        if not os.path.lexists(folder / kept):
            os.rename(folder / name, folder / kept)
    for name in (*plan.put, LIST):
        if (aside / _NEW / name).exists():
            if os.path.lexists(folder / name) and not (before / name).exists():
                _copy_aside(folder / name, before / name)
            os.replace(aside / _NEW / name, folder / name)
    for name in plan.remove:
        with suppress(FileNotFoundError):
            os.replace(folder / name, before / name)


def _take_back(folder: Path, aside: Path, plan: _Plan) -> None:
    """Undo what was done of a plan."""
    before = aside / _BEFORE
    for name in (*plan.put, LIST):
        if not (aside / _NEW / name).exists():
            (folder / name).unlink(missing_ok=True)
    for one in before.iterdir() if before.is_dir() else ():
        os.replace(one, folder / one.name)
    for name, kept in plan.keep.items():
        if os.path.lexists(folder / kept) and not os.path.lexists(folder / name):
            os.rename(folder / kept, folder / name)


@contextmanager
def _signals_wait() -> Iterator[None]:
    """Let requests to end wait until the block is through; only the main thread can see to them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    numbers = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in numbers}
    for number, handler in before.items():
        if handler is not None:  # None: not Python's to change
            signal.signal(number, lambda number, _: came.append(number))
    try:
        yield
    finally:
        for number, handler in before.items():
            if handler is not None:
                signal.signal(number, handler)
        for number in came:
            signal.raise_signal(number)


def _is_ours(folder: Path) -> bool:
    """Whether a folder has a list or is to have one: a lesson's, or one that nobody has put anything in."""
    return (
        not folder.exists() or (folder / LIST).exists() or (folder / "lesson.json").exists() or holds_nothing(folder)
    )


def _settle(
    folder: Path, aside: Path, command: str, *, anew: bool, replace: bool, taken_in: Mapping[str, str]
) -> Written:
    """Put the new files in their places, whole."""
    new = aside / _NEW
    names = tuple(sorted(one.name for one in new.iterdir()))
    if _is_ours(folder):
        plan, made = _plan(folder, new, command, anew=anew, taken_in=taken_in)
        (new / LIST).write_bytes(encode_json(made))
    else:
        plan = _plan_unlisted(folder, new, replace=replace)
    if not folder.exists():
        with _signals_wait():
            new.rename(folder)
        return Written(names)
    draft = aside / f"{_PLAN}.draft"
    with draft.open("wb") as file:
        file.write(encode_json(_with_names(plan, _to_json)))
        file.flush()
        os.fsync(file.fileno())
    with _signals_wait():
        draft.rename(aside / _PLAN)
        try:
            _carry_out(folder, aside, plan)
        except BaseException:
            _take_back(folder, aside, plan)
            raise
    return Written(names, plan.keep)


def _beside(folder: Path) -> Path:
    """The folder aside for one that does not exist yet."""
    return folder.parent / f".{folder.name}{UNFINISHED}"


def _clear_sibling(folder: Path, aside: Path) -> None:
    """Clear away what a run left that was killed just after its new folder had taken its name."""
    sibling = _beside(folder)
    if sibling != aside and os.path.isdir(sibling):  # whose name may be too long for the system
        held = _lock(sibling)
        if held is not None:
            shutil.rmtree(sibling, ignore_errors=True)
            os.close(held)


def _heal(folder: Path, aside: Path) -> bool:
    """See to what an earlier run has left: finish what it had planned, clear away the rest. Whether there was any."""
    left = [one for one in aside.iterdir() if one.name != _LOCK]
    _clear_sibling(folder, aside)
    if (aside / _PLAN).is_file() and folder.is_dir():
        told = read_json((aside / _PLAN).read_bytes(), _Plan, file=str(aside / _PLAN))
        plan = _with_names(told, _from_json)
        with _signals_wait():
            _carry_out(folder, aside, plan)
    for one in left:
        shutil.rmtree(one) if one.is_dir() and not one.is_symlink() else one.unlink()
    return bool(left)


@contextmanager
def writing_into(
    folder: Path,
    *,
    command: str,
    anew: bool = False,
    replace: bool = False,
    may_write: Callable[[Path], None] = lambda folder: None,
    taken_in: Mapping[str, str] | None = None,
) -> Iterator[FolderWriting]:
    """New files for a folder, which go there when all are made; whatever goes wrong leaves the folder as it was.

    Parameters
    ----------
    folder : made with the folders above it where it does not exist; where it is a link, its target.
    command : whose files these are.
    anew : whether files that the same command made there before and does not make again go.
    replace : whether files may be replaced in a folder that is not ours.
    may_write : raises a ReedpathError where a folder that exists is not one to write into.
    taken_in : SHA-256 of files edited by hand whose every word is in the new ones, which may so take their place.

    Raises
    ------
    SettingsError
        When the folder cannot be written, is no folder, or is being written by another run.
    """
    folder = Path(os.path.realpath(folder))
    if os.path.lexists(folder) and not folder.is_dir():
        raise _refused("jobs.file_in_the_way", folder)
    aside = folder / UNFINISHED if folder.is_dir() else _beside(folder)
    made = [one for one in (folder.parent, *folder.parent.parents) if not one.exists()]
    held: int | None = None
    try:
        if folder.is_dir():
            may_write(folder)
        aside.mkdir(parents=True, exist_ok=True)
        held = _lock(aside)
        if held is None:
            raise _refused("jobs.being_written", folder)
        healed = _heal(folder, aside)
        writing = FolderWriting(aside / _NEW)
        writing.files.mkdir()
        yield writing
        for one in writing.files.iterdir():
            one.chmod(new_file_mode())
        written = _settle(folder, aside, command, anew=anew, replace=replace, taken_in=taken_in or {})
        writing.written = msgspec.structs.replace(written, healed=healed)
    except OSError as error:
        raise _refused("jobs.folder_unwritable", folder, why=system_words(error)) from error
    finally:
        if held is not None:
            shutil.rmtree(aside, ignore_errors=True)
            os.close(held)
        with suppress(OSError):
            for one in made if not folder.exists() else ():
                one.rmdir()
