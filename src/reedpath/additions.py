"""What a user adds to what ships: tunings, temperaments, notations, levels, languages and readers (docs/adding.md).

They are found by name in the user's folder (``tunings/my-tuning.toml``, ``readers/my_format.py``), else among the
entry points of installed packages (group ``reedpath.tunings``). Packages are looked through only when a name is found
nowhere else, or when all names are listed, since that takes a moment.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

from reedpath.errors import Place, SettingsError

# folders of the user's folder, and the ends of the entry points' groups; the files' ending
KINDS = {
    "tunings": ".toml",
    "temperaments": ".toml",
    "notations": ".toml",
    "levels": ".toml",
    "languages": ".toml",
    "readers": ".py",
}
VARIABLE = "REEDPATH_FOLDER"
# bytes; the largest shipped file of these kinds has 60,000
MOST_BYTES = 1_000_000


def user_folder() -> Path:
    """The folder of the user's own files: ``REEDPATH_FOLDER``, else where the platform keeps settings."""
    given = os.environ.get(VARIABLE)
    if given:
        return Path(given)
    try:
        home = Path.home()
    except RuntimeError:  # a user whom the system does not know has no files of their own
        home = Path(os.devnull)
    if sys.platform == "win32":
        settings = Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        settings = home / "Library" / "Application Support"
    else:  # the XDG Base Directory Specification
        settings = Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config")
    return settings / "reedpath"


def _file(kind: str, name: str) -> Path | None:
    """The user's file of a name, None where there is none; a name that is a path is none."""
    path = user_folder() / kind / f"{name.replace('-', '_') if kind == 'readers' else name}{KINDS[kind]}"
    try:
        return path if name == Path(name).name and not name.startswith(".") and path.is_file() else None
    except (OSError, ValueError):  # no file can have such a name: too long, or with a character that none has
        return None


def _entry_point(kind: str, name: str) -> Any:
    from importlib.metadata import entry_points

    for point in entry_points(group=f"reedpath.{kind}", name=name):
        try:
            return point.load()
        except Exception as error:  # somebody else's module may raise anything
            raise _broken(f"{point.group}: {point.name} = {point.value}", error) from error
    return None


def _broken(place: str, error: Exception) -> SettingsError:
    return SettingsError("additions.broken", where=Place(file=place), kind=type(error).__name__, text=str(error))


def added_text(kind: str, name: str) -> str | None:
    """The text of an added TOML file, None where nothing of that name is added.

    An entry point names a text or the path of a file.

    Raises
    ------
    SettingsError
        When the file cannot be read, or the package not imported.
    """
    path = _file(kind, name)
    found = path or _entry_point(kind, name)
    if found is None or isinstance(found, str):
        return found
    try:
        data: bytes = found.read_bytes()
        if len(data) > MOST_BYTES:
            raise SettingsError("additions.too_large", where=Place(file=str(found)), most=MOST_BYTES)
        return data.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError, AttributeError) as error:
        raise _broken(str(found), error) from error


def added_reader(name: str) -> Any:
    """The ``READER`` of an added module, or an entry point's; None where nothing of that name is added."""
    path = _file("readers", name)
    if path is None:
        return _entry_point("readers", name)
    from importlib.util import module_from_spec, spec_from_file_location

    spec = spec_from_file_location(f"reedpath_added_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[spec.name] = module  # where dataclasses and the like look for it
    try:
        spec.loader.exec_module(module)
        return module.READER
    except Exception as error:  # the user's own module may raise anything
        raise _broken(str(path), error) from error


def names_in_folder(kind: str) -> tuple[str, ...]:
    """Names of what the user's folder adds of a kind."""
    folder = user_folder() / kind
    stems = sorted(path.stem for path in folder.glob(f"*{KINDS[kind]}")) if folder.is_dir() else []
    return tuple(stem.replace("_", "-") if kind == "readers" else stem for stem in stems if not stem.startswith("."))


def added_names(kind: str) -> tuple[str, ...]:
    """Names of all that is added of a kind, those of the user's folder first."""
    from importlib.metadata import entry_points

    packaged = sorted(point.name for point in entry_points(group=f"reedpath.{kind}"))
    return tuple(dict.fromkeys([*names_in_folder(kind), *packaged]))
