"""What commands say of students, takes, many tunes and leads of records, and what they ask their jobs for."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import click
import pytest
from msgspec.structs import replace

from reedpath import jobs
from reedpath.cli import footage, hearing, lessons, making, students, takes, tune_surveys
from reedpath.cli.footage import film_from_footage
from reedpath.cli.hearing import show_transcription
from reedpath.cli.lessons import LessonAsked, make_lesson
from reedpath.cli.making import film_of_cut, make_from_several
from reedpath.cli.retunings import show_retunings
from reedpath.cli.students import show_next, show_progress
from reedpath.cli.takes import TakesSaid, show_takes
from reedpath.cli.tune_surveys import TunesAsked, show_tunes
from reedpath.errors import Place, ReadError
from reedpath.film import CutKind, CutPiece, CutWhy, FilmCut, TakeWishes
from reedpath.jobs import AskedPiece, HearingChoice, RouteRequest, SaidOfLesson, Written
from reedpath.page import format_tab
from reedpath.phrase import Event, LeftOut
from reedpath.shelf import Student
from reedpath.skill import PracticeCard
from reedpath.wording import load_catalogue
from support.phrases import phrase_of
from support.pieces import lesson_of_pieces, porch

ENGLISH, FRENCH = load_catalogue("en"), load_catalogue("fr")
LESSON = porch()


def said(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return capsys.readouterr().out.splitlines()


# ---------------------------------------------------------------------------------------------------------- students


@pytest.fixture
def on_shelf(monkeypatch: pytest.MonkeyPatch) -> Student:
    """A student who is on a shelf, of whom tests say what is known."""
    ada = Student(name="Ada (invented)")

    class NoShelf:
        def __enter__(self):
            return self

        def __exit__(self, *_):
            return None

    monkeypatch.setattr(students, "shelf_at", lambda _: NoShelf())
    monkeypatch.setattr(students, "student_called", lambda _, name: ada)
    monkeypatch.setattr("reedpath.jobs.student_progress.playing_of", lambda *given: "playing")
    monkeypatch.setattr("reedpath.jobs.next_phrases.candidates_of", lambda *given: ())
    return ada


def test_where_a_student_stands_names_takes_that_could_not_be_heard(on_shelf: Student, monkeypatch, capsys) -> None:
    day = datetime(2026, 3, 2, 9, 30, 15, tzinfo=UTC)
    card = PracticeCard("spot", day, day, 3, 0.61239, 4.0)
    later = SimpleNamespace(kind="spot", technique=None, title="Gate song", spot=(2, 4), card=card)
    found = SimpleNamespace(
        student=on_shelf, takes=(), heard=(), unheard=("noise.wav", "door.wav"), standings=(), due=(), later=(later,)
    )
    monkeypatch.setattr("reedpath.jobs.student_progress.progress_of", lambda *given: found)
    show_progress("Ada", None, language="en", json=True)
    assert json.loads(capsys.readouterr().out) == {
        "student": on_shelf.name,
        "takes": [],
        "unheard": ["noise.wav", "door.wav"],
        "techniques": [],
        "due": [],
        "later": [
            {
                "kind": "spot", "technique": None, "lesson": "Gate song", "events": [2, 4],
                "due": "2026-03-02T09:30:15+00:00", "times": 3, "last_share": 0.612,
            }
        ],
    }  # fmt: skip
    show_progress("Ada", None, language="en", json=False)
    assert said(capsys) == [
        ENGLISH.say("shelf.people.heard", name=on_shelf.name, count=0),
        ENGLISH.say("shelf.people.unheard", names="noise.wav and door.wav"),
    ]


def test_of_lessons_she_has_it_is_said_at_which_tempo_she_plays_them(on_shelf: Student, monkeypatch, capsys) -> None:
    monkeypatch.setattr("reedpath.jobs.student_progress.progress_of", lambda *given: "stands")
    asked: list[object] = []
    phrase = SimpleNamespace(
        number=7, title="Mill Stream", route=LESSON.route, share=0.85, tempo=0.8, technique=None
    )  # fmt: skip
    monkeypatch.setattr(
        "reedpath.jobs.next_phrases.next_phrases",
        lambda *given, **named: asked.append((given, named["most"])) or [phrase],
    )
    suited = [
        SimpleNamespace(title="Gate song", share=0.95, tempo=0.75, other=None),
        SimpleNamespace(title="Orchard", share=0.4, tempo=None, other=("another route", 0.65)),
    ]
    monkeypatch.setattr("reedpath.jobs.next_phrases.suited_lessons", lambda *given: suited)
    show_next("Ada", 3, None, language="en", json=False)
    assert asked == [(((), "playing", "stands"), 3)]
    told = said(capsys)
    assert told[0] == ENGLISH.say("shelf.people.next", count=1)
    assert told[1].startswith("7.")
    assert all(text in told[1] for text in ("Mill Stream", "80%", "85%"))
    assert told[2] == ""
    assert told[3] == ENGLISH.say("shelf.people.played", title="Gate song", tempo=75, percent=95)
    assert told[5] == ENGLISH.say("shelf.people.played_apart", title="Orchard", percent=40)
    assert told[6] == "   " + ENGLISH.say("shelf.people.other_route", percent=65)
    show_next("Ada", 3, None, language="en", json=True)
    assert json.loads(capsys.readouterr().out) == {
        "phrases": [
            {
                "number": 7, "title": "Mill Stream", "harp": LESSON.route.harp.name, "expected_share": 0.85,
                "tempo": 0.8, "least_sure": None,
            }
        ],
        "lessons": [
            {"title": "Gate song", "expected_share": 0.95, "tempo": 0.75, "other_route_share": None},
            {"title": "Orchard", "expected_share": 0.4, "tempo": None, "other_route_share": 0.65},
        ],
    }  # fmt: skip


# ------------------------------------------------------------------------------------------------------------- takes


def test_takes_are_answered_with_what_the_shelf_knows_of_their_players(monkeypatch, capsys, tmp_path: Path) -> None:
    kept = takes._OfShelf(("a lesson",), ("Ada", "Bo"), "answered before")
    monkeypatch.setattr(takes, "_from_shelf", lambda *given: kept)
    monkeypatch.setattr(takes, "pool_at", lambda _: None)
    monkeypatch.setattr(takes, "TakesRun", lambda asked: SimpleNamespace(asked=asked, so_far=SimpleNamespace(now=())))
    answered: list[Any] = []

    def answer(run, catalogue, progress):
        answered.append(run.asked)
        return SimpleNamespace(overview=SimpleNamespace(unanswered=()), kept={"old.md": "old-1.md"})

    monkeypatch.setattr(takes, "answer_with_overview", answer)
    monkeypatch.setattr(takes, "format_takes", lambda told, catalogue: "An overview.\n")
    asked = TakesSaid((Path("week"),), (), tmp_path / "s.sqlite", "Ada", tmp_path / "out", None, True, False, True)
    show_takes(asked, language="en", json=False)
    (one,) = answered
    assert (one.lessons, one.students, one.earlier) == (("a lesson",), ("Ada", "Bo"), "answered before")
    assert (one.student, one.out, one.everything, one.broken_off, one.replace) == (
        "Ada", tmp_path / "out", True, False, True
    )  # fmt: skip
    told = said(capsys)
    assert told[0] == "An overview."
    assert told[2].startswith(str(tmp_path / "out"))
    assert told[-1] == ENGLISH.say("files.kept", old="old.md", new="old-1.md")


# ------------------------------------------------------------------------------------------------------------- tunes


# what may be said of each source, none of it said
_OF_SOURCE = ("format", "choose", "bars", "lead", "music_key", "tempo")


@pytest.mark.parametrize("as_data", [True, False])
def test_many_tunes_are_surveyed_as_asked_and_files_that_cannot_be_read_are_told(
    monkeypatch, capsys, tmp_path: Path, as_data: bool
) -> None:
    broken = ReadError("readers.empty", where=Place(file="empty.abc"))
    found = SimpleNamespace(tunes=("a tune",), unread=(broken,))
    surveyed: list[object] = []
    monkeypatch.setattr(jobs, "pool_at", lambda address: f"pool at {address}")
    monkeypatch.setattr(
        jobs, "survey_tunes", lambda *given, progress, **named: surveyed.append((given, named)) or found
    )
    monkeypatch.setattr(
        jobs, "write_tune_survey", lambda *given, **named: surveyed.append((given, named)) or Written(("tunes.html",))
    )
    monkeypatch.setattr("reedpath.arrange.surveyed_tunes_as_data", lambda found: {"tunes": list(found.tunes)})
    monkeypatch.setattr("reedpath.cli.tune_surveys._print_tunes", lambda *given, is_written: None)
    files, request = (Path("a.abc"), Path("b")), RouteRequest()
    asked = TunesAsked(files, dict.fromkeys(_OF_SOURCE), request, 5, None, tmp_path, True, "tcp://there:1")
    with pytest.raises(SystemExit) as ended:
        show_tunes(asked, language="fr", json=as_data)
    assert ended.value.code == 2
    (given, named), (written, over) = surveyed
    assert given == (files, request)
    assert named["pool"] == "pool at tcp://there:1"
    assert (written, over) == ((found, tmp_path), {"language": "fr", "over": True})
    told = capsys.readouterr()
    assert "empty.abc" in told.err
    if as_data:
        data = json.loads(told.out)
        assert data["tunes"] == ["a tune"]
        assert data["unread"][0]["file"] == "empty.abc"
        assert data["files"] == ["tunes.html"]
    else:
        assert "tunes.html" in told.out


def test_retunings_as_data_name_the_harp_and_its_tuning(monkeypatch, capsys) -> None:
    found = SimpleNamespace(ranked=(), searched=120, usual=1.5)
    monkeypatch.setattr(jobs, "retunings_of", lambda *given, **named: (LESSON.route.harp, found))
    monkeypatch.setattr("reedpath.cli.retunings.retunings_as_data", lambda one: {"searched": one.searched})
    read = SimpleNamespace(phrase=SimpleNamespace(title=""))
    show_retunings(read, RouteRequest(), reeds=2, top=5, language="en", json=True)
    harp = LESSON.route.harp
    assert json.loads(capsys.readouterr().out) == {"harp": harp.name, "tuning": harp.tuning.name, "searched": 120}


# --------------------------------------------------------------------------------------------------- leads of records


@pytest.mark.parametrize("doubtful", [0, 2, 3])
def test_of_the_lead_of_a_record_it_is_said_what_to_do_next(
    monkeypatch, capsys, tmp_path: Path, doubtful: int
) -> None:
    phrase = phrase_of("c4 1/4 e4 1/8 g4", key="C", title="take")
    events: list[Event] = [replace(one, doubtful=at < doubtful) for at, one in enumerate(phrase.events)]
    heard = SimpleNamespace(phrase=replace(phrase, events=tuple(events)), route=None, record="a record", notes=())
    monkeypatch.setattr(hearing, "write_down_recording", lambda *given, **named: heard)
    out, recording = tmp_path / "solo.json", Path("some") / "record.mp3"
    for kept in (None, out):
        show_transcription(
            recording, HearingChoice(), out=kept, replace=True, notation="sign", language="en", json=False
        )
        told = said(capsys)
        assert ENGLISH.say("hear.lead_range", low="C4", high="G4") in told
        sure = ENGLISH.say("hear.lead_doubtful", count=doubtful) if doubtful else ENGLISH.say("hear.lead_sure")
        after = told[told.index(sure) :]
        if doubtful == len(events):
            assert after.pop(1) == ENGLISH.say("hear.lead_none")
        assert after[1] == ENGLISH.say("hear.lead_correct", file="record.mp3")
        assert after[2] == (
            ENGLISH.say("hear.lead_keep") if kept is None else ENGLISH.say("hear.lead_next", file=str(out))
        )


@pytest.mark.parametrize(("faint", "is_none"), [(3, False), (7, True)])
def test_what_was_too_unclear_to_be_written_counts_as_doubtful(
    monkeypatch, capsys, faint: int, is_none: bool
) -> None:
    """Of 3 notes 1 is doubtful: with 3 unclear ones 4 of 6 are no lead, with 7 it is 8 of 10."""
    phrase = phrase_of("c4 1/4 e4 1/8 g4", key="C", title="take")
    events = tuple(replace(one, doubtful=at == 0) for at, one in enumerate(phrase.events))
    phrase = replace(phrase, events=events, left_out=(LeftOut("faint-notes", count=faint),))
    heard = SimpleNamespace(phrase=phrase, route=None, record="a record", notes=())
    monkeypatch.setattr(hearing, "write_down_recording", lambda *given, **named: heard)
    show_transcription(
        Path("record.mp3"), HearingChoice(), out=None, replace=True, notation="sign", language="en", json=False
    )
    assert (ENGLISH.say("hear.lead_none") in said(capsys)) is is_none


@pytest.mark.parametrize(("octaves", "said_next"), [(False, "octaves_played"), (True, "octaves_correct")])
def test_where_a_note_may_be_an_octave_it_is_said_what_to_do(
    monkeypatch, capsys, octaves: bool, said_next: str
) -> None:
    plain = phrase_of("c4 1/4 e4 1/8 g4", key="C", title="take")
    doubtful = replace(plain.events[1], doubtful=True)
    left_out = (LeftOut("doubtful-octaves", place=Place(seconds=1.5)),)
    marked = replace(plain, events=(plain.events[0], doubtful, plain.events[2]), left_out=left_out)
    sentences = [ENGLISH.say(f"hear.{key}") for key in ("octaves_played", "octaves_correct")]
    for phrase, expected in ((plain, []), (marked, [ENGLISH.say(f"hear.{said_next}")])):
        heard = SimpleNamespace(phrase=phrase, route=None, record=None, notes=())
        monkeypatch.setattr(hearing, "write_down_recording", lambda *given, heard=heard, **named: heard)
        show_transcription(
            Path("take.wav"), HearingChoice(octaves=octaves), out=None, replace=True, notation="sign", language="en",
            json=False,
        )  # fmt: skip
        told = said(capsys)
        assert [line for line in told if line in sentences] == expected
        assert any("1 note that may sound alone or with its octave (1.5 s)." in line for line in told) is bool(
            expected
        )


def test_where_nothing_is_heard_no_phrase_is_kept(monkeypatch, capsys, tmp_path: Path) -> None:
    phrase = replace(phrase_of("c4 1/4", key="C"), events=())
    heard = SimpleNamespace(phrase=phrase, route=None, record=None, notes=())
    monkeypatch.setattr(hearing, "write_down_recording", lambda *given, **named: heard)
    out = tmp_path / "solo.json"
    show_transcription(
        Path("silence.wav"), HearingChoice(), out=out, replace=False, notation="sign", language="en", json=False
    )
    assert said(capsys)[0] == ENGLISH.say("hear.nothing")
    assert not out.exists()


# ------------------------------------------------------------------------------------------------- films and lessons


CUT = FilmCut(
    ("raw.mp4",), (60.0,), (CutPiece(0, 1.0, 3.5, CutKind.TALK, keep=True, why=CutWhy.TALK),
                            CutPiece(0, 3.5, 60.0, CutKind.SILENCE, keep=False, why=CutWhy.SILENCE)),
)  # fmt: skip


def test_of_a_film_that_was_cut_it_is_said_what_stays(monkeypatch, capsys, tmp_path: Path) -> None:
    read: list[Path] = []
    monkeypatch.setattr(jobs, "read_lesson", lambda _: LESSON)
    monkeypatch.setattr(jobs, "read_cut", lambda path: read.append(path) or CUT)
    made: list[object] = []
    monkeypatch.setattr(
        jobs,
        "make_cut_film",
        lambda *given, progress, **named: made.append((given, named)) or Written(("film.mp4",)),
    )
    out = tmp_path / "film.mp4"
    wishes, named = TakeWishes(), {"replace": False, "language": "en"}
    film_of_cut(Path("lesson"), Path("raw.mp4"), wishes, out, cut=None, json=False, **named)
    assert made == [((LESSON, [Path("raw.mp4")], wishes, out), {"cut": None, "replace": False})]
    assert read == [tmp_path / "film.cut.json"]
    assert said(capsys)[-1] == footage.cut_line(CUT, ENGLISH)


def test_a_cut_is_proposed_in_the_language_that_was_asked_for(monkeypatch, capsys, tmp_path: Path) -> None:
    out = tmp_path / "film.mp4"
    monkeypatch.setattr(jobs, "read_lesson", lambda _: LESSON)
    monkeypatch.setattr(jobs, "propose_cut", lambda *given, **named: SimpleNamespace(cut=CUT, plays="heard"))
    monkeypatch.setattr(jobs, "write_proposal", lambda *given, **named: ("film.cut.json",))
    monkeypatch.setattr(jobs, "keep_heard", lambda *given: False)
    films = (Path("raw.mp4"),)
    film_from_footage(
        Path("lesson"), films, TakeWishes(), out, render=False, cut_as=None, replace=False, language="fr", json=False
    )
    told = said(capsys)
    assert FRENCH.say("film_from.no_timeline") in told
    assert told[-1] == FRENCH.say("film_from.correct", list=str(out.with_name("film.cut.json")))


def test_what_is_left_out_of_a_piece_stands_under_its_name(monkeypatch, capsys) -> None:
    whole = lesson_of_pieces()
    lost = (LeftOut("trills", Place(bar=3)),)
    pieces = list(whole.pieces)
    phrase = replace(pieces[1].lesson.route.phrase, left_out=lost)
    route = replace(pieces[1].lesson.route, phrase=phrase)
    pieces[1] = replace(pieces[1], lesson=replace(pieces[1].lesson, route=route))
    made = SimpleNamespace(lesson=replace(whole, pieces=tuple(pieces)), written=Written(("index.html",)), pieces=())
    monkeypatch.setattr(jobs, "make_lesson_of_pieces_folder", lambda *given, **named: made)
    monkeypatch.setattr(making, "_piece_lines", lambda *given: ["Two pieces."])
    make_from_several((), SimpleNamespace(), Path("out"), replace=False, json=False, language="en")
    told = said(capsys)
    assert told[0] == "Two pieces."
    from reedpath.lesson import piece_heading

    at = told.index(piece_heading(made.lesson, 1, ENGLISH))
    assert told[at - 1] == ""
    assert any("1 trill (bar 3)" in line for line in told[at:])


def test_pieces_of_a_plan_are_read_beside_it_with_what_the_command_says(monkeypatch, tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text('title = "An evening"\n\n[[piece]]\nsource = "one.txt"\n\n[[piece]]\nsource = "two.txt"\n')
    asked = LessonAsked(
        {"files": (plan,)}, dict.fromkeys(("pin", "avoid", "technique")), SaidOfLesson(), "sign", "de", "a4"
    )
    read: list[object] = []

    def planned(piece, folder, said):
        read.append((piece.source, folder, said))
        return AskedPiece(Place(), SimpleNamespace(), RouteRequest(), (), SaidOfLesson(title=piece.source))

    made: list[Any] = []
    monkeypatch.setattr(lessons, "_planned", planned)
    monkeypatch.setattr(
        lessons, "make_from_several", lambda pieces, wishes, out, **named: made.append((list(pieces), wishes, named))
    )
    with click.Context(click.Command("lesson")):
        make_lesson(asked, tmp_path / "out", replace=True, json=False)
    assert read == [("one.txt", tmp_path, asked), ("two.txt", tmp_path, asked)]
    ((pieces, wishes, named),) = made
    assert [(one.where.file, one.said.title) for one in pieces] == [(str(plan), "one.txt"), (str(plan), "two.txt")]
    assert (wishes.said.title, wishes.languages) == ("An evening", ("de",))
    assert named == {"replace": True, "json": False, "language": "de"}


def test_one_lesson_is_made_of_one_file_with_what_the_command_says(monkeypatch, tmp_path: Path) -> None:
    request, made = RouteRequest(), []
    monkeypatch.setattr(lessons, "source_of", lambda path, **said: (path, said))
    monkeypatch.setattr(lessons, "request_of", lambda said: request)
    monkeypatch.setattr(lessons, "make_from", lambda *given, **named: made.append((given, named)))
    sources = {"files": (Path("one.txt"),), "tempo": 90.0}
    own = SaidOfLesson(title="Gate song", notes=("Softly.",))
    asked = LessonAsked(sources, {"player": {"level": "easy"}}, own, "letters-en", "fr,en", "letter")
    with click.Context(click.Command("lesson")):
        make_lesson(asked, tmp_path / "out", replace=True, json=True)
    ((given, named),) = made
    read, one, wishes, out = given
    assert read == (Path("one.txt"), {"tempo": 90.0})
    assert (one.notation, out) == ("letters-en", tmp_path / "out")
    assert (wishes.title, wishes.notation, wishes.languages, wishes.paper, wishes.said.notes) == (
        "Gate song", "letters-en", ("fr", "en"), "letter", ("Softly.",)
    )  # fmt: skip
    assert named == {"replace": True, "json": True, "language": "fr"}


def test_a_recording_of_a_harmonica_is_told_as_tab(monkeypatch, capsys) -> None:
    route = LESSON.route
    heard = SimpleNamespace(phrase=route.phrase, route=route, record=None, notes=())
    monkeypatch.setattr(hearing, "write_down_recording", lambda *given, **named: heard)
    for notation in ("sign", "letters-en"):
        show_transcription(
            Path("take.wav"), HearingChoice(), out=None, replace=False, notation=notation, language="en", json=False
        )
        tab = format_tab(route, notation=notation, catalogue=ENGLISH)
        assert tab in capsys.readouterr().out


def test_tunes_stand_in_a_table_in_the_language_that_was_asked_for(monkeypatch, capsys) -> None:
    column = SimpleNamespace(name="tune", heading="Air", is_right=False)
    told: list[object] = []
    monkeypatch.setattr("reedpath.page.tune_columns", lambda catalogue: [column])
    monkeypatch.setattr(
        "reedpath.page.tune_cells", lambda *given: told.append(given) or [SimpleNamespace(text=f"{given[0]} x")]
    )
    monkeypatch.setattr("reedpath.page.tune_summary", lambda found, catalogue: f"In {catalogue.name}.")
    found = SimpleNamespace(tunes=("first", "second", "third"))
    tune_surveys._print_tunes(found, 2, FRENCH, is_written=False)
    lines = [line for line in said(capsys) if line]
    assert lines == [
        FRENCH.say("tunes.title", count=3), "Air", "first x", "second x",
        FRENCH.say("tunes.more", count=1, all=3), "In fr.", FRENCH.say("tunes.legend"),
    ]  # fmt: skip
    assert [(given[0], given[1], given[2]) for given in told] == [("first", found, FRENCH), ("second", found, FRENCH)]
