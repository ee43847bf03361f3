"""Many takes: each answered once, kept in its folder, compared with the last time, whatever ends the run.

Sounds are in the stories; here each answer is made by hand, without any.
"""

from __future__ import annotations

import csv
import io
import json
import os
import pickle
from pathlib import Path

import numpy as np
import pytest
import soundfile
from msgspec.structs import replace

from reedpath.data import encode_json, read_json
from reedpath.errors import ReadError, SettingsError, SoundError
from reedpath.harp import Breath, Move
from reedpath.jobs import add_take, add_to_shelf, many_takes
from reedpath.jobs.answering import AnsweredFile
from reedpath.jobs.many_takes import TakesAsked, TakesRun, lessons_in
from reedpath.jobs.take_files import find_recordings
from reedpath.jobs.take_matching import LessonHeard
from reedpath.jobs.take_overview import answer_with_overview, overview_of
from reedpath.jobs.take_records import answered_takes_on_shelf
from reedpath.jobs.take_tasks import TakeAnswered, TakeToAnswer, answer_one_take
from reedpath.jobs.task_pool import ClusterPool
from reedpath.jobs.tasks import TaskAnswer
from reedpath.listen import Notice
from reedpath.listen.answer_json import written_answer
from reedpath.page.takes import TakesOverview, encode_takes_table, format_takes
from reedpath.page.takes.overview import TakeChange, WhyUnanswered
from reedpath.shelf import Shelf, Student
from reedpath.wording import catalogue_names, load_catalogue
from support.heard_takes import HeardTake
from support.lesson_folders import contents
from support.students import TUNES, tune_folder, tune_route

LANE, KITE = TUNES
EN = load_catalogue("en")


def answer_json(title: str, missed: tuple[int, ...] = ()) -> bytes:
    take = HeardTake(tune_route(title))
    for index in missed:
        take = take.silent(index)
    return encode_json(AnsweredFile(**written_answer(take.answer()), drills=()))


class Played:
    """What is played in the recordings by their names, told in place of what listening finds."""

    def __init__(self) -> None:
        self.of: dict[str, tuple[str, tuple[int, ...]]] = {}
        self.made: list[str] = []
        self.ends_after: int | None = None
        self.root = Path()

    def run_tasks(self, function, items, *, pool, load, returns, seconds_each):
        for index, item in enumerate(items):
            if self.ends_after == index:
                raise KeyboardInterrupt
            name = item.recording.path.relative_to(self.root).as_posix()
            asked = load(item)
            self.made.append(name)
            title, missed = self.of[name]
            if title == "silence":
                yield TaskAnswer(index, TakeAnswered(None, notice=Notice.SILENT), None)
                continue
            if title == "broken":
                yield TaskAnswer(index, None, SoundError("signal.empty"))
                continue
            heard = tuple(
                LessonHeard(one.version.number, one.title, 0.9 if one.title == title or title == "alike" else 0.1)
                for one in asked.lessons
            )
            found = next((one for one in heard if one.title == title), None)
            files = {} if found is None else {"answer.json": answer_json(title, missed), "answer.txt": b"told\n"}
            yield TaskAnswer(index, TakeAnswered(found, heard, files), None)


@pytest.fixture
def played(monkeypatch) -> Played:
    one = Played()
    monkeypatch.setattr(many_takes, "run_tasks", one.run_tasks)
    return one


@pytest.fixture(scope="module")
def lessons(tmp_path_factory):
    root = tmp_path_factory.mktemp("lessons")
    for number, title in enumerate(TUNES):
        tune_folder(title, root / str(number))
    return lessons_in([root])[0]


@pytest.mark.parametrize(("level", "notice"), [(0.0, Notice.SILENT), (0.1, Notice.NO_PITCH)])
def test_what_a_recording_says_of_itself_is_told_in_place_of_lessons_that_it_is_none_of(lessons, level, notice):
    sound, file = np.random.default_rng(5).normal(0.0, level, 3 * 16_000), io.BytesIO()
    soundfile.write(file, np.clip(sound, -1, 1), 16_000, format="WAV")
    made = answer_one_take(
        TakeToAnswer(
            sound=file.getvalue(),
            name="x.wav",
            lessons=tuple(lessons),
            is_said=False,
            language="en",
            with_files=False,
            everything=False,
            broken_off=False,
        )
    )
    assert (made.found, made.notice) == (None, notice)


@pytest.fixture
def takes(tmp_path: Path, played: Played) -> Path:
    """Two takes of Anna a week apart, one of Bo, one that is broken, one of nothing, and what is no recording."""
    played.root = folder = tmp_path / "takes"
    (folder / "Bo").mkdir(parents=True)
    for name, what in (
        ("Anna 2026-11-18.m4a", (LANE, (2, 3, 9))),
        ("Anna 2026-11-25.m4a", (LANE, (9, 14))),
        ("Bo/2026-11-25.m4a", (LANE, (9,))),
        ("Cy 2026-11-25.m4a", ("broken", ())),
        ("Di 2026-11-25.m4a", ("nothing", ())),
    ):
        (folder / name).write_bytes(name.encode())
        played.of[name] = what
    (folder / "list.txt").write_text("eggs", encoding="utf-8")
    return folder


def asked(takes: Path, lessons, out: Path | None, **more) -> TakesAsked:
    return TakesAsked(given=(takes,), lessons=lessons, language="en", out=out, **more)


def answered(one: TakesAsked):
    return answer_with_overview(TakesRun(one), EN).overview


def test_silence_among_the_takes_is_told_as_such(takes, lessons, played) -> None:
    played.of["Di 2026-11-25.m4a"] = ("silence", ())
    silent = answered(asked(takes, lessons, None)).unanswered[1]
    assert (silent.why, silent.error) == (
        WhyUnanswered.UNREADABLE, "Di 2026-11-25.m4a: there is nothing but silence in it."
    )  # fmt: skip


def test_each_take_has_an_answer_and_the_overview_says_better_or_worse_and_where(takes, lessons, tmp_path) -> None:
    before = contents(takes)
    told = answered(asked(takes, lessons, tmp_path / "out"))
    assert contents(takes) == before
    first, second, _ = told.takes
    assert [(one.student, one.lesson, one.right) for one in told.takes] == [
        ("Anna", LANE, 15), ("Anna", LANE, 16), ("Bo", LANE, 17)
    ]  # fmt: skip
    assert (first.change, first.say) == (TakeChange.FIRST, ())
    assert (second.change, second.last.recorded, second.last.right) == (TakeChange.BETTER, "2026-11-18", 15)
    assert (second.better_in, second.worse_in) == ("bar 2", "bar 9")
    assert second.say[0] == "Last time 83% of the notes were right, this time 89%: the work is paying off."
    assert 2 <= len(second.say) <= 3
    assert [(one.place, one.students) for one in told.common] == [("bar 6", ("Anna", "Bo"))]
    assert [(one.file, one.why) for one in told.unanswered] == [
        ("Cy 2026-11-25.m4a", WhyUnanswered.UNREADABLE), ("Di 2026-11-25.m4a", WhyUnanswered.NO_LESSON)
    ]  # fmt: skip
    assert [one.percent for one in told.unanswered[1].tried] == [10, 10]
    assert told.others == ("list.txt",)
    made = {path.name for path in (tmp_path / "out").iterdir()}
    assert made >= {
        "overview.html",
        "overview.txt",
        "overview.csv",
        "overview.json",
        "Anna 2026-11-25",
        "Bo 2026-11-25",
    }


@pytest.mark.slow
def test_what_was_answered_is_not_answered_again_and_what_she_wrote_stays(takes, lessons, tmp_path, played) -> None:
    out = tmp_path / "out"
    answered(asked(takes, lessons, out))
    (out / "Bo 2026-11-25" / "answer.txt").write_text("mine", encoding="utf-8")
    (takes / "Anna 2026-12-02.m4a").write_bytes(b"new")
    played.of["Anna 2026-12-02.m4a"] = (KITE, ())
    (takes / "copy.m4a").write_bytes((takes / "Bo/2026-11-25.m4a").read_bytes())
    played.made.clear()
    told = answered(asked(takes, lessons, out))
    assert played.made == ["Anna 2026-12-02.m4a", "Cy 2026-11-25.m4a", "Di 2026-11-25.m4a"]
    assert [one.file for one in told.takes if one.is_new] == ["Anna 2026-12-02.m4a"]
    assert told.older == 3
    assert (out / "Bo 2026-11-25" / "answer.txt").read_text(encoding="utf-8") == "mine"
    assert set(told.same.items()) == {("copy.m4a", "Bo/2026-11-25.m4a")}
    answered(asked(takes, lessons, out, replace=True))
    kept = {path.name for path in (out / "Bo 2026-11-25").iterdir()}
    assert {"answer.txt", "answer.kept.txt"} <= kept
    assert (out / "Bo 2026-11-25" / "answer.kept.txt").read_text(encoding="utf-8") == "mine"


def test_last_weeks_answers_are_found_in_the_folder_beside(takes, lessons, tmp_path, played) -> None:
    answered(asked(takes / "Anna 2026-11-18.m4a", lessons, tmp_path / "answers" / "47"))
    told = answered(asked(takes / "Anna 2026-11-25.m4a", lessons, tmp_path / "answers" / "48"))
    assert [(one.change, one.last.recorded) for one in told.takes] == [(TakeChange.BETTER, "2026-11-18")]


def test_what_ends_a_run_takes_no_answer_away(takes, lessons, tmp_path, played) -> None:
    out = tmp_path / "out"
    played.ends_after = 2
    with pytest.raises(KeyboardInterrupt):
        answered(asked(takes, lessons, out))
    told = read_json((out / "overview.json").read_bytes(), TakesOverview)
    assert [one.file for one in told.takes] == ["Anna 2026-11-18.m4a", "Anna 2026-11-25.m4a"]
    assert [one.why for one in told.unanswered] == [WhyUnanswered.WAITING] * 3
    played.ends_after = None
    played.made.clear()
    told = answered(asked(takes, lessons, out))
    assert len(told.takes) + told.older == 3
    assert not any(name.startswith("Anna") for name in played.made)


def test_whose_a_take_is_can_be_said_and_stays_said(takes, lessons, tmp_path) -> None:
    out, one = tmp_path / "out", takes / "Bo" / "2026-11-25.m4a"
    told = answered(asked(one, lessons, out))
    assert told.takes[0].student == ""
    assert f"“{LANE}”, 2026-11-25 (2026-11-25.m4a)" in format_takes(told, EN)
    assert answered(asked(one, lessons, out, student="Bo Lind")).takes[0].student == "Bo Lind"
    assert answered(asked(takes, lessons, out)).takes[-1].student == "Bo Lind"


def test_two_lessons_that_fit_alike_are_told_and_not_guessed(takes, lessons, tmp_path, played) -> None:
    played.of["Bo/2026-11-25.m4a"] = ("alike", ())
    told = answered(asked(takes, lessons, None))
    (open_take,) = [one for one in told.unanswered if one.why is WhyUnanswered.SEVERAL_LESSONS]
    assert {one.title for one in open_take.tried} == set(TUNES)
    assert "several lessons fit alike" in format_takes(told, EN)


def test_answers_do_not_go_among_other_things(takes, lessons, tmp_path) -> None:
    with pytest.raises(SettingsError):
        TakesRun(asked(takes, lessons, takes))
    assert not (takes / "overview.html").exists()


def test_what_this_program_made_and_what_is_hidden_is_no_take(takes, lessons, tmp_path) -> None:
    answered(asked(takes, lessons, takes / "answers"))
    (takes / ".trash").mkdir()
    (takes / ".trash" / "x.m4a").write_bytes(b"x")
    (takes / "lesson").mkdir()
    (takes / "lesson" / "lesson.json").write_bytes(b"{}")
    (takes / "lesson" / "play-along.wav").write_bytes(b"y")
    names = [one.name for one in find_recordings([takes]).recordings]
    assert len(names) == 5
    assert not any(name.startswith(("answers", ".trash", "lesson")) for name in names)


def test_a_folder_without_recordings_is_told(tmp_path) -> None:
    with pytest.raises(ReadError):
        find_recordings([tmp_path])
    with pytest.raises(ReadError):
        find_recordings([tmp_path / "none.wav"])


@pytest.mark.parametrize("language", catalogue_names())
def test_the_overview_is_told_in_every_language(takes, lessons, tmp_path, language) -> None:
    words = load_catalogue(language)
    run = TakesRun(asked(takes, lessons, None))
    run.run()
    told = overview_of(run.so_far, lessons, words)
    text = format_takes(told, words)
    assert "{" not in text
    assert text.count(words.say("week.say")) == 2


def test_the_table_is_one_line_for_each_take_and_no_cell_is_a_formula(takes, lessons, tmp_path, played) -> None:
    told = answered(asked(takes, lessons, None))
    told = replace(told, takes=(replace(told.takes[0], student="=SUM(A1)", say=("a, b", 'say "c"')), *told.takes[1:]))
    data = encode_takes_table(told)
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert len(rows) == 5
    assert rows[0]["student"] == "'=SUM(A1)"
    assert rows[0]["say"] == 'a, b say "c"'
    assert [row["state"] for row in rows[3:]] == ["unreadable", "no lesson"]


def test_another_move_in_a_lesson_that_was_made_anew_is_not_compared_bar_by_bar(
    takes, lessons, tmp_path, played
) -> None:
    out = tmp_path / "out"
    answered(asked(takes / "Anna 2026-11-18.m4a", lessons, out))
    path = next(out.glob("Anna*/answer.json"))
    data = json.loads(path.read_bytes())
    other = json.loads(encode_json(Move((9,), Breath.BLOW)))
    for event in data["play_throughs"][0]["events"][:1]:
        event["move"] |= other
    path.write_text(json.dumps(data), encoding="utf-8")
    told = answered(asked(takes / "Anna 2026-11-25.m4a", lessons, out))
    (one,) = told.takes
    assert (one.change, one.better_in, one.worse_in) == (TakeChange.BETTER, "", "")


def test_last_time_may_be_on_the_shelf(takes, lessons, tmp_path) -> None:
    """A take that is kept there with its answer, of a student by the name that the shelf has."""
    with Shelf(tmp_path / "a.sqlite", make=True) as shelf:
        add_to_shelf(shelf, [tune_folder(LANE, tmp_path / "lesson")])
        with shelf.step("student"):
            shelf.add(Student(name="Anna Berg (invented)"))
        (tmp_path / "answer.json").write_bytes(answer_json(LANE, (2, 3, 9, 14)))
        (tmp_path / "2026-11-11.wav").write_bytes(b"as it was")
        add_take(
            shelf, tmp_path / "2026-11-11.wav", student="Anna Berg (invented)", lesson=LANE,
            answer=tmp_path / "answer.json",
        )  # fmt: skip
        earlier = answered_takes_on_shelf(shelf)
    (one,) = earlier
    assert (one.record.student, one.record.lesson, one.record.recorded) == (
        "Anna Berg (invented)",
        LANE,
        "2026-11-11",
    )
    told = answered(asked(takes, lessons, None, students=("Anna Berg (invented)",), earlier=earlier))
    anna = [one for one in told.takes if one.student == "Anna Berg (invented)"]
    assert [(one.last.recorded, one.last.right, one.right) for one in anna] == [
        ("2026-11-11", 14, 15), ("2026-11-18", 15, 16)
    ]  # fmt: skip


def test_after_a_lesson_that_is_done_with_comes_one_that_was_not_played_yet(takes, lessons, played) -> None:
    played.of["Anna 2026-11-25.m4a"] = (LANE, ())
    told = answered(asked(takes, lessons, None))
    anna = [one for one in told.takes if one.student == "Anna"]
    assert anna[-1].say[-1].startswith(f"Next: “{KITE}”")
    played.of["Anna 2026-11-18.m4a"] = (KITE, ())
    told = answered(asked(takes, lessons, None))
    anna = [one for one in told.takes if one.student == "Anna"]
    assert anna[-1].say[-1] == "Next: play it once more tomorrow; what is right then will stay."


def test_names_that_are_no_text_and_links_to_nothing_stop_nothing(lessons, tmp_path, played) -> None:
    folder = played.root = tmp_path / "takes"
    folder.mkdir()
    for raw in (b"Ada\xff 2026-11-25.m4a", b"Bo\n2026-11-25.m4a", b"Cy: a<b>.m4a"):
        name = os.fsdecode(raw)
        (folder / name).write_bytes(raw)
        played.of[name] = (LANE, ())
    (folder / "gone.m4a").symlink_to(folder / "nowhere.m4a")
    told = answered(asked(folder, lessons, tmp_path / "out"))
    assert len(told.takes) == 3
    assert told.others == ("gone.m4a",)
    assert {one.student for one in told.takes} >= {"Bo", "Cy a b"}
    again = answered(asked(folder, lessons, tmp_path / "out"))
    assert [one.is_new for one in again.takes] == [False] * 3


def test_a_record_that_can_not_be_read_is_left_alone_and_its_take_answered_again(takes, lessons, tmp_path) -> None:
    out, one = tmp_path / "out", takes / "Anna 2026-11-25.m4a"
    answered(asked(one, lessons, out))
    for damaged in (b"{", b"", encode_json({"schema": "reedpath/answered-take", "recorded": "some day"})):
        path = out / "Anna 2026-11-25" / "take.json"
        path.write_bytes(damaged)
        told = answered(asked(one, lessons, out))
        assert path.read_bytes() == damaged
        assert [each.folder for each in told.takes] == ["Anna 2026-11-25 2"]


def test_a_cluster_is_sent_the_recording_itself(takes, lessons, monkeypatch) -> None:
    sent = []

    def load_all(function, items, *, pool, load, returns, seconds_each):
        sent.extend(pickle.loads(pickle.dumps(load(item))) for item in items)
        return iter(())

    monkeypatch.setattr(many_takes, "run_tasks", load_all)
    one = takes / "Anna 2026-11-18.m4a"
    TakesRun(asked(one, lessons, None, pool=ClusterPool("127.0.0.1:1"))).run()
    assert [(each.sound, each.name) for each in sent] == [(one.read_bytes(), one.name)]
    assert sorted(each.title for each in sent[0].lessons) == sorted(TUNES)
