"""What the studio's pages of lessons and films make of forms and versions, on values alone."""

from __future__ import annotations

import asyncio
import json
from types import SimpleNamespace

import pytest
from starlette.requests import Request

from reedpath.errors import FilmError, SettingsError
from reedpath.film import CutPiece, FilmCut
from reedpath.film.film_cut import CutKind, CutWhy
from reedpath.jobs.conversations import LENGTH_BYTES
from reedpath.jobs.workbench import HeardSpan
from reedpath.jobs.workbench.messages import NoteShown, ProblemShown
from reedpath.studio import bench_windows, lesson_film_pages, lesson_making_pages, processes, workbench_pages
from reedpath.studio.form_answers import went
from reedpath.studio.forms import SentForm, number_if_any


def stretch(start: float, end: float, *, keep: bool = True, **more) -> CutPiece:
    kind, why = next(iter(CutKind)), next(iter(CutWhy))
    return CutPiece(0, start, end, kind, keep, why, **more)


CUT = FilmCut(("a.mp4",), (60.0,), (stretch(0.0, 10.004), stretch(10.004, 20.0), stretch(20.0, 30.0, keep=False)))


def corrected(*fields: tuple[str, str]) -> list[tuple[float, float, bool]]:
    cut = lesson_film_pages._corrected(CUT, SentForm(list(fields)))
    return [(one.start_seconds, one.end_seconds, one.keep) for one in cut.pieces]


def test_a_form_that_says_nothing_changes_nothing() -> None:
    assert lesson_film_pages._corrected(CUT, SentForm([])) == CUT


def test_a_stretch_is_moved_kept_and_left_out() -> None:
    assert corrected(("start 0", "1,5"), ("end 0", "9.25"), ("keep 0", "1"), ("start 2", "20"), ("end 2", "29")) == [
        (1.5, 9.25, True), (10.004, 20.0, True), (20.0, 29.0, False),
    ]  # fmt: skip
    assert corrected(("start 1", "10.0"), ("end 1", "20"))[1] == (10.004, 20.0, False)


def test_what_the_table_rounds_is_not_changed_by_it() -> None:
    assert corrected(("start 0", "0"), ("end 0", "10.00"), ("keep 0", "1"))[0] == (0.0, 10.004, True)
    assert corrected(("start 0", "0"), ("end 0", "9.99"), ("keep 0", "1"))[0] == (0.0, 9.99, True)
    assert corrected(("start 1", "10.01"), ("end 1", "20"), ("keep 1", "1"))[1][0] == 10.004
    assert corrected(("start 1", "10.02"), ("end 1", "20"), ("keep 1", "1"))[1][0] == 10.02


def test_a_stretch_is_parted_inside_it_alone() -> None:
    parted = corrected(("split", "0 4,5"))
    assert parted[:2] == [(0.0, 4.5, True), (4.5, 10.004, True)]
    assert len(parted) == 4
    for at in ("0 0", "0 10.004", "0 20", "3 5"):
        assert len(corrected(("split", at))) == 3


def test_stretches_are_put_in_another_order_where_all_are_named() -> None:
    assert [one[0] for one in corrected(("order", "2, 0,1"))] == [20.0, 0.0, 10.004]
    for order in ("1,0", "0,1,1", "", "0,1,2,3"):
        assert [one[0] for one in corrected(("order", order))] == [0.0, 10.004, 20.0]


def test_a_cut_that_can_not_be_is_refused() -> None:
    with pytest.raises(FilmError):
        corrected(("start 0", "9"), ("end 0", "5"), ("keep 0", "1"))
    with pytest.raises(SettingsError) as raised:
        corrected(("start 0", "soon"), ("end 0", "5"))
    assert raised.value.key == "studio.no_decimal"
    assert lesson_film_pages._seconds("-3") == 0.0
    assert lesson_film_pages._seconds("1,23456") == 1.2346


def test_the_film_of_a_piece_has_an_address_of_its_own() -> None:
    assert number_if_any("") is None
    assert number_if_any("0") == 0
    assert lesson_film_pages._link(3, None) == "/lessons/3/film"
    assert lesson_film_pages._link(3, 0) == "/lessons/3/film?piece=0"


def test_a_row_of_the_cut_tells_what_is_played_in_it() -> None:
    events = [SimpleNamespace(number=number) for number in (5, 6, 7)]
    view = SimpleNamespace(pieces=[SimpleNamespace(events=[]), SimpleNamespace(events=events)])
    cut = FilmCut(
        ("a",),
        (60.0,),
        (stretch(0.0, 1.2345, first=0, last=2), stretch(2.0, 3.0, first=1, last=3), stretch(4.0, 5.0)),
    )
    rows = lesson_film_pages._rows(cut, view, 1)
    assert [(row["played"], row["seconds"]) for row in rows] == [("5-7", 1.23), ("", 1.0), ("", 1.0)]
    assert [row["played"] for row in lesson_film_pages._rows(cut, view, None)] == ["", "", ""]


def line_of(text: str, *notes: str, kind: str = "step", language: str = "en"):
    cell = SimpleNamespace(
        language=language, line=SimpleNamespace(text=text, kind=kind), notes=list(enumerate(notes))
    )
    return SimpleNamespace(cells=[cell], first=None, last=None)


def test_the_prompter_has_a_page_for_each_heading_with_the_tab_beside_the_first_line() -> None:
    played = line_of("Draw.", "My word.")
    played.first, played.last = 1, 2
    rows = [
        line_of("Before."), line_of("One", kind="heading"), played, line_of("", "A note alone."),
        line_of("Empty", kind="heading"), line_of("Two", "Said.", kind="heading"), line_of("Autre.", language="fr"),
    ]  # fmt: skip
    piece = SimpleNamespace(rows=rows, events=[SimpleNamespace(tab=tab) for tab in ("1", "2", "3", "4")])
    pages = lesson_film_pages._prompts(piece, "en")
    assert [page["title"] for page in pages] == ["", "One", "Two"]
    assert [[(one["text"], one["tab"]) for one in page["lines"]] for page in pages] == [
        [("Before.", "")],
        [("Draw.", "2 3"), ("My word.", ""), ("A note alone.", "")],
        [("Said.", "")],
    ]
    assert (pages[1]["lines"][0]["first"], pages[1]["lines"][0]["last"]) == (1, 2)
    assert [page["lines"][0]["text"] for page in lesson_film_pages._prompts(piece, "fr")] == ["Autre."]


def test_captions_belong_to_their_film() -> None:
    files = {name: "" for name in (
        "film.mp4", "film.en.vtt", "film.fr.vtt", "film.en.words.vtt", "film.vtt", "my-film.en.vtt", "a/film.de.vtt",
    )}  # fmt: skip
    version = SimpleNamespace(files=files)
    assert lesson_making_pages._captions(version, "film.mp4") == (("en", "film.en.vtt"), ("fr", "film.fr.vtt"))
    assert lesson_making_pages._captions(version, "a/film.mp4") == (("de", "a/film.de.vtt"),)


@pytest.mark.parametrize(
    ("ending", "word"), [(".html", "sandbox allow-scripts"), (".svg", "sandbox"), (".pdf", "object-src 'self'")]
)
def test_a_file_that_is_shown_may_do_only_what_it_must(ending: str, word: str) -> None:
    (policy,) = lesson_making_pages._policy(ending).values()
    assert word in policy
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'self'" in policy
    assert ("script-src" in policy) is (ending == ".html")
    assert lesson_making_pages._policy(".mp3") == {}


def heard_at(*seconds: float | None):
    notes = [NoteShown("1", "4", "4", "", 0.0, 1.0, (60,), 0.0, seconds=one) for one in seconds]
    return SimpleNamespace(notes=notes)


@pytest.mark.parametrize(
    ("first", "last", "found"),
    [
        (0, 0, (1.0, 2.0)),
        (1, 1, (2.0, 4.0)),
        (1, 2, (2.0, 4.0)),
        (2, 3, (4.0, 9.0)),
        (4, 4, (0.5, 9.0)),
        (0, 3, (1.0, 9.0)),
    ],
)
def test_a_stretch_of_a_recording_ends_where_the_next_note_begins(first: int, last: int, found) -> None:
    heard = HeardSpan("a.wav", start_seconds=0.5, end_seconds=9.0)
    assert workbench_pages._seconds_of(heard_at(1.0, 2.0, None, 4.0), heard, first, last) == found


def test_a_stretch_that_would_end_before_it_begins_goes_on() -> None:
    heard = HeardSpan("a.wav", start_seconds=0.5, end_seconds=1.0)
    assert workbench_pages._seconds_of(heard_at(1.0), heard, 0, 0) == (1.0, None)
    heard = HeardSpan("a.wav", start_seconds=0.5)
    assert workbench_pages._seconds_of(heard_at(1.0), heard, 0, 0) == (1.0, None)


def test_problems_are_pointed_at_in_the_text() -> None:
    assert bench_windows._places_of(SimpleNamespace(problem=None, more_problems=())) == []
    wrong = ProblemShown("text", "no note", line=2, column=3, length=4)
    later = ProblemShown("text", "no note", line=2, column=9, length=1)
    assert bench_windows._places_of(SimpleNamespace(problem=wrong, more_problems=(later,))) == [
        {"line": 2, "column": 3, "length": 4},
        {"line": 2, "column": 9, "length": 1},
    ]
    of_a_choice = ProblemShown("choice", "no such harp")
    assert bench_windows._places_of(SimpleNamespace(problem=of_a_choice, more_problems=())) == []


def asked(**headers: str) -> Request:
    return Request({"type": "http", "headers": [(name.encode(), value.encode()) for name, value in headers.items()]})


def test_a_script_is_told_where_it_would_go_and_a_person_is_sent_there() -> None:
    told = went(asked(accept="application/json"), "/workbench/3")
    assert (told.status_code, json.loads(bytes(told.body))) == (200, {"address": "/workbench/3"})
    sent = went(asked(), "/workbench/3")
    assert (sent.status_code, sent.headers["location"]) == (303, "/workbench/3")


@pytest.mark.parametrize(
    ("said", "message"),
    [
        (b"\x00\x00\x00\x03abc", b"abc"),
        (b"\x00\x00\x00\x00", b""),
        (b"\x00\x00\x00\x05abcde", None),
        (b"\x00\x00\x00\x03ab", None),
        (b"\x00\x00", None),
        (b"", None),
    ],
    ids=["whole", "empty", "too long", "broken off", "no length", "nothing"],
)
def test_a_message_of_a_process_is_taken_whole_and_up_to_its_bound(monkeypatch, said: bytes, message) -> None:
    monkeypatch.setattr(processes, "MOST_MESSAGE_BYTES", 4)

    async def story() -> bytes | None:
        come = asyncio.StreamReader()
        come.feed_data(said)
        come.feed_eof()
        return await processes.ChildProcess(SimpleNamespace(stdin=object(), stdout=come)).receive()  # type: ignore[arg-type]

    assert LENGTH_BYTES == 4
    assert asyncio.run(story()) == message
