"""The overview of many takes: all of its text once, word for word, and the same in its page and its table.

The students, lessons and takes are invented.
"""

from __future__ import annotations

import csv
import io
from html.parser import HTMLParser

import pytest
from msgspec.structs import replace

from reedpath.page.takes import (
    CommonPlace,
    LastTime,
    TakesOverview,
    ToldTake,
    TriedLesson,
    UnansweredTake,
    encode_takes_page,
    encode_takes_table,
    format_takes,
)
from reedpath.page.takes.overview import TakeChange, WhyUnanswered
from reedpath.wording import load_catalogue

ENGLISH = load_catalogue("en")
LAST = LastTime("2026-03-01", 5, 10, 80)
TOLD = ToldTake(
    student="Ada",
    recorded="2026-03-08",
    file="ada 8.wav",
    lesson="Low Road",
    folder="low road & back",
    files=("answer.txt", "drill-1.mp3"),
    right=8,
    notes=10,
    bpm=90,
    tempo_percent=75,
    change=TakeChange.BETTER,
    last=LAST,
    better_in="bar 2",
    worse_in="bar 3",
    say=("Well played.", "=Slower."),
)
FIRST = ToldTake(
    student="Ben",
    recorded="2026-03-07",
    file="ben.wav",
    lesson="High Road",
    is_new=False,
    right=3,
    notes=4,
    bpm=60,
    tempo_percent=50,
)
UNKNOWN = replace(FIRST, student="", file="take 3.wav", right=None)
NEAREST = UnansweredTake(
    "x.wav", "Cy", WhyUnanswered.NO_LESSON, tried=(TriedLesson("Low Road", 31), TriedLesson("High Road", 12))
)
OVERVIEW = TakesOverview(
    language="en",
    first_day="2026-03-07",
    last_day="2026-03-08",
    takes=(TOLD, FIRST, UNKNOWN),
    older=2,
    unanswered=(
        NEAREST,
        UnansweredTake("y.wav", "", WhyUnanswered.UNREADABLE, error="y.wav: it is empty."),
    ),
    common=(CommonPlace("Low Road", "bar 2", "3 draw", ("Ada", "Ben")),),
    same={"copy.wav": "x.wav"},
    others=("a.txt", "b.txt", "c.txt", "d.txt", "e.txt", "f.txt", "g.txt"),
)


class _Read(HTMLParser):
    """The texts of a page by the element they stand in, its links and classes, and how many elements are empty."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.open: list[str] = []
        self.texts: list[tuple[str, str]] = []
        self.links: list[str] = []
        self.classes: set[str] = set()
        self.empty = 0
        self.feed(page.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("br", "meta", "link"):
            self.open.append(tag)
        self.is_empty = True
        self.classes |= {one for name, value in attrs if name == "class" for one in (value or "").split()}
        self.links += [value or "" for name, value in attrs if tag == "a" and name == "href"]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag
        self.empty += self.is_empty
        self.is_empty = False

    def handle_data(self, data: str) -> None:
        self.is_empty = False
        if data.strip() and self.open[-1] not in ("style", "script"):
            self.texts.append((self.open[-1], data.strip()))

    def of(self, tag: str) -> list[str]:
        return [text for one, text in self.texts if one == tag]


ADA = [
    "“Low Road”, 2026-03-08",
    "8 of 10 notes right (80%), at 90 beats a minute, 75% of the tempo",
    "Better than on 2026-03-01: 5 of 10 notes right (50%) then",
    "Better in bar 2",
    "Less sure in bar 3",
    "What to say",
]
BEN = [
    "“High Road”, 2026-03-07",
    "3 of 4 notes right (75%), at 60 beats a minute, 50% of the tempo",
    "The first take of this lesson",
]
NOBODY = ["“High Road”, 2026-03-07 (take 3.wav)", "The phrase was not heard in this take."]
COUNTED = "7 takes of 2 students: 1 answered now, 2 answered before, 2 older, answered before and 2 not answered."
HINT = "The name of the file or of its folder says whose a take is (Anna 2.m4a, or Anna/2.m4a), or --student does."
COMMON = "“Low Road”, bar 2, 3 draw: Ada and Ben"
UNANSWERED = [
    "x.wav: none of the lessons is heard in it. The nearest: “Low Road” (31%) and “High Road” (12%).",
    "y.wav: it is empty.",
]
LEFT = [
    "copy.wav is the same recording as x.wav.",
    "No recordings: a.txt, b.txt, c.txt, d.txt, e.txt, f.txt, ….",
]


@pytest.mark.parametrize("language", ["en", "fr", "de", "es", "it"])
def test_no_lesson_is_named_that_explains_nothing_of_a_take(language: str) -> None:
    """Talk alone: a list of lessons at 0% tells nobody anything."""
    talk = replace(NEAREST, tried=(TriedLesson("Low Road", 0), TriedLesson("High Road", 0)))
    text = format_takes(replace(OVERVIEW, language=language, unanswered=(talk,)), load_catalogue(language))
    assert "Low Road” (0" not in text
    assert " 0" not in text.splitlines()[-3]
    some = replace(NEAREST, tried=(TriedLesson("Low Road", 31), TriedLesson("High Road", 0)))
    text = format_takes(replace(OVERVIEW, unanswered=(some,)), ENGLISH)
    assert "The nearest: “Low Road” (31%)." in text


def test_the_whole_text() -> None:
    assert format_takes(OVERVIEW, ENGLISH).splitlines() == [
        "Takes, and what to say to each, 2026-03-07 to 2026-03-08",
        COUNTED,
        *["", "Ada", *(f"  {one}" for one in ADA), "    Well played.", "    =Slower."],
        *["", "Ben", *(f"  {one}" for one in BEN)],
        *["", "Student not known", *(f"  {one}" for one in NOBODY)],
        *["", HINT],
        *["", "Where several go wrong", f"- {COMMON}"],
        *["", "Not answered", *(f"- {one}" for one in UNANSWERED)],
        *["", *LEFT],
    ]


def test_the_whole_page() -> None:
    page = _Read(encode_takes_page(OVERVIEW, ENGLISH))
    title = "Takes, and what to say to each"
    assert page.of("title") == [title]
    assert page.of("h1") == [f"{title}, 2026-03-07 to 2026-03-08"]
    assert page.of("h2") == ["Ada", "Ben", "Student not known", "Where several go wrong", "Not answered"]
    assert page.of("h3") == ["What to say"]
    assert page.of("b") == ["“Low Road”", "“High Road”", "“High Road”"]
    assert page.of("span") == ["▲", "●"]
    # the lesson's title stands in an element of its own, the day after it
    days = [one.partition(", ")[2] for one in (ADA[0], BEN[0], NOBODY[0])]
    said = ["Well played.", "=Slower."]
    assert page.of("p") == [
        *[COUNTED, days[0], *ADA[1:5], *said, days[1], *BEN[1:], days[2], *NOBODY[1:], HINT, *LEFT],
    ]
    assert page.of("li") == [COMMON, *UNANSWERED]
    assert page.of("a") == ["The answer", "First drill"]
    assert page.classes == {"counted", "takes", "sign", "change", "say", "links"}
    assert page.empty == 0
    # RFC 3986: blanks and ampersands in a path are percent-encoded
    assert page.links == ["low%20road%20%26%20back/answer.txt", "low%20road%20%26%20back/drill-1.mp3"]


@pytest.mark.parametrize(
    ("change", "sign", "told"),
    [
        (TakeChange.BETTER, "▲", "Better than on 2026-03-01: 5 of 10 notes right (50%) then"),
        (TakeChange.WORSE, "▼", "Less sure than on 2026-03-01: 5 of 10 notes right (50%) then"),
        (TakeChange.FASTER, "▲", "As sure as on 2026-03-01, and faster"),
        (TakeChange.SLOWER, "▼", "As sure as on 2026-03-01, but slower"),
        (TakeChange.SAME, "=", "As on 2026-03-01: 5 of 10 notes right (50%) then"),
    ],
)
def test_each_change_against_the_last_time(change: TakeChange, sign: str, told: str) -> None:
    page = _Read(encode_takes_page(replace(OVERVIEW, takes=(replace(TOLD, change=change),)), ENGLISH))
    assert page.of("span") == [sign]
    assert [one for one in page.of("p") if one.startswith(told)]


def test_an_overview_of_one_day_names_it_once_and_leaves_out_what_is_not_there() -> None:
    one = TakesOverview(language="en", first_day="2026-03-08", last_day="2026-03-08", takes=(FIRST,))
    told = [
        "Takes, and what to say to each, 2026-03-08",
        "1 take of one student, answered before.",
        *["", "Ben", *(f"  {line}" for line in BEN)],
    ]
    assert format_takes(one, ENGLISH).splitlines() == told
    page = _Read(encode_takes_page(one, ENGLISH))
    assert (page.of("h2"), page.of("h3"), page.of("li"), page.links) == (["Ben"], [], [], [])
    assert page.of("p") == [told[1], "2026-03-07", *BEN[1:]]


def test_takes_that_are_all_answered_now_are_counted_as_such() -> None:
    one = TakesOverview(language="en", takes=(TOLD,))
    assert "1 take of one student, answered now.\n" in format_takes(one, ENGLISH)


@pytest.mark.parametrize("nothing", ["right", "notes", "bpm", "tempo_percent"])
def test_a_take_without_notes_or_tempo_is_told_as_one_that_is_not_heard(nothing: str) -> None:
    take = replace(TOLD, say=(), **{nothing: None})
    lines = format_takes(replace(OVERVIEW, takes=(take,)), ENGLISH).splitlines()
    assert lines[5] == "  The phrase was not heard in this take."
    # what became better is told only of notes that were counted
    assert lines[6:7] == ([""] if nothing == "right" else [f"  {ADA[2]}"])


def test_of_nothing_only_the_title_is_left() -> None:
    none = TakesOverview(language="en")
    assert format_takes(none, ENGLISH).splitlines() == ["Takes, and what to say to each", "0 takes."]


def test_six_files_that_are_no_recordings_are_all_named() -> None:
    text = format_takes(replace(OVERVIEW, others=OVERVIEW.others[:6]), ENGLISH)
    assert text.endswith("\nNo recordings: a.txt, b.txt, c.txt, d.txt, e.txt and f.txt.\n")


def test_a_take_that_waits_and_one_that_fits_two_lessons_are_told() -> None:
    alike = UnansweredTake("z.wav", "", WhyUnanswered.SEVERAL_LESSONS, tried=NEAREST.tried)
    waiting = UnansweredTake("w.wav", "", WhyUnanswered.WAITING)
    text = format_takes(TakesOverview(language="en", unanswered=(alike, waiting)), ENGLISH)
    assert "z.wav: several lessons fit alike: “Low Road” (31%) and “High Road” (12%)." in text
    assert "\n- w.wav: not reached yet" in text


def test_the_table_has_a_row_for_each_take() -> None:
    """RFC 4180, as Python's csv module reads it; a mark of the order of bytes first."""
    table = encode_takes_table(replace(OVERVIEW, takes=(replace(TOLD, say=("=Slower.", "Well.")), FIRST, UNKNOWN)))
    assert table.startswith(b"\xef\xbb\xbf")
    told, first, none, nearest, unread = csv.DictReader(io.StringIO(table.decode("utf-8-sig"), newline=""))
    assert told == {
        **{"student": "Ada", "recorded": "2026-03-08", "file": "ada 8.wav", "lesson": "Low Road", "piece": ""},
        **{"state": "answered now", "right": "8", "notes": "10", "bpm": "90", "tempo_percent": "75"},
        **{
            "change": "better",
            "last_recorded": "2026-03-01",
            "last_right": "5",
            "last_notes": "10",
            "last_bpm": "80",
        },
        # a sentence that a spreadsheet would reckon with is quoted
        **{"better_in": "bar 2", "worse_in": "bar 3", "say": "'=Slower. Well.", "folder": "low road & back"},
    }
    assert (first["state"], first["change"]) == ("answered before", "first")
    empty = [name for name in first if not first[name]]
    last = ["last_recorded", "last_right", "last_notes", "last_bpm"]
    assert empty == ["piece", *last, "better_in", "worse_in", "say", "folder"]
    assert first["right"] == "3"
    assert none["right"] == ""
    assert (nearest["student"], nearest["file"], nearest["state"], nearest["say"]) == ("Cy", "x.wav", "no lesson", "")
    assert (unread["file"], unread["state"], unread["say"]) == ("y.wav", "unreadable", "y.wav: it is empty.")
    assert set(unread.values()) == {"", "y.wav", "unreadable", "y.wav: it is empty."}


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t"])
def test_no_cell_of_the_table_begins_a_formula(sign: str) -> None:
    table = encode_takes_table(replace(OVERVIEW, takes=(replace(FIRST, student=f"{sign}1"),), unanswered=()))
    (row,) = csv.DictReader(io.StringIO(table.decode("utf-8-sig"), newline=""))
    assert row["student"] == f"'{sign}1"
