"""The studio's rules that need neither a server nor a process: forms, bounds, names, what a job tells of itself."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from starlette.requests import Request

from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.harp import notation_names
from reedpath.jobs.lesson_edits import with_line_edited
from reedpath.jobs.next_phrases import NextPhrase, SuitedLesson
from reedpath.jobs.progress import ProgressStep
from reedpath.jobs.workbench.commands import (
    Choose,
    CorrectNote,
    LookAt,
    MarkPart,
    NamePart,
    PinMove,
    RedoStep,
    TypeSource,
    UndoStep,
    Unpin,
)
from reedpath.jobs.workbench.messages import SurveyLine, SurveyShown, TradeOffPoint, TradeOffShown
from reedpath.lesson import LineEdit
from reedpath.listen import BLOCK_FRAMES
from reedpath.shelf import Melody
from reedpath.studio import bench_panels, lesson_pages, long_note_pages, pages, shelf_pages, student_views
from reedpath.studio.bench_forms import command_of, sound_of
from reedpath.studio.forms import MOST_FIELDS, SentForm, body_of, decimal_number, form_of, whole_number
from reedpath.studio.guard import Guard
from reedpath.studio.live_lines import UNANSWERED, BlockFlow
from reedpath.studio.running_jobs import LISTED, JobState, RunningJob, RunningJobs
from reedpath.studio.settings import Settings, read_settings, write_settings
from reedpath.studio.static_files import static_files
from reedpath.studio.student_views import FoundNexts
from reedpath.studio.uploads import MOST_BYTES, Uploads
from reedpath.studio.work_pages import job_data
from reedpath.studio.workbench_pages import notation_samples
from reedpath.wording import catalogue_names, error_hint, load_catalogue, load_studio_catalogue
from support.built_routes import built_route

ENGLISH, STUDIO_ENGLISH = load_catalogue("en"), load_studio_catalogue("en")


def key_of(raised: pytest.ExceptionInfo[SettingsError]) -> str:
    return raised.value.key


# ----------------------------------------------------------------------------------------------------------- forms


FORM = SentForm([("a", "1"), ("b", " x , ,y "), ("a", ""), ("a", "3"), ("c", ""), ("d", "two\nlines \x07")])


def test_of_a_name_sent_twice_the_last_holds_and_all_are_kept() -> None:
    assert (FORM.get("a"), FORM.all("a")) == ("3", ["1", "3"])
    assert (FORM.get("c", "other"), FORM.get("z"), FORM.get("z", "other")) == ("", "", "other")
    assert (FORM.all("c"), FORM.all("z")) == ([], [])


def test_words_stand_between_commas_and_a_line_is_one_line() -> None:
    assert FORM.words("b") == ("x", "y")
    assert FORM.words("c") == ()
    assert "\n" not in FORM.line("d")
    assert FORM.line("d").startswith("two")
    assert "\x07" not in FORM.line("d")
    assert FORM.line("z", " none ") == "none"


def test_a_box_is_ticked_where_its_name_was_sent() -> None:
    assert [FORM.has(name) for name in ("a", "c", "z")] == [True, True, False]


@pytest.mark.parametrize(("text", "number"), [("0", 0), (" 12 ", 12), ("007", 7), ("999999999", 999_999_999)])
def test_whole_numbers_are_read(text: str, number: int) -> None:
    assert whole_number(text) == number


@pytest.mark.parametrize("text", ["", " ", "-1", "+1", "1.5", "1 2", "²", "٣", "1000000000", "x" * 99])
def test_what_is_no_whole_number_is_told_in_short(text: str) -> None:
    with pytest.raises(SettingsError) as raised:
        whole_number(text)
    assert key_of(raised) == "studio.no_number"
    assert raised.value.values["found"] == text[:40]


def request_of(*blocks: bytes, **headers: str) -> Request:
    """A request whose body comes in these blocks."""
    sent = [{"type": "http.request", "body": one, "more_body": True} for one in blocks]
    sent.append({"type": "http.request", "body": b"", "more_body": False})

    async def receive():
        return sent.pop(0)

    named = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    return Request({"type": "http", "method": "POST", "headers": named, "query_string": b""}, receive)


def test_a_body_is_read_up_to_its_bound() -> None:
    assert asyncio.run(body_of(request_of(b"abc", b"de"), most_bytes=5)) == b"abcde"
    assert asyncio.run(body_of(request_of(b"abcde", content_length="5"), most_bytes=5)) == b"abcde"
    assert asyncio.run(body_of(request_of(b"ab", content_length="none"), most_bytes=5)) == b"ab"
    for request in (request_of(b"abc", b"def"), request_of(b"", content_length="6")):
        with pytest.raises(SettingsError) as raised:
            asyncio.run(body_of(request, most_bytes=5))
        assert key_of(raised) == "studio.too_much"
        assert raised.value.values["most"] == 5


def test_a_form_keeps_blank_fields_and_has_lines_as_pages_type_them() -> None:
    form = asyncio.run(form_of(request_of(b"a=&b=x%0D%0Ay&b=%FF")))
    assert form.fields == [("a", ""), ("b", "x\ny"), ("b", "\N{REPLACEMENT CHARACTER}")]
    assert asyncio.run(form_of(request_of())).fields == []


def test_a_form_of_too_many_fields_is_none() -> None:
    assert len(asyncio.run(form_of(request_of(b"a=1&" * (MOST_FIELDS - 1) + b"a=1"))).fields) == MOST_FIELDS
    with pytest.raises(SettingsError) as raised:
        asyncio.run(form_of(request_of(b"a=1&" * MOST_FIELDS + b"a=1")))
    assert key_of(raised) == "studio.no_form"


# ---------------------------------------------------------------------------------------------------- the workbench


@pytest.mark.parametrize(
    ("fields", "command"),
    [
        ({"do": "type", "text": "4", "format": "abc"}, TypeSource(text="4", format="abc")),
        ({"do": "type"}, TypeSource(text="", format="")),
        ({"do": "pin", "note": "3", "move": "-4"}, PinMove(event=2, move="-4")),
        ({"do": "pin", "note": "0", "move": "-4"}, PinMove(event=0, move="-4")),
        ({"do": "avoid", "note": "1", "move": "-4"}, PinMove(event=0, move="-4", avoid=True)),
        ({"do": "unpin", "note": "2"}, Unpin(event=1)),
        ({"do": "unpin"}, Unpin(event=None)),
        ({"do": "look", "note": "2"}, LookAt(event=1)),
        ({"do": "look", "note": ""}, LookAt(event=None)),
        ({"do": "mark", "from": "2", "to": "5", "label": " A "}, MarkPart(first=1, last=4, label="A")),
        ({"do": "mark", "from": "2", "to": "5"}, MarkPart(first=1, last=4, label="")),
        ({"do": "name", "part": "2", "label": "B"}, NamePart(part=1, label="B")),
        ({"do": "unmark", "part": "1"}, NamePart(part=0)),
        ({"do": "correct", "note": "2", "how": "move", "semitones": "-12"},
         CorrectNote(event=1, how="move", semitones=-12)),
        ({"do": "correct", "note": "2", "how": "remove"}, CorrectNote(event=1, how="remove")),
        ({"do": "undo"}, UndoStep()),
        ({"do": "redo"}, RedoStep()),
        ({"do": "choose", "harp": " A ", "position": "2", "shift_semitones": "", "overblows": "1", "splits": "0",
          "bpm": "72,5"},
         Choose(harp="A", position=2, shift_semitones=None, overblows=True, splits=False, bpm=72.5)),
        ({"do": "choose", "bpm": " "}, Choose(bpm=None)),
    ],
)  # fmt: skip
def test_a_form_says_a_command(fields: dict[str, str], command) -> None:
    assert command_of(fields, ENGLISH) == command


@pytest.mark.parametrize(
    ("fields", "key"),
    [({}, "no_form"), ({"do": "dance"}, "no_form"), ({"do": "pin", "note": "x"}, "no_number"),
     ({"do": "choose", "position": "two"}, "no_number"), ({"do": "choose", "bpm": "fast"}, "no_tempo"),],
)  # fmt: skip
def test_what_no_form_says_is_refused(fields: dict[str, str], key: str) -> None:
    with pytest.raises(SettingsError) as raised:
        command_of(fields, ENGLISH)
    assert key_of(raised) == f"studio.{key}"


def test_decimals_are_typed_with_a_comma_or_a_point() -> None:
    assert (decimal_number("72,5"), decimal_number("72.5"), decimal_number(" 7 ")) == (72.5, 72.5, 7.0)
    with pytest.raises(SettingsError) as raised:
        decimal_number("x" * 99)
    assert raised.value.values["found"] == "x" * 40


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({}, (0, 9, None)),
        ({"from": "3"}, (2, 9, None)),
        ({"to": "3"}, (0, 2, None)),
        ({"from": "5", "to": "3", "bpm": "60,5"}, (2, 4, 60.5)),
        ({"from": "", "to": "", "bpm": " "}, (0, 9, None)),
    ],
)
def test_what_is_to_be_heard_is_a_stretch_in_order(fields: dict[str, str], found) -> None:
    assert sound_of(fields, 10) == found


def test_no_page_of_the_studio_sends_a_person_to_a_command() -> None:
    """Where an error's hint names a command, the studio has a hint of its own, in every language."""
    own = {key.removeprefix("studio.hint.") for key in STUDIO_ENGLISH.messages if key.startswith("studio.hint.")}
    assert own == {
        "arrange.no_event", "jobs.no_takes_heard", "shelf.no_record", "shelf.no_zip", "shelf.zip_without",
    }  # fmt: skip
    values = {"number": 7, "count": 3, "name": "x"}
    for language in catalogue_names():
        catalogue = load_studio_catalogue(language)
        for key in own:
            error = ReedpathError(key, **{name: values[name] for name in GAPS.get(key, ())})
            assert "reedpath" in (error_hint(error, catalogue) or "")
            told = pages.said_error(error, catalogue)
            assert told["hint"]
            assert "reedpath" not in told["hint"]


GAPS = {
    "arrange.no_event": ("number", "count"),
    "jobs.no_takes_heard": ("name",),
    "shelf.no_record": ("number",),
    "shelf.zip_without": ("name",),
}


def test_a_moment_is_told_by_day_and_minute_as_it_is_here() -> None:
    at = datetime(2026, 11, 28, 9, 5).astimezone()
    assert pages.moment_words(at.astimezone(UTC).isoformat(), ENGLISH) == "28 November 2026, 09:05"


def test_each_notation_is_shown_by_what_it_writes() -> None:
    samples = notation_samples()
    assert tuple(samples) == notation_names()
    assert samples["sign"] == "+4 -4 -4'"
    assert len(set(samples.values())) == len(samples)


def line_of(effort: float, truth: float, *, unbeaten: bool = False, chosen: bool = False) -> SurveyLine:
    return SurveyLine("C", "C", "standard", 2, 0, 1.0, effort, 0.0, truth, unbeaten, chosen)


def test_the_trade_off_is_drawn_between_its_axes() -> None:
    lines = (line_of(10.0, 1.0, unbeaten=True), line_of(20.0, 0.9), line_of(0.0, 0.95, unbeaten=True, chosen=True))
    bench = SimpleNamespace(survey=SurveyShown(number=1, lines=lines, owned=False), trade_off=None)
    picture = bench_panels._picture(bench)
    assert (picture.most_effort, picture.least_truth, picture.line) == (21.0, 0.9, "")
    # 44 to the left, 14 over and to the right, 34 below, of 360 by 220
    assert [(one.x, one.y, one.kind) for one in picture.points] == [
        (round(44 + 302 * 10 / 21, 1), 14.0, "unbeaten"),
        (round(44 + 302 * 20 / 21, 1), 186.0, "beaten"),
        (44.0, 100.0, "chosen"),
    ]
    bench.trade_off = TradeOffShown(number=1, points=(TradeOffPoint(0.0, 1.0, 0), TradeOffPoint(42.0, 0.8, 1)))
    picture = bench_panels._picture(bench)
    assert (picture.most_effort, picture.least_truth) == (pytest.approx(44.1), 0.8)
    assert picture.line == f"44.0,14.0 {round(44 + 302 * 42 / 44.1, 1)},186.0"


def test_the_trade_off_of_what_costs_nothing_has_axes_and_that_of_nothing_is_none() -> None:
    bench = SimpleNamespace(survey=SurveyShown(number=1, lines=(line_of(0.0, 1.0),), owned=False), trade_off=None)
    picture = bench_panels._picture(bench)
    assert (picture.most_effort, picture.least_truth) == (1.0, 0.95)
    bench.survey = SurveyShown(number=1, lines=(), owned=False)
    assert bench_panels._picture(bench) is None
    bench.survey = None
    assert bench_panels._picture(bench) is None


# ------------------------------------------------------------------------------------------------------- live lines


def taken(flow: BlockFlow) -> int:
    """How many blocks may come now, each answered at once."""
    count = 0
    while flow.takes():
        count += 1
        flow.unanswered = 0
    flow.unanswered = 0
    return count


def test_blocks_come_a_little_faster_than_sound_and_a_second_of_them_at_once() -> None:
    now = [0.0]
    flow = BlockFlow(100 * BLOCK_FRAMES, clock=lambda: now[0])
    assert taken(flow) == 100
    # the one that was too many counts: 0.5 s at 105 a second, less one
    now[0] = 0.5
    assert taken(flow) == 51
    now[0] = 60.0
    assert taken(flow) == 100


def test_so_many_blocks_wait_for_their_answers_and_no_more() -> None:
    flow = BlockFlow(48_000, clock=lambda: 0.0)
    assert [flow.takes() for _ in range(UNANSWERED + 1)] == [True] * UNANSWERED + [False]
    assert flow.unanswered == UNANSWERED + 1


# ------------------------------------------------------------------------------------------- what is kept, and where


def test_what_was_found_holds_on_its_ground_alone() -> None:
    nexts, found = FoundNexts(), {"phrases": [], "lessons": []}
    assert nexts.of(1, "a") is None
    nexts.keep(1, "a", found)
    assert nexts.of(1, "a") is found
    assert (nexts.of(1, "b"), nexts.of(2, "a")) == (None, None)
    nexts.forget(1)
    nexts.forget(1)
    assert nexts.of(1, "a") is None


def test_settings_are_kept_beside_the_shelf_and_damaged_ones_are_the_usual_ones(tmp_path: Path) -> None:
    shelf, kept = tmp_path / "own.sqlite", Settings("fr", "solfege", "dark", "largest")
    assert read_settings(shelf) == Settings()
    write_settings(shelf, kept)
    assert read_settings(shelf) == kept
    path = tmp_path / "own.sqlite.settings.json"
    path.write_text('{"light": "blue"}')
    assert read_settings(shelf) == Settings()
    path.write_text("{")
    assert read_settings(shelf) == Settings()
    write_settings(tmp_path / "nowhere" / "own.sqlite", kept)  # can't be written: no error


def test_only_styles_scripts_and_pictures_are_served() -> None:
    names = static_files()
    assert {name[name.rindex(".") :] for name in names} <= {".js", ".css", ".svg"}
    assert {"inks.css", "controls.css"} <= set(names)
    assert any(name.startswith("page/") for name in names)
    assert all(isinstance(data, bytes) and data for data in names.values())


@pytest.mark.parametrize(
    ("name", "ending"),
    [("solo.MP3", ".mp3"), ("solo", ""), ("a.b.wav", ".wav"), ("a.sh;rm", ""), ("a.é", ""), ("a.", ""),
     ("a.12345678", ".12345678"), ("a.123456789", "")],
)  # fmt: skip
def test_of_a_name_only_a_plain_ending_becomes_part_of_a_path(tmp_path: Path, name: str, ending: str) -> None:
    async def story() -> None:
        uploads = Uploads(tmp_path / "uploads")
        upload = uploads.from_bytes(b"abc", name=name)
        assert (upload.path.suffix if ending else upload.path.name) == (ending or upload.id)
        assert (upload.size, upload.name, upload.path.parent) == (3, name, tmp_path / "uploads")
        assert upload.path.read_bytes() == b"abc"
        assert uploads.get(upload.id) is upload
        assert uploads.path(upload.id) == upload.path
        uploads.drop(upload.id)
        uploads.drop(upload.id)
        assert not upload.path.exists()
        with pytest.raises(SettingsError) as raised:
            uploads.get(upload.id)
        assert key_of(raised) == "studio.no_upload"

    asyncio.run(story())


def test_an_upload_is_taken_whole_or_not_at_all(tmp_path: Path) -> None:
    async def story() -> None:
        uploads = Uploads(tmp_path / "uploads")
        upload = await uploads.take(request_of(b"ab", b"c", content_length="3"))
        assert (upload.name, upload.size, upload.path.read_bytes()) == ("upload", 3, b"abc")
        for blocks, said, key in (
            ((b"ab",), "3", "went_away"),
            ((b"abcd",), "3", "went_away"),
            ((b"abc",), "", "no_length"),
            ((b"abc",), "-3", "no_length"),
            ((b"abc",), "1" * 20, "no_length"),
            ((), str(MOST_BYTES + 1), "too_much"),
        ):
            with pytest.raises(SettingsError) as raised:
                await uploads.take(request_of(*blocks, content_length=said))
            assert key_of(raised) == f"studio.{key}"
        assert [one.name for one in (tmp_path / "uploads").iterdir()] == [upload.path.name]
        uploads.end()
        assert not (tmp_path / "uploads").exists()

    asyncio.run(story())


def test_what_a_stopped_studio_left_is_cleared_away(tmp_path: Path) -> None:
    async def story() -> None:
        (tmp_path / "uploads").mkdir()
        (tmp_path / "uploads" / "old").write_bytes(b"x")
        Uploads(tmp_path / "uploads")
        assert not (tmp_path / "uploads").exists()

    asyncio.run(story())


# ------------------------------------------------------------------------------------------------------------- jobs


def job_of(state: JobState, step: ProgressStep | None = None, **more) -> RunningJob:
    return RunningJob(7, "add", "a title", Path("nowhere"), state=state, step=step, **more)


@pytest.mark.parametrize(
    ("state", "step", "share"),
    [
        (JobState.WAITING, None, 0.0),
        (JobState.RUNNING, ProgressStep("data", 1, 4), 0.25),
        (JobState.RUNNING, ProgressStep("data", 1, 4, share=0.6), 0.6),
        (JobState.RUNNING, ProgressStep("data", 0, 0), 0.0),
        (JobState.DONE, ProgressStep("data", 1, 4), 1.0),
        (JobState.FAILED, ProgressStep("data", 1, 4), 0.25),
    ],
)
def test_a_job_tells_how_much_of_it_is_done(state: JobState, step: ProgressStep | None, share: float) -> None:
    assert job_of(state, step).share == share


def test_only_a_job_that_runs_and_tells_its_share_has_time_left() -> None:
    step = ProgressStep("data", 1, 4, share=0.5)
    assert job_of(JobState.WAITING, step, started=-1e6).seconds_left is None
    assert job_of(JobState.DONE, step, started=-1e6).seconds_left is None
    assert job_of(JobState.RUNNING, None, started=-1e6).seconds_left is None
    assert job_of(JobState.RUNNING, ProgressStep("data", 1, 4), started=-1e6).seconds_left is None
    left = job_of(JobState.RUNNING, step, started=-1e6).seconds_left
    assert left is not None
    assert left > 1e5


def test_ends_are_ends() -> None:
    assert [state for state in JobState if state.is_end] == [JobState.DONE, JobState.FAILED, JobState.CANCELLED]


def test_a_job_is_told_in_words() -> None:
    step = ProgressStep("data", 1, 3, share=1 / 3)
    data = job_data(job_of(JobState.RUNNING, step, started=-1e6, link="/x"), STUDIO_ENGLISH)
    assert (data["number"], data["title"], data["state"], data["ended"]) == (7, "a title", "running", False)
    assert (data["share"], data["link"], data["error"]) == (0.333, "/x", None)
    assert data["name"] == STUDIO_ENGLISH.say("work.job.add")
    assert data["step"] == STUDIO_ENGLISH.say("progress.data")
    assert data["left"]
    failed = job_of(JobState.FAILED, error=SettingsError("studio.no_number", found="x"))
    data = job_data(failed, STUDIO_ENGLISH)
    assert (data["step"], data["left"], data["ended"]) == ("", "", True)
    assert "'x' is not a whole number" in data["error"]["says"].replace("‘", "'").replace("’", "'")
    assert data["error"]["hint"]


def test_of_jobs_that_have_ended_the_last_are_listed(tmp_path: Path) -> None:
    async def story() -> None:
        jobs = RunningJobs(tmp_path / "jobs")
        for number in range(1, LISTED + 4):
            jobs._jobs[number] = RunningJob(number, "add", "", tmp_path / str(number), state=JobState.DONE)
        jobs._jobs[2].state = JobState.RUNNING
        jobs._forget_old()
        assert [job.number for job in jobs.all()] == [*range(LISTED + 3, 3, -1), 2]
        with pytest.raises(SettingsError) as raised:
            jobs.get(1)
        assert key_of(raised) == "studio.no_job"
        assert raised.value.values["number"] == 1
        assert jobs.new_file("a.zip") == tmp_path / "jobs" / "a.zip"
        assert (tmp_path / "jobs").is_dir()

    asyncio.run(story())


# ------------------------------------------------------------------------------------------------------------ pages


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("", "en"),
        ("fr", "fr"),
        ("fr-CA,fr;q=0.8,en;q=0.6", "fr"),
        ("xx,en;q=0.5,fr;q=0.9", "fr"),
        ("FR", "fr"),
        ("xx;q=1, fr;q=oops, en;q=0.1", "en"),
        ("*", "en"),
    ],
)
def test_a_page_is_in_the_first_language_asked_for_that_we_speak(header: str, language: str) -> None:
    assert pages._asked_language(header) == language


def test_a_file_of_the_studio_is_told_by_its_name_alone() -> None:
    error = SettingsError("studio.no_number", where=Place(file="/home/ada/own/solo.txt", line=3), found="x")
    assert "solo.txt" in pages.said_error(error, STUDIO_ENGLISH)["says"]
    assert "/home" not in pages.said_error(error, STUDIO_ENGLISH)["says"]
    near = SettingsError("studio.no_number", where=Place(file="own/solo.txt"), found="x")
    assert "own/solo.txt" in pages.said_error(near, STUDIO_ENGLISH)["says"]


def test_two_guards_have_two_secrets_and_tokens_of_their_own() -> None:
    one, other = (Guard(None, port=8000) for _ in range(2))  # type: ignore[arg-type]
    assert one.token is None
    assert one.new_token() != other.new_token()
    assert one.token is not None
    assert len(one.token) >= 32  # 192 bits
    assert one._session != other._session
    assert one.hosts == {"127.0.0.1:8000", "localhost:8000"}


# ------------------------------------------------------------------------------------------------------ the shelf


def test_a_melody_is_pictured_by_its_ups_and_downs() -> None:
    picture = shelf_pages.melody_picture(Melody((60, 62, 59), (1.0, 0.1, 20.0)))
    assert [tuple(one) for one in picture.notes] == [(0.0, 6, 11.0), (12.0, 0, 2.0), (13.2, 9, 95.0)]
    assert (picture.width, picture.height) == (110, 12)
    plain = shelf_pages.melody_picture(Melody((60, 60)))
    assert [tuple(one) for one in plain.notes] == [(0.0, 0, 11.0), (12.0, 0, 11.0)]
    assert tuple(shelf_pages.melody_picture(Melody(()))) == (0, 3, ())


def test_the_picture_of_a_long_melody_ends_at_its_edge() -> None:
    picture = shelf_pages.melody_picture(Melody((60,) * 30, (1.0,) * 30))
    assert (len(picture.notes), picture.width) == (20, 240)


@pytest.mark.parametrize(
    ("text", "points"), [("", None), (" ", None), ("3", 3.0), ("2,5", 2.5), ("0", 0.0), ("-1", None), ("inf", None)]
)
def test_points_are_typed_or_left_open(text: str, points: float | None) -> None:
    assert shelf_pages._points(text) == points


def test_points_that_are_no_number_are_told() -> None:
    with pytest.raises(SettingsError) as raised:
        shelf_pages._points("hard")
    assert raised.value.values["found"] == "hard"


def test_a_tune_has_its_rhythm_where_all_of_it_is_known() -> None:
    def tune(**fields: str) -> Melody | None:
        return shelf_pages._tune(SentForm(list(fields.items())), ENGLISH)

    assert tune() is None
    assert tune(tune="E4 G4 C5", rhythm="1 0,5 2") == Melody((64, 67, 72), (1.0, 0.5, 2.0))
    assert tune(tune="E4 G4 C5", rhythm="1 1").lengths == ()
    assert tune(tune="E4 G4 C5", rhythm="1 0 1").lengths == ()
    address = shelf_pages.tune_address(Melody((64,), (0.33333,)))
    assert address == "/?tune=E4&rhythm=0.333"


def test_a_pasted_source_is_named_after_what_it_is() -> None:
    assert shelf_pages._name_of_text("\n X:1\nK:C") == "pasted.abc"
    assert shelf_pages._name_of_text("4 -4 X:1") == "pasted.txt"


@pytest.mark.parametrize(
    ("referer", "back"),
    [("", "/"), ("http://127.0.0.1:5/lessons/3?a=1", "/lessons/3?a=1"), ("http://127.0.0.1:5/", "/"),
     ("http://127.0.0.1:50/x", "/"), ("http://evil.example/x", "/")],
)  # fmt: skip
def test_one_goes_back_to_a_page_of_ours_alone(referer: str, back: str) -> None:
    headers = [(b"host", b"127.0.0.1:5"), (b"referer", referer.encode())]
    assert shelf_pages._back(Request({"type": "http", "method": "POST", "headers": headers})) == back


# ------------------------------------------------------------------------------------------------------- lessons


def edits(*fields: tuple[str, str]) -> list[tuple[str, LineEdit, int | None]]:
    changes = lesson_pages._line_changes(SentForm(list(fields)))
    assert all(isinstance(one, partial) and one.func is with_line_edited for one in changes)
    return [(one.keywords["language"], one.keywords["edit"], one.keywords["piece"]) for one in changes]


def test_lines_that_differ_are_changed_from_the_last_on_notes_before_their_line() -> None:
    assert edits(
        ("text en 0", "same "), ("was en 0", "same"),
        ("text en 1", "new"), ("was en 1", "old"),
        ("note en 1", "a note"),
        ("note en 2", "  "),
        ("text en 10", ""), ("was en 10", "gone"),
        ("text fr 1", "nouveau"), ("was fr 1", "vieux"),
        ("text en x", "no"), ("other en 3", "no"),
        ("piece", "2"),
    ) == [
        ("en", LineEdit(10, "gone", ""), 2),
        ("en", LineEdit(1, "old", "a note", after=True), 2),
        ("en", LineEdit(1, "old", "new"), 2),
        ("fr", LineEdit(1, "vieux", "nouveau"), 2),
    ]  # fmt: skip
    assert edits(("text en 0", "x"), ("was en 0", "y"))[0][2] is None
    assert edits() == []


def test_what_is_said_of_a_lesson_is_what_its_form_has() -> None:
    def said(*fields: tuple[str, str]):
        (change,) = lesson_pages._said_changes(SentForm(list(fields)))
        return change.keywords["said"], change.keywords["piece"]

    found, piece = said(
        ("title", "A"), ("author", ""), ("said en", "Listen"), ("part en A", " The question "), ("part en ", "no")
    )
    assert (found.title, found.author, found.date, piece) == ("A", "", None, None)
    assert (found.notes, found.part_names) == (("en:Listen",), ("en:A=The question",))
    assert said(("title", ""), ("piece", "1"))[0].title is None
    assert said(("piece", "1"))[1] == 1


@pytest.mark.parametrize(
    ("text", "tempos"),
    [("60 72,5 80", (60.0, 72.5, 80.0)), ("60; 72.5; 80", (60.0, 72.5, 80.0)), ("60, 70", (60.0, 70.0)), ("", ()),
     (" , ; ", ()), ("9999.9", (9999.9,))],
)  # fmt: skip
def test_tempos_are_typed_as_people_do(text: str, tempos: tuple[float, ...]) -> None:
    assert lesson_pages._tempos(text) == tempos


@pytest.mark.parametrize("text", ["fast", "0", "-60", "10000", "60 x"])
def test_what_is_no_tempo_is_refused(text: str) -> None:
    with pytest.raises(SettingsError) as raised:
        lesson_pages._tempos(text)
    assert key_of(raised) == "studio.no_tempo"


def test_drills_stand_in_rows_and_count_notes_from_one() -> None:
    fields = [("first", "1"), ("last", "4"), ("times", ""), ("drill-tempos", "60 70"),
              ("first", ""), ("last", "9"), ("times", "2"), ("drill-tempos", ""),
              ("first", "5"), ("last", "6"), ("times", "100"), ("drill-tempos", "")]  # fmt: skip
    (change,) = lesson_pages._drill_changes(SentForm(fields))
    drills = change.keywords["drills"]
    assert [(one.first, one.last, one.times, one.tempos) for one in drills] == [
        (0, 3, 3, (60.0, 70.0)),
        (4, 5, 100, ()),
    ]
    (change,) = lesson_pages._drill_changes(SentForm([("program", "1")]))
    assert change.keywords["drills"] is None
    for times in ("0", "101"):
        with pytest.raises(SettingsError):
            lesson_pages._times(times)


def test_the_programs_own_tempos_and_the_order_of_pieces_are_asked_for() -> None:
    (change,) = lesson_pages._tempo_changes(SentForm([("program", "1"), ("tempos", "60")]))
    assert change.keywords == {"tempos": None, "piece": None}
    (change,) = lesson_pages._tempo_changes(SentForm([("tempos", "60"), ("piece", "0")]))
    assert change.keywords == {"tempos": (60.0,), "piece": 0}
    (change,) = lesson_pages._order_changes(SentForm([("order", "2, 0,1,")]))
    assert change.keywords == {"order": (2, 0, 1)}


@pytest.mark.parametrize(
    ("place", "address"), [("", ""), ("order", "#order"), ("line-3", "#line-3"), ("a b", ""), ("a<", "")]
)
def test_a_place_of_the_page_is_a_plain_word(place: str, address: str) -> None:
    assert lesson_pages._place(SentForm([("place", place)])) == address


def test_lines_that_differ_stand_side_by_side() -> None:
    assert lesson_pages._beside(["a", "b", "c"], ["a", "x", "y", "c", "d"]) == [("b", "x"), ("", "y"), ("", "d")]
    assert lesson_pages._beside(["a", "b"], ["b"]) == [("a", "")]
    assert lesson_pages._beside(["a"], ["a"]) == []


def test_a_long_value_is_shortened() -> None:
    assert lesson_pages._short(None) == ""
    assert lesson_pages._short(12) == "12"
    assert lesson_pages._short("x" * 160) == "x" * 160
    assert lesson_pages._short("x" * 161) == "x" * 159 + "…"


def test_a_language_that_is_not_spoken_is_called_by_its_short_name() -> None:
    assert lesson_pages._title("xx") == "xx"
    assert lesson_pages._title("fr") == load_catalogue("fr").title


# ------------------------------------------------------------------------------------------------------ students


def test_what_comes_next_is_told_with_its_tab_and_its_chance() -> None:
    route = built_route("4b:1 4d:1")
    phrase = NextPhrase(3, "Up", route, 0.83, None, None)
    suited = SuitedLesson(2, "Down", 0.52, 0.9, (route, 0.71))
    alone = SuitedLesson(4, "Along", 0.52, None, None)
    data = student_views._next_data((phrase,), (suited, alone), ENGLISH)
    (one,) = data["phrases"]
    assert (one["number"], one["title"], one["percent"], one["tempo"], one["technique"]) == (3, "Up", 85, None, None)
    assert "+4" in one["tab"]
    first, second = data["lessons"]
    assert (first["lesson"], first["percent"], first["tempo"], first["other_percent"]) == (2, 50, 90, 70)
    assert "+4" in first["tab"]
    assert (second["other_percent"], second["tab"], second["tempo"]) == (None, "", None)


def test_bars_of_held_notes_stand_beside_one_another_up_to_the_longest() -> None:
    assert long_note_pages._bars([]) == []
    assert long_note_pages._bars([0.0]) == [(0, 0.0)]
    many = long_note_pages._bars([float(one) for one in range(1, 51)])
    assert (len(many), many[0], many[-1]) == (40, (0, round(40 * 11 / 50, 1)), (14 * 39, 40.0))
