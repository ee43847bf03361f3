"""A teacher's film in the studio, asked without a browser: brought in, lined up, cut by hand, made; and taken out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from reedpath.data import replace
from reedpath.film import CutOrder, FilmCut
from reedpath.jobs.footage_of_versions import footage_of, keep_cut, put_files
from reedpath.shelf import Shelf, last_version
from support.pieces import porch
from support.shelves import put_lesson
from support.studios import ADDRESS, AskedStudio, asked_studio
from support.teacher_films import FilmMade, playing, quiet, write_film

pytestmark = pytest.mark.slow

LESSON = porch()


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[AskedStudio]:
    """A studio with a lesson, of which a film was dropped in: played, then played again."""
    folder = tmp_path_factory.mktemp("films")
    with Shelf(folder / "shelf.sqlite", make=True) as made:
        put_lesson(made, LESSON)
    sound = [quiet(1.0), playing(LESSON, -1), quiet(3.0), playing(LESSON, -1), quiet(1.0)]
    write_film(folder / "raw.mp4", np.concatenate(sound), FilmMade(size=(160, 90), fps=10))
    with asked_studio(folder / "shelf.sqlite") as asked:
        sent = asked.client.put(
            "/uploads?name=raw.mp4", content=Path(folder / "raw.mp4").read_bytes(), headers={"origin": ADDRESS}
        )
        ended(asked, asked.post("/lessons/1/film", {"upload": sent.json()["upload"]}, accept="application/json"))
        yield asked


def ended(studio: AskedStudio, answer) -> None:
    """Wait for the job that an answer names; it must have come to its end."""
    assert studio.ended(answer.json()["job"]).error is None


def cut(studio: AskedStudio) -> FilmCut:
    found = footage_of(studio.studio.shelf.files, studio.studio.shelf.now(last_version, 1)).cut
    assert found is not None
    return found


def test_what_is_played_on_another_harp_is_named(studio: AskedStudio) -> None:
    assert ", on another harp" not in studio.client.get("/lessons/1/film").text
    version, files = studio.studio.shelf.now(last_version, 1), studio.studio.shelf.files
    found = cut(studio)
    other = tuple(replace(piece, harp="A") if piece.kind == "play" else piece for piece in found.pieces)
    changed = keep_cut(files, replace(found, pieces=other))
    studio.studio.shelf.now(lambda shelf: put_files(shelf, version.number, changed))
    assert studio.client.get("/lessons/1/film").text.count(", on another harp") == 2
    studio.post("/undo")
    assert cut(studio) == found


def test_a_film_is_lined_up_and_cut_by_hand_without_a_script(studio: AskedStudio) -> None:
    before = cut(studio)
    assert [piece.keep for piece in before.pieces if piece.kind == "play"] == [False, True]
    page = studio.client.get("/lessons/1/film").text
    assert "the best of several" in page
    fields = {"piece": ""}
    for index, piece in enumerate(before.pieces):
        fields |= {f"start {index}": f"{piece.start_seconds:.2f}", f"end {index}": f"{piece.end_seconds:.2f}"}
        if piece.kind == "play":
            fields[f"keep {index}"] = "1"
    told = studio.post("/lessons/1/film/cut", fields).text
    assert "The cut is kept" in told
    after = cut(studio)
    assert [piece.keep for piece in after.pieces if piece.kind == "play"] == [True, True]
    # what the table rounds is not changed by it
    assert [piece.start_seconds for piece in after.pieces] == [piece.start_seconds for piece in before.pieces]
    studio.post("/undo")
    assert cut(studio) == before
    count = len(before.pieces)
    # the last one first, and the first in two
    places = {f"place {index}": str(index + 1) for index in range(count)} | {f"place {count - 1}": "1"}
    studio.post("/lessons/1/film/cut", fields | places)
    starts = [piece.start_seconds for piece in before.pieces]
    assert [piece.start_seconds for piece in cut(studio).pieces] == [starts[-1], *starts[:-1]]
    studio.post("/undo")
    studio.post("/lessons/1/film/cut", {**fields, "split": "0 0.25"})
    assert [piece.start_seconds for piece in cut(studio).pieces] == [0.0, 0.25, *starts[1:]]
    studio.post("/undo")
    # no other camera ran beside it
    assert studio.post("/lessons/1/film/cut", {**fields, "seen 0": "1"}).status_code == 400
    assert "seen 0" not in page
    assert studio.post("/lessons/1/film/cut", {**fields, "end 0": "5000"}).status_code == 400
    assert cut(studio) == before


def test_the_film_goes_with_the_next_version_and_is_made(studio: AskedStudio) -> None:
    studio.post("/lessons/1/change/words", {"author": "Ada (invented)"})
    version = studio.studio.shelf.now(last_version, 1)
    assert version.version == 2
    assert "my-film-1.mp4" in version.files
    ended(studio, studio.post("/lessons/1/film/made", {"piece": "", "side": "over"}, accept="application/json"))
    version = studio.studio.shelf.now(last_version, 1)
    assert {"my-film.mp4", "my-film-1.mp4", "my-film.en.vtt"} <= set(version.files)
    address = f"/lessons/1/versions/{version.version}/files/"
    assert studio.client.get(address + "my-film.mp4").headers["content-type"] == "video/mp4"
    page = studio.client.get("/lessons/1").text
    assert f'{address}my-film.en.vtt"' in page
    studio.post("/lessons/1/change/words", {"author": "Bo (invented)"})
    version = studio.studio.shelf.now(last_version, 1)
    assert "my-film.mp4" not in version.files
    assert "my-film-1.mp4" in version.files


@pytest.mark.parametrize("order", ["taught", "filmed"])
def test_a_cut_is_proposed_in_the_order_that_is_asked_for(studio: AskedStudio, monkeypatch, order: str) -> None:
    begun, start = [], studio.studio.jobs.start
    monkeypatch.setattr(
        studio.studio.jobs, "start", lambda *given, **named: (begun.append(given), start(*given, **named))[1]
    )
    assert f'value="{order}"' in studio.client.get("/lessons/1/film").text
    ended(studio, studio.post("/lessons/1/film", {"order": order}, accept="application/json"))
    assert begun[0][1].keywords["order"] is CutOrder(order)
    assert [piece.keep for piece in cut(studio).pieces if piece.kind == "play"].count(True) == 1
    studio.post("/undo")


def test_a_film_is_taken_out_and_comes_back(studio: AskedStudio) -> None:
    studio.post("/lessons/1/film/remove", {"piece": "", "name": "my-film-1.mp4"})
    assert "No film yet" in studio.client.get("/lessons/1/film").text
    assert studio.post("/lessons/1/film/cut", {"piece": ""}).status_code == 400
    assert studio.post("/lessons/1/film").status_code == 400
    studio.post("/undo")
    assert len(cut(studio).films) == 1
