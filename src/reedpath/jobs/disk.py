"""The disk: sources read within limits, and files that appear whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import BufferedReader
from pathlib import Path
from typing import BinaryIO

from reedpath.errors import Place, ReadError, ReedpathError, SettingsError, system_words

# bytes; a text file of settings (tuning, temperament) is never so large
MOST_TEXT_BYTES = 1_000_000


@contextmanager
def opened(path: Path) -> Iterator[BufferedReader]:
    """A file open for reading; ReadError where there is none, it is a folder or may not be read."""
    try:
        with path.open("rb") as file:
            yield file
    except FileNotFoundError as error:
        raise ReadError("jobs.no_file", where=Place(file=str(path))) from error
    except IsADirectoryError as error:
        raise ReadError("jobs.is_folder", where=Place(file=str(path))) from error
    except OSError as error:
        raise ReadError("jobs.file_unreadable", where=Place(file=str(path)), why=system_words(error)) from error


def sha256_of(path: Path) -> str:
    """SHA-256 of a file in hexadecimal; ReadError as for `opened`."""
    import hashlib  # loads a library of ciphers, which most commands have no need of

    with opened(path) as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def read_bytes(path: Path, *, most_bytes: int) -> bytes:
    """The bytes of a file, never more than asked for; ReadError as for `opened`, and where it is larger."""
    with opened(path) as file:
        data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise ReadError("jobs.file_too_large", where=Place(file=str(path)), most=most_bytes)
    return data


def read_text(path: Path) -> str:
    """The text of a small UTF-8 file of settings."""
    data = read_bytes(path, most_bytes=MOST_TEXT_BYTES)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ReadError("jobs.no_utf8", where=Place(file=str(path), byte=error.start)) from error


def new_file_mode() -> int:
    """Permissions of a new file, as the user's mask leaves them; temporary files have fewer."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


@contextmanager
def new_file(path: Path) -> Iterator[BinaryIO]:
    """An open file that takes its name, whole, when all is written; whatever goes wrong leaves what was there."""
    import tempfile  # loads what packs and draws numbers, which commands that write nothing have no need of

    handle = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, handle = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        with os.fdopen(descriptor, "w+b") as file:
            yield file
        os.chmod(handle, new_file_mode())
        os.replace(handle, path)
    except OSError as error:
        raise SettingsError("jobs.file_not_written", where=Place(file=str(path)), why=system_words(error)) from error
    finally:
        if handle is not None:
            with suppress(FileNotFoundError):
                os.unlink(handle)


def write_file(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all."""
    with new_file(path) as file:
        file.write(data)


def with_file(path: Path, error: ReedpathError) -> ReedpathError:
    """The error with its file named before the place inside it."""
    return error if error.where.file.startswith(str(path)) else error.inside(Place(file=str(path)))


@contextmanager
def naming_file(path: Path) -> Iterator[None]:
    """Let an error that is raised in here name the file before the place inside it."""
    try:
        yield
    except ReedpathError as error:
        raise with_file(path, error) from None
