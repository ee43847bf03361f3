"""Typesetting: typst called with its own faces, so that a hand-out comes out the same everywhere."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from reedpath.errors import PageError

__all__ = ["typeset"]

# blocks that the bundled faces cover: Latin, Greek and Cyrillic to the first, signs and arrows from the second
# to the third
LAST_LETTER, FIRST_SIGN, LAST_SIGN = 0x052F, 0x1D00, 0x2BFF
# contents that are pictures, whose own texts are said elsewhere too
PICTURES = ("chart", "score", "ribbon")
# accessible PDF: tagged, titled, every picture described (ISO 14289-1)
ACCESSIBLE: Literal["ua-1"] = "ua-1"


def _texts(contents: Any) -> Iterator[str]:
    if isinstance(contents, str):
        yield contents
    elif isinstance(contents, dict):
        for name, value in contents.items():
            if name not in PICTURES:
                yield from _texts(value)
    elif isinstance(contents, list):
        for value in contents:
            yield from _texts(value)


def _is_covered(text: str) -> bool:
    return all(ord(sign) <= LAST_LETTER or FIRST_SIGN <= ord(sign) <= LAST_SIGN for sign in text)


@cache
def _template() -> bytes:
    return (files("reedpath.page.handout") / "sheet.typ").read_bytes()


def typeset(contents: dict[str, Any]) -> bytes:
    """The PDF of a hand-out's contents.

    Texts in scripts that the bundled faces lack are helped out by faces of the system; only then may the result
    differ from machine to machine, and only where no face has a sign is the PDF not marked as accessible.

    Raises `PageError` where the typesetter cannot set it.
    """
    import typst

    faces = typst.Fonts(include_system_fonts=not all(map(_is_covered, _texts(contents))))
    sheet = {"sheet": json.dumps(contents)}

    def compiled(standard: Literal["ua-1"] | None) -> Any:
        compiler = typst.Compiler(_template(), font_paths=faces, sys_inputs=sheet)
        return compiler.compile(format="pdf", pdf_standards=standard)

    try:
        pdf = compiled(ACCESSIBLE)
    except typst.TypstError:
        try:
            pdf = compiled(None)
        except typst.TypstError as error:
            raise PageError(f"the hand-out cannot be typeset: {error.message}") from error
    if not isinstance(pdf, bytes):
        raise PageError("the hand-out came out empty")
    return pdf
