"""A survey of many tunes in words: as rows, for spreadsheets and as a page."""

from __future__ import annotations

import csv
import io
import re

import pytest
from lxml import html
from msgspec.structs import replace

from reedpath.arrange import SurveyedTune, SurveyedTunes, TuneWay
from reedpath.errors import Place, ReadError
from reedpath.harp import load_tuning, make_harp
from reedpath.page import encode_tune_csv, encode_tune_page, tune_columns, tune_summary
from reedpath.phrase import LeftOut
from reedpath.pitch import Key
from reedpath.wording import load_catalogue

EN, FR = load_catalogue("en"), load_catalogue("fr")
HARPS = (make_harp("A"), make_harp("Low F"), make_harp("D", load_tuning("natural-minor-second")))
TUNE = SurveyedTune(
    file="week 1/steps.abc",
    tune=None,
    title="Seven steps",
    key=Key(4, "minor"),
    notes=1210,
    seconds=75.4,
    ways=(
        TuneWay(0, 2, 0, 0.512345, 3.25, 0.984),
        TuneWay(0, 2, -12, 0.75, 4.0, 1.0),
        TuneWay(2, None, 3, 1.25, 4.0, 1.0),
    ),
    level="strong",
    techniques=("overblows", "draw_bends"),
    changes=(("octave", 3), ("missing", 1)),
    left_out=(LeftOut("trills", count=2),),
)


def of(*tunes: SurveyedTune, unread: tuple[ReadError, ...] = ()) -> SurveyedTunes:
    return SurveyedTunes(HARPS, tunes, unread)


def row_of(tune: SurveyedTune, words=EN) -> dict[str, str]:
    [row] = csv.DictReader(io.StringIO(encode_tune_csv(of(tune), words).decode("utf-8-sig")))
    return dict(zip((one.name for one in tune_columns(words)), row.values(), strict=True))


def page(found: SurveyedTunes, words=EN) -> html.HtmlElement:
    return html.fromstring(encode_tune_page(found, words).decode())


def test_a_row_tells_what_plays_the_tune_and_what_it_asks_for() -> None:
    assert row_of(TUNE) == {
        "tune": "Seven steps",
        "harp": "A harp",
        "position": "second position",
        "moved": "as written",
        "difficulty": "0.5123",
        "worst": "3.25",
        "truth": "0.984",
        "level": "strong",
        "techniques": "overblows and draw bends",
        "changes": "octave 3; note left out 1",
        "others": "A harp, an octave down 0.75; D harp (natural minor, in second position) 1.25",
        "key": "E minor",
        "notes": "1210",
        "length": "75.4",
        "file": "week 1/steps.abc",
        "left_out": "2 trills",
    }


def test_what_is_not_known_is_left_empty() -> None:
    plain = replace(
        TUNE, ways=(replace(TUNE.best, position=None),), level=None, techniques=(), changes=(), left_out=(), tune=7
    )
    row = row_of(plain)
    assert [row[name] for name in ("position", "level", "changes", "others", "left_out")] == [""] * 5
    assert (row["techniques"], row["file"]) == ("single notes", "week 1/steps.abc, tune 7")


def test_of_much_that_was_not_read_the_first_is_told() -> None:
    many = replace(TUNE, left_out=(LeftOut("trills"),) * 5)
    assert row_of(many)["left_out"] == "1 trill; 1 trill; 1 trill; …"


@pytest.mark.parametrize("title", ["=1+2", "+A", "-A", "@A", "\tA"])
def test_no_title_is_reckoned_by_a_spreadsheet(title: str) -> None:
    assert row_of(replace(TUNE, title=title))["tune"] == f"'{title}"


@pytest.mark.parametrize("title", ['a,"b"', "two\nlines", "señor; a harp 漢"])
def test_a_title_comes_back_from_the_table(title: str) -> None:
    assert row_of(replace(TUNE, title=title))["tune"] == title


def test_the_harps_are_told_the_most_used_first() -> None:
    other = replace(TUNE, ways=(replace(TUNE.best, harp=1),))
    assert tune_summary(of(other, TUNE, TUNE), EN).endswith("best: A harp 2, Low F harp 1.")


@pytest.mark.parametrize("title", ["</main><script>alert(1)</script>", 'a"b&amp;', "{title}", "</script>"])
def test_titles_stay_text(title: str) -> None:
    told = page(of(replace(TUNE, title=title)))
    assert [one.get("type") for one in told.xpath("//script")] == ["application/json", None]
    assert "".join(told.xpath("//tbody/tr/th")[0].itertext()) == title


def test_a_page_is_sorted_by_numbers_where_there_are_numbers() -> None:
    told = page(of(TUNE, replace(TUNE, level=None)))
    headings = told.xpath("//thead//th")
    assert [one.get("aria-sort") for one in headings].count("ascending") == 1
    places = {one.text_content(): place for place, one in enumerate(headings)}
    cells = told.xpath("//tbody/tr[1]/*")
    assert cells[places["Effort a note"]].get("data-sort") == "0.5123"
    assert cells[places["Notes"]].get("data-sort") == "1210"
    odd = page(of(replace(TUNE, seconds=75.4449))).xpath("//tbody/tr[1]/*")
    assert odd[places["Length"]].get("data-sort") == "75.44"
    assert (cells[places["Level"]].text_content(), cells[places["Level"]].get("data-sort")) == ("strong", "3")
    assert told.xpath("//tbody/tr[2]/*")[places["Level"]].get("data-sort") is None
    assert cells[places["Harp"]].get("data-sort") is None


def test_what_could_not_be_surveyed_is_told_on_the_page() -> None:
    error = ReadError("readers.empty", where=Place(file="<b>.abc"))
    told = page(of(TUNE, unread=(error,)))
    assert told.xpath("//h2/text()") == ["1 could not be surveyed"]
    assert told.xpath("//li")[0].text_content() == "<b>.abc: the source is empty"
    assert page(of(TUNE)).xpath("//h2") == []


def test_the_page_speaks_its_language_and_fetches_nothing() -> None:
    text = encode_tune_page(of(TUNE), FR).decode()
    told = html.fromstring(text)
    assert told.get("lang") == "fr"
    assert "première" not in told.xpath("//h1")[0].text_content()
    assert "deuxième position" in text
    policy = told.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert not re.search(r"https?:|url\(|src=", text)


def test_few_rows_need_no_search() -> None:
    assert page(of(TUNE)).xpath("//input") == []
    assert page(of(*[TUNE] * 12)).xpath("//input/@id") == ["search"]
    assert page(of()).xpath("//table") == []
