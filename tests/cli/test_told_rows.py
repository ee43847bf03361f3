"""What the command line says of routes, of takes that came in and of one take, on what is typed by hand."""

from __future__ import annotations

import ast
import json
import re
from contextlib import nullcontext
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from reedpath import cli, jobs
from reedpath.arrange import Change, ChangeKind, OtherWay, Retuning, RetuningSurvey
from reedpath.arrange.retuning import ReedChange
from reedpath.cli import collecting, hearing, making, retunings, students
from reedpath.cli.lessons import _whole_said
from reedpath.cli.making import make_from
from reedpath.cli.retunings import show_retunings
from reedpath.cli.routes import _other_words, _others, _summary
from reedpath.cli.students import _found_data, _found_words
from reedpath.cli.takes import TakesSaid, is_one_take
from reedpath.harp import Breath, Move
from reedpath.jobs import SaidOfLesson, student_progress
from reedpath.jobs.incoming_takes import FoundTake, IncomingTake, TakeGround
from reedpath.jobs.lesson_plans import LessonPlan
from reedpath.jobs.many_lessons import FoundLesson, FoundLessons
from reedpath.jobs.take_matching import LessonHeard
from reedpath.jobs.take_records import OVERVIEW
from reedpath.listen import PieceLinedUp
from reedpath.shelf import Student
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.listened import built_answer
from support.pieces import porch
from support.routes import choose

ENGLISH = load_catalogue("en")
DRAW_4 = Move((4,), Breath.DRAW)
GROUND = TakeGround((Student(number=1, name="Ada (invented)"), Student(number=2, name="Bo (invented)")), ())
LANE, KITE = LessonHeard(5, "Lane", 0.876), LessonHeard(6, "Kite", 0.25)
SURE = FoundTake(IncomingTake(Path("x"), "x.wav"), 1, 5, (1,), (LANE,), "{}", 0.754)


# ---------------------------------------------------------------------------------------------------------- routes


def test_a_route_is_summed_up_with_effort_and_truth() -> None:
    route = replace(porch().route, truth=0.876)
    told = _summary(route, ENGLISH)
    assert told.startswith("C harp, ")
    assert ENGLISH.say("route.truth", truth=0.88) in told
    assert ENGLISH.say("route.effort_points", count=round(route.effort.total, 1)) in told


def test_other_ways_are_numbered_from_one_with_what_each_adds() -> None:
    route = choose(built_route("2d:1 3d:1", key="C"), 1, move=None)
    plain, dear = OtherWay(DRAW_4, 1.25, ()), OtherWay(DRAW_4, -0.5, (), beyond_level=True)
    _, first, second = _others(route, ((plain, dear), ()), "sign", ENGLISH)
    beyond = ENGLISH.say("route.beyond_level")
    assert first == ["1", "0", "-2", f"-4 +1.25   -4 −0.50 ({beyond})"]
    assert second == ["2", "1", "–", "–"]
    other = OtherWay(DRAW_4, 0.0, (Change(ChangeKind.OCTAVE, (72,), (84,), 0.5),))
    assert _other_words(other, "sign", ENGLISH) == f"-4 +0.00 ({ENGLISH.say('change.octave')})"


# ----------------------------------------------------------------------------------------------------------- takes


def test_what_was_found_of_a_take_is_said() -> None:
    def words(**fields: object) -> str:
        return _found_words(replace(SURE, **fields), GROUND, ENGLISH)

    said = {"file": "x.wav", "name": "Ada (invented)", "title": "Lane"}
    assert words() == ENGLISH.say("shelf.people.kept_share", percent=75, **said)
    assert words(right_share=None) == ENGLISH.say("shelf.people.kept", **said)
    assert words(version=None, lessons=()) == ENGLISH.say("shelf.people.what_unknown", file="x.wav")
    two = words(version=None, lessons=(LANE, KITE, replace(KITE, share=0.0)))
    assert two == ENGLISH.say("shelf.people.what", file="x.wav", titles="Lane or Kite")
    who = words(student=None, students=(1, 2))
    assert who == ENGLISH.say("shelf.people.who", file="x.wav", names="Ada (invented) or Bo (invented)")


def test_what_was_found_of_a_take_as_data() -> None:
    assert _found_data(SURE, GROUND) == {
        "file": "x.wav", "student": "Ada (invented)", "lesson": "Lane", "students": ["Ada (invented)"],
        "lessons": [{"title": "Lane", "heard_share": 0.88}], "right_share": 0.754, "kept": True,
    }  # fmt: skip
    open_take = replace(SURE, student=None, version=None, students=(1, 2), lessons=(LANE, KITE), right_share=None)
    found = _found_data(open_take, GROUND)
    assert (found["student"], found["lesson"], found["right_share"], found["kept"]) == (None, None, None, False)
    assert [one["title"] for one in found["lessons"]] == ["Lane", "Kite"]


def test_one_take_is_one_recording_of_one_lesson_without_shelf_or_overview(tmp_path: Path) -> None:
    lesson, several, folder = tmp_path / "lesson", tmp_path / "several", tmp_path / "takes"
    for one in (lesson, several / "a", folder):
        one.mkdir(parents=True)
    for one in (lesson, several / "a"):
        (one / "lesson.json").write_text("{}")
    said = TakesSaid((tmp_path / "x.wav",), (lesson,), None, None, None, None, False, False, False)

    def is_one(**fields: object) -> bool:
        plain = {name: getattr(said, name) for name in TakesSaid.__slots__}
        return is_one_take(TakesSaid(**{**plain, **fields}))

    assert is_one()
    assert is_one(out=folder)
    assert is_one(lessons=(tmp_path / "no such folder",))
    assert not is_one(recordings=(folder,))
    assert not is_one(recordings=(tmp_path / "x.wav", tmp_path / "y.wav"))
    assert not is_one(lessons=(lesson, lesson))
    assert not is_one(lessons=())
    assert not is_one(lessons=(several,))
    assert not is_one(shelf=tmp_path)
    assert not is_one(student="Ada")
    assert not is_one(cluster="x")
    (folder / f"{OVERVIEW}.json").write_text("{}")
    assert not is_one(out=folder)


# --------------------------------------------------------------------------------------------------------- lessons


def test_what_the_command_says_of_a_lesson_goes_before_the_plan() -> None:
    plan = LessonPlan(title="Plan", author="Ada (invented)", note="Sit.")
    whole = _whole_said(plan, SaidOfLesson(title="Own", notes=("Stand.",)))
    assert (whole.title, whole.author, whole.date, whole.notes) == ("Own", "Ada (invented)", None, ("Stand.",))
    whole = _whole_said(plan, SaidOfLesson(date="2026-03-01"))
    assert (whole.title, whole.date, whole.notes) == ("Plan", "2026-03-01", ("Sit.",))


def test_a_lesson_is_made_in_the_language_and_of_what_was_asked(monkeypatch) -> None:
    asked, told = [], []
    monkeypatch.setattr(
        jobs, "make_lesson_folder", lambda *given, progress, **named: asked.append((given, named)) or "made"
    )
    monkeypatch.setattr(making, "_tell_lesson", lambda *given: told.append(given))
    make_from("read", "request", "wishes", Path("out"), replace=True, json=False, language="fr")
    assert asked == [(("read", "request", "wishes", Path("out")), {"replace": True})]
    ((made, out, catalogue),) = told
    assert (made, out, catalogue.name) == ("made", Path("out"), "fr")


@pytest.mark.parametrize(("title", "key"), [("Gate song", "retuning.title"), ("", "retuning.untitled")])
def test_retunings_stand_under_the_harp_and_the_title(monkeypatch, title: str, key: str) -> None:
    harp, asked, headings = porch().route.harp, [], []
    found = SimpleNamespace(ranked=(), searched=120, usual=1.5)
    monkeypatch.setattr(jobs, "retunings_of", lambda *given, **named: asked.append((given, named)) or (harp, found))
    monkeypatch.setattr(retunings, "print_retunings", lambda *given: headings.append(given[:2]))
    read = SimpleNamespace(phrase=SimpleNamespace(title=title))
    show_retunings(read, "request", reeds=2, top=5, language="en", json=False)
    assert asked == [((read.phrase, "request"), {"reeds": 2, "top": 5})]
    values = {"title": title} if title else {}
    assert headings == [(found, ENGLISH.say(key, count=2, harp="C harp", **values))]


def test_retunings_say_which_reed_is_moved_how_far_and_what_that_saves(capsys) -> None:
    harp = porch().route.harp
    changes = (ReedChange(3, Breath.BLOW, 2), ReedChange(5, Breath.DRAW, -1))
    found = RetuningSurvey(12.26004, (Retuning(changes, harp.tuning, 9.04004, 3.22004),), 120)
    retunings.print_retunings(found, "On the C harp", ENGLISH)
    title, blank, head, now, row, *_, searched, caution = capsys.readouterr().out.splitlines()
    assert (title, blank) == ("On the C harp", "")
    assert head.split() == ["retuning", "points", "saves"]
    assert now.split() == ["as", "it", "is", "12.3"]
    assert re.split(r"  +", row) == ["3 blow 2 half steps up and 5 draw 1 half step down", "9.0", "3.2"]
    assert "120" in searched
    assert caution == ENGLISH.say("caution.reeds")
    assert retunings.retunings_as_data(found) == {
        "points": 12.26,
        "retunings": [
            {
                "changes": [
                    {"hole": 3, "breath": "blow", "semitones": 2},
                    {"hole": 5, "breath": "draw", "semitones": -1},
                ],
                "points": 9.04,
                "saves": 3.22,
            }
        ],
        "searched": 120,
    }
    retunings.print_retunings(RetuningSurvey(12.26, (), 120), "On the C harp", ENGLISH)
    assert capsys.readouterr().out.splitlines() == ["On the C harp", "", ENGLISH.say("retuning.none")]


def test_progress_as_data_names_takes_that_could_not_be_heard(monkeypatch, capsys) -> None:
    found = SimpleNamespace(
        student=SimpleNamespace(name="Ada"), takes=[object()], heard=[SimpleNamespace(name="one.wav")],
        unheard=["two.wav"], standings=(), due=(), later=(),
    )  # fmt: skip
    monkeypatch.setattr(students, "shelf_at", lambda path: nullcontext("shelf"))
    monkeypatch.setattr(students, "student_called", lambda shelf, name: (shelf, name))
    monkeypatch.setattr(student_progress, "playing_of", lambda shelf, student: (shelf, student))
    monkeypatch.setattr(student_progress, "progress_of", lambda playing, now: found)
    students.show_progress("Ada", None, language="en", json=True)
    assert json.loads(capsys.readouterr().out) == {
        "student": "Ada", "takes": ["one.wav"], "unheard": ["two.wav"], "techniques": [], "due": [], "later": [],
    }  # fmt: skip
    students.show_progress("Ada", None, language="en", json=False)
    heard, unheard = capsys.readouterr().out.splitlines()[:2]
    assert heard == ENGLISH.say("shelf.people.heard", name="Ada", count=1)
    assert unheard == ENGLISH.say("shelf.people.unheard", names="two.wav")


def test_what_lessons_need_is_told_with_their_titles(monkeypatch, capsys) -> None:
    lessons = (porch(), replace(porch(), title="Porch again"))
    found = FoundLessons(tuple(FoundLesson(Path(one.title), one) for one in lessons))
    monkeypatch.setattr(jobs, "find_lessons", lambda folders: found)
    collecting.show_needs([Path("lessons")], tune_for=None, language="en", json=False)
    told = [re.split(r"  +", line.strip()) for line in capsys.readouterr().out.splitlines()]
    titles = f"{lessons[0].title}; Porch again"
    assert ["C harp", "2", titles] in told
    techniques = told[told.index([ENGLISH.say("index.techniques")]) + 1 :]
    assert techniques[0][1:] == ["2", titles]


def test_every_play_through_is_told_event_by_event(monkeypatch, capsys) -> None:
    route = porch().route
    lined_up = SimpleNamespace(route=route, play_throughs=(built_answer(route).plays[0].play,))
    monkeypatch.setattr(hearing, "read_taught", lambda folder: porch())
    found = (PieceLinedUp(0, lined_up),)
    monkeypatch.setattr(hearing, "line_up_pieces", lambda *given, **named: found)
    hearing.show_lined_up(Path("take.wav"), Path("porch"), broken_off=False, language="en", json=False)
    head, columns, first = capsys.readouterr().out.splitlines()[:3]
    assert head == ENGLISH.say("hear.play_through", number=1, percent=100)
    assert first.split()[2] == "0.500"
    # numbers end where their columns end
    ends = [[found.end() for found in re.finditer(r"\S+( \S+)*", line)] for line in (columns, first)]
    assert len(ends[0]) == 5
    assert ends[0][2:] == ends[1][2:]


def test_what_is_told_is_in_the_language_that_was_asked_for() -> None:
    for path in Path(cli.__file__).parent.glob("*.py"):
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(function, ast.FunctionDef):
                continue
            takes = {one.arg for one in (*function.args.args, *function.args.kwonlyargs)}
            for call in ast.walk(function):
                if isinstance(call, ast.Call) and ast.unparse(call.func) == "catalogue_for" and "language" in takes:
                    assert ast.unparse(call) == "catalogue_for(language)", f"{path.name}:{call.lineno}"
