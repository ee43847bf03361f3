"""Rehearsing, without a browser: what is prepared, refused and answered; and who is cut off from the live line."""

from __future__ import annotations

import time
from pathlib import Path
from urllib.parse import quote

import numpy as np
import pytest
from starlette.websockets import WebSocketDisconnect

from reedpath.errors import SettingsError
from reedpath.jobs.band_choices import BandChoice, PlaceWish
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.listen import BLOCK_FRAMES, packed_block
from reedpath.shelf import KeptAnswer, KeptTake, LessonToKeep, Student, add_lesson_version
from reedpath.signal import encode
from reedpath.studio.forms import SentForm
from reedpath.studio.live_lines import AT_ONCE, UNANSWERED, BlockFlow
from reedpath.studio.rehearse_pages import _wishes
from support.built_routes import built_route
from support.glued_takes import Manner, glue, perform
from support.studios import ADDRESS, AskedStudio, asked_studio

ROUTE = built_route("2d:1 3d':1 4d:1 4b:2", key="C", bpm=100)
LINE = f"/live?harp=A&tuning=standard&move={quote(chr(45) + '3' + chr(39))}&tolerance=15&rate=48000"
SILENCE = np.zeros(BLOCK_FRAMES, np.float32)


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    with asked_studio(tmp_path_factory.mktemp("studio") / "shelf.sqlite") as one:
        one.client.portal.call(one.studio.shelf.run, _fill)
        yield one


def _fill(shelf):
    with shelf.step("add"):
        lesson = make_lesson(ROUTE, title="Four steps (invented)")
        add_lesson_version(shelf, LessonToKeep(lesson.title, encode_lesson(lesson)))
        shelf.add(Student(name="Ada (invented)"))


def ready(asked: AskedStudio, address: str):
    """The page of a rehearsal when it has been prepared."""
    while True:
        page = asked.client.get(address)
        if "http-equiv" not in page.text:
            return page
        time.sleep(0.05)


# ------------------------------------------------------------------------------------------------------ the pages


def test_lessons_and_phrases_are_listed(asked):
    page = asked.client.get("/rehearse")
    assert page.status_code == 200
    assert "Four steps (invented)" in page.text
    assert "/rehearse/long-notes" in page.text


@pytest.mark.slow
def test_a_lesson_is_prepared_once_and_its_sound_is_there(asked):
    page = ready(asked, "/rehearse/lessons/1?rung=slow")
    assert page.status_code == 200
    assert 'data-event="3"' in page.text
    assert "style=" not in page.text  # the policy lets none in
    count = len(asked.studio.jobs.all())
    assert ready(asked, "/rehearse/lessons/1?rung=slow").status_code == 200
    assert len(asked.studio.jobs.all()) == count
    number = max(job.number for job in asked.studio.jobs.all())
    sound = asked.client.get(f"/rehearse/prepared/{number}/sound")
    assert sound.content[:4] == b"RIFF"


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/rehearse/lessons/77", 404),
        ("/rehearse/phrases/77", 404),
        ("/rehearse/lessons/1?rounds=99", 400),
        ("/rehearse/lessons/1?rounds=many", 400),
        ("/rehearse/lessons/1?rung=breakneck", 400),
        ("/rehearse/lessons/1?band=yes&band-groove=none", 400),
        ("/rehearse/lessons/1?band=yes&band-groove=auto&band-place=own&band-bars=one", 400),
        ("/rehearse/lessons/1?band=yes&band-groove=auto&band-place=nowhere", 400),
        ("/rehearse/lessons/1?piece=none", 200),  # a lesson of one phrase has no pieces to choose from
        ("/rehearse/prepared/999/sound", 404),
        ("/rehearse/answers/999", 404),
        ("/rehearse/long-notes?move=99d", 400),
        ("/rehearse/long-notes?move=23", 400),
        ("/rehearse/long-notes?tuning=../../etc/passwd", 400),
        ("/rehearse/long-notes?harp=X", 400),
        ("/rehearse/long-notes?tolerance=1000", 400),
        ("/rehearse/long-notes?harp=D&move=-4'", 200),
    ],
)
def test_what_cannot_be_had_is_said(asked, address, status):
    assert ready(asked, address).status_code == status


@pytest.mark.slow
def test_a_take_is_answered_and_kept_for_a_student(asked, tmp_path: Path):
    ready(asked, "/rehearse/lessons/1")
    number = max(job.number for job in asked.studio.jobs.all())
    rng = np.random.default_rng(1)
    take = glue(ROUTE, perform(ROUTE, rng, manner=Manner(jitter=0.0, detuned=0.0, slur=0.0, slide=0.0)), rng=rng)
    sent = asked.client.put(
        "/uploads?name=take.wav", content=encode(take.samples, bits=16), headers={"origin": ADDRESS}
    ).json()
    begun = asked.post(f"/rehearse/prepared/{number}/answer", {"upload": sent["upload"]}, accept="application/json")
    job = asked.ended(begun.json()["job"])
    assert job.error is None
    answer = asked.client.get(begun.json()["link"], headers={"accept": "application/json"}).json()
    assert (answer["right"], answer["notes"]) == (4, 4)
    with pytest.raises(SettingsError):
        asked.studio.uploads.get(sent["upload"])  # it is used up
    assert asked.client.get(answer["picture"]).text.startswith("<svg")
    page = asked.client.get(begun.json()["link"])
    assert "4 of 4 notes" in page.text
    kept = asked.post(f"{begun.json()['link']}/keep", {"student": "1"})
    assert "Ada (invented)" in kept.text
    takes, answers = asked.client.portal.call(
        asked.studio.shelf.run, lambda shelf: (shelf.all(KeptTake), shelf.all(KeptAnswer))
    )
    assert (takes[0].student, takes[0].sound.endswith(".flac")) == (1, True)
    assert answers[0].take == takes[0].number


@pytest.mark.slow
def test_a_long_note_is_sounded(asked):
    begun = asked.post(
        "/rehearse/long-notes/tone",
        {"harp": "A", "tuning": "standard", "move": "-3'", "tolerance": "15"},
        accept="application/json",
    ).json()
    assert asked.ended(begun["job"]).error is None
    assert asked.client.get(begun["link"]).content[:4] == b"RIFF"


@pytest.mark.parametrize(
    ("asked_for", "played", "band", "click", "rounds"),
    [
        ([("harmonica", "turns"), ("band", "no")], True, True, False, 2),  # in turns only a band is played with
        ([("band", "no"), ("band-groove", "auto"), ("band-take", "9")], True, True, False, 1),
        ([], True, False, False, 1),
        ([("harmonica", "no"), ("band", "yes"), ("click", "yes"), ("rounds", "3")], False, True, True, 3),
        ([("harmonica", "yes"), ("band", "no"), ("click", "no"), ("rounds", "")], True, False, False, 1),
    ],
)
def test_what_sounds_is_what_was_asked_for(asked_for, played, band, click, rounds):
    wishes = _wishes(SentForm(asked_for), BandChoice())
    assert (wishes.is_played, wishes.has_band, wishes.has_click, wishes.rounds) == (played, band, click, rounds)


def test_of_the_band_what_is_kept_holds_until_something_else_is_asked_for():
    kept = BandChoice(groove="boogie", seed=5)
    assert _wishes(SentForm([("band", "yes")]), kept).band == kept
    said = [("band-groove", "shuffle"), ("band-seed", "5"), ("band-place", "own"), ("band-bars", "5; 1")]
    assert _wishes(SentForm(said), kept).band == BandChoice(
        groove="shuffle", seed=5, place=PlaceWish.OWN, at_bars=(1, 5)
    )
    assert _wishes(SentForm([*said, ("band-take", "6")]), kept).band.seed == 6


HELD = {"harp": "A", "tuning": "standard", "move": "-3'", "tolerance": "15"}


def test_a_held_note_is_kept_for_who_held_it_and_its_history_shown(asked):
    own = asked.post("/rehearse/long-notes/keep", {**HELD, "seconds": "4.3", "cents": "-3", "unsteady_cents": "2.1"})
    assert "4.3 sec" in own.text
    figures = {"seconds": "2.5", "cents": "1", "unsteady_cents": "4", "student": "1"}
    student = asked.post("/rehearse/long-notes/keep", {**HELD, **figures})
    assert "2.5 sec" in student.text
    assert "4.3 sec" not in student.text
    # to a tenth of a second, as the page's own script tells it
    figures = {"seconds": "4.26", "cents": "-3", "unsteady_cents": "2.1"}
    told = asked.post("/rehearse/long-notes/keep", {**HELD, **figures}, accept="application/json")
    assert told.json() == {"told": "Kept: 4.3 s."}
    asked.post("/undo")
    other = asked.client.get("/rehearse/long-notes?harp=A&move=-2'")
    assert "4.3 sec" not in other.text
    asked.post("/undo")
    assert "2.5 sec" not in asked.client.get("/rehearse/long-notes?harp=A&move=-3'&student=1").text


@pytest.mark.parametrize(
    "wrong",
    [{"seconds": "-1"}, {"seconds": "x"}, {"cents": "nan"}, {"seconds": "1e9"}, {"student": "99"}, {"move": "9o9"}],
)
def test_what_nobody_can_hold_is_not_kept(asked, wrong):
    figures = {"seconds": "4.25", "cents": "-3", "unsteady_cents": "2.1"}
    sent = asked.post("/rehearse/long-notes/keep", {**HELD, **figures, **wrong})
    assert sent.status_code in (400, 404)


# ---------------------------------------------------------------------------------------------------- the live line


def line(asked: AskedStudio, address: str = LINE):
    return asked.client.websocket_connect(ADDRESS.replace("http", "ws") + address, headers={"origin": ADDRESS})


@pytest.mark.slow
def test_every_block_is_answered(asked):
    with line(asked) as socket:
        assert socket.receive_json() == {"ready": True}
        for number in range(5):
            socket.send_bytes(packed_block(number, number / 187, SILENCE))
            assert socket.receive_json()["block"] == number
    assert asked.client.get("/rehearse").status_code == 200


@pytest.mark.slow
@pytest.mark.parametrize(
    "message",
    [
        b"",
        b"no block",
        packed_block(0, 0.0, SILENCE)[:-1],
        packed_block(0, 0.0, np.zeros(999, np.float32)),
        bytes(9_999),
    ],
)
def test_what_is_no_block_is_cut_off(asked, message):
    with line(asked) as socket:
        socket.receive_json()
        socket.send_bytes(message)
        with pytest.raises(WebSocketDisconnect) as told:
            socket.receive_json()
    assert told.value.code == 1008


@pytest.mark.slow
def test_text_is_cut_off(asked):
    with line(asked) as socket:
        socket.receive_json()
        socket.send_text("hello")
        with pytest.raises(WebSocketDisconnect):
            socket.receive_json()


@pytest.mark.slow
def test_a_block_of_the_right_size_with_no_time_ends_the_line(asked):
    with line(asked) as socket:
        socket.receive_json()
        socket.send_bytes(packed_block(0, float("nan"), SILENCE))
        with pytest.raises(WebSocketDisconnect):
            socket.receive_json()


@pytest.mark.slow
def test_a_flood_is_cut_off(asked):
    with line(asked) as socket:
        socket.receive_json()
        for number in range(4_000):
            socket.send_bytes(packed_block(number, 0.0, SILENCE))
        while (message := socket.receive())["type"] == "websocket.send":
            pass
    assert message["code"] == 1008


@pytest.mark.parametrize(
    "address",
    [
        "/live",
        "/live?rate=48000",
        LINE.replace("48000", "1"),
        LINE.replace("48000", "99999999999999"),
        LINE.replace("standard", "../../x"),
        "/live?rehearsal=999&rate=48000",
        LINE.replace("tolerance=15", "tolerance=-1"),
    ],
)
def test_a_line_that_is_not_to_be_had_is_refused_before_it_is_open(asked, address):
    with pytest.raises(WebSocketDisconnect), line(asked, address):
        pass


def test_a_foreign_page_gets_no_line(asked):
    with (
        pytest.raises(WebSocketDisconnect),
        asked.client.websocket_connect(ADDRESS.replace("http", "ws") + LINE, headers={"origin": "http://evil"}),
    ):
        pass


def test_only_so_many_lines_are_open_at_once(asked):
    lines = [line(asked) for _ in range(AT_ONCE)]
    for one in lines:
        one.__enter__()
    with pytest.raises(WebSocketDisconnect), line(asked):
        pass
    for one in lines:
        one.__exit__(None, None, None)
    with line(asked) as socket:
        assert socket.receive_json() == {"ready": True}


class Watch:
    """A clock that is set by hand."""

    def __init__(self):
        self.seconds = 0.0

    def __call__(self):
        return self.seconds


@pytest.mark.slow
def test_as_many_blocks_are_taken_as_there_is_sound():
    watch = Watch()
    flow = BlockFlow(48_000, watch)
    for number in range(10_000):
        watch.seconds = number * BLOCK_FRAMES / 48_000
        assert flow.takes()
        flow.unanswered -= 1


def test_more_blocks_than_sound_are_not_taken():
    flow, taken = BlockFlow(48_000, Watch()), 0
    while flow.takes():
        flow.unanswered -= 1
        taken += 1
    assert taken == 187


def test_blocks_that_are_not_answered_are_bounded():
    flow, taken = BlockFlow(48_000, Watch()), 0
    while flow.takes():
        taken += 1
    assert taken == UNANSWERED


def test_the_harp_of_a_long_note_is_named_as_the_settings_say(asked: AskedStudio):
    try:
        for notes, said in (("", "harmonica en la (A)"), ("letters", "harmonica en A")):
            asked.post("/settings", {"language": "fr"})
            asked.post("/settings", {"language": "fr", "notes": notes})
            assert said in asked.client.get("/rehearse/long-notes?harp=A&move=-3").text
    finally:
        asked.post("/settings", {"language": "en"})
