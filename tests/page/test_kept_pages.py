"""Tabs, pictures, scores and pages to the letter, of phrases in which every sign stands.

Each is compared whole with a file of `kept`, pictures and pages as an outline; see `support.kept_texts`.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from reedpath.arrange import Route, Spot
from reedpath.data import replace
from reedpath.harp import make_harp
from reedpath.lesson import Drill, Lesson, OwnWords, Rung, StepPlace, WordsKind, make_lesson
from reedpath.listen import FaultKind
from reedpath.page import (
    Box,
    CountInBeat,
    IndexedLesson,
    PageSound,
    encode_lesson_index,
    encode_lesson_page,
    encode_musicxml,
    encode_page_of_pieces,
    format_chart_svg,
    format_ribbon_svg,
    format_tab,
    format_tab_of_pieces,
    format_take_svg,
)
from reedpath.page.engrave.engraver import ScoreLook, _options
from reedpath.page.handout.contents import contents_of
from reedpath.page.handout.pieces import contents_of_pieces
from reedpath.page.handout.typesetting import load_paper
from reedpath.page.score.versions import encode_versions
from reedpath.phrase import LeftOut, Metre, Tempo, timing_of
from reedpath.pitch import Key
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.drawn_routes import (
    alphabet_route,
    empty_route,
    graces_route,
    metres_route,
    one_note_route,
    opening_route,
    titled,
)
from support.kept_texts import assert_kept, close_json
from support.listened import built_answer, built_curve
from support.outlines import outline_of_page, outline_of_xml
from support.pieces import doors, lesson_of_pieces, porch, porch_easy, porch_other_holes
from support.routes import lesson_of

KEPT = Path(__file__).parent / "kept"
LANGUAGES = ("en", "fr", "de", "es", "it")
NOTATIONS = ("sign", "letters-fr", "letters-de", "bracket", "arrow")
RUNGS = (Rung("slow", 0.5, 50.0), Rung("full", 1.0, 100.0))


def changing_route() -> Route:
    """Tempos and metres that change, a bar of a length that cannot be written, two notes in one grace, a repeat."""
    tempos = [Tempo(Fraction(at), bpm) for at, bpm in ((0, 90.0), (5, 78.0), (12, 130.0))]
    metres = [Metre(Fraction(0), 4, 4), Metre(Fraction(8), 3, 4), Metre(Fraction(11), 4, 4)]
    route = built_route(
        "2d:7/2 3d':1/14 4b:3/7 4d 5d 4d 4b 3d' 2d:1 r:1 (4 5)d:1/8g 4b:7/8 2d 3d' 4b 4d (2 3)d:1 4b 3d' 2d:1 r " * 2,
        key="A", tempos=tempos, metres=metres, swing=Fraction(2), music_key=Key(4, "minor"),
    )  # fmt: skip
    return titled(route, "Changing", [("A", 0, 6), ("B", 6, 12)])


def odd_bar_route() -> Route:
    """A pickup shorter than any note value, and a tempo and a metre after it."""
    pickup = Fraction(1, 96)
    metres = [Metre(Fraction(0), 4, 4), Metre(4 + pickup, 3, 4)]
    tempos = [Tempo(Fraction(0), 90.0), Tempo(5 + pickup, 120.0)]
    return titled(
        built_route("2d:1/96 3d:1 4b:1 4d:2 2d:1 3d:1 4b:2", metres=metres, tempos=tempos, pickup=pickup), "Odd bar"
    )


def routes() -> dict[str, Route]:
    """Phrases in which every sign stands."""
    return {
        "opening": opening_route(),
        "alphabet": alphabet_route(),
        "graces": graces_route(),
        "metres": metres_route(),
        "one-note": one_note_route(),
        "nothing": empty_route(),
        "changing": changing_route(),
        "odd bar": odd_bar_route(),
    }


def small_lesson() -> Lesson:
    """Two parts, the first of them twice, a spot, a note and a sentence of the teacher's."""
    route = opening_route()
    parts = (("A", 0, 3, None), ("B", 4, 6, None), ("A", 7, 9, 0))
    lesson = lesson_of(route, title="Porch light", parts=parts)
    said = OwnWords("en", WordsKind.SENTENCE, StepPlace("part", 0, 1, 1, 1), "Sit down.", "Play it.", "-3'")
    return replace(
        lesson, drills=(Drill(Spot(1, 2, 3.0, ("move",)), 3, RUNGS),), own_words=(said,), author="Ada (invented)",
        date="2026", notation="sign",
    )  # fmt: skip


def sound_of(lesson: Lesson, rung: Rung) -> PageSound:
    timing = timing_of(lesson.route.phrase).scaled(rung.factor)
    events = [one.event for one in lesson.route.events]
    return PageSound(
        rung, "audio/mpeg", b"no true sound",
        starts=tuple(1.0 + timing.seconds_at(event.onset) for event in events),
        ends=tuple(1.0 + timing.seconds_at(event.end) for event in events),
        bar_end_seconds=1.0 + timing.seconds_at(lesson.route.phrase.end + 1),
        counts=(CountInBeat(0.1, 1), CountInBeat(0.55, 2)),
    )  # fmt: skip


def of_routes(tell: Any) -> str:
    """What is told of each route, in another language and another notation each time."""
    told = []
    for at, (name, route) in enumerate(routes().items()):
        told += [f"# {name}", *tell(route, load_catalogue(LANGUAGES[at % 5]), NOTATIONS[at % 5])]
    return "\n".join(told) + "\n"


def test_tabs() -> None:
    text = of_routes(
        lambda route, words, notation: format_tab(route, notation=notation, catalogue=words).splitlines()
    )
    lesson = small_lesson()
    left_out = (LeftOut("trills"), LeftOut("faint-notes", count=2))
    route = replace(lesson.route, phrase=replace(lesson.route.phrase, left_out=left_out))
    for width in (60, 100):
        text += "\n".join([
            f"# lesson, {width}",
            format_tab(replace(lesson, route=route), notation="sign", catalogue=load_catalogue("en"), width=width),
            format_tab_of_pieces(lesson_of_pieces(), catalogue=load_catalogue("fr"), width=width),
        ])  # fmt: skip
    assert_kept(KEPT / "tabs.txt", text)


def test_ribbons() -> None:
    told = of_routes(lambda route, words, _: outline_of_xml(format_ribbon_svg(route, catalogue=words)))
    assert_kept(KEPT / "ribbons.txt", told)


def test_charts() -> None:
    told = []
    for harp, tonic, used in (
        ("A", 4, None),
        ("Low F", None, opening_route().moves()),
        ("C", 7, alphabet_route().moves()),
    ):
        words = load_catalogue("en" if used is None else "de")
        picture = format_chart_svg(make_harp(harp), tonic=tonic, used_moves=used, catalogue=words)
        told += [f"# {harp}", *outline_of_xml(picture)]
    assert_kept(KEPT / "charts.txt", "\n".join(told) + "\n")


def test_scores() -> None:
    told = of_routes(lambda route, words, _: outline_of_xml(encode_musicxml(route, catalogue=words)))
    assert_kept(KEPT / "scores.txt", told)


def test_scores_of_versions_and_what_the_engraver_is_asked() -> None:
    words = load_catalogue("en")
    told = []
    for lessons in ((porch(), porch_easy()), (porch(), porch_other_holes()), (porch(), doors())):
        score = encode_versions(lessons, ("steady", "easy"), catalogue=words)
        told += ["# versions", *(["none"] if score is None else outline_of_xml(score.musicxml))]
    for look in (
        ScoreLook(),
        ScoreLook(width_mm=90.0, page_height_mm=120.0, system_pages=True),
        ScoreLook(staff_mm=4.0),
    ):
        told += [f"# {look}", *(f"{name}: {value!r}" for name, value in _options(look).items())]
    told.append(str(_options(ScoreLook(), "line")["breaks"]))
    assert_kept(KEPT / "versions.txt", "\n".join(told) + "\n")


def test_boxes_that_touch_do_not_meet() -> None:
    box = Box(0.0, 0.0, 2.0, 2.0)
    for beside in (
        Box(2.0, 0.0, 4.0, 2.0),
        Box(-2.0, 0.0, 0.0, 2.0),
        Box(0.0, 2.0, 2.0, 4.0),
        Box(0.0, -2.0, 2.0, 0.0),
    ):
        assert not box.overlaps(beside)
        assert not beside.overlaps(box)
    assert box.overlaps(Box(1.9, 1.9, 3.0, 3.0))


def test_pictures_of_takes() -> None:
    route = opening_route()
    changes = {
        1: (FaultKind.FLAT, 31.4), 3: (FaultKind.MISSED, 0.0), 4: (FaultKind.LATE, 120.0), 6: (FaultKind.SHARP, 28.0)
    }  # fmt: skip
    told = []
    for language in ("en", "fr"):
        answer = built_answer(route, changes if language == "en" else None)
        picture = format_take_svg(answer, built_curve(answer), catalogue=load_catalogue(language))
        told += [f"# {language}", *outline_of_xml(picture)]
    assert_kept(KEPT / "takes.txt", "\n".join(told) + "\n")


def without_pictures(value: Any) -> Any:
    """Data in which a picture is only told by its length."""
    match value:
        case str():
            return f"<svg> of {value.count('<') // 50}" if value.lstrip().startswith(("<svg", "<?xml")) else value
        case dict():
            return {name: without_pictures(one) for name, one in value.items()}
        case list() | tuple():
            return [without_pictures(one) for one in value]
    return value


@pytest.mark.slow
def test_what_hand_outs_say() -> None:
    paper = load_paper("a4")
    told = []
    for lesson in (small_lesson(), make_lesson(alphabet_route(), title="Every sign")):
        for language in ("en", "it"):
            words = load_catalogue(language)
            told.append(close_json(without_pictures(contents_of(lesson, catalogue=words, paper=paper))))
    words = load_catalogue("fr")
    told.append(close_json(without_pictures(contents_of_pieces(lesson_of_pieces(), catalogue=words, paper=paper))))
    assert_kept(KEPT / "hand-outs.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_pages() -> None:
    lesson = small_lesson()
    page = encode_lesson_page(lesson, sounds=[sound_of(lesson, rung) for rung in RUNGS], languages=("en", "fr"))
    told = ["# lesson", *outline_of_page(page)]
    whole = lesson_of_pieces(pieces=lesson_of_pieces().pieces[:3], play_through=(0,))
    sounds = [[sound_of(piece.lesson, rung) for rung in RUNGS] if at else () for at, piece in enumerate(whole.pieces)]
    page = encode_page_of_pieces(whole, sounds=sounds, languages=("de", "en"))
    told += ["# pieces", *outline_of_page(page, with_pictures=False)]
    listed = [
        IndexedLesson(lesson, "week 1/porch", frozenset({"lesson.html", "sheet.pdf"})),
        IndexedLesson(whole, "b", frozenset()),
    ]
    for language in ("en", "es"):
        told += [
            "# index",
            *outline_of_page(encode_lesson_index(listed, load_catalogue(language), all_sheets="all.pdf")),
        ]
    assert_kept(KEPT / "pages.txt", "\n".join(told) + "\n")
