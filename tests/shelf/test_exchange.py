"""Everything, or one student, out as a zip and in again; and zips that are none, lie, or swell."""

from __future__ import annotations

import hashlib
import io
import json
import random
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import schema_of
from reedpath.errors import ReadError, ReedpathError
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.phrase import decode_phrase
from reedpath.shelf import (
    KeptAnswer,
    KeptHeldNote,
    KeptLetter,
    KeptPhrase,
    KeptTake,
    LessonToKeep,
    LessonVersion,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_lesson_version,
    add_phrase,
    add_waiting_take,
    all_drafts,
    all_waiting_takes,
    check_shelf,
    check_zip,
    draft_steps,
    export_shelf,
    import_shelf,
    keep_draft,
    keep_findings,
    melody_of,
    new_draft,
    put_away,
)
from reedpath.shelf.records import KINDS
from support.examples import examples
from support.kept_texts import assert_kept
from support.phrases import phrase_of
from support.pieces import lesson_of_pieces
from support.routes import route_of
from support.schemas import schemas
from support.shelves import contents, filled, played, put_lesson


def exported(shelf: Shelf, student: Student | None = None) -> bytes:
    file = io.BytesIO()
    export_shelf(shelf, file, student=student)
    return file.getvalue()


def test_a_copy_goes_out_as_the_shelf_it_was_copied_from(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as shelf:
        before = exported(shelf)
        shelf.copy_to(tmp_path / "copy.sqlite")
        with shelf.step("words"):
            shelf.add(Student(name="Later (invented)"))
        assert exported(shelf) != before
        with Shelf(tmp_path / "copy.sqlite", files=shelf.files) as copy:
            assert exported(copy) == before


def taught(tmp_path: Path) -> Shelf:
    """A shelf with a lesson of two versions too, the second of which a take plays."""
    shelf = filled(tmp_path / "a.sqlite")
    route = route_of(phrase_of("c4 1/4 d4 e4 g4"))
    kept = shelf.files.keep(io.BytesIO(b"a film, invented"), name="film.mp4")
    with shelf.step("add"):
        for title in ("First", "First, again"):
            data = encode_lesson(make_lesson(route, title=title))
            made = LessonToKeep("A lesson", data, taught=(PhrasePlayed(route.phrase, "A lesson", 0.5),))
            version, _ = add_lesson_version(shelf, made, files={"film.mp4": kept})
        shelf.add(KeptTake(student=2, version=version.number, name="take.wav"))
    return shelf


def test_everything_comes_back_the_same(tmp_path: Path) -> None:
    with taught(tmp_path) as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        data = exported(shelf)
        found = import_shelf(other, io.BytesIO(data))
        assert dict(found.added) == shelf.counts()
        assert (found.there, found.kept, found.lost) == (0, (), ())
        assert contents(other) == contents(shelf)
        assert exported(other) == data
        assert list(other.files.names()) == list(shelf.files.names())
        assert check_shelf(other).is_whole
        again = import_shelf(other, io.BytesIO(data))
        assert (sum(again.added.values()), again.there) == (0, sum(shelf.counts().values()))
        assert len(other.steps()) == 1
        other.undo()
        assert not any(contents(other).values())


def test_a_lesson_of_several_pieces_comes_back_with_all_of_them(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        put_lesson(shelf, lesson_of_pieces())
        import_shelf(other, io.BytesIO(exported(shelf)))
        (kept,), (found,) = shelf.all(LessonVersion), other.all(LessonVersion)
        assert len(kept.pieces) > 1
        assert found.pieces == kept.pieces


def test_a_zip_holds_open_formats_that_the_program_reads_elsewhere(tmp_path: Path) -> None:
    with taught(tmp_path) as shelf, zipfile.ZipFile(io.BytesIO(exported(shelf))) as zipped:
        names = zipped.namelist()
        phrases = [name for name in names if name.startswith("phrases/")]
        assert len(phrases) == 3
        assert [decode_phrase(zipped.read(name)).end for name in phrases] == [4, 4, 4]
        lessons = [schema_of(zipped.read(name)) for name in names if name.startswith("lessons/")]
        assert lessons == ["reedpath/lesson"] * 2
        assert schema_of(zipped.read("shelf.json")) == "reedpath/shelf"
        sounds = {zipped.read(name) for name in names if name.startswith("files/")}
        assert sounds == {b"RIFF, invented", b"a film, invented"}
        assert {name[-4:] for name in names if name.startswith("files/")} == {".wav", ".mp4"}


def test_one_student_goes_with_the_lessons_that_were_played_and_nobody_else(tmp_path: Path) -> None:
    with taught(tmp_path) as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        ada, bo = shelf.all(Student)
        with shelf.step("letter"):
            shelf.add(KeptLetter(student=ada.number, language="en", proposed="Dear Ada", text="my words"))
        data = exported(shelf, ada)
        import_shelf(other, io.BytesIO(data))
        assert [one.name for one in other.all(Student)] == ["Ada Inventée"]
        assert [one.key for one in other.all(OwnedHarp)] == ["Low F"]
        assert len(other.all(KeptAnswer)) == len(other.all(KeptTake)) == 1
        assert [one.text for one in other.all(KeptLetter)] == ["my words"]
        assert other.all(LessonVersion) == other.all(KeptPhrase) == []
        assert b"Bo" not in zipfile.ZipFile(io.BytesIO(data)).read("shelf.json")
        import_shelf(other, io.BytesIO(exported(shelf, bo)))
        assert len(other.all(KeptLetter)) == 1
        (version,) = other.all(LessonVersion)
        assert version.version == 2
        assert [one.title for one in other.all(KeptPhrase)] == ["A lesson"]


def test_what_is_on_the_shelf_stays_as_it_is_there(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        data = exported(shelf)
        with shelf.step("words"):
            shelf.change(KeptPhrase(**dict(as_fields(shelf.get(KeptPhrase, 1)), title="Mine")))
        before = contents(shelf)
        found = import_shelf(shelf, io.BytesIO(data))
        assert found.kept == ("Mine",)
        assert contents(shelf) == before


def as_fields(record: KeptPhrase) -> dict[str, object]:
    return {name: getattr(record, name) for name in record.__struct_fields__}


@examples(25, fixture=True)
@given(
    phrases=st.lists(
        st.tuples(
            st.text(max_size=20), st.lists(st.integers(40, 90), min_size=1, max_size=6), st.sets(st.text(max_size=5))
        ),
        max_size=5,
    ),
    students=st.lists(st.tuples(st.text(max_size=20), st.text(max_size=30)), max_size=4),
)  # fmt: skip
def test_whatever_is_kept_comes_back_the_same(tmp_path_factory, phrases, students) -> None:
    folder = tmp_path_factory.mktemp("exchange")
    with Shelf(folder / "a.sqlite", make=True) as shelf, Shelf(folder / "b.sqlite", make=True) as other:
        with shelf.step("add"):
            for title, midi, tags in phrases:
                add_phrase(shelf, played(title, *midi, difficulty=len(midi) / 7), tags=sorted(tags))
            for name, note in students:
                who = shelf.add(Student(name=name, note=note))
                take = shelf.add(KeptTake(student=who.number, name=name))
                shelf.add(KeptAnswer(take=take.number, data='{"schema": "reedpath/answer", "version": 2}'))
        import_shelf(other, io.BytesIO(exported(shelf)))
        assert contents(other) == contents(shelf)
        assert exported(other) == exported(shelf)


def remade(data: bytes, change: Callable[[dict[str, bytes]], None]) -> bytes:
    """A zip with its entries changed."""
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        entries = {name: zipped.read(name) for name in zipped.namelist()}
    change(entries)
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, text in entries.items():
            zipped.writestr(name, text)
    return file.getvalue()


def listed(entries: dict[str, bytes], change: Callable[[dict], None]) -> None:
    plain = json.loads(entries["shelf.json"])
    change(plain["records"])
    entries["shelf.json"] = json.dumps(plain).encode()


def newer(entries: dict[str, bytes]) -> None:
    entries["shelf.json"] = entries["shelf.json"].replace(b'"version": 1', b'"version": 9', 1)


def bomb(entries: dict[str, bytes]) -> None:
    entries[next(name for name in entries if name.startswith("phrases/"))] = b"[" * 50_000_000


HOSTILE = {
    "shelf.zip_without": lambda e: e.pop("shelf.json"),
    "data.newer": newer,
    "shelf.zip_too_large": bomb,
    "data.no_json": lambda e: e.update({"shelf.json": b"{nonsense"}),
    "data.other_schema": lambda e: e.update({"shelf.json": b'{"schema": "reedpath/phrase", "version": 1}'}),
    "shelf.no_uid": lambda e: listed(e, lambda r: r["phrase"].append(r["phrase"][0])),
    "shelf.no_owner": lambda e: listed(e, lambda r: r["take"][0].update(student="0" * 16)),
    "data.wrong_kind": lambda e: listed(e, lambda r: r.update(student=[7])),
    "shelf.zip_changed": lambda e: e.update({n: b"RIFF, other" for n in e if n.startswith("files/")}),
}


@pytest.mark.parametrize("key", HOSTILE)
def test_a_hostile_zip_is_refused_and_changes_nothing(tmp_path: Path, key: str) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        data = exported(shelf)
    with Shelf(tmp_path / "b.sqlite", make=True) as other:
        with pytest.raises(ReedpathError) as told:
            import_shelf(other, io.BytesIO(remade(data, HOSTILE[key])))
        assert told.value.key == key
        assert str(told.value)
        assert not any(contents(other).values())
        assert other.steps() == []


@pytest.mark.parametrize("owner", [{}, [1], 7, 10**30, "", "x" * 16])
def test_an_owner_that_is_none_is_told(tmp_path: Path, owner: object) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        data = remade(exported(shelf), lambda e: listed(e, lambda r: r["take"][0].update(student=owner)))
    with Shelf(tmp_path / "b.sqlite", make=True) as other, pytest.raises(ReadError, match="which is not in the zip"):
        import_shelf(other, io.BytesIO(data))


@pytest.mark.parametrize(
    "field",
    [
        {"uid": "../../../etc/passwd"},
        {"sound": "../../evil.wav"},
        {"sound": "/etc/passwd"},
        {"name": 7},
        {"name": "x" * 9999},
    ],
)
def test_no_name_in_a_zip_becomes_a_path(tmp_path: Path, field: dict[str, object]) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        data = remade(exported(shelf), lambda e: listed(e, lambda r: r["take"][0].update(field)))
    with Shelf(tmp_path / "b.sqlite", make=True) as other, pytest.raises(ReadError, match=r"shelf\.json"):
        import_shelf(other, io.BytesIO(data))
    assert sorted(one.name for one in tmp_path.iterdir()) == ["a.sqlite", "a.sqlite.files", "b.sqlite"]


def test_names_beside_the_list_are_never_looked_at(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as shelf:
        data = remade(exported(shelf), lambda e: e.update({"../evil.txt": b"x", "/abs": b"x", "files/../../y": b"x"}))
        before = contents(shelf)
    with Shelf(tmp_path / "b.sqlite", make=True) as other:
        import_shelf(other, io.BytesIO(data))
        assert contents(other) == before
    assert not (tmp_path / "evil.txt").exists()


def test_a_lost_sound_is_told_and_the_rest_is_brought_in(tmp_path: Path) -> None:
    def without(entries: dict[str, bytes]) -> None:
        for name in [name for name in entries if name.startswith("files/")]:
            del entries[name]

    with filled(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        found = import_shelf(other, io.BytesIO(remade(exported(shelf), without)))
        assert found.lost == tuple(shelf.files.names())
        assert check_shelf(other).lost == found.lost


@pytest.mark.slow
def test_bytes_changed_at_random_are_read_or_refused_in_words(tmp_path: Path) -> None:
    draw = random.Random(11)
    with taught(tmp_path) as shelf:
        data = exported(shelf)
        stored = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(data)) as zipped, zipfile.ZipFile(stored, "w") as to:
            for name in zipped.namelist():
                to.writestr(name, zipped.read(name))
    for turn in range(150):
        changed = bytearray(data if turn % 2 else stored.getvalue())
        for _ in range(draw.choice((1, 1, 3, 20))):
            changed[draw.randrange(len(changed))] = draw.randrange(256)
        if turn % 5 == 0:
            del changed[draw.randrange(len(changed)) :]
        with Shelf(tmp_path / f"{turn}.sqlite", make=True) as other:
            told = None
            try:
                import_shelf(other, io.BytesIO(bytes(changed)))
            except ReedpathError as error:
                told = str(error)
            assert told is None or (told and not any(contents(other).values()))
            assert check_shelf(other).problems == ()


def test_the_list_names_every_kind(tmp_path: Path) -> None:
    with taught(tmp_path) as shelf, zipfile.ZipFile(io.BytesIO(exported(shelf))) as zipped:
        assert list(json.loads(zipped.read("shelf.json"))["records"]) == list(KINDS)


def with_drafts(path: Path) -> Shelf:
    """A shelf with three drafts: one that was heard in a recording, one that was put away, and an empty one."""
    shelf = filled(path)
    sound = shelf.files.keep(io.BytesIO(b"hummed, invented"), name="hum.wav")
    hummed = new_draft(shelf, '{"title":"before"}')
    keep_draft(shelf, hummed, '{"title":"Élan, hummed"}', title="Élan, hummed", sound=sound, how="step")
    put_away(shelf, new_draft(shelf, '{"text":"4 -4"}', title="Two notes"))
    new_draft(shelf, "{}")
    return shelf


def drafts_of(shelf: Shelf) -> list[tuple[object, ...]]:
    return sorted((one.title, one.changed, one.away, draft_steps(shelf, one.number).now) for one in all_drafts(shelf))


def test_the_drafts_of_the_workbench_go_with_everything(tmp_path: Path) -> None:
    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        data = exported(shelf)
        with zipfile.ZipFile(io.BytesIO(data)) as zipped:
            drafts = {zipped.read(name).decode() for name in zipped.namelist() if name.startswith("drafts/")}
        assert drafts == {'{"title":"Élan, hummed"}', '{"text":"4 -4"}', "{}"}
        found = import_shelf(other, io.BytesIO(data))
        assert (found.drafts, found.lost) == (3, ())
        assert drafts_of(other) == drafts_of(shelf)
        assert list(other.files.names()) == list(shelf.files.names())
        assert check_shelf(other).cleared == 0
        assert exported(other) == data
        again = import_shelf(other, io.BytesIO(data))
        assert (again.drafts, again.there) == (0, found.there + sum(found.added.values()) + 3)
        assert len(all_drafts(other)) == 3


def test_drafts_come_in_where_all_else_is_there_already_and_what_was_undone_can_be_done_again(tmp_path: Path) -> None:
    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        data = exported(shelf)
        import_shelf(other, io.BytesIO(data))
        with other.step("harp"):
            other.add(OwnedHarp(key="A"))
        other.undo()
        keep_draft(other, all_drafts(other)[0].number, '{"text":"6"}', title="", sound="", how="step")
        found = import_shelf(other, io.BytesIO(data))
        assert (sum(found.added.values()), found.drafts) == (0, 1)
        assert len(all_drafts(other)) == 4
        assert other.redo() is not None


def test_two_drafts_alike_are_one_in_the_zip_and_not_put_away_where_one_is_not(tmp_path: Path) -> None:
    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        new_draft(shelf, '{"text":"4 -4"}', title="Again")
        data = exported(shelf)
        import_shelf(other, io.BytesIO(data))
        assert [(one.title, one.away) for one in all_drafts(other) if one.title in ("Again", "Two notes")] == [
            ("Again", False)
        ]
        assert exported(other) == data


def test_a_students_zip_has_no_draft(tmp_path: Path) -> None:
    with with_drafts(tmp_path / "a.sqlite") as shelf:
        data = exported(shelf, shelf.all(Student)[0])
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        assert not [name for name in zipped.namelist() if name.startswith("drafts/")]
        assert json.loads(zipped.read("shelf.json"))["drafts"] == []
        assert b"hummed, invented" not in {zipped.read(name) for name in zipped.namelist()}


def test_a_zip_of_before_there_were_drafts_in_it_still_comes_in(tmp_path: Path) -> None:
    def older(entries: dict[str, bytes]) -> None:
        plain = json.loads(entries["shelf.json"])
        del plain["drafts"]
        entries["shelf.json"] = json.dumps(plain).encode()

    with filled(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        assert import_shelf(other, io.BytesIO(remade(exported(shelf), older))).drafts == 0
        assert contents(other) == contents(shelf)


def draft_named(entries: dict[str, bytes], data: bytes) -> None:
    """A draft of such bytes, under the name that they have."""
    uid = hashlib.sha256(data).hexdigest()[:16]
    listed_draft(entries, lambda drafts: drafts.append({"uid": uid}))
    entries[f"drafts/{uid}.json"] = data


def listed_draft(entries: dict[str, bytes], change: Callable[[list], None]) -> None:
    plain = json.loads(entries["shelf.json"])
    change(plain["drafts"])
    entries["shelf.json"] = json.dumps(plain).encode()


HOSTILE_DRAFTS = {
    "no JSON": ("data.no_json", lambda e: draft_named(e, b"{nonsense")),
    "no object": ("data.wrong_kind", lambda e: draft_named(e, b"[7]")),
    "too deep": ("data.too_deep", lambda e: draft_named(e, b'{"a":' * 100_000)),
    "not UTF-8": ("data.no_json", lambda e: draft_named(e, b'{"a":"\xff"}')),
    "a bomb": ("shelf.zip_too_large", lambda e: draft_named(e, b'{"title":"' + b"a" * 50_000_000 + b'"}')),
    "other bytes": ("shelf.zip_changed", lambda e: e.update({n: b"{ }" for n in e if n.startswith("drafts/")})),
    "missing": ("shelf.zip_without", lambda e: [e.pop(n) for n in list(e) if n.startswith("drafts/")]),
    "listed twice": ("shelf.no_uid", lambda e: listed_draft(e, lambda d: d.append(d[0]))),
    "no name": ("shelf.no_uid", lambda e: listed_draft(e, lambda d: d.append({"uid": ""}))),
    "a path": ("data.does_not_hold", lambda e: listed_draft(e, lambda d: d.append({"uid": "../../../etc/pas"}))),
    "a sound's path": ("data.does_not_hold", lambda e: listed_draft(e, lambda d: d[0].update(sound="../a.wav"))),
    "a title too long": ("data.does_not_hold", lambda e: listed_draft(e, lambda d: d[0].update(title="x" * 9999))),
}  # fmt: skip


@pytest.mark.parametrize("what", HOSTILE_DRAFTS)
def test_a_draft_that_does_not_hold_keeps_all_of_its_zip_out(tmp_path: Path, what: str) -> None:
    key, change = HOSTILE_DRAFTS[what]
    with with_drafts(tmp_path / "a.sqlite") as shelf:
        data = exported(shelf)
    with Shelf(tmp_path / "b.sqlite", make=True) as other:
        with pytest.raises(ReedpathError) as told:
            import_shelf(other, io.BytesIO(remade(data, change)))
        assert told.value.key == key
        assert not any(contents(other).values())
        assert (all_drafts(other), other.steps()) == ([], [])


def test_why_a_zip_is_refused_is_told_with_its_place(tmp_path: Path) -> None:
    hostile = {name: change for name, change in HOSTILE.items() if change is not bomb}
    hostile |= {name: change for name, (_, change) in HOSTILE_DRAFTS.items() if name not in ("a bomb", "too deep")}
    takes = (
        {"student": 7},
        {"student": "x" * 16},
        {"uid": "../x"},
        {"uid": 7},
        {"sound": "/etc"},
        {"version": "y" * 16},
    )
    for field in takes:
        hostile[str(field)] = lambda e, field=field: listed(e, lambda r: r["take"][0].update(field))
    told = []
    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        data = exported(shelf)
        for name, change in hostile.items():
            with pytest.raises(ReedpathError) as error:
                import_shelf(other, io.BytesIO(remade(data, change)))
            told.append(f"{name}: {re.sub('[0-9a-f]{16,64}', 'HASH', str(error.value))}")
    assert_kept(Path(__file__).parent / "rows" / "refused.txt", "\n".join(told) + "\n")


def test_a_zip_is_looked_through_record_by_record(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        data, count = exported(shelf), sum(map(len, contents(shelf).values()))
        checked = check_zip(io.BytesIO(data), lambda done, of: told.append((done, of)))
        assert told == [(done, count) for done in range(count)]
        # what was found right is not looked at again: a melody in its place is the one that is kept
        other_melody = melody_of(phrase_of("c4 1/4 e4 g4 c5"))
        known = {digest: other_melody if melody else melody for digest, melody in checked.items()}
        import_shelf(other, io.BytesIO(data), known)
        assert {one.melody for one in other.all(KeptPhrase)} == {other_melody}
        import_shelf(other, io.BytesIO(data), checked)


def test_a_drafts_recording_that_is_lost_is_told(tmp_path: Path) -> None:
    def without(entries: dict[str, bytes]) -> None:
        del entries[next(name for name, data in entries.items() if data == b"hummed, invented")]

    with with_drafts(tmp_path / "a.sqlite") as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        found = import_shelf(other, io.BytesIO(remade(exported(shelf), without)))
        assert len(found.lost) == 1
        assert found.drafts == 3


def test_a_list_is_as_its_schema_says(tmp_path: Path) -> None:
    check = jsonschema.Draft202012Validator(schemas()["shelf-1.schema.json"])
    with taught(tmp_path) as shelf, with_drafts(tmp_path / "c.sqlite") as other:
        with shelf.step("letter"):
            shelf.add(KeptLetter(student=1, language="en", proposed="Dear Ada", text="my words"))
            shelf.add(
                KeptHeldNote(key="C", move="-3", seconds=2.5, cents=-3.0, unsteady_cents=4.0, tolerance_cents=9.0)
            )
        for data in (exported(shelf), exported(shelf, shelf.all(Student)[0]), exported(other)):
            with zipfile.ZipFile(io.BytesIO(data)) as zipped:
                check.validate(json.loads(zipped.read("shelf.json")))
        with zipfile.ZipFile(io.BytesIO(exported(other))) as zipped:
            plain = json.loads(zipped.read("shelf.json"))
    every = plain["records"]
    for record, field, wrong in (
        (every["take"][0], "sound", "../../evil.wav"),
        (every["take"][0], "student", 1),
        (every["phrase"][0], "uid", "Z" + "0" * 16),
        (every["phrase"][0], "data", "{}"),
        (plain["drafts"][0], "sound", "A" * 64),
    ):
        there = record.get(field)
        record[field] = wrong
        assert not check.is_valid(plain), (field, wrong)
        record[field] = there
        if there is None:
            del record[field]
    check.validate(plain)


def test_takes_that_wait_go_with_everything_and_are_to_be_heard_again(tmp_path: Path) -> None:
    (sound := tmp_path / "take.wav").write_bytes(b"a sound")
    with Shelf(tmp_path / "a.sqlite", make=True) as shelf, Shelf(tmp_path / "b.sqlite", make=True) as other:
        with other.step("student"):
            other.add(Student(name="Bo (invented)"))
        with shelf.step("student"):
            ada = shelf.add(Student(name="Ada (invented)"))
        asked = add_waiting_take(shelf, sound, name="week 3.wav", student=ada.number)
        keep_findings(shelf, asked.number, "{}")
        export_shelf(shelf, zipped := io.BytesIO())
        assert import_shelf(other, zipped).waiting == 1
        (one,) = all_waiting_takes(other)
        assert (one.name, one.sound, one.found, one.added) == (asked.name, asked.sound, "", asked.added)
        assert other.get(Student, one.student).name == "Ada (invented)"
        assert other.files.holds(one.sound)
        assert import_shelf(other, zipped).waiting == 0
        assert len(all_waiting_takes(other)) == 1
        export_shelf(shelf, alone := io.BytesIO(), student=ada)
        assert b"week 3" not in zipfile.ZipFile(alone).read("shelf.json")
