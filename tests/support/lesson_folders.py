"""Lesson folders in tests: edited as a person edits them, and read."""

from __future__ import annotations

from pathlib import Path

import pypdf


def edit(path: Path, *pairs: tuple[str, str]) -> None:
    """Write new texts in place of old ones that must be there, the first of each."""
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")


def pdf_text(path: Path) -> str:
    """All words of a PDF, with one space between."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())
