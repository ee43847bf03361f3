"""The pages of a lesson, asked without a browser: what is edited is kept at once, and what is made is shown."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from reedpath.errors import SettingsError
from reedpath.film import FilmWishes
from reedpath.jobs import lesson_of_version, lines_in
from reedpath.jobs.footage_of_versions import put_files
from reedpath.jobs.lesson_pages import LARGE_PAGE
from reedpath.jobs.progress import silent
from reedpath.jobs.shelf_adding import add_to_shelf
from reedpath.jobs.shelf_lessons import keep_version
from reedpath.lesson import Lesson, LineKind
from reedpath.shelf import KeptLesson, LessonVersion, Shelf, last_version
from reedpath.studio import lesson_desks, lesson_making_pages
from reedpath.wording import load_studio_catalogue
from support.pieces import porch
from support.studio_jobs import make_file
from support.studios import AskedStudio, asked_studio

OWN = "Play it as if you told somebody the time of day."


@pytest.fixture(scope="module")
def shelf(tmp_path_factory, porch_folder: Path, pieces_folder: Path) -> Path:
    """A shelf with a lesson of one phrase, 1, and one of several pieces, 2."""
    folder = tmp_path_factory.mktemp("lessons")
    with Shelf(folder / "shelf.sqlite", make=True) as made:
        add_to_shelf(made, [porch_folder], with_files=True)
        add_to_shelf(made, [pieces_folder])
    return folder / "shelf.sqlite"


@pytest.fixture(scope="module")
def studio(shelf: Path) -> Iterator[AskedStudio]:
    with asked_studio(shelf) as asked:
        yield asked


def last(studio: AskedStudio, number: int) -> LessonVersion:
    return studio.client.portal.call(studio.studio.shelf.run, last_version, number)  # type: ignore[union-attr]


def sentence(version: LessonVersion, piece: int | None = None, language: str = "en") -> tuple[int, str]:
    lines = lines_in(lesson_of_version(version), language, piece)
    return next((index, line.text) for index, line in enumerate(lines) if line.kind is LineKind.SENTENCE)


def test_the_page_shows_every_line_in_every_language_beside_its_moves(studio: AskedStudio) -> None:
    text = studio.client.get("/lessons/1").text
    for language in ("en", "fr"):
        for index, line in enumerate(lines_in(lesson_of_version(last(studio, 1)), language)):
            assert f'name="text {language} {index}"' in text
            assert line.text.split("’")[0].split("'")[0].split('"')[0].replace("&", "&amp;") in text
    assert re.search(r'class="move draw"><small>2</small>', text)


def test_a_line_is_kept_as_a_version_and_undone(studio: AskedStudio) -> None:
    before = last(studio, 1)
    index, was = sentence(before)
    at = f"en {index}"
    fields = {"piece": "", f"was {at}": was, f"text {at}": OWN}
    answer = studio.post("/lessons/1/change/lines", fields, accept="application/json").json()
    assert answer["is_new"]
    assert sentence(last(studio, 1)) == (index, OWN)
    again = studio.post("/lessons/1/change/lines", {**fields, f"was {at}": OWN}, accept="application/json").json()
    assert (again["is_new"], again["version"]) == (False, answer["version"])
    page = studio.client.get("/lessons/1").text
    assert f"<q>{was}</q>".replace("'", "&#39;") in page
    studio.post("/undo")
    assert last(studio, 1) == before


def test_a_line_that_changed_meanwhile_is_told_with_what_was_written(studio: AskedStudio) -> None:
    index, _ = sentence(last(studio, 1))
    fields = {f"was en {index}": "something else", f"text en {index}": OWN}
    answer = studio.post("/lessons/1/change/lines", fields, accept="application/json")
    assert answer.status_code == 400
    assert OWN in answer.json()["hint"]


@pytest.mark.parametrize(
    ("key", "refused", "tries", "status"),
    [
        ("shelf.version_between", 0, 1, 200),
        ("shelf.version_between", 2, 3, 200),
        ("shelf.version_between", 3, 3, 400),
        ("shelf.lesson_title_there", 1, 1, 400),
    ],
)
def test_a_change_between_which_another_came_is_made_again_of_what_is_there_then(
    studio: AskedStudio, monkeypatch, key: str, refused: int, tries: int, status: int
) -> None:
    tried = []

    def keep(shelf: Shelf, **asked):
        tried.append(asked["opened"].version)
        if len(tried) <= refused:
            raise SettingsError(key, version=8, opened=7, title="x")
        return keep_version(shelf, **asked)

    monkeypatch.setattr(lesson_desks, "keep_version", keep)
    before = last(studio, 1)
    answer = studio.post("/lessons/1/change/words", {"author": "Cy (invented)"}, accept="application/json")
    assert answer.status_code == status
    assert tried == [before.version] * tries
    assert (last(studio, 1) == before) is (status == 400)
    if status == 200:
        studio.post("/undo")


def test_a_whole_page_of_lines_is_sent_at_once_without_a_script(studio: AskedStudio) -> None:
    version = last(studio, 2)
    fields = {"piece": "3"}
    for language in ("en", "fr"):
        for index, line in enumerate(lines_in(lesson_of_version(version), language, 3)):
            fields |= {f"was {language} {index}": line.text, f"text {language} {index}": line.text}
    index, _ = sentence(version, 3)
    fields |= {f"text en {index}": OWN, f"note fr {index}": "Doucement."}
    page = studio.post("/lessons/2/change/lines", fields).text
    assert f"Kept as version {version.version + 1}." in page
    said = lesson_of_version(last(studio, 2))
    assert lines_in(said, "en", 3)[index].text == OWN
    assert [line.text for line in lines_in(said, "fr", 3) if line.kind is LineKind.NOTE] == ["Doucement."]


def test_title_note_tempos_drills_and_names_are_decided(studio: AskedStudio) -> None:
    studio.post(
        "/lessons/1/change/words", {"title": "Down the porch", "author": "Ada (invented)", "said en": "Slowly."}
    )
    studio.post("/lessons/1/change/tempos", {"tempos": "52 64,5"})
    rows = [("first", "1"), ("last", "4"), ("times", "6"), ("drill-tempos", "50"), ("first", ""), ("last", "")]
    fields: dict[str, str | list[str]] = {}
    for name, value in rows:
        fields[name] = [*fields.get(name, []), value]
    studio.post("/lessons/1/change/drills", fields)
    label = porch().parts[0].label
    studio.post("/lessons/1/change/words", {f"part fr {label}": "La question"})
    lesson = lesson_of_version(last(studio, 1))
    assert isinstance(lesson, Lesson)
    assert (lesson.title, lesson.author) == ("Down the porch", "Ada (invented)")
    assert [round(rung.bpm, 1) for rung in lesson.ladder][:2] == [52.0, 64.5]
    assert [(one.spot.first, one.spot.last, one.times) for one in lesson.drills] == [(0, 3, 6)]
    shown = studio.client.get("/lessons/1").text
    assert 'name="first" value="1"' in shown  # events are numbered from 1 for a person
    assert 'name="last" value="4"' in shown
    assert lesson.part_names["fr"][label] == "La question"
    page = studio.client.get("/lessons/1").text
    assert "Slowly." in page
    assert 'value="52 64.5 "' in page
    wrong = studio.post("/lessons/1/change/tempos", {"tempos": "fast"})
    assert wrong.status_code == 400
    assert "a tempo in beats per minute, such as 96" in wrong.text
    often = {"first": "1", "last": "4", "times": "500", "drill-tempos": "50"}
    assert "a whole number from 1 to 100" in studio.post("/lessons/1/change/drills", often).text
    studio.post("/lessons/1/change/tempos", {"program": "1"})
    studio.post("/lessons/1/change/drills", {"program": "1"})
    lesson = lesson_of_version(last(studio, 1))
    assert isinstance(lesson, Lesson)
    assert (lesson.ladder, lesson.drills) == (porch().ladder, porch().drills)


def test_of_a_number_that_is_none_the_beginning_is_told(studio: AskedStudio) -> None:
    for wrong in ("9" * 60, "x" * 60, "0" * 60):
        told = studio.post("/lessons/1/change/tempos", {"tempos": wrong}).text
        assert wrong[:40] in told
        assert wrong[:41] not in told


def test_pieces_are_put_in_another_order(studio: AskedStudio) -> None:
    page = studio.client.get("/lessons/2").text
    orders = re.findall(r'name="order" value="([0-9,]+)"', page)
    assert "3,0,1,2,4" in orders
    assert "0,1,2,4,3" in orders
    assert "0,1,2,4" in orders
    studio.post("/lessons/2/change/order", {"order": "3,0,1,2,4"})
    assert next(piece.lesson.title for piece in lesson_of_version(last(studio, 2)).pieces) == "Two doors"
    assert studio.post("/lessons/2/change/order", {"order": "0,0"}).status_code == 400
    assert studio.post("/lessons/2/change/nonsense").status_code == 404


@pytest.mark.slow
def test_another_phrase_of_the_shelf_is_taught_too(studio: AskedStudio) -> None:
    """The lesson becomes one of two pieces, as a version that is undone; a plain form does it."""
    assert 'action="/lessons/1/add"' not in studio.client.get("/lessons/1").text
    assert "No phrase on the shelf is called that." in studio.client.get("/lessons/1?find=zzzz").text
    found = studio.client.get("/lessons/1?find=two+doors").text
    number = re.findall(r'<option value="([0-9]+)">Two doors', found)[0]
    before = last(studio, 1)
    page = studio.post("/lessons/1/add", {"phrase": number, "harp": "best", "level": "easy"})
    assert page.status_code == 200
    assert f"Kept as version {before.version + 1}." in page.text
    lesson = lesson_of_version(last(studio, 1))
    assert [piece.lesson.title for piece in lesson.pieces] == ["Down the porch", "Two doors"]
    assert lesson.pieces[1].lesson.route.level == "easy"
    for address in ("", "/versions", "/film", "/prompter"):
        assert studio.client.get(f"/lessons/1{address}").status_code == 200
    assert studio.post("/lessons/1/add", {"phrase": "4711"}).status_code == 404
    assert studio.post("/lessons/1/add", {"phrase": "x"}).status_code == 400
    assert studio.post("/lessons/1/add", {"phrase": number, "level": "nobody"}).status_code == 400
    studio.post("/undo")
    assert last(studio, 1) == before


def test_versions_stand_side_by_side_and_an_earlier_one_is_taken_again(studio: AskedStudio) -> None:
    index, was = sentence(last(studio, 1))
    studio.post("/lessons/1/change/lines", {f"was en {index}": was, f"text en {index}": OWN})
    newest = last(studio, 1).version
    page = studio.client.get(f"/lessons/1/versions?before={newest - 1}&after={newest}").text
    assert f'class="new" data-head="{newest}">{OWN}' in page
    assert was.replace("'", "&#39;") in page
    taken = studio.post("/lessons/1/again", {"version": str(newest - 1)})
    assert (taken.status_code, taken.url.path) == (200, "/lessons/1")
    assert load_studio_catalogue("en").say("lesson.again", version=newest + 1) in html.unescape(taken.text)
    assert last(studio, 1).version == newest + 1
    assert sentence(last(studio, 1)) == (index, was)
    assert studio.client.get("/lessons/1/versions?before=500").status_code == 400


BAND = {"band-groove": "auto", "band-form": "one-chord", "band-rounds": "1", "band-seed": "5", "band-format": "mp3"}


def test_what_the_band_does_is_kept_and_undone(studio: AskedStudio) -> None:
    page = studio.post("/lessons/2/band", BAND | {"band-place": "own", "band-bars": "1, 5"}).text
    assert "the band plays so with this lesson" in page
    assert re.search(r'name="band-bars" value="1, 5"', page)
    assert re.search(r'name="band-seed"[^>]* value="5"', page)
    # each piece is said where it stands, and where it would sit best
    assert page.count('class="band-here"') == page.count('class="band-why"') > 1
    studio.post("/undo")
    assert re.search(r'name="band-seed"[^>]* value="2"', studio.client.get("/lessons/2").text)


@pytest.mark.parametrize(
    "wrong", [{"band-bars": "five"}, {"band-seed": "-1"}, {"band-groove": "x"}, {"band-format": "exe"}]
)
def test_of_the_band_what_can_not_be_is_told(studio: AskedStudio, wrong: dict[str, str]) -> None:
    before = last(studio, 2)
    assert studio.post("/lessons/2/band", BAND | wrong, accept="application/json").status_code == 400
    assert last(studio, 2) == before


@pytest.fixture
def begun(studio: AskedStudio, monkeypatch) -> list[tuple[tuple, dict]]:
    """What is begun as a job, which does something else instead."""
    found, start = [], studio.studio.jobs.start

    def begin(kind: str, *given, then=None, **named):
        found.append(((kind, *given), {**named, "then": then}))
        return start(kind, make_file, "x", **named)

    monkeypatch.setattr(studio.studio.jobs, "start", begin)
    return found


def test_sounds_with_the_band_and_films_are_made_of_the_last_version_and_kept_with_it(
    studio: AskedStudio, begun: list, monkeypatch
) -> None:
    made: list[tuple] = []
    for name in ("make_band_sounds_of_version", "make_film_of_version"):
        monkeypatch.setattr(lesson_making_pages, name, lambda *given, progress: made.append((*given, progress)) or {})
    version, files = last(studio, 2), studio.studio.shelf.files.folder
    told = studio.post("/lessons/2/band", {**BAND, "make": "1", "band-format": "flac"}, accept="application/json")
    assert told.status_code == 202
    studio.post("/lessons/2/film/make", {"screen": "upright", "palette": "paper", "language": "fr", "steps": "1"})
    studio.post("/lessons/2/film/make", {"language": "en"})
    (band, named), (film, named_film), (plain, _) = begun
    title = studio.studio.shelf.now(Shelf.get, KeptLesson, 2).title
    for of_job in (named, named_film):
        assert (of_job["title"], of_job["link"]) == (title, "/lessons/2")
    for kind, make, *given in (band, film, plain):
        assert kind in ("band", "film")
        assert make(*given, progress=silent) == {}
    of_band, of_film, of_plain = made
    assert [(one[0].folder, one[1], one[-1]) for one in made] == [(files, version, silent)] * 3
    assert (of_band[2].seed, of_band[2].rounds, of_band[3]) == (5, 1, "flac")
    assert of_film[2] == FilmWishes("upright", "paper", "fr", with_steps=True)
    assert of_plain[2] == FilmWishes("landscape", "night", "en", with_steps=False)
    # what comes of it is kept with that version
    sound = studio.studio.shelf.files.keep(io.BytesIO(b"a sound"), name="with-band-50.flac")
    kept = {**version.files, "with-band-50.flac": sound}
    number = studio.client.portal.call(named["then"], kept)  # type: ignore[union-attr]
    assert number == last(studio, 2).version == version.version
    assert last(studio, 2).files == kept
    studio.post("/undo")
    assert last(studio, 2) == version


@pytest.mark.slow
def test_everything_is_made_as_a_job_and_kept_with_the_version(studio: AskedStudio) -> None:
    studio.post("/lessons/1/band", BAND | {"band-with-lesson": "1"})
    job = studio.post("/lessons/1/make", accept="application/json").json()["job"]
    assert studio.ended(job).error is None
    version = last(studio, 1)
    assert {"sheet.pdf", "lesson.html", "steps.md"} <= set(version.files)
    page = studio.client.get("/lessons/1").text
    assert "which is the lesson as it is now" in page
    assert 'id="large-page"' not in page
    # with play-alongs of the band, whose take is told
    sounds = sorted(name for name in version.files if name.startswith("with-band-"))
    assert len(sounds) == page.count("<audio") > 1
    assert "take 5" in page
    sound = studio.client.get(f"/lessons/1/versions/{version.version}/files/{sounds[0]}")
    assert sound.headers["content-type"] == "audio/mpeg"
    address = f"/lessons/1/versions/{version.version}/files/"
    shown = studio.client.get(f"{address}lesson.html")
    assert "sandbox allow-scripts" in shown.headers["content-security-policy"]
    assert "frame-ancestors 'self'" in shown.headers["content-security-policy"]
    sheet = studio.client.get(f"{address}sheet.pdf")
    assert (sheet.headers["content-type"], sheet.content[:4]) == ("application/pdf", b"%PDF")
    part = studio.client.get(f"{address}sheet.pdf", headers={"range": "bytes=0-3"})
    assert (part.status_code, part.content) == (206, b"%PDF")
    saved = studio.client.get(f"{address}steps.md?save=1")
    assert 'attachment; filename="steps.md"' in saved.headers["content-disposition"]
    for name in ("../shelf.sqlite", "nothing.txt", "..%2f..%2fshelf.sqlite"):
        assert studio.client.get(address + name).status_code == 404
    # a page that is too large for e-mail is told of where it is made
    kept = studio.studio.shelf.file_path(version.files["lesson.html"])
    before = kept.read_bytes()
    with kept.open("ab") as file:
        file.truncate(LARGE_PAGE + 1_000_000)
    told = studio.client.get("/lessons/1").text.partition('id="large-page">')[2]
    assert told.startswith("The page has 19 MB, more than e-mail takes")
    kept.write_bytes(before)


def test_a_making_that_is_stopped_leaves_the_version_as_it_was(studio: AskedStudio) -> None:
    before = last(studio, 2)
    job = studio.post("/lessons/2/make", accept="application/json").json()["job"]
    studio.post(f"/work/{job}/cancel")
    assert studio.studio.jobs.get(job).state.value == "cancelled"
    assert last(studio, 2) == before


def test_a_lesson_that_is_not_there_is_told(studio: AskedStudio) -> None:
    for address in ("/lessons/99", "/lessons/99/film", "/lessons/99/prompter", "/lessons/99/versions"):
        assert studio.client.get(address).status_code == 404
    assert studio.client.get("/lessons/2/film?piece=77").status_code == 400
    assert studio.post("/lessons/99/make").status_code == 404


def test_the_prompter_says_every_step_without_a_script(studio: AskedStudio) -> None:
    text = studio.client.get("/lessons/1/prompter?language=fr").text
    for line in lines_in(lesson_of_version(last(studio, 1)), "fr"):
        assert line.text.split("’")[0].split('"')[0] in text


def test_her_own_files_are_sent_only_to_be_kept(studio: AskedStudio) -> None:
    def put(shelf: Shelf) -> int:
        kept = shelf.files.keep(io.BytesIO(b"<script>alert(1)</script>"), name="x.xhtml")
        version = last_version(shelf, 1)
        return put_files(shelf, version.number, {"mine.xhtml": kept}).version

    number = studio.client.portal.call(studio.studio.shelf.run, put)  # type: ignore[union-attr]
    answer = studio.client.get(f"/lessons/1/versions/{number}/files/mine.xhtml")
    assert answer.headers["content-type"] == "application/octet-stream"
    assert answer.headers["content-disposition"].startswith("attachment")
