"""A lesson of several pieces: made from a plan, changed by hand, made again, and used piece by piece."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import av
import pypdf
import pytest

from reedpath.cli import main
from reedpath.film import lay_out_pieces, pieces_caption_cues
from reedpath.jobs import read_lesson, read_taught
from reedpath.lesson import LessonOfPieces
from reedpath.wording import load_catalogue
from support.lesson_folders import contents, edit, forget_sounds, pdf_text

pytestmark = [pytest.mark.story, pytest.mark.slow, pytest.mark.usefixtures("few_pictures", "sounds_once")]

OCTAVES = """title: Tall steps (invented)
tempo: 160
key: E

   q    q    q    q      q    q    h
e|--------------------|-------------------|
B|--------------------|-------------------|
G|-9----------9-------|-9----9----9-------|
D|------9---------9---|-------------------|
A|--------------------|-------------------|
E|--------------------|-------------------|
"""
OVERBLOW = """title: Over the six (invented)
harp: D
Turn: | -2 6° 6 -6 | -4 4 -2 |
"""
BENDS = """title: Sinking (invented)
harp: A
tempo: 180
Down: | -3' -3'' -2 -2'' | -1 -2 |
"""
ANSWER = """title: Reply (invented)
harp: A
tempo: 180
All: | 4 -2 |
"""
PLAN = """title = "An evening of three"
author = "Ada Lind"
note = ["Listen to the rain first.", "fr:On écoute d'abord la pluie."]

[[piece]]
source = "tall.txt"
harp = "A"
technique = "A=octaves"

[[piece]]
source = "six.txt"

[[piece]]
source = "sinking.txt"

[[piece]]
source = "reply.txt"
filler-of = "sinking.txt"
"""
MINE = "Let it sink like a stone in a pond."
MY_HARP = "Now the D harp, warm from the hand."


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("pieces")
    sources = {"tall.txt": OCTAVES, "six.txt": OVERBLOW, "sinking.txt": BENDS, "reply.txt": ANSWER}
    for name, text in (*sources.items(), ("plan.toml", PLAN)):
        (folder / name).write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["lesson", str(folder / "plan.toml"), "--out", str(folder / "lesson")])
    assert ended.value.code == 0
    return folder / "lesson"


@pytest.fixture
def folder(made, tmp_path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "lesson"))


def test_each_piece_has_its_own_folder_harp_and_technique(made):
    lesson = read_taught(made)
    assert isinstance(lesson, LessonOfPieces)
    assert (lesson.title, lesson.author) == ("An evening of three", "Ada Lind")
    assert [piece.folder for piece in lesson.pieces] == [
        "1-tall-steps-invented",
        "2-over-the-six-invented",
        "3-sinking-invented",
        "4-reply-invented",
    ]
    assert [harp.name for harp in lesson.harps] == ["A", "D"]
    assert [piece.variant_of for piece in lesson.pieces] == [None, None, None, 2]
    octaves, over, bends, _ = (piece.lesson.route.events for piece in lesson.pieces)
    assert {len(one.choice.move.holes) for one in octaves} == {2}
    assert [one.choice.move.alteration.value for one in over[:2]] == ["natural", "overblow"]
    assert [one.choice.move.alteration.value for one in bends[:4]] == ["bend", "bend", "natural", "bend"]
    for piece in lesson.pieces:
        files = {path.name for path in (made / piece.folder).iterdir()}
        assert {"tab.txt", "score.musicxml", "score.svg", "chart.svg", "ribbon.svg", "phrase.mid"} <= files
        assert {f"play-along-{rung.bpm:g}.wav" for rung in piece.lesson.ladder} <= files
        assert not files & {"sheet.pdf", "steps.md", "lesson.html"}
        assert read_lesson(made / piece.folder) == piece.lesson


def test_the_steps_tell_of_all_pieces_and_of_what_lies_between(made):
    steps = (made / "steps.md").read_text(encoding="utf-8").split("## Français")[0]
    headings = re.findall(r"^### (.*)$", steps, flags=re.MULTILINE)
    assert headings == [
        "The whole lesson",
        "Piece 1: Tall steps (invented)",
        "Piece 2: Over the six (invented)",
        "Piece 3: Sinking (invented)",
        "Piece 4, to take turns with piece 3: Reply (invented)",
        "All in a row",
    ]
    for said in ("Listen to the rain first.", "Take the D harp now.", "Take the A harp now.", "Take turns:"):
        assert f"- {said}" in steps
    sheet = pdf_text(made / "sheet.pdf")
    assert all(title in sheet for title in ("Tall steps", "Over the six", "Sinking", "Reply"))
    tab = (made / "tab.txt").read_text(encoding="utf-8")
    assert tab.index("+3/6") < tab.index("-3''")


def change_by_hand(folder: Path) -> None:
    tab = folder / "3-sinking-invented" / "tab.txt"
    text, count = re.subn(r"(\| -1 [ ·]*)-2 ", r"\g<1>3  ", tab.read_text(encoding="utf-8"))
    assert count == 1
    tab.write_text(text, encoding="utf-8")
    steps = (folder / "steps.md").read_text(encoding="utf-8")
    third = steps.index("### Piece 3:")
    line = next(line for line in steps[third:].splitlines() if line.startswith("- ") and "bend" in line)
    (folder / "steps.md").write_text(steps[:third] + steps[third:].replace(line, f"- {MINE}", 1), encoding="utf-8")
    edit(folder / "steps.md", ("- Take the D harp now.", f"- {MY_HARP}"))


def test_a_hole_and_a_sentence_are_found_in_everything_that_is_made_again(run, folder):
    change_by_hand(folder)
    for again in (False, True):
        status, out, err = run("revise", folder, "--language", "en")
        assert (status, err) == (0, "")
        assert ("Event 6 is now +3" in out) is not again
        assert ("Nothing had been changed" in out) is again
        assert not list(folder.rglob("*.kept*"))
        for tab in (folder / "tab.txt", folder / "3-sinking-invented" / "tab.txt"):
            assert re.search(r"\| -1 [ ·]*\+3 ", tab.read_text(encoding="utf-8"))
        score = (folder / "3-sinking-invented" / "score.musicxml").read_text(encoding="utf-8")
        assert re.findall(r"<text>([^<]*)</text>", score)[5] == "+3"
        steps = (folder / "steps.md").read_text(encoding="utf-8")
        assert f"- {MINE}" in steps
        assert f"- {MY_HARP}" in steps
        sheet, page = pdf_text(folder / "sheet.pdf"), (folder / "lesson.html").read_text(encoding="utf-8")
        assert all(words in shown for words in (MINE, MY_HARP) for shown in (sheet, page))
        lesson = read_taught(folder)
        assert [len(piece.lesson.own_words) for piece in lesson.pieces] == [0, 0, 1, 0]
        assert [len(piece.lesson.pins) for piece in lesson.pieces][2] == 1
    status, _, err = run("film", folder, "--out", folder / "film.mp4", "--tempos", "full")
    assert (status, err) == (0, "")
    captions = " ".join((folder / "film.en.vtt").read_text(encoding="utf-8").split())
    assert all(words in captions for words in (MINE, MY_HARP, "+3 · 3 blow"))
    chapters = (folder / "film.en.chapters.vtt").read_text(encoding="utf-8")
    assert all(f"Piece {number}" in chapters for number in (1, 2, 3, 4))


def test_her_words_are_on_the_cards_and_in_the_captions_of_the_film(run, folder):
    change_by_hand(folder)
    assert run("revise", folder)[0] == 0
    lesson, words = read_taught(folder), load_catalogue("en")
    assert isinstance(lesson, LessonOfPieces)
    timeline = lay_out_pieces(lesson)
    said = [" ".join(cue.lines) for cue in pieces_caption_cues(lesson, timeline, words)]
    assert any(MINE in one for one in said)
    assert any(MY_HARP in one for one in said)
    assert any("+3" in one for one in said)


def test_the_whole_folder_becomes_one_film(run, folder, tmp_path):
    film = tmp_path / "film" / "evening.mp4"
    status, out, err = run("film", folder, "--out", film, "--tempos", "full", "--no-steps", "--language", "fr")
    assert (status, err) == (0, "")
    for kind in (
        "mp4",
        "png",
        "en.vtt",
        "fr.vtt",
        "en.srt",
        "en.chapters.vtt",
        "fr.chapters.vtt",
        "en.txt",
        "fr.txt",
    ):
        assert (film.parent / f"evening.{kind}").stat().st_size > 0
        assert f"evening.{kind}" in out
    with av.open(str(film)) as opened:
        titles = [one["metadata"]["title"] for one in opened.chapters()]
        seconds = opened.duration / av.time_base
    assert titles[:2] == ["An evening of three", "Morceau 1\u202f: Tall steps (invented)"]
    assert titles[-1].startswith("«\u202fSinking (invented)\u202f», au tempo")
    assert "Take the D harp now." in (film.parent / "evening.en.vtt").read_text(encoding="utf-8")
    lines = (film.parent / "evening.en.txt").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "An evening of three"
    assert any(line.startswith("Piece 2: Over the six (invented): D harp") for line in lines)
    assert seconds > 30
    status, _, err = run("film", folder, "--out", film, "--tempos", "quick", "--language", "en")
    assert status == 2
    assert "'quick'" in err


def test_everything_is_the_same_when_nothing_was_changed(run, folder, sounded):
    before = contents(folder)
    sounded.clear()  # the sounds too are made anew
    forget_sounds(folder)
    status, out, err = run("revise", folder, "--json")
    assert (status, err) == (0, "")
    assert contents(folder) == before
    data = json.loads(out)
    assert [one["changed_moves"] for one in data["pieces"]] == [[], [], [], []]
    assert (data["new_words"], data["no_longer_fits"], data["kept"]) == ([], [], {})


def test_a_piece_alone_is_not_revised_and_the_whole_is_named(run, folder):
    status, _, err = run("revise", folder / "3-sinking-invented", "--language", "en")
    assert status == 2
    assert f"reedpath revise {folder}" in err
    again = run("lesson", folder.parent / "x.abc", "--out", folder / "3-sinking-invented", "--replace")
    assert again[0] == 2


def test_what_is_said_of_the_whole_is_kept(run, folder):
    status, _, err = run(
        "revise", folder, "--author", "Bo Kim", "--note", "fr:On chante d'abord.", "--note", "", "--language", "en"
    )
    assert status == 2  # an option with nothing after it
    status, _, err = run("revise", folder, "--author", "Bo Kim", "--note", "fr:On chante d'abord.")
    assert (status, err) == (0, "")
    lesson = read_taught(folder)
    assert (lesson.author, lesson.notes["fr"]) == ("Bo Kim", "On chante d'abord.")
    assert lesson.notes["en"] == "Listen to the rain first."
    status, _, err = run("revise", folder, "--part-name", "A=Question", "--language", "en")
    assert status == 2
    assert "several pieces" in err


def test_made_anew_what_was_edited_in_a_piece_is_kept(run, folder, made):
    edit(folder / "3-sinking-invented" / "tab.txt", ("Sinking", "Going down"))
    (folder / "2-over-the-six-invented" / "take.wav").write_bytes(b"hers")
    plan = made.parent / "plan.toml"
    status, _, err = run("lesson", plan, "--out", folder)
    assert status == 2
    assert "--replace" in err
    status, out, err = run("lesson", plan, "--out", folder, "--replace", "--json")
    assert (status, err) == (0, "")
    assert json.loads(out)["kept"] == {"3-sinking-invented/tab.txt": "3-sinking-invented/tab.kept.txt"}
    assert (folder / "2-over-the-six-invented" / "take.wav").read_bytes() == b"hers"


def test_fewer_pieces_leave_no_folder_behind_but_for_what_is_hers(run, folder, made):
    (folder / "1-tall-steps-invented" / "take.wav").write_bytes(b"hers")
    status, _, err = run("lesson", made.parent / "sinking.txt", "--out", folder, "--replace")
    assert (status, err) == (0, "")
    inside = {path.name: [one.name for one in path.iterdir()] for path in folder.iterdir() if path.is_dir()}
    assert inside == {"1-tall-steps-invented": ["take.wav"]}


def test_one_phrase_at_two_levels(run, made, tmp_path):
    tall = made.parent / "tall.txt"
    status, out, err = run("lesson", tall, "--out", tmp_path / "two", "--level", "easy,advanced", "--json")
    assert (status, err) == (0, "")
    data = json.loads(out)
    assert [(one["level"], one["variant_of"], one["variant"]) for one in data["pieces"]] == [
        ("easy", None, None),
        ("advanced", 0, "level"),
    ]
    assert data["title"] == "Tall steps (invented)"
    assert read_taught(tmp_path / "two").play_through == ()


def test_a_plan_says_which_pieces_come_in_a_row_at_the_end(run, made, tmp_path):
    plan = "in-a-row = [3, 1, 3]\n" + PLAN.replace(
        "[[piece]]", '[[piece]]\nlevel = "easy,steady"\nrearrange = true', 1
    )
    (made.parent / "row.toml").write_text(plan, encoding="utf-8")
    status, _, err = run("lesson", made.parent / "row.toml", "--out", tmp_path / "x")
    assert (status, err) == (0, "")
    lesson = read_taught(tmp_path / "x")
    assert [piece.variant_of for piece in lesson.pieces] == [None, 0, None, None, 3]
    assert lesson.play_through == (3, 0, 3)


def test_several_files_share_what_is_said_of_all(run, made, tmp_path):
    sources = [made.parent / "tall.txt", made.parent / "tall.txt", made.parent / "six.txt"]
    status, _, err = run(
        "lesson", *sources, "--out", tmp_path / "x", "--title", "Three", "--languages", "fr", "--paper", "letter"
    )
    assert (status, err) == (0, "")
    lesson = read_taught(tmp_path / "x")
    assert (lesson.title, lesson.languages, lesson.paper) == ("Three", ("fr",), "letter")
    assert [piece.folder[:2] for piece in lesson.pieces] == ["1-", "2-", "3-"]
    assert lesson.play_through == (0, 1, 2)


def test_play_along_makes_the_sounds_of_all_pieces_or_of_one(run, folder, tmp_path):
    status, out, err = run("play-along", folder, "--muted", "--tempos", "slow,nearly", "--json")
    assert (status, err) == (0, "")
    names = json.loads(out)["files"]
    assert {name.split("/")[0] for name in names} == {piece.folder for piece in read_taught(folder).pieces}
    assert all((folder / name).is_file() for name in names)
    # only one of the ladders has a tempo of that name
    assert sum(name.startswith("3-") for name in names) == 2
    status, _, err = run("play-along", folder, "--tempos", "presto", "--language", "en")
    assert status == 2
    assert "slow" in err
    one = folder / "4-reply-invented"
    status, out, err = run("play-along", one, "--tempos", "full", "--out", tmp_path / "phone", "--format", "mp3")
    assert (status, err) == (0, "")
    assert len(list((tmp_path / "phone").glob("*.mp3"))) == 1
    # all is known as made, so that nothing is kept when the lesson is made again; what was made of a piece is named
    change_by_hand(folder)
    status, out, _ = run("revise", folder, "--json")
    data = json.loads(out)
    assert (status, data["kept"]) == (0, {})
    of_piece = [name for name in names if name.startswith("3-")]
    assert sorted(data["made_before"]) == sorted(of_piece)


def test_listen_answers_on_the_piece_that_was_played(run, made):
    for inside, title in (("3-sinking-invented", "Sinking"), ("1-tall-steps-invented", "Tall steps")):
        take = min((made / inside).glob("play-along-*.wav"))
        status, out, err = run("listen", take, "--lesson", made, "--language", "en")
        assert (status, err) == (0, "")
        assert [line for line in out.splitlines() if line.startswith("Piece") and title in line]
        status, out, _ = run("listen", take, "--lesson", made, "--json")
        data = json.loads(out)
        (one,) = data["pieces"]
        assert one["folder"] == inside
        assert one["answer"]["best"] is not None
    status, out, _ = run("align", take, "--lesson", made, "--json")
    assert [one["piece"] for one in json.loads(out)["pieces"]] == ["1-tall-steps-invented"]


def test_index_and_needs_count_it_as_one_lesson_with_all_its_pieces(run, folder):
    root = folder.parent
    status, out, err = run("index", root, "--json", "--language", "en")
    assert (status, err) == (0, "")
    assert json.loads(out)["lessons"] == [str(folder)]
    page = (root / "index.html").read_text(encoding="utf-8")
    assert "An evening of three" in page
    assert "A harp · D harp" in page
    assert "Over the six" in page
    assert len(pypdf.PdfReader(root / "sheets.pdf").pages) == len(pypdf.PdfReader(folder / "sheet.pdf").pages)
    status, out, err = run("needs", folder, "--json")
    assert (status, err) == (0, "")
    data = json.loads(out)
    assert {one["harp"]: one["lessons"] for one in data["harps"]} == {"A": [str(folder)], "D": [str(folder)]}
    assert [(one["harp"], one["hole"]) for one in data["setup"]] == [("D", 6)]
    status, out, _ = run("needs", folder / "1-tall-steps-invented", "--json")
    assert [one["harp"] for one in json.loads(out)["harps"]] == ["A"]


@pytest.mark.parametrize(
    ("words", "says", "hint"),
    [
        (["tall.txt", "six.txt", "--pin", "2/7=-3'"], "--pin is about one phrase", "TOML file"),
        (["tall.txt", "six.txt", "--part-name", "A=x"], "--part-name is about one phrase", "part-name = [...]"),
        (["plan.toml", "--technique", "A=octaves"], "--technique is about one phrase", "TOML file"),
        (["plan.toml", "six.txt"], "lists all pieces of a lesson, and other files", "[[piece]]"),
        (["six.txt", "--level", "easy,advanced"], "six.txt: the moves of this tab are kept", "--rearrange"),
        (["tall.txt", "--level", "easy,genius"], "tall.txt: there is no level named 'genius'", "first-months"),
        (["tall.txt", "six.txt", "--paper", "vellum"], "there is no paper named 'vellum'", "letter"),
        (["tall.txt", "nowhere.txt"], "nowhere.txt: there is no such file", ""),
        (["tall.txt", "six.txt", "--languages", "xx"], "'xx'", ""),
        (["wrong.toml"], "wrong.toml, tall.txt, '[[piece]] 2': no bars 7 to 9", ""),
        (["pinned.toml"], "pinned.toml, '[[piece]] 1': there is no event 99", "numbers them"),
        (["nobody.toml"], "nobody.toml, '[[piece]] 1': there is no harp named 'Q'", "A, Bb"),
    ],
)
def test_what_cannot_be_had_is_one_sentence_and_nothing_is_written(
    run, made, tmp_path, monkeypatch, words, says, hint
):
    monkeypatch.chdir(made.parent)
    wrong = {
        "wrong.toml": '[[piece]]\nsource = "six.txt"\n[[piece]]\nsource = "tall.txt"\nbars = "7-9"\n',
        "pinned.toml": '[[piece]]\nsource = "tall.txt"\npin = "99=-3"\n',
        "nobody.toml": '[[piece]]\nsource = "tall.txt"\nharp = "Q"\n',
    }
    for name, text in wrong.items():
        (made.parent / name).write_text(text, encoding="utf-8")
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    status, out, err = run("lesson", *words, "--out", tmp_path / "x")
    assert (status, out) == (2, "")
    assert says in err
    assert hint in err
    assert err.count("\n") <= 2
    assert not list(tmp_path.iterdir())
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    status, _, french = run("lesson", *words, "--out", tmp_path / "x")
    assert status == 2
    assert says not in french
