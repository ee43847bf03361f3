"""Screens of the studio as who sits before them reads them: each request and what is shown for it, to the letter.

A file of `kept` holds requests after "$", a form's fields after its address, and what is shown: texts, links, fields
and buttons. ``KEEP_TEXTS=1`` writes anew what follows the requests, so that a new case is one line.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from datetime import datetime, timedelta
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from reedpath.studio import student_pages
from support.fixed_records import NOW, fix_records
from support.kept_texts import assert_kept
from support.stood_in_jobs import put_files, put_shelf, stand_in
from support.studios import AskedStudio, asked_studio

pytestmark = pytest.mark.slow

KEPT = Path(__file__).parent / "kept"
# what stands in a line of its own, with the attributes that are told of it
SAID = {
    "a": ("href",), "form": ("method", "action"), "input": ("type", "name", "value", "checked", "required", "list"),
    "select": ("name",), "option": ("value", "selected"), "textarea": ("name",),
    "button": ("name", "value", "formaction"),
    "img": ("src", "alt"), "audio": ("src",), "video": ("src",), "details": ("open",), "time": ("datetime",),
    "section": ("aria-label",), "nav": ("aria-label",), "meter": ("value", "min", "max"), "html": ("lang",),
}  # fmt: skip
LEFT_OUT = {"script", "style", "svg", "head"}


class Stopped(datetime):
    """A clock that stands, long after all that was kept."""

    @classmethod
    def now(cls, tz: Any = None) -> Any:
        return NOW + timedelta(days=39)


def shown(element: Any, depth: int = 0) -> Iterator[str]:
    """The texts, links, fields and buttons of a page, each in a line."""
    if not isinstance(element.tag, str) or element.tag in LEFT_OUT:
        return
    text = " ".join((element.text or "").split())
    said = "".join(
        f" {name}={element.get(name)!r}" for name in SAID.get(element.tag, ()) if element.get(name) is not None
    )
    label = element.get("aria-label") or element.get("title") or ""
    if text or said or label or element.tag in SAID:
        yield f"{element.tag}{said}{f' ({label})' if label else ''}{' | ' if text else ''}{text}"
    for one in element:
        yield from shown(one)
        tail = " ".join((one.tail or "").split())
        if tail:
            yield f"| {tail}"


def changed(before: list[str], now: list[str]) -> list[str]:
    """Of a page that was shown before what has come and gone."""
    pairs = SequenceMatcher(None, before, now, autojunk=False).get_opcodes()
    lines = []
    for kind, first, last, start, stop in pairs:
        if kind != "equal":
            lines += [f"- {one}" for one in before[first:last]] + [f"+ {one}" for one in now[start:stop]]
    return lines


def told(studio: AskedStudio, line: str, pages: dict[str, list[str]]) -> list[str]:
    """What is shown for a request; of a page that was shown before, what differs."""
    method, path, *fields = shlex.split(line)
    data: dict[str, Any] = {}
    for name, _, value in (one.partition("=") for one in fields):
        data.setdefault(name, []).append(value)
    answer = studio.client.get(path) if method == "GET" else studio.post(path, data)
    kind = answer.headers.get("content-type", "").partition(";")[0]
    lines = [f"{answer.status_code} {kind} {answer.url.path} {answer.url.query.decode()}".rstrip()]
    if kind == "text/html" and answer.text.strip():
        page = list(shown(html.document_fromstring(answer.text)))
        before = pages.get(answer.url.path)
        lines += page if before is None else changed(before, page)
        pages[answer.url.path] = page
    elif kind.startswith(("text/", "application/json")):
        lines += answer.text.splitlines()[:20]
    return [re.sub(r"\?v=[0-9a-f]+", "", one) for one in lines]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("invented")
    put_files(folder)
    return folder


@pytest.mark.parametrize("path", sorted(KEPT.glob("*.txt")), ids=lambda path: path.stem)
def test_a_screen_shows_what_was_kept(path: Path, folder: Path, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("REEDPATH_FOLDER", str(tmp_path / "own"))
    stand_in(monkeypatch, first=1)
    put_shelf(tmp_path / "shelf.sqlite", folder)
    fix_records(monkeypatch, first=1000)
    monkeypatch.setattr(student_pages, "datetime", Stopped)
    lines = path.read_text(encoding="utf-8").splitlines()
    language = lines[0].removeprefix("# ")
    found, pages = [lines[0]], dict[str, list[str]]()
    with asked_studio(tmp_path / "shelf.sqlite", language=language) as studio:
        for line in lines:
            if line.startswith("$ "):
                found += [line, *told(studio, line.removeprefix("$ "), pages), ""]
    assert_kept(path, "\n".join(found).rstrip("\n") + "\n")
