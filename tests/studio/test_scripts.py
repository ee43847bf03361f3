"""The studio's scripts: every module is checked by its types, small, and asks nobody but the studio."""

from __future__ import annotations

import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from reedpath.studio.static_files import static_files
from reedpath.wording import catalogue_names, load_catalogue, load_studio_catalogue

ROOT = Path(__file__).parents[2]
STATIC, TEMPLATES = ROOT / "src/reedpath/studio/static", ROOT / "src/reedpath/studio/templates"
MODULES = sorted(STATIC.rglob("*.js"))
# lines of one module (docs/house.md)
LINES = 300


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_a_module_is_typed_small_and_stays_at_home(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith("// @ts-check\n// ")
    assert text.count("\n") <= LINES
    assert "http:" not in text.replace("http://www.w3.org/", "")
    assert "https:" not in text
    assert "innerHTML" not in text
    for imported in re.findall(r'from "([^"]+)"', text):
        name = (path.parent / imported).resolve().relative_to(STATIC.resolve()).as_posix()
        assert name in static_files(), imported


@pytest.mark.slow
@pytest.mark.skipif(
    shutil.which("tsc") is None, reason="no tsc to check the scripts with (on Debian: apt install node-typescript)"
)
def test_the_types_hold() -> None:
    done = subprocess.run(["tsc", "-p", str(ROOT / "jsconfig.json")], capture_output=True, text=True, check=False)
    assert done.stdout == ""


@pytest.mark.parametrize("path", sorted(TEMPLATES.glob("*.html")), ids=lambda path: path.name)
def test_a_template_has_no_script_and_no_style_of_its_own(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert re.findall(r"<script(?![^>]*(src=|application/json))", text) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|\|\s*safe", text) == []


def test_every_word_that_a_page_says_is_there_and_every_screen_has_all_languages() -> None:
    catalogue = load_studio_catalogue("en")
    said = {
        key
        for path in (*TEMPLATES.glob("*.html"), *MODULES)
        for key in re.findall(r"""\bsay\(["']([a-z_.]+[a-z_])["']""", path.read_text(encoding="utf-8"))
    }
    assert sorted(key for key in said if not catalogue.has(key)) == []
    shipped = ROOT / "src/reedpath/wording/studio"
    for screen in [path.stem for path in (shipped / "en").glob("*.toml")]:
        for language in catalogue_names():
            assert (shipped / language / f"{screen}.toml").is_file()


@pytest.mark.parametrize("language", [name for name in catalogue_names() if name != "en"])
def test_a_language_says_all_that_english_says(language: str) -> None:
    # what is the same in both is listed beside the language's typography, in tests/wording/languages
    english, other = load_studio_catalogue("en"), load_studio_catalogue(language)
    own = [key for key in english.messages if key not in load_catalogue("en").messages]
    same = [key for key in own if english.messages[key].variants == other.messages[key].variants]
    listed = tomllib.loads((ROOT / f"tests/wording/languages/{language}.toml").read_text(encoding="utf-8"))
    assert set(same) <= set(listed["alike"]["studio"])
