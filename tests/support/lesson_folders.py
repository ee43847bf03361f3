"""Lesson folders in tests: edited as a person edits them, and read."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf


def edit(path: Path, *pairs: tuple[str, str]) -> None:
    """Write new texts in place of old ones that must be there, the first of each."""
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")


def contents(folder: Path) -> dict[str, bytes]:
    """All files of a folder and of those inside it, by their paths."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def forget_sounds(folder: Path) -> None:
    """Take out of the lists of made files what is known of the sounds, so that all of them are made anew."""
    for path in folder.rglob("made-files.json"):
        listed = json.loads(path.read_bytes())
        for made in listed["files"].values():
            made.pop("sounds", None)
        path.write_text(json.dumps(listed), encoding="utf-8")


def pdf_text(path: Path) -> str:
    """All words of a PDF, with one space between."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())
