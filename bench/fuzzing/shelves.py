"""Shelves from outside: lists of zips, zips byte by byte, and databases, brought in or opened."""

from __future__ import annotations

import io
import random
import tempfile
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

from fuzzing.kinds import Target
from fuzzing.mutation import PLAIN, TREES
from reedpath.phrase import decode_phrase
from reedpath.shelf import (
    KeptAnswer,
    KeptTake,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_phrase,
    check_shelf,
    export_shelf,
    import_shelf,
)
from reedpath.shelf.records import KINDS

# a phrase of our own
PHRASE = (
    b'{"schema": "reedpath/phrase", "version": 2, "phrase": {"events": '
    b'[{"onset_beats": "0", "duration_beats": "1", "midi": [64]}]}}'
)
ANSWER = '{"schema": "reedpath/answer", "version": 2}'
LIST = "shelf.json"


def _filled(path: Path) -> Shelf:
    """A shelf with one of each kind but lessons, whose files have kinds of their own."""
    shelf = Shelf(path, make=True)
    sound = shelf.files.keep(io.BytesIO(b"RIFF, invented"), name="take.wav")
    with shelf.step("add"):
        phrase = PhrasePlayed(decode_phrase(PHRASE), "One note (invented)", 1.5, ("draw_bends",))
        add_phrase(shelf, phrase, tags=("slow",))
        student = shelf.add(Student(name="Ada (invented)", level="easy"))
        shelf.add(OwnedHarp(student=student.number, key="C"))
        take = shelf.add(KeptTake(student=student.number, name="take.wav", sound=sound))
        shelf.add(KeptAnswer(take=take.number, data=ANSWER))
    return shelf


@cache
def seed_zip() -> bytes:
    """A shelf as a zip whose entries are not packed, so that a changed byte is one of its own."""
    with tempfile.TemporaryDirectory() as folder, _filled(Path(folder) / "a.sqlite") as shelf:
        packed, plain = io.BytesIO(), io.BytesIO()
        export_shelf(shelf, packed)
    with zipfile.ZipFile(packed) as before, zipfile.ZipFile(plain, "w") as after:
        for name in before.namelist():
            after.writestr(zipfile.ZipInfo(name), before.read(name))
    return plain.getvalue()


@cache
def seed_list() -> bytes:
    """The list of that zip."""
    with zipfile.ZipFile(io.BytesIO(seed_zip())) as zipped:
        return zipped.read(LIST)


@cache
def seed_database() -> bytes:
    """The database of a shelf."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.sqlite"
        _filled(path).close()
        return path.read_bytes()


def with_list(data: bytes) -> bytes:
    """The zip with another list."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(seed_zip())) as before, zipfile.ZipFile(made, "w") as after:
        for name in before.namelist():
            after.writestr(zipfile.ZipInfo(name), data if name == LIST else before.read(name))
    return made.getvalue()


def bring_in(data: bytes) -> bytes:
    """Bring a zip in on a new shelf, which must then be whole, be undone to nothing, and go out and in again."""
    with tempfile.TemporaryDirectory() as folder, Shelf(Path(folder) / "a.sqlite", make=True) as shelf:
        import_shelf(shelf, io.BytesIO(data))
        assert not check_shelf(shelf).problems
        file = io.BytesIO()
        export_shelf(shelf, file)
        shelf.undo()
        assert not any(shelf.counts().values())
        import_shelf(shelf, file)
        return file.getvalue()


def bring_in_list(data: bytes) -> bytes:
    """Bring that zip in with another list."""
    return bring_in(with_list(data))


def open_database(data: bytes) -> dict[str, int]:
    """Open a database as a shelf, read all that is on it, check it, and undo it all."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.sqlite"
        path.write_bytes(data)
        with Shelf(path) as shelf:
            for kind in KINDS.values():
                shelf.all(kind)
            check_shelf(shelf)
            shelf.undo()
            return shelf.counts()


def _nothing(_value: Any, _data: bytes, _draw: random.Random) -> None:
    pass


TARGETS = (
    Target("list of a shelf's zip", lambda: (seed_list(),), TREES, bring_in_list, _nothing, slow=True),
    Target("zip of a shelf", lambda: (seed_zip(),), PLAIN, bring_in, _nothing, slow=True),
    Target("database of a shelf", lambda: (seed_database(),), PLAIN, open_database, _nothing, slow=True),
)  # fmt: skip
