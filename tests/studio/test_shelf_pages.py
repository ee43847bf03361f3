"""The shelf's pages, asked without a browser: brought in, found, changed, undone, taken out."""

from __future__ import annotations

import io
import re
import zipfile

import pytest

from reedpath.shelf import OwnedHarp, Shelf
from reedpath.studio import uploads
from support.shelves import filled
from support.studios import ADDRESS, asked_studio

# invented for this test
TAB = "harp: A\n\n-2 -3' +4 -4' +4 -3' -2\n"
TUNE = "X:1\nT:Three fields (invented)\nM:4/4\nL:1/8\nK:G\nG2 B2 d2 g2 | f2 d2 B2 A2 | G4 z4 |\n"


@pytest.fixture
def studio(tmp_path):
    with asked_studio(tmp_path / "shelf.sqlite") as asked:
        yield asked


@pytest.mark.slow
def test_a_pasted_tune_is_found_by_a_word_and_by_its_notes(studio) -> None:
    assert studio.post("/add", {"text": TUNE, "tags": "folk, slow"}).status_code == 200
    assert "Three fields" in studio.client.get("/?words=FIELDS&tags=folk").text
    assert "Three fields" in studio.client.get("/?tune=C E G C B G E D C").text  # another key
    assert "Nothing on the shelf" in studio.client.get("/?words=meadow").text
    found = studio.client.get("/", headers={"accept": "application/json"}).json()
    assert found["count"] == 1
    assert found["found"][0]["tags"] == ["folk", "slow"]


def test_the_difficulty_of_a_phrase_is_told_where_it_is_known(tmp_path) -> None:
    filled(tmp_path / "filled.sqlite").close()
    with asked_studio(tmp_path / "filled.sqlite") as studio:
        found = studio.client.get("/", headers={"accept": "application/json"}).json()["found"]
    assert {one["title"]: one["points"] for one in found} == {"Up the stairs": "1.0", "Élan": ""}


@pytest.mark.slow
def test_a_dropped_file_is_read_and_kept_under_its_name(studio) -> None:
    sent = studio.client.put("/uploads?name=../../solo.txt", content=TAB.encode(), headers={"origin": ADDRESS})
    assert sent.json()["name"] == "solo.txt"
    studio.post("/add", {"upload": sent.json()["upload"]})
    assert "solo" in studio.client.get("/").text


@pytest.mark.slow
def test_what_cannot_be_read_is_told_in_the_teachers_language(studio) -> None:
    assert studio.client.post("/settings", data={"language": "fr"}, headers={"origin": ADDRESS}).status_code == 200
    answer = studio.post("/add", {"text": "no tab at all, only words"})
    assert answer.status_code == 400
    assert "pas possible" in answer.text
    data = studio.post("/add", {"text": ""}, accept="application/json")
    assert (data.status_code, data.json()["error"]) == (400, "studio.nothing_given")


@pytest.mark.slow
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


@pytest.mark.slow
def test_everything_goes_out_as_one_zip_and_comes_in_again(studio, tmp_path) -> None:
    studio.post("/add", {"text": TUNE})
    data = studio.client.get("/export.zip").content
    assert "shelf.json" in zipfile.ZipFile(io.BytesIO(data)).namelist()
    with asked_studio(tmp_path / "other.sqlite") as other:
        sent = other.client.put("/uploads?name=a.zip", content=data, headers={"origin": ADDRESS}).json()
        assert "brought in" in other.post("/import", {"upload": sent["upload"]}).text
        assert "Three fields" in other.client.get("/").text
    assert "Everything is intact" in studio.post("/check").text


@pytest.mark.slow
def test_a_zip_is_the_shelf_as_it_was_and_no_copy_is_left(studio) -> None:
    studio.post("/add", {"text": TUNE})
    studio.client.get("/export.zip")
    job = studio.studio.jobs.all()[0]
    assert (job.name, job.state) == ("export", "done")
    left = [one.name for one in job.folder.parent.rglob("*") if one.is_file()]
    assert not [one for one in left if ".sqlite" in one or one.endswith(".zip")]


def test_the_teachers_harps_are_said_and_unsaid(studio) -> None:
    page = studio.post("/harps", {"keys": "A, Low F, la b", "tuning": "standard"})
    assert page.status_code in (200, 400)
    studio.post("/harps", {"keys": "C, A", "tuning": "standard"})
    there = studio.client.get("/harps").text
    assert "C</label>" in there.replace("\n", "")
    studio.post("/harps", {"keys": "", "tuning": "standard"})
    assert "C</label>" not in studio.client.get("/harps").text
    assert studio.post("/harps", {"keys": "Q"}).status_code == 400


@pytest.mark.slow
def test_a_file_that_a_zip_names_and_does_not_hold_is_told(studio, tmp_path) -> None:
    with filled(tmp_path / "poorer.sqlite") as shelf:
        (name,) = shelf.files.names()
        shelf.files.path(name).unlink()
    with asked_studio(tmp_path / "poorer.sqlite") as poorer:
        data = poorer.client.get("/export.zip").content
    sent = studio.client.put("/uploads?name=a.zip", content=data, headers={"origin": ADDRESS}).json()
    page = studio.post("/import", {"upload": sent["upload"]}).text
    assert re.search(rf"brought in\.? [^<]*the file {re.escape(name)} is lost", page)


@pytest.mark.slow
def test_what_is_wrong_in_a_zip_is_told_and_nothing_of_it_comes(studio) -> None:
    studio.post("/add", {"text": TUNE})
    data = studio.client.get("/export.zip").content
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        texts = {one: zipped.read(one) for one in zipped.namelist()}
    phrase = next(one for one in texts if one.startswith("phrases/"))
    with zipfile.ZipFile(made := io.BytesIO(), "w") as zipped:
        for one, text in texts.items():
            zipped.writestr(one, text.replace(b'"events"', b'"evens"') if one == phrase else text)
    sent = studio.client.put("/uploads?name=a.zip", content=made.getvalue(), headers={"origin": ADDRESS}).json()
    answer = studio.post("/import", {"upload": sent["upload"]})
    assert answer.status_code == 400
    assert phrase.split("/")[1] in "".join(re.findall("(?s)<main.*?</main>", answer.text))
    job = studio.post("/import", {"upload": sent["upload"]}, accept="application/json").json()["job"]
    studio.client.portal.call(studio.studio.jobs.get(job).ended.wait)
    assert studio.studio.jobs.get(job).state == "failed"


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


@pytest.mark.slow
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


@pytest.mark.parametrize("said", ["5x", "-5", "1.5", "", "9" * 20])
def test_a_length_that_is_none_is_refused(studio, said) -> None:
    headers = {"origin": ADDRESS, "content-length": said}
    answer = studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers)
    assert (answer.status_code, answer.json()["error"]) == (411, "studio.no_length")


def test_more_files_at_once_or_waiting_than_there_is_room_for_are_refused(studio, monkeypatch) -> None:
    headers, places = {"origin": ADDRESS}, studio.studio.uploads._places
    for _ in range(uploads.AT_ONCE):
        studio.client.portal.call(places.acquire)
    refused = [studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers)]
    studio.client.portal.call(places.release)
    assert studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers).status_code == 200
    monkeypatch.setattr(uploads, "MOST_BYTES_WAITING", 9)
    refused.append(studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers))
    for one in refused:
        assert (one.status_code, one.json()["error"]) == (503, "studio.too_many_uploads")
    assert "Too many files" in refused[0].json()["says"]


def test_a_script_that_a_browser_has_already_is_not_sent_again(studio) -> None:
    first = studio.client.get("/static/studio.css")
    assert first.status_code == 200
    again = studio.client.get("/static/studio.css", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert studio.client.get("/static/studio.css", headers={"if-none-match": '"x"'}).content == first.content


def test_an_upload_that_breaks_off_leaves_nothing(studio, tmp_path) -> None:
    headers = {"origin": ADDRESS, "content-length": "100"}
    answer = studio.client.put("/uploads?name=a.wav", content=b"short", headers=headers)
    assert answer.json()["error"] == "studio.went_away"
    assert list((tmp_path / "shelf.sqlite.work").rglob("*.wav")) == []


@pytest.mark.slow
def test_the_demo_is_on_a_new_shelf(tmp_path) -> None:
    with asked_studio(tmp_path / "demo.sqlite", demo=True) as studio:
        assert studio.ended(1).error is None
        page = studio.client.get("/").text
        for title in ("Gravel road", "Both ends of the street", "Two Questions"):
            assert title in page
        # students come while one looks at the phrases: the page follows that job
        assert 'id="job" data-job="2"' in page
        assert studio.ended(2).error is None
        assert 'id="job" data-job="0" hidden' in studio.client.get("/").text
        counts = studio.client.portal.call(studio.studio.shelf.run, Shelf.counts)
        assert (counts["student"], counts["take"], counts["answer"]) == (3, 6, 6)


def test_the_b_of_a_harp_is_an_h_where_german_is_spoken(studio) -> None:
    studio.client.post("/settings", data={"language": "de"}, headers={"origin": ADDRESS})
    assert studio.post("/harps", {"keys": "B, H, A"}).status_code == 200
    page = studio.client.get("/harps").text
    assert sorted(re.findall(r'for="harp-\d+">([^<]+)<', page)) == ["A", "Bb", "H"]
    assert sorted(one.key for one in studio.studio.shelf._shelf.all(OwnedHarp, student=None)) == ["A", "B", "Bb"]
    assert '<option value="B">H</option>' in studio.client.get("/rehearse/long-notes").text
