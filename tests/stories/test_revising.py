"""A lesson made again from its folder: what the teacher changed in it is hers, in everything that is made of it."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pypdf
import pytest

from reedpath.film import film_text
from reedpath.film.captions import caption_cues, chapter_cues
from reedpath.film.layout import lay_out_film
from reedpath.jobs import read_lesson
from reedpath.wording import load_catalogue
from support.lesson_folders import edit, forget_sounds, pdf_text

pytestmark = [pytest.mark.story, pytest.mark.slow, pytest.mark.usefixtures("few_pictures", "sounds_once")]

TAB = """title: Small steps (invented)
harp: A
Call:   | -2 -3' 4 -4' | -4 5 6 -5 |
Answer: | 6 5 -4 4 | -2 -2 -1 2 |
"""
MINE = "Let the bend sink like a stone in a pond."
MY_NOTE = "Listen to the rain first, then begin."
MY_FRENCH = "On laisse tomber la note, sans se presser."


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    from reedpath.cli import main

    folder = tmp_path_factory.mktemp("revising")
    (folder / "steps.txt").write_text(TAB, encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["lesson", str(folder / "steps.txt"), "--out", str(folder / "lesson")])
    assert ended.value.code == 0
    return folder / "lesson"


@pytest.fixture
def folder(made, tmp_path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "lesson"))


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def change_by_hand(folder: Path) -> None:
    edit(folder / "tab.txt", ("| -2  ·   -2  ·   -1", "| 3   ·   -2  ·   -1"))
    edit(
        folder / "steps.md",
        ("- Up one hole, 3 draw, bend it a half step.\n", f"- {MINE}\n\n{MY_NOTE}\n"),
        ("### Call\n", "### The question\n"),
    )
    french = (folder / "steps.md").read_text(encoding="utf-8").split("## Français")[1]
    line = next(line for line in french.splitlines() if "3 aspiré" in line and line.startswith("- "))
    edit(folder / "steps.md", (line, f"- {MY_FRENCH}"))


def test_a_hole_and_a_sentence_are_found_in_everything_that_is_made_again(run, folder):
    change_by_hand(folder)
    for again in (False, True):
        status, out, err = run("revise", folder, "--language", "en")
        assert (status, err) == (0, "")
        assert ("Event 13 is now +3" in out) is not again
        assert ("Nothing had been changed" in out) is again
        assert not list(folder.glob("*.kept*"))
        tab = (folder / "tab.txt").read_text(encoding="utf-8")
        assert "| +3  ·   -2  ·   -1" in tab
        score = (folder / "score.musicxml").read_text(encoding="utf-8")
        assert re.findall(r"<text>([^<]*)</text>", score)[12] == "+3"
        sheet = pdf_text(folder / "sheet.pdf")
        assert MINE in sheet
        assert MY_NOTE in sheet
        assert "The question" in sheet
        page = (folder / "lesson.html").read_text(encoding="utf-8")
        assert all(words in page for words in (MINE, MY_NOTE, "The question"))
        assert MY_FRENCH in page.replace("’", "'")
    status, _, err = run("film", folder, "--out", folder / "film.mp4", "--tempos", "full")
    assert (status, err) == (0, "")
    captions = {path.name: " ".join(path.read_text(encoding="utf-8").split()) for path in folder.glob("film*.vtt")}
    english = next(text for text in captions.values() if MINE in text)
    assert MY_NOTE in english
    assert "+3 · 3 blow" in english
    assert any(MY_FRENCH in text.replace("’", "'") for text in captions.values())


def test_everything_is_the_same_when_nothing_was_changed(run, folder, sounded):
    before = contents(folder)
    sounded.clear()  # the sounds too are made anew
    forget_sounds(folder)
    status, out, _ = run("revise", folder, "--json")
    assert status == 0
    assert contents(folder) == before
    data = json.loads(out)
    assert (data["changed_moves"], data["new_words"], data["no_longer_fits"], data["kept"]) == ([], [], [], {})


def test_words_about_moves_that_are_others_now_are_told_and_kept(run, folder):
    edit(folder / "steps.md", ("- Up one hole, 3 draw, bend it a half step.\n", f"- {MINE}\n"))
    assert run("revise", folder)[0] == 0
    edit(folder / "tab.txt", ("-3' ·", "-3''·"))
    status, out, err = run("revise", folder, "--language", "en")
    assert (status, err) == (0, "")
    assert "No longer fits at event 2" in out
    assert MINE in out
    assert MINE not in (folder / "steps.md").read_text(encoding="utf-8")
    assert json.loads((folder / "lesson.json").read_bytes())["own_words"][0]["text"] == MINE
    edit(folder / "tab.txt", ("-3''* ·", "-3'  ·"))
    assert run("revise", folder)[0] == 0
    assert MINE in (folder / "steps.md").read_text(encoding="utf-8")


def test_words_that_no_longer_fit_when_they_are_read_are_kept_in_their_file_too(run, folder):
    edit(folder / "tab.txt", ("-3' ·", "-3''·"))
    edit(folder / "steps.md", ("- Up one hole, 3 draw, bend it a half step.\n", f"- {MINE}\n"))
    status, out, _ = run("revise", folder, "--json")
    assert status == 0
    assert json.loads(out)["kept"] == {"steps.md": "steps.kept.md"}
    assert MINE in (folder / "steps.kept.md").read_text(encoding="utf-8")


def test_what_a_tab_cannot_hold_is_kept_beside_it(run, folder):
    with (folder / "tab.txt").open("a", encoding="utf-8") as file:
        file.write("\nAsk Ada about the third bar.\n")
    (folder / "mine.txt").write_text("mine", encoding="utf-8")
    edit(folder / "score.svg", ("<svg", "<svg data-mine='1'"))
    status, out, _ = run("revise", folder, "--json")
    assert status == 0
    assert set(json.loads(out)["kept"]) == {"tab.txt", "score.svg"}
    assert "Ask Ada" in (folder / "tab.kept.txt").read_text(encoding="utf-8")
    assert (folder / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_what_others_made_of_the_lesson_as_it_was_is_named(run, folder):
    assert run("play-along", folder, "--tempos", "full", "--muted", "--format", "flac")[0] == 0
    assert json.loads(run("revise", folder, "--json")[1])["made_before"] == []
    edit(folder / "tab.txt", ("-3' ·", "-3''·"))
    (name,) = json.loads(run("revise", folder, "--json")[1])["made_before"]
    assert (folder / name).is_file()


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        ("tab.txt", "| -2  ·   -2 ", "| -2  4   -2 ", "5 notes stand here, where the lesson has 4"),
        ("tab.txt", "| -2  ·   -2 ", "| -2  ·   -11", "11"),
        ("tab.txt", "| -2  ·   -2 ", "| -2  ·   -9'''", "only blow, draw"),
        ("steps.md", "## Français", "## Deutsch", "the lesson has no steps in 'Deutsch'"),
        ("steps.md", "## English", "My words.\n\n## English", "before any language"),
        ("lesson.json", '"title"', '"tittle"', "title"),
    ],
)
def test_wrong_use_is_told_in_one_sentence_and_loses_nothing(run, folder, name, old, new, said):
    edit(folder / name, (old, new))
    before = contents(folder)
    status, out, err = run("revise", folder, "--language", "en")
    assert (status, out) == (2, "")
    assert said in err
    assert name in err
    assert len(err.strip().splitlines()) <= 2
    assert contents(folder) == before
    assert run("revise", folder, "--language", "fr")[0] == 2


def test_what_is_said_of_the_whole_lesson_is_kept_everywhere(run, folder):
    said = [
        "--author",
        "Ada Lind",
        "--date",
        "a rainy November",
        "--note",
        "Listen first.",
        "--note",
        "fr:On écoute.",
    ]
    names = ["--part-name", "Call=The question", "--part-name", "fr:Call=La question", "--title", "Rain"]
    assert run("revise", folder, *said, *names)[0] == 0
    edit(folder / "tab.txt", ("-3' ·", "-3''·"))
    assert run("revise", folder)[0] == 0
    sheet = pdf_text(folder / "sheet.pdf")
    assert all(words in sheet for words in ("Rain", "Ada Lind · a rainy November", "Listen first.", "The question"))
    assert pypdf.PdfReader(folder / "sheet.pdf").metadata.author == "Ada Lind"
    page = (folder / "lesson.html").read_text(encoding="utf-8")
    told = ("Rain", "Ada Lind · a rainy November", "Listen first.", "On écoute.", "The question", "La question")
    assert all(words in page for words in told)
    assert "[The question]" in (folder / "tab.txt").read_text(encoding="utf-8")
    lesson, french = read_lesson(folder), load_catalogue("fr")
    timeline = lay_out_film(lesson, rungs=lesson.ladder[-1:])
    captions = " ".join(line for cue in caption_cues(lesson, timeline, french) for line in cue.lines)
    assert "On écoute." in captions
    assert "Ada Lind · a rainy November" in film_text(lesson, timeline, french)
    assert any("La question" in line for cue in chapter_cues(lesson, timeline, french) for line in cue.lines)
    status, _, err = run("revise", folder, "--part-name", "Z=The end", "--language", "en")
    assert status == 2
    assert "there is no part called 'Z'" in err
    status, _, err = run("revise", folder, "--part-name", "The end", "--language", "en")
    assert status == 2
    assert "names no part" in err


def test_a_folder_without_a_lesson_is_told(run, tmp_path):
    for place in (tmp_path, tmp_path / "nowhere"):
        status, _, err = run("revise", place, "--language", "en")
        assert status == 2
        assert len(err.strip().splitlines()) <= 2


def test_with_all_the_sounds_and_films_made_of_it_are_made_again_as_they_were_wished_for(run, folder, tmp_path):
    wished = ("--tempos", "full", "--band", "--rounds", "1", "--format", "flac")
    assert run("play-along", folder, *wished)[0] == 0
    for film in ("short.mp4", "short.again.mp4"):
        assert run("film", folder, "--out", folder / film, "--tempos", "full", "--no-steps")[0] == 0
    made = {name for name in contents(folder) if name.startswith("short") or name.endswith(".flac")}
    change_by_hand(folder)
    before = contents(folder)
    status, out, err = run("revise", folder, "--all", "--language", "en")
    assert (status, err) == (0, "")
    assert "Made again too: " in out
    assert "lesson as it was" not in out
    after = contents(folder)
    assert all(after[name] != before[name] for name in made if not name.endswith((".png", ".txt", ".chapters.vtt")))
    # as one that is made now by the same wishes
    assert run("play-along", folder, *wished, "--out", tmp_path / "sounds")[0] == 0
    sounds = {name: data for name, data in contents(tmp_path / "sounds").items() if name.endswith(".flac")}
    assert sounds
    assert all(after[name] == data for name, data in sounds.items())
    told = json.loads(run("revise", folder, "--all", "--json")[1])
    assert set(told["made_again"]) == made
    assert told["made_before"] == []
