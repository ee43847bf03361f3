"""The SVG of ribbon and chart: plain, readable aloud, and drawn alike by renderers."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from io import BytesIO
from pathlib import Path

import pytest

from reedpath.page import RibbonLook, event_words, format_ribbon_svg, load_palette, ribbon_of
from reedpath.page.ribbon.notes import EventShapes
from reedpath.wording import load_catalogue
from support import drawn_routes
from support.built_routes import built_route
from support.pictures import PICTURES

SVG = "{http://www.w3.org/2000/svg}"
PLAIN = {"svg", "title", "desc", "rect", "g", "path", "text"}


def elements(text: str) -> list[ET.Element]:
    return list(ET.fromstring(text).iter())


each_picture = pytest.mark.parametrize("name", PICTURES)


@each_picture
def test_a_picture_uses_plain_elements_and_attributes_alone(name: str) -> None:
    text = PICTURES[name]()
    assert {one.tag.removeprefix(SVG) for one in elements(text)} <= PLAIN
    for forbidden in ("var(", "style=", "<style", "foreignObject", "href", "script", "nan", "inf"):
        assert forbidden not in text, forbidden


@each_picture
def test_a_picture_has_a_title_a_description_and_unique_ids(name: str) -> None:
    root, *rest = elements(PICTURES[name]())
    assert root.get("role") in ("img", "group")
    assert root.findtext(f"{SVG}title") == root.get("aria-label") != ""
    assert root.findtext(f"{SVG}desc")
    ids = [one.get("id") for one in rest if one.get("id")]
    assert len(ids) == len(set(ids))


def test_every_event_can_be_lit_and_read() -> None:
    route = drawn_routes.alphabet_route()
    groups = {one.get("id"): one for one in elements(format_ribbon_svg(route)) if one.get("data-event")}
    for index in range(len(route.events)):
        assert groups[f"event-{index}"].get("aria-label")
    held = [one for one in groups.values() if one.get("data-event") == "9"]
    assert [one.get("id") for one in held] == ["event-9", "event-9-2"]
    assert held[0].get("data-end") == held[1].get("data-onset")
    assert "goes on" in (held[1].get("aria-label") or "")


def test_halos_are_there_for_pages_and_hidden() -> None:
    route = drawn_routes.opening_route()
    plain = format_ribbon_svg(route)
    lightable = format_ribbon_svg(route, look=RibbonLook(lightable=True))
    assert 'class="halo"' not in plain
    assert lightable.count('class="halos" display="none"') == len(route.events)
    assert elements(lightable)[0].get("role") == "group"
    assert elements(plain)[0].get("role") == "img"


def test_events_are_told_in_the_reader_s_language() -> None:
    route = drawn_routes.alphabet_route()
    english, french = load_catalogue("en"), load_catalogue("fr")
    assert event_words(route.events[4], english) == "3 draw, step-and-a-half bend, vibrato"
    assert event_words(route.events[5], english).startswith("take a breath, 1 and 4 blow")
    assert event_words(route.events[21], english) == "nothing to play"
    assert "aspiré" in event_words(route.events[4], french)
    assert 'aria-label="mesure 1, ' in format_ribbon_svg(route, catalogue=french)


def test_titles_are_escaped_and_cut_to_the_width() -> None:
    route = drawn_routes.titled(drawn_routes.one_note_route(), 'Rain & "Snow" <3 ' + "on and on " * 20)
    text = format_ribbon_svg(route, look=RibbonLook(layout="phone"))
    root = elements(text)[0]
    assert '"Snow" <3' in (root.get("aria-label") or "")
    heading = next(one for one in root.iter(f"{SVG}text") if one.get("class") == "heading_text")
    assert (heading.text or "").endswith("…")


def test_an_empty_route_says_that_there_is_nothing_to_play() -> None:
    text = format_ribbon_svg(drawn_routes.empty_route())
    assert load_catalogue("en").say("part.empty") in text
    assert "event-0" not in text


def test_the_legend_tells_the_signs_in_use_and_no_others() -> None:
    words = load_catalogue("en")
    text = format_ribbon_svg(built_route("4b:1 4d:1"))
    assert words.say("ribbon.blow") in text
    for sign in ("bend", "weight", "vibrato", "tongue", "spot", "silent"):
        assert f">{words.say(f'ribbon.{sign}')}<" not in text


def test_typst_draws_the_strips_where_they_are(tmp_path: Path) -> None:
    # typst places SVG through usvg, an SVG reader that knows neither CSS variables nor HTML inside
    import typst

    image = pytest.importorskip("PIL.Image")
    route = built_route("4b:2 4d:2")
    look = RibbonLook(heading=False, legend=False)
    (tmp_path / "ribbon.svg").write_text(format_ribbon_svg(route, look=look), encoding="utf-8")
    (tmp_path / "page.typ").write_text(
        '#set page(width: 726pt, height: auto, margin: 0pt)\n#image("ribbon.svg", width: 100%)\n', encoding="utf-8"
    )
    drawn = image.open(BytesIO(typst.compile(str(tmp_path / "page.typ"), format="png", ppi=72))).convert("RGB")
    ribbon = ribbon_of(route)
    blown, hollow = ribbon.systems[0].events

    def ink_at(piece: EventShapes) -> tuple[int, ...]:
        strip = piece.strips[0]
        x, y = strip.left + 0.3 * strip.width, strip.cord
        return tuple(drawn.getpixel((round(x * ribbon.row_px), round(y * ribbon.row_px))))

    palette = load_palette("paper")
    for piece, ink in ((blown, "blow"), (hollow, "draw_ground")):
        wanted = [int(palette.inks[ink][i : i + 2], 16) for i in (1, 3, 5)]
        assert ink_at(piece) == pytest.approx(wanted, abs=3)
