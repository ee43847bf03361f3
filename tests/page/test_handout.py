from __future__ import annotations

from fractions import Fraction as F
from io import BytesIO
from math import hypot

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from reedpath.arrange import Change, ChangeKind, Route, Spot
from reedpath.errors import PageError, SettingsError
from reedpath.lesson import Drill, Lesson, Rung, make_lesson, steps_of
from reedpath.page import RibbonLook, encode_handout, format_ribbon_svg, paper_names
from reedpath.page.handout import typesetting
from reedpath.page.handout.contents import contents_of
from reedpath.page.handout.rows import ladder_rows
from reedpath.page.handout.typesetting import load_paper, parse_papers
from reedpath.page.ribbon.svg import ribbon_strips
from reedpath.page.score.sheet import sheet_of
from reedpath.phrase import Metre, Phrase, Tempo
from reedpath.pitch import Key
from reedpath.wording import load_catalogue
from support.drawn_routes import opening_route
from support.routes import choose, phrase_of, route_of

pytestmark = pytest.mark.slow

COMMON = (Metre(F(0), 4, 4),)
RIFF = "G4:1 Bb4:1/2 C5:1/2 D5:2 "


def route(text: str = RIFF * 2, **fields: object) -> Route:
    values: dict[str, object] = {"metres": COMMON, "key": Key(7), "tempos": (Tempo(F(0), 92.0),)}
    return route_of(phrase_of(text, **(values | fields)))


def lesson(text: str = RIFF * 2, *, title: str = "Low Road", **fields: object) -> Lesson:
    return make_lesson(route(text, **fields), title=title)


def read(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def flat(pdf: bytes) -> str:
    """All words of a PDF with single spaces between them, soft hyphens and line breaks undone."""
    return " ".join(" ".join(page.extract_text() for page in read(pdf).pages).split())


def contents(made: Lesson, language: str = "en") -> dict[str, object]:
    return contents_of(made, catalogue=load_catalogue(language), paper=load_paper("a4"))


def test_it_says_what_is_played_on_what() -> None:
    text = flat(encode_handout(lesson()))
    for words in ("Low Road", "C harp", "Second position", "G major", "♩ = 92", "Page 1 of"):
        assert words in text


def test_every_step_and_every_caution_is_on_it() -> None:
    made, english = lesson(), load_catalogue("en")
    text = flat(encode_handout(made)).replace("- ", "-")
    for block in steps_of(made, english):
        for step in block.steps:
            if step.kind not in ("spot", "ladder"):
                assert step.text.replace("- ", "-") in text
    for name in ("dizzy", "lungs", "pain", "ears", "sharing", "reeds", "law"):
        assert " ".join(english.say(f"caution.{name}").split()).replace("- ", "-") in text


def test_french_keeps_its_narrow_spaces() -> None:
    first = contents(lesson(), "fr")["cautions"][0]  # type: ignore[index]
    assert "vertige\u202f:" in first or "vertige\u00a0:" in first
    text = flat(encode_handout(lesson(), catalogue=load_catalogue("fr")))
    assert "Harmonica en do (C)" in text
    assert "Page 1 sur" in text


def test_the_first_language_of_the_lesson_is_the_hand_outs() -> None:
    made = make_lesson(route(), title="x", languages=("fr", "en"))
    assert "Précautions" in flat(encode_handout(made))


def test_the_legend_shows_only_signs_in_use() -> None:
    plain = str(contents(lesson("C5:4"))["legend"])
    assert "half-step" not in plain
    bent = make_lesson(choose(route("D5:2 Bb4:2"), 0, attack_semitones=-1.0), title="x")
    legend = contents(bent)["legend"]
    assert {"sign": "-3'", "words": "3 draw, half-step bend"} in legend  # type: ignore[operator]
    assert {"sign": "-4'›-4", "words": "started bent, let go"} in legend  # type: ignore[operator]


def test_steps_have_their_tab_beside_them() -> None:
    blocks = contents(lesson("G4:1 Bb4:3"))["steps"]
    rows = [row for block in blocks for row in block["rows"]]  # type: ignore[attr-defined]
    assert [row["tab"] for row in rows if row["tab"]] == ["-2", "-3'"]


def test_the_ladder_has_a_row_for_each_tempo() -> None:
    made = lesson()
    rows = contents(made)["ladder"]
    assert len(rows) == len(made.ladder)  # type: ignore[arg-type]
    assert rows[-1] == {"name": "Full tempo", "tempo": "♩ = 92", "share": "100%"}  # type: ignore[index]


@pytest.mark.parametrize(
    ("language", "share"),
    [("en", "100%"), ("fr", "100\u202f%"), ("de", "100\u202f%"), ("es", "100\u202f%"), ("it", "100%")],
)
def test_a_share_is_written_as_the_language_writes_it(language: str, share: str) -> None:
    made = lesson()
    assert ladder_rows(sheet_of(made), made, load_catalogue(language))[-1]["share"] == share


def test_compound_tempos_are_counted_in_dotted_quarters() -> None:
    made = lesson("G4:3/2 C5:3/2", metres=(Metre(F(0), 6, 8),), tempos=(Tempo(F(0), 90.0),))
    assert contents(made)["ladder"][-1]["tempo"] == "♩. = 60"  # type: ignore[index]


def test_spots_have_a_box_for_each_time_at_each_tempo() -> None:
    rungs = (Rung("slow", 0.5, 46.0), Rung("full", 1.0, 92.0))
    drill = Drill(Spot(1, 3, 4.0, ("cold_bend",)), 4, rungs)
    made = replace(lesson(), drills=(drill,))
    (row,) = contents(made)["spots"]  # type: ignore[misc]
    assert (row["tab"], row["times"], row["tempos"]) == ("-3'   +4   -4", 4, ["♩ = 46", "♩ = 92"])
    assert "Spot 1" in flat(encode_handout(made))


def test_what_differs_from_the_source_is_named() -> None:
    changed = choose(route(), 1, changes=(Change(ChangeKind.OCTAVE, (82,), (70,), 0.5),))
    made = make_lesson(changed, title="x")
    assert contents(made)["changes"] == ["Bar 1: B♭5 is played as B♭4."]
    assert "Different from the original" in flat(encode_handout(made))


@pytest.mark.parametrize(
    "title",
    [
        '#let x = 1; $a$ *b* _c_ @d <e> "f" `g` // h \\ [i] {j} ~',
        "]; #panic()",
        "😀 漢字 \u202e עברית",
        "\x00\x1b\ud800",
        "𒀀",
        "x" * 3000,
        "word " * 200,
        "",
    ],
)
def test_no_title_breaks_it_or_is_read_as_markup(title: str) -> None:
    made = replace(lesson(), title=title)
    text = flat(encode_handout(made))
    if title.startswith(("#", "]")):
        assert title in text


@pytest.mark.parametrize("paper", paper_names())
def test_papers_have_their_sizes(paper: str) -> None:
    page = read(encode_handout(lesson(), paper=paper)).pages[0]
    size = (round(float(page.mediabox.width)), round(float(page.mediabox.height)))
    # points, from ISO 216 (210 x 297 mm) and from 8.5 x 11 inches
    assert size == {"a4": (595, 842), "letter": (612, 792)}[paper]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[a5", "papers.toml: not TOML"),
        ('[a5]\npaper = "a5"', r"papers.toml, 'a5.width_mm': this is missing"),
        ('[a5]\npaper = "a5"\nwidth_mm = "148"\nmargin_mm = 9.0', r"papers.toml, 'a5.width_mm': .*148"),
        (
            '[a5]\npaper = "a5"\nwidth_mm = 148.0\nmargin_mm = 80.0',
            r"papers.toml, 'a5.margin_mm': margins of 80 mm leave no room on a paper of 148 mm",
        ),
    ],
)
def test_a_wrong_papers_file_names_its_key(text: str, message: str) -> None:
    with pytest.raises(SettingsError, match=message):
        parse_papers(text)


def test_an_unknown_paper_says_which_there_are() -> None:
    with pytest.raises(PageError, match="there is no paper named 'a5'") as caught:
        encode_handout(lesson(), paper="a5")
    assert caught.value.hint == "the papers are a4, letter"


def test_the_same_lesson_gives_the_same_bytes() -> None:
    assert encode_handout(lesson()) == encode_handout(lesson())


def test_it_is_an_accessible_pdf() -> None:
    pdf = encode_handout(lesson())
    root = read(pdf).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]  # type: ignore[index]
    assert b"pdfuaid" in pdf
    assert str(root["/Lang"]).startswith("en")  # type: ignore[index]


@pytest.mark.parametrize("notes", [1, 300])
def test_short_and_long_lessons_fit_their_pages(notes: int) -> None:
    made = lesson("G4:1/2 Bb4:1/2 C5:1/4 D5:1/4 C5:1/2 " * (notes // 5) or "D5:1")
    pdf = encode_handout(made)
    pages = read(pdf).pages
    assert len(pages) == typesetting._pages(pdf) <= 2 + notes // 20
    assert f"Page {len(pages)} of {len(pages)}" in pages[-1].extract_text()


def test_nothing_to_play_is_a_hand_out_that_says_so() -> None:
    made = make_lesson(route_of(Phrase(())), title="Nothing")
    text = flat(encode_handout(made))
    assert "There is nothing to play." in text


def test_a_ribbon_is_cut_between_its_systems() -> None:
    played, look = route(RIFF * 8), RibbonLook(heading=False)
    strips = ribbon_strips(played, look=look, parts=(), catalogue=load_catalogue("en"), repeats=())
    whole = format_ribbon_svg(played, look=look, parts=())
    assert len(strips) == whole.count('<g class="system"') + 1
    for strip, block in zip(strips[:-1], whole.split('<g class="system"')[1:], strict=True):
        assert block.strip().removesuffix("</g>").split('<g class="legend"')[0].rstrip() in strip
    heights = [float(strip.split('height="')[1].split('"')[0]) for strip in strips]
    tops = [float(strip.split('viewBox="0 ')[1].split()[0]) for strip in strips]
    assert all(height > 0 for height in heights)
    assert all(abs(a + h - b) < 0.1 for a, h, b in zip(tops[:-1], heights[:-1], tops[1:], strict=True))


def letters_of(pdf: bytes) -> dict[float, str]:
    """Sizes of the letters in a PDF, points, each with an example."""
    found: dict[float, str] = {}

    def see(text: str, matrix: list[float], within: list[float], _font: object, size: float) -> None:
        if text.strip():
            scale = hypot(matrix[0], matrix[1]) * hypot(within[0], within[1])
            found.setdefault(round(size * scale, 1), text.strip())

    for page in read(pdf).pages:
        page.extract_text(visitor_text=see)
    return found


def lick() -> Lesson:
    """Two bars with bends, a rest and a spot to practise apart."""
    made = make_lesson(opening_route(), title="Two bars")
    rungs = tuple(Rung("slow", share, 92 * share) for share in (0.45, 0.55, 0.7, 0.85, 1.0))
    return replace(made, drills=(Drill(Spot(1, 3, 4.0, ("cold_bend",)), 5, rungs),))


@pytest.mark.parametrize("language", ["en", "fr"])
def test_a_lick_is_one_page_whose_letters_can_be_read(language: str) -> None:
    pdf = encode_handout(lick(), catalogue=load_catalogue(language))
    assert len(read(pdf).pages) == 1
    assert min(letters_of(pdf)) >= 8.0, letters_of(pdf)


def test_a_part_that_does_not_fit_a_column_goes_on_in_the_next() -> None:
    # twelve steps, of which six fit the first column: kept together in sixes they took a second page
    made = lesson("G4:1/2 C5:1/2 D5:1/2 E5:1/2 Bb4:1/2 A4:1/2 F4:1/2 Bb4:1/2 G4:1/2 E4:1/2 D4:1/2 Ab4:1/2 G4:2")
    assert len(read(encode_handout(made, catalogue=load_catalogue("fr"))).pages) == 1


def test_the_head_says_what_the_lesson_asks() -> None:
    made = make_lesson(replace(opening_route(), comfortable=0.5), title="x")
    (bpm,) = {tempo.bpm for tempo in made.route.phrase.tempos}
    techniques, comfortable = contents(made)["asked"]  # type: ignore[misc]
    assert techniques == {"label": "Techniques", "value": "Draw bends (2 draw whole-step bend)"}
    assert comfortable == {"label": "Comfortable up to", "value": f"♩ = {round(bpm / 2)}"}
    assert "Comfortable up to" in flat(encode_handout(made))
    assert contents(lesson("C5:4"))["asked"][0]["value"] == "Single notes"  # type: ignore[index]


def test_the_legend_of_the_ribbon_stands_before_it() -> None:
    legend, *systems = contents(lesson())["ribbon"]  # type: ignore[misc]
    assert 'class="legend"' in legend
    assert all('class="system"' in strip for strip in systems)
