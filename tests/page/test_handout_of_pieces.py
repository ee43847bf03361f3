"""The hand-out of several pieces: one PDF, what they share said once, each piece together."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any
from xml.etree.ElementTree import fromstring

import pytest
from pypdf import PdfReader

from reedpath.data import replace
from reedpath.errors import PageError
from reedpath.lesson import (
    LessonOfPieces,
    OwnWords,
    Piece,
    StepPlace,
    VariantKind,
    WordsKind,
    single_lesson,
    steps_of,
)
from reedpath.page import encode_handout, encode_handout_of_pieces
from reedpath.page.engrave.engraver import engrave_pages
from reedpath.page.handout.piece_groups import groups_of_pieces, version_names
from reedpath.page.handout.pieces import contents_of_pieces
from reedpath.page.handout.typesetting import load_paper
from reedpath.page.score.versions import encode_versions
from reedpath.wording import CAUTIONS, load_catalogue
from support.musicxml_schema import assert_valid
from support.pieces import (
    NOTE,
    answer,
    doors,
    lesson_of_pieces,
    nothing,
    porch,
    porch_easy,
    porch_other_holes,
    sixth,
)

pytestmark = pytest.mark.slow
ENGLISH = load_catalogue("en")


def flat(pdf: bytes) -> str:
    """All words of a PDF with single spaces between them, soft hyphens and line breaks undone."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def contents(lesson: LessonOfPieces, language: str = "en") -> dict[str, Any]:
    return contents_of_pieces(lesson, catalogue=load_catalogue(language), paper=load_paper("a4"))


def test_it_begins_with_what_the_whole_lesson_is() -> None:
    first = PdfReader(BytesIO(encode_handout_of_pieces(lesson_of_pieces()))).pages[0].extract_text()
    words = " ".join(first.split())
    for said in ("Three corners", "A. Teacher (invented) · 27 November 2026", NOTE["en"], "C harp", "D harp"):
        assert said in words
    for title in ("Porch steps", "Answer", "Two doors", "Over the sixth"):
        assert title in words
    assert "pieces 1, 2 and 4" in words


def test_every_step_of_every_piece_is_on_it_and_every_caution_once() -> None:
    lesson = lesson_of_pieces()
    text = flat(encode_handout_of_pieces(lesson)).replace("- ", "-")
    for piece in lesson.pieces:
        for block in steps_of(piece.lesson, ENGLISH):
            for step in block.steps:
                if step.kind not in ("spot", "ladder"):
                    assert step.text.replace("- ", "-") in text
    told = [step.text for piece in lesson.pieces for block in steps_of(piece.lesson, ENGLISH) for step in block.steps]
    for name in CAUTIONS:
        caution = ENGLISH.say(f"caution.{name}")
        in_steps = sum(caution in one for one in told)
        assert text.count(" ".join(caution.split()).replace("- ", "-")) == 1 + in_steps
    assert text.count("How to read it") == 1


def test_the_legend_has_an_example_of_each_kind_of_move_once() -> None:
    rows = contents(lesson_of_pieces())["legend"]
    said = [row["words"] for row in rows]
    assert len(said) == len(set(said))
    assert "3 draw, half-step bend" in said
    assert "6 overblow" in said
    assert sum("half-step bend" in words for words in said) == 1


def test_another_harp_is_told_before_the_piece_that_asks_for_it() -> None:
    told = [piece["before"] for piece in contents(lesson_of_pieces())["pieces"]]
    assert told[0] == []
    assert told[1] == ["Take turns: one plays “Porch steps”, the other answers with this; then swap."]
    assert told[2][0] == "Take the D harp now."
    assert told[3][0] == "Take the C harp now."
    text = flat(encode_handout_of_pieces(lesson_of_pieces(), catalogue=load_catalogue("fr")))
    assert "harmonica en ré" in text


def test_each_harp_has_a_chart_with_all_that_is_played_on_it() -> None:
    charts = contents(lesson_of_pieces())["charts"]
    assert [chart["title"] for chart in charts] == ["C harp", "D harp"]
    overblown = re.findall(
        r'class="sound used"[^>]*data-hole="6"[^>]*data-alteration="overblow"', charts[0]["picture"]
    )
    bent = re.findall(r'class="sound used"[^>]*data-hole="3"[^>]*data-alteration="bend"', charts[0]["picture"])
    assert overblown
    assert bent


def test_two_levels_that_sound_alike_have_both_tabs_under_one_staff() -> None:
    score = encode_versions([porch(), porch_other_holes()], ["Steady", "Easy"], catalogue=ENGLISH)
    assert score is not None
    assert score.on_one_staff
    assert_valid(score.musicxml)
    notes = [note for note in fromstring(score.musicxml).iter("note") if note.find("lyric") is not None]
    tabs = [tuple(one.findtext("text") for one in note.findall("lyric")) for note in notes]
    assert tabs[:3] == [("-2", "+3"), ("-3'", "-3'"), ("+4", "+4")]
    lesson = lesson_of_pieces(
        pieces=(Piece("1", porch()), Piece("2", porch_other_holes(), 0, VariantKind.LEVEL)), play_through=()
    )
    assert contents(lesson)["pieces"][0]["lines"] == "Tab under the notes, from top to bottom: Steady and Easy."


def test_two_levels_that_sound_other_notes_have_staves_whose_beats_stand_under_one_another() -> None:
    score = encode_versions([porch(), porch_easy()], ["Steady", "Easy"], catalogue=ENGLISH)
    assert score is not None
    assert not score.on_one_staff
    assert_valid(score.musicxml)
    root = fromstring(score.musicxml)
    assert [part.findtext("part-name") for part in root.iter("score-part")] == ["Steady", "Easy"]
    picture = engrave_pages(score.musicxml)[0]
    left = {
        name: float(re.search(rf'<g id="{name}" class="note">.*?translate\((\d+)', picture, re.DOTALL)[1])  # type: ignore[index]
        for name in ("e0", "v2e0", "e5", "v2e5", "e11", "v2e11")
    }
    for name in ("e0", "e5", "e11"):
        assert abs(left[name] - left[f"v2{name}"]) < 300  # verovio's units; a staff is 720 of them high
    assert left["e0"] < left["e5"] < left["e11"]


def test_versions_with_other_bars_have_scores_of_their_own() -> None:
    assert encode_versions([porch(), answer()], ["a", "b"], catalogue=ENGLISH) is None
    lesson = lesson_of_pieces(
        pieces=(Piece("1", porch()), Piece("2", answer(), 0, VariantKind.LEVEL)), play_through=()
    )
    (piece,) = contents(lesson)["pieces"]
    assert piece["score"] == []
    assert all(version["score"] for version in piece["versions"])
    encode_handout_of_pieces(lesson)


def test_what_is_the_same_at_two_levels_is_printed_once() -> None:
    steady, easy = porch(), replace(porch(), route=replace(porch().route, level="easy"))
    lesson = LessonOfPieces("Same", (Piece("1", steady), Piece("2", easy, 0, VariantKind.LEVEL), Piece("3", sixth())))
    (piece, _) = contents(lesson)["pieces"]
    assert len(piece["versions"]) == 1
    assert {"label": "Level", "value": "Steady / Easy"} in piece["facts"][0]["facts"]
    assert flat(encode_handout_of_pieces(lesson)).count("Begin on 1 draw") == 1
    own = OwnWords("en", WordsKind.NOTE, StepPlace("intro"), "Only for this level.")
    said = replace(lesson.pieces[1], lesson=replace(easy, own_words=(own,)))
    apart = replace(lesson, pieces=(lesson.pieces[0], said, lesson.pieces[2]))
    assert len(contents(apart)["pieces"][0]["versions"]) == 2
    assert "Only for this level." in flat(encode_handout_of_pieces(apart))


def test_versions_of_one_level_are_told_apart_by_their_harps_or_numbers() -> None:
    on_d = replace(porch(), route=replace(porch().route, harp=doors().route.harp))
    two = lesson_of_pieces(pieces=(Piece("1", porch()), Piece("2", on_d, 0, VariantKind.LEVEL)), play_through=())
    assert version_names(groups_of_pieces(two)[0], ENGLISH) == ("Steady, C harp", "Steady, D harp")
    same = lesson_of_pieces(pieces=(Piece("1", porch()), Piece("2", porch(), 0, VariantKind.LEVEL)), play_through=())
    assert version_names(groups_of_pieces(same)[0], ENGLISH) == ("Steady, C harp (1)", "Steady, C harp (2)")


def test_short_pieces_stand_two_to_a_page_and_none_is_parted() -> None:
    short = answer()
    pieces = tuple(Piece(str(number), replace(short, title=f"Small {number}", drills=())) for number in range(4))
    lesson = LessonOfPieces("Small change", pieces)
    pages = [
        " ".join(page.extract_text().split()) for page in PdfReader(BytesIO(encode_handout_of_pieces(lesson))).pages
    ]
    for number in range(4):
        (page,) = [text for text in pages[1:] if f"Piece {number + 1}: Small {number}" in text] or [pages[0]]
        assert page.count("Tempo ladder") >= page.count("Before you play")
    assert len(pages) <= 3


def test_the_last_play_through_tells_every_pieces_tempo_in_each_round() -> None:
    told = contents(lesson_of_pieces())
    assert told["rounds"][-1] == {
        "name": "Full tempo",
        "tempos": [
            {"number": "1", "tempo": "♩ = 100"},
            {"number": "3", "tempo": "♩ = 84"},
            {"number": "4", "tempo": "♩ = 72"},
        ],
    }
    assert "Then a bit faster, at 85" in flat(encode_handout_of_pieces(lesson_of_pieces()))
    assert "All in a row" not in flat(encode_handout_of_pieces(lesson_of_pieces(play_through=())))


def test_it_is_an_accessible_pdf_whose_headings_skip_no_level() -> None:
    pdf = encode_handout_of_pieces(lesson_of_pieces())
    root = PdfReader(BytesIO(pdf)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]  # type: ignore[index]
    assert b"pdfuaid" in pdf
    assert str(root["/Lang"]).startswith("en")  # type: ignore[index]
    outline = PdfReader(BytesIO(pdf)).outline
    assert [item.title for item in outline if not isinstance(item, list)][-2:] == [
        "Piece 4: Over the sixth",
        "All in a row",
    ]


def test_one_piece_alone_is_the_hand_out_of_its_lesson() -> None:
    lesson = LessonOfPieces("Alone", (Piece("1", porch()),), author="A. Teacher (invented)")
    only = single_lesson(lesson)
    assert only is not None
    assert encode_handout_of_pieces(lesson) == encode_handout(only)


def test_a_piece_of_nothing_keeps_its_place() -> None:
    lesson = LessonOfPieces("With a gap", (Piece("1", porch()), Piece("2", nothing()), Piece("3", sixth())))
    text = flat(encode_handout_of_pieces(lesson))
    assert "Piece 2: Nothing" in text
    assert "There is nothing to play." in text
    nowhere = LessonOfPieces("Nothing at all", (Piece("1", nothing()), Piece("2", nothing())))
    assert "There is nothing to play." in flat(encode_handout_of_pieces(nowhere))


@pytest.mark.parametrize(
    "title", ['#let x = 1; $a$ *b* <piece-1> @piece-1 "f"', "😀 漢字 \u202e עברית", "x" * 3000, ""]
)
def test_no_title_breaks_it_or_is_read_as_markup(title: str) -> None:
    pieces = (Piece("1", replace(porch(), title=title)), Piece("2", sixth()))
    text = flat(encode_handout_of_pieces(LessonOfPieces(title, pieces)))
    if title.startswith("#"):
        assert text.count(title) >= 3


def test_the_same_lesson_gives_the_same_bytes_and_papers_are_known() -> None:
    assert encode_handout_of_pieces(lesson_of_pieces()) == encode_handout_of_pieces(lesson_of_pieces())
    with pytest.raises(PageError, match="there is no paper named 'a5'"):
        encode_handout_of_pieces(lesson_of_pieces(), paper="a5")


def test_a_lesson_of_many_pieces_stays_on_its_pages() -> None:
    small = replace(answer(), drills=())
    pieces = tuple(Piece(str(number), replace(small, title=f"Small change {number}")) for number in range(12))
    lesson = LessonOfPieces("Twelve", pieces, play_through=tuple(range(12)))
    pages = PdfReader(BytesIO(encode_handout_of_pieces(lesson))).pages
    assert len(pages) <= 9
    last = " ".join(pages[-1].extract_text().split())
    assert last.rindex("Small change 0") < last.rindex("Small change 11")
