"""What is kept, changed, removed, undone and done again; and shelves that are none, newer, or open elsewhere."""

from __future__ import annotations

import io
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.errors import ReadError, ReedpathError, SettingsError
from reedpath.phrase import decode_phrase
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from reedpath.shelf import (
    KeptAnswer,
    KeptHeldNote,
    KeptLetter,
    KeptPhrase,
    KeptTake,
    LessonVersion,
    OwnedHarp,
    PhrasePlayed,
    PhraseQuery,
    PhraseSearch,
    Shelf,
    Student,
    add_phrase,
    check_shelf,
    differences,
    erase_student,
    opening,
    students_called,
    used_files,
)
from reedpath.shelf.records import KINDS
from reedpath.shelf.searching import melodies_of
from support.examples import examples
from support.shelves import contents, filled, played


def test_what_is_kept_is_there_when_the_shelf_is_opened_again(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        before = contents(shelf)
    with Shelf(tmp_path / "a.sqlite") as shelf:
        assert contents(shelf) == before
        assert [one.title for one in before["phrase"]] == ["Up the stairs", "Élan"]
        assert shelf.get(KeptPhrase, 1).melody.midi == (60, 62, 64, 65)
        assert shelf.counts() == {kind: len(records) for kind, records in before.items()}
        assert check_shelf(shelf).is_whole
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.sqlite", "a.sqlite.files"]


def test_a_phrase_is_shown_by_its_number(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        search = PhraseSearch(shelf)
        assert [search.numbered(one.number) for one in search.find(PhraseQuery())] == search.find(PhraseQuery())
        with pytest.raises(SettingsError) as caught:
            search.numbered(99)
        assert caught.value.key == "shelf.no_record"


def test_every_step_can_be_undone_and_done_again_also_after_a_restart(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    with filled(path) as shelf:
        full = contents(shelf)
        with shelf.step("remove"):
            shelf.remove(shelf.get(Student, 1))
            shelf.change(replace(shelf.get(KeptPhrase, 1), title="Down the stairs", tags=()))
        assert shelf.all(KeptTake) == shelf.all(KeptAnswer) == []
        assert [one.key for one in shelf.all(OwnedHarp)] == ["C"]
        last = contents(shelf)
    with Shelf(path) as shelf:
        step = shelf.undo()
        assert step is not None
        assert (step.what, step.records) == ("remove", 5)
        assert contents(shelf) == full
        assert [one.title for one in PhraseSearch(shelf).find(PhraseQuery("up the"))] == ["Up the stairs"]
    with Shelf(path) as shelf:
        assert shelf.redo() is not None
        assert contents(shelf) == last
        assert PhraseSearch(shelf).find(PhraseQuery("up the")) == []
        while shelf.undo():
            pass
        assert not any(contents(shelf).values())
        assert [one.what for one in shelf.steps(undone=True)] == ["add", "student", "take", "remove"]
        while shelf.redo():
            pass
        assert contents(shelf) == last


def test_a_new_change_takes_the_place_of_what_was_undone_and_no_change_is_no_step(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        shelf.undo()
        with shelf.step("words"):
            shelf.get(KeptPhrase, 1)
        assert len(shelf.steps(undone=True)) == 1
        with shelf.step("words"):
            shelf.change(replace(shelf.get(KeptPhrase, 1), title="Other"))
        assert shelf.steps(undone=True) == []
        assert shelf.redo() is None


def test_a_step_that_fails_leaves_all_as_it_was(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        before, steps = contents(shelf), shelf.steps()

        def broken_off() -> None:
            with shelf.step("add"):
                add_phrase(shelf, played("Half", 60, 61, 62))
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            broken_off()
        assert (contents(shelf), shelf.steps()) == (before, steps)


ACTIONS = st.lists(
    st.tuples(st.sampled_from(["phrase", "student", "take", "words", "remove", "undo", "redo"]), st.integers(0, 5)),
    max_size=25,
)


def act(shelf: Shelf, action: str, which: int) -> None:
    """One random change."""
    students, phrases = shelf.all(Student), shelf.all(KeptPhrase)
    with shelf.step(action):
        if action == "phrase":
            add_phrase(shelf, played(f"Phrase {which}", 60 + which, 62, 64))
        elif action == "student" or not students:
            who = shelf.add(Student(name=f"Student {which}"))
            shelf.add(OwnedHarp(student=who.number, key="A"))
        elif action == "take":
            take = shelf.add(
                KeptTake(student=students[which % len(students)].number, name=f"take {which}\x00\x1b[1m")
            )
            shelf.add(KeptAnswer(take=take.number, data="{}"))
        elif action == "words" and phrases:
            shelf.change(replace(phrases[which % len(phrases)], title=f"Title {which}", tags=("a", "é")))
        elif action == "remove":
            shelf.remove(students[which % len(students)])


@examples(40, fixture=True)
@given(actions=ACTIONS)
def test_random_changes_undone_give_the_empty_shelf_and_done_again_the_last(tmp_path_factory, actions) -> None:
    path = tmp_path_factory.mktemp("random") / "a.sqlite"
    states = []
    with Shelf(path, make=True) as shelf:
        for action, which in actions:
            if action in ("undo", "redo"):
                shelf.undo() if action == "undo" else shelf.redo()
            else:
                act(shelf, action, which)
        while shelf.redo():
            pass
        states.append(contents(shelf))
        while shelf.undo():
            states.append(contents(shelf))
        assert not any(states[-1].values())
        for state in reversed(states[:-1]):
            assert shelf.redo() is not None
            assert contents(shelf) == state
        assert shelf.redo() is None
        words = shelf.database.execute("SELECT rowid FROM phrase_words ORDER BY rowid").fetchall()
        assert [row[0] for row in words] == [one.number for one in states[0]["phrase"]]
        assert check_shelf(shelf).is_whole


def held_note(student: int | None) -> KeptHeldNote:
    return KeptHeldNote(
        student=student, key="A", move="-3''", seconds=4.5, cents=-2.0, unsteady_cents=3.0, tolerance_cents=15.0
    )


def test_held_notes_are_undone_and_go_with_their_student(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        with shelf.step("held_note"):
            shelf.add(held_note(1))
        with shelf.step("held_note"):
            shelf.add(held_note(None))
        shelf.undo()
        assert [one.student for one in shelf.all(KeptHeldNote)] == [1]
        shelf.redo()
        erase_student(shelf, shelf.get(Student, 1))
        assert [one.student for one in shelf.all(KeptHeldNote)] == [None]


def test_a_student_is_erased_from_records_journal_files_and_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    with filled(path) as shelf:
        with shelf.step("words"):
            shelf.change(replace(shelf.get(Student, 1), note="a secret wish"))
        with shelf.step("letter"):
            shelf.add(KeptLetter(student=1, language="en", proposed="Dear Ada Inventée", text="my words"))
        with shelf.step("letter"):
            shelf.change(replace(shelf.get(KeptLetter, 1), text="my words, changed"))
        with shelf.step("remove"):
            shelf.remove(shelf.get(Student, 1))
        (ada,) = students_called(shelf, "ada inventee")
        assert len(used_files(shelf)) == 1
        erase_student(shelf, ada)
        assert used_files(shelf) == set()
        assert list(shelf.files.names()) == []
        while shelf.undo():
            assert [one.name for one in shelf.all(Student)] in (["Bo"], [])
        while shelf.redo():
            pass
        assert [one.name for one in shelf.all(Student)] == ["Bo"]
        assert [one.key for one in shelf.all(OwnedHarp)] == ["C"]
        assert check_shelf(shelf).is_whole
        bytes_there = b"".join(one.read_bytes() for one in tmp_path.iterdir() if one.is_file())
    bytes_there += path.read_bytes()
    for word in ("Invent", "left-handed", "secret wish", "Take 1", "Low F", "my words"):
        assert word.encode() not in bytes_there


def test_files_are_kept_once_by_their_hash_and_swept_when_nothing_names_them(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        (name,) = shelf.files.names()
        assert shelf.files.keep(io.BytesIO(b"RIFF, invented"), name="other.wav") == name
        stray = shelf.files.keep(io.BytesIO(b"nobody's"), name="../../x.we!rd")
        assert "." not in stray
        (shelf.files.folder / "left.part").write_bytes(b"half")
        (shelf.files.folder / "notes of hers.txt").write_bytes(b"mine")
        found = check_shelf(shelf)
        assert (found.is_whole, found.cleared) == (True, 1)
        assert sorted(one.name for one in shelf.files.folder.iterdir()) == [name, "notes of hers.txt"]
        (shelf.files.folder / name).write_bytes(b"RIFF, tampered")
        assert check_shelf(shelf).lost == (name,)
        with pytest.raises(ValueError, match="etc"):
            shelf.files.path("../etc")


def test_one_program_opens_a_shelf_at_a_time_and_a_killed_one_holds_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    filled(path).close()
    code = (
        "import sys; from pathlib import Path; from reedpath.shelf import Shelf\n"
        "s = Shelf(Path(sys.argv[1])); print('open', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        other.stdout.readline()
        with pytest.raises(SettingsError, match="open in another program"):
            Shelf(path)
        other.kill()
    with Shelf(path) as shelf:
        assert len(shelf.all(Student)) == 2


def wrong(path: Path, *, make: bool = False) -> str:
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(ReedpathError) as told:
        Shelf(path, make=make)
    assert (path.read_bytes() if path.is_file() else None) == before
    assert not path.with_name(f"{path.name}.lock").exists()
    assert str(path) in str(told.value)
    return told.value.key


def test_what_is_no_shelf_is_told_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "tune.abc").write_text("X:1\nK:C\nCDEF|\n" * 99)
    assert wrong(tmp_path / "tune.abc", make=True) == "shelf.no_shelf"
    assert wrong(tmp_path / "none.sqlite") == "shelf.none_there"
    assert wrong(tmp_path / "tune.abc" / "a.sqlite", make=True) == "shelf.disk"
    assert wrong(tmp_path, make=True) == "jobs.is_folder"
    with sqlite3.connect(tmp_path / "other.sqlite") as other:
        other.execute("CREATE TABLE mine (x)")
    other.close()
    assert wrong(tmp_path / "other.sqlite", make=True) == "shelf.no_shelf"
    (tmp_path / "short.sqlite").write_bytes(b"SQLite format 3\x00" + bytes(100))
    assert wrong(tmp_path / "short.sqlite") in ("shelf.no_shelf", "shelf.damaged")
    (tmp_path / "empty.sqlite").write_bytes(b"")
    with Shelf(tmp_path / "empty.sqlite") as shelf:
        assert not any(contents(shelf).values())


def test_a_damaged_shelf_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    filled(path).close()
    data = bytearray(path.read_bytes())
    data[4096:] = bytes(byte ^ 0x5A for byte in data[4096:])
    path.write_bytes(bytes(data))
    with pytest.raises(ReadError, match="damaged"), Shelf(path) as shelf:
        contents(shelf)


@pytest.mark.parametrize(
    "change", ["UPDATE phrase SET tags = '7'", "UPDATE phrase SET tags = 'no JSON'", "UPDATE phrase SET uid = 'mine'"]
)
def test_a_record_that_another_program_has_written_wrong_is_told(tmp_path: Path, change: str) -> None:
    path = tmp_path / "a.sqlite"
    filled(path).close()
    with sqlite3.connect(path) as other:
        other.execute(f"{change} WHERE number = 1")
    other.close()
    with Shelf(path) as shelf, pytest.raises(ReadError, match="damaged"):
        shelf.all(KeptPhrase)


def test_a_newer_shelf_is_told_and_an_older_one_is_brought_up(tmp_path: Path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    with filled(path) as shelf:
        before = contents(shelf)
    more = "CREATE TABLE extra (number INTEGER PRIMARY KEY);\nINSERT INTO extra VALUES (7);\n"
    known = opening.migrations()
    monkeypatch.setattr(opening, "migrations", lambda: (*known, more))
    monkeypatch.setattr(opening, "VERSION", len(known) + 1)
    with Shelf(path) as shelf:
        assert contents(shelf) == before
        assert shelf.database.execute("SELECT number FROM extra").fetchone()[0] == 7
    monkeypatch.undo()
    assert wrong(path) == "shelf.newer"


def test_a_shelf_of_the_first_version_is_brought_up_with_all_that_it_has(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    first = sqlite3.connect(path)
    first.executescript(opening.migrations()[0])
    first.execute("INSERT INTO student VALUES (1, 'ab12cd34ab12cd34', 'Ada (invented)', 'easy', '[]', '', '')")
    first.execute("INSERT INTO take VALUES (1, 'ab12cd34ab12cd35', 1, NULL, 'take.wav', '', '', '')")
    first.execute(f"PRAGMA application_id = {opening.APPLICATION_ID}")
    first.execute("PRAGMA user_version = 1")
    first.commit()
    first.close()
    with Shelf(path) as shelf:
        assert [one.name for one in shelf.all(Student)] == ["Ada (invented)"]
        assert shelf.counts()["take"] == 1
        assert shelf.all(KeptLetter) == []
        with shelf.step("letter"):
            shelf.add(KeptLetter(student=1, language="en", proposed="a", text="b"))
        with shelf.step("remove"):
            shelf.remove(shelf.get(Student, 1))
        assert shelf.all(KeptLetter) == []
        shelf.undo()
        assert [one.text for one in shelf.all(KeptLetter)] == ["b"]


def test_a_migration_that_fails_changes_nothing(tmp_path: Path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    filled(path).close()
    known = opening.migrations()
    monkeypatch.setattr(opening, "migrations", lambda: (*known, "CREATE TABLE extra (x);\nNONSENSE;\n"))
    monkeypatch.setattr(opening, "VERSION", len(known) + 1)
    with pytest.raises(sqlite3.OperationalError):
        Shelf(path)
    monkeypatch.undo()
    with Shelf(path) as shelf:
        assert shelf.database.execute("SELECT count(*) FROM sqlite_master WHERE name = 'extra'").fetchone()[0] == 0


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_shelf_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    filled(path).close()
    tmp_path.chmod(0o500)
    with pytest.raises(SettingsError):
        Shelf(path)


def test_every_kind_has_a_table_whose_columns_are_its_fields(tmp_path: Path) -> None:
    with Shelf(tmp_path / "a.sqlite", make=True) as shelf:
        for kind, record in KINDS.items():
            columns = [row["name"] for row in shelf.database.execute(f"PRAGMA table_info({kind})")]
            assert sorted(columns) == sorted(record.__struct_fields__)
        modes = [shelf.database.execute(f"PRAGMA {one}").fetchone()[0] for one in ("journal_mode", "synchronous")]
        assert modes == ["wal", 2]
        assert shelf.database.execute("PRAGMA foreign_keys").fetchone()[0] == 1


def test_words_tags_techniques_key_and_difficulty_are_all_fulfilled_in_the_order_of_titles(tmp_path):
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        search = PhraseSearch(shelf)
        with shelf.step("add"):
            for title, tags, techniques, difficulty in (
                ("Élan (invented)", ("Slow",), ("draw_bends",), 2.0),
                ("Down 100% (invented)", ("slow air",), ("draw_bends", "chords"), 3.0),
                ("Always (invented)", ("slow", "é"), ("chords",), 4.0),
            ):
                one = replace(played(title, 60 + int(difficulty), difficulty=difficulty), techniques=techniques)
                add_phrase(shelf, one, tags=tags)
        for query, found in (
            (PhraseQuery(), "ADÉ"),
            (PhraseQuery("inv draw bends"), "DÉ"),
            (PhraseQuery("el"), "É"),
            (PhraseQuery("0%"), "D"),
            (PhraseQuery("_"), ""),
            (PhraseQuery(tags=("slow",)), "AÉ"),
            (PhraseQuery(tags=("SLOW", "e")), "A"),
            (PhraseQuery(tags=("air",)), ""),
            (PhraseQuery(techniques=("draw_bends", "chords")), "D"),
            (PhraseQuery("slow", easiest=2.5, hardest=3.5), "D"),
            (PhraseQuery(key="Am"), ""),
        ):
            assert "".join(one.title[0] for one in search.find(query)) == found, query
        with shelf.step("words"):
            shelf.change(replace(shelf.get(KeptPhrase, 1), title="Zest (invented)"))
        assert [one.title[0] for one in search.find(PhraseQuery())] == ["A", "D", "Z"]
        assert (shelf.next_word(), shelf.next_word(undone=True)) == ("words", None)
        shelf.undo()
        assert (shelf.next_word(), shelf.next_word(undone=True)) == ("add", "words")
        assert [one.title[0] for one in search.find(PhraseQuery())] == ["A", "D", "É"]


def test_a_phrase_kept_before_its_spelling_was_known_is_the_same_phrase(tmp_path: Path) -> None:
    now = read_phrase(b"X:1\nL:1/4\nK:Ddor\nA ^G A B|", format="abc")
    events = tuple(replace(event, fifths=()) for event in now.events)
    before = replace(now, events=events, key=Key(2, "minor"))
    with Shelf(tmp_path / "a.sqlite", make=True) as shelf:
        with shelf.step("add"):
            kept, is_new = add_phrase(shelf, PhrasePlayed(before, "Up and down"), tags=("slow",))
        assert is_new
        with shelf.step("add"):
            again, is_new = add_phrase(shelf, PhrasePlayed(now, "Up and down"))
        assert (again.uid, is_new, again.tags) == (kept.uid, False, ("slow",))
        assert decode_phrase(again.data.encode()) == now
        assert len(shelf.all(KeptPhrase)) == 1
        shelf.undo()
        assert decode_phrase(shelf.all(KeptPhrase)[0].data.encode()) == before


def test_versions_of_a_lesson_of_pieces_differ_piece_by_piece() -> None:
    before = LessonVersion(lesson=1, version=1, data='{"title": "A"}', pieces={"a": '{"x": 1}', "b": '{"y": 1}'})
    after = LessonVersion(lesson=1, version=2, data='{"title": "B"}', pieces={"a": '{"x": 2}', "c": '{"z": 1}'})
    told = [(one.place, one.before, one.after) for one in differences(before, after)]
    assert told == [
        (("title",), "A", "B"),
        (("a", "x"), 1, 2),
        (("b",), {"y": 1}, None),
        (("c",), None, {"z": 1}),
    ]


def test_melodies_are_had_by_the_numbers_of_their_phrases(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        first, second = shelf.all(KeptPhrase)
        assert melodies_of(shelf, [second.number, first.number]) == {
            first.number: first.melody,
            second.number: second.melody,
        }
        assert melodies_of(shelf, [second.number]) == {second.number: second.melody}
