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

New files may be in folders inside it too, one deep (`folder_plans`): all appear by one plan. While that is carried
out, no run writes into one of those alone.
"""

from __future__ import annotations

import os
import shutil
import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import msgspec

from reedpath.errors import system_words
from reedpath.file_locks import hold_file
from reedpath.jobs.disk import new_file_mode
from reedpath.jobs.folder_plans import (
    LIST,
    FolderPlan,
    file_names,
    folders_in,
    made_folders,
    parted,
    plan_for,
    plan_from_json,
    plan_to_json,
    plan_unlisted,
    refused,
)

# where new files wait: name in the folder
UNFINISHED = ".unfinished"
# inside the folder aside
_NEW, _BEFORE, _PLAN, _LOCK = "new", "before", "plan.json", "lock"


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

    files : the folder in which new files are to be made, or in folders inside it.
    sounds : keys of the sounds in them, by their names, for the list to keep.
    written : what came of it, once it is through.
    """

    def __init__(self, files: Path) -> None:
        self.files = files
        self.sounds: Mapping[str, tuple[str, ...]] = {}
        self.written = Written(())


def holds_nothing(folder: Path) -> bool:
    """Whether nothing lies in a folder but what a writing has put aside there."""
    return all(one.name == UNFINISHED for one in folder.iterdir())


def _lock(aside: Path) -> int | None:
    """An open file that holds the folder aside for this run; None where another run holds it."""
    return hold_file(aside / _LOCK)


def _copy_aside(path: Path, to: Path) -> None:
    """Another name for a file, so that it can be had back; a copy where the disk knows no second names."""
    try:
        os.link(path, to)
    except OSError:
        shutil.copy2(path, to)


def _carry_out(folder: Path, aside: Path, plan: FolderPlan) -> None:
    """Do what the plan says and is not yet done; what it replaces or removes is had in ``before``."""
    before = aside / _BEFORE
    for inside in ("", *folders_in([*plan.put, *plan.remove])):
        (before / inside).mkdir(parents=True, exist_ok=True)
    for inside in folders_in(plan.put):
        (folder / inside).mkdir(exist_ok=True)
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


def _take_back(folder: Path, aside: Path, plan: FolderPlan) -> None:
    """Undo what was done of a plan."""
    before = aside / _BEFORE
    for name in (*plan.put, LIST):
        if not (aside / _NEW / name).exists():
            (folder / name).unlink(missing_ok=True)
    for name in file_names(before) if before.is_dir() else ():
        os.replace(before / name, folder / name)
    for name, kept in plan.keep.items():
        if os.path.lexists(folder / kept) and not os.path.lexists(folder / name):
            os.rename(folder / kept, folder / name)
    _clear_empty(folder, plan.put)


def _clear_empty(folder: Path, names: Iterable[str]) -> None:
    """Let those folders inside go in which files of such names were and nothing is left."""
    for inside in folders_in(names):
        with suppress(OSError):
            (folder / inside).rmdir()


@contextmanager
def _holding(folder: Path, insides: Iterable[str]) -> Iterator[None]:
    """Hold the folders inside that are there, as a run holds that writes into one of them alone."""
    held: list[tuple[Path, int]] = []
    try:
        for inside in dict.fromkeys(insides):
            if (folder / inside).is_dir():
                aside = folder / inside / UNFINISHED
                aside.mkdir(exist_ok=True)
                lock = _lock(aside)
                if lock is None:
                    raise refused("jobs.being_written", folder / inside)
                held.append((aside, lock))
                _heal(folder / inside, aside)
        yield
    finally:
        for aside, lock in held:
            shutil.rmtree(aside, ignore_errors=True)
            os.close(lock)


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
    folder: Path, aside: Path, command: str, *, anew: bool, replace: bool, taken_in: Mapping[str, str],
    wishes: Mapping[str, Any], sounds: Mapping[str, tuple[str, ...]],
) -> Written:  # fmt: skip
    """Put the new files in their places, whole."""
    new = aside / _NEW
    names = file_names(new)
    if _is_ours(folder):
        plan, lists = plan_for(folder, new, command, anew=anew, taken_in=taken_in, wishes=wishes, sounds=sounds)
        for name, data in lists.items():
            (new / parted(name)[0]).mkdir(exist_ok=True)
            (new / name).write_bytes(data)
    else:
        plan = plan_unlisted(folder, new, replace=replace)
    if not folder.exists():
        with _signals_wait():
            new.rename(folder)
        return Written(names)
    draft = aside / f"{_PLAN}.draft"
    with draft.open("wb") as file:
        file.write(plan_to_json(plan))
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
        plan = plan_from_json(aside / _PLAN)
        with _holding(folder, folders_in([*plan.put, *plan.remove])), _signals_wait():
            _carry_out(folder, aside, plan)
        _clear_empty(folder, plan.remove)
    for one in left:
        shutil.rmtree(one) if one.is_dir() and not one.is_symlink() else one.unlink()
    return bool(left)


def _heal_above(folder: Path) -> None:
    """Finish what a run had planned for the folder above, which may be for this one too, and was killed over."""
    above = folder.parent / UNFINISHED
    held = _lock(above) if (above / _PLAN).is_file() else None
    if held is not None:
        try:
            _heal(folder.parent, above)
            shutil.rmtree(above, ignore_errors=True)
        finally:
            os.close(held)


@contextmanager
def writing_into(
    folder: Path,
    *,
    command: str,
    anew: bool = False,
    replace: bool = False,
    may_write: Callable[[Path], None] = lambda folder: None,
    taken_in: Mapping[str, str] | None = None,
    wishes: Mapping[str, Any] | None = None,
) -> Iterator[FolderWriting]:
    """New files for a folder, which go there when all are made; whatever goes wrong leaves the folder as it was.

    folder : made with the folders above it where it does not exist; where it is a link, its target.
    command : whose files these are.
    anew : whether files that the same command made there before and does not make again go.
    replace : whether files may be replaced in a folder that is not ours.
    may_write : raises a ReedpathError where a folder that exists is not one to write into.
    taken_in : SHA-256 of files edited by hand whose every word is in the new ones, which may so take their place.
    wishes : how the files are to be made, as plain data that the list keeps.

    Raises `SettingsError` when the folder cannot be written, is no folder, or is being written by another run.
    """
    folder = Path(os.path.realpath(folder))
    if os.path.lexists(folder) and not folder.is_dir():
        raise refused("jobs.file_in_the_way", folder)
    aside = folder / UNFINISHED if folder.is_dir() else _beside(folder)
    made = [one for one in (folder.parent, *folder.parent.parents) if not one.exists()]
    held: int | None = None
    try:
        if folder.is_dir():
            _heal_above(folder)
            may_write(folder)
        aside.mkdir(parents=True, exist_ok=True)
        held = _lock(aside)
        if held is None:
            raise refused("jobs.being_written", folder)
        healed = _heal(folder, aside)
        writing = FolderWriting(aside / _NEW)
        writing.files.mkdir()
        yield writing
        names = file_names(writing.files)
        for name in names:
            (writing.files / name).chmod(new_file_mode())
        insides = (*folders_in(names), *made_folders(folder))
        with _holding(folder, insides):
            written = _settle(
                folder, aside, command, anew=anew, replace=replace, taken_in=taken_in or {}, wishes=wishes or {},
                sounds=writing.sounds,
            )  # fmt: skip
        _clear_empty(folder, (f"{inside}/{LIST}" for inside in insides))
        writing.written = msgspec.structs.replace(written, healed=healed)
    except OSError as error:
        raise refused("jobs.folder_unwritable", folder, why=system_words(error)) from error
    finally:
        if held is not None:
            shutil.rmtree(aside, ignore_errors=True)
            os.close(held)
        with suppress(OSError):
            for one in made if not folder.exists() else ():
                one.rmdir()
