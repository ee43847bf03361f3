"""What is wished of a lesson reaches the files that are made of it; what cannot be had is told first."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from reedpath import jobs
from reedpath.errors import FilmError, ReedpathError, SettingsError
from reedpath.film import FilmWishes
from reedpath.jobs import (
    HarpChoice,
    LessonWishes,
    MadeLesson,
    ProgressStep,
    ReadPhrase,
    RouteRequest,
    from_python,
    make_lesson_folder,
    read_lesson,
    write_lesson,
)
from reedpath.jobs.lessons import lesson_from
from reedpath.jobs.processes import ShareReport
from reedpath.lesson import Rung
from reedpath.signal import BytesPut
from support.phrases import phrase_of

READ = ReadPhrase(phrase_of("g4 1/4 b4 d5 1/2", key="G", title="Three Steps (invented)"), None)
ON_C = RouteRequest(HarpChoice("C"), shift_semitones=0)


def test_a_lesson_is_as_it_is_wished():
    lesson = lesson_from(READ, ON_C, LessonWishes(title="Mine", notation="arrow", languages=("fr",)))
    assert (lesson.title, lesson.notation, lesson.languages) == ("Mine", "arrow", ("fr",))
    assert lesson.route.harp.name == "C"
    plain = lesson_from(READ, ON_C, LessonWishes())
    assert (plain.title, plain.notation, plain.languages) == ("Three Steps (invented)", "sign", ("en", "fr"))


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        (LessonWishes(notation="nobody"), "there is no notation named 'nobody'"),
        (LessonWishes(languages=()), "a lesson needs a language"),
        (LessonWishes(languages=("en", "xx")), "'xx'"),
        (LessonWishes(paper="vellum"), "there is no paper named 'vellum'"),
    ],
)
def test_a_wish_that_cannot_be_had_is_told_before_any_work(tmp_path, wishes, says):
    told: list[ProgressStep] = []
    with pytest.raises(ReedpathError, match=says):
        make_lesson_folder(READ, ON_C, wishes, tmp_path / "out", progress=told.append)
    assert told == []
    assert list(tmp_path.iterdir()) == []


def heard_at(rung: Rung) -> bytes:
    return f"heard at {rung.bpm:g}".encode()


@pytest.fixture
def quick(monkeypatch) -> list[str]:
    """What takes long is made short: sounds are a few bytes, and the sheet says what it got."""
    sounded: list[str] = []

    def sound_rung(_lesson: object, rung: Rung, *, put: BytesPut, report: ShareReport) -> bytes:
        sounded.append(f"{rung.bpm:g}")
        put(f"sound at {rung.bpm:g}".encode())
        report(0.5)
        return heard_at(rung)

    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    monkeypatch.setattr("reedpath.jobs.lessons.sound_rung", sound_rung)
    monkeypatch.setattr("reedpath.jobs.lessons.engrave_score", lambda score: f"engraved {score[:5].decode()}")
    monkeypatch.setattr(
        "reedpath.jobs.lessons.encode_handout", lambda _, *, catalogue, paper: f"{catalogue.name} {paper}".encode()
    )
    return sounded


def made(out: Path, told: list[ProgressStep]) -> MadeLesson:
    wishes = LessonWishes(title="Mine", notation="arrow", languages=("fr", "en"), paper="letter")
    return make_lesson_folder(READ, ON_C, wishes, out, progress=told.append)


def test_every_file_is_made_of_what_was_wished(quick, tmp_path):
    lesson, written = made(tmp_path / "out", []).lesson, made(tmp_path / "again", []).written
    tempos = [f"{rung.bpm:g}" for rung in lesson.ladder]
    files = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert set(written.files) == {
        "tab.txt", "score.musicxml", "score.svg", "chart.svg", "ribbon.svg", "steps.md", "sheet.pdf", "phrase.mid",
        *(f"play-along-{tempo}.wav" for tempo in tempos), "lesson.html", "lesson.json",
    }  # fmt: skip
    assert set(files) == {*written.files, "made-files.json"}
    assert files["sheet.pdf"] == b"fr letter"
    page = files["lesson.html"]
    assert [base64.b64encode(heard_at(rung)) in page for rung in lesson.ladder] == [True] * len(tempos)
    assert files["score.svg"] == b"engraved <?xml"
    assert [files[f"play-along-{tempo}.wav"].decode() for tempo in tempos] == [f"sound at {one}" for one in tempos]
    assert "soufflé" in files["steps.md"].decode() or "aspiré" in files["steps.md"].decode()
    assert files["tab.txt"].decode().startswith("Mine\n")
    assert read_lesson(tmp_path / "out") == lesson
    assert sorted(quick) == sorted(2 * tempos)


def test_each_step_is_told_with_the_share_of_the_work_before_it(quick, tmp_path):
    told: list[ProgressStep] = []
    tempos = [f"{rung.bpm:g}" for rung in made(tmp_path / "out", told).lesson.ladder]
    assert told[0].name == "arranging"
    steps = told[1:]
    assert {step.name for step in steps} == {
        "tab", "score", "engraving", "pictures", "steps", "sheet", "midi", "sound", "page", "data",
    }  # fmt: skip
    assert {step.total for step in steps} == {9 + len(tempos)}
    done = [step.done for step in steps]
    assert done == sorted(done)
    assert (done[0], set(done)) == (0, set(range(max(done) + 1)))
    assert {step.detail for step in steps if step.name == "sound"} == set(tempos)
    shares = [step.share for step in steps]
    assert shares[0] == 0.0
    assert shares == sorted(shares)
    assert 0.5 < shares[-1] < 1.0


def test_a_lesson_is_made_anew_only_where_one_is_and_when_asked(quick, tmp_path):
    lesson = made(tmp_path / "out", []).lesson
    with pytest.raises(SettingsError, match="there is a folder of that name, and it is not empty"):
        write_lesson(lesson, tmp_path / "out")
    (tmp_path / "out" / "steps.md").write_text("in my words", encoding="utf-8")
    written = write_lesson(lesson, str(tmp_path / "out"), paper="a4", replace=True)
    assert written.kept == {"steps.md": "steps.kept.md"}
    assert (tmp_path / "out" / "sheet.pdf").read_bytes() == b"fr a4"
    # its list gone, it is known by its lesson
    (tmp_path / "out" / "made-files.json").unlink()
    write_lesson(lesson, tmp_path / "out", replace=True)
    holiday = tmp_path / "holiday"
    holiday.mkdir()
    write_lesson(lesson, holiday)
    (tmp_path / "hers").mkdir()
    (tmp_path / "hers" / "picture.png").write_bytes(b"hers")
    with pytest.raises(SettingsError, match="hers: there is a folder of that name, but no lesson in it"):
        write_lesson(lesson, tmp_path / "hers", replace=True)


def test_what_a_program_asks_of_a_film_reaches_it(monkeypatch, tmp_path):
    asked: list[object] = []
    monkeypatch.setattr("reedpath.jobs.films.make_film", lambda *one, **more: asked.append((one, more)))
    lesson = lesson_from(READ, ON_C, LessonWishes())
    from_python.make_film(
        lesson, str(tmp_path / "a.mp4"), screen="upright", palette="ink", language="fr", tempos=["slow"], steps=False,
        replace=True,
    )  # fmt: skip
    from_python.make_film(lesson, "b.mp4")
    wishes = FilmWishes("upright", "ink", "fr", ("slow",), with_steps=False)
    assert asked == [
        ((lesson, wishes, tmp_path / "a.mp4"), {"replace": True}),
        ((lesson, FilmWishes(), Path("b.mp4")), {"replace": False}),
    ]


def test_a_film_of_another_ending_is_refused_with_the_right_one(tmp_path):
    lesson = lesson_from(READ, ON_C, LessonWishes())
    with pytest.raises(FilmError) as told:
        jobs.make_film(lesson, FilmWishes(), tmp_path / "solo.avi")
    assert str(told.value).startswith(f"{tmp_path / 'solo.avi'}: ")
    assert "solo.mp4" in str(told.value) + str(told.value.hint)
    assert list(tmp_path.iterdir()) == []
