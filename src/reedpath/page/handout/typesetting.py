"""Typesetting: typst called with its own faces, so that a hand-out comes out the same everywhere."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

from reedpath.errors import PageError

__all__ = ["typeset"]

# last character of the blocks that the bundled faces cover: Latin, Greek and Cyrillic, signs and arrows
LAST_LETTER, FIRST_SIGN, LAST_SIGN = 0x052F, 0x1D00, 0x2BFF


def _is_covered(text: str) -> bool:
    return all(ord(sign) <= LAST_LETTER or FIRST_SIGN <= ord(sign) <= LAST_SIGN for sign in text)


@cache
def _template() -> bytes:
    return (files("reedpath.page.handout") / "sheet.typ").read_bytes()


def typeset(contents: dict[str, Any], *, title: str) -> bytes:
    """
    The PDF of a hand-out's contents.

    title : what decides the faces: one in a script that the bundled faces lack is helped out by faces of the
        system, and only then may the result differ from machine to machine.

    Raises `PageError` where the typesetter cannot set it.
    """
    import typst

    faces = typst.Fonts(include_system_fonts=not _is_covered(title))
    compiler = typst.Compiler(_template(), font_paths=faces)
    try:
        pdf = compiler.compile(format="pdf", sys_inputs={"sheet": json.dumps(contents)})
    except typst.TypstError as error:
        raise PageError(f"the hand-out cannot be typeset: {error.message}") from error
    if not isinstance(pdf, bytes):
        raise PageError("the hand-out came out empty")
    return pdf
