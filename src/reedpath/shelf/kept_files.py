"""Sounds, films and whatever else is too large for a database: files beside it, named by their SHA-256.

A file is there whole before a record names it, and goes only when no record and no step of the journal names it any
more (`sweep`), so that every change can be undone.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Container, Iterator
from contextlib import suppress
from pathlib import Path, PurePath
from typing import BinaryIO

# SHA-256 and the ending that the file had, small letters
KEPT_NAME = r"\A[0-9a-f]{64}(\.[a-z0-9]{1,8})?\Z"
_KEPT = re.compile(KEPT_NAME)
# files that were being brought in when the program was killed end so
_PART = ".part"
# bytes that are copied at a time
_BLOCK = 1 << 20


def digest_of(data: BinaryIO, *, into: BinaryIO | None = None) -> str:
    """SHA-256 of what is left of an open file, which is copied into another where one is given."""
    digest = hashlib.sha256()
    while block := data.read(_BLOCK):
        digest.update(block)
        if into is not None:
            into.write(block)
    return digest.hexdigest()


def _ending(name: str) -> str:
    ending = PurePath(name).suffix.lower()
    return ending if re.fullmatch(r"\.[a-z0-9]{1,8}", ending) else ""


def _sync_folder(folder: Path) -> None:
    """Let the names in a folder outlast a loss of power, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class KeptFiles:
    """The folder of the files; made with the first one."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, name: str) -> Path:
        """Where a file lies; ValueError for a name that none of ours has."""
        if not _KEPT.fullmatch(name):
            raise ValueError(name)
        return self.folder / name

    def keep(self, data: BinaryIO, *, name: str) -> str:
        """Bring in a copy of an open file that was called so; the name under which it is kept."""
        self.folder.mkdir(parents=True, exist_ok=True)
        descriptor, part = tempfile.mkstemp(suffix=_PART, dir=self.folder)
        try:
            with os.fdopen(descriptor, "wb") as file:
                kept = digest_of(data, into=file) + _ending(name)
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, self.folder / kept)
            _sync_folder(self.folder)
        except BaseException:
            with suppress(FileNotFoundError):
                os.unlink(part)
            raise
        return kept

    def names(self) -> Iterator[str]:
        """Names of the files that are there."""
        if self.folder.is_dir():
            yield from sorted(one.name for one in self.folder.iterdir() if _KEPT.fullmatch(one.name))

    def holds(self, name: str) -> bool:
        """Whether a file is there and has the bytes that its name says."""
        try:
            with self.path(name).open("rb") as file:
                return digest_of(file) == name[:64]
        except OSError:
            return False

    def sweep(self, used: Container[str]) -> int:
        """Remove files of ours that nothing names, and parts that a kill left; how many were removed."""
        unused = [name for name in self.names() if name not in used]
        parts = [one.name for one in self.folder.glob(f"*{_PART}")] if self.folder.is_dir() else []
        for name in (*unused, *parts):
            (self.folder / name).unlink(missing_ok=True)
        return len(unused)
