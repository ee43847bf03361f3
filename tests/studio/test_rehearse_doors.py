"""Ways into rehearsing from other screens of the studio, and the held notes of the demo."""

from __future__ import annotations

from pathlib import Path

from reedpath.jobs.demo_shelf import put_demo_students
from reedpath.shelf import KeptHeldNote, OwnedHarp, Shelf, Student
from support.studios import asked_studio


def test_a_students_page_leads_to_what_was_held(tmp_path: Path) -> None:
    with asked_studio(tmp_path / "shelf.sqlite") as asked:
        run = asked.studio.shelf.run
        asked.client.portal.call(run, lambda shelf: put_demo_students(shelf, (), {}))
        held, students = asked.client.portal.call(run, lambda shelf: (shelf.all(KeptHeldNote), shelf.all(Student)))
        number = held[0].student
        assert number in {one.number for one in students}
        link = f"/rehearse/long-notes?student={number}"
        assert link in asked.client.get(f"/students/{number}").text
        page = asked.client.get(link)
        assert page.status_code == 200
        assert page.text.count("<tr>") == 1 + len([one for one in held if one.student == number])


def test_what_the_demo_brings_is_no_step_to_undo_and_takes_none_of_her_harps(tmp_path: Path) -> None:
    with Shelf(tmp_path / "shelf.sqlite", make=True) as shelf:
        with shelf.step("harps"):
            shelf.add(OwnedHarp(key="Low F"))
        put_demo_students(shelf, (), {})
        assert [one.key for one in shelf.all(OwnedHarp, student=None)] == ["Low F"]
        assert [one.what for one in shelf.steps()] == ["harps"]
        assert len(shelf.all(Student)) == 3
