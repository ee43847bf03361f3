"""Hand-outs joined to one PDF; pypdf, which joins them, is also who reads them here, and finds text of typst's."""

from __future__ import annotations

from io import BytesIO

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from reedpath.errors import PageError
from reedpath.lesson import Lesson, make_lesson
from reedpath.page import encode_handout, join_pdfs
from reedpath.wording import load_catalogue
from support.built_routes import built_route

LESSON = replace(make_lesson(built_route("2d:1 3d':1 4b:2", key="A", bpm=60.0)), title="Stepping stones")


def sheet(lesson: Lesson) -> bytes:
    return encode_handout(lesson, catalogue=load_catalogue("en"))


def test_joined_hand_outs_have_all_pages_and_a_list() -> None:
    one, two = sheet(LESSON), sheet(replace(LESSON, title="Été à Nîmes"))
    joined = PdfReader(
        BytesIO(join_pdfs([("Stepping stones", one), ("Été à Nîmes", two)], title="All", language="en"))
    )
    apart = [len(PdfReader(BytesIO(each)).pages) for each in (one, two)]
    assert len(joined.pages) == sum(apart)
    assert [item.title for item in joined.outline] == ["Stepping stones", "Été à Nîmes"]
    assert [joined.get_destination_page_number(item) for item in joined.outline] == [0, apart[0]]
    assert "Été à Nîmes" in joined.pages[apart[0]].extract_text()
    assert joined.metadata.title == "All"


@pytest.mark.parametrize("content", [b"", b"no pdf at all", b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF"])
def test_what_is_no_pdf_is_named(content: bytes) -> None:
    with pytest.raises(PageError, match=r"Broken: the hand-out cannot be read as a PDF"):
        join_pdfs([("Broken", content)], title="All", language="en")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_cut_hand_out_is_joined_or_named(share: float) -> None:
    whole = sheet(LESSON)
    problem = None
    try:
        join_pdfs([("Cut", whole[: int(share * len(whole))])], title="All", language="en")
    except PageError as error:
        problem = error
    assert problem is None or problem.where.file == "Cut"
