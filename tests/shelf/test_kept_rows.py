"""What the shelf writes, row by row: each thing done with it, and which rows came, went and changed by it.

The rows are compared whole with `rows/*.txt`; see `support.kept_texts`.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from reedpath.errors import ReedpathError
from reedpath.lesson import encode_lesson, encode_lesson_of_pieces, make_lesson
from reedpath.shelf import (
    KeptAnswer,
    KeptHeldNote,
    KeptLesson,
    KeptLetter,
    KeptPhrase,
    KeptTake,
    LessonToKeep,
    LessonVersion,
    OwnedHarp,
    PhraseQuery,
    PhraseSearch,
    Shelf,
    Student,
    add_lesson_version,
    add_phrase,
    add_waiting_take,
    all_drafts,
    all_waiting_takes,
    check_shelf,
    differences,
    draft_steps,
    end_waiting,
    erase_student,
    export_shelf,
    import_shelf,
    keep_draft,
    keep_findings,
    new_draft,
    put_away,
    remove_waiting_take,
    say_of_waiting_take,
    students_called,
    two_versions,
    typed_melody,
    version_list,
    version_numbered,
)
from reedpath.shelf.keeping import used_files
from support.fixed_records import fix_records
from support.kept_texts import assert_kept, close_json
from support.phrases import phrase_of
from support.pieces import lesson_of_pieces, porch
from support.routes import route_of
from support.shelves import ANSWER, played

KEPT = Path(__file__).parent / "rows"
# letters of a value that are shown
MOST_SHOWN = 120
HELD = KeptHeldNote(
    student=1, key="A", move="-3''", seconds=4.5, cents=-2.0, unsteady_cents=3.0, tolerance_cents=15.0
)


def brief(value: Any) -> str:
    """A value of a column, a long one by its beginning."""
    text = value if isinstance(value, str) else repr(value)
    return repr(value) if len(text) <= MOST_SHOWN else f"{text[:MOST_SHOWN]!r}..."


def told_of(gave: Any) -> str:
    """What a change gave: of a record its kind and number, of a record and whether it is new both."""
    if isinstance(gave, tuple):
        return f"{told_of(gave[0])} {gave[1]}"
    return f"{type(gave).__name__} {getattr(gave, 'number', '')}"


def rows_of(shelf: Shelf) -> list[str]:
    """All rows of all tables, and the names of the files."""
    tables = [one[0] for one in shelf.database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    found = []
    for table in sorted(tables):
        if table.startswith(("sqlite_", "phrase_words_")):
            continue
        for row in shelf.database.execute(f"SELECT rowid AS row_id, * FROM {table} ORDER BY rowid"):
            told = ", ".join(f"{name}={brief(row[name])}" for name in row.keys() if name != "row_id")  # noqa: SIM118
            found.append(f"{table} {row['row_id']}: {told}")
    return found + [f"file {name}" for name in shelf.files.names()]


class Told:
    """A text of what was done and what came of it."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf, self.before, self.lines = shelf, rows_of(shelf), list[str]()

    def done(self, what: str, do: Callable[[], Any] | None = None) -> Any:
        """Do something and tell which rows went and came, and what it gave or why it was refused."""
        self.lines.append(f"# {what}")
        gave = None
        try:
            gave = do() if do is not None else None
            if gave is not None:
                self.lines.append(f"gave {brief(gave)}")
        except ReedpathError as error:
            self.lines.append(f"refused: {error.key} {dict(error.values)}")
        now = rows_of(self.shelf)
        self.lines += [f"- {row}" for row in self.before if row not in now]
        self.lines += [f"+ {row}" for row in now if row not in self.before]
        self.lines.append(f"changes {self.shelf.changes}")
        self.before = now
        return gave

    def step(self, what: str, *do: Callable[[], Any]) -> None:
        """Do things as one step."""

        def all_of_it() -> list[str]:
            with self.shelf.step(what):
                return [told_of(one()) for one in do]

        self.done(what, all_of_it)

    def text(self) -> str:
        return "\n".join(self.lines) + "\n"


@pytest.fixture
def told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Told]:
    fix_records(monkeypatch)
    with Shelf(tmp_path / "a.sqlite", make=True) as shelf:
        yield Told(shelf)


def lessons() -> tuple[LessonToKeep, LessonToKeep, LessonToKeep]:
    """A lesson, another version of it, and one of several pieces."""
    lesson, whole = porch(), lesson_of_pieces()
    other = make_lesson(route_of(phrase_of("c4 1/4 d4 e4")), title="Porch steps")
    pieces = {piece.folder: encode_lesson(piece.lesson) for piece in whole.pieces}
    stairs = played("Up the stairs", 60, 62, 64, 65)
    return (
        LessonToKeep(lesson.title, encode_lesson(lesson), taught=(stairs,)),
        LessonToKeep(lesson.title, encode_lesson(other)),
        LessonToKeep(whole.title, encode_lesson_of_pieces(whole), pieces),
    )


def fill(told: Told) -> None:
    """A shelf with some of everything."""
    shelf = told.shelf
    stairs = played("Up the stairs", 60, 62, 64, 65, difficulty=1.23456, techniques=("draw_bends",))
    spelt = replace(stairs.phrase, key=None)
    told.step("add", lambda: add_phrase(shelf, stairs, tags=("blues", "slow", "blues")))
    told.step(
        "add", lambda: add_phrase(shelf, played("Élan Œuvre", 67, 64, 60, 67, difficulty=None), tags=("warm-up",))
    )
    told.step("nothing new", lambda: add_phrase(shelf, replace(stairs, title="Other", difficulty=9.0)))
    told.step(
        "grown", lambda: add_phrase(shelf, played("Élan", 67, 64, 60, 67, difficulty=2.00049), tags=("a", "warm-up"))
    )
    told.step(
        "keyed", lambda: add_phrase(shelf, replace(stairs, phrase=replace(spelt, key=phrase_of("c4", key="Em").key)))
    )
    sound = told.done("a sound", lambda: shelf.files.keep(io.BytesIO(b"RIFF, invented"), name="Take 1.WAV"))
    other = told.done("another", lambda: shelf.files.keep(io.BytesIO(b"other, invented"), name="no ending.very-long"))
    first, second, pieces = lessons()
    told.step("lesson", lambda: add_lesson_version(shelf, first, files={"sheet.pdf": other}, tags=("home", "home")))
    told.step("the same again", lambda: add_lesson_version(shelf, first, files={"sheet.pdf": other}))
    told.step("tagged", lambda: add_lesson_version(shelf, first, files={"sheet.pdf": other}, tags=("home", "new")))
    told.step("second version", lambda: add_lesson_version(shelf, second))
    told.step("pieces", lambda: add_lesson_version(shelf, pieces))
    told.step("under the first's title", lambda: add_lesson_version(shelf, replace(pieces, title="Other"), lesson=1))
    told.step(
        "students",
        lambda: shelf.add(Student(name="Ada Inventée", level="easy", techniques=("draw_bends",), note="left-handed")),
        lambda: shelf.add(Student(name="Bo", added="2026-01-01")),
        lambda: shelf.add(OwnedHarp(student=1, key="Low F")),
        lambda: shelf.add(OwnedHarp(key="C", note="new reeds")),
    )
    told.step(
        "take",
        lambda: shelf.add(KeptTake(student=1, name="Take 1.WAV", sound=sound, version=1)),
        lambda: shelf.add(KeptTake(student=1, name="Take 2.WAV", version=2, note="quick")),
        lambda: shelf.add(KeptTake(student=2, name="Bo's", sound=sound)),
        lambda: shelf.add(KeptAnswer(take=1, data=ANSWER)),
        lambda: shelf.add(KeptLetter(student=1, language="en", proposed="Dear Ada", text="Dear Ada!")),
        lambda: shelf.add(HELD),
    )


def test_what_is_kept_row_by_row(told: Told, tmp_path: Path) -> None:
    shelf = told.shelf
    told.lines += told.before
    fill(told)
    told.done("no record", lambda: shelf.get(Student, 9))
    told.step("change", lambda: shelf.change(replace(shelf.get(KeptPhrase, 1), title="Down", tags=("b",))))
    told.step("remove", lambda: shelf.remove(shelf.get(KeptPhrase, 2)))
    told.step("remove a student", lambda: shelf.remove(shelf.get(Student, 2)))
    told.step("nothing")
    for _ in range(3):
        told.done("undo", lambda: (shelf.undo(), shelf.next_word(), shelf.next_word(undone=True), len(shelf.steps())))
    told.done("to be done again", lambda: shelf.steps(undone=True))
    told.done("redo", lambda: (shelf.redo(), shelf.next_step(), shelf.next_step(undone=True)))
    told.step("another way", lambda: shelf.add(OwnedHarp(key="G")))
    told.done("nothing to redo", lambda: (shelf.redo(), shelf.next_word(undone=True)))
    told.done("counts", shelf.counts)
    told.done("last", lambda: (shelf.last(OwnedHarp, student=None), shelf.last(OwnedHarp, student=7)))
    told.done("versions", lambda: version_list(shelf, 1))
    told.done("a version", lambda: version_numbered(shelf, 1, 2).version)
    told.done("no version", lambda: version_numbered(shelf, 1, 7))
    told.done("no lesson", lambda: version_numbered(shelf, 9))
    told.step("empty lesson", lambda: shelf.add(KeptLesson(title="Empty")))
    told.done("no version of it", lambda: version_numbered(shelf, 3))
    told.done("two", lambda: [one.version for one in two_versions(shelf, 1, None, None)])
    told.done("two of one", lambda: [one.version for one in two_versions(shelf, 2, None, None)])
    told.done("two asked for", lambda: [one.version for one in two_versions(shelf, 1, 3, 1)])
    shelf.files.path(min(used_files(shelf))).with_name("left.part").write_bytes(b"")
    told.done("unused", lambda: shelf.files.keep(io.BytesIO(b"unused"), name="x.mp3"))
    told.done("check", lambda: check_shelf(shelf))
    told.done("called", lambda: students_called(shelf, "ada INVENTEE"))
    told.done("erase", lambda: erase_student(shelf, shelf.get(Student, 1)))
    told.done("check", lambda: check_shelf(shelf))
    shelf.database.execute("PRAGMA foreign_keys = OFF")
    shelf.database.execute("INSERT INTO answer (uid, take, data, added) VALUES ('x', 99, '{}', '')")
    shelf.files.path(min(used_files(shelf))).write_bytes(b"other")
    told.done("harmed", lambda: check_shelf(shelf))
    assert_kept(KEPT / "kept.txt", told.text())


def test_versions_are_compared_place_by_place() -> None:
    def version(data: Any, **pieces: Any) -> LessonVersion:
        inside = {folder: json.dumps(one) for folder, one in pieces.items()}
        return LessonVersion(lesson=1, version=1, data=json.dumps(data), pieces=inside)

    before = {"schema": "x", "title": "One", "events": [1, 2, {"a": 1, "steps": 3}], "rows": [1, 2, 3], "gone": [1]}
    after = {
        "schema": "y",
        "title": "Two",
        "events": [1, 4, {"a": 2, "steps": 4}],
        "rows": [0, 1, 3, 4],
        "new": {"a": 1},
    }
    told = [f"{one.place} {one.before} {one.after}" for one in differences(version(before), version(after))]
    assert told == [
        "('title',) One Two", "('events', 1) 2 4", "('events', 2, 'a') 1 2", "('events', 2, 'steps') 3 4",
        "('rows', 0) None [0]", "('rows', 1) [2] None", "('rows', 3) None [4]", "('gone',) [1] None",
        "('new',) None {'a': 1}",
    ]  # fmt: skip
    assert differences(version({"steps": 1, "cautions": [1]}), version({"steps": 2})) == ()
    several = version({}, a={"b": 1}, same=[1], c=7), version({}, d={"b": 1}, same=[1], a={"b": 2})
    told = [f"{one.place} {one.before} {one.after}" for one in differences(*several)]
    assert told == ["('a', 'b') 1 2", "('c',) 7 None", "('d',) None {'b': 1}"]


def test_the_workbench_and_what_waits_row_by_row(told: Told, tmp_path: Path, monkeypatch) -> None:
    shelf = told.shelf
    monkeypatch.setattr("reedpath.shelf.drafts.MOST_STEPS", 2)
    told.done("new", lambda: new_draft(shelf, "{}", title="Élan"))
    told.done("new", lambda: new_draft(shelf, '{"b":1}'))
    for how in ("step", "step", "same", "undo", "redo", "redo", "undo", "undo", "undo", "step", "step", "step"):
        at = len(told.lines)
        said = {"title": f"At {at}", "sound": "s" * (at % 3), "how": how}
        told.done(how, partial(keep_draft, shelf, 1, f'{{"at":{at}}}', **said))
        told.done("steps", lambda: draft_steps(shelf, 1))
    told.done("away", lambda: put_away(shelf, 2))
    told.done("out again", lambda: put_away(shelf, 2, away=False))
    told.done("none", lambda: put_away(shelf, 7))
    told.done("all", lambda: all_drafts(shelf))
    recording = tmp_path / "hum.wav"
    recording.write_bytes(b"hummed, invented")
    told.step("student", lambda: shelf.add(Student(name="Ada")), lambda: add_lesson_version(shelf, lessons()[1]))
    told.done("waits", lambda: add_waiting_take(shelf, recording, name="hum\x07.wav"))
    told.done("waits", lambda: add_waiting_take(shelf, recording, name="b.wav", student=1, version=1, added="then"))
    told.done("heard", lambda: keep_findings(shelf, 1, '{"a":1}'))
    told.done("said", lambda: say_of_waiting_take(shelf, 1, student=1, version=1))
    told.done("said otherwise", lambda: say_of_waiting_take(shelf, 1, student=1, version=1, keeps=False))
    told.done("all that wait", lambda: all_waiting_takes(shelf))
    told.done("no such", lambda: keep_findings(shelf, 9, "x"))
    told.done("no such", lambda: remove_waiting_take(shelf, 9))
    told.done("gone, its sound waits still", lambda: remove_waiting_take(shelf, 1))
    told.done("heard and kept", lambda: end_waiting(shelf, 2))
    told.done("waits", lambda: add_waiting_take(shelf, recording, name="c.wav"))
    told.done("gone with its sound", lambda: remove_waiting_take(shelf, 3))
    assert_kept(KEPT / "workbench.txt", told.text())


def entries(shelf: Shelf, student: Student | None = None) -> tuple[bytes, list[str]]:
    """What a zip of it holds."""
    file = io.BytesIO()
    counts = export_shelf(shelf, file, student=student)
    told = [f"counts {counts}"]
    with zipfile.ZipFile(file) as zipped:
        for one in zipped.infolist():
            told.append(f"{one.filename} {one.compress_type} {brief(zipped.read(one).decode())}")
        told += close_json(json.loads(zipped.read("shelf.json"))).splitlines()
    return file.getvalue(), told


@pytest.mark.slow
def test_what_goes_out_and_comes_in_row_by_row(told: Told, tmp_path: Path) -> None:
    shelf = told.shelf
    fill(told)
    draft = new_draft(shelf, '{"a":1}', title="Draft")
    hum = shelf.files.keep(io.BytesIO(b"hummed"), name="h.wav")
    keep_draft(shelf, draft, '{"a":2}', title="Hummed", sound=hum, how="step")
    put_away(shelf, new_draft(shelf, '{"a":2}', title="Alike"))
    recording = tmp_path / "hum.wav"
    recording.write_bytes(b"waits")
    add_waiting_take(shelf, recording, name="w.wav", student=1, version=2)
    add_waiting_take(shelf, recording, name="v.wav")
    told.lines = []
    data, lines = entries(shelf)
    told.lines += ["# everything", *lines]
    one, lines = entries(shelf, shelf.get(Student, 1))
    told.lines += ["# a student", *lines]
    with Shelf(tmp_path / "b.sqlite", make=True) as other:
        there = Told(other)
        there.done("a student comes", lambda: import_shelf(other, io.BytesIO(one)))
        there.step("changed", lambda: other.change(replace(other.get(Student, 1), note="mine")))
        mine = replace(lessons()[1], data=lessons()[1].data + b" ")
        there.step("a version of mine", lambda: add_lesson_version(other, mine))
        there.done("all comes", lambda: import_shelf(other, io.BytesIO(data)))
        there.done("all comes again", lambda: import_shelf(other, io.BytesIO(data)))
        there.done("undone", lambda: other.undo())
        there.done("drafts stay", lambda: draft_steps(other, 1))
        there.done(
            "only drafts come", lambda: (other.redo(), put_away(other, 1), import_shelf(other, io.BytesIO(data)))
        )
    told.lines += there.lines
    assert_kept(KEPT / "exchange.txt", told.text())


def test_what_is_found_in_the_order_of_titles_or_by_a_tune(told: Told) -> None:
    shelf = told.shelf
    steps = {"Stairs": "c d e f g", "élan": "g e c g", "Émile": "e g b d5", "Zig zag": "c g d a e", "zag": "c e g c5"}
    for at, (title, names) in enumerate(steps.items()):
        notes = " ".join(name if name[-1].isdigit() else f"{name}4" for name in names.split())
        key = ("C", None, "Em", "G", "C")[at]
        tags, ways = (
            (("blues",), (), ("Blues", "slow"))[at % 3],
            (("draw_bends",), (), ("chords", "draw_bends"))[at % 3],
        )
        difficulty = (1.0, None, 0.5, 2.0, 1.5)[at]
        one = replace(played(title, 60, difficulty=difficulty, techniques=ways), phrase=phrase_of(notes, key=key))
        told.step("add", lambda one=one, tags=tags: add_phrase(shelf, one, tags=tags))
    told.lines = []
    search = PhraseSearch(shelf)
    melody = typed_melody("C E G C")
    queries = (
        PhraseQuery(), PhraseQuery("Z"), PhraseQuery("zag zig"), PhraseQuery("draw bends"), PhraseQuery("blu"),
        PhraseQuery(tags=("blues",)), PhraseQuery(tags=("BLUES", "slow")), PhraseQuery(tags=("blue",)),
        PhraseQuery(techniques=("draw_bends",)), PhraseQuery(techniques=("draw_bends", "chords")),
        PhraseQuery(easiest=1.0), PhraseQuery(hardest=1.0), PhraseQuery(easiest=0.6, hardest=1.5),
        PhraseQuery(key="C"), PhraseQuery(key="C", hardest=1.2), PhraseQuery(top=2), PhraseQuery(top=9),
        PhraseQuery(tune=melody), PhraseQuery(tune=melody, top=1), PhraseQuery("élan", tune=melody),
        PhraseQuery("nowhere", tune=melody),
    )  # fmt: skip
    for query in queries:
        found = search.find(query)
        told.lines += [f"# {query}", *map(str, found)]
    for skip in (0, 1, 4, 9):
        found, count = search.find_some(PhraseQuery(top=2), skip=skip)
        told.lines += [f"# from {skip}: {count}", *(one.title for one in found)]
    with shelf.step("remove"):
        shelf.remove(shelf.get(KeptPhrase, 3))
    told.lines += ["# after one is gone", *(one.title for one in search.find(PhraseQuery()))]
    told.lines += [str(one.number) for one in search.find(PhraseQuery(tune=melody))]
    told.lines += [str(search.numbered(1))]
    with pytest.raises(ReedpathError, match="3"):
        search.numbered(3)
    assert_kept(KEPT / "found.txt", told.text())
