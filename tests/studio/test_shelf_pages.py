"""The shelf's pages, asked without a browser: brought in, found, changed, undone, taken out."""

from __future__ import annotations

import io
import zipfile

import pytest

from reedpath.shelf import Shelf
from support.studios import ADDRESS, asked_studio

# invented for this test
TAB = "harp: A\n\n-2 -3' +4 -4' +4 -3' -2\n"
TUNE = "X:1\nT:Three fields (invented)\nM:4/4\nL:1/8\nK:G\nG2 B2 d2 g2 | f2 d2 B2 A2 | G4 z4 |\n"


@pytest.fixture
def studio(tmp_path):
    with asked_studio(tmp_path / "shelf.sqlite") as asked:
        yield asked


def test_a_pasted_tune_is_found_by_a_word_and_by_its_notes(studio) -> None:
    assert studio.post("/add", {"text": TUNE, "tags": "folk, slow"}).status_code == 200
    assert "Three fields" in studio.client.get("/?words=FIELDS&tags=folk").text
    assert "Three fields" in studio.client.get("/?tune=C E G C B G E D C").text  # another key
    assert "Nothing on the shelf" in studio.client.get("/?words=meadow").text
    found = studio.client.get("/", headers={"accept": "application/json"}).json()
    assert found["count"] == 1
    assert found["found"][0]["tags"] == ["folk", "slow"]


def test_a_dropped_file_is_read_and_kept_under_its_name(studio) -> None:
    sent = studio.client.put("/uploads?name=../../solo.txt", content=TAB.encode(), headers={"origin": ADDRESS})
    assert sent.json()["name"] == "solo.txt"
    studio.post("/add", {"upload": sent.json()["upload"]})
    assert "solo" in studio.client.get("/").text


def test_what_cannot_be_read_is_told_in_the_teachers_language(studio) -> None:
    assert studio.client.post("/settings", data={"language": "fr"}, headers={"origin": ADDRESS}).status_code == 200
    answer = studio.post("/add", {"text": "no tab at all, only words"})
    assert answer.status_code == 400
    assert "pas possible" in answer.text
    data = studio.post("/add", {"text": ""}, accept="application/json")
    assert (data.status_code, data.json()["error"]) == (400, "studio.nothing_given")


def test_title_and_tags_are_changed_and_every_step_is_undone(studio) -> None:
    studio.post("/add", {"text": TUNE, "tags": "folk"})
    assert "Four fields" in studio.post("/phrases/1", {"title": "Four fields", "tags": "walk"}).text
    assert "Undone" in studio.post("/undo").text
    page = studio.client.get("/phrases/1").text
    assert "Three fields" in page
    assert "folk" in page
    assert "Undo puts it back" in studio.post("/phrases/1/remove").text
    assert studio.client.get("/phrases/1").status_code == 404
    studio.post("/undo")
    assert studio.client.get("/phrases/1").status_code == 200
    assert "Done again" in studio.post("/redo").text


def test_everything_goes_out_as_one_zip_and_comes_in_again(studio, tmp_path) -> None:
    studio.post("/add", {"text": TUNE})
    data = studio.client.get("/export.zip").content
    assert "shelf.json" in zipfile.ZipFile(io.BytesIO(data)).namelist()
    with asked_studio(tmp_path / "other.sqlite") as other:
        sent = other.client.put("/uploads?name=a.zip", content=data, headers={"origin": ADDRESS}).json()
        assert "brought in" in other.post("/import", {"upload": sent["upload"]}).text
        assert "Three fields" in other.client.get("/").text
    assert "All is whole" in studio.post("/check").text


def test_the_teachers_harps_are_said_and_unsaid(studio) -> None:
    page = studio.post("/harps", {"keys": "A, Low F, la b", "tuning": "standard"})
    assert page.status_code in (200, 400)
    studio.post("/harps", {"keys": "C, A", "tuning": "standard"})
    there = studio.client.get("/harps").text
    assert "C</label>" in there.replace("\n", "")
    studio.post("/harps", {"keys": "", "tuning": "standard"})
    assert "C</label>" not in studio.client.get("/harps").text
    assert studio.post("/harps", {"keys": "Q"}).status_code == 400


@pytest.mark.parametrize(
    "path",
    [
        "/phrases/999",
        "/nowhere",
        "/static/../pages.py",
        "/static/page/../../x.js",
        "/work/5/cancel",
        "/?page=x",
        "/?easiest=x",
    ],
)
def test_an_address_that_is_none_is_answered_on_a_page(studio, path) -> None:
    answer = studio.client.get(path)
    assert answer.status_code in (200, 400, 404, 405)
    assert "reedpath" in answer.text


def test_hostile_titles_stay_text(studio) -> None:
    title = "</script><script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{7*7}}"
    studio.post("/add", {"text": TUNE.replace("Three fields (invented)", title)})
    for page in ("/", "/phrases/1", "/work"):
        text = studio.client.get(page).text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert "49" not in text or "{{7*7}}" in text


def test_too_much_is_refused_before_it_comes(studio) -> None:
    headers = {"origin": ADDRESS, "content-length": str(9 << 30)}
    assert studio.client.put("/uploads?name=a.wav", content=b"", headers=headers).status_code == 413
    assert studio.client.post("/add", content=b"x" * 2_000_001, headers={"origin": ADDRESS}).status_code == 413


def test_an_upload_that_breaks_off_leaves_nothing(studio, tmp_path) -> None:
    headers = {"origin": ADDRESS, "content-length": "100"}
    answer = studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers)
    assert answer.json()["error"] == "studio.went_away"
    assert list((tmp_path / "shelf.sqlite.work").rglob("*.wav")) == []


def test_the_demo_is_on_a_new_shelf(tmp_path) -> None:
    with asked_studio(tmp_path / "demo.sqlite", demo=True) as studio:
        job = studio.studio.jobs.get(1)
        while not job.state.is_end:
            studio.client.get("/work")
        assert job.error is None
        page = studio.client.get("/").text
        for title in ("Gravel road", "Both ends of the street", "Two Questions"):
            assert title in page
        counts = studio.client.portal.call(studio.studio.shelf.run, Shelf.counts)
        assert (counts["student"], counts["take"], counts["answer"]) == (3, 6, 6)
