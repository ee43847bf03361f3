from __future__ import annotations

import re
from fractions import Fraction as F
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import PageError
from reedpath.page import ScoreLook, encode_musicxml, engrave_pages, engrave_score
from reedpath.page.engrave.heading import SMALLEST_MM, TITLE_MM
from reedpath.phrase import Metre, Part, Phrase, Tempo
from support.routes import choose, phrase_of, route_of

COMMON = (Metre(F(0), 4, 4),)
SVG = "{http://www.w3.org/2000/svg}"


def route(text: str = "C5:1 D5:1/2 E5:1/2 F5:2", **fields: object) -> Route:
    return route_of(phrase_of(text, metres=COMMON, **fields))


def drawn(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def texts(root: ET.Element) -> list[str]:
    return ["".join(one.itertext()) for one in root.iter(f"{SVG}text")]


def test_notes_keep_their_ids_and_have_their_tab() -> None:
    root = drawn(engrave_score(encode_musicxml(route("C5:1 D5:5 E5:2"))))
    ids = {one.get("id") for one in root.iter(f"{SVG}g")}
    assert {"e0", "e1", "e1t4", "e2"} <= ids
    assert [text for text in texts(root) if text[0] in "+-"] == ["+4", "-4", "+5"]


def test_a_chord_in_the_tab_stays_one_text() -> None:
    assert "-(2\u20093)" in texts(drawn(engrave_score(encode_musicxml(route("G4+B4:4")))))


def test_the_picture_says_its_size_and_name() -> None:
    root = drawn(engrave_score(encode_musicxml(route(title='One & "two"')), look=ScoreLook(width_mm=150)))
    assert root.get("width") == "150mm"
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'One & "two"'


@pytest.mark.parametrize("title", [r"Up\Down riff", r"\1 \g<0>", "50 % & <more>"])
def test_a_title_is_a_name_and_no_pattern(title: str) -> None:
    assert drawn(engrave_score(encode_musicxml(route(title=title)))).get("aria-label") == title


def test_title_and_harp_stand_above_the_music() -> None:
    svg = engrave_score(encode_musicxml(route(title="Low Road")))
    assert texts(drawn(svg))[:2] == ["Low Road", "C harp"]
    plain = engrave_score(encode_musicxml(route(title="Low Road")), has_heading=False)
    assert "Low Road" not in texts(drawn(plain))


@pytest.mark.parametrize("letters", [60, 400])
def test_a_long_title_is_set_smaller_and_cut_short_at_last(letters: int) -> None:
    svg = engrave_score(encode_musicxml(route(title="x" * letters)))
    first = next(iter(drawn(svg).iter(f"{SVG}text")))
    unit = float(drawn(svg).get("viewBox", "").split()[2]) / 180
    size_mm = float(first.get("font-size", "")) / unit
    assert SMALLEST_MM * 0.99 <= size_mm < TITLE_MM
    assert (first.text or "").endswith("…") == (letters == 400)


def test_a_tempo_is_one_run_of_plain_signs() -> None:
    svg = engrave_score(encode_musicxml(route(swing=F(2), tempos=(Tempo(F(0), 96.0),))))
    assert "Swung ♩ = 96" in texts(drawn(svg))
    assert not re.search("[\ue000-\uf8ff]", svg)


def test_a_compound_tempo_counts_dotted_quarters() -> None:
    phrase = phrase_of("C5:3/2 D5:3/2", metres=(Metre(F(0), 6, 8),), tempos=(Tempo(F(0), 90.0),))
    assert "♩. = 60" in texts(drawn(engrave_score(encode_musicxml(route_of(phrase)))))


def test_neighbouring_tab_texts_do_not_touch() -> None:
    """Wide tokens on sixteenths keep air between them, measured with the widths of a common serif face."""
    busy = route_of(phrase_of("A4:1/4 Bb4:1/4 Ab4:1/4 A4:1/4 " * 8, metres=COMMON))
    busy = choose(busy, 3, attack_semitones=-1.0)
    root = drawn(engrave_pages(encode_musicxml(busy))[0])
    rows: dict[str, list[tuple[float, float]]] = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "syl":
            text = group.find(f"{SVG}text")
            assert text is not None
            label = "".join(text.itertext())
            size = float(re.sub("px", "", text[0][0].get("font-size", "")))
            wide = sum({"'": 0.19, "-": 0.34, "›": 0.34}.get(sign, 0.5) for sign in label) * size
            rows.setdefault(text.get("y", ""), []).append((float(text.get("x", "")), wide))
    assert sum(map(len, rows.values())) == 32
    for row in rows.values():
        ordered = sorted(row)
        for (x, wide), (after, _) in pairwise(ordered):
            assert after - x - wide > 60


def test_every_system_can_be_a_page() -> None:
    busy = route_of(phrase_of("C5:1/2 D5:1/2 E5:1/2 F5:1/2 " * 24, metres=COMMON))
    musicxml = encode_musicxml(busy)
    pages = engrave_pages(musicxml, look=ScoreLook(system_pages=True))
    assert len(pages) > 2
    assert all(page.count('class="system"') == 1 for page in pages)
    drawn_notes = sum(len(re.findall(r'id="e\d+" class="note"', page)) for page in pages)
    assert drawn_notes == len(busy.events)


def test_pages_end_at_their_height() -> None:
    musicxml = encode_musicxml(route_of(phrase_of("C5:1/2 D5:1/2 E5:1/2 F5:1/2 " * 40, metres=COMMON)))
    pages = engrave_pages(musicxml, look=ScoreLook(page_height_mm=100))
    assert len(pages) > 1
    assert all(float(drawn(page).get("height", "").removesuffix("mm")) <= 100 for page in pages)


def test_the_same_score_is_drawn_the_same() -> None:
    musicxml = encode_musicxml(route())
    assert engrave_score(musicxml) == engrave_score(musicxml)


def test_what_is_no_score_is_an_error(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(PageError, match="the score cannot be engraved"):
        engrave_score(b"not a score")
    assert capfd.readouterr() == ("", "")


def test_engraving_says_nothing_of_its_own(capfd: pytest.CaptureFixture[str]) -> None:
    engrave_score(encode_musicxml(route_of(phrase_of("C3:1 C5:1/3 r:1/3 D5:1/3 r:2", metres=COMMON))))
    assert capfd.readouterr() == ("", "")


def test_nothing_to_play_is_drawn_as_an_empty_bar() -> None:
    assert drawn(engrave_score(encode_musicxml(route_of(Phrase(()))))).get("role") == "img"


def systems_of(text: str, parts: str = "", **fields: object) -> list[str]:
    phrase = phrase_of(text, metres=COMMON, **fields)
    labels = {int(bar): label for bar, label in (one.split("=") for one in parts.split())}
    edges = [*sorted(labels), int(phrase.end / 4) + 1]
    labelled = tuple(Part(labels[a], F(4 * (a - 1)), F(4 * (b - 1))) for a, b in pairwise(edges)) if labels else ()
    score = encode_musicxml(route_of(replace(phrase, parts=labelled)))
    return list(engrave_pages(score, look=ScoreLook(width_mm=174, system_pages=True)))


BAR = "C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2 "


def bars_on(pages: list[str]) -> list[int]:
    return [page.count('class="measure"') for page in pages]


def test_lines_hold_about_as_many_notes_each_and_begin_with_a_part_where_they_can() -> None:
    assert bars_on(systems_of(BAR * 6)) == [3, 3]
    assert bars_on(systems_of(BAR * 8, "1=A 4=B 7=C")) in ([3, 3, 2], [4, 4])
    dense = "C5:1/4 D5:1/4 E5:1/4 F5:1/4 " * 4
    assert max(bars_on(systems_of(dense + BAR * 3))) < 4


def test_every_line_but_the_first_shows_the_number_of_its_first_bar_also_under_a_part() -> None:
    pages = systems_of(BAR * 8, "1=A 5=B")
    groups = [re.findall(r'<g [^>]*class="mNum[^"]*"[^>]*>(.*?)</g>', page, re.DOTALL) for page in pages]
    numbers = [["".join(re.findall(r">(\d+)<", group)) for group in found] for found in groups]
    assert numbers[0] == []
    assert [int(found[0]) for found in numbers[1:]] == [
        1 + sum(bars_on(pages)[:index]) for index in range(1, len(pages))
    ]


def test_labels_of_parts_are_words_without_a_box_wherever_they_stand() -> None:
    phrase = phrase_of("C5:2 D5:2 E5:4", metres=COMMON)
    parts = (Part("A", F(0), F(2)), Part("Tail & end", F(2), F(8)))
    svg = engrave_score(encode_musicxml(route_of(replace(phrase, parts=parts))))
    assert 'class="reh"' not in svg
    assert {"A", "Tail & end"} <= set(texts(drawn(svg)))
    assert "enclosing" not in svg.lower()


def test_a_line_ends_at_the_margin() -> None:
    (page,) = systems_of(BAR * 2)
    width = int(re.search(r'class="definition-scale"[^>]*viewBox="0 0 (\d+) ', page)[1])  # type: ignore[index]
    left = int(re.search(r'class="page-margin" transform="translate\((\d+)', page)[1])  # type: ignore[index]
    right = left + max(int(x) for x in re.findall(r'<path d="M\d+ \d+ L(\d+) \d+"', page))
    assert 0.999 * width < right <= 1.001 * width
