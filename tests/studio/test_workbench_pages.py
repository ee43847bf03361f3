"""The workbench's pages without a browser: forms, files, sounds, what is kept, what is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from reedpath.errors import SettingsError
from reedpath.jobs.band_choices import decode_band
from reedpath.jobs.sources import demo_source
from reedpath.jobs.workbench import Draft, HeardSpan, encode_draft
from reedpath.jobs.workbench.commands import Choose, CorrectNote, LookAt, MarkPart, PinMove, TypeSource
from reedpath.phrase import encode_phrase
from reedpath.shelf import KeptLesson, KeptPhrase, TaughtPhrase, new_draft
from reedpath.studio.bench_forms import command_of, sound_of
from reedpath.wording import load_catalogue
from support.studios import ADDRESS, PORT, AskedStudio, asked_studio

pytestmark = pytest.mark.slow  # most of them open a workbench, which is a process of its own

TAB = "harp: C\n4 -4 5 -5 6 -6 7 -7\n"

ENGLISH = load_catalogue("en")


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[AskedStudio]:
    with asked_studio(tmp_path_factory.mktemp("studio") / "shelf.sqlite") as asked:
        yield asked


@pytest.fixture
def bench(studio: AskedStudio) -> str:
    """The address of a workbench with a tab on it."""
    page = studio.post("/workbench", {"text": TAB})
    assert page.status_code == 200
    return page.url.path


@pytest.fixture(scope="module")
def unchanged(studio: AskedStudio) -> str:
    """The address of a workbench with a tab on it, for tests that change nothing there."""
    return studio.post("/workbench", {"text": TAB}).url.path


def shelf_of(studio: AskedStudio):
    return studio.studio.shelf._shelf


def shown_tab(text: str) -> list[str]:
    return re.findall(r'<button name="note"[^>]*>([^<]*)</button>', text)


def sent_file(studio: AskedStudio, name: str, data: bytes) -> str:
    sent = studio.client.put(f"/uploads?name={name}", content=data, headers={"origin": ADDRESS})
    return sent.json()["upload"]


def test_a_pasted_tab_is_shown_whole_before_any_script_runs(studio: AskedStudio, unchanged: str):
    text = studio.client.get(unchanged).text
    while "<table" not in text:  # the harps are tried after the page is there
        text = studio.client.get(unchanged).text
    assert shown_tab(text) == ["+4", "-4", "+5", "-5", "+6", "-6", "+7", "-7"]
    for there in ("ribbon-system", 'id="e0"', "On all harps", "Tongue-blocked octaves", "first months"):
        assert there in text
    assert "<style" not in text
    assert not re.search(r"\son[a-z]+=", text)


def test_what_a_form_does_is_done_and_undone(studio: AskedStudio, bench: str):
    text = studio.post(bench, {"do": "look", "note": "3"}).text
    assert "Note 3: bar 1, 5 blow" in text
    text = studio.post(bench, {"do": "mark", "from": "1", "to": "4", "label": "Rise"}).text
    assert 'value="Rise"' in text
    text = studio.post(bench, {"do": "choose", "harp": "G", "at": "harps"}).text
    assert "G harp" in text
    for _ in range(2):
        text = studio.post(bench, {"do": "undo"}).text
    assert 'value="Rise"' not in text
    assert "C harp" in text


def test_an_unreadable_line_is_told_and_what_could_be_read_last_stays(studio: AskedStudio, bench: str):
    text = studio.post(bench, {"do": "type", "text": TAB.replace("-5", "-15")}).text
    assert "Line 2:" in text
    assert len(shown_tab(text)) == 8
    assert "-15" in text


def test_what_is_done_on_a_workbench_is_there_after_the_studio_was_closed(tmp_path):
    with asked_studio(tmp_path / "shelf.sqlite") as studio:
        bench = studio.post("/workbench", {"text": TAB}).url.path
        studio.post(bench, {"do": "mark", "from": "2", "to": "5", "label": "Middle"})
    with asked_studio(tmp_path / "shelf.sqlite") as studio:
        assert TAB.splitlines()[1] in studio.client.get("/workbench/1").text
        assert 'value="Middle"' in studio.client.get(bench).text
        text = studio.post(bench, {"do": "undo"}).text
        assert 'value="Middle"' not in text
        assert len(shown_tab(text)) == 8


def test_a_phrase_is_kept_on_the_shelf_once_and_found_on_the_workbench_again(studio: AskedStudio, bench: str):
    studio.post(bench, {"do": "choose", "title": "Eight steps up"})
    text = studio.post(f"{bench}/save", {"as": "phrase"}).text
    assert "Eight steps up is on the shelf." in text
    kept = [one for one in shelf_of(studio).all(KeptPhrase) if one.title == "Eight steps up"]
    assert len(kept) == 1
    assert kept[0].difficulty is not None
    studio.post(bench, {"do": "mark", "from": "1", "to": "4", "label": "First"})
    studio.post(f"{bench}/save", {"as": "phrase"})
    again = [one for one in shelf_of(studio).all(KeptPhrase) if one.title == "Eight steps up"]
    assert [one.uid for one in again] == [kept[0].uid]
    assert '"First"' in again[0].data
    assert studio.client.get(f"/workbench/phrases/{kept[0].number}").url.path == bench


def test_a_lesson_is_made_of_a_draft(studio: AskedStudio, bench: str):
    studio.post(bench, {"do": "choose", "title": "A lesson of eight"})
    answer = studio.client.post(
        f"{bench}/save", data={"as": "lesson"}, headers={"origin": ADDRESS}, follow_redirects=False
    )
    lesson = next(one for one in shelf_of(studio).all(KeptLesson) if one.title == "A lesson of eight")
    assert answer.headers["location"] == f"/lessons/{lesson.number}"
    assert shelf_of(studio).all(TaughtPhrase)


def test_a_phrase_of_the_shelf_is_opened_as_a_draft(studio: AskedStudio):
    sent = sent_file(studio, "two.json", encode_phrase(demo_source().phrase))
    page = studio.post("/workbench", {"text": ""})
    done = studio.post(f"{page.url.path}/bring", {"upload": sent})
    assert len(shown_tab(done.text)) == 40
    assert "Two Questions" in done.text
    text = studio.post(page.url.path, {"do": "look", "note": "1"}).text
    assert "Misheard?" in text
    text = studio.post(page.url.path, {"do": "correct", "note": "1", "how": "remove"}).text
    assert len(shown_tab(text)) == 39


def test_of_a_file_that_holds_several_tunes_one_is_chosen(studio: AskedStudio):
    two = b"X:1\nT:One\nK:C\nCDEF|\n\nX:2\nT:Two\nK:G\nGABcd|\n"
    address = studio.post("/workbench", {"text": ""}).url.path
    wanted = {"upload": sent_file(studio, "two.abc", two), "of": "tune", "which": "2"}
    text = studio.post(f"{address}/bring", wanted).text
    assert '<h1 id="bench-title">Two</h1>' in text
    assert len(shown_tab(text)) == 5
    wrong = {"upload": sent_file(studio, "two.abc", two), "of": "tune", "which": "7"}
    assert studio.post(f"{address}/bring", wanted | wrong, accept="application/json").status_code == 400


def test_a_part_is_played_at_a_tempo(studio: AskedStudio, bench: str):
    made = studio.post(
        f"{bench}/sound", {"from": "2", "to": "4", "bpm": "60", "harp": "1"}, accept="application/json"
    )
    assert [event for event, *_ in made.json()["notes"]] == [1, 2, 3]
    jobs = studio.client.get("/work", headers={"accept": "application/json"}).json()
    assert jobs[0]["step"] == "Sounding the play-along, 60"
    sound = studio.client.get(made.json()["sound"])
    assert sound.headers["content-type"] == "audio/wav"
    assert sound.content[:4] == b"RIFF"
    chosen = {"band-groove": "auto", "band-seed": "8"}
    page = studio.post(f"{bench}/sound", {"from": "2", "to": "4", "click": "1", **chosen})
    assert '<audio id="sound" controls src="/workbench/' in page.text
    # what is chosen of the band is kept, though it does not play now, and goes with a lesson
    assert re.search(r'name="band-seed"[^>]* value="8"', page.text)
    studio.post(f"{bench}/save", {"as": "lesson"})
    assert 8 in [decode_band(one.band).seed for one in shelf_of(studio).all(KeptLesson)]


def test_a_recording_is_drawn_heard_and_slowed(studio: AskedStudio, bench: str):
    made = studio.post(f"{bench}/sound", {"harp": "1"}, accept="application/json").json()
    sound = studio.client.get(made["sound"]).content
    sent = sent_file(studio, "hum.wav", sound)
    page = studio.post("/workbench", {"text": ""})
    address = page.url.path
    text = studio.post(f"{address}/bring", {"upload": sent}).text
    assert "Recording: hum.wav" in text
    wave = studio.client.get(f"{address}/waveform").json()
    assert wave["seconds"] > 2
    assert max(wave["peaks"]) == 100
    assert studio.client.get(f"{address}/recording", headers={"range": "bytes=0-3"}).content == b"RIFF"
    text = studio.post(f"{address}/hear", {"start": "0", "end": "", "harp": "C"}).text
    assert '<h1 id="bench-title">hum</h1>' in text
    assert len(shown_tab(text)) == 8
    begun = studio.post(f"{address}/hear", {"start": "0", "end": "", "lead": "1"}, accept="application/json")
    assert (begun.status_code, list(begun.json())) == (202, ["job", "jobs"])
    slow = studio.post(
        f"{address}/sound", {"from": "1", "to": "8", "bpm": "60", "source": "1"}, accept="application/json"
    )
    assert slow.status_code == 200
    assert studio.client.get(slow.json()["sound"]).content[:4] == b"RIFF"
    text = studio.post(f"{address}/hear", {"start": "0", "end": "2", "octaves": "1"}).text
    boxes = {name: re.search(rf'id="hear-{name}"[^>]* checked', text) is not None for name in ("chords", "octaves")}
    assert boxes == {"chords": False, "octaves": True}


@pytest.mark.parametrize(
    ("path", "fields"),
    [("", {}), ("", {"do": "explode"}), ("", {"do": "pin", "note": "x", "move": "+4"}),
     ("/bring", {"upload": "none"}), ("/hear", {"start": "0"}), ("/sound", {"bpm": "fast"}),
     ("/sound", {"bpm": "4000"})],
)  # fmt: skip
def test_what_cannot_be_done_is_said_in_a_sentence(
    studio: AskedStudio, unchanged: str, path: str, fields: dict[str, str]
):
    answer = studio.post(f"{unchanged}{path}", fields, accept="application/json")
    assert 400 <= answer.status_code < 500
    assert answer.json()["says"].endswith(".")
    assert studio.client.get(unchanged).status_code == 200


def test_a_window_that_is_closed_while_it_is_told_something_leaves_the_workbench_open(
    studio: AskedStudio, bench: str
):
    number = int(bench.rpartition("/")[2])
    address = f"ws://127.0.0.1:{PORT}/workbench/live?draft={number}"
    for _ in range(3):
        with studio.client.websocket_connect(address, headers={"origin": ADDRESS}) as socket:
            socket.send_json({"do": "show"})
            socket.send_json({"do": "type", "text": TAB + "8\n"})
    assert studio.post(bench, {"do": "look", "note": "1"}).status_code == 200
    assert not studio.client.app.app.state.benches._open[number].ended.is_set()


def test_a_workbench_whose_process_was_killed_is_there_again(studio: AskedStudio, bench: str):
    studio.post(bench, {"do": "mark", "from": "1", "to": "3", "label": "Kept"})
    number = int(bench.rpartition("/")[2])
    process = studio.client.app.app.state.benches._open[number]._process._process
    process.kill()
    for _ in range(100):
        text = studio.client.get(bench).text
        if 'value="Kept"' in text:
            break
    assert 'value="Kept"' in text
    assert len(shown_tab(text)) == 8


def test_a_workbench_that_is_not_there_is_said(studio: AskedStudio):
    assert studio.client.get("/workbench/4711").status_code == 404
    assert studio.client.get("/workbench/phrases/4711").status_code == 404


def test_over_the_socket_forms_are_answered_with_the_panels_that_change(studio: AskedStudio, bench: str):
    number = bench.rpartition("/")[2]
    headers = {"origin": ADDRESS}
    with studio.client.websocket_connect(
        f"ws://127.0.0.1:{PORT}/workbench/live?draft={number}", headers=headers
    ) as socket:
        socket.send_json({"do": "show", "layout": "phone"})
        first, notes = {}, {}
        while not first.get("answers"):  # what is found out meanwhile is shown too, and answers nothing
            first = socket.receive_json()
            notes |= dict(first.get("notes", {"differ": ()})["differ"])
        assert first["ribbon"]["count"] == len(first["ribbon"]["systems"])
        assert first["notes"]["count"] == len(notes) == 8
        socket.send_json({"do": "type", "text": TAB + "8 -8\n"})
        told = socket.receive_json()
        while not (told.get("view") and told["notes"]["count"] == 10):
            told = socket.receive_json()
        assert shown_tab(told["panels"]["tab"])[-2:] == ["+8", "-8"]
        socket.send_json({"do": "pin", "note": "x"})
        while "says" not in told:
            told = socket.receive_json()
        assert told["says"]
    for nonsense in ("[]", "3", "{", '{"do": 3}'):
        line = studio.client.websocket_connect(
            f"ws://127.0.0.1:{PORT}/workbench/live?draft={number}", headers=headers
        )
        with line as socket:
            socket.send_text(nonsense)
    assert studio.client.get(bench).status_code == 200


def test_forms_say_commands():
    assert command_of({"do": "type", "text": "4"}, ENGLISH) == TypeSource(text="4")
    assert command_of({"do": "pin", "note": "3", "move": "-2"}, ENGLISH) == PinMove(event=2, move="-2")
    assert command_of({"do": "look"}, ENGLISH) == LookAt()
    assert command_of({"do": "mark", "from": "2", "to": "5"}, ENGLISH) == MarkPart(first=1, last=4)
    assert command_of({"do": "correct", "note": "1", "how": "move", "semitones": "-1"}, ENGLISH) == CorrectNote(
        event=0, how="move", semitones=-1
    )
    said = {"do": "choose", "shift_semitones": "", "overblows": "1", "bpm": "72,5", "any_key": "0", "draw_bends": "0"}
    assert command_of(said, ENGLISH) == Choose(
        shift_semitones=None, overblows=True, bpm=72.5, any_key=False, draw_bends=0
    )
    assert sound_of({}, 9) == (0, 8, None)
    assert sound_of({"from": "5", "to": "2", "bpm": "80"}, 9) == (1, 4, 80.0)
    for wrong in ({}, {"do": "mark", "from": "a", "to": "1"}, {"do": "choose", "bpm": "x"}):
        with pytest.raises(SettingsError):
            command_of(wrong, ENGLISH)


STRANGE_DRAFTS = (
    '{"title": 7}',
    '{"phrase": {"events": 3}}',
    '{"recording": {"sound": "../../secret.wav"}}',
    '{"pins": [{"event": -1, "move": "4"}]}',
)


@pytest.mark.parametrize("text", STRANGE_DRAFTS)
def test_a_draft_that_cannot_be_read_is_told_in_a_sentence(studio: AskedStudio, text: str):
    """Such as came in a zip: its shelf has only seen that it is JSON."""
    number = new_draft(shelf_of(studio), text, title="strange")
    page = studio.client.get(f"/workbench/{number}")
    assert page.status_code == 400
    assert "<h1" in page.text
    assert studio.client.get("/workbench").status_code == 200
    for path in ("waveform", "recording"):
        assert studio.client.get(f"/workbench/{number}/{path}").status_code == 400


def test_a_draft_whose_events_are_not_there_ends_in_a_sentence(studio: AskedStudio):
    number = new_draft(
        shelf_of(studio),
        '{"text":"4 -4","pins":[{"event":99,"move":"4"}],'
        '"parts":[{"label":"A","first":7,"last":90}],"harp":{"key":"H"}}',
    )
    page = studio.client.get(f"/workbench/{number}")
    assert page.status_code < 500
    assert "<h1" in page.text


def test_a_phrase_is_opened_though_a_draft_that_names_it_cannot_be_read(studio: AskedStudio, bench: str):
    studio.post(f"{bench}/save", {"what": "phrase"})
    kept = shelf_of(studio).all(KeptPhrase)[-1]
    new_draft(shelf_of(studio), f'{{"title":7,"kept":"{kept.uid}"}}')
    assert studio.client.get(f"/workbench/phrases/{kept.number}").status_code == 200


def test_a_recording_that_is_lost_is_told(studio: AskedStudio):
    draft = Draft(recording=HeardSpan(sound="0" * 64 + ".wav", name="hum.wav"))
    number = new_draft(shelf_of(studio), encode_draft(draft))
    assert studio.client.get(f"/workbench/{number}").status_code == 200
    page = studio.client.get(f"/workbench/{number}/recording")
    assert page.status_code == 400
    assert "hum.wav" in page.text


def test_what_the_workbench_says_names_notes_as_the_settings_say(studio: AskedStudio, unchanged: str):
    try:
        studio.post("/settings", {"language": "fr"})
        assert "do majeur" in studio.client.get(unchanged).text
        studio.post("/settings", {"language": "fr", "notes": "letters"})
        text = studio.client.get(unchanged).text
        assert "C majeur" in text
        assert "do majeur" not in text
    finally:
        studio.post("/settings", {"language": "en"})
