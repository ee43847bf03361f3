"""The students' pages, asked without a browser: who they are, takes, where each stands, letters, erasing."""

from __future__ import annotations

import html
import io
import re
import zipfile
from pathlib import Path

import pytest

from reedpath.jobs import add_to_shelf
from reedpath.shelf import KeptLetter, KeptTake, Shelf, Student
from support.glued_takes import Fault, Kind
from support.students import TUNES, take_file, tune_folder, tune_route
from support.studios import ADDRESS, AskedStudio, asked_studio

LANE, KITE = TUNES


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """A shelf with two lessons and two students."""
    path = tmp_path / "shelf.sqlite"
    with Shelf(path, make=True) as opened:
        add_to_shelf(opened, [tune_folder(title, tmp_path / f"{number}") for number, title in enumerate(TUNES)])
        with opened.step("student"):
            opened.add(Student(name="Ada Inventée", level="easy"))
            opened.add(Student(name="Bo Invented"))
    return path


@pytest.fixture
def studio(shelf: Path):
    with asked_studio(shelf) as asked:
        yield asked


@pytest.fixture(scope="module")
def sounds(tmp_path_factory) -> dict[str, bytes]:
    """Takes by name."""
    folder = tmp_path_factory.mktemp("takes")
    take_file(folder / "ada.mp3", LANE, [Fault(Kind.FLAT, index, 45.0) for index in bent(LANE)])
    take_file(folder / "nobody.mp3", KITE)
    return {one.name: one.read_bytes() for one in folder.iterdir()}


def bent(title: str) -> list[int]:
    """Indexes of a tune's events that are bends."""
    return [index for index, one in enumerate(tune_route(title).events) if one.choice.move.semitones]


def sent(studio: AskedStudio, name: str, data: bytes) -> str:
    answer = studio.client.put(f"/uploads?name={name}", content=data, headers={"origin": ADDRESS})
    return answer.json()["upload"]


def test_a_student_is_added_changed_and_undone(studio: AskedStudio) -> None:
    page = studio.post("/students", {"name": "Cleo (invented)", "level": "easy", "harps": "A, do grave"}).text
    assert "<h1>Cleo (invented)</h1>" in page
    assert 'value="A, Low C"' in page
    page = studio.post(
        "/students/3",
        {"name": "Cléo", "level": "steady", "harps": "Low C", "technique": ["splits"], "note": "two\nlines <b>"},
    ).text
    assert "<h1>Cléo</h1>" in page
    assert "two\nlines &lt;b&gt;" in page
    assert 'value="splits" id="technique-splits" checked' in page
    assert "Cléo" in studio.client.get("/students").text
    studio.post("/undo")
    assert "<h1>Cleo (invented)</h1>" in studio.client.get("/students/3").text


def test_what_can_not_be_is_told(studio: AskedStudio) -> None:
    for path, form, said in (
        ("/students", {"name": " "}, "a student needs a name"),
        ("/students", {"name": "X", "level": "x"}, "there is no level named"),
        ("/students", {"name": "X", "harps": "H#"}, "H#"),
        ("/students/1", {"name": "bo invented"}, "another student is called"),
        ("/students/1", {"name": "Ada", "technique": ["x"]}, "there is no technique named"),
        ("/students/1/erase", {}, "nothing was erased"),
        ("/students/takes", {}, "nothing was given"),
        ("/students/takes", {"upload": "0" * 32}, ""),
        ("/students/takes/7", {"student": "1", "version": "1"}, "has the number 7"),
        ("/students/1/letter", {}, "no take of Ada Inventée has been answered yet"),
    ):
        answer = studio.post(path, form)
        assert 400 <= answer.status_code < 500, path
        assert said.lower() in html.unescape(answer.text).lower(), path
    for path in ("/students/9", "/students/1/takes/1", "/students/1/takes/1/sound", "/students/1/letters/1.txt"):
        assert studio.client.get(path).status_code == 404, path


@pytest.mark.slow
def test_takes_are_heard_asked_about_answered_and_erased(
    studio: AskedStudio, sounds: dict[str, bytes], shelf
) -> None:
    uploads = [sent(studio, name, data) for name, data in sounds.items()]
    broken = sent(studio, "bo broken.wav", b"nothing that sounds")
    page = studio.post("/students/takes", {"upload": [*uploads, broken]}).text
    assert "One take is not sure" in page
    assert "nobody.mp3" in page
    assert "Could not be done" in studio.client.get("/work").text

    ada = studio.client.get("/students/1").text
    assert "draw bends of a half step" in ada
    assert "ada.mp3" in ada
    assert "How sure it is" in ada
    assert "One to" not in ada
    take = studio.client.get("/students/1/takes/1").text
    assert "notes out of" in take
    # every flat bend can be heard where it is
    assert len(set(re.findall(r'data-from="([\d.]+)"', take))) == len(bent(LANE))
    # what comes next: the letter, and the lesson to rehearse; and by what it can be left
    assert 'href="/students/1#letter"' in take
    assert re.search(r'href="/rehearse/lessons/\d+"', take)
    assert "The take before" not in take
    assert studio.client.get("/students/1/takes/1/sound").content == sounds["ada.mp3"]
    assert studio.client.get("/students/2/takes/1").status_code == 404

    asked = re.search(r"/students/takes/\d+", page)[0]
    page = studio.post(asked, {"student": "2", "version": "2"}).text
    assert "is not sure</h2>" not in page
    assert "nobody.mp3" in studio.client.get("/students/2").text
    assert "100" in studio.client.get("/students/2").text

    page = studio.post("/students/1/next").text
    assert KITE in page
    page = studio.post("/students/1/letter", {"language": "fr"}).text
    assert "Bonjour Ada Inventée," in page
    page = studio.post("/students/1/letters/1", {"text": "Bonjour Ada,\r\n\r\nmes mots.\r\n"}).text
    assert "mes mots." in page
    letter = studio.client.get("/students/1/letters/1.txt")
    assert (letter.text, letter.headers["content-type"]) == (
        "Bonjour Ada,\n\nmes mots.\n",
        "text/plain; charset=utf-8",
    )
    assert studio.client.get("/students/2/letters/1.txt").status_code == 404

    data = studio.client.get("/students/1/export.zip").content
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        assert "mes mots." in zipped.read("shelf.json").decode()
    assert "Undo puts it back" in studio.post("/students/1/takes/1/remove").text
    studio.post("/undo")
    assert "ada.mp3" in studio.client.get("/students/1").text
    assert "Ada Inventée is erased" in studio.post("/students/1/erase", {"sure": "1"}).text
    assert studio.client.get("/students/1").status_code == 404
    assert b"mes mots" not in shelf.read_bytes()
    left = studio.client.portal.call(studio.studio.shelf.run, lambda one: (one.all(KeptTake), one.all(KeptLetter)))
    assert [len(one) for one in left] == [1, 0]


@pytest.mark.slow
def test_a_take_that_is_not_wanted_is_left(studio: AskedStudio, sounds: dict[str, bytes]) -> None:
    upload = sent(studio, "nobody.mp3", sounds["nobody.mp3"])
    job = studio.post("/students/takes", {"upload": upload}, accept="application/json").json()
    assert len(job["jobs"]) == 1
    studio.ended(job["jobs"][0])
    assert "is not sure</h2>" in studio.client.get("/students").text
    files = studio.studio.shelf.files
    assert len(list(files.names())) == 1
    assert "is not sure</h2>" not in studio.post("/students/takes/1", {"leave": "1"}).text
    assert list(files.names()) == []
    assert studio.post("/students/takes", {"upload": upload}).status_code == 404


@pytest.mark.slow
def test_takes_that_came_in_are_not_lost_where_the_studio_is_closed(shelf: Path, sounds: dict[str, bytes]) -> None:
    with asked_studio(shelf) as studio:  # closed while both are being heard
        uploads = [sent(studio, name, data) for name, data in sounds.items()]
        studio.post("/students/takes", {"upload": uploads}, accept="application/json")
    with asked_studio(shelf) as studio:
        jobs = studio.studio.jobs.all()
        assert {job.title for job in jobs} == set(sounds)
        for job in jobs:
            studio.client.portal.call(job.ended.wait)
        assert "ada.mp3" in studio.client.get("/students/1").text
        assert "nobody.mp3" in studio.client.get("/students").text
    with asked_studio(shelf) as studio:  # what is asked is asked again, and nothing is heard twice
        assert studio.studio.jobs.all() == []
        page = studio.client.get("/students").text
        assert "nobody.mp3" in page
        studio.post(re.search(r"/students/takes/\d+", page)[0], {"student": "2", "version": "2"})
        assert studio.studio.jobs.all() == []
        assert "100" in studio.client.get("/students/2").text
