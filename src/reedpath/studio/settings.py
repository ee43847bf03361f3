"""Settings of the studio: the language, the light and the size of letters, kept in a small file beside the shelf."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from reedpath.errors import ReedpathError
from reedpath.jobs.disk import write_file


class Settings(Struct, frozen=True, omit_defaults=True):
    """What the teacher chose for the whole studio.

    language : short name; empty for that of the browser.
    notes : how notes are named, one of the language's ways; empty for its custom.
    light : of the pages; empty for that of the system. letters : their size.
    """

    language: str = ""
    notes: str = ""
    light: Literal["", "light", "dark"] = ""
    letters: Literal["", "large", "largest"] = ""


def _path(shelf: Path) -> Path:
    return shelf.with_name(f"{shelf.name}.settings.json")


def read_settings(shelf: Path) -> Settings:
    """The settings beside a shelf; the usual ones where there are none, or the file is damaged."""
    with suppress(OSError, msgspec.DecodeError):
        return msgspec.json.decode(_path(shelf).read_bytes(), type=Settings)
    return Settings()


def write_settings(shelf: Path, settings: Settings) -> None:
    """Keep the settings; where they can't be written they hold until the studio is closed."""
    with suppress(ReedpathError, OSError):
        write_file(_path(shelf), msgspec.json.encode(settings))
