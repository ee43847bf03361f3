"""Sounds kept: what the sound of a lesson depends on, in one key, and sounds of a key taken from where they lie.

A play-along and its small file for the page are made of where everything lies in it (`sound.lay_out`), by rooms and
libraries that turn that into samples and code them, the small file by how long all sounds of the page are. All of it
goes into the key, and nothing else: what is said of a lesson, how it is written and what its tempos are called do
not. Into that of a sound to practise with go the band, its bank and the kind of file too. Sounds of one key are the
same to the last byte on one machine, but for Ogg streams (Opus), whose serial numbers are drawn by chance (RFC 3533,
section 4).
"""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

from reedpath.data import shipped_folder
from reedpath.jobs.folder_plans import all_made_files
from reedpath.jobs.rung_sounds import bar_end_seconds, page_coding
from reedpath.lesson import Lesson, Rung
from reedpath.sound import PlayAlong, lay_out

# rooms by whose code and numbers a layout becomes samples and files, and the modules that put them together
ROOMS = ("pitch", "signal", "sound")
MODULES = ("practising.py", "rung_sounds.py")
# endings of their code and data files
ENDINGS = (".py", ".toml")
# libraries whose arithmetic and whose coding are in the files
LIBRARIES = ("av", "lameenc", "numpy", "scipy", "soundfile", "soxr")
# bytes copied at a time
BLOCK = 1 << 20


def _sources(place: Path, name: str) -> Iterator[tuple[str, bytes]]:
    """Names and bytes of the code and data files in a folder of the program, in order."""
    for one in sorted(place.iterdir()):
        if one.is_dir():
            yield from _sources(one, f"{name}/{one.name}")
        elif one.name.endswith(ENDINGS):
            yield f"{name}/{one.name}", one.read_bytes()


@cache
def sounding_program() -> str:
    """What turns a layout into files, as a digest: the program's own files, libraries, and the kind of processor."""
    from importlib.metadata import version

    package = shipped_folder("reedpath")
    digest = hashlib.sha256()
    for room in ROOMS:
        for name, data in _sources(package / room, room):
            digest.update(f"{name} {len(data)}\n".encode() + data)
    for module in MODULES:
        digest.update((package / "jobs" / module).read_bytes())
    # processors of several kinds round the last bit differently
    for said in (*(f"{name} {version(name)}" for name in LIBRARIES), platform.system(), platform.machine()):
        digest.update(f"\n{said}".encode())
    return digest.hexdigest()


def _key(*said: Any) -> str:
    return hashlib.sha256(msgspec.json.encode((sounding_program(), *said))).hexdigest()


def sound_key(lesson: Lesson, rung: Rung) -> str:
    """What the play-along of a rung, and its small file for the page, depend on, as a digest in hexadecimal."""
    layout = lay_out(lesson, rung)
    return _key("ladder", layout, bar_end_seconds(lesson, rung, layout), page_coding(lesson))


@cache
def _file_digest(path: Path, size: int, changed_ns: int) -> str:
    """SHA-256 of a file, remembered as long as it has that size and that time of change."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def practice_key(lesson: Lesson, rung: Rung, play: PlayAlong, format: str) -> str:
    """What a sound to practise with at one tempo depends on: also on who plays, the band, its bank, and its file.

    format : of the file, which has the lesson's title in it.
    """
    from reedpath.sound import Backing, bank_path, lay_out_backing

    written = (format, lesson.title, play.turns)
    if not isinstance(play, Backing):
        return _key("practice", lay_out(lesson, rung, play), *written)
    band = lay_out_backing(lesson, rung, play)
    bank = band.bank or bank_path()
    there = bank.stat()
    rounds = [(one.zero_seconds, one.played) for one in band.rounds]
    heard = (band.plan, rounds, band.clicks, band.cues, band.parts, band.seconds, band.route.harp.a4_hz)
    return _key("band", heard, _file_digest(bank, there.st_size, there.st_mtime_ns), *written)


def _leads_inside(name: str) -> bool:
    """Whether the name of a file leads to a place in the folder or in one inside it."""
    return all(part not in ("", ".", "..") for part in name.split("/")) and not Path(name).is_absolute()


def _is_plain(path: Path) -> bool:
    return path.is_file() and not path.is_symlink()


def _copied_as_made(path: Path, sha256: str, to: Path) -> bool:
    """Whether a file could be copied, and is as it was made."""
    digest = hashlib.sha256()
    try:
        if not _is_plain(path):
            return False
        with path.open("rb") as file, to.open("wb") as copy:
            while block := file.read(BLOCK):
                digest.update(block)
                copy.write(block)
    except OSError:  # what cannot be read is made anew
        return False
    return digest.hexdigest() == sha256


def _sounds_as_made(page: Path, sha256: str) -> list[bytes]:
    """The small files in a page, in order; none where it is not as it was made."""
    from reedpath.jobs.lesson_pages import sounds_in_page

    try:
        data = page.read_bytes() if _is_plain(page) else b""
    except OSError:
        return []
    return sounds_in_page(data) if hashlib.sha256(data).hexdigest() == sha256 else []


class KeptSounds:
    """The sounds that lie in a lesson's folder, by their keys (`sound_key`).

    Nothing is taken from a file that is not as it was made, whatever became of it.

    folder : of a lesson, or one in which nothing is yet.

    Raises `ReadError` when it has a list of made files that cannot be read.
    """

    def __init__(self, folder: Path) -> None:
        self._files: dict[str, list[tuple[Path, str]]] = {}
        self._pages: list[tuple[Path, str, tuple[str, ...]]] = []
        self._small: dict[str, bytes] | None = None
        for name, made in all_made_files(folder).items():
            if not made.sounds or not _leads_inside(name):
                continue
            if name.endswith(".html"):
                self._pages.append((folder / name, made.sha256, made.sounds))
            else:
                self._files.setdefault(made.sounds[0], []).append((folder / name, made.sha256))

    def __bool__(self) -> bool:
        """Whether any sound lies there."""
        return bool(self._files)

    def _small_files(self) -> dict[str, bytes]:
        if self._small is None:
            self._small = {}
            for page, sha256, keys in self._pages:
                sounds = _sounds_as_made(page, sha256)
                if len(sounds) == len(keys):
                    self._small |= zip(keys, sounds, strict=True)
        return self._small

    def take(self, key: str, to: Path) -> bytes | None:
        """Copy the sound of a key to a file; its small file for the page. None, for both, where one is not there."""
        if key not in self._files or (small := self._small_files().get(key)) is None:
            return None
        return small if self.take_file(key, to) else None

    def take_file(self, key: str, to: Path) -> bool:
        """Copy the sound of a key to a file; whether it was there."""
        return any(_copied_as_made(path, sha256, to) for path, sha256 in self._files.get(key, ()))
