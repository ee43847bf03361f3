"""The page on adding tunings and the like (docs/adding.md) is followed word by word."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from reedpath import additions
from reedpath.errors import SettingsError

pytestmark = pytest.mark.story

PAGE = (Path(__file__).parents[2] / "docs" / "adding.md").read_text(encoding="utf-8")
SECTIONS = {
    title: text for title, text in re.findall(r"^## (.*?)\n(.*?)(?=^## |\Z)", PAGE, flags=re.DOTALL | re.MULTILINE)
}  # fmt: skip
ADDED = {kind: f"How to add a {kind}" for kind in ("tuning", "temperament", "notation", "language", "reader")} | {
    "level": "How to add a level of player"
}
TUNE = "X:1\nT:Small (invented)\nM:4/4\nL:1/4\nK:G\nG B d B|G4|\n"


def blocks(section: str, kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", SECTIONS[section], flags=re.DOTALL)


@pytest.fixture
def mine(tmp_path, monkeypatch):
    """A folder of the user's, and sources in the folder at work."""
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path / "mine"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "phrase.abc").write_text(TUNE, encoding="utf-8")
    (tmp_path / "phrase.notes").write_text("notes\n67 1\n71 1/2\n74 1/2\n", encoding="utf-8")
    return tmp_path / "mine"


def follow(section: str, folder: Path, run) -> list[str]:
    """What the commands of a section print once its file is written or its program is run."""
    for name, text in re.findall(r"[Ww]rite\s+`([\w/.-]+)`:\n\n```\w+\n(.*?)```", SECTIONS[section], flags=re.DOTALL):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    if "Run this once" in SECTIONS[section]:
        subprocess.run([sys.executable, "-c", blocks(section, "python")[0]], check=True)
    told = []
    for command in blocks(section, "sh")[0].splitlines():
        status, out, err = run(*shlex.split(command)[1:])
        assert (status, err) == (0, ""), command
        told.append(out)
    return told


@pytest.mark.parametrize("kind", list(ADDED))
def test_without_the_file_the_name_is_unknown(mine, run, kind):
    for command in blocks(ADDED[kind], "sh")[0].splitlines():
        status, _, err = run(*shlex.split(command)[1:])
        assert status == 2
        assert err


def test_a_tuning(mine, run):
    (told,) = follow(ADDED["tuning"], mine, run)
    assert "bright fourth (invented)" in told
    assert "bright-fourth" in additions.added_names("tunings")
    _, out, _ = run("survey", "phrase.abc", "--tuning", "all", "--owned", "G", "--top", 40, "--language", "en")
    assert "bright fourth" in out


def test_a_temperament(mine, run):
    (told,) = follow(ADDED["temperament"], mine, run)
    data = json.loads(told)
    fifth = next(move for move in data["moves"] if move["midi"] == [67] and move["alteration"] == "natural")
    assert fifth["cents"] == [pytest.approx(1.96, abs=0.01)]


def test_a_notation(mine, run):
    (told,) = follow(ADDED["notation"], mine, run)
    assert "^4" in told
    assert "\nTab (over-under)\n" in told


def test_a_level(mine, run):
    (told,) = follow(ADDED["level"], mine, run)
    assert "Small" in told


def test_a_language(mine, run, monkeypatch):
    (told,) = follow(ADDED["language"], mine, run)
    assert "zuigen" in told
    monkeypatch.setenv("LC_ALL", "nl_NL.UTF-8")
    assert "zuigen" in run("harp", "A")[1]
    (mine / "languages" / "nl.toml").write_text("[language]\n", encoding="utf-8")
    status, _, err = run("harp", "A")
    assert status == 2
    assert "nl.toml" in err


def test_a_reader(mine, run):
    told, arranged = follow(ADDED["reader"], mine, run)
    assert "harp" in told
    assert "C harp" in arranged
    (mine / "readers" / "broken.py").write_text("1/0\n", encoding="utf-8")
    status, _, err = run("survey", "phrase.notes", "--format", "broken")
    assert status == 2
    assert "broken.py" in err
    assert "ZeroDivisionError" in err


def test_a_package(mine, run, tmp_path, monkeypatch):
    declared = tomllib.loads(blocks("In a package", "toml")[0])["project"]["entry-points"]
    (tmp_path / "my_harps.py").write_text(blocks("In a package", "python")[0], encoding="utf-8")
    about = tmp_path / "my_harps-1.0.dist-info"
    about.mkdir()
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: my-harps\nVersion: 1.0\n", encoding="utf-8")
    points = [f"[{group}]\n" + "\n".join(f"{k} = {v}" for k, v in found.items()) for group, found in declared.items()]
    (about / "entry_points.txt").write_text("\n".join(points) + "\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    (told,) = follow("In a package", mine, run)
    assert "high six (invented)" in told
    assert additions.added_names("tunings") == ("high-six",)


def test_the_folder_is_told_by_the_help_and_follows_the_platform(run, monkeypatch, tmp_path):
    monkeypatch.delenv("REEDPATH_FOLDER", raising=False)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    for platform, folder in (
        ("linux", ".config/reedpath"),
        ("darwin", "Library/Application Support/reedpath"),
        ("win32", "AppData/Roaming/reedpath"),
    ):
        monkeypatch.setattr(sys, "platform", platform)
        monkeypatch.delenv("APPDATA", raising=False)
        assert additions.user_folder() == tmp_path / folder
    monkeypatch.undo()
    assert "REEDPATH_FOLDER" in run("--help")[1]


def test_what_ships_is_found_without_looking_through_packages():
    code = (
        "import sys\nfrom reedpath.cli import main\ntry:\n main(['harp', 'A', '--language', 'fr'])\n"
        "except SystemExit: pass\nprint('importlib.metadata' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "False"


@pytest.mark.parametrize("name", ["../secret", "a/b", ".hidden", "nobody"])
def test_names_that_are_paths_or_nobody_find_nothing(mine, name):
    (mine / "tunings").mkdir(parents=True)
    (mine.parent / "secret.toml").write_text("", encoding="utf-8")
    (mine / "tunings" / ".hidden.toml").write_text("", encoding="utf-8")
    assert additions.added_text("tunings", name) is None


def test_a_file_that_is_no_text_is_told(mine):
    (mine / "tunings").mkdir(parents=True)
    (mine / "tunings" / "odd.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match=r"odd\.toml: this cannot be used: UnicodeDecodeError"):
        additions.added_text("tunings", "odd")
    (mine / "tunings" / "vast.toml").write_bytes(b"#" * 1_000_001)
    with pytest.raises(SettingsError, match="larger"):
        additions.added_text("tunings", "vast")
