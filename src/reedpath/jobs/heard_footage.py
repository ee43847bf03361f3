"""What was heard in raw footage, kept beside the list of its cut, so that the film by the list is made at once.

It is made, and found again by the films' own bytes, what of the lesson is played, and the program's version: whatever
of these is another, the footage is heard anew.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from msgspec import Struct

from reedpath.data import encode_json, read_json
from reedpath.errors import ReedpathError
from reedpath.jobs.disk import read_bytes, sha256_of, write_file
from reedpath.lesson import Lesson
from reedpath.listen import PlayThrough

# bytes of such a file; that of a film of hours has a tenth
MOST_BYTES = 64_000_000


class _HeardFile(Struct, frozen=True, kw_only=True, tag_field="schema", tag="reedpath/heard-footage"):
    """The play-throughs of each film; ``of`` is a digest of films, lesson and program, in hexadecimal."""

    version: Literal[1] = 1
    of: str
    plays: tuple[tuple[PlayThrough, ...], ...]


def heard_beside(out: Path) -> Path:
    """What was heard, as it stands beside the film that is to be made."""
    return out.with_name(f"{out.stem}.heard.json")


def _digest(lesson: Lesson, films: Sequence[Path]) -> str:
    from importlib.metadata import version

    digest = hashlib.sha256(version("reedpath").encode())
    digest.update(encode_json((lesson.route, lesson.parts, lesson.ladder)))
    for film in films:
        digest.update(bytes.fromhex(sha256_of(film)))
    return digest.hexdigest()


def _read(path: Path) -> _HeardFile | None:
    """What such a file holds; None where there is none, or it is another file."""
    try:
        return read_json(read_bytes(path, most_bytes=MOST_BYTES), _HeardFile, file=str(path))
    except ReedpathError:
        return None


def keep_heard(out: Path, lesson: Lesson, films: Sequence[Path], plays: Sequence[Sequence[PlayThrough]]) -> bool:
    """Keep the play-throughs of films beside the film that is to be made; whether it was done: a file of that name
    that the program did not make is left alone.
    """
    path = heard_beside(out)
    if path.exists() and _read(path) is None:
        return False
    write_file(path, encode_json(_HeardFile(of=_digest(lesson, films), plays=tuple(map(tuple, plays)))))
    return True


def kept_plays(
    listed: Path, lesson: Lesson, films: Sequence[Path], out: Path
) -> tuple[tuple[PlayThrough, ...], ...] | None:
    """The play-throughs of films as they were heard before; None where they must be heard anew.

    listed : the list of the cut: what was heard stands beside it, or beside the film.
    """
    stem = listed.name.removesuffix(".cut.json")
    digest = ""
    for path in dict.fromkeys((listed.with_name(f"{stem}.heard.json"), heard_beside(out))):
        kept = _read(path)
        if kept is None:
            continue
        digest = digest or _digest(lesson, films)
        if kept.of == digest:
            return kept.plays
    return None
