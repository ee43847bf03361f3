"""What a user adds to what ships: found by name in the user's folder, else in packages; what cannot be used, told."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from reedpath.additions import (
    KINDS,
    MOST_BYTES,
    added_names,
    added_reader,
    added_text,
    names_in_folder,
    user_folder,
)
from reedpath.errors import SettingsError

READER = "READER = 'mine'\n"


@pytest.fixture
def mine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder of the user's, and no packages but those put into the folder beside it."""
    folder = tmp_path / "mine"
    for kind in KINDS:
        (folder / kind).mkdir(parents=True)
    monkeypatch.setenv("REEDPATH_FOLDER", str(folder))
    (tmp_path / "packages").mkdir()
    others = [entry for entry in sys.path if "-packages" not in entry]
    monkeypatch.setattr(sys, "path", [str(tmp_path / "packages"), *others])
    return folder


def declare(packages: Path, group: str, *points: str) -> None:
    """A package that declares entry points in a group, and whose module holds what they name."""
    about = packages / "my_harps-1.0.dist-info"
    about.mkdir(exist_ok=True)
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: my-harps\nVersion: 1.0\n", encoding="utf-8")
    with (about / "entry_points.txt").open("a", encoding="utf-8") as file:
        file.write(f"[reedpath.{group}]\n" + "\n".join(points) + "\n")


@pytest.mark.parametrize(
    ("platform", "variable", "value", "folder"),
    [
        ("linux", None, "", "~/.config/reedpath"),
        ("linux", "XDG_CONFIG_HOME", "/settings", "/settings/reedpath"),
        ("linux", "APPDATA", "/roaming", "~/.config/reedpath"),
        ("darwin", "XDG_CONFIG_HOME", "/settings", "~/Library/Application Support/reedpath"),
        ("win32", None, "", "~/AppData/Roaming/reedpath"),
        ("win32", "APPDATA", "/roaming", "/roaming/reedpath"),
        ("linux", "REEDPATH_FOLDER", "/mine", "/mine"),
        ("win32", "REEDPATH_FOLDER", "/mine", "/mine"),
    ],
)
def test_the_folder_of_the_user(monkeypatch, tmp_path, platform, variable, value, folder):
    for name in ("REEDPATH_FOLDER", "XDG_CONFIG_HOME", "APPDATA"):
        monkeypatch.delenv(name, raising=False)
    if variable:
        monkeypatch.setenv(variable, value)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.setattr(sys, "platform", platform)
    assert user_folder() == Path(folder.replace("~", str(tmp_path)))


def test_names_of_the_folder(mine):
    assert names_in_folder("tunings") == ()
    for name in ("two_fold.toml", "bright.toml", ".hidden.toml", "notes.txt"):
        (mine / "tunings" / name).write_text("", encoding="utf-8")
    assert names_in_folder("tunings") == ("bright", "two_fold")
    for name in ("my_format.py", "other.toml"):
        (mine / "readers" / name).write_text("", encoding="utf-8")
    assert names_in_folder("readers") == ("my-format",)
    (mine / "levels").rmdir()
    assert names_in_folder("levels") == ()


def test_a_text_of_the_folder_is_found_by_its_name(mine):
    (mine / "tunings" / "bright.toml").write_bytes("\ufeffname = 'été'\n".encode())
    assert added_text("tunings", "bright") == "name = 'été'\n"
    assert added_text("levels", "bright") is None
    assert added_text("tunings", "dark") is None
    (mine / "secret.toml").write_text("x", encoding="utf-8")
    (mine / "tunings" / ".hidden.toml").write_text("x", encoding="utf-8")
    for name in ("../secret", ".hidden", "../tunings/bright"):
        assert added_text("tunings", name) is None


def test_a_reader_of_the_folder_is_found_by_its_name(mine):
    (mine / "readers" / "my_format.py").write_text(
        "from dataclasses import dataclass\n@dataclass\nclass One:\n    n: 'int'\nREADER = One(1)\n", encoding="utf-8"
    )
    assert added_reader("my-format").n == 1
    assert sys.modules.pop("reedpath_added_my_format").READER.n == 1
    assert added_reader("other") is None


def test_what_packages_declare_is_found_after_the_folders_own(mine, tmp_path, monkeypatch):
    packages = tmp_path / "packages"
    (packages / "harps_of_mine.py").write_text(
        "from pathlib import Path\nHIGH = 'a text'\nLOW = Path(__file__).with_name('low.toml')\n" + READER,
        encoding="utf-8",
    )
    (packages / "low.toml").write_text("of a file", encoding="utf-8")
    declare(packages, "tunings", "low = harps_of_mine:LOW", "high = harps_of_mine:HIGH", "odd = harps_of_mine:NONE")
    declare(packages, "readers", "format = harps_of_mine:READER")
    (mine / "tunings" / "own.toml").write_text("of the folder", encoding="utf-8")
    (mine / "tunings" / "low.toml").write_text("of the folder", encoding="utf-8")
    assert added_text("tunings", "high") == "a text"
    assert added_text("tunings", "low") == "of the folder"
    assert added_names("tunings") == ("low", "own", "high", "odd")
    (mine / "tunings" / "low.toml").unlink()
    assert added_text("tunings", "low") == "of a file"
    assert added_text("temperaments", "low") is None
    assert added_reader("format") == "mine"
    with pytest.raises(SettingsError, match=r"reedpath\.tunings: odd = harps_of_mine:NONE: .*AttributeError: .*NONE"):
        added_text("tunings", "odd")
    monkeypatch.delitem(sys.modules, "harps_of_mine")


def test_what_cannot_be_used_is_told_with_its_file_and_why(mine):
    odd = mine / "tunings" / "odd.toml"
    odd.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError) as told:
        added_text("tunings", "odd")
    assert str(told.value).startswith(f"{odd}: this cannot be used: UnicodeDecodeError: 'utf-8' codec can't decode")
    odd.write_bytes(b"#" * MOST_BYTES)
    assert added_text("tunings", "odd") == "#" * MOST_BYTES
    odd.write_bytes(b"#" * (MOST_BYTES + 1))
    with pytest.raises(SettingsError) as told:
        added_text("tunings", "odd")
    assert str(told.value) == f"{odd}: the file is larger than the 1,000,000 bytes that are read"
    for text, why in (("1/0\n", "ZeroDivisionError: division by zero"), ("x = 1\n", "AttributeError: ")):
        (mine / "readers" / "broken.py").write_text(text, encoding="utf-8")
        os.utime(mine / "readers" / "broken.py", (1, len(text)))
        with pytest.raises(SettingsError) as told:
            added_reader("broken")
        assert f"{mine / 'readers' / 'broken.py'}: this cannot be used: {why}" in str(told.value)
    sys.modules.pop("reedpath_added_broken")
