"""Typesetting: typst called with its own faces, so that a hand-out comes out the same everywhere."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct

from reedpath.data import read_tables, shipped_folder, shipped_text
from reedpath.errors import PageError, Place, SettingsError

FILE = "papers.toml"
# blocks that the bundled faces cover: Latin, Greek and Cyrillic to the first, signs and arrows from the second
# to the third
LAST_LETTER, FIRST_SIGN, LAST_SIGN = 0x052F, 0x1D00, 0x2BFF
# contents that are pictures, whose own texts are said elsewhere too
PICTURES = ("chart", "score", "ribbon")


class Paper(Struct, frozen=True, forbid_unknown_fields=True):
    """A paper: its name for the typesetter, its width and its side margins in millimetres."""

    paper: str
    width_mm: Annotated[float, Meta(gt=0)]
    margin_mm: Annotated[float, Meta(ge=0)]

    @property
    def text_width_mm(self) -> float:
        """Width between the margins, millimetres."""
        return self.width_mm - 2 * self.margin_mm


def parse_papers(text: str) -> dict[str, Paper]:
    """Papers by name, from the text of a papers file; a SettingsError names the key that does not hold."""
    papers = read_tables(text, Paper, file=FILE)
    for name, paper in papers.items():
        if paper.text_width_mm <= 0:
            where = Place(file=FILE, field=f"{name}.margin_mm")
            raise SettingsError("page.margins_meet", where=where, margin=paper.margin_mm, width=paper.width_mm)
    return papers


@cache
def _papers() -> dict[str, Paper]:
    return parse_papers(shipped_text("reedpath.page.handout", FILE))


def paper_names() -> tuple[str, ...]:
    """Names of the papers that hand-outs can be set for.

    >>> paper_names()
    ('a4', 'letter')
    """
    return tuple(_papers())


def load_paper(name: str) -> Paper:
    """The paper of that name."""
    if name not in _papers():
        raise PageError("page.no_paper", name=name, known=paper_names())
    return _papers()[name]


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
    return (shipped_folder("reedpath.page.handout") / "sheet.typ").read_bytes()


class Setting(Struct, frozen=True):
    """How close things stand on a sheet.

    closeness : 0 to 2; the higher, the smaller are letters and the nearer together things stand.
    keep_pieces : whether a piece of several that fits a page is never parted.
    """

    closeness: Annotated[int, Meta(ge=0, le=2)] = 0
    keep_pieces: bool = True


# from the roomiest on; of those that take as many pages the first is chosen
ROOMIEST, CLOSER, CLOSEST = Setting(), Setting(1), Setting(2)
PARTED = Setting(1, keep_pieces=False)
# pages from which the closest setting is not tried: of so many it saves none that is missed; ours
TOO_MANY = 3
# lines of score from which the roomiest setting is not tried: of so many the closer one always spares pages (with 16
# lines it took 12 pages for 15, with 54 39 for 46), and setting a long hand-out takes seconds
MANY_LINES = 16
# the head of a page's object (ISO 32000-1, table 30)
_PAGE = re.compile(rb"/Type\s*/Page\b")


def _pages(pdf: bytes) -> int:
    """How many pages a hand-out has: typst writes each as an object of its own, in plain letters."""
    return len(_PAGE.findall(pdf))


def typeset_on_fewest(contents: dict[str, Any]) -> bytes:
    """The PDF of a hand-out's contents in the roomiest setting that takes as few pages as the closest one tried.

    Raises `PageError` where the typesetter cannot set it.
    """
    if len(contents.get("score", ())) >= MANY_LINES:
        return typeset(contents, CLOSER)
    settings = (ROOMIEST, CLOSER, PARTED) if contents.get("pieces") else (ROOMIEST, CLOSER, CLOSEST)
    found: list[tuple[int, bytes]] = []
    for setting in settings:
        fewest = min((pages for pages, _ in found), default=TOO_MANY)
        if fewest == 1 or (setting is CLOSEST and fewest >= TOO_MANY):
            break
        pdf = typeset(contents, setting)
        found.append((_pages(pdf), pdf))
    return min(found, key=lambda one: one[0])[1]


def typeset(contents: dict[str, Any], setting: Setting = ROOMIEST) -> bytes:
    """The PDF of a hand-out's contents.

    Texts in scripts that the bundled faces lack are helped out by faces of the system; only then may the result
    differ from machine to machine, and only where no face has a sign is the PDF not marked as accessible.

    Raises `PageError` where the typesetter cannot set it.
    """
    import typst

    faces = typst.Fonts(include_system_fonts=not all(map(_is_covered, _texts(contents))))
    told = {"setting": {"closeness": setting.closeness, "keep_pieces": setting.keep_pieces}, **contents}
    sheet = {"sheet": json.dumps(told)}

    def compiled(standard: Literal["ua-1"] | None) -> Any:
        compiler = typst.Compiler(_template(), font_paths=faces, sys_inputs=sheet)
        return compiler.compile(format="pdf", pdf_standards=standard)

    try:
        pdf = compiled(ACCESSIBLE)
    except typst.TypstError:
        try:
            pdf = compiled(None)
        except typst.TypstError as error:
            raise PageError("page.not_typeset", problem=error.message) from error
    if not isinstance(pdf, bytes):
        raise PageError("page.empty_handout")
    return pdf
